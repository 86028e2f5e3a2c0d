"""All that a rule file may hold, and all rule files together: typed, immutable models, one for each kind of entry.

The models of a folder of rules stand in a file of their own: `furnace_models.py` with `machine_models.py`, `part_models.py`, `point_models.py`,
`finding_models.py`, `repair_models.py`. Here are those of rules/words.yaml, rules/visit.yaml and rules/customer.yaml, and `Knowledge`, which holds
all entries by id. Every scalar reaches these models as text (see yaml_text); the models say what it must be.
"""

from __future__ import annotations

from functools import cached_property
from typing import Annotated, Any, Literal

from furnace_diag.knowledge.finding_models import FINDING_TYPES, Advice, Band, Condition, Doubt, Exoneration, Hazard, Proof, RootCause
from furnace_diag.knowledge.furnace_models import Call, Element, Furnace, Sequence, Step, TakenOff, Wiring
from furnace_diag.knowledge.machine_models import Machines
from furnace_diag.knowledge.model_base import Id, Line, Model, Placed, model_field, must
from furnace_diag.knowledge.part_models import ComesAndGoes, Effect, Failure, Kind, Often, Part, RepairCost
from furnace_diag.knowledge.point_models import (
    AnsweredBy,
    AnySign,
    Caution,
    Event,
    Experiment,
    Figures,
    Goes,
    GoesWith,
    Point,
    Sign,
    State,
    Trial,
    Try,
    Within,
    spelled_out,
)
from furnace_diag.knowledge.repair_models import REPAIR_TYPES, Check, Repair

__all__ = [  # what the other rooms name; they import it from here, but for findings and repairs
    "ENTRY_TYPES",
    "AnsweredBy",
    "Call",
    "Choice",
    "ComesAndGoes",
    "Effect",
    "Element",
    "Event",
    "Experiment",
    "Failure",
    "Figures",
    "Furnace",
    "GoesWith",
    "Knowledge",
    "Machines",
    "Notice",
    "Part",
    "Point",
    "Question",
    "RepairCost",
    "Row",
    "Sequence",
    "Sign",
    "State",
    "Step",
    "TakenOff",
    "Trial",
    "Try",
    "Wiring",
    "Within",
    "Words",
]


class Question(Placed):
    """What a visit asks before any reading: a sign, with single keys for its values."""

    question: Id
    group: Literal["safety", "behaviour", "rest"]
    asks: Line
    sign: Id
    keys: dict[Annotated[str, must(pattern=r"^[a-z]$")], str] = model_field(min_length=2)
    nobody_knows: tuple[str, ...] = ()  # what leaves it open, because there was nobody to ask
    yes_is: str | None = None  # the worst value, of a question to which a yes may be several
    ends: tuple[str, ...] = ()  # values after which the questions of its group that follow have no answer yet
    answered_by: dict[Id, tuple[str, ...]] = {}  # values of other signs that answer it as well
    or_of: tuple[Id, ...] = ()  # signs of the same thing: what is typed at the question and is no value of its own sign is one of theirs
    only_after: dict[Id, tuple[str, ...]] = {}  # of the rest: values of signs that leave it open; by any other it is not asked
    due: Id | None = None  # the step at which it has an answer; any if left out


class Row(Placed):
    """Points that are read one after another in one place, so that one line tells them all."""

    row: Id
    says: Line
    points: tuple[Id, ...] = model_field(min_length=2, max_length=8)


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

    minute: float = model_field(gt=0, le=1000)
    otherwise: float = model_field(gt=0, le=10000)
    other_call: float = model_field(default=0.0, ge=0, le=100)


class NoReading(Model):
    """What people type that is no reading, by phrases of it, and what to tell them instead. *found_so*: it tells how things stand, and of nobody's doing
    unless it begins with what was done."""

    said: tuple[Line, ...] = model_field(min_length=1)
    says: Line
    found_so: bool = False


