"""How people put it who live with the furnace: what tells one thing plainly is taken, what could be several is not. Common practice, no source."""

from __future__ import annotations

import pytest

from furnace_diag.diagnosis.complaint import Complaints
from furnace_diag.knowledge.models import Knowledge

PLAIN = [
    ("furnace just sits there", "whole_furnace", "nothing_runs"), ("wont try anything", "whole_furnace", "nothing_runs"),
    ("stat calls and the furnace sits there", "whole_furnace", "nothing_runs"), ("not a peep out of the furnace", "whole_furnace", "nothing_runs"),
    ("furnace won't come on", "whole_furnace", "nothing_runs"), ("furnace never kicks on", "whole_furnace", "nothing_runs"),
    ("dead as a doornail", "whole_furnace", "dead"), ("deader than a doornail", "whole_furnace", "dead"), ("furnace has no power", "whole_furnace", "dead"),
    ("machine-gunning relays", "rapid_clicking", "yes"), ("clicks like a machine gun", "rapid_clicking", "yes"),
    ("relays chattering", "rapid_clicking", "yes"), ("kicks the breaker", "breaker_position", "tripped"),
    ("trips the breaker", "breaker_position", "tripped"), ("keeps flipping the breaker", "breaker_position", "tripped"),
    ("furnace breaker keeps tripping", "breaker_position", "tripped"), ("throws the breaker", "breaker_position", "tripped"),
    ("flips the breaker every time", "breaker_position", "tripped"), ("short cycles", "flame_goes_out", "after_minutes"),
    ("heats a while then quits", "flame_goes_out", "after_minutes"), ("furnace quits after a while", "flame_goes_out", "after_minutes"),
    ("heat quits after a while", "flame_goes_out", "after_minutes"), ("furnace shuts off after ten minutes", "flame_goes_out", "after_minutes"),
    ("ignites, then goes out after 10 minutes", "flame_goes_out", "after_minutes"), ("keeps tripping the limit", "flame_goes_out", "after_minutes"),
    ("kicks out on limit", "flame_goes_out", "after_minutes"), ("bangs when it lights", "bang_at_light_off", "yes"),
    ("bangs on startup", "bang_at_light_off", "yes"), ("lights with a whoomp", "bang_at_light_off", "yes"),
    ("lights off then dies", "burners_light", "drop_out"), ("ignites then goes out", "burners_light", "drop_out"),
    ("wont hold a flame", "burners_light", "drop_out"), ("burners wont come on", "burners_light", "no"), ("burners never fire", "burners_light", "no"),
    ("burners won't fire up", "burners_light", "no"), ("blows cold air all day", "blower_runs", "yes"), ("only blows cold", "blower_runs", "yes"),
    ("fan won't quit", "blower_always_on", "yes"), ("fan runs with the stat off", "blower_always_on", "yes"), ("inducer is dead", "inducer_runs", "no"),
    ("inducer won't spin", "inducer_runs", "no"), ("inducer not running", "inducer_runs", "no"), ("barely blows", "air_at_registers", "weak"),
    ("hardly any airflow upstairs", "air_at_registers", "weak"), ("works sometimes", "fault_comes_and_goes", "yes"),
    ("sometimes it heats", "fault_comes_and_goes", "yes"), ("heat comes and goes", "fault_comes_and_goes", "yes"),
    ("works off and on", "fault_comes_and_goes", "yes"),
    # it lights, and the gas goes within seconds; or within minutes
    ("lights perfect, shuts gas at 5 sec", "burners_light", "drop_out"), ("lights fine then cuts the gas after a few seconds", "burners_light", "drop_out"),
    ("lights and drops", "burners_light", "drop_out"), ("lights 5 seconds and out", "burners_light", "drop_out"),
    ("burners light then go out", "burners_light", "drop_out"), ("flame goes out after a few seconds", "burners_light", "drop_out"),
    ("burners light then go out after ten minutes", "flame_goes_out", "after_minutes"),
    ("lights, then drops after ten minutes", "flame_goes_out", "after_minutes"),
    ("runs ten minutes then blows cold", "flame_goes_out", "after_minutes"), ("burns 20 min then flame just drops", "flame_goes_out", "after_minutes"),
    # how far it gets
    ("never gets to glow", "igniter_glows", "no"), ("igniter stays dark", "igniter_glows", "no"), ("valve never clicks", "gas_valve_clicks", "no"),
    ("no click at the gas valve", "gas_valve_clicks", "no"), ("gas never comes on", "burners_light", "no"),
    ("stat clicks but nothing", "whole_furnace", "nothing_runs"),
    ("furnace won't turn on", "whole_furnace", "nothing_runs"),
    # what goes on and on, and what does not
    ("inducer just keeps running", "inducer_runs", "yes"),
    ("blower wont shut off, day and night", "blower_always_on", "yes"), ("fan will not shut off", "blower_always_on", "yes"),
    ("burners stay on after the thermostat is satisfied", "flame_with_no_call", "yes"), ("no call, burners still lit", "flame_with_no_call", "yes"),
    ("burners wont go out", "flame_with_no_call", "yes"), ("gas valve stuck open", "flame_with_no_call", "yes"),
    ("burners stay lit", "burners_light", "stay_lit"), ("10 amp fuse in the board", "fuse_rating", "too_large"), ("flue pipe fell off", "vent_joined", "apart"),
    ("penny behind the fuse", "fuse_rating", "too_large"), ("someone put a 10 amp fuse in", "fuse_rating", "too_large"),
    ("keeps heating with the stat off", "flame_with_no_call", "yes"), ("blower just sits there and hums", "blower_runs", "hums"),
    ("fan never kicks on", "blower_runs", "no"),
    # no ignition, and no board that is dark
    ("no light", "burners_light", "no"), ("board has no lite", "light", "dark"), ("no light on the board", "light", "dark"),
    # how the flame looks
    ("yellow flames", "flame_color", "yellow_and_lazy"), ("flames yellow n lazy", "flame_color", "yellow_and_lazy"),
    ("burners burn orange", "flame_color", "yellow_and_lazy"),
    # the breaker, and what it goes with
    ("trips the breaker when the blower starts", "breaker_trips_again", "when_blower_starts"),
    ("kicks the breaker when the fan comes on", "breaker_trips_again", "when_blower_starts"), ("furnace breaker wont reset", "breaker_position", "tripped"),
    ("trips the breaker when the blower door is on", "breaker_position", "tripped"),
    # how well a thing does what it does, or that it does not
    ("inducer dead", "inducer_runs", "no"), ("inducer dead quiet", "inducer_runs", "silent"), ("inducer runs slow", "inducer_runs", "slow"),
    ("weak orange glow", "igniter_glows", "dull"), ("stat screen went blank", "thermostat_display", "blank"),
    ("furnace trips its limit", "flame_goes_out", "after_minutes"), ("rollout keeps popping", "reset_buttons", "tripped"),
    ("fan works from ON", "blower_on_fan_call", "yes"),
    # what the power off and on does
    ("furnace only starts after you cycle the power", "power_reset_helps", "yes"),
    ("have to shut the power off and on to get heat", "power_reset_helps", "yes"),
    ("works again after a power cycle", "power_reset_helps", "yes"), ("only runs after cycling power", "power_reset_helps", "yes"),
    ("have to turn the furnace off and back on", "power_reset_helps", "yes"), ("cycling the power gets it going for a while", "power_reset_helps", "yes"),
    # the blower's speed
    ("blower way too fast", "blower_speed_in_heat", "too_fast"), ("the blower is running too fast in heat", "blower_speed_in_heat", "too_fast"),
    ("blower runs on high speed in heat", "blower_speed_in_heat", "too_fast"), ("blower is on the wrong speed", "blower_speed_in_heat", "wrong"),
    # the weather, where it is said that it is only then
    ("windy nights only", "fault_goes_with_wind", "yes"), ("quits when it's windy", "fault_goes_with_wind", "yes"),
    # the vent, to whoever looked
    ("vent plugged", "vent_looks", "blocked"), ("bird nest in the flue", "vent_looks", "blocked"),
]  # fmt: skip
NOTHING = [
    "inducer won't shut off", "inducer never stops",  # with no call, or in a call that never ends
    "5 amp fuse in the board", "15 amp fuse in the disconnect",
    "goes nowhere",  # or gets nowhere in its call
    "quits after a while",  # flame, blower or inducer; after four tries too
    "runs nonstop",  # burners or blower
    "works after reset", "works again after I reset the breaker", "only works after a reset of the limit", "have to reset the rollout button to get heat",
    "turned the power off and on, no help", "have to turn the thermostat off and on", "power was off and on again after the storm",
    "have to turn it off at night, comes on late",
    "blower runs on high speed", "blower runs on high speed in cooling", "blower starts too fast", "inducer too fast",  # which call, or another thing
    "have to hit reset",  # of the breaker, the roll-out switch or the control
    "flips the breaker",  # the furnace, or whoever wants it to start again
    "customer flips the breaker to get it going", "inducer runs a while then quits without a try", "does not trip the breaker", "no longer blows cold air",
    "used to kick the breaker", "breaker has never tripped", "the ac breaker keeps tripping", "contactor chatters", "replaced a chattering relay",
    "shuts gas at 5 sec",  # of a flame that drops out, or of a trial without one
    "drops out after a few seconds",  # the flame, the pressure switch or the inducer
    "wont shut off, day and night",  # burners or blower
    "clicks but nothing",  # the thermostat, a relay or the valve
    "valve clicks but nothing", "cools fine, no heat",  # of the heat call neither tells more than that nothing comes of it
    "does not trip the breaker when the blower starts", "furnace breaker never trips when the blower starts",
    "works fine on windy days", "not only on windy days", "rollout never tripped", "inducer is not dead", "inducer slow to start",
    "vent not plugged", "see if the vent is plugged", "vents blocked by the couch",  # of the rooms
    "ac breaker wont reset", "water heater wont come on",
    "house is cold", "acts up when it rains", "smells funny", "makes a racket", "costs a fortune to run", "upstairs never gets warm", "blower won't fire up",
]  # fmt: skip


