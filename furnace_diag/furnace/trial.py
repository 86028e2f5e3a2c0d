"""A trial run of every furnace family: what a reader of rule files cannot see and a run shows at once."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from furnace_diag.furnace.family import Family, Fault, usual_site
from furnace_diag.furnace.operate import Operation
from furnace_diag.furnace.virtual import VirtualFurnaces
from furnace_diag.knowledge.models import Knowledge
from furnace_diag.problems import Place, Problem


def trial_problems(knowledge: Knowledge) -> list[Problem]:
    """What is wrong with the furnaces of *knowledge* when they are run."""
    return [problem for name in knowledge.furnace for problem in _of_family(Family(knowledge, name))]


def _of_family(family: Family) -> Iterator[Problem]:
    file, _, line = family.furnace.at.rpartition(":")
    place = Place(file, int(line), 1)
    try:
        healthy = heat_call(family)
    except (ValueError, KeyError, IndexError, FloatingPointError) as error:
        yield Problem(place, f"This furnace cannot be run: {error}.", "Look at its wiring and its sequence.")
        return
    if not np.isfinite(healthy.volts).all():
        yield Problem(place, "The network of this furnace has no solution.", "Look for windings or sources with no resistance.")
        return
    reached = family.sequence.order[int(healthy.furthest[0])]
    if reached != family.sequence.order[-1]:
        yield Problem(place, f"Healthy, this furnace stops at {reached}.", "Look at that step, its inputs and the wiring they read.")


def heat_call(family: Family, fault: Fault | None = None, *, options: dict[str, str] | None = None) -> Operation:
    """One usual furnace, with *fault* if given, taken through a heat call until it rests."""
    numbers, choices = usual_site(family.furnace, options)
    operation = Operation(VirtualFurnaces(family, numbers, choices, [(slice(0, 1), fault)] if fault else []))
    operation.run()
    operation.call(family.sequence.heat_call.closes)
    operation.run()
    return operation
