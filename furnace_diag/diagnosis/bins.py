"""Readings in bins, so that furnaces can be held against one another by what they would show; a bin is as wide as the error of its reading."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from furnace_diag.diagnosis.weigh import in_errors
from furnace_diag.knowledge.models import Knowledge, Point

Floats = NDArray[np.float64]

# float16 reaches 65504, which is 320 errors from the middle for a reading as sharp as 3 %; wider ones lie nearer
NEVER_BIN, MIDDLE_BIN, OPEN_BIN, BINS = 10, 400, 790, 800
ALIKE = 2  # bins; readings this near cannot be told apart, two errors being what a single reading may be off
WIDE = 3  # bins that one outcome holds at least where readings run on without a gap
MANY = 4096  # readings with one error from which it pays to look for the different numbers among them
FEW = 100_000  # readings that are soonest put in their bins one by one, whatever their errors
WORDS_APART = (0.1, 0.1)  # error with which the numbers of a sign's words lie well apart


def error_of(point: Point) -> tuple[float, float]:
    """Of meter and model together: relative, and absolute in the point's unit."""
    return point.doubt, point.floor


def errors_of(knowledge: Knowledge, names: Iterable[str]) -> tuple[Floats, Floats]:
    """Relative and absolute error of each of *names*, shape (names, 1) each."""
    found = [error_of(knowledge.point[n]) if n in knowledge.point else WORDS_APART for n in names]
    table = np.array(found, float).reshape(-1, 2)
    return table[:, :1], table[:, 1:]


def different(values: NDArray[np.float16]) -> tuple[NDArray[np.float16], NDArray[np.uint16]]:
    """The different numbers among *values*, and which of them each is, in the shape of *values*. A number of 16 bits is one of 65536."""
    numbers = np.ascontiguousarray(values).view(np.uint16)
    met = np.zeros(2**16, bool)
    met[numbers] = True
    found = np.flatnonzero(met).astype(np.uint16)
    place = np.zeros(2**16, np.uint16)
    place[found] = np.arange(len(found))
    return found.view(np.float16), place[numbers]


def bins_of(values: NDArray[np.float16], errors: tuple[Floats, Floats]) -> NDArray[np.int16]:
    """The bin of each reading, shape (readings, furnaces). Of many readings each different number is put in its bin once: there are far fewer."""
    if values.size <= FEW:
        return bins_of_numbers(values, *errors)
    bins = np.empty(values.shape, np.int16)
    alike: dict[tuple[float, float], list[int]] = {}
    for i, error in enumerate(zip(errors[0].ravel().tolist(), errors[1].ravel().tolist(), strict=True)):
        alike.setdefault(error, []).append(i)
    for (doubt, floor), readings in alike.items():
        if values.shape[1] * len(readings) < MANY:
            bins[readings] = bins_of_numbers(values[readings], doubt, floor)
        else:
            numbers, which = different(values[readings])
            bins[readings] = bins_of_numbers(numbers, doubt, floor)[which]
    return bins


def bins_of_numbers(values: NDArray[np.float16], doubt: float | Floats, floor: float | Floats) -> NDArray[np.int16]:
    """The bin of each of *values*, read with one error or each with its own; never (nan) and open (inf) have bins of their own."""
    finite = np.isfinite(values)
    bins = MIDDLE_BIN + np.rint(in_errors(np.where(finite, values, 0).astype(np.float64), doubt, floor))
    return np.where(np.isnan(values), NEVER_BIN, np.where(finite, bins, OPEN_BIN)).astype(np.int16)


def outcomes_of(used: NDArray[np.intp]) -> NDArray[np.intp]:
    """The outcome to which each of the *used* bins belongs, numbered from 0, shape (bins,).

    *used*: bins in rising order, those of each reading moved on by BINS. Bins with nothing as wide as ALIKE between them
    are of one cluster; a cluster is split where it is wide enough for two outcomes of WIDE.
    """
    if not len(used):
        return np.zeros(0, np.intp)
    special = np.isin(used % BINS, (NEVER_BIN, OPEN_BIN))
    starts = np.ones(len(used), bool)
    starts[1:] = (np.diff(used) > ALIKE) | special[1:] | special[:-1]
    of = np.cumsum(starts) - 1
    least, most = used[starts], used[np.append(starts[1:], True)]
    span = (most - least + 1)[of]
    piece = (used - least[of]) * np.maximum(span // WIDE, 1) // span
    new = starts.copy()
    new[1:] |= np.diff(piece) != 0
    return np.asarray(np.cumsum(new) - 1)
