"""The arithmetic a technician does on a visit: what goes in, which formulas give what, and how it is worked out from text.

`CALCULATIONS` is the one table; the laws stand in *formulas*, with their limits and sources. `evaluate` takes what was
typed, as text, and gives values with their units or says in plain words what is wrong.
"""

from __future__ import annotations

import inspect
import math
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, Final

import numpy as np

from furnace_diag.furnace import formulas
from furnace_diag.problems import BadInput, Problem, printable
from furnace_diag.quantities import UNITS, BadQuantity, Quantity, format_quantity, parse_quantity

LONGEST_LINE: Final = 400  # [characters] of inputs; all that any calculation takes is far shorter


@dataclass(frozen=True)
class Input:
    """A value to be given, in a *unit* of `quantities.UNITS`. Without a *default* it must be given, unless it is *optional*.

    *example* is a likely value, as typed; it lies inside the range of every formula that uses it.
    """

    name: str
    unit: str
    says: str
    example: str
    default: str | None = None
    optional: bool = False

    @property
    def needed(self) -> bool:
        return self.default is None and not self.optional


@dataclass(frozen=True)
class Output:
    """A value worked out by *work*; *of* says which input or earlier output each of its arguments is.

    Left out where one of those is left out. *unit* is one of `quantities.UNITS`, or plain text where no meter reads it.
    """

    name: str
    unit: str
    says: str
    formula: str
    work: Callable[..., Any]
    of: Mapping[str, str]

    @property
    def source(self) -> str:
        """Where the law is from, as its docstring has it."""
        return " ".join((inspect.getdoc(self.work) or "").partition("Source: ")[2].split())


@dataclass(frozen=True)
class Calculation:
    """*notes*: how to take the values and what the result does not say. *cautions*: ids in the rules, for taking the values.

    *takes*: the output that may be taken as a reading, and the point of the rules that it is a reading of.
    *see*: an entry of the rules that says what the result means.
    """

    name: str
    says: str
    inputs: tuple[Input, ...]
    outputs: tuple[Output, ...]
    notes: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    takes: tuple[str, str] | None = None
    see: str | None = None


@dataclass(frozen=True)
class Value:
    """One thing worked out; *text* shows it with its unit, to four figures."""

    name: str
    says: str
    value: float
    unit: str
    text: str
    formula: str
    source: str


@dataclass(frozen=True)
class Taken:
    """A result as a reading: the *point* it is one of, and the *value* as it would be typed."""

    point: str
    value: str


@dataclass(frozen=True)
class Result:
    """What was worked out. *inputs*: by name as they were understood, defaults among them. The last of *values* is the answer."""

    name: str
    says: str
    inputs: Mapping[str, str]
    values: tuple[Value, ...]
    notes: tuple[str, ...]
    takes: Taken | None
    see: str | None


# Data
# ----------------------------------------------------------------------------------------------------

_PLATE = Input("plate", "btu_h", "input on the rating plate", "80000 Btu/h", optional=True)
_ALTITUDE = "height above the sea"
_PLATE_WINS = "The rating plate and the maker's instructions for altitude come first. Never set the input above what they allow."

