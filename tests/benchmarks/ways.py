"""Ways to choose what to read next, and visits played by them. All believe what the program believes, and all stop where it would act.

- *tool*: what the program asks for.
- *walk*: the heat call's sequence in order, at each step what is seen before what is read; what can tell nothing any more is left out.
- *halves*: of the same, the reading whose likeliest outcome is nearest to an even chance, whatever it takes.
- *two steps*: as the program reckons, but with the best that may follow after each outcome: read once more, or act.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, field

import numpy as np
from fresh import Technician

from furnace_diag.diagnosis.answer import Weighed, answer, weighed
from furnace_diag.diagnosis.candidates import Table
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.reckoning import LEAST_BITS, MOST_NEVER, Reckoning
from furnace_diag.diagnosis.records import Record, Report
from furnace_diag.diagnosis.verdict import BOARD
from furnace_diag.furnace.population import WHOLE_CALL, Key
from furnace_diag.knowledge.models import Knowledge
from furnace_diag.knowledge.part_models import RepairCost
from furnace_diag.knowledge.repairs import costs_of_failures

MOST_READINGS = 15
MOST_CHECKS = 4  # of what a repair is confirmed by, one after another as the screen names them, before its part is gone to all the same
START = "stops_at"  # every visit begins with how far the heat call gets
START_MINUTES, NEVER_MINUTES = 5.0, 1.0  # of that, and of finding that a furnace never comes to a step
LOOKED_AT, LIKELY = 6, 0.05  # readings compared two steps ahead; outcomes after which it is looked further

Open = tuple[str, str | None]  # name and step of a reading; or part and failure
Asked = tuple[str, str | None, str | None]  # name, step and meter
Way = Callable[[Evidence, Sequence[Record], Collection[Open]], Asked | None]


@dataclass(frozen=True)
class Ended:
    """How a visit ended.

    *parts*: belief by part, the likeliest first; *failures*: likewise. *minutes* of reading, *repair* minutes of what is then put right
    one after another until the fault is, and the *money* for it. *bits*: of which part it was, known at the start and at the end, as
    entropy left. *stopped*: whether it was ended by an act and not by the number of readings.
    """

    fault: str
    parts: dict[str, float]
    failures: dict[str, float]
    readings: int
    minutes: float
    repair: float
    money: float
    bits: tuple[float, float]
    stopped: bool
    board: str
    wrong: tuple[str, ...]
    records: tuple[Record, ...]
    row: int = -1

    @property
    def part(self) -> str:
        """The part that is at fault."""
        return self.fault.partition(":")[0]

    @property
    def first(self) -> str:
        """The part that leads."""
        return next(iter(self.parts))

    @property
    def led(self) -> str:
        """The likeliest failure of the part that leads."""
        return next(f for f in self.failures if f.startswith(f"{self.first}:"))

    @property
    def right(self) -> bool:
        """Whether the right part leads."""
        return self.first == self.part


@dataclass
class Moment:
    """What is believed after some records, and what could be read now."""

    evidence: Evidence
    records: Sequence[Record]
    never: Collection[Open]
    seen: Weighed = field(init=False)
    reckoning: Reckoning = field(init=False)
    table: Table = field(init=False)

    def __post_init__(self) -> None:
        self.seen = weighed(_report(self.evidence, self.records), self.evidence)
        self.reckoning = Reckoning(self.evidence, self.seen.posterior, self.seen.board.nearest, self.seen.groups)
        taken = {*((r.name, r.step) for r in self.records), *self.never}
        self.table = self.reckoning.candidates(taken, {name for name, step in taken if step is None}, ())
        self.ranked = self.reckoning.ranked(self.table)
        self.least = min((cost for _, cost in self.ranked), default=float("inf"))
        self.now = self.reckoning.cost_now

    @property
    def ends(self) -> bool:
        """Whether the program would act, or say that it is not to be gone on."""
        return bool(self.seen.found.hazards) or self.now <= self.least

    @property
    def cost(self) -> float:
        """Of the best that can be done now [min]."""
        return min(self.now, self.least)

    def telling(self) -> list[int]:
        """Candidates that tell something and that the furnace likely comes to."""
        bits, never = self.table.bits, self.table.unreached
        return np.flatnonzero((bits >= LEAST_BITS) & (never <= MOST_NEVER)).tolist()

    def in_call(self) -> list[tuple[int, Key]]:
        """Those of them that are read in the heat call, in its order."""
        order = {step: n for n, step in enumerate(self.evidence.family.sequence.order)}
        place = {name: n for n, name in enumerate((*self.evidence.knowledge.sign, *self.evidence.knowledge.point))}
        found = [(i, self.table.keys[i]) for i in self.telling()]
        return sorted((pair for pair in found if pair[1][1] in order), key=lambda pair: (order[pair[1][1]], place[pair[1][0]]))


def _report(evidence: Evidence, records: Sequence[Record]) -> Report:
    return Report(evidence.family.furnace.furnace, "", tuple(records))


def _asked(key: Key) -> Asked:
    return key[0], None if key[1] in ("", WHOLE_CALL) else key[1], "low" if key[2] == "low" else None


def tool(evidence: Evidence, records: Sequence[Record], never: Collection[Open]) -> Asked | None:
    result = answer(_report(evidence, records), evidence, never=frozenset(never))
    if result.act is not None or not result.next:
        return None
    return result.next[0].name, result.next[0].step, result.next[0].meter


def walk(evidence: Evidence, records: Sequence[Record], never: Collection[Open]) -> Asked | None:
    moment = Moment(evidence, records, never)
    return None if moment.ends else next((_asked(key) for _, key in moment.in_call()), None)


def halves(evidence: Evidence, records: Sequence[Record], never: Collection[Open]) -> Asked | None:
    moment = Moment(evidence, records, never)
    if moment.ends:
        return None
    even = [(abs(float(moment.reckoning.after(moment.table, i).chance.max()) - 0.5), n, key) for n, (i, key) in enumerate(moment.in_call())]
    return _asked(min(even)[2]) if even else None


def two_steps(evidence: Evidence, records: Sequence[Record], never: Collection[Open]) -> Asked | None:
    moment = Moment(evidence, records, never)
    if moment.ends:
        return None
    costs = [(_further(moment, i), i) for i, _ in moment.ranked[:LOOKED_AT]]
    cost, best = min(costs)
    return None if moment.now <= cost else _asked(moment.table.keys[best])


def _further(moment: Moment, i: int) -> float:
    """Minutes of reading candidate *i* and of the best that can be done after each outcome; unlikely ones are reckoned to change nothing."""
    reckoning, table = moment.reckoning, moment.table
    rows = slice(table.first[i], table.first[i + 1])
    never = table.never[rows]
    chances = table.parts[rows].sum(axis=1) / table.parts[rows].sum()
    cost = reckoning.minutes_of(table.keys[i])
    for bins, chance, gone in zip(table.bins[rows], chances.tolist(), never.tolist(), strict=True):
        likely = chance >= LIKELY and not gone
        cost += chance * (Moment(moment.evidence, [*moment.records, reckoning.supposed(table.keys[i], bins)], moment.never).cost if likely else moment.now)
    return cost


# --- a visit -------------------------------------------------------------------------------------


def visit(way: Way, evidence: Evidence, technician: Technician, fault: str, never: Collection[Open] = (), most: int = MOST_READINGS) -> Ended:
    """Ask until it would act, or *most* readings are taken. *fault*: what is wrong in truth; *never*: what is not to be asked for."""
    first = technician.asked(START, None)
    assert first is not None
    records, minutes, untaken, readings, stopped = [first], START_MINUTES, set(never), 0, False
    begun = weighed(_report(evidence, records), evidence)
    confirmed: list[Open] = []
    looked_at: set[Open] = set()
    while readings < most:
        asked = way(evidence, records, untaken)
        if (doubtful := _doubtful(evidence, records, looked_at)) is not None:
            readings, minutes = readings + 1, minutes + _minutes(evidence.knowledge, doubtful.name)
            records = [technician.looked_again(r) if r is doubtful else r for r in records]
            continue
        asked = asked or _confirming(evidence, records, untaken, confirmed) or _for_proof(evidence, records, untaken)
        if asked is None and (alone := _rests_on(evidence, records, untaken, looked_at)) is not None:
            readings, minutes = readings + 1, minutes + _minutes(evidence.knowledge, alone.name)
            records = [technician.looked_again(r) if r is alone else r for r in records]
            continue
        if asked is None:
            stopped = True
            break
        name, step, meter = asked
        record = technician.in_call(name, step, meter, 1 + max((r.call for r in records if (r.name, r.step) == (name, step)), default=0))
        if record is None:
            untaken.add((name, step))
            minutes += NEVER_MINUTES
            continue
        readings, minutes = readings + 1, minutes + _minutes(evidence.knowledge, name)
        records.append(record)
    return _ended(evidence, technician, fault, records, begun, readings, minutes, stopped)


def _doubtful(evidence: Evidence, records: Sequence[Record], looked_at: set[Open]) -> Record | None:
    """The record that the program wants looked at again, once each; *looked_at* takes it down."""
    now = answer(_report(evidence, records), evidence)
    if now.board.verdict == "proved_bad":
        return None
    again = [a for a in now.look_again if (a.name, a.step) not in looked_at]
    if not again:
        return None
    looked_at.add((again[0].name, again[0].step))
    return next(r for r in records if (r.name, r.step) == (again[0].name, again[0].step))


def _confirming(evidence: Evidence, records: Sequence[Record], never: Collection[Open], confirmed: list[Open]) -> Asked | None:
    """The check that the program names with its act, MOST_CHECKS times at most for each failure; *confirmed* takes it down."""
    act = answer(_report(evidence, records), evidence, never=frozenset(never)).act
    if act is None or act.check is None or confirmed.count((act.part, act.failure)) >= MOST_CHECKS:
        return None
    confirmed.append((act.part, act.failure))
    return act.check.name, act.check.step, act.check.meter


def _for_proof(evidence: Evidence, records: Sequence[Record], never: Collection[Open]) -> Asked | None:
    """The first reading that the board's nearest proof lacks, where the board comes first: the program asks for it before anything is replaced."""
    now = answer(_report(evidence, records), evidence, never=frozenset(never))
    if now.act is None or not now.act.needs_proof or now.board.nearest is None:
        return None
    read = {r.name for r in records}
    for need in now.board.nearest.missing:
        condition = evidence.knowledge.condition.get(need.condition)
        for line in (w for way in (condition.any_of if condition else ()) for w in way if w.point or w.sign):
            name, steps = line.names[0][1], line.step or (None,)
            if name not in read and not {(name, step) for step in steps} & {*never}:
                return name, steps[0], line.meter
    return None


