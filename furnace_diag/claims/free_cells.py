"""The cells of free text in a claim -> their pieces, and of these what tells of the failure: no remark, and nothing that came after it was mended."""

from __future__ import annotations

import re
from functools import cached_property

from furnace_diag.claims.free_text import in_our_words
from furnace_diag.claims.headings import READINGS, Headings
from furnace_diag.claims.raw_claim import RawClaim, part_of
from furnace_diag.claims.sentences import Sentences, bare, last_point
from furnace_diag.claims.table import Cell
from furnace_diag.knowledge.spelling import plain
from furnace_diag.problems import Place, Problem, printable
from furnace_diag.visit.lines import IN_CALL

# of free text: parted by semicolons, new lines and the ends of sentences, but for what a letter says to be wanted of what stands before it
PIECES = re.compile(r"(?:[^;\n.]|\.(?!\s)|;(?=\s*wanted:))+", re.IGNORECASE)
PAUSE = re.compile(r"\.{2,}|…")  # no end of a sentence
MOST_OF_OUTCOME = 5  # words: "still has the same problem"
CURED = "refitted_and_cured"  # of the history


class FreeCells:
    """Reads the free text of one claim after another."""

    def __init__(self, headings: Headings) -> None:
        self.vocabulary, self.sentences = headings.vocabulary, Sentences(headings)

    @cached_property
    def _not_taken(self) -> frozenset[str]:
        return frozenset(w.casefold() for w in self.vocabulary.words.claims.not_taken)

    def read(self, claim: RawClaim) -> None:
        """Add to a claim what its free text says."""
        texts = list(claim.texts(READINGS))
        if texts:
            told = [*texts, *claim.texts("complaint"), *(r[field] for r in claim.records for field in ("name", "value") if field in r)]
            self.sentences.free_text.of_claim(part_of(claim, self.vocabulary), [cell.text for cell in told])
        for free in texts:
            mended, call, first, unread = False, "", len(claim.records), len(claim.unmatched)
            for piece, cell in self._pieces_of(free):
                if not (call or mended) and len(claim.unmatched) == unread and self.sentences.same_in_second(claim, piece, first):
                    continue
                text, call = _after_its_call(piece, call)
                mended = mended or self.sentences.free_text.is_claimed_repair(text, part_of(claim, self.vocabulary))
                if text and self._is_read_since(claim, text, cell):
                    continue
                if text and not self._is_remark(claim, text):
                    count = len(claim.records)
                    self.sentences.take(claim, text, cell)
                    self.sentences.of_call(claim.records[count:], call)
                    mended = self._without_since(claim, count, mended=mended)

    def _is_remark(self, claim: RawClaim, text: str) -> bool:
        """Whether a piece tells nothing of the fault: what is said of the claimed repair, or that nothing was read."""
        part = part_of(claim, self.vocabulary)
        said = plain(text) in self.sentences.no_record or text.casefold() in self._not_taken or self.sentences.free_text.is_mark(text)
        said = said or self.sentences.free_text.is_call(text)
        return said or self.sentences.free_text.is_claimed_repair(text, part) or self.sentences.free_text.is_the_claim(text, part)

    def _is_read_since(self, claim: RawClaim, text: str, cell: Cell) -> bool:
        """Set aside a reading that is of the furnace once it was mended, with what mended it; whether a piece tells that."""
        before = last_point(claim)
        if before is None or not self.sentences.free_text.is_read_since(text, before):
            return False
        what = f"{printable(text)} stands after what put the furnace right, so it is not taken for a reading of the failure."
        claim.since.append(Problem(Place(claim.file, *cell[1:]), what, "If it was read before that, write it before that."))
        return True

    def _without_since(self, claim: RawClaim, count: int, *, mended: bool) -> bool:
        """Take out of the records from number *count* on what the furnace did once it was mended; whether it is by then.

        What is only looked at stays, a scorched board among it.
        """
        vocabulary, kept = self.vocabulary, claim.records[:count]
        for record in claim.records[count:]:
            kind, name, value = (record[f].text for f in ("kind", "name", "value"))
            if mended and (kind == "point" or (kind == "sign" and name in vocabulary.knowledge.sign and vocabulary.knowledge.sign[name].shows)):
                what = f"{printable(name)}: {printable(value)} stands after what put the furnace right, so it is not taken for a reading of the failure."
                claim.since.append(Problem(Place(claim.file, *record["kind"][1:]), what, "If it was read before that, write it before that."))
            else:
                kept.append(record)
            mended = mended or (kind == "history" and vocabulary.results.meant(value) == [CURED])
        claim.records[:] = kept
        return mended

    def _pieces_of(self, free: Cell) -> list[tuple[str, Cell]]:
        """The pieces of free text; an earlier repair, and what came of it in a sentence of its own, are one."""
        found = list[tuple[str, Cell]]()
        for piece in PIECES.finditer(PAUSE.sub(lambda m: ",".ljust(len(m[0])), free.text)):  # as long as before, for the places
            text, cell = bare(piece[0]), Cell(piece[0], free.line, free.column + piece.start())
            short = found and 0 < len(text.split()) <= MOST_OF_OUTCOME and not self.sentences.free_text.records(text)
            joined = f"{found[-1][0]}, {text}" if short else ""
            if joined and any(r["kind"] == "history" for r in self.sentences.free_text.records(joined)):
                found[-1] = joined, found[-1][1]
            else:
                found.append((text, cell))
        return found


def _after_its_call(text: str, call: str) -> tuple[str, str]:
    """A piece without the heat call told before it, and that call: "call 2: no flame, no click". It is that of what follows too, until another is told."""
    told = IN_CALL.fullmatch(in_our_words(text))
    return (told["rest"], told["call"]) if told else (text, call)
