"""What reads at both ends of what a failure opens, held against the wiring's own voltages."""

from __future__ import annotations

import numpy as np
import pytest

from furnace_diag.furnace.bracket import Bracket
from furnace_diag.furnace.built import Population
from furnace_diag.furnace.family import Fault

LOST = 5.0  # V: more than a good conductor or contact of these furnaces loses, less than what an open one takes from a load

# the two ends of some wires, contacts and plugs as a technician reads them; common practice, no source
READ_AT = {
    "limit_switch:will_not_close": {"across_limit"},
    "wiring_harness:string_open": {"r_to_c_at_board", "limit_feed_to_c"},
    "board_plug:heat_contact_open": {"heat_terminal_to_neutral", "heat_spade_to_neutral"},
    "gas_harness:open": {"gas_wire_to_c", "gas_valve_volts"},
    "thermostat_cable:w_open": {"w_to_c_at_thermostat", "w_to_c_at_board"},
}


@pytest.fixture(scope="module")
def bracket(evidence) -> Bracket:
    return evidence.bracket


@pytest.mark.parametrize("failure", READ_AT)
def test_ends_as_the_trade_reads_them(failure: str, bracket: Bracket) -> None:
    assert {*bracket.of(Fault(*failure.split(":")))} == READ_AT[failure]


def test_what_opens_nothing_or_several_things_has_no_ends(bracket: Bracket) -> None:
    assert bracket.of(Fault("blower_capacitor", "weak")) == ()
    assert bracket.of(Fault("blower_wiring", "heat_lead_on_low_tap")) == ()


def test_a_failure_that_nobody_knows_is_an_error(bracket: Bracket) -> None:
    with pytest.raises(KeyError):
        bracket.of(Fault("blower_motor", "no_such_failure"))


def _opened(bracket: Bracket) -> list[Fault]:
    return [f for f in bracket.family.faults if bracket.of(f) and any(e.is_ == "open" for e in bracket.family.failure(f).effects)]


def _columns(population: Population, names: tuple[str, ...], rows: np.ndarray) -> list[np.ndarray]:
    """Of each step at which all *names* are read with a usual meter, their readings; shape (names, rows)."""
    keys = {(step, meter) for name, step, meter in population.columns if name in names and meter != "low"}
    able = [[population.columns.get((name, step, meter)) for name in names] for step, meter in sorted(keys)]
    return [population.table[np.array(c)][:, rows].astype(float) for c in able if None not in c]


def test_open_volts_are_lost_between_the_ends_and_on_a_good_furnace_they_are_not(bracket: Bracket, evidence) -> None:
    """Kirchhoff's voltage law: around any loop the volts add up to nothing, so what one end has and the other lacks is lost between them."""
    population, faults = evidence.population, [f for f in _opened(bracket) if bracket.family.failure(f).comes_and_goes is None]
    good = np.flatnonzero(population.fault_of < 0)
    never = []
    for fault in faults:
        rows = np.flatnonzero(population.fault_of == population.faults.index(fault))
        lost = [_lost(readings) for readings in _columns(population, bracket.of(fault), rows)]
        whole = [_lost(readings) for readings in _columns(population, bracket.of(fault), good)]
        never += [] if any(np.nanmax(each, initial=0) > LOST for each in lost) else [str(fault)]
        element = next(e for e in bracket.family.elements if e.element == bracket.family.failure(fault).effects[0].element)
        if element.kind == "conductor":  # a contact opens on a good furnace too
            assert all(np.nanmax(each, initial=0) < LOST for each in whole), fault

    assert len(faults) > 40
    assert not never


def _lost(readings: np.ndarray) -> np.ndarray:
    """Volts across, or the difference of the two ends; shape (rows,)."""
    return np.abs(readings[0]) if len(readings) == 1 else np.abs(np.abs(readings[0]) - np.abs(readings[1]))
