"""How far the heat call gets and what is suspected, as a screen of a visit begins; and how little a screen may tell that is to fit."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from furnace_diag.diagnosis.answer import Answer
from furnace_diag.report.terminal import SHOWN_FROM, nothing_likely
from furnace_diag.report.visit_words import filled, words

SHOWN = 4  # suspects on the screen of a visit
MOVED = 0.03  # a belief that moved by less is not marked
SURE = 0.9  # from here a step of the call is called reached, or the one it stops at
LIKELY = 0.5
OTHERS = 0.05  # belief in other faults of a part from which the likeliest is told with its own share
FEW_STEPS = 2  # of a heat call that are told even by a short screen


@dataclass(frozen=True)
class Brief:
    """What a screen tells besides what it must: of how many suspects, the steps of the *whole_call* that are reached, how many outcomes of the next reading,
    with the likeliest *failures* of each or the part alone, and the *others* that may be read instead; *advice*, and what to do about a doubt. No caution is
    ever left out: without *in_full* it is told by its first sentence, and in full where the reading is asked for."""

    suspects: int = SHOWN
    whole_call: bool = True
    outcomes: int = 3
    failures: bool = True
    others: bool = True
    advice: bool = True
    in_full: bool = True


WHOLE = Brief()
_CALL = replace(WHOLE, whole_call=False)
_PARTS = replace(_CALL, failures=False)
_ALONE = replace(_PARTS, others=False)
_FEWER = replace(_ALONE, suspects=3, outcomes=2)
_LEAST = replace(_FEWER, outcomes=0)
_TWO = replace(_LEAST, suspects=2)
_BARE = replace(_TWO, advice=False)
BRIEFER = (WHOLE, _CALL, _PARTS, _ALONE, _FEWER, _LEAST, _TWO, _BARE, replace(_BARE, in_full=False))  # one after the other, until it fits


def stopped_at(answer: Answer) -> str | None:
    """The step at which the heat call likely stops; None where that is open."""
    stop = max(answer.heat_call, key=lambda r: r.stops)
    return stop.step if stop.stops >= LIKELY else None


def strip_lines(answer: Answer, width: int, brief: Brief = WHOLE) -> Iterator[str]:
    """How far the heat call gets: steps that are reached, and the one it stops at."""
    call = answer.heat_call
    stop = max(call, key=lambda r: r.stops)
    reached = [r for r in call if r.reached - r.stops >= SURE]
    names = [words(r.step) for r in reached]
    names = names if brief.whole_call or len(names) <= FEW_STEPS else ["...", *names[-1:]]
    if stopped_at(answer) is None:
        said = " > ".join([*names, "?"]) if names else "not known yet how far it gets"
    else:
        skipped = [] if reached and call[call.index(reached[-1]) + 1] is stop else ["..."]
        said = " > ".join([*names, *skipped, words(stop.step)])
        if stop is not call[-1]:
            said += ": STOPS HERE" if stop.stops >= SURE else ": probably STOPS HERE"
    yield from filled(f"Heat call: {said}", width, "  ", "")


def suspect_lines(answer: Answer, before: Answer | None, width: int, brief: Brief = WHOLE) -> Iterator[str]:
    """The likeliest parts, one line each, with what moved since *before*."""
    was = {p.part: p.probability for p in before.parts} if before else {}
    shown = [p for p in answer.parts if p.probability >= SHOWN_FROM][: brief.suspects]
    for part in shown:
        failure = part.failures[0]
        own = f" ({failure.probability:.0%})" if part.probability - failure.probability >= OTHERS else ""  # the rest is other faults of the part
        says = f"{words(part.part)}: {failure.says}{own}"
        yield from filled(f"{says}{_moved(part.probability, was.get(part.part))}", width, "     ", f"{part.probability:4.0%} ")
    rest = 1 - sum(p.probability for p in shown) - answer.something_else
    yield f"{answer.something_else:4.0%} something else, {max(rest, 0):.0%} other parts"
    if answer.something_else > max((p.probability for p in answer.parts), default=0):
        again = "No repair is worth it yet." if answer.look_again else "Read one of them again before anything is replaced."
        yield from filled(f"{nothing_likely(answer, 'entries')} {again}", width)


def proved_lines(answer: Answer, width: int) -> Iterator[str]:
    """What is proved stands before any rank: a rank counts each record for as little as it is worth by itself."""
    for proof in answer.board.proved:
        yield from filled(f"Board: PROVED BAD. {proof.says}.", width)
    ranks = ", ".join(f"{words(p.part)} {p.probability:.0%}" for p in answer.parts[:3])
    yield from filled(f"(By rank alone, without the proof: {ranks}.)", width, "  ")


def _moved(now: float, was: float | None) -> str:
    if was is None or abs(now - was) < MOVED:
        return ""
    return f" ({'up' if now > was else 'down'} from {was:.0%})"
