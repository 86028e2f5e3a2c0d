"""A visit under way: what is typed goes into the journal first, and everything shown follows from the journal."""

from __future__ import annotations

import math
import time
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from furnace_diag.diagnosis.answer import Answer, answer, weighed
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.findings import Found, Need, RepairState
from furnace_diag.diagnosis.mended import as_they_count, shows_a_call
from furnace_diag.diagnosis.one_record import record_of
from furnace_diag.diagnosis.records import Record, Report
from furnace_diag.diagnosis.short_calls import short_calls
from furnace_diag.diagnosis.two_answers import clash_of, same_again
from furnace_diag.diagnosis.vocabulary import Vocabulary
from furnace_diag.knowledge.finding_models import Ended
from furnace_diag.knowledge.models import Experiment, Knowledge, Question
from furnace_diag.knowledge.repair_models import Repair
from furnace_diag.knowledge.spelling import plain
from furnace_diag.problems import BadInput, Place, Problem, printable
from furnace_diag.visit.ended import Ends
from furnace_diag.visit.journal import FORMAT, Event, Journal, read_journal
from furnace_diag.visit.lines import Reader
from furnace_diag.visit.replies import Replies
from furnace_diag.visit.sense import doubt_about
from furnace_diag.visit.soonest import soonest
from furnace_diag.visit.state import CAME_WITH, OF_LINE, TAKES_BACK, Entry, Visit, last_of, visit_of
from furnace_diag.visit.state import Repair as Mended
from furnace_diag.visit.typed import Typed
from furnace_diag.visit.untold import with_calls_told, with_what_is_left_out

SPEAKS_AGAINST = math.log(5)  # log of how many times less likely a record is with a failure than without, to be told before its repair, judgement
YES_OR_NO = frozenset(["yes", "no", "y", "n", "none", "nothing"])


@dataclass(frozen=True)
class Doubtful:
    """A record that is kept only if the technician says so: why it is questioned, and which entry it contradicts, if any."""

    typed: Typed
    why: str
    contradicts: int | None = None


