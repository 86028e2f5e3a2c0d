"""Two failures at once, weighed beside every single one: asked for where no single failure gives the records.

There are far too many pairs to build furnaces with each, so a few are picked by how well they cover the records: of two failures, each
group of records is taken to be given as well as the better of the two gives it by itself. That is only for picking. It overlooks records
that neither gives alone, and it may pick a pair of which one failure hides the other; but then furnaces are built with both failures of
every picked pair, on the very sites of the population, and it is these that the records are weighed on.

That two parts fail apart from each other is judgement (`second_failure` of the words table), divided over all pairs of failures of two
parts in proportion to how often each is met. So a pair must explain the records far better than one failure alone before it is believed.
A failure that comes and goes leaves the other one by itself when it is away; of two that do, both are taken to be there in the same calls.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from furnace_diag.diagnosis.answer import Weighed
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.prior import prior_given
from furnace_diag.diagnosis.records import Record, Report
from furnace_diag.diagnosis.weigh import Comings, Fact, Floats, known_options, weigh
from furnace_diag.furnace.built import SEED, SITES, Population, Progress
from furnace_diag.furnace.family import Family, Fault
from furnace_diag.furnace.population import furnaces_of, observed, with_all_of

MOST_PAIRS = 24  # that furnaces are built with; some two seconds
MOST_ALIKE = 2  # of them, of the same two parts, judgement
MOST_TOLD = 6  # pairs, and as many single failures beside them, judgement
TOLD_FROM = 0.005  # belief from which one is told, judgement


@dataclass(frozen=True)
class OneBelief:
    """A failure by itself: part:failure, in words, and its probability where pairs are weighed too."""

    failure: str
    says: str
    probability: float


@dataclass(frozen=True)
class PairBelief:
    """Two failures at once: each as part:failure, in words, and the probability of both."""

    failures: tuple[str, str]
    says: tuple[str, str]
    probability: float


@dataclass(frozen=True)
class TwoAnswer:
    """Pairs of failures beside single ones, likeliest first; all that was weighed sums to 1 with *something_else*.

    *before*: how likely two failures at once were held to be before any record. *weighed*: with how many pairs furnaces were built.
    """

    pairs: tuple[PairBelief, ...]
    singles: tuple[OneBelief, ...]
    something_else: float
    all_pairs: float
    before: float
    weighed: int


def two_at_once(report: Report, evidence: Evidence, seen: Weighed, tell: Progress | None = None) -> TwoAnswer:
    """Weigh *report* on furnaces with two failures, beside those with one. *seen*: the report weighed on the latter.

    Nothing here speaks of the control board's verdict, which stays what `seen` says. *tell* hears the share done and what is being done.
    """
    family, second = evidence.family, evidence.words.second_failure
    prior = prior_given(family, report.records)
    pairs = covering(evidence, seen, prior)
    wanted = {evidence.foretold.read_with(r) for r in report.records}
    built = built_with([(family.faults[a], family.faults[b]) for a, b in pairs], evidence, wanted, tell)
    of_two = Evidence(family, built, [(family.faults[a], family.faults[b]) for a, b in pairs])
    both = _side_by_side(evidence.population, built)
    odds = np.append((1 - second) * prior, second * np.array([prior[a] * prior[b] for a, b in pairs]) / _all_pairs(evidence, prior))
    known = {o: list(family.furnace.options[o].values).index(v) for o, v in report.options.items()}
    belief = weigh(
        both,
        odds / odds.sum(),
        [[_joined(of_two, record, fact) for record, fact in zip(records, facts, strict=True)] for records, facts in seen.groups],
        known_options(both, known),
        evidence.words.something_else,
        _comings(evidence, built, pairs),
    )
    singles, twos = belief.failures[: len(prior)], belief.failures[len(prior) :]
    return TwoAnswer(
        tuple(_pair(family, pairs[i], float(twos[i])) for i in _likeliest(twos)),
        tuple(OneBelief(str(family.faults[i]), family.failure(family.faults[i]).says, float(singles[i])) for i in _likeliest(singles)),
        belief.something_else,
        float(twos.sum()),
        second,
        len(pairs),
    )


def covering(evidence: Evidence, seen: Weighed, prior: Floats) -> list[tuple[int, int]]:
    """The pairs of failures, of two parts each, that cover the records best, as numbers into the family's failures; see above."""
    support = seen.posterior.support
    given = np.sum([np.maximum(of_group[:, None], of_group) for of_group in support], axis=0) if len(support) else np.zeros((len(prior), len(prior)))
    odds = np.log(np.maximum(prior, 1e-12))
    score = np.where(evidence.part_of[:, None] < evidence.part_of, given + odds[:, None] + odds, -np.inf)
    picked: list[tuple[int, int]] = []
    alike: dict[tuple[int, int], int] = {}
    for cell in np.argsort(-score, axis=None, kind="stable").tolist():
        a, b = divmod(cell, len(prior))
        parts = (int(evidence.part_of[a]), int(evidence.part_of[b]))
        if len(picked) == MOST_PAIRS or score[a, b] == -np.inf:
            break
        if alike.get(parts, 0) < MOST_ALIKE:
            alike[parts] = alike.get(parts, 0) + 1
            picked.append((a, b))
    return picked


