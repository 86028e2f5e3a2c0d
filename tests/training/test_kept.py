"""A drill's record is a visit's journal: it verifies, it goes on as it stood, and it tells no hidden fault."""

from __future__ import annotations

import json
import os
from dataclasses import replace
from pathlib import Path

import pytest

from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.furnace.family import Family, Fault
from furnace_diag.knowledge.yaml_text import parse_yaml
from furnace_diag.problems import BadInput
from furnace_diag.training.acts import Act
from furnace_diag.training.drill import MOST_ACTS, Drill
from furnace_diag.training.from_visit import text_from_visit
from furnace_diag.training.kept import keep, taken_up
from furnace_diag.training.lesson import Hidden, Lesson, read_lesson, understood
from furnace_diag.training.score import score
from furnace_diag.visit.journal import Journal, journal_problems, read_journal
from furnace_diag.visit.session import report_of_journal
from furnace_diag.visit.summary import summary_of
from tests.training.test_drill import GAS_OFF, GAS_ON, HEAT, OFF, ON, REST, does
from tests.training.test_every_failure import lesson_with

TOP = Path(__file__).resolve().parents[2]


def sealed(family: Family) -> Lesson:
    return replace(lesson_with(family, Hidden(Fault("igniter", "open"))), seal="abc", told=({"event": "new_thermostat", "value": "yes"},))


def acts_of_a_visit() -> list[Act]:
    return [
        HEAT, Act(do="wait"), Act(do="wait"), Act(do="read", what="r_to_c_at_board", meter="low", expect=25.0), Act(do="wait", seconds=33.3), Act(do="look"),
        Act(do="volts", what="board_line", other="chassis"), Act(do="join", what="limit_in", other="limit_out"), REST, OFF, Act(do="discharge"),
        Act(do="ohms", what="igniter_hot", other="igniter_neutral", expect=1e30), GAS_OFF, Act(do="replace", what="flame_rod"), GAS_ON, ON, REST,
        Act(do="same"), Act(do="wait", seconds=20),
    ]  # fmt: skip


def state_of(drill: Drill) -> tuple[object, ...]:
    o = drill.bench.operation
    told = (drill.taken, drill.hurts, drill.minutes, drill.price, drill.account.events)
    return (*told, drill.bench.now, drill.bench.step(), drill.bench.watched(), o.volts.tobytes(), o.left.tobytes())


def kept(path: Path, family: Family, acts: list[Act]) -> Drill:
    """A drill with those acts done after what the file has, and kept in it."""
    journal = Journal(path, new=not path.exists())
    drill = taken_up(journal.events, family, sealed(family), path)
    for act in acts:
        drill.do(act)
        keep(journal, drill)
    keep(journal, drill)
    journal.close()
    return drill


@pytest.mark.parametrize("left_after", [0, 9])
def test_a_drill_that_was_left_goes_on_as_if_it_had_not_been(family: Family, tmp_path: Path, left_after: int) -> None:
    path, acts = tmp_path / "kept.jsonl", acts_of_a_visit()
    through = Drill(family, sealed(family))
    does(through, *acts)
    kept(path, family, acts[:left_after])
    again = kept(path, family, acts[left_after:])

    assert again.acts == through.acts
    assert state_of(again) == state_of(through)
    assert journal_problems(path) == []


