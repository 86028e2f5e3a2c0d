"""Words that tell of a danger in anybody's own text without naming it, and words that only look as if they did; which they are the rules say.

A danger must not be missed, so what is told in a row or anywhere in one sentence counts, unless it is denied right before it or none is said right
after it. What is harmless is taken out of the text first.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from furnace_diag.knowledge.danger_over import OverWords
from furnace_diag.knowledge.models import Words
from furnace_diag.knowledge.spelling import DENIALS, DENIED, DENIED_AFTER, LOOKED, Spelling, plain, with_its_g
from furnace_diag.quantities import UNITS, names_unit

LITTLE = ("the", "a", "an", "its", "it", "your", "my", "is", "was", "are", "were", "has", "had", "been", "being", "got", "gets", "getting", "some", "all", "of")
BETWEEN = f" (?:(?:{'|'.join(LITTLE)}) )*"
DENYING = (*sorted((DENIALS | DENIED) - {"none", "nothing"}), "no one", "nobody", "no sign of", "no signs of", "no trace of", "no evidence of", "zero")
# "no more ...", "did not notice any ..."
DENIED_BEFORE = re.compile(rf"\b(?:{'|'.join(DENYING)}) (?:(?:more|longer|further) )?(?:(?:{'|'.join(sorted(LOOKED))}) )?(?:(?:a|the|any) )?$")
NOTHING_BEFORE = re.compile(r"\bnothing (?:(?:is|was|were|looks|looked|has been) )?$")
LONGEST_DENIAL = 36  # [characters]
FIGURE = "n"  # in the rules' words, any figure
A_FIGURE = re.compile(r"\d+(?:\.\d+)?|\.\d+")
NONE_AFTER = rf"(?! (?:{'|'.join(sorted(DENIED_AFTER))})\b| (?:no|n)(?=,|$| \|))"  # "soot none"
NEITHER = re.compile(r"\b(no|not|without) (\w+) (?:or|nor) (?=\w)")  # "no rust or water"
SENTENCE_ENDS = re.compile(r"[;!?\n|]|\.(?=\s|$)")
ANSWERED = re.compile(rf"\?\s*(?=(?:no|nothing|n|{'|'.join(sorted(DENIED_AFTER))})\b)", re.IGNORECASE)  # "gas smell? no", which is no end of a sentence
GLUED = re.compile(r"(?<=\d)(?=(?:ppm|amps?|a)\b)", re.IGNORECASE)  # "85ppm", "30a"
ALSO_SIGNS = re.compile(r"[&+/]")
WITH = re.compile(r"\bw/(o\b)?\s*", re.IGNORECASE)  # "w/ a magnet", "w/o a kit"
CO = re.compile(r"\bc\.\s?o\b\.?", re.IGNORECASE)  # spelled with points, which end no sentence
UNDENIED = r"(?<!\bno )(?<!\bnot )(?<!\bno one )(?<!\bnobody )"  # before what is so
PLACED = r"(?:on|onto|upon|over|in|into|inside|down|across|around|through)"
# "water in the hose and the board", and not "water in the hose and it works now"
AND_MORE = re.compile(r",? (?:and|also|plus|too)\b(?! (?:then|it|now|works|runs|goes|went|no|not|none|nothing)\b)")
# "..., ran onto the board", and not "... on the second try"
WHEN = r"(?:(?:the|a|an|each|every|any|all|next|last|first|second|third) )*(?:calls?|try|tries|trials?|time|start|startup|power|heat|demand)\b"
SOMEWHERE = re.compile(rf"{UNDENIED}(?<!\bnone )(?<!\bnothing )\b(?:{PLACED} (?!{WHEN})[a-z]|everywhere\b)")
READ_ON = re.compile(rf"\d\S* (?:([a-z]+(?: (?:ac|dc|wc))?) )?{PLACED}\b")  # "0.3 v on the heat terminal", "0.35 in wc"


def is_denied(text: str, at: int, end: int | None = None) -> bool:
    """Whether what begins at a place of *text* (plain words) is denied right before it. "Nothing" denies what ends its piece alone: "nothing jumped out",
    and not the limit in "found nothing jumped out limit"."""
    before = text[max(at - LONGEST_DENIAL, 0) : at]
    ends_piece = end is not None and text[end:].lstrip(" ")[:1] in ("", ",", "|")
    return DENIED_BEFORE.search(before) is not None or (ends_piece and NOTHING_BEFORE.search(before) is not None)


def in_sentences(texts: Iterable[str]) -> str:
    """*texts* in plain words, with a bar between sentences and a comma between their pieces."""
    spelled = (WITH.sub(lambda m: "without " if m[1] else "with ", CO.sub("co", GLUED.sub(" ", text))) for text in texts)
    sentences = (s for text in spelled for s in SENTENCE_ENDS.split(ANSWERED.sub(" ", text)))
    return " | ".join(", ".join(filter(None, map(plain, re.split(r",(?!\d)", ALSO_SIGNS.sub(" and ", s))))) for s in sentences)


def goes_on(rest: str) -> bool:
    """Whether the rest of a sentence goes on to a place, or to more of the same, where what was harmless could be a danger."""
    bare = READ_ON.sub(_without_reading, rest)
    return bool(AND_MORE.match(bare) or SOMEWHERE.search(bare))


def _without_reading(found: re.Match[str]) -> str:
    """Nothing where a figure is told to be read on something; else what stood there."""
    unit = found[1]
    return "" if unit is None or any(names_unit(f"1 {unit}", u) for u in UNITS) else found[0]


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
        return next(self.told_in(sentence, words), None) is not None

    def told_in(self, sentence: str, words: Collection[str]) -> Iterator[re.Match[str]]:
        """Where a *sentence* of these *words* tells it and does not deny it."""
        found = self.pattern.finditer(sentence) if self.may_be_in(words) else ()
        return (m for m in found if not is_denied(sentence, m.start(), m.end()))


class ToldOf(NamedTuple):
    """A sign of a danger, the words that tell of it, and whether the rest of their sentence says that it is over. *figure*: the highest that their
    sentence tells of it."""

    sign: str
    words: str
    over: bool
    figure: float | None = None


class DangerWords:
    """The rows of words of the rules, ready to be looked for; make it once."""

    def __init__(self, words: Words, slips: Callable[[str], str] | None = None) -> None:
        """*slips*: what mends misspelt words."""
        said, self._slips = words.claims.said_of_dangers, slips or str
        self._spelled = Spelling(words.short_words, frozenset())  # little words stay: "sick of" is not "sick"
        self._words = {name: self._forms(each) for name, each in said.words.items()}
        self._known = frozenset(word for forms in self._words.values() for form in forms for word in form.split())
        self._in_a_row = [(sign, self._row(row, NONE_AFTER)) for sign, rows in said.in_a_row.items() for row in rows]
        self._begun_by: dict[str, list[int]] = {}  # which of these rows, by each word that one can begin with
        for i, (_, row) in enumerate(self._in_a_row):
            for word in row.first:
                self._begun_by.setdefault(word, []).append(i)
        self._together = {sign: [[self._row((name,), NONE_AFTER) for name in row] for row in rows] for sign, rows in said.in_a_sentence.items()}
        self.over = OverWords(said, self._forms, LITTLE)
        self._over_in_a_row = [(sign, self._row(row)) for sign, rows in said.over_in_a_row.items() for row in rows]
        self._by_figure = {sign: [self._row(row) for row in rows] for sign, rows in said.by_figure.items()}
        self._harmless = [(self._row(row), False) for row in said.harmless]
        with_other = [(False, both) for both in said.harmless_with] + [(True, both) for both in said.harmless_there_with]
        self._harmless_with = [(self._row(row), self._row(other), may_spread) for may_spread, (row, other) in with_other]
        self._harmless_there = [(self._row(row), True) for row in said.harmless_there]

    def without_harmless(self, text: str, spreads: Callable[[str], bool]) -> str:
        """*text* (plain words; a bar between sentences, a comma between their pieces) without what is harmless, and with what is misspelt mended.

        *spreads*: whether what follows in the sentence goes on to where it is a danger all the same.
        """
        sentences = NEITHER.sub(r"\1 \2, \1 ", self._slips(text)).split(" | ")
        return " | ".join(self._without(s, spreads) for s in sentences)

    def told_in(self, text: str, elsewhere: Iterable[str] = ()) -> list[ToldOf]:
        """The dangers that *text*, as above, tells of, each sign once; one that is over only where nothing tells it otherwise.

        *elsewhere*: words that tell of something else already.
        """
        told = [", ".join(with_its_g(piece, self._known) for piece in sentence.split(", ")) for sentence in text.split(" | ")]
        spelled = (", ".join(map(self._spelled, s.split(","))) for s in told)
        sentences = [_without_phrases(s, elsewhere) for s in dict.fromkeys((*told, *spelled))]
        found = dict[str, ToldOf]()
        for each in (each for s in sentences for each in self._told_by(s, _words_in(s))):
            if each.sign not in found or found[each.sign].over:
                found[each.sign] = each
        in_order = (*(sign for sign, _ in self._in_a_row), *self._together, *found) if found else ()
        return [found[sign] for sign in dict.fromkeys(in_order) if sign in found]

    def _told_by(self, sentence: str, words: Collection[str]) -> Iterator[ToldOf]:
        for sign, row in self._over_in_a_row:
            for m in row.told_in(sentence, words):
                yield ToldOf(sign, m[0], self.over.is_not_back(sentence[m.end() :]))
                sentence = sentence.replace(m[0], ",")
        for i in sorted({i for word in (FIGURE, *words) for i in self._begun_by.get(word, ())}):
            sign, row = self._in_a_row[i]
            yield from (self._told(sign, sentence, m.start(), m.end()) for m in row.told_in(sentence, words))
        for sign, ways in self._together.items():
            for way in (way for way in ways if all(row.may_be_in(words) for row in way)):
                each = [next(row.told_in(sentence, words), None) for row in way]
                spans = [m.span() for m in each if m is not None]
                if len(spans) == len(way):
                    start, end = min(s for s, _ in spans), max(e for _, e in spans)
                    yield self._told(sign, sentence, start, end)

    def _told(self, sign: str, sentence: str, start: int, end: int) -> ToldOf:
        """What a place of a sentence tells of a sign."""
        before, rest = sentence[:start], sentence[end:]
        return ToldOf(sign, sentence[start:end], self.over.is_past(sign, before, rest), self._figure(sign, sentence))

    def _figure(self, sign: str, sentence: str) -> float | None:
        """The highest figure that a sentence tells of a sign; None where it tells none."""
        found = (m[0] for row in self._by_figure.get(sign, ()) for m in row.pattern.finditer(sentence))
        figures = [float(figure) for words in found for figure in A_FIGURE.findall(words)]
        return max(figures, default=None)

    def _without(self, sentence: str, spreads: Callable[[str], bool]) -> str:
        words = _words_in(sentence)
        for row, other, may_spread in self._harmless_with:
            if row.may_be_in(words) and other.is_in(sentence, words):
                sentence = row.pattern.sub(lambda m, may=may_spread: m[0] if may and spreads(m.string[m.end() :]) else ",", sentence)  # type: ignore[misc]
        for row, may_spread in (*self._harmless_there, *self._harmless):
            if row.may_be_in(words):
                sentence = row.pattern.sub(lambda m, may=may_spread: m[0] if (may and spreads(m.string[m.end() :])) or self._goes_on(m) else ",", sentence)  # type: ignore[misc]
        return sentence

    def _goes_on(self, harmless: re.Match[str]) -> bool:
        """Whether a row of a danger begins with what is *harmless* by itself and goes on: "burners fire with the stat off"."""
        rows = (self._in_a_row[i][1] for i in self._begun_by.get(harmless[0].split()[0], ()))
        found = (row.pattern.match(harmless.string, harmless.start()) for row in rows)
        return any(m is not None and m.end() > harmless.end() for m in found)

    def _forms(self, words: Iterable[str]) -> list[str]:
        """*words* as they stand and as they are spelled out, the longest first."""
        return sorted({form for w in (GLUED.sub(" ", w) for w in words) for form in (plain(w), self._spelled(w)) if form}, key=len, reverse=True)

    def _row(self, row: Iterable[str], after: str = "") -> _Row:
        groups = [self._words[name] for name in row]
        return _Row(frozenset(form.split()[0] for form in groups[0]), rf"\b(?<!\d\.){BETWEEN.join(map(_any_of, groups))}\b{after}")


def _any_of(forms: Iterable[str]) -> str:
    """A pattern of any of *forms*, where `n` is a figure."""
    return f"(?:{'|'.join(re.sub(r'(?:^|(?<= ))n(?= |$)', r'[0-9.]*[0-9]', re.escape(f).replace(chr(92) + ' ', ' ')) for f in forms)})"


def _without_phrases(sentence: str, phrases: Iterable[str]) -> str:
    """*sentence* without *phrases* (plain words), between whose words a comma may stand in it."""
    for phrase in phrases:
        sentence = re.sub(rf"\b{',? '.join(map(re.escape, phrase.split()))}\b", ",", sentence)
    return sentence


def _words_in(sentence: str) -> frozenset[str]:
    return frozenset(sentence.replace(",", " ").split())
