"""Bayes' rule over the population: how likely each failure is, given what was read, seen and told.

For each record a furnace of the population either gives what was reported (its `fit`, 1 where it does, down to 0)
or it does not, and then the report may still be a slip: likelihood = (1 - slip) fit + slip * lands. Records that
restate one another share one slip.

"Something else" is a failure that nobody wrote down. It is taken to be like one of those that are known, whichever, as often as each is
met, but for some of what it shows: each group of records comes with the share LIKE as that failure gives it, and else as any furnace of the
population would, or oftener: where the good furnace of that site would (GOOD), for a failure that nobody wrote down leaves most of a furnace as it
was, or where hardly any would (STRANGE). So it pays for what fits little more than the failure that it is like, and less
than that one for what does not fit: it leads where several records fit together in no single failure. It is a mixture over all furnaces, so
the order of records is nothing to it, nor how finely failures are told apart. A model with a share of strange observations in it: Box and Tiao
(1968), "A Bayesian approach to some outlier problems", Biometrika 55, 119-129 (from memory).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import reduce
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from furnace_diag.furnace.built import Population

Floats = NDArray[np.float64]

HALF = 0.5  # a slip lands on what was reported as often as not, where it is one of two words; keeps one record from deciding alone, judgement
NEAR = 0.03  # a slip of a figure lands so near it: there are more figures than words, judgement
DEGREES = 4.0  # of freedom of Student's t: heavy tails, after Lange, Little and Taylor (1989), 881-896
UNFIT = 1e-4  # weight of a furnace for each known option in which it differs: nil, unless too few fit
ENOUGH = 0.25  # of the sites must count for a failure, whatever options are known; judgement
HALVINGS = 30  # of the interval in which the weight is sought that lets so many count
LIKE = 0.7  # share of what a failure that nobody wrote down shows as the known one does that it is like, judgement
GOOD = 0.8  # share of the rest that is as on the good furnace of the site, where that gives it, judgement
STRANGE = 0.2  # least chance of what it shows otherwise, for it may give what no known failure does, judgement
LEAST = 1e-12
FEW = 20  # factors none below LEAST, whose product a float still holds
UNKNOWN_PLACE = 10**6  # of a step that was not stated: later than any from which a failure can be there


class Fact(NamedTuple):
    """One record as the population sees it: *fit* of each row from 0 to 1, and how often such a record is wrong.

    *call*: the heat call it belongs to. *place*: of its step in the order of a good call, None where that is not known.
    *standing*: it is a mark of the failure itself, there in every call. *lands*: how often a slip gives what was reported.
    *as_good*: of what is read of a part by itself, which rows read it as the good furnace of their site does; None of all else.
    """

    name: str
    fit: Floats
    slip: float
    call: int = 1
    place: int | None = None
    standing: bool = False
    lands: float = HALF
    as_good: NDArray[np.bool_] | None = None


class Comings(NamedTuple):
    """Rows whose failure comes and goes: in a *share* of the calls it is there, in the others the *healthy* row of its site.

    *starts*: the place, in the order of a good call, of the step from which it can be there. Shape (rows,) each.
    """

    rows: NDArray[np.intp]
    healthy: NDArray[np.intp]
    share: Floats
    starts: NDArray[np.intp]


class Posterior(NamedTuple):
    """What is believed: of each failure, of something else; and what each group of facts did.

    *failures*: shape (faults,). *support*: log of how much better each failure predicts each group than the
    population does, shape (groups, faults). *rows*: weight of each furnace of the population; with
    *something_else* it sums to 1. *prior*: of each failure, before any group, shape (faults,). *like*: how likely something
    else, if it is that, is like each failure, shape (faults,), sums to 1. *site_weight*: see `weigh`.
    """

    failures: Floats
    something_else: float
    support: Floats
    rows: Floats
    prior: Floats
    like: Floats
    site_weight: Floats


def likelihood(facts: Sequence[Fact], out: Floats | None = None) -> Floats:
    """Of a group of facts that restate one another, in each row: they are wrong together or not at all, so no oftener than the surest of them.

    What is told again is no news: a row fits the group as well as the fact that it fits least. *out*: an array to put it in.
    """
    fit = reduce(np.minimum, [fact.fit for fact in facts])
    slip, lands = slip_of(facts)
    worth = np.multiply(fit, 1 - slip, out=out)
    worth += slip * lands
    return worth


def on_any_site(facts: Sequence[Fact], population: Population, site_weight: Floats, out: Floats | None = None) -> Floats:
    """The same, where a part that reads by itself as on the good furnace of its site may read so as on that of any site: the mean over them.

    A failure stands on few furnaces. Which of them has that igniter, capacitor or coil tells which of them it is, and its flame, draft and supply with
    it, though the one has nothing to do with the other. *site_weight*: see `weigh`.
    """
    worth = likelihood(facts, out)
    as_good = [fact.as_good for fact in facts if fact.as_good is not None]
    good = population.good_at[population.good_at >= 0]
    if len(as_good) == len(facts) and len(good):  # what else the group holds is not told by the good ones
        worth[np.logical_and.reduce(as_good)] = np.average(worth[good], weights=site_weight[good])
    return worth


def slip_of(facts: Sequence[Fact]) -> tuple[float, float]:
    """How often a group of facts that restate one another is wrong, and how often what is wrong then lands on what was reported."""
    return min(fact.slip for fact in facts), min(fact.lands for fact in facts)


def unlike(expected: Floats | float, lands: Floats | float, good: Floats | float = 0.0) -> Floats:
    """How likely it is that something else shows records otherwise than the failure that it is like: as any furnace of the population (*expected*), or
    oftener as the *good* furnace of the site.

    *lands*: how often a slip gives what was reported, for what no known failure gives is one figure of many, or one word of few.
    """
    return np.asarray((1 - LIKE) * np.maximum(np.maximum(expected, np.minimum(STRANGE, lands)), np.multiply(GOOD, good)))


def if_something_else(like: Floats | float, expected: Floats | float, lands: Floats | float) -> Floats:
    """How likely records are from something else, no good furnace looked at: *like* from the failure that it is like; the others as in `unlike`."""
    return np.asarray(np.multiply(LIKE, like) + unlike(expected, lands))


def log_product(table: Floats) -> Floats:
    """Logarithm of the product over the first axis: of a few at a time, so that none falls below the least float. None may be below LEAST."""
    logs = [np.log(np.multiply.reduce(table[i : i + FEW], axis=0)) for i in range(0, len(table), FEW)]
    return np.asarray(sum(logs[1:], start=logs[0])) if logs else np.zeros(table.shape[1])


class _Coming(NamedTuple):
    """What groups are worth in the rows whose failure comes and goes: in a call where it is *there*, and where it is *away*; shape (groups, rows).

    *calls*: of each heat call, which groups are of it.
    """

    there: Floats
    away: Floats
    calls: Sequence[NDArray[np.bool_] | slice]

    def otherwise(self, else_shown: Floats) -> _Coming:
        """The same of something else that is like these failures, or shows the groups otherwise as often as *else_shown*; shape (groups, rows)."""
        return self._replace(there=LIKE * self.there + else_shown, away=LIKE * self.away + else_shown)

    def product(self, share: Floats) -> Floats:
        """The product, over heat calls, of share x there + (1 - share) x away; shape (rows,)."""
        each = [share * np.multiply.reduce(self.there[c], axis=0) + (1 - share) * np.multiply.reduce(self.away[c], axis=0) for c in self.calls]
        return np.asarray(np.multiply.reduce(each, axis=0))

    def log_product(self, share: Floats) -> Floats:
        """Its logarithm, for groups of any number."""
        there, away = np.log(share), np.log(1 - share)
        return np.asarray(sum(np.logaddexp(there + log_product(self.there[c]), away + log_product(self.away[c])) for c in self.calls))


def _coming(table: Floats, groups: Sequence[Sequence[Fact]], comings: Comings) -> _Coming:
    calls = np.array([group[0].call for group in groups])
    places = np.array([UNKNOWN_PLACE if group[0].place is None else group[0].place for group in groups])
    standing = np.array([group[0].standing for group in groups])
    with_it = table.take(comings.rows, axis=1)
    away = np.where(standing[:, None], with_it, table.take(comings.healthy, axis=1))
    there = np.where(places[:, None] < comings.starts, away, with_it)
    different = sorted(set(calls.tolist()))
    return _Coming(there, away, [calls == c for c in different] if len(different) > 1 else [slice(None)])


def _products(table: Floats, coming: _Coming | None, comings: Comings | None, ill: slice | NDArray[np.intp]) -> tuple[Floats, float]:
    """Of each of the rows *ill* the product over all groups, and the logarithm of what it is still to be multiplied by, which of many no float holds."""
    if len(table) <= FEW:
        worth = np.multiply.reduce(table, axis=0)
        if coming is not None and comings is not None:
            worth[comings.rows] = coming.product(comings.share)
        return worth[ill], 0.0
    logs = log_product(table)
    if coming is not None and comings is not None:
        logs[comings.rows] = coming.log_product(comings.share)
    top = float(logs[ill].max())
    return np.exp(logs[ill] - top), top


def weigh(
    population: Population,
    prior: Floats,
    groups: Sequence[Sequence[Fact]],
    site_weight: Floats,
    something_else: float,
    comings: Comings | None = None,
) -> Posterior:
    """The posterior over failures.

    *prior*: of each failure, shape (faults,), sums to 1. *site_weight*: of each row, shape (rows,): 1, or less where
    an option of the furnace is known and differs. *something_else*: its prior, between 0 and 1. *comings*: rows of
    failures that come and go: over heat calls they are worth the product of share x L(there) + (1 - share) x L(healthy, same site).
    Only rows with a failure take part.
    """
    count = len(population.faults)
    ill, of = population.failed, population.failure_of
    weight = site_weight[ill] / np.maximum(np.bincount(of, site_weight[ill], count), LEAST)[of]
    table = np.empty((len(groups), len(site_weight)))
    for line, group in zip(table, groups, strict=True):
        on_any_site(group, population, site_weight, line)
    slips = np.array([slip_of(group) for group in groups]).reshape(-1, 2)
    if (slips.prod(axis=1) < LEAST).any():  # else none can be less
        np.maximum(table, LEAST, out=table)
    coming = _coming(table, groups, comings) if comings is not None and groups else None

    before = np.maximum(prior[of] * weight, LEAST * LEAST)
    worth, scale = _products(table, coming, comings, ill)
    rows = before * worth
    if comings is not None and coming is not None:  # what each group is worth by itself, over the calls
        table[:, comings.rows] = comings.share * coming.there + (1 - comings.share) * coming.away
    by_failure = _by_failure(weight * table[:, ill], of, count)
    expected = by_failure @ prior

    other = unlike(expected[:, None], slips[:, 1:], _on_good_ones(population, table))[:, population.site_of]
    table *= LIKE
    table += other
    if comings is not None and coming is not None:
        coming = coming.otherwise(other[:, comings.rows])
    worth, scale_else = _products(table, coming, comings, ill)
    alike = before * worth
    top = max(scale, scale_else)
    rows *= (1 - something_else) * np.exp(scale - top)
    of_else = something_else * float(np.exp(scale_else - top) * alike.sum())
    total = rows.sum() + of_else
    whole = np.zeros(len(population.fault_of))
    whole[ill] = rows / total
    support = np.log(np.maximum(by_failure, LEAST)) - np.log(np.maximum(expected, LEAST))[:, None]
    like = np.bincount(of, alike, count) / alike.sum()
    return Posterior(np.bincount(of, rows, count) / total, of_else / total, support, whole, prior, like, site_weight)


def _on_good_ones(population: Population, table: Floats) -> Floats:
    """What each group is worth on the good furnace of each site, nothing where there is none; shape (groups, sites). *table*: on each furnace."""
    return np.asarray(np.where(population.good_at >= 0, table[:, population.good_at], 0.0))


def _by_failure(table: Floats, of: NDArray[np.intp], count: int) -> Floats:
    """Sums of a table over the furnaces of each failure, shape (groups, faults). *of*: the failure of each column, in order."""
    sums = np.zeros((len(table), count))
    starts = np.flatnonzero(of[1:] != of[:-1]) + 1
    if len(of):
        starts = np.concatenate(([0], starts))
        sums[:, of[starts]] = np.add.reduceat(table, starts, axis=1)
    return sums


class Dealt(NamedTuple):
    """Which value of each option the furnaces with a failure have; the values of all *options* are numbered on from one to the next.

    *first*: of each option its first value. *many*: how many it has. *cells*: of each option, value x failures + failure of each furnace. *failed*,
    *failure_of*: see `Population`. *furnaces*: how many have each failure, shape (faults,). *share*: of a failure's furnaces, those with each value,
    shape (values, faults).
    """

    options: tuple[str, ...]
    first: NDArray[np.intp]
    many: tuple[int, ...]
    cells: tuple[NDArray[np.intp], ...]
    failed: slice | NDArray[np.intp]
    failure_of: NDArray[np.intp]
    furnaces: NDArray[np.intp]
    share: Floats


def dealt(population: Population, values: Mapping[str, int]) -> Dealt:
    """How the options are dealt to the furnaces. *values*: how many each option has."""
    count, fault = len(population.faults), population.failure_of
    many = tuple(values.values())
    cells = tuple(population.options[o][population.failed].astype(np.intp) * count + fault for o in values)
    furnaces = np.bincount(fault, minlength=count)
    share = _in_cells(cells, many, count, None) / np.maximum(furnaces, 1)
    return Dealt(tuple(values), np.cumsum([0, *many])[:-1], many, cells, population.failed, fault, furnaces, share)


def _in_cells(cells: Iterable[NDArray[np.intp]], many: Iterable[int], count: int, weight: Floats | None) -> Floats:
    """How much weight is in each cell of each option, shape (values, faults). One option after the other: all at once take more memory than time."""
    each = [np.bincount(of, weight, values * count) for of, values in zip(cells, many, strict=True)]
    return np.concatenate([np.zeros(0), *each]).reshape(-1, count)


def by_option(dealt: Dealt, posterior: Posterior) -> Floats:
    """How likely each value of each option is together with each failure, shape (values, faults)."""
    return _in_cells(dealt.cells, dealt.many, len(dealt.furnaces), posterior.rows[dealt.failed])


def known_options(population: Population, known: dict[str, int]) -> Floats:
    """Weight of each row given the options that are known, shape (rows,)."""
    if not known:
        return np.ones(len(population.fault_of))
    differing = np.zeros(len(population.fault_of))
    for option, value in known.items():
        differing += population.options[option] != value
    _, of_site = np.unique(population.site_of, return_index=True)
    return np.asarray(_weight_of_unfit(differing[of_site]) ** differing)


def _weight_of_unfit(differing: Floats) -> float:
    """What a furnace weighs for each known option in which it differs: nil, unless too few sites are left that fit.

    Else how bad a failure happens to be on one or two furnaces would stand for all of it. *differing*: in how many known options each site differs.
    """
    least, most = UNFIT, 1.0
    if _counting(least**differing) >= ENOUGH * len(differing):
        return least
    for _ in range(HALVINGS):
        middle = float(np.sqrt(least * most))
        least, most = (least, middle) if _counting(middle**differing) >= ENOUGH * len(differing) else (middle, most)
    return most


def _counting(weight: Floats) -> float:
    """How many of one weight would say as much (Kish's effective sample size)."""
    return float(weight.sum() ** 2 / (weight**2).sum())


# --- how well a furnace fits a record ---------------------------------------------------------


def numeric_fit(predicted: Floats, value: float | Floats, doubt: float, floor: float) -> Floats:
    """From 0 to 1: how well predictions fit a reading; nan (never in that step) fits not at all.

    *value*: one, or several in a shape that goes with that of *predicted*.
    *doubt*: relative error of meter and model together; *floor*: absolute error, in the reading's unit. Held against
    one another on the scale asinh(x / floor), which is linear near zero and logarithmic far from it, by Student's t
    with DEGREES = 4, whose density goes as (1 + z^2 / 4) ** -2.5.
    """
    open_ = np.isinf(value)
    read = np.where(open_, 0.0, value)
    finite = np.isfinite(predicted)
    usable = np.where(finite, predicted, 0.0)
    sharp = finite / _spread(usable, doubt, floor)  # 0 where nothing can fit
    z = (np.arcsinh(usable / floor) - np.arcsinh(read / floor)) * sharp
    tail = 1 + z * z / DEGREES
    fit = np.minimum(_spread(read, doubt, floor) * sharp, 1.0) / (tail * tail * np.sqrt(tail))
    return np.asarray(np.where(open_, np.isinf(predicted), fit))


def _spread(value: Floats, doubt: float, floor: float) -> Floats:
    """Standard deviation of asinh(value / floor) for an error of *floor* and of *doubt* times the value together."""
    square = value * value
    return np.asarray(np.sqrt((floor * floor + doubt * doubt * square) / (square + floor * floor)))


def in_errors(value: Floats, doubt: float | Floats, floor: float | Floats) -> Floats:
    """A reading on the scale on which its error is 1 everywhere: two readings 1 apart are one error apart, wherever they lie.

    The integral of dx / sqrt(floor^2 + doubt^2 x^2), which is asinh(doubt x / floor) / doubt.
    """
    return np.asarray(np.arcsinh(value * (doubt / floor)) / doubt)


def word_fit(predicted: Floats, chance: Floats) -> Floats:
    """How often each row's word would be reported as it was; *chance*: of each word, shape (words,), or of several reports (reports, words)."""
    never = chance.shape[-1]
    word = np.where(np.isfinite(predicted), predicted, never).astype(int)
    return np.asarray(np.concatenate([chance, np.zeros((*chance.shape[:-1], 1))], axis=-1).take(word, axis=-1))
