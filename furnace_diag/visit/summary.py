"""The facts of a visit's report: all that its journal tells, held against the rules. How they look is not told here."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np

from furnace_diag.diagnosis.answer import Weighed, as_objects, weighed
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.findings import Found, Need
from furnace_diag.diagnosis.one_record import record_of
from furnace_diag.diagnosis.progress import posteriors_after
from furnace_diag.diagnosis.records import Record, Report
from furnace_diag.diagnosis.verdict import BoardVerdict, by_belief
from furnace_diag.diagnosis.vocabulary import Vocabulary
from furnace_diag.diagnosis.weigh import Posterior
from furnace_diag.furnace.family import Family
from furnace_diag.knowledge.models import Knowledge, Notice, Part
from furnace_diag.knowledge.repair_models import Check
from furnace_diag.knowledge.repairs import cautions_of
from furnace_diag.problems import Place
from furnace_diag.visit.ended import Ends
from furnace_diag.visit.expected import Expectations, Range, Stands
from furnace_diag.visit.journal import Event, is_half_written, read_journal
from furnace_diag.visit.session import report_of
from furnace_diag.visit.state import TAKES_BACK, Entry, Repair, Visit, visit_of

SUMMARY_VERSION = 1
MOST_BELIEFS = 80  # entries after which belief is told; of more, these are spread evenly
MOST_DRAWN = 5  # parts whose belief is followed
FOLLOWED_FROM = 0.1  # a part that never reaches this is not followed, judgement
PROVED = "proved"  # how a visit is closed whose repair is proved


@dataclass(frozen=True)
class ToldRecord:
    """One record: its number among all that were typed, what it says, and how it stands to what was expected.

    *typed*: the value as it was typed; *number*, *unit*: the same in the point's own unit, OL infinite; *word*: the value of a sign or repair.
    *how*: how it was taken, name and value. *expected*: the range of the rules at that step, *healthy*: what healthy furnaces of the
    rules read there, *usual*: the values of a sign that they show. *unused*: why the ranking makes nothing of it.
    """

    entry: int
    at: str
    kind: str
    name: str
    says: str
    typed: str
    number: float | None
    unit: str | None
    word: str | None
    step: str | None
    call: int
    how: tuple[tuple[str, str], ...]
    expected: Range | None
    healthy: Range | None
    usual: tuple[str, ...]
    stands: Stands
    unused: str | None


@dataclass(frozen=True)
class SafetyAnswer:
    """A question of safety and what was answered to it; *asked* is False where the visit never came to it."""

    question: str
    asks: str
    asked: bool
    answers: tuple[ToldRecord, ...]


@dataclass(frozen=True)
class Belief:
    """What was believed once entry *after* was in (0: before any): of the part that leads, of those that are followed, of something else."""

    after: int
    leading: str
    probability: float
    parts: dict[str, float]
    something_else: float


@dataclass(frozen=True)
class PartNow:
    """What all records together make believed of a part. *to_customer*: what it is called to somebody who knows no furnaces."""

    part: str
    says: str
    to_customer: str
    probability: float


@dataclass(frozen=True)
class RepairTold:
    """A repair and the records taken after it.

    *before*: what was to be shown before its first step; *needs*: the checks that prove it, in order; *known*: whether these rules say
    which they are. *also_to_customer*: what else was done, for somebody who knows no furnaces. *lacks_proof*: it may only be done on a
    proof, and none is complete. *no_change*: the fault was still there afterwards.
    """

    part: str
    to_customer: str
    also_to_customer: str
    failure: str
    repair: str
    says: str
    no_change: bool
    known: bool
    before: tuple[Need, ...]
    needs: tuple[Need, ...]
    lacks_proof: bool
    cautions: tuple[str, ...]
    records: tuple[ToldRecord, ...]
    source: str
    rule: str

    @property
    def proved(self) -> bool:
        """Whether every check after it is met and none denied."""
        met = self.known and bool(self.needs) and not any(n.calls_left or n.denied_by for n in self.needs)
        return met and not self.no_change and not self.lacks_proof


@dataclass(frozen=True)
class SourceTold:
    """Where a statement of the report comes from: the rule's file and line, and its outside source."""

    what: str
    rule: str
    source: str


