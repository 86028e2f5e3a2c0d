"""Nodal analysis of the furnace's wiring at line frequency, for many furnaces at once.

Every array here has the furnaces ("rows") as its last axis. The admittance matrix is symmetric and very
sparse, so it is eliminated symbolically once (minimum degree) and numerically with one array operation a
pivot for all rows together; a dense solver would spend most of its time on zeros. For a few furnaces an array
operation costs more in being called than in reckoning: they are taken one by one, in Python's own numbers.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property, partial
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Complex = NDArray[np.complex128]
Plan = list[tuple[int, list[tuple[int, int]], list[tuple[int, int, int]]]]  # see `Network._plan`
Nodes = frozenset[str]

HERTZ = 60.0  # North American line frequency [Hz]
OMEGA = 2 * np.pi * HERTZ
LEAK = 1e-9  # siemens from every node to ground: what keeps an unconnected wire at a defined voltage, judgement
OPEN = 1e-10  # siemens of an open contact or a broken wire, judgement
FEW = 6  # furnaces up to which one by one is quicker than all together, measured
METER_OHMS = {"high": 10e6, "low": 3e3}  # input of a usual meter, and of its low-impedance mode: common practice


class Branches(NamedTuple):
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
        self._ways: dict[Nodes, Plan] = {}

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
    def _plan(self) -> Plan:
        """For each pivot: its number, its neighbours with their slots, and the entries it changes (slot, i, j)."""
        plan = []
        for pivot, near in zip(self._order, self._neighbours, strict=True):
            pairs = [(i, j) for i in range(len(near)) for j in range(i, len(near))]
            changes = [(self._slot(near[i], near[j]), i, j) for i, j in pairs]
            plan.append((pivot, [(node, self._slot(pivot, node)) for node in near], changes))
        return plan

    # --- values, for every row -------------------------------------------------------------

    def matrix(self, admittance: Complex, coupling: list[Complex], turns: NDArray[np.float64]) -> Complex:
        """Entries of the nodal matrix [S], shape (slots, rows).

        *admittance*: of each branch alone [S], shape (branches, rows). *coupling*: for each core the impedance
        of one turn [ohm], shape (rows,). *turns*: of each branch, shape (branches, rows).
        A core couples its windings as Z = D + Zm n n'; its inverse is by Sherman and Morrison (1950).
        """
        entries = np.zeros((len(self._slots), admittance.shape[1]), dtype=np.complex128)
        entries[: self.size] = LEAK
        parts = [admittance]
        for core, shared in zip(self.branches.cores, coupling, strict=True):
            weighted = turns[list(core)] * admittance[list(core)]
            factor = shared / (1 + shared * (turns[list(core)] * weighted).sum(axis=0))
            parts += [-factor * weighted[i] * weighted for i in range(len(core))]
        _in_rows(self._stamp, entries, np.concatenate([part if part.ndim == 2 else part[None] for part in parts]))
        return entries

    def _stamp(self, entries: Complex, values: Complex) -> None:
        for slot, part, positive in self._stamps:
            if positive:
                entries[slot] += values[part]
            else:
                entries[slot] -= values[part]

    @cached_property
    def _stamps(self) -> list[tuple[int, int, bool]]:
        """How branches, then pairs of windings of each core, add up to the entries: (slot, which of them, whether it adds).

        Each is a current into one branch's ends for the voltage across another's; an unordered entry is kept once.
        """
        pairs = [(ends, ends) for ends in self._ends]
        pairs += [(self._ends[first], self._ends[second]) for core in self.branches.cores for first in core for second in core]
        return [
            (self._slot(a, b), part, i == j)
            for part, (first, second) in enumerate(pairs)
            for i, a in enumerate(first)
            for j, b in enumerate(second)
            if 0 <= a <= b
        ]

    def factor(self, entries: Complex) -> Complex:
        """Eliminate in place: the triangular factor and, on the diagonal, one over each pivot (L D L'): complex numbers are slow to divide by."""
        _in_rows(self._factor, entries)
        return entries

    def _factor(self, entries: Complex) -> None:
        for pivot, near, changes in self._plan:
            inverse = entries[pivot] = 1 / entries[pivot]
            lower = [entries[slot] * inverse for _, slot in near]
            for target, i, j in changes:
                entries[target] -= lower[i] * entries[near[j][1]]
            for (_, slot), value in zip(near, lower, strict=True):
                entries[slot] = value

    def solve(self, factored: Complex, right: Complex, fed: Nodes | None = None, wanted: Nodes | None = None) -> Complex:
        """Node voltages [V] for currents into the nodes [A]; *right* has shape (nodes, cases, rows) and is overwritten.

        *fed*: the only nodes into which any current flows, where that is known. *wanted*: the only nodes whose voltages are asked for, if not all.
        """
        down, up = self._passed(fed), self._passed(wanted)
        for case in range(right.shape[1]):
            _in_rows(partial(self._solve, down, up), right[:, case], factored)
        return right

    def _solve(self, down: Plan, up: Plan, right: Complex, factored: Complex) -> None:
        for pivot, near, _ in down:
            here = right[pivot]
            for node, slot in near:
                right[node] -= factored[slot] * here
        for pivot, near, _ in reversed(up):
            here = right[pivot] * factored[pivot]
            for node, slot in near:
                here -= factored[slot] * right[node]
            right[pivot] = here

    def _passed(self, nodes: Nodes | None) -> Plan:
        """The pivots through which currents into *nodes* pass on their way down, and their voltages on the way up: few of all, which are meant by None."""
        if nodes is None:
            return self._plan
        if nodes not in self._ways:
            reached = {self.index[node] for node in nodes if node in self.index}
            way = self._ways[nodes] = []
            for step in self._plan:
                if step[0] in reached:
                    reached |= {node for node, _ in step[1]}
                    way.append(step)
        return self._ways[nodes]

    def source_ohms(self, factored: Complex, first: str, second: str) -> Complex:
        """Impedance between two nodes [ohm], shape (rows,): what one ampere from one to the other raises.

        With A = L D L' it is the sum of y_k^2 / d_k for L y = e; e has two entries, so few of y are not nought.
        """
        y = {self.index[node]: sign for node, sign in ((first, 1.0), (second, -1.0)) if node in self.index}
        raised: dict[int, Complex] = {node: np.full(factored.shape[1], sign, np.complex128) for node, sign in y.items()}
        total = np.zeros(factored.shape[1], np.complex128)
        for pivot, near, _ in self._passed(frozenset((first, second))):
            here = raised.pop(pivot)
            total += here * here * factored[pivot]
            for node, slot in near:
                change = factored[slot] * here
                raised[node] = raised[node] - change if node in raised else -change
        return total


def _in_rows(work: Callable[..., None], changed: Complex, *given: Complex) -> None:
    """Let *work* change a table in place, given others to read: of all furnaces together, or of each by itself where they are few."""
    if changed.shape[-1] > FEW:
        work(changed, *given)
        return
    for row in range(changed.shape[-1]):
        column = changed[:, row].tolist()
        work(column, *(table[:, row].tolist() for table in given))
        changed[:, row] = column
