"""A row of volts told in one breath is of one moment."""

from __future__ import annotations

import numpy as np
import pytest

from furnace_diag.diagnosis.answer import weighed
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.one_moment import one_moment
from furnace_diag.diagnosis.records import Report
from furnace_diag.diagnosis.report_file import understand
from furnace_diag.diagnosis.step_taken import UNSTATED_STEP
from furnace_diag.diagnosis.weigh import Fact
from furnace_diag.knowledge.yaml_text import parse_yaml

# 24 V on both sides of the closed limit and roll-out, and none at the board's pin behind them: the pin's contact lies between; common practice, no source
ROW = ("limit_feed_to_c: 24.7", "limit_out_to_c: 24.7", "rollout_out_to_c: 24.7", "limit_return_to_c_at_board: 2.1")


def told(evidence: Evidence, *readings: str, step: str = "") -> Report:
    at = f", step: {step}" if step else ""
    lines = ", ".join(f"{{point: {name}, value: {value} V{at}}}" for name, value in (r.split(": ") for r in readings))
    return understand(parse_yaml(f"records: [{lines}]", "report.yaml"), evidence.knowledge, evidence.vocabulary)


def test_a_row_is_worth_more_where_one_moment_gives_all_of_it(evidence: Evidence) -> None:
    """By the definition: of where the call stops, of where it rests, or of any step each."""
    groups = evidence.groups(told(evidence, *ROW).records)
    row = one_moment(evidence, groups)
    assert row is not None
    stops, rests, any_step = UNSTATED_STEP
    for furnace in range(0, len(row.fit), 97):
        by_itself = of_stop = of_rest = 1.0
        for (record,), (fact,) in groups:
            ends = evidence.at_its_ends(record)
            assert ends is not None
            right, wrong = 1 - fact.slip, fact.slip * fact.lands
            by_itself *= right * fact.fit[furnace] + wrong
            of_stop *= right * ends[0, furnace] + wrong
            of_rest *= right * ends[1, furnace] + wrong
        expected = (stops * of_stop + rests * of_rest + any_step * by_itself) / by_itself
        assert row.fit[furnace] == pytest.approx(expected, rel=1e-9)


def test_a_row_speaks_for_what_lies_between_its_last_two_readings(evidence: Evidence) -> None:
    belief = weighed(told(evidence, *ROW), evidence).belief
    groups = evidence.groups(told(evidence, *ROW).records)
    apart = {f: np.prod([evidence_of(fact, f, evidence) for _, (fact,) in groups]) for f in ("board_plug:limit_contact_open", "filter:blocked")}
    prior = dict(zip(map(str, evidence.population.faults), evidence.family.prior, strict=True))
    by_themselves = apart["board_plug:limit_contact_open"] * prior["board_plug:limit_contact_open"] / (apart["filter:blocked"] * prior["filter:blocked"])

    assert belief["board_plug:limit_contact_open"] / belief["filter:blocked"] > 2 * by_themselves


def evidence_of(fact: Fact, failure: str, evidence: Evidence) -> float:
    """The mean likelihood of a record with the furnaces of a failure."""
    mine = evidence.population.fault_of == [str(f) for f in evidence.population.faults].index(failure)
    return float(np.mean((1 - fact.slip) * fact.fit[mine] + fact.slip * fact.lands))


def test_what_is_due_in_the_call_or_has_its_step_is_of_no_row(evidence: Evidence) -> None:
    assert one_moment(evidence, evidence.groups(told(evidence, *ROW, step="call").records)) is None
    assert one_moment(evidence, evidence.groups(told(evidence, ROW[0], "igniter_volts_at_plug: 119", "gas_valve_volts: 0").records)) is None
