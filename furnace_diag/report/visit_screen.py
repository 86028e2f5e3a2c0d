"""What a technician sees at the prompt of a visit: short lines, for 40 columns on, no colour needed."""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from furnace_diag.diagnosis.answer import Answer
from furnace_diag.diagnosis.choice import NEVER_THERE, NextReading
from furnace_diag.diagnosis.findings import OTHER_CALL, Found, Need, ProofState, RepairState
from furnace_diag.diagnosis.lacking import only_told
from furnace_diag.diagnosis.taking import HOLD, in_short
from furnace_diag.diagnosis.verdict import BOARD, BoardVerdict
from furnace_diag.knowledge.finding_models import Ended
from furnace_diag.knowledge.furnace_models import Sequence as ControlProgram
from furnace_diag.knowledge.models import Knowledge, Point, Sign
from furnace_diag.knowledge.repair_models import Repair
from furnace_diag.knowledge.repairs import cautions_of, confirmed_by
from furnace_diag.problems import printable
from furnace_diag.quantities import UNITS
from furnace_diag.report.terminal import BOARD_SAYS, MOST_AGAIN, how_sure, one_to_the_eye
from furnace_diag.report.visit_rank import BRIEFER, WHOLE, Brief, proved_lines, strip_lines, suspect_lines
from furnace_diag.report.visit_words import as_words, filled, range_of
from furnace_diag.visit.expected import Range
from furnace_diag.visit.state import Visit

LINES_OF_PAGE = 30  # of a small screen, so that what is asked below fits too
LINES_OF_TERMINAL = 30  # that a small one has
LINES_OF_SCREEN = 26  # of one after an entry, so that what the entry was taken for fits above it
LINES_OF_CHECKLIST = 12  # of a proof's, with whose cautions and all else a small screen is full
MOST_OF_ONE = 400  # [characters] told of one record, all that it leaves out among them
OFFERED_WITH_CHECKS = ("checks", "same")  # commands that the screen after a repair names
WORTH_MENDING = 0.9  # of belief in a part, from which its repair is offered beside the next reading, judgement
TELLING = 0.05  # an unknown option that moves less of the belief is not worth a word


def calls_wanted(need: Need) -> str:
    """In how many heat calls a condition is still to be met, as a sentence; empty where once is enough by itself."""
    if need.before:
        return f" {_records(need.before)} met it in one call; wanted in {OTHER_CALL} too."
    if need.calls_left < 1 or (need.calls_left == 1 and not need.met_by):
        return ""
    return f" {need.calls_left} {'more ' if need.met_by else ''}such call{'s' if need.calls_left > 1 else ''} wanted."


def proving_lines(state: RepairState, width: int, *, stopped: bool = False) -> Iterator[str]:
    """After each entry that follows a repair: how many checks are done, what speaks against one, and, if no hazard has *stopped* the visit, the next."""
    done = sum(not n.calls_left and not n.denied_by for n in state.needs)
    yield from filled(f"Repair: {state.says} {done} of {len(state.needs)} checks done.", width)
    for need in state.denied:
        yield from filled(f"[!] {need.says}: against it stands {_records(need.denied_by)}", width, "      ", "  ")
    if stopped:
        return
    if state.proved:
        yield from filled("Every check is met. `close` ends the visit as proved.", width)
    elif state.missing:
        need = state.missing[0]
        yield from filled(f"NEXT (Enter): {as_words(need.take or need.says)}{calls_wanted(need)}", width, "  ", "")
    yield from filled("`checks` shows all of them, `same` if the fault is still there.", width)


