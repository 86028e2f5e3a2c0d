"""Pydantic's objections as a technician reads them: the line, the value, what to type."""

from __future__ import annotations

from enum import Enum
from typing import Annotated, Literal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import AfterValidator, BaseModel, ConfigDict, Field, field_validator, model_validator

from furnace_diag.knowledge.checked import validate
from furnace_diag.knowledge.yaml_text import parse_yaml
from furnace_diag.problems import Place
from furnace_diag.quantities import parse_quantity


class Model(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class Failure(Model):
    name: str = Field(alias="is")
    weight: float = Field(
        gt=0, le=1000, allow_inf_nan=False, description="Of 1,000 calls, how many end here."
    )
    looks_like: tuple[str, ...] = Field(min_length=1)


def readable(text: str) -> str:
    parse_quantity(text, "V")
    return text


class Volts(Model):
    kind: Literal["volts"]
    reads: Annotated[str, AfterValidator(readable)]


class Range(Model):
    kind: Literal["range"]
    low: int
    high: int

    @model_validator(mode="after")
    def in_order(self) -> Range:
        if self.low > self.high:
            raise ValueError("low is above high")
        return self


class Not(Model):
    kind: Literal["not"]
    kinds: list[Test]


Test = Annotated[Volts | Range | Not, Field(discriminator="kind")]


class Often(Enum):
    rare = "rare"
    common = "common"


class Part(Model):
    part: str = Field(pattern=r"^[a-z_]+$", max_length=20)
    failures: list[Failure] = []
    tests: list[Test] = []
    either: Volts | Range | None = None
    counts: dict[Literal["left", "right"], int] = {}
    often: Often = Often.common
    live: bool = False
    share: float = Field(default=0.5, ge=0, lt=1, multiple_of=0.1)

    @field_validator("live")
    @classmethod
    def not_live(cls, live: bool) -> bool:
        assert not live, "\x1bnever measure live"
        return live


GOOD_FAILURE = "{is: stuck_open, weight: 6, looks_like: [blocked_vent]}"


def told(text: str, model: type[BaseModel] = Part, path: tuple[str | int, ...] = ()) -> list[str]:
    made, problems = validate(model, parse_yaml(text, "f.yaml"), path)
    assert (made is None) == bool(problems)
    return [str(problem).removeprefix("f.yaml:") for problem in problems]


def test_good_text_becomes_a_model() -> None:
    text = f"part: pressure_switch\nfailures: [{GOOD_FAILURE}]\nlive: off\n"
    part, problems = validate(Part, parse_yaml(text, "f.yaml"))

    assert problems == []
    assert part is not None
    assert [(failure.name, failure.weight, failure.looks_like) for failure in part.failures] == [
        ("stuck_open", 6, ("blocked_vent",))
    ]
    assert part.live is False


def test_a_part_of_a_document_keeps_its_place_in_it() -> None:
    text = f"parts:\n  - part: x\n    failures:\n      - {GOOD_FAILURE.replace('6', 'often')}\n"

    assert told(text, path=("parts", 0)) == [
        '4:34: weight must be a number, not "often". Of 1,000 calls, how many end here.'
    ]


@pytest.mark.parametrize("path", [("parts",), (0,)])
def test_a_path_that_is_not_there_is_the_callers_mistake(path: tuple[str | int, ...]) -> None:
    with pytest.raises((KeyError, IndexError, TypeError)):
        validate(Part, parse_yaml("part: x", "f.yaml"), path)


@pytest.mark.parametrize(
    ("line", "problem"),
    [
        (
            "nothing: 1",
            '2:1: "nothing" is not known here. Remove it, or use one of part, failures, tests, either,',
        ),
        ("failure: 1", '2:1: "failure" is not known here. Did you mean "failures"?'),
        ("failures: {}", "2:11: failures must be a list, not a block of named entries. Change it."),
        ("failures: ''", "2:11: failures must be a list, not empty. Change it."),
        (
            "failures: [text]",
            '2:12: failures, entry 1 must be a block of named entries, not "text". Change it.',
        ),
        ("counts: {left: 2.5}", '2:16: left must be a whole number, not "2.5". Change it.'),
        ("counts: {left: x}", '2:16: left must be a whole number, not "x". Change it.'),
        ("counts: {lift: 2}", '2:10: lift must be one of left, right, not "lift". Did you mean "left"?'),
        ("counts: []", "2:9: counts must be a block of named entries, not a list. Change it."),
        ("often: comon", '2:8: often must be one of rare, common, not "comon". Did you mean "common"?'),
        ("often: x", '2:8: often must be one of rare, common, not "x". Choose one of them.'),
        ("live: maybe", '2:7: live must be yes or no, not "maybe". Change it.'),
        ("live: yes", r"2:7: live: \x1bnever measure live"),
        ("share: -1", '2:8: share must be 0.0 or more, not "-1". Change it.'),
        ("share: 1", '2:8: share must be less than 1.0, not "1". Change it.'),
        ("share: 0.25", '2:8: share must be a multiple of 0.1, not "0.25". Change it.'),
        (
            "tests: [{kind: votls}]",
            '2:16: kind must be one of volts, range, not, not "votls". Did you mean "volts"?',
        ),
        ("tests: [{kind: [x]}]", "2:16: kind must be one of volts, range, not, not"),
        ("tests: [{low: 1}]", '2:9: "kind" is missing in tests, entry 1. Add "kind:" with its value.'),
        (
            "tests: [{kind: range, low: 1}]",
            '2:9: "high" is missing in tests, entry 1. Add "high:" with its value.',
        ),
        ("tests: [{kind: range, low: 2, high: 1}]", "2:9: tests, entry 1: low is above high. Change it."),
        (
            "tests: [{kind: volts, reads: 24 V, low: 1}]",
            '2:36: "low" is not known here. Remove it, or use one of kind,',
        ),
        (
            "tests: [{kind: volts, reads: 24 ohm}]",
            '2:30: reads: "24 ohm" is in ohm, but this reading is in V. Type it in V, such as 24.6 V',
        ),
        # The tag "not" is a step of pydantic's location here; what it finds inside must still be found.
        (
            "tests: [{kind: not, kinds: [{kind: range, low: 1, high: z}]}]",
            '2:57: high must be a whole number, not "z".',
        ),
    ],
)
def test_objections_are_plain_and_stand_where_the_value_does(line: str, problem: str) -> None:
    (only,) = told(f"part: x\n{line}\n")

    assert only.startswith(problem)


@pytest.mark.parametrize(
    ("failure", "problem"),
    [
        ("{weight: 6, looks_like: [a]}", '1:1: "is" is missing. Add "is:" with its value.'),
        ("{is: a, looks_like: [a]}", '1:1: "weight" is missing. Of 1,000 calls, how many end here.'),
        ("{is: [a], weight: 6, looks_like: [a]}", "1:6: is must be text, not a list. Change it."),
        ("{is: a, weight: 0, looks_like: [a]}", '1:17: weight must be more than 0.0, not "0". Of 1,000'),
        (
            "{is: a, weight: 1001, looks_like: [a]}",
            '1:17: weight must be 1000.0 or less, not "1001". Of 1,000',
        ),
        (
            "{is: a, weight: nan, looks_like: [a]}",
            '1:17: weight must be an ordinary number, not "nan". Of 1,000',
        ),
        ("{is: a, weight: [], looks_like: [a]}", "1:17: weight must be a number, not a list. Of 1,000"),
        (
            "{is: a, weight: 6, looks_like: []}",
            "1:32: looks_like must have 1 or more entries, not 0. Change it.",
        ),
        (
            "{is: a, weight: 6, looks_like: [a, {}]}",
            "1:36: looks_like, entry 2 must be text, not a block of named",
        ),
        (
            "{name: a, is: a, weight: 6, looks_like: [a]}",
            '1:2: "name" is not known here. Remove it, or use one of is,',
        ),
    ],
)
def test_a_fields_own_description_is_the_advice(failure: str, problem: str) -> None:
    (only,) = told(failure, model=Failure)

    assert only.startswith(problem)


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("part: X", '1:7: part is not written as it must be: "X". It has to fit the pattern ^[a-z_]+$'),
        (f"part: {'x' * 21}", f'1:7: part must have 20 or fewer characters, not "{"x" * 21}". Change it.'),
        ("hello", '1:1: this must be a block of named entries, not "hello". Change it.'),
        ("[]", "1:1: this must be a block of named entries, not a list. Change it."),
    ],
)
def test_the_value_is_shown(text: str, problem: str) -> None:
    assert told(text) == [problem]


