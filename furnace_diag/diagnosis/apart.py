"""What the records leave open: pairs of likely failures, and the reading that would part them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from furnace_diag.diagnosis.bins import ALIKE, BINS, Floats, bins_of, errors_of
from furnace_diag.diagnosis.records import Record
from furnace_diag.diagnosis.weigh import Posterior
from furnace_diag.furnace.family import Family
from furnace_diag.furnace.population import Population

CANDIDATE = 0.04  # failures at least this likely are held against one another
MOST_CANDIDATES = 6
PARTS_BY = 0.6  # share of furnaces that a reading must tell apart to count as telling two failures apart, judgement


@dataclass(frozen=True)
class NotToldApart:
    """Two failures that the records leave open, and what would part them (None where no point of the rules would)."""

    failures: tuple[str, str]
    parted_by: str | None
    step: str | None


def not_told_apart(family: Family, population: Population, posterior: Posterior, records: Sequence[Record]) -> list[NotToldApart]:
    """Every pair among the likeliest failures, with the reading that best parts them."""
    order = np.argsort(-posterior.failures)[:MOST_CANDIDATES]
    order = order[posterior.failures[order] >= CANDIDATE]
    if len(order) < 2:
        return []
    taken = {(r.name, r.step) for r in records}
    open_columns = [(key, i) for key, i in population.columns.items() if (key[0], key[1]) not in taken and key[2] != "low"]
    columns = np.array([i for _, i in open_columns], np.intp)
    errors = errors_of(family.knowledge, [key[0] for key, _ in open_columns])
    cells = _cells(population, order.tolist(), columns, errors)
    near = {f: _near(cells_of_fault, len(columns)) for f, cells_of_fault in cells.items()}
    pairs = [(int(a), int(b)) for n, a in enumerate(order) for b in order[n + 1 :]]
    found = []
    for a, b in pairs[:6]:
        apart = 1 - np.maximum(near[b][cells[a]].mean(axis=1), near[a][cells[b]].mean(axis=1))  # total variation distance
        best = int(np.argmax(apart)) if len(apart) else 0
        named = open_columns[best][0] if len(apart) and apart[best] >= PARTS_BY else None
        found.append(NotToldApart((str(family.faults[a]), str(family.faults[b])), named and named[0], named and named[1]))
    return found


def _cells(population: Population, faults: list[int], columns: NDArray[np.intp], errors: tuple[Floats, Floats]) -> dict[int, NDArray[np.intp]]:
    """What the furnaces of each fault read: their bins, numbered on through all columns; shape (columns, sites) each."""
    rows = np.flatnonzero(np.isin(population.fault_of, faults))
    cells = bins_of(population.table[np.ix_(columns, rows)], errors) + BINS * np.arange(len(columns))[:, None]
    return {f: cells[:, population.fault_of[rows] == f] for f in faults}


def _near(cells: NDArray[np.intp], columns: int) -> NDArray[np.bool_]:
    """Which bins, numbered on, lie so near to one that any of a fault's furnaces reads that no reading tells them apart; no bin at an end is ever read."""
    near = np.zeros(columns * BINS, bool)
    for by in range(-ALIKE, ALIKE + 1):
        near[cells + by] = True
    return near
