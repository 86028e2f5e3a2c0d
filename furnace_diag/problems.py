"""What is wrong with something a person wrote, where it stands, and what to do about it."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from typing import NamedTuple

# Unicode categories a terminal may act on instead of showing: controls, invisible formatting (bidi overrides
# are among it), halves of surrogate pairs, and the two separators that some terminals take for a new line.
_NOT_SHOWN = frozenset({"Cc", "Cf", "Cs", "Zl", "Zp"})
_CUT = "..."


def _escaped(character: str) -> str:
    """One character as it may safely reach a terminal."""
    if unicodedata.category(character) not in _NOT_SHOWN:
        return character
    code = ord(character)
    if code <= 0xFF:
        return f"\\x{code:02x}"
    return f"\\u{code:04x}" if code <= 0xFFFF else f"\\U{code:08x}"


def printable(text: str, limit: int = 80) -> str:
    r"""*text* on one line, without anything a terminal would obey, at most *limit* [characters] long.

    A control character becomes its code (ESC is shown as ``\x1b``); what is too long ends in three dots. An
    escape is never cut in two.

    Raises ValueError when *limit* leaves no room for the three dots.
    """
    if limit < len(_CUT):
        raise ValueError(f"limit must be at least {len(_CUT)}, not {limit}")
    if len(text) <= limit and text.isprintable():
        return text
    pieces = [_escaped(character) for character in text[: limit + 1]]
    if sum(map(len, pieces)) <= limit:
        return "".join(pieces)
    while sum(map(len, pieces)) > limit - len(_CUT):
        pieces.pop()
    return "".join(pieces) + _CUT


class Place(NamedTuple):
    """A point in a file; line and column start at 1, as editors count. Places sort in reading order."""

    file: str
    line: int
    column: int

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}"


class Problem(NamedTuple):
    """One thing that is wrong: *message* says what, with the offending value; *fix* says what to do.

    *example* is lines to show below it, as a user may write them.
    """

    place: Place | None
    message: str
    fix: str
    example: tuple[str, ...] = ()

    def __str__(self) -> str:
        """All of it on one line, which no file name and no value can break or colour."""
        where = "" if self.place is None else f"{self.place}: "
        line = f"{where}{self.message} {self.fix}".rstrip()
        return "".join(_escaped(character) for character in line)


class BadInput(Exception):
    """What a person gave cannot be used; all that is wrong with it is in `problems`.

    Raises ValueError when there is no problem to tell: nobody could act on that.
    """

    problems: tuple[Problem, ...]

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(problems)
        if not self.problems:
            raise ValueError("BadInput needs at least one problem")
        super().__init__(self.problems)  # as the one argument, so that pickling gives the same error back

    def __str__(self) -> str:
        return "\n".join(str(problem) for problem in self.problems)
