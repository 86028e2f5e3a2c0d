"""Ranking that stays right: every case, no single fact decides, and no board on facts that any part gives."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from furnace_diag.diagnosis.answer import Answer, answer
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.prior import prior_given
from furnace_diag.diagnosis.report_file import read_report, understand
from furnace_diag.diagnosis.value_fits import chance_of_words
from furnace_diag.diagnosis.verdict import by_belief
from furnace_diag.diagnosis.weigh import weigh
from furnace_diag.furnace.family import Family
from furnace_diag.furnace.population import Population
from furnace_diag.knowledge.models import Knowledge
from furnace_diag.knowledge.words import words_of
from furnace_diag.knowledge.yaml_text import parse_yaml

CASES = sorted((Path(__file__).resolve().parents[2] / "cases").glob("*.yaml"))


def answered(text: str, evidence: Evidence) -> Answer:
    return answer(understand(parse_yaml(text, "report.yaml"), evidence.knowledge, evidence.vocabulary), evidence)


def likeliest(text: str, evidence: Evidence) -> tuple[str, float]:
    """The leading part of a report and its probability, weighed only: nothing is found, chosen or worded, which takes ten times as long."""
    report = understand(parse_yaml(text, "report.yaml"), evidence.knowledge, evidence.vocabulary)
    assert not report.options
    groups = [facts for _, facts in evidence.groups(report.records)]
    rows = np.ones(len(evidence.population.fault_of))
    belief = weigh(evidence.population, prior_given(evidence.family, report.records), groups, rows, evidence.words.something_else, evidence.comings)
    parts: dict[str, float] = {}
    for fault, p in zip(evidence.family.faults, belief.failures.tolist(), strict=True):
        parts[fault.part] = parts.get(fault.part, 0.0) + p
    part = min(parts, key=lambda name: by_belief(name, parts[name]))
    return part, parts[part]


def probability(result: Answer, part: str) -> float:
    return next(p.probability for p in result.parts if p.part == part)


@pytest.mark.parametrize("path", CASES, ids=lambda p: p.stem)
def test_every_case_names_its_part_first(path: Path, evidence: Evidence) -> None:
    """The right answer of a case is written by hand."""
    report = read_report(path, evidence.knowledge, evidence.vocabulary)
    result = answer(report, evidence)

    assert result.parts[0].part == report.answer["part"]


@pytest.mark.parametrize("path", CASES, ids=lambda p: p.stem)
def test_no_case_condemns_a_good_board(path: Path, evidence: Evidence) -> None:
    report = read_report(path, evidence.knowledge, evidence.vocabulary)
    if report.answer["part"] != "control_board":
        assert probability(answer(report, evidence), "control_board") < 0.2


def test_tries_before_a_lock_out_point_to_gas_igniter_or_flame_and_to_how_the_board_is_set(evidence: Evidence) -> None:
    """Three glows and then nothing: ignition was reached and no flame was seen (common practice, no source), on a board set for three tries."""
    ignition = {"igniter", "igniter_harness", "gas_supply", "gas_valve", "gas_harness", "flame_rod", "flame_wire", "burner_ground", "burners"}
    told = answered("records: [{sign: tries, value: three times then quits}]", evidence)
    assert [p.part for p in told.parts[:4] if p.part not in ignition] == []
    as_set, otherwise = (
        answered(f"furnace: {{options: {{trials: '{n}'}}}}\nrecords: [{{sign: tries, value: 3 tries}}]", evidence) for n in ("3", "4")
    )
    assert probability(as_set, "igniter") > 2 * probability(otherwise, "igniter")


@pytest.mark.parametrize("microfarads", [1, 2.5, 5, 7.5])
def test_a_capacitor_well_below_its_mark_leads_however_far_below(microfarads: float, evidence: Evidence) -> None:
    """Of a mark of 10 uF; that the trade replaces it below 90 to 94 %: see tests/reference/test_bands.py."""
    furnace = "furnace: {options: {capacitor_mark: '10'}}"
    records = f"{furnace}\nrecords: [{{sign: blower_runs, value: slow, step: heating}}, {{point: capacitor_microfarads, value: {microfarads} uF}}]"

    assert answered(records, evidence).parts[0].part == "blower_capacitor"


def test_probabilities_sum_to_one(evidence: Evidence) -> None:
    result = answered("records: [{sign: inducer_runs, value: yes}]", evidence)

    assert sum(p.probability for p in result.parts) + result.something_else == pytest.approx(1)
    assert all(p.probability == pytest.approx(sum(f.probability for f in p.failures)) for p in result.parts)


def single_signs(knowledge: Knowledge) -> list[str]:
    """Every value of every sign, as a report of one record."""
    return [f"records: [{{sign: {s.sign}, value: {value}}}]" for s in knowledge.sign.values() for value in s.values]


def single_figures(knowledge: Knowledge, population: Population) -> list[str]:
    """Of every point at every step two of the readings that furnaces give there, each as a report of one record."""
    random = np.random.default_rng(5)
    reports = []
    for (name, step, meter), column in population.columns.items():
        if name not in knowledge.point or meter == "low":
            continue
        values = population.table[column].astype(float)
        values = values[~np.isnan(values)]
        for value in random.choice(values, min(2, len(values)), replace=False):
            said = "OL" if np.isinf(value) else f"{value:.3f}"
            reports.append(f"records: [{{point: {name}, value: '{said}', step: {step}}}]")
    return reports


def test_what_is_weighed_alone_is_what_is_answered(evidence: Evidence, knowledge: Knowledge, population: Population) -> None:
    """On a spread of the reports below: whoever changes one must change the other."""
    for text in (*single_signs(knowledge)[::25], *single_figures(knowledge, population)[::50]):
        first = answered(text, evidence).parts[0]
        part, p = likeliest(text, evidence)
        assert (part, p) == (first.part, pytest.approx(first.probability)), text


def test_nothing_is_above_nine_tenths_on_one_fact(evidence: Evidence, knowledge: Knowledge) -> None:
    worst = max((likeliest(text, evidence)[1], text) for text in single_signs(knowledge))

    assert worst[0] <= 0.9, worst


def test_no_single_figure_decides(evidence: Evidence, knowledge: Knowledge, population: Population) -> None:
    """Healthy and failed readings of every point, alone, leave every part at 0.9 or below."""
    worst = max((likeliest(text, evidence)[1], text) for text in single_figures(knowledge, population))

    assert worst[0] <= 0.9, worst


def test_every_figure_sharpens(evidence: Evidence) -> None:
    states = "{sign: inducer_runs, value: yes, step: igniter_warm_up}, {sign: igniter_glows, value: no, step: igniter_warm_up}"
    before = answered(f"records: [{states}]", evidence)
    after = answered(f"records: [{states}, {{point: igniter_ohms, value: OL, step: power_off}}]", evidence)

    assert probability(after, "igniter") > probability(before, "igniter") > 0.3


def test_a_range_lies_between_its_ends_and_is_not_merely_rough(evidence: Evidence) -> None:
    """A transformer that reads 16 to 18 V sags nearly as surely as one that reads 17 V; "about 17" may have been much more."""
    at = "{point: secondary_volts_at_leads, step: inducer_start, value: %s}"
    believed = {said: probability(answered(f"records: [{at % said}]", evidence), "transformer") for said in ("17", "16 to 18", "about 17")}

    assert believed["16 to 18"] > 0.7 * believed["17"]
    assert believed["about 17"] < 0.7 * believed["16 to 18"]


def test_contradictions_go_to_something_else(evidence: Evidence) -> None:
    calm = answered("records: [{sign: fuse_looks, value: good, step: power_off}]", evidence)
    torn = answered(
        "records: [{sign: light, value: dark, step: standby}, {point: flame_current, value: 3 uA, step: heating},"
        " {point: igniter_ohms, value: OL, step: power_off}, {point: r_to_c_at_board, value: 0 V, step: heating}]",
        evidence,
    )

    assert torn.something_else > calm.something_else


def test_a_known_option_excludes_the_others(evidence: Evidence) -> None:
    """With the fan call on its own tap a fan call that works says nothing against the heat relay."""
    said = "records: [{sign: blower_runs, value: no, step: heating}, {sign: blower_runs, value: yes, step: fan_call}]"
    own = answered(f"furnace: {{options: {{fan_call_tap: fan}}}}\n{said}", evidence)
    same = answered(f"furnace: {{options: {{fan_call_tap: heat}}}}\n{said}", evidence)

    assert probability(own, "control_board") > probability(same, "control_board")


def test_replaced_without_change_clears_the_part(evidence: Evidence) -> None:
    said = "records: [{sign: igniter_glows, value: no, step: igniter_warm_up}"
    before = answered(said + "]", evidence)
    after = answered(said + ", {history: igniter, value: replaced_no_change}]", evidence)

    assert probability(after, "igniter") < probability(before, "igniter") / 4
    assert probability(after, "igniter_harness") > probability(before, "igniter_harness")


def test_a_hazard_comes_first_and_suspects_are_still_ranked(evidence: Evidence) -> None:
    result = answered("records: [{sign: gas_smell, value: strong}, {sign: igniter_glows, value: no}]", evidence)

    calm = answered("records: [{sign: gas_smell, value: none}, {sign: igniter_glows, value: no}]", evidence)

    assert result.hazards
    assert result.parts[0].probability > 0
    assert result.not_told_apart == ()
    assert not calm.hazards
    assert calm.not_told_apart


def test_words_of_a_sign_share_what_they_stand_for(knowledge: Knowledge, family: Family) -> None:
    for sign in knowledge.sign.values():
        if sign.shows:
            table = np.array([chance_of_words(sign, words_of(sign.shows, family.sequence), value) for value in sign.values])
            assert (table.sum(axis=0) <= 1 + 1e-9).all(), sign.sign


def test_facts_that_restate_one_another_share_one_slip(evidence: Evidence) -> None:
    """Twice the same thing counts as once: two equal records give what one gives, or less than two independent ones."""
    once = answered("records: [{sign: burners_light, value: no}]", evidence)
    twice = answered("records: [{sign: burners_light, value: no}, {sign: burners_light, value: no, call: 2}]", evidence)
    top = once.parts[0].part

    assert probability(twice, top) == pytest.approx(probability(once, top), abs=0.05)


@pytest.mark.parametrize("word", ["blue_and_steady", "yellow_and_lazy", "lifting"])
def test_no_color_is_seen_of_a_flame_that_is_not_there(word: str, evidence: Evidence) -> None:
    """Failures under which no furnace of the population lights have nothing to show; what comes and goes has, in its good calls."""
    population = evidence.population
    sign = evidence.knowledge.sign["flame_color"]
    (column,) = [i for (name, _, _), i in population.columns.items() if name == "burners_light"]
    never = words_of(evidence.knowledge.sign["burners_light"].shows, evidence.family.sequence).index("never_light")  # type: ignore[arg-type]
    habits = evidence.habits(sign, word)
    dark = 0
    for number, fault in enumerate(population.faults):
        lights = population.table[column, population.fault_of == number] != never
        if evidence.family.failure(fault).comes_and_goes is None and not lights.any():
            dark += 1
            assert habits[number] == 0
        elif lights.all():
            assert habits[number] > 0
    assert dark > 20


def test_a_color_speaks_for_what_lights(evidence: Evidence) -> None:
    before = answered("records: [{sign: stops_at, value: ignition_trial}]", evidence)
    after = answered("records: [{sign: stops_at, value: ignition_trial}, {sign: flame_color, value: blue_and_steady}]", evidence)
    p = lambda now, name: next((b.probability for b in now.parts if b.part == name), 0.0)  # noqa: E731
    assert p(after, "igniter") < p(before, "igniter") / 5
    assert p(after, "flame_rod") > p(before, "flame_rod")


@pytest.mark.parametrize(
    ("part", "failure"), [("flame_rod", "out_of_flame"), ("gas_valve", "set_low"), ("pressure_switch", "of_another_rating"), ("limit_switch", "opens_early")]
)
def test_a_new_part_may_be_fitted_or_set_wrong_as_the_old_one_was(part: str, failure: str, evidence: Evidence) -> None:
    """Of such a failure "replaced, no change" says less than of the part's own wear; the odds are those of the rules' words."""
    text = f"records: [{{history: {part}, value: replaced_no_change}}]"
    prior = prior_given(evidence.family, understand(parse_yaml(text, "report.yaml"), evidence.knowledge, evidence.vocabulary).records)
    ratio = dict(zip(map(str, evidence.population.faults), prior / evidence.family.prior, strict=True))
    fitted = ratio.pop(f"{part}:{failure}")
    assert fitted > 5 * min(r for name, r in ratio.items() if name.startswith(f"{part}:"))
    assert fitted < ratio["igniter:open"]  # still less than of what nobody worked on
