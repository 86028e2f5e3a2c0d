"""A report file and its records as they are written, before anything in them is understood."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import replace
from typing import Annotated, Any, Literal, TypeVar, get_args

from furnace_diag.knowledge.find import Names
from furnace_diag.knowledge.model_base import Model, held_by, model_field, read_by
from furnace_diag.knowledge.spelling import plain
from furnace_diag.knowledge.yaml_text import Document
from furnace_diag.problems import BadInput

MOST_RECORDS = 1000
KINDS = ("point", "sign", "experiment", "event", "history")
METERS = {
    "low": ("lo z", "low z", "loz", "lowz", "low impedance", "low imp", "lo imp"),
    "high": ("hi z", "high z", "hiz", "high impedance", "ordinary", "normal", "dmm"),
}
CALL = "`call` counts the heat calls, from 1. That heat is called for is told by `step: call`."


def _bounded(text: str) -> str:
    if len(text) > 500:
        raise ValueError("is too long; keep it to 500 characters")
    return text


Text = Annotated[str, held_by(_bounded)]
Meter = Literal["low", "high"]
Contact = Literal["pin", "crimp", "load"]
Hold = Literal["min", "max"]
Source = Literal["measured", "seen", "told"]
_Entry = TypeVar("_Entry", bound=Model)


def _meter(said: object) -> object:
    """`low` or `high` for the words on meters; anything else as it was."""
    return next(iter(Names(METERS).meant(said)), said) if isinstance(said, str) and said not in METERS else said


def _several(said: object) -> object:
    """A list of words, where only one was written too; each as an id is spelled."""
    many = [said] if isinstance(said, str) else said
    return [plain(m).replace(" ", "_") if isinstance(m, str) else m for m in many] if isinstance(many, list) else said


class RecordEntry(Model):
    """One record as a report file holds it: the kind and name of what was learnt, its value, and how it was learnt."""

    point: Text | None = None
    sign: Text | None = None
    experiment: Text | None = None
    event: Text | None = None
    history: Text | None = None
    value: Text = model_field(default="yes", description="Write one figure or word.")
    step: Text | None = None
    call: int = model_field(default=1, ge=1, le=99, description=CALL)
    after_s: float | None = model_field(default=None, ge=0, le=86400, description="Write the seconds as a plain number.")
    meter: Annotated[Meter | None, read_by(_meter)] = model_field(
        default=None, description="Write low if the meter was in its low-impedance mode, high if not."
    )
    contact: Contact | None = model_field(
        default=None, description="Write where the probe was: on the board's pin, on the wire's crimp behind it, or at the load."
    )
    set_up: Annotated[tuple[Text, ...], read_by(_several)] = ()
    hold: Hold | None = model_field(default=None, description="Write min or max if the meter held the lowest or highest reading.")
    source: Source | None = model_field(default=None, description="Write how it is known; leave it out if you saw it yourself.")
    sure: bool = model_field(default=False, description="Write yes if it was read or looked at twice, and was the same.")
    note: Text | None = None
    entry: int | None = None


class FurnaceEntry(Model):
    """Which furnace a report is about, and what is known of its options."""

    family: Text | None = None
    options: dict[str, Text] = {}


class ReportEntry(Model):
    """A report file."""

    furnace: FurnaceEntry = FurnaceEntry()
    complaint: Text = ""
    records: tuple[dict[str, object], ...] = model_field(max_length=MOST_RECORDS, description="Write each as - {sign: inducer_runs, value: yes}.")
    story: str = ""
    answer: dict[str, object] = {}


def report_entry(document: Document) -> ReportEntry:
    """The report of a file; a complaint alone is one too. Raises BadInput with what is wrong with it, but for its records."""
    value = document.value
    if isinstance(value, dict) and value.get("complaint") and "records" not in value:
        document = replace(document, value={**value, "records": []})
    return plain_report(document.value) or _judged(ReportEntry, document)


def plain_part(value: dict[str, object]) -> ReportEntry:
    """Of a report in which something is wrong its furnace and its records, where nothing is wrong with these as a whole."""
    furnace, records = FurnaceEntry(), value.get("records")
    with suppress(ValueError, KeyError, TypeError):
        furnace = _furnace(value.get("furnace", {}))
    sound = isinstance(records, list) and len(records) <= MOST_RECORDS and all(isinstance(r, dict) for r in records)
    return ReportEntry(furnace=furnace, records=tuple(records) if sound and isinstance(records, list) else ())


def record_entry(document: Document, i: int) -> RecordEntry:
    """The record at ("records", i). Raises BadInput with what is wrong with it."""
    records = document.value["records"] if isinstance(document.value, dict) else ()
    return plain_record(records[i]) or _judged(RecordEntry, document, ("records", i))


def _judged(kind: type[_Entry], document: Document, path: tuple[str | int, ...] = ()) -> _Entry:
    from furnace_diag.knowledge.checked import validate  # imports the validator

    entry, problems = validate(kind, document, path)
    if entry is None:
        raise BadInput(problems)
    return entry


# --- what is plainly right ----------------------------------------------------------------------
# Most reports are. What is not, or is written in a rarer way, is for the validator to judge, which takes as long to import as an answer to reckon.
# `tests/diagnosis/test_entries.py` holds that it makes the same of what is plainly right.


def plain_report(value: object) -> ReportEntry | None:
    """A report in which all but its records is plainly right; None where it may not be."""
    return _plainly(ReportEntry, value, _REPORT)


def plain_record(value: object) -> RecordEntry | None:
    """A record in which all is plainly right; None where it may not be."""
    return _plainly(RecordEntry, value, _RECORD)


def _plainly(kind: type[_Entry], value: object, readers: Mapping[str, Callable[[Any], object]]) -> _Entry | None:
    """Each field by its reader, which raises one of the errors suppressed here for what it does not know."""
    with suppress(ValueError, KeyError, TypeError):
        return kind(**{name: readers[name](said) for name, said in _block(value).items()})
    return None


def _any_text(said: object) -> str:
    if not isinstance(said, str):
        raise ValueError("no text")
    return said


def _text(said: object) -> str:
    return _bounded(_any_text(said))


def _block(said: object) -> dict[str, Any]:
    if not isinstance(said, dict):
        raise ValueError("no block")
    return said


def _blocks(said: object) -> tuple[dict[str, object], ...]:
    if not isinstance(said, list) or len(said) > MOST_RECORDS:
        raise ValueError("no list, or too long")
    return tuple(_block(each) for each in said)


def _furnace(said: object) -> FurnaceEntry:
    return FurnaceEntry(**{name: _FURNACE[name](value) for name, value in _block(said).items()})


def _texts(said: object) -> dict[str, str]:
    return {name: _text(value) for name, value in _block(said).items()}


def _figure(said: object) -> float:
    if re.fullmatch(r"[0-9]{1,4}(?:\.[0-9]{1,3})?", text := _text(said)) is None:
        raise ValueError("no plain figure")
    return float(text)


def _count(said: object) -> int:
    if re.fullmatch(r"[1-9][0-9]?", text := _text(said)) is None:
        raise ValueError("no plain count")
    return int(text)


def _set_up(said: object) -> tuple[str, ...]:
    words = _several(said)
    if not isinstance(words, list):
        raise ValueError("no list")
    return tuple(_text(word) for word in words)


def _one_of(words: Any) -> dict[Any, str]:
    """Each of *words*, a Literal, as itself."""
    return {word: word for word in get_args(words)}


_REPORT: dict[str, Callable[[Any], object]] = {"furnace": _furnace, "complaint": _text, "records": _blocks, "story": _any_text, "answer": _block}
_FURNACE: dict[str, Callable[[Any], Any]] = {"family": _text, "options": _texts}
_RECORD: dict[str, Callable[[Any], object]] = {
    **dict.fromkeys((*KINDS, "value", "step", "note"), _text),
    **dict.fromkeys(("call", "entry"), _count),
    "after_s": _figure,
    "meter": lambda said: _one_of(Meter)[_meter(said)],
    "contact": _one_of(Contact).__getitem__,
    "set_up": _set_up,
    "hold": _one_of(Hold).__getitem__,
    "source": _one_of(Source).__getitem__,
    "sure": {"yes": True, "True": True, "no": False, "False": False}.__getitem__,
}
