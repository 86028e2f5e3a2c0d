"""Quantities as technicians type them."""

from __future__ import annotations

import copy
import math
import pickle
from collections.abc import Callable

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from furnace_diag.quantities import (
    LONGEST_TEXT,
    UNITS,
    BadQuantity,
    Quantity,
    format_quantity,
    names_unit,
    parse_quantity,
    spells_unit,
)

KNOWN = st.sampled_from(sorted(UNITS))
HALF_A_FOURTH_DIGIT = 5e-4  # relative: four significant digits are shown


def read(text: str, unit: str) -> float:
    return parse_quantity(text, unit).value


def refused(text: str, unit: str) -> BadQuantity:
    with pytest.raises(BadQuantity) as caught:
        parse_quantity(text, unit)
    return caught.value


@pytest.mark.parametrize(("text", "unit"), [("0.8 ohm", "ohm"), ("OL", "ohm"), ("about 3 k", "ohm"), ("24 VAC", "V"), ("900 mA", "A"), ("7.5 mfd", "uF")])
def test_a_figure_may_tell_its_unit(text: str, unit: str) -> None:
    assert names_unit(text, unit)


@pytest.mark.parametrize(
    ("text", "unit"), [("0.8", "ohm"), ("-1.05", "in_wc"), ("open", "ohm"), ("nothing", "V"), ("24 V", "ohm"), ("OL", "V"), ("0.8 m", "ohm"), ("", "V")]
)
def test_a_bare_figure_another_unit_or_a_word_does_not_tell_it(text: str, unit: str) -> None:
    """ "Open" is said of switches by people who hold no meter."""
    assert not names_unit(text, unit)


# Plain readings: the value stands in the text, or follows from what milli, micro, kilo and mega mean (SI
# Brochure, 9th ed., Table 7) and from 60 s to the minute, 60 min to the hour (Table 8).
@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("24.6", "V", 24.6),
        ("  24.6 ", "V", 24.6),
        (".5", "V", 0.5),
        ("24.", "V", 24),
        ("+24", "V", 24),
        ("-0", "V", 0),
        ("1.2e1", "V", 12),
        ("24 VAC", "V", 24),
        ("24 v ac", "V", 24),
        ("24v", "V", 24),
        ("120 volts", "V", 120),
        ("750 mV", "V", 0.75),
        ("24 MV", "V", 0.024),
        ("0.12 kV", "V", 120),
        ("3.2 amps", "A", 3.2),
        ("450 mA", "A", 0.45),
        ("0.8 uA", "uA", 0.8),
        ("0.8 \N{MICRO SIGN}A", "uA", 0.8),
        ("0.8 \N{GREEK SMALL LETTER MU}A", "uA", 0.8),
        ("0.8 microamps", "uA", 0.8),
        ("0.8 uA DC", "uA", 0.8),
        ("800 nA", "uA", 0.8),
        ("0.003 mA", "uA", 3),
        ("47", "ohm", 47),
        ("47 \N{OHM SIGN}", "ohm", 47),
        ("47 \N{GREEK CAPITAL LETTER OMEGA}", "ohm", 47),
        ("1.2k", "ohm", 1200),
        ("1.2 kohm", "ohm", 1200),
        ("1.2 K\N{OHM SIGN}", "ohm", 1200),
        ("1.2 Mohm", "ohm", 1.2e6),
        ("1.2 M", "ohm", 1.2e6),
        ("1.2 megohm", "ohm", 1.2e6),
        ("1.2 MEG", "ohm", 1.2e6),
        ("50 milliohm", "ohm", 0.05),
        ("7.5 mfd", "uF", 7.5),
        ("7.5 MFD", "uF", 7.5),
        ("7.5uF", "uF", 7.5),
        ("7.5 \N{MICRO SIGN}F", "uF", 7.5),
        ("7500 nF", "uF", 7.5),
        ("140", "F", 140),
        ("140 °F", "F", 140),
        ("140 deg F", "F", 140),
        ("140 degrees", "F", 140),
        ("-10 F", "F", -10),
        ("-5", "F_diff", -5),
        ("90 s", "s", 90),
        ("1:30", "s", 90),
        ("0:05.5", "s", 5.5),
        ("90:00", "s", 5400),
        ("1:02:03", "s", 3723),
        ("1.5 min", "s", 90),
        ("2 h", "s", 7200),
        ("2 hours", "s", 7200),
        ("35 ppm", "ppm", 35),
        ("80%", "percent", 80),
        ("1200 CFM", "cfm", 1200),
        ("40 VA", "VA", 40),
        ("80k", "btu_h", 80_000),
        ("80 MBH", "btu_h", 80_000),
        ("78 cfh", "ft3_h", 78),
        ("78 ft³/h", "ft3_h", 78),
        ("2 ft3/min", "ft3_h", 120),
        ("3 flashes", "count", 3),
        ("50'", "ft", 50),
        ("-280 feet", "ft", -280),
        ("2 cu. ft.", "ft3", 2),
        ("1/2 ft³", "ft3", 0.5),
        ("¼", "ft3", 0.25),
        ("1036 Btu/cu ft", "btu_ft3", 1036),
        ("60 hertz", "Hz", 60),
        ("18 ga", "awg", 18),
    ],
)
def test_what_people_type_is_read(text: str, unit: str, value: float) -> None:
    quantity = parse_quantity(text, unit)

    assert quantity.value == pytest.approx(value, rel=1e-11, abs=0)
    assert quantity == Quantity(quantity.value, unit, approximate=False)


