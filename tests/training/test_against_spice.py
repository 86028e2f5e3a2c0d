"""What a drill's meters show, held against a circuit simulator that knows nothing of the program (see tests/reference/spice.py).

Faults, moments, pairs of terminals and meters are drawn at random, the same ones in every run. Volts: the meter is one
resistor more in the netlist. Ohms: one ampere is driven through the two terminals of a netlist of resistors alone, in which
coils are their wire, capacitors are open and windings do not feel one another, as an ohmmeter's direct current meets them.

Tolerance: a millionth of the reading, or of the source where a reading is smaller (ohms: of one ohm), as in
tests/reference/test_network_against_spice.py, where its reason stands.
"""

from __future__ import annotations

import math
import zlib

import neospice
import numpy as np
import pytest

from furnace_diag.furnace.family import Family, Fault
from furnace_diag.furnace.network import METER_OHMS, OPEN
from furnace_diag.training.bench import Bench
from furnace_diag.training.lesson import Hidden
from tests.ours import our_rules
from tests.reference import spice
from tests.training.test_every_failure import lesson_with

FAMILY = Family(our_rules(), next(iter(our_rules().furnace)))
CLOSE = 1e-6
RANDOM = np.random.default_rng(zlib.crc32(b"drills against a circuit simulator"))
SOME = [FAMILY.faults[i] for i in RANDOM.choice(len(FAMILY.faults), 24, replace=False)]
PAIRS = 3
NO_END = 4e6  # ohms by the simulator above which a meter may show OL; nothing in the wiring lies between it and the network's leaks


def pairs(name: str) -> list[tuple[str, str]]:
    """Pairs of terminals, the same for the same name."""
    random = np.random.default_rng(zlib.crc32(name.encode()))
    return [tuple(str(n) for n in random.choice(list(FAMILY.wiring.nodes), 2, replace=False)) for _ in range(PAIRS)]


def bench_with(fault: Fault, seconds: float) -> Bench:
    """A furnace with that fault, so many seconds into a heat call."""
    bench = Bench(FAMILY, lesson_with(FAMILY, Hidden(fault, severity=0.3, calls=(1,))))
    bench.call(FAMILY.sequence.heat_call)
    bench.run_on(seconds)
    return bench


def simulated_ohms(bench: Bench, pair: tuple[str, str]) -> float:
    """Ohms between two terminals by the simulator: volts for one ampere of direct current."""
    writer, operation = spice.Writer(FAMILY.wiring.ground), bench.operation
    for number, element in enumerate(FAMILY.elements):
        ends = tuple(writer.node(end) for end in element.between)
        holds = element.kind in ("capacitor", "stray") and not operation.furnaces.shorted[number, 0]
        conducts = spice.is_closed(operation, number, 0) and not holds
        writer.series(element.element, ends, float(operation.furnaces.ohms[number, 0]) if conducts else 1 / OPEN)
    first, second = (writer.node(n) for n in pair)
    cards = [*writer.circuit().cards, f"Iohms {second} {first} dc 0 ac 1"]
    solved = neospice.run("\n".join(["* ohms", *cards, ".ac lin 1 60 60", ".end", ""])).ac
    volts = [0.0 if n == spice.GROUND else complex(np.ravel(solved.voltage(n))[0]).real for n in (first, second)]
    return volts[0] - volts[1]


@pytest.mark.parametrize("fault", SOME, ids=map(str, SOME))
def test_volts_between_any_two_terminals(fault: Fault) -> None:
    bench = bench_with(fault, float(RANDOM.uniform(1, 200)))
    source = float(bench.operation.q("supply_volts")[0])
    compared = 0
    for pair in pairs(f"volts {fault}"):
        for meter, ohms in METER_OHMS.items():
            solved = spice.node_volts(spice.furnace_circuit(bench.operation, meter=(*pair, ohms)))
            first, second = (solved.get(node, 0j) for node in pair)  # the ground is no node of the netlist

            assert bench.volts(pair, meter) == pytest.approx(abs(first - second), rel=CLOSE, abs=CLOSE * source), (pair, meter)
            compared += 1
    assert compared == PAIRS * len(METER_OHMS)


@pytest.mark.parametrize("fault", SOME, ids=map(str, SOME))
def test_ohms_between_any_two_terminals(fault: Fault) -> None:
    bench = bench_with(fault, 30)
    bench.power(False)
    joined = [e.between for e in FAMILY.elements if e.kind in ("conductor", "load", "coil")]
    random = np.random.default_rng(zlib.crc32(f"ohms {fault}".encode()))
    near = [joined[i] for i in random.choice(len(joined), PAIRS, replace=False)]
    shown = [(pair, bench.ohms(pair), simulated_ohms(bench, pair)) for pair in [*pairs(f"ohms {fault}"), *near]]

    assert any(math.isfinite(read) for _, read, _ in shown)
    for pair, read, simulated in shown:
        if math.isinf(read):
            assert simulated > NO_END, pair
        else:
            assert read == pytest.approx(simulated, rel=CLOSE, abs=CLOSE), pair
