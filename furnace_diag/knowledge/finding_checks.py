"""Checks of rules/findings/ against the rest of the rules: names, bands, steps, and what could never come true."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from typing import Any

from furnace_diag.knowledge.finding_models import FINDINGS, Band, Condition, Hazard, Proof, Wanted
from furnace_diag.knowledge.model_base import Placed
from furnace_diag.knowledge.models import Knowledge
from furnace_diag.knowledge.naming import place_of, unknown, unknowns
from furnace_diag.knowledge.repair_models import Check
from furnace_diag.problems import Problem


def finding_problems(k: Knowledge) -> Iterator[Problem]:
    """What is wrong between the findings and the rest of the rules."""
    for entry, lines in _with_lines(k):
        for line in lines:
            yield from _line(entry, line, k)
    for kind in FINDINGS:
        for entry in getattr(k, kind).values():
            yield from _references(entry, k)
    for hazard in k.hazard.values():
        yield from _also_elsewhere(hazard, k)
        yield from _ended(hazard, k)
    for proof in k.proof.values():
        yield from _proof(proof, k)
    yield from _loops(k)
    yield from _twice(k)
    yield from _unused(k)


def _with_lines(k: Knowledge) -> Iterator[tuple[Any, list[Wanted]]]:
    for condition in k.condition.values():
        yield condition, [*(w for a in condition.any_of for w in a), *condition.denied_by]
    for check in k.check.values():
        yield check, [w for a in check.any_of for w in a]
    for kind in FINDINGS:
        for entry in getattr(k, kind).values():
            yield entry, [w for a in entry.when for w in a]


def _also_elsewhere(hazard: Hazard, k: Knowledge) -> Iterator[Problem]:
    """A danger on a pin is one on its crimp and at its load too: a report's reading may be moved there."""
    for line in (w for way in hazard.when for w in way if w.point in k.point):
        point = k.point[str(line.point)]
        for other in (point.at_crimp, point.at_load):
            if other is not None and (line.model_copy(update={"point": other}),) not in hazard.when:
                fix = f"Add the same line for {other}."
                yield Problem(place_of(hazard), f"{point.point} of {hazard.hazard} may be read as {other}, which it does not watch.", fix)


def _ended(hazard: Hazard, k: Knowledge) -> Iterator[Problem]:
    """What a repair ends is of the hazard, one line by itself, and a repair asks for what shows it."""
    alone = {way[0].names[0][1] for way in hazard.when if len(way) == 1}
    asked = {check for repair in k.repair.values() for check in repair.after}
    yield from unknowns(hazard, "line by itself", (e.found for e in hazard.ended_by), alone)
    for ended in hazard.ended_by:
        yield from unknowns(hazard, "check", ended.by, k.check)
        if asked.isdisjoint(ended.by):
            yield Problem(place_of(hazard), f"No repair asks for what ends {ended.found} of {hazard.hazard}.", "Name a check that stands under `after` of one.")


def _all_findings(k: Knowledge) -> list[str]:
    return [name for kind in (*FINDINGS, "proof") for name in getattr(k, kind)]


def _line(entry: Placed, w: Wanted, k: Knowledge) -> Iterator[Problem]:
    kind, name = w.names[0]
    options = {o: option for f in k.furnace.values() for o, option in f.options.items()}
    tables: dict[str, Any] = {
        "point": k.point, "sign": k.sign, "event": k.event, "history": k.part, "option": options,
        "condition": k.condition, "finding": _all_findings(k),
    }  # fmt: skip
    if name not in tables[kind]:
        yield unknown(entry, kind, name, tables[kind])
        return
    if isinstance(entry, Condition | Check) and kind in ("finding", "condition"):
        what = f"Condition {entry.condition}" if isinstance(entry, Condition) else f"Check {entry.check}"
        yield Problem(place_of(entry), f"{what} stands on another conclusion.", "Let it stand on records only.")
    if w.any_call and isinstance(entry, Condition | Check):
        yield Problem(place_of(entry), f"The line of {name} says any_call, which only findings do.", "Write `once: true` if no one heat call need hold it all.")
    yield from _value(entry, w, kind, name, k, options)
    steps = {s.step for q in k.sequence.values() for s in q.steps}
    yield from unknowns(entry, "step", w.step, steps)
    if w.later_than is not None and w.later_than not in options:
        yield unknown(entry, "option", w.later_than, options)
    can = getattr(tables[kind][name], "steps", ()) if kind in ("point", "sign") else ()
    if w.step and can and not set(w.step) & set(can):
        fix = f"It makes sense in: {', '.join(can)}."
        yield Problem(place_of(entry), f"{name} is never read at {', '.join(w.step)}, so this can never come true.", fix)


def _value(entry: Placed, w: Wanted, kind: str, name: str, k: Knowledge, options: dict[str, Any]) -> Iterator[Problem]:
    if kind == "point":
        band = k.band.get(w.is_[0])
        if band is None:
            yield unknown(entry, "band", w.is_[0], k.band)
        elif band.unit != k.point[name].unit:
            fix = f"Use a band in {k.point[name].unit}."
            yield Problem(place_of(entry), f"{name} is read in {k.point[name].unit}, but band {band.band} is in {band.unit}.", fix)
        return
    known = _words(kind, name, k, options)
    yield from unknowns(entry, f"value of {name}:", w.is_ if known else (), known)