class Session:
    """One visit, its journal and the answer to what it knows so far."""

    def __init__(self, knowledge: Knowledge, evidence: Evidence, journal: Journal, family: str) -> None:
        """*family*: of the furnace, for a journal that is new; an older one knows its own."""
        self.knowledge, self.evidence, self.journal = knowledge, evidence, journal
        if not journal.events:
            journal.append("opened", {"format": FORMAT, "family": family, "rules_version": knowledge.version})
        self.vocabulary = evidence.vocabulary
        self.reader = Reader(self.vocabulary)
        self.replies = Replies(self.vocabulary.words.at_prompt)
        self.ends = Ends(knowledge, evidence.finder, self.record)
        self.mending = ""  # the repair whose steps are on the screen
        self._line: int | None = None  # the last event before what a line of several things writes, while it does
        self._records: dict[int, Record] = {}
        self._answers: dict[object, Answer] = {}
        self.visit = self._told()

    # --- what is known ----------------------------------------------------------------------

    def _told(self) -> Visit:
        visit = visit_of(self.journal.events, str(self.journal.path))
        for entry in visit.entries:
            if entry.event not in self._records:
                self._records[entry.event] = record_of(entry.record, Place(str(self.journal.path), entry.event, 1), self.vocabulary)
        return visit

    def record(self, entry: Entry) -> Record:
        """The record of an entry."""
        return self._records[entry.event]

    def record_typed(self, fields: Mapping[str, Any]) -> Record:
        """The record that the fields of a typed line make, kept or not. Raises BadInput, placed at that line, where they make none."""
        return record_of(fields, Place("your line", 1, 1), self.vocabulary)

    def report(self, more: Iterable[Record] = ()) -> Report:
        """What the entries that tell of the fault say, with *more* supposed."""
        records = (*(self.record(e) for e in self.visit.telling), *more)
        return Report(self.visit.family, self.visit.complaint, records, dict(self.visit.options), running=self.visit.call)

    def answer(self, more: Iterable[Record] = ()) -> Answer:
        """The answer to that."""
        more = tuple(more)
        never = self._never()
        key = (tuple(e.number for e in self.visit.telling), self.visit.call, tuple(sorted(self.visit.options.items())), self.visit.without, never, more)
        if key not in self._answers:
            report = self.report(more)
            self._answers[key] = self._with_calls_told(self._as_asked(answer(report, self.evidence, self.visit.without, never)), report.records)
        return self._answers[key]

    def _as_asked(self, found: Answer) -> Answer:
        """The same, asking for no experiment that a record forbids, or for which something cannot be had that must be shown first."""
        found = found._replace(next=tuple(n for n in found.next if self._may_be_tried(n.name)))
        settled = self._settled() - {name for n in found.board.nearest.missing for name in self._asked_for(n)} if found.board.nearest else self._settled()
        found = found._replace(next=tuple(n for n in found.next if n.name not in settled) or found.next)
        if found.act is not None and found.act.check is not None and not self._may_be_tried(found.act.check.name):
            found = found._replace(act=found.act._replace(check=None))
        return found

    def _settled(self) -> set[str]:
        """What nobody asks for once it was told how far the running call gets: what comes behind where it ends."""
        call = self.visit.call
        told = {r.name: str(r.word) for r in map(self.record, self.visit.telling) if r.kind == "sign" and r.call == call and r.source != "told"}
        chain = [q for q in self.knowledge.question.values() if q.group == "behaviour"]
        ends = next((i for i, q in enumerate(chain) if told.get(q.sign) in q.ends), len(chain))
        return {name for q in chain[ends + 1 :] for name in (q.sign, *q.or_of)}

    def _asked_for(self, need: Need) -> set[str]:
        """What any way to meet a condition of a proof asks for."""
        return {name for way in self.knowledge.condition[need.condition].any_of for w in way for _, name in w.names}

    def _with_calls_told(self, found: Answer, records: Sequence[Record]) -> Answer:
        """The same, telling of the board's nearest proof in which call each record was that leaves something out."""
        nearest = found.board.nearest
        if nearest is None:
            return found
        k, finder = self.knowledge, self.evidence.finder
        needs = (with_calls_told(n, k.condition[n.condition], records, finder, self.visit.options) if n.almost else n for n in nearest.needs)
        return found._replace(board=found.board._replace(nearest=nearest._replace(needs=tuple(needs))))

    def short_calls(self) -> dict[int, tuple[str, ...]]:
        """The heat calls that lack little of the board's nearest proof and are over, with what each lacks."""
        nearest = self.answer().board.nearest
        if nearest is None:
            return {}
        report, finder = self.report(), self.evidence.finder
        found = finder.find(as_they_count(report.records, self.knowledge), report.options, report.running)
        return {call: lacks for call, lacks in short_calls(finder, found, nearest.proof).items() if call != self.visit.call}

    def _may_be_tried(self, name: str) -> bool:
        never = {n for n, _ in self.visit.never}
        ways = {n.condition: self.knowledge.check[n.condition].any_of[0] for n in self.lacking_before(name)}
        barred = any(n.denied_by for n in self.lacking_before(name))
        return not barred and not any(w.names[0][1] in never for way in ways.values() for w in way)

    def lacking_before(self, name: str) -> tuple[Need, ...]:
        """What records must show before an experiment is tried, and do not; nothing for any other reading."""
        entry = self.knowledge.sign.get(name)
        if not isinstance(entry, Experiment) or not entry.needs_shown:
            return ()
        checks = [self.knowledge.check[c] for c in entry.needs_shown]
        needs = self.evidence.finder.checked(checks, self._records_of(self.visit.telling), self.visit.options)
        return tuple(n for n in needs if n.calls_left or n.denied_by)

    def _never(self) -> frozenset[tuple[str, str | None]]:
        """What is not to be asked for: readings that cannot be had, and all of a step that the call never comes to, or of one after it."""
        order = self.evidence.family.sequence.order
        first = {s: order[order.index(s) :] if s in order else (s,) for s in self.visit.unreached}
        steps = {later for s in first.values() for later in s}
        return frozenset(self.visit.never) | {(name, step) for name in (*self.knowledge.point, *self.knowledge.sign) for step in steps}

    def hazards(self) -> tuple[Found, ...]:
        """What stops the visit: told by what tells of the fault, or by what was read after the repair. What a repair ends that is under way, or being proved,
        does not: its checks ask for what ends it."""
        each = (self.ends.left(self.visit, until_read=False, under_way=self.mending), self._records_of(self.visit.checking))
        return next((found for records in each if records and (found := self.evidence.finder.find(records, self.visit.options).hazards)), ())

    def before(self, repair: Repair) -> RepairState:
        """What must be proved before the first step of a repair."""
        telling = self._records_of(self.visit.telling)
        state = self.evidence.finder.before_repair(telling, self.visit.options, repair.repair, self.answer().board.proved)
        return state._replace(needs=self._with_untold(state.needs, telling))

    def against(self, part: str, failure: str) -> tuple[Record, ...]:
        """What speaks strongly against a failure of a part, among what tells of the fault: whoever mends it all the same should know."""
        seen = weighed(self.report(), self.evidence)
        support = seen.posterior.support[:, [str(f) == f"{part}:{failure}" for f in self.evidence.population.faults]].min(axis=1, initial=0.0)
        return tuple(r for s, (records, _) in zip(support.tolist(), seen.groups, strict=True) if s <= -SPEAKS_AGAINST for r in records)

    def after(self) -> RepairState | None:
        """How far the checks after the repair have come; None where none is being proved."""
        repair = self.visit.proving
        if repair is None or repair.repair not in self.knowledge.repair:
            return None
        checking = self._records_of(self.visit.checking)
        besides = self.ends.checks_besides(repair.repair, self._records_of(self.visit.telling), self.visit.options)
        state = self.evidence.finder.after_repair(checking, self.visit.options, repair.repair, besides)
        return state._replace(needs=self._with_untold(state.needs, checking))

    def _with_untold(self, needs: Iterable[Need], records: Sequence[Record]) -> tuple[Need, ...]:
        """Checks, each with what records leave out that it wants of them."""
        return tuple(with_what_is_left_out(n, self.knowledge.check[n.condition], records, self.evidence.finder, self.visit.options) for n in needs)

    def _records_of(self, entries: Iterable[Entry]) -> list[Record]:
        return [self.record(e) for e in entries]

    def questions(self, group: str) -> list[Question]:
        """The questions of a group that are still to be asked. They are of a heat call: what is seen in a call for something else answers none."""
        other_calls = {c.step for c in self.vocabulary.sequence.other_calls}
        last = {e.record.get("sign"): record.word for e in self.visit.entries if (record := self.record(e)).step not in other_calls}
        asked = [q for q in self.knowledge.question.values() if q.group == group and _is_due(q, last)]
        answers = {q.question: [last.get(q.sign), *(last[n] for n, values in q.answered_by.items() if last.get(n) in values)] for q in asked}
        over = next((i for i, q in enumerate(asked) if {*q.ends} & {*answers[q.question]}), len(asked))
        by_others = {name for name, said in answers.items() if len(said) > 1}
        return [q for q in asked[: over + 1] if q.question not in self.visit.asked | by_others and q.sign not in last]

    def open_safety(self) -> list[Question]:
        """Questions on safety that nothing has answered yet."""
        told = {self.record(e).name for e in self.visit.entries}
        return [q for q in self.knowledge.question.values() if q.group == "safety" and q.sign not in told]

    # --- what is done -----------------------------------------------------------------------

    def tell(self, event: str, says: Mapping[str, Any]) -> Event:
        """Write an event; it is on the disk when this returns. Raises OSError where it cannot be."""
        made = self.journal.append(event, says if self._line is None or event == TAKES_BACK else {**says, OF_LINE: self._line})
        self.visit = self._told()
        return made

    @contextmanager
    def of_one_line(self, since: int) -> Iterator[None]:
        """What is written meanwhile is of one line, *since* the event before it, and is taken back together."""
        before, self._line = self._line, since
        try:
            yield
        finally:
            self._line = before

    def last_event(self) -> int:
        """The number of the last event."""
        return self.journal.events[-1].number

    def take(
        self, typed: Typed, *, sure: bool = False, instead_of: int | None = None, along_with: Collection[int] = (),
        at: float | None = None, question: str | None = None,
    ) -> Record | Doubtful:  # fmt: skip
        """Keep a record. Unless the technician is *sure*, one that makes no sense comes back, to be asked about. One that was told before and is
        the same again counts as looked at twice.

        *instead_of*: the entry that it corrects; *along_with*: all that are corrected by the same word. *at*: when it was read, in seconds
        since 1970. *question*: of the start, that it answers.
        Raises BadInput for what is no record.
        """
        of_call = {"call": str(self.record(self._entry(instead_of)).call)} if instead_of is not None and typed.record.keys() & {"point", "sign"} else {}
        fields = self._filled_in({**of_call, **typed.record}, time.time() if at is None else at)
        made = self.record_typed(fields)
        if made.kind == "sign" and made.word is not None and plain(str(fields["value"])) in YES_OR_NO:
            fields["value"] = made.word  # "life: no" is a furnace that is dead: by the word alone no list can be read
        others = {e.number: self.record(e) for e in self.visit.entries if e.number not in {instead_of, *along_with} and self._same_time(e)}
        clash = clash_of(made, others.values())
        if clash is not None:
            number = next(n for n, r in others.items() if r is clash)
            why = f"Entry {number} says {printable(clash.said)} at the same step of the same call."
            return Doubtful(typed, why, number)
        if any(same_again(made, other) for other in others.values()):
            fields["sure"] = "yes"
        doubt = "" if sure else doubt_about(made, fields, self.evidence)
        if doubt:
            return Doubtful(typed, doubt)
        says: dict[str, Any] = {"record": fields}
        if instead_of is not None:
            says["instead_of"] = self._entry(instead_of).event
            if self._puts_right(made, self.record(self._entry(instead_of))):
                says["put_right"] = True  # no correction: it was so
        if question is not None:
            says["question"] = question
        event = self.tell("record", says)
        return self._records[event.number]

    def _puts_right(self, made: Record, found: Record) -> bool:
        """Whether a record says that what stopped the visit, as *found*, is put right."""
        sign = self.knowledge.sign.get(made.name)
        right = sign.put_right.get(str(made.word)) if sign is not None and made.kind == "sign" else None
        return right is not None and found.name == made.name and found.word in right.of

    def to_put_right(self) -> dict[str, list[Entry]]:
        """By the sign, the entries that say of what stops the visit that it was found, where the sign has a value for its being put right."""
        found: dict[str, list[Entry]] = {}
        for entry in self.visit.entries:
            record = self.record(entry)
            sign = self.knowledge.sign.get(record.name) if record.kind == "sign" else None
            if sign is not None and any(record.word in right.of for right in sign.put_right.values()):
                found.setdefault(sign.sign, []).append(entry)
        return found

    def begin_anew(self) -> bool:
        """Begin a new heat call behind what was put right last, where anything was read in a call before that; whether it was begun."""
        if not any(r.kind == "point" and shows_a_call(r, self.knowledge) for r in map(self.record, self.visit.entries)):
            return False
        self.tell("call", {"call": self.visit.call + 1, "unmarked": True, CAME_WITH: self.visit.entries[-1].event})
        return True

    def ways_to_say_so(self) -> list[str]:
        """How one types that what stops the visit is put right; none where nothing that was found can be."""
        told = {s: {self.record(e).word for e in entries} for s, entries in self.to_put_right().items()}
        return [right.told_as for s, words in told.items() for right in self.knowledge.sign[s].put_right.values() if words & {*right.of}]

    def begun(self) -> str:
        """The part of which a repair was begun by putting right what stopped the visit, and not told to be done; empty where there is none."""
        mended = {r.part for r in self.visit.repairs}
        found = ((e.record.get("sign"), self.record(e).word) for e in self.visit.telling)
        parts = (sign.put_right[word].mends for name, word in found if (sign := self.knowledge.sign.get(str(name))) is not None and word in sign.put_right)
        return next((part for part in parts if part is not None and part not in mended), "")

    def is_ended_by(self, repair: Repair) -> bool:
        """Whether a repair, once it is begun, leaves nothing that stops the visit: what does is ended by what is read after it."""
        left = self.ends.left(self.visit, until_read=False, under_way=repair.repair)
        return not any(self.evidence.finder.find(r, self.visit.options).hazards for r in (left, self._records_of(self.visit.checking)) if r)

    def ended_by_repair(self) -> list[Ended]:
        """How what stops the visit can be ended by a repair; nothing where something of it cannot."""
        return self.ends.standing(self.ends.left(self.visit, until_read=True), self.visit.options) if not self.visit.checking else []

    def ways_to_mend(self) -> list[str]:
        """How one types that the cause of what stops the visit was mended, where a repair ends it, whatever else stops it; none where no repair does."""
        found = self.ends.of(self.ends.left(self.visit, until_read=True), self.visit.options) if not self.visit.checking else []
        return ["`mend` and the part", *(f"`{told}`" for told in self.ends.how_told(found))] if found else []

    def told_mended(self, line: str) -> Repair | None:
        """The repair that ends what stops the visit, of which a line tells that it is done; None of any other line."""
        repair = self.knowledge.repair.get(self.ends.told_mended(line)) if self.after() is None and self.hazards() else None
        return repair if repair is not None and self.is_ended_by(repair) else None

    def _same_time(self, entry: Entry) -> bool:
        """Whether an entry was taken since the same repair as one typed now."""
        return entry.repair == (self.visit.proving.number if self.visit.proving else entry.repair)

    def _filled_in(self, fields: dict[str, Any], at: float) -> dict[str, Any]:
        """With what the visit knows: the running call, the meter, and the seconds since the valve clicked or the call began.

        A point that needs another meter than the visit's was read with either: nobody said whether it was changed for it.
        """
        visit = self.visit
        if self.visit.call > 1 and "call" not in fields and fields.keys() & {"point", "sign"}:
            fields["call"] = str(visit.call)
        point = self.knowledge.point.get(str(fields.get("point")))
        if point is not None and visit.meter and "meter" not in fields and point.function == "ac_volts" and point.meter in (None, visit.meter):
            fields["meter"] = visit.meter
        began = self.clock_of(fields)
        if began is not None and "after_s" not in fields and at > began and not self.too_soon(fields, at):
            fields["after_s"] = str(int(at - began))
        return fields

    def too_soon(self, fields: Mapping[str, Any], at: float) -> float:
        """The seconds before which the step of a record cannot have begun, where fewer have gone by on the watch when it was typed; else 0.

        Then no seconds are made up: the step, the call or the click is not as it was told. *at*: when it was typed, in seconds since 1970.
        """
        began = self.clock_of(fields) if "after_s" not in fields else None
        if began is None:
            return 0.0
        family, step = self.evidence.family, str(fields["step"])
        start = family.sequence.order[1] if self._before_gas(step) else self._gas_step
        least = soonest(step, start, family.sequence, family.furnace, self.visit.options)
        return least if 0 <= at - began < least else 0.0

    def clock_of(self, fields: Mapping[str, Any]) -> float | None:
        """From when the seconds of a record count, in seconds since 1970; None where nobody marked it in its call."""
        return self._began(fields.get("step")) if str(fields.get("call", self.visit.call)) == str(self.visit.call) else None

    def _began(self, step: object) -> float | None:
        """From when the seconds of a reading at *step* count: the valve's click, or before gas is due the call; None where that is not known."""
        if step not in self.evidence.family.sequence.order[1:]:
            return None
        return self.visit.call_began if self._before_gas(step) else self.visit.click

    def counts_from(self, step: object) -> str:
        """The same in words: what the seconds of a reading count from."""
        return "the call began" if self._before_gas(step) else "the gas came on"

    def _before_gas(self, step: object) -> bool:
        order = self.evidence.family.sequence.order
        return step in order[1 : order.index(self._gas_step)]

    @property
    def _gas_step(self) -> str:
        """The step of a heat call in which the gas is first called for."""
        family = self.evidence.family
        driven = {s.step: s.drives for s in family.sequence.steps}
        return next(s for s in family.sequence.order if family.machines.valve.driven_by in driven[s])

    def still_there(self) -> None:
        """The fault is as it was after the repair: that tells of the part, and what was read since tells of the fault."""
        repair = self.visit.proving
        if repair is None:
            raise BadInput([Problem(None, "No repair is being proved.", "`mend` shows the repair of what leads.")])
        given_up = self.tell("no_change", {"repair": repair.number})
        mended = mended_by(repair, self.knowledge)
        record = {"history": mended, "value": unhelped(repair, mended, self.knowledge)}
        self.tell("record", {"record": record, CAME_WITH: given_up.number})

    def undo(self) -> Event | None:
        """Take back the last thing that was done; what it was."""
        last = last_of(self.journal.events)
        return None if last is None else self._gone(last)

    def undo_line(self) -> list[Event]:
        """The same with all else that its line told; what it was, the last first."""
        gone: list[Event] = []
        while (last := last_of(self.journal.events)) is not None and (not gone or gone[0].says.get(OF_LINE, "") == last.says.get(OF_LINE)):
            gone.append(self._gone(last))
        return gone

    def take_back(self, number: int) -> Event:
        """Take back entry *number*; what it was. Raises BadInput where there is none."""
        event = self._entry(number).event
        return self._gone(next(e for e in self.journal.events if e.number == event))

    def _gone(self, event: Event) -> Event:
        """Take back an event, with the one that it was written with, where it was; what was done by them."""
        self.tell(TAKES_BACK, {"entry": event.number})
        first = next((e for e in self.journal.events if e.number == event.says.get(CAME_WITH)), None)
        return event if first is None else self._gone(first)

    def _entry(self, number: int) -> Entry:
        found = next((e for e in self.visit.entries if e.number == number), None)
        if found is None:
            numbers = ", ".join(str(e.number) for e in self.visit.entries[-12:]) or "none yet"
            raise BadInput([Problem(None, f"There is no entry {number}.", f"`list` shows them: {numbers}.")])
        return found


