"""Records -> facts: which column of the population a record speaks of, and how well each furnace fits it."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Sequence
from copy import copy
from dataclasses import replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from furnace_diag.diagnosis.bins import bins_of, error_of, errors_of
from furnace_diag.diagnosis.findings import Finder
from furnace_diag.diagnosis.predicted import Due, Predicted, predicted_of
from furnace_diag.diagnosis.records import Record, Vocabulary
from furnace_diag.diagnosis.shown import Shown, shown_on_all
from furnace_diag.diagnosis.telltale import RARELY, odd_on_all
from furnace_diag.diagnosis.weigh import HALF, NEAR, Comings, Dealt, Fact, dealt, in_errors, numeric_fit, word_fit
from furnace_diag.furnace.built import WHOLE_CALL, Key, Population, all_off, with_off
from furnace_diag.furnace.family import Family, Fault
from furnace_diag.knowledge.models import GoesWith, Knowledge, Point, Sign, Words
from furnace_diag.knowledge.repair_models import Repair
from furnace_diag.knowledge.repairs import cautions_of, costs_of_failures, read_before
from furnace_diag.knowledge.words import words_of

Floats = NDArray[np.float64]

ROUGHLY = 3.0  # times the usual error of a reading told as "about 24", judgement
UNSTATED_METER = {"high": 0.85, "low": 0.15}  # share of untold meters that are of each mode, judgement: most have no low-impedance one
# shares of what a record without a step means, where a heat call changes the thing: the call as a whole, any one step; judgement
UNSTATED = (0.85, 0.15)
# the same where a heat call does not change it: the step where the call stops, the one where it rests, any one step; judgement
UNSTATED_STEP = (0.5, 0.35, 0.15)
AFTER_CALL = 0.7  # share of what is told without a step of a thing that is looked at once the call is over that means this, judgement
AS_IT_COMES = 0.1  # share of what is told "on a call" that means the moment at which the call comes, judgement
WHILE_CALLING = (0.65, 0.25)  # the rest, where a heat call does not change the thing: where the call stops, where it rests; judgement
GIVEN = 0.05  # fit from which a furnace may be said to give a record, judgement
NEVER_CAME = 0.6  # factor on the fit at where the furnace stops and rests, if it never comes to where the thing is due; judgement
MISTIMED = 0.5  # slip of a record that a doubt holds to be read too early or too late: as likely as not it tells nothing, judgement
FEW_OF_EACH = 4  # furnaces of each failure of which it is reckoned what readings something else would give
DUE_FROM = 4.0  # times its error that a reading must differ from rest to be something that is due, judgement

Group = tuple[list[Record], list[Fact]]  # records that restate one another, with what each says
Kinds = tuple[Floats, NDArray[np.signedinteger] | None]  # one number for each kind of furnace, and the kind of every furnace; None where each is a kind
Values = Sequence[float | str]  # that a point may read, or a sign be told as
Fit = Callable[[Floats], Floats]  # of numbers predicted, in their shape; where several values are weighed, those come first


def risk_minutes(knowledge: Knowledge, entry: Point | Sign) -> float:
    """What the risks of a reading weigh [min]."""
    return sum(knowledge.caution[c].risk_minutes for c in entry.cautions)


class Evidence:
    """Turns records into groups of facts about one population.

    *having*: what failures each number of the population's `fault_of` stands for, where that is not one of the population's own each.
    """

    def __init__(self, family: Family, population: Population, having: Sequence[tuple[Fault, ...]] | None = None) -> None:
        self.family, self.population = family, population
        self.having = [(fault,) for fault in population.faults] if having is None else having
        self.knowledge: Knowledge = family.knowledge
        self.words: Words = next(iter(self.knowledge.words.values()))
        self._predicted: dict[str, Predicted] = {}
        self._due: dict[str, Due] = {}
        self._there: dict[tuple[str, str], Floats] = {}
        self._rows: NDArray[np.intp] | None = None  # those that facts are made for; all if None
        self._of_rows: dict[str, Predicted] = {}
        self._kinds: dict[tuple[str, str | None], tuple[Predicted, NDArray[np.intp]]] = {}
        self._bins: dict[int, NDArray[np.int16]] = {}
        self.apart: dict[tuple[int, int], Floats] = {}  # of pairs of failures, how far each of `keys_read` tells them apart; kept by apart.py
        self.alike: dict[int, Floats] = {}  # of a failure's furnaces, from what share of them each of `keys_read` does not tell them; kept by apart.py
        self._chances: dict[str, Floats] = {}
        self._habits: dict[tuple[str, str], Floats] = {}
        self._cautions: dict[str, tuple[str, ...]] = {}
        self._columns: dict[str, dict[str, dict[str, int]]] = {}
        for (name, step, meter), i in (*population.columns.items(), *population.changed_columns.items()):
            self._columns.setdefault(name, {}).setdefault(step, {})[meter] = i

    @cached_property
    def finder(self) -> Finder:
        """The findings of the same rules."""
        return Finder(self.knowledge)

    @cached_property
    def vocabulary(self) -> Vocabulary:
        """The names of the same rules, of this furnace's steps among them."""
        return Vocabulary(self.knowledge, self.family.furnace.furnace)

    @cached_property
    def parts(self) -> tuple[str, ...]:
        """The parts that can fail."""
        return tuple(dict.fromkeys(f.part for f in self.population.faults))

    @cached_property
    def part_of(self) -> NDArray[np.intp]:
        """Of each failure the number of its part."""
        return np.array([self.parts.index(f.part) for f in self.population.faults], np.intp)

    @cached_property
    def repair_minutes(self) -> NDArray[np.float64]:
        """What putting each failure right costs: minutes, and the price in minutes [min]."""
        costs = costs_of_failures(self.knowledge, [(f.part, f.failure) for f in self.population.faults])
        return np.array([c.minutes + c.price / self.words.choice.minute for c in costs])

    @cached_property
    def failures_say(self) -> tuple[str, ...]:
        """What each failure is, in words."""
        return tuple(self.family.failure(f).says for f in self.population.faults)

    @cached_property
    def usual_keys(self) -> tuple[Key, ...]:
        """What can be read and seen, and the signs that no circuit gives; without signs that tell the ranking nothing.

        Where a sensitive meter would show a ghost, the reading is one with a low-impedance meter: nobody should part faults by ghosts.
        Not so where that meter itself misreads.
        """
        tells = {s.sign: s for s in self.knowledge.sign.values() if not s.only_for_proof}
        known = [key for key in self.population.columns if key[2] != "low" and (key[0] in tells or key[0] in self.knowledge.point)]
        low = {(name, step): (name, step, meter) for name, step, meter in self.population.columns if meter == "low" and name not in self.misread_by_low}
        columns = [low.get(key[:2], key) for key in known]
        return (*columns, *((name, "", "") for name, s in tells.items() if s.shows is None and s.goes_with))

    @cached_property
    def keys_read(self) -> tuple[tuple[Key, ...], NDArray[np.intp]]:
        """The usual keys that furnaces give, and the column of each."""
        keys = tuple(k for k in self.usual_keys if k in self.population.columns)
        return keys, np.array([self.population.columns[k] for k in keys], np.intp)

    @cached_property
    def low_keys(self) -> tuple[Key, ...]:
        """What can be read again with a low-impedance meter."""
        return tuple((name, step, "low") for name, step, meter in self.population.columns if meter == "high" and name not in self.misread_by_low)

    @cached_property
    def misread_by_low(self) -> frozenset[str]:
        """Points that a low-impedance meter draws down on a healthy furnace."""
        return frozenset(p.point for p in self.knowledge.point.values() if p.meter == "high")

    def column(self, key: Key) -> int:
        """Where readings of *key* stand; a low-impedance meter has a column of its own only where it reads otherwise."""
        columns = self.population.columns
        return columns[key] if key in columns else columns[(key[0], key[1], "high")]

    @cached_property
    def minutes(self) -> dict[str, float]:
        """Of taking each reading or looking at each sign, with what its risks weigh [min]."""
        entries: dict[str, Point | Sign] = {**self.knowledge.point, **self.knowledge.sign}
        return {name: e.minutes + risk_minutes(self.knowledge, e) for name, e in entries.items()}

    @cached_property
    def numbers_of(self) -> dict[str, list[int]]:
        """Of each point and sign the numbers of its keys in `shown` and `odd`."""
        numbers: dict[str, list[int]] = {}
        for number, (name, _, _) in enumerate(self.shown.keys):
            numbers.setdefault(name, []).append(number)
        return numbers

    def cautions(self, repair: Repair) -> tuple[str, ...]:
        """What to mind in a repair, in words."""
        if repair.repair not in self._cautions:
            self._cautions[repair.repair] = tuple(self.knowledge.caution[c].says for c in cautions_of(self.knowledge, repair))
        return self._cautions[repair.repair]

    @cached_property
    def failed(self) -> NDArray[np.intp]:
        """The furnaces with a failure."""
        return np.flatnonzero(self.population.fault_of >= 0)

    @cached_property
    def few_of_each(self) -> NDArray[np.intp]:
        """The same furnaces of each failure, FEW_OF_EACH of them, that stand for all where something else is like any of them."""
        return np.flatnonzero((self.population.fault_of >= 0) & (self.population.site_of < FEW_OF_EACH))

    @cached_property
    def healthy(self) -> NDArray[np.intp]:
        """The furnaces without one."""
        return np.flatnonzero(self.population.fault_of < 0)

    @cached_property
    def dealt(self) -> Dealt:
        """Which values of its options each furnace has."""
        return dealt(self.population, {name: len(option.values) for name, option in self.family.furnace.options.items()})

    @cached_property
    def shown(self) -> Shown:
        """What the usual keys show on the furnaces with a failure."""
        return shown_on_all(self, self.failed)

    @cached_property
    def odd(self) -> Floats:
        """How many of each failure's furnaces read each of the usual keys otherwise than a good one, shape (keys, failures)."""
        return odd_on_all(self)

    @cached_property
    def key_number(self) -> dict[Key, int]:
        """Where each of the usual keys stands in `shown` and `odd`."""
        return {key: n for n, key in enumerate(self.shown.keys)}

    @cached_property
    def good_give(self) -> NDArray[np.bool_]:
        """Which of the usual keys any good furnace gives: what is said of no call, and what is read where its calls come."""
        given = np.asarray((~np.isnan(self.population.table[:, self.healthy])).any(axis=1))
        return np.array([not key[1] or bool(given[self.column(key)]) for key in self.shown.keys], np.bool_)

    def telling(self, failures: Floats) -> NDArray[np.bool_]:
        """Which of the usual keys may tell failures apart that are believed in so: with some they read otherwise than on the good furnace of the site.

        What reads as on a good furnace with all of them tells the furnaces apart, an igniter of one kind from one of another, and not what is wrong.
        What no good furnace comes to may always tell. *failures*: belief in each, shape (faults,).
        """
        return np.asarray(~self.good_give | (self.odd @ (failures / max(float(failures.sum()), 1e-300)) >= RARELY))

    @cached_property
    def asked_by_repairs(self) -> NDArray[np.bool_]:
        """Which of the usual keys are of readings that some repair names to be taken before its part is touched."""
        named = {name for repair in self.knowledge.repair.values() for name in read_before(self.knowledge, repair)}
        return np.array([key[0] in named for key in self.shown.keys], bool)

    @cached_property
    def asked_by_proofs(self) -> frozenset[tuple[str, str]]:
        """Names and steps of all that some proof asks to be read or seen; "" and WHOLE_CALL of what has no step."""
        conditions = {self.knowledge.condition[n] for proof in self.knowledge.proof.values() for n in proof.needs}
        lines = (w for c in conditions for way in c.any_of for w in way if (w.point or w.sign) and not w.meets_only)
        return frozenset((w.names[0][1], step) for w in lines for step in (w.step or ("", WHOLE_CALL)))

    def points_read_with(self, instruments: Collection[str]) -> frozenset[str]:
        """The points that are read with any of *instruments*, as the words table names them."""
        functions = {function for tool in instruments for function in self.words.instruments[tool]}
        return frozenset(p.point for p in self.knowledge.point.values() if p.function in functions)

    def bins_of_failure(self, number: int) -> NDArray[np.int16]:
        """The bins that the furnaces of a failure show, made once for each failure; shape (columns of the population, its furnaces)."""
        if number not in self._bins:
            self._bins[number] = bins_of(self.population.table[:, self.population.fault_of == number], self._errors)
        return self._bins[number]

    @cached_property
    def _errors(self) -> tuple[Floats, Floats]:
        """Relative and absolute error of each column of the population."""
        return errors_of(self.knowledge, [name for name, _, _ in self.population.columns])

    def groups(self, records: Sequence[Record], mistimed: Collection[int] = ()) -> list[Group]:
        """Records that tell something, joined where they restate one another. Records that no furnace gives together do not: one of them is wrong.

        *mistimed*: numbers of those read too early or too late; they tell little, and stand alone so that a later one of the same counts in full.
        """
        groups: list[Group] = []
        for number in self._fewest_echoes_first(records):
            record = records[number]
            fact = self.told(record)
            if fact is None:
                continue
            if number in mistimed:
                groups.append(([record], [fact._replace(slip=MISTIMED, lands=HALF)]))
            elif (home := self.home(record, groups)) is None or _contradict([*home[1], fact]):
                groups.append(([record], [fact]))
            else:
                home[0].append(record)
                home[1].append(fact)
        return _as_told(groups, records)

    def _fewest_echoes_first(self, records: Sequence[Record]) -> list[int]:
        """The numbers of *records*, so that what restates two that do not restate one another comes after both, in whatever order they were told.

        It is then of one of them, and does not make one of all three.
        """
        echoes = [sum(self._restates(one, other) for other in records if other is not one) for one in records]
        return sorted(range(len(records)), key=lambda number: (echoes[number], records[number].name))

    def home(self, record: Record, groups: Sequence[Group]) -> Group | None:
        """The group that *record* restates; None where it tells something new."""
        able = [g for g in groups if g[1][0].slip < MISTIMED]
        return next((g for g in able if any(self._restates(record, other) for other in g[0])), None)

    @cached_property
    def comings(self) -> Comings:
        """The rows of failures that come and go, each with the healthy furnace of its site."""
        order = list(self.family.sequence.order)
        found = [(i, c) for i, f in enumerate(self.population.faults) if (c := self.family.failure(f).comes_and_goes) is not None]
        rows = [np.flatnonzero(self.population.fault_of == i) for i, _ in found]
        every = np.concatenate([np.zeros(0, np.intp), *rows]).astype(np.intp)
        site = np.zeros(int(self.population.site_of.max(initial=0)) + 1, np.intp)
        site[self.population.site_of[self.healthy]] = self.healthy
        share = np.concatenate([np.zeros(0), *(np.full(len(r), c.share) for r, (_, c) in zip(rows, found, strict=True))])
        starts = [np.full(len(r), order.index(c.from_step) if c.from_step else 0, np.intp) for r, (_, c) in zip(rows, found, strict=True)]
        return Comings(every, site[self.population.site_of[every]], share, np.concatenate([np.zeros(0, np.intp), *starts]))

    def _restates(self, one: Record, other: Record) -> bool:
        if one.name == other.name:
            same_step = one.step == other.step or None in (one.step, other.step)  # read twice, it is told once
            restated = same_step and (one.meter == "low") == (other.meter == "low")  # another meter is another reading
        else:
            restated = other.name in self._echoes.get(one.name, ())
        return restated and one.call == other.call and one.taken_off == other.taken_off

    @cached_property
    def _echoes(self) -> dict[str, set[str]]:
        """Of each point and sign the others that restate it or are restated by it."""
        echoes: dict[str, set[str]] = {}
        for name, sign in self.knowledge.sign.items():
            for other in sign.says_same_as:
                echoes.setdefault(name, set()).add(other)
                echoes.setdefault(other, set()).add(name)
        return echoes

    @property
    def sign_of_stopping(self) -> str | None:
        """The sign that says at which step a call stops, each step by its own name."""
        order = set(self.family.sequence.order)
        return next((s.sign for s in self.knowledge.sign.values() if s.shows == "stops_at" and len(order & set(s.values)) > 1), None)

    def among(self, rows: NDArray[np.intp]) -> Evidence:
        """The same of some furnaces: its facts have the shape of *rows*."""
        some = copy(self)
        some._rows, some._of_rows = rows, {}
        return some

    def fact(self, record: Record, values: Values | None = None) -> Fact | None:
        """What one record says of every row; None where the ranking makes nothing of it (events, history, notes).

        *values*: several that a point or sign may show instead of the record's own; the fit is then of shape (values, rows).
        """
        if self.why_unused(record):
            return None
        if record.kind == "point":
            return self._made(record, self.fit(record, values), "measured")
        if record.kind == "sign":
            sign = self.knowledge.sign[record.name]
            return None if sign.only_for_proof else self._made(record, self.fit(record, values), sign.source_kind, standing=sign.shows is None)
        return None

    def told(self, record: Record) -> Fact | None:
        """The same of a record that somebody made, who may have named another step than the one it was read in."""
        return self.fact(self.as_taken(record))

    def as_taken(self, record: Record) -> Record:
        """The record at the step in which it was read; without one, where no furnace that comes to it reads so there ("limit open" while it heats)."""
        name = self.read_with(record)
        steps = self._columns.get(name, {})
        if record.step not in steps and (during := self._read_during.get(str(record.step))) in steps:
            record = replace(record, step=during)
        if record.step not in steps or len(steps) == 1 or record.step == self.family.sequence.heat_call.step or record.hold:
            return record
        there = self._read_at(name, str(record.step))
        if not there.size or self._fit_of(record)(there).max() >= GIVEN:
            return record
        return replace(record, step=None)

    def _read_at(self, name: str, step: str) -> Floats:
        """The different numbers that any furnace gives at a step, or where it hangs in one that looks like it."""
        if (name, step) not in self._there:
            self._there[name, step] = self.predicted(name).read_at(self._looks_like(step))
        return self._there[name, step]

    @cached_property
    def _read_during(self) -> dict[str, str]:
        """Of each step the one in which is read what is said of it, where that is another."""
        return {s.step: s.read_during for s in self.family.sequence.steps if s.read_during is not None}

    def _looks_like(self, step: str) -> list[str]:
        """The step, and those in which a furnace may hang that then looks as in it."""
        return [step, *(s.step for s in self.family.sequence.steps if s.seen_as == step)]

    def _fit_of(self, record: Record) -> Fit:
        """How well what is predicted fits a point, or a sign that is foretold."""
        if record.kind == "point":
            return self._number(self.knowledge.point[record.name], record, None)
        sign = self.knowledge.sign[record.name]
        assert sign.shows is not None
        return _word_is(self.chances(sign, words_of(sign.shows, self.family.sequence))[sign.values.index(str(record.word))])

    def fit(self, record: Record, values: Values | None = None) -> Floats:
        """How well each furnace fits a point or sign that the ranking uses, no matter who told of it and how surely."""
        fits, kind = self.fit_by_kind(record, values)
        return fits if kind is None else fits.take(kind, axis=-1)

    def fit_by_kind(self, record: Record, values: Values | None = None) -> Kinds:
        """The same of one furnace of each kind, with the kind of every furnace."""
        if record.kind == "point":
            return self._over_steps(record, self._number(self.knowledge.point[record.name], record, values))
        return self._of_sign(self.knowledge.sign[record.name], record, values)

    def taken_otherwise(self, records: Sequence[Record]) -> tuple[str, ...]:
        """What is taken without the step that was told, in words."""
        moved = [r for r in records if r.step is not None and not self.why_unused(r) and self.as_taken(r).step is None]
        return tuple(f"{r.said}: no furnace reads so at {str(r.step).replace('_', ' ')}; it is taken as read at another step" for r in moved)

    def _made(self, record: Record, fit: Floats, usual: str, *, standing: bool = False) -> Fact:
        order = self.family.sequence.order
        place = order.index(record.step) if record.step in order else None
        return Fact(record.name, fit, self._slip(record, usual), record.call, place, standing, self.lands[record.name])

    @cached_property
    def lands(self) -> dict[str, float]:
        """How often a slip of each point or sign gives what was reported: a figure lands near it, a word on any of the sign's."""
        return {**dict.fromkeys(self.knowledge.point, NEAR), **{name: 1 / len(sign.values) for name, sign in self.knowledge.sign.items()}}

    def why_unused(self, record: Record) -> str | None:
        """Why the ranking makes nothing of a reading or sign; None where it does."""
        if record.unused or record.kind not in ("point", "sign"):
            return record.unused
        if record.kind == "sign" and self.knowledge.sign[record.name].only_for_proof:
            return None  # it is not meant for the ranking
        if record.kind == "sign" and self.knowledge.sign[record.name].shows is None:
            return None  # a habit, at whatever step
        if self.read_with(record) not in self._columns:
            return _why_not_foretold(record)
        return None if self._tells_at(record) else f"nothing is foretold of it{_told_off(record)} at {str(record.step).replace('_', ' ')}"

    def read_with(self, record: Record) -> str:
        """The name under which a record is foretold: its point or sign, with what was taken off for it; with several off only an output's own pin at rest.

        Ohms of a part are those of the part with its leads off, whether that is told or not.
        """
        point = self.knowledge.point.get(record.name)
        as_it_is = not record.taken_off or (point is not None and point.function == "ohms")
        return record.name if as_it_is else with_off(record.name, all_off(*record.taken_off))

    def _tells_at(self, record: Record) -> bool:
        """Whether anything is predicted of the step at which a record was taken; what is said of a whole call, or only at one step, has no other."""
        steps, during = self._columns[self.read_with(record)], self._read_during.get(str(record.step))
        if len(record.taken_off) > 1:  # foretold at rest alone, which is no other step
            return record.step in (None, *steps)
        in_call = record.step in (None, self.family.sequence.heat_call.step)
        return in_call or len(steps) == 1 or not steps.keys().isdisjoint((record.step, during))

    def _slip(self, record: Record, usual: str) -> float:
        slip = self.words.slip[usual if record.source is None or usual == "light" else record.source]
        return slip * self.words.looked_twice if record.sure else slip

    def _number(self, point: Point, record: Record, values: Values | None) -> Fit:
        inrush = record.hold and point.unit in ("A", "V")  # what a motor draws as it starts is in what was held, too
        roughly = inrush or (record.approximate and not record.give)
        doubt, floor = (part * (ROUGHLY if roughly else 1) for part in error_of(point))
        if record.give:  # somewhere within it, beside the usual error
            doubt = math.hypot(doubt, record.give / max(abs(record.number or 0.0), record.give))
        value = np.array(values, float)[:, None] if values is not None else float(record.number if record.number is not None else np.nan)
        return lambda predicted: numeric_fit(predicted, value, doubt, floor)

    def _of_sign(self, sign: Sign, record: Record, values: Values | None) -> Kinds:
        if sign.shows is None:
            return self._by_habit(sign, str(record.word) if values is None else [str(v) for v in values])
        if values is None:
            return self._over_steps(record, self._fit_of(record))
        chances = self.chances(sign, words_of(sign.shows, self.family.sequence))[[sign.values.index(str(v)) for v in values]]
        if len(self._columns[self.read_with(record)]) == 1 or record.step not in (None, self.family.sequence.heat_call.step):
            return self._over_steps(record, _word_is(chances))
        each = [self._over_steps(record, _word_is(chance)) for chance in chances]  # what is told of a whole call is weighed word by word
        return np.stack([fits for fits, _ in each]), each[0][1]

    def _by_habit(self, sign: Sign, values: str | Sequence[str]) -> Kinds:
        """How often the sign is met with each failure, in words turned to numbers; never with none."""
        fault = self.population.fault_of if self._rows is None else self.population.fault_of[self._rows]
        met = self.habits(sign, values) if isinstance(values, str) else np.stack([self.habits(sign, v) for v in values])
        return np.concatenate([met, np.zeros((*met.shape[:-1], 1))], axis=-1), fault  # the last is of the furnaces numbered -1, without a failure

    def chances(self, sign: Sign, words: tuple[str, ...]) -> Floats:
        """How often each of *words* is reported as each value of the sign, shape (values, words)."""
        if sign.sign not in self._chances:
            self._chances[sign.sign] = np.array([chance_of_words(sign, words, v) for v in sign.values])
        return self._chances[sign.sign]

    def habits(self, sign: Sign, value: str) -> Floats:
        """How often a sign that no circuit gives has *value* with each failure, shape (faults,)."""
        if (sign.sign, value) not in self._habits:
            goes = [[g for g in sign.goes_with for f in faults if g.part == f.part and g.failure in (None, f.failure)] for faults in self.having]
            otherwise = self._habit(sign, value, [])
            self._habits[sign.sign, value] = np.array([self._habit(sign, value, g) if g else otherwise for g in goes]) * self.ever_there(sign)
        return self._habits[sign.sign, value]

    def ever_there(self, sign: Sign) -> Floats:
        """On how many furnaces with each failure there is anything to see of a sign that no circuit gives, shape (faults,), from 0 to 1.

        What comes and goes leaves calls in which there is.
        """
        there = np.ones(len(self.population.fault_of), bool)
        for name, values in sign.seen_only_with.items():
            other = self.knowledge.sign[name]
            assert other.shows is not None
            chance = self.chances(other, words_of(other.shows, self.family.sequence))[[other.values.index(v) for v in values]].max(axis=0)
            there &= word_fit(self.predicted(name).usual[0], chance) >= GIVEN
        p = self.population
        share = np.bincount(p.failure_of, there[p.failed], len(p.faults)) / np.maximum(np.bincount(p.failure_of, minlength=len(p.faults)), 1)
        return np.where([self.family.failure(f).comes_and_goes is not None for f in p.faults], 1.0, share)

    def _habit(self, sign: Sign, value: str, goes_with: Sequence[GoesWith]) -> float:
        goes = self.words.goes
        told = dict.fromkeys(dict.fromkeys(g.value for g in sign.goes_with), goes[sign.otherwise])
        told |= {g.value: goes[g.how] for g in sorted(goes_with, key=lambda g: goes[g.how])}
        if value in told:
            return told[value]
        rest = len(sign.values) - len(told)
        return max(1 - sum(told.values()), goes["hardly_ever"]) / max(rest, 1)

    def step_wanted(self, record: Record) -> str | None:
        """A step with which a record would tell more than without any, the last at which a heat call changes it; None where it needs none."""
        name = self.read_with(record)
        steps = [s for s in self._columns.get(name, {}) if s != WHOLE_CALL]
        if record.step is not None or len(steps) <= 1 or record.unused:
            return None
        return self.steps_of(name)[max(self.due(name).steps, default=0)]

    # --- steps and meters ------------------------------------------------------------------

    def predicted(self, name: str) -> Predicted:
        """Everything predicted of a point or sign; KeyError where that is nothing."""
        if name not in self._predicted:
            self._predicted[name] = predicted_of(self._columns[name], self.population, self._table_of(name))
        return self._predicted[name]

    def steps_of(self, name: str) -> tuple[str, ...]:
        """Where anything is predicted of a point or sign, as `Predicted` has it; KeyError where that is nothing."""
        return tuple(self._columns[name])

    def _table_of(self, name: str) -> NDArray[np.float16]:
        """Where what is predicted of it stands: as it is, or with something taken off."""
        return self.population.changed if "@" in name else self.population.table

    def _over_steps(self, record: Record, fit: Fit) -> Kinds:
        """Fit of the furnaces that facts are made for."""
        kinds, kind = self._foretold(record)
        return self._of_kinds(kinds, record, fit), kind

    def _foretold(self, record: Record) -> tuple[Predicted, NDArray[np.signedinteger] | None]:
        """What is foretold of a record's step and those beside it, as `Kinds` has it: furnaces that give the same are reckoned once, and most do."""
        name = self.read_with(record)
        if self._rows is not None:
            if name not in self._of_rows:
                self._of_rows[name] = self.predicted(name).of(self._rows)
            return self._of_rows[name], None
        step = None if record.step == self.family.sequence.heat_call.step else record.step
        if (name, step) not in self._kinds:
            predicted = self.predicted(name)
            near = predicted if step is None or len(predicted.steps) == 1 else predicted.at((step, *self._neighbours(step)))
            self._kinds[name, step] = near.alike()
        return self._kinds[name, step]

    def _of_kinds(self, predicted: Predicted, record: Record, fit: Fit) -> Floats:
        """Fit where the step was stated, or over the call; a stated step may be mistaken."""
        fits = fit(predicted.numbers)
        if len(self._columns[self.read_with(record)]) == 1:
            return np.asarray(_metered(predicted, record, fits, [0])[0])
        if record.step == self.family.sequence.heat_call.step and record.step in predicted.steps:
            return self._while_calling(predicted, record, fits, self._of_the_call(predicted, record, fits, fit))
        if record.step is None or record.step == self.family.sequence.heat_call.step:
            return self._unstated(predicted, record, fits, self._of_the_call(predicted, record, fits, fit))
        return self._stated(predicted, record, record.step, fits)

    # --- what is told of the whole heat call -------------------------------------------------

    def due(self, name: str) -> Due:
        """When a heat call changes a point or sign; KeyError where nothing is predicted of it."""
        if name not in self._due:
            self._due[name] = self._made_due(name)
        return self._due[name]

    def as_reported(self, name: str, step: str) -> bool:
        """Whether a record would be understood to be of its step: one of the heat call is of all of it, and not of its first instant.

        So what the call changes only later is to be read at the step that does.
        """
        due = self.due(name).steps if step == self.family.sequence.heat_call.step else ()
        return not due or self.steps_of(name).index(step) in due

    def _made_due(self, name: str) -> Due:
        """A healthy furnace says it: at which steps of its call the thing is not as it is at rest."""
        sequence, steps = self.family.sequence, self.steps_of(name)
        in_call = [steps.index(s) for s in sequence.order[1:] if s in steps]
        rest = next((steps.index(s) for s in (sequence.starts_at, sequence.heat_call.step) if s in steps), None)
        if rest is None:  # the rules list no step in which nothing is due
            return Due(tuple(in_call), tuple(in_call), None)
        usual = [by_meter.get("high", next(iter(by_meter.values()))) for by_meter in self._columns[name].values()]
        healthy = self._table_of(name)[np.ix_(np.array(usual), self.healthy)].astype(np.float64)
        differ = self._differ(name, healthy, healthy[rest])
        return Due(tuple(i for i in in_call if differ[i]), tuple(in_call), _median(healthy[rest]))

    def _differ(self, name: str, one: Floats, other: Floats) -> NDArray[np.bool_]:
        """Whether most furnaces read or show something else in one row than in another, of each row."""
        bare = name.partition("@")[0]
        if bare in self.knowledge.sign:
            apart = one != other
        else:
            error = error_of(self.knowledge.point[bare])
            apart = np.abs(in_errors(one, *error) - in_errors(other, *error)) > DUE_FROM
        return np.asarray(np.mean(apart & ~np.isnan(one), axis=1) > 0.5)

    def _of_the_call(self, predicted: Predicted, record: Record, fits: Floats, fit: Fit) -> Floats | None:
        """Fit of what is told of the heat call as a whole; None where the call changes nothing of it, and rest shows it too.

        "Yes" means that it was so at some step of the call. "No", or whatever rest shows too, means that it never was otherwise while it was due.
        A reading is taken to be of a step at which the thing was due. If the furnace never comes to one, all these speak of where it stops or rests.
        """
        due = self.due(self.read_with(record))
        stops, rests = _metered(predicted, record, fits, [predicted.stop, predicted.rest])
        if record.kind == "sign" and due.rest is not None and not fit(np.array([due.rest]))[0]:
            return np.asarray(np.max([*_metered(predicted, record, fits, list(due.in_call)), rests], axis=0))
        if not due.steps:
            return None
        rows = list(due.steps)
        there = _metered(predicted, record, fits, rows)
        reached = ~predicted.never(rows)
        # what is never read fits nothing
        told = np.where(reached, there, 1.0).min(axis=0) if record.kind == "sign" else there.sum(axis=0) / np.maximum(reached.sum(axis=0), 1)
        stops = np.where(predicted.stops, stops, rests)
        never = NEVER_CAME * (stops + np.where(predicted.rests, rests, stops)) / 2
        return np.asarray(np.where(reached.any(axis=0), told, never))

    def _while_calling(self, predicted: Predicted, record: Record, fits: Floats, whole: Floats | None) -> Floats:
        """Said of the whole time in which heat is called for, not only of its first instant. *whole*: fit of what is told of the call."""
        at_once = predicted.steps.index(self.family.sequence.heat_call.step)
        there, stops, rests = _metered(predicted, record, fits, [at_once, predicted.stop, predicted.rest])
        if whole is None:
            where_it_stops, where_it_rests = WHILE_CALLING
            return np.asarray(
                AS_IT_COMES * there + where_it_stops * np.where(predicted.stops, stops, there) + where_it_rests * np.where(predicted.rests, rests, there)
            )
        return np.asarray(AS_IT_COMES * there + (1 - AS_IT_COMES) * whole)

    def _unstated(self, predicted: Predicted, record: Record, fits: Floats, whole: Floats | None) -> Floats:
        """No step was told. *whole*: fit of what is told of the call."""
        rows = _metered(predicted, record, fits, list(range(predicted.rest + 1)))
        mean = np.mean(rows[: predicted.stop], axis=0)
        if whole is not None:
            of_the_call, any_step = UNSTATED
            told = of_the_call * whole + any_step * mean
        else:
            where_it_stops, where_it_rests, any_step = UNSTATED_STEP
            stops, rests = _where_it_ends(predicted, rows, mean)
            told = where_it_stops * stops + where_it_rests * rests + any_step * mean
        if WHOLE_CALL not in predicted.steps:
            return np.asarray(told)
        return np.asarray(AFTER_CALL * rows[predicted.steps.index(WHOLE_CALL)] + (1 - AFTER_CALL) * told)

    def at_its_ends(self, record: Record) -> Floats | None:
        """Fit of a reading without a step, were it read where the call stops, and where it rests; shape (2, furnaces).

        None where a step was told, where there is but one, and where a heat call changes the thing: that is read while it is due.
        """
        name = self.read_with(record)
        if record.kind != "point" or record.step is not None or self.why_unused(record) or len(self._columns[name]) == 1 or self.due(name).steps:
            return None
        predicted, kind = self._foretold(record)
        rows = _metered(predicted, record, self._number(self.knowledge.point[record.name], record, None)(predicted.numbers), list(range(predicted.rest + 1)))
        ends = np.array(_where_it_ends(predicted, rows, np.mean(rows[: predicted.stop], axis=0)))
        return ends if kind is None else ends.take(kind, axis=-1)

    # --- what is told of one step ------------------------------------------------------------

    def _stated(self, predicted: Predicted, record: Record, step: str, fits: Floats) -> Floats:
        here = predicted.steps.index(step)
        near = [predicted.steps.index(s) for s in self._neighbours(step) if s in predicted.steps] or [here]
        there, stops, rests, *nearby = _metered(predicted, record, fits, [here, predicted.stop, predicted.rest, *near])
        stops = np.where(predicted.stops, stops, there)
        if record.kind == "sign":  # who watches for a thing that never comes says "no" at the step where it was due
            rests = np.where(predicted.rests, rests, stops)
            (never,) = predicted.never([here])
            there = np.where(never, NEVER_CAME * (stops + rests) / 2, there)
        else:
            there = self._hung(predicted, record, fits, here, there)
            if record.hold is not None:
                there = np.maximum(there, self._held(predicted, record, fits, here, near))
        share = self.words.step_stated
        return np.asarray(share["there"] * there + share["where_it_stops"] * stops + share["neighbours"] * np.mean(nearby, axis=0))

    def _hung(self, predicted: Predicted, record: Record, fits: Floats, here: int, there: Floats) -> Floats:
        """Fit at a stated step, *there*; on furnaces that hang in one that looks the same and never come to it, of that one."""
        steps = predicted.steps
        for like in (s for s in self._looks_like(steps[here])[1:] if s in steps):
            never, never_like = predicted.never([here, steps.index(like)])
            (fit_like,) = _metered(predicted, record, fits, [steps.index(like)])
            there = np.where(never & ~never_like, NEVER_CAME * fit_like, there)
        return there

    def _held(self, predicted: Predicted, record: Record, fits: Floats, here: int, near: list[int]) -> Floats:
        """Fit of a held reading where the hold ran into a step beside, or on to where the furnace stops, that reads still lower or higher."""
        beyond = [*near, predicted.stop, predicted.rest]
        which = predicted.metered(record.meter or "high")
        numbers = predicted.numbers[which]
        with np.errstate(invalid="ignore"):
            further = numbers[beyond] < numbers[here] if record.hold == "min" else numbers[beyond] > numbers[here]
        there = _metered(predicted, record, fits, beyond)
        mask = further if there.ndim == 2 else further[:, None]
        return np.asarray(np.where(mask, there, 0.0).max(axis=0))

    def _neighbours(self, step: str) -> list[str]:
        order = self.family.sequence.order
        if step not in order:
            return []
        i = order.index(step)
        near = order[max(i - 1, 0) : i] + order[i + 1 : i + 2]
        return [s for s in near if s != self.family.sequence.heat_call.step]  # a good furnace leaves it at once, so nobody reads it there by mistake


