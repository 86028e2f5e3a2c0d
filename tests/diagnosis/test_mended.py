"""What was seen before a repair that changed nothing is not held for how the furnace stands now, where it shows what was put right and hardly else."""

from __future__ import annotations

import pytest

from furnace_diag.diagnosis.answer import Answer, answer
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.examples import example_of, records_of
from furnace_diag.diagnosis.lacking import ON_ANOTHER_BOARD
from furnace_diag.diagnosis.mended import BEFORE, as_they_count
from furnace_diag.diagnosis.records import BEFORE_PUT_RIGHT, Record, Report
from furnace_diag.diagnosis.report_file import understand
from furnace_diag.knowledge.yaml_text import parse_yaml
from tests.ours import our_rules

NO_DRAFT = (
    "{sign: stops_at, value: inducer_start}",
    "{sign: inducer_runs, value: yes, step: inducer_start}",
    "{point: draft, value: 0.1, step: inducer_start}",
)
PLUGGED = "{sign: pressure_port_looks, value: plugged}"
CLEARED = "{history: 'pressure_hose:port_plugged', value: replaced_no_change}"


def told(evidence: Evidence, *records: str) -> Answer:
    text = "complaint: no heat\nrecords:\n" + "".join(f"  - {r}\n" for r in records)
    return answer(understand(parse_yaml(text, "report.yaml"), evidence.knowledge, evidence.vocabulary), evidence)


def belief(found: Answer, part: str) -> float:
    return next(p.probability for p in found.parts if p.part == part)


def test_a_port_that_was_cleared_is_not_plugged_because_it_was(evidence: Evidence) -> None:
    """Seen plugged it leads; cleared, and nothing changed, it is as likely as without the look."""
    seen, mended = told(evidence, *NO_DRAFT, PLUGGED), told(evidence, *NO_DRAFT, PLUGGED, CLEARED)
    never_seen = told(evidence, *NO_DRAFT, CLEARED)

    assert seen.parts[0].part == "pressure_hose"
    assert belief(mended, "pressure_hose") < belief(seen, "pressure_hose")
    assert [(p.part, pytest.approx(p.probability)) for p in never_seen.parts] == [(p.part, p.probability) for p in mended.parts]
    assert any(BEFORE in line for line in mended.not_used)


def test_what_is_seen_after_the_repair_counts(evidence: Evidence) -> None:
    """Plugged once more after it was cleared: that is how it stands now."""
    found = told(evidence, *NO_DRAFT, CLEARED, PLUGGED)

    assert not any(BEFORE in line for line in found.not_used)
    assert belief(found, "pressure_hose") > belief(told(evidence, *NO_DRAFT, CLEARED), "pressure_hose")


def test_seen_before_and_otherwise_since_is_no_clash(evidence: Evidence) -> None:
    found = told(evidence, *NO_DRAFT, PLUGGED, CLEARED, "{sign: pressure_port_looks, value: clear, call: 2}")

    assert not found.clashes


def test_what_others_show_as_well_is_as_it_was(evidence: Evidence) -> None:
    """No draft is of a blocked vent or a loose wheel too: it stands, whatever was cleared."""
    found = told(evidence, *NO_DRAFT, CLEARED)

    assert not any(BEFORE in line for line in found.not_used)


@pytest.mark.parametrize(
    ("look", "repair"),
    [
        ("{point: igniter_ohms, value: OL}", "{history: igniter, value: replaced_no_change}"),
        ("{sign: filter_looks, value: clogged}", "{history: filter, value: replaced_no_change}"),
        ("{point: capacitor_microfarads, value: 2.5}", "{history: blower_capacitor, value: replaced_no_change}"),
        ("{sign: flame_rod_looks, value: filmed}", "{history: flame_rod, value: cleaned_no_change}"),
    ],
)
def test_a_reading_of_the_old_part_says_nothing_of_the_new_one(evidence: Evidence, look: str, repair: str) -> None:
    """And it may be taken again."""
    found, part = told(evidence, look, repair), repair.split()[1].strip(",")

    assert any(BEFORE in line for line in found.not_used)
    assert belief(found, part) < 0.2
    assert not any(BEFORE in line for line in told(evidence, repair, look).not_used)


JOINED = "{sign: burners_light_when_joined_at_thermostat, value: yes}"


@pytest.mark.parametrize("ran", [JOINED, "{experiment: starts_when_joined_at_thermostat, value: yes}"])
def test_what_the_furnace_ran_by_is_not_blamed_because_the_part_behind_it_was_changed(ran: str, evidence: Evidence) -> None:
    """With R joined to W at the base it ran by the cable, which a new thermostat leaves as it is (Kirchhoff: the same loop but for the thermostat)."""
    records = ("{sign: stops_at, value: call}", "{point: r_to_c_at_board, value: 26, step: call}", ran, "{history: thermostat, value: replaced_no_change}")
    found, without = told(evidence, *records), told(evidence, *(r for r in records if r != ran))
    ended = told(evidence, *records, "{point: w_to_c_at_board, value: 0, step: call}")

    assert not any(BEFORE in line for line in found.not_used)
    assert belief(found, "thermostat_cable") < belief(without, "thermostat_cable")
    assert belief(ended, "thermostat_cable") < 0.5


