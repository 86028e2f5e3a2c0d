"""What a rule file may hold: typed, immutable models, one for each kind of entry.

Every scalar reaches these models as text (see yaml_text); the models say what it must be.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, StringConstraints, model_validator

Id = Annotated[str, StringConstraints(pattern=r"^[a-z][a-z0-9_]{0,59}$")]
Line = Annotated[str, StringConstraints(min_length=1, max_length=600)]
# a number, or <name> of a number or option of the furnace
Number = Annotated[str, StringConstraints(pattern=r"^(-?\d{1,9}(\.\d{1,9})?|<[a-z][a-z0-9_]{0,59}>)$")]
Often = Literal["very_common", "common", "uncommon", "rare", "very_rare"]
Goes = Literal["nearly_always", "usually", "sometimes", "seldom", "hardly_ever"]
Unit = Literal["V", "A", "uA", "ohm", "uF", "in_wc", "F", "F_diff", "s", "ppm", "count"]


class Model(BaseModel):
    """Frozen, and an unknown key is an error."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)


class Placed(Model):
    """An entry that knows the file and line it was written on (filled in by the loader)."""

    at: str = ""


# --- wiring ---------------------------------------------------------------------------------


class Element(Model):
    """What joins two nodes of the network."""

    element: Id
    kind: Literal["source", "conductor", "contact", "load", "capacitor", "coil", "rotor", "bridge", "stray"]
    between: tuple[Id, Id] | None = None
    ohms: Number = "0.02"
    volts: Number = "0"
    reactance: float = 0.0
    microfarads: Number = "0"
    picofarads: float = 0.0
    turns: Number = "1"
    leakage: float = 0.0
    core: Id | None = None
    normally: Literal["open", "closed"] = "closed"
    follows: Id | None = None
    only_when: dict[Id, str] = {}
    fuse_amps: float | None = None
    hot_times: Number = "1"
    stalled_ohms: float = 1.0
    slip: float = Field(default=0.2, gt=0, lt=1)

    @model_validator(mode="after")
    def _complete(self) -> Element:
        if self.kind != "rotor" and self.between is None:
            raise ValueError("needs `between` with two nodes")
        if self.kind in ("coil", "rotor") and self.core is None:
            raise ValueError("needs `core`: which core it is wound on")
        return self


class Core(Model):
    """The iron that couples windings; reactance and loss seen by one turn [ohm]."""

    reactance: float = Field(gt=0)
    core_ohms: float | None = Field(default=None, gt=0)


class Wiring(Placed):
    """A network: nodes by what they are, elements that join them."""

    wiring: Id
    source: Line
    ground: Id
    nodes: dict[Id, Line] = Field(min_length=2, max_length=200)
    elements: tuple[Element, ...] = Field(min_length=1, max_length=400)
    cores: dict[Id, Core] = {}


# --- sequence -------------------------------------------------------------------------------


class Input(Model):
    """What the control can know: volts between two nodes, or the flame signal."""

    between: tuple[Id, Id] | None = None
    signal: Literal["flame_current"] | None = None
    at_least: Number
    only_when: dict[Id, str] = {}
    hidden_by: Id | None = None


class Leave(Model):
    """Where a step goes when all its conditions hold."""

    if_: tuple[str, ...] = Field(alias="if")
    go: Id


class Step(Model):
    """One step of the control's program."""

    step: Id
    says: Line
    drives: tuple[Id, ...]
    drives_when: dict[Id, dict[str, tuple[Id, ...]]] = {}
    leave: tuple[Leave, ...]
    lasts: Number | None = None
    then: Id | None = None
    rests: bool = False
    counts: Literal["trials"] | None = None
    also_called: tuple[Line, ...] = ()


class Sequence(Placed):
    """The control's program, as data."""

    sequence: Id
    source: Line
    starts_at: Id
    inputs: dict[Id, Input]
    order: tuple[Id, ...]
    steps: tuple[Step, ...] = Field(min_length=1, max_length=60)
    light: dict[Id, Id]


# --- furnaces -------------------------------------------------------------------------------


class Spread(Model):
    """A number that differs from furnace to furnace, drawn evenly between two ends."""

    between: tuple[float, float]
    unit: str
    source: Line


class Option(Model):
    """A way in which furnaces of one family differ; the figure beside a value is how often."""

    says: Line
    values: dict[str, float] = Field(min_length=1, max_length=12)
    usual: str


class Furnace(Placed):
    """A furnace family."""

    furnace: Id
    says: Line
    wiring: Id
    sequence: Id
    source: Line
    numbers: dict[Id, Spread]
    options: dict[Id, Option]


# --- parts ----------------------------------------------------------------------------------


class Effect(Model):
    """What a failure does to the furnace: to an element, to a quantity, or to what the control knows.

    Exactly one of `element`, `quantity`, `input` names the target. `between` gives a range from which the
    severity is drawn.
    """

    element: Id | None = None
    quantity: Id | None = None
    input: Id | None = None
    is_: str | None = Field(default=None, alias="is")
    ohms: tuple[float, float] | None = None
    adds_ohms: tuple[float, float] | None = None
    times: tuple[float, float] | None = None

    @model_validator(mode="after")
    def _one_target(self) -> Effect:
        if sum(t is not None for t in (self.element, self.quantity, self.input)) != 1:
            raise ValueError("names exactly one of element, quantity, input")
        if sum(d is not None for d in (self.is_, self.ohms, self.adds_ohms, self.times)) != 1:
            raise ValueError("says exactly one of is, ohms, adds_ohms, times")
        return self


class Failure(Model):
    """One way a part fails."""

    failure: Id
    says: Line
    share: float = Field(gt=0, le=1000)
    effects: tuple[Effect, ...] = ()
    also_called: tuple[Line, ...] = ()
    looks_like: tuple[Line, ...] = ()
    source: Line = "common practice, no source"


