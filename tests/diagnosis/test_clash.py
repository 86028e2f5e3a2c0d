"""Records that cannot be true together: the smallest sets of them that no furnace gives at once, and none in an honest visit."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import combinations

import numpy as np
import pytest

from furnace_diag.diagnosis.answer import answer
from furnace_diag.diagnosis.bins import error_of
from furnace_diag.diagnosis.clash import MOST_RECORDS, clashes, gives, least, minimal_hitting_sets
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.groups import Group
from furnace_diag.diagnosis.records import Record, Report
from furnace_diag.diagnosis.report_file import understand
from furnace_diag.diagnosis.value_fits import chance_of_words
from furnace_diag.furnace.family import Family
from furnace_diag.furnace.population import WHOLE_CALL, Key, Population, build
from furnace_diag.knowledge.words import words_of
from furnace_diag.knowledge.yaml_text import parse_yaml
from furnace_diag.problems import Place

HERE = Place("virtual furnace", 1, 1)
FRESH_SEED, FRESH_SITES = 31_415, 2  # not those of the population
VISITS = 2000  # so that chance hardly moves their share: one clash in a hundred is allowed, and some six in a thousand are met
ENOUGH = 2  # clashing reports on which every set of records is tried


@pytest.fixture(scope="module")
def fresh(family: Family) -> Population:
    return build(family, sites=FRESH_SITES, seed=FRESH_SEED)


def record_of_row(family: Family, population: Population, row: int, key: Key, call: int, random: np.random.Generator) -> Record | None:
    """What is read on one furnace, with an error within that of its point; None where it never gets there."""
    (name, step, meter), k = key, family.knowledge
    value = float(population.table[population.columns[key], row])
    where = None if step == WHOLE_CALL else step
    if np.isnan(value):
        return None
    if name in k.point:
        doubt, floor = error_of(k.point[name])
        value = value + random.uniform(-1, 1) * doubt * value + random.uniform(-1, 1) * floor if np.isfinite(value) else value
        return Record("point", name, f"{name}: {value:.4g}", HERE, number=value, step=where, meter=meter or None, call=call)
    sign = k.sign[name]
    assert sign.shows is not None
    words = words_of(sign.shows, family.sequence)
    able = [v for v in sign.values if chance_of_words(sign, words, v)[int(value)] > 0]
    return Record("sign", name, f"{name}: {random.choice(able)}", HERE, word=str(random.choice(able)), step=where, call=call) if able else None


def visit_to(evidence: Evidence, fresh: Population, rows: list[int], random: np.random.Generator, most: int) -> list[Record]:
    """Records of a few calls; in each the furnace is as one of *rows*."""
    keys, found = list(fresh.columns), []
    calls = [int(random.choice(rows)) for _ in range(2)]
    for number in random.permutation(len(keys))[: 2 * most]:
        call = int(random.integers(len(calls)))
        record = record_of_row(evidence.family, fresh, calls[call], keys[number], call + 1, random)
        found += [record] if record is not None else []
    return found[:most]


def test_an_honest_visit_practically_never_clashes(evidence: Evidence, fresh: Population) -> None:
    """Fresh furnaces, other numbers and severities than any that the records are held against; failures that come and go are there in some calls."""
    random, clashed = np.random.default_rng(27), []
    for _ in range(VISITS):
        row = int(random.integers(len(fresh.fault_of)))
        fault = fresh.faults[fresh.fault_of[row]] if fresh.fault_of[row] >= 0 else None
        goes = fault is not None and evidence.family.failure(fault).comes_and_goes is not None
        away = int(np.flatnonzero((fresh.fault_of < 0) & (fresh.site_of == fresh.site_of[row]))[0])
        records = visit_to(evidence, fresh, [row, away] if goes else [row], random, int(random.integers(4, 31)))
        clashed += [(str(fault), found) for found in [clashes(evidence, evidence.groups(records))] if found]

    assert len(clashed) <= 0.01 * VISITS, clashed


def of_two_furnaces(evidence: Evidence, fresh: Population, seed: int) -> list[Group]:
    """A few records, each of one of two furnaces: such a report often clashes."""
    random = np.random.default_rng(seed)
    rows = [int(r) for r in random.integers(len(fresh.fault_of), size=2)]
    one, other = (visit_to(evidence, fresh, [row], random, 4) for row in rows)
    return evidence.groups([*one, *other])


def can_give(evidence: Evidence, groups: Iterable[Group], some: Iterable[int]) -> bool:
    """Whether any furnace gives *some* of the records: one that has its failure in every call, or one that has it in some."""
    told = [fact for _, facts in groups for fact in facts]
    chosen, comings = [told[i] for i in some], evidence.comings
    every = np.ones(len(evidence.population.fault_of), bool)
    some_calls = np.ones(len(comings.rows), bool)
    for call in {f.call for f in chosen}:
        there, away = np.ones((2, len(comings.rows)), bool)
        for fact in (f for f in chosen if f.call == call):
            early = (fact.place is not None) & ((fact.place or 0) < comings.starts)
            every &= gives(evidence, fact)
            there &= np.where(early, gives(evidence, fact)[comings.healthy], gives(evidence, fact)[comings.rows])
            away &= gives(evidence, fact)[comings.healthy]
        some_calls &= there | away
    every[comings.rows] = False
    return bool(every.any() or some_calls.any())


def test_the_smallest_clashes_are_those_found_by_trying_every_set(evidence: Evidence, fresh: Population) -> None:
    met = 0
    for seed in range(160):
        if met == ENOUGH:
            break
        groups = of_two_furnaces(evidence, fresh, seed)
        told = [r for records, _ in groups for r in records]
        clashing: list[frozenset[int]] = []
        for size in range(1, MOST_RECORDS + 1):
            for some in combinations(range(len(told)), size):
                if not any(other <= set(some) for other in clashing) and not can_give(evidence, groups, some):
                    clashing.append(frozenset(some))
        found = [frozenset(next(i for i, r in enumerate(told) if r is one) for one in clash) for clash in clashes(evidence, groups)]
        met += bool(clashing)
        assert bool(found) == bool(clashing)
        assert set(found) <= set(clashing)
        assert [len(f) for f in found] == sorted(map(len, clashing))[: len(found)]
        assert len(found) == min(len(clashing), 3)

    assert met == ENOUGH  # else little was tried


@pytest.mark.parametrize("seed", range(20))
def test_hitting_sets_are_those_found_by_trying_every_set(seed: int) -> None:
    random = np.random.default_rng(seed)
    sets = [frozenset(random.choice(7, int(random.integers(1, 5)), replace=False).tolist()) for _ in range(int(random.integers(1, 7)))]
    hitting = [frozenset(some) for size in range(8) for some in combinations(range(7), size) if all(set(some) & one for one in sets)]
    minimal = {one for one in hitting if not any(other < one for other in hitting)}

    assert set(minimal_hitting_sets(sets, 7, 100_000)) == minimal
    assert set(minimal_hitting_sets(least(sets), 7, 100_000)) == minimal


def test_what_gives_everything_leaves_no_clash() -> None:
    assert minimal_hitting_sets([frozenset({1}), frozenset[int]()], 3, 100) == []


def report_of(records: str, evidence: Evidence) -> Report:
    return understand(parse_yaml(f"records:\n{records}", "report.yaml"), evidence.knowledge, evidence.vocabulary)


def test_the_answer_tells_which_records_clash_and_where(evidence: Evidence) -> None:
    # without line voltage at the board nothing runs; common practice, no source
    dead = '- {point: line_to_neutral_at_board, value: 0 V, step: heating, meter: low}\n- {sign: inducer_runs, value: "yes", step: heating}\n'
    told = answer(report_of(f'{dead}- {{sign: igniter_glows, value: "yes", step: igniter_warm_up}}\n', evidence), evidence).clashes

    assert any({"line_to_neutral_at_board: 0 V", "inducer_runs: yes"} == set(c.records) for c in told)
    assert all(at.startswith("report.yaml:") for c in told for at in c.at)


def test_in_another_call_a_failure_that_comes_and_goes_gives_both(evidence: Evidence) -> None:
    """An inducer's supply that is there in one call and not in the next: its relay comes and goes. At the same step of one call it cannot be."""
    line = "- {{point: inducer_pin_to_neutral, value: {} V, step: inducer_start, meter: low, call: {}}}\n"
    dead = "- {sign: inducer_runs, value: \"no\", step: inducer_start, call: 2}\n"

    assert not answer(report_of(line.format(119, 1) + line.format(0, 2) + dead, evidence), evidence).clashes


def test_volts_round_one_contact_that_do_not_add_up_clash(evidence: Evidence) -> None:
    """Line to neutral is what is lost across the contact and what is left behind it: Kirchhoff's voltage law. A step misjudged is no excuse."""
    around = (
        "- {{point: line_to_neutral_at_board, value: 119 V, step: heating}}\n- {{point: across_heat_output, value: 0 V, step: heating}}\n"
        "- {{point: heat_terminal_to_neutral, value: {} V, step: heating, meter: low}}\n"
    )
    told = answer(report_of(around.format(0.2), evidence), evidence).clashes

    assert told
    assert all({r.split(":")[0] for r in c.records} <= {"line_to_neutral_at_board", "across_heat_output", "heat_terminal_to_neutral"} for c in told)
    assert not answer(report_of(around.format(119), evidence), evidence).clashes
