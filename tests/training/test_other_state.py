"""A sign of another state than the bench stands in is not answered, and the longest name that begins a line wins."""

from __future__ import annotations

import pytest

from furnace_diag.furnace.family import Family, Fault
from furnace_diag.training.acts import Told
from furnace_diag.training.commands import Reader
from furnace_diag.training.drill import Drill
from furnace_diag.training.lesson import Hidden
from tests.training.test_every_failure import lesson_with


def begun(family: Family, fault: str = "igniter:open") -> Drill:
    return Drill(family, lesson_with(family, Hidden(Fault(*fault.split(":")))))


def typed(drill: Drill, line: str) -> Told:
    act = Reader(drill.family).read(line, drill).act
    assert act is not None, line
    return drill.do(act)


@pytest.mark.parametrize(
    ("before", "line", "first"),
    [
        (("call heat", "wait 5 min"), "look blower always on", "call off, wait rest"),  # it tells of no call for anything
        (("power off",), "look blower always on", "power on, wait rest"),
        ((), "look outdoor unit runs", "call cooling"),  # it tells of a cooling call
        (("call heat",), "look outdoor unit runs", "call off, call cooling"),
        ((), "look blower on fan call", "call fan"),
    ],
)
def test_a_sign_of_another_state_cannot_be_seen_and_nothing_is_kept(before: tuple[str, ...], line: str, first: str, family: Family) -> None:
    drill = begun(family, "low_voltage_fuse:blown" if "fan" in line else "igniter:open")
    for each in before:
        typed(drill, each)
    taken, minutes = list(drill.taken), drill.minutes
    told = typed(drill, line)
    assert told.kind == "cannot"
    assert f"cannot be seen now. First: {first}." in told.text
    assert (drill.taken, drill.minutes) == (taken, minutes)
    for each in first.split(", "):
        typed(drill, each)
    assert typed(drill, line).kind == "seen"  # what was said to do first was enough


def test_an_experiment_whose_name_begins_with_an_act_is_no_act(family: Family) -> None:
    drill = begun(family)
    act = Reader(family).read("gas off when hose pulled", drill).act
    assert act is not None
    assert (act.do, act.what) == ("look", "gas_off_when_hose_pulled")
    drill.do(act)
    assert not drill.bench.cock_shut


@pytest.mark.parametrize(
    ("line", "do"), [("gas off", "gas"), ("turn the gas off", "gas"), ("power off", "power"), ("call heat", "call"), ("wait rest", "wait")]
)
def test_an_act_stays_one(line: str, do: str, family: Family) -> None:
    act = Reader(family).read(line, begun(family)).act
    assert act is not None
    assert act.do == do


def test_every_sign_is_opened_by_its_own_name(family: Family) -> None:
    """Whatever command its first word is."""
    drill, reader = begun(family), Reader(family)
    for sign in family.knowledge.sign.values():
        line = sign.sign.replace("_", " ")
        if len(line.split()) > 2 and reader.vocabulary.names("sign").clear(line) == [sign.sign]:
            act = reader.read(line, drill).act
            assert act is None or (act.do, act.what) in (("look", sign.sign), ("read", act.what)), line
