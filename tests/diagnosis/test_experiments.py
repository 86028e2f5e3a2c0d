"""Experiments and readings with something taken off, as records and as the next reading."""

from __future__ import annotations

import pytest

from furnace_diag.diagnosis.answer import Answer, answer
from furnace_diag.diagnosis.choice import Choice
from furnace_diag.diagnosis.choose import choose
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.prior import prior_given
from furnace_diag.diagnosis.records import Record
from furnace_diag.diagnosis.report_file import understand
from furnace_diag.diagnosis.weigh import weigh
from furnace_diag.knowledge.models import Experiment, Knowledge
from furnace_diag.knowledge.yaml_text import parse_yaml
from furnace_diag.problems import BadInput


def records(knowledge: Knowledge, *texts: str) -> tuple[Record, ...]:
    return understand(parse_yaml(f"records: [{', '.join(texts)}]", "report.yaml"), knowledge).records


def answered(evidence: Evidence, *texts: str) -> Answer:
    return answer(understand(parse_yaml(f"records: [{', '.join(texts)}]", "report.yaml"), evidence.knowledge, evidence.vocabulary), evidence)


def failures(result: Answer) -> dict[str, float]:
    return {f"{p.part}:{f.failure}": f.probability for p in result.parts for f in p.failures}


@pytest.mark.parametrize("kind", ["experiment", "sign"])
def test_an_experiment_is_a_record_of_its_own_kind_or_a_sign(knowledge: Knowledge, kind: str) -> None:
    (record,) = records(knowledge, f"{{{kind}: new fuse, value: as soon as power is on}}")
    assert (record.name, record.word, record.unused) == ("fuse_blows_again", "at_once", None)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("{experiment: fuse_blos_agan, value: no}", "fuse_blows_again"),  # the nearest name
        ("{experiment: igniter_glows, value: no}", "igniter_glows is a sign"),  # not brought about
        ("{experiment: plugs_refitted, value: still_the_same}", "plugs_refitted is a sign"),  # and not as the experiment that it is like
        ("{experiment: fuse_blows_again, value: perhaps}", "on_heat_call"),
    ],
)
def test_an_unknown_name_or_word_is_refused_with_what_is_near(knowledge: Knowledge, text: str, told: str) -> None:
    with pytest.raises(BadInput) as refused:
        records(knowledge, text)
    assert told in " ".join(str(p) for p in refused.value.problems)


# what each leaves likelier, of two failures that look alike until it is tried; derived from where the failure lies
PARTS = [
    ("starts_with_thermostat_wires_off", "yes", "thermostat:no_call", "control_board:w_input_dead"),
    ("starts_with_thermostat_wires_off", "no", "control_board:w_input_dead", "thermostat_cable:w_open"),
    ("fan_when_r_g_joined_at_board", "no", "control_board:g_input_dead", "thermostat_cable:g_open"),
    ("fuse_blows_again", "at_once", "thermostat_cable:shorted", "gas_valve:coil_shorted"),
    ("fuse_blows_again", "on_heat_call", "gas_valve:coil_shorted", "thermostat_cable:shorted"),
    ("fuse_blows_again", "no", "low_voltage_fuse:blown", "outdoor_circuit:shorted"),
    ("fuse_blows_with_valve_wire_off", "no", "gas_valve:coil_shorted", "thermostat_cable:w_shorted"),
    ("fuse_blows_with_thermostat_wires_off", "no", "thermostat_cable:w_shorted", "gas_valve:coil_shorted"),
    ("fuse_blows_with_thermostat_wires_off", "yes", "gas_valve:coil_shorted", "thermostat_cable:w_shorted"),
    ("lead_that_blows_fuse", "outdoor_wires", "outdoor_circuit:shorted", "thermostat_cable:shorted"),
    ("lead_that_blows_fuse", "with_all_off", "wiring_harness:low_voltage_chafed", "thermostat_cable:shorted"),
    ("goes_on_with_thermostat_wires_off", "blower", "control_board:cool_relay_will_not_open", "thermostat:fan_contact_stuck"),
    ("flame_reported_with_rod_off", "yes", "control_board:false_flame", "gas_valve:will_not_shut"),
    ("gas_off_when_hose_pulled", "not_at_all", "gas_valve:will_not_shut", "filter:blocked"),
    ("relay_tapped_helps", "yes", "control_board:heat_output_comes_and_goes", "blower_motor:seized"),
    ("plug_moved_helps", "yes", "board_plug:limit_contact_loose", "limit_switch:will_not_close"),
    ("door_switch_held", "comes_alive", "door_switch:will_not_close", "transformer:primary_open"),
    ("wire_moved_changes_it", "at_flame_rod", "flame_wire:loose", "flame_rod:filmed"),
    ("wire_moved_changes_it", "none", "flame_rod:filmed", "flame_wire:loose"),
    ("power_reset_helps", "yes", "flame_rod:filmed", "igniter:open"),
    # a mouth draws more than any set point: a switch that stays open then is broken, one that closes lacked draft
    ("pressure_switch_when_sucked", "stays_open", "pressure_switch:will_not_close", "vent:blocked"),
    ("pressure_switch_when_sucked", "closes", "pressure_hose:port_plugged", "pressure_switch:will_not_close"),
    ("flame_holds_with_burner_joined_to_ground", "yes", "burner_ground:wire_off", "flame_rod:filmed"),
    ("inducer_tapped_helps", "yes", "inducer:seized", "inducer:winding_open"),
    # behind a relay nothing flows until it closes: what trips at once is the wire before the relays, not the motor's circuit
    ("breaker_trips_again", "yes", "wiring_harness:line_chafed", "blower_capacitor:lead_on_chassis"),
    ("breaker_trips_again", "when_blower_starts", "blower_capacitor:lead_on_chassis", "wiring_harness:line_chafed"),
    ("breaker_trips_again", "when_blower_starts", "blower_motor:grounded", "inducer:grounded"),
    # with nothing in its way the air comes, unless the wheel slips or the way behind it is narrow: common practice, no source
    ("air_with_filter_out", "comes_back", "filter:blocked", "blower_wheel:loose"),
]


