"""What to ask a shop for: the reading that tells most next, and the cautions for what a proof lacks."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from typing import Any

from furnace_diag.diagnosis.answer import answer
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.records import understand
from furnace_diag.diagnosis.taking import cautions_for
from furnace_diag.furnace.family import Family
from furnace_diag.furnace.population import Population
from furnace_diag.knowledge.models import Knowledge
from furnace_diag.knowledge.yaml_text import parse_yaml
from furnace_diag.problems import BadInput

UNDECIDED = ("plausible", "not_supported", "not_shown")


def report_of(result: Mapping[str, Any]) -> str:
    """The report that `rank` takes, from a result."""
    records = [{k: v for k, v in r.items() if k not in ("at", "said")} for r in result["records"]]
    return json.dumps({"furnace": {"family": result["furnace"], "options": result["options"]}, "complaint": result["complaint"], "records": records})


def tells_most(
    result: Mapping[str, Any], knowledge: Knowledge, population_of: Callable[[str], tuple[Family, Population]]
) -> tuple[list[str], tuple[str, ...]]:
    """The reading that tells most next, in words, and its cautions.

    None where nothing is open, where the proof asks for it anyway, or where today's rules no longer understand the records.
    """
    if result["verdict"] not in UNDECIDED or result["hazards"]:
        return [], ()
    try:
        report = understand(parse_yaml(report_of(result), "claim"), knowledge)
    except BadInput:
        return [], ()
    told = answer(report, Evidence(*population_of(report.family)))
    wanted = {n["condition"] for n in result["proof"]["needs"] if n["take"]} if result["proof"] else set()
    named = {line.names[0][1] for c in wanted if c in knowledge.condition for way in knowledge.condition[c].any_of for line in way}
    first = [n for n in told.next[:1] if n.name not in named]
    lines = [f"{n.says} ({n.name})" + (f", at {n.step.replace('_', ' ')}" if n.step else "") for n in first]
    return lines, tuple(c for n in first for c in n.cautions)


def cautions_of(result: Mapping[str, Any], knowledge: Knowledge) -> tuple[str, ...]:
    """The cautions for taking what the proof still lacks."""
    proof = result["proof"]
    missing = [knowledge.condition[n["condition"]] for n in proof["needs"] if n["take"] and n["condition"] in knowledge.condition] if proof else []
    return tuple(cautions_for(missing, knowledge))
