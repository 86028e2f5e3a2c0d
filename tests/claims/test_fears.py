"""Dangers that a text speaks of: by their names, and not by the name of another thing that begins like one."""

from __future__ import annotations

import pytest

from furnace_diag.claims.fears import Fears
from furnace_diag.knowledge.models import Knowledge


@pytest.mark.parametrize("text", ["water in hose", "water in the hose, blew it out, works now", "Water in the pressure hose.", "no water on the board"])
def test_water_in_the_hose_is_no_water_on_the_controls(text: str, knowledge: Knowledge) -> None:
    assert Fears(knowledge).spoken_of([text], ()) == ()


@pytest.mark.parametrize("text", ["water on the board", "water got into it", "found water, hose is fine", "water in the hose. water on the board"])
def test_water_anywhere_else_is_told(text: str, knowledge: Knowledge) -> None:
    (told,) = Fears(knowledge).spoken_of([text], ())
    assert "water on the board" in told
