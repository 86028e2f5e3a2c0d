"""One typed line, understood: the record that it is, or the several that it could be."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from furnace_diag.knowledge.values import EARLIER_REPAIR

NAMED = ("point", "sign", "history", "event")


@dataclass(frozen=True)
class Typed:
    """One line, understood: the fields of a record. *guessed*: what was taken for the name, where it was not one in full.

    *calls*: in how many heat calls it was so, one after another. *as_complained*: it is told as people complain of it, its sign not named.
    *weakly*: too little of the line names it to be kept unasked, wherever the screen does not ask for it: "meter ok".
    *mended*: it was read with slips of the keys mended, and may be another word.
    """

    record: Mapping[str, object]
    guessed: str = ""
    calls: int = 1
    as_complained: bool = False
    weakly: bool = False
    mended: bool = False


@dataclass(frozen=True)
class Unclear:
    """One line that could mean several things, each with the record that it then is."""

    choices: tuple[Typed, ...] = ()
    texts: tuple[str, ...] = field(default=())


def one_of(*typed: Typed) -> Unclear:
    """A line that could be any of these."""
    return Unclear(typed, tuple(map(as_choice, typed)))


def as_choice(typed: Typed) -> str:
    """A record as a line of a list to choose from."""
    step = f" at {typed.record['step']}" if "step" in typed.record else ""
    if "history" in typed.record:
        return f"{EARLIER_REPAIR}{typed.record['history']}: {typed.record['value']}"
    return f"{name_of(typed)}: {typed.record['value']}{step}"


def named_in(typed: Typed) -> tuple[str, str]:
    """Kind and id of what a record is of."""
    return next((kind, str(typed.record[kind])) for kind in NAMED if kind in typed.record)


def name_of(typed: Typed) -> str:
    """The id of what a record is of."""
    return named_in(typed)[1]
