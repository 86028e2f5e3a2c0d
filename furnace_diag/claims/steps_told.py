"""In which step of a call it was, told before or behind what was so."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from furnace_diag.claims.our_words import CALLS, spaced
from furnace_diag.claims.typed_pieces import Fields
from furnace_diag.diagnosis.vocabulary import Vocabulary
from furnace_diag.knowledge.models import Point
from furnace_diag.quantities import BadQuantity, parse_quantity

CALLED_FIRST = spaced(rf"^(?:(?:with|while|when) )?(?:the )?{CALLS}$")  # before the clauses of what was then so: "stat calls, no inducer"
STEP_FIRST = spaced(r"^(?:(?:with|while|when|at|on|in|during) )+(?:the )?")  # the same of any step: "at heating, ..."


class StepsTold:
    """Knows the steps of a *vocabulary*."""

    def __init__(self, vocabulary: Vocabulary) -> None:
        self.vocabulary = vocabulary

    def step_first(self, clause: str) -> str:
        """The step that a first clause is nothing but, as in "stat calls" or "at heating"; empty where it is anything else."""
        if CALLED_FIRST.match(clause):
            clause = "at call"
        bare = STEP_FIRST.sub("", clause)
        steps = self.vocabulary.names("step")
        meant = (steps.meant(bare) or steps.meant(clause)) if bare != clause else []
        return meant[0] if len(meant) == 1 else ""

    @staticmethod
    def is_call(text: str) -> bool:
        """Whether a piece tells nothing but that the thermostat calls."""
        return CALLED_FIRST.match(text) is not None

    def is_step_of(self, text: str, fields: Mapping[str, str]) -> bool:
        """Whether a piece tells nothing but the step of what *fields* tell: "120 on heat terminal standby, no call"."""
        return "step" in fields and self.vocabulary.names("step").clear(text) == [fields["step"]]

    def at_step(self, fields: Fields, step: str) -> Fields:
        """What was read, at the step told before it. What a call shows only later is of no first step of it: "stat calls, igniter plug 121"."""
        vocabulary = self.vocabulary
        point, sign = vocabulary.knowledge.point.get(fields["name"]), vocabulary.knowledge.sign.get(fields["name"])
        steps = (point or sign).steps if point or sign else ()  # type: ignore[union-attr]
        if "step" in fields or step not in steps or len(steps) < 2:
            return fields
        in_call = [s for s in vocabulary.sequence.order if s != vocabulary.sequence.starts_at]
        if step != in_call[0]:
            return fields | {"step": step}
        return fields | {"step": step} if point is not None and not self._is_due_later(point, fields["value"], in_call) else fields

    @staticmethod
    def _is_due_later(point: Point, value: str, in_call: Sequence[str]) -> bool:
        """Whether a good furnace shows *value* at steps of a call, and not at its first."""
        try:
            shown = parse_quantity(value, point.unit).value
        except BadQuantity:
            return True
        there = {s for band in point.expects for s in band.steps if band.low <= shown <= band.high}
        return in_call[0] not in there and bool(there & {*in_call})
