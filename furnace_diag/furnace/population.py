"""How the population is built: virtual furnaces run heat calls, and what each reads at each step is noted (see `built.py`)."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from furnace_diag.furnace.built import OFF, SEED, SITES, WHOLE_CALL, Key, Population, Progress, all_off, with_off
from furnace_diag.furnace.family import Family, Fault, draw_sites, drawn, luck
from furnace_diag.furnace.moment import Rows
from furnace_diag.furnace.observe import Solved, coded, reading, run_words, shown, solved, volts_of, volts_with_open
from furnace_diag.furnace.operate import Operation
from furnace_diag.furnace.trying import Trials
from furnace_diag.furnace.virtual import Flags, Floats, Later, VirtualFurnaces, dealt_out
from furnace_diag.knowledge.models import ComesAndGoes, Point, Sign, Trial
from furnace_diag.knowledge.words import of_whole_call

FLOATS = 2.0  # volts between what a sensitive and a low-impedance meter read; above it both are kept
LEAD_OFF = "lead_off"  # of a reading taken with the lead or plug off that is read
NOT_LATER = -1  # the step of a failure that is there from the start of the call
ANSWERED = 2  # ticks after which a control that does not wait in the heat call's own step has left it
TOLD = 18  # about as often progress is told of while furnaces are run: of each call and each experiment, and of those found tripped once more
CHUNK = 512  # rows metered together: bounds memory to some tens of MB


class Collector:
    """Fills columns while furnaces run; the first visit of a row to a step counts. *off* is the set-up with which they run, if any.

    *lifted*: the same columns with the lead or plug off that is read.
    """

    def __init__(self, operation: Operation, off: str | None = None) -> None:
        self.operation, self.off = operation, off
        self.points, self.signs = operation.family.points, [s for s in operation.family.signs if not of_whole_call(s)]
        if off is not None:  # the rest reads as it would without
            near = operation.family.near(off)
            self.points = tuple(p for p in self.points if near & set(p.leads or ()))
            self.signs = [s for s in self.signs if isinstance(s.shows, str)]
        self.unheard: Flags = np.zeros(operation.furnaces.rows, bool)  # rows that run along and are not noted
        self.columns: dict[Key, Floats] = {}
        self.lifted: dict[Key, Floats] = {}
        self.seen: dict[str, Flags] = {}

    def column(self, key: Key) -> Floats:
        return self.columns.setdefault(key, np.full(self.operation.furnaces.rows, np.nan))

    def forget(self, rows: Rows) -> None:
        """Let *rows* be observed anew."""
        for seen in self.seen.values():
            seen[rows] = False
        for values in (*self.columns.values(), *self.lifted.values()):
            values[rows] = np.nan

    def take(self, other: Collector, rows: Rows, places: Rows) -> None:
        """Let *rows* have what *other* noted of its furnaces at *places*, and nothing else."""
        self.forget(rows)
        for mine, theirs in ((self.columns, other.columns), (self.lifted, other.lifted)):
            for key, values in theirs.items():
                mine.setdefault(key, np.full(self.operation.furnaces.rows, np.nan))[rows] = values[places]

    def look_again(self, rows: Rows) -> None:
        """Let what *rows* show from now on count, step by step, instead of what they showed before."""
        for seen in self.seen.values():
            seen[rows] = False

    def anew(self, step: str, rows: Rows) -> None:
        """Observe *rows* in a step once more: the control has come to wait in it, and its light says for what."""
        if step in self.seen:
            self.seen[step][rows] = False
        self(step, rows)

    def __call__(self, step: str, rows: Rows) -> None:
        seen = self.seen.setdefault(step, np.zeros(self.operation.furnaces.rows, bool))
        fresh = rows[~seen[rows] & ~self.unheard[rows]]
        seen[fresh] = True
        if len(fresh):
            self._volts(step, fresh)
            self._others(step, fresh)

    def _volts(self, step: str, rows: Rows) -> None:
        """Meter *rows*, those once that have the same network."""
        points = [p for p in self.points if p.leads and step in p.steps]
        if not points:
            return
        unlike, same = self.operation.unlike(rows)
        for start in range(0, len(unlike), CHUNK):
            at = solved(self.operation, unlike[start : start + CHUNK])
            mine = (same >= start) & (same < start + CHUNK)
            self._note(step, points, at, rows[mine], same[mine] - start)

    def _note(self, step: str, points: list[Point], at: Solved, rows: Rows, which: NDArray[np.intp]) -> None:
        """Note in *rows* what the furnaces solved read, *which* of them each row is like."""
        for name, by_meter in volts_of(self.operation, points, at).items():
            for meter, values in by_meter.items():
                self.column((name, step, meter))[rows] = values[which]
        if self.off is None or step == self.operation.family.sequence.starts_at:  # with both off it is asked whether a pin is live at rest
            what = all_off(LEAD_OFF, *([self.off] if self.off else []))
            for (name, meter), values in self._volts_with_lead_off(points, at):
                self.lifted.setdefault((with_off(name, what), step, meter), np.full(self.operation.furnaces.rows, np.nan))[rows] = values[which]

    def _volts_with_lead_off(self, points: list[Point], at: Solved) -> Iterator[tuple[tuple[str, str], Floats]]:
        """By point and meter, at an output's own pin. The control senses none of them, so it goes on as it was."""
        family = self.operation.family
        for node in family.output_pins:
            here = [p for p in points if p.leads is not None and node in p.leads]
            if here:
                for name, by_meter in volts_with_open(self.operation, here, at, family.taken_off[node]).items():
                    yield from (((name, meter), values) for meter, values in by_meter.items())

    def _others(self, step: str, rows: Rows) -> None:
        for p in self.points:
            if p.reads and step in p.steps:
                self.column((p.point, step, ""))[rows] = reading(self.operation, p.reads, rows)
        for s in self.signs:
            if s.shows and step in (s.steps or (step,)):
                self.column((s.sign, step, ""))[rows] = shown(self.operation, s.shows, rows)


