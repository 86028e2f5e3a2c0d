"""Names and values as people type them: what is meant, what is refused, what is suggested."""

from __future__ import annotations

from itertools import product

import pytest

from furnace_diag.knowledge.cross import cross_check
from furnace_diag.knowledge.find import IN_ORDER, Names, told_by_unit, told_by_value
from furnace_diag.knowledge.finding_models import Ended
from furnace_diag.knowledge.models import Knowledge, RepairSaid, ValueBesides, Words
from furnace_diag.knowledge.spelling import FILLERS, VALUE_SPELLING, Spelling, plain, spelling_of
from furnace_diag.knowledge.values import results_of, values_of, words_for_values

SHORT = {"pressure switch": ("ps", "p switch"), "igniter": ("ign", "ignitor"), "volts": ("voltage",)}


@pytest.fixture(scope="module")
def words(knowledge: Knowledge) -> Words:
    return next(iter(knowledge.words.values()))


# --- spelling ---------------------------------------------------------------------------------


@pytest.mark.parametrize("text", ["24v at w", "24 V at W", "24 volts at W", "24VAC at w", "24 vac, at w."])
def test_volts_are_one_however_they_are_written(text: str) -> None:
    assert plain(text) == "24 v at w"


@pytest.mark.parametrize(("text", "said"), [("24 at w", "24 v at w"), ("120 on the pin", "120 v on the pin"), ("24 to 28", "24 to 28")])
def test_a_supply_may_be_named_by_its_volts_alone(text: str, said: str) -> None:
    assert plain(text) == said


def test_short_words_are_whole_words() -> None:
    spelled = Spelling(SHORT)

    assert spelled("PS return") == spelled("the p-switch return") == "pressure switch return"
    assert spelled("psi") == "psi"
    assert spelled("design") == "design"


def test_an_id_comes_before_other_names() -> None:
    names = Names({"igniter": (), "glow": ("igniter",)})

    assert names.meant("Igniter") == ["igniter"]


# --- what is suggested ------------------------------------------------------------------------


NAMES = Names(
    {"soot": ("black soot",), "light": ("led",), "heat_lead_is": ("heat lead",), "lead_ohms": (), "inducer_runs": (), "pressure_switch_contact": ("ps",)}
)


@pytest.mark.parametrize(
    ("text", "first"),
    [
        ("inducer rums", "inducer_runs"),
        ("indcer", "inducer_runs"),
        ("pressur", "pressure_switch_contact"),
        ("heat leed", "heat_lead_is"),
        ("inducerruns", "inducer_runs"),
    ],
)
def test_the_nearest_name_is_suggested_first(text: str, first: str) -> None:
    assert NAMES.suggested(text)[0] == first


@pytest.mark.parametrize("text", ["lockout", "rain", "xyzzy", "", "at the", "lea" * 200, "prassure"])  # the last: a slip in one word of three
def test_nothing_is_suggested_rather_than_nonsense(text: str) -> None:
    assert NAMES.suggested(text) == []


def test_led_is_not_lead() -> None:
    assert NAMES.suggested("led") == ["light"]
    assert NAMES.holding(["led"], {}) == ["light"]


def test_a_denial_is_never_answered_with_what_it_denies() -> None:
    names = Names({"yes": ("running", "starts"), "no": ("not running",)})

    assert names.suggested("not runing") == ["no"]
    assert names.suggested("runing") == ["yes"]


def test_names_come_before_descriptions() -> None:
    names = Names({"a_fuse": (), "breaker": ("blade fuse",), "vent": ()})

    assert names.holding(["fuse"], {"vent": "next to the fuse"}) == ["a_fuse", "breaker", "vent"]


# --- the rules' own words ---------------------------------------------------------------------


def test_no_name_means_two_entries_of_one_kind(knowledge: Knowledge, words: Words) -> None:
    steps = {s.step: s for q in knowledge.sequence.values() for s in q.steps}
    for table in (knowledge.part, knowledge.point, knowledge.sign, knowledge.event, steps):
        entries = {i: e.also_called for i, e in table.items()}  # type: ignore[attr-defined]
        names = Names(entries, spelling_of(words))
        wrong = [(i, w, names.meant(w)) for i, also in entries.items() for w in also if names.meant(w) != [i]]

        assert not names.doubles()
        assert not wrong


def test_no_word_means_two_values_of_one_sign(knowledge: Knowledge, words: Words) -> None:
    for sign in knowledge.sign.values():
        names = values_of(sign, words)
        assert not names.doubles(), sign.sign
        assert all(names.meant(v) == [v] for v in sign.values), sign.sign
        wrong = [(w, names.meant(w)) for v in sign.value_words for w in sign.value_words[v] if names.meant(w) != [v]]
        assert not wrong, sign.sign


def test_a_denied_word_never_means_what_the_word_means(knowledge: Knowledge, words: Words) -> None:
    """Over every sign and every word of it: "not X", "isn't X", "won't X" are another value or refused."""
    for sign in knowledge.sign.values():
        names = values_of(sign, words)
        own = {w: v for v in sign.values for w in (v, *sign.value_words.get(v, ()), *words.value_words.get(v, ()))}
        for (word, value), denial in product(own.items(), ("not", "isn't", "won't", "doesn't", "is not", "never")):
            assert names.meant(f"{denial} {word}") != [value], (sign.sign, denial, word)


DENYING = {"blower_always_on", "flame_with_no_call", "gas_valve_live_without_call"}  # their "yes" is that a thing does not stop, or is not called for


def test_a_name_that_tells_a_value_is_confirmed_by_yes(knowledge: Knowledge, words: Words) -> None:
    """ "flame held: no" must not be read as "goes out: no": what a name holds of a sign's own words for a value is what "yes" to it means."""
    for sign in knowledge.sign.values():
        names, yes = words_for_values(sign.values, sign.value_words, {}), values_of(sign, words).meant("yes")
        for name in sign.also_called if yes and sign.sign not in DENYING else ():
            typed = plain(name).split()
            parts = [" ".join(typed[i:j]) for i in range(len(typed)) for j in range(i + 1, len(typed) + 1)]
            assert [p for p in parts if names.meant(p) not in ([], yes)] == [], (sign.sign, name)


@pytest.mark.parametrize("text", ["", " ", "the", "it is", "it does", "...", "at all", "maybe", "?", "sometimes yes"])
def test_little_words_and_doubts_are_no_value(knowledge: Knowledge, words: Words, text: str) -> None:
    assert [s.sign for s in knowledge.sign.values() if values_of(s, words).meant(text)] == []


