"""What a record that was kept in a visit still lacks to count for the board's proof or a check, and how to type it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from furnace_diag.cli.visit_prompt import Prompt
from furnace_diag.diagnosis.findings import Need
from furnace_diag.diagnosis.records import Record
from furnace_diag.diagnosis.taking import asked_in_words, when
from furnace_diag.knowledge.finding_models import Wanted
from furnace_diag.report import visit_screen as screen
from furnace_diag.report.visit_words import as_words, value_in_words
from furnace_diag.visit.session import Session
from furnace_diag.visit.untold import AFTER_SECONDS, contradicts, nearest, taken_as_wanted, words_lacking


def tell_if_not_counted(prompt: Prompt, kept: Record) -> str:
    """What an open check still wants of a record that was kept and meets none of its lines by how it was taken; the record, where the screen need not say
    once more what the board's proof wants of it."""
    state = prompt.session.after()
    if state is None:
        return kept.said if _tell_how_to_prove(prompt, kept) else ""
    tell_how_to_count(prompt, kept, state.missing)
    return ""


def tell_how_to_count(prompt: Prompt, kept: Record, needs: Iterable[Need]) -> None:
    """What checks want of how the record that was kept last is taken, where it meets none of their lines by that, and what to type."""
    k = prompt.session.knowledge
    wanted = nearest((w for need in needs for way in k.check[need.condition].any_of for w in way), kept)
    if wanted is not None and not taken_as_wanted(wanted, kept):
        wants = as_words(asked_in_words(wanted, k))
        prompt.say(f"Kept, but not counted. The check wants: {wants.rstrip('.')}. {_say_so(prompt.session, kept, wanted)}")


def tell_need(prompt: Prompt, need: Need) -> None:
    """How to meet a check, where the lines that are asked for do not say so themselves."""
    if own := prompt.session.knowledge.check[need.condition].take:
        prompt.say(f"{as_words(own)}{screen.calls_wanted(need)}")


def _tell_how_to_prove(prompt: Prompt, kept: Record) -> bool:
    """What to type for a record that only leaves out how it was taken to count for the board's nearest proof; whether there is such a thing."""
    session = prompt.session
    board, k = session.answer().board, session.knowledge
    almost = [] if board.proved or board.nearest is None else [n for n in board.nearest.missing if any(kept.said in text for text in n.almost)]
    wanted = nearest((w for need in almost for way in k.condition[need.condition].any_of for w in way), kept)
    words = words_lacking(wanted, kept) if wanted is not None and not contradicts(wanted, kept) else []
    words = [word for word in words if kept.after_s is None or not word.startswith("after ")]
    if words and wanted is not None:
        typed = f"fix {session.visit.entries[-1].number} {value_in_words(kept)} {' '.join(words)}"
        prompt.say(f"To count for the proof, if it was so: {typed}{_seconds_wanted(session, wanted, words)}")
    return bool(words)


def _say_so(session: Session, kept: Record, wanted: Wanted) -> str:
    """How to tell it so that it counts: what the record leaves out, typed as a better one in its place."""
    words = words_lacking(wanted, kept)
    typed = " ".join([value_in_words(kept), *words])
    if contradicts(wanted, kept):
        return f"Take it so, then type it with: {' '.join(words)}"
    return f"If it was so, type: fix {session.visit.entries[-1].number} {typed}{_seconds_wanted(session, wanted, words)}"


def _seconds_wanted(session: Session, wanted: Wanted, words: Sequence[str]) -> str:
    """How late it must have been read, where the words to be typed leave the seconds open."""
    told = when(wanted, session.knowledge) if any(AFTER_SECONDS in word for word in words) else ""
    return f" (it must have been {as_words(told)})" if told else ""
