"""Findings and proofs: two engines and a plain reading of the rules must agree; proofs hold only when whole."""

from __future__ import annotations

import os
import random
from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import cached_property
from pathlib import Path
from typing import get_args

import pytest

from furnace_diag.diagnosis.engines import Chainer, ChainRule, ClipsChainer, DurableChainer
from furnace_diag.diagnosis.examples import example_of, finding_problems, near_miss_of, records_of
from furnace_diag.diagnosis.findings import Finder, Findings, Need, ProofState, RuleSet
from furnace_diag.diagnosis.records import Record
from furnace_diag.diagnosis.report_file import read_report
from furnace_diag.diagnosis.vocabulary import Vocabulary
from furnace_diag.knowledge.finding_models import FINDINGS
from furnace_diag.knowledge.load import own_rules
from tests.diagnosis.naive import Naive
from tests.ours import our_rules

CASES = sorted((Path(__file__).resolve().parents[2] / "cases").glob("*.yaml"))
RULES = our_rules()
VOCABULARY = Vocabulary(RULES)
PROOFS = sorted(RULES.proof)
REPORTS = int(os.environ.get("FURNACE_DIAG_TEST_REPORTS", "1500"))  # made up at random; each heat call of one, and then all of it, is a set of facts of its own


def engines() -> list[type[Chainer]]:
    """Both engines, or the one that can be had here."""
    try:
        import durable_rules_engine  # noqa: F401
    except ImportError:
        return [ClipsChainer]
    return [DurableChainer, ClipsChainer]


@pytest.fixture(scope="module")
def finders() -> list[Finder]:
    return [Finder(RULES, make) for make in engines()]


@pytest.fixture(scope="module")
def naive() -> Naive:
    return Naive(own_rules())


def agree(finders: list[Finder], naive: Naive, records: list[Record], options: dict[str, str]) -> Findings:
    """The findings, once every engine and the naive evaluator say the same."""
    found = [f.find(records, options) for f in finders]
    expected = naive.find(records, options)
    for one in found:
        assert one.names == expected, one.engine
        assert replace(one, engine="") == replace(found[0], engine="")
    return found[0]


def test_rules_are_in_order() -> None:
    assert finding_problems(RULES) == []


@pytest.mark.parametrize("path", CASES, ids=lambda p: p.stem)
def test_engines_agree_on_every_case(path: Path, finders: list[Finder], naive: Naive) -> None:
    report = read_report(path, RULES, VOCABULARY)

    agree(finders, naive, list(report.records), report.options)


@pytest.mark.parametrize("name", PROOFS)
def test_engines_agree_on_every_proof_and_its_near_miss(name: str, finders: list[Finder], naive: Naive) -> None:
    proof = RULES.proof[name]
    for entries, proved in ((example_of(proof), True), (near_miss_of(proof), False)):
        records, options = records_of(entries, RULES, VOCABULARY)
        assert (name in agree(finders, naive, records, options).names) is proved


@pytest.mark.parametrize("name", PROOFS)
def test_engines_agree_on_what_was_only_told(name: str, finders: list[Finder], naive: Naive) -> None:
    records, options = records_of(example_of(RULES.proof[name]), RULES, VOCABULARY)
    for told in range(len(records) + 1):
        agree(finders, naive, [replace(r, source="told") if i >= told else r for i, r in enumerate(records)], options)


@pytest.mark.parametrize("name", sorted(RULES.exoneration))
def test_what_was_only_told_clears_nothing(name: str, finders: list[Finder], naive: Naive) -> None:
    """A customer who says that it glows has not held a meter to the board."""
    records, options = records_of(RULES.exoneration[name].holds, RULES, VOCABULARY)
    read = [r for r in records if r.kind in ("point", "sign")]
    assert name in agree(finders, naive, records, options).names
    assert not read or name not in agree(finders, naive, [replace(r, source="told") for r in records], options).names


def test_engines_agree_on_every_other_example(finders: list[Finder], naive: Naive) -> None:
    for kind in FINDINGS:
        for name, entry in getattr(RULES, kind).items():
            for entries, holds in ((entry.holds, True), (entry.near_miss, False)):
                records, options = records_of(entries, RULES, VOCABULARY)
                assert (name in agree(finders, naive, records, options).names) is holds


