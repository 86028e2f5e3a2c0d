"""Furnaces as they stand at one moment: their voltages, and what turns, glows, passes gas and burns at them.

Whatever is asked here changes nothing, but for `solve`, which finds the voltages. `operate.py` lets time go by. What the machines stand on and
their figures are the family's (rules/furnaces).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from copy import copy
from functools import cached_property
from typing import Any, Self

import numpy as np
from numpy.typing import NDArray

from furnace_diag.furnace import formulas
from furnace_diag.furnace.network import Complex
from furnace_diag.furnace.same import Marks, each_once, marked
from furnace_diag.furnace.virtual import Flags, Floats, VirtualFurnaces, between

Rows = NDArray[np.intp]

AT_ONCE = 384  # networks solved together: more outgrow the processor's own memory, fewer cost more in being called than in reckoning, measured


class Moment:
    """Furnaces at one moment. *rows* are those that move; `blown` says whose fuse is found blown.

    `moved` says of each output, call and machine that contacts follow whether it is on; `slip` of each motor's core how far its rotor lags (1 stands still).
    """

    def __init__(self, furnaces: VirtualFurnaces, rows: Rows | None = None, *, blown: Flags | None = None) -> None:
        self.furnaces, self.family = furnaces, furnaces.family
        self.machines = self.family.machines
        self.rows = np.arange(furnaces.rows) if rows is None else rows
        count = furnaces.rows
        self.volts: Complex = np.zeros((self.family.network.size, count), np.complex128)
        self.solved_as: Marks = np.zeros(count, np.uint64)  # what the network is known by whose `volts` each row has
        self.blown = np.zeros(count, bool) if blown is None else blown.copy()
        self.fuse = next((i for i, e in enumerate(self.family.elements) if e.fuse_amps), None)
        self.reset()

    def reset(self) -> None:
        """Everything at rest, no call. A blown fuse stays blown."""
        count = self.furnaces.rows
        self.moved: dict[str, Flags] = {name: np.full(count, rest) for name, rest in self.family.at_rest.items()}
        self.hot = np.zeros(count, bool)  # of the igniter
        self.flame, self.at_rod = np.zeros(count, bool), np.zeros(count, bool)
        self.ever_lit = np.zeros(count, bool)
        self.slip = {core: np.ones(count) for core in self.family.rotors}

    def put(self, furnaces: VirtualFurnaces) -> None:
        """Go on with other furnaces of the same shape: something was changed on them, or a failure came or went."""
        self.furnaces = furnaces
        self.__dict__.pop("_auxiliary_admittance", None)

    def twin(self) -> Self:
        """The same furnaces at the same moment, to be run on apart from these."""
        return self._with(lambda values: values.copy())

    def of(self, rows: Rows) -> Self:
        """Some of the furnaces by themselves, at the same moment."""
        other = self._with(lambda values: values.take(rows, axis=-1))
        other.furnaces, other.rows = self.furnaces.of(rows), np.arange(len(rows))
        return other

    def take(self, other: Self, rows: Rows, places: Rows) -> None:
        """Let *rows* stand as the furnaces at *places* do in *other*."""
        for name, value in vars(other).items():
            mine = getattr(self, name, None)
            if isinstance(value, np.ndarray) and name not in ("rows", "_auxiliary_admittance"):
                getattr(self, name)[..., rows] = value[..., places]
            elif isinstance(value, dict) and isinstance(mine, dict):
                for key, each in value.items():
                    mine.setdefault(key, np.zeros(self.furnaces.rows, each.dtype))[rows] = each[places]

    def _with(self, made: Callable[[NDArray[Any]], NDArray[Any]]) -> Self:
        other = copy(self)
        other.__dict__.pop("_auxiliary_admittance", None)
        for name, value in vars(other).items():
            if isinstance(value, np.ndarray) and name != "rows":
                setattr(other, name, made(value))
            elif isinstance(value, dict):
                setattr(other, name, {key: made(each) for key, each in value.items()})
        return other

    # --- electricity -----------------------------------------------------------------------

    def factored(self, rows: Rows) -> tuple[Complex, Complex]:
        """The eliminated network of *rows* and the source currents into it."""
        y = self.conducting(rows)
        entries = self.family.network.matrix(y, self.furnaces.coupling(self.slip, rows), self.furnaces.turns.take(rows, axis=1))
        return self.family.network.factor(entries), self.furnaces.currents(y, rows)

    def driven(self, factored: Complex, into: Complex) -> Complex:
        """Node voltages that the sources' currents drive [V], shape (nodes, rows); *into* is overwritten."""
        return self.family.network.solve(factored, into[:, None, :], self.family.fed)[:, 0]

    def conducting(self, rows: Rows, elements: Sequence[int] | None = None) -> Complex:
        """Admittance of each element of *rows* as it stands [S], or of some *elements* by their numbers; shape (elements, len(rows))."""
        which = self.family.every_element if elements is None else elements
        return self.furnaces.admittance(self._closed(rows, which), {self.machines.igniter.element: self.hot}, rows, which)

    def _closed(self, rows: Rows, elements: Sequence[int]) -> Flags:
        closed = self.furnaces.closed(self.moved, rows, elements)
        if self.fuse is not None and self.fuse in elements:
            closed[elements.index(self.fuse)] &= ~self.blown[rows]
        return closed

    def known_by(self, rows: Rows) -> Marks:
        """What the network of each of *rows* is known by as it stands (see `same`), shape (len(rows),)."""
        figures = (self.hot[rows], *(slip[rows] for slip in self.slip.values()))
        return self.furnaces.known_by(self._closed(rows, self.family.every_element), rows) + marked(-1, *figures)

    def unlike(self, rows: Rows) -> tuple[Rows, NDArray[np.intp]]:
        """Of *rows* one for each network as it stands, and for each of *rows* which of those has its network."""
        first, same = each_once(self.known_by(rows))
        return rows[first], same

    def has_solved(self, rows: Rows) -> bool:
        """Whether `volts` is of all *rows* as they stand now."""
        return bool((self.known_by(rows) == self.solved_as[rows]).all())

    def solve(self, rows: Rows) -> None:
        """Node voltages of *rows* as things stand. Networks that are the same are solved once, those that were solved lately not again."""
        marks = self.known_by(rows)
        new = marks != self.solved_as[rows]
        rows, marks = rows[new], marks[new]
        first, same = each_once(marks)
        places = self.furnaces.solutions.places(marks[first])
        kept = places >= 0
        self.volts[:, rows[first[kept]]] = self.furnaces.solutions.volts(places[kept])
        left = first[~kept]
        for start in range(0, len(left), AT_ONCE):
            self._solve(rows[left[start : start + AT_ONCE]], marks[left[start : start + AT_ONCE]])
        if len(first) < len(rows):
            self.volts[:, rows] = self.volts[:, rows[first[same]]]
        self.solved_as[rows] = marks

    def _solve(self, rows: Rows, marks: Marks) -> None:
        factored, into = self.factored(rows)
        volts = self.volts[:, rows] = self.driven(factored, into)
        self.furnaces.solutions.keep(marks, volts)

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
        y = self.conducting(np.arange(self.furnaces.rows), [i])[0]
        return np.asarray(np.abs(self._voltage(element) - self.furnaces.volts[i]) * np.abs(y))

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
        return np.asarray((self.over(m.winding) > self.q(m.stalls_below_volts)) & self.whole(m.winding) & (self.q(m.turns) > 0.5))

    def inducer_humming(self) -> Flags:
        """Whether the inducer is energised and stands still."""
        m = self.machines.inducer
        return np.asarray((self.over(m.winding) > m.hums_above_volts.value) & self.whole(m.winding) & ~self.inducer_running())

    def inducer_follows(self) -> Floats:
        """Share of its own speed to which the volts on the inducer bring it, were it turning: a fan's torque goes with the square of its speed, and the motor's
        with the square of the volts, over a wide range of slip."""
        m = self.machines.inducer
        return np.asarray(np.minimum(1.0, np.sqrt(self.over(m.winding) / self.q(m.full_volts))))

    def inducer_speed(self) -> Floats:
        """Share of rated speed."""
        return np.where(self.inducer_running(), self.inducer_follows() * self.q(self.machines.inducer.speed), 0.0)

    def inducer_slow(self) -> Flags:
        """Whether the inducer turns so slowly that it is noticed, by its sound as much as by sight: a wheel that slips leaves the motor its speed."""
        return np.asarray(self.inducer_running() & (self.inducer_speed() < self.machines.inducer.slow_below_share.value))

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
        rated = 1 - slip_of(np.array([m.pull_out_times_load.value]))[0]
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
        return np.where(self.gas_flows(), self.q(m.inlet) * self.q(m.left_under_flow), self.q(m.inlet))

    def manifold(self) -> Floats:
        """Manifold pressure [in. w.c.]."""
        m = self.machines.valve
        open_ = np.minimum(self.q(m.manifold), np.maximum(self.inlet() - m.valve_drop_inches.value, 0))
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
        blower = self.machines.blower
        wheel = self.blower_speed() * self.q(blower.grip) * self.q(blower.way)
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


def slip_of(strength: Floats) -> Floats:
    """Slip at which torque meets load: strength * s = (1 - s)^2, a fan's load against a small-slip motor."""
    b = 2 + strength
    return np.asarray((b - np.sqrt(b * b - 4)) / 2)