def _word_is(chance: Floats) -> Fit:
    """Fit of what a sign shows, where each of its words is reported so with some *chance*, shape (words,) or (values, words)."""
    return lambda predicted: word_fit(predicted, chance)


def _where_it_ends(predicted: Predicted, rows: Floats, otherwise: Floats) -> tuple[Floats, Floats]:
    """Of the fits of all rows those where the call stops and where it rests; *otherwise* on furnaces that read nothing there."""
    return np.where(predicted.stops, rows[predicted.stop], otherwise), np.where(predicted.rests, rows[predicted.rest], otherwise)


def _median(values: Floats) -> float:
    """The middle one, nan if any is; numpy's own brings in its masked arrays, which takes as long as a ranking."""
    ordered = np.sort(values)
    return float((ordered[(len(ordered) - 1) // 2] + ordered[len(ordered) // 2]) / 2 if not np.isnan(ordered[-1]) else np.nan)


def _as_told(groups: Sequence[Group], records: Sequence[Record]) -> list[Group]:
    """The groups, and the records of each, in the order in which *records* were told."""
    place = {id(record): number for number, record in enumerate(records)}
    told = [sorted(zip(*group, strict=True), key=lambda pair: place[id(pair[0])]) for group in groups]
    told.sort(key=lambda pairs: place[id(pairs[0][0])])
    return [([record for record, _ in pairs], [fact for _, fact in pairs]) for pairs in told]


def _contradict(facts: Sequence[Fact]) -> bool:
    """Whether no furnace gives all of them."""
    return bool(np.minimum.reduce([fact.fit for fact in facts]).max() < GIVEN)


def _told_off(record: Record) -> str:
    """How what was taken off is told, where anything was."""
    return "".join(f" with {what.replace('_', ' ')}" for what in (" and ".join(record.taken_off),) if what)


def _why_not_foretold(record: Record) -> str:
    """Why nothing is foretold of a point or sign, in words."""
    if not record.taken_off:
        return "this furnace never gives such a reading"
    if len(record.taken_off) > 1:
        return f"nothing is foretold{_told_off(record)} together; the proof rules read it all the same"
    if record.taken_off == ("lead_off",):
        return "with a lead off, only volts at an output's own pin are foretold, for off elsewhere the control acts on it; the proof rules read it all the same"
    return f"nothing is foretold of it{_told_off(record)}; the proof rules read it all the same"


def _metered(predicted: Predicted, record: Record, fits: Floats, rows: list[int]) -> Floats:
    """Fit of numbered rows with the record's meter, averaged over the meters where it is not known; shape (rows, ..., furnaces).

    *fits*: of the numbers that are predicted.
    """
    meters = UNSTATED_METER if record.meter is None else {record.meter: 1.0}
    if len(predicted.which) == 1:
        meters = {"": 1.0}
    each = [fits.take(predicted.which[meter][rows], axis=-1) for meter in meters]
    mean = np.asarray(each[0] if len(each) == 1 else sum(share * f for share, f in zip(meters.values(), each, strict=True)))
    return mean if fits.ndim == 1 else np.moveaxis(mean, -2, 0)


def chance_of_words(sign: Sign, words: tuple[str, ...], value: str) -> Floats:
    """How often each of the *words* of what the sign shows is reported as *value*, shape (words,).

    A word that several values may stand for is divided among them.
    """
    meant = {v: sign.reads_as.get(v, (v,)) for v in sign.values}
    return np.array([(w in meant[value]) / max(sum(w in m for m in meant.values()), 1) for w in words], float)
