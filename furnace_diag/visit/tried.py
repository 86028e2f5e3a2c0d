"""What somebody tried and what came of it, told in one line: "works when i smack the board"."""

from __future__ import annotations

from collections.abc import Sequence

from furnace_diag.knowledge.spelling import ANSWERS, DENIALS, DENIED, plain
from furnace_diag.visit.names_and_values import NamesAndValues
from furnace_diag.visit.typed import Typed

WHO_DID = frozenset(
    ["i", "we", "you", "he", "she", "they", "tech", "me", "it", "just", "then", "and", "put", "gave", "got", "did", "is", "gets", "fed", "installed",
     "screwdriver", "hammer", "wrench", "pliers", "fist", "hand", "handle"]
)  # fmt: skip
WHEN_DONE = frozenset(["when", "if", "once", "after", "with", "while"])  # between what came of it and what was tried
NOT_TOLD_OF = frozenset(["if", "would", "should", "could", "might", "may", "supposed", "try", "until", "unless", "before"])  # not what was done and seen
MOST_OF_TRIAL = 14  # words
LEAST_OF_NAME = 3  # words that the name of what is no experiment must have, to stand around its value


def tried(words: list[str], named: NamesAndValues) -> list[tuple[int, Typed]]:
    """What was tried and what came of it, which may stand before it, after it or in it: "works when i smack the board", "blower spins if pushed".

    All other words must be a name of it. Told as it was, and not as it would be: "if ..." tells nothing, but "spins if pushed" does.
    """
    said = [plain(w) for w in words]
    if not 1 < len(words) <= MOST_OF_TRIAL or said[0] in NOT_TOLD_OF or not (NOT_TOLD_OF - {"if"}).isdisjoint(said):
        return []
    kept = [(word, bare) for word, bare in zip(words, said, strict=True) if bare not in WHO_DID]
    for size in range(len(kept) - 1, 0, -1):
        for start in range(len(kept) - size + 1):
            act = [bare for _, bare in (*kept[:start], *kept[start + size :])]
            outcome = " ".join(word for word, _ in kept[start : start + size]).strip(" ,;:")
            if start == 0 and size == 1 and plain(outcome) in ANSWERS:
                continue  # "no board tapped": nothing was tried
            found = [(len(act), Typed({"sign": s, "value": outcome})) for s in _tried_by(act, named) if named.fits("sign", s, outcome)]
            if found:
                return found
    return []


def _tried_by(act: Sequence[str], named: NamesAndValues) -> list[str]:
    """The experiments that *act* names, in whatever order, or with nothing between but "when": one that takes something off only in full."""
    names, experiments = named.vocabulary.names("sign"), named.vocabulary.knowledge.experiment
    if (DENIALS | DENIED) & {*act}:
        return []
    ways = dict.fromkeys((" ".join("when" if w in ("if", "once") else w for w in act), " ".join(w for w in act if w not in WHEN_DONE)))
    for text in filter(None, ways):
        in_full = [i for i in names.clear(text) if i in experiments or len(text.split()) >= LEAST_OF_NAME]
        found = in_full or [i for i in names.in_any_order(text) if i in experiments and not named.takes_off({"sign": i})]
        if found:
            return found
    return []
