"""Rule files -> Knowledge. All problems of all files in one go, each with its place."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from pathlib import Path
from typing import cast

from furnace_diag.knowledge.model_base import Placed
from furnace_diag.knowledge.models import ENTRY_TYPES, Knowledge
from furnace_diag.knowledge.yaml_text import Document, read_yaml
from furnace_diag.problems import BadInput, Place, Problem, printable

MOST_FILES = 500


def own_rules() -> Path:
    """The rules that travel with the program: inside the wheel, or at the top of the repository."""
    package = Path(__file__).resolve().parents[1]
    packed = package / "rules"
    return packed if packed.is_dir() else package.parent / "rules"


def rule_files(folders: Iterable[Path]) -> list[Path]:
    """Every YAML file of *folders*, in a fixed order. Raises BadInput for a folder that is missing or has none."""
    found: list[Path] = []
    for folder in folders:
        if not folder.is_dir():
            fix = "Give a folder of rule files."
            raise BadInput([Problem(Place(str(folder), 1, 1), f"There is no folder {printable(str(folder))}.", fix)])
        here = sorted(p for p in folder.rglob("*.yaml") if p.is_file())
        if not here:
            raise BadInput([Problem(Place(str(folder), 1, 1), "There are no .yaml files here.", "Give a folder of rule files.")])
        found += here
    if len(found) > MOST_FILES:
        raise BadInput([Problem(Place(str(folder), 1, 1), f"{len(found)} rule files are too many.", f"Keep to {MOST_FILES}.")])
    return found


def version_of(paths: Iterable[Path]) -> str:
    """A short hash of every rule file: it changes with any of them."""
    digest = hashlib.sha256()
    for path in paths:
        digest.update(path.name.encode() + b"\0" + path.read_bytes() + b"\0")
    return digest.hexdigest()[:16]


def read_rules(folders: Iterable[Path] | None = None) -> tuple[Knowledge | None, list[Problem]]:
    """Knowledge of the program's own rules and those of *folders*, with what is wrong in them.

    Knowledge is None where anything is wrong. Never raises for what a file holds.
    """
    from furnace_diag.knowledge.cross import cross_check  # not needed where the rules are kept checked

    try:
        paths = rule_files([own_rules(), *(folders or [])])
    except BadInput as bad:
        return None, list(bad.problems)
    problems: list[Problem] = []
    entries: list[tuple[str, Placed, Place]] = []
    for path in paths:
        _read_file(path, entries, problems)
    tables = _by_id(entries, problems)
    if problems:
        return None, sorted(problems, key=_by_place)
    knowledge = Knowledge.model_construct(version=version_of(paths), **cast(dict[str, object], tables))
    problems = sorted(cross_check(knowledge), key=_by_place)
    return (None if problems else knowledge), problems


def load_rules(folders: Iterable[Path] | None = None) -> Knowledge:
    """Knowledge of the rules. Raises BadInput with every problem of every file."""
    knowledge, problems = read_rules(folders)
    if knowledge is None:
        raise BadInput(problems)
    return knowledge


def _by_place(problem: Problem) -> tuple[str, int, int]:
    place = problem.place
    return (place.file, place.line, place.column) if place else ("", 0, 0)


def shown(path: Path) -> str:
    """A rule file's name as people are shown it: from the folder `rules` on."""
    parts = path.parts
    return "/".join(parts[len(parts) - 1 - parts[::-1].index("rules") :]) if "rules" in parts else str(path)


def _read_file(path: Path, entries: list[tuple[str, Placed, Place]], problems: list[Problem]) -> None:
    try:
        document = read_yaml(path, shown_as=shown(path))
    except BadInput as bad:
        problems += bad.problems
        return
    many = document.value if isinstance(document.value, list) else [document.value]
    for i, _ in enumerate(many):
        at = (i,) if isinstance(document.value, list) else ()
        _read_entry(document, at, entries, problems)


def _read_entry(document: Document, at: tuple[int, ...], entries: list[tuple[str, Placed, Place]], problems: list[Problem]) -> None:
    from furnace_diag.knowledge.checked import validate  # imports the validator, which takes long; not needed where the rules are kept checked

    value = document.value[at[0]] if at else document.value  # type: ignore[index]
    place = document.place_of(at)
    kind = next(iter(value), "") if isinstance(value, dict) else ""
    if kind not in ENTRY_TYPES:
        known = ", ".join(ENTRY_TYPES)
        problems.append(Problem(place, f"An entry starts with what it is, not with {printable(str(kind)) or 'nothing'}.", f"Start it with one of: {known}."))
        return
    entry, wrong = validate(ENTRY_TYPES[kind], document, at)
    problems += wrong
    if entry is not None:
        entries.append((kind, entry.model_copy(update={"at": f"{place.file}:{place.line}"}), place))


def _by_id(entries: list[tuple[str, Placed, Place]], problems: list[Problem]) -> dict[str, dict[str, Placed]]:
    tables: dict[str, dict[str, Placed]] = {kind: {} for kind in ENTRY_TYPES if kind != "experiment"}
    for kind, entry, place in entries:
        kind = "sign" if kind == "experiment" else kind
        name = str(getattr(entry, kind))
        if name in tables[kind]:
            first = tables[kind][name].at
            problems.append(Problem(place, f"{kind} {name} is there already, at {first}.", "Give it another id, or take one out."))
        tables[kind][name] = entry
    return tables
