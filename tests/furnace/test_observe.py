"""What rule files may ask for and what the virtual furnace gives are one list."""

from __future__ import annotations

from furnace_diag.furnace.family import Family, usual_site
from furnace_diag.furnace.observe import _READINGS, _SHOWN, run_words
from furnace_diag.furnace.operate import Operation
from furnace_diag.furnace.virtual import VirtualFurnaces
from furnace_diag.knowledge.cross import READS
from furnace_diag.knowledge.words import RUN, SHOWS, words_of


def test_every_reading_can_be_given_and_named() -> None:
    assert set(_READINGS) == set(READS)


def test_every_point_of_the_rules_can_be_read_on_the_family_they_describe(family: Family) -> None:
    assert {p.point for p in family.points} == set(family.knowledge.point)


def test_every_word_can_be_given_and_named(family: Family) -> None:
    numbers, choices = usual_site(family.furnace)
    operation = Operation(VirtualFurnaces(family, numbers, choices))

    assert set(_SHOWN) | set(RUN) == set(SHOWS)
    assert set(run_words(operation)) == set(RUN)
    for name, give in _SHOWN.items():
        assert {word for word, _ in give(operation)} <= set(words_of(name, family.sequence)), name
