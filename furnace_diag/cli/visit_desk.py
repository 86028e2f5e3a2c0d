"""The loop of a visit: asks, hands what is typed to the session, shows what follows."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from typing import Any

import click

from furnace_diag.cli.asking import Asker
from furnace_diag.cli.common import encodable, instruments
from furnace_diag.diagnosis.answer import Answer
from furnace_diag.diagnosis.findings import Need, RepairState
from furnace_diag.diagnosis.records import Record, record_of
from furnace_diag.diagnosis.taking import CONTACT, METER, SET_UP, line_in_words
from furnace_diag.diagnosis.verdict import BOARD
from furnace_diag.knowledge.find import plain, values_of
from furnace_diag.knowledge.finding_models import Wanted
from furnace_diag.knowledge.models import Question
from furnace_diag.knowledge.repairs import repairs_for
from furnace_diag.problems import BadInput, Place, Problem, printable
from furnace_diag.report import visit_screen as screen
from furnace_diag.visit.lines import Typed, Unclear, says_cannot
from furnace_diag.visit.session import Doubtful, Session

OPEN = frozenset(["", "?", "skip", "dont know", "do not know", "not sure", "unknown", "dunno", "no idea"])
YES, NO = frozenset(["y", "yes", "yep", "yeah", "ok", "keep"]), frozenset(["", "n", "no", "nope"])
ALONE = frozenset(["call", "click", "list", "undo", "proof", "checks", "same", "close", "quit"])  # with more words after it, a line is no command but a record
KEYS = {"?": "help", "h": "help", "u": "undo", "l": "list", "t": "click", "k": "call", "p": "proof", "q": "quit"}  # single keys that stand for a command
PROMPT = "> "


class Leave(Exception):
    """The technician goes; the visit stays as it is."""


class Desk:
    """One visit at one prompt."""

    def __init__(self, session: Session, asker: Asker, width: Callable[[], int]) -> None:
        self.session, self.asker, self.width = session, asker, width
        self.shown: Answer | None = None
        self.cautioned: set[str] = set()  # cautions that were told in full
        self.commands: dict[str, tuple[Callable[[str], None], str]] = {
            "help": (self.help, "this list"),
            "show": (self.show, "the whole screen again; `show all` tells everything"),
            "why": (self.why, "why PART: the entries for and against it"),
            "if": (self.suppose, "if RECORD: what would follow, nothing is kept"),
            "find": (self.find, "find WORDS: points and signs with those words"),
            "list": (self.entries, "every entry with its number"),
            "undo": (self.undo, "take back the last thing"),
            "remove": (self.remove, "remove NUMBER: take back that entry"),
            "fix": (self.fix, "fix NUMBER RECORD: put a better one in its place"),
            "never": (self.never, "what Enter asks for cannot be had; or never NAME"),
            "without": (self.without, "without TOOLS: plan without a manometer, clamp, ..."),
            "mode": (self.mode, "mode low|high: how your meter reads volts from now on"),
            "call": (self.call, "a new heat call begins now"),
            "click": (self.click, "the gas valve clicked now: times fill themselves"),
            "row": (self.row, "row FIGURES: the supply readings in a row"),
            "assumed": (self.assumed, "what was assumed of this furnace; assumed NAME VALUE"),
            "proof": (self.proof, "what the proof of a bad board has and lacks"),
            "calc": (self.calc, "calc NAME INPUT=VALUE: rise, gas, capacitor, ..."),
            "mend": (self.mend, "mend [PART]: how it is put right, and the checks after it"),
            "checks": (self.checks, "the checks after the repair"),
            "same": (self.same, "the fault is still there after the repair"),
            "close": (self.close, "end the visit: proved, or not proved and why"),
            "note": (self.note, "note TEXT"),
            "quit": (self.quit, "leave; `visit --resume` goes on from here"),
        }

    # --- the loop ---------------------------------------------------------------------------

    def run(self) -> None:
        """Ask until the technician leaves or no line is left."""
        try:
            self._begin()
            self.show("")
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
        if name not in self.commands or (rest.strip() and name in ALONE):
            return False
        self.commands[name][0](rest.strip())
        return True

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
        yield from self.commands
        k = self.session.knowledge
        yield from (name.replace("_", " ") for name in (*k.point, *k.sign, *k.event))

    # --- the start --------------------------------------------------------------------------

    def _begin(self) -> None:
        """Whatever of the start is not over yet: complaint, safety, how far the call gets, what happened before."""
        if self.session.journal.repaired:
            self.say(self.session.journal.repaired)
        first = not self.session.visit.complaint and not self.session.visit.asked
        if first:
            self._guarded(self._complaint)
            self.say("", "Answer with one key; Enter leaves a question open.")
        for group in ("safety", "behaviour"):
            while (asked := self.session.questions(group)) and not self.session.hazards():
                self._guarded(lambda question=asked[0]: self._question(question))  # type: ignore[misc]
        if first and not self.session.answer().hazards:
            self._guarded(self._before)

    def _complaint(self) -> None:
        self.session.tell("complaint", {"text": printable(self.ask("What is the complaint? "), 400)})

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
                self._keep(Typed({"sign": question.sign, "value": meant[0]}), question=question.question)
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
        chosen = self._chosen(typed)
        if chosen is not None:
            self._keep(chosen)

    def _before(self) -> None:
        """What was replaced already, and what happened before: as many lines as are wanted."""
        self.say("Was anything replaced before you came, or did anything happen (storm, new thermostat, ...)?")
        self.say("One a line, such as: board no change. Enter when done.")
        while line := self.ask("before: "):
            self._guarded(lambda said=line: self._keep_all(said))  # type: ignore[misc]

    def _keep_all(self, line: str) -> None:
        for piece in filter(None, (p.strip() for p in line.split(","))):
            typed = self.session.reader.read(piece)
            chosen = self._chosen(typed)
            if chosen is not None:
                self._keep(chosen)

    # --- entries ----------------------------------------------------------------------------

    def _enter(self, line: str) -> None:
        """A record typed in one line; a name alone asks for its value."""
        named = self.session.reader.names_only(line)
        exact = [n for n in named if plain(n[1]) == plain(line)] or named
        if len(exact) == 1 and not self._whole(line):
            self._ask_for(*exact[0], {})
            return
        chosen = self._chosen(self.session.reader.read(line))
        if chosen is not None and self._keep(chosen):
            self.show_change()

    def _whole(self, line: str) -> bool:
        try:
            return isinstance(self.session.reader.read(line), Typed)
        except BadInput:
            return False

    def _chosen(self, typed: Typed | Unclear) -> Typed | None:
        """The one that is meant, asked for where it is not clear."""
        if isinstance(typed, Typed):
            return typed
        self.say("That could be:")
        for number, text in enumerate(typed.texts, 1):
            self.lines(screen.filled(text.replace("_", " "), self.width(), "    ", f"{number:>2}. "))
        said = self.ask("Which number? (Enter: none) ")
        if said.isdigit() and 0 < int(said) <= len(typed.choices):
            return typed.choices[int(said) - 1]
        self.say("Nothing kept.")
        if said:
            self._commanded(said)
        return None

    def _keep(self, typed: Typed, *, instead_of: int | None = None, question: str | None = None) -> Record | None:
        """Keep a record, asking once about what makes no sense; what was kept. *question*: of the start, that it answers."""
        kept = self.session.take(typed, instead_of=instead_of, at=self.asker.first_key, question=question)
        if isinstance(kept, Doubtful):
            answered = self._resolved(kept, instead_of)
            if answered is None:
                self.say("Nothing kept.")
                return None
            kept = answered
        self._read_back(kept)
        return kept

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
        value = record.word.replace("_", " ") if record.word is not None else record.said.rpartition(": ")[2]
        told = [f"at {record.step}" if record.step else "", f"call {record.call}" if record.call > 1 else ""]
        told += [f"{record.after_s:g} s after the {'click' if self.session.visit.click else 'call began'}" if record.after_s is not None else ""]
        told += [f"meter {record.meter}" if record.meter else "", f"on the {record.contact}" if record.contact else "", *record.set_up]
        more = ", ".join(t.replace("_", " ") for t in told if t)
        self.say(f"{self.session.visit.entries[-1].number}. {record.name.replace('_', ' ')}: {printable(value)}{f' ({more})' if more else ''}")

    # --- what Enter takes --------------------------------------------------------------------

    def _take_next(self) -> None:
        answer, after = self.session.answer(), self.session.after()
        if self.session.hazards():
            self.say("The visit is stopped by the hazard above. `undo` if it was a slip, `note`, `close`, `quit`.")
        elif after is not None:
            self._take_check(after)
        elif answer.board.proved:
            self.mend(BOARD)
        elif answer.act is not None and answer.act.needs_proof and answer.board.nearest is not None:
            self._take_missing(answer.board.nearest.missing)
        elif reading := (answer.act.check if answer.act is not None else next(iter(answer.next), None)):
            kind = "point" if reading.name in self.session.knowledge.point else "sign"
            self._ask_for(kind, reading.name, {"step": reading.step} if reading.step else {})
        else:
            self.say("There is nothing more to ask for. Type what you find.")

    def _take_missing(self, missing: Iterable[Need]) -> None:
        """The first lines of a proof that are not met, asked for as the proof needs them."""
        k = self.session.knowledge
        need = next((n for n in missing if not n.met_by), None) or next(iter(missing), None)
        if need is None:
            self.say("The proof lacks nothing.")
            return
        if need.met_by:
            self.say(f"The same again in a new heat call ({need.calls_left} more): `call` as it begins.")
            return
        self.say(f"For the proof: {need.take or need.says}")
        self._take_lines(k.condition[need.condition].any_of[0])

    def _take_check(self, state: RepairState) -> None:
        """The first check that is not met, in a new heat call where it was met in this one already."""
        need = next(iter(state.missing), None)
        if need is None:
            self.say("Every check is met; `close` ends the visit." if state.proved else "A check is denied by an entry: `checks` shows which.")
            return
        if need.met_by:
            self.call("")
        self._tell_need(need)
        self._take_lines(self.session.knowledge.check[need.condition].any_of[0])

    def _tell_need(self, need: Need) -> None:
        """How to meet it, where the lines that are asked for do not say so themselves."""
        if own := self.session.knowledge.check[need.condition].take:
            self.say(own)

    def _take_lines(self, lines: Iterable[Wanted], *, quiet: bool = False) -> bool:
        """Ask for each line of a condition or check; whether all were told. *quiet*: without the screen after each."""
        asked = [(w, *w.names[0]) for w in lines if w.names[0][0] in ("point", "sign")]
        k = self.session.knowledge
        return all(self._ask_for(kind, name, _as_wanted(w), told=line_in_words(w, k), quiet=quiet) for w, kind, name in asked)

    def _ask_for(self, kind: str, name: str, fields: dict[str, object], *, told: str = "", quiet: bool = False) -> bool:
        """Ask for the value of one point or sign, its cautions first; whether something was kept. *quiet*: without the screen after it."""
        k = self.session.knowledge
        entry = k.point[name] if kind == "point" else k.sign[name]
        self.say(told or f"{entry.says}{f'. {entry.where}' if entry.where else ''}")
        self._caution(entry.cautions)
        self._ask_meter(kind, name, fields)
        asked_as = _in_words(fields)
        if asked_as:
            self.say(f"Taken as read {asked_as}; say so if it was not.")
        unit = k.point[name].unit if kind == "point" else " | ".join(v.replace("_", " ") for v in k.sign[name].values)
        prompt = f"{name.replace('_', ' ')} [{unit}]: " if len(unit) + len(name) < 34 else f"[{unit}]\n: "
        while said := self.ask(prompt):
            if plain(said) != "never" and self._commanded(said):
                return False
            if says_cannot(said) or plain(said) == "never":
                self._cannot(name, fields.get("step"))
                return False
            try:
                kept = self._keep(self._value(kind, name, said, fields))
            except BadInput as bad:
                self.say(*(str(replace(problem, place=None)) for problem in bad.problems), "Type it again, or Enter to leave it.")
                continue
            if kept is not None and not quiet:
                self.show_change()
            return kept is not None
        return False

    def _ask_meter(self, kind: str, name: str, fields: Mapping[str, object]) -> None:
        """Once a visit, before the first volts: how the meter stands."""
        volts = kind == "point" and self.session.knowledge.point[name].function == "ac_volts"
        if not volts or "meter" in fields or self.session.visit.meter is not None:
            return
        said = self.asker.ask_key("Your meter: l in its low-impedance mode, o ordinary (Enter: not said) ", ("l", "o"))
        if said and said.lower() in ("l", "o"):
            self.mode({"l": "low", "o": "high"}[said.lower()])

    def _caution(self, ids: Iterable[str]) -> None:
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

    def _cannot(self, name: str, step: object) -> None:
        self.session.tell("never", {"name": name, "step": step})
        self.say(f"{name.replace('_', ' ')} is not asked for again.")
        self.show_change()

    # --- commands ----------------------------------------------------------------------------

    def show(self, rest: str) -> None:
        """The screen of the visit."""
        answer = self.session.answer()
        if plain(rest) == "all":
            from furnace_diag.report.terminal import answer_lines

            self.lines(answer_lines(answer, self.session.knowledge, self.width(), show_all=True))
            return
        self.shown = None
        self.show_change()

    def show_change(self) -> None:
        """The screen after an entry, with what moved."""
        answer, after = self.session.answer(), self.session.after()
        if after is not None:
            self.lines(screen.proving_lines(after, self.session.hazards(), self.width()))
        else:
            self.lines(screen.screen_lines(answer, self.shown, self.cautioned, self.width()))
        self.shown = answer

    def help(self, rest: str) -> None:
        """The commands."""
        self.say("Enter takes the next reading. Or type any other: a name and its value, such as")
        self.lines(["  24v at w 25.1", "  heat terminal 0.2 low pin", "  inducer runs no at call"])
        keys = {name: key for key, name in KEYS.items() if key != "?"}
        for name, (_, text) in self.commands.items():
            self.lines(screen.filled(text, self.width(), " " * 10, f"{keys.get(name, ' ')} {name:<8}"))

    def why(self, rest: str) -> None:
        """The entries for and against a suspect."""
        answer = self.session.answer()
        parts = {p.part: self.session.knowledge.part[p.part].also_called for p in answer.parts}
        names = self.session.vocabulary.names("history")
        meant = [m.partition(":")[0] for m in names.meant(rest)] if rest else [answer.parts[0].part]
        meant = list(dict.fromkeys(meant)) or [p for p in parts if plain(p).startswith(plain(rest))]
        if len(meant) != 1:
            near = meant or [n.partition(":")[0] for n in names.suggested(rest)]
            fix = f"Such as: {', '.join(dict.fromkeys(near)) or answer.parts[0].part}."
            raise BadInput([Problem(None, f"There is no one part called {printable(rest)}.", fix)])
        self.lines(screen.why_lines(answer, meant[0], self.width()))

    def suppose(self, rest: str) -> None:
        """What would follow from a record."""
        from furnace_diag.report.terminal import side_by_side

        typed = self._chosen(self.session.reader.read(rest))
        if typed is not None:
            record = record_of(typed.record, Place("your line", 1, 1), self.session.vocabulary)
            self.lines(side_by_side(self.session.answer(), self.session.answer((record,)), [record.said], self.width()))

    def find(self, rest: str) -> None:
        """Points and signs with some words, with the numbers that points can be typed by."""
        from furnace_diag.report.prose import matching

        numbers = {name: f"#{i}" for i, name in enumerate(self.session.reader.numbered, 1)}
        found = matching(self.session.knowledge, tuple(rest.split()))
        for entry in found[:12]:
            name = getattr(entry, "point", None) or entry.sign  # type: ignore[union-attr]
            self.lines(screen.filled(f"{name}: {entry.says}", self.width(), "     ", f"{numbers.get(name, ''):<5}"))
        if len(found) > 12:
            self.say(f"and {len(found) - 12} more: add a word")
        if not found:
            near = self.session.reader.suggested(rest)
            self.say(f"Nothing has all of these words.{f' Nearest: {chr(44).join(near)}' if near else ''}")

    def entries(self, rest: str) -> None:
        """Every entry."""
        said = {e.number: self.session.record(e).said for e in self.session.visit.entries}
        self.lines(screen.entry_lines(self.session.visit, said, self.width()))

    def undo(self, rest: str) -> None:
        """Take back the last thing."""
        gone = self.session.undo()
        self.say("There is nothing to take back." if gone is None else f"Taken back: {_told(gone.event, gone.says)}.")
        if gone is not None:
            self.show_change()

    def remove(self, rest: str) -> None:
        """Take back one entry."""
        self.session.take_back(_number(rest))
        self.say(f"Entry {_number(rest)} taken back.")
        self.show_change()

    def fix(self, rest: str) -> None:
        """Put a record in the place of an entry."""
        number, _, line = rest.partition(" ")
        old = next((e for e in self.session.visit.entries if e.number == _number(number)), None)
        if old is None or not line.strip():
            raise BadInput([Problem(None, "Say which entry and what it should be.", "Such as: fix 7 igniter ohms 52")])
        kind = next(k for k in ("point", "sign", "event", "history", "experiment") if k in old.record)
        typed = self._fixed(kind, str(old.record[kind]), line, old.record)
        if typed is not None and self._keep(typed, instead_of=old.number):
            self.show_change()

    def _fixed(self, kind: str, name: str, line: str, old: object) -> Typed | None:
        """A whole record, or a new value for the same one, taken as the old one was."""
        try:
            return self._chosen(self.session.reader.read(line))
        except BadInput:
            typed = self.session.reader.value_for(kind, name, line)
            return replace(typed, record={**dict(old), **typed.record})  # type: ignore[call-overload]

    def never(self, rest: str) -> None:
        """A reading that cannot be had."""
        named = self.session.reader.names_only(rest) if rest else []
        answer = self.session.answer()
        reading = answer.act.check if answer.act is not None else next(iter(answer.next), None)
        if rest and len(named) != 1:
            raise BadInput([Problem(None, f"{printable(rest)} is no one reading.", "Type `never` alone for the one that is asked for, or its name.")])
        if named:
            self._cannot(named[0][1], None)
        elif reading is not None:
            self._cannot(reading.name, reading.step)
        else:
            self.say("Nothing is being asked for.")

    def without(self, rest: str) -> None:
        """Instruments that are not to be had."""
        named = instruments(rest, self.session.evidence.words)
        self.session.tell("without", {"instruments": list(named)})
        self.say(f"Planned without: {', '.join(named)}." if named else "Planned with every instrument.")
        self.show_change()

    def mode(self, rest: str) -> None:
        """How volts are read from now on."""
        from furnace_diag.diagnosis.records import METERS
        from furnace_diag.knowledge.find import Names

        meant = Names(METERS).meant(rest)
        if len(meant) != 1:
            raise BadInput([Problem(None, "A meter is low (its low-impedance mode) or high (ordinary).", "Type: mode low, or: mode high")])
        self.session.tell("meter", {"meter": meant[0]})
        self.say(f"Volts are taken as read with the meter {meant[0]} from now on.")

    def call(self, rest: str) -> None:
        """A new heat call."""
        fresh = not self.session.visit.call_began and not self.session.visit.telling
        number = 1 if fresh else self.session.visit.call + 1
        self.session.tell("call", {"call": number})
        self.say(f"Heat call {number} begins now. `click` when the gas valve clicks.")

    def click(self, rest: str) -> None:
        """The valve clicked."""
        self.session.tell("click", {"call": self.session.visit.call})
        self.say("Valve clicked now. Readings of this call at a named step get their seconds from here.")

    def row(self, rest: str) -> None:
        """Several readings of one place on one line."""
        row = self.session.knowledge.row["supply"]
        if not rest:
            for name in row.points:
                self.lines(screen.filled(f"{name}: {self.session.knowledge.point[name].says}", self.width(), "    ", "  "))
            self._caution(dict.fromkeys(c for name in row.points for c in self.session.knowledge.point[name].cautions))
            rest = self.ask("figures in this order, - for none: ")
        kept = [self._keep(typed) for typed in self.session.reader.row(row.points, rest)] if rest else []
        if any(kept):
            self.show_change()

    def assumed(self, rest: str) -> None:
        """What was assumed, and saying what is so."""
        answer = self.session.answer()
        if not rest:
            self.lines(screen.furnace_lines(self.session.visit, answer, self.session.knowledge, self.width()))
            return
        name, _, value = rest.partition(" ")
        options = self.session.knowledge.furnace[self.session.visit.family].options
        if name.isdigit() and 0 < int(name) <= len(answer.assumed):
            name = answer.assumed[int(name) - 1].option
        value = value.strip().replace(" ", "_")
        if name not in options:
            raise BadInput([Problem(None, f"This furnace has no option {printable(name)}.", "`assumed` alone lists them.")])
        if value not in options[name].values:
            raise BadInput([Problem(None, f"{name} cannot be {printable(value) or 'empty'}.", f"Use one of: {', '.join(options[name].values)}.")])
        self.session.tell("option", {"option": name, "value": value})
        self.show_change()

    def proof(self, rest: str) -> None:
        """The checklist of the board's proof."""
        board = self.session.answer().board
        proofs = board.proved or ((board.nearest,) if board.nearest else ())
        self.say(screen.BOARD[board.verdict])
        for proof in proofs:
            self.lines(screen.proof_lines(proof, self.width()))
        for caution in board.cautions:
            self.lines(screen.filled(f"CAUTION: {caution}", self.width(), "  "))
        for killer in board.killers:
            found = "FOUND: " if killer.found else "Before a new one goes in, look for: "
            self.lines(screen.filled(f"{found}{killer.says} {killer.look} Cured when: {killer.accept}", self.width(), "    ", "  - "))
        if not proofs:
            self.say("No proof is under way: belief is on other parts, or on none yet.")

    # --- repair and close --------------------------------------------------------------------

    def calc(self, rest: str) -> None:
        """Arithmetic, and its result as a reading if it is one."""
        from furnace_diag.furnace.calculations import calculation, evaluate, pairs
        from furnace_diag.report.arithmetic import list_lines, result_lines, wanted_lines

        name, _, inputs = rest.partition(" ")
        if not name:
            self.lines(list_lines(self.width()))
            return
        chosen = calculation(name)
        if not inputs.strip():
            self.lines(wanted_lines(chosen, [self.session.knowledge.caution[c].says for c in chosen.cautions], self.width()))
            return
        result = evaluate(name, pairs(inputs))
        self.lines(result_lines(result, self.width()))
        if result.takes is None or plain(self.ask(f"y take it as {result.takes.point.replace('_', ' ')}, Enter not: ")) not in YES:
            return
        if self._keep(Typed({"point": result.takes.point, "value": result.takes.value})):
            self.show_change()

    def mend(self, rest: str) -> None:
        """How the leading part, or another, is put right; once it is done its checks begin."""
        part, failure = self._meant_failure(rest)
        repair = repairs_for(self.session.knowledge, part, failure)
        state = self.session.before(repair)
        if self.session.hazards():
            raise BadInput([Problem(None, "Nothing is repaired while the hazard above stands.", "`undo` if it was a slip.")])
        if state.lacks_proof:
            self.say(f"{part.replace('_', ' ')} is not proved bad: it is not replaced. What the proof lacks:")
            self.proof("")
            return
        self.lines(screen.repair_lines(repair, self.session.knowledge, self.width()))
        if not self._before_mending(state, part):
            return
        if plain(self.ask(f"y when it is done ({part.replace('_', ' ')}), Enter to leave it: ")) in YES:
            self.session.tell("repair", {"part": part, "failure": failure, "repair": repair.repair})
            self.session.tell("call", {"call": self.session.visit.call + 1})
            self.say("Now prove it. What is entered from here on is about the repaired furnace.")
            self.show_change()

    def _meant_failure(self, rest: str) -> tuple[str, str]:
        """The failure to be mended: what leads, or the likeliest of the part that is named."""
        answer = self.session.answer()
        if not rest:
            leads = answer.parts[0].failures[0].failure
            return (answer.act.part, answer.act.failure) if answer.act is not None else (answer.parts[0].part, leads)
        meant = self.session.vocabulary.names("history").meant(rest)
        if len(meant) != 1:
            near = meant or self.session.vocabulary.names("history").suggested(rest)
            raise BadInput([Problem(None, f"{printable(rest)} is no one part.", f"Such as: {', '.join(near[:5]) or answer.parts[0].part}.")])
        part, _, failure = meant[0].partition(":")
        return part, failure or next(p for p in answer.parts if p.part == part).failures[0].failure

    def _before_mending(self, state: RepairState, part: str) -> bool:
        """Ask for what must be proved before the first step; whether to go on."""
        if state.missing:
            self.say("Before the first step:")
        for need in state.missing:
            self._tell_need(need)
            if not self._take_lines(self.session.knowledge.check[need.condition].any_of[0], quiet=True):
                self.say(f"Left open. `mend {part.replace('_', ' ')}` asks again.")
                return False
        return True

    def checks(self, rest: str) -> None:
        """The checks after the repair."""
        state = self.session.after()
        if state is None:
            raise BadInput([Problem(None, "No repair is being proved.", "`mend` shows the repair of what leads.")])
        self.lines(screen.proof_lines(state, self.width()))

    def same(self, rest: str) -> None:
        """The repair did not help."""
        self.session.still_there()
        self.say("Kept: the repair changed nothing. On with the search; what was read since tells of the fault.")
        self.show_change()

    def close(self, rest: str) -> None:
        """End the visit."""
        state = self.session.after()
        if state is not None and state.proved and not self.session.hazards():
            self.session.tell("closed", {"as": "proved"})
            self.say("Closed as PROVED: the repair and every check after it stand in the record.")
            raise Leave
        if state is None:
            self.say("No repair was proved.")
        else:
            self.lines(screen.proof_lines(state, self.width(), title="Not proved yet: "))
        reason = self.ask("It closes as NOT PROVED. Why? (Enter: do not close) ")
        if reason:
            self.session.tell("closed", {"as": "not_proved", "reason": printable(reason, 400)})
            self.say("Closed as NOT PROVED.")
            raise Leave

    def note(self, rest: str) -> None:
        """A note."""
        if not rest:
            raise BadInput([Problem(None, "A note says something.", "Type: note filter was black")])
        self.session.tell("note", {"text": printable(rest, 2000)})
        self.say("Noted.")

    def quit(self, rest: str) -> None:
        """Leave."""
        raise Leave


