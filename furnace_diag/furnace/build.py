"""The population made on two processors: each runs half of the failures, on the same sites. On one it comes out the same, later."""

from __future__ import annotations

import multiprocessing
import pickle
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import ExitStack
from dataclasses import replace

import numpy as np

from furnace_diag.furnace.built import SEED, SITES, Population, Progress
from furnace_diag.furnace.family import Family, Fault
from furnace_diag.furnace.population import furnaces_of, observed, with_all_of

Half = tuple[Family, tuple[Fault, ...], int, int]  # the failures to run, on how many sites, drawn with which seed


def build_in_halves(family: Family, *, sites: int = SITES, seed: int = SEED, tell: Progress | None = None) -> Population:
    """As `population.build`, half of it in a process of its own; *tell* hears how far the other half is."""
    middle = len(family.faults) // 2
    first, second = ((family, faults, sites, seed) for faults in (family.faults[:middle], family.faults[middle:]))
    with ExitStack() as stack:
        begun = _begin(first, stack)
        mine = _run(second, tell)
        return _joined(_result(begun, first), mine, middle)


def _begin(half: Half, stack: ExitStack) -> Future[Population] | None:
    """Begin on *half* in another process; None where none can be had.

    It is pickled here, before anything else is done: the pool pickles in a thread of its own, while the family already changes what it remembers.
    """
    try:
        return stack.enter_context(ProcessPoolExecutor(1, multiprocessing.get_context("spawn"))).submit(_run_packed, pickle.dumps(half))
    except OSError:
        return None


def _result(begun: Future[Population] | None, half: Half) -> Population:
    """What came of the other half; it is made here where it was lost."""
    try:
        return begun.result() if begun is not None else _run(half)
    except BrokenProcessPool:
        return _run(half)


def _run_packed(half: bytes) -> Population:
    return _run(pickle.loads(half))


def _run(half: Half, tell: Progress | None = None) -> Population:
    family, faults, sites, seed = half
    return observed(*furnaces_of(family, sites=sites, seed=seed, having=[(fault,) for fault in faults]), tell=tell)


def _joined(first: Population, second: Population, middle: int) -> Population:
    """All furnaces of *first*, then those of *second* that have a failure, numbered on from *middle*."""
    second = with_all_of(first, second)
    first = with_all_of(second, first)
    ill = second.fault_of >= 0
    return replace(
        first,
        fault_of=np.append(first.fault_of, second.fault_of[ill] + middle).astype(np.int16),
        site_of=np.append(first.site_of, second.site_of[ill]),
        options={name: np.append(values, second.options[name][ill]) for name, values in first.options.items()},
        table=np.hstack([first.table, second.table[:, ill]]),
        changed=np.hstack([first.changed, second.changed[:, ill]]),
        stops=np.append(first.stops, second.stops[ill]),
        rests=np.append(first.rests, second.rests[ill]),
    )
