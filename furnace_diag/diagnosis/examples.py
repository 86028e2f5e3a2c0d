"""The examples that findings and checks carry, run: each must hold, its near miss must not, and no two rules may say opposite things."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, NamedTuple

from furnace_diag.diagnosis.compiled import Compiled
from furnace_diag.diagnosis.engines import ChainRule, LoopOfRules, beyond_limits, crowded, strata
from furnace_diag.diagnosis.findings import Finder, Findings
from furnace_diag.diagnosis.records import Record
from furnace_diag.diagnosis.report_file import understand
from furnace_diag.diagnosis.vocabulary import Vocabulary
from furnace_diag.knowledge.finding_models import FINDINGS, Example, NearMiss, Proof
from furnace_diag.knowledge.model_base import Placed
from furnace_diag.knowledge.models import Knowledge
from furnace_diag.knowledge.naming import place_of
from furnace_diag.knowledge.repair_models import Check
from furnace_diag.knowledge.yaml_text import parse_yaml
from furnace_diag.problems import BadInput, Problem

Entry = Mapping[str, object]


def finding_problems(knowledge: Knowledge) -> list[Problem]:
    """What is wrong with the findings and checks of *knowledge* once they are run: loops, limits of the engine, examples."""
    try:
        unbearable = list(_unbearable(knowledge))
    except LoopOfRules as loop:
        names = " -> ".join(n.partition(":")[2] for n in loop.names)
        return [Problem(_place_of_finding(knowledge, loop.names[0]), f"These findings go round in a loop: {names}.", "Take one of them out of `unless`.")]
    return unbearable or list(_examples(knowledge))


def _unbearable(k: Knowledge) -> Iterator[Problem]:
    compiled = Compiled(k)
    for rules in (compiled.of_a_call, compiled.of_a_visit, compiled.of_checks_in_a_call, compiled.of_checks_once):
        strata(rules)
        for rule in rules:
            wrong = beyond_limits(rule)
            if wrong:
                yield Problem(_place_of_rule(k, rule), f"{rule.rule.split('/')[1]} {wrong}.", "Split it in two.")
        too_many = crowded(rules)
        if too_many:
            yield Problem(None, f"The findings are too many for the engine: {too_many}.", "Take some out, or put a folder of rules aside.")


def _place_of_rule(k: Knowledge, rule: ChainRule) -> Any:
    return _place_of_finding(k, f"found:{rule.rule.split('/')[1]}")


def _place_of_finding(k: Knowledge, name: str) -> Any:
    plain = name.partition(":")[2] or name
    entry = next((getattr(k, kind)[plain] for kind in ("condition", "proof", *FINDINGS, "check") if plain in getattr(k, kind)), None)
    return place_of(entry) if entry is not None else None


# --- examples ---------------------------------------------------------------------------------


def records_of(entries: Sequence[Entry], k: Knowledge, vocabulary: Vocabulary | None = None) -> tuple[list[Record], dict[str, str]]:
    """An example's records and the options of the furnace it names. Raises BadInput. *vocabulary*: of *k*, where one is at hand."""
    options = {str(e["option"]): str(e["value"]) for e in entries if "option" in e}
    report = {"furnace": {"options": options}, "records": [e for e in entries if "option" not in e]}
    understood = understand(parse_yaml(json.dumps(report), "example"), k, vocabulary)
    return list(understood.records), understood.options


def example_of(proof: Proof) -> list[Entry]:
    """The records that prove it: those of one call, in each of its calls."""
    return in_calls(proof.calls, proof.holds)


def in_calls(calls: int, example: Example) -> list[Entry]:
    """The records of one call, in each of *calls*."""
    return [e | {"call": str(c)} if "option" not in e else e for c in range(1, calls + 1) for e in example]


def near_miss_of(proof: Proof) -> list[Entry]:
    """The same with what the near miss changes."""
    return [changed for e in example_of(proof) if (changed := _changed(e, proof.near_miss)) is not None]


