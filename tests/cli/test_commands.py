"""Every command as a user types it: right input, rubbish, and help at 40 columns."""

from __future__ import annotations

import importlib
import importlib.metadata
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
from furnace_diag.diagnosis import engines
from furnace_diag.knowledge.models import Knowledge

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


@pytest.mark.parametrize("case", ["heat_relay_welded", "no_blower_heat_relay", "board_inducer_output"])
def test_a_suspected_board_fits_a_small_screen_with_all_that_its_proof_lacks(case: str) -> None:
    path = str(TOP / "cases" / f"{case}.yaml")
    board = json.loads(run("rank", path, "--json").stdout)["board"]
    shown = run("rank", path, columns=40).stdout
    told = " ".join(shown.split())
    later = [n["condition"].replace("_", " ") for n in board["nearest"]["needs"] if not n["met_by"]][1:]

    assert board["verdict"] == "suspected"
    assert len(shown.splitlines()) < 70
    assert f"Then: {', '.join(later)}." in told


def test_rank_json_has_the_contracts_fields() -> None:
    result = json.loads(run("rank", str(CASE), "--json").stdout)

    assert {"hazards", "parts", "something_else", "board", "not_told_apart", "assumed", "read_as", "rules_version"} <= set(result)
    assert result["board"]["verdict"] in {"unlikely", "not_judged", "cleared"}  # the case is no board
    assert {"probability", "proved", "nearest", "cleared", "killers"} <= set(result["board"])
    assert result["engine"].split()[0] in {"durable_rules", "clipspy"}


@pytest.mark.parametrize("package", ["durable-rules", "clipspy"])
def test_rank_says_which_engine_ran_the_rules(package: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """clipspy where the compiled module of durable-rules cannot be had."""
    if package == "clipspy":
        monkeypatch.setattr(engines, "_durable", lambda: importlib.import_module("no_such_module"))
    else:
        pytest.importorskip("durable_rules_engine")
    named = f"{package.replace('-', '_')} {importlib.metadata.version(package)}"

    assert json.loads(run("rank", str(CASE), "--json").stdout)["engine"] == named
    assert f"findings by {named}." in " ".join(run("rank", str(CASE), "--all").stdout.split())


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
        ("", "The file is empty. Write for instance:   furnace: {family: induced_draft_hsi_80}   complaint: no heat   records:"),
        ("# only a comment", "The file is empty. Write for instance:"),
        ("just words", "A report is a mapping of names to values, not a word. Start a line with `records:`"),
        ("- {sign: inducer_runs, value: yes}", "not a list. Start a line with `records:`"),
        ("{story: x}", "records"),
        ("records: {sign: inducer_runs}", "records must be a list"),
        ("records: [[]]", "Write each as - {sign: inducer_runs, value: yes}."),
        ("records: []\nrecords: []", 'report.yaml:2:1: The key "records" is here again'),
        ("records: []\n---\nrecords: []", "report.yaml:2:1"),
        ("records: !!python/name:os.system x", "report.yaml:1:10: Tags"),
        ("records: []\n<<: {a: b}", "report.yaml:2:1: Merge keys"),
        ("records: " + "[" * 500 + "]" * 500, "report.yaml:1:41: The nesting is deeper"),
        ("records: [" + "{sign: light, value: off}, " * 1001 + "]", "1000 or fewer entries"),
        ("records: [{sign: light, value: off, call: heat}]", "`call` counts the heat calls"),
        ("records: [{sign: light, value: off, after_s: nan}]", "an ordinary number"),
        ("records: [{sign: light, value: off, after_s: .inf}]", "Write the seconds as a plain number"),
        ('records: [{sign: "a\\eb", value: x}]', "report.yaml:1:18"),
        ("records: [{sign: a\x1bb, value: x}]", "report.yaml:1:19: The file has the character \\x1b"),
        ("complaint: \u202e\nrecords: []", "\\u202e"),
        ("furnace: {options: {trials: 9}}\nrecords: []", "trials cannot be 9. Use one of: 3, 4, 5."),
    ],
)
def test_bad_reports_are_told_with_their_place_and_status_2(tmp_path: Path, text: str, says: str) -> None:
    path = tmp_path / "report.yaml"
    path.write_text(text)
    result = run("rank", str(path))

    assert result.exit_code == 2, result.output
    assert says in result.output.replace("\n", " ")
    assert "Traceback" not in result.output


