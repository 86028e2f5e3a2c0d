"""Nodal analysis of the furnace's wiring at line frequency, for many furnaces at once.

Every array here has the furnaces ("rows") as its last axis. The admittance matrix is symmetric and very
sparse, so it is eliminated symbolically once (minimum degree) and numerically with one array operation a
pivot for all rows together; a dense solver would spend most of its time on zeros.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

Complex = NDArray[np.complex128]

HERTZ = 60.0  # North American line frequency [Hz]
OMEGA = 2 * np.pi * HERTZ
LEAK = 1e-9  # siemens from every node to ground: what keeps an unconnected wire at a defined voltage, judgement
OPEN = 1e-10  # siemens of an open contact or a broken wire, judgement
METER_OHMS = {"high": 10e6, "low": 3e3}  # input of a usual meter, and of its low-impedance mode: common practice


@dataclass(frozen=True)
class Branches:
    """What a network is made of: two-terminal branches, and windings that share a core."""

    nodes: tuple[str, ...]
    ground: str
    ends: tuple[tuple[str, str], ...]
    cores: tuple[tuple[int, ...], ...]  # for each core, the branches wound on it


class Network:
    """The shape of one wiring; values of its branches come with each call.

    Raises ValueError if a node has no branch at all (nothing fixes its voltage).
    """

    def __init__(self, branches: Branches) -> None:
        self.branches = branches
        self.index = {node: i for i, node in enumerate(n for n in branches.nodes if n != branches.ground)}
        self.size = len(self.index)
        lonely = set(self.index) - {node for ends in branches.ends for node in ends}
        if lonely:
            raise ValueError(f"nothing is joined to {', '.join(sorted(lonely))}")
        self._order, self._neighbours = self._eliminate()

    # --- the pattern, found once -----------------------------------------------------------

    @cached_property
    def _ends(self) -> list[tuple[int, int]]:
        """Branch ends as node numbers; the ground is -1."""
        return [(self.index.get(a, -1), self.index.get(b, -1)) for a, b in self.branches.ends]

    def _graph(self) -> list[set[int]]:
        graph: list[set[int]] = [set() for _ in range(self.size)]
        groups = [set(pair) for pair in self._ends]
        groups += [{node for branch in core for node in self._ends[branch]} for core in self.branches.cores]
        for group in groups:
            for node in group - {-1}:
                graph[node] |= group - {-1, node}
        return graph

    def _eliminate(self) -> tuple[list[int], list[list[int]]]:
        """Minimum-degree order and, for each pivot, the later nodes it touches (fill included)."""
        graph = self._graph()
        order, neighbours, left = [], [], set(range(self.size))
        while left:
            pivot = min(left, key=lambda node: (len(graph[node]), node))
            near = sorted(graph[pivot])
            for node in near:
                graph[node] |= graph[pivot] - {node}
                graph[node].discard(pivot)
            left.remove(pivot)
            order.append(pivot)
            neighbours.append(near)
        return order, neighbours

    @cached_property
    def _slots(self) -> dict[tuple[int, int], int]:
        """Where each pair of nodes stands in the table of matrix entries."""
        slots = {(node, node): node for node in range(self.size)}
        for pivot, near in zip(self._order, self._neighbours, strict=True):
            for node in near:
                slots.setdefault((min(pivot, node), max(pivot, node)), len(slots))
            for i, a in enumerate(near):
                for b in near[i + 1 :]:
                    slots.setdefault((min(a, b), max(a, b)), len(slots))
        return slots

    def _slot(self, a: int, b: int) -> int:
        return self._slots[(min(a, b), max(a, b))]

    @cached_property
    def _plan(self) -> list[tuple[int, NDArray[np.intp], NDArray[np.intp], NDArray[np.intp], NDArray[np.intp], NDArray[np.intp]]]:
        """For each pivot: its number, its neighbours and their slots, and the entries it changes (slot, i, j)."""
        plan = []
        for pivot, near in zip(self._order, self._neighbours, strict=True):
            pairs = [(i, j) for i in range(len(near)) for j in range(i, len(near))]
            plan.append(
                (
                    pivot,
                    np.array(near, dtype=np.intp),
                    np.array([self._slot(pivot, node) for node in near], dtype=np.intp),
                    np.array([self._slot(near[i], near[j]) for i, j in pairs], dtype=np.intp),
                    np.array([i for i, _ in pairs], dtype=np.intp),
                    np.array([j for _, j in pairs], dtype=np.intp),
                )
            )
        return plan

    # --- values, for every row -------------------------------------------------------------

    def matrix(self, admittance: Complex, coupling: list[Complex], turns: NDArray[np.float64]) -> Complex:
        """Entries of the nodal matrix [S], shape (slots, rows).

        *admittance*: of each branch alone [S], shape (branches, rows). *coupling*: for each core the impedance
        of one turn [ohm], shape (rows,). *turns*: of each branch, shape (branches, rows).
        A core couples its windings as Z = D + Zm n n'; its inverse is by Sherman and Morrison (1950).
        """
        parts = [admittance]
        for core, shared in zip(self.branches.cores, coupling, strict=True):
            weighted = turns[list(core)] * admittance[list(core)]
            factor = shared / (1 + shared * (turns[list(core)] * weighted).sum(axis=0))
            parts += [-factor * weighted[i] * weighted for i in range(len(core))]
        source, sign, slots, starts = self._stamps
        entries = np.zeros((len(self._slots), admittance.shape[1]), dtype=np.complex128)
        entries[: self.size] = LEAK
        entries[slots] += np.add.reduceat(np.concatenate(parts)[source] * sign[:, None], starts, axis=0)
        return entries

    @cached_property
    def _stamps(self) -> tuple[NDArray[np.intp], NDArray[np.float64], NDArray[np.intp], NDArray[np.intp]]:
        """How the parts of `matrix` (branches, then pairs of windings of each core) add up to its entries.

        A part is a current into one branch's ends for the voltage across another's; each unordered entry is kept once.
        Returns the part and the sign of each term, in the order of the slots they go to; those slots, and where each begins.
        """
        pairs = [(ends, ends) for ends in self._ends]
        pairs += [(self._ends[first], self._ends[second]) for core in self.branches.cores for first in core for second in core]
        terms = []
        for part, (first, second) in enumerate(pairs):
            for sign_a, a in zip((1, -1), first, strict=True):
                for sign_b, b in zip((1, -1), second, strict=True):
                    if 0 <= a <= b:
                        terms.append((self._slot(a, b), part, sign_a * sign_b))
        slot, source, sign = np.array(sorted(terms)).T
        slots, starts = np.unique(slot, return_index=True)
        return source, sign.astype(np.float64), slots, starts

    def factor(self, entries: Complex) -> Complex:
        """Eliminate in place: the triangular factor and, on the diagonal, the pivots (L D L')."""
        for pivot, _, slots, targets, i, j in self._plan:
            upper = entries[slots]
            lower = upper / entries[pivot]
            entries[targets] -= lower[i] * upper[j]
            entries[slots] = lower
        return entries

    def solve(self, factored: Complex, right: Complex) -> Complex:
        """Node voltages [V] for currents into the nodes [A]; *right* has shape (nodes, cases, rows) and is overwritten."""
        for pivot, near, slots, *_ in self._plan:
            if len(near):
                right[near] -= factored[slots][:, None, :] * right[pivot]
        for pivot, near, slots, *_ in reversed(self._plan):
            right[pivot] /= factored[pivot]
            if len(near):
                right[pivot] -= (factored[slots][:, None, :] * right[near]).sum(axis=0)
        return right

    def source_ohms(self, factored: Complex, first: str, second: str) -> Complex:
        """Impedance between two nodes [ohm], shape (rows,): what one ampere from one to the other raises.

        With A = L D L' it is the sum of y_k^2 / d_k for L y = e; e has two entries, so few of y are not nought.
        """
        y = {self.index[node]: sign for node, sign in ((first, 1.0), (second, -1.0)) if node in self.index}
        raised: dict[int, Complex] = {node: np.full(factored.shape[1], sign, np.complex128) for node, sign in y.items()}
        total = np.zeros(factored.shape[1], np.complex128)
        for pivot, near, slots, *_ in self._plan:
            if pivot not in raised:
                continue
            here = raised.pop(pivot)
            total += here * here / factored[pivot]
            for node, slot in zip(near.tolist(), slots.tolist(), strict=True):
                change = factored[slot] * here
                raised[node] = raised[node] - change if node in raised else -change
        return total
