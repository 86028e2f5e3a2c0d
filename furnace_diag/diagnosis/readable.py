"""What can be read and seen of a furnace, with which meter, what each costs, and who asks for it. All of it hangs on the rules alone."""

from __future__ import annotations

from collections.abc import Collection, Iterable

from furnace_diag.furnace.built import WHOLE_CALL, Key
from furnace_diag.knowledge.models import Knowledge, Point, Sign, Words
from furnace_diag.knowledge.repairs import read_before_any


def usual_keys(knowledge: Knowledge, keys: Collection[Key]) -> tuple[Key, ...]:
    """Of *keys* that furnaces give, those that can be read and seen, and the signs that no circuit gives; without signs that tell the ranking nothing.

    Where a sensitive meter would show a ghost, the reading is one with a low-impedance meter: nobody should part faults by ghosts.
    Not so where that meter itself misreads.
    """
    tells = {s.sign: s for s in knowledge.sign.values() if not s.only_for_proof}
    misread = misread_by_low(knowledge)
    known = [key for key in keys if key[2] != "low" and (key[0] in tells or key[0] in knowledge.point)]
    low = {(name, step): (name, step, meter) for name, step, meter in keys if meter == "low" and name not in misread}
    columns = [low.get(key[:2], key) for key in known]
    return (*columns, *((name, "", "") for name, s in tells.items() if s.shows is None and s.goes_with))


def low_keys(knowledge: Knowledge, keys: Iterable[Key]) -> tuple[Key, ...]:
    """Of *keys* that furnaces give, what can be read again with a low-impedance meter."""
    misread = misread_by_low(knowledge)
    return tuple((name, step, "low") for name, step, meter in keys if meter == "high" and name not in misread)


def misread_by_low(knowledge: Knowledge) -> frozenset[str]:
    """Points that a low-impedance meter draws down on a healthy furnace."""
    return frozenset(p.point for p in knowledge.point.values() if p.meter == "high")


def points_read_with(knowledge: Knowledge, words: Words, instruments: Collection[str]) -> frozenset[str]:
    """The points that are read with any of *instruments*, as the words table names them."""
    functions = {function for tool in instruments for function in words.instruments[tool]}
    return frozenset(p.point for p in knowledge.point.values() if p.function in functions)


def minutes_of(knowledge: Knowledge) -> dict[str, float]:
    """Of taking each reading or looking at each sign, with what its risks weigh [min]."""
    entries: dict[str, Point | Sign] = {**knowledge.point, **knowledge.sign}
    return {name: e.minutes + risk_minutes(knowledge, e) for name, e in entries.items()}


def risk_minutes(knowledge: Knowledge, entry: Point | Sign) -> float:
    """What the risks of a reading weigh [min]."""
    return sum(knowledge.caution[c].risk_minutes for c in entry.cautions)


def asked_by_repairs(knowledge: Knowledge) -> frozenset[str]:
    """Names of all that some repair wants read before its part is touched."""
    return frozenset(name for repair in knowledge.repair.values() for name in read_before_any(knowledge, repair))


def asked_by_proofs(knowledge: Knowledge) -> frozenset[tuple[str, str]]:
    """Names and steps of all that some proof asks to be read or seen; "" and WHOLE_CALL of what has no step."""
    conditions = {knowledge.condition[n] for proof in knowledge.proof.values() for n in proof.needs}
    lines = (w for c in conditions for way in c.any_of for w in way if (w.point or w.sign) and not w.meets_only)
    return frozenset((w.names[0][1], step) for w in lines for step in (w.step or ("", WHOLE_CALL)))
