"""What a piece tells of a repair made before, and what was read after it."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from difflib import get_close_matches

from furnace_diag.claims.our_words import spaced
from furnace_diag.claims.part_beside import beside_name
from furnace_diag.claims.repair_words import WHEN, of_a_repair
from furnace_diag.claims.typed_pieces import Fields, TypedPieces, of_each_call, without_outcome
from furnace_diag.claims.was_done import tells_of_doing
from furnace_diag.diagnosis.verdict import BOARD
from furnace_diag.knowledge.spelling import DENIALS
from furnace_diag.quantities import BadQuantity, names_unit, parse_quantity
from furnace_diag.visit.lines import MOST_WORDS
from furnace_diag.visit.typed import Typed, name_of

SHOWN = r"[-+]?\d[\d.]*\s*(?:ua|microamps?|micro amps?|v|vac|volts?|ohms?|amps?|a|mfd|uf|in wc|in w c|wc)\b"
NOW_SHOWS = r"(?:now|back up|up|back) (?:(?:is|at|to|reads?|reading|getting|have|has|got) )*|(?:is|reads?|reading|getting|have|got) now (?:at )?"
READ_SINCE = spaced(rf"\b(?:(?:{NOW_SHOWS})(?:{SHOWN}|\d*\.\d+(?!\S))|{SHOWN} now\b)")  # after a repair, which is no reading of the furnace that had failed
# the same of one reading, with what was done before it, perhaps without its part: "cleaned rod now 3.8", "cleaned now 3.8"
DONE_THEN_READ = spaced(
    rf"^(?P<done>\w+) (?:off )?(?:it )?(?:the )?(?:(?P<part>\D+?),? )??(?:and |it )?(?:{NOW_SHOWS}|its now )(?P<figure>[-+]?(?:\d[\d.]*|\.\d+)(?: ?[a-z]+)?)$"
)
# "cleaned rod 3.6 ua ok now", "new sensor 4.2ua"
READ_ON_IT = r"(?P<figure>[-+]?(?:\d[\d.]*|\.\d+) ?[a-z]+)"
DONE_AND_NOW = spaced(
    rf"^(?P<done>\w+) (?:off )?(?:the )?(?P<part>\D+?),? {READ_ON_IT} (?:(?:and|is|its|ok|good|fine|works|working) )*(?:now|ok|good|fine|works)$"
)
# "sanded it, 3.1 now"
DONE_TO_IT = spaced(
    r"^(?P<done>\w+)(?: off)?(?: (?:it|(?:the )?(?P<part>rod|sensor|flame rod|flame sensor|flame sense)))?,? "
    r"(?P<figure>[-+]?(?:\d[\d.]*|\.\d+)(?: ?[a-z]+)??) (?:(?:and|is|its|ok|good|fine) )*now$"
)
NEW_AND_READ = spaced(rf"^(?:with )?(?:a )?(?P<done>new) (?P<part>\D+?),? (?:reads |at |is )?{READ_ON_IT}$")
VAGUE = spaced(r"\b(?:once|twice|already|before|just|earlier)\b")  # which tell no day
MOST_OF_RENEWAL = 5  # words: "new heat pump stat installed"
CLEANED = "cleaned"  # of the history
A_SLIP = 0.8  # likeness of two words of which one is the other misspelt: "swaped"


class RepairsTold:
    """Reads what was done before."""

    def __init__(self, pieces: TypedPieces) -> None:
        self._pieces = pieces

    def repaired(self, text: str) -> list[Fields]:
        """An earlier repair and what came of it, told in a sentence: "board was swaped last week with no change". Told with its day, it may be one of which
        nothing is told to have come: "new gas valve last month"; not of the part claimed, whose new one may be what is claimed, nor where a text of the
        claim tells that something works by now, for that may have come of it."""
        words, dated = of_a_repair(READ_SINCE.sub(" ", text)), not self._pieces.mended and WHEN.search(text) is not None
        if not 2 - dated < len(words) <= MOST_WORDS or not self._names_repaired(words):
            return []
        if self._pieces.done.isdisjoint(words):
            at, done = next(((i, d) for i, w in enumerate(words) for d in get_close_matches(w, self._pieces.done, 1, A_SLIP)), (0, words[0]))
            words[at] = done
        lines = (words, [*words[1:], words[0]]) if dated and words[0] in self._pieces.done else (words,)
        read = (self._pieces.read(" ".join(line)) for line in lines)
        typed = next((t for t in read if isinstance(t, Typed) and not t.guessed and "history" in t.record), None)
        is_other = typed is not None and dated and DENIALS.isdisjoint(words) and name_of(typed).partition(":")[0] != self._pieces.part
        is_other = is_other and not self._pieces.vocabulary.names("event").clear(" ".join(words))
        return of_each_call(typed) if typed is not None and (is_other or not without_outcome(typed)) else []

    def is_long_since(self, text: str) -> bool:
        """Whether a piece tells only that something else than the part claimed was renewed on some day before: "new motor last week". What follows is of the
        furnace as it is with that. Not where a text of the claim tells that something works by now, as in `repaired`."""
        pieces, words = self._pieces, of_a_repair(text)
        if WHEN.search(VAGUE.sub(" ", text)) is None or pieces.mended or not 1 < len(words) <= MOST_OF_RENEWAL or any(w[0].isdigit() for w in words):
            return False
        part = pieces.vocabulary.knowledge.part.get(pieces.part)
        short = {called.split()[-1] for called in (pieces.part.replace("_", " "), *(part.also_called if part else ())) if called}
        is_of_claimed = not short.isdisjoint(words) or any(beside_name(" ".join(words), pieces.part, pieces.vocabulary))
        others = [w for w in words if w not in pieces.done]
        tells_more = not DENIALS.isdisjoint(words) or tells_of_doing(" ".join(others), pieces.vocabulary.words.claims)
        return not is_of_claimed and len(others) < len(words) and not tells_more

    def _names_repaired(self, words: Sequence[str]) -> bool:
        """Whether some of *words* one after another name what may have been repaired."""
        names = self._pieces.vocabulary.names("history")
        return any(names.clear(" ".join(words[i:end])) for i in range(len(words)) for end in range(i + 1, len(words) + 1))

    def cured_by(self, text: str) -> list[Fields]:
        """What was cleaned and was the cure, of a piece that tells what a reading became by it: "sanded it, 3.1 now" of a rod that is claimed."""
        told, pieces = _done_and_read(text), self._pieces
        part = (told.groupdict().get("part") or pieces.part.replace("_", " ")) if told is not None else ""
        if told is None or pieces.vocabulary.results.meant(told["done"]) != [CLEANED] or not part:
            return []
        typed = pieces.read(f"{CLEANED} {part} works")
        return of_each_call(typed) if isinstance(typed, Typed) and "history" in typed.record and name_of(typed) != BOARD else []

    def is_read_since(self, text: str, before: Mapping[str, str]) -> bool:
        """Whether a piece tells what the reading told *before* it became by what was done: "cleaned rod now 3.8" after a flame current of 0.3. Only where
        it is good now and was not: that the same is read again tells of the failure."""
        told = _done_and_read(text)
        point = self._pieces.vocabulary.knowledge.point.get(before["name"])
        if told is None or point is None or told["done"].lower() not in {*self._pieces.done, "new"}:
            return False
        is_new_one = told["done"].lower() == "new" and point.unit in ("uA", "uF") and names_unit(told["figure"], point.unit)  # which one thing is read in
        of = point.point if is_new_one else told["part"] or point.point
        typed = next((t for unit in ("", f" {point.unit}") if isinstance(t := self._pieces.read(f"{of} {told['figure']}{unit}"), Typed)), None)
        if typed is None or typed.record.get("point") != point.point:
            return False
        try:
            was, is_now = (parse_quantity(value, point.unit).value for value in (before["value"], str(typed.record["value"])))
        except BadQuantity:
            return False
        return any(b.low <= is_now <= b.high for b in point.expects) and not any(b.low <= was <= b.high for b in point.expects)


def _done_and_read(text: str) -> re.Match[str] | None:
    """What was done and what was read after it, where a piece tells that."""
    return DONE_THEN_READ.match(text) or DONE_AND_NOW.match(text) or DONE_TO_IT.match(text) or NEW_AND_READ.match(text)
