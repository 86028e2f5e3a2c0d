"""The loop of a visit: asks, hands what is typed to the session, shows what follows."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from typing import NoReturn

import click

from furnace_diag.cli.asking import Asker
from furnace_diag.cli.common import encodable
from furnace_diag.cli.visit_commands import COMMANDS, KEYS
from furnace_diag.cli.visit_repair import YES
from furnace_diag.diagnosis.answer import Answer
from furnace_diag.diagnosis.choose import NextReading
from furnace_diag.diagnosis.findings import Need, RepairState
from furnace_diag.diagnosis.records import Record, record_of
from furnace_diag.diagnosis.taking import CONTACT, HOLD, METER, SET_UP, line_in_words, when
from furnace_diag.diagnosis.verdict import BOARD
from furnace_diag.knowledge.find import plain, values_of
from furnace_diag.knowledge.finding_models import Wanted
from furnace_diag.knowledge.models import Question, Sign
from furnace_diag.problems import BadInput, Place, Problem, printable
from furnace_diag.report import visit_screen as screen
from furnace_diag.visit.lines import Typed, Unclear, says_cannot
from furnace_diag.visit.session import Doubtful, Session

OPEN = frozenset(["", "?", "skip", "dont know", "do not know", "not sure", "unknown", "dunno", "no idea"])
PROMPT = "> "
MENDS_A_SLIP = frozenset(["undo", "fix", "remove", "list"])  # commands that are of use before the first screen
LONGEST_PROMPT = 39  # characters, so that it fits the smallest terminal with what is typed below it


class Leave(Exception):
    """The technician goes; the visit stays as it is."""


class Desk:
    """One visit at one prompt."""

    def __init__(self, session: Session, asker: Asker, width: Callable[[], int]) -> None:
        self.session, self.asker, self.width = session, asker, width
        self.shown: Answer | None = None
        self.cautioned: set[str] = set()  # cautions that were told in full

    def run(self) -> None:
        """Ask until the technician leaves or no line is left."""
        try:
            self._begin()
            self.do("show")
            while True:
                self._guarded(self._turn)
        except Leave:
            pass
        self.say(f"Kept in {self.session.journal.path}")

    def _guarded(self, act: Callable[[], None]) -> None:
        """Run *act*; what goes wrong is told, and nothing that was entered is lost by it."""
        try:
            act()
        except BadInput as bad:
            for problem in bad.problems:
                self.say(str(replace(problem, place=None)))
        except KeyboardInterrupt:
            self.say("Line given up. `quit` leaves; everything entered so far is kept.")
        except OSError as error:
            self.say(f"NOT KEPT: {printable(error.strerror or str(error))}. Make room, then type the last entry again.")

    def _turn(self) -> None:
        line = self.ask(PROMPT)
        if not line:
            self._take_next()
        elif not self._commanded(line):
            self._enter(line)

    def _commanded(self, line: str) -> bool:
        """Whether *line* was a command; it is done then."""
        word, _, rest = line.partition(" ")
        name = KEYS.get(word, word.lower()) if not rest.strip() else word.lower()
        if name not in COMMANDS or (rest.strip() and COMMANDS[name].alone):
            return False
        self.do(name, rest.strip())
        return True

    def do(self, name: str, rest: str = "") -> None:
        """A command by its word."""
        COMMANDS[name].act(self, rest)

    def leave(self) -> NoReturn:
        """End the loop; what was entered stays."""
        raise Leave

    def ask(self, prompt: str) -> str:
        """One line, stripped. Raises Leave at the end of input."""
        line = self.asker.ask(prompt)
        if line is None:
            raise Leave
        return line.strip()

    def say(self, *paragraphs: str) -> None:
        """Text, filled to the width."""
        for paragraph in paragraphs:
            self.lines(screen.filled(paragraph, self.width()))

    def lines(self, lines: Iterable[str]) -> None:
        """Lines as they are."""
        for line in lines:
            click.echo(encodable(line))

    def words(self) -> Iterator[str]:
        """What Tab completes: commands, points and signs."""
        yield from COMMANDS
        k = self.session.knowledge
        yield from (name.replace("_", " ") for name in (*k.point, *k.sign, *k.event))

    def _begin(self) -> None:
        """Whatever of the start is not over yet: complaint, safety, how far the call gets, what happened before."""
        if self.session.journal.repaired:
            self.say(self.session.journal.repaired)
        first = not self.session.visit.complaint and not self.session.visit.asked
        if first:
            self._guarded(self._complaint)
            self.say("", "Answer with one key; Enter leaves a question open.")
        self._questions()
        if first and not self.session.answer().hazards:
            self._guarded(self._before)

    def _questions(self) -> None:
        for group in ("safety", "behaviour"):
            while (asked := self.session.questions(group)) and not self.session.hazards():
                self._guarded(lambda question=asked[0]: self._question(question))  # type: ignore[misc]

    def _complaint(self) -> None:
        self.session.tell("complaint", {"text": printable(self.ask("What is the complaint? "), 400)})

    def ask_open_safety(self) -> bool:
        """Ask again what was left open of the questions on safety; whether all of them are answered now, and none stops the visit."""
        for question in self.session.open_safety():
            self._question(question)
        if left := self.session.open_safety():
            self.say(f"Left open: {' '.join(q.asks for q in left)}")
        return not left and not self.session.hazards()

    def _question(self, question: Question) -> None:
        sign = self.session.knowledge.sign[question.sign]
        keys = ", ".join(f"{key} {value.replace('_', ' ')}" for key, value in question.keys.items())
        self.lines(screen.filled(f"{question.asks} ({keys})", self.width()))
        while True:
            said = self.asker.ask_key(": ", question.keys)
            if said is None:
                raise Leave
            if plain(said) in OPEN:
                break
            meant = [question.keys[said.lower()]] if said.lower() in question.keys else values_of(sign, self.session.vocabulary.words).meant(said)
            if len(meant) == 1:
                self.keep(Typed({"sign": question.sign, "value": meant[0]}), question=question.question)
                return
            if not self._commanded(said):
                self._guarded(lambda line=said: self._beside(line, keys))  # type: ignore[misc]
        self.session.tell("asked", {"question": question.question})

    def _beside(self, line: str, keys: str) -> None:
        """What is typed where a key was asked for: a record of its own, or a slip."""
        try:
            typed = self.session.reader.read(line)
        except BadInput:
            raise BadInput([Problem(None, f"{printable(line)} is none of: {keys}.", "Enter leaves it open.")]) from None
        chosen = self.chosen(typed)
        if chosen is not None:
            self.keep(chosen)

    def _before(self) -> None:
        """What was replaced already, and what happened before: as many lines as are wanted."""
        self.say("Was anything replaced before you came, or did anything happen (storm, new thermostat, ...)?")
        self.say("One a line, such as: board no change. Enter when done.")
        while line := self.ask("before: "):
            if line.split()[0].lower() in MENDS_A_SLIP:
                self._guarded(lambda said=line: self._slip(said))  # type: ignore[misc]
                self._questions()  # a slip may have cut them short
            else:
                self._guarded(lambda said=line: self._keep_all(said))  # type: ignore[misc]

    def _slip(self, line: str) -> None:
        if not self._commanded(line):
            self._keep_all(line)

    def _keep_all(self, line: str) -> None:
        for piece in filter(None, (p.strip() for part in line.split(",") for p in part.split(" and "))):
            chosen = self.chosen(self.session.reader.read(piece))
            if chosen is not None:
                self.keep(chosen)

    def _enter(self, line: str) -> None:
        """A record typed in one line; a name alone asks for its value."""
        try:
            read = self.session.reader.read(line)
            chosen = (self._for_what_is_asked(line) if isinstance(read, Unclear) else None) or self.chosen(read)
        except BadInput:
            named = self.session.reader.names_only(line)
            exact = [n for n in named if plain(n[1]) == plain(line)] or named
            chosen = self._for_what_is_asked(line)
            if chosen is None and len(exact) == 1:
                self._ask_for(*exact[0], {})
                return
            if chosen is None:
                raise
        if chosen is not None and self.keep(chosen):
            self.show_change()

    def _for_what_is_asked(self, line: str) -> Typed | None:
        """A line that is nothing but a value, taken for the reading that the screen asks for."""
        if self.session.hazards():
            return None
        state = self.session.after()
        if state is not None:
            return self._for_check(state, line)
        reading = _asked_in(self.session.answer())
        if reading is None:
            return None
        kind = "point" if reading.name in self.session.knowledge.point else "sign"
        return self.session.reader.only_value(kind, reading.name, line, self._fields(reading))

    def _for_check(self, state: RepairState, line: str) -> Typed | None:
        """The same for the first check that is not met, where one line tells it."""
        need = next(iter(state.missing), None)
        lines = self.session.knowledge.check[need.condition].any_of[0] if need is not None else ()
        if need is None or len(lines) != 1 or lines[0].names[0][0] not in ("point", "sign"):
            return None
        typed = self.session.reader.only_value(*lines[0].names[0], line, _as_wanted(lines[0]))
        if typed is not None and need.met_by:
            self.do("call")
        return self._with_seconds(typed) if typed is not None and when(lines[0]) else typed

    def chosen(self, typed: Typed | Unclear) -> Typed | None:
        """The one that is meant, asked for where it is not clear."""
        if isinstance(typed, Typed):
            return typed
        self.say("That could be:")
        for number, text in enumerate(typed.texts, 1):
            self.lines(screen.filled(text.replace("_", " "), self.width(), "    ", f"{number:>2}. "))
        said = self.ask("Which number? (Enter: none) ")
        if said.isdigit() and 0 < int(said) <= len(typed.choices):
            return typed.choices[int(said) - 1]
        self.say("Nothing kept of that.")
        if said and not self._commanded(said):
            self._enter(said)  # what is typed instead of a number is a line of its own
        return None

    def keep(self, typed: Typed, *, instead_of: int | None = None, question: str | None = None) -> Record | None:
        """Keep a record, asking once about what makes no sense; what was kept. *question*: of the start, that it answers.

        What was so in several calls is kept as a record of each, from the running call on.
        """
        if typed.calls > 1 and instead_of is None:
            first = self._first_call_without(typed)
            each = [replace(typed, record={**typed.record, "call": str(first + n)}, calls=1) for n in range(typed.calls)]
            kept_each = [self.keep(one, question=question) for one in each]
            return next((k for k in reversed(kept_each) if k is not None), None)
        kept = self.session.take(typed, instead_of=instead_of, at=self.asker.first_key, question=question)
        if isinstance(kept, Doubtful):
            answered = self._resolved(kept, instead_of)
            if answered is None:
                self.say("Nothing kept.")
                return None
            kept = answered
        self._read_back(kept)
        return kept

    def _first_call_without(self, typed: Typed) -> int:
        """The running call, or the one after it where the same was told of it already."""
        visit = self.session.visit
        told = {(r.name, r.call) for r in map(self.session.record, visit.checking if visit.proving else visit.telling)}
        return visit.call + any((name, visit.call) in told for name in typed.record.values())

    def _resolved(self, doubtful: Doubtful, instead_of: int | None) -> Record | None:
        """A doubtful record, kept after asking, or None."""
        if doubtful.contradicts is not None:
            self.say(doubtful.why)
            said = self.ask("f fix that entry, c it is a new call, Enter none: ").lower()
            if said in ("c", "call"):
                self.session.tell("call", {"call": self.session.visit.call + 1})
                return self._settled(self.session.take(doubtful.typed, at=self.asker.first_key))
            if said in ("f", "fix"):
                return self._settled(self.session.take(doubtful.typed, instead_of=doubtful.contradicts))
            return None
        self.say(doubtful.why)
        if plain(self.ask("y keep it, Enter drop it: ")) not in YES:
            return None
        return self._settled(self.session.take(doubtful.typed, sure=True, instead_of=instead_of, at=self.asker.first_key))

    def _settled(self, kept: Record | Doubtful) -> Record | None:
        if isinstance(kept, Record):
            return kept
        self.say(kept.why)
        return None

    def _read_back(self, record: Record) -> None:
        """What an entry was taken for."""
        said = record.said.rpartition(": ")[2]
        figure = f" ({said})" if record.kind == "sign" and said[:1].isdigit() else ""
        value = f"{record.word.replace('_', ' ')}{figure}" if record.word is not None else said
        told = [f"at {record.step}" if record.step else "", f"call {record.call}" if record.call > 1 else ""]
        told += [f"after {record.after_s:g} s" if record.after_s is not None else ""]
        told += [f"meter {record.meter}" if record.meter else "", f"on the {record.contact}" if record.contact else "", *record.set_up]
        more = ", ".join(t.replace("_", " ") for t in told if t)
        self.say(f"{self.session.visit.entries[-1].number}. {record.name.replace('_', ' ')}: {printable(value)}{f' ({more})' if more else ''}")

    def _take_next(self) -> None:
        answer, after = self.session.answer(), self.session.after()
        if self.session.hazards():
            self.say("The visit is stopped by the hazard above. `undo` if it was a slip, `note`, `close`, `quit`.")
        elif after is not None:
            self._take_check(after)
        elif answer.board.proved:
            self.do("mend", BOARD)
        elif answer.act is not None and answer.act.needs_proof and answer.board.nearest is not None:
            self._take_missing(answer.board.nearest.missing)
        elif reading := _asked_in(answer):
            kind = "point" if reading.name in self.session.knowledge.point else "sign"
            self._ask_meter(kind, reading.name)
            self._ask_for(kind, reading.name, self._fields(reading))
        else:
            self.say("There is nothing more to ask for. Type what you find.")

    def _take_missing(self, missing: Iterable[Need]) -> None:
        """The first lines of a proof that are not met, asked for as the proof needs them."""
        k = self.session.knowledge
        lacks = list(missing)
        need = next((n for n in lacks if not n.met_by), None) or next((n for n in lacks if not self._told_in_this_call(n)), None)
        if need is not None:
            self.say(f"For the proof: {need.take or need.says}")
            self.take_lines(k.condition[need.condition].any_of[0])
        elif lacks:
            self.say(f"The same again in a new heat call ({lacks[0].calls_left} more): `call` as it begins.")
        else:
            self.say("The proof lacks no reading, but an entry speaks against it: `proof` shows which, `fix` corrects a slip.")

    def _told_in_this_call(self, need: Need) -> bool:
        """Whether what Enter asks for to meet a condition was told of the running call, however it turned out."""
        told = {(r.name, r.call) for r in map(self.session.record, self.session.visit.telling)}
        way = self.session.knowledge.condition[need.condition].any_of[0]
        return all(any((name, self.session.visit.call) in told for _, name in w.names) for w in way)

    def _take_check(self, state: RepairState) -> None:
        """The first check that is not met, in a new heat call where it was met in this one already."""
        need = next(iter(state.missing), None)
        if need is None:
            self.say("Every check is met; `close` ends the visit." if state.proved else "A check is denied by an entry: `checks` shows which.")
            return
        if need.met_by:
            self.do("call")
        self.tell_need(need)
        self.take_lines(self.session.knowledge.check[need.condition].any_of[0])

    def tell_need(self, need: Need) -> None:
        """How to meet it, where the lines that are asked for do not say so themselves."""
        if own := self.session.knowledge.check[need.condition].take:
            self.say(own)

    def take_lines(self, lines: Iterable[Wanted], *, quiet: bool = False) -> bool:
        """Ask for each line of a condition or check; whether all were told. *quiet*: without the screen after each."""
        asked = [(w, *w.names[0]) for w in lines if w.names[0][0] in ("point", "sign")]
        k = self.session.knowledge
        return all(self._ask_for(kind, name, _as_wanted(w), told=line_in_words(w, k), timed=when(w), quiet=quiet) for w, kind, name in asked)

    def _ask_for(self, kind: str, name: str, fields: dict[str, object], *, told: str = "", timed: str = "", quiet: bool = False) -> bool:
        """Ask for the value of one point or sign, its cautions first; whether something was kept.

        *timed*: how long after its step began it is wanted, in words. *quiet*: without the screen after it.
        """
        k = self.session.knowledge
        entry = k.point[name] if kind == "point" else k.sign[name]
        self.say(told or f"{entry.says}{f'. {entry.where}' if entry.where else ''}")
        self.caution(entry.cautions)
        asked_as = _in_words(fields)
        if asked_as:
            self.say(f"Taken as read {asked_as}; say so if it was not.")
        unit = k.point[name].unit if kind == "point" else _values_in_words(k.sign[name])
        prompt = f"{name.replace('_', ' ')} [{unit}]: "
        if len(prompt) > LONGEST_PROMPT:  # what does not fit is cut off where it is typed
            self.say(f"[{unit}]")
            prompt = ": "
        while said := self.ask(prompt):
            if plain(said) == "never":
                self.never_there(name, fields.get("step"))
                return False
            if says_cannot(said):
                self.cannot(name, fields.get("step"))
                return False
            is_value = self.session.reader.only_value(kind, name, said, fields) is not None  # "call" is a command, and a step that a call stops at
            if not is_value and self._commanded(said):
                return False
            try:
                typed = self._value(kind, name, said, fields)
                kept = self.keep(self._with_seconds(typed) if timed and typed.record.get(kind) == name else typed)
            except BadInput as bad:
                self.say(*(str(replace(problem, place=None)) for problem in bad.problems), "Type it again, or Enter to leave it.")
                continue
            if kept is not None and not quiet:
                self.show_change()
            return kept is not None
        return False

    def _with_seconds(self, typed: Typed) -> Typed:
        """The same with when it was read, asked for where no watch runs: without it a proof or check that wants it never counts it."""
        record = typed.record
        if "after_s" in record or self.session.clock_of(record) is not None:
            return typed
        while said := self.ask("Read after how many seconds? (Enter: not known) "):
            timed = self.session.reader.only_value(*_named_in(record), f"{record['value']} after {said.removeprefix('after').strip()}", record)
            if timed is not None and "after_s" in timed.record:
                return replace(typed, record={**record, "after_s": timed.record["after_s"]})
            self.say(f"{printable(said)} is no time. Type seconds, such as 330, or Enter.")
        self.say("Kept without the seconds: it does not count where they are wanted.")
        return typed

    def _fields(self, reading: NextReading) -> dict[str, object]:
        """A record of it, as far as it says how it is taken; the meter is the visit's own where that is known."""
        meter = None if self.session.visit.meter else reading.meter
        return {name: value for name, value in (("step", reading.step), ("meter", meter)) if value}

    def _ask_meter(self, kind: str, name: str) -> None:
        """Once a visit, before the first volts: how the meter stands."""
        volts = kind == "point" and self.session.knowledge.point[name].function == "ac_volts"
        if not volts or self.session.visit.meter is not None:
            return
        said = self.asker.ask_key("Your meter: l in its low-impedance mode, o ordinary (Enter: not said) ", ("l", "o"))
        if said and said.lower() in ("l", "o"):
            self.do("mode", {"l": "low", "o": "high"}[said.lower()])

    def caution(self, ids: Iterable[str]) -> None:
        self.lines(screen.caution_lines((self.session.knowledge.caution[c].says for c in ids), self.cautioned, self.width()))

    def _value(self, kind: str, name: str, said: str, fields: Mapping[str, object]) -> Typed:
        """What was typed where a value was asked for: that value, taken as *fields* say, or another record altogether."""
        typed = self.session.reader.value_for(kind, name, said)
        typed = replace(typed, record={**fields, **typed.record})
        try:
            record_of(typed.record, Place("your line", 1, 1), self.session.vocabulary)
        except BadInput:
            try:
                other = self.session.reader.read(said)
            except BadInput:
                return typed
            return other if isinstance(other, Typed) and not other.guessed and len(said.split()) > 1 else typed
        return typed

    def asked(self) -> NextReading | None:
        """The reading that the screen asks for."""
        return None if self.session.hazards() else _asked_in(self.session.answer())

    def never_there(self, name: str, step: object) -> None:
        """The furnace never comes to where that could be read: where it stops instead tells more than the reading would."""
        self.session.tell("never", {"name": name, "step": step, "nothing_there": True})
        stops = self.session.evidence.sign_of_stopping
        told = {(self.session.record(e).name, self.session.record(e).call) for e in self.session.visit.telling}
        if stops is None or (stops, self.session.visit.call) in told or not self._ask_for("sign", stops, {}):
            self.show_change()

    def cannot(self, name: str, step: object) -> None:
        self.session.tell("never", {"name": name, "step": step})
        self.say(f"{name.replace('_', ' ')} is not asked for again.")
        self.show_change()

    def show_change(self) -> None:
        """The screen after an entry, with what moved."""
        answer, after = self.session.answer(), self.session.after()
        if after is not None:
            self.lines(screen.proving_lines(after, self.session.hazards(), self.width()))
        else:
            self.lines(screen.screen_lines(answer, self.shown, self.cautioned, self.width()))
        self.shown = answer



