"""A piece of free text in a claim -> what it says as records, sentence by sentence; what cannot be read is listed and never guessed."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from functools import cached_property
from itertools import pairwise
from typing import NamedTuple

from furnace_diag.claims.claim_again import ClaimAgain
from furnace_diag.claims.figure_first import COMMA, is_quantity
from furnace_diag.claims.free_text import FreeText
from furnace_diag.claims.guesses import Guesses
from furnace_diag.claims.headings import Headings
from furnace_diag.claims.heat_calls import SAME_IN_BOTH, THEN_SAME_IN_BOTH, HeatCalls
from furnace_diag.claims.our_words import FAN_JUMPED, in_our_words, with_commas
from furnace_diag.claims.part_beside import without_states
from furnace_diag.claims.raw_claim import FREE, RawClaim, part_of, written
from furnace_diag.claims.steps_told import StepsTold
from furnace_diag.claims.table import Cell
from furnace_diag.claims.was_done import tells_of_doing, tells_what_is_thought, without_denied
from furnace_diag.diagnosis.taking import WANTED
from furnace_diag.knowledge.spelling import DENIALS, DENIED, plain
from furnace_diag.knowledge.values import made_of
from furnace_diag.problems import Place, Problem, printable
from furnace_diag.quantities import names_unit
from furnace_diag.visit.lines import IN_CALL
from furnace_diag.visit.marked import is_only_mark

JOINS = re.compile(r"\b(?:and then|and|then|but)\b", re.IGNORECASE)  # between clauses
HOW = ("with", "when", "while", "if", "once", "after", "by", "only", "until", "unless")  # begin what was done for what stands before

# what stands before more of the same clause, so none begins with it and none ends in it
LITTLE = ("w", "at", "in", "on", "to", "from", "of", "during", "for", "and", "or", "then", "but", "not", "is", "was", "a", "an", "the")
BEGINS_NO_CLAUSE = frozenset((*HOW, *LITTLE))
MOST_RUN_TOGETHER = 16  # words of several records without a comma between them, judgement
FIGURE_AT_ONCE = re.compile(r"[-+~<>]?\.?\d")
FIGURE = re.compile(r"\d|\bO\.?L\b", re.IGNORECASE)
ENDS = re.compile(r"^(?:\s|\.(?!\s*\d))+|[\s.]+$")  # of sentences, around a piece; ".4 ua" begins with none

BY_HAND = re.compile(r" by hand$", re.IGNORECASE)  # behind what is turned with the power off
HAS_ANSWER, BEHIND_COLON = re.compile(r"[:=]\s*\S"), "Write the answer behind it, after a colon."  # of a line that a letter asks by
HOW_BEHIND = re.compile(r" at |heat calls|^\w+ [a-z]+_\w+", re.IGNORECASE)  # in a value: how it was taken
AT_ONCE = re.compile(r",?\s+(?:both )?(?:at the same time|at once|together)$", re.IGNORECASE)  # behind two readings of one call


class Seen(NamedTuple):
    """A piece of a clause that tells what was seen, with its place, and the records of that."""

    at: int
    part: str
    records: list[dict[str, str]]


class Sentences:
    """Reads one piece of free text after another, by the names of *headings*."""

    def __init__(self, headings: Headings) -> None:
        self.headings, self.vocabulary = headings, headings.vocabulary
        self.steps, self.calls = StepsTold(self.vocabulary), HeatCalls(self.vocabulary)

    @cached_property
    def free_text(self) -> FreeText:
        """Made when a claim has free text: most lists are counted without any."""
        return FreeText(self.vocabulary)

    @cached_property
    def guesses(self) -> Guesses:
        """Of what that leaves."""
        return Guesses(self.free_text)

    @cached_property
    def claim_again(self) -> ClaimAgain:
        """Of what tells nothing but the claim."""
        return ClaimAgain(self.free_text)

    @cached_property
    def no_record(self) -> frozenset[str]:
        """Pieces that tell nothing."""
        return frozenset(map(plain, self.vocabulary.words.claims.no_record))

    def take(self, claim: RawClaim, text: str, cell: Cell) -> None:
        """A piece of free text: a record if it is NAME: VALUE, an event, or what one would type at the prompt; else it is listed and never guessed."""
        text = with_commas(text)
        asked, wanted, _ = text.partition(WANTED.strip())
        if wanted and HAS_ANSWER.search(asked):
            text = bare(asked)
        elif wanted:
            what = f"{printable(text)} is not read: it tells what is wanted, and not what was found."
            claim.unmatched.append(Problem(Place(claim.file, *cell[1:]), what, BEHIND_COLON))
            return
        parts = re.split(r"\s*[:=]\s*", in_our_words(text), maxsplit=1)
        read = self.headings.reading(parts[0], advise=False)
        if isinstance(read, dict) and len(parts) == 2 and parts[1]:
            value, *more = (p.strip() for p in parts[1].split(","))
            before, at, step = value.rpartition(" at ")
            if at and self.vocabulary.names("step").meant(step):
                value, read = before, read | {"step": step}
            told = self.headings.reading(", ".join([parts[0], *more]), advise=False) if more else read
            if not more and (HOW_BEHIND.search(value) or (read["kind"] == "point" and not is_quantity(value))) and self._plainly(claim, " ".join(parts), cell):
                return  # more than a step behind it: "119.6 at heating pin", "yes 2 heat calls", "0.3 igniter_warm_up low pin"
            if not isinstance(told, dict) and self._came_of_repair(parts[1]):
                value, told, read = parts[1], {}, {"kind": "history", "name": parts[0]}
            if isinstance(told, dict):
                claim.records.append(written({**told, **read, "value": value, FREE: "yes"}, cell))
                return
        elif isinstance(read, dict) and read["kind"] == "event" and len(parts) == 1:
            claim.records.append(written(read | {"value": "yes", FREE: "yes"}, cell))
            return
        if len(parts) == 2 and self.steps.step_first(parts[0]):
            text = ", ".join(parts)  # "on heat call: heat terminal 0, cool terminal 0"
        if (at_once := AT_ONCE.search(text)) is not None and self._are_readings(text[: at_once.start()]):
            text = text[: at_once.start()]
        if self._plainly(claim, text, cell) or self._at_step_told_first(claim, text, cell) or self._as_guessed(claim, text, cell):
            return
        usual = "Write it as NAME: VALUE at STEP, such as igniter ohms: OL." if not isinstance(read, str) or len(parts) < 2 else read
        is_of_letter = self.free_text.letter.is_of_letter(text)
        fix = BEHIND_COLON if is_of_letter else self.free_text.advice(text) or usual
        clauses = [] if is_of_letter or self.free_text.is_answer(text) else self._clauses(text)
        if len(clauses) > 1 and any(self._says_something(bare(c)) for _, c in clauses):
            self._read_on(claim, clauses, Cell(text, cell.line, cell.column + len(cell.text) - len(cell.text.lstrip())), usual)
            return
        if SAME_IN_BOTH.fullmatch(text):
            fix = "Write it behind a comma, in the sentence of what was so: no flame, no click, both calls the same."
        claim.unmatched.append(Problem(Place(claim.file, *cell[1:]), f"{printable(text)} is not read.", fix))

    def _says_something(self, clause: str) -> bool:
        """Whether a clause is read by itself, or by what is claimed: "coil OL" of a gas valve."""
        return bool(clause) and bool(self.free_text.records(clause) or self.guesses.guessed(clause))

    def _are_readings(self, text: str) -> bool:
        """Whether *text* is several readings and nothing else, as two that were taken together."""
        clauses = [bare(clause) for _, clause in self._clauses(text)]
        return len(clauses) > 1 and all(map(self.free_text.is_reading, clauses))

    def _came_of_repair(self, text: str) -> bool:
        """Whether a text of several words tells what came of a repair: "cleaned, cured"."""
        return bool({*self.vocabulary.results.meant(text)} - {"new_part"})

    def _clauses(self, text: str) -> list[tuple[int, str]]:
        """The clauses of a sentence with their places: parted by commas, and by "and" or "then" where what follows says something by itself."""
        found = list[tuple[int, str]]()
        for start, piece in _parted(COMMA, text):
            is_whole = bool(self.free_text.records(bare(piece)))
            if not is_whole and (run_on := self._run_together(piece)):
                found += [(start + at, part) for at, part in run_on]
                continue
            parts = [(start, piece)] if is_whole else [(start + at, part) for at, part in _parted(JOINS, piece)]
            of_piece = parts[:1]
            for at, part in parts[1:]:
                if self.free_text.records(bare(part)):
                    of_piece.append((at, part))
                else:  # "inducer runs and quits" is one thing
                    before = of_piece[-1][0]
                    of_piece[-1] = before, text[before : at + len(part)]
            if found and len(of_piece) == 1 and self._is_outcome_of(text[found[-1][0] : start], piece):
                of_piece[0] = found[-1][0], text[found.pop()[0] : start + len(piece)]  # "drained hose, works"
            found += of_piece
        return found

    def _is_outcome_of(self, before: str, text: str) -> bool:
        """Whether a clause tells what came of the repair that the clause *before* it tells."""
        done = not self.free_text.typed.done.isdisjoint(plain(before).split()[:1])
        return done and any(f["kind"] == "history" for f in self.free_text.records(f"{bare(before.rstrip(', '))} {bare(text)}"))

    def with_its_part(self, text: str) -> str:
        """*text* with the part behind what was done in a clause that names none, where the clause before it begins with one: "hose full of water, drained"."""
        head, between, then = text.rpartition(",")
        outcome = bare(then) if between and self.vocabulary.results.meant(f"cleaned {bare(then)}") else ""
        before, comma, last = (head if outcome else text).rpartition(",")
        did, names = plain(last).removesuffix(" it"), self.vocabulary.names("history")
        words = before.rpartition(",")[2].split()
        if not comma or did not in self.free_text.typed.done:
            return text
        ends = ((words[:n], words[-n:]) for n in range(min(3, len(words)), 0, -1))
        named = next((" ".join(each) for way in ends for each in way if names.clear(" ".join(each))), "")
        return f"{before}, {did} {named}{f', {outcome}' if outcome else ''}" if named else text

    def _run_together(self, piece: str) -> list[tuple[int, str]]:
        """The whole records that a piece is without a comma between them, with their places, where one of them is a reading and it can be parted into such
        records alone: "heat terminal 120 low z pin w/ call burners lit". Empty where it cannot, or where anything of it was done or tried."""
        words = [(m.start(), plain(m[0])) for m in re.finditer(r"\S+", piece)]
        ways = self._ways_apart(piece, words) if self._may_run_together(piece, len(words)) else []
        said = {tuple(sorted((f["name"], f["value"], f.get("step", "")) for seen in way for f in seen.records)) for way in ways}
        return [(seen.at, seen.part) for seen in ways[0]] if len(said) == 1 else []

    @staticmethod
    def _may_run_together(piece: str, size: int) -> bool:
        """Whether a piece of *size* words has a figure, and no name in brackets, which is of all that stands before it."""
        return 2 < size <= MOST_RUN_TOGETHER and "(" not in piece and FIGURE.search(piece) is not None

    def _ways_apart(self, piece: str, words: list[tuple[int, str]], before: Mapping[str, str] | None = None) -> list[list[Seen]]:
        """The ways to part a piece of several *words*, each with its place, into records of what was seen. *before*: the one that stands before them."""
        ways, start = list[list[Seen]](), words[0][0]
        for end in range(1, len(words)):
            at = words[end][0]
            if not words[end][1] or not words[end - 1][1] or (FIGURE_AT_ONCE.match(words[end][1]) and FIGURE_AT_ONCE.match(words[end - 1][1])):
                continue  # one figure may be written so: "cap 1 .5 uf", "no flame . 4 ua"
            belongs = not {words[end][1], words[end - 1][1]}.isdisjoint(BEGINS_NO_CLAUSE) or words[end - 1][1] in DENIALS  # "board no output"
            part = piece[start:at]
            found = [] if belongs else self._seen_in(bare(part), before)
            if found:
                then = self._seen_in(bare(piece[at:]), found[-1])
                rest = [[Seen(at, piece[at:], then)]] if then else self._ways_apart(piece, words[end:], found[-1])
                ways += [[Seen(start, part, found), *way] for way in rest]
        return ways

    def _seen_in(self, text: str, before: Mapping[str, str] | None) -> list[dict[str, str]]:
        """The records of what was seen that a text is, or is by what is claimed ("coil OL") or stands *before* it ("drops out" behind a flame current). A
        figure that stands first is of what follows, or may end what is before it: so only behind something of the part claimed."""
        found = self._only_seen(text) or (self.free_text.told_after.after(before, text) if before is not None else [])
        may_begin = not FIGURE.match(text) or before is None or before["name"].startswith(f"{self.free_text.typed.part.removesuffix('_motor')}_")
        return found or (self.guesses.guessed(text, None, [before["name"]] if before is not None else ()) if may_begin else [])

    def _only_seen(self, text: str) -> list[dict[str, str]]:
        """The records that a text is, where they are of what was read or seen, and of nothing that was tried or done."""
        found, tried = self.free_text.records(text), self.vocabulary.knowledge.experiment
        return found if all(f["kind"] in ("point", "sign") and f["name"] not in tried for f in found) else []

    def _read_on(self, claim: RawClaim, clauses: list[tuple[int, str]], cell: Cell, usual: str) -> None:
        """Several clauses, each by itself. What follows one that is not read is not read either where it may be what came of it ("put 120 to the motor,
        motor runs"), be of another time, or be another's word; what is seen goes on to be told by whoever told the last. A whole reading in a list hangs on
        nothing but what was done."""
        in_doubt, done, told, first, unread, step = False, False, False, len(claim.records), len(claim.unmatched), ""
        for (at, clause), (_, following) in pairwise([*clauses, (0, "")]):
            text, place = bare(clause), Place(claim.file, cell.line, cell.column + at + len(clause) - len(clause.lstrip()))
            part = part_of(claim, self.vocabulary)
            is_repair = self.claim_again.is_claimed_repair(text, part) and not self.free_text.records(text)
            if not text or plain(text) in self.no_record or self._is_no_news(text) or is_repair or self.claim_again.is_the_claim(text, part):
                done = done or is_repair or self.claim_again.is_new_part(text, part)
                in_doubt = in_doubt or done
                continue
            if self.steps.is_call(text) and not in_doubt:
                step = self.steps.step_first(text)
                continue
            if self.steps.is_step_of(text, last_point(claim) or {}):
                continue
            count = len(claim.records)
            all_read = first if len(claim.unmatched) == unread else count
            stands_alone = not done and cell.text[:at].rstrip().endswith(",") and self.free_text.is_reading(text)
            if (in_doubt and not stands_alone) or self._is_how(bare(following)):
                done = done or self._is_done(without_states(text, self.vocabulary))
                what = f"{printable(text)} is not read, because what stands {'before' if in_doubt else 'after'} it is not."
                claim.unmatched.append(Problem(place, what, "If it does not hang on that, write it apart, with a semicolon."))
            elif SAME_IN_BOTH.fullmatch(text) and self.calls.in_both(claim, all_read):
                continue
            elif not any(read(claim, text, Cell(clause, place.line, place.column)) for read in self._ways(all_read, bare(following))):
                claim.unmatched.append(Problem(place, f"{printable(text)} is not read.", self.free_text.advice(text) or usual))
                if self.claim_again.does_not_work(text) or self.free_text.plain.repairs.is_long_since(text):
                    unread += 1  # what follows is told of what stood before
                    continue
                in_doubt = in_doubt or self._may_bring_about(text)
                done = done or self._is_done(without_states(text, self.vocabulary))
            if FAN_JUMPED.search(text):
                in_doubt = done = True  # the rest may have been read so as well
            self._at_step(claim, count, step)
            for record in claim.records[count:]:
                told = told or ("source" in record and record["source"].text == "told")
                if told and record["kind"].text == "sign":
                    record.setdefault("source", Cell("told", *record["kind"][1:]))

    def _ways(self, first: int, following: str) -> tuple[Callable[[RawClaim, str, Cell], bool], ...]:
        """The ways in which a clause may be taken; *first* as in `_after_last`, *following* as in `_how_last_was`."""
        beside = self._how_last_was(following), self._after_last(first)
        return self._plainly, self._mark_of_last, *beside, self._as_guessed, self._as_guessed_by(following), self._after_following(first, following)

    def _at_step(self, claim: RawClaim, first: int, step: str) -> None:
        """Tell the records from number *first* on at the *step* that was told before them, if any: "no heat, stat calling, 25 at w"."""
        for record in claim.records[first:] if step else ():
            there = self.steps.at_step({k: c.text for k, c in record.items()}, step)
            record.update({k: Cell(v, *record["kind"][1:]) for k, v in there.items() if k not in record})

    def _after_last(self, first: int) -> Callable[[RawClaim, str, Cell], bool]:
        """Takes a clause that tells something only after the last record of its sentence, readings aside: "glows, 120 at the plug, no click". *first*: the
        number of the first of them, where all of the sentence was read up to here."""

        def take(claim: RawClaim, text: str, cell: Cell) -> bool:
            told = [{k: c.text for k, c in record.items()} for record in reversed(claim.records[first:])]
            last = next((i for i, fields in enumerate(told) if fields["kind"] != "point"), len(told))
            found = next(filter(None, (self.free_text.told_after.after(fields, text) for fields in told[: last + 1])), [])
            claim.records += [written({**fields, FREE: "yes"}, cell) for fields in found]
            return bool(found)

        return take

    def _after_following(self, first: int, following: str) -> Callable[[RawClaim, str, Cell], bool]:
        """Takes the clause that begins a sentence and tells something only beside the reading that follows: "drops out, .4 ua". *first* as in `_after_last`."""

        def take(claim: RawClaim, text: str, cell: Cell) -> bool:
            shown = self.free_text.records(following) if following and len(claim.records) == first else []
            found = self.free_text.told_after.after(shown[0], text) if [f["kind"] for f in shown] == ["point"] else []
            claim.records += [written({**fields, FREE: "yes"}, cell) for fields in found]
            return bool(found)

        return take

    def _how_last_was(self, following: str) -> Callable[[RawClaim, str, Cell], bool]:
        """Takes a clause that tells only how the reading right before it was taken, "lo-z meter" or "on the pin", and nothing that it told already. A step is
        of that only where nothing is *following*, of which it may be as well."""

        def take(claim: RawClaim, text: str, cell: Cell) -> bool:
            last, may_be_next = claim.records[-1] if claim.records else {}, following and not SAME_IN_BOTH.fullmatch(following)
            how = self.free_text.how_taken(text)
            if FREE not in last or last["kind"].text != "point" or not how or not last.keys().isdisjoint(how) or (may_be_next and "step" in how):
                return False
            last.update({field: Cell(value, *cell[1:]) for field, value in how.items()})
            return True

        return take

    def _mark_of_last(self, claim: RawClaim, text: str, cell: Cell) -> bool:
        """Take a clause that is only the mark of what the reading right before it is of: "0.9 in wc at hose, switch marked 0.6"; whether it is."""
        last = claim.records[-1] if claim.records else {}
        if FREE not in last or last["kind"].text != "point" or not is_only_mark(text, self.vocabulary.words.beside_mark):
            return False
        name, value = last["name"].text, last["value"].text
        point = self.vocabulary.knowledge.point[name]
        value = value.split()[0] if names_unit(value, point.unit) else value  # "0.9 in wc" as "0.9", which is that of a draft
        found = self.free_text.records(f"{name} {value}, {text}")
        claim.records += [written({**fields, FREE: "yes"}, cell) for fields in found if fields["kind"] == "sign"]
        if found and "note" in found[0]:
            last["note"] = Cell(found[0]["note"], *last["kind"][1:])
        return bool(found)

    def _may_bring_about(self, text: str) -> bool:
        """Whether what follows a clause that is not read may be what came of it, be of another time, or be another's word: so of one that denies too."""
        return not (DENIALS | DENIED).isdisjoint(plain(text).split()) or tells_of_doing(text, self.vocabulary.words.claims)

    def _is_no_news(self, text: str) -> bool:
        """Whether a clause that is no record tells no more than that there is no heat: "not heating"."""
        return made_of(text, self.vocabulary.words.no_news) and not self.free_text.records(text)

    def _is_done(self, text: str) -> bool:
        """Whether a piece tells of what was done, apart from the call in which it was: "jumped out the limit"."""
        of_call = IN_CALL.fullmatch(text)
        said, claims = of_call["rest"] if of_call else text, self.vocabulary.words.claims
        first, *others = plain(said).split() or [""]
        beside = " ".join(word for word in others if not word.endswith("ed"))  # "reversed", of wires that were found so
        if self.free_text.typed.reader.is_found_so(said) and not (tells_of_doing(first, claims) or tells_of_doing(beside, claims)):
            return False
        return tells_of_doing(said, claims) and not tells_what_is_thought(said, claims)

    def _is_how(self, text: str) -> bool:
        """Whether a piece that is not read tells how the one before it came about: "motor runs, with 120 straight to it"."""
        return text.partition(" ")[0].lower() in HOW and not self.free_text.records(text)

    def _is_of_another(self, claim: RawClaim, fields: Mapping[str, str], text: str) -> bool:
        """Whether what was tried is told without the part it was tried on, after something was told of another part: "inducer hums; spins if pushed"."""
        knowledge = self.vocabulary.knowledge
        if fields["name"] not in knowledge.experiment:
            return False
        part, last = fields["name"].partition("_")[0], next((r["name"].text.partition("_")[0] for r in reversed(claim.records) if FREE in r), "")
        parts = {name.partition("_")[0] for name in knowledge.part}
        return part in parts and last in parts - {part} and part not in plain(text).split()

    def _plainly(self, claim: RawClaim, text: str, cell: Cell) -> bool:
        """Take a piece of free text that says one thing as somebody would type it at the prompt, of both calls where it ends in that; whether it did."""
        if (both := THEN_SAME_IN_BOTH.search(text)) is not None:
            count = len(claim.records)
            if self._plainly(claim, text[: both.start()], cell) and not self.calls.in_both(claim, count):
                del claim.records[count:]
            return len(claim.records) > count
        records = self.free_text.records(text)
        if not records and not self.vocabulary.names("step").clear(text.partition(",")[0]):  # "cooling call, blower runs" tells two things
            records = self.free_text.records(" ".join(COMMA.sub(" ", in_our_words(text)).split()))
        if any(self._is_of_another(claim, fields, text) for fields in records):
            return False
        claim.records += [written({**fields, FREE: "yes"}, cell) for fields in records]
        return bool(records)

    def _as_guessed(self, claim: RawClaim, text: str, cell: Cell, beside: Mapping[str, str] | None = None) -> bool:
        """Take a piece whose name is not written in full, or is misspelt, as the one thing that it can be, and note that; whether it can."""
        found = self.guesses.happened(text)
        only_thought = tells_what_is_thought(text, self.vocabulary.words.claims)
        ours = in_our_words(text)
        done = self._is_done(without_denied(ours))
        if not found and not only_thought and not self._is_done(without_denied(BY_HAND.sub("", ours))):
            guessed = self.guesses.guessed(text, beside or last_point(claim), [r["name"].text for r in claim.records if FREE in r])
            found = guessed if not done or all(self.free_text.told_after.is_read_off(fields["name"]) for fields in guessed) else []
        found = found or ([] if only_thought or done else self.guesses.forgiven(text))
        for fields in found:
            claim.records.append(written({**fields, FREE: "yes"}, cell))
        if found:
            what = f"{printable(text)} is read as {found[0]['name']}: {found[0]['value']}."
            claim.guessed.append(Problem(Place(claim.file, *cell[1:]), what, "If it was meant otherwise, write the name in full."))
        return bool(found)

    def _as_guessed_by(self, following: str) -> Callable[[RawClaim, str, Cell], bool]:
        """Takes a clause as `_as_guessed`, by the reading that follows: "120 hot to gnd, 60 hot to neutral at board"."""

        def take(claim: RawClaim, text: str, cell: Cell) -> bool:
            shown = self.free_text.records(following) if following and last_point(claim) is None else []
            return len(shown) == 1 and shown[0]["kind"] == "point" and self._as_guessed(claim, text, cell, shown[0])

        return take

    def _at_step_told_first(self, claim: RawClaim, text: str, cell: Cell) -> bool:
        """Take a sentence that tells first in which step it was: "stat calls, w to c 25, no inducer"; whether it does, and all of it is plain."""
        (_, first), *rest = _parted(COMMA if "," in text else JOINS, text)
        step = self.steps.step_first(bare(first)) if rest else ""
        clauses = [bare(clause) for _, clause in rest]
        each = [self.free_text.records(clause) for clause in clauses if step and clause and plain(clause) not in self.no_record]
        if not step or not each or not all(each):
            return False
        told = [self.steps.at_step(fields, step) for found in each for fields in found]
        claim.records += [written({**fields, FREE: "yes"}, cell) for fields in told]
        return True


def last_point(claim: RawClaim) -> dict[str, str] | None:
    """The fields of the reading of a point that free text told last."""
    return next(({k: c.text for k, c in r.items()} for r in reversed(claim.records) if FREE in r and r["kind"].text == "point"), None)


def _parted(between: re.Pattern[str], text: str) -> list[tuple[int, str]]:
    """The pieces of *text* that something parts, each with its place."""
    ends = [(m.start(), m.end()) for m in between.finditer(text)]
    starts = [0, *(end for _, end in ends)]
    return [(start, text[start:end]) for start, end in zip(starts, [*(begin for begin, _ in ends), len(text)], strict=True)]


def bare(text: str) -> str:
    """A piece of free text without the dash of a list before it, and without what ends a sentence; a minus sign and the point of a figure stay."""
    return ENDS.sub("", re.sub(r"^(?:-+(?!\.?\d)\s*)+|\s*-+$", "", ENDS.sub("", text)))
