"""What is still to be told of readings, "you gave A: say x, y", with all that is asked of one reading in one sentence."""

from __future__ import annotations

import re
from collections.abc import Iterable

from furnace_diag.diagnosis.lacking import SAY

FIGURE = re.compile(r"(?P<name>.*): (?P<figure>\d+(?:\.\d+)?)(?: ?[a-zA-Z]+)?")  # "you gave heat_terminal_to_neutral: 0.30 V"


def joined(needs: Iterable[Iterable[str]]) -> tuple[str, ...]:
    """One sentence for each reading, of what the *needs* of a proof ask of it.

    A figure that stands in a column and in the text again is one reading: of such a one each need asks what the fuller of the two leaves open.
    """
    asked: dict[tuple[str, ...], dict[str, None]] = {}
    called: dict[tuple[str, ...], str] = {}
    for texts in needs:
        least: dict[tuple[str, ...], list[str]] = {}
        for text in texts:
            gave, _, said = text.rpartition(SAY)
            more, reading = said.split(", "), _reading(gave)
            called.setdefault(reading, gave)
            if reading not in least or len(more) < len(least[reading]):
                least[reading] = more
        for reading, more in least.items():
            asked.setdefault(reading, {}).update(dict.fromkeys(more))
    return tuple(f"{called[reading]}{SAY}{', '.join(more)}" for reading, more in asked.items())


def _reading(gave: str) -> tuple[str, ...]:
    """What tells one reading from another, however its figure is spelled."""
    found = FIGURE.fullmatch(gave)
    return (found["name"], str(float(found["figure"]))) if found else (gave,)
