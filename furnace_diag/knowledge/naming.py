"""Problems about names in rule files, told at the entry that names them."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from difflib import get_close_matches
from itertools import product

from furnace_diag.knowledge.model_base import Placed
from furnace_diag.problems import Place, Problem


def place_of(entry: Placed) -> Place | None:
    """Where an entry starts."""
    file, _, line = entry.at.rpartition(":")
    return Place(file, int(line), 1) if line.isdigit() else None


def unknown(entry: Placed, what: str, name: str, known: object) -> Problem:
    """The problem that *name* is none of *known*; the nearest name is offered."""
    names = sorted(str(k) for k in known)  # type: ignore[attr-defined]
    near = get_close_matches(name, names, 1)
    fix = f"Did you mean {near[0]}?" if near else f"Use one of: {', '.join(names[:12])}{', ...' if len(names) > 12 else ''}."
    return Problem(place_of(entry), f"There is no {what} {name}.", fix)


def unknowns(entry: Placed, what: str, names: Iterable[str | None], known: Collection[str]) -> Iterator[Problem]:
    """The same problem for each of *names* that is none of *known*; None names nothing."""
    yield from (unknown(entry, what, name, known) for name in names if name is not None and name not in known)


def each_way(phrase: str, first: str | None = None) -> list[str]:
    """Every phrase that one with alternatives stands for: in "burners|flame stay |still lit" a bar parts what may stand in one place, nothing among it.

    The words of one alternative are joined by "_". A phrase without a bar stands for itself. *first*: only those that begin with that word.
    """
    if "|" not in phrase:
        return [phrase]
    begun = ([[w for w in may_begin if first in (None, _first_of(w))], *rest] for may_begin, *rest in _beginnings(phrase))
    return list(dict.fromkeys(" ".join(" ".join(way).replace("_", " ").split()) for places in begun for way in product(*places)))


def first_words(phrase: str) -> set[str]:
    """The words that those phrases begin with: few, where there may be thousands of phrases."""
    return {_first_of(word) for may_begin, *_ in _beginnings(phrase) for word in may_begin}


def _first_of(words: str) -> str:
    return words.partition("_")[0]


def _beginnings(phrase: str) -> Iterator[list[list[str]]]:
    """The words that may stand in each place of *phrase*, once from each place that may be its first on; of one that may hold no word at all, that too."""
    places = [word.split("|") for word in phrase.split()]
    for at, words in enumerate(places):
        yield [[word for word in words if word], *places[at + 1 :]]
        if "" not in words:
            return
    yield [[""]]
