"""An answer as lines for a terminal of any width from 40 columns on, without colour."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from furnace_diag.diagnosis.answer import Answer, FailureBelief, PartBelief
from furnace_diag.diagnosis.apart import NotToldApart
from furnace_diag.diagnosis.choice import NEVER_THERE, Act, NextReading, Outcome
from furnace_diag.diagnosis.findings import Found, Need, ProofState
from furnace_diag.diagnosis.taking import cautions_for, in_short
from furnace_diag.diagnosis.verdict import BOARD, BoardVerdict
from furnace_diag.knowledge.models import Knowledge
from furnace_diag.problems import printable

if TYPE_CHECKING:
    from furnace_diag.diagnosis.pairs import TwoAnswer

SHOWN_FROM = 0.03  # parts below this are counted, not listed
LEAST_TOLD = 0.005  # of belief that is left over
MOST_SHOWN = 4
MOST_REASONS = 4
MOST_OUTCOMES = 3  # told of the next reading in short
NEVER_TOLD_FROM = 0.1  # in short: from here on it is told that a furnace may not come to where it is to be read
OTHER_WAYS = 0.05  # belief in other failures of a part, mended in another way, from which they are told
MOST_MISSING = 3  # of a proof, told in short
LIKELY_THEN = 0.1  # belief from which it is told of what would lead after a reading
NEARLY_AS_LIKELY = 0.5  # of the likeliest failure of a part, from which another is named beside it
MOST_AGAIN = 2  # records to be looked at again, in one screen
MOST_BESIDE = 1  # of a proof, where another reading comes before it


def answer_lines(answer: Answer, knowledge: Knowledge, width: int, *, show_all: bool = False) -> Iterator[str]:
    """The answer, line by line: in short for a screen beside the furnace, or all of it. Hazards, doubts and cautions are never left out."""
    if answer.complaint:
        yield from _fill(f"Complaint: {printable(answer.complaint, 500)}", width)
    yield from _hazards(answer, width)
    yield from _understood(answer, knowledge, width)
    yield from _clashes(answer, width)
    yield from _suspects(answer, width, show_all=show_all)
    yield from _findings(answer, width, show_all=show_all)
    yield from look_again_lines(answer, width)
    yield from _next(answer, width, show_all=show_all)
    yield from _left_open(answer, width, show_all=show_all)
    if show_all or answer.board.proved:
        yield from _board(answer, width)
    else:
        yield from _board_in_short(answer, knowledge, width)
    yield from _taken_for_granted(answer, width, show_all=show_all)
    if show_all:
        yield from _fill(f"Rules {answer.rules_version}, findings by {answer.engine}.", width)
    else:
        yield from _fill("Reasons and the rest: rank --all.", width)
    yield from _fill("Live parts, gas and hot metal can kill: work as your licence and local codes allow.", width)


def _fill(text: str, width: int, indent: str = "", first: str | None = None) -> list[str]:
    return textwrap.wrap(text, width, initial_indent=first if first is not None else indent, subsequent_indent=indent) or [""]


def _hazards(answer: Answer, width: int) -> Iterator[str]:
    for hazard in answer.hazards:
        yield from _fill(f"STOP. {hazard.says}", width)
        yield from _fill(f"Now: {hazard.tells['now']}", width, "  ")
        yield from _fill(f"Call: {hazard.tells['call']}", width, "  ")
        yield from _because(hazard, width)
        yield ""


def _because(found: Found, width: int) -> list[str]:
    return _fill(f"(because of {printable('; '.join(found.because), 200)}; {found.at})", width, "  ")


def _understood(answer: Answer, knowledge: Knowledge, width: int) -> Iterator[str]:
    """What words were taken for, what was left out, and what would make the records tell more."""
    for read in answer.read_as:
        entry = knowledge.entry(read.rpartition(" -> ")[2].split(" ")[0])
        says = f", {entry.says}" if entry is not None else ""
        yield from _fill(f"Read as: {printable(read, 200)}{says}", width, "  ", "")
    for unused in answer.not_used:
        yield from _fill(f"Not used: {printable(unused, 200)}", width, "  ", "")
    if answer.without_step:
        yield from _fill(f"Say at which step it was, and it tells more: {printable(', '.join(answer.without_step), 300)}", width, "  ", "")
    if answer.records == 0:
        yield from _fill("No readings were given: these are only the odds before any.", width)
    if answer.read_as or answer.not_used or answer.without_step or answer.records == 0:
        yield ""


def _clashes(answer: Answer, width: int) -> Iterator[str]:
    """Sets of records that no furnace can give at once."""
    for clash in answer.clashes:
        told = "; ".join(f"{printable(said)} ({printable(at)})" for said, at in zip(clash.records, clash.at, strict=True))
        says = "Cannot be true together" if len(clash.records) > 1 else "No furnace of these rules gives this"
        yield from _fill(f"{says}: {told}.", width, "  ", "")
    if answer.clashes:
        yield from _fill("Take it again: one was misread or belongs to another call, or two things have failed at once (rank FILE --two).", width)
        yield ""


def _suspects(answer: Answer, width: int, *, show_all: bool) -> Iterator[str]:
    shown = answer.parts if show_all else [p for p in answer.parts if p.probability >= SHOWN_FROM][:MOST_SHOWN]
    leads = answer.something_else > max((p.probability for p in answer.parts), default=0)
    if leads:
        again = "Look again (below), or think" if answer.look_again else "Read one of them again, or think"
        yield from _fill(f"{nothing_likely(answer, 'records')} {again} of two failures at once (rank FILE --two), before anything is replaced.", width)
        yield ""
    yield "Suspects"
    for part in shown:
        yield from _part(part, width) if show_all else _fill(_shortly(part), width, "     ", f"{part.probability:4.0%} ")
    yield f"{answer.something_else:4.0%} something else"
    rest = sum(p.probability for p in answer.parts if p not in shown)
    if rest >= LEAST_TOLD:
        yield f"{rest:4.0%} all other parts"
    yield ""


def _shortly(part: PartBelief) -> str:
    """A part and how it has failed; where another way is nearly as likely, either."""
    first, *others = part.failures
    either = [first, *(f for f in others[:1] if f.probability >= NEARLY_AS_LIKELY * first.probability)]
    return _plain(f"{part.part}:{' or '.join(f.failure for f in either)}")


def nothing_likely(answer: Answer, what: str) -> str:
    """What is said where something else leads. Without a clash some furnace gives all of *what* was told, however rare its failure is."""
    if answer.clashes:
        return f"No single failure fits these {what}; {_plain(answer.fits_best)} comes nearest."
    return f"No failure that is often met fits these {what}; {_plain(answer.fits_best)} fits them best."


def _part(part: PartBelief, width: int) -> Iterator[str]:
    yield from _fill(f"{part.part.replace('_', ' ')}", width, "     ", f"{part.probability:4.0%} ")
    for failure in part.failures:
        if failure.probability >= max(0.02, part.probability / 10) or failure is part.failures[0]:
            yield from _fill(f"{failure.says} ({failure.failure})", width, "         ", f"    {failure.probability:4.0%} ")
    yield from _reasons(part.failures[0], width)


def _reasons(failure: FailureBelief, width: int) -> Iterator[str]:
    for word, records in (("for", failure.speaks_for), ("against", failure.speaks_against)):
        if records:
            more = f" and {len(records) - MOST_REASONS} more" if len(records) > MOST_REASONS else ""
            yield from _fill(f"{word}: {', '.join(printable(r) for r in records[:MOST_REASONS])}{more}", width, "         ")


def look_again_lines(answer: Answer, width: int) -> Iterator[str]:
    """The records that fit badly with the others, in one line each."""
    for one in answer.look_again[:MOST_AGAIN]:
        at = f" ({printable(one.at)})" if one.at else ""
        yield from _fill(f"Look again: {printable(one.said)}{at} fits badly with the rest. The same again? Say so with `sure: yes`.", width, "  ", "")


def _next(answer: Answer, width: int, *, show_all: bool, alone: bool = False) -> Iterator[str]:
    """The repair that is worth more than any reading, or the reading to take next. *alone*: what the board's proof lacks is not listed below."""
    if answer.act is not None:
        lacks = answer.board.nearest.missing if alone and answer.board.nearest is not None else ()
        where = f": first, {lacks[0].says}" if lacks else "" if alone else " (below)"
        yield from _act(answer.act, width, show_all=show_all, lacks=where)
        if answer.rests_on is not None:
            at = f" ({printable(answer.rests_on.at)})" if answer.rests_on.at else ""
            said = printable(answer.rests_on.said)
            yield from _fill(f"It rests on one record: {said}{at}. Take that again before the part comes off; the same again is `sure: yes`.", width, "  ")
        yield ""
    elif answer.next:
        yield from _reading(f"Next: {answer.next[0].name}", answer.next[0], width, show_all=show_all)
        others = "; or ".join(f"{n.name}{_at(n)}{f', {n.says[0].lower()}{n.says[1:]}' if show_all else ''}" for n in answer.next[1:])
        if others:
            yield from _fill(f"Or {others}.", width, "  ")
        yield ""


