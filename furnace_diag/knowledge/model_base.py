"""What every model of a rule file stands on: plain frozen objects, which need no validator.

What is written in a file goes through the validator first (`checked.py`, with `shapes.py`). To import it takes as long as to reckon an answer, so nothing
here does, and the rules that are kept checked come back without it.
"""

from __future__ import annotations

import typing
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any, ClassVar, Literal, Self, dataclass_transform

if TYPE_CHECKING:
    from pydantic import GetCoreSchemaHandler
    from pydantic_core import CoreSchema


class ForValidator:
    """Metadata of a type that the validator makes of a name of its own, when it first looks: an iterable, as an open protocol of such metadata
    has it (annotated_types, "GroupedMetadata")."""

    __is_annotated_types_grouped_metadata__ = True

    def __init__(self, name: str, *args: object, **more: object) -> None:
        self._made_of = name, args, more

    def __iter__(self) -> Iterator[Any]:
        import pydantic

        name, args, more = self._made_of
        made = getattr(pydantic, name)(*args, **more)
        yield from made.metadata if name == "Field" else (made,)


def must(**bounds: object) -> ForValidator:
    """What a value must keep to: pattern, min_length, max_length, gt, ge, lt, le."""
    return ForValidator("Field", **bounds)


def read_by(change: Callable[[Any], Any]) -> ForValidator:
    """What is done with a value before it is looked at."""
    return ForValidator("BeforeValidator", change)


def held_by(look: Callable[[Any], Any]) -> ForValidator:
    """What looks at a value once it has its type; it raises ValueError."""
    return ForValidator("AfterValidator", look)


def if_called(tag: str) -> ForValidator:
    """Which of several models this is, by what `chosen_by` says."""
    return ForValidator("Tag", tag)


def chosen_by(tag_of: Callable[[Any], str]) -> ForValidator:
    """What tells of a value which of several models it is."""
    return ForValidator("Discriminator", tag_of)


Id = Annotated[str, must(pattern=r"^[a-z][a-z0-9_]{0,59}$")]
Line = Annotated[str, must(min_length=1, max_length=600)]
Unit = Literal["V", "A", "uA", "ohm", "uF", "in_wc", "F", "F_diff", "s", "ppm", "count"]


@dataclass(frozen=True)
class Of:
    """What an id in a rule file is the id of; cross.py looks it up there."""

    what: Literal["element", "winding", "node", "number", "input", "output"]


ElementId = Annotated[Id, Of("element")]
WindingId = Annotated[Id, Of("winding")]  # an element wound on the core of a motor
NodeId = Annotated[Id, Of("node")]
NumberId = Annotated[Id, Of("number")]
InputId = Annotated[Id, Of("input")]
OutputId = Annotated[Id, Of("output")]
# a number, or <name> of a number or option of the furnace
Number = Annotated[str, must(pattern=r"^(-?\d{1,9}(\.\d{1,9})?|<[a-z][a-z0-9_]{0,59}>)$")]

NEEDED = object()  # the default of a field that has none


class ModelField:
    """A field of a model: its *default*, its name in a file where it is another (*written*), and what it must keep to (see `must`)."""

    def __init__(self, default: object = NEEDED, written: str | None = None, bounds: Mapping[str, object] | None = None) -> None:
        self.default, self.written, self.bounds = default, written, bounds or {}


def model_field(*, default: Any = NEEDED, written: str | None = None, **bounds: object) -> Any:
    """What stands beside the type of a field (see `ModelField`); *bounds* may also have a `description`, the advice where it is wrong."""
    return ModelField(default, written, bounds)


