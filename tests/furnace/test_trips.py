"""A short behind a relay: it takes the supply away as its load comes on, and whoever puts the breaker or the fuse in again sees what comes before that.

A short draws nothing until its relay closes (Ohm's law); that the breaker or the fuse goes then and not before is common practice, no source.
"""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from furnace_diag.furnace.family import Family
from furnace_diag.furnace.population import WHOLE_CALL, Population, is_watched
from furnace_diag.knowledge.words import words_of

LIVE = 20  # volts on the 24 V side of a furnace that has its supply


def rows_of(family: Family, population: Population, fault: str) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """The rows of a failure on which it is found dead, and on which it is watched."""
    rows = np.flatnonzero(population.fault_of == [str(f) for f in population.faults].index(fault))
    watched = is_watched(family, population.site_of[rows])
    return rows[~watched], rows[watched]


def values(population: Population, name: str, step: str, rows: NDArray[np.intp]) -> NDArray[np.float64]:
    key = next((name, step, meter) for meter in ("high", "") if (name, step, meter) in population.columns)
    return population.table[population.columns[key], rows].astype(float)


def words(family: Family, population: Population, sign: str, step: str, rows: NDArray[np.intp]) -> list[str]:
    """What is seen on *rows*, in the words of what the sign shows."""
    shows = family.knowledge.sign[sign].shows
    assert shows is not None
    return [words_of(shows, family.sequence)[int(word)] for word in values(population, sign, step, rows)]


@pytest.mark.parametrize(
    ("fault", "last_before", "from_then"),
    [
        ("igniter:grounded", "inducer_start", "igniter_warm_up"),
        ("igniter:shorted", "inducer_start", "igniter_warm_up"),
        ("inducer:grounded", "call", "inducer_start"),
        ("inducer_harness:chafed", "call", "inducer_start"),
        ("blower_motor:grounded", "ignition_trial", "heating"),
        ("blower_capacitor:lead_on_chassis", "ignition_trial", "heating"),
        ("gas_valve:coil_shorted", "igniter_warm_up", "ignition_trial"),
        ("gas_harness:chafed", "igniter_warm_up", "ignition_trial"),
    ],
)
def test_what_comes_before_the_load_is_seen_where_somebody_watches(
    family: Family, population: Population, fault: str, last_before: str, from_then: str
) -> None:
    """Found dead there is no volt anywhere; watched, all is as on a good furnace until the relay of the load closes, and that step is the last."""
    dead, watched = rows_of(family, population, fault)

    assert len(dead)
    assert len(watched)
    assert (values(population, "r_to_c_at_board", "call", dead) < 1).all()
    assert (values(population, "r_to_c_at_board", last_before, watched) > LIVE).all()
    assert {population.steps[n] for n in population.stops[watched]} == {from_then}
    assert {population.steps[n] for n in population.stops[dead]} == {"call"}


@pytest.mark.parametrize("fault", ["igniter:grounded", "inducer:grounded", "blower_motor:grounded", "gas_valve:coil_shorted", "outdoor_circuit:shorted"])
def test_it_is_found_open_afterwards_either_way(family: Family, population: Population, fault: str) -> None:
    """With the power off the breaker is found tripped or the fuse blown, watched or not, and the short is there to be measured."""
    rows = np.concatenate(rows_of(family, population, fault))
    tripped = fault.endswith("grounded")

    assert set(words(family, population, "breaker_position", "power_off", rows)) == {"tripped" if tripped else "closed"}
    assert set(words(family, population, "fuse_looks", "power_off", rows)) == {"good" if tripped else "blown"}


def test_the_short_is_measured_where_it_was_watched(family: Family, population: Population) -> None:
    for name, fault in (("igniter_to_chassis_ohms", "igniter:grounded"), ("inducer_to_case_ohms", "inducer:grounded")):
        assert (values(population, name, "power_off", np.concatenate(rows_of(family, population, fault))) < 10).all()


def test_by_turns_the_load_is_seen_to_begin(family: Family, population: Population) -> None:
    """An igniter that comes to touch metal as it heats has glowed; one that touches at once has not."""
    _, watched = rows_of(family, population, "igniter:grounded")

    assert set(words(family, population, "igniter_glows", "igniter_warm_up", watched)) == {"yes", "no"}


def test_other_calls_trip_only_by_their_own_load(family: Family, population: Population) -> None:
    """The fan runs with a grounded igniter once the breaker is in again, and trips it with a grounded blower."""
    for fault in ("igniter:grounded", "inducer_harness:chafed", "blower_motor:grounded", "blower_capacitor:lead_on_chassis"):
        dead, watched = rows_of(family, population, fault)
        runs = not fault.startswith("blower")
        for call in ("fan_call", "cooling_call"):
            assert ("no" not in words(family, population, "blower_runs", call, watched)) == runs, (fault, call)
            assert set(words(family, population, "blower_runs", call, dead)) == {"no"}


