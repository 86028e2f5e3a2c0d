"""Checks of rules/repairs/ against the rest of the rules: names, failures without a repair, checks that nobody uses."""

from __future__ import annotations

import re
from collections.abc import Iterator

from furnace_diag.knowledge.finding_checks import unknown_failure
from furnace_diag.knowledge.models import Knowledge, Part
from furnace_diag.knowledge.naming import place_of, unknown, unknowns
from furnace_diag.knowledge.repair_models import Repair
from furnace_diag.problems import Problem

AN_ID = re.compile(r"[a-z][a-z0-9]*(_[a-z0-9]+)+")  # a text of one word with underscores is meant as an id


def repair_problems(k: Knowledge) -> Iterator[Problem]:
    """What is wrong between the repairs and the rest of the rules."""
    for repair in k.repair.values():
        yield from _names(repair, k)
        yield from _proof(repair, k)
    for tried in k.experiment.values():
        yield from (unknown(tried, "check", name, k.check) for name in tried.needs_shown if name not in k.check)
    yield from _twice(k)
    for part in k.part.values():
        yield from _without(part, k)
    yield from _unused(k)


def _names(repair: Repair, k: Knowledge) -> Iterator[Problem]:
    for target in repair.of:
        yield from unknown_failure(repair, target, k)
    for text in repair.confirm:
        if AN_ID.fullmatch(text) and text not in (known := {**k.condition, **k.point, **k.sign}):
            yield unknown(repair, "condition, point or sign", text, known)
    mended = {name for target in repair.of for part, _, failure in [target.partition(":")] for name in ([failure] if failure else _failures(k, part))}
    yield from unknowns(repair, "failure that it mends", repair.confirm_of, mended)
    yield from unknowns(repair, "point or sign", (name for names in repair.confirm_of.values() for name in names), {**k.point, **k.sign})
    yield from unknowns(repair, "check", (*repair.before, *repair.after), k.check)
    yield from unknowns(repair, "caution", (*repair.cautions, *(c for step in repair.steps for c in step.cautions)), k.caution)
    for name in (c for step in repair.steps for c in step.shown_by):
        if name not in repair.before:
            yield Problem(place_of(repair), f"A step is shown by {name}, which is not to be proved before the part is changed.", "Name it in `before` too.")
    for name in repair.after:
        if name in k.check and k.check[name].after_any_repair:
            yield Problem(place_of(repair), f"Check {name} comes after any repair already.", "Take it out of `after`.")


def _failures(k: Knowledge, name: str) -> list[str]:
    """The failures of a part, those of its kind among them."""
    if (part := k.part.get(name)) is None:
        return []
    kind = k.kind.get(part.kind or "")
    return [f for f in dict.fromkeys(f.failure for f in (*part.failures, *(kind.failures if kind else ()))) if f not in part.leaves_out]


def _proof(repair: Repair, k: Knowledge) -> Iterator[Problem]:
    """A part that can be proved bad is changed only once it is proved, and after its cause was looked for."""
    provable = {target.partition(":")[0] for p in k.proof.values() for target in p.of}
    if not {target.partition(":")[0] for target in repair.of} & provable:
        return
    if not repair.needs_proof:
        yield Problem(place_of(repair), f"Repair {repair.repair} is of a part that has proofs, and asks for none.", "Write needs_proof: yes.")
    if not repair.before:
        yield Problem(place_of(repair), f"Repair {repair.repair} does not ask for the cause first.", "Name the check of the cause in `before`.")


def _twice(k: Knowledge) -> Iterator[Problem]:
    first: dict[str, Repair] = {}
    for repair in k.repair.values():
        for target in repair.of:
            if target in first:
                yield Problem(place_of(repair), f"{target} has a repair already, at {first[target].at}.", "Take it out of one of them.")
            first[target] = repair


def _without(part: Part, k: Knowledge) -> Iterator[Problem]:
    targets = {target for r in k.repair.values() for target in r.of}
    lacking = [name for name in _failures(k, part.part) if not {part.part, f"{part.part}:{name}"} & targets]
    if lacking:
        fix = "Add one under rules/repairs, or name it in one that fits."
        yield Problem(place_of(part), f"{part.part} has no repair for {', '.join(lacking)}.", fix)


def _unused(k: Knowledge) -> Iterator[Problem]:
    used = {name for r in k.repair.values() for name in (*r.before, *r.after)} | {name for e in k.experiment.values() for name in e.needs_shown}
    used |= {name for hazard in k.hazard.values() for e in hazard.ended_by for name in e.by}
    for check in k.check.values():
        if check.check not in used and not check.after_any_repair and not check.needed_at:
            yield Problem(place_of(check), f"No repair, experiment or hazard uses check {check.check}.", "Name it in one, or take it out.")
