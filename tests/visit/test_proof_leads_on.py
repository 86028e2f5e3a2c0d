"""Below the checklist of a proof it stands what Enter takes, for the screen that told it is gone."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from furnace_diag.diagnosis.evidence import Evidence
from tests.visit.playing import READ, Play, desk


@pytest.fixture
def play(tmp_path: Path, evidence: Evidence) -> Iterator[Play]:
    played = Play(tmp_path / "v.jsonl", evidence)
    played.begin()
    yield played
    played.journal.close()


def told(play: Play, capsys: pytest.CaptureFixture[str], *lines: str) -> str:
    capsys.readouterr()
    desk(play.session, ["s", "note begun", *lines], width=2000)  # the motor is silent: the question that is open still
    return capsys.readouterr().out.partition("Noted.")[2]


def test_of_a_proof_under_way_the_first_thing_it_lacks(play: Play, capsys: pytest.CaptureFixture[str]) -> None:
    for point in (*READ, ("across_heat_output", "heating", "low")):
        play.read(*point)
    act = play.session.answer().act
    assert act is not None
    assert act.needs_proof
    said = told(play, capsys, "proof", "")
    head, _, asked = said.partition("NEXT (Enter): line to neutral at board.")
    assert "[ ] line to neutral at board" in head
    assert asked.lstrip().startswith("For the proof:")


def test_of_one_before_which_something_else_is_asked_for_that(play: Play, capsys: pytest.CaptureFixture[str]) -> None:
    for point in READ:
        play.read(*point)
    said = told(play, capsys, "proof")
    assert "[ ] line to neutral at board" in said
    wanted = play.session.answer().next[0].name.replace("_", " ")
    assert said.rstrip().splitlines()[-2] == f"NEXT (Enter): {wanted}."  # before where the visit is kept


def test_of_one_that_is_met_the_repair(play: Play, capsys: pytest.CaptureFixture[str]) -> None:
    play.prove()
    assert "NEXT (Enter): how the board is changed, once what killed it is found." in told(play, capsys, "proof")


def test_what_is_wanted_and_in_how_many_calls_are_two_sentences(play: Play, capsys: pytest.CaptureFixture[str]) -> None:
    for point in READ:
        play.read(*point)
    said = told(play, capsys, "proof")
    assert ": under 10 V. 2 such calls wanted." in said
    assert "yes 2 such" not in said
