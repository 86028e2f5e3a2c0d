"""The words that tell of a repair: what was done and what came of it, apart from when."""

from __future__ import annotations

import re

from furnace_diag.knowledge.spelling import plain
from furnace_diag.visit.ways import DONE_FIRST

DONE = DONE_FIRST | {"part", "yes"}  # what was done, without what came of it
# beside an earlier repair these tell nothing of what was done and what came of it
WHEN = re.compile(
    r"\b\d{1,2}/\d{1,2}(?:/\d{2,4})?\b|"
    r"\b(?:(?:last|this|past|a|one|two|three|\d+|few|couple|of) )+(?:days?|weeks?|wks?|months?|mos?|years?|yrs?|winters?|seasons?)(?: ago| back)?\b|"
    r"\b(?:last|this|past) (?:spring|summer|fall|autumn)\b|\b(?:day|week|wk|month|year|yr) ago\b|"
    r"\b(?:once|twice|already|before|just|recently|earlier|yesterday)\b",
    re.IGNORECASE,
)
NO_MATTER = frozenset(
    ["was", "were", "been", "has", "had", "have", "and", "with", "but", "also", "out", "in", "put", "then", "the", "a", "we", "i", "they", "he", "she", "it"]
)


def of_a_repair(text: str) -> list[str]:
    """The words of *text* that tell what was done and what came of it."""
    return [w for w in plain(WHEN.sub(" ", text.lower())).split() if w not in NO_MATTER]
