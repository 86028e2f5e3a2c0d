"""Dangers that a complaint tells of in any of the rules' words, what only looks like one, and what it says is over. Common practice, no source."""

from __future__ import annotations

import pytest

from furnace_diag.diagnosis.answer import answer
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.hearsay import not_heard, unheard
from furnace_diag.diagnosis.report_file import understand
from furnace_diag.knowledge.models import Knowledge
from furnace_diag.knowledge.yaml_text import parse_yaml


def told(complaint: str, evidence: Evidence) -> dict[str, str]:
    return {c.sign: c.value for c in evidence.vocabulary.complaints.dangers_in(complaint)}


@pytest.mark.parametrize(
    ("complaint", "sign", "value"),
    [
        ("rollout switch jumpered", "safety_bypassed", "yes"),
        ("limit switch bypassed w a wire nut", "safety_bypassed", "yes"),
        ("flame rollin out front", "flame_rolls_out", "yes"),
        ("flame roll out, burnt wires at burner", "flame_rolls_out", "yes"),
        ("fire coming out of cabinet on start up", "smoke_or_fire", "fire"),
        ("flames in the control box", "smoke_or_fire", "fire"),
        ("rotten egg smell when it runs", "gas_smell", "strong"),
        ("smells a lil gas outside by meter", "gas_smell", "slight"),
        ("wife is dizzy", "people_feel_ill", "yes"),
        ("cabinet tingles", "tingle_from_cabinet", "yes"),
        ("scorched wires", "wiring_melted", "yes"),
        ("melted plug", "wiring_melted", "yes"),
        ("water dripping on board", "water_on_controls", "dripped_on"),
        ("furnace flooded last spring", "water_on_controls", "under_water"),
        ("flu pipe fell off, dumping in basement", "vent_joined", "apart"),
        ("birds nest in flue", "vent_looks", "blocked"),
        ("85 ppm co in kitchen", "co_in_room", "at_least_70_ppm"),
        ("60 ppm co in living rm", "co_in_room", "from_30_to_70_ppm"),
        ("co reading 200 in supply", "co_in_room", "at_least_70_ppm"),
        ("flames dance when blower comes on", "flame_waves_with_blower", "yes"),
        ("when the blower kicks on the flames dance", "flame_waves_with_blower", "yes"),
        ("flame blows around with the blower running", "flame_waves_with_blower", "yes"),
        ("flue backdrafting into house", "vent_spills", "yes"),
        ("spillage at draft hood", "vent_spills", "yes"),
        ("hole rusted in cell 3", "exchanger_cracked", "yes"),
        ("ps hose T'd off and plugged so it stays closed", "safety_bypassed", "yes"),
        ("gas valve leaks thru, burner lit all nite", "gas_valve_passes_gas", "yes"),
        # misspelt: a letter left out, too many, at the place of its neighbour, another vowel
        ("whole fam had headachs", "people_feel_ill", "yes"),
        ("heat exchangr has a hole", "exchanger_cracked", "yes"),
        ("limmit bypased", "safety_bypassed", "yes"),
        ("flame rollnig out", "flame_rolls_out", "yes"),
        ("carbon monoxide detecter went off", "co_alarm", "sounding"),
        ("40 ppm co in kitchen", "co_in_room", "from_30_to_70_ppm"),
        # it was there, and is again
        ("gas smell gone then came back", "gas_smell", "strong"),
        ("gas smell gone but still smell it some mornings", "gas_smell", "strong"),
        # what made it run is no end of it
        ("limit bypassed, fixed it", "safety_bypassed", "yes"),
        ("limit bypassed, fixed last year by other guy", "safety_bypassed", "yes"),
        # what is gone, or no more, is another thing
        ("saw smoke, no more heat since", "smoke_or_fire", "smoke"),
        ("smell gas, gone thru 3 igniters", "gas_smell", "strong"),
        ("kids dizzy, gone to hospital", "people_feel_ill", "yes"),
        ("smells gas has stopped working", "gas_smell", "strong"),
        ("furnace does nothing, smell gas", "gas_smell", "strong"),
        # an alarm for short, and what it does anywhere in the sentence
        ("co det going off upstairs", "co_alarm", "sounding"),
        ("carbon monoxide det went off", "co_alarm", "sounding"),
        ("co alarm upstairs keeps going off", "co_alarm", "sounding"),
        # a breaker larger than any circuit of such a furnace
        ("breaker keeps tripping so he put a 40 in", "breaker_rating", "too_large"),
        ("landlord put a 30A breaker on the 15A circuit", "breaker_rating", "too_large"),
        ("bigger breaker put in by landlord", "breaker_rating", "too_large"),
    ],
)
def test_a_danger_in_other_words_stops(complaint: str, sign: str, value: str, evidence: Evidence) -> None:
    assert told(complaint, evidence).get(sign) == value
    report = understand(parse_yaml(f'complaint: "{complaint}"\nrecords: []', "r.yaml"), evidence.knowledge, evidence.vocabulary)
    assert answer(report, evidence).hazards


