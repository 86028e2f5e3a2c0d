"""The journal: nothing acknowledged is lost, and what was changed afterwards shows."""

from __future__ import annotations

import errno
import hashlib
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from furnace_diag.problems import BadInput
from furnace_diag.visit.journal import FIRST, FORMAT, Journal, journal_problems, read_journal

TEXT = st.text(max_size=40)


def written(path: Path, texts: list[str]) -> list[bytes]:
    """A journal with a note of each text; its lines."""
    journal = Journal(path, new=True)
    journal.append("opened", {"format": FORMAT, "family": "any"})
    for text in texts:
        journal.append("note", {"text": text})
    journal.close()
    return path.read_bytes().splitlines(keepends=True)


@settings(deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(texts=st.lists(TEXT, min_size=1, max_size=6), data=st.data())
def test_whatever_byte_a_crash_stops_at_whole_lines_are_kept_and_the_rest_is_told(
    tmp_path_factory: pytest.TempPathFactory, texts: list[str], data: st.DataObject
) -> None:
    path = tmp_path_factory.mktemp("cut") / "visit.jsonl"
    lines = written(path, texts)
    first = len(lines[0])
    cut = data.draw(st.integers(first, sum(map(len, lines))))
    path.write_bytes(b"".join(lines)[:cut])
    whole, left = 0, cut
    while whole < len(lines) and left >= len(lines[whole]) - 1:  # a line that lacks only its end is whole
        left -= len(lines[whole])
        whole += 1
    journal = Journal(path, new=False)
    assert [e.says.get("text") for e in journal.events[1:]] == texts[: whole - 1]
    assert bool(journal.repaired) == (left > 0)
    journal.append("note", {"text": "goes on"})
    journal.close()
    assert journal_problems(path) == []
    assert read_journal(path)[0][-1].says["text"] == "goes on"


@settings(deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(texts=st.lists(st.text(min_size=1, max_size=20), min_size=2, max_size=6), data=st.data())
def test_a_line_that_is_edited_moved_or_taken_out_shows(
    tmp_path_factory: pytest.TempPathFactory, texts: list[str], data: st.DataObject
) -> None:
    path = tmp_path_factory.mktemp("edit") / "visit.jsonl"
    lines = written(path, texts)
    at = data.draw(st.integers(1, len(lines) - 2))  # the last line's hash stands nowhere in the file: the report has it
    how = data.draw(st.sampled_from(["edit", "drop", "swap", "double"]))
    if how == "edit":
        entry = json.loads(lines[at])
        entry["text"] += "x"
        lines[at] = json.dumps(entry, separators=(",", ":")).encode() + b"\n"
    elif how == "drop":
        del lines[at]
    elif how == "swap":
        lines[at], lines[at + 1] = lines[at + 1], lines[at]
    else:
        lines.insert(at, lines[at])
    path.write_bytes(b"".join(lines))
    problems = journal_problems(path)
    assert problems
    assert problems[0].place is not None
    assert problems[0].place.line in (at + 1, at + 2)
    with pytest.raises(BadInput):
        Journal(path, new=False)


def test_each_line_names_the_sha_256_of_the_line_before(tmp_path: Path) -> None:
    lines = written(tmp_path / "v.jsonl", ["one", "two"])
    before = FIRST
    for line in lines:
        assert json.loads(line)["before"] == before
        before = hashlib.sha256(line.rstrip(b"\n")).hexdigest()  # FIPS 180-4, by Python's own library
    assert read_journal(tmp_path / "v.jsonl")[1] == before


def test_the_same_visit_is_not_opened_twice_but_again_after_its_process_was_killed(tmp_path: Path) -> None:
    path = tmp_path / "v.jsonl"
    written(path, ["one"])
    held = f"import time; from pathlib import Path; from furnace_diag.visit.journal import Journal; j = Journal(Path({str(path)!r}), new=False)"
    held += "; print('open', flush=True); time.sleep(60)"
    other = subprocess.Popen([sys.executable, "-c", held], stdout=subprocess.PIPE, text=True)
    try:
        assert other.stdout is not None
        assert other.stdout.readline() == "open\n"
        with pytest.raises(BadInput, match="open in another window"):
            Journal(path, new=False)
    finally:
        other.kill()
        other.communicate()
    journal = Journal(path, new=False)
    assert len(journal.events) == 2
    journal.close()


def test_a_new_visit_never_writes_over_an_old_one(tmp_path: Path) -> None:
    written(tmp_path / "v.jsonl", ["one"])
    with pytest.raises(BadInput, match="is there already"):
        Journal(tmp_path / "v.jsonl", new=True)
    assert len(read_journal(tmp_path / "v.jsonl")[0]) == 2


def test_a_full_disk_keeps_what_is_there_and_leaves_no_half_line(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "v.jsonl"
    written(path, ["one"])
    journal = Journal(path, new=False)
    write = os.write
    calls = iter([20])

    def fails_after_a_piece(file: int, data: bytes) -> int:
        if file != journal._file:
            return write(file, data)
        piece = next(calls, None)
        if piece is None:
            raise OSError(errno.ENOSPC, "No space left on device")
        return write(file, data[:piece])

    monkeypatch.setattr(os, "write", fails_after_a_piece)
    with pytest.raises(OSError, match="No space"):
        journal.append("note", {"text": "two"})
    monkeypatch.undo()
    assert [e.says.get("text") for e in read_journal(path)[0]] == [None, "one"]
    journal.append("note", {"text": "three"})  # room was made
    journal.close()
    assert journal_problems(path) == []
    assert [e.says.get("text") for e in read_journal(path)[0]] == [None, "one", "three"]


@pytest.mark.parametrize(
    "content",
    [
        *(b"", b"\n", b"complaint: no heat\n", b"[]\n", b"{}\n", b"\xff\xfe\x00\n", b'{"n":1,"at":"2026","event":"opened"}\n'),
        *(b"[" * 5000 + b"\n", b'{"a":' + b"9" * 30000 + b"}\n"),
    ],
)
def test_what_is_no_journal_is_refused_with_its_place(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "v.jsonl"
    path.write_bytes(content)
    with pytest.raises(BadInput) as told:
        read_journal(path)
    assert str(told.value.problems[0]).startswith(f"{path}:1:1: ")
