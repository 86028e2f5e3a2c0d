"""Bad boards: the tool asks until it would act on the board, then takes what the nearest proof lacks, as an honest technician would.

What the program wants looked at again is, once each. Where another part comes first, what confirms its repair is taken before that is touched,
twice at most for each failure, and the one record that it rests on is taken again, as the screen asks.
A visit begins as one at the prompt does, with what a heat call is seen to do (the questions of rules/visit.yaml). What is read, looked at or
checked after that counts, each name at each step once: first whether what the house complains of is so. A reading told again the way that a
proof wants it is a further entry, not a further reading.
"""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from fresh import HERE, Technician
from ways import MOST_CHECKS, MOST_READINGS

from furnace_diag.diagnosis.answer import Answer, answer
from furnace_diag.diagnosis.choice import Act, NextReading
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.findings import Finder, ProofState
from furnace_diag.diagnosis.records import Record, Report
from furnace_diag.diagnosis.two_answers import same_again
from furnace_diag.diagnosis.verdict import BOARD
from furnace_diag.furnace.family import luck
from furnace_diag.furnace.operate import Operation
from furnace_diag.furnace.population import WHOLE_CALL, Population, furnaces_of
from furnace_diag.furnace.store import default_folder
from furnace_diag.knowledge.models import Knowledge, Sign
from furnace_diag.knowledge.repairs import repairs_for

os.environ["FURNACE_DIAG_CACHE"] = str(default_folder())  # before proofs.py thinks of a folder of its own

from proofs import CARELESS, HONEST, Bench
from visits import Need, Visits, needs_of

PROVED = "proved"
NOTHING = ("no", "silent")  # words of a question that say that it did not happen
NO_HAZARD = "n"  # the key that answers a question on safety with what is no hazard
HEATS_WELL = "starts"  # what is answered where nothing is amiss in a heat call: the complaint is of another
# what is complained of, or seen as the door comes off, where a heat call shows nothing
NOTICED_BY_THE_HOUSE = (
    ("blower_runs", ("standby", "fan_call", "cooling_call")), ("igniter_glows", ("standby",)), ("inducer_runs", ("standby",)),
    ("air_cleaner_works", ("heating",)), ("humidifier_works", ("heating",)),
)  # fmt: skip


def bench_of(evidence: Evidence, sites: int, seed: int) -> Bench:
    """The furnaces of that draw whose board failed so that a proof is of it, and the healthy ones, ready for all that proofs ask for."""
    family, k = evidence.family, evidence.knowledge
    furnaces, fault_of, site_of = furnaces_of(family, sites=sites, seed=seed)
    furnaces.later = None
    of = {f for proof in k.proof.values() for f in proof.of}
    wanted = [i for i, f in enumerate(family.faults) if f.part == BOARD and str(f) in of and family.failure(f).comes_and_goes is None]
    rows = np.flatnonzero(np.isin(fault_of, [-1, *wanted]))
    first = Operation(furnaces, rows)
    for call in (family.sequence.heat_call, *family.sequence.other_calls):
        first.reset()
        first.run()
        first.call(call.closes)
        first.run()
    visits = Visits(furnaces, k, {p: needs_of(proof, k, family) for p, proof in k.proof.items()}, first.blown, rows, seed)
    return Bench(family, visits, fault_of, site_of.astype(int), Finder(k))


def showing(bench: Bench) -> np.ndarray:
    """Rows of bad boards on which anything differs from the good furnace of the site."""
    differs = bench.visits.differs(bench.healthy)
    rows = bench.visits.rows[bench.fault_of[bench.visits.rows] >= 0]
    return rows[differs[rows]]


@dataclass(frozen=True)
class Proving:
    """How a visit to a bad board ended: *how* is *proved*, or why not, in words.

    *read*: different readings and checks after the start; *for_diagnosis*: those of them taken before the board was the best act.
    *of_the_furnace*: those of *read* that are readings, without what is only answered for the proof, as that the meter was tried.
    *lacked*: conditions that the nearest proof still lacked. *noticed*: whether anybody would call for it.
    """

    fault: str
    how: str
    read: int
    of_the_furnace: int
    entries: int
    for_diagnosis: int
    lacked: tuple[str, ...] = ()
    records: tuple[Record, ...] = ()
    noticed: bool = True

    @property
    def within(self) -> bool:
        """Whether it was proved within the readings that are allowed."""
        return self.how == PROVED and self.read <= MOST_READINGS


