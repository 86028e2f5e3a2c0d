"""Checks across rule files: every id that an entry names must stand somewhere."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Any

from furnace_diag.knowledge.find import Names, Spelling, spelling_of, values_of
from furnace_diag.knowledge.finding_checks import finding_problems
from furnace_diag.knowledge.model_base import Placed
from furnace_diag.knowledge.models import Effect, Furnace, Knowledge, Part, Point, Sequence, Sign, State, Trial, Wiring, Words, named_by
from furnace_diag.knowledge.naming import place_of, unknown
from furnace_diag.knowledge.repair_checks import repair_problems
from furnace_diag.knowledge.trial_checks import trial_problems
from furnace_diag.knowledge.words import OF_A_CALL, SHOWS, words_of
from furnace_diag.problems import Problem

NUMERIC = re.compile(r"\d{1,9}(\.\d{1,9})?")
READS = ("flame_current", "draft", "inlet_pressure", "manifold_pressure", "temperature_rise", "static_pressure",
         "seconds_to_blower", "seconds_of_flame", "seconds_to_draft")
READS_OF_ELEMENT = ("amps", "ohms", "microfarads")


def cross_check(knowledge: Knowledge) -> list[Problem]:
    """What is wrong between entries that are right by themselves."""
    checks = (_wirings, _sequences, _furnaces, _machines, _parts, _points, _signs, _visit, finding_problems, repair_problems, _names, _needed)
    return [problem for check in checks for problem in check(knowledge)]


def _visit(k: Knowledge) -> Iterator[Problem]:
    """What a visit asks and takes together."""
    steps = {step.step for sequence in k.sequence.values() for step in sequence.steps}
    for question in k.question.values():
        if question.due is not None and question.due not in steps:
            yield unknown(question, "step", question.due, steps)
        sign = k.sign.get(question.sign)
        if sign is None:
            yield unknown(question, "sign", question.sign, k.sign)
            continue
        for value in (*question.keys.values(), *question.ends):
            if value not in sign.values:
                yield unknown(question, "value", value, sign.values)
        for name, values in question.answered_by.items():
            if name not in k.sign:
                yield unknown(question, "sign", name, k.sign)
                continue
            yield from (unknown(question, f"value of {name}", value, k.sign[name].values) for value in values if value not in k.sign[name].values)
    for row in k.row.values():
        for point in row.points:
            if point not in k.point:
                yield unknown(row, "point", point, k.point)


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
        for taken in wiring.taken_off:
            if taken.at is not None and taken.at not in wiring.nodes:
                yield unknown(wiring, "node", taken.at, wiring.nodes)
            for element in (e for e in taken.opens if e not in seen):
                yield unknown(wiring, "element", element, seen)
        if wiring.isolator is not None and wiring.isolator not in seen:
            yield unknown(wiring, "element", wiring.isolator, seen)
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
        roles = sequence.roles
        since = [step for s in sequence.steps for values in s.counted_from.values() for step in values.values()]
        meant = [*since, roles.off, roles.string_open, roles.unwanted_flame, sequence.heat_call.step, *(c.step for c in sequence.other_calls)]
        for name in [sequence.starts_at, *sequence.order, *meant, *(g for targets in goes.values() for g in targets)]:
            if name not in steps:
                yield unknown(sequence, "step", name, steps)
        known = set(sequence.inputs) | {f"{s.counts} spent" for s in sequence.steps if s.counts}
        for s in sequence.steps:
            if (s.lasts is None) != (s.then is None):
                yield Problem(place_of(sequence), f"Step {s.step} needs both `lasts` and `then`, or neither.", "Add the other one.")
            for name in (c.removeprefix("not ") for leave in s.leave for c in leave.if_):
                if name not in known:
                    yield unknown(sequence, "input", name, known)
        yield from _accessories(sequence)
        reached, todo = {sequence.starts_at}, [sequence.starts_at]
        while todo:
            new = goes.get(todo.pop(), set()) - reached
            reached |= new
            todo += new
        for step in sorted(steps - reached):
            yield Problem(place_of(sequence), f"Step {step} can never be reached.", "Let a step go to it, or take it out.")


def _accessories(sequence: Sequence) -> Iterator[Problem]:
    """What accessories go with must be driven or sensed; counters that are cleared must be counted."""
    driven = _outputs(sequence) - set(sequence.accessories)
    for accessory in sequence.accessories.values():
        for name in (each for names in accessory.goes_with.values() for each in names):
            if name not in driven | set(sequence.inputs):
                yield unknown(sequence, "output or input", name, driven | set(sequence.inputs))
    for name in sorted({o for s in sequence.steps for o in s.drives if o in sequence.accessories}):
        yield Problem(place_of(sequence), f"Accessory {name} is driven by a step too.", "Take it out of the step, or out of the accessories.")
    counted = {s.counts for s in sequence.steps if s.counts}
    for counter in (c for s in sequence.steps for c in s.clears):
        if counter not in counted:
            yield unknown(sequence, "counter", counter, counted)


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
        numbers = [n for e in wiring.elements for n in (e.ohms, e.volts, e.turns, e.microfarads, e.hot_times, e.size)] + [c.size for c in wiring.cores.values()]
        numbers += [i.at_least for i in sequence.inputs.values()] + [s.lasts for s in sequence.steps if s.lasts]
        for number in dict.fromkeys(n for n in numbers if n.startswith("<")):
            if number[1:-1] not in known:
                yield unknown(f, "number or option", number[1:-1], known)
        for name in (s.lasts_times for s in sequence.steps if s.lasts_times):
            if name not in f.numbers:
                yield unknown(f, "number", name, f.numbers)
        options = [(o, v) for e in wiring.elements for o, v in e.only_when.items()]
        options += [(o, v) for s in sequence.steps for o, values in s.drives_when.items() for v in values]
        options += [(o, v) for s in sequence.steps for leave in s.leave for o, v in leave.only_when.items()]
        options += [(o, v) for s in sequence.steps for o, values in s.counted_from.items() for v in values]
        options += [(a.option, v) for a in sequence.accessories.values() for v in a.goes_with]
        options += [(s.counts, f.options[s.counts].usual if s.counts in f.options else "") for s in sequence.steps if s.counts]
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
            yield from _of_another(f, name)


def _of_another(furnace: Furnace, name: str) -> Iterator[Problem]:
    """What a number is a multiple of, and what changes its ends."""
    spread, numbers = furnace.numbers[name], list(furnace.numbers)
    before = numbers[: numbers.index(name)]
    if spread.of in furnace.options:
        if not all(NUMERIC.fullmatch(value) for value in furnace.options[spread.of].values):
            yield Problem(place_of(furnace), f"{name} is a multiple of {spread.of}, whose values are not all numbers.", "Name a number, or another option.")
    elif spread.of is not None and spread.of not in before:
        yield unknown(furnace, "number or option above it", spread.of, [*before, *furnace.options])
    for option, ends in spread.instead.items():
        if option not in furnace.options:
            yield unknown(furnace, "option", option, furnace.options)
            continue
        for value, (low, high) in ends.items():
            if value not in furnace.options[option].values:
                yield unknown(furnace, f"value of option {option}:", value, furnace.options[option].values)
            if low > high:
                yield Problem(place_of(furnace), f"{name} has its ends the wrong way round for {option} {value}.", "Put the smaller one first.")


def _outputs(sequence: Sequence) -> set[str]:
    driven = {o for s in sequence.steps for o in s.may_drive}
    return driven | set(sequence.accessories)


def _known_by(furnace: Furnace, k: Knowledge) -> dict[str, set[str]]:
    """The ids that stand in a family, by what they are."""
    wiring, sequence = k.wiring[furnace.wiring], k.sequence[furnace.sequence]
    turning = {e.core for e in wiring.elements if e.kind == "rotor"}
    return {
        "element": {e.element for e in wiring.elements if e.kind != "rotor"},
        "winding": {e.element for e in wiring.elements if e.kind == "coil" and e.core in turning},
        "node": set(wiring.nodes),
        "number": set(furnace.numbers),
        "input": {name for name, i in sequence.inputs.items() if i.between},
        "output": _outputs(sequence),
    }


def _machines(k: Knowledge) -> Iterator[Problem]:
    for f in k.furnace.values():
        if f.wiring not in k.wiring or f.sequence not in k.sequence:
            continue
        known = _known_by(f, k)
        for machine in type(f.machines).model_fields:
            for field, what, name in named_by(getattr(f.machines, machine)):
                if name not in known[what]:
                    yield unknown(f, f"{what} for {field} of the {machine.replace('_', ' ')}:", name, known[what])
        yield from _auxiliary(f, k)
        yield from _moved(f, k)


def _auxiliary(f: Furnace, k: Knowledge) -> Iterator[Problem]:
    """The auxiliary winding must leave from an end of the main one, or nobody knows which way round it is."""
    ends = {e.element: set(e.between or ()) for e in k.wiring[f.wiring].elements}
    m = f.machines.blower
    if m.main in ends and m.auxiliary in ends and not ends[m.main] & ends[m.auxiliary]:
        yield Problem(place_of(f), f"Winding {m.auxiliary} does not start at an end of {m.main}.", "Let them share a node, as in the motor.")


def _moved(f: Furnace, k: Knowledge) -> Iterator[Problem]:
    """Contacts must follow something that moves, and what moves must have a contact."""
    sequence = k.sequence[f.sequence]
    followed = {e.follows for e in k.wiring[f.wiring].elements if e.follows}
    moving = {f.machines.pressure_switch.moves, f.machines.limit.moves}
    moving |= {name for call in (sequence.heat_call, *sequence.other_calls) for name in (*call.closes, *call.joined, *call.joined_at_thermostat)}
    for name in sorted(moving - followed):
        yield unknown(f, "contact that follows", name, followed)
    joined = {name for s in k.sign.values() if isinstance(s.shows, Trial) for go in s.shows.tries for name in go.joins}
    for name in sorted(followed - moving - joined - _outputs(sequence)):
        yield unknown(f, "output, call or machine that moves contacts named", name, moving | joined | _outputs(sequence))


def _effects(part: Part, k: Knowledge) -> Iterator[Effect]:
    own = [e for f in part.failures for e in f.effects]
    yield from own
    if part.kind in k.kind:
        yield from (e for f in k.kind[part.kind].failures for e in f.effects)


def _parts(k: Knowledge) -> Iterator[Problem]:
    elements = {e.element for w in k.wiring.values() for e in w.elements}
    quantities = {n for f in k.furnace.values() for n in f.numbers}
    inputs = {n for s in k.sequence.values() for n in s.inputs} | {i.hidden_by for s in k.sequence.values() for i in s.inputs.values() if i.hidden_by}
    for part in k.part.values():
        if part.kind is not None and part.kind not in k.kind:
            yield unknown(part, "kind", part.kind, k.kind)
            continue
        if part.kind is not None and part.element not in elements:
            yield unknown(part, "element", str(part.element), elements)
        if part.kind is None and not part.failures:
            yield Problem(place_of(part), f"Part {part.part} has no failures.", "Give it a kind, or failures of its own.")
        names = [f.failure for f in part.failures]
        yield from _alike(part, k)
        for name in sorted({n for n in names if names.count(n) > 1}):
            yield Problem(place_of(part), f"Part {part.part} has failure {name} twice.", "Give one of them another id.")
        inherited = {f.failure for f in k.kind[part.kind].failures} if part.kind else set()
        for name in part.leaves_out:
            if name not in inherited:
                yield unknown(part, "failure of its kind", name, inherited)
        yield from _wanted_options(part, k)
        for target in part.disturbs:
            disturbed, _, its = target.partition(":")
            yield from _known_failure(part, disturbed, its or None, k)
        for effect in _effects(part, k):
            for named, known in ((effect.element, elements | {"self"}), (effect.quantity, quantities), (effect.input, inputs)):
                if named is not None and named not in known:
                    yield unknown(part, "thing to act on", named, known)


def _alike(part: Part, k: Knowledge) -> Iterator[Problem]:
    """A failure like another must have one to be like, and nothing of its own."""
    kind = k.kind.get(part.kind or "")
    plain = {f.failure for f in (*part.failures, *(kind.failures if kind else ())) if f.like is None}
    steps = {s.step for q in k.sequence.values() for s in q.steps}
    driven = {o for q in k.sequence.values() for s in q.steps for o in s.may_drive}
    for f in part.failures:
        if f.like is not None and f.like not in plain:
            yield unknown(part, f"failure of {part.part} to be like:", f.like, plain)
        if f.like is not None and f.effects:
            yield Problem(place_of(part), f"{f.failure} is like {f.like} and has effects of its own.", "Leave one of them out.")
        if f.comes_and_goes and f.comes_and_goes.from_step not in (None, *steps):
            yield unknown(part, "step", str(f.comes_and_goes.from_step), steps)
        if f.comes_and_goes and f.trips_with:
            yield Problem(place_of(part), f"{f.failure} both comes and goes and trips the breaker.", "Leave out `comes_and_goes` or `trips_with`.")
        for output in f.trips_with:
            if output not in driven:
                yield unknown(part, "output that a step of a heat call drives", output, driven)


def _points(k: Knowledge) -> Iterator[Problem]:
    nodes = {n for w in k.wiring.values() for n in w.nodes}
    elements = {e.element for w in k.wiring.values() for e in w.elements}
    wound = {e.element for w in k.wiring.values() for e in w.elements if e.core}
    numbers = {n for f in k.furnace.values() for n in f.numbers}
    steps = {s.step for q in k.sequence.values() for s in q.steps}
    for p in k.point.values():
        for node in p.leads or ():
            if node not in nodes:
                yield unknown(p, "node", node, nodes)
        if p.reads is not None:
            way, _, path = p.reads.partition(":")
            names = path.split("+") if path else []
            for name in names:
                if way == "number":
                    if name not in numbers:
                        yield unknown(p, "number", name, numbers)
                elif way not in READS_OF_ELEMENT or name not in elements:
                    yield unknown(p, "reading", f"{way}:{name}", [f"{r}:{e}" for r in READS_OF_ELEMENT for e in sorted(elements)])
                if way == "amps" and name in wound:
                    fix = "Read the current in the wire that feeds it."
                    yield Problem(place_of(p), f"The current of winding {name} cannot be read alone.", fix)
            if way != "ohms" and len(names) > 1:
                yield Problem(place_of(p), f"Only ohms add up along several elements, not {way}.", "Name one element.")
            if not path and p.reads not in READS:
                yield unknown(p, "reading", p.reads, READS)
        for step in [*p.steps, *(s for e in p.expects for s in e.steps)]:
            if step not in steps:
                yield unknown(p, "step", step, steps)
        for caution in p.cautions:
            if caution not in k.caution:
                yield unknown(p, "caution", caution, k.caution)
        yield from _read_elsewhere(p, k)


def _read_elsewhere(p: Point, k: Knowledge) -> Iterator[Problem]:
    """The points that read the same thing further along the wire must be there, read the same kind of thing, and not lead back."""
    for key, name in (("at_crimp", p.at_crimp), ("at_load", p.at_load)):
        if name is None:
            continue
        if name not in k.point:
            yield unknown(p, "point", name, k.point)
        elif k.point[name].unit != p.unit or k.point[name].function != p.function:
            yield Problem(place_of(p), f"{key}: {name} does not read what {p.point} reads.", f"Name a point with {p.function} in {p.unit}.")
        elif p.point in (name, k.point[name].at_crimp, k.point[name].at_load):
            yield Problem(place_of(p), f"{key}: {name} leads back to {p.point}.", "Name the point further along the wire.")


def _signs(k: Knowledge) -> Iterator[Problem]:
    steps = {s.step for q in k.sequence.values() for s in q.steps}
    for sign in k.sign.values():
        if isinstance(sign.shows, str) and sign.shows not in SHOWS:
            yield unknown(sign, "thing to show", sign.shows, SHOWS)
        elif sign.shows is not None:
            yield from _state(sign, k)
            yield from trial_problems(sign, k)
            can = {word for q in k.sequence.values() for word in words_of(sign.shows, q)}
            for value in sign.values:
                for word in sign.reads_as.get(value, (value,)):
                    if word not in can:
                        yield unknown(sign, "word of what it shows:", word, can)
        for value in [*sign.reads_as, *(g.value for g in sign.goes_with)]:
            if value not in sign.values:
                yield unknown(sign, "value", value, sign.values)
        for step in sign.steps:
            if step not in steps:
                yield unknown(sign, "step", step, steps)
        for g in sign.goes_with:
            yield from _known_failure(sign, g.part, g.failure, k)
        yield from _answered(sign, k)
        for other in sign.says_same_as:
            if other not in k.sign and other not in k.point:
                yield unknown(sign, "sign or point", other, [*k.sign, *k.point])
    for event in k.event.values():
        for target in event.likelier:
            part, _, failure = target.partition(":")
            yield from _known_failure(event, part, failure or None, k)


def _answered(sign: Sign, k: Knowledge) -> Iterator[Problem]:
    """What a furnace of a drill answers a check by must be read by some point, or be told of a call, and its words be those of the check."""
    by = sign.answered_by
    if by is None:
        return
    if not sign.only_for_proof and sign.shows is not None:
        yield Problem(place_of(sign), f"{sign.sign} is no check, so nothing else may answer it.", "Leave answered_by out, or add only_for_proof.")
    reads = [*OF_A_CALL, *(p.reads for p in k.point.values() if p.reads)]
    if by.reads not in reads:
        yield unknown(sign, "reading", by.reads, reads)
    numbers = {n for f in k.furnace.values() for n in f.numbers}
    for name in (by.less, by.share_of):
        if name is not None and name not in numbers:
            yield unknown(sign, "number", name, numbers)
    for value in by.values:
        if value not in sign.values:
            yield unknown(sign, "value", value, sign.values)
    for step in by.steps:
        if step not in {s.step for q in k.sequence.values() for s in q.steps}:
            yield unknown(sign, "step", step, {s.step for q in k.sequence.values() for s in q.steps})


def _state(sign: Sign, k: Knowledge) -> Iterator[Problem]:
    """The things that a sign's state names must stand in some furnace."""
    if not isinstance(sign.shows, State):
        return
    families = [_known_by(f, k) for f in k.furnace.values() if f.wiring in k.wiring and f.sequence in k.sequence]
    for _, what, name in named_by(sign.shows):
        known = {each for family in families for each in family[what]}
        if name not in known:
            yield unknown(sign, what, name, known)
    options = {(o, v) for f in k.furnace.values() for o, option in f.options.items() for v in option.values}
    for option, value in sign.shows.or_option.items():
        if (option, value) not in options:
            yield unknown(sign, "option and value", f"{option}: {value}", [f"{o}: {v}" for o, v in options])


