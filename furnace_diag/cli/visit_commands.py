"""The commands of a visit's prompt: each takes the desk and what stands after its word."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from furnace_diag.cli import visit_repair, visit_start
from furnace_diag.cli.common import instruments, progress_of
from furnace_diag.cli.visit_asked import asked
from furnace_diag.cli.visit_counts import tell_if_not_counted
from furnace_diag.cli.visit_line import exactly, read_line
from furnace_diag.cli.visit_sure import YES
from furnace_diag.cli.visit_values import first_missing
from furnace_diag.diagnosis.entries import METERS
from furnace_diag.knowledge.find import Names
from furnace_diag.knowledge.models import Event, Point
from furnace_diag.knowledge.spelling import plain
from furnace_diag.problems import BadInput, Problem, printable
from furnace_diag.report import visit_screen as screen
from furnace_diag.report.terminal import BOARD_SAYS
from furnace_diag.report.visit_words import as_words, event_in_words, filled, record_in_words
from furnace_diag.visit.replies import Replies
from furnace_diag.visit.state import Entry
from furnace_diag.visit.typed import Typed, Unclear, named_in

if TYPE_CHECKING:
    from furnace_diag.cli.visit_desk import Desk
    from furnace_diag.visit.journal import Event as Told

KEYS = {"?": "help", "h": "help", "u": "undo", "l": "list", "t": "click", "k": "call", "p": "proof", "q": "quit"}  # single keys that stand for a command
TAKE_HELP = "y: what was worked out is kept as a reading. Enter: it is not."
WANTED_MOST = frozenset(["why", "find", "list", "undo", "skip", "never", "call", "proof", "mend", "close", "quit"])  # commands that `help` tells of
MOST_FOUND = 12  # entries that a search shows


def show(desk: Desk, rest: str) -> None:
    """The screen of the visit."""
    answer = desk.session.answer()
    if plain(rest) == "all":
        from furnace_diag.report.terminal import answer_lines

        desk.prompt.lines(answer_lines(answer, desk.session.knowledge, desk.prompt.width(), show_all=True))
        return
    desk.shown = None
    desk.show_change(in_full=True)


def help(desk: Desk, rest: str) -> None:
    """The commands that are wanted most, or all of them; and what to do next."""
    desk.prompt.say("Type a name and its value, such as")
    desk.prompt.lines(["  24v at w 25.1", "  heat terminal 0.2 low pin", "  inducer runs no at call"])
    keys = {name: key for key, name in KEYS.items() if key != "?"}
    told = [name for name in COMMANDS if name in WANTED_MOST or plain(rest) == "all"]
    for name in told:
        desk.prompt.lines(filled(COMMANDS[name].says, desk.prompt.width(), " " * 10, f"{keys.get(name, ' ')} {name:<8}"))
    if others := ", ".join(name for name in COMMANDS if name not in told):
        desk.prompt.say(f"And {others}: `help all` tells of each, `if?` of one.")
    if desk.shown is not None:  # the questions of the start are over
        _tell_next(desk)


def steps(desk: Desk, rest: str) -> None:
    """The steps in which readings are taken: those of a heat call, and the others where all are asked for or fit as well."""
    sequence, width = desk.session.vocabulary.sequence, desk.prompt.width()
    whole = [*screen.step_lines(sequence, width, whole=True)]
    desk.prompt.lines(whole if plain(rest) == "all" or len(whole) <= screen.LINES_OF_CHECKLIST else screen.step_lines(sequence, width, whole=False))


def why(desk: Desk, rest: str) -> None:
    """The entries for and against a suspect."""
    answer = desk.session.answer()
    parts = {p.part: desk.session.knowledge.part[p.part].also_called for p in answer.parts}
    names = desk.session.vocabulary.names("history")
    meant = [m.partition(":")[0] for m in names.meant(rest)] if rest else [answer.parts[0].part]
    meant = list(dict.fromkeys(meant)) or [p for p in parts if plain(p).startswith(plain(rest))]
    if len(meant) != 1:
        near = meant or [n.partition(":")[0] for n in names.suggested(rest)]
        fix = f"Such as: {', '.join(dict.fromkeys(near)) or answer.parts[0].part}."
        raise BadInput([Problem(None, f"There is no one part called {printable(rest)}.", fix)])
    desk.prompt.tell_hazards()
    desk.prompt.lines(screen.why_lines(answer, meant[0], desk.prompt.width()))


def suppose(desk: Desk, rest: str) -> None:
    """What would follow from a record."""
    from furnace_diag.report.terminal import side_by_side

    typed = desk.chosen(read_line(desk.prompt, rest))
    if typed is not None:
        record = desk.session.record_typed(typed.record)
        desk.prompt.lines(side_by_side(desk.session.answer(), desk.session.answer((record,)), [record.said], desk.prompt.width()))


def two(desk: Desk, _: str) -> None:
    """Pairs of failures, where no single one fits."""
    from furnace_diag.diagnosis.answer import weighed
    from furnace_diag.diagnosis.pairs import two_at_once
    from furnace_diag.report.terminal import two_lines

    report, evidence = desk.session.report(), desk.session.evidence
    desk.prompt.tell_hazards()
    found = two_at_once(report, evidence, weighed(report, evidence), progress_of("Building furnaces"))
    desk.prompt.lines(two_lines(found, desk.prompt.width()))


def find(desk: Desk, rest: str) -> None:
    """Points and signs with some words, with the numbers that points can be typed by; after "more" those that were left."""
    from furnace_diag.report.prose import matching

    numbers = {name: f"#{i}" for i, name in enumerate(desk.session.reader.vocabulary.knowledge.point, 1)}
    found = desk.left if plain(rest) == "more" and desk.left else matching(desk.session.knowledge, tuple(rest.split()))
    desk.left = found[MOST_FOUND:]
    for entry in found[:MOST_FOUND]:
        name = entry.point if isinstance(entry, Point) else entry.event if isinstance(entry, Event) else entry.sign
        desk.prompt.lines(filled(f"{as_words(name)}: {entry.says}", desk.prompt.width(), "     ", f"{numbers.get(name, ''):<5}"))
    if len(found) > MOST_FOUND:
        desk.prompt.say(f"and {len(found) - MOST_FOUND} more: `find more` shows them, or add a word")
    if not found:
        near = desk.session.reader.suggested(rest)
        nearest = f" Nearest: {as_words(', '.join(near))}." if near else ""
        desk.prompt.say(f"Nothing has all of these words.{nearest}")


def entries(desk: Desk, _: str) -> None:
    """Every entry."""
    said = {e.number: desk.session.record(e).said for e in desk.session.visit.entries}
    desk.prompt.lines(screen.entry_lines(desk.session.visit, said, desk.prompt.width()))


def undo(desk: Desk, _: str) -> None:
    """Take back the last thing, with all else that the same line told."""
    open_before = visit_start.open_now(desk)
    gone = desk.session.undo_line()
    if not gone:
        desk.prompt.say("There is nothing to take back.")
        return
    told = "; ".join(_in_words(desk, event) for event in reversed(gone))
    desk.prompt.say(f"Taken back{', all that one line told' if len(gone) > 1 else ''}: {told}.")
    _after_taking_back(desk, open_before)


def _in_words(desk: Desk, event: Told) -> str:
    record = event.says.get("record")
    return record_in_words(desk.session.record_typed(record)) if record else event_in_words(event.event, event.says)


def remove(desk: Desk, rest: str) -> None:
    """Take back one entry."""
    open_before = visit_start.open_now(desk)
    desk.session.take_back(_number(rest))
    desk.prompt.say(f"Entry {_number(rest)} taken back.")
    _after_taking_back(desk, open_before)


def _after_taking_back(desk: Desk, open_before: Collection[str]) -> None:
    """The screen, and before it what is left of the start: but for what stood open before and nobody asked, which taking back has not opened."""
    if not desk.starting:
        desk.go_on_with_start(but=open_before)
        desk.show_change()


def fix(desk: Desk, rest: str) -> None:
    """Put a record in the place of an entry."""
    number, _, line = rest.partition(" ")
    if (named := _last_of(desk, rest)) is not None:
        number, line = str(named.number), rest
    old = next((e for e in desk.session.visit.entries if e.number == _number(number)), None)
    if old is None and line.strip():
        raise BadInput([Problem(None, f"There is no entry {_number(number)} now: one that was fixed has a new number.", "`list` shows the entries.")])
    if old is None or not line.strip():
        raise BadInput([Problem(None, "Say which entry and what it should be.", "Such as: fix 7 igniter ohms 52")])
    kind = next(k for k in ("point", "sign", "event", "history", "experiment") if k in old.record)
    typed = fixed(desk, kind, str(old.record[kind]), line, old.record)
    if typed is not None and (kept := desk.keep(typed, instead_of=old.number)):
        desk.show_change(hinted=tell_if_not_counted(desk.prompt, kept))


def _last_of(desk: Desk, line: str) -> Entry | None:
    """The last entry of the thing that a whole record names, where that begins with no number: "fix inducer runs yes"."""
    typed = None if line[:1].isdigit() or line.startswith("#") else exactly(desk.session, line)
    same = [] if typed is None else [e for e in desk.session.visit.entries if named_in(Typed(e.record)) == named_in(typed)]
    return same[-1] if same else None


def fixed(desk: Desk, kind: str, name: str, line: str, old: Mapping[str, object]) -> Typed | None:
    """A new value for the same one, or the key of a question about it, or a whole record; of the same thing it is taken as the old one was, but for what
    is said anew."""
    reader = desk.session.reader
    line = next((q.keys[line.strip().lower()] for q in desk.session.knowledge.question.values() if q.sign == name and line.strip().lower() in q.keys), line)
    own = reader.only_value(kind, name, line, {}) if kind in ("point", "sign") else None
    if own is not None:
        return _as_before(own, old)
    try:
        read = read_line(desk.prompt, line)
    except BadInput:
        return _as_before(reader.value_for(kind, name, line), old)
    same = [t for t in (read.choices if isinstance(read, Unclear) else (read,)) if t.record.get(kind) == name]
    return _as_before(same[0], old) if len(same) == 1 else desk.chosen(read)


def _as_before(typed: Typed, old: Mapping[str, object]) -> Typed:
    """A record with what an *old* one of the same thing says and it does not; seconds of another step are left out."""
    said = typed.record
    elsewhere = "step" in said and "step" in old and said["step"] != old["step"]
    return replace(typed, record={**{name: value for name, value in old.items() if not (elsewhere and name == "after_s")}, **said})


def never(desk: Desk, _: str) -> None:
    """The call never comes to where what is asked for could be read."""
    reading = asked(desk.session)
    if reading is None:
        desk.prompt.say("Nothing is being asked for.")
    else:
        desk.never_there(reading.name, reading.step)


def skip(desk: Desk, rest: str) -> None:
    """A reading that cannot be had."""
    named = desk.session.reader.names_only(rest) if rest else []
    reading = asked(desk.session)
    if rest and len(named) != 1:
        raise BadInput([Problem(None, f"{printable(rest)} is no one reading.", "Type `skip` alone for the one that is asked for, or its name.")])
    if named:
        desk.cannot(named[0][1], None)
    elif reading is not None:
        desk.cannot(reading.name, reading.step)
    else:
        desk.prompt.say("Nothing is being asked for.")


def without(desk: Desk, rest: str) -> None:
    """Instruments that are not to be had."""
    named = instruments(rest, desk.session.evidence.words)
    desk.session.tell("without", {"instruments": list(named)})
    desk.prompt.say(f"Planned without: {', '.join(named)}." if named else "Planned with every instrument.")
    desk.show_change()


def mode(desk: Desk, rest: str) -> None:
    """How volts are read from now on."""
    meant = Names(METERS).meant(rest)
    if len(meant) != 1:
        raise BadInput([Problem(None, "A meter is low (its low-impedance mode) or high (ordinary).", "Type: mode low, or: mode high")])
    desk.session.tell("meter", {"meter": meant[0]})
    desk.prompt.say(f"Volts are taken as read with the meter {meant[0]} from now on.")


def call(desk: Desk, rest: str) -> None:
    """A new heat call; where its number is typed, that is the one that comes next."""
    fresh = not desk.session.visit.call_began and not desk.session.visit.telling
    number = 1 if fresh else desk.session.visit.call + 1
    if rest and int(rest) != number:
        raise BadInput([Problem(None, f"The heat call that begins next is call {number}.", "Type: call")])
    desk.session.tell("call", {"call": number})
    desk.prompt.say(f"Heat call {number} begins now. `click` when the gas valve clicks.")


def click(desk: Desk, _: str) -> None:
    """The valve clicked."""
    desk.session.tell("click", {"call": desk.session.visit.call})
    desk.prompt.say("Valve clicked now. Readings of this call at a named step get their seconds from here.")


def row(desk: Desk, rest: str) -> None:
    """Several readings of one place on one line."""
    row = desk.session.knowledge.row["supply"]
    if not rest:
        for name in row.points:
            desk.prompt.lines(filled(f"{name}: {desk.session.knowledge.point[name].says}", desk.prompt.width(), "    ", "  "))
        desk.prompt.caution(dict.fromkeys(c for name in row.points for c in desk.session.knowledge.point[name].cautions))
        rest = desk.prompt.ask("figures in this order, - for none: ", "The figures that the meter shows, with spaces between; - for one that was not read.")
    kept = [desk.keep(typed) for typed in desk.session.reader.row(row.points, rest)] if rest else []
    if any(kept):
        desk.show_change()


def assumed(desk: Desk, rest: str) -> None:
    """What was assumed, and saying what is so."""
    answer = desk.session.answer()
    if not rest:
        desk.prompt.lines(screen.furnace_lines(desk.session.visit, answer, desk.session.knowledge, desk.prompt.width()))
        _tell_next(desk)
        return
    options = desk.session.knowledge.furnace[desk.session.visit.family].options
    said = plain(rest)
    name = max((o for o in options if f"{said} ".startswith(f"{plain(o)} ")), key=len, default=rest.partition(" ")[0])
    value = said.removeprefix(plain(name))
    if name.isdigit() and 0 < int(name) <= len(answer.assumed):
        name = answer.assumed[int(name) - 1].option
    value = value.strip().replace(" ", "_")
    if name not in options:
        raise BadInput([Problem(None, f"This furnace has no option {printable(name)}.", "`assumed` alone lists them.")])
    if value not in options[name].values:
        raise BadInput([Problem(None, f"{name} cannot be {printable(value) or 'empty'}.", f"Use one of: {', '.join(options[name].values)}.")])
    desk.session.tell("option", {"option": name, "value": value})
    desk.show_change()


def proof(desk: Desk, rest: str) -> None:
    """The checklist of the board's proof; where it is longer than a page, in short, if not all of it is asked for."""
    board, width, knowledge = desk.session.answer().board, desk.prompt.width(), desk.session.knowledge
    proofs = board.proved or ((board.nearest,) if board.nearest else ())
    desk.prompt.tell_hazards()
    desk.prompt.say(BOARD_SAYS[board.verdict])
    short_calls = list(screen.short_call_lines(desk.session.short_calls(), width, knowledge))
    in_full = [*(line for each in proofs for line in screen.proof_lines(each, width, knowledge)), *short_calls]
    if board.proved or plain(rest) == "all" or len(in_full) <= screen.LINES_OF_CHECKLIST:
        desk.prompt.lines(in_full)
        desk.prompt.lines(screen.caution_lines(board.cautions, desk.prompt.cautioned, width))
        desk.prompt.lines(screen.killer_lines(board, width))
    else:
        desk.prompt.lines([*(line for each in proofs for line in screen.proof_in_short(each, width, knowledge)), *short_calls])
        desk.prompt.say("`proof all` tells how each is taken, cautions, and what kills boards.")
    if not proofs:
        desk.prompt.say("No proof is under way: belief is on other parts, or on none yet.")
    _tell_next(desk)


