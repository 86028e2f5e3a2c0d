"""What is still to be taken is told as what is wanted: a line such as "every lead sits tight (leads secure): yes" looks as if somebody had looked."""

from __future__ import annotations

import re

import pytest

from furnace_diag.diagnosis.taking import how_to_take, in_short, line_in_words
from tests.ours import our_rules

KNOWLEDGE = our_rules()


@pytest.mark.parametrize("name", sorted(KNOWLEDGE.check))
def test_no_check_that_nobody_has_made_reads_as_if_it_had_been(name: str) -> None:
    check = KNOWLEDGE.check[name]
    for text in (how_to_take(check, KNOWLEDGE), in_short(check, KNOWLEDGE)):
        for line in check.any_of[0]:
            must_be = KNOWLEDGE.band[line.is_[0]].says if line.names[0][0] == "point" else " or ".join(line.is_)
            assert not re.search(rf"(?<!wanted): {re.escape(must_be)}(?:$|;)", text)
            assert must_be.replace("_", " ") in text.replace("_", " ") or check.take


def test_how_long_to_wait_is_told_in_seconds() -> None:
    """Half a minute after the longest of the delays that the furnace's own rules let be set."""
    (line,) = KNOWLEDGE.condition["heat_output_dead"].any_of[0]
    longest = max(float(v) for f in KNOWLEDGE.furnace.values() for v in f.options["blower_on_delay"].values)

    assert f"{longest + 30:g} s in all" in line_in_words(line, KNOWLEDGE)
