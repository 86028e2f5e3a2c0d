"""Mending at the prompt of a visit: what must be proved first, the steps, the checks after them, and the end of the visit."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from furnace_diag.cli.common import SAYS_NO
from furnace_diag.cli.visit_counts import tell_how_to_count, tell_need
from furnace_diag.cli.visit_line import exactly
from furnace_diag.cli.visit_start import open_safety
from furnace_diag.cli.visit_sure import YES
from furnace_diag.cli.visit_values import take_lines
from furnace_diag.diagnosis.findings import Need
from furnace_diag.diagnosis.prior import CURED_BY_REFITTING
from furnace_diag.diagnosis.records import Record
from furnace_diag.knowledge.repair_models import Repair
from furnace_diag.knowledge.repairs import cautions_of, repairs_for
from furnace_diag.knowledge.spelling import plain
from furnace_diag.problems import BadInput, Problem, printable
from furnace_diag.report import visit_screen as screen
from furnace_diag.report.visit_words import as_words, record_in_words
from furnace_diag.visit.state import CAME_WITH, PAGE

if TYPE_CHECKING:
    from furnace_diag.cli.visit_desk import Desk

AGREES = YES | {"okay", "done", "finished", "next"}
MOST_OF_AGAINST = 300  # characters of what is told to speak against a repair
BESIDE = frozenset(["all", "it", "is", "its", "i", "have", "did", "that", "now"])  # words that change nothing of those

CLEANED = "cleaned"
DONE_AS = frozenset([CLEANED, "new_part"])  # of an earlier repair, where nothing is said of what came of it
NOW_HELP = "y: it was done on this visit, and the checks after it begin. Enter: it was done before, and counts as what was done before."
DONE_HELP = "y: every step is done, and its checks begin. Enter: not done, and nothing is kept."
STEP_HELP = "Enter: what stands above is done; the next step. b: the one before. x: leave the repair, and nothing is kept as done."
ALL_THE_SAME_HELP = "y: the steps of the repair are shown. Enter: the part stays as it is, and the search goes on."
REASON_HELP = "A few words for the record and the customer's page, such as: part on order. Enter: the visit stays open."


def done_already(desk: Desk, told: Record) -> bool:
    """Whether a part that was told to be new or cleaned is the one that is worth mending, and that was done on this visit, which is asked: its checks then
    begin, and no step of it is shown any more."""
    act = desk.session.answer().act
    if act is None or act.needs_proof or told.name != act.part or told.word not in DONE_AS or desk.session.after() is not None:
        return False
    repair = repairs_for(desk.session.knowledge, act.part, act.failure)
    if repair.leaves_part is not (told.word == CLEANED) or desk.session.hazards():
        return False
    part = act.part.replace("_", " ")
    if not agrees(desk.prompt.ask(f"{part}: y done just now, Enter before this visit: ", NOW_HELP)):
        return False
    before = len(desk.session.visit.repairs)
    desk.session.mending = repair.repair
    try:
        _mend(desk, act.part, act.failure, repair, done=True)
    finally:
        desk.session.mending = ""
    return len(desk.session.visit.repairs) > before


def mended_already(desk: Desk, line: str) -> bool:
    """Whether a line tells that the cause of what stops the visit was mended. Its checks begin then, which ask for what ends that; no word does."""
    repair = desk.session.told_mended(line)
    if repair is None:
        return False
    part, _, failure = repair.of[0].partition(":")
    desk.prompt.say(f'That is "{repair.says}"')
    if not agrees(desk.prompt.ask("y done just now, Enter not: ", NOW_HELP)):
        desk.prompt.say("Nothing kept of that; the STOP stands.")
        return True
    desk.session.mending = repair.repair
    try:
        _mend(desk, part, failure, repair, done=True)
    finally:
        desk.session.mending = ""
    return True


def mend(desk: Desk, rest: str) -> None:
    """How the leading part, or another, is put right; once it is done its checks begin."""
    if desk.mending:
        desk.prompt.say("A repair is on the screen already: x, or Enter where something is asked for, leaves it.")
        return
    part, failure = meant_failure(desk, rest)
    repair = repairs_for(desk.session.knowledge, part, failure)
    desk.session.mending = repair.repair  # what this repair ends stops it no more
    try:
        _mend(desk, part, failure, repair)
    finally:
        desk.session.mending = ""


def _mend(desk: Desk, part: str, failure: str, repair: Repair, *, done: bool = False) -> None:
    """One repair, from what must be proved first to what says that it is done. *done*: that was said already, and no step is shown."""
    state = desk.session.before(repair)
    if _stopped(desk):
        return
    if state.lacks_proof:
        desk.prompt.say(f"{part.replace('_', ' ')} is not proved bad: it is not replaced. What the proof lacks:")
        desk.do("proof")
        return
    if not open_safety(desk):
        if not _stopped(desk):
            desk.prompt.say("Nothing is repaired before the questions on safety are answered.")
        return
    if not (repair.needs_proof or _all_the_same(desk, part, failure)):
        return
    _tell_if_cured(desk, part)
    if desk.session.ends.checks_besides(repair.repair, map(desk.session.record, desk.session.visit.telling), desk.session.visit.options):
        desk.prompt.say("What stopped the visit ends only by what is read after this repair. Until then the burners burn for nothing else.")
    desk.mending = True
    try:
        gone_through = done or (_by_steps if desk.prompt.asker.by_steps else _at_once)(desk, repair)
        done = done or (gone_through and _done(desk))
    finally:
        desk.mending = False
    if _stopped(desk):
        return
    if not gone_through:
        goes_on = "goes on where it was left" if desk.session.visit.pages.get(repair.repair) else "shows it again"
        desk.prompt.say(f"Left open. `mend {part.replace('_', ' ')}` {goes_on}.")
    elif done:
        mended = desk.session.tell("repair", {"part": part, "failure": failure, "repair": repair.repair})
        desk.session.tell("call", {"call": desk.session.visit.call + 1, "unmarked": True, CAME_WITH: mended.number})
        desk.prompt.say("Now prove it. What is entered from here on is about the repaired furnace.")
        desk.show_change()
    else:
        desk.prompt.say("Not kept as done: `mend` shows it again.")


def _tell_if_cured(desk: Desk, part: str) -> None:
    """That refitting the part cured it, where that was told: then it is looked at before it is renewed."""
    told = [e.number for e in desk.session.visit.telling if _is_cured(desk.session.record(e), part)]
    if told:
        desk.prompt.say(f"Entry {told[-1]} says that refitting cured it. Where it looks whole and grips, it need not be renewed.")


def _is_cured(record: Record, part: str) -> bool:
    """Whether a record of the history says that refitting *part* was all it took."""
    return record.kind == "history" and record.name.partition(":")[0] == part and record.word == CURED_BY_REFITTING


def _all_the_same(desk: Desk, part: str, failure: str) -> bool:
    """Whether to go on with a repair; asked where something that was read or seen speaks strongly against what it puts right."""
    against = desk.session.against(part, failure)
    if not against:
        return True
    said = "; ".join(record_in_words(r) for r in against)
    desk.prompt.say(f"Against it stands: {printable(said, MOST_OF_AGAINST)}. That seldom goes with {part.replace('_', ' ')} {failure.replace('_', ' ')}.")
    desk.prompt.say("Take that again before anything comes off; `fix` corrects a slip.")
    answered = desk.prompt.ask("y go on all the same, Enter leave it: ", ALL_THE_SAME_HELP)
    if agrees(answered):
        return not _stopped(desk)
    desk.prompt.say(f"Left. `why {part.replace('_', ' ')}` shows what speaks for it and against it.")
    if answered and plain(answered) not in SAYS_NO | {"x"}:
        desk.aside(answered, "y, Enter")
    return False


def _stopped(desk: Desk) -> bool:
    """Whether a hazard stands; it is told, whatever was on the screen before."""
    if not desk.session.hazards():
        return False
    desk.prompt.tell_hazards()
    desk.prompt.say("Nothing is repaired while that stands. `undo` if it was a slip.")
    return True


def agrees(said: str) -> bool:
    """Whether what was typed says that something is done or so, and nothing else: "ok done", "yes", "its done"."""
    words = {*plain(said).split()}
    return bool(words & AGREES) and words <= AGREES | BESIDE


def _done(desk: Desk) -> bool:
    """Whether the repair is said to be done; what else is typed is heard, and the question is put again."""
    while said := desk.prompt.ask("y when it is done, Enter leaves it: ", DONE_HELP):
        if agrees(said):
            return True
        if exactly(desk.session, said) is None and plain(said).partition(" ")[0] in SAYS_NO | {"x", "not"}:
            return False
        desk.aside(said, "y, Enter")
        if desk.session.hazards():
            break
    return False


def meant_failure(desk: Desk, rest: str) -> tuple[str, str]:
    """The failure to be mended: what leads, or the likeliest of the part that is named."""
    answer = desk.session.answer()
    if not rest:
        leads = answer.parts[0].failures[0].failure
        return (answer.act.part, answer.act.failure) if answer.act is not None else (answer.parts[0].part, leads)
    meant = desk.session.vocabulary.names("history").meant(rest)
    if len(meant) != 1:
        near = meant or desk.session.vocabulary.names("history").suggested(rest)
        raise BadInput([Problem(None, f"{printable(rest)} is no one part.", f"Such as: {', '.join(near[:5]) or answer.parts[0].part}.")])
    part, _, failure = meant[0].partition(":")
    return part, failure or next(p for p in answer.parts if p.part == part).failures[0].failure


def _at_once(desk: Desk, repair: Repair) -> bool:
    """The whole repair, then what must be shown before the part is changed; whether to go on."""
    desk.prompt.lines(screen.repair_lines(repair, desk.session.knowledge, desk.prompt.width()))
    return _shown(desk, repair, repair.before)


def _by_steps(desk: Desk, repair: Repair) -> bool:
    """The repair page by page, each as long as the last was done, from where it was left; whether the technician came to its end."""
    pages = screen.repair_pages(repair, desk.session.knowledge, desk.prompt.width())
    of_steps = {check for page in pages for check in page.checks}
    at = min(desk.session.visit.pages.get(repair.repair, 0), len(pages) - 1)
    if pages[at].step > 1 and not _still_shown(desk, repair, [c for c in repair.before if c not in of_steps or any(c in p.checks for p in pages[:at])]):
        return False
    while at < len(pages):
        page = pages[at]
        if desk.session.visit.pages.get(repair.repair, 0) != at:
            desk.session.tell(PAGE, {"repair": repair.repair, "page": at})
        if page.step == 1 and not _shown(desk, repair, [c for c in repair.before if c not in of_steps]):
            return False
        desk.prompt.lines(page.lines)
        moved = _asked_on(desk)
        if moved == 0:
            return False
        if moved > 0 and not _shown(desk, repair, page.checks):
            return False
        at = max(0, at + moved)
    return True


def _still_shown(desk: Desk, repair: Repair, names: Sequence[str]) -> bool:
    """What to mind where a repair goes on in its midst; whether what the steps before showed still stands."""
    desk.prompt.say("On from where it was left. First see that the power, the gas and every lead are as the steps before left them; `b` shows those.")
    k = desk.session.knowledge
    says = [k.caution[c].says for c in cautions_of(k, repair)]
    desk.prompt.lines(screen.caution_lines(says, {*says}, desk.prompt.width()))
    return _shown(desk, repair, names)


def _asked_on(desk: Desk) -> int:
    """By how many pages to go on; 0 to leave the repair."""
    while not desk.session.hazards():
        said = desk.prompt.key("Enter next, b back, x leave it: ", ("b", "x"), STEP_HELP)
        if not said or agrees(said):
            return 1
        if said.lower() in ("b", "x"):
            return -1 if said.lower() == "b" else 0
        desk.aside(said, "Enter, b, x")
    return 0


def _shown(desk: Desk, repair: Repair, names: Sequence[str]) -> bool:
    """Ask for those of *names* that nothing has shown yet; whether all of them are now."""
    lacking = _lacking(desk, repair, names)
    if lacking:
        desk.prompt.say("Before it is changed:")
    for need in lacking:
        tell_need(desk.prompt, need)
        check = desk.session.knowledge.check[need.condition]
        if not take_lines(desk, check.any_of[0], quiet=True, briefly=bool(check.take)) or desk.session.hazards():
            return False
        if left := _lacking(desk, repair, [need.condition]):
            _tell_why_not(desk, left[0])
            return False
    return True


def _tell_why_not(desk: Desk, need: Need) -> None:
    """Why a check is not met by what was just typed: what speaks against it, or what that leaves out and how to type it."""
    if need.denied_by:
        desk.prompt.say(f"Not so: {need.says}. Against it stands {printable('; '.join(map(as_words, need.denied_by)), MOST_OF_AGAINST)}. See to that first.")
        desk.prompt.say("`list` has its number, `fix` corrects a slip.")
        return
    desk.prompt.say(f"Not so yet: {need.says}. Do that first.")
    kept = desk.session.visit.telling[-1:]
    tell_how_to_count(desk.prompt, desk.session.record(kept[0]), [need]) if kept else None


def _lacking(desk: Desk, repair: Repair, names: Sequence[str]) -> list[Need]:
    return [n for n in desk.session.before(repair).needs if n.condition in names and (n.calls_left or n.denied_by)]


def checks(desk: Desk, _: str) -> None:
    """The checks after the repair."""
    state = desk.session.after()
    if state is None:
        raise BadInput([Problem(None, "No repair is being proved.", "`mend` shows the repair of what leads.")])
    desk.prompt.tell_hazards()
    desk.prompt.lines(screen.proof_lines(state, desk.prompt.width(), desk.session.knowledge))


def same(desk: Desk, _: str) -> None:
    """The repair did not help."""
    desk.session.still_there()
    desk.prompt.say("Kept: the repair changed nothing. On with the search; what was read since tells of the fault.")
    desk.show_change()


def close(desk: Desk, _: str) -> None:
    """End the visit."""
    state = desk.session.after()
    desk.prompt.tell_hazards()
    if state is not None and state.proved and not desk.session.hazards():
        desk.session.tell("closed", {"as": "proved"})
        desk.prompt.say("Closed as PROVED: the repair and every check after it stand in the record.")
        desk.leave()
    if state is None:
        desk.prompt.say("No repair was proved.")
    else:
        desk.prompt.lines(screen.proof_lines(state, desk.prompt.width(), desk.session.knowledge, title="Not proved yet: "))
    if reason := _reason(desk):
        desk.session.tell("closed", {"as": "not_proved", "reason": printable(reason, 400)})
        desk.prompt.say("Closed as NOT PROVED.")
        desk.leave()


def _reason(desk: Desk) -> str:
    """Why it is closed, agreed to; empty where the visit goes on. What was typed is not lost: a command is done, a reading is kept, the rest is a note."""
    reason = desk.prompt.ask("It closes as NOT PROVED. Why? (Enter: do not close) ", REASON_HELP)
    while reason:
        if desk.is_command(reason) or exactly(desk.session, reason) is not None:
            desk.prompt.say("Not closed: that is no reason.")
            desk.aside(reason, "Enter")
            return ""
        said = desk.prompt.ask(f"Closes with: {printable(reason, 120)}. y close, Enter do not, or another reason: ", REASON_HELP)
        if agrees(said):
            return reason
        if not said or plain(said) in SAYS_NO:
            desk.session.tell("note", {"text": printable(reason, 2000)})
            desk.prompt.say("Not closed; what you typed is kept as a note.")
            return ""
        reason = said
    return ""
