"""What a customer is made to say is what the furnace does, and a lesson whose complaint says otherwise is told so."""

from __future__ import annotations

import pytest

from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.furnace.family import Family
from furnace_diag.knowledge.models import Knowledge
from furnace_diag.knowledge.yaml_text import parse_yaml
from furnace_diag.training.draw import OTHERWISE, SAYS, drawn_text, said_of
from furnace_diag.training.lesson import Lesson, understood
from furnace_diag.training.policy import Album, denied, said_in_complaint, seen_otherwise

IDLE, NO_FLAME, NO_AIR = SAYS["whole_furnace", "idle"], SAYS["burners", "never_light"], SAYS["blower_in_heat", "never"]


def lesson_of(fault: str, complaint: str, knowledge: Knowledge) -> Lesson:
    text = f'complaint: {complaint}\nrecords: []\nhidden: {{faults: [{{fault: "{fault}"}}]}}\nanswer: {{parts: [{fault.partition(":")[0]}]}}\n'
    return understood(parse_yaml(text, "lesson.yaml"), knowledge)


# by what each failure takes away: an igniter comes after the inducer, a blower's relay after the flame; without a call nothing runs
@pytest.mark.parametrize(
    ("fault", "says"),
    [
        ("igniter:open", NO_FLAME), ("pressure_hose:off_or_cracked", NO_FLAME), ("gas_valve:will_not_open", NO_FLAME), ("thermostat:no_call", IDLE),
        ("control_board:heat_relay_will_not_close", NO_AIR), ("transformer:primary_open", SAYS["whole_furnace", "dead"]), ("blower_capacitor:weak", OTHERWISE),
    ],
)  # fmt: skip
def test_a_customer_says_what_the_furnace_does(fault: str, says: str, family: Family, knowledge: Knowledge) -> None:
    lesson = lesson_of(fault, "no heat", knowledge)
    assert said_of(Album(family, lesson, list(lesson.faults))) == says


@pytest.mark.parametrize("seed", range(6))
def test_what_is_said_in_a_drawn_lesson_is_borne_out(seed: int, family: Family, knowledge: Knowledge, evidence: Evidence) -> None:
    lesson = understood(parse_yaml(drawn_text(family, list(knowledge.part), seed), "drawn"), knowledge)
    assert list(denied(Album(family, lesson, list(lesson.faults)), lesson, said_in_complaint(lesson, evidence.vocabulary))) == []


@pytest.mark.parametrize(
    ("fault", "complaint", "not_so"),
    [
        ("control_board:heat_relay_will_not_close", "the inducer does not run", "inducer_runs"),
        ("igniter:open", "inducer runs and burners stay lit", "burners_light"),
        ("control_board:heat_relay_will_not_close", "inducer runs, burners stay lit, blower does not start", None),
        ("igniter:open", "the inducer runs but the burners do not light", None),
    ],
)  # fmt: skip
def test_a_complaint_that_the_furnace_does_not_bear_out_is_told(
    fault: str, complaint: str, not_so: str | None, family: Family, knowledge: Knowledge, evidence: Evidence
) -> None:
    lesson = lesson_of(fault, complaint, knowledge)
    said = said_in_complaint(lesson, evidence.vocabulary)
    found = list(denied(Album(family, lesson, list(lesson.faults)), lesson, said))
    assert said
    assert [not_so is not None and not_so in line for line in found] == ([] if not_so is None else [True])


@pytest.mark.parametrize("seed", [52, 59, 63])  # of which the first fault that is drawn shows on a meter alone
def test_a_fault_that_only_a_meter_shows_is_not_drawn_where_another_is_seen(seed: int, family: Family, knowledge: Knowledge) -> None:
    """Nobody calls for a furnace on which nothing is to be seen or heard, such as one with a trace of resistance in a wire."""
    text = drawn_text(family, ["inducer_harness"], seed)
    lesson = understood(parse_yaml(text, "lesson.yaml"), knowledge)
    album = Album(family, lesson, [*lesson.faults])
    assert next(seen_otherwise(album), None) is not None
