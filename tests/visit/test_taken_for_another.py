"""What is offered of a line that was not understood in full is nothing that nobody spoke of: no figure of another circuit, no word of who corrects himself."""

from __future__ import annotations

import pytest

from furnace_diag.visit.session import Session
from tests.visit.playing import START, desk


def told(session: Session) -> list[tuple[str, str | None]]:
    return [(r.name, r.word) for r in map(session.record, session.visit.entries[7:])]


@pytest.mark.parametrize("first", ["wait no, ", "wait no ", "no wait, ", "sorry, ", "oops, ", "i mean ", "hang on, no, "])
def test_who_corrects_himself_says_what_he_means(session: Session, capsys: pytest.CaptureFixture[str], first: str) -> None:
    desk(session, [*START, f"{first}inducer doesnt run"])
    assert told(session) == [("inducer_runs", "no")]
    assert "cock" not in capsys.readouterr().out


@pytest.mark.parametrize("line", ["wait 5 min, inducer runs", "no, inducer runs"])
def test_what_only_looks_so_is_left_as_it_is(session: Session, line: str) -> None:
    desk(session, [*START, line, ""])
    assert ("inducer_runs", "no") not in told(session)


def test_of_a_name_that_is_only_guessed_no_figure_is_offered_that_no_furnace_gives(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    """119 V is no figure of a 24 V wire."""
    desk(session, [*START, "pin to crimp 119 at heating, green corroded plug", "y"])
    said = " ".join(capsys.readouterr().out.split())
    assert "gas wire to c: 119" not in said
    assert "not taken: pin to crimp 119 at heating" in said
    assert told(session) == [("plug_burnt_or_corroded", "yes")]
    desk(session, ["pin to crimp 119 at heating", "y"])
    assert len(told(session)) == 1


def test_one_that_a_furnace_gives_is_offered_as_before(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*START, "pin to crimp 24 at heating", ""])
    assert "gas wire to c: 24" in " ".join(capsys.readouterr().out.split())
