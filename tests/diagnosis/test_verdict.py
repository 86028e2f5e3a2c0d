"""What is said of the board: little belief in it is no verdict while nothing else is believed either."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from furnace_diag.diagnosis.answer import answer
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.examples import example_of, records_of
from furnace_diag.diagnosis.records import Report
from furnace_diag.diagnosis.report_file import read_report, understand
from furnace_diag.diagnosis.verdict import judge
from furnace_diag.knowledge.yaml_text import parse_yaml

CASES = sorted((Path(__file__).resolve().parents[2] / "cases").glob("*.yaml"))


@pytest.mark.parametrize(
    ("rod_pin", "verdict"), [("", "unlikely"), ("{point: rod_pin_to_chassis, value: 86 V, step: pre_purge, set_up: lead_lifted, contact: pin}", "cleared")]
)
def test_a_board_is_not_cleared_by_a_weak_flame_current_until_its_rod_pin_is_read(rod_pin: str, verdict: str, evidence: Evidence) -> None:
    """Where too little current flows the board may feed its rod too little: its pin tells. 80 to 100 V are typical, as notes of a distributor have it."""
    text = """
- {sign: burners_light, value: drop_out}
- {sign: blower_runs, value: "no"}
- {point: flame_current, value: 0.3 uA, step: ignition_trial}
"""
    assert _judged(text + (f"- {rod_pin}\n" if rod_pin else ""), evidence) == verdict


@pytest.mark.parametrize(("another", "figures", "verdict"), [(0.13, 1, "not_judged"), (0.9, 1, "unlikely"), (0.9, 0, "not_judged")])
def test_unlikely_is_said_only_where_another_part_leads_by_something_read(another: float, figures: int, verdict: str, evidence: Evidence) -> None:
    """Three hundredths of belief in the board, the rest of it on one other part or thinly on all; by what was seen alone it is not judged."""
    finder = evidence.finder
    belief = {"control_board:pressure_input_dead": 0.03, "igniter:open": another}

    judged = judge(finder, finder.find((), {}), belief, dict.fromkeys(belief, 1.0), lambda proof: (), records=3, figures=figures)
    assert judged.verdict == verdict


@pytest.mark.parametrize("path", CASES, ids=lambda p: p.stem)
def test_no_case_calls_a_bad_board_unlikely_or_cleared(path: Path, evidence: Evidence) -> None:
    report = read_report(path, evidence.knowledge, evidence.vocabulary)
    result = answer(report, evidence)

    if report.answer["part"] == "control_board":
        assert result.board.verdict in {"proved_bad", "suspected", "not_judged"}
    else:
        assert result.board.verdict != "proved_bad"


def test_a_bad_board_of_which_little_is_known_is_not_called_unlikely(evidence: Evidence) -> None:
    """A board that does not see its pressure switch, as a technician first tells it."""
    text = """
complaint: inducer runs, then nothing
records:
- {sign: inducer_runs, value: yes}
- {sign: igniter_glows, value: no}
- {point: w_to_c_at_board, value: 25.1}
- {sign: light, value: steady}
"""
    result = answer(understand(parse_yaml(text, "report.yaml"), evidence.knowledge, evidence.vocabulary), evidence)

    assert result.board.verdict in {"not_judged", "suspected"}


def test_the_proof_that_is_asked_for_is_the_one_of_which_most_is_met(evidence: Evidence) -> None:
    """A welded heat relay feeds the bare terminal at rest, and two speeds on a cooling call: whoever read the one is not sent for the other."""
    k = evidence.knowledge
    entries = [e for e in example_of(k.proof["heat_output_welded"]) if "fresh_call" not in e.values()]
    records, options = records_of(entries, k)
    found = answer(Report(evidence.family.furnace.furnace, "fan runs all day", tuple(records), options), evidence)

    assert found.board.verdict == "suspected"
    assert found.board.nearest is not None
    assert found.board.nearest.proof == "heat_output_welded"
    assert [n.condition for n in found.board.nearest.needs if not n.met_by] == ["fresh_call_and_no_other"]


def _judged(text: str, evidence: Evidence) -> str:
    report = understand(parse_yaml(f"complaint: no heat\nrecords:\n{text}", "report.yaml"), evidence.knowledge, evidence.vocabulary)
    return answer(report, evidence).board.verdict


@pytest.mark.parametrize("hazard", ["{sign: safety_bypassed, value: \"yes\"}", "{sign: gas_smell, value: strong}", ""])
def test_with_a_hazard_the_board_is_neither_cleared_nor_unlikely(hazard: str, evidence: Evidence) -> None:
    """An open igniter at line voltage: the board does what it should. But where a safety is bridged nothing that was read of it clears anybody yet."""
    text = """
