"""How good the tool is when it chooses its own readings: `python tests/benchmarks/accuracy.py [VISITS] [--picture FILE] [--misses]`.

Prints tables; nothing fails. VISITS (40 unless said, ten minutes in all at most) is how many furnaces are visited in each of the first two runs; the
others take a share of it. Each visit is one furnace of a population drawn with another seed, with a failure drawn as often as the rules say, there in
the heat call that is watched. It begins with how far that call gets. Then the tool asks and the furnace answers, with the errors that fresh.py names:
a meter's, readings at a neighbouring point, signs told wrong. A visit ends with an act, or after 15 readings.

This is the tool's own world: furnaces, failures and laws are those of its rules, but for the run that bends them. Real breakdowns are in
tests/reference/field. `--picture` writes how the stated probabilities came true as SVG, `--misses` prints the records of every visit that ended wrong.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import numpy as np
from bad_boards import table as table_of_bad_boards
from fresh import Technician, bent, drawn, without_fault
from picture import Stated, calibration, drawing
from ways import MOST_READINGS, Ended, Open, Way, halves, is_board, tool, two_steps, visit, walk

from furnace_diag.diagnosis.apart import not_told_apart
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.weigh import Posterior
from furnace_diag.furnace.family import Family
from furnace_diag.furnace.population import Population, build
from furnace_diag.furnace.store import population_for
from furnace_diag.knowledge.load import load_rules

VISITS = 40
FRESH_SEED, BENT_SEED, SITES = 987_654, 456_789, 32
BENT_GAIN = 1.02  # of the meter on bent furnaces
MOST_WALKED = 40  # readings after which another way than the tool's is broken off
BELIEVED = 0.5  # more than this of a wrong part is too much where the true failure is not known of
UNLIKE = 0.02  # of a reading and of its unit: less is no difference from a good furnace


def tell(what: str) -> None:
    """Progress, beside the tables."""
    print(f"\r{what[:79]:<79}", end="" if sys.stderr.isatty() else "\n", file=sys.stderr, flush=True)


@dataclass
class Bench:
    """The tool's own furnaces, and fresh ones to visit."""

    evidence: Evidence
    fresh: Population
    gain: float = 1.0

    def visit(self, row: int, way: Way = tool, never: Iterable[Open] = (), most: int = MOST_READINGS, without: Evidence | None = None) -> Ended:
        """One visit; *without*: what the tool knows, where that is less than all."""
        technician = Technician(self.evidence, self.fresh, row, self.gain)
        return visit(way, without or self.evidence, technician, self.fault(row), tuple(never), most)

    def fault(self, row: int) -> str:
        """What is wrong with a furnace."""
        return str(self.fresh.faults[self.fresh.fault_of[row]])

    def shows(self, row: int) -> bool:
        """Whether anything differs from the good furnace of the site."""
        healthy = np.flatnonzero((self.fresh.fault_of < 0) & (self.fresh.site_of == self.fresh.site_of[row]))[0]
        one, other = (self.fresh.table[:, r].astype(float) for r in (row, healthy))
        with np.errstate(invalid="ignore"):
            same = (one == other) | (np.abs(one - other) <= UNLIKE * (1 + np.abs(other))) | (np.isnan(one) & np.isnan(other))
        return not same.all()


def visits(title: str, rows: Sequence[int], one: Callable[[int], Ended]) -> list[Ended]:
    ends = []
    for n, row in enumerate(rows):
        ends.append(one(row))
        tell(f"{title}: {n + 1} of {len(rows)} visits")
    return ends


# --- tables --------------------------------------------------------------------------------------


def table(title: str, ends: Sequence[Ended]) -> None:
    many = len(ends)
    good = [e for e in ends if not is_board(e.fault)]
    print(f"\n{title}: {many} visits")
    for says, count in (
        ("right part first", sum(e.right for e in ends)),
        ("right part in the first three", sum(e.part in list(e.parts)[:3] for e in ends)),
        ("right failure first", sum(next(iter(e.failures)) == e.fault for e in ends)),
        ("ended before the most readings", sum(e.stopped for e in ends)),
    ):
        print(f"  {says:<30} {count / many:6.1%}")
    print(f"  {'readings, mean and most':<30} {np.mean([e.readings for e in ends]):6.1f} {max(e.readings for e in ends)}")
    print(f"  {'good boards proved bad':<30} {sum(e.board == 'proved_bad' for e in good)} of {len(good)}")


