"""What is learnt in a drill, written down: as a record that the ranking weighs, or as a note that it does not."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property

from furnace_diag.diagnosis.records import SET_UPS
from furnace_diag.diagnosis.vocabulary import either
from furnace_diag.knowledge.models import Knowledge, Point, Sign
from furnace_diag.training.account import MOST_CALLS, MOST_SECONDS, Account
from furnace_diag.training.acts import Act, Taken
from furnace_diag.training.bench import Bench, as_shown
from furnace_diag.training.gas import GAS_PRESSURE, GasWork


@dataclass
class Notes:
    """Writes to the account of a drill. *acts* are all acts so far, the last one under way; *taken* is all that was learnt by them."""

    k: Knowledge
    bench: Bench
    gas: GasWork
    account: Account
    acts: Sequence[Act]
    taken: list[Taken]
    pulled: set[int] = field(default_factory=set)  # heat calls in which the trainee had a lead or plug off

    def note(
        self, record: dict[str, object] | None, said: str, right: bool | None = None, *, lasting: bool = False, watched: bool = False
    ) -> None:
        """Write down what was learnt: as a record if the ranking may weigh it, else as a note.

        *right*: whether it was foretold rightly. *lasting*: it is said of a whole call, and holds whatever changes now. *watched*: the screen told it
        as time went by.
        """
        name = str((record or {}).get("point", (record or {}).get("sign", "")))
        if record is not None and self._weighs(record, lasting=lasting):
            self.account.record(record)
        else:
            record = None
            self.account.note(f"{said} (not weighed)")
        self.taken.append(Taken(record, said, len(self.acts) - 1, right, name, len(self.account.events), watched))

    def _weighs(self, record: dict[str, object], *, lasting: bool) -> bool:
        """Whether the ranking may weigh a record: its step is one that the rules list, nothing is about to change, and the trainee did not bring it about."""
        call = int(str(record.get("call", 1)))
        if record.get("step", "") is None or call > MOST_CALLS:
            return False
        if lasting:
            return True
        if self.bench.something_off and not record.get("set_up"):
            return False
        return self.bench.still() and not self.by_wire and not (self.bench.heat_is_called and self.gas.spoils(call))

    def passes(self) -> None:
        """Time goes by: a heat call with something off is no heat call of this furnace."""
        if self.bench.something_off and self.bench.heat_is_called:
            self.pulled.add(self.bench.call_number)

    def brought_about(self, call: int) -> bool:
        """Whether what is seen in a heat call, or now, comes of what the trainee did to the furnace."""
        return self.by_wire or self.gas.spoils(call) or call in self.pulled or self.bench.something_off

    def point(self, point: Point, value: float, meter: str, hold: str | None, right: bool | None) -> None:
        """Write down a reading of a point. *hold*: min or max, where it was held."""
        text = "OL" if math.isinf(value) else f"{as_shown(value):g} {point.unit.replace('_diff', '').replace('in_wc', 'in wc')}"
        record: dict[str, object] = {"point": point.point, "value": text, **self.circumstances(point)}
        if point.leads is not None:
            record["meter"] = meter
            record |= {"set_up": self._set_up(point.leads[0])}
        if point.point in self._on_pins:
            record["contact"] = "pin"
        no_gas = point.function == GAS_PRESSURE and self.bench.cock_shut
        self.note(None if no_gas else {**record, **({"hold": hold} if hold else {})}, f"{point.point}: {text}{f' ({hold})' if hold else ''}", right)

    def sign(self, sign: Sign, value: str, more: str = "", *, lasting: bool = False) -> None:
        """Write down a sign of no one step. *more*: what is said after its value."""
        record: dict[str, object] = {"sign": sign.sign, "value": value, "call": max(self.bench.call_number, 1)}
        self.note(record, f"{sign.sign}: {value}{more}", lasting=lasting)

    @cached_property
    def _on_pins(self) -> set[str]:
        """Points that are read on the board's own pins: those that proofs want read there."""
        lines = (w for c in self.k.condition.values() for way in c.any_of for w in way)
        return {w.point for w in lines if w.point is not None and w.contact == "pin"}

    def _set_up(self, node: str) -> list[str]:
        """What was changed for a reading at *node*, in the words of a record."""
        off = [t.set_up for t in self.bench.lifted.values() if t.at in (None, node)]
        return [s for s in dict.fromkeys(off) if s in SET_UPS] or ([] if self.bench.lifted else ["load_on"])

    def circumstances(self, entry: Point | Sign) -> dict[str, object]:
        """The fields of a record that tell when something is read or seen now."""
        return {"step": self.step_of(entry), "call": max(self.bench.call_number, 1), "after_s": f"{min(max(self.bench.after(), 0), MOST_SECONDS):.1f}"}

    def step_of(self, entry: Point | Sign) -> str | None:
        """The step to write beside a point or sign that is read now; None where the rules list no such step for it.

        Without a step a record is weighed as one of the whole call, and "no flame" between two trials would count as no flame ever.
        A point that is expected to read the same all through a heat call may be read anywhere in it.
        """
        step, sequence = self.bench.step(), self.bench.family.sequence
        call = sequence.heat_call
        if not entry.steps or step in entry.steps:
            return step
        if self.bench.called is not call or self.bench.isolated or call.step not in entry.steps or not isinstance(entry, Point):
            return None
        in_call = [e for e in entry.expects if {*e.steps} & {*sequence.order[1:]}]
        same = max((e.low for e in in_call), default=math.inf) <= min((e.high for e in in_call), default=-math.inf)
        return call.step if same and any(call.step in e.steps for e in in_call) else None

    def unless_weighed(self, entry: Point | Sign | None = None) -> str:
        """What to add on the screen if what was just noted is not weighed, with the reason where it is known; else nothing."""
        if self.taken[-1].record is not None:
            return ""
        if entry is not None and not self.step_of(entry):
            where = either([step.replace("_", " ") for step in entry.steps])
            return f" (not weighed at {self.bench.step().replace('_', ' ')}; the rules weigh it at {where})"
        if self.gas.spoils(self.bench.call_number):
            return " (not weighed: you shut the gas)"
        if self.bench.something_off:
            return " (not weighed: you have something off)"
        if self.by_wire:
            return " (not weighed: a wire makes this call)"
        return " (not weighed)" if self.bench.still() else " (not weighed: it is about to change)"

    @property
    def by_wire(self) -> bool:
        """Whether a wire makes the call that stands. What is read in it would speak for the thermostat and its wires, which did not make it."""
        return self.bench.called is not None and bool(self.bench.joined) and not self.bench.isolated
