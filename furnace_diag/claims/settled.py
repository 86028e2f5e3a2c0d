"""What needs no asking: every furnace that gives all that was told gives the same of it, or never comes to it."""

from __future__ import annotations

from collections.abc import Collection

import numpy as np
from numpy.typing import NDArray

from furnace_diag.diagnosis.against import IMPOSSIBLE
from furnace_diag.diagnosis.answer import Answer, answer
from furnace_diag.diagnosis.bins import ALIKE, error_of
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.records import Report
from furnace_diag.diagnosis.weigh import Fact
from furnace_diag.furnace.built import WHOLE_CALL
from furnace_diag.knowledge.models import Question
from furnace_diag.knowledge.words import words_of

ABOUT_AS_WELL = 0.2  # of the fit of the furnaces that give a record best, judgement
MOST_ASKED = 6  # readings that are passed over before one is asked for that tells something


class Settled:
    """What the records of one report leave open, taken as they are: burners that an inducer stands before are not asked for once that is told not to run.

    A ranking weighs that a record may be wrong, and may ask for what would show that. A shop is not asked for what its own words make impossible.
    """

    def __init__(self, report: Report, evidence: Evidence) -> None:
        self._report, self._evidence = report, evidence
        rows = np.ones(len(evidence.population.fault_of), bool)
        for record in sorted(report.records, key=lambda r: r.source == "told"):  # what is told by others goes only as far as it goes with what was seen
            fact = evidence.told(record)
            both = rows & _gives_it_mostly(fact) if fact is not None else rows
            rows = both if both.any() or record.source != "told" else rows
        self._rows: NDArray[np.intp] = np.flatnonzero(rows) if not rows.all() else np.zeros(0, np.intp)

    def is_settled(self, name: str, step: str | None) -> bool:
        """Whether all that is told leaves one answer to a point or sign, or none; never where no furnace gives all that is told."""
        population = self._evidence.population
        if self._never_is(name):
            return True
        columns = [population.columns[key] for key in ((name, step or WHOLE_CALL, meter) for meter in ("high", "low", "")) if key in population.columns]
        if not columns or not len(self._rows):
            return False
        shown = population.table[columns[0]][self._at_that_step(step or self._evidence.family.sequence.heat_call.step)].astype(float)
        there = shown[~np.isnan(shown)]
        if name not in self._evidence.knowledge.point or np.isinf(there).any():
            return bool((there == there[:1]).all())
        doubt, floor = error_of(self._evidence.knowledge.point[name])
        middle = float(np.median(there)) if len(there) else 0.0
        return bool((np.abs(there - middle) <= ALIKE * (doubt * abs(middle) + floor)).all())

    def _never_is(self, name: str) -> bool:
        """Whether a record tells what leaves nothing to ask of a point or sign: an igniter that never glows goes dark at no time."""
        knowledge = self._evidence.knowledge
        known = knowledge.point.get(name) or knowledge.sign.get(name)
        return known is not None and any(known.never_is.get(r.name) == r.word for r in self._report.records if r.kind == "sign" and not r.unused)

    def is_of_alone(self, part: str) -> bool:
        """Whether every furnace that gives all that is told has failed in *part*."""
        population = self._evidence.population
        return bool(len(self._rows)) and all(i >= 0 and population.faults[i].part == part for i in {*population.fault_of[self._rows].tolist()})

    def _at_that_step(self, step: str) -> NDArray[np.intp]:
        """The furnaces that give at *step* too what was read without its step, if there are any: where it is otherwise there, its step is what is to be told,
        and where it is so, what hangs on it needs no asking. With no 24 V from R to C none comes to W."""
        population, rows = self._evidence.population, self._rows
        for r in self._report.records:
            number, column = r.number, next((c for meter in ("high", "low", "") if (c := population.columns.get((r.name, step, meter))) is not None), None)
            if r.kind != "point" or r.step is not None or r.taken_off or r.unused or number is None or not np.isfinite(number) or column is None:
                continue
            doubt, floor = error_of(self._evidence.knowledge.point[r.name])
            there = population.table[column][rows].astype(float)
            alike = rows[np.isnan(there) | (np.abs(there - number) <= ALIKE * (doubt * abs(number) + floor))]
            rows = alike if len(alike) else rows
        return rows

    def is_passed(self, question: Question) -> bool:
        """Whether what *question* asks about did its work, and the heat call went on, in every furnace that gives all that is told: a flame current is read
        of no igniter that stays dark."""
        population, sequence = self._evidence.population, self._evidence.family.sequence
        column, sign = population.columns.get((question.sign, question.due or "", "")), self._evidence.knowledge.sign[question.sign]
        if column is None or sign.shows is None or question.due not in sequence.order or not len(self._rows):
            return False
        place = np.array([sequence.order.index(s) if s in sequence.order else -1 for s in population.steps])[population.stops]
        words, failing = words_of(sign.shows, sequence), sign.meant_by(question.keys["n"])
        works = [i for i, word in enumerate(words) if word not in failing]
        return bool((place[self._rows] > sequence.order.index(question.due)).all() and np.isin(population.table[column][self._rows], works).all())

    def answered(self, without: Collection[str] = ()) -> Answer:
        """The answer to the report, which asks for nothing that is settled as long as anything else tells something, and never for *without*."""
        never: set[tuple[str, str | None]] = {(name, None) for name in without}
        first = weighed = answer(self._report, self._evidence, never=never)
        for _ in range(MOST_ASKED):
            settled = {(n.name, n.step) for n in weighed.next if n.call is None and self.is_settled(n.name, n.step)}
            if not settled:
                return weighed
            never |= settled
            weighed = answer(self._report, self._evidence, never=never)
        return weighed if weighed.next else first


def _gives_it_mostly(fact: Fact) -> NDArray[np.bool_]:
    """Which furnaces give what was told about as well as any: an inducer that is told not to run was not looked at while nothing called."""
    return np.asarray((fact.fit >= IMPOSSIBLE) & (fact.fit >= ABOUT_AS_WELL * fact.fit.max()))
