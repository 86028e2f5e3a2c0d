"""The figures of proof: `python tests/benchmarks/proofs.py [SITES [SEED]]`. Fresh virtual furnaces, every proof tried on each of them.

The meter is off by up to 1 % and half a volt (0.1 ohm, 0.05 uA). Four technicians take what a proof asks for:
- honest: every reading in every step that the proof allows, every check answered as it is, settings of times told;
- careless: every check answered as the proof wants, and of its readings only those that suit it;
- mixed: as careless, on a failure that comes and goes, with readings of its good moments among the others.
A numpy filter finds the furnaces on which a careless technician could meet every condition; the verdict is the program's own, and
it is also asked about a sample of what the filter turned down.
"""

from __future__ import annotations

import os
import random
import statistics
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import NamedTuple

TOP = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(TOP), str(Path(__file__).resolve().parent)]
os.environ.setdefault("FURNACE_DIAG_CACHE", tempfile.mkdtemp())

import numpy as np  # noqa: E402
from visits import DONE, Asked, Need, Visits, needs_of  # noqa: E402

from furnace_diag.diagnosis.answer import weighed  # noqa: E402
from furnace_diag.diagnosis.evidence import Evidence  # noqa: E402
from furnace_diag.diagnosis.findings import Finder  # noqa: E402
from furnace_diag.diagnosis.records import Record, Report  # noqa: E402
from furnace_diag.diagnosis.report_file import read_report  # noqa: E402
from furnace_diag.diagnosis.verdict import BOARD  # noqa: E402
from furnace_diag.furnace.family import Family, Fault  # noqa: E402
from furnace_diag.furnace.operate import Operation  # noqa: E402
from furnace_diag.furnace.population import SEED, found_tripped, furnaces_of  # noqa: E402
from furnace_diag.furnace.store import population_for  # noqa: E402
from furnace_diag.furnace.virtual import Flags, Floats  # noqa: E402
from furnace_diag.knowledge.load import load_rules, own_rules  # noqa: E402
from furnace_diag.knowledge.models import Knowledge, Sign  # noqa: E402
from furnace_diag.problems import Place  # noqa: E402

FRESH = SEED + 7919  # furnaces that no ranking has seen
SITES = 36
TURNED_DOWN = 400  # furnaces that the filter turned down and the program is asked about all the same
HONEST, CARELESS, MIXED = "honest", "careless", "mixed"
MOST_NAMED = 8  # failures in one line
SURE, MAYBE = ("nearly_always", "usually"), ("nearly_always", "usually", "sometimes")
NOWHERE = Place("virtual furnace", 1, 1)


def tell(what: str) -> None:
    """Progress, beside the table."""
    print(f"\r{what[:100]:<100}", end="" if sys.stderr.isatty() else "\n", file=sys.stderr, flush=True)


