"""By which reading each failure shows itself: what reads wrong with it, and with hardly any other. It hangs on the rules and the furnaces alone."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from furnace_diag.diagnosis.bins import ALIKE, NEVER_BIN, Floats
from furnace_diag.diagnosis.shown import MADE_BY, Numbers, bins_on, chances_shown, words_on
from furnace_diag.furnace.built import Key
from furnace_diag.furnace.store import UNSOUND, keep, kept, key_of

if TYPE_CHECKING:
    from furnace_diag.diagnosis.evidence import Evidence

RARELY = 0.005  # share of the furnaces with other failures below which it is nothing how seldom they read wrong: a slip does it as often, judgement
PLAINEST = float(-np.log2(RARELY))  # bits by which a reading shows a failure that always brings it about and that no other does


def odd_on_all(evidence: Evidence) -> Floats:
    """How many of each failure's furnaces read each key of `evidence.shown` otherwise than the good furnace of their site, shape (keys, failures).

    A furnace that never gets there reads nothing odd. Kept beside the population.
    """
    home = evidence.population.home
    if home is None or not home.is_dir():
        return _odd(evidence)
    key = key_of("telltale", code=[Path(__file__).with_name(f"{name}.py") for name in (*MADE_BY, "telltale")])
    with suppress(*UNSOUND):
        return np.asarray(kept(home, key)[1]["odd"], np.float64)
    odd = _odd(evidence)
    keep(home, key, {}, {"odd": odd.astype(np.float32)})
    return odd


def plainness(odd: Floats, its: Floats, others: Floats) -> Floats:
    """Bits by which reading wrong shows some failures and no others, of each key, shape (keys,): the share of relative entropy that reading wrong has.

    *odd*: shape (keys, failures). *its*, *others*: weight of each of the failures in question, and of all others, shape (failures,).
    """
    wrong, wrong_with_others = (odd @ (weight / max(float(weight.sum()), 1e-300)) for weight in (its, others))
    return np.asarray(wrong * np.maximum(np.log2(np.maximum(wrong, RARELY) / np.maximum(wrong_with_others, RARELY)), 0))


def _odd(evidence: Evidence) -> Floats:
    rows, fault_of = evidence.failed, evidence.population.fault_of
    good = evidence.population.good_at[evidence.population.site_of[rows]]
    starts = np.flatnonzero(np.diff(fault_of[rows], prepend=-2))
    many = np.diff(starts, append=len(rows))
    odd = np.zeros((len(evidence.shown.keys), len(evidence.population.faults)))
    for number, key in enumerate(evidence.shown.keys):
        if not key[1]:
            odd[number] = _odd_habit(evidence, key)
        else:
            each = _odd_point(evidence, key, rows, good) if key[0] in evidence.knowledge.point else _odd_sign(evidence, key, rows, good)
            odd[number, fault_of[rows[starts]]] = np.add.reduceat(each, starts) / many
    return odd


def _odd_point(evidence: Evidence, key: Key, rows: Numbers, good: Numbers) -> Floats:
    ours, theirs = (bins_on(evidence, [key], some)[0].astype(int) for some in (rows, good))
    return np.asarray((ours != NEVER_BIN) & (theirs != NEVER_BIN) & (np.abs(ours - theirs) > ALIKE), np.float64)


def _odd_sign(evidence: Evidence, key: Key, rows: Numbers, good: Numbers) -> Floats:
    chance = chances_shown(evidence, key[0])
    ours, theirs = (words_on(evidence, [key], some, chance.shape[1] - 1)[0].astype(np.intp) for some in (rows, good))
    usual = chance.argmax(axis=0)[theirs]
    return np.asarray(np.where(usual == len(chance) - 1, 0, 1 - chance[-1, ours] - chance[usual, ours]))


def _odd_habit(evidence: Evidence, key: Key) -> Floats:
    """Of a sign that no circuit gives: how often it has the value that some failure raises most above what it is with most of them."""
    sign = evidence.knowledge.sign[key[0]]
    share = np.array([evidence.habits(sign, v) for v in sign.values])
    return np.asarray(share[(share.max(axis=1) / np.maximum(np.median(share, axis=1), RARELY)).argmax()])
