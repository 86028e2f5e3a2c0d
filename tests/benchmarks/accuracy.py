"""How good the tool is when it chooses its own readings: `python tests/benchmarks/accuracy.py [VISITS]`. Prints a table; nothing fails.

Each visit is one furnace of a population drawn with another seed, with a failure drawn as often as the rules say. It begins
with how far the heat call gets. Then the tool asks, the virtual furnace answers: readings with a meter's error of 1 % and
0.3 V, 2 % of them slipped to another point of the same kind, 5 % of signs wrong. A visit ends with an act, or after 15
readings. A second run bends the furnaces: meter gain 2 % off, and a site whose options are each other than usual.

This is the tool's own world: furnaces, failures and laws are those of its rules. Real breakdowns are in tests/reference/field.
"""

from __future__ import annotations

import sys
import time
from dataclasses import dataclass, replace

import numpy as np

from furnace_diag.diagnosis.answer import Answer, answer
from furnace_diag.diagnosis.choose import NextReading
from furnace_diag.diagnosis.evidence import Evidence, chance_of_words
from furnace_diag.diagnosis.records import Record, Report
from furnace_diag.furnace.family import Family
from furnace_diag.furnace.population import WHOLE_CALL, Population, build
from furnace_diag.furnace.store import population_for
from furnace_diag.knowledge.load import load_rules
from furnace_diag.knowledge.words import words_of
from furnace_diag.problems import Place

FRESH_SEED, SITES, MOST_READINGS = 987_654, 32, 15
HERE = Place("virtual furnace", 1, 1)
START = "stops_at"


@dataclass
class Ended:
    """How a visit ended: the rank of the true part and failure, what was believed of the first part, readings and minutes."""

    fault: str
    part_rank: int
    failure_rank: int
    first: float
    readings: int
    minutes: float
    acted: bool
    board_proved: bool


class Furnace:
    """One row of a population, read with a meter that errs."""

    def __init__(self, family: Family, population: Population, row: int, random: np.random.Generator, gain: float) -> None:
        self.family, self.population, self.row, self.random, self.gain = family, population, row, random, gain

    def record(self, name: str, step: str) -> Record | None:
        """What is read or seen; None where the furnace never comes to that step."""
        k = self.family.knowledge
        column = next((i for (n, s, m), i in self.population.columns.items() if n == name and s == step and m != "low"), None)
        if column is None:
            return self._by_habit(name)
        value = float(self.population.table[column, self.row])
        if np.isnan(value):
            return None
        where = None if step == WHOLE_CALL else step
        if name in k.point:
            return Record("point", name, f"{name}: {value:.4g}", HERE, number=self._metered(value, k.point[name].unit), step=where)
        sign = k.sign[name]
        assert sign.shows is not None
        words = words_of(sign.shows, self.family.sequence)
        chance = np.array([chance_of_words(sign, words, v)[int(value)] for v in sign.values])
        if chance.sum() == 0:
            return None
        word = sign.values[int(self.random.choice(len(chance), p=chance / chance.sum()))]
        return Record("sign", name, f"{name}: {word}", HERE, word=self._mistaken(word, sign.values), step=where)

    def _by_habit(self, name: str) -> Record:
        sign = self.family.knowledge.sign[name]
        evidence = Evidence(self.family, self.population)
        fault = self.population.fault_of[self.row]
        chance = np.array([evidence.habits(sign, v)[fault] for v in sign.values])
        word = sign.values[int(self.random.choice(len(chance), p=chance / chance.sum()))]
        return Record("sign", name, f"{name}: {word}", HERE, word=self._mistaken(word, sign.values))

    def _metered(self, value: float, unit: str) -> float:
        if not np.isfinite(value):
            return value
        return value * self.gain * float(1 + 0.01 * self.random.standard_normal()) + (0.3 if unit == "V" else 0.0) * float(self.random.standard_normal())

    def _mistaken(self, word: str, values: tuple[str, ...]) -> str:
        return str(self.random.choice([v for v in values if v != word])) if self.random.random() < 0.05 else word

    def asked(self, reading: NextReading) -> Record | None:
        """The answer to a question; one reading in fifty is taken at another point of the same kind."""
        step = reading.step or (WHOLE_CALL if (reading.name, WHOLE_CALL, "") in self.population.columns else "")
        record = self.record(reading.name, step)
        if record is not None and record.kind == "point" and self.random.random() < 0.02:
            point = self.family.knowledge.point[reading.name]
            others = [p.point for p in self.family.knowledge.point.values() if p.function == point.function and step in p.steps and p.point != reading.name]
            wrong = self.record(str(self.random.choice(others)), step) if others else None
            return replace(record, number=wrong.number) if wrong is not None else record
        return record


