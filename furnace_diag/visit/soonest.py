"""How soon after another a step of the heat call can begin, by the shortest times that the family's furnaces have."""

from __future__ import annotations

from collections.abc import Mapping

from furnace_diag.knowledge.furnace_models import Furnace, Sequence, Step


def soonest(step: str, start: str, sequence: Sequence, furnace: Furnace, options: Mapping[str, str]) -> float:
    """Seconds from the beginning of *start* to that of *step*, both of the order of a heat call, at the least.

    *options*: of the furnace, as far as they are known. A step that a furnace leaves for the next as something comes about may take no time at all.
    """
    order = sequence.order
    way = order[order.index(start) : order.index(step)]
    steps = {s.step: s for s in sequence.steps}
    return sum(_at_least(steps[here], order[order.index(here) + 1], furnace, options) for here in way)


def _at_least(step: Step, then: str, furnace: Furnace, options: Mapping[str, str]) -> float:
    """The shortest time [s] of a step before *then*, 0 where no clock keeps it from going there."""
    if step.lasts is None or step.then != then or any(leave.go == then for leave in step.leave):
        return 0.0
    return _least(step.lasts.strip("<>"), furnace, options)


def _least(name: str, furnace: Furnace, options: Mapping[str, str]) -> float:
    """The least that a number can be: a plain one, an option's value, or a spread of the furnace."""
    if name in furnace.options:
        return min(map(float, [options[name]] if name in options else furnace.options[name].values))
    if name not in furnace.numbers:
        return float(name)
    spread = furnace.numbers[name]
    lows = [spread.between[0], *(ends[0] for by_value in spread.instead.values() for ends in by_value.values())]
    return min(lows) * (_least(spread.of, furnace, options) if spread.of is not None else 1.0)
