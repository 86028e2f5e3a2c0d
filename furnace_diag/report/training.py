"""Screens of the trainer's bench, for a terminal of any width from 40 columns on, without colour."""

from __future__ import annotations

import textwrap
from collections import Counter
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from furnace_diag.diagnosis.records import Record
from furnace_diag.knowledge.models import Knowledge
from furnace_diag.problems import printable
from furnace_diag.training.acts import Told
from furnace_diag.training.bench import Seen
from furnace_diag.training.commands import MOST_FOUND, WORDS
from furnace_diag.training.drill import Drill
from furnace_diag.training.lesson import Lesson

if TYPE_CHECKING:  # a drill under way needs none of what ranks
    from furnace_diag.training.policy import Checked, Visit
    from furnace_diag.training.score import Moment, Score

MOST_SHOWN = 8  # differences that a check lists
MOST_KNOWN = 3  # options of the furnace that a drill tells unasked
MOST_OPEN = 4  # checks that a score lists
ENDED = {
    "act": "it would mend {part} then",
    "proof": "it would ask for what the board's proof still lacks then",
    "hazard": "it stops at a hazard: {hazard}",
    "nothing_left": "it has no reading left that helps",
    "too_long": "it was still asking",
}
BOARD_SAYS = {
    "left_alone": "left alone",
    "rightly_blamed": "blamed, and it is at fault",
    "condemned": "CONDEMNED, and it is good",
}
SAFETY = "Live parts, gas and hot metal can kill: on a real furnace work as your licence and local codes allow."


def fill(text: str, width: int, indent: str = "", first: str | None = None) -> list[str]:
    """*text* wrapped; *first* begins its first line."""
    return textwrap.wrap(text, width, initial_indent=indent if first is None else first, subsequent_indent=indent) or [""]


def words(name: str) -> str:
    """An id for people."""
    return name.replace("_", " ")


def _sentence(text: str) -> str:
    """*text* with one full stop, though it ends in "in. w.c."."""
    return text if text.endswith(".") else f"{text}."


# --- lessons ----------------------------------------------------------------------------------------


def check_lines(checked: Checked, width: int) -> Iterator[str]:
    """What `scenario check` found out."""
    visit, lesson = checked.visit, checked.lesson
    yield from fill(f"{lesson.name or lesson.file}: {', '.join(f'{h.fault.part}:{h.fault.failure}' for h in lesson.faults)}", width, "  ", "")
    if not checked.shows:
        yield from fill("NOTHING SHOWS: this furnace reads and does what a good one does. Take another fault, severity or options.", width, "    ", "  ")
    else:
        more = f" and {len(checked.shows) - MOST_SHOWN} more" if len(checked.shows) > MOST_SHOWN else ""
        yield from fill(f"It shows: {'; '.join(map(words, checked.shows[:MOST_SHOWN]))}{more}.", width, "    ", "  ")
    for line in checked.denied:
        yield from fill(f"NOT BORNE OUT: {printable(line, 300)}. Mend the record, or list it under untrue.", width, "    ", "  ")
    if not checked.denied:
        yield from fill("What the customer tells agrees with it.", width, "    ", "  ")
    for line in checked.tells_nothing:
        yield from fill(f"The answer asks for {words(line)}.", width, "    ", "  ")
    for one, other, parted_by in checked.apart:
        by = f"; {words(parted_by)} would part them" if parted_by else ", and no reading of these rules does"
        yield from fill(f"Not told apart: {words(one)} from {words(other)}{by}.", width, "    ", "  ")
    first = visit.answer.parts[0]
    ended = ENDED[visit.ended].format(
        part=words(visit.answer.act.part) if visit.answer.act else "", hazard=visit.answer.hazards[0].says.rstrip(".") if visit.answer.hazards else ""
    )
    yield from fill(f"By itself the tool needs {visit.readings} readings and {visit.minutes:.0f} minutes; {ended}.", width, "    ", "  ")
    if checked.again_for_nothing:
        yield from fill("PUT IN AGAIN FOR NOTHING: no fault here opens a breaker or the fuse. Leave put_in_again out.", width, "    ", "  ")
    right = ("that is one of the two" if len(lesson.parts) > 1 else "that is right") if checked.right else "THAT IS WRONG"
    yield from fill(f"It ends at {words(first.part)} with {first.probability:.0%}; {right}.", width, "    ", "  ")
    made = "; ".join(f"{why} ({points:.1f})" for why, points in checked.made_of) or "nothing"
    yield from fill(f"Difficulty {checked.difficulty:.1f} of 10: {made}.", width, "    ", "  ")