class Bench:
    """All proofs against visits to furnaces, each with the fault of its row."""

    def __init__(self, family: Family, visits: Visits, fault_of: np.ndarray, healthy: np.ndarray, finder: Finder) -> None:
        self.k, self.family, self.visits, self.finder = family.knowledge, family, visits, finder
        self.fault_of, self.healthy = fault_of, healthy
        self.evidence = Evidence(family, population_for(family))

    def fault(self, row: int) -> Fault | None:
        """What is wrong with a furnace."""
        return self.family.faults[self.fault_of[row]] if self.fault_of[row] >= 0 else None

    # --- could a careless technician meet it: whole columns -----------------------------------------

    def could(self, proof: str, mixed: bool) -> Flags:
        """Rows on which every condition can be met by some reading, checks answered as wanted."""
        result = np.ones(len(self.fault_of), bool)
        for need in self.visits.needs[proof]:
            result &= np.logical_or.reduce([np.logical_and.reduce([self._line_could(a, proof, mixed) for a in way]) for way in need.ways])
        return result

    def _line_could(self, a: Asked, proof: str, mixed: bool) -> Flags:
        if not mixed or a.line.hold is None:
            suits = self._suits(a, proof)
            return suits | suits[self.healthy] if mixed else suits
        return np.logical_or.reduce([self._suits_at(a, step, told, worst=True) for step in self.visits.moments(a.line) for told in (False, True)])

    def _suits(self, a: Asked, proof: str) -> Flags:
        w = a.line
        if w.option is not None:
            return np.isin(self.visits.furnaces.choices[w.option], w.is_)
        if w.sign in DONE:
            return np.ones(len(self.fault_of), bool)
        if w.sign is not None and self._is_answered(w.sign, proof):
            return self._could_say(a, proof)
        return np.logical_or.reduce([self._suits_at(a, step, told) for step in self.visits.moments(w) for told in (False, True)])

    def _suits_at(self, a: Asked, step: str, told: bool, *, worst: bool = False) -> Flags:
        values = self._held(a, step, told) if worst else self.visits.taken(a, step, told)
        if a.line.point is not None:
            return self.visits.number_suits(a.line, values)
        words = self.visits.words_for(self.k.sign[str(a.line.sign)])
        return np.isin(values, [n for v in a.line.is_ for n in words[v]])

    def _held(self, a: Asked, step: str, told: bool) -> Floats:
        """What a meter that holds its lowest or highest reading shows, where good and bad moments fall into one call."""
        values = self.visits.taken(a, step, told)
        return (np.fmin if a.line.hold == "min" else np.fmax)(values, values[self.healthy])

    def _is_answered(self, sign: str, proof: str) -> bool:
        """Whether a sign is the answer to a check, which no column of a visit holds."""
        return self.k.sign[sign].shows is None or self.visits.decided(sign, proof) is not None

    def _could_say(self, a: Asked, proof: str) -> Flags:
        sign = self.k.sign[str(a.line.sign)]
        if sign.only_for_proof:
            return np.ones(len(self.fault_of), bool)
        decided = self.visits.decided(sign.sign, proof)
        if decided is not None:
            return np.where(decided, "yes" in a.line.is_, "no" in a.line.is_)
        faults = [None, *self.family.faults]
        says = [bool({*self._values(sign, f, MAYBE), self._usual(sign)} & set(a.line.is_)) for f in faults]
        return np.array(says)[self.fault_of + 1]

    def _usual(self, sign: Sign) -> str:
        """The value of a sign that no part brings about: the first that none is linked to."""
        linked = {g.value for g in sign.goes_with}
        return next((v for v in sign.values if v not in linked), sign.values[0])

    def _values(self, sign: Sign, fault: Fault | None, how: tuple[str, ...]) -> list[str]:
        """The values that go with a failure that often; what names the failure itself before what names its part."""
        mine = [g for g in sign.goes_with if fault is not None and g.part == fault.part and g.failure in (None, fault.failure) and g.how in how]
        return [g.value for g in sorted(mine, key=lambda g: g.failure is None)]

    # --- records of one furnace -----------------------------------------------------------------------

    def records(self, proof: str, row: int, who: str) -> tuple[list[Record], dict[str, str]]:
        """What that technician writes down for a proof on one furnace, in each of its calls; and the options told."""
        of_a_call: dict[Record, None] = {}
        for need in self.visits.needs[proof]:
            of_a_call.update(dict.fromkeys(self._for(need, proof, row, who)))
        calls = range(1, self.k.proof[proof].calls + 1)
        return [replace(r, call=c) for c in calls for r in of_a_call], self._options(proof, row, who)

    def _options(self, proof: str, row: int, who: str) -> dict[str, str]:
        lines = [a.line for need in self.visits.needs[proof] for way in need.ways for a in way]
        named = {w.option for w in lines if w.option} | ({w.later_than for w in lines if w.later_than} if who == HONEST else set())
        return {name: str(self.visits.furnaces.choices[name][row]) for name in named}

    def _for(self, need: Need, proof: str, row: int, who: str) -> Iterator[Record]:
        if who == HONEST:
            yield from (r for way in need.ways for a in way for r in self._of_line(a, proof, row, who))
            return
        for way in need.ways:
            found = [self._suiting(a, proof, row, who) for a in way if a.line.option is None]
            if all(found):
                yield from (r for r in found if r)
                return

    def _suiting(self, a: Asked, proof: str, row: int, who: str) -> Record | None:
        for here in (row, int(self.healthy[row])) if who == MIXED and a.line.hold is None else (row,):
            for record in self._of_line(a, proof, here, who, fault=self.fault(row)):
                if self.suits(a, record):
                    return record
        return None

    def suits(self, a: Asked, record: Record) -> bool:
        """Whether what is written down is what a line asks for."""
        return record.word in a.line.is_ if record.kind == "sign" else bool(self.visits.number_suits(a.line, np.array([record.number]))[0])

    def _of_line(self, a: Asked, proof: str, row: int, who: str, *, fault: Fault | None = None) -> Iterator[Record]:
        w = a.line
        if w.option is not None:
            return
        if w.sign in DONE:
            yield self._record(a, None, None, word=w.is_[0])
            return
        if w.sign is not None and self._is_answered(w.sign, proof):
            step = w.step[0] if w.step else None
            yield from (self._record(a, step, None, word=v) for v in self._says(a, proof, row, who, fault or self.fault(row)))
            return
        for step in self.visits.moments(w):
            for told in (True,) if who == HONEST else (False, True):
                held = who == MIXED and w.hold is not None
                value = float((self._held(a, step, told) if held else self.visits.taken(a, step, told))[row])
                if np.isnan(value):
                    continue
                after = self.visits.after(w, told)
                seconds = None if after is None else float(after[row])
                if w.point is not None:
                    yield self._record(a, step, seconds, number=value)
                else:
                    yield from (self._record(a, step, seconds, word=v) for v in self._words(a, int(value), who))

    def _words(self, a: Asked, shown: int, who: str) -> list[str]:
        """How a technician may put what is shown: the most exact word, or any that suits."""
        words = self.visits.words_for(self.k.sign[str(a.line.sign)])
        fitting = sorted((v for v in words if shown in words[v]), key=lambda v: len(words[v]))
        return fitting[:1] if who == HONEST else fitting

    def _says(self, a: Asked, proof: str, row: int, who: str, fault: Fault | None) -> list[str]:
        sign = self.k.sign[str(a.line.sign)]
        if who != HONEST and sign.only_for_proof:
            return [a.line.is_[0]]
        decided = self.visits.decided(sign.sign, proof)
        if decided is not None:
            return ["yes" if decided[row] else "no"]
        if who == HONEST:
            return [(self._values(sign, fault, SURE) or [self._usual(sign)])[0]]
        return [*self._values(sign, fault, MAYBE), self._usual(sign)]

    def _record(self, a: Asked, step: str | None, after: float | None, *, number: float | None = None, word: str | None = None) -> Record:
        w, kind = a.line, "point" if a.line.point else "sign"
        name = str(w.point or w.sign)
        step = step if step in self.family.steps else None
        said = f"{name} {number if word is None else word}" + (f" at {step}" if step else "")
        return Record(kind, name, said, NOWHERE, number=number, word=word, step=step, after_s=after, meter=w.meter or ("high" if number is not None else None),
                      contact=w.contact, set_up=w.set_up, hold=w.hold)  # fmt: skip

    # --- what the program says -------------------------------------------------------------------------

    def proved(self, proof: str, row: int, who: str) -> list[str]:
        """The proofs that hold on what that technician writes down: by the whole verdict, in which the furnaces have their say."""
        records, options = self.records(proof, row, who)
        if "proved" not in self.finder.find(records, options).grades.values():
            return []
        board = weighed(Report(self.family.furnace.furnace, "", tuple(records), options), self.evidence).board
        return [p.proof for p in board.proved]


