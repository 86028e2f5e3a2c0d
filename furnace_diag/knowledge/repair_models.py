"""What rules/repairs/ may hold: how a part is put right, and what proves afterwards that it was."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from furnace_diag.knowledge.finding_models import Example, FailureOf, Ids, Texts, When
from furnace_diag.knowledge.model_base import Id, Line, Model, Placed, model_field, must, read_by
from furnace_diag.knowledge.part_models import RepairCost

Stands = Literal["line", "gas", "capacitor"]  # where a part can hurt; `repairs.places_of` tells it from the furnace


class Check(Placed):
    """What is proved before or after a repair, met in any one of several ways, in `calls` heat calls; `once` if no call need hold it.

    A record that speaks against it, in any call, denies it. `after_any_repair` puts it behind every repair;
    `needed_at` behind every repair of a part that stands there. The examples are of one call.
    """

    check: Id
    says: Line
    any_of: When
    once: bool = False
    calls: int = model_field(default=1, ge=1, le=9)
    take: Line | None = None
    after_any_repair: bool = False
    needed_at: tuple[Stands, ...] = ()
    holds: Example = model_field(min_length=1, max_length=60)
    near_miss: Example = model_field(min_length=1, max_length=60)
    source: Line = "common practice, no source"

    def _sound(self) -> None:
        if self.once and self.calls > 1:
            raise ValueError("is met `once` and in several `calls`; leave one of them out")


class RepairStep(Model):
    """One thing to do, with what to mind while doing it.

    `shown_by`: checks of `before` that are met by this step, and asked for as it is done; `fits_fuse`: a new low-voltage fuse goes in where
    the old one is blown.
    """

    do: Line
    cautions: Ids = ()
    shown_by: Ids = ()
    fits_fuse: bool = False


def _step(value: Any) -> Any:
    return {"do": value} if isinstance(value, str) else value


Steps = Annotated[tuple[Annotated[RepairStep, read_by(_step)], ...], must(min_length=1, max_length=30)]


class Repair(Placed):
    """How one or several failures are put right.

    `to_customer`: what else is done than work on the part, as a sentence for somebody who knows no furnaces.
    `confirm`: the id of a condition, point or sign, or in words what to read or look at before the part is touched; `confirm_of`: of single failures of
    the part, points and signs by their ids that are read before what `confirm` names.
    `before` and `after` are checks, in order. Those of `before` that a step is `shown_by` are met by that step, the others before the
    first one. With `needs_proof` a proof of the failure must be complete before the first step. `leaves_part`: the part stays, cleaned or reseated.
    `takes`: what it costs, where that is not what the part costs.
    """

    repair: Id
    of: Annotated[tuple[FailureOf, ...], read_by(lambda value: (value,) if isinstance(value, str) else value), must(min_length=1)]
    says: Line
    to_customer: Line | None = None
    confirm: Texts = model_field(min_length=1)
    confirm_of: dict[Id, Ids] = {}
    needs_proof: bool = False
    leaves_part: bool = False
    takes: RepairCost | None = None
    before: Ids = ()
    cautions: Ids = ()
    steps: Steps
    after: Ids = ()
    source: Line = "common practice, no source"


REPAIR_TYPES: dict[str, type[Placed]] = {"repair": Repair, "check": Check}