def _is_due(question: Question, last: Mapping[Any, str | None]) -> bool:
    """Whether a question that only some answers leave open is left open by the *last* words of the signs."""
    return not question.only_after or any(last.get(name) in values for name, values in question.only_after.items())


def mended_by(repair: Mended, knowledge: Knowledge) -> str:
    """What a repair was of: the part where that itself was changed, else one failure of it, as a record of history names it."""
    entry = knowledge.repair.get(repair.repair)
    whole = not repair.failure or (entry is not None and repair.part in entry.of)
    return repair.part if whole else f"{repair.part}:{repair.failure}"


def unhelped(repair: Mended, mended: str, knowledge: Knowledge) -> str:
    """The word of history for a repair of *mended* that changed nothing: a part that was only cleaned may still be the cause."""
    entry = knowledge.repair.get(repair.repair)
    return "cleaned_no_change" if entry is not None and entry.leaves_part and ":" not in mended else "replaced_no_change"


def refuse_unknown_family(family: str, knowledge: Knowledge, path: Path) -> None:
    """Raises BadInput where these rules know no such furnace."""
    if family not in knowledge.furnace:
        said = f"These rules know no furnace {printable(family)}."
        raise BadInput([Problem(Place(str(path), 1, 1), said, "Give the rules that the visit was made with: --rules.")])


