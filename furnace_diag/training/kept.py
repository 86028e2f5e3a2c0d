"""A drill on disk: the journal of a visit, in which acts stand between what was learnt by them. It is taken up by doing the acts again."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path

from furnace_diag.furnace.family import Family
from furnace_diag.problems import BadInput, Place, Problem, printable
from furnace_diag.training.acts import Act
from furnace_diag.training.drill import Drill
from furnace_diag.training.lesson import Lesson
from furnace_diag.visit.journal import Event, Journal

ANEW = "Begin anew with another --record."
CHANGED = f"The rules, or the program, have changed since. {ANEW}"


def taken_up(events: Sequence[Event], family: Family, lesson: Lesson, path: Path) -> Drill:
    """The drill that the journal at *path* tells. Raises BadInput where that is of another lesson, or of another furnace than these rules make."""
    _refuse_others(events, lesson, path)
    drill = Drill(family, lesson)
    for event in events:
        if event.event == "act":
            _do_again(event, drill, path)
    for kept, made in zip(events[1:], drill.account.events[1:], strict=False):  # the first line names the rules, which may be newer
        if not _same(kept, made):
            raise BadInput([Problem(Place(str(path), kept.number, 1), "This is not what the furnace of this lesson gives now.", CHANGED)])
    if len(events) > len(drill.account.events):
        place = Place(str(path), len(drill.account.events) + 1, 1)
        raise BadInput([Problem(place, "From here on this is not what a drill writes.", ANEW)])
    return drill


def keep(journal: Journal, drill: Drill) -> None:
    """Write what the journal has not yet; it is on the disk when this returns. Raises OSError where it cannot be."""
    for event, says in drill.account.events[len(journal.events) :]:
        journal.append(event, says)


def _same(kept: Event, made: tuple[str, dict[str, object]]) -> bool:
    """Whether an event says what a journal would hold of it."""
    event, says = made
    if event == "drill":  # which lesson it is, its hash tells; its file may lie elsewhere now, or be named by another path
        return kept.event == event and kept.says.get("hash") == says["hash"]
    return kept.event == event and dict(kept.says) == json.loads(json.dumps(says))


def _do_again(event: Event, drill: Drill, path: Path) -> None:
    place = Place(str(path), event.number, 1)
    try:
        act = Act.model_validate(dict(event.says))
    except ValueError:
        raise BadInput([Problem(place, "This line is no act of a drill.", ANEW)]) from None
    try:
        drill.do(act)
    except KeyError:
        raise BadInput([Problem(place, "This act names what this furnace has not.", ANEW)]) from None


def _refuse_others(events: Sequence[Event], lesson: Lesson, path: Path) -> None:
    """Raises BadInput for the journal of a visit, and of another lesson."""
    head = events[1] if len(events) > 1 else None
    if head is not None and head.event != "drill":
        raise BadInput([Problem(Place(str(path), 2, 1), "This is a visit and no drill.", "Name another file with --record.")])
    if head is not None and head.says.get("hash") != lesson.seal:
        said = f"This is the record of another lesson, or {printable(lesson.name)} was changed since."
        raise BadInput([Problem(Place(str(path), 2, 1), said, ANEW)])