- {sign: igniter_glows, value: no, step: igniter_warm_up}
- {point: igniter_volts_at_plug, value: 119, step: igniter_warm_up}
- {point: igniter_ohms, value: OL, step: power_off}
"""
    verdict = _judged(text + (f"- {hazard}\n" if hazard else ""), evidence)
    assert (verdict in {"cleared", "unlikely"}) is (not hazard)
    assert verdict != "suspected"


@pytest.mark.parametrize(("another", "figures", "verdict"), [(0.13, 0, "not_judged"), (0.13, 1, "cleared"), (0.9, 0, "cleared")])
def test_sights_alone_clear_no_board_while_belief_is_spread(another: float, figures: int, verdict: str, evidence: Evidence) -> None:
    """One output of the board is seen to work, and little is believed of the others: that clears it by a meter's reading, or where another part leads."""
    finder, works, other = evidence.finder, "control_board:heat_relay_will_not_close", "control_board:cool_relay_will_not_open"
    spread = dict.fromkeys(("filter:blocked", "thermostat:no_call", "inducer:slow", "flame_rod:filmed", "blower_capacitor:weak"), (0.99 - another) / 5)
    belief = {**spread, works: 0.0001, other: 0.005, "igniter:open": another}
    found = replace(finder.find((), {}), cleared=frozenset({works}))

    judged = judge(finder, found, belief, {**dict.fromkeys(belief, 0.03), "igniter:open": 1.0}, lambda proof: (), records=3, figures=figures)
    assert judged.verdict == verdict


NEVER_GOES_ON = ("inducer_pin_to_neutral", "line_to_neutral_at_board")


def test_a_proof_that_asks_for_what_is_never_reached_gives_way_to_one_that_can_become_whole(evidence: Evidence) -> None:
    """The inducer output is said to come and go, but in no call does it ever come: nothing can be read where it should have held."""
    text = """
records:
- {point: r_to_w_at_board, value: 0.2 V, step: call}
- {sign: inducer_runs, value: "no", step: inducer_start}
- {sign: fault_comes_and_goes, value: "yes"}
- {point: across_inducer_relay, value: 120 V, step: inducer_start, meter: low}
- {point: inducer_wire_to_neutral, value: 0 V, step: inducer_start}
"""
    report = understand(parse_yaml(text, "report.yaml"), evidence.knowledge, evidence.vocabulary)
    never = {(name, step) for name in NEVER_GOES_ON for step in ("pre_purge", "igniter_warm_up", "heating")}

    before, after = (answer(report, evidence, never=frozenset(some)).board.nearest for some in ((), never))
    assert before is not None
    assert before.proof == "inducer_output_comes_and_goes"
    assert after is not None
    assert after.proof == "inducer_output_dead"


def test_no_proof_of_what_is_hardly_believed_is_asked_for_because_the_likely_one_is_denied(evidence: Evidence) -> None:
    """Too little flame current denies that the flame circuit is dead, looked at twice; that is no reason to ask for a dead heat output."""
    finder, k = evidence.finder, evidence.knowledge
    entries = [{**e, "value": "1.5 uA"} if e.get("point") == "flame_current" else e for e in example_of(k.proof["flame_circuit_dead"])]
    records, options = records_of(entries, k)
    found = finder.find([replace(r, sure=True) for r in records], options)
    belief = {"control_board:flame_circuit_dead": 0.5, "control_board:heat_relay_will_not_close": 0.02}

    judged = judge(finder, found, belief, dict.fromkeys(belief, 1.0), lambda proof: (), records=len(records), figures=3)
    assert finder.is_denied(found, "flame_circuit_dead")
    assert judged.nearest is not None
    assert judged.nearest.proof == "flame_circuit_dead"


def test_what_no_failure_of_the_rules_fits_clears_no_board(evidence: Evidence) -> None:
    """The line across two neutral posts of the board while the inducer runs on one of them: no failure of the rules gives it, and the board's own path may.

    Kirchhoff's voltage law: what stands between two posts of one piece of metal is lost in it.
    """
    live = (
        "{sign: blower_runs, value: 'no', step: heating}, {sign: inducer_runs, value: 'yes', step: heating}, "
        "{point: heat_terminal_to_neutral, value: 119 V, step: heating, set_up: load_on}, {point: blower_neutral_to_chassis, value: 118 V, step: heating}"
    )
    lost = ", {point: across_neutral_posts, value: 118 V, step: heating, meter: low}, {point: neutral_crimp_to_post, value: 0.1 V, step: heating}"
    reports = (understand(parse_yaml(f"records: [{live}{more}]", "report.yaml"), evidence.knowledge, evidence.vocabulary) for more in ("", lost))
    verdicts = [answer(report, evidence).board.verdict for report in reports]
    assert verdicts == ["cleared", "unlikely"]
