"""The bare prompt while a proof of the board is under way, and what is typed where a doubtful record was asked about."""

from __future__ import annotations

import pytest

from furnace_diag.cli.visit_desk import Desk
from furnace_diag.visit.session import Session
from tests.visit.playing import START, Script, desk

POINT = "gas_pin_to_c"


@pytest.fixture
def proving(session: Session) -> Session:
    """A visit in which the board's igniter output reads dead once, and its proof lacks the rest."""
    told = ["igniter replaced no change", "inducer runs", "no glow", "valve clicks yes at ignition trial", "igniter ohms 52"]
    read = ["igniter pin to neutral 0 max low pin load on", "igniter wire to neutral 0 low", "pressure switch return to c 25 min pin"]
    told += [f"{line} at igniter warm up" for line in read]
    desk(session, [*START, *told])
    act = session.answer().act
    assert act is not None
    assert act.needs_proof
    return session


@pytest.mark.parametrize("line", ["26", "0.2 V", "119"])
def test_a_figure_alone_is_of_nothing_that_the_screen_does_not_name(line: str, proving: Session, capsys: pytest.CaptureFixture[str]) -> None:
    count = len(proving.visit.entries)
    desk(proving, [line])
    assert len(proving.visit.entries) == count
    assert f"{line} of what?" in capsys.readouterr().out


def test_what_the_proof_lacks_is_told_once_before_it_is_asked_for(proving: Session, capsys: pytest.CaptureFixture[str]) -> None:
    nearest = proving.answer().board.nearest
    assert nearest is not None
    first = next(n for n in nearest.missing if not n.met_by)
    wanted = proving.knowledge.condition[first.condition].any_of[0][0].names[0][1].replace("_", " ")
    desk(proving, [""], width=400)
    lines = [line for line in capsys.readouterr().out.splitlines() if f"({wanted})" in line]
    assert len(lines) == 1


def test_the_step_that_the_proof_wants_is_the_one_that_is_offered(proving: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(proving, [f"{POINT.replace('_', ' ')} 26"], width=400)
    assert f"fix {proving.visit.entries[-1].number} 26 at ignition trial" in capsys.readouterr().out


def test_a_held_reading_is_read_back_as_held(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*START, "igniter pin to neutral 119 max at igniter warm up"], width=400)
    assert "highest reading held" in capsys.readouterr().out.partition("igniter pin to neutral: 119")[2]


def test_another_line_in_place_of_a_yes_is_not_lost(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    """A reading that no furnace gives is dropped, and what was typed next is kept."""
    desk(session, [*START, "igniter ohms 4000000", "inducer hums"])
    assert "Not kept: what was asked about." in (out := " ".join(capsys.readouterr().out.split()))
    assert "Nothing kept." not in out  # the other line was
    assert [session.record(e).name for e in session.visit.entries[7:]] == ["inducer_runs"]


def test_what_people_say_of_the_board_is_not_kept_from_a_question(session: Session) -> None:
    desk(session, [*START, "board bad?", "quit"])
    assert len(session.visit.entries) == 7


FIRST_DEAD = ["burners stay lit", "inducer runs", "blower runs no", "blower runs at fan call", "heat terminal to neutral 0.1 low pin at heating"]


@pytest.mark.parametrize("told", [FIRST_DEAD[:n] for n in range(1, 6)])
def test_the_rank_stays_on_a_small_screen_and_no_caution_is_left_out(session: Session, capsys: pytest.CaptureFixture[str], told: list[str]) -> None:
    """Thirty lines of forty columns, of which the prompt is one."""
    desk(session, [*START, *told[:-1]])
    made = Desk(session, Script([]), lambda: 40)
    made.shown = session.answer()
    capsys.readouterr()
    made._enter(told[-1])
    left = capsys.readouterr().out.splitlines()[-29:]
    answer = session.answer()
    flat = " ".join(" ".join(left).split())
    assert f"{answer.parts[0].probability:.0%} {answer.parts[0].part.replace('_', ' ')}: {answer.parts[0].failures[0].says}" in flat
    assert all(caution in flat for n in answer.next[:1] for caution in n.cautions)
    assert answer.next[0].says in flat


def test_show_tells_what_a_small_screen_left_out(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*START, *FIRST_DEAD])
    capsys.readouterr()
    made = Desk(session, Script([]), lambda: 40)
    made.do("show")
    said = " ".join(capsys.readouterr().out.split())
    answer = session.answer()
    assert all(f"{p.probability:.0%} {p.part.replace('_', ' ')}" in said for p in answer.parts[:4])
    assert f"or {answer.next[1].name.replace('_', ' ')}" in said
