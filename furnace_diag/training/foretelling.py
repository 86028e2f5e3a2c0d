"""Whether a figure that a trainee foretold was right."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from furnace_diag.knowledge.models import Point
from furnace_diag.training.acts import Act
from furnace_diag.training.bench import Bench
from furnace_diag.training.under_way import UnderWay

FORESEEN = 2.0  # a foretold figure may be off by this many times what the reading itself may
MOST_APART = 4.0  # a foretold figure that the rules expect may be off by this factor from what a good furnace shows, judgement
OPEN_FROM = 1e9  # ohms from which a foretold figure means OL


def was_foretold(
    drill: UnderWay, act: Act, shown: Sequence[float], read: Callable[[Bench], float], doubt: float, floor: float, point: Point | None = None
) -> bool | None:
    """Whether what was foretold is what a good furnace shows now, what the rules expect in this step, or what was then read; None where nothing was.

    None too in a step of which the rules tell nothing, unless just that was read: a good furnace is in another step then, and what it shows is of that.
    """
    if act.expect is None:
        return None
    if point is not None and drill.bench.step() not in point.steps:
        return any(_within(act.expect, v, v, doubt, floor) for v in shown) or None
    good = read(drill.good_bench())
    bands = [(v, v) for v in (good, *shown)]
    bands += [_near_good(e.low, e.high, good) for e in (point.expects if point else ()) if drill.bench.step() in e.steps]
    return any(_within(act.expect, low, high, doubt, floor) for low, high in bands)


def _near_good(low: float, high: float, good: float) -> tuple[float, float]:
    """Of a band that holds for every furnace the piece round what a good one of this kind shows: "1 to 30 ohm" of a winding foretells nothing."""
    return (max(low, good / MOST_APART), min(high, good * MOST_APART)) if 0 < good < math.inf else (low, high)


def _within(value: float, low: float, high: float, doubt: float, floor: float) -> bool:
    """Whether a foretold figure lies in a band, give or take what a reading may be off."""
    if value >= OPEN_FROM or math.isinf(low) or math.isinf(high):
        return value >= OPEN_FROM and math.isinf(high)
    below, above = (FORESEEN * max(doubt * abs(end), floor) for end in (low, high))
    return low - below <= value <= high + above
