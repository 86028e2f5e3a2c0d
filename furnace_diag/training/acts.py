"""What a trainee does, and what comes of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

from furnace_diag.knowledge.model_base import Model, model_field, must

LONGEST_WAIT = 1800.0  # seconds in one go
HANDLING_MINUTES = 1.0  # of switching, lifting a lead, discharging, turning the cock, judgement
Text = Annotated[str, must(min_length=1, max_length=200)]
Doing = Literal[
    "read", "volts", "ohms", "look", "power", "gas", "tap", "soap", "call", "wait", "lift", "back", "discharge", "join", "replace", "same", "state", "name"
]  # fmt: skip


class Act(Model):
    """One thing that the trainee did. *what*, *other*: ids, or words where the act has its own; *expect*: what the meter should show."""

    do: Doing
    what: Text | None = None
    other: Text | None = None
    meter: Literal["high", "low"] = "high"
    expect: float | None = None
    seconds: float = model_field(default=0.0, ge=0, le=LONGEST_WAIT)


NOTHING = Act(do="look")


@dataclass(frozen=True)
class Told:
    """What came of an act. *kind*: done, reading, seen, stopped, cannot or ended; *cautions* are ids, new in this drill."""

    kind: str
    text: str
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True)
class Taken:
    """One reading or look: its record as a report file has it (None where nothing is made of it), and whether what was
    foretold was right. *name*: the point or sign, empty where it is neither; *event*: how many events the account had with it; *watched*: the screen
    told it as time went by, and nobody asked."""

    record: dict[str, object] | None
    said: str
    act: int
    foretold: bool | None = None
    name: str = ""
    event: int = 0
    watched: bool = False


@dataclass(frozen=True)
class Hurt:
    """What would have hurt, and was stopped or went wrong."""

    act: int
    what: str
    caution: str