@pytest.mark.parametrize("name", ["inducer_runs", "blower_runs"])
@pytest.mark.parametrize(
    "text",
    [
        "not running", "isn't running", "It's not running", "doesn't run", "does not run at all", "won't start", "off", "OFF", "dead", "never starts",
        "clicks but nothing", "none",
    ],
)
def test_not_running_is_no(knowledge: Knowledge, words: Words, name: str, text: str) -> None:
    assert values_of(knowledge.sign[name], words).meant(text) == ["no"]


@pytest.mark.parametrize(
    ("name", "text", "value"),
    [
        ("blower_runs", "running fine", "yes"),
        ("blower_runs", "just hums", "hums"),
        ("flame_goes_out", "a few seconds", "within_seconds"),
        ("flame_goes_out", "stays lit", "no"),
        ("igniter_glows", "no glow", "no"),
        ("igniter_glows", "not bright", "dull"),
        ("light", "off", "dark"),
        ("light", "flashing", "blinking"),
        ("limit_contact", "tripped", "open"),
        ("limit_contact", "ok", "closed"),
        ("vent_looks", "open", "clear"),
        ("gas_cock_position", "closed", "shut"),
        ("burners_light", "lights then goes out", "drop_out"),
        ("gas_smell", "no", "none"),
        ("rodent_signs", "ok", "none"),
        ("debris_inside", "yes", "present"),
        ("low_voltage_at_board", "ok", "present"),
        ("blower_always_on", "won't shut off", "yes"),
        ("igniter_glows", "dull orange", "dull"),
        ("igniter_glows", "stays black", "no"),
        ("burners_light", "3 seconds then out", "drop_out"),
        ("flame_rod_looks", "white film", "filmed"),
        ("flame_rod_looks", "looks good", "clean"),
        ("blower_runs", "never kicks on", "no"),
        ("inducer_runs", "runs and runs", "yes"),
        ("inducer_runs", "starts then stops", "yes"),  # it turned; what stopped it is not said
        ("inducer_runs", "starts then locks", "turns_then_locks"),
        ("blower_turns_freely", "turns free", "free"),
        ("gas_elsewhere", "water heater out", "out"),
        ("gas_elsewhere", "stove works", "lit"),
        ("vent_looks", "bird's nest", "blocked"),
        ("pressure_port_looks", "full of rust", "plugged"),
        ("pressure_hose_looks", "melted", "pinched"),
        ("light", "3 flashes", "blinking"),  # what a count means stands on the furnace's own door
        ("light", "no lights", "dark"),
        ("cooling_coil_looks", "matted", "dirty"),
        ("fuse_blows_again", "when heat calls", "on_heat_call"),
        ("thermostat_batteries", "low battery", "dead"),
        ("thermostat_display", "no power", "blank"),
        ("blower_on_fan_call", "works", "yes"),
        ("igniter_looks", "looks fine", "whole"),
        ("igniter_looks", "hairline crack", "broken"),
        ("igniter_plug_looks", "browned", "burnt"),
        ("igniter_plug_looks", "discolored", "burnt"),
        ("wire_moved_changes_it", "at the flame sensor", "at_flame_rod"),
        ("wire_moved_changes_it", "inducer connector", "at_inducer"),
        ("door_switch_held", "came alive", "comes_alive"),
        ("door_switch_held", "lights up", "comes_alive"),
        ("draft_against_set_point", "well past", "tenth_or_more_beyond"),
        ("gas_valve_clicks", "clunks", "yes"),
        ("igniter_glows", "orange glow", "bright"),
        ("blower_runs", "tries to start", "hums"),
        ("blower_runs", "struggles", "hums"),
        ("inducer_runs", "labors", "slow"),
        ("flame_rod_looks", "crusty", "filmed"),
        ("filter_looks", "like a blanket", "clogged"),
        ("pressure_hose_looks", "hard and brittle", "cracked"),
        ("pressure_port_looks", "rust in it", "plugged"),
        ("water_in_hose", "a few drops", "yes"),
        ("capacitor_looks", "looks ok", "good"),
        ("capacitor_looks", "top is domed", "bulged_or_oily"),
        ("heat_terminal_looks", "burnt", "brown"),
        ("light", "rapid flash", "blinking"),
        ("light_says", "open rollout", "limit_open"),
        ("thermostat_display", "fine", "lit"),
        ("burners_light", "puffs out", "drop_out"),
        ("burners_light", "light and go right out", "drop_out"),
        ("flame_color", "lazy yellow", "yellow_and_lazy"),
        ("air_at_registers", "barely any", "weak"),
        ("reset_buttons", "one was out", "tripped"),
        ("blower_starts_when_spun", "took right off", "yes"),
        ("relay_tapped_helps", "kicked in", "yes"),
        ("plug_moved_helps", "pushed it and it ran", "yes"),
        ("fuse_blows_again", "pops when it goes to light", "on_heat_call"),
        ("igniter_glows", "cherry red", "yes"),  # of a good one and of one that is too dull
        ("light", "red light on", "lit"),  # whether it blinks is not said
        ("light", "green", "lit"),
        ("lead_that_blows_fuse", "holds with the humidifier unplugged", "humidifier_wire"),
        ("board_scorched", "burn marks", "yes"),
        ("igniter_goes_dark", "glows and goes out", "yes"),
        ("igniter_goes_dark", "starts to glow then goes out", "yes"),
        ("igniter_looks", "burnt through", "broken"),
        ("inducer_cuts_out", "starts and stops", "yes"),
        ("inducer_cuts_out", "surging", "yes"),
        ("inducer_motor_hot", "hot to the touch", "too_hot_to_hold"),
        ("inducer_motor_hot", "warm", "normal"),
        ("blower_always_on", "nonstop", "yes"),
        ("blower_always_on", "never shuts off", "yes"),
        ("burners_light", "light and goes out", "drop_out"),
        ("pressure_switch_chatters", "bouncing", "yes"),
        ("door_switch_is", "off", "not_pressed"),  # "door: off"
        ("breaker_trips_again", "trips on heat", "on_heat_call"),
        ("breaker_trips_again", "trips when the fan starts", "when_blower_starts"),
        ("light", "red", "lit"),
        ("filter_looks", "brand new", "clean"),
        ("filter_looks", "like new", "clean"),
        ("burning_smell", "burning plastic", "yes"),
        ("burning_smell", "burnt wires", "yes"),
        ("power_reset_helps", "works for a while", "yes"),
        ("power_reset_helps", "works again", "yes"),
        ("fault_only_from_cold", "fine once it is warm", "yes"),
        ("fault_only_from_cold", "hot too", "no"),
        ("inducer_tapped_helps", "starts", "yes"),
        ("inducer_tapped_helps", "still nothing", "no"),
        ("pressure_switch_when_sucked", "closed", "closes"),
        ("pressure_switch_when_sucked", "won't close", "stays_open"),
        ("flame_holds_with_burner_joined_to_ground", "stays lit", "yes"),
        ("flame_holds_with_burner_joined_to_ground", "still goes out", "no"),
        ("filter_looks", "black", "dirty"),  # whether air still gets through is not said
        ("fuse_blows_again", "blows right away", "at_once"),
        ("fuse_blows_again", "blows on heat call", "on_heat_call"),
        ("fuse_blows_again", "pops on a cooling call", "on_cooling_call"),
        ("fuse_blows_again", "popped again at once", "at_once"),
        ("fuse_blows_with_valve_wire_off", "still blows", "yes"),
        ("goes_on_with_thermostat_wires_off", "inducer still running", "inducer"),
        ("lead_that_blows_fuse", "stat wires", "thermostat_wires"),
        ("wire_moved_changes_it", "ign wire", "at_igniter"),
        ("registers_are", "all open", "open"),
        ("covers_back", "all closed", "yes"),
        ("burners_light", "light then drop out", "drop_out"),
        ("burners_light", "keeps burning", "stay_lit"),
        ("gas_elsewhere", "doesn't light either", "out"),
        ("pressure_switch_contact", "stays open", "open"),
        ("float_switch_is", "up", "tripped"),  # water has lifted it
        ("lifted_speed_lead", "terminal still live", "terminal"),
        ("flame_is_steady", "flickers", "no"),
    ],
)
def test_words_of_the_trade_are_the_value_they_mean(knowledge: Knowledge, words: Words, name: str, text: str, value: str) -> None:
    assert values_of(knowledge.sign[name], words).meant(text) == [value]


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("light_says", "none"),  # no fault told, or no light
        ("gas_smell", "yes"),  # slight or strong
        ("breaker_position", "off"),  # tripped, or switched off by hand
        ("pressure_switch_contact", "ok"),  # open at rest, closed in a call
        ("co_alarm", "yes"),  # there is one, or it sounds
        ("blower_runs", "bad"),
        ("inducer_runs", "still"),  # stands still, or still runs
        ("inducer_runs", "was running"),
        ("fault_comes_and_goes", "always"),
        ("thermostat_batteries", "none"),  # it may have none, and need none
        ("pressure_hose_looks", "no"),
        ("capacitor_lead_is", "no"),
        ("gas_cock_position", "yes"),  # "gas shutoff: yes"
        ("flame_rod_looks", "ok"),  # clean, or of good ohms
        ("burners_light", "sometimes"),  # in some calls, which is another sign
        ("blower_runs", "stops after a while"),  # it ran, and it does not
        ("blower_runs", "starts then stops"),
        ("thermostat_display", "low battery"),  # lit to say so, and perhaps too low to call
        ("pressure_port_looks", "rusty"),  # rust on it, or rust in it
        ("light_says", "board fault"),
        ("thermostat_display", "fading"),  # lit, and perhaps too low to call
        ("draft_against_set_point", "beyond"),  # by how much is what counts
        ("draft_against_set_point", "above"),
        ("fuse_blows_again", "blows"),  # when is what is asked
        ("fuse_blows_again", "blows good"),
        ("fuse_blows_again", "blows no more"),
        ("whole_furnace", "lights"),  # a light, or it lights
        ("float_switch_is", "down"),
        ("gas_elsewhere", "out of order"),
        ("cooling_coil_looks", "clean with a little dust"),
        ("registers_are", "all but one open"),
        ("registers_are", "not all open"),
    ],
)
def test_what_could_mean_two_values_is_no_word_of_either(knowledge: Knowledge, words: Words, name: str, text: str) -> None:
    assert len(values_of(knowledge.sign[name], words).meant(text)) != 1


