"""Shapes, limits, inverses and laws of the formulas; their figures: tests/reference/test_arithmetic.py."""

import inspect
import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose, assert_array_equal

from furnace_diag.furnace import formulas

# Arguments inside every formula's range, by parameter name; each formula is found by looking, so none is left
# out.
GOOD = {
    "amps": 6.0,
    "awg": 18.0,
    "cfm": 1200.0,
    "density": 0.075,
    "dial": 2.0,
    "fahrenheit": 70.0,
    "feet": 2500.0,
    "drop": 0.8,
    "efficiency": 80.0,
    "flow": 90.0,
    "heating_value": 1036.0,
    "humidity_ratio": 0.01,
    "manifold": 3.3,
    "microfarads": 7.5,
    "ohms": 1e6,


    "passages": 0.8,
    "risen": 0.5,
    "constant": 3.0,
    "shut_off": 2.2,
    "output": 60_000.0,
    "oxygen": 6.0,
    "part": 60.0,
    "plate": 80_000.0,
    "ppm": 87.0,
    "psia": 14.0,
    "rate": 75_000.0,
    "rated": 3.5,
    "returned": 65.0,
    "rating": 3.0,
    "regulation": 0.1,
    "rise": 45.0,
    "seconds": 30.0,
    "share": 0.8,
    "specific_heat": 0.24,
    "supply": 115.0,
    "turns": 2.0,
    "va": 40.0,
    "vmax": 26.4,
    "volts": 240.0,
    "whole": 80.0,
    "factor": 1.08,
    "hertz": 60.0,
    "left": 50.0,
}

