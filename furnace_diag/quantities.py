"""A value with its unit, as technicians type it: "24.6", "0.8 uA", "OL", "3.5 in wc", "about 24".

How a number is read, where people differ:

- A decimal point is a point. A comma is read only where it can mean one thing: "24,6" and "0,800" have a
  decimal comma, "1,200.5" and "1,200,000" have thousands. "1,200" alone could be either and is refused,
  except where nobody reads thousandths (btu_h, cfm, ppm, count): there it is 1200.
- A minus sign is dropped for in_wc (suction) and uA (leads swapped), kept for F and F_diff, else refused.
- Capitals do not matter ("MV" is mV with the caps lock on), with one exception: "Mohm" is a million ohms,
  while "mohm" is refused, because people type it for a million and meters show it for a thousandth.
- A fraction ("1/2") is read only for ft3, as it stands on a gas meter's dial.
- "OL" is a resistance without end. For any other unit it is no figure: refused.
"""

from __future__ import annotations

import math
import re
from collections.abc import Collection, Mapping
from functools import lru_cache
from types import MappingProxyType
from typing import Final, Literal, NamedTuple

from furnace_diag.problems import printable

# Data
# ----------------------------------------------------------------------------------------------------

LONGEST_TEXT: Final = 80  # [characters]; no reading needs more, and a pasted page is refused before any work

PASCALS_PER_IN_WC: Final = 249.0889  # [Pa], conventional inch of water; NIST SP 811 (2008) App. B.8
METRES_PER_FOOT: Final = 0.3048  # [m], exact; NIST SP 811 (2008) App. B.8
JOULES_PER_BTU: Final = 1055.056  # [J], International Table Btu; NIST SP 811 (2008) App. B.8
PASCALS_PER_PSI: Final = 6894.757  # [Pa]; NIST SP 811 (2008) App. B.8
WATTS_PER_BTU_H: Final = 0.2930711  # [W], International Table Btu per hour; NIST SP 811 (2008) App. B.8


class Unit(NamedTuple):
    """What is known of a canonical unit. A value outside *lowest* to *highest* is taken for a slip."""

    lowest: float
    highest: float
    shown: str  # how it is written after a number
    ascii: str  # the same where only plain letters can be shown
    example: str  # what to type, for messages
    minus: Literal["refused", "dropped", "kept"] = "refused"
    in_words: str = ""  # what it is called after a part in the name of a reading, as in "igniter ohms"; none of volts, which a part has in several places


# Limits: beyond any meter used on a furnace, or beyond any furnace. Common practice, no source.
UNITS: Final[Mapping[str, Unit]] = MappingProxyType(
    {
        "V": Unit(0, 1_000, "V", "V", "24.6 V"),
        "A": Unit(0, 200, "A", "A", "3.2 A", in_words="amps"),
        "uA": Unit(0, 1_000, "µA", "uA", "2.4 uA", minus="dropped", in_words="microamps"),
        "ohm": Unit(0, 1e9, "Ω", "ohm", "47 ohm, or OL", in_words="ohms"),
        "uF": Unit(0, 1_000, "µF", "uF", "7.5 uF", in_words="microfarads"),
        "in_wc": Unit(0, 100, "in. w.c.", "in. w.c.", "3.5 in wc", minus="dropped"),
        "F": Unit(-100, 3_000, "°F", "F", "140 F", minus="kept"),
        "F_diff": Unit(-500, 3_000, "°F", "F", "55 F", minus="kept"),
        "s": Unit(0, 86_400, "s", "s", "90 s, 1.5 min or 1:30"),
        "ppm": Unit(0, 100_000, "ppm", "ppm", "35 ppm"),
        "percent": Unit(0, 1_000, "%", "%", "80 %"),
        "cfm": Unit(0, 20_000, "cfm", "cfm", "1200 cfm"),
        "VA": Unit(0, 10_000, "VA", "VA", "40 VA"),
        "btu_h": Unit(0, 1_000_000, "Btu/h", "Btu/h", "80000 Btu/h"),
        "ft3_h": Unit(0, 10_000, "ft³/h", "ft3/h", "78 ft3/h"),
        "count": Unit(0, 1_000, "", "", "3"),
        "ft": Unit(-2_000, 30_000, "ft", "ft", "50 ft", minus="kept"),
        "ft3": Unit(0, 1_000, "ft³", "ft3", "2 ft3"),
        "btu_ft3": Unit(0, 5_000, "Btu/ft³", "Btu/ft3", "1036 Btu/ft3"),
        "Hz": Unit(0, 1_000, "Hz", "Hz", "60 Hz"),
        "awg": Unit(0, 50, "AWG", "AWG", "18 AWG"),
    }
)