@pytest.mark.parametrize(
    ("name", "text", "things"),
    [
        ("gas_smell", "yes", {"slight", "strong"}),
        ("gas_smell", "gas", {"slight", "strong"}),
        ("burning_smell", "gas", {"gas_smell: slight", "gas_smell: strong"}),
        ("burning_smell", "rotten eggs", {"gas_smell: slight", "gas_smell: strong"}),
        ("burning_smell", "burning dust", {"yes"}),
        ("igniter_glows", "burnt", {"igniter_looks: broken", "igniter_looks: white_spot", "igniter_plug_looks: burnt"}),
        ("igniter_looks", "burnt", {"broken", "white_spot", "igniter_plug_looks: burnt"}),
        ("igniter_looks", "bad", {"broken", "white_spot"}),
        ("igniter_glows", "on and off", {"igniter_goes_dark: yes", "fault_comes_and_goes: yes"}),
        ("inducer_runs", "on and off", {"inducer_cuts_out: yes", "fault_comes_and_goes: yes"}),
        ("inducer_runs", "loud", {"inducer_noise: noisy", "hums"}),
        ("inducer_motor_hot", "hot", {"normal", "too_hot_to_hold"}),  # its flue parts are, on a good furnace
        ("blower_runs", "cuts out after 20 minutes", {"no", "lives_again_after_rest: yes"}),
        ("blower_runs", "quits after 10 minutes", {"no", "lives_again_after_rest: yes"}),
        ("blower_runs", "runs but no air", {"air_at_registers: none", "blower_wheel_grips: slips"}),
        ("blower_runs", "comes on and off", {"fault_comes_and_goes: yes", "lives_again_after_rest: yes"}),
        ("blower_runs", "hot", {"blower_motor_hot: hot", "blower_motor_hot: too_hot_to_hold"}),
        ("capacitor_looks", "bad", {"bulged_or_oily", "capacitor_against_mark: outside"}),
        ("capacitor_looks", "weak", {"bulged_or_oily", "capacitor_against_mark: outside"}),
        ("burners_light", "delayed", {"bang_at_light_off: yes", "gas_lights_within: longer"}),
        ("burners_light", "last one late", {"bang_at_light_off: yes", "gas_lights_within: longer"}),
        ("burners_light", "rusty", {"burners_look: dirty"}),
        ("heat_on_call", "won't shut off", {"flame_with_no_call: yes", "blower_always_on: yes"}),
        ("heat_on_call", "will not shut off", {"flame_with_no_call: yes", "blower_always_on: yes"}),
        ("heat_on_call", "stays on", {"flame_with_no_call: yes", "blower_always_on: yes"}),
        ("heat_on_call", "comes and goes", {"fault_comes_and_goes: yes", "call_watched: failed"}),
        ("float_switch_is", "full", {"tripped", "at_rest"}),  # "drain pan: full"
        ("door_switch_is", "loose", {"not_pressed", "fault_comes_and_goes: yes"}),
        ("breaker_position", "trips on heat", {"breaker_trips_again: on_heat_call", "tripped"}),
        ("light_says", "3 flashes", {"light: blinking"}),
        ("light_says", "flashes 5 times", {"light: blinking"}),
        ("light_says", "4", {"light: blinking"}),
        ("thermostat_display", "calling", {"lit", "heat_call_at_board: steady"}),  # what it shows may never arrive
        ("somebody_blames_board", "clicking", {"rapid_clicking: yes", "inducer_relay_clicks: yes", "blower_relay_clicks: yes"}),
        ("somebody_blames_board", "burnt", {"board_scorched: yes", "plug_burnt_or_corroded: yes"}),
        ("somebody_blames_board", "wet", {"water_on_controls: dripped_on", "crust_or_tide_mark: yes"}),
        ("fuse_looks", "pops", {"blown", "fuse_blows_again: at_once"}),
        ("fuse_looks", "keeps blowing", {"fuse_blows_again: at_once", "fuse_blows_again: on_heat_call"}),
        ("wire_moved_changes_it", "works", {"plug_moved_helps: yes"}),
        ("fuse_blows_again", "blows when the blower starts", {"on_heat_call", "on_fan_call", "on_cooling_call"}),
        ("blower_runs", "stops after a while", {"no", "lives_again_after_rest: yes"}),
        ("inducer_runs", "hot", {"inducer_motor_hot: normal", "inducer_motor_hot: too_hot_to_hold"}),
        ("igniter_looks", "white line across it", {"white_spot", "broken"}),
        ("plugs_refitted", "same", {"still_the_same", "an earlier repair of board_plug"}),
        ("igniter_glows", "goes out", {"igniter_goes_dark: yes"}),
        ("whole_furnace", "runs fine when watched", {"fault_comes_and_goes: yes"}),
    ],
)
def test_what_could_be_several_things_is_told_with_them(knowledge: Knowledge, words: Words, name: str, text: str, things: set[str]) -> None:
    meant = values_of(knowledge.sign[name], words).meant(text)

    assert len(meant) > 1
    assert things <= {*meant}


