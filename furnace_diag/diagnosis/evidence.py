"""Records -> facts: which column of the population a record speaks of, and how well each furnace fits it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from furnace_diag.diagnosis.findings import Finder
from furnace_diag.diagnosis.records import Record
from furnace_diag.diagnosis.weigh import Comings, Fact, numeric_fit, word_fit
from furnace_diag.furnace.family import Family, failures_of
from furnace_diag.furnace.population import WHOLE_CALL, Population
from furnace_diag.knowledge.models import Knowledge, Point, Sign, Words
from furnace_diag.knowledge.words import words_of

Floats = NDArray[np.float64]

# absolute error of a usual meter or eye, by unit; common practice, no source
FLOOR = {"V": 0.5, "A": 0.08, "uA": 0.15, "ohm": 0.4, "uF": 0.3, "in_wc": 0.04, "F": 2.0, "F_diff": 3.0, "s": 2.0, "ppm": 2.0, "count": 0.5}
ROUGHLY = 3.0  # "about 24": times the usual error, judgement
UNSTATED_METER = {"high": 0.85, "low": 0.15}  # most meters have no low-impedance mode, judgement
# where an unstated step is taken to be: the step the call stops at, the one it rests in, any other; judgement
WHILE_CALLING = (0.1, 0.65, 0.25)  # "on a call": as it comes, where it stops, where it rests; judgement
NEVER_CAME = 0.6  # share of a sign's fit where the furnace stops and rests, when the stated step is never reached; judgement
UNSTATED_STEP = (0.5, 0.35, 0.15)

Fit = Callable[[Floats], Floats]  # of predictions, in their shape


@dataclass(frozen=True)
class Predicted:
    """All that is predicted of one point or sign; every furnace is a column here.

    *values*: by meter ("" where all read alike), of shape (steps + 2, furnaces): a row for each of *steps*, then what each furnace gives at the
    step where it stops, and at the one where it rests; nan where it never is in that step.
    *stops*, *rests*: whether anything is predicted of the step where each furnace stops, or rests.
    """

    steps: tuple[str, ...]
    values: dict[str, NDArray[np.float16]]
    stops: NDArray[np.bool_]
    rests: NDArray[np.bool_]
    distinct: dict[str, tuple[Floats, NDArray[np.uint16]]] = field(default_factory=dict, compare=False, repr=False)

    def fits(self, meter: str, rows: list[int], fit: Fit) -> Floats:
        """*fit* of numbered rows with a meter. Half floats are few: each that is predicted is fitted once."""
        if meter not in self.distinct:
            halves, numbers = np.unique(self.values[meter], return_inverse=True)
            self.distinct[meter] = halves.astype(np.float64), numbers.reshape(self.values[meter].shape).astype(np.uint16)
        values, which = self.distinct[meter]
        return np.asarray(fit(values)[which[rows]])

    @property
    def stop(self) -> int:
        """The row of where it stops."""
        return len(self.steps)

    @property
    def rest(self) -> int:
        """The row of where it rests."""
        return len(self.steps) + 1


def predicted_of(columns: Mapping[str, Mapping[str, int]], population: Population) -> Predicted:
    """From *columns* of the population's table: by step, then by meter."""
    steps = tuple(columns)
    place = np.array([steps.index(s) if s in columns else -1 for s in population.steps])
    stop, rest = place[population.stops], place[population.rests]
    every = np.arange(len(stop))
    values = {}
    for meter in ("high", "low") if any("low" in by_meter for by_meter in columns.values()) else ("",):
        numbers = [by_meter.get(meter, next(iter(by_meter.values()))) for by_meter in columns.values()]
        at_step = population.table[numbers]
        values[meter] = np.vstack([at_step, at_step[stop, every], at_step[rest, every]])
    return Predicted(steps, values, stop >= 0, rest >= 0)


