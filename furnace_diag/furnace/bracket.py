"""The two ends of what a failure opens or makes poor: the readings that show that its volts are lost between them, whatever else may have failed.

Live at one end and dead at the other, or volts from the one to the other, is lost in what lies between, by Kirchhoff's voltage law.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from furnace_diag.furnace.family import Family, Fault
from furnace_diag.knowledge.furnace_models import Element
from furnace_diag.knowledge.models import Point

Ends = tuple[str, str]


class Bracket:
    """Which points read at both ends of one conductor or contact of a family's wiring."""

    def __init__(self, family: Family) -> None:
        self.family = family
        self.points = [p for p in family.points if p.leads is not None and p.function == "ac_volts"]

    def of(self, fault: Fault) -> tuple[str, ...]:
        """Names of the points: one that reads across it where there is one, else one at each end, both against the same potential.

        None where the failure is not one thing opened or made poor, or where it cannot be read at both ends. KeyError if there is no such failure.
        """
        element = self._opened(fault)
        if element is None:
            return ()
        across = [p.point for p in self.points if {*(p.leads or ())} == {*_ends(element)}]
        return (*across[:1],) or next(self._at_both_ends(element), ())

    def _opened(self, fault: Fault) -> Element | None:
        """The one conductor or contact that a failure opens or adds ohms to."""
        effects = self.family.failure(fault).effects
        if len(effects) != 1 or (effects[0].is_ != "open" and effects[0].adds_ohms is None):
            return None
        return next((e for e in self.family.elements if e.element == effects[0].element and e.kind in ("conductor", "contact")), None)

    def _at_both_ends(self, element: Element) -> Iterator[Ends]:
        """Pairs of points, one at each end of an element, in the order of the rules."""
        alike = _joined(e for e in self.family.elements if e.kind == "conductor" and e is not element and not e.only_when)
        here, there = (list(self._at(node)) for node in _ends(element))
        for name, against in here:
            for other, its_against in there:
                if name != other and (against == its_against or any({against, its_against} <= nodes for nodes in alike)):
                    yield name, other

    def _at(self, node: str) -> Iterator[tuple[str, str]]:
        """Points with a lead at a node, and where their other lead is."""
        for p in self.points:
            yield from ((p.point, other) for lead, other in _both_ways(p) if lead == node)


def _both_ways(point: Point) -> tuple[Ends, Ends]:
    assert point.leads is not None
    return point.leads, (point.leads[1], point.leads[0])


def _ends(element: Element) -> Ends:
    assert element.between is not None
    return element.between


def _joined(conductors: Iterable[Element]) -> list[set[str]]:
    """Nodes that conductors join, and that are at one potential while all is well."""
    found: list[set[str]] = []
    for each in conductors:
        nodes = {*_ends(each)}
        touching = [f for f in found if f & nodes]
        found = [*(f for f in found if not f & nodes), nodes.union(*touching)]
    return found
