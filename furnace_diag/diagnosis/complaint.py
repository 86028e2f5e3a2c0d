"""What the words of a complaint say of the furnace, as whoever lives with it tells it: "glows, no gas", "the fan never shuts off"."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import NamedTuple

from furnace_diag.knowledge.find import DENIALS, DENIED, plain
from furnace_diag.knowledge.finding_models import Hazard
from furnace_diag.knowledge.models import Sign

NOT_ALWAYS = re.compile(
    r"\b(?:some ?times|at times|intermittent(?:ly)?|now and then|now and again|on and off|off and on|comes and goes|occasional(?:ly)?|once in a while|"
    r"every so often|random(?:ly)?|(?:some|other|most) (?:days?|times?)|mornings|nights|windy|half a day|one in \w+|"
    r"may|might|maybe|thinks?|believes?|guess(?:es)?|used to|before that)\b",
    re.IGNORECASE,
)
END_OF_CLAUSE = re.compile(r"[.](?!\d)")
DENIES = DENIALS | DENIED | {"until", "till", "if", "unless"}
NONE_AFTER = frozenset({"none", "negative"})  # "gas smell: none"
SOME_WORDS = 4  # at most, that "..." in a phrase stands for
GAP = "..."


class Complained(NamedTuple):
    """A sign, the value that it is told to have, and the words that tell it."""

    sign: str
    value: str
    words: str


class Complaints:
    """All phrases of the rules by which a complaint tells of a sign."""

    def __init__(self, signs: Mapping[str, Sign], hazards: Iterable[Hazard]) -> None:
        lines = [w for hazard in hazards for way in hazard.when for w in way]
        self._dangers = {(w.sign, word) for w in lines if w.sign for word in w.is_}
        self._phrases: dict[str, list[tuple[list[str], str, str]]] = {}  # by their first word: their words, sign and value, the longest first
        for sign in signs.values():
            for value, phrases in sign.in_complaints.items():
                for words in map(_words_of, phrases):
                    self._phrases.setdefault(words[0], []).append((words, sign.sign, value))
        for those in self._phrases.values():
            those.sort(key=lambda each: -len(each[0]))

    def said_in(self, text: str) -> list[Complained]:
        """Each sign that *text* tells one value of; of what is not always so only what is a danger. A sign that it tells two values of is left out."""
        dangers = self.dangers_in(text)
        if NOT_ALWAYS.search(text):
            return dangers
        told: dict[str, dict[str, Complained]] = {}
        for each in self._found(text):
            told.setdefault(each.sign, {}).setdefault(each.value, each)
        known = {each.sign for each in dangers}
        return dangers + [next(iter(values.values())) for sign, values in told.items() if sign not in known and len(values) == 1]

    def dangers_in(self, text: str) -> list[Complained]:
        """Each sign by which *text* tells of a hazard, once, however seldom it is so."""
        found = {each.sign: each for each in self._found(text) if (each.sign, each.value) in self._dangers}
        return list(found.values())

    def _found(self, said: str) -> Iterator[Complained]:
        """What each place of *said* tells by the longest phrase that begins there; none where it is denied."""
        words = plain(END_OF_CLAUSE.sub(" ", said)).split()
        at = 0
        while at < len(words):
            begun = self._phrases.get(words[at], ())
            sign, value, end = next(((s, v, end) for phrase, s, v in begun if (end := _end(phrase, words, at)) is not None), ("", "", at + 1))
            if sign and not DENIES.intersection(words[max(at - 1, 0) : at]) and not NONE_AFTER.intersection(words[end : end + 1]):
                yield Complained(sign, value, " ".join(words[at:end]))
            at = end


def _words_of(phrase: str) -> list[str]:
    """The words of a phrase, with GAP where others may stand between."""
    return [word for i, piece in enumerate(phrase.split(GAP)) for word in ([GAP] if i else []) + plain(piece).split()]


def _end(phrase: Sequence[str], words: Sequence[str], at: int) -> int | None:
    """Where *phrase* ends that begins at a place of *words*, or None where it does not stand there."""
    if not phrase:
        return at
    if phrase[0] == GAP:
        ends = (_end(phrase[1:], words, at + many) for many in range(SOME_WORDS + 1))
        return next((end for end in ends if end is not None), None)
    return _end(phrase[1:], words, at + 1) if at < len(words) and words[at] == phrase[0] else None
