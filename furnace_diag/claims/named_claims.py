"""Names with values -> claims: a list in YAML, a line of JSON for each, or the journal of a visit."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from furnace_diag.claims.headings import RECORD_FIELDS, Headings
from furnace_diag.claims.raw_claim import RawClaim, Written, put
from furnace_diag.claims.table import Cell, TextFile
from furnace_diag.diagnosis.entries import KINDS
from furnace_diag.knowledge.yaml_text import Document, read_yaml
from furnace_diag.problems import BadInput, Place, Problem, printable
from furnace_diag.visit.journal import read_journal
from furnace_diag.visit.state import visit_of

MOST_YAML = 8_000_000
MOST_YAML_NODES = 800_000


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


def of_yaml(path: Path, headings: Headings) -> Iterator[RawClaim]:
    """The claims that a YAML file lists, their free text not read yet. Raises BadInput."""
    document = read_yaml(path, most_bytes=MOST_YAML, most_nodes=MOST_YAML_NODES)
    value = document.value
    at: tuple[str | int, ...] = ("claims",) if isinstance(value, dict) and isinstance(value.get("claims"), list) else ()
    listed = value["claims"] if at and isinstance(value, dict) else value
    for i, entry in enumerate(listed if isinstance(listed, list) else [listed]):
        path_of = (*at, i) if isinstance(listed, list) else at
        yield _of_tree(str(path), entry, _Places(document, path_of), headings)


def of_json_lines(file: TextFile, headings: Headings, note: Callable[[Problem], None]) -> Iterator[RawClaim]:
    """The claims that stand each in a line of JSON, the same; a line that is none goes to *note*."""
    for line in file.lines():
        place = Place(str(file.path), line.number, 1)
        if line.text is None:
            note(Problem(place, "This line is too long.", "It was left out: shorten it."))
        elif line.text.strip():
            try:
                entry = json.loads(line.text, parse_float=str, parse_int=str, parse_constant=str, object_pairs_hook=_once)
            except json.JSONDecodeError as error:
                place = Place(str(file.path), line.number, error.colno)
                note(Problem(place, "This line is not JSON.", "It was left out: write one claim in each line."))
            except (ValueError, RecursionError):
                note(Problem(place, "This line names one thing twice, or nests too deep.", "It was left out: write each name once."))
            else:
                yield _of_tree(str(file.path), entry, _Line(line.number), headings)


def _of_tree(file: str, entry: object, places: _Places | _Line, headings: Headings) -> RawClaim:
    """A claim from names and values; *places* tells where they stand."""
    claim = RawClaim(file, places.of()[0], date_order=headings.date_order)
    if not isinstance(entry, dict):
        claim.problems.append(Problem(Place(file, *places.of()), "A claim is a block of names and values.", "Start it with claim: and its number."))
        return claim
    for name, value in entry.items():
        if name == "records" and isinstance(value, list):
            _put_records(claim, value, places)
        elif name == "furnace" and isinstance(value, dict):
            _put_furnace(claim, value, places)
        elif isinstance(value, (dict, list)):
            what = f"{printable(str(name))} should be one word or figure."
            claim.problems.append(Problem(Place(file, *places.of(name)), what, "Only records is a list, and furnace a block."))
            claim.aside.append(Cell(str(value), *places.of(name)))
        elif value is not None and _text(value).strip():
            _put_named(claim, headings, str(name), Cell(_text(value), *places.of(name)))
    return claim


def _put_named(claim: RawClaim, headings: Headings, name: str, cell: Cell) -> None:
    column = headings.column(name, of_records=False, advise=False)
    put(claim, None if isinstance(column, str) else column, cell)
    if isinstance(column, str):
        claim.unmatched.append(Problem(Place(claim.file, cell.line, cell.column), f"{printable(name)}: {printable(cell.text)} is not read.", column))


def _put_records(claim: RawClaim, entries: list[Any], places: _Places | _Line) -> None:
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


def _put_furnace(claim: RawClaim, value: Mapping[str, Any], places: _Places | _Line) -> None:
    if value.get("family"):
        claim.fields["furnace"] = Cell(_text(value["family"]), *places.of("furnace", "family"))
    options = value.get("options")
    for name, said in (options if isinstance(options, dict) else {}).items():
        claim.options[str(name)] = Cell(_text(said), *places.of("furnace", "options", name))


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
