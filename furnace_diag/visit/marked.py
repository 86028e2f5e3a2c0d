"""A reading told with what its part is marked with: "cap 4 mfd rated 10", "rise 48 on plate 35-65", "cap rated 7.5, reads 1.1"."""

from __future__ import annotations

import re
from collections.abc import Container, Iterable
from dataclasses import replace
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

from furnace_diag.knowledge.models import Knowledge, Sign
from furnace_diag.problems import BadInput, printable
from furnace_diag.quantities import BadQuantity, parse_quantity
from furnace_diag.visit.typed import Typed, Unclear, one_of

if TYPE_CHECKING:
    from furnace_diag.visit.lines import Reader

FIGURE = r"[-~]?(?:\d[\d.]*|\.\d+)"
UNIT = r"(?: ?[a-z]+)??"
TO = r"(?: ?(?:-|to) ?|(?<=\d) (?=\d))"  # "40-70", "40 to 70", "40 70"
MARK = rf"{FIGURE}(?:{UNIT}{TO}{FIGURE})?{UNIT}"
RANGE = re.compile(rf"(?P<low>{FIGURE}){UNIT}{TO}(?P<high>{FIGURE}){UNIT}", re.IGNORECASE)
READS = r"(?:reads?|reading|measures?|measured|tests?|tested|shows?|showed)"
JUDGED = re.compile(rf"(?P<read>\S.*?{FIGURE}{UNIT}),? (?:is |its )?(?P<side>[a-z][a-z ]+)", re.IGNORECASE)
NOT_SAID = "of"  # what stands before a mark where nothing does: "cap 5 uf reads 1.2"
SAYS_LITTLE = frozenset(["on", NOT_SAID])  # between two figures: of a mark only where the rules have a check against it
OF_THE_PART = r"(?: (?:cap|capacitor|can))?"


class Marked(NamedTuple):
    """A line that tells a mark: the reading, empty where it tells none, what stands between the two, and the mark. *name*: whose mark it is, where that
    stands apart from the reading."""

    read: str
    beside: str
    mark: str
    name: str = ""


def parted(text: str, beside: tuple[str, ...]) -> Marked | None:
    """A line of a reading and its mark, in either order; None where it is none. *beside*: what may stand between them, or before a mark."""
    line = " ".join(text.split())
    then, first = _mark_behind(beside).fullmatch(line), _mark_first(beside).fullmatch(line)
    if first is not None:
        return Marked(f"{first['name']} {first['read']}", first["beside"] or NOT_SAID, first["mark"], first["name"])
    return Marked(then["read"], then["beside"], then["mark"]) if then is not None else None


def mark_alone(text: str, beside: tuple[str, ...]) -> Marked | None:
    """A line that tells a mark and no reading: "cap rated 7.5"."""
    told = _only_mark(beside).fullmatch(" ".join(text.split()))
    return Marked("", told["beside"], told["mark"], told["name"]) if told is not None else None


def is_only_mark(text: str, beside: tuple[str, ...]) -> bool:
    """Whether a line is a mark and no more, of nothing that it names: "plate 35-65"."""
    return re.fullmatch(rf"{_any_of(beside)} {MARK}", " ".join(text.split()), re.IGNORECASE) is not None


def check_of(point: str, signs: Iterable[Sign], wanted: Container[str] = ()) -> Sign | None:
    """The check that holds a point's reading against its part's own mark, if there is one; of those that mind how it was read only one of *wanted*."""
    held = (s for s in signs if s.against_mark is not None and s.against_mark.point == point)
    return next((s for s in held if s.sign in wanted or (s.against_mark is not None and s.against_mark.always)), None)


def side_of(point: str, value: str, mark: str, knowledge: Knowledge, wanted: Container[str] = ()) -> tuple[str, str] | None:
    """The check of a point's reading against its mark, and on which side of that it fell; None where there is no such check, or no figure."""
    check, unit, ends = check_of(point, knowledge.sign.values(), wanted), knowledge.point[point].unit, RANGE.fullmatch(mark)
    against = check.against_mark if check is not None else None
    if check is None or against is None or (against.range and ends is None) or (against.share and ends is not None):
        return None
    try:
        low, high = (parse_quantity(end, unit).value for end in ((ends["low"], ends["high"]) if ends is not None else (mark, mark)))
        read = parse_quantity(value, unit).value
    except BadQuantity:
        return None
    if low > high or (against.share and not low):
        return None
    lies = read / low if against.share else read - high if read > high else min(read - low, 0.0)
    side = next((v for v, b in against.values.items() if (b.low is None or lies >= b.low) and (b.high is None or lies <= b.high)), "")
    return (check.sign, side) if side else None


