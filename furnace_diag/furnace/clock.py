"""Furnaces on a clock that can be stopped at any moment, so that somebody can do something to them in between.

Between two things that happen nothing changes, so time may be cut anywhere: what is on its way (a pressure switch about
to close, a limit warming up) keeps the seconds it has already waited.
"""

from __future__ import annotations

import numpy as np

from furnace_diag.furnace.moment import Rows
from furnace_diag.furnace.operate import AT_ROD, Observer, Operation
from furnace_diag.furnace.virtual import Flags, Floats, VirtualFurnaces

MOST_AT_ONCE = 40  # steps of the program without time passing; a control that goes on so chatters, judgement
CHATTER_SECONDS = 1.0  # that such a control is left alone for


class Clocked(Operation):
    """An operation that is run on by seconds. Row by row, because each has a clock of its own."""

    def __init__(self, furnaces: VirtualFurnaces, *, blown: Flags | None = None) -> None:
        self._until = np.full(furnaces.rows, np.inf)
        self._stopped = np.zeros(furnaces.rows, bool)
        self.chattered = np.zeros(furnaces.rows, int)  # how often it was left alone so
        self._begun: list[dict[str, tuple[bool, float]]] = [{} for _ in range(furnaces.rows)]
        super().__init__(furnaces, blown=blown)

    def begin_call(self) -> None:
        """Forget what the heat call before this one did; the count of its trials is the control's own. What goes on without a call goes on."""
        order = self.family.order
        self.furthest[:] = [order.index(step) if step in order else 0 for step in self.step.tolist()]
        self.limit_trips[:] = 0
        self.ever_lit[:] = self.flame
        for times in self.times.values():
            times[:] = np.nan

    def run_on(self, seconds: float, row: int = 0) -> None:
        """Let *seconds* pass for one row, and what is then due at once happen."""
        rows = np.array([row])
        self._until[row] = self.clock[row] + seconds
        self._stopped[row] = False
        at, still = self.clock[row], 0
        while not self._stopped[row]:
            self.tick(rows, None)
            still = still + 1 if self.clock[row] == at else 0
            at = self.clock[row]
            if still > MOST_AT_ONCE:
                self.chattered[row] += 1
                self._wait(row, min(CHATTER_SECONDS, self._until[row] - self.clock[row]))
                if self.clock[row] >= self._until[row]:
                    return

    def seconds_to_next(self, row: int = 0) -> float:
        """Seconds until the next thing that happens by itself; without end where nothing is to come."""
        return float(min(np.minimum.reduce([seconds for seconds, _ in self._coming().values()])[row], self.left[row]))

    def changing(self, ignored: str, row: int = 0) -> bool:
        """Whether anything but *ignored* is on its way, so that what is seen now will not stay so."""
        return any(np.isfinite(seconds[row]) for name, (seconds, _) in self._coming().items() if name != ignored)

    def _wait(self, row: int, seconds: float) -> None:
        self.clock[row] += seconds
        self.left[row] -= seconds

    def _coming(self) -> dict[str, tuple[Floats, Flags]]:
        """What will change by itself, less the seconds it has waited since it was first to come."""
        coming = super()._coming()
        for name, (seconds, state) in coming.items():
            for row in range(self.furnaces.rows):
                if not np.isfinite(seconds[row]):
                    self._begun[row].pop(name, None)
                    continue
                target = bool(state[row])
                if self._begun[row].get(name, (not target, 0.0))[0] != target:
                    self._begun[row][name] = (target, float(self.clock[row]))
                if name not in self._counts_down:
                    seconds[row] = max(seconds[row] - (self.clock[row] - self._begun[row][name][1]), 0.0)
        return coming

    _counts_down = frozenset({AT_ROD})  # reckoned from a moment by the clock, not from now

    def _pass_time(self, rows: Rows, observe: Observer | None) -> Rows:
        """Advance to whatever comes first, or to the moment at which the clock is to stop."""
        coming = self._coming()
        soonest = np.minimum(np.minimum.reduce([seconds for seconds, _ in coming.values()]), self.left)
        room = self._until - self.clock
        stops = rows[soonest[rows] > room[rows]]
        self.clock[stops] += room[stops]
        self.left[stops] -= room[stops]
        self._stopped[stops] = True
        resting = stops[~np.isfinite(soonest[stops])]
        self._observe(resting, observe)
        self.rested_in[resting] = self.step[resting]
        going = rows[soonest[rows] <= room[rows]]
        return np.concatenate([stops, super()._pass_time(going, observe)]) if len(going) else stops
