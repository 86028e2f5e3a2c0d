"""Checks that the furnace of a drill answers itself, as the rules say by what (`answered_by` of a sign)."""

from __future__ import annotations

import math

from furnace_diag.furnace.observe import reading
from furnace_diag.knowledge.models import AnsweredBy, Point, Sign
from furnace_diag.knowledge.words import OF_A_CALL
from furnace_diag.quantities import format_quantity
from furnace_diag.training.bench import ROW, Bench, as_shown


def point_of(bench: Bench, sign: Sign) -> Point | None:
    """The point that reads what answers a check, where one does."""
    assert sign.answered_by is not None
    return next((p for p in bench.family.points if p.reads == sign.answered_by.reads), None)


def not_yet(bench: Bench, by: AnsweredBy) -> str:
    """Why a check cannot be answered now; empty where it can."""
    if by.steps and bench.step() not in by.steps:
        return f"That is told at {' or '.join(s.replace('_', ' ') for s in by.steps)}; now it is {bench.step().replace('_', ' ')}."
    if bench.burning() < by.after_s:
        left = math.ceil(by.after_s - bench.burning())
        return f"That is told after {by.after_s / 60:g} minutes of burning. Run the clock on: wait {left} s."
    return ""


def answered(bench: Bench, sign: Sign) -> tuple[str, str] | None:
    """The word of a check and the figure behind it, as the furnace stands; None where there is nothing to read."""
    by, point = sign.answered_by, point_of(bench, sign)
    assert by is not None
    figure = bench.of_call(by.reads) if by.reads in OF_A_CALL else float(reading(bench.operation, by.reads, ROW)[0])
    if math.isnan(figure) or figure < by.least:
        return None
    unit = f" {sign.figures.unit}" if sign.figures is not None else ""
    shown = format_quantity(as_shown(figure), point.unit, ascii=True) if point is not None else f"{figure:.3g}{unit}"
    quantities = bench.operation.furnaces.quantities
    figure -= float(quantities[by.less][0]) if by.less else 0.0
    figure /= float(quantities[by.share_of][0]) if by.share_of else 1.0
    return word_for(by, figure), shown


def word_for(by: AnsweredBy, figure: float) -> str:
    """The first word in whose figures this one lies, the last where none has it."""
    held = (w for w, f in by.values.items() if (f.low is None or figure >= f.low) and (f.high is None or figure <= f.high))
    return next(held, list(by.values)[-1])
