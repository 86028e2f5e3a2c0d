"""How long after the gas a reading was taken, as people say it. Expected seconds are 60 x minutes + seconds."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from furnace_diag.visit.times import seconds_alone, seconds_told, with_after

# common practice, no source: what somebody with a watch types
SAID = {
    "after 200 s": 200, "after 200s": 200, "after 40": 40, "200 s after gas on": 200, "200s after the gas came on": 200, "200 after gas on": 200,
    "3 min after the valve opened": 3 * 60, "after 3 minutes and 20 seconds": 3 * 60 + 20, "after 3:20": 3 * 60 + 20, "after 3m20s": 3 * 60 + 20,
}  # fmt: skip
ALONE = {"200": 200, "200s": 200, "200 sec": 200, "3min": 3 * 60, "3 m": 3 * 60, "3 min 20": 3 * 60 + 20, "1.5 min": 90, "3 min in": 3 * 60, "about 200 s": 200}
ANOTHER_CLOCK = ["200 s after the call", "200 s after call", "after the call", "200 s after W", "soon", "", "after", "after heating", "-5 s"]


@pytest.mark.parametrize("text", SAID)
def test_a_time_told_from_the_gas_is_read_anywhere(text: str) -> None:
    assert seconds_told(text) == SAID[text]
    assert seconds_alone(text) == SAID[text]


@pytest.mark.parametrize("text", ALONE)
def test_fewer_words_do_only_where_a_time_is_asked_for(text: str) -> None:
    assert seconds_alone(text) == ALONE[text]
    assert seconds_told(text) is None


@pytest.mark.parametrize("text", ANOTHER_CLOCK)
def test_what_counts_from_elsewhere_or_is_no_time_is_not_taken_for_one(text: str) -> None:
    """README: after_s counts from the gas; from the call it is longer by the pre-purge and the warm-up."""
    assert seconds_told(text) is None
    assert seconds_alone(text) is None
    assert with_after(f"heat terminal 0.2 {text}") == f"heat terminal 0.2 {text}"


FORMS = ["{}:{:02d}", "{}m{}s", "{} min {} s", "{}min {}sec", "{} minutes and {} seconds"]


@settings(deadline=None, max_examples=60)
@given(minutes=st.integers(0, 99), seconds=st.integers(0, 59), form=st.sampled_from(FORMS))
def test_minutes_and_seconds_are_added_up_however_they_are_written(minutes: int, seconds: int, form: str) -> None:
    text = form.format(minutes, seconds)
    assert seconds_alone(text) == 60 * minutes + seconds
    assert with_after(f"heat terminal 0.2 {text} low pin") == f"heat terminal 0.2 after {60 * minutes + seconds} s low pin"


def test_of_two_times_in_one_line_none_is_taken_for_when_it_was_read() -> None:
    assert with_after("flame 4 s 200 s") == "flame 4 s 200 s"
