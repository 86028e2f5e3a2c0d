"""A claim as it was written -> a claim understood: the same records that `rank` would make of the same words."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Literal

from furnace_diag.claims.dates import ORDERS, day, days
from furnace_diag.claims.headings import DATE_ORDER, Headings
from furnace_diag.claims.letter_words import of_field
from furnace_diag.claims.our_words import in_our_words
from furnace_diag.claims.part_names import parts_named
from furnace_diag.claims.raw_claim import FREE, SEVERAL, RawClaim, Written
from furnace_diag.claims.repair_words import WHEN
from furnace_diag.diagnosis.entries import KINDS
from furnace_diag.diagnosis.hearsay import complained
from furnace_diag.diagnosis.one_record import record_at, with_figure
from furnace_diag.diagnosis.records import SET_UPS, Record, Report
from furnace_diag.diagnosis.two_answers import seen_before_told
from furnace_diag.diagnosis.verdict import BOARD
from furnace_diag.diagnosis.vocabulary import Vocabulary
from furnace_diag.knowledge.find import Names
from furnace_diag.knowledge.models import Knowledge
from furnace_diag.knowledge.spelling import plain, spelling_of
from furnace_diag.knowledge.values import words_for_values
from furnace_diag.knowledge.yaml_text import document_of
from furnace_diag.problems import BadInput, Place, Problem, printable
from furnace_diag.quantities import UNITS, names_unit

MOST_KEPT = 20_000  # records that are remembered, because the same words come again and again
LONGEST_ID = 200
LONGEST_FIGURE = 40
LONGEST_TEXT = 500
MEASURES = {"ohms": "ohms", "ohm": "ohms", "V": "volts", "v": "volts", "A": "amps", "a": "amps"}  # how a figure ends, and what it is of
MOST_REMARKS = 40  # of one claim that are kept
NAMES_ONLY = ("claim", "shop", "date", "furnace")  # what a shop is called tells of no danger
NOT_READ = " is not read"  # after a text, in what is said of it
MOST_OF_NAME = 4  # words of a name that is looked for in text that is not read
OUTCOMES: tuple[Literal["bad", "good", "not_tested"], ...] = ("bad", "good", "not_tested")


@dataclass(frozen=True)
class Claim:
    """A claim, understood. *report* is what `rank` would be given.

    *unread*: entries that could not be read, each with its place. *unmatched*: free text that says nothing to these rules.
    *untold*: those of *unmatched* that name the board, the claimed part or what can be read or seen, so that the verdict may hang on them.
    *unheard*: a complaint that names a part and of which nothing is read. It is hearsay, so no verdict hangs on it.
    *fatal*: why the claim cannot be judged at all. *month* is empty where the date is not known, or lies ahead.
    *righted*: signs of dangers that are told to be put right, each with the words of the text that tell it.
    *remarks*: text that the shop wrote beside its records, as it stands. *searched*: whatever else its rows hold, where only dangers are looked for.
    """

    id: str
    shop: str
    date: str
    month: str
    part: str
    asked_for: str
    part_mark: str
    bench_outcome: str
    place: Place
    report: Report
    unread: tuple[Problem, ...]
    unmatched: tuple[Problem, ...]
    notes: tuple[Problem, ...]
    fatal: tuple[Problem, ...]
    remarks: tuple[str, ...] = ()
    searched: tuple[str, ...] = ()
    untold: tuple[Problem, ...] = ()
    unheard: tuple[Problem, ...] = ()
    righted: tuple[tuple[str, str], ...] = ()


class Reader:
    """Understands claims by the rules; make it once, use it for many. *today* tells which dates lie ahead."""

    def __init__(self, knowledge: Knowledge, today: date, theirs: Mapping[str, str] | None = None) -> None:
        self.knowledge, self.today = knowledge, today
        self._vocabularies = {name: Vocabulary(knowledge, name) for name in knowledge.furnace}
        self.first = next(iter(knowledge.furnace))
        self.headings = {name: Headings(v, theirs) for name, v in self._vocabularies.items()}
        self._words = words = next(iter(knowledge.words.values()))
        self._not_taken = frozenset(w.casefold() for w in words.claims.not_taken)
        self._parts = Names({name: p.also_called for name, p in knowledge.part.items()}, spelling_of(words))
        self._outcomes = Names({o: words.claims.outcomes.get(o, ()) for o in OUTCOMES})
        self._no = words_for_values(("no",), {}, words.value_words)
        self._shapes: dict[tuple[object, ...], Record] = {}  # readings of points by all their words but the figure
        self._kept: OrderedDict[tuple[object, ...], Record | tuple[Problem, ...] | None] = OrderedDict()

    def understood(self, raw: RawClaim) -> Claim:
        """The claim that *raw* means. Never raises for what it says."""
        fatal, unread, unmatched, notes = list[Problem](), list(raw.problems), list(raw.unmatched), [*raw.since, *raw.guessed]
        place = _place(raw, "claim")
        if not any(c.isalnum() for c in raw.id):
            what = f"{printable(raw.id)} is no number of a claim." if raw.id else "This claim has no number."
            fatal.append(Problem(place, what, "Give every claim a number."))
        elif len(raw.id) > LONGEST_ID:
            fatal.append(Problem(place, "The number of this claim is too long.", f"Keep it to {LONGEST_ID} characters."))
        family = self._family(raw, fatal)
        records, not_made = list[Record](), list[Written]()
        for written in raw.records:
            made = self._record(written, raw.file, family)
            if isinstance(made, Record):
                records.append(made)
            elif made:
                (unmatched if FREE in written else unread).extend(made)
                not_made.append(written)
        for name, cell in raw.fields.items():
            if not cell.text.replace("\n", " ").replace("\t", " ").isprintable():
                notes.append(Problem(_place(raw, name), f"{name} holds signs that cannot be seen: {printable(cell.text)}.", "Type it anew."))
        when = self._day(raw, notes)
        if not (raw.records or raw.problems or raw.unmatched or any(name in raw.fields for name in ("complaint", *SEVERAL))):
            fatal.append(_nothing_in(raw, place))
        part = self._part(raw, fatal)
        records, set_aside = seen_before_told(records, self.knowledge)
        complaint, unheard = _said(raw, "complaint"), list[Problem]()
        if complaint:
            vocabulary, where = self._vocabularies[family], _place(raw, "complaint")
            is_unheard = self._tells_unheard(complaint, vocabulary)
            heard = in_our_words(complaint) if is_unheard else complaint
            records += complained(heard, records, vocabulary, where)
            if WHEN.search(heard):  # the day of an earlier repair stands between what was done and what came of it
                undated = " ".join(WHEN.sub(" ", heard).split())
                records += [r for r in complained(undated, records, vocabulary, where) if r.kind == "history"]
                heard = heard if self._tells_unheard(undated, vocabulary) else undated
            if is_unheard and self._tells_unheard(heard, vocabulary):
                what = f"Nothing of the complaint {printable(complaint)} is read, though it names a part."
                unheard.append(Problem(where, what, "Read it yourself; what was read and seen goes into the readings."))
        return Claim(
            id=raw.id[:LONGEST_ID],
            shop=_said(raw, "shop"),
            date=when.isoformat() if when else _said(raw, "date"),
            month=f"{when:%Y-%m}" if when and when <= self.today else "",
            part=part,
            asked_for=_said(raw, "asked_for"),
            part_mark=_said(raw, "part_mark"),
            bench_outcome=self._outcome(raw, notes),
            place=place,
            report=Report(family, complaint, tuple(records), self._options(raw, family, unread), set_aside=tuple(set_aside)),
            unread=tuple(unread),
            unmatched=tuple(unmatched),
            notes=tuple(notes),
            fatal=tuple(fatal),
            remarks=tuple(_remarks(raw)),
            searched=tuple(_searched(raw, not_made)),
            unheard=tuple(unheard),
            righted=tuple(raw.righted),
            untold=tuple(p for p in unmatched if self._is_of_judged(p.message.partition(NOT_READ)[0], part)),
        )

    def _is_of_judged(self, text: str, part: str) -> bool:
        """Whether a text that is not read names the board, the *part* claimed, or what can be read or seen, or gives a figure of a reading."""
        names = [self._vocabularies[self.first].names(kind) for kind in ("point", "sign")]
        return any(_is_figure(s) or any(n.clear(s) for n in names) or not {BOARD, part}.isdisjoint(self._parts.clear(s)) for s in _may_be_names(text))

    def _tells_unheard(self, complaint: str, vocabulary: Vocabulary) -> bool:
        """Whether nothing of a *complaint* is read that names a part: "no heat" leaves nothing out."""
        if vocabulary.complaints.said_in(complaint) or vocabulary.repairs_in(complaint):
            return False
        return any(map(self._parts.clear, _may_be_names(complaint)))

    def is_ahead(self, raw: RawClaim) -> bool:
        """Whether the claim's date lies in the future."""
        when = day(raw.fields["date"].text, raw.date_order) if "date" in raw.fields else None
        return when is not None and when > self.today

    # --- fields ----------------------------------------------------------------------------

    def _family(self, raw: RawClaim, fatal: list[Problem]) -> str:
        if "furnace" not in raw.fields:
            return self.first
        try:
            return self._vocabularies[self.first].one("furnace", raw.fields["furnace"].text.strip(), _place(raw, "furnace"))
        except BadInput as bad:
            fatal.extend(bad.problems)
            return self.first

    def _part(self, raw: RawClaim, fatal: list[Problem]) -> str:
        said = _said(raw, "part")
        meant = parts_named(said, self._parts, self._words) if said else [BOARD]
        if len(meant) == 1:
            return meant[0]
        every = [BOARD, *(name for name in self._parts.ids if name != BOARD)]
        fix = f"Write one of: {', '.join(meant or self._parts.suggested(said) or every)}."
        what = f"{printable(said)} could be more than one part." if meant else f"There is no part called {printable(said)}."
        fatal.append(Problem(_place(raw, "part"), what, fix))
        return said

    def _options(self, raw: RawClaim, family: str, unread: list[Problem]) -> dict[str, str]:
        known, options = {}, self.knowledge.furnace[family].options
        for name, cell in raw.options.items():
            place, value = Place(raw.file, cell.line, cell.column), cell.text.strip()
            if name not in options:
                unread.append(Problem(place, f"This furnace has no option {printable(name)}.", f"Options: {', '.join(options)}."))
            elif value in options[name].values:
                known[name] = value
            elif value.casefold() not in self._not_taken:
                unread.append(Problem(place, f"{name} cannot be {printable(value)}.", f"Use one of: {', '.join(options[name].values)}."))
        return known

    def _day(self, raw: RawClaim, notes: list[Problem]) -> date | None:
        said = _said(raw, "date")
        found = day(said, raw.date_order)
        if said and found is None:
            notes.append(_no_day(said, raw.date_order, _place(raw, "date")))
        elif found is not None and found > self.today:
            notes.append(Problem(_place(raw, "date"), f"The date {found} lies in the future.", "Ask the shop which day it was."))
        return found

    def _outcome(self, raw: RawClaim, notes: list[Problem]) -> str:
        said = _said(raw, "bench_outcome")
        meant = self._outcomes.meant(said)
        if said and len(meant) != 1:
            notes.append(Problem(_place(raw, "bench_outcome"), f"The bench outcome {printable(said)} is not understood.", "Write bad, good or not_tested."))
        return meant[0] if len(meant) == 1 else ""

    # --- records ---------------------------------------------------------------------------

    def _record(self, written: Written, file: str, family: str) -> Record | tuple[Problem, ...] | None:
        """The record, or what is wrong with it; None where nothing was read. Remembered by its words; places are put in afterwards."""
        key = (family, *((name, cell.text) for name, cell in written.items()))
        if key in self._kept:
            self._kept.move_to_end(key)
        else:
            self._kept[key] = self._with_its_figure(written, family)
            if len(self._kept) > MOST_KEPT:
                self._kept.popitem(last=False)
        made, cells = self._kept[key], list(written.values())
        if isinstance(made, Record):
            return made.moved(Place(file, cells[0].line, cells[made.place.column - 1].column))
        if made is None:
            return None
        where = [cells[min(p.place.column if p.place else 1, len(cells)) - 1] for p in made]
        return tuple(p._replace(place=Place(file, cell.line, cell.column)) for p, cell in zip(made, where, strict=True))

    def _with_its_figure(self, written: Written, family: str) -> Record | tuple[Problem, ...] | None:
        """As `_made`; of a reading that was met before with another figure only the figure is read."""
        figure = " ".join(written["value"].text.split()) if "value" in written else ""
        if not figure[:1].isdigit() or len(figure) > LONGEST_FIGURE:
            return self._made(written, family)
        shape = (family, *((name, "" if name == "value" else cell.text) for name, cell in written.items()))
        known = with_figure(self._shapes[shape], figure, self.knowledge) if shape in self._shapes else None
        if known is not None:
            return known
        made = self._made(written, family)
        if isinstance(made, Record) and made.kind == "point" and self._is_point(written, family):
            if len(self._shapes) >= MOST_KEPT:
                self._shapes.clear()
            self._shapes[shape] = made
        return made

    def _is_point(self, written: Written, family: str) -> bool:
        """Whether what was read is told as a point, whatever its value: a sign becomes one by its value."""
        said = {name: " ".join(cell.text.split()) for name, cell in written.items()}
        kind = self._kind(said) or self.headings[family].kind_of(said["name"])[0]
        return kind == "point"

    def _made(self, written: Written, family: str) -> Record | tuple[Problem, ...] | None:
        """As `_record`, with the number of a field, from 1, in the place of a column."""
        number = {name: i + 1 for i, name in enumerate(written)}
        said = {name: of_field(name, " ".join(cell.text.split())) for name, cell in written.items() if name != FREE and cell.text.strip()}
        if said.get("value", "yes").casefold() in self._not_taken:
            return None
        at = number.get("name", 1)
        if "name" not in said:
            return (Problem(Place("", 1, at), "What was read is not told.", "Write its name, such as igniter ohms."),)
        kind, name = self._kind(said), said["name"]
        if kind is None:
            return (Problem(Place("", 1, number.get("kind", at)), f"There is no kind of record called {printable(said['kind'])}.", "Leave it empty."),)
        if kind == "" and self._is_of_repair(name, said.get("value", ""), family):
            kind = "history"
        if kind == "":
            found = self.headings[family].kind_of(name)
            if isinstance(found, str):
                return (Problem(Place("", 1, at), f"{printable(name)} is not read.", found),)
            kind = found[0]
        if kind == "event" and self._no.meant(said.get("value", "yes")):
            return None  # what did not happen is not written down
        entry = {kind: name} | {k: v for k, v in said.items() if k not in ("kind", "name")}
        document = document_of("", {"records": [_parted(entry)]}, lambda path: (1, number.get(str(path[2]), at) if len(path) > 2 else at))
        try:
            return record_at(document, 0, self._vocabularies[family])
        except BadInput as bad:
            points = self._points_of_figure(name, said.get("value", ""), family) if kind == "sign" else ""
            return tuple(p._replace(fix=f"{points}{p.fix}") for p in bad.problems)

    def _is_of_repair(self, name: str, value: str, family: str) -> bool:
        """Whether what came of a repair is told of a part whose name a sign has too. A new part alone may be the repair claimed."""
        words = self._vocabularies[family]
        of_sign = any(words.values(s).meant(value) for s in words.names("sign").meant(name))
        return not of_sign and len(words.names("history").meant(name)) == 1 and not {*words.results.meant(value)} <= {"new_part"}

    def _points_of_figure(self, name: str, value: str, family: str) -> str:
        """Where a figure belongs that was given for a sign: the points of that name with what the figure may be of."""
        if not (value[:1].isdigit() or value.strip(". ").casefold() in ("ol", "o.l")):
            return ""
        of = [word for unit, word in MEASURES.items() if value.rstrip().endswith(unit)] or list(MEASURES.values()) if value[:1].isdigit() else ["ohms"]
        points = [p for word in dict.fromkeys(of) for p in self._vocabularies[family].names("point").meant(f"{name} {word}")]
        return f"A figure belongs to {' or '.join(dict.fromkeys(points))}. " if points else ""

    @staticmethod
    def _kind(said: Mapping[str, str]) -> str | None:
        """The kind that is told, empty where none is, None where it is no kind."""
        told = said.get("kind", "").lower()
        return told if told in ("", *KINDS) else None


