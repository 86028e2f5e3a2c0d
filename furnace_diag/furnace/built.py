"""The population as it is once built: of many furnaces of a family, each failure in each of them, what each of them reads.

A column is one reading at one step with one meter; a row is one furnace with one failure. Predictions stand
reading by reading, so that a record touches one stretch of memory.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from furnace_diag.furnace.family import Fault

SITES = 32  # furnaces that share their numbers and options among all failures
SEED = 20240117
WHOLE_CALL = "whole_call"  # the step of what is said of a whole heat call
OFF = "@"  # before what was taken off, in the name of what is read with it off

Progress = Callable[[float, str], None]
Key = tuple[str, str, str]  # point or sign, step, meter ("high", "low", "" for what has none)


@dataclass(frozen=True)
class Population:
    """Predictions of every reading on every furnace.

    *fault_of*: the number of each row's fault in *faults*, -1 where healthy, the rows of one fault beside one another; shape (rows,).
    *options*: for each option the number of its value in each row.
    *table*: shape (columns, rows), float16; nan where that furnace never is in that step, inf for OL.
    *changed*: the same with something taken off for the reading, by *changed_columns*, whose names end in what (see `with_off`).
    *stops*: the step at which each row's heat call stops, and *rests*: where it comes to rest, as numbers into *steps*.
    *home*: the folder of its store, in which what is made of it may be kept beside it; None where it was never stored.
    """

    family: str
    faults: tuple[Fault, ...]
    steps: tuple[str, ...]
    fault_of: NDArray[np.int16]
    site_of: NDArray[np.int16]
    options: dict[str, NDArray[np.int8]]
    columns: dict[Key, int]
    table: NDArray[np.float16]
    changed_columns: dict[Key, int]
    changed: NDArray[np.float16]
    stops: NDArray[np.int8]
    rests: NDArray[np.int8]
    home: Path | None = None

    @cached_property
    def failed(self) -> slice | NDArray[np.intp]:
        """The rows that have a failure: a slice where they stand together, which takes them without a copy."""
        rows = np.flatnonzero(self.fault_of >= 0)
        return slice(int(rows[0]), int(rows[-1]) + 1) if len(rows) and rows[-1] - rows[0] + 1 == len(rows) else rows

    @cached_property
    def good_at(self) -> NDArray[np.intp]:
        """Of each site, by its number, the row of its good furnace; -1 where there is none."""
        good = np.flatnonzero(self.fault_of < 0)
        at = np.full(int(self.site_of.max(initial=-1)) + 1, -1, np.intp)
        at[self.site_of[good]] = good
        return at

    @cached_property
    def failure_of(self) -> NDArray[np.intp]:
        """The number of the failure of each of the `failed` rows."""
        return self.fault_of[self.failed].astype(np.intp)


def all_off(*what: str) -> str:
    """What several things taken off are called together, in whatever order they were told."""
    return "+".join(sorted(what))


def with_off(name: str, what: str) -> str:
    """What a point or sign is called where something was taken off for it: a lead or plug at the point itself, or what a set-up takes off."""
    return f"{name}{OFF}{what}"
