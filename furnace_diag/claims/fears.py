"""Dangers that the text of a claim speaks of and no record tells: nobody is to light a furnace for a letter."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable
from dataclasses import dataclass

from furnace_diag.knowledge.find import plain
from furnace_diag.knowledge.models import Knowledge

ARTICLES = ("the", "a", "an", "its", "your")


@dataclass(frozen=True)
class _Fear:
    """One sign of a hazard: how a text names it without a "no" before it, what to do, and the signs that are looked at for it."""

    sign: str
    named: re.Pattern[str]
    says: str
    seen: frozenset[str]


class Fears:
    """What a text is searched for, by the hazards of the rules; make it once."""

    def __init__(self, knowledge: Knowledge) -> None:
        asked = {q.sign for q in knowledge.question.values() if q.group == "safety"}
        self._fears: list[list[_Fear]] = []  # of each hazard, the gravest first
        for hazard in sorted(knowledge.hazard.values(), key=lambda h: h.rank):
            kinds = {name for way in hazard.when for w in way for name in w.names}
            signs = {name for kind, name in kinds if kind == "sign"}
            if signs.isdisjoint(asked):
                continue
            seen = signs if all(kind == "sign" for kind, _ in kinds) else signs & asked  # beside a reading stand signs of everyday checks
            do = f"If it is so: {hazard.now} Whom to call: {hazard.call[0].lower()}{hazard.call[1:]}"
            self._fears.append([_fear(knowledge, name, do, frozenset(seen)) for name in sorted(seen)])

    def spoken_of(self, texts: Iterable[str], told: Collection[str]) -> tuple[str, ...]:
        """The dangers that *texts* name, each with what to do. *told*: the signs that records tell of."""
        text, known, found = plain(" . ".join(texts)), {*told}, list[str]()
        for fears in self._fears if text else ():
            named = next((fear for fear in fears if fear.sign not in known and fear.named.search(text)), None)
            if named is not None:
                known |= named.seen
                found.append(named.says)
        return tuple(found)


def _fear(knowledge: Knowledge, name: str, do: str, seen: frozenset[str]) -> _Fear:
    sign = knowledge.sign[name]
    others = [plain(n) for other in knowledge.sign.values() if other.sign not in seen for n in (other.sign, *other.also_called)]
    names = "|".join(re.escape(called) + _and_no_more(called, others) for n in (name, *sign.also_called) if (called := plain(n)))
    says = f"The text of the claim speaks of this: {sign.says[0].lower()}{sign.says[1:]}. {do}"
    return _Fear(name, re.compile(rf"(?<!\bno )(?<!\bnot )\b(?:{names})\b"), says, seen)


def _and_no_more(name: str, others: Iterable[str]) -> str:
    """What must not follow *name*, or it is the name of another thing: "water" is none of a danger in "water in the hose"."""
    rests = [[w for w in other.removeprefix(name).split() if w not in ARTICLES] for other in others if other.startswith(f"{name} ")]
    articles = "|".join(ARTICLES)
    ways = "|".join("".join(rf" (?:(?:{articles}) )?{re.escape(w)}" for w in rest) for rest in rests if rest)
    return rf"(?!(?:{ways})\b)" if ways else ""