# Every spelling of a unit, in small letters without spaces, dots, hyphens and underscores.
_SPELLINGS: Final[Mapping[str, frozenset[str]]] = MappingProxyType(
    {
        unit: frozenset(spellings.split())
        for unit, spellings in {
            "V": "v volt volts vac vdc acv dcv voltac voltsac voltdc voltsdc acvolts dcvolts v~",
            "mV": "mv mvac mvdc millivolt millivolts",
            "kV": "kv kilovolt kilovolts",
            "A": "a amp amps ampere amperes aac adc ampac ampsac ampsdc",
            "mA": "ma maac madc milliamp milliamps milliampere milliamperes",
            "uA": "ua uaac uadc microamp microamps microampere microamperes",
            "nA": "na nanoamp nanoamps nanoampere nanoamperes",
            "ohm": "ohm ohms",
            "kohm": "k kohm kohms kilohm kilohms kiloohm kiloohms",
            "Mohm": "meg megs megohm megohms megaohm megaohms",
            "milliohm": "milliohm milliohms",
            "uF": "uf mfd microfarad microfarads",
            "nF": "nf nanofarad nanofarads",
            "pF": "pf picofarad picofarads",
            "in. w.c.": (
                "in inch inches \" '' wc \"wc ''wc inwc iwc inchwc incheswc inchesofwc inh2o \"h2o inchesh2o"
                " inchesofh2o inwater inchofwater incheswater inchesofwater inchwatercolumn incheswatercolumn"
                ' inchesofwatercolumn wg inwg "wg incheswg'
            ),
            "Pa": "pa pascal pascals",
            "hPa": "hpa",
            "kPa": "kpa kilopascal kilopascals",
            "mbar": "mbar mb millibar millibars",
            "psi": "psi psig lb lbs pound pounds",
            "oz": "oz ozs ounce ounces",
            "F": "f degf degreef degreesf fahrenheit degfahrenheit degreesfahrenheit deg degree degrees",
            "C": "c degc degreec degreesc celsius centigrade degcelsius degreescelsius",
            "ms": "ms msec millisecond milliseconds",
            "s": "s sec secs second seconds",
            "min": "min mins minute minutes",
            "h": "h hr hrs hour hours",
            "ppm": "ppm partspermillion",
            "%": "% percent pct",
            "cfm": "cfm ft3/min cf/min cubicfeetperminute cubicfeet/minute",
            "ft3/h": "ft3h ft3/h ft3/hr cfh cf/h cf/hr cubicfeetperhour cubicfeet/hour",
            "VA": "va voltamp voltamps voltampere voltamperes",
            "kVA": "kva",
            "Btu/h": "btu btuh btu/h btu/hr btuhr btus btusperhour btuperhour",
            "kBtu/h": "k mbh kbtu kbtuh kbtu/h kbtu/hr",
            "W": "w watt watts",
            "kW": "kw kilowatt kilowatts",
            "times": "time times x flash flashes blink blinks count counts cycle cycles try tries turn turns",
            "ft": "ft foot feet '",
            "m": "m meter meters metre metres",
            "ft3": "ft3 ftcubed cf cuft cubicfoot cubicfeet",
            "m3": "m3 cubicmeter cubicmeters cubicmetre cubicmetres",
            "L": "l liter liters litre litres",
            "Btu/ft3": "btu/ft3 btuft3 btu/cf btu/cuft btu btus btupercubicfoot",
            "MJ/m3": "mj/m3 mjm3 megajoules/cubicmeter megajoules/cubicmetre",
            "Hz": "hz hertz",
            "AWG": "awg ga gauge g",
        }.items()
    }
)