def only_control_steps(observe: Collector) -> Callable[[str, Rows], None]:
    """*observe*, but not for rest, no power and the technician's calls: these are observed when the technician makes them."""
    sequence = observe.operation.family.sequence
    apart = {sequence.starts_at, sequence.roles.off, sequence.heat_call.step, *(c.step for c in sequence.other_calls)}
    return lambda step, rows: None if step in apart else observe(step, rows)


def observe_all(operation: Operation, collector: Collector, tell: Callable[[str], None]) -> dict[str, Floats]:
    """Take every furnace through rest, its calls and every experiment; note all readings.

    Returns the words about the whole heat call and of the experiments by sign and, under "stops" and "rests", the steps.
    """
    whole, trials = _through_calls(operation, collector, tell)
    return whole | _tried(trials, operation.rows, tell, None)


def _through_calls(operation: Operation, collector: Collector, tell: Callable[[str], None]) -> tuple[dict[str, Floats], Trials]:
    """Take every furnace through rest, a heat call and its end, and the other calls; note all readings.

    Returns the words about the whole heat call by sign and, under "stops" and "rests", the steps; and what to try experiments with.
    """
    o, rows, sequence = operation, operation.rows, operation.family.sequence
    watch = only_control_steps(collector)
    o.run()
    collector(sequence.starts_at, rows)
    tell("heat call")
    rest, burning = o.twin(), o.twin()

    def watch_flame(step: str, at: Rows) -> None:
        watch(step, at)
        lit = at[o.flame[at]]
        burning.take(o, lit, lit)

    o.call(sequence.heat_call.closes)
    o.settle(rows)
    collector(sequence.heat_call.step, rows)
    without = o.furnaces
    o.let_set_in(collector.look_again)
    o.run(watch_flame)
    collector.anew(sequence.heat_call.step, rows[o.rested_in[rows] == o.family.calling])
    result = _of_the_call(o)
    _run_readings(o, collector, rows)
    o.open(sequence.heat_call.closes)
    o.let_go_away(without)
    o.run(watch)
    for call in sequence.other_calls:
        tell(call.step.replace("_", " "))
        collector.operation = called = rest.twin()
        called.let_trip(call.step)
        called.call(call.closes)
        called.run()
        collector(call.step, rows)
        o.blown |= called.blown
    collector.operation = o
    collector(sequence.roles.off, rows)  # after all calls: with a fuse that blew in any of them
    return result, Trials(rest, burning)


def _tried(trials: Trials, rows: Rows, tell: Callable[[str], None], wanted: Collection[str] | None) -> dict[str, Floats]:
    """What comes of every experiment on *rows*, or of those *wanted*, by sign."""
    trials.rest.rows = trials.burning.rows = rows
    result = {}
    for sign in trials.rest.family.signs:
        if isinstance(sign.shows, Trial) and (wanted is None or sign.sign in wanted):
            tell(sign.sign.replace("_", " "))
            result[sign.sign] = trials.come_of(sign.shows)
    return result