class Careful(Technician):
    """A technician who takes a reading that was doubted once more, and errs by the meter's error alone."""

    def asked(self, name: str, step: str | None, meter: str | None = None) -> Record | None:
        """What is noted by the first roll of luck without a mistake; None where the furnace never comes to that step."""
        at = step or (WHOLE_CALL if (name, WHOLE_CALL, "") in self.population.columns else "")
        k, chance = self.evidence.knowledge, luck(self.row, f"{name} {at} again")
        return self._true_word(k.sign[name], at, chance) if name in k.sign else self._read(k.point[name], at, meter, chance)

    def _true_word(self, sign: Sign, step: str, chance: np.random.Generator) -> Record | None:
        odds = self._odds(sign, step)
        if odds is None or not odds.sum():
            return None
        word = str(chance.choice(sign.values, p=odds / odds.sum()))
        at = None if step in ("", WHOLE_CALL) else step
        return Record("sign", sign.sign, f"{sign.sign}: {word}" + (f" at {at}" if at else ""), HERE, word=word, step=at)


# --- the start ------------------------------------------------------------------------------------


def started(k: Knowledge, technician: Technician) -> list[Record]:
    """What the first questions on a heat call are answered, until an answer ends them, after those on safety: no visit goes on with a hazard."""
    told = [Record("sign", q.sign, f"{q.sign}: {q.keys[NO_HAZARD]}", HERE, word=q.keys[NO_HAZARD]) for q in k.question.values() if q.group == "safety"]
    for question in (q for q in k.question.values() if q.group == "behaviour"):
        record = _answered(technician, question.sign)
        if record is None:
            continue
        told.append(record)
        if record.word in question.ends:
            break
    return [*told, *left_open(k, technician, told)]


def left_open(k: Knowledge, technician: Technician, told: Sequence[Record]) -> list[Record]:
    """What the questions are answered that are asked only where what was *told* leaves them open."""
    said = {r.name: r.word for r in told}
    due = [q for q in k.question.values() if q.group == "rest" and q.sign not in said]
    due = [q for q in due if any(said.get(name) in values for name, values in q.only_after.items())]
    due = [q for q in due if not any(said.get(name) in values for name, values in q.answered_by.items())]
    return [r for q in due if (r := _answered(technician, q.sign)) is not None]


def complained_of(technician: Technician) -> Iterator[Record]:
    """What the house notices outside a heat call, as the technician sees it who makes that call first."""
    for sign, step in _noticed():
        record = technician.asked(sign, step)
        if record is not None and _is_otherwise(technician, sign, step):
            yield record


def _noticed() -> Iterator[tuple[str, str]]:
    return ((sign, step) for sign, steps in NOTICED_BY_THE_HOUSE for step in steps)


def is_noticed(k: Knowledge, technician: Technician) -> bool:
    """Whether anybody would call for it: a heat call, by the first questions, or what the house notices outside one is otherwise than on a good furnace."""
    asked = [q.sign for q in k.question.values() if q.group in ("behaviour", "rest")]
    seen = [(name, step) for name, step, _ in technician.population.columns if name in asked]
    return any(_is_otherwise(technician, name, step) for name, step in (*seen, *_noticed()))


def _is_otherwise(technician: Technician, sign: str, step: str) -> bool:
    """Whether a sign is otherwise at a step than on the good furnace of the site."""
    population = technician.population
    good = replace(technician, row=int(np.flatnonzero((population.fault_of < 0) & (population.site_of == population.site_of[technician.row]))[0]))
    mine, its = technician._value(sign, step, None), good._value(sign, step, None)
    return mine != its and not (np.isnan(mine) and np.isnan(its))


def _answered(technician: Technician, sign: str) -> Record | None:
    """The answer to a question on a whole heat call: of what has steps, what is first seen to happen in it, else that it does not."""
    order = technician.evidence.family.sequence.order[1:]
    entry = technician.evidence.knowledge.sign[sign]
    steps = [s for s in order if s in entry.steps]
    if not steps or entry.after_call:
        return technician.asked(sign, None)
    seen = [r for s in steps if (r := technician.asked(sign, s)) is not None]
    chosen = next((r for r in seen if r.word not in NOTHING), seen[-1] if seen else None)
    return None if chosen is None else replace(chosen, step=None, said=f"{sign}: {chosen.word}")


