"""What the screen tells as time goes by, made into records: of each thing that was seen to change in a step, how it stood as the step ended.

Only what was shown is one. That something did not come about is for whoever looks at it by name.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from furnace_diag.training.bench import Seen
from furnace_diag.training.notes import Notes


@dataclass
class Watching:
    """*pending*: by sign, the record of what was shown last, until its step is over; *noted*: sign, step and heat call of those that are written down."""

    notes: Notes
    pending: dict[str, dict[str, object]] = field(default_factory=dict)
    noted: set[tuple[object, ...]] = field(default_factory=set)

    def hear(self, seen: Seen) -> None:
        """The screen tells something."""
        self.pass_on()
        when = self.notes.circumstances(self.notes.k.sign[seen.sign])
        if when["step"] is None or self.notes.bench.was_beyond(str(when["step"])):  # the ranking knows the first time
            self.pending.pop(seen.sign, None)
        else:
            self.pending[seen.sign] = {"sign": seen.sign, "value": seen.value, **when}

    def pass_on(self, *, act_over: bool = False) -> None:
        """Write down what stood so to the end of its step; once an *act_over* has left all still, what stands so now as well."""
        bench = self.notes.bench
        now = (bench.step(), max(bench.call_number, 1))
        for sign, record in list(self.pending.items()):
            if (record["step"], record["call"]) != now or (act_over and bench.still()):
                self.pending.pop(sign)
                self._write(record)

    def cut_off(self) -> None:
        """Something is about to be done to the furnace: nobody saw how the step would have ended."""
        self.pending.clear()

    def _write(self, record: dict[str, object]) -> None:
        """Once for each step of a heat call."""
        key = (record["sign"], record["step"], record["call"])
        read = any(t.record is not None and key == tuple(t.record.get(k) for k in ("sign", "step", "call")) for t in self.notes.taken)
        if key not in self.noted and not read and not self.notes.brought_about(int(str(record["call"]))):
            self.noted.add(key)
            self.notes.note(record, f"{record['sign']}: {record['value']}", lasting=True, watched=True)
