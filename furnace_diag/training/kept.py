"""A drill on disk: JSON Lines, one act a line after a first line that says which lesson. Each line is on the disk before the next prompt."""

from __future__ import annotations

import json
import os
from collections.abc import Iterator
from pathlib import Path
from typing import IO

from pydantic import Field, ValidationError

from furnace_diag.knowledge.model_base import Model
from furnace_diag.problems import BadInput, Place, Problem, printable
from furnace_diag.training.drill import MOST_ACTS, Act
from furnace_diag.training.lesson import Lesson

FORMAT = 1
MOST_BYTES = 2_000_000


class Head(Model):
    """The first line: which lesson, by the hash of its text, and under which rules."""

    drill: int = Field(ge=1)
    lesson: str = Field(max_length=200)
    seal: str = Field(max_length=64)
    rules: str = Field(max_length=64)


def acts_in(path: Path, lesson: Lesson) -> list[Act]:
    """The acts of a drill that was left. Raises BadInput where the file is of another lesson, or no such file.

    A last line that was cut off while it was written is left out.
    """
    lines = _lines(path)
    head, *rest = lines or [""]
    try:
        first = Head.model_validate_json(head)
    except ValidationError:
        raise BadInput([Problem(Place(str(path), 1, 1), "This is not the record of a drill.", "Name another file with --record.")]) from None
    if first.drill != FORMAT:
        raise BadInput([Problem(Place(str(path), 1, 1), "This drill was kept by another version.", "Begin anew with another --record.")])
    if first.seal != lesson.seal:
        message = f"This is the record of another lesson, or {printable(lesson.name)} was changed since."
        raise BadInput([Problem(Place(str(path), 1, 1), message, "Begin anew with another --record.")])
    return list(_acts(rest, path))


def _lines(path: Path) -> list[str]:
    try:
        with path.open("rb") as stream:
            data = stream.read(MOST_BYTES + 1)
    except OSError:
        raise BadInput([Problem(Place(str(path), 1, 1), "This file cannot be read.", "Name another file with --record.")]) from None
    if len(data) > MOST_BYTES:
        raise BadInput([Problem(Place(str(path), 1, 1), "This file is too large for a drill.", "Name another file with --record.")])
    whole, _, _torn = data.rpartition(b"\n")
    return whole.decode("utf-8", "replace").split("\n") if whole else []


def _acts(lines: list[str], path: Path) -> Iterator[Act]:
    for number, line in enumerate(lines[:MOST_ACTS], 2):
        try:
            yield Act.model_validate_json(line)
        except ValidationError:
            raise BadInput([Problem(Place(str(path), number, 1), "This line is no act of a drill.", "Take the line out, or begin anew.")]) from None


class Keeper:
    """Appends acts to a drill's file; each is on the disk when `keep` returns."""

    def __init__(self, path: Path, lesson: Lesson, rules: str) -> None:
        fresh = not path.exists() or path.stat().st_size == 0
        self._stream: IO[bytes] = path.open("ab")
        if fresh:
            self._write(Head(drill=FORMAT, lesson=lesson.name, seal=lesson.seal, rules=rules).model_dump())
        else:
            self._mend(path)

    def _mend(self, path: Path) -> None:
        """Cut off a last line that was not written whole."""
        data = path.read_bytes()
        if not data.endswith(b"\n"):
            self._stream.truncate(data.rfind(b"\n") + 1)

    def keep(self, act: Act) -> None:
        """Append one act."""
        self._write(act.model_dump(exclude_defaults=True))

    def _write(self, value: object) -> None:
        self._stream.write(json.dumps(value, ensure_ascii=True, allow_nan=False).encode() + b"\n")
        self._stream.flush()
        os.fsync(self._stream.fileno())

    def close(self) -> None:
        """Let go of the file."""
        self._stream.close()
