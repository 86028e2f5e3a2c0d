"""The next reading: the cheapest of all by a reckoning of its own, none under a hazard, none without its instrument."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from furnace_diag.diagnosis.answer import Answer, answer
from furnace_diag.diagnosis.bins import NEVER_BIN, error_of
from furnace_diag.diagnosis.candidates import Table, told
from furnace_diag.diagnosis.choose import WORTH_A_CHECK
from furnace_diag.diagnosis.confirm import AS_TELLING, QUICK, _of_something_else, _parting
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.groups import Group
from furnace_diag.diagnosis.prior import prior_given
from furnace_diag.diagnosis.readings import _range, outcomes_of
from furnace_diag.diagnosis.reckoning import FAR_FROM_MENDING, LEAST_CHANCE, MINUTES_OF_A_BIT, MOST_NEVER, OFFERED, Reckoning
from furnace_diag.diagnosis.records import Record
from furnace_diag.diagnosis.repair_cost import expected_repair_cost
from furnace_diag.diagnosis.report_file import read_report, understand
from furnace_diag.diagnosis.value_fits import chance_of_words
from furnace_diag.diagnosis.weigh import LIKE, STRANGE, Posterior, weigh
from furnace_diag.furnace.population import WHOLE_CALL
from furnace_diag.knowledge.repairs import repairs_for
from furnace_diag.knowledge.words import words_of
from furnace_diag.knowledge.yaml_text import parse_yaml
from furnace_diag.problems import Place
from furnace_diag.report.terminal import side_by_side

CASES = sorted((Path(__file__).resolve().parents[2] / "cases").glob("*.yaml"))


def answered(text: str, evidence: Evidence, without: tuple[str, ...] = ()) -> Answer:
    return answer(understand(parse_yaml(text, "report.yaml"), evidence.knowledge, evidence.vocabulary), evidence, without)


def weighed(records: Sequence[Record], evidence: Evidence) -> tuple[Posterior, list[Group]]:
    groups = evidence.groups(records)
    ones = np.ones(len(evidence.population.fault_of))
    facts = [facts for _, facts in groups]
    return weigh(evidence.population, prior_given(evidence.family, records), facts, ones, evidence.words.something_else, evidence.comings), groups


def believed(path: Path, evidence: Evidence) -> tuple[Posterior, list[tuple[str, str | None]]]:
    records = read_report(path, evidence.knowledge, evidence.vocabulary).records
    return weighed(records, evidence)[0], [(r.name, r.step) for r in records]


def cost_in_order(belief: np.ndarray, costs: np.ndarray, otherwise: float, order: Sequence[int]) -> float:
    """Minutes of putting right the parts of *order* one after another while the fault is still there, and then of finding it in some other way."""
    left, spent = 1.0, 0.0
    for part in order:
        spent, left = spent + left * costs[part], left - belief[part]
    return float(spent + max(left, 0.0) * otherwise)


def mended_in_order(belief: np.ndarray, costs: np.ndarray, otherwise: float) -> Sequence[int]:
    """The parts that are put right before one turns to something else, by falling probability over cost."""
    order = np.argsort(-belief / costs, kind="stable").tolist()
    return min((order[:n] for n in range(len(order) + 1)), key=lambda some: cost_in_order(belief, costs, otherwise, some))


@pytest.mark.parametrize("name", ["limit_open", "no_blower_heat_relay", "gas_plug_corroded", "inducer_seized"])
def test_the_belief_after_a_reading_is_that_of_the_ranking(name: str, evidence: Evidence) -> None:
    """The reading is taken on furnaces of the belief, and each report with it is weighed anew, all furnaces and failures that come and go among them.

    What it spares is what mending as it would be done now costs more than mending as it is then done, both reckoned here part by part.
    Tolerance: the mean over the furnaces drawn is off by its own standard error, three of them; and what is left out of the reckoning
    (furnaces too unlikely to count, outcomes too rare) can change the cost by their share of all it may cost.
    """
    records = read_report(Path("cases") / f"{name}.yaml", evidence.knowledge, evidence.vocabulary).records
    posterior, groups = weighed(records, evidence)
    reckoning = Reckoning(evidence, posterior, None, groups)
    table = reckoning.candidates({(r.name, r.step) for r in records}, {r.name for r in records if r.step is None}, ())
    readings = [i for i, _ in reckoning.ranked(table) if table.keys[i][0] in evidence.knowledge.point][:3]
    left_out = 1 - reckoning.weight.sum() / posterior.failures.sum()
    now = reckoning.by_part(posterior.failures[None, :])[0]
    order = mended_in_order(now, reckoning.costs, reckoning.otherwise)

    assert readings
    for i in readings:
        point, step, _ = table.keys[i]
        column = evidence.population.table[evidence.population.columns[table.keys[i]]].astype(float)
        drawn = np.random.default_rng(3).choice(len(column), 60, p=posterior.rows / posterior.rows.sum())
        spared = []
        for row in drawn:
            made = Record("point", point, point, Place("virtual furnace", 1, 1), number=float(column[row]), step=step)
            after = posterior if np.isnan(column[row]) else weighed([*records, made], evidence)[0]
            then = reckoning.by_part(after.failures[None, :])[0]
            best = expected_repair_cost(then[None, :], reckoning.costs, reckoning.otherwise)[0]
            spared.append(0.0 if np.isnan(column[row]) else cost_in_order(then, reckoning.costs, reckoning.otherwise, order) - best)
        tolerance = 3 * np.std(spared) / np.sqrt(len(spared)) + (left_out + LEAST_CHANCE) * reckoning.otherwise
        assert np.mean(spared) == pytest.approx(reckoning.cost_now - reckoning.cost_after(table, i), abs=tolerance), table.keys[i]


def test_a_volt_apart_is_one_outcome(evidence: Evidence) -> None:
    """A meter and a transformer are off by more: no question may offer 24 V and 25 V as two answers that lead elsewhere."""
    posterior, _ = weighed((), evidence)
    reckoning = Reckoning(evidence, posterior, None)
    table = reckoning.candidates((), (), ())
    for i, key in enumerate(table.keys):
        if key[0] not in evidence.knowledge.point or evidence.knowledge.point[key[0]].unit != "V":
            continue
        doubt, floor = error_of(evidence.knowledge.point[key[0]])
        middles = sorted(r.number for b in table.bins[table.first[i] : table.first[i + 1]] if b[0] != NEVER_BIN if (r := reckoning.supposed(key, b)).number)
        for low, high in pairwise(middles):
            assert high - low > np.hypot(floor, doubt * low), f"{key}: {low} and {high}"


@pytest.mark.parametrize("path", CASES[::4], ids=lambda p: p.stem)
def test_outcomes_are_those_of_the_belief(path: Path, evidence: Evidence) -> None:
    """Everything that a candidate may show adds up to the belief in the failures that are known, up to furnaces too unlikely to count."""
    posterior, taken = believed(path, evidence)
    reckoning = Reckoning(evidence, posterior, None)
    table = reckoning.candidates(set(taken), {n for n, _ in taken}, ())

    totals = np.add.reduceat(table.parts.sum(axis=1), table.first[:-1])
    assert totals == pytest.approx(np.full(len(totals), posterior.failures.sum()), rel=0.05)
    assert not {(key[0], key[1]) for key in table.keys} & set(taken)


def test_no_reading_and_no_repair_under_a_hazard(evidence: Evidence) -> None:
    result = answered("records: [{sign: gas_smell, value: strong}, {sign: igniter_glows, value: no}]", evidence)

    assert result.hazards
    assert result.next == ()
    assert result.act is None


def test_what_cannot_be_had_is_not_asked_for(evidence: Evidence) -> None:
    text = "records: [{sign: inducer_runs, value: yes, step: inducer_start}, {sign: pressure_switch_contact, value: open, step: inducer_start}]"
    tools = tuple(evidence.words.instruments)
    asked = [n.function for n in answered(text, evidence, tools).next]

    assert set(asked) <= {"look", "ac_volts"}  # eyes, and volts that every meter has


def test_the_board_is_never_to_be_mended_without_its_proof(evidence: Evidence) -> None:
    for path in CASES:
        result = answer(read_report(path, evidence.knowledge, evidence.vocabulary), evidence)
        if result.act is not None and result.act.part == "control_board":
            assert result.act.needs_proof or result.board.proved


def test_what_confirms_a_repair_is_the_quickest_of_what_tells_as_much(evidence: Evidence) -> None:
    """What each candidate tells of the part in hand against all others (mutual information) is reckoned here outcome by outcome."""
    told_too = read_report(Path("cases") / "heat_lead_parked.yaml", evidence.knowledge, evidence.vocabulary).records
    records = [r for r in told_too if r.source != "told"]  # with what the complaint tells, hardly another failure is left to be denied
    posterior, groups = weighed(records, evidence)
    reckoning = Reckoning(evidence, posterior, None, groups)
    table = reckoning.candidates({(r.name, r.step) for r in records}, set(), ())
    part = evidence.parts.index("blower_wiring")

    def told(i: int) -> float:
        joint = table.parts[table.first[i] : table.first[i + 1]] / table.parts[table.first[i] : table.first[i + 1]].sum()
        two = np.stack([joint[:, part], joint.sum(axis=1) - joint[:, part]], axis=1)
        independent = two.sum(axis=1, keepdims=True) * two.sum(axis=0)
        there = two > 0
        return float((two[there] * np.log2(two[there] / independent[there])).sum())

    its = table.parts[:, part]
    check = _parting(reckoning, table, np.stack([its, table.parts.sum(axis=1) - its], axis=1))
    bits = {key[:2]: told(i) for i, key in enumerate(table.keys)}
    minutes = {key[:2]: evidence.minutes[key[0]] for key in table.keys}

    assert check is not None
    chosen = next(key for key in bits if key[0] == check.name)
    as_telling = [key for key, b in bits.items() if b >= AS_TELLING * max(bits.values())]
    assert chosen in as_telling
    assert minutes[chosen] == min(minutes[key] for key in as_telling) < max(minutes[key] for key in as_telling)


def test_what_something_else_would_show_is_like_a_known_failure_or_like_any(evidence: Evidence) -> None:
    """Of a sign, by the definition in weigh.py, furnace by furnace: its share is that of the belief in it, and each value's by its chance."""
    records = read_report(Path("cases") / "limit_open.yaml", evidence.knowledge, evidence.vocabulary).records
    posterior, groups = weighed(records, evidence)
    reckoning = Reckoning(evidence, posterior, None, groups)
    table = reckoning.candidates({(r.name, r.step) for r in records}, {r.name for r in records if r.step is None}, ())
    mass = _of_something_else(reckoning, table)
    there = table.unreached < 1 - 1e-9  # what no furnace gets to tells nothing of anything
    assert np.add.reduceat(mass, table.first[:-1])[there] == pytest.approx(np.full(there.sum(), posterior.something_else))

    k, fault = evidence.knowledge, evidence.population.fault_of
    rows = np.flatnonzero(fault >= 0)
    each = np.bincount(fault[rows])[fault[rows]]
    checked = 0
    for i, (name, step, _) in enumerate(table.keys):
        here = np.arange(table.first[i], table.first[i + 1])
        here = here[~table.never[here]]
        if name not in k.sign or not step or (step == WHOLE_CALL and k.sign[name].after_call) or mass[here].sum() < posterior.something_else * (1 - 1e-9):
            continue  # a furnace that never gets there tells nothing; what is looked at after the call not all of them show
        sign = k.sign[name]
        shown = evidence.population.table[evidence.column((name, step, ""))][rows].astype(int)
        fits = np.array([chance_of_words(sign, words_of(sign.shows, evidence.family.sequence), v)[shown] for v in sign.values])
        like, expected = (fits @ (belief[fault[rows]] / each) for belief in (posterior.like, posterior.prior))
        chance = LIKE * like + (1 - LIKE) * np.maximum(expected, min(STRANGE, 1 / len(sign.values)))
        chance = chance[[int(b[0]) for b in table.bins[here]]]
        if np.isclose(fits.sum(axis=0), 1).all():  # a value for whatever it shows
            assert mass[here] == pytest.approx(posterior.something_else * chance / chance.sum(), rel=1e-6), (name, step)
            checked += 1
    assert checked > 5


