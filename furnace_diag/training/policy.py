"""What the tool itself would do with a lesson: which readings, how long, whom it would suspect on the way."""

from __future__ import annotations

import copy
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from furnace_diag.diagnosis.answer import Answer, answer
from furnace_diag.diagnosis.choice import NextReading
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.one_record import record_of
from furnace_diag.diagnosis.records import Record, Report
from furnace_diag.diagnosis.vocabulary import Vocabulary
from furnace_diag.furnace.family import Family
from furnace_diag.furnace.moment import Rows
from furnace_diag.furnace.observe import reading, shown, volts_at
from furnace_diag.furnace.operate import Operation
from furnace_diag.furnace.population import NOT_LATER, Collector, drives_any, first_driving, observe_all
from furnace_diag.furnace.virtual import Later, VirtualFurnaces
from furnace_diag.knowledge.models import Point, Sign, State, Words
from furnace_diag.knowledge.words import of_whole_call, words_of
from furnace_diag.problems import Place
from furnace_diag.quantities import format_quantity
from furnace_diag.training.bench import as_shown, breakers_of, furnaces_of, habit, is_there, opened_by, value_of
from furnace_diag.training.lesson import Hidden, Lesson
from furnace_diag.visit.complaint import told_in
from furnace_diag.visit.lines import Reader

MOST_READINGS = 15  # that the tool takes in its own visit, judgement
CALLS_LOOKED_AT = 20  # heat calls in which a fault that comes and goes is looked for
APART_TIMES = 3.0  # a reading shows a fault if it is off by this many times what it may be off by itself
FOUND, GOOD = 0, 1  # rows: the lesson's furnace, and a good one of the same site
NONE = "nothing to be seen"
HARDEST = 10.0  # points of difficulty
HERE = Place("virtual furnace", 1, 1)


class Album(Collector):
    """A furnace as it stood in every step of rest, a heat call and the other calls; readings are taken of it when they are asked for."""

    def __init__(self, family: Family, lesson: Lesson, there: list[Hidden]) -> None:
        furnaces = furnaces_of(family, lesson, there, rows=2)
        if lesson.put_in_again:
            furnaces = _put_in_again(furnaces, lesson, there)
        super().__init__(Operation(furnaces))
        self.family, self.there = family, there
        self.stills: dict[tuple[str, int], Operation] = {}
        first = self.operation
        trips = [h for h in there if opened_by(family, h.fault) & breakers_of(family)]
        self.whole = observe_all(first, self, lambda _: None)
        self.opens = bool(trips or first.blown[FOUND])  # a breaker or the fuse goes
        if first.blown.any() and not lesson.put_in_again:  # a fuse that blew in a call is found blown
            rows = np.flatnonzero(first.blown)
            self.forget(rows)
            self.stills = {key: still for key, still in self.stills.items() if key[1] not in rows}
            self.operation = Operation(furnaces, rows, blown=first.blown)
            for name, values in observe_all(self.operation, self, lambda _: None).items():
                self.whole[name][rows] = values[rows]

    def __call__(self, step: str, rows: Rows) -> None:
        for row in rows.tolist():
            if (step, row) not in self.stills:
                self.stills[step, row] = _still(self.operation)

    def anew(self, step: str, rows: Rows) -> None:
        """Keep how it stands now in place of how it stood."""
        for row in rows.tolist():
            self.stills.pop((step, row), None)
        self(step, rows)

    def reads(self, point: Point, step: str, row: int = FOUND, meter: str = "high") -> float:
        """What a point reads in a step, in its unit; nan where the furnace never is there."""
        kept = self.columns.get((point.point, step, ""))
        still = self.stills.get((step, row))
        if kept is not None:
            return float(kept[row])
        if still is None:
            return float("nan")
        at = np.array([row])
        if point.leads is not None:
            return float(volts_at(still, [point], at)[point.point][meter][0])
        return float(reading(still, str(point.reads), at)[0])

    def shows(self, sign: Sign, step: str | None, row: int = FOUND) -> str | None:
        """The value of a sign in a step, or of a whole heat call; None where it shows nothing."""
        if sign.shows is None:
            return habit(sign, self.there if row == FOUND else [], self.words)
        words, number = words_of(sign.shows, self.family.sequence), self._number(sign, step, row)
        return None if np.isnan(number) else value_of(sign, words, int(number))

    def word(self, sign: Sign, row: int = FOUND) -> str | None:
        """What a sign of a whole heat call shows, in the one word that is behind its values; None where it shows nothing."""
        if sign.shows is None:
            return None
        words, number = words_of(sign.shows, self.family.sequence), self._number(sign, None, row)
        return None if np.isnan(number) else words[int(number)]

    def _number(self, sign: Sign, step: str | None, row: int) -> float:
        """The number of the word behind a sign's values; nan where it shows nothing."""
        if of_whole_call(sign):
            return float(self.whole[sign.sign][row])
        if step is None and sign.after_call:
            step = list(self.family.steps)[int(self.whole["rests"][row])]
        still = self.stills.get((str(step), row))
        return float(shown(still, sign.shows, np.array([row]))[0]) if still is not None and sign.shows is not None else float("nan")

    @cached_property
    def words(self) -> Words:
        """The numbers behind the words."""
        return next(iter(self.family.knowledge.words.values()))

    def record(self, name: str, step: str | None, call: int) -> Record | None:
        """What a technician would write down; None where the furnace never comes to that step."""
        k = self.family.knowledge
        if name in k.point:
            value = as_shown(self.reads(k.point[name], str(step)))
            said = f"{name}: {format_quantity(value, k.point[name].unit, ascii=True)}" if not np.isnan(value) else ""
            return Record("point", name, said, HERE, number=value, step=step, call=call) if said else None
        word = self.shows(k.sign[name], step)
        return None if word is None else Record("sign", name, f"{name}: {word}", HERE, word=word, step=step, call=call)


