"""Checks across rule files: every id that an entry names must stand somewhere."""

from __future__ import annotations

import math
from collections.abc import Iterator
from difflib import get_close_matches

from furnace_diag.knowledge.find import Names, Spelling, spelling_of, values_of
from furnace_diag.knowledge.models import Effect, Hazard, Knowledge, Part, Placed, Point, Wiring, Words
from furnace_diag.knowledge.words import SHOWS
from furnace_diag.problems import Place, Problem

READS = ("flame_current", "draft", "inlet_pressure", "manifold_pressure", "temperature_rise", "static_pressure",
         "burner_ground_ohms", "rod_ohms_to_case", "rod_wire_ohms", "seconds_to_blower", "seconds_of_flame", "seconds_to_draft")
READS_OF_ELEMENT = ("amps", "ohms", "microfarads")


def cross_check(knowledge: Knowledge) -> list[Problem]:
    """What is wrong between entries that are right by themselves."""
    checks = (_wirings, _sequences, _furnaces, _parts, _points, _signs, _hazards, _names, _needed)
    return [problem for check in checks for problem in check(knowledge)]


def _place(entry: Placed) -> Place | None:
    file, _, line = entry.at.rpartition(":")
    return Place(file, int(line), 1) if line.isdigit() else None


def _unknown(entry: Placed, what: str, name: str, known: object) -> Problem:
    names = sorted(str(k) for k in known)  # type: ignore[attr-defined]
    near = get_close_matches(name, names, 1)
    fix = f"Did you mean {near[0]}?" if near else f"Use one of: {', '.join(names[:12])}{', ...' if len(names) > 12 else ''}."
    return Problem(_place(entry), f"There is no {what} {name}.", fix)


def _wirings(k: Knowledge) -> Iterator[Problem]:
    for wiring in k.wiring.values():
        seen: set[str] = set()
        joined: set[str] = set()
        for e in wiring.elements:
            if e.element in seen:
                yield Problem(_place(wiring), f"Element {e.element} is there twice.", "Give one of them another id.")
            seen.add(e.element)
            for node in e.between or ():
                joined.add(node)
                if node not in wiring.nodes:
                    yield _unknown(wiring, "node", node, wiring.nodes)
            if e.core is not None and e.core not in wiring.cores:
                yield _unknown(wiring, "core", e.core, wiring.cores)
        if wiring.ground not in wiring.nodes:
            yield _unknown(wiring, "node", wiring.ground, wiring.nodes)
        for node in sorted(set(wiring.nodes) - joined):
            yield Problem(_place(wiring), f"Nothing is joined to node {node}.", "Join it with an element, or take it out.")
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
        yield Problem(_place(wiring), f"Node {node} floats: no part joins it to {wiring.ground}.", "Join it, or take it out.")


def _sources_shorted(wiring: Wiring) -> Iterator[Problem]:
    pairs: dict[frozenset[str], str] = {}
    for e in wiring.elements:
        if e.kind == "source" and e.between:
            pair = frozenset(e.between)
            if len(pair) == 1 or pair in pairs:
                other = pairs.get(pair, "itself")
                yield Problem(_place(wiring), f"Source {e.element} is shorted to {other}.", "Give each source two nodes of its own.")
            pairs[pair] = e.element


def _sequences(k: Knowledge) -> Iterator[Problem]:
    for sequence in k.sequence.values():
        steps = {s.step for s in sequence.steps}
        goes = {s.step: {leave.go for leave in s.leave} | ({s.then} if s.then else set()) for s in sequence.steps}
        for name in [sequence.starts_at, *sequence.order, *(g for targets in goes.values() for g in targets)]:
            if name not in steps:
                yield _unknown(sequence, "step", name, steps)
        known = set(sequence.inputs) | {"trials spent"}
        for s in sequence.steps:
            if (s.lasts is None) != (s.then is None):
                yield Problem(_place(sequence), f"Step {s.step} needs both `lasts` and `then`, or neither.", "Add the other one.")
            for name in (c.removeprefix("not ") for leave in s.leave for c in leave.if_):
                if name not in known:
                    yield _unknown(sequence, "input", name, known)
        reached, todo = {sequence.starts_at}, [sequence.starts_at]
        while todo:
            new = goes.get(todo.pop(), set()) - reached
            reached |= new
            todo += new
        for step in sorted(steps - reached):
            yield Problem(_place(sequence), f"Step {step} can never be reached.", "Let a step go to it, or take it out.")