CALCULATIONS: Final[Mapping[str, Calculation]] = MappingProxyType(
    {
        c.name: c
        for c in (
            Calculation(
                "rise",
                "Temperature rise, from supply and return air",
                (
                    Input("supply", "F", "supply air, out of sight of the exchanger", "125 F"),
                    Input("return", "F", "return air", "70 F"),
                ),
                (Output("rise", "F_diff", "temperature rise", "supply - return", formulas.measured_rise, {"supply": "supply", "returned": "return"}),),
                notes=("Read both after ten minutes of steady burning, and hold the rise against the range on the plate.",),
                cautions=("hot_metal",),
                takes=("rise", "temperature_rise"),
            ),
            Calculation(
                "airflow",
                "Airflow, from input, efficiency and rise",
                (
                    Input("input", "btu_h", "gas input, clocked at the meter or from the plate", "75000 Btu/h"),
                    Input("efficiency", "percent", "efficiency on the plate", "80 %"),
                    Input("rise", "F_diff", "temperature rise", "45 F"),
                    Input("altitude", "ft", _ALTITUDE, "5000 ft", optional=True),
                    Input("air", "F", "the air where its volume is wanted", "70 F", default="70 F"),
                ),
                (
                    Output("output", "btu_h", "heat given to the air", "input x efficiency / 100",
                           formulas.heat_output, {"rate": "input", "efficiency": "efficiency"}),
                    Output("pressure", "psia", "air pressure there, on a usual day", "14.696 x (1 - 0.0000068754 x altitude)^5.2559",
                           formulas.standard_pressure, {"feet": "altitude"}),
                    Output("density", "lb/ft3", "density of dry air", "144 x pressure / (53.35 x (air + 459.67))",
                           formulas.dry_air_density, {"fahrenheit": "air", "psia": "pressure"}),
                    Output("factor", "Btu/h per cfm and F", "heat that warms the air", "60 x 0.24 x density",
                           formulas.air_factor, {"feet": "altitude", "fahrenheit": "air"}),
                    Output("actual", "cfm", "airflow in the cubic feet of that air", "output / (factor x rise)",
                           formulas.airflow, {"output": "output", "rise": "rise", "factor": "factor"}),
                    Output("standard", "cfm", "airflow, as standard air", "output / (1.08 x rise)", formulas.airflow, {"output": "output", "rise": "rise"}),
                ),
                notes=("Standard air is dry, at 70 F and sea level. Moist air makes it about 2 percent less.",),
            ),
            Calculation(
                "gas",
                "Gas input, by clocking the meter",
                (
                    Input("time", "s", "time for those turns", "90 s"),
                    Input("dial", "ft3", "one turn of the test dial", "2 ft3"),
                    Input("heating", "btu_ft3", "heat in the gas; ask the gas company", "1036 Btu/ft3"),
                    Input("turns", "count", "turns timed", "1", default="1"),
                    _PLATE,
                    Input("altitude", "ft", _ALTITUDE, "1000 ft", default="0 ft"),
                ),
                (
                    Output("gas", "ft3", "gas that passed", "dial x turns", formulas.gas_passed, {"dial": "dial", "turns": "turns"}),
                    Output("flow", "ft3_h", "gas flow", "3600 x gas / time", formulas.gas_flow, {"seconds": "time", "dial": "gas"}),
                    Output("input", "btu_h", "gas input", "flow x heating", formulas.gas_input, {"flow": "flow", "heating_value": "heating"}),
                    Output("allowed", "btu_h", "most that is allowed at that altitude",
                           "plate; above 2000 ft plate x (1 - 0.04 x altitude / 1000)", formulas.allowed_input, {"plate": "plate", "feet": "altitude"}),
                    Output("share", "percent", "input, of what is allowed", "100 x input / allowed",
                           formulas.percent_of, {"part": "input", "whole": "allowed"}),
                ),
                notes=(
                    "Every other gas appliance off, pilots too, and the burners burning steadily.",
                    _PLATE_WINS,
                    "The rule for altitude is that of the United States; elsewhere ask the local code.",
                ),
                cautions=("burners_may_light",),
            ),
            Calculation(
                "manifold",
                "Gas input, from the manifold pressure",
                (
                    Input("pressure", "in_wc", "manifold pressure, burners lit", "3.2 in wc"),
                    Input("rated", "in_wc", "manifold pressure on the plate", "3.5 in wc"),
                    _PLATE,
                ),
                (
                    Output("share", "of 1", "share of the rated input", "square root of (pressure / rated)",
                           formulas.input_fraction, {"manifold": "pressure", "rated": "rated"}),
                    Output("input", "btu_h", "gas input", "plate x share", formulas.input_at_share, {"plate": "plate", "share": "share"}),
                ),
                notes=("Holds for the plate's own orifices and gas only: clocking the meter is the better test.", _PLATE_WINS),
                cautions=("gas_work", "hot_metal"),
            ),
            Calculation(
                "capacitor",
                "Run capacitor in use, from amps and volts",
                (
                    Input("amps", "A", "clamp around one lead of the capacitor", "1.4 A"),
                    Input("volts", "V", "across its terminals, motor running", "370 V"),
                    Input("hertz", "Hz", "line frequency", "60 Hz", default="60 Hz"),
                    Input("marked", "uF", "what is marked on it", "10 uF", optional=True),
                ),
                (
                    Output("capacitance", "uF", "capacitance", "159155 x amps / (hertz x volts)",
                           formulas.capacitor_microfarads, {"amps": "amps", "volts": "volts", "hertz": "hertz"}),
                    Output("share", "percent", "of what is marked", "100 x capacitance / marked",
                           formulas.percent_of, {"part": "capacitance", "whole": "marked"}),
                ),
                notes=("The clamp around that one lead only. How far it may be off is marked on the can.",),
                cautions=("live_line", "moving_wheel", "capacitor_charged"),
                takes=("capacitance", "capacitor_microfarads"),
            ),
            Calculation(
                "wire",
                "Voltage lost in a two-wire run of copper",
                (
                    Input("length", "ft", "one way", "50 ft"),
                    Input("amps", "A", "current in it", "1 A"),
                    Input("gauge", "awg", "wire size", "18 AWG", default="18 AWG"),
                    Input("volts", "V", "voltage fed into it", "24 V", optional=True),
                ),
                (
                    Output("resistance", "ohm", "out and back", "2 x length x 0.00777 x 92^((gauge - 18) / 19.5)",
                           formulas.loop_ohms, {"feet": "length", "awg": "gauge"}),
                    Output("drop", "V", "voltage lost", "amps x resistance", formulas.voltage_drop, {"amps": "amps", "ohms": "resistance"}),
                    Output("left", "V", "left at the far end", "volts - drop", formulas.voltage_left, {"volts": "volts", "drop": "drop"}),
                ),
                notes=("Solid copper at 167 F (75 C); cool wire loses up to a fifth less. Much more, measured, points to a joint or a damaged wire.",),
            ),
            Calculation(
                "transformer",
                "Load on the control transformer",
                (
                    Input("volts", "V", "across the secondary, under that load", "24 V"),
                    Input("amps", "A", "current in one lead of the secondary", "1.2 A"),
                    Input("plate", "VA", "rating marked on it", "40 VA", optional=True),
                ),
                (
                    Output("load", "VA", "load", "volts x amps", formulas.apparent_power, {"volts": "volts", "amps": "amps"}),
                    Output("share", "percent", "of its rating", "100 x load / plate", formulas.percent_of, {"part": "load", "whole": "plate"}),
                ),
                notes=("Read it with everything called for that can run at one time.",),
                cautions=("low_voltage_near_line",),
            ),
            Calculation(
                "co",
                "Carbon monoxide in the flue, air-free",
                (
                    Input("co", "ppm", "in the flue, before any air mixes in", "87 ppm"),
                    Input("oxygen", "percent", "in the same sample", "5 %"),
                ),
                (Output("air_free", "ppm", "carbon monoxide", "co x 20.9 / (20.9 - oxygen)", formulas.co_air_free, {"ppm": "co", "oxygen": "oxygen"}),),
                notes=("Close to 20.9 % of oxygen the sample is nearly all air, and any error grows: sample where no air has mixed in.",),
                cautions=("flue_gas", "hot_metal"),
                see="co_in_flue",
            ),
        )
    }
)  # fmt: skip