# (sign, text, value): words put together otherwise than they are listed
PUT_TOGETHER = [
    ("igniter_glows", "not lighting up", "no"), ("inducer_runs", "isn't kicking on", "no"), ("burners_light", "not firing", "no"),
    ("inducer_runs", "humming but not spinning", "hums"), ("blower_runs", "hums, not turning", "hums"), ("blower_runs", "runs but slow", "slow"),
    ("burners_light", "light then go out after 5 seconds", "drop_out"), ("burners_light", "go out in 4 sec", "drop_out"),
]  # fmt: skip


@pytest.mark.parametrize(("name", "text", "value"), PUT_TOGETHER)
def test_words_put_together_mean_what_they_mean_by_themselves(knowledge: Knowledge, words: Words, name: str, text: str, value: str) -> None:
    assert values_of(knowledge.sign[name], words).meant(text) == [value]


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("inducer_runs", "runs but not spinning"),  # one denies the other
        ("blower_runs", "on and off"),
        ("burners_light", "light and not light"),
        ("burners_light", "light then go out after 5 minutes"),  # that flame was proved
        ("burners_light", "5 seconds"),  # until it lit, or until it went out
        ("burners_light", "light after 5 seconds"),
        ("blower_turns_freely", "free, stiff"),
        ("tries_before_lock_out", "two, three"),
    ],
)
def test_words_that_deny_each_other_mean_nothing(knowledge: Knowledge, words: Words, name: str, text: str) -> None:
    assert len(values_of(knowledge.sign[name], words).meant(text)) != 1


# (kind, text, ids): names that are short for several
SEVERAL = [
    ("point", "24v", ["secondary_volts_at_board", "r_to_c_at_board", "w_to_c_at_board"]),
    ("point", "volts at stat", ["r_to_c_at_thermostat", "w_to_c_at_thermostat"]),
    ("point", "line voltage", ["line_to_neutral_at_board", "line_to_neutral_at_junction_box"]),
    ("point", "hot to ground", ["line_to_chassis_at_board", "line_to_chassis_at_junction_box"]),
    ("point", "amp draw", ["blower_amps", "inducer_amps", "igniter_amps"]),
    ("point", "motor ohms", ["blower_ohms_common_to_cool", "inducer_winding_ohms"]),
    ("sign", "thermostat", ["thermostat_display", "thermostat_batteries", "heat_call_at_board"]),
    ("sign", "gas valve", ["gas_valve_clicks", "gas_valve_passes_gas", "gas_valve_live_without_call"]),
    ("sign", "unplug the humidifier", ["lead_that_blows_fuse", "fuse_blows_again"]),
    ("sign", "humidifier unplugged", ["lead_that_blows_fuse", "fuse_blows_again"]),
    ("sign", "motor", ["blower_motor_hot", "inducer_motor_hot"]),
    ("sign", "wheel on shaft", ["blower_wheel_grips", "inducer_wheel_grips"]),
    ("sign", "spin the wheel", ["blower_starts_when_spun", "blower_turns_freely", "inducer_turns_freely"]),
    ("sign", "squirrel nest", ["rodent_signs", "vent_looks", "debris_inside"]),
    ("sign", "what you move", ["wire_moved_changes_it", "plug_moved_helps"]),
    ("point", "24 at mv", ["gas_pin_to_c", "gas_valve_volts"]),  # a valve has a terminal of that name, and so has many a board
    ("point", "valve coil", ["gas_valve_coil_ohms", "gas_valve_volts"]),
    ("point", "gas wire", ["gas_wire_to_c", "gas_wire_ohms", "gas_wire_to_chassis_ohms"]),
    ("sign", "noise", ["blower_noise", "inducer_noise", "bang_at_light_off"]),
    ("sign", "the relay", ["rapid_clicking", "inducer_relay_clicks", "blower_relay_clicks"]),
    ("sign", "only when cold", ["fault_only_from_cold", "lives_again_after_rest"]),  # it fails then, or works then
    ("sign", "jumper R and W", ["starts_when_joined_at_board", "starts_when_joined_at_thermostat", "starts_with_thermostat_wires_off"]),
    ("sign", "jumped r to w", ["starts_when_joined_at_board", "starts_when_joined_at_thermostat", "starts_with_thermostat_wires_off"]),
    ("event", "flood", ["water_leak_above", "damp_or_humidifier"]),
    ("event", "cold snap", ["snow_or_ice", "long_rest"]),
    ("event", "new stove", ["gas_work_done", "electrical_work"]),
    ("event", "new range", ["gas_work_done", "electrical_work"]),
    ("event", "moved furnace", ["recent_service", "gas_work_done", "electrical_work"]),
]