def with_mark(text: str, reader: Reader, wanted: Container[str] = ()) -> list[Typed]:
    """The reading of a line that tells its mark as well, and on which side of it that fell where the rules have a check of just that; else the mark
    is kept beside the reading as a remark. None of any other line. *wanted*: checks that are asked for, which are answered beside the remark."""
    told, knowledge = parted(text, reader.vocabulary.words.beside_mark), reader.vocabulary.knowledge
    if told is None:
        return _judged(text, reader, wanted)
    try:
        typed = reader.read(told.read)
    except BadInput:
        return []
    if not isinstance(typed, Typed) or "point" not in typed.record or typed.weakly:
        return []
    point = str(typed.record["point"])
    check = check_of(point, knowledge.sign.values(), wanted)
    remark = replace(typed, record={**typed.record, "note": printable(f"{told.beside} {told.mark}", 100)})
    if check is None:
        return [] if told.beside.lower() in SAYS_LITTLE else [remark]
    side = side_of(point, str(typed.record["value"]), told.mark, knowledge, wanted)
    answered = [Typed({"sign": side[0], "value": side[1].replace("_", " ")})] if side is not None else []
    if check.against_mark is not None and check.against_mark.always:
        return [typed, *answered] if answered else []
    return [remark, *answered]


def or_with_mark(text: str, reader: Reader) -> Unclear | None:
    """All that the reading of a line with its mark could be, where nobody said of what: "amps 5.2 plate 6.8"; each with the mark as a remark."""
    told = parted(text, reader.vocabulary.words.beside_mark)
    if told is None or told.beside.lower() in SAYS_LITTLE:
        return None
    try:
        read = reader.read(told.read)
    except BadInput:
        return None
    note = printable(f"{told.beside} {told.mark}", 100)
    choices = [replace(each, record={**each.record, "note": note}) for each in read.choices if "point" in each.record] if isinstance(read, Unclear) else []
    return one_of(*choices) if len(choices) > 1 else None


def _judged(text: str, reader: Reader, wanted: Container[str]) -> list[Typed]:
    """The reading of a line that tells no mark but on which side of it the reading fell, "rise 52 in range": that answers the check where the rules
    hold the reading against its mark, and is a remark beside it elsewhere."""
    told = JUDGED.fullmatch(" ".join(text.split()))
    if told is None:
        return []
    try:
        typed = reader.read(told["read"])
    except BadInput:
        return []
    if not isinstance(typed, Typed) or "point" not in typed.record or typed.weakly:
        return []
    signs, point = reader.vocabulary.knowledge.sign.values(), str(typed.record["point"])
    held = next((s for s in signs if s.against_mark is not None and s.against_mark.point == point), None)
    side = reader.value_of(held.sign, told["side"]) if held is not None else ""
    if held is None or not side:
        return []
    if check_of(point, signs, wanted) is None:
        return [replace(typed, record={**typed.record, "note": printable(told["side"], 100)})]
    return [typed, Typed({"sign": held.sign, "value": side.replace("_", " ")})]


def _any_of(beside: tuple[str, ...]) -> str:
    return rf"(?:is |was )?(?P<beside>{'|'.join(sorted(map(re.escape, beside), key=len, reverse=True))})"


@lru_cache(maxsize=4)
def _mark_behind(beside: tuple[str, ...]) -> re.Pattern[str]:
    read = rf"(?P<read>\S.*?{FIGURE}{UNIT})"
    return re.compile(rf"{read},? (?:its |and |but )?{_any_of(beside)} (?:an? )?(?P<mark>{MARK}){OF_THE_PART}", re.IGNORECASE)


@lru_cache(maxsize=4)
def _mark_first(beside: tuple[str, ...]) -> re.Pattern[str]:
    read = rf"{READS} (?:at )?(?P<read>{FIGURE}{UNIT})"
    return re.compile(rf"(?P<name>\D+?)(?: {_any_of(beside)})? (?:an? )?(?P<mark>{MARK})(?: (?:rated|marked))?,? (?:and |but )?{read}", re.IGNORECASE)


@lru_cache(maxsize=4)
def _only_mark(beside: tuple[str, ...]) -> re.Pattern[str]:
    return re.compile(rf"(?P<name>\D+?) {_any_of(beside)} (?:an? )?(?P<mark>{MARK})", re.IGNORECASE)
