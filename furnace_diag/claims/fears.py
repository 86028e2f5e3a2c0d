"""Dangers that the text of a claim speaks of and no record tells: nobody is to light a furnace for a letter."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from furnace_diag.diagnosis.complaint import Complaints
from furnace_diag.knowledge.danger_words import NONE_AFTER, UNDENIED, DangerWords, goes_on, in_sentences, is_denied
from furnace_diag.knowledge.finding_models import Hazard, Wanted
from furnace_diag.knowledge.models import Knowledge, Sign
from furnace_diag.knowledge.slips import slips_of
from furnace_diag.knowledge.spelling import plain

IF_SO = " If it is so: "  # between what is feared and what to do
LITTLE = ("the", "a", "an", "its", "your", "is", "was", "are", "were", "got", "gets", "some", "all")
MAY_STAND = f"(?:(?:{'|'.join(LITTLE)}) )*"  # in a name, where they may be left out as well


@dataclass(frozen=True)
class _Fear:
    """One sign of a hazard: how a text names it, what to do, and the signs that are looked at for it.

    *others*: what follows a name where both together name another thing; *before*: what goes before it there. *words*: how else the danger is told.
    """

    sign: str
    named: re.Pattern[str]
    others: Mapping[str, re.Pattern[str]]
    before: Mapping[str, tuple[str, ...]]
    words: re.Pattern[str] | None
    says: str
    seen: frozenset[str]

    def is_in(self, text: str) -> bool:
        """Whether *text*, as `in_sentences` makes it, speaks of it."""
        return any(not (is_denied(text, m.start()) or self._ends_other(m, text) or self._is_other(m, text)) for m in self.named.finditer(text))

    def _ends_other(self, name: re.Match[str], text: str) -> bool:
        """Whether a name is only the end of another thing's: "co detector" is no detector of another gas."""
        return f" {text[: name.start()]}".endswith(self.before[name.lastgroup or ""])

    def _is_other(self, name: re.Match[str], text: str) -> bool:
        """Whether a name is only the beginning of another thing's, and the sentence does not go on to where that could be a danger all the same."""
        other = self.others[name.lastgroup or ""].match(text, name.end())
        if other is None:
            return False
        rest = text[other.end() : _end(text, other.end())]
        return not (goes_on(rest) or (self.words is not None and self.words.search(rest)))


def dangers_of(result: Mapping[str, Any]) -> list[str]:
    """The dangers of a result in a sentence each, without what to do: those its records tell, and those its text speaks of."""
    return [h["says"] for h in result["hazards"]] + [text.partition(IF_SO)[0] for text in result.get("feared", ())]


class Fears:
    """What a text is searched for, by the hazards of the rules; make it once."""

    def __init__(self, knowledge: Knowledge) -> None:
        words = next(iter(knowledge.words.values()))
        slips = slips_of(words, knowledge.sign.values())
        self._words = DangerWords(words, slips)
        self._complaints = Complaints(knowledge.sign, knowledge.hazard.values(), short_words=words.short_words, slips=slips)
        self._of_sign = {w.sign: h for h in sorted(knowledge.hazard.values(), key=lambda h: -h.rank) for way in h.when for w in way if w.sign}
        self._signs = knowledge.sign
        asked = {q.sign for q in knowledge.question.values() if q.group == "safety"}
        self._fears: list[list[_Fear]] = []  # of each hazard, the gravest first
        for hazard in sorted(knowledge.hazard.values(), key=lambda h: h.rank):
            kinds = {name for way in hazard.when for w in way for name in w.names}
            signs = {name for kind, name in kinds if kind == "sign"}
            if signs.isdisjoint(asked):
                continue
            seen = signs if all(kind == "sign" for kind, _ in kinds) else signs & asked  # beside a reading stand signs of everyday checks
            do = _what_to_do(hazard)
            wanted = [w for way in hazard.when for w in way]
            self._fears.append([_fear(knowledge, name, wanted, do, frozenset(seen)) for name in sorted(seen)])

    def spoken_of(self, texts: Iterable[str], told: Collection[str]) -> tuple[str, ...]:
        """The dangers that *texts* name, each with what to do. *told*: the signs that records tell of."""
        texts = tuple(texts)
        text, known, found = self._words.without_harmless(in_sentences(texts), goes_on), {*told}, list[str]()
        for fears in self._fears if text else ():
            named = next((fear for fear in fears if fear.sign not in known and fear.is_in(text)), None)
            if named is not None:
                known |= named.seen
                found.append(named.says)
        return (*found, *self._in_other_words(texts, text, known, found))

    def signs_told(self, text: str) -> frozenset[str]:
        """The signs of dangers that the rules' other words tell in *text*: those of a complaint, and rows of words."""
        prepared = self._words.without_harmless(in_sentences((text,)), goes_on)
        return frozenset((*(c.sign for c in self._complaints.dangers_in(text)), *self._signs_in(prepared)))

    def _signs_in(self, text: str) -> list[str]:
        """The signs of dangers that *text*, as `in_sentences` makes it, tells of, over or not; none by a figure that is no danger."""
        return [t.sign for t in self._words.told_in(text) if t.figure is None or self._complaints.is_danger(t.sign, self._value_at(t.sign, t.figure))]

    def _value_at(self, sign: str, figure: float) -> str:
        figures = self._signs[sign].figures
        return figures.value_at(figure) if figures is not None else ""

    def _in_other_words(self, texts: Iterable[str], text: str, known: Collection[str], found: Collection[str]) -> Iterator[str]:
        """The dangers that *texts*, of which *text* is what is not harmless, tell of in the rules' other words, each hazard once.

        *known*: signs told of already; *found*: what was said of them.
        """
        complained = [c for each in texts for c in self._complaints.dangers_in(each)]
        for told in complained:  # what tells one danger tells no second
            text = text.replace(told.words, ",")
        signs = dict.fromkeys((*(c.sign for c in complained), *self._signs_in(text)))
        first = {self._of_sign[s].hazard: s for s in reversed(signs) if s not in known}
        for sign in reversed(first.values()):
            do = _what_to_do(self._of_sign[sign])
            if not any(said.endswith(f"{IF_SO}{do}") for said in found):
                yield _says(self._signs[sign], do)