# What one of each named unit comes to in the canonical one.
_SCALES: Final[Mapping[str, Mapping[str, float]]] = MappingProxyType(
    {
        "V": {"V": 1, "mV": 0.001, "kV": 1_000},
        "A": {"A": 1, "mA": 0.001, "uA": 1e-6, "nA": 1e-9},
        "uA": {"uA": 1, "nA": 0.001, "mA": 1_000, "A": 1e6},
        "ohm": {"ohm": 1, "milliohm": 0.001, "kohm": 1_000, "Mohm": 1e6},
        "uF": {"uF": 1, "nF": 0.001, "pF": 1e-6},
        "in_wc": {
            "in. w.c.": 1,
            "Pa": 1 / PASCALS_PER_IN_WC,
            "hPa": 100 / PASCALS_PER_IN_WC,
            "kPa": 1_000 / PASCALS_PER_IN_WC,
            "mbar": 100 / PASCALS_PER_IN_WC,
            "psi": PASCALS_PER_PSI / PASCALS_PER_IN_WC,
        "oz": PASCALS_PER_PSI / PASCALS_PER_IN_WC / 16,  # of gas pressure: an ounce on a square inch
        },
        "F": {"F": 1, "C": 1.8},
        "F_diff": {"F": 1, "C": 1.8},
        "s": {"s": 1, "ms": 0.001, "min": 60, "h": 3_600},
        "ppm": {"ppm": 1},
        "percent": {"%": 1},
        "cfm": {"cfm": 1, "ft3/h": 1 / 60},
        "VA": {"VA": 1, "kVA": 1_000},
        "btu_h": {"Btu/h": 1, "kBtu/h": 1_000, "W": 1 / WATTS_PER_BTU_H, "kW": 1_000 / WATTS_PER_BTU_H},
        "ft3_h": {"ft3/h": 1, "cfm": 60},
        "count": {"times": 1},
        "ft": {"ft": 1, "m": 1 / METRES_PER_FOOT},
        "ft3": {"ft3": 1, "m3": METRES_PER_FOOT**-3, "L": 0.001 * METRES_PER_FOOT**-3},
        "btu_ft3": {"Btu/ft3": 1, "MJ/m3": 1e6 * METRES_PER_FOOT**3 / JOULES_PER_BTU},
        "Hz": {"Hz": 1},
        "awg": {"AWG": 1},
    }
)
# Added after scaling; F_diff is left out on purpose: a difference has no offset.
_ZERO_AT: Final = MappingProxyType({("F", "C"): 32.0})

# Spellings whose capitals matter, and those that mean two things to two people.
_CAPITALS: Final = MappingProxyType({("ohm", key): "Mohm" for key in ("M", "Mohm", "MOHM", "Mohms", "MOHMS")})
_TWO_MEANINGS: Final = MappingProxyType(
    {
        ("ohm", "m"): "milliohm or megohm",
        ("ohm", "mohm"): "milliohm or megohm",
        ("ohm", "mohms"): "milliohm or megohm",
        ("uF", "mf"): "uF or millifarad",
        ("s", "m"): "min or ms",
    }
)

