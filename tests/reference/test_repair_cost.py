"""Expected cost of repair against a theorem, a worked example and brute force.

P over C: of independent actions of which exactly one mends the fault, the order of falling probability over cost costs
least. Kadane and Simon (1977), "Optimal strategies for a class of constrained sequential problems", Annals of Statistics
5; restated in Heckerman, Breese and Rommelse (1995), CACM 38(3), and at https://www.scholarfeed.org/paper/1203.3502v1
"""

from __future__ import annotations

from itertools import permutations

import numpy as np
import pytest

from furnace_diag.diagnosis.repair_cost import expected_repair_cost

NEVER_TURN = 1e9  # an alternative so dear that nobody turns to it


def cost_of_order(p: np.ndarray, c: np.ndarray, order: tuple[int, ...], otherwise: float) -> float:
    """Each action is paid for as long as nothing before it mended the fault; then whatever else finds it."""
    left, spent = 1.0, 0.0
    for i in order:
        spent += left * c[i]
        left -= p[i]
    return spent + left * otherwise


def test_worked_example() -> None:
    """p .45 .25 .15 .10 .05, c 10 2 5 1 8: order 2, 4, 1, 3, 5 costs 10.65, as all 120 permutations show; by p alone 13.15."""
    p, c = np.array([0.45, 0.25, 0.15, 0.10, 0.05]), np.array([10.0, 2, 5, 1, 8])

    assert cost_of_order(p, c, (1, 3, 0, 2, 4), 0) == pytest.approx(10.65)
    assert cost_of_order(p, c, (0, 1, 2, 3, 4), 0) == pytest.approx(13.15)
    assert expected_repair_cost(p[None, :], c, NEVER_TURN)[0] == pytest.approx(10.65)


@pytest.mark.parametrize("seed", range(12))
def test_no_order_and_no_moment_to_turn_costs_less(seed: int) -> None:
    """Over all permutations of all subsets of five parts, with something else left over, by brute force."""
    random = np.random.default_rng(seed)
    p = random.dirichlet(np.ones(6))[:5]
    c, otherwise = random.uniform(1, 100, 5), float(random.uniform(20, 400))
    best = min(cost_of_order(p, c, order, otherwise) for n in range(6) for order in permutations(range(5), n))

    assert expected_repair_cost(p[None, :], c, otherwise)[0] == pytest.approx(best)


def test_cases_are_reckoned_apart() -> None:
    random = np.random.default_rng(7)
    p, c = random.dirichlet(np.ones(4), 20)[:, :3], np.array([5.0, 50, 20])

    together = expected_repair_cost(p, c, 100)
    assert together == pytest.approx([expected_repair_cost(row[None, :], c, 100)[0] for row in p])
