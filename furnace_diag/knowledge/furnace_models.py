"""What rules/wiring, rules/sequence and rules/furnaces may hold: the network, the control's program, and a family's numbers and options."""

from __future__ import annotations

from typing import Literal

from furnace_diag.knowledge.finding_models import SetUp
from furnace_diag.knowledge.machine_models import Machines
from furnace_diag.knowledge.model_base import Id, Line, Model, Number, Placed, model_field

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
    slip: float = model_field(default=0.2, gt=0, lt=1)

    def _sound(self) -> None:
        if self.kind != "rotor" and self.between is None:
            raise ValueError("needs `between` with two nodes")
        if self.kind in ("coil", "rotor") and self.core is None:
            raise ValueError("needs `core`: which core it is wound on")


class Core(Model):
    """The iron that couples windings; reactance and loss seen by one turn [ohm]."""

    reactance: float = model_field(gt=0)
    core_ohms: float | None = model_field(default=None, gt=0)
    size: Number = "1"  # they are divided by it, as is what a rotor on it takes


class TakenOff(Model):
    """What a set-up of a reading opens: elements of the wiring; `at` the node that is read, where it is a lead or a plug."""

    set_up: SetUp
    at: Id | None = None
    opens: tuple[Id, ...] = model_field(min_length=1)


class Wiring(Placed):
    """A network: nodes by what they are, elements that join them."""

    wiring: Id
    source: Line
    ground: Id
    nodes: dict[Id, Line] = model_field(min_length=2, max_length=200)
    elements: tuple[Element, ...] = model_field(min_length=1, max_length=400)
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

    if_: tuple[str, ...] = model_field(written="if")
    go: Id
    only_when: dict[Id, str] = {}


class Accessory(Model):
    """An output that goes with others: on while any output or input listed for the option's value is on."""

    option: Id
    goes_with: dict[str, tuple[Id, ...]] = model_field(min_length=1)


class HeldBack(Model):
    """An output that a step drives, but on furnaces whose number `by` is more than nothing: for a failure to act on."""

    output: Id
    by: Id


class Step(Model):
    """One step of the control's program."""

    step: Id
    says: Line
    drives: tuple[Id, ...]
    drives_when: dict[Id, dict[str, tuple[Id, ...]]] = {}
    held_back: tuple[HeldBack, ...] = ()
    leave: tuple[Leave, ...]
    lasts: Number | None = None
    then: Id | None = None
    counted_from: dict[Id, dict[str, Id]] = {}  # by option and value: the step from whose start `lasts` counts
    reached_by: Line | None = None  # how somebody gets there to read something, where a heat call does not come by it
    rests: bool = False
    seen_as: Id | None = None  # the step that it looks like to whoever has no light to go by, where the control hangs in it
    read_during: Id | None = None  # the step in which that is read which is said to be read in this one, and foretold there alone
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
    closes: tuple[Id, ...] = model_field(min_length=1)
    joined: tuple[Id, ...] = ()  # what closes for the same call made with a wire on the board, the terminal that makes it first
    joined_at_thermostat: tuple[Id, ...] = ()  # the same at the thermostat's base

    @property
    def by_wire(self) -> tuple[tuple[Id, ...], ...]:
        """What closes for the call at each place where a wire can make it."""
        return tuple(names for names in (self.joined, self.joined_at_thermostat) if names)

    @property
    def made_by(self) -> frozenset[str]:
        """All that closes for the call, by whatever it is made."""
        return frozenset({*self.closes, *self.joined, *self.joined_at_thermostat})


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
    steps: tuple[Step, ...] = model_field(min_length=1, max_length=60)
    light: dict[Id, Id]


# --- furnaces -------------------------------------------------------------------------------


class Spread(Model):
    """A number that differs from furnace to furnace, drawn evenly between two ends.

    *of*: a number above it, or an option whose values are numbers, that it is a multiple of. *instead*: other ends, by option and its value.
    """

    between: tuple[float, float]
    of: Id | None = None
    instead: dict[Id, dict[str, tuple[float, float]]] = model_field(default={}, max_length=4)
    unit: str
    source: Line


class Option(Model):
    """A way in which furnaces of one family differ; the figure beside a value is how often."""

    says: Line
    values: dict[str, float] = model_field(min_length=1, max_length=12)
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
