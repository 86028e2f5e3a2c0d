"""What a rule file may hold: typed, immutable models, one for each kind of entry.

Every scalar reaches these models as text (see yaml_text); the models say what it must be.
"""

import typing
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Annotated, Any, Literal, Self

from pydantic import Discriminator, Field, StringConstraints, Tag, model_validator

from furnace_diag.knowledge.finding_models import FINDING_TYPES, Advice, Band, Condition, Doubt, Exoneration, Hazard, Proof, RootCause, SetUp
from furnace_diag.knowledge.model_base import Id, Line, Model, Placed, Unit
from furnace_diag.knowledge.repair_models import REPAIR_TYPES, Check, Repair, Stands


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
Often = Literal["very_common", "common", "uncommon", "rare", "very_rare"]
Goes = Literal["nearly_always", "usually", "sometimes", "seldom", "hardly_ever"]


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
    size: Number = "1"  # of a motor's winding: its ohms and reactance are divided by it
    slip: float = Field(default=0.2, gt=0, lt=1)

    @model_validator(mode="after")
    def _complete(self) -> Self:
        if self.kind != "rotor" and self.between is None:
            raise ValueError("needs `between` with two nodes")
        if self.kind in ("coil", "rotor") and self.core is None:
            raise ValueError("needs `core`: which core it is wound on")
        return self


class Core(Model):
    """The iron that couples windings; reactance and loss seen by one turn [ohm]."""

    reactance: float = Field(gt=0)
    core_ohms: float | None = Field(default=None, gt=0)
    size: Number = "1"  # they are divided by it, as is what a rotor on it takes


class TakenOff(Model):
    """What a set-up of a reading opens: elements of the wiring; `at` the node that is read, where it is a lead or a plug."""

    set_up: SetUp
    at: Id | None = None
    opens: tuple[Id, ...] = Field(min_length=1)


class Wiring(Placed):
    """A network: nodes by what they are, elements that join them."""

    wiring: Id
    source: Line
    ground: Id
    nodes: dict[Id, Line] = Field(min_length=2, max_length=200)
    elements: tuple[Element, ...] = Field(min_length=1, max_length=400)
    cores: dict[Id, Core] = {}
    taken_off: tuple[TakenOff, ...] = ()
    isolator: Id | None = None  # the contact that a technician opens to make the furnace dead


# --- sequence -------------------------------------------------------------------------------


class Input(Model):
    """What the control can know: volts between two nodes, or the flame signal."""

    between: tuple[Id, Id] | None = None
    signal: Literal["flame_current"] | None = None
    at_least: Number
    only_when: dict[Id, str] = {}
    hidden_by: Id | None = None


class Leave(Model):
    """Where a step goes when all its conditions hold, on furnaces with those options."""

    if_: tuple[str, ...] = Field(alias="if")
    go: Id
    only_when: dict[Id, str] = {}


class Accessory(Model):
    """An output that goes with others: on while any output or input listed for the option's value is on."""

    option: Id
    goes_with: dict[str, tuple[Id, ...]] = Field(min_length=1)


class Step(Model):
    """One step of the control's program."""

    step: Id
    says: Line
    drives: tuple[Id, ...]
    drives_when: dict[Id, dict[str, tuple[Id, ...]]] = {}
    leave: tuple[Leave, ...]
    lasts: Number | None = None
    then: Id | None = None
    lasts_times: Id | None = None  # a number of the furnace that `lasts` is multiplied by
    counted_from: dict[Id, dict[str, Id]] = {}  # by option and value: the step from whose start `lasts` counts
    rests: bool = False
    counts: Id | None = None  # the option that says how often; `<counts> spent` holds from then on
    clears: tuple[Id, ...] = ()  # counters set back on entry
    also_called: tuple[Line, ...] = ()

    @property
    def may_drive(self) -> frozenset[str]:
        """The outputs that it drives, on furnaces with whatever options."""
        return frozenset({*self.drives, *(o for by in self.drives_when.values() for outputs in by.values() for o in outputs)})


