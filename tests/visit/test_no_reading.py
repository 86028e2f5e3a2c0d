"""Lines and complaints that tell less than it seems: what is not taken is said to be so. Common practice, no source."""

from __future__ import annotations

import pytest

from furnace_diag.cli import visit_answer
from furnace_diag.cli.visit_asked import asked
from furnace_diag.cli.visit_values import ask_for
from furnace_diag.diagnosis.choice import NextReading
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.problems import BadInput
from furnace_diag.visit.lines import Reader
from furnace_diag.visit.session import Session
from furnace_diag.visit.typed import Typed, Unclear
from tests.visit.playing import START, desk


def entries(session: Session) -> dict[str, str | None]:
    return {r.name: r.word for r in map(session.record, session.visit.entries)}


def flat(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.parametrize("complaint", ["cool does nothing", "cooling does nothing", "board does nothing", "no heat. cool still does nothing"])
def test_a_part_or_another_call_that_does_nothing_is_no_dead_furnace(complaint: str, evidence: Evidence) -> None:
    """Common practice, no source."""
    assert "whole_furnace" not in {c.sign for c in evidence.vocabulary.complaints.said_in(complaint)}


@pytest.mark.parametrize("complaint", ["does nothing", "no heat, does nothing", "furnace just does nothing", "nothing happens when stat calls"])
def test_the_furnace_that_does_nothing_is_still_heard(complaint: str, evidence: Evidence) -> None:
    """Common practice, no source."""
    assert ("whole_furnace", "nothing_runs") in {(c.sign, c.value) for c in evidence.vocabulary.complaints.said_in(complaint)}


@pytest.mark.parametrize("piece", ["no gas smell", "nothing happens when stat calls", "nothing is bypassed"])
def test_what_of_a_complaint_is_not_taken_is_said(session: Session, capsys: pytest.CaptureFixture[str], piece: str) -> None:
    """A denial of a danger is for those to say who stand at the furnace: it is asked, and no word of the customer's is dropped in silence."""
    desk(session, [f"burners light, {piece}"])
    assert f"Not taken from that, and not weighed: {piece}." in flat(capsys.readouterr().out)
    assert not {"gas_smell", "safety_bypassed", "whole_furnace"} & entries(session).keys()


def test_at_the_prompt_nothing_is_bypassed_is_a_no(session: Session) -> None:
    """Common practice, no source."""
    desk(session, [*START, "nothing is bypassed"])
    assert entries(session).get("safety_bypassed") == "no"


@pytest.mark.parametrize("line", ["nothing is bypassed but the limit", "nothing bypassed except rollout"])
def test_what_is_left_out_of_that_is_no_no(session: Session, line: str) -> None:
    """Common practice, no source."""
    desk(session, [*START, line, ""])
    assert entries(session).get("safety_bypassed") != "no"


def test_no_water_is_of_the_hose_where_that_is_asked_for(session: Session) -> None:
    """Common practice, no source."""
    made = desk(session, START)
    made.prompt.asker.lines = iter(["no water"])  # type: ignore[attr-defined]
    ask_for(made, "sign", "water_in_hose", {})
    assert (entries(session)["water_in_hose"], entries(session)["water_on_controls"]) == ("no", "none")


def test_so_it_is_where_the_screen_asks_for_the_hose_next(session: Session, monkeypatch: pytest.MonkeyPatch) -> None:
    """Common practice, no source."""
    hose = NextReading("water_in_hose", "", None, "looks", "", 2.0, 0.0, (), (), "", 1.0, 5.0)
    desk(session, START)
    monkeypatch.setattr(visit_answer, "asked_in", lambda _: hose)
    desk(session, ["no water"])
    assert (entries(session)["water_in_hose"], entries(session)["water_on_controls"]) == ("no", "none")


def test_no_water_alone_is_of_the_controls(session: Session) -> None:
    """Where the screen does not ask for the hose."""
    desk(session, ["no heat", "", "", "", "", "", "", "n", *[""] * 6])
    assert (reading := asked(session)) is None or reading.name != "water_in_hose"
    desk(session, ["no water"])
    assert entries(session).get("water_on_controls") == "none"


@pytest.mark.parametrize(
    ("line", "point", "value"),
    [("gas in 6.8", "inlet_pressure", "6.8"), ("hot to neutral at jb 0", "line_to_neutral_at_junction_box", "0")],
)
def test_short_names_of_the_trade(session: Session, line: str, point: str, value: str) -> None:
    """Common practice, no source."""
    typed = session.reader.read(line)
    assert isinstance(typed, Typed)
    assert (typed.record["point"], typed.record["value"]) == (point, value)


@pytest.mark.parametrize("line", ["hot to neutral 0", "jb 120", "j-box 120"])
def test_where_it_was_read_is_asked(session: Session, line: str) -> None:
    """Common practice, no source: the same two wires are read at the board and at the junction box, and a door switch may stand between."""
    read = session.reader.read(line)
    assert isinstance(read, Unclear)
    assert "line_to_neutral_at_junction_box" in {t.record["point"] for t in read.choices}


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("ps set point .65", "draft against set point"), ("xfmr on 240 tap", "secondary volts at board"), ("same as call 1", "Type each reading again"),
        ("brd bad says neighbor", "counts for nothing"), ("neighbor says board is bad", "counts for nothing"),
    ],
)  # fmt: skip
def test_what_is_no_reading_is_answered_with_what_is(reader: Reader, line: str, says: str) -> None:
    """Common practice, no source."""
    with pytest.raises(BadInput) as bad:
        reader.read(line)
    assert says in str(bad.value)


def test_a_neighbor_is_nobody_who_tested(evidence: Evidence) -> None:
    """Common practice, no source."""
    said_in = evidence.vocabulary.complaints.said_in
    assert "somebody_blames_board" not in {c.sign for c in said_in("neighbor says board is bad")}
    assert "somebody_blames_board" in {c.sign for c in said_in("last tech says board is bad")}


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("by the way stat r and w were jumped at board when i got here", "nothing of it is kept"),
        ("twelve", "is not a number"),
    ],
)
def test_a_sentence_where_a_figure_is_asked_for_is_told_not_to_be_kept(session: Session, capsys: pytest.CaptureFixture[str], line: str, says: str) -> None:
    """Common practice, no source."""
    made = desk(session, START)
    made.prompt.asker.lines = iter([line, "", ""])  # type: ignore[attr-defined]
    ask_for(made, "point", "r_to_c_at_board", {})
    assert says in flat(capsys.readouterr().out)
    assert "r_to_c_at_board" not in entries(session)


@pytest.fixture
def reader(session: Session) -> Reader:
    return session.reader


@pytest.mark.parametrize("line", ["90+ furnace", "80+", "its a 90+", "96% furnace"])
def test_how_much_of_the_gas_a_furnace_uses_is_no_reading(session: Session, capsys: pytest.CaptureFixture[str], line: str) -> None:
    before = len(desk(session, [*START]).session.visit.entries)
    desk(session, [line])
    assert len(session.visit.entries) == before
    assert "Which kind of furnace it is is no reading" in " ".join(capsys.readouterr().out.split())