@dataclass(frozen=True)
class Closing:
    """How the visit ended.

    *closed*: in the journal's word, empty while it is open. *proved*: whether the records bear out a repair; *lacks*: what is missing for that.
    """

    closed: str
    reason: str
    proved: bool
    lacks: tuple[str, ...]


@dataclass(frozen=True)
class Summary:
    """A visit's report; the fields and their order are the JSON. *drill*: its furnace is a virtual one.

    *put_right*: what was a hazard as it was found, and is none any more. *records*: in the order of the heat call's steps, then of time; *before*: what
    happened or was replaced before. *belief*: in the order in which the records were typed. *lines*, *last_hash*: of the journal.
    """

    version: int
    file: str
    drill: bool
    opened: str
    furnace: str
    furnace_says: str
    options: dict[str, str]
    complaint: str
    hazards: tuple[Found, ...]
    put_right: tuple[str, ...]
    safety: tuple[SafetyAnswer, ...]
    before: tuple[ToldRecord, ...]
    records: tuple[ToldRecord, ...]
    belief: tuple[Belief, ...]
    parts: tuple[PartNow, ...]
    something_else: float
    board: BoardVerdict
    doubts: tuple[Found, ...]
    root_causes: tuple[Found, ...]
    exonerations: tuple[Found, ...]
    advice: tuple[Found, ...]
    repairs: tuple[RepairTold, ...]
    closing: Closing
    notes: tuple[tuple[str, str], ...]
    without: tuple[str, ...]
    cautions: tuple[str, ...]
    sources: tuple[SourceTold, ...]
    notices: tuple[Notice, ...]
    rules_of_visit: str
    rules_version: str
    engine: str
    taken_back: int
    corrected: int
    lines: int
    half_written: bool
    last_hash: str

    @property
    def every_record(self) -> tuple[ToldRecord, ...]:
        """All records, each once, wherever it stands in the report."""
        safety = (r for s in self.safety for r in s.answers)
        return (*safety, *self.before, *self.records, *(r for repair in self.repairs for r in repair.records))


def summary_of(path: Path, evidence: Evidence) -> Summary:
    """The report of the journal at *path*. Raises BadInput where it was changed, or speaks of what the rules do not know."""
    events, last_hash = read_journal(path)
    return _Made(path, evidence, events, last_hash).summary()


def as_json(summary: Summary) -> dict[str, Any]:
    """A summary for JSON, which knows no infinity: a reading without end is "OL"."""
    made: dict[str, Any] = _plain(as_objects(summary) | {"notices": [n.as_written() for n in summary.notices]})
    return made


def _plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {k: _plain(v) for k, v in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(v) for v in value]
    return "OL" if isinstance(value, float) and math.isinf(value) else value


