"""Claims judged: `python tests/benchmarks/claims.py [CLAIMS]`. Prints claims a second with full reasons on one core, and on two against one.

Two sets: invented claims whose records hardly ever repeat, the worst for what is remembered, and the same number of claims of
which every ten have the same records. Beside them the load of the machine, and how much more two plain loops get done at once
than one: two cores can give no more than that. Nothing here fails on a clock.
"""

from __future__ import annotations

import csv
import multiprocessing
import os
import sys
import tempfile
import time
from datetime import date
from pathlib import Path


def silent(_done: int, _all: int, _left: float) -> None:
    """Hears progress where nobody wants to."""


def repeated(source: Path, target: Path) -> None:
    """The same claims, but every ten of them have the records of the first."""
    with source.open(encoding="utf-8", newline="") as old, target.open("w", encoding="utf-8", newline="") as new:
        rows = csv.DictReader(old)
        table = csv.DictWriter(new, rows.fieldnames or ())
        table.writeheader()
        by_claim: dict[str, list[dict[str, str]]] = {}
        for row in rows:
            by_claim.setdefault(row["claim"], []).append(row)
        several = list(by_claim.values())
        for i, claim in enumerate(several):
            table.writerows({**row, "claim": claim[0]["claim"], "shop": claim[0]["shop"]} for row in several[i - i % 10])


def loop(_: int = 0) -> int:
    return sum(i * i for i in range(4_000_000))


def machine() -> str:
    """What two cores are worth just now."""
    start = time.perf_counter()
    loop()
    one = time.perf_counter() - start
    with multiprocessing.get_context("spawn").Pool(2) as pool:
        pool.map(loop, [0, 0], chunksize=1)  # both are there from here on
        start = time.perf_counter()
        pool.map(loop, [0, 0], chunksize=1)
        two = time.perf_counter() - start
    return f"load {os.getloadavg()[0]:.1f}; two plain loops at once get {2 * one / two:.2f} x as much done as one"


def main() -> None:
    os.environ.setdefault("OMP_NUM_THREADS", "1")
    from furnace_diag.claims.demo import write_demo
    from furnace_diag.claims.reading import Files
    from furnace_diag.claims.run import Judge, Task, run
    from furnace_diag.furnace.family import Family
    from furnace_diag.furnace.store import default_folder, population_for
    from furnace_diag.knowledge.kept import kept_rules

    count = int(sys.argv[1]) if len(sys.argv) > 1 else 2100
    knowledge = kept_rules(default_folder())
    family = Family(knowledge, next(iter(knowledge.furnace)))
    population_for(family)
    with tempfile.TemporaryDirectory() as folder:
        top = Path(folder)
        names, third = ("all different", "ten alike"), "a third of "
        for before, many in (("", count), (third, count // 3)):
            write_demo(family, top / f"{before}{names[0]}.csv", many, seed=11)
            repeated(top / f"{before}{names[0]}.csv", top / f"{before}{names[1]}.csv")
        for name in names:
            path = top / f"{name}.csv"
            print(machine())
            judge = Judge(knowledge, date(2026, 1, 1), {})
            claims = [(raw, False) for raw in Files((path,), judge.reader.headings[judge.reader.first]).claims()]
            judge.lines(claims[: count // 3])  # loads the furnaces and fills what is remembered, as the first thousands of a long run do
            timed = claims[count // 3 :]
            start, used = time.perf_counter(), time.process_time()
            judge.lines(timed)
            wall, used = time.perf_counter() - start, time.process_time() - used
            print(f"{name:14} one core {len(timed) / wall:7.0f} claims/s ({1e3 * used / len(timed):.1f} ms of processor time a claim)")
            del judge, claims, timed  # a run begins without what these remember
            few, all_ = (
                [timed_run(run, Task((top / f"{before}{name}.csv",), top / f"{before}{name}{w}", today=date(2026, 1, 1), workers=w), knowledge) for w in (1, 2)]
                for before in (third, "")
            )
            print(f"{'':14} whole runs, start included: {all_[0]:.1f} s on one core, {all_[1]:.1f} s on two: {all_[0] / all_[1]:.2f} x")
            print(f"{'':14} as a long run goes on, after its first {count // 3:,}: {(all_[0] - few[0]) / (all_[1] - few[1]):.2f} x")


def timed_run(run: object, task: object, knowledge: object) -> float:
    start = time.perf_counter()
    run(task, knowledge, silent)  # type: ignore[operator]
    return time.perf_counter() - start


if __name__ == "__main__":
    main()