def test_what_is_no_readable_file_is_told_with_status_2(tmp_path: Path) -> None:
    (tmp_path / "binary.yaml").write_bytes(bytes(range(256)))
    (tmp_path / "latin.yaml").write_bytes("complaint: caf\xe9".encode("latin-1"))
    (tmp_path / "huge.yaml").write_bytes(b"# " + b"x" * 1_000_001)
    (tmp_path / "loop.yaml").symlink_to("loop.yaml")
    os.mkfifo(tmp_path / "pipe.yaml")
    says = {
        "nothing.yaml": "There is no such file.", ".": "This is a folder", "binary.yaml": "is not UTF-8 text", "latin.yaml": "1:15: The byte 0xe9",
        "huge.yaml": "larger than 1,000,000 bytes", "loop.yaml": "cannot be opened", "pipe.yaml": "not an ordinary file",
    }  # fmt: skip
    for name, said in says.items():
        result = run("rank", str(tmp_path / name))
        assert result.exit_code == 2, name
        assert said in result.output
        assert isinstance(result.exception, SystemExit)


@given(st.binary(max_size=300))
@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
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


def test_rubbish_for_rules_is_told_with_status_2(tmp_path: Path) -> None:
    contents = {
        "empty": b"", "binary": bytes(range(256)), "latin": b"- part: caf\xe9", "deep": b"[" * 5000, "alias": b"- part: &a x\n  says: *a",
        "twice": b"- part: x\n  part: y", "escape": b"- part: x\x1b[2J", "word": b"hello", "huge": b"# " + b"x" * 1_000_001,
        "endless": b"- part: x\n  says: y\n  often: rare\n  failures: [{failure: a, says: b, share: .inf}]",
        "no_number": b"- hazard: h\n  rank: 3\n  says: x\n  when: [{point: flame_current, at_least: nan}]\n  now: a\n  call: b\n  source: c",
    }  # fmt: skip
    for name, data in contents.items():
        (tmp_path / name).mkdir()
        (tmp_path / name / "shop.yaml").write_bytes(data)
        result = run("rules", "check", str(tmp_path / name))
        assert result.exit_code == 2, name
        assert "shop.yaml:" in result.output
        assert "\x1b" not in result.output
        assert isinstance(result.exception, SystemExit)
    for path in (tmp_path / "nowhere", tmp_path / "word" / "shop.yaml"):
        assert "There is no folder" in run("rules", "check", str(path)).output


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
    entry += "- repair: replace_the_relay_box\n  of: igniter_relay_box\n  says: Replace it.\n  confirm: Dead behind it.\n  steps: [Replace it.]\n"
    (tmp_path / "shop.yaml").write_text(entry)
    result = run("rules", "odds", "--rules", str(tmp_path))

    assert result.exit_code == 0, result.output
    assert "igniter_relay_box" in result.output


def test_a_shops_part_without_a_repair_is_told(tmp_path: Path) -> None:
    entry = "- part: igniter_relay_box\n  says: A relay of the shop's own.\n  kind: wire\n  element: igniter_harness_wire\n  often: rare\n"
    (tmp_path / "shop.yaml").write_text(entry)
    result = run("rules", "odds", "--rules", str(tmp_path))

    assert result.exit_code == 2
    assert "shop.yaml:1:1: igniter_relay_box has no repair for open, resistive." in result.output


@pytest.mark.parametrize(("word", "first"), [("rain", "event heavy_rain"), ("wind", "event high_wind"), ("decorating", "event decorating_or_drilling")])
def test_points_tells_of_events_too(word: str, first: str) -> None:
    assert first in run("points", word).stdout.splitlines()
    assert first in run("points", "event", "--all").stdout.splitlines()