@pytest.mark.parametrize(("kind", "text", "ids"), SEVERAL)
def test_a_name_that_is_short_for_several_names_them_all(knowledge: Knowledge, words: Words, kind: str, text: str, ids: list[str]) -> None:
    entries = {i: e.also_called for i, e in getattr(knowledge, kind).items()}
    names = Names(entries, spelling_of(words))

    assert names.meant(text) == ids
    assert names.clear(text) == []
    assert names.suggested(text)[: len(ids)] == ids[:3]


def test_every_name_that_is_short_for_several_can_be_typed(words: Words) -> None:
    """None is written in a way that its own spelling does away with."""
    spelling = spelling_of(words)

    assert {spelling(spelled) for spelled in spelling.several} == {*spelling.several}
    assert len(spelling.several) == len(words.several_names)


# (sign named, value, sign told): the value is among the own words of one thing of that name
TOLD_BY_VALUE = [
    ("igniter", "cracked", "igniter_looks"), ("ignitor", "glows then goes out", "igniter_goes_dark"),
    ("igniter", "glows and goes out", "igniter_goes_dark"),
    ("inducer", "starts and stops", "inducer_cuts_out"), ("inducer", "surging", "inducer_cuts_out"),
    ("draft motor", "hot to the touch", "inducer_motor_hot"),
    ("blower", "runs all the time", "blower_always_on"), ("blower", "runs nonstop", "blower_always_on"),
    ("blower motor", "too hot to touch", "blower_motor_hot"),
    ("flame", "lazy yellow", "flame_color"), ("flame", "goes out after 5 seconds", "flame_goes_out"), ("hose", "water in it", "water_in_hose"),
    ("pressure switch", "bouncing", "pressure_switch_chatters"), ("board", "burnt spot", "board_scorched"), ("transformer", "humming", "transformer_hums"),
    ("relay", "chattering", "rapid_clicking"), ("noise", "bang", "bang_at_light_off"), ("thermostat", "low batteries", "thermostat_batteries"),
    ("thermostat", "blank", "thermostat_display"), ("breaker", "trips on a call for heat", "breaker_trips_again"), ("burners", "lazy yellow", "flame_color"),
    ("fault", "comes and goes", "fault_comes_and_goes"), ("fault", "intermittent", "fault_comes_and_goes"), ("problem", "on and off", "fault_comes_and_goes"),
    ("flame", "nice and blue", "flame_color"), ("flame", "steady", "flame_is_steady"), ("burners", "clean", "burners_look"),
    ("stat", "lit", "thermostat_display"), ("rollout", "popped", "reset_buttons"), ("stove", "doesn't light", "gas_elsewhere"),
    ("with gas valve wire off", "still blows", "fuse_blows_with_valve_wire_off"), ("inducer spins", "free", "inducer_turns_freely"),
    ("what you move", "wire at the thermostat", "wire_moved_changes_it"), ("w at board", "comes and goes", "heat_call_at_board"),
    ("gas valve", "no click", "gas_valve_clicks"), ("gas valve", "opens", "gas_valve_clicks"), ("gas valve", "leaks by", "gas_valve_passes_gas"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "value", "sign"), TOLD_BY_VALUE)
def test_of_several_things_of_one_name_the_value_tells_which(knowledge: Knowledge, words: Words, text: str, value: str, sign: str) -> None:
    names = Names({i: s.also_called for i, s in knowledge.sign.items()}, spelling_of(words))

    assert told_by_value(names, text, value) == [sign]


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("igniter", "good"), ("igniter", "bad"), ("igniter", "burnt"), ("blower", "yes"), ("thermostat", "dead"), ("thermostat", "calling"),
        ("transformer", "dead"), ("gas valve", "no"), ("gas valve", "live"), ("gas valve", "hot"), ("gas valve", "switched off"),
        ("relay", "clicks"), ("noise", "squealing"), ("board", "clicking"), ("motor", "too hot to touch"), ("smell", "gas"), ("flame", "none"), ("24v", "25"),
        ("fault", "limit open"), ("fault", "steady"), ("stove", "works"), ("gas valve wire off", "yes"), ("rollout", "open"), ("motor", "too hot"),
        ("thermostat", "bad"), ("thermostat", "weak"), ("blower", "stops"), ("blower", "loose"), ("smell", "faint"), ("smell", "strong"),
        ("igniter", "goes out"),
        ("unplug the humidifier", "holds"), ("jumper r and w", "lights"), ("pressure switch", "sometimes"), ("breaker", "at once"), ("exhaust fan", "runs"),
    ],
)  # fmt: skip
def test_a_value_that_may_be_said_of_anything_tells_nothing(knowledge: Knowledge, words: Words, text: str, value: str) -> None:
    names = Names({i: s.also_called for i, s in knowledge.sign.items()}, spelling_of(words))

    assert len(told_by_value(names, text, value)) != 1