def built_with(pairs: Sequence[tuple[Fault, ...]], evidence: Evidence, wanted: Collection[str], tell: Progress | None) -> Population:
    """Furnaces that have both failures of each pair, on the sites of the population, with a column for all that it has one for.

    A step that none of them ever comes to is foretold as never, and so is an experiment that is not *wanted*.
    """
    furnaces, fault_of, site_of = furnaces_of(evidence.family, sites=SITES, seed=SEED, having=pairs)
    made = observed(furnaces, fault_of, site_of, tell=tell, wanted=wanted)
    return with_all_of(evidence.population, made)


def _all_pairs(evidence: Evidence, prior: Floats) -> float:
    """The sum over all pairs of failures of two parts of the product of their odds."""
    by_part = np.bincount(evidence.part_of, prior)
    return float(1 - (by_part**2).sum()) / 2


def _side_by_side(ones: Population, twos: Population) -> Population:
    """Furnaces with one failure, then those with two, which are numbered on; of what weighing asks for."""
    numbered = np.where(twos.fault_of >= 0, twos.fault_of + len(ones.faults), -1)
    options = {name: np.append(values, twos.options[name]) for name, values in ones.options.items()}
    more = tuple(Fault("two", str(i)) for i in range(int(twos.fault_of.max(initial=-1)) + 1))
    fault_of, site_of = np.append(ones.fault_of, numbered).astype(np.int16), np.append(ones.site_of, twos.site_of)
    return replace(ones, faults=(*ones.faults, *more), fault_of=fault_of, site_of=site_of, options=options, home=None)


def _joined(of_two: Evidence, record: Record, fact: Fact) -> Fact:
    """What a record says of furnaces with one failure, then of those with two."""
    more = of_two.told(record)
    assert more is not None  # it has all columns of the other
    as_good = None if fact.as_good is None or more.as_good is None else np.append(fact.as_good, more.as_good)
    return fact._replace(fit=np.append(fact.fit, more.fit), as_good=as_good)


def _comings(evidence: Evidence, twos: Population, pairs: Sequence[tuple[int, int]]) -> Comings:
    """Rows of failures that come and go, those of pairs after the others; away, what is left is the other failure by itself, or nothing."""
    ones, population = evidence.comings, evidence.population
    start = {int(population.fault_of[row]): i for i, row in enumerate(ones.rows.tolist())}
    rows, away, share, starts = [ones.rows], [ones.healthy], [ones.share], [ones.starts]
    for number, pair in enumerate(pairs):
        coming = [f for f in pair if f in start]
        if not coming:
            continue
        left = next((f for f in pair if f not in start), -1)
        mine = np.flatnonzero(twos.fault_of == number)
        rows.append(mine + len(population.fault_of))
        away.append(_rows_at(population, left, twos.site_of[mine]))
        share.append(np.full(len(mine), min(ones.share[start[f]] for f in coming)))
        starts.append(np.full(len(mine), max(ones.starts[start[f]] for f in coming)))
    return Comings(np.concatenate(rows), np.concatenate(away), np.concatenate(share), np.concatenate(starts))


def _rows_at(population: Population, fault: int, sites: NDArray[np.int16]) -> NDArray[np.intp]:
    """The row of a fault (-1 where healthy) on each of *sites*."""
    rows = np.flatnonzero(population.fault_of == fault)
    return np.asarray(rows[np.searchsorted(population.site_of[rows], sites)])


def _likeliest(belief: Floats) -> list[int]:
    return [i for i in np.argsort(-belief, kind="stable")[:MOST_TOLD].tolist() if belief[i] >= TOLD_FROM]


def _pair(family: Family, pair: tuple[int, int], probability: float) -> PairBelief:
    one, other = (family.faults[i] for i in pair)
    return PairBelief((str(one), str(other)), (family.failure(one).says, family.failure(other).says), probability)
