"""Values of signs, and what an earlier repair did, by all that people type for them."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator, Mapping
from functools import cached_property

from furnace_diag.knowledge.find import Names
from furnace_diag.knowledge.models import Figures, Sign, Words
from furnace_diag.knowledge.spelling import ANSWERS, DENIALS, DOUBLED, LEAST_STEM, VALUE_SPELLING, Spelling, counted, plain
from furnace_diag.quantities import BadQuantity, parse_quantity

UNDER = re.compile(r"(?:<=?|(?:under|below|less than)\b)\s*", re.IGNORECASE)  # before a figure that was not reached
AFTER = re.compile(r"(?:after|in|for)\s+(?=\d)", re.IGNORECASE)  # before the seconds that a thing took
EARLIER_REPAIR = "an earlier repair of "  # before a part, among the things that a word of a sign could be
THEN_AFTER = re.compile(r"(.*\S)\s+(?:after|in|within)\s+(\d.*)", re.IGNORECASE)  # words of a value, and the seconds that it took
BETWEEN_PARTS = re.compile(r"\s*[,;/]\s*|\s+(?:but|and)\s+", re.IGNORECASE)  # between two things that are told of one, as in "humming but not spinning"
NOT_ING = re.compile(r"\bnot (\w+?)ing\b")
TO_BE_DOUBLED = re.compile(r"[^aeiou]*[aeiou][^aeiouwxy]")  # "run"; "runing" is no verb but a slip
MOST_PARTS = 3
MOST_SORTS = 2  # words that may stand inside what is told of a thing: "with wet dog hair"
ALL = "all"  # before a value of several things, as in "all open"
ALSO_LITTLE = frozenset(["all", "and", "both"])  # between words that mean one value each: "ok all clear"
WAS_DONE = re.compile(r"^(?:was|were|got|(?:has|have|had) been)\s+(?=\w)", re.IGNORECASE)
HOW_OFTEN_DONE = re.compile(r"\b(?:twice|(?:two|three|2|3) times)\b", re.IGNORECASE)


def values_of(sign: Sign, words: Words) -> ValuesOfSign:
    """The values of a sign, by all that people type for them."""
    return ValuesOfSign(_all_words(sign.values, sign.value_words, words.value_words), sign, words)


def words_for_values(values: Iterable[str], own: Mapping[str, Iterable[str]], shared: Mapping[str, Iterable[str]]) -> Values:
    """What people type for each of *values*: its *own* words, and of the *shared* ones those that mean nothing else here."""
    return Values(_all_words([*values], own, shared))


def _all_words(ids: Collection[str], own: Mapping[str, Iterable[str]], shared: Mapping[str, Iterable[str]]) -> dict[str, list[str]]:
    taken = {VALUE_SPELLING(w): v for v in ids for w in (v, *own.get(v, ()))}
    return {v: [*own.get(v, ()), *(w for w in shared.get(v, ()) if taken.get(VALUE_SPELLING(w), v) == v)] for v in ids}


def results_of(words: Words) -> Values:
    """What an earlier repair did, by all that people type for it: in one piece, or as what was done and what came of it."""
    said = words.repair_said
    shared = {result: list(typed) for result, typed in words.value_words.items()}
    for result, halves in said.means.items():
        both = [(done, then) for a, b in halves for done in said.done[a] for then in said.then[b]]
        shared.setdefault(result, []).extend(f"{done}{link}{then}" for done, then in both for link in (" ", " and "))
    return Results(_all_words(words.history, {}, shared), said.says_more)


class Values(Names):
    """Values by all that people type for them, in the words listed or in those words put together otherwise."""

    def __init__(self, entries: Mapping[str, Iterable[str]], says_more: Mapping[str, Collection[str]] | None = None) -> None:
        """*says_more*: of a value those that say it, and more."""
        super().__init__(entries, VALUE_SPELLING)
        self._says_more = says_more or {}

    def meant(self, text: str) -> list[str]:
        """The values that *text* means."""
        return self._listed(text) or self._of_parts(HOW_OFTEN_DONE.sub("", text).strip()) or self._of_each_word(text)

    def _listed(self, text: str) -> list[str]:
        """The values that the words of *text* mean as they stand."""
        return super().meant(text)

    def _plainly(self, text: str) -> str | None:
        """The one value that the words of *text* mean as they stand, or with "not lighting" put as "not light"."""
        meant = next(filter(None, map(self._listed, (text, *_not_as_verbs(self.spelling(text))))), [])
        return meant[0] if len(meant) == 1 else None

    def _of_parts(self, text: str) -> list[str]:
        """The value that each of the parts told means, or one of them more closely: "humming but not spinning"."""
        parts = [p for p in BETWEEN_PARTS.split(text) if p]
        said = self.spelling(text).split()
        if len(parts) == 1 and "not" in said[1:] and DENIALS.isdisjoint(said[: said.index("not")]):  # "hums won't spin": what it does, and what it does not
            parts = [" ".join(said[: said.index("not")]), " ".join(said[said.index("not") :])]
        told = [self._plainly(p) for p in parts[: MOST_PARTS + 1]]
        if not 0 < len(told) <= MOST_PARTS or None in told:
            return []
        values = [v for v in dict.fromkeys(told) if v is not None]
        closest = [v for v in values if self._says_all(v, values)]
        return closest if len(closest) == 1 else []

    def _of_each_word(self, text: str) -> list[str]:
        """The one value that every word means by itself: "rubbed bare", "worked fine". Not "not off", nor "sometimes yes"."""
        words = [w for w in self.spelling(text).split() if w not in ALSO_LITTLE]
        told = [self._listed(w) for w in words[: MOST_PARTS + 1]]
        same = 1 < len(told) <= MOST_PARTS and told[0] and all(t == told[0] for t in told) and ANSWERS.isdisjoint(words)
        return told[0] if same and len(told[0]) == 1 else []

    def _says_all(self, value: str, values: Collection[str]) -> bool:
        """Whether *value* says as much as all *values* together, and denies none of them."""
        return all(other == value or value in self._says_more.get(other, ()) for other in values)


class Results(Values):
    """What an earlier repair did: of a thing that is done, "was swapped" tells no more than "swapped"; of one that "was running" it would."""

    def meant(self, text: str) -> list[str]:
        """The results that *text* means."""
        return super().meant(WAS_DONE.sub("", text, count=1))


class ValuesOfSign(Values):
    """Values of a sign: a figure may tell them too, and a word may be told that could be several things."""

    def __init__(self, entries: Mapping[str, Iterable[str]], sign: Sign, words: Words) -> None:
        super().__init__(entries)
        self._besides = words.value_besides
        self._short_words = words.short_words if sign.source_kind != "light" else {}  # a legend is told as it stands: "press sw" begins two of one
        self._lead_in = [f"{VALUE_SPELLING(word)} " for word in sign.before_values]
        self._led_out = [f" {VALUE_SPELLING(word)}" for word in sign.behind_values]
        self._reads_as, self._figures, self._name = sign.reads_as, sign.figures, {*plain(sign.sign).split()}
        self._unclear = {VALUE_SPELLING(word): list(things) for word, things in sign.could_be.items()}

    def meant(self, text: str) -> list[str]:
        """The values that *text* means; or all that it could be, values of other signs (SIGN: VALUE) among them."""
        told = self._listed(text) or self._by_figure(text) or self._of_parts(text) or self._unclear.get(_without_figures(text), [])
        return told or self._of_each_word(text) or self._with_more(text) or self._with_less(text)

    def _says_all(self, value: str, values: Collection[str]) -> bool:
        """Whether all that *value* may stand for is what all *values* have in common."""
        both = set.intersection(*({*self._reads_as.get(v, (v,))} for v in values))
        return bool(both) and both in ({value}, {*self._reads_as.get(value, (value,))})

    def _with_more(self, text: str) -> list[str]:
        """The value that is told with what it is of or where it is, as in "matted with dog hair", "split at the end": what is bad in one place is bad."""
        said = self.spelling(text)
        told = dict.fromkeys((said, self._spelled_out(said))) if DENIALS.isdisjoint(said.split()) else ()
        ways = ((each, phrase, sorts) for each in told for phrase, sorts in self._besides_by_end.get(each.rpartition(" ")[2], ()))
        for bare in filter(None, (_without_end(*way) for way in ways)):
            if len(meant := self._listed(bare)) == 1 and meant[0] in self._besides.bad_in_part:
                return meant
        return []

    @cached_property
    def _besides_by_end(self) -> dict[str, list[tuple[list[str], int]]]:
        """What a thing is told with and where it is, word by word, by its last word; and how many other words may stand before that."""
        by_end: dict[str, list[tuple[list[str], int]]] = {}
        for phrases, sorts in ((self._besides.of_what, MOST_SORTS), (self._besides.where, 0)):
            for words in (self.spelling(phrase).split() for phrase in phrases):
                by_end.setdefault(words[-1], []).append((words, sorts))
        return by_end

    def _with_less(self, text: str) -> list[str]:
        """The value, or all that it could be, of *text* in another form: with or without the s of its words ("light then drop out"), with its short words
        spelled out ("stat wire"), without "all" before it or what may stand behind a value ("hard to turn by
        hand"), or without what may lead in to a value and is denied by none ("blows on a heat call")."""
        said = self.spelling(text)
        spelled = self._spelled_out(said)
        bare = [b for b in (spelled, said.removeprefix(f"{ALL} "), *(said.removesuffix(words) for words in self._led_out)) if b != said]
        led_in = [b for s in (said, spelled) for word in self._lead_in if (b := s.removeprefix(word)) != s and ANSWERS.isdisjoint(b.split())]
        told = [self._in_any_form.get(_without_s(said), []) if " " in said else []]  # "lights" alone may be a thing or what it does
        told += [self._listed(b) or self._unclear.get(b, []) for b in bare]
        told += [meant for b in led_in if ANSWERS.isdisjoint(meant := self._listed(b) or self._unclear.get(b, []))]
        return next(filter(None, told), [])

    @cached_property
    def _in_any_form(self) -> dict[str, list[str]]:
        """The values of the words listed, by these words without their s; of more than one value where both say it in words of their own."""
        known: dict[str, list[str]] = {}
        for said, values in (*self._meant.items(), *self._unclear.items()):
            met = known.setdefault(_without_s(said), [])
            met.extend(v for v in values if v not in met)
        return known

    @cached_property
    def _spelled_out(self) -> Spelling:
        return Spelling(self._short_words, frozenset())

    def _by_figure(self, text: str) -> list[str]:
        """The value that a figure tells: "2 ppm" is one, and so is "under 10 ppm". Under is said in several ways."""
        if self._figures is None:
            return []
        told = THEN_AFTER.fullmatch(text.strip())
        if self._figures.with_words:
            return [v for v in self._listed(told[1]) if self._values_at(told[2], self._figures) == [v]] if told else []
        if told and {*plain(told[1]).split()} <= self._name:  # "goes out after 5 seconds", of a flame that goes out
            return self._values_at(told[2], self._figures)
        under = UNDER.sub("under ", text.strip(), count=1) if not text.strip().startswith("<=") else text
        return self._listed(under) or self._listed(f"{under} {self._figures.unit}") or self._values_at(text, self._figures)

    def _values_at(self, text: str, figures: Figures) -> list[str]:
        text = AFTER.sub("", text.strip(), count=1) if figures.unit == "s" else text
        bare = UNDER.sub("", text.strip(), count=1)
        try:
            figure = parse_quantity(bare, figures.unit).value
        except BadQuantity:
            return []
        ends = [figure] if bare == text.strip() else [0.0, figure]  # anything under it
        meant = dict.fromkeys(map(figures.value_at, ends))
        return list(meant) if len(meant) == 1 else []


def _not_as_verbs(said: str) -> Iterator[str]:
    """What is denied as it is done, as the plain verb is: "not lighting up" is "not light up"."""
    if found := NOT_ING.search(said):
        stem = found[1]
        bare = [] if TO_BE_DOUBLED.fullmatch(stem) else [stem]
        for verb in (*bare, f"{stem}e", *([stem[:-1]] if DOUBLED.search(stem) else [])):
            yield NOT_ING.sub(f"not {verb}", said, count=1)


def _without_s(said: str) -> str:
    """*said* with each verb as of one or of many, and each thing too: "lights then drops out" as "light then drop out"."""
    return " ".join(w[:-1] if len(w) > LEAST_STEM and w.endswith("s") and not w.endswith("ss") else w for w in said.split())


def _without_end(said: str, phrase: list[str], sorts: int) -> str:
    """*said* without the words of *phrase* at its end, before the last of which up to *sorts* others may stand; empty where they are not there."""
    if not said.endswith(phrase[-1]):
        return ""
    found = re.fullmatch(rf"(.+?) {' '.join(phrase[:-1])}(?: \w+){{0,{sorts}}} {phrase[-1]}", said)
    return found[1] if found else ""


def _without_figures(text: str) -> str:
    """The spelling of *text* with n for a count, and without the time after which it was so."""
    told = THEN_AFTER.fullmatch(text.strip())
    return counted(VALUE_SPELLING(told[1] if told else text))


def made_of(text: str, phrases: Iterable[str]) -> bool:
    """Whether *text* is one of *phrases* or several after one another, but for the little words of values, and nothing else."""
    known = {tuple(VALUE_SPELLING(p).split()) for p in phrases}
    words, longest, at = VALUE_SPELLING(text).split(), max(map(len, known), default=0), 0
    while at < len(words):
        size = next((n for n in range(longest, 0, -1) if tuple(words[at : at + n]) in known), 0)
        if not size:
            return False
        at += size
    return at > 0
