"""Findings against virtual furnaces: nothing is found on a healthy one, what can be found is found on one, and no clearing is wrong."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest

from furnace_diag.diagnosis.answer import answer
from furnace_diag.diagnosis.compiled import MOVED_AWAY
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.examples import records_of
from furnace_diag.diagnosis.findings import Finder, Findings
from furnace_diag.diagnosis.records import Record, Report
from furnace_diag.diagnosis.verdict import BOARD
from furnace_diag.furnace.family import Family
from furnace_diag.furnace.population import WHOLE_CALL, Population
from furnace_diag.knowledge.finding_models import FINDINGS, Finding, Wanted
from furnace_diag.knowledge.models import Knowledge, Sign
from furnace_diag.knowledge.words import words_of
from furnace_diag.problems import Place
from tests.diagnosis.test_findings import AllAtOnce

NOWHERE = Place("virtual furnace", 1, 1)
LATE = 30.0  # seconds; within what every line that has an end asks for, beyond the waits of most
AT_REST = 900.0  # seconds; every wait of the rules is over
METERS = ("high", "low")
OVER = {"standby", "fan_call", "cooling_call", "heating"}  # steps that last


@pytest.fixture(scope="module")
def finder(knowledge: Knowledge) -> Finder:
    return AllAtOnce(knowledge)


def records_from(row: int, population: Population, family: Family, meter: str) -> list[Record]:
    """Every reading with that meter and every sign of one furnace that a rule looks at, each with all fields that a report can have."""
    holds = looked_at(family.knowledge)
    records: list[Record] = []
    for (name, step, used), column in population.columns.items():
        better = population.columns.get((name, step, meter), column)  # of two readings that hardly differ only one is kept
        if name in holds and used != "low":
            records += _records(name, step, meter, float(population.table[better, row]), holds[name], family)
    return records


def _lines(k: Knowledge) -> list[Wanted]:
    of_findings = [w for kind in FINDINGS for e in getattr(k, kind).values() for way in e.when for w in way]
    return of_findings + [w for c in k.condition.values() for way in c.any_of for w in way]


def looked_at(k: Knowledge) -> dict[str, set[str | None]]:
    """What rules look at, and what a meter is to hold for it."""
    holds: dict[str, set[str | None]] = {}
    for w in _lines(k):
        holds.setdefault(w.names[0][1], set()).add(w.hold)
    return holds


def _records(name: str, step: str, meter: str, value: float, holds: set[str | None], family: Family) -> Iterator[Record]:
    if np.isnan(value):
        return
    kind = "point" if name in family.knowledge.point else "sign"
    noted = Record(kind, name, f"{name} at {step}", NOWHERE, after_s=AT_REST if step in OVER else LATE, set_up=("load_on",))
    noted = noted if step == WHOLE_CALL else replace(noted, step=step)
    if name in family.knowledge.point:
        for hold in sorted(filter(None, holds)) or ["max"]:
            yield replace(noted, number=value, meter=meter, contact="pin", hold=hold)
    else:
        sign = family.knowledge.sign[name]
        yield from (replace(noted, word=word) for word in _words(sign, int(value), family)[:1])


def _words(sign: Sign, shown: int, family: Family) -> list[str]:
    """What a technician would call what is shown, the most exact word first."""
    assert sign.shows is not None
    word = words_of(sign.shows, family.sequence)[shown]
    reads = {v: (sign.reads_as or {v: (v,)}).get(v, ()) for v in sign.values}
    return sorted((v for v in sign.values if word in reads[v]), key=lambda v: len(reads[v]))


def found_on(row: int, finder: Finder, population: Population, family: Family) -> Findings:
    options = {name: list(o.values)[population.options[name][row]] for name, o in family.furnace.options.items()}
    return finder.find(records_from(row, population, family, METERS[row % 2]), options)


@pytest.fixture(scope="module")
def on_faults(finder: Finder, population: Population, family: Family) -> dict[int, Findings]:
    """What is found on three furnaces with each failure, the sites and the meters taken by turns."""
    rows = [np.flatnonzero(population.fault_of == f) for f in range(len(family.faults))]
    picked = [int(some[(f + apart) % len(some)]) for f, some in enumerate(rows) for apart in (0, 5, 9)]
    return {row: found_on(row, finder, population, family) for row in picked}


@pytest.fixture(scope="module")
def on_healthy(finder: Finder, population: Population, family: Family) -> dict[int, Findings]:
    """What is found on healthy furnaces, with both meters."""
    return {int(row): found_on(int(row), finder, population, family) for row in np.flatnonzero(population.fault_of < 0)[:4]}


def test_no_hazard_proof_or_root_cause_is_found_on_a_healthy_furnace(on_healthy: dict[int, Findings]) -> None:
    for found in on_healthy.values():
        assert [f.finding for f in (*found.hazards, *found.root_causes)] == []
        assert [p for p, grade in found.grades.items() if grade == "proved"] == []


def test_every_finding_is_found_on_a_furnace_or_is_about_what_no_circuit_gives(
    on_faults: dict[int, Findings], on_healthy: dict[int, Findings], knowledge: Knowledge, population: Population
) -> None:
    seen = {name for found in (*on_faults.values(), *on_healthy.values()) for name in found.names}
    every = {name: entry for kind in FINDINGS for name, entry in getattr(knowledge, kind).items()}

    missing = {name for name, entry in every.items() if name not in seen and can_be_given(entry, knowledge, population)}
    assert missing == set()
    assert len(seen) > len(every) / 4  # else the reports would be too thin to show anything


def can_be_given(entry: Finding, k: Knowledge, population: Population) -> bool:
    """Whether late readings of a furnace standing as found could make a finding hold: some alternative asks for nothing else.

    And some furnace reads all that it asks for: none has a supply or a gas pressure that is too high, or a second transformer.
    """
    return any(all(_given(w, k) for w in way) and _reached(way, k, population) for way in entry.when)


def _given(w: Wanted, k: Knowledge) -> bool:
    if w.event or w.history or w.finding or set(w.set_up) & set(MOVED_AWAY) or w.contact in ("crimp", "load") or w.until_s is not None:
        return False
    return w.sign is None or k.sign[w.sign].shows is not None


def _reached(way: tuple[Wanted, ...], k: Knowledge, population: Population) -> bool:
    rows = np.ones(population.table.shape[1], bool)
    for w in (w for w in way if w.point):
        band = k.band[w.is_[0]]
        low, high = (-np.inf if band.at_least is None else band.at_least), (np.inf if band.at_most is None else band.at_most)
        columns = [c for (name, step, _), c in population.columns.items() if name == w.point and (not w.step or step in w.step)]
        with np.errstate(invalid="ignore"):
            rows &= ((population.table[columns] >= low) & (population.table[columns] <= high)).any(axis=0)
    return bool(rows.any())


def test_no_exoneration_clears_the_failure_that_is_there(on_faults: dict[int, Findings], population: Population, family: Family) -> None:
    cleared = 0
    for row, found in on_faults.items():
        fault = family.faults[population.fault_of[row]]
        cleared += len(found.cleared)
        if family.failure(fault).comes_and_goes is None:
            assert str(fault) not in found.cleared, [e.finding for e in found.exonerations if str(fault) in family.knowledge.exoneration[e.finding].clears]
    assert cleared > len(on_faults)


def test_ranking_agrees_that_cleared_failures_are_less_likely_than_the_board_s_others(evidence: Evidence, knowledge: Knowledge) -> None:
    """With the records of an exoneration's own example, where the ranking makes something of them: their share of the board's odds falls.

    Not always their odds among all failures: what rules out much else leaves more for all that is left.
    """
    before = _belief([], {}, evidence)
    weighed = 0
    for name, entry in knowledge.exoneration.items():
        records, options = records_of(entry.holds, knowledge)
        if all(evidence.fact(r) for r in records):
            after = _belief(records, options, evidence)
            assert _share(after, entry.clears) < 0.8 * _share(before, entry.clears), name
            weighed += 1
    assert weighed > len(knowledge.exoneration) / 2


def _share(belief: dict[str, float], some: tuple[str, ...]) -> float:
    return sum(belief[f] for f in some) / sum(belief.values())


def _belief(records: list[Record], options: dict[str, str], evidence: Evidence) -> dict[str, float]:
    result = answer(Report(evidence.family.furnace.furnace, "", tuple(records), options), evidence)
    board = next(p for p in result.parts if p.part == BOARD)
    return {f"{BOARD}:{f.failure}": f.probability for f in board.failures}
