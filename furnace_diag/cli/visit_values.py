"""Asking for one value at the prompt of a visit: how it is taken, what it should be, the meter, and when it was read."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from furnace_diag.cli.common import SAYS_NO, SAYS_YES
from furnace_diag.cli.visit_answer import never_comes, only_value
from furnace_diag.cli.visit_asked import as_wanted, told_as_wanted
from furnace_diag.cli.visit_help import help_with
from furnace_diag.cli.visit_line import exactly, read_line, step_told
from furnace_diag.cli.visit_prompt import LONGEST_PROMPT, Leave
from furnace_diag.cli.visit_sure import with_seconds
from furnace_diag.diagnosis.entries import METERS
from furnace_diag.diagnosis.findings import Need
from furnace_diag.diagnosis.taking import CONTACT, HOLD, METER, SET_UP, asked_in_short, asked_in_words, when
from furnace_diag.knowledge.find import Names
from furnace_diag.knowledge.finding_models import Wanted
from furnace_diag.knowledge.models import Experiment, Sign
from furnace_diag.knowledge.spelling import plain
from furnace_diag.problems import BadInput, printable
from furnace_diag.report import visit_screen as screen
from furnace_diag.report.visit_words import as_words
from furnace_diag.visit.complaint import pieces_of
from furnace_diag.visit.typed import Typed

if TYPE_CHECKING:
    from furnace_diag.cli.visit_desk import Desk

VALUE = "value"  # what is meant where a word is a command as well
METER_KEYS = {"l": "low", "o": "high"}
METER_ASKED = "l low-impedance, o ordinary"
METER_HELP = "l: it has a low-impedance mode, and that is on. o: an ordinary meter, of many megohms, which shows ghost volts too. Enter: not said."
LEAST_NUMBERED = 3  # values
LEAST_OF_SENTENCE = 5  # words of a line that is more than a value with how it was taken
NO_VALUE = (
    "That tells of something else, and nothing of it is kept. `note` and the same words keep it; Enter leaves this, and what you found is a line of its own."
)


def take_lines(desk: Desk, lines: Iterable[Wanted], *, once: bool = False, quiet: bool = False, briefly: bool = False) -> bool:
    """Ask for each line of a condition or check, but for what was told already, until a hazard stops it; whether all were told.

    *once*: in any call it counts. *quiet*: without the screen after the last. *briefly*: by name alone, because it was told already what to do.
    """
    asked = [w for w in lines if w.names[0][0] in ("point", "sign")]
    left = [w for w in asked if not told_as_wanted(desk.session, w, once=once)] or asked
    k, in_words = desk.session.knowledge, asked_in_short if briefly else asked_in_words
    return all(
        ask_for(desk, *w.names[0], as_wanted(w), told=in_words(w, k), timed=when(w, k), quiet=quiet or w is not left[-1]) and not desk.session.hazards()
        for w in left
    )


def take_missing(desk: Desk, missing: Iterable[Need]) -> None:
    """The first lines of a proof that are not met, asked for as the proof needs them."""
    lacks = list(missing)
    need = first_missing(desk, lacks)
    if need is not None:
        condition = desk.session.knowledge.condition[need.condition]
        desk.prompt.say(f"For the proof: {as_words(condition.take or need.says)}{'' if condition.take else '.'}")
        take_lines(desk, condition.any_of[0], once=condition.once, briefly=bool(condition.take))
    elif lacks:
        desk.prompt.lines(screen.short_call_lines(desk.session.short_calls(), desk.prompt.width(), desk.session.knowledge))
        desk.prompt.say(f"The same again in a new heat call ({lacks[0].calls_left} more): `call` as it begins.")
    else:
        desk.prompt.say("The proof lacks no reading, but an entry speaks against it: `proof` shows which, `fix` corrects a slip.")


def first_missing(desk: Desk, lacks: Sequence[Need]) -> Need | None:
    """What of a proof Enter asks for; None where only the same again in another call is left, or nothing."""
    return next((n for n in lacks if not n.met_by), None) or next((n for n in lacks if not told_in_this_call(desk, n)), None)


def told_in_this_call(desk: Desk, need: Need) -> bool:
    """Whether what Enter asks for to meet a condition was told of the running call, however it turned out."""
    told = {(r.name, r.call) for r in map(desk.session.record, desk.session.visit.telling)}
    way = desk.session.knowledge.condition[need.condition].any_of[0]
    return all(any((name, desk.session.visit.call) in told for _, name in w.names) for w in way)


def ask_for(
    desk: Desk, kind: str, name: str, fields: dict[str, object], *, told: str = "", timed: str = "", quiet: bool = False, given: str = ""
) -> bool:
    """Ask for the value of one point or sign, its cautions first; whether something was kept.

    *timed*: how long after its step began it is wanted, in words. *quiet*: without the screen after it, unless it stops the visit.
    *given*: a value that was typed already.
    """
    k = desk.session.knowledge
    entry = k.point[name] if kind == "point" else k.sign[name]
    desk.prompt.say(as_words(told) or f"{entry.says}{f'. {entry.where}' if entry.where else ''}")
    if isinstance(entry, Experiment):  # something is changed: nothing of what to mind is cut short
        desk.prompt.lines(screen.needs_lines(entry.needs, desk.prompt.width()))
        desk.prompt.lines(screen.caution_lines((k.caution[c].says for c in entry.cautions), set(), desk.prompt.width()))
    else:
        desk.prompt.caution(entry.cautions)
    asked_as = _in_words(fields)
    if asked_as:
        desk.prompt.say(f"Taken as read {asked_as}; say so if it was not.")
        desk.prompt.tell_way_to(fields.get("step"))
    prompt = _prompt(desk, kind, name)
    while said := given or desk.prompt.ask(prompt, lambda: help_with(desk.prompt, kind, name, fields)):
        given = ""
        said = _by_number(desk, kind, name, said)
        if plain(said) == "never":
            desk.never_there(name, fields.get("step"))
            return False
        if desk.session.replies.says_cannot(said):
            desk.cannot(name, fields.get("step"))
            return False
        is_value = _is_value(desk, kind, name, said, fields)  # "call" is a command, and a step that a call stops at
        if is_value and (command := desk.offered(said)):
            means = _value_or_command(desk, name, said, command)
            if not means:
                continue
            is_value = means == VALUE
        if not is_value and desk.commanded(said):
            return False
        if not is_value and (danger := _danger_in(desk, said)) is not None:
            if (meant := desk.if_meant(danger)) is not None and desk.keep(meant) is not None:
                desk.show_change()
                return True
            continue
        try:
            typed = never_comes(desk.session, name, said) or _value(desk, kind, name, said, fields)
            own = typed.record.get(kind) == name
            kept = desk.keep(with_seconds(desk.prompt, typed) if timed and own else typed, as_asked=own)
        except BadInput as bad:
            if desk.kept_in_pieces(said, quiet=quiet):
                return True
            several = _several_things(desk, kind, name, said, fields)
            if several and several != said and desk.kept_in_pieces(several, quiet=quiet):
                return True
            if step := _of_a_step(desk, name, said):
                desk.prompt.say(step)
            elif (several or _is_sentence(said)) and desk.taken_in_part(several or said, quiet=quiet):
                return True
            elif _is_sentence(said):
                desk.prompt.say(NO_VALUE)
            elif kind == "sign" and plain(said) in SAYS_YES | SAYS_NO and (values := _numbered(desk, name)):
                desk.prompt.say(f"{printable(said)} says not which: {_values_in_words(desk.session.knowledge.sign[name], values)}. Type its number, or Enter.")
            else:
                desk.prompt.tell_problems(bad)
                desk.prompt.say("Type it again, ? for help with it, or Enter to leave it.")
            continue
        if kept is not None and (not quiet or desk.session.hazards()):
            desk.show_change()
        return kept is not None
    return False


def _numbered(desk: Desk, sign: str) -> tuple[str, ...]:
    """The values of a sign that are told by their number as well: of one that no yes, no or figure answers."""
    entry, value_of = desk.session.knowledge.sign[sign], desk.session.reader.value_of
    by_word = entry.figures is not None or bool(entry.value_says) or any(value_of(sign, word) for word in ("yes", "no", "1", "2"))
    return () if by_word or len(entry.values) < LEAST_NUMBERED else tuple(entry.values)


def _by_number(desk: Desk, kind: str, name: str, said: str) -> str:
    """The value whose number on the screen was typed; anything else as it is."""
    values = _numbered(desk, name) if kind == "sign" and said.isdigit() else ()
    return values[int(said) - 1].replace("_", " ") if values and 0 < int(said) <= len(values) else said


def _is_sentence(said: str) -> bool:
    """Whether a line is neither a value nor a slip of one: somebody tells of something else."""
    return len(plain(said).split()) >= LEAST_OF_SENTENCE and not any(c.isdigit() for c in said)


def _several_things(desk: Desk, kind: str, name: str, said: str, fields: Mapping[str, object]) -> str:
    """A line that tells of several things, the first of which may be the value alone: that with its name and step before it. Empty of any other line."""
    first, *others = pieces_of(said) or [said]
    if not others or not all(any(c.isalpha() for c in piece) for piece in others):
        return ""
    if not _is_value(desk, kind, name, first, fields):
        return said
    at = f" at {str(fields['step']).replace('_', ' ')}" if "step" in fields else ""
    return ", ".join([f"{name.replace('_', ' ')} {first}{at}", *others])


def _danger_in(desk: Desk, said: str) -> Typed | None:
    """The danger that a line tells of which is no record by itself; None where it tells of none."""
    dangers = desk.session.reader.dangers_in(said) if exactly(desk.session, said) is None else []
    return dangers[0] if dangers else None


def _value_or_command(desk: Desk, sign: str, said: str, command: str) -> str:
    """Whether a value of a sign is meant or a command that the screen offers; asked where the value's own name has that word. Empty: neither."""
    value = desk.session.reader.value_of(sign, said) or _own_value(desk, sign, said)
    if command not in plain(value).split():
        return command
    desk.prompt.say(f"1. {as_words(sign)}: {as_words(value)}", f"2. {desk.says_of(command)}")
    meant = desk.prompt.ask("Which number? (Enter: none) ", f"1: the value is kept. 2: {desk.says_of(command)}. Enter: neither.")
    return {"1": VALUE, "2": command}.get(meant, "")


