"""A check before a repair that is almost met: the screen says what the record leaves out and how to type it, and no way to meet it is a dead end."""

from __future__ import annotations

from typing import Any

import pytest

from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.one_record import record_of
from furnace_diag.diagnosis.records import Record
from furnace_diag.diagnosis.vocabulary import Vocabulary
from furnace_diag.knowledge.finding_models import Wanted
from furnace_diag.knowledge.repair_models import Check
from furnace_diag.problems import Place
from furnace_diag.visit.session import Session
from tests.ours import our_rules
from tests.visit.playing import START, desk

KNOWLEDGE = our_rules()
OF_VALVE = "valve_is_not_short_of_gas"


def meeting(w: Wanted) -> dict[str, Any]:
    """The fields of a record that a line of a check wants, by the line itself and its band."""
    kind, name = w.names[0]
    fields: dict[str, Any] = {kind: name, "value": w.is_[0]}
    if kind == "point":
        band = KNOWLEDGE.band[w.is_[0]]
        ends = [end for end in (band.at_least, band.at_most) if end is not None]
        fields["value"] = "OL" if ends[0] > 1e6 else f"{sum(ends) / len(ends):g}"
    fields |= {"step": w.step[0]} if w.step else {}
    fields |= {how: said for how in ("meter", "contact", "hold") if (said := getattr(w, how))}
    fields |= {"set_up": list(w.set_up)} if w.set_up else {}
    return fields | ({"after_s": f"{w.after_s:g}"} if w.after_s is not None else {})


def records(*fields: dict[str, Any]) -> list[Record]:
    vocabulary = Vocabulary(KNOWLEDGE)
    return [record_of(f, Place("a test", 1, 1), vocabulary) for f in fields]


@pytest.mark.parametrize("check", KNOWLEDGE.check.values(), ids=lambda c: c.check)
def test_what_meets_a_check_in_one_way_does_not_deny_it_in_another(check: Check, evidence: Evidence) -> None:
    """A check is met in any one of its ways (`Check`)."""
    for way in check.any_of:
        told = records(*({**meeting(w), "call": str(call)} for call in range(1, check.calls + 1) for w in way))
        (need,) = evidence.finder.checked([check], told, {})
        assert (need.calls_left, need.denied_by) == (0, ()), way


@pytest.mark.parametrize("coil", ["gas valve coil OL", "gas valve coil OL wires off", "gas valve coil 2 ohm"])
def test_a_bad_coil_opens_the_repair_of_its_valve(coil: str, session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*START, coil, "mend gas valve", "y"])
    said = capsys.readouterr().out
    assert "Before it is changed" not in said
    assert session.visit.proving is not None


def test_gas_at_the_inlet_opens_it_though_the_coil_is_good(session: Session) -> None:
    desk(session, [*START, "gas valve coil 40", "mend gas valve", "7", "y", "y"])
    assert session.visit.proving is not None


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("7 at call", "Take it so, then type it with: at ignition trial"),  # a step that the check does not take
        ("0.3", "Against it stands inlet pressure: 0.3"),
    ],
)
def test_what_does_not_open_it_is_told(line: str, told: str, session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*START, "mend gas valve", line], width=200)
    assert told in capsys.readouterr().out
    assert session.visit.proving is None


def test_the_list_of_checks_tells_what_a_record_leaves_out(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*START, "gas valve coil OL", "mend gas valve", "y"], width=200)
    session.take(records_typed("inlet pressure", "7", session))
    state = session.after()
    assert state is not None
    need = next(n for n in state.needs if n.condition == "inlet_pressure_is_right")
    assert need.almost == ("you gave inlet_pressure: 7: say at which step it was",)
    desk(session, ["checks", "inlet pressure 7.5 call 2", "quit"], width=200)
    said = capsys.readouterr().out
    assert "say at which step it was" in said
    assert "If it was so, type: fix" in said


def records_typed(name: str, value: str, session: Session) -> Any:
    """As the prompt reads it."""
    return session.reader.read(f"{name} {value}")
