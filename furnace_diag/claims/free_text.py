"""Free text of a claim, a piece at a time -> the fields of records. Read by the reader of the prompt's typed lines; what is not plain is left.

Nobody is there to say that it was meant otherwise, so less is taken than at the prompt. A step counts only with its "at" or "on" ("intermittent
no heat" tells of no step), and "replaced board" alone is as likely the repair that the claim is for as one before it.
"""

from __future__ import annotations

from furnace_diag.claims.figure_first import COMMA, figure_apart
from furnace_diag.claims.letter_lines import LetterLines
from furnace_diag.claims.letter_words import HELD, WHICH_HELD, behind_how, in_short, with_its_id
from furnace_diag.claims.other_ways import OtherWays
from furnace_diag.claims.our_words import in_our_words, spaced
from furnace_diag.claims.plain_pieces import PlainPieces
from furnace_diag.claims.told_after import ToldAfter
from furnace_diag.claims.typed_pieces import Fields, TypedPieces, fields_of, without_outcome
from furnace_diag.diagnosis.vocabulary import Vocabulary
from furnace_diag.knowledge.spelling import plain
from furnace_diag.visit.typed import Typed, Unclear

FOUND_FIRST = spaced(r"^(?:(?:i|we|tech) )?(?:checked and )?(?:found|noticed|noted|observed|saw) (?:that )?(?:the )?(?=\w)")
GOT_FIRST = spaced(r"^(?:(?:i|we|tech) )?(?:got|had|have|getting|read|measured) (?=[-+~]?\.?\d|o\.?l\b)")  # "got 120 at ign plug"
RUNNING = "running"  # of the furnace, which is a step, or of the thing that was told before it
MOST_TOLD = 4  # names that a piece could mean


class FreeText:
    """Reads pieces of free text in one vocabulary. A piece that could mean two things, or whose name is not written in full, is not read."""

    def __init__(self, vocabulary: Vocabulary) -> None:
        self.typed = TypedPieces(vocabulary)
        self.of_claim = self.typed.of_claim
        self.plain = PlainPieces(self.typed)
        self.told_after = ToldAfter(self.plain)
        self.ways, self.letter = OtherWays(self.plain, self.told_after), LetterLines(self.plain)

    def records(self, text: str) -> list[Fields]:
        """What a piece such as "inducer runs" or "heat terminal 0.2 low pin" says, of each heat call it tells of; empty where that is not plain."""
        if (named := self.letter.name_in_brackets(text)) is not None:
            return self.letter.of_that_name(*named)
        lines = dict.fromkeys(line for said in (text, FOUND_FIRST.sub("", text), GOT_FIRST.sub("", text)) for line in (said, in_our_words(said)))
        found = self._as_in_a_letter(text)
        return found or next(filter(None, (read(line) for read in (self.plain.said_in, self.ways.of_both_sides, self.ways.besides) for line in lines)), [])

    def _as_in_a_letter(self, text: str) -> list[Fields]:
        """What a piece says in the words of a letter: "The board's HEAT speed terminal to neutral: 0.2, on the board's own pin"."""
        if self.is_answer(text) and (parts := behind_how(text)) is not None:
            name, how, value = parts
            return self.plain.said(in_our_words(f"{self.letter.told.get(plain(name), name)} {COMMA.sub(' ', value)} {how}"))
        line = with_its_id(text, self.letter.told) or (text if in_short(text) != text else "")
        return self.plain.said(" ".join(COMMA.sub(" ", in_our_words(line)).split())) if line else []

    def is_answer(self, text: str) -> bool:
        """Whether a piece has the form of a letter's own line, with its answer behind how it was taken: "flame seen, at heating: no". Its beginning is a
        name then, and no record by itself, even where the answer is not read."""
        parts = behind_how(in_our_words(text))
        how = self.typed.how.fields_of(parts[1].split()) if parts is not None else None
        return parts is not None and bool(how) and not self.records(parts[2])

    def is_reading(self, text: str) -> bool:
        """Whether a piece is whole readings of an instrument by itself, and no more."""
        found = self.records(text)
        return bool(found) and all(f["kind"] == "point" for f in found)

    def how_taken(self, text: str) -> Fields:
        """How a reading was taken, of a piece that tells nothing else: "on the pin with motor connected"; empty of any other. Of no other heat call."""
        how = self.typed.how.fields_of(in_our_words(text).split()) or {}
        return {} if "call" in how or plain(text) == RUNNING else {name: " ".join(said) if isinstance(said, list) else str(said) for name, said in how.items()}

    def advice(self, text: str) -> str:
        """What a piece that is not plain could be; empty where it is like nothing."""
        if HELD.search(text) and any(f["kind"] == "point" for f in self.records(HELD.sub("", text))):
            return WHICH_HELD
        if told := self.typed.reader.no_reading(text):
            return told
        typed = self.typed.read(text)
        if isinstance(typed, Typed) and without_outcome(typed):
            return "If it was done before this claim, say what came of it, such as no change."
        choices = typed.choices if isinstance(typed, Unclear) else (typed,) if typed else ()
        if len(choices) > 1 and len({(f["kind"], f["name"]) for f in map(fields_of, choices)}) == 1:
            values = " or ".join(str(t.record["value"]) for t in choices)
            return f"It could be {fields_of(choices[0])['name']}: {values}. Write which."
        names = dict.fromkeys(f["name"] for f in map(fields_of, choices)) or dict.fromkeys(self._begun(text))
        return f"It could be {' or '.join(list(names)[:MOST_TOLD])}: write the name in full." if names else ""

    def _begun(self, text: str) -> list[str]:
        """The points whose names begin as what a figure is said to be read on: "120 at L1"."""
        reader, said = self.typed.reader, [" ".join(rest) for _, rest in figure_apart(text)]
        spelt = [*said, *map(reader.vocabulary.names("point").spelling, said)]
        return next(filter(None, ([i for kind, i in reader.names_only(s) if kind == "point"] for s in spelt)), [])
