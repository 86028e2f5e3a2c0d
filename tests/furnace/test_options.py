"""What the options of the family change: EAC and HUM, where the on-delay counts from, what ends a lock-out.

What each option means: common practice, no source; the times and volts to compare with come from the same furnace without it.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from furnace_diag.furnace.family import Family, Fault, usual_site
from furnace_diag.furnace.observe import volts_at
from furnace_diag.furnace.operate import Operation
from furnace_diag.furnace.trial import heat_call
from furnace_diag.furnace.virtual import VirtualFurnaces

LIVE_24, LIVE_120 = 20.0, 100.0  # volts; well above half and below a healthy supply
CALLS = {"heat": ("call_w",), "cooling": ("call_y", "call_g"), "fan": ("call_g",)}


def after(family: Family, call: str, **options: str) -> Operation:
    numbers, choices = usual_site(family.furnace, options)
    o = Operation(VirtualFurnaces(family, numbers, choices))
    o.run()
    o.call(CALLS[call])
    o.run()
    return o


def low_meter(o: Operation, point: str) -> float:
    """What a low-impedance meter reads at a point: an open terminal floats, and shows nothing on it."""
    return float(volts_at(o, [o.family.knowledge.point[point]], np.array([0]))[point]["low"][0])


@pytest.mark.parametrize(
    ("follows", "live"),
    [("any_speed", {"heat", "cooling", "fan"}), ("heat_and_cool", {"heat", "cooling"}), ("heat", {"heat"})],
)
def test_eac_goes_with_the_blower_speeds_of_its_option(family: Family, follows: str, live: set[str]) -> None:
    volts = {call: low_meter(after(family, call, eac_follows=follows, fan_call_tap="fan"), "eac_terminal_to_neutral") for call in CALLS}

    assert {call for call, v in volts.items() if v > LIVE_120} == live


CONDITIONS: dict[str, Callable[[Operation], bool]] = {
    "w": lambda o: o.across("board_w", "board_common")[0] > LIVE_24,
    "pressure_switch": lambda o: o.across("board_pressure", "board_common")[0] > LIVE_24,
    "gas_valve": lambda o: o.across("gas_pin", "board_common")[0] > LIVE_24,
    "heat_blower": lambda o: bool(o.moved["blower_heat"][0]),
}


@pytest.mark.parametrize("follows", CONDITIONS)
def test_hum_is_live_through_a_heat_call_just_when_its_option_says(family: Family, follows: str) -> None:
    numbers, choices = usual_site(family.furnace, {"hum_follows": follows})
    o = Operation(VirtualFurnaces(family, numbers, choices))
    seen: list[tuple[bool, bool]] = []

    def look(_step: str, _rows: object) -> None:
        seen.append((bool(o.across("hum_terminal", "board_common")[0] > LIVE_24), CONDITIONS[follows](o)))

    o.run(look)
    o.call(CALLS["heat"])
    o.run(look)

    assert {live for live, _ in seen} == {True, False}
    assert all(live == due for live, due in seen)


def test_hum_is_dead_without_a_call_and_without_a_living_control(family: Family) -> None:
    idle = after(family, "fan", hum_follows="w")
    dark = heat_call(family, Fault("control_board", "no_logic"), options={"hum_follows": "w"})

    assert low_meter(idle, "hum_to_c") < 1
    assert dark.across("board_w", "board_common")[0] > LIVE_24
    assert low_meter(dark, "hum_to_c") < 1


def test_the_on_delay_counts_from_gas_or_from_flame(family: Family) -> None:
    """From the gas on, it is the delay; from the flame, as much later as the flame came after the gas."""
    from_gas = after(family, "heat", blower_delay_from="gas_on", blower_on_delay="45").times
    from_flame = after(family, "heat", blower_delay_from="flame_proved", blower_on_delay="45").times
    lit = from_gas["flame_on"][0] - from_gas["gas_on"][0]

    assert lit > 0
    assert from_gas["blower_on"][0] - from_gas["gas_on"][0] == pytest.approx(45)
    assert from_flame["blower_on"][0] - from_flame["gas_on"][0] == pytest.approx(45 + lit)


@pytest.mark.parametrize(("reset", "rests", "trials"), [("w_or_power", "standby", 0), ("power", "lockout", 3)])
def test_opening_w_ends_a_lockout_on_some_controls_only(family: Family, reset: str, rests: str, trials: int) -> None:
    o = heat_call(family, Fault("igniter", "open"), options={"trials": "3", "lockout_reset": reset})
    locked = family.sequence.steps[o.rested_in[0]].step
    o.open(CALLS["heat"])
    o.run()

    assert locked == "lockout"
    assert family.sequence.steps[o.rested_in[0]].step == rests
    assert o.counts["trials"][0] == trials


def test_power_ends_every_lockout(family: Family) -> None:
    o = heat_call(family, Fault("igniter", "open"), options={"lockout_reset": "power"})
    o.reset()
    o.run()

    assert family.sequence.steps[o.rested_in[0]].step == "standby"
    assert o.counts["trials"][0] == 0
