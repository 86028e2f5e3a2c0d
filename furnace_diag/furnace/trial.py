"""A trial run of every furnace family: what a reader of rule files cannot see and a run shows at once."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import numpy as np

from furnace_diag.furnace.family import Family, Fault, usual_site
from furnace_diag.furnace.operate import Operation
from furnace_diag.furnace.virtual import VirtualFurnaces
from furnace_diag.knowledge.models import Knowledge
from furnace_diag.knowledge.naming import place_of
from furnace_diag.problems import Problem


def trial_problems(knowledge: Knowledge) -> list[Problem]:
    """What is wrong with the furnaces of *knowledge* when they are run."""
    families = [Family(knowledge, name) for name in knowledge.furnace]
    return [*(problem for family in families for problem in _of_family(family)), *_unread(knowledge, families)]


def _unread(knowledge: Knowledge, families: Iterable[Family]) -> Iterator[Problem]:
    """Points that no furnace can be read at: what they name stands in none of them together."""
    read = {p.point for family in families for p in family.points}
    for point in knowledge.point.values():
        if point.point not in read:
            fix = "Let it name nodes, elements or numbers of one furnace, and a step of it."
            yield Problem(place_of(point), f"Nothing reads {point.point}: no furnace has all that it names.", fix)


def _of_family(family: Family) -> Iterator[Problem]:
    place = place_of(family.furnace)
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
