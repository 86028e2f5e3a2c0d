"""No experiment of any rule file may close or bridge what the furnace itself must close."""

from __future__ import annotations

from pathlib import Path

import pytest

from furnace_diag.knowledge.load import read_rules

ENTRY = """
- experiment: reckless
  says: Whether it runs so
  values: [yes, no]
  shows: {{watch: heat_starts, {how}, else: no}}
"""


def problems_of(tmp_path: Path, how: str) -> str:
    (tmp_path / "own.yaml").write_text(ENTRY.format(how=how), encoding="utf-8")
    knowledge, problems = read_rules([tmp_path])
    assert (knowledge is None) == bool(problems)
    return " ".join(str(p) for p in problems)


@pytest.mark.parametrize(
    ("how", "told"),
    [
        ("effects: [{element: limit_contact, is: closed}], tries: [{so: yes}]", "bridge limit_contact"),
        ("effects: [{element: limit_contact, is: whole}], tries: [{so: yes}]", "bridge limit_contact"),
        ("effects: [{element: rollout_bypass, is: closed}], tries: [{so: yes}]", "bridge rollout_bypass"),
        ('effects: [{element: pressure_bypass, ohms: ["0.1", "0.2"]}], tries: [{so: yes}]', "bridge pressure_bypass"),
        ("tries: [{so: yes, effects: [{element: gas_relay, is: closed}]}]", "bridge gas_relay"),
        ('effects: [{quantity: draft_set_point, is: "0"}], tries: [{so: yes}]', "deceive a safety"),
        ('effects: [{quantity: hose, is: "1"}], tries: [{so: yes}]', "deceive a safety"),
        ("effects: [{input: chain, is: \"on\"}], tries: [{so: yes}]", "deceive a safety"),
        ("tries: [{so: yes, joins: [draft_made]}]", "bridge a safety"),
        ("tries: [{so: yes, joins: [limit_cool]}]", "bridge a safety"),
        ("tries: [{so: yes, joins: [gas]}]", "bridge a safety"),
        ("tries: [{so: yes, joins: [nothing_such]}]", "nothing_such"),
        ("off: [nothing_such], tries: [{so: yes}]", "nothing_such"),
        ("found_broken: nothing_such, tries: [{so: yes}]", "nothing_such"),
    ],
)
def test_what_would_bridge_a_safety_is_refused(tmp_path: Path, how: str, told: str) -> None:
    assert told in problems_of(tmp_path, how)


@pytest.mark.parametrize(
    "how",
    [
        "effects: [{element: limit_contact, is: open}], tries: [{so: yes, joins: [r_w_joined_at_board]}]",
        "off: [gas_pin], effects: [{element: low_voltage_fuse_link, is: whole}], tries: [{so: yes, joins: [call_w]}]",
        'starting: burning, effects: [{quantity: hose, is: "0"}], tries: [{so: yes}]',
    ],
)
def test_what_only_takes_away_or_calls_is_let_through(tmp_path: Path, how: str) -> None:
    assert problems_of(tmp_path, how) == ""
