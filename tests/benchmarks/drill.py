"""How fast a drill answers: `python tests/benchmarks/drill.py`. Prints a table of processor time; nothing fails.

Readings: named points and any two terminals, volts and ohms, drawn at random while a faulty furnace heats and when it is off.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.furnace.family import Family, Fault
from furnace_diag.furnace.store import population_for
from furnace_diag.knowledge.load import load_rules
from furnace_diag.training.acts import Act
from furnace_diag.training.drill import Drill
from furnace_diag.training.lesson import Hidden, read_lesson
from furnace_diag.training.policy import check
from tests.training.test_every_failure import lesson_with

READINGS = 60
LESSONS = Path(__file__).resolve().parents[2] / "cases" / "lessons"


def ms(run: Callable[[], object]) -> float:
    start = time.process_time()
    run()
    return 1000 * (time.process_time() - start)


def told(name: str, times: list[float]) -> None:
    print(f"{name:<44}{np.median(times):8.1f} ms median {np.percentile(times, 95):8.1f} ms in 19 of 20")


def main() -> None:
    knowledge = load_rules()
    family = Family(knowledge, next(iter(knowledge.furnace)))
    random = np.random.default_rng(1)
    drill = Drill(family, lesson_with(family, Hidden(Fault("flame_rod", "filmed"))))
    drill.do(Act(do="call", what=family.sequence.heat_call.step))
    drill.do(Act(do="wait", seconds=45))
    points = [p.point for p in family.points if p.leads is not None]
    nodes = list(family.wiring.nodes)
    stretches = [float(s) for s in random.uniform(0.5, 3, READINGS)]
    named = [Act(do="read", what=str(random.choice(points))) for _ in range(READINGS)]
    pairs = [[str(n) for n in random.choice(nodes, 2, replace=False)] for _ in range(READINGS)]
    told("a named point", [ms(lambda a=act: drill.do(a)) for act in named])
    moved = [ms(lambda s=s, a=a: (drill.bench.run_on(s), drill.do(a))) for s, a in zip(stretches, named, strict=True)]
    told("the same after the clock was run on", moved)
    told("volts between any two terminals", [ms(lambda p=pair: drill.do(Act(do="volts", what=p[0], other=p[1]))) for pair in pairs])
    told("the same with a figure foretold", [ms(lambda p=pair: drill.do(Act(do="volts", what=p[0], other=p[1], expect=24.0))) for pair in pairs])
    drill.do(Act(do="power", what="off"))
    drill.do(Act(do="discharge"))
    told("ohms between any two terminals", [ms(lambda p=pair: drill.do(Act(do="ohms", what=p[0], other=p[1]))) for pair in pairs])
    evidence = Evidence(family, population_for(family))
    times = [ms(lambda p=path: check(evidence, read_lesson(p, knowledge))) for path in sorted(LESSONS.glob("*.yaml"))]
    told("a lesson checked", times)
    print(f"{'the slowest lesson':<44}{max(times):8.1f} ms")


if __name__ == "__main__":
    main()
