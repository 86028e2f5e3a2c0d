"""Two failures at once: believed where furnaces with both give the records and none with one does, and not before."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from furnace_diag.diagnosis.answer import answer, weighed
from furnace_diag.diagnosis.bins import error_of
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.pairs import TwoAnswer, built_with, covering, two_at_once
from furnace_diag.diagnosis.prior import prior_given
from furnace_diag.diagnosis.records import Record, Report
from furnace_diag.diagnosis.value_fits import chance_of_words
from furnace_diag.furnace.family import Fault
from furnace_diag.furnace.population import WHOLE_CALL, Key, Population, furnaces_of, observed
from furnace_diag.knowledge.words import words_of
from furnace_diag.problems import Place

HERE = Place("virtual furnace", 1, 1)
FRESH_SEED = 2718  # of sites that are not those of the population
# two failures that do not hide one another, one met in the heat call and one with the fan, and what names each; common practice, no source
PAIRS = {
    ("flame_rod:filmed", "blower_capacitor:weak"): (("flame_goes_out", "flame_current"), ("capacitor_microfarads",)),
    ("igniter:open", "blower_capacitor:open"): (("igniter_ohms",), ("capacitor_microfarads",)),
}
HIDDEN = ("low_voltage_fuse:blown", "control_board:heat_relay_will_not_close")  # without 24 V no relay is ever told to close
SINGLES = ["flame_rod:filmed", "low_voltage_fuse:blown", "control_board:heat_relay_will_not_close"]
PER_FAILURE = 8  # records that tell of it


def fault(name: str) -> Fault:
    return Fault(*name.split(":"))


def fresh(evidence: Evidence, *having: tuple[str, ...]) -> Population:
    """One healthy furnace, then one with each of *having*, all on one site."""
    return observed(*furnaces_of(evidence.family, sites=1, seed=FRESH_SEED, having=[tuple(map(fault, names)) for names in having]))


def record_of(evidence: Evidence, value: float, key: Key) -> Record:
    """What is read where *value* is shown, with half the error of its point."""
    (name, step, meter), k = key, evidence.knowledge
    where = None if step == WHOLE_CALL else step
    if name in k.point:
        doubt, floor = error_of(k.point[name])
        return Record("point", name, f"{name}: {value:.4g}", HERE, number=value * (1 + doubt / 2) + floor / 2, step=where, meter=meter or None)
    sign = k.sign[name]
    assert sign.shows is not None
    words = words_of(sign.shows, evidence.family.sequence)
    word = max(sign.values, key=lambda v: chance_of_words(sign, words, v)[int(value)])
    return Record("sign", name, f"{name}: {word}", HERE, word=word, step=where)


def telling(evidence: Evidence, of: Population, row: int, other: int, first: Collection[str] = ()) -> list[Record]:
    """Records of the furnace *row* that *other* would not give, of a few points and signs each once; of *first* if they can be."""
    found: dict[str, Record] = {}
    random = np.random.default_rng(5)
    keys = [list(of.columns)[i] for i in random.permutation(len(of.columns))]
    for key in sorted(keys, key=lambda k: k[0] not in first):
        mine, others = (float(of.table[of.columns[key], r]) for r in (row, other))
        least = 0.3 * abs(others) + 1 if key[0] in evidence.knowledge.point else 0
        differs = np.isnan(others) or np.isinf(mine) != np.isinf(others) or (np.isfinite(mine) and abs(mine - others) > least)
        if not np.isnan(mine) and differs and key[0] not in found and len(found) < PER_FAILURE:
            found[key[0]] = record_of(evidence, mine, key)
    return list(found.values())


def asked(evidence: Evidence, records: list[Record], **options: str) -> TwoAnswer:
    report = Report(evidence.family.furnace.furnace, "", tuple(records), options)
    return two_at_once(report, evidence, weighed(report, evidence))


@pytest.mark.parametrize("pair", PAIRS, ids="+".join)
def test_the_pair_leads_where_both_have_failed(pair: tuple[str, str], evidence: Evidence) -> None:
    """From records that neither failure gives by itself: some that the second alone would not give, some that the first alone would not."""
    of = fresh(evidence, pair, pair[:1], pair[1:])
    names_first, names_second = PAIRS[pair]
    records = [*telling(evidence, of, 1, 3, names_first), *telling(evidence, of, 1, 2, names_second)]
    told = asked(evidence, records)
    leads = told.pairs[0]

    assert told.all_pairs > 0.5
    assert leads.probability > max([told.something_else, *(s.probability for s in told.singles)])
    assert {f.partition(":")[0] for f in leads.failures} == {f.partition(":")[0] for f in pair}


@pytest.mark.parametrize("name", SINGLES)
def test_no_pair_leads_where_one_has_failed(name: str, evidence: Evidence) -> None:
    """One failure explains its own records as well as any pair does, and is met far oftener."""
    of = fresh(evidence, (name,))
    told = asked(evidence, telling(evidence, of, 1, 0))

    assert told.all_pairs <= 3 * told.before
    assert all(p.probability < told.singles[0].probability for p in told.pairs)


def test_a_dead_relay_behind_a_blown_fuse_gives_what_the_fuse_gives_and_is_believed_no_more_for_it(evidence: Evidence) -> None:
    """Where no resting contact feeds the blower, no reading tells the two from the fuse alone: between them stand the odds of before, by Bayes' rule."""
    fuse, relay = (number(evidence, name) for name in HIDDEN)
    population, stopped = evidence.population, list(evidence.family.furnace.options["blower_at_rest"].values).index("stopped")
    built = built_with([(fault(HIDDEN[0]), fault(HIDDEN[1]))], evidence, evidence.knowledge.sign, None)
    both, alone = ((p.fault_of == f) & (p.options["blower_at_rest"] == stopped) for p, f in ((built, 0), (population, fuse)))
    for key, i in population.columns.items():
        assert_same(key, built.table[built.columns[key]][both], population.table[i][alone])

    told = asked(evidence, telling(evidence, fresh(evidence, HIDDEN), 1, 0), blower_at_rest="stopped")
    prior, second = prior_given(evidence.family, ()), evidence.words.second_failure
    by_part = np.bincount(evidence.part_of, prior)
    of_both = second * prior[fuse] * prior[relay] / ((1 - (by_part**2).sum()) / 2)
    of_fuse = next(s.probability for s in told.singles if s.failure == HIDDEN[0])
    believed = next((p.probability for p in told.pairs if set(p.failures) == set(HIDDEN)), 0.0)
    assert believed <= of_fuse * of_both / ((1 - second) * prior[fuse]) * 1.01
    assert all("control_board" not in f for p in told.pairs if p.probability > told.before for f in p.failures)