@pytest.mark.parametrize(
    ("text", "result"),
    [
        ("cleaned", "cleaned"), ("sanded", "cleaned"), ("did not fix it", "replaced_no_change"), ("new board same thing", "replaced_no_change"),
        ("worked for a week", "helped_a_while"), ("cleaned no change", "cleaned_no_change"),
        ("replaced, helped for a week", "helped_a_while"), ("cleaned, worked a month", "helped_a_while"),
        ("replaced twice no change", "replaced_no_change"), ("new, same problem", "replaced_no_change"), ("cleared", "cleaned"),
        ("cleaned, no change", "cleaned_no_change"), ("worked for a year", "helped_a_while"), ("blown out", "cleaned"), ("replaced 2 times", "new_part"),
        ("that didn't fix it", "replaced_no_change"), ("cleaned it, did not fix it", "cleaned_no_change"),
    ],
)  # fmt: skip
def test_what_came_of_a_repair_is_known_by_what_people_say_of_it(words: Words, text: str, result: str) -> None:
    assert results_of(words).meant(text) == [result]


def test_fillers_never_hold_a_denial() -> None:
    assert VALUE_SPELLING("It isn't on at all") == "not on"
    assert VALUE_SPELLING("no, nothing") == "no nothing"


@pytest.mark.parametrize(
    ("kind", "text", "identifier"),
    [
        ("event", "weed whacker", "yard_work"),
        ("event", "weed trimmer", "yard_work"),
        ("event", "lightning storm", "storm_or_outage"),
        ("event", "gas meter", "gas_work_done"),
        ("event", "sat all summer", "long_rest"),
        ("event", "thermostat moved", "new_thermostat"),
        ("event", "hung pictures on stat wall", "decorating_or_drilling"),
        ("sign", "light switch by the furnace", "service_switch_position"),
        ("sign", "drain pan switch", "float_switch_is"),
        ("sign", "little red button", "reset_buttons"),
        ("sign", "rollout reset", "reset_buttons"),
        ("sign", "fan on fan switch", "blower_on_fan_call"),
        ("sign", "flame when blower starts", "flame_waves_with_blower"),
        ("sign", "blower fed direct", "blower_fed_directly"),
        ("sign", "lead that blows it", "lead_that_blows_fuse"),
        ("sign", "plugs pulled and refitted", "plugs_refitted"),
        ("sign", "limit trips within 15 minutes", "limit_in_fifteen_minutes"),
        ("point", "120 at inducer pin", "inducer_pin_to_neutral"),
        ("point", "crimp behind gas pin", "gas_wire_to_c"),
        ("point", "r behind float", "r_behind_float_switch_to_c"),
        ("point", "thermostat heat contact", "across_thermostat_heat_contact"),
        ("point", "heat to cool ohms", "blower_ohms_heat_to_cool"),
        ("point", "common to cool ohms", "blower_ohms_common_to_cool"),
        ("point", "rod wire end to end", "rod_wire_end_to_end_ohms"),
        ("point", "rod to bracket ohms", "rod_to_case_ohms"),
        ("part", "ctl brd", "control_board"),
        ("event", "painted", "work_by_the_furnace"),
        ("event", "remodel", "building_dust"),
        ("sign", "squirrel cage", "blower_turns_freely"),
        ("sign", "purple fuse", "fuse_looks"),
        ("sign", "works when cool", "lives_again_after_rest"),
        ("sign", "cold start only", "fault_only_from_cold"),
        ("sign", "only in the morning", "fault_only_from_cold"),
        ("sign", "bypass door switch", "door_switch_held"),
        ("sign", "jumped out the pressure switch", "safety_bypassed"),  # with the caution of whatever bridges a safety
        ("sign", "limit jumped out", "safety_bypassed"),
        ("sign", "tap the relay", "relay_tapped_helps"),
        ("sign", "tapped the inducer", "inducer_tapped_helps"),
        ("sign", "sucked on the hose", "pressure_switch_when_sucked"),
        ("sign", "jumped the burner to ground", "flame_holds_with_burner_joined_to_ground"),
        ("sign", "wiggle wires", "wire_moved_changes_it"),
        ("sign", "reseated the plug", "plug_moved_helps"),
        ("sign", "tapped the board", "board_pressed_helps"),
        ("sign", "reset the power", "power_reset_helps"),
        ("sign", "turn off and on", "power_reset_helps"),
        ("part", "inducer assembly", "inducer"),
        ("sign", "hi limit", "limit_contact"),
        ("sign", "p switch", "pressure_switch_contact"),
        ("sign", "ps", "pressure_switch_contact"),
        ("sign", "ign", "igniter_glows"),
        ("sign", "fs", "flame_rod_looks"),
        ("sign", "gv clicks", "gas_valve_clicks"),
        ("sign", "door sw", "door_switch_is"),
        ("point", "24v at w", "w_to_c_at_board"),
        ("point", "24 at board", "secondary_volts_at_board"),
        ("point", "uA", "flame_current"),
        ("point", "micro amps", "flame_current"),
        ("point", "flame sense", "flame_current"),
        ("point", "heat tap", "heat_terminal_to_neutral"),
        ("point", "low tap", "fan_terminal_to_neutral"),
        ("point", "cap", "capacitor_microfarads"),
        ("point", "w to c at the stat", "w_to_c_at_thermostat"),
        ("point", "voltage at the gv", "gas_valve_volts"),
        ("part", "stat", "thermostat"),
        ("part", "xfmr", "transformer"),
        ("part", "e-board", "control_board"),
        ("part", "gv", "gas_valve"),
    ],
)
def test_short_words_of_the_field(knowledge: Knowledge, words: Words, kind: str, text: str, identifier: str) -> None:
    entries = {i: e.also_called for i, e in getattr(knowledge, kind).items()}

    assert Names(entries, spelling_of(words)).meant(text) == [identifier]


# --- words in another order, with less or more than is listed -----------------------------------


def names_of(knowledge: Knowledge, words: Words, kind: str) -> Names:
    return Names({i: e.also_called for i, e in getattr(knowledge, kind).items()}, spelling_of(words))


