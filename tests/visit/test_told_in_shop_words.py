"""Whole lines as technicians type them in a hurry, which were not understood. Common practice, no source."""

from __future__ import annotations

from typing import Any

import pytest

from furnace_diag.visit.complaint import told_in
from furnace_diag.visit.session import Session
from tests.visit.playing import START, desk


def kept(session: Session) -> list[tuple[str, object, dict[str, Any]]]:
    entries = session.visit.entries[7:]
    how = [{k: e.record[k] for k in ("step", "meter", "contact", "set_up") if k in e.record} for e in entries]
    records = map(session.record, (e for e in entries))
    return [(r.name, r.word if r.number is None else r.number, h) for r, h in zip(records, how, strict=True)]


@pytest.mark.parametrize(("line", "told"), [
    ("ps return 25.2 to c", ("pressure_switch_return_to_c", 25.2, {})),
    ("ps return 25.2 to c on the pin", ("pressure_switch_return_to_c", 25.2, {"contact": "pin"})),
    ("w 24 to c", ("w_to_c_at_board", 24.0, {})), ("r 25 to c at call", ("r_to_c_at_board", 25.0, {"step": "call"})),
    ("inducer pin 120 to neutral", ("inducer_pin_to_neutral", 120.0, {})), ("neutral 1.2 to chassis", ("neutral_to_chassis_at_board", 1.2, {})),
    ("0.0 v mv pin to c lo-z with valve wired at ignition trial", ("gas_pin_to_c", 0.0, {"step": "ignition_trial", "meter": "low", "set_up": ["load_on"]})),
    ("fuse pops every time i put in a new one", ("fuse_blows_again", "yes", {})),
    ("3amp fuse pops every time i put in new 1", ("fuse_blows_again", "yes", {})),
    ("i put in a new ps last month no change", ("pressure_switch", "replaced_no_change", {})),
    ("they changed the inducer 2 wks ago no help", ("inducer", "replaced_no_change", {})),
])  # fmt: skip
def test_it_is_kept_as_it_was_meant(session: Session, line: str, told: tuple[str, object, dict[str, Any]]) -> None:
    desk(session, [*START, line])
    assert kept(session) == [told]


def test_what_else_stands_beside_an_earlier_repair_is_not_dropped(session: Session) -> None:
    desk(session, [*START, "i put in a new ps last month no change, potato hums", ""])
    assert kept(session) == []


def test_one_look_told_in_two_ways_is_kept_once(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*START, "board burnt, scorch mark on relay"])
    assert kept(session) == [("board_scorched", "yes", {})]
    assert "the same twice" not in capsys.readouterr().out


def test_wires_off_at_the_thermostats_base_are_told_as_that(session: Session) -> None:
    desk(session, [*START, "r to c ohms 0.4 stat wires off at sub base", "y"])
    assert [(name, value) for name, value, _ in kept(session)] == [("thermostat_cable_r_to_c_ohms", 0.4)]


@pytest.mark.parametrize("line", ["gave it a shove and it takes off", "give the wheel a push and it runs", "gave the blower a spin, it starts"])
def test_a_shove_tells_where_that_is_asked_for(session: Session, line: str) -> None:
    assert session.reader.value_of("blower_starts_when_spun", line) == "yes"


@pytest.mark.parametrize("text", ["breaker keeps tripping", "no heat, breaker keeps popping"])
def test_a_breaker_that_keeps_tripping_is_heard_in_a_complaint(session: Session, text: str) -> None:
    assert [(t.record["sign"], t.record["value"]) for t in told_in(text, session.reader)] == [("breaker_position", "tripped")]
