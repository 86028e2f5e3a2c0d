"""The letter to a shop: it does not ask for what the shop has told, by whatever name it told it."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict

import pytest

from furnace_diag.claims.asking import letter_of, open_questions
from furnace_diag.claims.desk import Desk
from furnace_diag.diagnosis.records import Vocabulary, record_of
from furnace_diag.knowledge.models import Knowledge
from furnace_diag.problems import Place
from tests.claims.test_desk import judgement_of


def asked(knowledge: Knowledge, *records: Mapping[str, str]) -> list[str]:
    """The signs that are still asked for."""
    vocabulary = Vocabulary(knowledge)
    made = [record_of(r, Place("here", 1, 1), vocabulary) for r in records]
    return [q.sign for q in open_questions([{"sign": m.name, "value": m.word, **({"step": m.step} if m.step else {})} for m in made], knowledge)]


EVERY = ["whole_furnace", "inducer_runs", "igniter_glows", "burners_light", "blower_starts_in_heat"]


@pytest.mark.parametrize(
    ("record", "left"),
    [  # in the order of a good heat call; whoever tells of a later step has told that the call got there
        ({"sign": "flame_goes_out", "value": "within_seconds"}, []),  # it lit, and never came to the blower
        ({"sign": "blower_runs", "value": "no", "step": "heating"}, []),
        ({"sign": "blower_runs", "value": "hums"}, []),
        ({"sign": "blower_runs", "value": "no", "step": "call"}, EVERY),  # it is not due yet
        ({"sign": "blower_runs", "value": "no", "step": "fan_call"}, EVERY),  # no heat call
        ({"sign": "igniter_glows", "value": "yes"}, EVERY[3:]),
        ({"sign": "light", "value": "lit", "step": "call"}, EVERY[1:]),
        ({"sign": "gas_smell", "value": "none"}, EVERY),
    ],
)  # fmt: skip
def test_what_another_sign_tells_is_not_asked(knowledge: Knowledge, record: dict[str, str], left: list[str]) -> None:
    assert asked(knowledge, record) == left


def test_of_what_a_proof_wants_together_only_what_is_lacking_is_asked(desk: Desk, knowledge: Knowledge) -> None:
    """The rod's insulation and its wire were read and are good; how the rod looks was not told."""
    rows = ("flame_current 4.2 ignition_trial - - min", "flame_goes_out within_seconds", "rod_to_case_ohms OL", "rod_wire_end_to_end_ohms 0.1")
    judgement = judgement_of(desk, *rows)
    result = json.loads(json.dumps(asdict(judgement)))
    letter = letter_of(result, knowledge, lambda name: (desk.evidence(name).family, desk.evidence(name).population))
    about_the_rod = [text for text in letter.proof if "flame_rod_looks" in text]

    assert len(about_the_rod) == 1
    assert "rod_to_case_ohms" not in about_the_rod[0]
    assert "rod_wire_end_to_end_ohms" not in about_the_rod[0]