def _put_in_again(furnaces: VirtualFurnaces, lesson: Lesson, there: list[Hidden]) -> VirtualFurnaces:
    """The same, where somebody has put in the breaker and watches the first of them: what trips as its load comes on is there only from then on."""
    family = furnaces.family
    trips = {output for h in there for output in family.failure(h.fault).trips_with}
    step = first_driving(family, trips)
    if step == NOT_LATER:
        return furnaces
    row, yes = np.array([FOUND]), np.array([True])
    before = furnaces_of(family, lesson, [h for h in there if not family.failure(h.fault).trips_with], rows=2)
    before.later = Later(
        rows=row,
        ill=furnaces.of(row),
        step=np.array([step]),
        seconds=np.zeros(1),
        read_before=~yes,
        stays=yes,
        trips=yes,
        trips_in={c.step: np.array([drives_any(family, c.step, trips)]) for c in family.sequence.other_calls},
    )
    return before


def _still(o: Operation) -> Operation:
    """The operation as it stands, which nothing that happens later changes."""
    still = copy.copy(o)
    for name, value in vars(o).items():
        if isinstance(value, np.ndarray):
            setattr(still, name, value.copy())
        elif isinstance(value, dict):
            setattr(still, name, {key: v.copy() if isinstance(v, np.ndarray) else v for key, v in value.items()})
    return still


@dataclass(frozen=True)
class Step:
    """One reading of the tool's own visit: what it asked and read, and after it the likeliest part, and the likeliest wrong one."""

    asked: NextReading | None
    record: Record
    first: str
    first_probability: float
    wrong: str
    wrong_probability: float


@dataclass(frozen=True)
class Visit:
    """The tool's own visit to a lesson. *ended*: act, proof, hazard, nothing_left or too_long; *call*: the heat call it read in."""

    steps: tuple[Step, ...]
    answer: Answer
    records: tuple[Record, ...]
    ended: str
    minutes: float
    call: int

    @property
    def readings(self) -> int:
        """How many readings it asked for."""
        return sum(s.asked is not None for s in self.steps)

    @property
    def tempting(self) -> tuple[str, float]:
        """The wrong part that was believed most on the way, and how much."""
        return max(((s.wrong, s.wrong_probability) for s in self.steps), key=lambda pair: pair[1], default=("", 0.0))