def _with_things_off(trials: Trials, rows: Rows) -> dict[str, Collector]:
    """What *rows* read at rest and as each call is made by a wire on the board, with everything off that a set-up takes off at no one point; by set-up."""
    family, collectors = trials.rest.family, {}
    for off in (str(t.set_up) for t in family.wiring.taken_off if t.at is None):
        standing = trials.standing(off)
        collector = collectors[off] = Collector(standing, off)
        collector(family.sequence.starts_at, rows)
        for call in (family.sequence.heat_call, *family.sequence.other_calls):
            collector.operation = o = standing.twin()
            o.call(call.joined)
            if call is not family.sequence.heat_call:
                o.let_trip(call.step)
                o.run()
                collector(call.step, rows)
                continue
            o.settle(rows)
            collector(call.step, rows)
            o.run(most=ANSWERED)
            collector.anew(call.step, rows[o.step[rows] == family.calling])
    return collectors


def _of_the_call(o: Operation) -> dict[str, Floats]:
    said = run_words(o)
    picked = {s.sign: coded(o, s.shows, said[s.shows]) for s in _said_of_calls(o.family) if isinstance(s.shows, str)}
    start, off, calling, string_open = (o.family.steps[o.family.sequence.starts_at], o.family.off, o.family.calling, o.family.string_open)
    furthest = np.array(o.family.order)[o.furthest]
    furthest = np.where(furthest == start, calling, furthest)
    stops = np.where(o.rested_in == string_open, np.where(o.limit_trips > 0, furthest, o.rested_in), furthest)
    rests = np.where(o.rested_in == start, calling, o.rested_in)
    dark = o.rested_in == off
    picked["stops"] = np.where(dark & (o.furthest == 0), calling, stops).astype(float)
    picked["rests"] = np.where(dark, np.where(o.went_dark(), furthest, calling), rests).astype(float)
    return picked


def _said_of_calls(family: Family) -> list[Sign]:
    return [s for s in family.signs if of_whole_call(s)]


def _run_readings(o: Operation, collector: Collector, rows: Rows) -> None:
    rows = rows[~collector.unheard[rows]]
    for p in collector.points:
        if p.function == "watch" and p.reads:
            for step in p.steps:
                collector.column((p.point, step, ""))[rows] = reading(o, p.reads, rows)


def _say_nothing(_share: float, _what: str) -> None:
    """Stands in for a hearer of progress where there is none."""


def build(family: Family, *, sites: int = SITES, seed: int = SEED, tell: Progress | None = None) -> Population:
    """Draw the sites and run every failure on each of them; *tell* hears the share done and what is being done."""
    return observed(*furnaces_of(family, sites=sites, seed=seed), tell=tell)


def observed(
    furnaces: VirtualFurnaces,
    fault_of: NDArray[np.int16],
    site_of: NDArray[np.int16],
    *,
    tell: Progress | None = None,
    wanted: Collection[str] | None = None,
) -> Population:
    """What *furnaces* read and show, taken through everything; with the fault and site of each row. They are changed: those that trip are found so.

    *wanted*: names, with what was taken off for them, if it is enough to know of these: experiments and things taken off are dear.
    """
    report = tell or _say_nothing
    family = furnaces.family
    operation = Operation(furnaces)
    collector = Collector(operation)
    stages = iter(np.linspace(0, 0.95, TOLD))

    def say(what: str) -> None:
        report(float(next(stages, 0.95)), what)

    whole, trials = _through_calls(operation, collector, say)
    operation.put(furnaces)  # those that the calls left behind are a fifth of all memory
    as_found = _as_found(furnaces, operation.blown, site_of, say)
    if as_found is not None:
        as_found.put_among_all(collector, whole, trials)
    every = np.arange(furnaces.rows)
    whole |= _tried(trials, every, say, wanted)
    if as_found is not None:
        as_found.try_on_watched(whole, say, wanted)
    del as_found  # with what was tried on them a tenth of all memory
    taking_off = wanted is None or any(OFF in name for name in wanted)
    with_things_off = _with_things_off(trials, every) if taking_off else {}
    report(1.0, "done")
    changed = collector.lifted | {(with_off(n, off), s, m): v for off, c in with_things_off.items() for (n, s, m), v in c.columns.items()}
    for also_lifted in with_things_off.values():
        changed |= also_lifted.lifted
    return _packed(family, furnaces, fault_of, site_of, collector, whole, changed)


