"""One record of a report, or one that was typed: its words -> ids, its value, and how it was taken."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from furnace_diag.diagnosis.entries import KINDS, RecordEntry, record_entry
from furnace_diag.diagnosis.record_value import figure_value, point_of_figure, value_of, what_a_value_is
from furnace_diag.diagnosis.records import SET_UPS, Record
from furnace_diag.diagnosis.vocabulary import Vocabulary, either
from furnace_diag.knowledge.find import Names
from furnace_diag.knowledge.models import Knowledge, Point, Sign
from furnace_diag.knowledge.spelling import plain
from furnace_diag.knowledge.values import values_of
from furnace_diag.knowledge.words import of_whole_call
from furnace_diag.knowledge.yaml_text import Document, document_at
from furnace_diag.problems import BadInput, Place, Problem, printable


def record_of(entry: Mapping[str, object], place: Place, vocabulary: Vocabulary) -> Record:
    """One record that stands at *place*, its fields as a report file has them. Raises BadInput."""
    as_text = {name: value if isinstance(value, str | list) else str(value) for name, value in entry.items()}
    return record_at(document_at({"records": [as_text]}, place), 0, vocabulary)


def record_at(document: Document, i: int, vocabulary: Vocabulary) -> Record:
    """The record that stands at ("records", i). Raises BadInput with what is wrong with it."""
    path = ("records", i)
    entry = record_entry(document, i)
    place = document.place_of(path)
    named = [kind for kind in KINDS if getattr(entry, kind) is not None]
    if len(named) != 1:
        what = " and ".join(named) if named else "none of them"
        raise BadInput([Problem(place, f"A record names one of {', '.join(KINDS)}, here {what}.", "Keep exactly one.")])
    kind = named[0]
    said = getattr(entry, kind)
    as_typed = entry.value
    entry, spoken = _with_step_apart(kind, entry, vocabulary)
    if kind in ("sign", "experiment") and as_typed == entry.value and (anew := vocabulary.parted_anew(kind, spoken, entry.value)) is not None:
        entry, spoken = entry.model_copy(update={"value": anew[1]}), anew[0]
    else:
        as_typed = entry.value
    name = vocabulary.told(kind, spoken, entry.value, document.place_of((*path, kind)))
    kind = "sign" if kind == "experiment" else kind  # from here on it is the sign that somebody brought about
    step = vocabulary.one("step", entry.step, document.place_of((*path, "step"))) if entry.step else None
    if "value" not in vars(entry) and kind in ("point", "sign"):
        raise BadInput([Problem(place, f"What {name} read or did is not told.", f"Add `value:` with {what_a_value_is(kind, name, vocabulary)}.")])
    if kind == "sign" and not vocabulary.values(name).meant(entry.value):
        _must_be_no_repair(spoken, entry.value, document.place_of(path), vocabulary)
    if kind == "sign":
        _must_be_of_a_call(vocabulary.knowledge.sign[name], step, document.place_of((*path, "step")), vocabulary)
        kind, name = point_of_figure(name, entry.value, vocabulary)
    value = value_of(kind, name, entry.value, document.place_of((*path, "value")), vocabulary)
    _check_set_up(entry, document.place_of((*path, "set_up")))
    name, contact = _where_read(kind, name, entry.contact, vocabulary)
    step = step or _only_step(kind, name, vocabulary)
    done = kind == "sign" and value.get("word") in vocabulary.knowledge.sign[name].put_right  # nobody takes out what is not there
    return Record(
        kind=kind, name=name, said=f"{said}: {as_typed}", place=place, step=step, **value,
        call=entry.call, after_s=entry.after_s, meter=entry.meter, contact=contact, set_up=entry.set_up, hold=entry.hold,
        source=entry.source, sure=entry.sure or done, note=entry.note, read_as=_read_as(said, name, value.get("word"), entry, step if entry.step else None),
        unused=_unused(entry, vocabulary.knowledge.point[name] if contact != entry.contact else None, step),
    )  # fmt: skip


def with_figure(record: Record, text: str, knowledge: Knowledge) -> Record | None:
    """The same reading of a point with another figure, as `record_at` would make it; None where *text* is no figure of that point."""
    try:
        value = figure_value(knowledge.point[record.name], text, record.place)
    except BadInput:
        return None
    return replace(record, **value, said=f"{record.said.rpartition(': ')[0]}: {text}")


def _with_step_apart(kind: str, entry: RecordEntry, vocabulary: Vocabulary) -> tuple[RecordEntry, str]:
    """A name or value that ends in a step ("blower runs on cool", "runs in heating"), without it; the entry with that step, and the name."""
    said = str(getattr(entry, kind))
    if kind not in ("sign", "experiment") or entry.step is not None:
        return entry, said
    if not vocabulary.names(kind).clear(said) and (told := vocabulary.told_by_step(said, entry.value)) is not None:
        return entry.model_copy(update={"step": plain(said)}), told[1]
    name, step = _cut_step(said, vocabulary) if not vocabulary.names(kind).meant(said) else (said, None)
    meant = vocabulary.names(kind).meant(name)
    if step is not None and len(meant) == 1 and _is_place_alone(step, meant[0], vocabulary):
        return entry, said
    if step is None and len(meant) == 1 and not values_of(vocabulary.knowledge.sign[meant[0]], vocabulary.words).meant(entry.value):
        value, step = _cut_step(entry.value, vocabulary)
        a_place = step is not None and _is_place_alone(step, meant[0], vocabulary)
        if a_place or not values_of(vocabulary.knowledge.sign[meant[0]], vocabulary.words).meant(value):
            return entry, said
        return entry.model_copy(update={"value": value, "step": step}), name
    return (entry.model_copy(update={"step": step}), name) if step is not None and meant else (entry, said)


def _cut_step(text: str, vocabulary: Vocabulary) -> tuple[str, str | None]:
    """*text* before its last "at", "in", "on" or "during", and the step named after it; unchanged and None where no one step is."""
    before, link, after = max((text.rpartition(f" {word} ") for word in ("at", "in", "on", "during")), key=lambda cut: len(cut[0]))
    return (before, after) if link and len(vocabulary.names("step").meant(after)) == 1 else (text, None)


def _is_place_alone(text: str, sign: str, vocabulary: Vocabulary) -> bool:
    """Whether words that a step is called by name a part as well, and no step in which that sign is seen: "on inducer"."""
    step = vocabulary.names("step").meant(text)[0]
    is_place = plain(text) != plain(step) and bool(vocabulary.names("history").clear(text))
    return is_place and step not in vocabulary.knowledge.sign[sign].steps


def _must_be_of_a_call(sign: Sign, step: str | None, place: Place, vocabulary: Vocabulary) -> None:
    """Raises BadInput where what is said of a whole heat call is given for a moment without one: no flame at rest is no fault."""
    sequence = vocabulary.sequence
    if not of_whole_call(sign) or step not in {sequence.starts_at, sequence.roles.off, *(c.step for c in sequence.other_calls)}:
        return
    others = [s.sign for s in vocabulary.knowledge.sign.values() if sign.sign in s.says_same_as and step in s.steps]
    fix = f"For that moment write sign: {either(others)}; else leave out the step." if others else "Leave out the step."
    raise BadInput([Problem(place, f"{sign.sign} is said of a whole heat call, not of {step}.", fix)])


def _must_be_no_repair(spoken: str, value: str, place: Place, vocabulary: Vocabulary) -> None:
    """Raises BadInput where what was given as a sign tells of an earlier repair, as "board" with "swapped, no change" does."""
    parts = vocabulary.names("history").clear(spoken)
    if len(parts) == 1 and len(vocabulary.results.meant(value)) == 1:
        said = f"{printable(f'{spoken}: {value}')} tells of an earlier repair, and of nothing that is seen now."
        raise BadInput([Problem(place, said, f"Write history: {parts[0]}.")])


def _where_read(kind: str, name: str, contact: str | None, vocabulary: Vocabulary) -> tuple[str, str | None]:
    """The point that was read, and the contact still to be told: a pin read on its crimp or at its load is another point, if there is one."""
    if kind != "point" or contact not in ("crimp", "load"):
        return name, contact
    point = vocabulary.knowledge.point[name]
    other = point.at_crimp if contact == "crimp" else point.at_load
    return (name, contact) if other is None else (other, None)


def _only_step(kind: str, name: str, vocabulary: Vocabulary) -> str | None:
    """The step at which a point is read, where there is but one: ohms are read with the power off, whoever says so or not."""
    steps = vocabulary.knowledge.point[name].steps if kind == "point" else ()
    return steps[0] if len(steps) == 1 else None


def _read_as(said: str, name: str, word: str | None, entry: RecordEntry, step: str | None) -> str | None:
    """What is told back where words were taken for an id or a value."""
    value = f"= {word}" if word is not None and plain(entry.value) != plain(word) else None
    moved = f"at {step}" if entry.step and entry.step != step else None
    return " ".join(filter(None, (name, value, moved))) if said != name or value or moved else None


def _unused(entry: RecordEntry, moved_to: Point | None, step: str | None) -> str | None:
    """Why the ranking cannot use a record that is right in itself."""
    if entry.hold == "min" and step is None:
        return "the lowest reading over a time is foretold only at a step that is told; the proof rules read it all the same"
    if moved_to is not None and step is not None and step not in moved_to.steps:
        return f"{moved_to.point} is not predicted at {step}"
    return None


def _check_set_up(entry: RecordEntry, place: Place) -> None:
    for word in entry.set_up:
        if word not in SET_UPS:
            near = Names(dict.fromkeys(SET_UPS, ())).suggested(word)
            fix = f"Did you mean {either(near)}?" if near else f"Use one of: {', '.join(SET_UPS)}."
            raise BadInput([Problem(place, f'There is no set-up "{printable(word)}".', fix)])
