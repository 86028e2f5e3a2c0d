"""Dangers that a text speaks of: by their names, and not by the name of another thing that begins like one."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from furnace_diag.claims.desk import Judgement
from furnace_diag.claims.fears import Fears
from furnace_diag.claims.understanding import Reader
from furnace_diag.knowledge.cross import cross_check
from furnace_diag.knowledge.models import DangersSaid, Knowledge
from tests.claims.conftest import Read


@pytest.fixture(scope="module")
def fears(knowledge: Knowledge) -> Fears:
    return Fears(knowledge)


@pytest.mark.parametrize(
    "text",
    [
        "water in hose",
        "water in the hose, blew it out, works now",
        "Water in the pressure hose.",
        "water in the hose to the pressure switch",
        "no water on the board",
        "water in hose only",
        "water in the hose and it works now",
        "water in the hose, nothing on the board",
        "water in the hose on every call",
        "water in hose, 0.3 V on heat terminal",  # the figure is read on it
        "water in hose, 0.35 in wc, pressure switch would not close",
    ],
)
def test_water_in_the_hose_is_no_water_on_the_controls(text: str, fears: Fears) -> None:
    assert fears.spoken_of([text], ()) == ()


@pytest.mark.parametrize(
    "text",
    [
        "water on the board",
        "water got into it",
        "found water, hose is fine",
        "water in the hose. water on the board",
        "water in the hose and on the board",
        "water in the hose & board",
        "Water in the hose, and the plugs.",
        "hose full of water, dripped on the board",
        "water in the hose ran down onto the board",
        "water in the hose, got in the control box",
        "water in the hose, board got wet",
        "water in the hose, 3 drops on the board",  # a figure, and no reading
        "water in the hose; board wet",
        "Condensate dripped on the board",
    ],
)
def test_water_anywhere_else_is_told(text: str, fears: Fears) -> None:
    (told,) = fears.spoken_of([text], ())
    assert "water on the board" in told


@pytest.mark.parametrize(
    ("text", "danger"),
    [
        ("gas leaking at the union", "leak found"),
        ("It smells like gas", "smell of gas"),
        ("melted plug at the board", "have melted"),
        ("family got sick", "sickness"),
    ],
)
def test_what_people_call_a_danger_is_told(text: str, danger: str, fears: Fears) -> None:
    (told,) = fears.spoken_of([text], ())
    assert danger in told


@pytest.mark.parametrize(
    ("text", "danger"),
    [("leak test on the union bubbled", "leak found"), ("fire in the burners and on the wires", "flames"), ("Fire in burners. Smoke in the room.", "Smoke")],
)
def test_what_begins_as_another_thing_and_goes_on_to_a_danger_is_told(text: str, danger: str, fears: Fears) -> None:
    (told,) = fears.spoken_of([text], ())
    assert danger.lower() in told.lower()


@pytest.mark.parametrize(
    "text",
    ["nobody got sick, no gas leaks", "leak tested all joints, good", "leak tested, no leaks found", "fire in the burners on the second try, then goes out"],
)
def test_what_only_begins_as_a_danger_is_none(text: str, fears: Fears) -> None:
    assert fears.spoken_of([text], ()) == ()


def test_a_reading_that_is_told_is_no_hazard_spoken_of(fears: Fears) -> None:
    assert fears.spoken_of(["water in the hose and on the board"], {"water_on_controls"}) == ()


@pytest.mark.parametrize(
    ("text", "sign"),
    [
        ("flame rolled out twice", "flame_rolls_out"),
        ("sparks and flames out the front", "flame_rolls_out"),
        ("limit jumpered by the last man", "safety_bypassed"),
        ("found the pressure switch bypassed, runs fine now", "safety_bypassed"),
        ("sometimes the burners won't shut off", "flame_with_no_call"),
        ("cracked heat exchanger", "exchanger_cracked"),
    ],
)
def test_dangers_are_found_as_people_complain_of_them(text: str, sign: str, fears: Fears, knowledge: Knowledge) -> None:
    """Those of a hazard that is read on a meter as well, or that nobody asks for at the start, too."""
    (told,) = fears.spoken_of([text], ["light_says", "burners_light"])

    assert knowledge.sign[sign].danger[1:] in told


@pytest.mark.parametrize("text", ["no flame rolled out", "limit not jumpered", "limit holds, pressure switch closes", "heat exchanger looked at, not cracked"])
def test_no_danger_is_made_of_what_is_denied(text: str, fears: Fears) -> None:
    assert fears.spoken_of([text], ()) == ()


@pytest.mark.parametrize(
    ("said", "problem"),
    [
        (DangersSaid(words={"a": ("smoke",)}, in_a_row={"blower_runs": (("a",),)}), "There is no sign of a hazard blower_runs"),
        (DangersSaid(words={"a": ("smoke",)}, in_a_sentence={"soot": (("a", "b"),)}), "There is no group of words b"),
        (DangersSaid(harmless=(("c",),)), "There is no group of words c"),
    ],
)
def test_a_row_of_words_that_are_not_there_is_an_error_of_the_rules(said: DangersSaid, problem: str, knowledge: Knowledge) -> None:
    words = knowledge.words["judgement"]
    claims = words.claims.model_copy(update={"said_of_dangers": said})
    wrong = knowledge.model_copy(update={"words": {"judgement": words.model_copy(update={"claims": claims})}})

    assert [p.message.startswith(problem) for p in cross_check(wrong)] == [True]


# as technicians type them; of our own invention. The one word beside them is of the hazard that is to be told, or of either of two.
DANGERS = {
    "safety_taken_out": [
        "jumped out the rollout to get customer going", "rollout jumped out for now", "tech bypassed the limit so they have heat",
        "jumpered ps to get heat over weekend", "ps bypassed", "p switch jumped", "pressure sw jumpered", "hi limit jumped", "high limit bypassed",
        "jumpered out the high limit", "limit wires tied together", "rollout wires tied together", "tied the rollout wires together",
        "rollout switch wire nutted together", "door switch taped down", "door switch taped in", "door sw taped", "taped the door switch",
        "door switch jumped", "jumped door switch", "jumper wire on rollout", "left jumper on limit", "found jumper across ps",
        "paper clip across the rollout", "roll out sw bypassed", "flame rollout switch bypassed", "bypassed both rollouts", "safeties bypassed",
        "all safetys jumpered", "put a jumper across the rollout to get them by", "ran it with limit jumped", "limit shorted across",
        "someone jumped out the pressure switch", "bypassed vent switch", "jumped the limit and it fired right up", "limit switch jumped",
        "pressure switch was jumped by prev tech", "limit by passed", "by-passed the limit", "found ps jumpered out from last guy",
        "limit bypassed w/ wire nut", "both rollouts jumped", "rollout was jumped when I arrived", "temp jumper left on roll out til part comes in",
        "jumpered the hi limit so they would have heat tonight", "had to bypass pressure switch to get it running", "door sw taped shut",
        "panel switch taped", "door safety taped in", "ran with door switch tied down", "homeowner had duct tape on door switch",
        "wire nutted the limit wires", "limit leads joined with wire nut", "rollout sw unplugged and jumped", "bypassed safeties to test, left running",
        "paper clip stuck in the rollout plug", "twisted the limit wires together", "had to twist the 2 limit wires together",
        "took the pressure switch out of the circuit", "took the rollout out of the loop", "limit wired straight thru", "wire nut on the rollout",
        "pulled the jumper off the rollout", "removed the jumper from the limit", "took the limit out of the string",
        "limit taken out of circuit", "someone twisted the rollout leads together", "limit jumped,fires up fine", "jumped across limit",
        "jumpered limit/rollout", "prs sw jumped out", "press switch jumped out", "ps jumped, left running for customer", "jumper on ps", "safety's jumped",
        "found aux limit bypassed", "jumped out limit. fires right up.", "manual reset limit jumped out",
        "installed a 10 amp fuse in the board", "10a fuse in a 3a board", "found 15 amp fuse in board", "board had a 20 amp fuse",
        "penny behind the fuse", "tinfoil in the fuse holder", "fuse holder had foil in it", "a dime in the fuse clips", "fuse is jumpered",
        "someone put a 10 amp fuse in", "10 amp fuse in it, no glow", "10 amp fuse in the board, 15 amp in the disconnect",
        "replaced 3a fuse with 10a fuse", "10 amp automotive fuse on board", "7.5 amp instead of 3 amp", "5 amp fuse in a 3 amp board",
    ],
    "gas_in_the_air gas_leak": [
        "smell of gas", "strong gas smell", "smelled gas at union", "gas odor in basement", "gas smell by furnace", "smells like rotten eggs",
        "rotten egg smell", "smelled rotten eggs", "cust smells gas", "gas leak at valve", "leaking gas at union", "found gas leak on union",
        "soap bubbles at valve", "leak at the union", "smelling gas when it tries to light", "smells gassy", "raw gas smell", "reeks of gas", "gas fumes",
        "odor of gas", "gas smell at startup", "customer complains of gas smell", "smells like gas when starts", "can smell gas in basement",
        "strong odor of propane", "smelled gas by valve", "gas leaking by valve", "whiff of gas", "slight gas odor",
        "smells like eggs", "smelled of rotten eggs", "stinks like bad eggs", "smells like eggs in basement",
    ],
    "flame_rolled_out": [
        "flame rolling out", "flames rolling out front", "flame roll out", "fire rolled out the front", "flames coming out of burner box", "rollout tripped",
        "roll out switch tripped", "rollout popped", "rollout sw open", "burner box scorched", "scorch marks at burners", "flames shooting out the front",
        "flame came out and singed me", "flame rolls", "flame rollout", "rollout was tripped, reset it", "flames roll out under door", "flame rolled back",
        "flame rollout on start up", "flame out the front of burner", "flames come out front on light off", "rollouts keep tripping",
        "found rollout tripped, reset ok", "roll-out open", "tripped roll out", "burner door scorched", "scorched around burners",
    ],
    "unsafe_combustion": [
        "flue pipe was off the collar", "flue pipe fell off", "vent disconnected in the attic", "vent pipe had come apart", "flue not connected",
        "soot in burners", "sooted up", "sooty", "heavy soot in vent", "exchanger cracked", "cracked hx", "crack in heat exchanger", "cracked heat exch",
        "hole in heat exchanger", "soot all over", "full of soot", "flue sooted up", "sooted exchanger", "heavy soot on burners", "HX cracked",
        "cracks in HX", "crack in exchanger 2nd cell",
    ],
    "carbon_monoxide carbon_monoxide_low": [
        "CO alarm went off", "co detector going off", "CO alarm going off in house", "carbon monoxide alarm", "co alarm", "co alarm sounded",
        "CO alarm beeping", "people have headaches", "cust had headaches", "kids sick", "co in the house", "high co", "co 80 ppm in room",
        "CO reading 120 in house", "CO poisoning", "co leak", "CO alarm tripped twice", "co detector alarmed", "CO in flue 500 ppm, CO in house",
        "homeowner had headaches", "family sick, CO",
    ],
    "fire_or_melting": [
        "board smoked", "burnt spot on relay", "board smoked, burnt spot on relay", "smoke from board", "smoke came out of furnace", "puff of smoke",
        "board caught fire", "board on fire", "smoke from blower motor", "motor smoking", "wires melted", "melted connector", "burnt wire at inducer",
        "burned wires", "wire nut melted", "plug burned up", "smoke", "smoked when powered up", "transformer smoked", "burnt connector", "burned plug",
        "transformer melted", "sparks from board", "board sparked", "board sparking", "sparks when plugged in", "arcing at the board", "arced and smoked",
        "saw sparks", "spark and smoke from relay", "relay arcing", "burned up board", "board fried, smelled smoke", "smoke coming from the cabinet",
        "flames in blower compartment", "insulation burned off wires", "scorched wires", "sparks flew out of board", "saw a spark at the relay then smoke",
        "smoke smell then board went dead", "board let the smoke out", "board arced when I plugged it in", "wire melted at L1", "L1 terminal melted",
        "plug melted to board", "melted molex", "burnt molex plug", "burned wire on inducer plug", "wires burnt off board", "caught on fire",
        "board and plug scorched", "board scorched and plug too", "scorched board plug", "board melted", "board charred", "board scorched, wires melted",
        "relay burnt on the board, plug melted", "relay burnt, plug melted", "relay burnt", "relay burnt, board not scorched",
        "relay burnt, board scorched, wires melted", "board scorched, relay melted",
        "small fire in control box", "fire at board", "flames in control compartment", "relay charred", "smoke rolled out of furnace",
    ],
    "cabinet_is_live": [
        "got shocked touching cabinet", "got shocked by the cabinet", "cabinet shocked me", "shock off the cabinet", "tingle when touching furnace",
        "tech got a shock", "furnace is hot to ground shocks you", "cust got shocked", "cabinet is live", "cabinet energized", "felt a tingle",
        "shocked homeowner", "got zapped off the cabinet", "cabinet gives you a shock", "tech shocked by door", "customer gets shocked", "furnace shocks you",
    ],
    "flame_nobody_called_for": [
        "burners stay on after the stat is satisfied", "flame stays lit when thermostat is off", "burner stays on with no call for heat",
        "burners stayed lit with no call", "gas valve stuck open burners wont go out", "gas wont shut off", "burners wont go out",
        "burners wont shut off", "no call, burners still lit", "tstat satisfied but the burners keep burning", "flame stays on without a call",
        "burners kept going after the call ended", "gas valve stuck wide open", "GV won't close", "flame still lit with nothing calling",
        "thermostat off and flame stays on", "fire will not go out",
    ],
    "water_reached_controls": [
        "water on board", "board got wet", "water dripping on board", "condensate leaked on board", "a/c coil leaked on the board", "board wet",
        "water damage on board", "water stains on board", "corroded from water", "board water damaged", "flooded", "basement flooded, furnace under water",
        "water got in the control box", "water in control box", "water on gas valve", "evap leaked on the board", "water ran down on controls",
        "drain backed up onto board", "moisture on the board", "humidifier leaked on board", "board corroded from coil leak", "furnace was in flood",
        "water line on the cabinet", "water all over board", "water on PCB", "drip from coil onto control board",
        "water leaking on ctrl board from humidifier", "humidifer leaking onto board", "board shows water damage", "board has water stains",
        "A coil leaked thru onto board", "water ran in control compartment", "ac drain backed up, board wet", "corrosion on board from water",
        "wet ctrl board", "condensate dripping on brd", "board under water in flood", "rain came down flue onto board", "water inside gas valve",
    ],
}
HARMLESS = [
    "put a jumper on R and W at the board, furnace runs",
    "put a jumper across r to g fan runs",
    "reversing valve stuck open",
    "gas valve did not open",
    "crack seen in igniter",
    "carbon on flame rod",
    "flame blows steady blue",
    "no exhaust smell",
    "flue pipe is on tight", "vent is not disconnected", "vent switch disconnected", "vent damper off", "2 fuses in it", "5 amp fuse", "10 amp breaker",
    "put a 3a fuse in it", "someone put a 15 amp fuse in the disconnect", "disconnect has a 15 amp fuse in it", "no foil in the fuse holder",
    "foil tape on the plenum, fuse holder ok", "gas smell? no, none", "gas smell: nil", "gas smell? no", "any gas smell? nope", "smell of gas: none",
    "board scorched", "scorched board", "board is blackened", "relay burnt on the board", "burnt relay on the circuit board", "burnt spot on the board",
    "scorch marks on the board", "trace scorched on board", "relay burnt, board scorched by blower relay", "burnt relay, board blackened",
    "board scorched, relay burnt",
    "burners fire then no air", "burners fire up, blower never starts", "burner fires and drops out", "fires up fine", "fired right up",
    "fires then dies", "furnace fires but no blower", "it will fire then shut down in 3 sec", "water in pressure hose", "hose had water in it",
    "water in hose", "water in drain trap", "trap full of water", "condensate in tubing, drained it", "drain line plugged with water",
    "hot water heater ok", "water heater fine", "humidifier water panel dirty", "cleaned condensate trap", "water in inducer housing", "no gas smell",
    "no smell of gas", "no soot", "no soot no cracks", "no burnt spots", "no smoke", "limit not jumpered", "no jumpers found", "rollout ok",
    "rollout not tripped", "rollouts all in", "co 0 ppm", "CO alarm quiet", "co detector silent", "co test ok", "no co", "co levels normal",
    "0 co in flue", "gas pressure 3.5", "gas valve opens", "spark none", "no sparks", "smoke test passed", "smoke detector chirps low battery",
    "wires ok not melted", "jumped R to W and it fired", "jumped r and w at board, inducer runs", "jumpered R-W at stat", "jumped 24v to gas valve",
    "jumper from board", "option jumper set", "checked limit, not bypassed", "didnt bypass anything", "flame sensor cleaned no soot", "flame rod clean",
    "flame drops out", "flame steady", "flame lifts off", "flame wont stay lit", "shock mount broken", "no shock", "pressure switch hose dry",
    "water column 3.5", "3.5 in water column manifold", "0.6 in of water draft", "inches of water 0.35", "water softener", "burner compartment clean",
    "burns blue", "heat exchanger checked no cracks", "no leaks found with soap", "leak checked ok",
    "hot surface igniter burned out", "igniter burnt out", "igniter burned open", "burned out motor", "motor burnt out", "fuse burned",
    "fired the furnace", "hose had water, blew out", "water out of the hose", "hose was full of water", "tube full of water", "water was in the hose",
    "drained water from hose", "water in the ps tube", "water in ps hose", "water in press hose", "found water in pressure tube",
    "no signs of water on board", "board dry", "board dry no water", "hose dry", "blew water out of ps hose", "water in inducer hose",
    "water trapped in hose", "condensate drain clogged", "drain trap cleaned", "hose half full of water", "water found in the pressure tubing",
    "tubing had condensate in it", "burners fire but blower wont run", "burner fires, drops out 4 sec", "unit fires for 3 seconds",
    "tries to fire 3 times locks out", "does not fire", "will not fire", "won't fire", "fires on third try", "lights and fires normal",
    "main burners fire no flame sense", "fires, no heat", "no gas odor", "no gas odor present", "gas odor none", "did not smell gas",
    "no smoke or sparks", "no burnt smell", "no burn marks", "nothing melted", "wires not burnt", "no melted wires", "connectors good, no burning",
    "no water damage", "no water on controls", "no moisture", "no rust or water", "no soot or rust", "burners clean no soot", "no cracks in hx", "hx ok",
    "inspected heat exchanger, no cracks", "CO 3 ppm", "CO tested ok", "no CO alarm", "co alarm not sounding", "no shocks", "no tingle", "nobody sick",
    "customer fine", "cust says no headaches", "rollout closed", "rollouts closed", "rollout switches reading closed", "limits closed",
    "limits ok rollouts ok", "pressure switch closed, draft ok", "ps closes", "jumped thermostat at board R-W", "jumped R/W",
    "jumped R and W at the board, no change", "jumper R to W starts inducer", "put jumper on R&W", "jumpered G to R blower runs", "jumped y to r",
    "jumped 120 to blower motor runs", "jumpered blower direct 120v runs", "motor jumped with 120 runs", "jumped inducer with 120v, runs", "no jumpers",
    "limit not jumped", "pressure switch not bypassed", "safeties all in place", "all safeties closed", "flame sensor cleaned", "flame sensor reads 3 ua",
    "flame sense 0.2", "flame goes out after 5 sec", "flame blue", "flame lifting", "bypass humidifier closed", "bypass humidifier damper shut",
    "option jumper cut", "heat speed jumper on med", "hot surface igniter burnt", "ignitor cracked", "igniter burned in two", "inducer burned out",
    "blower motor burned out", "burned out board", "capacitor burned out", "fuse blown", "fuse burnt", "transformer burned out", "transformer burnt out",
    "24v transformer open", "customer sick of waiting", "customer not happy", "humidifier water shut off", "water heater vent ok",
    "replaced board, works", "gas pressure 3.5 in water column", "inlet 7 in wc", "inlet 7 inches water", "draft 0.8 in water", "smoke alarm ok",
    "burners stay on until the stat is satisfied", "flame stays lit until the call ends", "burners stay lit, goes out when the stat is satisfied",
    "blower stays on after the stat is satisfied", "inducer stays on with no call", "board light stays lit with no call", "gas wont come on",
    "burners wont stay on", "burners wont light", "gas valve stuck closed", "gas valve wont open", "flame goes out when the stat is satisfied",
    "burners stay lit the whole call", "no flame with no call", "no burners on with no call", "gas shuts off after 5 sec", "gas off at the cock",
    "3a fuse in the board", "5 amp fuse in board", "3 amp fuse good", "15 amp fuse in the disconnect", "15a fuse in the service switch", "board draws 10 amps",
    "took the pressure switch out and tested it", "took the limit out of the box", "took the board out of the box and the limit checked ok",
    "pulled the jumper off r and w", "took the jumper off the thermostat", "twisted the limit wires back on", "limit wired straight to the board",
    "paper clip on the paperwork", "pulled the tape off the duct", "boom truck", "boom truck set the unit on the roof", "red tag on the thermostat box",
    "red tagged the old board and sent it in", "not red tagged", "inspector came by, furnace ok", "kids were playing", "furnace keeps throwing up error codes",
    "customer says it is throwing up codes", "inducer puking water, customer mopped it up", "35 ppm in the flue", "co 120 ppm in the flue",
    "0 ppm in the kitchen", "reads 3 ppm in the kitchen", "co2 at 800 ppm in the kitchen", "35 ppm in the flue, utility room door shut", "roof caved in",
    "combustion air ok", "combustion air intake is clear", "sealed the cabinet, combustion air open", "smelled like egg salad", "carton of eggs",
    "dirty filter", "vent clear", "spider web in orifice",
]


IN_THEIR_WORDS = [
    ("crack seen rear cell", "exchanger_cracked"),
    ("flame blows when fan starts", "flame_waves_with_blower"),
    ("flame lifts off when blower starts", "flame_waves_with_blower"),
    ("limit tests open, ohmed it OL cold. taped wires together for the night", "safety_bypassed"),
    ("limit bad. twisted the wires together", "safety_bypassed"),
    ("ps bad. put a jumper across it", "safety_bypassed"),
    ("furnace room smells like exhaust", "vent_spills"),
    ("valve wont close, flame stays lit", "gas_valve_passes_gas"),
    ("carbon on exchanger", "soot"),
    ("burners back flash out front", "flame_rolls_out"),  # of our own invention, common practice, no source
    ("lady says her and the kids been puking and woozy every night", "people_feel_ill"), ("kids been pukin", "people_feel_ill"),
    ("wife and kids threw up", "people_feel_ill"), ("customer throwing up", "people_feel_ill"), ("tenant felt woozy", "people_feel_ill"),
    ("meter reads 85 ppm in the kitchen", "co_in_room"), ("co at 85 ppm in the kitchen", "co_in_room"), ("60ppm in the hall", "co_in_room"),
    ("85 ppm co in the basement", "co_in_room"), ("100 ppm at the register", "co_in_room"),
    ("lit with a big boom", "bang_at_light_off"), ("big boom when it lit and blew the door off", "bang_at_light_off"),
    ("chimney liner caved in", "vent_looks"), ("flue is collapsed", "vent_looks"),
    ("sealed the combustion air with a garbage bag", "combustion_air_closed"), ("combustion air grille blocked", "combustion_air_closed"),
    ("gas company red tagged it", "tagged_unsafe"), ("unit was red tagged", "tagged_unsafe"), ("inspector condemned the furnace", "tagged_unsafe"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "sign"), IN_THEIR_WORDS)
def test_a_danger_in_plain_words_is_told_as_what_it_is(text: str, sign: str, fears: Fears, knowledge: Knowledge) -> None:
    (told,) = fears.spoken_of([f"2 yrs old, {text}, sent board"], ())

    assert knowledge.sign[sign].danger[1:] in told


@pytest.mark.parametrize(("hazards", "text"), [(h, text) for h, texts in DANGERS.items() for text in texts])
def test_no_danger_is_missed_however_it_is_typed(hazards: str, text: str, fears: Fears, knowledge: Knowledge) -> None:
    told = fears.spoken_of([text], ())

    assert any(knowledge.hazard[h].now in each for h in hazards.split() for each in told)


@pytest.mark.parametrize("text", HARMLESS)
def test_what_only_looks_like_a_danger_holds_nothing_up(text: str, fears: Fears) -> None:
    assert fears.spoken_of([text], ()) == ()


@pytest.mark.parametrize(
    ("text", "danger"),
    [
        ("burners fire then smoke from the board", "Smoke"),
        ("gas smell? no one knows", "gas"),
        ("gas smell? no. flue pipe off", "vent"),
        ("gas smell, no heat", "gas"),
        ("jumped R to W, limit bypassed too", "limit"),
        ("CO alarm tested ok, customer has headaches", "Headache"),
        ("water in ps hose and all over the board", "board"),
        ("shock mount loose and it shocked me", "shock"),
        ("no smoke or sparks, wires melted", "melted"),
        ("hot water heater ok. water on the board", "board"),
        ("CO alarm ok now but it went off last night", "monoxide"),
        ("board caught fire then went out", "smoke"),
        ("board bad due to fire in the furnace", "smoke"),
        ("jumped stat and limit", "limit"),
        ("bypassed the fan limit switch", "limit"),
        ("fire dept red tagged the furnace", "smoke"),
        ("furnace was sitting in water", "board"),
        ("smoke detector went off when it lit", "smoke"),
        ("flame rollout in the vestibule", "flame"),
        ("CO tested high in the house", "monoxide"),
    ],
)
def test_a_danger_beside_something_harmless_is_told(text: str, danger: str, fears: Fears) -> None:
    assert any(danger.lower() in told.lower() for told in fears.spoken_of([text], ()))


@pytest.mark.parametrize(
    ("text", "monoxide", "other_gas"),
    [
        ("co detector went off", True, False),
        ("CO detector alarmed twice", True, False),
        ("c.o. detector went off", True, False),
        ("carbon monoxide detector going off", True, False),
        ("gas detector went off", False, True),
        ("combustible gas detector 25 percent", False, True),
        ("co detector went off, gas detector went off too", True, True),
        ("taco detector went off", False, True),
    ],
)
def test_a_detector_is_of_the_gas_that_it_is_told_to_be_of(text: str, monoxide: bool, other_gas: bool, fears: Fears) -> None:
    told = " ".join(fears.spoken_of([text], ()))

    assert ("carbon monoxide alarm" in told, "combustible gas detector" in told) == (monoxide, other_gas)


LONG = "we looked at it twice and the man on the line said to send it all in, " * 3
GAS, BYPASSED = "smell of gas", "found joined across or taped"


@pytest.mark.parametrize(
    ("content", "name", "danger"),
    [
        ("claim,complaint,Heard on the phone\n1,no heat,they smell gas when it tries\n", "claims.csv", GAS),
        ("claim,complaint,Heard on the phone\n1,no heat,jumped out rollout to get them going\n", "claims.csv", BYPASSED),
        ("claim,complaint,\n1,no heat,smell of gas\n", "claims.csv", GAS),  # under no heading
        ("claim,complaint\n1,no heat,smell of gas\n", "claims.csv", GAS),  # beyond the headings
        ("claim,complaint,complaint\n1,no heat,smell of gas\n", "claims.csv", GAS),  # the same heading twice
        ("claim,complaint,asked for\n1,no heat,new board and there is a smell of gas\n", "claims.csv", GAS),
        (f"claim,complaint\n1,no heat {LONG * 3} smell of gas\n", "claims.csv", GAS),  # beyond what is kept of a complaint
        ("claim,complaint,name,value,Heard\n1,no heat,blower runs,no,\n1,no heat,inducer runs,yes,smell of gas\n", "claims.csv", GAS),
        (f"claim,name,value\n1,blower runs,{LONG} smell of gas\n", "claims.csv", GAS),  # a value that is not read
        (f"- claim: 1\n  complaint: no heat\n  heard: {LONG} smell of gas\n", "claims.yaml", GAS),
        ("- claim: 1\n  complaint: no heat\n  heard: [no heat, smell of gas]\n", "claims.yaml", GAS),
        ("- claim: 1\n  records:\n  - {sign: blower_runs, value: no, heard: smell of gas}\n", "claims.yaml", GAS),
        ('{"claim": 1, "complaint": "no heat", "heard": {"by": "smell of gas"}}\n', "claims.jsonl", GAS),
    ],
)
def test_a_danger_is_told_wherever_it_stands_in_a_claim(judged: Callable[..., list[Judgement]], content: str, name: str, danger: str) -> None:
    (judgement,) = judged(content, name)

    assert any(danger in text for text in judgement.feared)


def test_a_column_that_is_not_read_tells_no_danger_of_another_claim_and_none_that_is_denied(judged: Callable[..., list[Judgement]]) -> None:
    content = "claim,shop,complaint,Heard\n1,Oak,no heat,smell of gas\n2,Smell of Gas Heating,no heat,no gas smell\n3,Oak,no heat,\n"

    assert [bool(j.feared) for j in judged(content)] == [True, False, False]


LEAK = "a leak found with soap or a detector"


@pytest.mark.parametrize(
    "text",
    [
        "no heat after water heater leak",
        "water leak",
        "roof leak",
        "toilet leak upstairs",
        "humidifier leak",
        "drain leak",
        "freon leak",
        "hot water heater leak",
        "air leak at plenum",
    ],
)
def test_a_leak_of_water_or_air_is_none_of_gas(fears: Fears, text: str) -> None:
    assert not [said for said in fears.spoken_of([text], set()) if LEAK in said]


@pytest.mark.parametrize(
    "text",
    [
        "gas leak",
        "leak at union found with soap",
        "leak found",
        "leak at water heater",
        "gas leak at water heater",
        "water heater gas leak",
        "pipe leak",
        "hose leak",
        "propane leak",
        "tank leak",
        "water heater leak, leak at union found with soap",
        "water leak and gas leak",
        "leak on gas line by water heater",
    ],
)
def test_a_leak_that_may_be_of_gas_stays_a_danger(fears: Fears, text: str) -> None:
    assert [said for said in fears.spoken_of([text], set()) if LEAK in said]


# the words are common practice, no source
@pytest.mark.parametrize(
    ("text", "danger"),
    [
        ("flu pipe fell off and dumping fumes in basement", "vent pipe that is apart"),
        ("vent pipe came apart in the attic", "vent pipe that is apart"),
        ("exhaust fumes in house", "flue gas spilling"),
        ("fuse kept blowing put 10 amp in", "fuse that is too large"),
        ("popped fuse so i put in a 15 amp", "fuse that is too large"),
        ("smelled a lil gas at valve", "smell of gas"),
        ("smelled a little bit of gas", "smell of gas"),
        ("burners roll out when it lights", "flame coming out"),
        ("burner rolled out", "flame coming out"),
        ("flames rollin out", "flame coming out"),
        ("found nothing jumped out limit", "joined across"),  # "found nothing, jumped out limit"
    ],
)
def test_a_danger_is_told_as_shops_write_of_it(text: str, danger: str, fears: Fears) -> None:
    (told,) = fears.spoken_of([text], ())
    assert danger in told


@pytest.mark.parametrize(
    "text",
    [
        "no co, no gas smell, nothing jumped out. 0 v w to c",
        "nothing jumped out at me",
        "nothing bypassed",
        "burner roll out switch ok",
        "burners roll out switch closed",
        "fuse blew put 3 amp in",
        "put a 5 amp fuse in",
        "fuse in disconnect blew put 15 amp in",
        "put in a 15 amp breaker",
        "flue pipe clean",
        "kids had the flu",
        "vent not disconnected",
        "no fumes in house",
        "hose came off inducer",
    ],
)
def test_what_only_looks_like_those_is_none(text: str, fears: Fears) -> None:
    assert fears.spoken_of([text], ()) == ()


def _of(judged: Callable[..., list[Judgement]], text: str) -> Judgement:
    (claim,) = judged(f'claim,part,complaint,readings\nA1,control board,no heat,"{text}"\n')
    return claim


@pytest.mark.parametrize(
    "text",
    [
        "rollout switch was jumpered when i got there. took it off. ign pin 0 v low z at igniter warm up",
        "limit bypassed, removed it. ign pin 0 v",
        "limit bypassed; jumper removed; ign pin 0 v",
    ],
)
def test_a_bridge_that_was_taken_out_stops_no_letter(text: str, judged: Callable[..., list[Judgement]]) -> None:
    claim = _of(judged, text)

    assert [(r["sign"], r["value"]) for r in claim.records if "sign" in r] == [("safety_bypassed", "found_and_taken_out")]
    assert (claim.feared, claim.hazards, claim.unmatched) == ((), (), ())
    assert [r["point"] for r in claim.records if "point" in r] == ["igniter_pin_to_neutral"]


@pytest.mark.parametrize(
    "text",
    [
        "limit bypassed, removed it. rollout still jumped out. no glow",  # another one
        "limit was bypassed. no glow. took it off",  # it may be of something else
        "limit was bypassed. took the board out. no glow",
        "smelled gas at valve. gone now. no glow",  # a strong smell is not the technician's to call off
        "limit jumped and flame rolling out. took it off. no glow",
    ],
)
def test_a_danger_that_is_not_plainly_put_right_is_told(text: str, judged: Callable[..., list[Judgement]]) -> None:
    claim = _of(judged, text)
    assert claim.feared or claim.hazards


def test_what_was_read_over_a_bridge_tells_nothing(judged: Callable[..., list[Judgement]]) -> None:
    claim = _of(judged, "across limit 0.1 v at call. limit was jumpered. took it off. across limit 26 v at call")
    assert [(r["point"], r["value"]) for r in claim.records if "point" in r] == [("across_limit", "26 v")]
    assert any("stands before what was put right" in note for note in claim.notes)


@pytest.mark.parametrize(
    ("text", "danger"),
    [
        ("whole fam had headachs, swapped brd", "sickness"), ("60 ppm co in living rm", "carbon monoxide"), ("heat exchangr has a hole", "crack or hole"),
        ("flames dance when blower comes on", "flame that changes"),
        ("spillage at draft hood", "flue gas spilling"), ("ps hose T'd off and plugged so it stays closed", "joined across"),
        ("gas valve leaks thru", "passes gas"), ("carbon monoxide detecter went off", "alarm"),
    ],
)  # fmt: skip
def test_a_danger_in_a_shops_own_words_is_told(text: str, danger: str, fears: Fears) -> None:
    """Common practice, no source."""
    (told,) = fears.spoken_of([text], ())
    assert danger in told


@pytest.mark.parametrize(
    "text",
    [
        "no headachs", "backdraft damper stuck", "spillage at draft hood ok", "ps hose plugged", "flames steady when blower comes on",
        "hose T'd to the inducer", "valve does not leak thru",
    ],
)  # fmt: skip
def test_what_stands_near_a_danger_is_none(text: str, fears: Fears) -> None:
    assert fears.spoken_of([text], ()) == ()


@pytest.mark.parametrize(
    ("text", "danger"),
    [
        ("plug brown and melted", "melted"), ("121 on heat pin, 0 at the crimp. plug brown and melted", "melted"), ("terminal was black and burnt", "melted"),
        ("smelled like burning", "burnt, fishy"), ("works when i smack the board. smelled like burning. light off", "burnt, fishy"),
        ("smelt burned", "burnt, fishy"),
    ],
)  # fmt: skip
def test_what_has_turned_dark_and_melted_or_smelled_burnt_is_a_danger(text: str, danger: str, fears: Fears) -> None:
    """Common practice, no source."""
    (told,) = fears.spoken_of([text], ())
    assert danger in told


@pytest.mark.parametrize("text", ["plug brown", "plug not brown and melted", "did not smell like burning", "wires brown and blue"])
def test_what_is_only_dark_is_none(text: str, fears: Fears) -> None:
    """Common practice, no source."""
    assert fears.spoken_of([text], ()) == ()


@pytest.mark.parametrize(
    ("text", "danger"),
    [
        ("found limit with a jumper on it", "joined across"),
        ("limit switch w jumper", "joined across"),
        ("found the limit with a wire across it", "joined across"),
        ("someone put a jumper between the 2 limit wires", "joined across"),
        ("ps held closed w a zip tie", "joined across"),
        ("pressure switch wired closed", "joined across"),
        ("gas cock leaks by the stem", "a leak found"),
        ("bubbled at gas cock", "a leak found"),
        ("alarm said 88 ppm", "carbon monoxide in the room"),
        ("flame pulls to one side when fan comes on", "a flame that changes"),
        ("burned my eyebrows off when it lit", "flame coming out"),
        ("flue rusted thru with holes in it", "a vent pipe"),
        ("vent has hole in it", "a vent pipe"),
        ("exhaust coming back in the house", "flue gas spilling"),
        ("fumes coming into the basement", "flue gas spilling"),
        ("stat satisfied and burners still going", "flame in the burners"),
        ("stat satisfied, burners still going", "flame in the burners"),
        ("w wire off and burners still lit", "flame in the burners"),
        ("flame stays on when stat shuts off", "flame in the burners"),
        ("main burner lights by itself", "flame in the burners"),
    ],
)
def test_a_danger_in_a_shops_short_words_is_told(text: str, danger: str, fears: Fears) -> None:
    """Common practice, no source."""
    assert [danger for told in fears.spoken_of([text], ()) if danger in told] == [danger]


@pytest.mark.parametrize(
    "text",
    [
        "limit with a wire off",
        "checked limit with wires off, closed",
        "limit good. stat with a jumper on it",
        "limit ok with jumper on r w",
        "pressure switch held closed with inducer running",
        "ps held closed with 0.9 in wc",
        "combustion analyzer 80 ppm in flue",
        "gas cock shut",
        "burned my hand on flue",
        "flue rusted some on the outside",
        "exhaust comes out the side wall of house",
        "ps stuck shut with water in hose",
        "blower still going with stat off",
        "flame steady, stays lit whole call",
        "burners light, stat off again, fine",
        "gas valve shuts with w off, flame out",
        "flame still lit at 10 min, then limit opens",
    ],
)
def test_what_is_near_to_those_words_is_no_danger(text: str, fears: Fears) -> None:
    assert fears.spoken_of([text], ()) == ()


@pytest.mark.parametrize(
    ("text", "danger"),
    [
        ("limit, jumper on it", "joined across"),
        ("rollout switch, found a wire across it", "joined across"),
        ("fires with stat off", "flame in the burners"),
        ("burners fire with stat off", "flame in the burners"),
        ("it fires up with no call", "flame in the burners"),
        ("furnace wont shut off, burners on", "flame in the burners"),
        ("burners still on, furnace will not shut off", "flame in the burners"),
        ("breaker is 30 on 14 wire", "a breaker or panel fuse"),
        ("brkr is 40", "a breaker or panel fuse"),
        ("inducer housing melted", "have melted"),
        ("melted ps hose", "have melted"),
    ],
)
def test_a_danger_told_in_halves_is_told(text: str, danger: str, fears: Fears) -> None:
    """Common practice, no source; 20 A is what a breaker of such a furnace has at most in the rules."""
    assert [danger for told in fears.spoken_of([text], ()) if danger in told] == [danger]


@pytest.mark.parametrize(
    "text",
    [
        "limit, no jumper on it",
        "limit closed. board had jumper on it",
        "does not fire with stat off",
        "fires up after power off for a minute",
        "fires fine, stat off again",
        "furnace wont shut off, blower on all the time",
        "blower wont shut off",
        "lights with stat off",
        "breaker is 20 on 12 wire",
        "breaker is 30 years old",
        "ac breaker is 30",
        "snow melted off vent pipe",
        "inducer housing not melted",
    ],
)
def test_what_is_near_to_such_halves_is_no_danger(text: str, fears: Fears) -> None:
    assert fears.spoken_of([text], ()) == ()


@pytest.mark.parametrize(
    ("text", "danger"),
    [
        ("foil round the fuse", "fuse"),
        ("fuse replaced w 10 amp", "fuse"),
        ("15 amp fuse installed", "fuse"),
        ("found 30a fuse", "fuse"),
        ("cabinet hot 60v", "from the cabinet"),
        ("converted to lp w/o kit", "another gas"),
        ("running lp on nat gas orifices", "another gas"),
        ("melted neutral, board fried", "have melted"),
        ("half the lights in house went out", "half of the house"),
        ("lost half the lights in the house", "half of the house"),
        ("co 45 ppm ambient", "carbon monoxide"),
        ("water ran out of hose onto board", "water on the board"),
    ],
)
def test_a_danger_told_by_shops_in_a_few_words_is_told(text: str, danger: str, fears: Fears) -> None:
    """Common practice, no source."""
    assert [danger for told in fears.spoken_of([text], ()) if danger in told] == [danger]


@pytest.mark.parametrize(
    "text",
    [
        "water ran out of hose when I pulled it",
        "fuse replaced w 3 amp",
        "disconnect fuse replaced w 15 amp",
        "15 amp fuse found blown in disconnect",
        "cabinet not hot",
        "cabinet hot from the sun",
        "converted to lp with kit",
        "half the lights on the tree were out",
        "ambient co 3 ppm",
        "neutral tight",
    ],
)
def test_what_is_near_to_a_few_words_of_shops_is_no_danger(text: str, fears: Fears) -> None:
    assert fears.spoken_of([text], ()) == ()


@pytest.mark.parametrize(("text", "hazards"), [("3 lbs on inlet", ["rough_ignition"]), ("inlet 3 lbs", ["rough_ignition"]), ("inlet 4 oz", [])])
def test_gas_pressure_in_pounds_and_ounces_is_a_reading(text: str, hazards: list[str], judged: Callable[..., list[Judgement]]) -> None:
    """1 psi is 27.68 in. w.c. (NIST SP 811 (2008) App. B.8), and 16 ounces."""
    (judgement,) = judged(f"claim,part,readings\nA1,gas valve,{text}\n")

    assert ([h.finding for h in judgement.hazards], judgement.unmatched) == (hazards, ())


@pytest.mark.parametrize(
    ("text", "danger"),
    [
        ("hose disconnected flue", "vent pipe that is apart"),
        ("vent hose disconnected", "vent pipe that is apart"),
        ("flue pipe was laying on the floor", "vent pipe that is apart"),
        ("no vent connected", "vent pipe that is apart"),
        ("vent spilling", "flue gas spilling"),
        ("2 psi at valve", "more gas than the plate"),
        ("2 lb gas at valve", "more gas than the plate"),
        ("2 psi line, no regulator", "more gas than the plate"),
        ("no lp conversion kit, running propane", "burners set for another gas"),
        ("flame stays on when r off", "flame in the burners"),
        ("sniffer hits at valve", "smell of gas"),
        ("bubbles at valve outlet w soap", "leak found with soap"),
        ("flames out of burner box", "flame coming out"),
        ("fireball when lit", "flame coming out"),
        ("valve stuck on", "gas"),
        ("flex line leaking", "leak found with soap"),
        ("flue loose at inducer", "vent pipe that is apart"),
        ("flue has hole", "vent pipe that is apart"),
        ("drafthood spilling", "flue gas spilling"),
        ("rollout cut out and spliced", "joined across"),
        ("rollout missing", "joined across"),
        ("door switch tied", "joined across"),
        ("family went to er", "headache"),
        ("overfired 120k input on 80k", "more gas than the plate"),
        ("wrong orifices", "more gas than the plate"),
        ("fuse replaced w wire", "fuse that is too large, or bridged"),
        ("15 amp auto fuse in it", "fuse that is too large, or bridged"),
        ("soap bubbles at gas valve", "leak found with soap"),
        ("boom on start up", "bang or whoomp"),
        ("bangs when it lights", "bang or whoomp"),
        ("rollout found with paper clip", "joined across"),
        ("door sw held in w/ magnet", "joined across"),
        ("limit had a jumper", "joined across"),
        ("exchanger rusted thru", "crack or hole"),
        ("wire across fuse", "fuse that is too large, or bridged"),
        ("lights in house dim and get bright", "lights that get bright"),
    ],
)
def test_a_danger_told_in_few_words_is_heard(text: str, danger: str, fears: Fears) -> None:
    assert any(danger in said for said in fears.spoken_of([text], ()))


@pytest.mark.parametrize(
    "text",
    [
        "2 psi at meter, 7 in at valve",
        "supply vent on the floor was shut",
        "no bang when it lights",
        "bang when blower starts",
        "limit has 24 v",
        "checked wire to fuse",
        "running propane, kit installed",
        "inducer w/o water",
        "lights and stays lit",
        "flame goes out",
        "limit wire is there",
        "fuse replaced with 3 amp",
        "pressure switch removed and replaced",
        "valve sticks shut",
    ],
)
def test_what_is_near_such_words_is_no_danger(text: str, fears: Fears) -> None:
    assert fears.spoken_of([text], ()) == ()


@pytest.mark.parametrize(
    ("text", "record"), [("128 to ground on cabinet", ("chassis_to_earth", 128.0)), ("gas pressure 20 in at valve", ("inlet_pressure", 20.0))]
)
def test_a_figure_that_is_a_danger_is_read(text: str, record: tuple[str, float], read: Read, reader: Reader) -> None:
    ((raw,), _) = read(f"claim,part,readings\nC1,control board,{text}\n")

    assert [(r.name, r.number) for r in reader.understood(raw).report.records] == [record]


@pytest.mark.parametrize(
    ("text", "danger"),
    [
        ("prv tech jmpd the rollout, i put it back like he had it", "joined"),
        ("jumpd out limit", "joined"),
        ("jmpr on limit", "joined"),
        ("limit sw is jmped out", "joined"),
        ("bypasd the door sw", "joined"),
        ("jumpers still in at rollout", "joined"),
        ("boom on light off", "bang"),
        ("big boom on lightoff, door blew off", "bang"),
        ("blew the front panel off when it lit", "bang"),
        ("lights w a bang", "bang"),
        ("explosion on start up", "bang"),
        ("puffed back and knocked the door off", "bang"),
        ("hard light off, shook the ductwork", "bang"),
        ("5A fuse in it, should be 3", "fuse that is too large"),
        ("5 amp fuse installed instead of 3", "fuse that is too large"),
        ("put a 5 amp in, board calls for 3", "fuse that is too large"),
        ("fuse should be 3, found a 5", "fuse that is too large"),
        ("10 amp fuse in holder, board marked 3", "fuse that is too large"),
        ("oversized fuse", "fuse that is too large"),
        ("somebody put in a bigger fuse", "fuse that is too large"),
        ("fuse too big", "fuse that is too large"),
        ("over fused", "fuse that is too large"),
        ("foil wrapped fuse", "fuse that is too large"),
        ("heat x bad", "heat exchanger"),
        ("ht x cracked", "heat exchanger"),
        ("bad hx", "heat exchanger"),
        ("exchanger failed", "heat exchanger"),
        ("cabinet bites you", "shock"),
        ("furnace bites when you touch it", "shock"),
        ("cabinet bit the customer", "shock"),
        ("got a jolt off the door", "shock"),
        ("feel current on cabinet", "shock"),
        ("pulled hose off and water poured out on the board", "water on the board"),
        ("pulled hose and water ran out, all over the board", "water on the board"),
        ("water poured out of furnace", "water on the board"),
    ],
)
def test_a_danger_in_short_forms_and_slang_is_heard(text: str, danger: str, fears: Fears) -> None:
    """Common practice, no source."""
    told = fears.spoken_of([text], ())
    assert any(danger in each for each in told), told


@pytest.mark.parametrize(
    "text",
    [
        "jmpd r w at stat, starts", "jmpr r to g, blower runs", "no jmprs found", "limit not jmpd", "stat jumpd, blower runs", "amp draw jumped to 5",
        "lights without a bang", "ductwork pops when blower starts", "panel off when i got there", "rough start up then smooth", "hard ignition lockout",
        "3A fuse in it, should be 5", "blew 3 amp fuse 5 times, should be 3 amp", "5 amp fuse ok", "inducer draws 5 amp, should be 3", "fuse 3 amp not 5",
        "0.5 a draw, fuse should be 3", "bigger filter needed", "oversized furnace for house", "amp draw too high fuse blew",
        "hx not bad", "no heat x bad cold", "no heat x 2 days", "heat x checked good", "bit of rust on hx",
        "dog bit me", "cabinet door bit loose", "transformer buzzes and is hot",
        "pulled hose off and water poured out", "pulled the ps hose, water ran out, put it back", "water poured out when i took hose off",
    ],
)  # fmt: skip
def test_what_is_near_short_forms_and_slang_is_no_danger(text: str, fears: Fears) -> None:
    assert fears.spoken_of([text], ()) == ()