def _asked_in(answer: Answer) -> NextReading | None:
    """The reading that the screen asks for."""
    return answer.act.check if answer.act is not None else next(iter(answer.next), None)


def _values_in_words(sign: Sign) -> str:
    """What a sign can be, and the unit of a figure that would tell it too."""
    values = " | ".join(v.replace("_", " ") for v in sign.values)
    return f"{values}, or {sign.figures.unit}" if sign.figures else values


def _as_wanted(wanted: Wanted) -> dict[str, object]:
    """The fields of a record taken as a proof wants it; when it was taken is left to the watch."""
    fields: dict[str, object] = {"step": wanted.step[0]} if wanted.step else {}
    fields |= {name: value for name in ("meter", "contact", "hold") if (value := getattr(wanted, name))}
    return fields | ({"set_up": list(wanted.set_up)} if wanted.set_up else {})


def _named_in(record: Mapping[str, object]) -> tuple[str, str]:
    """Kind and id of what a record is of."""
    return next((kind, str(record[kind])) for kind in ("point", "sign") if kind in record)


def _in_words(fields: dict[str, object]) -> str:
    told = [f"at {str(fields['step']).replace('_', ' ')}"] if "step" in fields else []
    told += [table[str(fields[name])] for name, table in (("meter", METER), ("contact", CONTACT), ("hold", HOLD)) if name in fields]
    told += [SET_UP[str(s)] for s in fields.get("set_up", [])]  # type: ignore[attr-defined]
    return ", ".join(told)