def _wanted_options(part: Part, k: Knowledge) -> Iterator[Problem]:
    """A failure may hang on an option of some furnace, but not on one that its numbers hang on: they are drawn before."""
    options = {(o, v) for f in k.furnace.values() for o, option in f.options.items() for v in option.values}
    drawn = {o for f in k.furnace.values() for spread in f.numbers.values() for o in (spread.of, *spread.instead) if o in f.options}
    for failure in part.failures:
        if failure.only_when and failure.comes_and_goes:  # in the calls without it, its furnace would be one without the option
            yield Problem(place_of(part), f"{part.part}:{failure.failure} comes and goes and needs an option.", "Leave out `only_when` or `comes_and_goes`.")
    for option, value in ((o, v) for failure in part.failures for o, v in failure.only_when.items()):
        if (option, value) not in options or option in drawn:
            yield unknown(part, "option and value that no number hangs on", f"{option}: {value}", [f"{o}: {v}" for o, v in options if o not in drawn])


def _known_failure(entry: Placed, part: str, failure: str | None, k: Knowledge) -> Iterator[Problem]:
    if part not in k.part:
        yield unknown(entry, "part", part, k.part)
        return
    own = {f.failure for f in k.part[part].failures}
    kind = k.part[part].kind
    own |= {f.failure for f in k.kind[kind].failures} if kind in k.kind else set()
    if failure is not None and failure not in own:
        yield unknown(entry, f"failure of {part}:", failure, own)