# What lies outside: (formula, parameter, values that give nan). "Not above zero" and "below zero" are spelled
# out.
NOT_ABOVE_ZERO = (0.0, -1.0)
BELOW_ZERO = (-1e-9, -1.0)
OUTSIDE = [
    ("gas_flow", "seconds", NOT_ABOVE_ZERO),
    ("gas_flow", "dial", NOT_ABOVE_ZERO),
    ("gas_input", "flow", BELOW_ZERO),
    ("gas_input", "heating_value", NOT_ABOVE_ZERO),
    ("gas_passed", "dial", NOT_ABOVE_ZERO),
    ("gas_passed", "turns", NOT_ABOVE_ZERO),
    ("heat_output", "rate", BELOW_ZERO),
    ("heat_output", "efficiency", (*BELOW_ZERO, 100.001)),
    ("allowed_input", "plate", NOT_ABOVE_ZERO),
    ("allowed_input", "feet", (25_000.0, 40_000.0)),
    ("input_at_share", "plate", NOT_ABOVE_ZERO),
    ("input_at_share", "share", BELOW_ZERO),
    ("percent_of", "part", BELOW_ZERO),
    ("percent_of", "whole", NOT_ABOVE_ZERO),
    ("measured_rise", "supply", (-459.67, -500.0)),
    ("measured_rise", "returned", (-459.67, -500.0)),
    ("voltage_drop", "amps", BELOW_ZERO),
    ("voltage_drop", "ohms", BELOW_ZERO),
    ("voltage_left", "volts", (*BELOW_ZERO, 0.7)),
    ("voltage_left", "drop", (*BELOW_ZERO, 240.001)),
    ("apparent_power", "volts", BELOW_ZERO),
    ("apparent_power", "amps", BELOW_ZERO),
    ("input_fraction", "manifold", BELOW_ZERO),
    ("input_fraction", "rated", NOT_ABOVE_ZERO),
    ("fan_pressure", "rated", BELOW_ZERO),
    ("fan_pressure", "share", BELOW_ZERO),
    ("altitude_input_factor", "feet", (25_000.0, 40_000.0)),
    ("standard_pressure", "feet", (-16_501.0, 36_001.0)),
    ("dry_air_density", "fahrenheit", (-459.67, -500.0)),
    ("dry_air_density", "psia", NOT_ABOVE_ZERO),
    ("moist_air_specific_heat", "humidity_ratio", BELOW_ZERO),
    ("sensible_heat_factor", "density", NOT_ABOVE_ZERO),
    ("sensible_heat_factor", "specific_heat", NOT_ABOVE_ZERO),
    ("air_factor", "feet", (-16_501.0, 36_001.0)),
    ("air_factor", "fahrenheit", (-459.67, -500.0)),
    ("airflow", "output", BELOW_ZERO),
    ("airflow", "rise", NOT_ABOVE_ZERO),
    ("airflow", "factor", NOT_ABOVE_ZERO),


    ("fan_flow", "passages", BELOW_ZERO),
    ("fan_flow", "shut_off", (0.99, 0.0, -1.0)),
    ("rise_seconds", "risen", (-0.01, 1.01)),
    ("rise_seconds", "constant", NOT_ABOVE_ZERO),
    ("temperature_rise", "output", BELOW_ZERO),
    ("temperature_rise", "cfm", NOT_ABOVE_ZERO),
    ("temperature_rise", "factor", NOT_ABOVE_ZERO),
    ("capacitor_microfarads", "amps", BELOW_ZERO),
    ("capacitor_microfarads", "volts", NOT_ABOVE_ZERO),
    ("capacitor_microfarads", "hertz", NOT_ABOVE_ZERO),
    ("capacitor_current", "microfarads", BELOW_ZERO),
    ("capacitor_current", "volts", BELOW_ZERO),
    ("capacitor_current", "hertz", NOT_ABOVE_ZERO),
    ("bleed_ohms", "volts", BELOW_ZERO),
    ("bleed_ohms", "microfarads", NOT_ABOVE_ZERO),
    ("bleed_ohms", "seconds", NOT_ABOVE_ZERO),
    ("bleed_ohms", "left", NOT_ABOVE_ZERO),
    ("discharge_seconds", "volts", BELOW_ZERO),
    ("discharge_seconds", "microfarads", NOT_ABOVE_ZERO),
    ("discharge_seconds", "ohms", NOT_ABOVE_ZERO),
    ("discharge_seconds", "left", NOT_ABOVE_ZERO),
    ("loop_ohms", "feet", BELOW_ZERO),
    ("loop_ohms", "awg", (11.0, 25.0)),
    ("transformer_source_ohms", "volts", NOT_ABOVE_ZERO),
    ("transformer_source_ohms", "va", NOT_ABOVE_ZERO),
    ("transformer_source_ohms", "regulation", BELOW_ZERO),
    ("class2_overcurrent_limit", "vmax", (*NOT_ABOVE_ZERO, 30.001)),
    ("fuse_opening_time", "amps", BELOW_ZERO),
    ("fuse_opening_time", "rating", NOT_ABOVE_ZERO),
    ("co_air_free", "ppm", BELOW_ZERO),
    ("co_air_free", "oxygen", (*BELOW_ZERO, 20.9, 21.0)),
]

positive = st.floats(min_value=1e-3, max_value=1e5)
altitudes = st.floats(min_value=-16_500, max_value=36_000)


def all_formulas():
    """Every public function of the module; fails rather than find none."""
    found = [
        function
        for name, function in inspect.getmembers(formulas, inspect.isfunction)
        if function.__module__ == formulas.__name__ and not name.startswith("_")
    ]
    assert found
    return found


def call(function, **changed):
    """*function* of good arguments but for those *changed*."""
    return function(**{name: GOOD[name] for name in inspect.signature(function).parameters} | changed)


every_formula = pytest.mark.parametrize("function", all_formulas(), ids=lambda function: function.__name__)