def repair_lines(repair: Repair, knowledge: Knowledge, width: int) -> Iterator[str]:
    """How a repair is done: what confirms it, cautions, steps."""
    yield from filled(f"{repair.says} ({repair.at})", width)
    for text in confirmed_by(knowledge, repair):
        yield from filled(f"Confirm first: {as_words(text)}", width, "  ")
    told: set[str] = set()  # in full once more: hands go in now
    yield from caution_lines((knowledge.caution[c].says for c in cautions_of(knowledge, repair)), told, width)
    for number, step in enumerate(repair.steps, 1):
        yield from caution_lines((s for c in step.cautions if (s := knowledge.caution[c].says) not in told), told, width)
        yield from filled(step.do, width, "    ", f"{number:>2}. ")


@dataclass(frozen=True)
class RepairPage:
    """What of a repair stands on the screen at one time. *step*: its number from 1, 0 before the first; *checks*: what it is shown by."""

    lines: tuple[str, ...]
    step: int = 0
    checks: tuple[str, ...] = ()


def repair_pages(repair: Repair, knowledge: Knowledge, width: int) -> list[RepairPage]:
    """The same repair for a small screen: what confirms it and its cautions, then step by step."""
    says = {c: knowledge.caution[c].says for c in (*cautions_of(knowledge, repair), *(c for step in repair.steps for c in step.cautions))}
    told: set[str] = set()
    blocks = [filled(f"{repair.says} ({repair.at})", width)]
    blocks += [filled(f"Confirm first: {as_words(text)}", width, "  ") for text in confirmed_by(knowledge, repair)]
    blocks += [list(caution_lines([says[c]], told, width)) for c in cautions_of(knowledge, repair)]
    pages = [RepairPage(tuple(lines)) for lines in _packed(blocks)]
    for number, step in enumerate(repair.steps, 1):
        minds = caution_lines((says[c] for c in step.cautions), told, width)
        do = filled(step.do, width, "    ", f"{number:>2}. ")
        pages.append(RepairPage((f"Step {number} of {len(repair.steps)}", *minds, *do), number, step.shown_by))
    return pages


def _packed(blocks: Iterable[list[str]]) -> Iterator[list[str]]:
    """Blocks of lines put together to pages, none of them cut in two."""
    page: list[str] = []
    for block in blocks:
        if page and len(page) + len(block) > LINES_OF_PAGE:
            yield page
            page = []
        page = [*page, *block]
    if page:
        yield page


def caution_lines(cautions: Iterable[str], told: set[str], width: int, *, in_full: bool = True) -> Iterator[str]:
    """Cautions: in full when first told, later by their first sentence. *told* is added to, but for what is not told *in_full* yet."""
    for text in cautions:
        yield from filled(f"CAUTION: {text.partition('. ')[0].rstrip('.') if text in told or not in_full else text.rstrip('.')}.", width, "  ")
        if in_full:
            told.add(text)


def screen_lines(
    answer: Answer,
    before: Answer | None,
    told: set[str],
    width: int,
    lacking: Mapping[str, Sequence[Need]] = {},
    begun: str = "",
    *,
    whole: bool = False,
    hinted: str = "",
    above: int = 0,
) -> list[str]:
    """After each entry: the call, the suspects and what moved, the board, what to mind, and, where no hazard stops it, what to do next. Unless it is wanted
    *whole*, as much of that as fits a small screen.

    *told*: cautions that stood on the screen in full before. *lacking*: by the name of an experiment what must be shown before it is tried. *begun*: the part
    of a repair that was begun by putting a hazard right, which goes on before anything is read. *hinted*: a record of which it was told what it lacks.
    *above*: how many lines were just said above it, as what stops the visit; one is left for the prompt.
    """
    room = min(LINES_OF_SCREEN, LINES_OF_TERMINAL - 1 - above)
    for brief in (WHOLE,) if whole else BRIEFER:
        cautioned = {*told}
        lines = list(_screen(answer, before, cautioned, width, lacking, begun, brief, hinted))
        if len(lines) <= room:
            break
    told |= cautioned
    return lines