def _changed(entry: Entry, miss: NearMiss) -> Entry | None:
    if miss.about not in entry.values():
        return entry
    if miss.left_out:
        return None
    return {k: v for k, v in entry.items() if k not in miss.without} | miss.instead


class _Trial(NamedTuple):
    """What all examples are tried with."""

    finder: Finder
    vocabulary: Vocabulary

    def records(self, entries: Sequence[Entry]) -> tuple[list[Record], dict[str, str]]:
        """An example's records and options. Raises BadInput."""
        return records_of(entries, self.finder.k, self.vocabulary)

    def find(self, entries: Sequence[Entry]) -> Findings:
        """What an example shows. Raises BadInput."""
        return self.finder.find(*self.records(entries))


def _examples(k: Knowledge) -> Iterator[Problem]:
    trial = _Trial(Finder(k), Vocabulary(k))
    for kind in FINDINGS:
        for name, entry in getattr(k, kind).items():
            yield from _tried(entry, lambda e=entry, n=name: _of_finding(trial, e, n))
    for proof in k.proof.values():
        yield from _tried(proof, lambda p=proof: _of_proof(trial, p))
    for check in k.check.values():
        yield from _tried(check, lambda c=check: _of_check(trial, c))


def _tried(entry: Placed, run: Any) -> Iterator[Problem]:
    try:
        yield from list(run())
    except BadInput as bad:
        for problem in bad.problems:
            yield Problem(place_of(entry), f"Its example: {problem.message}", problem.fix)


def _of_finding(trial: _Trial, entry: Any, name: str) -> Iterator[Problem]:
    found = trial.find(entry.holds)
    if name not in found.names:
        yield Problem(place_of(entry), f"{name} does not hold on its own example.", "Change its `when` or the example.")
    if entry.near_miss and name in trial.find(entry.near_miss).names:
        yield Problem(place_of(entry), f"{name} holds on its near miss too.", "Change its `when` or the near miss.")
    for proof in (p for p, grade in found.grades.items() if grade == "proved"):
        both = set(trial.finder.k.proof[proof].of) & set(getattr(entry, "clears", ()))
        if both:
            yield Problem(place_of(entry), f"{name} clears {sorted(both)[0]}, and {proof} proves it from the same records.", "One of them is wrong.")


def _of_proof(trial: _Trial, proof: Proof) -> Iterator[Problem]:
    place = place_of(proof)
    found = trial.find(example_of(proof))
    state = trial.finder.proof(found, proof.proof)
    if state.grade != "proved":
        lacks = ", ".join(n.condition for n in (*state.missing, *state.denied))
        yield Problem(place, f"{proof.proof} is not proved by its own example (it lacks {lacks}).", "Change its `needs` or the example.")
    cleared = sorted(set(proof.of) & found.cleared)
    if cleared and len(cleared) == len(proof.of):
        yield Problem(place, f"{proof.proof} proves {cleared[0]}, and an exoneration clears it from the same records.", "One of them is wrong.")
    if trial.find(near_miss_of(proof)).grades[proof.proof] == "proved":
        yield Problem(place, f"{proof.proof} is proved by its near miss too.", "Change its `needs` or the near miss.")
    if not any(proof.near_miss.about in e.values() for e in proof.holds):
        yield Problem(place, f"The near miss of {proof.proof} is about {proof.near_miss.about}, which its example does not hold.", "Name a record of it.")


def _of_check(trial: _Trial, check: Check) -> Iterator[Problem]:
    if not _met(trial, check, check.holds):
        yield Problem(place_of(check), f"{check.check} is not met by its own example.", "Change its `any_of` or the example.")
    if _met(trial, check, check.near_miss):
        yield Problem(place_of(check), f"{check.check} is met by its near miss too.", "Change its `any_of` or the near miss.")


def _met(trial: _Trial, check: Check, example: Example) -> bool:
    need = trial.finder.checked([check], *trial.records(in_calls(check.calls, example)))[0]
    return not need.calls_left and not need.denied_by
