"""The real prompt, in a pseudo-terminal and on pipes: visits to an answer, rubbish, Ctrl-C, kill -9 and a full disk."""

from __future__ import annotations

import os
import random
import re
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from dataclasses import replace
from functools import partial
from pathlib import Path

import pexpect
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from furnace_diag.cli.visit import _last_open
from furnace_diag.furnace.family import Family
from furnace_diag.furnace.population import Population
from furnace_diag.furnace.store import key_for, save
from furnace_diag.knowledge.load import load_rules, own_rules
from furnace_diag.knowledge.models import Knowledge
from furnace_diag.problems import BadInput
from furnace_diag.visit.journal import Journal, journal_problems, read_journal
from furnace_diag.visit.session import report_of_journal

PROGRAM = [sys.executable, "-m", "furnace_diag"]
SAFE = "nnnnnnn"
PROMPT = r"[>:\]](\x08|\x1b\[\d*D)"  # the end of a prompt, as the terminal library draws it
RUBBISH = [
    "asdf", "\x16\x1b[2J 5", "24v", "igniter ohms potato", "#999 3", "fix", "fix x y", "remove 99", "if", "why nobody", "undo undo", "call 99 99",
    ":" * 50, "a" * 290,
]  # fmt: skip
LINES = [
    "inducer runs yes", "igniter glows no at igniter warm up", "w to c 25.2 at call", "r to c 25.6", "line to neutral at board 119",
    "igniter ohms OL", "flame rod filmed", "note looks old", "igniter pin to neutral 118 at igniter warm up", "storm", "board no change",
]  # fmt: skip


