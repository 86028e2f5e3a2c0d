"""Handbook arithmetic of gas, air, wire, fuse and capacitor.

Every argument is a number or an array; shapes broadcast, and those that cannot raise numpy's ValueError.
Outside its range of validity a formula gives nan, never an error: one bad reading does not spoil an array.
Numbers in, a number out (a numpy scalar or 0-d array). Units stand in [brackets]; pressures in one formula
share one unit.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

SECONDS_PER_HOUR = 3600.0  # [s/h], exact
MINUTES_PER_HOUR = 60.0  # [min/h], exact
SQUARE_INCHES_PER_SQUARE_FOOT = 144.0  # exact
SEA_LEVEL_PRESSURE = 14.696  # [psia], ASHRAE Fundamentals 2017 ch. 1 Eq. 3
DRY_AIR_GAS_CONSTANT = 53.350  # [ft lbf/lb R], ASHRAE Fundamentals 2017 ch. 1
ZERO_FAHRENHEIT = 459.67  # [R], exact by definition of the scale
DRY_AIR_SPECIFIC_HEAT = 0.24  # [Btu/lb F], the trade's standard air (70 F, 29.92 in. Hg)
WATER_VAPOR_SPECIFIC_HEAT = 0.45  # [Btu/lb F], same text as the moist-air form 0.24 + 0.45 W
STANDARD_AIR_FACTOR = 1.08  # [Btu min/h ft3 F], 60 x 0.075 lb/ft3 x 0.24 Btu/lb F
DERATE_STARTS = 2000.0  # [ft], NFPA 54-2002 ch. 11
DERATE_PER_FOOT = 0.04 / 1000.0  # [1/ft], NFPA 54-2002 ch. 11: 4 % each 1000 ft above sea level
COPPER_18_AWG = 7.77 / 1000.0  # [ohm/ft], solid, uncoated, 75 C, NFPA 70 ch. 9 Table 8
CLASS_2_POWER = 100.0  # [VA], NFPA 70 ch. 9 Table 11(B); rule from memory, 100/Vmax seen
CLASS_2_VOLTS = 30.0  # [V rms], NFPA 70 art. 725
CLASS_2_LOW_VOLTS_AMPS = 5.0  # [A], NFPA 70 ch. 9 Table 11(B), up to 20 V; from memory
DRY_FLUE_OXYGEN = 20.9  # [% by volume], oxygen in dry air as the air-free formula has it
SAFE_VOLTS = 50.0  # [V], NFPA 70 460.6: what may be left on a capacitor of the 600 V class
SAFE_SECONDS = 60.0  # [s], NFPA 70 460.6: how soon

# Blade fuse: current over rating, soonest and latest opening [s]; SAE J1284, ISO 8820-3 C, from memory.
FUSE_NEVER = 1.10  # current over rating carried for at least 100 h, same source, from memory
FUSE_LIMITS = ((1.1, 3.6e5, 3.6e5), (1.35, 0.75, 600.0), (2.0, 0.15, 5.0), (3.5, 0.04, 0.5), (6.0, 0.02, 0.1))


def _positive(values: ArrayLike) -> Floats:
    """*values* as floats, nan where not above zero."""
    values = np.asarray(values, dtype=float)
    return np.where(values > 0.0, values, np.nan)


def _not_negative(values: ArrayLike) -> Floats:
    """*values* as floats, nan where below zero."""
    return _within(values, 0.0, np.inf)


def _within(values: ArrayLike, low: float, high: float) -> Floats:
    """*values* as floats, nan outside *low* to *high*, both ends included."""
    values = np.asarray(values, dtype=float)
    return np.where((values >= low) & (values <= high), values, np.nan)


def gas_flow(seconds: ArrayLike, dial: ArrayLike) -> Floats:
    """Gas flow [ft3/h] from the time [s] of one turn of the meter's test *dial* [ft3 a turn].

    At the meter's own pressure and temperature. nan unless both are above zero.
    Source: NFPA 54 (1996) Table XIII (read at second hand), which prints this rounded to 1 ft3/h.
    """
    return SECONDS_PER_HOUR * _positive(dial) / _positive(seconds)


def gas_passed(dial: ArrayLike, turns: ArrayLike) -> Floats:
    """Gas [ft3] that passes in so many *turns* [1] of the meter's test *dial* [ft3 a turn].

    nan unless both are above zero.
    Source: what a meter's dial is marked with.
    """
    return _positive(dial) * _positive(turns)


def gas_input(flow: ArrayLike, heating_value: ArrayLike) -> Floats:
    """Input [Btu/h] of a gas *flow* [ft3/h] with the local *heating_value* [Btu/ft3].

    nan where the flow is below zero or the heating value is not above it. There is no default: the US average
    was 1036 Btu/ft3 in 2025 and states ranged from 917 to 1077 (US Energy Information Administration).
    Source: definition of the heating value.
    """
    return _not_negative(flow) * _positive(heating_value)


def heat_output(rate: ArrayLike, efficiency: ArrayLike) -> Floats:
    """Heat given to the air [Btu/h] at an input *rate* [Btu/h] and an *efficiency* [%].

    nan where the rate is below zero, or the efficiency is outside 0 to 100 %.
    Source: definition of efficiency.
    """
    return _not_negative(rate) * _within(efficiency, 0.0, 100.0) / 100.0


def allowed_input(plate: ArrayLike, feet: ArrayLike) -> Floats:
    """Highest input [Btu/h] at an altitude [ft] of a furnace whose *plate* gives its input at sea level [Btu/h].

    nan where the plate is not above zero, and where *altitude_input_factor* has no value.
    Source: NFPA 54-2002 ch. 11, as in UMC 2009 App. B 1.2; the rule of the United States.
    """
    return _positive(plate) * altitude_input_factor(feet)


def percent_of(part: ArrayLike, whole: ArrayLike) -> Floats:
    """A *part* in percent [%] of the *whole* (same unit).

    nan where the part is below zero or the whole is not above it.
    Source: definition of percent.
    """
    return 100.0 * _not_negative(part) / _positive(whole)


def input_fraction(manifold: ArrayLike, rated: ArrayLike) -> Floats:
    """Share of the rated input [1] at a *manifold* pressure, *rated* being the plate's (same unit).

    nan where the manifold is below zero or the rated pressure is not above it. Holds for the same orifice and
    gas.
    Source: orifice equation, flow as the root of the pressure drop (NFPA 54 annex on fixed orifices).
    """
    return np.sqrt(_not_negative(manifold) / _positive(rated))


def input_at_share(plate: ArrayLike, share: ArrayLike) -> Floats:
    """Input [Btu/h] at a *share* [1] of that on the *plate* [Btu/h].

    nan where the plate is not above zero or the share is below it.
    Source: definition of a share.
    """
    return _positive(plate) * _not_negative(share)


def fan_pressure(rated: ArrayLike, share: ArrayLike) -> Floats:
    """Pressure of a fan at a *share* [1] of its rated speed or flow, *rated* being its pressure there (same unit).

    nan where either is below zero. Holds for the same fan, air and passages.
    Source: fan laws, pressure as the square of speed and of flow (ASHRAE HVAC Systems and Equipment, fans; from memory).
    """
    return _not_negative(rated) * _not_negative(share) ** 2


def altitude_input_factor(feet: ArrayLike) -> Floats:
    """Share of the sea-level plate input [1] allowed at an altitude [ft], United States rule.

    1 up to 2000 ft, also below sea level. Above, 4 % less each 1000 ft counted from sea level, in proportion,
    so it steps down to 0.92 just past 2000 ft. nan from 25,000 ft, where nothing would be left. The plate and
    the maker's instructions win; Canada has another rule.
    Source: NFPA 54-2002 ch. 11, as in UMC 2009 App. B 1.2.
    """
    feet = np.asarray(feet, dtype=float)
    return np.where(feet <= DERATE_STARTS, 1.0, _positive(1.0 - DERATE_PER_FOOT * feet))


def standard_pressure(feet: ArrayLike) -> Floats:
    """Pressure [psia] of the standard atmosphere at an altitude [ft].

    nan outside -16,500 to 36,000 ft. Weather moves the real one by about 3 %.
    Source: ASHRAE Fundamentals 2017 ch. 1 Eq. 3.
    """
    return SEA_LEVEL_PRESSURE * (1.0 - 6.8754e-6 * _within(feet, -16500.0, 36000.0)) ** 5.2559


def dry_air_density(fahrenheit: ArrayLike, psia: ArrayLike) -> Floats:
    """Density [lb/ft3] of dry air at a temperature [F] and an absolute pressure [psia].

    nan at or below absolute zero, or where the pressure is not above zero. The ideal gas errs by less than
    0.1 % from 32 to 150 F at up to one atmosphere.
    Source: ideal gas law, constant of ASHRAE Fundamentals 2017 ch. 1.
    """
    rankine = _positive(np.asarray(fahrenheit, dtype=float) + ZERO_FAHRENHEIT)
    return _positive(psia) * SQUARE_INCHES_PER_SQUARE_FOOT / (DRY_AIR_GAS_CONSTANT * rankine)


def moist_air_specific_heat(humidity_ratio: ArrayLike) -> Floats:
    """Specific heat [Btu/lb F, a pound of dry air] of air with *humidity_ratio* [lb water/lb dry air].

    nan where the ratio is below zero. Vapour only: no fog.
    Source: c = 0.24 + 0.45 W, the form that gives the trade's factor of 1.1 at W = 0.01.
    """
    return DRY_AIR_SPECIFIC_HEAT + WATER_VAPOR_SPECIFIC_HEAT * _not_negative(humidity_ratio)


def sensible_heat_factor(density: ArrayLike, specific_heat: ArrayLike) -> Floats:
    """Heat that warms 1 cfm by 1 F [Btu min/h ft3 F], from *density* [lb/ft3] and *specific_heat* [Btu/lb F].

    nan unless both are above zero. 1.08 for standard air (0.075 lb/ft3, 0.24 Btu/lb F).
    Source: q = m c dT, by the hour with the flow by the minute.
    """
    return MINUTES_PER_HOUR * _positive(density) * _positive(specific_heat)


def air_factor(feet: ArrayLike, *, fahrenheit: ArrayLike = 70.0) -> Floats:
    """Sensible heat factor [Btu min/h ft3 F] of dry air at an altitude [ft] and a stream temperature [F].

    With it, *airflow* gives actual cfm at that temperature; with 1.08 at sea level, standard cfm. nan outside
    -16,500 to 36,000 ft. Dry air: 0.02 more at W = 0.01.
    Source: ASHRAE Fundamentals 2017 ch. 1 Eq. 3 and the ideal gas law, specific heat 0.24 Btu/lb F.
    """
    return sensible_heat_factor(dry_air_density(fahrenheit, standard_pressure(feet)), DRY_AIR_SPECIFIC_HEAT)


def airflow(output: ArrayLike, rise: ArrayLike, *, factor: ArrayLike = STANDARD_AIR_FACTOR) -> Floats:
    """Airflow [cfm] from the heat *output* [Btu/h], not the input, and the temperature *rise* [F].

    *factor* [Btu min/h ft3 F] sets which cfm: see *air_factor*. nan where the output is below zero, or the
    rise or the factor is not above it.
    Source: sensible heat equation, q = 1.08 cfm dT.
    """
    return _not_negative(output) / (_positive(factor) * _positive(rise))


def measured_rise(supply: ArrayLike, returned: ArrayLike) -> Floats:
    """Temperature rise [F] from the *supply* air's temperature [F] and that of the *returned* air [F].

    Below zero where the returned air is the warmer. nan at or below absolute zero.
    Source: definition of the rise.
    """
    return _positive(np.asarray(supply, dtype=float) + ZERO_FAHRENHEIT) - _positive(np.asarray(returned, dtype=float) + ZERO_FAHRENHEIT)


def fan_flow(passages: ArrayLike, shut_off: ArrayLike) -> Floats:
    """Share [1] of a fan's rated flow through *passages* [1], the share of them that is open.

    *shut_off* [1] is the fan's pressure without flow over its rated one. nan where the passages are below zero or
    the shut-off pressure is below 1; 0 through passages that are shut.
    Source: where the fan's curve, p = k - (k - 1) q2, meets that of the passages, p = (q/a)2 (duct texts: a system's
    pressure goes as the square of its flow; the parabola for the fan is ours).
    """
    passages, shut_off = _not_negative(passages), _within(shut_off, 1.0, np.inf)
    return passages * np.sqrt(shut_off / (1.0 + (shut_off - 1.0) * passages**2))


def rise_seconds(risen: ArrayLike, constant: ArrayLike) -> Floats:
    """Seconds [s] until something has *risen* to that share [1] of where it is heading, by its time *constant* [s].

    nan where the share is not from 0 to 1 or the constant is not above zero; without end (inf) at 1, which is never quite reached.
    Source: a first-order rise, 1 - exp(-t/tau).
    """
    with np.errstate(divide="ignore"):
        return np.asarray(-_positive(constant) * np.log(1.0 - _within(risen, 0.0, 1.0)))


def temperature_rise(output: ArrayLike, cfm: ArrayLike, *, factor: ArrayLike = STANDARD_AIR_FACTOR) -> Floats:
    """Temperature rise [F] of an airflow [cfm] that takes up the heat *output* [Btu/h].

    *factor* [Btu min/h ft3 F] as for *airflow*. nan where the output is below zero, or the airflow or the
    factor is not above it: without airflow there is no steady rise.
    Source: sensible heat equation, q = 1.08 cfm dT.
    """
    return _not_negative(output) / (_positive(factor) * _positive(cfm))


def capacitor_microfarads(amps: ArrayLike, volts: ArrayLike, *, hertz: ArrayLike = 60.0) -> Floats:
    """Capacitance [uF] from the current [A rms] and voltage [V rms] of a capacitor at *hertz* [Hz].

    nan where the current is below zero, or the voltage or the frequency is not above it.
    Sine waves, no losses.
    Source: circuit law, C = I/(2 pi f V); at 60 Hz the trade's 2652 I/V.
    """
    return 1e6 * _not_negative(amps) / (2.0 * np.pi * _positive(hertz) * _positive(volts))


def capacitor_current(microfarads: ArrayLike, volts: ArrayLike, *, hertz: ArrayLike = 60.0) -> Floats:
    """Current [A rms] of a capacitor [uF] at a voltage [V rms] and a frequency *hertz* [Hz].

    nan where the capacitance or the voltage is below zero, or the frequency is not above it.
    Sine waves, no losses.
    Source: circuit law, I = 2 pi f C V.
    """
    return 2e-6 * np.pi * _positive(hertz) * _not_negative(microfarads) * _not_negative(volts)


def bleed_ohms(
    volts: ArrayLike,
    microfarads: ArrayLike,
    *,
    seconds: ArrayLike = SAFE_SECONDS,
    left: ArrayLike = SAFE_VOLTS,
) -> Floats:
    """Largest resistor [ohm] that takes a capacitor [uF] from the peak of *volts* [V rms] to *left* [V].

    In *seconds* [s] at most. inf where the peak is no higher than *left*. nan where the voltage is below zero
    or another value is not above it.
    Source: V = V0 exp(-t/RC), limits of NFPA 70 460.6.
    """
    with np.errstate(divide="ignore"):  # no time constant is needed: any resistor will do
        return _positive(seconds) / (1e-6 * _positive(microfarads) * _time_constants(volts, left))


def discharge_seconds(
    volts: ArrayLike, microfarads: ArrayLike, ohms: ArrayLike, *, left: ArrayLike = SAFE_VOLTS
) -> Floats:
    """Time [s] a resistor [ohm] takes a capacitor [uF] from the peak of *volts* [V rms] to *left* [V].

    0 where the peak is no higher than *left*. nan where the voltage is below zero or another value is not
    above it. A time worked out is no proof: the voltage is still to be read before the terminals are touched.
    Source: V = V0 exp(-t/RC), limit of NFPA 70 460.6.
    """
    return 1e-6 * _positive(microfarads) * _positive(ohms) * _time_constants(volts, left)


def _time_constants(volts: ArrayLike, left: ArrayLike) -> Floats:
    """Time constants RC [1] from the peak of *volts* [V rms] to *left* [V]."""
    peak = np.sqrt(2.0) * _not_negative(volts)
    left = _positive(left)
    constants: Floats = np.log(np.maximum(peak, left) / left)
    return constants


def loop_ohms(feet: ArrayLike, *, awg: ArrayLike = 18) -> Floats:
    """Resistance [ohm], out and back, of a two-wire run of solid copper *feet* [ft] long, gauge *awg* [AWG].

    Wire at 75 C; at 20 C it is 18 % less. nan where the length is below zero or the gauge is outside 12 to
    24, where scaling from 18 AWG by the gauge's diameters agrees with the table to half its last digit as far
    as it goes (18).
    Source: NFPA 70 ch. 9 Table 8 (18 AWG, uncoated), diameters of ASTM B258.
    """
    area_ratio: Floats = 92.0 ** (2.0 * (_within(awg, 12.0, 24.0) - 18.0) / 39.0)
    return 2.0 * _not_negative(feet) * COPPER_18_AWG * area_ratio


def voltage_drop(amps: ArrayLike, ohms: ArrayLike) -> Floats:
    """Voltage [V] lost by a current [A] in a resistance [ohm].

    nan where either is below zero.
    Source: Ohm's law.
    """
    return _not_negative(amps) * _not_negative(ohms)


def voltage_left(volts: ArrayLike, drop: ArrayLike) -> Floats:
    """Voltage [V] left at the far end of a wire fed with *volts* [V] that loses *drop* [V].

    nan where either is below zero, or more is lost than is fed. The drop is taken as in phase with the voltage: for a coil,
    somewhat more is left.
    Source: Kirchhoff's law of voltages.
    """
    return _not_negative(_not_negative(volts) - _not_negative(drop))


def apparent_power(volts: ArrayLike, amps: ArrayLike) -> Floats:
    """Load [VA] of a current [A rms] at a voltage [V rms].

    nan where either is below zero.
    Source: definition of apparent power.
    """
    return _not_negative(volts) * _not_negative(amps)


def transformer_source_ohms(volts: ArrayLike, va: ArrayLike, regulation: ArrayLike) -> Floats:
    """Resistance [ohm] behind a transformer's secondary, rated at *volts* [V] and *va* [VA] under full load.

    *regulation* [1] is (no load - full load)/full load. All of the drop is taken as resistive. nan where the
    rating is not above zero or the regulation is below it.
    Source: definition of regulation, on the full-load voltage.
    """
    return _not_negative(regulation) * _positive(volts) ** 2 / _positive(va)


def class2_overcurrent_limit(vmax: ArrayLike) -> Floats:
    """Largest fuse [A] for a Class 2 source that does not limit itself, of no-load voltage *vmax* [V rms].

    nan where not above zero or above 30 V, which is no longer a 24 V Class 2 circuit.
    Source: NFPA 70 ch. 9 Table 11(B): 100/Vmax, at most 5 A (up to 20 V; that row from memory).
    """
    return np.minimum(CLASS_2_LOW_VOLTS_AMPS, CLASS_2_POWER / _positive(_within(vmax, 0.0, CLASS_2_VOLTS)))


def fuse_opening_time(amps: ArrayLike, rating: ArrayLike) -> Floats:
    """Time [s] in which a blade fuse of a *rating* [A] opens at a steady current [A rms].

    The geometric middle of the standard's limits, straight between them on logarithmic axes; a real fuse may
    be up to 28 times slower or faster (135 %). inf up to 110 %. Beyond 600 % the I2t of that point is kept,
    since a wire that melts so fast loses no heat. nan where the current is below zero or the rating is not
    above it.
    Source: limits of SAE J1284 and ISO 8820-3 type C, from memory; the way between them is ours.
    """
    ratio = _not_negative(amps) / _positive(rating)
    table: Floats = np.log(np.asarray(FUSE_LIMITS))
    logarithm = np.log(np.maximum(ratio, FUSE_NEVER))
    within_table = np.interp(logarithm, table[:, 0], table[:, 1:].mean(axis=1))
    beyond_table = 2.0 * np.maximum(logarithm - table[-1, 0], 0.0)
    return np.where(ratio <= FUSE_NEVER, np.inf, np.exp(within_table - beyond_table))


def co_air_free(ppm: ArrayLike, oxygen: ArrayLike) -> Floats:
    """Carbon monoxide [ppm] with the flue sample's excess air taken out, from dry *ppm* and *oxygen* [%].

    nan where ppm is below zero or oxygen is outside 0 to under 20.9 %. Close to 20.9 % the sample is nearly
    all air and any error in oxygen is blown up.
    Source: ppm x 20.9/(20.9 - O2), as flue analysis texts give it for ANSI Z21.47.
    """
    return _not_negative(ppm) * DRY_FLUE_OXYGEN / _positive(DRY_FLUE_OXYGEN - _not_negative(oxygen))
