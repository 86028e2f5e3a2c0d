"""Kept rules: the same as those read from YAML; what is damaged or foreign is read anew."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from furnace_diag.knowledge import kept
from furnace_diag.knowledge.models import Knowledge


@pytest.fixture
def place(knowledge: Knowledge, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The file in which rules were kept; from here on YAML reads as the same rules with another version."""
    monkeypatch.setattr(kept, "load_rules", lambda more: knowledge)
    kept.kept_rules(tmp_path)
    monkeypatch.setattr(kept, "load_rules", lambda more: knowledge.model_copy(update={"version": "read anew"}))
    (found,) = tmp_path.iterdir()
    return found


def test_what_is_kept_comes_back(knowledge: Knowledge, place: Path) -> None:
    assert kept.kept_rules(place.parent) == knowledge


def test_numbers_come_back_as_they_were_written(knowledge: Knowledge, place: Path) -> None:
    """2 equals 2.0, but not on a page of JSON: `rank --json` must not depend on whether the rules were kept."""
    same = repr(kept.kept_rules(place.parent)) == repr(knowledge)

    assert same


def one_figure_changed(text: bytes) -> bytes:
    """Still what the models allow: no validation would notice."""
    assert text.count(b'"share":1') > 0
    return text.replace(b'"share":1', b'"share":2', 1)


DAMAGE = {"one figure changed": one_figure_changed, "cut short": lambda t: t[: len(t) // 2], "empty": lambda t: b"", "no seal": lambda t: t.partition(b"\n")[2]}


@pytest.mark.parametrize("damage", DAMAGE.values(), ids=DAMAGE)
def test_what_is_damaged_is_read_anew(place: Path, damage: Callable[[bytes], bytes]) -> None:
    place.write_bytes(damage(place.read_bytes()))

    assert kept.kept_rules(place.parent).version == "read anew"


def test_rules_kept_under_another_name_are_foreign(place: Path) -> None:
    other = place.with_name("rules-0-0123456789abcdef.json")
    other.write_bytes(place.read_bytes())

    with pytest.raises(ValueError, match="foreign"):
        kept._read(other)


def test_rules_with_a_whole_seal_are_still_validated(place: Path) -> None:
    text = b'{"version": "x", "part": {"a": {"part": "a"}}}'
    place.write_bytes(kept._seal(place, text) + b"\n" + text)

    assert kept.kept_rules(place.parent).version == "read anew"


SHAPES = {
    "no rules": b'{"": "Notice", "notice": "n", "group": "watch", "says": "s"}',
    "no model": b'{"version": "x"}',
    "a kind that is none": b'{"": "Nothing"}',
    "a field that is none": b'{"": "Knowledge", "version": "x", "colour": "red"}',
    "a field left out": b'{"": "Knowledge", "version": "x", "part": {"a": {"": "Part", "part": "a"}}}',
    "a kind that is no text": b'{"": ["Knowledge"], "version": "x"}',
    "no JSON": b'{"": "Knowledge"',
    "no text": b"\xff\xfe",
    "deep": b"[" * 100_000 + b"]" * 100_000,
}


@pytest.mark.parametrize("text", SHAPES.values(), ids=SHAPES)
def test_what_is_of_another_shape_is_read_anew_though_its_seal_is_whole(place: Path, text: bytes) -> None:
    place.write_bytes(kept._seal(place, text) + b"\n" + text)

    assert kept.kept_rules(place.parent).version == "read anew"


def test_lists_and_tuples_come_back_as_they_were(knowledge: Knowledge, tmp_path: Path) -> None:
    proof = next(iter(knowledge.proof.values()))
    odd = proof.model_copy(update={"holds": ({"a": ["b", ["c"], ("d",)], "e": {"f": ["g"], "": "list", "of": "h"}},)})
    path = tmp_path / "rules-4-0.json"
    rules = Knowledge(version="x", proof={proof.proof: odd})
    kept._keep(rules, path)

    assert repr(kept._read(path)) == repr(rules)