class _Made:
    """One journal on its way to a summary."""

    def __init__(self, path: Path, evidence: Evidence, events: Sequence[Event], last_hash: str) -> None:
        self.path, self.evidence, self.events, self.last_hash = path, evidence, events, last_hash
        self.k: Knowledge = evidence.knowledge
        self.visit: Visit = visit_of(events, str(path))
        self.report: Report = report_of(self.visit, path, self.k)
        self.now: Weighed = weighed(self.report, evidence)
        self.expectations = Expectations(evidence, self.report.options)
        vocabulary = Vocabulary(self.k, self.visit.family)
        self.records: dict[int, Record] = {
            e.number: record_of(e.record, Place(str(path), e.event, 1), vocabulary) for e in self.visit.entries
        }
        self.ends = Ends(self.k, evidence.finder, lambda entry: self.records[entry.number])

    @cached_property
    def hazards(self) -> tuple[Found, ...]:
        """Shown by what tells of the fault and no repair has ended, or by what was taken after the repair; each once."""
        after = [self.records[e.number] for e in self.visit.checking]
        later = self.evidence.finder.find(after, self.report.options).hazards if after else ()
        before = self.ends.left(self.visit, until_read=True) if self.visit.repairs else None
        first = self.now.found.hazards if before is None else self.evidence.finder.find(before, self.report.options).hazards
        return (*first, *(h for h in later if h.finding not in {f.finding for f in first}))

    def _put_right(self) -> Iterator[str]:
        for record in self.records.values():
            sign = self.k.sign.get(record.name) if record.kind == "sign" else None
            if sign is not None and record.word in sign.put_right:
                yield sign.put_right[str(record.word)].says
        yield from (how.says for _, how in self.ends.ended(self.visit))

    def summary(self) -> Summary:
        visit, now, found = self.visit, self.now, self.now.found
        first = [e for e in visit.entries if not e.repair]
        asked = {q.sign for q in self.k.question.values() if q.group == "safety"}
        ordinary = [e for e in first if e.record.get("sign") not in asked]
        parts = self._parts(now)
        repairs = tuple(self._repair(r) for r in visit.repairs)
        return Summary(
            version=SUMMARY_VERSION,
            file=self.path.name,
            drill=bool(visit.drill),
            opened=visit.opened,
            furnace=visit.family,
            furnace_says=self.k.furnace[visit.family].says,
            options=dict(visit.options),
            complaint=visit.complaint,
            hazards=self.hazards,
            put_right=tuple(dict.fromkeys(self._put_right())),
            safety=tuple(self._safety([e for e in first if e.record.get("sign") in asked])),
            before=tuple(self._told(e) for e in ordinary if self.records[e.number].kind not in ("point", "sign")),
            records=tuple(self._told(e) for e in self._in_sequence(e for e in ordinary if self.records[e.number].kind in ("point", "sign"))),
            belief=self._beliefs(),
            parts=parts,
            something_else=now.posterior.something_else,
            board=now.board,
            doubts=found.doubts,
            root_causes=found.root_causes,
            exonerations=found.exonerations,
            advice=found.advice,
            repairs=repairs,
            closing=self._closing(repairs),
            notes=tuple(visit.notes),
            without=visit.without,
            cautions=self._cautions(repairs),
            sources=tuple(self._sources(repairs)),
            notices=tuple(self.k.notice.values()),
            rules_of_visit=visit.rules_version,
            rules_version=self.k.version,
            engine=found.engine,
            taken_back=sum(e.event == TAKES_BACK for e in self.events),
            corrected=sum(e.event == "record" and "instead_of" in e.says and not e.says.get("put_right") for e in self.events),
            lines=len(self.events),
            half_written=is_half_written(self.path),
            last_hash=self.last_hash,
        )

    # --- records ------------------------------------------------------------------------------

    def _in_sequence(self, entries: Iterable[Entry]) -> list[Entry]:
        """In the order of the control's steps; what is said of no step first."""
        steps = self.evidence.family.steps
        return sorted(entries, key=lambda e: (steps.get(self.records[e.number].step or "", -1), e.number))

    def _told(self, entry: Entry) -> ToldRecord:
        r = self.records[entry.number]
        point = self.k.point.get(r.name) if r.kind == "point" else None
        expected, healthy, usual = self.expectations.of(r)
        return ToldRecord(
            entry=entry.number, at=entry.at, kind=r.kind, name=r.name, says=self._says(r), typed=str(entry.record.get("value", "yes")),
            number=r.number, unit=point.unit if point else None, word=r.word, step=r.step, call=r.call, how=tuple(_how(r)),
            expected=expected, healthy=healthy, usual=usual, stands=self.expectations.stands(r, expected, healthy, usual),
            unused=self.evidence.why_unused(r),
        )  # fmt: skip

    def _says(self, record: Record) -> str:
        """What a record is about, in the rules' words."""
        if record.kind == "history":
            part, _, failure = record.name.partition(":")
            return f"{self.k.part[part].says.rstrip('.')}{f' ({_words(failure)})' if failure else ''}"
        entry = getattr(self.k, record.kind).get(record.name) if record.kind in ("point", "sign", "event") else None
        return str(entry.says) if entry is not None else _words(record.name)

    def _safety(self, answers: Sequence[Entry]) -> Iterator[SafetyAnswer]:
        for q in self.k.question.values():
            if q.group == "safety":
                told = tuple(self._told(e) for e in answers if e.record["sign"] == q.sign)
                yield SafetyAnswer(q.question, q.asks, bool(told) or q.question in self.visit.asked, told)

    # --- belief -------------------------------------------------------------------------------

    def _parts(self, seen: Weighed) -> tuple[PartNow, ...]:
        belief = _by_part(self.evidence.family, seen.posterior)
        parts = [PartNow(p, self.k.part[p].says, _to_customer(self.k.part[p]), belief[p]) for p in belief]
        return tuple(sorted(parts, key=lambda p: by_belief(p.part, p.probability)))

    def _beliefs(self) -> tuple[Belief, ...]:
        """Belief after each of the records that tell of the fault, in the order in which they were typed."""
        telling = self.visit.telling
        after = np.unique(np.linspace(0, len(telling), min(len(telling), MOST_BELIEFS) + 1).round().astype(int)).tolist()
        posteriors = list(posteriors_after(self.report, self.evidence, after))
        tables = [_by_part(self.evidence.family, p) for p in posteriors]
        followed = _followed(tables[1:] or tables)
        made = []
        for n, table, posterior in zip(after, tables, posteriors, strict=True):
            _, leading = min(by_belief(p, table[p]) for p in table)
            number = telling[n - 1].number if n else 0
            made.append(Belief(number, leading, table[leading], {p: table[p] for p in followed}, posterior.something_else))
        return tuple(made)

    # --- repairs ------------------------------------------------------------------------------

    def _repair(self, repair: Repair) -> RepairTold:
        entries = [e for e in self.visit.entries if e.repair == repair.number]
        part = self.k.part.get(repair.part)
        found = [self.records[e.number] for e in self.visit.entries if e.repair < repair.number]
        besides = self.ends.checks_besides(repair.repair, found, self.report.options)
        state = _checked(self.evidence, self.report, self.now, repair, [self.records[e.number] for e in entries], besides)
        return RepairTold(
            part=repair.part, to_customer=_to_customer(part) if part else _words(repair.part),
            also_to_customer=(entry.to_customer or "") if (entry := self.k.repair.get(repair.repair)) else "", failure=repair.failure, repair=repair.repair,
            says=state.says or _words(repair.repair), no_change=repair.no_change, known=bool(state.rule), before=state.before,
            needs=state.needs, lacks_proof=state.lacks_proof, cautions=state.cautions, records=tuple(self._told(e) for e in self._in_sequence(entries)),
            source=state.source, rule=state.rule,
        )  # fmt: skip

    def _closing(self, repairs: Sequence[RepairTold]) -> Closing:
        lacks = tuple(self._lacks(repairs))
        return Closing(self.visit.closed, self.visit.reason, not lacks, lacks)

    def _lacks(self, repairs: Sequence[RepairTold]) -> Iterator[str]:
        """Why the records do not prove that the furnace is mended; nothing where they do."""
        yield from (f"A hazard stands: {h.says}" for h in self.hazards)
        last = repairs[-1] if repairs else None
        if last is None:
            yield "No repair was done."
        elif last.no_change:
            yield f"The fault was still there after the last repair ({_words(last.part)})."
        elif not last.known:
            yield "These rules do not know this repair, nor what proves it."
        else:
            if last.lacks_proof:
                yield f"{_words(last.part).capitalize()}: no proof that it had failed is complete."
            yield from (f"Not shown after the repair: {n.says}" for n in last.needs if n.calls_left and not n.denied_by)
            yield from (f"Spoken against after the repair: {n.says}" for n in last.needs if n.denied_by)

    # --- what goes with it ----------------------------------------------------------------------

    def _cautions(self, repairs: Sequence[RepairTold]) -> tuple[str, ...]:
        """Those of everything that was read and of the repairs, each once."""
        entries = [getattr(self.k, r.kind).get(r.name) for r in self.records.values() if r.kind in ("point", "sign")]
        told = [self.k.caution[c].says for e in entries if e is not None for c in e.cautions]
        return tuple(dict.fromkeys([*told, *self.now.board.cautions, *(c for r in repairs for c in r.cautions)]))

    def _sources(self, repairs: Sequence[RepairTold]) -> Iterator[SourceTold]:
        """The rules that this report stands on, each once."""
        found, board = self.now.found, self.now.board
        rules = [(f.finding, f) for f in (*self.hazards, *found.doubts, *found.root_causes, *found.exonerations, *found.advice)]
        rules += [(p.proof, p) for p in (*board.proved, *((board.nearest,) if board.nearest else ()))]
        yield from (SourceTold(name, f.at, f.source) for name, f in rules)
        yield from (SourceTold(r.repair, r.rule, r.source) for r in repairs if r.known)
        told = [r for r in self.records.values() if r.kind in ("point", "sign", "event")]
        yield from dict.fromkeys(SourceTold(r.name, e.at, e.source) for r in told for e in [getattr(self.k, r.kind)[r.name]])
        ranged = [(r, bounds) for r in told if (bounds := self.expectations.of(r)[0]) is not None]
        yield from dict.fromkeys(SourceTold(f"range of {r.name}", self.k.point[r.name].at, bounds.source) for r, bounds in ranged)
        for part in self._parts(self.now)[:MOST_DRAWN]:
            yield SourceTold(part.part, self.k.part[part.part].at, self.k.part[part.part].source)