def test_a_board_that_leads_is_gone_on_with(evidence: Evidence) -> None:
    """Where it is believed more than all else, there is something to read, or its proof is to be completed: never nothing at all."""
    text = """
furnace: {family: induced_draft_hsi_80}
records:
  - {sign: whole_furnace, value: dead}
  - {point: fuse_ohms, value: 0.03 ohm, step: power_off}
  - {point: r_to_c_at_board, value: 24.9 V, step: cooling_call}
  - {sign: burners_light, value: "no"}
  - {point: r_to_w_at_board, value: 0 V, step: call}
  - {point: heat_terminal_to_neutral, value: 0 V, step: cooling_call}
  - {point: r_to_c_at_board, value: 25.7 V, step: fan_call}
  - {sign: air_at_registers, value: none, step: cooling_call}
  - {sign: light, value: dark, step: call}
  - {sign: starts_when_joined_at_board, value: "no"}
"""
    records = understand(parse_yaml(text, "report.yaml"), evidence.knowledge, evidence.vocabulary).records
    asked_for_ever = {(key[0], None if key[1] in ("", WHOLE_CALL) else key[1]) for key in evidence.usual_keys}
    now = answer(understand(parse_yaml(text, "report.yaml"), evidence.knowledge, evidence.vocabulary), evidence, never=asked_for_ever)

    assert len(records) == 10
    assert now.parts[0].part == "control_board"
    assert now.parts[0].probability > 0.5
    assert not now.next
    assert now.act is not None
    assert now.act.needs_proof
    beside = " ".join(" ".join(side_by_side(now, now, ["a reading"], 40)).split())  # lists nothing that the proof lacks
    assert "still lacks" in beside
    assert "(below)" not in beside
    assert now.board.nearest is not None
    assert now.board.nearest.missing[0].says in beside


