"""What old, badly kept and badly worked-on furnaces do in the virtual furnace. Expected from the circuit or the air, not from the program.

Ohm and Kirchhoff as in test_failures.py. The fan: at one system its pressure goes as the square of its flow (fan laws, ASHRAE Handbook HVAC Systems and
Equipment, from memory), and the rise goes as one over the flow (rise = output / (1.08 x cfm)).
"""

from __future__ import annotations

import numpy as np
import pytest

from furnace_diag.furnace.family import Family, Fault
from furnace_diag.furnace.observe import reading
from furnace_diag.furnace.operate import Operation
from furnace_diag.furnace.population import Population
from tests.furnace.test_failures import COOL, FAN, HEAT, ROW, called, furnace, ohms, rests, volts, volts_in

POSTS, CONTACT = ("board_neutral", "load_posts"), ("load_posts", "shared_neutral")


def read(o: Operation, what: str) -> float:
    return float(reading(o, what, ROW)[0])


@pytest.mark.parametrize(
    ("fault", "loses", "spares"),
    [("control_board:neutral_joint_open", POSTS, CONTACT), ("board_plug:neutral_contact_open", CONTACT, POSTS)],
)
def test_a_lost_neutral_of_the_loads_stands_across_where_it_is_lost(family: Family, fault: str, loses: tuple[str, str], spares: tuple[str, str]) -> None:
    """The line stands across the break while a load is fed, next to nothing across the good half, and the pin is live with nothing at the motor."""
    assert volts_in(family, fault, "inducer_start", *loses) > 105
    assert volts_in(family, fault, "inducer_start", *spares) < 0.5
    assert volts_in(family, fault, "inducer_start", "inducer_pin", "board_neutral") > 105
    assert volts_in(family, fault, "inducer_start", "inducer_hot", "inducer_neutral") < 10
    assert rests(called(family, HEAT, fault)) == rests(called(family, HEAT, "inducer:winding_open"))


@pytest.mark.parametrize(
    ("fault", "first", "second"),
    [("control_board:neutral_joint_poor", *POSTS), ("board_plug:supply_neutral_contact_resistive", "neutral_wire", "board_neutral")],
)
def test_a_poor_neutral_drops_volts_under_the_igniter(family: Family, fault: str, first: str, second: str) -> None:
    """1 ohm at the least and an igniter of 90 ohm on 117 V: 1.2 V (Ohm); a good joint under 0.5 V."""
    assert volts_in(family, fault, "igniter_warm_up", first, second, severity=0.0) > 1.2
    assert volts_in(family, "thermostat_cable:c_open", "igniter_warm_up", first, second) < 0.5


@pytest.mark.parametrize("severity", [0.0, 0.5, 1.0])
def test_a_green_splice_in_w_shares_the_24_volts_with_the_input(family: Family, severity: float) -> None:
    """Two resistances in series: the input keeps its own share."""
    o = furnace(family, "thermostat_cable:w_poor", severity=severity)
    o.moved["call_w"][:] = True
    o.settle(ROW)
    w_input = next(float(e.ohms) for e in family.elements if e.element == "w_input")
    splice = ohms(o, "w_conductor")
    whole, left = volts(o, "thermostat_w", "board_common", meter="high"), volts(o, "board_w", "board_common", meter="high")

    assert 150 < splice < 6001
    assert left == pytest.approx(whole * w_input / (w_input + splice), rel=0.02)


def test_a_control_between_thermostat_and_furnace_keeps_the_call_to_itself(family: Family) -> None:
    """It is called for heat at the wall and W at the furnace is dead; R joined to W at the board starts it."""
    o = called(family, HEAT, "other_control:passes_no_call")
    assert volts(o, "thermostat_w", "board_common") > 20.4
    assert volts(o, "board_w", "board_common") < 2
    assert rests(called(family, ("r_w_joined_at_board",), "other_control:passes_no_call")) == rests(called(family, HEAT))


@pytest.mark.parametrize("fault", ["blower_wiring:spare_leads_joined", "blower_motor:turns_shorted"])
@pytest.mark.parametrize("call", [HEAT, COOL])
def test_shorted_turns_draw_too_much_turn_weakly_and_get_hot(family: Family, fault: str, call: tuple[str, ...]) -> None:
    """What a part of the winding would have to itself drives a current round in it, which the line feeds; what is shorted has next to no volts left."""
    whole, shorted = called(family, call), called(family, call, fault)
    assert read(shorted, "amps:blower_overload") > 1.3 * read(whole, "amps:blower_overload")
    assert shorted.over("blower_spare_turns")[0] < 0.5 * whole.over("blower_spare_turns")[0]
    assert shorted.airflow()[0] < whole.airflow()[0]
    assert shorted.q("blower_hot")[0] == 1


