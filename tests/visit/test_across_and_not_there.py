"""Where a figure was read, as people say it: across a thing, on both sides of it, nothing at it, or of a motor not named. Never kept as another place."""

from __future__ import annotations

import pytest

from furnace_diag.visit.session import Session
from tests.visit.playing import START, desk


def kept(session: Session) -> list[tuple[str, object, str | None]]:
    records = [session.record(e) for e in session.visit.entries[7:]]
    return [(r.name, r.word if r.number is None else r.number, r.step) for r in records]


@pytest.mark.parametrize(("line", "told"), [
    ("door sw 31 v across", ("across_door_switch", 31.0, None)), ("ps 24 across it", ("across_pressure_switch", 24.0, None)),
    ("pressure switch 0.1 across contacts", ("across_pressure_switch", 0.1, None)), ("fuse 24 across it", ("across_fuse", 24.0, None)),
    ("12 across door switch at call", ("across_door_switch", 12.0, "call")), ("0 across limit at heating", ("across_limit", 0.0, "heating")),
    ("120 across inducer", ("inducer_volts_at_motor", 120.0, None)),
    ("inducer plug 120 across it", ("inducer_volts_at_motor", 120.0, None)),
    ("igniter 120 across it", ("igniter_volts_at_plug", 120.0, None)),
    ("120 across igniter at igniter warm up", ("igniter_volts_at_plug", 120.0, "igniter_warm_up")),
    ("24 across gas valve at ignition trial", ("gas_valve_volts", 24.0, "ignition_trial")),
    ("120 across blower motor", ("blower_volts_at_motor_heat", 120.0, None)),
])  # fmt: skip
def test_across_a_thing_is_read_there(session: Session, line: str, told: tuple[str, object, str | None]) -> None:
    """A figure with 120 V across the inducer is at its plug, where it says that the board feeds it; across its relay it would say that the board does not."""
    desk(session, [*START, line])
    assert kept(session) == [told]


def test_across_it_is_of_what_was_just_told(session: Session) -> None:
    desk(session, [*START, "limit closed, 0 across it", "ps closed", "24 across it", "y"])
    assert [(name, value) for name, value, _ in kept(session)] == [
        ("limit_contact", "closed"), ("across_limit", 0.0), ("pressure_switch_contact", "closed"), ("across_pressure_switch", 24.0),
    ]  # fmt: skip


@pytest.mark.parametrize("lines", [["24 across it", "1"], ["24 across", "1"], ["igniter glows", "24 across it", ""], ["r and c 24 across", ""]])
def test_of_what_was_not_told_nothing_is_kept_unasked(session: Session, lines: list[str]) -> None:
    desk(session, [*START, *lines])
    assert all(value != 24.0 for _, value, _ in kept(session))


@pytest.mark.parametrize("line", ["ps 24 v on each side", "24 on both sides of the ps", "24 v on each side of ps"])
def test_both_sides_may_stand_before_the_thing(session: Session, line: str) -> None:
    desk(session, [*START, line])
    assert [(name, value) for name, value, _ in kept(session)] == [("pressure_switch_feed_to_c", 24.0), ("pressure_switch_out_to_c", 24.0)]


@pytest.mark.parametrize(("line", "could_be", "never"), [
    ("0 at hsi during warmup", "igniter volts at plug: 0 at igniter warm up", "fed directly"),
    ("0.0 v at hsi in warm up", "igniter volts at plug: 0.0 v", "fed directly"),
    ("no 120v to igniter", "igniter volts at plug: 0", "fed directly"), ("no 120v to inducer", "inducer volts at motor: 0", "fed directly"),
    ("no 24 to gas valve", "gas valve volts: 0", "without call"),
])  # fmt: skip
def test_what_is_not_there_is_asked_about_and_is_no_experiment(
    session: Session, capsys: pytest.CaptureFixture[str], line: str, could_be: str, never: str
) -> None:
    desk(session, [*START, line, ""])
    told = " ".join(capsys.readouterr().out.split())
    assert could_be in told
    assert never not in told.partition("That could be")[2]
    assert kept(session) == []


@pytest.mark.parametrize("line", [
    "amps 5.2 plate 6.8", "motor amps 5.2 plate 6.8", "motor pulls 5.2 amps, plate 6.8", "5.2 amps plate 6.8", "amp draw 5.2 rated 6.8",
    "motor 5.2 amps, plate 6.8",
])  # fmt: skip
def test_amps_beside_a_plate_are_asked_of_which_motor(session: Session, capsys: pytest.CaptureFixture[str], line: str) -> None:
    """And the mark is kept beside the figure, as where the motor is named."""
    desk(session, [*START, line, ""])
    assert kept(session) == []
    told = capsys.readouterr().out
    assert "blower amps: 5.2" in told
    assert "inducer amps: 5.2" in told
    desk(session, [line, "2"])
    assert kept(session) == [("inducer_amps", 5.2, None)]
    assert "6.8" in str(session.visit.entries[-1].record["note"])


def test_a_plate_alone_is_no_input_that_was_clocked(session: Session) -> None:
    desk(session, [*START, "plate 5.2", "y", "motor pulls 6.8 amps, plate 5.2", ""])
    assert kept(session) == []
