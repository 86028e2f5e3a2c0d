"""A reading told with what its part is marked with: "cap 4 mfd rated 10", "rise 48 on plate 35-65"."""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import lru_cache

from furnace_diag.knowledge.models import Sign
from furnace_diag.problems import BadInput, printable
from furnace_diag.quantities import BadQuantity, parse_quantity
from furnace_diag.visit.lines import Reader
from furnace_diag.visit.typed import Typed

FIGURE = r"[-~]?(?:\d[\d.]*|\.\d+)"
UNIT = r"(?: ?[a-z]+)??"
MARK = rf"{FIGURE}(?:{UNIT} ?(?:-|to) ?{FIGURE})?{UNIT}"


def with_mark(text: str, reader: Reader) -> list[Typed]:
    """The reading of a line that tells its mark as well, and on which side of it that fell where the rules have a check of just that; else the mark
    is kept beside the reading as a remark. None of any other line."""
    told = _against(reader.vocabulary.words.beside_mark).fullmatch(" ".join(text.split()))
    if told is None:
        return []
    try:
        typed = reader.read(told["read"])
    except BadInput:
        return []
    if not isinstance(typed, Typed) or "point" not in typed.record or typed.weakly:
        return []
    point = reader.vocabulary.knowledge.point[str(typed.record["point"])]
    check = _check_of(point.point, reader.vocabulary.knowledge.sign.values())
    if check is None or check.answered_by is None:
        return [Typed({**typed.record, "note": printable(f"{told['beside']} {told['mark']}", 100)}, guessed=typed.guessed)]
    try:
        share = parse_quantity(str(typed.record["value"]), point.unit).value / parse_quantity(told["mark"], point.unit).value
    except (BadQuantity, ZeroDivisionError):
        return []
    bands = check.answered_by.values.items()
    value = next((v for v, b in bands if (b.low is None or share >= b.low) and (b.high is None or share <= b.high)), "")
    return [typed, Typed({"sign": check.sign, "value": value.replace("_", " ")})] if value else []


def _check_of(point: str, signs: Iterable[Sign]) -> Sign | None:
    """The check that holds a point's reading against its part's own mark, if there is one."""
    return next((s for s in signs if point in s.says_same_as and s.answered_by is not None and s.answered_by.share_of is not None), None)


@lru_cache(maxsize=4)
def _against(beside: tuple[str, ...]) -> re.Pattern[str]:
    words = "|".join(sorted(map(re.escape, beside), key=len, reverse=True))
    read, mark = rf"(?P<read>\S.*?{FIGURE}{UNIT})", rf"(?P<mark>{MARK})(?: (?:cap|capacitor|can))?"
    return re.compile(rf"{read},? (?:its |and |but )?(?P<beside>{words}) (?:an? )?{mark}", re.IGNORECASE)