# --- a visit --------------------------------------------------------------------------------------


def prove(evidence: Evidence, population: Population, bench: Bench, row: int) -> Proving:
    """Visit one bad board, until it is proved bad or that has failed."""
    technician = Technician(evidence, population, row)
    start = started(bench.k, technician)
    well = HEATS_WELL in {r.word for r in started(bench.k, Careful(evidence, population, row))}  # what the house complains of hangs on no mistake of his
    records, never = [*start, *(complained_of(technician) if well else ())], set[tuple[str, str | None]]()
    tried: set[str] = set()
    confirmed: list[tuple[str, str]] = []  # parts and failures whose repair was to be confirmed
    looked_at: set[tuple[str, str | None]] = set()  # again, where a record fits badly with the rest
    options: dict[str, str] = {}
    noticed, for_diagnosis = is_noticed(bench.k, technician), 0
    again: list[Record] = []  # what was looked at twice, because the proof named it as speaking against

    def ended(how: str, nearest: ProofState | None = None) -> Proving:
        lacked = tuple(n.condition for n in nearest.missing) if nearest else ()
        fault, entries, read = str(evidence.family.faults[bench.fault_of[row]]), len(records) - len(start) + len(again), _read(records, start)
        answered = {r.name for r in records if r.name in bench.k.sign and bench.k.sign[r.name].only_for_proof}
        return Proving(
            fault, how, read, _read([r for r in records if r.name not in answered], start), entries, for_diagnosis, lacked, tuple(records), noticed
        )  # fmt: skip

    while True:
        now = answer(Report(evidence.family.furnace.furnace, "", tuple(records), options), evidence, never=frozenset(never))
        if now.board.verdict == "proved_bad":
            return ended(PROVED)
        if now.hazards:
            return ended("stopped for a hazard", now.board.nearest)
        if (far := ended(f"more than {MOST_READINGS} readings", now.board.nearest)).of_the_furnace > MOST_READINGS:
            return far
        doubtful = [r for a in now.look_again for r in records if (r.name, r.step) == (a.name, a.step) and (r.name, r.step) not in looked_at]
        if doubtful:
            looked_at.add((doubtful[0].name, doubtful[0].step))
            records = [_looked_at_again(technician, r) if r is doubtful[0] else r for r in records]
            start += (more := left_open(bench.k, technician, records))
            records += more
            continue
        asked = _asked(now, confirmed)
        if asked is not None:
            record = technician.in_call(asked.name, asked.step, asked.meter, asked.call or 1)
            if record is None:
                never |= {(asked.name, asked.step), *_no_further(evidence, asked.step)}
                records += _where_it_stops(technician, records)
            else:
                records.append(record)
                for_diagnosis = _read(records, start) if not tried else for_diagnosis
            continue
        alone = [r for r in records if now.rests_on and (r.name, r.step) == (now.rests_on.name, now.rests_on.step) and (r.name, r.step) not in looked_at]
        if alone and now.act is not None and now.act.part != BOARD:
            looked_at.add((alone[0].name, alone[0].step))
            records = [_looked_at_again(technician, r) if r is alone[0] else r for r in records]
            continue
        if now.act is None:
            return ended("would put right nothing", now.board.nearest)
        if now.act.part != BOARD:
            changed = _changed_nothing(bench.k, now.act)
            if any((r.kind, r.name) == ("history", changed.name) for r in records):
                return ended(f"would put right {now.act.part} once more", now.board.nearest)
            records.append(changed)
            continue
        nearest = now.board.nearest
        doubtful = _spoken_against(nearest, records, again) if nearest else []
        if doubtful:
            again += doubtful
            records = [_looked_at_again(technician, r) if r in doubtful else r for r in records]
            continue
        lacking = _cheapest(bench, nearest, tried, row, records) if nearest else None
        if lacking is not None and not lacking[1]:
            tried.add(lacking[0])
            never |= _unreachable(bench.k, lacking[0])
            continue
        if nearest is None or lacking is None:
            return ended(f"all that {nearest.proof if nearest else 'a proof'} asks for is taken and it is not met", nearest)
        tried.add(lacking[0])
        options |= bench._options(nearest.proof, row, HONEST)
        records += [r for r in lacking[1] if r not in records]


