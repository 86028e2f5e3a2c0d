"""Calculations and their results as plain lines."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator

from furnace_diag.furnace.calculations import CALCULATIONS, Calculation, Result, Value


def list_lines(width: int) -> Iterator[str]:
    """Every calculation with what it takes."""
    for c in CALCULATIONS.values():
        yield from _hung(c.name, c.says, width)
        yield from _indented(" ".join(f"{i.name}=" if i.needed else f"[{i.name}=]" for i in c.inputs), width)


def wanted_lines(chosen: Calculation, cautions: Iterable[str], width: int) -> Iterator[str]:
    """What a calculation takes and gives, and how to take the values."""
    yield from textwrap.wrap(f"{chosen.says}.", width)
    yield "It takes:"
    for i in chosen.inputs:
        left_out = f" Left out: {i.default}." if i.default else " May be left out." if i.optional else ""
        yield from _hung(f"{i.name}=", f"{i.says}, such as {i.example}.{left_out}", width)
    yield "It gives:"
    for o in chosen.outputs:
        yield from _hung(o.name, f"{o.says} = {o.formula}", width)
    for text in (*chosen.notes, *(f"Caution: {c}" for c in cautions)):
        yield from textwrap.wrap(text, width, subsequent_indent="  ")
    typed = " ".join(f"{i.name}={i.example.replace(' ', '')}" for i in chosen.inputs if i.needed)
    yield from textwrap.wrap(f"For instance: furnace-diag calc {chosen.name} {typed}", width, subsequent_indent="  ")


def result_lines(result: Result, width: int) -> Iterator[str]:
    """What was worked out, from what, by which formula and whose."""
    yield from textwrap.wrap(f"{result.says}.", width)
    yield from textwrap.wrap(f"From {', '.join(f'{name} {text}' for name, text in result.inputs.items())}:", width)
    for value in result.values:
        yield from _value_lines(value, width)
    for note in result.notes:
        yield from textwrap.wrap(note, width, subsequent_indent="  ")
    if result.takes:
        yield from textwrap.wrap(f"As a reading: {result.takes.point} {result.takes.value}", width, subsequent_indent="  ")
    if result.see:
        yield from textwrap.wrap(f"What it means: furnace-diag explain {result.see}", width, subsequent_indent="  ")


def _value_lines(value: Value, width: int) -> Iterator[str]:
    yield from textwrap.wrap(f"{value.name}: {value.text}, {value.says}", width, subsequent_indent="  ")
    yield from _indented(f"{value.name} = {value.formula}", width)
    yield from _indented(f"Source: {value.source}", width)


def _hung(head: str, text: str, width: int) -> list[str]:
    return textwrap.wrap(f"{head}  {text}", width, initial_indent="  ", subsequent_indent="    ")


def _indented(text: str, width: int) -> list[str]:
    return textwrap.wrap(text, width, initial_indent="    ", subsequent_indent="      ")
