"""Acts of a drill that put something right, and what shows that it changed nothing."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from furnace_diag.knowledge.models import Part, State
from furnace_diag.knowledge.repair_models import Repair
from furnace_diag.knowledge.repairs import cautions_of, cost_of, repairs_of, usual_repair
from furnace_diag.knowledge.words import of_whole_call
from furnace_diag.training.acts import Act, Taken, Told
from furnace_diag.training.bench import SETTLES
from furnace_diag.training.gas import wants_dead
from furnace_diag.training.touching import elements_of, ends_of
from furnace_diag.training.under_way import Hear, UnderWay


def replace(drill: UnderWay, act: Act, hear: Hear) -> Told:
    """A repair of a part: the one that the act names, else that of the whole part."""
    bench, part = drill.bench, drill.k.part[str(act.what)]
    repair = drill.k.repair[act.other] if act.other else usual_repair(drill.k, part.part)
    new_fuse = bench.fits_fuse(repair) and bench.fuse_is_open()
    again = bench.puts_in_again(repair)
    if again and not bench.breaker_is_open():
        return Told("cannot", "The breaker stands at on.")
    stopped = _hurts_to_replace(drill, part, repair, new_fuse=new_fuse)
    if stopped is not None:
        return stopped
    proved = drill.account.repair
    if proved is not None and (proved.part, proved.repair) == (part.part, repair.repair) and not new_fuse:
        return Told("cannot", "That was done already; checks lists what proves it. If it changed nothing, write same.")
    takes = cost_of(drill.k, part.part, repair)
    drill.minutes += takes.minutes
    drill.price += takes.price
    needed = again or (new_fuse and bench.is_at_the_fuse(repair))  # whatever blew or tripped it
    drill.replaced += [] if needed else [part.part]
    goes_on = needed and proved is not None and {*repair.after} <= {*drill.k.repair[proved.repair].after}
    calls_before, found_off = bench.call_number, bench.found_off()
    bench.mend(repair)
    drill.gas.opened_by(repair)
    drill.reset_before = again
    if needed:
        _note_open(drill, bench.breakers if again else {bench.fuse})
    if not goes_on:
        drill.calls.before_repair = calls_before
        drill.account.mended(part.part, "" if part.part in repair.of else _only_failure(repair), repair.repair)
    if found_off and not bench.found_off():
        drill.run(SETTLES, hear)
    if new_fuse and bench.blown_before()[0]:
        drill.hurt("a new fuse into a short", "short_first")
    if goes_on:
        drill.account.note("A new fuse of the size marked was fitted")
        return Told("done", "Done: a new fuse of the size marked. The checks of the repair before it go on.", cautions_of(drill.k, repair))
    return Told("done", _done(drill, part.part, repair, new_fuse=new_fuse, checked=proved is not None), cautions_of(drill.k, repair))


def _hurts_to_replace(drill: UnderWay, part: Part, repair: Repair, *, new_fuse: bool) -> Told | None:
    """What speaks against a repair now."""
    bench = drill.bench
    if not bench.isolated and wants_dead(drill.k, repair) and not bench.is_at_the_switch(repair):
        return drill.stop(f"replacing {part.part}: the power is not off", "The power is not off.", "dead_first")
    stopped = drill.gas.before_repair(repair)
    if stopped is not None:
        return stopped
    if drill.reset_before and bench.puts_in_again(repair):
        return drill.stop("a breaker reset again and again", "It was put in again once and has tripped; a short is behind it.", "reset_once")
    if bench.charged and ends_of(drill.family, elements_of(drill.family, part.part)) & bench.nodes_that_hold_charge:
        return drill.stop(f"replacing {part.part}: the run capacitor may be charged", "The run capacitor may be charged.", "capacitor_charged")
    if new_fuse and not drill.fuse_searched:
        return drill.stop("a new fuse with no short looked for", "That fuse blew for a reason, and nobody has looked for it yet.", "short_first")
    return None


def _note_open(drill: UnderWay, elements: Collection[str | None]) -> None:
    """Whoever puts a breaker or a fuse in again has seen that the old one was open."""
    for sign in drill.family.signs:
        if isinstance(sign.shows, State) and sign.shows.broken in elements:
            value = next(v for v in sign.values if sign.meant_by(v) == (sign.shows.so,))
            record = {"sign": sign.sign, "value": value, **drill.notes.circumstances(sign)}
            if not any(t.name == sign.sign and t.record is not None and t.record["call"] == record["call"] for t in drill.taken):
                drill.notes.note(record, f"{sign.sign}: {value}", lasting=True, watched=True)


def _only_failure(repair: Repair) -> str:
    """The failure that a repair is of, where it is of one alone; what else it may have been is not told."""
    return repair.of[0].partition(":")[2] if len(repair.of) == 1 else ""


def _done(drill: UnderWay, part: str, repair: Repair, *, new_fuse: bool, checked: bool) -> str:
    """What is told of a repair: what it was, and what its checks are."""
    told = [f"Done: {repair.says[0].lower()}{repair.says[1:]}", "A new fuse of the size marked is in." if new_fuse else ""]
    told += ["The checks begin anew: what was read after the repair before this one is not of it." if checked else ""]
    others = [r.repair.replace("_", " ") for r in repairs_of(drill.k, part) if part in repair.of and r is not repair]
    told += [f"Other repairs of this part have checks of their own: {', '.join(others)}." if others else ""]
    return " ".join([*filter(None, told), "Now prove it: checks lists what that takes."])


def same(drill: UnderWay, _act: Act, _hear: Hear) -> Told:
    """The last repair changed nothing, which a heat call must have shown."""
    if drill.account.repair is None:
        return Told("cannot", "Nothing was put right that could have helped.")
    since = drill.calls.since_repair()
    if not since or since[-1]:
        said = "The last heat call ended as it should." if since else f"Nobody has seen that yet: {_way_to_a_call(drill)}."
        return Told("cannot", said)
    _changed_nothing(drill)
    return Told("done", "Kept: that changed nothing. What was read since tells of the fault.")


def _way_to_a_call(drill: UnderWay) -> str:
    """What to do until a heat call has been watched to its end, as it is typed: what the trainee took off or shut goes back first."""
    acts = [f"back {name}" for name in drill.bench.lifted]
    acts += [said for so, said in ((drill.bench.cock_shut, "gas on"), (drill.bench.isolated, "power on")) if so]
    return ", ".join([*acts, "call heat and wait rest"])


def _changed_nothing(drill: UnderWay) -> None:
    """The repair that was done last has changed nothing: that is learnt by it."""
    mended = drill.account.still_there()
    record: dict[str, object] = {"history": mended, "value": "replaced_no_change"}
    drill.taken.append(Taken(record, f"{mended}: changed nothing", len(drill.acts) - 1, event=len(drill.account.events)))


def tripped_again(drill: UnderWay) -> str:
    """What to tell once a breaker or fuse that was put in again is open: that mended nothing, and what was read since tells of the fault."""
    done = drill.account.repair
    opened = drill.bench.opened_again(drill.k.repair[done.repair]) if done is not None else ""
    if not opened:
        return ""
    aside = drill.bench.worked_since and drill.account.set_aside(lambda record: _was_of_the_dead_furnace(drill, record))
    _changed_nothing(drill)
    more = " What was read of the dead furnace before is set aside: that it was open says all of it." if aside else ""
    return f" {opened}. What was read since it was put in tells of the fault.{more} Leave it so now, and look for the short."


def _was_of_the_dead_furnace(drill: UnderWay, record: Mapping[str, object]) -> bool:
    """Whether a record holds only as long as the breaker is off: of a call, or of a step with the power on."""
    if "step" in record:
        return record["step"] != drill.family.sequence.roles.off
    return "sign" in record and of_whole_call(drill.k.sign[str(record["sign"])])