def _furnaces(k: Knowledge) -> Iterator[Problem]:
    for f in k.furnace.values():
        if f.wiring not in k.wiring:
            yield _unknown(f, "wiring", f.wiring, k.wiring)
            continue
        if f.sequence not in k.sequence:
            yield _unknown(f, "sequence", f.sequence, k.sequence)
            continue
        known = set(f.numbers) | set(f.options)
        wiring, sequence = k.wiring[f.wiring], k.sequence[f.sequence]
        numbers = [n for e in wiring.elements for n in (e.ohms, e.volts, e.turns, e.microfarads, e.hot_times)]
        numbers += [i.at_least for i in sequence.inputs.values()] + [s.lasts for s in sequence.steps if s.lasts]
        for number in dict.fromkeys(n for n in numbers if n.startswith("<")):
            if number[1:-1] not in known:
                yield _unknown(f, "number or option", number[1:-1], known)
        options = [(o, v) for e in wiring.elements for o, v in e.only_when.items()]
        options += [(o, v) for s in sequence.steps for o, values in s.drives_when.items() for v in values]
        for option, value in options:
            if option not in f.options:
                yield _unknown(f, "option", option, f.options)
            elif value not in f.options[option].values:
                yield _unknown(f, f"value of option {option}:", value, f.options[option].values)
        for name, option_entry in f.options.items():
            if option_entry.usual not in option_entry.values:
                yield _unknown(f, f"value of option {name}:", option_entry.usual, option_entry.values)
        for name, spread in f.numbers.items():
            if spread.between[0] > spread.between[1]:
                yield Problem(_place(f), f"{name} has its ends the wrong way round.", "Put the smaller one first.")


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
            yield _unknown(part, "kind", part.kind, k.kind)
            continue
        if part.kind is not None and part.element not in elements:
            yield _unknown(part, "element", str(part.element), elements)
        if part.kind is None and not part.failures:
            yield Problem(_place(part), f"Part {part.part} has no failures.", "Give it a kind, or failures of its own.")
        names = [f.failure for f in part.failures]
        for name in sorted({n for n in names if names.count(n) > 1}):
            yield Problem(_place(part), f"Part {part.part} has failure {name} twice.", "Give one of them another id.")
        inherited = {f.failure for f in k.kind[part.kind].failures} if part.kind else set()
        for name in part.leaves_out:
            if name not in inherited:
                yield _unknown(part, "failure of its kind", name, inherited)
        for effect in _effects(part, k):
            for target, known in ((effect.element, elements | {"self"}), (effect.quantity, quantities), (effect.input, inputs)):
                if target is not None and target not in known:
                    yield _unknown(part, "thing to act on", target, known)


def _points(k: Knowledge) -> Iterator[Problem]:
    nodes = {n for w in k.wiring.values() for n in w.nodes}
    elements = {e.element for w in k.wiring.values() for e in w.elements}
    wound = {e.element for w in k.wiring.values() for e in w.elements if e.core}
    steps = {s.step for q in k.sequence.values() for s in q.steps}
    for p in k.point.values():
        for node in p.leads or ():
            if node not in nodes:
                yield _unknown(p, "node", node, nodes)
        if p.reads is not None:
            way, _, element = p.reads.partition(":")
            if element and (way not in READS_OF_ELEMENT or element not in elements):
                yield _unknown(p, "reading", p.reads, [f"{r}:{e}" for r in READS_OF_ELEMENT for e in sorted(elements)])
            if way == "amps" and element in wound:
                fix = "Read the current in the wire that feeds it."
                yield Problem(_place(p), f"The current of winding {element} cannot be read alone.", fix)
            if not element and p.reads not in READS:
                yield _unknown(p, "reading", p.reads, READS)
        for step in [*p.steps, *(s for e in p.expects for s in e.steps)]:
            if step not in steps:
                yield _unknown(p, "step", step, steps)
        for caution in p.cautions:
            if caution not in k.caution:
                yield _unknown(p, "caution", caution, k.caution)
        yield from _read_elsewhere(p, k)


def _read_elsewhere(p: Point, k: Knowledge) -> Iterator[Problem]:
    """The points that read the same thing further along the wire must be there, read the same kind of thing, and not lead back."""
    for key, name in (("at_crimp", p.at_crimp), ("at_load", p.at_load)):
        if name is None:
            continue
        if name not in k.point:
            yield _unknown(p, "point", name, k.point)
        elif k.point[name].unit != p.unit or k.point[name].function != p.function:
            yield Problem(_place(p), f"{key}: {name} does not read what {p.point} reads.", f"Name a point with {p.function} in {p.unit}.")
        elif p.point in (name, k.point[name].at_crimp, k.point[name].at_load):
            yield Problem(_place(p), f"{key}: {name} leads back to {p.point}.", "Name the point further along the wire.")


def _signs(k: Knowledge) -> Iterator[Problem]:
    steps = {s.step for q in k.sequence.values() for s in q.steps}
    for sign in k.sign.values():
        if sign.shows is not None and sign.shows not in SHOWS:
            yield _unknown(sign, "thing to show", sign.shows, SHOWS)
        if sign.shows in SHOWS:
            can = SHOWS[sign.shows]
            for value in sign.values:
                for word in sign.reads_as.get(value, (value,)):
                    if word not in can:
                        yield _unknown(sign, f"word of {sign.shows}", word, can)
        for value in [*sign.reads_as, *(g.value for g in sign.goes_with)]:
            if value not in sign.values:
                yield _unknown(sign, "value", value, sign.values)
        for step in sign.steps:
            if step not in steps:
                yield _unknown(sign, "step", step, steps)
        for g in sign.goes_with:
            yield from _known_failure(sign, g.part, g.failure, k)
        for other in sign.says_same_as:
            if other not in k.sign and other not in k.point:
                yield _unknown(sign, "sign or point", other, [*k.sign, *k.point])
    for event in k.event.values():
        for target in event.likelier:
            part, _, failure = target.partition(":")
            yield from _known_failure(event, part, failure or None, k)


