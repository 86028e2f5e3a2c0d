"""A table -> claims: a row for each record, or one for each claim with a column for each reading; its headings tell which."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from furnace_diag.claims.dates import order_of
from furnace_diag.claims.headings import READINGS, Column, Headings
from furnace_diag.claims.raw_claim import SEVERAL, RawClaim, Written, no_claims, put
from furnace_diag.claims.table import Cell, TextFile, rows
from furnace_diag.problems import BadInput, Place, Problem, printable

MOST_ADVISED = 30  # unknown columns of a table for which near names are looked for
Columns = list[tuple[int, Column | None]]  # with their places in a row; None for one that is not read


class TableClaims:
    """Reads tables by *headings*; what is wrong apart from any claim goes to *note*."""

    def __init__(self, headings: Headings, note: Callable[[Problem], None]) -> None:
        self.headings, self.note = headings, note

    def claims(self, file: TextFile, *, only_numbers: bool) -> Iterator[RawClaim]:
        """Its claims, one at a time, their free text not read yet. Raises BadInput where no column tells which claim a row is of."""
        empty = list[int]()
        every = rows(file, empty)
        first = next((r for r in every if self._is_row(r)), None)
        if first is None:
            self.note(no_claims(file.path))
            return
        assert not isinstance(first, Problem)
        of_records = self.headings.is_of_records([c.text for c in first])
        columns = self._columns(str(file.path), first, of_records=of_records)
        if not any(c is not None and c.name == "claim" for c in columns):
            place = Place(str(file.path), first[0].line, first[0].column)
            fix = 'Call one of them claim, or tell which it is in a file for --columns, such as "Claim no.": claim. furnace-diag claims template writes a form.'
            raise BadInput([Problem(place, "No column tells which claim a row belongs to, so nothing of this file was judged.", fix)])
        date_order = self.headings.date_order if only_numbers or self.headings.date_order else _order_in(file, columns)
        kept = self._rows(str(file.path), columns, first, every)
        read = [(i, c) for i, c in enumerate(columns) if not only_numbers or (c is not None and (c.holds, c.name) == ("claim", "claim"))]
        for claim in (_by_record if of_records else _by_claim)(file, read, len(columns), kept):
            claim.date_order = date_order
            yield claim
        if empty:
            what = "This row holds nothing but separators." if len(empty) == 1 else f"{len(empty):,} rows hold nothing but separators; this is the first."
            self.note(Problem(Place(str(file.path), empty[0], 1), what, "It was left out." if len(empty) == 1 else "They were left out."))

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


def _by_claim(file: TextFile, columns: Columns, wide: int, every: Iterable[list[Cell]]) -> Iterator[RawClaim]:
    for row in every:
        claim = RawClaim(str(file.path), row[0].line)
        _too_long(claim, wide, row)
        for i, column in columns:
            if i < len(row) and (cell := row[i]).text.strip():
                put(claim, column, cell)
        yield claim


def _by_record(file: TextFile, columns: Columns, wide: int, every: Iterable[list[Cell]]) -> Iterator[RawClaim]:
    claim: RawClaim | None = None
    number = ""
    for row in every:
        part = RawClaim(str(file.path), row[0].line)
        _too_long(part, wide, row)
        record: Written = {}
        for i, column in columns:
            if i < len(row) and (cell := row[i]).text.strip():
                if column is not None and column.holds == "record":
                    record[column.name] = cell
                else:
                    put(part, column, cell)
        if record:
            part.records.append(record)
        same = part.id
        if claim is None or same != number or not same:
            if claim is not None:
                yield claim
            claim, number = part, same
        else:
            _join(claim, part)
    if claim is not None:
        yield claim


def _order_in(file: TextFile, columns: list[Column | None]) -> str:
    """The order of day and month in the column of dates, by all of its rows: before the first claim is given, for it must be the same for every one."""
    at = next((i for i, c in enumerate(columns) if c is not None and (c.holds, c.name) == ("claim", "date")), None)
    return "" if at is None else order_of(row[at].text for row in rows(file) if not isinstance(row, Problem) and at < len(row))


def _too_long(claim: RawClaim, wide: int, row: list[Cell]) -> None:
    further = [c for c in row[wide:] if c.text.strip()] if len(row) > wide else []
    if further:
        beyond = further[0]
        claim.aside += further
        what = f"This row has more cells than there are headings, from {printable(beyond.text)} on."
        claim.problems.append(Problem(Place(claim.file, beyond.line, beyond.column), what, "Put text with a comma in quotes."))


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
