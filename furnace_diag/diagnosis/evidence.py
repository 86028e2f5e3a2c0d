"""Records -> facts: which column of the population a record speaks of, and how well each furnace fits it."""

from __future__ import annotations

from collections.abc import Callable, Iterable

import numpy as np
from numpy.typing import NDArray

from furnace_diag.diagnosis.records import Record
from furnace_diag.diagnosis.weigh import Fact, Scaled, numeric_fit, scaled, word_fit
from furnace_diag.furnace.family import Family, failures_of
from furnace_diag.furnace.population import WHOLE_CALL, Population
from furnace_diag.knowledge.models import Knowledge, Point, Sign, Words
from furnace_diag.knowledge.words import RUN, SHOWS

Floats = NDArray[np.float64]

# absolute error of a usual meter or eye, by unit; common practice, no source
FLOOR = {"V": 0.5, "A": 0.08, "uA": 0.15, "ohm": 0.4, "uF": 0.3, "in_wc": 0.04, "F": 2.0, "F_diff": 3.0, "s": 2.0, "ppm": 2.0, "count": 0.5}
ROUGHLY = 3.0  # "about 24": times the usual error, judgement
UNSTATED_METER = {"high": 0.85, "low": 0.15}  # most meters have no low-impedance mode, judgement
# where an unstated step is taken to be: the step the call stops at, the one it rests in, any other; judgement
CALLING, WHILE_CALLING = "call", (0.1, 0.65, 0.25)  # "on a call": as it comes, where it stops, where it rests; judgement
NEVER_CAME = 0.6  # share of a sign's fit where the furnace stops and rests, when the stated step is never reached; judgement
UNSTATED_STEP = (0.5, 0.35, 0.15)

Fit = Callable[[int], Floats]  # of a column