def test_engines_agree_on_many_reports_made_up(naive: Naive) -> None:
    """Records near the edges of what rules ask for: thrown together at random, so most rules meet both sides of theirs."""
    chance = random.Random(20261125)
    finders = [AllAtOnce(RULES, make) for make in engines()]
    pool = examples()
    triggered: set[str] = set()
    for _ in range(REPORTS):
        records = made_up(pool, chance)
        options = {"blower_on_delay": "30"} if chance.random() < 0.3 else {}
        triggered |= agree(list(finders), naive, records, options).names

    assert len(triggered) > 120  # a generator that triggers nothing would show nothing


class AllAtOnce(Finder):
    """A finder with every rule in its engines, whatever a report speaks of: one engine serves all reports."""

    @cached_property
    def _whole(self) -> dict[RuleSet, tuple[Chainer, dict[str, ChainRule]]]:
        rules = {which: self._rules(which) for which in get_args(RuleSet)}
        return {which: (self._make(some), {r.rule: r for r in some}) for which, some in rules.items()}

    def _made_ready(self, which: RuleSet, able: tuple[ChainRule, ...]) -> tuple[Chainer, dict[str, ChainRule]]:
        return self._whole[which]


def examples() -> dict[str, list[list[Record]]]:
    """The records of every example: of proofs, and of other findings with their near misses."""
    of_proofs = [records_of(example_of(p), RULES, VOCABULARY)[0] for p in RULES.proof.values()]
    others = [records_of(e, RULES, VOCABULARY)[0] for kind in FINDINGS for entry in getattr(RULES, kind).values() for e in (entry.holds, entry.near_miss)]
    return {"proof": of_proofs, "other": others}


def made_up(pool: dict[str, list[list[Record]]], chance: random.Random) -> list[Record]:
    """Parts of the example of one proof and of a few other findings, some of the records bent."""
    every = [r for some in (chance.choice(pool["proof"]), *chance.sample(pool["other"], 2)) for r in some]
    share = chance.choice((0.6, 0.95, 1.0))
    return [bent(r, chance) if chance.random() < 0.15 else r for r in every if chance.random() < share]


def bent(r: Record, chance: random.Random) -> Record:
    how = chance.choice(("number", "word", "step", "meter", "contact", "hold", "after_s", "set_up", "call"))
    if how == "number" and r.number is not None:
        return replace(r, number=chance.choice((0.0, 0.5, 1.0, 2.0, 3.0, 10.0, 10.001, 20.4, 30.0, 30.01, 107.0, 108.0, 132.0, 240.0, float("inf"))))
    if how == "word" and r.kind == "sign":
        return replace(r, word=chance.choice(RULES.sign[r.name].values))
    if how == "step":
        return replace(r, step=chance.choice((None, "standby", "heating", "call", "cooling_call")))
    if how == "after_s":
        return replace(r, after_s=chance.choice((None, 0.0, 5.0, 10.0, 59.0, 60.0, 75.0, 119.0, 120.0, 314.0, 315.0, 400.0)))
    if how == "set_up":
        return replace(r, set_up=chance.choice(((), ("load_on",), ("lead_lifted",), ("thermostat_wires_off",), ("load_on", "thermostat_wires_off"))))
    others: dict[str, tuple[object, ...]] = {"meter": (None, "low", "high"), "contact": (None, "pin", "crimp"), "hold": (None, "min", "max"), "call": (1, 2, 3)}
    return replace(r, **{how: chance.choice(others[how])}) if how in others else r


# --- lines of a finding are about one heat call ---------------------------------------------------

NO_24_V, LIT = {"point": "gas_pin_to_c", "value": "0.1 V", "step": "ignition_trial"}, {"sign": "burners_light", "value": "drop_out"}


