"""A better record in the place of an entry, a name without its step in answer to what is asked for, and what a record of a second call lacks."""

from __future__ import annotations

import pytest

from furnace_diag.diagnosis.records import Record
from furnace_diag.visit.session import Session
from tests.visit.playing import PROOF, START, desk

HEAT = "heat_terminal_to_neutral"
SILENT = "blower starts in heat: does not start"


def last(session: Session) -> Record:
    return session.record(session.visit.entries[-1])


@pytest.mark.parametrize("better", ["0.3 at heating", "heat terminal to neutral 0.3 at heating", "heat terminal 0.3 at heating"])
def test_how_it_was_taken_is_kept_where_it_is_not_said_anew(better: str, session: Session) -> None:
    desk(session, [*START, SILENT, "heat terminal to neutral 0.2 low pin load on after 130 s", "note read"])
    number = session.visit.entries[-1].number
    desk(session, [f"fix {number} {better}"])
    r = last(session)
    assert (r.name, r.number, r.step, r.meter, r.contact, r.set_up, r.after_s) == (HEAT, 0.3, "heating", "low", "pin", ("load_on",), 130.0)


def test_what_is_said_anew_takes_its_place(session: Session) -> None:
    desk(session, [*START, SILENT, "heat terminal to neutral 0.2 low pin load on at heating"])
    desk(session, [f"fix {session.visit.entries[-1].number} 0.2 high"])
    assert (last(session).meter, last(session).contact, last(session).set_up) == ("high", "pin", ("load_on",))


def test_seconds_of_another_step_are_not_kept(session: Session) -> None:
    """They count from the beginning of the call before the gas, and from the gas after it."""
    desk(session, [*START, "inlet pressure 7 at call after 3 s"])
    desk(session, [f"fix {session.visit.entries[-1].number} 7 at ignition trial"])
    assert (last(session).step, last(session).after_s) == ("ignition_trial", None)


def test_another_thing_keeps_nothing_of_the_old_one(session: Session) -> None:
    desk(session, [*START, SILENT, "heat terminal to neutral 0.2 low pin at heating"])
    desk(session, [f"fix {session.visit.entries[-1].number} igniter ohms 52"])
    assert (last(session).name, last(session).meter, last(session).contact) == ("igniter_ohms", None, None)


def test_a_named_reading_takes_the_step_that_is_asked_for(session: Session) -> None:
    desk(session, [*START, SILENT])
    desk(session, ["s"])  # the motor is silent: the question that is open still
    while (asked := session.answer().next[0]).name not in session.knowledge.point:
        session.tell("never", {"name": asked.name, "step": asked.step})
    assert asked.step in session.knowledge.point[asked.name].steps
    desk(session, [f"{asked.name.replace('_', ' ')} 1"])
    assert (last(session).name, last(session).step) == (asked.name, asked.step)


def test_a_reading_of_another_thing_takes_no_step(session: Session) -> None:
    desk(session, [*START, SILENT])
    asked = {n.name for n in session.answer().next[:1]}
    assert "draft" not in asked
    desk(session, ["draft 0.8"])
    assert last(session).step is None


def test_what_a_record_of_the_second_call_lacks_is_told_of_it(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    """The first lacks its seconds and the second its step: each is told what it lacks itself, by its call."""
    desk(session, [*START, SILENT, "flame yes at heating", "heat terminal to neutral 0.2 low pin load on at heating after 130 s"])
    desk(session, ["s", "call", "flame yes after 130 s"])  # the motor is silent: the question that is open still
    nearest = session.answer().board.nearest
    assert nearest is not None
    assert nearest.proof == PROOF
    almost = [text for need in nearest.missing for text in need.almost if "flame_seen" in text]
    first, second = (next(text for text in almost if f"in call {call}:" in text) for call in (1, 2))
    assert "how many seconds" in first
    assert "at which step" not in first
    assert "at which step" in second
    said = " ".join(capsys.readouterr().out.split())
    typed = f"fix {session.visit.entries[-1].number} yes at heating"
    assert f"To count for the proof, if it was so: {typed}" in said
    desk(session, [typed])
    assert (last(session).name, last(session).step, last(session).call, last(session).after_s) == ("flame_seen", "heating", 2, 130.0)
    assert "how many seconds" not in second


def test_how_late_it_must_have_been_read_is_told_with_what_to_type(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    """The longest on-delay of any furnace of the rules, and half a minute as the proof says."""
    desk(session, [*START, SILENT, "heat terminal to neutral 0.1 low pin at heating"])
    options = (f.options["blower_on_delay"].values for f in session.knowledge.furnace.values())
    latest = max(float(value) for values in options for value in values) + 30
    said = " ".join(capsys.readouterr().out.split())
    assert f"after SECONDS s (it must have been 30 s after the longest blower on delay, {latest:g} s in all)" in said
