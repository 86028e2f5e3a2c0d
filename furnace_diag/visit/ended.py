"""Hazards that a repair puts an end to, by what is read after it and by nothing else: spillage, soot, a dirty flue gas."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence

from furnace_diag.diagnosis.findings import Finder
from furnace_diag.diagnosis.records import Record
from furnace_diag.knowledge.finding_models import Ended
from furnace_diag.knowledge.models import Knowledge
from furnace_diag.knowledge.naming import each_way
from furnace_diag.knowledge.repair_models import Check
from furnace_diag.knowledge.spelling import plain
from furnace_diag.visit.state import Entry, Repair, Visit


class Ends:
    """What the repairs of a visit may end, and have ended."""

    def __init__(self, knowledge: Knowledge, finder: Finder, record: Callable[[Entry], Record]) -> None:
        self.k, self.finder, self.record = knowledge, finder, record

    def may_end(self, repair: str) -> dict[str, Ended]:
        """What a repair may put an end to, by the point or sign as which it was found: what its own checks look at."""
        entry = self.k.repair.get(repair)
        own = {*entry.after} if entry is not None else set[str]()
        return {e.found: e for hazard in self.k.hazard.values() for e in hazard.ended_by if not own.isdisjoint(e.by)}

    def told_mended(self, text: str) -> str:
        """The repair of which *text* tells, in the words of the rules, that it is done: "ground wire was off, put it back on"; empty where it tells of none."""
        told = ((repair, way) for words in self.k.words.values() for repair, phrases in words.told_mended.items() for p in phrases for way in each_way(p))
        return next((repair for repair, way in told if way == plain(text)), "")

    def how_told(self, found: Iterable[Ended]) -> list[str]:
        """How one types that the cause of what was *found* was mended, as the rules have it first for each repair that may end it."""
        by = {check for each in found for check in each.by}
        told = {repair: phrases[0] for words in self.k.words.values() for repair, phrases in words.told_mended.items()}
        return [phrase for repair, phrase in told.items() if not by.isdisjoint(self.k.repair[repair].after)]

    def left(self, visit: Visit, *, until_read: bool, under_way: str = "") -> list[Record]:
        """The records that tell of the fault, but for those by which something was found that a repair has ended.

        *until_read*: what is to be read for that must have been; else it is enough that the repair is *under_way* or being proved.
        """
        gone = {e.number for e, _ in self.ended(visit)}
        beginning = set[str]() if until_read else {*self.may_end(under_way), *self.may_end(visit.proving.repair if visit.proving else "")}
        return [r for e in visit.telling if e.number not in gone and (r := self.record(e)).name not in beginning]

    def ended(self, visit: Visit) -> list[tuple[Entry, Ended]]:
        """The entries by which something was found that a repair after them has ended, each with how."""
        found = [(e, how) for e in visit.telling for r in visit.repairs if self._is_after(r, e) and (how := self._ended_by(visit, r, e)) is not None]
        return [(e, how) for e, how in found if self.stops(self.record(e), visit.options)]

    def _is_after(self, repair: Repair, entry: Entry) -> bool:
        return repair.number > entry.repair and not repair.no_change

    def _ended_by(self, visit: Visit, repair: Repair, entry: Entry) -> Ended | None:
        """How a repair has ended what an entry tells: by all that is to be read for it, read after that repair and well."""
        how = self.may_end(repair.repair).get(self.record(entry).name)
        if how is None:
            return None
        after = [self.record(e) for e in visit.entries if e.repair == repair.number]
        needs = self.finder.checked([self.k.check[c] for c in how.by], after, visit.options)
        return how if all(not n.calls_left and not n.denied_by for n in needs) else None

    def stops(self, record: Record, options: Mapping[str, str]) -> bool:
        """Whether a record by itself tells of a hazard."""
        return bool(self.finder.find([record], options).hazards)

    def checks_besides(self, repair: str, found: Iterable[Record], options: Mapping[str, str]) -> list[Check]:
        """What is to be read after a repair beside its own checks, because of what was *found* before it."""
        may_end = self.may_end(repair)
        names = {r.name for r in found if r.name in may_end and self.stops(r, options)}
        return [self.k.check[c] for name, how in may_end.items() if name in names for c in how.by]

    def standing(self, records: Sequence[Record], options: Mapping[str, str]) -> list[Ended]:
        """How what stops a visit can be ended by a repair; nothing where something of it cannot."""
        endings = self._endings()
        return [] if self.finder.find([r for r in records if r.name not in endings], options).hazards else self.of(records, options)

    def of(self, records: Sequence[Record], options: Mapping[str, str]) -> list[Ended]:
        """The same, whatever else stops it."""
        endings = self._endings()
        return [endings[name] for name in dict.fromkeys(r.name for r in records if r.name in endings and self.stops(r, options))]

    def _endings(self) -> dict[str, Ended]:
        return {e.found: e for hazard in self.k.hazard.values() for e in hazard.ended_by}
