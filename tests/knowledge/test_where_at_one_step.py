"""Where a reading is taken is told without its step, which the screen that asks for it tells: it may be another of several."""

from __future__ import annotations

import re

from tests.ours import our_rules

IN_A_STEP = re.compile(r"\b(?:in|during|at) (?:the|a) (?:trial|warm.up|heating|pre.purge)\b")


def test_where_a_reading_of_several_steps_is_taken_names_none_of_them() -> None:
    entries = [*our_rules().point.values(), *our_rules().sign.values()]
    assert [e.where for e in entries if len(e.steps) > 1 and e.where and IN_A_STEP.search(e.where)] == []
