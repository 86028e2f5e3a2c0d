"""Dangers that are typed at the prompt beside anything else, and those that are said to be over. Common practice, no source."""

from __future__ import annotations

import pytest

from furnace_diag.visit.session import Session
from tests.visit.playing import START, desk
from tests.visit.test_stops import LEADS, flat


def entries(session: Session) -> dict[str, str | None]:
    return {session.record(e).name: session.record(e).word for e in session.visit.entries}


@pytest.mark.parametrize(
    ("line", "sign", "value"),
    [
        ("smells a lil gas by meter", "gas_smell", "slight"),
        ("limit switch bypassed w a wire nut", "safety_bypassed", "yes"),
        ("wife dizzy last nite", "people_feel_ill", "yes"),
        ("fire coming out of cabinet", "flame_rolls_out", "yes"),
        ("flame rollin out front", "flame_rolls_out", "yes"),
        ("melted plug", "wiring_melted", "yes"),
    ],
)
def test_a_danger_in_other_words_is_asked_about_and_enter_keeps_it(
    session: Session, capsys: pytest.CaptureFixture[str], line: str, sign: str, value: str
) -> None:
    desk(session, [*START, *LEADS])
    capsys.readouterr()
    desk(session, [line, "", ""])
    assert entries(session).get(sign) == value
    assert session.hazards() != ()
    assert "STOP." in capsys.readouterr().out


def test_of_two_dangers_on_one_line_both_are_asked_about(session: Session) -> None:
    desk(session, [*START, *LEADS, "it flips out, fire in the cabinet and kids are dizzy", "", "", ""])
    assert {"smoke_or_fire", "people_feel_ill"} <= entries(session).keys()


def test_a_danger_beside_a_reading_is_not_passed_over(session: Session) -> None:
    desk(session, [*START, *LEADS, "120 at ign pin and the wife is dizzy", "", "", ""])
    assert entries(session).get("people_feel_ill") == "yes"


@pytest.mark.parametrize("line", ["gas smell gone, tightened union", "smell of gas went away", "no more gas smell"])
def test_a_danger_that_is_over_is_none_by_enter(session: Session, capsys: pytest.CaptureFixture[str], line: str) -> None:
    desk(session, [*START, *LEADS])
    before = entries(session)
    capsys.readouterr()
    desk(session, [line, ""])
    said = flat(capsys.readouterr().out)
    assert session.hazards() == ()
    assert entries(session) == before
    assert 'Is this "gas smell: slight and gone"?' in said
    assert "strong" not in said


def test_one_that_nothing_puts_right_is_told_and_not_kept(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*START, *LEADS])
    capsys.readouterr()
    desk(session, ["smoke is gone"])
    said = flat(capsys.readouterr().out)
    assert session.hazards() == ()
    assert "says of a danger that it is over or was long ago" in said
    assert "smoke or fire: smoke" in said


def test_that_the_smell_is_gone_leaves_the_question_of_it_open(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, ["gas smell gone, tightened union", ""])
    said = flat(capsys.readouterr().out)
    assert session.knowledge.question["smell_of_gas"].asks in said
    assert "tightened union" in said  # nothing is made of that, and it is said
    assert session.hazards() == ()


def test_what_a_complaint_says_in_vain_is_told(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, ["no heat, gurgling noise", ""])
    said = flat(capsys.readouterr().out)
    assert "Not taken from that, and not weighed: gurgling noise." in said


def test_a_fuse_bridged_for_a_look_and_opened_again_stops_nothing(session: Session) -> None:
    desk(session, [*START, *LEADS, "jumped fuse w wire, took it out"])
    assert entries(session)["fuse_rating"] == "found_bridged_and_taken_out"
    assert session.hazards() == ()


def test_one_that_is_still_there_does_until_it_was_removed(session: Session) -> None:
    desk(session, [*START, *LEADS, "jumped fuse w wire", ""])
    assert session.hazards() != ()
    desk(session, ["was removed", *[""] * 8])
    assert entries(session)["fuse_rating"] == "found_bridged_and_taken_out"
    assert session.hazards() == ()


@pytest.mark.parametrize("line", ["wire nut took off, rollout wires back on", "took jumper off, limit wires back on"])
def test_a_bridge_taken_off_and_the_wires_put_back_is_no_bridge(session: Session, line: str) -> None:
    desk(session, [*START, *LEADS, line])
    assert entries(session)["safety_bypassed"] == "found_and_taken_out"
    assert session.hazards() == ()


def test_wires_put_back_where_they_belong_tell_of_no_bridge(session: Session) -> None:
    desk(session, [*START, *LEADS, "put the limit wires back where they belong"])
    assert entries(session).get("safety_bypassed") != "yes"
    assert session.hazards() == ()


def test_that_it_was_put_right_answers_whether_a_danger_is_so(session: Session) -> None:
    desk(session, [*START, *LEADS, "wire nut on rollout wires", "jumper removed"])
    assert entries(session)["safety_bypassed"] == "found_and_taken_out"
    assert session.hazards() == ()
