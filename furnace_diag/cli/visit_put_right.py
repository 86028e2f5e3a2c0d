"""What stops a visit and is put right on the spot: that it was found stays told, and it stops no longer."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import replace

from furnace_diag.cli.visit_prompt import Prompt
from furnace_diag.cli.visit_sure import Instead, dropped
from furnace_diag.diagnosis.records import Record
from furnace_diag.knowledge.point_models import PutRight
from furnace_diag.problems import BadInput
from furnace_diag.report.visit_words import as_words
from furnace_diag.visit.complaint import pieces_of
from furnace_diag.visit.session import Session
from furnace_diag.visit.state import Entry
from furnace_diag.visit.typed import Typed, Unclear

BACK_ON, ITS_WIRES = ("back_on", "put_back_on"), "safety_wires"  # words of dangers that are over: of wires that somebody put back where they belong
P_HELP = "p: it was so, and is put right now. f: that entry was a slip, and it never was so. Enter: the entry stays, and so does the STOP."


def for_what_stops(prompt: Prompt, line: str) -> Typed | None:
    """A line that says of what stops the visit that it is put right, though it does not name it: "jumper removed"; None of any other.

    At rest, with nothing found, such a line may be of anything: of a jumper for a test at the thermostat.
    """
    session = prompt.session
    for sign in session.to_put_right():
        pieces = pieces_of(line)
        each = [_of(session, sign, piece) for n, piece in enumerate(pieces) if not n or not _puts_back(session, sign, piece)]
        if each and each[0] is not None and each.count(each[0]) == len(each):
            return Typed({"sign": sign, "value": each[0]})
    return None


def _of(session: Session, sign: str, text: str) -> str | None:
    """The value of *sign* by which *text* says that it is put right: as a value of it, or as people say it with what it was on; None where it says none."""
    said = session.vocabulary.complaints.all_of(text)
    value = session.reader.value_of(sign, text) or (said.value if said is not None and said.sign == sign else "")
    return value if value in session.knowledge.sign[sign].put_right else None


def _puts_back(session: Session, sign: str, text: str) -> bool:
    """Whether *text* only says that a part which *sign* is of, or its wires, are back where they belong: "hooked ps back up"."""
    names, said = session.vocabulary.names("history"), session.vocabulary.words.claims.said_of_dangers.words
    back = {names.spelling(phrase) for group in BACK_ON for phrase in said.get(group, ())}
    known = {word for phrase in back for word in phrase.split()}
    words = names.spelling(text).split()
    of_what = " ".join(word for word in words if word not in known)
    parts = {line.part for line in session.knowledge.sign[sign].goes_with}
    is_of_it = set() < {*names.clear(of_what)} <= parts or of_what in {names.spelling(phrase) for phrase in said.get(ITS_WIRES, ())}
    return is_of_it and " ".join(word for word in words if word in known) in back


def _word(session: Session, typed: Typed) -> str:
    with suppress(BadInput):
        return str(session.record_typed(typed.record).word)
    return ""


def or_asked(session: Session, read: Typed | Unclear) -> Typed | Unclear:
    """What was read; to be asked about where it says that a hazard is put right of which nothing was found, or that it hardly names: "leak fixed" may
    be of water, and a limit that was taken out is a danger itself."""
    sign = session.knowledge.sign.get(str(read.record.get("sign"))) if isinstance(read, Typed) else None
    if sign is None or not isinstance(read, Typed) or _word(session, read) not in sign.put_right:
        return read
    plainly = read.as_complained or (sign.sign in session.to_put_right() and not read.guessed)
    return read if plainly else replace(read, weakly=True)


def found_before(session: Session, typed: Typed) -> list[Entry]:
    """The entries by which that was found of which *typed* says that it is put right, or not so: in whatever call it was found."""
    sign = session.knowledge.sign.get(str(typed.record.get("sign")))
    found = session.to_put_right().get(sign.sign, []) if sign is not None and typed.record.get("source") != "told" else []
    if sign is None or not found:
        return []
    word = _word(session, typed)
    if word in sign.put_right:
        return [e for e in found if session.record(e).word in sign.put_right[word].of]
    may_be = {v for right in sign.put_right.values() for v in right.of}
    return [] if word in may_be or session.vocabulary.complaints.is_danger(sign.sign, word) else found


def put_right(prompt: Prompt, typed: Typed, found: Sequence[Entry], question: str | None = None) -> Record | Instead | None:
    """Keep that what was found is put right, in the place of each entry by which it was; asked first where only a no was typed.

    What was kept, or the line that was typed instead of an answer.
    """
    session = prompt.session
    sign, word = session.knowledge.sign[str(typed.record["sign"])], _word(session, typed)
    if word not in sign.put_right:
        word = next(v for v, right in sign.put_right.items() if session.record(found[-1]).word in right.of)
        prompt.say(f"Entry {found[-1].number} says {as_words(session.record(found[-1]).said)}.")
        said = prompt.ask("p put right now, f never so, Enter: ", P_HELP)
        if said.lower() not in ("p", "f", "put right", "fix"):
            return dropped(prompt, said, "p, f, Enter")
        if said.lower() in ("f", "fix"):
            return _in_place_of(prompt, typed, found, question)
    made = Typed({**{k: v for k, v in typed.record.items() if k != "call"}, "value": word})
    kept = _in_place_of(prompt, made, found, question)
    if kept is not None:
        _tell_to_read_again(prompt, sign.put_right[word])
    return kept


def _in_place_of(prompt: Prompt, typed: Typed, found: Sequence[Entry], question: str | None) -> Record | None:
    """Keep a record in the place of each entry by which it was found, told twice or not; the last that was kept. None, and why, where one was not."""
    session, at, numbers = prompt.session, prompt.asker.first_key, {e.number for e in found}
    last: Record | None = None
    for entry in found:
        kept = session.take(typed, sure=True, instead_of=entry.number, along_with=numbers, at=at, question=question)
        if not isinstance(kept, Record):
            prompt.say(as_words(kept.why))
            return None
        last = kept
    return last


def _tell_to_read_again(prompt: Prompt, right: PutRight) -> None:
    """Once, what was put right and which repair goes on with it; what was read before stays, and what of it told little of the furnace is named."""
    prompt.say(right.says)
    if right.mends is not None and prompt.session.visit.proving is None:
        prompt.say(f"`mend {right.mends.replace('_', ' ')}` goes on with that. What is read before its steps are done counts as read with the fault in.")
    read = [e for e in prompt.session.visit.entries if prompt.session.record(e).name in right.read_again]
    if read:
        numbers = ", ".join(str(e.number) for e in read)
        prompt.say(f"What was read before stays as it is: entr{'y' if len(read) == 1 else 'ies'} {numbers} may have told of what was there. Read that again.")
    if right.proves_anew and prompt.session.begin_anew():
        call = prompt.session.visit.call
        prompt.say(f"Nothing that was read or seen in a call before proves anything now: what a proof wants is taken again, in heat call {call}.")
