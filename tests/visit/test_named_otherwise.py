"""A line that names something else is not taken for a value of what the screen asks for."""

from __future__ import annotations

import pytest

from furnace_diag.cli.visit_answer import only_value
from furnace_diag.visit.session import Session
from tests.visit.playing import START, desk


@pytest.mark.parametrize(
    ("said", "taken"),
    [
        ("119", True), ("reads 119", True), ("it reads 119 V", True), ("across 119", True),
        ("line 119", False), ("!!", False), ("--", False), ("neutral 119", False), ("igniter 119", False),
    ],
)  # fmt: skip
def test_a_figure_with_another_name_is_not_of_what_is_asked_for(session: Session, said: str, taken: bool) -> None:
    at = desk(session, START)
    assert (only_value(at.prompt, "point", "across_heat_output", said, {"step": "heating"}, loosely=True) is not None) is taken
