"""The words of our own letters as they come back in a claim -> the words that a record is read by.

A letter asks by `diagnosis/taking.py`: "at heating, 30 s or more into it, low-impedance meter or lamp, on the board's own pin". Whoever answers in its
words has answered. Which step it was of two, and which reading a meter held, he has to say himself.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import NamedTuple

from furnace_diag.diagnosis.taking import CONTACT, HOLD, METER, SET_UP
from furnace_diag.knowledge.models import Knowledge
from furnace_diag.knowledge.spelling import plain

OR = " or "
IN_FIELD = {"meter": METER, "contact": CONTACT, "hold": HOLD, "set_up": SET_UP}  # of each field of a record, what a letter says for its words
SHORTER = {  # the same with fewer words
    "low": ("low-impedance meter",),
    "min": ("lowest held", "held lowest", "min held"),
    "max": ("highest held", "held highest", "max held"),
    "load_on": ("loads on",),
}
# how long after a step began; a bound told in these words is met as if it were the second itself
TIMES = (
    (re.compile(r"\b\d+ s after the longest [a-z ]+?,? (\d+) s in all\b", re.IGNORECASE), r"after \1 s"),
    (re.compile(r"\bbetween (\d+) and \d+ s\b", re.IGNORECASE), r"after \1 s"),
    (re.compile(r"\b(\d+) s or more into it\b", re.IGNORECASE), r"after \1 s"),
)
# a meter that held something, where it does not stand which: the highest of an output that is dead, and the lowest of an input that is live
HELD = re.compile(r"\b(?:held|hold)\b(?: (?:for )?\d+ ?(?:s|secs?|seconds?|mins?|minutes?)\b)?", re.IGNORECASE)
BRACKETS = re.compile(r"\(([^()]*)(?:\)|$)")
BEHIND_HOW = re.compile(r"\s*,(?P<how>[^:=]*)[:=]\s*(?P<value>[^:=]+)")  # ", at heating, low-impedance meter: 0.2 V"
CALLS_TOLD = re.compile(r"(,?)\s+in (?=[2-9] heat calls\b)", re.IGNORECASE)  # "no, in 2 heat calls"
WHICH_HELD = "Say which reading the meter held, the lowest (held min) or the highest (held max)."


def _pattern(text: str) -> str:
    """*text* as it may be typed, with any apostrophe and with or without a hyphen."""
    return re.escape(text).replace("'", "['’]?").replace("\\-", "[- ]?").replace("\\ ", r"\s+")


def _ways() -> Iterator[tuple[str, str]]:
    """What a letter says of how a thing is taken, and our word for it."""
    for table in IN_FIELD.values():
        for word, says in table.items():
            yield from ((said, word.replace("_", " ")) for said in (says, *SHORTER.get(word, ())))


IN_TEXT = tuple((re.compile(rf"\b{_pattern(said)}\b", re.IGNORECASE), ours) for said, ours in sorted(_ways(), key=lambda w: -len(w[0])))


def in_short(text: str) -> str:
    """*text* with how a thing was taken in our short words: "on the board's own pin, load connected" is "pin, load on"."""
    for pattern, ours in (*TIMES, *IN_TEXT):
        text = pattern.sub(ours, text)
    return CALLS_TOLD.sub(r"\1 ", text)


def of_field(name: str, text: str) -> str:
    """What stands in the field *name* of a record, in our short words; the whole of it as it is where it holds none of a letter's."""
    table = IN_FIELD.get(name, {})
    alone = {plain(said): word for word, says in table.items() for said in (says, *says.split(OR))}
    found = alone.get(plain(text), "")
    return found or (in_short(text) if name in ("after_s", *IN_FIELD) else text)


def names_told(knowledge: Knowledge) -> Mapping[str, str]:
    """What a letter calls each point and sign, or asks of a sign, in plain words, with its id."""
    asked = {plain(q.asks): q.sign for q in knowledge.question.values()}
    return asked | {plain(entry.says): name for entries in (knowledge.point, knowledge.sign) for name, entry in entries.items()}


class Asked(NamedTuple):
    """A line in the form in which a letter asks: what it calls a thing, what stands in brackets behind that, and all that follows.

    *called* is empty where the text before the brackets is no name of a letter's. *in_brackets* is empty where there are none.
    """

    called: str
    in_brackets: str
    rest: str


def in_brackets(text: str) -> Iterator[Asked]:
    """*text* parted at each of its brackets, those that another piece closes too: "Whether it burns (flame_seen), at heating: no"."""
    for found in BRACKETS.finditer(text):
        if found[1].strip():
            yield Asked(text[: found.start()].strip(), found[1].partition(":")[0].strip(), text[found.end() :])


def answered(name: str, rest: str) -> str:
    """The line of a record of *name*: its value, which stands first in *rest* or behind its last colon, and how it was taken. Empty without a value."""
    found = BEHIND_HOW.fullmatch(rest)
    told = (found["value"], found["how"]) if found else (rest.lstrip(" :=?-"), "")
    value, how = (" ".join(re.sub(r",(?!\d)|(?<=[^\s\d]),", " ", t).split()) for t in told)
    return f"{name} {value} {how}".rstrip() if value and (found or not rest.lstrip().startswith(",")) else ""


def with_its_id(text: str, told: Mapping[str, str]) -> str:
    """*text* that begins as a letter calls a thing, "The board's HEAT speed terminal to neutral: 0.2", as the line of a record of its id.

    *told*: as `names_told` gives it. Empty where it begins otherwise.
    """
    words = text.split()
    for end in range(len(words) - 1, 0, -1):
        name = told.get(plain(" ".join(words[:end])))
        if name is not None:
            mark = "," if words[end - 1].endswith(",") else ""
            return answered(name, f"{mark} {' '.join(words[end:])}")
    return ""


def behind_how(text: str) -> tuple[str, str, str] | None:
    """The name, how it was taken, and the value behind the last colon of "NAME, at STEP, low: 0.2"; None where *text* has another form."""
    name, comma, rest = text.partition(",")
    found = BEHIND_HOW.fullmatch(f",{rest}") if comma and not set(":=") & set(name) else None
    return (name.strip(), found["how"].replace(",", " "), found["value"].strip()) if found else None