def sheet_lines(
    checked: Checked, proof: Sequence[Record], knowledge: Knowledge, width: int, then: tuple[Checked, Sequence[Record]] | None = None
) -> Iterator[str]:
    """One page for the instructor. *then*: of two faults, how the other is found once the first is mended."""
    lesson = checked.lesson
    yield from fill(f"For the instructor: {lesson.name}, difficulty {checked.difficulty:.1f} of 10", width)
    yield from fill(lesson.story, width) if lesson.story else ()
    yield ""
    yield from _told_and_hidden(lesson, knowledge, width)
    yield ""
    yield from _rests_on(checked, proof, knowledge, width)
    yield ""
    yield from _wrong_turn(checked.visit, width)
    yield ""
    if then is not None:
        yield from fill(f"Once the {words(checked.visit.answer.parts[0].part)} is mended, of the other fault:", width)
        yield from _way_of(*then, knowledge, width)
        yield ""
    yield from fill("To talk about:", width)
    for line in (*lesson.says, *_talking(checked, proof, knowledge)):
        yield from fill(printable(line, 400), width, "    ", "  - ")
    yield from fill(SAFETY, width)


def _told_and_hidden(lesson: Lesson, knowledge: Knowledge, width: int) -> Iterator[str]:
    yield from fill(f"The customer says: {printable(lesson.report.complaint, 500)}", width, "  ", "")
    yield from told_lines(lesson, knowledge, width)
    for h in lesson.faults:
        calls = f", in heat call{'s' if len(h.calls) > 1 else ''} {', '.join(map(str, h.calls))} only" if h.calls else ""
        yield from fill(f"Hidden: {words(h.fault.part)}, {words(h.fault.failure)} (severity {h.severity:g}{calls})", width, "  ", "")


def _rests_on(checked: Checked, proof: Sequence[Record], knowledge: Knowledge, width: int) -> Iterator[str]:
    """What a right answer rests on: what the lesson asks for, the readings of a proof, and what these leave open."""
    if checked.lesson.readings:
        yield from fill("A right answer must rest on:", width)
    for name in checked.lesson.readings:
        named = knowledge.point.get(name) or knowledge.sign.get(name)
        yield from fill(named.says if named else words(name), width, "     ", "   - ")
    yield from _way_of(checked, proof, knowledge, width)


def _way_of(checked: Checked, proof: Sequence[Record], knowledge: Knowledge, width: int) -> Iterator[str]:
    """The readings of a proof, what these leave open, and what else the board's proof wants."""
    yield from fill(_head_of_proof(checked, proof), width)
    for number, r in enumerate(proof, 1):
        entry = knowledge.point.get(r.name) or knowledge.sign.get(r.name)
        at = f" at {words(r.step)}" if r.step else ""
        yield from fill(f"{entry.says if entry else r.name}{at}: {printable(r.said.partition(': ')[2])}", width, "     ", f"  {number}. ")
    for one, other, parted_by in checked.apart:
        by = f"Read {words(parted_by)} too" if parted_by else "No reading of these rules does, so no one of them is proved"
        yield from fill(f"It does not part {words(one)} from {words(other)}. {by}.", width, "    ", "  ! ")
    visit = checked.visit
    if visit.ended == "proof" and visit.answer.board.nearest is not None:
        yield from fill("And before the board is called bad, what its proof lacks:", width)
        for need in visit.answer.board.nearest.missing:
            yield from fill(need.take, width, "     ", "   - ")


def _wrong_turn(visit: Visit, width: int) -> Iterator[str]:
    """The wrong part that the tool's own visit believed most, and the reading that turns it away."""
    tempting, believed = visit.tempting
    after = next((s.record.said for s in visit.steps if s.wrong == tempting and s.wrong_probability == believed), "")
    yield from fill(_sentence(f"The tempting wrong turn: {words(tempting)}, {believed:.0%} after {printable(words(after))}"), width, "  ", "")
    parted = next((s.record.said for s in visit.steps if visit.steps.index(s) > 0 and s.wrong_probability < believed / 2), "")
    yield from fill(_sentence(f"What turns it: {printable(words(parted))}"), width, "  ", "") if parted else ()


def _head_of_proof(checked: Checked, proof: Sequence[Record]) -> str:
    """What stands above the readings of the shortest proof, or in its place where there are none."""
    if not checked.right:
        found = "What it read of that part:" if proof else "No reading of its own leads there."
        return f"The tool does not end at the right part. {found}"
    if not proof:
        return "The tool needs no reading for a proof: what the customer tells and how far a call gets lead it there as surely."
    return "The shortest way that the tool knows:" if checked.apart else "The shortest proof that the tool knows:"


