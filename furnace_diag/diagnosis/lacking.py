"""What a record does not tell that a line of a finding asks for: by the same tests that the chaining rules run."""

from __future__ import annotations

import operator
from collections.abc import Mapping

from furnace_diag.diagnosis.compiled import HEARSAY, UNKNOWN
from furnace_diag.diagnosis.engines import Fact, Pattern, Test
from furnace_diag.diagnosis.records import BEFORE_PUT_RIGHT, OTHER_BOARD
from furnace_diag.diagnosis.taking import SET_UP

NOT_TOLD = {"s": 0, "m": 0, "c": 0, "h": 0, "a": UNKNOWN, **dict.fromkeys(SET_UP, 0)}  # of each field, what stands for not known
ASKED = {
    "s": "at which step it was", "m": "with which meter", "c": "on which contact", "h": "whether the meter held it",
    "a": "how many seconds after the gas or the call", **{word: f"whether with {says}" for word, says in SET_UP.items()},
}  # fmt: skip
SAY = ": say "  # before what a record leaves out
OTHERWISE = {
    "t": "it was told, not seen or read", "v": "something else is wanted", "s": "another step is wanted", "m": "another meter is wanted",
    "c": "another contact is wanted", "h": "another hold is wanted", "a": "another time is wanted",
    **{word: f"wanted with {says}" for word, says in SET_UP.items()},
}  # fmt: skip
ON_ANOTHER_BOARD = "it was read before the board was replaced"
NOT_OF_NOW = {HEARSAY[OTHER_BOARD]: ON_ANOTHER_BOARD, HEARSAY[BEFORE_PUT_RIGHT]: "it was read before what stopped the visit was put right: read it again"}
LESS = frozenset(ASKED[field] for field in ("h", "load_on"))  # what may stay untold of a dead point: it reads dead either way
LATE = "late_"  # how the fields start that count from a delay
HOLDS = {"eq": operator.eq, "ne": operator.ne, "lt": operator.lt, "le": operator.le, "gt": operator.gt, "ge": operator.ge}


def lacks_little(text: str) -> bool:
    """Whether what a record leaves out, "you gave A: say x, y", changes nothing of what was read."""
    return set(text.rpartition(SAY)[2].split(", ")) <= LESS


def only_told(text: str) -> bool:
    """Whether a record, "you gave A, which does not count: x, y", counts for nothing because nobody saw or read it."""
    return OTHERWISE["t"] in text


def lacking(pattern: Pattern, fact: Fact) -> tuple[str, ...] | None:
    """What is to be told, in words, so that *fact* meets *pattern*: nothing where it does already, None where no word would do it."""
    if fact["k"] != pattern.name:
        return None
    fields = _unknown(pattern.test, fact) if pattern.test else frozenset()
    return None if fields is None else tuple(text for field, text in ASKED.items() if field in fields)


def otherwise(pattern: Pattern, fact: Fact) -> tuple[str, ...]:
    """What a record of what *pattern* is about says otherwise than it is wanted, in words, and what else it leaves out; nothing where all of it is so."""
    failing = _failing(pattern.test, fact) if pattern.test else frozenset()
    wrong = {field for field, told in failing if told}
    untold = {field for field, told in failing if not told} if wrong and "v" not in wrong else set()  # of a value that is not wanted nobody need tell more
    says = [text for field, text in OTHERWISE.items() if field in wrong or (field == "t" and fact["t"])]
    says = [NOT_OF_NOW.get(int(fact["t"]), text) if text == OTHERWISE["t"] else text for text in says]
    left_out = [text for field, text in ASKED.items() if field in untold]
    return (*says, *(f"{'' if n else 'and say '}{text}" for n, text in enumerate(left_out)))


def _failing(test: Test, fact: Mapping[str, int | str]) -> frozenset[tuple[str, bool]]:
    """The fields that keep *test* from holding, each with whether it is told, by the way in which the fewest are told otherwise."""
    if test[0] == "and":
        return frozenset().union(*(_failing(t, fact) for t in test[1]))
    if test[0] == "or":
        return min((_failing(t, fact) for t in test[1]), key=lambda f: (sum(told for _, told in f), len(f), sorted(f)))
    compare, field, wanted = test
    if HOLDS[compare](fact[field], wanted):
        return frozenset()
    told = fact[field] != (UNKNOWN if field.startswith(LATE) else NOT_TOLD.get(field))
    return frozenset([("a" if field.startswith(LATE) else field, told)])


def _unknown(test: Test, fact: Mapping[str, int | str]) -> frozenset[str] | None:
    """The fields that are not known and keep *test* from holding; None where a known one does."""
    if test[0] == "and":
        each = [_unknown(t, fact) for t in test[1]]
        return None if None in each else frozenset().union(*(e for e in each if e is not None))
    if test[0] == "or":
        ways = [w for t in test[1] if (w := _unknown(t, fact)) is not None]
        return min(ways, key=lambda w: (len(w), sorted(w)), default=None)
    compare, field, wanted = test
    if HOLDS[compare](fact[field], wanted):
        return frozenset()
    if field.startswith(LATE):
        return frozenset("a") if fact[field] == UNKNOWN else None
    return frozenset([field]) if field in NOT_TOLD and fact[field] == NOT_TOLD[field] else None