def _at(reading: NextReading) -> str:
    return f" at {reading.step.replace('_', ' ')}" if reading.step else ""


def _reading(title: str, n: NextReading, width: int, *, show_all: bool) -> Iterator[str]:
    with_meter = ", low-impedance meter" if n.meter == "low" else ""
    once_more = f", once more in heat call {n.call}" if n.call else ""
    yield from _fill(f"{title}{_at(n)}{with_meter}{once_more}: {n.says[0].lower()}{n.says[1:]}", width, "  ", "")
    for need in n.needs:
        yield from _fill(f"First: {need}", width, "    ", "  ")
    if n.where:
        yield from _fill(f"Where: {n.where}", width, "  ")
    yield from _fill(f"{n.function.replace('_', ' ')}, about {n.minutes:g} min{f'; {n.why}' if show_all else ''}.", width, "  ")
    outcomes = n.outcomes if show_all else [o for o in one_to_the_eye(n.outcomes) if o.shows != NEVER_THERE or o.probability >= NEVER_TOLD_FROM][:MOST_OUTCOMES]
    for o in outcomes:
        leads = f"{_plain(o.then)} {o.then_probability:.0%}" if o.then_probability >= LIKELY_THEN else "nothing likely"
        then = "report where the call stops (stops_at)" if o.shows == NEVER_THERE else f"then {leads}"
        yield from _fill(f"{o.shows} ({o.probability:.0%}): {then}", width, "    ", "  - ")
    for caution in n.cautions:
        yield from _fill(f"Caution: {caution}", width, "   ", "  ")


