"""A proof does not stand against a record of the same heat call that its failure cannot give, and a true record beside it does not undo it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from furnace_diag.diagnosis.answer import weighed
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.examples import example_of, records_of
from furnace_diag.diagnosis.one_record import record_of
from furnace_diag.diagnosis.records import Record, Report
from furnace_diag.diagnosis.vocabulary import Vocabulary
from furnace_diag.problems import Place
from tests.ours import our_rules

RULES = our_rules()
VOCABULARY = Vocabulary(RULES)
# what works although the proof says that its output is dead, in the same call; common practice, no source: each stands behind that output
WORKS = {
    "heat_output_dead": [
        {"point": "heat_spade_to_neutral", "value": "119", "step": "heating", "meter": "low"},
        {"point": "blower_volts_at_motor_heat", "value": "119", "step": "heating", "meter": "low"},
        {"point": "across_heat_output", "value": "0", "step": "heating", "meter": "low"},
    ],
    "igniter_output_dead": [
        {"sign": "igniter_glows", "value": "yes", "step": "igniter_warm_up"},
        {"sign": "flame_seen", "value": "yes", "step": "heating"},
    ],
    "inducer_output_dead": [{"sign": "inducer_runs", "value": "yes", "step": "heating"}],
}
# what such a furnace does show: no flame follows a dead inducer or igniter output (the sequence: no trial without a glow, no glow without draft)
TRUE = {
    "igniter_output_dead": [{"sign": "flame_seen", "value": "no"}, {"sign": "flame_seen", "value": "no", "step": "ignition_trial"}],
    "inducer_output_dead": [{"sign": "flame_seen", "value": "no"}, {"sign": "igniter_glows", "value": "no"}],
    "heat_output_dead": [{"sign": "blower_runs", "value": "no", "step": "heating"}],
}


def proof_with(output: str) -> tuple[list[Record], dict[str, str]]:
    """The example of the first proof that needs *output* dead."""
    proof = next(p for p in RULES.proof.values() if output in p.needs and not any("joint" in n for n in p.needs))
    return records_of(example_of(proof), RULES, VOCABULARY)


def beside(record: dict[str, str], of: list[Record]) -> Record:
    """A record of the first heat call of *of*."""
    made = record_of(record, Place("line", 1, 1), VOCABULARY)
    return replace(made, call=min(r.call for r in of))


def verdict(records: list[Record], options: dict[str, str], evidence: Evidence) -> str:
    return weighed(Report(evidence.family.furnace.furnace, "", tuple(records), options), evidence).board.verdict


@pytest.mark.parametrize("output", WORKS)
def test_what_the_failure_cannot_give_undoes_its_proof(output: str, evidence: Evidence) -> None:
    records, options = proof_with(output)
    assert verdict(records, options, evidence) == "proved_bad"
    for record in WORKS[output]:
        seen = weighed(Report(evidence.family.furnace.furnace, "", (*records, beside(record, records)), options), evidence)
        assert seen.board.verdict != "proved_bad", record
        nearest = seen.board.nearest
        if nearest is not None and nearest.proof in seen.found.grades and seen.found.grades[nearest.proof] == "proved":  # complete but for this
            assert next(v for k, v in record.items() if k in ("point", "sign")) in " ".join(d for n in nearest.denied for d in n.denied_by)


@pytest.mark.parametrize("output", TRUE)
def test_what_such_a_furnace_shows_leaves_its_proof_standing(output: str, evidence: Evidence) -> None:
    records, options = proof_with(output)
    for record in TRUE[output]:
        assert verdict([*records, beside(record, records)], options, evidence) == "proved_bad", record


@pytest.mark.parametrize("name", sorted(RULES.proof))
def test_no_example_of_a_proof_is_held_to_be_impossible(name: str, evidence: Evidence) -> None:
    records, options = records_of(example_of(RULES.proof[name]), RULES, VOCABULARY)
    assert verdict(records, options, evidence) == "proved_bad"


def test_one_sign_of_a_lost_flame_does_not_clear_the_board(evidence: Evidence) -> None:
    record = record_of({"sign": "flame_goes_out", "value": "within_seconds"}, Place("line", 1, 1), VOCABULARY)
    assert verdict([record], {}, evidence) not in ("cleared", "proved_bad")
