"""The store: what was saved comes back; what is damaged or foreign does not, and is built anew."""

from __future__ import annotations

import json
import math
import os
import subprocess
import sys
from collections.abc import Callable
from copy import copy
from functools import partial
from pathlib import Path

import numpy as np
import pytest

from furnace_diag.furnace import store as store_module
from furnace_diag.furnace.family import Family
from furnace_diag.furnace.population import Population, build
from furnace_diag.furnace.store import load, population_for, save

TOP = Path(__file__).resolve().parents[2]
BYTES = 20_000_000  # a store is smaller than this


def test_round_trip(population: Population, tmp_path: Path) -> None:
    assert save(population, tmp_path, "a" * 32)
    found = load(tmp_path, "a" * 32)

    assert found is not None
    assert found.columns == population.columns
    np.testing.assert_array_equal(found.table, population.table)
    assert sum(f.stat().st_size for f in tmp_path.rglob("*") if f.is_file()) < BYTES


@pytest.mark.parametrize("name", ["arrays.raw", "page.json", "page.sha256"])
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


# --- what cannot be trusted is built anew -----------------------------------------------------


@pytest.fixture(scope="module")
def small(family: Family) -> Population:
    """A few failures on one furnace only: built in a moment."""
    some = copy(family)
    some._failures = {fault: family.failure(fault) for fault in family.faults[::20]}
    return build(some, sites=1)


@pytest.fixture
def kept(family: Family, small: Population, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> tuple[Path, list[int]]:
    """The folder of a sound store of *small*, and a list that grows by one with every building."""
    built: list[int] = []

    def building(*_: object, **__: object) -> Population:
        built.append(1)
        return small

    monkeypatch.setattr(store_module, "build", building)
    population_for(family, folder=tmp_path)
    (place,) = tmp_path.iterdir()
    return place, built


def rewritten(name: str, change: Callable[[bytes], bytes]) -> Callable[[Path], object]:
    return lambda place: (place / name).write_bytes(change((place / name).read_bytes()))


def one_digit_changed(page: bytes) -> bytes:
    """Still JSON, and still a page: only a reading's column is another."""
    first = next(column for column in (b', "", 0]', b', "high", 0]') if column in page)
    return page.replace(first, first.replace(b"0", b"1"), 1)


def piece(place: Path, name: str) -> slice:
    """Where an array lies in the file of arrays."""
    described = json.loads((place / "page.json").read_text(encoding="utf-8"))["arrays"][name]
    return slice(described["at"], described["at"] + math.prod(described["shape"]) * np.dtype(described["dtype"]).itemsize)


def one_bit_of(name: str) -> Callable[[Path], object]:
    """The middle one."""

    def change(place: Path) -> None:
        data = bytearray((place / "arrays.raw").read_bytes())
        lies = piece(place, name)
        data[(lies.start + lies.stop) // 2] ^= 1
        (place / "arrays.raw").write_bytes(data)

    return change


def stops_and_rests_changed(place: Path) -> None:
    data = bytearray((place / "arrays.raw").read_bytes())
    stops, rests = piece(place, "stops"), piece(place, "rests")
    data[stops], data[rests] = data[rests], data[stops]
    (place / "arrays.raw").write_bytes(data)


DAMAGE = {
    **{f"one bit of {name}": one_bit_of(name) for name in store_module.ARRAYS},
    "the first bit": rewritten("arrays.raw", lambda data: bytes([data[0] ^ 1]) + data[1:]),
    "the last bit": rewritten("arrays.raw", lambda data: data[:-1] + bytes([data[-1] ^ 1])),
    "arrays cut short": rewritten("arrays.raw", lambda data: data[:-2]),
    "more arrays than there were": rewritten("arrays.raw", lambda data: data + bytes(64)),
    "other arrays of the same size": rewritten("arrays.raw", lambda data: bytes(len(data))),
    "two arrays that changed places": stops_and_rests_changed,
    "a page with one digit changed": rewritten("page.json", one_digit_changed),
    "an empty page": rewritten("page.json", lambda page: b"{}"),
    "a page that is no JSON": rewritten("page.json", lambda page: b"\xff\xfe"),
    "a page far too large": rewritten("page.json", lambda page: b" " * 5_000_000),
}


@pytest.mark.parametrize("damage", DAMAGE.values(), ids=DAMAGE)
def test_what_is_damaged_is_built_anew(family: Family, small: Population, kept: tuple[Path, list[int]], damage: Callable[[Path], object]) -> None:
    place, built = kept
    before = {f.name: f.read_bytes() for f in place.iterdir()}
    damage(place)
    assert {f.name: f.read_bytes() for f in place.iterdir()} != before  # or there would be nothing to notice

    found = population_for(family, folder=place.parent)

    assert len(built) == 2
    np.testing.assert_array_equal(found.table, small.table)
    assert {f.name: f.read_bytes() for f in place.iterdir()} == before  # mended on disk too
    population_for(family, folder=place.parent)
    assert len(built) == 2


def test_a_sound_store_is_not_built_again(family: Family, kept: tuple[Path, list[int]]) -> None:
    place, built = kept
    population_for(family, folder=place.parent)

    assert len(built) == 1


def test_a_page_of_another_store_is_foreign(small: Population, tmp_path: Path) -> None:
    """Sound in itself, with its own seal and arrays, but kept under another name: built from something else."""
    save(small, tmp_path, "d" * 32)
    (tmp_path / ("d" * 32)).rename(tmp_path / ("e" * 32))

    assert load(tmp_path, "e" * 32) is None


# --- several processes ------------------------------------------------------------------------

BUILDER = """
import sys, time
from functools import partial
from pathlib import Path
from furnace_diag.furnace import store
from furnace_diag.furnace.family import Family
from furnace_diag.furnace.population import build
from furnace_diag.knowledge.load import load_rules

folder, start = Path(sys.argv[1]), Path(sys.argv[2])
knowledge = load_rules()
family = Family(knowledge, next(iter(knowledge.furnace)))
family._failures = {fault: family.failure(fault) for fault in family.faults[::20]}
store.build = partial(build, sites=1)
print("ready", flush=True)
while not start.exists():
    time.sleep(0.005)
population = store.population_for(family, folder=folder)
key = population.home.name
for _ in range(25):
    store.save(population, folder, key)
    found = store.load(folder, key)  # None while the other one puts its own there
    assert found is None or (found.table.tobytes() == population.table.tobytes() and found.columns == population.columns)
print(population.table.tobytes().hex())
"""


def test_two_processes_that_build_at_once_do_no_harm(family: Family, small: Population, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder, start = tmp_path / "stores", tmp_path / "start"
    command = [sys.executable, "-c", BUILDER, str(folder), str(start)]
    both = [
        subprocess.Popen(command, cwd=TOP, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env={**os.environ, "PYTHONPATH": str(TOP)})
        for _ in range(2)
    ]
    ready = [p.stdout.readline().strip() for p in both if p.stdout]
    start.touch()
    ends = [p.communicate(timeout=120) for p in both]

    assert ready == ["ready", "ready"], ends
    assert [p.returncode for p in both] == [0, 0], [errors for _, errors in ends]
    assert [out.strip() for out, _ in ends] == [small.table.tobytes().hex()] * 2
    assert len([*folder.iterdir()]) == 1, "no litter is left behind"
    monkeypatch.setattr(store_module, "build", partial(pytest.fail, "the store that is left is not whole"))
    np.testing.assert_array_equal(population_for(family, folder=folder).table, small.table)
