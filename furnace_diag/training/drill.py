"""A drill: what the trainee did, one act after another, and what came of it.

The state of a drill is nothing but its acts: the same acts on the same lesson give the same furnace, readings, account
and score, so a drill that was left is taken up by doing them again. What would hurt somebody or something is not done;
it is told, and counted.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import partial

from furnace_diag.furnace.family import Family
from furnace_diag.knowledge.models import Call, Knowledge, Part, Point, Sign, State, Trial
from furnace_diag.knowledge.point_models import FLOOR
from furnace_diag.knowledge.repair_models import Repair
from furnace_diag.knowledge.repairs import cautions_of, cost_of, repairs_of
from furnace_diag.knowledge.words import of_whole_call
from furnace_diag.quantities import format_quantity
from furnace_diag.training import checks
from furnace_diag.training.account import Account
from furnace_diag.training.acts import HANDLING_MINUTES, LONGEST_WAIT, NOTHING, Act, Hurt, Taken, Told
from furnace_diag.training.bench import SETTLES, SHORTEST, Bench, Seen, as_shown, habit, takes_off
from furnace_diag.training.gas import GasWork, wants_dead
from furnace_diag.training.lesson import Lesson
from furnace_diag.training.notes import Notes
from furnace_diag.training.watching import Watching
from furnace_diag.training.whole_calls import WHOLE_CALL, WholeCalls

MOST_ACTS = 2000  # of one drill
DEAD_ONLY = ("ohms", "microfarads")  # what is read on dead parts alone
FREE_MINUTES = 2.0  # of a reading between two terminals that the rules have no point for, judgement
FORESEEN = 2.0  # a foretold figure may be off by this many times what the reading itself may
MOST_APART = 4.0  # a foretold figure that the rules expect may be off by this factor from what a good furnace shows, judgement
FREE_DOUBT = 0.08  # share by which a reading between two terminals may be off what is foretold, judgement
ALIKE = 0.01  # share by which ohms in place and ohms with the leads off may differ and still be one reading, judgement
OPEN_FROM = 1e9  # ohms from which a foretold figure means OL
CHANGES = ("power", "gas", "call", "lift", "back", "join", "replace")  # what changes how the furnace goes on
Hear = Callable[[Seen], None]
NOT_FOR_THE_GOOD = ("read", "volts", "ohms", "wait", "replace", "same", "name", "state", "tap", "soap")  # the good furnace is only brought to the same moment


@dataclass
class Drill:
    """A lesson under way."""

    family: Family
    lesson: Lesson
    acts: list[Act] = field(default_factory=list)
    taken: list[Taken] = field(default_factory=list)
    hurts: list[Hurt] = field(default_factory=list)
    minutes: float = 0.0
    price: float = 0.0
    replaced: list[str] = field(default_factory=list)
    named: tuple[str, ...] | None = None
    cautioned: set[str] = field(default_factory=set)

    def __post_init__(self) -> None:
        self.bench = Bench(self.family, self.lesson)
        self.account = Account(self.lesson, self.k)
        self.gas = GasWork(self.k, self.bench, self._stop)
        self.notes = Notes(self.k, self.bench, self.gas, self.account, self.acts, self.taken)
        self.calls = WholeCalls(self.notes, self._spend)
        self.watching = Watching(self.notes)
        self.fuse_searched = False
        self.reset_before = False  # a breaker was put in again, and nothing else was put right since
        self._ends: list[float] = []  # by the clock, of each act
        self._found = self.bench.watched()  # what the trainee saw of the furnace at first, by sign
        self._told = self._found  # and last
        self._good: Drill | None = None

    def _good_bench(self) -> Bench:
        """A furnace in good order after the same acts, at the same moment; made when a figure is first foretold."""
        if self._good is None:
            self._good = Drill(self.family, replace(self.lesson, faults=()))
        good = self._good
        for act, end in zip(self.acts[len(good.acts) :], self._ends[len(good.acts) :], strict=False):
            good.do(NOTHING if act.do in NOT_FOR_THE_GOOD else act)
            if end > good.bench.now:
                good.bench.run_on(end - good.bench.now)
        return good.bench

    @property
    def k(self) -> Knowledge:
        """The rules."""
        return self.family.knowledge

    @property
    def over(self) -> bool:
        """Whether a part was named."""
        return self.named is not None

    def do(self, act: Act, tell: Callable[[Seen], None] | None = None) -> Told:
        """Do one act; *tell* hears what is seen to happen while time goes by. KeyError for an id that stands nowhere."""
        if len(self.acts) >= MOST_ACTS and act.do != "name":
            return Told("cannot", "This drill is long enough. Name the part.")
        self.acts.append(act)
        self.account.act(act)
        hear = partial(self._hear, tell)
        if act.do in CHANGES:
            self.watching.cut_off()
        told: Told = getattr(self, f"_{act.do}")(act, hear)  # Act lets nothing else through
        self._ends.append(self.bench.now)
        self._tell_the_rest(hear)
        self.gas.passes()
        self.notes.passes()
        self.watching.pass_on(act_over=True)
        self.calls.pass_end()
        watched = self.calls.watch_until_still() + self._tripped_again()
        new = tuple(c for c in told.cautions if c not in self.cautioned)
        self.cautioned.update(new)
        return Told(told.kind, f"{told.text}{watched}", new)

    def _hear(self, tell: Callable[[Seen], None] | None, seen: Seen) -> None:
        """Something is seen, whether anybody is told it on a screen or a drill is taken up."""
        self._told = {**self._told, seen.sign: seen.value}
        self.watching.hear(seen)
        if tell is not None:
            tell(seen)

    def _tell_the_rest(self, hear: Hear) -> None:
        """Tell what has come about by an act itself, and not as time went by after it."""
        for sign, value in self.bench.watched().items():
            if self._told.get(sign) != value:
                hear(Seen(self.bench.now, sign, value))

    def _tripped_again(self) -> str:
        """What to tell once a breaker or fuse that was put in again is open: that mended nothing, and what was read since tells of the fault."""
        done = self.account.repair
        opened = self.bench.opened_again(self.k.repair[done.repair]) if done is not None else ""
        if not opened:
            return ""
        aside = self.bench.worked_since and self.account.set_aside(self._was_of_the_dead_furnace)
        self._changed_nothing()
        more = " What was read of the dead furnace before is set aside: that it was open says all of it." if aside else ""
        return f" {opened}. What was read since it was put in tells of the fault.{more} Leave it so now, and look for the short."

    def _was_of_the_dead_furnace(self, record: Mapping[str, object]) -> bool:
        """Whether a record holds only as long as the breaker is off: of a call, or of a step with the power on."""
        if "step" in record:
            return record["step"] != self.family.sequence.roles.off
        return "sign" in record and of_whole_call(self.k.sign[str(record["sign"])])

    # --- reading ---------------------------------------------------------------------------

    def _read(self, act: Act, tell: Hear) -> Told:
        point = self.k.point[str(act.what)]
        stopped = self._hurts_to_read(point) if point.function in DEAD_ONLY else None
        stopped = stopped or self.gas.before_reading(point)
        if stopped is not None:
            return stopped
        self.minutes += point.minutes
        shown = [self.bench.point(point, act.meter)]
        if act.seconds:
            self._run(act.seconds, tell, lambda: shown.append(self.bench.point(point, act.meter)))
            self.minutes += act.seconds / 60
        if all(math.isnan(v) for v in shown):
            return Told("cannot", f"{point.says}: there is nothing to read now.", point.cautions)
        if point.function == "ohms":
            self.fuse_searched |= self.bench.looks_for_short(self._nodes_of(point))
        shown = [v for v in shown if not math.isnan(v)]
        floor = min(point.floor, FLOOR[point.unit])  # some are as wide as a whole winding, of which only OL is judged
        right = self._foretold(act, shown, lambda good: good.point(point, act.meter), point.doubt, floor, point)
        for hold, value in (("min", min(shown)), ("max", max(shown))) if act.seconds else ((None, shown[0]),):
            self.notes.point(point, value, act.meter, hold, right if hold != "max" else None)
        low, high = (format_quantity(as_shown(v), point.unit, ascii=True) for v in (min(shown), max(shown)))
        text = f"{point.says}: {low}" if not act.seconds else f"{point.says}, over {act.seconds:g} s: lowest {low}, highest {high}"
        return Told("reading", text + self.notes.unless_weighed(point), point.cautions)

    def _foretold(self, act: Act, shown: list[float], read: Callable[[Bench], float], doubt: float, floor: float, point: Point | None = None) -> bool | None:
        """Whether what was foretold is what a good furnace shows now, what the rules expect in this step, or what was then read."""
        if act.expect is None:
            return None
        good = read(self._good_bench())
        bands = [(v, v) for v in (good, *shown)]
        bands += [_near_good(e.low, e.high, good) for e in (point.expects if point else ()) if self.bench.step() in e.steps]
        return any(_within(act.expect, low, high, doubt, floor) for low, high in bands)

    def _hurts_to_read(self, point: Point) -> Told | None:
        return self._hurts_when_dead(self._nodes_of(point), f"{point.function} at {point.point}", charge="capacitor_charged" in point.cautions)

    def _nodes_of(self, point: Point) -> set[str]:
        """Where the leads of a reading of ohms or microfarads go."""
        _, _, names = str(point.reads).partition(":")
        return self._ends_of(n for n in names.split("+") if n in self.family.number) | set(point.leads or ())

    def _ends_of(self, elements: Iterable[str]) -> set[str]:
        """The nodes that *elements* join."""
        return {node for e in elements for node in self.family.elements[self.family.number[e]].between or ()}

    def _hurts_when_dead(self, nodes: Iterable[str], what: str, *, charge: bool) -> Told | None:
        """What speaks against putting an ohmmeter, or hands, on *nodes* now."""
        nodes = list(nodes)
        if self.bench.is_live(nodes):
            return self._stop(f"{what}: that is live", "That is live: it burns the meter, or you.", "dead_first")
        if not self.bench.isolated:
            return self._stop(f"{what}: the power is not off", "The power is not off: what is dead now may come alive at any moment.", "dead_first")
        if self.bench.charged and (charge or set(nodes) & self.bench.nodes_that_hold_charge):
            return self._stop(f"{what}: the run capacitor may be charged", "The run capacitor may be charged.", "capacitor_charged")
        return None

    def _spend(self, minutes: float) -> None:
        self.minutes += minutes

    def _stop(self, what: str, why: str, caution: str) -> Told:
        self._hurt(what, caution)
        self.cautioned.discard(caution)
        return Told("stopped", f"{why} It is not done.", (caution,))

    def _hurt(self, what: str, caution: str) -> None:
        self.hurts.append(Hurt(len(self.acts) - 1, what, caution))
        self.account.note(f"Would have hurt: {what}")

    def _volts(self, act: Act, tell: Hear) -> Told:
        pair = (str(act.what), str(act.other))
        point = self._point_between(pair)
        if point is not None:
            return self._read(act.model_copy(update={"what": point.point}), tell)
        self.minutes += FREE_MINUTES
        value = self.bench.volts(pair, act.meter)
        right = self._foretold(act, [value], lambda good: good.volts(pair, act.meter), FREE_DOUBT, FLOOR["V"])
        self.notes.note(None, f"volts, {pair[0]} to {pair[1]}: {as_shown(value):g} V", right)
        return Told("reading", f"{self._lies(pair)}: {format_quantity(as_shown(value), 'V', ascii=True)} (not weighed)", ("live_line",))

    def _ohms(self, act: Act, tell: Hear) -> Told:
        pair = (str(act.what), str(act.other))
        stopped = self._hurts_when_dead(pair, f"ohms from {pair[0]} to {pair[1]}", charge=False)
        if stopped is not None:
            return stopped
        value = self.bench.ohms(pair)
        point = self._part_between(pair, value)
        if point is not None:
            return self._read(act.model_copy(update={"what": point.point}), tell)
        self.minutes += FREE_MINUTES
        self.fuse_searched |= self.bench.looks_for_short(pair)
        right = self._foretold(act, [value], lambda good: good.ohms(pair), FREE_DOUBT, FLOOR["ohm"])
        self.notes.note(None, f"ohms, {pair[0]} to {pair[1]}: {'OL' if math.isinf(value) else f'{as_shown(value):g} ohm'}", right)
        return Told("reading", f"{self._lies(pair)}: {format_quantity(as_shown(value), 'ohm', ascii=True)} (not weighed)", ("dead_first",))

    def _point_between(self, pair: tuple[str, str]) -> Point | None:
        """The point of volts between those two terminals, of several one that the rules list for this step."""
        found = [p for p in self.family.points if p.leads is not None and {*p.leads} == {*pair}]
        return min(found, key=lambda p: self.notes.step_of(p) is None, default=None)

    def _part_between(self, pair: tuple[str, str], ohms: float) -> Point | None:
        """The point of ohms that is read between those two terminals, where nothing beside it changes what the meter shows."""
        for point in self.family.points:
            way, _, names = str(point.reads).partition(":")
            if way != "ohms" or ":" in names:
                continue
            ends = [n for name in names.split("+") for n in self.family.elements[self.family.number[name]].between or ()]
            if {n for n in ends if ends.count(n) == 1} != {*pair}:
                continue
            own = self.bench.point(point, "high")
            if own == ohms or abs(own - ohms) <= ALIKE * abs(ohms):
                return point
        return None

    def _lies(self, pair: tuple[str, str]) -> str:
        return f"From {self.family.wiring.nodes[pair[0]]} to {self.family.wiring.nodes[pair[1]]}"

    # --- looking ---------------------------------------------------------------------------

    def _look(self, act: Act, _tell: object) -> Told:
        if act.what is None:
            return Told("seen", f"{_in_words(self.bench.watched())} (not weighed; look at WHAT notes one of them)")
        sign = self.k.sign[act.what]
        if sign.steps == (self.family.sequence.roles.off,) and not self.bench.isolated:
            return Told("cannot", "That is looked at with the power off. Switch it off first.", sign.cautions)
        if isinstance(sign.shows, Trial):
            return self._try(sign, sign.shows)
        if sign.answered_by is not None:
            return self._look_for_check(sign)
        if self.gas.leak_test is not None and sign.sign == self.gas.leak_test.sign:
            return self._soap(act, _tell)
        if self.bench.cock_shut and isinstance(sign.shows, State) and sign.shows.number == self.family.machines.valve.inlet:
            return Told("cannot", "You shut the gas cock yourself. gas on puts it back as you found it.", sign.cautions)
        if sign.only_for_proof and not sign.goes_with:
            return Told("cannot", f"That is yours to say, once it was done: note {sign.sign}: {' or '.join(sign.values)}", sign.cautions)
        if of_whole_call(sign):
            return self.calls.look(sign)
        state = self._state_of(sign)
        if state not in (None, self.bench.step()):
            return Told("cannot", f"{sign.says}: that cannot be seen now. First: {self._way_to(str(state))}.", sign.cautions)
        value = self.bench.sign(sign) if sign.shows is not None else habit(sign, self.bench.hidden, self.bench.words)
        if value is None:
            return Told("cannot", f"{sign.says}: nothing to be seen of it now.")
        self.minutes += sign.minutes
        if sign.shows is None:
            self.notes.sign(sign, value, lasting=True)
        else:
            self.notes.note({"sign": sign.sign, "value": value, **self.notes.circumstances(sign)}, f"{sign.sign}: {value}")
        more = self.notes.unless_weighed(None if sign.shows is None else sign)
        return Told("seen", f"{sign.says}: {value.replace('_', ' ')}{more}", sign.cautions)

    def _state_of(self, sign: Sign) -> str | None:
        """The one state of the furnace that a sign tells of, as that nothing is called for or another call than heat; None of any other."""
        sequence = self.family.sequence
        state = sign.tells_of or (sign.steps[0] if len(sign.steps) == 1 else None)
        return state if state in (sequence.starts_at, *(c.step for c in sequence.other_calls)) else None

    def _way_to(self, state: str) -> str:
        """What to do until the furnace stands in a resting state or another call, as it is typed."""
        acts = ["power on"] if self.bench.isolated else []
        if state == self.family.sequence.starts_at:
            return ", ".join([*acts, *(["call off"] if self.bench.called is not None else []), "wait rest"])
        return ", ".join([*acts, *(["call off"] if self.bench.called is not None else []), f"call {state.partition('_')[0]}"])

    def _look_for_check(self, sign: Sign) -> Told:
        """A check that the furnace answers, by what the rules say."""
        by, point = sign.answered_by, checks.point_of(self.bench, sign)
        assert by is not None
        if by.reads == WHOLE_CALL:
            return Told("cannot", "The furnace answers that: call heat, wait rest, call off, wait rest; then it is noted.", sign.cautions)
        stopped = self.gas.before_reading(point) if point is not None else None
        if point is not None and point.function in DEAD_ONLY:
            stopped = self._hurts_to_read(point)
        if stopped is not None:
            return stopped
        why = checks.not_yet(self.bench, by)
        found = checks.answered(self.bench, sign) if not why else None
        if found is None:
            return Told("cannot", f"{sign.says}: {why[0].lower() + why[1:] if why else 'there is nothing to read now.'}", sign.cautions)
        word, figure = found
        self.minutes += sign.minutes
        self.notes.sign(sign, word, f" ({figure})")
        return Told("seen", f"{sign.says}: {word.replace('_', ' ')} ({figure}){self.notes.unless_weighed()}", sign.cautions)

    def _try(self, sign: Sign, trial: Trial) -> Told:
        """What comes of an experiment."""
        fits_fuse = any(effect.is_ == "whole" for effect in trial.all_effects) and self.bench.fuse_is_open()
        if fits_fuse and not self.fuse_searched:
            return self._stop("a new fuse with no short looked for", "A new fuse goes in after a search for the short.", "short_first")
        if self.bench.isolated:
            return Told("cannot", f"{sign.says}: that is tried with the power on, and it is off now.", sign.cautions)
        if fits_fuse and self.account.repair is not None:
            return Told("cannot", f"{sign.says}: the fuse is still blown. Power off, and renew the fuse; then it is tried.", sign.cautions)
        if trial.starting == "burning" and not self.bench.burns_on():
            return Told("cannot", f"{sign.says}: that is tried while it burns. Call heat, and wait until it does.", sign.cautions)
        value = self.bench.tried(sign)
        if value is None:
            return Told("cannot", f"{sign.says}: it cannot be tried, nothing {'runs' if trial.found_running else 'burns'}.", sign.cautions)
        self.minutes += sign.minutes
        if any(map(self.bench.waits_for_its_load, self.bench.hidden)):  # the ranking knows it as tried on the furnace as it was found
            self.notes.note(None, f"{sign.sign}: {value}")
        else:
            self.notes.sign(sign, value, lasting=True)
        return Told("seen", f"{sign.says}: {value.replace('_', ' ')}{self.notes.unless_weighed()}", sign.cautions)

    def _state(self, act: Act, _tell: object) -> Told:
        sign = self.k.sign[str(act.what)]
        by_soap = self.gas.leak_test is not None and sign.sign == self.gas.leak_test.sign
        if not sign.only_for_proof or sign.goes_with or sign.shows is not None or sign.answered_by is not None or by_soap:
            return Told("cannot", f"The furnace answers that: {'soap' if by_soap else f'look {sign.sign}'}.")
        self.minutes += sign.minutes
        value = str(act.other)
        self.notes.sign(sign, value, " (said)")
        said = f"Noted as you say: {sign.says[0].lower()}{sign.says[1:]}: {value.replace('_', ' ')}{self.notes.unless_weighed()}"
        return Told("done", said, sign.cautions)

    # --- doing -----------------------------------------------------------------------------

    def _power(self, act: Act, tell: Hear) -> Told:
        on = act.what == "on"
        if on != self.bench.isolated:
            return Told("cannot", f"The power is {'as you found it' if on else 'off'} already.")
        self.minutes += HANDLING_MINUTES
        self.bench.power(on)
        self._tell_the_rest(tell)
        self._run(SETTLES, tell)
        if not on:
            return Told("done", "The power is off at the switch. Test that it is dead before you touch anything.", ("dead_first",))
        number = f" The thermostat still calls: this is heat call {self.bench.call_number}." if self.bench.called is self.family.sequence.heat_call else ""
        found = "The switch stands as you found it" if self.reset_before else "Switch and breaker stand as you found them"
        off = f" Still off: {', '.join(self.bench.lifted)}." if self.bench.lifted else ""
        return Told("done", f"{found}; the power is on.{number}{off}", ("live_line",))

    def _call(self, act: Act, tell: Hear) -> Told:
        call = self._call_named(act.what)
        if call is self.bench.called and not self.bench.joined:
            return Told("cannot", f"{'Nothing' if call is None else 'That'} is called for already.{'' if call is None else ' End it first: call off.'}")
        self.bench.call(call, tell)
        self._tell_the_rest(tell)
        self._run(0.0, tell)
        if call is None:
            return Told("done", "Nothing is called for now.")
        return Told("done", f"The thermostat makes a {call.step.replace('_', ' ')}.{self._number_of(call)}")

    def _number_of(self, call: Call) -> str:
        return f" This is heat call {self.bench.call_number}." if call is self.family.sequence.heat_call else ""

    def _call_named(self, name: str | None) -> Call | None:
        return next((c for c in self._calls() if c.step == name), None)

    def _calls(self) -> tuple[Call, ...]:
        return (self.family.sequence.heat_call, *self.family.sequence.other_calls)

    def _wait(self, act: Act, tell: Hear) -> Told:
        start, seconds, seen = self.bench.now, act.seconds, list[Seen]()

        def hear(one: Seen) -> None:
            seen.append(one)
            tell(one)

        if act.what == "rest":
            while not self.bench.at_rest() and not self.bench.goes_round() and self.bench.now - start < LONGEST_WAIT:
                self._run(min(max(self.bench.operation.seconds_to_next(), SETTLES), LONGEST_WAIT), hear)
        elif seconds == 0:
            following = self.bench.operation.seconds_to_next()
            self._run(min(following, LONGEST_WAIT) if math.isfinite(following) else SETTLES, hear)
        else:
            self._run(seconds, hear)
        if self.bench.operation.seconds_to_next() < SHORTEST:  # it comes at the moment at which the clock was stopped
            self._run(0.0, hear)
        self.minutes += (self.bench.now - start) / 60
        self.calls.note_where_it_stops()
        more = " Nothing more comes by itself." if self.bench.at_rest() else ""
        more = " It goes round like that and begins again." if self.bench.goes_round() else more
        more += "" if more or seen or seconds or act.what else self._as_it_stands()
        gone = self.bench.now - start
        return Told("done", f"{gone:.0f} s later.{more}" if gone >= 0.5 else more.strip() or "No time has gone by.")

    def _as_it_stands(self) -> str:
        """What is seen where the clock stopped at something that is not; what has not come about is for whoever looks for it."""
        changed = {sign: value for sign, value in self.bench.watched().items() if self._found.get(sign) != value}
        return f" Nothing seen has changed ({_in_words(changed)})." if changed else " Nothing seen has changed: all is as you found it."

    def _run(self, seconds: float, tell: Hear, read: Callable[[], None] | None = None) -> None:
        """Let time go by, at least so long that what acts at once is seen; *read* is asked each time something changed."""
        def hear(seen: Seen) -> None:
            tell(seen)
            if read is not None:
                read()

        self.bench.run_on(max(seconds, SHORTEST), hear)
        if read is not None:
            read()

    def _lift(self, act: Act, _tell: object) -> Told:
        name = str(act.what)
        taken = dict(takes_off(self.family))[name]
        if name in self.bench.lifted:
            return Told("cannot", "That is off already.")
        stopped = self._hurts_when_dead(self._ends_of(taken.opens), f"taking off {name}", charge=False)
        if stopped is not None:
            return stopped
        self.minutes += HANDLING_MINUTES
        self.bench.take_off(name, taken)
        return Told("done", f"Off: {name}. Mark where it belongs.", ("dead_first",))

    def _back(self, act: Act, _tell: object) -> Told:
        name = str(act.what)
        if name not in self.bench.lifted:
            return Told("cannot", "That is in its place.")
        stopped = self._hurts_when_dead(self._ends_of(self.bench.lifted[name].opens), f"putting back {name}", charge=False)
        if stopped is not None:
            return stopped
        self.minutes += HANDLING_MINUTES
        self.bench.put_back(name)
        return Told("done", f"Back in its place: {name}.")

    def _discharge(self, _act: Act, _tell: object) -> Told:
        if not self.bench.isolated:
            return self._stop("discharging the capacitor: the power is not off", "The power is not off.", "dead_first")
        self.minutes += HANDLING_MINUTES
        self.bench.charged = False
        return Told("done", "Discharged through a resistor, and proved empty.", ("capacitor_charged",))

    def _join(self, act: Act, tell: Hear) -> Told:
        """R on a call's terminal, at the board or at the thermostat's base, makes that call; anything else that is joined can hurt."""
        pair = frozenset([str(act.what), str(act.other)])
        joins = {(e.follows, frozenset(e.between or ())) for e in self.family.elements}
        made = next(((call, closes) for call in self._calls() for closes in call.by_wire if (closes[0], pair) in joins), None)
        if made is not None:
            return self._call_by_wire(*made, tell)
        across = any(e.kind in ("contact", "bridge") and pair == frozenset(e.between or ()) for e in self.family.elements)
        caution = "never_bridge_a_safety" if across else "join_the_right_two"
        return self._stop(f"joining {' and '.join(sorted(pair))}", "A bridge there can hurt you, the house or the board.", caution)

    def _call_by_wire(self, call: Call, closes: tuple[str, ...], tell: Hear) -> Told:
        self.minutes += HANDLING_MINUTES
        self.bench.call(call, tell, joined=closes)
        self._tell_the_rest(tell)
        self._run(0.0, tell)
        at = "at the board" if closes == call.joined else "at the thermostat's base, the thermostat off it"
        tried = next((s.sign for s in self.k.sign.values() if isinstance(s.shows, Trial) and s.shows.only_joins == closes), None)
        notes = f" look {tried.replace('_', ' ')} notes what comes of it;" if tried else ""
        said = f"Joined {at}: a {call.step.replace('_', ' ')}.{self._number_of(call)}{notes} call off takes the wire away again."
        return Told("done", said, ("join_the_right_two", "burners_may_light"))

    def _gas(self, act: Act, tell: Hear) -> Told:
        told = self.gas.turn(act)
        if told.kind == "done":
            self.minutes += HANDLING_MINUTES
            self._run(0.0, tell)
        return told

    def _tap(self, act: Act, _tell: object) -> Told:
        told = self.gas.tap(act)
        line = self.gas.leak_test
        if told.kind == "done" and act.other == "open" and line is not None and line.sign is not None and self.account.holds_no_more(line.sign):
            self.account.note("A gas joint was opened again: what soap showed before is no leak test of it")
            return replace(told, text=f"{told.text} The leak test is open again.")
        return told

    def _soap(self, _act: Act, _tell: object) -> Told:
        told, line = self.gas.soap(), self.gas.leak_test
        if told is not None or line is None or line.sign is None:
            return told or Told("cannot", "These rules ask for no leak test.")
        sign, word = self.k.sign[line.sign], line.is_[0]
        self.minutes += sign.minutes
        self.notes.sign(sign, word, lasting=True)
        return Told("seen", f"{sign.says}: {word.replace('_', ' ')}", sign.cautions)

    def _same(self, _act: Act, _tell: object) -> Told:
        if self.account.repair is None:
            return Told("cannot", "Nothing was put right that could have helped.")
        since = self.calls.since_repair()
        if not since or since[-1]:
            said = "The last heat call ended as it should." if since else f"Nobody has seen that yet: {self._way_to_a_call()}."
            return Told("cannot", said)
        self._changed_nothing()
        return Told("done", "Kept: that changed nothing. What was read since tells of the fault.")

    def _way_to_a_call(self) -> str:
        """What to do until a heat call has been watched to its end, as it is typed: what the trainee took off or shut goes back first."""
        acts = [f"back {name}" for name in self.bench.lifted]
        acts += [said for so, said in ((self.bench.cock_shut, "gas on"), (self.bench.isolated, "power on")) if so]
        return ", ".join([*acts, "call heat and wait rest"])

    def _changed_nothing(self) -> None:
        """The repair that was done last has changed nothing: that is learnt by it."""
        mended = self.account.still_there()
        record: dict[str, object] = {"history": mended, "value": "replaced_no_change"}
        self.taken.append(Taken(record, f"{mended}: changed nothing", len(self.acts) - 1, event=len(self.account.events)))

    def _replace(self, act: Act, tell: Hear) -> Told:
        part = self.k.part[str(act.what)]
        repair = self.k.repair[act.other] if act.other else usual_repair(self.k, part.part)
        new_fuse = self.bench.fits_fuse(repair) and self.bench.fuse_is_open()
        again = self.bench.puts_in_again(repair)
        if again and not self.bench.breaker_is_open():
            return Told("cannot", "The breaker stands at on.")
        stopped = self._hurts_to_replace(part, repair, new_fuse=new_fuse)
        if stopped is not None:
            return stopped
        proved = self.account.repair
        if proved is not None and (proved.part, proved.repair) == (part.part, repair.repair) and not new_fuse:
            return Told("cannot", "That was done already; checks lists what proves it. If it changed nothing, write same.")
        takes = cost_of(self.k, part.part, repair)
        self.minutes += takes.minutes
        self.price += takes.price
        needed = again or (new_fuse and self.bench.is_at_the_fuse(repair))  # whatever blew or tripped it
        self.replaced += [] if needed else [part.part]
        goes_on = needed and proved is not None and {*repair.after} <= {*self.k.repair[proved.repair].after}
        calls_before, found_off = self.bench.call_number, self.bench.found_off()
        self.bench.mend(repair)
        self.gas.opened_by(repair)
        self.reset_before = again
        if needed:
            self._note_open(self.bench.breakers if again else {self.bench.fuse})
        if not goes_on:
            self.calls.before_repair = calls_before
            self.account.mended(part.part, "" if part.part in repair.of else _only_failure(repair), repair.repair)
        if found_off and not self.bench.found_off():
            self._run(SETTLES, tell)
        if new_fuse and self.bench.blown_before()[0]:
            self._hurt("a new fuse into a short", "short_first")
        if goes_on:
            self.account.note("A new fuse of the size marked was fitted")
            return Told("done", "Done: a new fuse of the size marked. The checks of the repair before it go on.", cautions_of(self.k, repair))
        return Told("done", self._done(part.part, repair, new_fuse=new_fuse, checked=proved is not None), cautions_of(self.k, repair))

    def _note_open(self, elements: Collection[str | None]) -> None:
        """Whoever puts a breaker or a fuse in again has seen that the old one was open."""
        for sign in self.family.signs:
            if isinstance(sign.shows, State) and sign.shows.broken in elements:
                value = next(v for v in sign.values if sign.meant_by(v) == (sign.shows.so,))
                record = {"sign": sign.sign, "value": value, **self.notes.circumstances(sign)}
                if not any(t.name == sign.sign and t.record is not None and t.record["call"] == record["call"] for t in self.taken):
                    self.notes.note(record, f"{sign.sign}: {value}", lasting=True, watched=True)

    def _hurts_to_replace(self, part: Part, repair: Repair, *, new_fuse: bool) -> Told | None:
        """What speaks against a repair now."""
        if not self.bench.isolated and wants_dead(self.k, repair) and not self.bench.is_at_the_switch(repair):
            return self._stop(f"replacing {part.part}: the power is not off", "The power is not off.", "dead_first")
        stopped = self.gas.before_repair(repair)
        if stopped is not None:
            return stopped
        if self.reset_before and self.bench.puts_in_again(repair):
            return self._stop("a breaker reset again and again", "It was put in again once and has tripped; a short is behind it.", "reset_once")
        if self.bench.charged and self._ends_of(self._elements_of(part.part)) & self.bench.nodes_that_hold_charge:
            return self._stop(f"replacing {part.part}: the run capacitor may be charged", "The run capacitor may be charged.", "capacitor_charged")
        if new_fuse and not self.fuse_searched:
            return self._stop("a new fuse with no short looked for", "That fuse blew for a reason, and nobody has looked for it yet.", "short_first")
        return None

    def _done(self, part: str, repair: Repair, *, new_fuse: bool, checked: bool) -> str:
        """What is told of a repair: what it was, and what its checks are."""
        told = [f"Done: {repair.says[0].lower()}{repair.says[1:]}", "A new fuse of the size marked is in." if new_fuse else ""]
        told += ["The checks begin anew: what was read after the repair before this one is not of it." if checked else ""]
        others = [r.repair.replace("_", " ") for r in repairs_of(self.k, part) if part in repair.of and r is not repair]
        told += [f"Other repairs of this part have checks of their own: {', '.join(others)}." if others else ""]
        return " ".join([*filter(None, told), "Now prove it: checks lists what that takes."])

    def _elements_of(self, part: str) -> set[str]:
        """The elements that the failures of a part act on."""
        failures = (self.family.failure(f) for f in self.family.faults if f.part == part)
        return {e.element for f in failures for e in f.effects if e.element is not None}

    def _name(self, act: Act, _tell: object) -> Told:
        self.named = tuple(self.k.part[name].part for name in str(act.what).split(" "))
        for left in self.gas.left_open():
            self._hurt(left, "gas_work")
        self.account.tell("closed", {"as": "named", "reason": f"The drill ended with: {', '.join(n.replace('_', ' ') for n in self.named)}"})
        return Told("ended", f"You name: {', '.join(n.replace('_', ' ') for n in self.named)}.")


def usual_repair(knowledge: Knowledge, part: str) -> Repair:
    """The repair of a whole part; of a part that has none the first of its failures'."""
    found = repairs_of(knowledge, part)
    return next((r for r in found if part in r.of), found[0])


def _only_failure(repair: Repair) -> str:
    """The failure that a repair is of, where it is of one alone; what else it may have been is not told."""
    return repair.of[0].partition(":")[2] if len(repair.of) == 1 else ""


def _in_words(seen: Mapping[str, str]) -> str:
    return "; ".join(f"{sign.replace('_', ' ')}: {value.replace('_', ' ')}" for sign, value in seen.items())


def _near_good(low: float, high: float, good: float) -> tuple[float, float]:
    """Of a band that holds for every furnace the piece round what a good one of this kind shows: "1 to 30 ohm" of a winding foretells nothing."""
    return (max(low, good / MOST_APART), min(high, good * MOST_APART)) if 0 < good < math.inf else (low, high)


def _within(value: float, low: float, high: float, doubt: float, floor: float) -> bool:
    """Whether a foretold figure lies in a band, give or take what a reading may be off."""
    if value >= OPEN_FROM or math.isinf(low) or math.isinf(high):
        return value >= OPEN_FROM and math.isinf(high)
    below, above = (FORESEEN * max(doubt * abs(end), floor) for end in (low, high))
    return low - below <= value <= high + above
