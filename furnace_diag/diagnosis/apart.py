"""What the records leave open: pairs of likely failures, and the single reading that would tell each pair apart."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from furnace_diag.diagnosis.bins import ALIKE, BINS, NEVER_BIN
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.records import Record
from furnace_diag.diagnosis.weigh import Posterior
from furnace_diag.furnace.population import WHOLE_CALL, Key

CANDIDATE = 0.04  # failures at least this likely are held against one another
MOST_CANDIDATES = 6
MOST_PAIRS = 6
PARTS_BY = 0.6  # share of furnaces that a reading must tell apart to count as telling two failures apart, judgement
AS_GOOD = 0.05  # of that share: readings no worse than the best by this are as good, and the quickest and safest of them is named, judgement


@dataclass(frozen=True)
class NotToldApart:
    """Two failures that the records leave open, and the reading at hand that would part them best.

    *parted_by*, *step*, *meter*: that reading, all None where none at hand does. *again*: it was taken already, and only its being wrong leaves the
    two open. *parted_with*: where none at hand does, the reading that would with an instrument which is not to be had; None where none would.
    """

    failures: tuple[str, str]
    parted_by: str | None
    step: str | None
    meter: str | None
    again: bool
    parted_with: str | None


def not_told_apart(
    evidence: Evidence, posterior: Posterior, records: Sequence[Record], without: Collection[str] = (), never: Collection[tuple[str, str | None]] = ()
) -> list[NotToldApart]:
    """Every pair among the likeliest failures, the likelier first, with the reading that best parts them.

    *without*: instruments that are not to be had. *never*: names and steps that are not to be asked for. A ghost parts nothing: where a sensitive
    meter would show one, the reading is that of a low-impedance meter.
    """
    population = evidence.population
    order = np.argsort(-posterior.failures)[:MOST_CANDIDATES]
    order = order[posterior.failures[order] >= CANDIDATE]
    if len(order) < 2:
        return []
    keys = [k for k in evidence.usual_keys if k in population.columns and not {(k[0], k[1]), (k[0], None)} & {*never}]
    taken = {(r.name, r.step) for r in records}
    lacking = evidence.points_read_with(without)
    here = np.array([name not in lacking for name, _, _ in keys], bool)
    new = np.array([not {(k[0], step_of(k)), (k[0], None)} & taken for k in keys], bool)
    columns = np.array([population.columns[key] for key in keys], np.intp)
    moved = BINS * np.arange(len(columns))[:, None]  # bins are numbered on through all columns
    cells = {f: evidence.bins_of_failure(f)[columns] + moved for f in order.tolist()}
    near = {f: _near(cells_of_fault, len(columns)) for f, cells_of_fault in cells.items()}
    minutes = np.array([evidence.minutes[name] for name, _, _ in keys])

    def parting(a: int, b: int) -> NotToldApart:
        apart = 1 - np.maximum(near[b][cells[a]].mean(axis=1), near[a][cells[b]].mean(axis=1))  # total variation distance
        at_hand, again, beyond = (_best(np.where(able, apart, 0.0), minutes) for able in (here & new, here & ~new, ~here))
        best = again if at_hand is None else at_hand
        both = (str(population.faults[a]), str(population.faults[b]))
        if best is None:
            return NotToldApart(both, None, None, None, again=False, parted_with=None if beyond is None else keys[beyond][0])
        name, _, meter = keys[best]
        return NotToldApart(both, name, step_of(keys[best]), "low" if meter == "low" else None, again=at_hand is None, parted_with=None)

    return [parting(int(a), int(b)) for a, b in list(combinations(order, 2))[:MOST_PAIRS]]


def step_of(key: Key) -> str | None:
    """The step of a reading as a record has it: none where it is of the whole heat call."""
    return None if key[1] == WHOLE_CALL else key[1]


def _best(apart: NDArray[np.float64], minutes: NDArray[np.float64]) -> int | None:
    """The quickest of the readings that part best; None where none parts well enough."""
    most = float(apart.max(initial=0.0))
    good = np.flatnonzero(apart >= max(PARTS_BY, most - AS_GOOD))
    return int(good[np.argmin(minutes[good])]) if len(good) else None


def _near(cells: NDArray[np.intp], columns: int) -> NDArray[np.bool_]:
    """Which bins, numbered on, a furnace may be in without a reading telling it from one of a fault's furnaces; no bin at an end is ever read.

    Where a furnace never comes to a reading it gives none, so that parts nothing: where the call stops is a sign of its own.
    """
    near = np.zeros(columns * BINS, bool)
    for by in range(-ALIKE, ALIKE + 1):
        near[cells + by] = True
    rows = near.reshape(columns, BINS)
    rows[:, NEVER_BIN] = True
    rows[(cells % BINS == NEVER_BIN).mean(axis=1) > 1 - PARTS_BY] = True
    return near
