"""What is typed in answer to one reading that is asked for, in more words than its value or with a slip in it. For the prompt alone, where
somebody sees what it was read as: "ohms .5", "half an ohm", "sounds ok", "leads ok", "worked fine", "cal"."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

from furnace_diag.knowledge.find import Names
from furnace_diag.knowledge.likeness import LONG
from furnace_diag.knowledge.spelling import DENIALS, LINKS, plain

LEADS_IN = LINKS | frozenset(["sounds", "looks", "reads", "reading", "seems", "feels", "shows", "says", "was", "were", "got"])
LEADS_IN |= frozenset(["i", "its", "it", "is", "about", "after", "well", "like", "around", "roughly", "the"])
FIGURE = r"(?P<figure>.*\d\S*(?: (?:v|vac|volts?|ohms?|amps?|ua|uf|mfd|in wc|iwc|wc))?)"
BESIDE = re.compile(rf"{FIGURE} (?P<beside>with (?:the )?(?P<state>[a-z][a-z ]*))", re.IGNORECASE)  # "26 with the blower off"
ANOTHER = frozenset(["also", "again", "another", "next", "one", "second", "third", "2nd", "3rd", "4th"])  # before what is told of one more call
SHARES = {"half": "0.5", "quarter": "0.25"}
OF_A_SHARE = frozenset(["a", "an", "of"])
SHORTEST = 3  # [letters] of a value that may be misspelt
SHORTEST_READ_OFF = 3  # [words] of what is read off a list of values
SHORTEST_PART = 3  # [letters] of what begins a word of a name; a shorter one must be the word


def in_other_words(text: str, names: Mapping[str, tuple[str, ...]], values: Names | None) -> Iterator[str]:
    """What *text* may mean as a value, the likeliest first: without the words that lead in to it or name what is asked for, its share as a figure,
    or, of a sign, the one of its *values* that it is a slip or two from.

    *names*: the id of what is asked for, with what else it is called. *values*: None of a point.
    """
    known = {word for name, also in names.items() for called in (name, *also) for word in plain(called).split()} - DENIALS
    words = text.split()
    while words:
        rest = " ".join(words)
        yield rest
        if values is None:
            yield from _share(words)
        elif (value := nearest_value(rest, values)) is not None:
            yield value.replace("_", " ")
        first = plain(words[0])
        if first in DENIALS or not (first in LEADS_IN | ANOTHER or _names_it(first, known)):
            return
        if values is not None and first in LINKS and len(words) > 2 and values.meant(first):
            return  # "breaker on switch on": the first is a value itself, and what follows it is of another thing
        words = words[1:]


def begins_with_its_name(text: str, name: str, also: tuple[str, ...]) -> bool:
    """Whether the first word of *text* is one of a name's."""
    first = plain(text).partition(" ")[0]
    return _names_it(first, {word for called in (name, *also) for word in plain(called).split()} - DENIALS)


def _names_it(word: str, known: set[str]) -> bool:
    return word in known or (len(word) >= SHORTEST_PART and any(k.startswith(word) for k in known))


def _share(words: list[str]) -> Iterator[str]:
    """Half an ohm as 0.5 ohm."""
    share = SHARES.get(words[0].lower())
    unit = [w for w in words[1:] if w.lower() not in OF_A_SHARE]
    if share is not None and len(unit) <= 1:
        yield " ".join([share, *unit])


def value_read_off(text: str, says: Mapping[str, str]) -> str | None:
    """The value whose explanation in the list on the screen *text* is, or begins with: "the gas valve clicks, and no flame". None of any other.

    *says*: what each value means. What leaves out the no of an explanation may be another value.
    """
    said = [w for w in plain(text).split() if w not in ("the", "and", "but")]
    listed = {value: [w for w in plain(long).split() if w not in ("the", "and")] for value, long in says.items()}
    meant = [v for v, words in listed.items() if words[: len(said)] == said and (DENIALS & {*said} or not DENIALS & {*words})]
    return meant[0] if len(meant) == 1 and len(said) >= SHORTEST_READ_OFF else None


def nearest_value(text: str, values: Names) -> str | None:
    """The value with a word that is *text* with a slip of the keys in it; None where words of two values are as near, or none is.

    A slip is a letter too many, too few, another, or two that changed places; a long text may have two. The first letter is seldom missed.
    """
    from rapidfuzz.distance import OSA

    bare = plain(text)
    if len(bare) < SHORTEST or not bare.replace(" ", "").isalpha():
        return None
    most = 2 if len(bare) >= LONG else 1
    called = [(plain(word), value) for value, others in values.others.items() for word in (value, *others)]
    near = [(w, v) for w, v in called if len(w) >= SHORTEST and w[0] == bare[0] and bool(DENIALS & {*w.split()}) == bool(DENIALS & {*bare.split()})]
    apart = [(OSA.distance(bare, w, score_cutoff=most), v) for w, v in near]
    least = min((slips for slips, _ in apart), default=most + 1)
    nearest = {v for slips, v in apart if slips == least}
    return nearest.pop() if least <= most and len(nearest) == 1 else None
