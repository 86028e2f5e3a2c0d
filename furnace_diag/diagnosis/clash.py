"""Records that clash: the smallest sets of them that no furnace of the population, healthy or failed, can give at once.

What a furnace cannot give (`gives`) is a set of records. Records clash if each furnace lacks at least one of them, so
the smallest clashes are the minimal hitting sets of those sets (Reiter 1987, A theory of diagnosis from first principles).
"""

from __future__ import annotations

from collections.abc import Collection, Hashable, Iterable, Iterator, Sequence
from itertools import product
from typing import NamedTuple, TypeVar

import numpy as np
from numpy.typing import NDArray

from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.groups import MISTIMED, Group
from furnace_diag.diagnosis.records import Record
from furnace_diag.diagnosis.weigh import UNKNOWN_PLACE, Comings, Fact

T = TypeVar("T", bound=Hashable)
Flags = NDArray[np.bool_]

MOST_CLASHES = 3  # that are told, judgement
MOST_RECORDS = 4  # in one clash: of more, nobody can say which one to take again
MOST_TRIED = 4000  # sets that are looked at, small ones first
PAIR = 2  # records of which one may exclude the other
SEVERAL = 7  # parts: a dead point has so many causes, an odd figure few; judgement
ROUNDING = 1e-6  # of a sum of shares
MOST_CALLS = 6  # heat calls told apart for failures that come and go; in later ones a record counts as given if it is either way


class Clash(NamedTuple):
    """Records that cannot be true together, as they were said; *at*: where each stands."""

    records: tuple[str, ...]
    at: tuple[str, ...]


def clashes(evidence: Evidence, groups: Collection[Group]) -> list[tuple[Record, ...]]:
    """The smallest sets of records that clash, smallest first; none if some furnace gives them all.

    A failure that comes and goes gives in each heat call either what it gives when it is there, or what the healthy furnace of its site gives.
    Left out are records read at the wrong time, and habits (a smell, a mark), which no circuit rules out. An option that was stated is not
    held against a furnace: it may be mistaken as well.
    """
    told = [(r, f) for records, facts in groups for r, f in zip(records, facts, strict=True) if not f.standing and f.slip < MISTIMED]
    if not told:
        return []
    facts = [fact for _, fact in told]
    given = [gives(evidence, fact) for fact in facts]
    every = np.logical_and.reduce(given)
    every[evidence.comings.rows] = False
    if every.any():  # nearly every report ends here
        return []
    cannot = ~np.array(given)
    always = np.delete(cannot, evidence.comings.rows, axis=1)
    lacking = least([*_sets(always), *_of_comings(facts, cannot, evidence.comings)])
    found = minimal_hitting_sets(lacking, MOST_RECORDS, MOST_TRIED)
    return [tuple(told[i][0] for i in sorted(numbers)) for numbers in found[:MOST_CLASHES]]


def gives(evidence: Evidence, fact: Fact) -> Flags:
    """Which furnaces give what was read or seen, shape (rows,). That it may have been read by mistake where the furnace stops, or a step beside, excuses
    no clash: to read at the wrong step is one of the slips that a clash tells of."""
    mistaken = max(share for meant, share in evidence.words.step_stated.items() if meant != "there")
    return np.asarray(fact.fit > mistaken + ROUNDING)


def contradicts(clash: Sequence[Record], evidence: Evidence) -> bool:
    """Whether a clash is a contradiction, and not only the end of the known causes, behind which one may stand that no rule has.

    One record excludes another in two ways. Something was seen to work without what it works by. Or one reads as on a sound furnace while the other
    is given by failures of several parts, and not one of these failures leaves the first as it is. Three records or more only leave no known
    cause over: 24 V before a good fuse and none behind it.
    """
    if len(clash) != PAIR:
        return False
    given = [gives(evidence, fact) for r in clash if (fact := evidence.told(r)) is not None]
    population = evidence.population
    sound = [bool(flags[population.fault_of < 0].any()) for flags in given]
    if any(good and r.kind != "point" for r, good in zip(clash, sound, strict=True)):
        return True
    failed = population.fault_of >= 0
    parts = [len({population.faults[i].part for i in np.unique(population.fault_of[flags & failed])}) for flags in given]
    return any(sound) and min(parts) >= SEVERAL


def _sets(cannot: Flags) -> Iterator[frozenset[int]]:
    """The different sets of records that furnaces cannot give; *cannot* has shape (records, furnaces)."""
    packed = np.packbits(cannot, axis=0)
    size, furnaces = len(packed), packed.T.tobytes()
    for column in sorted({furnaces[i : i + size] for i in range(0, len(furnaces), size)}):
        yield frozenset(np.flatnonzero(np.unpackbits(np.frombuffer(column, np.uint8), count=len(cannot))).tolist())


def _of_comings(facts: Sequence[Fact], cannot: Flags, comings: Comings) -> Iterator[frozenset[int]]:
    """What furnaces cannot give whose failure is there in some calls only, for every choice of those calls."""
    places = np.array([UNKNOWN_PLACE if fact.place is None else fact.place for fact in facts])
    away = cannot[:, comings.healthy]
    there = np.where(places[:, None] < comings.starts, away, cannot[:, comings.rows])
    calls = sorted({fact.call for fact in facts})
    of_call = [frozenset(i for i, fact in enumerate(facts) if fact.call == c) for c in calls]
    count = len(facts)
    for both in _sets(np.vstack([there, away])):
        with_it, without = (frozenset(i for i in both if i < count), frozenset(i - count for i in both if i >= count))
        later = frozenset[int]().union(*(with_it & without & records for records in of_call[MOST_CALLS:]))
        choices = ({with_it & records, without & records} for records in of_call[:MOST_CALLS])
        for chosen in product(*(least(choice) for choice in choices)):
            yield later.union(*chosen)


def least(sets: Iterable[frozenset[T]]) -> list[frozenset[T]]:
    """Those of *sets* that hold no other of them, the smallest first."""
    kept: list[frozenset[T]] = []
    for one in sorted(set(sets), key=len):
        if not any(other <= one for other in kept):
            kept.append(one)
    return kept


def minimal_hitting_sets(sets: Collection[frozenset[T]], most_members: int, most_tried: int) -> list[frozenset[T]]:
    """All sets that share a member with each of *sets* and could spare none of their own, the smallest first.

    None has over *most_members*. After *most_tried* sets were looked at, what has been found is given: the smallest of all are among it, if any is.
    """
    found: list[frozenset[T]] = []
    layer = [frozenset[T]()]
    tried = 0
    for _ in range(most_members + 1):
        grown: dict[frozenset[T], None] = {}
        for partial in layer:
            if tried >= most_tried:
                return found
            tried += 1
            if any(other <= partial for other in found):
                continue
            missed = next((one for one in sets if one.isdisjoint(partial)), None)
            if missed is None:
                found.append(partial)
            else:
                grown |= dict.fromkeys(partial | {member} for member in missed)
        layer = list(grown)
    return found
