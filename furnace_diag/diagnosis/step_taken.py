"""Of which step a record is taken to be, and how well each furnace fits it there: a step told may be mistaken, and one that is not told may be any."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from furnace_diag.diagnosis.foretold import Foretold, looks_like, steps_beside
from furnace_diag.diagnosis.predicted import Predicted
from furnace_diag.diagnosis.records import Record
from furnace_diag.diagnosis.value_fits import GIVEN, Fit
from furnace_diag.furnace.built import WHOLE_CALL

Floats = NDArray[np.float64]

UNSTATED_METER = {"high": 0.85, "low": 0.15}  # share of untold meters that are of each mode, judgement: most have no low-impedance one
# shares of what a record without a step means, where a heat call changes the thing: the call as a whole, any one step; judgement
UNSTATED = (0.85, 0.15)
# the same where a heat call does not change it: the step where the call stops, the one where it rests, any one step; judgement
UNSTATED_STEP = (0.5, 0.35, 0.15)
AFTER_CALL = 0.7  # share of what is told without a step of a thing that is looked at once the call is over that means this, judgement
AS_IT_COMES = 0.1  # share of what is told "on a call" that means the moment at which the call comes, judgement
WHILE_CALLING = (0.65, 0.25)  # the rest, where a heat call does not change the thing: where the call stops, where it rests; judgement
NEVER_CAME = 0.6  # factor on the fit at where the furnace stops and rests, if it never comes to where the thing is due; judgement


def as_taken(foretold: Foretold, record: Record, fit_of: Callable[[Record], Fit]) -> Record:
    """The record at the step in which it was read; without one, where no furnace that comes to it reads so there ("limit open" while it heats)."""
    name = foretold.read_with(record)
    steps = foretold.columns.get(name, {})
    if record.step not in steps and (during := foretold.read_during.get(str(record.step))) in steps:
        record = replace(record, step=during)
    if record.step not in steps or len(steps) == 1 or record.step == foretold.sequence.heat_call.step or record.hold:
        return record
    there = foretold.read_at(name, str(record.step))
    if not there.size or fit_of(record)(there).max() >= GIVEN:
        return record
    return replace(record, step=None)


def fit_of_kinds(foretold: Foretold, predicted: Predicted, record: Record, fit: Fit, step_stated: Mapping[str, float]) -> Floats:
    """Fit where the step was stated, or over the call. *predicted*: of each furnace or kind of them. *step_stated*: shares of what a stated step means."""
    fits = fit(predicted.numbers)
    if foretold.is_of_one_step(record):
        return np.asarray(_metered(predicted, record, fits, [0])[0])
    heat_call = foretold.sequence.heat_call.step
    if record.step == heat_call and record.step in predicted.steps:
        return _while_calling(foretold, predicted, record, fits, _of_the_call(foretold, predicted, record, fits, fit))
    if record.step is None or record.step == heat_call:
        return _unstated(predicted, record, fits, _of_the_call(foretold, predicted, record, fits, fit))
    return _stated(foretold, predicted, record, record.step, fits, step_stated)


def at_its_ends(foretold: Foretold, record: Record, fit: Fit) -> Floats | None:
    """Fit of a record without a step, were it read where the call stops, and where it rests; shape (2, furnaces).

    None where there is but one step, and where a heat call changes the thing: that is read while it is due.
    """
    if foretold.is_of_one_step(record) or foretold.due(foretold.read_with(record)).steps:
        return None
    predicted, kind = foretold.by_kind(record)
    rows = _metered(predicted, record, fit(predicted.numbers), list(range(predicted.rest + 1)))
    ends = np.array(_where_it_ends(predicted, rows, np.mean(rows[: predicted.stop], axis=0)))
    return ends if kind is None else ends.take(kind, axis=-1)


# --- what is told of the whole heat call -----------------------------------------------------


def _of_the_call(foretold: Foretold, predicted: Predicted, record: Record, fits: Floats, fit: Fit) -> Floats | None:
    """Fit of what is told of the heat call as a whole; None where the call changes nothing of it, and rest shows it too.

    "Yes" means that it was so at some step of the call. "No", or whatever rest shows too, means that it never was otherwise while it was due.
    A reading is taken to be of a step at which the thing was due. If the furnace never comes to one, all these speak of where it stops or rests.
    """
    due = foretold.due(foretold.read_with(record))
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


def _while_calling(foretold: Foretold, predicted: Predicted, record: Record, fits: Floats, whole: Floats | None) -> Floats:
    """Said of the whole time in which heat is called for, not only of its first instant. *whole*: fit of what is told of the call."""
    at_once = predicted.steps.index(foretold.sequence.heat_call.step)
    there, stops, rests = _metered(predicted, record, fits, [at_once, predicted.stop, predicted.rest])
    if whole is None:
        where_it_stops, where_it_rests = WHILE_CALLING
        return np.asarray(
            AS_IT_COMES * there + where_it_stops * np.where(predicted.stops, stops, there) + where_it_rests * np.where(predicted.rests, rests, there)
        )
    return np.asarray(AS_IT_COMES * there + (1 - AS_IT_COMES) * whole)


def _unstated(predicted: Predicted, record: Record, fits: Floats, whole: Floats | None) -> Floats:
    """No step was told. *whole*: fit of what is told of the call."""
    told, rows = _of_any_step(predicted, record, fits, whole)
    if WHOLE_CALL not in predicted.steps:
        return told
    return np.asarray(AFTER_CALL * rows[predicted.steps.index(WHOLE_CALL)] + (1 - AFTER_CALL) * told)


def _of_any_step(predicted: Predicted, record: Record, fits: Floats, whole: Floats | None) -> tuple[Floats, Floats]:
    """Fit of what is told of the call, of its ends or of any step; and of each step, then of the ends, shape (steps + 2, ..., furnaces)."""
    rows = _metered(predicted, record, fits, list(range(predicted.rest + 1)))
    mean = np.mean(rows[: predicted.stop], axis=0)
    if whole is not None:
        of_the_call, any_step = UNSTATED
        return np.asarray(of_the_call * whole + any_step * mean), rows
    where_it_stops, where_it_rests, any_step = UNSTATED_STEP
    stops, rests = _where_it_ends(predicted, rows, mean)
    return np.asarray(where_it_stops * stops + where_it_rests * rests + any_step * mean), rows


def _where_it_ends(predicted: Predicted, rows: Floats, otherwise: Floats) -> tuple[Floats, Floats]:
    """Of the fits of all rows those where the call stops and where it rests; *otherwise* on furnaces that read nothing there."""
    return np.where(predicted.stops, rows[predicted.stop], otherwise), np.where(predicted.rests, rows[predicted.rest], otherwise)


# --- what is told of one step ----------------------------------------------------------------


def _stated(foretold: Foretold, predicted: Predicted, record: Record, step: str, fits: Floats, step_stated: Mapping[str, float]) -> Floats:
    """A step was told, which may be mistaken."""
    here = predicted.steps.index(step)
    near = [predicted.steps.index(s) for s in steps_beside(foretold.sequence, step) if s in predicted.steps] or [here]
    there, stops, rests, *nearby = _metered(predicted, record, fits, [here, predicted.stop, predicted.rest, *near])
    stops = np.where(predicted.stops, stops, there)
    if record.kind == "sign":  # who watches for a thing that never comes says "no" at the step where it was due
        rests = np.where(predicted.rests, rests, stops)
        (never,) = predicted.never([here])
        there = np.where(never, NEVER_CAME * (stops + rests) / 2, there)
    else:
        there = _hung(foretold, predicted, record, fits, here, there)
        if record.hold is not None:
            there = np.maximum(there, _held(predicted, record, fits, here, near))
    return np.asarray(step_stated["there"] * there + step_stated["where_it_stops"] * stops + step_stated["neighbours"] * np.mean(nearby, axis=0))


def _hung(foretold: Foretold, predicted: Predicted, record: Record, fits: Floats, here: int, there: Floats) -> Floats:
    """Fit at a stated step, *there*; on furnaces that hang in one that looks the same and never come to it, of that one."""
    steps = predicted.steps
    for like in (s for s in looks_like(foretold.sequence, steps[here])[1:] if s in steps):
        never, never_like = predicted.never([here, steps.index(like)])
        (fit_like,) = _metered(predicted, record, fits, [steps.index(like)])
        there = np.where(never & ~never_like, NEVER_CAME * fit_like, there)
    return there


def _held(predicted: Predicted, record: Record, fits: Floats, here: int, near: list[int]) -> Floats:
    """Fit of a held reading where the hold ran into a step beside, or on to where the furnace stops, that reads still lower or higher."""
    beyond = [*near, predicted.stop, predicted.rest]
    which = predicted.metered(record.meter or "high")
    numbers = predicted.numbers[which]
    with np.errstate(invalid="ignore"):
        further = numbers[beyond] < numbers[here] if record.hold == "min" else numbers[beyond] > numbers[here]
    there = _metered(predicted, record, fits, beyond)
    mask = further if there.ndim == 2 else further[:, None]
    return np.asarray(np.where(mask, there, 0.0).max(axis=0))


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
