"""What comes of an experiment on virtual furnaces: something is changed on them, perhaps a call is made, and one thing is watched.

The population, the drill and the tests all try things here. What an experiment changes stands in the rules; nothing it may do
closes a safety (knowledge/cross.py refuses that).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from furnace_diag.furnace.moment import Rows
from furnace_diag.furnace.operate import FEW, Operation
from furnace_diag.furnace.virtual import Flags, Floats, VirtualFurnaces
from furnace_diag.knowledge.models import Effect, Trial, Try

MOST_TICKS = 20  # for which an experiment is watched; a heat call burns after about twelve, and one that tries again and again shows nothing new
MANY = 0.5  # share of the furnaces from which running all is cheaper than taking these out

Changes = tuple[tuple[str, ...], tuple[Effect, ...]]  # what is taken off, and what else is done to the furnace


class Trials:
    """Experiments on furnaces at *rest*, or *burning*: as they last burned in a heat call. Both are left as they are.

    Goes that change the same thing are brought to rest together, once.
    """

    def __init__(self, rest: Operation, burning: Operation) -> None:
        self.rest, self.burning = rest, burning
        self._rested: dict[tuple[Changes, bytes], Operation] = {}

    def take(self, other: Trials, rows: Rows, places: Rows) -> None:
        """Let *rows* be the furnaces of *other* at *places*, as they are at rest and burn there. Whoever else holds the furnaces sees them change."""
        furnaces = self.rest.furnaces
        furnaces.become(rows, other.rest.furnaces, places)
        for mine, theirs in ((self.rest, other.rest), (self.burning, other.burning)):
            mine.put(furnaces)
            mine.take(theirs, rows, places)

    def come_of(self, trial: Trial) -> Floats:
        """The place of its word among the words of *trial*, shape (rows,); nan where it cannot be tried: nothing burns or runs there."""
        result = np.full(self.rest.furnaces.rows, np.nan)
        start = self.rest if trial.starting == "at_rest" else self.burning
        able = start.rows if trial.starting == "at_rest" else start.rows[start.flame[start.rows]]
        if trial.found_running:
            able = able[(start.blower_running() | start.inducer_running())[able]]
        result[able] = trial.words.index(trial.otherwise)
        left = able if trial.found_broken is None else able[start.broken(trial.found_broken)[able]]
        for go in trial.tries:
            if len(left):
                happens = self._happens(trial, go, start, left)
                result[left[happens]] = trial.words.index(go.so)
                left = left[~happens]
        return result

    def standing(self, off: str) -> Operation:
        """The furnaces at rest with everything off that set-up *off* takes off; to be copied, not run on."""
        return self._standing(((off,), ()), self.rest, self.rest.rows)[0]

    def _happens(self, trial: Trial, go: Try, start: Operation, rows: Rows) -> NDArray[np.bool_]:
        """Whether what is watched happens in one go, shape (len(rows),)."""
        changes = ((*trial.off, *go.off), (*trial.effects, *go.effects))
        o, where = self._standing(changes, start, rows)
        o.rows = where
        watch = _WATCHED[go.watch or trial.watch]
        already = watch(o) if (go.watch or trial.watch) in _ANSWERS else np.zeros(o.furnaces.rows, bool)
        o.call(go.joins)
        happened, place = np.zeros(o.furnaces.rows, bool), np.arange(o.furnaces.rows)
        asked = where
        for _ in range(MOST_TICKS):
            if not len(where):
                break
            if len(where) < FEW * len(place):
                o, place, where = o.of(where), place[where], np.arange(len(where))
            moving = o.tick(where, None)
            happened[place[watch(o) & ~already[place]]] = True
            where = moving[~happened[place[moving]]]
        return np.asarray(happened[asked])

    def _standing(self, changes: Changes, start: Operation, rows: Rows) -> tuple[Operation, Rows]:
        """The furnaces as they stand once *changes* are made, to be run on, and the place of *rows* in them."""
        few = len(rows) < MANY * len(start.rows)
        if start is self.burning:
            o, where = _taken_out(start, rows) if few else (start.twin(), rows)
            make(o, changes)
            return o, where
        if changes == ((), ()):
            return _taken_out(start, rows) if few else (start.twin(), rows)
        key = (changes, rows.tobytes() if few else b"")
        if key not in self._rested:
            o, o.rows = _taken_out(start, rows) if few else (start.twin(), start.rows)
            make(o, changes)
            o.run(most=MOST_TICKS)
            self._rested[key] = o
        return self._rested[key].twin(), np.arange(len(rows)) if few else rows


def tried(trial: Trial, furnaces: VirtualFurnaces, blown: Flags | None = None) -> list[str | None]:
    """What comes of an experiment on *furnaces* as they are found, with power and no call, in words; None where it cannot be tried."""
    rest = Operation(furnaces, blown=blown)
    rest.run()
    burning = rest.twin()
    if trial.starting == "burning":
        called = rest.twin()
        called.call(furnaces.family.sequence.heat_call.closes)
        called.run(lambda _, rows: burning.take(called, rows[called.flame[rows]], rows[called.flame[rows]]))
    return [None if np.isnan(word) else trial.words[int(word)] for word in Trials(rest, burning).come_of(trial)]


def _taken_out(start: Operation, rows: Rows) -> tuple[Operation, Rows]:
    """Some furnaces by themselves, standing as they do, and their places."""
    return start.of(rows), np.arange(len(rows))


def make(operation: Operation, changes: Changes) -> None:
    """Change the furnaces of *operation* while they run; it gets furnaces of its own. Nothing follows yet."""
    off, effects = changes
    family = operation.family
    opens = [e for name in off for e in family.taken_off[name]]
    operation.put(altered(operation.furnaces, opens, effects))
    fuse = operation.fuse
    if fuse is not None and any(e.element == family.elements[fuse].element and e.is_ == "whole" for e in effects):
        operation.blown = np.zeros_like(operation.blown)


def altered(furnaces: VirtualFurnaces, opens: Sequence[str], effects: Sequence[Effect] = ()) -> VirtualFurnaces:
    """The same furnaces with some elements open and *effects* of an experiment: opened, made whole again, or a share set to nought."""
    changed = furnaces.twin()
    number = furnaces.family.number
    changed.forced[[number[e] for e in opens]] = -1
    for effect in effects:
        if effect.element is not None:
            changed.forced[number[effect.element]] = -1 if effect.is_ == "open" else 0
        elif effect.quantity is not None:
            changed.quantities[effect.quantity] = np.full(furnaces.rows, float(effect.is_ or 0))
    return changed


def _flame_reported(o: Operation) -> Flags:
    """Whether the control takes it that there is flame."""
    sensed = next((name for name, i in o.family.sequence.inputs.items() if i.signal is not None), None)
    return o.known[sensed] if sensed is not None else np.zeros(o.furnaces.rows, bool)


def _hot(o: Operation) -> Flags:
    """Whether the limit stands open for heat and the gas is off."""
    return np.asarray(~o.moved[o.machines.limit.moves] & ~o.flame)


_ANSWERS = ("blower_answers",)  # what ran before is no answer
_WATCHED: dict[str, Callable[[Operation], Flags]] = {
    "heat_starts": lambda o: np.isin(o.step, o.family.order[o.family.order.index(o.family.first_driven) :]),
    "blower_runs": lambda o: o.blower_running(),
    "blower_answers": lambda o: o.blower_running(),
    "inducer_runs": Operation.inducer_running,
    "fuse_blows": lambda o: o.blown,
    "flame_reported": _flame_reported,
    "flame_out": lambda o: ~o.flame,
    "limit_opens": _hot,
    "limit_opens_and_blower_stands": lambda o: _hot(o) & ~o.blower_running(),
}