@pytest.mark.parametrize(
    "text",
    [
        *(
            "3.5 in wc",
            '3.5"',
            "3.5 inwc",
            "3.5 in. w.c.",
            "3.5 w.c.",
            '3.5" w.c.',
            "3.5 inches of water column",
        ),
        *(
            "3.5",
            "3.5 inH\N{SUBSCRIPT TWO}O",
            "3.5 in h2o",
            "3.5 WG",
            "3.5\N{DOUBLE PRIME}",
            "3.5 in-wc",
            "3.5 in_wc",
        ),
    ],
)
def test_inches_of_water_have_many_spellings(text: str) -> None:
    assert read(text, "in_wc") == 3.5


# NIST SP 811 (2008) App. B.8: 1 inch of water (conventional) = 249.0889 Pa, 1 psi = 6894.757 Pa, 1 mbar =
# 100 Pa. The factors have 7 digits and are taken as exact.
@pytest.mark.parametrize(
    ("text", "pascals"),
    [
        ("870 Pa", 870),
        ("0.87 kPa", 870),
        ("8.7 mbar", 870),
        ("8.7 hPa", 870),
        ("0.126 psi", 0.126 * 6894.757),
        ("3 lbs", 3 * 6894.757),
        ("4 oz", 6894.757 / 4),
    ],
)
def test_pressures_agree_with_nist(text: str, pascals: float) -> None:
    assert read(text, "in_wc") * 249.0889 == pytest.approx(pascals, rel=1e-9)


# NIST SP 811 (2008) App. B.8: 1 Btu (IT) per hour = 0.2930711 W.
@pytest.mark.parametrize(("text", "watts"), [("23 kW", 23_000), ("500 W", 500)])
def test_heat_rates_agree_with_nist(text: str, watts: float) -> None:
    assert read(text, "btu_h") * 0.2930711 == pytest.approx(watts, rel=1e-9)


# NIST SP 811 (2008) App. B.8: t(C) = (t(F) - 32) / 1.8.
@pytest.mark.parametrize(
    ("celsius", "fahrenheit"), [("21 C", 69.8), ("-40 C", -40), ("100 °C", 212), ("0 celsius", 32)]
)
def test_a_temperature_in_celsius_gets_the_offset(celsius: str, fahrenheit: float) -> None:
    assert read(celsius, "F") == fahrenheit


@pytest.mark.parametrize(("celsius", "fahrenheit"), [("21 C", 37.8), ("0 C", 0), ("-10 C", -18)])
def test_a_difference_in_celsius_gets_no_offset(celsius: str, fahrenheit: float) -> None:
    assert read(celsius, "F_diff") == fahrenheit


