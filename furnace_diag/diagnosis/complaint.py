"""What the words of a complaint say of the furnace, as whoever lives with it tells it: "glows, no gas", "the fan never shuts off"."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cached_property, lru_cache
from typing import NamedTuple

from furnace_diag.diagnosis.goes_out import GoesOut
from furnace_diag.knowledge.danger_words import DangerWords, ToldOf, goes_on, in_sentences
from furnace_diag.knowledge.find import Names
from furnace_diag.knowledge.finding_models import Hazard
from furnace_diag.knowledge.models import Sign, TimesSaid, Words
from furnace_diag.knowledge.naming import each_way, first_words
from furnace_diag.knowledge.slips import Slips, slips_of
from furnace_diag.knowledge.spelling import DENIALS, DENIED, DENIED_AFTER, LOOKED, MOST_SPELLED, STILL_DENIED, Spelling, plain, with_its_g
from furnace_diag.knowledge.values import values_of

WEATHER = r"(?:(?:really|very|too|so|only) )?(?:cold|colder|cool|chilly|freezing|mild|warm|warmer|wet|damp|humid|rainy|raining|snowing|windy|stormy)"
NOT_ALWAYS = re.compile(
    r"\b(?:some ?times|at times|intermittent(?:ly)?|now and then|now and again|on and off|off and on|comes and goes|occasional(?:ly)?|once in a while|"
    r"every so often|random(?:ly)?|(?:some|other|most) (?:days?|times?)|mornings|nights|nites|windy|half a day|"
    r"one in (?:\d+|two|three|four|five|six|eight|ten|twenty|a)\b|"
    rf"(?:when|if|while|whenever|unless|until|till) (?:its|it's|it is|it gets|the weather is|weather is) (?:{WEATHER}|hot(?= out))|"  # no part is warm "out"
    rf"(?:on|in) (?:a |the )?(?:{WEATHER}|hot) (?:days?|nights?|nites?|mornings?|evenings?|weather)|"
    r"may|might|maybe|thinks?|believes?|guess(?:es)?|used to|before that)\b",
    re.IGNORECASE,
)
END_OF_CLAUSE = re.compile(r"[.](?!\d)")
CLAUSES_APART = " . "  # a word of its own, which no phrase has but where "..." stands: "on the blower. Runs all day" is not of a blower that does
DENIES = DENIALS | DENIED | {"until", "till", "if", "unless", "nobody"}
NO_MORE = (("no", "more"), ("no", "longer"), ("not", "longer"))
AROUND_THEN = re.compile(r"[,;]|[.](?!\d)|\bbut\b", re.IGNORECASE)  # "runs ten mins then quits" is one piece
DENIED_IN_SHORT = {"will not": "wont", "does not": "doesnt", "do not": "dont"}  # as most phrases have it
DENIED_IN_FULL = re.compile(rf"\b(?:{'|'.join(DENIED_IN_SHORT)})\b")
PAUSE = re.compile(r"[,;]|[.](?!\d)|\b(?:but|then)\b", re.IGNORECASE)
OF_A_CALL = frozenset({"in", "on", "with", "w", "during"})  # before a call that is no heat call: "blower won't start in cooling"
LONGEST_STEP = 3  # words
LONGEST_PART = 4  # words
WHOLE_FURNACE = "whole_furnace"  # what a sign shows that is told of all of it
EXCEPT = frozenset(["but", "except", "besides", "save", "only", "other", "apart"])  # behind what is safe: "nothing is bypassed but the limit"
DOES = frozenset({"does", "do", "did"})  # begin what is told of whatever stands before it
STILL_SO = frozenset({"still", "just", "now", "call", "mode", "on"})  # between that and the thing
SOME_WORDS = 4  # at most, that "..." in a phrase stands for
GAP = "..."
BETWEEN_WORDS = re.compile(r"[ |_]+")  # in a phrase with alternatives
BESIDE = frozenset(["the", "a", "an", "its", "is", "was", "has", "had", "have", "got", "in", "at", "of"])  # between a danger and what it is told of


class Complained(NamedTuple):
    """A sign, the value that it is told to have, and the words that tell it. *step*: that of another call than for heat, where one is told. *figure*: with
    its unit, where a figure tells the value."""

    sign: str
    value: str
    words: str
    step: str = ""
    figure: str = ""

    @property
    def as_told(self) -> str:
        """The value as it was told: by its figure, where there is one."""
        return self.figure or self.value


class _Phrase(NamedTuple):
    """The words of a phrase that tells a value of a sign, and which of them a text needs to hold it."""

    words: list[str]
    needs: frozenset[str]
    sign: str
    value: str


def stands_with_other(sign: Sign, value: str, text: str) -> bool:
    """Whether *text* holds words beside which that value of a sign is not told: a flame that stays lit is no good sign where nothing calls."""
    said = f" {plain(text)} "
    return any(f" {words} " in said for words in sign.not_in_complaints_with.get(value, ()))


class Complaints:
    """All phrases of the rules by which a complaint tells of a sign."""

    def __init__(
        self,
        signs: Mapping[str, Sign],
        hazards: Iterable[Hazard],
        other_calls: Names | None = None,
        short_words: Mapping[str, Iterable[str]] | None = None,
        words: Words | None = None,
        parts: Names | None = None,
        slips: Slips | None = None,
    ) -> None:
        """*other_calls*: the steps of calls for something else than heat. *short_words*: those of the trade, under what they are short for.

        *words*: those of the rules, by which a danger is told in other words than its phrases. *parts*: the names of parts. *slips*: what mends misspelt
        words.
        """
        self._parts = parts or Names({})
        self._signs, self._other_calls, self._spelled = signs, other_calls or Names({}), Spelling(short_words, frozenset())
        self._words, self._values_of = words, dict[str, Names]()
        self._slips = slips or (slips_of(words, signs.values()) if words is not None else None)
        lines = [w for hazard in hazards for way in hazard.when for w in way]
        self._dangers = {(w.sign, word) for w in lines if w.sign for word in w.is_}
        times = words.times if words is not None else TimesSaid()
        self._goes_out = [GoesOut(sign, times) for sign in signs.values() if sign.ends_in_complaints is not None and times.units]
        self._begun_by: dict[str, list[tuple[str, str, str, str]]] = {}  # phrases by each of their first words, that as written, their sign and value
        for sign in signs.values():
            for value, phrases in sign.in_complaints.items():
                for phrase in phrases:
                    for first in first_words(phrase):
                        self._begun_by.setdefault(plain(first).partition(" ")[0], []).append((phrase, first, sign.sign, value))
        self._dangers_told = lru_cache(MOST_SPELLED)(self._all_dangers_told)  # a text is asked what it tells, and then what of it is over
        self._phrases: dict[str, list[_Phrase]] = {}  # the same with their words, the longest first, of first words that were met

    def said_in(self, text: str) -> list[Complained]:
        """Each sign that *text* tells one value of. Of what is not always so only what is a danger, or is told by just that: "works sometimes". A sign
        that it tells two values of is left out, and what is not told beside other words of it, unless the call is told."""
        dangers, always = self.dangers_in(text), NOT_ALWAYS.search(text) is None
        told: dict[str, dict[str, Complained]] = {}
        for each in (*self._found(text), *self._alone_in(text)):
            otherwise = not each.step and stands_with_other(self._signs[each.sign], each.value, text)
            if not otherwise and (always or NOT_ALWAYS.search(each.words)):
                told.setdefault(each.sign, {}).setdefault(each.value, each)
        known = {each.sign for each in dangers}
        closest = {sign: [c for c in values.values() if not any(self._is_part_of(c, other) for other in values.values())] for sign, values in told.items()}
        return dangers + [values[0] for sign, values in closest.items() if sign not in known and len(values) == 1]

    def _is_part_of(self, told: Complained, other: Complained) -> bool:
        """Whether something is told by part of the words of another, which tells more closely of the same: "burners light" of "burners light n go out"."""
        return f" {told.words} " in f" {other.words} " and self._signs[told.sign].is_vaguer(told.value, other.value)

    def _alone_in(self, text: str) -> Iterator[Complained]:
        """What a piece of *text* tells that is nothing else: "dead", of the furnace; or two, of what it does and "then" does."""
        pieces = dict.fromkeys(plain(piece) for parts in (PAUSE, AROUND_THEN) for piece in parts.split(text))
        found = ((sign, value, piece) for piece in pieces for phrase, sign, value in self._alone if _end(phrase, words := piece.split(), 0) == len(words) > 0)
        return (Complained(sign, value, piece) for sign, value, piece in found)

    @cached_property
    def _alone(self) -> list[tuple[list[str], str, str]]:
        each = ((s.sign, value, phrases) for s in self._signs.values() for value, phrases in s.alone_in_complaints.items())
        return [(_words_of(phrase), sign, value) for sign, value, phrases in each for phrase in phrases]

    def is_danger(self, sign: str, value: str) -> bool:
        """Whether a value of a sign tells of a hazard, by itself or with something else."""
        return (sign, value) in self._dangers

    def dangers_in(self, text: str) -> list[Complained]:
        """Each sign by which *text* tells of a hazard, once, however seldom it is so; none that it says is over."""
        return [told for told, over in self._dangers_told(text) if not over]

    def over_in(self, text: str) -> list[Complained]:
        """The same of what *text* says is over: "gas smell gone, tightened union". It is no danger any more, and is not to be passed over in silence."""
        return [told for told, over in self._dangers_told(text) if over]

    def _all_dangers_told(self, text: str) -> list[tuple[Complained, bool]]:
        """Each sign by which *text* tells of a hazard, and whether it is over: by its phrases, and by other words of the rules beside them."""
        said = list(self._found_with_rest(text))
        found = {each.sign: (each, False) for each, over in said if self.is_danger(each.sign, each.value) and not over}
        for each, over in said:
            if over:
                found.setdefault(each.sign, (each, True))
        if self._danger_words is not None:
            sentences = (s for s in in_sentences([text]).split(" | ") if not self._names_and_denies(s))
            clauses = (", ".join("" if self._names_and_denies(c) else c for c in s.split(", ")) for s in sentences)
            bare = self._danger_words.without_harmless(" | ".join(clauses), goes_on)
            for told in self._danger_words.told_in(bare, [each.words for each, _ in said if self._may_stop(each.sign)]):
                value, figure = self._value_told(told), self.figure_of(told)
                if self.is_danger(told.sign, value) and (told.sign not in found or (found[told.sign][1] and not told.over)):
                    found[told.sign] = (Complained(told.sign, value, told.words, figure=figure), told.over)
        return list(found.values())

    def _names_and_denies(self, said: str) -> bool:
        """Whether all of *said* is the name of a danger and a value by which it is none, or a denial and such a name: "no safeties bypassed"."""
        words = said.replace(",", "").split()
        if words[:1] == ["no"] and " ".join(words[1:]).removesuffix(" found") in self._named_dangers:
            return True
        named = ((self._named_dangers.get(" ".join(words[:end])), " ".join(words[end:])) for end in range(len(words) - 1, 0, -1))
        return any(self._is_none(sign, rest) for sign, rest in named if sign)

    def _is_none(self, sign: str, text: str) -> bool:
        """Whether *text* is one value of a danger's sign, and one by which it is none; what could be several things denies nothing."""
        meant = self._values(sign).meant(text)
        return len(meant) == 1 and meant[0] in self._signs[sign].values and not self.is_danger(sign, meant[0])

    @cached_property
    def _named_dangers(self) -> dict[str, str]:
        """The signs of hazards by all their names."""
        return {plain(name): s for s in {s for s, _ in self._dangers} if s in self._signs for name in (s, *self._signs[s].also_called)}

    def _is_denied_by_its_value(self, sign: str, value: str, said: str, rest: str) -> bool:
        """Whether a danger is named, and all that follows in its clause is a value by which it is none: "flame rolls out: stays in"."""
        named = self._words is not None and self.is_danger(sign, value) and rest and self._named_dangers.get(said) == sign
        return bool(named) and self._is_none(sign, rest.partition(CLAUSES_APART)[0].strip())

    def _values(self, sign: str) -> Names:
        if sign not in self._values_of and self._words is not None:
            self._values_of[sign] = values_of(self._signs[sign], self._words)
        return self._values_of[sign]

    @cached_property
    def _danger_words(self) -> DangerWords | None:
        return DangerWords(self._words, self._slips) if self._words is not None else None

    def _may_stop(self, sign: str) -> bool:
        return any(s == sign for s, _ in self._dangers)

    def _value_told(self, told: ToldOf) -> str:
        """The value of a danger that is told in other words than its phrases: by a figure with its unit, by a word of one value alone, else by the rules."""
        sign, default = self._signs[told.sign], self._words.claims.said_of_dangers.told_as.get(told.sign, "yes") if self._words is not None else ""
        if sign.figures is not None and told.figure is not None:
            return sign.figures.value_at(told.figure)
        of_danger = (value for value in sign.values if self.is_danger(told.sign, value))
        said = [v for v in of_danger if any(f" {plain(w)} " in f" {told.words} " for w in (v, *sign.value_words.get(v, ())))]
        return said[0] if len(said) == 1 and said != ["yes"] else default

    def figure_of(self, told: ToldOf) -> str:
        """The figure, with its unit, by which a danger is told; empty where none is."""
        figures = self._signs[told.sign].figures
        return f"{told.figure:g} {figures.unit}" if figures is not None and told.figure is not None else ""

    def _found(self, said: str) -> Iterator[Complained]:
        """What *said* tells as it stands, and with its short words spelled out; no danger that is over."""
        return (told for told, over in self._found_with_rest(said) if not over)

    def _found_with_rest(self, said: str) -> Iterator[tuple[Complained, bool]]:
        """The same with the dangers that are over, and whether each is."""
        for text in self.as_read(said):
            yield from self._told_by(text.split())

    def all_of(self, text: str) -> Complained | None:
        """What *text* tells where it is one phrase, and no more."""
        found = ((told, said) for said in self._as_written(text) for told, over in self._told_by(said.split()) if not over)
        return next((told for told, said in found if told.words == said), None)

    @cached_property
    def _all_words(self) -> frozenset[str]:
        phrases = {phrase for begun in self._begun_by.values() for phrase, _, _, _ in begun}
        return frozenset(word for phrase in phrases for word in BETWEEN_WORDS.split(phrase))

    def as_read(self, said: str) -> Iterable[str]:
        """*said* as its phrases are looked for in it: as it is written, and last with what is misspelt in it mended."""
        written = self._as_written(said)
        mended = self._slips(written[-1]) if self._slips is not None else written[-1]
        return dict.fromkeys((*written, mended))

    def _as_written(self, said: str) -> list[str]:
        """*said* in plain words as it stands, and with its short words spelled out: of "wont lite" as "wont light", too."""
        clauses = [with_its_g(bare, self._all_words) if "in" in bare else bare for clause in END_OF_CLAUSE.split(said) if (bare := plain(clause))]
        spelled = CLAUSES_APART.join(map(self._spelled, clauses))
        return [*dict.fromkeys((CLAUSES_APART.join(clauses), DENIED_IN_FULL.sub(lambda m: DENIED_IN_SHORT[m[0]], spelled), spelled))]

    def _told_by(self, words: Sequence[str]) -> Iterator[tuple[Complained, bool]]:
        """What each place of *words* tells by the longest phrase that begins there, none where it is denied; and whether it is a danger that is over."""
        at, known = 0, {*words}
        while at < len(words):
            begun = (p for p in self._phrases_with(words[at]) if p.needs <= known)
            sign, value, end = next(((p.sign, p.value, end) for p in begun if (end := _end(p.words, words, at)) is not None), ("", "", at + 1))
            for each in self._goes_out:
                ends = each.at(words, at)
                sign, value, end = ends if ends is not None and (ends[2] > end or not sign) else (sign, value, end)
            denied = _denied_before(words[:at]) or _denied_behind(words[end : end + 2])
            denied = denied or (bool(sign) and self._is_denied_by_its_value(sign, value, " ".join(words[at:end]), " ".join(words[end:])))
            if sign and not denied and not self._is_of_other(sign, value, words, at, end) and not self._is_of_less(sign, value, words, at, end):
                told, rest = " ".join(words[at:end]), " ".join(words[end:])
                over = self.is_danger(sign, value) and self._is_over(sign, " ".join(words[:at]), rest)
                told = " ".join(filter(None, (told, self._danger_words.over.told_over(rest)))) if over and self._danger_words is not None else told
                call = self._other_call(words[end : end + 1 + LONGEST_STEP]) or self._other_call(words[max(at, end - 2) : end])  # "works on cool"
                yield Complained(sign, value, told, call), over
            elif sign and self.is_danger(sign, value) and _no_more_of(words[:at]):
                yield Complained(sign, value, " ".join(words[at:end])), True
            at = end

    def _is_over(self, sign: str, before: str, rest: str) -> bool:
        """Whether what stands beside a danger says that it is so no more, or was so long ago."""
        over = self._danger_words.over if self._danger_words is not None else None
        return over is not None and over.is_past(sign, before, rest)

    def _is_of_other(self, sign: str, value: str, words: Sequence[str], at: int, end: int) -> bool:
        """Whether a danger that *words* tell from *at* to *end* is told of what stands right beside it: a "15 amp fuse in the disconnect"."""
        if not self.is_danger(sign, value):
            return False
        before = next((i for i in range(at, 0, -1) if words[i - 1] not in BESIDE), 0)
        after = next((i for i in range(end, len(words)) if words[i] not in BESIDE), len(words))
        others = [plain(each).split() for each in self._signs[sign].not_in_complaints_with.get(value, ())]
        return any(list(words[max(before - len(o), 0) : before]) == o or list(words[after : after + len(o)]) == o for o in others)

    def _is_of_less(self, sign: str, value: str, words: Sequence[str], at: int, end: int) -> bool:
        """Whether what *words* tell from *at* to *end* is told of less than it seems: of a part alone, or with something left out of what is safe."""
        safe = self._may_stop(sign) and not self.is_danger(sign, value)
        return (safe and not EXCEPT.isdisjoint(words[end : end + 2])) or (words[at] in DOES and self._is_of_part(sign, words[:at]))

    def _is_of_part(self, sign: str, before: Sequence[str]) -> bool:
        """Whether words *before* what is told of the whole furnace end in another call or a part: "cool does nothing"."""
        if self._signs[sign].shows != WHOLE_FURNACE:
            return False
        near = [w for w in before[-LONGEST_PART - 1 :] if w not in STILL_SO]
        starts = [" ".join(near[start:]) for start in range(len(near))]
        return any(self._other_calls.clear(name) or self._parts.clear(name) for name in starts)

    def _phrases_with(self, first: str) -> list[_Phrase]:
        """Each phrase that begins with a word; the longest first. There are thousands, and few are ever met."""
        if first in self._begun_by and first not in self._phrases:
            spelled = ((_words_of(way), sign, value) for phrase, begun, sign, value in self._begun_by[first] for way in each_way(phrase, begun))
            phrases = [_Phrase(words, frozenset(words) - {GAP}, sign, value) for words, sign, value in spelled]
            self._phrases[first] = sorted(phrases, key=lambda each: -len(each.words))
        return self._phrases.get(first, [])

    def _other_call(self, words: Sequence[str]) -> str:
        """The step of another call than for heat that *words* begin with, as in "in cooling"; empty where they do not."""
        if not OF_A_CALL.intersection(words[:1]):
            return ""
        named = (self._other_calls.clear(" ".join(words[1:end])) for end in range(len(words), 1, -1))
        return next((steps[0] for steps in named if len(steps) == 1), "")


def _denied_before(words: Sequence[str]) -> bool:
    """Whether *words* end in a denial of what follows them: "no", "does not", "no longer", "did not notice any"."""
    bare = len(words)
    while bare and words[bare - 1] in STILL_DENIED:
        bare -= 1
    bare -= int(bare > 1 and words[bare - 1] in LOOKED)
    return not DENIES.isdisjoint(words[-1:]) or not DENIES.isdisjoint(words[max(bare - 1, 0) : bare])


def _no_more_of(words: Sequence[str]) -> bool:
    """Whether *words* end in what says of a thing that it was there, and is no more."""
    return tuple(w for w in words[-3:] if w != "any")[-2:] in NO_MORE


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