def _prompt(desk: Desk, kind: str, name: str) -> str:
    """What stands before the value; what does not fit there is said first, because a terminal cuts it off where it is typed."""
    k = desk.session.knowledge
    if kind == "sign" and k.sign[name].value_says:
        desk.prompt.lines(screen.value_lines(k.sign[name], desk.prompt.width()))
        return ": "
    unit = k.point[name].unit if kind == "point" else _values_in_words(k.sign[name], _numbered(desk, name))
    prompt = f"{name.replace('_', ' ')} [{unit}]: "
    if len(prompt) <= LONGEST_PROMPT:
        return prompt
    desk.prompt.say(f"[{unit}]")
    return ": "


def _of_a_step(desk: Desk, name: str, said: str) -> str:
    """What a step is that was named where a call is said to stop, and cannot stop for good."""
    step = step_told(desk.session, said) if name == desk.session.evidence.sign_of_stopping else ""
    return f"{step} Say how far the call gets before that." if step else ""


def _value(desk: Desk, kind: str, name: str, said: str, fields: Mapping[str, object]) -> Typed:
    """What was typed where a value was asked for: that value, taken as *fields* say, or another record altogether."""
    typed = desk.session.reader.value_for(kind, name, said)
    typed = replace(typed, record={**fields, **typed.record})
    try:
        desk.session.record_typed(typed.record)
        return typed
    except BadInput:
        pass
    if kind == "sign" and (own := _own_value(desk, name, said)):
        return Typed({**fields, kind: name, "value": own})
    value = only_value(desk.prompt, kind, name, said, fields) or exactly(desk.session, said) or only_value(desk.prompt, kind, name, said, fields, loosely=True)
    if value is not None:
        return _as_asked(value, kind, name, fields)
    try:
        other = read_line(desk.prompt, said) if len(said.split()) > 1 else typed
    except BadInput:
        return typed
    # a guessed name counts where its words were two or more and one point's alone ("prim v 123"): one word and a figure may be this value with a slip
    plain_name = isinstance(other, Typed) and (not other.guessed or ("point" in other.record and len(said.split()) > 2 and not other.weakly))
    return _as_asked(other, kind, name, fields) if isinstance(other, Typed) and plain_name else typed


