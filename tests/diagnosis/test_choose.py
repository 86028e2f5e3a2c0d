"""The next reading: the cheapest of all by a reckoning of its own, none under a hazard, none without its instrument."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from furnace_diag.diagnosis.answer import Answer, answer
from furnace_diag.diagnosis.choose import _Reckoning, expected_repair_cost
from furnace_diag.diagnosis.evidence import Evidence, prior_given
from furnace_diag.diagnosis.records import read_report, understand
from furnace_diag.diagnosis.weigh import Posterior, weigh
from furnace_diag.knowledge.yaml_text import parse_yaml

CASES = sorted((Path(__file__).resolve().parents[2] / "cases").glob("*.yaml"))


def answered(text: str, evidence: Evidence, without: tuple[str, ...] = ()) -> Answer:
    return answer(understand(parse_yaml(text, "report.yaml"), evidence.knowledge), evidence, without)


def believed(path: Path, evidence: Evidence) -> tuple[Posterior, list[tuple[str, str | None]]]:
    report = read_report(path, evidence.knowledge)
    groups = [facts for _, facts in evidence.groups(report.records)]
    ones = np.ones(len(evidence.population.fault_of))
    posterior = weigh(evidence.population, prior_given(evidence.family, report.records), groups, ones, 0.04, evidence.comings)
    return posterior, [(r.name, r.step) for r in report.records]


@pytest.mark.parametrize("name", ["limit_open", "no_blower_heat_relay", "gas_cock_shut", "transformer_open"])
def test_the_cost_after_a_reading_is_what_its_outcomes_say(name: str, evidence: Evidence) -> None:
    """Of each candidate, over its outcomes, by loops and dictionaries: P(outcome) x cost of mending with the belief after it."""
    posterior, taken = believed(Path("cases") / f"{name}.yaml", evidence)
    reckoning = _Reckoning(evidence, posterior, None)
    table = reckoning.candidates(set(taken), {n for n, _ in taken}, ())
    for i in range(0, len(table.keys), 37):
        lines = table.joint[table.first[i] : table.first[i + 1]]
        known = lines.sum()
        prior = {p: sum(float(lines[:, f].sum()) for f in np.flatnonzero(reckoning.part_of == n)) for n, p in enumerate(reckoning.parts)}
        cost, chance = 0.0, 0.0
        for line in lines:
            shown = float(line.sum()) / known
            if shown == 0:
                continue
            own = {p: float(line[reckoning.part_of == n].sum()) for n, p in enumerate(reckoning.parts)}
            after = {p: (1 - reckoning.slip) * own[p] + reckoning.slip * shown * prior[p] for p in own}
            whole = sum(after.values()) + shown * posterior.something_else
            belief = np.array([[after[p] / whole for p in reckoning.parts]])
            cost += whole * float(expected_repair_cost(belief, reckoning.costs, reckoning.otherwise)[0])
            chance += whole
        assert reckoning._cost_after(table, i) == pytest.approx(cost / chance)


@pytest.mark.parametrize("path", CASES[::4], ids=lambda p: p.stem)
def test_outcomes_are_those_of_the_belief(path: Path, evidence: Evidence) -> None:
    """Everything that a candidate may show adds up to the belief in the failures that are known, up to furnaces too unlikely to count."""
    posterior, taken = believed(path, evidence)
    reckoning = _Reckoning(evidence, posterior, None)
    table = reckoning.candidates(set(taken), {n for n, _ in taken}, ())

    totals = np.add.reduceat(table.joint.sum(axis=1), table.first[:-1])
    assert totals == pytest.approx(np.full(len(totals), posterior.failures.sum()), rel=0.05)
    assert not {(key[0], key[1]) for key in table.keys} & set(taken)


def test_no_reading_and_no_repair_under_a_hazard(evidence: Evidence) -> None:
    result = answered("records: [{sign: gas_smell, value: strong}, {sign: igniter_glows, value: no}]", evidence)

    assert result.hazards
    assert result.next == ()
    assert result.act is None


def test_what_cannot_be_had_is_not_asked_for(evidence: Evidence) -> None:
    text = "records: [{sign: inducer_runs, value: yes, step: inducer_start}, {sign: pressure_switch_contact, value: open, step: inducer_start}]"
    tools = tuple(evidence.words.instruments)
    asked = [n.function for n in answered(text, evidence, tools).next]

    assert set(asked) <= {"look", "ac_volts"}  # eyes, and volts that every meter has


def test_the_board_is_never_to_be_mended_without_its_proof(evidence: Evidence) -> None:
    for path in CASES:
        result = answer(read_report(path, evidence.knowledge), evidence)
        if result.act is not None and result.act.part == "control_board":
            assert result.act.needs_proof or result.board.proved