def test_points_find_by_all_words_names_first() -> None:
    assert run("points", "heat", "tap").stdout.startswith("point heat_terminal_to_neutral")
    assert "w_to_c_at_board" in run("points", "24v", "at", "w").stdout.splitlines()[0]


def test_led_is_not_found_in_lead() -> None:
    assert [line for line in run("points", "led").stdout.splitlines() if line.startswith(("point", "sign"))] == [
        "sign light [dark | lit | steady | blinking]",
        "sign light_says [no_fault | pressure_switch_open | pressure_switch_closed |",
    ]


def test_points_say_how_many_were_left_out() -> None:
    everything = len(json.loads(run("points", "inducer", "--json").stdout))
    some = run("points", "inducer", columns=40)
    shown = sum(line.startswith(("point ", "sign ")) for line in some.stdout.splitlines())

    assert f"{everything - shown} of {everything} left out" in " ".join(some.stdout.split())
    assert "left out" not in run("points", "inducer", "--all").stdout
    assert max(map(len, some.stdout.splitlines())) <= 40


@pytest.mark.parametrize("words", [("xyzzy",), ("(((",), ("\x1b[2J",), ("x" * 3000,)])
def test_points_that_nothing_has(words: tuple[str, ...]) -> None:
    result = run("points", *words)

    assert result.exit_code == 1
    assert "Try fewer words" in result.output
    assert "\x1b" not in result.output


def test_points_suggest_for_a_misspelt_word() -> None:
    result = run("points", "pressre", "switch")

    assert result.exit_code == 1
    assert "Did you mean pressure_switch_ohms" in result.output


@pytest.mark.parametrize(
    ("words", "first"),
    [
        ("igniter", "igniter: a part"),
        ("control_board:no_logic", "control_board:no_logic"),
        ("board: heat relay will not close", "control_board:heat_relay_will_not_close"),
        ("gas valve: won't open", "gas_valve:will_not_open"),
        ("gas valve: stuck valve", "gas_valve:will_not_open"),
        ("heating", "heating: a step"),
        ("lock out", "lockout: a step"),
        ("flame_current", "flame_current: a point"),
        ("24 volts at w", "w_to_c_at_board: a point"),
        ("flame rod", "flame_rod: a part"),
        ("led", "light: a sign"),
        ("inducer_runs", "inducer_runs: a sign"),
        ("fan_call_tap", "fan_call_tap: an option"),
        ("seized bearings", "blower_motor:seized"),
        ("port_plugged", "pressure_hose:port_plugged"),
        ("storm", "storm_or_outage: event"),
    ],
)
def test_explain_takes_ids_and_other_names_of_several_words(words: str, first: str) -> None:
    """As separate words or as one argument."""
    for args in (words.split(), [words]):
        result = run("explain", *args)
        assert result.exit_code == 0, result.output
        assert result.stdout.startswith(first)


def test_explain_tells_what_else_is_called_so() -> None:
    assert "Called so too: sign igniter_glows, step igniter_warm_up." in run("explain", "igniter").stdout


def test_explain_tells_every_failure_of_that_name() -> None:
    text = " ".join(run("explain", "winding open").stdout.split())

    assert text.startswith("blower_motor:winding_open")
    assert "inducer:winding_open" in text


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ("igniterr", "Did you mean igniter "),
        ("gas valve: stuck", "gas_valve has no failure called stuck. Its failures: will_not_open, "),
        ("zzz", "Nothing is called zzz."),
        (" ", "Nothing is called"),
        (":", "Nothing is called :."),
        ("\x1b[2J", "Nothing is called \\x1b[2J."),
        ("x" * 3000, "xxx.... furnace-diag points"),
    ],
)
def test_explain_of_nothing_known_is_told_with_status_2(words: str, says: str) -> None:
    result = run("explain", words)

    assert result.exit_code == 2
    assert says in " ".join(result.output.split())
    assert "\x1b" not in result.output


def test_a_rank_tells_what_it_read(tmp_path: Path) -> None:
    path = tmp_path / "report.yaml"
    path.write_text("records:\n- {sign: inducer, value: not running, step: heat call}\n- {point: gas pin, value: 0, contact: crimp, step: gas}\n")
    said = " ".join(run("rank", str(path)).stdout.split())

    assert "Read as: inducer: not running -> inducer_runs = no at call, Whether the inducer turns" in said
    assert "Read as: gas pin: 0 -> gas_wire_to_c at ignition_trial, The crimp behind the gas valve pin to C" in said


