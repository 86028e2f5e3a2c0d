"""How whoever watches tells that something begins and ends again by itself, and when: "burners lite then kick off after a few min"."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from functools import cached_property

from furnace_diag.knowledge.models import Sign, TimesSaid
from furnace_diag.knowledge.spelling import plain


class GoesOut:
    """The phrases of a sign that has `ends_in_complaints`, with the words for *times* of the rules."""

    def __init__(self, sign: Sign, times: TimesSaid) -> None:
        self.sign, self.times = sign, times

    @cached_property
    def _said(self) -> list[re.Pattern[str]]:
        told = self.sign.ends_in_complaints
        assert told is not None
        thing, begins, then, ends, stays_not = map(_any_of, (told.things, told.begins, told.then, told.ends, told.stays_not))
        within, time = _any_of(self.times.within), self._time
        late, held = rf"(?: (?:{within} )?{time('late')})", rf"(?: (?:for )?{time('held')})"
        ways = (
            rf"(?:{thing} )?{begins}{held}?(?: {then}) {ends}{late}?",
            rf"{thing} {ends}{late}",
            rf"{within} {time('late')} (?:the )?{thing} {ends}",
            rf"{thing} {stays_not}{late}?",
        )
        return [re.compile(rf"{way}(?![\w.])") for way in ways]

    def _time(self, which: str) -> str:
        """How a time is told: a figure or a word for one, with its unit, or other words."""
        some, units, others = map(_any_of, (self.times.some, self.times.units, self.times.in_other_words))
        figure = rf"(?:a )?(?P<{which}n>\d+(?:\.\d+)?|{some})(?: {_any_of(self.times.to)} (?:\d+|{some})| of)*"
        return rf"(?:{_any_of(self.times.about)} )*(?:{figure} ?(?P<{which}u>{units})\b(?: {_any_of(self.times.or_so)})?|(?P<{which}w>{others})\b)"

    @cached_property
    def _no_time(self) -> re.Pattern[str]:
        return re.compile(rf" {_any_of(self.times.when_or_why)}\b")

    def _seconds(self, found: re.Match[str]) -> float | None:
        """The seconds after which it ends; None where none are told."""
        said, times = found.groupdict(), self.times
        for which in ("late", "held"):
            if word := said.get(f"{which}w"):
                return times.in_other_words[word]
            if figure := said.get(f"{which}n"):
                return (times.some[figure] if figure in times.some else float(figure)) * times.units[said[f"{which}u"]]
        return None

    def at(self, words: Sequence[str], at: int) -> tuple[str, str, int] | None:
        """What is told from a place of *words* on: the sign, its value, and where the phrase ends; None where it is none of these.

        Without a time nothing is told before a word that says when or why: burners that shut off once the thermostat is satisfied do as they should.
        """
        said = " ".join(words[at : at + 24])
        found = next((m for m in (way.match(said) for way in self._said) if m is not None), None)
        told = self.sign.ends_in_complaints
        if found is None or told is None:
            return None
        end, seconds = at + len(found[0].split()), self._seconds(found)
        if seconds is not None and self.sign.figures is not None:
            return self.sign.sign, self.sign.figures.value_at(seconds), end
        if self._no_time.match(said[found.end() :]):
            return None
        sign, _, value = told.untimed.partition(": ")
        return sign, value, end


def _any_of(texts: Iterable[str]) -> str:
    return f"(?:{'|'.join(re.escape(text) for text in sorted(map(plain, texts), key=len, reverse=True))})"
