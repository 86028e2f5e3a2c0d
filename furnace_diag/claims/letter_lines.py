"""A piece in the form in which a letter asks, with what it calls a thing and the id behind that in brackets."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property

from furnace_diag.claims.letter_words import Asked, answered, in_brackets, names_told
from furnace_diag.claims.our_words import in_our_words
from furnace_diag.claims.plain_pieces import PlainPieces
from furnace_diag.claims.typed_pieces import Fields
from furnace_diag.knowledge.spelling import DENIALS, DENIED, plain

TWO_THINGS = {"and", "then", "but"}  # between two things that are told


class LetterLines:
    """Knows the names that a letter asks by."""

    def __init__(self, plain_pieces: PlainPieces) -> None:
        self._plain = plain_pieces

    def is_of_letter(self, text: str) -> bool:
        """Whether a piece begins with what a letter calls a thing, its id in brackets behind it: its clauses tell nothing by themselves then."""
        ids = self._plain.typed.ids
        return any(asked.called and self.told.get(plain(asked.called)) == ids.get(plain(asked.in_brackets), "") for asked in in_brackets(text))

    def name_in_brackets(self, text: str) -> tuple[str, str] | None:
        """The id of a point or sign that stands in brackets behind its own text, and what follows it; an empty id where both together are a name, or the
        text is of something else. None where nothing in brackets is a name: it may be a value."""
        for asked in in_brackets(text):
            name = self._plain.typed.ids.get(plain(asked.in_brackets))
            if name is not None:
                return (name, asked.rest) if self._calls(asked, name) else ("", "")
            if any(self._plain.typed.vocabulary.names(kind).clear(f"{asked.called} {asked.in_brackets}") for kind in ("point", "sign")):
                return f"{asked.called} {asked.in_brackets}", asked.rest
        return None

    def _calls(self, asked: Asked, name: str) -> bool:
        """Whether what stands before the brackets may be called so: by a letter, or as one thing that shares words with that name."""
        if self.told.get(plain(asked.called)) == name or not asked.called:
            return True
        kind = "point" if name in self._plain.typed.vocabulary.knowledge.point else "sign"
        names, words = self._plain.typed.vocabulary.names(kind), {*plain(asked.called).split()}
        alone = "," not in asked.called and words.isdisjoint(DENIALS | DENIED | TWO_THINGS)
        return alone and name in (*names.meant(asked.called), *names.suggested(asked.called))

    def of_that_name(self, name: str, rest: str) -> list[Fields]:
        """What is told of *name* by what follows it, and of nothing else; empty where nothing is."""
        line = in_our_words(answered(name, in_our_words(rest)))
        found, told = self._plain.said(line) if name and line else [], f" {plain(line.removeprefix(name))} "
        is_of_it = all(f["name"] == name or name not in self._plain.typed.ids.values() for f in found)
        return found if is_of_it and all(f" {plain(f['value'])} " in told for f in found) else []

    @cached_property
    def told(self) -> Mapping[str, str]:
        return names_told(self._plain.typed.vocabulary.knowledge)
