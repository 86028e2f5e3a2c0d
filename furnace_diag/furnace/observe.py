"""What a technician would read or see on virtual furnaces, at one moment of their run."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from furnace_diag.furnace.network import METER_OHMS
from furnace_diag.furnace.operate import GLOW_BRIGHT, GLOW_DULL, Operation, Rows
from furnace_diag.furnace.virtual import Flags, Floats, between, loaded
from furnace_diag.knowledge.models import Point
from furnace_diag.knowledge.words import SHOWS

OVER_LIMIT = 40e6  # ohms; above it a usual meter shows OL, common practice
DISPLAY_VOLTS = 15.0  # a thermostat on wires goes dark below it, judgement
CONTACTOR_VOLTS = 17.0  # coils give up near 16 to 18 V, from a maker's transformer page
STIFF = 0.5


def volts_at(operation: Operation, points: list[Point], rows: Rows) -> dict[str, dict[str, Floats]]:
    """Volts [V rms] of points with leads, by point and meter ("high", "low"), shape (len(rows),).

    The meter loads the circuit: by Thevenin, its share of open voltage is its resistance over the sum of both.
    """
    network, index = operation.family.network, operation.family.network.index
    factored, into = operation.factored(rows)
    volts = network.solve(factored, into[:, None, :])[:, 0]
    result: dict[str, dict[str, Floats]] = {}
    for point in points:
        if point.leads is None:
            continue
        open_volts, source = between(volts, index, point.leads), network.source_ohms(factored, *point.leads)
        result[point.point] = {meter: np.abs(loaded(open_volts, source, meter)) for meter in METER_OHMS}
    return result


def reading(operation: Operation, reads: str, rows: Rows) -> Floats:
    """A number that is not a voltage (see knowledge.cross.READS), shape (len(rows),); nan where it cannot be read."""
    way, _, elements = reads.partition(":")
    if elements:  # several of them in series add up
        return np.asarray(sum(_of_element(operation, way, element) for element in elements.split("+")))[rows]
    return np.asarray(_READINGS[reads](operation)[rows])


def _of_element(operation: Operation, way: str, element: str) -> Floats:
    furnaces, i = operation.furnaces, operation.family.number[element]
    if way == "amps":
        return operation.amps(element)
    if way == "microfarads":
        return np.where(furnaces.forced[i] < 0, 0.0, furnaces.microfarads[i])
    resting = operation.family.elements[i].normally == "open"
    open_ = (furnaces.forced[i] < 0) | (resting & (furnaces.forced[i] == 0))
    if operation.family.elements[i].fuse_amps:
        open_ = open_ | operation.blown
    return np.where(open_ | (furnaces.ohms[i] > OVER_LIMIT), np.inf, furnaces.ohms[i])


def _over_limit(quantity: str) -> Callable[[Operation], Floats]:
    return lambda o: np.where(o.q(quantity) > OVER_LIMIT, np.inf, o.q(quantity))


def _rise(o: Operation) -> Floats:
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(o.flame & o.blower_running(), o.rise(), np.nan)


def _static(o: Operation) -> Floats:
    # pressure goes as the square of flow (fan law); a filter's loss as the square of flow through what is open of it
    return np.asarray(o.q("static_pressure") * (o.airflow() / np.maximum(o.q("filter_open"), 0.05)) ** 2)


def _seconds(of: str, since: str) -> Callable[[Operation], Floats]:
    return lambda o: np.asarray(o.times[of] - o.times[since])


def _inlet(o: Operation) -> Floats:
    # a supply that is low at rest is lower under flow, judgement
    return np.where(o.gas_flows(), o.q("inlet_pressure") * 0.93, o.q("inlet_pressure"))


_READINGS: dict[str, Callable[[Operation], Floats]] = {
    "flame_current": Operation.flame_current,
    "draft": Operation.draft,
    "inlet_pressure": _inlet,
    "manifold_pressure": Operation.manifold,
    "temperature_rise": _rise,
    "static_pressure": _static,
    "burner_ground_ohms": _over_limit("burner_ground_ohms"),
    "rod_ohms_to_case": _over_limit("rod_ohms_to_case"),
    "rod_wire_ohms": _over_limit("rod_wire_ohms"),
    "seconds_to_blower": _seconds("blower_on", "gas_on"),
    "seconds_of_flame": _seconds("flame_off", "flame_on"),
    "seconds_to_draft": _seconds("draft", "inducer_on"),
}


# --- what is seen -----------------------------------------------------------------------------


def shown(operation: Operation, name: str, rows: Rows) -> Floats:
    """What is seen of *name* (see knowledge.words.SHOWS), as the place of the word in its list, shape (len(rows),)."""
    words = SHOWS[name]
    picked = _SHOWN[name](operation)
    return np.asarray(np.select([flags for _, flags in picked], [words.index(w) for w, _ in picked], default=np.nan)[rows], float)


Picked = list[tuple[str, Flags]]


def _yes(flags: Flags) -> Picked:
    return [("yes", flags), ("no", ~flags)]


def _two(flags: Flags, if_so: str, if_not: str) -> Picked:
    return [(if_so, flags), (if_not, ~flags)]


def _inducer(o: Operation) -> Picked:
    running = o.inducer_running()
    return [("slow", running & (o.inducer_speed() < 0.8)), ("yes", running), ("hums", o.inducer_humming()), ("no", ~running)]


def _blower(o: Operation) -> Picked:
    running = o.blower_running()
    return [("slow", o.blower_straining()), ("yes", running), ("hums", o.blower_energised() & _drawing(o)), ("no", ~running)]


def _drawing(o: Operation) -> Flags:
    return np.asarray(o.amps("blower_overload") > 0.3)


def _glow(o: Operation) -> Picked:
    glow = o.glow()
    return [("yes", glow > GLOW_BRIGHT), ("dull", glow > GLOW_DULL), ("no", glow <= GLOW_DULL)]


def _dark(o: Operation) -> Flags:
    dead = o.furnaces.senses.get("logic", np.zeros(o.furnaces.rows)) != 0
    return np.asarray((o.across("board_r", "board_common") < 12) | dead)


def _light_says(o: Operation) -> Picked:
    meaning = o.family.sequence.light
    says = np.array([meaning.get(s.step, meaning["otherwise"]) for s in o.family.sequence.steps])[o.step]
    return [("dark", _dark(o)), *((word, says == word) for word in SHOWS["light_says"])]


def _light(o: Operation) -> Picked:
    says = dict(_light_says(o))
    return [("dark", _dark(o)), ("steady", says["no_fault"]), ("blinking", ~says["no_fault"])]


def _air(o: Operation) -> Picked:
    air = o.airflow()
    return [("none", air < 0.15), ("weak", air < 0.65), ("normal", air >= 0.65)]


def _relay_clicks(o: Operation) -> Flags:
    # a relay whose contact is burnt or does not close still clicks when it is driven
    return np.asarray(o.moved["blower_heat"] | o.moved["blower_cool"] | o.moved["blower_fan"])


def _valve_clicks(o: Operation) -> Picked:
    whole = o.furnaces.forced[o.family.number["valve_coil"]] >= 0
    return _yes(np.asarray((o.over("valve_coil") > o.q("valve_pull_in_volts")) & whole & (o.q("valve_opens") > STIFF)))


def _display(o: Operation) -> Picked:
    fed = (o.across("thermostat_r", "thermostat_c") > DISPLAY_VOLTS) | (o.furnaces.choices["thermostat_power"] == "batteries")
    return _two(fed, "lit", "dark")


def _contact(element: str, follows: str | None) -> Callable[[Operation], Picked]:
    def state(o: Operation) -> Picked:
        forced = o.furnaces.forced[o.family.number[element]]
        moved = o.moved[follows] if follows else np.full(o.furnaces.rows, True)
        return _two(np.where(forced == 0, moved, forced > 0), "closed", "open")

    return state


def _below(quantity: str, bound: float, if_so: str, if_not: str) -> Callable[[Operation], Picked]:
    return lambda o: _two(o.q(quantity) < bound, if_so, if_not)


def _spun(o: Operation) -> Picked:
    return _two(o.blower_running(spun=True) & _drawing(o), "runs", "does_not_run")


def _hot(o: Operation) -> Picked:
    stalled = o.blower_energised() & _drawing(o) & ~o.blower_running()
    return _two(stalled | o.blower_straining() | (o.q("blower_hot") > STIFF), "hot", "normal")


def _rod(o: Operation) -> Picked:
    filmed = (o.q("flame_signal") < STIFF) & (o.q("flame_signal") > 0) & (o.q("burner_ground_ohms") < 2) & _grounded(o)
    return _two(filmed, "filmed", "clean")


def _grounded(o: Operation) -> Flags:
    return np.asarray(o.furnaces.forced[o.family.number["ground_wire"]] >= 0)


def _heat_lead(o: Operation) -> Picked:
    return _two(o.furnaces.forced[o.family.number["heat_lead"]] < 0, "elsewhere", "on_heat_terminal")


def _breaker(o: Operation) -> Picked:
    return _two(o.furnaces.forced[o.family.number["breaker"]] < 0, "tripped", "closed")


_SHOWN: dict[str, Callable[[Operation], Picked]] = {
    "inducer_motion": _inducer,
    "blower_motion": _blower,
    "glow": _glow,
    "flame": lambda o: _yes(o.flame),
    "light": _light,
    "light_says": _light_says,
    "valve_clicks": _valve_clicks,
    "blower_relay_clicks": lambda o: _yes(_relay_clicks(o)),
    "inducer_relay_clicks": lambda o: _yes(o.moved["inducer"]),
    "thermostat_display": _display,
    "outdoor_unit": lambda o: _yes(o.over("contactor_coil") > CONTACTOR_VOLTS),
    "air": _air,
    "fuse": lambda o: _two(o.blown | (o.furnaces.forced[o.fuse or 0] < 0), "blown", "good"),
    "breaker": _breaker,
    "limit_contact": _contact("limit_contact", "limit_cool"),
    "rollout_contact": _contact("rollout_contact", None),
    "pressure_switch_contact": _contact("pressure_contact", "draft_made"),
    "blower_case": _hot,
    "spun_by_hand": _spun,
    "blower_free": _below("blower_turns", STIFF, "stiff", "free"),
    "inducer_free": _below("inducer_turns", STIFF, "stiff", "free"),
    "gas_cock": _below("inlet_pressure", 0.1, "shut", "open"),
    "filter": _below("filter_open", STIFF, "blocked", "clean"),
    "hose": _below("hose", STIFF, "off_or_cracked", "good"),
    "port": _below("port", STIFF, "plugged", "clear"),
    "vent": _below("vent_open", 0.7, "blocked", "clear"),
    "rod": _rod,
    "heat_lead": _heat_lead,
}


# --- what is said of a whole heat call --------------------------------------------------------


def run_words(operation: Operation) -> dict[str, Picked]:
    """Words about a heat call that has come to rest, shape (rows,)."""
    o, steps = operation, operation.family.steps
    held = o.furthest >= o.family.sequence.order.index("heating")
    stops = np.array(o.family.sequence.order)[o.furthest]
    stops = np.where(stops == "standby", "call", stops)
    chain = (o.rested_in == steps["chain_open"]) & (stops != "heating")
    stops = np.select(
        [_dark(o), o.rested_in == steps["flame_without_call"], chain], ["dark", "flame_without_call", "chain_open"], default=stops
    )
    turned = ~np.isnan(o.times["blower_on"])
    after_trip = ~turned & (o.limit_trips > 0) & o.blower_running()
    idle = _dark(o) & ~o.blower_running() & ~o.inducer_running()
    return {
        "stops_at": [(word, stops == word) for word in SHOWS["stops_at"]],
        "burners": [("stay_lit", held & o.ever_lit), ("drop_out", o.ever_lit), ("never_light", ~o.ever_lit)],
        "blower_in_heat": [("starts", turned), ("starts_after_limit_trip", after_trip), ("never", ~turned & held)],
        "whole_furnace": _two(idle, "dead", "does_something"),
    }