def _screen(
    answer: Answer, before: Answer | None, told: set[str], width: int, lacking: Mapping[str, Sequence[Need]], begun: str, brief: Brief, hinted: str
) -> Iterator[str]:
    yield from strip_lines(answer, width, brief)
    if answer.board.proved:
        yield from proved_lines(answer, width)
    else:
        yield from suspect_lines(answer, before, width, brief)
        yield from filled(BOARD_SAYS[answer.board.verdict], width)
    yield from _new_findings(answer, before, width, brief)
    yield from _not_counted(answer, before, width, hinted)
    yield from _telling_option(answer, before, width)
    if not answer.hazards:
        yield ""
        if begun:
            yield from filled(f"NEXT (Enter): the repair that was begun, mend {_step(begun)}. It is proved before more is read.", width, "  ", "")
            return
        yield from next_lines(answer, told, width, lacking, brief)
    if not brief.others:
        yield "`show` tells all of it." if brief.in_full else "`show` tells all, cautions in full."


def ended_by_lines(endings: Sequence[Ended], knowledge: Knowledge, width: int) -> Iterator[str]:
    """Which repair may begin although the visit is stopped, and what is read after it that ends what stops it."""
    wanted = dict.fromkeys(knowledge.check[c].says for e in endings for c in e.by)
    yield from filled(f"`mend` and the part at fault begins a repair that ends it, if after that repair it is read: {'; '.join(wanted)}.", width)


def stop_lines(hazards: Sequence[Found], width: int, told: Container[str] = ()) -> Iterator[str]:
    """What stops the visit, one by one, what to do now, and whom to call; of those *told* in full just now, only what it is and that it holds."""
    for hazard in hazards:
        if hazard.finding in told:
            yield from filled(f"STOP till put right: {_step(hazard.finding)}", width, "  ", "")
            continue
        yield from filled(f"STOP. {hazard.says}", width)
        yield from filled(f"Now: {hazard.tells['now']}", width, "  ")
        yield from filled(f"Call: {hazard.tells['call']}", width, "  ")
        yield from filled(f"(because of {_records(hazard.because)}; {hazard.at})", width, "  ")
        yield ""


def _step(name: str) -> str:
    return name.replace("_", " ")


def _new_findings(answer: Answer, before: Answer | None, width: int, brief: Brief) -> Iterator[str]:
    """Doubts, causes and advice that were not there before."""
    old = {f.finding for f in (*before.doubts, *before.root_causes, *before.advice)} if before else set()
    for title, found in (("Mind", answer.doubts), ("Cause", answer.root_causes), ("Advice", answer.advice)):
        for one in found:
            if one.finding in old or (title == "Advice" and not brief.advice):
                continue
            yield from filled(f"{title}: {one.says}", width, "  ", "")
            for text in one.tells.values() if title == "Mind" and brief.advice else ():  # what to do about a doubt; `show all` has the rest
                yield from filled(text, width, "  ")


def _not_counted(answer: Answer, before: Answer | None, width: int, hinted: str) -> Iterator[str]:
    """What was read or seen and the board's nearest proof does not count, each with what it lacks, where that was not told before."""
    old = _uncounted(before) if before else ()
    for text in _uncounted(answer):
        if text not in old and not (hinted and hinted in text):
            yield from filled(f"Not in the proof yet: {as_words(printable(text, MOST_OF_ONE))}.", width, "  ", "")


def _uncounted(answer: Answer) -> tuple[str, ...]:
    proof = None if answer.board.proved else answer.board.nearest
    needs = [n for n in proof.missing if not n.denied_by] if proof is not None else []
    return tuple(dict.fromkeys(text for need in needs for text in (*need.almost, *need.unfit) if not only_told(text)))


def _telling_option(answer: Answer, before: Answer | None, width: int) -> Iterator[str]:
    """The unknown of the furnace that would change the answer most, where that is another than before."""
    first, old = (next(iter(a.assumed), None) if a else None for a in (answer, before))
    if first is not None and first.change >= TELLING and (old is None or old.option != first.option):
        yield from filled(f"Assumed, and telling: {_step(first.option)} ({first.says}). `assumed` shows all and takes what is so.", width, "  ", "")