def _asked(now: Answer, confirmed: list[tuple[str, str]]) -> NextReading | None:
    """What is read next: the best reading, or what confirms the repair of another part; *confirmed* takes down of which."""
    if now.act is None:
        return now.next[0] if now.next else None
    if now.act.part == BOARD or confirmed.count((now.act.part, now.act.failure)) >= MOST_CHECKS:
        return None
    confirmed.append((now.act.part, now.act.failure))
    return now.act.check


def _no_further(evidence: Evidence, step: str | None) -> set[tuple[str, str | None]]:
    """All that would be read in a step that a call never comes to, or after it; as the prompt takes `never`."""
    k, order = evidence.knowledge, evidence.family.sequence.order
    later = order[order.index(step) :] if step in order else (step,)
    return {(name, s) for s in later for name in (*k.point, *k.sign)}


def _where_it_stops(technician: Technician, records: Sequence[Record]) -> list[Record]:
    """What the prompt asks next where a call never comes to a step, unless that was told."""
    stopping = technician.evidence.sign_of_stopping
    told = stopping is None or any(r.name == stopping for r in records)
    made = None if told or stopping is None else technician.asked(stopping, None)
    return [made] if made is not None else []


def _changed_nothing(k: Knowledge, act: Act) -> Record:
    """What is noted after the repair of another part, which leaves the fault as it was."""
    name = f"{act.part}:{act.failure}" if act.part not in repairs_for(k, act.part, act.failure).of else act.part
    repair = repairs_for(k, act.part, act.failure)
    word = "cleaned_no_change" if repair.leaves_part and ":" not in name else "replaced_no_change"
    return Record("history", name, f"{name}: {word}", HERE, word=word)


def _read(records: Sequence[Record], start: Sequence[Record]) -> int:
    """Different readings and checks since the start, and those that were asked for once more in another heat call."""
    asked_again = {(r.name, r.step, r.call) for r in records if r.said.endswith(f"heat call {r.call}")}
    return len({(r.name, r.step) for r in records if r not in start}) + len(asked_again)  # of the start only what was looked at again


def _spoken_against(nearest: ProofState, records: Sequence[Record], again: Sequence[Record]) -> list[Record]:
    """Records that a proof names as speaking against it and that were not looked at again yet."""
    named = {said for need in nearest.denied for said in need.denied_by}
    return [r for r in records if r.said in named and (r.name, r.step) not in {(a.name, a.step) for a in again}]


def _looked_at_again(technician: Technician, record: Record) -> Record:
    """The same with care: no slip of the point, no sign told wrong."""
    if record.name in {q.sign for q in technician.evidence.knowledge.question.values() if q.group == "safety"}:
        return replace(record, sure=True)  # there is no hazard
    careful = Careful(technician.evidence, technician.population, technician.row)
    made = _answered(careful, record.name) if record.step is None else careful.asked(record.name, record.step, record.meter)
    if made is None:
        return record
    sure = same_again(made, record) or (made.kind == "sign" and _of_one_thing(technician.evidence.knowledge.sign[made.name], made, record))
    return replace(record, number=made.number, word=made.word, said=f"{made.said}, looked at again", sure=sure)


def _of_one_thing(sign: Sign, one: Record, other: Record) -> bool:
    """Whether two words, one of them vaguer, may be told of one and the same thing."""
    shown = [{*sign.reads_as.get(str(r.word), [str(r.word)])} for r in (one, other)]
    return bool(shown[0] & shown[1])


def _unreachable(k: Knowledge, condition: str) -> set[tuple[str, str | None]]:
    """What a condition asks for, which this furnace never comes to: as the prompt takes `never`."""
    lines = [line for way in k.condition[condition].any_of for line in way if line.point or line.sign]
    return {(line.names[0][1], step) for line in lines for step in line.step or (None,)}


