"""A reading that all hangs on is asked for once more in another heat call: what was misread once hardly is in two, and a proof wants two calls anyway."""

from __future__ import annotations

import pytest

from furnace_diag.diagnosis.answer import Answer, answer
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.report_file import understand
from furnace_diag.knowledge.yaml_text import parse_yaml

GOES_OUT = (
    "{sign: whole_furnace, value: does_something}", "{sign: inducer_runs, value: yes}", "{sign: igniter_glows, value: yes}",
    "{sign: burners_light, value: yes}", "{sign: flame_goes_out, value: within_seconds}", "{sign: stops_at, value: ignition_trial}",
    "{sign: flame_rod_looks, value: clean}", "{sign: flame_rod_is, value: in_flame}", "{sign: fault_comes_and_goes, value: no}",
    "{point: line_to_chassis_at_board, value: 121.8, step: standby}", "{point: rod_wire_end_to_end_ohms, value: 0.15}",
    "{point: burner_to_ground_ohms, value: 0.12}",
)  # fmt: skip
CURRENT = "{point: flame_current, value: 4.7, step: ignition_trial}"
ASKED = ("flame_current", "ignition_trial")


def told(evidence: Evidence, *records: str, never: tuple[tuple[str, str | None], ...] = ()) -> Answer:
    text = "complaint: no heat\nrecords:\n" + "".join(f"  - {r}\n" for r in records)
    return answer(understand(parse_yaml(text, "report.yaml"), evidence.knowledge, evidence.vocabulary), evidence, never=frozenset(never))


def asked(found: Answer) -> dict[tuple[str, str | None], int | None]:
    return {(n.name, n.step): n.call for n in found.next}


def test_what_a_good_flame_current_hangs_on_is_read_in_the_next_call(evidence: Evidence) -> None:
    """A flame that carries its current and is cut off speaks for the board alone, if the current was read right; the same in two calls is worth more."""
    once = told(evidence, *GOES_OUT, CURRENT)
    twice = told(evidence, *GOES_OUT, CURRENT, CURRENT.replace("}", ", call: 2}"))

    assert asked(once)[ASKED] == 2
    assert ASKED not in asked(twice)
    assert twice.board.probability > once.board.probability


def test_its_outcomes_are_believed_as_if_it_had_been_read_so(evidence: Evidence) -> None:
    """What is told of an outcome is what `rank` then tells, with the record made."""
    reading = next(n for n in told(evidence, *GOES_OUT, CURRENT).next if (n.name, n.step) == ASKED)
    outcome = next(o for o in reading.outcomes if o.shows.startswith("0"))
    least, most = (float(end.split()[0]) for end in outcome.shows.split(" to "))
    dead = told(evidence, *GOES_OUT, CURRENT, f"{{point: flame_current, value: {(least + most) / 2:.3g}, step: ignition_trial, call: 2}}")

    assert outcome.then == f"{dead.parts[0].part}:{dead.parts[0].failures[0].failure}"
    assert outcome.then_probability == pytest.approx(dead.parts[0].failures[0].probability, abs=0.1)  # a figure stands for a range


@pytest.mark.parametrize(("record", "never"), [(CURRENT.replace("}", ", sure: yes}"), ()), (CURRENT, (ASKED,))])
def test_nothing_is_asked_for_once_more_that_was_looked_at_twice_or_is_not_to_be_had(
    evidence: Evidence, record: str, never: tuple[tuple[str, str], ...]
) -> None:
    assert ASKED not in asked(told(evidence, *GOES_OUT, record, never=never))


def test_a_call_that_goes_on_already_is_the_one_to_read_it_in(evidence: Evidence) -> None:
    later = "{sign: inducer_runs, value: yes, call: 2}"
    assert asked(told(evidence, *GOES_OUT, CURRENT, later)).get(ASKED, 2) == 2
