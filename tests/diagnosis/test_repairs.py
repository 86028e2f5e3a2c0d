"""What a repair proved: two engines and a plain reading of the rules must agree; nothing left out, nothing spoken against."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import replace
from functools import cache

import pytest

from furnace_diag.diagnosis.examples import example_of, in_calls, records_of
from furnace_diag.diagnosis.findings import Finder, Need
from furnace_diag.diagnosis.records import Record
from furnace_diag.knowledge.finding_models import Wanted
from furnace_diag.knowledge.load import own_rules
from furnace_diag.knowledge.repair_models import Check
from furnace_diag.knowledge.repairs import checks_after, checks_before, repairs_for
from tests.diagnosis.naive import Naive
from tests.diagnosis.test_findings import RULES, VOCABULARY, AllAtOnce, bent, engines

CHECKS = list(RULES.check.values())
REPORTS = 250


@pytest.fixture(scope="module")
def finders() -> list[Finder]:
    return [AllAtOnce(RULES, make) for make in engines()]


@pytest.fixture(scope="module")
def naive() -> Naive:
    return Naive(own_rules())


def agree(finders: Sequence[Finder], naive: Naive, records: Sequence[Record]) -> tuple[Need, ...]:
    """How far every check has come, once every engine and the naive evaluator say the same."""
    needs = [f.checked(CHECKS, records, {}) for f in finders]
    expected = [naive.check(c.check, records, {}) for c in CHECKS]
    for some in needs:
        assert [(n.calls_left, bool(n.denied_by)) for n in some] == expected
        assert some == needs[0]
    return needs[0]


@cache  # understanding a report takes far longer than judging it
def read(name: str, *, near: bool = False) -> tuple[Record, ...]:
    check = RULES.check[name]
    return tuple(records_of(in_calls(check.calls, check.near_miss if near else check.holds), RULES, VOCABULARY)[0])


def records(check: Check, *, near: bool = False) -> list[Record]:
    """The records of a check's example, or of its near miss, in each of its calls."""
    return list(read(check.check, near=near))


def whole(checks: Sequence[Check]) -> list[Record]:
    """The records of all their examples, each once."""
    return list({(r.said, r.call): r for c in checks for r in records(c)}.values())


# --- the engines ------------------------------------------------------------------------------


@pytest.mark.parametrize("check", CHECKS, ids=lambda c: c.check)
def test_engines_agree_on_every_example_and_near_miss(check: Check, finders: list[Finder], naive: Naive) -> None:
    at = CHECKS.index(check)
    good, near = (agree(finders, naive, records(check, near=near))[at] for near in (False, True))

    assert (good.calls_left, good.denied_by, good.take) == (0, (), "")
    assert len(good.met_by) > 0
    assert near.calls_left or near.denied_by


def test_engines_agree_on_hundreds_of_reports_made_up(finders: list[Finder], naive: Naive) -> None:
    """Records of examples and near misses thrown together and bent near the edges of what checks ask for."""
    chance = random.Random(20261126)
    pool = [r for c in CHECKS for near in (False, True) for r in records(c, near=near)]
    met, denied = set[str](), set[str]()
    for _ in range(REPORTS):
        some = [bent(r, chance) if chance.random() < 0.4 else r for r in chance.sample(pool, chance.randint(1, 25))]
        for need in agree(finders, naive, some):
            met |= {need.condition} if not need.calls_left else set()
            denied |= {need.condition} if need.denied_by else set()

    assert len(met) > len(CHECKS) / 2  # a generator that triggers nothing would show nothing
    assert len(denied) > len(CHECKS) / 2


# --- nothing left out, nothing spoken against -------------------------------------------------


@pytest.mark.parametrize("name", RULES.repair)
def test_a_repair_is_proved_by_all_its_checks_and_by_no_fewer_and_undone_by_one_record(name: str, finders: list[Finder]) -> None:
    checks = checks_after(RULES, RULES.repair[name])
    everything = whole(checks)

    assert finders[0].after_repair(everything, {}, name).proved
    assert len(finders[0].after_repair([], {}, name).missing) == len(checks)
    for check in checks:
        without = [r for r in everything if (r.said, r.call) not in {(x.said, x.call) for x in records(check)}]
        state = finders[0].after_repair(without, {}, name)
        lacking = next(n for n in state.missing if n.condition == check.check)
        assert not state.proved
        assert lacking.take
        against = otherwise(check.any_of[0][0])
        spoilt = finders[0].after_repair([*everything, against], {}, name)
        assert not spoilt.proved
        assert check.check in [n.condition for n in spoilt.denied]