def _cheapest(bench: Bench, nearest: ProofState, tried: set[str], row: int, records: Sequence[Record]) -> tuple[str, list[Record]] | None:
    """The condition with fewest ways and new readings, the proof's order breaking ties; with what is written down for it in each of its calls.

    One that has a single way comes first, for what is read for it may meet the others. Where no way of a condition holds on this furnace
    what it gives instead is written down, which denies the proof.
    """
    known = {(r.name, r.step) for r in records}
    found: list[tuple[tuple[int, int], str, list[Record]]] = []
    for condition in (n.condition for n in nearest.missing if n.condition not in tried):
        of_a_call = _ways(bench, nearest.proof, condition, row, known)
        fewest = min(of_a_call, key=lambda way: len({(r.name, r.step) for r in way} - known), default=[])
        calls = range(1, (1 if bench.k.condition[condition].once else bench.k.proof[nearest.proof].calls) + 1)
        found.append(((len(of_a_call), len({(r.name, r.step) for r in fewest} - known)), condition, [replace(r, call=c) for c in calls for r in fewest]))
    best = min(found, key=lambda one: one[0], default=None)
    return None if best is None else best[1:]


def _ways(bench: Bench, proof: str, condition: str, row: int, known: Collection[tuple[str, str | None]]) -> list[list[Record]]:
    """What is written down for a condition by each of its ways that this furnace answers, each line at a step where it was read already if there is one."""
    need: Need = next(n for n in bench.visits.needs[proof] if n.condition == condition)
    ways = []
    for way in need.ways:
        lines = [[r for r in bench._of_line(a, proof, row, CARELESS, fault=bench.fault(row)) if bench.suits(a, r)] for a in way if a.line.option is None]
        if all(lines):
            ways.append([min(line, key=lambda r: (r.name, r.step) not in known) for line in lines])
    return [way for way in ways if way] or [list(bench._for(need, proof, row, HONEST))]


# --- the table ------------------------------------------------------------------------------------


def picked(evidence: Evidence, bench: Bench, count: int, seed: int) -> list[int]:
    """Rows of bad boards, each failure as often as the rules say among those on which something shows."""
    rows = showing(bench)
    weight = evidence.family.prior[bench.fault_of[rows]] / np.bincount(bench.fault_of[rows])[bench.fault_of[rows]]
    drawn: list[int] = np.random.default_rng(seed).choice(rows, count, p=weight / weight.sum()).tolist()
    return drawn


def table(evidence: Evidence, population: Population, sites: int, seed: int, count: int, tell: Callable[[str], None]) -> None:
    """Visits to bad boards: how many are proved, how soon, and what the others lack."""
    bench = bench_of(evidence, sites, seed)
    ends = []
    for n, row in enumerate(picked(evidence, bench, count, seed)):
        ends.append(prove(evidence, population, bench, row))
        tell(f"bad boards: {n + 1} of {count} visits")
    proved = [e for e in ends if e.how == PROVED]
    print(f"\nbad boards that show anything: {count} visits, begun with the complaint and the questions of the start")
    print(f"  proved bad within {MOST_READINGS} different readings   {sum(e.within for e in ends) / count:6.1%}   (wanted 90 %)")
    print(f"  the same reading in another call counted  {sum(e.entries <= MOST_READINGS for e in proved) / count:6.1%}")
    print(f"  readings of the furnace alone counted     {sum(e.of_the_furnace <= MOST_READINGS for e in proved) / count:6.1%}")
    noticed = [e for e in ends if e.noticed]
    share = sum(e.how == PROVED and e.of_the_furnace <= MOST_READINGS for e in noticed) / max(len(noticed), 1)
    print(f"  the same of the {len(noticed)} that anybody would call for    {share:6.1%}")
    if proved:
        figures = [float(np.mean([getattr(e, name) for e in proved])) for name in ("read", "for_diagnosis", "entries")]
        print("  of those proved, mean: {:.1f} different readings, {:.1f} of them before the board was the best act; {:.1f} entries".format(*figures))
    for fault in sorted({e.fault for e in ends}):
        mine = [e for e in ends if e.fault == fault]
        took = ", ".join(str(e.read) for e in mine if e.how == PROVED) or "none"
        print(f"  {sum(e.within for e in mine):3d} of {len(mine):2d}  {fault}: readings of those proved: {took}")
        for (how, lacked), many in Counter((e.how, e.lacked) for e in mine if e.how != PROVED).most_common():
            print(f"        {many} x {how}; lacking {', '.join(lacked) or 'nothing'}")