@pytest.mark.parametrize(
    "text",
    [
        "OL",
        "O.L.",
        "ol",
        "0L",
        "open",
        "Open line",
        "infinite",
        "over limit",
        "OL k\N{OHM SIGN}",
        "OL mohm",
        "∞",
    ],
)
def test_over_limit_is_an_endless_resistance(text: str) -> None:
    assert read(text, "ohm") == math.inf


@pytest.mark.parametrize("unit", sorted(set(UNITS) - {"ohm"}))
def test_over_limit_is_refused_for_everything_but_ohms(unit: str) -> None:
    error = refused("OL", unit)

    assert error.message == f'"OL" is a reading in ohm, not in {unit}.'


@pytest.mark.parametrize(
    "text",
    ["about 24", "~24", "approx 24", "approx. 24 V", "≈ 24", "Around 24 volts", "roughly 24",
     "24ish", "24 ish", "24ish V", "24 V-ish", "bout 24", "'bout 24v", "abt 24"]
)
def test_about_is_kept(text: str) -> None:
    assert parse_quantity(text, "V") == Quantity(24, "V", approximate=True)


@pytest.mark.parametrize("unit", ["V", "A", "uA", "in_wc"])
@pytest.mark.parametrize("text", ["nothing", "None", "zero", "DEAD"])
def test_nothing_is_zero_where_that_can_only_mean_zero(text: str, unit: str) -> None:
    assert parse_quantity(text, unit) == Quantity(0, unit)


def test_a_word_may_carry_its_unit() -> None:
    assert read("zero volts", "V") == 0


@pytest.mark.parametrize("unit", ["ohm", "F", "s", "count"])
def test_nothing_is_refused_where_it_could_mean_something_else(unit: str) -> None:
    assert "does not say" in refused("nothing", unit).message


@pytest.mark.parametrize(
    ("text", "unit"), [("-2.1", "uA"), ("-2.1 uA", "uA"), ("-2.1", "in_wc"), ("\N{MINUS SIGN}2.1", "in_wc")]
)
def test_the_sign_of_suction_and_of_flame_current_is_dropped(text: str, unit: str) -> None:
    assert read(text, unit) == 2.1


@pytest.mark.parametrize("unit", sorted(set(UNITS) - {"F", "F_diff", "ft", "in_wc", "uA"}))
def test_other_readings_cannot_be_below_zero(unit: str) -> None:
    assert "below zero" in refused("-1", unit).message


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("24,6", "V", 24.6),
        ("0,800", "uA", 0.8),
        ("0,8 uA", "uA", 0.8),
        ("1,200.5", "ohm", 1200.5),
        ("1,200,000", "ohm", 1.2e6),
        ("80,000", "btu_h", 80_000),
        ("1,200 cfm", "cfm", 1200),
    ],
)
def test_a_comma_is_read_where_it_can_mean_one_thing(text: str, unit: str, value: float) -> None:
    assert read(text, unit) == value


def test_a_comma_that_could_mean_two_things_is_refused_with_both() -> None:
    error = refused("1,200", "ohm")

    assert error.message == '"1,200" has a comma that could mean two things.'
    assert error.fix == "Type 1200 or 1.200."


@pytest.mark.parametrize("text", ["24,", "1,2,3", "1,20.5", "12,34,567"])
def test_a_comma_in_an_odd_place_is_refused(text: str) -> None:
    assert "odd place" in refused(text, "V").message


@pytest.mark.parametrize(
    "text",
    [
        *(
            "nan",
            "NaN",
            "inf",
            "-inf",
            "",
            " ",
            "V",
            "abc",
            "--24",
            "1e",
            "0x18",
            "24 zork",
            "24/26",
            "24.6.1",
        ),
        *(
            "24²",
            "٢٤",
            "24 ³",
            "24 V V",
            "1_000",
            "24 .",
            "24 ohm",
            "1:30",
            "24 V\x00",
            "\x1b[31m24",
            "__import__('os')",
        ),
    ],
)
def test_what_is_no_voltage_is_refused(text: str) -> None:
    error = refused(text, "V")

    assert error.text == text
    assert error.fix


@pytest.mark.parametrize("unit", sorted(UNITS))
@pytest.mark.parametrize("text", ["1e400", "9" * 60, "1e10", "nan", "inf"])
def test_no_meter_shows_such_figures(text: str, unit: str) -> None:
    assert refused(text, unit).text == text


