"""The published five-component example of diagnosis: three multipliers and two adders, one output of which is wrong.

M1 and M2 feed A1, M2 and M3 feed A2. Inputs A to E are 3, 2, 2, 3, 3: M1 multiplies A and C, M2 B and D, M3 C and E. A1 should give 12 and
gives 10, A2 gives 12 as it should. Known: minimal conflicts {A1, M1, M2} and {A1, A2, M1, M3}; minimal diagnoses {A1}, {M1}, {A2, M2},
{M2, M3}. De Kleer and Williams (1987), Diagnosing multiple faults, and Reiter (1987), A theory of diagnosis from first principles; inputs and
{A2, M2} at http://read.cucdc.com/cw/70678/156747.html
"""

from __future__ import annotations

from itertools import combinations

import numpy as np

from furnace_diag.diagnosis.clash import least, minimal_hitting_sets

COMPONENTS = ("A1", "A2", "M1", "M2", "M3")
CONFLICTS = {frozenset({"A1", "M1", "M2"}), frozenset({"A1", "A2", "M1", "M3"})}
DIAGNOSES = {frozenset({"A1"}), frozenset({"M1"}), frozenset({"A2", "M2"}), frozenset({"M2", "M3"})}


# what each does right, as an equation in what the multipliers give: coefficients of x, y, z, and the sum
LAWS = {"M1": (1, 0, 0, 3 * 2), "M2": (0, 1, 0, 2 * 3), "M3": (0, 0, 1, 2 * 3), "A1": (1, 1, 0, 10), "A2": (0, 1, 1, 12)}


def can_be(broken: frozenset[str]) -> bool:
    """Whether the readings can be had when all but *broken* do what they should: a broken one may give anything, so its equation falls away."""
    hold = np.array([law for name, law in LAWS.items() if name not in broken]).reshape(-1, 4)
    return len(hold) == 0 or bool(np.linalg.matrix_rank(hold[:, :3]) == np.linalg.matrix_rank(hold))  # Rouche and Capelli: then x, y, z exist


def worlds() -> list[frozenset[str]]:
    """Every set of broken components with which the readings can be had."""
    every = (frozenset(some) for size in range(6) for some in combinations(COMPONENTS, size))
    return [broken for broken in every if can_be(broken)]


def test_conflicts_are_what_cannot_all_be_right() -> None:
    """As records clash when each furnace lacks one of them, components conflict when each world breaks one of them."""
    assert set(minimal_hitting_sets(least(worlds()), len(COMPONENTS), 10_000)) == CONFLICTS


def test_diagnoses_hit_every_conflict() -> None:
    assert set(minimal_hitting_sets(CONFLICTS, len(COMPONENTS), 10_000)) == DIAGNOSES
    assert set(least(worlds())) == DIAGNOSES


def test_there_are_as_many_worlds_as_published() -> None:
    # 27 consistent candidates of 32, by enumeration; with p = 0.01 each, A1 and M1 are the cause with 0.4976 and M2 with 0.0196
    p = 0.01
    weight = {broken: p ** len(broken) * (1 - p) ** (len(COMPONENTS) - len(broken)) for broken in worlds()}
    total = sum(weight.values())

    assert len(weight) == 27
    assert round(sum(w for b, w in weight.items() if "M1" in b) / total, 4) == 0.4976
    assert round(sum(w for b, w in weight.items() if "M2" in b) / total, 4) == 0.0196
