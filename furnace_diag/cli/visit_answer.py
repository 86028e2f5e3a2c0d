"""A line typed at the prompt of a visit, taken as an answer to what is asked: a value alone, or the one of several that the screen names."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace

from furnace_diag.cli.common import SAYS_NO, SAYS_YES
from furnace_diag.cli.visit_asked import as_wanted, asked_in, fields_of, kind_of, names_of, told_as_wanted
from furnace_diag.cli.visit_line import exactly
from furnace_diag.cli.visit_prompt import Prompt
from furnace_diag.cli.visit_sure import with_seconds
from furnace_diag.diagnosis.choice import NextReading
from furnace_diag.diagnosis.findings import Need
from furnace_diag.diagnosis.taking import is_timed
from furnace_diag.diagnosis.verdict import BOARD
from furnace_diag.knowledge.spelling import plain
from furnace_diag.problems import BadInput, printable
from furnace_diag.visit.answers import BESIDE
from furnace_diag.visit.session import Session
from furnace_diag.visit.typed import Typed, Unclear, one_of

PIN = "pin"  # of the board, where a line names it
IN_PLACE = re.compile(r"_(?:in|on|at)_")  # in the id of a sign, between a thing and where it is looked for


def only_value(prompt: Prompt, kind: str, name: str, said: str, fields: Mapping[str, object], *, loosely: bool = False) -> Typed | None:
    """What is nothing but a value of that point or sign, with slips of the keys mended and told; None where it is anything else.

    *loosely*: with words round the value that say no more.
    """
    reader = prompt.session.reader
    loosely = loosely and not (kind == "point" and _names_another(prompt.session, name, said))
    plainly = [word for word, said_so in (("no", SAYS_NO), ("yes", SAYS_YES)) if kind == "sign" and plain(said) in said_so]
    plainly += ["no"] if kind == "sign" and _denies_what_is_there(name, said) else []
    plainly += [beside] if kind == "sign" and (beside := _beside_yes(prompt.session, name, said)) else []
    for meant in (said, *plainly, *reader.forgiven(said, kind, name), *(reader.in_other_words(kind, name, said) if loosely else ())):
        typed = reader.only_value(kind, name, meant, fields)
        if typed is not None:
            if meant not in (said, *plainly):
                named = reader.begins_with_name(kind, name, meant)
                prompt.say_read_as(meant if named else f"{name.replace('_', ' ')} {meant}")
            return typed
    return _with_remark(prompt, kind, name, said, fields) if loosely and kind == "point" else None


def _beside_yes(session: Session, sign: str, said: str) -> str:
    """What is said beside a yes, where that is by itself the value that a yes to the sign means: "yes all tight", and not "yes no"; else empty."""
    yes, _, more = said.strip().partition(" ")
    value = session.reader.value_of(sign, more) if plain(yes) in SAYS_YES else ""
    return more if value and session.reader.value_of(sign, "yes") == value else ""


def _denies_what_is_there(sign: str, said: str) -> bool:
    """Whether a line says no of that of which it is asked whether it is in a place, and not in which: "no water", of the water in the hose."""
    thing, place, _ = IN_PLACE.sub(" | ", sign).partition(" | ")
    return bool(place) and plain(said) == f"no {thing.replace('_', ' ')}"


def for_what_is_asked_there(prompt: Prompt, line: str) -> Typed | None:
    """Such a line, where the screen asks for that sign: of another of that name it would say more."""
    session = prompt.session
    reading = asked_in(session.answer()) if plain(line).startswith("no ") and not session.hazards() and session.after() is None else None
    if reading is None or session.lacking_before(reading.name) or not _denies_what_is_there(reading.name, line):
        return None
    typed = only_value(prompt, kind_of(session, reading.name), reading.name, line, fields_of(session, reading))
    if typed is not None:
        prompt.say_read_as(_in_words(typed))
    return typed


def _with_remark(prompt: Prompt, point: str, name: str, said: str, fields: Mapping[str, object]) -> Typed | None:
    """A figure beside which it is told how another thing stood, "its like 26 with the blower off": that is kept as a remark, and told so."""
    found = BESIDE.fullmatch(said.strip())
    if found is None or "note" in fields or (other := exactly(prompt.session, found["state"])) is None or "sign" not in other.record:
        return None
    typed = only_value(prompt, point, name, found["figure"], fields, loosely=True)
    if typed is None:
        return None
    prompt.say_remarked(found["beside"])
    return replace(typed, record={**typed.record, "note": printable(found["beside"], 100)})


def _names_another(session: Session, point: str, said: str) -> bool:
    """Whether what was typed may be readings of others and not of *point*: "line 119" is not of a relay that has a line pin. Of what a proof of the board
    asks for nothing is guessed where it may be another's: "no 120 at igniter" may be dead at the plug with a live pin."""
    if not {*plain(said).split()[:1]}.isdisjoint(point.split("_")):
        return False
    try:
        read = session.reader.read(said)
    except BadInput:
        return False
    names = {t.record.get("point") for t in (read.choices if isinstance(read, Unclear) else (read,))}
    return names != {None} and (point not in names or (len(names) > 1 and _names_a_part(session, said) and _is_of_a_proof(session, point)))


