"""The short form of a visit for the customer: plain words, no figures that mislead, and nothing called proved that is not."""

from __future__ import annotations

from collections.abc import Iterator

from furnace_diag.diagnosis.verdict import BOARD
from furnace_diag.problems import printable
from furnace_diag.report import visit_words as say
from furnace_diag.visit.summary import RepairTold, Summary

POINTS_TO = 0.5  # from here the likeliest part is named as a lead, judgement
Form = list[tuple[str, list[str]]]


def customer_form(s: Summary) -> Form:
    """Titles with their sentences."""
    told = [f"Visit begun {say.when(s.opened)}.", f"You told us: {printable(s.complaint, say.LONGEST) or 'nothing'}"]
    form: Form = [("Your furnace", [say.DRILL, *told] if s.drill else told)]
    if s.hazards:
        form.append(("Danger: do this now", [text for h in s.hazards for text in (h.says, h.tells["now"], h.tells["call"])]))
    if s.put_right:
        form.append(("Found and put right on the spot", [*s.put_right]))
    form += [("What was wrong", [*_wrong(s)]), ("What was done", [*_done(s)]), ("What was checked", [*_checked(s)])]
    titles = (("watch", "What to watch for"), ("call_shop", "Call us if"), ("call_help", "Leave and call for help if"))
    form += [(title, [n.says for n in s.notices if n.group == group]) for group, title in titles]
    form.append(("Good to know", ["Leave gas, wires and everything behind screws to somebody licensed for it.", f"Visit record: {printable(s.file, 200)}"]))
    return form


def _wrong(s: Summary) -> Iterator[str]:
    last = s.repairs[-1] if s.repairs else None
    if s.board.proved:
        named = next((p.to_customer for p in s.parts if p.part == BOARD), say.words(BOARD))
        yield f"Measurements on your furnace prove that this had failed: the {named}."
    elif s.closing.proved and last is not None:
        yield f"It was the {last.to_customer}. Since that was put right, the furnace has passed every check."
    else:
        yield "The cause is not proved."
        yield from _lead(s)
    yield from () if s.closing.proved else ("It is not proved that the furnace is mended.",)


def _lead(s: Summary) -> Iterator[str]:
    """What the records point to, if they point anywhere."""
    top = s.parts[0]
    if top.probability >= POINTS_TO and top.probability > s.something_else:
        yield f"What was found points first to the {top.to_customer}. That is a lead, not a proof."
    else:
        yield "What was found does not decide between several causes."
    if s.board.verdict == "suspected":
        yield "The control board is suspected, but it should not be replaced on what is known so far."


def _done(s: Summary) -> Iterator[str]:
    if s.closing.reason:
        yield f"The visit was ended with these words: {printable(s.closing.reason, 200)}"
    if not s.repairs:
        yield "Nothing was repaired on this visit."
    for repair in s.repairs:
        also = f" {printable(repair.also_to_customer, 200)}" if repair.also_to_customer else ""
        unhelped = " It changed nothing: the fault was still there." if repair.no_change else ""
        yield f"Work was done on the {printable(repair.to_customer, 200)}.{also}{unhelped}"


def _checked(s: Summary) -> Iterator[str]:
    for answer in s.safety:
        if answer.answers:
            yield f"{answer.asks} {say.answer_of(answer).capitalize()}."
    open_ = sum(not a.answers for a in s.safety)
    yield from (f"{open_} of the {len(s.safety)} questions of safety {'was' if open_ == 1 else 'were'} not answered.",) if open_ else ()
    taken = len(s.records)
    yield f"{taken} reading{'' if taken == 1 else 's'} and observations were taken to find the fault."
    if s.repairs:
        yield from _after(s.repairs[-1])


def _after(repair: RepairTold) -> Iterator[str]:
    failed = sum(bool(n.denied_by) for n in repair.needs)
    left = sum(bool(n.calls_left) and not n.denied_by for n in repair.needs)
    passed = len(repair.needs) - failed - left
    if not repair.known:
        yield "Which checks belong to this repair is not known here, so none is called passed."
        return
    yield f"Of the {len(repair.needs)} checks after the repair, {passed} passed."
    yield from (f"{failed} did not pass.",) if failed else ()
    yield from (f"{left} {'was' if left == 1 else 'were'} not done, or not to the end.",) if left else ()