def one_to_the_eye(outcomes: Sequence[Outcome]) -> list[Outcome]:
    """Outcomes, those in one that are as likely and leave the same belief: words for one and the same thing, a motor that is off and one that is silent."""
    alike: dict[tuple[object, ...], list[Outcome]] = {}
    for n, o in enumerate(outcomes):
        words = o.shows.replace("_", "").isalpha() and o.shows != NEVER_THERE
        alike.setdefault((o.then, round(o.then_probability, 4), round(o.probability, 4)) if words else (n,), []).append(o)
    return [each[0]._replace(shows=" or ".join(o.shows for o in each), probability=sum(o.probability for o in each)) for each in alike.values()]


def _plain(failure: str) -> str:
    return failure.replace("_", " ").replace(":", ": ")


def how_sure(act: Act) -> str:
    """Belief in what the repair puts right; where the part may as well have failed in another way, that too."""
    sure = f"{act.probability:.0%}"
    return sure if act.of_part - act.probability < OTHER_WAYS else f"{sure}; the part, in whatever way, {act.of_part:.0%}"


def _act(act: Act, width: int, *, show_all: bool, lacks: str) -> Iterator[str]:
    if act.needs_proof:
        yield from _fill(f"Next: what the proof of a bad board still lacks{lacks}. No other reading is worth more. Replace nothing before it.", width)
        return
    yield from _fill(f"Worth mending now: {act.part.replace('_', ' ')}, {act.says} ({how_sure(act)}).", width, "  ", "")
    if act.check is not None:
        yield from _reading(f"Confirm it first by {act.check.name}", act.check, width, show_all=show_all)
    else:
        for text in act.confirm:
            yield from _fill(f"Confirm it first: {text}", width, "  ")
        for caution in act.cautions:
            yield from _fill(f"Caution: {caution}", width, "   ", "  ")
    yield from _fill(f"If it is not that, about {act.if_wrong:.0f} minutes in all, parts counted in, will have gone before it is mended.", width, "  ")


