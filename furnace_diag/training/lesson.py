"""A lesson file: a report as the customer gives it, and beside it what is hidden from the trainee.

It is written like a report (furnace, complaint, records, story), with two keys more: `hidden`, the faults and the site,
and `answer`, what a right answer must hold.
"""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Annotated, TypeVar

from furnace_diag.diagnosis.records import Report
from furnace_diag.diagnosis.report_file import understand
from furnace_diag.diagnosis.vocabulary import Vocabulary
from furnace_diag.furnace.family import Family, Fault
from furnace_diag.knowledge.checked import validate
from furnace_diag.knowledge.find import Names
from furnace_diag.knowledge.likeness import mended
from furnace_diag.knowledge.model_base import Id, Line, Model, model_field, must, read_by
from furnace_diag.knowledge.models import Knowledge
from furnace_diag.knowledge.spelling import plain
from furnace_diag.knowledge.yaml_text import Document, read_yaml
from furnace_diag.problems import BadInput, Place, Problem, printable

FAR_OFF = 2.0  # as many times what a sound furnace has at most, or that part of what it has at least; judgement
MOST_FAULTS = 2  # hidden at once
LONGEST_LINE = 10_000  # characters of a first line that is looked at
USUAL_SEVERITY = 0.5  # of a fault, from 0 (mildest) to 1 (worst), where a lesson says none
EXAMPLE = (
    "complaint: no heat",
    "records: []",
    "hidden: {faults: [{fault: igniter:open}]}",
    "answer: {parts: [igniter]}",
)
Name = Annotated[str, must(min_length=1, max_length=120)]  # an id, or what else it is called
WANTED = {
    "hidden": "It has faults, and if you like site and untrue: hidden: {faults: [{fault: igniter:open}]}",
    "answer": "It has parts, and if you like readings and says: answer: {parts: [igniter]}",
}


def _listed(said: object) -> object:
    return [said] if isinstance(said, str) else said


class FaultEntry(Model):
    """One hidden fault. *calls*: the heat calls, counted from 1, in which one that comes and goes is there."""

    fault: Name = model_field(description="Write it as part:failure, such as igniter:open; furnace-diag explain PART lists a part's failures.")
    severity: float = model_field(default=USUAL_SEVERITY, ge=0, le=1, description="Write 0 for the mildest the rules have, 1 for the worst.")
    calls: Annotated[tuple[Annotated[int, must(ge=1)], ...], read_by(_listed)] | None = model_field(
        default=None, min_length=1, max_length=20,
        description="Write the heat calls in which it is there, counted from 1, such as [2, 3]; leave it out for always.",
    )  # fmt: skip


class HiddenEntry(Model):
    """What the trainee is not told. *site*: numbers of the furnace; *untrue*: names of records that the furnace does not bear out, on purpose.

    *put_in_again*: somebody has put in the breaker or the fuse that a short has opened, and the trainee sees when it opens again.
    """

    faults: tuple[FaultEntry, ...] = model_field(description="Write one or two, each as - {fault: igniter:open}.")
    site: dict[str, float] = model_field(default={}, description="Write numbers of the furnace file, such as supply_volts: 118.")
    untrue: Annotated[tuple[Id, ...], read_by(_listed)] = ()
    put_in_again: bool = model_field(
        default=False, description="Write yes where the breaker or fuse that the fault opens was put in again before the trainee comes."
    )


class AnswerEntry(Model):
    """What a right answer must hold: the parts to be named, the readings that it must rest on, and what the instructor listens for."""

    parts: Annotated[tuple[Name, ...], read_by(_listed)] = model_field(min_length=1, description="Write the part or parts, such as [igniter].")
    readings: Annotated[tuple[Name, ...], read_by(_listed)] = model_field(default=(), description="Write points or signs; furnace-diag points lists them.")
    says: Annotated[tuple[Line, ...], read_by(_listed)] = model_field(default=(), max_length=20, description="Write what to listen for, each line as - TEXT.")


@dataclass(frozen=True)
class Hidden:
    """One fault of a lesson, understood."""

    fault: Fault
    severity: float = USUAL_SEVERITY
    calls: tuple[int, ...] | None = None


