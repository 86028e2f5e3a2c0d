"""Running virtual furnaces: the control's sequence and the physics, side by side.

A tick solves the network, lets fuses, motors and heaters follow at once, then either takes a step of the
control's program or advances the clock to the next thing that happens (draft made, flame lit, limit open, step
over), whichever is first in each row.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from furnace_diag.furnace.network import OPEN, Complex
from furnace_diag.furnace.virtual import Flags, Floats, VirtualFurnaces, between

Rows = NDArray[np.intp]
Observer = Callable[[str, Rows], None]

MOST_TICKS = 60  # the longest heat call takes 37; a row that cycles for ever is stopped here
NEVER = np.inf

# Physics in small: each figure with its unit and where it comes from.
FUSE_HOLDS = 1.35  # times its rating; above it a blade fuse opens within minutes (SAE J1284, from memory)
INDUCER_STALLS_BELOW = 75.0  # volts, judgement
INDUCER_HUMS_ABOVE = 40.0  # volts, judgement
BLOWER_STALLS_BELOW = 55.0  # volts across one turn of the main winding, judgement
BLOWER_STARTS_ABOVE = 0.20  # amps in the auxiliary winding, judgement
BLOWER_FULL_STRENGTH = 0.30  # amps in the auxiliary winding below which it turns slowly, judgement
BLOWER_ENERGISED = 25.0  # volts across one turn: below it nothing is heard, judgement
PULL_OUT = 4.6  # torque coefficient over load coefficient at rated volts, judgement
RATED_TURN_VOLTS = 98.0  # heat speed: 120 V over 1.22 turns
GLOW_BRIGHT, GLOW_DULL = 0.72, 0.2  # share of rated watts, judgement
LIGHTS_ABOVE = 1.2  # in. w.c. at the manifold, judgement
VALVE_DROP = 0.4  # in. w.c. lost in the valve, judgement
RATED_MANIFOLD = 3.5  # in. w.c., natural gas, common practice
SPIN_UP, LIGHT_UP, COOL_DOWN = 3.0, 1.5, 90.0  # seconds, judgement
PRESSURE_SWITCH_GAP = 0.85  # opens at this share of its set point, judgement


class Operation:
    """Furnaces being run. *rows* are those that move; `blown` says whose fuse is found blown.

    After a run: `rested_in` and `furthest` give the step each row ended in and the last step of a good call it
    reached; `times` the seconds of what happened.
    """

    def __init__(self, furnaces: VirtualFurnaces, rows: Rows | None = None, *, blown: Flags | None = None) -> None:
        self.furnaces, self.family = furnaces, furnaces.family
        self.rows = np.arange(furnaces.rows) if rows is None else rows
        count = furnaces.rows
        self.volts: Complex = np.zeros((self.family.network.size, count), np.complex128)
        self.blown = np.zeros(count, bool) if blown is None else blown.copy()
        self.order = [self.family.steps[s] for s in self.family.sequence.order]
        self.fuse = next((i for i, e in enumerate(self.family.elements) if e.fuse_amps), None)
        self.reset()

    def reset(self) -> None:
        """Power off and on: everything at rest, no call. A blown fuse stays blown."""
        count = self.furnaces.rows
        off = {name: np.zeros(count, bool) for name in self.family.outputs}
        self.moved: dict[str, Flags] = off | {
            name: np.zeros(count, bool)
            for name in ("call_w", "call_g", "call_y", "draft_made", "r_w_joined_at_board", "r_w_joined_at_thermostat")
        }
        self.moved["limit_cool"] = np.ones(count, bool)
        self.hot = np.zeros(count, bool)
        self.flame = np.zeros(count, bool)
        self.slip = {core: np.ones(count) for core in self.family.rotors}
        self.step = np.full(count, self.family.steps[self.family.sequence.starts_at])
        self.clock, self.left = np.zeros(count), np.full(count, NEVER)
        self.trials, self.limit_trips = np.zeros(count, int), np.zeros(count, int)
        self.furthest, self.rested_in = np.zeros(count, int), self.step.copy()
        self.times = {name: np.full(count, np.nan) for name in ("inducer_on", "draft", "gas_on", "flame_on", "flame_off", "blower_on")}
        self.ever_lit, self.was_driven = np.zeros(count, bool), dict(off)

    # --- electricity -----------------------------------------------------------------------

    def factored(self, rows: Rows) -> tuple[Complex, Complex]:
        """The eliminated network of *rows* and the source currents into it."""
        y = self.furnaces.admittance(self.moved, {"igniter_element": self.hot}, rows)
        if self.fuse is not None:
            y[self.fuse] = np.where(self.blown[rows], OPEN, y[self.fuse])
        entries = self.family.network.matrix(y, self.furnaces.coupling(self.slip, rows), self.furnaces.turns[:, rows])
        return self.family.network.factor(entries), self.furnaces.currents(y, rows)

    def solve(self, rows: Rows) -> None:
        """Node voltages of *rows* as things stand."""
        factored, into = self.factored(rows)
        self.volts[:, rows] = self.family.network.solve(factored, into[:, None, :])[:, 0]

    def across(self, first: str, second: str) -> Floats:
        """Volts between two nodes [V rms], shape (rows,)."""
        return np.abs(between(self.volts, self.family.network.index, (first, second)))

    def over(self, element: str) -> Floats:
        """Volts across an element [V rms], shape (rows,)."""
        ends = self.family.elements[self.family.number[element]].between
        assert ends is not None
        return self.across(*ends)

    def amps(self, element: str) -> Floats:
        """Current through an element that is wound on no core [A rms], shape (rows,)."""
        everyone = np.arange(self.furnaces.rows)
        y = self.furnaces.admittance(self.moved, {"igniter_element": self.hot}, everyone)[self.family.number[element]]
        return np.asarray(self.over(element) * np.abs(y))

    def settle(self, rows: Rows) -> None:
        """Solve, and let what follows at once (fuse, rotor speeds, hot igniter) follow, up to six times."""
        for _ in range(6):
            self.solve(rows)
            rows = rows[self._follow(rows)[rows]]  # what has not changed has its solution
            if not len(rows):
                return

    def _follow(self, rows: Rows) -> Flags:
        active = np.zeros(self.furnaces.rows, bool)
        active[rows] = True
        changed = self._fuse_opens() & active
        self.blown |= changed
        for core, slip in self._slips().items():
            moved = active & (np.abs(slip - self.slip[core]) > 0.01)
            self.slip[core] = np.where(moved, slip, self.slip[core])
            changed |= moved
        hot = (self.over("igniter_element") > 50) & active
        changed |= active & (hot != self.hot)
        self.hot = np.where(active, hot, self.hot)
        return np.asarray(changed)

    def _fuse_opens(self) -> Flags:
        if self.fuse is None:
            return np.zeros(self.furnaces.rows, bool)
        fuse = self.family.elements[self.fuse]
        amps = self.over(fuse.element) / self.furnaces.ohms[self.fuse]
        return np.asarray((amps > FUSE_HOLDS * float(fuse.fuse_amps or 0)) & ~self.blown)

    def _slips(self) -> dict[str, Floats]:
        """Slip of each motor (1 stands still) for the voltage it has now."""
        inducer = np.where(self.inducer_running(), self.family.rotors["inducer_motor"].slip, 1.0)
        strength = (self.turn_volts() / RATED_TURN_VOLTS) ** 2 * PULL_OUT
        grip = np.maximum(self.furnaces.quantities["blower_grip"], 0.05)
        running = np.where(self.blower_running(), _slip(strength / grip), 1.0)
        return {"inducer_motor": inducer, "blower_motor": running}

    # --- the parts that move ---------------------------------------------------------------

    def inducer_running(self) -> Flags:
        """Whether the inducer turns."""
        sound = self.furnaces.forced[self.family.number["inducer_winding"]] >= 0
        return np.asarray((self.over("inducer_winding") > INDUCER_STALLS_BELOW) & sound & (self.q("inducer_turns") > 0.5))

    def inducer_humming(self) -> Flags:
        """Whether the inducer is energised and stands still."""
        sound = self.furnaces.forced[self.family.number["inducer_winding"]] >= 0
        return np.asarray((self.over("inducer_winding") > INDUCER_HUMS_ABOVE) & sound & ~self.inducer_running())

    def inducer_speed(self) -> Floats:
        """Share of rated speed."""
        share = np.minimum(1.0, np.sqrt(self.over("inducer_winding") / self.q("inducer_full_volts")))
        return np.where(self.inducer_running(), share * self.q("inducer_speed"), 0.0)

    def turn_volts(self) -> Floats:
        """Volts across the main winding of the blower, which has one turn in this description."""
        return self.over("blower_main")

    def auxiliary_amps(self) -> Floats:
        """Current in the blower's auxiliary winding [A]."""
        f, i = self.furnaces, self.family.number["blower_auxiliary"]
        return np.asarray(self.over("blower_auxiliary") / np.hypot(f.ohms[i], f.reactance[i]))

    def blower_energised(self) -> Flags:
        """Whether current flows in the blower, turning or not."""
        return self.turn_volts() > BLOWER_ENERGISED

    def blower_running(self, *, spun: bool = False) -> Flags:
        """Whether the blower turns; *spun* by hand it needs no help from its auxiliary winding."""
        pushed = np.full(self.furnaces.rows, True) if spun else self.auxiliary_amps() > BLOWER_STARTS_ABOVE
        return np.asarray((self.turn_volts() > BLOWER_STALLS_BELOW) & pushed & (self.q("blower_turns") > 0.5))

    def blower_straining(self) -> Flags:
        """Whether the blower turns with too little help from its auxiliary winding: slowly, and getting hot."""
        return np.asarray(self.blower_running() & (self.auxiliary_amps() < BLOWER_FULL_STRENGTH))

    def blower_speed(self) -> Floats:
        """Share of the healthy heat speed."""
        rated = 1 - _slip(np.array([PULL_OUT]))[0]
        weak = np.where(self.blower_straining(), 0.7, 1.0)
        return np.where(self.blower_running(), (1 - self.slip["blower_motor"]) / rated * weak, 0.0)

    # --- draft, gas, flame, air ------------------------------------------------------------

    def q(self, name: str) -> Floats:
        """A quantity of the furnaces, shape (rows,)."""
        return self.furnaces.quantities[name]

    def draft(self) -> Floats:
        """Draft at the pressure switch [in. w.c.]; it goes as the square of the inducer's speed (fan law)."""
        return np.asarray(self.q("draft") * self.inducer_speed() ** 2 * self.q("vent_open") * self.q("hose") * self.q("port"))

    def glow(self) -> Floats:
        """Watts of the igniter as a share of a new one's at 115 V."""
        i = self.family.number["igniter_element"]
        new = self.furnaces.value(self.family.elements[i].ohms)
        whole = self.furnaces.forced[i] >= 0
        return np.where(whole, (self.over("igniter_element") / 115.0) ** 2 * new / self.furnaces.ohms[i], 0.0)

    def gas_flows(self) -> Flags:
        """Whether the valve passes gas."""
        whole = self.furnaces.forced[self.family.number["valve_coil"]] >= 0
        pulled = (self.over("valve_coil") > self.q("valve_pull_in_volts")) & whole & (self.q("valve_opens") > 0.5)
        was_on = self.ever_lit & (self.q("valve_shuts") < 0.5)
        return np.asarray((pulled | was_on) & (self.q("inlet_pressure") > 0.5))

    def manifold(self) -> Floats:
        """Manifold pressure [in. w.c.]."""
        open_ = np.minimum(self.q("manifold_pressure"), np.maximum(self.q("inlet_pressure") - VALVE_DROP, 0))
        return np.where(self.gas_flows(), open_, 0.0)

    def input_share(self) -> Floats:
        """Burner input as a share of rated; flow goes as the root of pressure (orifice equation)."""
        return np.sqrt(self.manifold() / RATED_MANIFOLD)

    def polarity(self) -> Floats:
        """How much of the line stands between the board's line pin and the chassis, which the flame signal needs."""
        return np.asarray(np.clip(self.across("board_line", "chassis") / 115.0, 0, 1))

    def flame_current(self) -> Floats:
        """Direct current through the flame [uA]."""
        return np.where(self.flame, self.q("flame_current") * self.q("flame_signal") * self.input_share() * self.polarity(), 0.0)

    def airflow(self) -> Floats:
        """Share of the healthy airflow on the heat speed."""
        open_ = np.minimum(1.0, np.sqrt(self.q("filter_open")) * 1.03)
        return np.asarray(self.blower_speed() * np.minimum(1, self.q("blower_grip") + 0.02) * open_)

    def rise(self) -> Floats:
        """Temperature rise the furnace is heading for [F]: input over airflow (q = 1.08 cfm dT)."""
        with np.errstate(divide="ignore", invalid="ignore"):
            steady = self.q("rated_rise") * self.input_share() / self.airflow()
        return np.minimum(np.nan_to_num(steady, nan=0.0, posinf=1e6), self.q("steady_no_air_rise"))

    # --- time ------------------------------------------------------------------------------

    def _coming(self) -> dict[str, tuple[Floats, Flags]]:
        """What will change by itself if nothing else does: seconds until then, and the state it changes to."""
        made = self.moved["draft_made"]
        enough = self.draft() >= self.q("draft_set_point") * np.where(made, PRESSURE_SWITCH_GAP, 1.0)
        lights = self.gas_flows() & (self.flame | ((self.glow() > GLOW_BRIGHT) & (self.manifold() > LIGHTS_ABOVE)))
        return {
            "draft_made": (np.where(enough != made, np.where(enough, SPIN_UP, 0.5), NEVER), enough),
            "flame": (np.where(lights != self.flame, np.where(lights, LIGHT_UP, 0.0), NEVER), lights),
            "limit_cool": self._limit_coming(),
        }

    def _limit_coming(self) -> tuple[Floats, Flags]:
        cool = self.moved["limit_cool"]
        share = np.minimum(self.q("limit_trips_at") / np.maximum(self.rise(), 1e-6), 0.999999)
        hot = (self.rise() > self.q("limit_trips_at")) & self.flame & (self.step == self.family.steps["heating"])
        seconds = np.where(hot & cool, -self.q("exchanger_seconds") * np.log(1 - share), NEVER)
        return np.where(~cool & ~self.flame, COOL_DOWN, seconds), np.where(cool, ~hot, True)

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
        known = self._inputs()
        target = np.full(self.furnaces.rows, -1)
        for step in np.unique(self.step[rows]):
            here = rows[self.step[rows] == step]
            for leave in self.family.sequence.steps[step].leave:
                holds = np.ones(len(here), bool)
                for condition in leave.if_:
                    name = condition.removeprefix("not ")
                    holds &= known[name][here] ^ condition.startswith("not ")
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
        known["trials spent"] = self.trials >= self.furnaces.chosen("trials")
        return known

    def _enter(self, rows: Rows, steps: NDArray[np.int_]) -> None:
        self.step[rows] = steps
        for step in np.unique(steps):
            here = rows[steps == step]
            entry = self.family.sequence.steps[step]
            self.left[here] = NEVER if entry.lasts is None else self.furnaces.value(entry.lasts)[here]
            if entry.counts == "trials":
                self.trials[here] += 1
            if step in self.order:
                self.furthest[here] = np.maximum(self.furthest[here], self.order.index(step))
            self._drive(here, step)

    def _drive(self, rows: Rows, step: int) -> None:
        entry = self.family.sequence.steps[step]
        for output in self.family.outputs:
            on = np.full(len(rows), output in entry.drives)
            for option, values in entry.drives_when.items():
                for value, outputs in values.items():
                    on |= (self.furnaces.choices[option][rows] == value) & (output in outputs)
            self.moved[output][rows] = on
            self.was_driven[output] = self.was_driven[output].copy()
            self.was_driven[output][rows] |= on

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
        if name == "flame":
            self.flame[due] = state[due]
            self.ever_lit[due] |= state[due]
            key = np.where(state[due], self.times["flame_on"][due], self.times["flame_off"][due])
            first = due[np.isnan(key)]
            self.times["flame_on"][first[state[first]]] = self.clock[first[state[first]]]
            self.times["flame_off"][first[~state[first]]] = self.clock[first[~state[first]]]
            return
        if name == "limit_cool":
            self.limit_trips[due] += ~state[due]
            self._observe(due[~state[due]], observe)
        self.moved[name][due] = state[due]

    def _drop_cycling(self, rows: Rows) -> Rows:
        """Rows that have tripped their limit and come back to a new start have shown all they do."""
        again = (self.limit_trips[rows] > 0) & (self.step[rows] == self.family.steps["inducer_start"])
        self.rested_in[rows[again]] = self.family.steps["chain_open"]
        return np.asarray(rows[~again])

    def _observe(self, rows: Rows, observe: Observer | None) -> None:
        if observe is None:
            return
        for step in np.unique(self.step[rows]):
            observe(self.family.sequence.steps[step].step, rows[self.step[rows] == step])

    def _note_times(self, rows: Rows) -> None:
        now = {
            "inducer_on": self.inducer_running(),
            "draft": self.moved["draft_made"],
            "gas_on": self.moved["gas"],
            "blower_on": self.blower_running() & self.flame,
        }
        for name, happens in now.items():
            first = rows[happens[rows] & np.isnan(self.times[name][rows])]
            self.times[name][first] = self.clock[first]

    def run(self, observe: Observer | None = None, *, most: int = MOST_TICKS) -> None:
        """Tick until every row rests, or *most* ticks."""
        rows = self.rows
        for _ in range(most):
            if not len(rows):
                return
            rows = self.tick(rows, observe)
        self.rested_in[rows] = self.step[rows]


def _slip(strength: Floats) -> Floats:
    """Slip at which torque meets load: strength * s = (1 - s)^2, a fan's load against a small-slip motor."""
    b = 2 + strength
    return np.asarray((b - np.sqrt(b * b - 4)) / 2)