def _left_open(answer: Answer, width: int, *, show_all: bool) -> Iterator[str]:
    """Failures that the records leave open: those that no reading at hand parts, and what parts the others."""
    lines = list(_each_pair(answer, width) if show_all else _pairs_in_short(answer, width))
    yield from lines
    if lines:
        yield ""


def _each_pair(answer: Answer, width: int) -> Iterator[str]:
    for pair in answer.not_told_apart:
        one, other = (_plain(f) for f in pair.failures)
        yield from _fill(f"{_parting(pair)} {one} from {other}.", width, "  ", "")


def _parting(pair: NotToldApart) -> str:
    if pair.parted_by is not None:
        with_meter = ", with the meter in its low-impedance mode," if pair.meter == "low" else ""
        return f"{pair.parted_by}{f' at {_plain(pair.step)}' if pair.step else ''}{', read again,' if pair.again else ''}{with_meter} tells"
    return f"No reading at hand tells, but {pair.parted_with} would tell," if pair.parted_with else "No reading of these rules tells"


def _pairs_in_short(answer: Answer, width: int) -> Iterator[str]:
    pairs = [p for p in answer.not_told_apart if p.parted_by is None]
    if pairs:
        failures = list(dict.fromkeys(f for pair in pairs for f in pair.failures))
        parts = dict.fromkeys(f.partition(":")[0] for f in failures)
        told = [_plain(f"{part}:{' or '.join(f.partition(':')[2] for f in failures if f.startswith(f'{part}:'))}") for part in parts]
        would = dict.fromkeys(p.parted_with for p in pairs if p.parted_with)
        beyond = f" Not at hand, but it would tell: {', '.join(would)}." if would else ""
        yield from _fill(f"Not to be told apart: {'; '.join(told)}.{beyond}", width, "  ", "")
    first = answer.not_told_apart[0] if answer.not_told_apart else None
    asked = {answer.act.check.name} if answer.act is not None and answer.act.check is not None else {n.name for n in answer.next}
    if first is not None and first.parted_by not in (None, *asked) and len({f.partition(":")[0] for f in first.failures}) > 1:
        yield from _fill(f"{_parting(first)} {_plain(first.failures[0])} from {_plain(first.failures[1])}.", width, "  ", "")


def _findings(answer: Answer, width: int, *, show_all: bool) -> Iterator[str]:
    """Doubts first: they say which of the records above may not mean what they seem to."""
    for title, found in (("Mind", answer.doubts), ("Cause", answer.root_causes), ("Advice", answer.advice)):
        for one in found:
            yield from _fill(f"{title}: {one.says}", width, "  ", "")
            for word, text in one.tells.items() if show_all or found is answer.doubts else ():
                yield from _fill(f"{word.capitalize()}: {text}", width, "  ")
            if show_all:
                yield from _because(one, width)
    if answer.doubts or answer.root_causes or answer.advice:
        yield ""


BOARD_SAYS = {
    "proved_bad": "Board: PROVED BAD.",
    "suspected": "Board: suspected, not proved. Do not replace it yet.",
    "unlikely": "Board: unlikely. Do not replace it.",
    "cleared": "Board: cleared by what was seen. Do not replace it.",
    "not_judged": "Board: not judged. A rank is no proof: do not replace it on this alone.",
}


def _board(answer: Answer, width: int) -> Iterator[str]:
    board = answer.board
    yield from _fill(f"{BOARD_SAYS[board.verdict]} ({board.probability:.0%} of belief)", width)
    for proof in board.proved or ((board.nearest,) if board.nearest else ()):
        yield from _proof(proof, board, width, hazard=bool(answer.hazards))
    if board.proved or board.nearest:
        yield from _killers(board, width)
    yield ""