def _again(answer: Answer, width: int) -> Iterator[str]:
    """The records that fit badly with the others."""
    for one in answer.look_again[:MOST_AGAIN]:
        yield from filled(f"Look again at \"{_records([one.said])}\": it fits badly with the rest. Type it once more, as it is.", width, "  ", "")


def enter_lines(answer: Answer, width: int, lacking: Mapping[str, Sequence[Need]] = {}, begun: str = "") -> Iterator[str]:
    """What Enter takes, in a line, for the end of a long list."""
    act = answer.act
    wanted = act.check if act is not None and not act.needs_proof else answer.next[0] if answer.next and act is None else None
    if answer.hazards:
        said = "what stops the visit, in full, and every way on"
    elif begun:
        said = f"the repair that was begun, mend {_step(begun)}"
    elif answer.board.verdict == "proved_bad":
        said = "how the board is changed, once what killed it is found"
    elif act is not None and act.needs_proof:
        said = "what the proof lacks"
    elif wanted is not None and lacking.get(wanted.name):
        said = as_words(lacking[wanted.name][0].says)
    elif wanted is not None:
        said = _step(wanted.name)  # when and how it is taken is told where it is asked for
    elif act is not None:
        said = f"how to mend: {_step(act.part)}, {act.says}"
    else:
        return
    yield from filled(f"NEXT (Enter): {said}.", width, "  ", "")


def next_lines(answer: Answer, told: set[str], width: int, lacking: Mapping[str, Sequence[Need]] = {}, brief: Brief = WHOLE) -> Iterator[str]:
    """What Enter takes: the next reading, the check of a repair, or what a proof lacks."""
    if answer.board.verdict == "proved_bad":
        yield from filled("Proved. First find what killed it: `proof` lists what to look for. Then Enter, or `mend`, shows how to change it.", width)
        return
    if answer.act is not None and answer.act.needs_proof:
        yield from filled("NEXT: what the proof of a bad board still lacks. Enter asks for it piece by piece, `proof` shows all of it.", width)
        return
    if answer.act is not None:
        act = answer.act
        key = "`mend`" if act.check is not None else "Enter"
        yield from filled(f"Worth mending: {act.part.replace('_', ' ')}, {act.says} ({how_sure(act)}). {key} shows how.", width)
        yield from _again(answer, width)
        if act.check is not None:
            yield from reading_lines("Confirm it first (Enter)", act.check, told, width, lacking.get(act.check.name, ()), brief)
        if answer.rests_on is not None:
            said = _records([answer.rests_on.said])
            yield from filled(f"It rests on \"{said}\" alone: take that again before the part comes off, and type it once more.", width, "  ")
        return
    if not answer.next:
        yield from filled("No reading of these rules would tell more. Type what else you find, or read one again.", width)
        return
    yield from _again(answer, width)
    leads = answer.parts[0]
    if leads.probability >= WORTH_MENDING and leads.part != BOARD:  # which is changed after its proof alone
        yield from filled(f"`mend` shows how the {_step(leads.part)} is put right; a reading more makes surer.", width)
    yield from reading_lines("NEXT (Enter)", answer.next[0], told, width, lacking.get(answer.next[0].name, ()), brief)
    others = [f"{_step(n.name)}{_at(n)}" for n in answer.next[1:] if brief.others and not lacking.get(n.name)]
    if others:
        yield from filled(f"or {', or '.join(others)}", width, "  ")


def _at(reading: NextReading) -> str:
    return f" at {_step(reading.step)}" if reading.step else ""


def needs_lines(needs: Iterable[str], width: int) -> Iterator[str]:
    """What must be so before an experiment is tried."""
    for need in needs:
        yield from filled(f"First: {need}", width, "    ", "  ")


