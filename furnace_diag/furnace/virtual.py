"""Virtual furnaces: one family, many furnaces at once, each with its own numbers, options and failures.

Arrays have the furnaces ("rows") as their last axis. A furnace to play with is simply one row.
"""

from __future__ import annotations

from collections.abc import Mapping
from collections.abc import Sequence as Rows
from copy import copy
from dataclasses import dataclass, fields, replace
from functools import cached_property
from typing import TypeVar, cast

import numpy as np
from numpy.typing import NDArray

from furnace_diag.furnace.family import Choices, Family, Fault, Numbers, drawn, effects_on, from_mildest, luck
from furnace_diag.furnace.network import METER_OHMS, OMEGA, OPEN, Complex, Network
from furnace_diag.furnace.same import Marks, Solutions, marked
from furnace_diag.knowledge.models import Effect

Flags = NDArray[np.bool_]
Floats = NDArray[np.float64]
Number = TypeVar("Number", bound=np.generic)
BROKEN = 1e10  # ohms of an open winding or wire
LATELY = 6  # solved networks that are kept, for each furnace: of so few most that will be asked for again are there, measured
CLOSED_BRIDGE = 0.02  # ohms of two metals touching, judgement


@dataclass(frozen=True)
class Later:
    """Failures that set in during a heat call: until then their furnaces are without them.

    *rows*: the furnaces; *ill*: the same with their failure; *step*, *seconds*: of each the number of the step at which it sets in, and how long
    after that began [s]; *read_before*: somebody has taken the readings of that step before it does, and of the others is told what comes after;
    *stays*: it is still there when the call is over; *trips*: it takes the supply away. Shape (len(rows),) each.
    *trips_in*: of each other call, by its step, those that do so in it too.
    """

    rows: NDArray[np.intp]
    ill: VirtualFurnaces
    step: NDArray[np.intp]
    seconds: Floats
    read_before: Flags
    stays: Flags
    trips: Flags
    trips_in: dict[str, Flags]

    def without(self, which: Flags) -> Later:
        """The same but for some of them."""
        left = np.flatnonzero(~which)
        mine = {f.name: value[left] for f in fields(self) if isinstance(value := getattr(self, f.name), np.ndarray)}
        return replace(self, **mine, ill=self.ill.of(left), trips_in={call: does[left] for call, does in self.trips_in.items()})

    def among(self, rows: NDArray[np.intp]) -> Later | None:
        """The same of some of the furnaces by themselves, *rows* in their order; None where none of them is among these."""
        mine = self.without(~np.isin(self.rows, rows))
        return replace(mine, rows=np.searchsorted(rows, mine.rows)) if len(mine.rows) else None


