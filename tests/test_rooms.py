"""Rooms use those above them, never those below."""

from __future__ import annotations

import ast
from pathlib import Path

PACKAGE = Path(__file__).resolve().parents[1] / "furnace_diag"
# each room may import the rooms before it, and itself
ROOMS = ["problems", "quantities", "knowledge", "furnace", "diagnosis", "visit", "training", "claims", "report", "cli", "__main__", "__init__"]


def room(path: Path) -> str:
    return path.relative_to(PACKAGE).parts[0].removesuffix(".py")


def imported(path: Path) -> set[str]:
    names = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module:
            names.add(node.module)
        elif isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
    return {n.split(".")[1] for n in names if n.startswith("furnace_diag.")}


def test_every_room_is_known_and_imports_only_upward() -> None:
    files = list(PACKAGE.rglob("*.py"))
    wrong = [(str(p), other) for p in files for other in imported(p) if ROOMS.index(other) > ROOMS.index(room(p))]

    assert {room(p) for p in files} <= set(ROOMS)
    assert wrong == []
    assert len(files) > 20