def _parted(entry: dict[str, str]) -> dict[str, str | list[str]]:
    """The same with the set-ups one by one."""
    return {k: _set_ups(v) if k == "set_up" else v for k, v in entry.items()}


def _set_ups(text: str) -> list[str]:
    """The set-ups that stand in a text, however they are parted; what is none of them stays together, to be told as it was written."""
    found, strange, words = list[str](), list[str](), [w for w in plain(text.replace("+", " ")).split() if w != "and"]
    while words:
        size = next((n for n in range(len(words), 0, -1) if "_".join(words[:n]) in SET_UPS), 0)
        if size:
            found.append("_".join(words[:size]))
        else:
            strange.append(words[0])
        del words[: size or 1]
    return [*found, *([" ".join(strange)] if strange else [])]


def _may_be_names(text: str) -> Iterator[str]:
    """Every row of words of *text* that is no longer than a name, the shortest first."""
    words = plain(text).split()
    return (" ".join(words[i : i + n]) for n in range(1, MOST_OF_NAME + 1) for i in range(len(words) - n + 1))


def _is_figure(text: str) -> bool:
    """Whether a text is a figure with its unit."""
    return text[:1].isdigit() and any(names_unit(text, unit) for unit in UNITS)


def _nothing_in(raw: RawClaim, place: Place) -> Problem:
    """Why a claim without a reading, complaint or free text cannot be judged: its text may stand where no heading tells of it."""
    text = next((cell for cell in raw.aside if any(c.isalpha() for c in cell.text)), None)
    if text is None:
        what = "This claim holds nothing to judge: no reading, no complaint and no text."
        return Problem(place, what, "Send what was read and seen of the furnace.")
    what = f"This claim holds text that was not read, because no heading of ours stands over it: {printable(text.text)}"
    fix = "Call its column readings or complaint, in the table or in a map of columns (--columns)."
    return Problem(Place(raw.file, text.line, text.column), f"{what.rstrip('.')}.", fix)


