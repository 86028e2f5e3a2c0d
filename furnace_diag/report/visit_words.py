"""How a visit's report says things: the same words on a terminal and on a page."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Mapping
from itertools import groupby
from typing import Any

from furnace_diag.diagnosis.findings import Need
from furnace_diag.diagnosis.records import Record
from furnace_diag.diagnosis.taking import CONTACT, HOLD, METER, SET_UP
from furnace_diag.problems import printable
from furnace_diag.quantities import format_quantity
from furnace_diag.report.terminal import BOARD_SAYS
from furnace_diag.visit.expected import Range
from furnace_diag.visit.summary import PROVED, Belief, RepairTold, SafetyAnswer, Summary, ToldRecord

IN_AN_ID = re.compile(r"(?<=[a-z0-9])_(?=[a-z0-9])")  # nobody says or types it like that
MOST_LACKS = 4  # reasons told at the top of a report
LONGEST = 2000  # characters of one text of a stranger
ODDS = "Belief is the share that the virtual furnaces of these rules give a part after the entries so far. It is a lead, never a proof."
HASH = "An edited line of the visit's file shows by `furnace-diag visit verify`; a whole file written anew shows only by this hash."
DRILL = "A drill: this furnace is a virtual one and nobody's."
SAFETY = "Live parts, gas and hot metal can kill: work as your licence and local codes allow. The plate and the wiring diagram win over every figure here."
HOW = {"meter": METER, "contact": CONTACT, "hold": HOLD, "set_up": SET_UP, "sure": {"yes": "the same twice"}}
TAKEN_BACK: dict[str, tuple[str, tuple[str, ...]]] = {  # of each kind of event but records what it is called, and the fields that say more
    "complaint": ("the complaint", ("text",)), "asked": ("a question left open", ("question",)), "option": ("of this furnace", ("option", "value")),
    "without": ("planned without", ("instruments",)), "never": ("never to be had", ("name", "step")), "meter": ("how your meter reads", ("meter",)),
    "call": ("heat call", ("call",)), "click": ("the valve's click in heat call", ("call",)), "note": ("the note", ("text",)),
    "repair": ("the repair", ("repair",)), "no_change": ("that the repair changed nothing", ()), "closed": ("closed", ("as", "reason")),
}  # fmt: skip
STANDS = {
    "within": "as expected",
    "below": "BELOW",
    "above": "ABOVE",
    "as_healthy": "as on a healthy furnace",
    "unlike_healthy": "NOT as on a healthy furnace",
    "not_judged": "",
}


def filled(text: str, width: int, indent: str = "", first: str | None = None) -> list[str]:
    """*text* in lines of *width*."""
    return textwrap.wrap(text, width, initial_indent=indent if first is None else first, subsequent_indent=indent) or [""]


def words(name: str) -> str:
    """An id as words."""
    return name.replace("_", " ")


def as_words(text: str) -> str:
    """*text* with the ids in it as words. Not for what names a file."""
    return IN_AN_ID.sub(" ", text)


def record_in_words(record: Record) -> str:
    """A record as it is read back at the prompt: name, value, and how it was taken."""
    told = [f"at {record.step}" if record.step else "", f"call {record.call}" if record.call > 1 else ""]
    told += [f"after {record.after_s:g} s" if record.after_s is not None else ""]
    told += [f"meter {record.meter}" if record.meter else "", f"on the {record.contact}" if record.contact else ""]
    told += [HOLD.get(str(record.hold), ""), *record.set_up]
    told += ["the same twice" if record.sure else ""]
    more = ", ".join(words(t) for t in told if t)
    return f"{words(record.name)}: {value_in_words(record)}{f' ({more})' if more else ''}"


def value_in_words(record: Record) -> str:
    """Its value, the figure that told a word beside that."""
    said = printable(record.said.rpartition(": ")[2])
    figure = f" ({said})" if record.kind == "sign" and said[:1].isdigit() else ""
    return f"{words(record.word)}{figure}" if record.word is not None else said


def event_in_words(event: str, says: Mapping[str, Any]) -> str:
    """An event of a visit that is no record, in a few words."""
    told, names = TAKEN_BACK.get(event, (words(event), ()))
    said = [", ".join(map(str, v)) if isinstance(v, list) else str(v) for name in names if (v := says.get(name))]
    return printable(f"{told}: {as_words(' '.join(said))}" if said else told, 200)


def value_of(record: ToldRecord, *, ascii: bool) -> str:
    """The value of a record, with its unit; as it was typed too, where that is something else."""
    typed = printable(record.typed, 80)
    if record.number is None or record.unit is None:
        figure = f" (typed {typed})" if record.word and typed[:1].isdigit() and words(record.word) != words(typed) else ""
        return words(record.word or typed) + figure
    shown = format_quantity(record.number, record.unit, ascii=ascii)
    plain = format_quantity(record.number, record.unit, ascii=True)
    same = plain.startswith(typed) or plain.split()[0] == typed.split()[0]  # only the unit is spelled otherwise
    return shown if same else f"{shown} (typed {typed})"


def how_taken(record: ToldRecord) -> str:
    """How a record was taken, in words; empty where nothing is known of it."""
    told = [f"call {record.call}"] if record.call > 1 else []
    for name, value in record.how:
        said = f"after {value} s" if name == "after_s" else HOW.get(name, {}).get(value, "")
        told.append(said or f"{words(name)}: {printable(value, LONGEST)}")
    return ", ".join(told)


def range_of(bounds: Range, unit: str | None, *, ascii: bool) -> str:
    """A range with its unit."""
    low, high = (format_quantity(end, unit or "count", ascii=ascii) for end in (bounds.low, bounds.high))
    (figure, _, named), (_, _, other) = low.partition(" "), high.partition(" ")
    return low if low == high else f"{figure if named == other else low} to {high}"


def expected_of(record: ToldRecord, *, ascii: bool) -> str:
    """What was expected of a record and how it stands to it; why there is nothing to say, or nothing."""
    if record.usual:
        shows = f", which shows: {' or '.join(words(u) for u in record.usual)}" if record.stands == "unlike_healthy" else ""
        return f"{STANDS[record.stands]}{shows}"
    told = [f"expected {range_of(record.expected, record.unit, ascii=ascii)}"] if record.expected else []
    told += [f"healthy virtual furnaces read {range_of(record.healthy, record.unit, ascii=ascii)}"] if record.healthy else []
    if told:
        return f"{'; '.join(told)}: {STANDS[record.stands]}" if STANDS[record.stands] else "; ".join(told)
    return f"no range: {printable(record.unused, 300)}" if record.unused else ""


def step_of(record: ToldRecord) -> str:
    """Where in the sequence a record stands."""
    return words(record.step) if record.step else "the call as a whole, or no step told"


def answer_of(answer: SafetyAnswer) -> str:
    """What was answered to a question of safety."""
    if answer.answers:
        return "; ".join(words(a.word or a.typed) for a in answer.answers)
    return "left open" if answer.asked else "not asked"


def belief_of(belief: Belief) -> str:
    """Who leads after an entry."""
    if belief.something_else > belief.probability:
        return f"something else {belief.something_else:.0%}, then {words(belief.leading)} {belief.probability:.0%}"
    return f"{words(belief.leading)} {belief.probability:.0%}"


def result_of(summary: Summary) -> list[str]:
    """How the visit ended, and whether the records bear that out."""
    closing = summary.closing
    lacks = [f"- {text}" for text in closing.lacks[:MOST_LACKS]]
    lacks += [f"- and {len(closing.lacks) - MOST_LACKS} more, listed with the repair"] if len(closing.lacks) > MOST_LACKS else []
    earlier = [f"Not written down before the repair: {n.says}" for n in (summary.repairs[-1].before if summary.repairs else ()) if n.calls_left or n.denied_by]
    last = summary.repairs[-1] if summary.repairs else None
    if last is not None:
        mended = f"Mended: {', '.join(words(n) for n in (last.part, last.failure) if n)}."
        lacks, earlier = [mended, *lacks], [mended, *earlier]
    if closing.closed == PROVED:
        if closing.proved:
            return ["Closed as PROVED, and the records bear that out.", *earlier]
        now = "" if summary.rules_of_visit == summary.rules_version else f" by rules {summary.rules_version}, which are not those of the visit,"
        return [f"Closed as proved, but{now} the records do NOT bear that out:", *lacks]
    said = f"Closed as {printable(words(closing.closed), 80)}" if closing.closed else "Not closed: the visit can go on"
    reason = f", reason given: {printable(closing.reason, LONGEST)}" if closing.reason else ""
    if closing.proved:
        return [f"{said}{reason}.", "The records do show the last repair proved.", *earlier]
    return [f"{said}{reason}.", "NOT PROVED mended:", *lacks]


def board_of(summary: Summary) -> str:
    """The board's verdict, of the board that was found."""
    said = BOARD_SAYS[summary.board.verdict]
    return said.replace("Board", "Board before the repair", 1) if summary.repairs else said


