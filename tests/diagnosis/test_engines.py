"""The two engines against a naive chainer on random rules, and what neither may be given."""

from __future__ import annotations

import importlib.metadata
import itertools
import threading
from collections.abc import Sequence
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from furnace_diag.diagnosis.engines import (
    LARGEST,
    MOST_ALIKE,
    MOST_PATTERNS,
    Chainer,
    ChainRule,
    ClipsChainer,
    DurableChainer,
    Fact,
    Index,
    LoopOfRules,
    Pattern,
    _version,
    beyond_limits,
    chainer,
    crowded,
    strata,
)

COMPARE = {"eq": int.__eq__, "ne": int.__ne__, "lt": int.__lt__, "le": int.__le__, "gt": int.__gt__, "ge": int.__ge__}


def engines() -> list[type[Chainer]]:
    try:
        import durable_rules_engine  # noqa: F401
    except ImportError:
        return [ClipsChainer]
    return [DurableChainer, ClipsChainer]


# --- a naive chainer --------------------------------------------------------------------------


def holds(test: Any, fact: Fact) -> bool:
    if test is None:
        return True
    if test[0] in ("and", "or"):
        return (all if test[0] == "and" else any)(holds(t, fact) for t in test[1])
    return test[1] in fact and bool(COMPARE[test[0]](int(fact[test[1]]), test[2]))


def naive(rules: Sequence[ChainRule], facts: Sequence[Fact]) -> set[tuple[Any, ...]]:
    """Every firing; what is waited for to be absent is looked at only when nothing can give it any more."""
    memory: list[Fact] = [f for i, f in enumerate(facts) if f not in facts[:i]]
    fired: set[tuple[Any, ...]] = set()
    settled: list[str] = []
    for names in [[], *strata(rules)]:
        settled += [n for n in names if n not in {f["k"] for f in memory}]
        while True:
            new = {(r.rule, tuple(frozenset(f.items()) for f in combo)) for r in rules if set(r.unless) <= set(settled) for combo in _combos(r, memory)} - fired
            if not new:
                break
            fired |= new
            made = {n for rule, _ in new for r in rules if r.rule == rule for n in r.then}
            memory += [{"k": n} for n in sorted(made) if {"k": n} not in memory]
    return fired


def _combos(rule: ChainRule, memory: Sequence[Fact]) -> Any:
    return itertools.product(*[[f for f in memory if f["k"] == p.name and holds(p.test, f)] for p in rule.when])


# --- random rules and facts -------------------------------------------------------------------

FIELDS = st.sampled_from("vsm")
SMALL = st.integers(-2, 2)
LEAVES = st.tuples(st.sampled_from(sorted(COMPARE)), FIELDS, SMALL)
TESTS = st.recursive(LEAVES, lambda inner: st.tuples(st.sampled_from(["and", "or"]), st.lists(inner, min_size=1, max_size=3).map(tuple)), max_leaves=4)
TOLD = st.builds(Pattern, st.sampled_from("abc"), st.none() | TESTS)


@st.composite
def rule_sets(draw: st.DrawFn) -> list[ChainRule]:
    rules = []
    for i in range(draw(st.integers(1, 7))):
        earlier = [f"d{j}" for j in range(i)]
        when = tuple(draw(st.lists(TOLD if not earlier else TOLD | st.sampled_from(earlier).map(Pattern), min_size=1, max_size=3)))
        unless = tuple(draw(st.lists(st.sampled_from([*earlier, "never"]), max_size=1)))
        rules.append(ChainRule(f"r{i}", when, (f"d{i}",), unless))
    return rules


FACTS = st.lists(st.builds(lambda k, fields: {"k": k, **fields}, st.sampled_from("abc"), st.dictionaries(FIELDS, SMALL, max_size=3)), max_size=7)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(rules=rule_sets(), facts=FACTS)
def test_engines_fire_what_a_naive_chainer_fires(rules: list[ChainRule], facts: list[Fact]) -> None:
    expected = naive(rules, facts)

    for make in engines():
        index = Index(rules)
        for given_rules, told in ((tuple(rules), facts), (index.able(facts), [f for f in facts if index.matters(f)])):
            firings = make(given_rules).run(told)
            assert {(f.rule, tuple(frozenset(x.items()) for x in f.facts)) for f in firings} == expected, make


