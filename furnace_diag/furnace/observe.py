"""What a technician would read or see on virtual furnaces, at one moment of their run."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from furnace_diag.furnace.moment import Rows
from furnace_diag.furnace.network import METER_OHMS, OPEN, Complex
from furnace_diag.furnace.operate import Operation
from furnace_diag.furnace.virtual import Flags, Floats, between, dealt_out, loaded
from furnace_diag.knowledge.models import Point, State, Trial
from furnace_diag.knowledge.words import DARK, SHOWS, SILENT, STRING_SILENT, UNHEARD, words_of

OTHERWISE = "otherwise"  # what the light says in a step that the sequence gives no meaning
OVER_BETWEEN = 5e6  # ohms between two nodes that are shown as OL; the network's own leaks reach down to some 15 million
OVER_LIMIT = 40e6  # ohms; above it a usual meter shows OL, common practice
# share of those who see a flame go out within seconds and say that the blower does not start in heat, though it had no flame to start for; judgement
SAID_ALL_THE_SAME = 0.1


@dataclass(frozen=True)
class Solved:
    """The networks of some *rows* as they stand: the eliminated matrix, and the voltage of every node [V], shape (nodes, len(rows))."""

    rows: Rows
    factored: Complex
    volts: Complex


def solved(operation: Operation, rows: Rows) -> Solved:
    """The networks of *rows* solved as they stand; the voltages of those that the operation has solved so are taken from it."""
    factored, into = operation.factored(rows)
    if operation.has_solved(rows):
        return Solved(rows, factored, operation.volts.take(rows, axis=1))
    return Solved(rows, factored, operation.driven(factored, into))


def volts_at(operation: Operation, points: list[Point], rows: Rows) -> dict[str, dict[str, Floats]]:
    """Volts [V rms] of points with leads, by point and meter ("high", "low"), shape (len(rows),)."""
    return volts_of(operation, points, solved(operation, rows))


def volts_of(operation: Operation, points: Iterable[Point], at: Solved) -> dict[str, dict[str, Floats]]:
    """Volts [V rms] of points with leads, by point and meter ("high", "low"), shape (rows solved,).

    The meter loads the circuit: by Thevenin, its share of open voltage is its resistance over the sum of both.
    """
    network = operation.family.network
    result: dict[str, dict[str, Floats]] = {}
    for point in points:
        if point.leads is None:
            continue
        open_volts, source = between(at.volts, network.index, point.leads), network.source_ohms(at.factored, *point.leads)
        result[point.point] = {meter: np.abs(loaded(open_volts, source, meter)) for meter in METER_OHMS}
    return result


def volts_with_open(operation: Operation, points: Sequence[Point], at: Solved, elements: Sequence[str]) -> dict[str, dict[str, Floats]]:
    """The same with *elements* opened and nothing else changed; they must be wound on no core.

    By Woodbury: what the network loses is of the rank of the elements, so it need not be eliminated anew.
    """
    network, family = operation.family.network, operation.family
    pairs = [family.elements[family.number[e]].between or ("", "") for e in elements]
    lost = operation.conducting(at.rows, [family.number[e] for e in elements]) - OPEN
    into = np.zeros((network.size, len(pairs), len(at.rows)), np.complex128)
    for i, pair in enumerate(pairs):
        for node, sign in zip(pair, (1, -1), strict=True):
            if node in network.index:
                into[network.index[node], i] = sign
    fed = frozenset(node for pair in pairs for node in pair)
    raised = network.solve(at.factored, into, fed, fed.union(*(p.leads for p in points if p.leads)))
    seen = np.array([between(raised, network.index, pair) for pair in pairs])  # from each pair, what a current into each raises
    left = np.moveaxis(np.eye(len(pairs))[:, :, None] - lost[:, None] * seen, -1, 0)
    drive = lost * np.array([between(at.volts, network.index, pair) for pair in pairs])
    flow = np.linalg.solve(left, drive.T[..., None])[..., 0].T
    result: dict[str, dict[str, Floats]] = {}
    for point in points:
        if point.leads is None:
            continue
        reach = between(raised, network.index, point.leads)
        open_volts = between(at.volts, network.index, point.leads) + (reach * flow).sum(axis=0)
        more = np.linalg.solve(left, (lost * reach).T[..., None])[..., 0].T
        source = network.source_ohms(at.factored, *point.leads) + (reach * more).sum(axis=0)
        result[point.point] = {meter: np.abs(loaded(open_volts, source, meter)) for meter in METER_OHMS}
    return result


def ohms_between(operation: Operation, pair: tuple[str, str], rows: Rows) -> Floats:
    """What an ohmmeter reads between two nodes of a dead furnace [ohm], shape (len(rows),); inf where it shows OL.

    Its current is direct and small: coils are their wire, capacitors and strays nothing, windings do not feel one another,
    heaters are cold. Whoever asks sees to it that the furnace is dead.
    """
    furnaces, network = operation.furnaces, operation.family.network
    closed = np.abs(operation.conducting(rows)) > 2 * OPEN
    holds = np.array([e.kind in ("capacitor", "stray") for e in operation.family.elements])[:, None] & ~furnaces.shorted[:, rows]
    y = np.where(closed & ~holds, 1 / furnaces.ohms[:, rows], OPEN).astype(np.complex128)
    none = [np.zeros(len(rows), np.complex128) for _ in network.branches.cores]
    factored = network.factor(network.matrix(y, none, furnaces.turns[:, rows]))
    ohms = network.source_ohms(factored, *pair).real
    return np.where(ohms > OVER_BETWEEN, np.inf, ohms)


def reading(operation: Operation, reads: str, rows: Rows) -> Floats:
    """A number that is not a voltage (see knowledge.cross.READS), shape (len(rows),); nan where it cannot be read."""
    way, _, name = reads.partition(":")
    if way == "number":
        return np.asarray(_as_metered(operation.q(name)[rows]))
    if name:  # several elements in series add up
        return np.asarray(sum(_of_element(operation, way, element) for element in name.split("+")))[rows]
    return np.asarray(_READINGS[reads](operation)[rows])


def _of_element(operation: Operation, way: str, element: str) -> Floats:
    furnaces, i = operation.furnaces, operation.family.number[element]
    if way == "amps":
        return operation.amps(element)
    if way == "microfarads":
        return np.where((furnaces.forced[i] < 0) | furnaces.shorted[i], 0.0, furnaces.microfarads[i])
    resting = operation.family.elements[i].normally == "open"
    open_ = operation.broken(element) | (resting & (furnaces.forced[i] == 0))
    return np.where(open_, np.inf, _as_metered(furnaces.ohms[i] - furnaces.unseen[i]))


def _as_metered(ohms: Floats) -> Floats:
    return np.where(ohms > OVER_LIMIT, np.inf, ohms)


def _rise(o: Operation) -> Floats:
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(o.flame & o.blower_running(), o.rise(), np.nan)


def _seconds(of: str, since: str) -> Callable[[Operation], Floats]:
    return lambda o: np.asarray(o.times[of] - o.times[since])


_READINGS: dict[str, Callable[[Operation], Floats]] = {
    "flame_current": Operation.flame_current,
    "draft": Operation.draft,
    "inlet_pressure": Operation.inlet,
    "manifold_pressure": Operation.manifold,
    "temperature_rise": _rise,
    "static_pressure": Operation.static,
    "seconds_to_blower": _seconds("blower_on", "gas_on"),
    "seconds_of_flame": _seconds("flame_off", "flame_on"),
    "seconds_to_draft": _seconds("draft", "inducer_on"),
}


# --- what is seen -----------------------------------------------------------------------------


Picked = list[tuple[str, Flags]]


def shown(operation: Operation, shows: str | State | Trial, rows: Rows) -> Floats:
    """What is seen of what a sign `shows`, as the place of the word among its words (see knowledge.words), shape (len(rows),).

    What has to be tried is not seen: nan.
    """
    if isinstance(shows, Trial):
        return np.full(len(rows), np.nan)
    picked = _two(holds(operation, shows), shows.so, shows.otherwise) if isinstance(shows, State) else _SHOWN[shows](operation)
    return np.asarray(coded(operation, shows, picked)[rows])


def coded(operation: Operation, shows: str | State, picked: Picked) -> Floats:
    """The first word that holds in each row, as its place among the words of what a sign `shows`; nan where none does."""
    words = words_of(shows, operation.family.sequence)
    return np.asarray(np.select([flags for _, flags in picked], [words.index(w) for w, _ in picked], default=np.nan), float)


def holds(operation: Operation, state: State) -> Flags:
    """Whether a state holds now, shape (rows,)."""
    o = operation
    if state.closed is not None:
        so = o.closed(state.closed)
    elif state.broken is not None:
        so = o.broken(state.broken)
    elif state.driven is not None:
        so = np.logical_or.reduce([o.moved[output] for output in state.driven])
    else:
        so = _in_bounds(_measure(o, state), state)
    for option, value in state.or_option.items():
        so = so | (o.furnaces.choices[option] == value)
    return np.asarray(so)


def _measure(o: Operation, state: State) -> Floats:
    if state.number is not None:
        return o.q(state.number)
    if state.volts_on is not None:
        return o.over(state.volts_on)
    assert state.volts_between is not None
    return o.across(*state.volts_between)


def _in_bounds(values: Floats, state: State) -> Flags:
    if state.above is not None:
        return np.asarray(values > state.above)
    assert state.below is not None
    return np.asarray(values < state.below)


def _yes(flags: Flags) -> Picked:
    return [("yes", flags), ("no", ~flags)]


def _two(flags: Flags, if_so: str, if_not: str) -> Picked:
    return [(if_so, flags), (if_not, ~flags)]


def _inducer(o: Operation) -> Picked:
    running = o.inducer_running()
    return [("slow", o.inducer_slow()), ("yes", running), ("hums", o.inducer_humming()), ("no", ~running)]


def _blower(o: Operation) -> Picked:
    running = o.blower_running()
    return [("slow", o.blower_slow()), ("yes", running), ("hums", o.blower_energised() & o.blower_drawing()), ("no", ~running)]


def _glow(o: Operation) -> Picked:
    glow, m = o.glow(), o.machines.igniter
    dull = m.dull_above_share.value
    return [("yes", glow > m.bright_above_share.value), ("dull", glow > dull), ("no", glow <= dull)]


def _dark(o: Operation) -> Flags:
    m = o.machines.indicator
    fed = o.family.sequence.inputs[m.fed_as]
    dead = o.furnaces.senses.get(str(fed.hidden_by), np.zeros(o.furnaces.rows)) != 0
    assert fed.between is not None
    return np.asarray((o.across(*fed.between) < m.dark_below_volts.value) | dead)


def _light_says(o: Operation) -> Picked:
    meaning = o.family.sequence.light
    says = np.array([meaning.get(s.step, meaning[OTHERWISE]) for s in o.family.sequence.steps])[o.step]
    return [(DARK, _dark(o)), *((word, says == word) for word in words_of("light_says", o.family.sequence))]


def _light(o: Operation) -> Picked:
    steady = dict(_light_says(o))[o.family.sequence.light[OTHERWISE]]
    return [(DARK, _dark(o)), ("steady", steady), ("blinking", ~steady)]


def _air(o: Operation) -> Picked:
    air, m = o.airflow(), o.machines.air
    weak = m.weak_below_share.value
    return [("none", air < m.none_below_share.value), ("weak", air < weak), ("normal", air >= weak)]


def _spun(o: Operation) -> Picked:
    """Nothing of a blower that runs: no wheel is given a push that turns."""
    stands, runs = ~o.blower_running(), o.blower_running(spun=True) & o.blower_drawing()
    return [("runs", stands & runs), ("does_not_run", stands & ~runs)]


def _hot(o: Operation) -> Picked:
    stalled = o.blower_energised() & o.blower_drawing() & ~o.blower_running()
    return _two(stalled | o.blower_slow() | (o.q(o.machines.blower.hot) > 0.5), "hot", "normal")


_SHOWN: dict[str, Callable[[Operation], Picked]] = {
    "inducer_motion": _inducer,
    "blower_motion": _blower,
    "glow": _glow,
    "flame": lambda o: _yes(o.flame),
    "light": _light,
    "light_says": _light_says,
    "valve_clicks": lambda o: _yes(o.valve_pulled_in()),
    "air": _air,
    "blower_case": _hot,
    "spun_by_hand": _spun,
}


# --- what is said of a whole heat call --------------------------------------------------------


def run_words(operation: Operation) -> dict[str, Picked]:
    """Words about a heat call that has come to rest, shape (rows,)."""
    o, sequence = operation, operation.family.sequence
    held = (o.furthest >= o.family.order.index(o.family.steady)) | (o.limit_trips > 0)  # burnt until it was stopped for heat, or burns
    turned = ~np.isnan(o.times["blower_on"])
    after_trip = ~turned & ~np.isnan(o.times["blower_after_trip"])
    said = dealt_out(SAID_ALL_THE_SAME, np.arange(o.furnaces.rows))
    still = ~o.blower_running() & ~o.inducer_running()
    stops = _stops(o)
    return {
        "stops_at": [(word, stops == word) for word in words_of("stops_at", sequence)],
        "tries": _tries(o),
        "burners": [
            ("go_out_later", held & o.ever_lit & ((o.limit_trips > 0) | ~o.flame)),
            ("stay_lit", held & o.ever_lit),
            ("drop_out", o.ever_lit),
            ("never_light", ~o.ever_lit),
        ],
        "blower_in_heat": [("starts", turned), ("starts_after_limit_trip", after_trip), ("never", ~turned & (held | (o.ever_lit & said)))],
        "whole_furnace": [("dead", _dark(o) & still & ~o.went_dark()), ("idle", still & _nothing_ran(o)), ("does_something", np.ones_like(still))],
    }


def _nothing_ran(o: Operation) -> Flags:
    """Whether the heat call set nothing going, though a motor without its winding may have been switched on."""
    ran = ("inducer_on", "inducer_hums", "blower_on", "flame_on")
    return np.asarray(np.logical_and.reduce([np.isnan(o.times[name]) for name in ran]))


def _tries(o: Operation) -> Picked:
    """How often a control that has given up tried to light; the first word where it has not given up."""
    tried, words = np.zeros(o.furnaces.rows, int), SHOWS["tries"]
    given_up = ((counter, leave.go) for counter in o.counts for s in o.family.sequence.steps for leave in s.leave if f"{counter} spent" in leave.if_)
    for counter, step in given_up:
        tried = np.where(o.rested_in == o.family.steps[step], np.minimum(o.counts[counter], len(words) - 1), tried)
    return [(word, tried == i) for i, word in enumerate(words)]


def _stops(o: Operation) -> NDArray[np.str_]:
    """Where the heat call of each row stops, in a word."""
    sequence, steps = o.family.sequence, o.family.steps
    roles = sequence.roles
    reached = np.array(sequence.order)[o.furthest]
    reached = np.where(reached == sequence.starts_at, sequence.heat_call.step, reached)
    string_open = (o.rested_in == steps[roles.string_open]) & (reached != sequence.order[-1])
    unwanted = o.rested_in == steps[roles.unwanted_flame]
    silent = (reached == sequence.steps[o.family.first_driven].step) & _nothing_ran(o)
    driving = {s.step for s in sequence.steps if o.machines.valve.driven_by in s.drives}
    trial = next(step for step in sequence.order if step in driving)
    unheard = (reached == trial) & np.isnan(o.times["valve_clicks"]) & ~o.went_dark()
    which = [_dark(o) & ~o.went_dark(), unwanted, string_open & _nothing_ran(o), string_open, silent, unheard]
    return np.select(which, [DARK, roles.unwanted_flame, STRING_SILENT, roles.string_open, SILENT, UNHEARD], default=reached)