def test_a_hostile_value_is_shown_short() -> None:
    (only,) = told(f"part: x\noften: {'z' * 100_000}\n")

    assert len(only) < 200


def test_a_plain_union_tells_about_each_member_at_places_in_the_data() -> None:
    problems = told("part: x\neither: {kind: range, low: 1, high: z}\n")

    assert '2:37: high must be a whole number, not "z". Change it.' in problems
    assert all(problem.startswith("2:") for problem in problems)


def test_what_two_members_of_a_union_object_to_is_told_once() -> None:
    problems = told("part: x\neither: {low: 1}\n")

    assert problems.count('2:9: "kind" is missing in either. Add "kind:" with its value.') == 1


def test_a_tag_that_is_also_a_key_does_not_lead_astray() -> None:
    class Tagged(Model):
        kind: Literal["part"]
        part: str
        size: int

    class Other(Model):
        kind: Literal["other"]

    class Holder(Model):
        held: Annotated[Tagged | Other, Field(discriminator="kind")]

    # pydantic's location is held, part (the tag), size; "part" is a key of the data as well
    assert told("held:\n  kind: part\n  part: a\n  size: b\n", model=Holder) == [
        '4:9: size must be a whole number, not "b". Change it.'
    ]
    assert told("held:\n  kind: part\n  part: a\n", model=Holder) == [
        '2:3: "size" is missing in held. Add "size:" with its value.'
    ]


def test_what_no_table_knows_keeps_its_meaning() -> None:
    class Odd(Model):
        color: bytes

    (only,) = told("color: [1]", model=Odd)

    assert only.startswith("1:8: color cannot be a list: ")


def test_problems_come_in_reading_order() -> None:
    _, problems = validate(Part, parse_yaml("live: x\nzzz: 1\nshare: x\nfailures: [{}, {}]\n", "f.yaml"))
    places = [problem.place for problem in problems if problem.place]

    assert places == sorted(places)
    assert places[-1] == Place("f.yaml", 4, 16)


VALUES = st.sampled_from(
    ["x", "1", "nan", "[]", "{}", "[{}]", "{kind: range}", "[{kind: volts, reads: OL}]", "''", "yes"]
)


@given(st.dictionaries(st.sampled_from([*Part.model_fields, "other"]), VALUES, min_size=1))
def test_any_tree_gives_a_model_or_problems_in_the_file(entries: dict[str, str]) -> None:
    text = "".join(f"{key}: {value}\n" for key, value in entries.items())
    part, problems = validate(Part, parse_yaml(text, "f.yaml"))

    assert (part is None) == bool(problems)
    for problem in problems:
        assert problem.place
        assert 1 <= problem.place.line <= len(entries)
        assert problem.message.endswith(".")
        assert problem.fix
