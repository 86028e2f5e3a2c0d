"""The network solver held against a circuit simulator that knows nothing of it (see spice.py).

Furnaces are stopped in every step of a healthy heat, fan and cooling call and, with each failure in turn,
where their heat call comes to rest. At each stop all node voltages are compared, and random pairs of nodes
with a usual and a low-impedance meter across them, which is one more resistor in the netlist.

Tolerance: a millionth of the reading, or of the source where the reading is smaller. Healthy furnaces agree
to 1e-13. A part that is cut off and hangs on its leaks of 1e-9 S, joined within itself by 50 S, is where
double precision (1.1e-16) shows: 4e-7 was met, and two simulators differ by as much. No meter shows the sixth
digit.
"""

import zlib
from dataclasses import dataclass
from functools import partial

import numpy as np
import pytest
from numpy.testing import assert_allclose

from furnace_diag.furnace.family import Family, usual_site
from furnace_diag.furnace.network import HERTZ, LEAK, METER_OHMS, OMEGA, OPEN, Branches, Network
from furnace_diag.furnace.observe import volts_at
from furnace_diag.furnace.operate import Operation
from furnace_diag.furnace.trial import heat_call
from furnace_diag.furnace.virtual import VirtualFurnaces, metered
from furnace_diag.knowledge.models import Point
from tests.ours import our_rules
from tests.reference import spice

CLOSE = 1e-6
PAIRS = 6  # at each stop, each with both meters


@dataclass(frozen=True)
class Compared:
    """One voltage, by the program and by the simulator."""

    where: str
    program: complex
    simulator: complex
    source: float

    @property
    def apart(self):
        """How far they are apart, as a share of the tolerance."""
        return abs(self.program - self.simulator) / (CLOSE * max(abs(self.simulator), self.source))


@dataclass(frozen=True)
class Stop:
    """What was compared at one stop of one furnace."""

    name: str
    nodes: tuple[Compared, ...]
    meters: tuple[Compared, ...]
    shown: tuple[Compared, ...]  # magnitudes, as the population takes them


# --- stopping furnaces ------------------------------------------------------------------------


def random_pairs(family, name):
    """Pairs of nodes, the same ones for the same stop in every run."""
    random = np.random.default_rng(zlib.crc32(name.encode()))
    nodes = [*family.wiring.nodes]
    return [tuple(str(n) for n in random.choice(nodes, 2, replace=False)) for _ in range(PAIRS)]


def stop_at(operation, name, row=0):
    """Compare the furnace of *row* as it stands."""
    network, rows = operation.family.network, np.array([row])
    source = float(operation.q("supply_volts")[row])
    factored, into = operation.factored(rows)
    volts = network.solve(factored, into[:, None, :])[:, 0]
    pairs = random_pairs(operation.family, name)
    plain = spice.node_volts(spice.furnace_circuit(operation, row=row))
    nodes = [Compared(f"{name}: {n}", volts[i, 0], plain[n], source) for n, i in network.index.items()]
    points = [Point.model_construct(point=f"{a} to {b}", leads=(a, b)) for a, b in pairs]
    by_point = volts_at(operation, points, rows)
    meters, shown = [], []
    for point, pair in zip(points, pairs, strict=True):
        for meter, ohms in METER_OHMS.items():
            solved = spice.node_volts(spice.furnace_circuit(operation, row=row, meter=(*pair, ohms)))
            first, second = (solved.get(node, 0j) for node in pair)  # the ground is no node of the netlist
            across = metered(network, factored, volts, pair, meter)[0]
            where = f"{name}: {point.point}, {meter}"
            meters.append(Compared(where, across, first - second, source))
            shown.append(Compared(where, by_point[point.point][meter][0], abs(first - second), source))
    return Stop(name, tuple(nodes), tuple(meters), tuple(shown))


def healthy(family):
    """The usual furnace, nothing called for."""
    operation = Operation(VirtualFurnaces(family, *usual_site(family.furnace)))
    operation.run()
    return operation


def healthy_stops(family):
    """Every step the usual furnace visits in a heat call, from start to end, a fan and a cooling call."""
    stops = {"standby": stop_at(healthy(family), "standby")}
    for calls in (("call_w",), ("call_g",), ("call_y", "call_g")):
        operation = healthy(family)
        for called in (True, False):
            for call in calls:
                operation.moved[call][:] = called
            operation.run(partial(_note_first, stops, operation))
    return stops


def _note_first(stops, operation, step, _rows):
    if step not in stops:
        stops[step] = stop_at(operation, step)


@pytest.fixture(scope="module")
def families():
    knowledge = our_rules()
    return [Family(knowledge, name) for name in knowledge.furnace]


