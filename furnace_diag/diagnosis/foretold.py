"""What the furnaces of a population foretell of records: under which name, at which steps, and what a heat call changes of it."""

from __future__ import annotations

from copy import copy
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from furnace_diag.diagnosis.bins import error_of
from furnace_diag.diagnosis.predicted import Due, Predicted, predicted_of
from furnace_diag.diagnosis.records import Record
from furnace_diag.diagnosis.value_fits import chance_of_words
from furnace_diag.diagnosis.weigh import in_errors
from furnace_diag.furnace.built import Population, all_off, with_off
from furnace_diag.furnace.family import Family
from furnace_diag.knowledge.models import Sequence, Sign
from furnace_diag.knowledge.words import words_of

Floats = NDArray[np.float64]
Kind = NDArray[np.signedinteger]  # of every furnace the number of its kind; those of a kind give the same

DUE_FROM = 4.0  # times its error that a reading must differ from rest to be something that is due, judgement


class Foretold:
    """All that is foretold by one population, each thing taken from its tables once.

    *columns*: of each name, by step, then by meter, the column of its table. *rows*: the furnaces that facts are made for,
    all if None; *fault_of*: the number of the failure of each of them.
    """

    def __init__(self, family: Family, population: Population) -> None:
        self.family, self.population = family, population
        self.sequence: Sequence = family.sequence
        self.rows: NDArray[np.intp] | None = None
        self.fault_of = population.fault_of
        self.columns: dict[str, dict[str, dict[str, int]]] = {}
        for (name, step, meter), i in (*population.columns.items(), *population.changed_columns.items()):
            self.columns.setdefault(name, {}).setdefault(step, {})[meter] = i
        self._predicted: dict[str, Predicted] = {}
        self._due: dict[str, Due] = {}
        self._there: dict[tuple[str, str], Floats] = {}
        self._of_rows: dict[str, Predicted] = {}
        self._kinds: dict[tuple[str, str | None], tuple[Predicted, NDArray[np.intp]]] = {}
        self._chances: dict[str, Floats] = {}

    def among(self, rows: NDArray[np.intp]) -> Foretold:
        """The same where facts are made for some furnaces only."""
        some = copy(self)
        some.rows, some.fault_of, some._of_rows = rows, self.population.fault_of[rows], {}
        return some

    @cached_property
    def healthy(self) -> NDArray[np.intp]:
        """The furnaces without a failure."""
        return np.flatnonzero(self.population.fault_of < 0)

    # --- of one point or sign ----------------------------------------------------------------

    def predicted(self, name: str) -> Predicted:
        """Everything predicted of a point or sign; KeyError where that is nothing."""
        if name not in self._predicted:
            self._predicted[name] = predicted_of(self.columns[name], self.population, self._table_of(name))
        return self._predicted[name]

    def steps_of(self, name: str) -> tuple[str, ...]:
        """Where anything is predicted of a point or sign, as `Predicted` has it; KeyError where that is nothing."""
        return tuple(self.columns[name])

    def _table_of(self, name: str) -> NDArray[np.float16]:
        """Where what is predicted of it stands: as it is, or with something taken off."""
        return self.population.changed if "@" in name else self.population.table

    def chances(self, sign: Sign) -> Floats:
        """How often each word of what the sign shows is reported as each of its values, shape (values, words)."""
        if sign.sign not in self._chances:
            words = words_of(sign.shows, self.sequence) if sign.shows is not None else ()
            self._chances[sign.sign] = np.array([chance_of_words(sign, words, v) for v in sign.values])
        return self._chances[sign.sign]

    def read_at(self, name: str, step: str) -> Floats:
        """The different numbers that any furnace gives at a step, or where it hangs in one that looks like it."""
        if (name, step) not in self._there:
            self._there[name, step] = self.predicted(name).read_at(looks_like(self.sequence, step))
        return self._there[name, step]

    # --- when a heat call changes it ---------------------------------------------------------

    def due(self, name: str) -> Due:
        """When a heat call changes a point or sign; KeyError where nothing is predicted of it."""
        if name not in self._due:
            self._due[name] = self._made_due(name)
        return self._due[name]

    def as_reported(self, name: str, step: str) -> bool:
        """Whether a record would be understood to be of its step: one of the heat call is of all of it, and not of its first instant.

        So what the call changes only later is to be read at the step that does.
        """
        due = self.due(name).steps if step == self.sequence.heat_call.step else ()
        return not due or self.steps_of(name).index(step) in due

    def _made_due(self, name: str) -> Due:
        """A healthy furnace says it: at which steps of its call the thing is not as it is at rest."""
        sequence, steps = self.sequence, self.steps_of(name)
        in_call = [steps.index(s) for s in sequence.order[1:] if s in steps]
        rest = next((steps.index(s) for s in (sequence.starts_at, sequence.heat_call.step) if s in steps), None)
        if rest is None:  # the rules list no step in which nothing is due
            return Due(tuple(in_call), tuple(in_call), None)
        usual = [by_meter.get("high", next(iter(by_meter.values()))) for by_meter in self.columns[name].values()]
        healthy = self._table_of(name)[np.ix_(np.array(usual), self.healthy)].astype(np.float64)
        differ = self._differ(name, healthy, healthy[rest])
        return Due(tuple(i for i in in_call if differ[i]), tuple(in_call), _median(healthy[rest]))

    def _differ(self, name: str, one: Floats, other: Floats) -> NDArray[np.bool_]:
        """Whether most furnaces read or show something else in one row than in another, of each row."""
        bare = name.partition("@")[0]
        if bare in self.family.knowledge.sign:
            apart = one != other
        else:
            error = error_of(self.family.knowledge.point[bare])
            apart = np.abs(in_errors(one, *error) - in_errors(other, *error)) > DUE_FROM
        return np.asarray(np.mean(apart & ~np.isnan(one), axis=1) > 0.5)

    # --- of one record -----------------------------------------------------------------------

    def read_with(self, record: Record) -> str:
        """The name under which a record is foretold: its point or sign, with what was taken off for it; with several off only an output's own pin at rest.

        Ohms of a part are those of the part with its leads off, whether that is told or not.
        """
        point = self.family.knowledge.point.get(record.name)
        as_it_is = not record.taken_off or (point is not None and point.function == "ohms")
        return record.name if as_it_is else with_off(record.name, all_off(*record.taken_off))

    def why_not(self, record: Record) -> str | None:
        """Why nothing is foretold of a reading or sign at the step at which it was taken, in words; None where something is."""
        if self.read_with(record) not in self.columns:
            return _why_never(record)
        return None if self._tells_at(record) else f"nothing is foretold of it{_told_off(record)} at {str(record.step).replace('_', ' ')}"

    def _tells_at(self, record: Record) -> bool:
        """Whether anything is predicted of the step at which a record was taken; what is said of a whole call, or only at one step, has no other."""
        steps, during = self.columns[self.read_with(record)], self.read_during.get(str(record.step))
        if len(record.taken_off) > 1:  # foretold at rest alone, which is no other step
            return record.step in (None, *steps)
        in_call = record.step in (None, self.sequence.heat_call.step)
        return in_call or len(steps) == 1 or not steps.keys().isdisjoint((record.step, during))

    def is_of_one_step(self, record: Record) -> bool:
        """Whether there is but one step at which a record may be taken."""
        return len(self.columns[self.read_with(record)]) == 1

    @cached_property
    def read_during(self) -> dict[str, str]:
        """Of each step the one in which is read what is said of it, where that is another."""
        return {s.step: s.read_during for s in self.sequence.steps if s.read_during is not None}

    def by_kind(self, record: Record) -> tuple[Predicted, Kind | None]:
        """What is foretold of a record's step and those beside it, of one furnace of each kind, with the kind of every furnace; None where each is a kind.

        Furnaces that give the same are reckoned once, and most do.
        """
        name = self.read_with(record)
        if self.rows is not None:
            if name not in self._of_rows:
                self._of_rows[name] = self.predicted(name).of(self.rows)
            return self._of_rows[name], None
        step = None if record.step == self.sequence.heat_call.step else record.step
        if (name, step) not in self._kinds:
            predicted = self.predicted(name)
            near = predicted if step is None or len(predicted.steps) == 1 else predicted.at((step, *steps_beside(self.sequence, step)))
            self._kinds[name, step] = near.alike()
        return self._kinds[name, step]


