"""What is told in another order, and of a furnace of which much is known, is believed as it was."""

from __future__ import annotations

from itertools import permutations

import numpy as np
import pytest

from furnace_diag.diagnosis.answer import weighed
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.report_file import understand
from furnace_diag.diagnosis.weigh import ENOUGH, UNFIT, known_options
from furnace_diag.knowledge.yaml_text import parse_yaml

DROPS_OUT, IN_SECONDS = "{sign: burners_light, value: drop_out}", "{point: seconds_of_flame, value: 7 s}"
WITHIN = "{sign: flame_goes_out, value: within_seconds}"
WHEEL = (
    "{sign: air_at_registers, value: none, step: heating}, {sign: blower_runs, value: yes, step: heating}, "
    "{sign: filter_looks, value: clean}, {sign: blower_wheel_grips, value: slips, step: power_off}"
)


def belief(evidence: Evidence, records: str, options: str = "") -> dict[str, float]:
    text = f"furnace: {{family: {evidence.family.furnace.furnace}, options: {{{options}}}}}\nrecords: [{records}]"
    return dict(weighed(understand(parse_yaml(text, "report.yaml"), evidence.knowledge, evidence.vocabulary), evidence).belief)


def test_the_order_of_records_is_nothing_to_belief(evidence: Evidence) -> None:
    """One of them restates the two others, which do not restate one another."""
    first, *others = (belief(evidence, ", ".join(told)) for told in permutations((DROPS_OUT, IN_SECONDS, WITHIN)))
    for other in others:
        assert other == pytest.approx(first, abs=1e-12)


def test_groups_stand_in_the_order_in_which_they_were_told(evidence: Evidence) -> None:
    report = understand(parse_yaml(f"records: [{WITHIN}, {DROPS_OUT}, {IN_SECONDS}]", "report.yaml"), evidence.knowledge, evidence.vocabulary)
    groups = [[r.name for r in records] for records, _ in weighed(report, evidence).groups]
    assert sorted(name for group in groups for name in group) == ["burners_light", "flame_goes_out", "seconds_of_flame"]
    assert len(groups) == 2
    assert groups[0][0] == "flame_goes_out"


@pytest.mark.parametrize("options", ["lockout_reset: power, igniter_warm_up_time: 45", "lockout_reset: power, blower_off_delay: 180, fan_call_tap: cool"])
def test_what_is_known_of_a_furnace_and_is_not_to_the_point_leaves_the_right_part_first(evidence: Evidence, options: str) -> None:
    """A wheel that slips on its shaft: how the board resets and how long it waits is nothing to it."""
    by_part = belief(evidence, WHEEL, options)
    assert by_part["blower_wheel:loose"] > 0.5


def test_however_much_is_known_a_quarter_of_the_sites_counts(evidence: Evidence) -> None:
    population = evidence.population
    site = int(population.site_of[0])
    row = int(np.flatnonzero((population.site_of == site) & (population.fault_of < 0))[0])
    known: dict[str, int] = {}
    for option, values in population.options.items():
        known[option] = int(values[row])
        weight = known_options(population, known)[population.fault_of < 0]
        counting = weight.sum() ** 2 / (weight**2).sum()
        assert counting >= ENOUGH * len(weight) * (1 - 1e-6)
        assert weight.max() == 1


def test_one_common_option_leaves_out_the_furnaces_that_differ(evidence: Evidence) -> None:
    population = evidence.population
    healthy = population.fault_of < 0
    option = max(population.options, key=lambda o: float(np.bincount(population.options[o][healthy]).max()))
    usual = int(np.bincount(population.options[option][healthy]).argmax())
    weight = known_options(population, {option: usual})
    assert set(np.unique(weight)) <= {1.0, UNFIT}
