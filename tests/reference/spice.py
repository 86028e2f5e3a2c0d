"""A second road to node voltages: a furnace written as a SPICE netlist, for a circuit simulator to solve.

The netlist is put together from what each element is (ohms, reactance, microfarads, turns, open or closed)
and from the law of the ideal transformer. Nothing of the program's admittances, matrix or solver takes part.

Element cards R, L, C, V, E and F as in the SPICE3 user's manual (University of California, Berkeley, 1993),
chapter 3 (from memory). The simulator is neospice, SPICE in a wheel; while this was written, every circuit of
the test was run through ngspice 39 as well.
"""

import math
from dataclasses import dataclass
from itertools import pairwise

import neospice
import numpy as np

from furnace_diag.furnace.network import LEAK, OPEN

HERTZ = 60.0  # North American line frequency
OMEGA = 2 * math.pi * HERTZ
GROUND = "0"  # SPICE's own name for it


@dataclass(frozen=True)
class Circuit:
    """Cards of one circuit, and the nodes where leads can be put."""

    cards: tuple[str, ...]
    nodes: tuple[str, ...]


class Writer:
    """Writes the cards of one circuit."""

    def __init__(self, ground):
        self.ground = ground
        self.cards: list[str] = []
        self.nodes: dict[str, None] = {}

    def node(self, name):
        """The node's name in the netlist; a node of the wiring leaks to ground from its first mention on."""
        if name == self.ground:
            return GROUND
        if name not in self.nodes:
            self.nodes[name] = None
            self._card("R", f"leak_{name}", f"{name} {GROUND} {1 / LEAK!r}")
        return name

    def inner(self, name):
        """A node that is only a means of writing an element; it has no leak."""
        return f"in_{name}"

    def _card(self, letter, name, rest):
        self.cards.append(f"{letter}{name} {rest}")

    def series(self, name, ends, ohms, *, henries=0.0, farads=0.0):
        """Resistor with a coil or a capacitor behind it, between two nodes; a nought is left out."""
        pieces = [(letter, value) for letter, value in (("R", ohms), ("L", henries), ("C", farads)) if value]
        places = [ends[0], *(self.inner(f"{name}_{i}") for i in range(1, len(pieces))), ends[1]]
        for (letter, value), (start, stop) in zip(pieces, pairwise(places), strict=True):
            self._card(letter, name, f"{start} {stop} {value!r}")

    def source(self, name, ends, volts, ohms):
        """Ideal alternating voltage behind its ohms, plus at the first end."""
        self._card("V", name, f"{ends[0]} {self.inner(name)} dc 0 ac {volts!r}")
        self._card("R", name, f"{self.inner(name)} {ends[1]} {ohms!r}")

    def winding(self, name, ends, core, turns, ohms, henries):
        """Ohms and leakage, then an ideal transformer onto the core: v = n v(core), n i into the core."""
        behind, before = self.inner(f"{name}_behind"), self.inner(f"{name}_before")
        self.series(name, (ends[0], before), ohms, henries=henries)
        self._card("V", f"sense_{name}", f"{before} {behind} dc 0")
        self._card("E", name, f"{behind} {ends[1]} {core} {GROUND} {turns!r}")
        self._card("F", name, f"{GROUND} {core} Vsense_{name} {turns!r}")

    def circuit(self):
        """What was written so far."""
        return Circuit(tuple(self.cards), tuple(self.nodes))


# --- a furnace as a netlist -------------------------------------------------------------------


def is_closed(operation, number, row):
    """Whether an element conducts: if there at all, as a failure holds it, else as it is moved or rests."""
    element, furnaces = operation.family.elements[number], operation.furnaces
    if not furnaces.present[number, row]:
        return False
    if operation.blown[row] and element.fuse_amps:
        return False
    if furnaces.forced[number, row]:
        return bool(furnaces.forced[number, row] > 0)
    if element.follows is not None:
        return bool(operation.moved[element.follows][row])
    return element.normally == "closed"


def furnace_circuit(operation, *, row=0, meter=None):
    """The furnace of *row* as it stands; *meter*, if given, is the two nodes it is put on and its ohms."""
    family, furnaces = operation.family, operation.furnaces
    writer = Writer(family.wiring.ground)
    for number, element in enumerate(family.elements):
        name, ends = element.element, tuple(writer.node(end) for end in element.between)
        ohms, henries = float(furnaces.ohms[number, row]), float(furnaces.reactance[number, row]) / OMEGA
        if element.element == "igniter_element" and operation.hot[row]:
            ohms *= float(furnaces.hot_times[number, row])
        if not is_closed(operation, number, row):
            ohms, henries = 1 / OPEN, 0.0
        if element.kind == "coil":
            turns = float(furnaces.turns[number, row])
            writer.winding(name, ends, writer.inner(element.core), turns, ohms, henries)
        elif element.kind == "source":
            writer.source(name, ends, float(furnaces.volts[number, row]), ohms)
        elif element.kind == "stray":
            writer.series(name, ends, 0.0, farads=float(furnaces.microfarads[number, row]) * 1e-6)
        elif element.kind == "capacitor" and is_closed(operation, number, row) and not furnaces.shorted[number, row]:
            writer.series(name, ends, ohms, farads=float(furnaces.microfarads[number, row]) * 1e-6)
        else:
            writer.series(name, ends, ohms, henries=henries)
    for name, core in family.wiring.cores.items():
        _core(writer, operation, name, core, row)
    if meter is not None:
        first, second, meter_ohms = meter
        writer.series("meter", (writer.node(first), writer.node(second)), meter_ohms)
    return writer.circuit()


def _core(writer, operation, name, core, row):
    """One turn of a core: magnetising coil, iron loss and, in a motor, the rotor at its slip, in parallel."""
    ends = (writer.inner(name), GROUND)
    size = float(operation.furnaces.quantities[core.size[1:-1]][row]) if core.size.startswith("<") else float(core.size)
    writer.series(f"magnetising_{name}", ends, 0.0, henries=core.reactance / size / OMEGA)
    if core.core_ohms:
        writer.series(f"iron_{name}", ends, core.core_ohms / size)
    rotor = next((e for e in operation.family.wiring.elements if e.kind == "rotor" and e.core == name), None)
    if rotor is not None:
        writer.series(f"rotor_{name}", ends, rotor.stalled_ohms / size / float(operation.slip[name][row]))


# --- the solver -------------------------------------------------------------------------------


def netlist(circuit):
    """The text of a netlist: one small-signal analysis at line frequency."""
    head = "* written by tests/reference/spice.py"
    return "\n".join([head, *circuit.cards, f".ac lin 1 {HERTZ:g} {HERTZ:g}", ".end", ""])


def node_volts(circuit):
    """Voltage of every node of *circuit* [V], complex; RuntimeError if the simulator finds no solution."""
    solved = neospice.run(netlist(circuit)).ac
    return {node: complex(np.ravel(solved.voltage(node))[0]) for node in circuit.nodes}