_NOTHING: Final = frozenset({"nothing", "none", "zero", "dead", "nil", "zip", "zilch", "nada"})
_NOTHING_NAMED: Final = ("voltage", "volts", "power", "juice", "current", "amps", "pressure", "draft", "reading", "signal")  # after "no"
_NOTHING_IS_ZERO: Final = frozenset({"V", "A", "uA", "in_wc"})  # for ohms "nothing" could also mean no path
_OPEN: Final = frozenset({"open", "openline", "opencircuit", "infinite", "infinity"})
_OVER_RANGE: Final = _OPEN | {"ol", "0l", "overlimit", "overload", "overrange"}
_WHOLE_IN_PRACTICE: Final = frozenset({"btu_h", "cfm", "ppm", "count"})

# Signs that keyboards and copied text bring along. Raised figures are left alone: "24²" must not become 242.
_PLAIN: Final = str.maketrans(
    {
        "µ": "u",  # micro sign
        "\N{GREEK SMALL LETTER MU}": "u",
        "\N{OHM SIGN}": "ohm",
        "\N{GREEK CAPITAL LETTER OMEGA}": "ohm",
        **dict.fromkeys("°º", "deg"),
        "∞": "infinite",
        "≈": "~",
        "½": "1/2",
        "¼": "1/4",
        "\N{MINUS SIGN}": "-",
        "\N{DOUBLE PRIME}": '"',
        "\N{LEFT DOUBLE QUOTATION MARK}": '"',
        "\N{RIGHT DOUBLE QUOTATION MARK}": '"',
    }
)
_PLAIN_IN_UNITS: Final = str.maketrans({"₂": "2", "³": "3", **dict.fromkeys("._-")})

_ABOUT: Final = re.compile(r"(?:about|'?bout|abt\.?|around|roughly|approximately|approx\.?|circa|~)\s*", re.IGNORECASE)
_ISH: Final = re.compile(r"(?<=[0-9a-z])(?:\s*-?ish\b|\s+or (?:so|thereabouts)\b)", re.IGNORECASE)  # "24ish", "24 V ish", "4 min or so"
_RANGE: Final = re.compile(
    r"(?![0-9.]+e[-+]?[0-9])(?:between|from)?\s*(?P<low>[0-9.,]+[^0-9]*?)\s*(?:to|and|-)\s*(?P<high>[0-9.,]+.*)", re.IGNORECASE
)
_BOUND: Final = re.compile(
    r"(?:[<>]=?|(?:over|above|more|greater|higher|under|below|less|lower|fewer|at least|at most|up to|max|min)\b(?:\s+than\b)?)", re.IGNORECASE
)
_MOST_APART: Final = 0.5  # of its middle: a range wider than this is a reading that swings, judgement
_CLOCK: Final = re.compile(
    r"(?:(?P<h>[0-9]{1,2}):(?=[0-5][0-9]:))?(?P<min>[0-9]{1,4}):(?P<s>[0-5][0-9](?:\.[0-9]+)?)"
)
_FRACTION: Final = re.compile(r"(?P<part>[1-9][0-9]?)\s*/\s*(?P<whole>[1-9][0-9]?)(?![0-9.,])")
_NUMBER: Final = re.compile(
    r"(?P<sign>[-+]?)\s*(?P<digits>[0-9][0-9,]*(?:\.[0-9]*)?|\.[0-9]+)(?P<power>[eE][-+]?[0-9]+)?"
)
_THOUSANDS: Final = re.compile(r"[1-9][0-9]{0,2}(?:,[0-9]{3})+(?:\.[0-9]*)?")
_DECIMAL_COMMA: Final = re.compile(r"[0-9]+,[0-9]+")

# From which size on a value is shown in which unit; elsewhere the canonical unit serves for all sizes.
_SHOWN_FROM: Final[Mapping[str, tuple[tuple[float, str], ...]]] = MappingProxyType(
    {
        "V": ((0.1, "V"), (0, "mV")),
        "A": ((0.1, "A"), (0.0001, "mA"), (0, "uA")),
        "ohm": ((1e6, "Mohm"), (1e3, "kohm"), (0, "ohm")),
        "s": ((7_200, "h"), (120, "min"), (0, "s")),
    }
)
_SYMBOLS: Final = MappingProxyType({"uA": "µA", "ohm": "Ω", "kohm": "kΩ", "Mohm": "MΩ"})


