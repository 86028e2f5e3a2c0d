"""What each failure of supply, wires, plugs, controls and board must do in the virtual furnace.

Expected from the circuit or from the sequence, not from the program: no current, no drop (Ohm); what one lead loses
the other side of the break holds (Kirchhoff); the control does next what its step's conditions say. A reading is
live or dead by common practice (no source): within 3 V of 120 or dead below 10 V; 24 V from 20.4 V (ANSI Z21.20,
from memory) or dead below 2 V; a good joint drops under 0.5 V (a maker's page, name withheld).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest
from numpy.typing import NDArray

from furnace_diag.furnace.family import Family, Fault, usual_site
from furnace_diag.furnace.observe import holds, reading
from furnace_diag.furnace.operate import Operation
from furnace_diag.furnace.population import Population
from furnace_diag.furnace.virtual import VirtualFurnaces, metered
from furnace_diag.knowledge.models import Knowledge, State

ROW = np.array([0])
HEAT, FAN, COOL = ("call_w",), ("call_g",), ("call_y", "call_g")


def furnace(family: Family, *faults: str, severity: float | None = None, **options: str) -> Operation:
    """The usual furnace with failures, powered and at rest; *severity*: how far between its bounds each is, 0 to 1, drawn where None."""
    numbers, choices = usual_site(family.furnace, options)
    hidden = [Fault(*f.split(":")) for f in faults]
    severities = {} if severity is None else dict.fromkeys(hidden, severity)
    o = Operation(VirtualFurnaces(family, numbers, choices, [(slice(0, 1), f) for f in hidden], severity=severities))
    o.run()
    return o


def called(family: Family, calls: Sequence[str], *faults: str, **options: str) -> Operation:
    """The same after a call has come to rest."""
    o = furnace(family, *faults, **options)
    for call in calls:
        o.moved[call][:] = True
    o.run()
    return o


def rests(o: Operation) -> str:
    return o.family.sequence.steps[int(o.rested_in[0])].step


def volts(o: Operation, first: str, second: str, meter: str = "low") -> float:
    """What a meter reads; only the low-impedance mode can call a lead dead."""
    factored, _ = o.factored(ROW)
    return float(abs(metered(o.family.network, factored, o.volts, (first, second), meter)[0]))


def volts_in(family: Family, fault: str, step: str, first: str, second: str, meter: str = "low", severity: float | None = None) -> float:
    """Volts as a step of a heat call ends, the last time it is met; fails if it never is."""
    o, seen = furnace(family, fault, severity=severity), []
    o.moved["call_w"][:] = True
    o.run(lambda name, _rows: seen.append(volts(o, first, second, meter)) if name == step else None)
    return seen[-1]


def ohms(o: Operation, reads: str) -> float:
    return float(reading(o, f"ohms:{reads}", ROW)[0])


# --- where a heat call stops ------------------------------------------------------------------


@pytest.mark.parametrize(
    ("fault", "step"),
    [
        # no current in the igniter, no glow: every trial fails
        ("igniter_harness:neutral_open", "lockout"),
        ("igniter_harness:resistive", "lockout"),
        ("board_plug:igniter_contact_open", "lockout"),
        # no gas: every trial fails
        ("gas_harness:common_open", "lockout"),
        # the inducer cannot turn, or the switch's voltage does not come back: the wait for draft runs out
        ("inducer_harness:neutral_open", "draft_fault"),
        ("inducer_harness:resistive", "draft_fault"),
        ("control_board:inducer_joint_burnt", "draft_fault"),
        ("control_board:pressure_input_dead", "draft_fault"),
        ("board_plug:inducer_contact_resistive", "draft_fault"),
        ("board_plug:pressure_contact_open", "draft_fault"),
        ("board_plug:neutral_contact_open", "draft_fault"),
        ("wiring_harness:pressure_wire_open", "draft_fault"),
        # the control takes the pressure switch for closed before the inducer, and waits
        ("control_board:pressure_input_stuck", "call"),
        ("control_board:inducer_relay_will_not_open", "call"),
        ("safety_bypass:across_pressure_switch", "call"),
        # no blower on the heat speed: the limit trips
        ("control_board:heat_joint_burnt", "chain_open"),
        ("board_plug:heat_contact_open", "chain_open"),
        ("board_plug:heat_contact_resistive", "chain_open"),
        ("blower_motor:auxiliary_open", "chain_open"),
        # what the control believes of the string and of the flame
        ("control_board:chain_input_dead", "chain_open"),
        ("control_board:false_flame", "flame_without_call"),
        # lit and not seen
        ("board_plug:flame_contact_open", "lockout"),
        ("power_supply:no_neutral_bond", "lockout"),
        # no line or no 24 V at the board
        ("board_plug:line_contact_open", "power_off"),
        ("board_plug:supply_neutral_contact_open", "power_off"),
        ("board_plug:secondary_contact_open", "power_off"),
        ("board_plug:common_contact_open", "power_off"),
        ("wiring_harness:neutral_open", "power_off"),
        ("wiring_harness:common_open", "power_off"),
        ("low_voltage_fuse:too_large", "power_off"),
        # the call goes to another terminal
        ("thermostat_cable:w_and_g_swapped", "fan_call"),
        ("thermostat_cable:w_and_y_swapped", "standby"),
        # no part in a heat call, or none that stops it
        ("thermostat:leaks_through_w", "heating"),
        ("thermostat_cable:g_shorted", "heating"),
        ("blower_motor:cool_tap_open", "heating"),
        ("blower_motor:low_tap_open", "heating"),
        ("blower_wiring:cool_lead_parked", "heating"),
        ("control_board:g_input_dead", "heating"),
        ("control_board:y_input_dead", "heating"),
        ("control_board:eac_relay_will_not_close", "heating"),
        ("control_board:hum_relay_will_not_close", "heating"),
    ],
)
def test_where_a_heat_call_stops(family: Family, fault: str, step: str) -> None:
    assert rests(called(family, HEAT, fault)) == step


@pytest.mark.parametrize("fault", ["board_plug:flame_contact_open", "power_supply:no_neutral_bond"])
def test_it_lights_before_it_locks_out(family: Family, fault: str) -> None:
    assert called(family, HEAT, fault).ever_lit[0]


@pytest.mark.parametrize(
    ("power", "lit"),
    [("batteries", False), ("wires", True)],  # fed by its wires, a display needs no cells
)
def test_flat_batteries_lose_the_call_and_blank_the_display_that_lives_on_them(family: Family, power: str, lit: bool) -> None:
    o = called(family, HEAT, "thermostat:batteries_dead", thermostat_power=power)
    display = family.knowledge.sign["thermostat_display"].shows
    assert isinstance(display, State)

    assert rests(o) == "standby"
    assert holds(o, display)[0] == lit


def test_cells_light_the_display_without_24_v_and_wires_do_not(family: Family) -> None:
    display = family.knowledge.sign["thermostat_display"].shows
    assert isinstance(display, State)

    assert holds(called(family, HEAT, "low_voltage_fuse:blown", thermostat_power="batteries"), display)[0]
    assert not holds(called(family, HEAT, "low_voltage_fuse:blown", thermostat_power="wires"), display)[0]


@pytest.mark.parametrize("fault", ["control_board:heat_joint_poor", "control_board:blower_joint_poor"])
def test_a_joint_that_is_burning_drops_part_of_the_line(population: Population, fault: str) -> None:
    """5 to 60 V lost where the motor turns, common practice: more than a good joint drops. Nowhere the whole line, as across one that is burnt through."""
    rows = population.fault_of == [str(f) for f in population.faults].index(fault)
    drop = population.table[population.columns[("across_heat_output", "heating", "high")]][rows].astype(float)

    assert np.mean((drop > 5) & (drop < 60)) > 0.3
    assert drop.max() < 102  # 85 percent of 120 V


# --- shorts -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("fault", "path"),
    [
        ("power_supply:breaker_worn", None),  # there is no short behind it
        ("wiring_harness:line_chafed", "line_wire_to_chassis"),
        ("blower_motor:grounded", "blower_winding_to_chassis"),
        ("inducer:grounded", "inducer_winding_to_chassis"),
        ("inducer_harness:chafed", "inducer_wire_to_chassis"),
        ("igniter:grounded", "igniter_to_chassis"),
        ("igniter:shorted", "igniter_element"),
    ],
)
def test_a_tripped_breaker_leaves_the_furnace_dead_and_the_short_to_be_found(family: Family, fault: str, path: str | None) -> None:
    """120 V over 5 ohm is 24 A: more than a breaker of 15 A carries for long."""
    o = called(family, HEAT, fault)

    assert rests(o) == "power_off"
    assert volts(o, "panel_hot", "service_neutral") < 10
    assert path is None or ohms(o, path) <= 120 / 15


@pytest.mark.parametrize(
    ("fault", "calls"),
    [
        ("wiring_harness:low_voltage_chafed", ()),
        ("thermostat_cable:w_shorted", HEAT),
        ("gas_harness:chafed", HEAT),
        ("other_control:humidifier_shorted", HEAT),
        ("thermostat_cable:g_shorted", FAN),
    ],
)
def test_a_24_v_short_blows_the_fuse_on_its_own_call(family: Family, fault: str, calls: tuple[str, ...]) -> None:
    """A short draws current only once voltage is put on it (Ohm)."""
    assert called(family, calls, fault).blown[0]
    assert not called(family, FAN if calls == HEAT else (), fault).blown[0] or not calls


def test_a_fuse_too_large_holds_and_the_short_drags_24_v_down(family: Family) -> None:
    """R to C 5 to 18 V where a short drags the transformer down: common practice, no source."""
    o = furnace(family, "low_voltage_fuse:too_large")

    assert not o.blown[0]
    assert 5 < volts(o, "board_r", "board_common") < 18


# --- the supply -------------------------------------------------------------------------------


@pytest.mark.parametrize(("severity", "share"), [(0.0, 120 / 208), (1.0, 120 / 240)])
def test_on_the_tap_of_a_higher_line_a_transformer_gives_the_share_of_its_turns(family: Family, severity: float, share: float) -> None:
    """Volts go as the turns of the windings (Faraday's law), so a primary with turns for 240 or 208 V gives 120/240 or 120/208 of what it should."""
    good, wrong = (furnace(family, *f, severity=severity) for f in ((), ("transformer:wrong_tap",)))
    at_rest = [volts(o, "secondary_hot", "secondary_common") for o in (good, wrong)]

    assert at_rest[1] / at_rest[0] == pytest.approx(share, rel=0.02)
    assert share > 0.5 or rests(wrong) == "power_off"  # 12 to 14 V runs no control and pulls in no coil; they give up at 16 to 18 V, common practice, no source


@pytest.mark.parametrize(
    ("fault", "first", "second"),
    [
        ("power_supply:hot_joint_burnt", "switch_out", "furnace_hot"),
        ("power_supply:switch_burnt", "panel_hot", "switch_out"),
        ("door_switch:resistive", "furnace_hot", "door_out"),
        ("igniter_harness:neutral_poor", "igniter_neutral", "shared_neutral"),
        ("board_plug:line_contact_resistive", "line_wire", "board_line"),
        ("board_plug:neutral_contact_resistive", "board_neutral", "shared_neutral"),
        ("board_plug:igniter_contact_resistive", "igniter_pin", "igniter_wire"),
    ],
)
def test_a_burnt_joint_drops_volts_under_the_igniter(family: Family, fault: str, first: str, second: str) -> None:
    """2 ohm and an igniter of 90 ohm on 117 V: 2.5 V at the least (Ohm). Each as mild as it may be: a worse joint never gets to the igniter."""
    assert volts_in(family, fault, "igniter_warm_up", first, second, severity=0.0) > 2.5
    assert volts_in(family, "thermostat_cable:c_open", "igniter_warm_up", first, second) < 0.5  # a joint that is good


@pytest.mark.parametrize("fault", ["power_supply:loose_neutral", "power_supply:hot_joint_burnt"])
def test_a_loose_joint_reads_well_at_rest_and_loses_the_line_to_the_inducer(family: Family, fault: str) -> None:
    """150 ohm beside a motor of some 100: less than half of 120 V is left to it (Ohm), while next to nothing flows at rest."""
    ends = ("board_line", "board_neutral")

    assert volts_in(family, fault, "inducer_start", *ends, severity=1.0) < 60
    assert volts_in(family, fault, "standby", *ends, severity=1.0) > 100


def test_another_loads_current_lifts_the_neutral_until_it_is_unplugged(family: Family) -> None:
    """Ohm: 0.56 to 1.56 ohm of neutral in series with 8 to 20 ohm of load on 117 to 124 V."""
    o = furnace(family, "power_supply:foreign_neutral_current")
    lifted = volts(o, "board_neutral", "chassis")
    o.furnaces.forced[family.number["foreign_load"]] = -1
    o.settle(ROW)

    assert 117 * 0.56 / 20.56 < lifted < 124 * 1.56 / 9.56
    assert lifted > 3
    assert volts(o, "board_neutral", "chassis") < 0.5


def test_without_a_neutral_bond_each_side_floats_at_40_to_80_v(family: Family) -> None:
    """40 to 80 V from each side to the cabinet: common practice, no source; the two add up to the line (Kirchhoff)."""
    o = furnace(family, "power_supply:no_neutral_bond")
    hot, neutral = volts(o, "board_line", "chassis", "high"), volts(o, "board_neutral", "chassis", "high")

    assert 38 < hot < 82
    assert 38 < neutral < 82
    assert hot + neutral == pytest.approx(volts(o, "board_line", "board_neutral"), rel=0.03)  # the meter loads each


# --- plugs: live on one side, dead on the other -------------------------------------------------


@pytest.mark.parametrize(
    ("fault", "step", "live", "dead"),
    [
        ("board_plug:igniter_contact_open", "igniter_warm_up", ("igniter_pin", "board_neutral"), ("igniter_wire", "board_neutral")),
        ("board_plug:heat_contact_open", "heating", ("heat_terminal", "board_neutral"), ("heat_spade", "board_neutral")),
        ("board_plug:line_contact_open", "power_off", ("line_wire", "board_neutral"), ("board_line", "board_neutral")),
        ("igniter_harness:neutral_open", "igniter_warm_up", ("igniter_neutral", "chassis"), ("igniter_hot", "igniter_neutral")),
        ("inducer_harness:neutral_open", "inducer_start", ("inducer_neutral", "chassis"), ("inducer_hot", "inducer_neutral")),
        # the neutral that the loads share: the HEAT terminal is live through the inducer's winding, and the inducer has nothing
        ("board_plug:neutral_contact_open", "inducer_start", ("heat_terminal", "chassis"), ("inducer_hot", "inducer_neutral")),
        ("board_plug:neutral_contact_open", "inducer_start", ("shared_neutral", "board_neutral"), ("board_neutral", "chassis")),
        # the supply's own neutral: every neutral post is live through the transformer's primary
        ("board_plug:supply_neutral_contact_open", "power_off", ("board_neutral", "chassis"), ("board_line", "board_neutral")),
        ("wiring_harness:neutral_open", "power_off", ("neutral_wire", "chassis"), ("board_line", "board_neutral")),
        ("power_supply:neutral_open", "power_off", ("furnace_neutral", "chassis"), ("furnace_hot", "furnace_neutral")),
    ],
)
def test_120_v_is_live_on_one_side_and_dead_on_the_other(
    family: Family, fault: str, step: str, live: tuple[str, str], dead: tuple[str, str]
) -> None:
    """A winding that feeds a lead lets the low-impedance mode pull it down a little, a ghost to nothing."""
    assert volts_in(family, fault, step, *live, meter="high") > 105
    assert volts_in(family, fault, step, *live) > 50
    assert volts_in(family, fault, step, *dead) < 10


@pytest.mark.parametrize(
    ("fault", "step", "live", "dead"),
    [
        ("board_plug:pressure_contact_open", "inducer_start", ("pressure_return_crimp", "board_common"), ("board_pressure", "board_common")),
        ("board_plug:secondary_contact_open", "power_off", ("secondary_wire", "board_common"), ("board_secondary", "board_common")),
        ("board_plug:common_contact_open", "power_off", ("secondary_hot", "secondary_common"), ("board_r", "board_common")),
        ("wiring_harness:common_open", "power_off", ("secondary_hot", "secondary_common"), ("board_r", "board_common")),
        ("gas_harness:common_open", "ignition_trial", ("valve_common", "board_common"), ("valve_hot", "valve_common")),
        ("wiring_harness:pressure_wire_open", "inducer_start", ("board_chain", "board_common"), ("pressure_in", "board_common")),
        ("thermostat_cable:w_and_y_swapped", "standby", ("contactor_hot", "board_common"), ("board_w", "board_common")),
    ],
)
def test_24_v_is_live_on_one_side_and_dead_on_the_other(
    family: Family, fault: str, step: str, live: tuple[str, str], dead: tuple[str, str]
) -> None:
    assert volts_in(family, fault, step, *live) > 20.4
    assert volts_in(family, fault, step, *dead) < 2


@pytest.mark.parametrize(
    ("fault", "first", "second"),
    [
        ("board_plug:limit_contact_resistive", "rollout_out", "board_chain"),
        ("board_plug:pressure_contact_resistive", "pressure_return_crimp", "board_pressure"),
        ("board_plug:gas_contact_resistive", "gas_pin", "gas_wire"),
        ("board_plug:secondary_contact_resistive", "secondary_wire", "board_secondary"),
        ("board_plug:common_contact_resistive", "common_wire", "board_common"),
        ("low_voltage_fuse:clip_burnt", "board_secondary", "fuse_blade"),
        ("gas_harness:resistive", "gas_wire", "valve_hot"),
        ("pressure_switch:resistive", "pressure_in", "pressure_out"),
        ("control_board:gas_joint_poor", "board_pressure", "gas_pin"),
    ],
)
def test_a_poor_contact_takes_its_volts_from_the_gas_valve(family: Family, fault: str, first: str, second: str) -> None:
    """15 ohm and a coil of 60 + 30j ohm on 24 V: 4.4 V at the least (Ohm); over 2 V of 24 is a proved poor joint, common practice."""
    assert volts_in(family, fault, "ignition_trial", first, second) > 4.4
    assert volts_in(family, "thermostat_cable:c_open", "ignition_trial", first, second) < 0.5


def test_a_poor_wire_keeps_the_valve_shut_where_it_leaves_less_than_it_pulls_in_at(family: Family) -> None:
    """The valve has its share of 24 V by Ohm's law: coil over coil and joint, both as drawn; it opens above its pull-in volts."""
    o = called(family, HEAT, "gas_harness:resistive")
    wire, coil = family.number["gas_harness_wire"], family.number["valve_coil"]
    f = o.furnaces
    own = abs(complex(f.ohms[coil][0], f.reactance[coil][0]))
    share = own / abs(complex(f.ohms[coil][0] + f.ohms[wire][0], f.reactance[coil][0]))
    fed = volts_in(family, "gas_harness:resistive", "ignition_trial", "gas_pin", "valve_common")

    opens = fed * share > f.quantities["valve_pull_in_volts"][0]
    assert bool(o.rested_in[0] == family.steps["heating"]) == bool(opens)
    assert bool(o.rested_in[0] == family.steps["lockout"]) != bool(opens)


def test_a_flame_contact_lost_leaves_rod_and_wire_good(family: Family) -> None:
    o = called(family, HEAT, "board_plug:flame_contact_open")

    assert reading(o, "number:rod_wire_ohms", ROW)[0] < 1
    assert reading(o, "number:rod_ohms_to_case", ROW)[0] == np.inf


# --- thermostat and other controls ------------------------------------------------------------


@pytest.mark.parametrize(
    ("fault", "step"),
    [
        ("thermostat:heat_contact_stuck", "heating"),
        ("thermostat:fan_contact_stuck", "fan_call"),
        ("other_control:feeds_w", "heating"),
        ("thermostat_cable:r_w_joined", "heating"),
        ("thermostat_cable:r_g_joined", "fan_call"),
        ("control_board:false_flame", "flame_without_call"),
    ],
)
def test_it_runs_with_nothing_called(family: Family, fault: str, step: str) -> None:
    assert rests(furnace(family, fault)) == step


def test_a_thermostat_that_leaks_leaves_volts_on_w(family: Family) -> None:
    """2 to 15 V without a call: common practice, no source. With the call the contact is across the leak."""
    assert 2 <= volts(furnace(family, "thermostat:leaks_through_w"), "board_w", "board_common", "high") <= 15
    assert volts(called(family, HEAT, "thermostat:leaks_through_w"), "board_w", "board_common") > 20.4


def test_swapped_w_and_g_answer_for_one_another(family: Family) -> None:
    fault = "thermostat_cable:w_and_g_swapped"

    assert not called(family, HEAT, fault).inducer_running()[0]
    assert rests(called(family, FAN, fault)) == "heating"


def test_an_open_float_switch_takes_r_from_the_thermostat_where_one_is_fitted(family: Family) -> None:
    fitted = called(family, HEAT, "float_switch:open", float_switch_in_r="yes")
    without = called(family, HEAT, "float_switch:open", float_switch_in_r="no")

    assert rests(fitted) == "standby"
    assert volts(fitted, "board_r", "board_common") > 20.4
    assert volts(fitted, "r_wire", "r_field") > 20.4
    assert volts(fitted, "thermostat_r", "thermostat_c") < 2
    assert rests(without) == "heating"


def test_a_tap_fed_by_another_control_is_live_with_its_lead_lifted(family: Family) -> None:
    o = furnace(family, "other_control:feeds_cool_tap")
    running = bool(o.blower_running()[0])
    o.furnaces.forced[family.number["cool_lead"]] = -1
    o.settle(ROW)

    assert running
    assert volts(o, "cool_lead_end", "board_neutral") > 105
    assert volts(o, "cool_terminal", "board_neutral") < 10


# --- safeties bridged -------------------------------------------------------------------------


@pytest.mark.parametrize("strings", ["one", "two"])
@pytest.mark.parametrize(
    ("bypass", "opened"), [("safety_bypass:across_limit", "limit_switch:will_not_close"), ("safety_bypass:across_rollout", "rollout_switch:tripped")]
)
def test_a_bridged_safety_no_longer_stops_the_burners(family: Family, bypass: str, opened: str, strings: str) -> None:
    assert rests(called(family, HEAT, opened, safety_strings=strings)) == "chain_open"
    assert rests(called(family, HEAT, opened, bypass, safety_strings=strings)) == "heating"


def test_a_chain_input_that_is_stuck_lets_the_control_go_on(family: Family) -> None:
    """It does not come to rest in the step that an open string leads to; the gas still has no feed through the string."""
    o = called(family, HEAT, "control_board:chain_input_stuck", "limit_switch:will_not_close")

    assert rests(o) != "chain_open"
    assert not o.ever_lit[0]


# --- the board's outputs ----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("fault", "calls", "first"),
    [
        ("control_board:inducer_relay_will_not_open", (), "inducer_pin"),
        ("control_board:igniter_relay_will_not_open", (), "igniter_pin"),
        ("control_board:fan_relay_will_not_open", (), "fan_terminal"),
        ("control_board:two_taps_live", HEAT, "heat_terminal"),
        ("control_board:two_taps_live", HEAT, "cool_terminal"),
        ("blower_wiring:two_leads_joined", HEAT, "cool_terminal"),
    ],
)
def test_an_output_is_live_that_should_be_dead(family: Family, fault: str, calls: tuple[str, ...], first: str) -> None:
    """A closed contact drops next to nothing: the output is within 3 V of the line."""
    o = called(family, calls, fault)

    assert volts(o, "board_line", first) < 3
    assert volts(o, first, "board_neutral") > 105


