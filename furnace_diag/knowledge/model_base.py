"""What every model of a rule file stands on."""

import typing
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, StringConstraints

Id = Annotated[str, StringConstraints(pattern=r"^[a-z][a-z0-9_]{0,59}$")]
Line = Annotated[str, StringConstraints(min_length=1, max_length=600)]
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
Number = Annotated[str, StringConstraints(pattern=r"^(-?\d{1,9}(\.\d{1,9})?|<[a-z][a-z0-9_]{0,59}>)$")]


class Model(BaseModel):
    """Frozen, and an unknown key is an error."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False, defer_build=True)


class Placed(Model):
    """An entry that knows the file and line it was written on (filled in by the loader)."""

    at: str = ""


def named_by(entry: Model) -> Iterator[tuple[str, str, str]]:
    """The field, what sort of thing it names, and the id, for every id that a field of *entry* marks with `Of`."""
    for name, field in type(entry).model_fields.items():
        value = getattr(entry, name)
        mark = _mark(field.annotation, field.metadata)
        if mark is not None and value is not None:
            yield from ((name, mark.what, each) for each in ((value,) if isinstance(value, str) else value))


def _mark(annotation: Any, metadata: Iterable[Any]) -> Of | None:
    for mark in metadata:
        if isinstance(mark, Of):
            return mark
    inside = ((arg, getattr(arg, "__metadata__", ())) for arg in typing.get_args(annotation))
    return next((mark for arg, more in inside if (mark := _mark(arg, more)) is not None), None)
