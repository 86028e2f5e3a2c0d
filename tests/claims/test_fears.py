"""Dangers that a text speaks of: by their names, and not by the name of another thing that begins like one."""

from __future__ import annotations

import pytest

from furnace_diag.claims.fears import Fears
from furnace_diag.knowledge.models import Knowledge


@pytest.mark.parametrize(
    "text",
    [
        "water in hose",
        "water in the hose, blew it out, works now",
        "Water in the pressure hose.",
        "water in the hose to the pressure switch",
        "no water on the board",
        "water in hose only",
        "water in the hose and it works now",
        "water in the hose, nothing on the board",
        "water in the hose on every call",
        "water in hose, 0.3 V on heat terminal",  # the figure is read on it
        "water in hose, 0.35 in wc, pressure switch would not close",
    ],
)
def test_water_in_the_hose_is_no_water_on_the_controls(text: str, knowledge: Knowledge) -> None:
    assert Fears(knowledge).spoken_of([text], ()) == ()


@pytest.mark.parametrize(
    "text",
    [
        "water on the board",
        "water got into it",
        "found water, hose is fine",
        "water in the hose. water on the board",
        "water in the hose and on the board",
        "water in the hose & board",
        "Water in the hose, and the plugs.",
        "hose full of water, dripped on the board",
        "water in the hose ran down onto the board",
        "water in the hose, got in the control box",
        "water in the hose, board got wet",
        "water in the hose, 3 drops on the board",  # a figure, and no reading
        "water in the hose; board wet",
        "Condensate dripped on the board",
    ],
)
def test_water_anywhere_else_is_told(text: str, knowledge: Knowledge) -> None:
    (told,) = Fears(knowledge).spoken_of([text], ())
    assert "water on the board" in told


@pytest.mark.parametrize(
    ("text", "danger"),
    [
        ("gas leaking at the union", "leak found"),
        ("It smells like gas", "smell of gas"),
        ("melted plug at the board", "have melted"),
        ("family got sick", "sickness"),
    ],
)
def test_what_people_call_a_danger_is_told(text: str, danger: str, knowledge: Knowledge) -> None:
    (told,) = Fears(knowledge).spoken_of([text], ())
    assert danger in told


@pytest.mark.parametrize(
    ("text", "danger"),
    [("leak test on the union bubbled", "leak found"), ("fire in the burners and on the wires", "flames"), ("Fire in burners. Smoke in the room.", "Smoke")],
)
def test_what_begins_as_another_thing_and_goes_on_to_a_danger_is_told(text: str, danger: str, knowledge: Knowledge) -> None:
    (told,) = Fears(knowledge).spoken_of([text], ())
    assert danger.lower() in told.lower()


@pytest.mark.parametrize(
    "text",
    ["nobody got sick, no gas leaks", "leak tested all joints, good", "leak tested, no leaks found", "fire in the burners on the second try, then goes out"],
)
def test_what_only_begins_as_a_danger_is_none(text: str, knowledge: Knowledge) -> None:
    assert Fears(knowledge).spoken_of([text], ()) == ()


def test_a_reading_that_is_told_is_no_hazard_spoken_of(knowledge: Knowledge) -> None:
    assert Fears(knowledge).spoken_of(["water in the hose and on the board"], {"water_on_controls"}) == ()


@pytest.mark.parametrize(
    ("text", "sign"),
    [
        ("flame rolled out twice", "flame_rolls_out"),
        ("sparks and flames out the front", "flame_rolls_out"),
        ("limit jumpered by the last man", "safety_bypassed"),
        ("found the pressure switch bypassed, runs fine now", "safety_bypassed"),
        ("sometimes the burners won't shut off", "flame_with_no_call"),
        ("cracked heat exchanger", "exchanger_cracked"),
    ],
)
def test_dangers_are_found_as_people_complain_of_them(text: str, sign: str, knowledge: Knowledge) -> None:
    """Those of a hazard that is read on a meter as well, or that nobody asks for at the start, too."""
    (told,) = Fears(knowledge).spoken_of([text], ["light_says", "burners_light"])

    assert knowledge.sign[sign].says[1:] in told


@pytest.mark.parametrize("text", ["no flame rolled out", "limit not jumpered", "limit holds, pressure switch closes", "heat exchanger looked at, not cracked"])
def test_no_danger_is_made_of_what_is_denied(text: str, knowledge: Knowledge) -> None:
    assert Fears(knowledge).spoken_of([text], ()) == ()