class Evidence:
    """Turns records into groups of facts about one population."""

    def __init__(self, family: Family, population: Population) -> None:
        self.family, self.population = family, population
        self.knowledge: Knowledge = family.knowledge
        self.words: Words = next(iter(self.knowledge.words.values()))
        self._predicted: dict[str, Predicted] = {}
        self._chances: dict[str, Floats] = {}
        self._habits: dict[tuple[str, str], Floats] = {}
        self._columns: dict[str, dict[str, dict[str, int]]] = {}
        for (name, step, meter), i in population.columns.items():
            self._columns.setdefault(name, {}).setdefault(step, {})[meter] = i

    @cached_property
    def finder(self) -> Finder:
        """The findings of the same rules."""
        return Finder(self.knowledge)

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

    @cached_property
    def comings(self) -> Comings:
        """The rows of failures that come and go, each with the healthy furnace of its site."""
        order = list(self.family.sequence.order)
        found = [(i, c) for i, f in enumerate(self.population.faults) if (c := self.family.failure(f).comes_and_goes) is not None]
        rows = [np.flatnonzero(self.population.fault_of == i) for i, _ in found]
        every = np.concatenate([np.zeros(0, np.intp), *rows]).astype(np.intp)
        healthy = np.flatnonzero(self.population.fault_of < 0)
        site = np.zeros(int(self.population.site_of.max(initial=0)) + 1, np.intp)
        site[self.population.site_of[healthy]] = healthy
        share = np.concatenate([np.zeros(0), *(np.full(len(r), c.share) for r, (_, c) in zip(rows, found, strict=True))])
        starts = [np.full(len(r), order.index(c.from_step) if c.from_step else 0, np.intp) for r, (_, c) in zip(rows, found, strict=True)]
        return Comings(every, site[self.population.site_of[every]], share, np.concatenate([np.zeros(0, np.intp), *starts]))

    def _restates(self, one: Record, other: Record) -> bool:
        if one.call != other.call:
            return False
        if one.name == other.name:
            return one.step == other.step
        return other.name in self._echoes(one.name) or one.name in self._echoes(other.name)

    def _echoes(self, name: str) -> tuple[str, ...]:
        sign = self.knowledge.sign.get(name)
        return sign.says_same_as if sign else ()

    def fact(self, record: Record) -> Fact | None:
        """What one record says of every row; None where the ranking makes nothing of it (events, history, notes)."""
        if record.unused or not self._is_predicted(record):
            return None
        if record.kind == "point":
            point = self.knowledge.point[record.name]
            return self._made(record, self._over_steps(record, self._number(point, record)), "measured")
        if record.kind == "sign":
            sign = self.knowledge.sign[record.name]
            return None if sign.only_for_proof else self._made(record, self._of_sign(sign, record), sign.source_kind, standing=sign.shows is None)
        return None

    def _made(self, record: Record, fit: Floats, usual: str, *, standing: bool = False) -> Fact:
        order = self.family.sequence.order
        place = order.index(record.step) if record.step in order else None
        return Fact(record.name, fit, self._slip(record, usual), record.call, place, standing)

    def why_unused(self, record: Record) -> str | None:
        """Why the ranking makes nothing of a reading or sign; None where it does."""
        if record.unused or record.kind not in ("point", "sign"):
            return record.unused
        if record.kind == "sign" and self.knowledge.sign[record.name].only_for_proof:
            return None  # it is not meant for the ranking
        return None if self._is_predicted(record) else "this furnace never gives such a reading"

    def _is_predicted(self, record: Record) -> bool:
        """Whether any furnace of the family ever gives such a reading."""
        sign = self.knowledge.sign.get(record.name) if record.kind == "sign" else None
        by_habit = sign is not None and sign.shows is None
        return by_habit or record.name in self._columns

    def _slip(self, record: Record, usual: str) -> float:
        return self.words.slip[usual if record.source is None or usual == "light" else record.source]

    def _number(self, point: Point, record: Record) -> Fit:
        times = ROUGHLY if record.approximate else 1
        floor, doubt = (point.doubt_floor or FLOOR[point.unit]) * times, point.doubt * times
        value = float(record.number if record.number is not None else np.nan)
        return lambda predicted: numeric_fit(predicted, value, doubt, floor)

    def _of_sign(self, sign: Sign, record: Record) -> Floats:
        if sign.shows is None:
            return self._by_habit(sign, str(record.word))
        chance = chance_of_words(sign, words_of(sign.shows, self.family.sequence), str(record.word))
        return self._over_steps(record, lambda predicted: word_fit(predicted, chance))

    def _by_habit(self, sign: Sign, value: str) -> Floats:
        """How often the sign is met with each failure, in words turned to numbers; shape (rows,)."""
        return np.where(self.population.fault_of >= 0, self.habits(sign, value)[self.population.fault_of], 0.0)

    def chances(self, sign: Sign, words: tuple[str, ...]) -> Floats:
        """How often each of *words* is reported as each value of the sign, shape (values, words)."""
        if sign.sign not in self._chances:
            self._chances[sign.sign] = np.array([chance_of_words(sign, words, v) for v in sign.values])
        return self._chances[sign.sign]

    def habits(self, sign: Sign, value: str) -> Floats:
        """How often a sign that no circuit gives has *value* with each failure, shape (faults,)."""
        if (sign.sign, value) not in self._habits:
            named = {g.part for g in sign.goes_with}
            otherwise = self._habit(sign, value, "", "")
            told = [self._habit(sign, value, f.part, f.failure) if f.part in named else otherwise for f in self.population.faults]
            self._habits[sign.sign, value] = np.array(told)
        return self._habits[sign.sign, value]

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

    def predicted(self, name: str) -> Predicted:
        """Everything predicted of a point or sign; KeyError where that is nothing."""
        if name not in self._predicted:
            self._predicted[name] = predicted_of(self._columns[name], self.population)
        return self._predicted[name]

    def _over_steps(self, record: Record, fit: Fit) -> Floats:
        """Fit where the step was stated, or where the furnace stops; a stated step may be mistaken."""
        predicted = self.predicted(record.name)
        if len(predicted.steps) == 1:
            return np.asarray(_metered(predicted, record, fit, [0])[0])
        if record.step not in predicted.steps:
            return _unstated(predicted, record, fit)
        if record.step == self.family.sequence.heat_call.step:
            return _while_calling(predicted, record, record.step, fit)
        return self._stated(predicted, record, record.step, fit)

    def _stated(self, predicted: Predicted, record: Record, step: str, fit: Fit) -> Floats:
        here = predicted.steps.index(step)
        near = [predicted.steps.index(s) for s in self._neighbours(step) if s in predicted.steps] or [here]
        there, stops, rests, *nearby = _metered(predicted, record, fit, [here, predicted.stop, predicted.rest, *near])
        stops = np.where(predicted.stops, stops, there)
        if record.kind == "sign":  # who watches for a thing that never comes says "no" at the step where it was due
            rests = np.where(predicted.rests, rests, stops)
            never = np.isnan(predicted.values[""][here])
            there = np.where(never, NEVER_CAME * (stops + rests) / 2, there)
        share = self.words.step_stated
        return np.asarray(share["there"] * there + share["where_it_stops"] * stops + share["neighbours"] * np.mean(nearby, axis=0))

    def _neighbours(self, step: str) -> list[str]:
        order = self.family.sequence.order
        if step not in order:
            return []
        i = order.index(step)
        return list(order[max(i - 1, 0) : i] + order[i + 1 : i + 2])


