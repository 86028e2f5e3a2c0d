"""A visit's report as lines for a terminal or a plain file, of any width from 40 columns on, without colour."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby

from furnace_diag.diagnosis.findings import Found, Need
from furnace_diag.problems import printable
from furnace_diag.report import visit_words as say
from furnace_diag.report.visit_screen import stop_lines
from furnace_diag.report.visit_words import filled
from furnace_diag.visit.summary import RepairTold, Summary, ToldRecord

SHOWN_FROM = 0.02  # parts believed less are counted together
MOST_SHOWN = 6


def report_lines(s: Summary, width: int) -> Iterator[str]:
    """The whole report, line by line."""
    yield from _titled("Report of a visit", [*_head(s, width)], width, first=True)
    yield from stop_lines(s.hazards, width)
    yield from _titled("Found and put right", [line for text in s.put_right for line in filled(text, width, "  ", "")], width)
    yield from _titled("Result", [line for text in (*say.result_of(s), say.board_of(s)) for line in filled(text, width, "  ", "")], width)
    yield from _titled("Safety questions", [line for a in s.safety for line in filled(f"{a.asks} {say.answer_of(a)}", width, "  ", "")], width)
    yield from _titled("What happened before", [line for r in s.before for line in _record(r, width)], width)
    yield from _titled("Records, in the order of the heat call", [*_by_step(s.records, width)], width)
    yield from _titled("Belief after each entry, as they were typed", [*_belief(s, width)], width)
    yield from _titled("Proof", [*_proof(s, width)], width)
    yield from _titled("What killed the board", [*_killers(s, width)], width)
    for repair in s.repairs:
        yield from _titled("Repair", [*_repair(repair, width)], width)
    yield from _titled("What else the records show", [*_findings(s, width)], width)
    yield from _titled("Notes", [line for at, text in s.notes for line in _noted(at, text, width)], width)
    yield from _titled("Cautions that went with it", [line for c in s.cautions for line in filled(c, width, "  ", "- ")], width)
    yield from _titled("Sources", [line for source, names in say.sources_of(s) for line in filled(f"{source}: {names}", width, "  ", "- ")], width)
    yield from _titled("The file", [line for text in (*say.file_of(s), f"Last hash: {s.last_hash}", say.HASH) for line in filled(text, width)], width)
    yield ""
    yield from filled(say.SAFETY, width)


def form_lines(form: Sequence[tuple[str, Sequence[str]]], width: int) -> Iterator[str]:
    """A short form of titled sentences."""
    for number, (title, sentences) in enumerate(form):
        yield from _titled(title, [line for text in sentences for line in filled(text, width, "  ", "- ")], width, first=not number)


def _titled(title: str, lines: Sequence[str], width: int, *, first: bool = False) -> Iterator[str]:
    if lines:
        yield from () if first else ("",)
        yield from filled(title.upper(), width)
        yield from lines


def _head(s: Summary, width: int) -> Iterator[str]:
    yield from filled(say.DRILL, width) if s.drill else ()
    yield from filled(f"{printable(s.file, 200)}, begun {say.when(s.opened)}", width)
    yield from filled(f"Furnace: {s.furnace_says}", width, "  ", "")
    for name, value in s.options.items():
        yield from filled(f"{say.words(name)}: {say.words(printable(value))}", width, "    ", "  ")
    yield from filled(f"Complaint: {printable(s.complaint, say.LONGEST) or 'none told'}", width, "  ", "")


def _record(r: ToldRecord, width: int) -> Iterator[str]:
    how = say.how_taken(r)
    yield from filled(f"{r.says}: {say.value_of(r, ascii=True)}{f' ({how})' if how else ''}", width, "      ", f"{r.entry:>4}. ")
    expected = say.expected_of(r, ascii=True)
    if expected:
        yield from filled(expected, width, "      ")


def _by_step(records: Iterable[ToldRecord], width: int) -> Iterator[str]:
    for step, group in groupby(records, say.step_of):
        yield from filled(f"At {step}" if not step.startswith("the") else f"Of {step}", width)
        for r in group:
            yield from _record(r, width)


def _belief(s: Summary, width: int) -> Iterator[str]:
    yield from filled(say.ODDS, width)
    for entries, said in say.beliefs_of(s):
        yield from filled(said, width, "      ", f"  {entries}: ")
    yield "In the end:"
    shown = [p for p in s.parts if p.probability >= SHOWN_FROM][:MOST_SHOWN]
    for p in shown:
        yield from filled(say.words(p.part), width, "       ", f"  {p.probability:4.0%} ")
    rest = max(1 - s.something_else - sum(p.probability for p in shown), 0)
    yield from filled(f"something else, {rest:.0%} all other parts", width, "       ", f"  {s.something_else:4.0%} ")


def _needs(needs: Iterable[Need], width: int) -> Iterator[str]:
    for need in needs:
        mark, text = say.need_of(need)
        yield from filled(text, width, "      ", f"  {mark} ")


def _proof(s: Summary, width: int) -> Iterator[str]:
    yield from filled(say.board_of(s), width)
    for proof in s.board.proved or ((s.board.nearest,) if s.board.nearest else ()):
        yield from filled(f"{proof.says} ({proof.at})", width, "  ")
        yield from _needs(proof.needs, width)
        if proof.grade == "proved":
            yield from filled(f"Because: {proof.because}", width, "  ")


def _killers(s: Summary, width: int) -> Iterator[str]:
    for mark, text in say.killers_of(s):
        yield from filled(f"{mark}: {text}", width, "    ", "  - ")


def _repair(repair: RepairTold, width: int) -> Iterator[str]:
    yield from filled(say.repair_of(repair), width, "  ", "")
    if repair.before:
        yield from filled("Before its first step:", width)
        yield from _needs(repair.before, width)
    yield from filled(f"After it: {say.repair_result(repair)}", width)
    yield from _needs(repair.needs, width)
    if repair.records:
        yield from filled("Records after it:", width)
        yield from _by_step(repair.records, width)


def _findings(s: Summary, width: int) -> Iterator[str]:
    for title, found in (("Mind", s.doubts), ("Cause", s.root_causes), ("Cleared", s.exonerations), ("Advice", s.advice)):
        for one in found:
            yield from _found(title, one, width)


def _found(title: str, one: Found, width: int) -> Iterator[str]:
    yield from filled(f"{title}: {one.says}", width, "  ", "")
    yield from filled(f"(because of {say.as_words(printable('; '.join(one.because), 300))}; {one.at})", width, "  ")


def _noted(at: str, text: str, width: int) -> Iterator[str]:
    yield from filled(f"{say.when(at)}: {printable(text, say.LONGEST)}", width, "  ", "- ")
