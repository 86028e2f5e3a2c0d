"""A reading in a step that a heat call does not come by is asked for with how one gets there."""

from __future__ import annotations

import pytest

from furnace_diag.cli.visit_values import ask_for
from furnace_diag.visit.session import Session
from tests.visit.playing import desk


def test_every_step_in_which_something_is_read_says_how_one_gets_there_unless_the_heat_call_comes_by_it(session: Session) -> None:
    sequence, k = session.vocabulary.sequence, session.knowledge
    read_in = {step for p in k.point.values() for step in p.steps}
    silent = {s.step for s in sequence.steps if not s.reached_by}
    assert read_in & silent <= {*sequence.order}


@pytest.mark.parametrize(
    ("step", "point", "never"),
    [("chain_open", "limit_out_to_c", "bridge"), ("lockout", "igniter_wire_to_neutral", "gathers"), ("fan_call", "r_to_c_at_board", "")],
)
def test_the_question_says_how_to_get_to_its_step_once_and_when_asked(
    session: Session, capsys: pytest.CaptureFixture[str], step: str, point: str, never: str
) -> None:
    way = next(s.reached_by for s in session.vocabulary.sequence.steps if s.step == step) or ""
    assert never in way
    at = desk(session, ["", ""])
    shown = []
    for lines in ([""], [""], ["?", ""]):
        capsys.readouterr()
        at.prompt.asker.lines = iter(lines)  # type: ignore[attr-defined]
        ask_for(at, "point", point, {"step": step})
        out = capsys.readouterr().out
        assert max(map(len, out.splitlines())) <= 40
        shown.append(" ".join(way.split()) in " ".join(out.split()))
    assert shown == [True, False, True]


def test_a_step_of_the_heat_call_itself_needs_no_words(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    at = desk(session, [])
    capsys.readouterr()
    at.prompt.tell_way_to("heating")
    at.prompt.tell_way_to(None)
    assert capsys.readouterr().out == ""
