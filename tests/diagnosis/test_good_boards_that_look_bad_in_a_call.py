"""Good boards whose outputs go dead, or whose next step stays away, for what comes about in the course of a call: nobody may prove them bad by it.

Common practice, no source: a breaker that trips as the load comes on takes every output with it; a pressure switch that closes late has 24 V behind it
before the board has had its pre-purge.
"""

from __future__ import annotations

import pytest

from furnace_diag.diagnosis.answer import answer
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.report_file import understand
from furnace_diag.knowledge.yaml_text import parse_yaml

SAID_OF_ALL = """
- {sign: inputs_recorded_good, value: "yes"}
- {sign: joint_seen_burnt_or_cracked, value: "yes"}
- {sign: meter_tried_on_live_point, value: "yes"}
- {sign: settings_as_diagram, value: "yes"}
"""
INDUCER_DROPS = """
- {point: line_to_neutral_at_board, value: 120.7 V, step: call, contact: pin}
- {point: inducer_pin_to_neutral, value: 0.1 V, step: STEP, meter: low, contact: pin, hold: min, set_up: [load_on]}
"""
LINE_HOLDS = """
- {point: line_to_neutral_at_board, value: 118 V, step: STEP, contact: pin, hold: min}
"""
DRAFT_SEEN = """
- {point: line_to_neutral_at_board, value: 120.9 V, step: call, contact: pin}
- {point: r_to_c_at_board, value: 26.3 V, step: call, contact: pin}
- {point: pressure_switch_return_to_c, value: 0.2 V, step: standby}
- {sign: inducer_runs, value: "yes", step: inducer_start}
- {point: pressure_switch_return_to_c, value: 26.1 V, step: inducer_start, contact: pin, after_s: 95}
- {point: pressure_switch_feed_to_c, value: 26.9 V, step: inducer_start}
- {point: gas_pin_to_c, value: 0.02 V, step: inducer_start, meter: low, contact: pin, hold: max, after_s: 95}
- {point: igniter_pin_to_neutral, value: 0.5 V, step: inducer_start, meter: low, contact: pin, set_up: [load_on]}
- {sign: rollout_contact, value: closed}
- {sign: fresh_call, value: "yes"}
- {sign: plugs_refitted, value: still_the_same}
- {sign: meter_tried_on_live_point, value: "yes"}
- {sign: settings_as_diagram, value: "yes"}
"""


def verdict(evidence: Evidence, text: str, calls: int) -> str:
    lines = [line for line in text.splitlines() if line]
    every = "\n".join(line.replace("}", f", call: {call}}}") for call in range(1, calls + 1) for line in lines)
    report = understand(parse_yaml(f"records:\n{every}", "r.yaml"), evidence.knowledge, evidence.vocabulary)
    return answer(report, evidence).board.verdict


@pytest.mark.parametrize("step", ["igniter_warm_up", "heating"])
def test_a_breaker_that_trips_takes_the_inducer_output_with_it(evidence: Evidence, step: str) -> None:
    """The board is at fault only if the line holds at its pins in the step in which the output goes."""
    text = INDUCER_DROPS.replace("STEP", step) + SAID_OF_ALL

    assert verdict(evidence, text, 3) != "proved_bad"
    assert verdict(evidence, text + LINE_HOLDS.replace("STEP", step), 3) == "proved_bad"
    assert verdict(evidence, text + LINE_HOLDS.replace("STEP", step).replace("118 V", "0.4 V"), 3) != "proved_bad"


def test_a_switch_that_closes_late_is_no_dead_input(evidence: Evidence) -> None:
    def after(seconds: str) -> str:
        return verdict(evidence, DRAFT_SEEN + f"- {{point: seconds_to_draft, value: {seconds}, step: inducer_start}}", 2)

    assert verdict(evidence, DRAFT_SEEN, 2) != "proved_bad"
    assert after("3 s") == "proved_bad"
    assert after("85 s") != "proved_bad"