def _board_in_short(answer: Answer, knowledge: Knowledge, width: int) -> Iterator[str]:
    """The verdict, what speaks against the nearest proof, and the first things that it lacks, with their cautions."""
    board, proof = answer.board, answer.board.nearest
    yield from _fill(f"{BOARD_SAYS[board.verdict]} ({board.probability:.0%})", width)
    if proof is not None:
        for need in proof.denied:
            yield from _fill(f"{need.says}: against it stands {printable('; '.join(need.denied_by), 160)}", width, "      ", "  NO  ")
        lacks = [n for n in proof.missing if not n.met_by]
        left = max((n.calls_left for n in proof.missing), default=0)
        calls = f", some of it in {left} heat calls" if left > 1 else ""
        first = "" if answer.hazards or not lacks else "; first"
        yield from _fill(f"Proof {proof.proof} lacks {len(lacks)} of {len(proof.needs)}{calls}{first}{'.' if not first else ':'}", width, "  ")
        if answer.hazards:
            yield from _fill("Nothing more is to be read while the hazard stands.", width, "  ")
        else:
            shown = lacks[: MOST_MISSING if answer.act is not None and answer.act.needs_proof else MOST_BESIDE]
            yield from _missing_in_short(shown, knowledge, width)
            then = ", ".join(n.condition.replace("_", " ") for n in lacks[len(shown) :])
            yield from _fill(f"Then: {then}.", width, "      ", "  ") if then else ()
            for caution in cautions_for([knowledge.condition[n.condition] for n in shown], knowledge):
                if caution not in _cautions_told(answer):
                    yield from _fill(f"Caution: {caution}", width, "   ", "  ")


def _cautions_told(answer: Answer) -> tuple[str, ...]:
    """Those that stand with the next reading already."""
    act = answer.act
    if act is not None and not act.needs_proof and act.check is None:
        return act.cautions
    reading = act.check if act is not None and not act.needs_proof else answer.next[0] if answer.next and act is None else None
    return reading.cautions if reading is not None else ()


def _missing_in_short(needs: Sequence[Need], knowledge: Knowledge, width: int) -> Iterator[str]:
    """The names of what to take, in order, and which records would do if they told more."""
    for number, need in enumerate(needs, 1):
        yield from _fill(in_short(knowledge.condition[need.condition], knowledge), width, "      ", f"  {number:>2}. ")
        for beside in need.beside:
            yield from _fill(f"({printable(beside, 200)})", width, "      ")


def _missing(needs: Sequence[Need], width: int) -> Iterator[str]:
    """What to take, in order, and which records would do if they told more."""
    for number, need in enumerate(needs, 1):
        yield from _fill(need.take, width, "      ", f"  {number:>2}. ")
        for beside in need.beside:
            yield from _fill(f"({printable(beside, 200)})", width, "      ")


def _proof(proof: ProofState, board: BoardVerdict, width: int, *, hazard: bool) -> Iterator[str]:
    met = [n for n in proof.needs if n.met_by]
    yield from _fill(f"{proof.says} ({proof.proof}; {proof.at}).", width, "  ")
    if proof.grade == "proved":
        yield from _fill(proof.because, width, "  ")
    for need in met:
        again = f", {need.calls_left} more call{'s' if need.calls_left > 1 else ''} wanted" if need.calls_left else ""
        yield from _fill(f"{need.says} ({printable('; '.join(need.met_by), 160)}){again}", width, "      ", "  ok  ")
    for need in proof.denied:
        yield from _fill(f"{need.says}: against it stands {printable('; '.join(need.denied_by), 160)}", width, "      ", "  NO  ")
    if hazard:
        yield from _fill("Nothing more is to be read while the hazard stands.", width, "  ")
        return
    if proof.missing:
        yield from _fill(f"Still to take before it is proved, in this order{_calls(proof)}:", width, "  ")
    yield from _missing([n for n in proof.missing if not n.met_by], width)
    for caution in board.cautions if proof.missing else ():
        yield from _fill(f"Caution: {caution}", width, "    ")