class DangersSaid(Model):
    """Words by which anybody's own text tells of a danger, or only seems to: *words* in groups with a name each, and rows of such names.

    A row *in_a_row* is met by a word of each group, one right after the other; one *in_a_sentence*, by one of each in any order. What is *harmless*
    is taken out of the text first, in a row too; *harmless_there* only where the sentence does not go on to another place, the first row of a pair
    *harmless_with* or *harmless_there_with* only in a sentence that has the second too. *other_kinds*: of a sign, what right before one of its names makes
    that another thing's: a "water heater leak" is no leak of gas. *told_as*: the value that a row tells of a sign, where that is not yes; a figure with its
    unit tells it first. *over*: what right behind a danger says that it is so no more, unless *back* stands later in the same text; *some_time*: when it
    was so, which may stand between. Right beside a danger that *passes* by itself *long_ago* says that it was so then. A row *over_in_a_row* tells by
    itself of what was, and is over. *by_figure*: the rows by which a figure is told beside a sign.
    """

    words: dict[Id, tuple[Line, ...]] = {}
    in_a_row: dict[Id, tuple[tuple[Id, ...], ...]] = {}
    in_a_sentence: dict[Id, tuple[tuple[Id, ...], ...]] = {}
    harmless: tuple[tuple[Id, ...], ...] = ()
    harmless_there: tuple[tuple[Id, ...], ...] = ()
    harmless_with: tuple[tuple[tuple[Id, ...], tuple[Id, ...]], ...] = ()
    harmless_there_with: tuple[tuple[tuple[Id, ...], tuple[Id, ...]], ...] = ()
    other_kinds: dict[Id, tuple[Line, ...]] = {}
    told_as: dict[Id, Line] = {}
    over: tuple[Line, ...] = ()
    back: tuple[Line, ...] = ()
    some_time: tuple[Line, ...] = ()
    long_ago: tuple[Line, ...] = ()
    passes: tuple[Id, ...] = ()
    over_in_a_row: dict[Id, tuple[tuple[Id, ...], ...]] = {}
    by_figure: dict[Id, tuple[tuple[Id, ...], ...]] = {}


class ClaimWords(Model):
    """How a claim is judged, and what clerks and shops write; rules/words.yaml says what each entry means."""

    elsewhere: float = model_field(ge=0.5, lt=1)
    least_records: int = model_field(ge=1, le=99)
    together: float = model_field(gt=0, lt=1)
    told_apart: float = model_field(ge=1, le=1000)
    worth_naming: float = model_field(default=0.0, ge=0, lt=0.5)
    worth_asking: float = model_field(default=0.0, ge=0, lt=0.5)
    headings: dict[Id, tuple[Line, ...]] = {}
    headings_alone: dict[Id, tuple[Line, ...]] = {}
    outcomes: dict[Literal["bad", "good", "not_tested"], tuple[Line, ...]] = {}
    not_taken: tuple[str, ...] = ()
    no_record: tuple[str, ...] = ()
    blames: tuple[str, ...] = ()
    renewed: tuple[str, ...] = ()
    says_little: tuple[str, ...] = ()
    works_again: tuple[str, ...] = ()
    of_a_motor_told: tuple[str, ...] = ()
    gauge_of: dict[str, str] = model_field(default_factory=dict)
    judged: tuple[str, ...] = ()
    judged_live: tuple[str, ...] = ()
    judged_dead: tuple[str, ...] = ()
    told_after: dict[Line, dict[Id, Line]] = {}
    of_a_motor: tuple[Line, ...] = ()
    in_and_out: dict[Id, tuple[Id, Id]] = {}
    tells_of_light: tuple[str, ...] = ()
    fails_to: tuple[str, ...] = ()
    brings_about: tuple[str, ...] = ()
    brings_about_nothing: tuple[str, ...] = ()
    opines: tuple[Line, ...] = ()
    stands: dict[str, tuple[Id, ...]] = {}
    said_of_dangers: DangersSaid = DangersSaid()


class RepairSaid(Model):
    """What is said of an earlier repair in two halves, one after the other: what was *done*, *then* what came of it.

    *means*: of each word of the history, the kinds of halves that together mean it. *says_more*: of a word of the history that says what was done, those
    that say it and what came of it. *by_means*: what it was done with, *by_whom*: who did it, which tell no more. *still*: how that begins which is "still"
    wrong after it.
    """

    done: dict[Id, tuple[Line, ...]] = {}
    then: dict[Id, tuple[Line, ...]] = {}
    means: dict[Id, tuple[tuple[Id, Id], ...]] = {}
    says_more: dict[Id, tuple[Id, ...]] = {}
    by_means: tuple[Line, ...] = ()
    still: tuple[Line, ...] = ()
    by_whom: tuple[Line, ...] = ()

    @classmethod
    def _as_read(cls, data: Any) -> Any:
        return {**data, **spelled_out({"still": data["still"]})} if isinstance(data, dict) and "still" in data else data


class TimesSaid(Model):
    """How whoever lives with a furnace tells a time. *some*: words for a figure; *units*: the seconds of each; *in_other_words*: the seconds of what has
    no figure. *about*: before a time; *or_so*: behind one; *to*: between two figures;
    *within*: before the time after which something is so. *when_or_why*: what tells that
    behind something, and no time of it."""

    some: dict[Line, float] = {}
    units: dict[Line, float] = {}
    in_other_words: dict[Line, float] = {}
    about: tuple[Line, ...] = ()
    to: tuple[Line, ...] = ()
    or_so: tuple[Line, ...] = ()
    within: tuple[Line, ...] = ()
    when_or_why: tuple[Line, ...] = ()


