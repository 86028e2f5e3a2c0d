"""What is typed beside the words that a question waits for is understood, or answered with a way on."""

from __future__ import annotations

import pytest

from furnace_diag.cli.visit_values import ask_for, ask_meter
from furnace_diag.visit.complaint import sides_of
from furnace_diag.visit.session import Session
from tests.visit.playing import START, Script, desk


def records(session: Session) -> dict[str, str]:
    """Name and value of every entry after the start."""
    made = [session.record(e) for e in session.visit.entries if "question" not in session.journal.events[e.event - 1].says]
    return {r.name: r.word or r.said.rpartition(": ")[2] for r in made}


@pytest.mark.parametrize(
    "line",
    ["24 going in to ps none out", "ps 24 in 0 out", "24v going into ps and nothing coming out", "i got 24 in and 0 out on the pressure switch",
     "ps has 24 in but no power out"],
)  # fmt: skip
def test_both_sides_told_on_one_line_are_two_readings(session: Session, line: str) -> None:
    desk(session, [*START, line, "quit"])
    assert records(session) == {"pressure_switch_feed_to_c": "24", "pressure_switch_out_to_c": "0"}


def test_both_sides_are_heard_where_one_is_asked_for(session: Session) -> None:
    at = desk(session, START)
    at.prompt.asker = Script(["limit 26 in 0.2 out"])
    assert ask_for(at, "point", "limit_out_to_c", {})
    assert records(session) == {"limit_feed_to_c": "26", "limit_out_to_c": "0.2"}


@pytest.mark.parametrize(
    ("line", "kept"),
    [
        ("ps closed 25 at board", {"pressure_switch_contact": "closed", "pressure_switch_return_to_c": "25"}),
        ("ps open 0v at board", {"pressure_switch_contact": "open", "pressure_switch_return_to_c": "0v"}),
        ("igniter cracked 119 at plug", {"igniter_looks": "broken", "igniter_volts_at_plug": "119"}),
    ],
)
def test_how_a_part_stands_and_what_is_read_at_a_place_of_it_are_two_records(session: Session, line: str, kept: dict[str, str]) -> None:
    desk(session, [*START, line, "quit"])
    assert records(session) == kept


def test_how_another_thing_stands_may_be_told_behind_both_sides(session: Session) -> None:
    desk(session, [*START, "ps 24 in 0 out inducer running", "limit 24 in 0 out when burners drop out", "quit"])
    got = records(session)
    assert got | {"inducer_runs": "yes"} == {
        "pressure_switch_feed_to_c": "24", "pressure_switch_out_to_c": "0", "inducer_runs": "yes", "limit_feed_to_c": "24", "limit_out_to_c": "0",
    }  # fmt: skip
    assert got["inducer_runs"] == "yes"
    assert [r.note for r in map(session.record, session.visit.entries) if r.name == "limit_out_to_c"] == ["when burners drop out"]


@pytest.mark.parametrize("line", ["24 in ps", "24 in 24 in ps", "no flame out of burners 24 in", "0 out"])
def test_one_side_or_anything_else_is_no_pair(line: str) -> None:
    assert sides_of(line) == [] or not sides_of(line)[0].startswith("ps")


@pytest.mark.parametrize("said", ["it dont go out", "it doesn't go out", "never goes out", "stays lit"])
def test_a_flame_that_does_not_go_out_answers_how_long_it_held(session: Session, said: str) -> None:
    at = desk(session, START)
    at.prompt.asker = Script([said])
    assert ask_for(at, "point", "seconds_of_flame", {"step": "ignition_trial"})
    assert records(session) == {"flame_goes_out": "no"}


def test_never_to_a_time_is_asked_about_because_the_call_may_not_get_there_either(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    at = desk(session, START)
    for choice, kept, unreached in (("", {}, set()), ("2", {}, {"ignition_trial"}), ("1", {"flame_goes_out": "no"}, {"ignition_trial"})):
        at.prompt.asker = Script(["never", choice, ""])
        ask_for(at, "point", "seconds_of_flame", {"step": "ignition_trial"})
        assert records(session) == kept
        assert session.visit.unreached == unreached
    assert "2. the call never gets to ignition trial" in " ".join(capsys.readouterr().out.split())


@pytest.mark.parametrize(
    ("sign", "said", "value"), [("inducer_runs", "nope", "no"), ("flame_seen", "nah", "no"), ("igniter_glows", "yep", "yes"), ("gas_smell", "nope", "none")]
)
def test_a_plain_yes_or_no_in_any_word_answers_what_is_asked_for(session: Session, sign: str, said: str, value: str) -> None:
    at = desk(session, START)
    at.prompt.asker = Script([said])
    assert ask_for(at, "sign", sign, {})
    last = session.record(session.visit.entries[-1])
    assert (last.name, last.word) == (sign, value)


def test_a_yes_to_nothing_says_what_to_do(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*START, "w 25 at heating", "burners light stay lit", "blower runs no at heating", "nope"])
    assert "nope to what? Enter asks for what is wanted" in " ".join(capsys.readouterr().out.split())


def test_the_question_about_the_meter_is_put_again_after_a_reading_typed_there(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    at = desk(session, START)
    capsys.readouterr()
    at.prompt.asker = Script(["inducer runs", "119", "o"])
    ask = "does your meter read volts in its"
    assert ask_meter(at, "point", "line_to_neutral_at_board") == ("119", "")
    assert " ".join(capsys.readouterr().out.split()).count(ask) == 3
    assert records(session)["inducer_runs"] == "yes"
    assert session.visit.meter == "high"


def test_a_call_that_never_stops_burns_on(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    """At the question how far a call gets, "never" is no answer that leads on, and the word that is one is told."""
    desk(session, [*START, "stops at", "never"])
    before = len(session.visit.entries)
    capsys.readouterr()
    made = desk(session, [])
    made.never_there("stops_at", None)
    assert "say heating" in " ".join(capsys.readouterr().out.split())
    assert len(session.visit.entries) == before
    assert not session.visit.never


def test_no_step_is_offered_that_the_call_does_not_get_to(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    """A call that stops while it waits for draft has no draft in the warm-up, and nobody is led to write one down."""
    desk(session, [*START, "stops at inducer start", "inducer runs at inducer start"])
    capsys.readouterr()
    desk(session, ["draft .1"])
    said = " ".join(capsys.readouterr().out.split())
    assert f"fix {session.visit.entries[-1].number} .1 at inducer start" in said
    assert ".1 at igniter warm up" not in said
