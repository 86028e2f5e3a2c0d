"""From text to typed models: what pydantic objects to, told in plain words at the line where it stands."""

from __future__ import annotations

import difflib
import re
import types
import typing
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final, TypeVar

from pydantic import BaseModel, ValidationError
from pydantic.fields import FieldInfo

from furnace_diag.knowledge.model_base import Model
from furnace_diag.knowledge.shapes import shape_of, validator_of
from furnace_diag.knowledge.yaml_text import Document
from furnace_diag.problems import Problem, printable

_Model = TypeVar("_Model", bound=Model | BaseModel)
_Path = tuple[str | int, ...]

# Data
# ----------------------------------------------------------------------------------------------------

# What a value must do, by pydantic's type of error (its manual, "Validation Errors"). The names in braces
# come with the error. A sentence is made of it: weight must + this + , not "often".
_MUST: Final[Mapping[str, str]] = types.MappingProxyType(
    {
        "bool_parsing": "be yes or no",
        "bool_type": "be yes or no",
        "dataclass_type": "be a block of named entries",
        "decimal_parsing": "be a number",
        "decimal_type": "be a number",
        "dict_type": "be a block of named entries",
        "finite_number": "be an ordinary number",
        "float_parsing": "be a number",
        "float_type": "be a number",
        "frozen_set_type": "be a list",
        "greater_than": "be more than {gt}",
        "greater_than_equal": "be {ge} or more",
        "int_from_float": "be a whole number",
        "int_parsing": "be a whole number",
        "int_parsing_size": "be a number of fewer digits",
        "int_type": "be a whole number",
        "iterable_type": "be a list",
        "less_than": "be less than {lt}",
        "less_than_equal": "be {le} or less",
        "list_type": "be a list",
        "mapping_type": "be a block of named entries",
        "model_attributes_type": "be a block of named entries",
        "model_type": "be a block of named entries",
        "multiple_of": "be a multiple of {multiple_of}",
        "none_required": "be left out",
        "set_type": "be a list",
        "string_sub_type": "be text",
        "string_too_long": "have {max_length} or fewer characters",
        "string_too_short": "have {min_length} or more characters",
        "string_type": "be text",
        "too_long": "have {max_length} or fewer entries",
        "too_short": "have {min_length} or more entries",
        "tuple_type": "be a list",
        **dict.fromkeys(
            ("date_type", "date_parsing", "date_from_datetime_parsing"), "be a date such as 2024-01-31"
        ),
    }
)
_NO_HINT: Final = "Change it."
_MOST_NAMES: Final = 12  # that a message lists before it says "..."; more cannot be taken in at a glance
_LONGEST: Final = 300  # [characters] of a sentence that comes from elsewhere
_MOST_READINGS: Final = 64  # ways to follow one error's location that are kept; models have far fewer
_QUOTED: Final = re.compile(r"'([^']*)'")  # pydantic lists choices as 'a', 'b' or 'c'


# Code
# ----------------------------------------------------------------------------------------------------


def validate(
    model_type: type[_Model], document: Document, path: _Path = ()
) -> tuple[_Model | None, list[Problem]]:
    """Make a *model_type* of the value at *path*: the model and no problems, or None and at least one.

    Problems come in reading order, each once. A field's `description` becomes the advice of its problems. All
    scalars of a document are text, so numbers in a strict model never fit.

    Raises KeyError, IndexError or TypeError when the document has nothing at *path*, and whatever a model's
    own validators raise apart from ValueError and AssertionError.
    """
    value: Any = document.value
    for step in path:
        value = value[step]
    try:
        return validator_of(model_type).validate_python(value), []
    except ValidationError as error:
        complaints = [_complaint(model_type, value, entry) for entry in error.errors(include_url=False)]
    problems = dict.fromkeys(_problem(complaint, document, path) for complaint in complaints)
    return None, sorted(problems, key=lambda problem: (problem.place, problem.message))


@dataclass(frozen=True)
class _Complaint:
    """One of pydantic's errors, seen against the data and the models it is about."""

    type: str
    context: Mapping[str, Any]
    said: str
    value: Any
    path: _Path  # of the value in the data; of the parent when something is missing
    key: str  # the key that is missing, unknown, or tells members of a union apart; else empty
    at_key: bool  # it is the key that is wrong, not the value
    hint: str  # what the field's author says of it
    names: tuple[str, ...]  # the fields that may stand beside the last step


