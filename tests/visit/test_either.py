"""What may be an earlier repair or a check of this visit is offered as both, the one that a proof wants first."""

from __future__ import annotations

from pathlib import Path

import pytest

from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.visit.session import Session
from tests.visit.playing import PROOF, START, Play, desk

LINES = ["plugs refitted same", "plugs reseated same", "refitted the plugs no change", "plugs reseated, no help", "plugs refitted didn't help"]


def last(session: Session) -> tuple[str, str | None]:
    record = session.record(session.visit.entries[-1])
    return record.name, record.word


@pytest.mark.parametrize("line", LINES)
def test_refitted_plugs_are_asked_about(line: str, session: Session) -> None:
    desk(session, [*START, line, "1"])
    assert last(session) == ("board_plug", "cleaned_no_change")
    desk(session, ["undo", line, "2"])
    assert last(session) == ("plugs_refitted", "still_the_same")
    count = len(session.visit.entries)
    desk(session, ["undo", line, ""])
    assert len(session.visit.entries) == count - 1


@pytest.mark.parametrize("line", LINES)
def test_while_a_proof_wants_them_refitted_that_is_first(line: str, tmp_path: Path, evidence: Evidence) -> None:
    assert "plugs_refitted" in evidence.knowledge.proof[PROOF].needs
    play = Play(tmp_path / "v.jsonl", evidence)
    play.begin()
    for entry in evidence.knowledge.proof[PROOF].holds:
        if entry.get("sign") != "plugs_refitted":
            play.take({**entry, "call": "1"})
    desk(play.session, [line, "1"])
    assert last(play.session) == ("plugs_refitted", "still_the_same")
    play.journal.close()


def test_before_the_visit_it_is_an_earlier_repair(session: Session) -> None:
    desk(session, [*START[:-1], "plugs reseated same", ""])
    assert last(session) == ("board_plug", "cleaned_no_change")


@pytest.mark.parametrize("said", ["same", "no change", "plugs refitted same", "still the same"])
def test_where_the_check_is_asked_for_it_is_the_check(said: str, session: Session) -> None:
    desk(session, [*START, "plugs refitted", said])
    assert last(session) == ("plugs_refitted", "still_the_same")
