"""What the records leave open: pairs of likely failures, and the reading that would part them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from furnace_diag.diagnosis.bins import ALIKE, BINS
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.records import Record
from furnace_diag.diagnosis.weigh import Posterior

CANDIDATE = 0.04  # failures at least this likely are held against one another
MOST_CANDIDATES = 6
PARTS_BY = 0.6  # share of furnaces that a reading must tell apart to count as telling two failures apart, judgement


@dataclass(frozen=True)
class NotToldApart:
    """Two failures that the records leave open, and what would part them (None where no point of the rules would)."""

    failures: tuple[str, str]
    parted_by: str | None
    step: str | None


def not_told_apart(evidence: Evidence, posterior: Posterior, records: Sequence[Record]) -> list[NotToldApart]:
    """Every pair among the likeliest failures, with the reading that best parts them."""
    family, population = evidence.family, evidence.population
    order = np.argsort(-posterior.failures)[:MOST_CANDIDATES]
    order = order[posterior.failures[order] >= CANDIDATE]
    if len(order) < 2:
        return []
    taken = {(r.name, r.step) for r in records}
    open_columns = [(key, i) for key, i in population.columns.items() if (key[0], key[1]) not in taken and key[2] != "low"]
    columns = np.array([i for _, i in open_columns], np.intp)
    moved = BINS * np.arange(len(columns))[:, None]  # bins are numbered on through all columns
    cells = {f: evidence.bins_of_failure(f)[columns] + moved for f in order.tolist()}
    near = {f: _near(cells_of_fault, len(columns)) for f, cells_of_fault in cells.items()}
    pairs = [(int(a), int(b)) for n, a in enumerate(order) for b in order[n + 1 :]]
    found = []
    for a, b in pairs[:6]:
        apart = 1 - np.maximum(near[b][cells[a]].mean(axis=1), near[a][cells[b]].mean(axis=1))  # total variation distance
        best = int(np.argmax(apart)) if len(apart) else 0
        named = open_columns[best][0] if len(apart) and apart[best] >= PARTS_BY else None
        found.append(NotToldApart((str(family.faults[a]), str(family.faults[b])), named and named[0], named and named[1]))
    return found


def _near(cells: NDArray[np.intp], columns: int) -> NDArray[np.bool_]:
    """Which bins, numbered on, lie so near to one that any of a fault's furnaces reads that no reading tells them apart; no bin at an end is ever read."""
    near = np.zeros(columns * BINS, bool)
    for by in range(-ALIKE, ALIKE + 1):
        near[cells + by] = True
    return near