def _talking(checked: Checked, proof: Sequence[Record], knowledge: Knowledge) -> Iterator[str]:
    for h in checked.lesson.faults:
        disturbed = dict.fromkeys(target.partition(":")[0] for target in knowledge.part[h.fault.part].disturbs)
        if disturbed:
            yield f"When the {words(h.fault.part)} is worked on, {words(' and '.join(disturbed))} can be left wrong."
    read = [e for r in proof if (e := knowledge.point.get(r.name) or knowledge.sign.get(r.name)) is not None]
    yield from [knowledge.caution[c].says for c in dict.fromkeys(c for e in read for c in e.cautions)][:2]


def told_lines(lesson: Lesson, knowledge: Knowledge, width: int) -> Iterator[str]:
    """What the customer tells besides."""
    for r in lesson.report.records:
        named = knowledge.point.get(r.name) or knowledge.sign.get(r.name)
        said = f"{named.says}{r.said[r.said.index(': ') :]}" if named is not None and ": " in r.said else r.said
        yield from fill(f"Told: {printable(words(said), 300)}{f', at {words(r.step)}' if r.step else ''}", width, "    ", "  ")


# --- a drill ----------------------------------------------------------------------------------------


def opening_lines(drill: Drill, width: int, *, goes_on: int) -> Iterator[str]:
    """What the trainee is told at the start."""
    lesson = drill.lesson
    yield from fill(f"The customer says: {printable(lesson.report.complaint, 500)}", width)
    yield from told_lines(lesson, drill.k, width)
    known = list(known_lines(drill, width, MOST_KNOWN))
    if known:
        yield "Known of the furnace:"
        yield from known
    if (left := len(lesson.report.options) - MOST_KNOWN) > 0:
        yield from fill(f"and {left} more: type known", width, "    ", "  ")
    yield from fill(f"You stand at the furnace. {_as_it_stands(drill)} {SAFETY}", width)
    if goes_on:
        yield from fill(f"You go on where you left it, after {goes_on} act{'s' if goes_on > 1 else ''}.", width)
        yield from fill(f"Now {'; '.join(f'{words(sign)}: {words(value)}' for sign, value in drill.bench.watched().items())}.", width, "    ", "  ")
    if (proving := drill.account.repair) is not None:
        yield from fill(f"You did: {words(proving.repair)}. checks lists what of its proof is open.", width, "    ", "  ")
    yield from fill("Type help for the commands. Name the part that is at fault to end.", width)


def known_lines(drill: Drill, width: int, most: int | None = None) -> Iterator[str]:
    """What is known of the furnace, in the order of the furnace's file: the first *most* of it, or all."""
    options, known = drill.family.furnace.options, drill.lesson.report.options
    for name in [name for name in options if name in known][:most]:
        yield from fill(f"{options[name].says.partition(';')[0]}: {words(known[name])}", width, "    ", "  ")


def _as_it_stands(drill: Drill) -> str:
    """What the trainee has switched, called for and taken off."""
    bench = drill.bench
    makes = "A wire of yours" if bench.joined else "The thermostat"
    called = "Nothing is called for" if bench.called is None else f"{makes} makes a {words(bench.called.step)}"
    power = "you have switched the power OFF" if bench.isolated else "the power is as you found it"
    more = [f"{called} and {power}."]
    more += ["The gas cock is shut."] if bench.cock_shut else []
    more += [f"A gauge is on {' and '.join(words(g) for g in sorted(drill.gas.gauges))}."] if drill.gas.gauges else []
    more += [f"Off: {', '.join(bench.lifted)}."] if bench.lifted else []
    return " ".join(more)


def help_lines(width: int) -> Iterator[str]:
    """The commands of a drill."""
    for w in WORDS:
        yield from fill(f"{w.usage}: {w.says}", width, "    ", "  ")
    yield from fill("After a point comes the question what the meter should show; a figure, or Enter to leave it. Or in one line: read r to c: 25", width)
    yield from fill("A meter is high impedance unless you end with low. Terminals by what they are: volts heat terminal to neutral low", width)
    yield from fill("What happens is told as time goes by, and noted. What does not happen is noted where you look at it by name: look flame", width)


def seen_lines(seen: Seen, width: int) -> str:
    """One thing that happened, with the minutes and seconds of the visit."""
    return "\n".join(fill(f"{words(seen.sign)}: {words(seen.value)}", width, "          ", f"  {int(seen.at) // 60:3d}:{int(seen.at) % 60:02d}  "))


def told_result_lines(told: Told, knowledge: Knowledge, width: int) -> Iterator[str]:
    """What came of an act."""
    head = {"stopped": "STOP. ", "cannot": ""}.get(told.kind, "")
    yield from fill(f"{head}{printable(told.text, 600)}", width, "  ", "")
    for c in told.cautions:
        yield from fill(f"Caution: {knowledge.caution[c].says}", width, "    ", "  ")


