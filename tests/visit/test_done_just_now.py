"""A repair that was done without being asked for, told as what it is: of the part that is worth mending it is asked whether that was just now."""

from __future__ import annotations

import pytest

from furnace_diag.visit.session import Session
from tests.visit.playing import START, desk

FILMED = [*START, "flame goes out within seconds", "flame current 0.3 at heating"]
WEAK = [*START, "blower hums", "capacitor 3.1 uf", "blower wheel free by hand"]


def history(session: Session) -> list[tuple[str, str | None]]:
    return [(r.name, r.word) for r in map(session.record, session.visit.entries) if r.kind == "history"]


@pytest.mark.parametrize(("before", "line", "part"), [
    (FILMED, "cleaned rod", "flame_rod"), (FILMED, "sanded the rod", "flame_rod"), (WEAK, "new capacitor", "blower_capacitor"),
    (WEAK, "fitted new 10uf cap", "blower_capacitor"), (WEAK, "put in a new cap", "blower_capacitor"),
    (WEAK, "new cap, runs 15 min no trip", "blower_capacitor"),
])  # fmt: skip
def test_its_checks_begin_and_no_step_is_shown(session: Session, capsys: pytest.CaptureFixture[str], before: list[str], line: str, part: str) -> None:
    desk(session, [*before, line, *(["y"] if "," in line else []), "y"])
    assert session.visit.proving is not None
    assert session.visit.proving.part == part
    assert history(session) == []
    assert "Now prove it." in capsys.readouterr().out
    desk(session, ["undo", "undo"])
    assert session.visit.proving is None


def test_what_was_read_then_is_read_for_its_checks(session: Session) -> None:
    desk(session, [*FILMED, "cleaned rod", "y", "2.8 ua now"])
    record = session.record(session.visit.checking[-1])
    assert (record.name, record.number) == ("flame_current", 2.8)


@pytest.mark.parametrize("answer", ["", "n"])
def test_what_was_done_before_the_visit_is_kept_as_that(session: Session, answer: str) -> None:
    desk(session, [*FILMED, "cleaned rod", answer])
    assert session.visit.proving is None
    assert history(session) == [("flame_rod", "cleaned")]


@pytest.mark.parametrize("line", ["new rod", "new igniter", "cleaned rod no change", "board changed"])
def test_of_another_part_or_way_nothing_is_asked(session: Session, line: str) -> None:
    """A new rod is no cleaned one: what is worth doing was not done. A new board is never taken for a proved one."""
    desk(session, [*FILMED, line, "y"])
    assert session.visit.proving is None
    assert len(history(session)) == 1


def test_no_safety_question_is_passed_over(session: Session) -> None:
    desk(session, ["no heat", *[""] * 13, *FILMED[len(START) :], "cleaned rod", "y", ""])
    assert session.visit.proving is None


def test_a_figure_told_as_of_now_is_one_of_its_unit(session: Session) -> None:
    desk(session, [*START, "2.8 ua now", "y"])
    assert session.record(session.visit.entries[-1]).number == 2.8


@pytest.mark.parametrize(("line", "told"), [
    ("r to c 0.4 ohms power off", "thermostat cable r to c ohms"), ("w to c 5ohms", "thermostat cable w to c ohms"),
    ("inducer pin to neutral 15 ohms", "inducer neutral ohms"),
])  # fmt: skip
def test_ohms_of_what_is_read_in_volts_are_told_where_they_are_taken(session: Session, capsys: pytest.CaptureFixture[str], line: str, told: str) -> None:
    desk(session, [*START, line])
    assert f"In ohms is taken, with the power off: {told}" in " ".join(capsys.readouterr().out.split())
    desk(session, ["r to c foo"])
    assert "It is read in V: type the figure" in " ".join(capsys.readouterr().out.split())
    assert len(session.visit.entries) == 7


@pytest.mark.parametrize(("line", "part", "sign"), [
    ("replaced the board last wk still no blower on heat", "control_board", "blower_starts_in_heat"),
    ("new igniter last week, still no flame", "igniter", "burners_light"),
])  # fmt: skip
def test_what_is_told_beside_an_earlier_repair_is_kept_too(session: Session, line: str, part: str, sign: str) -> None:
    desk(session, [*START, line])
    kept = {r.name: r.source for r in map(session.record, session.visit.entries[7:])}
    assert {part, sign} == {*kept}
    assert kept[sign] == "told"
