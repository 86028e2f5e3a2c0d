"""A report file -> records: what was read, seen, told, what happened and what was replaced."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path
from typing import TypedDict, get_args

from furnace_diag.diagnosis.complaint import Complaints, Repaired, repairs_told
from furnace_diag.diagnosis.entries import KINDS, FurnaceEntry, RecordEntry, plain_part, record_entry, report_entry
from furnace_diag.furnace.family import failures_of
from furnace_diag.knowledge.find import Names, told_by_unit, told_by_value
from furnace_diag.knowledge.finding_models import SetUp
from furnace_diag.knowledge.models import Knowledge, Point, Sign
from furnace_diag.knowledge.spelling import DENIALS, plain, spelling_of
from furnace_diag.knowledge.values import results_of, values_of, words_for_values
from furnace_diag.knowledge.words import of_whole_call
from furnace_diag.knowledge.yaml_text import Document, document_at, parse_yaml, read_yaml
from furnace_diag.problems import BadInput, Place, Problem, printable
from furnace_diag.quantities import UNITS, BadQuantity, parse_quantity

SET_UPS: tuple[str, ...] = get_args(SetUp)
LEAD_OFF_AS = ("lead_lifted", "plug_off", "load_off")  # at the point that is read they come to the same
TAKES_OFF = (*LEAD_OFF_AS, "thermostat_wires_off")  # set-ups that change what is read
EXAMPLE = (
    "furnace: {family: induced_draft_hsi_80}",
    "complaint: no heat",
    "records: [{sign: inducer_runs, value: yes}, {point: igniter_ohms, value: OL}]",
)
COMPLAINT = "complaint: "  # how what a complaint tells is said
OF_THE_CALL = frozenset({"on", "off", "none"})  # said of a call, or of a switch that makes it: "fan mode: on" is no blower that runs
NOT_SO = DENIALS | {"nobody"}  # words by which something is said not to have happened
OTHER_KINDS = ("point", "experiment", "sign", "event", "step")  # where a name may belong that is not of the kind it was given as
CALLED = {"history": "part, or part:failure,"}  # what a kind's names are, where its own name does not say it
SAME_READING = 0.25  # two figures for one reading may differ by this share before they clash, judgement

OTHER_BOARD = "other_board"  # the source of what was read before the board was replaced


@dataclass(frozen=True)
class Record:
    """One record, understood: ids instead of words, numbers in the point's own unit. *give*: of a range, how far its ends lie from the number."""

    kind: str
    name: str
    said: str
    place: Place
    number: float | None = None
    word: str | None = None
    approximate: bool = False
    give: float = 0.0
    step: str | None = None
    call: int = 1
    after_s: float | None = None
    meter: str | None = None
    contact: str | None = None
    set_up: tuple[str, ...] = ()
    hold: str | None = None
    source: str | None = None
    sure: bool = False
    note: str | None = None
    read_as: str | None = None
    unused: str | None = None

    def moved(self, place: Place) -> Record:
        """The same, standing at another place; `dataclasses.replace` would take several times as long, and claims have many."""
        other = object.__new__(Record)
        other.__dict__.update(self.__dict__, place=place)
        return other

    @property
    def taken_off(self) -> tuple[str, ...]:
        """The set-ups that change what is read, each once; a lead, plug or load off at the point itself is one."""
        return tuple(dict.fromkeys("lead_off" if s in LEAD_OFF_AS else s for s in self.set_up if s in TAKES_OFF)) if self.set_up else ()


@dataclass(frozen=True)
class Report:
    """What a report file holds. *options* are the known options of the furnace, by id. *set_aside*: what was told, and seen otherwise; it is no record.
    *running*: the heat call that is going on, in a visit.
    """

    family: str
    complaint: str
    records: tuple[Record, ...]
    options: dict[str, str] = field(default_factory=dict)
    read_as: tuple[str, ...] = ()
    answer: dict[str, object] = field(default_factory=dict)
    set_aside: tuple[Record, ...] = ()
    running: int | None = None


