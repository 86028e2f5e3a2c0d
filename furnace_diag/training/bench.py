"""One furnace to work on, with its faults hidden in it. Nothing here knows any failure: what is read and seen comes from the virtual furnace."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterable, Iterator
from copy import copy
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from furnace_diag.furnace.clock import Clocked
from furnace_diag.furnace.family import Family, Fault, luck, usual_site
from furnace_diag.furnace.network import Complex
from furnace_diag.furnace.observe import ohms_between, reading, run_words, shown
from furnace_diag.furnace.operate import Operation
from furnace_diag.furnace.trying import altered, tried
from furnace_diag.furnace.virtual import VirtualFurnaces, between, loaded
from furnace_diag.knowledge.models import Call, ComesAndGoes, Point, Sign, TakenOff, Trial, Words
from furnace_diag.knowledge.repair_models import Repair
from furnace_diag.knowledge.words import of_whole_call, words_of
from furnace_diag.training.acts import LONGEST_WAIT
from furnace_diag.training.lesson import Hidden, Lesson

ROW = np.array([0])
LIVE_VOLTS = 2.0  # by a low-impedance meter; more of it hurts an ohmmeter or whoever holds it, common practice
HOLDS_CHARGE = 1.0  # microfarads; a smaller capacitor holds nothing that is felt, judgement
FROM_AFAR = ("inducer_motion", "glow", "valve_clicks", "flame", "blower_motion", "air", "light", "light_says")  # see knowledge.words
SHORTEST = 0.05  # seconds by which the clock goes on at least
MOST_CHATTERS = 3  # times in one go that something goes on and off, after which whoever watches knows that it goes on like that
LIFTED = {"lead_lifted": "the lead", "plug_off": "the plug"}  # what a set-up of a record takes off
SMALLEST = 0.005  # of any unit, on a usual meter's display
MOSTLY = 0.7  # how often a sign must be met with a fault to be met on the bench
SETTLES = 5.0  # seconds for which a furnace is left alone after something was changed on it


def furnaces_of(family: Family, lesson: Lesson, there: Iterable[Hidden], *, rows: int = 1, faulty: int = 1) -> VirtualFurnaces:
    """The lesson's furnace, *rows* times; the first *faulty* of them have the faults that are *there*."""
    numbers, choices = usual_site(family.furnace, lesson.report.options)
    numbers |= {name: np.array([value]) for name, value in lesson.site.items()}
    present = list(there)
    return VirtualFurnaces(
        family,
        {name: np.tile(values, rows) for name, values in numbers.items()},
        {name: np.tile(values, rows) for name, values in choices.items()},
        [(slice(0, faulty), h.fault) for h in present],
        severity={h.fault: h.severity for h in present},
    )


def is_there(hidden: Hidden, family: Family, call: int) -> bool:
    """Whether a fault is there in a heat call: in those that the lesson names, or by chance where the rules say that it comes and goes."""
    comes = family.failure(hidden.fault).comes_and_goes
    if hidden.calls is not None:
        return call in hidden.calls
    return comes is None or bool(luck(call, f"call {hidden.fault}").random() < comes.share)


@dataclass(frozen=True)
class Seen:
    """One thing that happened while time went by: seconds by the clock of the visit, and what is seen now."""

    at: float
    sign: str
    value: str


