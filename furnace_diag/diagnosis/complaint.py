"""What the words of a complaint say of the furnace, as whoever lives with it tells it: "glows, no gas", "the fan never shuts off"."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from typing import NamedTuple

from furnace_diag.knowledge.find import plain
from furnace_diag.knowledge.finding_models import Hazard
from furnace_diag.knowledge.models import Sign

NOT_ALWAYS = re.compile(
    r"\b(?:some ?times|at times|intermittent(?:ly)?|now and then|now and again|on and off|off and on|comes and goes|occasional(?:ly)?|once in a while|"
    r"every so often|random(?:ly)?|(?:some|other|most) (?:days?|times?)|mornings|nights|windy|half a day|one in \w+|"
    r"may|might|maybe|thinks?|believes?|guess(?:es)?|used to|before that)\b",
    re.IGNORECASE,
)
END_OF_CLAUSE = re.compile(r"[.](?!\d)")
DENIES = frozenset({"no", "not", "never", "doesnt", "dont", "didnt", "wont", "isnt", "without", "until", "till", "if", "unless"})
NONE_AFTER = frozenset({"none", "negative"})  # "gas smell: none"
SOME_WORDS = r"(?: \S+){0,4}?"  # what "..." in a phrase stands for


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
        phrases = [(plain(p.replace("...", " dotdotdot ")), s.sign, value) for s in signs.values() for value, said in s.in_complaints.items() for p in said]
        phrases.sort(key=lambda each: -len(each[0]))  # "no flame" is no part of "glows but no flame then a bang": the longest says most
        self._meant = [(sign, value) for _, sign, value in phrases]
        self._any = re.compile("|".join(rf"(?<!\S)({_pattern(p)})(?!\S)" for p, _, _ in phrases)) if phrases else None

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
        text = plain(END_OF_CLAUSE.sub(" ", said))
        for match in self._any.finditer(text) if self._any is not None else ():
            before, after = text[: match.start()].split()[-1:], text[match.end() :].split()[:1]
            if not DENIES.intersection(before) and not NONE_AFTER.intersection(after):
                assert match.lastindex is not None
                yield Complained(*self._meant[match.lastindex - 1], match.group())


def _pattern(phrase: str) -> str:
    """A phrase as a pattern; its words may have others between them only where it says so."""
    return re.escape(phrase).replace(r"\ dotdotdot\ ", SOME_WORDS + " ").replace("dotdotdot", SOME_WORDS)