def lacks(bench: Bench, proof: str, row: int) -> str:
    """What an honest technician's records lack of a proof, or what speaks against it."""
    records, options = bench.records(proof, row, HONEST)
    state = bench.finder.proof(bench.finder.find(records, options), proof)
    return "; ".join([*(f"against {n.condition}" for n in state.denied), *(f"no {n.condition}" for n in state.missing if not n.met_by)])


def furnaces_for(k: Knowledge, sites: int, seed: int) -> list[tuple[str, Bench]]:
    """The benches: furnaces as they are found, those whose fuse blows in a call with a new fuse in, and those that trip in one with the breaker put in."""
    family = Family(k, next(iter(k.furnace)))
    furnaces, fault_of, site_of = furnaces_of(family, sites=sites, seed=seed)
    rows = np.arange(len(fault_of))
    assert furnaces.later is not None
    found = found_tripped(furnaces)
    found.later, furnaces.later = None, (later := furnaces.later.without(~furnaces.later.trips))
    tell("which fuses blow")
    first = Operation(found)
    for call in (family.sequence.heat_call, *family.sequence.other_calls):
        first.reset()
        first.run()
        first.call(call.closes)
        first.run()
    needs = {p: needs_of(proof, k, family) for p, proof in k.proof.items()}
    finder, benches = Finder(k), []
    fresh = np.zeros_like(first.blown)
    for name, watched, blown, some in (
        ("as found", found, first.blown, rows),
        ("with a new fuse", found, fresh, rows[first.blown]),
        ("with the breaker put in", furnaces, fresh, later.rows),
    ):
        visits = Visits(watched, k, needs, blown, some, seed, tell)
        benches.append((name, Bench(family, visits, fault_of, site_of.astype(int), finder)))
    return benches


