"""A drill: what the trainee did, one act after another, and what came of it.

The state of a drill is nothing but its acts: the same acts on the same lesson give the same furnace, readings, account
and score, so a drill that was left is taken up by doing them again. What would hurt somebody or something is not done;
it is told, and counted.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from functools import partial

from furnace_diag.diagnosis.bins import FLOOR
from furnace_diag.diagnosis.records import SET_UPS
from furnace_diag.furnace.family import Family
from furnace_diag.knowledge.models import Call, Knowledge, Point, Sign, State, Trial
from furnace_diag.knowledge.repair_models import Repair
from furnace_diag.knowledge.repairs import cautions_of, repairs_of
from furnace_diag.knowledge.words import of_whole_call
from furnace_diag.quantities import format_quantity
from furnace_diag.training import checks
from furnace_diag.training.account import MOST_CALLS, MOST_SECONDS, Account
from furnace_diag.training.acts import HANDLING_MINUTES, LONGEST_WAIT, NOTHING, Act, Hurt, Taken, Told
from furnace_diag.training.bench import SETTLES, Bench, Seen, as_shown, habit
from furnace_diag.training.gas import GAS_PRESSURE, GasWork, wants_dead
from furnace_diag.training.lesson import Lesson

MOST_ACTS = 2000
DEAD_ONLY = ("ohms", "microfarads")  # what is read on dead parts alone
FREE_MINUTES = 2.0  # of a reading between two terminals that the rules have no point for, judgement
FORESEEN = 2.0  # a foretold figure may be off by this many times what the reading itself may
SHORT = 0.05  # seconds; what acts at once is seen at once
FREE_DOUBT = 0.08  # share by which a reading between two terminals may be off what is foretold, judgement
ALIKE = 0.01  # share by which ohms in place and ohms with the leads off may differ and still be one reading, judgement
WHOLE_CALL = "whole_call"  # see knowledge.words.OF_A_CALL
OPEN_FROM = 1e9  # ohms from which a foretold figure means OL
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
        self.fuse_searched = False
        self._watched: dict[int, bool] = {}  # how the heat calls went that were watched until all was still again
        self._ending: int | None = None  # the heat call that went well so far, and was ended
        self._ends: list[float] = []  # by the clock, of each act
        self._of_call: dict[int, dict[str, str]] = {}  # what is said of a whole heat call, by sign, of each call that was watched to its end
        self._calls_before_repair = 0
        self._to_note: list[str] = []  # signs of the whole call that were looked at before it was over
        self._told = self.bench.watched()  # what the trainee saw of the furnace last, by sign
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
        hear = None if tell is None else partial(self._hear, tell)
        told: Told = getattr(self, f"_{act.do}")(act, hear)  # Act lets nothing else through
        self._ends.append(self.bench.now)
        self._tell_the_rest(hear)
        self.gas.passes()
        self._watch_the_end()
        watched = self._watch_until_still()
        new = tuple(c for c in told.cautions if c not in self.cautioned)
        self.cautioned.update(new)
        return Told(told.kind, f"{told.text}{watched}", new)

    def _hear(self, tell: Callable[[Seen], None], seen: Seen) -> None:
        self._told[seen.sign] = seen.value
        tell(seen)

    def _tell_the_rest(self, hear: Callable[[Seen], None] | None) -> None:
        """Tell what has come about by an act itself, and not as time went by after it."""
        if hear is None:
            return
        for sign, value in self.bench.watched().items():
            if self._told.get(sign) != value:
                hear(Seen(self.bench.now, sign, value))

    # --- reading ---------------------------------------------------------------------------

    def _read(self, act: Act, tell: Callable[[Seen], None] | None) -> Told:
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
        right = self._foretold(act, shown, lambda good: good.point(point, act.meter), point.doubt, point.doubt_floor or FLOOR[point.unit], point)
        for hold, value in (("min", min(shown)), ("max", max(shown))) if act.seconds else ((None, shown[0]),):
            self._take_point(point, value, act.meter, hold, right if hold != "max" else None)
        low, high = (format_quantity(as_shown(v), point.unit, ascii=True) for v in (min(shown), max(shown)))
        text = f"{point.says}: {low}" if not act.seconds else f"{point.says}, over {act.seconds:g} s: lowest {low}, highest {high}"
        return Told("reading", text + self._unless_weighed(point), point.cautions)

    def _take_point(self, point: Point, value: float, meter: str, hold: str | None, right: bool | None) -> None:
        text = "OL" if math.isinf(value) else f"{as_shown(value):g} {point.unit.replace('_diff', '').replace('in_wc', 'in wc')}"
        record: dict[str, object] = {"point": point.point, "value": text, **self._circumstances(point)}
        if point.leads is not None:
            record["meter"] = meter
            record |= {"set_up": self._set_up(point.leads[0])}
        if point.point in self._on_pins:
            record["contact"] = "pin"
        no_gas = point.function == GAS_PRESSURE and self.bench.cock_shut
        self._note(None if no_gas else {**record, **({"hold": hold} if hold else {})}, f"{point.point}: {text}{f' ({hold})' if hold else ''}", right)

    @property
    def _on_pins(self) -> set[str]:
        """Points that are read on the board's own pins: those that proofs want read there."""
        lines = (w for c in self.k.condition.values() for way in c.any_of for w in way)
        return {w.point for w in lines if w.point is not None and w.contact == "pin"}

    def _set_up(self, node: str) -> list[str]:
        """What was changed for a reading at *node*, in the words of a record."""
        off = [t.set_up for t in self.bench.lifted.values() if t.at in (None, node)]
        return [s for s in dict.fromkeys(off) if s in SET_UPS] or ([] if self.bench.lifted else ["load_on"])

    def _circumstances(self, entry: Point | Sign) -> dict[str, object]:
        return {"step": self._step_of(entry), "call": max(self.bench.call_number, 1), "after_s": f"{min(max(self.bench.after(), 0), MOST_SECONDS):.1f}"}

    def _step_of(self, entry: Point | Sign) -> str | None:
        """The step as the rules name it for a point or sign; None where they say nothing of it now.

        A record whose step they do not list would be weighed as if it were of no step, and "no flame" between two trials as no flame ever.
        What is expected to read the same all through a heat call may be read anywhere in it.
        """
        step, call = self.bench.step(), self.family.sequence.heat_call
        if not entry.steps or step in entry.steps:
            return step
        if self.bench.called is not call or self.bench.isolated or call.step not in entry.steps or not isinstance(entry, Point):
            return None
        in_call = [e for e in entry.expects if {*e.steps} & {*self.family.sequence.order[1:]}]
        same = max((e.low for e in in_call), default=math.inf) <= min((e.high for e in in_call), default=-math.inf)
        return call.step if same and any(call.step in e.steps for e in in_call) else None

    def _unless_weighed(self, entry: Point | Sign | None = None) -> str:
        """What is told of what was just noted, where the ranking makes nothing of it, and why where that is known."""
        if self.taken[-1].record is not None:
            return ""
        if entry is not None and not self._step_of(entry):
            return f" (The rules tell nothing from it at {self.bench.step().replace('_', ' ')}; it is shown and not weighed.)"
        why = "" if self.bench.still() else ": it is about to change"
        why = ": a wire makes this call" if self._by_wire else why
        return f" (not weighed{': you shut the gas' if self.gas.spoils(self.bench.call_number) else why})"

    @property
    def _by_wire(self) -> bool:
        """Whether the call that stands is made by a wire: what is read in it tells nothing of what should have made it, and would speak for that."""
        return self.bench.called is not None and bool(self.bench.joined) and not self.bench.isolated

    def _note(self, record: dict[str, object] | None, said: str, right: bool | None = None, *, lasting: bool = False) -> None:
        """Write down what was learnt: as a record, or where something is about to change, or the rules make nothing of it, as a note.

        *lasting*: it is said of a whole call, and holds whatever changes now.
        """
        name = str((record or {}).get("point", (record or {}).get("sign", "")))
        placed = record is not None and record.get("step", "") is not None
        call = int(str((record or {}).get("call", 1)))
        in_call = self.bench.called is self.family.sequence.heat_call and not self.bench.isolated
        seen = lasting or (self.bench.still() and not self._by_wire and not (in_call and self.gas.spoils(call)))
        if record is not None and placed and call <= MOST_CALLS and seen:
            self.account.record(record)
        else:
            record = None
            self.account.note(f"{said} (not weighed)")
        self.taken.append(Taken(record, said, len(self.acts) - 1, right, name, len(self.account.events)))

    def _foretold(self, act: Act, shown: list[float], read: Callable[[Bench], float], doubt: float, floor: float, point: Point | None = None) -> bool | None:
        """Whether what was foretold is what a good furnace shows now, what the rules expect in this step, or what was then read."""
        if act.expect is None:
            return None
        bands = [(v, v) for v in (read(self._good_bench()), *shown)]
        bands += [(e.low, e.high) for e in (point.expects if point else ()) if self.bench.step() in e.steps]
        return any(_within(act.expect, low, high, doubt, floor) for low, high in bands)

    def _hurts_to_read(self, point: Point) -> Told | None:
        return self._hurts_when_dead(self._nodes_of(point), f"{point.function} at {point.point}", charge="capacitor_charged" in point.cautions)

    def _nodes_of(self, point: Point) -> set[str]:
        """Where the leads of a reading of ohms or microfarads go."""
        _, _, names = str(point.reads).partition(":")
        numbers = (self.family.number[n] for n in names.split("+") if n in self.family.number)
        return {node for i in numbers for node in self.family.elements[i].between or ()} | set(point.leads or ())

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

    def _stop(self, what: str, why: str, caution: str) -> Told:
        self._hurt(what, caution)
        self.cautioned.discard(caution)
        return Told("stopped", f"{why} It is not done.", (caution,))

    def _hurt(self, what: str, caution: str) -> None:
        self.hurts.append(Hurt(len(self.acts) - 1, what, caution))
        self.account.note(f"Would have hurt: {what}")

    def _volts(self, act: Act, tell: Callable[[Seen], None] | None) -> Told:
        pair = (str(act.what), str(act.other))
        point = self._point_between(pair)
        if point is not None:
            return self._read(act.model_copy(update={"what": point.point}), tell)
        self.minutes += FREE_MINUTES
        value = self.bench.volts(pair, act.meter)
        right = self._foretold(act, [value], lambda good: good.volts(pair, act.meter), FREE_DOUBT, FLOOR["V"])
        self._note(None, f"volts, {pair[0]} to {pair[1]}: {as_shown(value):g} V", right)
        return Told("reading", f"{self._lies(pair)}: {format_quantity(as_shown(value), 'V', ascii=True)} (not weighed)", ("live_line",))

    def _ohms(self, act: Act, tell: Callable[[Seen], None] | None) -> Told:
        pair = (str(act.what), str(act.other))
        stopped = self._hurts_when_dead(pair, f"ohms from {pair[0]} to {pair[1]}", charge=False)
        if stopped is not None:
            return stopped
        value = self.bench.ohms(pair)
        point = self._part_between(pair, value)
        if point is not None:
            return self._read(act.model_copy(update={"what": point.point}), tell)
        self.minutes += FREE_MINUTES
        self.fuse_searched |= self.bench.looks_for_short(set(pair))
        right = self._foretold(act, [value], lambda good: good.ohms(pair), FREE_DOUBT, FLOOR["ohm"])
        self._note(None, f"ohms, {pair[0]} to {pair[1]}: {'OL' if math.isinf(value) else f'{as_shown(value):g} ohm'}", right)
        return Told("reading", f"{self._lies(pair)}: {format_quantity(as_shown(value), 'ohm', ascii=True)} (not weighed)", ("dead_first",))

    def _point_between(self, pair: tuple[str, str]) -> Point | None:
        """The point of volts between those two terminals, of several one that the rules list for this step."""
        found = [p for p in self.family.points if p.leads is not None and {*p.leads} == {*pair}]
        return min(found, key=lambda p: self._step_of(p) is None, default=None)

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
            seen = "; ".join(f"{s.replace('_', ' ')}: {v.replace('_', ' ')}" for s, v in self.bench.watched().items())
            return Told("seen", f"{seen} (not weighed; look at WHAT notes one of them)")
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
            return self._look_at_the_call(sign)
        value = self.bench.sign(sign) if sign.shows is not None else habit(sign, self.bench.hidden, self.bench.words)
        if value is None:
            return Told("cannot", f"{sign.says}: nothing to be seen of it now.")
        self.minutes += sign.minutes
        place = {"call": max(self.bench.call_number, 1)} if sign.shows is None else self._circumstances(sign)
        self._note({"sign": sign.sign, "value": value, **place}, f"{sign.sign}: {value}", lasting=sign.shows is None)
        more = self._unless_weighed(None if sign.shows is None else sign)
        return Told("seen", f"{sign.says}: {value.replace('_', ' ')}{more}", sign.cautions)

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
        self._note({"sign": sign.sign, "value": word, "call": max(self.bench.call_number, 1)}, f"{sign.sign}: {word} ({figure})")
        return Told("seen", f"{sign.says}: {word.replace('_', ' ')} ({figure}){self._unless_weighed()}", sign.cautions)

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
            return Told("cannot", f"{sign.says}: it cannot be tried, nothing burns.", sign.cautions)
        self.minutes += sign.minutes
        self._note({"sign": sign.sign, "value": value, "call": max(self.bench.call_number, 1)}, f"{sign.sign}: {value}", lasting=True)
        return Told("seen", f"{sign.says}: {value.replace('_', ' ')}{self._unless_weighed()}", sign.cautions)

    def _look_at_the_call(self, sign: Sign) -> Told:
        """What is said of a whole heat call: nothing before it has come to its end."""
        self._watch_the_end()
        known = self._of_call.get(self.bench.call_number)
        if known is not None:
            value = known.get(sign.sign)
            if value is None:
                return Told("cannot", f"{sign.says}: nothing to be seen of it in this call.")
            self.minutes += sign.minutes
            self._note_of_call(sign.sign)
            return Told("seen", f"{sign.says}: {value.replace('_', ' ')}", sign.cautions)
        if self.bench.called is not self.family.sequence.heat_call or self.bench.isolated:
            return Told("cannot", f"{sign.says}: that is told of a whole heat call. Call for heat and wait rest.")
        if sign.sign not in self._to_note:
            self._to_note.append(sign.sign)
        seen = {s: v for s, v in self.bench.watched().items() if sign.sign in self.k.sign[s].says_same_as}
        now = "".join(f" Now: {s.replace('_', ' ')}: {v.replace('_', ' ')}." for s, v in seen.items())
        return Told("seen", f"{sign.says}: the call is not over. Watch it to its end (wait rest); then it is noted.{now}", sign.cautions)

    def _watch_the_end(self) -> None:
        """Once a heat call has come to its end, remember what is said of it as a whole, and note what was asked of it before."""
        number = self.bench.call_number
        if self.bench.called is not self.family.sequence.heat_call or self.bench.isolated:
            self._to_note.clear()  # nobody saw how it would have ended
            return
        if number in self._of_call or not (self.bench.at_rest() or self.bench.goes_round()):
            return
        told = {s.sign: self.bench.sign(s) for s in self.family.signs if of_whole_call(s)}
        self._of_call[number] = {} if self.gas.spoils(number) or self._by_wire else {sign: value for sign, value in told.items() if value is not None}
        for sign in self._to_note:
            self.minutes += self.k.sign[sign].minutes
            self._note_of_call(sign)
        self._to_note.clear()

    def _note_of_call(self, sign: str) -> None:
        """Note what is said of the last heat call, once."""
        number = self.bench.call_number
        value = self._of_call.get(number, {}).get(sign)
        noted = any(t.name == sign and t.record is not None and t.record["call"] == number for t in self.taken)
        if value is not None and not noted:
            self._note({"sign": sign, "value": value, "call": number}, f"{sign}: {value}", lasting=True)

    def _watch_until_still(self) -> str:
        """How a heat call went that was watched from its start until all was still again; what is told of it where a repair is to be proved."""
        number, heat = self.bench.call_number, self.family.sequence.heat_call
        if self.bench.called is heat and number in self._of_call and number not in self._watched and self._ending != number:
            if self._by_wire:
                return ""
            if self.bench.went_well():
                self._ending = number
            else:
                return self._call_went(number, well=False)
        elif self._ending is not None and (self.bench.called is not None or self.bench.isolated) and number != self._ending:
            self._ending = None
        elif self._ending is not None and self.bench.called is None and self.bench.at_rest() and not self.bench.isolated:
            return self._call_went(self._ending, well=self.bench.is_still())
        return ""

    def _call_went(self, number: int, *, well: bool) -> str:
        self._watched[number], self._ending = well, None
        sign = next((s for s in self.k.sign.values() if s.answered_by is not None and s.answered_by.reads == WHOLE_CALL), None)
        if sign is None or sign.answered_by is None or self.account.repair is None or self.gas.spoils(number):
            return ""
        word = checks.word_for(sign.answered_by, float(well))
        self._note({"sign": sign.sign, "value": word, "call": number}, f"{sign.sign}: {word}", lasting=True)
        return f" Heat call {number}, watched to its end: {word.replace('_', ' ')}."

    def _state(self, act: Act, _tell: object) -> Told:
        sign = self.k.sign[str(act.what)]
        by_soap = self.gas.leak_test is not None and sign.sign == self.gas.leak_test.sign
        if not sign.only_for_proof or sign.goes_with or sign.shows is not None or sign.answered_by is not None or by_soap:
            return Told("cannot", f"The furnace answers that: {'soap' if by_soap else f'look {sign.sign}'}.")
        self.minutes += sign.minutes
        value = str(act.other)
        self._note({"sign": sign.sign, "value": value, "call": max(self.bench.call_number, 1)}, f"{sign.sign}: {value} (said)")
        said = f"Noted as you say: {sign.says[0].lower()}{sign.says[1:]}: {value.replace('_', ' ')}{self._unless_weighed()}"
        return Told("done", said, sign.cautions)

    # --- doing -----------------------------------------------------------------------------

    def _power(self, act: Act, tell: Callable[[Seen], None] | None) -> Told:
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
        return Told("done", f"Switch and breaker stand as you found them; the power is on.{number}", ("live_line",))

    def _call(self, act: Act, tell: Callable[[Seen], None] | None) -> Told:
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

    def _wait(self, act: Act, tell: Callable[[Seen], None] | None) -> Told:
        start, seconds = self.bench.now, act.seconds
        if act.what == "rest":
            while not self.bench.at_rest() and not self.bench.goes_round() and self.bench.now - start < LONGEST_WAIT:
                self._run(min(max(self.bench.operation.seconds_to_next(), SETTLES), LONGEST_WAIT), tell)
        elif seconds == 0:
            following = self.bench.operation.seconds_to_next()
            self._run(min(following, LONGEST_WAIT) if math.isfinite(following) else SETTLES, tell)
        else:
            self._run(seconds, tell)
        self.minutes += (self.bench.now - start) / 60
        self._note_where_it_stops()
        more = " Nothing more comes by itself." if self.bench.at_rest() else ""
        more = " It goes round like that and begins again." if self.bench.goes_round() else more
        gone = self.bench.now - start
        return Told("done", f"{gone:.0f} s later.{more}" if gone >= 0.5 else more.strip() or "No time has gone by.")

    def _run(self, seconds: float, tell: Callable[[Seen], None] | None, read: Callable[[], None] | None = None) -> None:
        """Let time go by; *read* is asked each time something changed."""
        def hear(seen: Seen) -> None:
            if tell is not None:
                tell(seen)
            if read is not None:
                read()

        self.bench.run_on(max(seconds, SHORT), hear)
        if read is not None:
            read()

    def _note_where_it_stops(self) -> None:
        """What somebody who watched a heat call until it came to rest knows of it, once for each call."""
        self._watch_the_end()
        sign = next((s for s in self.family.signs if s.shows == "stops_at"), None)
        if sign is not None and self.bench.called is self.family.sequence.heat_call and not self.bench.isolated:
            self._note_of_call(sign.sign)

    def _lift(self, act: Act, _tell: object) -> Told:
        name = str(act.what)
        taken = dict(self.bench.takes_off())[name]
        if name in self.bench.lifted:
            return Told("cannot", "That is off already.")
        nodes = {n for e in taken.opens for n in self.family.elements[self.family.number[e]].between or ()}
        stopped = self._hurts_when_dead(nodes, f"taking off {name}", charge=False)
        if stopped is not None:
            return stopped
        self.minutes += HANDLING_MINUTES
        self.bench.take_off(name, taken)
        return Told("done", f"Off: {name}. Mark where it belongs.", ("dead_first",))

    def _back(self, act: Act, _tell: object) -> Told:
        name = str(act.what)
        if name not in self.bench.lifted:
            return Told("cannot", "That is in its place.")
        taken = self.bench.lifted[name]
        nodes = {n for e in taken.opens for n in self.family.elements[self.family.number[e]].between or ()}
        stopped = self._hurts_when_dead(nodes, f"putting back {name}", charge=False)
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

    def _join(self, act: Act, tell: Callable[[Seen], None] | None) -> Told:
        """R on a call's terminal, at the board or at the thermostat's base, makes that call; anything else that is joined can hurt."""
        pair = {str(act.what), str(act.other)}
        for call in self._calls():
            for closes in call.by_wire:
                if not any(e.follows == closes[0] and pair == set(e.between or ()) for e in self.family.elements):
                    continue
                self.minutes += HANDLING_MINUTES
                self.bench.call(call, tell, joined=closes)
                self._tell_the_rest(tell)
                self._run(0.0, tell)
                at = "at the board" if closes == call.joined else "at the thermostat's base, the thermostat off it"
                tried = next((s.sign for s in self.k.sign.values() if isinstance(s.shows, Trial) and s.shows.only_joins == closes), None)
                notes = f" look {tried.replace('_', ' ')} notes what comes of it;" if tried else ""
                said = f"Joined {at}: a {call.step.replace('_', ' ')}.{self._number_of(call)}{notes} call off takes the wire away again."
                return Told("done", said, ("join_the_right_two", "burners_may_light"))
        across = any(e.kind == "contact" and pair == set(e.between or ()) for e in self.family.elements)
        safety = across or any(e.kind == "bridge" and pair == set(e.between or ()) for e in self.family.elements)
        caution = "never_bridge_a_safety" if safety else "join_the_right_two"
        return self._stop(f"joining {' and '.join(sorted(pair))}", "A bridge there can hurt you, the house or the board.", caution)

    def _gas(self, act: Act, tell: Callable[[Seen], None] | None) -> Told:
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
        self._note({"sign": sign.sign, "value": word, "call": max(self.bench.call_number, 1)}, f"{sign.sign}: {word}", lasting=True)
        return Told("seen", f"{sign.says}: {word.replace('_', ' ')}", sign.cautions)

    def _same(self, _act: Act, _tell: object) -> Told:
        if self.account.repair is None:
            return Told("cannot", "Nothing was put right that could have helped.")
        since = [well for number, well in self._watched.items() if number > self._calls_before_repair]
        if not since or since[-1]:
            said = "The last heat call ended as it should." if since else "Nobody has seen that yet: call heat and wait rest."
            return Told("cannot", said)
        mended = self.account.still_there()
        record: dict[str, object] = {"history": mended, "value": "replaced_no_change"}
        self.taken.append(Taken(record, f"{mended}: changed nothing", len(self.acts) - 1, event=len(self.account.events)))
        return Told("done", "Kept: that changed nothing. What was read since tells of the fault.")

    def _replace(self, act: Act, tell: Callable[[Seen], None] | None) -> Told:
        part = self.k.part[str(act.what)]
        repair = self.k.repair[act.other] if act.other else usual_repair(self.k, part.part)
        if not self.bench.isolated and wants_dead(self.k, repair) and not self.bench.is_at_the_switch(repair):
            return self._stop(f"replacing {part.part}: the power is not off", "The power is not off.", "dead_first")
        stopped = self.gas.before_repair(repair)
        if stopped is not None:
            return stopped
        touched = {n for e in self._elements_of(part.part) for n in self.family.elements[self.family.number[e]].between or ()}
        if self.bench.charged and touched & self.bench.nodes_that_hold_charge:
            return self._stop(f"replacing {part.part}: the run capacitor may be charged", "The run capacitor may be charged.", "capacitor_charged")
        new_fuse = self.bench.fits_fuse(repair) and self.bench.fuse_is_open()
        if new_fuse and not self.fuse_searched:
            return self._stop("a new fuse with no short looked for", "That fuse blew for a reason, and nobody has looked for it yet.", "short_first")
        proved = self.account.repair
        if proved is not None and (proved.part, proved.repair) == (part.part, repair.repair) and not new_fuse:
            return Told("cannot", "That was done already; checks lists what proves it. If it changed nothing, write same.")
        self.minutes += part.repair.minutes
        self.price += part.repair.price
        needed = new_fuse and self.bench.is_at_the_fuse(repair)  # a blown fuse is, whatever blew it
        self.replaced += [] if needed else [part.part]
        goes_on = needed and proved is not None and {*repair.after} <= {*self.k.repair[proved.repair].after}
        calls_before, found_off = self.bench.call_number, self.bench.found_off()
        self.bench.mend(repair)
        self.gas.opened_by(repair)
        if not goes_on:
            self._calls_before_repair = calls_before
            self.account.mended(part.part, "" if part.part in repair.of else _only_failure(repair), repair.repair)
        if found_off and not self.bench.found_off():
            self._run(SETTLES, tell)
        if new_fuse and self.bench.blown_before()[0]:
            self._hurt("a new fuse into a short", "short_first")
        if goes_on:
            self.account.note("A new fuse of the size marked was fitted")
            return Told("done", "Done: a new fuse of the size marked. The checks of the repair before it go on.", cautions_of(self.k, repair))
        return Told("done", self._done(part.part, repair, new_fuse=new_fuse, checked=proved is not None), cautions_of(self.k, repair))

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


def _within(value: float, low: float, high: float, doubt: float, floor: float) -> bool:
    """Whether a foretold figure lies in a band, give or take what a reading may be off."""
    if value >= OPEN_FROM or math.isinf(low) or math.isinf(high):
        return value >= OPEN_FROM and math.isinf(high)
    below, above = (FORESEEN * max(doubt * abs(end), floor) for end in (low, high))
    return low - below <= value <= high + above
