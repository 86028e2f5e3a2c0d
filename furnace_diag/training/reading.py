"""Acts of a drill with a meter: a named point, and volts or ohms between any two terminals."""

from __future__ import annotations

import math

from furnace_diag.knowledge.models import Point
from furnace_diag.knowledge.point_models import FLOOR
from furnace_diag.quantities import format_quantity
from furnace_diag.training.acts import Act, Told
from furnace_diag.training.bench import as_shown
from furnace_diag.training.foretelling import was_foretold
from furnace_diag.training.touching import DEAD_ONLY, hurts_to_read, hurts_when_live, nodes_of
from furnace_diag.training.under_way import Hear, UnderWay

FREE_MINUTES = 2.0  # of a reading between two terminals that the rules have no point for, judgement
FREE_DOUBT = 0.08  # share by which a reading between two terminals may be off what is foretold, judgement
ALIKE = 0.01  # share by which ohms in place and ohms with the leads off may differ and still be one reading, judgement


def read(drill: UnderWay, act: Act, hear: Hear) -> Told:
    """A point, at once or over some seconds."""
    bench, point = drill.bench, drill.k.point[str(act.what)]
    stopped = hurts_to_read(drill, point) if point.function in DEAD_ONLY else None
    stopped = stopped or drill.gas.before_reading(point)
    if stopped is not None:
        return stopped
    drill.minutes += point.minutes
    shown = [bench.point(point, act.meter)]
    if act.seconds:
        drill.run(act.seconds, hear, lambda: shown.append(bench.point(point, act.meter)))
        drill.minutes += act.seconds / 60
    if all(math.isnan(v) for v in shown):
        return Told("cannot", f"{point.says}: there is nothing to read now.", point.cautions)
    if point.function == "ohms":
        drill.fuse_searched |= bench.looks_for_short(nodes_of(drill.family, point))
    shown = [v for v in shown if not math.isnan(v)]
    floor = min(point.floor, FLOOR[point.unit])  # some are as wide as a whole winding, of which only OL is judged
    right = was_foretold(drill, act, shown, lambda good: good.point(point, act.meter), point.doubt, floor, point)
    for hold, value in (("min", min(shown)), ("max", max(shown))) if act.seconds else ((None, shown[0]),):
        drill.notes.point(point, value, act.meter, hold, right if hold != "max" else None)
    low, high = (format_quantity(as_shown(v), point.unit, ascii=True) for v in (min(shown), max(shown)))
    text = f"{point.says}: {low}" if not act.seconds else f"{point.says}, over {act.seconds:g} s: lowest {low}, highest {high}"
    return Told("reading", text + drill.notes.unless_weighed(point), point.cautions)


def volts(drill: UnderWay, act: Act, hear: Hear) -> Told:
    """Volts between two terminals; as the point that is read there, where the rules have one."""
    pair = (str(act.what), str(act.other))
    point = _point_between(drill, pair)
    if point is not None:
        return read(drill, act.model_copy(update={"what": point.point}), hear)
    drill.minutes += FREE_MINUTES
    value = drill.bench.volts(pair, act.meter)
    right = was_foretold(drill, act, [value], lambda good: good.volts(pair, act.meter), FREE_DOUBT, FLOOR["V"])
    drill.notes.note(None, f"volts, {pair[0]} to {pair[1]}: {as_shown(value):g} V", right)
    return Told("reading", f"{_lies(drill, pair)}: {format_quantity(as_shown(value), 'V', ascii=True)} (not weighed)", ("live_line",))


def ohms(drill: UnderWay, act: Act, hear: Hear) -> Told:
    """Ohms between two terminals; as the point that is read there, where the rules have one that the meter would show there."""
    pair = (str(act.what), str(act.other))
    stopped = hurts_when_live(drill, pair, f"ohms from {pair[0]} to {pair[1]}", charge=False)
    if stopped is not None:
        return stopped
    value = drill.bench.ohms(pair)
    point = _part_between(drill, pair, value)
    if point is not None:
        return read(drill, act.model_copy(update={"what": point.point}), hear)
    drill.minutes += FREE_MINUTES
    drill.fuse_searched |= drill.bench.looks_for_short(pair)
    right = was_foretold(drill, act, [value], lambda good: good.ohms(pair), FREE_DOUBT, FLOOR["ohm"])
    drill.notes.note(None, f"ohms, {pair[0]} to {pair[1]}: {'OL' if math.isinf(value) else f'{as_shown(value):g} ohm'}", right)
    return Told("reading", f"{_lies(drill, pair)}: {format_quantity(as_shown(value), 'ohm', ascii=True)} (not weighed)", ("dead_first",))


def _point_between(drill: UnderWay, pair: tuple[str, str]) -> Point | None:
    """The point of volts between those two terminals, of several one that the rules list for this step."""
    found = [p for p in drill.family.points if p.leads is not None and {*p.leads} == {*pair}]
    return min(found, key=lambda p: drill.notes.step_of(p) is None, default=None)


def _part_between(drill: UnderWay, pair: tuple[str, str], ohms: float) -> Point | None:
    """The point of ohms that is read between those two terminals, where nothing beside it changes what the meter shows."""
    for point in drill.family.points:
        way, _, names = str(point.reads).partition(":")
        if way != "ohms" or ":" in names:
            continue
        ends = [n for name in names.split("+") for n in drill.family.elements[drill.family.number[name]].between or ()]
        if {n for n in ends if ends.count(n) == 1} != {*pair}:
            continue
        own = drill.bench.point(point, "high")
        if own == ohms or abs(own - ohms) <= ALIKE * abs(ohms):
            return point
    return None


def _lies(drill: UnderWay, pair: tuple[str, str]) -> str:
    nodes = drill.family.wiring.nodes
    return f"From {nodes[pair[0]]} to {nodes[pair[1]]}"
