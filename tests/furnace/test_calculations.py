"""Calculations: the table fits the rules, and whatever is typed gives values or a plain word. Figures: tests/reference/test_calculations.py."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from furnace_diag.furnace.calculations import CALCULATIONS, LONGEST_LINE, Calculation, evaluate, pairs
from furnace_diag.knowledge.models import Knowledge
from furnace_diag.problems import BadInput
from furnace_diag.quantities import UNITS, parse_quantity

every_calculation = pytest.mark.parametrize("chosen", CALCULATIONS.values(), ids=lambda c: c.name)


def examples(chosen: Calculation) -> dict[str, str]:
    return {i.name: i.example for i in chosen.inputs}


def refused(name: str, **inputs: str) -> str:
    with pytest.raises(BadInput) as caught:
        evaluate(name, inputs)
    return str(caught.value)


@every_calculation
def test_the_examples_give_every_value_with_formula_and_source(chosen: Calculation) -> None:
    result = evaluate(chosen.name, examples(chosen))

    assert [v.name for v in result.values] == [o.name for o in chosen.outputs]
    assert all(v.formula and v.source for v in result.values)


@every_calculation
def test_what_is_needed_is_enough(chosen: Calculation) -> None:
    assert evaluate(chosen.name, {i.name: i.example for i in chosen.inputs if i.needed}).values


@every_calculation
def test_names_stand_for_one_thing(chosen: Calculation) -> None:
    inputs, outputs = [i.name for i in chosen.inputs], [o.name for o in chosen.outputs]
    shared = set(inputs) & {n for o in chosen.outputs for n in o.of.values()}

    assert len({*inputs, *outputs}) == len(inputs) + len(outputs)
    assert shared == set(inputs)  # nothing is asked for in vain


@every_calculation
def test_what_it_names_stands_in_the_rules(chosen: Calculation, knowledge: Knowledge) -> None:
    assert set(chosen.cautions) <= set(knowledge.caution)
    assert chosen.see is None or knowledge.entry(chosen.see) is not None
    if chosen.takes:
        output, point = chosen.takes
        assert knowledge.point[point].unit == next(o.unit for o in chosen.outputs if o.name == output)
        assert set(knowledge.point[point].cautions) & set(chosen.cautions)


def test_some_results_can_be_taken_as_readings() -> None:
    rise = evaluate("rise", {"supply": "about 140", "return": "20 C"}).takes
    capacitor = evaluate("capacitor", {"amps": "1.4", "volts": "370"}).takes

    assert rise is not None
    assert (rise.point, rise.value) == ("temperature_rise", "about 72 F")
    assert parse_quantity(rise.value, "F_diff").approximate
    assert capacitor is not None
    assert parse_quantity(capacitor.value, "uF").value == pytest.approx(1.4e6 / (2 * math.pi * 60 * 370), rel=5e-4)  # four figures


def test_values_that_want_what_was_left_out_are_left_out() -> None:
    assert [v.name for v in evaluate("gas", {"time": "36", "dial": "1", "heating": "1000"}).values] == ["gas", "flow", "input"]


@pytest.mark.parametrize(
    ("name", "inputs", "says"),
    [
        ("gas", {"time": "0", "dial": "1", "heating": "1000"}, "time=0 s is outside the range of the formula for the gas flow."),
        ("gas", {"time": "30", "dial": "1", "heating": "0"}, "heating=0 Btu/ft3 is outside"),
        ("gas", {"time": "30", "dial": "1", "turns": "0", "heating": "1000"}, "turns=0 is outside"),
        ("gas", {"time": "30", "dial": "0", "turns": "0", "heating": "1000"}, "dial=0 ft3 and turns=0 are outside"),
        ("gas", {"time": "30", "dial": "1", "heating": "1000", "plate": "80k", "altitude": "26000"}, "altitude=26000 ft is outside"),
        ("co", {"co": "87", "oxygen": "20.9"}, "oxygen=20.9 % is outside the range of the formula for the carbon monoxide. Likely would be oxygen=5 %."),
        ("wire", {"length": "50", "amps": "1", "gauge": "10"}, "gauge=10 AWG is outside"),
        ("wire", {"length": "-50", "amps": "1"}, "length=-50 ft is outside"),
        ("wire", {"length": "1000", "amps": "5", "volts": "24"}, "volts=24 V do not go together"),
        ("airflow", {"input": "75k", "efficiency": "101", "rise": "45"}, "efficiency=101 % is outside"),
        ("airflow", {"input": "75k", "efficiency": "80", "rise": "-5"}, "rise=-5 F is outside"),
        ("manifold", {"pressure": "3", "rated": "0"}, "rated=0 in. w.c. is outside"),
        ("capacitor", {"amps": "9", "volts": "1e-309"}, "volts="),
        ("capacitor", {"amps": "100", "volts": "1"}, "The capacitance would be outside 0 to 1,000 uF. Check amps, volts and hertz."),
        ("rise", {"supply": "140"}, "return is missing: return air. Add for instance return=70F."),
        ("rise", {"supply": "140", "retrun": "70"}, "rise takes nothing called retrun. Did you mean return?"),
        ("rise", {"supply": "24 V", "return": "70"}, 'supply: "24 V" is in V, but this reading is in F. Type it in F, such as 140 F'),
        ("rise", {"supply": "hot", "return": "70"}, 'supply: "hot" is not a number.'),
        ("ries", {}, "There is no calculation called ries. Did you mean rise?"),
        ("zzz", {}, "Use one of: rise, airflow, gas"),
    ],
)
def test_what_is_wrong_is_told_with_the_input_at_fault(name: str, inputs: dict[str, str], says: str) -> None:
    assert says in refused(name, **inputs)


def test_all_that_is_wrong_is_told_at_once() -> None:
    assert len(refused("gas", time="soon", dial="2 V", colour="red").splitlines()) == 4


@pytest.mark.parametrize("line", ["supply=140 return=68", "supply = 140 return= 68", "  SUPPLY=140   Return=68 ", "supply=140 F return=20 C"])
def test_a_line_is_read_however_it_is_spaced(line: str) -> None:
    assert evaluate("rise", pairs(line)).values[0].value == 72


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("140 return=68", "140 has no name. Write name=value"),
        ("supply=140 supply=141", "supply is given twice"),
        ("=", "= has no name"),
        ("x" * (LONGEST_LINE + 1), "is too long"),
        ("\x1b[2J", "\\x1b[2J has no name"),
    ],
)
def test_a_line_that_is_none_is_told_so(line: str, says: str) -> None:
    with pytest.raises(BadInput) as caught:
        pairs(line)

    assert says in str(caught.value)


anything = st.one_of(st.text(max_size=12), st.floats().map(str), st.sampled_from(["0", "1e-300", "9e9", "OL", "-5", "1/2", "1:30", "about 3", "20 C"]))


@given(st.sampled_from(sorted(CALCULATIONS)), st.data())
def test_whatever_is_typed_gives_readable_values_or_a_plain_word(name: str, data: st.DataObject) -> None:
    chosen = CALCULATIONS[name]
    inputs = examples(chosen) | data.draw(st.dictionaries(st.sampled_from([i.name for i in chosen.inputs]), anything))
    try:
        result = evaluate(name, inputs)
    except BadInput as bad:
        assert all(p.message and p.fix for p in bad.problems)
        assert "\x1b" not in str(bad)
        return
    for value in result.values:
        assert math.isfinite(value.value)
        assert len(value.text) < 40
        assert value.unit not in UNITS or UNITS[value.unit].lowest <= value.value <= UNITS[value.unit].highest
    if result.takes:
        parse_quantity(result.takes.value, next(v.unit for v in result.values if v.name == chosen.takes[0]))