@pytest.mark.parametrize("unit", sorted(UNITS))
def test_the_limits_themselves_are_readings_and_just_beyond_is_not(unit: str) -> None:
    highest = UNITS[unit].highest

    assert read(f"{highest:.0f}", unit) == highest
    assert "outside" in refused(f"{highest + 1:.0f}", unit).message


def test_a_wrong_dimension_names_both_units() -> None:
    error = refused("24 ohm", "V")

    assert error.message == '"24 ohm" is in ohm, but this reading is in V.'
    assert error.fix == "Type it in V, such as 24.6 V; a reading in ohm has another name."


@pytest.mark.parametrize(
    ("text", "unit", "meanings"),
    [
        ("1.2 mohm", "ohm", "milliohm or megohm"),
        ("1.2 m", "ohm", "milliohm or megohm"),
        ("7.5 mF", "uF", "uF or millifarad"),
        ("2 m", "s", "min or ms"),
    ],
)
def test_a_unit_with_two_meanings_is_refused_with_both(text: str, unit: str, meanings: str) -> None:
    assert refused(text, unit).message == f'"{text}" has a unit that could be {meanings}.'


@pytest.mark.parametrize("text", ["1:75", "1:3", "1:30:99", "1:99:00"])
def test_a_clock_has_sixty_seconds_to_the_minute(text: str) -> None:
    assert refused(text, "s").message == f'"{text}" is not minutes:seconds.'


def test_zero_has_no_sign() -> None:
    assert math.copysign(1, read("-0", "V")) == 1


def test_a_count_is_a_whole_number() -> None:
    assert "whole number" in refused("2.5", "count").message


def test_a_pasted_page_is_refused_and_shown_short() -> None:
    error = refused("24 " * LONGEST_TEXT, "V")

    assert "too long" in error.message
    assert len(str(error)) < 200


def test_an_error_shows_no_control_characters_and_survives_pickling() -> None:
    error = refused("\x1b[31m24", "V")

    assert str(error).startswith(r'"\x1b[31m24" is not a number. Type one number')
    assert str(pickle.loads(pickle.dumps(error))) == str(copy.copy(error)) == str(error)


@pytest.mark.parametrize(
    "call", [lambda: parse_quantity("1", "furlong"), lambda: format_quantity(1, "furlong")]
)
def test_an_unknown_canonical_unit_is_the_callers_mistake(call: Callable[[], object]) -> None:
    with pytest.raises(ValueError, match="furlong") as caught:
        call()

    assert not isinstance(caught.value, BadQuantity)


@pytest.mark.parametrize("unit", sorted(UNITS))
def test_the_example_in_a_message_can_be_typed(unit: str) -> None:
    first = UNITS[unit].example.split(", ")[0]

    assert read(first, unit) >= 0


# By hand from the rule in the docstring: four significant digits, a unit that keeps the figures short.
@pytest.mark.parametrize(
    ("value", "unit", "shown", "in_ascii"),
    [
        (24.6, "V", "24.6 V", "24.6 V"),
        (0, "V", "0 V", "0 V"),
        (0.0123, "V", "12.3 mV", "12.3 mV"),
        (0.8, "uA", "0.8 µA", "0.8 uA"),
        (0.45, "A", "0.45 A", "0.45 A"),
        (0.0000008, "A", "0.8 µA", "0.8 uA"),
        (math.inf, "ohm", "OL", "OL"),
        (47.04, "ohm", "47.04 Ω", "47.04 ohm"),
        (1_234_567, "ohm", "1.235 MΩ", "1.235 Mohm"),
        (4_700, "ohm", "4.7 kΩ", "4.7 kohm"),
        (7.5, "uF", "7.5 µF", "7.5 uF"),
        (-0.0, "F", "0 °F", "0 F"),
        (-10, "F", "-10 °F", "-10 F"),
        (3.5, "in_wc", "3.5 in. w.c.", "3.5 in. w.c."),
        (90, "s", "90 s", "90 s"),
        (150, "s", "2.5 min", "2.5 min"),
        (86_400, "s", "24 h", "24 h"),
        (80_000, "btu_h", "80000 Btu/h", "80000 Btu/h"),
        (78, "ft3_h", "78 ft³/h", "78 ft3/h"),
        (3, "count", "3", "3"),
    ],
)
def test_values_are_shown_short(value: float, unit: str, shown: str, in_ascii: str) -> None:
    assert format_quantity(value, unit) == shown
    assert format_quantity(value, unit, ascii=True) == in_ascii


