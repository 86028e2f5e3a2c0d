"""YAML from strangers: all text, each value with its place, nothing that could hide or blow up."""

from __future__ import annotations

import os
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from furnace_diag.knowledge import yaml_text
from furnace_diag.knowledge.yaml_text import Document, Tree, parse_yaml, read_yaml
from furnace_diag.problems import BadInput, Place

RULES = """\
- part: pressure_switch
  kind: switch
  failures:
    - {is: stuck_open, weight: 6}
    - is: stuck_closed
      weight:
"""
BOTH_PARSERS = pytest.mark.parametrize(
    "loader", [yaml.SafeLoader, getattr(yaml, "CSafeLoader", yaml.SafeLoader)]
)


def refused(text: str, **limits: int) -> list[str]:
    with pytest.raises(BadInput) as caught:
        parse_yaml(text, "f.yaml", **limits)
    return [str(problem) for problem in caught.value.problems]


def refused_file(path: Path, **limits: int) -> list[str]:
    with pytest.raises(BadInput) as caught:
        read_yaml(path, shown_as="f.yaml", **limits)
    return [str(problem) for problem in caught.value.problems]


def test_a_rule_file_becomes_mappings_lists_and_text() -> None:
    assert parse_yaml(RULES, "f.yaml").value == [
        {
            "part": "pressure_switch",
            "kind": "switch",
            "failures": [{"is": "stuck_open", "weight": "6"}, {"is": "stuck_closed", "weight": ""}],
        }
    ]


# To YAML 1.1 none of these is text (https://yaml.org/type/: bool, int, float, null, timestamp, value).
@pytest.mark.parametrize(
    "scalar", ["off", "no", "1:30", "1e-6", "0x10", "null", "~", "2024-01-31", "=", ".inf", "NO"]
)
def test_scalars_stay_the_text_they_are(scalar: str) -> None:
    assert parse_yaml(f"{scalar}: {scalar}", "f.yaml").value == {scalar: scalar}


def test_nothing_after_a_key_is_empty_text() -> None:
    assert parse_yaml("a:\nb: ''\nc: []\nd: {}\n", "f.yaml").value == {"a": "", "b": "", "c": [], "d": {}}


