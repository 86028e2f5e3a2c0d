"""The virtual furnace does what furnaces do: the steps of a heat call, and what each failure does to it.

What a healthy call looks like and where each failure stops it: common practice, no source, unless one is named.
"""

from __future__ import annotations

import numpy as np
import pytest

from furnace_diag.furnace.family import Family, Fault, usual_site
from furnace_diag.furnace.observe import run_words
from furnace_diag.furnace.operate import Operation
from furnace_diag.furnace.trial import heat_call
from furnace_diag.furnace.virtual import VirtualFurnaces

ORDER = ["call", "inducer_start", "pre_purge", "igniter_warm_up", "ignition_trial", "blower_on_delay", "heating"]


def furnace(family: Family, fault: Fault | None = None, **options: str) -> Operation:
    numbers, choices = usual_site(family.furnace, options)
    return Operation(VirtualFurnaces(family, numbers, choices, [(slice(0, 1), fault)] if fault else []))


def test_a_healthy_heat_call_takes_its_steps_in_order(family: Family) -> None:
    seen: list[str] = []
    o = furnace(family)
    o.run()
    o.moved["call_w"][:] = True
    o.run(lambda step, _rows: seen.append(step))

    assert [s for s in seen if s in ORDER] == ORDER


def test_the_gas_is_never_driven_before_the_pressure_switch_and_the_igniter(family: Family) -> None:
    o = furnace(family)
    o.moved["call_w"][:] = True
    driven = []
    o.run(lambda _s, _r: driven.append({k for k in ("inducer", "igniter", "gas") if o.moved[k][0]}))

    first_gas = next(i for i, d in enumerate(driven) if "gas" in d)
    assert {"inducer", "igniter"} <= driven[first_gas]
    assert all("gas" not in d for d in driven[:first_gas])


def test_after_failed_trials_the_gas_stays_off(family: Family) -> None:
    """ANSI Z21.20-2005, 1.1 (scope): gas is shut off when ignition is not proved."""
    o = heat_call(family, Fault("igniter", "open"), options={"trials": "3"})

    assert family.sequence.steps[o.rested_in[0]].step == "lockout"
    assert o.counts["trials"][0] == 3
    assert o.across("valve_hot", "valve_common")[0] < 1


@pytest.mark.parametrize("trials", ["3", "4", "5"])
@pytest.mark.parametrize("fault", ["igniter:open", "flame_rod:filmed", "gas_valve:will_not_open"])
def test_a_control_that_sees_no_flame_gives_up_after_as_many_tries_as_it_is_set_for(family: Family, fault: str, trials: str) -> None:
    """3 to 5 trials and then a lock-out: controls of the ANSI Z21.20 class, from memory. The gas is counted as it comes on."""
    o = furnace(family, Fault(*fault.split(":")), trials=trials)
    o.run()
    o.moved["call_w"][:] = True
    gas: list[bool] = []
    o.run(lambda _s, _r: gas.append(bool(o.moved["gas"][0])))
    came_on = sum(now and not before for before, now in zip([False, *gas], gas, strict=False))

    assert came_on == int(trials)
    assert tries_of(o) == {"3": "three", "4": "four", "5": "five_or_more"}[trials]


@pytest.mark.parametrize("fault", [None, "pressure_switch:will_not_close", "limit_switch:will_not_close", "inducer:seized", "filter:blocked"])
def test_a_control_that_never_tries_or_sees_its_flame_does_not_give_up(family: Family, fault: str | None) -> None:
    o = furnace(family, Fault(*fault.split(":")) if fault else None)
    o.run()
    o.moved["call_w"][:] = True
    o.run()

    assert tries_of(o) == "none"


def tries_of(o: Operation) -> str:
    return next(word for word, flags in run_words(o)["tries"] if flags[0])


def test_a_welded_gas_relay_alone_does_not_open_the_valve(family: Family) -> None:
    """UL 60730-2-5:2022, scope: two switching elements in the fuel path; a pressure switch may be one of them."""
    o = furnace(family)
    o.furnaces.forced[family.number["gas_relay"]] = 1
    o.run()

    assert o.across("valve_hot", "valve_common")[0] < 1


def test_secondary_never_exceeds_class_2(family: Family) -> None:
    """At most 30 V with or without load: ANSI/UL 1585 (now UL 5085-3)."""
    o = furnace(family)
    o.run()

    assert 24 < o.across("secondary_hot", "secondary_common")[0] <= 30


def test_supply_is_in_ansi_range_a_at_the_service(family: Family) -> None:
    """114 to 126 V: ANSI C84.1 Table 1, Range A (read at second hand)."""
    low, high = family.furnace.numbers["supply_volts"].between

    assert 114 <= low <= high <= 126


