"""The population made in two halves is the one made at once."""

from __future__ import annotations

from concurrent.futures import ProcessPoolExecutor
from copy import copy

import numpy as np
import pytest

from furnace_diag.furnace import build as build_module
from furnace_diag.furnace.build import build_in_halves
from furnace_diag.furnace.family import Family
from furnace_diag.furnace.population import FLOATS, Population, build

SITES = 2


@pytest.fixture(scope="module")
def few(family: Family) -> Family:
    """The family with some of its failures, quick to run."""
    some = copy(family)
    some._failures = {fault: family.failure(fault) for fault in family.faults[::30]}
    return some


@pytest.fixture(scope="module")
def whole(few: Family) -> Population:
    return build(few, sites=SITES)


def assert_same(halves: Population, whole: Population) -> None:
    for name in ("fault_of", "site_of", "stops", "rests"):
        np.testing.assert_array_equal(getattr(halves, name), getattr(whole, name), err_msg=name)
    for name, values in whole.options.items():
        np.testing.assert_array_equal(halves.options[name], values, err_msg=name)
    assert (halves.family, halves.faults, halves.steps) == (whole.family, whole.faults, whole.steps)
    for mine, table, theirs, other in (
        (halves.columns, halves.table, whole.columns, whole.table),
        (halves.changed_columns, halves.changed, whole.changed_columns, whole.changed),
    ):
        assert set(mine) == set(theirs)
        for key, i in theirs.items():
            # a half in which a low-impedance meter reads nowhere otherwise has no column for it
            near = FLOATS if key[2] == "low" else 0.0
            np.testing.assert_allclose(table[mine[key]].astype(float), other[i].astype(float), rtol=0, atol=near, equal_nan=True, err_msg=str(key))


def test_two_halves_are_the_whole(few: Family, whole: Population) -> None:
    heard: list[float] = []
    halves = build_in_halves(few, sites=SITES, tell=lambda share, _: heard.append(share))

    assert_same(halves, whole)
    assert heard == sorted(heard)
    assert heard[-1] == 1.0


def test_a_machine_that_gives_no_second_process_builds_all_by_itself(few: Family, whole: Population, monkeypatch: pytest.MonkeyPatch) -> None:
    def refused(*_: object) -> ProcessPoolExecutor:
        raise OSError("no more processes")

    monkeypatch.setattr(build_module, "ProcessPoolExecutor", refused)

    assert_same(build_in_halves(few, sites=SITES), whole)
