"""Words that were heard as their opposite, as another thing, or not at all. Common practice, no source."""

from __future__ import annotations

import pytest

from furnace_diag.diagnosis.vocabulary import Vocabulary
from furnace_diag.knowledge.models import Knowledge
from furnace_diag.visit.lines import Reader
from furnace_diag.visit.typed import Typed


@pytest.fixture(scope="module")
def vocabulary(knowledge: Knowledge) -> Vocabulary:
    return Vocabulary(knowledge)


def said(complaint: str, vocabulary: Vocabulary) -> dict[str, str]:
    return {c.sign: c.value for c in vocabulary.complaints.said_in(complaint)}


@pytest.mark.parametrize(
    "complaint", ["no safeties bypassed", "no heat, no safeties jumped", "no jumpers on safeties", "nothing is bypassed", "no bypass found"]
)
def test_that_nothing_is_bypassed_is_no_danger(complaint: str, vocabulary: Vocabulary) -> None:
    """Common practice, no source."""
    assert vocabulary.complaints.dangers_in(complaint) == []


@pytest.mark.parametrize(
    "complaint", ["no safeties bypassed except rollout", "no safeties bypassed but limit", "no safeties bypassed, limit jumped", "safeties bypassed"]
)
def test_one_that_is_bypassed_stays_a_danger(complaint: str, vocabulary: Vocabulary) -> None:
    """Common practice, no source."""
    assert said(complaint, vocabulary).get("safety_bypassed") == "yes"


@pytest.mark.parametrize(
    ("complaint", "sign"),
    [
        ("fan on does nothing", "blower_on_fan_call"), ("blower does nothing", "blower_runs"), ("inducer does nothing", "inducer_runs"),
        ("igniter does nothing", "igniter_glows"), ("gas valve still does nothing", "gas_valve_clicks"),
    ],
)  # fmt: skip
def test_a_part_that_does_nothing_is_no_dead_furnace(complaint: str, sign: str, vocabulary: Vocabulary) -> None:
    """Common practice, no source."""
    assert said(complaint, vocabulary) == {sign: "no"}


@pytest.mark.parametrize("complaint", ["furnace does nothing", "it does nothing", "nothing happens when stat calls"])
def test_a_furnace_that_does_nothing_runs_nothing(complaint: str, vocabulary: Vocabulary) -> None:
    """Common practice, no source."""
    assert said(complaint, vocabulary) == {"whole_furnace": "nothing_runs"}


@pytest.mark.parametrize(
    ("complaint", "sign", "value"),
    [
        ("flames shoot out the front", "flame_rolls_out", "yes"), ("paint is blistered at the burner door", "burner_box_scorched", "yes"),
        ("throwing up n headaches all week", "people_feel_ill", "yes"), ("gas line hissing", "gas_leak_found", "yes"),
        ("alarm for carbon went off", "co_alarm", "sounding"), ("furnace sat in flood water", "water_on_controls", "under_water"),
        ("gas smell a little at first then goes away", "gas_smell", "slight"),
    ],
)  # fmt: skip
def test_dangers_in_more_words_are_heard(complaint: str, sign: str, value: str, vocabulary: Vocabulary) -> None:
    """Common practice, no source."""
    assert said(complaint, vocabulary).get(sign) == value


@pytest.mark.parametrize(
    "complaint",
    ["carbon on the flame rod", "no headaches", "alarm for carbon never went off", "throwing up codes", "gas line not hissing", "gas smell but gone now"],
)
def test_what_only_looks_like_one_of_them_is_none(complaint: str, vocabulary: Vocabulary) -> None:
    """Common practice, no source."""
    assert vocabulary.complaints.dangers_in(complaint) == []


@pytest.mark.parametrize("line", ["no safeties bypassed", "no jumpers on safeties", "no bypass found", "no safety bypassed"])
def test_at_the_prompt_that_nothing_is_bypassed_is_a_no(line: str, vocabulary: Vocabulary) -> None:
    """Common practice, no source."""
    read = Reader(vocabulary).read(line)
    assert isinstance(read, Typed)
    assert (read.record, read.guessed) == ({"sign": "safety_bypassed", "value": "no"}, "")


@pytest.mark.parametrize("line", ["filter's new & clean", "filter's new and clean", "filter new & clean"])
def test_a_filter_that_is_new_and_clean_is_a_clean_one(line: str, vocabulary: Vocabulary) -> None:
    """And no finer one: common practice, no source."""
    reader = Reader(vocabulary)
    read = reader.read(line)
    assert isinstance(read, Typed)
    assert (read.record.get("sign"), read.guessed, read.weakly) == ("filter_looks", "", False)
    assert reader.value_of("filter_looks", str(read.record["value"])) == "clean"
