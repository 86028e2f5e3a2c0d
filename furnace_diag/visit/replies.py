"""What is typed at the prompt instead of a reading: that it is not to be had, that an instrument is not, or what is meant."""

from __future__ import annotations

import re
from collections.abc import Iterable

from furnace_diag.knowledge.spelling import plain

ASKS_FOR_STEPS = re.compile(r"\b(?:which|what) step\b|\bsteps of (?:a|the) (?:heat )?call\b", re.IGNORECASE)
BEGINS_A_QUESTION = re.compile(
    r"(?:how (?:do|can|should|would) (?:i|you|we)|how to|(?:what|where) (?:do|can|should) i|which step|what step|can i|do i)\b", re.IGNORECASE
)
CANNOT = frozenset(
    {"cant reach it", "cannot reach it", "cant reach", "cant get at it", "cant", "cannot", "skip", "dont know"}
    | {"do not know", "not sure", "no idea", "unknown", "dunno", "cant tell", "can not tell", "idk", "i dont know", "i do not know", "no clue"}
)
CANNOT_DO = re.compile(  # "can't measure", "couldn't get to it", "no way to read that"
    r"(?:i |we )?(?:cant|cannot|can not|could not|couldnt|not able to|unable to|no way to) "
    r"(?:measure|read|get|get to|get at|reach|see|check|test|tell|find|do)(?: (?:it|that|this|there|here|now|right now|from here))*"
)
ASKS_BACK = re.compile(r"\?[\s?!.]*$")  # a line that ends so says nothing: "y?"
ASKS = frozenset(["what", "huh", "eh", "what is that", "what does that mean", "come again", "how"])
CORRECTS = re.compile(  # "wait no, ...", "sorry, ...": what the line goes on with is what is meant
    r"(?:(?:(?:no|oh|ah),? )?(?:wait|hang on|hold on|sorry|oops|whoops|scratch that|my bad|correction)"
    r"(?:(?:,? (?:no|wait|sorry|i mean|i meant))+[,:.]? |[,:.] )"
    r"|no wait[,:.]? |(?:i mean|i meant)[,:.]? )(?P<meant>\S.*)",
    re.IGNORECASE,
)
LACKS = ("no ", "have no ", "dont have ", "havent got ", "not got ")


def says_cannot(text: str) -> bool:
    """Whether a technician says that a reading is not to be had."""
    return plain(text) in CANNOT or CANNOT_DO.fullmatch(plain(text)) is not None


def asks_back(text: str) -> bool:
    """Whether a line asks what is meant, instead of answering: "?", "y?", "what"."""
    return ASKS_BACK.search(text) is not None or plain(text) in ASKS


def put_right_first(text: str) -> str:
    """A line without the words before it by which somebody corrects himself: "wait no, inducer doesnt run"."""
    found = CORRECTS.fullmatch(text.strip())
    return found["meant"] if found is not None else text


def asks_for_steps(text: str) -> bool:
    """Whether a line asks in which step the furnace is, or which steps there are: "which step am I at", "how do I know which step it is"."""
    return ASKS_FOR_STEPS.search(text) is not None and not any(c.isdigit() for c in text)


def is_question(text: str) -> bool:
    """Whether somebody at the prompt asks how something is done, which is no complaint: "how do I ...", "which step is it"."""
    return BEGINS_A_QUESTION.match(text.strip()) is not None


def says_lacks(text: str, instruments: Iterable[str]) -> str:
    """The instrument that a technician says is not to be had, as in "no clamp"; empty where it is anything else."""
    said = plain(text).removeprefix("i ")
    bare = next((said.removeprefix(start) for start in LACKS if said.startswith(start)), "").removeprefix("a ")
    return next((i for i in instruments if plain(i) == bare), "")