def notes_lines(drill: Drill, width: int) -> Iterator[str]:
    """What was read so far."""
    for taken in drill.taken:
        yield from fill(printable(words(taken.said), 200), width, "    ", "  ")
    if not drill.taken:
        yield "  Nothing read yet."


def found_lines(found: Sequence[tuple[str, str]], knowledge: Knowledge, nodes: dict[str, str], width: int) -> Iterator[str]:
    """What words describe."""
    for kind, name in found[:MOST_FOUND]:
        entry = knowledge.entry(name) if kind in ("read", "look", "part") else None
        says = nodes.get(name, "") if kind == "terminal" else getattr(entry, "says", "")
        yield from fill(f"{kind} {words(name)}{': ' if says else ''}{says}", width, "    ", "  ")
    left = Counter(kind for kind, _ in found[MOST_FOUND:])
    if left:
        kinds = ", ".join(f"{many} {kind}" for kind, many in left.items())
        yield from fill(f"{sum(left.values())} more ({kinds}): find more shows them, or add a word.", width, "  ")
    if not found:
        yield "  Nothing is described so. Try fewer words."


def score_lines(score: Score, drill: Drill, width: int) -> Iterator[str]:
    """The score, and what it was."""
    lesson = drill.lesson
    verdict = "RIGHT" if score.right else "PARTLY RIGHT" if score.partly else "WRONG"
    faults = "; ".join(f"{words(h.fault.part)}, {words(h.fault.failure)}" for h in lesson.faults)
    yield from fill(f"{verdict}. You named {words(' and '.join(score.named))}; it was {faults}.", width)
    for cause in score.behind:
        yield from fill(f"A right answer also says what brought it about: {cause}", width, "    ", "  ")
    yield from fill(f"Readings: {score.readings}", width, "  ")
    yield from fill(f"Minutes: {score.minutes:.0f}", width, "  ")
    yield from fill(f"Money: {score.money:.0f} (parts {score.price:.0f}, the rest is time)", width, "  ")
    if score.needlessly_replaced:
        yield from fill(f"Replaced for nothing: {words(', '.join(score.needlessly_replaced))}", width, "    ", "  ")
    yield from fill(f"Board: {BOARD_SAYS[score.board]}", width, "  ")
    proof = "complete" if score.proof else "not complete"
    yield from fill(f"Proof by what you read: {proof} (the tool would believe you {score.belief:.0%})", width, "    ", "  ")
    yield from _repair_lines(score, width)
    if score.not_read:
        yield from fill(f"A right answer also rests on: {words(', '.join(score.not_read))}", width, "    ", "  ")
    if score.not_weighed:
        yield from fill(f"Read only where it is not weighed: {words(', '.join(score.not_weighed))}", width, "    ", "  ")
    yield from fill(f"Foretold right: {score.foretold_right} of {score.foretold}", width, "  ")
    yield from fill(f"Safety: {f'{len(score.hurts)} time' + ('s' if len(score.hurts) > 1 else '') if score.hurts else 'nothing hurtful tried'}", width, "  ")
    for hurt in score.hurts:
        yield from fill(words(hurt.what), width, "      ", "    - ")
    for line in lesson.says:
        yield from fill(f"Worth saying: {printable(line, 300)}", width, "    ", "  ")


def _repair_lines(score: Score, width: int) -> Iterator[str]:
    """How far the checks of the repair came, where one was done."""
    if score.repair_proved is None:
        return
    every = score.checks_met + len(score.checks_open)
    how = "proved" if score.repair_proved else "not proved"
    yield from fill(f"Repair ({words(score.repair)}): {how}, {score.checks_met} of {every} checks after it met", width, "    ", "  ")
    for check in score.checks_open[:MOST_OPEN]:
        yield from fill(f"open: {check}", width, "      ", "    - ")
    if len(score.checks_open) > MOST_OPEN:
        yield f"    - and {len(score.checks_open) - MOST_OPEN} more"
    if score.fitting != score.repair:
        yield from fill(f"What the rules do for that fault: {words(score.fitting)}; its checks are its own", width, "    ", "  ")


def replay_lines(moments: Iterator[Moment], width: int) -> Iterator[str]:
    """What the tool believed after each reading, and would have asked."""
    yield from fill("After each reading: what the tool believed, and would have read next.", width)
    yield from fill("What was noted counts: what you looked at or read by name, how far a call got, what you watched come and stay to its step's end.", width)
    yield from fill("That something did not come counts only where you looked at it.", width)
    for number, m in enumerate(moments, 1):
        yield from fill(printable(words(m.said), 400), width, "     ", f"{number:3d}. ")
        yield from fill(", ".join(f"{words(p)} {share:.0%}" for p, share in m.parts), width, "       ", "     ")
        yield from fill(f"next: {words(m.next)}", width, "       ", "     ")
