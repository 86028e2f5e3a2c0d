"""What it costs to mend a furnace, parts put right one after another.

Source: Kadane and Simon (1977), "Optimal strategies for a class of constrained sequential problems", Annals of Statistics 5(2), 237-255 (P over C).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def expected_repair_cost(probabilities: Floats, costs: Floats, otherwise: float) -> Floats:
    """Minutes until the fault is mended if parts are put right one after another, shape (cases,).

    *probabilities*: of each part, shape (cases, parts); what they lack of 1 is a fault of none of them. *costs*: of putting
    each right, shape (parts,). *otherwise*: of finding and mending it whatever it is, to which one may turn at any time.
    Parts go in falling order of probability over cost, which no other order betters (P over C; Kadane and Simon 1977).
    """
    order = np.argsort(-probabilities / costs, axis=1, kind="stable")
    return np.asarray(cost_of_turning(probabilities, costs, otherwise, order).min(axis=1))


def cost_of_turning(probabilities: Floats, costs: Floats, otherwise: float, order: NDArray[np.intp]) -> Floats:
    """Minutes until the fault is mended if parts are put right in *order*, turned from after none of them, one, two, ...: shape (cases, parts in order + 1).

    *order*: of each case or one for all, shape (cases or 1, parts in order).
    """
    p, c = probabilities[np.arange(len(probabilities))[:, None], order], costs[order]
    left = np.ones((len(p), order.shape[1] + 1))
    np.maximum(1 - np.cumsum(p, axis=1), 0, out=left[:, 1:])  # not mended after each part
    cost = left * otherwise
    cost[:, 1:] += np.cumsum(c * left[:, :-1], axis=1)
    return np.asarray(cost)