def killers_of(summary: Summary) -> list[tuple[str, str]]:
    """What killed the board, as a mark and a line: all of it once the board is proved bad, before that what was found and the names of the rest."""
    board = summary.board
    shown = [k for k in board.killers if k.found or board.proved]
    told = [("FOUND" if k.found else "Look for", f"{k.says} Look: {k.look} Cured when: {k.accept}") for k in shown]
    rest = ", ".join(words(k.root_cause) for k in board.killers if k not in shown)
    return [*told, ("Should it be proved, look for", f"{rest}.")] if rest else told


def sources_of(summary: Summary) -> list[tuple[str, str]]:
    """Each outside source with all that rests on it, by name and the rule's file and line."""
    resting: dict[str, list[str]] = {}
    for one in summary.sources:
        resting.setdefault(one.source, []).append(f"{one.what} ({one.rule})")
    return [(source, ", ".join(dict.fromkeys(names))) for source, names in resting.items()]


def beliefs_of(summary: Summary) -> list[tuple[str, str]]:
    """Who leads after which entries; entries in a row that change nothing together."""
    runs = [(said, list(group)) for said, group in groupby(summary.belief, belief_of)]
    return [(_entries(group[0].after, group[-1].after), said) for said, group in runs]


def _entries(first: int, last: int) -> str:
    if not last:
        return "before any"
    return f"{first}" if first == last else f"{first or 'start'} to {last}"


