"""Plain words that somebody misspelt, in text that nobody is asked about: "headachs", "exchangr", "siezed"."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from functools import cached_property, lru_cache
from operator import is_

from furnace_diag.knowledge.likeness import LONG
from furnace_diag.knowledge.model_base import Model
from furnace_diag.knowledge.models import Sign, Words
from furnace_diag.knowledge.spelling import stem

LEAST = 6  # [letters] of a word that may be a slip; shorter ones are as likely another word
LEAST_DOUBLED = 4  # [letters] of one in which a letter only stands twice where it should stand once, or once for twice
VOWELS = frozenset("aeiouy")
WORD = re.compile(r"[a-z]+")
APOSTROPHE = re.compile("['’`]")
DOUBLED = re.compile(r"(.)\1+")
MOST_KEPT = 8192  # words that are remembered


class Slips:
    """Mends the words of a text that are none of *known*, and one slip away from one of *wanted* alone. Both are asked for when they are first needed."""

    def __init__(self, wanted: Callable[[], Iterable[str]], known: Callable[[], Collection[str]]) -> None:
        self._ask_wanted, self._ask_known = wanted, known
        self._mended = lru_cache(MOST_KEPT)(self._one)

    def __call__(self, text: str) -> str:
        """*text* (plain words), with its slips mended."""
        return WORD.sub(lambda m: self._mended(m[0]) if len(m[0]) >= LEAST_DOUBLED else m[0], text)

    @cached_property
    def _wanted(self) -> dict[str, list[str]]:
        """The words that may be meant, by their first letter: people seldom miss it."""
        found = dict[str, list[str]]()
        for word in sorted(w for w in words_in(self._ask_wanted()) if len(w) >= LEAST_DOUBLED):
            found.setdefault(word[0], []).append(word)
        return found

    @cached_property
    def _known(self) -> frozenset[str]:
        return frozenset(self._ask_known())

    def _one(self, word: str) -> str:
        """*word*, or the word that it is a slip of; of several forms of one word, as "headache" and "headaches", the longest."""
        meant = [other for other in self._wanted.get(word[0], ()) if is_slip(word, other)]
        alone = len({stem(other) for other in meant}) == 1 and word not in meant
        return max(meant, key=len) if alone and word not in self._known else word


def is_slip(word: str, other: str) -> bool:
    """Whether *word* is *other*, or *other* with a letter too many, too few or at the place of its neighbour, or with another vowel in a long one; and
    not another form of it: "exchange" is no slip of "exchanger"."""
    if word == other:
        return True
    if abs(len(word) - len(other)) > 1 or min(len(word), len(other)) < LEAST_DOUBLED:
        return False
    if DOUBLED.sub(r"\1", word) == DOUBLED.sub(r"\1", other):
        return True
    if min(len(word), len(other)) < LEAST or _is_form(word, other):
        return False
    from rapidfuzz.distance import OSA  # only where a word is like one that is wanted

    if OSA.distance(word, other, score_cutoff=1) > 1:
        return False
    apart = [(a, b) for a, b in zip(word, other, strict=False) if a != b] if len(word) == len(other) else []
    return len(apart) != 1 or (len(word) >= LONG and VOWELS.issuperset(apart[0]))


def _is_form(word: str, other: str) -> bool:
    """Whether one is the other with a letter behind it, but for an e that was left out: "monoxid"."""
    return (word.startswith(other) or other.startswith(word)) and other != f"{word}e"


def words_in(texts: Iterable[str]) -> frozenset[str]:
    """The plain words in *texts*, by their spaces: there are thousands of texts, and few words."""
    apart = frozenset(" ".join(texts).lower().split())
    return frozenset(WORD.findall(APOSTROPHE.sub("", " ".join(apart))))


def strings_in(value: object) -> Iterator[str]:
    """All texts in a model of the rules, or in what it is made of."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, Mapping):
        for key, each in value.items():
            yield from (*strings_in(key), *strings_in(each))
    elif isinstance(value, Iterable):
        for each in value:
            yield from strings_in(each)
    elif isinstance(value, Model):
        yield from strings_in(vars(value))


def slips_of(words: Words, signs: Iterable[Sign]) -> Slips:
    """What is misspelt among the words by which anybody tells of *signs* without an instrument, and of dangers. Made once for the same rules."""
    signs = tuple(signs)
    if not (_made and _made[0][0] is words and len(_made[0][1]) == len(signs) and all(map(is_, _made[0][1], signs))):
        _made[:] = [(words, signs, _slips_made(words, signs))]
    return _made[0][2]


_made: list[tuple[Words, tuple[Sign, ...], Slips]] = []  # the last that was made, by what


def _slips_made(words: Words, signs: tuple[Sign, ...]) -> Slips:
    def wanted() -> Iterator[str]:
        """What tells of a danger, and what a sign is called and told by."""
        yield from (each for group in words.claims.said_of_dangers.words.values() for each in group)
        yield from (each for sign in signs for texts in (sign.also_called, *sign.in_complaints.values()) for each in texts)

    def known() -> frozenset[str]:
        return words_in(text for each in (words, *signs) for text in strings_in(each))

    return Slips(wanted, known)