@dataclass(frozen=True)
class Lesson:
    """A lesson. *report* is what the trainee is told, *told* its records as they were written; *seal*: SHA-256 of the file's text."""

    file: str
    name: str
    story: str
    report: Report
    faults: tuple[Hidden, ...]
    site: dict[str, float]
    untrue: tuple[str, ...]
    parts: tuple[str, ...]
    readings: tuple[str, ...] = ()
    says: tuple[str, ...] = ()
    seal: str = ""
    told: tuple[dict[str, object], ...] = ()
    put_in_again: bool = False


def read_lesson(path: Path, knowledge: Knowledge) -> Lesson:
    """The lesson in a file. Raises BadInput with every problem in it, each with its place."""
    _refuse_journal(path)
    document = read_yaml(path, example=EXAMPLE)
    lesson = understood(document, knowledge)
    return replace(lesson, name=path.stem, seal=hashlib.sha256(path.read_bytes()).hexdigest())


def _refuse_journal(path: Path) -> None:
    """Raises BadInput for the record of a drill or a visit, whose first line says so: it is no YAML, and what that would say of it helps nobody."""
    with suppress(OSError, ValueError), path.open(encoding="utf-8") as file:
        first = json.loads(file.readline(LONGEST_LINE))
        if isinstance(first, dict) and first.get("event") == "opened":
            fix = "Name the lesson's own file; the record of a drill stands behind --record."
            raise BadInput([Problem(Place(str(path), 1, 1), "This is the record of a drill or a visit, not a lesson.", fix)])


def understood(document: Document, knowledge: Knowledge) -> Lesson:
    """A lesson from its YAML. Raises BadInput with every problem in it."""
    value = document.value
    if not isinstance(value, dict):
        what = "a list" if isinstance(value, list) else "a word"
        raise BadInput([Problem(document.place_of(()), f"A lesson is a mapping of names to values, not {what}.", "Write for instance:", EXAMPLE)])
    problems = list(_missing(document, value))
    told = {"records": [], **{name: value[name] for name in value if name not in ("hidden", "answer")}}  # a customer may tell nothing but the complaint
    report, reported = Report(next(iter(knowledge.furnace)), "", ()), False
    try:
        report, reported = understand(replace(document, value=told), knowledge), True
    except BadInput as bad:
        problems += [p for p in bad.problems if (p.place, p.message) not in {(q.place, q.message) for q in problems}]  # what is missing is told already
    hidden, more = _block(HiddenEntry, document, "hidden")
    answer, still = _block(AnswerEntry, document, "answer")
    problems += [*more, *still]
    family = Family(knowledge, report.family)
    if problems:  # what else is wrong is told in the same go, as far as it can be read
        hidden, answer = hidden or _plain_hidden(value.get("hidden")), answer or _plain_answer(value.get("answer"))
    vocabulary = Vocabulary(knowledge, report.family)
    hidden, answer = _by_ids(hidden, answer, vocabulary)
    problems += _wrong_hidden(document, hidden, family, report if reported else None, vocabulary.names("history")) if hidden is not None else ()
    problems += _wrong_answer(document, answer, knowledge) if answer is not None else ()
    problems += _not_answered(document, hidden, answer, knowledge) if hidden is not None and answer is not None else ()
    if problems or hidden is None or answer is None:
        raise BadInput(sorted(problems, key=lambda p: (p.place is None, p.place)))
    faults = tuple(Hidden(_fault(f.fault), f.severity, f.calls) for f in hidden.faults)
    story = str(value.get("story", "")).strip()
    records = told["records"]
    written = tuple(r for r in records if isinstance(r, dict)) if isinstance(records, list) else ()
    return Lesson(
        document.file, "", story, report, faults, hidden.site, hidden.untrue, answer.parts, answer.readings, answer.says, told=written,
        put_in_again=hidden.put_in_again,
    )  # fmt: skip


_Block = TypeVar("_Block", bound=Model)


def _block(kind: type[_Block], document: Document, key: str) -> tuple[_Block | None, list[Problem]]:
    """One key of a lesson as a model. Where it is no block of names, or one of its names is unknown, the problem tells the names that it can have."""
    value = document.value[key] if isinstance(document.value, dict) and key in document.value else {}
    if not isinstance(value, dict):
        return None, [Problem(document.place_of((key,)), f"{key} is a block of named entries.", WANTED[key])]
    return validate(kind, document, (key,)) if value or key in document.value else (None, [])