def test_a_part_that_may_have_failed_in_two_ways_is_confirmed_by_what_tells_which_repair(evidence: Evidence) -> None:
    """A motor without a path is left to cool where its case is hot, and replaced where it is cold: common practice, no source."""
    text = """records:
- {sign: burners_light, value: stay_lit}
- {sign: blower_runs, value: silent, step: heating}
- {point: heat_terminal_to_neutral, value: 121, step: heating}
- {point: blower_volts_at_motor_heat, value: 121, step: heating}
- {point: blower_ohms_common_to_cool, value: OL}
- {point: seconds_of_flame, value: 140}
- {sign: blower_runs, value: silent, step: cooling_call}
"""
    act = answer(understand(parse_yaml(text, "report.yaml"), evidence.knowledge, evidence.vocabulary), evidence).act

    assert act is not None
    assert act.check is not None
    assert (act.part, act.check.name) == ("blower_motor", "blower_motor_hot")
    assert act.probability < 0.75 < 0.9 < act.of_part
    led_to = {o.then for o in act.check.outcomes}
    assert len({repairs_for(evidence.knowledge, *failure.split(":")).repair for failure in led_to}) > 1


def test_what_cannot_speak_against_a_repair_confirms_nothing(evidence: Evidence) -> None:
    """How often a control tries is its own setting: whatever the count, an igniter that reads OL is broken."""
    text = """records:
- {sign: inducer_runs, value: yes}
- {sign: igniter_glows, value: no}
- {point: igniter_volts_at_plug, value: 118, step: igniter_warm_up}
- {point: igniter_ohms, value: OL}
"""
    act = answer(understand(parse_yaml(text, "report.yaml"), evidence.knowledge, evidence.vocabulary), evidence).act

    assert act is not None
    assert act.part == "igniter"
    assert act.check is None or act.check.name != "tries_before_lock_out"


