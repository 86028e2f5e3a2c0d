"""Lesson files written and edited by tool; what somebody wrote in one, comments and order too, survives."""

from __future__ import annotations

import io
import os
import tempfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from furnace_diag.furnace.family import Family, Fault
from furnace_diag.knowledge.models import Knowledge
from furnace_diag.knowledge.yaml_text import parse_yaml, read_yaml
from furnace_diag.problems import BadInput, Place, Problem, printable
from furnace_diag.training.lesson import USUAL_SEVERITY, Lesson, understood

TRIES = 40  # draws of a fault until one shows
SITE_NUMBERS = ("supply_volts",)  # that a random lesson draws, where the furnace has them
HEAD = """\
# A lesson. What is under `hidden` and `answer` is never shown to the trainee.
# records: what the customer tells before anything is read; a repair or an event that leads astray belongs here too.
# hidden:  faults as part:failure, one or two; severity from 0 to 1; calls: the heat calls in which it is there, if it comes and goes.
# answer:  parts to be named; readings that must have been taken; says: what the instructor listens for.
"""


@dataclass(frozen=True)
class Draft:
    """What a lesson is made of before it is a file."""

    complaint: str
    faults: Sequence[str]
    options: Mapping[str, str]
    story: str = ""
    severity: float = USUAL_SEVERITY
    calls: Sequence[int] = ()
    site: Mapping[str, float] | None = None
    says: Sequence[str] = ()
    records: Sequence[Mapping[str, str]] = ()


def text_of(draft: Draft, family: Family) -> str:
    """The text of a new lesson."""
    parts = list(dict.fromkeys(f.partition(":")[0] for f in draft.faults))
    fault: dict[str, object] = {"severity": draft.severity} if draft.severity != USUAL_SEVERITY else {}
    fault |= {"calls": list(draft.calls)} if draft.calls else {}
    hidden: dict[str, object] = {"faults": [{"fault": f, **fault} for f in draft.faults]}
    hidden |= {"site": dict(draft.site)} if draft.site else {}
    furnace: dict[str, object] = {"family": family.furnace.furnace} | ({"options": dict(draft.options)} if draft.options else {})
    lesson: dict[str, object] = {"story": draft.story} if draft.story else {}
    answer = {"parts": parts, "says": list(draft.says)}
    lesson |= {"furnace": furnace, "complaint": draft.complaint, "records": [dict(r) for r in draft.records], "hidden": hidden, "answer": answer}
    out = io.StringIO()
    _yaml().dump(lesson, out)
    return HEAD + out.getvalue()


def _yaml() -> Any:
    from ruamel.yaml import YAML

    yaml = YAML()
    yaml.width = 150
    yaml.preserve_quotes = True
    yaml.indent(mapping=2, sequence=2, offset=0)
    return yaml


def write_new(path: Path, text: str, knowledge: Knowledge) -> None:
    """Write a new lesson. Raises BadInput where it would not be right, or the file is there already."""
    understood(parse_yaml(text, str(path)), knowledge)
    try:
        with path.open("x", encoding="utf-8") as out:
            out.write(text)
    except FileExistsError:
        raise BadInput([Problem(Place(str(path), 1, 1), "There is such a file already.", "Name another, or remove it.")]) from None
    except OSError:
        raise BadInput([Problem(Place(str(path), 1, 1), "This file cannot be written.", "Check the folder.")]) from None


def edit(path: Path, knowledge: Knowledge, *, complaint: str | None, options: Mapping[str, str], severity: float | None, says: Sequence[str]) -> None:
    """Change a lesson in its file; everything else in it stays as it was written. Raises BadInput where the result would not be right."""
    read_yaml(path)  # what this refuses, nothing else may read
    yaml = _yaml()
    lesson = yaml.load(path.read_text(encoding="utf-8"))
    if complaint is not None:
        lesson["complaint"] = complaint
    for name, value in options.items():
        lesson.setdefault("furnace", {}).setdefault("options", {})[name] = value
    if severity is not None:
        for fault in lesson["hidden"]["faults"]:
            fault["severity"] = severity
    if says:
        answer = lesson["answer"]
        if isinstance(answer.get("says"), str):  # one line may stand without a list
            answer["says"] = [answer["says"]]
        answer.setdefault("says", []).extend(says)
    out = io.StringIO()
    yaml.dump(lesson, out)
    understood(parse_yaml(out.getvalue(), str(path)), knowledge)
    _put(path, out.getvalue())


def _put(path: Path, text: str) -> None:
    handle, name = tempfile.mkstemp(dir=path.parent, suffix=".part")
    try:
        with os.fdopen(handle, "w", encoding="utf-8") as out:
            out.write(text)
        os.replace(name, path)
    finally:
        Path(name).unlink(missing_ok=True)


# --- at random ----------------------------------------------------------------------------------


def subsystems(knowledge: Knowledge) -> dict[str, list[str]]:
    """The parts by the file they stand in."""
    found: dict[str, list[str]] = {}
    for part in knowledge.part.values():
        found.setdefault(Path(part.at.rpartition(":")[0]).stem, []).append(part.part)
    return found


def parts_of(subsystem: str, knowledge: Knowledge) -> list[str]:
    """The parts of a subsystem. Raises BadInput where there is none of that name."""
    known = subsystems(knowledge)
    if subsystem not in known:
        raise BadInput([Problem(None, f"There is no subsystem called {printable(subsystem)}.", f"Use one of: {', '.join(known)}.")])
    return known[subsystem]


def draws(family: Family, parts: Sequence[str], seed: int) -> list[tuple[Fault, float, dict[str, str], dict[str, float]]]:
    """Faults of *parts*, each as often as the rules say, with a severity, options and a site; a list to try from the front."""
    random = np.random.default_rng(seed)
    among = [i for i, f in enumerate(family.faults) if f.part in parts]
    odds = family.prior[among] / family.prior[among].sum()
    made = []
    for _ in range(TRIES):
        fault = family.faults[among[int(random.choice(len(among), p=odds))]]
        options = {}
        for name, option in family.furnace.options.items():
            weights = np.array(list(option.values.values()))
            value = list(option.values)[int(random.choice(len(weights), p=weights / weights.sum()))]
            if value != option.usual:
                options[name] = value
        site = {n: round(float(random.uniform(*family.furnace.numbers[n].between)), 1) for n in SITE_NUMBERS if n in family.furnace.numbers}
        made.append((fault, round(float(random.uniform()), 2), options, site))
    return made


def lesson_of(text: str, knowledge: Knowledge) -> Lesson:
    """The lesson that a text holds."""
    return understood(parse_yaml(text, "new lesson"), knowledge)