@dataclass(frozen=True)
class Checked:
    """What was found out about a lesson. *shows*: what differs from the good furnace; *denied*: records that the furnace does not bear out.

    *apart*: pairs of failures that stay open, with the reading that would part them or None; *right*: the tool ended at a part of the answer.
    *again_for_nothing*: nothing goes that was put in again. *tells_nothing*: readings of the answer that this furnace gives nowhere, or as a good one does.
    """

    lesson: Lesson
    shows: tuple[str, ...]
    denied: tuple[str, ...]
    visit: Visit
    apart: tuple[tuple[str, str, str | None], ...]
    right: bool
    difficulty: float
    made_of: tuple[tuple[str, float], ...]
    again_for_nothing: bool = False
    tells_nothing: tuple[str, ...] = ()


def check(evidence: Evidence, lesson: Lesson, without: Collection[str] = ()) -> Checked:
    """Try a lesson out."""
    call = first_bad_call(evidence.family, lesson)
    album = Album(evidence.family, lesson, [h for h in lesson.faults if is_there(h, evidence.family, call)])
    visit = own_visit(evidence, lesson, album, call, without)
    apart = tuple((p.failures[0], p.failures[1], p.parted_by) for p in visit.answer.not_told_apart if p.failures[0].partition(":")[0] in lesson.parts)
    right = visit.answer.parts[0].part in lesson.parts
    made_of = _difficulty(evidence.family, lesson, visit, right=right)
    figure = min(sum(points for _, points in made_of), HARDEST)
    for_nothing = lesson.put_in_again and not album.opens
    not_so = tuple(denied(album, lesson, said_in_complaint(lesson, evidence.vocabulary)))
    return Checked(lesson, tuple(differences(album)), not_so, visit, apart, right, figure, made_of, for_nothing, tuple(tells_nothing(album, lesson)))


def once_mended(checked: Checked) -> Lesson | None:
    """What is left of a lesson of two parts once the part is mended that the tool ends at; None where it ends at none of them, or none is left."""
    part, lesson = checked.visit.answer.parts[0].part, checked.lesson
    left = tuple(h for h in lesson.faults if h.fault.part != part)
    if not checked.right or not left:
        return None
    return replace(lesson, faults=left, parts=tuple(p for p in lesson.parts if p != part))


def first_bad_call(family: Family, lesson: Lesson) -> int:
    """The first heat call in which any fault is there; 1 where there is none."""
    calls = range(1, CALLS_LOOKED_AT + 1)
    return next((n for n in calls if any(is_there(h, family, n) for h in lesson.faults)), 1)


def own_visit(evidence: Evidence, lesson: Lesson, album: Album, call: int, without: Collection[str]) -> Visit:
    """Ask as the tool asks, until it would act, stops for a hazard, or has nothing left to ask. What confirms an act is read first, once for each failure."""
    records, steps, minutes, never = list(lesson.report.records), list[Step](), 0.0, set[tuple[str, str | None]]()
    first = next((s for s in evidence.family.signs if s.shows == "stops_at"), None)
    if first is not None:
        for number in range(1, call + 1):
            value = album.shows(first, None, FOUND if number == call else GOOD)
            if value is not None:
                records.append(Record("sign", first.sign, f"{first.sign}: {value}", HERE, word=value, call=number))
            minutes += first.minutes
    report = Report(lesson.report.family, lesson.report.complaint, tuple(records), lesson.report.options)
    asked: NextReading | None = None
    confirmed = set[tuple[str, str]]()
    while True:
        now = answer(Report(report.family, report.complaint, tuple(records), report.options), evidence, without, frozenset(never))
        if records and (not steps or steps[-1].record is not records[-1]):
            steps.append(_step(now, records[-1], asked, lesson))
        asked = _asked(now, confirmed)
        if now.hazards or asked is None or len(steps) > MOST_READINGS:
            return Visit(tuple(steps), now, tuple(records), _ended(now), minutes, call)
        there = asked.call is None or any(is_there(h, evidence.family, asked.call) for h in lesson.faults)  # else it tells of the call alone
        record = album.record(asked.name, asked.step, asked.call or call) if there else None
        if record is None:
            never.add((asked.name, asked.step))
            continue
        minutes += asked.minutes
        records.append(record)


