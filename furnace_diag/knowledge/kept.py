"""Checked rules kept as JSON, so that a start need not read YAML: under the hash of every rule file.

The first line is a seal, the hash of the file's name and of all that follows: what is damaged or foreign is made anew.
Even with its seal whole, all of it goes through the models again.
"""

from __future__ import annotations

import hashlib
import os
import tempfile
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path

from furnace_diag.knowledge.load import load_rules, own_rules, rule_files, version_of
from furnace_diag.knowledge.models import Knowledge

FORMAT = 3
KEPT = 3  # sets of rules, so that shops' own folders do not push out one another's


def kept_rules(folder: Path, folders: Iterable[Path] = ()) -> Knowledge:
    """Knowledge of the program's rules and those of *folders*, from *folder* if kept there and nothing changed since.

    Raises BadInput with every problem of every file.
    """
    more = tuple(folders)
    models = sorted(Path(__file__).parent.glob("*model*.py"))
    paths = rule_files([own_rules(), *more])
    path = folder / f"rules-{FORMAT}-{version_of([*models, *paths])}.json"
    with suppress(OSError, ValueError):
        return _read(path)
    knowledge = load_rules(more)
    with suppress(OSError):
        _keep(knowledge, path)
    return knowledge


def _seal(path: Path, text: bytes) -> bytes:
    return hashlib.sha256(path.name.encode() + b"\0" + text).hexdigest().encode()


def _read(path: Path) -> Knowledge:
    """Raises ValueError for what is damaged or foreign."""
    seal, _, text = path.read_bytes().partition(b"\n")
    if seal != _seal(path, text):
        raise ValueError("a damaged or foreign file")
    return Knowledge.model_validate_json(text)


def _keep(knowledge: Knowledge, path: Path) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    text = knowledge.model_dump_json(by_alias=True, exclude_defaults=True).encode()
    handle, name = tempfile.mkstemp(dir=path.parent, suffix=".part")
    try:
        with os.fdopen(handle, "wb") as out:
            out.write(_seal(path, text) + b"\n" + text)
        os.replace(name, path)
    finally:
        Path(name).unlink(missing_ok=True)
    others = sorted((p for p in path.parent.glob("rules-*.json") if p != path), key=lambda p: p.stat().st_mtime, reverse=True)
    for old in others[KEPT - 1 :]:
        old.unlink(missing_ok=True)