# --- the figures ---------------------------------------------------------------------------------------


class Condemned(NamedTuple):
    """Good boards that were called proved bad: *wrong*: by whom, how often by which proof beside which failure; *which*: by whom, which furnaces.

    *turned_down*: proofs and furnaces on which not even a careless technician could meet every condition.
    """

    wrong: dict[str, Counter[tuple[str, str]]]
    which: dict[str, set[int]]
    tried: int
    turned_down: list[tuple[str, int]]


def condemned(bench: Bench, name: str = "") -> Condemned:
    """Every proof tried on every furnace whose board is good, by each technician."""
    wrong: dict[str, Counter[tuple[str, str]]] = {who: Counter() for who in (HONEST, CARELESS, MIXED)}
    which: dict[str, set[int]] = {who: set() for who in wrong}
    good = np.array([r for r in bench.visits.rows if (f := bench.fault(r)) is None or f.part != BOARD], np.intp)
    turned_down: list[tuple[str, int]] = []
    for number, proof in enumerate(bench.k.proof, 1):
        tell(f"good boards {name}: {proof} ({number} of {len(bench.k.proof)})")
        could = {CARELESS: bench.could(proof, False), MIXED: bench.could(proof, True)}
        for who, rows in ((HONEST, could[CARELESS]), (CARELESS, could[CARELESS]), (MIXED, could[MIXED])):
            for row in good[rows[good]]:
                fault = bench.fault(row)
                if who == MIXED and (fault is None or bench.family.failure(fault).comes_and_goes is None):
                    continue
                for p in bench.proved(proof, row, who):
                    wrong[who][p, str(fault or "a healthy furnace")] += 1
                    which[who].add(int(row))
        turned_down += [(proof, row) for row in good[~could[CARELESS][good]]]
    return Condemned(wrong, which, len(good), turned_down)


def good_boards(benches: list[tuple[str, Bench]], chance: random.Random) -> None:
    """How often a good board is called proved bad."""
    from scipy.stats import beta

    found = [condemned(bench, name) for name, bench in benches]
    tried, asked, missed = sum(c.tried for c in found), 0, 0
    for (_, bench), c in zip(benches, found, strict=True):
        for proof, row in chance.sample(c.turned_down, min(TURNED_DOWN, len(c.turned_down))):
            for who in (HONEST, CARELESS):
                asked += 1
                missed += bool(bench.proved(proof, row, who))
    print(f"good boards: {tried} furnaces with no failure or one that is not the board's, {len(benches[0][1].k.proof)} proofs tried on each")
    for who in (HONEST, CARELESS, MIXED):
        many, wrong = sum(len(c.which[who]) for c in found), sum((c.wrong[who] for c in found), Counter())
        upper = beta.ppf(0.95, many + 1, tried - many)
        print(f"  called proved bad, {who:<10} {many:5d}   95 % upper bound {upper * 100:.3f} % (Clopper-Pearson, one-sided)")
        for p in sorted({p for p, _ in wrong}):
            on = sorted(f"{f} ({n})" for (q, f), n in wrong.items() if q == p)
            print(f"      {p} on {len(on)}: {', '.join(on[:MOST_NAMED])}{' ...' if len(on) > MOST_NAMED else ''}")
    print(f"  what the filter turned down: {asked} reports tried, {missed} proved")