def _complaint(model_type: type[Any], data: Any, entry: Mapping[str, Any]) -> _Complaint:
    kind, loc, context, value = entry["type"], entry["loc"], entry.get("ctx", {}), entry["input"]
    path = _path_in(data, loc[:-1] if kind == "missing" else loc, value)
    key, at_key = "", kind == "extra_forbidden" or loc[-1:] == ("[key]",)
    if kind in {"missing", "extra_forbidden"}:
        key = str(loc[-1])
    elif kind in {"union_tag_invalid", "union_tag_not_found"}:
        key = str(context["discriminator"]).strip("'")
        path = (*path, key) if _has(value, key) else path
    hint, names = _described(model_type, loc)
    return _Complaint(kind, context, entry["msg"], value, path, key, at_key, hint, names)


def _problem(complaint: _Complaint, document: Document, base: _Path) -> Problem:
    message, fix = _TELL.get(complaint.type, _tell_must)(complaint)
    return Problem(document.place_of(base + complaint.path, key=complaint.at_key), message, fix)


# Where a complaint stands in the data ---------------------------------------------------------------


def _path_in(data: Any, loc: _Path, value: Any) -> _Path:
    """The steps of *loc* that are in the data: pydantic also names members of unions and validators there.

    A union's tag can have the name of a key. So all readings are followed, and the one that ends at the very
    value complained of is taken, or else the longest.
    """
    readings: list[tuple[_Path, Any]] = [((), data)]
    for step in loc:
        deeper = [((*path, step), at[step]) for path, at in readings if _has(at, step)]
        readings = (deeper + readings)[:_MOST_READINGS]
    return max(readings, key=lambda reading: (reading[1] is value, len(reading[0])))[0]


def _has(value: Any, step: str | int) -> bool:
    if isinstance(value, list):
        return isinstance(step, int) and 0 <= step < len(value)
    return isinstance(value, dict) and step in value


# Where it stands in the models ----------------------------------------------------------------------


def _described(model_type: type[Any], loc: _Path) -> tuple[str, tuple[str, ...]]:
    """The description of the last field that *loc* goes through, and the names allowed at its last step."""
    kinds: list[Any] = [model_type]
    hint, names = "", dict.fromkeys(_names(kinds))
    for step in loc:
        fields = [info for model in _models(kinds) if (info := _field(model, step))]
        hint = next((info.description for info in fields if info.description), "" if fields else hint)
        names = dict.fromkeys(_names(kinds))
        kinds = _inside(kinds, step)
    return hint, tuple(names)


def _inside(kinds: list[Any], step: str | int) -> list[Any]:
    """The kinds one step further in; the same ones, or fewer, when the step only chooses among them."""
    inside: list[Any] = []
    chosen: list[Any] = []
    for kind in _flat(kinds):
        if not _is_model(kind):
            inside += typing.get_args(kind)
        elif info := _field(kind, step):
            inside.append(info.annotation)
        elif isinstance(step, str) and _answers_to(kind, step):
            chosen.append(kind)
    return chosen or inside or kinds


def _flat(kinds: Iterable[Any]) -> Iterator[Any]:
    """Models and containers, out of unions, annotations and named aliases."""
    for kind in kinds:
        origin = typing.get_origin(kind)
        if hasattr(kind, "__value__"):
            yield from _flat([kind.__value__])
        elif origin is typing.Annotated:
            yield from _flat(typing.get_args(kind)[:1])
        elif origin in {typing.Union, types.UnionType}:
            yield from _flat(typing.get_args(kind))
        elif _is_model(kind) or (origin is not None and origin is not typing.Literal):
            yield kind


def _is_model(kind: Any) -> bool:
    return isinstance(kind, type) and issubclass(kind, (Model, BaseModel))


def _models(kinds: Iterable[Any]) -> Iterator[type[Model | BaseModel]]:
    return (kind for kind in _flat(kinds) if _is_model(kind))


def _fields(model: type[Model | BaseModel]) -> dict[str, FieldInfo]:
    return (shape_of(model) if issubclass(model, Model) else model).model_fields


def _field(model: type[Model | BaseModel], step: str | int) -> FieldInfo | None:
    return next((info for name, info in _fields(model).items() if _written(name, info) == step), None)


def _written(name: str, info: FieldInfo) -> str:
    """A field's name as it stands in a file."""
    return info.validation_alias if isinstance(info.validation_alias, str) else info.alias or name


def _names(kinds: Iterable[Any]) -> Iterator[str]:
    for model in _models(kinds):
        yield from (_written(name, info) for name, info in _fields(model).items())


def _answers_to(model: type[Model | BaseModel], step: str) -> bool:
    """Whether a step of pydantic's is this union member: by the model's name, or a literal tag of it."""
    tags = [typing.get_args(info.annotation) for info in _fields(model).values()]
    return model.__name__ == step or any(step in tag for tag in tags)