@pytest.mark.parametrize(("fault", "by_board"), [("control_board:two_taps_live", True), ("blower_wiring:two_leads_joined", False)])
def test_lifted_leads_tell_two_live_outputs_from_two_joined_leads(family: Family, fault: str, by_board: bool) -> None:
    o = called(family, HEAT, fault)
    for lead in ("heat_lead", "cool_lead", "fan_lead"):
        o.furnaces.forced[family.number[lead]] = -1
    o.settle(ROW)

    assert volts(o, "heat_terminal", "board_neutral") > 105
    assert (volts(o, "cool_terminal", "board_neutral") > 105) == by_board


def test_a_welded_gas_relay_shows_as_soon_as_the_pressure_switch_closes(family: Family) -> None:
    fault = "control_board:gas_relay_will_not_open"

    assert volts(furnace(family, fault), "valve_hot", "valve_common") < 2
    assert volts_in(family, fault, "pre_purge", "valve_hot", "valve_common") > 20.4


@pytest.mark.parametrize(
    ("fault", "step", "burns"),
    [
        ("control_board:gas_relay_will_not_open", "flame_without_call", True),
        ("gas_valve:will_not_shut", "flame_without_call", True),
        ("control_board:heat_relay_will_not_open", "standby", False),
    ],
)
def test_what_keeps_the_gas_on_burns_on_once_the_call_is_over(family: Family, fault: str, step: str, *, burns: bool) -> None:
    """The control sees flame that nobody asked for and keeps the inducer on, which keeps the pressure switch closed: common practice, no source."""
    o = called(family, HEAT, fault)
    o.open(HEAT)
    o.run()

    assert rests(o) == step
    assert bool(o.flame[0]) is burns


