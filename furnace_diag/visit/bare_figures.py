"""A bare figure behind a name that is a sign's and begins points' as well: "outlet 0" is of the gas valve's outlet or of the supply, and is asked for.

What is told to be read on a contact or with a meter is a reading, and no sign at all.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from furnace_diag.visit.names_and_values import MOST_OFFERED, NamesAndValues
from furnace_diag.visit.typed import Typed, name_of

OF_A_METER = ("meter", "contact")  # how a reading is taken, and nothing that is seen
SAME_THING = ("V", "A")  # what is read so of a name is what its sign says too: "24v 0"

Read = list[tuple[int, Typed]]


def or_readings(words: Sequence[str], best: Read, named: NamesAndValues) -> Read:
    """*best*, what *words* are read as, and beside a sign with a bare figure the readings that its name may be short for, all of them to be asked for."""
    if not best or not all(_is_bare(typed, named) for _, typed in best):
        return best
    read = _readings(list(words), best[0][0], named)
    if any("point" in t.record and named.vocabulary.knowledge.point[name_of(t)].unit not in SAME_THING for t in read):
        signs = [(n, _asked(typed)) for n, typed in best if not _by_meter(typed)]
        return [*((best[0][0], t) for t in read[: MOST_OFFERED - len(signs)]), *signs]
    return best


def _is_bare(typed: Typed, named: NamesAndValues) -> bool:
    sign = named.vocabulary.knowledge.sign.get(str(typed.record.get("sign")))
    return sign is not None and not typed.guessed and sign.figures is None and str(typed.record["value"]).replace(".", "").isdigit()


def _readings(words: list[str], end: int, named: NamesAndValues) -> list[Typed]:
    names = [("point", point) for point in named.beginning("point", words[:end])]
    return [_asked(t) for t in named.with_name(words, end, names)][:MOST_OFFERED]


def _by_meter(typed: Typed) -> bool:
    return any(how in typed.record for how in OF_A_METER)


def _asked(typed: Typed) -> Typed:
    return replace(typed, guessed=name_of(typed), weakly=True)
