"""What a repair ends of what stopped the visit: only what is read after it, and of that only what says so. Common practice, no source."""

from __future__ import annotations

from pathlib import Path

import pytest

from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.visit.session import Session
from furnace_diag.visit.summary import summary_of
from tests.visit.playing import START, desk

VENT = [*START, "inducer runs", "across pressure switch 26.1 at inducer start", "draft 0.28 at inducer start", "vent blocked"]
MENDED = ["vent cleared", "mend vent", "y"]
PROVED = [
    "draft against set point tenth or more beyond", "vent spills no", "co in flue 60", "safety bypassed no", "covers back yes", "co in room 3 ppm",
    "gas smell none", *["call watched ended normally"] * 3,
]  # fmt: skip


def flat(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.parametrize(
    ("found", "more"), [("vent spills yes", []), ("co in flue 900", []), ("soot yes", ["soot no", "exchanger cracked no"])]
)  # fmt: skip
def test_a_repair_of_the_cause_and_good_readings_after_it_end_it(
    session: Session, tmp_path: Path, evidence: Evidence, found: str, more: list[str]
) -> None:
    """The repair of the vent may begin; until what ends it is read, the report holds it for standing."""
    desk(session, [*VENT, found])
    assert session.hazards() != ()
    desk(session, MENDED)
    assert session.visit.proving is not None
    assert summary_of(tmp_path / "v.jsonl", evidence).hazards != ()
    desk(session, [*PROVED, *more, "close"])
    summary = summary_of(tmp_path / "v.jsonl", evidence)
    assert (summary.hazards, summary.closing.lacks, session.visit.closed) == ((), (), "proved")
    assert any("found" in says for says in summary.put_right[-1:])
    assert any(r.name in ("vent_spills", "co_in_flue", "soot") and not r.how for r in summary.every_record)


def test_soot_wants_more_than_the_repair_asks_for(session: Session, tmp_path: Path, evidence: Evidence) -> None:
    desk(session, [*VENT, "soot yes"])
    desk(session, [*MENDED, *PROVED, "close", "no time", "y"])
    assert session.visit.closed == "not_proved"
    assert summary_of(tmp_path / "v.jsonl", evidence).hazards != ()


@pytest.mark.parametrize("after", ["vent spills yes", "co in flue 900"])
def test_read_bad_again_it_stops_again(session: Session, after: str) -> None:
    desk(session, [*VENT, "vent spills yes", *MENDED])
    assert session.hazards() == ()
    desk(session, [after])
    assert session.hazards() != ()


@pytest.mark.parametrize(
    "found", ["exchanger cracked yes", "gas smell strong", "co in room 90 ppm", "smoke or fire fire", "flame waves yes", "tagged unsafe yes"]
)
def test_what_no_repair_ends_lets_none_begin(session: Session, found: str) -> None:
    desk(session, [*VENT, "vent cleared", *([] if "gas" in found or "smoke" in found else [found])])
    desk(session, [found, "f", "mend vent", "y", "y"])
    assert session.visit.repairs == []
    assert session.hazards() != ()


def test_a_repair_that_does_not_ask_for_it_ends_nothing(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*VENT[:-1], "co in flue 900", "mend igniter", "y", "y"])
    assert session.visit.repairs == []
    assert "Nothing is repaired while that stands." in flat(capsys.readouterr().out)


def test_the_stop_says_what_ends_it(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*VENT[:-1], "vent spills yes", ""])
    said = flat(capsys.readouterr().out)
    assert "`mend` and the part at fault begins a repair that ends it" in said
    assert session.knowledge.check["vent_draws"].says in said


def test_the_fault_still_there_it_stands_again(session: Session) -> None:
    desk(session, [*VENT, "vent spills yes", *MENDED, "same"])
    assert session.hazards() != ()


def test_enter_goes_on_with_the_repair_that_was_begun(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    """Of a vent that was cleared nothing is read before its repair is done: its reading is of the vent as it is now."""
    desk(session, [*VENT, "vent cleared"])
    assert "NEXT (Enter): the repair that was begun, mend vent." in flat(capsys.readouterr().out)
    desk(session, ["", "y"])
    assert session.visit.proving is not None
    assert session.visit.proving.repair == "clear_the_vent"


def test_enter_goes_on_with_it_where_it_ends_what_else_stops(session: Session) -> None:
    desk(session, [*VENT, "vent spills yes", "vent cleared", "", "y"])
    assert session.visit.proving is not None
    assert session.hazards() == ()


def test_it_is_no_way_past_what_it_does_not_end(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*VENT, "exchanger cracked yes", "vent cleared", "", "y"])
    assert session.visit.repairs == []
    assert "Nothing is asked for and nothing mended while that stands." in flat(capsys.readouterr().out)


def test_left_once_it_is_not_pressed_again(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*VENT, "vent cleared", "", "", "inducer noise normal"])
    assert session.visit.repairs == []
    assert flat(capsys.readouterr().out).count("NEXT (Enter): the repair that was begun") == 1
