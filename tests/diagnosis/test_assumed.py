"""Which unknown of the furnace is told as one that would move the answer: those that do, not those that the luck of few furnaces moves."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from furnace_diag.diagnosis.answer import weighed
from furnace_diag.diagnosis.assumed import Assumed, assumed
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.one_record import record_of
from furnace_diag.diagnosis.records import Report
from furnace_diag.diagnosis.vocabulary import Vocabulary
from furnace_diag.problems import Place
from furnace_diag.report.visit_screen import TELLING

HUMS = [
    {"sign": "inducer_runs", "value": "yes"},
    {"sign": "burners_light", "value": "stay_lit"},
    {"sign": "blower_starts_in_heat", "value": "does_not_start"},
    {"sign": "blower_runs", "value": "hums"},
]


def report(evidence: Evidence, records: list[dict[str, str]]) -> Report:
    vocabulary = Vocabulary(evidence.knowledge, evidence.family.furnace.furnace)
    return Report(evidence.family.furnace.furnace, "", tuple(record_of(r, Place("r", 1, 1), vocabulary) for r in records), {})


def assumed_of(evidence: Evidence, records: list[dict[str, str]]) -> dict[str, Assumed]:
    said = report(evidence, records)
    return {a.option: a for a in assumed(evidence, weighed(said, evidence).posterior, said.options)}


def test_whether_a_resting_contact_feeds_the_blower_is_told_where_the_blower_runs_at_rest(evidence: Evidence) -> None:
    """On a furnace whose relay rests on a speed the blower runs when there is no 24 V; on any other a relay or tap must be at fault."""
    told = assumed_of(evidence, [{"sign": "blower_runs", "value": "yes", "step": "standby"}])
    assert next(iter(told)) == "blower_at_rest"
    assert told["blower_at_rest"].change >= TELLING


def test_whether_a_float_switch_is_fitted_is_told_where_24_volts_do_not_come_back(evidence: Evidence) -> None:
    told = assumed_of(evidence, [{"point": "w_to_c_at_board", "value": "0 V", "step": "call"}, {"point": "r_to_c_at_board", "value": "26 V"}])
    assert next(iter(told)) == "float_switch_in_r"
    assert told["float_switch_in_r"].change >= TELLING


@pytest.mark.parametrize("records", [HUMS, HUMS[:3]])
def test_no_unknown_of_the_furnace_is_told_of_a_blower_that_hums(evidence: Evidence, records: list[dict[str, str]]) -> None:
    """No delay, float switch or accessory makes one of the causes of a blower that is fed and does not turn likelier than another."""
    assert [a for a in assumed_of(evidence, records).values() if a.change >= TELLING] == []


def test_an_option_dealt_to_the_furnaces_by_chance_is_told_no_more_often_than_chance_allows(evidence: Evidence) -> None:
    """Dealt anew it has nothing to do with the fault: whatever it moves is luck."""
    said = report(evidence, HUMS)
    posterior = weighed(said, evidence).posterior
    luck = np.random.default_rng(5)
    changes = []
    for _ in range(40):
        dealt = evidence.population.options["blower_off_delay"].copy()
        for fault in np.unique(evidence.population.fault_of):
            rows = np.flatnonzero(evidence.population.fault_of == fault)
            dealt[rows] = luck.permutation(dealt[rows])
        population = replace(evidence.population, options={**evidence.population.options, "blower_off_delay": dealt})
        found = assumed(Evidence(evidence.family, population), posterior, said.options)
        changes.append(next(a.change for a in found if a.option == "blower_off_delay"))
    assert sum(c >= TELLING for c in changes) <= 2