class Call(Model):
    """What a thermostat closes (names that contacts follow), and the step a technician reads it as."""

    step: Id
    closes: tuple[Id, ...] = Field(min_length=1)
    joined: tuple[Id, ...] = ()  # what closes for the same call made with a wire on the board, the terminal that makes it first
    joined_at_thermostat: tuple[Id, ...] = ()  # the same at the thermostat's base

    @property
    def by_wire(self) -> tuple[tuple[Id, ...], ...]:
        """What closes for the call at each place where a wire can make it."""
        return tuple(names for names in (self.joined, self.joined_at_thermostat) if names)


class Roles(Model):
    """Steps that mean something beyond the program: no control power, an open safety string, a flame nobody asked for."""

    off: Id
    string_open: Id
    unwanted_flame: Id


class Sequence(Placed):
    """The control's program, as data."""

    sequence: Id
    source: Line
    starts_at: Id
    heat_call: Call
    other_calls: tuple[Call, ...] = ()
    roles: Roles
    inputs: dict[Id, Input]
    accessories: dict[Id, Accessory] = {}
    order: tuple[Id, ...]
    steps: tuple[Step, ...] = Field(min_length=1, max_length=60)
    light: dict[Id, Id]


# --- machines -------------------------------------------------------------------------------


class Figure(Model):
    """A number of physics and where it comes from; its unit stands in its name."""

    value: float = Field(alias="is", gt=0)
    source: Line


class Machine(Model):
    """What the elements and numbers of a family do together; `rising` figures must not fall from one to the next."""

    def _rising(self) -> tuple[str, ...]:
        return ()

    @model_validator(mode="after")
    def _figures_make_sense(self) -> Self:
        figures = {name: getattr(self, name).value for name, field in type(self).model_fields.items() if field.annotation is Figure}
        for name, value in figures.items():
            if name.endswith("_share") and value > 1:
                raise ValueError(f"{name} is {value:g}, and a share is at most 1")
        for low, high in zip(self._rising(), self._rising()[1:], strict=False):
            if figures[low] > figures[high]:
                raise ValueError(f"{low} is above {high}")
        return self


class PlainMotor(Machine):
    """A motor with one winding: by the volts on it, it turns, hums or is silent."""

    winding: WindingId
    turns: NumberId  # 1 turns, 0 is jammed
    speed: NumberId  # share of its rated speed
    grip: NumberId  # share of the shaft's turning that reaches the wheel
    full_volts: NumberId
    stalls_below_volts: Figure
    hums_above_volts: Figure
    slow_below_share: Figure

    def _rising(self) -> tuple[str, ...]:
        return ("hums_above_volts", "stalls_below_volts")


class CapacitorMotor(Machine):
    """A permanent-split-capacitor motor with a fan on its shaft; `main` counts as one turn."""

    main: WindingId
    auxiliary: ElementId
    carries_all: ElementId  # where the current of the whole motor flows
    turns: NumberId  # 1 turns, 0 is seized
    grip: NumberId  # share of the shaft's turning that reaches the wheel
    drag: NumberId  # load on the shaft as a multiple of its fan's
    hot: NumberId
    marked_microfarads: NumberId  # of the capacitor it was made for
    energised_above_volts: Figure
    stalls_below_volts: Figure
    draws_above_amps: Figure
    starts_above_amps_per_microfarad: Figure  # in the auxiliary winding
    full_strength_above_amps_per_microfarad: Figure
    weak_speed_share: Figure
    slow_below_share: Figure
    pull_out_times_load: Figure
    rated_main_volts: Figure

    def _rising(self) -> tuple[str, ...]:
        return ("energised_above_volts", "stalls_below_volts", "rated_main_volts")

    @model_validator(mode="after")
    def _starts_before_full_strength(self) -> Self:
        if self.starts_above_amps_per_microfarad.value > self.full_strength_above_amps_per_microfarad.value:
            raise ValueError("starts_above_amps_per_microfarad is above full_strength_above_amps_per_microfarad")
        return self