def test_a_rank_tells_its_advice_in_words(tmp_path: Path, knowledge: Knowledge) -> None:
    path = tmp_path / "report.yaml"
    path.write_text("records:\n- {sign: fault_comes_and_goes, value: yes}\n")
    said = " ".join(run("rank", str(path)).stdout.split())

    assert f"Advice: {knowledge.advice['catch_it_going'].says}" in said
    assert "catch_it_going" not in said


def test_a_rank_loads_nothing_that_it_has_no_use_for() -> None:
    code = "import sys, furnace_diag.cli.main as m\ntry: m.main(['rank', 'cases/no_blower_heat_relay.yaml'])\nexcept SystemExit: pass\n"
    heavy = ("numpy.ma", "furnace_diag.knowledge.cross", "furnace_diag.diagnosis.pairs", "ruamel.yaml", "pydantic", "pydantic_core", "importlib.metadata")
    code += f"print([x for x in {heavy} if x in sys.modules])"
    run("rank", str(TOP / "cases" / "no_blower_heat_relay.yaml"))  # the rules are kept from here on
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=TOP, env={**os.environ, "PYTHONPATH": str(TOP)}, check=True).stdout

    assert "control board" in out
    assert out.strip().endswith("[]")


def test_help_loads_nothing_heavy() -> None:
    code = "import sys, furnace_diag.cli.main as m\ntry: m.main(['--help'])\nexcept SystemExit: pass\n"
    code += "print([x for x in ('numpy','pydantic','yaml') if x in sys.modules])"
    env = {**os.environ, "PYTHONPATH": str(TOP)}
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=TOP, env=env, check=True).stdout

    assert out.strip().endswith("[]")


def test_a_failure_is_not_named_alone_where_another_of_the_part_is_nearly_as_likely(tmp_path: Path) -> None:
    """Of a dead transformer either winding may be open; the screen names both, the JSON all."""
    path = tmp_path / "report.yaml"
    path.write_text("complaint: no heat\nrecords:\n- {sign: whole_furnace, value: dead}\n- {point: secondary_volts_at_board, value: 0, step: standby}\n")
    shown = run("rank", str(path))
    parts = json.loads(run("rank", "--json", str(path)).output)["parts"]
    for line in shown.output.partition("Suspects\n")[2].partition("something else")[0].splitlines()[:-1]:
        name, _, ways = line.partition("% ")[2].partition(": ")
        failures = next(p["failures"] for p in parts if p["part"] == name.replace(" ", "_"))
        nearly = len(failures) > 1 and failures[1]["probability"] >= failures[0]["probability"] / 2
        assert (" or " in ways) is nearly, line
    assert " or " in shown.output.partition("something else")[0]


@pytest.mark.parametrize("columns", [40, 100])
def test_a_fault_of_the_program_is_told_in_plain_words_with_a_status_of_its_own(columns: int, monkeypatch: pytest.MonkeyPatch) -> None:
    from furnace_diag.diagnosis import answer

    def failing(*_: object, **__: object) -> None:
        raise KeyError("a name of the program's\x1b[2J")

    monkeypatch.setattr(answer, "weighed", failing)
    with pytest.raises(KeyError):
        CliRunner(env={"COLUMNS": str(columns)}).invoke(main, ["rank", str(CASE)], catch_exceptions=False)
    monkeypatch.delenv("FURNACE_DIAG_TRACEBACK")
    result = run("rank", str(CASE), columns=columns)

    assert result.exit_code == os.EX_SOFTWARE  # of sysexits.h: an internal software error has been detected
    assert "Traceback" not in result.output
    assert "\x1b" not in result.output
    told = " ".join(result.stderr.split())
    assert "furnace_diag itself failed" in told
    assert "KeyError at test_commands.py:" in told
    assert "visit --resume" in told
    assert max(map(len, result.stderr.splitlines())) <= columns
