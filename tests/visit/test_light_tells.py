"""What the board's light is told to blink is of the light, and no state of the part that it names. Common practice, no source."""

from __future__ import annotations

import pytest

from furnace_diag.visit.complaint import told_in
from furnace_diag.visit.session import Session
from furnace_diag.visit.typed import Typed


@pytest.mark.parametrize(
    ("line", "value"),
    [
        ("blinks press sw stuck open", "pressure_switch_open"), ("flashes pressure switch open", "pressure_switch_open"),
        ("light blinks limit open", "limit_open"), ("light is blinking pressure switch open", "pressure_switch_open"),
        ("led flashes ignition lockout", "ignition_failed"), ("board blinks p switch", "pressure_switch"),
    ],
)  # fmt: skip
def test_what_the_light_blinks_is_what_it_means(line: str, value: str, session: Session) -> None:
    typed = session.reader.read(line)
    assert isinstance(typed, Typed)
    assert typed.record["sign"] == "light_says"
    assert session.reader.value_of("light_says", str(typed.record["value"])) == value


@pytest.mark.parametrize(
    ("line", "value"), [("light blinks", "blinks"), ("light blinking", "blinking"), ("light off", "off"), ("light blinks 3 times", "blinks 3 times")]
)
def test_how_the_light_itself_is_stays_of_the_light(line: str, value: str, session: Session) -> None:
    typed = session.reader.read(line)
    assert isinstance(typed, Typed)
    assert (typed.record["sign"], typed.record["value"]) == ("light", value)


def test_a_complaint_of_what_it_blinks_tells_no_contact(session: Session) -> None:
    told = {t.record.get("sign") for t in told_in("inducer comes on, blinks press sw stuck open", session.reader)}
    assert "pressure_switch_contact" not in told
    assert "light_says" in told


@pytest.mark.parametrize(
    ("complaint", "sign", "value"),
    [
        ("hsi never glows, no lite", "burners_light", "no"), ("inducer runs, no light", "burners_light", "no"), ("wont lite", "burners_light", "no"),
        ("burners wont lite", "burners_light", "no"), ("board no lite", "light", "dark"), ("no led", "light", "dark"),
        ("no lights on the board", "light", "dark"),
    ],
)  # fmt: skip
def test_no_light_is_no_ignition_and_no_dark_board(complaint: str, sign: str, value: str, session: Session) -> None:
    """In a visit and in a report alike, where a complaint's phrases tell it."""
    told = {str(t.record["sign"]): session.reader.value_of(str(t.record["sign"]), str(t.record["value"])) for t in told_in(complaint, session.reader)}
    ranked = {c.sign: c.value for c in session.vocabulary.complaints.said_in(complaint)}
    assert {s: v for s, v in told.items() if s in ("light", "burners_light")} == {sign: value}
    assert {s: v for s, v in ranked.items() if s in ("light", "burners_light")} == ({} if complaint == "no led" else {sign: value})
