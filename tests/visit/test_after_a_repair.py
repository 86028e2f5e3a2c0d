"""What works again after a repair speaks for it, and is not held against it because nobody said at which step it was seen."""

from __future__ import annotations

import pytest

from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.one_record import record_of
from furnace_diag.problems import Place

REPAIR = "replace_the_capacitor"


@pytest.mark.parametrize(("records", "denied"), [
    ([{"sign": "blower_runs", "value": "yes"}], False),
    ([{"sign": "blower_runs", "value": "yes", "step": "heating"}], False),
    ([{"sign": "flame_seen", "value": "yes"}], False),
    ([{"sign": "blower_runs", "value": "yes", "step": "standby"}], True),
    ([{"sign": "blower_runs", "value": "hums"}], True),
    ([{"sign": "blower_runs", "value": "slow"}], True),
    ([{"sign": "flame_seen", "value": "yes", "step": "blower_off_delay"}], True),
])  # fmt: skip
def test_a_blower_that_runs_in_the_call_is_what_was_mended(evidence: Evidence, records: list[dict[str, str]], denied: bool) -> None:
    """Common practice, no source: a whole call ended as it should where the blower ran in it, and stood still once it was over."""
    told = [record_of({**r, "call": "1"}, Place("x", 1, 1), evidence.vocabulary) for r in records]
    state = evidence.finder.after_repair(told, {}, REPAIR)
    watched = next(n for n in state.needs if n.condition == "full_calls_watched")
    assert bool(watched.denied_by) is denied