@settings(max_examples=100, deadline=None)
@given(rules=rule_sets(), facts=FACTS)
def test_rules_that_share_no_name_conclude_apart_what_all_conclude_together(rules: list[ChainRule], facts: list[Fact]) -> None:
    index = Index(rules)
    parts = index.apart(frozenset(p for f in facts for p in index.met_by(f)))
    apart = [naive(list(part.rules), [f for f in facts if f["k"] in part.names]) for part in parts]

    assert set().union(*apart) == naive(rules, facts)
    assert sum(len(a.names & b.names) for a, b in itertools.combinations(parts, 2)) == 0


def test_the_order_of_facts_and_an_earlier_run_change_nothing() -> None:
    rules = [ChainRule("both", (Pattern("a", ("gt", "v", 1)), Pattern("b")), ("ab",)), ChainRule("lone", (Pattern("a"),), ("only a",), ("ab",))]
    facts: list[Fact] = [{"k": "a", "v": 2}, {"k": "b", "v": 1}, {"k": "a", "v": 0}]
    for make in engines():
        engine = make(rules)
        first = engine.run(facts)
        assert engine.run([]) == []
        assert sorted(map(str, engine.run(facts[::-1]))) == sorted(map(str, first))
        assert {f.rule for f in first} == {"both"}
        assert {f.rule for f in engine.run([{"k": "a", "v": 5}])} == {"lone"}


def test_threads_share_an_engine_without_harm() -> None:
    engine = chainer([ChainRule("r", (Pattern("a", ("ge", "v", 10)),), ("hot",))])
    wrong: list[int] = []

    def work(value: int) -> None:
        for _ in range(100):
            if bool(engine.run([{"k": "a", "v": value}])) != (value >= 10):
                wrong.append(value)

    workers = [threading.Thread(target=work, args=(v,)) for v in (9, 10, 11, 3)]
    for w in workers:
        w.start()
    for w in workers:
        w.join()
    assert wrong == []


# --- what they may not be given ---------------------------------------------------------------


def test_a_loop_through_absence_is_refused() -> None:
    with pytest.raises(LoopOfRules):
        strata([ChainRule("a", (Pattern("x"),), ("p",), ("q",)), ChainRule("b", (Pattern("x"),), ("q",), ("p",))])
    with pytest.raises(LoopOfRules):
        strata([ChainRule("a", (Pattern("x"),), ("p",), ("q",)), ChainRule("b", (Pattern("p"),), ("q",))])


def test_limits_are_told() -> None:
    """The figures stand beside the constants: 16 patterns a rule, 250 rules with one pattern, integers of 31 bits."""
    fits = ChainRule("r", tuple(Pattern(f"n{i}") for i in range(MOST_PATTERNS)), ("x",))
    assert beyond_limits(fits) is None
    assert beyond_limits(ChainRule("r", fits.when, ("x",), ("y",))) is not None
    assert beyond_limits(ChainRule("r", (Pattern("a", ("or", (("ge", "v", LARGEST + 1),))),), ("x",))) is not None
    alike = [ChainRule(f"r{i}", (Pattern("a", ("eq", "v", 1)),), (f"x{i}",)) for i in range(MOST_ALIKE + 1)]
    assert crowded(alike[:-1]) is None
    assert crowded(alike) is not None


@pytest.mark.parametrize("package", ["durable-rules", "clipspy", "numpy"])
def test_the_version_of_an_engine_is_what_its_installer_says(package: str) -> None:
    assert _version(package) == importlib.metadata.version(package)


def test_a_package_that_is_not_there_is_told_as_missing() -> None:
    with pytest.raises(importlib.metadata.PackageNotFoundError):
        _version("no-such-package-at-all")
