"""Finding an entry by what people call it: exactly, by other names, or, failing that, by names that share its words."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from functools import cached_property, lru_cache

from furnace_diag.knowledge.models import Figures, Sign, Words
from furnace_diag.quantities import UNITS, BadQuantity, names_unit, parse_quantity

FILLERS = frozenset({"the", "a", "an", "to", "of", "and"})  # words that people put into a name or leave out
VALUE_FILLERS = frozenset({"the", "a", "an", "it", "its", "is", "are", "does", "do", "did", "will", "just", "but", "either"})
LINKS = frozenset({"at", "in", "on", "for", "with", "by", "from"})  # shared by too many names to suggest any of them
DENIED = frozenset(
    ["isnt", "arent", "wasnt", "doesnt", "dont", "didnt", "wont", "cant", "cannot", "couldnt", "wouldnt", "hasnt", "havent"]
)  # "isn't", "won't", ... without the apostrophe; each is read as "not"
DENIALS = frozenset({"not", "no", "never", "none", "nothing", "without"})
ANSWERS = DENIALS | {"yes"}  # words that say nothing by themselves
IN_ORDER = DENIALS | {"before", "after", "until", "then", "than"}  # with one of these the order of words says something: "no flame with a call"
ENDINGS = ("ing", "ed", "es", "s")  # of a word that is told now, then, or of several: "click", "clicks", "clicking"
SUPPLIES = re.compile(r"(?:(?<=^24)|(?<=^120))(?= (?:at|on|out|into|across)\b)")  # where a supply is named by its volts alone
AS_IT_IS = re.compile(r"[a-z]+(?: [a-z]+)*")  # most names: words of small letters, one space between
LEAST_STEM = 3  # [letters] that an ending must leave
LEAST_SAID = 2  # words that a name must have for their order to be free

WHOLE, START, CLOSE, NONE = 1.0, 0.9, 0.7, 0.0  # how much of a typed word a name holds; only their order matters
OWN_NAME = 0.05  # an id counts for this much more than another name that is as near
LEAST_SHARE = 0.5  # of the typed words that a suggested name must hold
LEAST_OF_NAME = 0.5  # of the words of a suggested name that what is only misspelt must make up
UNDER = re.compile(r"(?:<=?|(?:under|below|less than)\b)\s*", re.IGNORECASE)  # before a figure that was not reached
AFTER = re.compile(r"(?:after|in|for)\s+(?=\d)", re.IGNORECASE)  # before the seconds that a thing took
EARLIER_REPAIR = "an earlier repair of "  # before a part, among the things that a word of a sign could be
THEN_AFTER = re.compile(r"(.*\S)\s+(?:after|in|within)\s+(\d.*)", re.IGNORECASE)  # words of a value, and the seconds that it took
BETWEEN_PARTS = re.compile(r"\s*[,;/]\s*|\s+(?:but|and)\s+", re.IGNORECASE)  # between two things that are told of one, as in "humming but not spinning"
NOT_ING = re.compile(r"\bnot (\w+?)ing\b")
DOUBLED = re.compile(r"([b-df-hj-np-tv-z])\1$")  # the end of "runn"
TO_BE_DOUBLED = re.compile(r"[^aeiou]*[aeiou][^aeiouwxy]")  # "run"; "runing" is no verb but a slip
MOST_PARTS = 3
BESIDE = ("by", "near", "beside", "next to")  # before what a thing happened beside, which changes nothing of what it was
MOST_SORTS = 2  # words that may stand inside what is told of a thing: "with wet dog hair"
ALL = "all"  # before a value of several things, as in "all open"
ALSO_LITTLE = frozenset(["all", "and", "both"])  # between words that mean one value each: "ok all clear"
WAS_DONE = re.compile(r"^(?:was|were|got|(?:has|have|had) been)\s+(?=\w)", re.IGNORECASE)
HOW_OFTEN_DONE = re.compile(r"\b(?:twice|(?:two|three|2|3) times)\b", re.IGNORECASE)
ALIKE = 0.75  # likeness of two words, or of two whole names, that may be one misspelt; 1 is the same
MUCH_ALIKE = 0.8  # likeness of two whole names of which one may be meant by the other; "text" is not much like "test"
SHORTEST_MISSPELT = 4  # [characters]; "led" is no misspelt "lead"
MOST_SPELLED = 8192  # texts whose spelling is remembered
LONG = 8  # [characters]; a word this long may be wrong by one letter more


@lru_cache(maxsize=8192)  # the same words come again in every table of names
def plain(text: str) -> str:
    """Lower case, words parted by one space, no punctuation but that inside numbers; "24VAC", "24 volts" and the 24 of "24 at w" are "24 v"."""
    if AS_IT_IS.fullmatch(text):
        return text
    bare = re.sub(r"[^a-z0-9.+]+", " ", re.sub(r"['’`]", "", text.lower()))
    bare = re.sub(r"(?<=\d) ?(?:volts?|v ?ac|v)(?= |$)", " v", bare)
    bare = SUPPLIES.sub(" v", bare)
    return " ".join(bare.strip(" .").split())


class Spelling:
    """One spelling for what people write in several: `short` words of the trade spelled out, fillers dropped."""

    def __init__(self, short: Mapping[str, Iterable[str]] | None = None, fillers: frozenset[str] = FILLERS) -> None:
        self._fillers = fillers
        self._long = {tuple(plain(s).split()): plain(long) for long, words in (short or {}).items() for s in words if plain(s)}
        self._spelled: dict[str, str] = {}
        self._longest: dict[str, int] = {}  # by its first word, the longest short form
        for form in self._long:
            self._longest[form[0]] = max(len(form), self._longest.get(form[0], 0))
        self.several: dict[str, tuple[str, ...]] = {}  # names, in this spelling, that are short for several entries
        self.told: dict[str, dict[str, set[str]]] = {}  # names, in this spelling, that are short for the sign that has one of these values
        self.left_out: frozenset[str] = frozenset()  # words of names that people leave out
        self.alike: dict[str, str] = {}  # words of names that tell the same, without their endings, and the one that stands for them

    def __call__(self, text: str) -> str:
        """*text* in that spelling. Remembered, for a line is looked up in every table of names."""
        spelled = self._spelled.get(text)
        if spelled is None:
            if len(self._spelled) >= MOST_SPELLED:
                self._spelled.clear()
            spelled = self._spelled[text] = self._made(text)
        return spelled

    def _made(self, text: str) -> str:
        words, out, i = plain(text).split(), list[str](), 0
        if self._longest.keys().isdisjoint(words):
            return " ".join(w for w in words if w not in self._fillers)
        while i < len(words):
            size = next((n for n in range(self._longest.get(words[i], 0), 0, -1) if tuple(words[i : i + n]) in self._long), 0)
            out.append(self._long[tuple(words[i : i + size])] if size else words[i])
            i += size or 1
        return " ".join(w for w in out if w and w not in self._fillers)


def spelling_of(words: Words) -> Spelling:
    """The spelling of names, by the short words of the rules. A short word of no letters or figures is left out."""
    spelled = Spelling(words.short_words)
    spelled.several = {spelled(name): ids for name, ids in words.several_names.items()}
    spelled.left_out = frozenset(words.left_out_of_names)
    spelled.alike = {_stem(word): _stem(one) for one, others in words.alike_in_names.items() for word in others}
    spelled.told = {spelled(name): {sign: {*map(VALUE_SPELLING, said)} for sign, said in signs.items()} for name, signs in words.told_by_value.items()}
    return spelled


VALUE_SPELLING = Spelling({"not": DENIED, "": ("at all", "any more", "anymore", "right now")}, VALUE_FILLERS)


class Names:
    """All names of some entries: their ids and what else they are called."""

    def __init__(self, entries: Mapping[str, Iterable[str]], spelling: Spelling | None = None) -> None:
        self.ids, self.others = list(entries), entries
        self.spelling = spelling or Spelling()
        self._ids = {plain(i): i for i in self.ids}
        self._meant: dict[str, list[str]] = {}
        self._begun: dict[str, frozenset[str]] = {}
        self._by_words: dict[frozenset[str], list[str]] | None = None  # made when first asked for
        for identifier, others in entries.items():
            for name in dict.fromkeys(map(self.spelling, [identifier, *others])):
                if name:  # nothing but little words names nothing
                    self._meant.setdefault(name, []).append(identifier)

    def meant(self, text: str) -> list[str]:
        """The ids that *text* names: one where it is clear, several where it is ambiguous, none where unknown."""
        several = self.could_be(text)
        return self.clear(text) or (several if len(several) > 1 else [])

    def clear(self, text: str) -> list[str]:
        """The ids that *text* names by itself."""
        exact = self._ids.get(plain(text))
        return [exact] if exact is not None else self._meant.get(self.spelling(text), [])

    def in_any_order(self, text: str) -> list[str]:
        """The ids that have a name of the same words as *text*, in whatever order and form, but for words that tell nothing in a name."""
        if self._by_words is None:
            self._by_words = {}
            for name, ids in self._meant.items():
                if said := self._words_of(name):
                    known = self._by_words.setdefault(said, [])
                    known.extend(i for i in ids if i not in known)
        return self._by_words.get(self._words_of(self.spelling(text)), [])

    def _words_of(self, spelled: str) -> frozenset[str]:
        """The words of a name without their endings; none where there are too few of them, or where their order says something."""
        words = spelled.split()
        stems = map(_stem, {*words} - LINKS - self.spelling.left_out)
        said = frozenset(self.spelling.alike.get(stem, stem) for stem in stems)
        return said if len(said) >= LEAST_SAID and IN_ORDER.isdisjoint(words) else frozenset()

    def before_place(self, text: str) -> list[str]:
        """The ids that *text* names before it tells by what that was: "mowing by the condenser"."""
        found = re.fullmatch(rf"(.+?) (?:{'|'.join(BESIDE)}) (.+)", plain(text))
        return self.clear(found[1]) or self.in_any_order(found[1]) if found and IN_ORDER.isdisjoint(found[2].split()) else []

    def could_be(self, text: str) -> list[str]:
        """The ids that *text* is short for by the rules' `several_names`."""
        return [i for i in self.spelling.several.get(self.spelling(text), ()) if i in self.others] if self.spelling.several else []

    def doubles(self) -> dict[str, list[str]]:
        """Names that mean more than one entry, with those entries."""
        return {name: ids for name, ids in self._meant.items() if len(ids) > 1}

    def suggested(self, text: str, count: int = 3) -> list[str]:
        """Ids whose names hold the words of *text*, whole or as beginnings, then those spelled much like it; nearest first.

        None at all where no name shares enough with it, and never a name that denies what *text* says, or says what it denies.
        """
        wanted = [w for w in self.spelling(text[:80]).split() if w not in LINKS]
        best: dict[str, float] = {}
        for name, ids in self._meant.items():
            score = _likeness(wanted, name.split())
            for i in ids:
                best[i] = max(best.get(i, 0.0), score + (OWN_NAME if score and self.spelling(i) == name else 0.0))
        as_typed = [w for w in plain(text[:80]).split() if w not in LINKS]
        for i in self.ids:  # a slip in a short word of an id ("control bord") is no slip in what its spelling makes of it
            score = _likeness(as_typed, plain(i).split())
            best[i] = max(best.get(i, 0.0), score + (OWN_NAME if score else 0.0))
        near = [i for i in best if best[i] > 0]
        return list(dict.fromkeys([*self.could_be(text), *sorted(near, key=lambda i: -best[i])]))[:count]

    def near(self, text: str) -> dict[str, float]:
        """Ids whose name is spelled much like all of *text* (over 1), or holds half of its words as they are (up to 1).

        Other than `suggested`, no word counts for being like one of a longer name.
        """
        wanted = [w for w in plain(text[:80]).split() if w not in LINKS]
        names = {i: [plain(i).split()] for i in self.suggested(text)}
        for name, ids in self._meant.items():
            for i in names.keys() & set(ids):
                names[i].append(name.split())
        scores = {i: max(_nearness(wanted, name) for name in each) for i, each in names.items()}
        return {i: score for i, score in scores.items() if score}

    def holding(self, words: Iterable[str], texts: Mapping[str, str]) -> list[str]:
        """Ids in whose names or *texts* every one of *words* begins a word; names that hold them all come first, as whole words before all."""
        ranks = self.ranked(words, texts)
        return sorted(ranks, key=lambda i: ranks[i][:2])

    def ranked(self, words: Iterable[str], texts: Mapping[str, str]) -> dict[str, tuple[bool, int, int]]:
        """The same ids, in their own order, with how well each fits; the less, the better. Last of it counts what else its shortest such name says."""
        wanted = self.spelling(" ".join(words)).split()
        result = {}
        able: Collection[str] = self._words_of_names if texts else self._begun_by(wanted)
        for i, (names, each) in self._words_of_names.items():
            if i not in able:
                continue
            said = {*names, *plain(texts[i]).split(), *self.spelling(texts[i]).split()} if texts.get(i) else names
            if wanted and all(_begins(w, said) for w in wanted):
                by_name = all(_begins(w, names) for w in wanted)
                more = min((len(n) - len(wanted) for n in each if all(_begins(w, n) for w in wanted)), default=len(said))
                result[i] = (not by_name, -len(names & {*wanted}), more)
        return result

    def share_begun(self, identifier: str, words: Sequence[str]) -> float:
        """Of its name that *words* begin most of, the share of the words that tell something; 0 where none of *words* does."""
        wanted = _telling(self.spelling(" ".join(words)).split())
        names = [name for name in map(_telling, self._words_of_names[identifier][1]) if name and all(_begins(w, name) for w in wanted)]
        return max((sum(any(n.startswith(w) for w in wanted) for n in name) / len(name) for name in names), default=0.0)

    def words_of(self, identifier: str) -> set[str]:
        """Every word of all its names."""
        return self._words_of_names[identifier][0]

    def _begun_by(self, words: Sequence[str]) -> frozenset[str]:
        """The ids in whose names each of *words* begins a word."""
        if len(self._begun) >= MOST_SPELLED:
            self._begun.clear()
        for word in words:
            if word not in self._begun:
                self._begun[word] = frozenset(i for i, (names, _) in self._words_of_names.items() if _begins(word, names))
        return frozenset.intersection(*(self._begun[word] for word in words)) if words else frozenset()

    @cached_property
    def _words_of_names(self) -> dict[str, tuple[set[str], list[set[str]]]]:
        """Of every id the words of all its names, and of each."""
        named = {i: [set(plain(i).split())] for i in self.ids}
        for name, ids in self._meant.items():
            for i in ids:
                named[i].append({*name.split()})
        return {i: (set().union(*each), each) for i, each in named.items()}


