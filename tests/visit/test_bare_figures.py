"""A bare figure behind a name that is a sign's, and a reading's for short, is asked about; in a claim it is not taken. All: common practice, no source."""

from __future__ import annotations

import pytest

from furnace_diag.claims.free_text import FreeText
from furnace_diag.claims.guesses import Guesses
from furnace_diag.diagnosis.vocabulary import Vocabulary
from furnace_diag.visit.lines import Reader
from furnace_diag.visit.typed import Typed, Unclear, name_of
from tests.ours import our_rules

VOCABULARY = Vocabulary(our_rules())
READER, FREE = Reader(VOCABULARY), FreeText(VOCABULARY)


@pytest.mark.parametrize(
    ("line", "one", "other"),
    [
        ("outlet 0", "manifold_pressure", "supply_at_furnace"), ("outlet 0 at ignition trial", "manifold_pressure", "supply_at_furnace"),
        ("heat 0", "heat_terminal_to_neutral", "heat_on_call"), ("heat 0 at heating", "heat_terminal_to_neutral", "heat_on_call"),
    ],
)  # fmt: skip
def test_what_may_be_a_reading_or_a_sign_is_asked_for(line: str, one: str, other: str) -> None:
    read = READER.read(line)
    assert isinstance(read, Unclear)
    names = [name_of(typed) for typed in read.choices]
    assert names[0] == one
    assert other in names
    assert all(typed.guessed and typed.weakly for typed in read.choices)
    assert FREE.records(line) == []


@pytest.mark.parametrize("line", ["heat 0 on pin", "heat 0 low pin", "heat 0 low pin at heating"])
def test_what_is_read_on_a_pin_or_with_a_meter_is_no_sign(line: str) -> None:
    read = READER.read(line)
    assert isinstance(read, Unclear)
    assert read.choices[0].record["point"] == "heat_terminal_to_neutral"
    assert not any("sign" in typed.record for typed in read.choices)


@pytest.mark.parametrize(("line", "sign"), [("power 0", "supply_at_furnace"), ("24v 0", "low_voltage_at_board"), ("outlet dead", "supply_at_furnace")])
def test_what_its_readings_say_too_or_a_word_says_is_taken(line: str, sign: str) -> None:
    read = READER.read(line)
    assert isinstance(read, Typed)
    assert (read.record["sign"], read.guessed) == (sign, "")


def test_an_outlet_in_inches_is_no_house_outlet() -> None:
    assert Guesses(FREE).guessed("outlet 0", {"kind": "point", "name": "inlet_pressure", "value": "7 in wc"})[0]["name"] == "manifold_pressure"
    assert Guesses(FREE).guessed("outlet 0", {"kind": "point", "name": "draft", "value": "0.9"}) == []
    assert Guesses(FREE).guessed("outlet 0", {"kind": "point", "name": "gas_valve_volts", "value": "24"}) == []
    assert Guesses(FREE).guessed("outlet 0") == []
