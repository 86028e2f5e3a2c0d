"""The arithmetic held against figures from outside the project.

Beside each row stands its source and how it is known: *seen* (on the page named), *seen-2* (on a page that
quotes the document), *computed* (exact arithmetic from a cited formula, or printed by the reference library
named). A tolerance is half the last digit printed, unless its own reason stands beside it. Rows known only
from memory or trade practice are left out: the blade fuse's limits, manifold pressures, igniter ohms.
"""

import pint
import pytest
from CoolProp.CoolProp import PropsSI
from numpy.testing import assert_allclose
from scipy import constants

from furnace_diag.furnace import formulas

UNITS = pint.UnitRegistry()
POUNDS_PER_CUBIC_FOOT = constants.lb / constants.foot**3  # [kg/m3], exact
BTU_PER_POUND_F = constants.Btu / constants.lb * 1.8  # [J/kg K], exact


class TestAir:
    def test_standard_air_gives_1_08(self):
        # 0.075 lb/ft3 and 0.24 Btu/lb F at 70 F, 29.92 in. Hg, seen at
        # https://www.civilengineeringhandbook.tk/heat-recovery/standard-air-constants.html ; 1.08 seen at
        # https://www.insightusa.com/post/the-sensible-heat-equation
        assert pytest.approx(60 * 0.075 * 0.24) == formulas.STANDARD_AIR_FACTOR

    def test_factor_from_exact_air_properties(self):
        # CoolProp 8.0.0, dry air at 70 F and 101.325 kPa, computed: 0.074914 lb/ft3, 0.240322 Btu/lb F
        kelvin = constants.convert_temperature(70, "Fahrenheit", "Kelvin")
        density = PropsSI("D", "T", kelvin, "P", constants.atm, "Air") / POUNDS_PER_CUBIC_FOOT
        specific_heat = PropsSI("C", "T", kelvin, "P", constants.atm, "Air") / BTU_PER_POUND_F

        assert_allclose(formulas.STANDARD_AIR_FACTOR, 60 * density * specific_heat, rtol=0.002)  # three-digit constants, 0.2 %

    # 75,000 Btu/h x 0.80 over 45 F: 1212 cfm with 1.1 seen at https://hvaclicensing.com/hvac-exam/ ; 1235
    # computed
    @pytest.mark.parametrize(("factor", "cfm"), [(1.1, 1212), (1.08, 1235)])
    def test_worked_rise(self, factor, cfm):
        assert_allclose(formulas.temperature_rise(75_000 * 0.80, cfm, factor=factor), 45, rtol=0.5 / 1212)

    def test_rise_agrees_with_metric_arithmetic(self):
        # The same heat balance in W, m3/s and K, units by pint; finds a 32 F offset in a difference, or a
        # wrong Btu
        power = UNITS.Quantity(60_000, "Btu_it/hour")
        flow = UNITS.Quantity(1200, "foot**3/minute")
        heat = UNITS.Quantity(0.075 * 0.24, "Btu_it/foot**3/delta_degF").to("J/m**3/K")

        rise = (power.to("W") / (heat * flow.to("m**3/s"))).to("delta_degF")

        assert_allclose(formulas.temperature_rise(60_000, 1200), rise.magnitude, rtol=1e-9)


class TestGas:
    def test_input_follows_the_root_of_the_manifold_pressure(self):
        # orifice equation (NFPA 54 annex on fixed orifices), computed: 3.5 -> 2.8 in. w.c. gives 0.894
        assert_allclose(formulas.input_fraction(2.8, 3.5), 0.894, rtol=0, atol=0.0005)


class TestFan:
    def test_pressure_goes_as_the_square_of_speed(self):
        # fan laws (any fan handbook, from memory), computed by hand: half the speed, a quarter of the pressure
        assert_allclose(formulas.fan_pressure(1.0, [1.0, 0.5, 0.9]), [1.0, 0.25, 0.81], rtol=1e-12)


class TestUnits:
    """The unit figures any conversion is held to, on which the sources must agree."""

    # pint, computed; NIST SP 811 App. B: 1 ft of water at 39.2 F is 2988.98 Pa, seen-2 at
    # https://calcdomain.com/feet-of-water-to-psi.html
    @pytest.mark.parametrize(
        ("pascals", "printed", "atol"),
        [
            (UNITS("1 inH2O").to("Pa").magnitude, 249.0889, 5e-5),
            (UNITS("1 inch_H2O_60F").to("Pa").magnitude, 248.84, 0.005),
            (2988.98 / 12, 249.082, 5e-4),
            (constants.g * 1000 * constants.inch, 249.0889, 5e-5),
        ],
    )
    def test_inch_of_water(self, pascals, printed, atol):
        assert_allclose(pascals, printed, rtol=0, atol=atol)

    # pint and scipy.constants, computed
    @pytest.mark.parametrize(
        ("quantity", "unit", "printed", "atol"),
        [
            (UNITS.Quantity(1, "psi"), "inH2O", 27.680, 0.0005),
            (UNITS.Quantity(14, "inH2O"), "psi", 0.506, 0.0005),
            (UNITS.Quantity(3.5, "inH2O"), "Pa", 871.8, 0.05),
            (UNITS.Quantity(10, "inH2O"), "Pa", 2490.9, 0.05),
            (UNITS.Quantity(0.5, "inH2O"), "Pa", 124.5, 0.05),
            (UNITS.Quantity(70, "degF"), "degC", 21.111, 0.0005),
            (UNITS.Quantity(50, "delta_degF"), "delta_degC", 27.778, 0.0005),
            (UNITS.Quantity(1, "Btu_it"), "J", 1055.05585262, 5e-9),
            (UNITS.Quantity(1, "Btu_it/hour"), "W", 0.293071, 5e-7),
            (UNITS.Quantity(constants.Btu, "J"), "Btu_it", 1.0, 1e-12),
            (UNITS.Quantity(constants.psi, "Pa"), "psi", 1.0, 1e-9),
        ],
    )
    def test_conversion(self, quantity, unit, printed, atol):
        assert_allclose(quantity.to(unit).magnitude, printed, rtol=0, atol=atol)
