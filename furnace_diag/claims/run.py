"""Many claims: read as a stream, judged on all cores, written in the order in which they stand; a stopped run goes on.

This process reads and writes, and judges when the other cores have enough to do; they hand back what only has to be
written. What is judged is kept in the results' folder under a hash of the claim and the rules' version, so only new
claims are judged again. Two passes: the first counts the claims and finds numbers that are used twice, the second
judges. Memory does not grow with the claims, apart from eight bytes for each number.
"""

from __future__ import annotations

import csv
import gc
import hashlib
import io
import json
import multiprocessing
import os
import signal
import sqlite3
import sys
import threading
import time
import warnings
from array import array
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from contextlib import closing
from dataclasses import dataclass, field, replace
from datetime import date
from itertools import islice
from multiprocessing.connection import wait
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from furnace_diag.claims.desk import JUDGEMENT_VERSION, VERDICTS, Desk
from furnace_diag.claims.fears import dangers_of
from furnace_diag.claims.headings import DATE_ORDER
from furnace_diag.claims.raw_claim import RawClaim
from furnace_diag.claims.reading import Files
from furnace_diag.claims.understanding import Reader
from furnace_diag.furnace.family import Family
from furnace_diag.furnace.store import default_folder, population_for
from furnace_diag.knowledge.kept import kept_rules
from furnace_diag.knowledge.load import version_of
from furnace_diag.knowledge.models import Knowledge
from furnace_diag.problems import Problem, printable

CHUNK, LEAST_CHUNK = 32, 4  # claims that go to a core at a time; fewer towards the end, so that no core waits long for another
AHEAD = 3  # chunks that wait for each other core
A_LARGE_ARRAY = 3 * 2**20  # numbers: 24 MB
MADE_BEFORE_A_LOOK = 20_000  # things, before garbage is looked for among them: those of some fifty claims
KEPT = "kept.sqlite"
RESULTS, TABLE, PROBLEMS = "results.jsonl", "results.csv", "problems.txt"
MOST_TO_READ = 200  # of what could not be read in claims that a summary keeps; the file of problems has all
MOST_DANGERS = 1000  # claims with a danger that a summary names; the table marks all
MOST_UNMET = 20  # headings of a map that stand in no file and are named
MOST_SHOPS = 2000  # that are counted apart
OTHER_SHOPS = "(other shops)"
COLUMNS = (
    "claim", "shop", "date", "part", "danger", "verdict", "says", "cause", "share_of_cause", "share_of_part", "board", "proof", "missing", "place",
    "bench_outcome", "asked_for", "part_mark", "rules_version", "unread", "read_yourself",
)  # fmt: skip
COUNTED = (
    "claim", "place", "hazards", "feared", "verdict", "says", "shop", "date", "month", "bench_outcome", "unread", "held_back", "unmatched", "notes",
)  # fmt: skip

Progress = Callable[[int, int, float], None]  # claims done, claims in all, seconds left


@dataclass(frozen=True)
class Task:
    """What a run needs to know. *folders*: a shop's own rules; *theirs*: its map of columns."""

    paths: tuple[Path, ...]
    out: Path
    folders: tuple[Path, ...] = ()
    theirs: dict[str, str] = field(default_factory=dict)
    today: date = date.max
    workers: int = 1