def _calls(proof: ProofState) -> str:
    left = max((n.calls_left for n in proof.missing), default=0)
    return f" (what belongs to a heat call, in {left} calls)" if left > 1 else ""


def _killers(board: BoardVerdict, width: int) -> Iterator[str]:
    if not board.proved:  # a technician in a hurry wants the next reading; what kills boards comes with the proof
        found = [k for k in board.killers if k.found]
        for killer in found:
            yield from _fill(f"FOUND: {killer.says} Look: {killer.look} Cured when: {killer.accept}", width, "    ", "  - ")
        left = ", ".join(k.root_cause for k in board.killers if not k.found)
        if left:
            yield from _fill(f"Should it be proved, first find what killed it (furnace-diag explain NAME): {left}.", width, "  ")
        return
    if board.killers:
        yield from _fill("Before a new board goes in, find what killed this one:", width, "  ")
    for killer in board.killers:
        yield from _fill(f"{'FOUND: ' if killer.found else ''}{killer.says} Look: {killer.look} Cured when: {killer.accept}", width, "    ", "  - ")


def _taken_for_granted(answer: Answer, width: int, *, show_all: bool) -> Iterator[str]:
    if answer.assumed:
        first = answer.assumed[0]
        if first.change >= 0.05:
            told = f"Unknown, and would move {first.change:.0%} of belief: {first.option}{f', {first.says}' if show_all else ''}."
            yield from _fill(told, width, "  ", "")
        if show_all:
            yield from _fill(f"Averaged over {len(answer.assumed)} unknown options of this furnace.", width, "  ", "")


def two_lines(two: TwoAnswer, width: int) -> Iterator[str]:
    """Pairs of failures beside single ones."""
    yield ""
    yield "Two failures at once"
    for pair in two.pairs:
        yield from _fill(" + ".join(_plain(f) for f in pair.failures), width, "     ", f"{pair.probability:4.0%} ")
    other = two.all_pairs - sum(p.probability for p in two.pairs)
    if other >= LEAST_TOLD or not two.pairs:
        yield f"{other:4.0%} other pairs"
    yield "One failure"
    for one in two.singles:
        yield from _fill(_plain(one.failure), width, "     ", f"{one.probability:4.0%} ")
    other = 1 - two.something_else - two.all_pairs - sum(s.probability for s in two.singles)
    if other >= LEAST_TOLD:
        yield f"{other:4.0%} other single failures"
    yield f"{two.something_else:4.0%} something else"
    told = f"Of all pairs the {two.weighed} that cover the records best were built and weighed; before any record, two failures at once have {two.before:.0%}."
    yield from _fill(told, width)
    if any(f.startswith(f"{BOARD}:") for pair in two.pairs for f in pair.failures):
        yield from _fill("A pair that names the board proves nothing of it: what is said of the board above stands.", width)
    yield from _fill("A pair is a lead, not a finding: prove each failure by itself. Mend one, then run a heat call and read again.", width)


def side_by_side(now: Answer, then: Answer, supposed: Sequence[str], width: int) -> Iterator[str]:
    """Two answers: the parts that matter in either, the board and what would be next."""
    yield from _fill(f"If {printable('; '.join(supposed), 300)}:", width)
    yield " now  then"
    before, after = ({p.part: p.probability for p in a.parts} for a in (now, then))
    told = [p for p in after if max(before[p], after[p]) >= SHOWN_FROM]
    for part in sorted(told, key=lambda p: -after[p])[: MOST_SHOWN + 4]:
        yield from _fill(part.replace("_", " "), width, "           ", f"{before[part]:4.0%}  {after[part]:4.0%} ")
    yield f"{now.something_else:4.0%}  {then.something_else:4.0%} something else"
    yield from _fill(f"Board: {_plain(now.board.verdict)} now, then {_plain(then.board.verdict)}.", width)
    yield from _hazards(then, width)
    yield from _next(then, width, show_all=False, alone=True)
