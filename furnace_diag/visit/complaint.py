"""What the words of a complaint answer of the questions of the start, so that nobody is asked for what he has just said.

Only what is plain is taken: a piece that is a whole record of a sign that answers one of the questions, its name in full, and what the rules know
people to say for a sign (`in_complaints`). The rest is the complaint's text.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence

from furnace_diag.diagnosis.complaint import NOT_ALWAYS, Complained, stands_with_other
from furnace_diag.diagnosis.hearsay import unheard
from furnace_diag.diagnosis.vocabulary import Vocabulary
from furnace_diag.problems import BadInput
from furnace_diag.visit.lines import Reader
from furnace_diag.visit.told_of import record_told
from furnace_diag.visit.typed import Typed
from furnace_diag.visit.ways import PLACED

BEFORE_DENIAL = re.compile(r"(?<=\w)\s+(?=no\s)", re.IGNORECASE)
BETWEEN = re.compile(r"[,;.](?!\d)|\b(?:n\s+then|but|and|then)\b", re.IGNORECASE)


FIGURE = re.compile(r"\d+(?:\.\d+)?(?:v|vac|volts?)?", re.IGNORECASE)

# what stands on one side of a thing: "24 going in", "none out", "0v coming out of"
SIDE = re.compile(
    r"\b(?P<shown>\d+(?:\.\d+)?|no(?:ne|thing)?|zero|dead)(?: ?(?:v|vac|volts?|power|voltage))?"
    r"(?: (?:is|are|goes|going|go|coming|comes|come|getting|gets|on|at|the))* (?P<side>in|out)(?:put|to)?\b",
    re.IGNORECASE,
)
SIDE_FIRST = re.compile(  # "in 24.6 out 0"
    r"\b(?P<side>in|out)(?:put|let)?:? (?:is |at |has )?(?P<shown>\d+(?:\.\d+)?|no(?:ne|thing)?|zero|dead)(?: ?(?:v|vac|volts?|(?:in |i)?wc))?(?=$|[\s,;])",
    re.IGNORECASE,
)
BOTH_SIDES = re.compile(
    r"(?P<thing>[a-z].*?):? (?:has |reads |got )?(?P<shown>\d+(?:\.\d+)?)(?: ?(?:v|vac|volts?))?"
    r" (?:on |at )?(?:both sides|each side|either side|in and out)(?P<when> (?:at|after) .+)?",
    re.IGNORECASE,
)
VOLTS = r"\d+(?:\.\d+)?(?: ?(?:v|vac|volts?))?"
WINDINGS = re.compile(
    rf"(?:(?:xfmr|xformer|transformer|trans) )?(?:pri|prim|primary) (?P<primary>{VOLTS}),? (?:and )?(?:sec|secondary) (?P<secondary>{VOLTS})", re.IGNORECASE
)
WINDINGS_BACKWARDS = re.compile(
    rf"(?:(?:xfmr|xformer|transformer|trans) )?(?:sec|secondary) (?P<secondary>{VOLTS}),? (?:and )?(?:pri|prim|primary) (?P<primary>{VOLTS})", re.IGNORECASE
)
WINDINGS_FIRST = re.compile(  # "120 pri 0 sec"
    rf"(?:(?:xfmr|xformer|transformer|trans) )?(?P<primary>{VOLTS}) (?:on |at )?(?:pri|prim|primary),? "
    rf"(?:and )?(?P<secondary>{VOLTS}) (?:on |at )?(?:sec|secondary)",
    re.IGNORECASE,
)
BOTH_SIDES_FIRST = re.compile(  # "24 on both sides of the ps"
    r"(?P<shown>\d+(?:\.\d+)?)(?: ?(?:v|vac|volts?))? (?:on |at )?(?:both|each|either) sides? of (?:the )?(?P<thing>[a-z].*?)(?P<when> (?:at|after) .+)?",
    re.IGNORECASE,
)
TWICE = re.compile(  # "ps closed 24 24", "ps closed 24 in 24 out": one figure on both sides
    r"(?P<thing>[a-z].*?):? (?:has |reads |got )?(?P<shown>\d+(?:\.\d+)?)(?: ?(?:v|vac|volts?))?(?: in)?(?: ?[/,&+] ?| and | )"
    r"(?P=shown)(?![\d.])(?: ?(?:v|vac|volts?))?(?: out)?(?P<when> (?:at|after) .+)?",
    re.IGNORECASE,
)
IN_THEN_OUT = re.compile(  # "ps 24 0"
    r"(?P<thing>[a-z].*?):? (?:has |reads |got )?(?P<first>\d+(?:\.\d+)?)(?: ?(?:v|vac|volts?))?(?: ?[/,&+] ?| and | )"
    r"(?P<other>\d+(?:\.\d+)?)(?: ?(?:v|vac|volts?))?(?P<when> (?:at|after) .+)?",
    re.IGNORECASE,
)
BEFORE_WHEN = re.compile(r" (?:at|after)(?= )", re.IGNORECASE)
BESIDE_SIDES = frozenset(
    ["to", "of", "from", "at", "on", "and", "but", "the", "a", "with", "is", "has", "have", "got", "i", "then", "its", "side", "for", "across"]
)  # fmt: skip


def pieces_of(text: str) -> list[str]:
    """The pieces of a line that tells several things."""
    return [piece.strip() for piece in BETWEEN.split(text) if piece.strip()]


def ways_to_part(line: str) -> Iterator[list[str]]:
    """The ways to part a line that tells several things."""
    yield from (pieces_of(line), pieces_by_denials(line), sides_of(line), windings_of(line))
    for way in (states_of, both_sides_of, state_and_sides_of):
        yield from way(line)


def pieces_by_denials(text: str) -> list[str]:
    """The same where what is not so begins a piece of its own: "ign glowing no gas"."""
    return [part for piece in pieces_of(text) for part in BEFORE_DENIAL.split(piece)]


def sides_of(text: str) -> list[str]:
    """What a line tells of both sides of one thing, a line of each: "24 going in to ps none out" as "ps in 24" and "ps out 0"; none of any other."""
    way = next((way for way in (SIDE, SIDE_FIRST) if len(list(way.finditer(text))) == 2), SIDE)
    told = list(way.finditer(text))
    rest = way.sub(" ", text)
    when_told = ((thing, f" {' '.join(rest[m.start() :].split())}") for m in BEFORE_WHEN.finditer(rest) if (thing := _thing_in(rest[: m.start()])))
    thing, when = next(when_told, (_thing_in(rest), ""))  # "24 in 0 out at inducer start"; what is told of without it stands there itself
    sides = {found["side"].lower(): "0" if not found["shown"][-1:].isdigit() else found["shown"] for found in told}
    return [f"{thing} {side} {shown}{when}" for side, shown in sides.items()] if thing and len(told) == len(sides) == 2 else []


def _thing_in(text: str) -> str:
    return " ".join(w for w in text.split() if w.lower().strip(",;:") not in BESIDE_SIDES).strip(" ,;:")


def windings_of(text: str) -> list[str]:
    """What a line tells of both windings of a transformer, a line of each: "xfmr pri 121 sec 0"; none of any other."""
    told = WINDINGS.fullmatch(text) or WINDINGS_BACKWARDS.fullmatch(text) or WINDINGS_FIRST.fullmatch(text)
    return [f"transformer primary {told['primary']}", f"transformer secondary {told['secondary']}"] if told else []


def states_of(text: str) -> Iterator[list[str]]:
    """The ways to part a line that tells how a part stands and what is read at a place of it: "ps closed 25 at board" as "ps closed" and "ps 25 at board"."""
    words = text.split()
    at = next((i for i in range(2, len(words) - 2) if FIGURE.fullmatch(words[i]) and words[i + 1].lower() in PLACED), 0)
    yield from ([" ".join(words[:at]), " ".join([*words[:end], *words[at:]])] for end in range(at - 1, 0, -1))


def state_and_sides_of(text: str) -> Iterator[list[str]]:
    """The ways to part a line that tells how a thing stands and what is read on both sides of it: "limit open 24 in 0 out" as "limit open", "limit in 24"
    and "limit out 0"."""
    figure = next((m.start() for m in FIGURE.finditer(text)), 0)
    words, sides = text[:figure].split(), text[figure:].replace(",", " ")
    if "," in text[:figure]:
        return  # then it need not be of the same thing, and is asked about
    yield from ([" ".join(words), *both] for end in range(len(words) - 1, 0, -1) if (both := sides_of(f"{' '.join(words[:end])} {sides}")))


def both_sides_of(text: str) -> Iterator[list[str]]:
    """The ways to part a line that tells the same of both sides of one thing, and perhaps how that stands: "ps closed 24 both sides"."""
    told = BOTH_SIDES.fullmatch(text) or BOTH_SIDES_FIRST.fullmatch(text) or TWICE.fullmatch(text)
    if told is None:
        return
    words = told["thing"].split()
    for end in range(len(words), 0, -1):
        sides = [f"{' '.join(words[:end])} {side} {told['shown']}{told['when'] or ''}" for side in ("in", "out")]
        yield [*([" ".join(words)] if end < len(words) else []), *sides]


def in_then_out(text: str) -> list[str]:
    """What a line of two figures may tell of both sides of one thing, a line of each: "ps 24 0" as "ps in 24" and "ps out 0"; none of any other."""
    told = IN_THEN_OUT.fullmatch(text)
    return [f"{told['thing']} {side} {told[which]}{told['when'] or ''}" for side, which in (("in", "first"), ("out", "other"))] if told else []


def told_in(complaint: str, reader: Reader) -> list[Typed]:
    """The records that a complaint holds, each sign once; only dangers where it tells of what is not always so, and none that tells two things of one sign.

    Of the questions on safety only what is not safe: that all is well there is for those to say who stand at the furnace.
    """
    answering, safe = _answering(reader.vocabulary)
    always = not NOT_ALWAYS.search(complaint)
    found = [(text, typed) for text, typed in _records(complaint, reader) if typed.record["sign"] in answering] if always else []
    told: dict[tuple[str, str], dict[str, Typed]] = {}  # by sign and call: what a fan call shows is no other word of what a heat call does
    other_calls = {c.step for c in reader.vocabulary.sequence.other_calls}
    for _, typed in found:
        sign, step = str(typed.record["sign"]), str(typed.record.get("step", ""))
        value = reader.value_of(sign, str(typed.record["value"]))
        told.setdefault((sign, step if step in other_calls else ""), {})[value] = typed
    signs = reader.vocabulary.knowledge.sign
    told = {key: {v: t for v, t in values.items() if not stands_with_other(signs[key[0]], v, complaint) or key[1]} for key, values in told.items()}
    for phrase in reader.vocabulary.complaints.said_in(complaint):
        of_call = phrase.step or next((s for s in signs[phrase.sign].steps if s in other_calls and len(signs[phrase.sign].steps) == 1), "")
        known = bool(told.keys() & {(sign, of_call) for sign in (phrase.sign, *signs[phrase.sign].says_same_as)})
        before = told.get((phrase.sign, of_call), {})
        known = known and not _stops_all_the_same(phrase, before, reader.vocabulary)
        known = known and not (before and all(signs[phrase.sign].is_vaguer(value, phrase.value) for value in before))  # "burners light", then go out
        if not (known or stands_with_other(signs[phrase.sign], phrase.value, complaint)) and _as_well_as_asked(phrase, reader.vocabulary):
            told[phrase.sign, of_call] = {phrase.value: Typed(record_told(phrase, reader.vocabulary))}
    for text, typed in found:
        if _only_names({sign for sign, _ in told}, text, str(typed.record["sign"]), reader):
            told = {key: values for key, values in told.items() if typed not in values.values()}
    sure = {key: next(iter(values.items())) for key, values in told.items() if len(values) == 1}
    repaired = [Typed({"source": "told", "history": r.part, "value": r.value}) for r in reader.vocabulary.repairs_in(complaint)]
    return [*(Typed({"source": "told", **typed.record}) for (sign, _), (value, typed) in sure.items() if (sign, value) not in safe), *repaired]


def _stops_all_the_same(phrase: Complained, told: Iterable[str], vocabulary: Vocabulary) -> bool:
    """Whether a phrase tells a danger of a sign of which the pieces of the complaint, each by itself, tell none: "gas smell gone then came back"."""
    complaints = vocabulary.complaints
    return complaints.is_danger(phrase.sign, phrase.value) and not any(complaints.is_danger(phrase.sign, value) for value in told)


def unheard_in(complaint: str, told: Sequence[Typed], reader: Reader) -> list[str]:
    """The pieces of a complaint of which nothing was taken, *told* being what was, and that tell more than that there is no heat."""
    signs = {str(t.record.get("sign")) for t in told}
    read = {p for p, typed in ((p, _read(p, reader)) for p in pieces_of(complaint)) if typed is not None and typed.record.get("sign") in signs}
    return [piece for piece in unheard(complaint, pieces_of(complaint), reader.vocabulary, signs) if piece not in read]


def _only_names(told: set[str], text: str, sign: str, reader: Reader) -> bool:
    """Whether a piece that was read as of one *sign* names another that is told by more: "runs 3 min, burners drop out", which is no flame lost at once."""
    return bool(told & {*reader.vocabulary.names("sign").clear(text)} - {sign})


def _as_well_as_asked(phrase: Complained, vocabulary: Vocabulary) -> bool:
    """Whether a phrase tells as much as the question of its sign would: "nothing happens" leaves open whether a light is lit.

    A question that is asked only of what others left open asks for more than anybody tells unasked: whether a motor that does not run hums. What
    opens such a question is asked on by it, unless it ends the others: that burners come on leaves open whether they stay lit.
    """
    questions = vocabulary.knowledge.question.values()
    ends = any(q.sign == phrase.sign and phrase.value in q.ends for q in questions)
    if not ends and any(phrase.value in q.only_after.get(phrase.sign, ()) for q in questions):
        return True
    keys = [q.keys.values() for q in questions if q.sign == phrase.sign and q.group != "rest"]
    return all(phrase.value in values for values in keys)


def _records(complaint: str, reader: Reader) -> Iterator[tuple[str, Typed]]:
    """The pieces that are records of signs by themselves, with those records."""
    for text in pieces_of(complaint):
        typed = _read(text, reader)
        if typed is not None and not (typed.guessed or typed.as_complained) and "sign" in typed.record and typed.calls == 1:
            yield text, typed


def _read(text: str, reader: Reader) -> Typed | None:
    try:
        typed = reader.understood(text)
    except BadInput:
        return None
    return typed if isinstance(typed, Typed) else None


def _answering(vocabulary: Vocabulary) -> tuple[set[str], set[tuple[str, str]]]:
    """The signs that answer a question, and the values of those on safety by which all is well: the one of the key for no, or that it
    is over; so of whatever else stops a visit until somebody puts it right."""
    questions = vocabulary.knowledge.question.values()
    signs = {name for q in questions for name in (q.sign, *q.answered_by, *q.or_of)}
    safety = [q for q in questions if q.group == "safety"]
    over = {(q.sign, value) for q in safety for value in vocabulary.knowledge.sign[q.sign].put_right}
    stopping = [s for s in vocabulary.knowledge.sign.values() if s.put_right and not any(right.mends for right in s.put_right.values())]
    well = {(s.sign, v) for s in stopping for v in s.values if not vocabulary.complaints.is_danger(s.sign, v) and v not in s.put_right}
    return signs, {(q.sign, q.keys["n"]) for q in safety if "n" in q.keys} | over | well