@pytest.mark.parametrize(("value", "unit"), [(math.nan, "V"), (math.inf, "V"), (-math.inf, "ohm")])
def test_what_is_no_reading_is_not_shown(value: float, unit: str) -> None:
    with pytest.raises(ValueError, match="not a reading"):
        format_quantity(value, unit)


@given(KNOWN, st.floats(0, 1), st.booleans())
def test_what_is_shown_can_be_typed_again(unit: str, share: float, ascii_only: bool) -> None:
    rules = UNITS[unit]
    value = rules.lowest + share * (rules.highest - rules.lowest)
    value = float(round(value)) if unit == "count" else value
    shown = format_quantity(value, unit, ascii=ascii_only)

    # 1e-9: nine decimals are shown at most, after rounding to four digits
    assert read(shown, unit) == pytest.approx(value, rel=HALF_A_FOURTH_DIGIT, abs=1e-9)
    assert shown.isascii() or not ascii_only


@given(st.text(), KNOWN)
@example("1e400", "V")
@example("OL", "ohm")
@example("9" * 79 + "e9", "ohm")
def test_any_text_gives_a_quantity_or_a_plain_refusal(text: str, unit: str) -> None:
    check_any(text, unit)


@given(
    st.lists(
        st.sampled_from(
            [
                *"0123456789.,:-+eE ~\"'/kKmMuµΩ°CFVAhs%",
                "about ",
                "OL",
                "in",
                "wc",
                "min",
                "ohm",
                "nan",
                "inf",
            ]
        ),
        max_size=12,
    ).map("".join),
    KNOWN,
)
def test_anything_like_a_reading_gives_a_quantity_or_a_plain_refusal(text: str, unit: str) -> None:
    check_any(text, unit)


def check_any(text: str, unit: str) -> None:
    try:
        quantity = parse_quantity(text, unit)
    except BadQuantity as error:
        assert error.message
        assert error.fix
    else:
        assert quantity.unit == unit
        within = UNITS[unit].lowest <= quantity.value <= UNITS[unit].highest
        assert within or (unit == "ohm" and quantity.value == math.inf)


@pytest.mark.parametrize(
    ("text", "unit", "middle", "give"),
    [("24 to 26", "V", 25, 1), ("24-26 V", "V", 25, 1), ("between 40 and 60 ohm", "ohm", 50, 10),
     ("2 to 3 uA", "uA", 2.5, 0.5), ("1.4 kohm to 1.6 kohm", "ohm", 1500, 100)],
)
def test_a_range_is_its_middle_and_approximate(text, unit, middle, give):
    quantity = parse_quantity(text, unit)

    assert quantity.value == pytest.approx(middle)
    assert quantity.approximate
    assert quantity.give == pytest.approx(give)


def test_a_reading_that_swings_is_no_single_figure():
    """Half way between dead and live is neither of them."""
    with pytest.raises(BadQuantity, match="swings"):
        parse_quantity("0 to 24 V", "V")


@pytest.mark.parametrize("text", [">24", "over 24", "less than 1", "at least 20 V", "<= 2"])
def test_a_bound_is_no_reading(text):
    """Over 24 V may be 120 V: taken at its bound it would meet bands that the reading need not lie in."""
    with pytest.raises(BadQuantity, match="side"):
        parse_quantity(text, "V")


@pytest.mark.parametrize(("word", "spelled"), [("vac", True), ("mfd", True), ("kohm", True), ("Ω", True), ("at", False), ("in", False), ("w", False)])
def test_a_word_that_spells_a_unit(word: str, spelled: bool) -> None:
    assert spells_unit(word, ("V", "A", "ohm", "uF")) is spelled