class Kind(Placed):
    """A kind of part and the failures it brings with it; `self` in an effect is the part's element."""

    kind: Id
    says: Line
    failures: tuple[Failure, ...]


class Part(Placed):
    """What can fail."""

    part: Id
    says: Line
    kind: Id | None = None
    element: Id | None = None
    often: Often
    also_called: tuple[Line, ...] = ()
    failures: tuple[Failure, ...] = ()
    leaves_out: tuple[Id, ...] = ()
    disturbs: tuple[Id, ...] = ()  # parts that are easily left wrong when this one is replaced
    source: Line = "common practice, no source"


# --- points and signs -----------------------------------------------------------------------


class Expected(Model):
    """What a healthy furnace reads in some steps, with its source."""

    steps: tuple[Id, ...]
    low: float
    high: float
    source: Line


class Point(Placed):
    """One thing that can be read with an instrument."""

    point: Id
    says: Line
    function: Literal[
        "ac_volts", "dc_microamps", "ac_amps", "ohms", "microfarads", "draft", "gas_pressure", "temperature", "static", "watch"
    ]
    unit: Unit
    leads: tuple[Id, Id] | None = None
    reads: str | None = None
    steps: tuple[Id, ...] = Field(min_length=1)
    where: Line
    expects: tuple[Expected, ...] = ()
    doubt: float = Field(default=0.03, gt=0, le=1)
    doubt_floor: float | None = Field(default=None, gt=0)
    minutes: float = Field(default=2, gt=0, le=120)
    cautions: tuple[Id, ...] = ()
    lookalikes: Line | None = None
    at_crimp: Id | None = None  # the point that reads the same thing on the wire crimp behind this pin
    at_load: Id | None = None  # the point that reads the same thing at the load's end of the wire
    also_called: tuple[Line, ...] = ()
    source: Line = "common practice, no source"

    @model_validator(mode="after")
    def _one_way(self) -> Point:
        if (self.leads is None) == (self.reads is None):
            raise ValueError("needs either `leads` (two nodes) or `reads` (a quantity)")
        return self


class GoesWith(Model):
    """How often a sign is met with one part or failure (judgement)."""

    part: Id
    failure: Id | None = None
    value: str
    how: Goes


class Sign(Placed):
    """What is seen, heard, smelled or told."""

    sign: Id
    says: Line
    values: tuple[str, ...] = Field(min_length=2, max_length=16)
    shows: Id | None = None
    reads_as: dict[str, tuple[str, ...]] = {}
    steps: tuple[Id, ...] = ()
    goes_with: tuple[GoesWith, ...] = ()
    otherwise: Goes = "seldom"
    source_kind: Literal["seen", "told", "light"] = "seen"
    says_same_as: tuple[Id, ...] = ()
    value_words: dict[str, tuple[Line, ...]] = {}  # what else people type for a value; the shared ones stand in the words table
    also_called: tuple[Line, ...] = ()
    minutes: float = Field(default=1, gt=0, le=120)
    cautions: tuple[Id, ...] = ()
    where: Line | None = None
    source: Line = "common practice, no source; the words are judgement"

    @model_validator(mode="after")
    def _some_link(self) -> Sign:
        if self.shows is None and not self.goes_with:
            raise ValueError("needs `shows` (something the virtual furnace does) or `goes_with` (parts)")
        return self


class Event(Placed):
    """Something that happened before, and what it makes likelier."""

    event: Id
    says: Line
    likelier: dict[str, Literal["some", "much"]]
    also_called: tuple[Line, ...] = ()
    source: Line = "common practice, no source; the words are judgement"


class Caution(Placed):
    """A warning shown where the act is suggested."""

    caution: Id
    says: Line
    source: Line


class Hazard(Placed):
    """What stops the visit; `when` holds if any one of its lines is reported."""

    hazard: Id
    rank: int = Field(ge=1, le=99)
    says: Line
    when: tuple[dict[str, str], ...] = Field(min_length=1)
    now: Line
    call: Line
    source: Line


class Words(Placed):
    """The numbers behind the words: one table, which a shop may replace."""

    words: Id
    often: dict[Often, float]
    goes: dict[Goes, float]
    likelier: dict[str, float]
    slip: dict[str, float]
    step_stated: dict[str, float]
    something_else: float = Field(gt=0, lt=0.5)
    history: dict[str, float]
    value_words: dict[str, tuple[Line, ...]] = {}
    short_words: dict[Line, tuple[Line, ...]] = {}
    source: Line


ENTRY_TYPES: dict[str, type[Placed]] = {
    "wiring": Wiring,
    "sequence": Sequence,
    "furnace": Furnace,
    "kind": Kind,
    "part": Part,
    "point": Point,
    "sign": Sign,
    "event": Event,
    "caution": Caution,
    "hazard": Hazard,
    "words": Words,
}


class Knowledge(Model):
    """All rule files together; every mapping is by id."""

    version: str
    wiring: dict[str, Wiring] = {}
    sequence: dict[str, Sequence] = {}
    furnace: dict[str, Furnace] = {}
    kind: dict[str, Kind] = {}
    part: dict[str, Part] = {}
    point: dict[str, Point] = {}
    sign: dict[str, Sign] = {}
    event: dict[str, Event] = {}
    caution: dict[str, Caution] = {}
    hazard: dict[str, Hazard] = {}
    words: dict[str, Words] = {}

    def entry(self, identifier: str) -> Any:
        """The first entry with that id, whatever its type, or None."""
        for kind in ENTRY_TYPES:
            if identifier in getattr(self, kind):
                return getattr(self, kind)[identifier]
        return None
