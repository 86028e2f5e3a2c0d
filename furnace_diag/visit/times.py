"""How long after the gas came on a reading was taken, as people say it: "after 200 s", "200s after gas on", "at 3 min", "3m20"."""

from __future__ import annotations

import re
from collections.abc import Sequence

from furnace_diag.diagnosis.repairs_told import WHEN
from furnace_diag.quantities import BadQuantity, parse_quantity

MOST_WORDS = 9  # "after about 3 min 20 s after the gas", the longest that people say
_SECONDS = r"\d+(?:\.\d+)?\s*(?:s|secs?|seconds?)\b\.?"
_MINUTES = r"\d+(?:\.\d+)?\s*(?:m|mins?|minutes?)(?![a-z])\.?"
_AND_SECONDS = r"(?:\s*(?:and\s+)?\d+(?:\.\d+)?(?:\s*(?:s|secs?|seconds?)\b)?(?![\w.]))?"
_WITH_UNIT = rf"(?:\d{{1,3}}:[0-5]\d|{_MINUTES}{_AND_SECONDS}|{_SECONDS})"
_OPENED = r"(?:\s+(?:is|came|comes|was))?(?:\s+(?:on|open|opens|opened|clicks?|clicked|lit|lights?))?"
_FROM_GAS = rf"(?:after|past|from|since|into)\s+(?:the\s+)?(?:gas(?:\s+valve)?|valve|click|flame|burners?){_OPENED}"
_LATER = rf"(?:\s+(?:{_FROM_GAS}|into\s+it|in|later|after)(?!\s*\w))?(?!\s+(?:after|past|since|from)\b)"  # never "after the call": that is another clock

_PLAIN = re.compile(
    rf"after\s+(?:about\s+)?(?P<after>{_WITH_UNIT}|[\d.]+(?:\s*\S+)?)(?:\s+{_FROM_GAS})?|(?P<since>{_WITH_UNIT}|\d+)\s+{_FROM_GAS}", re.IGNORECASE
)
_BARE = re.compile(rf"(?<![\w.:-])(?:(?:at|after|in|about|around|~)\s*)*(?P<time>{_WITH_UNIT})(?![\w.]){_LATER}", re.IGNORECASE)
_TWO_UNITS = re.compile(r"(?P<min>\d+(?:\.\d+)?)\s*m(?:ins?|inutes?)?\.?(?:\s*(?:and\s+)?(?P<s>\d+(?:\.\d+)?)\s*[a-z]*\.?)?", re.IGNORECASE)


def without_when(text: str, by_whom: Sequence[str] = ()) -> list[str]:
    """*text* without how long ago something was done ("2 wks ago", "last year") and *by_whom*, which ends it; nothing where it tells no such thing, or
    nothing else."""
    bare = WHEN.sub("", text).strip()
    who = next((m for each in by_whom if (m := re.search(rf"\s+(?:by\s+)?(?:the\s+)?{re.escape(each)}$", bare, re.IGNORECASE))), None)
    bare = bare[: who.start()].rstrip(" ,") if who else bare
    return [bare] if bare and bare != text.strip() else []


def seconds_told(text: str) -> float | None:
    """The seconds of words that say nothing else, and say from when: "after 200 s", "3 min after gas on"; None for any others."""
    found = _PLAIN.fullmatch(text.strip())
    return _seconds(found["after"] or found["since"]) if found else None


def seconds_alone(text: str) -> float | None:
    """The seconds of an answer to "after how many seconds?": the same, or with fewer words, as "200", "200s" or "3 min in"."""
    told = seconds_told(text)
    if told is not None:
        return told
    found = _BARE.fullmatch(text.strip())
    return _seconds(found["time"] if found else text.strip())


def with_after(text: str) -> str:
    """*text* with its only time that has a unit told in full: "0.2 200s pin" is "0.2 after 200 s pin"; unchanged where there is none, or more."""
    found = list(_BARE.finditer(text))
    seconds = _seconds(found[0]["time"]) if len(found) == 1 else None
    return text if seconds is None else f"{text[: found[0].start()]}after {seconds:g} s{text[found[0].end() :]}"


def _seconds(text: str) -> float | None:
    two = _TWO_UNITS.fullmatch(text)
    try:
        return 60 * float(two["min"]) + float(two["s"] or 0) if two else parse_quantity(text, "s").value
    except BadQuantity:
        return None
