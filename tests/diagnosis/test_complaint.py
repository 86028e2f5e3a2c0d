"""What a complaint's words are taken to tell, and what they never do."""

from __future__ import annotations

from dataclasses import replace

import pytest

from furnace_diag.diagnosis.answer import answer
from furnace_diag.diagnosis.complaint import Complaints
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.examples import example_of, records_of
from furnace_diag.diagnosis.findings import Finder
from furnace_diag.diagnosis.report_file import understand
from furnace_diag.knowledge.models import Knowledge
from furnace_diag.knowledge.naming import each_way, first_words
from furnace_diag.knowledge.spelling import plain
from furnace_diag.knowledge.yaml_text import parse_yaml
from furnace_diag.problems import BadInput


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ("Glows, no gas. Four tries and it quits for the night", {"igniter_glows": "yes", "burners_light": "no"}),
        ("it lights up blue, goes out after about five seconds", {"burners_light": "drop_out"}),
        ("the fan never shuts off, heat is fine", {"blower_always_on": "yes", "blower_starts_in_heat": "starts"}),
        # heat that works tells that the blower that does not is that of another call
        ("no blower", {"blower_runs": "no"}),
        ("no blower but heat works", {"blower_starts_in_heat": "starts"}),
        # a flame that stays lit is no good sign where nothing calls
        ("burners stay lit after the call", {"flame_with_no_call": "yes"}),
        ("burners stay lit", {"burners_light": "stay_lit"}),
        ("inducer won't run", {"inducer_runs": "no"}),
        ("never glows", {"igniter_glows": "no"}),
        ("short cycles on the limit and hardly any air upstairs", {"flame_goes_out": "after_minutes", "air_at_registers": "weak"}),
        ("eats fuses, stat went blank", {"fuse_looks": "blown", "thermostat_display": "blank"}),
        # what is not always so, what somebody thinks, and what is denied tells nothing
        ("sometimes no flame", {}),
        ("no heat on and off", {"fault_comes_and_goes": "yes"}),
        ("short cycles some days, other days ok", {"fault_comes_and_goes": "yes"}),
        ("no flame on cold mornings", {}),
        ("neighbour thinks there is no flame", {}),
        ("not short cycling any more", {}),
        # but a danger is one however seldom it is so, unless it is denied
        ("sometimes the flame rolls out the front", {"flame_rolls_out": "yes"}),
        ("smells of gas now and then, no flame", {"gas_smell": "strong"}),
        # who does not say how strong it is is not told that there is little of it
        ("I smell gas real bad", {"gas_smell": "strong"}),
        ("faint gas smell, no flame", {"gas_smell": "slight", "burners_light": "no"}),
        ("no gas smell", {"gas_smell": "none"}),
        ("smells like eggs when it lights", {"gas_smell": "strong"}),
        ("the kids are puking every night it runs", {"people_feel_ill": "yes"}),
        ("furnace is puking water", {}),
        ("it lit with a big boom", {"bang_at_light_off": "yes"}),
        ("boom truck in the drive", {}),
        ("chimney liner collapsed", {"vent_looks": "blocked"}),
        ("roof collapsed", {}),
        ("somebody taped over the combustion air", {"combustion_air_closed": "yes"}),
        ("combustion air is open", {}),
        ("gas company red tagged it", {"tagged_unsafe": "yes"}),
        ("red tag on the thermostat box", {}),
        ("took the limit out of the circuit", {"safety_bypassed": "yes"}),
        ("took the limit out and looked at it", {}),
        ("flames came out the front", {"flame_rolls_out": "yes"}),
        ("my head hurts when furnace runs", {"people_feel_ill": "yes"}),
        ("burning smell and smoke", {"smoke_or_fire": "smoke"}),
        ("burnt smell when it starts", {"burning_smell": "yes"}),
        ("shocked me when i touched it", {"tingle_from_cabinet": "yes"}),
        ("water dripping on the board", {"water_on_controls": "dripped_on"}),
        ("sick of this furnace", {}),
        ("lights with a bang, no smoke", {"bang_at_light_off": "yes"}),
        ("no smell of gas, gas smell: none", {}),
        ("gas smell: nil", {}),
        # that somebody blames the board is one thing, that the board is bad another, which nobody's word tells
        ("no heat, last guy says board is bad", {"somebody_blames_board": "yes"}),
        ("previous company told me I need a new board", {"somebody_blames_board": "yes"}),
        ("the last tech condemned the control board", {"somebody_blames_board": "yes"}),
        ("was told bad board", {"somebody_blames_board": "yes"}),
        ("board is bad", {}),
        ("they want to replace the board", {}),
        ("nobody says the board is bad", {}),
        ("he never said the board is bad", {}),
        ("guy said he was not sure the board is bad", {}),
        ("tech says the board is not bad", {}),
        ("the last man jumpered the limit and it runs", {"safety_bypassed": "yes"}),
        # two values of one sign
        ("no flame. Last week: burners stay lit", {}),
        ("no heat", {}),
        ("", {}),
    ],
)
def test_plain_words_of_a_complaint_tell_of_signs(said: str, told: dict[str, str], knowledge: Knowledge) -> None:
    assert {c.sign: c.value for c in Complaints(knowledge.sign, knowledge.hazard.values()).said_in(said)} == told


