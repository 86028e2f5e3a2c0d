"""The heat calls that lack little of what a proof wants of one call: what of it was read in them and is not told yet makes them count."""

from __future__ import annotations

from furnace_diag.diagnosis.findings import Finder, Findings

LITTLE = 2  # conditions at most
LEAST_MET = 0.5  # of all that are wanted of a call


def short_calls(finder: Finder, findings: Findings, proof: str) -> dict[int, tuple[str, ...]]:
    """By their numbers the calls that lack little of *proof*, and the conditions that each of them lacks; KeyError if there is no such proof."""
    needs = finder.compiled.call_needs(finder.k.proof[proof])
    lacks = {call: tuple(n for n in needs if f"met:{n}" not in seen.behind) for call, seen in findings.runs.by_call.items()}
    return {call: left for call, left in lacks.items() if 0 < len(left) <= min(LITTLE, LEAST_MET * len(needs))}
