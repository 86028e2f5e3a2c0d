"""What is read of a part by itself, without power, and reads as on the good furnace of its site: it tells which site that is, and not what is wrong there."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from furnace_diag.diagnosis.bins import ALIKE, bins_of_numbers, error_of
from furnace_diag.furnace.built import Population
from furnace_diag.knowledge.models import Point

WITHOUT_POWER = ("ohms", "microfarads")


def reads_as_good(population: Population, point: Point, column: int) -> NDArray[np.bool_]:
    """Of each furnace whether it reads *point* as the good one of its site does, within what can be told apart."""
    bins = bins_of_numbers(population.table[column], *error_of(point)).astype(np.intp)
    good = population.good_at[population.site_of]
    return np.asarray((good >= 0) & (np.abs(bins - bins[good]) <= ALIKE))