class TestEveryFormula:
    @every_formula
    def test_is_finite_inside_its_range(self, function):
        assert np.isfinite(call(function))

    @every_formula
    def test_gives_a_number_for_numbers(self, function):
        assert np.shape(call(function)) == ()

    @every_formula
    def test_array_agrees_with_scalar(self, function):
        for name in inspect.signature(function).parameters:
            values = GOOD[name] * np.array([0.9, 1.0, 1.1])

            array = call(function, **{name: values})

            assert_array_equal(array, [call(function, **{name: value}) for value in values])

    @every_formula
    def test_shapes_broadcast(self, function):
        names = list(inspect.signature(function).parameters)
        shaped = {name: np.full((2,) + (1,) * place, GOOD[name]) for place, name in enumerate(names)}

        array = call(function, **shaped)

        assert_allclose(array, np.full((2,) * len(names), call(function)), rtol=1e-12)

    @every_formula
    def test_takes_lists_and_whole_numbers(self, function):
        name = next(iter(inspect.signature(function).parameters))

        assert np.shape(call(function, **{name: [1, 2, 3]})) == (3,)

    @pytest.mark.parametrize(
        "function", [f for f in all_formulas() if len(inspect.signature(f).parameters) > 1]
    )
    def test_refuses_shapes_that_do_not_broadcast(self, function):
        names = list(inspect.signature(function).parameters)
        with pytest.raises(ValueError, match="broadcast"):
            call(function, **{names[0]: [1.0, 2.0], names[1]: [1.0, 2.0, 3.0]})

    @every_formula
    def test_unknown_stays_unknown(self, function):
        for name in inspect.signature(function).parameters:
            array = call(function, **{name: [np.nan, GOOD[name]]})

            assert_array_equal(np.isnan(array), [True, False])

    @every_formula
    def test_leaves_its_arguments_alone(self, function):
        for name in inspect.signature(function).parameters:
            values = np.array([-1.0, 0.0, GOOD[name]])

            call(function, **{name: values})

            assert_array_equal(values, [-1.0, 0.0, GOOD[name]])

    @every_formula
    def test_says_its_units_and_its_source(self, function):
        first, rest = inspect.getdoc(function).split("\n", 1)

        assert re.search(r"\[.+\]", first)
        assert "Source: " in rest

    def test_outside_is_listed_for_every_argument(self):
        listed = {(name, parameter) for name, parameter, _ in OUTSIDE}

        assert listed == {(f.__name__, p) for f in all_formulas() for p in inspect.signature(f).parameters}

    @pytest.mark.filterwarnings("error")
    @pytest.mark.parametrize(("name", "parameter", "values"), OUTSIDE)
    def test_is_nan_outside_its_range(self, name, parameter, values):
        for value in values:
            array = call(getattr(formulas, name), **{parameter: np.array([value, GOOD[parameter]])})

            assert_array_equal(np.isnan(array), [True, False])


class TestLimitsThatBelongToTheRange:
    """The end of a range that still has a value."""

    @pytest.mark.parametrize(
        ("name", "arguments", "expected"),
        [
            ("gas_input", {"flow": 0.0}, 0.0),
            ("input_fraction", {"manifold": 0.0}, 0.0),
            ("fan_pressure", {"share": 0.0}, 0.0),
            ("airflow", {"output": 0.0}, 0.0),
            ("heat_output", {"efficiency": 100.0}, GOOD["rate"]),
            ("measured_rise", {"supply": 60.0}, -5.0),
            ("voltage_left", {"drop": 240.0}, 0.0),
            ("percent_of", {"part": 0.0}, 0.0),


            ("fan_flow", {"passages": 0.0}, 0.0),
            ("fan_flow", {"passages": 1.0}, 1.0),
            ("rise_seconds", {"risen": 0.0}, 0.0),
            ("rise_seconds", {"risen": 1.0}, np.inf),
            ("temperature_rise", {"output": 0.0}, 0.0),
            ("capacitor_microfarads", {"amps": 0.0}, 0.0),
            ("capacitor_current", {"volts": 0.0}, 0.0),
            ("loop_ohms", {"feet": 0.0}, 0.0),
            ("transformer_source_ohms", {"regulation": 0.0}, 0.0),
            ("co_air_free", {"ppm": 0.0}, 0.0),
            ("co_air_free", {"oxygen": 0.0}, GOOD["ppm"]),
            ("altitude_input_factor", {"feet": -280.0}, 1.0),
            ("discharge_seconds", {"volts": 24.0}, 0.0),
            ("bleed_ohms", {"volts": 24.0}, np.inf),
            ("fuse_opening_time", {"amps": 0.0}, np.inf),
            ("fuse_opening_time", {"amps": formulas.FUSE_NEVER, "rating": 1.0}, np.inf),
            ("fuse_opening_time", {"amps": np.inf}, 0.0),
        ],
    )
    def test_value_at_the_end(self, name, arguments, expected):
        assert_allclose(call(getattr(formulas, name), **arguments), expected, rtol=1e-12)

    def test_class_2_includes_30_volts(self):
        assert np.isfinite(formulas.class2_overcurrent_limit(30.0))

    @pytest.mark.parametrize("feet", [-16_500.0, 36_000.0])
    def test_atmosphere_includes_its_ends(self, feet):
        assert np.isfinite(formulas.standard_pressure(feet))


