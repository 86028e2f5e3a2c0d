"""A hazard stops the visit whatever way it came by, and is told in full wherever somebody looks again: what to do now, and whom to call."""

from __future__ import annotations

from pathlib import Path

import pytest

from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.visit.journal import Journal
from furnace_diag.visit.session import Session
from tests.visit.playing import START, ByHand, Play, desk

SAFE = START[1:8]
LEFT_OPEN = ["no heat", "", *SAFE[1:], "", "", "", "", "", ""]  # the smell of gas is left open
LEADS = ["igniter ohms OL", "igniter glows no"]


def flat(text: str) -> str:
    return " ".join(text.split())


def told_of(session: Session, text: str) -> int:
    """How many times the hazard that stands now is told in full."""
    (hazard,) = session.hazards()
    said = flat(text)
    each = [said.count(flat(t)) for t in (f"STOP. {hazard.says}", f"Now: {hazard.tells['now']}", f"Call: {hazard.tells['call']}")]
    assert len(set(each)) == 1
    return each[0]


@pytest.mark.parametrize("by_hand", [True, False])
def test_a_hazard_answered_where_mend_asks_is_told_and_nothing_is_mended(session: Session, capsys: pytest.CaptureFixture[str], by_hand: bool) -> None:
    desk(session, [*LEFT_OPEN, *LEADS])
    capsys.readouterr()
    (ByHand if by_hand else desk)(session, ["mend igniter", "strong"])
    said = capsys.readouterr().out
    assert told_of(session, said) == 1
    assert "before the questions on safety" not in said
    assert session.visit.repairs == []


@pytest.mark.parametrize("command", ["", "show", "why", "mend igniter", "proof", "close"])
def test_it_is_told_again_wherever_somebody_looks(session: Session, capsys: pytest.CaptureFixture[str], command: str) -> None:
    desk(session, [*START, *LEADS, "wiring melted yes"])
    capsys.readouterr()
    desk(session, [command, ""])
    assert told_of(session, capsys.readouterr().out) >= 2  # as the visit is taken up, and as it was asked


@pytest.mark.parametrize("line", ["fix 1 strong", "wiring melted yes", "note x", "if wiring melted yes"])
def test_by_whatever_line_it_comes(session: Session, capsys: pytest.CaptureFixture[str], line: str) -> None:
    desk(session, [*START, *LEADS])
    capsys.readouterr()
    desk(session, [line])
    said = capsys.readouterr().out
    if line.startswith(("fix", "wiring")):
        assert told_of(session, said) == 1
    else:
        assert session.hazards() == ()


def test_typed_while_a_repair_is_walked_through_it_ends_the_walk(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*START, *LEADS])
    for at in range(1, 6):  # at each of its pages
        capsys.readouterr()
        ByHand(session, ["mend igniter", *[""] * at, "wiring melted yes", "", "y"])
        assert told_of(session, capsys.readouterr().out) >= 1
        assert session.visit.repairs == []
        session.undo()
        assert session.hazards() == ()


def test_after_the_repair_it_stops_the_checks_at_once(tmp_path: Path, evidence: Evidence, capsys: pytest.CaptureFixture[str]) -> None:
    play = Play(tmp_path / "v.jsonl", evidence)
    play.begin()
    play.prove()
    play.mend()
    play.check(but="room_air_is_safe")
    need = next(n for n in (play.session.after() or pytest.fail("none is proved")).missing)
    assert "co_in_room" in [w.names[0][1] for w in evidence.knowledge.check[need.condition].any_of[0]]
    desk(play.session, ["", "80 ppm", ""])  # the meter first; the question after it is not put any more
    said = capsys.readouterr().out
    assert told_of(play.session, said) == 2  # as it was read, and at Enter
    assert flat(evidence.knowledge.sign["gas_smell"].says) not in flat(said.partition("STOP.")[2])
    desk(play.session, [])
    assert told_of(play.session, capsys.readouterr().out) == 1  # taken up again
    play.journal.close()


def test_taken_up_from_the_disk_it_stands_before_anything_is_asked(tmp_path: Path, evidence: Evidence, capsys: pytest.CaptureFixture[str]) -> None:
    family = evidence.family.furnace.furnace
    first = Journal(tmp_path / "v.jsonl", new=True)
    desk(Session(evidence.knowledge, evidence, first, family), [*START, "wiring melted yes"])
    first.close()
    capsys.readouterr()
    again = Journal(tmp_path / "v.jsonl", new=False)
    session = Session(evidence.knowledge, evidence, again, family)
    desk(session, [])
    assert told_of(session, capsys.readouterr().out) == 1
    again.close()


def test_typed_where_the_meter_is_asked_for_it_ends_that_too(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*START, "stops at call"])
    asked = session.answer().next[0]
    assert session.knowledge.point[asked.name].function == "ac_volts"
    capsys.readouterr()
    desk(session, ["", "wiring melted yes", "note stopped there"])
    said = flat(capsys.readouterr().out)
    assert told_of(session, said) == 1
    assert session.visit.notes  # the next line was asked for at the prompt of the visit
    assert "Taken as read" not in said.partition("STOP.")[2]


@pytest.mark.parametrize(
    ("note", "sign"), [("strong gas smell in the hall", "gas_smell"), ("owner says burners stay on after the stat is satisfied", "flame_with_no_call")]
)
def test_a_note_that_tells_of_a_danger_is_asked_about(session: Session, capsys: pytest.CaptureFixture[str], note: str, sign: str) -> None:
    desk(session, [*LEFT_OPEN, *LEADS])
    desk(session, [f"note {note}", "n"])  # denied: it is only a note
    assert session.hazards() == ()
    capsys.readouterr()
    desk(session, [f"note {note}", ""])
    assert told_of(session, capsys.readouterr().out) == 1
    assert session.record(session.visit.entries[-1]).name == sign


def test_a_note_without_a_danger_asks_nothing(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*START, *LEADS])
    capsys.readouterr()
    desk(session, ["note no gas smell, filter was black"])
    assert "Is this" not in capsys.readouterr().out


@pytest.mark.parametrize("before", [LEFT_OPEN, START])  # the start left open, and answered that there is no danger
@pytest.mark.parametrize(
    ("line", "sign"),
    [
        ("I smell gas", "gas_smell"), ("co alarm going off now", "co_alarm"), ("smoke coming out of the burner box", "smoke_or_fire"),
        ("got shocked off the cabinet", "tingle_from_cabinet"), ("flames rolling out the front", "flame_rolls_out"),
        ("i jumped the limit out", "safety_bypassed"),
    ],
)  # fmt: skip
def test_no_hurried_enter_drops_a_danger(session: Session, capsys: pytest.CaptureFixture[str], before: list[str], line: str, sign: str) -> None:
    desk(session, [*before, *LEADS, line, "n"])
    assert session.hazards() == ()
    desk(session, [line, "inducer runs yes", ""])  # what is no answer passes nothing over
    assert sign in {session.record(e).name for e in session.visit.telling}
    assert told_of(session, capsys.readouterr().out) == 1


@pytest.mark.parametrize("lines", [["I smell gas", ""], ["flames rolling out the front", ""], ["customer says the co alarm went off"]])
def test_a_danger_typed_where_a_value_is_asked_for_stops_the_visit(session: Session, capsys: pytest.CaptureFixture[str], lines: list[str]) -> None:
    desk(session, [*START, LEADS[1]])  # with all of them a part leads, and what confirms it is asked for
    asked = session.answer().next
    assert asked
    capsys.readouterr()
    desk(session, [asked[0].name, *lines])  # the value of that reading is asked for
    assert told_of(session, capsys.readouterr().out) == 1
