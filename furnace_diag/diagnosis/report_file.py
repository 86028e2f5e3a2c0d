"""A report file -> a report, with everything that is wrong in it, each with its place."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path

from furnace_diag.diagnosis.entries import KINDS, FurnaceEntry, plain_part, record_entry, report_entry
from furnace_diag.diagnosis.hearsay import complained, not_heard
from furnace_diag.diagnosis.one_record import record_at
from furnace_diag.diagnosis.records import Record, Report
from furnace_diag.diagnosis.two_answers import clashing, seen_before_told
from furnace_diag.diagnosis.vocabulary import Vocabulary, either
from furnace_diag.knowledge.find import Names
from furnace_diag.knowledge.models import Knowledge
from furnace_diag.knowledge.values import words_for_values
from furnace_diag.knowledge.yaml_text import Document, parse_yaml, read_yaml
from furnace_diag.problems import BadInput, Place, Problem, printable

EXAMPLE = (
    "furnace: {family: induced_draft_hsi_80}",
    "complaint: no heat",
    "records: [{sign: inducer_runs, value: yes}, {point: igniter_ohms, value: OL}]",
)


def read_report(path: Path, knowledge: Knowledge, vocabulary: Vocabulary | None = None, *, shown_as: str | None = None) -> Report:
    """The report in a YAML file. Raises BadInput with every problem in it, each with its place. *vocabulary*: as for `understand`."""
    return understand(read_yaml(path, shown_as=shown_as, example=EXAMPLE), knowledge, vocabulary)


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
    read_as += not_heard(entry.complaint, vocabulary) if entry.complaint else []
    return Report(family, entry.complaint, tuple(records), options, tuple(read_as), entry.answer, tuple(set_aside))


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
            fix = f"Did you mean {either(near)}?" if near else f"Options: {', '.join(knowledge.furnace[family].options)}."
            problems.append(Problem(place, f"This furnace has no option {printable(name)}.", fix))
        elif value not in option.values:
            problems.append(Problem(place, f"{name} cannot be {printable(value)}.", f"Use one of: {', '.join(option.values)}."))
        else:
            known[name] = value
    return known


def _event_that_did_not_happen(document: Document, i: int, vocabulary: Vocabulary) -> str:
    """The event of which ("records", i) says that it did not happen; empty where that is any other record. Raises BadInput as `record_at` does."""
    entry = record_entry(document, i)
    named = [kind for kind in KINDS if getattr(entry, kind) is not None]
    if named != ["event"] or words_for_values(("yes", "no"), {}, vocabulary.words.value_words).meant(entry.value) != ["no"]:
        return ""
    return vocabulary.one("event", str(entry.event), document.place_of(("records", i, "event")))


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
