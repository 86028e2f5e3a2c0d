"""What runs on after a heat call, and how far a failure goes: by the seconds at which the call is ended, and by severity.

Common practice, no source: the blower's off-delay takes the heat out of the exchanger, so it belongs to a blower that was on; a call that is
ended before the blower was due leaves the inducer's post-purge alone.
"""

from __future__ import annotations

import numpy as np
import pytest

from furnace_diag.furnace.clock import Clocked
from furnace_diag.furnace.family import Family, Fault, from_mildest, usual_site
from furnace_diag.furnace.observe import shown
from furnace_diag.furnace.virtual import VirtualFurnaces
from furnace_diag.knowledge.models import Effect

LONG = 900.0  # seconds; longer than a heat call takes to its end, or its delays after it
MOMENTS = (2, 10, 20, 35, 48, 50, 52, 60, 75, 90, 110, 300)  # seconds into the call at which it is ended


def at_rest(family: Family, *faults: str, severity: float = 0.5, **options: str) -> Clocked:
    numbers, choices = usual_site(family.furnace, options)
    hidden = [Fault(*f.split(":")) for f in faults]
    furnaces = VirtualFurnaces(family, numbers, choices, [(slice(0, 1), f) for f in hidden], severity=dict.fromkeys(hidden, severity))
    o = Clocked(furnaces)
    o.run_on(5)
    return o


def ran_on(o: Clocked, seconds: float) -> float:
    """Seconds for which the blower runs from now on."""
    total, end = 0.0, o.clock[0] + seconds
    while o.clock[0] < end:
        stretch = min(max(o.seconds_to_next(), 0.05), end - o.clock[0])  # nothing changes before that
        total += stretch * bool(o.blower_running()[0])
        o.run_on(stretch)
    return total


@pytest.mark.parametrize("fault", ["igniter:open", "gas_valve:coil_open", "flame_rod:filmed"])
@pytest.mark.parametrize("trials", ["3", "5"])
def test_no_blower_runs_after_a_call_in_which_none_did(family: Family, fault: str, trials: str) -> None:
    o = at_rest(family, fault, trials=trials, lockout_reset="w_or_power", lockout_fan="stands")
    heat = family.sequence.heat_call.closes
    o.call(heat)
    o.run_on(60)
    assert o.counts["trials"][0] >= 1
    o.open(heat)

    assert ran_on(o, LONG) == 0
    assert not o.inducer_running()[0]
    assert family.sequence.steps[o.step[0]].step == family.sequence.starts_at


@pytest.mark.parametrize("moment", MOMENTS)
def test_the_off_delay_is_of_a_blower_that_was_on(family: Family, moment: float) -> None:
    """Wherever a good heat call is ended: an off-delay as set if its blower ran, else none, and the inducer purges either way once it had draft."""
    o = at_rest(family, blower_off_delay="90", post_purge_time="15")
    heat = family.sequence.heat_call.closes
    o.call(heat)
    o.run_on(moment)
    was_on, purges = bool(o.blower_running()[0]), bool(o.moved[family.machines.pressure_switch.moves][0])
    o.open(heat)
    soon = ran_on(o, 1.0)
    assert bool(o.inducer_running()[0]) == purges

    assert soon + ran_on(o, LONG) == pytest.approx(105 if was_on else 0, abs=0.2)
    assert not o.inducer_running()[0]


def test_both_kinds_of_moment_are_tried(family: Family) -> None:
    o, on = at_rest(family), []
    o.call(family.sequence.heat_call.closes)
    for before, now in zip((0, *MOMENTS), MOMENTS, strict=False):
        o.run_on(now - before)
        on.append(bool(o.blower_running()[0]))

    assert {*on} == {False, True}


# --- how far a failure goes ---


@pytest.mark.parametrize(
    ("effect", "mildest", "worst"),
    [  # by the meaning of the words: what is left of a share, what is on top of it, a short of few ohms, a joint that has got some
        ({"quantity": "filter_open", "times": (0.1, 0.4)}, 0.4, 0.1),
        ({"quantity": "hose", "times": (0.0, 0.4)}, 0.4, 0.0),
        ({"quantity": "manifold_pressure", "times": (1.2, 1.7)}, 1.2, 1.7),
        ({"element": "valve_coil", "ohms": (0.1, 1.5)}, 1.5, 0.1),
        ({"element": "hot_lead", "adds_ohms": (3.0, 12.0)}, 3.0, 12.0),
    ],
)
def test_severity_goes_from_the_mildest_to_the_worst(effect: dict[str, object], mildest: float, worst: float) -> None:
    assert from_mildest(Effect.model_validate(effect)) == (mildest, worst)


def test_the_worse_a_filter_is_blocked_the_less_air_there_is(family: Family) -> None:
    """Common practice: a filter that is half blocked lets weak air through and the burners stay lit; one like a quilt next to none."""
    flows, words = [], []
    for severity in np.linspace(0, 1, 6):
        o = at_rest(family, "filter:blocked", severity=float(severity))
        o.call(family.sequence.heat_call.closes)
        o.run_on(120)
        flows.append(float(o.airflow()[0]))
        words.append(("none", "weak", "normal")[int(shown(o, "air", np.array([0]))[0])])

    assert flows == sorted(flows, reverse=True)
    assert words[0] == "weak"
    assert words[-1] == "none"


@pytest.mark.parametrize(
    ("fault", "quantity"), [("ducts:registers_shut", "duct_open"), ("inducer:slow", "inducer_speed"), ("flame_rod:filmed", "flame_signal")]
)
def test_at_the_mildest_a_share_is_nearer_to_what_it_should_be(family: Family, fault: str, quantity: str) -> None:
    furnaces = (at_rest(family), at_rest(family, fault, severity=0.0), at_rest(family, fault, severity=1.0))
    good, mild, bad = (float(o.furnaces.quantities[quantity][0]) for o in furnaces)

    assert good > mild > bad
