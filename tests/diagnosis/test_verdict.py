"""What is said of the board: little belief in it is no verdict while nothing else is believed either."""

from __future__ import annotations

from pathlib import Path

import pytest

from furnace_diag.diagnosis.answer import answer
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.records import read_report, understand
from furnace_diag.diagnosis.verdict import judge
from furnace_diag.knowledge.yaml_text import parse_yaml

CASES = sorted((Path(__file__).resolve().parents[2] / "cases").glob("*.yaml"))


@pytest.mark.parametrize(("another", "figures", "verdict"), [(0.13, 1, "not_judged"), (0.9, 1, "unlikely"), (0.9, 0, "not_judged")])
def test_unlikely_is_said_only_where_another_part_leads_by_something_read(another: float, figures: int, verdict: str, evidence: Evidence) -> None:
    """Three hundredths of belief in the board, the rest of it on one other part or thinly on all; by what was seen alone it is not judged."""
    finder = evidence.finder
    belief = {"control_board:pressure_input_dead": 0.03, "igniter:open": another}

    judged = judge(finder, finder.find((), {}), belief, dict.fromkeys(belief, 1.0), lambda proof: (), records=3, figures=figures)
    assert judged.verdict == verdict


@pytest.mark.parametrize("path", CASES, ids=lambda p: p.stem)
def test_no_case_calls_a_bad_board_unlikely_or_cleared(path: Path, evidence: Evidence) -> None:
    report = read_report(path, evidence.knowledge)
    result = answer(report, evidence)

    if report.answer["part"] == "control_board":
        assert result.board.verdict in {"proved_bad", "suspected", "not_judged"}
    else:
        assert result.board.verdict != "proved_bad"


def test_a_bad_board_of_which_little_is_known_is_not_called_unlikely(evidence: Evidence) -> None:
    """A board that does not see its pressure switch, as a technician first tells it."""
    text = """
complaint: inducer runs, then nothing
records:
- {sign: inducer_runs, value: yes}
- {sign: igniter_glows, value: no}
- {point: w_to_c_at_board, value: 25.1}
- {sign: light, value: steady}
"""
    result = answer(understand(parse_yaml(text, "report.yaml"), evidence.knowledge, evidence.vocabulary), evidence)

    assert result.board.verdict in {"not_judged", "suspected"}
