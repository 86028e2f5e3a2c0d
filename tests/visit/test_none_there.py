"""That there is none of a thing is never taken for a check that it stands wrong. All: common practice, no source."""

from __future__ import annotations

import pytest

from furnace_diag.claims.free_text import FreeText
from furnace_diag.cli.visit_answer import only_value
from furnace_diag.diagnosis.vocabulary import Vocabulary
from furnace_diag.visit.lines import Reader
from furnace_diag.visit.session import Session
from furnace_diag.visit.typed import Typed, Unclear
from tests.ours import our_rules
from tests.visit.playing import START, desk

VOCABULARY = Vocabulary(our_rules())
READER, FREE = Reader(VOCABULARY), FreeText(VOCABULARY)
BRIDGED, SET = "safety_bypassed", "settings_as_diagram"


@pytest.mark.parametrize(
    ("line", "may_be"),
    [
        ("no jumpers", [(BRIDGED, "no"), (SET, "no")]), ("jumpers no", [(BRIDGED, "no"), (SET, "no")]), ("jumpers: no", [(BRIDGED, "no"), (SET, "no")]),
        ("no switches", [(SET, "yes"), (SET, "no")]), ("no dip switches", [(SET, "yes"), (SET, "no")]),
    ],
)  # fmt: skip
def test_that_there_is_none_is_asked_about_and_not_read_in_a_claim(line: str, may_be: list[tuple[str, str]]) -> None:
    read = READER.read(line)
    assert isinstance(read, Unclear)
    assert [(t.record["sign"], t.record["value"]) for t in read.choices] == may_be
    assert FREE.records(line) == []


@pytest.mark.parametrize(
    ("line", "value"), [("settings as diagram no", "no"), ("jumpers right no", "no"), ("jumpers ok", "ok"), ("jumpers wrong", "wrong"), ("dips match", "match")]
)
def test_how_it_stands_is_taken(line: str, value: str) -> None:
    read = READER.read(line)
    assert isinstance(read, Typed)
    assert (read.record, read.guessed) == ({"sign": SET, "value": value}, "")


@pytest.mark.parametrize("said", ["no jumpers", "jumpers no", "no switches"])
def test_not_even_the_screen_that_asks_for_the_settings_takes_it_for_a_no(said: str, session: Session) -> None:
    assert only_value(desk(session, START).prompt, "sign", SET, said, {}, loosely=True) is None