@pytest.mark.parametrize(("calls", "told"), [((1, 1), True), ((2, 2), True), ((1, 2), False), ((2, 1), False)])
def test_no_24_v_in_one_heat_call_and_a_flame_in_another_are_no_reading_that_missed_it(
    calls: tuple[int, int], told: bool, finders: list[Finder], naive: Naive
) -> None:
    entries = [{**entry, "call": str(call)} for entry, call in zip((NO_24_V, LIT), calls, strict=True)]
    records, options = records_of(entries, RULES, VOCABULARY)
    found = agree(finders, naive, records, options)

    because = [set(d.because) for d in found.doubts if d.finding == "gas_window_missed"]
    assert because == ([{r.said for r in records}] if told else [])


def examples_of_two() -> list[tuple[str, bool]]:
    """Findings whose example is two readings or signs, and whether no line of the rule says that it may be of any heat call."""
    entries = [(name, e) for kind in FINDINGS for name, e in getattr(RULES, kind).items()]
    of_two = [(name, e) for name, e in entries if len(e.holds) == 2 and all({"point", "sign"} & {*line} for line in e.holds)]
    return [(name, not any(w.any_call for way in e.when for w in way)) for name, e in of_two]


@pytest.mark.parametrize(("name", "in_one_call"), examples_of_two())
def test_an_example_of_two_facts_holds_apart_only_where_its_rule_says_so(name: str, in_one_call: bool, finders: list[Finder], naive: Naive) -> None:
    entry = next(getattr(RULES, kind)[name] for kind in FINDINGS if name in getattr(RULES, kind))
    (first, second), options = records_of(entry.holds, RULES, VOCABULARY)

    assert name in agree(finders, naive, [first, second], options).names
    assert (name in agree(finders, naive, [first, replace(second, call=2)], options).names) is not in_one_call


# --- proofs hold only when whole --------------------------------------------------------------


def proof_state(finder: Finder, records: list[Record], options: dict[str, str], name: str) -> ProofState:
    return finder.proof(finder.find(records, options), name)


@pytest.mark.parametrize("name", PROOFS)
def test_a_proof_with_any_one_record_left_out_is_no_proof(name: str, finders: list[Finder]) -> None:
    """Left out of one call; what need be known once in a visit is left out of all of them."""
    proof = RULES.proof[name]
    for left_out in proof.holds:
        once = _read_once(left_out, proof.needs)
        kept = [e for e in example_of(proof) if not _is(e, left_out) or not (once or e.get("call") == "1" or "option" in e)]
        records, options = records_of(kept, RULES, VOCABULARY)
        state = proof_state(finders[0], records, options, name)
        assert state.grade != "proved", left_out
        assert any(not n.met_by for n in state.missing), left_out  # what is still to be taken, though the other call showed it


def test_a_vaguer_word_beside_the_exact_one_denies_nothing(finders: list[Finder], naive: Naive) -> None:
    """Burners that drop out do light, and a flame that is lost within seconds was told as "yes, they light" by most."""
    records, options = records_of(example_of(RULES.proof["flame_circuit_dead"]), RULES, VOCABULARY)
    lights = [replace(r, word="yes", said=f"burners light: yes, call {r.call}") for r in records if r.name == "burners_light"]
    never = [replace(r, word="no", said=f"burners light: no, call {r.call}") for r in lights]
    assert proof_state(finders[0], [*records, *lights], options, "flame_circuit_dead").grade == "proved"
    assert "flame_circuit_dead" in naive.find([*records, *lights], options)
    assert proof_state(finders[0], [*records, *never], options, "flame_circuit_dead").grade != "proved"
    assert "flame_circuit_dead" not in naive.find([*records, *never], options)


def test_what_the_light_says_once_a_call_is_over_denies_nothing_of_its_beginning(finders: list[Finder], naive: Naive) -> None:
    """A dead inducer output is blamed on the pressure switch in the end; the proof asks what the light said before."""
    name = "inducer_output_dead"
    records, options = records_of(example_of(RULES.proof[name]), RULES, VOCABULARY)
    light = next(r for r in records if r.name == "light_says")
    in_the_end = replace(light, word="pressure_switch_open", step=None, said="light says: pressure switch open")
    at_the_start = replace(in_the_end, step="call", said="light says: pressure switch open at the call")
    assert proof_state(finders[0], [*records, in_the_end], options, name).grade == "proved"
    assert proof_state(finders[0], [*records, at_the_start], options, name).grade != "proved"
    assert (name in naive.find([*records, in_the_end], options), name in naive.find([*records, at_the_start], options)) == (True, False)


