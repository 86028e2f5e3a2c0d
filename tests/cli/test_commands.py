"""Every command as a user types it: right input, rubbish, and help at 40 columns."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from furnace_diag.cli.main import COMMANDS, main

TOP = Path(__file__).resolve().parents[2]
CASE = next(iter(sorted((TOP / "cases").glob("*.yaml"))))


@pytest.fixture(autouse=True)
def _own_store(store: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("FURNACE_DIAG_CACHE", str(store))


def run(*args: str, columns: int = 80) -> Result:
    return CliRunner(env={"COLUMNS": str(columns)}).invoke(main, list(args))


@pytest.mark.parametrize("columns", [40, 100])
def test_rank_fits_the_width(columns: int) -> None:
    result = run("rank", str(CASE), columns=columns)

    assert result.exit_code == 0, result.output
    assert "Suspects" in result.output
    assert max(map(len, result.stdout.splitlines())) <= columns


def test_rank_json_has_the_contracts_fields() -> None:
    result = json.loads(run("rank", str(CASE), "--json").stdout)

    assert {"hazards", "parts", "something_else", "board", "not_told_apart", "assumed", "read_as", "rules_version"} <= set(result)
    assert result["board"]["verdict"] == "not_judged"


@pytest.mark.parametrize("command", [(), *((name,) for name in COMMANDS), ("rules", "check"), ("rules", "odds"), ("rules", "schema")])
def test_help_has_an_example_and_fits_40_columns(command: tuple[str, ...]) -> None:
    result = run(*command, "--help", columns=40)

    assert result.exit_code == 0
    assert "Example" in result.output


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("records: [{sign: inducer_rums, value: yes}]", "report.yaml:1:18: There is no sign called inducer_rums. Did you mean inducer_runs"),
        ("records: [{sign: inducer_runs, value: maybe}]", "cannot be maybe"),
        ("records: [{point: flame_current, value: 3 V}]", "report.yaml:1:41"),
        ("records: [{point: flame_current, value: .nan}]", "report.yaml:1"),
        ("records: [{point: flame_current, value: 1e400}]", "report.yaml:1"),
        ("records: [{point: line_to_neutral_at_board, value: 9999 V}]", "report.yaml:1"),
        ("records: [{value: yes}]", "names one of"),
        ("records: [{sign: inducer_runs, event: storm}]", "Keep exactly one"),
        ("records: [{sign: inducer_runs, value: yes}, {sign: inducer_runs, value: no}]", "Take one out"),
        ("records: [{sign: inducer_runs, value: yes, step: sideways}]", "There is no step called sideways"),
        ("furnace: {options: {colour: red}}\nrecords: []", "no option colour"),
        ("furnace: {family: toaster}\nrecords: []", "There is no furnace called toaster"),
        ("records: [{sign: a, sign: b}]", "report.yaml:1"),
        ("records: &a [*a]", "report.yaml:1"),
        ("records: [", "report.yaml:"),
        ("", "empty"),
        ("just words", "mapping"),
        ("{complaint: x}", "records"),
    ],
)
def test_bad_reports_are_told_with_their_place_and_status_2(tmp_path: Path, text: str, says: str) -> None:
    path = tmp_path / "report.yaml"
    path.write_text(text)
    result = run("rank", str(path))

    assert result.exit_code == 2, result.output
    assert says in result.output.replace("\n", " ")
    assert "Traceback" not in result.output


def test_a_missing_file_and_a_folder(tmp_path: Path) -> None:
    for path in (tmp_path / "nothing.yaml", tmp_path):
        assert run("rank", str(path)).exit_code == 2


@given(st.binary(max_size=300))
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_bytes_give_an_answer_or_status_2(tmp_path: Path, data: bytes) -> None:
    path = tmp_path / "any.yaml"
    path.write_bytes(data)
    result = run("rank", str(path))

    assert result.exit_code in (0, 2)
    assert result.exception is None or isinstance(result.exception, SystemExit)
    assert "\x1b" not in result.output


def test_rules_check_and_odds() -> None:
    assert run("rules", "check").exit_code == 0
    odds = json.loads(run("rules", "odds", "--json").stdout)
    assert sum(odds.values()) == pytest.approx(1)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("- part: widget\n  says: x\n  often: often\n", "widget.yaml:3:10"),
        ("- part: widget\n  says: x\n  often: rare\n  failures: [{failure: a, says: b, share: 1, effects: [{element: nowhere, is: open}]}]\n", "nowhere"),
        ("- point: p\n  says: x\n  function: ac_volts\n  unit: V\n  leads: [board_line, moon]\n  steps: [heating]\n  where: here\n", "There is no node moon"),
        ("- thing: x\n", "An entry starts with what it is"),
        ("- part: igniter\n  says: x\n  often: rare\n  failures: [{failure: a, says: b, share: 1}]\n", "is there already"),
    ],
)
def test_a_shops_bad_rules_are_told_with_their_place(tmp_path: Path, text: str, says: str) -> None:
    (tmp_path / "widget.yaml").write_text(text)
    result = run("rules", "check", str(tmp_path))

    assert result.exit_code == 2
    assert says in result.output
    assert "widget.yaml:" in result.output


def test_a_shops_own_part_is_ranked(tmp_path: Path) -> None:
    entry = "- part: igniter_relay_box\n  says: A relay of the shop's own.\n  kind: wire\n  element: igniter_harness_wire\n  often: rare\n"
    (tmp_path / "shop.yaml").write_text(entry)
    result = run("rules", "odds", "--rules", str(tmp_path))

    assert "igniter_relay_box" in result.output


def test_points_and_explain() -> None:
    assert "heat_terminal_to_neutral" in run("points", "heat", "terminal").output
    for identifier in ("igniter", "control_board:no_logic", "heating", "flame_current", "inducer_runs", "fan_call_tap"):
        result = run("explain", identifier)
        assert result.exit_code == 0, identifier
    assert run("explain", "igniterr").exit_code == 2


def test_help_loads_nothing_heavy() -> None:
    code = "import sys, furnace_diag.cli.main as m\ntry: m.main(['--help'])\nexcept SystemExit: pass\n"
    code += "print([x for x in ('numpy','pydantic','yaml') if x in sys.modules])"
    env = {**os.environ, "PYTHONPATH": str(TOP)}
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=TOP, env=env, check=True).stdout

    assert out.strip().endswith("[]")
