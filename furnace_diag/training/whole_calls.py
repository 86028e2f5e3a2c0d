"""Heat calls that were watched to their end: what is said of such a call as a whole, and whether it went as a repaired furnace's should."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from furnace_diag.knowledge.models import Sign
from furnace_diag.knowledge.words import of_whole_call
from furnace_diag.training import checks
from furnace_diag.training.acts import Told
from furnace_diag.training.notes import Notes

WHOLE_CALL = "whole_call"  # see knowledge.words.OF_A_CALL


@dataclass
class WholeCalls:
    """*spend* is told of the minutes that looking at a sign takes.

    *said*: of each heat call that came to its end, what is said of it as a whole, by sign. *asked*: signs of a whole call that were looked at
    before it was over. *went_well*: of each heat call that was watched until all was still again, whether it went as it should. *ending*: the heat
    call that went well so far and was ended, until all is still. *before_repair*: the number of the last heat call before the last repair.
    """

    notes: Notes
    spend: Callable[[float], None]
    said: dict[int, dict[str, str]] = field(default_factory=dict)
    asked: list[str] = field(default_factory=list)
    went_well: dict[int, bool] = field(default_factory=dict)
    ending: int | None = None
    before_repair: int = 0

    def __post_init__(self) -> None:
        self.bench, self.k = self.notes.bench, self.notes.k
        self.heat = self.bench.family.sequence.heat_call

    def look(self, sign: Sign) -> Told:
        """What is said of a whole heat call: nothing before the call has come to its end."""
        self.pass_end()
        known = self.said.get(self.bench.call_number)
        if known is not None:
            value = known.get(sign.sign)
            if value is None:
                return Told("cannot", f"{sign.says}: nothing to be seen of it in this call.")
            self.spend(sign.minutes)
            self.note(sign.sign)
            return Told("seen", f"{sign.says}: {value.replace('_', ' ')}", sign.cautions)
        if not self.bench.heat_is_called:
            return Told("cannot", f"{sign.says}: that is told of a whole heat call. Call for heat and wait rest.")
        if sign.sign not in self.asked:
            self.asked.append(sign.sign)
        seen = {s: v for s, v in self.bench.watched().items() if sign.sign in self.k.sign[s].says_same_as}
        now = "".join(f" Now: {s.replace('_', ' ')}: {v.replace('_', ' ')}." for s, v in seen.items())
        return Told("seen", f"{sign.says}: the call is not over. Watch it to its end (wait rest); then it is noted.{now}", sign.cautions)

    def pass_end(self) -> None:
        """Once a heat call has come to its end, remember what is said of it as a whole, and note what was asked of it before."""
        number = self.bench.call_number
        if not self.bench.heat_is_called:
            self.asked.clear()  # nobody saw how it would have ended
            return
        if number in self.said or not (self.bench.at_rest() or self.bench.goes_round()):
            return
        told = {s.sign: self.bench.sign(s) for s in self.bench.family.signs if of_whole_call(s)}
        spoilt = self.notes.brought_about(number) or self.bench.waits_out()
        self.said[number] = {} if spoilt else {sign: value for sign, value in told.items() if value is not None}
        for sign in self.asked:
            self.spend(self.k.sign[sign].minutes)
            self.note(sign)
        self.asked.clear()

    def note(self, sign: str) -> None:
        """Note what is said of the last heat call, once."""
        number = self.bench.call_number
        value = self.said.get(number, {}).get(sign)
        noted = any(t.name == sign and t.record is not None and t.record["call"] == number for t in self.notes.taken)
        if value is not None and not noted:
            self.notes.note({"sign": sign, "value": value, "call": number}, f"{sign}: {value}", lasting=True)

    def note_where_it_stops(self) -> None:
        """What somebody who watched a heat call until it came to rest knows of it, once for each call."""
        self.pass_end()
        sign = next((s for s in self.bench.family.signs if s.shows == "stops_at"), None)
        if sign is not None and self.bench.heat_is_called:
            self.note(sign.sign)

    def watch_until_still(self) -> str:
        """What to tell, while a repair is being proved, of a heat call once it has been watched from its start until all was still; else nothing."""
        number = self.bench.call_number
        if self.bench.called is self.heat and number in self.said and number not in self.went_well and self.ending != number:
            if self.notes.by_wire:
                return ""
            if not self.bench.went_well():
                return self._ended(number, well=False)
            self.ending = number
        elif self.ending is not None and (self.bench.called is not None or self.bench.isolated) and number != self.ending:
            self.ending = None
        elif self.ending is not None and self.bench.called is None and self.bench.at_rest() and not self.bench.isolated:
            return self._ended(self.ending, well=self.bench.is_still())
        return ""

    def _ended(self, number: int, *, well: bool) -> str:
        self.went_well[number], self.ending = well, None
        sign = next((s for s in self.k.sign.values() if s.answered_by is not None and s.answered_by.reads == WHOLE_CALL), None)
        if sign is None or sign.answered_by is None or self.notes.account.repair is None or self.notes.brought_about(number):
            return ""
        word = checks.word_for(sign.answered_by, float(well))
        self.notes.note({"sign": sign.sign, "value": word, "call": number}, f"{sign.sign}: {word}", lasting=True)
        return f" Heat call {number}, watched to its end: {word.replace('_', ' ')}."

    def since_repair(self) -> list[bool]:
        """Of each heat call watched since the last repair, whether it went as it should."""
        return [well for number, well in self.went_well.items() if number > self.before_repair]
