"""What the records leave open, and the reading at hand that would part it."""

from __future__ import annotations

import pytest

from furnace_diag.diagnosis.answer import answer
from furnace_diag.diagnosis.apart import NotToldApart
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.records import understand
from furnace_diag.knowledge.yaml_text import parse_yaml

RECORDS = """records:
- {sign: igniter_glows, value: bright, step: igniter_warm_up}
- {sign: burners_light, value: "no"}
- {point: gas_pin_to_c, value: 26 V, step: ignition_trial, contact: pin}
"""


def pairs(evidence: Evidence, without: tuple[str, ...] = (), never: tuple[tuple[str, str | None], ...] = ()) -> tuple[NotToldApart, ...]:
    return answer(understand(parse_yaml(RECORDS, "report.yaml"), evidence.knowledge, evidence.vocabulary), evidence, without, never).not_told_apart


@pytest.mark.parametrize("without", [(), ("ohmmeter",), ("manometer", "ohmmeter", "clamp")])
def test_nothing_is_named_that_is_not_at_hand(without: tuple[str, ...], evidence: Evidence) -> None:
    lacking = {f for tool in without for f in evidence.words.instruments[tool]}
    told = pairs(evidence, without)

    assert told
    for pair in told:
        if pair.parted_by in evidence.knowledge.point:
            assert evidence.knowledge.point[pair.parted_by].function not in lacking
        assert not (pair.parted_by and pair.parted_with)
        assert pair.parted_with is None or evidence.knowledge.point[pair.parted_with].function in lacking


def test_what_is_not_to_be_asked_for_is_not_named(evidence: Evidence) -> None:
    named = {p.parted_by for p in pairs(evidence) if p.parted_by}
    left = pairs(evidence, never=tuple((name, None) for name in named))

    assert named
    assert not named & {p.parted_by for p in left}


def test_what_was_read_is_named_again_only_as_such(evidence: Evidence) -> None:
    assert all(p.again == (p.parted_by == "gas_pin_to_c" and p.step == "ignition_trial") for p in pairs(evidence) if p.parted_by)
