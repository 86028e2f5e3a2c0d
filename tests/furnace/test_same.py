"""Networks that are the same are solved and metered once, and kept: what comes out is as if each were solved by itself."""

from __future__ import annotations

from copy import copy

import numpy as np
import pytest

from furnace_diag.furnace.family import Family, Fault, draw_sites
from furnace_diag.furnace.moment import Moment, Rows
from furnace_diag.furnace.operate import Operation
from furnace_diag.furnace.population import Population, build, found_tripped, furnaces_of
from furnace_diag.furnace.same import Solutions, each_once, marked
from furnace_diag.furnace.virtual import VirtualFurnaces

SITES = 2
HEALTHY, CLOGGED = slice(0, SITES), slice(SITES, 2 * SITES)
FINE = 2e-3  # two steps of the short floats in which readings are kept


@pytest.fixture(scope="module")
def few(family: Family) -> Family:
    """The family with some of its failures, some that trip among them, quick to run."""
    some = copy(family)
    some._failures = {fault: family.failure(fault) for i, fault in enumerate(family.faults) if i % 25 == 0 or (family.failure(fault).trips_with and i % 2)}
    return some


def call_of(family: Family, furnaces: VirtualFurnaces) -> Operation:
    """At rest, then called for heat and settled."""
    o = Operation(furnaces)
    o.run()
    o.call(family.sequence.heat_call.closes)
    o.settle(o.rows)
    return o


def two_of_each(family: Family, fault: str) -> VirtualFurnaces:
    """The good furnace on two sites, and the same with *fault*."""
    numbers, choices = draw_sites(family.furnace, SITES, 3)
    twice = ({name: np.tile(values, 2) for name, values in each.items()} for each in (numbers, choices))
    return VirtualFurnaces(family, *twice, [(CLOGGED, Fault(*fault.split(":")))])


# --- what a network is known by ------------------------------------------------------------------


def test_what_changes_no_wire_changes_no_network(family: Family) -> None:
    """A clogged filter is nothing to a meter; two sites have numbers of their own."""
    fault = next(f for f in family.failures if all(e.quantity in family.machines.air.passes for e in family.failure(Fault(*f.split(":"))).effects))
    o = call_of(family, two_of_each(family, fault))
    marks = o.known_by(o.rows)

    assert (marks[HEALTHY] == marks[CLOGGED]).all()
    assert marks[0] != marks[1]
    rows, same = o.unlike(o.rows)
    assert rows.tolist() == [0, 1]
    assert same.tolist() == [0, 1, 0, 1]


def test_every_branch_that_conducts_is_part_of_what_a_network_is_known_by(family: Family) -> None:
    """Another ohm in it, or the branch opened: another network. In a branch that does not conduct an ohm is nothing."""
    o = call_of(family, furnaces_of(family, sites=1, seed=3, having=[])[0])
    conducts = np.abs(o.conducting(o.rows)[:, 0]) > 1e-9
    known = o.known_by(o.rows)[0]
    for i, name in enumerate(e.element for e in family.elements):
        other = copy(o)
        other.put(o.furnaces.of(o.rows))
        other.furnaces.ohms[i] += 1.0
        if family.elements[i].kind == "stray":
            other.furnaces.microfarads[i] *= 2
        del other.furnaces._at_rest
        assert (other.known_by(o.rows)[0] != known) == bool(conducts[i] and o.furnaces.present[i, 0]), name
        if conducts[i]:
            other.put(o.furnaces.twin())
            other.furnaces.forced[i] = -1
            assert other.known_by(o.rows)[0] != known, name


def test_a_hot_igniter_a_lagging_rotor_and_a_blown_fuse_make_another_network(family: Family) -> None:
    o = call_of(family, furnaces_of(family, sites=1, seed=3, having=[])[0])
    known = [o.known_by(o.rows)[0]]
    for change in ("hot", *o.slip, "blown"):
        other = o.twin()
        if change in o.slip:
            other.slip[change][:] *= 0.9
        else:
            setattr(other, change, ~getattr(other, change))
        known.append(other.known_by(o.rows)[0])

    assert len(set(known)) == len(known)


def test_figures_are_told_apart_by_their_last_bit_and_their_place() -> None:
    one, next_ = np.array([1.0]), np.nextafter(np.array([1.0]), 2)

    assert marked(0, one) == marked(0, one.copy())
    assert len({int(m[0]) for m in (marked(0, one), marked(1, one), marked(0, next_), marked(0, one, next_), marked(0, next_, one), marked(0, -one))}) == 6