NOTHING_TO_TELL = {
    # the coil of a silent gas valve reads OL; a rod wire that reads OL lets the burners drop out; a fan wheel that is stiff hums: common practice, no source
    "gas_valve": "{sign: igniter_glows, value: yes}, {sign: gas_valve_clicks, value: no}, {sign: burners_light, value: no}, "
    "{point: gas_valve_coil_ohms, value: OL}",
    "flame_wire": "{sign: burners_light, value: drop_out}, {history: flame_rod, value: replaced_no_change}, {point: flame_current, value: 0 uA}, "
    "{point: rod_wire_end_to_end_ohms, value: OL}",
    "inducer": "{sign: inducer_runs, value: hums}, {sign: inducer_turns_freely, value: stiff}, {sign: light_says, value: pressure_switch_open}",
}


@pytest.mark.parametrize("part", NOTHING_TO_TELL)
def test_what_would_only_make_surer_is_not_asked_for(part: str, evidence: Evidence) -> None:
    """Nothing that is still to be read would bring another repair first: it is gone on with, and the repair says itself how to make sure."""
    act = answered(f"records: [{NOTHING_TO_TELL[part]}]", evidence).act

    assert act is not None
    assert act.part == part
    k = evidence.knowledge
    asked = repairs_for(k, act.part, act.failure).confirm
    names = [text for text in asked if text in k.point or text in k.sign]
    unread = [name for name in names if f"sign: {name}," not in NOTHING_TO_TELL[part] and f"point: {name}," not in NOTHING_TO_TELL[part]]
    assert act.confirm == (*([f"{', '.join(unread)}."] if unread else []), *(text for text in asked if text not in names))


@pytest.mark.parametrize("path", CASES, ids=lambda p: p.stem)
def test_what_confirms_a_repair_speaks_against_it_where_another_failure_is_there(path: Path, evidence: Evidence) -> None:
    """Read on furnaces with the other failures that are believed in, and weighed anew: more often than not it must take a good part of the belief away.

    A quarter: half, had nobody ever a slip, and slips are counted in. What the repair names itself and takes next to no time is read whatever it denies.
    """
    report = read_report(path, evidence.knowledge, evidence.vocabulary)
    act = answer(report, evidence).act
    if act is None or act.check is None:
        return
    repair = repairs_for(evidence.knowledge, act.part, act.failure)
    if act.check.name in repair.confirm and evidence.minutes[act.check.name] < QUICK:
        return
    mended = np.array([f.part == act.part and repairs_for(evidence.knowledge, f.part, f.failure) is repair for f in evidence.population.faults])
    posterior, _ = weighed(report.records, evidence)
    fault = evidence.population.fault_of
    others = np.where((fault >= 0) & ~mended[fault], posterior.rows, 0)
    drawn = np.random.default_rng(5).choice(len(others), 40, p=others / others.sum())
    key = next(k for k in evidence.usual_keys if (k[0], None if k[1] in ("", WHOLE_CALL) else k[1]) == (act.check.name, act.check.step))
    if key not in evidence.population.columns:
        return  # a habit, which no furnace shows
    sign = evidence.knowledge.sign.get(key[0])
    denied, read = 0, 0
    for shown in evidence.population.table[evidence.column(key)][drawn].astype(float):
        word = None if sign is None or np.isnan(shown) else max(sign.values, key=lambda v: evidence.foretold.chances(sign)[sign.values.index(v), int(shown)])
        if not np.isnan(shown):
            made = Record("point" if sign is None else "sign", key[0], key[0], report.records[0].place, number=shown, word=word, step=act.check.step)
            denied += weighed([*report.records, made], evidence)[0].failures[mended].sum() <= 0.75 * posterior.failures[mended].sum()
            read += 1
    assert denied > 0.35 * read, f"{act.part}: {act.check.name} denies {denied} of {read}"  # half, less two standard errors of 40