@pytest.fixture(scope="module")
def steps(families):
    """Stops of healthy furnaces, by family and step."""
    return {family.furnace.furnace: healthy_stops(family) for family in families}


@pytest.fixture(scope="module")
def failed(families):
    """One stop for each failure: where its heat call rests."""
    return [stop_at(call, str(fault), row) for family in families for call in [calls_of_all(family)] for row, fault in enumerate(family.faults)]


def calls_of_all(family):
    """Usual furnaces, one with each failure, each taken through a heat call until it rests: all at once is quicker than one by one."""
    numbers, choices = (
        {name: np.repeat(value, len(family.faults), axis=-1) for name, value in some.items()} for some in usual_site(family.furnace)
    )
    faults = [(slice(row, row + 1), fault) for row, fault in enumerate(family.faults)]
    operation = Operation(VirtualFurnaces(family, numbers, choices, faults))
    operation.run()
    operation.call(family.sequence.heat_call.closes)
    operation.run()
    return operation


@pytest.fixture(scope="module")
def stops(steps, failed):
    return [stop for by_step in steps.values() for stop in by_step.values()] + failed


def too_far_apart(compared):
    """Comparisons that fail, the worst first."""
    return sorted((c for c in compared if not c.apart <= 1), key=lambda c: -c.apart)


# --- whole furnaces ---------------------------------------------------------------------------


class TestFurnaces:
    def test_the_stops_are_all_there(self, families, steps, failed):
        for family in families:
            wanted = {*family.sequence.order, "post_purge", "blower_off_delay", "fan_call", "cooling_call"}

            assert wanted <= steps[family.furnace.furnace].keys()
        assert len(failed) == sum(len(family.faults) for family in families)

    def test_node_voltages(self, stops):
        assert too_far_apart(c for stop in stops for c in stop.nodes) == []

    def test_what_a_meter_makes_of_two_nodes(self, stops):
        assert too_far_apart(c for stop in stops for c in stop.meters) == []

    def test_what_the_population_takes_a_meter_to_show(self, stops):
        assert too_far_apart(c for stop in stops for c in stop.shown) == []

    def test_the_pairs_are_a_fair_sample(self, stops):
        # a comparison of noughts would prove nothing: live pairs, and pairs that the 3 kohm meter pulls down
        shown = [c for stop in stops for c in stop.shown]
        falls = [high.simulator - low.simulator for high, low in zip(shown[::2], shown[1::2], strict=True)]

        assert sum(c.simulator > 1 for c in shown) > len(shown) / 4
        assert sum(fall > 2 for fall in falls) > len(falls) / 20

    def test_operation_keeps_the_voltages_it_solved(self, families):
        # what the control reads while it runs is the same solution
        for family in families:
            operation = heat_call(family)
            solved = spice.node_volts(spice.furnace_circuit(operation))

            kept = {node: operation.volts[i, 0] for node, i in family.network.index.items()}

            assert_allclose([*kept.values()], [solved[n] for n in kept], rtol=0, atol=CLOSE * 120)


class TestSpeeds:
    """Rotors at any slip and windings of any turns, not only those a run happens to meet."""

    @pytest.mark.parametrize("slip", [1e-3, 0.05, 0.3, 1.0])
    @pytest.mark.parametrize("output", ["blower_heat", "blower_cool", "blower_fan"])
    def test_blower_taps(self, families, output, slip):
        operation = healthy(families[0])
        operation.moved[output][:] = True
        operation.slip["blower_motor"][:] = slip

        compared = stop_at(operation, f"{output} at slip {slip}")

        assert too_far_apart([*compared.nodes, *compared.meters]) == []


# --- small networks, by hand ------------------------------------------------------------------

STIFF = 1e-3  # ohms behind the source


def by_program(volts, branches, pair, meter=None):
    """Volts of a pair of nodes; *branches*: (node, node, ohms). The source is between "hot" and "earth"."""
    ends = (("hot", "earth"), *((a, b) for a, b, _ in branches))
    nodes = tuple(dict.fromkeys(node for pair_ in ends for node in pair_))
    network = Network(Branches(nodes, "earth", ends, ()))
    admittance = np.array([[1 / STIFF], *([1 / z] for _, _, z in branches)], dtype=complex)
    factored = network.factor(network.matrix(admittance, [], np.ones(admittance.shape)))
    into = np.zeros((network.size, 1, 1), complex)
    into[network.index["hot"]] = volts / STIFF
    solved = network.solve(factored, into)[:, 0]
    if meter is not None:
        return abs(metered(network, factored, solved, pair, meter)[0])
    at = {"earth": 0j} | {node: solved[i, 0] for node, i in network.index.items()}
    return abs(at[pair[0]] - at[pair[1]])