def _is(entry: Mapping[str, object], other: Mapping[str, object]) -> bool:
    return {k: v for k, v in entry.items() if k != "call"} == dict(other)


def _read_once(entry: Mapping[str, object], needs: tuple[str, ...]) -> bool:
    """Whether only conditions that are met once in a visit read this record."""
    readers = [n for n in needs for way in RULES.condition[n].any_of for w in way if w.names[0][1] in (entry.get("point"), entry.get("sign"))
               and all(getattr(w, how) in (None, entry.get(how)) for how in ("meter", "contact", "hold"))]  # fmt: skip
    return bool(readers) and all(RULES.condition[n].once for n in readers)


@pytest.mark.parametrize("name", PROOFS)
def test_a_proof_with_any_one_record_contradicted_is_no_proof_and_names_the_clash(name: str, finders: list[Finder]) -> None:
    proof = RULES.proof[name]
    records, options = records_of(example_of(proof), RULES, VOCABULARY)
    for i, r in enumerate(records):
        against = opposite(r)
        state = proof_state(finders[0], [*records[:i], r, against, *records[i + 1 :]], options, name)

        assert state.grade != "proved", r.said
        assert any(against.said in n.denied_by for n in state.denied), r.said


@pytest.mark.parametrize("name", [p.proof for p in RULES.proof.values() if "plugs_refitted" in p.needs])
@pytest.mark.parametrize(
    "cured",
    [
        {"experiment": "plug_moved_helps", "value": "yes"},
        {"history": "board_plug", "value": "refitted_and_cured"},
        {"history": "control_board", "value": "refitted_and_cured"},
    ],
)
def test_a_board_that_runs_once_a_plug_was_moved_is_not_proved_bad(name: str, cured: dict[str, str], finders: list[Finder], naive: Naive) -> None:
    """A new board would cure it by new contact alone, however dead its output was read before: common practice, no source."""
    records, options = records_of([*example_of(RULES.proof[name]), cured], RULES, VOCABULARY)
    (said,), _ = records_of([cured], RULES, VOCABULARY)

    for finder in finders:
        state = proof_state(finder, records, options, name)
        assert state.grade != "proved"
        assert [n.condition for n in state.denied if said.said in n.denied_by] == ["plugs_refitted"]
    assert name not in naive.find(records, options)


def opposite(r: Record) -> Record:
    """The same reading in another call, saying the opposite: live for dead, dead for live, another word."""
    if r.number is None:
        sign = RULES.sign[r.name]
        words = [v for v in sign.values if v != r.word and not {*sign.meant_by(v)} > {*sign.meant_by(str(r.word))}]  # a vaguer word is no opposite
        opposites = {"yes": "no", "no": "yes", "open": "closed", "closed": "open", "bright": "no", "still_the_same": "cured", "all_in": "tripped"}
        word = opposites.get(str(r.word)) or next(w for w in words if w != "limit_open")
        return replace(r, word=word, call=9, said=f"{r.name} the other way: {word}")
    number = OPPOSITES[RULES.point[r.name].unit](r.number)
    return replace(r, number=number, call=9, said=f"{r.name} the other way: {number}")


# far outside the band of any healthy or dead reading on the other side
OPPOSITES: dict[str, Callable[[float], float]] = {
    "V": lambda v: 118.0 if v < 5 else 0.0,
    "uA": lambda v: 4.0 if v < 1 else 0.1,
    "ohm": lambda v: 12.0 if v == float("inf") else 5000.0,
    "s": lambda _: 200.0,
}


def test_what_a_proof_asks_for_again_is_told_with_the_call_that_met_it(finders: list[Finder]) -> None:
    """Of a proof that is whole in one call, whatever is left out of the second was met before: nothing is asked for as if it had not been read."""
    for proof in RULES.proof.values():
        records, options = records_of(example_of(proof), RULES, VOCABULARY)
        once = {c for c in proof.needs if RULES.condition[c].once}
        for left_out in [r for r in records if r.call == 2]:
            finder = finders[0]
            state = finder.proof(finder.find([r for r in records if r is not left_out], options), proof.proof)
            again = [n for n in state.needs if n.calls_left and not n.met_by and n.condition not in once]

            assert all(n.before and n.calls_left == 1 for n in again), (proof.proof, left_out.said)
            assert all("second heat call" in n.beside[0] for n in again)