def looks_like(sequence: Sequence, step: str) -> list[str]:
    """The step, and those in which a furnace may hang that then looks as in it."""
    return [step, *(s.step for s in sequence.steps if s.seen_as == step)]


def steps_beside(sequence: Sequence, step: str) -> list[str]:
    """The steps of a good call before and after it, at which it may be read by mistake."""
    order = sequence.order
    if step not in order:
        return []
    i = order.index(step)
    near = order[max(i - 1, 0) : i] + order[i + 1 : i + 2]
    return [s for s in near if s != sequence.heat_call.step]  # a good furnace leaves it at once, so nobody reads it there by mistake


def _median(values: Floats) -> float:
    """The middle one, nan if any is; numpy's own brings in its masked arrays, which takes as long as a ranking."""
    ordered = np.sort(values)
    return float((ordered[(len(ordered) - 1) // 2] + ordered[len(ordered) // 2]) / 2 if not np.isnan(ordered[-1]) else np.nan)


def _told_off(record: Record) -> str:
    """How what was taken off is told, where anything was."""
    return "".join(f" with {what.replace('_', ' ')}" for what in (" and ".join(record.taken_off),) if what)


def _why_never(record: Record) -> str:
    """Why nothing is foretold of a point or sign at any step, in words."""
    if not record.taken_off:
        return "this furnace never gives such a reading"
    if len(record.taken_off) > 1:
        return f"nothing is foretold{_told_off(record)} together; the proof rules read it all the same"
    if record.taken_off == ("lead_off",):
        return "with a lead off, only volts at an output's own pin are foretold, for off elsewhere the control acts on it; the proof rules read it all the same"
    return f"nothing is foretold of it{_told_off(record)}; the proof rules read it all the same"
