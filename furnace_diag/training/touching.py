"""Where hands or the leads of an ohmmeter go on the furnace of a drill, and what speaks against it now."""

from __future__ import annotations

from collections.abc import Iterable

from furnace_diag.furnace.family import Family
from furnace_diag.knowledge.models import Point
from furnace_diag.training.acts import Told
from furnace_diag.training.under_way import UnderWay

DEAD_ONLY = ("ohms", "microfarads")  # what is read on dead parts alone


def ends_of(family: Family, elements: Iterable[str]) -> set[str]:
    """The nodes that *elements* join."""
    return {node for e in elements for node in family.elements[family.number[e]].between or ()}


def nodes_of(family: Family, point: Point) -> set[str]:
    """Where the leads of a reading of ohms or microfarads go."""
    _, _, names = str(point.reads).partition(":")
    return ends_of(family, (n for n in names.split("+") if n in family.number)) | set(point.leads or ())


def elements_of(family: Family, part: str) -> set[str]:
    """The elements that the failures of a part act on."""
    failures = (family.failure(f) for f in family.faults if f.part == part)
    return {e.element for f in failures for e in f.effects if e.element is not None}


def hurts_to_read(drill: UnderWay, point: Point) -> Told | None:
    """What speaks against reading a point of `DEAD_ONLY` now."""
    return hurts_when_live(drill, nodes_of(drill.family, point), f"{point.function} at {point.point}", charge="capacitor_charged" in point.cautions)


def hurts_when_live(drill: UnderWay, nodes: Iterable[str], what: str, *, charge: bool) -> Told | None:
    """What speaks against putting an ohmmeter, or hands, on *nodes* now. *charge*: a capacitor's charge hurts there whatever the nodes are."""
    nodes, bench = list(nodes), drill.bench
    if bench.is_live(nodes):
        return drill.stop(f"{what}: that is live", "That is live: it burns the meter, or you.", "dead_first")
    if not bench.isolated:
        return drill.stop(f"{what}: the power is not off", "The power is not off: what is dead now may come alive at any moment.", "dead_first")
    if bench.charged and (charge or set(nodes) & bench.nodes_that_hold_charge):
        return drill.stop(f"{what}: the run capacitor may be charged", "The run capacitor may be charged.", "capacitor_charged")
    return None
