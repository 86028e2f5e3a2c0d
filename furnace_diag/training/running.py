"""Acts of a drill by which the furnace goes on: its switch, what the thermostat or a wire calls for, and the clock."""

from __future__ import annotations

import math

from furnace_diag.knowledge.models import Call, Trial
from furnace_diag.training.acts import HANDLING_MINUTES, LONGEST_WAIT, Act, Told
from furnace_diag.training.bench import SETTLES, SHORTEST, Seen
from furnace_diag.training.under_way import Hear, UnderWay, in_words


def power(drill: UnderWay, act: Act, hear: Hear) -> Told:
    """The switch at the furnace."""
    bench, on = drill.bench, act.what == "on"
    if on != bench.isolated:
        return Told("cannot", f"The power is {'as you found it' if on else 'off'} already.")
    drill.minutes += HANDLING_MINUTES
    bench.power(on)
    drill.tell_the_rest(hear)
    drill.run(SETTLES, hear)
    if not on:
        return Told("done", "The power is off at the switch. Test that it is dead before you touch anything.", ("dead_first",))
    number = f" The thermostat still calls: this is heat call {bench.call_number}." if bench.called is drill.family.sequence.heat_call else ""
    found = "The switch stands as you found it" if drill.reset_before else "Switch and breaker stand as you found them"
    off = f" Still off: {', '.join(bench.lifted)}." if bench.lifted else ""
    return Told("done", f"{found}; the power is on.{number}{off}", ("live_line",))


def call(drill: UnderWay, act: Act, hear: Hear) -> Told:
    """A call of the thermostat, or none."""
    wanted = next((c for c in drill.bench.calls if c.step == act.what), None)
    if wanted is drill.bench.called and not drill.bench.joined:
        return Told("cannot", f"{'Nothing' if wanted is None else 'That'} is called for already.{'' if wanted is None else ' End it first: call off.'}")
    drill.bench.call(wanted, hear)
    drill.tell_the_rest(hear)
    drill.run(0.0, hear)
    if wanted is None:
        return Told("done", "Nothing is called for now.")
    return Told("done", f"The thermostat makes a {wanted.step.replace('_', ' ')}.{_number_of(drill, wanted)}")


def join(drill: UnderWay, act: Act, hear: Hear) -> Told:
    """R on a call's terminal, at the board or at the thermostat's base, makes that call; anything else that is joined can hurt."""
    pair, elements = frozenset([str(act.what), str(act.other)]), drill.family.elements
    joins = {(e.follows, frozenset(e.between or ())) for e in elements}
    made = next(((made, closes) for made in drill.bench.calls for closes in made.by_wire if (closes[0], pair) in joins), None)
    if made is not None:
        return _call_by_wire(drill, *made, hear)
    across = any(e.kind in ("contact", "bridge") and pair == frozenset(e.between or ()) for e in elements)
    caution = "never_bridge_a_safety" if across else "join_the_right_two"
    return drill.stop(f"joining {' and '.join(sorted(pair))}", "A bridge there can hurt you, the house or the board.", caution)


def _call_by_wire(drill: UnderWay, made: Call, closes: tuple[str, ...], hear: Hear) -> Told:
    drill.minutes += HANDLING_MINUTES
    drill.bench.call(made, hear, joined=closes)
    drill.tell_the_rest(hear)
    drill.run(0.0, hear)
    at = "at the board" if closes == made.joined else "at the thermostat's base, the thermostat off it"
    tried = next((s.sign for s in drill.k.sign.values() if isinstance(s.shows, Trial) and s.shows.only_joins == closes), None)
    notes = f" look {tried.replace('_', ' ')} notes what comes of it;" if tried else ""
    said = f"Joined {at}: a {made.step.replace('_', ' ')}.{_number_of(drill, made)}{notes} call off takes the wire away again."
    return Told("done", said, ("join_the_right_two", "burners_may_light"))


def _number_of(drill: UnderWay, made: Call) -> str:
    return f" This is heat call {drill.bench.call_number}." if made is drill.family.sequence.heat_call else ""


def wait(drill: UnderWay, act: Act, hear: Hear) -> Told:
    """Some seconds go by, as many as it takes until the next thing comes, or until all is at rest."""
    bench, seen = drill.bench, list[Seen]()
    start, seconds = bench.now, act.seconds

    def hear_and_keep(one: Seen) -> None:
        seen.append(one)
        hear(one)

    if act.what == "rest":
        while not bench.at_rest() and not bench.goes_round() and bench.now - start < LONGEST_WAIT:
            drill.run(min(max(bench.operation.seconds_to_next(), SETTLES), LONGEST_WAIT), hear_and_keep)
    elif seconds == 0:
        following = bench.operation.seconds_to_next()
        drill.run(min(following, LONGEST_WAIT) if math.isfinite(following) else SETTLES, hear_and_keep)
    else:
        drill.run(seconds, hear_and_keep)
    if bench.operation.seconds_to_next() < SHORTEST:  # it comes at the moment at which the clock was stopped
        drill.run(0.0, hear_and_keep)
    drill.minutes += (bench.now - start) / 60
    drill.calls.note_where_it_stops()
    more = " Nothing more comes by itself." if bench.at_rest() else ""
    more = " It goes round like that and begins again." if bench.goes_round() else more
    more += "" if more or seen or seconds or act.what else _as_it_stands(drill)
    gone = bench.now - start
    return Told("done", f"{gone:.0f} s later.{more}" if gone >= 0.5 else more.strip() or "No time has gone by.")


def _as_it_stands(drill: UnderWay) -> str:
    """What is seen where the clock stopped at something that is not; what has not come about is for whoever looks for it."""
    changed = {sign: value for sign, value in drill.bench.watched().items() if drill.seen_at_first.get(sign) != value}
    return f" Nothing seen has changed ({in_words(changed)})." if changed else " Nothing seen has changed: all is as you found it."
