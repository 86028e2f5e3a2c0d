"""A figure told beside carbon monoxide, and dangers that are told of an earlier time or as over. Common practice, no source, but for the alarms' figures."""

from __future__ import annotations

import pytest

from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.visit.session import Session
from tests.visit.playing import desk


def entries(session: Session) -> dict[str, str | None]:
    return {r.name: r.word for r in map(session.record, session.visit.entries)}


def flat(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.parametrize(
    ("complaint", "value", "figure"),
    [
        ("co meter read 55", "from_30_to_70_ppm", "55 ppm"), ("co alarm read 38 ppm", "from_30_to_70_ppm", "38 ppm"),
        ("co detector showed 120", "at_least_70_ppm", "120 ppm"), ("55 on the co meter", "from_30_to_70_ppm", "55 ppm"),
        ("co in the house was 45 ppm", "from_30_to_70_ppm", "45 ppm"), ("high co", "no_figure_told", "no figure told"),
        ("co in the house", "no_figure_told", "no figure told"),
    ],
)  # fmt: skip
def test_the_figure_that_was_told_is_what_the_screen_says(
    session: Session, capsys: pytest.CaptureFixture[str], complaint: str, value: str, figure: str
) -> None:
    """UL 2034, read at second hand: a home alarm shows figures from 30 ppm, and sounds at 70 ppm only within one to four hours."""
    desk(session, [complaint])
    assert entries(session) == {"co_in_room": value}
    assert session.hazards() != ()
    assert figure in flat(capsys.readouterr().out)


@pytest.mark.parametrize("complaint", ["co meter read 12", "co meter read 55 in the flue", "co alarm shows 9 volt low battery", "co alarm reads 0"])
def test_a_figure_that_is_low_or_of_the_flue_is_no_danger_of_the_room(complaint: str, evidence: Evidence) -> None:
    """Work may go on under 30 ppm: 2018 IRC App. D.2, as the hazard's rule has it."""
    assert evidence.vocabulary.complaints.dangers_in(complaint) == []


@pytest.mark.parametrize("complaint", ["CO poisoning last year", "last winter co poisoning"])
@pytest.mark.parametrize(("answer", "kept"), [("y", {"co_in_room": "no_figure_told"}), ("n", {}), ("", {})])
def test_what_was_long_ago_is_asked_about(session: Session, complaint: str, answer: str, kept: dict[str, str]) -> None:
    """Common practice, no source."""
    desk(session, [complaint, answer])
    assert entries(session) == kept


@pytest.mark.parametrize(
    ("complaint", "sign"),
    [
        ("gas smell was there tues but gone now", "gas_smell"), ("gas smell tues, gone now", "gas_smell"), ("co alarm went off last year", "co_alarm"),
        ("gas co fixed the leak", "gas_leak_found"), ("gas leak fixed by gas company", "gas_leak_found"),
    ],
)  # fmt: skip
def test_what_is_told_as_over_is_neither_kept_nor_denied_by_enter(
    session: Session, capsys: pytest.CaptureFixture[str], complaint: str, sign: str
) -> None:
    """Common practice, no source."""
    desk(session, [complaint, "", "", "", ""])
    assert entries(session) == {}
    says = session.knowledge.sign[sign].danger
    assert f"Told as over, or of an earlier time: {says}." in flat(capsys.readouterr().out)
    assert sign in {q.sign for q in session.open_safety()} or sign == "gas_leak_found"


def test_a_leak_that_was_mended_is_kept_as_that_once_somebody_says_so(session: Session) -> None:
    """Common practice, no source."""
    desk(session, ["gas co fixed the leak", "y"])
    assert entries(session) == {"gas_leak_found": "found_and_mended"}


@pytest.mark.parametrize(
    ("complaint", "sign"),
    [
        ("gas co fixed the leak but still smells", "gas_leak_found"), ("gas co did not fix the leak", "gas_leak_found"),
        ("gas smell gone then came back", "gas_smell"), ("co alarm goes off since last winter", "co_alarm"),
        ("furnace flooded last spring", "water_on_controls"), ("smell gas, gone for the weekend", "gas_smell"),
    ],
)  # fmt: skip
def test_what_is_still_so_stays_a_danger(session: Session, complaint: str, sign: str) -> None:
    """Common practice, no source."""
    desk(session, [complaint])
    assert sign in entries(session)
    assert session.hazards() != ()
