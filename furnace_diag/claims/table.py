"""A table from strangers, a row at a time: whatever its encoding, with the place of every cell, and in little memory.

The csv module tells no columns, swallows the rest of a file behind one stray quote, and reads lines of any length, so
the cells are cut here; tests/claims/test_table.py holds the two together where a file is in order.
"""

from __future__ import annotations

import codecs
import io
import re
import stat
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

from furnace_diag.problems import BadInput, Place, Problem

LONGEST_LINE = 65_536  # [characters]
MOST_LINES_OF_A_ROW = 20  # that a quoted cell may run over
DELIMITERS = ",;\t"
BLOCK = 1 << 20
CONTROLS = frozenset(range(32)) - {*b"\t\n\r\f\v\x1a\x1b\x07\x08"}  # bytes that no text has; those left out some terminals and old programs leave in it
QUOTED = re.compile(r'"((?:[^"]|"")*+)"')


class Cell(NamedTuple):
    """What stands in a cell, and where; line and column start at 1."""

    text: str
    line: int
    column: int


class Line(NamedTuple):
    """A line without its end; None where it is too long to be read."""

    number: int
    text: str | None


@dataclass(frozen=True)
class TextFile:
    """A file and how its bytes are read; *note* says what was taken for granted."""

    path: Path
    encoding: str
    note: str = ""

    def lines(self) -> Iterator[Line]:
        """Every line, one at a time."""
        with io.TextIOWrapper(self.path.open("rb"), encoding=self.encoding, errors="replace") as stream:
            number = 0
            while text := stream.readline(LONGEST_LINE + 1):
                number += 1
                if len(text) > LONGEST_LINE and not text.endswith("\n"):
                    while (more := stream.readline(LONGEST_LINE)) and not more.endswith("\n"):
                        pass
                    yield Line(number, None)
                else:
                    yield Line(number, text.removesuffix("\n"))


def text_file(path: Path) -> TextFile:
    """Find out how a file's bytes are to be read. Raises BadInput for what cannot be opened or is no text."""
    place = Place(str(path), 1, 1)
    try:
        if not stat.S_ISREG(path.stat().st_mode):  # opening a pipe would wait for ever
            raise BadInput([Problem(place, "This is not an ordinary file.", "Name a file of claims.")])
        with path.open("rb") as stream:
            first = stream.read(BLOCK)
            if first.startswith(codecs.BOM_UTF8):
                return TextFile(path, "utf-8-sig")
            if first.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
                return TextFile(path, "utf-16")
            if CONTROLS & {*first[:4096]}:
                raise BadInput([Problem(place, "This is not plain text.", "Save it as CSV in UTF-8.")])
            if _is_utf8(first, stream):
                return TextFile(path, "utf-8")
    except BadInput:
        raise
    except FileNotFoundError:
        raise BadInput([Problem(place, "There is no such file.", "Check the name.")]) from None
    except (OSError, ValueError):
        raise BadInput([Problem(place, "This file cannot be opened.", "Check its name and its permissions.")]) from None
    return TextFile(path, "cp1252", "The file is not in UTF-8; it was read as Windows Latin (cp1252). Look at letters with accents and at signs such as µ.")


def _is_utf8(first: bytes, rest: io.BufferedReader) -> bool:
    decoder, block = codecs.getincrementaldecoder("utf-8")(), first
    try:
        while block:
            decoder.decode(block)
            block = rest.read(BLOCK)
        decoder.decode(b"", final=True)
    except UnicodeDecodeError:
        return False
    return True


def delimiter_of(heading: str) -> str:
    """What parts the cells, by the line of headings: of comma, semicolon and tab that which it has most of."""
    return max(DELIMITERS, key=heading.count)


def rows(file: TextFile, empty: list[int] | None = None) -> Iterator[list[Cell] | Problem]:
    """Every row that is not empty, as its cells, the headings first; a Problem in the place of a row that cannot be read.

    *empty*: gets the lines of rows that have separators and nothing else.
    Lines above the headings that start with # are remarks.
    """
    lines, waiting, delimiter = file.lines(), list[Line](), ""
    while (line := waiting.pop(0) if waiting else next(lines, None)) is not None:
        if line.text is None:
            yield Problem(Place(str(file.path), line.number, 1), f"This line is longer than {LONGEST_LINE:,} characters.", "It was left out: shorten it.")
            continue
        if not delimiter and (not line.text.strip() or line.text.lstrip().startswith("#")):
            continue
        delimiter = delimiter or delimiter_of(line.text)
        cells, more = _cells(line.text, line.number, delimiter), list[Line]()
        while cells is None and len(more) < MOST_LINES_OF_A_ROW:
            following = waiting.pop(0) if waiting else next(lines, None)
            if following is None:
                break
            more.append(following)
            if following.text is None or len(line.text) + sum(len(m.text or "") for m in more) > LONGEST_LINE:
                break
            cells = _cells("\n".join([line.text, *(m.text or "" for m in more)]), line.number, delimiter)
        if cells is None:
            waiting = [*more, *waiting]
            column = line.text.rfind(f'{delimiter}"') + 2 if f'{delimiter}"' in line.text else 1
            yield Problem(Place(str(file.path), line.number, column), "A quote opened here is never closed.", "The row was left out: close the quote.")
        elif any(c.text.strip() for c in cells):
            yield cells
        elif empty is not None and line.text.strip():
            empty.append(line.number)


def _cells(text: str, line: int, delimiter: str) -> list[Cell] | None:
    """The cells of one row, which may run over lines; None where a quote is left open."""
    if '"' not in text:
        return _plain_cells(text, line, delimiter)
    found, at = list[Cell](), 0
    while True:
        quoted = QUOTED.match(text, at) if text.startswith('"', at) else None
        if quoted is None and text.startswith('"', at):
            return None
        if quoted is not None and (quoted.end() == len(text) or text[quoted.end()] == delimiter):
            end, said = quoted.end(), quoted[1].replace('""', '"')
        else:
            end = text.find(delimiter, at)
            end = len(text) if end < 0 else end
            said = text[at:end]
        before = text.rfind("\n", 0, at) + 1
        found.append(Cell(said, line + text.count("\n", 0, at), at - before + 1))
        if end >= len(text):
            return found
        at = end + 1


def _plain_cells(text: str, line: int, delimiter: str) -> list[Cell]:
    """The cells of a row without a quote; such a row is one line, for only a quote makes it run on."""
    found, column = list[Cell](), 1
    for said in text.split(delimiter):
        found.append(tuple.__new__(Cell, (said, line, column)))  # as Cell(...) makes it, in half the time
        column += len(said) + 1
    return found
