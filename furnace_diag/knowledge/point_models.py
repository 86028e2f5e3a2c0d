"""What rules/points/ may hold: points, signs and experiments, what happened before, and cautions."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Any, Literal

from furnace_diag.knowledge.model_base import ElementId, Id, Line, Model, NodeId, NumberId, OutputId, Placed, Unit, chosen_by, if_called, model_field
from furnace_diag.knowledge.naming import each_way
from furnace_diag.knowledge.part_models import Effect
from furnace_diag.knowledge.repair_models import Stands

Goes = Literal["nearly_always", "usually", "sometimes", "seldom", "hardly_ever"]


class Expected(Model):
    """What a healthy furnace reads in some steps, with its source."""

    steps: tuple[Id, ...]
    low: float
    high: float
    source: Line


# absolute error of a usual meter or eye, by unit; common practice, no source
FLOOR = {"V": 0.5, "A": 0.08, "uA": 0.15, "ohm": 0.4, "uF": 0.3, "in_wc": 0.04, "F": 2.0, "F_diff": 3.0, "s": 2.0, "ppm": 2.0, "count": 0.5}


class Point(Placed):
    """One thing that can be read with an instrument.

    *meter*: the mode it needs where a low-impedance meter misreads it on a healthy furnace: it draws down what feeds the point through ohms.
    *apart*: of ohms that should show no path: what must be off for it, because with that on any path is of something else and is another reading.
    """

    point: Id
    says: Line
    function: Literal[
        "ac_volts", "dc_microamps", "ac_amps", "ohms", "microfarads", "draft", "gas_pressure", "temperature", "static", "watch"
    ]
    unit: Unit
    leads: tuple[Id, Id] | None = None
    reads: str | None = None
    steps: tuple[Id, ...] = model_field(min_length=1)
    where: Line
    expects: tuple[Expected, ...] = ()
    doubt: float = model_field(default=0.03, gt=0, le=1)
    doubt_floor: float | None = model_field(default=None, gt=0)
    minutes: float = model_field(default=2.0, gt=0, le=120)
    cautions: tuple[Id, ...] = ()
    lookalikes: Line | None = None
    meter: Literal["high"] | None = None
    apart: Line | None = None
    at_crimp: Id | None = None  # the point that reads the same thing on the wire crimp behind this pin
    at_load: Id | None = None  # the point that reads the same thing at the load's end of the wire
    never_is: dict[Id, str] = model_field(default={}, max_length=1)  # of a time: the sign, and its value, by which that never comes
    also_called: tuple[Line, ...] = ()
    source: Line = "common practice, no source"

    def _sound(self) -> None:
        if (self.leads is None) == (self.reads is None):
            raise ValueError("needs either `leads` (two nodes) or `reads` (a quantity)")
        if self.apart and self.unit != "ohm":
            raise ValueError("is not read in ohms, so `apart` says nothing of it")

    @property
    def floor(self) -> float:
        """Absolute error of a reading, in the point's unit."""
        return self.doubt_floor or FLOOR[self.unit]


class GoesWith(Model):
    """How often a sign is met with one part or failure (judgement)."""

    part: Id
    failure: Id | None = None
    value: str
    how: Goes


