"""What is told without a step: of the heat call as a whole, so that a furnace that stops early does not explain all that is dead later."""

from __future__ import annotations

import statistics
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import yaml

from furnace_diag.diagnosis.answer import Answer, answer
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.records import Record
from furnace_diag.diagnosis.report_file import understand
from furnace_diag.diagnosis.step_taken import UNSTATED
from furnace_diag.diagnosis.value_fits import chance_of_words
from furnace_diag.diagnosis.weigh import weigh
from furnace_diag.knowledge.words import words_of
from furnace_diag.knowledge.yaml_text import parse_yaml
from furnace_diag.problems import Place

HERE = Place("virtual furnace", 1, 1)
SEQUENCE = Path(__file__).resolve().parents[2] / "rules" / "sequence" / "single_stage.yaml"
DRIVEN_BY = {"inducer_runs": "inducer", "igniter_glows": "igniter", "gas_valve_clicks": "gas", "blower_runs": "blower_heat"}
# one sign or reading for each thing that a call switches on, at a step where it is due
SEEN = (("inducer_runs", "inducer_start"), ("igniter_glows", "igniter_warm_up"), ("gas_valve_clicks", "ignition_trial"), ("blower_runs", "heating"))
READ = (
    ("inducer_pin_to_neutral", "inducer_start"), ("igniter_pin_to_neutral", "igniter_warm_up"), ("gas_valve_volts", "ignition_trial"),
    ("heat_terminal_to_neutral", "heating"),
)  # fmt: skip


def test_a_thing_is_at_rest_as_the_healthy_furnace_in_the_middle_has_it(evidence: Evidence) -> None:
    population, rest = evidence.population, evidence.family.sequence.starts_at
    columns = {name: i for (name, step, meter), i in population.columns.items() if step == rest and meter != "low"}

    for name, i in columns.items():
        read = population.table[i, population.fault_of < 0].astype(float)
        assert evidence.foretold.due(name).rest == pytest.approx(statistics.median(read.tolist()) if not np.isnan(read).any() else np.nan, nan_ok=True), name
    assert len(columns) > 20


def answered(records: str, evidence: Evidence) -> Answer:
    return answer(understand(parse_yaml(f"records: [{records}]", "report.yaml"), evidence.knowledge, evidence.vocabulary), evidence)


def fit(evidence: Evidence, name: str, value: str, step: str | None = None) -> np.ndarray:
    kind = "point" if name in evidence.knowledge.point else "sign"
    text = f"records: [{{{kind}: {name}, value: {value}{f', step: {step}' if step else ''}}}]"
    fact = evidence.fact(understand(parse_yaml(text, "report.yaml"), evidence.knowledge, evidence.vocabulary).records[0])
    assert fact is not None
    return fact.fit


def rows_of(evidence: Evidence, fault: str) -> np.ndarray:
    return np.flatnonzero(evidence.population.fault_of == [str(f) for f in evidence.population.faults].index(fault))


@pytest.mark.parametrize("name", DRIVEN_BY)
def test_a_thing_is_due_where_the_sequence_drives_it(name: str, evidence: Evidence) -> None:
    """The sequence file, read by another program, against what healthy furnaces show."""
    written = yaml.load(SEQUENCE.read_text("utf-8"), yaml.BaseLoader)
    drives = {s["step"]: s["drives"] for s in written["steps"]}
    shown = evidence.foretold.predicted(name).steps
    due = {shown[i] for i in evidence.foretold.due(name).steps}

    assert due == {s for s in written["order"] if DRIVEN_BY[name] in drives[s] and s in shown}


def test_a_thing_that_came_on_is_not_told_as_never_on(evidence: Evidence) -> None:
    """A blocked filter: the igniter glows, the burners burn, and then the limit opens. Nobody says of it that the igniter never glows."""
    of_filter, of_igniter = rows_of(evidence, "filter:blocked"), rows_of(evidence, "igniter:open")
    never, glows = fit(evidence, "igniter_glows", "no"), fit(evidence, "igniter_glows", "yes") + fit(evidence, "igniter_glows", "bright")

    assert never[of_filter].max() <= UNSTATED[1]
    assert never[of_igniter].min() >= UNSTATED[0]
    assert glows[of_filter].min() >= UNSTATED[0]
    assert glows[of_igniter].max() <= UNSTATED[1]


def test_no_glow_names_the_igniter_and_not_the_filter(evidence: Evidence) -> None:
    result = answered("{sign: inducer_runs, value: yes}, {sign: igniter_glows, value: no}", evidence)
    beliefs = {p.part: p.probability for p in result.parts}

    assert result.parts[0].part == "igniter"
    assert beliefs["filter"] < beliefs["igniter"] / 5


