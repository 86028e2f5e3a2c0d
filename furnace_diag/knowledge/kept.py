"""Checked rules kept as JSON, so that a start needs neither YAML nor the validator: under the hash of every rule file.

The first line is a seal, the hash of the file's name and of all that follows: what is damaged or foreign is made anew. Even with its seal whole it
gives nothing but the models, each by its name and with its own fields.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any

from furnace_diag.knowledge.load import load_rules, own_rules, rule_files, version_of
from furnace_diag.knowledge.model_base import Model
from furnace_diag.knowledge.models import Knowledge

FORMAT = 4
KEPT = 3  # sets of rules, so that shops' own folders do not push out one another's
KIND = ""  # the key under which an object's model stands; no field and no id is empty
LIST, BLOCK = "list", "block"  # the kind of a list, for a bare one is a tuple; and of a block of names with an empty one among them


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
    try:
        made = json.loads(text, object_hook=_reader())
    except (TypeError, KeyError, AttributeError, RecursionError):
        raise ValueError("of another shape") from None
    if not isinstance(made, Knowledge):
        raise ValueError("no rules")
    return made


def _reader() -> Callable[[dict[str, Any]], Any]:
    """What makes a model of each object in the text that was one; lists and tuples are told apart by the model that they stand in."""
    models = {model.__name__: model for model in _below(Model)}

    def read(fields: dict[str, Any]) -> Any:
        kind = fields.get(KIND, LIST)
        if kind in (LIST, BLOCK):
            return fields
        del fields[KIND]
        return models[kind].model_of(_read_block(fields))

    return read


def _read_block(fields: dict[str, Any]) -> dict[str, Any]:
    for name, value in fields.items():
        if type(value) is list or type(value) is dict:
            fields[name] = _read_value(value)
    return fields


def _read_value(value: Any) -> Any:
    """Nearly all is text, which never comes here: this is most of the time that reading takes."""
    if type(value) is list:
        return tuple([_read_value(each) if type(each) is list or type(each) is dict else each for each in value])
    if KIND not in value:
        return _read_block(value)
    held = _read_value(value["of"])
    return list(held) if value[KIND] == LIST else dict(held)


def _below(model: type[Model]) -> Iterator[type[Model]]:
    for each in model.__subclasses__():
        if each.__module__.startswith(f"{__package__}."):
            yield each
            yield from _below(each)


def _written(value: Any) -> Any:
    """*value* as `_reader` makes it again."""
    if isinstance(value, Model):
        return {KIND: type(value).__name__} | {name: _written(vars(value)[name]) for name in value.model_fields if name in vars(value)}
    if isinstance(value, dict):
        block = {name: _written(each) for name, each in value.items()}
        return block if KIND not in block else {KIND: BLOCK, "of": tuple(block.items())}
    if isinstance(value, list):
        return {KIND: LIST, "of": tuple(_written(each) for each in value)}
    return tuple(_written(each) for each in value) if isinstance(value, tuple) else value


def _keep(knowledge: Knowledge, path: Path) -> None:
    import tempfile  # only needed to write

    path.parent.mkdir(parents=True, exist_ok=True)
    text = json.dumps(_written(knowledge), ensure_ascii=False, separators=(",", ":")).encode()
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
