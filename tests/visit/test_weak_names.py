"""A line of which few words name anything is asked about before it is kept, and a fast one is not."""

from __future__ import annotations

import pytest

from furnace_diag.cli.visit_asked import asked
from furnace_diag.problems import BadInput
from furnace_diag.visit.session import Session
from furnace_diag.visit.typed import Typed
from tests.visit.playing import START, desk


def kept(session: Session) -> list[str]:
    """What the visit holds after its start."""
    return [session.record(e).name for e in session.visit.entries if "question" not in session.journal.events[e.event - 1].says]


# each is a sentence or a slip that a technician may type, and of each the words that name something are a part of that name only
@pytest.mark.parametrize(
    "line",
    ["meter 24", "yes it is on heat", "it works now", "temp 120", "burner fine", "furnace runs good", "number 3",
     "power off", "the storm door was open", "somebody moved the storm window", "igniter pin low 0.2"],  # the meter's mode, or what it showed
)  # fmt: skip
def test_what_is_named_weakly_is_kept_only_after_a_yes(session: Session, capsys: pytest.CaptureFixture[str], line: str) -> None:
    desk(session, [*START, line, ""])
    out = capsys.readouterr().out
    assert "Is this" in out
    assert "Nothing kept." in out
    assert kept(session) == []
    desk(session, [line, "y"])
    assert len(kept(session)) == 1


@pytest.mark.parametrize("line", ["meter ok", "meter good"])
def test_what_could_be_two_things_is_kept_only_when_one_is_chosen(session: Session, line: str) -> None:
    """A meter that is said to be good may be a gas meter that was clocked; common practice, no source."""
    desk(session, [*START, line, ""])
    assert kept(session) == []
    desk(session, [line, "1"])
    assert kept(session) == ["meter_tried_on_live_point"]


@pytest.mark.parametrize("before", ["meter ok", "igniter ohms 4000000", "24 at mv"])
def test_a_line_in_place_of_the_answer_is_a_line_of_its_own_and_not_said_to_be_dropped(
    session: Session, capsys: pytest.CaptureFixture[str], before: str
) -> None:
    desk(session, [*START, before, "igniter ohms OL"])
    assert kept(session) == ["igniter_ohms"]
    assert "Not kept: " in (out := capsys.readouterr().out)
    assert "Nothing kept" not in out


@pytest.mark.parametrize(
    ("line", "name"),
    [
        ("manifold 3.4", "manifold_pressure"), ("prim v 123", "primary_volts"), ("rise 45", "temperature_rise"), ("blower amps 4", "blower_amps"),
        ("filter ok", "filter_looks"), ("24v at w 25.1", "w_to_c_at_board"), ("storm", "storm_or_outage"), ("no flame", "flame_seen"),
        ("light ign fail", "light_says"), ("igniter glows", "igniter_glows"), ("short cycles", "flame_goes_out"),
    ],
)  # fmt: skip
def test_a_fast_line_is_not_asked_about(session: Session, line: str, name: str) -> None:
    typed = session.reader.read(line)
    assert isinstance(typed, Typed)
    assert not typed.weakly
    assert name in typed.record.values()


def asked_first(session: Session, lines: list[str]) -> tuple[str, str | None]:
    """The point that the screen asks for after *lines*, and at which step."""
    desk(session, [*START, *lines, "quit"])
    reading = asked(session)
    assert reading is not None
    assert reading.name in session.knowledge.point
    return reading.name, reading.step


NO_AIR = ["burners light stay lit", "blower runs no at heating"]  # then a figure tells more than another look


def test_a_figure_and_where_the_probe_was_is_of_what_is_asked_for(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    name, step = asked_first(session, NO_AIR)
    capsys.readouterr()
    desk(session, ["0.1 at pin low", "quit"])
    out = capsys.readouterr().out
    assert "Is this" not in out
    assert "That could be" not in out
    last = session.record(session.visit.entries[-1])
    assert (last.name, last.step, last.contact, last.meter) == (name, step, "pin", "low")


def test_a_figure_and_a_step_that_is_a_place_too_is_asked_about(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    """"gas" is short for a step and for the places where its volts are read: with another step asked for, nobody knows which was meant."""
    name, step = asked_first(session, ["stops at call", "light says no fault"])
    assert step not in ("ignition_trial", "heating")
    before = len(session.visit.entries)
    capsys.readouterr()
    desk(session, ["0 on gas", "", "quit"])
    out = capsys.readouterr().out
    assert f" 1. {name.replace('_', ' ')}: 0 at"[:30] in out
    assert len(session.visit.entries) == before


def test_a_sentence_in_answer_to_what_happened_before_is_kept_unasked(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*START[:-1], "there was a thunderstorm on Friday", ""])
    assert "Is this" not in capsys.readouterr().out
    assert kept(session) == ["storm_or_outage"]


@pytest.mark.parametrize(
    ("line", "how"), [("igniter pin low 0.2", {"meter": "low"}), ("heat terminal pin low 0.2", {"meter": "low", "contact": "pin"})]
)
def test_how_volts_were_taken_may_stand_before_the_figure(session: Session, line: str, how: dict[str, str]) -> None:
    typed = session.reader.read(line)
    assert isinstance(typed, Typed)
    assert (typed.record["value"], {k: typed.record[k] for k in how}) == ("0.2", how)
    assert typed.weakly


@pytest.mark.parametrize("line", ["manifold low 2.1", "draft low 0.2", "gas pressure low 3.1"])
def test_a_pressure_that_is_low_was_taken_in_no_mode(session: Session, line: str) -> None:
    """No manometer has one: the word is of the figure."""
    with pytest.raises(BadInput):
        session.reader.read(line)


def test_what_an_event_of_a_short_name_means_is_told_where_it_is_asked_about(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    """A "new filter" may be a clean one; what makes a blocked one likelier is a finer one, or a coil."""
    desk(session, [*START, "filter new but dirty", ""])
    assert "It means: a finer filter, a new cooling coil, or rooms shut off." in " ".join(capsys.readouterr().out.split())
