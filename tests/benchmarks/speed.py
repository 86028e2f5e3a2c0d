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


def processes(*codes: str, times: int = 11) -> list[float]:
    """Median seconds of a Python process for each of *codes*, run by turns so that a noisy minute falls on all alike.

    Modules are compiled once before, as pip does when it installs.
    """
    with tempfile.TemporaryDirectory() as compiled:
        env = {**os.environ, "PYTHONPATH": str(TOP), "PYTHONPYCACHEPREFIX": compiled}
        env.pop("PYTHONDONTWRITEBYTECODE", None)
        taken = [[seconds_of_process(code, env) for code in codes] for _ in range(times + 1)]
    return [statistics.median(column) for column in zip(*taken[1:], strict=True)]


def seconds_of_process(code: str, env: dict[str, str]) -> float:
    start = time.perf_counter()
    subprocess.run([sys.executable, "-c", code], cwd=TOP, check=True, capture_output=True, env=env)
    return time.perf_counter() - start


def in_ms(what: Callable[[], object], times: int = 100) -> str:
    """Median and least: on a machine with other work the median is theirs as much as ours."""
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        what()
        taken.append(time.perf_counter() - start)
    return f"{statistics.median(taken) * 1e3:8.2f} ms median, {min(taken) * 1e3:.2f} least"


def main() -> None:
    os.environ.setdefault("FURNACE_DIAG_CACHE", tempfile.mkdtemp())
    from furnace_diag.diagnosis.answer import answer
    from furnace_diag.diagnosis.evidence import Evidence
    from furnace_diag.diagnosis.prior import prior_given
    from furnace_diag.diagnosis.report_file import read_report
    from furnace_diag.diagnosis.weigh import weigh
    from furnace_diag.furnace.family import Family
    from furnace_diag.furnace.population import build
    from furnace_diag.furnace.store import default_folder, population_for
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

    def anew() -> object:
        fresh = Evidence(family, population)
        return weigh(population, prior_given(family, report.records), [f for _, f in fresh.groups(report.records)], ones, 0.04)

    rank()
    print(f"a ranking of {len(report.records)} records          {in_ms(rank)}")
    print(f"  with nothing prepared          {in_ms(anew)}")
    print(f"the whole answer                 {in_ms(lambda: answer(report, evidence))}")
    stores = [sum(f.stat().st_size for f in store.iterdir()) for store in default_folder().iterdir() if store.is_dir()]
    print(f"the largest population on disk   {max(stores) / 1e6:8.1f} MB")
    run = f"from furnace_diag.cli.main import main\nmain(['rank', {str(CASE)!r}])"
    click_only, our_help, peer, mine = processes(
        "import click\n@click.command()\ndef f(): pass\nf(['--help'])",
        "from furnace_diag.cli.main import main\nmain(['--help'])",
        "import click, numpy",
        run,
    )
    print(f"--help against a bare click      {our_help / click_only:8.2f} x ({our_help * 1e3:.0f} ms)")
    print(f"rank against click and numpy     {mine / peer:8.2f} x ({mine * 1e3:.0f} ms)")
    import resource

    print(f"peak memory, build included      {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:8.0f} MB")
    from exact_inference import against_exact_inference

    taken = against_exact_inference(population, family.prior)
    ms = taken.ours * 1e3
    print(f"exact Bayesian-network library   {taken.ranking / taken.ours:8.1f} x our time on the same discretised table, for the same ranking ({ms:.2f} ms)")
    print(f"  for the posterior alone        {taken.posterior / taken.ours:8.1f} x, which our ranking holds with what each reading says")
    print(f"  that with its network made     {taken.made / taken.ours:8.1f} x ({taken.made * 1e3:.0f} ms)")


if __name__ == "__main__":
    main()
