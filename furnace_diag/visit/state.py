"""What a visit has come to, told over again from its events: nothing of it is kept anywhere else."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from furnace_diag.problems import BadInput, Place, Problem, printable
from furnace_diag.visit.journal import Event

TAKES_BACK = "taken_back"
CAME_WITH = "came_with"  # the number of an event that was written by the same command, and is taken back with this one
OF_LINE = "of_line"  # of each event that one line of several things wrote: the number of the last event before them; one `undo` takes all of them back
BEGUN = "begun"  # all of the start was asked, what happened before it among that: nothing that could be taken back
PAGE = "page"  # of a repair, as it came on the screen: nothing that could be taken back


@dataclass(frozen=True)
class Entry:
    """One record as it was typed: its number among all that were typed, the event that holds it, and after which repair it was taken (0: before any)."""

    number: int
    event: int
    at: str
    record: Mapping[str, Any]
    repair: int = 0


@dataclass
class Repair:
    """A repair that was done: what of, and whether the fault was still there after it. *failure*: empty where only the part was named."""

    number: int
    part: str
    failure: str
    repair: str
    no_change: bool = False


@dataclass
class Visit:
    """A visit as far as it has gone. *drill*: the lesson, where the furnace is a virtual one and nobody's.

    *typed*: how many records were typed, those taken back among them. *asked*: questions of the start that are over, answered
    or not. *click*, *call_began*: when the valve clicked and the call began, in seconds since 1970. *never*: readings that cannot be had, as name and step;
    *unreached*: steps that the running call never comes to. *pages*: by its id the page of a repair that was on the screen last, from 0.
    """

    family: str = ""
    rules_version: str = ""
    drill: str = ""
    opened: str = ""
    complaint: str = ""
    options: dict[str, str] = field(default_factory=dict)
    typed: int = 0
    entries: list[Entry] = field(default_factory=list)
    asked: set[str] = field(default_factory=set)
    without: tuple[str, ...] = ()
    never: set[tuple[str, str | None]] = field(default_factory=set)
    unreached: set[str] = field(default_factory=set)
    meter: str | None = None
    call: int = 1
    call_began: float | None = None
    click: float | None = None
    notes: list[tuple[str, str]] = field(default_factory=list)
    repairs: list[Repair] = field(default_factory=list)
    pages: dict[str, int] = field(default_factory=dict)
    closed: str = ""
    reason: str = ""

    @property
    def proving(self) -> Repair | None:
        """The repair whose checks are under way, if it is not given up."""
        return self.repairs[-1] if self.repairs and not self.repairs[-1].no_change else None

    @property
    def telling(self) -> list[Entry]:
        """Entries that tell of the fault: all but those taken after a repair that may have mended it."""
        mended = self.proving.number if self.proving else None
        return [e for e in self.entries if e.repair != mended]

    @property
    def checking(self) -> list[Entry]:
        """Entries taken after the repair that is being proved."""
        mended = self.proving.number if self.proving else None
        return [e for e in self.entries if mended is not None and e.repair == mended]


def visit_of(events: Iterable[Event], file: str) -> Visit:
    """The visit that *events* of *file* tell. Events that were taken back count as never written. Raises BadInput for one that tells nothing."""
    events = list(events)
    gone = {e.says.get("entry") for e in events if e.event == TAKES_BACK}
    gone |= {e.says["instead_of"] for e in events if isinstance(e.says.get("instead_of"), int) and e.number not in gone}
    visit = Visit()
    for event in events:
        visit.typed += event.event == "record"
        try:
            if event.number not in gone:
                _TELL.get(event.event, _nothing)(visit, event)
        except (KeyError, TypeError, ValueError, AttributeError):
            fix = "The file was changed, or another version of the program wrote it."
            raise BadInput([Problem(Place(file, event.number, 1), f"This {printable(event.event)} does not say what it should.", fix)]) from None
    return visit


def last_of(events: Iterable[Event]) -> Event | None:
    """The last event that can be taken back."""
    events = list(events)
    gone = {e.says.get("entry") for e in events if e.event == TAKES_BACK}
    left = [e for e in events if e.event not in ("opened", TAKES_BACK, PAGE, BEGUN) and e.number not in gone]
    return left[-1] if left else None


# --- what each event does ----------------------------------------------------------------------


def _opened(visit: Visit, event: Event) -> None:
    visit.family, visit.rules_version = str(event.says.get("family", "")), str(event.says.get("rules_version", ""))
    visit.opened = event.at


def _drill(visit: Visit, event: Event) -> None:
    visit.drill = str(event.says["lesson"]) or "a lesson"


def _complaint(visit: Visit, event: Event) -> None:
    visit.complaint = str(event.says["text"])


def _option(visit: Visit, event: Event) -> None:
    name, value = str(event.says["option"]), event.says.get("value")
    visit.options.pop(name, None)
    if value is not None:
        visit.options[name] = str(value)


def _record(visit: Visit, event: Event) -> None:
    repair = visit.proving.number if visit.proving else 0
    record = dict(event.says["record"])
    visit.entries.append(Entry(visit.typed, event.number, event.at, record, repair))
    if "question" in event.says:
        visit.asked.add(str(event.says["question"]))
    visit.call = max(visit.call, int(record.get("call", 1)))


def _asked(visit: Visit, event: Event) -> None:
    visit.asked.add(str(event.says["question"]))


def _without(visit: Visit, event: Event) -> None:
    visit.without = tuple(map(str, event.says["instruments"]))


def _never(visit: Visit, event: Event) -> None:
    visit.never.add((str(event.says["name"]), event.says.get("step")))
    if event.says.get("nothing_there") and event.says.get("step"):
        visit.unreached.add(str(event.says["step"]))


def _meter(visit: Visit, event: Event) -> None:
    visit.meter = None if event.says["meter"] is None else str(event.says["meter"])


def _call(visit: Visit, event: Event) -> None:
    visit.call, visit.click = int(event.says["call"]), None
    visit.call_began = None if event.says.get("unmarked") else event.seconds
    visit.unreached = set()


def _click(visit: Visit, event: Event) -> None:
    visit.click = event.seconds


def _note(visit: Visit, event: Event) -> None:
    visit.notes.append((event.at, str(event.says["text"])))


def _repair(visit: Visit, event: Event) -> None:
    says = event.says
    visit.repairs.append(Repair(event.number, str(says["part"]), str(says["failure"]), str(says["repair"])))
    visit.pages.pop(str(says["repair"]), None)


def _page(visit: Visit, event: Event) -> None:
    visit.pages[str(event.says["repair"])] = int(event.says["page"])


def _no_change(visit: Visit, _: Event) -> None:
    if visit.repairs:
        visit.repairs[-1].no_change = True


def _closed(visit: Visit, event: Event) -> None:
    visit.closed, visit.reason = str(event.says["as"]), str(event.says.get("reason", ""))


def _nothing(visit: Visit, event: Event) -> None:
    """A kind of event that only the report tells."""


_TELL = {
    "opened": _opened,
    "drill": _drill,
    "complaint": _complaint,
    "option": _option,
    "record": _record,
    "asked": _asked,
    "without": _without,
    "never": _never,
    "meter": _meter,
    "call": _call,
    "click": _click,
    "note": _note,
    "repair": _repair,
    PAGE: _page,
    "no_change": _no_change,
    "closed": _closed,
}
