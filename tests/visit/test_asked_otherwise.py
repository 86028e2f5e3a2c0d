"""A figure told to be taken as nobody asks the reading to be that the screen wants: it may be of another, and is not kept as that unasked."""

from __future__ import annotations

import pytest

from furnace_diag.cli.visit_asked import asked
from furnace_diag.visit.session import Session
from tests.visit.playing import START, desk


def names(session: Session) -> list[str]:
    return [session.record(e).name for e in session.visit.entries]


def test_a_load_told_of_what_is_no_output_is_asked_about(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    """Common practice, no source: between the screws of R and C no load is on or off; a pin with its load on is an output's."""
    desk(session, [*START, "igniter glows no", "igniter ohms 55", "inducer runs yes", "stops at igniter warm up", "line to neutral 120"])
    k, reading = session.knowledge, asked(session)
    assert reading is not None
    assert reading.name in k.point
    is_output = "load_on" in _ways(session, reading.name)
    before = names(session)
    desk(session, ["0.1 v low pin load on", ""])
    assert ("Is this" in capsys.readouterr().out) is not is_output
    assert names(session) == [*before, *([reading.name] if is_output else [])]


def _ways(session: Session, name: str) -> set[str]:
    k = session.knowledge
    return {how for c in (*k.condition.values(), *k.check.values()) for way in c.any_of for w in way if w.point == name for how in w.set_up}