class HotSurface(Machine):
    """A hot-surface igniter; its glow is the share of a new one's watts at rated volts."""

    element: ElementId
    rated_volts: Figure
    heats_above_volts: Figure
    dull_above_share: Figure
    bright_above_share: Figure

    def _rising(self) -> tuple[str, ...]:
        return ("dull_above_share", "bright_above_share")


class GasValve(Machine):
    """A single-stage valve with its regulator, and the burners behind it."""

    coil: ElementId
    driven_by: OutputId
    opens: NumberId  # 1 opens when energised, 0 does not
    shuts: NumberId  # 1 shuts when dead, 0 passes gas
    pull_in_volts: NumberId
    inlet: NumberId
    manifold: NumberId
    passes_above_inches: Figure
    rated_manifold: NumberId
    lights_above_share: Figure  # of the rated manifold pressure
    valve_drop_inches: Figure
    inlet_left_under_flow_share: Figure
    lights_in_seconds: Figure


class FlameSensing(Machine):
    """Direct current through the flame, by a rod; it needs the line between two nodes."""

    current: NumberId
    signal: NumberId  # share of the current that reaches the control
    carry_over: NumberId  # 1 carries the flame to the rod as fast as it lights, less takes longer
    fed_from: NodeId
    returns_to: NodeId
    rated_volts: Figure


class PressureSwitch(Machine):
    """A switch that follows the draft; `moves` is what its contact follows. The draft builds quickly up to a share of itself, and creeps from there."""

    moves: Id
    draft: NumberId
    set_point: NumberId
    passes: tuple[NumberId, ...]  # shares of the draft that vent, hose and port let through
    opens_at_share: Figure
    draft_builds_in_seconds: Figure
    creeps_above_share: Figure
    creeps_in_seconds: Figure
    opens_in_seconds: Figure


class Limit(Machine):
    """A switch at the heat exchanger; `moves` is what its contact follows."""

    moves: Id
    trips_at: NumberId
    exchanger_seconds: NumberId
    spared_by_steps_of_seconds: Figure
    cools_in_seconds: Figure


class AirSide(Machine):
    """Air through filter, blower and exchanger."""

    rated_rise: NumberId
    rise_without_air: NumberId
    passes: tuple[NumberId, ...]  # shares of filter and ducts that are open
    static: NumberId
    shut_off_static_times: Figure
    none_below_share: Figure
    weak_below_share: Figure

    def _rising(self) -> tuple[str, ...]:
        return ("none_below_share", "weak_below_share")


class Indicator(Machine):
    """The control's light, and the input that says whether its logic lives."""

    fed_as: InputId
    dark_below_volts: Figure


class Machines(Model):
    """The machines of a family, each by the elements and numbers it stands on."""

    inducer: PlainMotor
    blower: CapacitorMotor
    igniter: HotSurface
    valve: GasValve
    flame: FlameSensing
    pressure_switch: PressureSwitch
    limit: Limit
    air: AirSide
    indicator: Indicator
    fuse_opens_within_seconds: Figure


# --- furnaces -------------------------------------------------------------------------------


class Spread(Model):
    """A number that differs from furnace to furnace, drawn evenly between two ends.

    *of*: a number above it, or an option whose values are numbers, that it is a multiple of. *instead*: other ends, by option and its value.
    """

    between: tuple[float, float]
    of: Id | None = None
    instead: dict[Id, dict[str, tuple[float, float]]] = Field(default={}, max_length=4)
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
    machines: Machines


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
    def _one_target(self) -> Self:
        if sum(t is not None for t in (self.element, self.quantity, self.input)) != 1:
            raise ValueError("names exactly one of element, quantity, input")
        if sum(d is not None for d in (self.is_, self.ohms, self.adds_ohms, self.times)) != 1:
            raise ValueError("says exactly one of is, ohms, adds_ohms, times")
        return self


