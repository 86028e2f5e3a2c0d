"""After a repair no line ticks a check that it does not tell of: what was so in several calls is none of what one look meets."""

from __future__ import annotations

import pytest

from furnace_diag.visit.session import Session
from tests.visit.playing import START, desk


def mended(session: Session) -> None:
    """A repair that is done, of which the leads are the first check."""
    desk(session, [*START, "igniter ohms OL"])
    session.tell("repair", {"part": "igniter", "failure": "open", "repair": "replace_the_igniter"})


def told(session: Session) -> list[tuple[str, str | None, int]]:
    return [(r.name, r.word, r.call) for r in map(session.record, session.visit.checking)]


@pytest.mark.parametrize("line", ["3 full calls ok", "3 calls good", "3 heat calls all good", "both calls fine"])
def test_what_was_so_in_several_calls_ticks_no_other_check(session: Session, line: str) -> None:
    mended(session)
    state = session.after()
    assert state is not None
    assert state.missing[0].condition == "leads_sit_tight"  # of which "ok" is a word too
    desk(session, [line])
    assert {name for name, _, _ in told(session)} == {"call_watched"}


def test_nor_where_that_check_is_asked_for(session: Session) -> None:
    mended(session)
    desk(session, ["", "3 full calls ok"])
    assert "leads_secure" not in {name for name, _, _ in told(session)}


@pytest.mark.parametrize(("line", "kept"), [("yes all tight", "yes"), ("yes tight", "yes"), ("all tight", "yes"), ("yes loose", None), ("no all tight", None)])
def test_a_yes_beside_its_own_word_is_that(session: Session, line: str, kept: str | None) -> None:
    mended(session)
    desk(session, [line])
    assert [word for name, word, _ in told(session) if name == "leads_secure"] == ([kept] if kept else [])


@pytest.mark.parametrize("line", ["watched 3 calls, all good", "3 calls watched, all good", "call watched 3 calls ok"])
def test_watched_calls_in_any_order(session: Session, line: str) -> None:
    mended(session)
    desk(session, [line])
    assert [(name, call) for name, _, call in told(session)] == [("call_watched", 1), ("call_watched", 2), ("call_watched", 3)]
