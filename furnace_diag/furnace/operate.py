"""Running virtual furnaces: the control's sequence and the physics, side by side.

A tick solves the network, lets fuses, motors and heaters follow at once, then either takes a step of the
control's program or advances the clock to the next thing that happens (draft made, flame lit, limit open, step
over), whichever is first in each row.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

import numpy as np
from numpy.typing import NDArray

from furnace_diag.furnace import formulas
from furnace_diag.furnace.moment import Moment, Rows, slip_of
from furnace_diag.furnace.virtual import Flags, Floats, Later, VirtualFurnaces
from furnace_diag.knowledge.models import Step

Observer = Callable[[str, Rows], None]

MOST_TICKS = 60  # the longest heat call takes 37; a row that cycles for ever is stopped here
FEW = 0.1  # share of the furnaces below which those that still move are taken out and run alone: a tick of few among many costs nearly as much as one of all
NEVER = np.inf
# noted as each first happens
TIMED = ("inducer_on", "inducer_hums", "draft", "gas_on", "valve_clicks", "flame_on", "flame_off", "blower_on", "blower_after_trip")
FLAME, AT_ROD, SETS_IN = "flame", "flame at the rod", "a failure sets in"  # among what comes by itself; the others are named by what their contacts follow
NEARLY_ALL = 0.999  # share of a draft that grows without end which is all of it
LEAST_LOAD = 0.05  # share of a fan's load that a motor turning idle still has, judgement


class Operation(Moment):
    """Furnaces being run.

    After a run: `rested_in` and `furthest` give the step each row ended in and the last step of a good call it
    reached; `times` the seconds of what happened.
    """

    def __init__(self, furnaces: VirtualFurnaces, rows: Rows | None = None, *, blown: Flags | None = None) -> None:
        self.later: Later | None = None
        self.yet_to_set_in = np.zeros(furnaces.rows, bool)
        self.known: dict[str, Flags] = {}  # what the control senses, as of the last time things settled
        super().__init__(furnaces, rows, blown=blown)

    def reset(self) -> None:
        """Power off and on: everything at rest, no call. A blown fuse stays blown."""
        super().reset()
        count = self.furnaces.rows
        self.rod_due = np.full(count, NEVER)  # when, by the clock, the flame will have spread to the rod
        self.step = np.full(count, self.family.steps[self.family.sequence.starts_at])
        self.entered = np.full((len(self.family.steps), count), np.nan)  # when each step last began, by the clock
        self.clock, self.left = np.zeros(count), np.full(count, NEVER)
        self.counts = {s.counts: np.zeros(count, int) for s in self.family.sequence.steps if s.counts}
        self.limit_trips = np.zeros(count, int)
        self.furthest, self.rested_in = np.zeros(count, int), self.step.copy()
        self.times = {name: np.full(count, np.nan) for name in TIMED}
        self.gas_at, self.lit_at = np.full(count, np.nan), np.full(count, np.nan)  # when the gas last came on, and last lit, by the clock
        self.gas_was_on = np.zeros(count, bool)

    def let_set_in(self, look_again: Callable[[Rows], None]) -> None:
        """From now on let failures set in that come only during a heat call. *look_again* is given the furnaces that are to be read anew because one has."""
        self.later, self.look_again = self.furnaces.later, look_again
        if self.later is not None:
            self.yet_to_set_in[self.later.rows] = True
            self.put(self.furnaces.apart())

    def let_go_away(self, without: VirtualFurnaces) -> None:
        """The heat call is over: what set in goes away again, unless it stays. *without*: the furnaces as they were before it."""
        if self.later is not None:
            rows = self.later.rows[~self.later.stays]
            self._become(rows, without, rows)
            self.later = None
        del self.look_again  # whoever looks holds these furnaces: as a ring of two both would stay in memory long after they are done with

    def let_trip(self, call: str) -> None:
        """Let the failures be there whose load comes on in a *call* other than for heat."""
        later = self.furnaces.later
        if later is not None and (places := np.flatnonzero(later.trips_in[call])).size:
            self.put(self.furnaces.apart())
            self._become(later.rows[places], later.ill, places)

    def _become(self, rows: Rows, other: VirtualFurnaces, places: Rows) -> None:
        self.furnaces.become(rows, other, places)
        self.__dict__.pop("_auxiliary_admittance", None)

    def call(self, closes: Iterable[str]) -> None:
        """Close what a call closes (see the sequence's calls) in the rows that move."""
        for name in closes:
            self.moved[name][self.rows] = True

    def open(self, closes: Iterable[str]) -> None:
        """Open again what a call closed, in the rows that move."""
        for name in closes:
            self.moved[name][self.rows] = False

    # --- what follows at once ----------------------------------------------------------------

    def settle(self, rows: Rows) -> None:
        """Solve, and let what follows at once (fuse, rotor speeds, hot igniter) follow, up to six times; then the accessories."""
        unsettled = rows
        for _ in range(6):
            self.solve(unsettled)
            unsettled = unsettled[self._follow(unsettled)[unsettled]]  # what has not changed has its solution
            if not len(unsettled):
                break
        self.known = self._inputs()
        switched = self._accessories_follow(rows)
        if len(switched):
            self.solve(switched)

    def _follow(self, rows: Rows) -> Flags:
        active = np.zeros(self.furnaces.rows, bool)
        active[rows] = True
        changed = self._fuse_opens() & active
        self.blown |= changed
        for core, slip in self._slips().items():
            moved = active & (np.abs(slip - self.slip[core]) > 0.01)
            self.slip[core] = np.where(moved, slip, self.slip[core])
            changed |= moved
        igniter = self.machines.igniter
        hot = (self.over(igniter.element) > igniter.heats_above_volts.value) & active
        changed |= active & (hot != self.hot)
        self.hot = np.where(active, hot, self.hot)
        return np.asarray(changed)

    def _accessories_follow(self, rows: Rows) -> Rows:
        """Switch what goes with other outputs or with inputs in *rows*; those in which anything changed."""
        changed = np.zeros(len(rows), bool)
        powered = self.step[rows] != self.family.off  # without power only a resting contact feeds anything
        for output, accessory in self.family.sequence.accessories.items():
            on = np.zeros(len(rows), bool)
            for value, names in accessory.goes_with.items():
                chosen = self.furnaces.choices[accessory.option][rows] == value
                for name in names:
                    on |= chosen & (self.moved[name][rows] if name in self.family.outputs else self.known[name][rows] & powered)
            changed |= on != self.moved[output][rows]
            self.moved[output][rows] = on
        return np.asarray(rows[changed])

    def _fuse_opens(self) -> Flags:
        if self.fuse is None:
            return np.zeros(self.furnaces.rows, bool)
        fuse = self.family.elements[self.fuse]
        amps = self.over(fuse.element) / self.furnaces.ohms[self.fuse]
        seconds = formulas.fuse_opening_time(amps, float(fuse.fuse_amps or 0))
        return np.asarray((seconds < self.machines.fuse_opens_within_seconds.value) & ~self.blown)

    def _slips(self) -> dict[str, Floats]:
        """Slip of each motor (1 stands still) for the voltage it has now."""
        inducer, blower = self.family.core_of(self.machines.inducer.winding), self.family.core_of(self.machines.blower.main)
        m = self.machines.blower
        strength = (self.turn_volts() / m.rated_main_volts.value) ** 2 * m.pull_out_times_load.value * self.q(m.pull)
        load = np.maximum(self.q(m.grip) * self.q(m.way), LEAST_LOAD) * self.q(m.drag)
        return {
            inducer: np.where(self.inducer_running(), 1 - (1 - self.family.rotors[inducer].slip) * self.inducer_follows(), 1.0),
            blower: np.where(self.blower_running(), slip_of(strength / load), 1.0),
        }

    # --- time ------------------------------------------------------------------------------

    def _coming(self) -> dict[str, tuple[Floats, Flags]]:
        """What will change by itself if nothing else does: seconds until then, and the state it changes to."""
        switch, valve, igniter = self.machines.pressure_switch, self.machines.valve, self.machines.igniter
        made = self.moved[switch.moves]
        draft, set_point = self.draft(), self.q(switch.set_point)
        enough = draft >= set_point * np.where(made, switch.opens_at_share.value, 1.0)
        takes = np.where(enough, self._seconds_to_close(draft, set_point), switch.opens_in_seconds.value)
        lit = (self.glow() > igniter.bright_above_share.value) & (self.manifold() > valve.lights_above_share.value * self.q(valve.rated_manifold))
        burns = self.gas_flows() & (self.flame | lit)
        return self._setting_in() | {
            switch.moves: (np.where(enough != made, takes, NEVER), enough),
            FLAME: (np.where(burns != self.flame, np.where(burns, valve.lights_in_seconds.value, 0.0), NEVER), burns),
            AT_ROD: (np.where(self.flame & ~self.at_rod, np.maximum(self.rod_due - self.clock, 0), NEVER), self.flame),
            self.machines.limit.moves: self._limit_coming(),
        }

    def _seconds_to_close(self, draft: Floats, set_point: Floats) -> Floats:
        """How long the pressure switch takes to close on a draft that is enough for it: the longer, the less it has to spare."""
        switch = self.machines.pressure_switch
        share, creeps = np.minimum(set_point / np.maximum(draft, 1e-6), NEARLY_ALL), switch.creeps_above_share.value
        quickly = formulas.rise_seconds(np.minimum(share, creeps), switch.draft_builds_in_seconds.value)
        return quickly + formulas.rise_seconds(np.maximum(share - creeps, 0) / (1 - creeps), switch.creeps_in_seconds.value)

    def _setting_in(self) -> dict[str, tuple[Floats, Flags]]:
        """Seconds until a failure sets in that is still to come in this call."""
        if self.later is None:
            return {}
        seconds = np.full(self.furnaces.rows, NEVER)
        begun = self.entered[self.later.step, self.later.rows]
        due = np.where(np.isnan(begun) | ~self.yet_to_set_in[self.later.rows], NEVER, begun + self.later.seconds)
        seconds[self.later.rows] = np.maximum(due - self.clock[self.later.rows], 0)
        return {SETS_IN: (seconds, self.yet_to_set_in)}

    def _set_in(self, due: Rows, observe: Observer | None) -> None:
        assert self.later is not None
        places = np.searchsorted(self.later.rows, due)
        before = self.later.read_before[places]
        self._observe(due[before], observe)
        self.look_again(due[~before])
        self._become(due, self.later.ill, places)
        self.yet_to_set_in[due] = False

    def _limit_coming(self) -> tuple[Floats, Flags]:
        m = self.machines.limit
        cool, trips_at, rise = self.moved[m.moves], self.q(m.trips_at), self.rise()
        share = np.minimum(trips_at / np.maximum(rise, 1e-6), 0.999999)
        hot = (rise > trips_at) & self.flame & (self.left > m.spared_by_steps_of_seconds.value)
        seconds = np.where(hot & cool, -self.q(m.exchanger_seconds) * np.log(1 - share), NEVER)
        return np.where(~cool & ~self.flame, m.cools_in_seconds.value, seconds), np.where(cool, ~hot, True)

    def tick(self, rows: Rows, observe: Observer | None) -> Rows:
        """One step or one stretch of time for *rows*; returns those that still move."""
        self.settle(rows)
        self._note_times(rows)
        target = self._next_step(rows)
        moving = rows[target[rows] >= 0]
        if len(moving):
            self._observe(moving, observe)
            self._enter(moving, target[moving])
        waiting = rows[target[rows] < 0]
        alive = self._pass_time(waiting, observe)
        return np.sort(np.concatenate([moving, alive]))

    def _next_step(self, rows: Rows) -> NDArray[np.int_]:
        """The step each row goes to now, -1 where it stays."""
        target = np.full(self.furnaces.rows, -1)
        for step in np.unique(self.step[rows]):
            here = rows[self.step[rows] == step]
            for leave in self.family.sequence.steps[step].leave:
                holds = np.ones(len(here), bool)
                for condition in leave.if_:
                    name = condition.removeprefix("not ")
                    holds &= self.known[name][here] ^ condition.startswith("not ")
                for option, wanted in leave.only_when.items():
                    holds &= self.furnaces.choices[option][here] == wanted
                free = target[here] < 0
                target[here[holds & free]] = self.family.steps[leave.go]
        return target

    def _inputs(self) -> dict[str, Flags]:
        """What the control knows now, shape (rows,) each."""
        known = {}
        for name, sense in self.family.sequence.inputs.items():
            value = self.flame_current() if sense.between is None else self.across(*sense.between)
            reached = value >= self.furnaces.value(sense.at_least)
            forced = self.furnaces.senses.get(name)
            if forced is not None:
                reached = np.where(forced == 0, reached, forced > 0)
            if sense.hidden_by is not None and sense.hidden_by in self.furnaces.senses:
                reached = reached & (self.furnaces.senses[sense.hidden_by] == 0)
            for option, wanted in sense.only_when.items():
                reached = reached | (self.furnaces.choices[option] != wanted)
            known[name] = reached
        for counter, count in self.counts.items():
            known[f"{counter} spent"] = count >= self.furnaces.chosen(counter)
        return known

    def _enter(self, rows: Rows, steps: NDArray[np.int_]) -> None:
        self.step[rows] = steps
        for step in np.unique(steps):
            here = rows[steps == step]
            entry = self.family.sequence.steps[step]
            self.entered[step, here] = self.clock[here]
            self.left[here] = NEVER if entry.lasts is None else self._time_left(entry, here)
            if entry.counts is not None:
                self.counts[entry.counts][here] += 1
            for counter in entry.clears:
                self.counts[counter][here] = 0
            if step in self.family.order:
                self.furthest[here] = np.maximum(self.furthest[here], self.family.order.index(step))
            self._drive(here, step)

    def _time_left(self, entry: Step, rows: Rows) -> Floats:
        """Seconds that a step just entered may take, less what has gone since an earlier step where it counts from there."""
        gone = np.zeros(len(rows))
        for option, values in entry.counted_from.items():
            for value, since in values.items():
                passed = self.clock[rows] - self.entered[self.family.steps[since], rows]
                gone = np.where(self.furnaces.choices[option][rows] == value, passed, gone)
        lasts = self.furnaces.value(str(entry.lasts))[rows]
        return np.asarray(np.maximum(lasts - np.nan_to_num(gone), 0))

    def _drive(self, rows: Rows, step: int) -> None:
        entry = self.family.sequence.steps[step]
        for output in self.family.outputs:
            if output in self.family.sequence.accessories:
                continue
            on = np.full(len(rows), output in entry.drives)
            for option, values in entry.drives_when.items():
                for value, outputs in values.items():
                    on |= (self.furnaces.choices[option][rows] == value) & (output in outputs)
            for held in entry.held_back:
                on &= (held.output != output) | (self.q(held.by)[rows] <= 0)
            self.moved[output][rows] = on
        self._accessories_follow(rows)

    def _pass_time(self, rows: Rows, observe: Observer | None) -> Rows:
        """Advance *rows* to whatever happens first; rows with nothing to come have come to rest."""
        coming = self._coming()
        soonest = np.minimum.reduce([seconds for seconds, _ in coming.values()])
        wait = np.minimum(soonest, self.left)
        alive = rows[np.isfinite(wait[rows])]
        resting = rows[~np.isfinite(wait[rows])]
        self._observe(resting, observe)
        self.rested_in[resting] = self.step[resting]
        self.clock[alive] += wait[alive]
        self.left[alive] -= wait[alive]
        for name, (seconds, state) in coming.items():
            due = alive[seconds[alive] <= wait[alive]]
            self._happen(name, due, state, observe)
        over = alive[(self.left[alive] <= 0) & (soonest[alive] > wait[alive])]
        self._observe(over, observe)
        if len(over):
            self._enter(over, np.array([self.family.steps[str(self.family.sequence.steps[s].then)] for s in self.step[over]]))
        return self._drop_cycling(alive)

    def _happen(self, name: str, due: Rows, state: Flags, observe: Observer | None) -> None:
        if not len(due):
            return
        if name == FLAME:
            self.flame[due] = state[due]
            self._spread(due)
            self.ever_lit[due] |= state[due]
            self.lit_at[due[state[due]]] = self.clock[due[state[due]]]
            key = np.where(state[due], self.times["flame_on"][due], self.times["flame_off"][due])
            first = due[np.isnan(key)]
            self.times["flame_on"][first[state[first]]] = self.clock[first[state[first]]]
            self.times["flame_off"][first[~state[first]]] = self.clock[first[~state[first]]]
            return
        if name == AT_ROD:
            self.at_rod[due] = state[due]
            return
        if name == SETS_IN:
            self._set_in(due, observe)
            return
        if name == self.machines.limit.moves:
            self.limit_trips[due] += ~state[due]
            self._observe(due, observe)  # as it stands before the limit moves: burning when it trips, the string open when it is back
        self.moved[name][due] = state[due]

    def _spread(self, rows: Rows) -> None:
        """The flame of *rows* has just lit or gone out: at once at the rod where it carries over well, later where not."""
        slower = 1 / np.maximum(self.q(self.machines.flame.carry_over)[rows], 0.01) - 1
        self.rod_due[rows] = self.clock[rows] + self.machines.valve.lights_in_seconds.value * slower
        self.at_rod[rows] = self.flame[rows] & (slower <= 0)

    def _drop_cycling(self, rows: Rows) -> Rows:
        """Rows that have tripped their limit and come back to a new start have shown all they do."""
        again = (self.limit_trips[rows] > 0) & (self.step[rows] == self.family.first_driven)
        self.rested_in[rows[again]] = self.family.string_open
        return np.asarray(rows[~again])

    def _observe(self, rows: Rows, observe: Observer | None) -> None:
        if observe is None:
            return
        for step in np.unique(self.step[rows]):
            observe(self.family.sequence.steps[step].step, rows[self.step[rows] == step])

    def _note_times(self, rows: Rows) -> None:
        now = {
            "inducer_on": self.inducer_running(),
            "inducer_hums": self.inducer_humming(),
            "draft": self._draft_switched(),
            "gas_on": self.moved[self.machines.valve.driven_by],
            "valve_clicks": self.valve_pulled_in(),
            "blower_on": self.blower_running() & self.flame & (self.limit_trips == 0),
            "blower_after_trip": self.blower_running() & (self.limit_trips > 0),
        }
        gas = now["gas_on"]
        begun = rows[gas[rows] & ~self.gas_was_on[rows]]
        self.gas_at[begun], self.gas_was_on[rows] = self.clock[begun], gas[rows]
        for name, happens in now.items():
            first = rows[happens[rows] & np.isnan(self.times[name][rows])]
            self.times[name][first] = self.clock[first]

    def _draft_switched(self) -> Flags:
        """Whether draft has closed what it moves: a contact that stays open is moved and does not close."""
        moves = self.machines.pressure_switch.moves
        contacts = [self.closed(e.element) for e in self.family.elements if e.follows == moves]
        return np.asarray(np.logical_and.reduce([self.moved[moves], *contacts]))

    def went_dark(self) -> Flags:
        """Whether something was driven in the heat call, and the supply was lost after that."""
        return np.asarray((self.rested_in == self.family.off) & (self.furthest >= self.family.order.index(self.family.first_driven)))

    def run(self, observe: Observer | None = None, *, most: int = MOST_TICKS) -> None:
        """Tick until every row rests, or *most* ticks."""
        rows = self.rows
        for tick in range(most):
            if not len(rows):
                return
            if observe is None and len(rows) < FEW * self.furnaces.rows:
                alone = self.of(rows)
                alone.run(most=most - tick)
                self.take(alone, rows, np.arange(len(rows)))
                return
            rows = self.tick(rows, observe)
        self.rested_in[rows] = self.step[rows]