@pytest.mark.parametrize(
    ("fault", "step"),
    [
        ("igniter:open", "lockout"),
        ("flame_rod:filmed", "lockout"),
        ("gas_supply:shut", "lockout"),
        ("inducer:seized", "draft_fault"),
        ("pressure_switch:will_not_close", "draft_fault"),
        ("pressure_switch:will_not_open", "call"),
        ("limit_switch:will_not_close", "chain_open"),
        ("rollout_switch:tripped", "chain_open"),
        ("transformer:primary_open", "power_off"),
        ("low_voltage_fuse:blown", "power_off"),
        ("thermostat:no_call", "standby"),
        ("control_board:heat_relay_will_not_close", "chain_open"),
    ],
)
def test_where_a_failure_stops_the_call(family: Family, fault: str, step: str) -> None:
    o = heat_call(family, Fault(*fault.split(":")))

    assert family.sequence.steps[o.rested_in[0]].step == step


def test_a_short_blows_the_fuse_and_an_open_does_not(family: Family) -> None:
    assert heat_call(family, Fault("thermostat_cable", "shorted")).blown[0]
    assert not heat_call(family, Fault("thermostat_cable", "r_open")).blown[0]


def test_an_open_neutral_shows_the_line_at_the_motors_neutral_lead(family: Family) -> None:
    """Kirchhoff: no current, no drop in the winding, so the far end stands at line voltage; about 118 V of 120."""
    o = furnace(family, Fault("blower_wiring", "neutral_open"))
    o.moved["call_g"][:] = True
    o.run()

    assert o.across("heat_terminal", "board_neutral")[0] == pytest.approx(120, abs=3)
    assert o.across("motor_neutral", "chassis")[0] > 100
    assert not o.blower_running()[0]


def test_an_open_capacitor_leaves_a_motor_that_runs_when_spun(family: Family) -> None:
    """Hums, stands still, runs when spun by hand: Lessons in instrumentation, single-phase motors."""
    o = furnace(family, Fault("blower_capacitor", "open"))
    o.moved["call_g"][:] = True
    o.run()

    assert o.blower_energised()[0]
    assert not o.blower_running()[0]
    assert o.blower_running(spun=True)[0]


def test_a_running_motor_puts_voltage_on_its_unused_taps(family: Family) -> None:
    """A tapped winding is an autotransformer: volts are as turns. Turns are read from the rule file, not the answer."""
    o = furnace(family, fan_call_tap="cool")
    o.moved["call_y"][:] = True
    o.moved["call_g"][:] = True
    o.run()
    turns = {e.element: float(e.turns) for e in family.elements if e.core == "blower_motor"}
    ratio = (turns["blower_main"] + turns["blower_heat_turns"]) / turns["blower_main"]
    volts = o.across("heat_terminal", "board_neutral")[0]

    assert volts == pytest.approx(o.across("cool_terminal", "board_neutral")[0] * ratio, rel=0.03)


def test_many_furnaces_at_once_do_as_each_alone(family: Family) -> None:
    faults = [Fault("igniter", "open"), Fault("inducer", "seized"), Fault("control_board", "no_logic")]
    numbers, choices = usual_site(family.furnace)
    many = VirtualFurnaces(
        family,
        {n: np.tile(v, 3) for n, v in numbers.items()},
        {n: np.tile(v, 3) for n, v in choices.items()},
        [(slice(i, i + 1), f) for i, f in enumerate(faults)],
    )
    o = Operation(many)
    o.run()
    o.moved["call_w"][:] = True
    o.run()

    assert [int(s) for s in o.rested_in] == [int(heat_call(family, f).rested_in[0]) for f in faults]


def seconds_to_draft(family: Family, spare: float) -> float:
    """Of a usual furnace whose draft is *spare* times what its pressure switch needs."""
    numbers, choices = usual_site(family.furnace, {"pressure_wait": "300"})
    furnaces = VirtualFurnaces(family, numbers, choices)
    operation = Operation(furnaces)
    operation.run()
    operation.call(family.sequence.heat_call.closes)
    operation.run()  # as it comes, for the draft that it makes
    furnaces.quantities[family.machines.pressure_switch.set_point] = operation.draft() / spare
    operation.reset()
    operation.run()
    operation.call(family.sequence.heat_call.closes)
    operation.run()
    return float(operation.times["draft"][0] - operation.times["inducer_on"][0])


def test_the_less_draft_there_is_to_spare_the_longer_the_switch_takes(family: Family) -> None:
    """Common practice, no source: a good switch closes within a few seconds, one that barely has its draft after half a minute to minutes."""
    seconds = [seconds_to_draft(family, spare) for spare in (2.0, 1.5, 1.2, 1.05)]

    assert seconds == sorted(seconds)
    assert seconds[0] < 5
    assert 20 < seconds[-1] < 300
