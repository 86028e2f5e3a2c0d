"""The shape of each model as the validator has it, made when something written is first looked at."""

from __future__ import annotations

from typing import Any, TypeVar

from pydantic import BaseModel, ConfigDict, Field, GetCoreSchemaHandler, TypeAdapter, create_model
from pydantic_core import CoreSchema, core_schema

from furnace_diag.knowledge.model_base import NEEDED, Model, ModelField, types_of

_Model = TypeVar("_Model", bound=Model | BaseModel)


class _Shape(BaseModel):
    """An unknown key is an error."""

    model_config = ConfigDict(extra="forbid", allow_inf_nan=False, defer_build=True)


_VALIDATORS: dict[type, TypeAdapter[Any]] = {}  # made once for each model, as are the shapes
_SHAPES: dict[type[Model], type[BaseModel]] = {}


def validator_of(model: type[_Model]) -> TypeAdapter[_Model]:
    """What makes a *model* of what is written."""
    if model not in _VALIDATORS:
        _VALIDATORS[model] = TypeAdapter(model)
    return _VALIDATORS[model]


def shape_of(model: type[Model]) -> type[BaseModel]:
    """The validator's own model of the same name and fields."""
    if model not in _SHAPES:
        types = types_of(model)
        fields: dict[str, Any] = {name: (types[name], _field(each)) for name, each in model.model_fields.items()}
        _SHAPES[model] = create_model(model.__name__, __base__=_Shape, __doc__=model.__doc__, **fields)
    return _SHAPES[model]


def _field(said: ModelField) -> Any:
    bounds: dict[str, Any] = {**said.bounds, "alias": said.written}
    return Field(**bounds) if said.default is NEEDED else Field(said.default, **bounds)


def schema_of(model: type[Model], handler: GetCoreSchemaHandler) -> CoreSchema:
    """How a *model* is validated: by its shape, and then by its own `_sound`."""

    def made(shape: BaseModel) -> Model:
        it = model.model_construct(**{name: shape.__dict__[name] for name in model.model_fields if name in shape.model_fields_set})
        it._sound()
        return it

    shape = core_schema.no_info_before_validator_function(model._as_read, handler.generate_schema(shape_of(model)))
    plain = core_schema.plain_serializer_function_ser_schema(Model.as_written)
    return core_schema.no_info_after_validator_function(made, shape, serialization=plain)
