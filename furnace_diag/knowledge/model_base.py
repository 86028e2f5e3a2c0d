"""What every model of a rule file stands on."""

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, StringConstraints

Id = Annotated[str, StringConstraints(pattern=r"^[a-z][a-z0-9_]{0,59}$")]
Line = Annotated[str, StringConstraints(min_length=1, max_length=600)]
Unit = Literal["V", "A", "uA", "ohm", "uF", "in_wc", "F", "F_diff", "s", "ppm", "count"]


class Model(BaseModel):
    """Frozen, and an unknown key is an error."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False, defer_build=True)


class Placed(Model):
    """An entry that knows the file and line it was written on (filled in by the loader)."""

    at: str = ""
