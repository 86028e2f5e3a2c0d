"""A STOP says what to type once its cause is mended, takes it in a technician's words, and ends by what is read then alone. Common practice, no source."""

from __future__ import annotations

import pytest

from furnace_diag.visit.session import Session
from tests.visit.playing import START, desk

LIVE = ["tingle from cabinet yes", "chassis to earth 64 at standby", "neutral to chassis at board 46 at standby"]
DEAD = ["chassis to earth 0.2 at standby", "line to chassis at board 119 at heating", "neutral to chassis at board 0.4 at heating"]


def flat(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.parametrize("found", LIVE)
def test_a_live_cabinet_is_ended_by_what_is_read_after_the_repair(session: Session, found: str, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*START, found, ""])
    assert session.hazards() != ()
    assert "`ground restored`" in flat(capsys.readouterr().out)
    desk(session, ["ground wire was off, put it back on", "y"])
    assert session.visit.proving is not None
    assert session.visit.proving.repair == "restore_the_ground"
    assert not session.ends.ended(session.visit)
    desk(session, DEAD)
    assert session.hazards() == ()
    assert [e.number for e, _ in session.ends.ended(session.visit)] != []


@pytest.mark.parametrize("after", ["chassis to earth 64 at standby", "tingle from cabinet yes"])
def test_live_again_it_stops_again(session: Session, after: str) -> None:
    desk(session, [*START, LIVE[0], "ground restored", "y", after])
    assert session.hazards() != ()


@pytest.mark.parametrize(("line", "repair"), [
    ("ground restored", "restore_the_ground"), ("ground wire was loose, tightened it", "restore_the_ground"), ("fixed the ground", "restore_the_ground"),
    ("neutral repaired", "join_the_neutral_again"), ("neutral was burnt off, put it back on", ""), ("polarity fixed", "uncross_hot_and_neutral"),
    ("neutral was open and fixed it", "join_the_neutral_again"),
])  # fmt: skip
def test_which_repair_a_technician_tells(session: Session, line: str, repair: str) -> None:
    desk(session, [*START, LIVE[0], line, "y"])
    assert (session.visit.proving.repair if session.visit.proving else "") == repair


@pytest.mark.parametrize("lines", [
    ["ground restored", ""], ["ground wire was off"], ["ground not restored"], ["ground wire is loose"], ["no ground"], ["fixed"], ["chassis to earth 0"],
    ["chassis to earth 0 now"], ["neutral repair", ""],
])  # fmt: skip
def test_what_does_not_say_so_ends_nothing(session: Session, lines: list[str]) -> None:
    desk(session, [*START, LIVE[0], *lines, "", ""])
    assert session.hazards() != ()
    assert session.visit.proving is None


@pytest.mark.parametrize("line", ["chassis to earth 0.2 now", "chassis to earth 0.2, right now"])
def test_what_a_meter_shows_now_is_read(session: Session, line: str) -> None:
    desk(session, [*START, LIVE[0], line])
    assert [(r.name, r.number) for r in map(session.record, session.visit.entries)][-1] == ("chassis_to_earth", 0.2)


def test_beside_another_stop_it_is_told_how_each_ends(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*START, "vent apart", "bang at light off yes"])
    said = flat(capsys.readouterr().out)
    assert "When its cause is mended, type: `mend` and the part. What is read then ends it." in said[said.index("It lights late"):]


def test_nothing_is_told_to_be_mended_where_nothing_stops(session: Session) -> None:
    desk(session, [*START, "ground restored", ""])
    assert session.visit.proving is None
