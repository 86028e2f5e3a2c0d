"""Checks across rule files: every id that an entry names must stand somewhere."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Any

from furnace_diag.knowledge.find import Names
from furnace_diag.knowledge.finding_checks import finding_problems
from furnace_diag.knowledge.model_base import Placed, named_by
from furnace_diag.knowledge.models import Effect, Furnace, Knowledge, Part, Point, Sequence, Sign, State, Trial, Wiring, Words
from furnace_diag.knowledge.naming import place_of, unknown, unknowns
from furnace_diag.knowledge.repair_checks import repair_problems
from furnace_diag.knowledge.spelling import Spelling, plain, spelling_of
from furnace_diag.knowledge.trial_checks import trial_problems
from furnace_diag.knowledge.values import EARLIER_REPAIR, values_of
from furnace_diag.knowledge.words import OF_A_CALL, SHOWS, words_of
from furnace_diag.problems import Problem, printable

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
        yield from unknowns(question, "step", [question.due], steps)
        sign = k.sign.get(question.sign)
        if sign is None:
            yield unknown(question, "sign", question.sign, k.sign)
            continue
        for value in (*question.keys.values(), *question.ends, *filter(None, [question.yes_is])):
            if value not in sign.values:
                yield unknown(question, "value", value, sign.values)
        yield from (unknown(question, "sign", name, k.sign) for name in question.or_of if name not in k.sign)
        for name, values in (*question.answered_by.items(), *question.only_after.items()):
            if name not in k.sign:
                yield unknown(question, "sign", name, k.sign)
                continue
            yield from unknowns(question, f"value of {name}", values, k.sign[name].values)
    for row in k.row.values():
        yield from unknowns(row, "point", row.points, k.point)


def _wirings(k: Knowledge) -> Iterator[Problem]:
    for wiring in k.wiring.values():
        elements = [e.element for e in wiring.elements]
        joined = {node for e in wiring.elements for node in e.between or ()}
        for element in _twice(elements):
            yield Problem(place_of(wiring), f"Element {element} is there twice.", "Give one of them another id.")
        for e in wiring.elements:
            yield from unknowns(wiring, "node", e.between or (), wiring.nodes)
            yield from unknowns(wiring, "core", [e.core], wiring.cores)
        yield from unknowns(wiring, "node", [wiring.ground], wiring.nodes)
        for node in sorted(set(wiring.nodes) - joined):
            yield Problem(place_of(wiring), f"Nothing is joined to node {node}.", "Join it with an element, or take it out.")
        for taken in wiring.taken_off:
            yield from unknowns(wiring, "node", [taken.at], wiring.nodes)
            yield from unknowns(wiring, "element", taken.opens, elements)
        yield from unknowns(wiring, "element", [wiring.isolator], elements)
        yield from _adrift(wiring)
        yield from _sources_shorted(wiring)


def _twice(names: list[str]) -> list[str]:
    """Those of *names* that are there more than once, each once."""
    return sorted({name for name in names if names.count(name) > 1})


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
        alike = [name for s in sequence.steps for name in (s.seen_as, s.read_during) if name]
        meant = [*since, *alike, roles.off, roles.string_open, roles.unwanted_flame, sequence.heat_call.step, *(c.step for c in sequence.other_calls)]
        yield from unknowns(sequence, "step", [sequence.starts_at, *sequence.order, *meant, *(g for targets in goes.values() for g in targets)], steps)
        known = set(sequence.inputs) | {f"{s.counts} spent" for s in sequence.steps if s.counts}
        for s in sequence.steps:
            if (s.lasts is None) != (s.then is None):
                yield Problem(place_of(sequence), f"Step {s.step} needs both `lasts` and `then`, or neither.", "Add the other one.")
            yield from unknowns(sequence, "input", (c.removeprefix("not ") for leave in s.leave for c in leave.if_), known)
            yield from unknowns(sequence, f"output of step {s.step}:", (held.output for held in s.held_back), s.may_drive)
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
        yield from unknowns(sequence, "output or input", (each for names in accessory.goes_with.values() for each in names), driven | set(sequence.inputs))
    for name in sorted({o for s in sequence.steps for o in s.drives if o in sequence.accessories}):
        yield Problem(place_of(sequence), f"Accessory {name} is driven by a step too.", "Take it out of the step, or out of the accessories.")
    counted = {s.counts for s in sequence.steps if s.counts}
    yield from unknowns(sequence, "counter", (c for s in sequence.steps for c in s.clears), counted)


def _furnaces(k: Knowledge) -> Iterator[Problem]:
    for f in k.furnace.values():
        if f.wiring not in k.wiring:
            yield unknown(f, "wiring", f.wiring, k.wiring)
            continue
        if f.sequence not in k.sequence:
            yield unknown(f, "sequence", f.sequence, k.sequence)
            continue
        yield from _numbers_and_options(f, k.wiring[f.wiring], k.sequence[f.sequence])
        for name, spread in f.numbers.items():
            if spread.between[0] > spread.between[1]:
                yield Problem(place_of(f), f"{name} has its ends the wrong way round.", "Put the smaller one first.")
            yield from _of_another(f, name)


def _numbers_and_options(f: Furnace, wiring: Wiring, sequence: Sequence) -> Iterator[Problem]:
    """The numbers and options that wiring and sequence go by must be those of the furnace."""
    numbers = [n for e in wiring.elements for n in (e.ohms, e.volts, e.turns, e.microfarads, e.hot_times, e.size)] + [c.size for c in wiring.cores.values()]
    numbers += [i.at_least for i in sequence.inputs.values()] + [s.lasts for s in sequence.steps if s.lasts]
    named = dict.fromkeys(n.removeprefix("<").removesuffix(">") for n in numbers if n.startswith("<"))
    yield from unknowns(f, "number or option", named, {*f.numbers, *f.options})
    yield from unknowns(f, "number", (held.by for s in sequence.steps for held in s.held_back), f.numbers)
    options = [(o, v) for e in wiring.elements for o, v in e.only_when.items()]
    options += [(o, v) for s in sequence.steps for o, values in s.drives_when.items() for v in values]
    options += [(o, v) for s in sequence.steps for leave in s.leave for o, v in leave.only_when.items()]
    options += [(o, v) for s in sequence.steps for o, values in s.counted_from.items() for v in values]
    options += [(a.option, v) for a in sequence.accessories.values() for v in a.goes_with]
    options += [(s.counts, f.options[s.counts].usual if s.counts in f.options else "") for s in sequence.steps if s.counts]
    options += [(name, option.usual) for name, option in f.options.items()]
    for option, value in options:
        if option not in f.options:
            yield unknown(f, "option", option, f.options)
        else:
            yield from unknowns(f, f"value of option {option}:", [value], f.options[option].values)


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
    moving |= {name for call in (sequence.heat_call, *sequence.other_calls) for name in call.made_by}
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
        if part.kind is not None:
            yield from unknowns(part, "element", [str(part.element)], elements)
        if part.kind is None and not part.failures:
            yield Problem(place_of(part), f"Part {part.part} has no failures.", "Give it a kind, or failures of its own.")
        yield from _alike(part, k)
        for name in _twice([f.failure for f in part.failures]):
            yield Problem(place_of(part), f"Part {part.part} has failure {name} twice.", "Give one of them another id.")
        inherited = {f.failure for f in k.kind[part.kind].failures} if part.kind else set()
        yield from unknowns(part, "failure of its kind", part.leaves_out, inherited)
        yield from _wanted_options(part, k)
        for target in (*part.disturbs, *part.refit_renews):
            disturbed, _, its = target.partition(":")
            yield from _known_failure(part, disturbed, its or None, k)
        for effect in _effects(part, k):
            for named, known in ((effect.element, elements | {"self"}), (effect.quantity, quantities), (effect.input, inputs)):
                yield from unknowns(part, "thing to act on", [named], known)


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
    steps = {s.step for q in k.sequence.values() for s in q.steps}
    for p in k.point.values():
        yield from unknowns(p, "node", p.leads or (), nodes)
        if p.reads is not None:
            yield from _reads(p, p.reads, k)
        yield from unknowns(p, "step", [*p.steps, *(s for e in p.expects for s in e.steps)], steps)
        yield from unknowns(p, "caution", p.cautions, k.caution)
        yield from _read_elsewhere(p, k)
    never = [*((p, p.never_is) for p in k.point.values()), *((s, s.never_is) for s in k.sign.values())]
    for each, told in never:
        yield from unknowns(each, "sign", told, k.sign)
        yield from (x for sign, value in told.items() if sign in k.sign for x in unknowns(each, f"value of {sign}", [value], k.sign[sign].values))


def _reads(p: Point, reads: str, k: Knowledge) -> Iterator[Problem]:
    """What a point without leads reads: one of READS, a number of the furnace, or amps, ohms or microfarads of an element."""
    elements = {e.element for w in k.wiring.values() for e in w.elements}
    wound = {e.element for w in k.wiring.values() for e in w.elements if e.core}
    way, _, path = reads.partition(":")
    names = path.split("+") if path else []
    if way == "number" and names:
        yield from unknowns(p, "number", names, {n for f in k.furnace.values() for n in f.numbers})
    elif names:
        yield from unknowns(p, "reading", [f"{way}:{name}" for name in names], [f"{r}:{e}" for r in READS_OF_ELEMENT for e in sorted(elements)])
    else:
        yield from unknowns(p, "reading", [reads], READS)
    for name in names if way == "amps" else ():
        if name in wound:
            yield Problem(place_of(p), f"The current of winding {name} cannot be read alone.", "Read the current in the wire that feeds it.")
    if way != "ohms" and len(names) > 1:
        yield Problem(place_of(p), f"Only ohms add up along several elements, not {way}.", "Name one element.")


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
            meant = [word for value in sign.values for word in sign.meant_by(value)]
            yield from unknowns(sign, "word of what it shows:", meant, can)
        yield from unknowns(sign, "value", [*sign.reads_as, *(g.value for g in sign.goes_with)], sign.values)
        yield from unknowns(sign, "step", sign.steps, steps)
        yield from unknowns(sign, "step of its own", [sign.tells_of], sign.steps)
        for name, words in sign.seen_only_with.items():
            other = k.sign.get(name)
            yield from unknowns(sign, "sign of the virtual furnace", [name], [n for n, s in k.sign.items() if s.shows is not None])
            yield from unknowns(sign, f"value of {name}", words, other.values if other is not None else words)
        for g in sign.goes_with:
            yield from _known_failure(sign, g.part, g.failure, k)
        yield from _answered(sign, k)
        yield from unknowns(sign, "sign or point", sign.says_same_as, [*k.sign, *k.point])
    for event in k.event.values():
        for target in event.likelier:
            part, _, failure = target.partition(":")
            yield from _known_failure(event, part, failure or None, k)


def _answered(sign: Sign, k: Knowledge) -> Iterator[Problem]:
    """What a furnace of a drill answers a check by must be read by some point, or be told of a call, and its words be those of the check."""
    if (mark := sign.against_mark) is not None:
        yield from unknowns(sign, "point", [mark.point], k.point)
        yield from unknowns(sign, "value", mark.values, sign.values)
    by = sign.answered_by
    if by is None:
        return
    if not sign.only_for_proof and sign.shows is not None:
        yield Problem(place_of(sign), f"{sign.sign} is no check, so nothing else may answer it.", "Leave answered_by out, or add only_for_proof.")
    reads = [*OF_A_CALL, *(p.reads for p in k.point.values() if p.reads)]
    yield from unknowns(sign, "reading", [by.reads], reads)
    numbers = {n for f in k.furnace.values() for n in f.numbers}
    yield from unknowns(sign, "number", (by.less, by.share_of), numbers)
    yield from unknowns(sign, "value", by.values, sign.values)
    yield from unknowns(sign, "step", by.steps, {s.step for q in k.sequence.values() for s in q.steps})


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
    """A failure may depend on an option of some furnace, but not on one that numbers depend on: these are drawn before it."""
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
    yield from unknowns(entry, f"failure of {part}:", [failure], own)


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
    yield from unknowns(words, "point", (name for both in words.claims.in_and_out.values() for name in both), k.point)
    yield from _repair_said(words)
    yield from _complained_of(k)
    yield from _called_dangers(k)
    every = [*k.point, *k.sign, *k.event]
    yield from (p for ids in words.several_names.values() for p in unknowns(words, "point, sign or event", ids, every))
    for signs in words.told_by_value.values():
        yield from unknowns(words, "sign", signs, k.sign)
        for name, word in ((n, w) for n, said in signs.items() if n in k.sign for w in said):
            if len(values_of(k.sign[name], words).meant(re.sub(r"\bn\b", "5", word))) != 1:
                yield Problem(place_of(words), f'"{printable(word)}" is no value of {name}.', "Write one of its words.")
    yield from unknowns(words, "part", (part for parts in words.claims.stands.values() for part in parts), k.part)
    yield from _dangers_said(words, k)
    yield from unknowns(words, "step", words.step_tells, {s.step for q in k.sequence.values() for s in q.steps})
    yield from unknowns(words, "sign", (*words.step_tells.values(), *words.denied_of.values()), k.sign)
    yield from unknowns(words, "value", words.value_besides.bad_in_part, {v for s in k.sign.values() for v in s.values})
    yield from unknowns(words, "part", (part for parts in words.several_parts.values() for part in parts), k.part)
    yield from unknowns(words, "repair", words.told_mended, k.repair)
    for sign in k.sign.values():
        yield from _could_be(sign, words, k)
        yield from _put_right(sign, k)
        yield from unknowns(sign, "value", sign.value_words, sign.values)
        yield from unknowns(sign, "value", (*sign.in_complaints, *sign.not_in_complaints_with), sign.values)
        for name, values in values_of(sign, words).doubles().items():
            yield Problem(place_of(sign), f'"{name}" would mean {" and ".join(values)} of {sign.sign}.', "Take it out of one of their words.")


def _dangers_said(words: Words, k: Knowledge) -> Iterator[Problem]:
    """Each row of words that tells of a danger is about a sign of a hazard, and its groups of words are listed."""
    said = words.claims.said_of_dangers
    hazards = {w.sign for hazard in k.hazard.values() for way in hazard.when for w in way if w.sign}
    tables = (said.in_a_row, said.in_a_sentence, said.over_in_a_row, said.by_figure)
    rows = [row for signs in tables for each in signs.values() for row in each]
    yield from unknowns(words, "sign of a hazard", (*(sign for signs in tables for sign in signs), *said.passes), hazards)
    rows += [*said.harmless, *said.harmless_there, *(row for both in (*said.harmless_with, *said.harmless_there_with) for row in both)]
    yield from (p for row in rows for p in unknowns(words, "group of words", row, said.words))
    dangers = {(w.sign, value) for hazard in k.hazard.values() for way in hazard.when for w in way if w.sign for value in w.is_}
    for sign in said.by_figure:
        if sign in k.sign and k.sign[sign].figures is None:
            yield Problem(place_of(words), f"`by_figure` names {sign}, which has no `figures`.", "Give the sign `figures`.")
    for sign in dict.fromkeys((*said.in_a_row, *said.in_a_sentence, *said.over_in_a_row)):
        if sign in hazards and (sign, said.told_as.get(sign, "yes")) not in dangers:
            fix = "Name under `told_as` the value of it that its words tell, which must be one of a hazard."
            yield Problem(place_of(words), f"What `said_of_dangers` tells of {sign} is no danger.", fix)


def _called_dangers(k: Knowledge) -> Iterator[Problem]:
    """What a sign is called where it tells of a danger is of a sign of a hazard."""
    hazards = {w.sign for hazard in k.hazard.values() for way in hazard.when for w in way if w.sign}
    for sign in k.sign.values():
        if sign.as_danger is not None and sign.sign not in hazards:
            yield Problem(place_of(sign), f"{sign.sign} has `as_danger`, and no hazard knows it.", "Take it out.")


def _complained_of(k: Knowledge) -> Iterator[Problem]:
    """Each phrase of a complaint begins with a word and tells one thing."""
    meant: dict[str, tuple[Sign, str]] = {}
    for sign, value, said in ((s, v, p) for s in k.sign.values() for v, p in s.ways_in_complaints()):
        phrase = plain(said)
        if not phrase or said.lstrip().startswith("."):
            yield Problem(place_of(sign), f'"{printable(said)}" of {sign.sign} begins with no word.', "Begin the phrase with a word; ... stands between words.")
        other, its = meant.setdefault(phrase, (sign, value))
        if (other, its) != (sign, value):
            yield Problem(place_of(sign), f'"{printable(phrase)}" is said of {other.sign} ({its}) and of {sign.sign} ({value}).', "Keep it with one of them.")


def _could_be(sign: Sign, words: Words, k: Knowledge) -> Iterator[Problem]:
    """What could be several things names at least two of them, and is no word of one value."""
    names = values_of(sign, words)
    for word, things in sign.could_be.items():
        if len(things) < 2 or names.clear(word):
            fix = "Name two at least, and take it out of `value_words`."
            yield Problem(place_of(sign), f'"{printable(word)}" of {sign.sign} could not be several things.', fix)
        for other, colon, told in (t.partition(": ") for t in things):
            value, at, step = told.partition(" at ")
            if colon and (other not in k.sign or value not in k.sign[other].values or (at and step not in k.sign[other].steps)):
                fix = "Write SIGN: VALUE, SIGN: VALUE at STEP, a value of the sign itself, or words."
                yield Problem(place_of(sign), f"There is no sign {other} with a value {told}.", fix)
        yield from unknowns(sign, "could_be", (t.removeprefix(EARLIER_REPAIR) for t in things if t.startswith(EARLIER_REPAIR)), k.part)


def _put_right(sign: Sign, k: Knowledge) -> Iterator[Problem]:
    """What a value says to be put right stops a visit, and that value does not; what is to be read again is there, and how it is typed means it."""
    stops = {v for hazard in k.hazard.values() for way in hazard.when for w in way if w.sign == sign.sign for v in w.is_}
    for value, right in sign.put_right.items():
        yield from unknowns(sign, "value of a hazard", right.of, stops)
        yield from unknowns(sign, "point or sign", right.read_again, [*k.point, *k.sign])
        yield from unknowns(sign, "part", [right.mends] if right.mends else [], k.part)
        if value in stops:
            yield Problem(place_of(sign), f"{value} of {sign.sign} stops a visit itself.", "Take it out of the hazard.")


def _placed(k: Knowledge, kind: str, name: str) -> Placed:
    """The entry that a name stands in; a step stands in its sequence."""
    if kind == "step":
        return next(q for q in k.sequence.values() if any(s.step == name for s in q.steps))
    found: Placed = getattr(k, kind)[name]
    return found


def _repair_said(words: Words) -> Iterator[Problem]:
    """The halves of what is said of a repair are there, and together mean one thing."""
    said = words.repair_said
    yield from unknowns(words, "repair_said", (*said.means, *said.says_more, *(w for more in said.says_more.values() for w in more)), words.history)
    yield from unknowns(words, "repair_said", (a for halves in said.means.values() for a, _ in halves), said.done)
    yield from unknowns(words, "repair_said", (b for halves in said.means.values() for _, b in halves), said.then)
    both = [pair for halves in said.means.values() for pair in halves]
    for one, other in sorted({pair for pair in both if both.count(pair) > 1}):
        yield Problem(place_of(words), f'"{one}" and then "{other}" would mean two things.', "Take it out of one of them.")


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
