"""Bad boards: the tool asks until it would act on the board, then takes what the nearest proof lacks, as an honest technician would."""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Callable
from dataclasses import replace

import numpy as np
from fresh import Technician
from ways import MOST_READINGS, START

from furnace_diag.diagnosis.answer import answer
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.findings import Finder
from furnace_diag.diagnosis.records import Record, Report
from furnace_diag.diagnosis.verdict import BOARD
from furnace_diag.furnace.operate import Operation
from furnace_diag.furnace.population import Population, furnaces_of
from furnace_diag.furnace.store import default_folder

os.environ["FURNACE_DIAG_CACHE"] = str(default_folder())  # before proofs.py thinks of a folder of its own

from proofs import CARELESS, HONEST, Bench
from visits import Need, Visits, needs_of


def bench_of(evidence: Evidence, sites: int, seed: int) -> Bench:
    """The furnaces of that draw whose board failed so that a proof is of it, and the healthy ones, ready for all that proofs ask for."""
    family, k = evidence.family, evidence.knowledge
    furnaces, fault_of, site_of = furnaces_of(family, sites=sites, seed=seed)
    of = {f for proof in k.proof.values() for f in proof.of}
    wanted = [i for i, f in enumerate(family.faults) if f.part == BOARD and str(f) in of and family.failure(f).comes_and_goes is None]
    rows = np.flatnonzero(np.isin(fault_of, [-1, *wanted]))
    first = Operation(furnaces, rows)
    for call in (family.sequence.heat_call, *family.sequence.other_calls):
        first.reset()
        first.run()
        first.call(call.closes)
        first.run()
    visits = Visits(furnaces, k, {p: needs_of(proof, k, family) for p, proof in k.proof.items()}, first.blown, rows, seed)
    return Bench(family, visits, fault_of, site_of.astype(int), Finder(k))


def showing(bench: Bench) -> np.ndarray:
    """Rows of bad boards on which anything differs from the good furnace of the site."""
    differs = bench.visits.differs(bench.healthy)
    rows = bench.visits.rows[bench.fault_of[bench.visits.rows] >= 0]
    return rows[differs[rows]]


def prove(evidence: Evidence, population: Population, bench: Bench, row: int) -> tuple[str, int]:
    """How a visit to a bad board ends, in words, and after how many readings: *proved*, or why not."""
    technician = Technician(evidence, population, row)
    first = technician.asked(START, None)
    assert first is not None
    records, never, readings = [first], set[tuple[str, str | None]](), 0
    tried: set[str] = set()
    options: dict[str, str] = {}
    while readings <= MOST_READINGS:
        now = answer(Report(evidence.family.furnace.furnace, "", tuple(records), options), evidence, never=frozenset(never))
        if now.board.verdict == "proved_bad":
            return "proved", readings
        if now.hazards:
            return "stopped for a hazard", readings
        if now.act is None and now.next:
            asked = now.next[0]
            record = technician.asked(asked.name, asked.step, asked.meter)
            if record is None:
                never.add((asked.name, asked.step))
            else:
                records, readings = [*records, record], readings + 1
            continue
        if now.act is None or now.act.part != BOARD:
            return f"would put right {now.act.part if now.act else 'nothing'}", readings
        nearest = now.board.nearest
        lacking = next((n.condition for n in nearest.missing if n.condition not in tried), None) if nearest else None
        if nearest is None or lacking is None:
            return f"the proof {nearest.proof if nearest else 'of it'} is not met", readings
        tried.add(lacking)
        options |= bench._options(nearest.proof, row, HONEST)
        new = [r for r in _taken(bench, nearest.proof, lacking, row) if r not in records]
        records, readings = [*records, *new], readings + len(new)
    return f"more than {MOST_READINGS} readings", readings


def _taken(bench: Bench, proof: str, condition: str, row: int) -> list[Record]:
    """What is written down for one condition, in each heat call that the proof needs: by the first way that the furnace answers."""
    need: Need = next(n for n in bench.visits.needs[proof] if n.condition == condition)
    calls = range(1, (1 if bench.k.condition[condition].once else bench.k.proof[proof].calls) + 1)
    return [replace(r, call=c) for c in calls for r in bench._for(need, proof, row, CARELESS)]


def table(evidence: Evidence, population: Population, sites: int, seed: int, count: int, tell: Callable[[str], None]) -> None:
    """Visits to bad boards, each failure as often as the rules say among those on which something shows."""
    bench = bench_of(evidence, sites, seed)
    rows = showing(bench)
    weight = evidence.family.prior[bench.fault_of[rows]] / np.bincount(bench.fault_of[rows])[bench.fault_of[rows]]
    picked = np.random.default_rng(seed).choice(rows, count, p=weight / weight.sum())
    ends: Counter[str] = Counter()
    by_fault: Counter[str] = Counter()
    took = []
    for n, row in enumerate(picked.tolist()):
        how, readings = prove(evidence, population, bench, row)
        ends[how] += 1
        if how == "proved":
            took.append(readings)
        else:
            by_fault[f"{evidence.family.faults[bench.fault_of[row]].failure}: {how}"] += 1
        tell(f"bad boards {n + 1} of {count}")
    within = sum(t <= MOST_READINGS for t in took)
    print(f"\nbad boards that show anything: {count} visits")
    print(f"  proved bad within {MOST_READINGS} readings   {within / count:6.1%}   (wanted 90 %)")
    if took:
        print(f"  readings until proved, mean    {np.mean(took):6.1f}")
    for why, many in by_fault.most_common(8):
        print(f"    {many:3d}  {why}")