def _names(k: Knowledge) -> Iterator[Problem]:
    """No name may mean two entries of one kind, and no word two values of one sign."""
    words = next(iter(k.words.values()), None)
    if words is None:
        return
    spelling = spelling_of(words)
    tables: list[tuple[str, Mapping[str, Any]]] = [("part", k.part), ("point", k.point), ("sign", k.sign), ("event", k.event)]
    tables += [("step", {s.step: s for s in q.steps}) for q in k.sequence.values()]  # a report is about one sequence
    for kind, table in tables:
        entries = {i: e.also_called for i, e in table.items()}
        for name, ids in Names(entries, spelling).doubles().items():
            place, both = place_of(_placed(k, kind, ids[-1])), " and ".join(ids)
            yield Problem(place, f'"{name}" would mean {kind}s {both}.', "Take it out of one of their `also_called`.")
    yield from _short_words(words, spelling)
    for sign in k.sign.values():
        for value in sign.value_words:
            if value not in sign.values:
                yield unknown(sign, "value", value, sign.values)
        for name, values in values_of(sign, words).doubles().items():
            yield Problem(place_of(sign), f'"{name}" would mean {" and ".join(values)} of {sign.sign}.', "Take it out of one of their words.")


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
        yield Problem(place_of(words), f'The short word "{name}" stands for two things.', "Take it out of one of them.")
    for long in words.short_words:
        if spelling(long) != Spelling()(long):
            yield Problem(place_of(words), f'"{long}" holds a short word itself.', "Spell it out.")


def _needed(k: Knowledge) -> Iterator[Problem]:
    for kind in ("wiring", "sequence", "furnace", "part", "point", "sign", "words"):
        if not getattr(k, kind):
            yield Problem(None, f"The rules hold no {kind}.", "Add one, or give the folder of the program's own rules too.")
