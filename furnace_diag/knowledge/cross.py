"""Checks across rule files: every id that an entry names must stand somewhere."""

from __future__ import annotations

from collections.abc import Iterator

from furnace_diag.knowledge.finding_checks import finding_problems
from furnace_diag.knowledge.model_base import Placed
from furnace_diag.knowledge.models import Effect, Knowledge, Part, Wiring
from furnace_diag.knowledge.naming import place_of, unknown
from furnace_diag.knowledge.words import SHOWS
from furnace_diag.problems import Problem

READS = ("flame_current", "draft", "inlet_pressure", "manifold_pressure", "temperature_rise", "static_pressure",
         "burner_ground_ohms", "rod_ohms_to_case", "rod_wire_ohms", "seconds_to_blower", "seconds_of_flame", "seconds_to_draft")
READS_OF_ELEMENT = ("amps", "ohms", "microfarads")


def cross_check(knowledge: Knowledge) -> list[Problem]:
    """What is wrong between entries that are right by themselves."""
    checks = (_wirings, _sequences, _furnaces, _parts, _points, _signs, finding_problems, _needed)
    return [problem for check in checks for problem in check(knowledge)]


def _wirings(k: Knowledge) -> Iterator[Problem]:
    for wiring in k.wiring.values():
        seen: set[str] = set()
        joined: set[str] = set()
        for e in wiring.elements:
            if e.element in seen:
                yield Problem(place_of(wiring), f"Element {e.element} is there twice.", "Give one of them another id.")
            seen.add(e.element)
            for node in e.between or ():
                joined.add(node)
                if node not in wiring.nodes:
                    yield unknown(wiring, "node", node, wiring.nodes)
            if e.core is not None and e.core not in wiring.cores:
                yield unknown(wiring, "core", e.core, wiring.cores)
        if wiring.ground not in wiring.nodes:
            yield unknown(wiring, "node", wiring.ground, wiring.nodes)
        for node in sorted(set(wiring.nodes) - joined):
            yield Problem(place_of(wiring), f"Nothing is joined to node {node}.", "Join it with an element, or take it out.")
        yield from _adrift(wiring)
        yield from _sources_shorted(wiring)


def _adrift(wiring: Wiring) -> Iterator[Problem]:
    """Nodes that nothing but a winding, a bridge or a stray neighbour ties to the rest."""
    near: dict[str, set[str]] = {n: set() for n in wiring.nodes}
    for e in wiring.elements:
        if e.between and e.kind not in ("bridge", "stray") and all(n in near for n in e.between):
            near[e.between[0]].add(e.between[1])
            near[e.between[1]].add(e.between[0])
    reached, todo = {wiring.ground}, [wiring.ground]
    while todo:
        for node in near.get(todo.pop(), set()) - reached:
            reached.add(node)
            todo.append(node)
    for node in sorted(set(near) - reached):
        yield Problem(place_of(wiring), f"Node {node} floats: no part joins it to {wiring.ground}.", "Join it, or take it out.")


def _sources_shorted(wiring: Wiring) -> Iterator[Problem]:
    pairs: dict[frozenset[str], str] = {}
    for e in wiring.elements:
        if e.kind == "source" and e.between:
            pair = frozenset(e.between)
            if len(pair) == 1 or pair in pairs:
                other = pairs.get(pair, "itself")
                yield Problem(place_of(wiring), f"Source {e.element} is shorted to {other}.", "Give each source two nodes of its own.")
            pairs[pair] = e.element


def _sequences(k: Knowledge) -> Iterator[Problem]:
    for sequence in k.sequence.values():
        steps = {s.step for s in sequence.steps}
        goes = {s.step: {leave.go for leave in s.leave} | ({s.then} if s.then else set()) for s in sequence.steps}
        for name in [sequence.starts_at, *sequence.order, *(g for targets in goes.values() for g in targets)]:
            if name not in steps:
                yield unknown(sequence, "step", name, steps)
        known = set(sequence.inputs) | {"trials spent"}
        for s in sequence.steps:
            if (s.lasts is None) != (s.then is None):
                yield Problem(place_of(sequence), f"Step {s.step} needs both `lasts` and `then`, or neither.", "Add the other one.")
            for name in (c.removeprefix("not ") for leave in s.leave for c in leave.if_):
                if name not in known:
                    yield unknown(sequence, "input", name, known)
        reached, todo = {sequence.starts_at}, [sequence.starts_at]
        while todo:
            new = goes.get(todo.pop(), set()) - reached
            reached |= new
            todo += new
        for step in sorted(steps - reached):
            yield Problem(place_of(sequence), f"Step {step} can never be reached.", "Let a step go to it, or take it out.")


def _furnaces(k: Knowledge) -> Iterator[Problem]:
    for f in k.furnace.values():
        if f.wiring not in k.wiring:
            yield unknown(f, "wiring", f.wiring, k.wiring)
            continue
        if f.sequence not in k.sequence:
            yield unknown(f, "sequence", f.sequence, k.sequence)
            continue
        known = set(f.numbers) | set(f.options)
        wiring, sequence = k.wiring[f.wiring], k.sequence[f.sequence]
        numbers = [n for e in wiring.elements for n in (e.ohms, e.volts, e.turns, e.microfarads, e.hot_times)]
        numbers += [i.at_least for i in sequence.inputs.values()] + [s.lasts for s in sequence.steps if s.lasts]
        for number in dict.fromkeys(n for n in numbers if n.startswith("<")):
            if number[1:-1] not in known:
                yield unknown(f, "number or option", number[1:-1], known)
        options = [(o, v) for e in wiring.elements for o, v in e.only_when.items()]
        options += [(o, v) for s in sequence.steps for o, values in s.drives_when.items() for v in values]
        for option, value in options:
            if option not in f.options:
                yield unknown(f, "option", option, f.options)
            elif value not in f.options[option].values:
                yield unknown(f, f"value of option {option}:", value, f.options[option].values)
        for name, option_entry in f.options.items():
            if option_entry.usual not in option_entry.values:
                yield unknown(f, f"value of option {name}:", option_entry.usual, option_entry.values)
        for name, spread in f.numbers.items():
            if spread.between[0] > spread.between[1]:
                yield Problem(place_of(f), f"{name} has its ends the wrong way round.", "Put the smaller one first.")


