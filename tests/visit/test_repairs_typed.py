"""Earlier repairs told as people tell them: several parts at once, by whom, with what. Common practice, no source."""

from __future__ import annotations

import pytest

from furnace_diag.visit.complaint import told_in, unheard_in
from furnace_diag.visit.session import Session
from tests.visit.playing import START, desk

SAME, CLEANED = "replaced_no_change", "cleaned_no_change"
TOLD = [
    ("other co put in new press switch + board no change", {"pressure_switch": SAME, "control_board": SAME}),
    ("new press switch & board, no change", {"pressure_switch": SAME, "control_board": SAME}),
    ("changed the igniter and flame sensor and board, no help", {"igniter": SAME, "flame_rod": SAME, "control_board": SAME}),
    ("flame sensor cleaned w emery no change", {"flame_rod": CLEANED}),
    ("cleaned sensor with steel wool, same", {"flame_rod": CLEANED}),
]


def history(session: Session) -> dict[str, object]:
    return {str(e.record["history"]): session.record(e).word for e in session.visit.entries if "history" in e.record}


@pytest.mark.parametrize(("line", "told"), TOLD)
def test_what_other_people_did_is_taken_from_the_complaint_before_and_at_the_prompt(session: Session, line: str, told: dict[str, str]) -> None:
    records = told_in(line, session.reader)
    assert {t.record["history"]: t.record["value"] for t in records} == told
    assert unheard_in(line, records, session.reader) == []
    desk(session, [*START[:-1], line, ""])
    assert history(session) == told
    for entry in [*session.visit.entries]:
        if "history" in entry.record:
            session.take_back(entry.number)
    desk(session, [line])
    assert history(session) == told


def test_a_line_that_tells_more_than_repairs_is_not_taken_for_them_alone(session: Session) -> None:
    desk(session, [*START, "new press switch + board no change, potato"])
    assert history(session) == {}


@pytest.mark.parametrize("complaint", ["lights, runs 3-4 min, burners drop out, blower keeps going", "burns for 5 minutes then burners quit"])
def test_burners_that_drop_out_after_minutes_are_no_flame_that_is_lost_at_once(complaint: str, session: Session) -> None:
    told = {t.record.get("sign"): t.record["value"] for t in told_in(complaint, session.reader)}
    assert told.get("flame_goes_out") == "after_minutes"
    assert told.get("burners_light") in (None, "yes")


def test_burners_that_drop_out_and_nothing_else_are(session: Session) -> None:
    assert {t.record["value"] for t in told_in("burners drop out", session.reader)} == {"drop out"}


@pytest.mark.parametrize("line", ["board no change last guy", "board changed no change by the last tech", "board no change last guy last week"])
def test_who_did_it_may_stand_behind_an_earlier_repair(session: Session, line: str) -> None:
    desk(session, [*START, line])
    assert history(session) == {"control_board": SAME}


def test_who_did_it_behind_what_is_seen_is_not_passed_over(session: Session) -> None:
    before = len(desk(session, [*START]).session.visit.entries)
    desk(session, ["igniter glows last guy", ""])
    assert len(session.visit.entries) == before