class Vocabulary:
    """The names of everything a record may speak of."""

    def __init__(self, knowledge: Knowledge, family: str | None = None) -> None:
        """*family*: the furnace that is spoken of, whose steps have names; the first of the rules if left out."""
        self.knowledge = knowledge
        self.family = family or next(iter(knowledge.furnace))
        furnace = knowledge.furnace[self.family]
        self.words = next(iter(knowledge.words.values()))
        self.sequence = knowledge.sequence[furnace.sequence]
        self.entries: dict[str, Mapping[str, Iterable[str]]] = {
            "point": {i: e.also_called for i, e in knowledge.point.items()},
            "sign": {i: e.also_called for i, e in knowledge.sign.items()},
            "event": {i: e.also_called for i, e in knowledge.event.items()},
            "history": repairable(knowledge),
            "step": {s.step: s.also_called for s in knowledge.sequence[furnace.sequence].steps},
            "experiment": {i: e.also_called for i, e in knowledge.experiment.items()},
            "furnace": dict.fromkeys(knowledge.furnace, ()),
        }
        self._names: dict[str, Names] = {}
        self._values: dict[str, Names] = {}

    @cached_property
    def results(self) -> Names:
        """What people type for the results of an earlier repair."""
        return results_of(self.words)

    @cached_property
    def complaints(self) -> Complaints:
        """What people say of a furnace, and what it tells."""
        calls = {c.step for c in self.sequence.other_calls}
        other_calls = Names({step: called for step, called in self.entries["step"].items() if step in calls}, spelling_of(self.words))
        return Complaints(self.knowledge.sign, self.knowledge.hazard.values(), other_calls, self.words.short_words)

    @cached_property
    def done(self) -> frozenset[str]:
        """Words by which it is told that something was done to a part."""
        return frozenset(words.split()[0] for each in self.words.repair_said.done.values() for words in each)

    def repairs_in(self, text: str) -> list[Repaired]:
        """What *text* tells of earlier repairs and what came of them."""
        if self.done.isdisjoint(plain(text).split()):
            return []  # as most are; no table of names is made for it
        return repairs_told(text, self.names("history"), self.results, self.done, self.words.repair_said.means.keys())

    def values(self, sign: str) -> Names:
        """What people type for the values of a sign."""
        if sign not in self._values:
            self._values[sign] = values_of(self.knowledge.sign[sign], self.words)
        return self._values[sign]

    def names(self, kind: str) -> Names:
        """All names of one kind; made when first asked for, because a report of plain ids needs none."""
        if kind not in self._names:
            self._names[kind] = Names(self.entries[kind], spelling_of(self.words))
        return self._names[kind]

    def one(self, kind: str, text: str, place: Place) -> str:
        """The id that *text* names. Raises BadInput where it is unknown or ambiguous, with the nearest names."""
        if text in self.entries[kind]:
            return text
        meant = self._meant(kind, text)
        if len(meant) == 1:
            return meant[0]
        asked = printable(text) or "nothing"
        if meant:
            raise BadInput([Problem(place, f"{asked} could be {_or(meant)}.", "Write the one you mean.")])
        raise BadInput([Problem(place, f"There is no {CALLED.get(kind, kind)} called {asked}.", self._instead(kind, text))])

    def _meant(self, kind: str, text: str) -> list[str]:
        """The ids of that kind that *text* names; of an event with what it was beside as well."""
        names = self.names(kind)
        return names.meant(text) or names.in_any_order(text) or (names.before_place(text) if kind == "event" else [])

    def told(self, kind: str, text: str, value: str, place: Place) -> str:
        """The id that *text* names; of a name that is short for several signs the one with *value* among its own words, of points the one that is
        read in the unit of *value*. Raises BadInput as `one` does."""
        if kind == "point" and text not in self.entries[kind]:
            return self._point_told(text, value, place)
        if text in self.entries[kind] or kind not in ("sign", "experiment"):
            return self.one(kind, text, place)
        clear, told = self.names(kind).clear(text), told_by_value(self.names(kind), text, value)
        fits = len(clear) == 1 and len(self.values(clear[0]).meant(value)) == 1
        return told[0] if len(told) == 1 and not fits else self.one(kind, text, place)

    def _point_told(self, text: str, value: str, place: Place) -> str:
        """The point that *text* names by itself; else the one that it names with the unit of *value*."""
        by_unit = self.told_by_unit(text, value)
        return by_unit[0] if len(by_unit) == 1 else self.one("point", text, place)

    def told_by_unit(self, text: str, value: str) -> list[str]:
        """The points that *text* names together with the unit that *value* tells; none where it names a point by itself: ohms from R to C of the
        board, where volts are read, are those of whatever hangs on it."""
        points = self.names("point")
        return [] if points.clear(text) else told_by_unit(points, text, value, self._units)

    def told_by_step(self, text: str, value: str) -> tuple[str, str] | None:
        """The step that *text* names and the sign that is meant by its *value* there: "fan call" with "hums". None of what may be said of the call itself."""
        steps = self.names("step").meant(text)
        sign = self.words.step_tells.get(steps[0]) if len(steps) == 1 else None
        if sign is None or plain(value) in OF_THE_CALL or words_for_values(("yes", "no"), {}, self.words.value_words).meant(value):
            return None
        return (steps[0], sign) if len(self.values(sign).meant(value)) == 1 else None

    def parted_anew(self, kind: str, text: str, value: str) -> tuple[str, str] | None:
        """The longest name of that kind that begins with *text* and goes on into *value*, and the value then told: "burners" with "drop out after minutes"
        is "burners drop out" with "after minutes", "burner box" with "scorched" is the scorched burner box. None where *text* takes *value* itself or is
        short for several things, or where that is the name of a check of a proof."""
        if text in self.knowledge.sign and value in self.knowledge.sign[text].values:
            return None  # as most are written; no table of names is made for it
        names, start, words = self.names(kind), len(text.split()), [*text.split(), *value.split()]
        clear = names.clear(text)
        if names.could_be(text) or told_by_value(names, text, value) or (len(clear) == 1 and self.values(clear[0]).meant(value)):
            return None
        longer = [(" ".join(words[end:]), ids) for end in range(len(words), start, -1) if (ids := names.clear(" ".join(words[:end])))]
        if not longer or len(longer[0][1]) > 1 or self.knowledge.sign[sign := longer[0][1][0]].only_for_proof:
            return None
        rests = (rest or value for rest, ids in longer if ids == [sign])
        return next(((sign, rest) for rest in rests if len(self.values(sign).meant(rest)) == 1), None)

    @cached_property
    def _units(self) -> dict[str, str]:
        """In what each point is read."""
        return {i: p.unit for i, p in self.knowledge.point.items()}

    def _instead(self, kind: str, text: str) -> str:
        """What to write for a name that is unknown among this kind: of another kind, nearest of this one, or where all are listed."""
        if kind == "event" and not NOT_SO.isdisjoint(plain(text).split()):
            return "An event is only written down if it happened: leave out what did not."
        if kind == "step" and text.strip().isdigit():
            return f"A step is a name such as heating; which heat call it was is told by `call: {text.strip()}`."
        could_be = self.names(kind).could_be(text)
        named = [(k, i) for k in OTHER_KINDS if k != kind for i in self.names(k).meant(text) or self.names(k).could_be(text)]
        others = [(k, i) for k, i in named if i not in self.entries[kind]]
        told = " ".join(f"{i} is {_a(k)}: write {k}: {i}." for k, i in others[:2])
        if any(plain(i) == plain(text) for _, i in others) and not could_be:
            return told
        near = could_be or self.names(kind).suggested(text)
        guess = f"Did you mean {_or(near)}?" if near else ""
        return " ".join(filter(None, (guess, told))) or _where_listed(kind, self.names(kind))


