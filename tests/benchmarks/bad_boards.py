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

PROVED = "proved"


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


def prove(evidence: Evidence, population: Population, bench: Bench, row: int) -> tuple[str, int, int]:
    """How a visit to a bad board ends, in words: *proved*, or why not; after how many different readings, and entries: each again in every call."""
    technician = Technician(evidence, population, row)
    first = technician.asked(START, None)
    assert first is not None
    records, never = [first], set[tuple[str, str | None]]()
    tried: set[str] = set()
    options: dict[str, str] = {}
    while (different := len({(r.name, r.step) for r in records[1:]})) <= MOST_READINGS:
        now = answer(Report(evidence.family.furnace.furnace, "", tuple(records), options), evidence, never=frozenset(never))
        if now.board.verdict == "proved_bad":
            return PROVED, different, len(records) - 1
        if now.hazards:
            return "stopped for a hazard", different, len(records) - 1
        if now.act is None and now.next:
            asked = now.next[0]
            record = technician.asked(asked.name, asked.step, asked.meter)
            if record is None:
                never.add((asked.name, asked.step))
            else:
                records.append(record)
            continue
        if now.act is None or now.act.part != BOARD:
            return f"would put right {now.act.part if now.act else 'nothing'}", different, len(records) - 1
        nearest = now.board.nearest
        lacking = next((n.condition for n in nearest.missing if n.condition not in tried), None) if nearest else None
        if nearest is None or lacking is None:
            return f"all that {nearest.proof if nearest else 'a proof'} asks for is taken and it is not met", different, len(records) - 1
        tried.add(lacking)
        options |= bench._options(nearest.proof, row, HONEST)
        records += [r for r in _taken(bench, nearest.proof, lacking, row) if r not in records]
    return f"more than {MOST_READINGS} readings", different, len(records) - 1


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
    by_fault: Counter[str] = Counter()
    took: list[tuple[int, int]] = []
    for n, row in enumerate(picked.tolist()):
        how, different, entries = prove(evidence, population, bench, row)
        if how == PROVED:
            took.append((different, entries))
        else:
            by_fault[f"{evidence.family.faults[bench.fault_of[row]].failure}: {how}"] += 1
        tell(f"bad boards: {n + 1} of {count} visits")
    within = [sum(t[n] <= MOST_READINGS for t in took) for n in (0, 1)]
    print(f"\nbad boards that show anything: {count} visits")
    print(f"  proved bad within {MOST_READINGS} different readings   {within[0] / count:6.1%}   (wanted 90 %)")
    print(f"  the same reading in another call counted  {within[1] / count:6.1%}")
    if took:
        print("  different readings and entries, mean      {:.1f} {:.1f}".format(*np.mean(took, axis=0)))
    for why, many in by_fault.most_common(10):
        print(f"    {many:3d}  {why}")