def test_spare_leads_that_are_apart_change_nothing(family: Family) -> None:
    """The low speed's turns are those of its three pieces, so the winding is what it was before they had names: 1.48 turns of main winding."""
    turns = {e.element: float(e.turns) for e in family.elements if e.core == "blower_motor" and e.turns is not None}
    assert sum(turns.values()) == pytest.approx(1 + 0.22 + 0.26)
    o = called(family, FAN, fan_call_tap="fan")
    assert volts(o, "winding_spare_low", "motor_neutral") < volts(o, "fan_terminal", "board_neutral")
    assert volts(o, "winding_cool", "motor_neutral") < volts(o, "winding_spare_high", "motor_neutral") < volts(o, "winding_spare_low", "motor_neutral")


@pytest.mark.parametrize("severity", [0.0, 1.0])
@pytest.mark.parametrize(("fault", "most"), [("blower_motor:turns_backwards", 0.7), ("blower_wheel:packed", 0.9)])
def test_a_wheel_that_throws_less_moves_little_air_with_a_free_motor(family: Family, fault: str, most: float, severity: float) -> None:
    def after_the_blower(*faults: str) -> tuple[float, float, float, float]:
        o, seen = furnace(family, *faults, severity=severity), []
        o.moved["call_w"][:] = True
        o.run(lambda step, _rows: seen.append((o.airflow()[0], o.static()[0], o.rise()[0], read(o, "amps:blower_overload"))) if step == "heating" else None)
        return next(s for s in seen if s[0] > 0)

    flow, static, rise, amps = (
        ill / well for ill, well in zip(after_the_blower(fault), after_the_blower("thermostat_cable:c_open"), strict=True)
    )
    assert 0.2 < flow < most
    assert static == pytest.approx(flow**2, rel=0.05)
    assert rise == pytest.approx(1 / flow, rel=0.05)
    assert amps < 1.05


@pytest.mark.parametrize("severity", [0.0, 1.0])
def test_a_rod_wire_on_metal_takes_the_current_and_reads_a_path(family: Family, severity: float) -> None:
    """Bare on bare metal, or on paint through soot and damp: over kilohms, where the flame is of megohms."""
    o, good = furnace(family, "flame_wire:chafed", severity=severity), furnace(family)
    assert read(o, "number:rod_wire_ohms_to_case") <= (10_000 if severity == 1.0 else 1_000_000) < read(good, "number:rod_wire_ohms_to_case")
    assert read(o, "number:rod_wire_ohms") <= 1
    assert volts_in(family, "flame_wire:chafed", "igniter_warm_up", "rod_pin", "chassis", meter="high") > 50  # its wire off, the pin is fed


@pytest.mark.parametrize("fault", ["house_air:fans_pull", "house_air:starved", "ducts:return_leaks", "vent:downdraft"])
def test_what_takes_the_draft_from_outside_leaves_vent_and_inducer_whole(family: Family, fault: str) -> None:
    """The inducer turns as fast and the vent is as open as before; of the draft that they make less is left, by the share that is taken."""

    def in_the_call(*faults: str) -> tuple[float, Operation]:
        o, seen = furnace(family, *faults, severity=0.5), []
        o.moved["call_w"][:] = True
        o.run(lambda step, _rows: seen.append(float(o.draft()[0])) if step == "inducer_start" else None)
        return seen[-1], o

    (whole, good), (taken, ill) = in_the_call(), in_the_call(fault)
    assert taken == pytest.approx(whole * ill.q("wind_leaves")[0], rel=0.05)
    assert taken < 0.8 * whole
    for untouched in ("vent_open", "inducer_speed", "hose"):
        assert ill.q(untouched)[0] == good.q(untouched)[0]


@pytest.mark.parametrize(
    ("fault", "ohms_of", "volts_of", "step", "share"),
    [
        ("door_switch:resistive", "door_switch_ohms", "across_door_switch", "igniter_warm_up", 0.5),
        ("igniter_harness:neutral_poor", "igniter_neutral_ohms", "igniter_neutral_to_chassis", "igniter_warm_up", 0.3),
    ],
)
def test_a_burnt_contact_may_read_good_without_its_load(
    family: Family, population: Population, fault: str, ohms_of: str, volts_of: str, step: str, share: float
) -> None:
    """The share is the rules'; what drops volts under its load does so on all of them, whatever the ohmmeter says (Ohm: more than a good joint's 0.5 V)."""
    its = population.fault_of == family.failures.index(fault)
    read = population.table[population.columns[ohms_of, "power_off", ""]][its]
    lost = population.table[next(n for (name, at, meter), n in population.columns.items() if (name, at) == (volts_of, step) and meter != "low")][its]
    assert np.mean(read < 1) == pytest.approx(share, abs=0.1)
    assert np.nanmin(np.abs(lost)) > 0.5


