"""What a drill offers to be written is understood as it was offered, and what is clear is not asked about."""

from __future__ import annotations

import re

import pytest

from furnace_diag.furnace.family import Family
from furnace_diag.knowledge.repairs import repairs_of
from furnace_diag.training.acts import Act
from furnace_diag.training.bench import takes_off
from furnace_diag.training.commands import Reader
from tests.training.test_drill import start


def test_every_repair_that_is_offered_is_taken_as_it_was_offered(family: Family) -> None:
    reader, drill = Reader(family), start(family, "igniter:open")
    several = 0
    for part in family.knowledge.part:
        said = reader.read(f"replace {part.replace('_', ' ')}", drill).tell
        if "Write the one you mean: " not in said:
            continue
        several += 1
        offered = said.partition("mean: ")[2].rstrip(".").split(", ")
        assert [o.replace(" ", "_") for o in offered] == [r.repair for r in repairs_of(family.knowledge, part)]
        for one in offered:
            for line in (one, f"replace {one}", f"replace the {one}"):
                act = reader.read(line, drill).act
                assert act is not None, line
                assert (act.do, act.other) == ("replace", one.replace(" ", "_"))
    assert several


@pytest.mark.parametrize("line", ["look smell", "look wires", "read thermostat", "read wire", "name fuze"])
def test_no_name_is_offered_with_its_underscores_and_each_is_taken(family: Family, line: str) -> None:
    reader, drill = Reader(family), start(family, "igniter:open")
    told = reader.read(line, drill)
    assert told.act is None
    assert "_" not in told.tell
    listed = re.search(r"(?:could be|did you mean) (.*?)[.?]", told.tell, re.IGNORECASE)
    assert listed is not None
    if line.startswith(("look", "read")):
        for one in re.split(r", | or ", listed[1]):
            assert reader.read(f"{line.split()[0]} {one}", drill).act is not None, one


@pytest.mark.parametrize(
    ("line", "name"), [("look field wires", "field_wires_are"), ("look melted", "wiring_melted"), ("read seconds to blower", "seconds_to_blower")]
)
def test_what_only_one_name_holds_is_clear(family: Family, line: str, name: str) -> None:
    act = Reader(family).read(line, start(family, "igniter:open")).act
    assert act is not None
    assert act.what == name


@pytest.mark.parametrize(("line", "name"), [("burner fine", "burner box scorched"), ("temp 120", "temperature rise")])
def test_what_is_named_weakly_is_asked_about(family: Family, line: str, name: str) -> None:
    told = Reader(family).read(line, start(family, "igniter:open"))
    assert told.act is None
    assert name in told.tell
    assert told.tell.endswith("?")
    assert len(told.offered) == 1


def test_what_could_be_two_things_is_told_with_both(family: Family) -> None:
    told = Reader(family).read("meter ok", start(family, "igniter:open"))
    assert told.act is None
    assert "meter tried on live point" in told.tell
    assert "input against plate" in told.tell


@pytest.mark.parametrize("line", ["volts gas valve to c low", "ohms gas pin to gas valve", "ohms gas pin to gas valve terminal", "volts igniter to neutral"])
def test_a_part_by_its_name_is_no_pin_of_the_board_and_is_asked_about(family: Family, line: str) -> None:
    """The wire between the two may be what is broken: what the pin shows then says nothing of the part."""
    told = Reader(family).read(line, start(family, "gas_harness:open"))
    assert told.act is None
    assert "Write the one you mean" in told.tell
    assert ("gas pin" in told.tell and "valve hot" in told.tell) or ("igniter pin" in told.tell and "igniter hot" in told.tell)


@pytest.mark.parametrize(
    ("line", "node"), [("volts gas valve pin to c", "gas_pin"), ("volts valve hot to c", "valve_hot"), ("volts igniter pin to n", "igniter_pin")]
)
def test_a_pin_or_lead_by_its_own_name_is_that(family: Family, line: str, node: str) -> None:
    act = Reader(family).read(line, start(family, "igniter:open")).act
    assert act is not None
    assert node in (act.what, act.what.removesuffix("_to_c").removesuffix("_to_neutral"))


@pytest.mark.parametrize("line", ["what do I hear", "what can I see?", "what is running", "what do I smell now"])
def test_what_is_seen_can_be_asked(family: Family, line: str) -> None:
    act = Reader(family).read(line, start(family, "igniter:open")).act
    assert act == Reader(family).read("look", start(family, "igniter:open")).act


@pytest.mark.parametrize("line", ["what now", "what is a step", "when does it light"])
def test_a_word_that_asks_is_no_slip_in_a_command(family: Family, line: str) -> None:
    told = Reader(family).read(line, start(family, "igniter:open"))
    assert told.act is None
    assert "is no command here" in told.tell


@pytest.mark.parametrize(("line", "do"), [("wiat", "wait"), ("wait", "wait")])
def test_a_slip_in_one_still_is(family: Family, line: str, do: str) -> None:
    act = Reader(family).read(line, start(family, "igniter:open")).act
    assert act is not None
    assert act.do == do


@pytest.mark.parametrize(("line", "act"), [
    ("turn stat up", Act(do="call", what="call")), ("turn the thermostat up", Act(do="call", what="call")), ("turn tstat down", Act(do="call")),
    ("turn stat off", Act(do="call")), ("turn power off", Act(do="power", what="off")), ("turn off", Act(do="power", what="off")),
])  # fmt: skip
def test_the_thermostat_that_is_turned_is_no_switch(family: Family, line: str, act: Act) -> None:
    assert Reader(family).read(line, start(family, "igniter:open")).act == act


@pytest.mark.parametrize(("line", "called", "part"), [("name the ground", "burner ground", "burner_ground"), ("name igniter:open", "igniter", "igniter")])
def test_what_ends_the_drill_is_said_back_where_it_is_called_otherwise(family: Family, line: str, called: str, part: str) -> None:
    """A name that is only one of several for the part may mean another to who types it, and nothing comes after."""
    reader, drill = Reader(family), start(family, "igniter:open")
    told = reader.read(line, drill)
    assert told.act is None
    assert told.tell.endswith(f"Do you name {called}?")
    act = reader.read(told.offered[0], drill).act
    assert act is not None
    assert (act.do, act.what) == ("name", part)


@pytest.mark.parametrize("line", ["name igniter", "name the ignitor", "it is the igniter", "name hsi"])
def test_what_is_named_as_it_is_called_is_not_asked_about(family: Family, line: str) -> None:
    act = Reader(family).read(line, start(family, "igniter:open")).act
    assert act is not None
    assert (act.do, act.what) == ("name", "igniter")


def test_a_lead_is_known_by_short_words_and_what_can_come_off_is_listed_line_by_line(family: Family) -> None:
    reader, drill = Reader(family), start(family, "igniter:open")
    act = reader.read("lift ps", drill).act
    assert act is not None
    assert (act.do, act.what) == ("lift", "the lead on the pressure switch return pin of the board")
    head, *listed = reader.read("lift roof", drill).tell.split("\n")
    assert head == "Nothing called roof can come off here. What can:"
    assert listed == [name for name, _ in takes_off(family)]


def test_nothing_is_undone_by_a_word(family: Family) -> None:
    assert "stays done" in Reader(family).read("undo", start(family, "igniter:open")).tell
