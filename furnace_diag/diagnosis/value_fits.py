"""How well what is predicted of a reading or sign fits what was reported of it: a figure by its error, a word by how often it is told so."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from furnace_diag.diagnosis.bins import error_of
from furnace_diag.diagnosis.records import Record
from furnace_diag.diagnosis.weigh import numeric_fit, word_fit
from furnace_diag.knowledge.models import Point, Sign

Floats = NDArray[np.float64]

ROUGHLY = 3.0  # times the usual error of a reading told as "about 24", judgement
GIVEN = 0.05  # fit from which a furnace may be said to give a record, judgement

Values = Sequence[float | str]  # that a point may read, or a sign be told as
Fit = Callable[[Floats], Floats]  # of numbers predicted, in their shape; where several values are weighed, those come first


def figure_is(point: Point, record: Record, values: Values | None = None) -> Fit:
    """Fit of what a point reads to the figure of a record, or to each of several *values* instead."""
    inrush = record.hold and point.unit in ("A", "V")  # what a motor draws as it starts is in what was held, too
    roughly = inrush or (record.approximate and not record.give)
    doubt, floor = (part * (ROUGHLY if roughly else 1) for part in error_of(point))
    if record.give:  # somewhere within it, beside the usual error
        doubt = math.hypot(doubt, record.give / max(abs(record.number or 0.0), record.give))
    value = np.array(values, float)[:, None] if values is not None else float(record.number if record.number is not None else np.nan)
    return lambda predicted: numeric_fit(predicted, value, doubt, floor)


def word_is(chance: Floats) -> Fit:
    """Fit of what a sign shows, where each of its words is reported so with some *chance*, shape (words,) or (values, words)."""
    return lambda predicted: word_fit(predicted, chance)


def chance_of_words(sign: Sign, words: tuple[str, ...], value: str) -> Floats:
    """How often each of the *words* of what the sign shows is reported as *value*, shape (words,).

    A word that several values may stand for is divided among them.
    """
    meant = {v: sign.meant_by(v) for v in sign.values}
    return np.array([(w in meant[value]) / max(sum(w in m for m in meant.values()), 1) for w in words], float)
