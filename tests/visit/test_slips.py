"""Slips of the keys at the prompt: mended where one known word is near, never where two are, and never without a word about it."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from furnace_diag.claims.free_text import FreeText
from furnace_diag.cli.visit_prompt import Prompt
from furnace_diag.cli.visit_sure import meant_so
from furnace_diag.diagnosis.vocabulary import Vocabulary
from furnace_diag.knowledge.likeness import SHORTEST_MISSPELT, mended
from furnace_diag.problems import BadInput
from furnace_diag.visit.lines import Reader
from furnace_diag.visit.session import Session
from furnace_diag.visit.typed import Typed
from tests.ours import our_rules
from tests.visit.playing import START, Script, desk

KNOWLEDGE = our_rules()
VOCABULARY = Vocabulary(KNOWLEDGE)
READER = Reader(VOCABULARY)
NAMES = sorted({word for name in KNOWLEDGE.point for word in name.split("_") if len(word) > SHORTEST_MISSPELT})
# of our own making: the line as it was typed, and as it was meant
SLIPS = {
    "heat termnal to neutral 0.2": "heat terminal to neutral 0.2", "line to chasis at board 120": "line to chassis at board 120",
    "inlet presure 7": "inlet pressure 7", "inducer hmus": "inducer hums", "flame rod flimed": "flame rod filmed", "baord no change": "board no change",
    "heat terminal to neutral 0.2 200s": "heat terminal to neutral 0.2 after 200 s",
}  # fmt: skip


@pytest.mark.parametrize("typed", SLIPS)
def test_a_line_with_a_slip_is_the_line_that_was_meant_at_the_prompt_only(typed: str) -> None:
    with pytest.raises(BadInput):
        READER.read(typed)
    assert FreeText(VOCABULARY).records(typed) == []  # nobody is there to say that a claim was meant otherwise
    read = [READER.read(meant) for meant in READER.forgiven(typed) if meant == SLIPS[typed]]
    assert read == [READER.read(SLIPS[typed])]


def test_a_word_as_near_to_two_stays_as_it_was() -> None:
    known = {"line", "list", "light", "board"}
    assert mended("lint", known) == "lint"  # one letter from line, one from list
    assert mended("boord", known) == "board"
    assert mended("lines", {"line", "lines"}) == "lines"  # known already
    assert mended("oard", known) == "oard"  # the first letter is seldom missed
    assert mended("lie", {"line"}) == "lie"  # too short to be a slip


@settings(deadline=None, max_examples=80)
@given(word=st.sampled_from(NAMES), at=st.integers(1, 30))
def test_a_name_without_one_of_its_letters_is_itself_or_left_alone(word: str, at: int) -> None:
    """Only a word that is known itself ("lines" without s), or as near to another one, is not found again."""
    place = 1 + at % (len(word) - 1)
    slip = word[:place] + word[place + 1 :]
    assert mended(slip, frozenset(NAMES)) in {word, slip}


def test_what_was_read_is_told_and_can_be_taken_back(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*START, "line to chasis at board 120"])
    kept = session.record(session.visit.entries[-1])
    assert (kept.name, kept.number) == ("line_to_chassis_at_board", 120)
    assert "Read as: line to chassis at board 120" in " ".join(capsys.readouterr().out.split())
    before = len(session.visit.entries)
    desk(session, ["undo"])
    assert len(session.visit.entries) == before - 1


def test_of_an_asked_value_only_its_own_words_are_near(session: Session) -> None:
    sign = KNOWLEDGE.sign["pressure_switch_contact"]
    assert "open" in sign.values
    meant = READER.forgiven("opne", "sign", sign.sign)
    assert meant == ["open"]
    typed = READER.only_value("sign", sign.sign, meant[0], {})
    assert isinstance(typed, Typed)
    desk(session, [*START, "pressure switch contact", "opne"])
    assert session.record(session.visit.entries[-1]).word == "open"


@pytest.mark.parametrize(("answers", "kept"), [(["", "n"], False), (["", "y"], True), (["n"], False)])
def test_no_enter_keeps_a_danger_that_is_read_with_slips_mended(session: Session, answers: list[str], kept: bool) -> None:
    prompt = Prompt(session, Script(answers), lambda: 80, ())
    assert (meant_so(prompt, Typed({"sign": "safety_bypassed", "value": "yes"}, weakly=True, mended=True)) is not None) is kept


def test_the_breaker_in_short_is_no_slip_of_the_burners(session: Session) -> None:
    desk(session, [*START, "brkr on"])
    assert [(r.name, r.word) for r in map(session.record, session.visit.entries)][-1] == ("breaker_position", "on")