@pytest.mark.parametrize(
    ("kind", "text", "identifier"),
    [
        ("sign", "relay click of the inducer", "inducer_relay_clicks"), ("sign", "inducer relay clicking", "inducer_relay_clicks"),
        ("sign", "flame steady", "flame_is_steady"), ("sign", "blames board", "somebody_blames_board"), ("sign", "wire rubbed", "wire_chewed"),
        ("sign", "board pressed", "board_pressed_helps"), ("sign", "pressing the board helps", "board_pressed_helps"),
        ("event", "filter change", "new_filter_or_coil"), ("event", "changed the filter", "new_filter_or_coil"),
        ("event", "gas meter changed", "gas_work_done"), ("event", "electrical panel replaced", "electrical_work"),
        ("event", "humidifier changed", "damp_or_humidifier"), ("sign", "replaced fuse", "fuse_blows_again"),
        ("sign", "held door switch in by hand", "door_switch_held"), ("sign", "took all stat wires off", "goes_on_with_thermostat_wires_off"),
        ("sign", "joined r and w at board stat wires off", "starts_with_thermostat_wires_off"),
        ("sign", "r to w at board with stat wires off", "starts_with_thermostat_wires_off"),
        ("sign", "moved the plug", "plug_moved_helps"), ("point", "ohms of the cable r to c", "thermostat_cable_r_to_c_ohms"),
    ],
)  # fmt: skip
def test_a_name_is_known_by_its_words_in_any_order_and_form(knowledge: Knowledge, words: Words, kind: str, text: str, identifier: str) -> None:
    assert names_of(knowledge, words, kind).in_any_order(text) == [identifier]


@pytest.mark.parametrize(
    "text", ["no flame with a call", "call with no flame", "call without flame", "cooling after works", "neutral", "pressure switch at rest", "limit lead", ""]
)
def test_a_name_whose_order_says_something_or_of_which_a_word_is_missing_is_not_known_so(knowledge: Knowledge, words: Words, text: str) -> None:
    """ "no flame with a call" is not the "flame with no call" that stops a visit; of "limit lead pulled" nothing is left out."""
    assert names_of(knowledge, words, "sign").in_any_order(text) == []


def test_no_name_read_backwards_means_another_thing_alone(knowledge: Knowledge, words: Words) -> None:
    """Over every name of the rules: backwards it is itself, several things, or nothing where its order says something."""
    for kind in ("part", "point", "sign", "event"):
        names = names_of(knowledge, words, kind)
        for identifier, also in names.others.items():
            for name in (identifier, *also):
                found = names.in_any_order(" ".join(reversed(names.spelling(name).split())))
                assert not found or identifier in found, (name, found)
                assert not found or IN_ORDER.isdisjoint(names.spelling(name).split()), name


@pytest.mark.parametrize("text", ["filter not changed", "never changed filter", "control replaced", "new control", "old filter", "humidifier", "changed"])
def test_what_was_not_done_or_to_something_else_is_no_event(knowledge: Knowledge, words: Words, text: str) -> None:
    """A new control is rather the furnace's own board than one "added"."""
    assert names_of(knowledge, words, "event").in_any_order(text) == []


@pytest.mark.parametrize(
    ("text", "events"),
    [
        ("weed trimmer by the condenser", ["yard_work"]), ("filter change near the furnace", ["new_filter_or_coil"]),
        ("mowing by nobody, not here", []), ("no mowing by the condenser", []), ("by the condenser", []), ("condenser by the fence", []),
    ],
)  # fmt: skip
def test_an_event_may_be_told_with_what_it_was_beside(knowledge: Knowledge, words: Words, text: str, events: list[str]) -> None:
    assert names_of(knowledge, words, "event").before_place(text) == events


@pytest.mark.parametrize(
    ("text", "value", "points"),
    [
        ("igniter", "61 ohm", ["igniter_ohms"]), ("string wire to chassis", "0.6 ohms", ["string_wire_to_chassis_ohms"]),
        ("humidifier to c", "0.8 ohm", ["humidifier_to_c_ohms"]), ("thermostat cable r to c", "OL", ["thermostat_cable_r_to_c_ohms"]),
        ("flame", "2.1 uA", ["flame_current"]), ("blower", "4.4 amps", ["blower_amps"]),
        ("humidifier to c", "0.8", []), ("humidifier to c", "24 V", []),  # in what it was read is not said, or is something else
        ("inducer", "119 V", []),  # at the board or at the motor
        ("motor", "3 ohm", []), ("door", "open", []),
    ],
)  # fmt: skip
def test_of_points_that_share_a_name_the_unit_of_the_value_tells_which(knowledge: Knowledge, words: Words, text: str, value: str, points: list[str]) -> None:
    units = {i: p.unit for i, p in knowledge.point.items()}

    assert told_by_unit(names_of(knowledge, words, "point"), text, value, units) == points


@pytest.mark.parametrize(
    ("name", "text", "value"),
    [
        ("cooling_coil_looks", "matted with dirt", "dirty"), ("filter_looks", "matted with dirt", "clogged"),
        ("filter_looks", "plugged solid with dog hair", "clogged"), ("vent_looks", "blocked with old wet leaves", "blocked"),
        ("pressure_hose_looks", "split at the nipple", "cracked"),
        ("pressure_hose_looks", "split at the end", "cracked"), ("pressure_hose_looks", "off at one end", "off"),
        ("vent_looks", "blocked with leaves", "blocked"), ("pressure_port_looks", "rust scale in it", "plugged"),
        ("wire_chewed", "rubbed bare", "yes"), ("flame_goes_out", "in seconds", "within_seconds"),
    ],
)  # fmt: skip
def test_a_value_may_be_told_with_what_it_is_of_or_where(knowledge: Knowledge, words: Words, name: str, text: str, value: str) -> None:
    assert values_of(knowledge.sign[name], words).meant(text) == [value]


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("cooling_coil_looks", "not matted with dirt"), ("pressure_hose_looks", "not split at the end"), ("filter_looks", "no longer clogged with dirt"),
        ("pressure_hose_looks", "good at one end"), ("cooling_coil_looks", "clean in places"), ("pressure_hose_looks", "no crack at the end"),
        ("filter_looks", "plugged with no hair"), ("filter_looks", "clean with dog hair"), ("filter_looks", "plugged solid with what the dog left of hair"),
        ("pressure_hose_looks", "nearly split at the end"), ("wire_chewed", "almost bare"), ("wire_chewed", "not rubbed bare"),
        ("inducer_runs", "not off"), ("inducer_turns_freely", "free stiff"), ("power_reset_helps", "sometimes yes"), ("cooling_coil_looks", "with dirt"),
    ],
)  # fmt: skip
def test_with_a_denial_or_a_doubt_it_is_no_value(knowledge: Knowledge, words: Words, name: str, text: str) -> None:
    assert values_of(knowledge.sign[name], words).meant(text) == []


