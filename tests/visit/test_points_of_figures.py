"""The point of a figure, wherever somebody types it."""

from __future__ import annotations

import pytest

from furnace_diag.diagnosis.vocabulary import Vocabulary
from furnace_diag.knowledge.models import Knowledge
from furnace_diag.visit.lines import Reader
from furnace_diag.visit.typed import Typed


@pytest.mark.parametrize(
    ("line", "value"),
    [("draft . 35", ".35"), ("flame sense . 4 ua", ".4 ua"), ("draft .35", ".35"), ("draft 0.35", "0.35"), ("draft - . 35", ".35")],
)
def test_a_point_apart_from_its_figure_is_of_it(line: str, value: str, knowledge: Knowledge) -> None:
    typed = Reader(Vocabulary(knowledge)).understood(line)

    assert isinstance(typed, Typed)
    assert typed.record["value"] == value
