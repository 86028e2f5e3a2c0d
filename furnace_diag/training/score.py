"""What a drill is worth, and what the tool made of it on the way."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from furnace_diag.diagnosis.answer import Answer, answer
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.records import Record, Report, understand
from furnace_diag.diagnosis.verdict import BOARD
from furnace_diag.knowledge.yaml_text import parse_yaml
from furnace_diag.training.drill import Drill, Hurt, Taken

SURE_FROM = 0.8  # belief in the named part from which a proof by readings counts as whole where it is not the board, judgement


@dataclass(frozen=True)
class Score:
    """*board*: left_alone, rightly_blamed or condemned (a good board named or replaced). *belief*: the tool's in what was named, on the trainee's readings.

    *proof*: whether those readings prove it: the rules' own proof where it is the board, else that the tool would be sure.
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


@dataclass(frozen=True)
class Moment:
    """One reading of the drill, what the tool then believed of the likeliest parts, and what it would have read next."""

    said: str
    parts: tuple[tuple[str, float], ...]
    next: str


def score(drill: Drill, evidence: Evidence) -> Score:
    """The score of a drill that is over."""
    named, parts = drill.named or (), drill.lesson.parts
    now = _answer(drill, evidence, len(drill.taken))
    minute = evidence.words.choice.minute
    needless = tuple(p for p in dict.fromkeys(drill.replaced) if p not in parts)
    blamed = BOARD in named or BOARD in drill.replaced
    board = "left_alone" if not blamed else "rightly_blamed" if BOARD in parts else "condemned"
    belief = sum(p.probability for p in now.parts if p.part in named)
    proof = now.board.verdict == "proved_bad" if BOARD in named else belief >= SURE_FROM
    guesses = [t.foretold for t in drill.taken if t.foretold is not None]
    read = {t.name for t in drill.taken}
    return Score(
        named=named, right={*named} == {*parts}, partly=bool({*named} & {*parts}),
        readings=sum(t.record is None or "history" not in t.record for t in drill.taken), minutes=drill.minutes, price=drill.price,
        money=drill.price + minute * drill.minutes, board=board, belief=belief, proof=proof, foretold=len(guesses),
        foretold_right=sum(map(bool, guesses)), hurts=tuple(drill.hurts), not_read=tuple(r for r in drill.lesson.readings if r not in read),
        needlessly_replaced=needless,
    )  # fmt: skip


def replay(drill: Drill, evidence: Evidence) -> Iterator[Moment]:
    """What the tool believed after each reading, and would have asked."""
    for i, taken in enumerate(drill.taken, 1):
        now = _answer(drill, evidence, i)
        parts = tuple((p.part, p.probability) for p in now.parts[:3])
        yield Moment(taken.said + _where(taken.record), parts, _next(now))


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


def _answer(drill: Drill, evidence: Evidence, many: int) -> Answer:
    """The tool's answer to what was told and the first *many* things that were learnt."""
    told = drill.lesson.report
    records = (*told.records, *records_of(drill.taken[:many], drill))
    return answer(Report(told.family, told.complaint, records, told.options), evidence)


def records_of(taken: list[Taken], drill: Drill) -> tuple[Record, ...]:
    """What was learnt, as records of a report. Of two answers to one question the later stands."""
    entries = {_question(t.record): t.record for t in taken if t.record is not None}
    records = [{k: v if isinstance(v, list) else str(v) for k, v in e.items()} for e in entries.values()]
    made = {"furnace": {"family": drill.family.furnace.furnace}, "records": records}
    return understand(parse_yaml(json.dumps(made), "drill"), drill.k).records


def _question(record: dict[str, object]) -> str:
    return repr({k: v for k, v in record.items() if k not in ("value", "after_s")})
