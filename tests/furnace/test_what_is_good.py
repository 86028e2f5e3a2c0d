"""What the rules call a good reading, a good furnace of them gives: else the tool would blame a part for a figure that the trade calls good."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from furnace_diag.diagnosis.against import gives
from furnace_diag.diagnosis.answer import answer
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.records import Record, Report
from furnace_diag.problems import Place
from tests.ours import our_rules

HERE = Place("here", 1, 1)
# Ends of ranges that hold for every voltage, fuel and size the trade knows, which the one family here does not: common practice, no source.
RATINGS = (
    ("capacitor_microfarads", "power_off", (4.8, 5.0, 7.2, 7.5, 9.6, 10.4, 15.0)),  # marks of 5 to 15 uF, each within 6 %
    ("igniter_ohms", "power_off", (12.0, 17.0, 40.0, 60.0, 90.0)),  # nitride 10 to 40, carbide 40 to 90 ohm
    ("igniter_amps", "igniter_warm_up", (0.6, 1.5, 3.0, 4.5)),  # nitride 0.5 to 1.5 A; carbide 3 to 4.5 A, from memory
    ("manifold_pressure", "heating", (3.3, 3.5, 3.7, 9.8, 10.2)),  # natural 3.5, LP 10 in. w.c.
    ("inlet_pressure", "heating", (4.6, 5.0, 7.0, 9.0, 11.0, 13.0)),  # natural 5 to 7 usual, 4.5 and up on a maker's page; LP 11 to 13
    ("draft", "heating", (0.35, 0.5, 0.8, 1.1, 1.5)),  # 0.3 to 1.5 in. w.c., from memory
    ("flame_current", "heating", (1.8, 2.5, 4.0, 5.5)),  # 1.8 to 4 uA typical, 1 to 6 met
    ("temperature_rise", "heating", (40.0, 50.0, 60.0)),  # inside plate ranges of 30 to 60 F and 40 to 70 F
    ("blower_amps", "heating", (1.6, 3.0, 4.7, 7.0)),  # 1/2 hp on a maker's page: 4.7, 3.0, 2.1, 1.6 A by speed; 3/4 hp draws more
    ("inducer_amps", "heating", (0.45, 0.9, 1.5)),  # 0.4 to 2 A, from memory
    ("gas_valve_coil_ohms", "power_off", (20.0, 45.0, 100.0)),  # 10 to 200 ohm by design
)


@pytest.mark.parametrize(("point", "step", "value"), [(p, s, v) for p, s, values in RATINGS for v in values])
def test_a_good_furnace_gives_what_the_trade_calls_good(evidence: Evidence, point: str, step: str, value: float) -> None:
    """Sources: beside the range of each point in rules/points; where none is named, common practice."""
    assert point in our_rules().point
    fact = evidence.fact(Record("point", point, f"{point}: {value}", HERE, number=value, step=step))
    assert fact is not None
    assert gives(fact)[evidence.population.fault_of < 0].any()


# A loose wire nut, read at the board: a few volts lost, or so many that the inducer alone on it does not start and draws more; common practice, no source.
LOOSE = ("power_supply:loose_neutral", "power_supply:hot_joint_burnt")


@pytest.mark.parametrize("volts", [45.0, 62.0, 75.0, 110.0])
@pytest.mark.parametrize("failure", LOOSE)
def test_a_loose_joint_loses_little_or_most_of_the_line(evidence: Evidence, failure: str, volts: float) -> None:
    fact = evidence.fact(Record("point", "line_to_neutral_at_board", f"{volts} V", HERE, number=volts, step="inducer_start"))
    assert fact is not None
    own = evidence.population.fault_of == [str(f) for f in evidence.population.faults].index(failure)
    assert gives(fact)[own].any()


# What a failure is met with, beside what a good furnace gives; common practice, no source, where none is named.
MET = [
    # a blower runs on down to about half of the line, and pulls a bad joint down with it: no gap from a few volts lost to half of the line
    *(("power_supply:loose_neutral", "line_to_neutral_at_board", "heating", volts) for volts in (70.0, 83.0, 95.0, 108.0)),
    ("power_supply:loose_neutral", "panel_feed_to_neutral", "heating", 121.0),
    # a plug from poor to burnt nearly through
    *(("igniter_harness:resistive", "igniter_volts_at_plug", "igniter_warm_up", volts) for volts in (20.0, 40.0, 60.0, 95.0)),
    # a transformer that sags to where its loads give up, and below
    *(("transformer:weak", "r_to_c_at_board", "ignition_trial", volts) for volts in (12.0, 15.0, 18.0, 21.0)),
    # a 3 A fuse opens within minutes at half as much again, 24 V over 4.5 A is 5.3 ohm with the transformer's own (Ohm's law)
    *(("gas_valve:coil_shorted", "gas_valve_coil_ohms", "power_off", ohms) for ohms in (0.2, 1.0, 3.0, 4.4)),
    # a contact burnt nearly through leaves half of the line to a transformer alone
    *(("door_switch:resistive", "across_door_switch", "standby", volts) for volts in (5.0, 25.0, 60.0)),
    # without its ground a cabinet floats at a stray part of the line
    *(("power_supply:no_ground", "neutral_to_chassis_at_board", "standby", volts) for volts in (25.0, 47.0, 70.0)),
    *(("power_supply:no_ground", "line_to_chassis_at_board", "standby", volts) for volts in (47.0, 70.0, 95.0)),
]


@pytest.mark.parametrize(("failure", "point", "step", "value"), MET)
def test_a_failure_gives_what_is_met_of_it(evidence: Evidence, failure: str, point: str, step: str, value: float) -> None:
    fact = evidence.fact(Record("point", point, f"{point}: {value}", HERE, number=value, step=step))
    assert fact is not None
    own = evidence.population.fault_of == [str(f) for f in evidence.population.faults].index(failure)
    assert gives(fact)[own].any()


def column(evidence: Evidence, failure: str, point: str, step: str, meter: str) -> NDArray[np.float64]:
    p = evidence.population
    key = (point, step, meter) if (point, step, meter) in p.columns else (point, step, "high")
    return p.table[p.columns[key], p.fault_of == [str(f) for f in p.faults].index(failure)].astype(float)


def test_stray_volts_of_a_floating_cabinet_are_nothing_to_a_meter_that_draws_current(evidence: Evidence) -> None:
    """They come through nanofarads, megohms at line frequency: across the 3 kilohm of a low-impedance meter less than a volt is left (Ohm's law)."""
    for failure in ("power_supply:no_ground", "power_supply:no_neutral_bond"):
        assert (column(evidence, failure, "neutral_to_chassis_at_board", "standby", "high") > 15).all()
        assert (column(evidence, failure, "neutral_to_chassis_at_board", "standby", "low") < 3).all()


def test_a_lost_ground_lifts_the_cabinet_and_a_lost_bond_the_neutral(evidence: Evidence) -> None:
    """Without its ground wire the cabinet stands off earth, and neutral is at earth; without the bond it is the other way round."""
    assert (column(evidence, "power_supply:no_ground", "chassis_to_earth", "standby", "high") > 15).all()
    assert (column(evidence, "power_supply:no_ground", "panel_neutral_to_ground", "standby", "high") < 1).all()
    assert (column(evidence, "power_supply:no_neutral_bond", "chassis_to_earth", "standby", "high") < 1).all()
    assert (column(evidence, "power_supply:no_neutral_bond", "panel_neutral_to_ground", "standby", "high") > 15).all()


def test_gas_that_is_low_at_times_lights_or_does_not(evidence: Evidence) -> None:
    """In the trial some of its furnaces light and lose the flame, and a good part do not light: common practice, no source."""
    own = evidence.population.fault_of == [str(f) for f in evidence.population.faults].index("gas_supply:low_at_times")
    for word in ("no", "drop_out"):
        fact = evidence.fact(Record("sign", "burners_light", word, HERE, word=word))
        assert fact is not None
        assert (fact.fit[own] > 0).mean() > 0.15


@pytest.mark.parametrize("failure", ["blower_motor:bearings_tight", "blower_capacitor:weak"])
def test_a_slow_blower_mostly_blows_weakly(evidence: Evidence, failure: str) -> None:
    """Air goes as the wheel's speed (fan laws): who sees it turn slowly mostly feels little air, and never none."""
    own = evidence.population.fault_of == [str(f) for f in evidence.population.faults].index(failure)

    def fits(sign: str, word: str) -> NDArray[np.bool_]:
        fact = evidence.fact(Record("sign", sign, word, HERE, word=word, step="heating"))
        assert fact is not None
        return np.asarray(fact.fit > 0)

    slow = own & fits("blower_runs", "slow")
    assert slow.any()
    assert (slow & fits("air_at_registers", "weak")).sum() > slow.sum() / 2
    assert not (slow & fits("air_at_registers", "none")).any()


def test_most_films_on_a_rod_are_seen_and_some_are_not(evidence: Evidence) -> None:
    """Glassy films can hardly be seen, common practice, no source; out of a filmed rod's furnaces more look filmed than clean."""
    own = evidence.population.fault_of == [str(f) for f in evidence.population.faults].index("flame_rod:filmed")
    clean, filmed = (evidence.fact(Record("sign", "flame_rod_looks", w, HERE, word=w, step="power_off")) for w in ("clean", "filmed"))
    assert clean is not None
    assert filmed is not None
    assert 0 < (clean.fit[own] > 0).sum() < (filmed.fit[own] > 0).sum()


@pytest.mark.parametrize(("mark", "read", "weak"), [("5", 4.9, False), ("7.5", 7.4, False), ("7.5", 4.9, True), ("10", 4.9, True)])
def test_a_capacitor_is_held_against_its_own_mark(evidence: Evidence, mark: str, read: float, weak: bool) -> None:
    """6 % either way is good, below 90 % is not: the usual marks. Told: a motor with its voltage that turns slowly."""
    records = (
        Record("sign", "blower_runs", "blower_runs: slow", HERE, word="slow", step="heating"),
        Record("point", "heat_terminal_to_neutral", "HEAT 119 V", HERE, number=119.0, step="heating"),
        Record("point", "capacitor_microfarads", f"{read} uF", HERE, number=read, step="power_off"),
    )
    family = evidence.family.furnace.furnace
    given = answer(Report(family, "no air", records, {"capacitor_mark": mark}), evidence)
    bare = answer(Report(family, "no air", records[:2], {"capacitor_mark": mark}), evidence)
    belief, before = ({p.part: p.probability for p in a.parts}["blower_capacitor"] for a in (given, bare))

    assert (belief > before) == weak
    if not weak:
        assert belief < 0.15


def test_a_capacitor_told_against_its_mark_counts_and_counts_once(evidence: Evidence) -> None:
    """Below its mark is a bad capacitor, within it a good one: common practice. The figure beside it tells the same again."""
    hums = Record("sign", "blower_runs", "blower_runs: hums", HERE, word="hums", step="heating")
    family = evidence.family.furnace.furnace

    def belief(word: str, *more: Record) -> float:
        against = Record("sign", "capacitor_against_mark", f"against mark: {word}", HERE, word=word)
        told = answer(Report(family, "no air", (hums, against, *more), {}), evidence)
        return {p.part: p.probability for p in told.parts}["blower_capacitor"]

    empty = Record("point", "capacitor_microfarads", "0 uF", HERE, number=0.0, step="power_off")
    assert belief("within") < 0.1 < 0.7 < belief("outside")
    assert len(evidence.groups((Record("sign", "capacitor_against_mark", "outside", HERE, word="outside"), empty))) == 1