@dataclass_transform(kw_only_default=True, frozen_default=True, field_specifiers=(model_field,))
class Model:
    """Frozen. An object holds what it was given; what it was not stands at its class, so defaults are shared and never changed."""

    model_fields: ClassVar[dict[str, ModelField]] = {}
    _needed: ClassVar[frozenset[str]] = frozenset()

    def __init_subclass__(cls) -> None:
        own = [name for name in cls.__annotations__ if not name.startswith("_")] if "__annotations__" in vars(cls) else []
        given = {name: vars(cls).get(name, NEEDED) for name in own}
        fields = {name: it if isinstance(it, ModelField) else ModelField(it) for name, it in given.items()}
        for name, each in fields.items():
            if each.default is not NEEDED:
                setattr(cls, name, each.default)
            elif name in vars(cls):
                delattr(cls, name)
        cls.model_fields = cls.model_fields | fields
        cls._needed = frozenset(name for name, each in cls.model_fields.items() if each.default is NEEDED)

    def __init__(self, **given: object) -> None:
        """Takes values that have their types already. Raises TypeError where a name is unknown or missing."""
        self._hold(given)

    @classmethod
    def model_of(cls, given: dict[str, object]) -> Self:
        """The same of a dict, which takes half the time: of the rules that are kept there are thousands."""
        made = object.__new__(cls)
        made._hold(given)
        return made

    def _hold(self, given: dict[str, object]) -> None:
        if not self.model_fields.keys() >= given.keys() >= self._needed:
            unknown, missing = sorted(given.keys() - self.model_fields.keys()), sorted(self._needed - given.keys())
            raise TypeError(f"{type(self).__name__}: unknown fields {unknown}, missing {missing}")
        self.__dict__.update(given)

    def __setattr__(self, name: str, value: object) -> None:
        raise AttributeError(f"{type(self).__name__} is frozen")

    def __delattr__(self, name: str) -> None:
        raise AttributeError(f"{type(self).__name__} is frozen")

    def _values(self) -> tuple[Any, ...]:
        return tuple(getattr(self, name, NEEDED) for name in self.model_fields)

    def __eq__(self, other: object) -> bool:
        return self._values() == other._values() if type(other) is type(self) else NotImplemented

    def __hash__(self) -> int:
        return hash(self._values())

    def __repr__(self) -> str:
        return f"{type(self).__name__}({', '.join(f'{n}={v!r}' for n, v in zip(self.model_fields, self._values(), strict=True))})"

    def _sound(self) -> None:
        """Raises ValueError where fields do not go together."""

    @classmethod
    def _as_read(cls, data: Any) -> Any:
        """What is done with what stands in a file before it is looked at."""
        return data

    def model_copy(self, *, update: Mapping[str, object]) -> Self:
        """The same with other values in the fields of *update*; nothing is looked at."""
        return self.model_construct(**self.__dict__ | dict(update))

    @classmethod
    def model_construct(cls, **given: object) -> Self:
        """One of *given*, unlooked at, whatever is missing."""
        made = object.__new__(cls)
        made.__dict__.update(given)
        return made

    @classmethod
    def model_validate(cls, value: object) -> Self:
        """One of what is written in a file. Raises ValueError for what does not fit."""
        from furnace_diag.knowledge.shapes import validator_of

        return validator_of(cls).validate_python(value)

    @classmethod
    def __get_pydantic_core_schema__(cls, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        from furnace_diag.knowledge.shapes import schema_of

        return schema_of(cls, handler)

    def as_written(self) -> dict[str, Any]:
        """Every field by its name in a file, and what stands in it as JSON has it."""
        return {each.written or name: _plain(getattr(self, name)) for name, each in self.model_fields.items()}


def _plain(value: Any) -> Any:
    if isinstance(value, Model):
        return value.as_written()
    if isinstance(value, dict):
        return {key: _plain(each) for key, each in value.items()}
    return [_plain(each) for each in value] if isinstance(value, tuple | list) else value


class Placed(Model):
    """An entry that knows the file and line it was written on (filled in by the loader)."""

    at: str = ""


def types_of(model: type[Model]) -> dict[str, Any]:
    """The type of each field, with its metadata."""
    hints = typing.get_type_hints(model, include_extras=True)
    return {name: hints[name] for name in model.model_fields}


def named_by(entry: Model) -> Iterator[tuple[str, str, str]]:
    """The field, what sort of thing it names, and the id, for every id that a field of *entry* marks with `Of`."""
    marks = _MARKS.get(type(entry))
    if marks is None:
        marks = _MARKS[type(entry)] = _marks(type(entry))
    for name, mark in marks.items():
        value = getattr(entry, name)
        if value is not None:
            yield from ((name, mark.what, each) for each in ((value,) if isinstance(value, str) else value))


_MARKS: dict[type[Model], dict[str, Of]] = {}  # found once for each model


def _marks(model: type[Model]) -> dict[str, Of]:
    found = {name: _mark(kind, getattr(kind, "__metadata__", ())) for name, kind in types_of(model).items()}
    return {name: mark for name, mark in found.items() if mark is not None}


def _mark(annotation: Any, metadata: Iterable[Any]) -> Of | None:
    for mark in metadata:
        if isinstance(mark, Of):
            return mark
    inside = ((arg, getattr(arg, "__metadata__", ())) for arg in typing.get_args(annotation))
    return next((mark for arg, more in inside if (mark := _mark(arg, more)) is not None), None)