def _tell_next(desk: Desk) -> None:
    """What stops the visit, or what Enter takes, below a list under which the screen is gone."""
    desk.prompt.tell_hazards(briefly=True)
    if desk.session.after() is not None:
        desk.prompt.say("NEXT (Enter): the next check of the repair; `checks` lists them.")
        return
    answer = desk.session.answer()
    if answer.act is not None and answer.act.needs_proof and (near := answer.board.nearest) is not None and not (desk.session.hazards() or desk.begun()):
        need = first_missing(desk, near.missing)
        if need is not None or near.missing:
            what = desk.session.knowledge.condition[need.condition].any_of[0][0].names[0][1] if need is not None else "the same again in a new heat call"
            desk.prompt.say(f"NEXT (Enter): {what.replace('_', ' ')}.")
            return
    names = [n.name for n in (*answer.next, *([answer.act.check] if answer.act is not None and answer.act.check is not None else []))]
    lacking = {name: desk.session.lacking_before(name) for name in names}
    desk.prompt.lines(screen.enter_lines(answer, desk.prompt.width(), lacking, desk.begun()))


def calc(desk: Desk, rest: str) -> None:
    """Arithmetic, and its result as a reading if it is one."""
    from furnace_diag.furnace.calculations import calculation, evaluate, pairs
    from furnace_diag.report.arithmetic import list_lines, result_lines, wanted_lines

    name, _, inputs = rest.partition(" ")
    if not name:
        desk.prompt.lines(list_lines(desk.prompt.width()))
        return
    chosen = calculation(name)
    if not inputs.strip():
        desk.prompt.lines(wanted_lines(chosen, [desk.session.knowledge.caution[c].says for c in chosen.cautions], desk.prompt.width()))
        return
    result = evaluate(name, pairs(inputs))
    desk.prompt.lines(result_lines(result, desk.prompt.width()))
    if result.takes is None or plain(desk.prompt.ask(f"y take it as {result.takes.point.replace('_', ' ')}, Enter not: ", TAKE_HELP)) not in YES:
        return
    if desk.keep(Typed({"point": result.takes.point, "value": result.takes.value})):
        desk.show_change()


