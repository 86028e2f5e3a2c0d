"""A claim as it was written, with the place of every word; nothing is judged yet."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from furnace_diag.claims.headings import NOTE, READINGS, Column
from furnace_diag.claims.part_names import parts_named
from furnace_diag.claims.table import Cell
from furnace_diag.diagnosis.verdict import BOARD
from furnace_diag.diagnosis.vocabulary import Vocabulary
from furnace_diag.problems import Place, Problem

SEVERAL = (READINGS, NOTE)  # of these a table may have several columns
FREE = "free_text"  # marks a record that stood in free text: what of it cannot be read is listed, and holds nothing back
FIGURE = re.compile(r"[-+~<>]?\s*[\d.,]+")
Written = dict[str, Cell]  # the fields of one record


@dataclass
class RawClaim:
    """One claim as it was written. *fields* and *options* are by our names.

    *more*: text of further columns of free text or notes, with its field. *aside*: cells that are not read, and are searched for dangers all the
    same. *problems*: what of it could not be read. *unmatched*: free text that
    says nothing to these rules. *since*: readings that stand after what put the furnace right, and are none of its failure. *guessed*: what was read of
    text that does not write a name in full. *righted*: signs of dangers that a text tells to be put right, each with the words that tell it.
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
    righted: list[tuple[str, str]] = field(default_factory=list)
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


def written(fields: Mapping[str, str], cell: Cell) -> Written:
    """Fields of a record, all of which stand in *cell*."""
    return {name: Cell(text, *cell[1:]) for name, text in fields.items()}


def put(claim: RawClaim, column: Column | None, cell: Cell) -> None:
    """Take what stands in a column into a claim; what no heading tells of is kept aside."""
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
        claim.records.append({**written(column.fixed, cell), "value": value})


def part_of(claim: RawClaim, vocabulary: Vocabulary) -> str:
    """The part claimed; empty where it is none, or could be several."""
    said = claim.fields["part"].text if "part" in claim.fields else BOARD
    parts = vocabulary.names("history").clear(said) or parts_named(said, vocabulary.names("history"), vocabulary.words)
    return parts[0] if len(parts) == 1 else ""


def no_claims(path: Path) -> Problem:
    """That a file holds none."""
    return Problem(Place(str(path), 1, 1), "There are no claims in this file.", "furnace-diag claims template writes an empty form.")