def _metered(predicted: Predicted, record: Record, fit: Fit, rows: list[int]) -> Floats:
    """Fit of numbered rows with the record's meter, averaged over the meters where it is not known."""
    meters = UNSTATED_METER if record.meter is None else {record.meter: 1.0}
    if len(predicted.values) == 1:
        meters = {"": 1.0}
    return np.asarray(sum(share * predicted.fits(meter, rows, fit) for meter, share in meters.items()))


def _while_calling(predicted: Predicted, record: Record, calling: str, fit: Fit) -> Floats:
    """Said of the whole time in which heat is called for, not only of its first instant."""
    there, stops, rests = _metered(predicted, record, fit, [predicted.steps.index(calling), predicted.stop, predicted.rest])
    as_it_comes, where_it_stops, where_it_rests = WHILE_CALLING
    stops, rests = np.where(predicted.stops, stops, there), np.where(predicted.rests, rests, there)
    return np.asarray(as_it_comes * there + where_it_stops * stops + where_it_rests * rests)


def _unstated(predicted: Predicted, record: Record, fit: Fit) -> Floats:
    fits = _metered(predicted, record, fit, list(range(len(predicted.steps) + 2)))
    mean = np.mean(fits[: predicted.stop], axis=0)
    where_it_stops, where_it_rests, any_step = UNSTATED_STEP
    stops, rests = np.where(predicted.stops, fits[predicted.stop], mean), np.where(predicted.rests, fits[predicted.rest], mean)
    return np.asarray(where_it_stops * stops + where_it_rests * rests + any_step * mean)


def chance_of_words(sign: Sign, words: tuple[str, ...], value: str) -> Floats:
    """How often each of the *words* of what the sign shows is reported as *value*, shape (words,).

    A word that several values may stand for is divided among them.
    """
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
