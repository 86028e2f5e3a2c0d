"""Acts of a drill with the hands: leads and plugs off and back, the capacitor discharged, the gas cock, the pressure taps, soap."""

from __future__ import annotations

from dataclasses import replace

from furnace_diag.training.acts import HANDLING_MINUTES, Act, Told
from furnace_diag.training.bench import takes_off
from furnace_diag.training.touching import ends_of, hurts_when_live
from furnace_diag.training.under_way import Hear, UnderWay


def lift(drill: UnderWay, act: Act, _hear: Hear) -> Told:
    """A lead, plug or hose off."""
    name = str(act.what)
    taken = dict(takes_off(drill.family))[name]
    if name in drill.bench.lifted:
        return Told("cannot", "That is off already.")
    stopped = hurts_when_live(drill, ends_of(drill.family, taken.opens), f"taking off {name}", charge=False)
    if stopped is not None:
        return stopped
    drill.minutes += HANDLING_MINUTES
    drill.bench.take_off(name, taken)
    return Told("done", f"Off: {name}. Mark where it belongs.", ("dead_first",))


def back(drill: UnderWay, act: Act, _hear: Hear) -> Told:
    """What was off in its place again."""
    name = str(act.what)
    if name not in drill.bench.lifted:
        return Told("cannot", "That is in its place.")
    stopped = hurts_when_live(drill, ends_of(drill.family, drill.bench.lifted[name].opens), f"putting back {name}", charge=False)
    if stopped is not None:
        return stopped
    drill.minutes += HANDLING_MINUTES
    drill.bench.put_back(name)
    return Told("done", f"Back in its place: {name}.")


def discharge(drill: UnderWay, _act: Act, _hear: Hear) -> Told:
    """The run capacitor emptied."""
    if not drill.bench.isolated:
        return drill.stop("discharging the capacitor: the power is not off", "The power is not off.", "dead_first")
    drill.minutes += HANDLING_MINUTES
    drill.bench.charged = False
    return Told("done", "Discharged through a resistor, and proved empty.", ("capacitor_charged",))


def gas(drill: UnderWay, act: Act, hear: Hear) -> Told:
    """The gas cock."""
    told = drill.gas.turn(act)
    if told.kind == "done":
        drill.minutes += HANDLING_MINUTES
        drill.run(0.0, hear)
    return told


def tap(drill: UnderWay, act: Act, _hear: Hear) -> Told:
    """A pressure tap opened or closed."""
    told = drill.gas.tap(act)
    line = drill.gas.leak_test
    if told.kind == "done" and act.other == "open" and line is not None and line.sign is not None and drill.account.holds_no_more(line.sign):
        drill.account.note("A gas joint was opened again: what soap showed before is no leak test of it")
        return replace(told, text=f"{told.text} The leak test is open again.")
    return told


def soap(drill: UnderWay, _act: Act, _hear: Hear) -> Told:
    """Soap on the joints that were opened."""
    told, line = drill.gas.soap(), drill.gas.leak_test
    if told is not None or line is None or line.sign is None:
        return told or Told("cannot", "These rules ask for no leak test.")
    sign, word = drill.k.sign[line.sign], line.is_[0]
    drill.minutes += sign.minutes
    drill.notes.sign(sign, word, lasting=True)
    return Told("seen", f"{sign.says}: {word.replace('_', ' ')}", sign.cautions)
