"""Finding an entry by what people call it: exactly, by other names, or, failing that, the nearest names."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from difflib import get_close_matches


def plain(text: str) -> str:
    """Lower case, words parted by one space, no punctuation but that inside numbers."""
    return " ".join(re.sub(r"[^a-z0-9.+]+", " ", text.lower()).split())


class Names:
    """All names of some entries: their ids and what else they are called."""

    def __init__(self, entries: Mapping[str, Iterable[str]]) -> None:
        self.ids = list(entries)
        self._meant: dict[str, list[str]] = {}
        for identifier, others in entries.items():
            for name in dict.fromkeys([plain(identifier), *map(plain, others)]):
                self._meant.setdefault(name, []).append(identifier)

    def meant(self, text: str) -> list[str]:
        """The ids that *text* names: one where it is clear, several where it is ambiguous, none where unknown."""
        wanted = plain(text)
        exact = [i for i in self._meant.get(wanted, []) if plain(i) == wanted]
        return exact or self._meant.get(wanted, [])

    def nearest(self, text: str, count: int = 3) -> list[str]:
        """Ids whose names look like *text*, nearest first."""
        near = get_close_matches(plain(text), list(self._meant), count * 3, 0.55)
        return list(dict.fromkeys(i for name in near for i in self._meant[name]))[:count]

    def holding(self, words: Iterable[str], texts: Mapping[str, str]) -> list[str]:
        """Ids in whose names or *texts* every one of *words* stands."""
        wanted = [plain(w) for w in words]
        names: dict[str, str] = {i: plain(f"{i} {texts.get(i, '')}") for i in self.ids}
        for name, ids in self._meant.items():
            for i in ids:
                names[i] += " " + name
        return [i for i in self.ids if all(w in names[i] for w in wanted)]
