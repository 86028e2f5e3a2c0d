"""What the records leave open, and the reading at hand that would part it."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from furnace_diag.diagnosis.answer import answer
from furnace_diag.diagnosis.apart import NotToldApart, _shared, not_told_apart
from furnace_diag.diagnosis.bins import NEVER_BIN
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.report_file import understand
from furnace_diag.diagnosis.weigh import Posterior
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


def test_one_furnace_that_reads_like_the_others_hides_no_difference() -> None:
    """Total variation distance by hand: of four furnaces each, one of the other's reads as these do, so a quarter is shared."""
    one = np.full((1, 4), 400, np.int16)
    other = np.array([[400, 410, 420, 430]], np.int16)
    evidence = SimpleNamespace(alike={})

    assert _shared(evidence, 0, one, other) == pytest.approx([0.25])  # type: ignore[arg-type]
    assert _shared(evidence, 1, other, one) == pytest.approx([0.25])  # type: ignore[arg-type]


def test_a_reading_that_most_never_come_to_is_shared_by_all() -> None:
    never = np.array([[NEVER_BIN, NEVER_BIN, 400]], np.int16)
    assert _shared(SimpleNamespace(alike={}), 0, never, np.array([[500, 500, 500]], np.int16)) == pytest.approx([1.0])  # type: ignore[arg-type]


def test_low_gas_is_told_from_a_film_though_one_low_pressure_is_another_gas_ordinary_one(evidence: Evidence) -> None:
    faults = [str(f) for f in evidence.family.faults]
    belief = np.zeros(len(faults))
    belief[[faults.index("gas_supply:low"), faults.index("flame_rod:filmed")]] = 0.5
    nothing = np.zeros(0)
    (pair,) = not_told_apart(evidence, Posterior(belief, 0.0, nothing, nothing, nothing, nothing, nothing), ())
    assert pair.parted_by in {"inlet_pressure", "manifold_pressure", "flame_rod_looks"}
