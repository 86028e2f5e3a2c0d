"""What the words of a complaint tell as records: hearsay."""

from __future__ import annotations

from collections.abc import Sequence

from furnace_diag.diagnosis.records import Record
from furnace_diag.diagnosis.vocabulary import Vocabulary
from furnace_diag.problems import Place

COMPLAINT = "complaint: "  # how what a complaint tells is said


def complained(complaint: str, records: Sequence[Record], vocabulary: Vocabulary, place: Place) -> list[Record]:
    """What the words of a complaint tell of signs and earlier repairs that no other record tells of: hearsay, in the first heat call.

    What would be a hazard is told whatever the records say of it, as in `seen_before_told`.
    """
    signs, complaints = vocabulary.knowledge.sign, vocabulary.complaints
    known = {n for r in records for n in (r.name, *(signs[r.name].says_same_as if r.name in signs else ()))}
    recorded, dangers = {(r.name, r.word) for r in records}, complaints.dangers_in(complaint)
    found = [c for c in dangers if (c.sign, c.value) not in recorded]
    found += [c for c in complaints.said_in(complaint) if c not in dangers and not known.intersection((c.sign, *signs[c.sign].says_same_as))]
    repairs = [r for r in vocabulary.repairs_in(complaint) if r.part not in known]
    told = [("sign", c.sign, c.value, c.words, c.step or None) for c in found] + [("history", r.part, r.value, r.words, None) for r in repairs]
    return [
        Record(kind, name, f"{COMPLAINT}{words}", place, word=value, step=step, source="told", read_as=f"{name} = {value}{f' at {step}' if step else ''}")
        for kind, name, value, words, step in told
    ]
