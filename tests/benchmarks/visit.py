"""Times of the prompt: from Enter to the next prompt, and opening a long visit. `python tests/benchmarks/visit.py`

Each is held against a peer of the same run: an fsync of one line, which no prompt can do without, and the start of a new visit.
"""

from __future__ import annotations

import os
import statistics
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import click

from furnace_diag.cli.common import family_and_population, rules_of
from furnace_diag.cli.visit_desk import Desk
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.visit.journal import Journal
from furnace_diag.visit.session import Session

LINES = [
    "inducer runs yes", "igniter glows no at igniter warm up", "24v at w 25.1 at call", "line to neutral at board 120",
    "igniter pin to neutral 119 at igniter warm up", "r to c 25.4", "flame rod filmed", "filter dirty", "igniter looks whole",
    "pressure switch closed at ignition trial", "igniter ohms OL", "storm",
]  # fmt: skip
ENTRIES = 500


class Typist:
    """Types lines and notes how long each took to come back to the prompt."""

    def __init__(self) -> None:
        self.first_key = 0.0
        self.by_steps = False
        self.took: list[float] = []
        self._lines = iter([*LINES])
        self._sent = 0.0

    def ask(self, prompt: str) -> str | None:
        if prompt != "> ":
            return ""
        now = time.perf_counter()
        if self._sent:
            self.took.append(now - self._sent)
        self._sent = time.perf_counter()
        return next(self._lines, None)

    def ask_key(self, prompt: str, keys: object) -> str | None:
        return ""


def main() -> None:
    """Prints the figures."""
    knowledge = rules_of(())
    name = next(iter(knowledge.furnace))
    evidence = Evidence(*family_and_population(knowledge, name))
    with tempfile.TemporaryDirectory() as folder:
        to_prompt = [t for i in range(5) for t in _typed(evidence, Path(folder) / f"{i}.jsonl", name)]
        fsync = statistics.median(_fsyncs(Path(folder) / "sync"))
        print(f"Enter to the next prompt: median {1e3 * statistics.median(to_prompt):.0f} ms, worst {1e3 * max(to_prompt):.0f} ms of {len(to_prompt)};"
              f" {statistics.median(to_prompt) / fsync:.0f} x an fsync ({1e3 * fsync:.2f} ms)")  # fmt: skip
        long = Path(folder) / "long.jsonl"
        _write_long(evidence, long, name)
        opened, fresh = (_best(act) for act in (lambda: _open(evidence, long, name), lambda: _open(evidence, None, name)))
        print(f"opening {ENTRIES} entries: {1e3 * opened:.0f} ms over start-up, {opened / fresh:.0f} x a new visit ({1e3 * fresh:.1f} ms)")


def _typed(evidence: Evidence, path: Path, name: str) -> list[float]:
    journal = Journal(path, new=True)
    typist = Typist()
    with open(os.devnull, "w") as nowhere:
        echo = click.echo
        click.echo = lambda text="", **_: print(text, file=nowhere)  # type: ignore[assignment]
        try:
            Desk(Session(evidence.knowledge, evidence, journal, name), typist, lambda: 80).run()
        finally:
            click.echo = echo  # type: ignore[assignment]
            journal.close()
    return typist.took


def _fsyncs(path: Path) -> list[float]:
    took = []
    with path.open("ab") as file:
        for _ in range(50):
            begun = time.perf_counter()
            file.write(b"x" * 300)
            file.flush()
            os.fsync(file.fileno())
            took.append(time.perf_counter() - begun)
    return took


def _write_long(evidence: Evidence, path: Path, name: str) -> None:
    journal = Journal(path, new=True)
    session = Session(evidence.knowledge, evidence, journal, name)
    points = [p for p in evidence.knowledge.point.values() if p.unit == "V"]
    for i in range(ENTRIES):
        journal.append("record", {"record": {"point": points[i % len(points)].point, "value": f"{i % 25}", "call": str(1 + i // len(points))}})
    session.journal.close()


def _open(evidence: Evidence, path: Path | None, name: str) -> None:
    journal = Journal(path or Path(tempfile.mkdtemp()) / "v.jsonl", new=path is None)
    Session(evidence.knowledge, evidence, journal, name)
    journal.close()


def _best(act: Callable[[], None]) -> float:
    took = []
    for _ in range(5):
        begun = time.perf_counter()
        act()
        took.append(time.perf_counter() - begun)
    return min(took)


if __name__ == "__main__":
    main()
