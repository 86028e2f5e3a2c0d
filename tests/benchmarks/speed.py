"""Times and ratios: `python tests/benchmarks/speed.py`. Nothing here fails on a clock; a peer is measured in the same run."""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

TOP = Path(__file__).resolve().parents[2]
CASE = TOP / "cases" / "no_blower_heat_relay.yaml"


def process(code: str, times: int = 7) -> float:
    """Median seconds of a Python process."""
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        subprocess.run([sys.executable, "-c", code], cwd=TOP, check=True, capture_output=True, env={**os.environ, "PYTHONPATH": str(TOP)})
        taken.append(time.perf_counter() - start)
    return statistics.median(taken)


def median_ms(what: Callable[[], object], times: int = 50) -> float:
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        what()
        taken.append(time.perf_counter() - start)
    return statistics.median(taken) * 1e3


def main() -> None:
    os.environ.setdefault("FURNACE_DIAG_CACHE", tempfile.mkdtemp())
    from furnace_diag.diagnosis.answer import answer
    from furnace_diag.diagnosis.evidence import Evidence, prior_given
    from furnace_diag.diagnosis.records import read_report
    from furnace_diag.diagnosis.weigh import weigh
    from furnace_diag.furnace.family import Family
    from furnace_diag.furnace.population import build
    from furnace_diag.furnace.store import population_for
    from furnace_diag.knowledge.load import load_rules

    knowledge = load_rules()
    family = Family(knowledge, next(iter(knowledge.furnace)))
    start = time.perf_counter()
    build(family)
    print(f"build of the population          {time.perf_counter() - start:8.1f} s")
    population = population_for(family)
    evidence = Evidence(family, population)
    report = read_report(CASE, knowledge)
    ones = (population.fault_of >= 0).astype(float)

    def rank() -> object:
        groups = evidence.groups(report.records)
        return weigh(population, prior_given(family, report.records), [f for _, f in groups], ones, 0.04)

    rank()
    print(f"a ranking of {len(report.records)} records          {median_ms(rank):8.2f} ms median")
    print(f"the whole answer                 {median_ms(lambda: answer(report, evidence)):8.2f} ms median")
    click_only = process("import click\n@click.command()\ndef f(): pass\nf(['--help'])")
    ours = process("from furnace_diag.cli.main import main\nmain(['--help'])")
    print(f"--help against a bare click      {ours / click_only:8.2f} x ({ours * 1e3:.0f} ms)")
    peer = process("import click, numpy")
    mine = process(f"from furnace_diag.cli.main import main\nmain(['rank', {str(CASE)!r}])")
    print(f"rank against click and numpy     {mine / peer:8.2f} x ({mine * 1e3:.0f} ms)")
    import resource

    print(f"peak memory, build included      {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:8.0f} MB")


if __name__ == "__main__":
    main()