@dataclass
class Summary:
    """What a run came to. *by_shop*, *by_month*: verdicts counted; *by_bench*: verdicts of each bench outcome; *kept*: claims judged earlier.

    *in_danger*: claims whose records or text tell of a danger; *dangers*: the first of them. *unread*: entries that could not be read,
    *unread_in* so many claims; *remarked*: what else is for a person to judge, such as a date that cannot be right;
    *to_read*: the first of both. *without*: files that gave no claim.
    """

    claims: int = 0
    kept: int = 0
    twice: int = 0
    seconds: float = 0.0
    rules_version: str = ""
    verdicts: dict[str, int] = field(default_factory=lambda: dict.fromkeys(VERDICTS, 0))
    by_shop: dict[str, dict[str, int]] = field(default_factory=dict)
    by_month: dict[str, dict[str, int]] = field(default_factory=dict)
    by_bench: dict[str, dict[str, int]] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)
    in_danger: int = 0
    dangers: list[str] = field(default_factory=list)
    unread: int = 0
    unread_in: int = 0
    remarked: int = 0
    to_read: list[str] = field(default_factory=list)
    without: list[str] = field(default_factory=list)

    def count(self, result: dict[str, Any]) -> None:
        """Add one result; of it COUNTED is enough."""
        self.claims += 1
        self.verdicts[result["verdict"]] += 1
        self.unread += result["unread"]
        self.unread_in += bool(result["unread"])
        open_ = not_settled(result)
        self.remarked += max(len(open_) - result["unread"], 0)
        self.to_read += open_[: MOST_TO_READ - len(self.to_read)]
        dangers = dangers_of(result)
        self.in_danger += bool(dangers)
        if dangers and len(self.dangers) < MOST_DANGERS:
            self.dangers.append(f"Claim {result['claim'] or '(no number)'} ({result['place']}): {' '.join(dangers)}")
        month = result["month"] or ("(date not usable)" if result["date"] else "(no date)")
        shop = result["shop"] or "(no shop)"
        shop = shop if shop in self.by_shop or len(self.by_shop) < MOST_SHOPS else OTHER_SHOPS
        for table, key in ((self.by_shop, shop), (self.by_month, month), (self.by_bench, result["bench_outcome"])):
            if key:
                row = table.setdefault(key, dict.fromkeys(VERDICTS, 0))
                row[result["verdict"]] += 1


class Judged(NamedTuple):
    """A judged claim, ready to be written: its line of JSON, its row of the table, and what is counted of it."""

    line: str
    row: str
    counted: dict[str, Any]


def ready(line: str) -> Judged:
    """What is written for a line of JSON."""
    result = json.loads(line)
    row = io.StringIO(newline="")
    csv.writer(row, lineterminator="\r\n").writerow([in_a_cell(v) for v in row_of(result)])
    return Judged(line, row.getvalue(), {name: result[name] for name in COUNTED})


# --- one core ---------------------------------------------------------------------------------


class Judge:
    """Understands and judges claims; one for each core."""

    def __init__(self, knowledge: Knowledge, today: date, theirs: dict[str, str]) -> None:
        self.reader = Reader(knowledge, today, theirs)
        self.desk = Desk(knowledge, lambda name: _furnaces(knowledge, name))
        self._ready = False

    def make_ready(self) -> None:
        """Make now what is the same for all claims, so that processes that are copied have it.

        It lives as long as the process: what collects garbage need not go through it over and over, nor look so often.
        """
        self.desk.evidence(self.reader.first).make_ready()
        self._ready = True
        gc.freeze()
        gc.set_threshold(MADE_BEFORE_A_LOOK)
        # the C library of Linux keeps what is given back once so much was: else every claim's arrays go back to the system, which was a fifth of the time
        np.empty(A_LARGE_ARRAY)

    def lines(self, claims: Sequence[tuple[RawClaim, bool]]) -> list[str]:
        """A line of JSON for each claim; *claims* with whether its number is used twice."""
        if claims and not self._ready:
            self.make_ready()
        return [self._line(raw, twice=twice) for raw, twice in claims]

    def _line(self, raw: RawClaim, *, twice: bool) -> str:
        claim = self.reader.understood(raw)
        if twice:
            fix = "Give each its own, and put the rows of a claim together."
            what = Problem(claim.place, f"The number {printable(claim.id)} stands for more than one claim.", fix)
            claim = replace(claim, fatal=(what, *claim.fatal))
        return json.dumps(self.desk.judge(claim), default=vars, ensure_ascii=True, check_circular=False, separators=(",", ":"))


def _furnaces(knowledge: Knowledge, name: str) -> tuple[Family, Any]:
    family = Family(knowledge, name)
    return family, population_for(family)


# --- all cores --------------------------------------------------------------------------------

_judge: Judge | None = None  # of a worker's process; where it is forked, of this one before that


def _start(folders: tuple[Path, ...], today: date, theirs: dict[str, str]) -> None:
    """What a worker does first. It is stopped by the process that started it, and never by hand, nor does it outlive that process."""
    global _judge
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()
    if _judge is None:
        _judge = Judge(kept_rules(default_folder(), folders), today, theirs)


def _end_with_parent() -> None:
    parent = multiprocessing.parent_process()
    if parent is not None:
        wait([parent.sentinel])
        os._exit(1)


