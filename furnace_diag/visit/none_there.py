"""That there is none of a thing is no answer to how it stands: "no jumpers" may be that nothing is bypassed, that there is nothing to set, or that it is
set wrong. It is asked for, whatever the screen asks, and not read where nobody can be asked."""

from __future__ import annotations

from collections.abc import Sequence

from furnace_diag.knowledge.spelling import DENIALS, plain
from furnace_diag.visit.names_and_values import NamesAndValues
from furnace_diag.visit.typed import Typed

NONE_OF_IT = DENIALS | {"nothing", "none", "zero", "0"}

Read = list[tuple[int, Typed]]


def or_none_there(words: Sequence[str], best: Read, named: NamesAndValues) -> Read:
    """*best*, and beside a check that is denied by a thing that need not be there all else that the line may say: of other signs that have it for a
    value, or of that check."""
    sign = named.vocabulary.knowledge.sign.get(str(best[0][1].record.get("sign"))) if len(best) == 1 else None
    if sign is None or not _denies_a_thing(sign.of_things, words, best[0][0]):
        return best
    size, typed = best[0]
    none, value = _none_of(words, size), str(typed.record["value"])
    (no,) = named.values(sign.sign).meant(value)
    others = [s.sign for s in named.told_in_a_word if s.sign != sign.sign and named.fits("sign", s.sign, none)]
    may_be = [(other, named.values(other).meant(none)[0]) for other in others] or [(sign.sign, other) for other in sign.values if other != no]
    how = {k: v for k, v in typed.record.items() if k not in ("sign", "value")}
    told = [*may_be, (sign.sign, no)]
    return [(size, Typed({"sign": name, "value": said.replace("_", " "), **how}, guessed=name, weakly=True)) for name, said in told]


def says_none_there(things: Sequence[str], text: str) -> bool:
    """Whether *text* is nothing but that there is none of one of *things*."""
    words = text.replace(":", " ").split()
    return any(_denies_a_thing([thing], words, len(thing.split())) and len(words) == len(thing.split()) + 1 for thing in things)


def _denies_a_thing(things: Sequence[str], words: Sequence[str], size: int) -> bool:
    """Whether the *size* words of a name among *words* are one of *things*, and what else stands there denies it."""
    return not NONE_OF_IT.isdisjoint(map(plain, words)) and _none_of(words, size) in {f"no {plain(thing)}" for thing in things}


def _none_of(words: Sequence[str], size: int) -> str:
    """That there is none of what *size* words of *words* name, with the denial first: "no jumpers"."""
    return " ".join(["no", *[w for w in map(plain, words) if w not in NONE_OF_IT][:size]])