# Code
# ----------------------------------------------------------------------------------------------------


class Quantity(NamedTuple):
    """A *value* in a canonical *unit* (a key of `UNITS`); math.inf only for ohm, where the meter shows OL.

    *give*: of a range, how far its ends lie from the value, which is its middle; it is approximate too.
    """

    value: float
    unit: str
    approximate: bool = False
    give: float = 0.0


class BadQuantity(ValueError):
    """A text that cannot be taken for the quantity wanted.

    *wrong* goes on from the text in quotes ('"24 ohm" is in ohm, ...'); *fix* is a sentence of its own.
    """

    def __init__(self, text: str, wrong: str, fix: str) -> None:
        super().__init__(text, wrong, fix)
        self.text = text
        self.message = f'"{printable(text, 40)}" {wrong}.'
        self.fix = fix

    def __str__(self) -> str:
        return f"{self.message} {self.fix}"


def parse_quantity(text: str, unit: str) -> Quantity:
    """Read what was typed for a point that is read in *unit*; a unit in the text is converted to it.

    See the top of this module for commas, signs and capitals.

    Raises BadQuantity when the text cannot be that quantity, ValueError when *unit* is not in `UNITS`.
    """
    _must_be_known(unit)
    if not text.strip():
        raise BadQuantity(text, "is empty", _type_like(unit))
    if len(text) > LONGEST_TEXT:
        raise BadQuantity(text, "is too long for one reading", _type_like(unit))
    plain = text.translate(_PLAIN).strip()
    number = _ISH.sub("", _ABOUT.sub("", plain, count=1) if _ABOUT.match(plain) else plain, count=1)
    value = _from_word(text, number, unit)
    if value is None and _BOUND.match(number):
        raise BadQuantity(text, "tells only on which side of a figure it lies", f"Type the figure the meter showed, such as {UNITS[unit].example}.")
    if value is None and _RANGE.fullmatch(number):
        middle, give = _middle(text, number, unit)
        return Quantity(middle, unit, approximate=True, give=give)
    if value is None:
        value = _checked(text, _from_number(text, number, unit), unit)
    return Quantity(value, unit, approximate=number != plain)


@lru_cache(4096)  # a line is cut in many ways, most of which end alike
def names_unit(text: str, unit: str) -> bool:
    """Whether *text* is a figure that tells itself that it is in *unit*: "0.8 ohm", "900 mA", and OL of ohms. A bare figure may be in any."""
    try:
        value = parse_quantity(text, unit).value
    except BadQuantity:
        return False
    plain = text.translate(_PLAIN).strip()
    figure = _NUMBER.match(_ABOUT.sub("", plain, count=1))
    if figure is None:
        return value == math.inf and _key(plain).casefold() not in _OPEN  # "open" is said of switches too, by who reads no ohms
    return _spelled(_key(figure.string[figure.end() :]).casefold(), _SCALES[unit]) is not None


def spells_unit(word: str, units: Collection[str]) -> bool:
    """Whether *word* alone is a spelling of one of *units* or of what is converted to it: "vac" of V, "kohm" of ohm."""
    key = _key(word.translate(_PLAIN)).casefold()
    return any(_spelled(key, _SCALES[unit]) is not None for unit in units)


def _middle(text: str, plain: str, unit: str) -> tuple[float, float]:
    """Of a range such as "24 to 26 V", and how far its ends lie from it. Raises BadQuantity where its ends are too far apart to be one reading."""
    found = _RANGE.fullmatch(plain)
    assert found is not None
    high = _checked(text, _from_number(text, found["high"], unit), unit)
    own_unit = re.search(r"[^0-9.,\s]", found["low"])
    low_text = found["low"] if own_unit else found["low"].strip() + re.sub(r"^[0-9.,\s]+", " ", found["high"])
    low = _checked(text, _from_number(text, low_text, unit), unit)
    if abs(high - low) > _MOST_APART * (high + low) / 2:
        raise BadQuantity(text, "swings too far to be one reading", "Type the lowest with `hold: min` or the highest with `hold: max`, or two records.")
    return (low + high) / 2, abs(high - low) / 2