def _words(kind: str, name: str, k: Knowledge, options: dict[str, Any]) -> list[str]:
    """The words that a sign, an option or an earlier repair can have."""
    if kind == "sign":
        return list(k.sign[name].values)
    if kind == "option":
        return list(options[name].values)
    return list(next(iter(k.words.values())).history) if kind == "history" else []


def _references(entry: Any, k: Knowledge) -> Iterator[Problem]:
    findings = _all_findings(k)
    yield from unknowns(entry, "finding", entry.unless, findings)
    for target in (*getattr(entry, "kills", ()), *getattr(entry, "clears", ()), *getattr(entry, "leaves_open", ()), *getattr(entry, "looks_like", ())):
        yield from unknown_failure(entry, target, k)


def unknown_failure(entry: Placed, target: str, k: Knowledge) -> Iterator[Problem]:
    """That *target*, a part or part:failure, is not there."""
    part, _, failure = target.partition(":")
    if part not in k.part:
        yield unknown(entry, "part", part, k.part)
        return
    kind = k.kind.get(k.part[part].kind or "")
    own = [f.failure for f in (*k.part[part].failures, *(kind.failures if kind else ()))]
    if failure and failure not in own:
        yield unknown(entry, f"failure of {part}:", failure, own)


def _proof(proof: Proof, k: Knowledge) -> Iterator[Problem]:
    for target in proof.of:
        yield from unknown_failure(proof, target, k)
    known = [n for n in proof.needs if n in k.condition]
    yield from unknowns(proof, "condition", proof.needs, k.condition)
    if proof.only_after is not None and proof.only_after not in proof.needs:
        yield unknown(proof, "condition of its needs", proof.only_after, proof.needs)
    if known and all(k.condition[n].once for n in known):
        yield Problem(place_of(proof), f"Proof {proof.proof} needs nothing of a heat call.", "Name what the board does not do when it should.")
    for one, other in combinations(known, 2):
        for a, b in _pairs(k.condition[one], k.condition[other]):
            if _exclude(a, b, k):
                fix = "Take one of them out, or read them at different steps."
                yield Problem(place_of(proof), f"{one} and {other} want {a.names[0][1]} to be two things at once.", fix)


def _pairs(one: Condition, other: Condition) -> Iterator[tuple[Wanted, Wanted]]:
    """Lines of two conditions about the same thing, where neither condition has another way to be met."""
    if len(one.any_of) == 1 and len(other.any_of) == 1:
        yield from ((a, b) for a in one.any_of[0] for b in other.any_of[0] if a.names == b.names)


def _exclude(a: Wanted, b: Wanted, k: Knowledge) -> bool:
    same = set(a.step) == set(b.step) and a.set_up == b.set_up and a.contact == b.contact
    if not same:
        return False
    if a.sign:
        return not set(a.is_) & set(b.is_)
    if a.point and a.is_[0] in k.band and b.is_[0] in k.band:
        return _apart(k.band[a.is_[0]], k.band[b.is_[0]])
    return False


def _apart(a: Band, b: Band) -> bool:
    low, high = float("-inf"), float("inf")
    ends = [(band.at_least if band.at_least is not None else low, band.at_most if band.at_most is not None else high) for band in (a, b)]
    return max(e[0] for e in ends) > min(e[1] for e in ends)


def _loops(k: Knowledge) -> Iterator[Problem]:
    """Findings that wait for one another, whether to hold or not to hold."""
    entries = {name: entry for kind in FINDINGS for name, entry in getattr(k, kind).items()}
    waits = {name: {w.finding for way in e.when for w in way if w.finding} | set(e.unless) for name, e in entries.items()}
    for name, entry in entries.items():
        reached, todo = set[str](), sorted(waits[name])
        while todo:
            new = todo.pop()
            if new in reached:
                continue
            reached.add(new)
            todo += sorted(waits.get(new, ()))
        if name in reached:
            yield Problem(place_of(entry), f"{name} goes round in a loop: it waits for itself.", "Take it out of a `finding:` or an `unless`.")


def _twice(k: Knowledge) -> Iterator[Problem]:
    """A finding's id names one thing, whatever its kind: rules refer to it by id alone."""
    seen: dict[str, Placed] = {}
    for kind in (*FINDINGS, "proof"):
        for name, entry in getattr(k, kind).items():
            if name in seen:
                yield Problem(place_of(entry), f"{name} is already a finding, at {seen[name].at}.", "Give one of them another id.")
            seen[name] = entry


def _unused(k: Knowledge) -> Iterator[Problem]:
    used = {w.is_[0] for _, lines in _with_lines(k) for w in lines if w.point}
    needed = {n for p in k.proof.values() for n in p.needs} | {w.condition for _, lines in _with_lines(k) for w in lines if w.condition}
    needed |= {n for r in k.repair.values() for n in r.confirm}
    for band in k.band.values():
        if band.band not in used:
            yield Problem(place_of(band), f"Nothing uses band {band.band}.", "Use it, or take it out.")
    for condition in k.condition.values():
        if condition.condition not in needed:
            yield Problem(place_of(condition), f"No proof or repair needs condition {condition.condition}.", "Name it in a proof, or take it out.")