def test_what_is_asked_at_the_call_reads_the_same_all_through_it(evidence: Evidence) -> None:
    """A record of the call is understood to be of all of it: a good furnace's own reading at its first instant must fit that furnace."""
    posterior, _ = weighed((), evidence)
    reckoning = Reckoning(evidence, posterior, None)
    step = evidence.family.sequence.heat_call.step
    good = np.flatnonzero(evidence.population.fault_of < 0)
    asked = [key for key in reckoning.candidates((), (), ()).keys if key[1] == step and key[0] in evidence.knowledge.point]

    assert ("w_to_c_at_board", step) in {key[:2] for key in asked}
    for key in asked:
        readings = evidence.population.table[evidence.column(key)][good[:6]].astype(float)
        fits = [
            evidence.fit(Record("point", key[0], key[0], Place("good furnace", 1, 1), number=number, step=step, meter=key[2] or None))[row]
            for number, row in zip(readings.tolist(), good[:6], strict=True)
            if np.isfinite(number)
        ]
        assert np.mean(fits) > 0.5, key


@pytest.mark.parametrize("path", CASES[::3], ids=lambda p: p.stem)
def test_no_reading_that_is_left_unreckoned_would_be_offered(path: Path, evidence: Evidence, monkeypatch: pytest.MonkeyPatch) -> None:
    records = read_report(path, evidence.knowledge, evidence.vocabulary).records
    posterior, groups = weighed(records, evidence)

    def offered() -> list[tuple[str, float]]:
        reckoning = Reckoning(evidence, posterior, None, groups)
        table = reckoning.candidates({(r.name, r.step) for r in records}, {r.name for r in records if r.step is None}, ())
        named: dict[str, tuple[str, float]] = {}
        for i, cost in reckoning.ranked(table):
            named.setdefault(table.keys[i][0], (str(table.keys[i]), cost))
        return list(named.values())[:OFFERED]

    some = offered()
    monkeypatch.setattr("furnace_diag.diagnosis.reckoning.ROUNDED", float("inf"))  # now none is left out
    assert some == offered()


def test_a_pin_that_a_proof_asks_for_is_read_before_a_wire_that_tells_as_much(evidence: Evidence) -> None:
    """With W live, the inducer still and its winding good, a switch stuck closed shows at its own terminal, on the crimp and on the board's pin alike."""
    told = (
        "{sign: inducer_runs, value: silent}, {sign: stops_at, value: call}, {point: w_to_c_at_board, value: 26.3 V, step: call},"
        "{point: inducer_winding_ohms, value: 19 ohm, step: power_off}"
    )
    alike = {"pressure_switch_out_to_c", "pressure_return_crimp_to_c", "pressure_switch_return_to_c"}
    document = parse_yaml(f"records: [{told}]", "report.yaml")
    offered = answer(understand(document, evidence.knowledge, evidence.vocabulary), evidence).next

    assert next(r.name for r in offered if r.name in alike) == "pressure_switch_return_to_c"


def test_what_is_told_is_the_mutual_information_by_its_definition() -> None:
    """Sum of p(x, y) log2 p(x, y) / (p(x) p(y)) over the outcomes that are reached; Cover and Thomas (2006), Elements of Information Theory, 2.28."""
    random = np.random.default_rng(3)
    joint = random.random((6, 5)) * (random.random((6, 5)) < 0.6)
    never = np.array([False, False, True, False, False, False])
    table = Table([("a", "", ""), ("b", "", "")], joint, np.array([0, 3, 6]), np.zeros((6, 2), int), never)

    def information(rows: np.ndarray) -> float:
        p = rows / joint[:3].sum()  # the same for both: all that is believed
        of_row, of_column, reached = p.sum(axis=1), p.sum(axis=0), p.sum()
        cells = [(x, y) for x in range(len(p)) for y in range(5) if p[x, y] > 0]
        return float(sum(p[x, y] * np.log2(p[x, y] * reached / (of_row[x] * of_column[y])) for x, y in cells))

    assert told(table, joint) == pytest.approx([information(joint[:2]), information(joint[3:])])