def test_a_report_weighs_its_complaint_as_hearsay_and_says_so(evidence: Evidence) -> None:
    report = understand(parse_yaml("complaint: glows, no gas\nrecords: []", "r.yaml"), evidence.knowledge, evidence.vocabulary)
    now = answer(report, evidence)

    assert [(r.name, r.word, r.source, r.place.line) for r in report.records] == [("igniter_glows", "yes", "told", 1), ("burners_light", "no", "told", 1)]
    assert all("complaint" in line for line in now.read_as)
    assert len(now.read_as) == 2


def test_what_was_recorded_is_not_told_over_again_by_the_complaint(evidence: Evidence) -> None:
    seen = "complaint: no flame\nrecords: [{sign: burners_light, value: drop_out}]"
    alike = "complaint: lights and goes out\nrecords: [{sign: flame_goes_out, value: within_seconds}]"
    for text in (seen, alike):
        assert len(understand(parse_yaml(text, "r.yaml"), evidence.knowledge, evidence.vocabulary).records) == 1, text


def test_hearsay_proves_nothing(evidence: Evidence) -> None:
    """The records that prove each failure, told by somebody instead of seen or read, prove nothing."""
    finder = Finder(evidence.knowledge)
    for proof in evidence.knowledge.proof.values():
        records, options = records_of(example_of(proof), evidence.knowledge, evidence.vocabulary)
        told = [replace(r, source="told") for r in records]

        assert finder.find(records, options).grades[proof.proof] == "proved"
        assert finder.find(told, options).grades.get(proof.proof) not in {"proved", "shown"}, proof.proof