def _plain_hidden(written: object) -> HiddenEntry | None:
    """What can be read of a hidden block in which something is wrong; None where not all of its faults are there as they should be written."""
    faults = written.get("faults") if isinstance(written, dict) else None
    if not isinstance(written, dict) or not isinstance(faults, list) or not all(isinstance(f, dict) and isinstance(f.get("fault"), str) for f in faults):
        return None
    site, untrue = written.get("site"), _listed(written.get("untrue"))
    return HiddenEntry(
        faults=tuple(FaultEntry(fault=f["fault"]) for f in faults if isinstance(f, dict)),
        site={name: _plain_figure(figure) for name, figure in site.items()} if isinstance(site, dict) else {},
        untrue=tuple(n for n in untrue if isinstance(n, str)) if isinstance(untrue, list) else (),
    )  # fmt: skip


def _plain_figure(written: object) -> float:
    """The number that is written; nan where that is none, which is told already."""
    try:
        return float(str(written))
    except ValueError:
        return math.nan


def _plain_answer(written: object) -> AnswerEntry | None:
    """The same of an answer; None where its parts are not there as they should be written."""
    parts, readings = (_listed(written.get(key)) if isinstance(written, dict) else None for key in ("parts", "readings"))
    if not isinstance(parts, list) or not all(isinstance(p, str) for p in parts):
        return None
    return AnswerEntry(parts=tuple(parts), readings=tuple(r for r in readings if isinstance(r, str)) if isinstance(readings, list) else ())


def _by_ids(hidden: HiddenEntry | None, answer: AnswerEntry | None, vocabulary: Vocabulary) -> tuple[HiddenEntry | None, AnswerEntry | None]:
    """The same with ids for what is called otherwise; what means nothing, or two things, stays as it was written, and so does a slip of the keys."""
    slips = _slips_of(vocabulary)

    def one(text: str, *kinds: str) -> str:
        meant = [i for kind in kinds for i in vocabulary.names(kind).meant(text)]
        return meant[0] if len(meant) == 1 and slips.isdisjoint(plain(text.replace("_", " ")).split()) else text

    def fault(text: str) -> str:
        part, colon, failure = text.partition(":")
        named = f"{one(part.strip(), 'history')}{colon}{failure.strip().replace(' ', '_')}"
        return one(text, "history") if named not in vocabulary.entries["history"] else named

    if hidden is not None:
        hidden = hidden.model_copy(update={"faults": tuple(f.model_copy(update={"fault": fault(f.fault)}) for f in hidden.faults)})
    if answer is not None:
        known = {"parts": tuple(one(p, "history") for p in answer.parts), "readings": tuple(one(r, "point", "sign") for r in answer.readings)}
        answer = answer.model_copy(update=known)
    return hidden, answer


def _slips_of(vocabulary: Vocabulary) -> frozenset[str]:
    """The short words of the trade that are only a long one misspelt, and stand in no part's names: they are understood at a prompt, where it is told as
    what; a file says what it means."""
    named = {word for also in vocabulary.entries["history"].values() for name in also for word in plain(name).split()}
    spelt = ((long, plain(short)) for long, others in vocabulary.words.short_words.items() for short in others)
    apart = ((long, short) for long, short in spelt if short not in named and short.rstrip("s") != long.rstrip("s"))
    return frozenset(short for long, short in apart if mended(short, {plain(long)}) != short)


def _missing(document: Document, value: dict[str, object]) -> Iterator[Problem]:
    for key, example in (("hidden", "hidden: {faults: [{fault: igniter:open}]}"), ("answer", "answer: {parts: [igniter]}")):
        if key not in value:
            yield Problem(document.place_of(()), f'"{key}" is missing.', f"Write for instance {example}")


def _fault(text: str) -> Fault:
    part, _, failure = text.partition(":")
    return Fault(part, failure)