class Bench:
    """A lesson's furnace under somebody's hands."""

    def __init__(self, family: Family, lesson: Lesson) -> None:
        self.family, self.lesson = family, lesson
        self.words: Words = next(iter(family.knowledge.words.values()))
        self.hidden = list(lesson.faults)
        self.lifted: dict[str, TakenOff] = {}
        self.isolated = False
        self.cock_shut = False  # by the trainee
        self.call_number, self.called = 0, None
        self.joined: tuple[str, ...] = ()  # what a wire closes that makes the call, in place of the thermostat
        self.call_at = 0.0
        self._made: dict[frozenset[Fault], VirtualFurnaces] = {}
        self._warm: set[Fault] = set()
        self.put_in_again = lesson.put_in_again  # the breaker, since a short last opened it
        self.worked_since = False  # it stood with power, and did not lose it at once, since a breaker or fuse was put in again
        self.charged = True
        self.chatters = False  # something went on and off without end when time last went by
        self._factored: Complex | None = None  # the eliminated network as it stands, until something changes
        self.operation = Clocked(self._furnaces(), blown=self.blown_before() & ~np.array([lesson.put_in_again]))
        self._stand()
        self.run_on(SETTLES)
        while not self.at_rest() and not self.chatters and self.now < LONGEST_WAIT:  # what goes on with no call does so since long before anybody came
            self.run_on(min(max(self.operation.seconds_to_next(), SETTLES), LONGEST_WAIT))

    called: Call | None

    # --- which faults are there ------------------------------------------------------------

    def _there(self) -> list[Hidden]:
        number = max(self.call_number, 1)
        return [h for h in self.hidden if is_there(h, self.family, number) and (h.fault in self._warm or not self._starts_late(h))]

    def _starts_late(self, hidden: Hidden) -> bool:
        comes = self.family.failure(hidden.fault).comes_and_goes
        return comes is not None and comes.from_step is not None

    def _furnaces(self, *, isolated: bool = False, all_on: bool = False) -> VirtualFurnaces:
        """The furnace with the faults that are there now and what is off it, if not *all_on*; *isolated* with its power switched off.

        A short whose breaker was put in again carries nothing until its load comes on: it is there to be measured with the power off alone.
        """
        there = self._there()
        waiting = [h for h in there if self.waits_for_its_load(h)]
        there = there if isolated else [h for h in there if h not in waiting]
        key, inlet = frozenset(h.fault for h in there), self.family.machines.valve.inlet
        if key not in self._made:
            self._made[key] = furnaces_of(self.family, self.lesson, there)
        off = [] if all_on else [e for taken in self.lifted.values() for e in taken.opens]
        furnaces = altered(self._made[key], [*off, str(self.family.wiring.isolator)] if isolated else off)
        if isolated and waiting:
            furnaces.forced[[self.family.number[e] for e in self.breakers]] = 0
        if self.cock_shut:
            furnaces.quantities[inlet] = np.zeros(furnaces.rows)
        return furnaces

    def blown_before(self) -> NDArray[np.bool_]:
        """Whether a sound fuse would blow at rest or in one of the calls, as the furnace is: so it was before anybody came; shape (1,)."""
        calls = [(), *(call.closes for call in self.calls)]
        furnaces = furnaces_of(self.family, self.lesson, self._there(), rows=len(calls), faulty=len(calls))
        before = Operation(furnaces)
        before.run()
        for row, closes in enumerate(calls):
            for name in closes:
                before.moved[name][row] = True
        before.run()
        return np.array([before.blown.any()])

    @property
    def calls(self) -> tuple[Call, ...]:
        """Every call that can be made, that for heat first."""
        return (self.family.sequence.heat_call, *self.family.sequence.other_calls)

    def _stand(self) -> None:
        """Give the furnaces the faults and the lifted leads of this moment, and let them act."""
        self._factored = None
        self.operation.put(self._furnaces(isolated=self.isolated))
        self.operation.settle(self.operation.rows)

    # --- acts ------------------------------------------------------------------------------

    def power(self, on: bool) -> None:
        """Open or close the switch that a technician makes the furnace dead with. Closed, it is as it was found, and a heat call that stands begins anew."""
        self.isolated = not on
        if on and self.called is self.family.sequence.heat_call:
            self._begin_heat_call()
        self._stand()
        self.run_on(SHORTEST if on else 0.0)  # what the control does as it wakes is not to be seen
        self.charged = self.charged or on

    def call(self, call: Call | None, tell: Callable[[Seen], None] | None = None, *, joined: tuple[str, ...] = ()) -> None:
        """End the call that stands (*tell* hears what comes of that) and make another, by the thermostat or by a wire that closes what is *joined*."""
        self._end_call()
        stood, self.called = self.called, None
        self.call_at = self.now if stood else self.call_at
        self.run_on(SETTLES if stood else 0.0, tell)
        self.called, self.joined = call, joined
        if call is None:
            return
        if call is self.family.sequence.heat_call:
            self._begin_heat_call()
        self._stand()
        self.call_at = self.now
        self._factored = None
        self.operation.call(joined or call.closes)
        self.operation.settle(self.operation.rows)

    def _begin_heat_call(self) -> None:
        self.call_number += 1
        self.call_at = self.now
        self._warm.clear()
        self.operation.begin_call()

    def _end_call(self) -> None:
        for call in self.calls:
            self.operation.open(call.made_by)

    def take_off(self, name: str, taken: TakenOff) -> None:
        """Take a lead or plug off."""
        self.lifted[name] = taken
        self._stand()

    def put_back(self, name: str) -> None:
        """Put a lead or plug back."""
        self.lifted.pop(name)
        self._stand()

    def gas(self, on: bool) -> None:
        """Shut the gas cock, or put it back as it was found."""
        self.cock_shut = not on
        self._stand()

    def mend(self, repair: Repair) -> None:
        """Put right whatever *repair* puts right of what is at fault. Where it fits a new fuse, a blown one is whole again, whatever blew it.

        Where that switches on what was found off, a heat call that stands begins anew, as with `power`.
        """
        found_off = self.found_off()
        self.hidden = [h for h in self.hidden if not puts_right(repair, h.fault)]
        if self.fits_fuse(repair):
            self.operation.blown[:] = False
            self.hidden = [h for h in self.hidden if not self._opens_the_fuse(h.fault)]
        self.put_in_again = self.put_in_again or self.puts_in_again(repair)
        self.worked_since = False
        if found_off and not self.found_off() and self.heat_is_called:
            self._begin_heat_call()
        self._stand()

    # --- a short that opens the breaker ------------------------------------------------------

    @cached_property
    def breakers(self) -> frozenset[str]:
        """What the shorts of this family open that trip as their load comes on."""
        return breakers_of(self.family)

    def waits_for_its_load(self, hidden: Hidden) -> bool:
        """Whether a fault opens a breaker that was put in again, and has not carried anything since."""
        return self.put_in_again and not self.breakers.isdisjoint(opened_by(self.family, hidden.fault))

    def puts_in_again(self, repair: Repair) -> bool:
        """Whether a repair does nothing but put a breaker in again, or a new one in its place."""
        mended = [f for f in self.family.faults if puts_right(repair, f)]
        return bool(mended) and all(self._opens_only_a_breaker(f) for f in mended)

    def _opens_only_a_breaker(self, fault: Fault) -> bool:
        opens = opened_by(self.family, fault)
        return bool(opens) and opens <= self.breakers and all(e.is_ == "open" for e in self.family.failure(fault).effects)

    def opened_again(self, repair: Repair) -> str:
        """What a repair put in again and is open once more, in words; empty where nothing is."""
        if self.puts_in_again(repair) and self.breaker_is_open():
            return "The breaker has tripped again"
        return "The new fuse has blown as well" if self.is_at_the_fuse(repair) and self.fuse_is_open() else ""

    def breaker_is_open(self) -> bool:
        """Whether a breaker stands tripped."""
        return any(bool(self.operation.broken(e)[0]) for e in self.breakers)

    def _trip(self) -> None:
        """A short whose load has come on takes the supply away."""
        if self.isolated or not any(self._carries(h) for h in self._there()):
            return
        self.put_in_again = False
        self._stand()

    def _carries(self, hidden: Hidden) -> bool:
        """Whether what makes a fault trip has come on: its load, or the power itself where it waits for none."""
        driven = self.family.failure(hidden.fault).trips_with
        return self.waits_for_its_load(hidden) and (not driven or any(bool(self.operation.moved[output][0]) for output in driven))

    def found_off(self) -> bool:
        """Whether the switch that makes the furnace dead stands at off by a fault that is there."""
        return any(self._opens_only_the_isolator(h.fault) for h in self._there())

    def is_at_the_switch(self, repair: Repair) -> bool:
        """Whether a repair does nothing but close the switch that makes the furnace dead: nothing need be switched off for that."""
        mended = [f for f in self.family.faults if puts_right(repair, f)]
        return bool(mended) and all(self._opens_only_the_isolator(f) for f in mended)

    def _opens_only_the_isolator(self, fault: Fault) -> bool:
        effects = self.family.failure(fault).effects
        return bool(effects) and all(e.element == self.family.wiring.isolator and e.is_ == "open" for e in effects)

    def fits_fuse(self, repair: Repair) -> bool:
        """Whether *repair* puts in a new fuse where the old one is blown."""
        return self.operation.fuse is not None and any(step.fits_fuse for step in repair.steps)

    def is_at_the_fuse(self, repair: Repair) -> bool:
        """Whether *repair* puts right a blown fuse and nothing else."""
        mended = [f for f in self.family.faults if puts_right(repair, f)]
        return bool(mended) and all(self._opens_the_fuse(f) for f in mended)

    def _opens_the_fuse(self, fault: Fault) -> bool:
        effects = self.family.failure(fault).effects
        return bool(effects) and all(e.element == self.fuse and e.is_ == "open" for e in effects)

    @property
    def fuse(self) -> str | None:
        """The element that is the low-voltage fuse, where the family has one."""
        return None if self.operation.fuse is None else self.family.elements[self.operation.fuse].element

    def fuse_is_open(self) -> bool:
        """Whether the fuse is blown, whatever blew it."""
        return self.fuse is not None and bool(self.operation.broken(self.fuse)[0])

    def run_on(self, seconds: float, tell: Callable[[Seen], None] | None = None) -> None:
        """Let time pass; *tell* hears what is seen to change. Where something goes on and off without end it passes only until that is plain."""
        self._factored = None
        end, before, stretch, chattered = self.now + seconds, self.watched(), 0.0, int(self.operation.chattered[0])
        while True:
            self.operation.run_on(stretch)
            self._factored = None
            self._warm_up()
            self._trip()
            self.worked_since = self.worked_since or not (self.isolated or self.breaker_is_open() or self.fuse_is_open())
            now = self.watched()
            for sign, value in now.items():
                if tell is not None and before.get(sign) != value:
                    tell(Seen(self.now, sign, value))
            before = now
            self.chatters = bool(self.operation.chattered[0] > chattered + MOST_CHATTERS)
            if self.now >= end or self.chatters:
                return
            stretch = min(max(self.operation.seconds_to_next(), SHORTEST), end - self.now)

    def _warm_up(self) -> None:
        """Faults that start at some step of the call start there."""
        for h in self.hidden:
            comes = self.family.failure(h.fault).comes_and_goes
            if comes is None or comes.from_step is None or h.fault in self._warm or not is_there(h, self.family, max(self.call_number, 1)):
                continue
            if self.operation.furthest[0] >= self._sets_in_at(comes):
                self._warm.add(h.fault)
                self._stand()

    def _sets_in_at(self, comes: ComesAndGoes) -> int:
        """The place, in a good call, of the step in which a fault that starts late does so; one that quits while it burns does so in the last."""
        order = self.family.sequence.order
        return len(order) - 1 if comes.quits_after_s else order.index(str(comes.from_step))

    # --- what is so now --------------------------------------------------------------------

    @property
    def now(self) -> float:
        """Seconds since the visit began."""
        return float(self.operation.clock[0])

    @property
    def heat_is_called(self) -> bool:
        """Whether heat is called for, with the power on."""
        return self.called is self.family.sequence.heat_call and not self.isolated

    @property
    def something_off(self) -> bool:
        """Whether a lead or plug is off with the power on, so that the furnace does what it would not do by itself."""
        return bool(self.lifted) and not self.isolated

    def step(self) -> str:
        """The step as a technician names it: by the call that is made, or that none is, where the control does something else than answer it."""
        sequence, o = self.family.sequence, self.operation
        if self.isolated:
            return sequence.roles.off
        control: str = sequence.steps[o.step[0]].step
        others = {sequence.starts_at, sequence.roles.off, *(c.step for c in sequence.other_calls)}
        if self.called is sequence.heat_call:
            return self.called.step if control in others else control
        named = self.called.step if self.called is not None else sequence.starts_at
        stands = sequence.steps[o.step[0]].rests or self.called is None  # a lock-out of the heat call before answers no other
        return control if stands and control not in {*others, *sequence.order} else named

    def was_beyond(self, step: str) -> bool:
        """Whether the heat call that stands has been beyond a step already, and is in it again."""
        order = self.family.sequence.order
        return step in order and order.index(step) < self.operation.furthest[0]

    def after(self) -> float:
        """Seconds since the gas last came on in this call, before that since the call; at rest since it ended."""
        gas_on = self.operation.gas_at[0]
        return self.now - (gas_on if self.called and not np.isnan(gas_on) and gas_on >= self.call_at else self.call_at)

    def still(self) -> bool:
        """Whether nothing that is read or seen is about to change, but for a limit that warms up."""
        return not self.operation.changing(self.family.machines.limit.moves)

    def at_rest(self) -> bool:
        """Whether nothing more is to come by itself."""
        return not np.isfinite(self.operation.seconds_to_next())

    def of_call(self, word: str) -> float:
        """How soon the gas last lit [s], how often the limit tripped or whether the burners went out in this heat call, or the input now.

        See `knowledge.words.OF_A_CALL`.
        """
        o = self.operation
        if word == "input_percent":
            return 100 * float(o.input_share()[0]) if o.flame[0] else math.nan
        if word == "went_out":
            return float(o.times["flame_off"][0] >= self.call_at)  # False too where it did not
        return float(o.limit_trips[0]) if word == "limit_trips" else float(o.lit_at[0] - o.gas_at[0])

    def burning(self) -> float:
        """Seconds since it first lit, while it burns; where there is no flame, since the gas came on in this heat call."""
        lit = self.operation.times["flame_on"][0]
        if self.called is not self.family.sequence.heat_call:
            return 0.0
        return float(self.now - lit) if self.operation.flame[0] and not np.isnan(lit) else max(self.after(), 0.0)

    def burns_on(self) -> bool:
        """Whether it burns and has come to where a good heat call stays."""
        return bool(self.operation.flame[0] and self.operation.step[0] == self.family.steady)

    def went_well(self) -> bool:
        """Whether the heat call, which has come to where it stays, lit, stayed lit and started the blower as it should."""
        words = run_words(self._rested())
        told = {shows: next((w for w, flags in words[shows] if flags[0]), None) for shows in ("burners", "blower_in_heat")}
        return told == {"burners": "stay_lit", "blower_in_heat": "starts"} and self.step() == self.family.sequence.order[-1]

    def is_still(self) -> bool:
        """Whether neither flame nor blower goes on."""
        return not (self.operation.flame[0] or self.operation.blower_running()[0])

    def volts(self, pair: tuple[str, str], meter: str) -> float:
        """Volts between two nodes by a meter that loads them [V]."""
        if self._factored is None:
            self._factored = self.operation.factored(ROW)[0]
        network = self.family.network
        open_volts = between(self.operation.volts, network.index, pair)
        return float(np.abs(loaded(open_volts, network.source_ohms(self._factored, *pair), meter))[0])

    def ohms(self, pair: tuple[str, str]) -> float:
        """Ohms between two nodes of the dead furnace, leads as they stand [ohm]; inf for OL."""
        return float(ohms_between(self.operation, pair, ROW)[0])

    def point(self, point: Point, meter: str) -> float:
        """What a named point reads, in its unit; nan where there is nothing to read."""
        if point.leads is not None:
            return self.volts(point.leads, meter)
        operation, reads = self.operation, str(point.reads)
        if self.lifted and reads.startswith("ohms:"):  # of a lead or a part itself, from end to end, whatever it is taken off
            operation = copy(operation)
            operation.furnaces = self._furnaces(isolated=self.isolated, all_on=True)
        return float(reading(operation, reads, ROW)[0])

    def is_live(self, nodes: Iterable[str]) -> bool:
        """Whether any of these has volts to ground, or between one another."""
        ground = self.family.wiring.ground
        given = [n for n in nodes if n != ground]
        pairs = [(n, ground) for n in given] + ([(given[0], given[1])] if len(given) > 1 else [])
        stand = [pair for pair in pairs if self.operation.across(*pair)[0] > LIVE_VOLTS]
        return any(self.volts(pair, "low") > LIVE_VOLTS for pair in stand)  # what falls away under a load is a ghost

    @cached_property
    def nodes_that_hold_charge(self) -> frozenset[str]:
        """The ends of capacitors that can hold a charge to be felt."""
        furnaces = next(iter(self._made.values()))
        large = (e for i, e in enumerate(self.family.elements) if e.kind == "capacitor" and furnaces.microfarads[i, 0] >= HOLDS_CHARGE)
        return frozenset(n for e in large for n in e.between or ())

    @cached_property
    def low_voltage_side(self) -> frozenset[str]:
        """The nodes that the fuse feeds or is fed from, up to the metal of the cabinet."""
        if self.operation.fuse is None:
            return frozenset()
        stop = {self.family.wiring.ground, self.family.machines.flame.returns_to}
        near: dict[str, set[str]] = {}
        for e in self.family.elements:
            for one, other in (e.between or (), tuple(reversed(e.between or ()))) if e.between else ():
                near.setdefault(one, set()).add(other)
        reached: set[str] = set()
        todo = list(self.family.elements[self.operation.fuse].between or ())
        while todo:
            node = todo.pop()
            if node not in reached and node not in stop:
                reached.add(node)
                todo += near[node]
        return frozenset(reached)

    def looks_for_short(self, nodes: Collection[str]) -> bool:
        """Whether ohms between those *nodes* tell of a short of the 24 V side: not where they only go along wires, contacts and the fuse."""
        joined = [set(e.between or ()) for e in self.family.elements if e.kind in ("conductor", "contact")]
        along = {*list(nodes)[:1]}
        while more := {n for ends in joined if ends & along for n in ends} - along:
            along |= more
        return bool(self.low_voltage_side & set(nodes)) and not along.issuperset(nodes)

    # --- signs -----------------------------------------------------------------------------

    @cached_property
    def _watched(self) -> tuple[Sign, ...]:
        """What is seen of a furnace without going near it: one sign for each thing that its machines show."""
        found: dict[str, Sign] = {}
        for sign in self.family.signs:
            if isinstance(sign.shows, str) and sign.shows in FROM_AFAR:
                found.setdefault(sign.shows, sign)
        return tuple(found.values())

    def watched(self) -> dict[str, str]:
        """What is seen now, by sign."""
        return {s.sign: v for s in self._watched if (v := self.sign(s)) is not None}

    def sign(self, sign: Sign) -> str | None:
        """The value that a sign has now; None where it shows nothing, has to be tried (see `tried`), or where no furnace shows it (see `habit`)."""
        if sign.shows is None or isinstance(sign.shows, Trial):
            return None
        words = words_of(sign.shows, self.family.sequence)
        if of_whole_call(sign):
            said = next((word for word, flags in run_words(self._rested())[str(sign.shows)] if flags[0]), None)
            number = float(words.index(said)) if said in words else np.nan
        else:
            number = float(shown(self.operation, sign.shows, ROW)[0])
        return None if np.isnan(number) else value_of(sign, words, int(number))

    def tried(self, sign: Sign) -> str | None:
        """What comes of an experiment, tried on a copy of this furnace as it was found, with the power on and what was taken off still off."""
        if not isinstance(sign.shows, Trial):
            return None
        fitted = sign.shows.found_broken is not None and sign.shows.found_broken == self.fuse  # one that is whole is watched through the calls as a new one is
        word = tried(sign.shows, self._furnaces(), self.operation.blown | fitted)[0]
        return None if word is None else value_of(sign, sign.shows.words, sign.shows.words.index(word))

    def _rested(self) -> Operation:
        """The operation, as one that has come to rest where it now stands."""
        self.operation.rested_in[:] = self.operation.step
        return self.operation

    def waits_out(self) -> bool:
        """Whether the control has not begun the heat call that stands, because it still waits out what came of an earlier one, such as a draft fault."""
        sequence, o = self.family.sequence, self.operation
        first = {sequence.starts_at, sequence.heat_call.step}
        at_once = first | {leave.go for step in sequence.steps if step.step in first for leave in step.leave}
        return bool(o.furthest[0] == 0) and sequence.steps[o.step[0]].step not in at_once

    def goes_round(self) -> bool:
        """Whether the heat call begins again and again because a limit stops it, or something goes on and off without end."""
        return bool(self.operation.limit_trips[0] > 1) or self.chatters