def note(desk: Desk, rest: str) -> None:
    """A note."""
    if not rest:
        raise BadInput([Problem(None, "A note says something.", "Type: note filter was black")])
    desk.session.tell("note", {"text": printable(rest, 2000)})
    desk.prompt.say("Noted.")
    for danger in desk.session.reader.dangers_in(rest):  # a note stops nothing, and a danger must
        if (meant := desk.if_meant(danger)) is not None and desk.keep(meant):
            desk.show_change()


def quit(desk: Desk, _: str) -> None:
    """Leave."""
    desk.leave()


def _number(text: str) -> int:
    if not text.strip().lstrip("#").isdigit():
        raise BadInput([Problem(None, f"{printable(text) or 'Nothing'} is no entry number.", "`list` shows them.")])
    return int(text.strip().lstrip("#"))


@dataclass(frozen=True)
class Command:
    """What a word does, in a few words. *alone*: with more words after it, a line is no command but a record; *more*: except "all", which tells more."""

    act: Callable[[Desk, str], None]
    says: str
    alone: bool = False
    more: bool = False


COMMANDS: dict[str, Command] = {
    "help": Command(help, "the commands wanted most; `help all` tells of each"),
    "show": Command(show, "the whole screen again; `show all` tells everything"),
    "steps": Command(steps, "the steps of a heat call, and what is seen of each; `steps all` has the others", alone=True, more=True),
    "why": Command(why, "why PART: the entries for and against it"),
    "if": Command(suppose, "if RECORD: what would follow, nothing is kept"),
    "two": Command(two, "weigh pairs of failures, when no single one fits", alone=True),
    "find": Command(find, "find WORDS: points and signs with those words; find more"),
    "list": Command(entries, "every entry with its number", alone=True),
    "undo": Command(undo, "take back the last thing", alone=True),
    "remove": Command(remove, "remove NUMBER: take back that entry"),
    "fix": Command(fix, "fix NUMBER RECORD: put a better one in its place"),
    "never": Command(never, "the call never gets to what Enter asks for", alone=True),
    "skip": Command(skip, "skip [NAME]: what Enter asks for, or that, cannot be had"),
    "without": Command(without, "without TOOLS: plan without a manometer, clamp, ..."),
    "mode": Command(mode, "mode low|high: how your meter reads volts from now on"),
    "call": Command(call, "a new heat call begins now", alone=True),
    "click": Command(click, "the gas valve clicked now: times fill themselves", alone=True),
    "row": Command(row, "row FIGURES: the supply readings in a row"),
    "assumed": Command(assumed, "what was assumed of this furnace; assumed NAME VALUE"),
    "proof": Command(proof, "what a bad board's proof has and lacks; `proof all` tells how", alone=True, more=True),
    "calc": Command(calc, "calc NAME INPUT=VALUE: rise, gas, capacitor, ..."),
    "mend": Command(visit_repair.mend, "mend [PART]: how it is put right, and the checks after it"),
    "checks": Command(visit_repair.checks, "the checks after the repair", alone=True),
    "same": Command(visit_repair.same, "the fault is still there after the repair", alone=True),
    "close": Command(visit_repair.close, "end the visit: proved, or not proved and why", alone=True),
    "note": Command(note, "note TEXT"),
    "quit": Command(quit, "leave; `visit --resume` goes on from here", alone=True),
}


def command_in(line: str, replies: Replies) -> tuple[str, str]:
    """The command that *line* is, by its word or as it asks for it, and what stands after the word; nothing where it is none."""
    if (numbered := re.fullmatch(r"(?:heat )?call (\d{1,2})", line.strip(), re.IGNORECASE)) is not None:
        return "call", numbered[1]
    word, _, rest = line.partition(" ")
    name = KEYS.get(word, word.lower()) if not rest.strip() else word.lower()
    command = COMMANDS.get(name)
    if command is not None and (not rest.strip() or not command.alone or (command.more and plain(rest) == "all")):
        return name, rest.strip()
    return ("steps" if replies.asks_for_steps(line) else "", "")