def report_of_journal(path: Path, knowledge: Knowledge) -> Report:
    """What a visit's journal tells of the fault, as a report file would. Raises BadInput."""
    events, _ = read_journal(path)
    return report_of(visit_of(events, str(path)), path, knowledge)


def report_of(visit: Visit, path: Path, knowledge: Knowledge) -> Report:
    """What a visit told by the journal at *path* says of the fault. Raises BadInput."""
    refuse_unknown_family(visit.family, knowledge, path)
    vocabulary = Vocabulary(knowledge, visit.family)
    problems: list[Problem] = []
    records: list[Record] = []
    for entry in visit.telling:
        try:
            records.append(record_of(entry.record, Place(str(path), entry.event, 1), vocabulary))
        except BadInput as bad:
            problems += bad.problems
    options = knowledge.furnace[visit.family].options
    for name, value in visit.options.items():
        if name not in options or value not in options[name].values:
            said = f"This furnace has no option {printable(name)}: {printable(value)}."
            problems.append(Problem(Place(str(path), 1, 1), said, "The rules have changed since."))
    if problems:
        raise BadInput(problems)
    read_as = tuple(f"{printable(r.said)} -> {r.read_as}" for r in records if r.read_as)
    return Report(visit.family, visit.complaint, tuple(records), dict(visit.options), read_as, running=visit.call)