def _stem(word: str) -> str:
    """*word* without its ending: "clicking" and "clicks" are "click", "moved" and "moving" are "mov"."""
    ending = next((e for e in ENDINGS if word.endswith(e) and len(word) - len(e) >= LEAST_STEM), "")
    bare = word.removesuffix(ending) if ending else word
    return (DOUBLED.sub(r"\1", bare) if word.isalpha() else bare).rstrip("e")


def _telling(words: Iterable[str]) -> set[str]:
    """Without the words that stand in any name: "is on heat" tells no more than "heat"."""
    return {*words} - LINKS - FILLERS - VALUE_FILLERS


def _begins(word: str, words: Iterable[str]) -> bool:
    return any(w.startswith(word) for w in words)


def _likeness(wanted: list[str], name: list[str]) -> float:
    """0 where *name* is no sensible guess for the words *wanted*; else the higher the better."""
    if not wanted or bool(DENIALS & {*wanted}) != bool(DENIALS & {*name}):
        return 0.0
    held = [_held(w, name) for w in wanted]
    share = sum(held) / len(wanted)
    if share >= LEAST_SHARE and (max(held) > CLOSE or len(wanted) >= LEAST_OF_NAME * len(name)):
        return share + 0.1 * min(1.0, len(wanted) / len(name))  # of two that hold the same words the shorter one
    whole = _alike(" ".join(wanted), " ".join(name))
    return whole / 2 if whole >= ALIKE else 0.0