TOLD_OF_THE_BLOWER = """furnace: {{family: induced_draft_hsi_80}}
complaint: blower wont come on
records: [{{point: heat_terminal_to_neutral, value: 121 V, step: heating}}{and_seen}]
"""


def test_what_was_only_told_may_be_seen_by_who_makes_the_call(evidence: Evidence, monkeypatch: pytest.MonkeyPatch) -> None:
    """A complaint tells that the blower does not run. It is weighed, and whether it is so stays to be seen: the belief then is that of the ranking
    with what is seen, whatever it is. What was seen itself is not asked for again."""
    k, told = evidence.knowledge, TOLD_OF_THE_BLOWER.format(and_seen="")
    records = understand(parse_yaml(told, "report.yaml"), k, evidence.vocabulary).records
    assert {r.name: r.source for r in records}["blower_runs"] == "told"
    posterior, groups = weighed(records, evidence)
    key = ("blower_runs", "heating", "")
    reckoning = Reckoning(evidence, posterior, None, groups)
    table = reckoning.candidates((), (), ())
    after = reckoning.after(table, table.keys.index(key))
    first = table.first[table.keys.index(key)]

    weighed_up: list[Table] = []
    ranked = Reckoning.ranked
    monkeypatch.setattr(Reckoning, "ranked", lambda self, table: (weighed_up.append(table), ranked(self, table))[1])

    answered(told, evidence)
    assert key in weighed_up[-1].keys
    for word in ("yes", "silent"):
        text = TOLD_OF_THE_BLOWER.format(and_seen=f", {{sign: blower_runs, value: {word}, step: heating}}")
        seen = understand(parse_yaml(text, "report.yaml"), k, evidence.vocabulary)
        parts = reckoning.by_part(weighed(seen.records, evidence)[0].failures[None, :])[0]
        outcome = next(n for n, bins in enumerate(table.bins[first:]) if k.sign["blower_runs"].values[bins[0]] == word)
        assert reckoning.by_part(after.failures[outcome][None, :])[0] == pytest.approx(parts, abs=0.05), word
        answer(seen, evidence)
        assert key not in weighed_up[-1].keys


def test_a_condition_is_met_by_what_is_soonest_read(evidence: Evidence) -> None:
    """That no flame is reported follows from the light's word and the pressure switch's pin, of which the pin is read: what lies across the switch would
    tell the proof nothing more, so only the light and what other conditions ask for is left."""
    told = (
        "{sign: stops_at, value: call}, {point: w_to_c_at_board, value: 27 V, step: call}, {sign: fan_when_r_g_joined_at_board, value: yes}, "
        "{sign: starts_when_joined_at_board, value: no}, {point: pressure_switch_return_to_c, value: 0.1 V, step: standby}"
    )
    now = answered(f"records: [{told}]", evidence)
    assert now.board.nearest is not None
    assert now.board.nearest.proof == "w_input_dead"
    posterior, groups = weighed(understand(parse_yaml(f"records: [{told}]", "report.yaml"), evidence.knowledge, evidence.vocabulary).records, evidence)
    spares = Reckoning(evidence, posterior, now.board.nearest, groups).spares

    assert ("light_says", "standby") in spares
    assert ("across_pressure_switch", "standby") not in spares


def test_several_words_of_a_sign_are_weighed_as_each_by_itself(evidence: Evidence) -> None:
    """At a stated step, at the heat call's own, told of the whole call, and of what no circuit gives."""
    call = evidence.family.sequence.heat_call.step
    steps = {"inducer_runs": ("heating", call, None), "burners_light": (None,), "flame_rod_looks": (None,)}
    for name, at in steps.items():
        for step in at:
            words = evidence.knowledge.sign[name].values
            records = [Record("sign", name, name, Place("r", 1, 1), word=word, step=step) for word in words]
            together = evidence.fact(records[0], words)
            assert together is not None
            for record, fit in zip(records, together.fit, strict=True):
                alone = evidence.fact(record)
                assert alone is not None
                assert fit == pytest.approx(alone.fit), (name, step, record.word)


def test_that_a_furnace_gets_there_is_no_merit_of_a_reading() -> None:
    """Two parts, as likely; the one gets to the step and shows the same as any that does. By hand: 0 bit; and 1 bit where all get there and it parts them."""
    parts = np.array([[0.5, 0.0], [0.0, 0.5]])
    bins = np.array([[NEVER_BIN, NEVER_BIN], [5, 5]])
    gets_there = Table([("reading", "heating", "")], parts, np.array([0, 2]), bins, np.array([True, False]))
    shown = Table(gets_there.keys, parts, gets_there.first, bins + 1, np.array([False, False]))

    assert told(gets_there, parts) == pytest.approx([0])
    assert told(shown, parts) == pytest.approx([1])