@pytest.mark.parametrize(
    ("complaint", "record"),
    [("smells of gas", "{sign: gas_smell, value: none}"), ("flame rolls out the front", "{sign: burners_light, value: stay_lit}")],
)
def test_a_danger_in_a_complaint_is_told_whatever_the_records_say(complaint: str, record: str, evidence: Evidence) -> None:
    """Who smells no gas may come later than who smelled it."""
    told = understand(parse_yaml(f"complaint: {complaint}\nrecords: [{record}]", "r.yaml"), evidence.knowledge, evidence.vocabulary)
    without = understand(parse_yaml(f"records: [{record}]", "r.yaml"), evidence.knowledge, evidence.vocabulary)

    assert answer(told, evidence).hazards
    assert not answer(without, evidence).hazards


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ("blower won't start", {"blower_runs": "no"}),
        ("fan switch left on", {"thermostat_fan_switch": "on"}),
        ("the fan stays on all the time", {"blower_always_on": "yes"}),
        ("burners lite", {"burners_light": "yes"}),  # short and misspelt words count as they do in a name
        ("ign hums no, ign glows", {"igniter_glows": "yes"}),
        ("after 10 minutes flame goes out", {"flame_goes_out": "after_minutes"}),
        ("blower won't start in cooling", {"blower_runs": "no at cooling_call"}),  # of another call, and not of the heat call
        ("blower won't start with the door shut", {"blower_runs": "no"}),
        ("new board same", {"control_board": "replaced_no_change"}),  # and nobody blames the board by it
        ("no glow, board was swapped, no change", {"igniter_glows": "no", "control_board": "replaced_no_change"}),
        ("replaced igniter worked for a week", {"igniter": "helped_a_while"}),
        # nobody tells what came of it, or it is not told for certain
        ("new board last spring", {}),
        ("they swapped the board the same day", {}),
        ("neighbour thinks the board was swapped, no change", {}),
        ("not a new board same as before", {}),
    ],
)
def test_a_complaint_alone_is_a_report(said: str, told: dict[str, str], knowledge: Knowledge) -> None:
    report = understand(parse_yaml(f"complaint: {said!r}" if '"' in said else f'complaint: "{said}"', "r.yaml"), knowledge)

    assert {r.name: f"{r.word}{f' at {r.step}' if r.step else ''}" for r in report.records} == told
    assert {r.source for r in report.records} <= {"told"}


def test_a_repair_that_a_record_tells_of_is_not_told_over_again(knowledge: Knowledge) -> None:
    text = "complaint: new board same\nrecords: [{history: board, value: worked for a week}]"
    assert [r.word for r in understand(parse_yaml(text, "r.yaml"), knowledge).records] == ["helped_a_while"]


@pytest.mark.parametrize("text", ["furnace: {family: induced_draft_hsi_80}", "complaint: ''", "story: cold"])
def test_without_a_complaint_records_are_needed(text: str, knowledge: Knowledge) -> None:
    with pytest.raises(BadInput, match='"records" is missing'):
        understand(parse_yaml(text, "r.yaml"), knowledge)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("Not on the call, on the blower. Runs all day with its lead pulled.", {}),
        ("Blower runs all day.", {"blower_always_on": "yes"}),
        ("Lights fine. Goes out after 5 seconds.", {"burners_light": "drop_out"}),  # "..." may stand for the end of a sentence
        ("Old house. Smells of gas. No heat.", {"gas_smell": "strong"}),
    ],
)
def test_words_of_two_sentences_are_not_joined_to_a_phrase(text: str, told: dict[str, str], evidence: Evidence) -> None:
    assert {c.sign: c.value for c in evidence.vocabulary.complaints.said_in(text)} == told


def test_the_ways_of_a_phrase_that_begin_with_a_word_are_those_of_all_that_do(evidence: Evidence) -> None:
    phrases = [p for s in evidence.knowledge.sign.values() for each in s.in_complaints.values() for p in each if "|" in p]
    assert len(phrases) > 50
    for phrase in phrases:
        ways = each_way(phrase)
        assert first_words(phrase) == {way.split()[0] for way in ways}, phrase
        assert {w for first in first_words(phrase) for w in each_way(phrase, first)} == {*ways}
        assert all(way.split()[0] == first for first in first_words(phrase) for way in each_way(phrase, first))
    assert each_way("|new 3_amp|3a fuse") == ["new 3 amp fuse", "new 3a fuse", "3 amp fuse", "3a fuse"]
    assert each_way("|a b") == ["a b", "b"]
    assert "" in each_way("|a |b")


