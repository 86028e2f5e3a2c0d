"""What failures do to draft, gas, flame, air and motors: by the laws named, never by what a reading should be."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from furnace_diag.furnace.family import Family, Fault, usual_site
from furnace_diag.furnace.observe import holds, reading, run_words
from furnace_diag.furnace.operate import Operation
from furnace_diag.furnace.virtual import VirtualFurnaces
from furnace_diag.knowledge.models import Part, State

ONE = np.array([0])


def furnace(family: Family, *effects: dict[str, Any], **options: str) -> Operation:
    """One usual furnace with *effects*, at rest."""
    failure = {"failure": "bad", "says": "bad", "share": 1, "effects": list(effects)}
    part = Part.model_validate({"part": "spare", "says": "spare", "often": "rare", "failures": [failure]})
    own = Family(family.knowledge.model_copy(update={"part": {"spare": part}}), family.furnace.furnace)
    numbers, choices = usual_site(family.furnace, options)
    operation = Operation(VirtualFurnaces(own, numbers, choices, [(slice(0, 1), Fault("spare", "bad"))]))
    operation.run()
    return operation


def times(quantity: str, share: float) -> dict[str, Any]:
    return {"quantity": quantity, "times": (share, share)}


def called(o: Operation, *closes: str) -> Operation:
    o.call(closes or o.family.sequence.heat_call.closes)
    o.run()
    return o


def rests(o: Operation) -> str:
    return str(o.family.sequence.steps[o.rested_in[0]].step)


def shows(o: Operation, sign: str) -> bool:
    state = o.family.knowledge.sign[sign].shows
    assert isinstance(state, State)
    return bool(holds(o, state)[0])


def at(o: Operation, step: str, what: str) -> float:
    """A reading the first time a heat call is in *step*."""
    seen: list[float] = []
    o.call(o.family.sequence.heat_call.closes)
    o.run(lambda here, _rows: seen.append(float(reading(o, what, ONE)[0])) if here == step else None)
    return seen[-1]


def test_a_loose_inducer_wheel_makes_draft_as_the_square_of_its_speed(family: Family) -> None:
    """Fan law."""
    loose = furnace(family, times("inducer_grip", 0.5))
    draft = at(loose, "inducer_start", "draft")

    assert draft == pytest.approx(at(furnace(family), "inducer_start", "draft") * 0.25, rel=1e-6)
    assert rests(loose) == "draft_fault"


@pytest.mark.parametrize("quantity", ["hose_dry", "vent_open"])
def test_water_in_the_hose_and_a_part_blocked_vent_take_their_share_of_the_draft(family: Family, quantity: str) -> None:
    draft = at(furnace(family, times(quantity, 0.7)), "inducer_start", "draft")

    assert draft == pytest.approx(at(furnace(family), "inducer_start", "draft") * 0.7, rel=1e-6)


def test_a_drifted_pressure_switch_stays_open_on_a_draft_that_is_right(family: Family) -> None:
    drifted = furnace(family, times("draft_set_point", 1.8))
    draft = at(drifted, "inducer_start", "draft")

    assert draft == pytest.approx(at(furnace(family), "inducer_start", "draft"))
    assert draft < drifted.q("draft_set_point")[0]
    assert rests(drifted) == "draft_fault"


@pytest.mark.parametrize("share", [0.6, 1.5])
def test_input_rise_and_flame_signal_go_as_the_root_of_the_manifold_pressure(family: Family, share: float) -> None:
    """Orifice equation, and the heat balance of a steady airflow."""
    whole, other = called(furnace(family)), called(furnace(family, times("manifold_pressure", share)))
    for what in ("temperature_rise", "flame_current"):
        ratio = reading(other, what, ONE)[0] / reading(whole, what, ONE)[0]
        assert ratio == pytest.approx(share**0.5, rel=1e-3), what


def test_dirty_burners_carry_the_flame_late_to_the_rod(family: Family) -> None:
    """By definition of carry-over: at a third of its pace it takes three times as long, and until then no current flows."""
    proved = {}
    for share in (1.0, 1 / 3):
        o = furnace(family, times("carry_over", share), trial_time="7")
        seen: list[tuple[float, float]] = []
        o.call(o.family.sequence.heat_call.closes)
        o.run(lambda step, _rows, o=o, seen=seen: seen.append((o.clock[0], o.flame_current()[0])) if step == "ignition_trial" else None)
        assert rests(o) == "heating"
        proved[share] = next(clock for clock, current in seen if current > 0) - o.times["gas_on"][0]

    assert proved[1 / 3] == pytest.approx(3 * proved[1.0])


def test_burners_too_dirty_for_the_trial_time_end_in_lockout_though_they_light(family: Family) -> None:
    o = called(furnace(family, times("carry_over", 0.15), trial_time="5"))

    assert o.ever_lit[0]
    assert rests(o) == "lockout"


def test_a_rod_out_of_the_flame_looks_clean_and_gives_no_signal(family: Family) -> None:
    o = called(furnace(family, times("flame_signal", 0.05), {"quantity": "rod_in_flame", "is": "0"}))

    assert rests(o) == "lockout"
    assert shows(o, "flame_rod_is")
    assert not shows(o, "flame_rod_looks")


def test_tight_bearings_turn_slower_and_draw_more(family: Family) -> None:
    """Torque meets load: for a small-slip motor on a fan, strength s = drag (1 - s)2."""
    whole, tight = called(furnace(family)), called(furnace(family, times("blower_drag", 4)))
    m = family.machines.blower
    slip = tight.slip[family.core_of(m.main)][0]
    strength = (tight.turn_volts()[0] / m.rated_main_volts.value) ** 2 * m.pull_out_times_load.value

    assert strength * slip == pytest.approx(4 * (1 - slip) ** 2, rel=0.05)
    assert tight.amps(m.carries_all)[0] > 1.3 * whole.amps(m.carries_all)[0]
    assert tight.blower_slow()[0]
    assert not whole.blower_slow()[0]
    assert shows(tight, "blower_turns_freely")


def test_a_shorted_capacitor_gives_no_turning_field(family: Family) -> None:
    """Two windings with currents in step make no field that turns: it hums, and runs once spun, as with an open one but at more amps."""
    shorted = called(furnace(family, {"element": "blower_capacitor_element", "ohms": (0.5, 0.5)}), "call_g")
    opened = called(furnace(family, {"element": "blower_capacitor_element", "is": "open"}), "call_g")
    carries_all = family.machines.blower.carries_all

    assert not shorted.blower_running()[0]
    assert shorted.blower_energised()[0]
    assert shorted.blower_running(spun=True)[0]
    assert shorted.amps(carries_all)[0] > opened.amps(carries_all)[0]


@pytest.mark.parametrize("quantity", ["filter_open", "duct_open"])
def test_what_stands_in_the_airs_way_raises_static_and_rise(family: Family, quantity: str) -> None:
    """Rise is heat over air; static and flow lie on the blower's own curve."""
    whole, shut = called(furnace(family)), called(furnace(family, times(quantity, 0.6)))
    k = family.machines.air.shut_off_static_times.value
    air, rated = shut.airflow()[0], shut.q(family.machines.air.static)[0]

    assert reading(shut, "temperature_rise", ONE)[0] == pytest.approx(reading(whole, "temperature_rise", ONE)[0] * whole.airflow()[0] / air, rel=1e-3)
    assert reading(shut, "static_pressure", ONE)[0] > reading(whole, "static_pressure", ONE)[0]
    assert reading(shut, "static_pressure", ONE)[0] / rated == pytest.approx(k - (k - 1) * air**2, rel=0.02)


