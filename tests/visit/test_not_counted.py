"""A reading that was given and does not count for a proof: the screen says once, and `proof` each time, what it lacks."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from furnace_diag.diagnosis.evidence import Evidence
from tests.visit.playing import PROOF, Play, desk

POINT = "heat_terminal_to_neutral"
# what is changed of the reading that meets the proof, and the word for it that must be told
LACKS: list[tuple[dict[str, Any], str]] = [
    ({"step": None}, "at which step"), ({"meter": None}, "with which meter"),
    ({"contact": None}, "on which contact"), ({"set_up": None}, "with load connected"),
    ({"after_s": None}, "how many seconds"), ({"meter": "high"}, "another meter is wanted"),
    ({"meter": "high", "contact": None, "set_up": None}, "another meter is wanted, and say on which contact, whether with load connected"),
]  # fmt: skip


def shown(tmp_path: Path, evidence: Evidence, change: dict[str, Any], capsys: pytest.CaptureFixture[str], *lines: str) -> str:
    """What the screen tells with the example of the proof kept, but for its reading, which is changed."""
    play = Play(tmp_path / "v.jsonl", evidence)
    play.begin()
    for entry in evidence.knowledge.proof[PROOF].holds:
        changed = {**entry, **change} if entry.get("point") == POINT else entry
        if entry.get("sign") != "plugs_refitted":
            play.take({k: v for k, v in changed.items() if v is not None} | {"call": "1"})
    desk(play.session, ["s", "note begun", *lines], width=2000)  # the motor is silent: the question that is open still
    play.journal.close()
    return capsys.readouterr().out


@pytest.mark.parametrize(("change", "lacks"), LACKS)
def test_what_a_reading_lacks_is_told(change: dict[str, Any], lacks: str, tmp_path: Path, evidence: Evidence, capsys: pytest.CaptureFixture[str]) -> None:
    said = shown(tmp_path, evidence, change, capsys, "proof")
    screen, _, checklist = said.partition("Noted.")
    for told in (screen, checklist):
        lines = [line for line in told.splitlines() if "you gave heat terminal to neutral" in line]
        assert [lacks in line for line in lines] == [True], told


def test_a_reading_that_counts_lacks_nothing(tmp_path: Path, evidence: Evidence, capsys: pytest.CaptureFixture[str]) -> None:
    assert "you gave heat terminal" not in shown(tmp_path, evidence, {}, capsys, "proof", "show")


def test_the_screen_tells_it_once(tmp_path: Path, evidence: Evidence, capsys: pytest.CaptureFixture[str]) -> None:
    said = shown(tmp_path, evidence, {"set_up": None}, capsys, "24v at w 25 at heating")
    assert said.count("Not in the proof yet: you gave heat terminal") == 1
