"""The instructor's page: what the lesson says its answer must rest on, no heading of nothing, and cautions of the readings that stand there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.findings import Found
from furnace_diag.diagnosis.one_record import record_of
from furnace_diag.diagnosis.records import Record
from furnace_diag.diagnosis.vocabulary import Vocabulary
from furnace_diag.knowledge.models import Knowledge
from furnace_diag.problems import Place
from furnace_diag.report.training import check_lines, sheet_lines
from furnace_diag.training.lesson import read_lesson
from furnace_diag.training.policy import Checked, check, shortest_proof

LESSON = Path(__file__).resolve().parents[2] / "cases" / "lessons" / "cold_monday.yaml"


@cache
def checked_lesson(evidence: Evidence) -> tuple[Checked, Sequence[Record]]:
    lesson = read_lesson(LESSON, evidence.family.knowledge)
    checked = check(evidence, lesson)
    return checked, shortest_proof(evidence, lesson, checked.visit)


def page(evidence: Evidence, proof: Sequence[Record] | None = None) -> list[str]:
    checked, found = checked_lesson(evidence)
    return list(sheet_lines(checked, found if proof is None else proof, evidence.family.knowledge, 500))


def cautions_on(lines: list[str], knowledge: Knowledge) -> set[str]:
    return {c.caution for c in knowledge.caution.values() if any(c.says in line for line in lines)}


def test_what_a_right_answer_must_rest_on_is_printed(evidence: Evidence) -> None:
    lines = page(evidence)
    lesson = checked_lesson(evidence)[0].lesson

    assert lesson.readings == ("igniter_ohms",)
    start = next(i for i, line in enumerate(lines) if "must rest on" in line)
    assert evidence.family.knowledge.point["igniter_ohms"].says in lines[start + 1]


@pytest.mark.parametrize("empty", [True, False])
def test_no_heading_stands_over_nothing(evidence: Evidence, empty: bool) -> None:
    lines = page(evidence, [] if empty else None)
    headings = [(line, after) for line, after in zip(lines, [*lines[1:], ""], strict=True) if line.endswith(":")]

    assert headings
    assert all(after.startswith(" ") for _, after in headings), headings


def test_cautions_are_those_of_the_readings_that_stand_there(evidence: Evidence) -> None:
    """A page whose one reading is ohms warns of no live 24 V; that the power is off first is what an ohmmeter wants."""
    k = evidence.family.knowledge
    found = cautions_on(page(evidence, [_ohms(evidence)]), k)

    assert "dead_first" in found
    assert found <= {*k.point["igniter_ohms"].cautions}
    assert cautions_on(page(evidence, []), k) == set()


def _ohms(evidence: Evidence) -> Record:
    k = evidence.family.knowledge
    raw = {"point": "igniter_ohms", "value": "OL", "step": "power_off"}
    return record_of(raw, Place("here", 1, 1), Vocabulary(k, evidence.family.furnace.furnace))


def test_a_hazard_that_ends_the_tools_own_visit_is_told_with_one_full_stop(evidence: Evidence) -> None:
    """What a hazard says has its own."""
    checked = checked_lesson(evidence)[0]
    hazard = next(iter(evidence.knowledge.hazard.values()))
    found = Found(hazard.hazard, hazard.says, {}, (), "", "")
    stopped = replace(checked, visit=replace(checked.visit, ended="hazard", answer=checked.visit.answer._replace(hazards=(found,))))
    (said,) = [line for line in check_lines(stopped, 500) if "stops at a hazard" in line]
    assert said.endswith(f"{hazard.says.rstrip('.')}.")
    assert ".." not in said


def test_a_reading_of_the_answer_that_shows_nothing_of_the_fault_is_told(evidence: Evidence) -> None:
    """Without a flame the air is never warmed in a call; gas comes as it should; an open igniter reads OL."""
    lesson = replace(checked_lesson(evidence)[0].lesson, readings=("igniter_ohms", "manifold_pressure", "temperature_rise", "burners_light"))
    said = [line.split(":")[0] for line in check_lines(check(evidence, lesson), 500) if "The answer asks for" in line]
    assert said == ["  The answer asks for manifold pressure", "  The answer asks for temperature rise"]
    assert not [line for line in check_lines(checked_lesson(evidence)[0], 500) if "The answer asks for" in line]