@pytest.mark.parametrize(("experiment", "word", "likelier", "less"), PARTS)
def test_an_experiment_parts_what_it_should(evidence: Evidence, experiment: str, word: str, likelier: str, less: str) -> None:
    """The odds between the two move by far more than a slip of the record could undo, or, where a habit is a guess, move rightly."""
    names = [str(f) for f in evidence.population.faults]
    (record,) = records(evidence.knowledge, f"{{experiment: {experiment}, value: {word}}}")
    ones = evidence.population.fault_of * 0.0 + 1
    prior = prior_given(evidence.family, [])
    after = weigh(evidence.population, prior, [[evidence.fact(record)]], ones, evidence.words.something_else, evidence.comings).failures  # type: ignore[list-item]
    one, other = names.index(likelier), names.index(less)
    moved = (after[one] / after[other]) / (prior[one] / prior[other])

    assert moved > (5 if evidence.knowledge.experiment[experiment].shows is not None else 1.5)


def test_every_experiment_is_told_apart_above_or_in_the_tests_of_its_finding(knowledge: Knowledge) -> None:
    elsewhere = {
        "starts_when_joined_at_board", "starts_when_joined_at_thermostat", "blower_when_r_y_joined_at_board",  # tests/furnace/test_trying.py
        "blower_starts_when_spun", "burners_go_on_with_string_open", "board_pressed_helps",  # words of older rules
    }  # fmt: skip
    assert set(knowledge.experiment) == elsewhere | {name for name, *_ in PARTS}


def test_every_experiment_says_what_it_needs_and_warns(knowledge: Knowledge) -> None:
    bare = [e.experiment for e in knowledge.experiment.values() if not e.cautions or not (e.needs or e.source_kind == "told")]
    assert bare == []


def test_an_experiment_is_offered_with_what_it_needs(evidence: Evidence) -> None:
    """A blown fuse, and nothing else to be read: what a new one does is what parts the shorts."""
    told = records(evidence.knowledge, "{sign: fuse_looks, value: blown}", "{sign: whole_furnace, value: dead}")
    groups = evidence.groups(told)
    ones = evidence.population.fault_of * 0.0 + 1
    belief = weigh(
        evidence.population, prior_given(evidence.family, told), [facts for _, facts in groups], ones, evidence.words.something_else, evidence.comings
    )
    others = {(name, None) for name in (*evidence.knowledge.point, *evidence.knowledge.sign) if name not in evidence.knowledge.experiment}
    chosen: Choice = choose(evidence, belief, told, None, never=others, groups=groups)
    first = chosen.readings[0] if chosen.readings else chosen.act and chosen.act.check
    assert first is not None
    entry = evidence.knowledge.experiment[first.name]

    assert isinstance(entry, Experiment)
    assert first.name in ("fuse_blows_again", "lead_that_blows_fuse", "fuse_blows_with_valve_wire_off")
    assert (first.needs, first.function, first.minutes) == (entry.needs, "try", entry.minutes)
    assert first.cautions == tuple(evidence.knowledge.caution[c].says for c in entry.cautions)