def test_a_board_that_shorts_r_to_c_blows_a_fuse_with_every_lead_off(family: Family) -> None:
    """0.4 ohm and less across 24 V: tens of amperes, whatever hangs on it, while no call is made (Ohm)."""
    o = furnace(family, "control_board:r_to_c_shorted", severity=1.0)
    o.run()
    assert o.blown[0]
    assert volts(o, "board_r", "board_common") < 0.5
    assert volts(o, "board_secondary", "board_common") > 20.4


@pytest.mark.parametrize("severity", [0.0, 0.5, 1.0])
def test_what_a_drip_leaves_feeds_w_by_its_share_of_the_24_volts(family: Family, severity: float) -> None:
    """Two resistances in series, from R to C over the board's own input, with the thermostat's wires on and with none."""
    o = furnace(family, "board_plug:r_bridged_to_w", severity=severity)
    o.settle(ROW)
    w_input = next(float(e.ohms) for e in family.elements if e.element == "w_input")
    crust, whole = ohms(o, "r_to_w_on_board"), volts(o, "board_r", "board_common", meter="high")

    assert volts(o, "board_w", "board_common", meter="high") == pytest.approx(whole * w_input / (w_input + crust), rel=0.02)
    assert rests(called(family, (), "board_plug:r_bridged_to_w", severity=severity)) == rests(called(family, HEAT))


def test_a_transformer_on_the_tap_for_twice_the_line_gives_half_and_has_more_ohms(family: Family) -> None:
    """Turns in series: half of what it should, and the ohms of at least 208/120 as many turns."""
    ill, good = furnace(family, "transformer:wrong_tap"), furnace(family)
    for o in (ill, good):
        o.settle(ROW)
    assert volts(ill, "board_r", "board_common") / volts(good, "board_r", "board_common") == pytest.approx((0.5 + 120 / 208) / 2, abs=0.06)
    assert ohms(ill, "primary") >= 208 / 120 * ohms(good, "primary") * 0.97


def test_behind_a_burnt_pressure_switch_the_input_keeps_its_share(family: Family) -> None:
    """Two resistances in series."""
    o, seen = furnace(family, "pressure_switch:resistive", severity=1.0), []
    o.moved["call_w"][:] = True
    ends = ("pressure_out", "pressure_in")
    o.run(lambda step, _rows: seen.append([volts(o, end, "board_common", "high") for end in ends]) if step == "inducer_start" else None)
    (burnt,) = family.failure(Fault("pressure_switch", "resistive")).effects
    assert burnt.adds_ohms is not None

    left, whole = seen[-1]
    behind = o.q("string_input_ohms")[0]
    assert left == pytest.approx(whole * behind / (behind + max(burnt.adds_ohms)), rel=0.05)
    assert left < 0.9 * whole


def test_an_inducer_that_will_not_start_hums_with_its_wheel_free(family: Family) -> None:
    """A motor that stands still on full voltage draws its locked current, several times what it draws as it runs (locked rotor, common practice); by hand
    it turns as a good one does, and a seized one does not."""
    ill, seized, good = (called(family, HEAT, *fault) for fault in (["inducer:will_not_start"], ["inducer:seized"], []))
    drag = [read(o, "number:inducer_drag") for o in (ill, seized, good)]

    assert drag[0] == drag[2] < 1.5 < drag[1]
    assert rests(ill) == rests(seized) != rests(good)
    assert volts_in(family, "inducer:will_not_start", "inducer_start", "inducer_hot", "inducer_neutral") > 105


@pytest.mark.parametrize("severity", [0.0, 1.0])
def test_a_pitted_limit_takes_its_share_of_the_24_volts_from_the_valve(family: Family, severity: float) -> None:
    """Ohm and Kirchhoff: what the valve and the inputs draw flows through its contact, 15 ohm or more, and what it takes from them stands across it."""
    o, seen = furnace(family, "limit_switch:resistive", severity=severity), []
    o.moved["call_w"][:] = True
    pairs = (("limit_in", "limit_out"), ("limit_in", "board_common"), ("limit_out", "board_common"))
    o.run(lambda step, _rows: seen.append([volts(o, *pair) for pair in pairs]) if step == "ignition_trial" else None)

    across, before, behind = seen[0]
    assert across > 1
    assert before == pytest.approx(across + behind, rel=0.1)


def test_a_hot_lost_on_the_way_leaves_the_panel_live_and_the_furnace_dead(family: Family) -> None:
    o = called(family, HEAT, "power_supply:hot_open")
    assert volts(o, "panel_hot", "service_neutral") > 105
    assert volts(o, "furnace_hot", "furnace_neutral") < 2
    assert volts(o, "furnace_hot", "chassis") < 2
