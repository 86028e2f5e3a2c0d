"""The program's ranking against an exact Bayesian-network library, on the same discretised table.

The table holds, for every failure on every site, in which coarse bin each of some readings falls. Both are told in
which bin each reading was seen, with the same chance of a slip, and asked how likely each failure is. The network's
nodes are the failure, the site, and each reading given both; what was seen enters it as soft evidence.
Both have the table ready, and are told for each reading how likely what was seen is in each of its bins; the program answers as it always does,
with something else and the support of each reading besides. The library may choose the faster of two ways, and as many cores as it likes, where
the program takes one. Its time is taken without and with the making of the network: readings
are compared here bin by bin, but the program holds them against the figure itself, and a network has to be made for
each figure to do the same (see tests/reference/test_posterior_against_exact_inference.py).
"""

from __future__ import annotations

import statistics
import time
import warnings
from collections.abc import Callable

import numpy as np

from furnace_diag.diagnosis.weigh import HALF, Fact, weigh
from furnace_diag.furnace.population import Population

with warnings.catch_warnings():
    warnings.filterwarnings("ignore", "builtin type .* has no __module__ attribute", DeprecationWarning)
    import pyagrum

READINGS, SLIP, EXACT, TIMES = 10, 0.05, 1e-9, 15
NO_SOMETHING_ELSE = 1e-300


def against_exact_inference(population: Population, prior: np.ndarray) -> tuple[float, float, float]:
    """Median seconds of the program, of the library, and of the library with the network made for the question.

    Raises ValueError where their posteriors differ.
    """
    words = discretised(population)
    seen = np.array([row[population.fault_of == np.argmax(prior)][0] for row in words])  # as one furnace reads
    ours, theirs = by_program(population, prior, words, seen), by_library(population, prior, words, seen)
    if not all(np.allclose(ours(), way(), rtol=0, atol=EXACT) for way in theirs):
        raise ValueError("the program and exact inference differ")
    made = lambda: by_library(population, prior, words, seen)[0]()  # noqa: E731
    taken = [[seconds(way) for way in (ours, made, *theirs)] for _ in range(TIMES)]
    mine, with_making, *others = (statistics.median(column) for column in zip(*taken, strict=True))
    return mine, min(others), with_making


def seconds(what: Callable[[], object]) -> float:
    start = time.perf_counter()
    what()
    return time.perf_counter() - start


def discretised(population: Population) -> np.ndarray:
    """In which bin each reading falls, for the READINGS that tell furnaces apart best; shape (READINGS, rows)."""
    values = population.table.astype(float)
    bins = np.round(np.arcsinh(np.where(np.isfinite(values), values, 0)) / 0.3)
    bins = np.where(np.isnan(values), -100, np.where(np.isinf(values), 100, bins))
    coded = [np.unique(row, return_inverse=True)[1] for row in bins]
    return np.array(sorted(coded, key=lambda row: -row.max())[:READINGS])


def by_program(population: Population, prior: np.ndarray, words: np.ndarray, seen: np.ndarray) -> Callable[[], np.ndarray]:
    ones, states = np.ones(words.shape[1]), words.max(axis=1) + 1

    def posterior() -> np.ndarray:
        facts = [[Fact("", (np.arange(count) == word).astype(float).take(row), SLIP)] for row, word, count in zip(words, seen, states.tolist(), strict=True)]
        return weigh(population, prior, facts, ones, NO_SOMETHING_ELSE).failures

    return posterior


def by_library(population: Population, prior: np.ndarray, words: np.ndarray, seen: np.ndarray) -> list[Callable[[], np.ndarray]]:
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
    return [asked(engine(network), evidence) for engine in (pyagrum.LazyPropagation, pyagrum.VariableElimination)]


def asked(engine: object, evidence: dict[str, list[float]]) -> Callable[[], np.ndarray]:
    engine.addTarget("fault")

    def posterior() -> np.ndarray:
        engine.setEvidence(evidence)  # anew: nothing of the last time is kept
        engine.makeInference()
        return engine.posterior("fault").toarray()

    return posterior
