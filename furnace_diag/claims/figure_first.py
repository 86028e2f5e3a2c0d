"""A piece that begins with its figure, or has it in the midst: the ways to part that from the name of what was read."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import suppress
from functools import lru_cache

from furnace_diag.quantities import UNITS, BadQuantity, names_unit, parse_quantity
from furnace_diag.visit.lines import MOST_WORDS

FIGURE = re.compile(r"[-+~<>]?\.?\d\S*|O\.?L\.?", re.IGNORECASE)
# between clauses: no decimal comma, and none that may be the point of a figure before which it stands ("flame sense ,4 ua")
COMMA = re.compile(r",(?!\d)|(?<=[^\s\d]),")
DEAD = re.compile(r"0(?:\.0+)?(?![\d.])")
MOST_OF_FIGURE = 3  # words: "0.3 volts ac", "3.5 in wc"
# between volts and the place that they are of, and how its name has it: "25.2 v on the valve" is "volts at the valve 25.2 v"
VOLTS_AT = {"at": "at", "on": "at", "to": "to", "out of": "out of"}
BEFORE_NAME = ("at", "on", "across", "from", "the")  # between a figure and what it was read on
PLACED_BEHIND = {"at", "on", "across", "to"}  # between a reading and what its name says last of where it is read: "draft 1.2 at switch"
OF_A_GAUGE = ("in_wc",)  # units of what is read with no meter of volts
MOST_KEPT = 20_000  # figures that are remembered


@lru_cache(maxsize=MOST_KEPT)
def is_quantity(text: str) -> bool:
    """Whether *text* is a figure of any unit."""
    for unit in UNITS:
        with suppress(BadQuantity):
            parse_quantity(text, unit)
            return True
    return False


def units_alone(text: str) -> list[str]:
    """The units in which *text* may be a figure alone; empty where it says more than that."""
    return [u for u in UNITS if names_unit(text, u)] if text[:1] in ".0123456789" and len(text.split()) <= MOST_OF_FIGURE else []


def figure_apart(text: str) -> Iterator[tuple[str, list[str]]]:
    """Each way to part a piece that begins with a figure: the figure with its unit, and the words after it."""
    words = text.split()
    if not words or len(words) > MOST_WORDS or not FIGURE.fullmatch(words[0]):
        return
    for size in range(1, min(MOST_OF_FIGURE, len(words) - 1) + 1):
        start = next((i for i in range(size, len(words)) if words[i].lower() not in BEFORE_NAME), len(words))
        if "across" in map(str.lower, words[size:start]):  # which is of the name as well: "26 v across limit at call"
            yield " ".join(words[:size]), ["across", *words[start:]]
        yield " ".join(words[:size]), words[start:]


def volts_apart(text: str) -> Iterator[tuple[str, list[str]]]:
    """The same of volts and the place that they are of, which is then called "volts at" it, and of a pressure that is told with its unit: a draft at it. Of a
    bare figure that may be volts the caller has to know more, but where it comes out of something."""
    for at, ours in VOLTS_AT.items():
        figure, found, place = text.partition(f" {at} ")
        is_figure = found and place.split() and FIGURE.fullmatch(figure.split()[0]) and len(figure.split()) <= MOST_OF_FIGURE
        if is_figure and (names_unit(figure, "V") or (at != "to" and figure.replace(".", "").isdigit())):
            yield figure, ["volts", *ours.split(), *place.split()]
            if at == "to" and DEAD.match(figure):  # what is live may have been fed to it: "120 v to motor, runs"
                yield figure, ["volts", "at", *place.split()]
        if is_figure and at == "at" and names_unit(figure, "in_wc"):
            yield figure, ["draft", "at", *place.split()]


def place_first(text: str) -> Iterator[tuple[str, str]]:
    """The ways to have the last of a name, told behind its figure, before that, and the figure with its unit: "draft 1.2 at switch"."""
    words = text.split()
    at = next((i for i, w in enumerate(words) if FIGURE.fullmatch(w)), 0)
    behind = next((i for i in range(at + 1, min(at + 1 + MOST_OF_FIGURE, len(words) - 1)) if words[i].lower() in PLACED_BEHIND), 0)
    for end in range(len(words), behind + 1, -1) if at and behind else ():
        yield " ".join([*words[:at], *words[behind:end], *words[at:behind], *words[end:]]), " ".join(words[at:behind])
