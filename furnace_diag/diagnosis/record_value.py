"""What was typed as the value of a record -> a number in the unit of its point, or one of the words of its sign."""

from __future__ import annotations

import re
from typing import TypedDict

from furnace_diag.diagnosis.vocabulary import Vocabulary, either
from furnace_diag.knowledge.find import Names
from furnace_diag.knowledge.models import Knowledge, Point, Sign
from furnace_diag.knowledge.values import words_for_values
from furnace_diag.problems import BadInput, Place, Problem, printable
from furnace_diag.quantities import UNITS, BadQuantity, parse_quantity


class Value(TypedDict, total=False):
    """What was read or seen, as the fields of a record."""

    number: float
    approximate: bool
    give: float
    error: float
    word: str


def value_of(kind: str, name: str, text: str, place: Place, vocabulary: Vocabulary) -> Value:
    """What *text* says of that point, sign, event or repair. Raises BadInput, with what it may be, for what is no value of it."""
    k = vocabulary.knowledge
    if kind == "point":
        return figure_value(k.point[name], text, place)
    if kind == "sign" and text in k.sign[name].values:
        return {"word": text}
    if kind == "sign":
        return {"word": _worded(name, text, vocabulary.values(name), place, _where_a_figure_belongs(k, k.sign[name], text))}
    if kind == "history":
        return {"word": _worded(name, text, vocabulary.results, place)}
    if text != "yes" and words_for_values(("yes",), {}, vocabulary.words.value_words).meant(text) != ["yes"]:
        raise BadInput([Problem(place, f"An event is only written down if it happened, not as {printable(text)}.", "Leave it out, or write yes.")])
    return {"word": "yes"}


def figure_value(point: Point, text: str, place: Place) -> Value:
    """A figure in the unit of its point. Raises BadInput for what is none."""
    try:
        quantity = parse_quantity(_figure_in(text) if point.unit == "s" else text, point.unit)
    except BadQuantity as bad:
        raise BadInput([Problem(place, f"{point.point}: {bad.message}", bad.fix)]) from None
    return {"number": quantity.value, "approximate": quantity.approximate, "give": quantity.give, "error": point.floor}


def _worded(name: str, text: str, values: Names, place: Place, more: str = "") -> str:
    """The value that *text* means. Raises BadInput, with all values and the nearest of them first, where it is none of them or could be two."""
    meant = values.meant(text)
    if len(meant) == 1:
        return meant[0]
    asked = printable(text) or "empty"
    if meant:
        of = "" if all(": " in thing for thing in meant) else f"{name}: "  # each of another sign: the one that was read in the name was typed by nobody
        raise BadInput([Problem(place, f"{of}{asked} could be {either(meant)}.", "Write the one you mean.")])
    ranked = list(dict.fromkeys([*values.suggested(text), *values.ids]))
    raise BadInput([Problem(place, f"{name} cannot be {asked}.", f"Use one of: {', '.join(ranked)}.{more}")])


def _where_a_figure_belongs(knowledge: Knowledge, sign: Sign, text: str) -> str:
    """Where a figure given for a sign belongs: the points that tell the same."""
    points = [p for p in sign.says_same_as if p in knowledge.point]
    return f" A figure belongs to point: {either(points)}." if points and text.strip()[:1].isdigit() else ""


def point_of_figure(name: str, value: str, vocabulary: Vocabulary) -> tuple[str, str]:
    """The point that tells the same as a sign, where a figure with its unit was given for it ("flame goes out: after 4 sec"); else the sign."""
    sign = vocabulary.knowledge.sign[name]
    points = [p for p in sign.says_same_as if p in vocabulary.knowledge.point]
    if len(points) != 1 or not any(c.isdigit() for c in value):
        return "sign", name
    try:
        parse_quantity(_figure_in(value), vocabulary.knowledge.point[points[0]].unit)
    except BadQuantity:
        return "sign", name
    return "point", points[0]


def _figure_in(value: str) -> str:
    """A figure without the little word before it: "after 4 sec" is 4 sec."""
    return re.sub(r"^(?:after|within|in)\s+", "", value.strip(), flags=re.IGNORECASE)


def what_a_value_is(kind: str, name: str, vocabulary: Vocabulary) -> str:
    """What a value of that point or sign may be, for messages."""
    if kind == "sign":
        return f"one of: {', '.join(vocabulary.knowledge.sign[name].values)}"
    return f"the reading, such as {UNITS[vocabulary.knowledge.point[name].unit].example}"