def statements(ends: Iterable[Ended]) -> list[Stated]:
    """All that was stated of parts at the end of visits, against what was so."""
    return calibration((p, part == e.part) for e in ends for part, p in e.parts.items())


def calibration_table(title: str, ends: Iterable[Ended]) -> list[Stated]:
    found = statements(ends)
    print(f"\nprobabilities stated of parts at the end, {title}")
    print("  statements  stated  came true   (interval of 95 %)")
    for s in found:
        print(f"  {s.many:10d}  {s.stated:6.1%}  {s.true:9.1%}   {s.low:.1%} to {s.high:.1%}")
    return found


def misses(bench: Bench, ends: Sequence[Ended], *, listed: bool) -> None:
    """Why visits ended with a wrong part first: of each the first cause that applies."""
    wrong = [e for e in ends if not e.right]
    causes = Counter(_cause(bench, e) for e in wrong)
    for cause, many in causes.most_common():
        named = Counter(f"{e.fault} taken for {e.led}" for e in wrong if _cause(bench, e) == cause)
        print(f"  {many:3d} wrong: {cause}")
        for what, times in named.most_common(6):
            print(f"        {times} x {what}")
    for e in wrong if listed else ():
        print(f"\n  {e.fault} (row {e.row}), believed {e.failures.get(e.fault, 0):.2f}; {e.led} {e.failures[e.led]:.2f}")
        for r in e.records:
            print(f"    {r.said}{'   (wrong)' if r.name in e.wrong else ''}")


def _cause(bench: Bench, e: Ended) -> str:
    if not bench.shows(e.row):
        return "the furnace reads and shows what a good one does"
    if not told_apart(bench.evidence, e.fault, e.led):
        return "no reading of the rules tells it from what led"
    if {r.name for r in e.records} & {*e.wrong}:
        return "a reading or sign was wrong"
    if e.stopped:
        return "it would act: another reading costs more than it spares"
    return "the most readings were taken"


def told_apart(evidence: Evidence, one: str, other: str) -> bool:
    """Whether any reading tells two failures apart, by the program's own measure."""
    faults = [str(f) for f in evidence.family.faults]
    belief = np.zeros(len(faults))
    belief[[faults.index(one), faults.index(other)]] = 0.5
    nothing = np.zeros(0)
    pairs = not_told_apart(evidence, Posterior(belief, 0.0, nothing, nothing, nothing, nothing, nothing), ())
    return any(pair.parted_by is not None for pair in pairs)


# --- runs ----------------------------------------------------------------------------------------


def against_other_ways(bench: Bench, ends: Sequence[Ended], many: int) -> None:
    """The same furnaces, with the same errors, by other ways to choose."""
    print(f"\nways to choose, the same {many} fresh furnaces, all stopping where the tool would act")
    print("  way         right   ended  readings  minutes  minutes of repair  parts, money  bits left")
    rows = [e.row for e in ends[:many]]
    _line("tool", ends[:many])
    for name, way in (("walk", walk), ("halves", halves)):
        _line(name, visits(name, rows, lambda row, way=way: bench.visit(row, way, most=MOST_WALKED)))  # type: ignore[misc]
    known, left = (float(np.mean([e.bits[n] for e in ends[:many]])) for n in (0, 1))
    print(f"  entropy bound: {known:.1f} bits open at the start, {left:.1f} left by the tool: at least {known - left:.1f} readings, had each two outcomes")


def _line(name: str, ends: Sequence[Ended]) -> None:
    def mean(figures: Iterable[float]) -> float:
        return float(np.mean(list(figures)))

    shares = f"  {name:<10} {mean(e.right for e in ends):6.1%}  {mean(e.stopped for e in ends):6.1%}"
    figures = f"  {mean(e.readings for e in ends):8.1f}  {mean(e.minutes for e in ends):7.1f}  {mean(e.repair for e in ends):17.1f}"
    print(f"{shares}{figures}  {mean(e.money for e in ends):12.0f}  {mean(e.bits[1] for e in ends):9.2f}")


def against_two_steps(bench: Bench, ends: Sequence[Ended], many: int) -> None:
    print(f"\nlooking two readings ahead, {many} of the same furnaces")
    further = visits("two steps", [e.row for e in ends[:many]], lambda row: bench.visit(row, two_steps))
    ours, theirs = (float(np.mean([e.readings for e in some])) for some in (ends[:many], further))
    print(f"  readings {ours:.2f} by the tool, {theirs:.2f} by looking further: {ours / max(theirs, 1e-9):.2f} x   (wanted at most 1.10)")
    right = [float(np.mean([e.right for e in some])) for some in (ends[:many], further)]
    took = [float(np.mean([e.minutes + e.repair for e in some])) for some in (ends[:many], further)]
    print(f"  right part first {right[0]:.1%} and {right[1]:.1%}; minutes of reading and repair {took[0]:.0f} and {took[1]:.0f}")


