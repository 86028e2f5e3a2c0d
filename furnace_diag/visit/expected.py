"""What a record should have been: the range of the rules, and what the healthy furnaces of the population read or show."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.records import Record
from furnace_diag.diagnosis.value_fits import chance_of_words
from furnace_diag.furnace.built import WHOLE_CALL
from furnace_diag.knowledge.models import Point, Sign
from furnace_diag.knowledge.point_models import FLOOR
from furnace_diag.knowledge.words import words_of

Stands = Literal["within", "below", "above", "as_healthy", "unlike_healthy", "not_judged"]


@dataclass(frozen=True)
class Range:
    """From *low* to *high* in the unit of the point, both ends included; infinite where the meter shows OL."""

    low: float
    high: float
    source: str


class Expectations:
    """Of one furnace, whose options are known as far as they were told."""

    def __init__(self, evidence: Evidence, options: Mapping[str, str]) -> None:
        self.evidence, population = evidence, evidence.population
        rows = population.fault_of < 0
        for name, value in options.items():
            rows &= population.options[name] == list(evidence.family.furnace.options[name].values).index(value)
        self.rows: NDArray[np.intp] = np.flatnonzero(rows)
        self.columns: dict[str, dict[str, dict[str, int]]] = {}
        for (name, step, meter), i in population.columns.items():
            self.columns.setdefault(name, {}).setdefault(step, {})[meter] = i

    def of(self, record: Record) -> tuple[Range | None, Range | None, tuple[str, ...]]:
        """The range of the rules, that of healthy furnaces, and what these show of a sign; what is not known of them is left out."""
        if record.kind == "point" and not record.unused and not record.taken_off:
            point = self.evidence.knowledge.point[record.name]
            return _of_rules(point, record), self._healthy(record), ()
        if record.kind == "sign" and not record.unused and not record.taken_off:
            return None, None, self._usual(self.evidence.knowledge.sign[record.name], record)
        return None, None, ()

    def stands(self, record: Record, expected: Range | None, healthy: Range | None, usual: tuple[str, ...]) -> Stands:
        """How a record stands to that. Healthy furnaces are few, so their range counts with the usual error of the reading."""
        if record.kind == "sign" and usual:
            return "as_healthy" if record.word in usual else "unlike_healthy"
        held = expected or healthy
        if held is None or record.number is None:
            return "not_judged"
        low, high = held.low, held.high
        if expected is None:
            point = self.evidence.knowledge.point[record.name]
            low, high = (_with_error(end, sign, point) for end, sign in ((low, -1), (high, 1)))
        return "below" if record.number < low else "above" if record.number > high else "within"

    # --- the population -----------------------------------------------------------------------

    def _healthy(self, record: Record) -> Range | None:
        numbers = [i for step in self._steps(record) for i in _of_meter(self.columns[record.name][step], record.meter)]
        values = self._values(numbers)
        known = values[~np.isnan(values)]
        if not known.size:
            return None
        least = FLOOR[self.evidence.knowledge.point[record.name].unit] / 10
        return Range(_rounded(known.min(), least), _rounded(known.max(), least), f"{len(self.rows)} healthy virtual furnaces of these rules")

    def _usual(self, sign: Sign, record: Record) -> tuple[str, ...]:
        """The values that healthy furnaces show; none where they show them all, or no furnace shows it."""
        if sign.shows is None or record.name not in self.columns:
            return ()
        words = words_of(sign.shows, self.evidence.family.sequence)
        seen = self._words_at(record.name, self._steps(record))
        if self._is_of_the_call(record):
            # said of the whole call, it is what the call brings about, not how things stood before it
            seen = (seen - self._words_at(record.name, [self.evidence.family.sequence.starts_at])) or seen
        usual = tuple(v for v in sign.values if any(chance_of_words(sign, words, v)[w] > 0 for w in seen))
        return usual if len(usual) < len(sign.values) else ()

    def _words_at(self, name: str, steps: Iterable[str]) -> set[int]:
        numbers = [i for step in steps for i in self.columns[name].get(step, {}).values()]
        values = self._values(numbers)
        return {int(v) for v in np.unique(values[np.isfinite(values)])}

    def _values(self, columns: list[int]) -> NDArray[np.float64]:
        return self.evidence.population.table[columns][:, self.rows].astype(np.float64)

    def _is_of_the_call(self, record: Record) -> bool:
        return record.step in (None, self.evidence.family.sequence.heat_call.step) and WHOLE_CALL not in self.columns[record.name]

    def _steps(self, record: Record) -> list[str]:
        """The steps of the population that a record speaks of: its own, all of the heat call's, or the only one there is."""
        steps = self.columns.get(record.name, {})
        calling = self.evidence.family.sequence.order[1:]
        if len(steps) == 1:
            return list(steps)
        if record.step == self.evidence.family.sequence.heat_call.step or (record.step is None and record.kind == "sign"):
            return [s for s in calling if s in steps]
        return [record.step] if record.step in steps else []


def _with_error(end: float, sign: int, point: Point) -> float:
    """One end of a range, the usual error of the reading further out; OL has none: where healthy furnaces show OL, a figure is no OL."""
    return end if math.isinf(end) else end + sign * max(point.floor, point.doubt * abs(end))


def _of_rules(point: Point, record: Record) -> Range | None:
    """The range at the step of a record; told of no step, the one that holds at every step the rules have one for."""
    if record.step is None and len(point.expects) != 1:
        return None
    return next((Range(e.low, e.high, e.source) for e in point.expects if record.step is None or record.step in e.steps), None)


def _of_meter(columns: Mapping[str, int], meter: str | None) -> list[int]:
    """Columns of a step that were read with *meter*; both where that is not known, and the usual one where the low one reads alike."""
    if meter is None:
        return list(columns.values())
    return [columns[meter]] if meter in columns else [next(iter(columns.values()))]


def _rounded(value: float, least: float) -> float:
    """To three significant digits, as meters show them; below *least* nothing."""
    return float(f"{value:.3g}") if abs(value) >= least else 0.0
