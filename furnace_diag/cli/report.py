"""furnace-diag report: what a visit's journal tells, on a screen, as a page or as JSON."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

import click

from furnace_diag.cli.common import encodable, family_and_population, print_json, rules_of, rules_option

LOOKED_AT = 65_536  # [bytes] of a file's start
OTHER_FILES = {  # what else a file may be and the command that reads it: how its start looks
    ("a lesson", "scenario check {file}"): r"(?m)^hidden\s*:",
    ("a report", "rank {file}"): r"""(?m)^(records|complaint|furnace)\s*:|\A\s*\{\s*["']?(records|complaint|furnace)["']?\s*:(?![\s\S]*\n\{)""",
}

if TYPE_CHECKING:
    from furnace_diag.visit.summary import Summary

MANY_EVENTS = 100  # of a visit that takes more than a second to weigh


@click.command(
    "report",
    epilog="\b\nExamples:\n  furnace-diag report monday.jsonl\n  furnace-diag report monday.jsonl --html -o monday.html\n"
    "  furnace-diag report monday.jsonl --customer --html -o customer.html\n\nNothing else than the file of the visit is needed.",
)
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--text", "form", flag_value="text", default="text", help="Plain lines (what it does if you name none).")
@click.option("--html", "form", flag_value="html", help="One page for a screen, a phone or paper.")
@click.option("--json", "form", flag_value="json", help="Print JSON for machines.")
@click.option("--customer", is_flag=True, help="The short form for the customer, in plain words.")
@click.option("-o", "out", type=click.Path(path_type=Path, dir_okay=False), metavar="OUT", help="Write it to this file.")
@rules_option
def command(file: Path, form: str, customer: bool, out: Path | None, folders: tuple[Path, ...]) -> None:
    """Report the visit in FILE: records against what was expected, belief, proof, repair, checks."""
    from furnace_diag.visit.kind import is_journal

    if out is not None and is_journal(out):
        from furnace_diag.problems import BadInput, Problem, printable

        raise BadInput([Problem(None, f"{printable(str(out))} is the file of a visit and is not written over.", "Name another file after -o.")])
    summary = _summary(file, folders)
    if form == "json":
        _json(summary, customer=customer, out=out)
    elif form == "html":
        _put(_page(summary, customer=customer), out)
    else:
        _put("\n".join(_lines(summary, customer=customer)) + "\n", out)


def _summary(file: Path, folders: tuple[Path, ...]) -> Summary:
    from furnace_diag.visit.journal import read_journal
    from furnace_diag.visit.session import refuse_unknown_family

    _refuse_other_files(file)
    knowledge = rules_of(folders)
    events, _ = read_journal(file)
    family = str(events[0].says.get("family", ""))
    refuse_unknown_family(family, knowledge, file)
    if len(events) > MANY_EVENTS:
        click.echo(f"Weighing {len(events)} entries; this takes some seconds.", err=True)
    from furnace_diag.diagnosis.evidence import Evidence
    from furnace_diag.visit.summary import summary_of

    return summary_of(file, Evidence(*family_and_population(knowledge, family)))


def _refuse_other_files(file: Path) -> None:
    """Raises BadInput for a file of another kind, with the command that reads it."""
    from furnace_diag.problems import BadInput, Place, Problem, printable

    try:
        with file.open("rb") as stream:
            start = stream.read(LOOKED_AT).decode("utf-8", "replace")
    except OSError:
        return  # told by whoever reads it
    name, kind = printable(str(file), 200), next((k for k, looks in OTHER_FILES.items() if re.search(looks, start)), None)
    if kind is not None:
        what, command = kind
        said = f"This is {what}, not the file that furnace-diag visit writes."
        raise BadInput([Problem(Place(str(file), 1, 1), said, f"Use furnace-diag {command.format(file=name)}.")])


def _json(summary: Summary, *, customer: bool, out: Path | None) -> None:
    from furnace_diag.report.visit_customer import customer_form
    from furnace_diag.visit.summary import as_json

    value = dict(customer_form(summary)) if customer else as_json(summary)
    if out is None:
        print_json(value)
        return
    import json

    _put(json.dumps(value, indent=1, ensure_ascii=True) + "\n", out)


def _page(summary: Summary, *, customer: bool) -> str:
    from furnace_diag.report.visit_customer import customer_form
    from furnace_diag.report.visit_page import form_page, page_of

    return form_page(customer_form(summary)) if customer else page_of(summary)


def _lines(summary: Summary, *, customer: bool) -> list[str]:
    from furnace_diag.cli.main import width
    from furnace_diag.report.visit_customer import customer_form
    from furnace_diag.report.visit_text import form_lines, report_lines

    return list(form_lines(customer_form(summary), width()) if customer else report_lines(summary, width()))


def _put(text: str, out: Path | None) -> None:
    if out is None:
        click.echo(encodable(text), nl=False)
    else:
        out.write_text(text, encoding="utf-8")
