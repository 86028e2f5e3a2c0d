"""Whether a piece only tells the claim over again: that the part is bad, that a new one is put in, that this put all right."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cached_property

from furnace_diag.claims.free_text import FreeText
from furnace_diag.claims.part_beside import MOST_OF_PART, beside_name
from furnace_diag.claims.repair_words import of_a_repair
from furnace_diag.claims.typed_pieces import WORKS
from furnace_diag.diagnosis.verdict import BOARD
from furnace_diag.knowledge.spelling import DENIALS, DENIED, plain
from furnace_diag.knowledge.values import made_of
from furnace_diag.visit.lines import MOST_WORDS
from furnace_diag.visit.tried import MOST_OF_TRIAL
from furnace_diag.visit.ways import DONE_FIRST

ALSO = re.compile(r"\s*[&+]\s*|\s+n\s+", re.IGNORECASE)
AND = "and"  # between two parts that are new


class ClaimAgain:
    """Knows that from what is seen, which *free* reads."""

    def __init__(self, free: FreeText) -> None:
        self._free, self._typed = free, free.typed

    def is_claimed_repair(self, text: str, part: str) -> bool:
        """Whether a piece tells that a new *part* put all right: "swapped board and it came to life". Of the part claimed that tells nothing of the fault."""
        words, said = of_a_repair(text), self._typed.vocabulary.words
        ends = (of_a_repair(then) for then in (*said.repair_said.then[WORKS], *said.claims.works_again))
        before = next((words[: -len(end)] for end in sorted(ends, key=len, reverse=True) if end and words[-len(end) :] == end), [])
        named = [w for w in before if w not in self._typed.done]
        is_done = len(named) < len(before) or plain(text).split()[0] in self._typed.done  # "put valve in, lights"
        return is_done and len(before) <= MOST_WORDS and self._typed.vocabulary.names("history").clear(" ".join(named)) == [part]

    def is_the_claim(self, text: str, part: str) -> bool:
        """Whether a piece tells only what is claimed, that *part* is bad or a new one is put in: "bd no good", "put new brd in anyhow"."""
        claims = self._typed.vocabulary.words.claims
        if part != BOARD and (self._free.records(text) or any(self._free.records(clause.strip()) for clause in text.split(",") if clause.strip())):
            return False  # "inducer dead" is seen, "board dead" is thought
        tells_no_more = (*claims.blames, *self._renewed, *claims.says_little)
        beside = [*beside_name(text, part, self._typed.vocabulary), *self._beside_two(text, part), *self._beside_end(text, part)]
        if made_of(text, (*self._renewed, *claims.says_little)) and any(made_of(word, self._renewed) for word in plain(text).split()[:1]):
            return True  # "replaced anyway"
        return self.fails_to(text, part) or any(not rest or made_of(rest, tells_no_more) for rest in beside)

    def _beside_end(self, text: str, part: str) -> Iterator[str]:
        """What a text that tells of a new one says beside the last word of *part*: "put new switch in" of a pressure switch, "motor replaced"."""
        words, end = plain(text).split(), part.rpartition("_")[2]
        if "_" in part and words.count(end) == 1 and any(made_of(" ".join(said), self._renewed) for said in (words[:1], words[:2], words[-1:])):
            yield " ".join(w for w in words if w != end)

    def _beside_two(self, text: str, part: str) -> Iterator[str]:
        """As `beside_name`, of a text that tells of new parts, *part* and one other: "replaced board and motor". What it says besides must be of both."""
        names, words = self._typed.vocabulary.names("history"), plain(ALSO.sub(f" {AND} ", text)).removesuffix(" both").split()
        first = next((n for n in range(2, 0, -1) if made_of(" ".join(words[:n]), self._renewed)), 0)
        if first == 0:
            return
        parted = [(at, at + 1) for at in range(first, len(words)) if words[at] == AND][:1] or [(at, at) for at in range(first + 1, len(words))]  # "board cap"
        for kept, other in (way for end, then in parted for way in ((words[:end], words[then:]), ([*words[:first], *words[then:]], words[first:end]))):
            other = other[1:] if other[:1] == ["new"] else other
            if other and (names.meant(" ".join(other)) or tuple(other) in self._ends_of_parts):
                yield from beside_name(" ".join(kept), part, self._typed.vocabulary, renewed=True)

    @cached_property
    def _ends_of_parts(self) -> frozenset[tuple[str, ...]]:
        """What parts are called for short behind another: the "motor" of "board and motor"."""
        return frozenset((part.rpartition("_")[2],) for part in self._typed.vocabulary.knowledge.part)

    def fails_to(self, text: str, part: str) -> bool:
        """Whether a piece tells only that *part* does not do its work on another thing: "board wont lite ignitor". A figure in it is a reading, and what
        it does not get, or is itself, was seen of it."""
        words = plain(text).split()
        if any(w[0].isdigit() for w in words) or len(words) > MOST_OF_TRIAL:
            return False
        vocabulary = self._typed.vocabulary
        names, fails = vocabulary.names("history"), {tuple(plain(f).split()) for f in vocabulary.words.claims.fails_to}
        ends = (n for n in range(1, min(MOST_OF_PART, len(words) - 1) + 1) if names.clear(" ".join(words[:n])) == [part])
        denied = [words[n + 1 :] for n in ends if words[n] in DENIALS | DENIED]
        return any(tuple(rest[:n]) in fails and rest[n : n + 1] not in ([], ["up"]) for rest in denied for n in (1, 2))

    def does_not_work(self, text: str) -> bool:
        """Whether a piece tells only that a part did not do its work, "valve didnt open": nobody did anything then, and nothing came of it."""
        words, vocabulary = plain(text).split(), self._typed.vocabulary
        names, fails = vocabulary.names("history"), {tuple(plain(f).split()) for f in vocabulary.words.claims.fails_to}
        ends = (n for n in range(1, min(MOST_OF_PART, len(words) - 2) + 1) if names.clear(" ".join(words[:n])))
        return any(words[n] in DENIALS | DENIED and tuple(words[n + 1 :]) in fails for n in ends)

    def is_new_part(self, text: str, part: str) -> bool:
        """Whether such a piece tells of a new *part*, so that what follows is of another time."""
        return self.is_the_claim(text, part) and not {*plain(text).split()}.isdisjoint({*DONE_FIRST, *self._typed.done})

    @cached_property
    def _renewed(self) -> tuple[str, ...]:
        words = self._typed.vocabulary.words
        return (*words.repair_said.done["part"], *words.claims.renewed)
