"""What is no answer records nothing: a line that asks back, a guess, a figure of nothing, at every question that a visit puts."""

from __future__ import annotations

from pathlib import Path

import pytest

from furnace_diag.cli.visit_asked import asked
from furnace_diag.cli.visit_values import ask_for
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.visit.journal import Journal
from furnace_diag.visit.lines import Reader
from furnace_diag.visit.session import Session
from tests.visit.playing import FAULT, START, Play, desk

SAFE = START[1:8]
ASKS = ["?", "y?", "n?", "Y ?", "what", "what?", "huh", "none?", "hums??"]
NO_ANSWER = ["maybe", "idk", "yes no", "perhaps", "3", "w to c at board"]
# lines that bring a visit to each question of the start, in the order of the rules; what answers those before it
TO_QUESTION = {
    **{name: ["no heat", *SAFE[:n]] for n, name in enumerate(["smell_of_gas", "alarm", "people", "fire", "scorch", "water", "tingle"])},
    **{name: ["no heat", *SAFE, *"yyyy"[:n]] for n, name in enumerate(["life", "inducer", "glow", "burners", "blower"])},
    "stays_lit": ["burners light", *SAFE, ""],
    "hum": ["no heat", *SAFE, *"yyyyn"],
    "light": ["no heat", *SAFE, "nothing runs"],
}


def entries(session: Session) -> list[str]:
    return [session.record(e).said for e in session.visit.entries]


def played(tmp_path: Path, evidence: Evidence, reader: Reader, lines: list[str]) -> Session:
    session = Session(evidence.knowledge, evidence, Journal(tmp_path / f"{len(list(tmp_path.iterdir()))}.jsonl", new=True), evidence.family.furnace.furnace)
    session.reader = reader
    desk(session, lines)
    session.journal.close()
    return session


def test_a_line_for_every_question(evidence: Evidence) -> None:
    assert TO_QUESTION.keys() == evidence.knowledge.question.keys()


@pytest.mark.parametrize("question", TO_QUESTION)
def test_what_is_no_answer_to_a_question_of_the_start_records_nothing(
    question: str, tmp_path: Path, evidence: Evidence, reader_at_hand: Reader
) -> None:
    asked = evidence.knowledge.question[question]
    before = TO_QUESTION[question]
    standing = entries(played(tmp_path, evidence, reader_at_hand, before))
    for line in [*ASKS, *NO_ANSWER, *({"y", "n"} - {*asked.keys})]:
        assert entries(played(tmp_path, evidence, reader_at_hand, [*before, line])) == standing, line


@pytest.mark.parametrize("line", ASKS)
def test_asking_back_tells_the_question_and_puts_it_again(line: str, session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, ["no heat", line])
    said = " ".join(capsys.readouterr().out.split())
    asked = session.knowledge.question["smell_of_gas"]

    assert said.count(asked.asks) == 1  # the help stands below it
    assert f"{session.knowledge.sign[asked.sign].says}." in said
    assert not session.visit.asked


@pytest.mark.parametrize("line", [*ASKS, *NO_ANSWER[:4]])
def test_what_is_no_value_records_none(line: str, session: Session) -> None:
    made = desk(session, START)
    for kind, names in (("sign", session.knowledge.sign), ("point", session.knowledge.point)):
        for name in list(names)[::7]:
            made.prompt.asker.lines = iter([line, "", ""])  # type: ignore[attr-defined]
            ask_for(made, kind, name, {}, quiet=True)
    assert len(session.visit.entries) == len(SAFE)


def test_no_complaint_and_nothing_before_is_taken_from_asking_back(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, ["what?", "huh", "no heat", *SAFE, "", "", "", "", "", "?", "igniter no change?", "igniter no change", ""])
    assert session.visit.complaint == "no heat"
    assert entries(session)[len(SAFE) :] == ["igniter: no change"]
    assert "burners light then go out" in " ".join(capsys.readouterr().out.split())


def test_asking_back_does_not_agree(session: Session) -> None:
    """A reading that no furnace gives is asked about: "y?" does not keep it; nor does it choose, or answer about the meter."""
    desk(session, [*START, "igniter ohms 4000000", "y?", "", "quit"])
    desk(session, ["plug same as before", "line to neutral at board", "?", "", "quit"])
    assert len(session.visit.entries) == len(SAFE)
    assert session.visit.meter is None


def test_asking_back_finishes_no_repair_and_closes_nothing(tmp_path: Path, evidence: Evidence) -> None:
    play = Play(tmp_path / "v.jsonl", evidence)
    play.begin()
    play.prove()
    desk(play.session, ["mend", "done?", "", "close", "why is that?", "tired", "y?", ""])
    assert play.session.visit.proving is None
    assert "closed" not in [e.event for e in play.journal.events]
    play.journal.close()
    assert FAULT.part == "control_board"


def test_at_the_bare_prompt_what_ends_in_a_question_mark_is_not_kept(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*START, "igniter ohms OL?", "undo?", "y?", "quit"])
    said = " ".join(capsys.readouterr().out.split())

    assert len(session.visit.entries) == len(SAFE)
    assert "`if igniter ohms OL` shows what would follow" in said
    assert "undo: take back the last thing." in said


def test_what_asks_after_one_of_several_things_is_told_which_they_are(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    """And not what the screen asks for, which is another thing."""
    desk(session, [*START, "quit"])
    capsys.readouterr()
    desk(session, ["wheel spins free?", "quit"])
    said = " ".join(capsys.readouterr().out.split())

    reading, sign = asked(session), session.knowledge.sign
    assert reading is not None
    assert "turns_freely" not in reading.name
    for name in ("blower_turns_freely", "inducer_turns_freely"):
        assert f"{name.replace('_', ' ')}: {sign[name].says}" in said
    assert "Type what you find" not in said
    assert len(session.visit.entries) == len(SAFE)


@pytest.mark.parametrize("line", ["y", "no", "what is on the board", "igniter ohms 61", "hums", "how far it gets"])
def test_an_answer_asks_nothing_back(line: str, session: Session) -> None:
    assert not session.replies.asks_back(line)