@BOTH_PARSERS
def test_places_are_those_an_editor_shows(loader: type, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(yaml_text, "_LOADER", loader)
    place_of = parse_yaml(RULES, "f.yaml").place_of

    assert place_of(()) == Place("f.yaml", 1, 1)
    assert place_of((0, "kind")) == Place("f.yaml", 2, 9)
    assert place_of((0, "failures")) == Place("f.yaml", 4, 5)
    assert place_of((0, "failures", 0, "weight")) == Place("f.yaml", 4, 32)
    assert place_of((0, "failures", 1)) == Place("f.yaml", 5, 7)
    assert place_of((0, "failures", 1, "weight")) == Place("f.yaml", 6, 7)  # nothing there: its key


def test_a_key_has_a_place_of_its_own() -> None:
    place_of = parse_yaml(RULES, "f.yaml").place_of

    assert place_of((0, "failures"), key=True) == Place("f.yaml", 3, 3)
    assert place_of((0, "failures", 1), key=True) == Place("f.yaml", 5, 7)


@pytest.mark.parametrize("missing", [("weight",), (7,), (-1,), ("kind", "x"), ("part", 0)])
def test_what_is_missing_has_the_place_of_its_nearest_parent(missing: tuple[str | int, ...]) -> None:
    document = parse_yaml(RULES, "f.yaml")
    parent = (0, missing[0]) if missing[0] in ("kind", "part") else (0,)

    assert document.place_of((0, *missing)) == document.place_of(parent)


@pytest.mark.parametrize("line_end", ["\n", "\r\n", "\r"])
def test_places_hold_for_all_line_ends_and_beyond_ascii(line_end: str) -> None:
    document = parse_yaml(f"a: µ{line_end}c: {{Ω: 1, b: 2}}", "f.yaml")

    assert document.place_of(("c", "b")) == Place("f.yaml", 2, 14)


def test_a_document_cannot_be_rebound() -> None:
    with pytest.raises(AttributeError):
        parse_yaml("a: b", "f.yaml").value = {}  # type: ignore[misc]  # what is tested


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("", "f.yaml:1:1: The file is empty. Write its content, or remove the file."),
        ("# only a word\n", "f.yaml:1:1: The file is empty. Write its content, or remove the file."),
        ("---\n...\n", "f.yaml:1:1: The file is empty. Write its content, or remove the file."),
        ("a: 1\nb: 2\na: 3", 'f.yaml:3:1: The key "a" is here again, after line 1. Keep one of them.'),
        ("a: {b: 1, 'b': 2}", 'f.yaml:1:11: The key "b" is here again, after line 1. Keep one of them.'),
        ("a: &x 1", "f.yaml:1:4: Anchors (&x) are not used here. Remove it."),
        ("a: *x", "f.yaml:1:4: Aliases (*name) are not used here. Write the value out, or put it in quotes."),
        (
            "a: !!python/name:os.system x",
            "f.yaml:1:4: Tags (tag:yaml.org,2002:python/name:os.system) are not used here.",
        ),
        ("a: !own {b: 1}", "f.yaml:1:4: Tags (!own) are not used here. Remove it: all is text."),
        ("a: !!str 1", "f.yaml:1:4: Tags (tag:yaml.org,2002:str) are not used here. Remove it: all is text."),
        ("a: {<<: {b: 1}}", "f.yaml:1:5: Merge keys (<<) are not used here. Write the entries out."),
        (
            "? [a]\n: b",
            "f.yaml:1:3: A key must be plain text, not a list or a block. Put text before the colon;",
        ),
        (
            "? {a: b}\n: b",
            "f.yaml:1:3: A key must be plain text, not a list or a block. Put text before the colon;",
        ),
        ("a: 1\n'': 2", 'f.yaml:2:1: A key is missing before the colon. Write "key: value".'),
        (
            "a: 1\n---\nb: 2",
            "f.yaml:2:1: A second document starts here. Keep one document in a file: remove the ---.",
        ),
        ("a: 1\nb: x\x1by", r"f.yaml:2:5: The file has the character \x1b, which cannot be seen."),
        ("a: \x00", r"f.yaml:1:4: The file has the character \x00, which cannot be seen."),
        ("a: x\x85b: y", r"f.yaml:1:5: The file has the character \x85, which cannot be seen."),
        ("a: \u202ex", r"f.yaml:1:4: The file has the character \u202e, which cannot be seen."),
        ("a: \ufeffx", r"f.yaml:1:4: The file has the character \ufeff, which cannot be seen."),
        ("a: \ud800", r"f.yaml:1:4: The file has the character \ud800, which cannot be seen."),
        (
            r'a: "\e[31m"',
            r'f.yaml:1:4: "\x1b[31m" has a character that cannot be seen. Remove the backslash code.',
        ),
    ],
)
def test_what_could_mislead_or_do_harm_is_refused_at_its_place(text: str, problem: str) -> None:
    (told,) = refused(text)

    assert told.startswith(problem)


