"""What the words of a complaint tell of earlier repairs, and what came of them."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence, Set
from itertools import pairwise
from typing import NamedTuple

from furnace_diag.diagnosis.complaint import DENIES, END_OF_CLAUSE, NOT_ALWAYS, PAUSE
from furnace_diag.knowledge.find import Names
from furnace_diag.knowledge.spelling import plain

LONGEST_PART = 4  # words
LONGEST_DONE = 3  # words, as "put in new"
MOST_PARTS = 3  # that one repair is told of
BESIDE_IT = re.compile(r"\s*[+&]\s*")  # between two parts: "new switch + board"
AND = "and"
WITH = frozenset(["with", "w"])
WHEN = re.compile(
    r"\s+(?:(?:about\s+)?(?:\d+|a|an|one|two|three|few|a few|couple of|a couple of)\s+(?:days?|weeks?|wks?|months?|mos?|years?|yrs?)\s+(?:ago|back)"
    r"|last\s+(?:week|wk|night|nite|month|year|yr|spring|summer|fall|autumn|winter|season|time)|the other day|yest(?:e?r)?day|recently|lately)\b\.?",
    re.IGNORECASE,
)  # which no record keeps


class Repaired(NamedTuple):
    """A part or part:failure, the word of the history that says what came of an earlier repair, and the words that tell it."""

    part: str
    value: str
    words: str


def repairs_told(text: str, parts: Names, results: Names, done: Set[str], outcomes: Set[str], by_means: Sequence[str] = ()) -> list[Repaired]:
    """What an earlier repair of which *text* tells did, each part once: "new board, same", "board was swapped no change".

    *done*: words by which it is told what was done. *outcomes*: those results that tell what came of it; nothing else is told.
    *by_means*: what it was done with, which tells no more. Left out are sentences of what is not always so.
    """
    always = ". ".join(sentence for sentence in END_OF_CLAUSE.split(BESIDE_IT.sub(f" {AND} ", text)) if not NOT_ALWAYS.search(sentence))
    pieces = [plain(p).split() for p in PAUSE.split(always)]
    lines = [*pieces, *([*one, *other] for one, other in pairwise(pieces))]  # what came of it may stand after a comma
    means = [plain(each).split() for each in by_means]
    told: dict[str, Repaired] = {}
    for words in lines:
        for start in range(len(words)):
            if not DENIES.intersection(words[max(start - 1, 0) : start]):
                said = " ".join(words[start:])
                for each in _repair(WHEN.sub("", said).split(), parts, results, done, means):
                    if each.value in outcomes:
                        told.setdefault(each.part, each._replace(words=said))
    return list(told.values())


def _repair(words: Sequence[str], parts: Names, results: Names, done: Set[str], by_means: Sequence[Sequence[str]]) -> Iterator[Repaired]:
    """The repair that all of *words* tell, what was done before or after its part, or several."""
    for first in range(1, LONGEST_DONE + 1) if words[0] in done else (0,):
        for end in range(first + 1, min(first + LONGEST_PART * MOST_PARTS, len(words) - 1) + 1):
            rest = _without([*words[:first], *words[end:]], by_means)
            meant = results.meant(" ".join(rest)) if len(rest) > 1 and not done.isdisjoint(rest) else []
            for part in _each(words[first:end], parts) if len(meant) == 1 else ():
                yield Repaired(part, meant[0], " ".join(words))


def _each(words: Sequence[str], parts: Names) -> list[str]:
    """The parts that *words* name, one or several with "and" between; none where any of them is no one part."""
    named = [parts.clear(name) for name in " ".join(words).split(f" {AND} ")]
    whole = parts.clear(" ".join(words))
    return whole if len(whole) == 1 else [each[0] for each in named] if len(named) > 1 and all(len(each) == 1 for each in named) else []


def _without(words: list[str], by_means: Sequence[Sequence[str]]) -> list[str]:
    """*words* without what a thing was done with."""
    for means in by_means:
        at = next((i for i in range(1, len(words)) if words[i] in WITH and words[i + 1 : i + 1 + len(means)] == means), None)
        if at is not None:
            return [*words[:at], *words[at + 1 + len(means) :]]
    return words
