"""Rule entries in readable prose, with the file and line where each stands."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from furnace_diag.diagnosis.taking import line_in_words
from furnace_diag.furnace.family import failures_of
from furnace_diag.knowledge.find import Names
from furnace_diag.knowledge.finding_models import Band, Condition, Finding, Hazard, Proof, When
from furnace_diag.knowledge.model_base import Placed
from furnace_diag.knowledge.models import ENTRY_TYPES, Knowledge, Part, Point, Sign, Step
from furnace_diag.problems import BadInput, Problem, printable
from furnace_diag.quantities import format_quantity


def wrapped(text: str, width: int) -> list[str]:
    """Paragraph lines of *text*, each wrapped to *width*."""
    return [line for part in text.split("\n") for line in (textwrap.wrap(part, width, subsequent_indent="  ") or [""])]


def matching(knowledge: Knowledge, words: tuple[str, ...]) -> list[Point | Sign]:
    """Points and signs in whose names or descriptions every word stands."""
    entries: dict[str, Point | Sign] = {**knowledge.point, **knowledge.sign}
    texts = {name: f"{e.says} {e.where or ''} {' '.join(getattr(e, 'values', ()))}" for name, e in entries.items()}
    names = Names({name: e.also_called for name, e in entries.items()})
    return [entries[i] for i in (names.holding(words, texts) if words else list(entries))]


def list_lines(entries: list[Point | Sign], width: int) -> Iterator[str]:
    """One short paragraph for each point or sign."""
    for e in entries:
        if isinstance(e, Point):
            yield f"point {e.point} [{e.unit}]"
        else:
            yield from textwrap.wrap(f"sign {e.sign} [{' | '.join(e.values)}]", width, subsequent_indent="  ")
        yield from textwrap.wrap(e.says, width, initial_indent="  ", subsequent_indent="  ")


def explained(knowledge: Knowledge, identifier: str) -> str:
    """Prose about an id: part, part:failure, point, sign, step, option or any other entry.

    Raises BadInput for an unknown id, with the nearest ones.
    """
    part, _, failure = identifier.partition(":")
    if failure and part in knowledge.part:
        return _failure(knowledge, part, failure)
    entry = knowledge.entry(identifier)
    if entry is not None:
        return _entry(knowledge, entry)
    step = next((s for q in knowledge.sequence.values() for s in q.steps if s.step == identifier), None)
    if step is not None:
        return _step(knowledge, step)
    for furnace in knowledge.furnace.values():
        if identifier in furnace.options:
            option = furnace.options[identifier]
            values = ", ".join(f"{v} ({share:g})" for v, share in option.values.items())
            return f"{identifier}: an option of {furnace.furnace}.\n{option.says}\nValues and how often: {values}. Usual: {option.usual}.\n{furnace.at}"
    parts = [p.part for p in knowledge.part.values() if any(f.failure == identifier for f in failures_of(p, knowledge))]
    if parts:
        return "\n\n".join(_failure(knowledge, part, identifier) for part in parts)
    raise _unknown(knowledge, identifier)


def _unknown(knowledge: Knowledge, identifier: str) -> BadInput:
    everything = {i: getattr(e, "also_called", ()) for kind in ENTRY_TYPES for i, e in getattr(knowledge, kind).items()}
    everything |= {s.step: s.also_called for q in knowledge.sequence.values() for s in q.steps}
    names = Names(everything)
    near = list(dict.fromkeys([*names.meant(identifier), *names.nearest(identifier)]))
    fix = f"Did you mean {' or '.join(near)}?" if near else "furnace-diag points lists what can be read; furnace-diag rules odds lists the parts."
    return BadInput([Problem(None, f"Nothing is called {printable(identifier)}.", fix)])


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
        return "\n".join([*head, *_ways(knowledge, entry.any_of), f"Source: {entry.source}", entry.at])
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


def _ways(knowledge: Knowledge, when: When) -> list[str]:
    return [f"- {'; and '.join(line_in_words(w, knowledge) for w in alternative)}" for alternative in when]


def _part(knowledge: Knowledge, part: Part) -> str:
    lines = [f"{part.part}: a part, {part.often.replace('_', ' ')} as the cause.", part.says, "It fails in these ways:"]
    lines += [f"- {f.failure}: {f.says}." for f in failures_of(part, knowledge)]
    if part.also_called:
        lines.append(f"Also called: {', '.join(part.also_called)}.")
    return "\n".join([*lines, f"Source: {part.source}", part.at])


def _failure(knowledge: Knowledge, part: str, failure: str) -> str:
    found = {f.failure: f for f in failures_of(knowledge.part[part], knowledge)}
    if failure not in found:
        raise BadInput([Problem(None, f"{part} does not fail as {printable(failure)}.", f"Its failures: {', '.join(found)}.")])
    f = found[failure]
    total = sum(other.share for other in found.values())
    does = "; ".join(_effect(e.model_dump(by_alias=True, exclude_none=True)) for e in f.effects)
    lines = [f"{part}:{failure}", f"In this failure {f.says}.", f"About {f.share / total:.0%} of this part's failures.", f"In the virtual furnace: {does}."]
    return "\n".join([*lines, f"Source: {f.source}", knowledge.part[part].at])


def _effect(effect: dict[str, object]) -> str:
    target = next(effect.pop(k) for k in ("element", "quantity", "input") if k in effect)
    what, value = next(iter(effect.items()))
    return f"{target} {what.replace('_', ' ')} {' to '.join(map(str, value)) if isinstance(value, tuple) else value}"


def _point(knowledge: Knowledge, p: Point) -> str:
    lines = [f"{p.point}: a point to read, {p.function.replace('_', ' ')} [{p.unit}].", p.says, f"Where: {p.where}"]
    for e in p.expects:
        low, high = format_quantity(e.low, p.unit), format_quantity(e.high, p.unit)
        lines.append(f"Healthy, in {', '.join(s.replace('_', ' ') for s in e.steps)}: {low} to {high} ({e.source}).")
    if p.lookalikes:
        lines.append(f"Mind: {p.lookalikes}")
    lines += [f"Caution: {knowledge.caution[c].says}" for c in p.cautions]
    lines.append(f"About {p.minutes:g} min. Makes sense in: {', '.join(s.replace('_', ' ') for s in p.steps)}.")
    return "\n".join([*lines, f"Source: {p.source}", p.at])


def _sign(knowledge: Knowledge, s: Sign) -> str:
    lines = [f"{s.sign}: a sign; one of {', '.join(s.values)}.", s.says]
    if s.where:
        lines.append(f"Where: {s.where}")
    lines += [f"{g.value} goes with {g.part}{':' + g.failure if g.failure else ''}: {g.how.replace('_', ' ')}." for g in s.goes_with]
    lines += [f"Caution: {knowledge.caution[c].says}" for c in s.cautions]
    return "\n".join([*lines, f"Source: {s.source}", s.at])


def _step(knowledge: Knowledge, step: Step) -> str:
    sequence = next(q for q in knowledge.sequence.values() if step in q.steps)
    drives = ", ".join(step.drives) or "nothing"
    leaves = [f"- to {leave.go} when {' and '.join(leave.if_) or 'nothing else applies'}{_options(leave.only_when)}" for leave in step.leave]
    lasts = [f"Otherwise after {step.lasts.strip('<>').replace('_', ' ')}: to {step.then}."] if step.lasts and step.then else []
    head = [f"{step.step}: a step of the heat call.", f"{step.says[0].upper()}{step.says[1:]}.", f"It drives: {drives}.", "It leaves:"]
    return "\n".join([*head, *leaves, *lasts, sequence.at])


def _options(only_when: dict[str, str]) -> str:
    """On which furnaces a line holds, where not on all."""
    return f" (where {' and '.join(f'{option} is {value}' for option, value in only_when.items())})" if only_when else ""