def left_out(bench: Bench, rows: Sequence[int]) -> None:
    """The true failure is one that nobody knows of."""

    def one(row: int) -> Ended:
        return bench.visit(row, without=without_fault(bench.evidence, int(bench.fresh.fault_of[row])))

    ends = visits("true failure unknown", rows, one)
    too_sure = [e for e in ends if e.parts[e.first] > BELIEVED and not e.right]
    wrong = [e for e in too_sure if told_apart(bench.evidence, e.fault, e.led)]
    print(f"\ntrue failure left out of the population: {len(ends)} visits")
    print(f"  no wrong part above {BELIEVED:g} that can be told apart from it  {1 - len(wrong) / len(ends):6.1%}   (wanted 95 %)")
    print(f"  no wrong part above {BELIEVED:g} at all                          {1 - len(too_sure) / len(ends):6.1%}")
    print(f"  good boards proved bad {sum(e.board == 'proved_bad' for e in ends if not is_board(e.fault))}")
    for what, times in Counter(f"{e.fault} taken for {e.led}" for e in wrong).most_common(8):
        print(f"        {times} x {what}")


def arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description="How good the tool is when it chooses its own readings.")
    parser.add_argument("visits", nargs="?", type=int, default=VISITS)
    parser.add_argument("--picture", type=Path, metavar="FILE")
    parser.add_argument("--misses", action="store_true")
    parser.add_argument("--only", nargs="+", choices=("fresh", "bent", "states", "unknown", "ways", "two_steps", "boards"), default=None)
    return parser.parse_args()


def main() -> None:
    asked, start = arguments(), time.perf_counter()
    wanted = set(asked.only or ("fresh", "bent", "states", "unknown", "ways", "two_steps", "boards"))
    knowledge = load_rules()
    family = Family(knowledge, next(iter(knowledge.furnace)))
    evidence = Evidence(family, population_for(family))
    tell("building fresh furnaces")
    bench = Bench(evidence, build(family, sites=SITES, seed=FRESH_SEED))
    rows = drawn(family, bench.fresh, asked.visits, 1)
    some = max(asked.visits // 2, 1)
    series: dict[str, list[Stated]] = {}
    fresh: list[Ended] = []
    if wanted & {"fresh", "ways", "two_steps"}:
        fresh = visits("fresh furnaces", rows, bench.visit)
    if "fresh" in wanted:
        table("fresh furnaces", fresh)
        misses(bench, fresh, listed=asked.misses)
        series["fresh furnaces"] = calibration_table("fresh furnaces", fresh)
    if "bent" in wanted:
        series["bent furnaces"] = bent_furnaces(evidence, asked.visits, listed=asked.misses)
    if "states" in wanted:
        points = [(name, step) for name, step, _ in evidence.population.columns if name in knowledge.point]
        states = visits("no figures", rows[:some], lambda row: bench.visit(row, never=points))
        table("states only, no figures", states)
        misses(bench, states, listed=asked.misses)
    if "unknown" in wanted:
        left_out(bench, drawn(family, bench.fresh, some, 2))
    if "ways" in wanted:
        against_other_ways(bench, fresh, min(max(asked.visits // 4, 1), len(fresh)))
    if "two_steps" in wanted:
        against_two_steps(bench, fresh, min(max(asked.visits // 8, 1), len(fresh)))
    if "boards" in wanted:
        table_of_bad_boards(evidence, bench.fresh, SITES, FRESH_SEED, some, tell)
    if asked.picture:
        asked.picture.write_text(drawing(series), encoding="utf-8")
        print(f"\ncalibration drawn in {asked.picture}")
    print(f"\n{time.perf_counter() - start:.0f} s in all")


def bent_furnaces(evidence: Evidence, many: int, *, listed: bool) -> list[Stated]:
    tell("building bent furnaces")
    bench = Bench(evidence, bent(evidence.family, SITES, BENT_SEED), BENT_GAIN)
    ends = visits("bent furnaces", drawn(evidence.family, bench.fresh, many, 1), bench.visit)
    table("bent furnaces (times up to half off, wide supply, meter 2 % high, unusual options)", ends)
    misses(bench, ends, listed=listed)
    return calibration_table("bent furnaces", ends)


if __name__ == "__main__":
    main()