def test_where_a_thing_is_never_due_both_readings_of_no_hold(evidence: Evidence) -> None:
    """A dead transformer: nothing ever runs. "No" is true of it, though less likely to be what somebody would tell."""
    dead = rows_of(evidence, "transformer:secondary_open")
    dead = dead[evidence.population.options["blower_at_rest"][dead] == 0]  # where the relay's resting contact does not run the blower

    for name, words in (("inducer_runs", ("no", "silent")), ("igniter_glows", ("no",)), ("blower_runs", ("no", "silent"))):
        assert sum(fit(evidence, name, w)[dead] for w in words).min() > 0.5, name  # words that stand for the same share it out
        assert fit(evidence, name, "yes")[dead].max() <= UNSTATED[1], name


def told(evidence: Evidence, name: str, step: str, row: int) -> Record | None:
    """What is read or seen on a virtual furnace; None where it never comes to that step."""
    predicted = evidence.foretold.predicted(name)
    value = float(predicted.usual[predicted.steps.index(step), row])
    if np.isnan(value):
        return None
    if name in evidence.knowledge.point:
        return Record("point", name, name, HERE, number=value, step=step)
    sign = evidence.knowledge.sign[name]
    assert sign.shows is not None
    words = words_of(sign.shows, evidence.family.sequence)
    chance = [chance_of_words(sign, words, v)[int(value)] for v in sign.values]
    return Record("sign", name, name, HERE, word=sign.values[int(np.argmax(chance))], step=step)


@pytest.mark.parametrize("asked", [SEEN, READ], ids=["signs", "readings"])
def test_a_dropped_step_costs_the_truth_little(asked: tuple[tuple[str, str], ...], evidence: Evidence) -> None:
    """Reports made from virtual furnaces, with their steps and without.

    Without a step a record may belong to any step by a share of UNSTATED[1]; that much of one record the truth may lose, on
    average over furnaces; and never more than if one record had been told of another step altogether. Where a breaker trips at a step, that step is
    what tells, so a report without it may lose more: such furnaces are held to the average alone.
    """
    population, prior = evidence.population, evidence.family.prior
    ill = np.flatnonzero(population.fault_of >= 0)
    weight = prior[population.fault_of[ill]]
    ones = np.ones(len(population.fault_of))
    lost, of_steady = [], []
    for row in np.random.default_rng(7).choice(ill, 60, p=weight / weight.sum()):
        records = [r for name, step in asked if (r := told(evidence, name, step, int(row))) is not None]
        if not records:
            continue
        reports = (records, [replace(r, step=None) for r in records])
        believed = [weigh(population, prior, [facts for _, facts in evidence.groups(rs)], ones, 0.04, evidence.comings).failures for rs in reports]
        stated, unstated = (b[population.fault_of[row]] for b in believed)
        lost.append(np.log(stated / unstated))
        if not evidence.family.failure(population.faults[population.fault_of[row]]).trips_with:
            of_steady.append(lost[-1])

    assert len(lost) > 20
    assert np.mean(lost) < -np.log(UNSTATED[0])
    assert len(of_steady) > 20
    assert max(of_steady) < -np.log(UNSTATED[1])


def test_a_code_told_without_a_step_is_of_where_the_light_shows_it(evidence: Evidence) -> None:
    """The light tells of an open pressure switch only once the draft is overdue, where the call rests: it is no less told for that."""
    shows, burns = rows_of(evidence, "pressure_switch:will_not_close"), rows_of(evidence, "igniter:open")
    told, there = (fit(evidence, "light_says", "pressure_switch_open", step) for step in (None, "draft_fault"))

    assert told[shows].mean() > 0.85 * there[shows].mean()
    assert told[burns].mean() == 0


def test_a_call_that_never_came_to_the_warm_up_cannot_glow(evidence: Evidence) -> None:
    """No glow, and a code for the pressure switch: common practice, no source, what keeps that switch open comes before the igniter."""
    code = "{sign: inducer_runs, value: yes}, {sign: igniter_glows, value: no}, {sign: light_says, value: pressure_switch_open}"
    belief = {p.part: p.probability for p in answered(code, evidence).parts}

    assert max(belief, key=lambda part: belief[part]) in ("pressure_hose", "pressure_switch", "vent", "inducer")
    assert belief["pressure_hose"] + belief["pressure_switch"] + belief["vent"] > 2 * belief["igniter"]


def written(evidence: Evidence, text: str) -> Record:
    return understand(parse_yaml(f"records: [{{{text}}}]", "report.yaml"), evidence.knowledge, evidence.vocabulary).records[0]


