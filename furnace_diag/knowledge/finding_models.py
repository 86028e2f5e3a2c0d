"""What rules/findings/ may hold: bands, conditions, proofs, hazards and the other findings."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from furnace_diag.knowledge.model_base import Id, Line, Model, Placed, Unit, model_field, must, read_by

FailureOf = Annotated[str, must(pattern=r"^[a-z][a-z0-9_]{0,59}(:[a-z][a-z0-9_]{0,59})?$")]  # part, or part:failure
Example = tuple[dict[str, object], ...]


def _listed(value: Any) -> Any:
    return (value,) if isinstance(value, str) else value


Ids = Annotated[tuple[Id, ...], read_by(_listed)]
Texts = Annotated[tuple[Line, ...], read_by(_listed)]
SetUp = Literal["load_on", "load_off", "lead_lifted", "plug_off", "thermostat_wires_off", "door_closed", "door_held", "gas_shut", "rod_wire_off"]
SetUps = Annotated[tuple[SetUp, ...], read_by(_listed)]


KINDS = ("point", "sign", "event", "history", "option", "finding", "condition")  # what a line can be about


class Band(Placed):
    """A named range of a reading, in the unit of the point it is used for; both ends belong to it."""

    band: Id
    says: Line
    unit: Unit
    at_least: float | None = None
    at_most: float | None = None
    ghost_up_to: float | None = None  # a sensitive meter's reading up to here does not speak against the band
    source: Line

    def _sound(self) -> None:
        if self.at_least is None and self.at_most is None:
            raise ValueError("needs at_least or at_most")
        if self.at_least is not None and self.at_most is not None and self.at_least > self.at_most:
            raise ValueError("has its ends the wrong way round")


class Wanted(Model):
    """One line of a `when` or `any_of`: a record, a known option of the furnace, or a finding that must be there.

    `is`: the band a reading lies in, or the words a sign may have. Every field that is given must be known of the
    record and agree; what a record leaves out never counts as good. `later_than` names an option of the furnace
    that is a time: the reading was taken at least `by_s` seconds after the longest that it can be. `meets_only`: a record
    to the contrary says nothing of the condition (no flame does not show that there is no 24 V). `step_told`: one to the contrary
    must say at which step it was seen, for without it that is told of the call itself ("blower runs"). Lines of one `all_of` are
    about one and the same heat call, but for those of `any_call` (a cold switch is closed when it is read, not when it opened).
    """

    point: Id | None = None
    sign: Id | None = None
    event: Id | None = None
    history: Id | None = None
    option: Id | None = None
    finding: Id | None = None
    condition: Id | None = None
    is_: Texts = model_field(default=(), written="is")
    step: Ids = ()
    meter: Literal["low", "high"] | None = None
    contact: Literal["pin", "crimp", "load"] | None = None
    set_up: SetUps = ()
    hold: Literal["min", "max"] | None = None
    after_s: float | None = model_field(default=None, ge=0, le=86400)
    until_s: float | None = model_field(default=None, ge=0, le=86400)
    later_than: Id | None = None
    by_s: float = model_field(default=0.0, ge=0, le=86400)
    meets_only: bool = False
    step_told: bool = False
    any_call: bool = False

    def _sound(self) -> None:
        if len(self.names) != 1:
            raise ValueError(f"names exactly one of {', '.join(KINDS)}")
        if (self.point or self.sign or self.option) and not self.is_:
            raise ValueError("needs `is`: a band for a point, a word for a sign or an option")
        if self.point and len(self.is_) > 1:
            raise ValueError("a point lies in one band")

    @property
    def names(self) -> list[tuple[str, str]]:
        """What the line is about: kind and id."""
        return [(kind, name) for kind in KINDS if (name := getattr(self, kind)) is not None]


def _alternatives(value: Any) -> Any:
    """Each alternative as a list of lines that must hold together; a line by itself is a list of one."""
    if not isinstance(value, (list, tuple)):
        return value
    return [a["all_of"] if isinstance(a, dict) and set(a) == {"all_of"} else [a] if isinstance(a, dict) else a for a in value]


When = Annotated[tuple[tuple[Wanted, ...], ...], read_by(_alternatives), must(min_length=1, max_length=40)]


class Condition(Placed):
    """One thing that a proof needs, met in any one of several ways; `once` if it need not be seen in every call.

    `take` says what to do to meet it, where the first alternative does not say it by itself. `denied_by`: what speaks against it, beside the
    same reading or sign with another value.
    """

    condition: Id
    says: Line
    any_of: When
    denied_by: tuple[Wanted, ...] = model_field(default=(), max_length=10)
    once: bool = False
    take: Line | None = None
    source: Line = "common practice, no source"


class Finding(Placed):
    """What all findings share: they hold if any one of `when` does and none of `unless`."""

    says: Line
    when: When
    unless: Ids = ()
    holds: Example = model_field(min_length=1, max_length=60)
    near_miss: Example = model_field(max_length=60)
    source: Line = "common practice, no source"


class Ended(Model):
    """How a repair ends a hazard: what was *found*, a point or sign of it, and the checks *by* which a repair that asks for one of them shows that it is so
    no more; all of them are asked for then. *says*: for the report and the customer."""

    found: Id
    by: tuple[Id, ...] = model_field(min_length=1)
    says: Line


class Hazard(Finding):
    """What stops the visit, the lowest rank first. *ended_by*: how a repair ends some of it; nothing else does, and of the rest no repair does."""

    hazard: Id
    rank: int = model_field(ge=1, le=99)
    now: Line
    call: Line
    ended_by: tuple[Ended, ...] = ()


class Doubt(Finding):
    """A reading that may not mean what it seems to: a meter's trap, a lookalike, two records that do not go together.

    While it stands, no board is cleared of the failures that it `leaves_open`, however unlikely the records make them, unless an exoneration clears them.
    """

    doubt: Id
    do: Line
    leaves_open: tuple[FailureOf, ...] = ()


class RootCause(Finding):
    """What made a part fail; found, or to be looked for before a new part goes in.

    `kills` names the failures it brings about; `look` says how to find it, `accept` when it is cured. `looks_like` names the failures that a good part
    seems to have while it lasts: the limit that opens because the filter is full.
    """

    root_cause: Id
    kills: tuple[FailureOf, ...] = model_field(min_length=1)
    look: Line
    accept: Line
    looks_like: tuple[FailureOf, ...] = ()


class Exoneration(Finding):
    """What clears failures of a part in that call."""

    exoneration: Id
    clears: tuple[FailureOf, ...] = model_field(min_length=1)


class Advice(Finding):
    """What is worth doing, whatever the failed part is."""

    advice: Id
    do: Line


class NearMiss(Model):
    """What to change in an example so that it no longer proves: records *about* a name, some fields `instead`, or left out."""

    about: Id
    instead: dict[str, str | tuple[str, ...]] = {}
    without: tuple[str, ...] = ()
    left_out: bool = False
    because: Line


class Proof(Placed):
    """What must be known before a failure of the board may be called proved.

    `needs` are conditions; all of them, in the same call, in `calls` calls. A record that speaks against one of
    them in any call undoes the proof.
    """

    proof: Id
    says: Line
    of: Annotated[tuple[FailureOf, ...], read_by(_listed)]
    needs: Ids = model_field(min_length=1, max_length=14)
    calls: int = model_field(default=2, ge=1, le=9)
    only_after: Id | None = None  # of its needs, the one that must be met before anybody is asked for the others
    because: Line
    holds: Example = model_field(min_length=1, max_length=60)
    near_miss: NearMiss
    source: Line = "common practice, no source"


FINDING_TYPES: dict[str, type[Placed]] = {
    "band": Band,
    "condition": Condition,
    "proof": Proof,
    "hazard": Hazard,
    "doubt": Doubt,
    "root_cause": RootCause,
    "exoneration": Exoneration,
    "advice": Advice,
}
FINDINGS = ("hazard", "doubt", "root_cause", "exoneration", "advice")  # those with a `when` of their own