def _known_failure(entry: Placed, part: str, failure: str | None, k: Knowledge) -> Iterator[Problem]:
    if part not in k.part:
        yield _unknown(entry, "part", part, k.part)
        return
    own = {f.failure for f in k.part[part].failures}
    kind = k.part[part].kind
    own |= {f.failure for f in k.kind[kind].failures} if kind in k.kind else set()
    if failure is not None and failure not in own:
        yield _unknown(entry, f"failure of {part}:", failure, own)


def _hazards(k: Knowledge) -> Iterator[Problem]:
    for h in k.hazard.values():
        for line in h.when:
            if "sign" in line and line["sign"] in k.sign:
                if line.get("is") not in k.sign[line["sign"]].values:
                    yield _unknown(h, f"value of {line['sign']}:", str(line.get("is")), k.sign[line["sign"]].values)
            elif "point" in line and line["point"] in k.point:
                yield from _bounds(h, line)
                yield from _also_elsewhere(h, line, k)
            else:
                yield _unknown(h, "sign or point", str(line.get("sign") or line.get("point")), [*k.sign, *k.point])


def _also_elsewhere(hazard: Hazard, line: dict[str, str], k: Knowledge) -> Iterator[Problem]:
    """A danger on a pin is one on its crimp and at its load too: a report's reading may be moved there."""
    point = k.point[line["point"]]
    for other in (point.at_crimp, point.at_load):
        if other is not None and {**line, "point": other} not in hazard.when:
            fix = f"Add the same line for {other}."
            yield Problem(_place(hazard), f"{point.point} of {hazard.hazard} may be read as {other}, which it does not watch.", fix)


def _bounds(hazard: Hazard, line: dict[str, str]) -> Iterator[Problem]:
    given = [line[key] for key in ("at_least", "at_most") if key in line]
    for text in given:
        try:
            number = float(text)
        except ValueError:
            number = math.nan
        if not math.isfinite(number):
            yield Problem(_place(hazard), f"{text} is not a number.", "Write a number in the point's own unit.")
    if not given:
        yield Problem(_place(hazard), f"The line about {line['point']} has no bound.", "Add at_least or at_most.")


def _names(k: Knowledge) -> Iterator[Problem]:
    """No name may mean two entries of one kind, and no word two values of one sign."""
    words = next(iter(k.words.values()), None)
    if words is None:
        return
    spelling = spelling_of(words)
    steps = {s.step: s for q in k.sequence.values() for s in q.steps}
    for kind, table in {"part": k.part, "point": k.point, "sign": k.sign, "event": k.event, "step": steps}.items():
        entries = {i: e.also_called for i, e in table.items()}  # type: ignore[attr-defined]
        for name, ids in Names(entries, spelling).doubles().items():
            yield Problem(_place(_placed(k, kind, ids[-1])), f'"{name}" would mean {kind}s {" and ".join(ids)}.', "Take it out of one of their `also_called`.")
    yield from _short_words(words, spelling)
    for sign in k.sign.values():
        for value in sign.value_words:
            if value not in sign.values:
                yield _unknown(sign, "value", value, sign.values)
        for name, values in values_of(sign, words).doubles().items():
            yield Problem(_place(sign), f'"{name}" would mean {" and ".join(values)} of {sign.sign}.', "Take it out of one of their words.")


def _placed(k: Knowledge, kind: str, name: str) -> Placed:
    """The entry that a name stands in; a step stands in its sequence."""
    if kind == "step":
        return next(q for q in k.sequence.values() if any(s.step == name for s in q.steps))
    found: Placed = getattr(k, kind)[name]
    return found


def _short_words(words: Words, spelling: Spelling) -> Iterator[Problem]:
    """A short word stands for one thing, and what it stands for is not shortened again."""
    every = [s for short in words.short_words.values() for s in short]
    for name in sorted({s for s in every if every.count(s) > 1}):
        yield Problem(_place(words), f'The short word "{name}" stands for two things.', "Take it out of one of them.")
    for long in words.short_words:
        if spelling(long) != Spelling()(long):
            yield Problem(_place(words), f'"{long}" holds a short word itself.', "Spell it out.")


def _needed(k: Knowledge) -> Iterator[Problem]:
    for kind in ("wiring", "sequence", "furnace", "part", "point", "sign", "words"):
        if not getattr(k, kind):
            yield Problem(None, f"The rules hold no {kind}.", "Add one, or give the folder of the program's own rules too.")
