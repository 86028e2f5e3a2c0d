"""furnace-diag whatif: the answer as if a reading were so."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from furnace_diag.cli.main import main

CASE = str(Path(__file__).resolve().parents[2] / "cases" / "limit_open.yaml")


def run(*words: str) -> Result:
    return CliRunner().invoke(main, ["whatif", *words])


def test_a_reading_that_points_elsewhere_moves_belief_there() -> None:
    """A blown fuse with the furnace dark is a fuse or a short, whatever the limit read: both were reported as nothing else."""
    told = json.loads(run(CASE, "fuse looks: blown", "stops at: dark", "r to c at board: 0 at standby", "--json").stdout)
    low_voltage = {"low_voltage_fuse", "outdoor_circuit", "thermostat_cable", "gas_valve", "wiring_harness", "gas_harness", "other_control"}
    share = {when: sum(p["probability"] for p in told[when]["parts"] if p["part"] in low_voltage) for when in ("now", "then")}

    assert told["now"]["parts"][0]["part"] == "limit_switch"
    assert share["then"] > 0.5 > share["now"]


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["fuse loks blown"], "tells no value"),
        (["igniter ohms:"], "tells no value"),
        (["nonsense: 5"], "names nothing"),
        (["igniter ohms: purple"], "igniter_ohms"),
        (["\x1b[31mfuse: blown"], "names nothing"),
    ],
)
def test_rubbish_is_told_with_its_place(words: list[str], told: str) -> None:
    result = run(CASE, *words)

    assert result.exit_code == 2
    assert told in result.stderr
    assert "record" in result.stderr
    assert "\x1b" not in result.stderr
    assert "Traceback" not in result.stderr
