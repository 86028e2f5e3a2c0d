"""What the page for the customer says of a visit that ends before anything is mended."""

from __future__ import annotations

from pathlib import Path

from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.report.visit_customer import customer_form
from furnace_diag.visit.summary import summary_of
from tests.visit.playing import Play


def test_a_lost_service_neutral_and_why_the_visit_ended_are_told(tmp_path: Path, evidence: Evidence) -> None:
    """Whoever has lost the neutral of the service must know whom to call: common practice, no source."""
    play = Play(tmp_path / "v.jsonl", evidence)
    play.session.tell("complaint", {"text": "lights get bright and dim"})
    play.session.tell("record", {"record": {"point": "line_to_neutral_at_junction_box", "value": "141", "step": "standby"}})
    play.close("not_proved", "power company called out")
    form = dict(customer_form(summary_of(tmp_path / "v.jsonl", evidence)))
    assert any("neutral" in line for line in form["Danger: do this now"])
    assert any("power company called out" in line for line in form["What was done"])
    assert any("bright and dim" in line and "electricity supplier" in line for line in form["Leave and call for help if"])