def furnaces_of(
    family: Family, *, sites: int, seed: int, having: Sequence[tuple[Fault, ...]] | None = None
) -> tuple[VirtualFurnaces, NDArray[np.int16], NDArray[np.int16]]:
    """The healthy furnace and every failure on each of *sites* furnaces; with each row's fault and site.

    *having*: failures that are there together, instead of every one by itself; a row's fault is then a number into it. A failure is equally
    bad on a site whatever else is there. One that depends on an option is built on all sites as if they had it.
    """
    numbers, choices = draw_sites(family.furnace, sites, seed)

    def made(groups: Sequence[tuple[Fault, ...]]) -> VirtualFurnaces:
        faults = [(slice(sites * i, sites * (i + 1)), fault) for i, group in enumerate(groups) for fault in group]
        tiled = {name: np.tile(values, len(groups)) for name, values in numbers.items()}
        chosen = {name: np.tile(values, len(groups)) for name, values in choices.items()}
        for where, fault in faults:
            for option, value in family.failure(fault).only_when.items():
                chosen[option][where] = value
        return VirtualFurnaces(family, tiled, chosen, faults, seed=seed + 1)

    together: list[tuple[Fault, ...]] = [(), *([(fault,) for fault in family.faults] if having is None else having)]
    furnaces = made(together)
    coming = [i for i, group in enumerate(together) if any(_sets_in(family, fault) for fault in group)]
    if coming:
        before = made([tuple(fault for fault in together[i] if not _sets_in(family, fault)) for i in coming])
        furnaces.later = _set_in_later(furnaces, before, [together[i] for i in coming], np.array(coming), sites, seed)
    fault_of = np.repeat(np.arange(-1, len(together) - 1), sites).astype(np.int16)
    return furnaces, fault_of, np.tile(np.arange(sites), len(together)).astype(np.int16)


def _sets_in(family: Family, fault: Fault) -> bool:
    """Whether a failure may come in the course of a call."""
    failure = family.failure(fault)
    return failure.comes_and_goes is not None or bool(failure.trips_with)


def is_watched(family: Family, site: NDArray[np.integer]) -> NDArray[np.bool_]:
    """On which sites somebody puts in the fuse or the breaker that a short has opened, and watches until it opens again; the others are found dead."""
    return np.asarray(_watched_before(family, site + 1) > _watched_before(family, site))


def _watched_before(family: Family, site: NDArray[np.integer]) -> NDArray[np.int_]:
    """How many of the sites before each are watched: they are dealt out evenly."""
    return np.asarray(np.floor(site * family.machines.reset_and_watched_share.value), int)


