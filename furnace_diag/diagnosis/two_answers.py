"""Two answers to the same question: which clash, which are the same again, and which gives way."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from furnace_diag.diagnosis.records import Record
from furnace_diag.knowledge.models import Knowledge, Sign
from furnace_diag.problems import Problem, printable

ERRORS_APART = 2.0  # times its error that a reading may differ from itself, one error at each time
SAME_READING = 0.25  # two figures for one reading may differ by this share before they clash, judgement


def clashing(records: Sequence[Record], signs: Mapping[str, Sign] | None = None) -> list[Problem]:
    """Two different answers to the same question, asked in the same way in the same call.

    With *signs* a word and a closer one ("no" and "hums" of a motor that stands) do not clash; without, they are two answers.
    """
    problems = []
    first: dict[tuple[object, ...], Record] = {}
    for r in records:
        if r.kind not in ("point", "sign"):
            continue
        other = first.setdefault(_asked(r), r)
        if other is not r and not _both(other, r, signs):
            fix = "Take one out, or say in which call, step or with which meter each was taken."
            where = f"line {other.place.line}"
            problems.append(Problem(r.place, f"{printable(r.said)} here, but {printable(other.said)} at {where}.", fix))
    return problems


def clash_of(new: Record, others: Iterable[Record]) -> Record | None:
    """The first of *others* that answers the same question as *new* in another way, or None."""
    return next((o for o in others if clashing([o, new])), None)


def seen_before_told(records: Sequence[Record], knowledge: Knowledge) -> tuple[list[Record], list[Record]]:
    """The records without what was told and then seen otherwise, which the eye decides; and those, each with why it is not used.

    What would be a hazard is never set aside: who smells no gas may come later than who smelled it.
    """
    lines = [w for h in knowledge.hazard.values() for way in h.when for w in way]
    hazards = {(n, word) for w in lines for kind, n in w.names for word in (w.is_ if kind == "sign" else (None,))}  # of a point whatever was told
    seen = [r for r in records if r.kind in ("point", "sign") and r.source != "told"]
    kept, set_aside = list[Record](), list[Record]()
    for r in records:
        may_go = r.source == "told" and (r.name, r.word) not in hazards
        otherwise = [s for s in seen if may_go and _asked(s) == _asked(r) and not _both(r, s, knowledge.sign)]
        if otherwise:
            why = f"it was told, and {printable(otherwise[0].said)} was seen (line {otherwise[0].place.line})"
            set_aside.append(replace(r, unused=why))
        else:
            kept.append(r)
    return kept, set_aside


def same_again(one: Record, other: Record) -> bool:
    """Whether the same was read or looked at twice, in the same way in the same call, and was the same."""
    how = [(r.kind, r.name, r.step, r.call, r.meter, r.contact, r.set_up) for r in (one, other)]
    return one.kind in ("point", "sign") and how[0] == how[1] and _agree(one, other)


def _asked(record: Record) -> tuple[object, ...]:
    """The question that a reading or sign answers, and how it was taken."""
    return (record.kind, record.name, record.step, record.call, record.after_s, record.meter, record.contact, record.set_up, record.hold)


def _both(one: Record, other: Record, signs: Mapping[str, Sign] | None) -> bool:
    """Whether two answers to the same question may both be right."""
    return _agree(one, other) or bool(signs and one.kind == "sign" and _may_both_be(signs[one.name], one, other))


def _may_both_be(sign: Sign, one: Record, other: Record) -> bool:
    """Whether two values of a sign may be told of one and the same thing that a furnace shows."""
    shown = [set(sign.meant_by(str(r.word))) for r in (one, other)]
    return bool(shown[0] & shown[1])


def _agree(one: Record, other: Record) -> bool:
    if one.number is None or other.number is None:
        return one.word == other.word
    if one.number == other.number:
        return True
    return abs(one.number - other.number) <= max(ERRORS_APART * one.error, SAME_READING * min(abs(one.number), abs(other.number)))
