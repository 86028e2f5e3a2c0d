"""What a part of somebody's own rule file may say of its failures and of what its repair leaves wrong."""

from __future__ import annotations

from pathlib import Path

import pytest

from furnace_diag.knowledge.load import read_rules

ENTRY = """
- part: spare_part
  says: a part of our own
  often: rare
  disturbs: [{disturbs}]
  failures:
    - {{failure: grounded, says: it is grounded, share: 1, {says}, effects: [{{element: breaker, is: open}}]}}
"""
REPAIR = """
- repair: replace_the_spare_part
  of: spare_part
  says: Replace it.
  confirm: It reads nothing to metal.
  cautions: [dead_first]
  steps:
    - {do: Replace it., cautions: [dead_first]}
  after: [leads_sit_tight]
"""


def problems_of(tmp_path: Path, *, disturbs: str = "flame_wire", says: str = "trips_with: [igniter]") -> str:
    (tmp_path / "own.yaml").write_text(ENTRY.format(disturbs=disturbs, says=says), encoding="utf-8")
    (tmp_path / "repairs.yaml").write_text(REPAIR, encoding="utf-8")
    _, problems = read_rules([tmp_path])
    return " ".join(str(p) for p in problems)


@pytest.mark.parametrize(
    ("entry", "told"),
    [
        ({"says": "trips_with: [glow_worm]"}, "glow_worm"),
        ({"says": "trips_with: [igniter], comes_and_goes: {share: 0.5}"}, "both comes and goes and trips the breaker"),
        ({"disturbs": "flame_wyre"}, "flame_wyre"),
        ({"disturbs": '"flame_rod:out_of_flames"'}, "out_of_flames"),
    ],
)
def test_what_is_not_there_or_does_not_go_together_is_told(tmp_path: Path, entry: dict[str, str], told: str) -> None:
    assert told in problems_of(tmp_path, **entry)


@pytest.mark.parametrize("entry", [{}, {"disturbs": '"flame_rod:out_of_flame", blower_wiring'}, {"says": "trips_with: [blower_heat, blower_cool]"}])
def test_what_is_there_is_taken(tmp_path: Path, entry: dict[str, str]) -> None:
    assert problems_of(tmp_path, **entry) == ""