class InLines(Model):
    """What any line of a record may hold; rules/words.yaml says what each entry means."""

    w_is_with: tuple[Line, ...] = ()
    n_is_and: tuple[Line, ...] = ()
    cold: tuple[Line, ...] = ()
    several_calls: tuple[Line, ...] = ()

    @classmethod
    def _as_read(cls, data: Any) -> Any:
        return spelled_out(data)


class PromptSaid(Model):
    """What people type at a prompt that is no reading by itself; rules/words.yaml says what each entry means."""

    knows_not: tuple[Line, ...] = ()
    cannot: tuple[Line, ...] = ()
    cannot_do: tuple[Line, ...] = ()
    from_here: tuple[Line, ...] = ()
    not_so_far: tuple[Line, ...] = ()
    asks: tuple[Line, ...] = ()
    asks_how: tuple[Line, ...] = ()
    asks_for_steps: tuple[Line, ...] = ()
    takes_back: tuple[Line, ...] = ()
    means_instead: tuple[Line, ...] = ()
    taken_back: tuple[Line, ...] = ()
    lacks: tuple[Line, ...] = ()
    fitted: tuple[Line, ...] = ()
    of_new: tuple[Line, ...] = ()
    across_it: tuple[Line, ...] = ()
    read_now: tuple[Line, ...] = ()

    @classmethod
    def _as_read(cls, data: Any) -> Any:
        return spelled_out(data)


class ValueBesides(Model):
    """What people say beside a value. *of_what*: what it is of ("matted with dirt"). *where*: a place ("split at the end"), after which only
    *bad_in_part* is meant: values that a thing has as soon as a part of it has them."""

    of_what: tuple[Line, ...] = ()
    where: tuple[Line, ...] = ()
    bad_in_part: tuple[Id, ...] = ()


class Words(Placed):
    """The numbers behind the words: one table, which a shop may replace."""

    words: Id
    often: dict[Often, float]
    goes: dict[Goes, float]
    likelier: dict[str, float]
    slip: dict[str, float]
    looked_twice: float = model_field(gt=0, lt=1)
    step_stated: dict[str, float]
    something_else: float = model_field(gt=0, lt=0.5)
    second_failure: float = model_field(gt=0, lt=0.5)
    history: dict[str, float]
    neighbour_disturbed: float = model_field(ge=1, le=100)
    came_back: float = model_field(ge=1, le=100)
    verdict: dict[Literal["suspected", "unlikely", "cleared", "still_fits", "unknown", "another_leads"], float]
    delay_margin_s: float = model_field(ge=0, le=600)
    choice: Choice
    claims: ClaimWords
    instruments: dict[Id, tuple[Id, ...]]
    value_words: dict[str, tuple[Line, ...]] = {}
    repair_said: RepairSaid = RepairSaid()
    value_besides: ValueBesides = ValueBesides()
    times: TimesSaid = TimesSaid()
    in_lines: InLines = InLines()
    at_prompt: PromptSaid = PromptSaid()
    none_before: tuple[Line, ...] = ()  # what says, where it is asked what was done before the visit, that nothing was
    beside_no: tuple[Line, ...] = ()  # what may follow a no and leaves it one
    no_news: tuple[Line, ...] = ()  # what of a complaint tells no more than that a furnace does not heat
    no_reading: tuple[NoReading, ...] = ()
    beside_mark: tuple[Line, ...] = ()  # between a reading and what its part is marked with
    left_out_of_names: tuple[Line, ...] = ()  # words of names that people leave out, because they tell nothing there
    loads: tuple[Line, ...] = ()  # what the board's outputs feed
    alike_in_names: dict[Line, tuple[Line, ...]] = {}  # words of names that tell the same thing there, by the one that stands for them
    short_words: dict[Line, tuple[Line, ...]] = {}
    short_of_steps: dict[Line, tuple[Line, ...]] = {}  # where a step is told, before those
    no_slips: tuple[Line, ...] = ()
    several_parts: dict[Line, tuple[Id, ...]] = {}  # names that are short for several parts, where it is told what was done to one
    several_names: dict[Line, tuple[Id, ...]] = {}  # names that are short for several points, signs or events
    told_by_value: dict[Line, dict[Id, tuple[Line, ...]]] = {}  # names that are short for the sign that has one of these values
    told_mended: dict[Id, tuple[Line, ...]] = {}  # by the repair, what tells at the prompt that the cause of what stops a visit was mended
    denied_of: dict[Line, Id] = {}  # words after a no that name one sign, and are told of another
    step_tells: dict[Id, Id] = {}  # the sign that is meant where only a step is named
    source: Line

    @classmethod
    def _as_read(cls, data: Any) -> Any:
        """With the phrases of values in all their ways."""
        if not isinstance(data, dict):
            return data
        told = data.get("told_by_value", {})
        told = {name: spelled_out(signs) for name, signs in told.items()} if isinstance(told, dict) else told
        return {**data, "value_words": spelled_out(data.get("value_words", {})), "told_by_value": told}


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