@pytest.mark.parametrize(
    ("fault", "dead"),
    [
        ("control_board:eac_relay_will_not_close", ("eac_terminal", "board_neutral")),
        ("control_board:hum_relay_will_not_close", ("hum_terminal", "board_common")),
    ],
)
def test_an_accessory_output_stays_dead_while_the_blower_runs(family: Family, fault: str, dead: tuple[str, str]) -> None:
    o = called(family, HEAT, fault)

    assert o.blower_running()[0]
    assert volts(o, *dead) < 2


def test_a_burnt_heat_joint_spares_the_cooling_speed(family: Family) -> None:
    heat, cool = (called(family, calls, "control_board:heat_joint_burnt") for calls in (HEAT, COOL))
    both = called(family, COOL, "control_board:blower_joint_burnt")

    assert not heat.blower_running()[0]
    assert volts_in(family, "control_board:heat_joint_burnt", "heating", "board_line", "heat_terminal") > 5
    assert cool.blower_running()[0]
    assert not both.blower_running()[0]


def test_a_burnt_inducer_joint_starves_the_inducer(family: Family) -> None:
    """Under load a proved burnt joint drops over 5 V: common practice, no source."""
    assert volts_in(family, "control_board:inducer_joint_burnt", "inducer_start", "board_line", "inducer_pin") > 5


