"""Whatever is entered is kept, or told to be not kept. Common practice, no source; the sides of a mark are derived in the test."""

from __future__ import annotations

import pytest

from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.visit.lines import Reader
from furnace_diag.visit.marked import with_mark
from furnace_diag.visit.session import Session
from tests.visit.playing import START, desk

READ = ["line to chassis at board 121", "line to neutral at board 3", "neutral to chassis at board 118"]
NEUTRAL = [*START, *READ, ""]  # Enter: the next volts, and how the meter stands


@pytest.fixture(scope="module")
def reader(evidence: Evidence) -> Reader:
    return Reader(evidence.vocabulary)


def read(session: Session) -> list[tuple[str, object]]:
    return [(session.record(e).name, e.record["value"]) for e in session.visit.entries]


@pytest.mark.parametrize("then", [["why"], ["mend"], ["quit"], [], ["igniter ohms OL"], ["asdf"], ["?", "why"]])
def test_a_figure_typed_where_the_meter_is_asked_for_is_kept_whatever_follows(session: Session, then: list[str]) -> None:
    desk(session, NEUTRAL)
    before = read(session)
    desk(session, ["", "112", *then])
    assert [value for _, value in read(session)[len(before) :]][:1] == ["112"]
    assert ("igniter_ohms", "OL") in read(session) or "igniter ohms OL" not in then


def test_of_two_figures_typed_there_the_second_counts(session: Session) -> None:
    desk(session, NEUTRAL)
    before = read(session)
    desk(session, ["", "112", "113", "l"])
    assert [value for _, value in read(session)[len(before) :]] == ["113"]
    assert session.visit.meter == "low"


@pytest.mark.parametrize(
    ("line", "sign", "value"),
    [  # 55 lies between 40 and 70, 75 above it, 35 below; 0.45 is at most 0.5; 4.1 is at most 5.2 and 6 is not; 3.9 is more than 0.3 above 3.5
        ("rise 55, plate 40-70", "rise_against_plate", "within"), ("rise 75 on plate 40-70", "rise_against_plate", "above"),
        ("rise 35 plate 40 to 70", "rise_against_plate", "below"), ("static 0.45 plate 0.5", "static_against_plate", "at most"),
        ("blower amps 4.1 plate 5.2", "blower_amps_against_plate", "at most"), ("blower amps 6 plate 5.2", "blower_amps_against_plate", "over"),
        ("manifold pressure 3.9 plate 3.5", "manifold_against_plate", "off"),
    ],
)  # fmt: skip
def test_a_reading_told_with_its_mark_answers_the_check_that_asks_for_it(line: str, sign: str, value: str, reader: Reader) -> None:
    reading, check = with_mark(line, reader, {sign})
    assert "note" in reading.record
    assert check.record == {"sign": sign, "value": value}
    assert len(with_mark(line, reader)) == 1


def test_a_rise_is_held_against_no_single_figure(reader: Reader) -> None:
    assert len(with_mark("rise 55 plate 50", reader, {"rise_against_plate"})) == 1


def test_the_mark_of_a_rise_answers_its_check_after_a_repair(session: Session) -> None:
    desk(session, START)
    session.tell("repair", {"part": "filter", "failure": "blocked", "repair": "change_the_filter"})
    state = session.after()
    assert state is not None
    assert "rise_is_right" in {n.condition for n in state.missing}
    desk(session, ["rise 55, plate 40-70"])
    assert read(session)[-2:] == [("temperature_rise", "55"), ("rise_against_plate", "within")]


def test_a_mark_that_answers_nothing_is_told_to_be_a_remark(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*START, "rise 55, plate 40-70"])
    assert "remark, and not weighed: plate 40-70" in " ".join(capsys.readouterr().out.split())


@pytest.mark.parametrize(("line", "told"), [
    ("breaker on switch on", {("breaker_position", "on"), ("service_switch_position", "on")}),
    ("breaker on switch off", {("breaker_position", "on"), ("service_switch_position", "off")}),
    ("blower hums inducer runs", {("blower_runs", "hums"), ("inducer_runs", "yes")}),
])  # fmt: skip
@pytest.mark.parametrize("asked", ["", "breaker position"])
def test_two_things_with_nothing_between_are_both_kept_whatever_is_asked_for(session: Session, asked: str, line: str, told: set[tuple[str, str]]) -> None:
    desk(session, [*START, *filter(None, [asked]), line])
    assert {(r.name, r.word) for r in map(session.record, session.visit.entries[7:])} == told


@pytest.mark.parametrize("line", ["breaker on potato on", "on switch on breaker"])
def test_half_of_a_line_is_no_value_of_what_is_asked_for(session: Session, line: str) -> None:
    desk(session, [*START, "breaker position", line])
    assert len(session.visit.entries) == 7