def _end(text: str, start: int) -> int:
    bar = text.find("|", start)
    return len(text) if bar < 0 else bar


def _fear(knowledge: Knowledge, name: str, wanted: Iterable[Wanted], do: str, seen: frozenset[str]) -> _Fear:
    sign = knowledge.sign[name]
    other_names = [plain(n) for other in knowledge.sign.values() if other.sign not in seen for n in (other.sign, *other.also_called)]
    called = {f"n{i}": n for i, n in enumerate(sorted(map(plain, (name, *sign.also_called)), key=len, reverse=True))}
    names = "|".join(f"(?P<{group}>{_in_text(n)})" for group, n in called.items())
    values = {v for w in wanted if w.sign == name for v in w.is_ if v != "yes"}  # what else means yes says nothing of what it is
    words = [w for v in sorted(values) for w in map(plain, (v, *sign.value_words.get(v, ())))]
    says = _says(sign, do)
    others = {group: re.compile(_others(n, other_names)) for group, n in called.items()}
    kinds = tuple(f" {plain(kind)} " for kind in next(iter(knowledge.words.values())).claims.said_of_dangers.other_kinds.get(name, ()))
    before = {group: (*kinds, *(f" {o.removesuffix(n)}" for o in other_names if o.endswith(f" {n}"))) for group, n in called.items()}
    told = re.compile(rf"{UNDENIED}\b(?:{'|'.join(map(re.escape, words))})\b") if words else None
    return _Fear(name, re.compile(rf"\b(?:{names})\b{NONE_AFTER}"), others, before, told, says, seen)


def _says(sign: Sign, do: str) -> str:
    return f"The text of the claim speaks of this: {sign.danger[0].lower()}{sign.danger[1:]}.{IF_SO}{do}"


def _what_to_do(hazard: Hazard) -> str:
    return f"{hazard.now} Whom to call: {hazard.call[0].lower()}{hazard.call[1:]}"


def _in_text(name: str) -> str:
    """A pattern of *name* in a text, with or without little words in it."""
    first, *rest = name.split()
    words = [first, *(w for w in rest if w not in LITTLE)]
    return f",? {MAY_STAND}".join(map(re.escape, words))


def _others(name: str, others: Iterable[str]) -> str:
    """What makes of *name* the name of another thing by following it: "water" is none of a danger in "water in the hose". Matches nothing if nothing does."""
    rests = sorted((o.removeprefix(name) for o in others if o.startswith(f"{name} ")), key=len, reverse=True)
    return rf"(?:{'|'.join(f' {MAY_STAND}{_in_text(rest)}' for rest in rests)})\b" if rests else r"(?!)"