class State(Model):
    """A sign that is the state of one thing: exactly one of the first keys, and what is then seen; `else` if not so.

    On furnaces with `or_option` it is seen so whatever that thing does.
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
    otherwise: str = model_field(written="else")
    source: Line = "common practice, no source"

    def _sound(self) -> None:
        ways = (self.closed, self.broken, self.number, self.volts_on, self.volts_between, self.driven)
        if sum(way is not None for way in ways) != 1:
            raise ValueError("names exactly one of closed, broken, number, volts_on, volts_between, driven")
        bounds = (self.below is not None) + (self.above is not None)
        if bounds != (self.number is not None or self.volts_on is not None or self.volts_between is not None):
            raise ValueError("needs one of below and above with a number or volts, and none with anything else")


Watched = Literal[
    "heat_starts", "blower_runs", "blower_answers", "inducer_runs", "fuse_blows", "flame_reported", "flame_out", "limit_opens", "limit_opens_and_blower_stands"
]  # fmt: skip


class Try(Model):
    """One go of a trial: what is changed and joined for it, and the word if what is watched then happens.

    *off*: what is taken off, by the set-up or the node where it is (see the wiring's `taken_off`). *joins*: what is closed, as calls
    close it, once the furnace rests with that off. *watch*: where it is another thing than in the other goes.
    """

    so: str
    off: tuple[Id, ...] = ()
    effects: tuple[Effect, ...] = ()
    joins: tuple[Id, ...] = ()
    watch: Watched | None = None


class Trial(Model):
    """What comes of an experiment: the word of the first go in which what is watched happens, `else` if it does in none.

    It is tried from rest, or while it burns, on the furnaces that light in a heat call. *off* and *effects* are of every go. With *found_broken* it is
    tried on the furnaces whose element is found so; the others give the word of `else`. With *found_running* it is tried only where a motor is found
    running with nothing called: elsewhere nobody has a reason to.
    """

    watch: Watched
    tries: tuple[Try, ...] = model_field(min_length=1, max_length=8)
    otherwise: str = model_field(written="else")
    starting: Literal["at_rest", "burning"] = "at_rest"
    found_broken: ElementId | None = None
    found_running: bool = False
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
    Annotated[Id, if_called("word")] | Annotated[State, if_called("state")] | Annotated[Trial, if_called("trial")], chosen_by(_what_shows)
]


class Within(Model):
    """Figures from *low* to *high*; an end that is left out is open."""

    low: float | None = None
    high: float | None = None


class AnsweredBy(Model):
    """How a virtual furnace answers a check that somebody makes on a real one by its plate or the watch.

    *reads*: as a point has it, or one of `words.OF_A_CALL`. *values*: for each word its figures; the first that holds is meant. *less*, *share_of*:
    a number of the furnace that is taken off the reading, or that it is divided by. *after_s*: seconds of burning before it can be told.
    *least*: a smaller reading counts as none, for nothing runs then.
    """

    reads: Line
    steps: tuple[Id, ...] = ()
    after_s: float = model_field(default=0.0, ge=0, le=3600)
    less: Id | None = None
    share_of: Id | None = None
    least: float = model_field(default=0.0, ge=0)
    values: dict[str, Within] = model_field(min_length=2, max_length=16)
    source: Line


class AgainstMark(Model):
    """How a check that holds a reading against its part's own mark is told by both: "rise 55, plate 40-70". *point*: what is read. *range*: the mark is
    a range, and no single figure. *values*: by how much the reading lies above the mark, or above or below its range, or with *share* what share of the
    mark it is; the first that holds is meant. *always*: however it was read; else only where the check is asked for, with how to read it."""

    point: Id
    range: bool = False
    share: bool = False
    always: bool = False
    values: dict[str, Within] = model_field(min_length=2, max_length=16)


class Figures(Model):
    """Which value of a sign a figure in *unit* stands for: the first of `up_to` whose bound it does not pass, else `beyond`.

    *with_words*: a figure by itself tells nothing; after words of a value ("go out after 5 seconds") it must agree with them.
    """

    unit: Unit | Literal["percent"]
    up_to: dict[str, float] = model_field(min_length=1)
    beyond: str
    with_words: bool = False

    def _sound(self) -> None:
        if list(self.up_to.values()) != sorted(set(self.up_to.values())):
            raise ValueError("must name its bounds from the lowest to the highest")

    def value_at(self, figure: float) -> str:
        """The value that *figure* [unit] stands for."""
        return next((value for value, bound in self.up_to.items() if figure <= bound), self.beyond)


class Ends(Model):
    """How people tell that one of *things* *begins*, *then* *ends* by itself, or that it *stays_not*: a time told with it gives the value by the sign's
    `figures`, and without one *untimed* is told, as SIGN: VALUE."""

    things: tuple[str, ...]
    begins: tuple[str, ...]
    then: tuple[str, ...]
    ends: tuple[str, ...]
    stays_not: tuple[str, ...]
    untimed: Line

    @classmethod
    def _as_read(cls, data: Any) -> Any:
        if not isinstance(data, dict):
            return data
        return {name: [way for phrase in said for way in each_way(phrase)] if isinstance(said, list) else said for name, said in data.items()}


class PutRight(Model):
    """A value of a sign that says of a hazard that it was found and put right on the spot. *of*: the values as which it was found; *told_as*: how
    one types it; *says*: for the report and the customer; *read_again*: the points and signs that told little of the furnace before; *proves_anew*: nor does
    anything that a call showed before prove a thing, for it did not run as it is built; *mends*: the part that is mended by it, where what was found is a
    fault of that part: what is read from then on is of the furnace once it was mended."""

    of: tuple[str, ...] = model_field(min_length=1)
    told_as: Line
    says: Line
    read_again: tuple[Id, ...] = ()
    proves_anew: bool = False
    mends: Id | None = None


def spelled_out(said: Any) -> Any:
    """The phrases of each value, one with alternatives in all its ways; what is no such table is left for the model to refuse."""
    if not isinstance(said, dict) or not all(isinstance(phrases, list) for phrases in said.values()):
        return said
    return {value: [way for p in phrases for way in (each_way(p) if isinstance(p, str) else [p])] for value, phrases in said.items()}


class Sign(Placed):
    """What is seen, heard, smelled or told."""

    sign: Id
    says: Line
    values: tuple[str, ...] = model_field(min_length=2, max_length=16)
    shows: Shows | None = None
    reads_as: dict[str, tuple[str, ...]] = {}
    steps: tuple[Id, ...] = ()
    goes_with: tuple[GoesWith, ...] = ()
    otherwise: Goes = "seldom"
    seen_only_with: dict[Id, tuple[str, ...]] = {}  # signs of the virtual furnace, with the values without which there is nothing to see: no flame, no color
    never_is: dict[Id, str] = model_field(default={}, max_length=1)  # the sign, and its value, that once told leaves nothing to ask here
    source_kind: Literal["seen", "told", "light", "measured"] = "seen"  # "measured": what nobody mistakes, as sure as a figure on a meter
    tells_of: Id | None = None  # the one of its steps that it speaks of, though more are listed: in a drill it is answered in no other
    after_call: bool = False  # without a step it is told of how the furnace stands once a heat call has come to its end or goes no further
    only_for_proof: bool = False  # a check made for a proof; the ranking makes nothing of it
    answered_by: AnsweredBy | None = None  # of a check: how a furnace of a drill answers it; without it, it is the trainee's to say
    against_mark: AgainstMark | None = None  # of a check: how a reading and the mark that is told with it answer it
    says_same_as: tuple[Id, ...] = ()
    as_danger: Line | None = None  # what it is called where it tells of a danger, if `says` does not say that
    put_right: dict[str, PutRight] = {}  # its values that say that what stopped the visit is put right
    value_says: dict[str, Line] = {}  # what a value means, where its word alone does not say it
    value_words: dict[str, tuple[Line, ...]] = {}  # what else people type for a value, in the same form as complaints; the shared ones stand in the words table
    before_values: tuple[Line, ...] = ()  # what may stand before a value and says no more than it: a fuse that "blows" on a heat call
    behind_values: tuple[Line, ...] = ()  # what may stand behind a value and says no more than it: a wheel that is "hard to turn" by hand
    could_be: dict[str, tuple[Line, ...]] = {}  # what else people type that could be several things: its own values, SIGN: VALUE, or in words
    in_complaints: dict[str, tuple[Line, ...]] = {}  # what whoever lives with the furnace says for a value, no sign named; DEVELOPERS.md has its form
    alone_in_complaints: dict[str, tuple[Line, ...]] = {}  # the same where it is all of a piece of a complaint, and in more words may be of anything
    not_in_complaints_with: dict[str, tuple[Line, ...]] = {}  # beside which words, in the same form, a complaint does not tell that value
    ends_in_complaints: Ends | None = None  # how people tell that what it is of begins and ends by itself, and when
    figures: Figures | None = None  # where a figure tells the value by itself, whatever the furnace
    also_called: tuple[Line, ...] = ()
    of_things: tuple[Line, ...] = ()  # those of its names that are things a furnace need not have: that there are none of them is no "no"
    minutes: float = model_field(default=1.0, gt=0, le=120)
    cautions: tuple[Id, ...] = ()
    where: Line | None = None
    source: Line = "common practice, no source; the words are judgement"

    @classmethod
    def _as_read(cls, data: Any) -> Any:
        if not isinstance(data, dict):
            return data
        return {**data, **{field: spelled_out(data[field]) for field in ("value_words", "alone_in_complaints", "not_in_complaints_with") if field in data}}

    def ways_in_complaints(self) -> Iterator[tuple[str, str]]:
        """Each value with each phrase that tells it in a complaint, in all its ways."""
        return ((value, way) for value, phrases in self.in_complaints.items() for phrase in phrases for way in each_way(phrase))

    @property
    def danger(self) -> str:
        """What it is called where it tells of a danger."""
        return self.as_danger or self.says

    def meant_by(self, value: str) -> tuple[str, ...]:
        """What a value may be told of: words of what the sign shows, or itself."""
        return self.reads_as.get(value, (value,))

    def is_vaguer(self, value: str, other: str) -> bool:
        """Whether *value* is told of all that *other* is told of, and of more: burners that drop out do light."""
        return {*self.meant_by(value)} > {*self.meant_by(other)}

    def _sound(self) -> None:
        if self.figures is not None and {*self.figures.up_to, self.figures.beyond} - {*self.values}:
            raise ValueError("names a value in `figures` that it does not have")
        if {*self.value_says} - {*self.values}:
            raise ValueError("says in `value_says` what a value means that it does not have")
        if {*self.alone_in_complaints} - {*self.values}:
            raise ValueError("names a value in `alone_in_complaints` that it does not have")
        if {*self.put_right, *(v for right in self.put_right.values() for v in right.of)} - {*self.values}:
            raise ValueError("names a value in `put_right` that it does not have")
        if {g.value for g in self.goes_with} & {*self.put_right}:
            raise ValueError("says in `goes_with` with what a value goes that is put right: it tells as little of every part")
        if self.shows is None and not self.goes_with and not self.only_for_proof:
            raise ValueError("needs `shows` (something the virtual furnace does), `goes_with` (parts) or `only_for_proof`")


class Experiment(Sign):
    """A sign that somebody brings about: what is changed, and what is then watched. *needs*: what must be so before it is tried;
    *needs_shown*: checks that records must meet before it is asked for."""

    experiment: Id
    needs: tuple[Line, ...] = ()
    needs_shown: tuple[Id, ...] = ()

    @classmethod
    def _as_read(cls, data: Any) -> Any:
        return super()._as_read({**data, "sign": data["experiment"]} if isinstance(data, dict) and "experiment" in data else data)


def _sign_or_experiment(value: Any) -> str:
    made = "experiment" in value if isinstance(value, dict) else isinstance(value, Experiment)
    return "experiment" if made else "sign"


AnySign = Annotated[Annotated[Sign, if_called("sign")] | Annotated[Experiment, if_called("experiment")], chosen_by(_sign_or_experiment)]


class Event(Placed):
    """Something that happened before, and what it makes likelier."""

    event: Id
    says: Line
    likelier: dict[str, Literal["some", "much", "made_for_it"]]
    also_called: tuple[Line, ...] = ()
    source: Line = "common practice, no source; the words are judgement"


class Caution(Placed):
    """A warning shown where the act is suggested."""

    caution: Id
    says: Line
    risk_minutes: float = model_field(default=0.0, ge=0, le=60)  # what the risk of it weighs, as minutes, when readings are chosen
    needed_at: tuple[Stands, ...] = ()  # it goes with every repair of a part that stands there
    source: Line