def reading_lines(title: str, n: NextReading, told: set[str], width: int, lacking: Sequence[Need] = (), brief: Brief = WHOLE) -> Iterator[str]:
    """One reading: where the leads go, cautions, what each outcome would mean. Of an experiment only what is *lacking* before it, if anything is."""
    if lacking:
        yield from filled(f"{title}: {as_words(lacking[0].take or lacking[0].says)}", width, "  ", "")
        yield from filled(f"Only then: {n.says[:1].lower()}{n.says[1:]}.", width, "    ", "  ")
        return
    at = "" if n.step and n.says.endswith(_step(n.step)) else _at(n)  # "..., power off" says it already
    yield from filled(f"{title}: {n.says}{at}{f', once more in heat call {n.call}' if n.call else ''}", width, "  ", "")
    yield from needs_lines(n.needs, width)
    if n.where:
        yield from filled(n.where, width, "  ")
    low = ", the meter in its low-impedance mode" if n.meter == "low" else ""
    yield from filled(f"[{_step(n.name)}] {n.function.replace('_', ' ')}{low}, {n.minutes:g} min.", width, "  ")
    yield from caution_lines(n.cautions, told, width, in_full=brief.in_full)
    for o in one_to_the_eye(n.outcomes)[: brief.outcomes]:
        then = f"{_failure(o.then)} {o.then_probability:.0%}" if brief.failures else _failure(o.then).partition(":")[0]
        yield from filled(f"{_step(o.shows)} ({o.probability:.0%}): {then}", width, "    ", "  - ")
    if any(o.shows == NEVER_THERE for o in n.outcomes):
        yield from filled("If it never gets there, type `never`.", width, "  ")


def step_lines(sequence: ControlProgram, width: int, *, whole: bool) -> Iterator[str]:
    """The steps of a heat call in their order, then the others, each with what is to be seen of it; of the others only the names, where not the *whole* is
    asked for."""
    steps = {s.step: s for s in sequence.steps}
    others = [s for s in steps if s not in sequence.order and steps[s].reached_by]
    yield from filled("A heat call goes through these, and what is seen says which it is:", width)
    for name in (*sequence.order, *(others if whole else ())):
        if name in steps:
            yield from filled(f"{_step(name)}: {steps[name].says}", width, "    ", "  ")
    if not whole:
        yield from filled(f"Others (`steps all`): {', '.join(map(_step, others))}.", width)
    yield from filled("Type one behind a reading, such as: 24v at w 25 at call.", width)


def value_lines(sign: Sign, width: int) -> Iterator[str]:
    """What a sign can be, one below the other, with what each means."""
    for value in sign.values:
        says = f": {sign.value_says[value]}" if value in sign.value_says else ""
        yield from filled(f"{_step(value)}{says}", width, "    ", "  ")


def help_lines(entry: Point | Sign, step: str | None, rules: Range | None, healthy: Range | None, usual: Sequence[str], width: int) -> Iterator[str]:
    """What is asked for, where and how it is taken, and what a good furnace would give."""
    yield from filled(f"{entry.says}.", width)
    if entry.where:
        yield from filled(entry.where, width, "  ")
    if isinstance(entry, Point):
        unit = entry.unit
        yield from filled(f"Meter: {_step(entry.function)}, in {UNITS[unit].ascii or 'whole numbers'}. At: {', '.join(map(_step, entry.steps))}.", width, "  ")
        if rules is None and step is None:
            for e in entry.expects:
                yield from filled(f"Good at {', '.join(map(_step, e.steps))}: {range_of(Range(e.low, e.high, e.source), unit, ascii=True)}.", width, "  ")
        for title, one in (("Good", rules), ("Healthy furnaces of these rules read", healthy)):
            if one is not None:
                yield from filled(f"{title}: {range_of(one, unit, ascii=True)}.", width, "  ")
        if entry.lookalikes:
            yield from filled(f"Mind: {entry.lookalikes}", width, "  ")
    if usual:
        yield from filled(f"A healthy furnace shows: {' or '.join(map(_step, usual))}.", width, "  ")
    if isinstance(entry, Sign) and entry.value_says:
        yield from value_lines(entry, width)


