"""What the words of a complaint tell of earlier repairs, and what came of them."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence, Set
from functools import reduce
from typing import NamedTuple

from furnace_diag.diagnosis.complaint import DENIES, END_OF_CLAUSE, NOT_ALWAYS, PAUSE
from furnace_diag.knowledge.find import Names
from furnace_diag.knowledge.spelling import plain

LONGEST_PART = 4  # words
LONGEST_DONE = 3  # words, as "put in new"
MOST_PARTS = 3  # that one repair is told of
BESIDE_IT = re.compile(r"\s*[+&]\s*|\s+n\s+", re.IGNORECASE)  # between two parts: "new switch + board"
AND, AND_IN_SHORT = "and", "n"
WITH = frozenset(["with", "w"])
BOTH = "both"
VAGUE = 2  # words at most of a name that may be any part
STILL = "still"
SAME = "same"  # what is said of a thing that is still so, in one word
WHEN = re.compile(
    r"\s+(?:(?:about\s+)?(?:\d+|a|an|one|two|three|few|a few|couple of|a couple of)\s+(?:days?|weeks?|wks?|months?|mos?|years?|yrs?)\s+(?:ago|back)"
    r"|last\s+(?:week|wk|night|nite|month|year|yr|spring|summer|fall|autumn|winter|season|time)"
    r"|the other day|yest(?:e?r)?day|recently|lately|twice|(?:\d+|two|three) ?(?:x|times))\b\.?",
    re.IGNORECASE,
)  # and how often, which no record keeps


class Repaired(NamedTuple):
    """A part or part:failure, the word of the history that says what came of an earlier repair, and the words that tell it."""

    part: str
    value: str
    words: str


def repairs_told(
    text: str, parts: Names, results: Names, done: Set[str], outcomes: Set[str], by_means: Sequence[str] = (), still: Sequence[str] = ()
) -> list[Repaired]:
    """What an earlier repair of which *text* tells did, each part once: "new board, same", "board was swapped no change", "new board, still no blower".

    *done*: words by which it is told what was done. *outcomes*: those results that tell what came of it; nothing else is told.
    *by_means*: what it was done with, which tells no more. *still*: how that begins which is "still" wrong. Left out are sentences of what is not always so.
    """
    always = ". ".join(sentence for sentence in END_OF_CLAUSE.split(BESIDE_IT.sub(f" {AND} ", text)) if not NOT_ALWAYS.search(sentence))
    pieces = [words for p in PAUSE.split(always) if (words := plain(p).split())]
    lines = [*pieces, *_over_commas(pieces)]
    means, amiss = [plain(each).split() for each in by_means], [plain(each).split() for each in still]
    told: dict[str, Repaired] = {}
    for words in lines:
        for start in range(len(words)):
            if not DENIES.intersection(words[max(start - 1, 0) : start]):
                said = " ".join(words[start:])
                for each in _repair(_in_short(WHEN.sub("", said).split(), amiss), parts, results, done, means):
                    if each.value in outcomes:
                        told.setdefault(each.part, each._replace(words=said))
    return list(told.values())


def _repair(words: Sequence[str], parts: Names, results: Names, done: Set[str], by_means: Sequence[Sequence[str]]) -> Iterator[Repaired]:
    """The repair that all of *words* tell, what was done before or after its part, or several."""
    for first in range(1, LONGEST_DONE + 1) if words[0] in done else (0,):
        for end in range(first + 1, min(first + LONGEST_PART * MOST_PARTS, len(words) - 1) + 1):
            rest = _without([*words[:first], *words[end:]], by_means)
            meant = results.meant(" ".join(rest)) if len(rest) > 1 and not done.isdisjoint(rest) else []
            for part, own in _each(words[first:end], parts, done) if len(meant) == 1 else ():
                came = results.meant(" ".join([*own, *rest[first:]])) if own and first else meant
                if len(came) == 1:
                    yield Repaired(part, came[0], " ".join(words))


def _over_commas(pieces: Sequence[list[str]]) -> Iterator[list[str]]:
    """Pieces that stand one after the other as one, the last of them what came of it, and those before it parts: "new board, igniter and rod, same"."""
    for many in range(1, MOST_PARTS + 1):
        for *parts, then in (pieces[at : at + many + 1] for at in range(len(pieces) - many)):
            yield [*reduce(lambda one, other: [*one, AND, *other], parts), *then]


def _in_short(words: list[str], still: Sequence[Sequence[str]]) -> list[str]:
    """*words* with "still same" for what is told to be still wrong at their end."""
    at = words.index(STILL, 1) + 1 if STILL in words[1:] else len(words)
    return [*words[:at], SAME] if any(words[at : at + len(amiss)] == amiss for amiss in still) else words


def _each(words: Sequence[str], parts: Names, done: Set[str]) -> list[tuple[str, list[str]]]:
    """The parts that *words* name, one or several with "and" between, each with what was done to it alone. Of several those are left out that are no one part
    in a word or two, as "wire"; where one says more than that, nothing is told of any."""
    names = [[w for w in name.split() if w != BOTH] for name in " ".join(words).split(f" {AND} ")]
    named = [(name, parts.clear(" ".join(name)) or parts.clear(" ".join(w for w in name if w not in done))) for name in names]
    unclear = [[w for w in name if w not in done] for name, meant in named if len(meant) != 1]
    short = len(named) > 1 and all(len(bare) <= VAGUE for bare in unclear)
    each = [(meant[0], [w for w in name if w in done]) for name, meant in named if len(meant) == 1]
    return each if short or not unclear else []


def _without(words: list[str], by_means: Sequence[Sequence[str]]) -> list[str]:
    """*words* without what a thing was done with."""
    for means in by_means:
        at = next((i for i in range(1, len(words)) if words[i] in WITH and words[i + 1 : i + 1 + len(means)] == means), None)
        if at is not None:
            return [*words[:at], *words[at + 1 + len(means) :]]
    return words