@BOTH_PARSERS
@pytest.mark.parametrize(
    ("text", "place", "words"),
    [
        ("a: 1\nb: 'x\nc: 2\n", "2:4", "quote opened here is never closed"),
        ('a: "x', "1:4", "quote opened here is never closed"),
        ("a: [1, 2\nb: 3\n", "1:4", "no closing ]"),
        ("a: {b: 1\n", "1:4", "no closing }"),
        ("a: b: c\n", "1:5", "second colon"),
        ("a: 1\nb\nc: 2\n", "3:1", "colon is missing"),
        ("a:\n  b: 1\n c: 2\n", "3:2", "indentation does not fit"),
        ("a:\n\tb: 1\n", "2:1", "tab is used|start with this"),
        ("a: @b\n", "1:4", "cannot start with this character"),
        ("a: `b`\n", "1:4", "cannot start with this character"),
        (r'a: "\q"', "1:6|1:5", "backslash with an unknown meaning"),
        ("- a\nb: 1\n", "2:1", "indentation does not fit"),
        ("a: - b\n", "1:4", "list entry cannot start here"),
        ("a: ]\n", "1:4", "value is missing or cannot start"),
        ("a: * b\n", "1:4|1:5", r"cannot start with \* or &"),
        ("%YAML x\n---\na: b\n", "1:7", "start with % are not used"),
        ("%TAG x\n---\na: b\n", "1:6", "start with % are not used"),
    ],
)
def test_malformed_yaml_is_told_in_plain_words(
    text: str, place: str, words: str, loader: type, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(yaml_text, "_LOADER", loader)
    with pytest.raises(BadInput, match=rf"^f\.yaml:(?:{place}): .*(?:{words}).*\.$"):
        parse_yaml(text, "f.yaml")


@pytest.mark.parametrize(("text", "where"), [("a:\n  b: 1\n c: 2\n", "column 2"), ("a:\n  b: 1\n   c: 2\n", "indent it as the key above")])
def test_a_key_that_is_indented_too_little_or_too_much_is_told_how_it_should_stand(text: str, where: str) -> None:
    (told,) = refused(text)
    assert where in told


def test_all_problems_are_told_at_once_in_reading_order() -> None:
    places = [problem.split(" ")[0] for problem in refused("a: &x 1\na: *x\n<<: !t 2\nb: [c\n")]

    assert places == [
        "f.yaml:1:4:",
        "f.yaml:2:1:",
        "f.yaml:2:4:",
        "f.yaml:3:1:",
        "f.yaml:3:5:",
        "f.yaml:4:4:",
    ]


def test_a_hopeless_file_is_not_told_for_ever() -> None:
    assert len(refused("- *x\n" * 1000)) == yaml_text.MOST_PROBLEMS


def test_limits_are_met_exactly() -> None:
    assert parse_yaml("[[a]]", "f.yaml", deepest=2, most_nodes=3, most_bytes=5).value == [["a"]]
    assert refused("[[a]]", deepest=1) == [
        "f.yaml:1:2: The nesting is deeper than 1 levels. Write it flatter."
    ]
    assert refused("[[a]]", most_nodes=2) == [
        "f.yaml:1:3: The file has more than 2 keys and values. Split it."
    ]
    assert refused("[[a]]", most_bytes=4) == [
        "f.yaml:1:1: The file is larger than 4 bytes. Split it into several files."
    ]
    assert "larger than 5 bytes" in refused("[[µ]]", most_bytes=5)[0]  # six bytes in UTF-8


@BOTH_PARSERS
@pytest.mark.parametrize("opening", ["[", "{", "[{", "{a: ", "- ", "? ", "a: {"])
def test_hostile_nesting_is_refused_at_once(
    opening: str, loader: type, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(yaml_text, "_LOADER", loader)
    start = time.process_time()
    told = refused(opening * 100_000)

    # The Python parser, the slower one, needs about 0.4 s; the rest is for slow and busy machines.
    assert time.process_time() - start < 3.0
    assert any("deeper than 32 levels" in problem or "colon" in problem for problem in told)


def test_a_long_rule_file_is_read_quickly() -> None:
    text = RULES * 340  # 2,040 lines
    times = []
    for _ in range(3):
        start = time.process_time()
        assert len(parse_yaml(text, "f.yaml").value) == 340
        times.append(time.process_time() - start)

    # Under 0.1 s with the C parser, several times that with the Python one; the rest is for busy machines.
    assert min(times) < (0.2 if yaml.__with_libyaml__ else 2.0)


def test_a_file_is_named_as_asked(tmp_path: Path) -> None:
    path = tmp_path / "long" / "way"
    path.mkdir(parents=True)
    (path / "a.yaml").write_text("a: b")

    assert read_yaml(path / "a.yaml").file == str(path / "a.yaml")
    assert read_yaml(path / "a.yaml", shown_as="a.yaml").place_of(("a",)) == Place("a.yaml", 1, 4)


def test_a_byte_order_mark_is_no_part_of_the_text(tmp_path: Path) -> None:
    (tmp_path / "a.yaml").write_bytes(b"\xef\xbb\xbfa: b")
    document = read_yaml(tmp_path / "a.yaml")

    assert document.value == {"a": "b"}
    assert document.place_of(("a",)).column == 4


@pytest.mark.parametrize(
    ("data", "problem"),
    [
        (b"a: b\nc: x\xffy", "f.yaml:2:5: The byte 0xff is not UTF-8 text. Save the file as UTF-8."),
        ("a: µ".encode("latin-1"), "f.yaml:1:4: The byte 0xb5 is not UTF-8 text. Save the file as UTF-8."),
        (
            "µ: µ".encode() + b"\xe2\x82",
            "f.yaml:1:5: The byte 0xe2 is not UTF-8 text. Save the file as UTF-8.",
        ),
        ("a: b".encode("utf-16"), "f.yaml:1:1: The byte 0xff is not UTF-8 text. Save the file as UTF-8."),
        (b"a: \xed\xa0\x80", "f.yaml:1:4: The byte 0xed is not UTF-8 text. Save the file as UTF-8."),
    ],
)
def test_bytes_that_are_no_text_are_refused_at_the_first(data: bytes, problem: str, tmp_path: Path) -> None:
    (tmp_path / "a.yaml").write_bytes(data)

    assert refused_file(tmp_path / "a.yaml") == [problem]


def test_a_file_too_large_is_not_read_to_its_end(tmp_path: Path) -> None:
    (tmp_path / "a.yaml").write_bytes(b"a" * 1_000_001)

    assert refused_file(tmp_path / "a.yaml") == [
        "f.yaml:1:1: The file is larger than 1,000,000 bytes. Split it into several files."
    ]


def test_what_is_no_file_is_refused(tmp_path: Path) -> None:
    (tmp_path / "loop").symlink_to(tmp_path / "loop")

    assert refused_file(tmp_path / "none") == ["f.yaml:1:1: There is no such file. Check the name."]
    assert refused_file(tmp_path) == ["f.yaml:1:1: This is a folder, not a file. Name a file in it."]
    assert "cannot be opened" in refused_file(tmp_path / "loop")[0]
    assert "cannot be opened" in refused_file(Path("a\0b"))[0]
    assert "cannot be opened" in refused_file(tmp_path / ("a" * 5000))[0]


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
def test_a_pipe_is_refused_instead_of_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")

    assert "not an ordinary file" in refused_file(tmp_path / "pipe")[0]


def test_a_file_that_may_not_be_read_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def forbidden(*_: object) -> None:
        raise PermissionError(13, "Permission denied")

    (tmp_path / "a.yaml").write_text("a: b")
    monkeypatch.setattr(Path, "open", forbidden)  # not by chmod: root may read everything

    assert refused_file(tmp_path / "a.yaml") == [
        "f.yaml:1:1: This file may not be read. Check its permissions."
    ]


# Properties -----------------------------------------------------------------------------------------

YAML_LIKE = st.lists(
    st.sampled_from(
        [*"abc01-:?,[]{}#&*!|>'\"%@` \n\t\\", ": ", "- ", "\n  ", "---\n", "...\n", "<<: ", "\\x", "&a ", "µ"]
    )
).map("".join)
TREES = st.recursive(
    st.text(st.characters(exclude_categories=["Cs", "Cc", "Cf", "Zl", "Zp", "Cn"]), min_size=1, max_size=8),
    lambda inner: (
        st.lists(inner, min_size=1, max_size=3) | st.dictionaries(st.sampled_from("abcde"), inner, min_size=1)
    ),
    max_leaves=12,
)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.binary() | YAML_LIKE.map(str.encode))
@example(b"\xef\xbb\xbf")
@example(b"{" * 5000)
def test_any_bytes_give_a_document_or_bad_input(tmp_path: Path, data: bytes) -> None:
    path = tmp_path / "a.yaml"
    path.write_bytes(data)
    try:
        document = read_yaml(path)
    except BadInput as error:
        assert all(problem.place and problem.message and problem.fix for problem in error.problems)
    else:
        assert isinstance(document, Document)
        assert document.value != ""


@given(YAML_LIKE)
def test_both_parsers_take_the_same_text_for_the_same_tree(text: str) -> None:
    trees = []
    for loader in (yaml.SafeLoader, getattr(yaml, "CSafeLoader", yaml.SafeLoader)):
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(yaml_text, "_LOADER", loader)
            trees.append(outcome(text))

    # They differ in what they refuse at the edges of YAML; what both accept must be the same, places too.
    assert None in trees or trees[0] == trees[1]


def outcome(text: str) -> tuple[Tree, list[Place]] | None:
    try:
        document = parse_yaml(text, "f.yaml")
    except BadInput:
        return None
    return document.value, [document.place_of(path) for path in paths_of(document.value)]


def paths_of(tree: Tree, path: tuple[str | int, ...] = ()) -> Iterator[tuple[str | int, ...]]:
    yield path
    inner: Any = tree.items() if isinstance(tree, dict) else enumerate(tree) if isinstance(tree, list) else ()
    for step, value in inner:
        yield from paths_of(value, (*path, step))


@given(TREES, st.booleans(), st.sampled_from([None, '"', "'"]))
def test_what_was_dumped_is_read_back_with_the_same_places_as_composed(
    tree: Tree, flow: bool, style: str | None
) -> None:
    text = yaml.safe_dump(tree, default_flow_style=flow, default_style=style, allow_unicode=True)
    text = text.replace("!!str ", "")
    document = parse_yaml(text, "f.yaml")

    assert document.value == tree
    for path in paths_of(tree):
        mark = composed(yaml.compose(text, Loader=yaml.SafeLoader), path).start_mark
        assert document.place_of(path) == Place("f.yaml", mark.line + 1, mark.column + 1)


def composed(node: Any, path: tuple[str | int, ...]) -> Any:
    """The other road to a place: PyYAML's own nodes, followed step by step."""
    for step in path:
        pairs = (
            enumerate(node.value)
            if isinstance(step, int)
            else ((key.value, value) for key, value in node.value)
        )
        node = next(value for key, value in pairs if key == step)
    return node