def _no_day(said: str, order: str, place: Place) -> Problem:
    """Why a date is set aside; the claim is judged all the same."""
    may_be = days(said)
    if not may_be:
        return Problem(place, f"{printable(said)} is not read as a date.", "Write it as 2026-01-31 or 31 Jan 2026.")
    why = f"cannot be {order.replace('_', ' ')}" if order else f"may be {' or '.join(f'{d:%B} {d.day}' for d in may_be.values())}"
    fix = f"Write it as {' or '.join(map(str, may_be.values()))}, or tell the order in the map of columns: {DATE_ORDER}: {' or '.join(ORDERS)}."
    return Problem(place, f"The date {printable(said)} {why}, so it is set aside as unsure.", fix)


def _remarks(raw: RawClaim) -> Iterator[str]:
    """What the shop wrote beside its records, each once."""
    beside = [(" ".join(w["name"].text.split()) if "name" in w else "", w["note"]) for w in raw.records if "note" in w]
    free = [("", cell) for name in SEVERAL for cell in raw.texts(name)]
    told = [f"{name}: {cell.text}" if name else cell.text for name, cell in [*beside, *free] if cell.text.strip()]
    yield from (" ".join(text.split())[:LONGEST_TEXT] for text in dict.fromkeys(told[:MOST_REMARKS]))


def _searched(raw: RawClaim, not_made: Iterable[Written]) -> Iterator[str]:
    """Every text of a claim in which a danger may stand, whole: what is not read too, but no names and dates, and no figures. *not_made*: into records."""
    fields = [cell for name, cell in raw.fields.items() if name not in NAMES_ONLY]
    notes = [w["note"] for w in raw.records if "note" in w]
    values = [w["value"] for w in not_made if "value" in w]
    cells = (*fields, *raw.options.values(), *(cell for _, cell in raw.more), *notes, *values, *raw.aside)
    yield from dict.fromkeys(cell.text for cell in cells if any(c.isalpha() for c in cell.text))


def _place(raw: RawClaim, name: str) -> Place:
    cell = raw.fields.get(name)
    return Place(raw.file, cell.line, cell.column) if cell else Place(raw.file, raw.line, 1)


def _said(raw: RawClaim, name: str) -> str:
    return " ".join(raw.fields[name].text.split())[:LONGEST_TEXT] if name in raw.fields else ""
