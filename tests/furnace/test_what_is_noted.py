"""What is noted of a step is what somebody would read in it: the furnace as it stands there, not as it comes to it or goes."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from furnace_diag.furnace.family import Family
from furnace_diag.furnace.population import Key, Population
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
