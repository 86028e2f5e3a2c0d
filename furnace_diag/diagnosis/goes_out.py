"""How whoever watches tells that something begins and ends again by itself, and when: "burners lite then kick off after a few min"."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from functools import cached_property

from furnace_diag.knowledge.models import Sign
from furnace_diag.knowledge.spelling import plain

SOME = {"a": 1, "one": 1, "couple": 2, "two": 2, "few": 3, "three": 3, "four": 4, "some": 5, "several": 5, "five": 5, "ten": 10, "fifteen": 15, "twenty": 20}
OF_SECONDS = {"s": 1, "sec": 1, "secs": 1, "second": 1, "seconds": 1, "m": 60, "min": 60, "mins": 60, "minute": 60, "minutes": 60}
IN_OTHER_WORDS = {"awhile": 300, "a while": 300, "a bit": 300, "right away": 1, "right off": 1, "at once": 1, "immediately": 1, "almost immediately": 1}
NO_TIME = r"(?: (?:when|at|as|once|after|if|by|with|w|on|in|until|till|before|because|normally|normal|ok|okay|fine|like|for|every|never|no|not)\b)"

_ABOUT = r"(?:(?:about|around|bout|maybe|only|just|like|less than|under) )*"
_FIGURE = rf"(?:a )?(?P<{{0}}n>\d+(?:\.\d+)?|{'|'.join(SOME)})(?: (?:or|to) (?:\d+|{'|'.join(SOME)})| of)*"
_TIME = rf"{_ABOUT}(?:{_FIGURE} ?(?P<{{0}}u>{'|'.join(sorted(OF_SECONDS, key=len, reverse=True))})\b|(?P<{{0}}w>{'|'.join(IN_OTHER_WORDS)})\b)"
_IN = r"(?:after|within|in|for)"


class GoesOut:
    """The phrases of a sign that has `ends_in_complaints`."""

    def __init__(self, sign: Sign) -> None:
        self.sign = sign

    @cached_property
    def _said(self) -> list[re.Pattern[str]]:
        told = self.sign.ends_in_complaints
        assert told is not None
        thing, begins, then, ends, stays_not = map(_any_of, (told.things, told.begins, told.then, told.ends, told.stays_not))
        late, held = rf"(?: (?:{_IN} )?{_TIME.format('late')})", rf"(?: (?:for )?{_TIME.format('held')})"
        ways = (
            rf"(?:{thing} )?{begins}{held}?(?: {then}) {ends}{late}?",
            rf"{thing} {ends}{late}",
            rf"{_IN} {_TIME.format('late')} (?:the )?{thing} {ends}",
            rf"{thing} {stays_not}{late}?",
        )
        return [re.compile(rf"{way}(?![\w.])") for way in ways]

    def at(self, words: Sequence[str], at: int) -> tuple[str, str, int] | None:
        """What is told from a place of *words* on: the sign, its value, and where the phrase ends; None where it is none of these.

        Without a time nothing is told before a word that says when or why: burners that shut off once the thermostat is satisfied do as they should.
        """
        said = " ".join(words[at : at + 24])
        found = next((m for m in (way.match(said) for way in self._said) if m is not None), None)
        told = self.sign.ends_in_complaints
        if found is None or told is None:
            return None
        end, seconds = at + len(found[0].split()), _seconds(found)
        if seconds is not None and self.sign.figures is not None:
            return self.sign.sign, self.sign.figures.value_at(seconds), end
        if re.match(NO_TIME, said[found.end() :]):
            return None
        sign, _, value = told.untimed.partition(": ")
        return sign, value, end


def _any_of(texts: Iterable[str]) -> str:
    return f"(?:{'|'.join(re.escape(text) for text in sorted(map(plain, texts), key=len, reverse=True))})"


def _seconds(found: re.Match[str]) -> float | None:
    """The seconds after which it ends; None where none are told."""
    said = found.groupdict()
    for which in ("late", "held"):
        if word := said.get(f"{which}w"):
            return IN_OTHER_WORDS[word]
        if figure := said.get(f"{which}n"):
            return (SOME[figure] if figure in SOME else float(figure)) * OF_SECONDS[said[f"{which}u"]]
    return None