def _judged_there(claims: Sequence[tuple[RawClaim, bool]]) -> list[Judged]:
    assert _judge is not None
    return [ready(line) for line in _judge.lines(claims)]


class Workers:
    """Judges lists of claims on this core and on others, whose processes start at once.

    What this process does besides fills less than a core; a process more than there are cores would take turns with the others, and each turn
    costs what the processor had at hand.
    """

    def __init__(self, task: Task, knowledge: Knowledge) -> None:
        self.others = task.workers - 1
        self.enough = AHEAD * self.others  # lists that the others have before one is judged here
        self.ahead = 2 * self.enough  # lists that may wait; those judged here are among them
        self._judge = Judge(knowledge, task.today, task.theirs)
        self._pool = _pool(task, self._judge) if task.workers > 1 else None
        self._begun: list[Future[list[Judged]]] = []

    def judged(self, claims: Sequence[tuple[RawClaim, bool]]) -> Callable[[], list[Judged]]:
        """Begin to judge, or judge here; what is given back waits for the end."""
        self._begun = [begun for begun in self._begun if not begun.done()]
        if not claims or self._pool is None or len(self._begun) >= self.enough:
            found = self._judged_here(claims)
            return lambda: found
        begun = self._pool.submit(_judged_there, claims)
        self._begun.append(begun)
        return lambda: self._judged_here(claims) if begun.cancel() else begun.result()  # nobody waits for what no core has begun

    def _judged_here(self, claims: Sequence[tuple[RawClaim, bool]]) -> list[Judged]:
        return [ready(line) for line in self._judge.lines(claims)]

    def close(self) -> None:
        """Stop what is not yet begun."""
        if self._pool is not None:
            self._pool.shutdown(cancel_futures=True)


def _pool(task: Task, judge: Judge) -> ProcessPoolExecutor:
    """Processes that have begun to start. On Linux they are copies of this one, rules and furnaces included, which takes no time."""
    global _judge
    for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
        os.environ.setdefault(name, "1")  # each core has a process already
    forks = sys.platform == "linux"
    if forks:
        judge.make_ready()
        _judge = judge
    others = task.workers - 1
    pool = ProcessPoolExecutor(others, multiprocessing.get_context("fork" if forks else "spawn"), _start, (task.folders, task.today, task.theirs))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)  # the only threads here are those of the array library, which bears it
        for _ in range(others):
            pool.submit(_judged_there, [])
    _judge = None
    return pool


# --- the run ----------------------------------------------------------------------------------


def run(task: Task, knowledge: Knowledge, tell: Progress) -> Summary:
    """Judge all claims of a task and write the results. What was judged before it is stopped is kept."""
    started = time.monotonic()
    task.out.mkdir(parents=True, exist_ok=True)
    reader = Reader(knowledge, task.today, task.theirs)
    files = Files(task.paths, reader.headings[reader.first])
    summary = Summary(rules_version=knowledge.version)
    with closing(Workers(task, knowledge)) as workers, closing(_store(task.out)) as kept, _Writer(task.out) as writer:
        judging = _Judging(task, knowledge, reader, kept, workers)
        judging.begin(workers.enough)
        total, twice = _first_pass(files)
        judging.twice_are(twice)
        noted = [*files.noted, *_not_met(task, files)]
        writer.write_problems(noted)
        for judged in judging.judged(total, summary):
            summary.count(judged.counted)
            writer.write(judged)
            tell(summary.claims, total, _left(started, summary, total))
        summary.problems = noted
        summary.without = [str(p) for p in files.without]
    summary.twice = int(twice.size)
    summary.seconds = time.monotonic() - started
    return summary


def _not_met(task: Task, files: Files) -> Iterator[Problem]:
    """Lines of the map of columns whose heading stands in no file: perhaps a slip in them."""
    unmet = [t for t in task.theirs if t != DATE_ORDER and " ".join(t.split()).lower() not in files.headings.met]
    if unmet:
        named = ", ".join(printable(t, 60) for t in unmet[:MOST_UNMET]) + (", ..." if len(unmet) > MOST_UNMET else "")
        yield Problem(None, f"The map of columns speaks of headings that no file has: {named}.", "Where one should have it, write it as it stands there.")


