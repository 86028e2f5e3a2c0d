"""The drill as a trainee meets it: at a terminal, through a pipe, with rubbish and slips; and the commands for lessons."""

from __future__ import annotations

import json
import os
import re
import signal
import subprocess
import sys
from functools import partial
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from furnace_diag.cli.main import main

pexpect = pytest.importorskip("pexpect")

TOP = Path(__file__).resolve().parents[2]
LESSONS = sorted((TOP / "cases" / "lessons").glob("*.yaml"))
LESSON = TOP / "cases" / "lessons" / "cold_monday.yaml"
WAIT = 120  # seconds; a guard against hanging, not a measure


pytestmark = pytest.mark.usefixtures("population")  # built before the clock of any terminal runs


@pytest.fixture(autouse=True)
def _own_store(store: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("FURNACE_DIAG_CACHE", str(store))


def run(*args: str, columns: int = 80) -> Result:
    return CliRunner(env={"COLUMNS": str(columns)}).invoke(main, list(args))


def piped(typed: str | bytes, folder: Path, *more: str, columns: int = 40) -> subprocess.CompletedProcess[bytes]:
    command = [sys.executable, "-m", "furnace_diag", "drill", str(LESSON), "--record", str(folder / "kept.jsonl"), *more]
    data = typed if isinstance(typed, bytes) else typed.encode()
    env = os.environ | {"COLUMNS": str(columns), "PYTHONPATH": str(TOP), "PYTHONIOENCODING": "utf-8"}
    return subprocess.run(command, input=data, capture_output=True, cwd=folder, env=env, timeout=WAIT, check=False)


def at_terminal(folder: Path, columns: int = 80) -> pexpect.spawn:
    env = os.environ | {"PYTHONPATH": str(TOP), "TERM": "dumb", "COLUMNS": str(columns)}
    arguments = ["-m", "furnace_diag", "drill", str(LESSON), "--record", str(folder / "kept.jsonl")]
    heard = partial(signal.signal, signal.SIGINT, signal.SIG_DFL)  # whoever runs the tests in the background has Ctrl-C ignored
    return pexpect.spawn(
        sys.executable, arguments, env=env, cwd=str(folder), timeout=WAIT, encoding="utf-8", dimensions=(24, columns), preexec_fn=heard
    )


def test_a_drill_at_a_terminal_with_ctrl_c_leaving_and_going_on(tmp_path: Path) -> None:
    child = at_terminal(tmp_path)
    child.expect("Type help")
    child.expect("> ")
    child.sendline("call heat")
    child.expect("This is heat call 1")
    child.expect("> ")
    child.send("half a comm")
    child.expect("half a comm")
    child.sendintr()
    child.expect("Type pause to leave")
    child.expect("> ")
    child.sendline("w8 30")
    child.expect("no command here")
    child.sendline("wait rest")
    child.expect("Nothing more comes by itself")
    child.expect("> ")
    child.sendeof()
    child.expect("Left. It is kept in")
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 0

    child = at_terminal(tmp_path)
    child.expect("You go on where you left it, after 2 acts")
    child.sendline("power off")
    child.expect("The power is off")
    child.sendline("igniter ohms")
    child.expect("What should it show")
    child.sendline("60")
    child.expect("Resistance of the igniter, cold: OL")
    child.sendline("name ignitor")
    child.expect("RIGHT. You named igniter")
    child.expect("Foretold right: 1 of 1")
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 0


def test_a_yes_answers_the_question_that_is_open_and_reads_no_wire(tmp_path: Path) -> None:
    """Y is a terminal too. Where nothing was asked, it is that."""
    said = " ".join(piped("blower motr\ny\nr to c\nyes\nfuse lookss\nno\ny\n\npause\n", tmp_path).stdout.decode().split())

    assert said.count("Write the one that you mean") == 2
    assert said.count("That is no figure; taken as no guess.") == 1
    assert said.count("Y to C at the board:") == 1
    assert acts_in(tmp_path) == ["read", "read"]


def test_what_is_known_of_the_furnace_is_told_shortly_and_all_of_it_when_asked_for(tmp_path: Path) -> None:
    lesson = tmp_path / "known.yaml"
    assert run("scenario", "random", str(lesson), "--seed", "7").exit_code == 0
    known = re.search(r"options:\n((?: {4}.*\n)+)", lesson.read_text())
    assert known is not None
    many = known[1].count("\n")
    command = [sys.executable, "-m", "furnace_diag", "drill", str(lesson), "--record", str(tmp_path / "kept.jsonl")]
    env = os.environ | {"COLUMNS": "40", "PYTHONPATH": str(TOP)}
    said = subprocess.run(command, input="known\npause\n", capture_output=True, text=True, env=env, timeout=WAIT, check=False).stdout
    head, _, rest = said.partition("> ")

    assert many > 3
    assert f"and {many - 3} more: type known" in head
    assert head.count("\n") < 30
    assert len([line for line in rest.splitlines() if line.startswith("  ") and line[2] != " "]) == many


def test_a_drill_starts_without_what_ranks(tmp_path: Path) -> None:
    """That is needed at its end; loading it is a good part of the wait before the first prompt, measured."""
    typed = "import sys\nfrom furnace_diag.cli.main import main\ntry: main()\nfinally: print(*sys.modules)"
    command = [sys.executable, "-c", typed, "drill", str(LESSON), "--record", str(tmp_path / "kept.jsonl")]
    env = os.environ | {"PYTHONPATH": str(TOP)}
    said = subprocess.run(command, input="call heat\nwait\npause\n", capture_output=True, text=True, env=env, timeout=WAIT, check=False).stdout
    loaded = {*said.split()}

    assert "furnace_diag.training.drill" in loaded
    assert loaded.isdisjoint({f"furnace_diag.{name}" for name in ("diagnosis.answer", "visit.session", "training.policy", "training.score")})


def test_a_drill_that_is_killed_has_lost_nothing(tmp_path: Path) -> None:
    child = at_terminal(tmp_path)
    child.expect("> ")
    child.sendline("call heat")
    child.expect("This is heat call 1")
    child.expect("> ")
    child.kill(signal.SIGKILL)
    child.wait()
    child.close()

    assert acts_in(tmp_path) == ["call"]
    child = at_terminal(tmp_path)
    child.expect("You go on where you left it, after 1 act")
    child.expect("> ")
    child.sendline("wait 8 s")
    child.expect("8 s later")
    child.kill(signal.SIGKILL)
    child.wait()
    child.close()
    assert acts_in(tmp_path) == ["call", "wait"]
    assert run("visit", "verify", str(tmp_path / "kept.jsonl")).exit_code == 0


def test_ctrl_c_while_the_clock_runs_leaves_the_furnace_as_it_stood(tmp_path: Path) -> None:
    """Wherever it is heard: in the wait, which is then not done, or after it."""
    child = at_terminal(tmp_path)
    child.expect("> ")
    child.sendline("call heat")
    child.expect("This is heat call 1")
    child.expect("> ")
    for _ in range(3):
        child.sendline("wait rest")
        child.expect("wait rest")
        child.sendintr()
        child.expect("Broken off|Type pause")
    child.sendline("pause")
    child.expect("Left. It is kept in")
    child.expect(pexpect.EOF)
    child.close()
    again = at_terminal(tmp_path)
    again.expect(f"after {len(acts_in(tmp_path))} act")
    again.expect("> ")
    again.sendeof()
    again.expect(pexpect.EOF)
    again.close()

    assert run("visit", "verify", str(tmp_path / "kept.jsonl")).exit_code == 0


IN_THE_MOMENT_BEFORE = """
import ctypes, readline, signal, sys
from functools import partial
from furnace_diag.cli.main import main
sent = map(ctypes.CDLL(None)["raise"], [signal.SIGINT] * {times})
readline.set_startup_hook(partial(next, sent, 0))  # nothing of Python runs between the signal and the wait for a key
main()
"""


def test_ctrl_c_in_the_moment_before_a_key_is_waited_for_is_heard(tmp_path: Path) -> None:
    """The signal is there then, and no key will come to wake what waits."""
    env = os.environ | {"PYTHONPATH": str(TOP), "TERM": "dumb", "COLUMNS": "80"}
    arguments = ["-c", IN_THE_MOMENT_BEFORE.format(times=3), "drill", str(LESSON), "--record", str(tmp_path / "kept.jsonl")]
    heard = partial(signal.signal, signal.SIGINT, signal.SIG_DFL)
    child = pexpect.spawn(sys.executable, arguments, env=env, cwd=str(tmp_path), timeout=20, encoding="utf-8", dimensions=(24, 80), preexec_fn=heard)
    for _ in range(3):
        child.expect("Type pause to leave")
    child.expect("> ")
    child.sendline("pause")
    child.expect("Left. It is kept in")
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 0


def test_ctrl_c_while_an_act_is_broken_off_neither_ends_the_drill_nor_undoes_that(tmp_path: Path) -> None:
    """Whoever presses it twice means no more than by pressing it once."""
    typed = f"""
from furnace_diag.cli import drill
from furnace_diag.training.drill import Drill
def with_one(name, of, left):
    plain = getattr(of, name)
    def broken(self, *more):
        if left:
            left.pop()
            raise KeyboardInterrupt
        return plain(self, *more)
    setattr(of, name, broken)
with_one("do", Drill, [1])
play = drill._Session.play
def begun(self):
    with_one("_taken_up", drill._Session, [1, 2])
    play(self)
drill._Session.play = begun
from furnace_diag.cli.main import main
main(["drill", {str(LESSON)!r}, "--record", {str(tmp_path / "kept.jsonl")!r}])
"""
    env = os.environ | {"PYTHONPATH": str(TOP), "COLUMNS": "80"}
    command = [sys.executable, "-c", typed]
    done = subprocess.run(command, input="call heat\ncall heat\npause\n", capture_output=True, text=True, env=env, timeout=WAIT, check=False)

    assert done.returncode == 0, done.stderr
    assert done.stdout.count("Broken off; the furnace stands as it was written down last.") == 1
    assert "This is heat call 1" in done.stdout
    assert acts_in(tmp_path) == ["call"]


def test_ctrl_c_while_the_program_is_loaded_leaves_no_traceback() -> None:
    typed = """
import runpy, sys
class Broken:
    def find_spec(self, name, path=None, target=None):
        if name == "click":
            raise KeyboardInterrupt
sys.meta_path.insert(0, Broken())
runpy.run_module("furnace_diag", run_name="__main__")
"""
    command, env = [sys.executable, "-c", typed], os.environ | {"PYTHONPATH": str(TOP)}
    done = subprocess.run(command, capture_output=True, text=True, env=env, timeout=WAIT, check=False)

    assert (done.returncode, done.stdout, done.stderr) == (1, "", "Aborted!\n")


def acts_in(folder: Path) -> list[str]:
    """What was done, as the record in *folder* has it."""
    events = [json.loads(line) for line in (folder / "kept.jsonl").read_text().splitlines()]
    return [e["do"] for e in events if e["event"] == "act"]


def test_the_others_read_the_record_of_a_drill_and_say_what_it_is(tmp_path: Path) -> None:
    piped("call heat\nwait rest\npower off\nigniter ohms\n60\ngas off\nreplace igniter\nname igniter\n", tmp_path)
    kept = str(tmp_path / "kept.jsonl")
    report, verified = run("report", kept), run("visit", "verify", kept)
    ranked = json.loads(run("rank", kept, "--json").stdout)

    assert verified.exit_code == 0
    assert "A drill: this furnace is a virtual one" in report.output
    assert "Closed as named, reason given: The drill ended with: igniter." in " ".join(report.output.split())
    assert ranked["parts"][0]["part"] == "igniter"
    for form in (["--customer"], ["--html"], ["--customer", "--html"]):
        assert "A drill" in run("report", kept, *form).output
    assert run("scenario", "from", kept, str(tmp_path / "made.yaml")).exit_code == 0
    assert "igniter:open" in (tmp_path / "made.yaml").read_text()
    assert not [word for word in ("hidden", "severity") if word in (tmp_path / "kept.jsonl").read_text()]


def test_a_drill_is_no_visit_to_go_on_with_and_no_claim(tmp_path: Path) -> None:
    piped("call heat\npause\n", tmp_path)
    kept = str(tmp_path / "kept.jsonl")
    resumed = run("visit", "--resume", "--file", kept)
    judged = run("claims", "judge", kept, "--out", str(tmp_path / "out"))

    assert resumed.exit_code == 2
    assert "is the record of a drill" in " ".join(resumed.output.split())
    assert judged.exit_code == 2
    assert "record of a drill" in " ".join(judged.output.split())


def test_through_a_pipe_it_fits_40_columns_and_never_tells_the_fault(tmp_path: Path) -> None:
    typed = "help\nlook\nfind igniter\nfind fault\ncall heat\nwait\nread r to c\nwait rest\nr to c: 25\nnotes\nname\npause\n"
    done = piped(typed, tmp_path)
    text = done.stdout.decode()

    assert done.returncode == 0, done.stderr
    assert done.stderr == b""
    assert max(len(line) for line in text.splitlines() if not line.startswith(("> ", "  What should"))) <= 40
    assert "igniter:open" not in text
    assert "hidden" not in text
    assert "igniter:open" not in (tmp_path / "kept.jsonl").read_text()


RUBBISH = (
    b"\x1b[31mread\x07\n", b"read " + b"x" * 5000 + b"\n", "\u202eread\n".encode(), b"volts\nvolts a\nvolts a to\nvolts to to to\n",
    b"read r to c: purple\n\n", b"wait forever\nwait -5\nwait 1e99 s\n", b"name the culprit\nreplace it\nlift me\njoin us\nnote\nback\n",
    b"\0\n", b"read {0}\n%s\n",
)  # fmt: skip
LIVES = b"find control board\n"  # a line to which a drill that still listens has an answer


@pytest.mark.parametrize("rubbish", [b"\xff\xfe\n", b"".join(LIVES + rubbish for rubbish in RUBBISH) + LIVES], ids=["not text", "text"])
def test_rubbish_is_answered_kindly_and_changes_nothing(tmp_path: Path, rubbish: bytes) -> None:
    done = piped(rubbish, tmp_path)

    assert done.returncode == 0, done.stderr
    assert b"Traceback" not in done.stdout + done.stderr
    assert b"\x1b" not in done.stdout
    assert acts_in(tmp_path) == []
    assert done.stdout.count(b"> " + LIVES + b"  part control board: ") == rubbish.count(LIVES)
    assert b"the same command" in b" ".join(done.stdout.split())


def test_the_replay_waits_for_the_end(tmp_path: Path) -> None:
    piped("call heat\npause\n", tmp_path)
    early = piped("", tmp_path, "--replay")

    assert early.returncode == 2
    assert b"not over yet" in early.stderr


def test_the_score_and_replay_as_json(tmp_path: Path) -> None:
    piped("call heat\nwait rest\npower off\nigniter ohms\n60\nname control board\n", tmp_path)
    told = json.loads(piped("", tmp_path, "--replay", "--json").stdout)

    assert told["score"]["board"] == "condemned"
    assert told["score"]["right"] is False
    assert [m["said"].partition(":")[0] for m in told["replay"]] == ["Watched", "stops_at", "Watched", "igniter_ohms"]


def test_another_lessons_record_is_refused(tmp_path: Path) -> None:
    piped("call heat\npause\n", tmp_path)
    result = run("drill", str(LESSONS[0]), "--record", str(tmp_path / "kept.jsonl"))

    assert result.exit_code == 2
    assert "kept.jsonl:2:1: This is the record of another lesson" in result.output


# --- lessons ---------------------------------------------------------------------------------------


def test_our_own_lessons_show_and_end_right() -> None:
    result = run("scenario", "check", "--json", *map(str, LESSONS))
    told = json.loads(result.stdout)

    assert result.exit_code == 0
    assert len(told) == len(LESSONS) >= 6
    assert all(t["shows"] and not t["denied"] and t["right"] for t in told)
    seen = [[s for s in t["shows"] if not s.endswith("reads otherwise")] for t in told]
    never_there = [["nothing to be seen, not" in s for s in each] for each in seen]  # tells a trainer nothing of how the fault looks
    assert all(each == sorted(each) for each in never_there)
    assert all(0 < t["difficulty"] <= 10 for t in told)


def test_a_lesson_that_shows_nothing_or_is_not_borne_out_is_told(tmp_path: Path) -> None:
    nothing = tmp_path / "nothing.yaml"
    told = "complaint: no heat\nrecords: [{sign: burners_light, value: no}]\n"
    nothing.write_text(f"{told}hidden: {{faults: [{{fault: float_switch:open}}]}}\nanswer: {{parts: float_switch}}\n")
    result = run("scenario", "check", str(nothing), columns=40)

    assert result.exit_code == 2
    assert "NOTHING SHOWS" in result.output
    assert "NOT BORNE OUT" in result.output
    assert max(map(len, result.output.splitlines())) <= 40


def test_the_sheet_is_a_page() -> None:
    result = run("scenario", "sheet", str(LESSON))

    assert result.exit_code == 0
    assert "The shortest" in result.output
    assert "The tempting wrong turn" in result.output
    assert len(result.output.splitlines()) <= 66  # lines of a printed page


def test_a_new_lesson_is_written_checked_and_not_overwritten(tmp_path: Path) -> None:
    path = tmp_path / "new.yaml"
    made = run("scenario", "new", str(path), "--fault", "igniter:aged", "--complaint", "slow to light", "--option", "fan_call_tap=cool")
    again = run("scenario", "new", str(path), "--fault", "igniter:aged", "--complaint", "x")
    wrong = run("scenario", "new", str(tmp_path / "wrong.yaml"), "--fault", "igniter:gone", "--complaint", "x")

    assert made.exit_code == 0, made.output
    assert (again.exit_code, wrong.exit_code) == (2, 2)
    assert "There is such a file already" in again.output
    assert "igniter:gone is not a failure" in wrong.output
    assert not (tmp_path / "wrong.yaml").exists()


def test_a_new_lesson_asks_for_what_was_not_given(tmp_path: Path) -> None:
    result = CliRunner().invoke(main, ["scenario", "new", str(tmp_path / "new.yaml")], input="igniter:open\nno heat\n")

    assert result.exit_code == 0, result.output
    assert "complaint: no heat" in (tmp_path / "new.yaml").read_text()


def test_a_random_lesson_is_written_without_telling_what_it_is(tmp_path: Path) -> None:
    path = tmp_path / "blind.yaml"
    result = run("scenario", "random", str(path), "--subsystem", "draft", "--seed", "5")
    part = path.read_text().partition("fault: ")[2].partition(":")[0]

    assert result.exit_code == 0, result.output
    assert part
    assert part not in result.output


def test_an_edit_that_says_nothing_changes_nothing(tmp_path: Path) -> None:
    path = tmp_path / "mine.yaml"
    path.write_text(LESSON.read_text())
    result = run("scenario", "edit", str(path))

    assert result.exit_code == 2
    assert "Say what to change: --complaint, --option, --severity or --says." in result.output
    assert path.read_text() == LESSON.read_text()


def test_an_edited_lesson_keeps_its_comments(tmp_path: Path) -> None:
    path = tmp_path / "mine.yaml"
    path.write_text(LESSON.read_text())
    result = run("scenario", "edit", str(path), "--complaint", "it is cold", "--says", "listen first")

    assert result.exit_code == 0, result.output
    assert path.read_text().startswith(LESSON.read_text().splitlines()[0])
    assert "complaint: it is cold" in path.read_text()


@pytest.mark.parametrize("command", ["check", "sheet", "new", "random", "edit"])
def test_each_scenario_command_has_help_with_an_example_that_fits(command: str) -> None:
    result = run("scenario", command, "--help", columns=40)

    assert result.exit_code == 0
    assert "Example" in result.output


def test_a_sheet_says_which_failures_its_readings_do_not_part(tmp_path: Path) -> None:
    path = tmp_path / "dirty.yaml"
    path.write_text("complaint: no heat\nrecords: []\nhidden: {faults: [{fault: ducts:registers_shut}]}\nanswer: {parts: [ducts]}\n")
    (told,) = json.loads(run("scenario", "check", str(path), "--json").stdout)
    sheet = " ".join(run("scenario", "sheet", str(path)).output.split())

    assert told["not_told_apart"]
    for one, other, _ in told["not_told_apart"]:
        assert f"does not part {one.replace('_', ' ')} from {other.replace('_', ' ')}" in sheet
    assert "shortest proof" not in sheet


def test_one_lesson_that_cannot_be_read_does_not_hide_the_others(tmp_path: Path) -> None:
    good, bad = tmp_path / "good.yaml", tmp_path / "bad.yaml"
    good.write_text("complaint: no heat\nhidden:\n  faults: [{fault: igniter:open}]\n  put_in_again: yes\nanswer: {parts: [igniter]}\n")
    bad.write_text("complaint: no heat\nhidden: {fault: igniter:open}\nanswer: {part: igniter}\n")
    done = run("scenario", "check", str(bad), str(good))
    told = " ".join(done.stdout.split())

    assert done.exit_code == 2
    assert "good: igniter:open" in told
    assert "PUT IN AGAIN FOR NOTHING" in told  # an open igniter opens no breaker and no fuse


def test_the_sheet_of_two_faults_tells_the_way_to_the_second(tmp_path: Path) -> None:
    path = tmp_path / "two.yaml"
    faults, parts = "[{fault: igniter:open}, {fault: blower_capacitor:open}]", "[igniter, blower_capacitor]"
    path.write_text(f"complaint: no heat\nhidden: {{faults: {faults}}}\nanswer: {{parts: {parts}}}\n")
    told = " ".join(run("scenario", "sheet", str(path)).stdout.split())
    first, _, second = told.partition("is mended, of the other fault:")
    assert "igniter, cold" in first
    assert "capacitor out of the circuit" in second
