"""Which point, sign, event or repair some words of a line name, and which of the words after them are a value of it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cache, lru_cache

from furnace_diag.diagnosis.vocabulary import Vocabulary
from furnace_diag.knowledge.point_models import Trial
from furnace_diag.knowledge.spelling import DENIALS, DENIED, LINKS, plain
from furnace_diag.quantities import BadQuantity, parse_quantity, spells_unit
from furnace_diag.visit.how_taken import MOST_REMEMBERED, HowTaken
from furnace_diag.visit.typed import NAMED, Typed

MOST_OFFERED = 5
LEAST_LETTERS = 3  # that a word must have to begin one of a name's
AC, VOLTS = "ac", "V"
NO_THING = frozenset(["across", "from"])  # alone, words that begin no name: "24 across it" is of whatever was named before


class NamesAndValues:
    """Names and values in one vocabulary. A line is tried in many ways, and most of them ask the same of the same words: so answers are remembered."""

    def __init__(self, vocabulary: Vocabulary, how: HowTaken) -> None:
        self.vocabulary, self.how = vocabulary, how
        self.numbered = list(vocabulary.knowledge.point)
        self.values = vocabulary.values
        self.meant = lru_cache(MOST_REMEMBERED)(lambda sign, text: tuple(self.values(sign).meant(text)))
        self.value_names = cache(self._value_names_of)
        self.fits = lru_cache(MOST_REMEMBERED)(self._found_to_fit)
        self.exactly = lru_cache(MOST_REMEMBERED)(self._all_named)
        self._begun = lru_cache(MOST_REMEMBERED)(self._names_begun_by)
        k = vocabulary.knowledge
        self.told_in_a_word = [s for s in k.sign.values() if not s.only_for_proof and s.sign not in k.experiment]

    def with_name(self, words: list[str], end: int, names: Iterable[tuple[str, str]]) -> Iterator[Typed]:
        """The records that name *words[:end]*, for each name the longest value that fits."""
        names, rest = [*names], " ".join(words[end:])
        hows = ((split, self.how.fields_of(words[split:])) for split in range(len(words), end, -1) if names)
        cuts = [(split, " ".join(words[end:split]), how) for split, how in hows if how is not None and not _is_of_volts(words, split)]
        for kind, name in names:
            if end == len(words):
                if kind == "event":
                    yield Typed({kind: name, "value": "yes"})
                continue
            if kind == "sign" and len(self.meant(name, rest)) > 1:
                continue  # as a whole it could be several things, and is not cut
            for split, value, how in cuts:
                if self.fits(kind, name, value) and not (kind == "sign" and self.how.is_no_step(words[end:], split - end)):
                    yield Typed({kind: name, "value": value, **how})
                    break

    def beginning(self, kind: str, words: Sequence[str]) -> tuple[str, ...]:
        """The ids in whose names each of *words* begins a word, those whose id begins so first; none of words that deny."""
        return self._begun(kind, tuple(words))

    def called(self, kind: str, name: str) -> tuple[str, ...]:
        """What else a point, sign, event or repair is called."""
        return tuple(self.vocabulary.entries[kind][name])

    def of_many(self, value: str) -> bool:
        """Whether more signs have a value than would be listed to choose from: "ok" tells nothing of which is meant, "stiff" does."""
        return sum(self.fits("sign", s.sign, value) for s in self.told_in_a_word) > MOST_OFFERED

    def takes_off(self, record: Mapping[str, object]) -> bool:
        """Whether a record is of an experiment for which something is taken off or joined: who made it names that in full, and none is guessed."""
        experiment = self.vocabulary.knowledge.experiment.get(str(record.get("sign")))
        return experiment is not None and isinstance(experiment.shows, Trial) and bool(experiment.shows.all_off or experiment.shows.only_joins)

    def _found_to_fit(self, kind: str, name: str, value: str) -> bool:
        """Whether *value* can be one of that point, sign, event or repair."""
        k = self.vocabulary.knowledge
        if kind == "point":
            try:
                parse_quantity(value, k.point[name].unit)
            except BadQuantity:
                return False
            return True
        if kind == "sign":
            return len(self.meant(name, value)) == 1
        if kind == "history":
            return len(self.vocabulary.results.meant(value)) == 1
        return plain(value) == "yes"

    def _value_names_of(self, sign: str) -> list[tuple[list[str], str]]:
        """The words of all that a value of *sign* is called, and that value."""
        return [(plain(name).split(), value) for value, others in self.values(sign).others.items() for name in (value, *others)]

    def _all_named(self, text: str) -> tuple[tuple[str, str], ...]:
        """Kinds and ids that *text* names."""
        if text.startswith("#") and text[1:].isdigit():
            number = int(text[1:])
            return (("point", self.numbered[number - 1]),) if 0 < number <= len(self.numbered) else ()
        return tuple((kind, i) for kind in NAMED for i in self.vocabulary.names(kind).clear(text))

    def _names_begun_by(self, kind: str, words: tuple[str, ...]) -> tuple[str, ...]:
        if (DENIALS | DENIED) & {plain(w) for w in words} or not any(len(w) >= LEAST_LETTERS and w.lower() not in NO_THING for w in words):
            return ()
        start, names = plain(" ".join(words)), self.vocabulary.names(kind)
        little = LINKS & {w.lower() for w in words}  # "in" begins no "interlock"
        held = [i for i in names.holding(words, {}) if little <= names.words_of(i)]
        in_full = {*names.spelling(" ".join(words)).split()}
        held = [i for i in held if in_full <= names.words_of(i)] or held  # "stat cable r to c" is not of R to W, though its "cable" begins with c
        return tuple(sorted(held, key=lambda i: not plain(i).startswith(start)))


def _is_of_volts(words: Sequence[str], at: int) -> bool:
    """Whether the word at *at* tells of the volts before it that they alternate: "0.3 volts AC" is in no call for cooling."""
    return at < len(words) and words[at].lower() == AC and spells_unit(words[at - 1].lstrip("-~.0123456789"), (VOLTS,))
