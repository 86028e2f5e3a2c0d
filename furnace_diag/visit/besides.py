"""What a value is not told beside: a flame that stays lit is no good sign where nothing calls."""

from __future__ import annotations

from furnace_diag.knowledge.models import Sign
from furnace_diag.knowledge.spelling import plain


def stands_with_other(sign: Sign, value: str, text: str) -> bool:
    """Whether *text* holds words beside which that value of a sign is not told."""
    said = f" {plain(text)} "
    return any(f" {words} " in said for words in sign.not_in_complaints_with.get(value, ()))