@pytest.mark.parametrize(
    "complaint",
    [
        "15 amp breaker keeps tripping", "breaker tripped, put a 2 amp fuse in", "condenser has a 40 amp breaker", "40 amp breaker for a/c",
        "breaker is a 20 amp",
        "no heat, flame sensor wire broken", "flame goes out, board blinking", "flame drops out then board locks out", "flame rod wire off",
        "co alarm chirped once low battery", "co alarm in the house is quiet", "there is no co alarm in the house", "9 ppm co in kitchen",
        "jumped r to w at the board and it fires up", "water heater leaks", "smoke detector low battery", "fireplace works, furnace dead",
        "exchanger looks ok", "no soot", "soot: clean", "flame rolls out: stays in", "safety bypassed: no jumpers", "gas smell: not smell anything",
        "shock from the cabinet: no shock", "co in room: 0 ppm", "did not notice any gas smell", "never had any gas smell", "no sign of soot",
        "sick of this furnace", "board has a burn spot", "blower wheel rubs", "put 5 amp fuse in",
    ],
)  # fmt: skip
def test_what_is_none_and_what_is_denied_stops_nothing(complaint: str, evidence: Evidence) -> None:
    assert told(complaint, evidence) == {}


@pytest.mark.parametrize(
    ("complaint", "sign"),
    [
        ("gas smell gone, tightened union", "gas_smell"), ("gas smell is gone now, still no heat", "gas_smell"), ("smell of gas went away", "gas_smell"),
        ("no more gas smell", "gas_smell"), ("smoke is gone", "smoke_or_fire"),
    ],
)  # fmt: skip
def test_a_danger_that_is_over_is_none_and_is_told_all_the_same(complaint: str, sign: str, evidence: Evidence) -> None:
    assert told(complaint, evidence) == {}
    report = understand(parse_yaml(f'complaint: "{complaint}"\nrecords: []', "r.yaml"), evidence.knowledge, evidence.vocabulary)
    assert answer(report, evidence).hazards == ()
    assert any(evidence.knowledge.sign[sign].says in line and "over" in line for line in report.read_as)


@pytest.mark.parametrize(
    ("complaint", "sign", "value"),
    [
        ("lights 3 4 sec and shuts off", "burners_light", "drop_out"),
        ("lights 3-4 seconds then shuts off", "burners_light", "drop_out"),
        ("fires up then dies after a few seconds", "burners_light", "drop_out"),
        ("runs 5 min then burners quit", "flame_goes_out", "after_minutes"),
        ("limit tripping", "flame_goes_out", "after_minutes"),
        ("dead. no lights nothing", "whole_furnace", "dead"),
        ("no lights on the board", "light", "dark"),
        ("popped the 3 amp fuse", "fuse_looks", "blown"),
        ("psw wont make", "pressure_switch_contact", "open"),
        ("psw chatters", "pressure_switch_chatters", "yes"),
        ("water in hose", "water_in_hose", "yes"),
        ("blower dont come on w heat but runs w fan on", "blower_on_fan_call", "yes"),
        ("blower wont run on heat. fan on works. burners lite", "blower_on_fan_call", "yes"),
        ("blower wont run on heat. fan on works. burners lite", "blower_starts_in_heat", "does_not_start"),
        ("swaped p switch no diff", "pressure_switch", "replaced_no_change"),
        ("put a new board on it no diff", "control_board", "replaced_no_change"),
        ("jumped fuse w wire, took it out", "fuse_rating", "found_bridged_and_taken_out"),
    ],
)
def test_common_complaints_are_understood(complaint: str, sign: str, value: str, evidence: Evidence) -> None:
    report = understand(parse_yaml(f'complaint: "{complaint}"\nrecords: []', "r.yaml"), evidence.knowledge, evidence.vocabulary)
    assert (sign, value) in {(r.name or r.part, r.word) for r in report.records}
    assert answer(report, evidence).hazards == ()