class VirtualFurnaces:
    """Furnaces of one family, built with faults; knows what their network is, not what runs.

    *numbers* and *choices* have shape (rows,). *faults* lists (rows, fault): each failure is given to those rows,
    with a severity drawn for each, or the one that *severity* says, from 0 for the mildest to 1 for the worst. `later` are the failures that
    set in during a heat call, for whoever runs the furnaces so (see `Operation.let_set_in`).
    """

    later: Later | None = None

    def __init__(
        self,
        family: Family,
        numbers: Numbers,
        choices: Choices,
        faults: Rows[tuple[slice, Fault]] = (),
        *,
        seed: int = 0,
        severity: Mapping[Fault, float] | None = None,
    ) -> None:
        self.family = family
        self.choices = choices
        self._chosen: dict[str, Floats] = {}
        self.rows = len(next(iter(numbers.values())))
        self.quantities = {name: np.array(values, dtype=float) for name, values in numbers.items()}
        self.senses: dict[str, NDArray[np.int8]] = {}
        failures = [(rows, family.failure(fault), (severity or {}).get(fault, luck(seed, str(fault)))) for rows, fault in faults]
        for rows, failure, random in failures:
            for effect in effects_on(failure, "quantity"):
                self._change_quantity(cast(str, effect.quantity), rows, effect, random)
        self.solutions = Solutions(family.network.size, LATELY * self.rows)  # shared with all that are copied from these
        self._lay_out()
        for rows, failure, random in failures:
            for effect in effects_on(failure, "element"):
                self._change_element(family.number[cast(str, effect.element)], rows, effect, random)
            for effect in effects_on(failure, "input"):
                self.senses.setdefault(cast(str, effect.input), np.zeros(self.rows, np.int8))[rows] = 1 if effect.is_ == "on" else -1

    # --- building --------------------------------------------------------------------------

    def value(self, number: str) -> Floats:
        """A number of a rule file: itself, or what <name> stands for in each row; shape (rows,)."""
        if not number.startswith("<"):
            return np.full(self.rows, float(number))
        name = number[1:-1]
        return self.quantities[name] if name in self.quantities else self.chosen(name)

    def chosen(self, option: str) -> Floats:
        """An option whose values are numbers, shape (rows,)."""
        if option not in self._chosen:
            self._chosen[option] = self.choices[option].astype(float)
        return self._chosen[option]

    def twin(self) -> VirtualFurnaces:
        """The same furnaces, whose broken and whole elements and numbers may be changed apart from these."""
        other = copy(self)
        other.forced = self.forced.copy()
        other.quantities = dict(self.quantities)
        return other

    def apart(self) -> VirtualFurnaces:
        """The same furnaces, any of which may `become` another apart from these."""
        return self.of(np.arange(self.rows))

    def become(self, rows: NDArray[np.intp], other: VirtualFurnaces, places: NDArray[np.intp]) -> None:
        """Let *rows* be what *other* has at *places*: furnaces of the same numbers and options with other failures."""
        for name, value in vars(other).items():
            if isinstance(value, np.ndarray):
                getattr(self, name)[..., rows] = value[..., places]
        for name, values in other.quantities.items():
            self.quantities[name][rows] = values[places]
        for name in {*self.senses, *other.senses}:
            mine = self.senses.setdefault(name, np.zeros(self.rows, np.int8))
            mine[rows] = other.senses[name][places] if name in other.senses else 0
        if "_at_rest" in vars(self):
            for table, new in zip(self._at_rest, other._at_rest, strict=True):
                table[..., rows] = new[..., places]

    def of(self, rows: NDArray[np.intp]) -> VirtualFurnaces:
        """Some of the furnaces by themselves, without what sets in later."""
        other = copy(self)
        other.rows, other._chosen, other.later = len(rows), {}, None
        for name, value in vars(self).items():
            if isinstance(value, np.ndarray):
                setattr(other, name, value.take(rows, axis=-1))
            elif name in ("quantities", "choices", "senses", "core_sizes"):
                setattr(other, name, {key: each[rows] for key, each in value.items()})
        if "_at_rest" in vars(self):
            table, of_branches, of_rest = self._at_rest
            other._at_rest = (table.take(rows, axis=1), of_branches.take(rows, axis=1), of_rest[rows])
        return other

    def _lay_out(self) -> None:
        elements = self.family.elements
        shape = (len(elements), self.rows)
        self.ohms, self.reactance, self.volts = np.zeros(shape), np.zeros(shape), np.zeros(shape)
        self.turns, self.hot_times = np.ones(shape), np.ones(shape)
        self.microfarads = np.zeros(shape)
        self.core_sizes = {name: self.value(core.size) for name, core in self.family.wiring.cores.items()}
        self.unseen = np.zeros(shape)  # of the ohms those that an ohmmeter does not see
        self.shorted = np.zeros(shape, bool)  # a capacitor or winding that is only ohms now
        self.present, self.forced = np.ones(shape, bool), np.zeros(shape, np.int8)
        for i, e in enumerate(elements):
            size = self.value(e.size)
            self.ohms[i] = self.value(e.ohms) / size
            self.reactance[i] = (e.reactance + e.leakage) / size
            self.volts[i] = self.value(e.volts)
            self.turns[i] = self.value(e.turns)
            self.hot_times[i] = self.value(e.hot_times)
            self.microfarads[i] = self.value(e.microfarads) + e.picofarads * 1e-6
            for option, wanted in e.only_when.items():
                self.present[i] &= self.choices[option] == wanted
            if e.kind == "bridge":
                self.forced[i] = -1

    def _change_quantity(self, name: str, rows: slice, effect: Effect, random: np.random.Generator | float) -> None:
        is_, times = effect.is_, effect.times
        values = self.quantities[name]
        if is_ is not None:
            values[rows] = BROKEN if is_ == "open" else float(is_)
        elif times is not None:
            values[rows] *= _drawn(effect, len(values[rows]), random)

    def _change_element(self, number: int, rows: slice, effect: Effect, random: np.random.Generator | float) -> None:
        is_, ohms, adds, times = effect.is_, effect.ohms, effect.adds_ohms, effect.times
        kind = self.family.elements[number].kind
        count = len(self.ohms[number][rows])
        if is_ == "open":
            self.forced[number, rows] = -1
        elif is_ == "closed":
            self.forced[number, rows] = 1
            if kind == "bridge":
                self.ohms[number, rows] = CLOSED_BRIDGE
        elif ohms is not None:
            self.forced[number, rows] = 1
            self.ohms[number, rows] = _drawn(effect, count, random)
            self.reactance[number, rows] = 0
            self.shorted[number, rows] = True
            if kind == "coil":
                self.turns[number, rows] = 0
        elif adds is not None:
            added = _drawn(effect, count, random)
            self.ohms[number, rows] += added
            self.unseen[number, rows] += np.where(dealt_out(effect.reads_good_share, np.arange(count)), added, 0)
        elif times is not None and kind in ("capacitor", "stray"):
            self.microfarads[number, rows] *= _drawn(effect, count, random)
        elif times is not None:
            self.ohms[number, rows] *= _drawn(effect, count, random)

    # --- the network -----------------------------------------------------------------------

    @cached_property
    def _at_rest(self) -> tuple[Complex, Marks, Marks]:
        """Of each branch the admittance when closed [S], OPEN where it is not there, and what it is known by, shape (branches, rows).

        Then what the rest of a network is known by, shape (rows,).
        """
        table = np.empty(self.ohms.shape, dtype=np.complex128)
        of_branches, of_rest = np.empty(self.ohms.shape, np.uint64), np.zeros(self.rows, np.uint64)
        for i, e in enumerate(self.family.elements):
            if e.kind in ("capacitor", "stray"):
                charging = 1 / (self.ohms[i] * (e.kind == "capacitor") - 1j / (OMEGA * self.microfarads[i] * 1e-6))
                table[i] = np.where(self.shorted[i], 1 / self.ohms[i], charging)
            else:
                table[i] = 1 / (self.ohms[i] + 1j * self.reactance[i])
            table[i, ~self.present[i]] = OPEN
            of_branches[i] = marked(i, table[i].real, table[i].imag)
            of_rest += marked(i, self.volts[i], self.turns[i], self.hot_times[i])
        return table, of_branches, of_rest + marked(len(table), *self.core_sizes.values())

    def closed(self, moved: dict[str, Flags], rows: NDArray[np.intp], branches: Rows[int]) -> Flags:
        """Which of *branches* conduct in *rows*, shape (len(branches), len(rows)). *moved*: what is closed among the things that contacts follow."""
        state = np.repeat(self.family.rests_closed[branches, None], len(rows), axis=1)
        for i, what in self.family.followed.items():
            if what in moved and i in branches:
                state[branches.index(i)] = moved[what][rows]
        return np.asarray(state + _at(self.forced, branches, rows) > 0)

    def known_by(self, closed: Flags, rows: NDArray[np.intp]) -> Marks:
        """What the network of each of *rows* is known by, with these branches *closed*; shape (len(rows),)."""
        _, of_branches, of_rest = self._at_rest
        return np.asarray(of_rest[rows] + of_branches.take(rows, axis=1).sum(axis=0, where=closed))

    def admittance(self, closed: Flags, hot: dict[str, Flags], rows: NDArray[np.intp], branches: Rows[int]) -> Complex:
        """Of each of *branches* in *rows* [S], shape (len(branches), len(rows)). *closed*: which of them conduct; *hot*: heaters that glow."""
        table = _at(self._at_rest[0], branches, rows)
        for element, glows in hot.items():
            i = self.family.number[element]
            if i in branches:
                place = branches.index(i)
                table[place] = np.where(glows[rows], table[place] / self.hot_times[i, rows], table[place])
        table[~closed] = OPEN
        return table

    def coupling(self, slip: dict[str, Floats], rows: NDArray[np.intp]) -> list[Complex]:
        """Impedance of one turn of each core [ohm], shape (len(rows),): magnetising, iron loss and rotor side by side."""
        shared: list[Complex] = []
        for name, core in self.family.wiring.cores.items():
            y = np.full(len(rows), 1 / (1j * core.reactance), np.complex128)
            if core.core_ohms:
                y = y + 1 / core.core_ohms
            if name in self.family.rotors:
                y = y + slip[name][rows] / self.family.rotors[name].stalled_ohms
            shared.append(np.asarray(1 / (y * self.core_sizes[name][rows]), np.complex128))
        return shared

    def currents(self, admittance: Complex, rows: NDArray[np.intp]) -> Complex:
        """Currents that the sources drive into the nodes [A], shape (nodes, len(rows))."""
        index = self.family.network.index
        into = np.zeros((self.family.network.size, admittance.shape[1]), dtype=np.complex128)
        for i, ends in self.family.sources:
            flow = self.volts[i, rows] * admittance[i]
            for node, sign in zip(ends, (1, -1), strict=True):
                if node in index:
                    into[index[node]] += sign * flow
        return into


