"""What a letter does not ask, because what was told leaves one answer; and what it asks instead. What a practitioner would ask: common practice, no source."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from furnace_diag.claims.asking import Letter
from furnace_diag.claims.desk import Desk, Judgement
from furnace_diag.knowledge.models import Knowledge
from tests.claims.test_asking import letter_on


@pytest.fixture
def letter_to(judged: Callable[..., list[Judgement]], desk: Desk, knowledge: Knowledge) -> Callable[..., Letter]:
    """The letter on a claim for a part with a complaint and a free text."""

    def letter_to(part: str, complaint: str, text: str) -> Letter:
        return letter_on(judged(f'claim,part,complaint,tech notes\n1,{part},{complaint},"{text}"\n')[0], desk, knowledge)

    return letter_to


HOW_FAR = ("burners_light", "stops_at", "whole_furnace", "inducer_runs", "igniter_glows", "blower_starts_in_heat")


@pytest.mark.parametrize(
    ("part", "text"),
    [
        ("board", "Inducer does not run. 120 v at inducer plug."),  # no burner lights without it
        ("board", "igniter not cracked, 48 ohms, 120 v at igniter, no glow"),
        ("inducer", "inducer hums. inducer wheel locked by hand"),
    ],
)
def test_what_stands_before_the_burners_is_not_asked_for_by_them(letter_to: Callable[..., Letter], part: str, text: str) -> None:
    letter = letter_to(part, "no heat", text)

    assert letter.how_far == ()
    assert letter.nearest
    assert not any(f"({name}" in said for said in letter.nearest for name in HOW_FAR)


@pytest.mark.parametrize(
    ("part", "text"),
    [
        ("control board", "3a fuse blown"),
        ("blower motor", "run cap 3.1 on a 7.5 mfd, put new motor + cap. runs fine"),
        ("blower motor", "cap 7.4 on 7.5. 121 at motor heat. blower wont turn by hand"),
        ("limit switch", "hi limit open cold, ohms OL at 68 deg"),
    ],
)
def test_what_is_amiss_with_the_power_off_is_not_looked_for_by_a_heat_call(letter_to: Callable[..., Letter], part: str, text: str) -> None:
    letter = letter_to(part, "no heat", text)

    assert letter.how_far == ()
    assert not any(f"({name}" in said for said in letter.nearest for name in HOW_FAR)


def test_a_reading_that_is_right_at_rest_and_wrong_in_a_call_is_asked_its_step_and_nothing_before_that(letter_to: Callable[..., Letter]) -> None:
    """An open pressure switch is as it should be while nothing calls, and has failed beside such a draft."""
    letter = letter_to("pressure switch", "no heat", "inducer runs, draft -1.2, ps 25 in 0 out")

    assert any("pressure_switch_out_to_c: 0: say at which step" in said for said in letter.how_taken)
    assert (letter.how_far, letter.nearest) == ((), ())


@pytest.mark.parametrize(
    ("part", "complaint", "text", "name"),
    [
        # with 120 V in and nothing out only the winding is left to read, and a filmed rod is told from a poor ground by that; common practice, no source
        ("transformer", "dead", "120 in 0 out", "primary_ohms"),
        ("flame sensor", "short cycle", "lights then goes out 4 sec. 0.6ua. new sensor 4.2ua", "burner_to_ground_ohms"),
    ],
)
def test_what_confirms_the_part_that_leads_is_asked_first(letter_to: Callable[..., Letter], part: str, complaint: str, text: str, name: str) -> None:
    letter = letter_to(part, complaint, text)

    assert letter.how_far == ()
    assert [f"({name})" in said for said in letter.nearest] == [True]


def test_nothing_more_is_asked_of_a_part_that_all_that_was_sent_shows(letter_to: Callable[..., Letter]) -> None:
    """A capacitor far below its mark needs no smell to be told; common practice, no source."""
    assert letter_to("blower capacitor", "slow blower", "3.2 uf on 7.5, blower slow").nearest == ()


def test_where_cleaning_the_claimed_part_put_it_right_a_letter_asks_why_it_was_renewed(letter_to: Callable[..., Letter]) -> None:
    letter = letter_to("flame sensor", "lock out", "dirty sensor, cleaned, works. replaced anyway")

    assert letter.how_far == ()
    assert ["had to be renewed: this put the furnace right (flame_rod: " in said for said in letter.nearest] == [True]


CURES = ("hose full of water, drained. works", "hose full of water, drained hose, works", "drained the hose, works now", "cleaned hose, works now")


@pytest.mark.parametrize("text", CURES)
def test_where_another_part_put_it_right_that_is_asked_about_and_no_heat_call(letter_to: Callable[..., Letter], text: str) -> None:
    """A furnace that works tells nothing more of what it did. Common practice, no source."""
    letter = letter_to("pressure switch", "no heat", f"{text}. put new switch in as well")

    assert (letter.how_far, letter.anew) == ((), ())
    assert ["failed as well: this put the furnace right (pressure_hose: " in said for said in letter.nearest] == [True]


def test_of_a_heat_call_that_nothing_stops_all_is_still_asked(letter_to: Callable[..., Letter]) -> None:
    letter = letter_to("board", "no heat", "filter clean")

    assert [text.partition("(")[2].partition(":")[0] for text in letter.how_far][:2] == ["whole_furnace", "inducer_runs"]


def test_what_could_be_one_of_several_things_is_asked_to_be_written_again(letter_to: Callable[..., Letter]) -> None:
    letter = letter_to("board", "no heat", "no inducer. limit closed. 120 at motor")

    assert any("120 at motor is not read" in said for said in letter.anew)


def test_whoever_writes_max_held_has_told_which_was_held(letter_to: Callable[..., Letter]) -> None:
    text = "l1 to n 121 on pin loads on at heating. heat terminal 0.2 low z on pin load on max held at heating. cap 10.1, motor turns free. both calls the same"
    letter = letter_to("board", "burners lite then no blower", text)

    assert letter.anew == ()
    assert not any("seconds_of_flame" in said for said in letter.nearest)
    assert any("line_to_neutral_at_board: 121" in said for said in letter.counts)


def test_a_flame_current_that_was_read_tells_that_inducer_and_igniter_did_their_work(letter_to: Callable[..., Letter]) -> None:
    """A rod passes current in a flame alone. Whether the flame then stays is asked: the board may be told of it too late. Common practice, no source."""
    (asked,) = letter_to("board", "locks out", "flame sense 0.4ua").how_far

    assert "burners_light" in asked


@pytest.mark.parametrize("complaint", ["blower runs all the time", "blower dont shut off"])
def test_of_a_blower_that_runs_without_a_call_nothing_of_a_heat_call_is_asked(letter_to: Callable[..., Letter], complaint: str) -> None:
    """The complaint tells what the board does that it should not, and when. Common practice, no source."""
    letter = letter_to("board", complaint, "relay stuck")

    assert (letter.how_far, letter.fails_to) == ((), "")
    assert letter.nearest


def test_a_heat_call_that_is_known_as_far_as_it_gets_is_not_asked_how_far_it_gets(letter_to: Callable[..., Letter]) -> None:
    """The inducer runs and the pressure switch does not close: no igniter is fed behind that. Common practice, no source."""
    letter = letter_to("pressure switch", "draft motor runs nothing else", "ps dont close")

    assert letter.how_far == ()
    assert not any(name in text for text in letter.nearest for name in HOW_FAR)


def test_what_is_answered_in_words_is_asked_for_with_those_words(letter_to: Callable[..., Letter], knowledge: Knowledge) -> None:
    (asked,) = letter_to("gas valve", "no flame", "valve no good").nearest

    assert all(value in asked for value in knowledge.sign["stops_at"].values)


def test_of_a_seized_inducer_nothing_behind_it_is_asked(letter_to: Callable[..., Letter]) -> None:
    """Fed, humming and stuck settles it: rotor or bearings. Common practice, no source."""
    letter = letter_to("inducer", "inducer loud and no heat", "120 at inducer plug, motor hums not turning, shaft stuck. amps 3.2")

    assert (letter.anew, letter.how_far, letter.nearest) == ((), (), ())