def test_what_no_furnace_shows_at_the_step_that_was_named_is_taken_as_seen_at_another(evidence: Evidence) -> None:
    """A furnace heats with its limit closed, or it does not heat: who says "open" at heating has seen it trip from there."""
    record = written(evidence, "sign: limit_contact, value: open, step: heating")
    p = evidence.population
    heats = p.table[p.columns["limit_contact", "heating", ""]].astype(float)
    word = words_of(evidence.knowledge.sign["limit_contact"].shows, evidence.family.sequence).index("open")  # type: ignore[arg-type]
    assert not (heats == word).any()  # the sequence's own claim
    assert evidence.as_taken(record).step is None
    fact = evidence.told(record)
    assert fact is not None
    trips, good = fact.fit[rows_of(evidence, "limit_switch:opens_early")].mean(), fact.fit[rows_of(evidence, "igniter:open")].mean()
    assert trips > 5 * good
    now = answered("{sign: limit_contact, value: open, step: heating}, {sign: igniter_glows, value: yes, step: igniter_warm_up}", evidence)
    assert [read for read in now.read_as if "no furnace reads so at heating" in read]


@pytest.mark.parametrize(
    "text",
    [
        "sign: limit_contact, value: closed, step: heating",
        "sign: limit_contact, value: open, step: chain_open",
        "sign: burners_light, value: no, step: ignition_trial",
        "point: w_to_c_at_board, value: 0 V, step: call",
        "point: r_to_c_at_board, value: 0 V, step: standby",
        "point: heat_terminal_to_neutral, value: 0.2 V, step: heating",
        "point: heat_terminal_to_neutral, value: 120 V, step: standby",
        "point: gas_valve_volts, value: 0 V, step: ignition_trial",
        "point: flame_current, value: 0 uA, step: ignition_trial",
    ],
)
def test_what_some_furnace_shows_there_stays_at_its_step(text: str, evidence: Evidence) -> None:
    record = written(evidence, text)
    assert evidence.as_taken(record) is record


@pytest.mark.parametrize(("name", "value"), [("draft", "0.7"), ("pressure_switch_return_to_c", "24.9"), ("across_pressure_switch", "25")])
def test_what_is_read_at_a_draft_fault_is_read_while_the_furnace_waits_for_the_draft(name: str, value: str, evidence: Evidence) -> None:
    there, before = (written(evidence, f"point: {name}, value: {value}, step: {step}") for step in ("draft_fault", "inducer_start"))
    assert evidence.why_unused(there) is None
    one, other = evidence.told(there), evidence.told(before)
    assert one is not None
    assert other is not None
    assert np.array_equal(one.fit, other.fit)
    assert evidence.why_unused(written(evidence, f"point: {name}, value: {value}, step: lockout")) is not None


def test_what_is_looked_at_once_the_call_is_over_is_what_the_furnace_shows_where_it_rests(evidence: Evidence) -> None:
    population, checked = evidence.population, 0
    for sign in (s for s in evidence.family.signs if s.after_call):
        once_over = population.table[population.columns[(sign.sign, "whole_call", "")]]
        for row, rests in enumerate(population.rests.tolist()):
            there = population.columns.get((sign.sign, population.steps[rests], ""))
            shown = np.nan if there is None else population.table[there, row]
            assert once_over[row] == shown or (np.isnan(once_over[row]) and np.isnan(shown))
            checked += not np.isnan(shown)
    assert checked > 1000


def test_the_light_without_a_step_blames_what_it_says_in_the_end(evidence: Evidence) -> None:
    """A control that never sees draft says so only after it has waited for it, when the call goes no further; before, its light told of no fault."""
    says_open = fit(evidence, "light_says", "pressure_switch_open")
    waits = rows_of(evidence, "control_board:pressure_input_dead")
    lights_not = rows_of(evidence, "igniter:open")
    stuck = fit(evidence, "light_says", "pressure_switch_open", "inducer_start")[waits].mean()
    assert says_open[waits].mean() > 2 * stuck  # told of the wait itself it hardly fits
    assert says_open[lights_not].max() < 0.05


def test_what_the_light_says_in_the_end_is_asked_for_where_the_call_waits_with_all_made(evidence: Evidence) -> None:
    """The inducer runs, the switch is closed and its 24 V are back at the board: the light is read before parts behind it; common practice, no source."""
    waits = "{sign: stops_at, value: inducer_start, sure: yes}, {sign: inducer_runs, value: yes, step: inducer_start}"
    closed = "{point: across_pressure_switch, value: 0.1 V, step: inducer_start}, {point: pressure_switch_return_to_c, value: 26 V, step: inducer_start}"
    found = answered(f"{waits}, {closed}", evidence)
    assert ("light_says", None) in [(n.name, n.step) for n in found.next]
    seen = answered(f"{waits}, {closed}, {{sign: light_says, value: pressure_switch_open}}", evidence)
    board = [next(p.probability for p in a.parts if p.part == "control_board") for a in (found, seen)]
    assert board[1] > 2 * board[0]