def dealt_out(share: float | Floats, turn: NDArray[np.intp]) -> Flags:
    """Which furnaces have what a *share* of them has: dealt out evenly by their *turn*, which counts from 0, and to the first furnaces already."""
    return np.asarray(np.ceil((turn + 1) * share) > np.ceil(turn * share))


def _drawn(effect: Effect, count: int, random: np.random.Generator | float) -> Floats:
    """What an effect's number is in *count* furnaces: by luck, or at a severity from 0 to 1."""
    bounds = effect.times or effect.ohms or effect.adds_ohms
    assert bounds is not None
    return drawn(from_mildest(effect) if isinstance(random, float) else bounds, count, random)


def _at(table: NDArray[Number], branches: Rows[int], rows: NDArray[np.intp]) -> NDArray[Number]:
    """Some rows of some branches; shape (len(branches), len(rows))."""
    return table.take(rows, axis=1) if len(branches) == len(table) else table[np.array(branches, np.intp)[:, None], rows]


def between(volts: Complex, index: dict[str, int], pair: tuple[str, str]) -> Complex:
    """Voltage from the first node to the second [V]; *volts* has the nodes as its first axis."""
    first, second = (volts[index[node]] if node in index else np.zeros(volts.shape[1:], complex) for node in pair)
    return np.asarray(first - second)


def metered(
    network: Network, factored: Complex, volts: Complex, pair: tuple[str, str], meter: str
) -> Complex:
    """What a meter with its own input resistance makes of a pair of nodes [V], shape (rows,).

    By Thevenin: the source is the open voltage, its impedance what one ampere between the nodes raises.
    """
    index = network.index
    into = np.zeros((len(index), 1, volts.shape[1]), dtype=np.complex128)
    for node, sign in zip(pair, (1, -1), strict=True):
        if node in index:
            into[index[node]] += sign
    raised = network.solve(factored, into)[:, 0]
    return loaded(between(volts, index, pair), between(raised, index, pair), meter)


def loaded(open_volts: Complex, source_ohms: Complex, meter: str) -> Complex:
    """What is left of an open voltage [V] behind an impedance [ohm] once a meter ("high", "low") is put on it."""
    ohms = METER_OHMS[meter]
    return np.asarray(open_volts * ohms / (ohms + source_ohms))
