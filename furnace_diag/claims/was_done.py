"""Whether words tell of what somebody did to the furnace, from which the rest of what is told may have come."""

from __future__ import annotations

from itertools import pairwise

from furnace_diag.knowledge.models import ClaimWords
from furnace_diag.knowledge.spelling import DENIED, plain

NOT = "not"


def tells_of_doing(text: str, claims: ClaimWords) -> bool:
    """Whether a clause may: by any word of `brings_about`, or in -ed, but those of `brings_about_nothing`."""
    said = f" {plain(text)} "
    for each in claims.brings_about_nothing:
        said = said.replace(f" {each} ", " ") if " " in each else said  # "locked out", which nobody did
    words = said.split()
    return any(f" {each} " in said for each in claims.brings_about) or any(w.endswith("ed") and w not in claims.brings_about_nothing for w in words)


def tells_what_is_thought(text: str, claims: ClaimWords) -> bool:
    """Whether a clause tells of nothing done, and only of what somebody thinks: "should be 25", "think the stat is bad"."""
    words = plain(text).split()
    return bool({*words} & {*claims.opines}) and not tells_of_doing(" ".join(w for w in words if w not in claims.opines), claims)


def tells_by_its_verb(text: str, claims: ClaimWords) -> bool:
    """Whether a complaint does: by a word of `brings_about` alone, as it is or in -ed ("jumped out the limit"). What people see is told in -ed too."""
    return any(w.removesuffix("ed") in claims.brings_about for w in plain(text).split())


def without_denied(text: str) -> str:
    """*text* without what it tells that a thing does not do, of which nobody did anything either: "motor hums not turning"."""
    words = plain(text).split()
    return " ".join(w for before, w in pairwise(["", *words]) if not {before, w} & {NOT, *DENIED})