def test_a_furnace_that_went_dark_in_a_call_was_not_dead(family: Family, population: Population) -> None:
    dead, watched = rows_of(family, population, "igniter:grounded")

    assert set(words(family, population, "whole_furnace", WHOLE_CALL, dead)) == {"dead"}
    assert set(words(family, population, "whole_furnace", WHOLE_CALL, watched)) == {"does_something"}


def test_no_heat_call_shows_a_short_that_only_another_call_feeds(family: Family, population: Population) -> None:
    """With a new fuse a furnace with a shorted outdoor cable heats; the fuse blows on the cooling call."""
    dead, watched = rows_of(family, population, "outdoor_circuit:shorted")

    assert (values(population, "r_to_c_at_board", "heating", watched) > LIVE).all()
    assert (values(population, "r_to_c_at_board", "cooling_call", watched) < 1).all()
    assert (values(population, "r_to_c_at_board", "call", dead) < 1).all()


JOINED = ("starts_when_joined_at_board", "starts_with_thermostat_wires_off", "starts_when_joined_at_thermostat")


@pytest.mark.parametrize("fault", ["igniter:grounded", "gas_valve:coil_shorted", "outdoor_circuit:shorted", "blower_motor:grounded"])
@pytest.mark.parametrize("joined", JOINED)
def test_what_is_tried_begins_as_the_call_does(family: Family, population: Population, fault: str, joined: str) -> None:
    """By Ohm's law: found dead nothing starts by a wire from R to W; with its supply back it starts as far as the call itself does."""
    dead, watched = rows_of(family, population, fault)

    assert set(words(family, population, joined, WHOLE_CALL, dead)) == {"no"}
    assert set(words(family, population, joined, WHOLE_CALL, watched)) == {"yes"}
    assert set(words(family, population, "inducer_runs", "inducer_start", watched)) == {"yes"}


@pytest.mark.parametrize("joined", JOINED)
def test_a_wire_starts_nothing_that_trips_as_it_starts(family: Family, population: Population, joined: str) -> None:
    """The inducer's own short takes the supply away with the first relay, by whatever the call is made."""
    assert set(words(family, population, joined, WHOLE_CALL, np.concatenate(rows_of(family, population, "inducer:grounded")))) == {"no"}


def test_the_wires_off_take_a_short_in_the_cable_away(family: Family, population: Population) -> None:
    """W shorted in the cable: a wire from R to W at the board feeds it too, until the cable is off."""
    _, watched = rows_of(family, population, "thermostat_cable:w_shorted")

    assert set(words(family, population, "starts_with_thermostat_wires_off", WHOLE_CALL, watched)) == {"yes"}
    assert "no" in words(family, population, "starts_when_joined_at_board", WHOLE_CALL, watched)


def test_the_blower_answers_a_wire_unless_it_is_the_short(family: Family, population: Population) -> None:
    for fault, answers in (("igniter:grounded", {"yes"}), ("blower_motor:grounded", {"no"})):
        _, watched = rows_of(family, population, fault)
        assert set(words(family, population, "fan_when_r_g_joined_at_board", WHOLE_CALL, watched)) == answers


def test_a_fuse_is_tried_where_it_was_found_blown(family: Family, population: Population) -> None:
    """Whether somebody had put one in before or not."""
    rows = np.concatenate(rows_of(family, population, "gas_valve:coil_shorted"))

    assert set(words(family, population, "fuse_blows_again", WHOLE_CALL, rows)) == {"on_heat_call"}


def test_about_as_many_are_watched_as_are_found_dead(family: Family, population: Population) -> None:
    """By the family's own share; whoever tells of the call has watched one."""
    dead, watched = rows_of(family, population, "igniter:grounded")

    assert abs(len(watched) - family.machines.reset_and_watched_share.value * (len(dead) + len(watched))) < 1


@pytest.mark.parametrize(
    ("fault", "point"),
    [
        ("igniter:opens_when_hot", "igniter_ohms"),
        ("gas_valve:coil_opens_when_hot", "gas_valve_coil_ohms"),
        ("inducer:stops_when_warm", "inducer_winding_ohms"),
    ],
)
def test_what_opens_hot_mostly_reads_good_with_the_power_off(population: Population, fault: str, point: str) -> None:
    """It closes as it cools; read at once after it failed it may still be open. Common practice, no source."""
    rows = np.flatnonzero(population.fault_of == [str(f) for f in population.faults].index(fault))
    open_ = np.isinf(values(population, point, "power_off", rows))

    assert 0 < open_.sum() < len(rows) / 4
