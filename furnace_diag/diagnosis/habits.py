"""Signs that no circuit gives: how often each is met with a failure, by the words of the rules, and on how many furnaces there is anything to see."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from furnace_diag.diagnosis.foretold import Foretold
from furnace_diag.diagnosis.value_fits import GIVEN
from furnace_diag.diagnosis.weigh import word_fit
from furnace_diag.furnace.family import Fault
from furnace_diag.knowledge.models import GoesWith, Sign, Words

Floats = NDArray[np.float64]


def met_with(sign: Sign, value: str, having: Sequence[tuple[Fault, ...]], words: Words) -> Floats:
    """How often a sign has *value* with each of *having*, the failures of which go together; shape (having,)."""
    goes = [[g for g in sign.goes_with for f in faults if g.part == f.part and g.failure in (None, f.failure)] for faults in having]
    otherwise = _habit(sign, value, [], words)
    return np.array([_habit(sign, value, g, words) if g else otherwise for g in goes])


def ever_there(sign: Sign, foretold: Foretold, having: Sequence[tuple[Fault, ...]]) -> Floats:
    """On how many furnaces with each of *having*, the failures of which go together, there is anything to see of a sign, shape (having,), from 0 to 1.

    What comes and goes leaves calls in which there is.
    """
    p, family = foretold.population, foretold.family
    there = np.ones(len(p.fault_of), bool)
    for name, values in sign.seen_only_with.items():
        other = family.knowledge.sign[name]
        assert other.shows is not None
        chance = foretold.chances(other)[[other.values.index(v) for v in values]].max(axis=0)
        there &= word_fit(foretold.predicted(name).usual[0], chance) >= GIVEN
    share = np.bincount(p.failure_of, there[p.failed], len(having)) / np.maximum(np.bincount(p.failure_of, minlength=len(having)), 1)
    return np.where([any(family.failure(f).comes_and_goes is not None for f in faults) for faults in having], 1.0, share)


def _habit(sign: Sign, value: str, goes_with: Sequence[GoesWith], words: Words) -> float:
    """How often the sign has *value* with what it *goes_with*; values that are not named share what is left."""
    goes = words.goes
    told = dict.fromkeys(dict.fromkeys(g.value for g in sign.goes_with), goes[sign.otherwise])
    told |= {g.value: goes[g.how] for g in sorted(goes_with, key=lambda g: goes[g.how])}
    if value in told:
        return told[value]
    left, righted = max(1 - sum(told.values()), goes["hardly_ever"]), goes["seldom"]
    if value in sign.put_right:  # now it is as with any value that is left, and it is seldom told so
        return left * righted
    return left * (1 - righted * len(sign.put_right)) / max(len(sign.values) - len(told) - len(sign.put_right), 1)
