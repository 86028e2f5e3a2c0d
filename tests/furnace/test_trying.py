"""What comes of each experiment on furnaces with one failure, and that it tells nothing on a good one.

Expected from the circuit or the sequence, not from the program: what is off the board cannot load or feed it; a wire from R to W stands
for the thermostat and its cable; a short blows a fuse as soon as volts stand on what it shorts, so in the call that puts them there.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from furnace_diag.furnace.family import Family, Fault, usual_site
from furnace_diag.furnace.observe import solved, volts_of, volts_with_open
from furnace_diag.furnace.operate import Operation
from furnace_diag.furnace.population import WHOLE_CALL, Population, furnaces_of
from furnace_diag.furnace.trying import altered, make, tried
from furnace_diag.furnace.virtual import Flags, VirtualFurnaces
from furnace_diag.knowledge.models import Trial

JOINED_WIRES_OFF = "starts_with_thermostat_wires_off"
R_G, R_Y = "fan_when_r_g_joined_at_board", "blower_when_r_y_joined_at_board"
FUSE, VALVE_OFF, WHICH_LEAD = "fuse_blows_again", "fuse_blows_with_valve_wire_off", "lead_that_blows_fuse"
CABLE_OFF = "fuse_blows_with_thermostat_wires_off"
GOES_ON, HOSE, ROD_OFF = "goes_on_with_thermostat_wires_off", "gas_off_when_hose_pulled", "flame_reported_with_rod_off"


def usual(family: Family, *faults: str, **options: str) -> VirtualFurnaces:
    """One usual furnace with failures."""
    numbers, choices = usual_site(family.furnace, options)
    return VirtualFurnaces(family, numbers, choices, [(slice(0, 1), Fault(*f.split(":"))) for f in faults])


def found_blown(family: Family, furnaces: VirtualFurnaces) -> np.ndarray:
    """Whether its fuse blew in any call before anybody came."""
    o = Operation(furnaces)
    for call in ((), *(c.closes for c in (family.sequence.heat_call, *family.sequence.other_calls))):
        o.reset()
        o.run()
        o.call(call)
        o.run()
    return o.blown


@cache
def found(family: Family, faults: tuple[str, ...], options: tuple[tuple[str, str], ...]) -> tuple[VirtualFurnaces, Flags]:
    """One usual furnace, and whether its fuse is found blown. Experiments leave it as it is."""
    furnaces = usual(family, *faults, **dict(options))
    return furnaces, found_blown(family, furnaces)


def comes_of(family: Family, experiment: str, *faults: str, **options: str) -> str | None:
    """The word of an experiment on one usual furnace, as it is found."""
    trial = family.knowledge.experiment[experiment].shows
    assert isinstance(trial, Trial)
    return tried(trial, *found(family, faults, tuple(options.items())))[0]


@pytest.mark.parametrize(
    ("experiment", "good"),
    [
        ("starts_when_joined_at_board", "yes"), ("starts_when_joined_at_thermostat", "yes"), (JOINED_WIRES_OFF, "yes"), (R_G, "yes"), (R_Y, "yes"),
        (FUSE, "no"), (VALVE_OFF, "no"), (CABLE_OFF, "no"), (WHICH_LEAD, "none"), (GOES_ON, None), (HOSE, "within_2_seconds"), (ROD_OFF, "no"),
    ],
)  # fmt: skip
def test_on_a_good_furnace_it_tells_nothing(population: Population, family: Family, experiment: str, good: str | None) -> None:
    trial = family.knowledge.experiment[experiment].shows
    assert isinstance(trial, Trial)
    healthy = population.table[population.columns[(experiment, WHOLE_CALL, "")], population.fault_of < 0]

    assert {None if np.isnan(word) else trial.words[int(word)] for word in healthy} == {good}


def test_every_experiment_that_is_tried_is_looked_at_here(family: Family) -> None:
    held = {JOINED_WIRES_OFF, R_G, R_Y, FUSE, VALVE_OFF, CABLE_OFF, WHICH_LEAD, GOES_ON, HOSE, ROD_OFF}
    held |= {"starts_when_joined_at_board", "starts_when_joined_at_thermostat"}
    held |= {"limit_on_blocked_return"}  # below
    assert {s.sign for s in family.signs if isinstance(s.shows, Trial)} == held


@pytest.mark.parametrize(
    ("fault", "starts"),
    [
        ("thermostat:no_call", "yes"), ("thermostat_cable:r_open", "yes"), ("thermostat_cable:w_open", "yes"),
        ("thermostat_cable:w_and_y_swapped", "yes"), ("board_plug:thermostat_contact_open", "yes"),
        ("low_voltage_fuse:too_large", "yes"),  # its short lies in the cable, which is off
        ("control_board:w_input_dead", "no"), ("control_board:no_logic", "no"), ("limit_switch:will_not_close", "no"),
        ("transformer:secondary_open", "no"), ("thermostat_cable:shorted", "no"),  # its fuse is found blown
        ("igniter:open", "yes"),  # what fails later does not keep the call from starting
    ],
)  # fmt: skip
def test_r_joined_to_w_with_the_wires_off_parts_what_is_before_the_board_from_what_is_in_it(family: Family, fault: str, starts: str) -> None:
    assert comes_of(family, JOINED_WIRES_OFF, fault) == starts


@pytest.mark.parametrize(("fault", "lights"), [("thermostat:no_call", True), ("thermostat_cable:r_open", True), ("control_board:w_input_dead", False)])
def test_r_joined_to_w_with_the_wires_off_lights_the_furnace_where_the_thermostat_or_its_cable_is_dead(family: Family, fault: str, lights: bool) -> None:
    o = Operation(usual(family, fault))
    make(o, (("thermostat_wires_off",), ()))
    o.run()
    o.call(family.sequence.heat_call.joined)
    o.run()

    assert bool(o.flame[0]) is lights


@pytest.mark.parametrize(
    ("experiment", "fault", "answers"),
    [
        (R_G, "control_board:g_input_dead", "no"), (R_G, "thermostat_cable:g_open", "yes"), (R_G, "blower_motor:seized", "no"),
        (R_Y, "control_board:cool_relay_will_not_close", "no"), (R_Y, "thermostat:no_call", "yes"), (R_Y, "control_board:y_input_dead", "yes"),
    ],
)  # fmt: skip
def test_r_joined_to_g_or_y(family: Family, experiment: str, fault: str, answers: str) -> None:
    """Its Y input dead, R on G as well makes a fan call of it, and a blower runs; here on the heat speed."""
    assert comes_of(family, experiment, fault) == answers


@pytest.mark.parametrize(
    ("fault", "when", "valve_off", "lead"),
    [
        ("low_voltage_fuse:blown", "no", "no", "none"),
        ("thermostat_cable:shorted", "at_once", "yes", "thermostat_wires"),  # R stands on it with power
        ("wiring_harness:low_voltage_chafed", "at_once", "yes", "with_all_off"),  # on R inside the furnace
        ("gas_valve:coil_shorted", "on_heat_call", "no", "gas_valve_wire"),
        ("gas_harness:chafed", "on_heat_call", "no", "gas_valve_wire"),
        ("thermostat_cable:w_shorted", "on_heat_call", "yes", "thermostat_wires"),
        ("thermostat_cable:g_shorted", "on_fan_call", "no", "thermostat_wires"),
        ("outdoor_circuit:shorted", "on_cooling_call", "no", "outdoor_wires"),
        ("other_control:humidifier_shorted", "on_heat_call", "yes", "humidifier_wire"),  # the humidifier goes with the pressure switch here
        ("transformer:secondary_open", "no", "no", "none"),  # no fuse was blown
    ],
)
def test_a_new_fuse_blows_in_the_call_that_puts_volts_on_the_short(family: Family, fault: str, when: str, valve_off: str, lead: str) -> None:
    assert (comes_of(family, FUSE, fault), comes_of(family, VALVE_OFF, fault), comes_of(family, WHICH_LEAD, fault)) == (when, valve_off, lead)


@pytest.mark.parametrize(
    ("fault", "goes_on"),
    [
        ("thermostat:fan_contact_stuck", "nothing"), ("thermostat:heat_contact_stuck", "nothing"), ("other_control:feeds_g", "nothing"),
        ("thermostat_cable:r_w_joined", "nothing"), ("igniter:open", None), ("power_supply:switched_off", None),  # nothing ran there without a call
        ("control_board:cool_relay_will_not_open", "blower"), ("control_board:heat_relay_will_not_open", "blower"),
        ("other_control:feeds_cool_tap", "blower"),  # its 120 V does not come by these wires
        ("control_board:inducer_relay_will_not_open", "inducer"),
    ],
)  # fmt: skip
def test_what_goes_on_with_the_thermostat_wires_off_is_not_the_thermostat(family: Family, fault: str, goes_on: str | None) -> None:
    assert comes_of(family, GOES_ON, fault) == goes_on


@pytest.mark.parametrize(
    ("fault", "word"), [("gas_valve:will_not_shut", "not_at_all"), ("igniter:open", None), ("filter:blocked", "within_2_seconds")]
)
def test_the_hose_pulled_from_the_switch_while_it_burns(family: Family, fault: str, word: str | None) -> None:
    """Draft lost opens the switch that feeds the valve; a valve that will not shut goes on; without a flame there is nothing to try."""
    assert comes_of(family, HOSE, fault) == word


def test_only_a_board_that_makes_flame_up_reports_one_with_the_rod_off(family: Family) -> None:
    yes = [f for f in ("control_board:false_flame", "flame_rod:filmed", "control_board:flame_circuit_dead") if comes_of(family, ROD_OFF, f) == "yes"]
    assert yes == ["control_board:false_flame"]


def test_an_experiment_leaves_the_furnaces_as_they_are(family: Family) -> None:
    furnaces = usual(family, "gas_valve:coil_shorted")
    forced, numbers = furnaces.forced.copy(), {name: values.copy() for name, values in furnaces.quantities.items()}
    for experiment in family.knowledge.experiment.values():
        if isinstance(experiment.shows, Trial):
            tried(experiment.shows, furnaces, np.array([True]))

    assert (furnaces.forced == forced).all()
    assert all((furnaces.quantities[name] == values).all() for name, values in numbers.items())


def test_volts_with_a_lead_off_are_those_of_the_network_without_it(family: Family) -> None:
    """By Woodbury or eliminated anew: the same network has the same voltages."""
    furnaces, _, _ = furnaces_of(family, sites=2, seed=5)
    rows = np.arange(furnaces.rows)
    o = Operation(furnaces)
    o.run()
    o.call(family.sequence.heat_call.closes)
    o.run()
    for node in family.output_pins:
        points = [p for p in family.points if p.leads is not None and node in p.leads]
        bare = Operation(altered(furnaces, family.taken_off[node]))
        bare.moved, bare.hot, bare.slip, bare.blown = o.moved, o.hot, o.slip, o.blown
        anew, reckoned = volts_of(bare, points, solved(bare, rows)), volts_with_open(o, points, solved(o, rows), family.taken_off[node])
        for point in points:
            for meter, volts in anew[point.point].items():
                assert reckoned[point.point][meter] == pytest.approx(volts, rel=1e-4, abs=1e-3), (node, point.point, meter)


def test_a_lead_off_tells_a_live_terminal_from_one_that_its_motor_feeds(population: Population) -> None:
    """On a cooling call the idle heat tap of a running motor is live, as a tap of an autotransformer is; with its lead off the terminal is dead,
    unless the relay is welded (Kirchhoff)."""
    key, welded = ("heat_terminal_to_neutral", "cooling_call", "low"), Fault("control_board", "heat_relay_will_not_open")
    column = population.columns.get(key, population.columns[(*key[:2], "high")])
    off = (f"{key[0]}@lead_off", "cooling_call", "low")
    lifted = population.changed[population.changed_columns.get(off, population.changed_columns.get((*off[:2], "high"), -1))]
    healthy, stuck = population.fault_of < 0, population.fault_of == population.faults.index(welded)

    assert (population.table[column][healthy] > 50).all()
    assert (lifted[healthy] < 10).all()
    assert (lifted[stuck] > 100).all()


def test_with_the_thermostat_wires_off_only_the_wire_on_the_board_calls(population: Population) -> None:
    """A thermostat whose contact is stuck has nothing to say any more; R joined to W puts R on W."""
    stuck = population.fault_of == population.faults.index(Fault("thermostat", "heat_contact_stuck"))
    at_rest, joined = (
        population.changed[population.changed_columns[("w_to_c_at_board@thermostat_wires_off", step, "high")]][stuck] for step in ("standby", "call")
    )
    assert (at_rest < 2).all()
    assert (joined > 20.4).all()  # 24 V from 20.4 V on, ANSI Z21.20, from memory


@pytest.mark.parametrize(
    ("faults", "options", "word"),
    [
        ((), {}, "burners_off_blower_on"),  # a maker's start-up and safety-check pages, name withheld
        (("safety_bypass:across_limit",), {}, "burners_go_on"),  # a joined limit opens nothing
        (("control_board:heat_relay_will_not_close",), {}, "blower_stops"),  # no air: the limit acts, and nothing cools it
        ((), {"chain_open_runs": "nothing"}, "blower_stops"),  # such a control runs nothing while its string is open
        (("igniter:open",), {}, None),  # nothing burns there
    ],
)
def test_a_blocked_return_is_answered_by_the_limit(family: Family, faults: tuple[str, ...], options: dict[str, str], word: str | None) -> None:
    trial = family.knowledge.sign["limit_on_blocked_return"].shows
    assert isinstance(trial, Trial)

    assert tried(trial, *found(family, faults, tuple(options.items())))[0] == word
