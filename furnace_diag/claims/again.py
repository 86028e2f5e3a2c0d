"""Claims judged again: which verdicts differ from earlier results, and why."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from furnace_diag.claims.run import RESULTS
from furnace_diag.problems import BadInput, Place, Problem, printable

MOVED = 0.05  # change of a share that is told
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
    path = place / RESULTS if place.is_dir() else place
    try:
        with path.open(encoding="utf-8") as lines:
            number = 0
            while line := lines.readline(LONGEST_LINE):
                number += 1
                yield _result(line, str(path), number)
    except (OSError, UnicodeDecodeError):
        fix = "Give the folder that claims judge --out wrote."
        raise BadInput([Problem(None, f"There are no results in {printable(str(place))}.", fix)]) from None


def _result(line: str, file: str, number: int) -> dict[str, Any]:
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


def changes(before: Path, now: Path) -> tuple[list[Change], int]:
    """What differs between two sets of results, and how many claims stand in both. Numbers used twice are left out."""
    old: dict[str, tuple[str, str] | None] = {}
    for r in results_in(before):
        old[r["claim"]] = None if r["claim"] in old else (r["verdict"], json.dumps(r))
    differing, both = [], 0
    for new in results_in(now):
        earlier = old.get(new["claim"])
        if earlier is not None:
            both += 1
            if earlier[0] != new["verdict"]:
                differing.append(_change(json.loads(earlier[1]), new))
    return differing, both


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
