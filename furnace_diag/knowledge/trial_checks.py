"""Checks of experiments across rule files: what they change must stand somewhere, and none may put a bridge over a safety.

All that an experiment may do is take something off, open something, make a call as a thermostat does, fit a new fuse of the same
rating, or let a share of what a machine passes on fall to nought.
"""

from __future__ import annotations

from collections.abc import Iterator

from furnace_diag.knowledge.models import Effect, Element, Knowledge, Sign, Trial, Wiring
from furnace_diag.knowledge.naming import place_of, unknown
from furnace_diag.problems import Problem

ONLY_THESE = "Let it open something, take it off, fit a fuse (`is: whole`) or set a share that is passed on to nought."


def trial_problems(sign: Sign, k: Knowledge) -> Iterator[Problem]:
    """What is wrong with the experiment that *sign* shows, if it shows one."""
    trial = sign.shows
    if not isinstance(trial, Trial):
        return
    elements = {e.element: e for w in k.wiring.values() for e in w.elements}
    off = {str(t.at or t.set_up) for w in k.wiring.values() for t in w.taken_off}
    if trial.found_broken is not None and trial.found_broken not in elements:
        yield unknown(sign, "element", trial.found_broken, elements)
    for name in (n for n in trial.all_off if n not in off):
        yield unknown(sign, "thing that is taken off", name, off)
    for effect in trial.all_effects:
        yield from _effect(sign, effect, elements, k)
    for name in (n for go in trial.tries for n in go.joins):
        yield from _joined(sign, name, k)


def _effect(sign: Sign, effect: Effect, elements: dict[str, Element], k: Knowledge) -> Iterator[Problem]:
    """An effect that closes anything but a fuse would bridge something."""
    if effect.element is not None and effect.element not in elements:
        yield unknown(sign, "element", effect.element, elements)
    elif effect.element is not None:
        fuse = elements[effect.element].fuse_amps is not None
        if effect.is_ != "open" and not (fuse and effect.is_ == "whole"):
            yield Problem(place_of(sign), f"{sign.sign} would close or bridge {effect.element}; no experiment may do that.", ONLY_THESE)
    elif effect.quantity not in _passed_on(k) or effect.is_ != "0":
        what = effect.quantity or effect.input
        yield Problem(place_of(sign), f"{sign.sign} would change {what}, which may deceive a safety; no experiment may do that.", ONLY_THESE)


def _passed_on(k: Knowledge) -> set[str]:
    """Shares that a hose, a vent, a wire or the ducts pass on. To set one to nought is harmless: a safety is there to see it."""
    machines = [f.machines for f in k.furnace.values()]
    return {share for m in machines for share in (*m.pressure_switch.passes, *m.air.passes, m.flame.signal)}


def _joined(sign: Sign, name: str, k: Knowledge) -> Iterator[Problem]:
    """What is joined must lie where a call of a thermostat closes, or it could lie across a safety."""
    closed = [e for w in k.wiring.values() for e in w.elements if e.follows == name]
    if not closed:
        yield unknown(sign, "contact that follows", name, {e.follows for w in k.wiring.values() for e in w.elements if e.follows})
    for e in closed:
        if frozenset(e.between or ()) not in _calls_close(k):
            fix = "Join what a call of the sequence joins: R to a thermostat terminal, at the board or at the thermostat."
            yield Problem(place_of(sign), f"{sign.sign} would join {' and '.join(e.between or ())}, which may bridge a safety.", fix)


def _calls_close(k: Knowledge) -> set[frozenset[str]]:
    """The pairs of nodes that calls close."""
    calls = [c for s in k.sequence.values() for c in (s.heat_call, *s.other_calls)]
    names = {n for c in calls for n in c.made_by}
    return {frozenset(e.between or ()) for w in k.wiring.values() for e in _following(w, names)}


def _following(wiring: Wiring, names: set[str]) -> Iterator[Element]:
    return (e for e in wiring.elements if e.follows in names)
