"""Whether what stands beside a danger says that it is so no more, or was so long ago."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence

from furnace_diag.knowledge.models import DangersSaid

SINCE = frozenset({"since", "from", "until", "till", "every", "like"})  # before a time in which it began, or is met again and again
LITTLE_WORDS = ("have", "now", "then", "since", "we", "i", "they", "here", "there", "in", "on", "house")
END = r"(?= now\b|,|$| \|| \.)"


class OverWords:
    """The rules' words for that, ready to be looked for."""

    def __init__(self, said: DangersSaid, forms: Callable[[Iterable[str]], list[str]], little: Sequence[str]) -> None:
        between = "|".join(map(re.escape, (*little, *LITTLE_WORDS)))
        times = _any_of(forms(said.some_time))
        over, back, long_ago = (_any_of(forms(words)) for words in (said.over, said.back, said.long_ago))
        meanwhile = rf"(?:(?:{between}|{times}|but|and) )*"
        self._over = re.compile(rf" {meanwhile}{over}\b|,? {meanwhile}{over}{END}")
        self._back = re.compile(rf"\b{back}\b")
        self._then = re.compile(rf" (?:(?P<little>(?:{between}) )*){long_ago}\b")
        self._passes = frozenset(said.passes)
        self._before = re.compile(rf"\b{long_ago}(?: (?:{between}))*$")

    def told_over(self, rest: str) -> str:
        """The words right behind a danger (plain words) that say that it is so no more: "gas smell gone, tightened union"; empty where none do."""
        found = self._over.match(f" {rest.strip()}".replace(" ,", ","))
        return found[0].strip(" ,") if found is not None and self.is_not_back(rest) else ""

    def is_not_back(self, rest: str) -> bool:
        """Whether nothing behind a danger says that it is there again."""
        return self._back.search(rest) is None

    def is_past(self, sign: str, before: str, rest: str) -> bool:
        """Whether what stands beside a danger says that it is over, or was so long ago."""
        return bool(self.told_over(rest)) or self.was_then(sign, before, rest)

    def was_then(self, sign: str, before: str, rest: str) -> bool:
        """Whether what stands right beside a danger that passes by itself says that it was so long ago: "co poisoning last year"."""
        if sign not in self._passes or self._back.search(rest):
            return False
        return self._told_of_then(f" {rest.strip()}") or self._ends_in_then(before.strip())

    def _told_of_then(self, rest: str) -> bool:
        found = self._then.match(rest)
        return found is not None and SINCE.isdisjoint((found["little"] or "").split())

    def _ends_in_then(self, before: str) -> bool:
        found = self._before.search(before)
        return found is not None and SINCE.isdisjoint(before[: found.start()].split()[-1:])


def _any_of(forms: Iterable[str]) -> str:
    """A pattern of any of *forms*; of none, one that matches nothing."""
    return f"(?:{'|'.join(map(re.escape, forms))})".replace("\\ ", " ") if forms else r"(?!)"