def _nearness(wanted: list[str], name: list[str]) -> float:
    whole = _alike(" ".join(wanted), " ".join(name))
    share = sum(_held(w, name) >= START for w in wanted) / max(len(wanted), 1)
    return 1 + whole if whole >= MUCH_ALIKE else share if share >= LEAST_SHARE else 0.0


def _held(word: str, name: list[str]) -> float:
    if word in name:
        return WHOLE
    if len(word) > 1 and _begins(word, name):
        return START
    return CLOSE if any(_misspelt(word, n) for n in name) else NONE


def _misspelt(word: str, other: str) -> bool:
    """Whether one is the other with a slip or two: people seldom miss the first letter, and hardly ever the length."""
    if min(len(word), len(other)) < SHORTEST_MISSPELT or word[0] != other[0] or abs(len(word) - len(other)) > 1 + len(word) // LONG:
        return False
    return _alike(word, other) >= ALIKE


def _alike(one: str, other: str) -> float:
    """Likeness of two texts, 0 where it is under ALIKE; most pairs are told apart by their lengths or letters alone."""
    from difflib import SequenceMatcher  # only where something is misspelt

    matcher = SequenceMatcher(None, one, other)
    if matcher.real_quick_ratio() < ALIKE or matcher.quick_ratio() < ALIKE:
        return 0.0
    return matcher.ratio()


