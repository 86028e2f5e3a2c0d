"""A part that a failure turns into plain ohms, and a blown fuse: what flows is by circuit law, worked out here."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from furnace_diag.furnace.family import Family, Fault, usual_site
from furnace_diag.furnace.observe import reading
from furnace_diag.furnace.operate import Operation
from furnace_diag.furnace.virtual import VirtualFurnaces
from furnace_diag.knowledge.models import Part

OHMS = 0.5


def furnace_with(family: Family, element: str, effect: dict[str, Any]) -> VirtualFurnaces:
    """One usual furnace with *effect* on *element*."""
    failure = {"failure": "bad", "says": "bad", "share": 1, "effects": [{"element": element, **effect}]}
    part = Part.model_validate({"part": "spare", "says": "spare", "often": "rare", "failures": [failure]})
    own = Family(family.knowledge.model_copy(update={"part": {"spare": part}}), family.furnace.furnace)
    numbers, choices = usual_site(family.furnace, {"fan_call_tap": "cool"})
    return VirtualFurnaces(own, numbers, choices, [(slice(0, 1), Fault("spare", "bad"))])


def run_with(family: Family, element: str, effect: dict[str, Any], calls: tuple[str, ...]) -> Operation:
    """That furnace after a call, at rest."""
    operation = Operation(furnace_with(family, element, effect))
    operation.call(calls)
    operation.run()
    return operation


def test_a_shorted_capacitor_is_a_plain_resistance(family: Family) -> None:
    """Ohm and Kirchhoff: one current through auxiliary winding and short, so volts divide as their impedances."""
    o = run_with(family, "blower_capacitor_element", {"ohms": (OHMS, OHMS)}, ("call_g",))
    auxiliary = next(e for e in family.elements if e.element == "blower_auxiliary")
    z = complex(float(auxiliary.ohms), auxiliary.reactance) / float(o.q(auxiliary.size.strip("<>"))[0])

    assert o.over("blower_auxiliary")[0] > 20
    assert o.over("blower_capacitor_element")[0] / o.over("blower_auxiliary")[0] == pytest.approx(OHMS / abs(z), rel=1e-3)
    assert o.amps("blower_capacitor_element")[0] == pytest.approx(o.across("winding_cool", "motor_common")[0] / abs(z + OHMS), rel=1e-3)
    assert reading(o, "microfarads:blower_capacitor_element", np.array([0]))[0] == 0


def test_a_shorted_winding_is_no_longer_coupled(family: Family) -> None:
    """Whole, the unused heat turns carry their share of the main winding's volts; as plain ohms on an open end, none."""
    whole = run_with(family, "blower_heat_turns", {"adds_ohms": (0, 0)}, ("call_g",))
    shorted = run_with(family, "blower_heat_turns", {"ohms": (OHMS, OHMS)}, ("call_g",))
    turns = float(next(e for e in family.elements if e.element == "blower_heat_turns").turns)

    # what the main winding's own ohms and leakage take is not induced: up to a tenth
    assert 0.9 * turns < whole.over("blower_heat_turns")[0] / whole.turn_volts()[0] < turns
    assert shorted.over("blower_heat_turns")[0] < 0.01


def test_a_shorted_motor_winding_does_not_turn_the_motor(family: Family) -> None:
    """A winding that is only ohms makes no field."""
    seen: list[tuple[np.ndarray, np.ndarray]] = []
    o = Operation(furnace_with(family, "inducer_winding", {"ohms": (40, 40)}))
    o.call(("call_w",))
    o.run(lambda step, _rows: seen.append((o.over("inducer_winding"), o.inducer_running())) if step == "inducer_start" else None)
    volts, running = seen[0]

    assert volts[0] > 100
    assert not running[0]


def test_no_current_flows_in_a_blown_fuse(family: Family) -> None:
    """An open path carries nothing, whatever stands across it."""
    o = run_with(family, "thermostat_cable_short", {"ohms": (0.1, 0.1)}, ())

    assert o.blown[0]
    assert o.over("low_voltage_fuse_link")[0] > 20
    assert o.amps("low_voltage_fuse_link")[0] < 1e-6
