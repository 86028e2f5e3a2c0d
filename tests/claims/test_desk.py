"""One claim judged: the same as `rank` on the same records, and no more than the records show."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from furnace_diag.claims.desk import Desk, Judgement, RememberingEvidence
from furnace_diag.claims.reading import Files, RawClaim
from furnace_diag.claims.understanding import Claim, Reader
from furnace_diag.diagnosis.answer import Answer, answer
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.examples import example_of, records_of
from furnace_diag.diagnosis.records import Record, Report, Vocabulary, clashing, read_report, record_of
from furnace_diag.furnace.family import Family
from furnace_diag.furnace.population import Population
from furnace_diag.knowledge.models import Knowledge
from furnace_diag.problems import Place, Problem
from tests.ours import our_rules

RULES = our_rules()
VOCABULARY = Vocabulary(RULES)
CASES = sorted((Path(__file__).resolve().parents[2] / "cases").glob("*.yaml"))
BOARD = "control_board"
BOUNDS = next(iter(RULES.words.values())).claims
Judged = Callable[..., list[Judgement]]
PLACE = Place("claims.csv", 1, 1)


def claim_of(report: Report, *, part: str = BOARD, unread: tuple[Problem, ...] = ()) -> Claim:
    return Claim("C1", "Oak", "", "", part, "", "", "", PLACE, report, unread, (), (), ())


def agrees(judgement: Judgement, ranked: Answer) -> None:
    """Beliefs, verdict on the board, proof and findings are those of `rank`; the verdict on the claim follows from them."""
    shares = {p.part: p.probability for p in ranked.parts}
    assert judgement.share == pytest.approx(shares[judgement.part], abs=6e-5)
    assert judgement.something_else == pytest.approx(ranked.something_else, abs=6e-5)
    assert judgement.board == ranked.board.verdict
    assert [h.finding for h in judgement.hazards] == [h.finding for h in ranked.hazards]
    assert [d.finding for d in judgement.doubts] == [d.finding for d in ranked.doubts]
    other = next(p for p in ranked.parts if p.part != judgement.part)
    if other.probability < BOUNDS.worth_naming:  # little belief in another part is no accusation of it
        assert judgement.cause is None
    else:
        assert judgement.cause is not None
        assert judgement.cause.share_of_part == pytest.approx(other.probability, abs=6e-5)
        if judgement.cause.part == other.part and judgement.cause.failure == other.failures[0].failure:
            assert judgement.cause.speaks_for == other.failures[0].speaks_for or other.failures[0].probability < 0.005
    assert (judgement.verdict == "supported") == bool(ranked.board.proved)
    if ranked.board.proved or ranked.board.nearest:
        assert judgement.proof is not None
        assert judgement.proof.proof == (ranked.board.proved[0] if ranked.board.proved else ranked.board.nearest).proof  # type: ignore[union-attr]
    if judgement.verdict == "not_supported":
        assert ranked.board.verdict in ("unlikely", "cleared")
        assert judgement.cause.share_of_part >= BOUNDS.elsewhere
    if judgement.verdict == "cannot_be_true_together":
        assert ranked.something_else >= max(BOUNDS.together, max(shares.values()))


@pytest.mark.parametrize("case", CASES, ids=lambda p: p.stem)
def test_cases_are_judged_as_they_are_ranked(case: Path, desk: Desk, evidence: Evidence) -> None:
    report = read_report(case, RULES)
    judgement = desk.judge(claim_of(report))

    agrees(judgement, answer(report, evidence))
    if report.answer.get("part") != BOARD:
        assert judgement.verdict not in ("supported", "plausible")
    if judgement.verdict == "not_supported":
        assert report.answer.get("part") != BOARD


def random_reports(count: int, seed: int = 5) -> Iterator[Report]:
    """Parts of the examples of proofs and other findings, put together."""
    chance = random.Random(seed)
    proofs = [records_of(example_of(p), RULES, VOCABULARY) for p in RULES.proof.values()]
    others = [records_of(e.holds, RULES, VOCABULARY)[0] for kind in ("hazard", "doubt", "exoneration", "advice") for e in getattr(RULES, kind).values()]
    family = next(iter(RULES.furnace))
    for _ in range(count):
        records, options = chance.choice(proofs)
        share = chance.choice((0.3, 0.7, 1.0))
        every: list[Record] = [r for r in (*records, *chance.choice(others)) if chance.random() < share]
        if not clashing(every):
            yield Report(family, "", tuple(every), options if share == 1 else {})


def test_random_claims_are_judged_as_they_are_ranked(desk: Desk, evidence: Evidence) -> None:
    verdicts = set()
    for report in random_reports(60):
        judgement = desk.judge(claim_of(report))
        agrees(judgement, answer(report, evidence))
        verdicts.add(judgement.verdict)

    assert {"supported", "not_shown"} <= verdicts


@pytest.mark.parametrize("name", sorted(RULES.proof))
def test_a_complete_proof_supports_the_claim_and_one_condition_less_does_not(name: str, desk: Desk) -> None:
    records, options = records_of(example_of(RULES.proof[name]), RULES, VOCABULARY)
    family = next(iter(RULES.furnace))
    whole = desk.judge(claim_of(Report(family, "", tuple(records), options)))

    assert whole.verdict == "supported"
    assert whole.proof is not None
    by_options = {c for c, condition in RULES.condition.items() if any(w.option for way in condition.any_of for w in way)}
    assert all((need.met_by or need.condition in by_options) and ".yaml:" in need.at and not need.take for need in whole.proof.needs)
    for left_out in {r.name for r in records}:
        less = desk.judge(claim_of(Report(family, "", tuple(r for r in records if r.name != left_out), options)))
        assert less.verdict != "supported" or (less.proof is not None and less.proof.grade == "proved")


def test_an_entry_that_could_not_be_read_holds_a_verdict_back(desk: Desk) -> None:
    unread = (Problem(Place("claims.csv", 9, 2), "This is not read.", "Write it."),)
    records, options = records_of(example_of(RULES.proof["heat_output_dead"]), RULES, VOCABULARY)
    proved = Report(next(iter(RULES.furnace)), "", tuple(records), options)
    denied = read_report(next(c for c in CASES if desk.judge(claim_of(read_report(c, RULES))).verdict == "not_supported"), RULES)

    for report, verdict in ((proved, "plausible"), (denied, "not_shown")):
        judgement = desk.judge(claim_of(report, unread=unread))
        assert judgement.verdict == verdict
        assert "could not be read" in judgement.says
        assert judgement.held_back == ("claims.csv:9:2: This is not read. Write it.",)


def test_two_answers_to_one_question_clash_with_their_places(judged: Judged) -> None:
    (judgement,) = judged("claim,name,value,step\nA1,igniter_ohms,62,power_off\nA1,igniter_ohms,OL,power_off\n")

    assert judgement.verdict == "cannot_be_true_together"
    assert "claims.csv:3:4" in judgement.clash[0]
    assert "line 2" in judgement.clash[0]


IMPOSSIBLE = """claim,name,value,step
A1,line_to_neutral_at_board,0 V,standby
A1,door_switch_out_to_neutral,0 V,standby
A1,inducer_runs,yes,heating
A1,igniter_glows,yes,igniter_warm_up
A1,flame_seen,yes,heating
A1,blower_runs,yes,heating
A1,r_to_c_at_board,0 V,standby
A1,storm,yes,
"""


def test_records_that_no_furnace_gives_clash_and_the_set_names_both_sides(judged: Judged) -> None:
    """Without line voltage at the board nothing runs and nothing burns; common practice, no source. A storm is no reading and is left out."""
    dead, works = {2, 3, 8}, {4, 5, 6, 7}
    (judgement,) = judged(IMPOSSIBLE)

    assert judgement.verdict == "cannot_be_true_together"
    lines = {int(c.rpartition("claims.csv:")[2].split(":")[0]) for c in judgement.clash}
    assert len(lines) == 2  # one of each is enough
    assert lines & dead
    assert lines & works


def test_a_part_without_proofs_is_at_most_plausible(desk: Desk) -> None:
    verdicts = {}
    for case in CASES:
        report = read_report(case, RULES)
        part = str(report.answer.get("part"))
        if part != BOARD:
            verdicts[case.stem] = desk.judge(claim_of(report, part=part)).verdict

    assert set(verdicts.values()) <= {"plausible", "not_shown", "cannot_be_true_together"}  # never denied: it is the part that failed
    assert "plausible" in verdicts.values()


@pytest.mark.parametrize(
    ("content", "says"),
    [
        ("claim,name,value\n,igniter_ohms,62\n", "has no number"),
        ("claim,part,name,value\nA1,flux capacitor,igniter_ohms,62\n", "There is no part called flux capacitor"),
        ("claim,furnace,name,value\nA1,toaster,igniter_ohms,62\n", "There is no furnace called toaster"),
        ("claim,name,value\nA1,igniter_ohms,sixty\n", "Nothing of what was read could be understood"),
    ],
)
def test_unreadable_claims_say_why(judged: Judged, content: str, says: str) -> None:
    (judgement,) = judged(content)

    assert judgement.verdict == "unreadable"
    assert says in judgement.says


def test_a_denial_names_the_cause_and_is_worded_as_what_records_show(desk: Desk) -> None:
    # the warrantor must be able to demonstrate that cause: 16 CFR 700.10(c) (2015 edition)
    denied = [j for c in CASES if (j := desk.judge(claim_of(read_report(c, RULES)))).verdict == "not_supported"]

    assert denied
    for judgement in denied:
        assert judgement.cause is not None
        assert judgement.says.startswith("The records do not show")
        assert judgement.cause.part.replace("_", " ") in judgement.says
        assert len(judgement.cause.speaks_for) >= BOUNDS.least_records
        assert ".yaml:" in judgement.cause.at


def test_the_bench_outcome_changes_nothing(desk: Desk) -> None:
    claim = claim_of(read_report(CASES[0], RULES))
    judgements = [replace(desk.judge(replace(claim, bench_outcome=o)), bench_outcome="") for o in ("", "bad", "good")]

    assert judgements[0] == judgements[1] == judgements[2]


def test_a_denial_rests_on_what_was_read_and_not_on_what_is_common(desk: Desk) -> None:
    """No amps and no glow are what a dead output gives too; volts at the plug, or no path through the element, tell the two apart."""
    family = next(iter(RULES.furnace))
    vocabulary = Vocabulary(RULES, family)
    base = [{"sign": "inducer_runs", "value": "yes"}, {"sign": "igniter_glows", "value": "no"}, {"point": "line_to_neutral_at_board", "value": "120"}]
    common = [*base, {"point": "igniter_amps", "value": "0", "step": "igniter_warm_up"}]
    told = [*base, {"point": "igniter_ohms", "value": "OL"}, {"point": "igniter_volts_at_plug", "value": "119", "step": "igniter_warm_up", "meter": "low"}]
    verdicts = []
    for entries in (common, told):
        records = tuple(record_of(e, Place("claim", i, 1), vocabulary) for i, e in enumerate(entries, 1))
        verdicts.append(desk.judge(claim_of(Report(family, "no heat", records, {}))).verdict)
    assert verdicts == ["not_shown", "not_supported"]


def test_no_cause_is_named_that_cannot_give_a_record(desk: Desk) -> None:
    """An element that was seen glowing is not one without a path."""
    family = next(iter(RULES.furnace))
    entries = [{"sign": "igniter_glows", "value": "yes"}, {"point": "igniter_ohms", "value": "OL"}, {"sign": "burners_light", "value": "no"}]
    records = tuple(record_of(e, Place("claim", i, 1), VOCABULARY) for i, e in enumerate(entries, 1))
    judged = desk.judge(claim_of(Report(family, "no heat", records, {})))
    assert judged.verdict in ("cannot_be_true_together", "not_shown")


def test_a_word_and_a_closer_one_stand_together(judged: Callable[..., list[Judgement]]) -> None:
    told = judged("claim,name,value\nA1,inducer_runs,no\nA1,inducer_runs,hums\nA2,inducer_runs,yes\nA2,inducer_runs,hums\n")

    assert [j.verdict == "cannot_be_true_together" for j in told] == [False, True]


def test_furnaces_that_give_the_same_are_reckoned_once_and_to_the_same_figures(desk: Desk, family: Family, knowledge: Knowledge) -> None:
    evidence = Evidence(family, desk.evidence(next(iter(knowledge.furnace))).population)
    every = evidence.among(np.arange(len(evidence.population.fault_of)))
    records = [r for proof in knowledge.proof.values() for r in records_of(example_of(proof), knowledge)[0]]
    bent = [replace(r, step=step, meter=meter) for r in records[::7] for step in (r.step, None) for meter in (None, "low")]
    pairs = [(a, b) for r in bent if (a := evidence.fact(r)) is not None and (b := every.fact(r)) is not None]

    assert len(pairs) > 40
    for once, each in pairs:
        np.testing.assert_allclose(once.fit, each.fit, rtol=0, atol=1e-12)


def test_a_reading_met_before_with_another_figure_is_read_as_if_it_were_the_first(
    knowledge: Knowledge, read: Callable[..., tuple[list[RawClaim], Files]]
) -> None:
    figures = ("117 V", "0.2", "about 24", "24 to 26", "OL", "nonsense", "3 ohms", "0.2 v ac")
    rows = "".join(f"A{i},heat_terminal_to_neutral,{figure},heating,low\n" for i, figure in enumerate(figures))
    claims, _ = read(f"claim,name,value,step,meter\n{rows}")
    warm = Reader(knowledge, date(2026, 6, 1))

    assert [warm.understood(raw) for raw in claims] == [Reader(knowledge, date(2026, 6, 1)).understood(raw) for raw in claims]


def test_what_is_remembered_of_a_record_is_what_it_says(family: Family, population: Population, evidence: Evidence) -> None:
    """Who told it, when, and where the probe was changes no furnace's reading; what was off, the meter and the step do."""
    remembering = RememberingEvidence(family, population)
    written = [
        {"point": "heat_terminal_to_neutral", "value": "0.2 V", "step": "heating", **more}
        for more in (
            {}, {"meter": "low"}, {"source": "told"}, {"contact": "pin", "after_s": "90"}, {"hold": "max"}, {"value": "about 0.2 V"}, {"step": "fan_call"},
            {"call": "2"}, {"set_up": ["lead_lifted"]},
        )
    ]  # fmt: skip
    for entry in written * 2:
        record = record_of(entry, Place("", 1, 1), Vocabulary(family.knowledge))
        mine, plain = remembering.fact(record), evidence.fact(record)
        assert (mine is None) == (plain is None)
        if mine is not None and plain is not None:
            assert (mine.name, mine.slip, mine.call, mine.place, mine.standing) == (plain.name, plain.slip, plain.call, plain.place, plain.standing)
            assert np.array_equal(mine.fit, plain.fit)


@pytest.mark.parametrize("name", ["heat_terminal_to_neutral", "igniter_ohms", "stops_at", "neutral_to_chassis_at_board"])
def test_furnaces_are_alike_where_all_that_is_foretold_of_them_is(evidence: Evidence, name: str) -> None:
    every = evidence.predicted(name)
    kinds, kind = every.alike()
    told = np.vstack([*every.which.values(), every.stops, every.rests])

    assert np.array_equal(np.vstack([*kinds.which.values(), kinds.stops, kinds.rests])[:, kind], told)
    assert len(kinds.stops) == np.unique(told, axis=1).shape[1]
