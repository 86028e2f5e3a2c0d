"""Visits to fresh virtual furnaces: what each would give for everything that proofs ask for, however the furnace must stand for it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from furnace_diag.diagnosis.compiled import MOVED_AWAY
from furnace_diag.furnace.family import Family, luck
from furnace_diag.furnace.moment import Rows
from furnace_diag.furnace.observe import run_words
from furnace_diag.furnace.operate import Operation
from furnace_diag.furnace.population import WHOLE_CALL, Collector, only_control_steps
from furnace_diag.furnace.trying import Trials
from furnace_diag.furnace.virtual import Flags, Floats, VirtualFurnaces
from furnace_diag.knowledge.finding_models import Proof, Wanted
from furnace_diag.knowledge.models import Knowledge, Point, Sign, Trial
from furnace_diag.knowledge.words import of_whole_call, words_of

LATER = "later in the call"  # how a furnace that has not answered a call stands once it has come to rest
SPARE = 5  # seconds that a technician waits beyond the least that is asked for
KNOWN_SETTING = 15  # seconds on top of a setting that is known, as diagnosis.compiled has it
SHARE_OFF = 0.01  # of the reading
NOTICED = 2.0  # of its unit, between a reading and a healthy furnace's
OFF = {"V": 0.5, "uA": 0.05, "ohm": 0.1, "s": 1.0}  # and this much more, in the unit


@dataclass(frozen=True)
class Standing:
    """How a furnace stands while it is read: which elements are open, and whether calls are made with a wire on the board."""

    opens: frozenset[str] = frozenset()
    at_board: bool = False


@dataclass(frozen=True)
class Asked:
    """One line of a condition, with how the furnace must stand for it."""

    line: Wanted
    standing: Standing


@dataclass(frozen=True)
class Need:
    """A condition of a proof: its alternatives, each of lines that must hold together."""

    condition: str
    ways: tuple[tuple[Asked, ...], ...]


def needs_of(proof: Proof, k: Knowledge, family: Family) -> tuple[Need, ...]:
    """What a proof asks for."""
    return tuple(Need(n, tuple(tuple(_asked(way, k, family)) for way in k.condition[n].any_of)) for n in proof.needs)


def _asked(way: tuple[Wanted, ...], k: Knowledge, family: Family) -> Iterator[Asked]:
    """Leads that one alternative wants lifted are lifted together."""
    moved = [w for w in way if set(w.set_up) & set(MOVED_AWAY)]
    opens = frozenset(e for w in moved for t in family.wiring.taken_off if t.set_up in w.set_up and _is_at(t.at, w, k) for e in t.opens)
    standing = Standing(opens, any("thermostat_wires_off" in w.set_up for w in moved))
    at_board = Standing(_opened_by("thermostat_wires_off", family), True)
    for w in way:
        joined = w.sign is not None and (w.sign in AT_BOARD or _starts(k.sign[w.sign]))
        yield Asked(w, at_board if joined else standing if w in moved else Standing())


def _is_at(node: str | None, w: Wanted, k: Knowledge) -> bool:
    leads = k.point[w.point].leads if w.point else None
    return node is None or (leads is not None and node == leads[0])


def _opened_by(set_up: str, family: Family) -> frozenset[str]:
    return frozenset(e for t in family.wiring.taken_off if t.set_up == set_up for e in t.opens)


def _starts(sign: Sign) -> bool:
    return isinstance(sign.shows, Trial) and sign.shows.watch == "heat_starts"


DONE = {"gas_cock_position"}  # what the technician brings about for a proof, whatever was found
AT_BOARD = {"fan_when_r_g_joined_at_board": "fan_call", "blower_when_r_y_joined_at_board": "cooling_call"}


# --- one furnace standing one way -----------------------------------------------------------------


@dataclass
class Seen:
    """What was noted in one standing: columns by what, step and meter; how long a step lasted since the gas came on, or the call."""

    columns: dict[tuple[str, str, str], Floats]
    lasts: dict[str, Floats]
    furthest: NDArray[np.int_]
    unsteady: dict[str, Flags] = field(default_factory=dict)  # which rows never come to rest in another call

    def column(self, name: str, step: str, meter: str) -> Floats:
        """A column, nan where that was never seen."""
        return self.columns.get((name, step, meter), np.full(len(self.furthest), np.nan))


def look(furnaces: VirtualFurnaces, standing: Standing, points: list[Point], signs: list[Sign], blown: Flags, rows: Rows, overdue: Floats) -> Seen:
    """Take *rows* through rest, a heat call and its end, and the other calls, as the furnace then stands. *overdue*: seconds after the gas
    from which burners that burn without the blower are in `heating` to whoever looks."""
    numbers = [furnaces.family.number[e] for e in sorted(standing.opens)]
    opened = [furnaces, *([furnaces.later.ill] if furnaces.later else [])]
    kept = [each.forced[numbers].copy() for each in opened]
    for each in opened:
        each.forced[numbers] = -1
    try:
        return _looked(Operation(furnaces, rows, blown=blown), standing, points, signs, overdue)
    finally:
        for each, forced in zip(opened, kept, strict=True):
            each.forced[numbers] = forced


def _looked(o: Operation, standing: Standing, points: list[Point], signs: list[Sign], overdue: Floats) -> Seen:
    sequence, rows = o.family.sequence, o.rows
    collector = Collector(o)
    collector.points, collector.signs = points, [s for s in signs if not of_whole_call(s)]
    o.run()
    collector(sequence.starts_at, rows)
    _tried_at_rest(o, signs, collector)
    heat = sequence.heat_call.joined if standing.at_board else sequence.heat_call.closes
    called = o.clock.copy()
    o.call(heat)
    o.settle(rows)
    collector(sequence.heat_call.step, rows)
    notes = _Notes(o, collector, called, overdue)
    without = o.furnaces
    o.let_set_in(collector.look_again)
    o.run(notes)
    seen = Seen(collector.columns, notes.lasts(), o.furthest.copy())
    collector(LATER, rows[o.furthest[rows] <= o.family.order.index(o.family.calling)])
    _whole_call(o, signs, collector)
    o.open(heat)
    o.let_go_away(without)
    o.run()
    collector(sequence.roles.off, rows)
    for call in sequence.other_calls:
        o.put(without)
        o.let_trip(call.step)
        o.reset()
        o.run()
        o.call(call.joined if standing.at_board else call.closes)
        o.run()
        collector(call.step, rows)
        seen.unsteady[call.step] = np.isin(np.arange(o.furnaces.rows), o.tick(rows, None))
    return seen


class _Notes:
    """Observes the control's steps in a call, and how long each lasts the first time, counted as a technician counts.

    That is from when the gas last came on in this call, or before that from the call.
    """

    def __init__(self, o: Operation, collector: Collector, called: Floats, overdue: Floats) -> None:
        sequence = o.family.sequence
        self.o, self.called, self.overdue = o, called, overdue
        self.observe = only_control_steps(collector)
        self.apart = {sequence.starts_at, sequence.roles.off, sequence.heat_call.step, *(c.step for c in sequence.other_calls)}
        self.gas_on, self.waits, self.steady = (sequence.order[n] for n in (-3, -2, -1))
        self.ends: dict[str, Floats] = {}
        self.seconds: dict[str, Floats] = {}

    def __call__(self, step: str, rows: Rows) -> None:
        self.observe(step, rows)
        if step not in self.apart:
            self._end(step, rows)
        if step == self.waits:
            late = rows[self._counted()[rows] > self.overdue[rows]]
            self.observe(self.steady, late)
            self._end(self.steady, late)

    def _counted(self) -> Floats:
        gas_on = self.o.entered[self.o.family.steps[self.gas_on]]
        return np.asarray(self.o.clock - np.where(gas_on >= self.called, gas_on, self.called))

    def _end(self, step: str, rows: Rows) -> None:
        nowhere = np.full(self.o.furnaces.rows, np.nan)
        end, seconds = self.ends.setdefault(step, nowhere.copy()), self.seconds.setdefault(step, nowhere.copy())
        first = rows[np.isnan(end[rows])]
        end[first], seconds[first] = self.o.clock[first], self._counted()[first]

    def lasts(self) -> dict[str, Floats]:
        """Seconds until each step first ended, by row; without end where the call rests in it."""
        rests = {step: (self.o.rested_in == self.o.family.steps[step]) & (end == self.o.clock) for step, end in self.ends.items()}
        return {step: np.where(rests[step], np.inf, seconds) for step, seconds in self.seconds.items()}


def _tried_at_rest(o: Operation, signs: list[Sign], collector: Collector) -> None:
    """What comes of experiments that begin at rest and watch anything but whether the furnace starts, which the call itself shows."""
    rest = o.twin()
    for s in signs:
        if isinstance(s.shows, Trial) and s.shows.starting == "at_rest" and not _starts(s):
            collector.column((s.sign, WHOLE_CALL, ""))[o.rows] = Trials(rest, rest).come_of(s.shows)[o.rows]


def _whole_call(o: Operation, signs: list[Sign], collector: Collector) -> None:
    said = run_words(o)
    for s in signs:
        if _starts(s):
            starts = o.furthest >= o.family.order.index(o.family.first_driven)
            collector.column((s.sign, WHOLE_CALL, ""))[o.rows] = starts[o.rows]
        elif of_whole_call(s) and isinstance(s.shows, str):
            words = words_of(s.shows, o.family.sequence)
            picked = np.select([f for _, f in said[s.shows]], [words.index(w) for w, _ in said[s.shows]], default=np.nan)
            collector.column((s.sign, WHOLE_CALL, ""))[o.rows] = picked[o.rows]


# --- visits ---------------------------------------------------------------------------------------


@dataclass
class Visits:
    """Furnaces visited: everything that *needs* ask for, in every standing that they ask for; fuses found as *blown* says.

    *tell* hears what is being done.
    """

    furnaces: VirtualFurnaces
    k: Knowledge
    needs: dict[str, tuple[Need, ...]]
    blown: Flags
    rows: Rows
    seed: int
    tell: Callable[[str], None] = lambda _: None
    seen: dict[Standing, Seen] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for number, standing in enumerate(self.standings, 1):
            self.tell(f"standing {number} of {len(self.standings)}: {', '.join(sorted(standing.opens)) or 'as found'}")
            points, signs = self._to_note(standing)
            self.seen[standing] = look(self.furnaces, standing, points, signs, self.blown, self.rows, self._overdue())

    @property
    def asked(self) -> list[Asked]:
        """Every line of every need."""
        return [a for needs in self.needs.values() for n in needs for way in n.ways for a in way]

    @cached_property
    def standings(self) -> list[Standing]:
        """Every way to stand that is asked for, as found first."""
        return list(dict.fromkeys([Standing(), *(a.standing for a in self.asked)]))

    def _overdue(self) -> Floats:
        """Seconds after the gas from which a blower that does not run is not waited for any more, by row."""
        waits = self.furnaces.family.sequence.order[-2]
        after = [s for a in self.asked if a.line.later_than == waits and (s := self.after(a.line, True)) is not None]
        return np.minimum.reduce(after) - SPARE if after else np.full(self.furnaces.rows, np.inf)

    def _to_note(self, standing: Standing) -> tuple[list[Point], list[Sign]]:
        """The points and signs to be noted in one standing, in the steps that are asked for."""
        steps: dict[str, set[str]] = {"blower_runs": set(AT_BOARD.values()) | {"heating", "standby"}}
        for a in self.asked:
            if a.standing == standing and (a.line.point or a.line.sign):
                steps.setdefault(str(a.line.point or a.line.sign), set()).update(a.line.step, {LATER} if a.line.step else ())
        points = [p.model_copy(update={"steps": (*p.steps, *steps[p.point])}) for p in self.furnaces.family.points if p.point in steps]
        signs = [s.model_copy(update={"steps": (*s.steps, *steps[s.sign]) if s.steps else ()}) for s in self.furnaces.family.signs if s.sign in steps]
        return points, signs

    # --- readings ------------------------------------------------------------------------------

    def moments(self, line: Wanted) -> tuple[str, ...]:
        """The steps in which a line can be read."""
        entry = self.k.point[line.point] if line.point else self.k.sign[str(line.sign)]
        if isinstance(entry, Sign) and of_whole_call(entry):
            return (WHOLE_CALL,)
        return line.step or entry.steps

    def after(self, line: Wanted, told: bool) -> Floats | None:
        """Seconds after which a line is read, by row; None where it does not say. *told*: the settings of times are known."""
        least = [np.zeros(self.furnaces.rows)] if line.after_s is not None or line.later_than is not None else []
        if line.after_s is not None:
            least.append(np.full(self.furnaces.rows, line.after_s))
        if line.later_than is not None:
            longest = max(float(v) for v in self.furnaces.family.furnace.options[line.later_than].values)
            waits = np.minimum(self.furnaces.chosen(line.later_than) + KNOWN_SETTING, longest) if told else np.full(self.furnaces.rows, longest)
            least.append(waits + line.by_s)
        return np.maximum.reduce(least) + SPARE if least else None

    def taken(self, asked: Asked, step: str, told: bool) -> Floats:
        """The reading of a point, or the number of what a sign shows; nan where it cannot be taken so."""
        key = (asked, step, told)
        if key not in self._taken:
            self._taken[key] = self._read(asked, step, told)
        return self._taken[key]

    @cached_property
    def _taken(self) -> dict[tuple[Asked, str, bool], Floats]:
        return {}

    def _read(self, asked: Asked, step: str, told: bool) -> Floats:
        line, seen, after = asked.line, self.seen[asked.standing], self.after(asked.line, told)
        name, meter = str(line.point or line.sign), self._meter(line)
        values = seen.column(name, step, meter)
        if step == self.furnaces.family.sequence.heat_call.step and after is not None:
            later = seen.column(name, LATER, meter)
            values = np.where(np.isnan(later), np.nan if line.until_s is not None else values, later)
        elif after is not None and step in seen.lasts:
            values = np.where(seen.lasts[step] > after, values, np.nan)
        if line.hold is not None and step in seen.unsteady:
            values = np.where(seen.unsteady[step], np.nan, values)  # what comes and goes shows in no held reading as dead or live
        return self._metered(values, name, step, asked) if line.point else values

    def _meter(self, line: Wanted) -> str:
        return (line.meter or "high") if line.point and self.k.point[line.point].leads else ""

    def _metered(self, values: Floats, name: str, step: str, asked: Asked) -> Floats:
        """With the meter's error: a share of the reading, and a little more."""
        chance = luck(self.seed, f"{name} {step} {sorted(asked.standing.opens)}")
        share, more = chance.uniform(-1, 1, (2, len(values)))
        return np.abs(values * (1 + SHARE_OFF * share) + OFF[self.k.point[name].unit] * more)

    def number_suits(self, line: Wanted, values: Floats) -> Flags:
        """Whether readings lie in the band."""
        band = self.k.band[line.is_[0]]
        low, high = (-np.inf if band.at_least is None else band.at_least), (np.inf if band.at_most is None else band.at_most)
        return np.asarray((values >= low) & (values <= high))

    def words_for(self, sign: Sign) -> dict[str, list[int]]:
        """The numbers of what is shown that each value of a sign may stand for."""
        assert sign.shows is not None
        words = words_of(sign.shows, self.furnaces.family.sequence)
        return {v: [words.index(w) for w in (sign.reads_as or {v: (v,)}).get(v, ()) if w in words] for v in sign.values}

    def differs(self, other: NDArray[np.int_]) -> Flags:
        """Whether anything noted of a row differs from the furnace in its *other* row: a word, or more than a meter is off."""
        result = np.zeros(self.furnaces.rows, bool)
        for seen in self.seen.values():
            for (name, _, _), values in seen.columns.items():
                least = NOTICED if name in self.k.point else 0.0
                there = values[other]
                with np.errstate(invalid="ignore"):
                    same = (values == there) | (np.abs(values - there) <= least) | (np.isnan(values) & np.isnan(there))
                result |= ~same
        return result

    # --- answers to checks -----------------------------------------------------------------------

    def blower_runs(self, standing: Standing, step: str) -> Flags:
        """Whether the blower turns."""
        sign = self.k.sign["blower_runs"]
        return np.isin(self.seen[standing].column("blower_runs", step, ""), self.words_for(sign)["yes"])

    def relay_works(self, proof: str) -> Flags:
        """Whether the blower relay of the call that a proof is about works on another call."""
        tap, as_found = self.furnaces.choices["fan_call_tap"], Standing()
        if proof == "y_input_dead":
            return (tap == "cool") & self.blower_runs(as_found, "fan_call")
        return np.select([tap == "heat", tap == "cool"], [self.blower_runs(as_found, "heating"), self.blower_runs(as_found, "cooling_call")], default=False)

    def decided(self, sign: str, proof: str) -> Flags | None:
        """Whether a check says yes, where the furnace decides it; None where it does not."""
        order = self.furnaces.family.sequence.order
        if sign in AT_BOARD:
            joined = Standing(_opened_by("thermostat_wires_off", self.furnaces.family), True)
            return self.blower_runs(joined, AT_BOARD[sign]) & ~self.blower_runs(joined, "standby")  # what runs already answers nothing
        if sign == "same_relay_works_on_another_call":
            return self.relay_works(proof)
        parted = {"goes_on_with_draft_lead_off": ("board_pressure", "igniter_warm_up"), "burners_go_on_with_string_open": ("board_chain", "heating")}
        if sign in parted:
            node, step = parted[sign]
            opens = frozenset(e for t in self.furnaces.family.wiring.taken_off if t.at == node for e in t.opens)
            return np.asarray(self.seen[Standing(opens)].furthest >= order.index(step))
        return None