def _set_in_later(
    furnaces: VirtualFurnaces, before: VirtualFurnaces, groups: Sequence[tuple[Fault, ...]], places: NDArray[np.intp], sites: int, seed: int
) -> Later:
    """Take out of *furnaces* what sets in during the heat call only, each group of failures at its place: at its step, or by turns while they burn.

    *before*: the furnaces of the groups without what comes and goes or trips. Of those that quit or trip, half were read before, the others as they
    stand then; on a share of all that come and go it is still there when the call is over, by turns too. What trips stays, where it is watched.
    """
    family, turn = furnaces.family, np.arange(sites)
    failures = [next(family.failure(fault) for fault in group if _sets_in(family, fault)) for group in groups]
    comes = [f.comes_and_goes or ComesAndGoes(share=0.5) for f in failures]
    trips = np.array([bool(f.trips_with) for f in failures])[:, None] & is_watched(family, turn)
    burning = np.array([np.full(sites, c.quits_after_s is not None) & (turn % 2 == 1) for c in comes])
    own = np.array([family.steps[c.from_step] if c.from_step else NOT_LATER for c in comes])
    load = np.array([first_driving(family, f.trips_with) for f in failures])
    step = np.select([burning, trips], [np.full(burning.shape, family.steady), np.broadcast_to(load[:, None], trips.shape)], own[:, None]).ravel()
    seconds = [drawn(c.quits_after_s or (0.0, 0.0), sites, luck(seed + 1, f"{group} quits")) for c, group in zip(comes, groups, strict=True)]
    left = np.array([c.still_there_share for c in comes])[:, None]
    stays = dealt_out(left, turn // 4)
    rows = (places[:, None] * sites + turn).ravel()
    late = np.flatnonzero(step != NOT_LATER)
    also = {c.step: np.array([drives_any(family, c.step, f.trips_with) for f in failures]) for c in family.sequence.other_calls}
    later = Later(
        rows=rows[late],
        ill=furnaces.of(rows[late]),
        step=step[late],
        seconds=np.where(burning, seconds, 0.0).ravel()[late],
        read_before=((burning & (turn // 2 % 2 == 0)) | (trips & (_watched_before(family, turn) % 2 == 0))).ravel()[late],
        stays=(trips | stays).ravel()[late],
        trips=trips.ravel()[late],
        trips_in={call: (trips & does[:, None]).ravel()[late] for call, does in also.items()},
    )
    furnaces.become(rows[late], before, late)
    return later


def drives_any(family: Family, step: str, outputs: Collection[str]) -> bool:
    """Whether a step drives any of *outputs*, on furnaces with whatever options."""
    return not family.sequence.steps[family.steps[step]].may_drive.isdisjoint(outputs)


def first_driving(family: Family, outputs: Collection[str]) -> int:
    """The number of the first step of a good heat call that drives any of *outputs*, NOT_LATER where none does."""
    return next((family.steps[s] for s in family.sequence.order if drives_any(family, s, outputs)), NOT_LATER)


@dataclass(frozen=True)
class _AsFound:
    """Furnaces whose fuse blew or breaker tripped in a call, taken by themselves through the calls as they are found after that.

    *rows*: which of all *furnaces* these are. *watched*: on which of these somebody watched up to it, shape (len(rows),). *collector*, *of_calls*:
    what these read, and what came of their heat call. *trials*: what to try things with on them.
    """

    furnaces: VirtualFurnaces
    rows: Rows
    watched: Flags
    collector: Collector
    of_calls: dict[str, Floats]
    trials: Trials

    def put_among_all(self, collector: Collector, whole: dict[str, Floats], trials: Trials) -> None:
        """Let those that nobody watched be observed, and things be tried on them, as they are found; the others stay as they stood before it."""
        places = np.flatnonzero(~self.watched)
        rows = self.rows[places]
        collector.take(self.collector, rows, places)
        for name, values in self.of_calls.items():
            whole[name][rows] = values[places]
        trials.take(self.trials, rows, places)

    def try_on_watched(self, whole: dict[str, Floats], tell: Callable[[str], None], wanted: Collection[str] | None) -> None:
        """Put into *whole* what comes, on those that were watched, of the experiments of which nothing comes before a furnace is as found."""
        places = np.flatnonzero(self.watched)
        trials = [(s.sign, s.shows) for s in self.furnaces.family.signs if isinstance(s.shows, Trial) and (wanted is None or s.sign in wanted)]
        only_then = {name: which for name, trial in trials if (which := _tried_as_found(self.furnaces, trial)[self.rows[places]]).any()}
        for name, values in _tried(self.trials, places, tell, only_then).items():
            at = places[only_then[name]]
            whole[name][self.rows[at]] = values[at]


def _as_found(furnaces: VirtualFurnaces, blown: Flags, site_of: NDArray[np.int16], tell: Callable[[str], None]) -> _AsFound | None:
    """The furnaces that have lost their supply in a call; None where none has. *blown*: whose fuse did so."""
    lost = blown.copy()
    if furnaces.later is not None:
        lost[furnaces.later.rows[furnaces.later.trips]] = True
    rows = np.flatnonzero(lost)
    if not len(rows):
        return None
    watched = is_watched(furnaces.family, site_of[rows])
    collector = Collector(Operation(found_tripped(furnaces, rows), blown=blown[rows]))
    collector.unheard = watched  # they run along for the sake of what is tried
    of_calls, trials = _through_calls(collector.operation, collector, tell)
    return _AsFound(furnaces, rows, watched, collector, of_calls, trials)


def _tried_as_found(furnaces: VirtualFurnaces, trial: Trial) -> Flags:
    """On which furnaces nothing comes of a trial before they are as found: it is about what is broken then, or makes the call that trips them."""
    family, later = furnaces.family, furnaces.later
    result = np.full(furnaces.rows, trial.found_broken is not None)
    if later is not None:
        joined = {name for go in trial.tries for name in go.joins}
        trips_at_once = later.trips & (later.step == family.first_driven)
        for call, trips in ((family.sequence.heat_call, trips_at_once), *((c, later.trips_in[c.step]) for c in family.sequence.other_calls)):
            if joined & call.made_by:
                result[later.rows[trips]] = True
    return result


def found_tripped(furnaces: VirtualFurnaces, rows: Rows | None = None) -> VirtualFurnaces:
    """The furnaces, or some of them by themselves, as found: what trips is there from the start, and what else sets in during a call is still to come."""
    rows = np.arange(furnaces.rows) if rows is None else rows
    found = furnaces.of(rows)
    later = furnaces.later.among(rows) if furnaces.later is not None else None
    if later is not None:
        places = np.flatnonzero(later.trips)
        found.become(later.rows[places], later.ill, places)
        found.later = later.without(later.trips)
    return found


def _packed(
    family: Family,
    furnaces: VirtualFurnaces,
    fault_of: NDArray[np.int16],
    site_of: NDArray[np.int16],
    collector: Collector,
    whole: dict[str, Floats],
    changed: dict[Key, Floats],
) -> Population:
    for sign in (s for s in _said_of_calls(family) if s.sign in whole):
        collector.columns[(sign.sign, WHOLE_CALL, "")] = whole[sign.sign]
    for sign in (s for s in family.signs if s.after_call):
        collector.columns[(sign.sign, WHOLE_CALL, "")] = _once_over(family, sign.sign, collector, whole["rests"])
    options = {name: _numbered(list(option.values), furnaces.choices[name]) for name, option in family.furnace.options.items()}
    columns, table = _as_table(collector.columns, furnaces.rows)
    changed_columns, changed_table = _as_table(changed, furnaces.rows)
    return Population(
        family=family.furnace.furnace,
        faults=family.faults,
        steps=tuple(family.steps),
        fault_of=fault_of,
        site_of=site_of,
        options=options,
        columns=columns,
        table=table,
        changed_columns=changed_columns,
        changed=changed_table,
        stops=whole["stops"].astype(np.int8),
        rests=whole["rests"].astype(np.int8),
    )


def _once_over(family: Family, sign: str, collector: Collector, rests: Floats) -> Floats:
    """What a sign shows of each furnace where its heat call comes to rest; nan where the sign is not looked at there."""
    shown = np.full(len(rests), np.nan)
    for number, step in enumerate(family.steps):
        column, here = collector.columns.get((sign, step, "")), rests == number
        if column is not None:
            shown[here] = column[here]
    return shown


def _numbered(values: list[str], chosen: NDArray[np.str_]) -> NDArray[np.int8]:
    """The place among *values* of each that was chosen."""
    each, which = np.unique(chosen, return_inverse=True)
    return np.array([values.index(value) for value in each], np.int8)[which]


def with_all_of(other: Population, made: Population) -> Population:
    """*made* with a column for each that *other* has, these first. A step that none of the furnaces of *made* comes to is foretold as never."""
    columns, table = _filled(other.columns, made.columns, made.table)
    changed_columns, changed = _filled(other.changed_columns, made.changed_columns, made.changed)
    return replace(made, columns=columns, table=table, changed_columns=changed_columns, changed=changed)


def _filled(wanted: dict[Key, int], columns: dict[Key, int], table: NDArray[np.float16]) -> tuple[dict[Key, int], NDArray[np.float16]]:
    never = np.full(table.shape[1], np.nan, np.float16)
    keys = list(dict.fromkeys([*wanted, *columns]))
    rows = [columns.get(k, columns.get((k[0], k[1], "high") if k[2] == "low" else k)) for k in keys]
    filled = np.array([never if i is None else table[i] for i in rows], np.float16).reshape(len(keys), table.shape[1])
    return {key: i for i, key in enumerate(keys)}, filled


def _as_table(columns: dict[Key, Floats], rows: int) -> tuple[dict[Key, int], NDArray[np.float16]]:
    """The columns worth keeping, by their place, and the table of them."""
    kept = [key for key in columns if _is_kept(key, columns)]
    table = np.empty((len(kept), rows), np.float16)
    with np.errstate(over="ignore"):
        for i, key in enumerate(kept):
            table[i] = columns[key]
    return {key: i for i, key in enumerate(kept)}, table


def _is_kept(key: Key, columns: dict[Key, Floats]) -> bool:
    """A low-impedance reading is kept only where it differs from the usual one somewhere."""
    if key[2] != "low":
        return True
    usual = columns[(key[0], key[1], "high")]
    return bool(np.nanmax(np.abs(usual - columns[key]), initial=0.0) > FLOATS)
