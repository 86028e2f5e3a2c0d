"""What a part reads by itself tells of that part alone: which capacitor a furnace has says nothing of its flame. Laws of chance."""

from __future__ import annotations

import pytest

from furnace_diag.diagnosis.answer import weighed
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.records import Report
from furnace_diag.diagnosis.report_file import understand
from furnace_diag.knowledge.yaml_text import parse_yaml

DROPS_OUT = (
    "{sign: burners_light, value: drop_out}, {sign: flame_goes_out, value: within_seconds}, "
    "{point: flame_current, value: 2.36 uA, step: ignition_trial}, {sign: flame_rod_looks, value: clean}"
)
ROD, BOARD = "flame_rod:filmed", "control_board:flame_circuit_dead"
NO_MORE = 0.05  # share by which the odds of two failures may move: a figure between two kinds of part is a little odder with either


def report_of(evidence: Evidence, records: str) -> Report:
    return understand(parse_yaml(f"records: [{records}]", "report.yaml"), evidence.knowledge, evidence.vocabulary)


def odds(evidence: Evidence, *more: str) -> float:
    """Of a filmed rod against a board that sees no flame."""
    belief = weighed(report_of(evidence, ", ".join((DROPS_OUT, *more))), evidence).belief
    return belief[ROD] / belief[BOARD]


@pytest.mark.parametrize(
    "figure",
    [
        "{point: capacitor_microfarads, value: 5.0 uF}", "{point: capacitor_microfarads, value: 7.4 uF}", "{point: capacitor_microfarads, value: 9.98 uF}",
        "{point: igniter_ohms, value: 18 ohm}", "{point: igniter_ohms, value: 50 ohm}", "{point: gas_valve_coil_ohms, value: 45 ohm}",
        "{point: inducer_winding_ohms, value: 12 ohm}",
    ],
)  # fmt: skip
def test_which_part_a_furnace_has_leaves_the_odds_of_two_others_as_they_were(evidence: Evidence, figure: str) -> None:
    before = odds(evidence)
    assert abs(odds(evidence, figure) / before - 1) < NO_MORE


@pytest.mark.parametrize(
    ("figure", "failure"),
    [
        ("{point: igniter_ohms, value: OL}", "igniter:open"), ("{point: capacitor_microfarads, value: 1.1 uF}", "blower_capacitor:weak"),
        ("{point: gas_valve_coil_ohms, value: OL}", "gas_valve:coil_open"), ("{point: inducer_winding_ohms, value: OL}", "inducer:winding_open"),
    ],
)  # fmt: skip
def test_a_part_that_reads_as_no_good_one_does_is_believed_in_for_it(evidence: Evidence, figure: str, failure: str) -> None:
    belief = weighed(report_of(evidence, figure), evidence).belief
    assert belief[failure] == max(belief.values())


def test_a_short_among_the_wires_is_not_lost_where_the_coil_reads_whole(evidence: Evidence) -> None:
    """The wires' short is told of both, oftener of the cable; that the coil reads as any good one is no reason to take the short for a good furnace's."""
    cable, coil = "thermostat_cable:w_shorted", "gas_valve:coil_shorted"
    told = "{sign: fuse_looks, value: blown}, {sign: fuse_blows_again, value: on_heat}, {point: gas_valve_coil_ohms, value: 60 ohm}"
    before, after = (weighed(report_of(evidence, told + more), evidence).belief for more in ("", ", {sign: field_wires_are, value: shorted}"))
    assert after[cable] / after[coil] >= (1 - NO_MORE) * before[cable] / before[coil]
    assert after[cable] == max(after.values())