@pytest.fixture(scope="module")
def environment(store: Path, population: Population, tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    assert population.table.size  # built once, for every process here
    visits = tmp_path_factory.mktemp("visits")
    return {**os.environ, "FURNACE_DIAG_CACHE": str(store), "FURNACE_DIAG_VISITS": str(visits), "TERM": "xterm", "NO_COLOR": "1"}


@pytest.fixture
def terminal(environment: dict[str, str], tmp_path: Path) -> Iterator[pexpect.spawn]:
    arguments = [*PROGRAM[1:], "visit", "--file", str(tmp_path / "v.jsonl")]
    heard = partial(signal.signal, signal.SIGINT, signal.SIG_DFL)  # whoever runs the tests in the background has Ctrl-C ignored
    child = pexpect.spawn(PROGRAM[0], arguments, env=environment, dimensions=(60, 40), encoding="utf-8", timeout=30, preexec_fn=heard)
    yield child
    child.close(force=True)


def answered(child: pexpect.spawn, behaviour: str, before: str = "") -> None:
    """The questions of the start, by single keys."""
    child.expect("complaint")
    child.send("no heat\r")
    for key in SAFE + behaviour:
        child.expect(r"\)[^)]*: ")
        child.send(key)
    child.expect("before:")
    child.send(f"{before}\r" if before else "\r")
    if before:
        child.expect("before:")
        child.send("\r")


def test_a_visit_in_a_narrow_terminal_ends_at_the_igniter(terminal: pexpect.spawn, tmp_path: Path, knowledge: Knowledge) -> None:
    answered(terminal, "yyn", "board no change")
    for line, back in (("ign pin to neutral 119 at warm up", "119"), ("ign ohms OL", "OL")):
        terminal.expect(PROMPT)
        terminal.send(f"{line}\r")
        terminal.expect(f"{back}")
    terminal.expect(r"\d+% igniter: the element is\s+broken")
    terminal.expect(PROMPT)
    terminal.send("\x03")
    terminal.expect("given up")
    terminal.send("quit\r")
    terminal.expect(pexpect.EOF)
    terminal.wait()
    assert terminal.exitstatus == 0
    assert [r.name for r in report_of_journal(tmp_path / "v.jsonl", knowledge).records][-2:] == ["igniter_pin_to_neutral", "igniter_ohms"]


def test_rubbish_and_control_characters_at_the_prompt_leave_it_standing(terminal: pexpect.spawn) -> None:
    answered(terminal, "yyn")
    for line in RUBBISH:
        terminal.expect(PROMPT)
        terminal.send(f"{line}\r")
    terminal.send("\r\rquit\r")
    terminal.expect("Kept in")
    terminal.expect(pexpect.EOF)
    terminal.wait()
    assert terminal.exitstatus == 0


def test_tab_completes_a_name(terminal: pexpect.spawn, tmp_path: Path) -> None:
    answered(terminal, "yyn")
    terminal.expect(PROMPT)
    terminal.send("igniter oh\t")
    terminal.expect("ms")
    terminal.send(" OL\r")
    terminal.expect(r"igniter ohms: OL")
    terminal.send("quit\r")
    terminal.expect(pexpect.EOF)
    assert read_journal(tmp_path / "v.jsonl")[0][-1].says["record"] == {"point": "igniter_ohms", "value": "OL"}


def piped(environment: dict[str, str], arguments: list[str], lines: list[str]) -> subprocess.CompletedProcess[str]:
    text = "".join(f"{line}\n" for line in lines)
    return subprocess.run([*PROGRAM, *arguments], input=text, env=environment, capture_output=True, text=True, timeout=120, check=False)


def start(lines: list[str]) -> list[str]:
    return ["no heat", *SAFE, "y", "y", "n", "", *lines]


@settings(deadline=None, max_examples=4, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(seed=st.integers(0, 10**6))
def test_kill_9_at_any_moment_loses_nothing_that_was_read_back(
    environment: dict[str, str], tmp_path_factory: pytest.TempPathFactory, knowledge: Knowledge, seed: int
) -> None:
    luck = random.Random(seed)
    path = tmp_path_factory.mktemp("kill") / "v.jsonl"
    child = subprocess.Popen([*PROGRAM, "visit", "--plain", "--file", str(path)], env=environment, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
    assert child.stdin is not None
    assert child.stdout is not None
    child.stdin.write("".join(f"{line}\n" for line in start(LINES)))
    child.stdin.flush()
    until, seen = luck.randint(1, len(start(LINES)) - 3), list[str]()  # the complaint, the end of "before" and the note are no entries
    for line in child.stdout:
        seen += re.findall(r"^(\d+)\. ", line)
        if len(seen) >= until:
            break
    time.sleep(luck.random() * 0.3)
    child.kill()
    child.communicate()
    entries = [e for e in read_journal(path)[0] if e.event == "record"]
    assert len(entries) >= len(set(seen))
    again = piped(environment, ["visit", "--plain", "--resume", "--file", str(path)], ["", "", "", "note back", "list", "quit"])
    assert again.returncode == 0, again.stderr
    assert journal_problems(path) == []
    kept = report_of_journal(path, knowledge).records
    assert len(kept) >= len(set(seen))
    for number in set(seen):
        assert re.search(rf"^ *{number}\. ", again.stdout, re.M)


def test_a_full_disk_loses_only_the_line_being_typed(environment: dict[str, str], tmp_path: Path) -> None:
    mounted = subprocess.run(["mount", "-t", "tmpfs", "-o", "size=16k", "tmpfs", str(tmp_path)], capture_output=True, check=False)
    if mounted.returncode:
        pytest.skip("no right to mount a small disk here; tests/visit holds the same with a made-up one")
    try:
        path = tmp_path / "v.jsonl"
        notes = [f"note {i} {'x' * 200}" for i in range(80)]
        told = piped(environment, ["visit", "--plain", "--file", str(path)], start([*notes, "igniter ohms OL", "list", "quit"]))
        assert told.returncode == 0
        assert "NOT KEPT: No space left on device" in " ".join(told.stdout.split())
        assert "Traceback" not in told.stdout + told.stderr
        assert journal_problems(path) == []
        kept = [e.says["text"] for e in read_journal(path)[0] if e.event == "note"]
        assert kept == [n.removeprefix("note ") for n in notes[: len(kept)]]
        assert 0 < len(kept) < len(notes)
    finally:
        subprocess.run(["umount", str(tmp_path)], check=True)


def test_a_visit_is_not_resumed_twice_nor_after_it_was_closed_nor_when_it_was_changed(environment: dict[str, str], tmp_path: Path) -> None:
    path = tmp_path / "v.jsonl"
    done = piped(environment, ["visit", "--plain", "--file", str(path)], start(["igniter ohms OL", "close", "no part in the van", "y"]))
    assert done.returncode == 0
    closed = piped({**environment, "COLUMNS": "40"}, ["visit", "--resume", "--file", str(path)], [])
    assert closed.returncode == 2
    assert "is closed" in closed.stderr
    assert max(map(len, closed.stderr.replace(str(path), "FILE").splitlines())) <= 40  # no file, no name of it is cut in two
    assert piped(environment, ["visit", "--file", str(path)], []).returncode == 2
    assert piped(environment, ["visit", "verify", str(path)], []).returncode == 0
    lines = path.read_text().splitlines()
    at = next(i for i, line in enumerate(lines) if "igniter_ohms" in line)
    path.write_text("\n".join([*lines[:at], lines[at].replace('"OL"', '"52"'), *lines[at + 1 :], ""]))
    changed = piped(environment, ["visit", "verify", str(path)], [])
    assert changed.returncode == 2
    assert f"v.jsonl:{at + 2}:1: " in changed.stderr


def test_a_visit_in_ascii_piped_at_forty_columns_holds_no_other_character(environment: dict[str, str], tmp_path: Path) -> None:
    ascii_only = {**environment, "COLUMNS": "40", "PYTHONIOENCODING": "ascii", "LC_ALL": "C"}
    told = piped(ascii_only, ["visit", "--file", str(tmp_path / "v.jsonl")], start([*LINES, "why", "help", "assumed", "quit"]))
    assert told.returncode == 0
    assert told.stdout.isascii()
    assert [line for line in told.stdout.splitlines() if len(line) > 40 and not line.startswith((": ", "> ", "before: ", "Visit kept", "Kept in"))] == []


def test_of_two_families_one_is_picked_by_number_and_offered_first_the_next_time(
    environment: dict[str, str], population: Population, tmp_path: Path
) -> None:
    first = next((own_rules() / "furnaces").glob("*.yaml")).read_text(encoding="utf-8")
    second = re.sub(r"^furnace: .*\nsays: .*$", "furnace: second_family\nsays: The furnace of the second family", first, count=1, flags=re.M)
    rules, visits = tmp_path / "rules" / "furnaces", tmp_path / "visits"
    rules.mkdir(parents=True)
    (rules / "second.yaml").write_text(second, encoding="utf-8")
    family, cache = Family(load_rules([rules.parent]), "second_family"), tmp_path / "cache"
    save(replace(population, family="second_family"), cache, key_for(family))  # but for its name the family is the first one: not built again
    again = {**environment, "FURNACE_DIAG_CACHE": str(cache), "FURNACE_DIAG_VISITS": str(visits)}
    child = pexpect.spawn(
        PROGRAM[0], [*PROGRAM[1:], "visit", "--rules", str(rules.parent)], env=again,
        dimensions=(60, 40), encoding="utf-8", timeout=120,
    )  # fmt: skip
    child.expect("Which furnace is it")
    child.expect(r"2\. The furnace of the second family")
    child.expect("Enter: 1")
    child.send("3\r")
    child.expect("from 1 to 2")
    child.send("2\r")
    child.expect("complaint")
    child.send("no heat\r")
    for key in SAFE + "yyn":
        child.expect(r"\)[^)]*: ")
        child.send(key)
    child.expect("before:")
    child.send("\r")
    child.expect(PROMPT)
    child.send("igniter ohms OL\r")
    child.expect(r"igniter ohms: OL")
    child.send("quit\r")
    child.expect(pexpect.EOF)
    (kept,) = visits.glob("visit-*.jsonl")
    assert read_journal(kept)[0][0].says["family"] == "second_family"
    asked = piped(again, ["visit", "--plain", "--rules", str(rules.parent)], [])
    assert "1. The furnace of the second family" in asked.stdout
    assert [*visits.glob("visit-*.jsonl")] == [kept]  # nobody answered, so nothing was begun
    goes_on = piped(again, ["visit", "--plain", "--resume", "--rules", str(rules.parent)], ["list", "quit"])
    assert goes_on.returncode == 0, goes_on.stderr
    assert "Which furnace" not in goes_on.stdout
    assert "igniter ohms: OL" in goes_on.stdout
    unknown = piped(again, ["visit", "--plain", "--resume"], [])
    assert unknown.returncode == 2
    assert "know no furnace second_family" in " ".join(unknown.stderr.split())


def test_the_newest_visit_that_is_open_nowhere_else_is_gone_on_with(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A visit held by nobody is never passed over: the system lets go of its lock when its process ends, however it ends (`tests/visit/test_journal.py`)."""
    paths = [tmp_path / f"visit-2024-01-0{day}-080000.jsonl" for day in (1, 2)]
    for path in paths:
        journal = Journal(path, new=True)
        journal.append("opened", {"format": 1, "family": "any"})
        journal.append("note", {"text": "one"})
        journal.close()
    newest = _last_open(tmp_path)
    assert newest.path == paths[1]
    assert capsys.readouterr().out == ""
    older = _last_open(tmp_path)
    assert older.path == paths[0]
    assert "open in another window" in " ".join(capsys.readouterr().out.split())
    with pytest.raises(BadInput, match="open in another window"):
        _last_open(tmp_path)
    older.close()
    newest.close()