def _rests_on(evidence: Evidence, records: Sequence[Record], never: Collection[Open], looked_at: set[Open]) -> Record | None:
    """The record that the program's act rests on, where it is to be taken again, once each; *looked_at* takes it down."""
    alone = answer(_report(evidence, records), evidence, never=frozenset(never)).rests_on
    if alone is None or (alone.name, alone.step) in looked_at:
        return None
    looked_at.add((alone.name, alone.step))
    return next(r for r in records if (r.name, r.step) == (alone.name, alone.step))


def _minutes(k: Knowledge, name: str) -> float:
    return (k.point.get(name) or k.sign[name]).minutes


def _ended(
    evidence: Evidence, technician: Technician, fault: str, records: list[Record], begun: Weighed, readings: int, minutes: float, stopped: bool
) -> Ended:
    seen = weighed(_report(evidence, records), evidence)
    parts = by_part(seen)
    repair, money = _repaired(evidence, seen, fault)
    return Ended(
        fault=fault,
        parts=dict(sorted(parts.items(), key=lambda pair: (-pair[1], pair[0]))),
        failures=dict(sorted(seen.belief.items(), key=lambda pair: (-pair[1], pair[0]))),
        readings=readings,
        minutes=minutes,
        repair=repair,
        money=money,
        bits=(_entropy(by_part(begun)), _entropy(parts)),
        stopped=stopped,
        board=seen.board.verdict,
        wrong=tuple(technician.wrong),
        records=tuple(records),
        row=technician.row,
    )