def breakers_of(family: Family) -> frozenset[str]:
    """What the shorts of a family open that trip as their load comes on."""
    return frozenset().union(*(opened_by(family, f) for f in family.faults if family.failure(f).trips_with))


def opened_by(family: Family, fault: Fault) -> frozenset[str]:
    """The elements that a failure opens."""
    return frozenset(str(e.element) for e in family.failure(fault).effects if e.is_ == "open")


def takes_off(family: Family) -> Iterator[tuple[str, TakenOff]]:
    """What can be taken off, by what it is called."""
    nodes = family.wiring.nodes
    for taken in family.wiring.taken_off:
        what = LIFTED.get(taken.set_up, taken.set_up.removesuffix("_off").replace("_", " "))
        yield (f"{what} on {nodes[taken.at]}" if taken.at else f"the {what}", taken)


def puts_right(repair: Repair, fault: Fault) -> bool:
    """Whether a repair is of that failure, or of its whole part."""
    return fault.part in repair.of or str(fault) in repair.of


def value_of(sign: Sign, words: tuple[str, ...], number: int) -> str | None:
    """The value that stands for a word; of several the one that says most ("drop_out" before "yes"), then the first."""
    able = [v for v in sign.values if words[number] in sign.meant_by(v)]
    return min(able, key=lambda v: len(sign.meant_by(v)), default=None)


def habit(sign: Sign, hidden: Iterable[Hidden], words: Words) -> str:
    """The value of a sign that no circuit gives: the one mostly met with a fault that is there, else the usual one. The same each time."""
    told = dict.fromkeys(g.value for g in sign.goes_with)
    for h in hidden:
        for g in sign.goes_with:
            if g.part == h.fault.part and g.failure in (None, h.fault.failure) and words.goes[g.how] >= MOSTLY:
                return g.value
    return next((v for v in sign.values if v not in told), sign.values[0])


def as_shown(value: float) -> float:
    """As many figures as a usual meter shows; what is too small for its display is nought."""
    return value if not math.isfinite(value) else (0.0 if abs(value) < SMALLEST else float(f"{value:.4g}"))