def _as_asked(typed: Typed, kind: str, name: str, fields: Mapping[str, object]) -> Typed:
    """What was typed, taken as *fields* say where it is of what was asked for and does not say itself how it was taken."""
    return replace(typed, record={**fields, **typed.record}) if typed.record.get(kind) == name else typed


def _own_value(desk: Desk, sign: str, said: str) -> str:
    """The value of a sign that is asked for, where what was typed could be an earlier repair as well; else empty."""
    reader = desk.session.reader
    return next(filter(None, (reader.own_value(sign, text) for text in (said, *reader.in_other_words("sign", sign, said)))), "")


def _is_value(desk: Desk, kind: str, name: str, said: str, fields: Mapping[str, object]) -> bool:
    """Whether what was typed is nothing but a value of what is asked for."""
    reader = desk.session.reader
    return reader.only_value(kind, name, said, fields) is not None or (kind == "sign" and bool(reader.own_value(name, said)))


def ask_meter(desk: Desk, kind: str, name: str) -> tuple[str, str]:
    """Once a visit, before the first volts: how the meter stands.

    The value itself, where that was typed first, and then what is neither, to be heard after it.
    """
    volts = kind == "point" and desk.session.knowledge.point[name].function == "ac_volts"
    if not volts or desk.session.visit.meter is not None:
        return "", ""
    value = ""
    asks = "does your meter read volts in its low-impedance mode (l), or is it an ordinary one (o)?"
    desk.prompt.say(f"First, once: {asks}")
    while not desk.session.hazards() and (said := _said_of_meter(desk, leaves=bool(value))):
        meant = [METER_KEYS[said.lower()]] if said.lower() in METER_KEYS else Names(METERS).meant(said)
        if len(meant) == 1:
            desk.do("mode", meant[0])
            return value, ""
        if desk.session.reader.only_value(kind, name, said, {}) is not None:
            value = said
            desk.prompt.say(f"{printable(said)} is taken for the reading. But first: {asks}")
        elif value:
            return value, said
        else:
            desk.aside(said, METER_ASKED)
            desk.prompt.say(f"Still asked: {asks}")
    return value, ""


def _said_of_meter(desk: Desk, *, leaves: bool) -> str:
    """What is typed where the meter is asked for. *leaves*: the end of what is typed is told as a command, so that a value that waits is kept before it."""
    try:
        return desk.prompt.key("Your meter (l, o, Enter not said): ", METER_KEYS, METER_HELP)
    except Leave:
        if leaves:
            return "quit"
        raise


def _values_in_words(sign: Sign, numbered: Sequence[str] = ()) -> str:
    """What a sign can be, *numbered* or not, and the unit of a figure that would tell it too."""
    values = " | ".join(f"{numbered.index(v) + 1} {v}".replace("_", " ") if numbered else v.replace("_", " ") for v in sign.values)
    return f"{values}, or {sign.figures.unit}" if sign.figures else values


def _in_words(fields: dict[str, object]) -> str:
    told = [f"at {str(fields['step']).replace('_', ' ')}"] if "step" in fields else []
    told += [table[str(fields[name])] for name, table in (("meter", METER), ("contact", CONTACT), ("hold", HOLD)) if name in fields]
    told += [SET_UP[str(s)] for s in fields.get("set_up", [])]  # type: ignore[attr-defined]
    return ", ".join(told)
