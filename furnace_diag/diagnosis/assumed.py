"""What is taken for granted of the furnace: options that nobody stated, and how far belief would move were each known."""

from __future__ import annotations

from collections.abc import Collection
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.weigh import LEAST, Dealt, Floats, Posterior, by_option

LUCK = 2.0  # standard deviations of chance that a move of belief must exceed before it counts: one in twenty does not


class Assumed(NamedTuple):
    """An option of the furnace that was not stated; *change* is how far belief would move if it were known."""

    option: str
    says: str
    usual: str
    change: float


def assumed(evidence: Evidence, posterior: Posterior, stated: Collection[str]) -> list[Assumed]:
    """Options that are not among those *stated*, the one that would change the answer most first."""
    dealt, options = evidence.dealt, evidence.family.furnace.options
    known = posterior.failures / max(posterior.failures.sum(), LEAST)
    believed = by_option(dealt, posterior)
    chance = believed.sum(axis=1) / max(float(posterior.rows.sum()), LEAST)
    given = believed / np.maximum(believed.sum(axis=1, keepdims=True), LEAST)
    luck = _moved_by_luck(dealt.share, known, _few(dealt, posterior), chance)
    moved = chance * np.maximum(np.abs(given - known) - luck, 0.0).sum(axis=1) / 2
    changes = dict(zip(dealt.options, np.add.reduceat(moved, dealt.first).tolist(), strict=True))
    found = [Assumed(name, option.says, option.usual, changes[name]) for name, option in options.items() if name not in stated]
    return sorted(found, key=lambda a: (-round(a.change, 6), a.option))


def _few(dealt: Dealt, posterior: Posterior) -> Floats:
    """By how much the share of each failure's weight that falls on an option's value would scatter, relative to that of one furnace; shape (faults,).

    A failure stands on a few dozen furnaces, and only those that give what was read count: which of them happen to have the option is luck.
    Were the options dealt to its furnaces anew, this is the variance of the mean of a sample without replacement.
    """
    count, fault, rows = len(dealt.furnaces), dealt.failure_of, posterior.rows[dealt.failed]
    furnaces = np.maximum(dealt.furnaces, 1)
    counting = np.bincount(fault, rows, count) ** 2 / np.maximum(np.bincount(fault, rows**2, count), LEAST)  # as many of one weight would say as much
    return np.asarray(np.maximum(1 / np.maximum(counting, 1.0) - 1 / furnaces, 0.0) * furnaces / np.maximum(furnaces - 1, 1))


def _moved_by_luck(share: Floats, known: Floats, few: Floats, of_value: Floats) -> NDArray[np.float64]:
    """How far belief in each failure may move with an option that has nothing to do with it; shape (values, faults).

    *share*: see `Dealt`. *known*: belief in each failure. *few*: see `_few`. *of_value*: how likely each value is.
    """
    scatter = share * (1 - share) * few / np.maximum(of_value, LEAST)[:, None] ** 2  # of each failure's own weight, relative, squared
    of_all = (known**2 * scatter).sum(axis=1, keepdims=True)  # what one failure gains the others lose
    return np.asarray(LUCK * known * np.sqrt(np.maximum(scatter * (1 - 2 * known) + of_all, 0.0)))
