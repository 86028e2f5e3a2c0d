"""What a piece says besides the name of a part."""

from __future__ import annotations

from collections.abc import Iterator

from furnace_diag.diagnosis.vocabulary import Vocabulary
from furnace_diag.knowledge.spelling import plain
from furnace_diag.visit.lines import MOST_WORDS

MOST_OF_PART = 4  # words of a part's name


def beside_name(text: str, part: str, vocabulary: Vocabulary, *, renewed: bool = False) -> Iterator[str]:
    """For each way in which some words of *text* name *part*, the others; *renewed*: for short as well, the "motor" that is claimed."""
    words, names, short = plain(text).split(), vocabulary.names("history"), part.rpartition("_")[2]
    for size in range(min(MOST_OF_PART, len(words)), 0, -1) if part and len(words) <= MOST_WORDS else ():
        for i in range(len(words) - size + 1):
            if names.clear(" ".join(words[i : i + size])) == [part] or (renewed and words[i : i + size] == [short]):
                yield " ".join([*words[:i], *words[i + size :]])


def without_states(text: str, vocabulary: Vocabulary) -> str:
    """*text* without words that tell how a part stands, right behind it: of "ps closed" nobody did anything, as of "closed the cock" somebody did."""
    words, names, out = plain(text).split(), vocabulary.names("history"), list[str]()
    states = vocabulary.words.claims.stands
    for i, word in enumerate(words):
        before = {part for n in range(1, MOST_OF_PART + 1) if n <= i for part in names.clear(" ".join(words[i - n : i]))}
        if before.isdisjoint(states.get(word, ())):
            out.append(word)
    return " ".join(out)