@pytest.mark.parametrize("path", CASES[::3], ids=lambda p: p.stem)
def test_readings_far_apart_are_not_told_as_one(path: Path, evidence: Evidence) -> None:
    """Dead and 24 V are two answers, whatever they lead to: between a quarter of 24 V and three quarters lies nothing that anybody calls either."""
    posterior, taken = believed(path, evidence)
    reckoning = Reckoning(evidence, posterior, None)
    table = reckoning.candidates(set(taken), {n for n, _ in taken}, ())
    points = [i for i, key in enumerate(table.keys) if key[0] in evidence.knowledge.point and evidence.knowledge.point[key[0]].unit == "V"]
    for i in points[::25]:
        for outcome in outcomes_of(reckoning, table, i):
            ends = [float(number) for number in re.findall(r"(\d+(?:\.\d+)?) V", outcome.shows)]
            assert not (ends and min(ends) < 1 and max(ends) > 18), (table.keys[i], outcome.shows)


def test_no_part_that_is_hardly_believed_in_is_looked_at_before_what_tells_more(evidence: Evidence) -> None:
    """A dead furnace with 24 V behind its fuse: whether its light shows any life tells more than the metal of its flame rod; common practice, no source."""
    records = ("{sign: whole_furnace, value: dead, sure: yes}", "{point: fuse_ohms, value: 0.03}", "{point: r_to_c_at_board, value: 26.6, step: call}")
    found = answered("complaint: no heat\nrecords:\n" + "".join(f"  - {r}\n" for r in records), evidence)

    assert next(p.probability for p in found.parts if p.part == "flame_rod") < WORTH_A_CHECK
    assert found.next[0].name in {"light", "light_says"}
    assert found.next[0].bits == max(n.bits for n in found.next if n.minutes <= found.next[0].minutes)


@pytest.mark.parametrize("path", CASES, ids=lambda p: p.stem)
def test_no_repair_is_named_on_trial_where_a_reading_would_tell(path: Path, evidence: Evidence) -> None:
    """However cheap it is: with the first two records of each visit, and with all, whatever is named is likelier than not or cannot be confirmed."""
    report = read_report(path, evidence.knowledge, evidence.vocabulary)
    for records in (report.records[:2], report.records):
        act = answer(replace(report, records=tuple(records)), evidence).act
        assert act is None or act.needs_proof or act.check is None or act.of_part > 0.5


def test_a_cheap_repair_on_trial_is_a_look_first(evidence: Evidence) -> None:
    """A pressure switch that stays open with a running inducer and a good hose: the port is looked at before anything is called the fault. Common practice."""
    text = """records:
- {sign: stops_at, value: inducer_start}
- {point: pressure_return_crimp_to_c, value: 0.2 V, step: inducer_start}
- {sign: inducer_runs, value: yes, step: inducer_start}
- {sign: pressure_hose_looks, value: good}
- {sign: inducer_noise, value: normal}
"""
    now = answered(text, evidence)

    assert now.act is None
    assert now.next[0].name in ("pressure_port_looks", "draft")  # either tells port and vent from the switch


def test_times_are_told_in_one_unit() -> None:
    assert _range(np.array([3.5, 134.0]), np.ones(2), "s") == "3.5 to 134 s"
    assert _range(np.array([3.5, 1800.0]), np.ones(2), "s") == "3.5 s to 30 min"


@pytest.mark.parametrize(
    ("told", "part", "asked"),
    [
        # no gas behind a valve with 24 V: the coil, and whether gas stands before it; by hand from what feeds the valve
        (
            "{sign: stops_at, value: ignition_trial}, {point: manifold_pressure, value: 0, step: ignition_trial}, "
            "{point: gas_valve_volts, value: 26 V, step: ignition_trial}",
            "gas_valve",
            ("inlet_pressure", "gas_valve_coil_ohms", "gas_cock_position", "gas_valve_clicks"),
        ),
        # nothing lit and an igniter dark, by word alone: it reads OL, or it is not the igniter
        (
            "{sign: inducer_runs, value: yes}, {sign: igniter_glows, value: no}, {sign: stops_at, value: ignition_trial}, "
            "{sign: gas_valve_clicks, value: yes}, {sign: flame_seen, value: no, step: ignition_trial}",
            "igniter",
            ("igniter_ohms", "igniter_volts_at_plug", "igniter_looks", "igniter_amps"),
        ),
    ],
)  # fmt: skip
def test_a_part_is_not_gone_to_before_what_shows_it_by_itself(evidence: Evidence, told: str, part: str, asked: tuple[str, ...]) -> None:
    """What others bring about as well shows neither coil nor igniter; what these rules do not know of could be there."""
    result = answered(f"records: [{told}]", evidence)
    check = result.next[0] if result.act is None else result.act.check

    assert result.parts[0].part == part
    assert check is not None
    assert check.name in asked