class ComesAndGoes(Model):
    """A failure that is there in a share of the heat calls only, and then from some step on ("opens when warm"), or from the start of the call.

    *quits_after_s*: on half of the furnaces it sets in only while they burn steadily, so long after that began [s].
    """

    share: float = Field(gt=0, lt=1)
    from_step: Id | None = None
    quits_after_s: tuple[float, float] | None = None


class Failure(Model):
    """One way a part fails; with `like`, it does what that failure of the same part does. *only_when*: the option without which it cannot be there.

    *trips_with*: outputs whose load makes it trip the breaker. On most sites the furnace is found dead so; on the others somebody has put the breaker
    in again and watches a call up to the first step that drives one of them.
    """

    failure: Id
    says: Line
    share: float = Field(gt=0, le=1000)
    like: Id | None = None
    comes_and_goes: ComesAndGoes | None = None
    trips_with: tuple[Id, ...] = ()
    only_when: dict[Id, str] = {}
    effects: tuple[Effect, ...] = ()
    also_called: tuple[Line, ...] = ()
    looks_like: tuple[Line, ...] = ()
    source: Line = "common practice, no source"


class Kind(Placed):
    """A kind of part and the failures it brings with it; `self` in an effect is the part's element."""

    kind: Id
    says: Line
    failures: tuple[Failure, ...]


class RepairCost(Model):
    """What it takes to put a part right: minutes of work, and the price of what is fitted. Judgement; a shop has its own."""

    minutes: float = Field(ge=0, le=1000)
    price: float = Field(ge=0, le=10000)


class Part(Placed):
    """What can fail."""

    part: Id
    says: Line
    to_customer: Line | None = None  # what it is called to somebody who knows no furnaces; goes on from "The"
    repair: RepairCost = RepairCost(minutes=30, price=50)
    kind: Id | None = None
    element: Id | None = None
    often: Often
    also_called: tuple[Line, ...] = ()
    failures: tuple[Failure, ...] = ()
    leaves_out: tuple[Id, ...] = ()
    disturbs: tuple[Line, ...] = ()  # parts, or part:failure, that are easily left wrong when this one is replaced or cleaned
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
    def _one_way(self) -> Self:
        if (self.leads is None) == (self.reads is None):
            raise ValueError("needs either `leads` (two nodes) or `reads` (a quantity)")
        return self


class GoesWith(Model):
    """How often a sign is met with one part or failure (judgement)."""

    part: Id
    failure: Id | None = None
    value: str
    how: Goes


class State(Model):
    """A sign that is the state of one thing: exactly one of the first keys, and what is then seen; `else` if not so.

    `or_option` holds it so on furnaces with that option.
    """

    closed: ElementId | None = None
    broken: ElementId | None = None
    number: NumberId | None = None
    volts_on: ElementId | None = None
    volts_between: tuple[NodeId, NodeId] | None = None
    driven: tuple[OutputId, ...] | None = None
    below: float | None = None
    above: float | None = None
    or_option: dict[Id, str] = {}
    so: str
    otherwise: str = Field(alias="else")
    source: Line = "common practice, no source"

    @model_validator(mode="after")
    def _one_thing(self) -> Self:
        ways = (self.closed, self.broken, self.number, self.volts_on, self.volts_between, self.driven)
        if sum(way is not None for way in ways) != 1:
            raise ValueError("names exactly one of closed, broken, number, volts_on, volts_between, driven")
        bounds = (self.below is not None) + (self.above is not None)
        if bounds != (self.number is not None or self.volts_on is not None or self.volts_between is not None):
            raise ValueError("needs one of below and above with a number or volts, and none with anything else")
        return self