def _failure(name: str) -> str:
    return name.replace("_", " ").replace(":", ": ")


def why_lines(answer: Answer, part: str, width: int) -> Iterator[str]:
    """The records for and against a suspect, with file and line of the part."""
    belief = next(p for p in answer.parts if p.part == part)
    yield from filled(f"{part.replace('_', ' ')} {belief.probability:.0%}", width)
    for failure in belief.failures:
        if failure.probability < max(0.005, belief.probability / 20) and failure is not belief.failures[0]:
            continue
        yield from filled(f"{failure.probability:4.0%} {failure.says} ({failure.at})", width, "       ", "  ")
        for word, records in (("for", failure.speaks_for), ("against", failure.speaks_against)):
            for record in records[:6]:
                yield from filled(f"{word}: {_records([record])}", width, "         ", "       ")
    for one in (*answer.exonerations, *answer.doubts):
        if part in one.finding or part == "control_board":
            yield from filled(f"{one.says} ({one.at})", width, "    ", "  ")


def proof_lines(proof: ProofState | RepairState, width: int, knowledge: Knowledge, *, title: str = "") -> Iterator[str]:
    """A checklist: what is met and by what, what speaks against it, what is still to be taken and how, in order; what does not count yet, once."""
    beside: set[str] = set()
    yield from filled(f"{title}{proof.says} ({proof.at})", width)
    for need in _met(proof):
        yield from filled(f"{need.says} ({_records(need.met_by)})", width, "      ", "  [x] ")
    yield from _denied_lines(proof, width)
    left = [n for n in proof.missing if not n.denied_by]
    together = len(left) > 1 and all(n.met_by for n in left) and len({n.calls_left for n in left}) == 1
    for need in left:
        yield from _missing_lines(need, width, knowledge, beside, together=together)
    if together:
        more = f"{left[0].calls_left} more heat calls" if left[0].calls_left > 1 else "one more heat call"
        yield from filled(f"These {len(left)} together in {more}.", width, "  ")


def proof_in_short(proof: ProofState, width: int, knowledge: Knowledge) -> Iterator[str]:
    """The same for a small screen: what is met in a line of names, how the first that lacks is taken, and the names of the others."""
    yield from filled(proof.says, width)
    if met := ", ".join(_name_of(need, knowledge) for need in _met(proof)):
        yield from filled(f"Met: {met}.", width, "    ", "  ")
    yield from _denied_lines(proof, width)
    left = [n for n in proof.missing if not n.denied_by]
    for need in left[:1]:
        yield from _missing_lines(need, width, knowledge, set(), together=False)
    for need in left[1:]:
        yield f"  [ ] {_name_of(need, knowledge)}"[:width]
        yield from _unfit_lines(need, width, set())


def _met(proof: ProofState | RepairState) -> list[Need]:
    return [need for need in proof.needs if need.met_by and not need.calls_left and not need.denied_by]


def _name_of(need: Need, knowledge: Knowledge) -> str:
    """A name by which what meets a condition can be typed."""
    of = knowledge.condition.get(need.condition) or knowledge.check[need.condition]
    return _step(of.any_of[0][0].names[0][1])


def _denied_lines(proof: ProofState | RepairState, width: int) -> Iterator[str]:
    for need in proof.denied:
        yield from filled(f"{need.says}: against it stands {_records(need.denied_by)}", width, "      ", "  [!] ")