def mended(word: str, known: Collection[str]) -> str:
    """*word* as the one known word that is nearest, a slip of the keys away; as it is where it is known, too short, a figure, or two are as near.

    A slip is a letter too many, too few, another, or two that changed places; a long word may have two.
    """
    from rapidfuzz.distance import OSA

    bare = plain(word)
    if bare in known or not bare.isalpha() or len(bare) < SHORTEST_MISSPELT:
        return word
    most = 2 if len(bare) >= LONG else 1
    apart = {other: OSA.distance(bare, other, score_cutoff=most) for other in known if len(other) >= SHORTEST_MISSPELT and other[0] == bare[0]}
    least = min(apart.values(), default=most + 1)
    nearest = [other for other, slips in apart.items() if slips == least]
    return nearest[0] if least <= most and len(nearest) == 1 else word


# --- values of signs --------------------------------------------------------------------------


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
        for phrase in (*self._besides.of_what, *self._besides.where) if DENIALS.isdisjoint(said.split()) else ():
            sorts = MOST_SORTS if phrase in self._besides.of_what else 0
            bare = next(filter(None, (_without_end(text, self.spelling(phrase).split(), sorts) for text in (said, self._spelled_out(said)))), "")
            if bare and len(meant := self._listed(bare)) == 1 and meant[0] in self._besides.bad_in_part:
                return meant
        return []

    def _with_less(self, text: str) -> list[str]:
        """The value, or all that it could be, of *text* in another form: with or without the s of its words ("light then drop out"), with its short words
        spelled out ("stat wire"), without "all" before it, or without what may lead in to a value and is denied by none ("blows on a heat call")."""
        said = self.spelling(text)
        bare = [b for b in (self._spelled_out(said), said.removeprefix(f"{ALL} ")) if b != said]
        led_in = [b for word in self._lead_in if (b := said.removeprefix(word)) != said and ANSWERS.isdisjoint(b.split())]
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
    found = re.fullmatch(rf"(.+?) {' '.join(phrase[:-1])}(?: \w+){{0,{sorts}}} {phrase[-1]}", said)
    return found[1] if found else ""


