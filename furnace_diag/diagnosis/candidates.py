"""Everything that could be read or looked at next, with how likely each outcome is together with each part."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from furnace_diag.furnace.built import Key

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Table:
    """Joint probability of what candidates show and which part it is, shape (outcomes, parts); one candidate's rows lie together.

    That a furnace never gets to a step is no record of that reading: it leaves the parts as they are.
    """

    keys: list[Key]
    parts: Floats
    first: NDArray[np.intp]  # of each candidate its first row, and the end
    bins: NDArray[np.intp]  # of each row its first and last bin, shape (outcomes, 2); for a sign the number of its value, or NEVER
    never: NDArray[np.bool_]  # which rows say that the furnace never gets there

    @cached_property
    def bits(self) -> Floats:
        """What each candidate tells of the part, in bits (mutual information)."""
        return told(self, self.parts)

    @cached_property
    def chance(self) -> Floats:
        """How likely each row is, shape (outcomes,)."""
        return np.asarray(self.parts.sum(axis=1))

    @cached_property
    def unreached(self) -> Floats:
        """How likely the furnace is not to come to each candidate's step, where it could not be read at all."""
        never = np.where(self.never, self.chance, 0)
        return np.asarray(np.add.reduceat(never, self.first[:-1]) / np.maximum(np.add.reduceat(self.chance, self.first[:-1]), 1e-300))


def joined(tables: Sequence[Table]) -> Table:
    """Several tables as one."""
    starts = np.cumsum([0, *(len(t.parts) for t in tables)])
    first = np.concatenate([*(t.first[:-1] + start for t, start in zip(tables, starts, strict=False)), starts[-1:]])
    parts, bins, never = (np.concatenate([getattr(t, part) for t in tables]) for part in ("parts", "bins", "never"))
    return Table([k for t in tables for k in t.keys], parts, first, bins, never)


def alone(table: Table, i: int) -> Table:
    """One candidate's own table."""
    rows = slice(table.first[i], table.first[i + 1])
    return Table([table.keys[i]], table.parts[rows], table.first[i : i + 2] - table.first[i], table.bins[rows], table.never[rows])


def told(table: Table, joint: Floats) -> Floats:
    """What each candidate tells [bit] of which column of *joint* it is, shape (outcomes, columns): the outcomes of *table* together with each.

    Mutual information among the furnaces that get there: that one gets there is learnt by watching the call, and is no merit of the reading.
    """
    known = max(float(joint[table.first[0] : table.first[1]].sum()), 1e-300)
    joint = np.where(table.never[:, None], 0, joint)
    among = np.flatnonzero(joint)  # most is nought
    each, (row, column) = joint.ravel()[among], np.divmod(among, joint.shape[1])
    of, candidates = np.repeat(np.arange(len(table.keys)), np.diff(table.first)), len(table.keys)
    by_column = _summed(of[row] * joint.shape[1] + column, each, candidates * joint.shape[1]).reshape(candidates, -1)
    before = entropy_terms(by_column.sum(axis=1)) - entropy_terms(by_column).sum(axis=1)
    after = _summed(of, entropy_terms(_summed(row, each, len(joint))), candidates) - _summed(of[row], entropy_terms(each), candidates)
    return np.asarray(np.maximum(before - after, 0) / known)


def _summed(place: NDArray[np.intp], each: Floats, places: int) -> Floats:
    """The sum of what belongs to each place, shape (places,)."""
    return np.asarray(np.bincount(place, each, places), float)


def entropy_terms(p: Floats) -> Floats:
    """p log2 p of each, 0 where p is, which most are."""
    return np.asarray(p * np.log2(p, out=np.zeros(p.shape), where=p > 0))
