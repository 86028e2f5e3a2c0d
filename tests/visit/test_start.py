"""The questions of the start: a line typed in place of a key is heard, and the question is put again."""

from __future__ import annotations

import pytest

from furnace_diag.visit.session import Session
from tests.visit.playing import START, desk

SAFE = START[1:8]


def told(session: Session) -> dict[str, str | None]:
    return {r.name: r.word for r in map(session.record, session.visit.entries)}


@pytest.mark.parametrize("line", ["intermittent no heat", "no heat sometimes", "sometimes no heat", "no flame at times", "heat sometimes"])
def test_what_comes_and_goes_is_not_read_as_a_fault_that_stays(session: Session, line: str) -> None:
    desk(session, ["no heat", line, *SAFE, "", "", "", "", "", ""])
    assert told(session)["fault_comes_and_goes"] == "yes"
    assert session.open_safety() == []  # the question it was typed at was put again


def test_a_record_typed_at_a_question_is_kept_and_a_slip_only_tells_the_keys(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, ["no heat", "igniter ohms OL", "potato", *SAFE, "y", "inducer hmus", "", ""])
    assert session.open_safety() == []
    assert told(session)["inducer_runs"] == "hums"
    assert "igniter_ohms" in told(session)
    said = " ".join(capsys.readouterr().out.split())
    assert said.count("Is there a smell of gas?") == 3
    assert "potato is none of: n none" in said


def test_a_hazard_typed_at_a_question_stops_the_questions(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, ["no heat", "carbon monoxide alarm sounding", ""])
    said = capsys.readouterr().out
    assert "STOP." in said
    assert "Does anybody" not in said


def test_a_question_mark_explains_the_question_and_leaves_it_standing(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, ["no heat", "?", *SAFE, "", "", "", "", "", ""])
    assert session.open_safety() == []
    assert session.knowledge.sign["gas_smell"].says in " ".join(capsys.readouterr().out.split())


def test_lock_out_leads_to_how_far_the_call_gets(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    """A lock-out follows the trials: it says that they failed, not where. So it is asked for."""
    step = next(s for s in session.evidence.family.sequence.steps if s.step == "lockout")
    desk(session, ["no heat", *SAFE, "it locks out", "", "", "", "", "", ""])
    assert step.says in " ".join(capsys.readouterr().out.split())
    desk(session, ["it locks out", "lockout", "ignition trial"])
    assert told(session)["stops_at"] == "ignition_trial"


@pytest.mark.parametrize("no", ["none", "nope", "no", "nah", "nothing"])
def test_a_plain_no_answers_every_question_on_safety(session: Session, no: str) -> None:
    desk(session, ["no heat", *[no] * len(SAFE), "", "", "", "", "", ""])
    assert session.open_safety() == []
    assert session.hazards() == ()


@pytest.mark.parametrize("nothing", ["n", "no", "none", "nothing", "dont know", "dunno"])
def test_nothing_happened_before_ends_that_question(session: Session, nothing: str, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, ["no heat", *SAFE, "", "", "", "", "", nothing])
    assert "names nothing" not in capsys.readouterr().out
    assert set(told(session)) == set(told(session)) & {q.sign for q in session.knowledge.question.values()}


def test_a_complaint_taken_back_among_the_questions_is_asked_for_again_and_nothing_is_ranked_before_them(
    session: Session, capsys: pytest.CaptureFixture[str]
) -> None:
    desk(session, ["no heta", "undo", *SAFE, "", "", "", "", "", "no heat", "", ""])
    before_the_first_answer = capsys.readouterr().out.partition("Taken back")[2].partition("(")[0]
    assert session.visit.complaint == "no heat"
    assert "NEXT" not in before_the_first_answer
    assert "%" not in before_the_first_answer