def test_every_phrase_of_the_rules_is_found_by_the_first_of_its_words(evidence: Evidence) -> None:
    """They are kept by that word alone until it is met."""
    k, checked = evidence.knowledge, 0
    complaints = Complaints(k.sign, k.hazard.values())
    for sign in k.sign.values():
        for value, phrase in sign.ways_in_complaints():
            words = plain(phrase.partition("...")[0]).split()
            assert any((p.sign, p.value) == (sign.sign, value) and p.words[: len(words)] == words for p in complaints._phrases_with(words[0])), phrase
            checked += 1
    assert checked > 1000
    assert complaints._phrases_with("no such word") == []


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ("heats fine but the fan wont come on w/ stat fan ON", {"blower_starts_in_heat": "", "blower_runs": "fan_call"}),
        ("no blower on cool", {"blower_runs": "cooling_call"}),
        ("no blower in cool mode, works in heat", {"blower_runs": "cooling_call", "blower_starts_in_heat": ""}),
        ("heat works, no fan on fan on", {"blower_starts_in_heat": "", "blower_runs": "fan_call"}),
        ("no blower, heat works", {"blower_starts_in_heat": ""}),
    ],
)
def test_what_does_not_run_beside_heat_that_works_is_of_the_call_that_is_told(said: str, told: dict[str, str], evidence: Evidence) -> None:
    assert {c.sign: c.step for c in evidence.vocabulary.complaints.said_in(said)} == told


def test_an_earlier_repair_is_told_beside_a_sentence_of_what_is_not_always_so(evidence: Evidence) -> None:
    told = evidence.vocabulary.repairs_in("short cycles some days. last guy swapped the board, no change")
    assert [(r.part, r.value) for r in told] == [("control_board", "replaced_no_change")]
    assert evidence.vocabulary.repairs_in("sometimes they swap the board, no change") == []


@pytest.mark.parametrize(
    ("said", "replaced", "cleaned"),
    [
        ("new board, still no blower", ["control_board"], []),
        ("replaced the board last wk still no blower on heat", ["control_board"], []),
        ("swapped board last week. still wont light", ["control_board"], []),
        ("changed both limits and the rollout, still says limit", ["limit_switch", "rollout_switch"], []),
        ("new board, igniter and rod. still no heat", ["control_board", "igniter", "flame_rod"], []),
        ("new rod, cleaned burners, new board. same", ["flame_rod", "control_board"], ["burners"]),
        ("rod sanded, then a new rod, then a new wire. no change at all", ["flame_rod"], []),  # "wire" alone may be any
        ("changed ignitor 2x no help", ["igniter"], []),
        ("new igniter, still doesn't light", ["igniter"], []),
        # what is still well, or not fitted, or more than a part is told, or nothing of what came of it
        ("new board last week still no problems", [], []),
        ("new breaker still doesn't trip", [], []),
        ("new gas valve, still no leak", [], []),
        ("new igniter, still in the box", [], []),
        ("new thermostat still not in", [], []),
        ("new cap. board looks burnt. still no blower", [], []),
        ("new board, not a new igniter. still in spec", [], []),
    ],
)
def test_what_is_still_wrong_after_a_repair_tells_what_came_of_it(said: str, replaced: list[str], cleaned: list[str], evidence: Evidence) -> None:
    """Common practice, no source: a part that was changed and changed nothing is seldom what is wrong."""
    told = {r.part: r.value for r in evidence.vocabulary.repairs_in(said)}
    assert told == dict.fromkeys(replaced, "replaced_no_change") | dict.fromkeys(cleaned, "cleaned_no_change")


def test_what_a_fan_call_shows_takes_nothing_from_what_is_told_of_heat(evidence: Evidence) -> None:
    """A blower that runs from the fan switch is another thing than one that does not come on with the burners; one seen running on heat is the same."""
    for step, told in (("fan_call", True), ("cooling_call", True), ("heating", False)):
        text = f"complaint: blower wont kick on\nrecords: [{{sign: blower_runs, value: yes, step: {step}}}]"
        records = understand(parse_yaml(text, "r.yaml"), evidence.knowledge, evidence.vocabulary).records
        assert (("blower_runs", "no") in {(r.name, r.word) for r in records}) == told, step