def _asked(now: Answer, confirmed: set[tuple[str, str]]) -> NextReading | None:
    """What is read next: the best reading, or what confirms the act; *confirmed* takes down of which failure."""
    if now.act is None:
        return next(iter(now.next), None)
    if now.act.needs_proof or (now.act.part, now.act.failure) in confirmed:
        return None
    confirmed.add((now.act.part, now.act.failure))
    return now.act.check


def _step(now: Answer, record: Record, asked: NextReading | None, lesson: Lesson) -> Step:
    first = now.parts[0]
    wrong = next(p for p in now.parts if p.part not in lesson.parts)
    return Step(asked, record, first.part, first.probability, wrong.part, wrong.probability)


def _ended(now: Answer) -> str:
    if now.hazards:
        return "hazard"
    if now.act is not None:
        return "proof" if now.act.needs_proof else "act"
    return "too_long" if now.next else "nothing_left"


def differences(album: Album) -> Iterator[str]:
    """What differs on the lesson's furnace from the good one of the same site, in words; first what is seen or heard, and of that what it does not come
    to last."""
    yield from sorted(seen_otherwise(album), key=lambda told: f": {NONE}, not " in told)
    for step in dict.fromkeys(step for step, _ in album.stills):
        both = [album.stills.get((step, row)) for row in (FOUND, GOOD)]
        for point in album.family.points if all(both) else ():
            if step in point.steps and point.function != "watch" and _reads_otherwise(album, point, step):
                yield f"{point.point} at {step} reads otherwise"


def tells_nothing(album: Album, lesson: Lesson) -> Iterator[str]:
    """Points that the answer must rest on and that do not show the fault: nowhere where they are weighed, or not otherwise than on a good furnace."""
    for point in (album.family.knowledge.point[name] for name in lesson.readings if name in album.family.knowledge.point):
        steps = [step for step in point.steps if (step, FOUND) in album.stills]
        if point.function == "watch":
            continue
        if all(np.isnan(album.reads(point, step)) for step in steps):
            yield f"{point.point}: this furnace comes to no step in which it can be read and is weighed"
        elif all((step, GOOD) in album.stills and not _reads_otherwise(album, point, step) for step in steps):
            yield f"{point.point}: it reads as on a good furnace, and shows nothing of the fault by itself"


def seen_otherwise(album: Album) -> Iterator[str]:
    """What is seen or heard otherwise than on the good furnace, in words."""
    for sign in album.family.signs:
        if of_whole_call(sign):
            found, good = album.shows(sign, None), album.shows(sign, None, GOOD)
            if found != good:
                yield f"{sign.sign}: {found or NONE}, not {good or NONE}"
    for step in dict.fromkeys(step for step, _ in album.stills):
        both = [album.stills.get((step, row)) for row in (FOUND, GOOD)]
        for sign in album.family.signs if all(both) else ():
            if not of_whole_call(sign) and step in (sign.steps or (step,)) and not isinstance(sign.shows, State):
                found, good = album.shows(sign, step), album.shows(sign, step, GOOD)
                if found != good:
                    yield f"{sign.sign} at {step}: {found or NONE}, not {good or NONE}"


def _reads_otherwise(album: Album, point: Point, step: str) -> bool:
    """Whether a point differs from the good furnace's."""
    found, good = (_unloaded(album, point, step, row) for row in (FOUND, GOOD))
    slack = APART_TIMES * max(point.doubt * abs(good), point.floor) if np.isfinite(good) else 0.0
    same = (np.isnan(found) and np.isnan(good)) or found == good or abs(found - good) <= slack
    return not same


def _unloaded(album: Album, point: Point, step: str, row: int) -> float:
    """A reading without what a meter loads, which is quicker and tells a difference as well."""
    if point.leads is not None:
        return float(album.stills[step, row].across(*point.leads)[row])
    return album.reads(point, step, row)


def _figure(value: float, point: Point) -> str:
    return "nothing" if np.isnan(value) else format_quantity(as_shown(value), point.unit, ascii=True)


