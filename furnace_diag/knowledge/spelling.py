"""One spelling for what people write in several ways, and the words of names and values that say little or deny."""

from __future__ import annotations

import re
from collections.abc import Container, Iterable, Mapping
from functools import lru_cache

from furnace_diag.knowledge.models import Words

FILLERS = frozenset({"the", "a", "an", "to", "of", "and"})  # words that people put into a name or leave out
VALUE_FILLERS = frozenset({"the", "a", "an", "it", "its", "is", "are", "does", "do", "did", "will", "just", "but", "either"})
LINKS = frozenset({"at", "in", "on", "for", "with", "by", "from"})  # shared by too many names to suggest any of them
DENIED = frozenset(
    ["isnt", "arent", "wasnt", "doesnt", "dont", "didnt", "wont", "cant", "cannot", "couldnt", "wouldnt", "hasnt", "havent"]
)  # "isn't", "won't", ... without the apostrophe; each is read as "not"
DENIALS = frozenset({"not", "no", "never", "none", "nothing", "without"})
DENIED_AFTER = frozenset({"none", "nope", "negative", "nil"})  # behind what is not so: "gas smell: none"
# what one denies with it is denied as well: "did not notice any smell of gas"
LOOKED = frozenset(["have", "has", "had", "notice", "noticed", "see", "saw", "seen", "find", "found", "hear", "heard", "feel", "felt", "get", "got"])
LOOKED |= {"smell", "smelled", "show", "shows", "showing"}
STILL_DENIED = frozenset({"more", "longer", "further", "any", "sign", "signs", "trace", "evidence", "of"})  # between a denial and what it denies
ANSWERS = DENIALS | {"yes"}  # words that say nothing by themselves
ENDINGS = ("ing", "ed", "es", "s")  # of a word that is told now, then, or of several: "click", "clicks", "clicking"
DOUBLED = re.compile(r"([b-df-hj-np-tv-z])\1$")  # the end of "runn"
SUPPLIES = re.compile(r"(?:(?<=^24)|(?<=^120))(?= (?:at|on|out|into|across)\b)")  # where a supply is named by its volts alone
AS_IT_IS = re.compile(r"[a-z]+(?: [a-z]+)*")  # most names: words of small letters, one space between
LEAST_STEM = 3  # [letters] that an ending must leave
MOST_SPELLED = 8192  # texts whose spelling is remembered


@lru_cache(maxsize=8192)  # the same words come again in every table of names
def plain(text: str) -> str:
    """Lower case, words parted by one space, no punctuation but that inside numbers; "24VAC", "24 volts" and the 24 of "24 at w" are "24 v"."""
    if AS_IT_IS.fullmatch(text):
        return text
    bare = re.sub(r"[^a-z0-9.+]+", " ", re.sub(r"['’`]", "", text.lower()))
    bare = re.sub(r"(?<=\d) ?(?:volts?|v ?ac|v)(?= |$)", " v", bare)
    bare = SUPPLIES.sub(" v", bare)
    return " ".join(bare.strip(" .").split())


class Spelling:
    """One spelling for what people write in several: `short` words of the trade spelled out, fillers dropped."""

    def __init__(self, short: Mapping[str, Iterable[str]] | None = None, fillers: frozenset[str] = FILLERS) -> None:
        self._fillers = fillers
        self._long = {tuple(plain(s).split()): plain(long) for long, words in (short or {}).items() for s in words if plain(s)}
        self._spelled: dict[str, str] = {}
        self._longest: dict[str, int] = {}  # by its first word, the longest short form
        for form in self._long:
            self._longest[form[0]] = max(len(form), self._longest.get(form[0], 0))
        self.several: dict[str, tuple[str, ...]] = {}  # names, in this spelling, that are short for several entries
        self.told: dict[str, dict[str, set[str]]] = {}  # names, in this spelling, that are short for the sign that has one of these values
        self.left_out: frozenset[str] = frozenset()  # words of names that people leave out
        self.alike: dict[str, str] = {}  # words of names that tell the same, without their endings, and the one that stands for them

    def __call__(self, text: str) -> str:
        """*text* in that spelling. Remembered, for a line is looked up in every table of names."""
        spelled = self._spelled.get(text)
        if spelled is None:
            if len(self._spelled) >= MOST_SPELLED:
                self._spelled.clear()
            spelled = self._spelled[text] = self._made(text)
        return spelled

    def _made(self, text: str) -> str:
        words, out, i = plain(text).split(), list[str](), 0
        if self._longest.keys().isdisjoint(words):
            return " ".join(w for w in words if w not in self._fillers)
        while i < len(words):
            size = next((n for n in range(self._longest.get(words[i], 0), 0, -1) if tuple(words[i : i + n]) in self._long), 0)
            out.append(self._long[tuple(words[i : i + size])] if size else words[i])
            i += size or 1
        return " ".join(w for w in out if w and w not in self._fillers)


VALUE_SPELLING = Spelling({"not": DENIED, "": ("at all", "any more", "anymore", "right now")}, VALUE_FILLERS)


def spelling_of(words: Words, kind: str = "") -> Spelling:
    """The spelling of names, by the short words of the rules; of those of one *kind* by its own before them. A short word of no letters or figures is left
    out."""
    own = words.short_of_steps if kind == "step" else {}
    said = {short for others in own.values() for short in others}
    spelled = Spelling({long: [s for s in short if s not in said] for long, short in words.short_words.items()} | dict(own) if own else words.short_words)
    spelled.several = {spelled(name): ids for name, ids in words.several_names.items()}
    spelled.left_out = frozenset(words.left_out_of_names)
    spelled.alike = {stem(word): stem(one) for one, others in words.alike_in_names.items() for word in others}
    spelled.told = {spelled(name): {sign: {*map(VALUE_SPELLING, said)} for sign, said in signs.items()} for name, signs in words.told_by_value.items()}
    return spelled


@lru_cache(maxsize=MOST_SPELLED)
def stem(word: str) -> str:
    """*word* without its ending: "clicking" and "clicks" are "click", "moved" and "moving" are "mov"."""
    ending = next((e for e in ENDINGS if word.endswith(e) and len(word) - len(e) >= LEAST_STEM), "")
    bare = word.removesuffix(ending) if ending else word
    return (DOUBLED.sub(r"\1", bare) if word.isalpha() else bare).rstrip("e")


def with_its_g(said: str, known: Container[str]) -> str:
    """*said* (plain words) with the g that people swallow: "rollin" is "rolling", where *known* has that and not the other."""
    if "in" not in said:
        return said
    return " ".join(f"{w}g" if len(w) > LEAST_STEM + 1 and w.endswith("in") and w not in known and f"{w}g" in known else w for w in said.split())


def any_of(said: Iterable[str]) -> str:
    """A pattern of any of the phrases *said*, the longest first; of none, one that matches nothing."""
    forms = sorted({*map(plain, said)}, key=len, reverse=True)
    return f"(?:{'|'.join(map(re.escape, forms))})".replace("\\ ", " ") if forms else r"(?!)"


def counted(said: str) -> str:
    """*said* with n for each figure."""
    return re.sub(r"\b\d+\b", "n", said)
