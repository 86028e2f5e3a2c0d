"""A candidate for people: what is read, where, what it may show, and why this one."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from furnace_diag.diagnosis.bins import NEVER_BIN
from furnace_diag.diagnosis.candidates import Table, alone
from furnace_diag.diagnosis.choice import NEVER_THERE, NextReading, Outcome
from furnace_diag.diagnosis.readable import risk_minutes
from furnace_diag.diagnosis.reckoning import Floats, Reckoning
from furnace_diag.diagnosis.shown import NEVER
from furnace_diag.furnace.built import WHOLE_CALL, Key
from furnace_diag.knowledge.models import Experiment, Point, Sign
from furnace_diag.knowledge.point_models import FLOOR
from furnace_diag.quantities import format_quantity

MOST_OUTCOMES = 5
BESIDE = 10  # errors of a reading: outcomes that lie further apart are not told as one, judgement
AS_SURE = 0.2  # difference of belief in what leads from which two outcomes are not told as one, judgement
SELDOM = 0.05  # share of the readings at either end of an outcome that is left out when it is told in figures
LONGEST_IN_SECONDS = 600.0  # that a stopwatch is read in seconds
TOLD_FROM = 0.02  # outcomes less likely than this are not listed one by one


def reading(reckoning: Reckoning, table: Table, i: int, cost: float) -> NextReading:
    """Candidate *i* for people."""
    key, entry = table.keys[i], reckoning.entry(table.keys[i])
    outcomes = outcomes_of(reckoning, table, i)
    step = None if key[1] in ("", WHOLE_CALL) else key[1]
    return NextReading(
        name=key[0],
        says=entry.says,
        step=step,
        function=_function(entry),
        where=entry.where or "",
        minutes=entry.minutes,
        risk_minutes=risk_minutes(reckoning.k, entry),
        cautions=tuple(reckoning.k.caution[c].says for c in entry.cautions),
        outcomes=outcomes,
        why=_why(outcomes),
        bits=float(alone(table, i).bits[0]),
        cost=cost,
        meter="low" if key[2] == "low" else None,
        needs=entry.needs if isinstance(entry, Experiment) else (),
        call=reckoning.once_more.get((key[0], step)),
    )


def outcomes_of(reckoning: Reckoning, table: Table, i: int) -> tuple[Outcome, ...]:
    """What it may show, likeliest first; neighbouring readings after which the same failure is believed about as much are told as one."""
    key, rows = table.keys[i], slice(table.first[i], table.first[i + 1])
    after = reckoning.after(table, i)
    told: list[tuple[NDArray[np.intp], float, Floats]] = []
    for bins, chance, believed in zip(table.bins[rows], after.chance, after.failures, strict=True):
        last = told[-1] if told else None
        if last is not None and key[0] in reckoning.k.point and bins[0] - last[0][1] <= BESIDE and _alike(last[2], believed) and last[0][0] != NEVER_BIN:
            both = last[1] + chance
            told[-1] = (np.array([last[0][0], bins[1]]), both, (last[1] * last[2] + chance * believed) / both)
        else:
            told.append((bins, float(chance), believed))
    made = [_outcome(reckoning, key, bins, chance, believed) for bins, chance, believed in told if chance >= TOLD_FROM]
    return tuple(sorted(made, key=lambda o: -o.probability)[:MOST_OUTCOMES])


def _outcome(reckoning: Reckoning, key: Key, bins: NDArray[np.intp], chance: float, believed: Floats) -> Outcome:
    leads = int(believed.argmax())
    return Outcome(_shows(reckoning, key, bins), float(chance), str(reckoning.evidence.population.faults[leads]), float(believed[leads]))


def _shows(reckoning: Reckoning, key: Key, bins: NDArray[np.intp]) -> str:
    entry = reckoning.entry(key)
    if bins[0] == (NEVER if isinstance(entry, Sign) else NEVER_BIN):
        return NEVER_THERE
    if isinstance(entry, Sign):
        return entry.values[int(bins[0])]
    return _range(*reckoning.values(key, bins), entry.unit)


def _alike(one: Floats, other: Floats) -> bool:
    """Whether the same failure leads after two outcomes, and about as surely."""
    leads = int(one.argmax())
    return bool(leads == other.argmax() and abs(one[leads] - other[leads]) < AS_SURE)


def _function(entry: Point | Sign) -> str:
    """What is done: read with the meter, tried, asked of whoever lives there, or looked at."""
    if isinstance(entry, Point):
        return entry.function
    if isinstance(entry, Experiment):
        return "try"
    return "ask" if entry.source_kind == "told" else "look"


def _range(values: Floats, weights: Floats, unit: str) -> str:
    """From where to where most of *values* lie, in words."""
    finite = np.isfinite(values)
    if not finite.any():
        return format_quantity(float("inf"), unit) if unit == "ohm" else "over the range"
    order = np.argsort(values[finite])
    values, share = values[finite][order], np.cumsum(weights[finite][order]) / weights[finite].sum()
    least, most = (values[min(int(np.searchsorted(share, at)), len(values) - 1)] for at in (SELDOM, 1 - SELDOM))
    ends = [0.0 if abs(v) < FLOOR[unit] else float(f"{v:.3g}") for v in (least, most)]
    if unit == "s" and ends[0] < ends[1] <= LONGEST_IN_SECONDS:
        return f"{ends[0]:.3g} to {ends[1]:.0f} s"  # both in one unit: "3.5 s to 2.23 min" is hard to read
    low, high = (format_quantity(v, unit, ascii=True) for v in ends)
    return f"about {low}" if low == high else f"{low} to {high}"


def _why(outcomes: Sequence[Outcome]) -> str:
    """What it parts, from the two likeliest outcomes with different leaders."""
    leaders = list(dict.fromkeys(o.then for o in outcomes))
    if len(leaders) < 2:
        return "it makes sure of what leads now"
    return f"it parts {leaders[0].replace('_', ' ').replace(':', ': ')} from {leaders[1].replace('_', ' ').replace(':', ': ')}"