def need_of(need: Need) -> tuple[str, str]:
    """A line of a checklist: met, open or denied as a mark, and the line with the records behind it."""
    if need.denied_by:
        return "[!]", f"{need.says}: against it stands {as_words(printable('; '.join(need.denied_by), 300))}"
    behind = f" ({as_words(printable('; '.join(dict.fromkeys(need.met_by)), 300))})" if need.met_by else ""
    if need.met_by and need.calls_left:
        return "[ ]", f"{need.says}{behind}: {need.calls_left} more call{'s' if need.calls_left > 1 else ''} wanted"
    return ("[x]", f"{need.says}{behind}") if need.met_by else ("[ ]", need.says)


def repair_of(repair: RepairTold) -> str:
    """What was done."""
    of = ": ".join(printable(words(n), 80) for n in (repair.part, repair.failure) if n)
    return f"{printable(repair.says, 600)} ({of})"


def repair_result(repair: RepairTold) -> str:
    """Whether the checks after a repair are complete."""
    if repair.no_change:
        return "The fault was still there after it."
    if not repair.known:
        return "These rules do not know this repair, nor what proves it."
    if repair.proved:
        return "Every check after it is met."
    met = sum(not (n.calls_left or n.denied_by) for n in repair.needs)
    lacks = " No proof of the failure was complete before it." if repair.lacks_proof else ""
    return f"{met} of {len(repair.needs)} checks after it are met: NOT proved.{lacks}"


def file_of(summary: Summary) -> list[str]:
    """The file behind the report."""
    told = [f"{summary.lines} lines; {summary.taken_back} taken back, {summary.corrected} corrected. The file keeps them all."]
    if summary.half_written:
        told.append("A last line that was only half written is left out.")
    if summary.rules_of_visit != summary.rules_version:
        made = f"The visit was made with rules {printable(summary.rules_of_visit)}"
        told.append(f"{made}; ranges, belief and proofs here are those of rules {summary.rules_version}.")
    told.append(f"Rules {summary.rules_version}, findings by {summary.engine}.")
    return told


def when(at: str) -> str:
    """A time of the journal for people: to the minute, in UTC."""
    return f"{printable(at[:10])} {printable(at[11:16])} UTC"
