"""Acts of a drill by which something is seen, tried or said of the furnace: its signs, its experiments and the checks that a proof asks for."""

from __future__ import annotations

from furnace_diag.knowledge.models import Sign, State, Trial
from furnace_diag.knowledge.words import of_whole_call
from furnace_diag.training import checks
from furnace_diag.training.acts import Act, Told
from furnace_diag.training.bench import habit
from furnace_diag.training.handling import soap
from furnace_diag.training.touching import DEAD_ONLY, hurts_to_read
from furnace_diag.training.under_way import Hear, UnderWay, in_words
from furnace_diag.training.whole_calls import WHOLE_CALL


def look(drill: UnderWay, act: Act, hear: Hear) -> Told:
    """At one sign, or at all that is seen without asking."""
    if act.what is None:
        return Told("seen", f"{in_words(drill.bench.watched())} (not weighed; look at WHAT notes one of them)")
    bench, sign = drill.bench, drill.k.sign[act.what]
    if sign.steps == (drill.family.sequence.roles.off,) and not bench.isolated:
        return Told("cannot", "That is looked at with the power off. Switch it off first.", sign.cautions)
    if isinstance(sign.shows, Trial):
        return _try(drill, sign, sign.shows)
    if sign.answered_by is not None:
        return _check(drill, sign)
    if _is_told_by_soap(drill, sign):
        return soap(drill, act, hear)
    if bench.cock_shut and isinstance(sign.shows, State) and sign.shows.number == drill.family.machines.valve.inlet:
        return Told("cannot", "You shut the gas cock yourself. gas on puts it back as you found it.", sign.cautions)
    if sign.only_for_proof and not sign.goes_with:
        return Told("cannot", f"That is yours to say, once it was done: note {sign.sign}: {' or '.join(sign.values)}", sign.cautions)
    if of_whole_call(sign):
        return drill.calls.look(sign)
    at = _state_of(drill, sign)
    if at not in (None, bench.step()):
        return Told("cannot", f"{sign.says}: that cannot be seen now. First: {_way_to(drill, str(at))}.", sign.cautions)
    value = bench.sign(sign) if sign.shows is not None else habit(sign, bench.hidden, bench.words)
    if value is None:
        return Told("cannot", f"{sign.says}: nothing to be seen of it now.")
    drill.minutes += sign.minutes
    if sign.shows is None:
        drill.notes.sign(sign, value, lasting=True)
    else:
        drill.notes.note({"sign": sign.sign, "value": value, **drill.notes.circumstances(sign)}, f"{sign.sign}: {value}")
    more = drill.notes.unless_weighed(None if sign.shows is None else sign)
    return Told("seen", f"{sign.says}: {value.replace('_', ' ')}{more}", sign.cautions)


def state(drill: UnderWay, act: Act, _hear: Hear) -> Told:
    """What the trainee says of a check that no furnace answers."""
    sign = drill.k.sign[str(act.what)]
    by_soap = _is_told_by_soap(drill, sign)
    if not sign.only_for_proof or sign.goes_with or sign.shows is not None or sign.answered_by is not None or by_soap:
        return Told("cannot", f"The furnace answers that: {'soap' if by_soap else f'look {sign.sign}'}.")
    drill.minutes += sign.minutes
    value = str(act.other)
    drill.notes.sign(sign, value, " (said)")
    said = f"Noted as you say: {sign.says[0].lower()}{sign.says[1:]}: {value.replace('_', ' ')}{drill.notes.unless_weighed()}"
    return Told("done", said, sign.cautions)


def _is_told_by_soap(drill: UnderWay, sign: Sign) -> bool:
    return drill.gas.leak_test is not None and sign.sign == drill.gas.leak_test.sign


def _state_of(drill: UnderWay, sign: Sign) -> str | None:
    """The one state of the furnace that a sign tells of, as that nothing is called for or another call than heat; None of any other."""
    sequence = drill.family.sequence
    only = sign.tells_of or (sign.steps[0] if len(sign.steps) == 1 else None)
    return only if only in (sequence.starts_at, *(c.step for c in sequence.other_calls)) else None


def _way_to(drill: UnderWay, resting: str) -> str:
    """What to do until the furnace stands in a resting state or another call, as it is typed."""
    acts = [*(["power on"] if drill.bench.isolated else []), *(["call off"] if drill.bench.called is not None else [])]
    return ", ".join([*acts, "wait rest" if resting == drill.family.sequence.starts_at else f"call {resting.partition('_')[0]}"])


def _check(drill: UnderWay, sign: Sign) -> Told:
    """A check that the furnace answers, by what the rules say."""
    by, point = sign.answered_by, checks.point_of(drill.bench, sign)
    assert by is not None
    if by.reads == WHOLE_CALL:
        return Told("cannot", "The furnace answers that: call heat, wait rest, call off, wait rest; then it is noted.", sign.cautions)
    stopped = drill.gas.before_reading(point) if point is not None else None
    if point is not None and point.function in DEAD_ONLY:
        stopped = hurts_to_read(drill, point)
    if stopped is not None:
        return stopped
    why = checks.not_yet(drill.bench, by)
    found = checks.answered(drill.bench, sign) if not why else None
    if found is None:
        return Told("cannot", f"{sign.says}: {why[0].lower() + why[1:] if why else 'there is nothing to read now.'}", sign.cautions)
    word, figure = found
    drill.minutes += sign.minutes
    drill.notes.sign(sign, word, f" ({figure})")
    return Told("seen", f"{sign.says}: {word.replace('_', ' ')} ({figure}){drill.notes.unless_weighed()}", sign.cautions)


def _try(drill: UnderWay, sign: Sign, trial: Trial) -> Told:
    """What comes of an experiment."""
    bench = drill.bench
    fits_fuse = any(effect.is_ == "whole" for effect in trial.all_effects) and bench.fuse_is_open()
    if fits_fuse and not drill.fuse_searched:
        return drill.stop("a new fuse with no short looked for", "A new fuse goes in after a search for the short.", "short_first")
    if bench.isolated:
        return Told("cannot", f"{sign.says}: that is tried with the power on, and it is off now.", sign.cautions)
    if fits_fuse and drill.account.repair is not None:
        return Told("cannot", f"{sign.says}: the fuse is still blown. Power off, and renew the fuse; then it is tried.", sign.cautions)
    if trial.starting == "burning" and not bench.burns_on():
        return Told("cannot", f"{sign.says}: that is tried while it burns. Call heat, and wait until it does.", sign.cautions)
    value = bench.tried(sign)
    if value is None:
        return Told("cannot", f"{sign.says}: it cannot be tried, nothing {'runs' if trial.found_running else 'burns'}.", sign.cautions)
    drill.minutes += sign.minutes
    if any(map(bench.waits_for_its_load, bench.hidden)):  # the ranking knows it as tried on the furnace as it was found
        drill.notes.note(None, f"{sign.sign}: {value}")
    else:
        drill.notes.sign(sign, value, lasting=True)
    return Told("seen", f"{sign.says}: {value.replace('_', ' ')}{drill.notes.unless_weighed()}", sign.cautions)