def _wrong_hidden(document: Document, hidden: HiddenEntry, family: Family, report: Report | None, parts: Names) -> Iterator[Problem]:
    """*report*: what the customer tells, None where that cannot be read; *parts*: what parts and their failures are called."""
    if not 0 < len(hidden.faults) <= MOST_FAULTS:
        message = f"{len(hidden.faults)} faults are hidden."
        yield Problem(document.place_of(("hidden", "faults")), message, "Hide one or two, each written as - {fault: igniter:open}.")
    for i, entry in enumerate(hidden.faults):
        if entry.fault in {before.fault for before in hidden.faults[:i]} & {*map(str, family.faults)}:
            yield Problem(document.place_of(("hidden", "faults", i)), f"{printable(entry.fault)} is hidden twice.", "Take one of them out.")
        yield from _unless_failure(document, ("hidden", "faults", i, "fault"), entry.fault, family, parts)
    for name in hidden.site:
        yield from _unless_known(document, ("hidden", "site", name), name, family.furnace.numbers, "a number of this furnace", key=True)
        yield from _far_off(document, name, hidden.site[name], family)
    if report is None:
        return
    for i, name in enumerate(hidden.untrue):
        yield from _unless_known(document, ("hidden", "untrue", i), name, (r.name for r in report.records), "among the records of this lesson")


def _far_off(document: Document, name: str, figure: float, family: Family) -> Iterator[Problem]:
    """A number of the site that no furnace has, good or bad: most likely a slip of the keys."""
    number = family.furnace.numbers.get(name)
    if number is None or number.of is not None or not math.isfinite(figure):  # what it is a multiple of, the lesson may set as well
        return
    ends = [end for low_high in (number.between, *(b for ways in number.instead.values() for b in ways.values())) for end in low_high]
    least, most = min(min(ends) / FAR_OFF, min(ends) * FAR_OFF), max(max(ends) / FAR_OFF, max(ends) * FAR_OFF)
    if not least <= figure <= most:
        said = f"{figure:g} is far from any {name.replace('_', ' ')} of this furnace, {min(ends):g} to {max(ends):g} where it is sound."
        yield Problem(document.place_of(("hidden", "site", name)), said, f"Write one from {least:g} to {most:g}.")


def _wrong_answer(document: Document, answer: AnswerEntry, k: Knowledge) -> Iterator[Problem]:
    for i, name in enumerate(answer.parts):
        yield from _unless_known(document, ("answer", "parts", i), name, k.part, "a part")
    for i, name in enumerate(answer.readings):
        yield from _unless_known(document, ("answer", "readings", i), name, [*k.point, *k.sign], "a point or sign")


def _not_answered(document: Document, hidden: HiddenEntry, answer: AnswerEntry, k: Knowledge) -> Iterator[Problem]:
    """Every part at fault must be named by the answer."""
    for i, entry in enumerate(hidden.faults):
        part = entry.fault.partition(":")[0]
        if part not in answer.parts and part in k.part:
            fix = f"Add {part} to the parts of the answer, or hide another fault."
            yield Problem(document.place_of(("hidden", "faults", i)), f"{part} is at fault and the answer does not name it.", fix)


def _unless_failure(document: Document, path: tuple[str | int, ...], name: str, family: Family, parts: Names) -> Iterator[Problem]:
    """Where the part is known and what it does is not, which failures it has: people have many words for one, and one word may fit its opposite."""
    known = list(map(str, family.faults))
    written, _, typed = name.partition(":")
    part = next(iter(parts.meant(written)), "").partition(":")[0]
    its = [fault.partition(":")[2] for fault in known if fault.startswith(f"{part}:")]
    if name in known or not its:
        yield from _unless_known(document, path, name, known, "a failure of this furnace")
        return
    said = plain(typed.replace("_", " "))
    slips = [failure for failure in its if mended(said, {plain(failure)}) == plain(failure)]
    slips = slips or [failure for failure, score in Names(dict.fromkeys(its, ())).near(said).items() if score > 1]  # alike as a whole
    listed = f"After {part}: write one of {', '.join(its)}; furnace-diag explain {part} tells what each is."
    fix = f"Did you mean {' or '.join(f'{part}:{failure}' for failure in slips)}?" if slips else listed
    yield Problem(document.place_of(path), f"{printable(name)} is not a failure of this furnace.", fix)


def _unless_known(
    document: Document, path: tuple[str | int, ...], name: str, names: Iterable[str], what: str, *, key: bool = False
) -> Iterator[Problem]:
    known: dict[str, tuple[str, ...]] = dict.fromkeys(names, ())
    if name not in known:
        near = Names(known).suggested(name.replace("_", " ").replace(":", " ")) if known else []
        fix = f"Did you mean {' or '.join(near)}?" if near else f"Use one of: {', '.join(list(known)[:8])}{', ...' if len(known) > 8 else ''}."
        yield Problem(document.place_of(path, key=key), f"{printable(name)} is not {what}.", fix if known else "Leave it out.")
