"""The program's own rules, read once for all the tests of a process: reading them takes the better part of a second."""

from __future__ import annotations

from functools import cache

from furnace_diag.knowledge.load import load_rules
from furnace_diag.knowledge.models import Knowledge


@cache
def our_rules() -> Knowledge:
    """The rules; nothing can change them."""
    return load_rules()
