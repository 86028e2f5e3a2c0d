"""How much like one another words and names are: what is misspelt, what is begun, what shares enough words to be meant."""

from __future__ import annotations

from collections.abc import Collection, Iterable

from furnace_diag.knowledge.spelling import DENIALS, plain

WHOLE, START, CLOSE, NONE = 1.0, 0.9, 0.7, 0.0  # how much of a typed word a name holds; only their order matters
LEAST_SHARE = 0.5  # of the typed words that a suggested name must hold
LEAST_OF_NAME = 0.5  # of the words of a suggested name that what is only misspelt must make up
ALIKE = 0.75  # likeness of two words, or of two whole names, that may be one misspelt; 1 is the same
MUCH_ALIKE = 0.8  # likeness of two whole names of which one may be meant by the other; "text" is not much like "test"
SHORTEST_MISSPELT = 4  # [characters]; "led" is no misspelt "lead"
LONG = 8  # [characters]; a word this long may be wrong by one letter more


def likeness(wanted: list[str], name: list[str]) -> float:
    """0 where *name* is no sensible guess for the words *wanted*; else the higher the better."""
    if not wanted or DENIALS.isdisjoint(wanted) != DENIALS.isdisjoint(name):
        return 0.0
    held = [_held(w, name) for w in wanted]
    share = sum(held) / len(wanted)
    if share >= LEAST_SHARE and (max(held) > CLOSE or len(wanted) >= LEAST_OF_NAME * len(name)):
        return share + 0.1 * min(1.0, len(wanted) / len(name))  # of two that hold the same words the shorter one
    whole = _alike(" ".join(wanted), " ".join(name))
    return whole / 2 if whole >= ALIKE else 0.0


def nearness(wanted: list[str], name: list[str]) -> float:
    """Over 1 where all of *name* is spelled much like all of *wanted*; up to 1 where it holds half of its words as they are; else 0."""
    whole = _alike(" ".join(wanted), " ".join(name))
    share = sum(_held(w, name) >= START for w in wanted) / max(len(wanted), 1)
    return 1 + whole if whole >= MUCH_ALIKE else share if share >= LEAST_SHARE else 0.0


def begins(word: str, words: Iterable[str]) -> bool:
    """Whether *word* begins any of *words*."""
    return any(w.startswith(word) for w in words)


def _held(word: str, name: list[str]) -> float:
    if word in name:
        return WHOLE
    if len(word) > 1 and begins(word, name):
        return START
    return CLOSE if any(n[0] == word[0] and _misspelt(word, n) for n in name) else NONE


def _misspelt(word: str, other: str) -> bool:
    """Whether one is the other with a slip or two: people seldom miss the first letter, and hardly ever the length."""
    if min(len(word), len(other)) < SHORTEST_MISSPELT or word[0] != other[0] or abs(len(word) - len(other)) > 1 + len(word) // LONG:
        return False
    return _alike(word, other) >= ALIKE


def _alike(one: str, other: str) -> float:
    """Likeness of two texts, 0 where it is under ALIKE; most pairs are told apart by their lengths or letters alone."""
    length = len(one) + len(other)
    if 2 * min(len(one), len(other)) < ALIKE * length or 2 * sum(min(one.count(c), other.count(c)) for c in {*one}) < ALIKE * length:
        return 0.0
    from difflib import SequenceMatcher  # only where something is misspelt

    return SequenceMatcher(None, one, other).ratio()


def mended(word: str, known: Collection[str]) -> str:
    """*word* as the one known word that is nearest, a slip of the keys away; as it is where it is known, too short, a figure, or two are as near.

    A slip is a letter too many, too few, another, or two that changed places; a long word may have two.
    """
    from rapidfuzz.distance import OSA

    bare = plain(word)
    if bare in known or not bare.isalpha() or len(bare) < SHORTEST_MISSPELT:
        return word
    most = 2 if len(bare) >= LONG else 1
    apart = {other: OSA.distance(bare, other, score_cutoff=most) for other in known if len(other) >= SHORTEST_MISSPELT and other[0] == bare[0]}
    least = min(apart.values(), default=most + 1)
    nearest = [other for other, slips in apart.items() if slips == least]
    return nearest[0] if least <= most and len(nearest) == 1 else word
