"""Files of claims -> claims as they were written, one at a time, with the place of every word; nothing is judged yet.

A table has a row for each record, or one for each claim with a column for each reading; its headings tell which. A
YAML file holds a list of claims, a JSON Lines file one in each line. What cannot be read is noted with its place.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path

from furnace_diag.claims.free_cells import FreeCells
from furnace_diag.claims.headings import Headings
from furnace_diag.claims.named_claims import claim_of_journal, of_json_lines, of_yaml
from furnace_diag.claims.raw_claim import RawClaim, no_claims
from furnace_diag.claims.table import text_file
from furnace_diag.claims.table_claims import TableClaims
from furnace_diag.problems import BadInput, Place, Problem
from furnace_diag.visit.kind import is_journal

MOST_RECORDS = 1000
MOST_NOTED = 200  # problems that are kept of one file apart from its claims


@dataclass
class Files:
    """Files of claims; `claims` gives them one at a time, and *noted* gathers what is wrong apart from any claim.

    *without*: the files that gave no claim at all.
    """

    paths: tuple[Path, ...]
    headings: Headings
    noted: list[Problem] = field(default_factory=list)
    without: list[Path] = field(default_factory=list)

    @cached_property
    def _free_cells(self) -> FreeCells:
        return FreeCells(self.headings)

    def claims(self, *, only_numbers: bool = False) -> Iterator[RawClaim]:
        """All claims in the order in which they stand. What keeps a whole file from being read is noted, and the next one read.

        *only_numbers*: of a table's claims nothing but their numbers is read, which is sooner done.
        """
        self.noted.clear()
        self.without.clear()
        for path in self.paths:
            count, before = 0, len(self.noted)
            try:
                for claim in self._of_file(path, only_numbers=only_numbers):
                    count += 1
                    yield claim
            except BadInput as bad:
                self.noted[before:before] = bad.problems  # what keeps a file from being read goes before all else of it
            if not count:
                self.without.append(path)
                if len(self.noted) == before:
                    self.note(no_claims(path))

    def note(self, *problems: Problem) -> None:
        """Keep what is wrong apart from any claim, up to a bound."""
        for problem in problems:
            if len(self.noted) < MOST_NOTED:
                self.noted.append(problem)
            elif len(self.noted) == MOST_NOTED:
                self.noted.append(Problem(None, "There are more problems than are listed here.", "Mend these first."))

    def _of_file(self, path: Path, *, only_numbers: bool) -> Iterator[RawClaim]:
        """Its claims, with what their free text says; a visit's journal has none."""
        if path.suffix.lower() == ".jsonl" and is_journal(path):
            yield claim_of_journal(path)
            return
        for claim in self._as_they_stand(path, only_numbers=only_numbers):
            self._free_cells.read(claim)
            _bound(claim)
            yield claim

    def _as_they_stand(self, path: Path, *, only_numbers: bool) -> Iterator[RawClaim]:
        if path.suffix.lower() in (".yaml", ".yml"):
            yield from of_yaml(path, self.headings)
            return
        file = text_file(path)
        if file.note:
            self.note(Problem(Place(str(path), 1, 1), file.note, ""))
        if path.suffix.lower() in (".jsonl", ".ndjson", ".json"):
            yield from of_json_lines(file, self.headings, self.note)
        else:
            yield from TableClaims(self.headings, self.note).claims(file, only_numbers=only_numbers)


def _bound(claim: RawClaim) -> None:
    """Leave out the records of a claim that are more than anybody reads, and tell so."""
    if len(claim.records) > MOST_RECORDS:
        place = Place(claim.file, claim.line, 1)
        claim.problems.append(Problem(place, f"This claim has {len(claim.records)} records.", f"Keep it to {MOST_RECORDS}."))
        del claim.records[MOST_RECORDS:]
