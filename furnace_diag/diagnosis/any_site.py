"""What is read of a part by itself, without power. Where that is as on the good furnace of its site it tells which site it is, and nothing else.

The furnaces of a failure are few: each has an igniter, a capacitor and coils of its own, and a flame, a draft and a supply of its own as well. One whose
capacitor reads as reported would be believed in for that, and its flame's current with it, though the one has nothing to do with the other. So all
furnaces that read such a figure as a good one does are taken to read it as any good furnace may.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from furnace_diag.diagnosis.bins import ALIKE, bins_of_numbers, error_of
from furnace_diag.diagnosis.foretold import Foretold
from furnace_diag.diagnosis.records import Record
from furnace_diag.diagnosis.value_fits import Fit
from furnace_diag.furnace.built import Population
from furnace_diag.knowledge.models import Point

Floats = NDArray[np.float64]

WITHOUT_POWER = ("ohms", "microfarads")


class AnySite:
    """Of each point that is read without power: which furnaces of a population read it as the good one of their site does."""

    def __init__(self, population: Population) -> None:
        self.population = population
        self._as_good: dict[str, NDArray[np.bool_]] = {}

    def fits(self, foretold: Foretold, point: Point, record: Record, fits: Floats, fit: Fit) -> Floats:
        """*fits* of the furnaces that facts are made for, shape (..., furnaces): of those that read as a good one, the mean over all good ones.

        *fit*: of numbers to what was read.
        """
        if point.function not in WITHOUT_POWER or foretold.read_with(record) != point.point or not foretold.is_of_one_step(record):
            return fits
        if not len(foretold.healthy):
            return fits
        ((column,),) = (by_meter.values() for by_meter in foretold.columns[point.point].values())
        as_good = self._reads_as_good(point, column)
        mean = fit(self.population.table[column, foretold.healthy].astype(np.float64)).mean(axis=-1, keepdims=True)
        return np.where(as_good if foretold.rows is None else as_good[foretold.rows], mean, fits)

    def _reads_as_good(self, point: Point, column: int) -> NDArray[np.bool_]:
        if point.point not in self._as_good:
            bins = bins_of_numbers(self.population.table[column], *error_of(point)).astype(np.intp)
            good = self.population.good_at[self.population.site_of]
            self._as_good[point.point] = (good >= 0) & (np.abs(bins - bins[good]) <= ALIKE)
        return self._as_good[point.point]
