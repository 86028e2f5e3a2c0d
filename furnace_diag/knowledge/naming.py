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


def each_way(phrase: str) -> list[str]:
    """Every phrase that one with alternatives stands for: in "burners|flame stay |still lit" a bar parts what may stand in one place, nothing among it.

    The words of one alternative are joined by "_". A phrase without a bar stands for itself.
    """
    if "|" not in phrase:
        return [phrase]
    ways = product(*(word.split("|") for word in phrase.split()))
    return list(dict.fromkeys(" ".join(" ".join(way).replace("_", " ").split()) for way in ways))