def format_quantity(value: float, unit: str, *, ascii: bool = False) -> str:
    """*value* [*unit*] for people, to four significant digits; `parse_quantity` reads it back.

    With *ascii*, units are spelled in plain letters ("uA", "ohm").

    Raises ValueError when *unit* is not in `UNITS`, or *value* is nan or infinite (but infinite ohm is "OL").
    """
    _must_be_known(unit)
    if value == math.inf and unit == "ohm":
        return "OL"
    if not math.isfinite(value):
        raise ValueError(f"{value} {unit} is not a reading")
    steps = _SHOWN_FROM.get(unit, ())
    named = next((name for least, name in steps if abs(value) >= least and value), None)
    if named is None or named == unit:
        label = UNITS[unit].ascii if ascii else UNITS[unit].shown
        return f"{_digits(value)} {label}".rstrip()
    label = named if ascii else _SYMBOLS.get(named, named)
    return f"{_digits(value / _SCALES[unit][named])} {label}"


def _must_be_known(unit: str) -> None:
    if unit not in UNITS:
        raise ValueError(f"unit must be one of {', '.join(UNITS)}; not {unit!r}")


def _digits(value: float) -> str:
    """Four significant digits, never with an exponent."""
    text = f"{float(f'{value:.4g}'):.9f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _type_like(unit: str) -> str:
    return f"Type one number, with or without its unit, such as {UNITS[unit].example}."


def _from_number(text: str, plain: str, unit: str) -> float:
    """The value [*unit*], not yet held against the limits. *text* is kept for messages."""
    clock = _CLOCK.fullmatch(plain) if unit == "s" else None
    if clock:
        return 3_600 * int(clock["h"] or 0) + 60 * int(clock["min"]) + float(clock["s"])
    fraction = _FRACTION.match(plain) if unit == "ft3" else None
    if fraction:
        return _converted(int(fraction["part"]) / int(fraction["whole"]), _named_unit(text, plain[fraction.end() :], unit), unit)
    found = _NUMBER.match(plain)
    if not found:
        raise BadQuantity(text, "is not a number", _type_like(unit))
    number = float(found["sign"] + _without_commas(text, found["digits"], unit) + (found["power"] or ""))
    return _converted(number, _named_unit(text, plain[found.end() :], unit), unit)


def _key(spelling: str) -> str:
    """A unit's spelling without what people put in or leave out."""
    return "".join(spelling.translate(_PLAIN_IN_UNITS).split())


def _from_word(text: str, plain: str, unit: str) -> float | None:
    """What a word such as OL or "nothing" stands for, or None when this is no such word."""
    key = _key(plain).casefold()
    if _is_word(key, _OVER_RANGE, unit):
        if unit == "ohm":
            return math.inf
        raise BadQuantity(text, f"is a reading in ohm, not in {unit}", _holds(unit))
    if _is_word(key, _NOTHING, unit) or key in {f"no{name}" for name in _NOTHING_NAMED}:
        if unit in _NOTHING_IS_ZERO:
            return 0.0
        raise BadQuantity(text, f"does not say how many {unit}", _type_like(unit))
    return None


def _holds(unit: str) -> str:
    """What a reading in *unit* can be."""
    rules = UNITS[unit]
    nothing = " Type 0 only if it showed 0." if unit in _NOTHING_IS_ZERO else ""
    return f"It is a figure from {rules.lowest:,.0f} to {rules.highest:,.0f}: type what the meter showed, such as {rules.example}.{nothing}"


