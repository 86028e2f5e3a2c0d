"""Finding an entry by what people call it: exactly, by other names, or, failing that, by names that share its words."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping, Sequence
from functools import cached_property
from itertools import chain

from furnace_diag.knowledge.likeness import begins, likeness, nearness
from furnace_diag.knowledge.spelling import DENIALS, FILLERS, LINKS, MOST_SPELLED, VALUE_FILLERS, VALUE_SPELLING, Spelling, counted, plain, stem
from furnace_diag.quantities import UNITS, names_unit

IN_ORDER = DENIALS | {"before", "after", "until", "then", "than"}  # with one of these the order of words says something: "no flame with a call"
LEAST_SAID = 2  # words that a name must have for their order to be free
OWN_NAME = 0.05  # an id counts for this much more than another name that is as near
BESIDE = ("by", "near", "beside", "next to")  # before what a thing happened beside, which changes nothing of what it was


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
        stems = map(stem, {*words} - LINKS - self.spelling.left_out)
        said = frozenset(self.spelling.alike.get(bare, bare) for bare in stems)
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
        best = dict.fromkeys(chain(*self._meant.values(), self.ids), 0.0)
        for (name, ids), said in zip(self._meant.items(), self._names_in_words, strict=True):
            if score := likeness(wanted, said):
                for i in ids:
                    best[i] = max(best[i], score + (OWN_NAME if self.spelling(i) == name else 0.0))
        as_typed = [w for w in plain(text[:80]).split() if w not in LINKS]
        for i in self.ids:  # a slip in a short word of an id ("control bord") is no slip in what its spelling makes of it
            if score := likeness(as_typed, plain(i).split()):
                best[i] = max(best[i], score + OWN_NAME)
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
        scores = {i: max(nearness(wanted, name) for name in each) for i, each in names.items()}
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
        for i, (names, each) in self._words_of_names.items() if able else ():
            if i not in able:
                continue
            said = {*names, *plain(texts[i]).split(), *self.spelling(texts[i]).split()} if texts.get(i) else names
            if wanted and all(begins(w, said) for w in wanted):
                by_name = all(begins(w, names) for w in wanted)
                more = min((len(n) - len(wanted) for n in each if all(begins(w, n) for w in wanted)), default=len(said))
                result[i] = (not by_name, -len(names & {*wanted}), more)
        return result

    def share_begun(self, identifier: str, words: Sequence[str]) -> float:
        """Of its name that *words* begin most of, the share of the words that tell something; 0 where none of *words* does."""
        wanted = _telling(self.spelling(" ".join(words)).split())
        names = [name for name in map(_telling, self._words_of_names[identifier][1]) if name and all(begins(w, name) for w in wanted)]
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
                self._begun[word] = frozenset(i for i, (names, _) in self._words_of_names.items() if begins(word, names))
        return frozenset.intersection(*(self._begun[word] for word in words)) if words else frozenset()

    @cached_property
    def _names_in_words(self) -> list[list[str]]:
        return [name.split() for name in self._meant]

    @cached_property
    def _words_of_names(self) -> dict[str, tuple[set[str], list[set[str]]]]:
        """Of every id the words of all its names, and of each."""
        named = {i: [set(plain(i).split())] for i in self.ids}
        for name, ids in self._meant.items():
            for i in ids:
                named[i].append({*name.split()})
        return {i: (set().union(*each), each) for i, each in named.items()}


def _telling(words: Iterable[str]) -> set[str]:
    """Without the words that stand in any name: "is on heat" tells no more than "heat"."""
    return {*words} - LINKS - FILLERS - VALUE_FILLERS


def told_by_value(names: Names, text: str, value: str) -> list[str]:
    """The sign that *text* is short for where it has that *value*, by the rules' `told_by_value`: "igniter" with "cracked" is how it looks."""
    said = names.spelling(text)
    signs = names.spelling.told.get(said) or names.spelling.told.get(said.removeprefix("with "), {})
    return [sign for sign, values in signs.items() if sign in names.others and not values.isdisjoint((VALUE_SPELLING(value), counted(VALUE_SPELLING(value))))]


def told_by_unit(names: Names, text: str, value: str, unit_of: Mapping[str, str]) -> list[str]:
    """The points that *text* names together with the unit that *value* tells, and that are read in it: "igniter" with "61 ohm" is "igniter ohms".

    *unit_of*: of each point.
    """
    named = {unit: f"{text} {UNITS[unit].in_words}" for unit in dict.fromkeys(unit_of.values()) if UNITS[unit].in_words and names_unit(value, unit)}
    points = (p for unit, name in named.items() for p in names.clear(name) or names.in_any_order(name) if unit_of[p] == unit)
    return list(dict.fromkeys(points))
