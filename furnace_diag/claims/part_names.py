"""The part that a shop claims, by whatever it writes in that cell: "Board, control", "bad circuit brd"."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache
from itertools import permutations

from furnace_diag.knowledge.find import Names
from furnace_diag.knowledge.models import Words
from furnace_diag.knowledge.spelling import plain

APART = re.compile(r"\s*[,;/+&]\s*|\s+and\s+", re.IGNORECASE)  # between two parts, or between a part's words
MOST_TURNED = 4  # words that are tried in every order
MOST_KEPT = 4096  # cells that are remembered: the same come again and again


def parts_named(said: str, names: Names, words: Words) -> list[str]:
    """The parts that *said* names, in any order of its words and with what is thought of it beside them: one where that is clear, several where it is
    ambiguous, none where it is unknown."""
    return list(_named(said, names, (*words.claims.blames, *words.repair_said.done["part"])))


@lru_cache(MOST_KEPT)
def _named(said: str, names: Names, beside: tuple[str, ...]) -> tuple[str, ...]:
    each = [names.clear(" ".join(_without(piece, beside))) for piece in APART.split(said)]
    several = dict.fromkeys(i for found in each for i in found)
    last_first = plain(" ".join(reversed(APART.split(said)))).replace(" ", "_")
    if len(several) > 1 and all(each):
        return (last_first,) if last_first in several else tuple(several)  # "valve, gas" is a gas valve, "igniter and board" two parts
    meant = names.meant(said)
    if meant:
        return tuple(meant)
    found = (names.clear(way) for way in _ways(_without(said, beside), names))
    return tuple(next(filter(None, found), ()))


def _without(said: str, beside: tuple[str, ...]) -> list[str]:
    """The words of *said* without what is thought of the part, before or after its name."""
    words = plain(said).split()
    ends = {tuple(plain(b).split()) for b in beside}
    longest = max(map(len, ends))
    while words:
        size = next((n for n in range(min(longest, len(words)), 0, -1) if tuple(words[:n]) in ends), 0)
        last = next((n for n in range(min(longest, len(words)), 0, -1) if tuple(words[-n:]) in ends), 0)
        if not (size or last):
            break
        words = words[size:] if size else words[:-last]
    return words


def _ways(words: list[str], names: Names) -> Iterator[str]:
    """*words* in their own order and in any other, as they are and with their short words spelled out."""
    orders = permutations(words) if 0 < len(words) <= MOST_TURNED else iter([tuple(words)])
    for order in orders:
        line = " ".join(order)
        yield from (line, names.spelling(line))
