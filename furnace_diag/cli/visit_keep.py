"""Keeping a record in a visit: of which heat call it is, that it makes sense, and how it is told back."""

from __future__ import annotations

from dataclasses import replace

from furnace_diag.cli.visit_asked import names_of, step_asked
from furnace_diag.cli.visit_prompt import Prompt
from furnace_diag.cli.visit_put_right import found_before, put_right
from furnace_diag.cli.visit_sure import Instead, apart, settled
from furnace_diag.diagnosis.answer import Answer
from furnace_diag.diagnosis.records import Record
from furnace_diag.report.visit_words import record_in_words, value_in_words
from furnace_diag.visit.session import Doubtful, Session
from furnace_diag.visit.typed import Typed


def keep_one(
    prompt: Prompt, typed: Typed, *, instead_of: int | None = None, question: str | None = None, shown: Answer | None = None, as_asked: bool = False
) -> Record | Instead | None:
    """Keep a record of one call, asking once about what makes no sense; what was kept, or the line that was typed instead of an answer.

    *question*: of the start, that it answers. *shown*: the answer that stands on the screen. *as_asked*: it was told how it is to be taken.
    """
    if not as_asked:
        taken = apart(prompt, typed)
        if not isinstance(taken, Typed):
            return taken
        typed = taken
    _tell_if_too_soon(prompt, typed)
    if instead_of is None and (found := found_before(prompt.session, typed)):
        righted = put_right(prompt, typed, found, question)
        if isinstance(righted, Record):
            _read_back(prompt, righted, shown)
        return righted
    kept = prompt.session.take(typed, instead_of=instead_of, at=prompt.asker.first_key, question=question)
    sound = settled(prompt, kept, instead_of) if isinstance(kept, Doubtful) else kept
    if isinstance(sound, Record):
        _read_back(prompt, sound, shown)
    return sound


def one_each_call(session: Session, typed: Typed) -> list[Typed]:
    """What was so in several calls as a record of each, from the running call on, or the one after it where the same was told of it already."""
    visit = session.visit
    told = {(r.name, r.call) for r in map(session.record, visit.checking if visit.proving else visit.telling)}
    first = visit.call + any((name, visit.call) in told for name in typed.record.values())
    return [replace(typed, record={**typed.record, "call": str(first + n)}, calls=1) for n in range(typed.calls)]


def of_another_call(prompt: Prompt, typed: Typed) -> Typed:
    """The same, a heat call later where it is told once more of a thing that must be seen in several calls: of one call it is told once."""
    session = prompt.session
    state, visit = session.after(), session.visit
    if state is None or typed.calls > 1 or "call" in typed.record:
        return typed
    made = session.record_typed(typed.record)
    told = any((r.name, r.word, r.call) == (made.name, made.word, visit.call) for r in map(session.record, visit.checking))
    if told and any(n.met_by and made.name in names_of(session, n) for n in state.missing):
        session.tell("call", {"call": visit.call + 1, "unmarked": True})
        prompt.say(f"Heat call {visit.call} had that already: taken as heat call {session.visit.call}.")
    return typed


def _tell_if_too_soon(prompt: Prompt, typed: Typed) -> None:
    """Why the watch gives a reading no seconds, where its step cannot have begun yet."""
    if least := prompt.session.too_soon(typed.record, prompt.asker.first_key):
        step = typed.record["step"]
        soonest = f"{str(step).replace('_', ' ')} begins {least:g} s after {prompt.session.counts_from(step)} at the soonest"
        prompt.say(f"No seconds are kept: {soonest}. If you know when it was read, type it with them, such as: after 40 s.")


def _is_dead(session: Session) -> bool:
    """Whether nothing at all goes on at the furnace, whatever is called for: then a reading has no step."""
    signs, told = session.knowledge.sign, map(session.record, session.visit.telling)
    return any(r.name in signs and signs[r.name].shows == "whole_furnace" and signs[r.name].meant_by(str(r.word)) == ("dead",) for r in told)


def _read_back(prompt: Prompt, record: Record, shown: Answer | None) -> None:
    """What an entry was taken for."""
    session = prompt.session
    number, value = session.visit.entries[-1].number, value_in_words(record)
    sign = session.knowledge.sign.get(record.name)
    done = sign is not None and record.word in sign.put_right  # surely, but nobody looked at it twice
    prompt.say(f"{number}. {record_in_words(replace(record, sure=False) if done else record)}")
    step = session.evidence.step_wanted(record) if record.kind == "point" and not _is_dead(session) else None
    if step is not None:
        step = step_asked(session, shown or session.answer(), record.name) or step
        prompt.say(f"At which step? It tells more with it, such as: fix {number} {value} at {step.replace('_', ' ')}")