class Evidence:
    """Turns records into groups of facts about one population."""

    def __init__(self, family: Family, population: Population) -> None:
        self.family, self.population = family, population
        self.knowledge: Knowledge = family.knowledge
        self.words: Words = next(iter(self.knowledge.words.values()))
        self._scaled: dict[tuple[int, float, float], Scaled] = {}
        self._columns: dict[str, dict[str, dict[str, int]]] = {}
        for (name, step, meter), i in population.columns.items():
            self._columns.setdefault(name, {}).setdefault(step, {})[meter] = i

    def groups(self, records: Iterable[Record]) -> list[tuple[list[Record], list[Fact]]]:
        """Records that tell something, joined where they restate one another."""
        made = [(record, self.fact(record)) for record in records]
        groups: list[tuple[list[Record], list[Fact]]] = []
        for record, fact in made:
            if fact is None:
                continue
            home = next((g for g in groups if any(self._restates(record, other) for other in g[0])), None)
            if home is None:
                groups.append(([record], [fact]))
            else:
                home[0].append(record)
                home[1].append(fact)
        return groups

    def _restates(self, one: Record, other: Record) -> bool:
        if one.name == other.name:
            return one.step == other.step
        return other.name in self._echoes(one.name) or one.name in self._echoes(other.name)

    def _echoes(self, name: str) -> tuple[str, ...]:
        sign = self.knowledge.sign.get(name)
        return sign.says_same_as if sign else ()

    def fact(self, record: Record) -> Fact | None:
        """What one record says of every row; None where the ranking makes nothing of it (events, history, notes)."""
        if record.unused:
            return None
        if record.kind == "point":
            point = self.knowledge.point[record.name]
            return Fact(record.name, self._over_steps(record, self._number(point, record)), self._slip(record, "measured"))
        if record.kind == "sign":
            sign = self.knowledge.sign[record.name]
            return Fact(record.name, self._of_sign(sign, record), self._slip(record, sign.source_kind))
        return None

    def _slip(self, record: Record, usual: str) -> float:
        return self.words.slip[usual if record.source is None or usual == "light" else record.source]

    def _number(self, point: Point, record: Record) -> Fit:
        floor = (point.doubt_floor or FLOOR[point.unit]) * (ROUGHLY if record.approximate else 1)
        doubt = point.doubt * (ROUGHLY if record.approximate else 1)
        value = float(record.number if record.number is not None else np.nan)
        return lambda column: numeric_fit(self._ready(column, doubt, floor), value)

    def _of_sign(self, sign: Sign, record: Record) -> Floats:
        if sign.shows is None:
            return self._by_habit(sign, str(record.word))
        chance = chance_of_words(sign, str(record.word))
        if sign.shows in RUN:
            return word_fit(self._values(self._columns[sign.sign][WHOLE_CALL][""]), chance)
        return self._over_steps(record, lambda column: word_fit(self._values(column), chance))

    def _by_habit(self, sign: Sign, value: str) -> Floats:
        """How often the sign is met with each failure, in words turned to numbers; shape (rows,)."""
        per_fault = np.array([self._habit(sign, value, f.part, f.failure) for f in self.population.faults])
        return np.where(self.population.fault_of >= 0, per_fault[self.population.fault_of], 0.0)

    def _habit(self, sign: Sign, value: str, part: str, failure: str) -> float:
        goes = self.words.goes
        told = dict.fromkeys(dict.fromkeys(g.value for g in sign.goes_with), goes[sign.otherwise])
        told |= {g.value: goes[g.how] for g in sign.goes_with if g.part == part and g.failure in (None, failure)}
        if value in told:
            return told[value]
        rest = len(sign.values) - len(told)
        return max(1 - sum(told.values()), goes["hardly_ever"]) / max(rest, 1)

    def wants_step(self, record: Record) -> bool:
        """Whether a record would tell more if it said at which step it was."""
        steps = [s for s in self._columns.get(record.name, {}) if s != WHOLE_CALL]
        return record.step is None and len(steps) > 1 and not record.unused

    # --- steps and meters ------------------------------------------------------------------

    def _values(self, column: int) -> Floats:
        return np.asarray(self.population.table[column].astype(float))

    def _ready(self, column: int, doubt: float, floor: float) -> Scaled:
        key = (column, doubt, floor)
        if key not in self._scaled:
            self._scaled[key] = scaled(self._values(column), doubt, floor)
        return self._scaled[key]

    def _at(self, record: Record, step: str, fit: Fit) -> Floats | None:
        """Fit at one step, averaged over the meter where that is not known; None where nothing is predicted."""
        by_meter = self._columns.get(record.name, {}).get(step)
        if by_meter is None:
            return None
        if "low" not in by_meter:
            return fit(next(iter(by_meter.values())))
        if record.meter is not None:
            return fit(by_meter[record.meter])
        return np.asarray(sum(share * fit(by_meter[m]) for m, share in UNSTATED_METER.items()))

    def _over_steps(self, record: Record, fit: Fit) -> Floats:
        """Fit where the step was stated, or where the furnace stops; a stated step may be mistaken."""
        steps = list(self._columns.get(record.name, {}))
        fits = {s: f for s in steps if (f := self._at(record, s, fit)) is not None}
        if len(fits) == 1 and (record.step is None or record.step in fits):
            return next(iter(fits.values()))
        if record.step is None or record.step not in fits:
            return self._unstated(fits)
        if record.step == CALLING:  # said of the whole time in which heat is called for, not only of its first instant
            there = fits[record.step]
            at_stop = self._where(self.population.stops, fits, otherwise=there)
            at_rest = self._where(self.population.rests, fits, otherwise=there)
            return np.asarray(sum(w * f for w, f in zip(WHILE_CALLING, (there, at_stop, at_rest), strict=True)))
        stated = self.words.step_stated
        near = [fits[s] for s in self._neighbours(record.step) if s in fits] or [fits[record.step]]
        stops = self._where(self.population.stops, fits, otherwise=fits[record.step])
        there = fits[record.step]
        if record.kind == "sign":  # who watches for a thing that never comes says "no" at the step where it was due
            never = np.isnan(self._values(next(iter(self._columns[record.name][record.step].values()))))
            rests = self._where(self.population.rests, fits, otherwise=stops)
            there = np.where(never, NEVER_CAME * (stops + rests) / 2, there)
        parts = (there, stops, np.mean(near, axis=0))
        return np.asarray(sum(w * p for w, p in zip((stated["there"], stated["where_it_stops"], stated["neighbours"]), parts, strict=True)))

    def _unstated(self, fits: dict[str, Floats]) -> Floats:
        stops, rests, any_ = UNSTATED_STEP
        mean = self._mean(fits)
        at_stop = self._where(self.population.stops, fits, otherwise=mean)
        return stops * at_stop + rests * self._where(self.population.rests, fits, otherwise=mean) + any_ * mean

    def _mean(self, fits: dict[str, Floats]) -> Floats:
        return np.asarray(np.mean(list(fits.values()), axis=0))

    def _where(self, steps: NDArray[np.int8], fits: dict[str, Floats], *, otherwise: Floats) -> Floats:
        """Of each row the fit at its own step, or *otherwise* where nothing is predicted there."""
        result = otherwise
        for step, values in fits.items():
            result = np.where(steps == self.population.steps.index(step), values, result)
        return result

    def _neighbours(self, step: str) -> list[str]:
        order = self.family.sequence.order
        if step not in order:
            return []
        i = order.index(step)
        return list(order[max(i - 1, 0) : i] + order[i + 1 : i + 2])


def chance_of_words(sign: Sign, value: str) -> Floats:
    """How often each word of what the sign shows is reported as *value*, shape (words,).

    A word that several values may stand for is divided among them.
    """
    words = SHOWS[str(sign.shows)]
    meant = {v: sign.reads_as.get(v, (v,)) for v in sign.values}
    return np.array([(w in meant[value]) / max(sum(w in m for m in meant.values()), 1) for w in words], float)


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
            odds[_matching(family, record.name)] *= words.history[str(record.word)]
            if record.word in ("replaced_no_change", "helped_a_while"):
                for other in k.part[record.name.partition(":")[0]].disturbs:
                    odds[_matching(family, other)] *= words.history["neighbour_disturbed"]
    return np.asarray(odds / odds.sum())


def _matching(family: Family, target: str) -> NDArray[np.bool_]:
    part, _, failure = target.partition(":")
    return np.array([f.part == part and failure in ("", f.failure) for f in family.faults])


def odds_by_part(family: Family) -> dict[str, float]:
    """The total of each part before any record; sums to 1."""
    return {
        name: float(family.prior[_matching(family, name)].sum()) for name, part in family.knowledge.part.items() if failures_of(part, family.knowledge)
    }