def _without_figures(text: str) -> str:
    """The spelling of *text* with n for a count, and without the time after which it was so."""
    told = THEN_AFTER.fullmatch(text.strip())
    return _counted(VALUE_SPELLING(told[1] if told else text))


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


def values_of(sign: Sign, words: Words) -> ValuesOfSign:
    """The values of a sign, by all that people type for them."""
    return ValuesOfSign(_all_words(sign.values, sign.value_words, words.value_words), sign, words)


def told_by_value(names: Names, text: str, value: str) -> list[str]:
    """The sign that *text* is short for where it has that *value*, by the rules' `told_by_value`: "igniter" with "cracked" is how it looks."""
    said = names.spelling(text)
    signs = names.spelling.told.get(said) or names.spelling.told.get(said.removeprefix("with "), {})
    return [sign for sign, values in signs.items() if sign in names.others and not values.isdisjoint((VALUE_SPELLING(value), _counted(VALUE_SPELLING(value))))]


def told_by_unit(names: Names, text: str, value: str, unit_of: Mapping[str, str]) -> list[str]:
    """The points that *text* names together with the unit that *value* tells, and that are read in it: "igniter" with "61 ohm" is "igniter ohms".

    *unit_of*: of each point.
    """
    named = {unit: f"{text} {UNITS[unit].in_words}" for unit in dict.fromkeys(unit_of.values()) if UNITS[unit].in_words and names_unit(value, unit)}
    points = (p for unit, name in named.items() for p in names.clear(name) or names.in_any_order(name) if unit_of[p] == unit)
    return list(dict.fromkeys(points))


def _counted(said: str) -> str:
    """*said* with n for each figure."""
    return re.sub(r"\b\d+\b", "n", said)