def side_by_side(*impedances):
    return 1 / sum(1 / z for z in impedances)


class TestGhostVoltage:
    """A wire beside a live one, 120 V and 60 Hz, and the meter that reads it."""

    @pytest.mark.parametrize("picofarads", [20, 100, 900])
    @pytest.mark.parametrize("meter", ["high", "low"])
    def test_is_a_divider_of_capacitor_and_meter(self, picofarads, meter):
        coupling = 1 / (2j * np.pi * 60 * picofarads * 1e-12)
        wire = side_by_side(METER_OHMS[meter], 1 / LEAK)  # the wire's own leak stands beside the meter
        expected = abs(120 * wire / (wire + coupling))

        seen = by_program(120, [("hot", "wire", coupling)], ("wire", "earth"), meter)

        # the source's milliohm and the leak at its end take less than 1e-9
        assert_allclose(seen, expected, rtol=1e-9)

    # 100 pF: 42.33 V at 10 Mohm, 0.014 V at 3 kohm, computed by ngspice 39 without any leak. High: the
    # program's wire leaks 1 Gohm beside the 10 Mohm, 1 % of it. Low: half the last digit.
    @pytest.mark.parametrize(("meter", "printed", "within"), [("high", 42.33, 0.42), ("low", 0.014, 0.0005)])
    def test_as_printed(self, meter, printed, within):
        coupling = 1 / (1j * OMEGA * 100e-12)

        seen = by_program(120, [("hot", "wire", coupling)], ("wire", "earth"), meter)

        assert_allclose(seen, printed, rtol=0, atol=within)

    @pytest.mark.parametrize(("meter", "printed", "within"), [("high", 42.33, 0.005), ("low", 0.014, 0.0005)])
    def test_as_printed_by_the_simulator_used_here(self, meter, printed, within):
        # the same figures from neospice: the two simulators agree where no leak stands between them
        cards = ("V1 hot 0 dc 0 ac 120", "C1 hot wire 100e-12", f"R1 wire 0 {METER_OHMS[meter]}")
        solved = spice.node_volts(spice.Circuit(cards, ("wire",)))

        assert HERTZ == spice.HERTZ
        assert_allclose(abs(solved["wire"]), printed, rtol=0, atol=within)


class TestSeriesChain:
    """24 V through a switch and a load: the rule of every safety string."""

    # 24 V over 100 and 300 ohm in series leaves 18.000 V on the 300: by ngspice, neospice and lcapy, computed
    def test_divides_as_the_resistances(self):
        chain = [("hot", "middle", 100.0), ("middle", "earth", 300.0)]

        # half the last digit printed
        assert_allclose(by_program(24, chain, ("middle", "earth")), 18.000, rtol=0, atol=0.0005)

    @pytest.mark.parametrize("first", [0.02, 100, 4700])
    @pytest.mark.parametrize("second", [40, 300, 4700])
    def test_any_two_resistances(self, first, second):
        chain = [("hot", "middle", first), ("middle", "earth", second)]

        seen = by_program(24, chain, ("middle", "earth"))

        # source milliohm: 1e-3 over 40 ohm; leak: 1e-9 S beside 4700 ohm
        assert_allclose(seen, 24 * second / (first + second), rtol=3e-5)

    @pytest.mark.parametrize("load", [40, 300, 4700])
    @pytest.mark.parametrize("meter", ["high", "low"])
    def test_an_open_switch_reads_the_source_across_itself(self, load, meter):
        chain = [("hot", "far", 1 / OPEN), ("far", "earth", load)]
        gap = side_by_side(METER_OHMS[meter], 1 / OPEN)
        behind = side_by_side(load, 1 / LEAK)
        expected = 24 * gap / (gap + behind)  # the low-impedance meter is itself a load in the chain

        seen = by_program(24, chain, ("hot", "far"), meter)

        # the source's milliohm carries at most 24 V / 3 kohm
        assert_allclose(seen, expected, rtol=1e-6)

    @pytest.mark.parametrize("meter", ["high", "low"])
    def test_a_closed_switch_reads_next_to_nothing(self, meter):
        chain = [("hot", "far", 0.05), ("far", "earth", 300.0)]

        # 24 V * 0.05 / 300.05 = 4.0 mV; the source's milliohm and the meter take less than 1e-4 of it
        assert_allclose(by_program(24, chain, ("hot", "far"), meter), 24 * 0.05 / 300.05, rtol=1e-4)
