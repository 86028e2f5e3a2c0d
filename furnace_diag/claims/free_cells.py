"""The cells of free text in a claim -> their pieces, and of these what tells of the failure: no remark, and nothing that came after it was mended."""

from __future__ import annotations

import re
from functools import cached_property

from furnace_diag.claims.fears import Fears
from furnace_diag.claims.headings import READINGS, Headings
from furnace_diag.claims.our_words import in_our_words
from furnace_diag.claims.raw_claim import FREE, RawClaim, part_of, written
from furnace_diag.claims.sentences import Sentences, bare, last_point
from furnace_diag.claims.table import Cell
from furnace_diag.claims.typed_pieces import NOW
from furnace_diag.knowledge.spelling import plain
from furnace_diag.problems import Place, Problem, printable
from furnace_diag.visit.lines import IN_CALL

# of free text: parted by semicolons, new lines and the ends of sentences, but for what a letter says to be wanted of what stands before it
PIECES = re.compile(r"(?:[^;\n.]|\.(?!\s)|(?<=\s)\.(?=\s+[1-9](?![\d.]))|;(?=\s*wanted:))+", re.IGNORECASE)
PAUSE = re.compile(r"\.{2,}(?![.\d])|…")  # no end of a sentence, nor the point of a figure
MORE_THINGS = re.compile(r"[,\d]|\b(?:and|then|but)\b", re.IGNORECASE)  # in a piece that may tell of more than one thing
MOST_OF_OUTCOME = 5  # words: "still has the same problem"
CURED, NO_CHANGE = "refitted_and_cured", "replaced_no_change"  # of the history


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
            complaint = [*claim.texts("complaint")]
            told = [*texts, *complaint, *(r[field] for r in claim.records for field in ("name", "value") if field in r)]
            said = " ".join(cell.text for cell in complaint)
            self.sentences.free_text.of_claim(part_of(claim, self.vocabulary), [cell.text for cell in told], said)
        for free in texts:
            mended, call, first, unread = False, "", len(claim.records), len(claim.unmatched)
            for piece, cell in self._without_righted(claim, self._pieces_of(free)):
                if not (call or mended) and len(claim.unmatched) == unread and self.sentences.calls.same_in_second(claim, piece, first):
                    continue
                text, call = _after_its_call(piece, call)
                mended = mended or self.sentences.claim_again.is_claimed_repair(text, part_of(claim, self.vocabulary))
                if text and self._is_read_since(claim, text, cell):
                    continue
                if text and not self._is_remark(claim, text):
                    count = len(claim.records)
                    self.sentences.take(claim, text, cell)
                    self.sentences.calls.of_call(claim.records[count:], call)
                    mended = self._without_since(claim, count, mended=mended)
            self._without_bridged(claim, first)

    def _is_remark(self, claim: RawClaim, text: str) -> bool:
        """Whether a piece tells nothing of the fault: what is said of the claimed repair, or that nothing was read."""
        part = part_of(claim, self.vocabulary)
        said = plain(text) in self.sentences.no_record or text.casefold() in self._not_taken or self.sentences.free_text.ways.is_mark(text)
        said = said or self.sentences.steps.is_call(text)
        clauses = [bare(clause) for clause in text.split(",")]
        said = said or (len(clauses) > 1 and all(clause and self._is_remark(claim, clause) for clause in clauses))
        return said or self.sentences.claim_again.is_claimed_repair(text, part) or self.sentences.claim_again.is_the_claim(text, part)

    def _without_righted(self, claim: RawClaim, pieces: list[tuple[str, Cell]]) -> list[tuple[str, Cell]]:
        """*pieces* without those that tell a danger and that it was put right: "rollout switch was jumpered when i got there. took it off". A record tells
        that then. The first of the two stays where it tells of more than the danger."""
        kept, clauses = list[tuple[str, Cell]](), [one for text, cell in pieces for one in _two_clauses(text, cell)]
        if not any(self._rights(text) for text, _ in clauses):
            return pieces
        for text, cell in clauses:
            before = kept[-1] if kept else None
            righted = next((r for r in self._rights(text) if before and r[0] in self._fears.signs_told(before[0])), None)
            if before is None or righted is None:
                kept.append((text, cell))
                continue
            sign, value = righted
            claim.records.append(written({"kind": "sign", "name": sign, "value": value, FREE: "yes"}, cell))
            claim.righted += [(sign, " ".join(said.split())) for said in (before[0], text)]
            if not MORE_THINGS.search(before[0]):
                kept.pop()
        return kept if claim.righted else pieces

    def _without_bridged(self, claim: RawClaim, first: int) -> None:
        """Take out of the records from number *first* on what told little of the furnace before something was put right: a limit reads closed as long as it
        is bridged."""
        signs, kept = self.vocabulary.knowledge.sign, claim.records[:first]
        rights = [r for r in claim.records[first:] if (sign := signs.get(r["name"].text)) is not None and r["value"].text in sign.put_right]
        for record in claim.records[first:]:
            after = [r for r in rights if r["kind"][1:] > record["kind"][1:]]
            again = {name for r in after for name in signs[r["name"].text].put_right[r["value"].text].read_again}
            if record["name"].text in again:
                said = f"{printable(record['name'].text)}: {printable(record['value'].text)}"
                what = f"{said} stands before what was put right, so it tells nothing of the furnace."
                claim.since.append(Problem(Place(claim.file, *record["kind"][1:]), what, "If it was read after that, write it after that."))
            else:
                kept.append(record)
        claim.records[:] = kept

    def _rights(self, text: str) -> list[tuple[str, str]]:
        """The signs of dangers of which a piece could tell that they were put right, each with the value that says so; of those alone that can be put right
        however bad they are told."""
        signs = self.vocabulary.knowledge.sign
        found = [(name, value) for name in self._can_be_righted for value in self.vocabulary.values(name).meant(text)]
        return [(name, value) for name, value in found if value in signs[name].put_right]

    @cached_property
    def _can_be_righted(self) -> tuple[str, ...]:
        knowledge = self.vocabulary.knowledge
        wanted = [w for hazard in knowledge.hazard.values() for way in hazard.when for w in way if w.sign]
        bad = {sign.sign: {v for w in wanted if w.sign == sign.sign for v in w.is_} for sign in knowledge.sign.values() if sign.put_right}
        return tuple(name for name, values in bad.items() if any(values <= {*right.of} for right in knowledge.sign[name].put_right.values()))

    @cached_property
    def _fears(self) -> Fears:
        return Fears(self.vocabulary.knowledge)

    def _is_read_since(self, claim: RawClaim, text: str, cell: Cell) -> bool:
        """Set aside a reading that is of the furnace once it was mended, with what mended it; whether a piece tells that."""
        before, repairs = last_point(claim), self.sentences.free_text.plain.repairs
        head, _, tail = text.partition(" and ")  # "replaced board and cleaned rod, now 3.8"
        ways = (text, tail) if tail and self.sentences.claim_again.is_the_claim(head, part_of(claim, self.vocabulary)) else (text,)
        since = next((way for way in ways if before is not None and repairs.is_read_since(way, before)), "")
        if not since:
            return False
        cured = repairs.cured_by(since) if since == text else []
        if all(fields["name"] == part_of(claim, self.vocabulary) for fields in cured) or self._is_no_change_told(claim):
            claim.records += [written({**fields, FREE: "yes"}, cell) for fields in cured]
        what = f"{printable(text)} stands after what put the furnace right, so it is not taken for a reading of the failure."
        claim.since.append(Problem(Place(claim.file, *cell[1:]), what, "If it was read before that, write it before that."))
        return True

    def _is_no_change_told(self, claim: RawClaim) -> bool:
        """Whether a new part that is claimed is told to have changed nothing, so that it cured nothing either."""
        told = [(r["name"].text, self.vocabulary.results.meant(r["value"].text)) for r in claim.records if r["kind"].text == "history"]
        return any(name == part_of(claim, self.vocabulary) and NO_CHANGE in meant for name, meant in told)

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

    def _since(self, text: str) -> re.Match[str] | None:
        """Where a piece tells first a reading and then what it became by what was done: "sensor .4 ua cleaned now 3.2, works"."""
        found = self._read_and_since.match(text) if NOW in text.lower() else None
        return found if found is not None and (not found["rest"] or plain(found["rest"]) in self.sentences.no_record) else None

    @cached_property
    def _read_and_since(self) -> re.Pattern[str]:
        done = "|".join(sorted(self.sentences.free_text.typed.done - {"new", "put"}))
        figure = r"(?:\d[\d.]*|\.\d+)(?: ?[a-z]+)?"
        became = rf"[^,\d]*\bnow\b[^,\d]*{figure}|(?: it)?,? {figure} (?:ok |good )?now"
        return re.compile(rf"[^,]*\d[^,]*?[, ]+(?P<since>(?:{done})\b(?:{became}))(?:, *(?P<rest>.*))?$", re.IGNORECASE)

    def _ends_in_outcome(self, before: str, text: str, joined: str) -> bool:
        """Whether *text* is what came of a repair that the piece *before* it tells, or ends in; *joined* is both."""
        records = self.sentences.free_text.records
        repair = before.rpartition(",")[2].strip()
        nothing_done = self.sentences.free_text.typed.done.isdisjoint(plain(repair).split()[:1])
        return any(r["kind"] == "history" for line in (joined, *(() if nothing_done else (f"{repair} {text}",))) for r in records(line))

    def _pieces_of(self, free: Cell) -> list[tuple[str, Cell]]:
        """The pieces of free text; an earlier repair, and what came of it in a sentence of its own, are one."""
        found = list[tuple[str, Cell]]()
        for piece in PIECES.finditer(PAUSE.sub(lambda m: ",".ljust(len(m[0])), free.text)):  # as long as before, for the places
            text, cell = bare(piece[0]), Cell(piece[0], free.line, free.column + piece.start())
            if (since := self._since(text)) is not None:
                found += [(bare(text[: since.start("since")]), cell), (since["since"], Cell(since["since"], cell.line, cell.column + since.start("since")))]
                continue
            text = self.sentences.with_its_part(text)
            short = found and 0 < len(text.split()) <= MOST_OF_OUTCOME and not self.sentences.free_text.records(text)
            joined = f"{found[-1][0]}, {text}" if short else ""
            if joined and self._ends_in_outcome(found[-1][0], text, joined):
                found[-1] = joined, found[-1][1]
            else:
                found.append((text, cell))
        return found


def _two_clauses(text: str, cell: Cell) -> list[tuple[str, Cell]]:
    """A piece of two clauses parted by a comma as two, where the second could stand alone as a sentence of a few words; else the piece."""
    first, comma, then = text.partition(",")
    return [(first, cell), (bare(then), cell)] if comma and "," not in then and 0 < len(then.split()) <= MOST_OF_OUTCOME else [(text, cell)]


def _after_its_call(text: str, call: str) -> tuple[str, str]:
    """A piece without the heat call told before it, and that call: "call 2: no flame, no click". It is that of what follows too, until another is told."""
    told = IN_CALL.fullmatch(text) or IN_CALL.fullmatch(in_our_words(text))
    return (told["rest"], told["call"]) if told else (text, call)