def test_a_denied_word_with_more_after_it_never_means_what_the_word_means(knowledge: Knowledge, words: Words) -> None:
    """Over every sign and word of it, with each phrase that may stand beside a value."""
    besides = (*words.value_besides.of_what, *words.value_besides.where)
    for sign in knowledge.sign.values():
        names = values_of(sign, words)
        own = {w: v for v in sign.values for w in (v, *sign.value_words.get(v, ()))}
        for (word, value), phrase, denial in product(own.items(), besides, ("not", "isn't", "never")):
            assert names.meant(f"{denial} {word} {phrase}") != [value], (sign.sign, denial, word, phrase)


# --- a shop's own words are held to the same --------------------------------------------------


def changed(knowledge: Knowledge, kind: str, name: str, **fields: object) -> list[str]:
    table = {**getattr(knowledge, kind)}
    table[name] = table[name].model_copy(update=fields)
    return [p.message for p in cross_check(knowledge.model_copy(update={kind: table}))]


def test_the_rules_have_no_such_problem(knowledge: Knowledge) -> None:
    assert cross_check(knowledge) == []


@pytest.mark.parametrize(
    ("kind", "name", "fields", "says"),
    [
        ("sign", "soot", {"also_called": ("LED",)}, '"led" would mean signs light and soot'),
        ("part", "igniter", {"also_called": ("flame sensor",)}, '"flame rod" would mean'),
        ("sign", "soot", {"value_words": {"yes": ("odd",), "no": ("odd",)}}, '"odd" would mean yes and no of soot'),
        ("sign", "soot", {"value_words": {"maybe": ("odd",)}}, "There is no value maybe"),
        ("sign", "soot", {"could_be": {"odd": ("yes",)}}, '"odd" of soot could not be several things'),
        ("sign", "soot", {"in_complaints": {"yes": ("!!",)}}, '"!!" of soot begins with no word'),
        ("sign", "soot", {"in_complaints": {"yes": ("... in the hall",)}}, '"... in the hall" of soot begins with no word'),
        ("sign", "soot", {"in_complaints": {"yes": ("no flame",)}}, '"no flame" is said of'),
        ("sign", "soot", {"in_complaints": {"odd": ("sooty walls",)}}, "odd"),
        ("sign", "soot", {"could_be": {"sooty": ("yes", "no")}}, '"sooty" of soot could not be several things'),
        ("sign", "soot", {"could_be": {"odd": ("light: green", "yes")}}, "There is no sign light with a value green"),
        ("words", "judgement", {"several_names": {"odd": ("soot", "nowhere")}}, "There is no point, sign or event nowhere"),
        ("words", "judgement", {"told_by_value": {"odd": {"nowhere": ("odd",)}}}, "There is no sign nowhere"),
        ("words", "judgement", {"told_by_value": {"odd": {"soot": ("odd",)}}}, '"odd" is no value of soot'),
        ("words", "judgement", {"step_tells": {"nowhere": "soot"}}, "There is no step nowhere"),
        ("words", "judgement", {"step_tells": {"fan_call": "nowhere"}}, "There is no sign nowhere"),
        ("words", "judgement", {"value_besides": ValueBesides(bad_in_part=("nowhere",))}, "There is no value nowhere"),
        ("words", "judgement", {"repair_said": RepairSaid(says_more={"cleaned": ("nowhere",)})}, "There is no repair_said nowhere"),
        ("point", "gas_pin_to_c", {"at_crimp": "nowhere"}, "There is no point nowhere"),
        ("point", "gas_pin_to_c", {"at_crimp": "flame_current"}, "does not read what gas_pin_to_c reads"),
        ("point", "gas_wire_to_c", {"at_load": "gas_pin_to_c"}, "leads back"),
        ("point", "chassis_to_earth", {"at_load": "common_to_chassis"}, "may be read as common_to_chassis, which it does not watch"),
        ("sign", "inducer_noise", {"as_danger": "An inducer that is heard"}, "inducer_noise has `as_danger`, and no hazard knows it"),
        ("hazard", "unsafe_combustion", {"ended_by": (Ended(found="soot", by=("nowhere",), says="so"),)}, "There is no check nowhere"),
        ("hazard", "unsafe_combustion", {"ended_by": (Ended(found="soot", by=("covers_are_back",), says="so"),)}, "No repair asks"),
        ("hazard", "unsafe_combustion", {"ended_by": (Ended(found="co_in_room", by=("vent_draws",), says="so"),)}, "no line by itself co_in_room"),
        ("words", "judgement", {"short_words": {"a switch": ("ps",), "a strainer": ("ps",)}}, 'The short word "ps" stands for two things'),
        ("words", "judgement", {"short_words": {"switch": ("sw",), "door sw": ("ds",)}}, "holds a short word itself"),
    ],
)
def test_a_doubtful_word_is_a_problem_of_the_rules(knowledge: Knowledge, kind: str, name: str, fields: dict[str, object], says: str) -> None:
    assert any(says in message for message in changed(knowledge, kind, name, **fields))


@pytest.mark.parametrize("wanted", [{"no_such_option": "yes"}, {"float_switch_in_r": "maybe"}, {"fuel": "lp"}])
def test_a_failure_hangs_on_an_option_that_there_is_and_no_number_hangs_on(knowledge: Knowledge, wanted: dict[str, str]) -> None:
    """Numbers are drawn before: LP has pressures of its own, and a furnace would have those of natural gas."""
    (failure,) = knowledge.part["float_switch"].failures
    told = changed(knowledge, "part", "float_switch", failures=(failure.model_copy(update={"only_when": wanted}),))

    assert any("option and value that no number hangs on" in message for message in told)


@pytest.mark.parametrize("texts", [{}, {"c": "hums a tune"}])
@pytest.mark.parametrize("asked", ["red", "re wh", "big", "w r", "x", "", "big blue", "hum", "red tune"])
def test_what_holds_words_is_found_as_by_looking_through_all_names(asked: str, texts: dict[str, str]) -> None:
    called = {"a": ["red wheel", "big wheel"], "b": ["red box"], "c": ["big blue box", "whistle"], "red_d": []}
    words = {i: {w for n in (i.replace("_", " "), *others, texts.get(i, "")) for w in n.split()} for i, others in called.items()}
    wanted = [w for w in asked.split() if w not in FILLERS]
    expected = {i for i, said in words.items() if wanted and all(any(s.startswith(w) for s in said) for w in wanted)}
    names = Names(called)

    for _ in range(2):  # what is remembered changes nothing
        assert {*names.holding(asked.split(), texts)} == expected