@pytest.mark.parametrize("check", CHECKS, ids=lambda c: c.check)
def test_any_one_record_left_out_leaves_a_check_unmet(check: Check, finders: list[Finder]) -> None:
    every = records(check)
    for i, left_out in enumerate(every):
        need = finders[0].checked([check], every[:i] + every[i + 1 :], {})[0]
        assert need.calls_left == 1, left_out.said


@pytest.mark.parametrize("check", CHECKS, ids=lambda c: c.check)
def test_a_record_that_says_otherwise_denies_a_check_in_whatever_call(check: Check, finders: list[Finder]) -> None:
    every = records(check)
    for line in {(w.point, w.sign): w for way in check.any_of for w in way if not w.meets_only}.values():
        against = otherwise(line)
        need = finders[0].checked([check], [*every, against], {})[0]
        assert need.denied_by == (against.said,), line


def otherwise(line: Wanted) -> Record:
    """A record of what a line asks for, in another call, that says the opposite: another word, or a figure outside its band."""
    kind, name = line.names[0]
    at = {"kind": kind, "name": name, "said": f"{name} the other way", "step": line.step[0] if line.step else None, "call": 9}
    like = records(CHECKS[0])[0]
    if kind == "sign":
        sign = RULES.sign[name]
        vaguer = {v for v in sign.values for word in line.is_ if {*sign.meant_by(v)} > {*sign.meant_by(word)}}
        return replace(like, word=next(v for v in sign.values if v not in (*line.is_, *vaguer)), number=None, **at)  # type: ignore[arg-type]
    band = RULES.band[line.is_[0]]
    number = band.at_least / 2 if band.at_least else (band.at_most or 0) * 2 + 1
    return replace(like, number=number, word=None, meter="low", set_up=line.set_up, after_s=line.after_s, **at)  # type: ignore[arg-type]


def test_calls_are_counted_one_by_one(finders: list[Finder]) -> None:
    """Three full calls after any repair: common practice, no source."""
    good = [r for r in records(RULES.check["full_calls_watched"]) if r.call < 3]
    failed = replace(good[0], call=3, word="failed", said="call_watched: failed")

    [two] = finders[0].checked([RULES.check["full_calls_watched"]], good, {})
    assert (two.calls_left, two.denied_by) == (1, ())
    [three] = finders[0].checked([RULES.check["full_calls_watched"]], [*good, failed], {})
    assert (three.calls_left, three.denied_by) == (1, ("call_watched: failed",))
    same = [replace(good[0], said=f"again {i}") for i in range(3)]  # one call told three times is one call
    assert finders[0].checked([RULES.check["full_calls_watched"]], same, {})[0].calls_left == 2


def test_a_flame_current_is_good_only_when_it_is_read_late_enough(finders: list[Finder]) -> None:
    """Steady after five minutes: common practice, no source. At once, or when is not told, proves nothing and denies nothing."""
    check = RULES.check["flame_current_is_good"]
    [late] = records(check)
    for after in (None, 20.0):
        need = finders[0].checked([check], [replace(late, after_s=after)], {})[0]
        assert (need.calls_left, need.denied_by) == (1, ())


# --- the board --------------------------------------------------------------------------------


def test_a_board_is_changed_only_with_its_proof_and_its_cause(finders: list[Finder]) -> None:
    repair = repairs_for(RULES, "control_board", "heat_relay_will_not_close")
    ready = whole(checks_before(RULES, repair))
    proof, options = records_of(example_of(next(p for p in RULES.proof.values() if "control_board:heat_relay_will_not_close" in p.of)), RULES, VOCABULARY)
    finder = finders[0]

    found = finder.find(proof, options)
    proved = [finder.proof(found, name) for name, grade in found.grades.items() if grade == "proved"]
    assert finder.before_repair([*proof, *ready], options, repair.repair, proved).proved
    without = finder.before_repair(ready, {}, repair.repair, ())
    assert without.lacks_proof
    assert not without.proved
    no_cause = [r for r in ready if r.name != "cause_of_the_failure"]
    assert [n.condition for n in finder.before_repair([*proof, *no_cause], options, repair.repair, proved).missing] == ["cause_is_known"]


def test_a_proof_of_another_part_is_no_proof_of_the_board(finders: list[Finder]) -> None:
    for name in RULES.repair:
        assert finders[0].before_repair([], {}, name, ()).lacks_proof == (name == repairs_for(RULES, "control_board", "no_logic").repair)
