"""Failures that come and go, over several heat calls: product over calls of [share x L(there) + (1 - share) x L(healthy, same site)]."""

from __future__ import annotations

import numpy as np
import pytest

from furnace_diag.diagnosis.answer import answer
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.prior import prior_given
from furnace_diag.diagnosis.records import Report
from furnace_diag.diagnosis.report_file import understand
from furnace_diag.diagnosis.weigh import likelihood, weigh
from furnace_diag.knowledge.yaml_text import parse_yaml

LOST_ONCE = """
records:
- {point: inducer_pin_to_neutral, value: 0.2 V, step: inducer_start, meter: low, call: 1}
- {sign: inducer_runs, value: no, step: inducer_start, call: 1}
- {point: inducer_pin_to_neutral, value: 119 V, step: inducer_start, meter: low, call: 2}
- {sign: inducer_runs, value: yes, step: inducer_start, call: 2}
"""


def report_of(text: str, evidence: Evidence) -> Report:
    return understand(parse_yaml(text, "report.yaml"), evidence.knowledge, evidence.vocabulary)


def number(evidence: Evidence, fault: str) -> int:
    return [str(f) for f in evidence.population.faults].index(fault)


@pytest.mark.parametrize("fault", ["control_board:inducer_output_comes_and_goes", "board_plug:inducer_contact_loose", "inducer:stops_when_warm"])
def test_belief_is_the_mixture_over_calls(fault: str, evidence: Evidence) -> None:
    """Against its twin that is always there, by loops over the sites."""
    report = report_of(LOST_ONCE, evidence)
    population = evidence.population
    groups = [facts for _, facts in evidence.groups(report.records)]
    prior = prior_given(evidence.family, report.records)
    ones = np.ones(len(population.fault_of))
    belief = weigh(population, prior, groups, ones, 0.04, evidence.comings).failures
    own = number(evidence, fault)
    entry = evidence.family.failure(population.faults[own])
    twin = number(evidence, f"{fault.partition(':')[0]}:{entry.like}")
    assert entry.comes_and_goes is not None
    q = entry.comes_and_goes.share

    def weight(i: int, *, mixed: bool) -> float:
        total = 0.0
        for row in np.flatnonzero(population.fault_of == i):
            healthy = int(np.flatnonzero((population.fault_of < 0) & (population.site_of == population.site_of[row]))[0])
            product = 1.0
            for call in (1, 2):
                some = [likelihood(g) for g in groups if g[0].call == call]
                there, away = (float(np.prod([g[r] for g in some])) for r in (int(row), healthy))
                product *= q * there + (1 - q) * away if mixed else there
            total += product
        return float(prior[i]) * total

    assert belief[own] / belief[twin] == pytest.approx(weight(own, mixed=True) / weight(twin, mixed=False), rel=1e-9)


def test_an_output_seen_dead_once_and_live_once_is_no_dead_output(evidence: Evidence) -> None:
    """What fails in one call and works in the next comes and goes; what is always there is nearly out of it."""
    result = answer(report_of(LOST_ONCE, evidence), evidence)
    belief = {f"{p.part}:{f.failure}": f.probability for p in result.parts for f in p.failures}

    assert belief["control_board:inducer_output_comes_and_goes"] > 5 * belief["control_board:inducer_relay_will_not_close"]
    assert result.board.verdict != "proved_bad"


def test_one_call_alone_speaks_for_what_is_always_there(evidence: Evidence) -> None:
    """Seen once, the failure that is there in every call explains it better than one that is there in half of them."""
    once = LOST_ONCE.split("- {point: inducer_pin_to_neutral, value: 119")[0]
    belief = {f"{p.part}:{f.failure}": f.probability for p in answer(report_of(once, evidence), evidence).parts for f in p.failures}
    prior = {str(f): float(p) for f, p in zip(evidence.population.faults, evidence.family.prior, strict=True)}
    gain = {f: belief[f] / prior[f] for f in ("control_board:inducer_output_comes_and_goes", "control_board:inducer_relay_will_not_close")}

    assert gain["control_board:inducer_relay_will_not_close"] > gain["control_board:inducer_output_comes_and_goes"]
