"""Plain words that are misspelt."""

from __future__ import annotations

import pytest

from furnace_diag.knowledge.models import Knowledge
from furnace_diag.knowledge.slips import Slips, slips_of


def made(*wanted: str, known: tuple[str, ...] = ()) -> Slips:
    return Slips(lambda: wanted, lambda: (*wanted, *known))


@pytest.mark.parametrize("word", ["exchangr", "exchangger", "exhcanger", "exchanger", "exchengar", "xchanger"])
def test_a_letter_left_out_doubled_or_changed_with_its_neighbour_is_a_slip(word: str) -> None:
    """Two vowels at once and the first letter are no slips that are mended."""
    assert (made("exchanger")(word) == "exchanger") == (word not in ("exchengar", "xchanger"))


def test_a_known_word_and_one_near_two_others_stay() -> None:
    assert made("tripped", known=("tipped",))("tipped") == "tipped"
    assert made("sparking", "spanking")("spaking") == "spaking"


def test_of_several_forms_of_one_word_one_is_meant() -> None:
    assert made("headache", "headaches")("headachs") == "headaches"


@pytest.mark.parametrize(("word", "wanted"), [("leaned", "leaked"), ("exchange", "exchanger"), ("sot", "soot"), ("flames", "flame")])
def test_another_word_is_no_slip(word: str, wanted: str) -> None:
    assert made(wanted)(word) == word


def test_no_word_of_the_rules_is_taken_for_a_slip(knowledge: Knowledge) -> None:
    words = next(iter(knowledge.words.values()))
    mend = slips_of(words, knowledge.sign.values())
    assert [w for w in words.no_slips if mend(w) != w] == []