def test_a_valve_is_not_replaced_before_gas_is_read_at_its_inlet(evidence: Evidence) -> None:
    """Its repair names the inlet pressure; a cock that somebody shut is no bad valve."""
    told = (
        "{sign: stops_at, value: ignition_trial}, {point: gas_valve_volts, value: 26 V, step: ignition_trial}, "
        "{point: manifold_pressure, value: 0, step: ignition_trial}, {point: gas_valve_coil_ohms, value: OL}"
    )
    act = answered(f"records: [{told}]", evidence).act

    assert act is not None
    assert (act.part, act.check and act.check.name) == ("gas_valve", "inlet_pressure")


def test_where_nothing_runs_nothing_is_asked_of_what_comes_later_in_a_call(evidence: Evidence) -> None:
    """Common practice, no source: 24 V at the board, a good fuse and R on W leave what starts a call; gas, hose, igniter and flame come in no such call."""
    told = [
        "{sign: whole_furnace, value: nothing_runs, sure: yes}",
        "{point: secondary_volts_at_board, value: 26 V, step: call}",
        "{point: across_fuse, value: 0 V, step: standby}",
        "{point: r_to_w_at_board, value: 0 V, step: call}",
    ]
    asked = [n.name for n in answered("records:\n- " + "\n- ".join(told), evidence).next]
    assert asked
    assert not [n for n in asked if n.startswith(("igniter", "gas", "pressure_hose", "flame"))]


def test_far_from_any_repair_the_most_telling_reading_is_first(evidence: Evidence) -> None:
    """What each tells is reckoned again here, from the beliefs after its outcomes, by the definition of entropy."""
    records = read_report(CASES[0], evidence.knowledge, evidence.vocabulary).records[:0]
    posterior, groups = weighed(records, evidence)
    reckoning = Reckoning(evidence, posterior, None, groups)
    assert reckoning.cost_now > FAR_FROM_MENDING * reckoning.otherwise
    table = reckoning.candidates(set(), set(), ())

    def open_bits(belief: np.ndarray) -> float:
        known = reckoning.by_part(belief[None, :])[0]
        known = known[known > 0] / known.sum()
        return float(-(known * np.log2(known)).sum())

    def worth(i: int) -> float:
        after, rows = reckoning.after(table, i), slice(table.first[i], table.first[i + 1])
        told = sum(c * (open_bits(posterior.failures) - open_bits(b)) for c, b, n in zip(after.chance, after.failures, table.never[rows], strict=True) if not n)
        return MINUTES_OF_A_BIT * told - float(reckoning.minutes(table)[i])

    ranked = [i for i, _ in reckoning.ranked(table)]
    assert ranked[0] == max(ranked, key=lambda i: round(worth(i), 6))
    assert worth(ranked[0]) >= max(worth(i) for i in range(len(table.keys)) if table.unreached[i] <= MOST_NEVER) - 1e-6


def test_no_meter_is_asked_for_that_misreads_a_healthy_furnace(evidence: Evidence) -> None:
    """What is asked for reads on a sound furnace what its point calls good: a meter of 3 kilohm halves the 24 V across an open pressure switch."""
    population, healthy = evidence.population, np.flatnonzero(evidence.population.fault_of < 0)
    seen = 0
    for name, step, meter in (k for k in evidence.usual_keys if k in evidence.population.columns and k[0] in evidence.knowledge.point):
        for good in (e for e in evidence.knowledge.point[name].expects if step in e.steps):
            read = population.table[population.columns[name, step, meter], healthy].astype(float)
            usual = population.table[population.columns[name, step, "high" if meter == "low" else meter], healthy].astype(float)
            kept = ~np.isnan(read) & (usual >= good.low) & (usual <= good.high)  # where an ordinary meter reads well
            assert ((read[kept] >= 0.98 * good.low) & (read[kept] <= good.high)).all(), (name, step, meter)
            seen += int(meter == "low" and kept.any())
    assert seen > 20


@pytest.mark.parametrize("volts", ["7", "13", "19", "25.3"])
def test_a_low_reading_across_an_open_pressure_switch_fits_whatever_the_input_draws(volts: str, evidence: Evidence) -> None:
    """Between 1 and 10 kilohm of input and a meter of 3 kilohm or 10 megohm, 24 to 27 V leave 6 to 27 V across it, by Ohm's law."""
    records = ["{sign: stops_at, value: inducer_start}", f"{{point: across_pressure_switch, value: {volts} V, step: standby}}"]
    text = f"complaint: no heat\nrecords: [{', '.join(records)}]\n"
    now = answer(understand(parse_yaml(text, "report.yaml"), evidence.knowledge, evidence.vocabulary), evidence)
    assert not now.clashes
    assert not now.look_again
