"""Every failure that the rules know can be drilled: run the furnace, read something, name it, be right."""

from __future__ import annotations

import math

import pytest

from furnace_diag.diagnosis.records import Report
from furnace_diag.furnace.family import Family, Fault
from furnace_diag.training.acts import Act
from furnace_diag.training.bench import Bench
from furnace_diag.training.drill import Drill
from furnace_diag.training.lesson import Hidden, Lesson
from tests.ours import our_rules

KNOWLEDGE = our_rules()
FAMILIES = [Family(KNOWLEDGE, name) for name in KNOWLEDGE.furnace]
EVERY = [(family, fault) for family in FAMILIES for fault in family.faults]


def lesson_with(family: Family, *hidden: Hidden, options: dict[str, str] | None = None, site: dict[str, float] | None = None) -> Lesson:
    """A lesson that hides faults and tells nothing."""
    report = Report(family.furnace.furnace, "no heat", (), options or {})
    return Lesson("here", "here", "", report, hidden, site or {}, (), tuple(h.fault.part for h in hidden))


@pytest.mark.parametrize(("family", "fault"), EVERY, ids=[str(fault) for _, fault in EVERY])
def test_a_failure_can_be_drilled(family: Family, fault: Fault) -> None:
    drill = Drill(family, lesson_with(family, Hidden(fault, calls=(1,)), options=family.failure(fault).only_when))
    point = next(p for p in family.points if p.function == "ac_volts")

    assert drill.do(Act(do="call", what=family.sequence.heat_call.step)).kind == "done"
    assert drill.do(Act(do="wait", seconds=30)).kind == "done"
    told = drill.do(Act(do="read", what=point.point))
    assert told.kind == "reading"
    assert fault.part not in told.text.replace(" ", "_")
    assert math.isclose(drill.bench.now, drill.bench.call_at + 30, abs_tol=1)
    drill.do(Act(do="name", what=fault.part))
    assert drill.named == (fault.part,)
    assert {*drill.named} == {*drill.lesson.parts}


def test_a_good_furnace_heats() -> None:
    for family in FAMILIES:
        bench = Bench(family, lesson_with(family))
        bench.call(family.sequence.heat_call)
        bench.run_on(600)

        assert bench.step() == family.sequence.order[-1]
        assert bench.at_rest()
