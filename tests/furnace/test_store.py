"""The store: what was saved comes back; what is damaged or foreign does not."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from furnace_diag.furnace.population import Population
from furnace_diag.furnace.store import load, save


def test_round_trip(population: Population, tmp_path: Path) -> None:
    assert save(population, tmp_path, "a" * 32)
    found = load(tmp_path, "a" * 32)

    assert found is not None
    assert found.columns == population.columns
    np.testing.assert_array_equal(found.table, population.table)
    assert sum(f.stat().st_size for f in tmp_path.rglob("*") if f.is_file()) < 20_000_000


@pytest.mark.parametrize("name", ["table.raw", "page.json", "stops.raw"])
@pytest.mark.parametrize("how", ["flip", "cut", "gone"])
def test_damage_is_noticed(population: Population, tmp_path: Path, name: str, how: str) -> None:
    save(population, tmp_path, "b" * 32)
    victim = tmp_path / ("b" * 32) / name
    data = bytearray(victim.read_bytes())
    data[len(data) // 2] ^= 0xFF
    if how == "gone":
        victim.unlink()
    else:
        victim.write_bytes(bytes(data) if how == "flip" else bytes(data[: len(data) // 2]))
    found = load(tmp_path, "b" * 32)

    assert found is None


def test_a_folder_that_cannot_be_written_does_no_harm(population: Population, tmp_path: Path) -> None:
    file = tmp_path / "file"
    file.write_text("in the way")

    assert not save(population, file, "c" * 32)
