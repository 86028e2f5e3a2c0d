"""The sparse elimination against a dense solver, and small circuits against hand formulas."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from furnace_diag.furnace.network import LEAK, Branches, Network


def random_network(seed: int) -> tuple[Network, np.ndarray]:
    random = np.random.default_rng(seed)
    nodes = tuple(f"n{i}" for i in range(9))
    ends = [(nodes[i], nodes[i + 1]) for i in range(8)]
    ends += [tuple(random.choice(nodes, 2, replace=False)) for _ in range(6)]
    return Network(Branches(nodes, "n0", tuple(ends), ())), random.uniform(0.01, 2, (14, 3)) + 1j * random.uniform(-1, 1, (14, 3))


@pytest.mark.parametrize("seed", range(8))
def test_agrees_with_a_dense_solver(seed: int) -> None:
    network, y = random_network(seed)
    rhs = np.random.default_rng(seed + 99).normal(size=(8, 2, 3)) + 0j
    dense = np.zeros((3, 8, 8), complex) + LEAK * np.eye(8)
    for (a, b), value in zip(network.branches.ends, y, strict=True):
        sign = np.zeros(8)
        for node, s in ((a, 1), (b, -1)):
            if node in network.index:
                sign[network.index[node]] = s
        dense += value[:, None, None] * np.outer(sign, sign)
    factored = network.factor(network.matrix(y, [], np.ones((14, 3))))

    expected = np.stack([np.linalg.solve(dense[r], rhs[:, :, r]) for r in range(3)], axis=2)
    assert_allclose(network.solve(factored, rhs.copy()), expected, rtol=1e-9)


@pytest.mark.parametrize("seed", range(4))
def test_only_what_is_fed_and_wanted_need_be_looked_at(seed: int) -> None:
    network, y = random_network(seed)
    factored = network.factor(network.matrix(y, [], np.ones((14, 3))))
    right = np.zeros((8, 1, 3), complex)
    right[[network.index["n3"], network.index["n5"]]] = [[[1.0]], [[-2.0]]]
    everywhere = network.solve(factored, right.copy())

    assert_allclose(network.solve(factored, right.copy(), fed=frozenset(("n0", "n3", "n5"))), everywhere, rtol=1e-12)
    wanted = network.solve(factored, right.copy(), fed=frozenset(("n3", "n5")), wanted=frozenset(("n1", "n7", "n0")))
    for node in ("n1", "n7"):
        assert_allclose(wanted[network.index[node]], everywhere[network.index[node]], rtol=1e-12)


def test_a_divider() -> None:
    """24 V over 100 and 300 ohm gives 18 V: V R2 / (R1 + R2)."""
    network = Network(Branches(("g", "s", "m"), "g", (("s", "g"), ("s", "m"), ("m", "g")), ()))
    y = np.array([[1e6], [1 / 100], [1 / 300]], complex)
    volts = network.solve(network.factor(network.matrix(y, [], np.ones((3, 1)))), np.array([[[24e6]], [[0]]], complex))

    assert abs(volts[network.index["m"], 0, 0]) == pytest.approx(18.0, rel=1e-4)


def test_a_lonely_node_is_refused() -> None:
    with pytest.raises(ValueError, match="nothing is joined to x"):
        Network(Branches(("g", "a", "x"), "g", (("a", "g"),), ()))
