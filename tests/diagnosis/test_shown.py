"""The table of what may be shown: the same sums as adding up furnace by furnace; kept on the disk, it comes back the same or is made anew."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from furnace_diag.diagnosis.bins import FEW as FEW_READINGS
from furnace_diag.diagnosis.bins import bins_of, bins_of_numbers, error_of, errors_of
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.habits import ever_there
from furnace_diag.diagnosis.reckoning import OF_EACH, standing_for
from furnace_diag.diagnosis.shown import ARRAYS, FEW, NEVER, Shown, shown_by


@pytest.fixture(scope="module", params=[1.0, FEW / 20], ids=["all weigh", "few weigh"])
def drawn(evidence: Evidence, request: pytest.FixtureRequest) -> tuple[np.ndarray, np.ndarray]:
    """A belief: weights of the furnaces with a failure, and of each failure; of a share of them nothing but nought."""
    random = np.random.default_rng(7)
    weight, failures = random.random(len(evidence.failed)) ** 6, random.random(len(evidence.population.faults))
    return tuple(np.where(random.random(len(each)) < request.param, each, 0.0) for each in (weight, failures))


def test_points_add_up_furnace_by_furnace(evidence: Evidence, drawn: tuple[np.ndarray, np.ndarray]) -> None:
    weight, failures = drawn
    shown = evidence.shown
    summed = shown.by_part(weight, failures)
    part = evidence.part_of[evidence.population.fault_of[evidence.failed]]
    points = [i for i, key in enumerate(shown.keys) if key[0] in evidence.knowledge.point and evidence.reads_as_good(key[0]) is None]

    for i in points[::11]:
        read = evidence.population.table[evidence.column(shown.keys[i])][evidence.failed]
        bins = bins_of_numbers(read, *error_of(evidence.knowledge.point[shown.keys[i][0]]))
        lines = np.flatnonzero(shown.column == i)
        assert set(shown.bins[lines].tolist()) == set(bins.tolist())
        for line in lines:
            alike = bins == shown.bins[line]
            assert summed[line] == pytest.approx(np.bincount(part[alike], weight[alike], summed.shape[1]), rel=1e-9, abs=1e-12)


def test_what_is_read_of_a_part_by_itself_may_be_as_on_the_good_furnace_of_any_site(evidence: Evidence, drawn: tuple[np.ndarray, np.ndarray]) -> None:
    """Which igniter a site has tells nothing of what is wrong there: who reads as the good furnace of his site reads as often as good ones do in each bin."""
    weight, failures = drawn
    shown, population = evidence.shown, evidence.population
    summed = shown.by_part(weight, failures)
    part = evidence.part_of[population.fault_of[evidence.failed]]
    of_one_part = [i for i, key in enumerate(shown.keys) if key[0] in evidence.knowledge.point and evidence.reads_as_good(key[0]) is not None]
    assert {"igniter_ohms", "capacitor_microfarads"} <= {shown.keys[i][0] for i in of_one_part}

    for i in of_one_part:
        bins = bins_of_numbers(population.table[evidence.column(shown.keys[i])], *error_of(evidence.knowledge.point[shown.keys[i][0]]))
        as_good = evidence.reads_as_good(shown.keys[i][0])
        assert as_good is not None
        good, own, alike = bins[population.fault_of < 0], bins[evidence.failed], as_good[evidence.failed]
        lines = np.flatnonzero(shown.column == i)
        assert set(shown.bins[lines].tolist()) == {*good.tolist(), *own[~alike].tolist()}
        for line in lines:
            expected = weight * np.where(alike, np.mean(good == shown.bins[line]), own == shown.bins[line])
            assert summed[line] == pytest.approx(np.bincount(part, expected, summed.shape[1]), rel=1e-9, abs=1e-12)


def test_signs_add_up_furnace_by_furnace(evidence: Evidence, drawn: tuple[np.ndarray, np.ndarray]) -> None:
    weight, failures = drawn
    shown = evidence.shown
    summed = shown.by_part(weight, failures)
    part = evidence.part_of[evidence.population.fault_of[evidence.failed]]
    signs = [i for i, key in enumerate(shown.keys) if key[0] in evidence.knowledge.sign and key[1]]

    for i in signs[::9]:
        sign = evidence.knowledge.sign[shown.keys[i][0]]
        assert sign.shows is not None
        chance = evidence.foretold.chances(sign)
        seen = evidence.population.table[evidence.column(shown.keys[i])][evidence.failed].astype(float)
        for line in np.flatnonzero((shown.column == i) & (shown.bins != NEVER)):
            share = np.where(np.isnan(seen), 0.0, chance[shown.bins[line]][np.nan_to_num(seen).astype(int)])
            assert summed[line] == pytest.approx(np.bincount(part, weight * share, summed.shape[1]), rel=1e-9, abs=1e-12)


def test_habits_add_up_failure_by_failure(evidence: Evidence, drawn: tuple[np.ndarray, np.ndarray]) -> None:
    weight, failures = drawn
    shown = evidence.shown
    summed = shown.by_part(weight, failures)

    for i, (name, step, _) in enumerate(shown.keys):
        if step == "":
            for line in np.flatnonzero(shown.column == i):
                sign = evidence.knowledge.sign[name]
                never = shown.bins[line] == NEVER
                assert not never or sign.seen_only_with
                share = 1 - ever_there(sign, evidence.foretold, evidence.having) if never else evidence.habits(sign, sign.values[shown.bins[line]])
                assert summed[line] == pytest.approx(np.bincount(evidence.part_of, failures * share, summed.shape[1]), rel=1e-9)


def test_one_part_adds_up_as_all_do(evidence: Evidence, drawn: tuple[np.ndarray, np.ndarray]) -> None:
    summed = evidence.shown.by_part(*drawn)
    for part in range(0, summed.shape[1], 5):
        assert evidence.shown.of_part(part, *drawn) == pytest.approx(summed[:, part])


def test_failures_add_up_as_all_their_furnaces_do(evidence: Evidence, drawn: tuple[np.ndarray, np.ndarray]) -> None:
    """A failure that is believed in so is each of its furnaces, one as likely as the other."""
    _, failures = drawn
    fault = evidence.population.fault_of[evidence.failed]
    each = (failures / np.bincount(fault, minlength=len(failures)))[fault]
    lines = np.arange(0, len(evidence.shown.column), 7)
    expected = evidence.shown.by_part(each, failures).sum(axis=1)[lines]

    assert evidence.shown.on_furnaces(failures, lines) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("furnaces", [3, 2000])
def test_many_readings_or_few_go_into_the_same_bins(evidence: Evidence, furnaces: int) -> None:
    names = [name for name, _, _ in evidence.population.columns]
    values = evidence.population.table[:, :furnaces]
    assert (values.size > FEW_READINGS) == (furnaces > 3)

    bins = bins_of(values, errors_of(evidence.knowledge, names))
    for i, name in enumerate(names):
        if name in evidence.knowledge.point:
            assert bins[i].tolist() == bins_of_numbers(values[i], *error_of(evidence.knowledge.point[name])).tolist()


# --- kept on the disk -------------------------------------------------------------------------


def same(one: Shown, other: Shown) -> bool:
    arrays = all(np.array_equal(getattr(one, name), getattr(other, name)) for name in ARRAYS)
    return arrays and (one.keys, one.points) == (other.keys, other.points)


@pytest.fixture
def at_home(evidence: Evidence, tmp_path: Path) -> Iterator[Evidence]:
    """The same furnaces with an empty folder beside which to keep things."""
    yield Evidence(evidence.family, replace(evidence.population, home=tmp_path))
    shutil.rmtree(tmp_path, ignore_errors=True)


def test_what_is_kept_comes_back_the_same(at_home: Evidence) -> None:
    assert at_home.population.home is not None
    made = shown_by(at_home, at_home.usual_keys, at_home.failed)

    assert same(at_home.shown, made)
    (store,) = at_home.population.home.iterdir()
    assert same(Evidence(at_home.family, at_home.population).shown, made)
    assert sum(f.stat().st_size for f in store.iterdir()) < 6_000_000


@pytest.mark.parametrize("name", ["arrays.raw", "page.json"])
def test_what_is_damaged_is_made_anew(at_home: Evidence, name: str) -> None:
    assert at_home.population.home is not None
    made = at_home.shown
    (store,) = at_home.population.home.iterdir()
    data = bytearray((store / name).read_bytes())
    data[len(data) // 2] ^= 0xFF
    (store / name).write_bytes(bytes(data))

    assert same(Evidence(at_home.family, at_home.population).shown, made)
    assert (store / name).read_bytes() != bytes(data)  # and kept again


# --- furnaces that stand for others -----------------------------------------------------------


@given(st.lists(st.lists(st.floats(1e-9, 1.0), min_size=1, max_size=40), min_size=1, max_size=6))
def test_few_furnaces_stand_for_each_failure(weights: list[list[float]]) -> None:
    """Each failure keeps its weight, in a few furnaces of its own; one that is heavier than a step is always among them."""
    fault = np.repeat(np.arange(len(weights)) * 3, [len(w) for w in weights])
    weight = np.concatenate([np.array(w) for w in weights])
    picked, share = standing_for(weight, fault)

    for number in set(fault.tolist()):
        mine = fault[picked] == number
        total = weight[fault == number].sum()
        assert share[mine].sum() == pytest.approx(total)
        assert 1 <= mine.sum() <= OF_EACH
        heavy = np.flatnonzero((fault == number) & (weight > total / OF_EACH * (1 + 1e-6)))
        assert set(heavy.tolist()) <= set(picked.tolist())