def by_part(seen: Weighed) -> dict[str, float]:
    """Belief in each part."""
    parts: dict[str, float] = {}
    for failure, p in seen.belief.items():
        parts[failure.partition(":")[0]] = parts.get(failure.partition(":")[0], 0.0) + p
    return parts


def _entropy(parts: dict[str, float]) -> float:
    p = np.array([*parts.values(), max(1 - sum(parts.values()), 0)])
    p = p[p > 0] / p.sum()
    return float(-(p * np.log2(p)).sum())


def _repaired(evidence: Evidence, seen: Weighed, fault: str) -> tuple[float, float]:
    """Minutes and money until the fault is mended: parts in falling order of belief over cost, until it costs less to search in some other way.

    The board's cost includes what its proof lacks, as the program reckons; what it lacks in truth is not played here.
    """
    true = fault.partition(":")[0]
    reckoning = Reckoning(evidence, seen.posterior, seen.board.nearest, seen.groups)
    belief = reckoning.by_part(seen.posterior.failures[None, :])[0]
    order = np.argsort(-belief / reckoning.costs, kind="stable")
    left = np.maximum(1 - np.cumsum(belief[order]), 0)
    spent = np.cumsum(reckoning.costs[order] * np.append(1, left[:-1]))
    turning = np.append(reckoning.otherwise, spent + left * reckoning.otherwise)
    minutes, money = 0.0, 0.0
    for number in order[: int(turning.argmin())]:
        part = reckoning.parts[number]
        its = [f for f in seen.belief if f.partition(":")[0] == part]
        repair = _cost(evidence, fault if part == true else max(its, key=lambda f: seen.belief[f]))
        minutes, money = minutes + repair.minutes, money + repair.price
        if part == true:
            return minutes, money
    found = _cost(evidence, fault)
    return minutes + reckoning.otherwise, money + found.price


def _cost(evidence: Evidence, fault: str) -> RepairCost:
    part, _, failure = fault.partition(":")
    return costs_of_failures(evidence.knowledge, [(part, failure)])[0]


def is_board(fault: str) -> bool:
    """Whether it is the board that failed."""
    return fault.startswith(f"{BOARD}:")
