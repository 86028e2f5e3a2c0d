"""Running virtual furnaces: the control's sequence and the physics, side by side.

A tick solves the network, lets fuses, motors and heaters follow at once, then either takes a step of the
control's program or advances the clock to the next thing that happens (draft made, flame lit, limit open, step
over), whichever is first in each row. What the machines stand on and their figures are the family's (rules/furnaces).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from copy import copy
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from furnace_diag.furnace import formulas
from furnace_diag.furnace.network import OPEN, Complex
from furnace_diag.furnace.virtual import Flags, Floats, Later, VirtualFurnaces, between
from furnace_diag.knowledge.models import Step

Rows = NDArray[np.intp]
Observer = Callable[[str, Rows], None]

MOST_TICKS = 60  # the longest heat call takes 37; a row that cycles for ever is stopped here
FEW = 0.1  # share of the furnaces from which those that still move are run by themselves: a tick costs little less for few of many
NEVER = np.inf
FLAME, AT_ROD, SETS_IN = "flame", "flame at the rod", "a failure sets in"  # among what comes by itself; the others are named by what their contacts follow
NEARLY_ALL = 0.999  # share of a draft that grows without end which is all of it
LEAST_LOAD = 0.05  # share of a fan's load that a motor turning idle still has, judgement


class Operation:
    """Furnaces being run. *rows* are those that move; `blown` says whose fuse is found blown.

    After a run: `rested_in` and `furthest` give the step each row ended in and the last step of a good call it
    reached; `times` the seconds of what happened.
    """

    def __init__(self, furnaces: VirtualFurnaces, rows: Rows | None = None, *, blown: Flags | None = None) -> None:
        self.furnaces, self.family = furnaces, furnaces.family
        self.machines = self.family.machines
        self.rows = np.arange(furnaces.rows) if rows is None else rows
        count = furnaces.rows
        self.volts: Complex = np.zeros((self.family.network.size, count), np.complex128)
        self.blown = np.zeros(count, bool) if blown is None else blown.copy()
        self.fuse = next((i for i, e in enumerate(self.family.elements) if e.fuse_amps), None)
        self.later: Later | None = None
        self.yet_to_set_in = np.zeros(count, bool)
        self.known: dict[str, Flags] = {}  # what the control senses, as of the last time things settled
        self.reset()

    def reset(self) -> None:
        """Power off and on: everything at rest, no call. A blown fuse stays blown."""
        count = self.furnaces.rows
        self.moved: dict[str, Flags] = {name: np.full(count, rest) for name, rest in self.family.at_rest.items()}
        self.hot = np.zeros(count, bool)
        self.flame, self.at_rod = np.zeros(count, bool), np.zeros(count, bool)
        self.rod_due = np.full(count, NEVER)  # when, by the clock, the flame will have spread to the rod
        self.slip = {core: np.ones(count) for core in self.family.rotors}
        self.step = np.full(count, self.family.steps[self.family.sequence.starts_at])
        self.entered = np.full((len(self.family.steps), count), np.nan)  # when each step last began, by the clock
        self.clock, self.left = np.zeros(count), np.full(count, NEVER)
        self.counts = {s.counts: np.zeros(count, int) for s in self.family.sequence.steps if s.counts}
        self.limit_trips = np.zeros(count, int)
        self.furthest, self.rested_in = np.zeros(count, int), self.step.copy()
        self.times = {name: np.full(count, np.nan) for name in ("inducer_on", "draft", "gas_on", "flame_on", "flame_off", "blower_on", "blower_after_trip")}
        self.ever_lit = np.zeros(count, bool)
        self.gas_at, self.lit_at = np.full(count, np.nan), np.full(count, np.nan)  # when the gas last came on, and last lit, by the clock
        self.gas_was_on = np.zeros(count, bool)

    def put(self, furnaces: VirtualFurnaces) -> None:
        """Go on with other furnaces of the same shape: something was changed on them, or a failure came or went."""
        self.furnaces = furnaces
        self.__dict__.pop("_auxiliary_admittance", None)

    def let_set_in(self, look_again: Callable[[Rows], None]) -> None:
        """From now on let the failures set in that come during a heat call; *look_again* hears of furnaces whose steps count anew once one has."""
        self.later, self.look_again = self.furnaces.later, look_again
        if self.later is not None:
            self.yet_to_set_in[self.later.rows] = True
            self.put(self.furnaces.apart())

    def let_go_away(self, without: VirtualFurnaces) -> None:
        """The heat call is over: what set in is gone again, but where it stays. *without*: the furnaces as they were."""
        if self.later is not None:
            rows = self.later.rows[~self.later.stays]
            self._become(rows, without, rows)
            self.later = None

    def let_trip(self, call: str) -> None:
        """Let the failures be there whose load comes on in a *call* other than for heat."""
        later = self.furnaces.later
        if later is not None and (places := np.flatnonzero(later.trips_in[call])).size:
            self.put(self.furnaces.apart())
            self._become(later.rows[places], later.ill, places)

    def _become(self, rows: Rows, other: VirtualFurnaces, places: Rows) -> None:
        self.furnaces.become(rows, other, places)
        self.__dict__.pop("_auxiliary_admittance", None)

    def twin(self) -> Operation:
        """The same furnaces at the same moment, to be run on apart from these."""
        return self._with(lambda values: values.copy())

    def of(self, rows: Rows) -> Operation:
        """Some of the furnaces by themselves, at the same moment."""
        other = self._with(lambda values: values[..., rows])
        other.furnaces, other.rows = self.furnaces.of(rows), np.arange(len(rows))
        return other

    def take(self, other: Operation, rows: Rows, places: Rows) -> None:
        """Let *rows* stand as the furnaces at *places* do in *other*."""
        for name, value in vars(other).items():
            mine = getattr(self, name, None)
            if isinstance(value, np.ndarray) and name not in ("rows", "_auxiliary_admittance"):
                getattr(self, name)[..., rows] = value[..., places]
            elif isinstance(value, dict) and isinstance(mine, dict):
                for key, each in value.items():
                    mine.setdefault(key, np.zeros(self.furnaces.rows, each.dtype))[rows] = each[places]

    def _with(self, made: Callable[[NDArray[Any]], NDArray[Any]]) -> Operation:
        other = copy(self)
        other.__dict__.pop("_auxiliary_admittance", None)
        for name, value in vars(other).items():
            if isinstance(value, np.ndarray) and name != "rows":
                setattr(other, name, made(value))
            elif isinstance(value, dict):
                setattr(other, name, {key: made(each) for key, each in value.items()})
        return other

    def call(self, closes: Iterable[str]) -> None:
        """Close what a call closes (see the sequence's calls) in the rows that move."""
        for name in closes:
            self.moved[name][self.rows] = True

    def open(self, closes: Iterable[str]) -> None:
        """Open again what a call closed, in the rows that move."""
        for name in closes:
            self.moved[name][self.rows] = False

    # --- electricity -----------------------------------------------------------------------

    def factored(self, rows: Rows) -> tuple[Complex, Complex]:
        """The eliminated network of *rows* and the source currents into it."""
        y = self._admittance(rows)
        entries = self.family.network.matrix(y, self.furnaces.coupling(self.slip, rows), self.furnaces.turns[:, rows])
        return self.family.network.factor(entries), self.furnaces.currents(y, rows)

    def conducting(self, rows: Rows) -> Complex:
        """Admittance of each element of *rows* as it stands [S], shape (elements, len(rows))."""
        return self._admittance(rows)

    def _admittance(self, rows: Rows) -> Complex:
        y = self.furnaces.admittance(self.moved, {self.machines.igniter.element: self.hot}, rows)
        if self.fuse is not None:
            y[self.fuse] = np.where(self.blown[rows], OPEN, y[self.fuse])
        return y

    def solve(self, rows: Rows) -> None:
        """Node voltages of *rows* as things stand."""
        factored, into = self.factored(rows)
        self.volts[:, rows] = self.family.network.solve(factored, into[:, None, :])[:, 0]

    def across(self, first: str, second: str) -> Floats:
        """Volts between two nodes [V rms], shape (rows,)."""
        return np.abs(between(self.volts, self.family.network.index, (first, second)))

    def over(self, element: str) -> Floats:
        """Volts across an element [V rms], shape (rows,)."""
        return np.abs(self._voltage(element))

    def _voltage(self, element: str) -> Complex:
        ends = self.family.elements[self.family.number[element]].between
        assert ends is not None
        return between(self.volts, self.family.network.index, ends)

    def amps(self, element: str) -> Floats:
        """Current through an element that is wound on no core [A rms], shape (rows,)."""
        i = self.family.number[element]
        y = self._admittance(np.arange(self.furnaces.rows))[i]
        return np.asarray(np.abs(self._voltage(element) - self.furnaces.volts[i]) * np.abs(y))

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
        strength = (self.turn_volts() / m.rated_main_volts.value) ** 2 * m.pull_out_times_load.value
        load = np.maximum(self.q(m.grip), LEAST_LOAD) * self.q(m.drag)
        return {
            inducer: np.where(self.inducer_running(), self.family.rotors[inducer].slip, 1.0),
            blower: np.where(self.blower_running(), _slip(strength / load), 1.0),
        }

    # --- the parts that move ---------------------------------------------------------------

    def broken(self, element: str) -> Flags:
        """Whether an element is open by a fault, or a fuse that has blown; shape (rows,)."""
        i = self.family.number[element]
        broken = self.furnaces.forced[i] < 0
        return np.asarray(broken | self.blown if i == self.fuse else broken)

    def closed(self, contact: str) -> Flags:
        """Whether a contact is closed, shape (rows,)."""
        i = self.family.number[contact]
        e, forced = self.family.elements[i], self.furnaces.forced[i]
        rests = np.full(self.furnaces.rows, e.normally == "closed")
        return np.where(forced == 0, self.moved[e.follows] if e.follows else rests, forced > 0)

    def whole(self, element: str) -> Flags:
        """Whether an element is neither broken nor shorted, so that it can do its work; shape (rows,)."""
        i = self.family.number[element]
        return np.asarray((self.furnaces.forced[i] >= 0) & ~self.furnaces.shorted[i])

    def inducer_running(self) -> Flags:
        """Whether the inducer turns."""
        m = self.machines.inducer
        return np.asarray((self.over(m.winding) > m.stalls_below_volts.value) & self.whole(m.winding) & (self.q(m.turns) > 0.5))

    def inducer_humming(self) -> Flags:
        """Whether the inducer is energised and stands still."""
        m = self.machines.inducer
        return np.asarray((self.over(m.winding) > m.hums_above_volts.value) & self.whole(m.winding) & ~self.inducer_running())

    def inducer_speed(self) -> Floats:
        """Share of rated speed."""
        m = self.machines.inducer
        share = np.minimum(1.0, np.sqrt(self.over(m.winding) / self.q(m.full_volts)))
        return np.where(self.inducer_running(), share * self.q(m.speed), 0.0)

    def inducer_slow(self) -> Flags:
        """Whether the inducer turns so slowly that it is noticed."""
        return np.asarray(self.inducer_running() & (self.inducer_wheel() < self.machines.inducer.slow_below_share.value))

    def inducer_wheel(self) -> Floats:
        """Share of rated speed at which its wheel turns."""
        return np.asarray(self.inducer_speed() * self.q(self.machines.inducer.grip))

    def turn_volts(self) -> Floats:
        """Volts across the main winding of the blower, which counts as one turn."""
        return self.over(self.machines.blower.main)

    def helping_amps(self) -> Floats:
        """Current in the blower's auxiliary winding that leads the main winding's volts by a quarter turn [A].

        Only that pushes: a current in step with the main winding's makes no field that turns. A run capacitor makes
        nearly all of it lead, a shorted one none.
        """
        m = self.machines.blower
        main = self._voltage(m.main)
        turned = self._voltage(m.auxiliary) * np.conj(main) * self._auxiliary_admittance
        return np.maximum(np.imag(turned) / np.maximum(np.abs(main), 1e-9), 0.0)

    def help_per_microfarad(self) -> Floats:
        """The same for each microfarad that the motor was made for [A/uF]: of a larger capacitor more current is wanted."""
        return self.helping_amps() / self.q(self.machines.blower.marked_microfarads)

    @cached_property
    def _auxiliary_admittance(self) -> Complex:
        """Of the auxiliary winding alone, in the sense in which the main winding is counted [S], shape (rows,); 0 if broken."""
        f, m = self.furnaces, self.machines.blower
        auxiliary, main = (self.family.number[name] for name in (m.auxiliary, m.main))
        ends = [self.family.elements[i].between or ("", "") for i in (auxiliary, main)]
        sense = 1 if ends[0][0] == ends[1][0] or ends[0][1] == ends[1][1] else -1
        return np.where(f.forced[auxiliary] < 0, 0, sense / (f.ohms[auxiliary] + 1j * f.reactance[auxiliary]))

    def blower_energised(self) -> Flags:
        """Whether there is voltage on the blower's winding, turning or not."""
        return self.turn_volts() > self.machines.blower.energised_above_volts.value

    def blower_drawing(self) -> Flags:
        """Whether the blower draws current, turning or not."""
        m = self.machines.blower
        return np.asarray(self.amps(m.carries_all) > m.draws_above_amps.value)

    def blower_running(self, *, spun: bool = False) -> Flags:
        """Whether the blower turns; *spun* by hand it needs no help from its auxiliary winding."""
        m = self.machines.blower
        pushed = np.full(self.furnaces.rows, True) if spun else self.help_per_microfarad() > m.starts_above_amps_per_microfarad.value
        fed = (self.turn_volts() > m.stalls_below_volts.value) & self.whole(m.main)
        return np.asarray(fed & pushed & (self.q(m.turns) > 0.5))

    def blower_straining(self) -> Flags:
        """Whether the blower turns with too little help from its auxiliary winding: slowly, and getting hot."""
        return np.asarray(self.blower_running() & (self.help_per_microfarad() < self.machines.blower.full_strength_above_amps_per_microfarad.value))

    def blower_slow(self) -> Flags:
        """Whether the blower turns so slowly that it is noticed, for want of help or for too much load."""
        dragged = self.blower_running() & (self.blower_speed() < self.machines.blower.slow_below_share.value)
        return np.asarray(self.blower_straining() | dragged)

    def blower_speed(self) -> Floats:
        """Share of the healthy heat speed."""
        m = self.machines.blower
        rated = 1 - _slip(np.array([m.pull_out_times_load.value]))[0]
        running = self.blower_running()
        if not running.any():
            return np.zeros(self.furnaces.rows)
        helped = (m.starts_above_amps_per_microfarad.value, m.full_strength_above_amps_per_microfarad.value)
        weak = np.interp(self.help_per_microfarad(), helped, (m.weak_speed_share.value, 1.0))
        return np.where(running, (1 - self.slip[self.family.core_of(m.main)]) / rated * weak, 0.0)

    # --- draft, gas, flame, air ------------------------------------------------------------

    def q(self, name: str) -> Floats:
        """A quantity of the furnaces, shape (rows,)."""
        return self.furnaces.quantities[name]

    def draft(self) -> Floats:
        """Draft at the pressure switch [in. w.c.]: what the inducer makes, less what vent, hose and port keep back."""
        m = self.machines.pressure_switch
        draft = formulas.fan_pressure(self.q(m.draft), self.inducer_wheel())
        for share in m.passes:
            draft = draft * self.q(share)
        return np.asarray(draft)

    def glow(self) -> Floats:
        """Watts of the igniter as a share of a new one's at its rated volts."""
        m = self.machines.igniter
        i = self.family.number[m.element]
        new = self.furnaces.value(self.family.elements[i].ohms)
        return np.where(self.whole(m.element), (self.over(m.element) / m.rated_volts.value) ** 2 * new / self.furnaces.ohms[i], 0.0)

    def valve_pulled_in(self) -> Flags:
        """Whether the valve's coil has moved it."""
        m = self.machines.valve
        return np.asarray((self.over(m.coil) > self.q(m.pull_in_volts)) & self.whole(m.coil) & (self.q(m.opens) > 0.5))

    def gas_flows(self) -> Flags:
        """Whether the valve passes gas."""
        m = self.machines.valve
        was_on = self.ever_lit & (self.q(m.shuts) < 0.5)
        return np.asarray((self.valve_pulled_in() | was_on) & (self.q(m.inlet) > m.passes_above_inches.value))

    def inlet(self) -> Floats:
        """Gas pressure at the valve's inlet [in. w.c.]."""
        m = self.machines.valve
        return np.where(self.gas_flows(), self.q(m.inlet) * m.inlet_left_under_flow_share.value, self.q(m.inlet))

    def manifold(self) -> Floats:
        """Manifold pressure [in. w.c.]."""
        m = self.machines.valve
        open_ = np.minimum(self.q(m.manifold), np.maximum(self.q(m.inlet) - m.valve_drop_inches.value, 0))
        return np.where(self.gas_flows(), open_, 0.0)

    def input_share(self) -> Floats:
        """Burner input as a share of rated."""
        return formulas.input_fraction(self.manifold(), self.q(self.machines.valve.rated_manifold))

    def polarity(self) -> Floats:
        """How much of the line stands between the control's line pin and the metal that the flame signal returns by."""
        m = self.machines.flame
        return np.asarray(np.clip(self.across(m.fed_from, m.returns_to) / m.rated_volts.value, 0, 1))

    def flame_current(self) -> Floats:
        """Direct current through the flame [uA]."""
        m = self.machines.flame
        return np.where(self.at_rod, self.q(m.current) * self.q(m.signal) * self.input_share() * self.polarity(), 0.0)

    def airflow(self) -> Floats:
        """Share of the healthy airflow on the heat speed."""
        wheel = self.blower_speed() * self.q(self.machines.blower.grip)
        return np.asarray(wheel * formulas.fan_flow(self._passages(), self.machines.air.shut_off_static_times.value))

    def _passages(self) -> Floats:
        """Share of filter and ducts that is open."""
        return np.asarray(np.prod([self.q(share) for share in self.machines.air.passes], axis=0))

    def static(self) -> Floats:
        """Pressure across the blower [in. w.c.]; the loss of filter and ducts grows with the flow through what is open of them."""
        return formulas.fan_pressure(self.q(self.machines.air.static), self.airflow() / np.maximum(self._passages(), 0.05))

    def rise(self) -> Floats:
        """Temperature rise the furnace is heading for [F]: its share of the input over its share of the airflow."""
        m = self.machines.air
        heat, air = self.q(m.rated_rise) * self.input_share(), self.airflow()
        steady = np.where(air > 0, formulas.temperature_rise(heat, air, factor=1.0), np.where(heat > 0, np.inf, 0.0))
        return np.minimum(steady, self.q(m.rise_without_air))

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
        """Seconds until a failure sets in that has its time in this call."""
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
        times = self.q(entry.lasts_times)[rows] if entry.lasts_times else 1.0
        return np.asarray(np.maximum(lasts * times - np.nan_to_num(gone), 0))

    def _drive(self, rows: Rows, step: int) -> None:
        entry = self.family.sequence.steps[step]
        for output in self.family.outputs:
            if output in self.family.sequence.accessories:
                continue
            on = np.full(len(rows), output in entry.drives)
            for option, values in entry.drives_when.items():
                for value, outputs in values.items():
                    on |= (self.furnaces.choices[option][rows] == value) & (output in outputs)
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
            "draft": self._draft_switched(),
            "gas_on": self.moved[self.machines.valve.driven_by],
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


def _slip(strength: Floats) -> Floats:
    """Slip at which torque meets load: strength * s = (1 - s)^2, a fan's load against a small-slip motor."""
    b = 2 + strength
    return np.asarray((b - np.sqrt(b * b - 4)) / 2)
