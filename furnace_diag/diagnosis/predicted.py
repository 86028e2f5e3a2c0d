"""What the population predicts of one point or sign: the number or word of every furnace, at each step and with each meter."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from furnace_diag.diagnosis.bins import different
from furnace_diag.furnace.built import Population

Floats = NDArray[np.float64]

LONGEST = 2**62  # numbers of kinds that are told apart in one integer


class Predicted(NamedTuple):
    """All that is predicted of one point or sign.

    *numbers*: each different number that is predicted, nan for never. There are far fewer of them than predictions, so a fit is reckoned once for each.
    *which*: by meter ("" where all read alike), shape (steps + 2, furnaces): the place among *numbers* of what each furnace gives at each of
    *steps*, then where it stops, then where it rests. *stops*, *rests*: whether anything is predicted of the step where each furnace stops, and rests.
    """

    steps: tuple[str, ...]
    numbers: Floats
    which: dict[str, NDArray[np.uint16]]
    stops: NDArray[np.bool_]
    rests: NDArray[np.bool_]

    def metered(self, meter: str) -> NDArray[np.uint16]:
        """Which numbers that meter would give."""
        return self.which.get(meter, next(iter(self.which.values())))

    def never(self, rows: list[int]) -> NDArray[np.bool_]:
        """Whether each furnace is never in the steps of numbered *rows*, shape (rows, furnaces)."""
        return np.asarray(np.isnan(self.numbers)[self.metered("high")[rows]])

    @property
    def usual(self) -> Floats:
        """What a usual meter or an eye would give, shape (steps + 2, furnaces)."""
        return self.numbers[self.metered("high")]

    def of(self, furnaces: NDArray[np.intp]) -> Predicted:
        """The same of some furnaces."""
        return self._replace(which={meter: v[:, furnaces] for meter, v in self.which.items()}, stops=self.stops[furnaces], rests=self.rests[furnaces])

    def read_at(self, steps: Collection[str]) -> Floats:
        """The different numbers that furnaces give at some of its steps."""
        rows = [i for i, s in enumerate(self.steps) if s in steps]
        numbers = self.numbers[self._met({meter: v[rows] for meter, v in self.which.items()})]
        return numbers[~np.isnan(numbers)]

    def _met(self, used: Mapping[str, NDArray[np.uint16]]) -> NDArray[np.bool_]:
        """Which of the numbers are *used*."""
        met = np.zeros(len(self.numbers), bool)
        for which in used.values():
            met[which] = True
        return met

    def at(self, steps: Collection[str]) -> Predicted:
        """The same of some of its steps."""
        rows = [i for i, s in enumerate(self.steps) if s in steps]
        used = {meter: v[[*rows, self.stop, self.rest]] for meter, v in self.which.items()}
        met = self._met(used)
        place = (np.cumsum(met) - 1).astype(np.uint16)
        by_meter = {meter: place[which] for meter, which in used.items()}
        return self._replace(steps=tuple(self.steps[i] for i in rows), numbers=self.numbers[met], which=by_meter)

    def alike(self) -> tuple[Predicted, NDArray[np.intp]]:
        """The same of one furnace of each kind, those of a kind giving the same; and the kind of every furnace."""
        rows = [*(row for which in self.which.values() for row in which), self.stops, self.rests]
        kind, kinds = np.zeros(len(self.stops), np.int64), 1
        for row in rows:  # as digits of one number; kinds are numbered anew before it grows too long
            most = int(row.max(initial=0)) + 1
            if kinds > LONGEST // most:
                _, kind = np.unique(kind, return_inverse=True)
                kinds = len(kind)
            kind, kinds = kind * most + row, kinds * most
        _, first, kind = np.unique(kind, return_index=True, return_inverse=True)
        return self.of(first), kind.reshape(-1).astype(np.intp)

    @property
    def stop(self) -> int:
        """The row of *which* for where each furnace stops."""
        return len(self.steps)

    @property
    def rest(self) -> int:
        """The row of *which* for where each furnace rests."""
        return len(self.steps) + 1


class Due(NamedTuple):
    """When a heat call makes a thing other than it is at rest.

    *steps*: rows of `Predicted` in which it is due on a healthy furnace; *in_call*: rows of all steps of the call; *rest*: the number or
    word that a healthy furnace gives at rest, None where it is not looked at then.
    """

    steps: tuple[int, ...]
    in_call: tuple[int, ...]
    rest: float | None


def predicted_of(columns: Mapping[str, Mapping[str, int]], population: Population, table: NDArray[np.float16]) -> Predicted:
    """From *columns* of one of the population's tables: by step, then by meter."""
    steps = tuple(columns)
    place = np.array([steps.index(s) if s in columns else -1 for s in population.steps])
    stop, rest = place[population.stops], place[population.rests]
    every = np.arange(len(stop))
    meters = ("high", "low") if any("low" in by_meter for by_meter in columns.values()) else ("",)
    at_steps = np.array([[by_meter.get(meter, next(iter(by_meter.values()))) for by_meter in columns.values()] for meter in meters], np.intp)
    numbers, which = different(table[at_steps])
    by_meter = {meter: np.vstack([w, w[stop, every], w[rest, every]]) for meter, w in zip(meters, which, strict=True)}
    return Predicted(steps, numbers.astype(np.float64), by_meter, stop >= 0, rest >= 0)
