"""What is noted of a step is what somebody would read in it: the furnace as it stands there, not as it comes to it or goes."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from furnace_diag.furnace.family import Family
from furnace_diag.furnace.population import SITES, WHOLE_CALL, Key, Population
from furnace_diag.knowledge.words import words_of

HEALTHY = "healthy"


def noted(population: Population, name: str, step: str, fault: str, meter: str = "") -> NDArray[np.float64]:
    """What is noted on the furnaces with a failure, those left out that never come to the step."""
    key: Key = (name, step, meter)
    number = -1 if fault == HEALTHY else [str(f) for f in population.faults].index(fault)
    off = "@" in name
    table, columns = (population.changed, population.changed_columns) if off else (population.table, population.columns)
    values = table[columns[key]][population.fault_of == number].astype(float)
    return values[~np.isnan(values)]


def words(family: Family, population: Population, sign: str, step: str, fault: str) -> set[str]:
    """The same of a sign, in its words."""
    shows = family.knowledge.sign[sign.partition("@")[0]].shows
    assert shows is not None
    return {words_of(shows, family.sequence)[int(i)] for i in noted(population, sign, step, fault)}


@pytest.mark.parametrize("fault", ["filter:blocked", "blower_motor:seized", "control_board:heat_relay_will_not_close"])
def test_a_limit_that_has_tripped_stands_open_while_the_string_does(family: Family, population: Population, fault: str) -> None:
    """An open switch in a fed string has the feed across it (Kirchhoff), 24 to 30 V of a 24 V transformer."""
    across = noted(population, "across_limit", "chain_open", fault, "high")

    assert len(across) > 16  # most of them trip
    assert ((across > 24) & (across <= 30)).all()
    assert words(family, population, "limit_contact", "chain_open", fault) == {"open"}


@pytest.mark.parametrize("fault", ["filter:blocked", "control_board:heat_relay_will_not_close"])
def test_a_limit_that_has_tripped_is_closed_again_once_it_is_cold(family: Family, population: Population, fault: str) -> None:
    """A limit that resets by itself, and what is read with the power off is read cold: common practice, no source."""
    assert words(family, population, "limit_contact", "power_off", fault) == {"closed"}


@pytest.mark.parametrize("light", ["light_says", "light_says@thermostat_wires_off"])
@pytest.mark.parametrize("fault", ["pressure_switch:will_not_open", "control_board:pressure_input_stuck", "safety_bypass:across_pressure_switch"])
def test_a_control_that_waits_for_the_pressure_switch_to_open_says_so(family: Family, population: Population, fault: str, light: str) -> None:
    """The control checks that the switch is open before it starts the inducer, and tells where it is not: common practice, no source."""
    assert words(family, population, light, "call", fault) == {"pressure_switch_closed"}
    assert words(family, population, light.replace("light_says", "light"), "call", fault) == {"blinking"}


@pytest.mark.parametrize("light", ["light_says", "light_says@thermostat_wires_off"])
@pytest.mark.parametrize("fault", [HEALTHY, "control_board:w_input_dead", "igniter:open"])
def test_a_control_that_goes_through_the_call_or_never_sees_it_has_no_fault_to_tell_in_it(
    family: Family, population: Population, fault: str, light: str
) -> None:
    assert words(family, population, light, "call", fault) == {"no_fault"}

def test_a_flame_that_is_lost_when_something_gets_warm_was_lit_before(family: Family, population: Population) -> None:
    """Heats for a while, then quits: what a coil that opens warm is known by, and wind in a vent. Common practice, no source."""
    for fault in ("gas_valve:coil_opens_when_hot", "vent:downdraft", "inducer:stops_when_warm", "flame_wire:loose"):
        burners = [words_of("burners", family.sequence)[int(i)] for i in noted(population, "burners_light", WHOLE_CALL, fault)]
        seconds = noted(population, "seconds_of_flame", "ignition_trial", fault)

        assert burners.count("stay_lit") + burners.count("go_out_later") >= SITES // 2, fault  # until it is lost, minutes later
        assert "go_out_later" in burners, fault
        assert (seconds > 20).sum() > SITES // 4, fault  # a gust is weak on some


def test_what_sets_in_in_a_call_is_read_by_some_before_and_by_some_after(family: Family, population: Population) -> None:
    """A technician sees it burn, or comes when it has quit and tries anew: then the valve has its 24 V and does not click."""
    fault = "gas_valve:coil_opens_when_hot"
    lit = noted(population, "burners_light", WHOLE_CALL, fault) == words_of("burners", family.sequence).index("go_out_later")
    clicks = noted(population, "gas_valve_clicks", "ignition_trial", fault)
    yes = words_of("valve_clicks", family.sequence).index("yes")

    assert {bool(c) for c in clicks[lit] == yes} == {True, False}
    assert (noted(population, "gas_valve_volts", "ignition_trial", fault, "high") > 18).all()


@pytest.mark.parametrize(("fault", "point"), [("gas_valve:coil_opens_when_hot", "gas_valve_coil_ohms"), ("igniter:opens_when_hot", "igniter_ohms")])
def test_what_opens_hot_reads_open_or_good_with_the_power_off_as_it_has_cooled_or_not(population: Population, fault: str, point: str) -> None:
    """A crack in an igniter can close cold: common practice, no source. So good ohms do not clear it."""
    ohms = noted(population, point, "power_off", fault)
    good = noted(population, point, "power_off", HEALTHY)

    assert np.isinf(ohms).any()
    assert set(ohms[np.isfinite(ohms)]) <= set(good)
    assert np.isfinite(ohms).any()


def test_an_igniter_that_opens_hot_is_dark_with_its_volts_on(family: Family, population: Population) -> None:
    assert words(family, population, "igniter_glows", "igniter_warm_up", "igniter:opens_when_hot") == {"no"}
    assert (noted(population, "igniter_volts_at_plug", "igniter_warm_up", "igniter:opens_when_hot", "high") > 100).all()


@pytest.mark.parametrize(
    ("terminal", "fault", "as_it_is", "lead_off", "both_off"),
    [
        ("heat_terminal", HEALTHY, False, False, False),
        ("heat_terminal", "control_board:heat_relay_will_not_open", True, True, True),
        ("cool_terminal", "control_board:cool_relay_will_not_open", True, True, True),
        ("cool_terminal", "other_control:feeds_cool_tap", True, False, False),
    ],
)
def test_with_lead_and_thermostat_off_a_terminal_is_live_only_by_the_board_itself(
    population: Population, terminal: str, fault: str, *, as_it_is: bool, lead_off: bool, both_off: bool
) -> None:
    """Circuit law: what another control feeds into the lead is gone with the lead; a welded contact feeds the bare terminal, called or not."""
    for off, live in (("", as_it_is), ("@lead_off", lead_off), ("@lead_off+thermostat_wires_off", both_off)):
        read = noted(population, f"{terminal}_to_neutral{off}", "standby", fault, "low")
        assert len(read)
        assert ((read > 90) if live else (read < 10)).all(), off