Watched = Literal[
    "heat_starts", "blower_runs", "inducer_runs", "fuse_blows", "flame_reported", "flame_out", "limit_opens", "limit_opens_and_blower_stands"
]  # fmt: skip


class Try(Model):
    """One go of a trial: what is changed and joined for it, and the word if what is watched then happens.

    *off*: what is taken off, by the set-up or the node where it is (see the wiring's `taken_off`). *joins*: what is closed once the
    furnace rests so, as calls close it. *watch*: where it is another thing than in the other goes.
    """

    so: str
    off: tuple[Id, ...] = ()
    effects: tuple[Effect, ...] = ()
    joins: tuple[Id, ...] = ()
    watch: Watched | None = None


class Trial(Model):
    """What comes of an experiment: the word of the first go in which what is watched happens, `else` if it does in none.

    It is tried from rest, or while it burns, on the furnaces that light in a heat call. *off* and *effects* are of every go. With *found_broken* it is
    tried on the furnaces whose element is found so; the others give the word of `else`.
    """

    watch: Watched
    tries: tuple[Try, ...] = Field(min_length=1, max_length=8)
    otherwise: str = Field(alias="else")
    starting: Literal["at_rest", "burning"] = "at_rest"
    found_broken: ElementId | None = None
    off: tuple[Id, ...] = ()
    effects: tuple[Effect, ...] = ()

    @property
    def words(self) -> tuple[str, ...]:
        """All that may come of it, each once."""
        return tuple(dict.fromkeys((self.otherwise, *(t.so for t in self.tries))))

    @property
    def all_off(self) -> tuple[str, ...]:
        """All that is taken off in any go."""
        return (*self.off, *(name for go in self.tries for name in go.off))

    @property
    def all_effects(self) -> tuple[Effect, ...]:
        """All that is done to the furnace in any go."""
        return (*self.effects, *(effect for go in self.tries for effect in go.effects))

    @property
    def only_joins(self) -> tuple[str, ...]:
        """What a wire joins, where that is all that is done; else nothing."""
        return self.tries[0].joins if len(self.tries) == 1 and not self.all_off and not self.all_effects else ()


def _what_shows(value: Any) -> str:
    if isinstance(value, str):
        return "word"
    return "trial" if isinstance(value, Trial) or (isinstance(value, dict) and "tries" in value) else "state"


Shows = Annotated[
    Annotated[Id, Tag("word")] | Annotated[State, Tag("state")] | Annotated[Trial, Tag("trial")], Discriminator(_what_shows)
]


class Within(Model):
    """Figures from *low* to *high*; an end that is left out is open."""

    low: float | None = None
    high: float | None = None


class AnsweredBy(Model):
    """How a virtual furnace answers a check that somebody makes on a real one by its plate or the watch.

    *reads*: as a point has it, or one of `words.OF_A_CALL`. *values*: for each word its figures; the first that holds is meant. *less*, *share_of*:
    a number of the furnace that is taken off the reading, or that it is divided by. *after_s*: seconds of burning before it can be told.
    *least*: a smaller reading is none; nothing runs there.
    """

    reads: Line
    steps: tuple[Id, ...] = ()
    after_s: float = Field(default=0, ge=0, le=3600)
    less: Id | None = None
    share_of: Id | None = None
    least: float = Field(default=0, ge=0)
    values: dict[str, Within] = Field(min_length=2, max_length=16)
    source: Line


class Figures(Model):
    """Which value of a sign a figure in *unit* stands for: the first of `up_to` whose bound it does not pass, else `beyond`."""

    unit: Unit | Literal["percent"]
    up_to: dict[str, float] = Field(min_length=1)
    beyond: str

    @model_validator(mode="after")
    def _rising(self) -> Self:
        if list(self.up_to.values()) != sorted(set(self.up_to.values())):
            raise ValueError("must name its bounds from the lowest to the highest")
        return self

    def value_at(self, figure: float) -> str:
        """The value that *figure* [unit] stands for."""
        return next((value for value, bound in self.up_to.items() if figure <= bound), self.beyond)


