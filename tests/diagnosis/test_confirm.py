"""What is asked for before a part is gone to: what the trade would look at or measure first."""

from __future__ import annotations

import pytest

from furnace_diag.diagnosis.answer import Answer, answer
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.report_file import understand
from furnace_diag.knowledge.yaml_text import parse_yaml
from tests.benchmarks.fresh import without_fault

# what somebody tells, and what a technician would look at or measure before that part is touched; common practice, no source
ASKED = {
    "no air and the blower runs": (
        "{sign: burners_light, value: stay_lit}, {sign: air_at_registers, value: none, step: heating}, {sign: blower_runs, value: yes, step: heating}",
        {"filter_looks"},
    ),
    "no glow": (
        "{sign: inducer_runs, value: yes}, {sign: igniter_glows, value: no}, {sign: burners_light, value: no}, {sign: tries_before_lock_out, value: three}",
        {"igniter_ohms", "igniter_volts_at_plug"},
    ),
    "lights and drops out": (
        "{sign: burners_light, value: drop_out}, {sign: flame_goes_out, value: within_seconds}, {sign: flame_color, value: blue}, "
        "{point: line_to_chassis_at_board, value: 120 V, step: call}, {point: burner_to_ground_ohms, value: 0.2 ohm, step: power_off}",
        {"flame_current", "flame_rod_looks"},
    ),
    "no flame after gas work": (
        "{event: gas_work_done, value: yes}, {sign: igniter_glows, value: yes}, {sign: gas_valve_clicks, value: yes}, {sign: burners_light, value: no}, "
        "{sign: gas_elsewhere, value: out}",
        {"gas_cock_position", "inlet_pressure"},
    ),
    "no blower in heat after it was taken out": (
        "{event: blower_taken_out, value: yes}, {sign: blower_runs, value: no, step: heating}, {sign: blower_runs, value: yes, step: cooling_call}, "
        "{sign: burners_light, value: yes}, {sign: flame_goes_out, value: after_minutes}",
        {"heat_lead_is"},
    ),
    "a blower that hums, and a weak capacitor": (
        "{sign: blower_runs, value: hums, step: heating}, {point: capacitor_microfarads, value: 1.2 uF, step: power_off}, {sign: burners_light, value: yes}",
        {"blower_turns_freely", "capacitor_against_mark"},
    ),
}


def answered(evidence: Evidence, records: str) -> Answer:
    return answer(understand(parse_yaml(f"records: [{records}]", "report.yaml"), evidence.knowledge, evidence.vocabulary), evidence)


@pytest.mark.parametrize("told", ASKED)
def test_what_would_show_the_likeliest_part_is_asked_for_before_it_is_touched(evidence: Evidence, told: str) -> None:
    records, wanted = ASKED[told]
    now = answered(evidence, records)
    asked = now.act.check if now.act is not None else now.next[0]
    assert asked is not None
    assert asked.name in wanted


def test_a_part_that_is_shown_plainly_is_not_asked_to_show_itself_again(evidence: Evidence) -> None:
    now = answered(evidence, "{sign: igniter_glows, value: no, step: igniter_warm_up}, {point: igniter_ohms, value: OL, step: power_off}")
    assert now.act is not None
    assert now.act.part == "igniter"
    assert now.act.check is None or now.act.check.name != "igniter_amps"


def test_what_was_read_is_no_check_at_another_step(evidence: Evidence) -> None:
    hot = "{sign: blower_runs, value: no, step: heating}, {sign: blower_motor_hot, value: too_hot, step: heating}, {sign: burners_light, value: stay_lit}"
    now = answered(evidence, f"{hot}, {{point: heat_terminal_to_neutral, value: 119 V, step: heating}}, {{point: blower_amps, value: 0 A, step: heating}}")
    assert now.act is not None
    assert now.act.part == "blower_motor"
    assert now.act.check is not None
    assert now.act.check.name not in {"blower_motor_hot", "heat_terminal_to_neutral", "blower_runs", "blower_amps"}