def test_an_on_delay_that_never_ends_is_ended_by_the_limit(family: Family) -> None:
    """Flame, no air, the limit opens, and then the blower runs: its relay and motor are good."""
    o = called(furnace(family, {"quantity": "blower_held_back", "is": "1"}, chain_open_runs="blower"))
    word = next(word for word, flag in run_words(o)["blower_in_heat"] if flag[0])

    assert rests(o) == "chain_open"
    assert o.limit_trips[0] == 1
    assert word == "starts_after_limit_trip"


def test_a_healthy_furnace_with_the_longest_delay_does_not_trip_its_limit(family: Family) -> None:
    o = called(furnace(family, blower_on_delay="90", blower_delay_from="flame_proved"))

    assert rests(o) == "heating"
    assert o.limit_trips[0] == 0


def test_the_inlet_reads_at_lock_out_what_it_reads_at_rest(family: Family) -> None:
    """Gas that does not flow loses no pressure on its way: a static pressure is the same whatever the control waits for."""
    assert "lockout" in family.knowledge.point["inlet_pressure"].steps
    rest, supplied = furnace(family), furnace(family, times("valve_opens", 0.0))
    supply = float(reading(rest, "inlet_pressure", ONE)[0])

    assert at(supplied, "lockout", "inlet_pressure") == pytest.approx(supply, rel=1e-6)
    assert at(furnace(family, times("inlet_pressure", 0.0)), "lockout", "inlet_pressure") == 0.0
    assert at(rest, "heating", "inlet_pressure") < supply
