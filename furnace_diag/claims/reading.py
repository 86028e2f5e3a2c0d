"""Files of claims -> claims as they were written, one at a time, with the place of every word; nothing is judged yet.

A table has a row for each record, or one for each claim with a column for each reading; its headings tell which. A
YAML file holds a list of claims, a JSON Lines file one in each line. What cannot be read is noted with its place.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from itertools import pairwise
from pathlib import Path
from typing import Any

from furnace_diag.claims.dates import order_of
from furnace_diag.claims.free_text import FreeText, in_our_words
from furnace_diag.claims.headings import NOTE, READINGS, RECORD_FIELDS, Column, Headings
from furnace_diag.claims.table import Cell, TextFile, rows, text_file
from furnace_diag.diagnosis.entries import KINDS
from furnace_diag.diagnosis.verdict import BOARD
from furnace_diag.knowledge.spelling import DENIALS, DENIED, plain
from furnace_diag.knowledge.yaml_text import Document, read_yaml
from furnace_diag.problems import BadInput, Place, Problem, printable
from furnace_diag.visit.journal import read_journal
from furnace_diag.visit.kind import is_journal
from furnace_diag.visit.lines import IN_CALL
from furnace_diag.visit.state import visit_of

MOST_RECORDS = 1000
MOST_NOTED = 200  # problems that are kept of one file apart from its claims
MOST_ADVISED = 30  # unknown columns of a table for which near names are looked for
MOST_YAML = 8_000_000
MOST_YAML_NODES = 800_000
PIECES = re.compile(r"(?:[^;\n.]|\.(?!\s))+")  # of free text: parted by semicolons, new lines and the ends of sentences
PAUSE = re.compile(r"\.{2,}|…")  # no end of a sentence
COMMA, JOINS = re.compile(","), re.compile(r"\b(?:and then|and|then|but)\b", re.IGNORECASE)  # between clauses
HOW = ("with", "when", "while", "if", "once", "after", "by", "only", "until", "unless")  # begin what was done for what stands before
FIGURE = re.compile(r"[-+~<>]?\s*[\d.,]+")

IN_BOTH = r"(?:was )?(?:the )?same (?:(?:in|on|for|during) )?both (?:heat )?calls|both (?:heat )?calls (?:were |was )?(?:the )?same"
SAME_IN_BOTH = re.compile(IN_BOTH, re.IGNORECASE)  # after what was read in the first
THEN_SAME_IN_BOTH = re.compile(rf",\s*(?:{IN_BOTH})$", re.IGNORECASE)
MOST_OF_OUTCOME = 5  # words: "still has the same problem"
SEVERAL = (READINGS, NOTE)  # of these a table may have several columns
FREE = "free_text"  # marks a record that stood in free text: what of it cannot be read is listed, and holds nothing back
CURED = "refitted_and_cured"  # of the history
Written = dict[str, Cell]  # the fields of one record
Columns = list[tuple[int, Column | None]]  # with their places in a row; None for one that is not read


@dataclass
class RawClaim:
    """One claim as it was written. *fields* and *options* are by our names.

    *more*: text of further columns of free text or notes, with its field. *aside*: cells that are not read, and are searched for dangers all the
    same. *problems*: what of it could not be read. *unmatched*: free text that
    says nothing to these rules. *since*: readings that stand after what put the furnace right, and are none of its failure. *guessed*: what was read of
    text that does not write a name in full.
    *date_order*: of day and month in the dates of its file, where that is known.
    """

    file: str
    line: int
    fields: Written = field(default_factory=dict)
    options: Written = field(default_factory=dict)
    records: list[Written] = field(default_factory=list)
    more: list[tuple[str, Cell]] = field(default_factory=list)
    aside: list[Cell] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    unmatched: list[Problem] = field(default_factory=list)
    since: list[Problem] = field(default_factory=list)
    guessed: list[Problem] = field(default_factory=list)
    date_order: str = ""

    @property
    def id(self) -> str:
        """What it is called; empty where it is not told."""
        return " ".join(self.fields["claim"].text.split()) if "claim" in self.fields else ""

    def texts(self, name: str) -> list[Cell]:
        """What stands in the columns of free text, or of notes."""
        return [*([self.fields[name]] if name in self.fields else []), *(cell for field_, cell in self.more if field_ == name)]

    def hash(self, *more: str) -> str:
        """Of everything that a judgement of it can depend on, its places too."""
        told = [self.file, self.line, self.fields, self.options, self.records, self.more, self.aside, self.date_order]
        told += [[str(p) for p in (*self.problems, *self.unmatched)], more]
        return hashlib.sha256(json.dumps(told).encode()).hexdigest()[:32]


def _bare(text: str) -> str:
    """A piece of free text without the dash of a list before it, and without what ends a sentence; a minus sign stays."""
    return re.sub(r"^(?:-+(?!\.?\d)\s*)+|\s*-+$", "", text.strip(" ."))


@dataclass
class Files:
    """Files of claims; `claims` gives them one at a time, and *noted* gathers what is wrong apart from any claim.

    *without*: the files that gave no claim at all.
    """

    paths: tuple[Path, ...]
    headings: Headings
    noted: list[Problem] = field(default_factory=list)
    without: list[Path] = field(default_factory=list)
    _date_order: str = ""  # in the file that is read

    @cached_property
    def _free_text(self) -> FreeText:
        return FreeText(self.headings.vocabulary)

    @cached_property
    def _no_record(self) -> frozenset[str]:
        return frozenset(map(plain, self.headings.vocabulary.words.claims.no_record))

    @cached_property
    def _not_taken(self) -> frozenset[str]:
        return frozenset(w.casefold() for w in self.headings.vocabulary.words.claims.not_taken)

    def claims(self, *, only_numbers: bool = False) -> Iterator[RawClaim]:
        """All claims in the order in which they stand. What keeps a whole file from being read is noted, and the next one read.

        *only_numbers*: of a table's claims nothing but their numbers is read, which is sooner done.
        """
        self.noted.clear()
        self.without.clear()
        for path in self.paths:
            count, before, self._date_order = 0, len(self.noted), self.headings.date_order
            try:
                for claim in self._of_file(path, only_numbers=only_numbers):
                    count += 1
                    yield claim
            except BadInput as bad:
                self.noted[before:before] = bad.problems  # what keeps a file from being read goes before all else of it
            if not count:
                self.without.append(path)
                if len(self.noted) == before:
                    self.note(_no_claims(path))

    def note(self, *problems: Problem) -> None:
        """Keep what is wrong apart from any claim, up to a bound."""
        for problem in problems:
            if len(self.noted) < MOST_NOTED:
                self.noted.append(problem)
            elif len(self.noted) == MOST_NOTED:
                self.noted.append(Problem(None, "There are more problems than are listed here.", "Mend these first."))

    def _of_file(self, path: Path, *, only_numbers: bool) -> Iterator[RawClaim]:
        if path.suffix.lower() in (".yaml", ".yml"):
            yield from self._of_yaml(path)
            return
        if path.suffix.lower() == ".jsonl" and is_journal(path):
            yield claim_of_journal(path)
            return
        file = text_file(path)
        if file.note:
            self.note(Problem(Place(str(path), 1, 1), file.note, ""))
        if path.suffix.lower() in (".jsonl", ".ndjson", ".json"):
            yield from self._of_json_lines(file)
        else:
            yield from self._of_table(file, only_numbers=only_numbers)

    # --- tables ----------------------------------------------------------------------------

    def _of_table(self, file: TextFile, *, only_numbers: bool) -> Iterator[RawClaim]:
        empty = list[int]()
        every = rows(file, empty)
        first = next((r for r in every if self._is_row(r)), None)
        if first is None:
            self.note(_no_claims(file.path))
            return
        assert not isinstance(first, Problem)
        of_records = self.headings.is_of_records([c.text for c in first])
        columns = self._columns(str(file.path), first, of_records=of_records)
        if not any(c is not None and c.name == "claim" for c in columns):
            place = Place(str(file.path), first[0].line, first[0].column)
            fix = 'Call one of them claim, or tell which it is in a file for --columns, such as "Claim no.": claim. furnace-diag claims template writes a form.'
            raise BadInput([Problem(place, "No column tells which claim a row belongs to, so nothing of this file was judged.", fix)])
        if not (only_numbers or self._date_order):
            self._date_order = self._order_in(file, columns)
        kept = self._rows(str(file.path), columns, first, every)
        read = [(i, c) for i, c in enumerate(columns) if not only_numbers or (c is not None and (c.holds, c.name) == ("claim", "claim"))]
        yield from (self._by_record if of_records else self._by_claim)(file, read, len(columns), kept)
        if empty:
            what = "This row holds nothing but separators." if len(empty) == 1 else f"{len(empty):,} rows hold nothing but separators; this is the first."
            self.note(Problem(Place(str(file.path), empty[0], 1), what, "It was left out." if len(empty) == 1 else "They were left out."))

    @staticmethod
    def _order_in(file: TextFile, columns: list[Column | None]) -> str:
        """The order of day and month in the column of dates, by all of its rows: before the first claim is given, for it must be the same for every one."""
        at = next((i for i, c in enumerate(columns) if c is not None and (c.holds, c.name) == ("claim", "date")), None)
        return "" if at is None else order_of(row[at].text for row in rows(file) if not isinstance(row, Problem) and at < len(row))

    def _rows(self, file: str, columns: list[Column | None], headings: list[Cell], every: Iterable[list[Cell] | Problem]) -> Iterator[list[Cell]]:
        """Rows that could be read. What stands under no heading is noted, once for each column."""
        nameless = any(not h.text.strip() for h in headings)
        told = set[int]()
        for row in every:
            if self._is_row(row):
                assert not isinstance(row, Problem)
                if nameless:
                    self._note_nameless(file, columns, headings, row, told)
                yield row

    def _is_row(self, row: list[Cell] | Problem) -> bool:
        """Whether a row could be read; notes it where it could not."""
        if isinstance(row, Problem):
            self.note(row)
        return not isinstance(row, Problem)

    def _columns(self, file: str, row: list[Cell], *, of_records: bool) -> list[Column | None]:
        columns, taken, unknown = list[Column | None](), set[tuple[str, str, str]](), dict[str, Place]()
        named = self._named_outright(row, of_records=of_records)
        for cell in row:
            column = self.headings.column(cell.text, of_records=of_records, advise=len(unknown) < MOST_ADVISED) if cell.text.strip() else None
            place = Place(file, cell.line, cell.column)
            if isinstance(column, Column) and column.alone and column.name in named:
                self.note(Problem(place, f"The column {printable(cell.text)} is not read: another tells the {column.name}.", "Nothing need be done."))
                column = None
            if isinstance(column, str):
                if cell.text.strip() not in unknown and len(unknown) < MOST_ADVISED:
                    self.note(Problem(place, f"The column {printable(cell.text)} is not read.", column))
                unknown.setdefault(cell.text.strip(), place)
                column = None
            key = (column.holds, column.name, str(sorted(column.fixed.items()))) if column else None
            if key is not None and key in taken and not (key[0] == "claim" and key[1] in SEVERAL):
                self.note(Problem(place, f"The column {printable(cell.text)} is here twice.", "Only the first was read: tell them apart, or take one out."))
                column = None
            taken |= {key} if key else set()
            columns.append(column)
        more = list(unknown)[MOST_ADVISED:]
        if more:
            what = f"These columns are not read either: {', '.join(printable(m, 60) for m in more)}."
            self.note(Problem(unknown[more[0]], what, "They need a heading of ours."))
        return columns

    def _named_outright(self, row: list[Cell], *, of_records: bool) -> set[str]:
        """The fields of a claim that some heading of a table is called by, and not only for want of another."""
        columns = [self.headings.column(cell.text, of_records=of_records, advise=False) for cell in row if cell.text.strip()]
        return {c.name for c in columns if isinstance(c, Column) and c.holds == "claim" and not c.alone}

    def _note_nameless(self, file: str, columns: list[Column | None], headings: list[Cell], row: list[Cell], told: set[int]) -> None:
        """Tell once of each column that has cells and no heading."""
        for i, cell in enumerate(row[: len(headings)]):
            if columns[i] is None and i not in told and not headings[i].text.strip() and cell.text.strip():
                told.add(i)
                place = Place(file, cell.line, cell.column)
                self.note(Problem(place, f"This column has no heading and is not read, from {printable(cell.text)} on.", "Write one over it."))

    def _by_claim(self, file: TextFile, columns: Columns, wide: int, every: Iterable[list[Cell]]) -> Iterator[RawClaim]:
        for row in every:
            claim = RawClaim(str(file.path), row[0].line)
            self._too_long(claim, wide, row)
            for i, column in columns:
                if i < len(row) and (cell := row[i]).text.strip():
                    self._put(claim, column, cell)
            yield self._whole(claim)

    def _by_record(self, file: TextFile, columns: Columns, wide: int, every: Iterable[list[Cell]]) -> Iterator[RawClaim]:
        claim: RawClaim | None = None
        number = ""
        for row in every:
            part = RawClaim(str(file.path), row[0].line)
            self._too_long(part, wide, row)
            record: Written = {}
            for i, column in columns:
                if i < len(row) and (cell := row[i]).text.strip():
                    if column is not None and column.holds == "record":
                        record[column.name] = cell
                    else:
                        self._put(part, column, cell)
            if record:
                part.records.append(record)
            same = part.id
            if claim is None or same != number or not same:
                if claim is not None:
                    yield self._whole(claim)
                claim, number = part, same
            else:
                _join(claim, part)
        if claim is not None:
            yield self._whole(claim)

    def _put(self, claim: RawClaim, column: Column | None, cell: Cell) -> None:
        if column is None:
            claim.aside.append(cell)
        elif column.holds == "claim" and column.name in SEVERAL and column.name in claim.fields:
            claim.more.append((column.name, cell))
        elif column.holds == "claim":
            claim.fields[column.name] = cell
        elif column.holds == "option":
            claim.options[column.name] = cell
        else:
            value = Cell(f"{cell.text} {column.unit}", *cell[1:]) if column.unit and FIGURE.fullmatch(cell.text.strip()) else cell
            claim.records.append({**{k: Cell(v, *cell[1:]) for k, v in column.fixed.items()}, "value": value})

    @staticmethod
    def _too_long(claim: RawClaim, wide: int, row: list[Cell]) -> None:
        further = [c for c in row[wide:] if c.text.strip()] if len(row) > wide else []
        if further:
            beyond = further[0]
            claim.aside += further
            what = f"This row has more cells than there are headings, from {printable(beyond.text)} on."
            claim.problems.append(Problem(Place(claim.file, beyond.line, beyond.column), what, "Put text with a comma in quotes."))

    # --- YAML and JSON Lines ---------------------------------------------------------------

    def _of_yaml(self, path: Path) -> Iterator[RawClaim]:
        document = read_yaml(path, most_bytes=MOST_YAML, most_nodes=MOST_YAML_NODES)
        value = document.value
        at: tuple[str | int, ...] = ("claims",) if isinstance(value, dict) and isinstance(value.get("claims"), list) else ()
        listed = value["claims"] if at and isinstance(value, dict) else value
        for i, entry in enumerate(listed if isinstance(listed, list) else [listed]):
            path_of = (*at, i) if isinstance(listed, list) else at
            yield self._whole(self._of_tree(str(path), entry, _Places(document, path_of)))

    def _of_json_lines(self, file: TextFile) -> Iterator[RawClaim]:
        for line in file.lines():
            place = Place(str(file.path), line.number, 1)
            if line.text is None:
                self.note(Problem(place, "This line is too long.", "It was left out: shorten it."))
            elif line.text.strip():
                try:
                    entry = json.loads(line.text, parse_float=str, parse_int=str, parse_constant=str, object_pairs_hook=_once)
                except json.JSONDecodeError as error:
                    place = Place(str(file.path), line.number, error.colno)
                    self.note(Problem(place, "This line is not JSON.", "It was left out: write one claim in each line."))
                except (ValueError, RecursionError):
                    self.note(Problem(place, "This line names one thing twice, or nests too deep.", "It was left out: write each name once."))
                else:
                    yield self._whole(self._of_tree(str(file.path), entry, _Line(line.number)))

    def _of_tree(self, file: str, entry: object, places: _Places | _Line) -> RawClaim:
        """A claim from names and values; *places* tells where they stand."""
        claim = RawClaim(file, places.of()[0])
        if not isinstance(entry, dict):
            claim.problems.append(Problem(Place(file, *places.of()), "A claim is a block of names and values.", "Start it with claim: and its number."))
            return claim
        for name, value in entry.items():
            if name == "records" and isinstance(value, list):
                self._put_records(claim, value, places)
            elif name == "furnace" and isinstance(value, dict):
                self._put_furnace(claim, value, places)
            elif isinstance(value, (dict, list)):
                what = f"{printable(str(name))} should be one word or figure."
                claim.problems.append(Problem(Place(file, *places.of(name)), what, "Only records is a list, and furnace a block."))
                claim.aside.append(Cell(str(value), *places.of(name)))
            elif value is not None and _text(value).strip():
                self._put_named(claim, str(name), Cell(_text(value), *places.of(name)))
        return claim

    def _put_named(self, claim: RawClaim, name: str, cell: Cell) -> None:
        column = self.headings.column(name, of_records=False, advise=False)
        self._put(claim, None if isinstance(column, str) else column, cell)
        if isinstance(column, str):
            claim.unmatched.append(Problem(Place(claim.file, cell.line, cell.column), f"{printable(name)}: {printable(cell.text)} is not read.", column))

    def _put_records(self, claim: RawClaim, entries: list[Any], places: _Places | _Line) -> None:
        for i, entry in enumerate(entries):
            at = places.of("records", i)
            if not isinstance(entry, dict):
                claim.problems.append(Problem(Place(claim.file, *at), "A record is a block of names and values.", "Write {sign: inducer_runs, value: yes}."))
                claim.aside.append(Cell(_text(entry), *at))
                continue
            record: Written = {}
            for name, value in entry.items():
                cell = Cell(_text(value), *places.of("records", i, name))
                if name in KINDS:
                    record |= {"kind": Cell(name, *cell[1:]), "name": cell}
                elif name in RECORD_FIELDS:
                    record[name] = cell
                elif value is not None:
                    fix = f"It has {', '.join(RECORD_FIELDS)}."
                    claim.problems.append(Problem(Place(claim.file, *cell[1:]), f"A record has no {printable(str(name))}.", fix))
                    claim.aside.append(cell)
            if record:
                claim.records.append(record)
            else:
                claim.problems.append(Problem(Place(claim.file, *at), "This record says nothing.", "Write {sign: inducer_runs, value: yes}."))

    def _put_furnace(self, claim: RawClaim, value: Mapping[str, Any], places: _Places | _Line) -> None:
        if value.get("family"):
            claim.fields["furnace"] = Cell(_text(value["family"]), *places.of("furnace", "family"))
        options = value.get("options")
        for name, said in (options if isinstance(options, dict) else {}).items():
            claim.options[str(name)] = Cell(_text(said), *places.of("furnace", "options", name))

    # --- what all have ---------------------------------------------------------------------

    def _whole(self, claim: RawClaim) -> RawClaim:
        """The same with its free text read as far as it says NAME: VALUE."""
        claim.date_order = self._date_order
        for free in claim.texts(READINGS):
            mended = False
            for text, cell in self._pieces_of(free):
                mended = mended or self._free_text.is_claimed_repair(text, self._part_of(claim))
                if text and not self._is_remark(claim, text):
                    count = len(claim.records)
                    self._free(claim, text, cell)
                    mended = self._without_since(claim, count, mended=mended)
        if len(claim.records) > MOST_RECORDS:
            place = Place(claim.file, claim.line, 1)
            claim.problems.append(Problem(place, f"This claim has {len(claim.records)} records.", f"Keep it to {MOST_RECORDS}."))
            del claim.records[MOST_RECORDS:]
        return claim

    def _is_remark(self, claim: RawClaim, text: str) -> bool:
        """Whether a piece tells nothing of the fault: what is said of the claimed repair, or that nothing was read."""
        part = self._part_of(claim)
        said = plain(text) in self._no_record or text.casefold() in self._not_taken or self._free_text.is_mark(text)
        said = said or self._free_text.is_call(text)
        return said or self._free_text.is_claimed_repair(text, part) or self._free_text.is_the_claim(text, part)

    def _part_of(self, claim: RawClaim) -> str:
        """The part claimed; empty where it is none, or could be several."""
        said = claim.fields["part"].text if "part" in claim.fields else BOARD
        parts = self.headings.vocabulary.names("history").clear(said)
        return parts[0] if len(parts) == 1 else ""

    def _without_since(self, claim: RawClaim, count: int, *, mended: bool) -> bool:
        """Take out of the records from number *count* on what the furnace did once it was mended; whether it is by then.

        What is only looked at stays, a scorched board among it.
        """
        vocabulary, kept = self.headings.vocabulary, claim.records[:count]
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
            text, cell = _bare(piece[0]), Cell(piece[0], free.line, free.column + piece.start())
            short = found and 0 < len(text.split()) <= MOST_OF_OUTCOME and not self._free_text.records(text)
            joined = f"{found[-1][0]}, {text}" if short else ""
            if joined and any(r["kind"] == "history" for r in self._free_text.records(joined)):
                found[-1] = joined, found[-1][1]
            else:
                found.append((text, cell))
        return found

    def _free(self, claim: RawClaim, text: str, cell: Cell) -> None:
        """A piece of free text: a record if it is NAME: VALUE, an event, or what one would type at the prompt; else it is listed and never guessed."""
        parts = re.split(r"\s*[:=]\s*", in_our_words(text), maxsplit=1)
        read = self.headings.reading(parts[0], advise=False)
        if isinstance(read, dict) and len(parts) == 2 and parts[1]:
            value, *more = (p.strip() for p in parts[1].split(","))
            before, at, step = value.rpartition(" at ")
            if at and self.headings.vocabulary.names("step").meant(step):
                value, read = before, read | {"step": step}
            told = self.headings.reading(", ".join([parts[0], *more]), advise=False) if more else read
            if not more and " at " in value and self._plainly(claim, " ".join(parts), cell):
                return  # more than a step behind it: "119.6 at heating pin"
            if not isinstance(told, dict) and self._came_of_repair(parts[1]):
                value, told, read = parts[1], {}, {"kind": "history", "name": parts[0]}
            if isinstance(told, dict):
                claim.records.append({k: Cell(v, *cell[1:]) for k, v in {**told, **read, "value": value, FREE: "yes"}.items()})
                return
        elif isinstance(read, dict) and read["kind"] == "event" and len(parts) == 1:
            claim.records.append({k: Cell(v, *cell[1:]) for k, v in (read | {"value": "yes", FREE: "yes"}).items()})
            return
        if self._plainly(claim, text, cell) or self._at_step_told_first(claim, text, cell) or self._as_guessed(claim, text, cell):
            return
        usual = "Write it as NAME: VALUE at STEP, such as igniter ohms: OL." if not isinstance(read, str) or len(parts) < 2 else read
        fix = self._free_text.advice(text) or usual
        clauses = self._clauses(text)
        if len(clauses) > 1 and any(self._free_text.records(c.strip()) for _, c in clauses):
            self._read_on(claim, clauses, Cell(text, cell.line, cell.column + len(cell.text) - len(cell.text.lstrip())), usual)
            return
        claim.unmatched.append(Problem(Place(claim.file, *cell[1:]), f"{printable(text)} is not read.", fix))

    def _came_of_repair(self, text: str) -> bool:
        """Whether a text of several words tells what came of a repair: "cleaned, cured"."""
        return bool({*self.headings.vocabulary.results.meant(text)} - {"new_part"})

    def _clauses(self, text: str) -> list[tuple[int, str]]:
        """The clauses of a sentence with their places: parted by commas, and by "and" or "then" where what follows says something by itself."""
        found = list[tuple[int, str]]()
        for start, piece in _parted(COMMA, text):
            parts = [(start, piece)] if self._free_text.records(_bare(piece)) else [(start + at, part) for at, part in _parted(JOINS, piece)]
            of_piece = parts[:1]
            for at, part in parts[1:]:
                if self._free_text.records(_bare(part)):
                    of_piece.append((at, part))
                else:  # "inducer runs and quits" is one thing
                    before = of_piece[-1][0]
                    of_piece[-1] = before, text[before : at + len(part)]
            found += of_piece
        return found

    def _read_on(self, claim: RawClaim, clauses: list[tuple[int, str]], cell: Cell, usual: str) -> None:
        """Several clauses, each by itself. What follows one that is not read is not read either where it may be what came of it ("put 120 to the motor,
        motor runs"), be of another time, or be another's word; what is seen goes on to be told by whoever told the last. A whole reading in a list hangs on
        nothing but what was done."""
        in_doubt, done, told, first, unread = False, False, False, len(claim.records), len(claim.unmatched)
        for (at, clause), (_, following) in pairwise([*clauses, (0, "")]):
            text, place = _bare(clause), Place(claim.file, cell.line, cell.column + at + len(clause) - len(clause.lstrip()))
            if not text or plain(text) in self._no_record or self._free_text.is_the_claim(text, self._part_of(claim)):
                done = done or self._free_text.is_new_part(text, self._part_of(claim))
                in_doubt = in_doubt or done
                continue
            count = len(claim.records)
            all_read = first if len(claim.unmatched) == unread else count
            stands_alone = not done and cell.text[:at].rstrip().endswith(",") and self._free_text.is_reading(text)
            if (in_doubt and not stands_alone) or self._is_how(_bare(following)):
                done = done or self._is_done(self._free_text.without_states(text))
                what = f"{printable(text)} is not read, because what stands {'before' if in_doubt else 'after'} it is not."
                claim.unmatched.append(Problem(place, what, "If it does not hang on that, write it apart, with a semicolon."))
            elif SAME_IN_BOTH.fullmatch(text) and self._in_both_calls(claim, all_read):
                continue
            elif not any(read(claim, text, Cell(clause, place.line, place.column)) for read in (self._plainly, self._after_last(all_read), self._as_guessed)):
                claim.unmatched.append(Problem(place, f"{printable(text)} is not read.", self._free_text.advice(text) or usual))
                in_doubt = in_doubt or self._may_bring_about(text)
                done = done or self._is_done(self._free_text.without_states(text))
            for record in claim.records[count:]:
                told = told or ("source" in record and record["source"].text == "told")
                if told and record["kind"].text == "sign":
                    record.setdefault("source", Cell("told", *record["kind"][1:]))

    def _after_last(self, first: int) -> Callable[[RawClaim, str, Cell], bool]:
        """Takes a clause that tells something only after the last record of its sentence: "glows, no click". *first*: the number of the first of them,
        where all of the sentence was read up to here."""

        def take(claim: RawClaim, text: str, cell: Cell) -> bool:
            last = {k: c.text for k, c in claim.records[-1].items()} if len(claim.records) > first else None
            found = self._free_text.after(last, text) if last else []
            claim.records += [{k: Cell(v, *cell[1:]) for k, v in {**fields, FREE: "yes"}.items()} for fields in found]
            return bool(found)

        return take

    def _in_both_calls(self, claim: RawClaim, first: int) -> bool:
        """Tell the records from number *first* on of a second heat call too; whether there are any, and each can be so."""
        once = claim.records[first:]
        if not once or not all(map(self._may_be_of_a_call, once)):
            return False
        claim.records += [{**r, "call": Cell("2", *r["kind"][1:])} for r in once]
        return True

    def _may_be_of_a_call(self, record: Written) -> bool:
        """Whether a record is a reading or sign of which no call is told, and that is not tried or read with the power off."""
        vocabulary, name = self.headings.vocabulary, record["name"].text
        of = vocabulary.knowledge.point.get(name) or vocabulary.knowledge.sign.get(name)
        return of is not None and "call" not in record and name not in vocabulary.knowledge.experiment and of.steps != (vocabulary.sequence.roles.off,)

    def _may_bring_about(self, text: str) -> bool:
        """Whether what follows a clause that is not read may be what came of it, be of another time, or be another's word: so of one that denies too."""
        claims = self.headings.vocabulary.words.claims
        words = plain(text).split()
        done = {w for w in words if w.endswith("ed") and w not in claims.brings_about_nothing}
        said = f" {' '.join(words)} "
        return bool(done or (DENIALS | DENIED) & {*words}) or any(f" {word} " in said for word in claims.brings_about)

    def _is_done(self, text: str) -> bool:
        """Whether a piece tells of what was done, apart from the call in which it was: "jumped out the limit"."""
        of_call = IN_CALL.fullmatch(text)
        said = f" {plain(of_call['rest'] if of_call else text)} "
        claims = self.headings.vocabulary.words.claims
        return any(f" {word} " in said for word in claims.brings_about) or any(w.endswith("ed") and w not in claims.brings_about_nothing for w in said.split())

    def _is_how(self, text: str) -> bool:
        """Whether a piece that is not read tells how the one before it came about: "motor runs, with 120 straight to it"."""
        return text.partition(" ")[0].lower() in HOW and not self._free_text.records(text)

    def _is_of_another(self, claim: RawClaim, fields: Mapping[str, str], text: str) -> bool:
        """Whether what was tried is told without the part it was tried on, after something was told of another part: "inducer hums; spins if pushed"."""
        knowledge = self.headings.vocabulary.knowledge
        if fields["name"] not in knowledge.experiment:
            return False
        part, last = fields["name"].partition("_")[0], next((r["name"].text.partition("_")[0] for r in reversed(claim.records) if FREE in r), "")
        parts = {name.partition("_")[0] for name in knowledge.part}
        return part in parts and last in parts - {part} and part not in plain(text).split()

    def _plainly(self, claim: RawClaim, text: str, cell: Cell) -> bool:
        """Take a piece of free text that says one thing as somebody would type it at the prompt, of both calls where it ends in that; whether it did."""
        if (both := THEN_SAME_IN_BOTH.search(text)) is not None:
            count = len(claim.records)
            if self._plainly(claim, text[: both.start()], cell) and not self._in_both_calls(claim, count):
                del claim.records[count:]
            return len(claim.records) > count
        records = self._free_text.records(text)
        if not records and not self.headings.vocabulary.names("step").clear(text.partition(",")[0]):  # "cooling call, blower runs" tells two things
            records = self._free_text.records(" ".join(text.replace(",", " ").split()))
        if any(self._is_of_another(claim, fields, text) for fields in records):
            return False
        claim.records += [{k: Cell(v, *cell[1:]) for k, v in {**fields, FREE: "yes"}.items()} for fields in records]
        return bool(records)


    def _as_guessed(self, claim: RawClaim, text: str, cell: Cell) -> bool:
        """Take a piece whose name is not written in full as the one thing that it can be, and note that; whether it can."""
        found = [] if self._is_done(text) else self._free_text.guessed(text)
        for fields in found:
            claim.records.append({k: Cell(v, *cell[1:]) for k, v in {**fields, FREE: "yes"}.items()})
        if found:
            what = f"{printable(text)} is read as {found[0]['name']}: {found[0]['value']}."
            claim.guessed.append(Problem(Place(claim.file, *cell[1:]), what, "If it was meant otherwise, write the name in full."))
        return bool(found)

    def _at_step_told_first(self, claim: RawClaim, text: str, cell: Cell) -> bool:
        """Take a sentence that tells first in which step it was: "stat calls, w to c 25, no inducer"; whether it does, and all of it is plain."""
        (_, first), *rest = _parted(COMMA if "," in text else JOINS, text)
        step = self._free_text.step_first(_bare(first)) if rest else ""
        clauses = [_bare(clause) for _, clause in rest]
        each = [self._free_text.records(clause) for clause in clauses if step and clause and plain(clause) not in self._no_record]
        if not step or not each or not all(each):
            return False
        told = [self._free_text.at_step(fields, step) for found in each for fields in found]
        claim.records += [{k: Cell(v, *cell[1:]) for k, v in {**fields, FREE: "yes"}.items()} for fields in told]
        return True


def _parted(between: re.Pattern[str], text: str) -> list[tuple[int, str]]:
    """The pieces of *text* that something parts, each with its place."""
    ends = [(m.start(), m.end()) for m in between.finditer(text)]
    starts = [0, *(end for _, end in ends)]
    return [(start, text[start:end]) for start, end in zip(starts, [*(begin for begin, _ in ends), len(text)], strict=True)]


def _no_claims(path: Path) -> Problem:
    return Problem(Place(str(path), 1, 1), "There are no claims in this file.", "furnace-diag claims template writes an empty form.")


def claim_of_journal(path: Path) -> RawClaim:
    """The claim that a visit's journal is: what was learnt of the fault, under the file's name. Raises BadInput for a journal that was changed."""
    visit = visit_of(read_journal(path)[0], str(path))
    if visit.drill:
        raise BadInput([Problem(Place(str(path), 1, 1), "This is the record of a drill: its furnace is nobody's.", "Leave it out.")])
    told = {"claim": path.stem, "date": visit.opened[:10], "furnace": visit.family, "complaint": visit.complaint}
    claim = RawClaim(str(path), 1, {k: Cell(v, 1, 1) for k, v in told.items() if v}, {k: Cell(v, 1, 1) for k, v in visit.options.items()})
    for entry in visit.telling:
        kind = next((k for k in KINDS if k in entry.record), "")
        fields = {"kind": kind, "name": entry.record.get(kind, ""), **{k: v for k, v in entry.record.items() if k in RECORD_FIELDS}}
        claim.records.append({k: Cell(_text(v), entry.event, 1) for k, v in fields.items() if v is not None})
    return claim


@dataclass(frozen=True)
class _Places:
    """Where the names of a claim stand in a document."""

    document: Document
    path: tuple[str | int, ...]

    def of(self, *path: str | int) -> tuple[int, int]:
        place = self.document.place_of((*self.path, *path))
        return place.line, place.column


@dataclass(frozen=True)
class _Line:
    """A claim that stands in one line."""

    line: int

    def of(self, *_path: object) -> tuple[int, int]:
        return self.line, 1


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    made = dict(pairs)
    if len(made) < len(pairs):
        raise ValueError("a name twice")
    return made


def _text(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, (list, tuple)):
        return " ".join(map(str, value))
    return "" if value is None else str(value)


def _join(claim: RawClaim, part: RawClaim) -> None:
    """Add a further row of the same claim. A field that says something else there is a problem."""
    for name in ("fields", "options"):
        known, more = getattr(claim, name), getattr(part, name)
        for key, cell in more.items():
            if known.setdefault(key, cell).text.strip() != cell.text.strip() and key != READINGS:
                what = f"{key} is {printable(cell.text)} here, but {printable(known[key].text)} at line {known[key].line}."
                claim.problems.append(Problem(Place(claim.file, cell.line, cell.column), what, "Write the same in every row of a claim."))
                claim.aside.append(cell)
            elif key == READINGS and all(cell.text != other.text for other in claim.texts(READINGS)):
                claim.more.append((key, cell))
    claim.more += part.more
    claim.aside += part.aside
    claim.records += part.records
    claim.problems += part.problems