def test_a_reading_that_was_sent_and_does_not_count_is_told_with_the_reason(finders: list[Finder]) -> None:
    """A dead output read with a sensitive meter, on the crimp, or only told of: each is the near miss of what the condition says of how it is read."""
    proof = RULES.proof["gas_output_dead"]
    records, options = records_of(example_of(proof), RULES, VOCABULARY)
    for change, why in (
        ({"meter": "high"}, "another meter"),
        ({"contact": "load"}, "another contact"),
        ({"source": "told"}, "it was told"),
        ({"step": "heating"}, "another step"),
        ({"step": "heating", "meter": None}, "another step is wanted, and say with which meter"),
    ):
        changed = [replace(r, **change) if r.name == "gas_pin_to_c" else r for r in records]  # type: ignore[arg-type]
        need = next(n for n in finders[0].proof(finders[0].find(changed, options), proof.proof).needs if n.condition == "gas_output_dead")

        assert not need.met_by
        assert [why in text and "gas_pin_to_c" in text for text in need.unfit] == [True], change


@pytest.mark.parametrize("first", [0, 1])
def test_what_the_first_report_needs_is_all_that_it_needs(first: int) -> None:
    """A finder writes down for its first report only the rules that it can make fire: those of any later report are not missing then."""
    told = [records_of(entry.holds, RULES, VOCABULARY) for kind in FINDINGS for entry in getattr(RULES, kind).values()]
    expected = [Finder(RULES).find(*one).names for one in told]
    assert any(expected)
    finder = Finder(RULES)
    order = [first, *range(len(told))]
    assert [finder.find(*told[i]).names for i in order] == [expected[i] for i in order]


@pytest.mark.parametrize(
    ("wire", "pin", "step"),
    [
        ("rollout_out_to_c", "limit_return_to_c_at_board", "standby"),
        ("limit_return_crimp_to_c", "limit_return_to_c_at_board", "standby"),
        ("pressure_return_crimp_to_c", "pressure_switch_return_to_c", "heating"),
    ],
)
def test_a_wire_that_is_live_before_a_dead_pin_is_the_plug_or_the_wire(wire: str, pin: str, step: str, finders: list[Finder], naive: Naive) -> None:
    live = {"point": wire, "value": "25.2 V", "step": step, "contact": "crimp"}
    dead = {"point": pin, "value": "0.2 V", "step": step, "contact": "pin", "meter": "low"}
    for pin_reads, expected in ((dead, True), ({**dead, "value": "25.1 V"}, False)):
        records, options = records_of([live, pin_reads], RULES, VOCABULARY)
        assert ("control_voltage_does_not_arrive" in agree(finders, naive, records, options).names) is expected


@pytest.mark.parametrize("name", [n for n in PROOFS if RULES.proof[n].calls > 1])
def test_a_call_that_is_over_is_not_asked_about_once_more(name: str, finders: list[Finder]) -> None:
    """The first call was told with a gap, the later ones in full: no further look mends the first, so what is wanted is the same again in a new call."""
    proof, finder = RULES.proof[name], finders[0]
    gap = [e for e in near_miss_of(proof) if e.get("call") == "1"]
    whole = [e for e in example_of(proof) if e.get("call") != "1"]
    records, options = records_of([*gap, *whole], RULES, VOCABULARY)
    of_a_call = {n for n in proof.needs if not RULES.condition[n].once}

    def needs(running: int | None) -> list[Need]:
        return [n for n in finder.proof(finder.find(records, options, running), name).needs if n.condition in of_a_call]

    if finder.calls_of(finder.find(records, options), name) == {*range(2, proof.calls + 1)}:  # what the near miss lacks is of a call
        assert all(n.met_by for n in needs(proof.calls))
        assert {n.calls_left for n in needs(proof.calls)} == {1}
        assert not any(n.met_by for n in needs(proof.calls + 1))
        assert not all(n.met_by for n in needs(None))