def test_what_a_new_fuse_lets_be_seen_clashes_with_the_blown_one_and_proves_no_board_bad(evidence: Evidence) -> None:
    """A dark board with its fuse blown, then burners that stay lit and no blower: not one furnace with one failure gives both."""
    of = fresh(evidence, HIDDEN[:1], HIDDEN[1:])
    first = telling(evidence, of, 1, 0, ("light", "fuse_looks"))
    second = [replace(r, call=2) for r in telling(evidence, of, 2, 0, ("blower_runs", "burners_light", "heat_terminal_to_neutral"))]
    told = answer(Report(evidence.family.furnace.furnace, "", (*first, *second)), evidence)

    assert told.clashes
    assert told.board.verdict != "proved_bad"


def number(evidence: Evidence, name: str) -> int:
    return [str(f) for f in evidence.family.faults].index(name)


def test_before_any_record_pairs_have_no_more_than_their_prior(evidence: Evidence) -> None:
    told = asked(evidence, [])

    assert 0 < told.all_pairs <= told.before * (1 - evidence.words.something_else) + 1e-9
    assert told.something_else == pytest.approx(evidence.words.something_else)


def test_furnaces_built_anew_are_those_of_the_population(evidence: Evidence) -> None:
    """A failure is as bad on each site whatever is built beside it: by itself it gives, reading by reading, what its own furnaces give."""
    population, family = evidence.population, evidence.family
    weak = number(evidence, "blower_capacitor:weak")
    built = built_with([(family.faults[weak],)], evidence, evidence.knowledge.sign, None)

    assert set(built.columns) >= set(population.columns)
    for key, i in population.columns.items():
        mine = built.table[built.columns[key]]
        for anew, kept in ((built.fault_of < 0, population.fault_of < 0), (built.fault_of == 0, population.fault_of == weak)):
            assert_same(key, mine[anew], population.table[i][kept])


def assert_same(key: Key, one: NDArray[np.float16], other: NDArray[np.float16]) -> None:
    """Furnace by furnace the same reading."""
    loose = 2.5 if key[2] == "low" else 0.01  # a low-impedance reading is kept apart only where it differs by volts
    a, b = (np.nan_to_num(values.astype(float), posinf=1e9) for values in (one, other))
    np.testing.assert_allclose(a, b, atol=loose, rtol=2e-3, err_msg=str(key))


def test_picked_pairs_are_of_two_parts_and_none_twice(evidence: Evidence) -> None:
    report = Report(evidence.family.furnace.furnace, "", ())
    prior = prior_given(evidence.family, ())
    picked = covering(evidence, weighed(report, evidence), prior)

    assert len({frozenset(p) for p in picked}) == len(picked) > 10
    assert all(evidence.part_of[a] != evidence.part_of[b] for a, b in picked)


def test_every_word_of_every_sign_is_weighed_on_two_failures(evidence: Evidence) -> None:
    """A mark of one of two failures is met as often as with that one alone, or oftener: the other leaves it there."""
    pairs = [tuple(map(fault, names)) for names in PAIRS]
    built = built_with(pairs, evidence, [], None)
    of_two = Evidence(evidence.family, built, pairs)
    signs = [s for s in evidence.knowledge.sign.values() if not s.only_for_proof]
    assert any(s.seen_only_with for s in signs)

    for sign in signs:
        for word in sign.values:
            fact = of_two.told(Record("sign", sign.sign, f"{sign.sign}: {word}", HERE, word=word))
            assert fact is None or fact.fit.shape == built.fault_of.shape, (sign.sign, word)
    looks, number = evidence.knowledge.sign["capacitor_looks"], evidence.family.faults.index(fault("blower_capacitor:weak"))
    others = next(i for i, f in enumerate(evidence.family.faults) if f.part == "thermostat")
    for both in of_two.habits(looks, "bulged_or_oily"):
        assert both >= evidence.habits(looks, "bulged_or_oily")[number] > evidence.habits(looks, "bulged_or_oily")[others]
