"""A date as a shop writes it -> the day; where day and month may stand either way round, the column or the map of columns must tell."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date

MONTH_FIRST, DAY_FIRST = ORDERS = ("month_first", "day_first")  # of two figures before the year
MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
MONTH = r"(?P<name>(?:jan|febr?|mar|apr|may|june?|july?|aug|sept?|oct|nov|dec)\.?|january|february|march|april|august|september|october|november|december)"
TIME = r"(?:(?:T| +|, *)\d{1,2}:\d{2}.*)?"  # of the day, which tells nothing here
PLAIN = (
    re.compile(r"(?P<y>\d{4})-(?P<m>\d{1,2})-(?P<d>\d{1,2})(?:[T ].*)?"),
    re.compile(rf"{MONTH} (?P<d>\d{{1,2}}),? (?P<y>\d{{4}}){TIME}", re.IGNORECASE),
    re.compile(rf"(?P<d>\d{{1,2}})[ -]{MONTH}[ -](?P<y>\d{{4}}){TIME}", re.IGNORECASE),
    re.compile(rf"(?P<d>\d{{1,2}})-{MONTH}-(?P<y>\d{{2}}){TIME}", re.IGNORECASE),  # as spreadsheets shorten it
)
TWO_FIGURES = re.compile(rf"(?P<one>\d{{1,2}})/(?P<two>\d{{1,2}})/(?P<y>\d{{4}}|\d{{2}}){TIME}")
LAST_OF_THIS_CENTURY = 68  # a year of two figures up to it is of the 2000s: POSIX.1-2017, strptime, conversion %y


def days(text: str) -> dict[str, date]:
    """The days that *text* may be, each by the order in which it is that day; in one order or the other where it is the same, empty where it is no date."""
    said = text.strip()
    named = next((m for pattern in PLAIN if (m := pattern.fullmatch(said))), None)
    if named is not None:
        told = named.groupdict()
        month = MONTHS.index(told["name"][:3].lower()) + 1 if "name" in told else int(told["m"])
        found = _made(told["y"], month, int(told["d"]))
        return dict.fromkeys(ORDERS, found) if found else {}
    figures = TWO_FIGURES.fullmatch(said)
    if figures is None:
        return {}
    one, two = int(figures["one"]), int(figures["two"])
    made = {MONTH_FIRST: _made(figures["y"], one, two), DAY_FIRST: _made(figures["y"], two, one)}
    return {order: found for order, found in made.items() if found is not None}


def day(text: str, order: str = "") -> date | None:
    """The day that *text* is in that *order*, or in whatever order where none is told; None where it is none, or may be two days."""
    found = days(text)
    if order:
        return found.get(order)
    return next(iter(found.values())) if len({*found.values()}) == 1 else None


def order_of(texts: Iterable[str]) -> str:
    """The order that dates of one column have: that of those which can be read in one order alone; empty where none is, or where they differ."""
    seen = {next(iter(found)) for text in texts if "/" in text and len(found := days(text)) == 1}
    return seen.pop() if len(seen) == 1 else ""


def _made(year: str, month: int, day_: int) -> date | None:
    century = 0 if len(year) > 2 else 2000 if int(year) <= LAST_OF_THIS_CENTURY else 1900
    try:
        return date(century + int(year), month, day_)
    except ValueError:
        return None
