"""The loop of a visit: asks, hands what is typed to the session, shows what follows."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterator
from dataclasses import replace
from functools import partial
from typing import NoReturn, TypeVar

from furnace_diag.cli import visit_start
from furnace_diag.cli.asking import Asker
from furnace_diag.cli.common import SAYS_NO, SAYS_YES
from furnace_diag.cli.visit_answer import (
    for_a_check,
    for_open_check,
    for_what_is_asked,
    for_what_is_asked_there,
    named_on_screen,
    never_of,
    of_what_is_asked,
)
from furnace_diag.cli.visit_asked import as_wanted, asked, asked_in, at_step_asked, fields_of, kind_of, names_of, wanted_by_proof
from furnace_diag.cli.visit_commands import COMMANDS, command_in
from furnace_diag.cli.visit_counts import tell_if_not_counted, tell_need
from furnace_diag.cli.visit_help import asked_back
from furnace_diag.cli.visit_keep import keep_one, of_another_call, one_each_call
from furnace_diag.cli.visit_line import (
    as_it_stands,
    as_read_now,
    exactly,
    in_pieces,
    name_with_slips,
    of_the_same_thing,
    once_each,
    one_value_each,
    piece_by_piece,
    read_line,
    read_of_new,
    repairs_in,
    says_with_slips,
    step_told,
)
from furnace_diag.cli.visit_prompt import Leave, Prompt
from furnace_diag.cli.visit_put_right import for_what_stops, or_asked
from furnace_diag.cli.visit_repair import done_already, meant_failure, mended_already
from furnace_diag.cli.visit_start import none_of
from furnace_diag.cli.visit_sure import DROPPED, YES, Instead, dropped, is_danger, meant_so, told_back, which_of
from furnace_diag.cli.visit_values import METER_ASKED, ask_for, ask_meter, take_lines, take_missing
from furnace_diag.diagnosis.answer import Answer
from furnace_diag.diagnosis.findings import Need, RepairState
from furnace_diag.diagnosis.records import Record
from furnace_diag.diagnosis.taking import asked_in_words, when
from furnace_diag.diagnosis.verdict import BOARD
from furnace_diag.knowledge.models import Event, Point, Sign
from furnace_diag.knowledge.repairs import repairs_for
from furnace_diag.knowledge.spelling import plain
from furnace_diag.problems import BadInput, Problem, printable
from furnace_diag.report import visit_screen as screen
from furnace_diag.report.visit_words import as_words
from furnace_diag.visit.session import Session
from furnace_diag.visit.typed import Typed, Unclear, as_choice, named_in

PROMPT = "> "
FIGURE = re.compile(r"[-~.]?\d[\d.]*(?: ?[a-zA-Z]{1,4})?")  # and nothing else, but for a unit
TAKES_MORE = frozenset(name for name, command in COMMANDS.items() if not command.alone)

MOST_UNDERSTOOD = 1000  # [characters]

T = TypeVar("T")


class Desk:
    """One visit at one prompt."""

    def __init__(self, session: Session, asker: Asker, width: Callable[[], int]) -> None:
        self.session = session
        self.prompt = Prompt(session, asker, width, TAKES_MORE)
        self.shown: Answer | None = None
        self.left: list[Point | Sign | Event] = []  # what the last search found and did not show
        self.mending = False  # while the steps of a repair are gone through
        self.asked_of: set[object] = set()  # the signs that were kept, or asked about, of the line that is being read
        self.left_begun: set[str] = set()  # parts of which a repair that was begun was offered already
        self.cut_short = False  # since a hazard stopped it, the start has not gone on
        self.screens = 0  # that were shown after an entry
        self.starting = True  # until the first screen: no ranking is shown while the questions on safety are still put

    def run(self) -> None:
        """Ask until the technician leaves or no line is left."""
        try:
            visit_start.begin(self)
            self.starting = False
            self.show_change(stops_in_full=True)
            while True:
                self.guarded(self._turn)
        except Leave:
            pass
        self.prompt.say(f"Kept in {self.session.journal.path}")

    def guarded(self, act: Callable[[], object]) -> None:
        """Run *act*; what goes wrong is told, and nothing that was entered is lost by it."""
        try:
            act()
        except BadInput as bad:
            self.prompt.tell_problems(bad)
        except KeyboardInterrupt:
            self.prompt.say("Line given up. `quit` leaves; everything entered so far is kept.")
        except OSError as error:
            self.prompt.say(f"NOT KEPT: {printable(error.strerror or str(error))}. Make room, then type the last entry again.")

    def _turn(self) -> None:
        line = self.prompt.ask(PROMPT)
        if not line:
            self._take_next()
        elif not self.commanded(line) and not (self.session.replies.asks_back(line) and self._asked_back(line)) and not self._left_open(line):
            screens, typed = self.screens, self.session.visit.typed
            self._enter(line)
            if self.session.visit.typed > typed and self.screens == screens:  # kept of a line that was typed instead of an answer
                self.show_change()

    def _left_open(self, line: str) -> bool:
        """Whether a line says that what the screen asks for is not to be had: that is skipped, told so; a check after a repair stays open."""
        if not self.session.replies.says_cannot(line):
            return False
        if self.session.after() is not None:
            self.prompt.say("Nothing is kept of that, and the check stays open. `checks` lists all, `close` ends the visit with why one was left.")
        else:
            self.do("skip")
        return True

    def _take_next(self) -> None:
        answer, after = self.session.answer(), self.session.after()
        if self.session.hazards() and not self._ends_what_stops(self.begun()):
            self._tell_what_stops()
        elif after is not None:
            self._take_check(after)
        elif begun := self.begun():
            self.left_begun.add(begun)
            self.do("mend", begun.replace("_", " "))
        elif answer.board.proved:
            self.do("mend", BOARD)
        elif answer.act is not None and answer.act.needs_proof and answer.board.nearest is not None:
            take_missing(self, answer.board.nearest.missing)
        elif (reading := asked_in(answer)) and (first := self.session.lacking_before(reading.name)):
            self._ask_for_check(first[0])
        elif reading:
            kind = kind_of(self.session, reading.name)
            if reading.call is not None and reading.call > self.session.visit.call:
                self.do("call")
            given, then = ask_meter(self, kind, reading.name)
            if self.session.hazards():
                return
            wanted = wanted_by_proof(self.session, answer, reading)
            if wanted is None:
                ask_for(self, kind, reading.name, fields_of(self.session, reading), given=given)
            else:
                fields, k = as_wanted(wanted) | {"step": reading.step}, self.session.knowledge
                ask_for(self, kind, reading.name, fields, told=asked_in_words(wanted, k), timed=when(wanted, k), given=given)
            if then:
                self.aside(then, METER_ASKED)
        elif answer.act is not None:
            self.do("mend")
        else:
            self.prompt.say("There is nothing more to ask for. Type what you find.")

    def _ends_what_stops(self, part: str) -> bool:
        """Whether the repair of a part, where one is named, is what ends all that stops the visit."""
        return bool(part) and self.session.is_ended_by(repairs_for(self.session.knowledge, *meant_failure(self, part.replace("_", " "))))

    def _tell_what_stops(self) -> None:
        """What stops the visit, and every way on."""
        self.prompt.tell_hazards()
        endings = self.session.ended_by_repair()
        mended = "and nothing mended but what ends it" if endings else "and nothing mended"
        self.prompt.say(f"Nothing is asked for {mended} while that stands. What you type is kept and weighed all the same.")
        if endings:
            self.prompt.lines(screen.ended_by_lines(endings, self.session.knowledge, self.prompt.width()))
        told = " or ".join(self.session.ways_to_say_so())
        ways = [f"when it is put right, type: {told}"] if told else []
        self.prompt.say(f"`undo` or `fix` if it was a slip; {'; '.join([*ways, '`note`, `close`, `quit`'])}.")

    def begun(self) -> str:
        """The part of a repair that was begun by putting a hazard right, which Enter offers once, before anything is read; empty where there is none."""
        part = self.session.begun() if self.session.after() is None else ""
        return "" if part in self.left_begun else part

    def _take_check(self, state: RepairState) -> None:
        """The first check that is not met, in a new heat call where it was met in this one already."""
        need = next(iter(state.missing), None)
        if need is None:
            self.prompt.say("Every check is met; `close` ends the visit." if state.proved else "A check is denied by an entry: `checks` shows which.")
            return
        running = {r.name for r in map(self.session.record, self.session.visit.checking) if r.call == self.session.visit.call}
        if need.met_by and running & names_of(self.session, need):
            self.do("call")
        self._ask_for_check(need)

    def _ask_for_check(self, need: Need) -> None:
        tell_need(self.prompt, need)
        check = self.session.knowledge.check[need.condition]
        take_lines(self, check.any_of[0], once=check.once, briefly=bool(check.take))

    def _asked_back(self, line: str) -> bool:
        """Help for a line that asks, of which nothing is kept: on a command, or as `asked_back` gives it."""
        bare = line.rstrip(" ?!.").lower()
        if bare not in COMMANDS:
            return asked_back(self.prompt, line)
        self.prompt.say(f"{bare}: {COMMANDS[bare].says}.")
        return True

    def commanded(self, line: str) -> bool:
        """Whether *line* was a command; it is done then."""
        if lacking := self.session.replies.lacks(line, self.session.evidence.words.instruments):
            self.do("without", ", ".join(dict.fromkeys([*self.session.visit.without, lacking])))
            return True
        name, rest = command_in(line, self.session.replies)
        if name:
            self.do(name, rest)
        return bool(name)

    def is_command(self, line: str) -> bool:
        """Whether *line* is one, and no record."""
        return bool(command_in(line, self.session.replies)[0] or self.session.replies.lacks(line, self.session.evidence.words.instruments))

    def offered(self, line: str) -> str:
        """The command that *line* is, where the screen of the checks after a repair offers it; else empty."""
        name = command_in(line, self.session.replies)[0]
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

    def words(self) -> Iterator[str]:
        """What Tab completes: commands, points and signs."""
        yield from COMMANDS
        k = self.session.knowledge
        yield from (name.replace("_", " ") for name in (*k.point, *k.sign, *k.event))

    def _enter(self, line: str, *, beside: bool = False) -> None:
        """A line that is no command: a record, and each danger that it tells of beside that, or where it is none. Raises BadInput.

        *beside*: another question is open, so that a value alone is of nothing and no screen follows.
        """
        line = as_read_now(self.session, self.session.replies.put_right_first(line))
        told = self.session.reader.dangers_in(line) if exactly(self.session, line) is None else []
        if not told:
            self._enter_record(line, beside=beside)
            return
        self.asked_of = set()
        try:
            self._enter_record(line, beside=beside)
        except BadInput:
            if all(d.record["sign"] in self.asked_of for d in told):
                raise
            self.prompt.say(f"Of {printable(line)} only a danger is understood:")
        for danger in told:
            if danger.record["sign"] not in self.asked_of and (meant := self.if_meant(danger)) is not None and self.keep(meant) and not beside:
                self.show_change()

    def _enter_record(self, line: str, *, beside: bool = False) -> None:
        """A record typed in one line; a name alone asks for its value, a step alone for where the call stops. Raises BadInput."""
        if not beside and FIGURE.fullmatch(line) and self.session.after() is None and asked(self.session) is None:
            raise BadInput([Problem(None, f"{printable(line)} of what?", "Enter asks for what is wanted; or type the name before the figure.")])
        if not beside and mended_already(self, line):
            return
        if len(repairs_in(self.session, line)) > 1 and self.kept_in_pieces(line, quiet=beside):
            return
        read: Typed | Unclear | None = for_what_stops(self.prompt, line) or (None if beside else for_open_check(self.prompt, line))
        read = read or (None if beside else for_what_is_asked_there(self.prompt, line))
        read = read or exactly(self.session, line) or (None if beside else for_what_is_asked(self.prompt, line))
        if read is None and self._says_it_works(line):
            return
        if read is None and (of_new := read_of_new(self.session, line)) is not None:
            part, read = of_new
            proving = self.session.visit.proving
            if proving is None or proving.part != part:
                self.prompt.say(f"Nothing kept of {printable(line)}: of the part that was there it tells nothing.")
                self.prompt.say(f"`mend {part.replace('_', ' ')}` tells that it was changed, and asks for what is read then.")
                return
            self.prompt.say_read_as(self.session.replies.without_new(line))
        if read is None:
            try:
                read = as_it_stands(self.session, line)
                if isinstance(read, Typed) and read.weakly and self._is_danger(read) and self.taken_in_part(line, quiet=beside):
                    return  # the danger, and what else the line tells
            except BadInput:
                if plain(line) in SAYS_NO | SAYS_YES:
                    raise BadInput([Problem(None, f"{printable(line)} to what?", "Enter asks for what is wanted; or type a name before it.")]) from None
                if self.kept_in_pieces(line, quiet=beside) or self.taken_in_part(line, quiet=beside):
                    return
                alone = self.session.reader.by_its_unit(line) or (None if beside else self.session.reader.alone(line))
                if alone is None and not says_with_slips(self.session, line) and self._ask_for_named(line, quiet=beside):
                    return
                read = alone or read_line(self.prompt, line)
            read = (None if beside else named_on_screen(self.prompt, line, read)) or read
        chosen = self.chosen(or_asked(self.session, read))
        if chosen is not None and not beside:
            chosen = at_step_asked(self.session, chosen)
            if isinstance(read, Unclear) and (note := chosen.record.get("note")):
                self.prompt.say_remarked(str(note))
        if chosen is not None and "history" in chosen.record and not beside and done_already(self, self.session.record_typed(chosen.record)):
            return
        if chosen is not None and (kept := self.keep(of_another_call(self.prompt, chosen))) and not beside:
            hinted = tell_if_not_counted(self.prompt, kept)
            self.show_change(hinted=hinted)

    def _says_it_works(self, line: str) -> bool:
        """Whether a line says of a repair that is done or being proved that all works, which is for its checks to show; told so."""
        if not (self.mending or self.session.visit.proving) or plain(line).removeprefix("it ") not in map(plain, self.session.evidence.words.claims.no_record):
            return False
        self.prompt.say(f"Nothing kept of {printable(line)}: the checks after the repair show that.", "`checks` lists them, Enter asks for the next.")
        return True

    def aside(self, line: str, keys: str) -> None:
        """What is typed where one of *keys* was asked for: a command, a record of its own, or a slip."""
        if self.commanded(line):
            return
        try:
            self._enter(line, beside=True)
        except BadInput as bad:
            if step := step_told(self.session, line):
                self.prompt.say(f"{step} What the call does before that is asked in its place.")
            else:
                self.prompt.tell_problems(bad if len(line.split()) > 1 else none_of(line, keys))

    def kept_in_pieces(self, line: str, *, quiet: bool) -> bool:
        """Whether *line* told several things, each of them a plain record; they are kept then, as if each had a line of its own."""
        told, since = once_each(in_pieces(self.session, line)), self.session.last_event()
        each = sorted(one_value_each(self.session, told), key=lambda one: isinstance(one, Unclear))  # what is plain is kept before anything is asked
        sure = self._understood(each) if any(isinstance(one, Typed) and one.weakly for one in each) else each
        with self.session.of_one_line(since):
            kept = [self._taken(one) for one in sure]
        for typed in told:
            if note := typed.record.get("note"):
                self.prompt.say_remarked(str(note))
        if any(kept) and not quiet:
            self.show_change()
        return bool(each)

    def taken_in_part(self, line: str, *, quiet: bool) -> bool:
        """Whether *line* told several things, of which some are understood by themselves; those are taken as lines of their own, and the rest is told.

        A rest may take back what stands beside it ("runs, only when tapped"), and so may what could be several things ("no 120 at the plug, no call"): beside
        either nothing but a danger is kept before somebody says so.
        """
        said, rest = ([], []) if says_with_slips(self.session, line) else piece_by_piece(self.session, line, partial(for_what_is_asked, self.prompt))
        each_meant = once_each(for_a_check(self.prompt, each) or of_what_is_asked(self.prompt, each) or each for each in said)
        said = of_the_same_thing(each_meant, self.session.vocabulary.words.loads)
        said = one_value_each(self.session, said)
        if not said:
            return False
        since = self.session.last_event()
        with self.session.of_one_line(since):
            kept = [self._taken(each) for each in said if self._is_danger(each)]
        said = [each for each in said if not self._is_danger(each)]
        if rest:
            self.prompt.say(f"Not understood, and not taken: {printable('; '.join(rest))}.")
        if said and (rest or any(isinstance(each, Unclear) or each.weakly for each in said)):
            said = self._understood(said)
        with self.session.of_one_line(since):
            kept += [self._taken(each) for each in said]
        if any(kept) and not quiet:
            self.show_change()
        return True

    def _understood(self, said: list[Typed | Unclear]) -> list[Typed | Unclear]:
        """What was understood of a line, where somebody says yes to it. A line that is typed instead is heard, and the question put again of what that line
        did not tell anew: only an answer drops anything, or what begins a call or a repair, of which it would not be."""
        while said:
            visit = self.session.visit
            told = printable("; ".join(" or ".join(told_back(self.prompt, each)) for each in said), MOST_UNDERSTOOD)  # all of it: a yes keeps it
            self.prompt.say(f"Understood: {told}.")
            answer = self.prompt.ask("y keep what was, Enter do not: ", "y: what was understood is kept. Enter: nothing of it is.")
            if plain(answer) in YES:
                return [replace(each, weakly=False) if isinstance(each, Typed) else each for each in said]  # it was told, and meant
            if not answer or plain(answer) in SAYS_NO | DROPPED:
                self.prompt.say("Nothing kept of that.")
                return []
            self.guarded(lambda line=answer: self.aside(line, "y, Enter"))  # type: ignore[misc]
            if (self.session.visit.call, len(self.session.visit.repairs)) != (visit.call, len(visit.repairs)):
                self.prompt.say(f"Not kept, for it was before that: {told}. If it was so, type it with its call.")
                return []
            anew = {named_in(Typed(dict(e.record))) for e in self.session.visit.entries if e.number > visit.typed}
            said = [each for each in said if anew.isdisjoint(map(named_in, (each,) if isinstance(each, Typed) else each.choices))]
        return []

    def _taken(self, read: Typed | Unclear) -> Record | None:
        """What was kept of a piece of a line, asked about as a line of its own would be."""
        chosen = self.chosen(read)
        if chosen is not None and "history" in chosen.record and done_already(self, self.session.record_typed(chosen.record)):
            return None
        return self.keep(of_another_call(self.prompt, chosen)) if chosen is not None else None

    def _is_danger(self, read: Typed | Unclear) -> bool:
        """Whether a line tells of a danger and of nothing else."""
        return isinstance(read, Typed) and "sign" in read.record and is_danger(self.prompt, self.session.record_typed(read.record))

    def _ask_for_named(self, line: str, *, quiet: bool) -> bool:
        """Whether *line* was a name and no more: its value is asked for then."""
        named = name_with_slips(self.session, line)
        stops = self.session.evidence.sign_of_stopping
        if named is None and not quiet and stops is not None and (step := step_told(self.session, line)):
            self.prompt.say(f"{step} How far does the call get before that?")
            named = ("sign", stops)
        if named is not None:
            ask_for(self, *named, {}, quiet=quiet)
        return named is not None

    def chosen(self, typed: Typed | Unclear) -> Typed | None:
        """The one that is meant, asked for where it is not clear."""
        if isinstance(typed, Typed):
            return self.if_meant(typed) if typed.weakly else typed
        self.asked_of |= {t.record.get("sign") for t in typed.choices}
        picked = which_of(self.prompt, typed)
        if isinstance(picked, Typed):
            return picked
        if picked and not self.commanded(picked):
            self._enter(picked)  # what is typed instead of a number is a line of its own
        danger = None if picked else next(filter(self._is_danger, typed.choices), None)
        return self.if_meant(danger) if danger is not None else None  # that no Enter drops

    def if_meant(self, typed: Typed) -> Typed | None:
        """A record of which little was said, once somebody says that it was meant."""
        self.asked_of.add(typed.record.get("sign"))
        return self._unless_instead(meant_so(self.prompt, typed))

    def keep(self, typed: Typed, *, instead_of: int | None = None, question: str | None = None, as_asked: bool = False) -> Record | None:
        """Keep a record, asking once about what makes no sense; what was kept. *question*: of the start, that it answers.

        *as_asked*: it was told how to take it. What was so in several calls is kept as a record of each.
        """
        self.asked_of.add(typed.record.get("sign"))
        if typed.calls > 1 and instead_of is None:
            with self.session.of_one_line(self.session.last_event()):
                kept_each = [self.keep(one, question=question) for one in one_each_call(self.session, typed)]
            return next((k for k in reversed(kept_each) if k is not None), None)
        return self._unless_instead(keep_one(self.prompt, typed, instead_of=instead_of, question=question, shown=self.shown, as_asked=as_asked))

    def _unless_instead(self, got: T | Instead | None) -> T | None:
        """What was got; a line that was typed instead of an answer is heard, and nothing was got."""
        if isinstance(got, Instead):
            self.aside(got.line, got.keys)
            return None
        return got

    def never_there(self, name: str, step: object) -> None:
        """The furnace never comes to where that could be read: where it stops instead tells more than the reading would. Of a time that may never
        come, that is another thing, and it is asked which."""
        if (sign := never_of(self.session, name)) is not None and not self._call_stops_before(sign, step):
            return
        stops = self.session.evidence.sign_of_stopping
        if name == stops:
            self.prompt.say(f"Where nothing stops it, say {self.session.vocabulary.sequence.order[-1].replace('_', ' ')}.")
            return
        self.session.tell("never", {"name": name, "step": step, "nothing_there": True})
        told = {(self.session.record(e).name, self.session.record(e).call) for e in self.session.visit.telling}
        if stops is None or (stops, self.session.visit.call) in told or not ask_for(self, "sign", stops, {}):
            self.show_change()

    def _call_stops_before(self, never: Typed, step: object) -> bool:
        """Whether a call does not get to *step*, where a never may be of the thing itself too; that is kept, if it was meant."""
        self.prompt.say(f"1. {as_words(as_choice(never))}", f"2. the call never gets to {str(step).replace('_', ' ')}")
        said = self.prompt.ask("Which number? (Enter: none) ", "1: it gets there, and what is timed does not come. 2: it stops before. Enter: nothing is kept.")
        if said == "1" and self.keep(never):
            self.show_change()
        elif said not in ("1", "2"):
            self._unless_instead(dropped(self.prompt, said, "1, 2, Enter"))
        return said == "2"

    def cannot(self, name: str, step: object) -> None:
        self.session.tell("never", {"name": name, "step": step})
        self.prompt.say(f"{name.replace('_', ' ')} is not asked for again.")
        self.show_change()

    def go_on_with_start(self, but: Collection[str] = ()) -> None:
        """The questions of the start that are open again, or were cut short by a hazard that is gone now. *but*: those that are left alone."""
        if not self.starting and self.session.visit.proving is None:
            self.starting = True
            visit_start.questions(self, but)
            self.starting = False

    def show_change(self, *, in_full: bool = False, stops_in_full: bool = False, hinted: str = "") -> None:
        """The screen after an entry, with what moved. *in_full*: all of it, and what stops the visit too, though it was told; *stops_in_full*: that alone.
        *hinted*: the entry of which it was just told what it lacks. Once what stopped the visit stops it no more, the start goes on first."""
        self.screens += 1
        if self.cut_short and not self.session.hazards():
            self.cut_short = False
            self.go_on_with_start()
        self.cut_short = bool(self.session.hazards())
        answer, after = self.session.answer(), self.session.after()
        self.prompt.tell_hazards(briefly=not (in_full or stops_in_full))
        if after is not None:
            self.prompt.lines(screen.proving_lines(after, self.prompt.width(), stopped=bool(self.prompt.stopped_by)))
        else:
            lacking = {n.name: first for n in answer.next if (first := self.session.lacking_before(n.name))}
            if answer.act is not None and answer.act.check is not None:
                lacking[answer.act.check.name] = self.session.lacking_before(answer.act.check.name)
            told, width = self.prompt.cautioned, self.prompt.width()
            self.prompt.lines(screen.screen_lines(answer, self.shown, told, width, lacking, self.begun(), whole=in_full, hinted=hinted, above=self.prompt.said))
        self.shown = answer
