"""What whole visits at a small screen stumbled over. Common practice, no source: how people say it."""

from __future__ import annotations

import pytest

from furnace_diag.visit.session import Session
from tests.visit.playing import START, desk


def kept(session: Session, first: int = 7) -> list[tuple[str, object]]:
    records = map(session.record, session.visit.entries[first:])
    return [(r.name, r.word if r.number is None else r.number) for r in records]


@pytest.mark.parametrize(("line", "told"), [
    ("inducer wheel loose on shaft", ("inducer_wheel_grips", "slips")), ("blower wheel spins on its shaft", ("blower_wheel_grips", "slips")),
    ("inducer loose on the shaft", ("inducer_wheel_grips", "slips")), ("inducer wheel tight on its shaft", ("inducer_wheel_grips", "tight")),
    ("burners shut off after 4 min or so", ("flame_goes_out", "after_minutes")), ("draft 0.2 or so", ("draft", 0.2)), ("inducer goes", ("inducer_runs", "yes")),
    ("rod wire rubbed thru on sheet metal", ("wire_chewed", "yes")),
    ("igniter wire rubbed bare", ("wire_chewed", "yes")), ("wire worn through", ("wire_chewed", "yes")),
    ("draft 0.2 in wc with the inducer going", ("draft", 0.2)), ("flame 0.3 ua with blower running", ("flame_current", 0.3)),
])  # fmt: skip
def test_it_is_kept_as_it_was_meant(session: Session, line: str, told: tuple[str, object]) -> None:
    desk(session, [*START, line])
    assert kept(session) == [told]


def test_how_another_thing_stood_is_a_remark_and_told_so(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*START, "flame 0.3 ua with the blower off"])
    assert session.visit.entries[-1].record["note"] == "with the blower off"
    assert "and not weighed: with the blower off" in " ".join(capsys.readouterr().out.split())
    desk(session, ["draft 0.2 in wc with the potato going"])
    assert kept(session) == [("flame_current", 0.3)]


def test_that_nothing_came_after_is_of_no_door_switch(session: Session) -> None:
    desk(session, [*START, "nothing after", "1", "y"])
    assert kept(session) == []


def test_a_blower_that_keeps_going_was_given_no_push(session: Session) -> None:
    desk(session, [*START, "burners shut off after 4 min, blower keeps going"])
    assert kept(session) == [("flame_goes_out", "after_minutes"), ("blower_runs", "yes")]


@pytest.mark.parametrize(("line", "step"), [
    ("119 at hsi pin 0 at hsi plug", None), ("119 at hsi pin, 0 at hsi plug, warmup", "igniter_warm_up"), ("119 at board hsi pin 0 at plug", None),
    ("119 at hsi pin 0 at hsi plug, warmup", "igniter_warm_up"),
])  # fmt: skip
def test_two_figures_each_with_its_place_are_two_readings(session: Session, line: str, step: str | None) -> None:
    desk(session, [*START, line])
    assert kept(session) == [("igniter_pin_to_neutral", 119.0), ("igniter_volts_at_plug", 0.0)]
    assert {e.record.get("step") for e in session.visit.entries[7:]} == {step}


@pytest.mark.parametrize("asked_first", [[], [""]])
def test_a_sentence_of_several_things_is_taken_where_a_value_is_asked_for(session: Session, asked_first: list[str]) -> None:
    desk(session, [*START, *asked_first, "inducer comes on, ps never makes, nothing after", "y"])
    assert kept(session) == [("inducer_runs", "yes"), ("pressure_switch_contact", "open")]


def test_a_sentence_of_which_nothing_is_understood_keeps_the_question(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*START, "", "the potato went all the way round, twice over", "inducer start"])
    assert "nothing of it is kept" in " ".join(capsys.readouterr().out.split())
    assert kept(session) == [("stops_at", "inducer_start")]


@pytest.mark.parametrize("line", ["nothing done to it", "nothing that i know of", "nobody touched it", "im the first"])
def test_that_nothing_was_done_before_ends_that_question(session: Session, capsys: pytest.CaptureFixture[str], line: str) -> None:
    desk(session, [*START[:-1], line])
    told = capsys.readouterr().out
    assert "names nothing" not in told
    assert "NEXT (Enter)" in told


def test_nothing_that_was_not_taken_stands_in_quotation_marks(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, ["no heat, small fan runs then nothing"])
    assert 'not weighed: "nothing".' in " ".join(capsys.readouterr().out.split())


def test_no_click_behind_the_valve_is_of_the_valve_and_one_yes_keeps_what_was_told(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*START, "glows bright, 24 at valve in trial, no click", "y"])
    assert "gas valve clicks: no." in " ".join(capsys.readouterr().out.split())
    assert kept(session) == [("igniter_glows", "bright"), ("gas_valve_volts", 24.0), ("gas_valve_clicks", "no")]


def test_no_click_behind_what_does_not_click_is_still_asked(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    """And all that a yes would keep is told, however long that is."""
    desk(session, [*START, "120 at hsi plug at warmup, no glow, no click", ""])
    assert "inducer relay clicks: no or gas valve clicks: no or blower relay clicks: no." in " ".join(capsys.readouterr().out.split())
    assert kept(session) == []


def test_a_verb_that_is_denied_answers_no_sign_that_its_words_only_begin(session: Session) -> None:
    desk(session, [*START, "cant turn it", "y", "120v at inducer plug, hums, cant turn it, potato", "y"])
    assert "power_reset_helps" not in {name for name, _ in kept(session)}