class Sign(Placed):
    """What is seen, heard, smelled or told."""

    sign: Id
    says: Line
    values: tuple[str, ...] = Field(min_length=2, max_length=16)
    shows: Shows | None = None
    reads_as: dict[str, tuple[str, ...]] = {}
    steps: tuple[Id, ...] = ()
    goes_with: tuple[GoesWith, ...] = ()
    otherwise: Goes = "seldom"
    source_kind: Literal["seen", "told", "light"] = "seen"
    only_for_proof: bool = False  # a check made for a proof; the ranking makes nothing of it
    answered_by: AnsweredBy | None = None  # of a check: how a furnace of a drill answers it; without it, it is the trainee's to say
    says_same_as: tuple[Id, ...] = ()
    value_says: dict[str, Line] = {}  # what a value means, where its word alone does not say it
    value_words: dict[str, tuple[Line, ...]] = {}  # what else people type for a value; the shared ones stand in the words table
    figures: Figures | None = None  # where a figure tells the value by itself, whatever the furnace
    also_called: tuple[Line, ...] = ()
    minutes: float = Field(default=1, gt=0, le=120)
    cautions: tuple[Id, ...] = ()
    where: Line | None = None
    source: Line = "common practice, no source; the words are judgement"

    @model_validator(mode="after")
    def _figures_of_its_values(self) -> Self:
        if self.figures is not None and {*self.figures.up_to, self.figures.beyond} - {*self.values}:
            raise ValueError("names a value in `figures` that it does not have")
        return self

    @model_validator(mode="after")
    def _says_of_its_values(self) -> Self:
        if {*self.value_says} - {*self.values}:
            raise ValueError("says in `value_says` what a value means that it does not have")
        return self

    @model_validator(mode="after")
    def _some_link(self) -> Self:
        if self.shows is None and not self.goes_with and not self.only_for_proof:
            raise ValueError("needs `shows` (something the virtual furnace does), `goes_with` (parts) or `only_for_proof`")
        return self


class Experiment(Sign):
    """A sign that somebody brings about: what is changed, and what is then watched. *needs*: what must be so before it is tried;
    *needs_shown*: checks that records must meet before it is asked for."""

    experiment: Id
    needs: tuple[Line, ...] = ()
    needs_shown: tuple[Id, ...] = ()

    @model_validator(mode="before")
    @classmethod
    def _is_a_sign(cls, data: Any) -> Any:
        return {**data, "sign": data["experiment"]} if isinstance(data, dict) and "experiment" in data else data


def _sign_or_experiment(value: Any) -> str:
    made = "experiment" in value if isinstance(value, dict) else isinstance(value, Experiment)
    return "experiment" if made else "sign"


AnySign = Annotated[Annotated[Sign, Tag("sign")] | Annotated[Experiment, Tag("experiment")], Discriminator(_sign_or_experiment)]


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
    risk_minutes: float = Field(default=0, ge=0, le=60)  # what the risk of it weighs, as minutes, when readings are chosen
    needed_at: tuple[Stands, ...] = ()  # it goes with every repair of a part that stands there
    source: Line


class Question(Placed):
    """What a visit asks before any reading: a sign, with single keys for its values."""

    question: Id
    group: Literal["safety", "behaviour"]
    asks: Line
    sign: Id
    keys: dict[Annotated[str, Field(pattern=r"^[a-z]$")], str] = Field(min_length=2)
    ends: tuple[str, ...] = ()  # values after which the questions of its group that follow have no answer yet
    answered_by: dict[Id, tuple[str, ...]] = {}  # values of other signs that answer it as well
    due: Id | None = None  # the step at which it has an answer; any if left out


