"""A proof that lacks little of a call that is over says so, and lists what is wanted once more together."""

from __future__ import annotations

import pytest

from furnace_diag.report.visit_screen import proof_lines
from furnace_diag.visit.session import Session
from furnace_diag.visit.typed import Typed
from tests.visit.playing import START, desk

ONCE: list[dict[str, object]] = [
    {"sign": "plugs_refitted", "value": "still_the_same"}, {"sign": "meter_tried_on_live_point", "value": "yes"},
    {"sign": "settings_as_diagram", "value": "yes"},
    {"point": "gas_valve_coil_ohms", "value": "55"}, {"sign": "rollout_contact", "value": "closed"}, {"sign": "burners_light", "value": "no"},
]  # fmt: skip
OF_A_CALL: list[dict[str, object]] = [  # all that the proof of a board that feeds no gas valve wants of one call
    {"point": "line_to_neutral_at_board", "value": "121", "contact": "pin", "step": "call", "meter": "low"},
    {"point": "neutral_to_chassis_at_board", "value": "0.1", "contact": "pin", "step": "call", "meter": "high"},
    {"point": "line_to_chassis_at_board", "value": "121", "contact": "pin", "step": "call", "meter": "high"},
    {"sign": "igniter_glows", "value": "yes", "step": "igniter_warm_up"},
    {"point": "pressure_switch_return_to_c", "value": "25.1", "contact": "pin", "hold": "min", "step": "ignition_trial"},
    {"point": "gas_pin_to_c", "value": "0.1", "meter": "low", "contact": "pin", "set_up": ["load_on"], "hold": "max", "step": "ignition_trial"},
    {"point": "r_to_c_at_board", "value": "25.6", "contact": "pin", "step": "ignition_trial"},
    {"sign": "flame_seen", "value": "no", "step": "standby"},
    {"sign": "fresh_call", "value": "yes"},
]  # fmt: skip


def take(session: Session, records: list[dict[str, object]], **more: str) -> None:
    for record in records:
        session.take(Typed({**record, **more}), sure=True)


@pytest.fixture
def two_calls(session: Session) -> Session:
    """Of the first of which the line to the cabinet is not told."""
    desk(session, START)
    take(session, ONCE)
    take(session, [r for r in OF_A_CALL if r.get("point") != "line_to_chassis_at_board"])
    session.tell("call", {"call": 2})
    take(session, OF_A_CALL)
    return session


def test_a_call_that_lacks_one_thing_is_told_with_that(two_calls: Session, capsys: pytest.CaptureFixture[str]) -> None:
    (lacks,) = two_calls.short_calls().values()
    assert len(lacks) == 1
    desk(two_calls, ["proof", ""])
    assert " ".join(capsys.readouterr().out.split()).count("Heat call 1 lacks only") == 2  # in the list, and where Enter asks for another call


def test_what_was_read_in_it_makes_it_count(two_calls: Session) -> None:
    desk(two_calls, ["line to chassis at board 121 pin at call call 1"])
    assert two_calls.short_calls() == {}
    assert two_calls.answer().board.proved


def test_what_is_wanted_once_more_is_told_once(two_calls: Session) -> None:
    nearest = two_calls.answer().board.nearest
    assert nearest is not None
    said = " ".join(" ".join(proof_lines(nearest, 40, two_calls.knowledge)).split())
    assert "more such call" not in said
    assert f"These {len(nearest.missing)} together in one more heat call." in said


def test_a_reading_that_was_told_in_full_too_does_not_want_more(session: Session) -> None:
    desk(session, START)
    take(session, [{"sign": "igniter_glows", "value": "yes"}, *ONCE, *OF_A_CALL])
    session.tell("call", {"call": 2})
    take(session, OF_A_CALL[4:6])
    nearest = session.answer().board.nearest
    assert nearest is not None
    assert [text for need in nearest.needs for text in need.almost if "igniter glows" in text] == []


def test_the_list_tells_what_was_held(two_calls: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(two_calls, ["list"])
    said = " ".join(capsys.readouterr().out.split())
    assert "lowest" in said
    assert "highest" in said
