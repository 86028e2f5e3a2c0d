"""What the records leave open: pairs of likely failures, and the single reading that would tell each pair apart."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from itertools import combinations
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from furnace_diag.diagnosis.bins import ALIKE, NEVER_BIN
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.records import Record
from furnace_diag.diagnosis.weigh import Posterior
from furnace_diag.furnace.built import WHOLE_CALL, Key

CANDIDATE = 0.04  # belief from which a failure is held against others, judgement
MOST_CANDIDATES = 6  # failures that are, the likeliest; judgement: more is not read
MOST_PAIRS = 6  # pairs of them that are told, judgement
MOST_KEPT = 500  # pairs whose distances are remembered
PARTS_BY = 0.6  # share of furnaces that a reading must tell apart to count as telling two failures apart, judgement
# of that share: readings no worse than the best by this are as good, and the one is named that parts most pairs for its minutes and risk; judgement
AS_GOOD = 0.05


class NotToldApart(NamedTuple):
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
    keys, columns = evidence.keys_read
    taken = {(r.name, r.step) for r in records}
    lacking, refused = evidence.points_read_with(without), {*never}
    lacked = np.array([name in lacking for name, _, _ in keys], bool) if lacking else np.zeros(len(keys), bool)
    here = ~lacked if not refused else ~lacked & ~np.array([(name, step) in refused or (name, None) in refused for name, step, _ in keys], bool)
    read = {name for name, _ in taken}
    new = np.array([k[0] not in read or ((k[0], step_of(k)) not in taken and (k[0], None) not in taken) for k in keys], bool)
    minutes = np.array([evidence.minutes[name] for name, _, _ in keys])
    pairs = list(combinations(order.tolist(), 2))[:MOST_PAIRS]
    apart_by = {pair: _apart(evidence, pair, columns) for pair in pairs}
    # of readings that part two failures as well, one that parts others too is worth more
    cost = minutes / np.sum([apart >= PARTS_BY for apart in apart_by.values()], axis=0).clip(min=1)

    def parting(a: int, b: int) -> NotToldApart:
        apart = apart_by[a, b]
        at_hand, again, beyond = (_best(np.where(able, apart, 0.0), cost) for able in (here & new, here & ~new, lacked))
        best = again if at_hand is None else at_hand
        both = (str(population.faults[a]), str(population.faults[b]))
        if best is None:
            return NotToldApart(both, None, None, None, again=False, parted_with=None if beyond is None else keys[beyond][0])
        name, _, meter = keys[best]
        return NotToldApart(both, name, step_of(keys[best]), "low" if meter == "low" else None, again=at_hand is None, parted_with=None)

    return [parting(a, b) for a, b in pairs]


def step_of(key: Key) -> str | None:
    """The step of a reading as a record has it: none where it is of the whole heat call."""
    return None if key[1] == WHOLE_CALL else key[1]


def _best(apart: NDArray[np.float64], cost: NDArray[np.float64]) -> int | None:
    """The cheapest of the readings that part best; None where none parts well enough."""
    most = float(apart.max(initial=0.0))
    good = np.flatnonzero(apart >= max(PARTS_BY, most - AS_GOOD))
    return int(good[np.argmin(cost[good])]) if len(good) else None


def _apart(evidence: Evidence, pair: tuple[int, int], columns: NDArray[np.intp]) -> NDArray[np.float64]:
    """How far each reading of *columns* tells two failures apart, from 0 to 1: the total variation distance of what their furnaces give. Kept."""
    if pair not in evidence.apart:
        if len(evidence.apart) >= MOST_KEPT:
            evidence.apart.clear()
        found = [evidence.bins_of_failure(f)[columns] for f in pair]
        shared = [_shared(evidence, pair[i], found[i], found[1 - i]) for i in (0, 1)]
        evidence.apart[pair] = 1 - np.maximum(*shared)
    return evidence.apart[pair]


def _shared(evidence: Evidence, number: int, bins: NDArray[np.int16], others: NDArray[np.int16]) -> NDArray[np.float64]:
    """Of each reading, how much of what a failure's furnaces give the other's give as well, from 0 to 1; shape (columns,).

    *number*: of the failure; *bins*, *others*: what its furnaces and the other's give, shape (columns, furnaces). Never coming to a reading is given by
    all: it gives no reading, and where the call stops is a sign of its own. So is a reading that most never come to.
    """
    if number not in evidence.alike:
        evidence.alike[number] = _not_told_from(bins, bins)
    shared = np.minimum(_not_told_from(bins, others) / evidence.alike[number], 1.0)
    never = bins == NEVER_BIN
    shared[never] = 1.0
    shared[never.mean(axis=1) > 1 - PARTS_BY] = 1.0
    return np.asarray(shared.mean(axis=1))


def _not_told_from(bins: NDArray[np.int16], others: NDArray[np.int16]) -> NDArray[np.float64]:
    """Of each furnace, from what share of the others a reading would not tell it; shape (columns, furnaces)."""
    least, most = (of.reduce([of.reduce(each, axis=1) for each in (bins, others)]) for of in (np.minimum, np.maximum))
    wide = np.flatnonzero(most - least > ALIKE)  # all others read so nearly the same on all furnaces that nothing is told
    some, alike = bins[wide], np.zeros((len(wide), bins.shape[1]), np.int16)
    for other in others[wide].T:
        alike += np.abs(some - other[:, None]) <= ALIKE
    share = np.ones(bins.shape)
    share[wide] = alike / others.shape[1]
    return share