def _left(started: float, summary: Summary, total: int) -> float:
    new = summary.claims - summary.kept
    return (time.monotonic() - started) / new * (total - summary.claims) if new else 0.0


def _number_of(raw: RawClaim) -> int:
    return int.from_bytes(hashlib.blake2b(raw.id.casefold().encode("utf-8", "surrogatepass"), digest_size=8).digest(), "big")


def _first_pass(files: Files) -> tuple[int, NDArray[np.uint64]]:
    """How many claims there are, and the hashes of the numbers that more than one of them has."""
    total, numbers = 0, array("Q")
    for raw in files.claims(only_numbers=True):
        total += 1
        if raw.id:
            numbers.append(_number_of(raw))
    sorted_ = np.sort(np.frombuffer(numbers, np.uint64)) if numbers else np.zeros(0, np.uint64)
    return total, np.unique(sorted_[1:][sorted_[1:] == sorted_[:-1]])


class _Chunk(NamedTuple):
    """Claims that are judged together: their keys, the lines known of them, and what waits for the others."""

    claims: list[RawClaim]
    keys: list[str]
    known: dict[str, str]
    judged: Callable[[], list[Judged]]


class _Judging:
    """Claims in their order, from what is kept or judged; a few lists of them are judged ahead of the one that is written.

    The first lists are begun before it is known which numbers are used twice, so that the other cores have work meanwhile.
    """

    def __init__(self, task: Task, knowledge: Knowledge, reader: Reader, kept: sqlite3.Connection, workers: Workers) -> None:
        self._task, self._reader, self._kept, self._workers = task, reader, kept, workers
        code = version_of(p for p in sorted(Path(__file__).parents[1].rglob("*.py")) if p.parent.name not in ("cli", "report"))
        self._version = f"{JUDGEMENT_VERSION} {code} {knowledge.version} {sorted(task.theirs.items())}"
        self._claims = Files(task.paths, reader.headings[reader.first]).claims()
        self._waiting: deque[_Chunk] = deque()
        self._twice = frozenset[int]()

    def begin(self, count: int, size: int = CHUNK) -> bool:
        """Begin to judge the next *count* lists of *size* claims; whether there was one."""
        for _ in range(count):
            claims = list(islice(self._claims, size))
            if not claims:
                return False
            self._waiting.append(self._begun(claims))
        return True

    def twice_are(self, numbers: NDArray[np.uint64]) -> None:
        """Tell which numbers are used twice; what was begun without knowing it is begun again."""
        self._twice = frozenset(numbers.tolist())
        if self._twice:
            self._waiting = deque(self._begun(c.claims) if any(map(self._is_twice, c.claims)) else c for c in self._waiting)

    def judged(self, total: int, summary: Summary) -> Iterator[Judged]:
        """Every claim's result. *total*: how many claims there are; how many were judged earlier is counted in *summary*."""
        left = total - sum(len(c.claims) for c in self._waiting)
        while self.begin(1, size := max(LEAST_CHUNK, min(CHUNK, left // (2 * AHEAD * self._workers.others or 1)))):
            left -= size
            if len(self._waiting) > self._workers.ahead:
                yield from self._done(self._waiting.popleft(), summary)
        while self._waiting:
            yield from self._done(self._waiting.popleft(), summary)

    def _begun(self, claims: list[RawClaim]) -> _Chunk:
        keys = [self._key(raw) for raw in claims]
        known = _known(self._kept, keys)
        new = [(raw, self._is_twice(raw)) for raw, k in zip(claims, keys, strict=True) if k not in known]
        return _Chunk(claims, keys, known, self._workers.judged(new))

    def _done(self, chunk: _Chunk, summary: Summary) -> list[Judged]:
        fresh = iter(chunk.judged())
        every = [ready(chunk.known[k]) if k in chunk.known else next(fresh) for k in chunk.keys]
        new = [(k, one.line) for k, one in zip(chunk.keys, every, strict=True) if k not in chunk.known]
        self._kept.executemany("INSERT OR IGNORE INTO kept VALUES (?, ?)", new)
        self._kept.commit()
        summary.kept += len(chunk.keys) - len(new)
        return every

    def _key(self, raw: RawClaim) -> str:
        ahead = str(self._task.today) if self._reader.is_ahead(raw) else ""
        return raw.hash(self._version, ahead, str(self._is_twice(raw)))

    def _is_twice(self, raw: RawClaim) -> bool:
        return _number_of(raw) in self._twice


# --- what is kept and written ---------------------------------------------------------------------


def _store(out: Path) -> sqlite3.Connection:
    """What was judged, by key; made anew where it is damaged."""
    path = out / KEPT
    try:
        return _opened(path)
    except sqlite3.DatabaseError:
        path.unlink(missing_ok=True)
        return _opened(path)


def _opened(path: Path) -> sqlite3.Connection:
    store = sqlite3.connect(path)
    store.execute("PRAGMA journal_mode=WAL")
    store.execute("PRAGMA synchronous=NORMAL")
    store.execute("CREATE TABLE IF NOT EXISTS kept (key TEXT PRIMARY KEY, line TEXT NOT NULL) WITHOUT ROWID")
    return store


def _known(kept: sqlite3.Connection, keys: Sequence[str]) -> dict[str, str]:
    return dict(kept.execute(f"SELECT key, line FROM kept WHERE key IN ({','.join('?' * len(keys))})", tuple(keys)))


class _Writer:
    """Writes results beside their places and moves them there when all is done."""

    def __init__(self, out: Path) -> None:
        self._out = out

    def __enter__(self) -> _Writer:
        self._jsonl = (self._out / f"{RESULTS}.part").open("w", encoding="ascii", newline="\n")
        self._csv = (self._out / f"{TABLE}.part").open("w", encoding="utf-8-sig", newline="")
        self._csv.write(",".join(COLUMNS) + "\r\n")
        self._problems = (self._out / f"{PROBLEMS}.part").open("w", encoding="utf-8", newline="\n")
        return self

    def write(self, judged: Judged) -> None:
        self._jsonl.write(judged.line + "\n")
        self._csv.write(judged.row)
        self._problems.writelines(f"{text}\n" for text in to_read(judged.counted))

    def write_problems(self, problems: Sequence[Problem]) -> None:
        """What is wrong apart from any claim; it goes before what is wrong in claims."""
        self._problems.writelines(f"{p}\n" for p in problems)

    def __exit__(self, kind: object, *_: object) -> None:
        self._jsonl.close()
        self._csv.close()
        self._problems.close()
        for name in (RESULTS, TABLE, PROBLEMS):
            part = self._out / f"{name}.part"
            part.replace(self._out / name) if kind is None else part.unlink(missing_ok=True)


def to_read(result: dict[str, Any]) -> list[str]:
    """What of a claim somebody must read, each with its place: dangers that its text speaks of, and what is not settled."""
    return [f"{result['place']}: {text}" for text in result["feared"]] + not_settled(result)


def not_settled(result: dict[str, Any]) -> list[str]:
    """What could not be read of a claim, and dates that cannot be right."""
    fatal = [result["says"]] if result["verdict"] == "unreadable" and not result["held_back"] else []
    return [*fatal, *result["held_back"], *result["unmatched"], *result["notes"]]


def row_of(result: dict[str, Any]) -> list[str]:
    """A result as a row of the table, in the order of COLUMNS."""
    read = bool(result["records"] and result["engine"])  # else these would be the odds before any reading
    cause, proof = (result["cause"], result["proof"]) if read else (None, None)
    told = {
        **{k: str(result[k]) for k in COLUMNS if isinstance(result.get(k), str)},
        "danger": " ".join(dangers_of(result)),
        "cause": f"{cause['part']}:{cause['failure']}" if cause else "",
        "share_of_cause": f"{cause['share_of_part']:.3f}" if cause else "",
        "share_of_part": f"{result['share']:.3f}" if read else "",
        "proof": proof["proof"] if proof else "",
        "missing": ", ".join(n["condition"] for n in proof["needs"] if n["take"]) if proof else "",
        "unread": str(result["unread"]),
        "read_yourself": " ".join(to_read(result)),
    }
    return [told[c] for c in COLUMNS]


def in_a_cell(text: str) -> str:
    """*text* as a spreadsheet shows it and never runs it."""
    shown = printable(text, 1000)
    return f"'{shown}" if shown.lstrip().startswith(("=", "+", "-", "@", "|", "%")) else shown
