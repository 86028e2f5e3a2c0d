"""What a drill writes down: the events of a visit's journal, in order. They follow from the lesson and the acts, and tell no hidden fault."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from furnace_diag.knowledge.models import Knowledge
from furnace_diag.training.acts import Act
from furnace_diag.training.lesson import Lesson
from furnace_diag.visit.journal import FORMAT, Event
from furnace_diag.visit.state import TAKES_BACK, Repair, Visit, visit_of

MOST_CALLS, MOST_SECONDS = 99, 86400.0  # that a record may speak of
NEVER = ""  # when an event was, where nothing is made of the time


class Account:
    """The events of one drill: what the customer told, then each act and what was learnt by it."""

    def __init__(self, lesson: Lesson, knowledge: Knowledge) -> None:
        self.lesson, self.k = lesson, knowledge
        self.events: list[tuple[str, dict[str, Any]]] = []
        self.repair: Repair | None = None  # whose checks are under way
        self._asked: dict[str, int] = {}  # the event that answers a question, of those since the last repair
        self.tell("opened", {"format": FORMAT, "family": lesson.report.family, "rules_version": knowledge.version})
        self.tell("drill", {"lesson": lesson.name, "file": lesson.file, "hash": lesson.seal})
        self.tell("complaint", {"text": lesson.report.complaint})
        for option, value in lesson.report.options.items():
            self.tell("option", {"option": option, "value": value})
        for record in lesson.told:
            self.tell("record", {"record": dict(record)})
        self._told = len(self.events)  # up to here it is the customer's

    def tell(self, event: str, says: Mapping[str, Any]) -> int:
        """Add an event; its number."""
        self.events.append((event, dict(says)))
        return len(self.events)

    def act(self, act: Act) -> None:
        """What the trainee did."""
        self.tell("act", {name: it for name, it in vars(act).items() if it != Act.model_fields[name].default})

    def record(self, record: Mapping[str, object]) -> None:
        """What was learnt; it stands instead of an earlier answer to the same question."""
        question = repr({k: v for k, v in record.items() if k not in ("value", "after_s")})
        earlier = self._asked.get(question)
        self._asked[question] = self.tell("record", {"record": dict(record)} | ({"instead_of": earlier} if earlier else {}))

    def note(self, text: str) -> None:
        """What is written down and not weighed."""
        self.tell("note", {"text": text})

    def holds_no_more(self, sign: str) -> bool:
        """What a sign showed since the last repair is of the past: it is taken back. Whether there was anything."""
        standing = [q for q, number in self._asked.items() if self.events[number - 1][1]["record"].get("sign") == sign]
        for question in standing:
            self._take_back(self._asked.pop(question))
        return bool(standing)

    def set_aside(self, stands_no_more: Callable[[Mapping[str, Any]], bool]) -> bool:
        """Records of the trainee's own from before the last repair that *stands_no_more* are taken back. Whether there were any."""
        assert self.repair is not None
        visit = self.visit(self.repair.number)
        gone = [e for e in visit.telling if e.event > self._told and stands_no_more(e.record)]
        for entry in gone:
            self._take_back(entry.event)
        return bool(gone)

    def _take_back(self, number: int | None) -> None:
        while number is not None:  # an answer that it stood instead of would stand again
            self.tell(TAKES_BACK, {"entry": number})
            number = self.events[number - 1][1].get("instead_of")

    def mended(self, part: str, failure: str, repair: str) -> None:
        """A repair was done: what comes is about the repaired furnace."""
        number = self.tell("repair", {"part": part, "failure": failure, "repair": repair})
        self.repair = Repair(number, part, failure, repair)
        self._asked.clear()

    def still_there(self) -> str:
        """The repair changed nothing, which tells of what was mended; what that was."""
        from furnace_diag.visit.session import mended_by, unhelped  # with it comes all that ranks, which a drill needs only at its end

        assert self.repair is not None
        of = self.k.repair[self.repair.repair].of
        mended = [mended_by(self.repair, self.k)] if self.repair.failure or self.repair.part in of else [f for f in of if f.startswith(f"{self.repair.part}:")]
        self.tell("no_change", {"repair": self.repair.number})
        for each in mended:
            self.tell("record", {"record": {"history": each, "value": unhelped(self.repair, each, self.k)}})
        self.repair = None
        return " and ".join(mended)

    def visit(self, many: int | None = None) -> Visit:
        """The visit that the first *many* events tell, or all of them."""
        return visit_of([Event(n, NEVER, event, says) for n, (event, says) in enumerate(self.events[:many], 1)], self.lesson.file)
