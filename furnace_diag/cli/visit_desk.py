"""The loop of a visit: asks, hands what is typed to the session, shows what follows."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress
from dataclasses import replace
from typing import NoReturn

import click

from furnace_diag.cli import visit_start
from furnace_diag.cli.asking import Asker
from furnace_diag.cli.common import SAYS_NO, SAYS_YES, encodable
from furnace_diag.cli.visit_commands import COMMANDS, KEYS
from furnace_diag.cli.visit_repair import YES
from furnace_diag.cli.visit_start import none_of
from furnace_diag.cli.visit_values import (
    LONGEST_PROMPT,
    as_wanted,
    ask_for,
    ask_meter,
    help_with,
    only_value,
    take_lines,
    take_missing,
    told_as_wanted,
    with_seconds,
)  # fmt: skip
from furnace_diag.diagnosis.answer import Answer
from furnace_diag.diagnosis.choice import NextReading
from furnace_diag.diagnosis.findings import Need, RepairState
from furnace_diag.diagnosis.records import Record, record_of
from furnace_diag.diagnosis.taking import asked_in_words, is_timed, when
from furnace_diag.diagnosis.verdict import BOARD
from furnace_diag.knowledge.finding_models import Wanted
from furnace_diag.knowledge.models import Event, Point, Sign
from furnace_diag.knowledge.spelling import plain
from furnace_diag.problems import BadInput, Place, Problem, printable
from furnace_diag.report import visit_screen as screen
from furnace_diag.report.visit_words import as_words, record_in_words, value_in_words
from furnace_diag.visit.complaint import pieces_by_denials, pieces_of, sides_of, states_of
from furnace_diag.visit.replies import asks_back, says_lacks
from furnace_diag.visit.session import Doubtful, Session
from furnace_diag.visit.times import without_when
from furnace_diag.visit.typed import Typed, Unclear, as_choice, one_of
from furnace_diag.visit.untold import contradicts, nearest, taken_as_wanted, words_lacking

PROMPT = "> "
FIGURE = re.compile(r"[-~.]?\d[\d.]*(?: ?[a-zA-Z]{1,4})?")  # and nothing else, but for a unit
CLASH_HELP = "f: the new one takes its place. c: it was read in another heat call. Enter: the new one is dropped."


class Leave(Exception):
    """The technician goes; the visit stays as it is."""


class Desk:
    """One visit at one prompt."""

    def __init__(self, session: Session, asker: Asker, width: Callable[[], int]) -> None:
        self.session, self.asker, self.width = session, asker, width
        self.shown: Answer | None = None
        self.cautioned: set[str] = set()  # cautions that were told in full
        self.left: list[Point | Sign | Event] = []  # what the last search found and did not show
        self.shown_ways: set[str] = set()  # steps of which it was told how one gets there
        self.stopped_by: set[str] = set()  # hazards that stand and were told
        self.mending = False  # while the steps of a repair are gone through
        self.left_at: dict[str, int] = {}  # by its id the page at which a repair was left
        self.starting = True  # until the first screen: no ranking is shown while the questions on safety are still put

    def run(self) -> None:
        """Ask until the technician leaves or no line is left."""
        try:
            visit_start.begin(self)
            self.starting = False
            self.do("show")
            while True:
                self.guarded(self._turn)
        except Leave:
            pass
        self.say(f"Kept in {self.session.journal.path}")

    def guarded(self, act: Callable[[], object]) -> None:
        """Run *act*; what goes wrong is told, and nothing that was entered is lost by it."""
        try:
            act()
        except BadInput as bad:
            self.tell_problems(bad)
        except KeyboardInterrupt:
            self.say("Line given up. `quit` leaves; everything entered so far is kept.")
        except OSError as error:
            self.say(f"NOT KEPT: {printable(error.strerror or str(error))}. Make room, then type the last entry again.")

    def _turn(self) -> None:
        line = self.ask(PROMPT)
        if not line:
            self._take_next()
        elif not self.commanded(line) and not (asks_back(line) and self._asked_back(line)):
            self._enter(line)

    def _asked_back(self, line: str) -> bool:
        """Help for a line that asks, of which nothing is kept: on the command or what is asked for; False where it names something, which is asked for then."""
        bare, asked = line.rstrip(" ?!."), self.asked()
        if bare.lower() in COMMANDS:
            self.say(f"{bare.lower()}: {COMMANDS[bare.lower()].says}.")
        elif self.exactly(bare) is not None:
            self.say(f"Nothing is kept of what ends in ?. `if {printable(bare)}` shows what would follow.")
        elif self._name_alone(bare) is not None:
            return False
        elif (several := self._meant_by(bare)) and (asked is None or asked.name not in {name for name, _ in several}):
            self.say("Nothing is kept of what ends in ?. It names:")
            for name, says in several:
                self.lines(screen.filled(f"{name.replace('_', ' ')}: {says}", self.width(), "    ", "  - "))
            self.say("Type one of those names: then it is asked for.")
        elif asked is not None and self.session.after() is None and not self.session.lacking_before(asked.name):
            help_with(self, self.kind_of(asked.name), asked.name, self._fields(asked))
        else:
            self.say("Nothing is kept of what ends in ?. `?` alone lists the commands, `show` what is asked for.")
        return True

    def _meant_by(self, line: str) -> list[tuple[str, str]]:
        """The points and signs that *line* could be of, each with what it is; none where too little of it names them."""
        with suppress(BadInput):
            read = self.session.reader.read(line)
            typed = read.choices if isinstance(read, Unclear) else (read,)
            k = self.session.knowledge
            entries = [k.point.get(str(t.record.get("point"))) or k.sign.get(str(t.record.get("sign"))) for t in typed if not t.weakly]
            return [(e.point if isinstance(e, Point) else e.sign, e.says) for e in entries if e is not None]
        return []

    def commanded(self, line: str) -> bool:
        """Whether *line* was a command; it is done then."""
        if lacking := says_lacks(line, self.session.evidence.words.instruments):
            self.do("without", ", ".join(dict.fromkeys([*self.session.visit.without, lacking])))
            return True
        name, rest = _command_in(line)
        if name:
            self.do(name, rest)
        return bool(name)

    def is_command(self, line: str) -> bool:
        """Whether *line* is one, and no record."""
        return bool(_command_in(line)[0] or says_lacks(line, self.session.evidence.words.instruments))

    def offered(self, line: str) -> str:
        """The command that *line* is, where the screen of the checks after a repair offers it; else empty."""
        name = _command_in(line)[0]
        return name if name in screen.OFFERED_WITH_CHECKS and self.session.after() is not None else ""

    def says_of(self, command: str) -> str:
        """What a command does, with its word."""
        return f"`{command}`: {COMMANDS[command].says}"

    def do(self, name: str, rest: str = "") -> None:
        """A command by its word."""
        COMMANDS[name].act(self, rest)

    def leave(self) -> NoReturn:
        """End the loop; what was entered stays."""
        raise Leave

    def ask(self, prompt: str, helps: str | Callable[[], object] = "") -> str:
        """One line, stripped. A long prompt is said before it: a terminal cuts it off where it is typed. Raises Leave at the end of input.

        *helps*: what to tell, in paragraphs, or to do for a line that asks back; it answers nothing, and the question is put again.
        """
        return self._answer(prompt, helps, self.asker.ask)

    def key(self, prompt: str, keys: Iterable[str], helps: str | Callable[[], object] = "") -> str:
        """One of *keys*, or a line, stripped; the rest as `ask`."""
        return self._answer(prompt, helps, lambda shown: self.asker.ask_key(shown, keys))

    def _answer(self, prompt: str, helps: str | Callable[[], object], asking: Callable[[str], str | None]) -> str:
        while True:
            self._tell_new_hazards()
            if len(prompt) > LONGEST_PROMPT:
                self.say(prompt.rstrip(" :"))
            line = asking(prompt if len(prompt) <= LONGEST_PROMPT else ": ")
            if line is None:
                raise Leave
            if not helps or not asks_back(line) or _command_in(line)[1]:  # after a command's word the ? is of what it takes
                return line.strip()
            if callable(helps):
                helps()
            else:
                self.say(*helps.split("\n"))

    def tell_hazards(self) -> None:
        """Whatever stops the visit now, with what to do and whom to call; nothing where nothing does."""
        hazards = self.session.hazards()
        self.stopped_by = {h.finding for h in hazards}
        self.lines(screen.stop_lines(hazards, self.width()))

    def _tell_new_hazards(self) -> None:
        """A hazard is told before the next thing that is asked, whatever way it came by."""
        now = {h.finding for h in self.session.hazards()} if self.session.visit.entries else set()
        if now - self.stopped_by:
            self.tell_hazards()
        self.stopped_by = now

    def say(self, *paragraphs: str) -> None:
        """Text, filled to the width."""
        for paragraph in paragraphs:
            self.lines(screen.filled(paragraph, self.width()))

    def tell_problems(self, bad: BadInput) -> None:
        """What is wrong and what to do, without the place: it is the line just typed."""
        for problem in bad.problems:
            self.say(as_words(str(problem._replace(place=None))))

    def lines(self, lines: Iterable[str]) -> None:
        """Lines as they are."""
        for line in lines:
            click.echo(encodable(line))

    def words(self) -> Iterator[str]:
        """What Tab completes: commands, points and signs."""
        yield from COMMANDS
        k = self.session.knowledge
        yield from (name.replace("_", " ") for name in (*k.point, *k.sign, *k.event))

    def read(self, line: str, *, before: bool = False) -> Typed | Unclear:
        """What a line says; with slips of the keys mended where it says nothing as it stands, and told so. Raises BadInput.

        *before*: what happened before the visit is asked for.
        """
        reader = self.session.reader
        try:
            return reader.read(line) if before else self.as_it_stands(line)
        except BadInput:
            for meant in reader.forgiven(line):
                with suppress(BadInput):
                    typed = reader.read(meant)
                    self.say_read_as(meant)
                    return typed
            for meant in without_when(line):
                with suppress(BadInput):
                    typed = reader.read(meant)
                    if isinstance(typed, Typed) and "history" in typed.record:  # what was seen last week is nothing that is seen now
                        self.say_read_as(meant)
                        return typed
            raise

    def as_it_stands(self, line: str) -> Typed | Unclear:
        """The same without mending anything; what may be an earlier repair or a check of this visit is either, the one that a proof wants first."""
        typed = self.session.reader.read(line)
        now = self.session.reader.or_seen_now(line) if isinstance(typed, Typed) and "history" in typed.record else None
        if now is None or not isinstance(typed, Typed):
            return typed
        return one_of(now, typed) if self._proof_wants(str(now.record["sign"])) else one_of(typed, now)

    def _proof_wants(self, sign: str) -> bool:
        """Whether the board's nearest proof still lacks a sign."""
        nearest = self.session.answer().board.nearest
        lacking = [self.session.knowledge.condition[n.condition] for n in (nearest.missing if nearest is not None else ())]
        return any(("sign", sign) in w.names for condition in lacking for way in condition.any_of for w in way)

    def exactly(self, line: str) -> Typed | None:
        """The one record that a line says as it stands, its name in full; None where it says none, or might say another."""
        try:
            typed = self.as_it_stands(line)
        except BadInput:
            return None
        return typed if isinstance(typed, Typed) and not (typed.guessed or typed.weakly) else None

    def say_read_as(self, meant: str) -> None:
        """What was typed with a slip was taken for."""
        self.say(f"Read as: {printable(meant)} (`undo` if it was not meant so).")

    def aside(self, line: str, keys: str) -> None:
        """What is typed where one of *keys* was asked for: a command, a record of its own, or a slip."""
        if self.commanded(line):
            return
        try:
            self._enter(line, beside=True)
        except BadInput as bad:
            if step := self.step_told(line):
                self.say(f"{step} What the call does before that is asked in its place.")
            else:
                self.tell_problems(bad if len(line.split()) > 1 else none_of(line, keys))

    def tell_way_to(self, name: object, *, again: bool = False) -> None:
        """How one gets to a step in which something is to be read, where a heat call alone does not; once, or *again* where somebody asks."""
        step = next((s for s in self.session.vocabulary.sequence.steps if s.step == name), None)
        if step is not None and step.reached_by and (again or step.step not in self.shown_ways):
            self.shown_ways.add(step.step)
            self.say(f"{step.step.replace('_', ' ').capitalize()}: {step.says}. {step.reached_by}")

    def step_told(self, line: str) -> str:
        """What the step is that *line* names, where it is nothing else."""
        meant = self.session.vocabulary.names("step").meant(line)
        step = next((s for s in self.session.vocabulary.sequence.steps if meant == [s.step]), None)
        return f"{step.step.replace('_', ' ').capitalize()}: {step.says}." if step is not None else ""

    def _enter(self, line: str, *, beside: bool = False) -> None:
        """A record typed in one line; a name alone asks for its value, a step alone for where the call stops. Raises BadInput.

        *beside*: another question is open, so that a value alone is of nothing and no screen follows.
        """
        if not beside and FIGURE.fullmatch(line) and self.session.after() is None and self.asked() is None:
            raise BadInput([Problem(None, f"{printable(line)} of what?", "Enter asks for what is wanted; or type the name before the figure.")])
        read: Typed | Unclear | None = None if beside else self._for_open_check(line)
        read = read or self.exactly(line) or (None if beside else self._for_what_is_asked(line))
        if read is None:
            try:
                read = self.as_it_stands(line)
            except BadInput:
                if plain(line) in SAYS_NO | SAYS_YES:
                    raise BadInput([Problem(None, f"{printable(line)} to what?", "Enter asks for what is wanted; or type a name before it.")]) from None
                if self.kept_in_pieces(line, quiet=beside):
                    return
                alone = None if beside else self.session.reader.alone(line)
                if alone is None and not self._says_with_slips(line) and self._ask_for_named(line, quiet=beside):
                    return
                read = alone or self.read(line)
            read = (None if beside else self._named_on_screen(read)) or read
        chosen = self.chosen(read)
        if chosen is not None and not beside:
            chosen = self._at_step_asked(chosen)
        if chosen is not None and (kept := self.keep(self._of_another_call(chosen))) and not beside:
            self.tell_if_not_counted(kept)
            self.show_change()

    def _at_step_asked(self, typed: Typed) -> Typed:
        """The same at the step at which the screen asks for it, where it says none and can be read there; so is a figure alone taken."""
        reading = self.asked() if self.session.after() is None else None
        if reading is None or reading.step is None or "step" in typed.record or "source" in typed.record:
            return typed
        k, kind = self.session.knowledge, self.kind_of(reading.name)
        steps = k.point[reading.name].steps if kind == "point" else k.sign[reading.name].steps
        if typed.record.get(kind) != reading.name or reading.step not in steps:
            return typed
        return replace(typed, record={**typed.record, "step": reading.step})

    def _named_on_screen(self, read: Typed | Unclear) -> Typed | None:
        """Of a line that could be several readings, or names one weakly, that which the screen asks for: first what Enter takes, then what else it offers."""
        if self.session.hazards() or (isinstance(read, Typed) and not read.weakly):
            return None
        state, answer = self.session.after(), self.session.answer()
        asked_first = _asked_in(answer)
        offered = [*([asked_first] if asked_first is not None else []), *answer.next]
        asked = [{n.name} for n in offered] if state is None else [self._names_of(n) for n in state.missing]
        for names in [*asked[:1], {name for each in asked[1:] for name in each}]:
            found = [t for t in ((read,) if isinstance(read, Typed) else read.choices) if names & {str(t.record.get("point")), str(t.record.get("sign"))}]
            if len(found) == 1:
                self.say_read_as(_in_words(found[0]))
                return replace(found[0], weakly=False)
        return None

    def kept_in_pieces(self, line: str, *, quiet: bool) -> bool:
        """Whether *line* told several things, each of them a plain record; they are kept then, as if each had a line of its own."""
        ways = (pieces_of(line), pieces_by_denials(line), sides_of(line), *states_of(line))
        each = next((e for parts in ways if None not in (e := [self.exactly(p) for p in parts]) and len(e) > 1), [])
        if not each:
            return False
        kept = [self.keep(self._of_another_call(typed)) for typed in each if typed is not None]
        if any(kept) and not quiet:
            self.show_change()
        return True

    def _of_another_call(self, typed: Typed) -> Typed:
        """The same, a heat call later where it is told once more of a thing that must be seen in several calls: of one call it is told once."""
        state, visit = self.session.after(), self.session.visit
        if state is None or typed.calls > 1 or "call" in typed.record:
            return typed
        made = record_of(typed.record, Place("your line", 1, 1), self.session.vocabulary)
        told = any((r.name, r.word, r.call) == (made.name, made.word, visit.call) for r in map(self.session.record, visit.checking))
        if told and any(n.met_by and made.name in self._names_of(n) for n in state.missing):
            self.session.tell("call", {"call": visit.call + 1, "unmarked": True})
            self.say(f"Heat call {visit.call} had that already: taken as heat call {self.session.visit.call}.")
        return typed

    def _names_of(self, need: Need) -> set[str]:
        """What the first way to meet a check asks for."""
        return {w.names[0][1] for w in self.session.knowledge.check[need.condition].any_of[0]}

    def tell_if_not_counted(self, kept: Record) -> None:
        """What an open check still wants of a record that was kept and meets none of its lines by how it was taken."""
        state = self.session.after()
        if state is None:
            self._tell_how_to_prove(kept)
        else:
            self.tell_how_to_count(kept, state.missing)

    def _tell_how_to_prove(self, kept: Record) -> None:
        """What to type for a record that only leaves out how it was taken to count for the board's nearest proof."""
        board, k = self.session.answer().board, self.session.knowledge
        almost = [] if board.proved or board.nearest is None else [n for n in board.nearest.missing if any(kept.said in text for text in n.almost)]
        wanted = nearest((w for need in almost for way in k.condition[need.condition].any_of for w in way), kept)
        words = words_lacking(wanted, kept) if wanted is not None and not contradicts(wanted, kept) else []
        words = [word for word in words if kept.after_s is None or not word.startswith("after ")]
        if words:
            self.say(f"To count for the proof, if it was so: fix {self.session.visit.entries[-1].number} {value_in_words(kept)} {' '.join(words)}")

    def tell_how_to_count(self, kept: Record, needs: Iterable[Need]) -> None:
        """What checks want of how the record that was kept last is taken, where it meets none of their lines by that, and what to type."""
        wanted = nearest((w for need in needs for way in self.session.knowledge.check[need.condition].any_of for w in way), kept)
        if wanted is not None and not taken_as_wanted(wanted, kept):
            wants = as_words(asked_in_words(wanted, self.session.knowledge))
            self.say(f"Kept, but not counted. The check wants: {wants.rstrip('.')}. {self._say_so(kept, wanted)}")

    def _say_so(self, kept: Record, wanted: Wanted) -> str:
        """How to tell it so that it counts: what the record leaves out, typed as a better one in its place."""
        typed = " ".join([value_in_words(kept), *words_lacking(wanted, kept)])
        if contradicts(wanted, kept):
            return f"Take it so, then type it with: {' '.join(words_lacking(wanted, kept))}"
        return f"If it was so, type: fix {self.session.visit.entries[-1].number} {typed}"

    def _ask_for_named(self, line: str, *, quiet: bool) -> bool:
        """Whether *line* was a name and no more: its value is asked for then."""
        named = next((n for text in (line, *self.session.reader.forgiven(line)) if (n := self._name_alone(text))), None)
        stops = self.session.evidence.sign_of_stopping
        if named is None and not quiet and stops is not None and (step := self.step_told(line)):
            self.say(f"{step} How far does the call get before that?")
            named = ("sign", stops)
        if named is not None:
            ask_for(self, *named, {}, quiet=quiet)
        return named is not None

    def _says_with_slips(self, line: str) -> bool:
        """Whether *line*, which is no name as it stands, is a record once slips of the keys are mended."""
        if self._name_alone(line) is not None:
            return False
        for meant in self.session.reader.forgiven(line):
            with suppress(BadInput):
                self.session.reader.read(meant)
                return True
        return False

    def _name_alone(self, line: str) -> tuple[str, str] | None:
        """Kind and id of the one point or sign that *line* names without a value."""
        named = self.session.reader.names_only(line)
        exact = [n for n in named if plain(n[1]) == plain(line)] or named
        if len(exact) == 1 and exact[0][1] in self.session.knowledge.experiment and exact[0][1] not in self.session.vocabulary.names("sign").clear(line):
            return None  # something is changed for it: that is begun by its name in full
        return exact[0] if len(exact) == 1 else None

    def _for_what_is_asked(self, line: str) -> Typed | Unclear | None:
        """A line that is nothing but a value, taken for the reading that the screen asks for; or all that it could be."""
        if self.session.hazards():
            return None
        state = self.session.after()
        if state is not None:
            own = (self._for_check(need, line, named=need is not state.missing[0]) for need in state.missing)
            return next((typed for typed in own if typed is not None), None)
        reading = _asked_in(self.session.answer())
        if reading is None:
            return None
        if first := self.session.lacking_before(reading.name):
            return self._for_check(first[0], line)
        typed = self.never_comes(reading.name, line)
        typed = typed or only_value(self, self.kind_of(reading.name), reading.name, line, self._fields(reading), loosely=True)
        return typed if typed is None else self._or_of_a_place(line, typed, reading)

    def _for_open_check(self, line: str) -> Typed | None:
        """A line that the check which the screen asks for could be told by, where another sign has that name too and its own id does not begin the line."""
        state, other = self.session.after(), self.exactly(line)
        if state is None or not state.missing or other is None or "sign" not in other.record or self.session.hazards():
            return None
        sign = str(other.record["sign"])
        own = sign in self._names_of(state.missing[0]) or f"{plain(line)} ".startswith(f"{plain(sign)} ")
        return None if own else self._for_check(state.missing[0], line, named=True)

    def _or_of_a_place(self, line: str, typed: Typed, asked: NextReading) -> Typed | Unclear:
        """The same; or all that it could be, where its step is not the one that is asked for and may as well be the place of another reading: "0 on heat"."""
        step = typed.record.get("step")
        places = self.session.reader.of_place(line, step) if step != asked.step else ()
        of_asked = not places or any(t.record.get("point") == asked.name for t in places)
        return typed if of_asked else one_of(typed, *(replace(t, weakly=False) for t in places))

    def _for_check(self, need: Need, line: str, *, named: bool = False) -> Typed | None:
        """The same for a check that is not met: for that of its lines which is not told yet and has such a value.

        *named*: only where the line begins with the name, because the screen asks for something else.
        """
        check = self.session.knowledge.check[need.condition]
        lines = [w for w in check.any_of[0] if w.names[0][0] in ("point", "sign")]
        for wanted in [w for w in lines if len(lines) == 1 or not told_as_wanted(self, w, once=check.once)]:
            if named and not self.session.reader.begins_with_name(*wanted.names[0], line):
                continue
            typed = only_value(self, *wanted.names[0], line, as_wanted(wanted), loosely=True)
            if typed is not None:
                return with_seconds(self, typed) if is_timed(wanted) else typed
        return None

    def kind_of(self, name: str) -> str:
        """Of a reading."""
        return "point" if name in self.session.knowledge.point else "sign"

    def chosen(self, typed: Typed | Unclear) -> Typed | None:
        """The one that is meant, asked for where it is not clear."""
        if isinstance(typed, Typed):
            return self.if_meant(typed) if typed.weakly else typed
        self.say("That could be:")
        for number, text in enumerate(typed.texts, 1):
            self.lines(screen.filled(text.replace("_", " "), self.width(), "    ", f"{number:>2}. "))
        said = self.ask("Which number? (Enter: none) ", "Type the number of the one that is meant, or Enter: then nothing is kept.")
        if said.isdigit() and 0 < int(said) <= len(typed.choices):
            return typed.choices[int(said) - 1]
        self.say("Not kept: none of those." if said else "Nothing kept of that.")
        if said and not self.commanded(said):
            self._enter(said)  # what is typed instead of a number is a line of its own
        return None

    def if_meant(self, typed: Typed) -> Typed | None:
        """A record of which little was said, once somebody says that it was meant; what is typed in place of a yes is a line of its own."""
        made = record_of(typed.record, Place("your line", 1, 1), self.session.vocabulary)
        said = as_words(as_choice(replace(typed, record={**typed.record, "value": made.word or typed.record["value"]})))
        self.say(f"Is this \"{printable(said)}\"?")
        if plain(answer := self.ask("y it is, Enter it is not: ", f"y: it is kept as {said}. Enter: nothing is kept.")) in YES:
            return typed
        self._drop(answer, "y, Enter")
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
        self._tell_if_too_soon(typed)
        kept = self.session.take(typed, instead_of=instead_of, at=self.asker.first_key, question=question)
        if isinstance(kept, Doubtful):
            answered = self._resolved(kept, instead_of)
            if answered is None:
                return None
            kept = answered
        self._read_back(kept)
        return kept

    def _tell_if_too_soon(self, typed: Typed) -> None:
        """Why the watch gives a reading no seconds, where its step cannot have begun yet."""
        if least := self.session.too_soon(typed.record, self.asker.first_key):
            step = typed.record["step"]
            soonest = f"{str(step).replace('_', ' ')} begins {least:g} s after {self.session.counts_from(step)} at the soonest"
            self.say(f"No seconds are kept: {soonest}. If you know when it was read, type it with them, such as: after 40 s.")

    def _first_call_without(self, typed: Typed) -> int:
        """The running call, or the one after it where the same was told of it already."""
        visit = self.session.visit
        told = {(r.name, r.call) for r in map(self.session.record, visit.checking if visit.proving else visit.telling)}
        return visit.call + any((name, visit.call) in told for name in typed.record.values())

    def _resolved(self, doubtful: Doubtful, instead_of: int | None) -> Record | None:
        """A doubtful record, kept after asking, or None."""
        if doubtful.contradicts is not None:
            if instead_of is None and self._was_told(doubtful.contradicts) and "source" not in doubtful.typed.record:
                self.say(f"Entry {doubtful.contradicts} was told; what is seen takes its place.")
                return self._settled(self.session.take(doubtful.typed, instead_of=doubtful.contradicts, at=self.asker.first_key))
            self.say(as_words(doubtful.why))
            said = self.ask("f fix that entry, c it is a new call, Enter none: ", f"{as_words(doubtful.why)} {CLASH_HELP}")
            if said.lower() in ("c", "call"):
                self.session.tell("call", {"call": self.session.visit.call + 1, "unmarked": True})
                return self._settled(self.session.take(doubtful.typed, at=self.asker.first_key))
            if said.lower() in ("f", "fix"):
                return self._settled(self.session.take(doubtful.typed, instead_of=doubtful.contradicts))
            self._drop(said, "f, c, Enter")
            return None
        self.say(as_words(doubtful.why))
        if plain(said := self.ask("y keep it, Enter drop it: ", as_words(doubtful.why))) not in YES:
            self._drop(said, "y, Enter")
            return None
        return self._settled(self.session.take(doubtful.typed, sure=True, instead_of=instead_of, at=self.asker.first_key))

    def _drop(self, said: str, keys: str) -> None:
        """A record is not kept; what was typed in place of one of *keys* is a line of its own."""
        if not said or plain(said) in SAYS_NO | {"drop", "drop it"}:
            self.say("Nothing kept.")
        else:
            self.say("Not kept: what was asked about.")  # what was typed in its place may be
            self.aside(said, keys)

    def _was_told(self, number: int) -> bool:
        """Whether an entry is what somebody told, and nobody looked."""
        return any(e.number == number and self.session.record(e).source == "told" for e in self.session.visit.entries)

    def _settled(self, kept: Record | Doubtful) -> Record | None:
        if isinstance(kept, Record):
            return kept
        self.say(kept.why)
        return None

    def _read_back(self, record: Record) -> None:
        """What an entry was taken for."""
        number, value = self.session.visit.entries[-1].number, value_in_words(record)
        self.say(f"{number}. {record_in_words(record)}")
        step = self.session.evidence.step_wanted(record) if record.kind == "point" else None
        if step is not None:
            step = self._step_asked(record.name) or step
            self.say(f"At which step? It tells more with it, such as: fix {number} {value} at {step.replace('_', ' ')}")

    def _step_asked(self, point: str) -> str | None:
        """The step at which the screen, or what the board's proof lacks, asks for a point; else where the call stops, if it is read there."""
        asked = _asked_in(self.shown) if self.shown is not None else None
        if asked is not None and asked.name == point:
            return asked.step
        nearest = self.shown.board.nearest if self.shown is not None else None
        lacking = [self.session.knowledge.condition[n.condition] for n in (nearest.missing if nearest is not None else ())]
        wanted = next((w.step[0] for c in lacking for w in c.any_of[0] if w.point == point and w.step), None)
        stops = screen.stopped_at(self.shown) if self.shown is not None else None
        return wanted or (stops if stops in self.session.knowledge.point[point].steps else None)

    def _take_next(self) -> None:
        answer, after = self.session.answer(), self.session.after()
        if self.session.hazards():
            self.tell_hazards()
            self.say("The visit is stopped by that. `undo` if it was a slip, `note`, `close`, `quit`.")
        elif after is not None:
            self._take_check(after)
        elif answer.board.proved:
            self.do("mend", BOARD)
        elif answer.act is not None and answer.act.needs_proof and answer.board.nearest is not None:
            take_missing(self, answer.board.nearest.missing)
        elif (reading := _asked_in(answer)) and (first := self.session.lacking_before(reading.name)):
            self._ask_for_check(first[0])
        elif reading:
            kind = self.kind_of(reading.name)
            if reading.call is not None and reading.call > self.session.visit.call:
                self.do("call")
            given = ask_meter(self, kind, reading.name)
            if self.session.hazards():
                return
            wanted = self._wanted_by_proof(answer, reading)
            if wanted is None:
                ask_for(self, kind, reading.name, self._fields(reading), given=given)
            else:
                fields, k = as_wanted(wanted) | {"step": reading.step}, self.session.knowledge
                ask_for(self, kind, reading.name, fields, told=asked_in_words(wanted, k), timed=when(wanted, k), given=given)
        elif answer.act is not None:
            self.do("mend")
        else:
            self.say("There is nothing more to ask for. Type what you find.")

    def _wanted_by_proof(self, answer: Answer, reading: NextReading) -> Wanted | None:
        """How what the board's nearest proof still lacks wants this same reading taken, so that nobody has to take it twice."""
        lacking = answer.board.nearest.missing if answer.board.nearest is not None else ()
        lines = (w for need in lacking for w in self.session.knowledge.condition[need.condition].any_of[0])
        return next((w for w in lines if w.names[0][1] == reading.name and reading.step in w.step), None)

    def _take_check(self, state: RepairState) -> None:
        """The first check that is not met, in a new heat call where it was met in this one already."""
        need = next(iter(state.missing), None)
        if need is None:
            self.say("Every check is met; `close` ends the visit." if state.proved else "A check is denied by an entry: `checks` shows which.")
            return
        running = {r.name for r in map(self.session.record, self.session.visit.checking) if r.call == self.session.visit.call}
        if need.met_by and running & self._names_of(need):
            self.do("call")
        self._ask_for_check(need)

    def _ask_for_check(self, need: Need) -> None:
        self.tell_need(need)
        check = self.session.knowledge.check[need.condition]
        take_lines(self, check.any_of[0], once=check.once, briefly=bool(check.take))

    def tell_need(self, need: Need) -> None:
        """How to meet it, where the lines that are asked for do not say so themselves."""
        if own := self.session.knowledge.check[need.condition].take:
            self.say(f"{as_words(own)}{screen.calls_wanted(need)}")

    def _fields(self, reading: NextReading) -> dict[str, object]:
        """A record of it, as far as it says how it is taken; the meter is the visit's own where that is known and any meter will do."""
        point = self.session.knowledge.point.get(reading.name)
        any_will_do = point is None or point.meter is None
        meter = None if self.session.visit.meter and any_will_do else reading.meter
        return {name: value for name, value in (("step", reading.step), ("meter", meter)) if value}

    def caution(self, ids: Iterable[str]) -> None:
        self.lines(screen.caution_lines((self.session.knowledge.caution[c].says for c in ids), self.cautioned, self.width()))

    def asked(self) -> NextReading | None:
        """The reading that the screen asks for."""
        return None if self.session.hazards() else _asked_in(self.session.answer())

    def never_there(self, name: str, step: object) -> None:
        """The furnace never comes to where that could be read: where it stops instead tells more than the reading would. Of a time that may never
        come, that is another thing, and it is asked which."""
        if (sign := self._never_of(name)) is not None and not self._call_stops_before(sign, step):
            return
        stops = self.session.evidence.sign_of_stopping
        if name == stops:
            self.say(f"Where nothing stops it, say {self.session.vocabulary.sequence.order[-1].replace('_', ' ')}.")
            return
        self.session.tell("never", {"name": name, "step": step, "nothing_there": True})
        told = {(self.session.record(e).name, self.session.record(e).call) for e in self.session.visit.telling}
        if stops is None or (stops, self.session.visit.call) in told or not ask_for(self, "sign", stops, {}):
            self.show_change()

    def _never_of(self, name: str) -> Typed | None:
        """The record by which what a time is taken of never comes; None of anything else."""
        point = self.session.knowledge.point.get(name)
        return next((Typed({"sign": sign, "value": value}) for sign, value in point.never_is.items()), None) if point is not None else None

    def _call_stops_before(self, never: Typed, step: object) -> bool:
        """Whether a call does not get to *step*, where a never may be of the thing itself too; that is kept, if it was meant."""
        self.say(f"1. {as_words(as_choice(never))}", f"2. the call never gets to {str(step).replace('_', ' ')}")
        said = self.ask("Which number? (Enter: none) ", "1: it gets there, and what is timed does not come. 2: it stops before. Enter: nothing is kept.")
        if said == "1" and self.keep(never):
            self.show_change()
        elif said not in ("1", "2"):
            self._drop(said, "1, 2, Enter")
        return said == "2"

    def never_comes(self, name: str, said: str) -> Typed | None:
        """The record of a line that says of what is timed that it never comes, "it don't go out"; None of any other."""
        never = self._never_of(name)
        return never if never is not None and self.session.reader.value_of(str(never.record["sign"]), said) == never.record["value"] else None

    def cannot(self, name: str, step: object) -> None:
        self.session.tell("never", {"name": name, "step": step})
        self.say(f"{name.replace('_', ' ')} is not asked for again.")
        self.show_change()

    def show_change(self) -> None:
        """The screen after an entry, with what moved."""
        answer, after = self.session.answer(), self.session.after()
        self.tell_hazards()
        if after is not None:
            self.lines(screen.proving_lines(after, self.width(), stopped=bool(self.stopped_by)))
        else:
            lacking = {n.name: first for n in answer.next if (first := self.session.lacking_before(n.name))}
            if answer.act is not None and answer.act.check is not None:
                lacking[answer.act.check.name] = self.session.lacking_before(answer.act.check.name)
            self.lines(screen.screen_lines(answer, self.shown, self.cautioned, self.width(), lacking))
        self.shown = answer


def _command_in(line: str) -> tuple[str, str]:
    """The command that *line* is, and what stands after its word; nothing where it is none."""
    word, _, rest = line.partition(" ")
    name = KEYS.get(word, word.lower()) if not rest.strip() else word.lower()
    return (name, rest.strip()) if name in COMMANDS and not (rest.strip() and COMMANDS[name].alone) else ("", "")


def _in_words(typed: Typed) -> str:
    """A record that was chosen from several: its name and value."""
    name = next(str(typed.record[kind]) for kind in ("point", "sign") if kind in typed.record)
    return f"{name.replace('_', ' ')} {typed.record['value']}"


def _asked_in(answer: Answer) -> NextReading | None:
    """The reading that the screen asks for; none where it asks for what a proof lacks, which Enter takes piece by piece."""
    if answer.act is not None:
        return None if answer.act.needs_proof and answer.board.nearest is not None else answer.act.check
    return next(iter(answer.next), None)
