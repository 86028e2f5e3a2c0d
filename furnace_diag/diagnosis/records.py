"""A report file -> records: what was read, seen, told, what happened and what was replaced."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Annotated, Literal

from pydantic import AfterValidator, Field

from furnace_diag.knowledge.checked import validate
from furnace_diag.knowledge.find import Names
from furnace_diag.knowledge.model_base import Model
from furnace_diag.knowledge.models import Knowledge, Point, Sign
from furnace_diag.knowledge.yaml_text import Document, read_yaml
from furnace_diag.problems import BadInput, Place, Problem, printable
from furnace_diag.quantities import BadQuantity, parse_quantity

MOST_RECORDS = 1000
KINDS = ("point", "sign", "experiment", "event", "history")
SET_UPS = ("load_on", "load_off", "lead_lifted", "plug_off", "thermostat_wires_off", "door_closed", "door_held", "gas_shut", "rod_wire_off")
SAME_READING = 0.25  # two figures for one reading may differ by this share before they clash, judgement


def _bounded(text: str) -> str:
    if len(text) > 500:
        raise ValueError("is too long; keep it to 500 characters")
    return text


Text = Annotated[str, AfterValidator(_bounded)]


class RecordEntry(Model):
    """One record as a report file holds it: the kind and name of what was learnt, its value, and how it was learnt."""

    point: Text | None = None
    sign: Text | None = None
    experiment: Text | None = None
    event: Text | None = None
    history: Text | None = None
    value: Text = "yes"
    step: Text | None = None
    call: int = Field(default=1, ge=1, le=99)
    after_s: float | None = Field(default=None, ge=0, le=86400)
    meter: Literal["low", "high"] | None = None
    contact: Literal["pin", "crimp", "load"] | None = None
    set_up: tuple[Text, ...] = ()
    hold: Literal["min", "max"] | None = None
    source: Literal["measured", "seen", "told"] | None = None
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
    records: tuple[dict[str, object], ...] = Field(max_length=MOST_RECORDS)
    story: str = ""
    answer: dict[str, object] = {}


@dataclass(frozen=True)
class Record:
    """One record, understood: ids instead of words, numbers in the point's own unit."""

    kind: str
    name: str
    said: str
    place: Place
    number: float | None = None
    word: str | None = None
    approximate: bool = False
    step: str | None = None
    call: int = 1
    after_s: float | None = None
    meter: str | None = None
    contact: str | None = None
    set_up: tuple[str, ...] = ()
    hold: str | None = None
    source: str | None = None
    note: str | None = None
    read_as: str | None = None
    unused: str | None = None


@dataclass(frozen=True)
class Report:
    """What a report file holds. *options* are the known options of the furnace, by id."""

    family: str
    complaint: str
    records: tuple[Record, ...]
    options: dict[str, str] = field(default_factory=dict)
    read_as: tuple[str, ...] = ()
    answer: dict[str, object] = field(default_factory=dict)


class Vocabulary:
    """The names of everything a record may speak of."""

    def __init__(self, knowledge: Knowledge) -> None:
        self.knowledge = knowledge
        self.tables: dict[str, Mapping[str, object]] = {
            "point": knowledge.point,
            "sign": knowledge.sign,
            "event": knowledge.event,
            "history": knowledge.part,
            "experiment": {},
        }
        self.names = {kind: _names_of(table) for kind, table in self.tables.items()}
        steps = {s.step: s.also_called for q in knowledge.sequence.values() for s in q.steps}
        self.names["step"] = Names(steps)
        self.names["furnace"] = Names(dict.fromkeys(knowledge.furnace, ()))
        self.names["result"] = Names(dict.fromkeys(next(iter(knowledge.words.values())).history, ()))

    def one(self, kind: str, text: str, place: Place) -> str:
        """The id that *text* names. Raises BadInput where it is unknown or ambiguous, with the nearest names."""
        names = self.names[kind]
        meant = names.meant(text)
        if len(meant) == 1:
            return meant[0]
        asked = printable(text)
        if meant:
            raise BadInput([Problem(place, f"{asked} could be {_or(meant)}.", "Write the one you mean.")])
        near = names.nearest(text)
        fix = f"Did you mean {_or(near)}?" if near else _where_listed(kind, names)
        raise BadInput([Problem(place, f"There is no {kind} called {asked}.", fix)])