class Row(Placed):
    """Points that are read one after another in one place, so that one line tells them all."""

    row: Id
    says: Line
    points: tuple[Id, ...] = Field(min_length=2, max_length=8)


class Notice(Placed):
    """A sentence of the report to the customer: what to watch for, when to call the shop, when to leave and call for help."""

    notice: Id
    group: Literal["watch", "call_shop", "call_help"]
    says: Line
    source: Line = "common practice, no source"


class Choice(Model):
    """What the choice of the next reading is reckoned with. *minute*: what a minute costs, in the unit of prices.

    *otherwise*: minutes until a fault that these rules do not know is found. *other_call*: minutes more of a reading in a fan or cooling call
    that nothing was read in yet: it is to be made at the thermostat, and waited for.
    """

    minute: float = Field(gt=0, le=1000)
    otherwise: float = Field(gt=0, le=10000)
    other_call: float = Field(default=0, ge=0, le=100)


class ClaimWords(Model):
    """How a claim is judged, and what clerks and shops write; rules/words.yaml says what each entry means."""

    elsewhere: float = Field(ge=0.5, lt=1)
    least_records: int = Field(ge=1, le=99)
    together: float = Field(gt=0, lt=1)
    told_apart: float = Field(ge=1, le=1000)
    worth_naming: float = Field(default=0, ge=0, lt=0.5)
    worth_asking: float = Field(default=0, ge=0, lt=0.5)
    headings: dict[Id, tuple[Line, ...]] = {}
    outcomes: dict[Literal["bad", "good", "not_tested"], tuple[Line, ...]] = {}
    not_taken: tuple[str, ...] = ()
    no_record: tuple[str, ...] = ()


class Words(Placed):
    """The numbers behind the words: one table, which a shop may replace."""

    words: Id
    often: dict[Often, float]
    goes: dict[Goes, float]
    likelier: dict[str, float]
    slip: dict[str, float]
    looked_twice: float = Field(gt=0, lt=1)
    step_stated: dict[str, float]
    something_else: float = Field(gt=0, lt=0.5)
    second_failure: float = Field(gt=0, lt=0.5)
    history: dict[str, float]
    neighbour_disturbed: float = Field(ge=1, le=100)
    verdict: dict[Literal["suspected", "unlikely", "cleared", "still_fits", "another_leads"], float]
    delay_margin_s: float = Field(ge=0, le=600)
    choice: Choice
    claims: ClaimWords
    instruments: dict[Id, tuple[Id, ...]]
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
    "experiment": Experiment,
    "event": Event,
    "caution": Caution,
    "words": Words,
    "question": Question,
    "row": Row,
    "notice": Notice,
    **FINDING_TYPES,
    **REPAIR_TYPES,
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
    sign: dict[str, AnySign] = {}  # experiments among them
    event: dict[str, Event] = {}
    caution: dict[str, Caution] = {}
    words: dict[str, Words] = {}
    question: dict[str, Question] = {}
    row: dict[str, Row] = {}
    notice: dict[str, Notice] = {}
    band: dict[str, Band] = {}
    condition: dict[str, Condition] = {}
    proof: dict[str, Proof] = {}
    hazard: dict[str, Hazard] = {}
    doubt: dict[str, Doubt] = {}
    root_cause: dict[str, RootCause] = {}
    exoneration: dict[str, Exoneration] = {}
    advice: dict[str, Advice] = {}
    repair: dict[str, Repair] = {}
    check: dict[str, Check] = {}

    @cached_property
    def experiment(self) -> dict[str, Experiment]:
        """The signs that somebody brings about, by id."""
        return {name: sign for name, sign in self.sign.items() if isinstance(sign, Experiment)}

    def entry(self, identifier: str) -> Any:
        """The first entry with that id, whatever its type, or None."""
        for kind in ENTRY_TYPES:
            if identifier in getattr(self, kind):
                return getattr(self, kind)[identifier]
        return None
