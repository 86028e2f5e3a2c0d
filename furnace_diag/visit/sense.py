"""Meter sense: a reading that no furnace of these rules gives is questioned once, before it counts."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.records import Record
from furnace_diag.diagnosis.vocabulary import either
from furnace_diag.diagnosis.weigh import numeric_fit
from furnace_diag.knowledge.point_models import FLOOR, Point
from furnace_diag.quantities import format_quantity

LEAST_FIT = 0.01  # of the best furnace; below it a reading is questioned, judgement
DEAD_FUNCTIONS = ("ohms", "microfarads")  # read only on a dead circuit, with the part's leads off
ALTERNATING, DIRECT = (" ac", "vac", "aac"), (" dc", "vdc", "adc")


def doubt_about(record: Record, typed: Mapping[str, Any], evidence: Evidence) -> str:
    """What to ask before *record* is kept, or nothing. *typed*: its fields as they were typed."""
    point = evidence.knowledge.point.get(record.name) if record.kind == "point" else None
    if point is None:
        return ""
    if point.function in DEAD_FUNCTIONS and record.step is not None and record.step not in point.steps:
        off = evidence.family.sequence.roles.off.replace("_", " ")
        return f"Ohms on a live circuit spoil the meter and tell nothing: {point.says} is read at {off}. Was the power off?"
    said = f" {str(typed.get('value', '')).lower()}"
    if point.function.startswith("dc") and said.endswith(ALTERNATING):
        return f"{point.says} is read in direct current; on the AC range it means nothing. Is the figure from a DC range?"
    if point.function.startswith("ac") and said.endswith(DIRECT):
        return f"{point.says} is alternating current; a DC range shows next to nothing. Is the figure from an AC range?"
    return _out_of_range(record, evidence)


def _out_of_range(record: Record, evidence: Evidence) -> str:
    """A figure that no virtual furnace comes near, healthy or with any failure; with the steps at which some furnace reads so."""
    if record.number is None or np.isinf(record.number):
        return ""
    point = evidence.knowledge.point[record.name]
    predicted = _read_at(record.name, record.step, evidence)
    if not predicted.size or _is_given(record, predicted, point):
        return ""
    others = dict.fromkeys(step for name, step, _ in evidence.population.columns if name == record.name and step != record.step and record.step is not None)
    elsewhere = [step.replace("_", " ") for step in others if _is_given(record, _read_at(record.name, step, evidence), point)]
    finite = predicted[np.isfinite(predicted)]
    low, high = (format_quantity(float(f"{v:.3g}"), point.unit, ascii=True) for v in (finite.min(), finite.max())) if finite.size else ("", "")
    spread = low if low == high else f"{low} to {high}"
    or_open = " or OL" if np.isposinf(predicted).any() else ""
    usual = f" Any furnace of these rules, healthy or not, reads {spread}{or_open} there." if finite.size else ""
    moved = f" At {either(elsewhere)} some read so: was it then?" if elsewhere else ""
    return f"{format_quantity(record.number, point.unit, ascii=True)} for {record.name}?{usual}{moved} Right point, range and unit?"


def _read_at(name: str, step: str | None, evidence: Evidence) -> NDArray[np.float64]:
    """What the virtual furnaces read of a point at a step, or at any where none is told; empty where it is read at none."""
    columns = [i for (point, at, _), i in evidence.population.columns.items() if point == name and step in (None, at)]
    return evidence.population.table[columns].astype(float)


def _is_given(record: Record, predicted: NDArray[np.float64], point: Point) -> bool:
    """Whether some furnace comes near the reading."""
    assert record.number is not None
    return bool(numeric_fit(predicted, record.number, point.doubt, FLOOR[point.unit]).max(initial=0) >= LEAST_FIT)