# Code
# ----------------------------------------------------------------------------------------------------


def calculation(name: str) -> Calculation:
    """The calculation called *name*. Raises BadInput with the nearest names where there is none."""
    found = CALCULATIONS.get(name.strip().lower())
    if found is None:
        raise BadInput([Problem(None, f"There is no calculation called {printable(name, 40)}.", _nearest(name, CALCULATIONS))])
    return found


def pairs(text: str) -> dict[str, str]:
    """The inputs in a line such as "supply=140 F return=68": by name, as text, not yet read.

    Raises BadInput for what stands before the first name, for a name given twice and for a line too long.
    """
    if len(text) > LONGEST_LINE:
        raise BadInput([Problem(None, f"{printable(text, 40)} is too long.", f"Use {LONGEST_LINE} characters or fewer.")])
    first, *rest = re.split(r"(\w+)\s*=", text)
    if first.strip():
        raise BadInput([Problem(None, f"{printable(first.strip(), 40)} has no name.", "Write name=value, such as amps=1.2.")])
    names = [name.lower() for name in rest[::2]]
    twice = [name for name in dict.fromkeys(names) if names.count(name) > 1]
    if twice:
        raise BadInput([Problem(None, f"{printable(name, 40)} is given twice.", "Take one out.") for name in twice])
    return {name: value.strip() for name, value in zip(names, rest[1::2], strict=True)}


def read_input(wanted: Input, text: str) -> Quantity:
    """What was typed for one input, in its unit. Raises BadInput where it cannot be that."""
    try:
        return parse_quantity(text, wanted.unit)
    except BadQuantity as bad:
        raise BadInput([Problem(None, f"{wanted.name}: {bad.message}", bad.fix)]) from bad


def evaluate(name: str, inputs: Mapping[str, str]) -> Result:
    """Work out the calculation called *name* from what was typed for its *inputs*, by name.

    Raises BadInput, with all that is wrong: an unknown name, an input missing or not readable, or outside the range of a formula.
    """
    chosen = calculation(name)
    given = _given(chosen, inputs)
    known = {i: q.value for i, q in given.items()}
    about = any(q.approximate for q in given.values())
    values = []
    for output in chosen.outputs:
        if all(n in known for n in output.of.values()):
            known[output.name] = _worked_out(output, chosen, known)
            values.append(_value(output, known[output.name], about))
    return Result(chosen.name, chosen.says, _understood(chosen, given), tuple(values), chosen.notes, _taken(chosen, values), chosen.see)


