"""What the screen of a visit asks for, and what the board's nearest proof or an open check wants of it."""

from __future__ import annotations

from dataclasses import replace

from furnace_diag.diagnosis.answer import Answer
from furnace_diag.diagnosis.choice import NextReading
from furnace_diag.diagnosis.findings import Need
from furnace_diag.diagnosis.mended import as_they_count
from furnace_diag.diagnosis.records import BEFORE_PUT_RIGHT, OTHER_BOARD
from furnace_diag.knowledge.finding_models import Condition, Wanted
from furnace_diag.report.visit_rank import stopped_at
from furnace_diag.visit.session import Session
from furnace_diag.visit.typed import Typed
from furnace_diag.visit.untold import taken_as_wanted


def asked_in(answer: Answer) -> NextReading | None:
    """The reading that the screen asks for; none where it asks for what a proof lacks, which Enter takes piece by piece."""
    if answer.act is not None:
        return None if answer.act.needs_proof and answer.board.nearest is not None else answer.act.check
    return next(iter(answer.next), None)


def asked(session: Session) -> NextReading | None:
    """The same as the visit stands; none while a hazard stops it."""
    return None if session.hazards() else asked_in(session.answer())


def kind_of(session: Session, name: str) -> str:
    """Of a reading."""
    return "point" if name in session.knowledge.point else "sign"


def fields_of(session: Session, reading: NextReading) -> dict[str, object]:
    """A record of it, as far as it says how it is taken; the meter is the visit's own where that is known and any meter will do."""
    point = session.knowledge.point.get(reading.name)
    any_will_do = point is None or point.meter is None
    meter = None if session.visit.meter and any_will_do else reading.meter
    return {name: value for name, value in (("step", reading.step), ("meter", meter)) if value}


def at_step_asked(session: Session, typed: Typed) -> Typed:
    """The same at the step at which the screen asks for it, where it says none and can be read there; so is a figure alone taken."""
    reading = asked(session) if session.after() is None else None
    if reading is None or reading.step is None or "step" in typed.record or "source" in typed.record:
        return typed
    k, kind = session.knowledge, kind_of(session, reading.name)
    steps = k.point[reading.name].steps if kind == "point" else k.sign[reading.name].steps
    if typed.record.get(kind) != reading.name or reading.step not in steps:
        return typed
    return replace(typed, record={**typed.record, "step": reading.step})


def step_asked(session: Session, shown: Answer | None, point: str) -> str | None:
    """The step at which the screen *shown*, or what the board's proof lacks in it, asks for a point, if the call gets there; else where the call stops, if the
    point is read there."""
    if shown is None:
        return None
    reading = asked_in(shown)
    if reading is not None and reading.name == point:
        return reading.step
    stops, order = stopped_at(shown), session.vocabulary.sequence.order
    gets_to = order[: order.index(stops) + 1] if stops in order else order
    steps = (step for c in _lacking(session, shown) for w in c.any_of[0] if w.point == point for step in w.step)
    wanted = next((step for step in steps if step in gets_to or step not in order), None)
    return wanted or (stops if stops in session.knowledge.point[point].steps else None)


def proof_wants(session: Session, sign: str) -> bool:
    """Whether the board's nearest proof still lacks a sign."""
    return any(("sign", sign) in w.names for condition in _lacking(session, session.answer()) for way in condition.any_of for w in way)


def wanted_by_proof(session: Session, answer: Answer, reading: NextReading) -> Wanted | None:
    """How what the board's nearest proof still lacks wants this same reading taken, so that nobody has to take it twice."""
    lines = (w for condition in _lacking(session, answer) for w in condition.any_of[0])
    return next((w for w in lines if w.names[0][1] == reading.name and reading.step in w.step), None)


def _lacking(session: Session, answer: Answer) -> list[Condition]:
    """The conditions that the board's nearest proof lacks."""
    nearest = answer.board.nearest
    return [session.knowledge.condition[n.condition] for n in nearest.missing] if nearest is not None else []


def names_of(session: Session, need: Need) -> set[str]:
    """What the first way to meet a check asks for."""
    return {w.names[0][1] for w in session.knowledge.check[need.condition].any_of[0]}


def checks_open(session: Session) -> frozenset[str]:
    """The signs by which the checks after a repair that are not met yet could be told."""
    state = session.after()
    needs = state.missing if state is not None else ()
    return frozenset(w.sign for need in needs for way in session.knowledge.check[need.condition].any_of for w in way if w.sign)


def told_as_wanted(session: Session, wanted: Wanted, *, once: bool) -> bool:
    """Whether the running call, or with *once* any, has a record of it that was taken as it is wanted, whatever it read."""
    visit = session.visit
    records = as_they_count([session.record(e) for e in (visit.checking if visit.proving else visit.telling)], session.knowledge)
    of_now = (r for r in records if r.name == wanted.names[0][1] and r.source not in (BEFORE_PUT_RIGHT, OTHER_BOARD))
    return any(taken_as_wanted(wanted, r) for r in of_now if once or r.call == visit.call)


def as_wanted(wanted: Wanted) -> dict[str, object]:
    """The fields of a record taken as a proof wants it; when it was taken is left to the watch."""
    fields: dict[str, object] = {"step": wanted.step[0]} if wanted.step else {}
    fields |= {name: value for name in ("meter", "contact", "hold") if (value := getattr(wanted, name))}
    return fields | ({"set_up": list(wanted.set_up)} if wanted.set_up else {})