def test_beside_a_repair_the_record_it_rests_on_is_named_until_it_was_taken_twice(evidence: Evidence) -> None:
    drops_out = "{sign: stops_at, value: ignition_trial}, {sign: burners_light, value: drop_out}"
    once = answered(evidence, f"{drops_out}, {{point: rod_wire_end_to_end_ohms, value: OL, step: power_off}}")
    twice = answered(evidence, f"{drops_out}, {{point: rod_wire_end_to_end_ohms, value: OL, step: power_off, sure: yes}}")

    assert once.act is not None
    assert once.act.part == "flame_wire"
    assert once.rests_on is not None
    assert once.rests_on.name == "rod_wire_end_to_end_ohms"
    assert twice.rests_on is None


def test_what_is_likeliest_is_named_however_dear_it_is_once_nothing_is_left_to_read(evidence: Evidence) -> None:
    """Ducts that are too small cost more than finding any fault some other way would; left unsaid, the screen would say neither what to read nor what to do."""
    told = (
        "{point: static_pressure, value: 0.7 inwc, step: heating}, {sign: air_at_registers, value: weak, step: heating}, "
        "{sign: filter_looks, value: clean}, {sign: registers_are, value: open}, {sign: cooling_coil_looks, value: clean}, "
        "{sign: blower_wheel_looks, value: clean}, {sign: blower_runs, value: yes, step: heating}, {sign: second_filter, value: none}"
    )
    report = understand(parse_yaml(f"records: [{told}]", "report.yaml"), evidence.knowledge, evidence.vocabulary)
    everything = [(name, None) for name in (*evidence.knowledge.point, *evidence.knowledge.sign)]
    now = answer(report, evidence, never=everything)
    assert not now.next
    assert now.parts[0].probability > 0.5
    assert now.act is not None
    assert now.act.part == now.parts[0].part == "ducts"


def test_before_a_dear_repair_what_it_names_is_looked_at_though_it_parts_nothing_known(evidence: Evidence) -> None:
    """No motor is changed before its capacitor and its wheel were tried: common practice, no source."""
    no_current = (
        "{sign: blower_runs, value: silent, step: heating}, {sign: burners_light, value: stay_lit}, {point: blower_amps, value: 0 A, step: heating}, "
        "{point: heat_terminal_to_neutral, value: 119 V, step: heating}, {sign: blower_motor_hot, value: normal, step: heating}, "
        "{point: blower_volts_at_motor_heat, value: 119 V, step: heating}, {sign: blower_fed_directly, value: does_not_run}"
    )
    found_good = {
        "capacitor_microfarads": "{point: capacitor_microfarads, value: 7.5 uF, step: power_off}",
        "blower_turns_freely": "{sign: blower_turns_freely, value: free}",
    }
    told, asked = no_current, []
    while len(asked) < 6:
        now = answered(evidence, told)
        check = now.act.check if now.act is not None else now.next[0] if now.next else None
        if check is None or (now.act is not None and now.act.part != "blower_motor"):
            break
        asked.append(check.name)
        if check.name not in found_good:
            break
        told = f"{told}, {found_good[check.name]}"
    assert now.parts[0].part == "blower_motor"
    assert {"capacitor_microfarads", "blower_turns_freely"} & {*asked}


LIVE_TO_THE_SPADE = {
    "heat_terminal_to_neutral": "{point: heat_terminal_to_neutral, value: 121 V, step: heating}",
    "heat_spade_to_neutral": "{point: heat_spade_to_neutral, value: 121 V, step: heating}",
}


