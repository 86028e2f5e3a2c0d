"""Whether a file is the journal of a visit. By itself, for whoever reads a report starts without what a journal takes."""

from __future__ import annotations

import json
from pathlib import Path

MOST_LINE = 20_000  # [bytes] of one event of a journal


def is_journal(path: Path) -> bool:
    """Whether a file begins as a journal does."""
    if not path.is_file():
        return False  # a pipe would wait for somebody to write
    try:
        with path.open("rb") as file:
            first = file.readline(MOST_LINE)
        entry = json.loads(first)
    except (OSError, ValueError, RecursionError):
        return False
    return isinstance(entry, dict) and entry.get("event") == "opened" and "before" in entry