def bad_boards(bench: Bench) -> None:
    """How many bad boards the records prove bad."""
    of_it = {f: [p for p, e in bench.k.proof.items() if f in e.of] for f in map(str, bench.family.faults)}
    faults = [f for f in bench.family.faults if f.part == BOARD and of_it[str(f)] and bench.family.failure(f).comes_and_goes is None]
    shows = bench.visits.differs(bench.healthy)
    sums = np.zeros(4, int)
    print("bad boards, all that the proofs ask for taken honestly: proved bad, by a proof of that failure, of how many on which it shows")
    for fault in faults:
        tell(f"bad boards: {fault}")
        rows = np.flatnonzero(bench.fault_of == bench.family.faults.index(fault))
        could = {p: bench.could(p, False) for p in bench.k.proof}
        held = {row: {q for p in could if could[p][row] for q in bench.proved(p, row, HONEST)} for row in rows[shows[rows]]}
        own = {row: h & set(of_it[str(fault)]) for row, h in held.items()}
        counts = np.array([sum(map(bool, held.values())), sum(map(bool, own.values())), len(held), len(rows)])
        sums += counts
        print(f"  {counts[0]:4d} {counts[1]:4d} of {counts[2]:3d} ({counts[3] - counts[2]} show nothing)  {fault}")
        instead = Counter(", ".join(sorted(h)) for row, h in held.items() if h and not own[row])
        why = Counter(f"{p}: {lacks(bench, p, row)}" for row in held if not held[row] for p in of_it[str(fault)])
        print_few([f"{n} proved by {p} instead" for p, n in instead.most_common(3)] + [f"{n} not by {reason}" for reason, n in why.most_common(4)])
    print(f"  {sums[0] / sums[2] * 100:.2f} % ({sums[1] / sums[2] * 100:.2f} % by a proof of that failure) of {sums[2]}; {sums[3] - sums[2]} more show nothing")


def print_few(lines: list[str]) -> None:
    for line in lines:
        print(f"          {line}")


def times(k: Knowledge) -> None:
    """How long the findings of a report take, and a peer: the plain reading of the rules that the tests hold against them."""
    from tests.diagnosis.naive import Naive

    reports = [read_report(p, k) for p in sorted((TOP / "cases").glob("*.yaml"))]
    records = [replace(r, said=f"{r.said} {i}") for i, r in enumerate(r for report in reports for r in report.records)][:15]
    finder, naive = Finder(k), Naive(own_rules())
    ours = _median(lambda: finder.find(records, {}))
    plain = _median(lambda: naive.find(records, {}))
    print(f"findings of {len(records)} records: {ours * 1e3:.2f} ms median after load; a plain reading of the rules {plain * 1e3:.2f} ms, {plain / ours:.1f} x")


def _median(what: object, runs: int = 60) -> float:
    assert callable(what)
    what()
    taken = []
    for _ in range(runs):
        start = time.perf_counter()
        what()
        taken.append(time.perf_counter() - start)
    return statistics.median(taken)


def main() -> None:
    sites = int(sys.argv[1]) if len(sys.argv) > 1 else SITES
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else FRESH
    start, k = time.perf_counter(), load_rules()
    benches = furnaces_for(k, sites, seed)
    print(f"{sites} sites, seed {seed}; meter off by up to 1 % and 0.5 V (0.1 ohm, 0.05 uA); load {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores")
    good_boards(benches, random.Random(seed))
    bad_boards(benches[0][1])
    times(k)
    print(f"{time.perf_counter() - start:.0f} s in all")


if __name__ == "__main__":
    main()