def never_of(session: Session, name: str) -> Typed | None:
    """The record by which what a time is taken of never comes; None of anything else."""
    point = session.knowledge.point.get(name)
    return next((Typed({"sign": sign, "value": value}) for sign, value in point.never_is.items()), None) if point is not None else None


def never_comes(session: Session, name: str, said: str) -> Typed | None:
    """The record of a line that says of what is timed that it never comes, "it don't go out"; None of any other."""
    never = never_of(session, name)
    return never if never is not None and session.reader.value_of(str(never.record["sign"]), said) == never.record["value"] else None


def for_what_is_asked(prompt: Prompt, line: str) -> Typed | Unclear | None:
    """A line that is nothing but a value, taken for the reading that the screen asks for; or all that it could be."""
    session = prompt.session
    if session.hazards():
        return None
    state = session.after()
    if state is not None:
        several = session.reader.tells_several_calls(line)  # "3 full calls ok" is of what several calls show, whichever check stands first
        line = session.replies.without_new(line)  # what was read of the one before is of no check
        own = (for_check(prompt, need, line, named=not several and need is not state.missing[0]) for need in state.missing)
        return next((typed for typed in own if typed is not None), None)
    reading = asked_in(session.answer())
    if reading is None:
        return None
    if first := session.lacking_before(reading.name):
        return for_check(prompt, first[0], line)
    typed = never_comes(session, reading.name, line)
    typed = typed or only_value(prompt, kind_of(session, reading.name), reading.name, line, fields_of(session, reading), loosely=True)
    if typed is not None and _is_of_another(session, typed):
        return replace(typed, weakly=True)
    return typed if typed is None else _or_of_a_place(session, line, typed, reading)


def _is_of_another(session: Session, typed: Typed) -> bool:
    """Whether a figure is told to be taken as nothing in the rules asks that reading to be: with the load on, where it is of no output."""
    point, told = session.knowledge.point.get(str(typed.record.get("point"))), typed.record.get("set_up")
    if point is None or not isinstance(told, list):
        return False
    k = session.knowledge
    ways = [*(way for c in k.condition.values() for way in c.any_of), *(way for c in k.check.values() for way in c.any_of)]
    lines = [w for way in ways for w in way]
    return not {*told} <= {how for w in lines if w.point == point.point for how in w.set_up}


def for_open_check(prompt: Prompt, line: str) -> Typed | None:
    """A line that the check which the screen asks for could be told by, where another sign has that name too and its own id does not begin the line."""
    state, other = prompt.session.after(), exactly(prompt.session, line)
    if state is None or not state.missing or other is None or "sign" not in other.record or prompt.session.hazards():
        return None
    signs = [w.sign for w in prompt.session.knowledge.check[state.missing[0].condition].any_of[0] if w.sign]
    if any(prompt.session.reader.value_of(sign, line) for sign in signs):
        return for_check(prompt, state.missing[0], line)  # "no smell", where it is asked for the smell of gas
    sign = str(other.record["sign"])
    own = sign in names_of(prompt.session, state.missing[0]) or f"{plain(line)} ".startswith(f"{plain(sign)} ")
    return None if own else for_check(prompt, state.missing[0], line, named=True)


def for_a_check(prompt: Prompt, read: Typed | Unclear) -> Typed | None:
    """Of a piece of a line that could be several things the one that a check which is not met asks for; None of any other, and where it is of two checks."""
    state = prompt.session.after()
    if state is None or isinstance(read, Typed):
        return None
    wanted = {name for need in state.missing for name in names_of(prompt.session, need)}
    of_checks = [typed for typed in read.choices if str(typed.record.get("sign")) in wanted]
    if len(of_checks) != 1:
        return None
    prompt.say_read_as(_in_words(of_checks[0]))
    return replace(of_checks[0], weakly=False)