def _where_listed(kind: str, names: Names) -> str:
    if kind == "experiment":
        return "Experiments are not read yet; write what was seen as a sign."
    if kind in ("point", "sign"):
        return "furnace-diag points lists all of them."
    return f"Use one of: {', '.join(names.ids[:20])}."


def _names_of(table: Mapping[str, object]) -> Names:
    return Names({identifier: getattr(entry, "also_called", ()) for identifier, entry in table.items()})


def _or(names: list[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} or {names[-1]}"


def read_report(path: Path, knowledge: Knowledge, *, shown_as: str | None = None) -> Report:
    """The report in a YAML file. Raises BadInput with every problem in it, each with its place."""
    return understand(read_yaml(path, shown_as=shown_as), knowledge)


def understand(document: Document, knowledge: Knowledge) -> Report:
    """A report from its YAML. Raises BadInput with every problem in it."""
    if not isinstance(document.value, dict):
        fix = "Start with `furnace:`, `complaint:` and `records:`."
        raise BadInput([Problem(document.place_of(()), "A report is a mapping, not a list or a word.", fix)])
    entry, problems = validate(ReportEntry, document)
    if entry is None:
        raise BadInput(problems)
    vocabulary, read_as = Vocabulary(knowledge), list[str]()
    family = _family(entry.furnace, document, vocabulary, problems)
    options = _options(entry.furnace, family, document, knowledge, problems)
    records = []
    for i in range(len(entry.records)):
        try:
            records.append(_record(document, i, vocabulary))
        except BadInput as bad:
            problems += bad.problems
    problems += _clashing(records)
    if problems:
        raise BadInput(problems)
    read_as += [f"{printable(r.said)} -> {r.read_as}" for r in records if r.read_as]
    return Report(family, entry.complaint, tuple(records), options, tuple(read_as), entry.answer)


def _family(entry: FurnaceEntry, document: Document, vocabulary: Vocabulary, problems: list[Problem]) -> str:
    first = next(iter(vocabulary.knowledge.furnace))
    if entry.family is None:
        return first
    try:
        return vocabulary.one("furnace", entry.family, document.place_of(("furnace", "family")))
    except BadInput as bad:
        problems += bad.problems
        return first


def _options(entry: FurnaceEntry, family: str, document: Document, knowledge: Knowledge, problems: list[Problem]) -> dict[str, str]:
    known = {}
    for name, value in entry.options.items():
        place = document.place_of(("furnace", "options", name))
        option = knowledge.furnace[family].options.get(name)
        if option is None:
            near = Names(dict.fromkeys(knowledge.furnace[family].options, ())).nearest(name)
            fix = f"Did you mean {_or(near)}?" if near else f"Options: {', '.join(knowledge.furnace[family].options)}."
            problems.append(Problem(place, f"This furnace has no option {printable(name)}.", fix))
        elif value not in option.values:
            problems.append(Problem(place, f"{name} cannot be {printable(value)}.", f"Use one of: {', '.join(option.values)}."))
        else:
            known[name] = value
    return known


# --- one record -------------------------------------------------------------------------------


def _record(document: Document, i: int, vocabulary: Vocabulary) -> Record:
    path = ("records", i)
    entry, problems = validate(RecordEntry, document, path)
    if entry is None:
        raise BadInput(problems)
    place = document.place_of(path)
    named = [kind for kind in KINDS if getattr(entry, kind) is not None]
    if len(named) != 1:
        what = " and ".join(named) if named else "none of them"
        raise BadInput([Problem(place, f"A record names one of {', '.join(KINDS)}, here {what}.", "Keep exactly one.")])
    kind = named[0]
    said = getattr(entry, kind)
    name = vocabulary.one(kind, said, document.place_of((*path, kind)))
    step = vocabulary.one("step", entry.step, document.place_of((*path, "step"))) if entry.step else None
    number, word, rough = _value(kind, name, entry.value, document.place_of((*path, "value")), vocabulary)
    _check_set_up(entry, document.place_of((*path, "set_up")))
    return Record(
        kind=kind, name=name, said=f"{said}: {entry.value}", place=place, number=number, word=word, approximate=rough, step=step,
        call=entry.call, after_s=entry.after_s, meter=entry.meter, contact=entry.contact, set_up=entry.set_up, hold=entry.hold,
        source=entry.source, note=entry.note, read_as=_read_as(said, name, entry, step), unused=_unused(entry),
    )  # fmt: skip


def _read_as(said: str, name: str, entry: RecordEntry, step: str | None) -> str | None:
    """What is told back where words were taken for an id."""
    renamed = name if said != name else None
    moved = f"at {step}" if entry.step and entry.step != step else None
    return " ".join(filter(None, (renamed or name, moved))) if renamed or moved else None


def _unused(entry: RecordEntry) -> str | None:
    """Why the ranking cannot use a record that is right in itself."""
    changed = [s for s in entry.set_up if s in ("lead_lifted", "plug_off", "load_off", "thermostat_wires_off")]
    if changed:
        return f"readings with {', '.join(changed)} are not predicted yet"
    if entry.hold == "min":
        return "a lowest reading over a time is not predicted yet"
    return None


def _check_set_up(entry: RecordEntry, place: Place) -> None:
    for word in entry.set_up:
        if word not in SET_UPS:
            raise BadInput([Problem(place, f"There is no set-up {printable(word)}.", f"Use one of: {', '.join(SET_UPS)}.")])


def _value(kind: str, name: str, text: str, place: Place, vocabulary: Vocabulary) -> tuple[float | None, str | None, bool]:
    k = vocabulary.knowledge
    if kind == "point":
        return (*_quantity(k.point[name], text, place),)
    if kind == "sign":
        return None, _sign_value(k.sign[name], text, place), False
    if kind == "history":
        return None, vocabulary.one("result", text, place), False
    if text.strip().lower() not in ("yes", "y", "true"):
        raise BadInput([Problem(place, f"An event is only written down if it happened, not as {printable(text)}.", "Leave it out, or write yes.")])
    return None, "yes", False


def _quantity(point: Point, text: str, place: Place) -> tuple[float, None, bool]:
    try:
        quantity = parse_quantity(text, point.unit)
    except BadQuantity as bad:
        raise BadInput([Problem(place, f"{point.point}: {bad.message}", bad.fix)]) from None
    return quantity.value, None, quantity.approximate


def _sign_value(sign: Sign, text: str, place: Place) -> str:
    meant = Names(dict.fromkeys(sign.values, ())).meant(text)
    if meant:
        return meant[0]
    fix = f"Use one of: {', '.join(sign.values)}."
    raise BadInput([Problem(place, f"{sign.sign} cannot be {printable(text)}.", fix)])


def _clashing(records: list[Record]) -> list[Problem]:
    """Two different answers to the same question, asked in the same way in the same call."""
    problems = []
    first: dict[tuple[object, ...], Record] = {}
    for r in records:
        if r.kind not in ("point", "sign"):
            continue
        key = (r.kind, r.name, r.step, r.call, r.after_s, r.meter, r.contact, r.set_up, r.hold)
        other = first.setdefault(key, r)
        if other is not r and not _agree(other, r):
            fix = "Take one out, or say in which call, step or with which meter each was taken."
            where = f"line {other.place.line}"
            problems.append(Problem(r.place, f"{printable(r.said)} here, but {printable(other.said)} at {where}.", fix))
    return problems


def _agree(one: Record, other: Record) -> bool:
    if one.number is None or other.number is None:
        return one.word == other.word
    if one.number == other.number:
        return True
    return abs(one.number - other.number) <= max(1.0, SAME_READING * min(abs(one.number), abs(other.number)))
