"""What a column of a shop's own table holds: read by our names, the rules' other names and the shop's map of columns."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from furnace_diag.claims.dates import ORDERS
from furnace_diag.diagnosis.entries import KINDS, METERS
from furnace_diag.diagnosis.records import SET_UPS
from furnace_diag.diagnosis.vocabulary import Vocabulary
from furnace_diag.knowledge.find import Names
from furnace_diag.knowledge.spelling import plain
from furnace_diag.knowledge.yaml_text import Document, read_yaml
from furnace_diag.problems import BadInput, Place, Problem, printable

CLAIM_FIELDS = ("claim", "shop", "date", "part", "furnace", "complaint", "installed", "asked_for", "part_mark", "bench_outcome", "readings")
RECORD_FIELDS = ("kind", "name", "value", "step", "call", "after_s", "meter", "contact", "set_up", "hold", "source", "note")
FOUND_BY_NAME = tuple(k for k in KINDS if k != "experiment")  # kinds that a bare name may be of: every experiment is among the signs
OFFERED = ("point", "sign")  # whose names are offered for a heading that means nothing: no column holds failures, parts or events
CONTACTS, HOLDS, SOURCES = ("pin", "crimp", "load"), ("min", "max"), ("measured", "seen", "told")
IGNORE = "ignore"
DATE_ORDER = "date_order"  # in a map of columns: no heading, but in which order day and month stand
READINGS = "readings"  # free text
NOTE = "note"  # of a record, or of a claim where each has a row of its own
UNIT_IN_HEADING = re.compile(r"\s*[\[(]([^\])]{1,20})[\])]\s*$")
VOLTS_BEHIND = re.compile(r"\s+v(?:olts?|ac)?$", re.IGNORECASE)  # "Line V", "HEAT tap VAC"
IS_NUMBER = re.compile(r"#\s*$")  # "RO #": a number of something, and no reading
POINTS_LISTED = "furnace-diag points lists what can be read."
FREE_TEXT_HEADINGS = 3  # other names of a column of free text that are told
COUNTED = {"call": re.compile(r"call (\d{1,2})"), "after_s": re.compile(r"after (\d{1,5})(?: ?s(?:ec(?:onds)?)?)?")}
UNQUOTED = re.compile(r"\s*[^\s\"'#:][^\"':]*\s#[^:]*:\s")  # a heading with a sign in it that begins a remark
LARGEST_MAP = 1_000_000  # [characters] that are looked through for such headings
SHORTEST_GUESSED = 3  # [letters]: "RO #" is like many names and means none of them
EXAMPLE = ("Tech reading W-C: w_to_c_at_board at heating", "Invoice: ignore")


@dataclass(frozen=True)
class Column:
    """What a column holds: a `field` of the claim or of a record, an `option` of the furnace, or a `reading`.

    *name*: the field, option, or what was read; *fixed*: what the heading says of every record in it; *unit*: of figures without one.
    *alone*: it holds that only where no other column of the table does.
    """

    holds: str
    name: str
    fixed: Mapping[str, str] = field(default_factory=dict)
    unit: str = ""
    alone: bool = False


def read_column_map(path: Path, ours_are: Headings | None = None) -> dict[str, str]:
    """A shop's map of columns: their heading to ours, which must be among *ours_are* if that is given, and the order of dates. Raises BadInput."""
    document, problems = _map_in(path), list[Problem]()
    if not isinstance(document.value, dict):
        raise BadInput([Problem(document.place_of(()), "A map of columns has a line for each column.", "Write their heading: ours, for instance:", EXAMPLE)])
    for theirs, ours in document.value.items():
        if theirs == DATE_ORDER:
            if ours not in ORDERS:
                what = f"{printable(str(ours))} is no order of day and month."
                problems.append(Problem(document.place_of((theirs,)), what, f"Write {' or '.join(ORDERS)}."))
        elif not isinstance(ours, str) or not ours:
            what = f"What {printable(theirs)} stands for is not told."
            problems.append(Problem(document.place_of((theirs,)), what, "Write one of our headings after the colon, or ignore."))
        elif ours_are is not None and (advice := ours_are.unknown(ours)):
            problems.append(Problem(document.place_of((theirs,)), f"{printable(ours)} is no heading of ours.", advice))
    if problems:
        raise BadInput(problems)
    return dict(document.value)


def _map_in(path: Path) -> Document:
    """The file's YAML. A heading that must stand in quotes is told as such."""
    try:
        lines = path.read_text(encoding="utf-8", errors="replace")[:LARGEST_MAP].splitlines()
    except OSError:
        lines = []
    bare = [(number, line) for number, line in enumerate(lines, 1) if UNQUOTED.match(line)]
    if bare:
        what = 'This heading has a "#" in it, which begins a remark.'
        raise BadInput([Problem(Place(str(path), n, 1), what, f'Put the heading in quotes: "{printable(t.rpartition(":")[0])}": ...') for n, t in bare])
    return read_yaml(path, example=EXAMPLE)


