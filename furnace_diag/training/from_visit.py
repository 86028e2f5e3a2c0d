"""A closed visit made into a lesson: what was mended is hidden, what was told of before is told again, who and where are left out.

Left out are all words of people (complaint, notes, names of anything), all times, and the readings; what remains is ids and values of the rules.
"""

from __future__ import annotations

from pathlib import Path

from furnace_diag.furnace.family import Family
from furnace_diag.knowledge.models import Knowledge
from furnace_diag.problems import BadInput, Place, Problem, printable
from furnace_diag.training.bench import puts_right
from furnace_diag.training.draw import said_of
from furnace_diag.training.policy import Album
from furnace_diag.training.write import Draft, lesson_of, text_of
from furnace_diag.visit.journal import read_journal
from furnace_diag.visit.state import Repair, Visit, visit_of

TOLD = ("history", "event")  # records that say what was before the visit


def text_from_visit(path: Path, knowledge: Knowledge) -> str:
    """The text of a lesson. Raises BadInput for a visit that is not closed, or in which nothing was mended."""
    events, _ = read_journal(path)
    visit = visit_of(events, str(path))
    here = Place(str(path), 1, 1)
    if not visit.closed and any(e.event == "drill" for e in events[:2]):
        raise BadInput([Problem(here, "This drill is not over.", f"Go on with it first: furnace-diag drill LESSON --record {printable(str(path), 300)}.")])
    if not visit.closed:
        raise BadInput([Problem(here, "This visit is not closed.", "Close it first: furnace-diag visit --resume.")])
    mended = visit.proving
    if mended is None:
        raise BadInput([Problem(here, "In this visit nothing was mended, so there is no fault to hide.", "Take another, or furnace-diag scenario new.")])
    if visit.family not in knowledge.furnace:
        raise BadInput([Problem(here, "These rules do not have the furnace of this visit.", "Give the rules it was made with: --rules DIR.")])
    family = Family(knowledge, visit.family)
    draft = Draft("", [f"{mended.part}:{mended.failure or _commonest(family, mended)}"], visit.options, records=_told(visit))
    lesson = lesson_of(text_of(draft, family), knowledge)
    said = said_of(Album(family, lesson, list(lesson.faults)))
    return text_of(Draft(said, draft.faults, visit.options, records=draft.records), family)


def _commonest(family: Family, mended: Repair) -> str:
    """Where only the part was named: the failure that is met most often of those that the repair puts right."""
    repair = family.knowledge.repair.get(mended.repair)
    found = [f for f in family.faults if f.part == mended.part and (repair is None or puts_right(repair, f))]
    return max(found, key=lambda f: family.failure(f).share).failure if found else ""


def _told(visit: Visit) -> list[dict[str, str]]:
    """What was told of earlier repairs and events before anything was mended; nothing else of a record."""
    return [{kind: str(e.record[kind]), "value": str(e.record.get("value", "yes"))} for e in visit.telling for kind in TOLD if kind in e.record]