def _effects(part: Part, k: Knowledge) -> Iterator[Effect]:
    own = [e for f in part.failures for e in f.effects]
    yield from own
    if part.kind in k.kind:
        yield from (e for f in k.kind[part.kind].failures for e in f.effects)


def _parts(k: Knowledge) -> Iterator[Problem]:
    elements = {e.element for w in k.wiring.values() for e in w.elements}
    quantities = {n for f in k.furnace.values() for n in f.numbers}
    inputs = {n for s in k.sequence.values() for n in s.inputs} | {"logic"}
    for part in k.part.values():
        if part.kind is not None and part.kind not in k.kind:
            yield unknown(part, "kind", part.kind, k.kind)
            continue
        if part.kind is not None and part.element not in elements:
            yield unknown(part, "element", str(part.element), elements)
        if part.kind is None and not part.failures:
            yield Problem(place_of(part), f"Part {part.part} has no failures.", "Give it a kind, or failures of its own.")
        names = [f.failure for f in part.failures]
        for name in sorted({n for n in names if names.count(n) > 1}):
            yield Problem(place_of(part), f"Part {part.part} has failure {name} twice.", "Give one of them another id.")
        inherited = {f.failure for f in k.kind[part.kind].failures} if part.kind else set()
        for name in part.leaves_out:
            if name not in inherited:
                yield unknown(part, "failure of its kind", name, inherited)
        for effect in _effects(part, k):
            for target, known in ((effect.element, elements | {"self"}), (effect.quantity, quantities), (effect.input, inputs)):
                if target is not None and target not in known:
                    yield unknown(part, "thing to act on", target, known)


def _points(k: Knowledge) -> Iterator[Problem]:
    nodes = {n for w in k.wiring.values() for n in w.nodes}
    elements = {e.element for w in k.wiring.values() for e in w.elements}
    wound = {e.element for w in k.wiring.values() for e in w.elements if e.core}
    steps = {s.step for q in k.sequence.values() for s in q.steps}
    for p in k.point.values():
        for node in p.leads or ():
            if node not in nodes:
                yield unknown(p, "node", node, nodes)
        if p.reads is not None:
            way, _, path = p.reads.partition(":")
            for element in path.split("+") if path else ():
                if way not in READS_OF_ELEMENT or element not in elements:
                    yield unknown(p, "reading", f"{way}:{element}", [f"{r}:{e}" for r in READS_OF_ELEMENT for e in sorted(elements)])
                if way == "amps" and element in wound:
                    fix = "Read the current in the wire that feeds it."
                    yield Problem(place_of(p), f"The current of winding {element} cannot be read alone.", fix)
            if way != "ohms" and "+" in path:
                yield Problem(place_of(p), f"Only ohms add up along several elements, not {way}.", "Name one element.")
            if not path and p.reads not in READS:
                yield unknown(p, "reading", p.reads, READS)
        for step in [*p.steps, *(s for e in p.expects for s in e.steps)]:
            if step not in steps:
                yield unknown(p, "step", step, steps)
        for caution in p.cautions:
            if caution not in k.caution:
                yield unknown(p, "caution", caution, k.caution)


def _signs(k: Knowledge) -> Iterator[Problem]:
    steps = {s.step for q in k.sequence.values() for s in q.steps}
    for sign in k.sign.values():
        if sign.shows is not None and sign.shows not in SHOWS:
            yield unknown(sign, "thing to show", sign.shows, SHOWS)
        if sign.shows in SHOWS:
            can = SHOWS[sign.shows]
            for value in sign.values:
                for word in sign.reads_as.get(value, (value,)):
                    if word not in can:
                        yield unknown(sign, f"word of {sign.shows}", word, can)
        for value in [*sign.reads_as, *(g.value for g in sign.goes_with)]:
            if value not in sign.values:
                yield unknown(sign, "value", value, sign.values)
        for step in sign.steps:
            if step not in steps:
                yield unknown(sign, "step", step, steps)
        for g in sign.goes_with:
            yield from _known_failure(sign, g.part, g.failure, k)
        for other in sign.says_same_as:
            if other not in k.sign and other not in k.point:
                yield unknown(sign, "sign or point", other, [*k.sign, *k.point])
    for event in k.event.values():
        for target in event.likelier:
            part, _, failure = target.partition(":")
            yield from _known_failure(event, part, failure or None, k)


def _known_failure(entry: Placed, part: str, failure: str | None, k: Knowledge) -> Iterator[Problem]:
    if part not in k.part:
        yield unknown(entry, "part", part, k.part)
        return
    own = {f.failure for f in k.part[part].failures}
    kind = k.part[part].kind
    own |= {f.failure for f in k.kind[kind].failures} if kind in k.kind else set()
    if failure is not None and failure not in own:
        yield unknown(entry, f"failure of {part}:", failure, own)


def _needed(k: Knowledge) -> Iterator[Problem]:
    for kind in ("wiring", "sequence", "furnace", "part", "point", "sign", "words"):
        if not getattr(k, kind):
            yield Problem(None, f"The rules hold no {kind}.", "Add one, or give the folder of the program's own rules too.")
