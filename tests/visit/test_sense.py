"""A figure that no furnace gives at its step is questioned; the steps at which some furnace gives it are named."""

from __future__ import annotations

import numpy as np
import pytest

from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.records import Record
from furnace_diag.problems import Place
from furnace_diag.visit.sense import doubt_about

HERE = Place("typed", 1, 1)


def reading(name: str, number: float, step: str | None) -> Record:
    return Record("point", name, f"{name}: {number}", HERE, number=number, step=step)


def test_the_volts_across_an_open_limit_are_told_to_be_of_another_step(evidence: Evidence) -> None:
    """Across the only open contact of a loop stands all of its 24 V (Kirchhoff); while it heats the limit is closed."""
    asked = doubt_about(reading("across_limit", 26, "heating"), {"value": "26"}, evidence)

    assert "chain open some read so" in asked
    assert doubt_about(reading("across_limit", 26, "chain_open"), {"value": "26"}, evidence) == ""
    assert "some read so" not in doubt_about(reading("across_limit", 260, "heating"), {"value": "260"}, evidence)


@pytest.mark.parametrize(("name", "step"), [("across_limit", "heating"), ("line_to_neutral_at_board", "call"), ("flame_current", "heating")])
def test_what_some_furnace_reads_is_not_questioned(name: str, step: str, evidence: Evidence) -> None:
    column = next(i for (n, s, _), i in evidence.population.columns.items() if (n, s) == (name, step))
    for value in np.unique(evidence.population.table[column].astype(float)):
        if np.isfinite(value):
            assert doubt_about(reading(name, float(value), step), {"value": f"{value}"}, evidence) == ""