class TestInverses:
    @given(output=positive, rise=positive, factor=st.floats(0.5, 1.5))
    def test_rise_gives_the_airflow_back(self, output, rise, factor):
        cfm = formulas.airflow(output, rise, factor=factor)

        assert_allclose(formulas.temperature_rise(output, cfm, factor=factor), rise, rtol=1e-12)

    @given(microfarads=positive, volts=positive, hertz=st.floats(40, 100))
    def test_current_gives_the_capacitance_back(self, microfarads, volts, hertz):
        amps = formulas.capacitor_current(microfarads, volts, hertz=hertz)

        assert_allclose(formulas.capacitor_microfarads(amps, volts, hertz=hertz), microfarads, rtol=1e-12)

    @given(volts=st.floats(36, 660), microfarads=positive, seconds=positive, left=st.floats(1, 50))
    def test_bleed_resistor_takes_the_time_it_was_chosen_for(self, volts, microfarads, seconds, left):
        ohms = formulas.bleed_ohms(volts, microfarads, seconds=seconds, left=left)

        assert_allclose(formulas.discharge_seconds(volts, microfarads, ohms, left=left), seconds, rtol=1e-9)

    @given(seconds=positive, dial=positive)
    def test_flow_lasts_as_long_as_the_dial_turns(self, seconds, dial):
        assert_allclose(formulas.gas_flow(seconds, dial) * seconds / 3600, dial, rtol=1e-12)

    @given(manifold=positive, rated=positive)
    def test_square_of_the_fraction_is_the_pressure_ratio(self, manifold, rated):
        assert_allclose(formulas.input_fraction(manifold, rated) ** 2 * rated, manifold, rtol=1e-12)

    @given(volts=st.floats(1, 120), va=positive, regulation=st.floats(0, 0.5))
    def test_source_resistance_drops_the_no_load_voltage_to_the_rating(self, volts, va, regulation):
        drop = va / volts * formulas.transformer_source_ohms(volts, va, regulation)

        assert_allclose(volts * (1 + regulation) - drop, volts, rtol=1e-9)

    @given(ppm=positive, oxygen=st.floats(0, 20))
    def test_air_free_carbon_monoxide_thinned_again_is_the_sample(self, ppm, oxygen):
        assert_allclose(formulas.co_air_free(ppm, oxygen) * (20.9 - oxygen) / 20.9, ppm, rtol=1e-9)


