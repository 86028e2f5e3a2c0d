"""Claims judged again: which verdicts differ from earlier results, and why."""

from __future__ import annotations

import hashlib
import json
from array import array
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from furnace_diag.claims.run import RESULTS
from furnace_diag.problems import BadInput, Place, Problem, printable

MOVED = 0.05  # change of a share that is told
MOST_PLACES = 6  # of claims with one number that are told
LONGEST_LINE = 4_000_000  # [characters] of one result


@dataclass(frozen=True)
class Change:
    """A claim whose verdict is another than before. *why*: what differs, in words."""

    claim: str
    before: str
    now: str
    why: tuple[str, ...]


def results_in(place: Path) -> Iterator[dict[str, Any]]:
    """The results of an earlier run, from its folder or its file. Raises BadInput for what is none."""
    return (result for result, _ in _sized(_file_in(place)))


def _file_in(place: Path) -> Path:
    return place / RESULTS if place.is_dir() else place


def _sized(path: Path) -> Iterator[tuple[dict[str, Any], int]]:
    """Each result with the bytes that its line takes."""
    try:
        with path.open("rb") as lines:
            number = 0
            while line := lines.readline(LONGEST_LINE):
                number += 1
                yield _result(line, str(path), number), len(line)
    except OSError:
        fix = "Give the folder that claims judge --out wrote."
        raise BadInput([Problem(None, f"There are no results in {printable(str(path))}.", fix)]) from None


def _result(line: bytes, file: str, number: int) -> dict[str, Any]:
    try:
        result = json.loads(line)
        if isinstance(result, dict) and {"claim", "verdict", "says", "records", "proof", "cause"} <= set(result):
            return result
    except (ValueError, RecursionError):
        pass
    raise BadInput([Problem(Place(file, number, 1), "This is no result of claims judge.", "Judge the claims again into a new folder.")])


def found(place: Path, claim: str) -> list[dict[str, Any]]:
    """All results for a claim's number. Raises BadInput where there is none."""
    matching = [r for r in results_in(place) if r["claim"].casefold() == " ".join(claim.split()).casefold()]
    if not matching:
        raise BadInput([Problem(None, f"There is no claim {printable(claim)} in {printable(str(place))}.", "results.csv lists them all.")])
    return matching


def one_found(place: Path, claim: str) -> dict[str, Any]:
    """The result for a claim's number. Raises BadInput where there is none, or several: a shop is not asked about a slip in our own list."""
    results = found(place, claim)
    if len(results) > 1:
        where = ", ".join(r["place"] for r in results[:MOST_PLACES])
        what = f"The number {printable(claim)} stands for {len(results)} claims ({where}), and none of them was judged."
        raise BadInput([Problem(None, what, "Give each its own number and judge them again.")])
    return results[0]


def changes(before: Path, now: Path) -> Iterator[Change | None]:
    """For each claim that stands in both sets of results what differs, None where the verdict is the same. Numbers used twice are left out.

    Of the earlier results only where each line starts is held, sixteen bytes a claim.
    """
    path = _file_in(before)
    numbers, starts = _index(path)
    with path.open("rb") as lines:
        for new in results_in(now):
            number = np.uint64(_number(new["claim"]))
            first, last = np.searchsorted(numbers, number, "left"), np.searchsorted(numbers, number, "right")
            if last - first == 1:
                lines.seek(int(starts[first]))
                old = json.loads(lines.readline(LONGEST_LINE))
                if old["claim"] == new["claim"]:
                    yield _change(old, new) if old["verdict"] != new["verdict"] else None


def _index(path: Path) -> tuple[NDArray[np.uint64], NDArray[np.uint64]]:
    """A number for each claim's id, in rising order, and the byte at which its line starts. Raises BadInput for what are no results."""
    numbers, starts, start = array("Q"), array("Q"), 0
    for result, size in _sized(path):
        numbers.append(_number(result["claim"]))
        starts.append(start)
        start += size
    order = np.argsort(np.frombuffer(numbers, np.uint64), kind="stable") if numbers else np.zeros(0, np.intp)
    return np.array(numbers, np.uint64)[order], np.array(starts, np.uint64)[order]


def _number(claim: str) -> int:
    return int.from_bytes(hashlib.blake2b(claim.encode("utf-8", "surrogatepass"), digest_size=8).digest(), "big")


def _change(before: Mapping[str, Any], now: Mapping[str, Any]) -> Change:
    return Change(now["claim"], before["verdict"], now["verdict"], tuple(_why(before, now)))


def _why(before: Mapping[str, Any], now: Mapping[str, Any]) -> Iterator[str]:
    if _said(before) != _said(now):
        yield "The records are not the same as before."
    if before["rules_version"] != now["rules_version"]:
        yield f"Rules {before['rules_version']} before, {now['rules_version']} now."
    if all(r.get("engine") for r in (before, now)) and abs(before["share"] - now["share"]) >= MOVED:  # else nothing was weighed
        yield f"Belief in the claimed part: {before['share']:.0%} before, {now['share']:.0%} now."
    causes = [(c["part"], c["failure"], c["share_of_part"], c["at"]) if (c := r["cause"]) else ("nothing", "", 0.0, "") for r in (before, now)]
    if causes[0][:2] != causes[1][:2] or abs(causes[0][2] - causes[1][2]) >= MOVED:
        yield f"Likeliest other part: {_cause(*causes[0])} before, {_cause(*causes[1])} now."
    was, needs = (_missing(r["proof"]) for r in (before, now))
    for name in sorted(set(needs) - set(was)):
        yield f"Missing now: {name} ({needs[name]})."
    for name in sorted(set(was) - set(needs)):
        yield f"No longer missing: {name} ({was[name]})."
    for kind in ("clears", "doubts", "hazards"):
        names = [{f["finding"]: f["at"] for f in r[kind]} for r in (before, now)]
        for name in sorted(set(names[1]) - set(names[0])):
            yield f"Found now: {name} ({names[1][name]})."
        for name in sorted(set(names[0]) - set(names[1])):
            yield f"No longer found: {name} ({names[0][name]})."


def _said(result: Mapping[str, Any]) -> list[dict[str, Any]]:
    return [{k: v for k, v in r.items() if k not in ("at", "said")} for r in result["records"]]


def _cause(part: str, failure: str, share: float, at: str) -> str:
    return f"{part}:{failure} {share:.0%} ({at})"


def _missing(proof: Mapping[str, Any] | None) -> dict[str, str]:
    return {n["condition"]: n["at"] for n in proof["needs"] if n["take"]} if proof else {}
