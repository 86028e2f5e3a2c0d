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
    """The places of one of each mark, in their order, and for each of *marks* which of those it is."""
    _, first, same = np.unique(marks, return_index=True, return_inverse=True)
    order = np.argsort(first)
    rank = np.empty(len(order), np.intp)
    rank[order] = np.arange(len(order))
    return first[order], rank[same]


class Solutions:
    """The networks that were solved last, up to *most*: a control that tries again and again comes back to them."""

    def __init__(self, nodes: int, most: int) -> None:
        self._place: dict[int, int] = {}  # by mark
        self._mark_at: list[int | None] = [None] * most
        self._volts = np.zeros((most, nodes), np.complex128)
        self._next = 0

    def places(self, marks: Marks) -> NDArray[np.intp]:
        """Where the solution of each of *marks* is kept, -1 where it is not."""
        return np.array([self._place.get(mark, -1) for mark in marks.tolist()], np.intp)

    def volts(self, places: NDArray[np.intp]) -> NDArray[np.complex128]:
        """Node voltages [V] kept at *places*, shape (nodes, len(places))."""
        return self._volts[places].T

    def keep(self, marks: Marks, volts: NDArray[np.complex128]) -> None:
        """Keep the solutions of *marks*, no more than are kept at most, in the place of the oldest; *volts* has shape (nodes, len(marks))."""
        places = (self._next + np.arange(len(marks))) % len(self._mark_at)
        for place, mark in zip(places.tolist(), marks.tolist(), strict=True):
            old = self._mark_at[place]
            if old is not None:
                del self._place[old]
            self._place[mark], self._mark_at[place] = place, mark
        self._volts[places] = volts.T
        self._next = int(self._next + len(marks)) % len(self._mark_at)
