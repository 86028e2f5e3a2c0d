"""`rank --two`: pairs of failures beside single ones, and a board's verdict that they do not touch."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from furnace_diag.cli.main import main

REPORT = """complaint: no heat, and no air on the fan
records:
- {point: igniter_ohms, value: OL, step: power_off}
- {sign: igniter_glows, value: "no", step: igniter_warm_up}
- {point: capacitor_microfarads, value: 0, step: power_off}
- {sign: blower_runs, value: hums, step: fan_call}
- {sign: blower_runs, value: hums, step: cooling_call}
"""


@pytest.fixture(autouse=True)
def _own_store(store: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("FURNACE_DIAG_CACHE", str(store))


@pytest.fixture
def report(tmp_path: Path) -> Path:
    path = tmp_path / "two.yaml"
    path.write_text(REPORT, encoding="utf-8")
    return path


def run(*words: str, columns: int = 80) -> Result:
    return CliRunner(env={"COLUMNS": str(columns)}).invoke(main, ["rank", *words])


def test_pairs_stand_beside_the_answer_and_change_nothing_of_it(report: Path) -> None:
    alone, both = (json.loads(run(str(report), "--json", *more).stdout) for more in ((), ("--two",)))
    two = both.pop("two")

    assert both == alone  # the board's verdict among it
    assert two["all_pairs"] + two["something_else"] + sum(s["probability"] for s in two["singles"]) <= 1 + 1e-9
    assert [p["probability"] for p in two["pairs"]] == sorted((p["probability"] for p in two["pairs"]), reverse=True)
    # OL through the igniter and an empty capacitor, neither of which the other can give; common practice, no source
    assert {f.partition(":")[0] for f in two["pairs"][0]["failures"]} == {"igniter", "blower_capacitor"}


def test_it_fits_a_small_screen_tells_its_progress_and_that_a_pair_proves_nothing(report: Path) -> None:
    result = run(str(report), "--two", columns=40)

    assert result.exit_code == 0
    assert max(map(len, result.stdout.splitlines())) <= 40
    assert "Two failures at once" in result.stdout
    assert "A pair is a lead, not a finding" in " ".join(result.stdout.split())
    assert "100%" in result.stderr


def test_an_answer_with_a_clash_says_that_pairs_can_be_weighed(report: Path) -> None:
    told = " ".join(run(str(report)).stdout.split())

    assert "Cannot be true together: igniter_ohms: OL" in told
    assert "--two" in told
