"""Many claims: the same bytes whatever the cores, a stopped run goes on, memory stays flat, numbers used twice are told."""

from __future__ import annotations

import json
import subprocess
import sys
from datetime import date
from pathlib import Path

import pytest

from furnace_diag.claims.demo import write_demo
from furnace_diag.claims.run import CHUNK, MOST_TO_READ, RESULTS, TABLE, Summary, Task, in_a_cell, run
from furnace_diag.furnace.family import Family
from furnace_diag.knowledge.models import Knowledge

TODAY = date(2026, 6, 1)
COUNT = 3 * CHUNK + 5


@pytest.fixture(scope="module")
def claims(family: Family, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("demo") / "claims.csv"
    write_demo(family, path, COUNT, seed=3)
    return path


@pytest.fixture(autouse=True)
def _own_store(store: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("FURNACE_DIAG_CACHE", str(store))


def silent(_done: int, _all: int, _left: float) -> None:
    """Hears progress where nobody wants to."""


def results(out: Path) -> list[dict[str, object]]:
    return [json.loads(line) for line in (out / RESULTS).read_text(encoding="ascii").splitlines()]


def test_two_cores_write_the_same_bytes_as_one(claims: Path, tmp_path: Path, knowledge: Knowledge) -> None:
    summaries = {w: run(Task((claims,), tmp_path / str(w), today=TODAY, workers=w), knowledge, silent) for w in (1, 2)}

    for name in (RESULTS, TABLE):
        assert (tmp_path / "1" / name).read_bytes() == (tmp_path / "2" / name).read_bytes()
    assert summaries[1].verdicts == summaries[2].verdicts
    assert sum(summaries[1].verdicts.values()) == COUNT
    assert [r["claim"] for r in results(tmp_path / "1")] == [f"D{i:06}" for i in range(1, COUNT + 1)]


def test_a_number_used_twice_is_told_of_both_however_far_apart_they_stand(claims: Path, tmp_path: Path, knowledge: Knowledge) -> None:
    """Other cores begin before it is known which numbers are."""
    first = claims.read_text(encoding="utf-8").splitlines()[1]
    path = tmp_path / "twice.csv"
    path.write_text(claims.read_text(encoding="utf-8") + first + "\n", encoding="utf-8")
    summaries = {w: run(Task((path,), tmp_path / str(w), today=TODAY, workers=w), knowledge, silent) for w in (1, 2, 3)}
    told = results(tmp_path / "2")

    assert {s.twice for s in summaries.values()} == {1}
    assert told[0]["claim"] == told[-1]["claim"] == first.split(",")[0]
    assert [r["verdict"] for r in (told[0], told[-1])] == ["unreadable", "unreadable"]
    assert sum(r["verdict"] == "unreadable" for r in told) == 2
    assert len({(tmp_path / str(w) / RESULTS).read_bytes() for w in (1, 2, 3)}) == 1


def test_a_stopped_run_goes_on_and_ends_in_the_same_bytes(claims: Path, tmp_path: Path, knowledge: Knowledge) -> None:
    def stop(done: int, _all: int, _left: float) -> None:
        if done == 2 * CHUNK:
            raise KeyboardInterrupt

    task = Task((claims,), tmp_path / "stopped", today=TODAY)
    with pytest.raises(KeyboardInterrupt):
        run(task, knowledge, stop)
    assert not (task.out / RESULTS).exists()  # no half results to be taken for whole ones
    went_on = run(task, knowledge, silent)
    run(Task((claims,), tmp_path / "whole", today=TODAY), knowledge, silent)

    assert 2 * CHUNK <= went_on.kept < COUNT
    assert (task.out / RESULTS).read_bytes() == (tmp_path / "whole" / RESULTS).read_bytes()


def test_only_what_changed_is_judged_again(claims: Path, tmp_path: Path, knowledge: Knowledge) -> None:
    path = tmp_path / "claims.csv"
    text = claims.read_text(encoding="utf-8")
    path.write_text(text, encoding="utf-8")
    task = Task((path,), tmp_path / "out", today=TODAY)
    run(task, knowledge, silent)
    path.write_text(f"{text}Z1,Oak,,control_board,,igniter_ohms,OL,power_off,,,,,,\n", encoding="utf-8")

    assert run(task, knowledge, silent).kept == COUNT


def test_a_damaged_store_is_made_anew(claims: Path, tmp_path: Path, knowledge: Knowledge) -> None:
    task = Task((claims,), tmp_path, today=TODAY)
    (tmp_path / "kept.sqlite").write_bytes(b"no database at all " * 100)

    assert run(task, knowledge, silent).claims == COUNT


def test_numbers_used_twice_are_set_aside_wherever_they_stand(tmp_path: Path, knowledge: Knowledge) -> None:
    (tmp_path / "a.csv").write_text("claim,name,value\nA1,igniter_ohms,62\nA2,igniter_ohms,OL\na1,blower_runs,no\n", encoding="utf-8")
    (tmp_path / "b.csv").write_text("claim,name,value\nA3,igniter_ohms,62\n", encoding="utf-8")
    summary = run(Task((tmp_path / "a.csv", tmp_path / "b.csv"), tmp_path / "out", today=TODAY), knowledge, silent)

    told = [(r["claim"], r["verdict"] == "unreadable") for r in results(tmp_path / "out")]
    assert told == [("A1", True), ("A2", False), ("a1", True), ("A3", False)]
    assert summary.twice == 1


def test_a_date_from_the_future_is_told_from_that_day_on_only(tmp_path: Path, knowledge: Knowledge) -> None:
    path = tmp_path / "a.csv"
    path.write_text("claim,date,name,value\nA1,2026-07-01,igniter_ohms,62\n", encoding="utf-8")
    notes = []
    for today in (TODAY, date(2026, 7, 1)):
        run(Task((path,), tmp_path / "out", today=today), knowledge, silent)
        notes.append(results(tmp_path / "out")[0]["notes"])

    assert "2:4: The date 2026-07-01 lies in the future." in str(notes[0])
    assert notes[1] == []


def test_the_order_of_dates_is_that_of_the_whole_file_in_parts_on_two_cores_and_taken_up_again(tmp_path: Path, knowledge: Knowledge) -> None:
    """The one date that tells it stands last, long after the first claims were judged."""
    path, many = tmp_path / "a.csv", 3 * CHUNK
    rows = [f"A{i},3/4/26,igniter_ohms,{60 + i % 9}\n" for i in range(many)]
    path.write_text("claim,date,name,value\n" + "".join([*rows, "Z,1/15/26,igniter_ohms,62\n"]), encoding="utf-8")
    written = []
    for out, workers in ((tmp_path / "one", 1), (tmp_path / "two", 2), (tmp_path / "two", 2)):
        summary = run(Task((path,), out, today=TODAY, workers=workers), knowledge, silent)
        written.append((out / "results.jsonl").read_bytes())
        assert summary.by_month.keys() == {"2026-03", "2026-01"}
    assert written[0] == written[1] == written[2]

    path.write_text("claim,date,name,value\n" + "".join(rows), encoding="utf-8")  # now nothing tells it: what was kept is not taken for these
    assert run(Task((path,), tmp_path / "one", today=TODAY), knowledge, silent).by_month.keys() == {"(date not usable)"}


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", " =1", "|calc", "%x"])
def test_a_spreadsheet_runs_no_cell(text: str) -> None:
    # the characters that start a formula: OWASP, CSV Injection
    assert in_a_cell(text).startswith(("'", "\\x"))


PEAK = """
import json, resource, sys
from datetime import date
from pathlib import Path
from furnace_diag.claims.reading import Files
from furnace_diag.claims.run import Task, run
from furnace_diag.furnace.store import default_folder
from furnace_diag.knowledge.kept import kept_rules
if __name__ == "__main__":
    run(Task((Path(sys.argv[1]),), Path(sys.argv[2]), today=date(2026, 1, 1)), kept_rules(default_folder()), lambda *_: None)
    print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)
"""


@pytest.mark.skipif(sys.platform == "win32", reason="the peak of a process is not told there")
def test_memory_does_not_grow_with_the_claims(tmp_path: Path) -> None:
    """The records repeat, so that what is remembered of them is full early and only growth with the number of claims shows."""
    peaks = []
    for count in (500, 4500):
        path = tmp_path / f"{count}.csv"
        rows = (f"C{i},Shop {i % 5},igniter_ohms,{40 + i % 50},power_off\nC{i},,flame_seen,{('yes', 'no')[i % 2]},standby\n" for i in range(count))
        path.write_text("claim,shop,name,value,step\n" + "".join(rows), encoding="utf-8")
        told = subprocess.run([sys.executable, "-c", PEAK, str(path), str(tmp_path / str(count))], capture_output=True, text=True, check=True)
        peaks.append(int(told.stdout.split()[-1]) / (1024 if sys.platform == "darwin" else 1))

    # 4,000 claims more are 1.3 MB of text and 10 MB of results; held in memory they would show
    assert peaks[1] - peaks[0] < 5_300, peaks


def test_a_summary_counts_no_more_shops_than_it_can_bear() -> None:
    summary = Summary()
    told = {"held_back": (), "unmatched": ("x is not read.",), "notes": (), "hazards": (), "feared": ()}
    about = {"claim": "", "place": "", "verdict": "not_shown", "says": "", "date": "", "month": "", "bench_outcome": "", "unread": 1, **told}
    for i in range(3000):
        summary.count({**about, "shop": f"shop {i}"})

    assert len(summary.by_shop) <= 2001
    assert sum(sum(row.values()) for row in summary.by_shop.values()) == 3000
    assert summary.unread == summary.unread_in == 3000
    assert len(summary.to_read) == MOST_TO_READ