def shown(value: float, unit: str) -> str:
    """*value* with its *unit*, to four figures, in plain letters."""
    return format_quantity(value, unit, ascii=True) if unit in UNITS else f"{value:.4g} {unit}"


def _given(chosen: Calculation, inputs: Mapping[str, str]) -> dict[str, Quantity]:
    """The inputs read, defaults where none was given. Raises BadInput with every problem."""
    by_name = {i.name: i for i in chosen.inputs}
    problems = [
        Problem(None, f"{chosen.name} takes nothing called {printable(name, 40)}.", _nearest(name, by_name)) for name in inputs if name not in by_name
    ]
    given = {}
    for wanted in chosen.inputs:
        text = inputs.get(wanted.name, wanted.default)
        if text is not None:
            try:
                given[wanted.name] = read_input(wanted, text)
            except BadInput as bad:
                problems += bad.problems
        elif wanted.needed:
            problems.append(Problem(None, f"{wanted.name} is missing: {wanted.says}.", f"Add for instance {wanted.name}={wanted.example.replace(' ', '')}."))
    if problems:
        raise BadInput(problems)
    return given


def _worked_out(output: Output, chosen: Calculation, known: Mapping[str, float]) -> float:
    """The value of *output*. Raises BadInput where the formula has none, naming the inputs at fault, or none that is a reading."""
    value = _computed(output, known)
    if not math.isfinite(value):
        raise _outside(output, chosen, known)
    limits = UNITS.get(output.unit)
    if limits is not None and not limits.lowest <= value <= limits.highest:
        between = f"{limits.lowest:,.0f} to {limits.highest:,.0f} {limits.ascii}".strip()
        raise BadInput([Problem(None, f"The {output.says} would be outside {between}.", f"Check {_and(_from(chosen, output))}.")])
    return value


def _computed(output: Output, known: Mapping[str, float]) -> float:
    with np.errstate(all="ignore"):  # what overflows is told like what is out of range
        return float(output.work(**{argument: known[name] for argument, name in output.of.items()}))


def _outside(output: Output, chosen: Calculation, known: Mapping[str, float]) -> BadInput:
    """Names the inputs that give no value even beside likely ones; all, where only together they do."""
    among = _from(chosen, output)
    guilty = [name for name in among if not math.isfinite(_beside_examples(output, chosen, name, known[name]))]
    said = [f"{name}={shown(known[name], _input(chosen, name).unit)}" for name in guilty or among]
    wrong = "is outside the range of the formula" if len(said) == 1 else "are outside the range of the formula" if guilty else "do not go together"
    likely = ", ".join(f"{name}={_input(chosen, name).example}" for name in guilty or among)
    return BadInput([Problem(None, f"{_and(said)} {wrong} for the {output.says}.", f"Likely would be {likely}.")])


def _beside_examples(output: Output, chosen: Calculation, name: str, value: float) -> float:
    """*output* where every input but one has its example value."""
    known = {i.name: parse_quantity(i.example, i.unit).value for i in chosen.inputs} | {name: value}
    for earlier in chosen.outputs:
        known[earlier.name] = _computed(earlier, known)
        if earlier is output:
            break
    return known[output.name]


def _from(chosen: Calculation, output: Output) -> list[str]:
    """The inputs that *output* is worked out of, by way of others too, in the order of the table."""
    above, todo = set[str](), list(output.of.values())
    while todo:
        name = todo.pop()
        above.add(name)
        todo += [n for o in chosen.outputs if o.name == name for n in o.of.values()]
    return [i.name for i in chosen.inputs if i.name in above]


def _input(chosen: Calculation, name: str) -> Input:
    return next(i for i in chosen.inputs if i.name == name)


def _value(output: Output, value: float, about: bool) -> Value:
    text = shown(value, output.unit)
    return Value(output.name, output.says, value, output.unit, f"about {text}" if about else text, output.formula, output.source)


def _understood(chosen: Calculation, given: Mapping[str, Quantity]) -> dict[str, str]:
    return {i.name: shown(given[i.name].value, i.unit) for i in chosen.inputs if i.name in given}


def _taken(chosen: Calculation, values: Iterable[Value]) -> Taken | None:
    if chosen.takes is None:
        return None
    output, point = chosen.takes
    return next((Taken(point, v.text) for v in values if v.name == output), None)


def _nearest(name: str, names: Iterable[str]) -> str:
    from difflib import get_close_matches

    near = get_close_matches(name.strip().lower()[:40], list(names), 1)
    return f"Did you mean {near[0]}?" if near else f"Use one of: {', '.join(names)}."


def _and(words: list[str]) -> str:
    return " and ".join(filter(None, (", ".join(words[:-1]), words[-1])))
