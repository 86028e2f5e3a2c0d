"""What a drill is worth, and what the tool made of it on the way."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import groupby
from pathlib import Path

from furnace_diag.diagnosis.answer import Answer, answer
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.findings import Finder, RepairState
from furnace_diag.diagnosis.one_record import record_of
from furnace_diag.diagnosis.verdict import BOARD
from furnace_diag.diagnosis.vocabulary import Vocabulary
from furnace_diag.knowledge.repairs import repairs_for
from furnace_diag.problems import Place
from furnace_diag.training.acts import Hurt
from furnace_diag.training.drill import Drill
from furnace_diag.visit.session import report_of

SURE_FROM = 0.8  # belief in the named part from which a proof by readings counts as whole where it is not the board, judgement


@dataclass(frozen=True)
class Score:
    """*board*: left_alone, rightly_blamed or condemned (a good board named or replaced). *belief*: the tool's in what was named, on the trainee's readings.

    *proof*: whether those readings prove it: the rules' own proof where it is the board, else that the tool would be sure.
    *repair_proved*: of a part that was put right, whether the checks after it are met; None where none was. *repair*: that one, and *fitting* the one
    that the rules have for the fault, where it was of that part. *not_weighed*: what a right answer rests on and was read only where the rules weigh
    nothing of it. *behind*: what the rules know to bring the fault about, where the part named is rightly
    named and is no reason by itself: always (a roll-out switch trips for something), or by what was read.
    """

    named: tuple[str, ...]
    right: bool
    partly: bool
    readings: int
    minutes: float
    price: float
    money: float
    board: str
    belief: float
    proof: bool
    foretold: int
    foretold_right: int
    hurts: tuple[Hurt, ...]
    not_read: tuple[str, ...]
    needlessly_replaced: tuple[str, ...]
    repair_proved: bool | None = None
    checks_met: int = 0
    checks_open: tuple[str, ...] = ()
    repair: str = ""
    fitting: str = ""
    behind: tuple[str, ...] = ()
    not_weighed: tuple[str, ...] = ()


WATCHED = "Watched: "  # before what the screen told as time went by


@dataclass(frozen=True)
class Moment:
    """One reading of the drill, what the tool then believed of the likeliest parts, and what it would have read next."""

    said: str
    parts: tuple[tuple[str, float], ...]
    next: str


def score(drill: Drill, evidence: Evidence) -> Score:
    """The score of a drill that is over."""
    named, parts = drill.named or (), drill.lesson.parts
    now = _answer(drill, evidence, None)
    state = checks_of(drill, evidence.finder)
    minute = evidence.words.choice.minute
    needless = tuple(p for p in dict.fromkeys(drill.replaced) if p not in parts)
    blamed = BOARD in named or BOARD in drill.replaced
    board = "left_alone" if not blamed else "rightly_blamed" if BOARD in parts else "condemned"
    belief = sum(p.probability for p in now.parts if p.part in named)
    proof = now.board.verdict == "proved_bad" if BOARD in named else belief >= SURE_FROM
    guesses = [t.foretold for t in drill.taken if t.foretold is not None]
    read, weighed = {t.name for t in drill.taken}, {t.name for t in drill.taken if t.record is not None}
    return Score(
        named=named, right={*named} == {*parts}, partly=bool({*named} & {*parts}),
        readings=sum(not t.watched and (t.record is None or "history" not in t.record) for t in drill.taken), minutes=drill.minutes, price=drill.price,
        money=drill.price + minute * drill.minutes, board=board, belief=belief, proof=proof, foretold=len(guesses),
        foretold_right=sum(map(bool, guesses)), hurts=tuple(drill.hurts), not_read=tuple(r for r in drill.lesson.readings if r not in read),
        not_weighed=tuple(r for r in drill.lesson.readings if r in read - weighed),
        needlessly_replaced=needless, repair_proved=None if state is None else state.proved,
        checks_met=sum(not (n.calls_left or n.denied_by) for n in state.needs) if state else 0,
        checks_open=tuple(n.says for n in state.needs if n.calls_left or n.denied_by) if state else (),
        behind=_behind(drill, now), **_repairs(drill),
    )  # fmt: skip


def _behind(drill: Drill, now: Answer) -> tuple[str, ...]:
    """What brings the named faults about: causes that the readings show, and those of a failure that comes by nothing else."""
    faults = {str(h.fault) for h in drill.lesson.faults if h.fault.part in (drill.named or ())}
    shown = {c.finding for c in now.root_causes}
    causes = [c for c in drill.k.root_cause.values() if faults & {*c.kills} and (c.root_cause in shown or {*c.kills} <= faults)]
    return tuple(f"{c.says} {c.look}" for c in causes)


def _repairs(drill: Drill) -> dict[str, str]:
    """The repair that is being proved, and the one that the rules have for what was hidden in its part."""
    done = drill.account.repair
    if done is None:
        return {}
    hidden = next((h.fault for h in drill.lesson.faults if h.fault.part == done.part), None)
    fitting = done.repair if hidden is None else repairs_for(drill.k, hidden.part, hidden.failure).repair
    return {"repair": done.repair, "fitting": fitting}


def replay(drill: Drill, evidence: Evidence) -> Iterator[Moment]:
    """What the tool believed after each reading, and after what was watched in one go, and would have asked."""
    for watched, group in groupby(drill.taken, lambda t: t.act if t.watched else None):
        learnt = list(group)
        for together in [learnt] if watched is not None else [[t] for t in learnt]:
            event = together[-1].event
            now = _answer(drill, evidence, event)
            parts = tuple((p.part, p.probability) for p in now.parts[:3])
            proving = drill.account.visit(event).proving is not None
            said = ", ".join(t.said + _where(t.record) for t in together)
            yield Moment(f"{WATCHED}{said}" if watched is not None else said, parts, "what else proves the repair" if proving else _next(now))


def _where(record: Mapping[str, object] | None) -> str:
    """The step at which something was read, or that it tells the ranking nothing."""
    if record is None:
        return " (not weighed)"
    return f", at {record['step']}" if "step" in record else ""


def _next(now: Answer) -> str:
    if now.hazards:
        return f"nothing: {now.hazards[0].says}"
    if now.act is not None:
        return f"nothing more: it would mend {now.act.part}" if not now.act.needs_proof else "what the board's proof still lacks"
    return f"{now.next[0].name}{f' at {now.next[0].step}' if now.next[0].step else ''}" if now.next else "nothing: it knows no reading that helps"


def _answer(drill: Drill, evidence: Evidence, events: int | None) -> Answer:
    """The tool's answer to what the first *events* of the account tell of the fault; to all of it, if None."""
    return answer(report_of(drill.account.visit(events), Path(drill.lesson.file), drill.k), evidence)


def checks_of(drill: Drill, finder: Finder) -> RepairState | None:
    """How far the checks of the repair that is being proved have come; None where nothing was put right."""
    visit = drill.account.visit()
    if visit.proving is None:
        return None
    vocabulary = Vocabulary(drill.k, visit.family)
    records = [record_of(e.record, Place(drill.lesson.file, e.event, 1), vocabulary) for e in visit.checking]
    return finder.after_repair(records, visit.options, visit.proving.repair)
