"""Small made-up furnaces whose best plan can be found by trying everything, for the program to choose readings on.

A world has parts with odds and costs, and readings that show nothing (0 ohm) or OL on each of them, without error. What is
chosen is chosen by the program's own `choose`, fed with its own `weigh`; the best plan is found here, over all plans.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache, cached_property
from itertools import permutations
from types import SimpleNamespace

import numpy as np

from furnace_diag.diagnosis.choice import Choice
from furnace_diag.diagnosis.choose import choose
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.records import Record
from furnace_diag.diagnosis.weigh import weigh
from furnace_diag.furnace.family import Fault
from furnace_diag.furnace.population import Population
from furnace_diag.knowledge.models import Knowledge, Part, Point, RepairCost
from furnace_diag.problems import Place

STEP = "heating"
HERE = Place("made-up furnace", 1, 1)
NOTHING_ELSE = 1e-12  # the least that the program takes; no plan here feels it


@dataclass(frozen=True)
class Ended:
    """A visit: the readings taken, what each told of the part when it was chosen [bit], and the minutes of repair expected at its end."""

    readings: tuple[str, ...]
    bits: tuple[float, ...]
    repair: float


@dataclass(frozen=True)
class World:
    """*odds* and *costs* [min] of the parts; of each reading its *minutes* and which parts make it OL, shape (readings, parts)."""

    odds: tuple[float, ...]
    costs: tuple[float, ...]
    minutes: tuple[float, ...]
    opens: tuple[tuple[int, ...], ...]
    otherwise: float = 1e6  # minutes of finding the fault in some other way: so many that nobody turns to it

    # --- the program's plan -----------------------------------------------------------------

    def evidence(self, knowledge: Knowledge, sequence: object) -> Evidence:
        """The world as the program knows one; a slip is never made in it."""
        words = next(iter(knowledge.words.values()))
        exact = words.model_copy(
            update={"slip": dict.fromkeys(words.slip, 0.0), "choice": words.choice.model_copy(update={"otherwise": self.otherwise})}
        )
        parts = {f"part_{i}": Part(part=f"part_{i}", says="a part", often="common", repair=RepairCost(minutes=c, price=0)) for i, c in enumerate(self.costs)}
        points = {
            f"reading_{i}": Point(
                point=f"reading_{i}", says="a reading", function="ohms", unit="ohm", reads="ohms:path", steps=(STEP,), where="anywhere", minutes=m
            )
            for i, m in enumerate(self.minutes)
        }
        own = knowledge.model_copy(update={"part": parts, "point": points, "sign": {}, "words": {exact.words: exact}})
        failure = SimpleNamespace(says="it failed", comes_and_goes=None, effects=())
        family = SimpleNamespace(knowledge=own, sequence=sequence, failure=lambda _: failure, points=(), elements=())
        return Evidence(family, self._population())  # type: ignore[arg-type]

    def _population(self) -> Population:
        """One furnace of each failure, after a healthy one on which every path is closed."""
        many = len(self.odds)
        shown = np.where(np.array(self.opens, bool).reshape(-1, many), np.inf, 0.0)
        return Population(
            family="made_up",
            faults=tuple(Fault(f"part_{i}", "failed") for i in range(many)),
            steps=(STEP,),
            fault_of=np.arange(-1, many, dtype=np.int16),
            site_of=np.zeros(many + 1, np.int16),
            options={},
            columns={(f"reading_{i}", STEP, ""): i for i in range(len(self.opens))},
            table=np.hstack([np.zeros((len(self.opens), 1)), shown]).astype(np.float16),
            changed_columns={},
            changed=np.zeros((0, many + 1), np.float16),
            stops=np.zeros(many + 1, np.int8),
            rests=np.zeros(many + 1, np.int8),
        )

    def visits(self, evidence: Evidence) -> list[Ended]:
        """Of each part the visit that the program makes of it."""
        return [self._visit(evidence, part) for part in range(len(self.odds))]

    def _visit(self, evidence: Evidence, part: int) -> Ended:
        records: list[Record] = []
        bits: list[float] = []
        while (choice := self.chosen(evidence, records)).act is None:
            reading = choice.readings[0]
            value = float(evidence.population.table[evidence.population.columns[reading.name, STEP, ""], part + 1])
            records.append(Record("point", reading.name, reading.name, HERE, number=value, step=STEP))
            bits.append(reading.bits)
        return Ended(tuple(r.name for r in records), tuple(bits), choice.act.cost)

    def chosen(self, evidence: Evidence, records: Sequence[Record]) -> Choice:
        """What the program would do next."""
        groups = evidence.groups(records)
        everywhere = np.ones(len(evidence.population.fault_of))
        facts = [facts for _, facts in groups]
        posterior = weigh(evidence.population, np.array(self.odds) / sum(self.odds), facts, everywhere, NOTHING_ELSE, evidence.comings)
        return choose(evidence, posterior, records, None, groups=groups)

    @staticmethod
    def number(reading: str) -> int:
        """Of a reading, from its name."""
        return int(reading.rpartition("_")[2])

    def mean_readings(self, visits: Sequence[Ended]) -> float:
        """By the odds of the parts."""
        return sum(p * len(v.readings) for p, v in zip(self.odds, visits, strict=True)) / sum(self.odds)

    def mean_cost(self, visits: Sequence[Ended]) -> float:
        """Minutes of reading and of the repair after it, by the odds of the parts."""
        took = [v.repair + sum(self.minutes[self.number(name)] for name in v.readings) for v in visits]
        return sum(p * t for p, t in zip(self.odds, took, strict=True)) / sum(self.odds)

    # --- the best plan of all ---------------------------------------------------------------

    @cached_property
    def entropy(self) -> float:
        """Of which part it is [bit]."""
        p = np.array(self.odds) / sum(self.odds)
        return float(-(p * np.log2(p)).sum())

    def best_cost(self) -> float:
        """Minutes of the best plan: at every moment read anything, or repair in any order."""
        return _best(self, frozenset(range(len(self.odds)))) / sum(self.odds)

    def fewest_readings(self, first: int | None = None) -> float:
        """Mean of the plan that names the part with the fewest readings; of those that begin with reading number *first*."""
        everything = frozenset(range(len(self.odds)))
        if first is None:
            return _fewest(self, everything) / sum(self.odds)
        return 1 + next(_fewest(self, ol) + _fewest(self, closed) for r, ol, closed in _parted(self, everything) if r == first) / sum(self.odds)


def _parted(world: World, left: frozenset[int]) -> Iterator[tuple[int, frozenset[int], frozenset[int]]]:
    """Every reading that parts the parts *left* in two, and into what."""
    for reading, opens in enumerate(world.opens):
        ol = frozenset(i for i in left if opens[i])
        if ol and ol != left:
            yield reading, ol, left - ol


@cache
def _fewest(world: World, left: frozenset[int]) -> float:
    """Readings times odds until one part is left, by dynamic programming."""
    if len(left) == 1:
        return 0.0
    return sum(world.odds[i] for i in left) + min(_fewest(world, ol) + _fewest(world, closed) for _, ol, closed in _parted(world, left))


@cache
def _best(world: World, left: frozenset[int]) -> float:
    """Minutes times odds from here to the end of the repair, by dynamic programming."""
    odds = sum(world.odds[i] for i in left)
    plans = [world.minutes[r] * odds + _best(world, ol) + _best(world, closed) for r, ol, closed in _parted(world, left)]
    return min([_repaired(world, left), *plans])


def _repaired(world: World, left: frozenset[int]) -> float:
    """Minutes times odds of putting right one part after another in the best of all orders; each is paid while the fault is still there."""
    return min(_in_order(world, order) for order in permutations(left))


def _in_order(world: World, order: Sequence[int]) -> float:
    return sum(world.costs[i] * sum(world.odds[j] for j in order[n:]) for n, i in enumerate(order))