@pytest.fixture(scope="module")
def complaints(knowledge: Knowledge) -> Complaints:
    return Complaints(knowledge.sign, knowledge.hazard.values())


@pytest.mark.parametrize(("said", "sign", "value"), PLAIN)
def test_what_is_plain_tells_one_thing(said: str, sign: str, value: str, complaints: Complaints) -> None:
    assert [(c.sign, c.value) for c in complaints.said_in(said)] == [(sign, value)]


@pytest.mark.parametrize("said", NOTHING)
def test_what_could_be_several_things_tells_nothing(said: str, complaints: Complaints) -> None:
    told = [c for c in complaints.said_in(said) if c.sign != "inducer_runs"]  # that it runs is said
    assert told == []


def test_that_it_is_not_always_so_is_all_that_is_taken(complaints: Complaints) -> None:
    assert [c.sign for c in complaints.said_in("no flame, works sometimes, blows cold air")] == ["fault_comes_and_goes"]


@pytest.mark.parametrize("complaint", [
    "3amp fuse pops every time i put in new 1", "3 amp fuse keeps blowing", "keeps eating fuses", "put one in and fuse blew again", "every new fuse blows",
])  # fmt: skip
def test_a_fuse_that_blows_each_time_is_told_to_blow_again(complaint: str, knowledge: Knowledge) -> None:
    """Common practice, no source: what blew it is there still. That it was found blown could be of what has gone; and of when it blows nothing is said."""
    assert {c.sign: c.value for c in Complaints(knowledge.sign, knowledge.hazard.values()).said_in(complaint)} == {"fuse_blows_again": "yes"}
    values = knowledge.sign["fuse_blows_again"]
    assert all(values.is_vaguer("yes", value) for value in values.values if value not in ("yes", "no"))
    assert not values.is_vaguer("yes", "no")


@pytest.mark.parametrize("text", ["board burnt, scorch mark on relay", "scorch marks on relay", "board is scorched", "board has a burn mark"])
def test_a_board_that_is_burnt_is_heard(text: str, knowledge: Knowledge) -> None:
    """Common practice, no source."""
    assert {c.sign: c.value for c in Complaints(knowledge.sign, knowledge.hazard.values()).said_in(text)} == {"board_scorched": "yes"}


@pytest.mark.parametrize("text", ["board burnt out", "board not burnt", "board is burned up"])
def test_a_board_that_works_no_more_is_not_therefore_scorched(text: str, knowledge: Knowledge) -> None:
    assert Complaints(knowledge.sign, knowledge.hazard.values()).said_in(text) == []
