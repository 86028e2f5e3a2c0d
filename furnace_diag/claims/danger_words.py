"""Words that tell of a danger in a shop's own text without naming it, and words that only look as if they did; which they are the rules say.

A danger must not be missed, so what is told in a row or anywhere in one sentence counts, unless it is denied right before it or none is said right
after it. What is harmless is taken out of the text first.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass
from functools import cached_property

from furnace_diag.knowledge.models import Words
from furnace_diag.knowledge.spelling import DENIALS, DENIED, DENIED_AFTER, Spelling, plain

LITTLE = ("the", "a", "an", "its", "it", "your", "my", "is", "was", "are", "were", "has", "had", "been", "being", "got", "gets", "getting", "some", "all", "of")
BETWEEN = f" (?:(?:{'|'.join(LITTLE)}) )*"
DENYING = (*sorted((DENIALS | DENIED) - {"none", "nothing"}), "no one", "nobody", "no sign of", "no signs of", "no trace of", "no evidence of", "zero")
DENIED_BEFORE = re.compile(rf"\b(?:{'|'.join(DENYING)}) (?:(?:a|the) )?$")
LONGEST_DENIAL = 24  # [characters]
FIGURE = "n"  # in the rules' words, any figure
NONE_AFTER = rf"(?! (?:{'|'.join(sorted(DENIED_AFTER))})\b| (?:no|n)(?=,|$| \|))"  # "soot none"
NEITHER = re.compile(r"\b(no|not|without) (\w+) (?:or|nor) (?=\w)")  # "no rust or water"


def is_denied(text: str, at: int) -> bool:
    """Whether what begins at a place of *text* (plain words) is denied right before it."""
    return DENIED_BEFORE.search(text[max(at - LONGEST_DENIAL, 0) : at]) is not None


@dataclass(frozen=True)
class _Row:
    """Words one right after the other: a word of each group. *first*: those that it can begin with, which is sooner looked for."""

    first: frozenset[str]
    text: str

    @cached_property
    def pattern(self) -> re.Pattern[str]:
        return re.compile(self.text)

    def may_be_in(self, words: Collection[str]) -> bool:
        """Whether it can begin in a sentence of these *words*."""
        return FIGURE in self.first or not self.first.isdisjoint(words)

    def is_in(self, sentence: str, words: Collection[str]) -> bool:
        """Whether a *sentence* of these *words* tells it and does not deny it."""
        return self.may_be_in(words) and any(not is_denied(sentence, m.start()) for m in self.pattern.finditer(sentence))


class DangerWords:
    """The rows of words of the rules, ready to be looked for; make it once."""

    def __init__(self, words: Words) -> None:
        said = words.claims.said_of_dangers
        self._spelled = Spelling(words.short_words, frozenset())  # little words stay: "sick of" is not "sick"
        self._words = {name: self._forms(each) for name, each in said.words.items()}
        self._in_a_row = {sign: [self._row(row, NONE_AFTER) for row in rows] for sign, rows in said.in_a_row.items()}
        self._together = {sign: [[self._row((name,), NONE_AFTER) for name in row] for row in rows] for sign, rows in said.in_a_sentence.items()}
        self._harmless = [(self._row(row), False) for row in said.harmless]
        self._harmless_with = [(self._row(row), self._row(other)) for row, other in said.harmless_with]
        self._harmless_there = [(self._row(row), True) for row in said.harmless_there]

    def without_harmless(self, text: str, spreads: Callable[[str], bool]) -> str:
        """*text* (plain words; a bar between sentences, a comma between their pieces) without what is harmless.

        *spreads*: whether what follows in the sentence goes on to where it is a danger all the same.
        """
        sentences = NEITHER.sub(r"\1 \2, \1 ", text).split(" | ")
        return " | ".join(self._without(s, spreads) for s in sentences)

    def signs_in(self, text: str) -> list[str]:
        """The signs of dangers that *text*, as above, tells of."""
        told = text.split(" | ")
        spelled = (", ".join(map(self._spelled, s.split(","))) for s in told)
        sentences = [(s, _words_in(s)) for s in dict.fromkeys((*told, *spelled))]
        rows = (sign for sign, each in self._in_a_row.items() if any(row.is_in(*s) for row in each for s in sentences))
        together = (sign for sign, ways in self._together.items() if any(all(row.is_in(*s) for row in way) for way in ways for s in sentences))
        return list(dict.fromkeys((*rows, *together)))

    def _without(self, sentence: str, spreads: Callable[[str], bool]) -> str:
        words = _words_in(sentence)
        for row, other in self._harmless_with:
            if row.may_be_in(words) and other.is_in(sentence, words):
                sentence = row.pattern.sub(",", sentence)
        for row, may_spread in (*self._harmless_there, *self._harmless):
            if row.may_be_in(words):
                sentence = row.pattern.sub(lambda m, may=may_spread: m[0] if may and spreads(m.string[m.end() :]) else ",", sentence)  # type: ignore[misc]
        return sentence

    def _forms(self, words: Iterable[str]) -> list[str]:
        """*words* as they stand and as they are spelled out, the longest first."""
        return sorted({form for w in words for form in (plain(w), self._spelled(w)) if form}, key=len, reverse=True)

    def _row(self, row: Iterable[str], after: str = "") -> _Row:
        groups = [self._words[name] for name in row]
        return _Row(frozenset(form.split()[0] for form in groups[0]), rf"\b{BETWEEN.join(map(_any_of, groups))}\b{after}")


def _any_of(forms: Iterable[str]) -> str:
    """A pattern of any of *forms*, where `n` is a figure."""
    return f"(?:{'|'.join(re.sub(r'^n(?= )', r'[0-9.]+', re.escape(f).replace(chr(92) + ' ', ' ')) for f in forms)})"


def _words_in(sentence: str) -> frozenset[str]:
    return frozenset(sentence.replace(",", " ").split())
