"""What is known of one population, each thing reckoned once; and records -> facts: how well each furnace fits what was read, seen or told."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from copy import copy
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from furnace_diag.diagnosis import readable, step_taken
from furnace_diag.diagnosis.any_site import WITHOUT_POWER, reads_as_good
from furnace_diag.diagnosis.bins import bins_of, errors_of
from furnace_diag.diagnosis.comings import comings_of
from furnace_diag.diagnosis.findings import Finder
from furnace_diag.diagnosis.foretold import Foretold, Kind
from furnace_diag.diagnosis.groups import Echoes, Group, echoes_of, home_of, joined
from furnace_diag.diagnosis.habits import ever_there, met_with
from furnace_diag.diagnosis.records import Record
from furnace_diag.diagnosis.shown import Shown, shown_on_all
from furnace_diag.diagnosis.telltale import RARELY, odd_on_all
from furnace_diag.diagnosis.value_fits import Fit, Values, figure_is, word_is
from furnace_diag.diagnosis.vocabulary import Vocabulary
from furnace_diag.diagnosis.weigh import NEAR, Comings, Dealt, Fact, dealt
from furnace_diag.furnace.bracket import Bracket
from furnace_diag.furnace.built import WHOLE_CALL, Key, Population
from furnace_diag.furnace.family import Family, Fault
from furnace_diag.knowledge.models import Knowledge, Sign, Words
from furnace_diag.knowledge.repair_models import Repair
from furnace_diag.knowledge.repairs import cautions_of, costs_of_failures

Floats = NDArray[np.float64]

FEW_OF_EACH = 4  # furnaces of each failure of which it is reckoned what readings something else would give

Kinds = tuple[Floats, Kind | None]  # one number for each kind of furnace, and the kind of every furnace; None where each is a kind


class Evidence:
    """Turns records into groups of facts about one population.

    *having*: what failures each number of the population's `fault_of` stands for, where that is not one of the population's own each.
    """

    def __init__(self, family: Family, population: Population, having: Sequence[tuple[Fault, ...]] | None = None) -> None:
        self.family, self.population = family, population
        self.having = [(fault,) for fault in population.faults] if having is None else having
        self.knowledge: Knowledge = family.knowledge
        self.words: Words = next(iter(self.knowledge.words.values()))
        self.foretold = Foretold(family, population)
        self._bins: dict[int, NDArray[np.int16]] = {}
        self.apart: dict[tuple[int, int], Floats] = {}  # of pairs of failures, how far each of `keys_read` tells them apart; kept by apart.py
        self.alike: dict[int, Floats] = {}  # of a failure's furnaces, from what share of them each of `keys_read` does not tell them; kept by apart.py
        self._habits: dict[tuple[str, str], Floats] = {}
        self._cautions: dict[str, tuple[str, ...]] = {}
        self._good_reads: dict[str, NDArray[np.bool_]] = {}

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
    def dealt(self) -> Dealt:
        """Which values of its options each furnace has."""
        return dealt(self.population, {name: len(option.values) for name, option in self.family.furnace.options.items()})

    @cached_property
    def bracket(self) -> Bracket:
        """What reads at both ends of what a failure opens."""
        return Bracket(self.family)

    @cached_property
    def comings(self) -> Comings:
        """The rows of failures that come and go, each with the healthy furnace of its site."""
        return comings_of(self.family, self.population)

    @property
    def sign_of_stopping(self) -> str | None:
        """The sign that says at which step a call stops, each step by its own name."""
        order = set(self.family.sequence.order)
        return next((s.sign for s in self.knowledge.sign.values() if s.shows == "stops_at" and len(order & set(s.values)) > 1), None)

    # --- what can be read and seen ---------------------------------------------------------------

    @cached_property
    def usual_keys(self) -> tuple[Key, ...]:
        """What can be read and seen, and the signs that no circuit gives; see `readable.usual_keys`."""
        return readable.usual_keys(self.knowledge, self.population.columns)

    @cached_property
    def keys_read(self) -> tuple[tuple[Key, ...], NDArray[np.intp]]:
        """The usual keys that furnaces give, and the column of each."""
        keys = tuple(k for k in self.usual_keys if k in self.population.columns)
        return keys, np.array([self.population.columns[k] for k in keys], np.intp)

    @cached_property
    def low_keys(self) -> tuple[Key, ...]:
        """What can be read again with a low-impedance meter."""
        return readable.low_keys(self.knowledge, self.population.columns)

    def column(self, key: Key) -> int:
        """Where readings of *key* stand; a low-impedance meter has a column of its own only where it reads otherwise."""
        columns = self.population.columns
        return columns[key] if key in columns else columns[(key[0], key[1], "high")]

    @cached_property
    def minutes(self) -> dict[str, float]:
        """Of taking each reading or looking at each sign, with what its risks weigh [min]."""
        return readable.minutes_of(self.knowledge)

    def points_read_with(self, instruments: Collection[str]) -> frozenset[str]:
        """The points that are read with any of *instruments*, as the words table names them."""
        return readable.points_read_with(self.knowledge, self.words, instruments)

    @cached_property
    def asked_by_repairs(self) -> NDArray[np.bool_]:
        """Which of the usual keys are of readings that some repair names to be taken before its part is touched."""
        named = readable.asked_by_repairs(self.knowledge)
        return np.array([key[0] in named for key in self.shown.keys], bool)

    @cached_property
    def asked_by_proofs(self) -> frozenset[tuple[str, str]]:
        """Names and steps of all that some proof asks to be read or seen; "" and WHOLE_CALL of what has no step."""
        return readable.asked_by_proofs(self.knowledge)

    # --- what the furnaces show of it ------------------------------------------------------------

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
    def numbers_of(self) -> dict[str, list[int]]:
        """Of each point and sign the numbers of its keys in `shown` and `odd`."""
        numbers: dict[str, list[int]] = {}
        for number, (name, _, _) in enumerate(self.shown.keys):
            numbers.setdefault(name, []).append(number)
        return numbers

    @cached_property
    def good_give(self) -> NDArray[np.bool_]:
        """Which of the usual keys any good furnace gives: what is said of no call, and what is read where its calls come."""
        given = np.asarray((~np.isnan(self.population.table[:, self.foretold.healthy])).any(axis=1))
        return np.array([not key[1] or bool(given[self.column(key)]) for key in self.shown.keys], np.bool_)

    def telling(self, failures: Floats) -> NDArray[np.bool_]:
        """Which of the usual keys may tell failures apart that are believed in so: with some they read otherwise than on the good furnace of the site.

        What reads as on a good furnace with all of them tells the furnaces apart, an igniter of one kind from one of another, and not what is wrong.
        What no good furnace comes to may always tell. *failures*: belief in each, shape (faults,).
        """
        return np.asarray(~self.good_give | (self.odd @ (failures / max(float(failures.sum()), 1e-300)) >= RARELY))

    def bins_of_failure(self, number: int) -> NDArray[np.int16]:
        """The bins that the furnaces of a failure show, made once for each failure; shape (columns of the population, its furnaces)."""
        if number not in self._bins:
            self._bins[number] = bins_of(self.population.table[:, self.population.fault_of == number], self._errors)
        return self._bins[number]

    @cached_property
    def _errors(self) -> tuple[Floats, Floats]:
        """Relative and absolute error of each column of the population."""
        return errors_of(self.knowledge, [name for name, _, _ in self.population.columns])

    # --- what records say ------------------------------------------------------------------------

    def groups(self, records: Sequence[Record], mistimed: Collection[int] = ()) -> list[Group]:
        """Records that tell something, joined where they restate one another. Records that no furnace gives together do not: one of them is wrong.

        *mistimed*: numbers of those read too early or too late; they tell little, and stand alone so that a later one of the same counts in full.
        """
        return joined(records, self.told, self._echoes, mistimed)

    def home(self, record: Record, groups: Sequence[Group]) -> Group | None:
        """The group that *record* restates; None where it tells something new."""
        return home_of(record, groups, self._echoes)

    @cached_property
    def _echoes(self) -> Echoes:
        """Which points and signs restate one another."""
        return echoes_of(self.knowledge)

    def among(self, rows: NDArray[np.intp]) -> Evidence:
        """The same of some furnaces: its facts have the shape of *rows*."""
        some = copy(self)
        some.foretold = self.foretold.among(rows)
        return some

    def fact(self, record: Record, values: Values | None = None) -> Fact | None:
        """What one record says of every row; None where the ranking makes nothing of it (events, history, notes).

        *values*: several that a point or sign may show instead of the record's own; the fit is then of shape (values, rows).
        """
        if self.why_unused(record):
            return None
        if record.kind == "point":
            return self._made(record, self.fit(record, values), "measured")._replace(as_good=self._as_good(record))
        if record.kind == "sign":
            sign = self.knowledge.sign[record.name]
            return None if sign.only_for_proof else self._made(record, self.fit(record, values), sign.source_kind, standing=sign.shows is None)
        return None

    def _as_good(self, record: Record) -> NDArray[np.bool_] | None:
        """The same of a record; None too where facts are made for some, and where its step is not told."""
        return None if self.foretold.rows is not None or not self.foretold.is_of_one_step(record) else self.reads_as_good(record.name)

    def reads_as_good(self, name: str) -> NDArray[np.bool_] | None:
        """Of what is read of a part by itself, which furnaces read as the good one of their site; None of all else."""
        point = self.knowledge.point[name]
        if point.function not in WITHOUT_POWER:
            return None
        if name not in self._good_reads:
            ((column,),) = (by_meter.values() for by_meter in self.foretold.columns[name].values())
            self._good_reads[name] = reads_as_good(self.population, point, column)
        return self._good_reads[name]

    def told(self, record: Record) -> Fact | None:
        """The same of a record that somebody made, who may have named another step than the one it was read in."""
        return self.fact(self.as_taken(record))

    def as_taken(self, record: Record) -> Record:
        """The record at the step in which it was read; without one, where no furnace that comes to it reads so there ("limit open" while it heats)."""
        return step_taken.as_taken(self.foretold, record, self._fit_of)

    def taken_otherwise(self, records: Sequence[Record]) -> tuple[str, ...]:
        """What is taken without the step that was told, in words."""
        moved = [r for r in records if r.step is not None and not self.why_unused(r) and self.as_taken(r).step is None]
        return tuple(f"{r.said}: no furnace reads so at {str(r.step).replace('_', ' ')}; it is taken as read at another step" for r in moved)

    def why_unused(self, record: Record) -> str | None:
        """Why the ranking makes nothing of a reading or sign; None where it does."""
        if record.unused or record.kind not in ("point", "sign"):
            return record.unused
        if record.kind == "sign" and self.knowledge.sign[record.name].only_for_proof:
            return None  # it is not meant for the ranking
        if record.kind == "sign" and self.knowledge.sign[record.name].shows is None:
            return None  # a habit, at whatever step
        return self.foretold.why_not(record)

    def step_wanted(self, record: Record) -> str | None:
        """A step with which a record would tell more than without any, the last at which a heat call changes it; None where it needs none."""
        name = self.foretold.read_with(record)
        steps = [s for s in self.foretold.columns.get(name, {}) if s != WHOLE_CALL]
        if record.step is not None or len(steps) <= 1 or record.unused:
            return None
        return self.foretold.steps_of(name)[max(self.foretold.due(name).steps, default=0)]

    def _made(self, record: Record, fit: Floats, usual: str, *, standing: bool = False) -> Fact:
        order = self.family.sequence.order
        place = order.index(record.step) if record.step in order else None
        return Fact(record.name, fit, self._slip(record, usual), record.call, place, standing, self.lands[record.name])

    def _slip(self, record: Record, usual: str) -> float:
        slip = self.words.slip[usual if record.source is None or usual == "light" else record.source]
        return slip * self.words.looked_twice if record.sure else slip

    @cached_property
    def lands(self) -> dict[str, float]:
        """How often a slip of each point or sign gives what was reported: a figure lands near it, a word on any of the sign's."""
        return {**dict.fromkeys(self.knowledge.point, NEAR), **{name: 1 / len(sign.values) for name, sign in self.knowledge.sign.items()}}

    # --- how well furnaces fit a record ----------------------------------------------------------

    def fit(self, record: Record, values: Values | None = None) -> Floats:
        """How well each furnace fits a point or sign that the ranking uses, no matter who told of it and how surely."""
        fits, kind = self.fit_by_kind(record, values)
        return fits if kind is None else fits.take(kind, axis=-1)

    def fit_by_kind(self, record: Record, values: Values | None = None) -> Kinds:
        """The same of one furnace of each kind, with the kind of every furnace."""
        if record.kind == "point":
            return self._over_steps(record, figure_is(self.knowledge.point[record.name], record, values))
        return self._of_sign(self.knowledge.sign[record.name], record, values)

    def at_its_ends(self, record: Record) -> Floats | None:
        """Fit of a reading without a step, were it read where the call stops, and where it rests; shape (2, furnaces).

        None where a step was told, where there is but one, and where a heat call changes the thing: that is read while it is due.
        """
        if record.kind != "point" or record.step is not None or self.why_unused(record):
            return None
        return step_taken.at_its_ends(self.foretold, record, figure_is(self.knowledge.point[record.name], record))

    def _fit_of(self, record: Record) -> Fit:
        """How well what is predicted fits a point, or a sign that is foretold."""
        if record.kind == "point":
            return figure_is(self.knowledge.point[record.name], record)
        sign = self.knowledge.sign[record.name]
        return word_is(self.foretold.chances(sign)[sign.values.index(str(record.word))])

    def _over_steps(self, record: Record, fit: Fit) -> Kinds:
        """Fit of the furnaces that facts are made for."""
        kinds, kind = self.foretold.by_kind(record)
        return step_taken.fit_of_kinds(self.foretold, kinds, record, fit, self.words.step_stated), kind

    def _of_sign(self, sign: Sign, record: Record, values: Values | None) -> Kinds:
        if sign.shows is None:
            return self._by_habit(sign, str(record.word) if values is None else [str(v) for v in values])
        if values is None:
            return self._over_steps(record, self._fit_of(record))
        chances = self.foretold.chances(sign)[[sign.values.index(str(v)) for v in values]]
        if self.foretold.is_of_one_step(record) or record.step not in (None, self.family.sequence.heat_call.step):
            return self._over_steps(record, word_is(chances))
        each = [self._over_steps(record, word_is(chance)) for chance in chances]  # what is told of a whole call is weighed word by word
        return np.stack([fits for fits, _ in each]), each[0][1]

    def _by_habit(self, sign: Sign, values: str | Sequence[str]) -> Kinds:
        """How often the sign is met with each failure, in words turned to numbers; never with none."""
        met = self.habits(sign, values) if isinstance(values, str) else np.stack([self.habits(sign, v) for v in values])
        # the last is of the furnaces numbered -1, without a failure
        return np.concatenate([met, np.zeros((*met.shape[:-1], 1))], axis=-1), self.foretold.fault_of

    def habits(self, sign: Sign, value: str) -> Floats:
        """How often a sign that no circuit gives has *value* with each failure, shape (faults,)."""
        if (sign.sign, value) not in self._habits:
            self._habits[sign.sign, value] = met_with(sign, value, self.having, self.words) * ever_there(sign, self.foretold, self.having)
        return self._habits[sign.sign, value]
