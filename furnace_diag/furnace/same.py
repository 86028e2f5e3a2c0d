"""Which furnaces have the same network at a moment, so that it is solved once for all of them.

A network is known by a number of 64 bits, its mark: a sum of what each of its figures is mixed into. That two of some hundred thousand networks
have the same mark and are not the same is less likely than a fault of the machine.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Marks = NDArray[np.uint64]

_STEP = 0x9E3779B97F4A7C15
_TIMES = ((30, 0xBF58476D1CE4E5B9), (27, 0x94D049BB133111EB))  # the last step of a generator of random numbers (Steele, Lea and Flood 2014)


def marked(place: int, *figures: NDArray[np.float64]) -> Marks:
    """What *figures* at a *place* of a network are mixed into, shape (rows,): the same only where all of them are the same, bit for bit."""
    mark = np.full(len(figures[0]), place * _STEP % 2**64, np.uint64)
    for values in figures:
        mark = _mixed(mark * np.uint64(3) + np.ascontiguousarray(values, np.float64).view(np.uint64))
    return mark


def _mixed(mark: Marks) -> Marks:
    for shift, times in _TIMES:
        mark = (mark ^ (mark >> np.uint64(shift))) * np.uint64(times)
    return np.asarray(mark ^ (mark >> np.uint64(31)))


def each_once(marks: Marks) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """The places of one of each mark, and for each of *marks* which of those it is."""
    _, first, same = np.unique(marks, return_index=True, return_inverse=True)
    return first, same