def test_one_of_each_is_the_first_and_in_order() -> None:
    first, same = each_once(np.array([9, 4, 9, 7, 4], np.uint64))

    assert first.tolist() == [0, 1, 3]
    assert same.tolist() == [0, 1, 0, 2, 1]


def test_some_elements_conduct_as_they_do_among_all(family: Family) -> None:
    """A fuse that has blown, a glowing igniter and a moved contact among them."""
    o = call_of(family, furnaces_of(family, sites=SITES, seed=3, having=[])[0])
    o.hot[:], o.blown[:] = True, [True, False]
    assert o.fuse is not None
    some = [o.fuse, family.number[family.machines.igniter.element], *list(family.followed)[:5]]

    np.testing.assert_array_equal(o.conducting(o.rows, some), o.conducting(o.rows)[some])
    assert o.conducting(o.rows, []).shape == (0, SITES)


# --- what is kept ---------------------------------------------------------------------------------


def test_the_oldest_solution_goes_when_there_is_no_room() -> None:
    kept = Solutions(nodes=2, most=3)
    for mark in (5, 6, 7, 8):
        kept.keep(np.array([mark], np.uint64), np.array([[mark], [mark * 1j]]))
    places = kept.places(np.array([5, 6, 8], np.uint64))

    assert (places >= 0).tolist() == [False, True, True]
    np.testing.assert_array_equal(kept.volts(places[1:]), [[6, 8], [6j, 8j]])


def test_voltages_are_at_every_step_those_of_each_furnace_solved_by_itself(few: Family) -> None:
    """Through rest, the call and all tries to light, with whatever was kept from before."""
    o = Operation(furnaces_of(few, sites=SITES, seed=4)[0])
    looked_at = 0

    def look(_: str, rows: Rows) -> None:
        nonlocal looked_at
        factored, into = o.factored(rows)
        alone = few.network.solve(factored, into[:, None, :])[:, 0]
        stands = o.has_solved(rows)  # in the step in which a failure sets in the furnace is looked at before it is solved anew
        looked_at += stands
        if stands:
            np.testing.assert_allclose(o.volts[:, rows], alone, rtol=1e-6, atol=1e-6)  # a node that only leaks hold is found no better

    o.run(look)
    o.call(few.sequence.heat_call.closes)
    o.let_set_in(lambda _: None)
    o.run(look)

    assert looked_at > 30


def test_a_population_is_that_of_furnaces_solved_one_and_all(few: Family, monkeypatch: pytest.MonkeyPatch) -> None:
    quick = build(few, sites=SITES)

    def solve(o: Moment, rows: Rows) -> None:
        factored, into = o.factored(rows)
        o.volts[:, rows] = o.family.network.solve(factored, into[:, None, :])[:, 0]

    monkeypatch.setattr(Moment, "solve", solve)
    monkeypatch.setattr(Moment, "unlike", lambda _, rows: (rows, np.arange(len(rows))))
    monkeypatch.setattr(Moment, "has_solved", lambda *_: False)
    plain = build(few, sites=SITES)

    assert_same(quick, plain)


def assert_same(quick: Population, plain: Population) -> None:
    assert (list(quick.columns), list(quick.changed_columns)) == (list(plain.columns), list(plain.changed_columns))
    for name in ("fault_of", "site_of", "stops", "rests"):
        np.testing.assert_array_equal(getattr(quick, name), getattr(plain, name), err_msg=name)
    for name in ("table", "changed"):
        np.testing.assert_allclose(getattr(quick, name).astype(float), getattr(plain, name).astype(float), rtol=FINE, equal_nan=True, err_msg=name)


# --- some by themselves ---------------------------------------------------------------------------


def test_furnaces_found_tripped_by_themselves_are_those_among_all(few: Family) -> None:
    furnaces, _, _ = furnaces_of(few, sites=6, seed=4)
    assert furnaces.later is not None
    rows = np.unique(np.append(furnaces.later.rows[::2], [0, 1]))
    some, among_all = found_tripped(furnaces, rows), found_tripped(furnaces)

    np.testing.assert_array_equal(some.forced, among_all.forced[:, rows])
    np.testing.assert_array_equal(some.ohms, among_all.ohms[:, rows])
    assert some.later is not None
    assert among_all.later is not None
    np.testing.assert_array_equal(rows[some.later.rows], np.intersect1d(rows, among_all.later.rows))
    np.testing.assert_array_equal(some.later.step, among_all.later.step[np.isin(among_all.later.rows, rows)])
    assert (furnaces.forced[:, furnaces.later.rows[furnaces.later.trips]] != among_all.forced[:, furnaces.later.rows[furnaces.later.trips]]).any()
