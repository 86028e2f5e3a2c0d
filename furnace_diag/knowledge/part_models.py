"""What rules/parts/ may hold: parts, the ways in which they fail, and what each failure does to the furnace."""

from __future__ import annotations

from typing import Literal

from furnace_diag.knowledge.model_base import Id, Line, Model, Placed, model_field

Often = Literal["very_common", "common", "uncommon", "rare", "very_rare"]


class Effect(Model):
    """What a failure does to the furnace: to an element, to a quantity, or to what the control knows.

    Exactly one of `element`, `quantity`, `input` names the target. A pair of figures is a range from which the severity
    is drawn. *reads_good_share*: on how many of the furnaces the ohms that are added do not show in an ohmmeter, whose milliamps find a way through a
    film or past a hair of metal that amps do not.
    """

    element: Id | None = None
    quantity: Id | None = None
    input: Id | None = None
    is_: str | None = model_field(default=None, written="is")
    ohms: tuple[float, float] | None = None
    adds_ohms: tuple[float, float] | None = None
    times: tuple[float, float] | None = None
    reads_good_share: float = model_field(default=0, ge=0, le=1)

    def _sound(self) -> None:
        if self.reads_good_share and self.adds_ohms is None:
            raise ValueError("has a reads_good_share only where it adds_ohms")
        if sum(t is not None for t in (self.element, self.quantity, self.input)) != 1:
            raise ValueError("names exactly one of element, quantity, input")
        if sum(d is not None for d in (self.is_, self.ohms, self.adds_ohms, self.times)) != 1:
            raise ValueError("says exactly one of is, ohms, adds_ohms, times")


class ComesAndGoes(Model):
    """A failure that is there in a share of the heat calls only, and then from some step on ("opens when warm"), or from the start of the call.

    *quits_after_s*: on half of the furnaces it sets in only while they burn steadily, so long after that began [s]. *still_there_share*: on how many of
    the furnaces it is still there when the call is over and the power is off; few where it takes heat.
    """

    share: float = model_field(gt=0, lt=1)
    from_step: Id | None = None
    quits_after_s: tuple[float, float] | None = None
    still_there_share: float = model_field(default=0.5, ge=0, le=1)


class Failure(Model):
    """One way a part fails; with `like`, it does what that failure of the same part does. *only_when*: the option without which it cannot be there.

    *trips_with*: outputs whose load makes it trip the breaker. On some sites the furnace is found dead so; on the others (`reset_and_watched_share` of
    the family) somebody has put the breaker in again and watches a call up to the first step that drives one of them.
    *comes_back*: it fills up, films over or clogs again after a cleaning, so that one which helped for a while speaks for it.
    """

    failure: Id
    says: Line
    share: float = model_field(gt=0, le=1000)
    like: Id | None = None
    comes_and_goes: ComesAndGoes | None = None
    comes_back: bool = False
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

    minutes: float = model_field(ge=0, le=1000)
    price: float = model_field(ge=0, le=10000)


class Part(Placed):
    """What can fail."""

    part: Id
    says: Line
    to_customer: Line | None = None  # what it is called to somebody who knows no furnaces; goes on from "The"
    repair: RepairCost = RepairCost(minutes=30.0, price=50.0)
    kind: Id | None = None
    element: Id | None = None
    often: Often
    also_called: tuple[Line, ...] = ()
    failures: tuple[Failure, ...] = ()
    leaves_out: tuple[Id, ...] = ()
    # parts, or part:failure, that are easily left wrong when this one is replaced or cleaned; those of its own lie in how it is fitted, set or chosen
    disturbs: tuple[Line, ...] = ()
    refit_renews: tuple[Line, ...] = ()  # likewise what alone is renewed when this one is taken off and put back, which leaves it as it was
    source: Line = "common practice, no source"
