"""Rule entries in readable prose, with the file and line where each stands."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Mapping

from furnace_diag.diagnosis.taking import line_in_words
from furnace_diag.furnace.family import failures_of
from furnace_diag.knowledge.find import Names
from furnace_diag.knowledge.finding_models import Band, Condition, Finding, Hazard, Proof, When
from furnace_diag.knowledge.model_base import Placed
from furnace_diag.knowledge.models import ENTRY_TYPES, Event, Experiment, Knowledge, Part, Point, Sign, Step
from furnace_diag.knowledge.repair_models import Check, Repair
from furnace_diag.knowledge.repairs import cautions_of, checks_after, checks_before, confirms_in_words, repairs_for, repairs_of
from furnace_diag.knowledge.spelling import plain, spelling_of
from furnace_diag.problems import BadInput, Problem, printable
from furnace_diag.quantities import format_quantity

MOST_OTHERS = 6  # further entries of the same name that are told


def wrapped(text: str, width: int) -> list[str]:
    """Paragraph lines of *text*, each wrapped to *width*."""
    return [line for part in text.split("\n") for line in (textwrap.wrap(part, width, subsequent_indent="  ") or [""])]


def matching(knowledge: Knowledge, words: tuple[str, ...]) -> list[Point | Sign | Event]:
    """Points, signs and events in whose names or descriptions every word begins a word; those whose names hold them all come first."""
    entries = _written_down(knowledge)
    said = {name: f"{getattr(e, 'where', None) or ''} {' '.join(getattr(e, 'values', ()))}" for name, e in entries.items()}
    texts = {name: f"{e.says} {'event' if isinstance(e, Event) else said[name]}" for name, e in entries.items()}
    return [entries[i] for i in (_names_of(knowledge, entries).holding(words, texts) if words else list(entries))]


def near(knowledge: Knowledge, words: tuple[str, ...]) -> list[str]:
    """Points, signs and events whose names come nearest to *words*, nearest first; none where none is a sensible guess."""
    return _names_of(knowledge, _written_down(knowledge)).suggested(" ".join(words))


def _written_down(knowledge: Knowledge) -> dict[str, Point | Sign | Event]:
    """Whatever a report can hold but for repairs, by id."""
    return {**knowledge.point, **knowledge.sign, **knowledge.event}


def _names_of(knowledge: Knowledge, entries: Mapping[str, object]) -> Names:
    spelling = spelling_of(next(iter(knowledge.words.values())))
    return Names({name: getattr(e, "also_called", ()) for name, e in entries.items()}, spelling)


def list_lines(entries: list[Point | Sign | Event], width: int) -> Iterator[str]:
    """One short paragraph for each point, sign or event."""
    for e in entries:
        if isinstance(e, Event):
            yield f"event {e.event}"
        elif isinstance(e, Point):
            yield f"point {e.point} [{e.unit}]"
        else:
            yield from textwrap.wrap(f"{_sort(e)} {e.sign} [{' | '.join(e.values)}]", width, subsequent_indent="  ")
        yield from textwrap.wrap(e.says, width, initial_indent="  ", subsequent_indent="  ")


def explained(knowledge: Knowledge, text: str) -> tuple[str, str]:
    """The id that *text* names and prose about it: a part, part:failure, point, sign, step, option or any other entry.

    An id comes before other names; what else is called so is told at the end. Raises BadInput for what nothing is called,
    with the nearest names.
    """
    found = _meant(knowledge, text) if plain(text) else []
    if not found:
        raise _unknown(knowledge, text)
    (kind, identifier), others = found[0], found[1:]
    prose = _prose(knowledge, kind, identifier)
    if others:
        prose += "\n" + f"Called so too: {', '.join(f'{k} {i}' for k, i in others[:MOST_OTHERS])}."
    return identifier, prose


def _tables(knowledge: Knowledge) -> dict[str, dict[str, tuple[str, ...]]]:
    """Everything that can be explained: of each kind the ids, with what else each is called."""
    tables = {kind: {i: getattr(e, "also_called", ()) for i, e in getattr(knowledge, kind).items()} for kind in ENTRY_TYPES}
    tables["sign"] = {i: also for i, also in tables["sign"].items() if i not in tables["experiment"]}
    tables["step"] = {s.step: s.also_called for q in knowledge.sequence.values() for s in q.steps}
    tables["option"] = {o: () for f in knowledge.furnace.values() for o in f.options}
    tables["failure"] = {f"{p.part}:{f.failure}": f.also_called for p in knowledge.part.values() for f in failures_of(p, knowledge)}
    return {kind: tables[kind] for kind in ("part", "point", "sign", "experiment", "step", "option", "failure", *(t for t in tables if t in ENTRY_TYPES))}


def _meant(knowledge: Knowledge, text: str) -> list[tuple[str, str]]:
    """(kind, id) of all that *text* names, the plainest first: by id, then by other names, then the failures that are called so."""
    spelling = spelling_of(next(iter(knowledge.words.values())))
    tables = _tables(knowledge)
    part, colon, failure = text.partition(":")
    if colon:
        parts = Names(tables["part"], spelling).meant(part)
        if len(parts) == 1 and plain(failure):
            return [("failure", f"{parts[0]}:{_failure_meant(knowledge, parts[0], failure)}")]
    hits = [(kind, i) for kind, table in tables.items() for i in Names(table, spelling).meant(text)]
    hits += [("failure", i) for i in tables["failure"] if plain(i.partition(":")[2]) == plain(text)]
    by_id = [h for h in hits if plain(h[1]) == plain(text)]
    return list(dict.fromkeys([*by_id, *hits]))


def _prose(knowledge: Knowledge, kind: str, identifier: str) -> str:
    if kind == "failure":
        return _failure(knowledge, *identifier.split(":"))
    if kind == "step":
        return _step(knowledge, next(s for q in knowledge.sequence.values() for s in q.steps if s.step == identifier))
    if kind == "option":
        return _option(knowledge, identifier)
    return _entry(knowledge, getattr(knowledge, kind)[identifier])


def _option(knowledge: Knowledge, identifier: str) -> str:
    furnace = next(f for f in knowledge.furnace.values() if identifier in f.options)
    option = furnace.options[identifier]
    values = ", ".join(f"{v} ({share:g})" for v, share in option.values.items())
    return f"{identifier}: an option of {furnace.furnace}.\n{option.says}\nValues and how often: {values}. Usual: {option.usual}.\n{furnace.at}"


def _unknown(knowledge: Knowledge, text: str) -> BadInput:
    everything = {i: also for table in reversed(_tables(knowledge).values()) for i, also in table.items()}
    close = Names(everything, spelling_of(next(iter(knowledge.words.values())))).suggested(text)
    fix = f"Did you mean {' or '.join(close)}?" if close else "furnace-diag points lists what can be read; furnace-diag rules odds lists the parts."
    return BadInput([Problem(None, f"Nothing is called {printable(text) or 'by no name'}.", fix)])


def _entry(knowledge: Knowledge, entry: Placed) -> str:
    if isinstance(entry, Part):
        return _part(knowledge, entry)
    if isinstance(entry, Point):
        return _point(knowledge, entry)
    if isinstance(entry, Sign):
        return _sign(knowledge, entry)
    if isinstance(entry, Finding):
        return _finding(knowledge, entry)
    if isinstance(entry, Proof):
        return _proof(knowledge, entry)
    if isinstance(entry, Condition):
        head = [f"{entry.condition}: a condition of proofs.", f"{entry.says}.", "Met by any of:"]
        against = ["Denied by any of:", *_ways(knowledge, tuple((w,) for w in entry.denied_by))] if entry.denied_by else []
        return "\n".join([*head, *_ways(knowledge, entry.any_of), *against, f"Source: {entry.source}", entry.at])
    if isinstance(entry, Repair):
        return _repair(knowledge, entry)
    if isinstance(entry, Check):
        return _check(knowledge, entry)
    if isinstance(entry, Band):
        return "\n".join([f"{entry.band}: a range of readings, {entry.says}.", f"Source: {entry.source}", entry.at])
    kind = next(k for k, t in ENTRY_TYPES.items() if isinstance(entry, t))
    says = getattr(entry, "says", "")
    return f"{getattr(entry, kind)}: {kind}.\n{says}\nSource: {getattr(entry, 'source', 'not stated')}\n{entry.at}"


def _finding(knowledge: Knowledge, entry: Finding) -> str:
    kind = next(k for k, t in ENTRY_TYPES.items() if isinstance(entry, t))
    head = f"{getattr(entry, kind)}: a finding, {kind.replace('_', ' ')}{f' number {entry.rank}' if isinstance(entry, Hazard) else ''}."
    tells = [f"{name.capitalize()}: {getattr(entry, name)}" for name in ("now", "call", "do", "look", "accept") if hasattr(entry, name)]
    about = [f"{word}: {', '.join(getattr(entry, key))}." for word, key in (("Clears", "clears"), ("Kills", "kills")) if hasattr(entry, key)]
    return "\n".join([head, entry.says, *tells, *about, "It holds by any of:", *_ways(knowledge, entry.when), f"Source: {entry.source}", entry.at])


def _proof(knowledge: Knowledge, entry: Proof) -> str:
    needs = [f"- {knowledge.condition[n].says}{' (once)' if knowledge.condition[n].once else ''} ({n})" for n in entry.needs]
    head = [f"{entry.proof}: a proof of {' or '.join(entry.of)}.", f"{entry.says}.", f"It needs, in {entry.calls} heat call{'s' if entry.calls > 1 else ''}:"]
    return "\n".join([*head, *needs, f"Because: {entry.because}", f"Not so: {entry.near_miss.because}", f"Source: {entry.source}", entry.at])


def _repair(knowledge: Knowledge, entry: Repair) -> str:
    lines = [f"{entry.repair}: a repair of {', '.join(entry.of)}.", entry.says]
    conditions = {c.condition: f"{c.says} ({c.condition})" for c in knowledge.condition.values()}
    lines += [f"Confirm first: {conditions.get(c) or confirms_in_words(knowledge, c)}" for c in entry.confirm]
    lines += [f"Confirm first, of {failure}: {confirms_in_words(knowledge, c)}" for failure, names in entry.confirm_of.items() for c in names]
    if entry.needs_proof:
        lines.append("Not before a proof of the failure is complete.")
    lines += [f"Prove before the first step: {c.says} ({c.check})" for c in checks_before(knowledge, entry)]
    lines += [f"Caution: {knowledge.caution[c].says}" for c in cautions_of(knowledge, entry)]
    for number, step in enumerate(entry.steps, 1):
        minds = f" [mind: {', '.join(c.replace('_', ' ') for c in step.cautions)}]" if step.cautions else ""
        lines.append(f"{number}. {step.do}{minds}")
    lines += ["Prove afterwards, in this order:", *(f"- {c.says}{_calls(c)} ({c.check})" for c in checks_after(knowledge, entry))]
    return "\n".join([*lines, f"Source: {entry.source}", entry.at])


def _check(knowledge: Knowledge, entry: Check) -> str:
    users = [r.repair for r in knowledge.repair.values() if entry in (*checks_before(knowledge, r), *checks_after(knowledge, r))]
    lines = [f"{entry.check}: a check of repairs{_calls(entry)}.", f"{entry.says}.", "Met by any of:", *_ways(knowledge, entry.any_of)]
    lines += [f"To do: {entry.take}"] if entry.take else []
    lines.append(f"It proves: {'any repair' if entry.after_any_repair else ', '.join(users)}.")
    return "\n".join([*lines, f"Source: {entry.source}", entry.at])


def _calls(check: Check) -> str:
    """In how many heat calls it is to be met, where one is not enough."""
    return f" in {check.calls} heat calls" if check.calls > 1 else ""


def _ways(knowledge: Knowledge, when: When) -> list[str]:
    return [f"- {'; and '.join(line_in_words(w, knowledge) for w in alternative)}" for alternative in when]


def _part(knowledge: Knowledge, part: Part) -> str:
    lines = [f"{part.part}: a part, {part.often.replace('_', ' ')} as the cause.", part.says, "It fails in these ways:"]
    lines += [f"- {f.failure}: {f.says}." for f in failures_of(part, knowledge)]
    lines.append(f"Repairs: {', '.join(r.repair for r in repairs_of(knowledge, part.part))}.")
    if part.also_called:
        lines.append(f"Also called: {', '.join(part.also_called)}.")
    return "\n".join([*lines, f"Source: {part.source}", part.at])


def _failure_meant(knowledge: Knowledge, part: str, text: str) -> str:
    """The failure of *part* that *text* names. Raises BadInput with all its failures, the nearest first, where that is none."""
    spelling = spelling_of(next(iter(knowledge.words.values())))
    names = Names({f.failure: f.also_called for f in failures_of(knowledge.part[part], knowledge)}, spelling)
    meant = names.meant(text)
    if len(meant) == 1:
        return meant[0]
    ranked = list(dict.fromkeys([*meant, *names.suggested(text), *names.ids]))
    raise BadInput([Problem(None, f"{part} has no failure called {printable(text.strip())}.", f"Its failures: {', '.join(ranked)}.")])


def _failure(knowledge: Knowledge, part: str, failure: str) -> str:
    found = {f.failure: f for f in failures_of(knowledge.part[part], knowledge)}
    f = found[failure]
    total = sum(other.share for other in found.values())
    does = "; ".join(_effect({name: it for name, it in e.as_written().items() if it is not None}) for e in f.effects)
    lines = [f"{part}:{failure}", f"In this failure {f.says}.", f"About {f.share / total:.0%} of this part's failures."]
    lines.append(f"In the virtual furnace{_options(f.only_when)}: {does}.")
    lines.append(f"Repair: {repairs_for(knowledge, part, failure).repair}.")
    return "\n".join([*lines, f"Source: {f.source}", knowledge.part[part].at])


def _effect(effect: dict[str, object]) -> str:
    target = next(effect.pop(k) for k in ("element", "quantity", "input") if k in effect)
    what, value = next(iter(effect.items()))
    return f"{target} {what.replace('_', ' ')} {' to '.join(map(str, value)) if isinstance(value, list) else value}"


def _point(knowledge: Knowledge, p: Point) -> str:
    lines = [f"{p.point}: a point to read, {p.function.replace('_', ' ')} [{p.unit}].", p.says, f"Where: {p.where}"]
    for e in p.expects:
        low, high = format_quantity(e.low, p.unit), format_quantity(e.high, p.unit)
        lines.append(f"Healthy, in {', '.join(s.replace('_', ' ') for s in e.steps)}: {low} to {high} ({e.source}).")
    if p.lookalikes:
        lines.append(f"Mind: {p.lookalikes}")
    lines += [f"Caution: {knowledge.caution[c].says}" for c in p.cautions]
    lines += [f"On the {place}: {other}." for place, other in (("wire's crimp", p.at_crimp), ("load's end of the wire", p.at_load)) if other]
    lines.append(f"About {p.minutes:g} min. Makes sense in: {', '.join(s.replace('_', ' ') for s in p.steps)}.")
    return "\n".join([*lines, f"Source: {p.source}", p.at])


def _sign(knowledge: Knowledge, s: Sign) -> str:
    lines = [f"{s.sign}: {'an' if _sort(s) == 'experiment' else 'a'} {_sort(s)}; one of {', '.join(s.values)}.", s.says]
    if isinstance(s, Experiment):
        lines += [f"First: {need}" for need in s.needs]
    if s.where:
        lines.append(f"Where: {s.where}")
    lines += [f"{value}: also {', '.join(words)}." for value, words in s.value_words.items()]
    lines += [f"{g.value} goes with {g.part}{':' + g.failure if g.failure else ''}: {g.how.replace('_', ' ')}." for g in s.goes_with]
    lines += [f"Caution: {knowledge.caution[c].says}" for c in s.cautions]
    lines += [f"About {s.minutes:g} min."] if isinstance(s, Experiment) else []
    return "\n".join([*lines, f"Source: {s.source}", s.at])


def _sort(s: Sign) -> str:
    """Whether a sign is only seen, or brought about."""
    return "experiment" if isinstance(s, Experiment) else "sign"


def _step(knowledge: Knowledge, step: Step) -> str:
    sequence = next(q for q in knowledge.sequence.values() if step in q.steps)
    drives = ", ".join(step.drives) or "nothing"
    leaves = [f"- to {leave.go} when {' and '.join(leave.if_) or 'nothing else applies'}{_options(leave.only_when)}" for leave in step.leave]
    lasts = [f"Otherwise after {step.lasts.strip('<>').replace('_', ' ')}: to {step.then}."] if step.lasts and step.then else []
    way = [f"To get there: {step.reached_by}"] if step.reached_by else []
    head = [f"{step.step}: a step of the heat call.", f"{step.says[0].upper()}{step.says[1:]}.", *way]
    head += [f"It drives: {drives}.", "It leaves:"]
    return "\n".join([*head, *leaves, *lasts, sequence.at])


def _options(only_when: dict[str, str]) -> str:
    """On which furnaces a line holds, where not on all."""
    return f" (where {' and '.join(f'{option} is {value}' for option, value in only_when.items())})" if only_when else ""