def said_in_complaint(lesson: Lesson, vocabulary: Vocabulary) -> list[Record]:
    """What the words of the complaint say plainly, as they are taken at the start of a visit."""
    told = told_in(lesson.report.complaint, Reader(vocabulary))
    return [record_of(typed.record, Place("complaint", 1, 1), vocabulary) for typed in told]


def denied(album: Album, lesson: Lesson, complained: Sequence[Record] = ()) -> Iterator[str]:
    """Records of the lesson, and of what is *complained* of, that the furnace does not bear out and that are not meant to mislead."""
    k = album.family.knowledge
    for r in {(r.kind, r.name, r.word, r.step): r for r in (*lesson.report.records, *complained)}.values():  # each once
        if r.name in lesson.untrue or r.kind not in ("sign", "point"):
            continue
        if r.kind == "sign":
            sign = k.sign[r.name]
            steps = [None] if of_whole_call(sign) or sign.shows is None else [r.step] if r.step else _when_due(album, sign)
            shown_ = {album.shows(sign, step) for step in steps} - {None}
            if sign.shows is not None and r.word not in shown_ and not _may_stand_for(sign, str(r.word), shown_):
                yield f"{r.place}: {r.said}, but the furnace shows {' or '.join(sorted(map(str, shown_))) or 'nothing of it'}"
        elif r.step is not None:
            value = album.reads(k.point[r.name], r.step)
            point = k.point[r.name]
            slack = APART_TIMES * max(point.doubt * abs(value), point.floor)
            if r.number is not None and r.number != value and not abs(r.number - value) <= slack:
                yield f"{r.place}: {r.said}, but the furnace reads {_figure(value, point)}"


def _when_due(album: Album, sign: Sign) -> list[str]:
    """The steps that a sign told without a step is of: where the good furnace shows something other than at rest; all where it never does, or this one
    never gets there."""
    steps = [s for s, row in album.stills if row == FOUND]
    rests = album.shows(sign, album.family.sequence.starts_at, GOOD)
    return [s for s in steps if album.shows(sign, s, GOOD) not in (None, rests)] or steps


def _may_stand_for(sign: Sign, word: str, shown_: set[str | None]) -> bool:
    """Whether a vague value may mean one of those that are shown."""
    meant = {*sign.meant_by(word)}
    return any(meant & {*sign.meant_by(str(s))} for s in shown_)


def _difficulty(family: Family, lesson: Lesson, visit: Visit, *, right: bool) -> tuple[tuple[str, float], ...]:
    """What makes a lesson hard, with points out of ten; all of it judgement."""
    tempting, believed = visit.tempting
    comes = any(h.calls is not None or family.failure(h.fault).comes_and_goes is not None for h in lesson.faults)
    made = [
        (f"{visit.readings} readings by the tool's own choice", 0.5 * visit.readings),
        (f"{tempting.replace('_', ' ')} tempts with {believed:.0%}", 4 * believed),
        ("it comes and goes", 2.0 if comes else 0.0),
        ("two faults", 2.0 if len(lesson.faults) > 1 else 0.0),
        ("something told misleads", 1.0 if lesson.untrue or any(r.kind in ("history", "event") for r in lesson.report.records) else 0.0),
        ("the tool does not end at the right part", 0.0 if right else 3.0),
    ]
    return tuple((why, points) for why, points in made if points)


def shortest_proof(evidence: Evidence, lesson: Lesson, visit: Visit) -> list[Record]:
    """Of the readings of the tool's own visit, those without which the right part would no longer lead as surely."""
    kept = [s.record for s in visit.steps if s.asked is not None]
    told = [r for r in visit.records if all(r is not k for k in kept)]
    sure = _belief(evidence, lesson, [*told, *kept])
    for r in list(kept):
        fewer = [other for other in kept if other is not r]
        if _belief(evidence, lesson, [*told, *fewer]) >= 0.9 * sure:
            kept = fewer
    return kept


def _belief(evidence: Evidence, lesson: Lesson, records: list[Record]) -> float:
    now = answer(Report(lesson.report.family, lesson.report.complaint, tuple(records), lesson.report.options), evidence)
    return sum(p.probability for p in now.parts if p.part in lesson.parts)
