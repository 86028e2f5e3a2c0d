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
    "cfm": 1200.0,
    "manifold": 3.3,
    "passages": 0.8,
    "shut_off": 2.2,
    "output": 60_000.0,
    "rated": 3.5,
    "rating": 3.0,
    "share": 0.8,
    "factor": 1.08,
}

# What lies outside: (formula, parameter, values that give nan). "Not above zero" and "below zero" are spelled
# out.
NOT_ABOVE_ZERO = (0.0, -1.0)
BELOW_ZERO = (-1e-9, -1.0)
OUTSIDE = [
    ("input_fraction", "manifold", BELOW_ZERO),
    ("input_fraction", "rated", NOT_ABOVE_ZERO),
    ("fan_pressure", "rated", BELOW_ZERO),
    ("fan_pressure", "share", BELOW_ZERO),
    ("fan_flow", "passages", BELOW_ZERO),
    ("fan_flow", "shut_off", (0.99, 0.0, -1.0)),
    ("temperature_rise", "output", BELOW_ZERO),
    ("temperature_rise", "cfm", NOT_ABOVE_ZERO),
    ("temperature_rise", "factor", NOT_ABOVE_ZERO),
    ("fuse_opening_time", "amps", BELOW_ZERO),
    ("fuse_opening_time", "rating", NOT_ABOVE_ZERO),
]

positive = st.floats(min_value=1e-3, max_value=1e5)


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
            ("input_fraction", {"manifold": 0.0}, 0.0),
            ("fan_pressure", {"share": 0.0}, 0.0),
            ("fan_flow", {"passages": 0.0}, 0.0),
            ("fan_flow", {"passages": 1.0}, 1.0),
            ("temperature_rise", {"output": 0.0}, 0.0),
            ("fuse_opening_time", {"amps": 0.0}, np.inf),
            ("fuse_opening_time", {"amps": formulas.FUSE_NEVER, "rating": 1.0}, np.inf),
            ("fuse_opening_time", {"amps": np.inf}, 0.0),
        ],
    )
    def test_value_at_the_end(self, name, arguments, expected):
        assert_allclose(call(getattr(formulas, name), **arguments), expected, rtol=1e-12)


class TestInverses:

    @given(manifold=positive, rated=positive)
    def test_square_of_the_fraction_is_the_pressure_ratio(self, manifold, rated):
        assert_allclose(formulas.input_fraction(manifold, rated) ** 2 * rated, manifold, rtol=1e-12)


class TestFan:
    @given(passages=st.floats(1e-3, 1), shut_off=st.floats(1, 5))
    def test_fan_and_passages_agree_on_the_pressure(self, passages, shut_off):
        flow = formulas.fan_flow(passages, shut_off)

        assert_allclose((flow / passages) ** 2, shut_off - (shut_off - 1) * flow**2, rtol=1e-9)


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
