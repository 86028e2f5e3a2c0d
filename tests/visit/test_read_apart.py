"""Ohms that are read with everything else off, told without saying so: with the wires on they are another reading. Common practice, no source."""

from __future__ import annotations

import pytest

from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.problems import BadInput
from furnace_diag.visit.lines import Reader
from furnace_diag.visit.session import Session
from tests.visit.playing import START, desk

W_TO_C = "thermostat_cable_w_to_c_ohms"
LINES = ["ohms w to c 0.4", "w to c ohms 0.4 ohm", "w to c ohms 0.4 wires off", "w to c ohms 0.4 lifted at both ends", "gas valve wire to ground 12"]


@pytest.fixture(scope="module")
def reader(evidence: Evidence) -> Reader:
    return Reader(evidence.vocabulary)


def kept(session: Session) -> list[tuple[str, object]]:
    return [(session.record(e).name, e.record["value"]) for e in session.visit.entries if "point" in e.record]


@pytest.mark.parametrize("line", LINES)
def test_a_path_is_kept_only_once_it_is_said_how_it_was_read(session: Session, line: str, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*START, line, ""])
    assert kept(session) == []
    assert "Nothing kept." in capsys.readouterr().out
    desk(session, [line, "y"])
    assert len(kept(session)) == 1
    assert "set_up" not in session.visit.entries[-1].record


def test_what_is_typed_instead_is_heard(session: Session) -> None:
    desk(session, [*START, "ohms w to c 0.4", "r to c 25.2"])
    assert [name for name, _ in kept(session)] == ["r_to_c_at_board"]


@pytest.mark.parametrize("lines", [["w to c ohms OL"], [W_TO_C.replace("_", " "), "0.4"], ["w conductor ohms 0.6"]])
def test_no_path_and_what_was_asked_for_in_words_need_no_asking(session: Session, lines: list[str]) -> None:
    desk(session, [*START, *lines])
    assert len(kept(session)) == 1


@pytest.mark.parametrize("how", ["wires on", "with wires on", "with the stat wires still on", "with leads on", "thermostat wires still connected"])
def test_with_wires_on_it_is_another_reading(session: Session, reader: Reader, how: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(BadInput, match="another reading"):
        reader.read(f"w to c ohms 0.4 {how}")
    desk(session, [*START, "w to c ohms", f"0.4 {how}", ""])
    assert kept(session) == []
    assert "another reading" in " ".join(capsys.readouterr().out.split())


def test_every_ohms_that_should_show_no_path_says_what_must_be_off(session: Session) -> None:
    points = session.knowledge.point.values()
    wires = [p for p in points if p.unit == "ohm" and p.lookalikes and p.lookalikes.startswith("OL is right")]
    assert len(wires) > 10
    assert [p.point for p in wires if not p.apart] == []
