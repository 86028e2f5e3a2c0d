"""Problems as people see them: one line, nothing a terminal would obey."""

from __future__ import annotations

import copy
import pickle
import unicodedata
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from furnace_diag.problems import BadInput, Place, Problem, printable

PLACE = Place("rules/parts/draft.yaml", 7, 15)
# Characters a terminal may act on, by the categories of the Unicode Character Database.
ACTED_ON = {"Cc", "Cf", "Cs", "Zl", "Zp"}


def test_a_place_is_written_so_that_an_editor_can_jump_to_it() -> None:
    assert str(PLACE) == "rules/parts/draft.yaml:7:15"


def test_places_sort_in_reading_order() -> None:
    in_order = [Place("a", 2, 9), Place("a", 10, 1), Place("a", 10, 2), Place("b", 1, 1)]

    assert sorted([in_order[2], in_order[3], in_order[0], in_order[1]]) == in_order


def test_a_problem_is_place_message_and_fix_on_one_line() -> None:
    problem = Problem(PLACE, 'weight must be a number, not "often".', "Type a number.")

    assert str(problem) == 'rules/parts/draft.yaml:7:15: weight must be a number, not "often". Type a number.'


def test_a_problem_without_place_starts_with_its_message() -> None:
    assert str(Problem(None, "It is late.", "")) == "It is late."


def test_no_part_of_a_problem_can_break_the_line_or_colour_the_terminal() -> None:
    problem = Problem(Place("a\nb", 1, 1), "\x1b[31mred", "do\r\x9bthis")

    assert str(problem) == r"a\x0ab:1:1: \x1b[31mred do\x0d\x9bthis"


def test_bad_input_shows_all_its_problems_a_line_each() -> None:
    first, second = Problem(PLACE, "One.", "Fix it."), Problem(None, "Two.", "Leave it.")
    error = BadInput(problem for problem in (first, second))

    assert error.problems == (first, second)
    assert str(error) == f"{first}\n{second}"


@pytest.mark.parametrize("again", [copy.copy, lambda error: pickle.loads(pickle.dumps(error))])
def test_bad_input_survives_copying_and_pickling(again: Callable[[BadInput], BadInput]) -> None:
    error = BadInput([Problem(PLACE, "One.", "Fix it.")])

    assert again(error).problems == error.problems


def test_bad_input_needs_a_problem() -> None:
    with pytest.raises(ValueError, match="at least one"):
        BadInput([])


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("24.6 V, 0.8 µA, 47 Ω, °F", "24.6 V, 0.8 µA, 47 Ω, °F"),
        ("\x00\t\n\x1b\x7f", r"\x00\x09\x0a\x1b\x7f"),
        ("\x85\x9b", r"\x85\x9b"),
        ("\u202eabc\u2066\u200f\u061c", r"\u202eabc\u2066\u200f\u061c"),
        ("\u2028\ufeff\ud800", r"\u2028\ufeff\ud800"),
        ("\U000e0041", r"\U000e0041"),
    ],
)
def test_what_a_terminal_would_obey_is_shown_as_its_code(text: str, shown: str) -> None:
    assert printable(text) == shown


def test_what_is_too_long_ends_in_three_dots() -> None:
    assert printable("a" * 10, 10) == "a" * 10
    assert printable("a" * 11, 10) == "a" * 7 + "..."


def test_an_escape_is_never_cut_in_two() -> None:
    assert printable("abcd\x1b\x1b\x1b", 10) == "abcd..."


def test_a_limit_without_room_for_the_dots_is_refused() -> None:
    with pytest.raises(ValueError, match="at least 3"):
        printable("abc", 2)


@given(st.text(st.characters()), st.integers(3, 200))
def test_any_text_becomes_short_and_harmless(text: str, limit: int) -> None:
    shown = printable(text, limit)

    assert len(shown) <= limit
    assert not {unicodedata.category(character) for character in shown} & ACTED_ON