def _a(kind: str) -> str:
    return f"an {kind}" if kind == "event" else f"a {kind}"


def repairable(knowledge: Knowledge) -> dict[str, tuple[str, ...]]:
    """What an earlier repair can have been done to: parts, and failures of them as part:failure, with what else each is called."""
    found = {name: part.also_called for name, part in knowledge.part.items()}
    for name, part in knowledge.part.items():
        own = {*part.also_called}
        found |= {f"{name}:{f.failure}": tuple(w for w in f.also_called if w not in own) for f in failures_of(part, knowledge)}
    return found


def _where_listed(kind: str, names: Names) -> str:
    if kind in ("point", "sign", "experiment"):
        return "furnace-diag points lists all of them; furnace-diag points WORD searches."
    ids = [i for i in names.ids if ":" not in i]
    return f"Use one of: {', '.join(ids[:20])}{', ...' if len(ids) > 20 else ''}."


def _or(names: list[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} or {names[-1]}"


def read_report(path: Path, knowledge: Knowledge, *, shown_as: str | None = None) -> Report:
    """The report in a YAML file. Raises BadInput with every problem in it, each with its place."""
    return understand(read_yaml(path, shown_as=shown_as, example=EXAMPLE), knowledge)


def understand(document: Document, knowledge: Knowledge, vocabulary: Vocabulary | None = None) -> Report:
    """A report from its YAML. Raises BadInput with every problem in it. *vocabulary*: of the same knowledge, where one is at hand."""
    if not isinstance(document.value, dict):
        what = "a list" if isinstance(document.value, list) else "a word"
        fix = "Start a line with `records:`, and with `complaint:` and `furnace:` if you like, for instance so:"
        raise BadInput([Problem(document.place_of(()), f"A report is a mapping of names to values, not {what}.", fix, EXAMPLE)])
    problems = list[Problem]()
    try:
        entry = report_entry(document)
    except BadInput as bad:  # what is wrong with its records is told all the same
        problems += bad.problems
        entry = plain_part(document.value)
    vocabulary, read_as = vocabulary or Vocabulary(knowledge), list[str]()
    family = _family(entry.furnace, document, vocabulary, problems)
    if family != vocabulary.family:
        vocabulary = Vocabulary(knowledge, family)
    options = _options(entry.furnace, family, document, knowledge, problems)
    records = []
    for i in range(len(entry.records)):
        try:
            if event := _event_that_did_not_happen(document, i, vocabulary):
                read_as.append(f"{event}: no -> it did not happen, and nothing is weighed of it")
            else:
                records.append(record_at(document, i, vocabulary))
        except BadInput as bad:
            problems += bad.problems
    records, set_aside = seen_before_told(records, knowledge)
    problems += clashing(records, knowledge.sign)
    if problems:
        raise BadInput(sorted(problems, key=lambda p: (p.place is None, p.place)))
    if entry.complaint:
        records += complained(entry.complaint, records, vocabulary, document.place_of(("complaint",)))
    read_as += [f"{printable(r.said)} -> {r.read_as}" for r in (*records, *set_aside) if r.read_as]
    return Report(family, entry.complaint, tuple(records), options, tuple(read_as), entry.answer, tuple(set_aside))


def complained(complaint: str, records: Sequence[Record], vocabulary: Vocabulary, place: Place) -> list[Record]:
    """What the words of a complaint tell of signs and earlier repairs that no other record tells of: hearsay, in the first heat call.

    What would be a hazard is told whatever the records say of it, as in `seen_before_told`.
    """
    signs, complaints = vocabulary.knowledge.sign, vocabulary.complaints
    known = {n for r in records for n in (r.name, *(signs[r.name].says_same_as if r.name in signs else ()))}
    recorded, dangers = {(r.name, r.word) for r in records}, complaints.dangers_in(complaint)
    found = [c for c in dangers if (c.sign, c.value) not in recorded]
    found += [c for c in complaints.said_in(complaint) if c not in dangers and not known.intersection((c.sign, *signs[c.sign].says_same_as))]
    repairs = [r for r in vocabulary.repairs_in(complaint) if r.part not in known]
    told = [("sign", c.sign, c.value, c.words, c.step or None) for c in found] + [("history", r.part, r.value, r.words, None) for r in repairs]
    return [
        Record(kind, name, f"{COMPLAINT}{words}", place, word=value, step=step, source="told", read_as=f"{name} = {value}{f' at {step}' if step else ''}")
        for kind, name, value, words, step in told
    ]


def record_of(entry: Mapping[str, object], place: Place, vocabulary: Vocabulary) -> Record:
    """One record that stands at *place*, its fields as a report file has them. Raises BadInput."""
    as_text = {name: value if isinstance(value, str | list) else str(value) for name, value in entry.items()}
    return record_at(document_at({"records": [as_text]}, place), 0, vocabulary)


def clash_of(new: Record, others: Iterable[Record]) -> Record | None:
    """The first of *others* that answers the same question as *new* in another way, or None."""
    return next((o for o in others if clashing([o, new])), None)


def supposed(texts: Sequence[str], report: Report, knowledge: Knowledge) -> tuple[Record, ...]:
    """Records written as "NAME: VALUE" or "NAME: VALUE at STEP", for the furnace of *report*. Raises BadInput."""
    vocabulary = Vocabulary(knowledge, report.family)
    entries, problems = [], list[Problem]()
    for number, text in enumerate(texts, 1):
        name, colon, rest = text.partition(":")
        value, at, step = rest.rpartition(" at ") if " at " in rest and vocabulary.names("step").meant(rest.rpartition(" at ")[2]) else (rest, "", "")
        kinds = [kind for kind in ("point", "sign") if name.strip() in vocabulary.entries[kind] or vocabulary.names(kind).meant(name)]
        if not colon or not rest.strip() or not kinds:
            said = f"{printable(text)} names nothing that can be read or seen." if colon and rest.strip() else f"{printable(text)} tells no value."
            problems.append(Problem(Place("record", number, 1), said, "Write NAME: VALUE, such as igniter ohms: OL. furnace-diag points lists the names."))
            continue
        entries.append({kinds[0]: name.strip(), "value": value.strip()} | ({"step": step.strip()} if at else {}))
    if problems:
        raise BadInput(problems)
    made = {"furnace": {"family": report.family}, "records": entries}
    return understand(parse_yaml(json.dumps(made), "record"), knowledge).records


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
            near = Names(dict.fromkeys(knowledge.furnace[family].options, ())).suggested(name)
            fix = f"Did you mean {_or(near)}?" if near else f"Options: {', '.join(knowledge.furnace[family].options)}."
            problems.append(Problem(place, f"This furnace has no option {printable(name)}.", fix))
        elif value not in option.values:
            problems.append(Problem(place, f"{name} cannot be {printable(value)}.", f"Use one of: {', '.join(option.values)}."))
        else:
            known[name] = value
    return known


# --- one record -------------------------------------------------------------------------------


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
        raise BadInput([Problem(place, f"What {name} read or did is not told.", f"Add `value:` with {_like(kind, name, vocabulary)}.")])
    if kind == "sign" and not vocabulary.values(name).meant(entry.value):
        _must_be_no_repair(spoken, entry.value, document.place_of(path), vocabulary)
    if kind == "sign":
        _must_be_of_a_call(vocabulary.knowledge.sign[name], step, document.place_of((*path, "step")), vocabulary)
        kind, name = _point_of_figure(name, entry.value, vocabulary)
    value = _value(kind, name, entry.value, document.place_of((*path, "value")), vocabulary)
    _check_set_up(entry, document.place_of((*path, "set_up")))
    name, contact = _where_read(kind, name, entry.contact, vocabulary)
    step = step or _only_step(kind, name, vocabulary)
    return Record(
        kind=kind, name=name, said=f"{said}: {as_typed}", place=place, step=step, **value,
        call=entry.call, after_s=entry.after_s, meter=entry.meter, contact=contact, set_up=entry.set_up, hold=entry.hold,
        source=entry.source, sure=entry.sure, note=entry.note, read_as=_read_as(said, name, value.get("word"), entry, step if entry.step else None),
        unused=_unused(entry, vocabulary.knowledge.point[name] if contact != entry.contact else None, step),
    )  # fmt: skip


def _event_that_did_not_happen(document: Document, i: int, vocabulary: Vocabulary) -> str:
    """The event of which ("records", i) says that it did not happen; empty where that is any other record. Raises BadInput as `record_at` does."""
    entry = record_entry(document, i)
    named = [kind for kind in KINDS if getattr(entry, kind) is not None]
    if named != ["event"] or words_for_values(("yes", "no"), {}, vocabulary.words.value_words).meant(entry.value) != ["no"]:
        return ""
    return vocabulary.one("event", str(entry.event), document.place_of(("records", i, "event")))


def with_figure(record: Record, text: str, knowledge: Knowledge) -> Record | None:
    """The same reading of a point with another figure, as `record_at` would make it; None where *text* is no figure of that point."""
    try:
        value = _quantity(knowledge.point[record.name], text, record.place)
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
    fix = f"For that moment write sign: {_or(others)}; else leave out the step." if others else "Leave out the step."
    raise BadInput([Problem(place, f"{sign.sign} is said of a whole heat call, not of {step}.", fix)])


def _must_be_no_repair(spoken: str, value: str, place: Place, vocabulary: Vocabulary) -> None:
    """Raises BadInput where what was given as a sign tells of an earlier repair, as "board" with "swapped, no change" does."""
    parts = vocabulary.names("history").clear(spoken)
    if len(parts) == 1 and len(vocabulary.results.meant(value)) == 1:
        said = f"{printable(f'{spoken}: {value}')} tells of an earlier repair, and of nothing that is seen now."
        raise BadInput([Problem(place, said, f"Write history: {parts[0]}.")])


def _point_of_figure(name: str, value: str, vocabulary: Vocabulary) -> tuple[str, str]:
    """The point that tells the same as a sign, where a figure with its unit was given for it ("flame goes out: after 4 sec"); else the sign."""
    sign = vocabulary.knowledge.sign[name]
    points = [p for p in sign.says_same_as if p in vocabulary.knowledge.point]
    if len(points) != 1 or not any(c.isdigit() for c in value):
        return "sign", name
    try:
        parse_quantity(_figure_in(value), vocabulary.knowledge.point[points[0]].unit)
    except BadQuantity:
        return "sign", name
    return "point", points[0]


def _figure_in(value: str) -> str:
    """A figure without the little word before it: "after 4 sec" is 4 sec."""
    return re.sub(r"^(?:after|within|in)\s+", "", value.strip(), flags=re.IGNORECASE)


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


def _like(kind: str, name: str, vocabulary: Vocabulary) -> str:
    """What a value of that point or sign may be, for messages."""
    if kind == "sign":
        return f"one of: {', '.join(vocabulary.knowledge.sign[name].values)}"
    return f"the reading, such as {UNITS[vocabulary.knowledge.point[name].unit].example}"


def _check_set_up(entry: RecordEntry, place: Place) -> None:
    for word in entry.set_up:
        if word not in SET_UPS:
            near = Names(dict.fromkeys(SET_UPS, ())).suggested(word)
            fix = f"Did you mean {_or(near)}?" if near else f"Use one of: {', '.join(SET_UPS)}."
            raise BadInput([Problem(place, f'There is no set-up "{printable(word)}".', fix)])


class _Value(TypedDict, total=False):
    """What was read or seen, as the fields of a record."""

    number: float
    approximate: bool
    give: float
    word: str


def _value(kind: str, name: str, text: str, place: Place, vocabulary: Vocabulary) -> _Value:
    k = vocabulary.knowledge
    if kind == "point":
        return _quantity(k.point[name], text, place)
    if kind == "sign" and text in k.sign[name].values:
        return {"word": text}
    if kind == "sign":
        return {"word": _worded(name, text, vocabulary.values(name), place, _figure(k, k.sign[name], text))}
    if kind == "history":
        return {"word": _worded(name, text, vocabulary.results, place)}
    if text != "yes" and words_for_values(("yes",), {}, vocabulary.words.value_words).meant(text) != ["yes"]:
        raise BadInput([Problem(place, f"An event is only written down if it happened, not as {printable(text)}.", "Leave it out, or write yes.")])
    return {"word": "yes"}


def _quantity(point: Point, text: str, place: Place) -> _Value:
    try:
        quantity = parse_quantity(_figure_in(text) if point.unit == "s" else text, point.unit)
    except BadQuantity as bad:
        raise BadInput([Problem(place, f"{point.point}: {bad.message}", bad.fix)]) from None
    return {"number": quantity.value, "approximate": quantity.approximate, "give": quantity.give}


def _worded(name: str, text: str, values: Names, place: Place, more: str = "") -> str:
    """The value that *text* means. Raises BadInput, with all values and the nearest of them first, where it is none of them or could be two."""
    meant = values.meant(text)
    if len(meant) == 1:
        return meant[0]
    asked = printable(text) or "empty"
    if meant:
        of = "" if all(": " in thing for thing in meant) else f"{name}: "  # each of another sign: the one that was read in the name was typed by nobody
        raise BadInput([Problem(place, f"{of}{asked} could be {_or(meant)}.", "Write the one you mean.")])
    ranked = list(dict.fromkeys([*values.suggested(text), *values.ids]))
    raise BadInput([Problem(place, f"{name} cannot be {asked}.", f"Use one of: {', '.join(ranked)}.{more}")])


def _figure(knowledge: Knowledge, sign: Sign, text: str) -> str:
    """Where a figure given for a sign belongs: the points that tell the same."""
    points = [p for p in sign.says_same_as if p in knowledge.point]
    return f" A figure belongs to point: {_or(points)}." if points and text.strip()[:1].isdigit() else ""


def clashing(records: Sequence[Record], signs: Mapping[str, Sign] | None = None) -> list[Problem]:
    """Two different answers to the same question, asked in the same way in the same call.

    With *signs* a word and a closer one ("no" and "hums" of a motor that stands) do not clash; without, they are two answers.
    """
    problems = []
    first: dict[tuple[object, ...], Record] = {}
    for r in records:
        if r.kind not in ("point", "sign"):
            continue
        other = first.setdefault(_asked(r), r)
        if other is not r and not _both(other, r, signs):
            fix = "Take one out, or say in which call, step or with which meter each was taken."
            where = f"line {other.place.line}"
            problems.append(Problem(r.place, f"{printable(r.said)} here, but {printable(other.said)} at {where}.", fix))
    return problems


def seen_before_told(records: Sequence[Record], knowledge: Knowledge) -> tuple[list[Record], list[Record]]:
    """The records without what was told and then seen otherwise, which the eye decides; and those, each with why it is not used.

    What would be a hazard is never set aside: who smells no gas may come later than who smelled it.
    """
    lines = [w for h in knowledge.hazard.values() for way in h.when for w in way]
    hazards = {(n, word) for w in lines for kind, n in w.names for word in (w.is_ if kind == "sign" else (None,))}  # of a point whatever was told
    seen = [r for r in records if r.kind in ("point", "sign") and r.source != "told"]
    kept, set_aside = list[Record](), list[Record]()
    for r in records:
        may_go = r.source == "told" and (r.name, r.word) not in hazards
        otherwise = [s for s in seen if may_go and _asked(s) == _asked(r) and not _both(r, s, knowledge.sign)]
        if otherwise:
            why = f"it was told, and {printable(otherwise[0].said)} was seen (line {otherwise[0].place.line})"
            set_aside.append(replace(r, unused=why))
        else:
            kept.append(r)
    return kept, set_aside


def _asked(record: Record) -> tuple[object, ...]:
    """The question that a reading or sign answers, and how it was taken."""
    return (record.kind, record.name, record.step, record.call, record.after_s, record.meter, record.contact, record.set_up, record.hold)


def _both(one: Record, other: Record, signs: Mapping[str, Sign] | None) -> bool:
    """Whether two answers to the same question may both be right."""
    return _agree(one, other) or bool(signs and one.kind == "sign" and _may_both_be(signs[one.name], one, other))


def same_again(one: Record, other: Record) -> bool:
    """Whether the same was read or looked at twice, in the same way in the same call, and was the same."""
    how = [(r.kind, r.name, r.step, r.call, r.meter, r.contact, r.set_up) for r in (one, other)]
    return one.kind in ("point", "sign") and how[0] == how[1] and _agree(one, other)


def _may_both_be(sign: Sign, one: Record, other: Record) -> bool:
    """Whether two values of a sign may be told of one and the same thing that a furnace shows."""
    shown = [set(sign.meant_by(str(r.word))) for r in (one, other)]
    return bool(shown[0] & shown[1])


def _agree(one: Record, other: Record) -> bool:
    if one.number is None or other.number is None:
        return one.word == other.word
    if one.number == other.number:
        return True
    return abs(one.number - other.number) <= max(1.0, SAME_READING * min(abs(one.number), abs(other.number)))
