"""What one line of several things kept is taken back together, and what a motor does by itself is no turn by hand."""

from __future__ import annotations

from pathlib import Path

import pytest

from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.visit.session import Session
from tests.visit.playing import START, Play, desk


def told(session: Session) -> list[tuple[str, str | None]]:
    return [(r.name, r.word) for r in map(session.record, session.visit.entries)]


@pytest.mark.parametrize("line", ["inducer runs, igniter glows, no flame", "3 calls inducer runs", "burners light, something odd; inducer runs"])
def test_undo_takes_back_all_that_one_line_kept_and_no_more(session: Session, capsys: pytest.CaptureFixture[str], line: str) -> None:
    desk(session, [*START, "draft 0.8 at heating"])
    before = told(session)
    desk(session, [line, "y"])
    assert len(told(session)) > len(before) + 1
    desk(session, ["undo"])
    assert told(session) == before
    assert "all that one line told" in " ".join(capsys.readouterr().out.split())
    desk(session, ["undo"])
    assert told(session) == before[:-1]


def test_remove_takes_one_of_them(session: Session) -> None:
    desk(session, [*START, "inducer runs, igniter glows, no flame"])
    desk(session, ["remove 9"])
    assert told(session)[-2:] == [("inducer_runs", "yes"), ("flame_seen", "no")]


@pytest.mark.parametrize("motor", ["inducer", "blower"])
@pytest.mark.parametrize("said", ["barely turns", "hardly turning", "barely spins"])
def test_a_motor_that_barely_turns_is_slow_and_was_turned_by_nobody(session: Session, motor: str, said: str) -> None:
    """A hand test is made with the power off, and told as one: common practice, no source."""
    desk(session, [*START, f"{motor} {said}"])
    assert told(session)[-1] == (f"{motor}_runs", "slow")
    desk(session, [f"{motor} barely turns by hand"])
    assert told(session)[-1] == (f"{motor}_turns_freely", "stiff")


@pytest.mark.parametrize("motor", ["inducer", "blower"])
def test_nor_was_one_that_hums_as_well(session: Session, motor: str) -> None:
    desk(session, [*START, f"{motor} barely turns, hums", "1"])
    assert told(session)[-1] == (f"{motor}_runs", "slow")
    assert f"{motor}_turns_freely" not in dict(told(session))


@pytest.mark.parametrize("lines", [["no smell"], ["co 0", "no smell"], ["co 0, no smell"], ["no smell, co 0"], ["co 0 no smell"]])
def test_no_smell_where_the_smell_of_gas_is_checked_is_of_that(tmp_path: Path, evidence: Evidence, lines: list[str]) -> None:
    play = Play(tmp_path / "v.jsonl", evidence)
    play.begin()
    play.mend()
    play.check(but="room_air_is_safe")
    before = len(play.session.visit.entries)
    desk(play.session, ["", *lines, ""])  # a question of the start is open yet
    kept = {r.name: r.word for r in map(play.session.record, play.session.visit.entries[before:])}
    assert kept == {"gas_smell": "none"} | ({"co_in_room": "under_30_ppm"} if len(lines) > 1 or "co" in lines[0] else {})
    play.journal.close()


def test_of_what_smell_is_asked_where_none_is_and_no_enter_drops_a_strong_one(session: Session) -> None:
    desk(session, ["no heat", *["n"] * 7, *[""] * 6])
    before = len(told(session))
    desk(session, ["no smell", ""])
    assert len(told(session)) == before
    desk(session, ["smell strong", "", "n"])
    assert len(told(session)) == before
    desk(session, ["smell strong", "2"])
    assert ("gas_smell", "strong") in told(session)


def test_carbon_monoxide_by_a_figure_alone_is_asked_of_and_no_enter_drops_it(session: Session) -> None:
    desk(session, [*START, "co 120", "", ""])
    assert told(session)[-1] == ("co_in_room", "at_least_70_ppm")


def test_what_is_kept_of_a_line_typed_instead_of_an_answer_is_followed_by_the_screen(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*START, "pin to crimp 24 at heating", "inducer runs"])
    after = capsys.readouterr().out.partition("inducer runs: yes")[2]
    assert told(session)[-1] == ("inducer_runs", "yes")
    assert "NEXT (Enter)" in after