@pytest.mark.parametrize(
    ("fault", "calls", "step"),
    [
        ("control_board:g_input_dead", FAN, "standby"),
        ("control_board:g_input_dead", COOL, "standby"),  # on this control Y needs G beside it
        ("control_board:y_input_dead", COOL, "fan_call"),  # it sees G alone
        ("control_board:y_input_dead", FAN, "fan_call"),
    ],
)
def test_a_dead_input_hides_its_own_call_only(family: Family, fault: str, calls: tuple[str, ...], step: str) -> None:
    assert rests(called(family, calls, fault)) == step


def test_a_stuck_pressure_input_is_told_by_the_dead_return_pin(family: Family) -> None:
    o = called(family, HEAT, "control_board:pressure_input_stuck")

    assert volts(o, "board_pressure", "board_common") < 2


# --- the blower -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("fault", "calls", "option", "path"),
    [
        ("blower_motor:cool_tap_open", COOL, "heat", "blower_overload+blower_main+cool_tap"),
        ("blower_wiring:cool_lead_parked", COOL, "heat", "cool_lead"),
        ("blower_motor:low_tap_open", FAN, "fan", "blower_low_turns+low_tap"),
    ],
)
def test_one_speed_is_lost_and_the_others_are_not(family: Family, fault: str, calls: tuple[str, ...], option: str, path: str) -> None:
    o = called(family, calls, fault, fan_call_tap=option)

    assert not o.blower_running()[0]
    assert called(family, HEAT, fault).blower_running()[0]
    assert ohms(o, path) == np.inf


