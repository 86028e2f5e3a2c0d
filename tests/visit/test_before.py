"""Where it is asked what was done before the visit, what is read or seen is kept too, and of a part that is not named it is asked which."""

from __future__ import annotations

import pytest

from furnace_diag.visit.session import Session
from tests.visit.playing import START, desk

ASKED = START[:-1]  # but for the Enter that ends that question


def kept(session: Session) -> set[tuple[str, str | float | None]]:
    return {(r.name, r.word if r.number is None else r.number) for r in map(session.record, session.visit.entries)}


def test_both_sides_of_a_switch_are_kept(session: Session) -> None:
    desk(session, [*ASKED, "ps 24 in 0 out", ""])
    assert {("pressure_switch_feed_to_c", 24.0), ("pressure_switch_out_to_c", 0.0)} <= kept(session)


def test_a_command_that_comes_later_is_told_to(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*ASKED, "mend"])
    assert "`mend` comes after this question; Enter ends it." in " ".join(capsys.readouterr().out.split())


@pytest.mark.parametrize(("answer", "part"), [("1", "blower_motor"), ("2", "inducer")])
def test_of_a_motor_that_was_replaced_it_is_asked_which(session: Session, answer: str, part: str) -> None:
    desk(session, [*ASKED, "motor replaced no change", answer, ""])
    assert (part, "replaced_no_change") in kept(session)


def test_of_neither_motor_anything_is_kept_unasked(session: Session) -> None:
    desk(session, [*ASKED, "motor replaced no change", "", ""])
    assert not {"blower_motor", "inducer"} & {name for name, _ in kept(session)}


@pytest.mark.parametrize(("line", "record"), [
    ("ps makes", ("pressure_switch_contact", "closed")), ("ps wont make", ("pressure_switch_contact", "open")),
    ("pins green", ("plug_burnt_or_corroded", "yes")),
])  # fmt: skip
def test_words_that_any_technician_uses(session: Session, line: str, record: tuple[str, str]) -> None:
    desk(session, [*START, line, "y"])
    assert record in kept(session)