# How it is told -------------------------------------------------------------------------------------


def _tell_missing(complaint: _Complaint) -> tuple[str, str]:
    where = f" in {_called(complaint.path)}" if complaint.path else ""
    key = printable(complaint.key, 40)
    return f'"{key}" is missing{where}.', complaint.hint or f'Add "{key}:" with its value.'


def _tell_extra(complaint: _Complaint) -> tuple[str, str]:
    message = f'"{printable(complaint.key, 40)}" is not known here.'
    names = list(complaint.names)
    otherwise = f"Remove it, or use {_listed(names)}." if names else "Remove it."
    if complaint.value == "":  # a comma in a value of a line in braces makes a key of what follows it
        rest = printable(complaint.key, 40)
        otherwise = f'Remove it, or, if it is the rest of the value before it, put quotes around all of that: "..., {rest}".'
    return message, _nearest(complaint.key, names) or otherwise


def _tell_choice(complaint: _Complaint) -> tuple[str, str]:
    said = complaint.context.get("expected_tags", complaint.context.get("expected", ""))
    choices = _QUOTED.findall(str(said))
    value = complaint.context.get("tag", complaint.value)
    message = f"{_called(complaint.path)} must be {_listed(choices)}, not {_shown(value)}."
    return message, _nearest(str(value), choices) or complaint.hint or "Choose one of them."


def _tell_error(complaint: _Complaint) -> tuple[str, str]:
    """What a model's own validator said; an error with `message` and `fix`, as BadQuantity, brings advice."""
    error = complaint.context.get("error", "")
    said = printable(str(getattr(error, "message", error)) or "this does not fit", _LONGEST).rstrip(".")
    start = f"{_called(complaint.path)}: " if complaint.path else ""
    return f"{start}{said}.", str(getattr(error, "fix", complaint.hint or _NO_HINT))


def _tell_pattern(complaint: _Complaint) -> tuple[str, str]:
    pattern = printable(str(complaint.context.get("pattern", "")))
    message = f"{_called(complaint.path)} is not written as it must be: {_shown(complaint.value)}."
    return message, complaint.hint or f"It has to fit the pattern {pattern}"


def _tell_must(complaint: _Complaint) -> tuple[str, str]:
    """All that `_MUST` knows; for the rest pydantic's own words are better than none."""
    name, hint = _called(complaint.path), complaint.hint or _NO_HINT
    must = _MUST.get(complaint.type)
    if must is None:
        said = printable(complaint.said, _LONGEST).rstrip(".")
        return f"{name} cannot be {_shown(complaint.value)}: {said}.", hint
    found = complaint.context.get("actual_length") if complaint.type in {"too_long", "too_short"} else None
    shown = _shown(complaint.value) if found is None else str(found)
    return f"{name} must {must.format(**complaint.context)}, not {shown}.", hint


_TELL: Final[Mapping[str, Callable[[_Complaint], tuple[str, str]]]] = types.MappingProxyType(
    {
        "assertion_error": _tell_error,
        "enum": _tell_choice,
        "extra_forbidden": _tell_extra,
        "literal_error": _tell_choice,
        "missing": _tell_missing,
        "string_pattern_mismatch": _tell_pattern,
        "union_tag_invalid": _tell_choice,
        "union_tag_not_found": _tell_missing,
        "value_error": _tell_error,
    }
)


def _called(path: _Path) -> str:
    """What to call the value at *path*: its key, "looks_like, entry 2" in a list, "this" for the whole."""
    if not path:
        return "this"
    if isinstance(path[-1], str):
        return printable(path[-1], 40)
    outer = f"{_called(path[:-1])}, " if path[:-1] else ""
    return f"{outer}entry {path[-1] + 1}"


def _shown(value: Any) -> str:
    """The offending value as it may stand in a sentence."""
    if isinstance(value, str):
        return f'"{printable(value)}"' if value else "empty"
    if isinstance(value, dict):
        return "a block of named entries"
    return "a list" if isinstance(value, list) else printable(repr(value))


def _listed(choices: list[str]) -> str:
    if len(choices) == 1:
        return printable(choices[0])
    names = [printable(choice, 40) for choice in choices[:_MOST_NAMES]]
    return "one of " + ", ".join(names) + (", ..." if len(choices) > _MOST_NAMES else "")


def _nearest(word: str, choices: Iterable[str]) -> str:
    """ "Did you mean ...?", or nothing when no choice is like *word*."""
    near = difflib.get_close_matches(word[:80], list(choices), n=1)
    return f'Did you mean "{near[0]}"?' if near else ""
