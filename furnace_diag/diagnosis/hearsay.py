"""What the words of a complaint tell as records: hearsay."""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Mapping, Sequence

from furnace_diag.diagnosis.complaint import PAUSE, Complained, Complaints
from furnace_diag.diagnosis.records import Record
from furnace_diag.diagnosis.repairs_told import AND, AND_IN_SHORT, BESIDE_IT
from furnace_diag.diagnosis.vocabulary import Vocabulary
from furnace_diag.knowledge.models import Sign
from furnace_diag.knowledge.spelling import plain
from furnace_diag.knowledge.values import made_of
from furnace_diag.problems import Place, printable

COMPLAINT = "complaint: "  # how what a complaint tells is said


def complained(complaint: str, records: Sequence[Record], vocabulary: Vocabulary, place: Place) -> list[Record]:
    """What the words of a complaint tell of signs and earlier repairs that no other record tells of: hearsay, in the first heat call.

    Of a fan or cooling call a sign is another thing than of a heat call: a blower that runs on a fan call takes nothing from one that does not on heat.
    What would be a hazard is told whatever the records say of it, as in `seen_before_told`.
    """
    complaints = vocabulary.complaints
    recorded, dangers = {(r.name, r.word) for r in records}, complaints.dangers_in(complaint)
    found = [c for c in dangers if (c.sign, c.value) not in recorded]
    found += [c for c in complaints.said_in(complaint) if c not in dangers and not _is_known(c, records, vocabulary)]
    repairs = [r for r in vocabulary.repairs_in(complaint) if all(r.part != known.name for known in records)]
    told = [("sign", c.sign, c.value, c.words, c.step or None, c.figure) for c in found] + [("history", r.part, r.value, r.words, None, "") for r in repairs]
    return [
        Record(kind, name, f"{COMPLAINT}{words}", place, word=value, step=step, source="told", read_as=_read_as(name, value, step, figure))
        for kind, name, value, words, step, figure in told
    ]


def _is_known(told: Complained, records: Sequence[Record], vocabulary: Vocabulary) -> bool:
    """Whether records tell of what is *told* already: of the same thing in such a call or to the same effect in another; or they open a question of it
    that what is told leaves open: "never comes on" of a blower that does not start."""
    signs = vocabulary.knowledge.sign
    calls = {c.step for c in vocabulary.sequence.other_calls}
    sign, call = signs[told.sign], _call(told.sign, told.step, signs, calls)
    of_it = {told.sign, *sign.says_same_as}
    about = [r for r in records if of_it.intersection((r.name, *(signs[r.name].says_same_as if r.name in signs else ())))]
    if any(_call(r.name, r.step, signs, calls) == call or (r.name == told.sign and _shown(sign, r.word) & _shown(sign, told.value)) for r in about):
        return True
    opened = (q for q in vocabulary.knowledge.question.values() if q.sign == told.sign and any(r.word in q.only_after.get(r.name, ()) for r in records))
    return any(_shown(sign, told.value) > _shown(sign, value) for q in opened for value in q.keys.values())


def _shown(sign: Sign, value: str | None) -> set[str]:
    """What a furnace may show that is told by a value of a sign."""
    return {*sign.reads_as.get(value, (value,))} if value else set()


def _call(name: str, step: str | None, signs: Mapping[str, Sign], calls: Container[str]) -> str:
    """The call for something else than heat, among *calls*, of which a record is: by its step, or because its sign is seen in that alone; else empty."""
    of = step or (signs[name].steps[0] if name in signs and len(signs[name].steps) == 1 else "")
    return of if of in calls else ""


def _read_as(name: str, value: str, step: str | None, figure: str) -> str:
    """What words of a complaint were read as, with the figure that told it."""
    return f"{name} = {value}{f' ({figure})' if figure else ''}{f' at {step}' if step else ''}"


def not_heard(complaint: str, vocabulary: Vocabulary) -> list[str]:
    """What is to be said of the words of a complaint that are not weighed: of dangers that they say are over, and of what is not understood."""
    signs = vocabulary.knowledge.sign
    over = [f"{signs[c.sign].danger} is told to be over, or of long ago, and is not weighed" for c in vocabulary.complaints.over_in(complaint)]
    pieces = [p for piece in PAUSE.split(complaint) if (p := piece.strip())]
    unread = "; ".join(unheard(complaint, pieces, vocabulary))
    told = [f"{COMPLAINT}{printable(complaint, 100)} -> {text}" for text in over]
    return [*told, *([f"{COMPLAINT}{printable(unread)} -> nothing of it is weighed"] if unread else [])]


def unheard(complaint: str, pieces: Iterable[str], vocabulary: Vocabulary, taken: Container[str] | None = None) -> list[str]:
    """Those *pieces* of a complaint in which nothing that it tells stands, and that tell more than that there is no heat. *taken*: the signs of which what
    it tells was taken, where that was not so of all."""
    complaints, pieces = vocabulary.complaints, list(pieces)
    told = [each.words for each in complaints.said_in(complaint) if taken is None or each.sign in taken]
    told += [each.words for each in complaints.over_in(complaint)]
    told += [each.words for each in vocabulary.repairs_in(complaint)]
    heard = {number for words in told for number in _where(plain(words).split(), pieces, complaints)}
    return [p for number, p in enumerate(pieces) if number not in heard and not made_of(p, vocabulary.words.no_news)]


def _where(told: Sequence[str], pieces: Sequence[str], complaints: Complaints) -> Iterator[int]:
    """The numbers of the pieces in which words that tell something stand, one after the other and perhaps over the end of one; but for the words that
    part pieces, which may stand in none: "then no air"."""
    words = [word for word in told if not _parts(word)]
    read = [list(complaints.as_read(BESIDE_IT.sub(f" {AND} ", piece))) for piece in pieces]
    for spelled in (0, -1):  # as they stand, and with short words spelled out
        each = [(word, number) for number, forms in enumerate(read) if forms for word in forms[spelled].split() if not _parts(word)]
        for start in range(len(each) - len(words) + 1):
            if [word for word, _ in each[start : start + len(words)]] == words:
                yield from (number for _, number in each[start : start + len(words)])


def _parts(word: str) -> bool:
    """Whether a word may part two pieces."""
    return word in (AND, AND_IN_SHORT) or PAUSE.fullmatch(word) is not None