def test_what_of_a_complaint_is_not_read_is_said_to_be_so(evidence: Evidence) -> None:
    text = "complaint: no heat since yesterday, gurgling noise, inducer wont start\nrecords: []"
    report = understand(parse_yaml(text, "r.yaml"), evidence.knowledge, evidence.vocabulary)
    assert any("gurgling noise -> nothing of it is weighed" in line for line in report.read_as)
    assert not any("no heat" in line for line in report.read_as)


@pytest.mark.parametrize(
    ("complaint", "left"),
    [
        ("potato", ["potato"]), ("no heat", []), ("furnace quit last night", []), ("limit trips, 3 trys", ["3 trys"]), ("kids got headaches, furnace dead", []),
    ],
)
def test_only_what_tells_something_is_unread(complaint: str, left: list[str], evidence: Evidence) -> None:
    assert unheard(complaint, [p.strip() for p in complaint.split(",")], evidence.vocabulary) == left


def test_no_phrase_of_the_rules_that_is_weighed_is_said_to_be_unread(evidence: Evidence) -> None:
    """Whole phrases, one in seven, for there are thousands: what parts a complaint ("then no air") stands within some of them."""
    complaints, phrases = evidence.vocabulary.complaints, [p for s in evidence.knowledge.sign.values() for _, p in s.ways_in_complaints()]
    whole = [p for p in (p.replace("...", "3") for p in phrases[::7]) if [told.words for told in complaints.said_in(p)] == [p]]

    assert len(whole) > 1000
    assert [p for p in whole if not_heard(p, evidence.vocabulary)] == []
    assert not_heard("burners light, then no air from the registers", evidence.vocabulary) == []


def test_every_danger_of_the_rules_in_other_words_is_one(knowledge: Knowledge) -> None:
    """The value that a row of words tells is one by which some hazard holds."""
    said = next(iter(knowledge.words.values())).claims.said_of_dangers
    lines = {(w.sign, value) for h in knowledge.hazard.values() for way in h.when for w in way for value in w.is_}
    assert {(sign, said.told_as.get(sign, "yes")) for sign in (*said.in_a_row, *said.in_a_sentence)} <= lines


def test_no_phrase_of_a_danger_is_lost_to_what_denies_it(evidence: Evidence) -> None:
    """One in seven of the phrases, for there are thousands."""
    complaints, signs = evidence.vocabulary.complaints, evidence.knowledge.sign.values()
    phrases = [(s.sign, p.replace("...", "it")) for s in signs for v, p in s.ways_in_complaints() if complaints.is_danger(s.sign, v)]
    assert [(sign, p) for sign, p in phrases[::7] if sign not in {d.sign for d in complaints.dangers_in(f"no heat, {p}")}] == []


@pytest.mark.parametrize(
    "complaint",
    [
        "flames do not move when blower comes on", "flames steady when blower comes on", "flame flickers and goes out, blower keeps running",
        "burners flicker when inducer starts",
        "backdraft damper stuck", "no spillage at draft hood", "spillage at draft hood none", "spillage at draft hood ok", "no backdrafting",
        "no hole in cell 3", "cracked cell phone",
        "co reading 0 in supply", "co reading 5 ppm in supply", "co2 reading 900 in supply", "ps hose plugged", "ps hose off, switch stays open",
        "humidifier valve leaks thru",
        "gas valve does not leak by", "no headachs", "selling the house", "tipped the drain pan", "heather is not home",
    ],
)  # fmt: skip
def test_what_stands_near_a_danger_is_none(complaint: str, evidence: Evidence) -> None:
    assert told(complaint, evidence) == {}


def test_what_is_misspelt_is_not_told_to_be_unheard(evidence: Evidence) -> None:
    assert not_heard("whole fam had headachs", evidence.vocabulary) == []
