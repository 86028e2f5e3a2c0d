"""Records joined where they restate one another, so that what is told twice does not count twice."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence

import numpy as np

from furnace_diag.diagnosis.records import Record
from furnace_diag.diagnosis.value_fits import GIVEN
from furnace_diag.diagnosis.weigh import HALF, Fact
from furnace_diag.knowledge.models import Knowledge

MISTIMED = 0.5  # slip of a record that a doubt holds to be read too early or too late: as likely as not it tells nothing, judgement

Group = tuple[list[Record], list[Fact]]  # records that restate one another, with what each says
Echoes = Mapping[str, Collection[str]]  # of a point or sign the others that restate it or are restated by it


def echoes_of(knowledge: Knowledge) -> Echoes:
    """Which signs restate another point or sign, both ways."""
    echoes: dict[str, set[str]] = {}
    for name, sign in knowledge.sign.items():
        for other in sign.says_same_as:
            echoes.setdefault(name, set()).add(other)
            echoes.setdefault(other, set()).add(name)
    return echoes


def joined(records: Sequence[Record], told: Callable[[Record], Fact | None], echoes: Echoes, mistimed: Collection[int] = ()) -> list[Group]:
    """Records that tell something, joined where they restate one another. Records that no furnace gives together do not: one of them is wrong.

    *told*: what a record says. *mistimed*: numbers of those read too early or too late; they tell little, and stand alone so that a later one of
    the same counts in full.
    """
    groups: list[Group] = []
    for number in _fewest_echoes_first(records, echoes):
        record = records[number]
        fact = told(record)
        if fact is None:
            continue
        if number in mistimed:
            groups.append(([record], [fact._replace(slip=MISTIMED, lands=HALF)]))
        elif (home := home_of(record, groups, echoes)) is None or _contradict([*home[1], fact]):
            groups.append(([record], [fact]))
        else:
            home[0].append(record)
            home[1].append(fact)
    return _as_told(groups, records)


def home_of(record: Record, groups: Sequence[Group], echoes: Echoes) -> Group | None:
    """The group that *record* restates; None where it tells something new."""
    able = [g for g in groups if g[1][0].slip < MISTIMED]
    return next((g for g in able if any(_restates(record, other, echoes) for other in g[0])), None)


def _restates(one: Record, other: Record, echoes: Echoes) -> bool:
    if one.name == other.name:
        same_step = one.step == other.step or None in (one.step, other.step)  # read twice, it is told once
        restated = same_step and (one.meter == "low") == (other.meter == "low")  # another meter is another reading
    else:
        restated = other.name in echoes.get(one.name, ())
    return restated and one.call == other.call and one.taken_off == other.taken_off


def _fewest_echoes_first(records: Sequence[Record], echoes: Echoes) -> list[int]:
    """The numbers of *records*, so that what restates two that do not restate one another comes after both, in whatever order they were told.

    It is then of one of them, and does not make one of all three.
    """
    many = [sum(_restates(one, other, echoes) for other in records if other is not one) for one in records]
    return sorted(range(len(records)), key=lambda number: (many[number], records[number].name))


def _contradict(facts: Sequence[Fact]) -> bool:
    """Whether no furnace gives all of them."""
    return bool(np.minimum.reduce([fact.fit for fact in facts]).max() < GIVEN)


def _as_told(groups: Sequence[Group], records: Sequence[Record]) -> list[Group]:
    """The groups, and the records of each, in the order in which *records* were told."""
    place = {id(record): number for number, record in enumerate(records)}
    told = [sorted(zip(*group, strict=True), key=lambda pair: place[id(pair[0])]) for group in groups]
    told.sort(key=lambda pairs: place[id(pairs[0][0])])
    return [([record for record, _ in pairs], [fact for _, fact in pairs]) for pairs in told]
