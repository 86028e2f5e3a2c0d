"""What free text tells of two heat calls at once, or of the call that it told before -> the same records of each."""

from __future__ import annotations

import re
from collections.abc import Sequence

from furnace_diag.claims.our_words import in_our_words
from furnace_diag.claims.raw_claim import RawClaim, Written
from furnace_diag.claims.table import Cell
from furnace_diag.diagnosis.vocabulary import Vocabulary

IN_BOTH = r"(?:was )?(?:the )?same (?:(?:in|on|for|during) )?(?:both|two|2) (?:heat )?calls|" \
    r"(?:both|two|2) (?:heat )?calls,? (?:were |was )?(?:all )?(?:the )?same"
SAME_IN_BOTH = re.compile(IN_BOTH, re.IGNORECASE)  # after what was read in the first
# a sentence of its own, after all that was read in the first
SECOND = r"(?:heat )?call 2"
SAME_IN_SECOND = re.compile(rf"(?:{IN_BOTH}|{SECOND},? (?:(?:is|was) )?(?:the )?same|(?:the )?same (?:(?:on|in|at|for) )?{SECOND})", re.IGNORECASE)
THEN_SAME_IN_BOTH = re.compile(rf",\s*(?:{IN_BOTH})$", re.IGNORECASE)


class HeatCalls:
    """Tells records of a heat call, by one vocabulary."""

    def __init__(self, vocabulary: Vocabulary) -> None:
        self._vocabulary = vocabulary

    def in_both(self, claim: RawClaim, first: int) -> bool:
        """Tell the records from number *first* on of a second heat call too; whether there are any, and each can be so."""
        once = claim.records[first:]
        if not once or not all(map(self._may_be_of_a_call, once)):
            return False
        claim.records += [{**r, "call": Cell("2", *r["kind"][1:])} for r in once]
        return True

    def same_in_second(self, claim: RawClaim, text: str, first: int) -> bool:
        """Take a sentence that tells nothing but that the second heat call was the same: of all records from number *first* on that can be of a call, where
        none of them tells in which it was; whether it did."""
        once = claim.records[first:]
        of_call = [r for r in once if self._may_be_of_a_call(r)]
        if SAME_IN_SECOND.fullmatch(in_our_words(text)) is None or not of_call or any("call" in r for r in once):
            return False
        claim.records += [{**r, "call": Cell("2", *r["kind"][1:])} for r in of_call]
        return True

    def of_call(self, records: Sequence[Written], call: str) -> None:
        """Note the heat call that was told before *records*, of those that can be of one and tell none; nothing where *call* is empty."""
        for record in records:
            if call and self._may_be_of_a_call(record):
                record["call"] = Cell(call, *record["kind"][1:])

    def _may_be_of_a_call(self, record: Written) -> bool:
        """Whether a record is a reading or sign of which no call is told, and that is not tried or read with the power off."""
        vocabulary, name = self._vocabulary, record["name"].text
        of = vocabulary.knowledge.point.get(name) or vocabulary.knowledge.sign.get(name)
        return of is not None and "call" not in record and name not in vocabulary.knowledge.experiment and of.steps != (vocabulary.sequence.roles.off,)