REPLACED = {"history": "control_board", "value": "replaced_no_change"}
PROOFS = sorted(our_rules().proof)


@pytest.mark.parametrize("name", PROOFS)
def test_what_proved_the_old_board_bad_proves_nothing_of_the_one_that_is_in(name: str, evidence: Evidence) -> None:
    """All of a proof, then a new board and no change: it was read on the board that is gone. Read after that it counts."""
    proof = evidence.knowledge.proof[name]
    records, options = records_of(example_of(proof), evidence.knowledge)
    (replaced,), _ = records_of([REPLACED], evidence.knowledge)

    def grade(*told: Record) -> str:
        return evidence.finder.find(as_they_count(told, evidence.knowledge), options).grades[name]

    assert grade(*records) == "proved"
    assert grade(*records, replaced) == "none"
    assert grade(replaced, *records) == "proved"


BRIDGE_OUT = {"sign": "safety_bypassed", "value": "found_and_taken_out"}
OVER_IT = sorted(p for p in PROOFS if any(e.get("point") == "limit_return_to_c_at_board" for e in example_of(our_rules().proof[p])))


@pytest.mark.parametrize("name", OVER_IT)
def test_what_was_read_with_a_bridged_safety_proves_nothing_once_the_bridge_is_out(name: str, evidence: Evidence) -> None:
    """24 V behind a limit are there by the bridge as well as by the limit (Kirchhoff), and nobody knows what else the call did because of it: common
    practice, no source. Read again without it all of it counts, and less than all does not."""
    records, options = records_of(example_of(evidence.knowledge.proof[name]), evidence.knowledge)
    (out,), _ = records_of([BRIDGE_OUT], evidence.knowledge)

    def grade(*told: Record) -> str:
        return evidence.finder.find(as_they_count(told, evidence.knowledge), options).grades[name]

    assert (grade(*records), grade(out, *records)) == ("proved", "proved")
    assert grade(*records, out) != "proved"
    again = evidence.knowledge.sign[out.name].put_right[str(out.word)].read_again
    assert grade(*records, out, *(r for r in records if r.name in again)) != "proved"
    assert grade(*records, out, *records) == "proved"


def test_it_is_said_that_a_reading_was_of_the_board_before(evidence: Evidence) -> None:
    proof = evidence.knowledge.proof["heat_output_dead"]
    records, options = records_of([*example_of(proof), REPLACED], evidence.knowledge)
    found = answer(Report(evidence.family.furnace.furnace, "", tuple(records), options), evidence)

    assert found.board.verdict != "proved_bad"
    assert found.board.nearest is None or any(ON_ANOTHER_BOARD in said for need in found.board.nearest.needs for said in need.unfit)


def test_no_finding_clears_a_new_board_by_what_the_old_one_did(evidence: Evidence) -> None:
    (live, replaced), _ = records_of([{"sign": "igniter_glows", "value": "bright", "step": "igniter_warm_up"}, REPLACED], evidence.knowledge)

    assert evidence.finder.find(as_they_count([live], evidence.knowledge), {}).cleared
    assert not evidence.finder.find(as_they_count([live, replaced], evidence.knowledge), {}).cleared


def test_nobody_is_sent_to_a_repair_again_that_changed_nothing_while_anything_is_left_to_read(evidence: Evidence) -> None:
    """Speed leads that were parted and stay live together are read on, though nothing known is likelier than that they were not."""
    seen = (
        "{sign: burners_light, value: stay_lit}", "{sign: blower_starts_in_heat, value: starts}", "{sign: light_says, value: no_fault}",
        "{point: r_to_c_at_board, value: 26 V, step: cooling_call}", "{point: seconds_to_blower, value: 30 s, step: heating}",
        "{point: heat_terminal_to_neutral, value: 116 V, step: cooling_call}", "{point: cool_terminal_to_neutral, value: 114 V, step: heating}",
        "{point: fan_terminal_to_neutral, value: 144 V, step: cooling_call}", "{point: cool_terminal_to_neutral, value: 113 V, step: blower_off_delay}",
        "{sign: lifted_speed_lead, value: lead}",
    )  # fmt: skip
    before = told(evidence, *seen)
    assert before.act is not None
    assert (before.act.part, before.act.failure) == ("blower_wiring", "two_leads_joined")
    now = told(evidence, *seen, "{history: 'blower_wiring:two_leads_joined', value: replaced_no_change}")
    assert now.next
    assert now.act is None or (now.act.part, now.act.failure) != ("blower_wiring", "two_leads_joined")


def test_what_is_read_without_power_counts_as_it_did_with_a_bridge_in(evidence: Evidence) -> None:
    """Ohms of an igniter come of no call; ohms across the bridged switch itself came of the bridge."""
    told, _ = records_of([{"point": "igniter_ohms", "value": "60 ohm"}, {"point": "rollout_ohms", "value": "0.2 ohm"}, BRIDGE_OUT], evidence.knowledge)

    assert [r.source for r in as_they_count(told, evidence.knowledge)] == [None, BEFORE_PUT_RIGHT, None]
