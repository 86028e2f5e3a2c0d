"""Lines that were typed standing at a furnace, each beside what looks like it. Common practice, no source."""

from __future__ import annotations

import pytest

from furnace_diag.visit.session import Session
from furnace_diag.visit.typed import Typed, Unclear
from tests.visit.playing import START, desk


def kept(session: Session, *lines: str) -> list[tuple[str, object]]:
    """What *lines* leave in a visit that has just begun, beside the answers on safety."""
    desk(session, [*START, *lines])
    return [(r.name, r.word if r.number is None else r.number) for r in map(session.record, session.visit.entries[7:])]


# --- what is denied ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("line", "name"),
    [
        ("no inducer relay click", "inducer_relay_clicks"), ("no blower relay click", "blower_relay_clicks"),
        ("no click from inducer relay", "inducer_relay_clicks"), ("heard no click from blower relay", "blower_relay_clicks"),
        ("no glow from igniter", "igniter_glows"),
    ],
)  # fmt: skip
def test_a_denied_click_is_no_click_with_nothing_after_it(session: Session, line: str, name: str) -> None:
    assert kept(session, line) == [(name, "no")]


def test_a_click_with_nothing_after_it_stays_a_click(session: Session) -> None:
    assert kept(session, "inducer relay click nothing") == [("inducer_relay_clicks", "yes")]


def test_of_which_relay_there_is_no_click_is_asked(session: Session) -> None:
    assert kept(session, "no click from relay") == []


# --- figures with words beside them ------------------------------------------------------------


@pytest.mark.parametrize(
    ("line", "name", "value", "meter"),
    [
        ("stat calling 25v at w", "w_to_c_at_board", 25.0, None), ("calling 25v at w", "w_to_c_at_board", 25.0, None),
        ("no 120 at igniter plug 0.0 lo z", "igniter_volts_at_plug", 0.0, "low"), ("L1 to N 2 low z at board", "line_to_neutral_at_board", 2.0, "low"),
        ("0 v at inducer pin low imp", "inducer_pin_to_neutral", 0.0, "low"),
        ("0 v at inducer pin low z, plug on", "inducer_pin_to_neutral", 0.0, "low"), ("neut to ground 118!!", "neutral_to_chassis_at_board", 118.0, None),
        ("neut to ground 118..", "neutral_to_chassis_at_board", 118.0, None),
    ],
)  # fmt: skip
def test_words_beside_a_figure_leave_it_what_it_is(session: Session, line: str, name: str, value: float, meter: str | None) -> None:
    assert kept(session, line) == [(name, value)]
    record = session.record(session.visit.entries[-1])
    assert (record.meter, record.step) == (meter, None)  # that it calls is no step of the call


def test_what_a_part_got_is_asked_where(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    assert kept(session, "igniter got 118v") == []
    assert "igniter volts at plug: 118v" in capsys.readouterr().out


@pytest.mark.parametrize("line", ["no 120 at igniter plug, no call", "calling for 25", "no 25 at w 2 days ago", "inducer got 3 new screws"])
def test_what_is_no_such_reading_is_not_kept(session: Session, line: str) -> None:
    assert kept(session, line) == []


# --- what is not to be had ---------------------------------------------------------------------


@pytest.mark.parametrize("line", ["idk", "dont know", "cant measure that"])
def test_what_cannot_be_had_is_skipped_and_told(session: Session, line: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert kept(session, line) == []
    assert "is not asked for again." in capsys.readouterr().out


def test_a_check_that_cannot_be_had_stays_open(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*START, "igniter ohms OL"])
    session.tell("repair", {"part": "igniter", "failure": "open", "repair": "replace_the_igniter"})
    desk(session, ["cant check that"])
    assert session.visit.checking == []
    assert "the check stays open" in " ".join(capsys.readouterr().out.split())


# --- more of what stands before ----------------------------------------------------------------


def test_another_place_of_the_thing_before_it_is_read_there(session: Session) -> None:
    assert kept(session, "121 on heat pin, 0 at the crimp") == [("heat_terminal_to_neutral", 121.0), ("heat_spade_to_neutral", 0.0)]


@pytest.mark.parametrize("line", ["121 on heat pin, 0 at the potato", "121 on heat pin, 0 at the pin"])
def test_what_is_no_other_place_of_it_is_not_kept(session: Session, line: str) -> None:
    assert kept(session, line) == []


@pytest.mark.parametrize("line", ["spins up when i give the wheel a shove", "starts if i spin it by hand", "spin it by hand and it runs"])
def test_a_blower_that_starts_when_spun_where_that_is_asked_for(session: Session, line: str) -> None:
    assert session.reader.value_of("blower_starts_when_spun", line) == "yes"


# --- a new motor and its leads -------------------------------------------------------------------


@pytest.mark.parametrize("line", ["spare leads twisted together", "spare taps joined", "unused speed leads touching"])
def test_speed_leads_that_touch_are_two_together(session: Session, line: str) -> None:
    assert kept(session, line) == [("spare_speed_leads", "two_together")]


def test_a_blower_that_runs_backwards_is_asked_about(session: Session) -> None:
    read = session.reader.read("blower runs backwards")
    assert isinstance(read, Unclear)
    assert {"sign": "wheel_turns_the_right_way", "value": "no"} in [{k: c.record.get(k) for k in ("sign", "value")} for c in read.choices]
    assert kept(session, "rotation wrong way") == [("wheel_turns_the_right_way", "no")]


@pytest.mark.parametrize("line", ["119 on the board L-N", "119 on board l-n", "L-N 119 at board", "l-n 119 at board pins", "L to N at bd 119"])
def test_the_line_at_the_board_is_no_spade(session: Session, line: str) -> None:
    read = session.reader.read(line)
    assert isinstance(read, Typed)
    assert read.record == {"point": "line_to_neutral_at_board", "value": "119"}
