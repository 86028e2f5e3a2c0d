"""What the words of a complaint say of the furnace, as whoever lives with it tells it: "glows, no gas", "the fan never shuts off"."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence, Set
from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple

from furnace_diag.knowledge.find import Names
from furnace_diag.knowledge.finding_models import Hazard
from furnace_diag.knowledge.models import Sign
from furnace_diag.knowledge.spelling import DENIALS, DENIED, DENIED_AFTER, Spelling, plain

NOT_ALWAYS = re.compile(
    r"\b(?:some ?times|at times|intermittent(?:ly)?|now and then|now and again|on and off|off and on|comes and goes|occasional(?:ly)?|once in a while|"
    r"every so often|random(?:ly)?|(?:some|other|most) (?:days?|times?)|mornings|nights|windy|half a day|one in \w+|"
    r"may|might|maybe|thinks?|believes?|guess(?:es)?|used to|before that)\b",
    re.IGNORECASE,
)
END_OF_CLAUSE = re.compile(r"[.](?!\d)")
CLAUSES_APART = " . "  # a word of its own, which no phrase has but where "..." stands: "on the blower. Runs all day" is not of a blower that does
DENIES = DENIALS | DENIED | {"until", "till", "if", "unless", "nobody"}
NO_LONGER = ("no", "longer")
PAUSE = re.compile(r"[,;]|[.](?!\d)|\b(?:but|then)\b", re.IGNORECASE)
OF_A_CALL = frozenset({"in", "on", "with", "w", "during"})  # before a call that is no heat call: "blower won't start in cooling"
LONGEST_STEP = 3  # words
LONGEST_PART = 4  # words
SOME_WORDS = 4  # at most, that "..." in a phrase stands for
GAP = "..."
BESIDE = frozenset(["the", "a", "an", "its", "is", "was", "has", "had", "have", "got", "in", "at", "of"])  # between a danger and what it is told of


class Complained(NamedTuple):
    """A sign, the value that it is told to have, and the words that tell it. *step*: that of another call than for heat, where one is told."""

    sign: str
    value: str
    words: str
    step: str = ""


class Repaired(NamedTuple):
    """A part or part:failure, the word of the history that says what came of an earlier repair, and the words that tell it."""

    part: str
    value: str
    words: str


def stands_with_other(sign: Sign, value: str, text: str) -> bool:
    """Whether *text* holds words beside which that value of a sign is not told: a flame that stays lit is no good sign where nothing calls."""
    said = f" {plain(text)} "
    return any(f" {words} " in said for words in sign.not_in_complaints_with.get(value, ()))


class Complaints:
    """All phrases of the rules by which a complaint tells of a sign."""

    def __init__(
        self, signs: Mapping[str, Sign], hazards: Iterable[Hazard], other_calls: Names | None = None, short_words: Mapping[str, Iterable[str]] | None = None
    ) -> None:
        """*other_calls*: the steps of calls for something else than heat. *short_words*: those of the trade, under what they are short for."""
        self._signs, self._other_calls, self._spelled = signs, other_calls or Names({}), Spelling(short_words, frozenset())
        lines = [w for hazard in hazards for way in hazard.when for w in way]
        self._dangers = {(w.sign, word) for w in lines if w.sign for word in w.is_}
        self._begun_by: dict[str, list[tuple[str, str, str]]] = {}  # phrases by their first word, with their sign and value
        first = lru_cache(None)(lambda word: _words_of(word)[0])
        for sign in signs.values():
            for value, phrases in sign.in_complaints.items():
                for phrase in phrases:
                    self._begun_by.setdefault(first(phrase.split(" ", 1)[0]), []).append((phrase, sign.sign, value))
        self._phrases: dict[str, list[tuple[list[str], str, str]]] = {}  # the same with their words, the longest first, of first words that were met

    def said_in(self, text: str) -> list[Complained]:
        """Each sign that *text* tells one value of. Of what is not always so only what is a danger, or is told by just that: "works sometimes". A sign
        that it tells two values of is left out, and what is not told beside other words of it, unless the call is told."""
        dangers, always = self.dangers_in(text), NOT_ALWAYS.search(text) is None
        told: dict[str, dict[str, Complained]] = {}
        for each in self._found(text):
            otherwise = not each.step and stands_with_other(self._signs[each.sign], each.value, text)
            if not otherwise and (always or NOT_ALWAYS.search(each.words)):
                told.setdefault(each.sign, {}).setdefault(each.value, each)
        known = {each.sign for each in dangers}
        return dangers + [next(iter(values.values())) for sign, values in told.items() if sign not in known and len(values) == 1]

    def is_danger(self, sign: str, value: str) -> bool:
        """Whether a value of a sign tells of a hazard, by itself or with something else."""
        return (sign, value) in self._dangers

    def dangers_in(self, text: str) -> list[Complained]:
        """Each sign by which *text* tells of a hazard, once, however seldom it is so."""
        found = {each.sign: each for each in self._found(text) if self.is_danger(each.sign, each.value)}
        return list(found.values())

    def _found(self, said: str) -> Iterator[Complained]:
        """What *said* tells as it stands, and with its short words spelled out."""
        for text in self._in_both_spellings(said):
            yield from self._told_by(text.split())

    def all_of(self, text: str) -> Complained | None:
        """What *text* tells where it is one phrase, and no more."""
        found = ((told, said) for said in self._in_both_spellings(text) for told in self._told_by(said.split()))
        return next((told for told, said in found if told.words == said), None)

    def _in_both_spellings(self, said: str) -> Iterable[str]:
        clauses = [bare for clause in END_OF_CLAUSE.split(said) if (bare := plain(clause))]
        return dict.fromkeys((CLAUSES_APART.join(clauses), CLAUSES_APART.join(map(self._spelled, clauses))))

    def _told_by(self, words: Sequence[str]) -> Iterator[Complained]:
        """What each place of *words* tells by the longest phrase that begins there; none where it is denied."""
        at = 0
        while at < len(words):
            begun = self._phrases_with(words[at])
            sign, value, end = next(((s, v, end) for phrase, s, v in begun if (end := _end(phrase, words, at)) is not None), ("", "", at + 1))
            denied = _denied_before(words[:at]) or _denied_behind(words[end : end + 2])
            if sign and not denied and not self._is_of_other(sign, value, words, at, end):
                yield Complained(sign, value, " ".join(words[at:end]), self._other_call(words[end : end + 1 + LONGEST_STEP]))
            at = end

    def _is_of_other(self, sign: str, value: str, words: Sequence[str], at: int, end: int) -> bool:
        """Whether a danger that *words* tell from *at* to *end* is told of what stands right beside it: a "15 amp fuse in the disconnect"."""
        if not self.is_danger(sign, value):
            return False
        before = next((i for i in range(at, 0, -1) if words[i - 1] not in BESIDE), 0)
        after = next((i for i in range(end, len(words)) if words[i] not in BESIDE), len(words))
        others = [plain(each).split() for each in self._signs[sign].not_in_complaints_with.get(value, ())]
        return any(list(words[max(before - len(o), 0) : before]) == o or list(words[after : after + len(o)]) == o for o in others)

    def _phrases_with(self, first: str) -> list[tuple[list[str], str, str]]:
        """The words of each phrase that begins with a word, with its sign and value; the longest first. There are thousands, and few are ever met."""
        if first in self._begun_by and first not in self._phrases:
            spelled = [(_words_of(phrase), sign, value) for phrase, sign, value in self._begun_by[first]]
            self._phrases[first] = sorted(spelled, key=lambda each: -len(each[0]))
        return self._phrases.get(first, [])

    def _other_call(self, words: Sequence[str]) -> str:
        """The step of another call than for heat that *words* begin with, as in "in cooling"; empty where they do not."""
        if not OF_A_CALL.intersection(words[:1]):
            return ""
        named = (self._other_calls.clear(" ".join(words[1:end])) for end in range(len(words), 1, -1))
        return next((steps[0] for steps in named if len(steps) == 1), "")


def repairs_told(text: str, parts: Names, results: Names, done: Set[str], outcomes: Set[str]) -> list[Repaired]:
    """What an earlier repair of which *text* tells did, each part once: "new board, same", "board was swapped no change".

    *done*: words by which it is told what was done. *outcomes*: those results that tell what came of it; nothing else is told.
    Left out are sentences of what is not always so.
    """
    always = ". ".join(sentence for sentence in END_OF_CLAUSE.split(text) if not NOT_ALWAYS.search(sentence))
    pieces = [plain(p).split() for p in PAUSE.split(always)]
    lines = [*pieces, *([*one, *other] for one, other in pairwise(pieces))]  # what came of it may stand after a comma
    told: dict[str, Repaired] = {}
    for words in lines:
        for start in range(len(words)):
            if not DENIES.intersection(words[max(start - 1, 0) : start]):
                for each in _repair(words[start:], parts, results, done):
                    if each.value in outcomes:
                        told.setdefault(each.part, each)
    return list(told.values())


def _repair(words: Sequence[str], parts: Names, results: Names, done: Set[str]) -> Iterator[Repaired]:
    """The repair that all of *words* tell, what was done before or after its part."""
    first = int(words[0] in done)
    for end in range(first + 1, min(first + LONGEST_PART, len(words) - 1) + 1):
        rest = [*words[:first], *words[end:]]
        named, meant = parts.clear(" ".join(words[first:end])), results.meant(" ".join(rest))
        if len(named) == 1 and len(meant) == 1 and not done.isdisjoint(rest) and len(rest) > 1:
            yield Repaired(named[0], meant[0], " ".join(words))


def _denied_before(words: Sequence[str]) -> bool:
    """Whether *words* end in a denial of what follows them: "no", "does not", "no longer"."""
    return not DENIES.isdisjoint(words[-1:]) or tuple(words[-2:]) == NO_LONGER


def _denied_behind(words: Sequence[str]) -> bool:
    """Whether a denial that is of nothing else is among the next *words*: "gas smell: none", "gas smell? no, none"; not in "gas smell no heat"."""
    first, then = (*words, "", "")[:2]
    return first in DENIED_AFTER or (first in ("no", "n") and then in ("", CLAUSES_APART.strip(), *DENIED_AFTER))


def _words_of(phrase: str) -> list[str]:
    """The words of a phrase, with GAP where others may stand between."""
    return [word for i, piece in enumerate(phrase.split(GAP)) for word in ([GAP] if i else []) + plain(piece).split()]


def _end(phrase: Sequence[str], words: Sequence[str], at: int) -> int | None:
    """Where *phrase* ends that begins at a place of *words*, or None where it does not stand there."""
    if not phrase:
        return at
    if phrase[0] == GAP:
        ends = (_end(phrase[1:], words, at + many) for many in range(SOME_WORDS + 1) if DENIES.isdisjoint(words[at : at + many]))
        return next((end for end in ends if end is not None), None)
    return _end(phrase[1:], words, at + 1) if at < len(words) and words[at] == phrase[0] else None
