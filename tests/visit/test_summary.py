"""The facts of a visit's report: nothing of a journal is lost or told twice, and ranges, belief and proof are those of the rules."""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pytest

from furnace_diag.diagnosis.answer import answer
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.records import Record, Report
from furnace_diag.knowledge.models import Knowledge
from furnace_diag.problems import BadInput, Place
from furnace_diag.visit.expected import Expectations
from furnace_diag.visit.journal import read_journal
from furnace_diag.visit.session import report_of_journal
from furnace_diag.visit.summary import Summary, as_json, summary_of
from tests.visit.playing import FAULT, NOTE, PROOF, Play, whole_visit

HERE = Place("test", 1, 1)


@pytest.fixture(scope="module")
def journal(evidence: Evidence, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return whole_visit(tmp_path_factory.mktemp("visit") / "whole.jsonl", evidence)


@pytest.fixture(scope="module")
def whole(journal: Path, evidence: Evidence) -> Summary:
    return summary_of(journal, evidence)


def played(path: Path, evidence: Evidence) -> Play:
    play = Play(path, evidence)
    play.begin()
    return play


# --- records ----------------------------------------------------------------------------------


def test_every_record_that_stands_in_the_journal_stands_in_the_report_once(journal: Path, whole: Summary) -> None:
    events = [json.loads(line) for line in journal.read_text().splitlines()]
    gone = {e["entry"] for e in events if e["event"] == "taken_back"} | {e["instead_of"] for e in events if "instead_of" in e}
    records = [e for e in events if e["event"] == "record"]
    standing = [number for number, e in enumerate(records, 1) if e["n"] not in gone]

    assert sorted(r.entry for r in whole.every_record) == standing
    assert len(standing) == len(records) - 2  # one was taken back, one corrected
    assert (whole.taken_back, whole.corrected) == (1, 1)
    assert whole.notes[0][1] == NOTE


def test_records_stand_in_the_order_of_the_sequence_then_of_time(whole: Summary, evidence: Evidence) -> None:
    order = [s.step for s in evidence.family.sequence.steps]
    places = [(order.index(r.step) if r.step else -1, r.entry) for r in whole.records]

    assert places == sorted(places)
    assert len({place for place, _ in places}) > 3


def test_safety_answers_events_and_checks_stand_apart(whole: Summary, knowledge: Knowledge) -> None:
    asked = {q.question for q in knowledge.question.values() if q.group == "safety"}

    assert {s.question for s in whole.safety if s.answers} == asked
    assert {r.kind for r in whole.before} == {"history", "event"}
    assert whole.repairs[0].records
    assert all(r.entry < min(x.entry for x in whole.repairs[0].records) for r in whole.records)


# --- what was expected ------------------------------------------------------------------------


def reading(point: str, value: float, step: str, **more: str) -> Record:
    return Record("point", point, point, HERE, number=value, step=step, **more)


def test_ranges_are_those_of_the_rules_at_every_point_and_step(evidence: Evidence) -> None:
    expectations, tried = Expectations(evidence, {}), 0
    for point in evidence.family.points:
        for expects in point.expects:
            for step in expects.steps:
                values = {"within": (expects.low, expects.high), "below": (expects.low - 1,), "above": (expects.high + 1,)}
                for stands, numbers in values.items():
                    for number in numbers:
                        record = reading(point.point, number, step)
                        expected, healthy, usual = expectations.of(record)

                        assert expected is not None
                        assert (expected.low, expected.high) == (expects.low, expects.high)
                        assert expectations.stands(record, expected, healthy, usual) == stands
                        tried += 1
    assert tried > 500


@pytest.mark.parametrize("known", [{}, {"safety_strings": "two"}])
def test_healthy_range_is_that_of_the_healthy_rows_with_the_known_options(evidence: Evidence, known: dict[str, str]) -> None:
    population = evidence.population
    values = evidence.family.furnace.options
    healthy = [
        i for i, fault in enumerate(population.fault_of)
        if fault == -1 and all(list(values[o].values)[population.options[o][i]] == v for o, v in known.items())
    ]  # fmt: skip
    expectations = Expectations(evidence, known)
    for name, step, meter in (("heat_terminal_to_neutral", "heating", "low"), ("flame_current", "heating", ""), ("draft", "pre_purge", "")):
        row = population.table[population.columns.get((name, step, meter), population.columns.get((name, step, "high"), -1))]
        _, found, _ = expectations.of(reading(name, 1.0, step, **({"meter": meter} if meter else {})))

        assert found is not None
        np.testing.assert_allclose([found.low, found.high], [min(row[healthy]), max(row[healthy])], rtol=0.006)  # told to three digits


def test_told_of_no_step_a_reading_is_held_against_a_range_only_where_the_rules_have_but_one(evidence: Evidence) -> None:
    """2 to 5 uA of flame: technical-conference slides 2002. 0.14 uA must not look unremarkable because nobody said when it was read."""
    expectations = Expectations(evidence, {})
    for point in evidence.knowledge.point.values():
        record = Record("point", point.point, point.point, HERE, number=1.0)
        expected, _, _ = expectations.of(record)
        assert (expected is not None) == (len(point.expects) == 1), point.point
    low = Record("point", "flame_current", "flame current", HERE, number=0.14)
    assert expectations.stands(low, *expectations.of(low)) == "below"


def test_a_figure_is_no_ol_and_ol_is_no_figure_at_any_point_and_step(evidence: Evidence) -> None:
    """Half an ohm across a cable that a good furnace reads OL on is a short, and OL on a winding is an open one: what OL means, no source needed."""
    expectations, tried = Expectations(evidence, {}), set[str]()
    for name, steps in expectations.columns.items():
        for step in steps if name in evidence.knowledge.point else ():
            figure, ol = reading(name, 0.5, step), reading(name, math.inf, step)
            expected, healthy, usual = expectations.of(figure)
            held = expected or healthy
            if held is not None and held.low == math.inf:
                assert expectations.stands(figure, expected, healthy, usual) == "below", (name, step)
                assert expectations.stands(ol, expected, healthy, usual) == "within", (name, step)
                tried.add(f"OL {name}")
            if held is not None and held.high < math.inf:
                assert expectations.stands(ol, expected, healthy, usual) == "above", (name, step)
                tried.add(f"figure {name}")
    assert {"OL outdoor_cable_ohms", "figure igniter_ohms"} <= tried


def test_options_that_no_healthy_furnace_has_leave_no_range(evidence: Evidence) -> None:
    options = {name: min(option.values, key=lambda v: option.values[v]) for name, option in evidence.family.furnace.options.items()}
    _, healthy, _ = Expectations(evidence, options).of(reading("flame_current", 3.0, "heating"))

    assert healthy is None


@pytest.mark.parametrize(
    ("sign", "word", "step", "stands"),
    [  # common practice, no source: what a furnace does in a good heat call
        ("inducer_runs", "yes", None, "as_healthy"),
        ("inducer_runs", "no", None, "unlike_healthy"),
        ("inducer_runs", "no", "call", "unlike_healthy"),
        ("inducer_runs", "no", "standby", "as_healthy"),
        ("igniter_glows", "no", "igniter_warm_up", "unlike_healthy"),
        ("igniter_glows", "no", "heating", "as_healthy"),
        ("blower_starts_in_heat", "does_not_start", None, "unlike_healthy"),
        ("burners_light", "drop_out", None, "unlike_healthy"),
        ("gas_smell", "none", None, "not_judged"),
    ],
)
def test_a_sign_is_held_against_what_a_healthy_furnace_shows(evidence: Evidence, sign: str, word: str, step: str | None, stands: str) -> None:
    record, expectations = Record("sign", sign, sign, HERE, word=word, step=step), Expectations(evidence, {})

    assert expectations.stands(record, *expectations.of(record)) == stands


def test_a_reading_that_was_set_up_otherwise_is_held_against_nothing(evidence: Evidence) -> None:
    record = Record("point", "flame_current", "x", HERE, number=0.0, step="heating", unused="with its lead lifted")

    assert Expectations(evidence, {}).of(record) == (None, None, ())


# --- belief -----------------------------------------------------------------------------------


@pytest.mark.parametrize("many", [0, 11, 20, None])
def test_belief_after_each_entry_is_that_of_an_answer_to_the_entries_so_far(journal: Path, whole: Summary, evidence: Evidence, many: int | None) -> None:
    report = report_of_journal(journal, evidence.knowledge)
    many = len(report.records) if many is None else many
    expected = answer(Report(report.family, report.complaint, report.records[:many], report.options), evidence)
    belief = whole.belief[many]
    parts = {p.part: p.probability for p in expected.parts}

    assert belief.leading == expected.parts[0].part
    assert belief.parts == pytest.approx({p: parts[p] for p in belief.parts})
    assert belief.something_else == pytest.approx(expected.something_else)


def test_the_whole_belief_is_shared_out(whole: Summary) -> None:
    assert sum(p.probability for p in whole.parts) + whole.something_else == pytest.approx(1)
    assert whole.belief[-1].parts[FAULT.part] == pytest.approx(whole.parts[0].probability)


# --- proof, repair, closing ---------------------------------------------------------------------


def test_a_board_proved_changed_and_checked_is_proved(whole: Summary) -> None:
    assert whole.board.verdict == "proved_bad"
    assert PROOF in [p.proof for p in whole.board.proved]
    assert whole.repairs[0].proved
    assert (whole.closing.closed, whole.closing.proved, whole.closing.lacks) == ("proved", True, ())


def test_a_check_left_out_is_not_proved_whatever_the_visit_was_closed_as(evidence: Evidence, tmp_path: Path) -> None:
    path = tmp_path / "visit.jsonl"
    play = played(path, evidence)
    play.prove()
    play.mend()
    play.check(but="full_calls_watched")
    play.close("proved")
    summary = summary_of(path, evidence)

    assert not summary.closing.proved
    assert summary.closing.lacks == (f"Not shown after the repair: {evidence.knowledge.check['full_calls_watched'].says}",)


def test_a_board_changed_without_a_proof_is_not_proved(evidence: Evidence, tmp_path: Path) -> None:
    path = tmp_path / "visit.jsonl"
    play = played(path, evidence)
    play.mend()
    play.check()
    play.close("proved")
    summary = summary_of(path, evidence)

    assert summary.repairs[0].lacks_proof
    assert not summary.closing.proved


def test_after_a_repair_that_changed_nothing_its_records_tell_of_the_fault(evidence: Evidence, tmp_path: Path) -> None:
    path = tmp_path / "visit.jsonl"
    play = played(path, evidence)
    play.mend("replace_the_capacitor")
    seen = play.take({"sign": "blower_runs", "value": "no", "step": "heating"})
    play.tell("no_change")
    play.close("not_proved", "no time left")
    summary = summary_of(path, evidence)

    assert [(r.name, r.word, r.step) for r in report_of_journal(path, evidence.knowledge).records][-1] == (seen.name, seen.word, seen.step)
    assert summary.belief[-1].after == max(r.entry for r in summary.every_record)
    assert summary.repairs[0].no_change
    assert not summary.closing.proved
    assert [r.name for r in summary.repairs[0].records] == ["blower_runs"]


@pytest.mark.parametrize("repair", ["change_the_board", "no_such_repair"])
def test_nothing_is_proved_by_a_repair_alone(evidence: Evidence, tmp_path: Path, repair: str) -> None:
    path = tmp_path / "visit.jsonl"
    play = played(path, evidence)
    play.prove()
    play.mend(repair)
    play.close("proved")
    summary = summary_of(path, evidence)

    assert not summary.closing.proved
    assert summary.repairs[0].known == (repair in evidence.knowledge.repair)


def test_without_a_repair_or_with_a_hazard_the_report_says_so(evidence: Evidence, tmp_path: Path) -> None:
    path = tmp_path / "visit.jsonl"
    play = Play(path, evidence)
    play.begin(harm="alarm")
    play.journal.close()
    summary = summary_of(path, evidence)

    assert "No repair was done." in summary.closing.lacks
    assert summary.hazards
    assert any(summary.hazards[0].says in text for text in summary.closing.lacks)


def test_a_hazard_read_after_the_repair_stands_in_the_report(evidence: Evidence, tmp_path: Path) -> None:
    path = tmp_path / "visit.jsonl"
    play = played(path, evidence)
    play.prove()
    play.mend()
    play.check()
    play.take({"sign": "gas_smell", "value": "strong", "call": "20"})
    play.close("proved")
    summary = summary_of(path, evidence)

    assert "gas_in_the_air" in [h.finding for h in summary.hazards]
    assert not summary.closing.proved


# --- the file ---------------------------------------------------------------------------------


def test_a_changed_journal_is_refused_with_its_line(journal: Path, evidence: Evidence, tmp_path: Path) -> None:
    lines = journal.read_bytes().splitlines(keepends=True)
    at = next(i for i, line in enumerate(lines) if b"191 V" in line)
    lines[at] = lines[at].replace(b"191 V", b"119 V")
    changed = tmp_path / "changed.jsonl"
    changed.write_bytes(b"".join(lines))

    with pytest.raises(BadInput) as caught:
        summary_of(changed, evidence)
    assert [p.place.line for p in caught.value.problems if p.place] == [at + 2]  # the next line holds the hash of the changed one


def test_the_hash_is_that_of_the_journal(journal: Path, whole: Summary) -> None:
    events, last = read_journal(journal)

    assert (whole.last_hash, whole.lines) == (last, len(events))


def test_json_of_a_summary_is_plain(whole: Summary) -> None:
    text = json.dumps(as_json(whole), allow_nan=False)

    assert json.loads(text)["last_hash"] == whole.last_hash


def test_every_part_has_a_name_for_customers(knowledge: Knowledge) -> None:
    assert [p.part for p in knowledge.part.values() if not p.to_customer] == []
    assert {n.group for n in knowledge.notice.values()} == {"watch", "call_shop", "call_help"}
