"""Free text of a claim, a piece at a time -> the fields of records. Read by the reader of the prompt's typed lines; what is not plain is left.

Nobody is there to say that it was meant otherwise, so less is taken than at the prompt. A step counts only with its "at" or "on" ("intermittent
no heat" tells of no step), and "replaced board" alone is as likely the repair that the claim is for as one before it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from difflib import get_close_matches
from functools import lru_cache

from furnace_diag.diagnosis.records import Vocabulary
from furnace_diag.knowledge.find import plain
from furnace_diag.problems import BadInput
from furnace_diag.visit.lines import DONE_FIRST, MOST_WORDS, NAMED, Reader, Typed, Unclear

MOST_KEPT = 20_000  # pieces that are remembered, because the same words come again and again
# "cap reads 2.1": before a figure such a word says nothing
READS = re.compile(r"\b(?:reads|read|reading|measures|measured|shows|showed|was|is) +(?=[-+~<>]?\.?\d|O\.?L\b)", re.IGNORECASE)
FIGURE = re.compile(r"[-+~<>]?\.?\d\S*|O\.?L\.?", re.IGNORECASE)
MOST_OF_FIGURE = 3  # words: "0.3 volts ac", "3.5 in wc"
BEFORE_NAME = ("at", "on", "across", "from", "the")  # between a figure and what it was read on
LINKS = {"at", "in", "on", "during"}  # before a step
DONE = DONE_FIRST | {"part", "yes"}  # what was done, without what came of it
# beside an earlier repair these tell nothing of what was done and what came of it
WHEN = re.compile(
    r"\b\d{1,2}/\d{1,2}(?:/\d{2,4})?\b|\b(?:last|this|a|one|two|three|\d+) (?:days?|weeks?|months?|years?|winters?|seasons?)(?: ago)?\b|"
    r"\b(?:once|twice|already|before|just|recently|earlier)\b"
)
NO_MATTER = frozenset(
    ["was", "were", "been", "has", "had", "have", "and", "with", "but", "also", "out", "in", "put", "then", "the", "a", "we", "i", "they", "he", "she", "it"]
)
A_SLIP = 0.8  # likeness of two words of which one is the other misspelt: "swaped"
MOST_TOLD = 4  # names that a piece could mean

Fields = dict[str, str]  # of one record; kind and name tell what it is of


class FreeText:
    """Reads pieces of free text in one vocabulary. A piece that could mean two things, or whose name is not written in full, is not read."""

    def __init__(self, vocabulary: Vocabulary) -> None:
        self._reader = Reader(vocabulary)
        self._read = lru_cache(MOST_KEPT)(self._typed)
        self._done = DONE_FIRST | vocabulary.done

    def records(self, text: str) -> list[Fields]:
        """What a piece such as "inducer runs" or "heat terminal 0.2 low pin" says, of each heat call it tells of; empty where that is not plain."""
        typed = self._read(text)
        typed = typed if isinstance(typed, Typed) and not typed.guessed else self._read(READS.sub("", text))
        if isinstance(typed, Typed) and not typed.guessed:
            return [] if _may_be_otherwise(typed, text) else _of_each_call(typed)
        return next((_of_each_call(t) for line, t in self._turned(text) if not t.guessed and not _may_be_otherwise(t, line)), []) or self._repaired(text)

    def _repaired(self, text: str) -> list[Fields]:
        """An earlier repair and what came of it, told in a sentence: "board was swaped last week with no change"."""
        words = [w for w in plain(WHEN.sub(" ", text.lower())).split() if w not in NO_MATTER]
        if not 2 < len(words) <= MOST_WORDS:
            return []
        if self._done.isdisjoint(words):
            at, done = next(((i, d) for i, w in enumerate(words) for d in get_close_matches(w, self._done, 1, A_SLIP)), (0, words[0]))
            words[at] = done
        typed = self._read(" ".join(words))
        told = isinstance(typed, Typed) and not typed.guessed and "history" in typed.record and not _without_outcome(typed)
        return _of_each_call(typed) if told and isinstance(typed, Typed) else []

    def advice(self, text: str) -> str:
        """What a piece that is not plain could be; empty where it is like nothing."""
        typed = self._read(text)
        if isinstance(typed, Typed) and _without_outcome(typed):
            return "If it was done before this claim, say what came of it, such as no change."
        choices = typed.choices if isinstance(typed, Unclear) else (typed,) if typed else ()
        if len(choices) > 1 and len({(f["kind"], f["name"]) for f in map(_fields, choices)}) == 1:
            values = " or ".join(str(t.record["value"]) for t in choices)
            return f"It could be {_fields(choices[0])['name']}: {values}. Write which."
        names = dict.fromkeys(f["name"] for f in map(_fields, choices)) or dict.fromkeys(self._begun(text))
        return f"It could be {' or '.join(list(names)[:MOST_TOLD])}: write the name in full." if names else ""

    def _turned(self, text: str) -> Iterator[tuple[str, Typed]]:
        """A reading that begins with its figure, as "0.3 v on heat terminal low z", and the line that it is with the name first; the longest name first."""
        for figure, rest in _figure_apart(text):
            for end in range(len(rest), 0, -1):
                line = " ".join([*rest[:end], figure, *rest[end:]])
                typed = self._read(line)
                if isinstance(typed, Typed) and "point" in typed.record and typed.record["value"] == figure:
                    yield line, typed

    def _begun(self, text: str) -> list[str]:
        """The points whose names begin as what a figure is said to be read on: "120 at L1"."""
        reader, said = self._reader, [" ".join(rest) for _, rest in _figure_apart(text)]
        spelt = [*said, *map(reader.vocabulary.names("point").spelling, said)]
        return next(filter(None, ([i for kind, i in reader.names_only(s) if kind == "point"] for s in spelt)), [])

    def _typed(self, text: str) -> Typed | Unclear | None:
        try:
            return self._reader.read(text)
        except BadInput:
            return None


def _figure_apart(text: str) -> Iterator[tuple[str, list[str]]]:
    """Each way to part a piece that begins with a figure: the figure with its unit, and the words after it."""
    words = text.split()
    if not words or len(words) > MOST_WORDS or not FIGURE.fullmatch(words[0]):
        return
    for size in range(1, min(MOST_OF_FIGURE, len(words) - 1) + 1):
        start = next((i for i in range(size, len(words)) if words[i].lower() not in BEFORE_NAME), len(words))
        yield " ".join(words[:size]), words[start:]


def _of_each_call(typed: Typed) -> list[Fields]:
    return [_fields(typed) | ({"call": str(call)} if typed.calls > 1 else {}) for call in range(1, typed.calls + 1)]


def _may_be_otherwise(typed: Typed, text: str) -> bool:
    """Whether a step is told without a word before it, or a repair without what came of it."""
    return _without_outcome(typed) or ("step" in typed.record and not LINKS & set(text.lower().split()))


def _without_outcome(typed: Typed) -> bool:
    return "history" in typed.record and set(str(typed.record["value"]).lower().split()) - NO_MATTER <= DONE


def _fields(typed: Typed) -> Fields:
    kind = next(k for k in NAMED if k in typed.record)
    more = {k: " ".join(map(str, v)) if isinstance(v, list) else str(v) for k, v in typed.record.items() if k != kind}
    return {"kind": kind, "name": str(typed.record[kind]), **more}