def _missing_lines(need: Need, width: int, knowledge: Knowledge, beside: set[str], *, together: bool) -> Iterator[str]:
    """How one that lacks is taken, in how many calls if not *together* with others, and what does not count yet, but for what stands *beside* another."""
    of = knowledge.condition.get(need.condition) or knowledge.check[need.condition]
    told = f"{need.says} ({_records(need.met_by)})." if need.met_by else as_words(in_short(of, knowledge))
    wanted = "" if together else calls_wanted(need)
    yield from filled(f"{told.removesuffix('.')}.{wanted}" if wanted else told, width, "      ", "  [ ] ")
    yield from _unfit_lines(need, width, beside)


def _unfit_lines(need: Need, width: int, beside: set[str]) -> Iterator[str]:
    for text in [t for t in (*need.almost, *need.unfit) if t not in beside]:
        beside.add(text)
        yield from filled(f"({as_words(printable(text, MOST_OF_ONE))})", width, "      ")


def short_call_lines(short: Mapping[int, Sequence[str]], width: int, knowledge: Knowledge) -> Iterator[str]:
    """Of heat calls that are over and lack little of a proof: what each lacks, and that it may be told still."""
    for call, lacks in short.items():
        what = "; ".join(knowledge.condition[name].says for name in lacks)
        yield from filled(f"Heat call {call} lacks only: {what}. What of that was read in it, type with `call {call}` behind it: then that call counts.", width)


def _records(said: Iterable[str]) -> str:
    """Records as they were told, each once."""
    return as_words(printable("; ".join(dict.fromkeys(said)), 160))


def killer_lines(board: BoardVerdict, width: int) -> Iterator[str]:
    """What kills boards: all of it once this one is proved bad, before that only what was found and the names of the rest."""
    for killer in board.killers:
        if killer.found or board.proved:
            found = "FOUND: " if killer.found else "Before a new one goes in, look for: "
            yield from filled(f"{found}{killer.says} {killer.look} Cured when: {killer.accept}", width, "    ", "  - ")
    left = ", ".join(_step(k.root_cause) for k in board.killers if not k.found)
    if left and not board.proved:
        yield from filled(f"Should it be proved, first look for what killed it: {left}.", width, "  ", "")


def entry_lines(visit: Visit, said: Mapping[int, str], width: int) -> Iterator[str]:
    """Every entry with its number."""
    for entry in visit.entries:
        record = entry.record
        told = [f"{key} {record[key]}" for key in ("step", "call", "after_s", "meter", "contact", "source") if key in record]
        told += [HOLD[str(record["hold"])]] if record.get("hold") in HOLD else []
        told += [*record.get("set_up", []), *([record["note"]] if "note" in record else [])]
        more = f" ({', '.join(str(t).replace('_', ' ') for t in told)})" if told else ""
        after = " after the repair" if entry.repair else ""
        yield from filled(f"{_records([said[entry.number]])}{more}{after}", width, "     ", f"{entry.number:>3}. ")
    for _, text in visit.notes:
        yield from filled(f"note: {printable(text, 400)}", width, "     ")
    if not visit.entries and not visit.notes:
        yield "Nothing entered yet."


def furnace_lines(visit: Visit, answer: Answer, knowledge: Knowledge, width: int) -> Iterator[str]:
    """What is known and what is taken for granted of the furnace, the option that would change most first."""
    furnace = knowledge.furnace[visit.family]
    yield from filled(furnace.says, width, "  ", "")
    for name, value in visit.options.items():
        yield from filled(f"{_step(name)}: {_step(value)} (you said)", width, "    ", "  ")
    yield "What I assumed about this furnace:"
    for number, one in enumerate(answer.assumed, 1):
        values = " | ".join(map(_step, furnace.options[one.option].values))
        telling = ", would change the answer" if one.change >= TELLING else ""
        yield from filled(f"{_step(one.option)}: open, usually {_step(one.usual)} ({values}){telling}. {one.says}", width, "     ", f"{number:>3}. ")
    yield from filled("To say one: assumed NAME VALUE, or assumed NUMBER VALUE.", width)