class Headings:
    """Reads the headings of tables, and the texts that are written in their way."""

    def __init__(self, vocabulary: Vocabulary, theirs: Mapping[str, str] | None = None) -> None:
        words, alone = vocabulary.words.claims.headings, vocabulary.words.claims.headings_alone
        self.vocabulary = vocabulary
        self.date_order = (theirs or {}).get(DATE_ORDER, "")
        self.theirs = {" ".join(k.split()).lower(): v for k, v in (theirs or {}).items() if k != DATE_ORDER}
        self.met = set[str]()  # headings of theirs that stood in a file
        self._of_claims = Names({f: words.get(f, ()) for f in CLAIM_FIELDS})
        self._of_claims_alone = Names({f: words_of for f, words_of in alone.items() if f in CLAIM_FIELDS})
        self._of_records = Names({f: words.get(f, ()) for f in RECORD_FIELDS})
        self._options = Names(dict.fromkeys((o for f in vocabulary.knowledge.furnace.values() for o in f.options), ()))
        self._known: dict[tuple[str, bool], tuple[str, str] | str] = {}

    def column(self, heading: str, *, of_records: bool, advise: bool = True) -> Column | str | None:
        """What a column holds; None for what is to be left out, and a sentence of advice where the heading means nothing here, or two things.

        *advise*: look for names that are near, which takes time.
        """
        key = " ".join(heading.split()).lower()
        self.met |= {key} & self.theirs.keys()
        text = self.theirs.get(key, heading)
        if text.strip().lower() == IGNORE:
            return None
        fields = [("claim", self._of_claims)] + ([("record", self._of_records)] if of_records else [])
        exact = [(where, text.strip()) for where, names in fields if text.strip() in names.ids]
        if not of_records and NOTE in self._of_records.meant(text):
            return Column("claim", NOTE)
        meant = exact or [(where, m) for where, names in reversed(fields) for m in names.meant(text)]
        if meant:
            return Column(*meant[0])
        for name in self._of_claims_alone.meant(text):
            return Column("claim", name, alone=True)
        option = self._options.meant(text)
        if option:
            return Column("option", option[0])
        if of_records:
            return f"A table with a row for each record has these columns: {', '.join(CLAIM_FIELDS)}; {', '.join(RECORD_FIELDS)}."
        if IS_NUMBER.search(text):
            return self._advice("", near=False)
        unit = UNIT_IN_HEADING.search(text)
        read = self.reading(UNIT_IN_HEADING.sub("", text), advise=False)
        if isinstance(read, str) and VOLTS_BEHIND.search(text):
            return self._of_volts(VOLTS_BEHIND.sub("", text)) or self._advice(text, near=advise)
        if read == POINTS_LISTED:
            return self._advice(text, near=advise)
        return Column("reading", read["name"], read, unit[1] if unit else "") if isinstance(read, dict) else read

    def _of_volts(self, place: str) -> Column | str:
        """A column of the volts at a place; advice where there are several such places, empty where there is none."""
        in_full, bare = (self.reading(name, advise=False) for name in (f"{place} volts", place))
        if isinstance(in_full, dict):
            return Column("reading", in_full["name"], in_full)
        points = self.vocabulary.knowledge.point
        if isinstance(bare, dict) and bare["name"] in points and points[bare["name"]].unit == "V":
            return Column("reading", bare["name"], bare)
        return next((advice for advice in (in_full, bare) if isinstance(advice, str) and advice != POINTS_LISTED), "")

    def unknown(self, text: str) -> str:
        """What to write instead of a heading that means nothing here; empty where it means something."""
        told = [self.column(text, of_records=of_records) for of_records in (False, True)]
        if not all(isinstance(t, str) for t in told):
            return ""
        return _did_you_mean(text, [self._of_claims, self._of_records]) or str(told[0])

    def _advice(self, heading: str, *, near: bool) -> str:
        """What to call a column instead of *heading*, which means nothing here: what is *near*, if that is looked for, else where free text goes."""
        ours = [self._of_claims, self._options] if near else []
        others = self.vocabulary.words.claims.headings.get(READINGS, ())[:FREE_TEXT_HEADINGS]
        name, _ = self._step_apart(heading.split(",")[0])
        read = [self.vocabulary.names(kind) for kind in OFFERED] if near else []
        guess = _did_you_mean(name, ours, read) if len("".join(re.findall(r"[a-z]+", plain(name)))) >= SHORTEST_GUESSED else ""
        named = "A column of the part claimed is called part, and of what the customer said complaint."
        return guess or f"{named} A column of free text is called {', '.join([READINGS, *others])}. {POINTS_LISTED}"

    def is_of_records(self, headings: list[str]) -> bool:
        """Whether a table has a row for each record: it then has a column for what was read and one for its value."""
        meant = {m for h in headings for m in self._of_records.meant(self.theirs.get(" ".join(h.split()).lower(), h))}
        return {"name", "value"} <= meant

    def reading(self, text: str, *, advise: bool = True) -> dict[str, str] | str:
        """"NAME at STEP, low, pin, load_on, call 2, after 125 s" as the fields of a record; advice in words where it is none."""
        named, *more = (piece.strip() for piece in text.split(","))
        name, found = self.kind_of(named, advise=False), dict[str, str]()
        if isinstance(name, str):
            bare, step = self._step_apart(named)
            other = self.kind_of(bare, advise=advise)
            if isinstance(other, str):
                return other
            name, found = other, {"step": step}
        found |= {"kind": name[0], "name": name[1]}
        for piece in more:
            about = self._said_of(piece)
            if about is None:
                return f"{printable(piece) or 'An empty word'} after the comma is not understood."
            key, value = about
            found[key] = f"{found[key]} {value}" if key in found and key == "set_up" else value
        return found

    def _step_apart(self, named: str) -> tuple[str, str]:
        """ "NAME at STEP" as the name and the step's id, which is empty where none is told."""
        before, _, step = named.rpartition(" at ")
        meant = self.vocabulary.names("step").meant(step) if before else []
        return (before, meant[0]) if meant else (named, "")

    def _said_of(self, piece: str) -> tuple[str, str] | None:
        word = "_".join(piece.lower().split())
        tables = {"contact": CONTACTS, "hold": HOLDS, "source": SOURCES, "set_up": SET_UPS, "meter": tuple(METERS)}
        counted = {key: found[1] for key, pattern in COUNTED.items() if (found := pattern.fullmatch(piece.lower()))}
        known = {key: word for key, words in tables.items() if word in words}
        meters, steps = Names(METERS).meant(piece), self.vocabulary.names("step").meant(piece)
        told = counted | known | ({"meter": meters[0]} if meters else {}) | ({"step": steps[0]} if len(steps) == 1 else {})
        return next(iter(told.items()), None)

    def kind_of(self, name: str, *, advise: bool = True) -> tuple[str, str] | str:
        """The kind and id of what a name means; advice in words where it means nothing, or two things."""
        key = name.strip(), advise
        if key not in self._known:
            if len(self._known) > 20_000:
                self._known.clear()
            self._known[key] = self._kind_of(*key)
        return self._known[key]

    def _kind_of(self, name: str, advise: bool) -> tuple[str, str] | str:
        names = {kind: self.vocabulary.names(kind) for kind in FOUND_BY_NAME}
        exact = [(kind, name) for kind in FOUND_BY_NAME if name in self.vocabulary.entries[kind]]
        clear = exact or [(kind, i) for kind in FOUND_BY_NAME for i in names[kind].clear(name)]
        meant = clear or [(kind, i) for kind in FOUND_BY_NAME for i in names[kind].meant(name)]
        read = [m for m in meant if m[0] != "history"] or meant  # a part's name alone is rather what was read of it
        if len(read) == 1 and (sign := self.vocabulary.knowledge.sign.get(read[0][1])) is not None and plain(name) in map(plain, sign.of_things):
            return f"That there is none of it would not say how it stands. Write {sign.sign} or what else is meant."
        if len(read) == 1:
            return read[0]
        if read:
            return f"It could be {' or '.join(f'{kind} {i}' for kind, i in read[:4])}. Write the one you mean."
        near = [i for kind in FOUND_BY_NAME for i in names[kind].suggested(name, 1)][:2] if advise else []
        return f"Did you mean {' or '.join(near)}?" if near else POINTS_LISTED


def _did_you_mean(text: str, tables: Iterable[Names], of_records: Iterable[Names] = ()) -> str:
    """The one or two names that are nearest, as a question; empty where none is near. Of *of_records* only those that are spelled much like all of
    *text*: "cust says" is no beginning of what a light says."""
    near = dict(pair for names in tables for pair in names.near(text).items())
    near |= {i: score for names in of_records for i, score in names.near(text).items() if score > 1}
    likest = {i: score for i, score in near.items() if score > 1} or near
    named = sorted(likest, key=lambda i: -likest[i])[:2]
    return f"Did you mean {' or '.join(named)}?" if named else ""
