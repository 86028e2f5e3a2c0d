"""Plain models: frozen, with their own fields and no others; and what the validator makes of what one of them writes."""

from __future__ import annotations

import pickle
from typing import Annotated, Any

import pytest
from pydantic import ValidationError

from furnace_diag.knowledge.model_base import Model, Of, held_by, model_field, must, named_by, read_by
from furnace_diag.knowledge.models import ENTRY_TYPES, Knowledge
from tests.ours import our_rules

RULES = our_rules()


def even(number: int) -> int:
    if number % 2:
        raise ValueError("is odd")
    return number


class Inner(Model):
    name: Annotated[str, must(pattern="^[a-z]+$")]
    size: int = 1


class Outer(Model):
    inner: Inner
    is_: str = model_field(default="none", written="is")
    numbers: Annotated[tuple[Annotated[int, held_by(even)], ...], read_by(lambda said: [said] if isinstance(said, str) else said)] = ()
    share: float = model_field(default=0.5, gt=0, lt=1)

    def _sound(self) -> None:
        if self.is_ == self.inner.name:
            raise ValueError("is called as what it holds")


INNER = Inner(name="a")


def test_a_field_left_out_has_its_default_and_one_that_is_needed_cannot_be_left_out() -> None:
    assert (Outer(inner=INNER).share, Outer(inner=INNER).is_, Outer(inner=INNER, is_="b").is_) == (0.5, "none", "b")
    with pytest.raises(TypeError, match="inner"):
        Outer(is_="b")  # type: ignore[call-arg]
    with pytest.raises(TypeError, match="colour"):
        Outer(inner=INNER, colour="red")  # type: ignore[call-arg]
    assert not hasattr(Outer, "inner")


def test_nothing_of_a_model_can_be_set_or_deleted() -> None:
    with pytest.raises(AttributeError):
        INNER.size = 2  # type: ignore[misc]
    with pytest.raises(AttributeError):
        del INNER.size  # type: ignore[misc]


def test_models_are_equal_where_their_kind_and_all_their_fields_are() -> None:
    class Other(Inner):
        pass

    assert Inner(name="a", size=1) == INNER
    assert hash(Inner(name="a", size=1)) == hash(INNER)
    assert Inner(name="a", size=2) != INNER
    assert Other(name="a") != INNER


def test_a_copy_has_what_is_new_and_what_was_there() -> None:
    copy = Outer(inner=INNER, is_="b").model_copy(update={"share": 0.25})

    assert (copy.inner, copy.is_, copy.share) == (INNER, "b", 0.25)


def test_a_model_goes_to_another_process_and_back() -> None:
    part = RULES.part["igniter"]

    assert pickle.loads(pickle.dumps(part)) == part


GOOD: dict[str, Any] = {"inner": {"name": "a", "size": "3"}, "is": "b", "numbers": "4", "share": "0.1"}


def test_what_is_written_becomes_a_model() -> None:
    made = Outer.model_validate(GOOD)

    assert made == Outer(inner=Inner(name="a", size=3), is_="b", numbers=(4,), share=0.1)
    assert made.as_written() == {"inner": {"name": "a", "size": 3}, "is": "b", "numbers": [4], "share": 0.1}


@pytest.mark.parametrize(
    "wrong",
    [{"inner": {"name": "A"}}, {"inner": {}}, {"inner": "a"}, {"is": "a"}, {"is_": "c"}, {"numbers": "3"}, {"share": "1"}, {"share": "nan"}, {"colour": "red"}],
    ids=str,
)
def test_what_does_not_fit_is_refused(wrong: dict[str, Any]) -> None:
    with pytest.raises(ValidationError):
        Outer.model_validate(GOOD | wrong)


def test_what_a_field_names_is_found_inside_its_type() -> None:
    class Marked(Model):
        one: Annotated[str, Of("node")]
        many: tuple[Annotated[str, Of("element")], ...] | None = None
        none: str = "x"

    assert list(named_by(Marked(one="a", many=("b", "c")))) == [("one", "node", "a"), ("many", "element", "b"), ("many", "element", "c")]
    assert list(named_by(Marked(one="a"))) == [("one", "node", "a")]


@pytest.mark.parametrize("kind", [name for name in Knowledge.model_fields if name != "version"])
def test_every_entry_of_the_rules_is_read_again_from_what_it_writes(kind: str) -> None:
    entries = getattr(RULES, kind).values()

    assert entries
    for entry in entries:
        assert isinstance(entry, ENTRY_TYPES[kind])
        assert type(entry).model_validate(entry.as_written()) == entry
