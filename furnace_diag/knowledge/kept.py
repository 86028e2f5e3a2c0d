"""Checked rules kept as JSON, so that a start need not read YAML: under the hash of every rule file."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path

from pydantic import ValidationError

from furnace_diag.knowledge.load import load_rules, own_rules, rule_files, version_of
from furnace_diag.knowledge.models import Knowledge

FORMAT = 2


def kept_rules(folder: Path, folders: Iterable[Path] = ()) -> Knowledge:
    """Knowledge of the program's rules and those of *folders*, from *folder* if kept there and nothing changed since.

    Raises BadInput with every problem of every file.
    """
    more = tuple(folders)
    models = Path(__file__).with_name("models.py")
    paths = rule_files([own_rules(), *more])
    path = folder / f"rules-{FORMAT}-{version_of([models, *paths])}.json"
    with suppress(OSError, ValidationError, ValueError):
        return Knowledge.model_validate_json(path.read_bytes())
    knowledge = load_rules(more)
    with suppress(OSError):
        _keep(knowledge, path)
    return knowledge


def _keep(knowledge: Knowledge, path: Path) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(dir=path.parent, suffix=".part")
    with os.fdopen(handle, "w", encoding="utf-8") as out:
        out.write(knowledge.model_dump_json(by_alias=True))
    os.replace(name, path)
    for old in path.parent.glob("rules-*.json"):
        if old != path:
            old.unlink(missing_ok=True)