def test_it_may_be_cut_off_in_any_line(family: Family, tmp_path: Path) -> None:
    """A process that is killed leaves some whole lines and perhaps a piece of one; acts done again give the lines that were lost with them."""
    whole = kept(tmp_path / "whole.jsonl", family, acts_of_a_visit()[:6])
    lines = (tmp_path / "whole.jsonl").read_bytes().splitlines(keepends=True)
    for many in range(1, len(lines)):
        path = tmp_path / f"cut{many}.jsonl"
        path.write_bytes(b"".join(lines[:many]) + lines[many][: len(lines[many]) // 2])
        again = kept(path, family, [])

        assert again.acts == whole.acts[: len(again.acts)]
        assert journal_problems(path) == []
        assert [e.event for e in read_journal(path)[0]] == [event for event, _ in again.account.events]
    assert again.acts == whole.acts[: len(again.acts)]


def test_an_act_is_on_the_disk_when_keep_returns(family: Family, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    synced: list[int] = []
    path = tmp_path / "kept.jsonl"
    journal = Journal(path, new=True)
    drill = taken_up([], family, sealed(family), path)
    monkeypatch.setattr(os, "fsync", lambda _: synced.append(path.stat().st_size))
    drill.do(HEAT)
    keep(journal, drill)

    assert synced[-1] == path.stat().st_size
    assert read_journal(path)[0][-1].says == {"do": "call", "what": "call"}
    journal.close()


def test_the_same_lesson_by_another_path_goes_on(family: Family, tmp_path: Path) -> None:
    """Which lesson it is, its hash tells: the file may be named from another folder, or lie elsewhere and be called otherwise now."""
    path, lesson = tmp_path / "kept.jsonl", sealed(family)
    kept(path, family, acts_of_a_visit()[:3])
    moved = replace(lesson, file=f"/elsewhere/{lesson.file}", name="called_otherwise")

    assert taken_up(read_journal(path)[0], family, moved, path).acts == acts_of_a_visit()[:3]
    with pytest.raises(BadInput, match="another lesson"):
        taken_up(read_journal(path)[0], family, replace(moved, seal="abd"), path)


def test_the_record_of_a_drill_is_no_lesson_and_gives_none_before_its_end(family: Family, tmp_path: Path) -> None:
    path = tmp_path / "kept.jsonl"
    kept(path, family, acts_of_a_visit()[:3])

    with pytest.raises(BadInput, match=r"kept\.jsonl:1:1: This is the record of a drill or a visit, not a lesson\. Name the lesson's own file"):
        read_lesson(path, family.knowledge)
    with pytest.raises(BadInput, match=r"kept\.jsonl:1:1: This drill is not over\. Go on with it first: furnace-diag drill LESSON --record "):
        text_from_visit(path, family.knowledge)


def test_an_edited_line_shows(family: Family, tmp_path: Path) -> None:
    path = tmp_path / "kept.jsonl"
    kept(path, family, acts_of_a_visit())
    path.write_text(path.read_text().replace('"do":"call"', '"do":"wait"', 1))

    assert [p.message for p in journal_problems(path)] == ["The line before this one is not the one that stood there when this was written."]


def test_a_journal_written_anew_with_other_readings_is_not_taken_up(family: Family, tmp_path: Path) -> None:
    path, forged = tmp_path / "kept.jsonl", tmp_path / "forged.jsonl"
    kept(path, family, [HEAT, REST])
    journal = Journal(forged, new=True)
    for event in read_journal(path)[0]:
        says = json.loads(json.dumps(dict(event.says)).replace("igniter_warm_up", "heating").replace("ignition_trial", "heating"))
        journal.append(event.event, says)
    journal.close()

    assert journal_problems(forged) == []
    with pytest.raises(BadInput, match=r"forged.jsonl:\d+:1: This is not what the furnace of this lesson gives now"):
        taken_up(read_journal(forged)[0], family, sealed(family), forged)


@pytest.mark.parametrize(
    ("events", "says"),
    [
        ([("complaint", {"text": "no heat"})], "2:1: This is a visit and no drill"),
        ([("drill", {"lesson": "other", "file": "x", "hash": "other"})], "2:1: This is the record of another lesson"),
        ([(None, {}), ("act", {"do": "explode"})], "act of a drill"),
        ([(None, {}), ("act", {"do": "wait", "seconds": -1})], "act of a drill"),
        ([(None, {}), ("act", {"do": "read", "what": "the_moon"})], "names what this furnace has not"),
        ([(None, {}), ("option", {"option": "x", "value": "y"})], "From here on this is not what a drill writes"),
    ],
)
def test_what_is_no_record_of_this_lesson_is_told_with_its_place(family: Family, tmp_path: Path, events: list[tuple[str | None, object]], says: str) -> None:
    path = tmp_path / "kept.jsonl"
    journal = Journal(path, new=True)
    for event, what in [("opened", Drill(family, sealed(family)).account.events[0][1]), *events]:
        if event is None:
            keep(journal, Drill(family, sealed(family)))
        else:
            journal.append(event, what)  # type: ignore[arg-type]
    journal.close()

    with pytest.raises(BadInput, match=says):
        taken_up(read_journal(path)[0], family, sealed(family), path)


def test_a_drill_has_an_end(family: Family) -> None:
    drill = Drill(family, sealed(family))
    drill.acts = [HEAT] * MOST_ACTS

    assert drill.do(REST).kind == "cannot"
    assert drill.do(Act(do="name", what="igniter")).kind == "ended"


# --- the others read it ---


def test_the_ranking_of_the_journal_is_that_of_the_score(family: Family, evidence: Evidence, tmp_path: Path) -> None:
    path = tmp_path / "kept.jsonl"
    drill = kept(path, family, [*acts_of_a_visit(), Act(do="name", what="igniter")])
    report = report_of_journal(path, family.knowledge)
    summary = summary_of(path, evidence)

    assert report.records[0].name == "new_thermostat"
    assert {"stops_at", "igniter_ohms"} <= {r.name for r in report.records}  # the latter was read between two terminals
    assert ("history", "flame_rod", "replaced_no_change") in [(r.kind, r.name, r.word) for r in report.records]
    assert summary.drill
    assert summary.repairs[0].no_change
    assert score(drill, evidence).belief == pytest.approx(sum(p.probability for p in summary.parts if p.part == "igniter"))


def test_the_journal_tells_no_hidden_fault(family: Family, tmp_path: Path) -> None:
    lesson = read_lesson(TOP / "cases" / "lessons" / "third_visit.yaml", family.knowledge)
    drill, path = Drill(family, lesson), tmp_path / "kept.jsonl"
    does(drill, HEAT, REST)
    journal = Journal(path, new=True)
    keep(journal, drill)
    journal.close()
    text = path.read_text()

    assert lesson.seal in text
    assert "flame_rod" not in text
    assert "filmed" not in text


def test_a_drill_in_which_something_was_mended_gives_a_lesson(family: Family, tmp_path: Path) -> None:
    path = tmp_path / "kept.jsonl"
    kept(path, family, [HEAT, REST, OFF, GAS_OFF, Act(do="replace", what="igniter"), Act(do="name", what="igniter")])
    lesson = understood(parse_yaml(text_from_visit(path, family.knowledge), "made"), family.knowledge)

    assert [str(h.fault) for h in lesson.faults] == ["igniter:open"]  # only the part was named: the failure of it that rules/parts calls the commonest
    assert [r.name for r in lesson.report.records] == ["new_thermostat"]