# --- with something off -------------------------------------------------------------------------


def test_a_terminal_live_with_its_lead_off_is_the_boards(evidence: Evidence) -> None:
    """With the lead off only the relay feeds it; two leads joined feed the lead (Kirchhoff)."""
    live = "{point: heat_terminal_to_neutral, value: 118, step: cooling_call, meter: low%s}"
    on, off = (failures(answered(evidence, live % how)) for how in ("", ", set_up: [lead_lifted]"))
    board, wiring = "control_board:heat_relay_will_not_open", "blower_wiring:two_leads_joined"

    assert off[board] / off[wiring] > 5 * on[board] / on[wiring]


def test_readings_with_something_off_are_weighed(evidence: Evidence) -> None:
    result = answered(
        evidence,
        "{point: w_to_c_at_board, value: 25, step: call, set_up: [thermostat_wires_off], meter: low}",
        "{sign: inducer_runs, value: no, step: call, set_up: [thermostat_wires_off]}",
        "{point: inducer_pin_to_neutral, value: 0.1, step: inducer_start, set_up: [plug_off], meter: low}",
        "{point: w_to_c_at_board, value: 25, step: call, hold: min}",
    )
    assert result.not_used == ()


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("{point: limit_return_to_c_at_board, value: 0.1, step: call, meter: low, set_up: [lead_lifted]}", "output's own pin"),
        ("{point: w_to_c_at_board, value: 0.2, step: call, set_up: [plug_off, thermostat_wires_off]}", "together"),
        ("{point: cool_terminal_to_neutral, value: 0.2, step: cooling_call, set_up: [lead_lifted, thermostat_wires_off]}", "at cooling call"),
        ("{point: w_to_c_at_board, value: 25, step: heating, set_up: [thermostat_wires_off]}", "at heating"),
        ("{point: w_to_c_at_board, value: 25, hold: min}", "at a step that is told"),
    ],
)
def test_what_cannot_be_foretold_is_told_with_its_reason(evidence: Evidence, text: str, why: str) -> None:
    (told,) = answered(evidence, text).not_used
    assert why in told


def test_a_lead_off_is_another_reading(evidence: Evidence) -> None:
    """The same point with its lead on and off restates nothing."""
    same = "{point: heat_terminal_to_neutral, value: 118, step: standby, meter: low}"
    groups = evidence.groups(records(evidence.knowledge, same, same.replace("}", ", set_up: [lead_lifted]}")))
    assert len(groups) == 2


def test_a_held_reading_may_have_run_into_the_step_beside(evidence: Evidence) -> None:
    """The gas pin is dead before the trial and after the last: the lowest of a hold over it says nothing against a furnace that feeds it."""
    names = [str(f) for f in evidence.population.faults]
    low = "{point: gas_pin_to_c, value: 0.1, step: ignition_trial, meter: low%s}"
    plain, held = (evidence.fact(records(evidence.knowledge, low % how)[0]) for how in ("", ", hold: min"))
    assert plain is not None
    assert held is not None
    dead_igniter = evidence.population.fault_of == names.index("gas_supply:shut")

    assert plain.fit[dead_igniter].max() < 0.5
    assert held.fit[dead_igniter].min() > 0.5


@pytest.mark.parametrize(("wires", "may"), [("shorted", False), ("clear", True)])
def test_no_new_fuse_is_asked_for_once_a_short_was_found(wires: str, may: bool, evidence: Evidence) -> None:
    """It would blow at once, and arcs where the short is: common practice, no source. By a short that is not found a new fuse is a fair trial."""
    records = (
        "{sign: stops_at, value: dark}, {point: secondary_volts_at_board, value: 27.1 V, step: standby},"
        f"{{sign: fuse_looks, value: blown}}, {{sign: field_wires_are, value: {wires}}}"
    )
    found = answer(understand(parse_yaml(f"records: [{records}]", "r.yaml"), evidence.knowledge, evidence.vocabulary), evidence)
    asked = {n.name for n in found.next} | ({found.act.check.name} if found.act is not None and found.act.check is not None else set())
    fuses = {name for name, e in evidence.knowledge.experiment.items() if "short_first" in e.cautions}

    assert bool(fuses & asked) is may
