"""Handbook arithmetic of gas, air and fuse that the virtual furnace follows.

Every argument is a number or an array; shapes broadcast, and those that cannot raise numpy's ValueError.
Outside its range of validity a formula gives nan, never an error: one bad reading does not spoil an array.
Numbers in, a number out (a numpy scalar or 0-d array). Units stand in [brackets]; pressures in one formula
share one unit.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

STANDARD_AIR_FACTOR = 1.08  # [Btu min/h ft3 F], 60 x 0.075 lb/ft3 x 0.24 Btu/lb F

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


def input_fraction(manifold: ArrayLike, rated: ArrayLike) -> Floats:
    """Share of the rated input [1] at a *manifold* pressure, *rated* being the plate's (same unit).

    nan where the manifold is below zero or the rated pressure is not above it. Holds for the same orifice and
    gas.
    Source: orifice equation, flow as the root of the pressure drop (NFPA 54 annex on fixed orifices).
    """
    return np.sqrt(_not_negative(manifold) / _positive(rated))


def fan_pressure(rated: ArrayLike, share: ArrayLike) -> Floats:
    """Pressure of a fan at a *share* [1] of its rated speed or flow, *rated* being its pressure there (same unit).

    nan where either is below zero. Holds for the same fan, air and passages.
    Source: fan laws, pressure as the square of speed and of flow (ASHRAE HVAC Systems and Equipment, fans; from memory).
    """
    return _not_negative(rated) * _not_negative(share) ** 2


def fan_flow(passages: ArrayLike, shut_off: ArrayLike) -> Floats:
    """Share [1] of a fan's rated flow through *passages* [1], the share of them that is open.

    *shut_off* [1] is the fan's pressure without flow over its rated one. nan where the passages are below zero or
    the shut-off pressure is below 1; 0 through passages that are shut.
    Source: where the fan's curve, p = k - (k - 1) q2, meets that of the passages, p = (q/a)2 (duct texts: a system's
    pressure goes as the square of its flow; the parabola for the fan is ours).
    """
    passages, shut_off = _not_negative(passages), _within(shut_off, 1.0, np.inf)
    return passages * np.sqrt(shut_off / (1.0 + (shut_off - 1.0) * passages**2))


def temperature_rise(output: ArrayLike, cfm: ArrayLike, *, factor: ArrayLike = STANDARD_AIR_FACTOR) -> Floats:
    """Temperature rise [F] of an airflow [cfm] that takes up the heat *output* [Btu/h].

    *factor* [Btu min/h ft3 F] is the heat that warms 1 cfm by 1 F. nan where the output is below zero, or the airflow or the
    factor is not above it: without airflow there is no steady rise.
    Source: sensible heat equation, q = 1.08 cfm dT.
    """
    return _not_negative(output) / (_positive(factor) * _positive(cfm))


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