def of_what_is_asked(prompt: Prompt, read: Typed | Unclear) -> Typed | None:
    """Of a piece of a line that could be several things the one that the screen asks for, to be asked about; None of any other."""
    asked = asked_in(prompt.session.answer()) if isinstance(read, Unclear) and not prompt.session.hazards() else None
    choices = [] if asked is None or isinstance(read, Typed) else [t for t in read.choices if asked.name in (t.record.get("sign"), t.record.get("point"))]
    return replace(choices[0], weakly=True) if len(choices) == 1 else None


def _or_of_a_place(session: Session, line: str, typed: Typed, asked: NextReading) -> Typed | Unclear:
    """The same; or all that it could be, where its step is not the one that is asked for and may as well be the place of another reading: "0 on heat"."""
    step = typed.record.get("step")
    places = session.reader.of_place(line, step) if step != asked.step else ()
    of_asked = not places or any(t.record.get("point") == asked.name for t in places)
    return typed if of_asked else one_of(typed, *(replace(t, weakly=False) for t in places))


def for_check(prompt: Prompt, need: Need, line: str, *, named: bool = False) -> Typed | None:
    """The same for a check that is not met: for that of its lines which is not told yet and has such a value.

    *named*: only where the line begins with the name, because the screen asks for something else. What was so in several calls is of no check
    that one look meets: of the leads nobody tells it.
    """
    check = prompt.session.knowledge.check[need.condition]
    if prompt.session.reader.tells_several_calls(line) and check.calls == 1:
        return None
    lines = [w for w in check.any_of[0] if w.names[0][0] in ("point", "sign")]
    for wanted in [w for w in lines if len(lines) == 1 or not told_as_wanted(prompt.session, w, once=check.once)]:
        if named and not prompt.session.reader.begins_with_name(*wanted.names[0], line):
            continue
        typed = only_value(prompt, *wanted.names[0], line, as_wanted(wanted), loosely=True)
        if typed is not None:
            return with_seconds(prompt, typed) if is_timed(wanted) else typed
    return None


def named_on_screen(prompt: Prompt, line: str, read: Typed | Unclear) -> Typed | None:
    """Of a line that could be several readings, or names one weakly, that which the screen asks for: first what Enter takes, then what else it offers.

    Not the board's own pin where the line names the part behind it: "no 120 at hsi" may be dead at the igniter with a live pin.
    """
    session = prompt.session
    if session.hazards() or (isinstance(read, Typed) and not read.weakly):
        return None
    at_part = _names_a_part(session, line)
    state, answer = session.after(), session.answer()
    asked_first = asked_in(answer)
    offered = [*([asked_first] if asked_first is not None else []), *answer.next]
    asked = [{n.name} for n in offered] if state is None else [names_of(session, n) for n in state.missing]
    for names in [*asked[:1], {name for each in asked[1:] for name in each}]:
        found = [t for t in ((read,) if isinstance(read, Typed) else read.choices) if names & {str(t.record.get("point")), str(t.record.get("sign"))}]
        if len(found) == 1 and not (at_part and _is_of_a_proof(session, str(found[0].record.get("point")))):
            prompt.say_read_as(_in_words(found[0]))
            return replace(found[0], weakly=False)
    return None


def _is_of_a_proof(session: Session, point: str) -> bool:
    """Whether a proof of the board asks for *point*."""
    return any(name == point for name, _ in session.evidence.asked_by_proofs)


def _names_a_part(session: Session, line: str) -> bool:
    """Whether a line names a part that is not the board, and no pin."""
    words = plain(line).split()
    named = session.reader.vocabulary.names("history").clear
    parts = {part for n in (1, 2) for i in range(len(words) - n + 1) for part in named(" ".join(words[i : i + n]))}
    return bool(parts - {BOARD}) and PIN not in words


def _in_words(typed: Typed) -> str:
    """A record that was chosen from several: its name and value."""
    name = next(str(typed.record[kind]) for kind in ("point", "sign") if kind in typed.record)
    return f"{name.replace('_', ' ')} {typed.record['value']}"
