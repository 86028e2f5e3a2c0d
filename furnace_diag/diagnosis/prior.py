"""How likely each failure is before any reading: how often it is met, what happened to the furnace before, and what was tried on it already."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from furnace_diag.diagnosis.records import Record
from furnace_diag.furnace.family import Family, Fault, failures_of
from furnace_diag.knowledge.models import Knowledge, Words
from furnace_diag.knowledge.repairs import repairs_for

Floats = NDArray[np.float64]

HANDS_WERE_IN = ("helped_a_while", "new_part")  # repairs since when what is near may be at fault instead; a fault that stayed the same was there before them
CURED_BY_REFITTING = "refitted_and_cured"
_NOBODY_KNOWS = {"replaced_no_change": "new_part", "cleaned_no_change": "cleaned"}  # what a repair says of how a part is fitted, set or chosen


def prior_given(family: Family, records: Iterable[Record]) -> Floats:
    """How likely each failure is before any reading: the odds of the rules, times what events and history say."""
    k = family.knowledge
    words = next(iter(k.words.values()))
    odds = family.prior.copy()
    for record in records:
        if record.kind == "event":
            for target, how in k.event[record.name].likelier.items():
                odds[_matching(family, target)] *= words.likelier[how]
        if record.kind == "history":
            odds *= _by_repair(family, record, words)
    return np.asarray(odds / odds.sum())


def _by_repair(family: Family, record: Record, words: Words) -> Floats:
    """By how much an earlier repair changes the odds of each failure, shape (faults,)."""
    part, said = family.knowledge.part[record.name.partition(":")[0]], str(record.word)
    if said == CURED_BY_REFITTING and part.refit_renews:
        return _times(family, part.refit_renews, words.history[said])
    again = _comes_back(family) & (said == "helped_a_while")
    usual = np.where(_of_fitting(family, record), words.history[_NOBODY_KNOWS.get(said, said)], words.history[said])
    of_it = np.where(worked_on(family, record), np.where(again, words.came_back, usual), 1)
    return np.asarray(of_it * _times(family, part.disturbs, words.neighbour_disturbed) if said in HANDS_WERE_IN else of_it)


def _times(family: Family, targets: Iterable[str], factor: float) -> Floats:
    """*factor* to the power of how many of the *targets*, parts or part:failure, each failure is among; shape (faults,)."""
    among = np.array([_matching(family, target) for target in targets]).reshape(-1, len(family.faults))
    return np.asarray(factor ** among.sum(axis=0))


def worked_on(family: Family, record: Record) -> NDArray[np.bool_]:
    """The failures that an earlier repair could have put right. If the part was only cleaned: those whose repair leaves it in, or all if none does."""
    its = _matching(family, record.name)
    if record.word != "cleaned_no_change":
        return its
    by_cleaning = np.array([bool(mine) and _left_in(family.knowledge, f) for mine, f in zip(its, family.faults, strict=True)])
    return by_cleaning if by_cleaning.any() else its


def _of_fitting(family: Family, record: Record) -> NDArray[np.bool_]:
    """The failures of the part that was worked on itself which lie in how it is fitted, set or chosen: a new one may have them as well."""
    part = record.name.partition(":")[0]
    own = [target for target in family.knowledge.part[part].disturbs if target.startswith(f"{part}:")]
    return np.array([str(f) in own for f in family.faults])


def _left_in(knowledge: Knowledge, fault: Fault) -> bool:
    """Whether the repair of a failure leaves the part in its place."""
    try:
        return repairs_for(knowledge, fault.part, fault.failure).leaves_part
    except KeyError:
        return False


def _comes_back(family: Family) -> NDArray[np.bool_]:
    """The failures that fill up, film over or clog again: of them alone a repair that helped a while tells that it was they."""
    return np.array([family.failure(f).comes_back for f in family.faults])


def _matching(family: Family, target: str) -> NDArray[np.bool_]:
    part, _, failure = target.partition(":")
    return np.array([f.part == part and failure in ("", f.failure) for f in family.faults])


def odds_by_part(family: Family) -> dict[str, float]:
    """The total of each part before any record; sums to 1."""
    return {
        name: float(family.prior[_matching(family, name)].sum()) for name, part in family.knowledge.part.items() if failures_of(part, family.knowledge)
    }