def test_an_open_start_winding_hums_and_runs_when_spun(family: Family) -> None:
    """Lessons in instrumentation, single-phase motors: without its auxiliary winding it only runs when pushed."""
    o = called(family, FAN, "blower_motor:auxiliary_open")

    assert o.blower_energised()[0]
    assert not o.blower_running()[0]
    assert o.blower_running(spun=True)[0]
    assert ohms(o, "blower_auxiliary") == np.inf


def test_a_burnt_spade_is_live_at_the_board_and_weak_behind(family: Family) -> None:
    """The board's terminal stays within 3 V of the line; over 5 V behind it is a proved poor joint, common practice."""
    fault = "board_plug:heat_contact_resistive"

    assert volts_in(family, fault, "heating", "board_line", "heat_terminal") < 3
    assert volts_in(family, fault, "heating", "heat_terminal", "heat_spade") > 5


# --- every one of them ------------------------------------------------------------------------


def moved(ill: NDArray[np.float16], well: NDArray[np.float16]) -> bool:
    """Whether any reading or word differs on any furnace by more than a half (volt, ohm, word) and a twentieth."""
    a, b = (np.nan_to_num(x.astype(float), nan=-99.0, posinf=1e6) for x in (ill, well))
    return bool((np.abs(a - b) > 0.5 + 0.05 * np.abs(b)).any())


def test_every_failure_shows_in_a_reading_or_is_named_by_a_sign(family: Family, population: Population, knowledge: Knowledge) -> None:
    """A failure that neither changes what is read nor goes with a sign could never be told from health."""
    well = population.table[:, population.fault_of == -1]
    named = {(g.part, g.failure) for sign in knowledge.sign.values() for g in sign.goes_with}
    silent = [f for i, f in enumerate(family.faults) if not moved(population.table[:, population.fault_of == i], well)]

    assert [str(f) for f in silent if not {(f.part, f.failure), (f.part, None)} & named] == []
