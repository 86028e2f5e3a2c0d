"""A closed visit made into a lesson holds the fault that was mended, and nobody's words, names or times."""

from __future__ import annotations

from pathlib import Path

import pytest

from furnace_diag.knowledge.models import Knowledge
from furnace_diag.knowledge.yaml_text import parse_yaml
from furnace_diag.problems import BadInput
from furnace_diag.training.from_visit import text_from_visit
from furnace_diag.training.lesson import understood
from furnace_diag.visit.journal import FORMAT, Journal

PRIVATE = ("Miller", "Elm Street", "555")  # invented
EVENTS: list[tuple[str, dict[str, object]]] = [
    ("opened", {"format": FORMAT, "family": "induced_draft_hsi_80", "rules_version": "x", "place": "12 Elm Street"}),
    ("complaint", {"text": "Mrs. Miller, 12 Elm Street, has no heat, call 555"}),
    ("option", {"option": "fan_call_tap", "value": "cool"}),
    ("record", {"record": {"history": "igniter", "value": "replaced_no_change", "note": "by Miller's brother"}}),
    ("record", {"record": {"event": "storm_or_outage"}}),
    ("record", {"record": {"sign": "burners_light", "value": "no"}}),
    ("note", {"text": "key under the mat, Elm Street"}),
    ("repair", {"part": "flame_rod", "failure": "filmed", "repair": "clean it"}),
    ("record", {"record": {"history": "gas_valve", "value": "replaced_no_change"}}),
    ("closed", {"as": "proved"}),
]


def written(path: Path, events: list[tuple[str, dict[str, object]]]) -> Path:
    journal = Journal(path, new=True)
    for event, says in events:
        journal.append(event, says)
    journal.close()
    return path


def test_a_visit_becomes_a_lesson_without_who_and_where(knowledge: Knowledge, tmp_path: Path) -> None:
    text = text_from_visit(written(tmp_path / "v.jsonl", EVENTS), knowledge)
    lesson = understood(parse_yaml(text, "made"), knowledge)

    assert [str(h.fault) for h in lesson.faults] == ["flame_rod:filmed"]
    assert lesson.report.options == {"fan_call_tap": "cool"}
    assert [(r.kind, r.name) for r in lesson.report.records] == [("history", "igniter"), ("event", "storm_or_outage")]  # not what came after the repair
    assert lesson.report.complaint
    assert not [word for word in PRIVATE if word in text]


@pytest.mark.parametrize(("left_out", "says"), [("closed", "is not closed"), ("repair", "nothing was mended")])
def test_a_visit_that_gives_no_lesson_is_told(knowledge: Knowledge, tmp_path: Path, left_out: str, says: str) -> None:
    events = [e for e in EVENTS if e[0] != left_out]

    with pytest.raises(BadInput, match=says):
        text_from_visit(written(tmp_path / "v.jsonl", events), knowledge)
