"""Which repair a failure has, and what goes with it: cautions and checks, those of its place among them."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator

from furnace_diag.knowledge.model_base import named_by
from furnace_diag.knowledge.models import Effect, Furnace, Knowledge, Part, Wiring
from furnace_diag.knowledge.part_models import RepairCost
from furnace_diag.knowledge.repair_models import Check, Repair


def repairs_for(knowledge: Knowledge, part: str, failure: str) -> Repair:
    """The repair of a failure: the one that names it, else the one of its whole part. KeyError if there is neither."""
    for target in (f"{part}:{failure}", part):
        for repair in knowledge.repair.values():
            if target in repair.of:
                return repair
    raise KeyError(f"{part}:{failure}")


def cost_of(knowledge: Knowledge, part: str, repair: Repair | None) -> RepairCost:
    """What a repair of a part takes: what it says itself, else what the part does."""
    return repair.takes if repair is not None and repair.takes is not None else knowledge.part[part].repair


def costs_of_failures(knowledge: Knowledge, failures: Iterable[tuple[str, str]]) -> list[RepairCost]:
    """What putting each of some failures right takes. *failures*: part and failure."""
    first = {target: repair for repair in reversed(knowledge.repair.values()) for target in repair.of}
    return [cost_of(knowledge, part, first.get(f"{part}:{failure}", first.get(part))) for part, failure in failures]


def repairs_of(knowledge: Knowledge, part: str) -> tuple[Repair, ...]:
    """Every repair of a part or of one of its failures."""
    return tuple(r for r in knowledge.repair.values() if part in parts_of(r))


def usual_repair(knowledge: Knowledge, part: str) -> Repair:
    """The repair of a whole part; of a part that has none the first of its failures'. IndexError if it has none at all."""
    found = repairs_of(knowledge, part)
    return next((r for r in found if part in r.of), found[0])


def confirmed_by(knowledge: Knowledge, repair: Repair, read: Collection[str] = (), failure: str = "") -> tuple[str, ...]:
    """What confirms a repair before its part is touched: points and signs by their names on one line, those *read* left out, then the rest in words."""
    named = read_before(knowledge, repair, failure)
    words = tuple(confirms_in_words(knowledge, text) for text in repair.confirm if text not in named)
    unread = [name for name in named if name not in read]
    return (f"{', '.join(unread)}.", *words) if unread else words


def read_before(knowledge: Knowledge, repair: Repair, failure: str = "") -> tuple[str, ...]:
    """The points and signs by which a repair is confirmed, where it names them: those of a *failure* first."""
    of_any = (text for text in repair.confirm if text in knowledge.point or text in knowledge.sign)
    return tuple(dict.fromkeys([*repair.confirm_of.get(failure, ()), *of_any]))


def read_before_any(knowledge: Knowledge, repair: Repair) -> tuple[str, ...]:
    """The same of all the failures that a repair puts right."""
    return tuple(dict.fromkeys(name for failure in (*repair.confirm_of, "") for name in read_before(knowledge, repair, failure)))


def confirms_in_words(knowledge: Knowledge, text: str) -> str:
    """One line of a repair's `confirm`, in words."""
    condition, read = knowledge.condition.get(text), knowledge.point.get(text) or knowledge.sign.get(text)
    if condition is not None:
        return condition.take or condition.says
    return f"{read.says} ({text})." if read is not None else text


def parts_of(repair: Repair) -> frozenset[str]:
    """The parts that a repair is about."""
    return frozenset(target.partition(":")[0] for target in repair.of)


def checks_before(knowledge: Knowledge, repair: Repair) -> tuple[Check, ...]:
    """What is proved before the first step of a repair, in order."""
    return tuple(knowledge.check[c] for c in repair.before)


def checks_after(knowledge: Knowledge, repair: Repair) -> tuple[Check, ...]:
    """What is proved after a repair, in order: its own checks, those of the places where its parts stand, those of any repair."""
    places = _places(knowledge, repair)
    of_place = [c.check for c in knowledge.check.values() if places & set(c.needed_at)]
    always = [c.check for c in knowledge.check.values() if c.after_any_repair]
    return tuple(knowledge.check[c] for c in dict.fromkeys([*repair.after, *of_place, *always]))