def visit(evidence: Evidence, furnace: Furnace, fault: str) -> Ended:
    """Ask until the tool would act."""
    first = furnace.record(START, WHOLE_CALL)
    assert first is not None
    records, readings, minutes, untaken = [first], 0, 5.0, set()
    while True:
        result = answer(Report(furnace.family.furnace.furnace, "", tuple(records)), evidence, never=frozenset(untaken))
        if result.act is not None or not result.next or readings >= MOST_READINGS:
            return ended(result, fault, readings, minutes)
        chosen = result.next[0]
        record = furnace.asked(chosen)
        if record is None:
            untaken.add((chosen.name, chosen.step))
            minutes += 1
            continue
        readings, minutes = readings + 1, minutes + chosen.minutes
        records.append(record)


def ended(result: Answer, fault: str, readings: int, minutes: float) -> Ended:
    part, _, failure = fault.partition(":")
    parts = [p.part for p in result.parts]
    failures = sorted(((f.probability, p.part, f.failure) for p in result.parts for f in p.failures), reverse=True)
    rank = [(p, f) for _, p, f in failures].index((part, failure)) + 1
    proved = result.board.verdict == "proved_bad"
    return Ended(fault, parts.index(part) + 1, rank, result.parts[0].probability, readings, minutes, result.act is not None, proved)


def run(title: str, evidence: Evidence, fresh: Population, family: Family, count: int, *, gain: float, bent: bool) -> None:
    random = np.random.default_rng(1)
    rows = np.flatnonzero(fresh.fault_of >= 0)
    weight = family.prior[fresh.fault_of[rows]]
    if bent:
        usual = {o: list(option.values).index(option.usual) for o, option in family.furnace.options.items()}
        odd = np.mean([fresh.options[o][rows] != u for o, u in usual.items()], axis=0)
        weight = weight * (odd >= np.quantile(odd, 0.7))
    picked = random.choice(rows, count, p=weight / weight.sum())
    results = []
    start = time.perf_counter()
    for i, row in enumerate(picked):
        results.append(visit(evidence, Furnace(family, fresh, int(row), random, gain), str(fresh.faults[fresh.fault_of[row]])))
        if (i + 1) % 20 == 0:
            print(f"  {i + 1}/{count} visits, {time.perf_counter() - start:.0f} s", file=sys.stderr)
    table(title, results)


def table(title: str, results: list[Ended]) -> None:
    many = len(results)
    print(f"\n{title}: {many} visits")
    print(f"  right part first            {sum(r.part_rank == 1 for r in results) / many:6.1%}")
    print(f"  right part in first three   {sum(r.part_rank <= 3 for r in results) / many:6.1%}")
    print(f"  right failure first         {sum(r.failure_rank == 1 for r in results) / many:6.1%}")
    print(f"  ended with an act           {sum(r.acted for r in results) / many:6.1%}")
    print(f"  readings, mean and most     {np.mean([r.readings for r in results]):6.1f} {max(r.readings for r in results)}")
    print(f"  minutes, mean               {np.mean([r.minutes for r in results]):6.1f}")
    good = [r for r in results if not r.fault.startswith("control_board")]
    print(f"  good boards proved bad      {sum(r.board_proved for r in good)} of {len(good)}")
    print("  belief in the first part, and how often it was right:")
    for low, high in ((0.0, 0.5), (0.5, 0.7), (0.7, 0.9), (0.9, 0.97), (0.97, 1.01)):
        some = [r for r in results if low <= r.first < high]
        if some:
            right, believed = np.mean([r.part_rank == 1 for r in some]), np.mean([r.first for r in some])
            print(f"    {low:.2f} to {min(high, 1):.2f}: {len(some):4d} visits, believed {believed:.2f}, right {right:.2f}")
    wrong = [r.fault for r in results if r.part_rank > 1]
    print(f"  not first: {', '.join(sorted(set(wrong))[:12])}")


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 150
    knowledge = load_rules()
    family = Family(knowledge, next(iter(knowledge.furnace)))
    evidence = Evidence(family, population_for(family))
    print("building fresh furnaces", file=sys.stderr)
    fresh = build(family, sites=SITES, seed=FRESH_SEED)
    run("fresh furnaces", evidence, fresh, family, count, gain=1.0, bent=False)
    run("bent furnaces (meter 2 % high, unusual options)", evidence, fresh, family, count, gain=1.02, bent=True)


if __name__ == "__main__":
    main()
