"""The program's ranking against an exact Bayesian-network library, on the same discretised table.

The table holds, for every failure on every site, in which coarse bin each of some readings falls. Both are told in
which bin each reading was seen, with the same chance of a slip, and asked how likely each failure is. The network's
nodes are the failure, the site, and each reading given both; what was seen enters it as soft evidence.
Both have the table ready, and are told for each reading how likely what was seen is in each of its bins; the program answers as it always does,
with something else and the support of each reading besides. The library is timed on the posterior alone, and on what a ranking tells: that and how far
each reading by itself speaks for each failure, which is its posterior after that reading over what was believed before any (Bayes' rule). The library may
choose the faster of two ways, and as many cores as it likes, where the program takes one. Its time is also taken with the making of the network: readings
are compared here bin by bin, but the program holds them against the figure itself, and a network has to be made for
each figure to do the same (see tests/reference/test_posterior_against_exact_inference.py).
"""

from __future__ import annotations

import statistics
import time
import warnings
from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from furnace_diag.diagnosis.weigh import HALF, Fact, Posterior, weigh
from furnace_diag.furnace.population import Population

with warnings.catch_warnings():
    warnings.filterwarnings("ignore", "builtin type .* has no __module__ attribute", DeprecationWarning)
    import pyagrum

READINGS, SLIP, EXACT, TIMES = 10, 0.05, 1e-9, 15
IN_A_ROW = 5  # asked so often after a first time, so that none pays for the memory that another has just filled
NO_SOMETHING_ELSE = 1e-300


class Seconds(NamedTuple):
    """Median seconds: of the program's ranking, and of the library's posterior, of all that the ranking tells, and of the posterior with the network made."""

    ours: float
    posterior: float
    ranking: float
    made: float


def against_exact_inference(population: Population, prior: np.ndarray) -> Seconds:
    """How long each takes. Raises ValueError where their posteriors or what each reading says differ."""
    words = discretised(population)
    seen = np.array([row[population.fault_of == np.argmax(prior)][0] for row in words])  # as one furnace reads
    ours, theirs = by_program(population, prior, words, seen), by_library(population, prior, words, seen)
    made = lambda: by_library(population, prior, words, seen)[0].posterior()  # noqa: E731
    for way in theirs:
        posterior, after_each = way.ranking()
        mine = ours()
        met = prior > 0
        same = np.allclose(np.exp(mine.support[:, met]), after_each[:, met] / prior[met], rtol=EXACT, atol=EXACT)
        if not same or not np.allclose(mine.failures, posterior, rtol=0, atol=EXACT):
            raise ValueError("the program and exact inference differ")
    ways = (ours, made, *(way.posterior for way in theirs), *(way.ranking for way in theirs))
    taken = [[seconds(way) for way in ways] for _ in range(TIMES)]
    mine_s, making, *others = (statistics.median(column) for column in zip(*taken, strict=True))
    return Seconds(mine_s, min(others[: len(theirs)]), min(others[len(theirs) :]), making)


def seconds(what: Callable[[], object]) -> float:
    what()
    start = time.perf_counter()
    for _ in range(IN_A_ROW):
        what()
    return (time.perf_counter() - start) / IN_A_ROW


def discretised(population: Population) -> np.ndarray:
    """In which bin each reading falls, for the READINGS that tell furnaces apart best; shape (READINGS, rows)."""
    values = population.table.astype(float)
    bins = np.round(np.arcsinh(np.where(np.isfinite(values), values, 0)) / 0.3)
    bins = np.where(np.isnan(values), -100, np.where(np.isinf(values), 100, bins))
    coded = [np.unique(row, return_inverse=True)[1] for row in bins]
    return np.array(sorted(coded, key=lambda row: -row.max())[:READINGS])


def by_program(population: Population, prior: np.ndarray, words: np.ndarray, seen: np.ndarray) -> Callable[[], Posterior]:
    ones, states = np.ones(words.shape[1]), words.max(axis=1) + 1

    def ranking() -> Posterior:
        facts = [[Fact("", (np.arange(count) == word).astype(float).take(row), SLIP)] for row, word, count in zip(words, seen, states.tolist(), strict=True)]
        return weigh(population, prior, facts, ones, NO_SOMETHING_ELSE)

    return ranking


def by_library(population: Population, prior: np.ndarray, words: np.ndarray, seen: np.ndarray) -> list[Asked]:
    faults, sites = len(population.faults), int(population.site_of.max()) + 1
    network = pyagrum.BayesNet()
    network.add(pyagrum.RangeVariable("fault", "", 0, faults - 1))
    network.add(pyagrum.RangeVariable("site", "", 0, sites - 1))
    network.cpt("fault").fillWith(prior.tolist())
    network.cpt("site").fillWith([1 / sites] * sites)
    evidence = {}
    for number, (row, word) in enumerate(zip(words, seen, strict=True)):
        name, states = f"reading_{number}", int(row.max()) + 1
        network.add(pyagrum.RangeVariable(name, "", 0, states - 1))
        network.addArc("fault", name)
        network.addArc("site", name)
        ill = population.fault_of >= 0
        table = np.zeros((sites, faults, states))  # the library lets the last of these run fastest
        table[population.site_of[ill], population.fault_of[ill], row[ill]] = 1
        network.cpt(name).fillWith(table.ravel().tolist())
        evidence[name] = [(1 - SLIP) * (state == word) + SLIP * HALF for state in range(states)]
    return [Asked(engine(network), evidence) for engine in (pyagrum.LazyPropagation, pyagrum.VariableElimination)]


class Asked:
    """The library told what was seen: asked anew each time, nothing of the last time is kept."""

    def __init__(self, engine: object, seen: dict[str, list[float]]) -> None:
        self.engine, self.seen = engine, seen
        engine.addTarget("fault")

    def posterior(self) -> np.ndarray:
        return self._after(self.seen)

    def ranking(self) -> tuple[np.ndarray, np.ndarray]:
        """The posterior after all readings, and after each of them alone, shape (readings, faults)."""
        return self._after(self.seen), np.array([self._after({name: chance}) for name, chance in self.seen.items()])

    def _after(self, seen: dict[str, list[float]]) -> np.ndarray:
        self.engine.setEvidence(seen)
        self.engine.makeInference()
        return self.engine.posterior("fault").toarray()
