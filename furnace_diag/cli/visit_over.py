"""Dangers of which a complaint says that they are over, or were long ago: each is asked about, and no Enter makes one of it or says that there is none."""

from __future__ import annotations

from collections.abc import Collection
from typing import TYPE_CHECKING

from furnace_diag.cli.common import SAYS_NO, SAYS_YES
from furnace_diag.diagnosis.complaint import Complained
from furnace_diag.knowledge.spelling import plain
from furnace_diag.visit.typed import Typed

if TYPE_CHECKING:
    from furnace_diag.cli.visit_desk import Desk

NOW_HELP = "y: it is so now, and stops the visit. n, Enter: nothing is kept of it; type what you find as a line of its own."


def ask_about_over(desk: Desk, complaint: str, told: Collection[Typed]) -> None:
    """Ask about each danger of a complaint that is over and of which nothing else was *told*; what a question on safety is of, that asks."""
    signs, asked = {t.record.get("sign") for t in told}, {q.sign for q in desk.session.knowledge.question.values() if q.group == "safety"}
    righted = {t.record["sign"]: t for t in desk.session.reader.over_in(complaint)}
    for over in desk.session.vocabulary.complaints.over_in(complaint):
        says = desk.session.knowledge.sign[over.sign].danger
        if over.sign in signs:
            continue
        desk.prompt.say(f"Told as over, or of an earlier time: {says}.{' It is asked about.' if over.sign in asked else ''}")
        if over.sign not in asked:
            _ask(desk, over, righted.get(over.sign))


def _ask(desk: Desk, over: Complained, righted: Typed | None) -> None:
    """Whether it was put right, where that can be said of it; else whether it is so now."""
    if righted is None:
        _ask_if_now(desk, over)
    elif (meant := desk.if_meant(righted)) is not None:
        desk.keep(meant)


def _ask_if_now(desk: Desk, over: Complained) -> None:
    answer = desk.prompt.ask("y it is so now, n it is not, Enter leaves it open: ", NOW_HELP)
    if plain(answer) in SAYS_YES:
        desk.keep(Typed({"sign": over.sign, "value": over.as_told}))
    elif answer and plain(answer) not in SAYS_NO:
        desk.aside(answer, "y, n, Enter")