def _is_word(key: str, words: frozenset[str], unit: str) -> bool:
    """Whether *key* is one of *words*, alone or before a unit, as in "OL kohm"."""
    endings = {""}.union(*(_SPELLINGS[name] for name in _SCALES[unit]), {"mohm"} if unit == "ohm" else ())
    return any(key.startswith(word) and key[len(word) :] in endings for word in words)


def _without_commas(text: str, digits: str, unit: str) -> str:
    """*digits* as `float` takes them. Raises BadQuantity where a comma could mean two things."""
    if "," not in digits:
        return digits
    if _THOUSANDS.fullmatch(digits):
        if digits.count(",") > 1 or "." in digits or unit in _WHOLE_IN_PRACTICE:
            return digits.replace(",", "")
        whole, point = digits.replace(",", ""), digits.replace(",", ".")
        raise BadQuantity(text, "has a comma that could mean two things", f"Type {whole} or {point}.")
    if _DECIMAL_COMMA.fullmatch(digits):
        return digits.replace(",", ".")
    raise BadQuantity(text, "has a comma in an odd place", _type_like(unit))


def _named_unit(text: str, rest: str, unit: str) -> str:
    """Which named unit of `_SCALES` stands after the number; the canonical one when none does."""
    if not rest.strip():
        return next(iter(_SCALES[unit]))
    key = _key(rest)
    if (unit, key) in _CAPITALS:
        return _CAPITALS[unit, key]
    key = key.casefold()
    if (unit, key) in _TWO_MEANINGS:
        meanings = _TWO_MEANINGS[unit, key]
        raise BadQuantity(text, f"has a unit that could be {meanings}", "Spell the unit out.")
    named = _spelled(key, _SCALES[unit])
    if named is None:
        raise _wrong_unit(text, rest, key, unit)
    return named


def _spelled(key: str, names: Mapping[str, object]) -> str | None:
    return next((name for name in names if key in _SPELLINGS[name]), None)


def _wrong_unit(text: str, rest: str, key: str, unit: str) -> BadQuantity:
    """Says whether the unit is another kind of reading's, or nobody's."""
    foreign = _spelled(key, _SPELLINGS)
    if foreign is not None:
        fix = f"Type it in {unit}, such as {UNITS[unit].example}; a reading in {foreign} has another name."
        return BadQuantity(text, f"is in {foreign}, but this reading is in {unit}", fix)
    if unit == "s" and ":" in rest:
        return BadQuantity(text, "is not minutes:seconds", "After the colon type two figures, from 00 to 59.")
    wrong = f'has "{printable(rest.strip(), 20)}" after the number, which is no unit known here'
    return BadQuantity(text, wrong, _type_like(unit))


def _converted(number: float, named: str, unit: str) -> float:
    """*number* [*named*] in *unit*, to 12 digits, so that 21 C does not become 69.80000000000001 F."""
    scale = _SCALES[unit][named]
    if scale == 1:
        return number
    return float(f"{number * scale + _ZERO_AT.get((unit, named), 0.0):.12g}")


def _checked(text: str, value: float, unit: str) -> float:
    """*value* with its sign settled. Raises BadQuantity when no meter could have shown it."""
    rules = UNITS[unit]
    if value < 0 and rules.minus == "refused":
        wrong = f"is below zero, which a reading in {unit} cannot be"
        raise BadQuantity(text, wrong, "Type it without the minus sign.")
    value = abs(value) if rules.minus == "dropped" else value
    if not rules.lowest <= value <= rules.highest:
        limits = f"{rules.lowest:,.0f} to {rules.highest:,.0f} {unit}"
        raise BadQuantity(
            text, f"is outside {limits}, beyond any meter here", "Check the number and the unit."
        )
    if unit == "count" and value != int(value):
        raise BadQuantity(text, "is not a whole number", _type_like(unit))
    return value + 0.0  # turns -0.0 into 0.0