# --- repairs and their checks -----------------------------------------------------------------


@dataclass(frozen=True)
class _Checked:
    says: str = ""
    before: tuple[Need, ...] = ()
    needs: tuple[Need, ...] = ()
    lacks_proof: bool = False
    cautions: tuple[str, ...] = ()
    source: str = ""
    rule: str = ""


def _checked(evidence: Evidence, telling: Report, now: Weighed, repair: Repair, after: Sequence[Record], besides: Iterable[Check]) -> _Checked:
    """What the records *after* a repair prove of it, checks *besides* its own among that; empty where the rules do not know the repair."""
    k, finder = evidence.knowledge, evidence.finder
    if repair.repair not in k.repair:
        return _Checked()
    state = finder.after_repair(after, telling.options, repair.repair, besides)
    before = finder.before_repair(telling.records, telling.options, repair.repair, now.board.proved)
    cautions = tuple(k.caution[c].says for c in cautions_of(k, k.repair[repair.repair]))
    return _Checked(state.says, before.needs, state.needs, before.lacks_proof, cautions, state.source, state.at)


# --- pieces -----------------------------------------------------------------------------------


def _words(name: str) -> str:
    return name.replace("_", " ")


def _to_customer(part: Part) -> str:
    return part.to_customer or _words(part.part)


def _by_part(family: Family, posterior: Posterior) -> dict[str, float]:
    """Belief in each part: the sum over its failures."""
    parts: dict[str, float] = {}
    for fault, probability in zip(family.faults, posterior.failures.tolist(), strict=True):
        parts[fault.part] = parts.get(fault.part, 0.0) + probability
    return parts


def _followed(tables: Sequence[dict[str, float]]) -> list[str]:
    """Parts worth following over the visit: those that lead at the end, then those that were likely on the way."""
    last = tables[-1]
    most = {p: max(t[p] for t in tables) for p in last}
    likely = sorted((p for p in last if most[p] >= FOLLOWED_FROM), key=lambda p: (-last[p], -most[p], p))
    return (likely or sorted(last, key=lambda p: -last[p]))[:MOST_DRAWN]


def _how(r: Record) -> Iterator[tuple[str, str]]:
    """How a record was taken, as name and value; only what is known."""
    if r.after_s is not None:
        yield "after_s", f"{r.after_s:g}"
    for name in ("meter", "contact", "hold", "source", "note"):
        value = getattr(r, name)
        if value is not None:
            yield name, str(value)
    yield from (("set_up", s) for s in r.set_up)
    yield from [("sure", "yes")] if r.sure else []
