"""Which records tell of what has been put right since, or of a board that is gone, so that they are not held for how the furnace stands now."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from furnace_diag.diagnosis.any_site import WITHOUT_POWER
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.prior import worked_on
from furnace_diag.diagnosis.records import BEFORE_PUT_RIGHT, OTHER_BOARD, Record, Report
from furnace_diag.diagnosis.verdict import BOARD
from furnace_diag.knowledge.models import Knowledge
from furnace_diag.knowledge.point_models import PutRight

CHANGED_NOTHING = ("replaced_no_change", "cleaned_no_change")
NEW_BOARD = ("replaced_no_change", "helped_a_while", "new_part")  # what is said of a board that was replaced
SHOWS_IT = 0.3  # fit of a failure from which a record shows it, judgement: a cracked igniter is seen to be so one time in three
HARDLY_ELSE = 0.4  # of that fit: a record that fits all other failures less shows no other, judgement
BEFORE = "seen before the repair that changed nothing"


def as_it_stands(report: Report, evidence: Evidence) -> Report:
    """The report, its records in the order in which they were made: what was seen on a part that shows its failure and hardly another is unused once its
    repair changed nothing.

    The port that was seen plugged was cleared; it is not plugged because it was. What shows others as well, as that no draft is made, is as it was; and
    so is what the furnace did, or the volts in it: that it ran with R joined to W still speaks for the wires that it ran by.
    """
    repairs = [(number, r) for number, r in enumerate(report.records) if r.kind == "history" and r.word in CHANGED_NOTHING]
    if not repairs:
        return report
    later = ([r for at, r in repairs if at > number] for number in range(len(report.records)))
    return replace(report, records=tuple(_since(record, then, evidence) for record, then in zip(report.records, later, strict=True)))


def _since(record: Record, repairs: Sequence[Record], evidence: Evidence) -> Record:
    """The record, unused where one of the *repairs* made after it put right what it shows."""
    if not repairs or not _is_of_a_part(record, evidence.knowledge) or (fact := evidence.told(record)) is None:
        return record
    shows = any(_shows(fact.fit, worked_on(evidence.family, r), evidence) for r in repairs)
    return replace(record, unused=BEFORE) if shows else record


def _is_of_a_part(record: Record, k: Knowledge) -> bool:
    """Whether a record tells how a part looks, or what was read in it without power; not what the furnace did, nor what was tried on it."""
    if record.name in k.point:
        return k.point[record.name].function in WITHOUT_POWER
    return record.name in k.sign and record.name not in k.experiment and not k.experiment.keys() & {*k.sign[record.name].says_same_as}


def _shows(fit: NDArray[np.float64], mended: NDArray[np.bool_], evidence: Evidence) -> bool:
    """Whether a record shows one of the failures that were put right, and hardly any other. *fit*: of each furnace; *mended*: of each failure.

    What some furnaces show whatever failed, as a rod that is grey and reads well, is shown by all failures alike and seldom: those of a failure count together.
    """
    population, fit = evidence.population, fit[evidence.population.failed]
    most = np.zeros(len(mended))
    np.maximum.at(most, population.failure_of, fit)
    of_each = np.bincount(population.failure_of, fit, len(mended)) / np.bincount(population.failure_of, minlength=len(mended))
    return bool(most[mended].max(initial=0) >= SHOWS_IT and of_each[~mended].max(initial=0) < HARDLY_ELSE * of_each[mended].max(initial=0))


def as_they_count(records: Sequence[Record], k: Knowledge) -> tuple[Record, ...]:
    """The records as the findings may take them. What was read before the board was replaced proves and clears nothing of the one that is in now; nor
    does what a hazard may have shown that was put right since, as the volts behind a limit that was bridged, and all that a call showed with the bridge in.

    As what was only told, such records deny, and raise hazards, but meet no condition of a proof.
    """
    last = max((number for number, r in enumerate(records) if r.kind == "history" and r.name == BOARD and r.word in NEW_BOARD), default=0)
    righted = {name: number for number, r in enumerate(records) for name in _shown_by_hazard(r, k)}

    anew = max((number for number, r in enumerate(records) if (right := _puts_right(r, k)) is not None and right.proves_anew), default=0)

    def counts(number: int, r: Record) -> Record:
        if r.kind not in ("point", "sign"):
            return r
        if number < last:
            return replace(r, source=OTHER_BOARD)
        before = number < righted.get(r.name, 0) or (number < anew and shows_a_call(r, k))
        return replace(r, source=BEFORE_PUT_RIGHT) if before else r

    return tuple(counts(number, r) for number, r in enumerate(records))


def _shown_by_hazard(record: Record, k: Knowledge) -> tuple[str, ...]:
    """What told little of the furnace before *record*, by which a hazard was put right; nothing of any other record."""
    right = _puts_right(record, k)
    return () if right is None else right.read_again


def _puts_right(record: Record, k: Knowledge) -> PutRight | None:
    """How *record* says that a hazard was put right; None of any other record."""
    return k.sign[record.name].put_right.get(str(record.word)) if record.kind == "sign" and record.name in k.sign else None


def shows_a_call(record: Record, k: Knowledge) -> bool:
    """Whether what a record tells may have come of how the furnace ran: not what is read without power, nor what is asked about safety."""
    asked = {q.sign for q in k.question.values() if q.group == "safety"}
    if record.kind == "point":
        return k.point[record.name].function not in WITHOUT_POWER
    return record.kind == "sign" and record.name not in asked and _puts_right(record, k) is None
