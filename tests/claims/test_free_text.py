"""Free text of claims: what a shop writes is read where it can mean one thing only; the rest is left to a person. The texts are of our own invention."""

from __future__ import annotations

import pytest

from furnace_diag.claims.free_text import FreeText
from furnace_diag.diagnosis.records import Vocabulary
from furnace_diag.knowledge.models import Knowledge


@pytest.fixture(scope="module")
def free(knowledge: Knowledge) -> FreeText:
    return FreeText(Vocabulary(knowledge))


@pytest.mark.parametrize(
    ("text", "record"),
    [
        ("inducer runs", {"kind": "sign", "name": "inducer_runs", "value": "runs"}),
        ("no flame", {"kind": "sign", "name": "flame_seen", "value": "no"}),
        ("igniter ohms OL", {"kind": "point", "name": "igniter_ohms", "value": "OL"}),
        ("heat terminal 0.2 low pin", {"kind": "point", "name": "heat_terminal_to_neutral", "value": "0.2", "meter": "low", "contact": "pin"}),
        ("intermittent no heat", {"kind": "sign", "name": "fault_comes_and_goes", "value": "no heat"}),  # no step, and no "no"
        ("blower runs no at heating", {"kind": "sign", "name": "blower_runs", "value": "no", "step": "heating"}),
    ],
)
def test_a_plain_piece_is_what_it_says(free: FreeText, text: str, record: dict[str, str]) -> None:
    assert free.records(text) == [record]


@pytest.mark.parametrize(
    ("text", "same"), [("cap reads 2.1 mfd", "cap 2.1 mfd"), ("igniter ohms was OL", "igniter ohms OL"), ("draft is -0.35", "draft -0.35")]
)
def test_a_little_word_before_a_figure_changes_nothing(free: FreeText, text: str, same: str) -> None:
    assert free.records(text) == free.records(same) != []


def test_a_little_word_before_anything_else_stays(free: FreeText) -> None:
    assert free.records("cap reads nothing like 2.1 mfd") == []


@pytest.mark.parametrize(
    ("text", "same"),
    [
        ("0.3v on heat term low z", "heat terminal 0.3v low z"),
        ("0.3 V heat terminal low z at heating", "heat terminal 0.3 V low z at heating"),
        ("0.3 volts AC on the heat term loz", "heat terminal 0.3 volts AC low z"),
        ("120 at L1 to N", "L1 to N 120"),
        ("120 across L1 and neutral", "L1 to N 120"),
        ("118 on heat terminal to ground", "heat terminal to ground 118"),  # the longest name: ground is no neutral
        ("25.6 on R to C at call", "R to C 25.6 at call"),
        ("OL on igniter ohms", "igniter ohms OL"),
        ("1.2 uA on flame sensor", "flame sensor 1.2 uA"),
    ],
)
def test_a_figure_may_stand_before_what_it_was_read_on(free: FreeText, text: str, same: str) -> None:
    assert free.records(text) == free.records(same) != []


@pytest.mark.parametrize(
    "text",
    [
        "120 at L1",  # to neutral or to the cabinet: with an open neutral only the second shows 120 V
        "120 at board",
        "0.3v on heat terminal heating",  # a step with no word before it
        "45 ohms on heat terminal",  # not what is read there
        "0.3 on heat",
        "3 flashes on board light",  # a figure of no point
        "120",
        "120 at",
        "120 at the",
    ],
)
def test_a_figure_before_what_is_not_plain_is_left(free: FreeText, text: str) -> None:
    assert free.records(text) == []


def test_what_was_so_in_two_calls_is_two_records(free: FreeText) -> None:
    told = free.records("igniter glows no 2 calls")

    assert [r.get("call") for r in told] == ["1", "2"]
    assert {r["name"] for r in told} == {"igniter_glows"}


@pytest.mark.parametrize(
    "text",
    [
        "heat 0.2 low pin",  # begins the names of several points
        "replaced board",  # as likely the repair that the claim is for
        "new board",
        "smelled funny",
        "thunderstorm last week",
        "",
    ],
)
def test_what_could_mean_two_things_or_nothing_is_left(free: FreeText, text: str) -> None:
    assert free.records(text) == []


def test_advice_names_what_a_piece_could_be(free: FreeText) -> None:
    assert "heat_terminal_to_neutral" in free.advice("heat 0.2 low pin")
    assert "what came of it" in free.advice("replaced board")
    assert free.advice("smelled funny") == ""
    assert {"line_to_neutral_at_board", "line_to_chassis_at_junction_box"} <= {*free.advice("120 at L1").replace(":", " ").split()}
