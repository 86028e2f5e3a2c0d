"""furnace-diag calc as a user types it: right input, rubbish, 40 columns, a terminal, completion."""

from __future__ import annotations

import json
import os
import pty
import subprocess
import sys
from pathlib import Path

import pytest
from click.shell_completion import ShellComplete
from click.testing import CliRunner, Result

from furnace_diag.cli.main import main
from furnace_diag.furnace.calculations import CALCULATIONS

TOP = Path(__file__).resolve().parents[2]


@pytest.fixture(autouse=True)
def _own_store(store: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("FURNACE_DIAG_CACHE", str(store))


def run(*args: str, columns: int = 80) -> Result:
    return CliRunner(env={"COLUMNS": str(columns)}).invoke(main, ["calc", *args])


def typed(name: str) -> list[str]:
    return [f"{i.name}={i.example}" for i in CALCULATIONS[name].inputs]


def test_a_result_shows_formula_units_and_source() -> None:
    said = " ".join(run("rise", "supply=125", "return=21C").stdout.split())

    assert "rise: 55.2 F, temperature rise" in said  # 125 F less 69.8 F
    assert "rise = supply - return" in said
    assert "Source: definition of the rise." in said
    assert "As a reading: temperature_rise 55.2 F" in said


def test_a_value_may_stand_apart_from_its_unit() -> None:
    assert run("gas", "time", "=", "1:30", "dial=2", "cu", "ft", "heating=1036").stdout == run("gas", "time=90s", "dial=2", "heating=1036").stdout


def test_alone_it_lists_every_calculation() -> None:
    said = run().stdout

    assert all(f"  {name}  {c.says}" in said for name, c in CALCULATIONS.items())


def test_a_name_alone_says_what_it_takes_and_what_to_mind() -> None:
    said = " ".join(run("capacitor").stdout.split())

    assert all(f"{i.name}= {i.says}" in said for i in CALCULATIONS["capacitor"].inputs)
    assert "Caution: Live 120 V." in said
    assert "For instance: furnace-diag calc capacitor amps=1.4A volts=370V" in said


@pytest.mark.parametrize("args", [(), *((name,) for name in CALCULATIONS), *((name, *typed(name)) for name in CALCULATIONS), ("--help",)], ids=" ".join)
def test_everything_fits_40_columns(args: tuple[str, ...]) -> None:
    result = run(*args, columns=40)

    assert result.exit_code == 0, result.output
    assert max(map(len, result.stdout.splitlines())) <= 40


@pytest.mark.parametrize(
    ("args", "says"),
    [
        (["rise", "supply=140"], "return is missing"),
        (["rise", "supply=140", "return=oops"], 'return: "oops" is not a number'),
        (["rise", "supply=140 ohm", "return=68"], "is in ohm, but this reading is in F"),
        (["gas", "time=30", "dial=1/0", "heating=1000"], "dial: "),
        (["gas", "time=0", "dial=1", "heating=1000"], "time=0 s is outside the range"),
        (["rise", "140", "68"], "140 68 has no name"),
        (["ries"], "Did you mean rise?"),
        (["\x1b[2J"], "no calculation called \\x1b[2J"),
        (["rise", "\x1b[2J=3"], "\\x1b[ has no name"),
        (["rise", "x" * 3000], "too long"),
        (["rise", "supply=" + "9" * 300, "return=1"], "too long for one reading"),
        (["rise", "supply=nan", "return=inf"], "is not a number"),
    ],
)
def test_rubbish_is_told_in_words_with_status_2(args: list[str], says: str) -> None:
    result = run(*args)

    assert result.exit_code == 2, result.output
    assert says in result.output
    assert isinstance(result.exception, SystemExit)
    assert "\x1b" not in result.output


def test_json_has_the_same_as_the_text() -> None:
    result = json.loads(run("rise", "supply=125", "return=70", "--json").stdout)
    [value] = result["values"]

    assert (value["value"], value["unit"], value["formula"]) == (55, "F_diff", "supply - return")
    assert value["source"]
    assert result["takes"] == {"point": "temperature_rise", "value": "55 F"}
    assert [c["name"] for c in json.loads(run("--json").stdout)] == list(CALCULATIONS)
    assert json.loads(run("co", "--json").stdout)["inputs"][1]["name"] == "oxygen"


def test_at_a_terminal_it_asks_and_asks_again() -> None:
    ours, theirs = pty.openpty()
    env = {**os.environ, "PYTHONPATH": str(TOP), "TERM": "dumb", "COLUMNS": "40"}
    with subprocess.Popen([sys.executable, "-m", "furnace_diag", "calc", "rise"], stdin=theirs, stdout=theirs, stderr=theirs, env=env) as program:
        os.close(theirs)
        os.write(ours, b"hot\n125\n70 F\n")
        said = b""
        while True:
            try:
                more = os.read(ours, 4096)
            except OSError:  # how Linux says that nobody writes any more
                break
            if not more:
                break
            said += more
    os.close(ours)

    assert program.returncode == 0, said
    assert b'supply: "hot" is not a number.' in said
    assert b"temperature_rise 55 F" in b" ".join(said.split())


def completed(args: list[str], incomplete: str) -> list[str]:
    return [item.value for item in ShellComplete(main, {}, "furnace-diag", "_FURNACE_DIAG_COMPLETE").get_completions(args, incomplete)]


def test_the_shell_completes_names_and_inputs() -> None:
    assert completed(["calc"], "") == list(CALCULATIONS)
    assert completed(["calc"], "ca") == ["capacitor"]
    assert completed(["calc", "rise"], "") == ["supply=", "return="]
    assert completed(["calc", "rise", "supply=140"], "") == ["return="]
    assert completed(["calc", "rise"], "su") == ["supply="]
    assert completed(["calc", "nothing"], "") == []


def test_version_needs_no_installation(tmp_path: Path) -> None:
    """From a folder of source alone, where nothing tells of an installed package."""
    (tmp_path / "furnace_diag").symlink_to(TOP / "furnace_diag")
    hide = "import importlib.metadata as m\ndef none(*_):\n    raise m.PackageNotFoundError('hidden')\nm.version = m.distribution = m.metadata = none\n"
    code = f"import sys\nsys.path.insert(0, {str(tmp_path)!r})\n{hide}from furnace_diag.cli.main import main\nmain(['--version'])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False, cwd=tmp_path)

    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith("furnace-diag, version ")
