"""The rows of failures that come and go, each with the healthy furnace of its site."""

from __future__ import annotations

import numpy as np

from furnace_diag.diagnosis.weigh import Comings
from furnace_diag.furnace.built import Population
from furnace_diag.furnace.family import Family


def comings_of(family: Family, population: Population) -> Comings:
    """Those rows of the population."""
    order = list(family.sequence.order)
    found = [(i, c) for i, f in enumerate(population.faults) if (c := family.failure(f).comes_and_goes) is not None]
    rows = [np.flatnonzero(population.fault_of == i) for i, _ in found]
    every = np.concatenate([np.zeros(0, np.intp), *rows]).astype(np.intp)
    share = np.concatenate([np.zeros(0), *(np.full(len(r), c.share) for r, (_, c) in zip(rows, found, strict=True))])
    starts = [np.full(len(r), order.index(c.from_step) if c.from_step else 0, np.intp) for r, (_, c) in zip(rows, found, strict=True)]
    return Comings(every, population.good_at[population.site_of[every]], share, np.concatenate([np.zeros(0, np.intp), *starts]))