def _number(text: str) -> int:
    if not text.strip().lstrip("#").isdigit():
        raise BadInput([Problem(None, f"{printable(text) or 'Nothing'} is no entry number.", "`list` shows them.")])
    return int(text.strip().lstrip("#"))


def _as_wanted(wanted: Wanted) -> dict[str, object]:
    """The fields of a record taken as a proof wants it; when it was taken is left to the watch."""
    fields: dict[str, object] = {"step": wanted.step[0]} if wanted.step else {}
    fields |= {name: value for name in ("meter", "contact", "hold") if (value := getattr(wanted, name))}
    return fields | ({"set_up": list(wanted.set_up)} if wanted.set_up else {})


def _in_words(fields: dict[str, object]) -> str:
    told = [f"at {str(fields['step']).replace('_', ' ')}"] if "step" in fields else []
    told += [table[str(fields[name])] for name, table in (("meter", METER), ("contact", CONTACT)) if name in fields]
    told += [SET_UP[str(s)] for s in fields.get("set_up", [])]  # type: ignore[attr-defined]
    return ", ".join(told)


def _told(event: str, says: Mapping[str, Any]) -> str:
    """An event in a few words."""
    record = says.get("record", says)
    values = ", ".join(f"{str(k).replace('_', ' ')} {v}" for k, v in record.items() if k not in ("point", "sign", "value"))
    named = next((f"{record[kind]}: {record.get('value', '')}" for kind in ("point", "sign") if kind in record), event)
    return printable(f"{named.replace('_', ' ')}{f' ({values})' if values else ''}", 200)