class TestLaws:
    @given(low=altitudes, high=altitudes)
    def test_pressure_never_rises_with_altitude(self, low, high):
        low, high = sorted((low, high))

        assert formulas.standard_pressure(low) >= formulas.standard_pressure(high)

    @given(feet=st.floats(min_value=-2000, max_value=24_999))
    def test_altitude_never_allows_more_than_the_plate(self, feet):
        assert 0 < formulas.altitude_input_factor(feet) <= 1

    @given(low=st.floats(2000.001, 24_999), high=st.floats(2000.001, 24_999))
    def test_altitude_never_allows_more_higher_up(self, low, high):
        low, high = sorted((low, high))

        assert formulas.altitude_input_factor(low) >= formulas.altitude_input_factor(high)

    @given(feet=altitudes, fahrenheit=st.floats(0, 200))
    def test_air_factor_is_made_of_its_parts(self, feet, fahrenheit):
        density = formulas.dry_air_density(fahrenheit, formulas.standard_pressure(feet))

        assert_allclose(formulas.air_factor(feet, fahrenheit=fahrenheit), density * 60 * 0.24, rtol=1e-12)

    @given(ppm=positive, oxygen=st.floats(0.001, 20.8))
    def test_taking_air_out_raises_carbon_monoxide(self, ppm, oxygen):
        assert formulas.co_air_free(ppm, oxygen) > ppm

    @given(vmax=st.floats(0.1, 30))
    def test_class_2_fuse_passes_neither_limit(self, vmax):
        amps = formulas.class2_overcurrent_limit(vmax)

        assert amps == pytest.approx(min(formulas.CLASS_2_POWER / vmax, formulas.CLASS_2_LOW_VOLTS_AMPS))

    @given(awg=st.integers(12, 18))
    def test_six_gauges_finer_is_about_four_times_the_resistance(self, awg):
        ratio = formulas.loop_ohms(100, awg=awg + 6) / formulas.loop_ohms(100, awg=awg)

        assert_allclose(ratio, 4.0, rtol=0.01)  # a rule of thumb: 92**(12/39) is 4.02


class TestFan:
    @given(passages=st.floats(1e-3, 1), shut_off=st.floats(1, 5))
    def test_fan_and_passages_agree_on_the_pressure(self, passages, shut_off):
        flow = formulas.fan_flow(passages, shut_off)

        assert_allclose((flow / passages) ** 2, shut_off - (shut_off - 1) * flow**2, rtol=1e-9)


class TestRise:
    @given(seconds=st.floats(0.1, 20), constant=st.floats(1, 100))
    def test_is_the_time_at_which_the_rise_is_there(self, seconds, constant):
        assert_allclose(formulas.rise_seconds(1 - np.exp(-seconds / constant), constant), seconds, rtol=1e-6)


class TestFuse:
    """Held to the limits the module states (from memory): shows only that the curve is drawn as it says."""

    @pytest.mark.parametrize("rating", [3.0, 5.0])
    @pytest.mark.parametrize(("ratio", "soonest", "latest"), formulas.FUSE_LIMITS[1:])
    def test_opens_in_the_geometric_middle_of_its_limits(self, rating, ratio, soonest, latest):
        seconds = formulas.fuse_opening_time(ratio * rating, rating)

        assert_allclose(seconds / soonest, latest / seconds, rtol=1e-9)

    @given(ratio=st.floats(0, 1.0999), rating=positive)
    def test_never_opens_up_to_110_percent(self, ratio, rating):
        assert formulas.fuse_opening_time(ratio * rating, rating) == np.inf

    @given(low=st.floats(0, 100), high=st.floats(0, 100))
    def test_more_current_never_takes_longer(self, low, high):
        low, high = sorted((low, high))

        assert formulas.fuse_opening_time(high, 3) <= formulas.fuse_opening_time(low, 3)

    def test_halfway_between_two_points_on_logarithmic_axes(self):
        times = formulas.fuse_opening_time([2.0, np.sqrt(2.0 * 3.5), 3.5], 1)

        assert_allclose(times[1] ** 2, times[0] * times[2], rtol=1e-9)

    @given(ratio=st.floats(6, 1000))
    def test_keeps_its_i2t_beyond_600_percent(self, ratio):
        seconds = formulas.fuse_opening_time(ratio, 1)

        assert_allclose(ratio**2 * seconds, 36 * formulas.fuse_opening_time(6, 1), rtol=1e-9)

    def test_is_the_same_for_the_same_share_of_the_rating(self):
        assert_allclose(
            formulas.fuse_opening_time([6, 10], [3, 5]), formulas.fuse_opening_time(2, 1), rtol=1e-12
        )