def cautions_of(knowledge: Knowledge, repair: Repair) -> tuple[str, ...]:
    """The ids of what to mind in a repair: what the places of its parts ask for, then its own."""
    places = _places(knowledge, repair)
    of_place = [c.caution for c in knowledge.caution.values() if places & set(c.needed_at)]
    return tuple(dict.fromkeys([*of_place, *repair.cautions]))


def _places(knowledge: Knowledge, repair: Repair) -> frozenset[str]:
    return frozenset().union(*(places_of(knowledge, knowledge.part[p]) for p in parts_of(repair)))


# --- where a part stands ----------------------------------------------------------------------


def places_of(knowledge: Knowledge, part: Part) -> frozenset[str]:
    """Where a part can hurt, by what its failures act on in the furnaces: line, gas, capacitor.

    It stands on the line if an element it acts on, or a machine, is joined to the isolator; at the gas if it acts on the
    valve or on how the flame carries over; at a capacitor if it shares a node with a part that is one.
    """
    found: set[str] = set()
    for furnace in knowledge.furnace.values():
        wiring = knowledge.wiring[furnace.wiring]
        elements, numbers = _acts_on(knowledge, part)
        nodes = _nodes_of(furnace, wiring, elements, numbers)
        line = _line_nodes(wiring)
        found |= {"line"} if nodes & line else set()
        found |= {"gas"} if _at_the_gas(furnace, elements, numbers) else set()
        found |= {"capacitor"} if nodes & line & _capacitor_nodes(knowledge, wiring) else set()
    return frozenset(found)


def _acts_on(knowledge: Knowledge, part: Part) -> tuple[set[str], set[str]]:
    """The elements and the numbers that failures of *part* act on."""
    effects = list(_effects(knowledge, part))
    elements = {str(part.element) if e.element == "self" else e.element for e in effects if e.element}
    return elements, {e.quantity for e in effects if e.quantity}


def _effects(knowledge: Knowledge, part: Part) -> Iterator[Effect]:
    kind = knowledge.kind.get(part.kind or "")
    for failure in (*part.failures, *(kind.failures if kind else ())):
        yield from failure.effects


def _nodes_of(furnace: Furnace, wiring: Wiring, elements: set[str], numbers: set[str]) -> set[str]:
    """The nodes of *elements* and of the machines that *numbers* belong to."""
    elements, nodes = set(elements), set[str]()
    for name in type(furnace.machines).model_fields:
        named = list(named_by(getattr(furnace.machines, name)))
        if numbers & {each for _, what, each in named if what == "number"}:
            elements |= {each for _, what, each in named if what in ("element", "winding")}
            nodes |= {each for _, what, each in named if what == "node"}
    elements |= {e.element for e in wiring.elements if {e.ohms, e.volts, e.turns} & {f"<{n}>" for n in numbers}}
    return nodes | {n for e in wiring.elements if e.element in elements for n in e.between or ()}


def _line_nodes(wiring: Wiring) -> set[str]:
    """The nodes joined to the isolator (to any source, where none is named) otherwise than through the ground. Windings on one core join nothing."""
    joined = [set(e.between) - {wiring.ground} for e in wiring.elements if e.between and e.kind not in ("bridge", "stray")]
    starts = [e for e in wiring.elements if (e.element == wiring.isolator if wiring.isolator else e.kind == "source")]
    found = {n for e in starts for n in e.between or ()} - {wiring.ground}
    while more := {n for ends in joined if ends & found for n in ends} - found:
        found |= more
    return found


def _at_the_gas(furnace: Furnace, elements: set[str], numbers: set[str]) -> bool:
    machines = furnace.machines
    named = {each for _, what, each in named_by(machines.valve) if what in ("element", "number")}
    return bool(named & (elements | numbers)) or machines.flame.carry_over in numbers


def _capacitor_nodes(knowledge: Knowledge, wiring: Wiring) -> set[str]:
    own = {p.element for p in knowledge.part.values() if p.element}
    return {n for e in wiring.elements if e.kind == "capacitor" and e.element in own for n in e.between or ()}
