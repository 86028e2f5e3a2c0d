"""Tables cut into cells: the csv module of the standard library is the other road, where a file is in order."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from furnace_diag.claims.table import LONGEST_LINE, Cell, rows, text_file
from furnace_diag.problems import BadInput, Problem

CELL = st.text(st.characters(codec="utf-8", exclude_characters="\r\0", exclude_categories=("Cs", "Cc")) | st.sampled_from('",;\n\t'), max_size=12)


def table(path: Path, content: bytes) -> list[list[Cell] | Problem]:
    path.write_bytes(content)
    return list(rows(text_file(path)))


def texts(found: list[list[Cell] | Problem]) -> list[list[str]]:
    assert not [r for r in found if isinstance(r, Problem)]
    return [[c.text for c in r] for r in found if not isinstance(r, Problem)]


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(body=st.lists(st.lists(CELL, min_size=4, max_size=4), max_size=5), delimiter=st.sampled_from(",;\t"))
def test_cells_are_those_of_the_csv_module(tmp_path: Path, body: list[list[str]], delimiter: str) -> None:
    out = io.StringIO(newline="")
    csv.writer(out, delimiter=delimiter, quoting=csv.QUOTE_ALL).writerows([["a", "b", "c", "d"], *body])
    content = out.getvalue()

    expected = [r for r in csv.reader(io.StringIO(content, newline=""), delimiter=delimiter) if any(c.strip() for c in r)]
    assert texts(table(tmp_path / "t.csv", content.encode())) == expected


@settings(max_examples=100, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(body=st.lists(st.lists(CELL, min_size=2, max_size=4), min_size=1, max_size=4))
def test_a_cells_place_is_where_its_text_stands(tmp_path: Path, body: list[list[str]]) -> None:
    out = io.StringIO(newline="")
    csv.writer(out, lineterminator="\n").writerows([["a", "b", "c", "d"], *body])
    lines = out.getvalue().split("\n")

    for row in table(tmp_path / "t.csv", out.getvalue().encode()):
        assert not isinstance(row, Problem)
        for cell in row:
            shown = "\n".join(lines[cell.line - 1 :])[cell.column - 1 :]
            quoted = '"' + cell.text.replace('"', '""') + '"'
            assert shown.startswith((cell.text, quoted))


@pytest.mark.parametrize(
    ("encoding", "mark"),
    [("utf-8", b""), ("utf-8", b"\xef\xbb\xbf"), ("utf-16-le", b"\xff\xfe"), ("utf-16-be", b"\xfe\xff"), ("cp1252", b"")],
)
def test_encodings_give_the_same_text(tmp_path: Path, encoding: str, mark: bytes) -> None:
    told = "claim,value\nA1,flame current 0.8 µA in señor Núñez’s house\n"

    assert texts(table(tmp_path / "t.csv", mark + told.encode(encoding)))[1] == ["A1", "flame current 0.8 µA in señor Núñez’s house"]
    assert ("cp1252" in text_file(tmp_path / "t.csv").note) == (encoding == "cp1252")


def test_utf_16_without_its_mark_is_refused(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="not plain text"):
        table(tmp_path / "t.csv", "claim,value\n".encode("utf-16-le"))


def test_a_quote_that_is_never_closed_costs_one_row(tmp_path: Path) -> None:
    content = "claim,value\nA1,1\nA2,\"open\n" + "".join(f"B{i},{i}\n" for i in range(100))
    found = table(tmp_path / "t.csv", content.encode())

    problems = [r for r in found if isinstance(r, Problem)]
    assert [(p.place.line, p.place.column) for p in problems if p.place] == [(3, 4)]
    assert [r[0].text for r in found if not isinstance(r, Problem)] == ["claim", "A1", *(f"B{i}" for i in range(100))]


def test_an_inch_mark_is_no_quote(tmp_path: Path) -> None:
    assert texts(table(tmp_path / "t.csv", b'claim,value\nA1,3.5" wc\nA2,"0.5" wc\n')) == [["claim", "value"], ["A1", '3.5" wc'], ["A2", '"0.5" wc']]


@pytest.mark.parametrize("length", [LONGEST_LINE + 1, 3 * LONGEST_LINE + 7])
def test_a_line_too_long_is_left_out_and_the_next_is_read(tmp_path: Path, length: int) -> None:
    found = table(tmp_path / "t.csv", b"claim,value\nA1," + b"x" * length + b"\nA2,2\n")

    assert isinstance(found[1], Problem)
    assert "2:1" in str(found[1].place)
    assert found[2] == [Cell("A2", 3, 1), Cell("2", 3, 4)]


def test_remarks_stand_only_above_the_headings(tmp_path: Path) -> None:
    assert texts(table(tmp_path / "t.csv", b"# a, remark\n\nclaim;value\n#17;1\n")) == [["claim", "value"], ["#17", "1"]]