def test_before_a_wire_or_contact_is_mended_it_is_read_at_both_ends(evidence: Evidence) -> None:
    """The lead is parked, and nobody knows that leads are: its ohms, and no volts behind it, make the spade look open, whose volts tell otherwise."""
    faults = [str(f) for f in evidence.population.faults]
    less = without_fault(evidence, faults.index("blower_wiring:heat_lead_parked"))
    dead_behind_it = (
        "{sign: stops_at, value: heating}, {sign: air_at_registers, value: none, step: heating}, {sign: blower_runs, value: \"no\", step: heating}, "
        "{point: cool_terminal_to_neutral, value: 0.5 V, step: heating}, {point: across_heat_output, value: 0.2 V, step: heating}, "
        "{point: heat_lead_ohms, value: OL, step: power_off}"
    )
    told, asked = dead_behind_it, []
    while (act := answered(less, told).act) is not None and act.check is not None and act.check.name in LIVE_TO_THE_SPADE:
        assert (act.part, act.failure) == ("board_plug", "heat_contact_open")
        asked.append(act.check.name)
        told = f"{told}, {LIVE_TO_THE_SPADE[act.check.name]}"
    now = answered(less, told)

    assert {*asked} == {*LIVE_TO_THE_SPADE}
    assert now.something_else > 0.25 > answered(less, dead_behind_it).something_else


DEAR = {
    # 24 V on a valve that is not heard to click, gas at its inlet; 120 V at an inducer that turns by hand: what is left is the coil, or the winding
    "gas_valve_coil_ohms": (
        "{sign: igniter_glows, value: yes}", "{sign: burners_light, value: no}", "{sign: gas_valve_clicks, value: no, step: ignition_trial}",
        "{point: gas_valve_volts, value: 26.6, step: ignition_trial}", "{point: inlet_pressure, value: 6.2, step: ignition_trial}",
    ),
    "inducer_winding_ohms": (
        "{sign: inducer_runs, value: no, step: inducer_start}", "{point: inducer_volts_at_motor, value: 119, step: inducer_start}",
        "{sign: inducer_turns_freely, value: free}", "{sign: igniter_glows, value: no}", "{sign: light_says, value: pressure_switch_open}",
        "{point: inducer_amps, value: 0, step: inducer_start}", "{sign: whole_furnace, value: does_something}",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", DEAR)
def test_the_coil_or_winding_is_read_before_a_dear_part_is_changed(name: str, evidence: Evidence) -> None:
    """Three minutes with an ohmmeter before a gas valve or an inducer: common practice, no source."""
    found = answered(evidence, ', '.join(DEAR[name]))

    asked = found.next[0] if found.act is None else found.act.check
    assert asked is not None
    assert asked.name == name


UNKNOWN = {
    # no valve is condemned before the gas at its inlet was read, no pressure switch before its hose was felt: common practice, no source
    "inlet_pressure": (
        "gas_supply:shut", "gas_valve",
        "{sign: igniter_glows, value: yes, step: ignition_trial}", "{sign: burners_light, value: no}",
        "{sign: gas_valve_clicks, value: yes, step: ignition_trial}",
        "{point: manifold_pressure, value: 0, step: ignition_trial}", "{point: gas_valve_volts, value: 26, step: ignition_trial}",
        "{point: gas_valve_coil_ohms, value: 44, step: power_off}", "{sign: fault_comes_and_goes, value: no}", "{sign: bang_at_light_off, value: no}",
    ),
    "pressure_hose_looks": (
        "pressure_hose:off_or_cracked", "pressure_switch",
        "{sign: inducer_runs, value: yes, step: inducer_start}", "{point: pressure_return_crimp_to_c, value: 0.2, step: inducer_start}",
        "{point: draft, value: 0.8, step: inducer_start}", "{sign: water_in_hose, value: no}", "{sign: vent_looks, value: clear}",
        "{sign: pressure_switch_when_sucked, value: stays_open}", "{sign: pressure_port_looks, value: clear}", "{sign: rapid_clicking, value: no}",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", UNKNOWN)
def test_what_a_part_needs_is_read_before_it_is_changed_though_no_known_failure_takes_that_away(name: str, evidence: Evidence) -> None:
    unknown, part, *told = UNKNOWN[name]
    less = without_fault(evidence, [str(f) for f in evidence.population.faults].index(unknown))
    asked = []
    while (act := answered(less, ", ".join(told)).act) is not None and act.check is not None and len(asked) < 4:
        asked.append(act.check.name)
        if act.check.name == name:
            break
        told.append(f"{{sign: {act.check.name}, value: clear}}" if act.check.name == "vent_looks" else f"{{point: {act.check.name}, value: 0.8}}")
    assert act is not None
    assert act.part == part
    assert name in asked
