"""Splitting the failures of a part finer must not make the part likelier.

The law is derived, not looked up: a part's word says how often the part is met, and its failures divide that,
so however the failures are divided, the sum is the word's. (Otherwise the part described in most detail would
be ranked first for that alone.) Each failure of every part is split in turn.

Tolerance: sums of some eighty doubles, 1e-14; 1e-12 leaves room.
"""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from furnace_diag.diagnosis.prior import odds_by_part
from furnace_diag.furnace.family import Family, failures_of
from tests.ours import our_rules

ROUNDING = 1e-12
HALVES = (0.5, 0.5)
UNEVEN = (0.7, 0.2, 0.1)
WHOLE = (1.0, 1.0)


@pytest.fixture(scope="module")
def knowledge():
    return our_rules()


def pieces_of(failure, shares):
    """A failure divided: the pieces have the shares given, of the whole one's."""
    named = [(f"{failure.failure}_piece_{i}", failure.share * share) for i, share in enumerate(shares)]
    return tuple(failure.model_copy(update={"failure": name, "share": share}) for name, share in named)


def like_a_piece(other, failure):
    """A failure that is like the one divided is then like its first piece; the others as they are."""
    return other.model_copy(update={"like": f"{failure.failure}_piece_0"}) if other.like == failure.failure else other


def with_part_split(knowledge, part, failure, shares):
    """*knowledge* with one failure of one part in pieces; one that its kind brings becomes the part's own."""
    others = tuple(like_a_piece(f, failure) for f in part.failures if f.failure != failure.failure)
    left_out = (*part.leaves_out, failure.failure)
    split = part.model_copy(update={"failures": others + pieces_of(failure, shares), "leaves_out": left_out})
    return knowledge.model_copy(update={"part": knowledge.part | {part.part: split}})


def with_kind_split(knowledge, kind, failure, shares):
    """*knowledge* with one failure of a kind in pieces, and so in pieces in every part of that kind."""
    others = tuple(f for f in kind.failures if f.failure != failure.failure)
    split = kind.model_copy(update={"failures": others + pieces_of(failure, shares)})
    parts = {
        name: part.model_copy(update={"failures": tuple(like_a_piece(f, failure) for f in part.failures)}) if part.kind == kind.kind else part
        for name, part in knowledge.part.items()
    }
    return knowledge.model_copy(update={"kind": knowledge.kind | {kind.kind: split}, "part": parts})


def every_family(knowledge):
    return [Family(knowledge, name) for name in knowledge.furnace]


def every_failure(knowledge):
    """(part, failure) of everything that can fail."""
    return [(part, failure) for part in knowledge.part.values() for failure in failures_of(part, knowledge)]


def changes(before, after):
    """Parts whose total moved by more than rounding, with both totals."""
    return {p: (before[p], after.get(p)) for p in before if not abs(after.get(p, -1) - before[p]) <= ROUNDING}


class TestSplittingOnePart:
    # whole: whoever writes the rules need not even see to it that the shares add up
    @pytest.mark.parametrize("shares", [HALVES, UNEVEN, WHOLE], ids=["halves", "unlike", "whole"])
    def test_leaves_the_total_of_every_part(self, knowledge, shares):
        before = [odds_by_part(family) for family in every_family(knowledge)]
        for part, failure in every_failure(knowledge):
            split = every_family(with_part_split(knowledge, part, failure, shares))
            for whole, family in zip(before, split, strict=True):
                assert changes(whole, odds_by_part(family)) == {}, f"{part.part}: {failure.failure} split"

    def test_divides_the_failure_as_its_pieces_say(self, knowledge):
        # the pieces hold their shares of what the failure had, and no other failure moves
        for part, failure in every_failure(knowledge):
            finer = with_part_split(knowledge, part, failure, UNEVEN)
            for whole, family in zip(every_family(knowledge), every_family(finer), strict=True):
                old = dict(zip(map(str, whole.faults), whole.prior, strict=True))
                new = dict(zip(map(str, family.faults), family.prior, strict=True))
                had = old.pop(f"{part.part}:{failure.failure}")
                pieces = [new.pop(f"{part.part}:{piece.failure}") for piece in pieces_of(failure, UNEVEN)]

                assert_allclose(pieces, had * np.array(UNEVEN), rtol=0, atol=ROUNDING)
                assert new.keys() == old.keys()
                assert_allclose([new[f] for f in old], [*old.values()], rtol=0, atol=ROUNDING)


class TestSplittingAKind:
    def test_leaves_the_total_of_every_part(self, knowledge):
        before = [odds_by_part(family) for family in every_family(knowledge)]
        for kind in knowledge.kind.values():
            for failure in kind.failures:
                split = every_family(with_kind_split(knowledge, kind, failure, UNEVEN))
                for whole, family in zip(before, split, strict=True):
                    assert changes(whole, odds_by_part(family)) == {}, f"{kind.kind}: {failure.failure} split"


class TestTotals:
    def test_are_the_words_of_the_parts_alone(self, knowledge):
        # by another road: the figure of each part's word over the sum of them, no share of any failure in it
        often = next(iter(knowledge.words.values())).often
        figures = {part.part: often[part.often] for part, _ in every_failure(knowledge)}
        expected = {name: figure / sum(figures.values()) for name, figure in figures.items()}

        for family in every_family(knowledge):
            assert changes(expected, odds_by_part(family)) == {}
            assert_allclose(sum(odds_by_part(family).values()), 1.0, rtol=0, atol=ROUNDING)
