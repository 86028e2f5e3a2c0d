"""furnace-diag claims: the clerk's desk."""

from __future__ import annotations

import os
import sys
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from furnace_diag.cli.common import encodable, family_and_population, json_option, print_json, rules_of, rules_option

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date

    from furnace_diag.claims.run import Progress, Summary
    from furnace_diag.knowledge.models import Knowledge

PAGE = "page.html"
FIRST_TOLD = 100  # claims done before the time left is told
STOPPED = 130  # the usual status of a command that was stopped by hand
in_option = click.option("--in", "folder", type=click.Path(path_type=Path), required=True, metavar="DIR", help="The folder that claims judge wrote.")
workers_option = click.option("--workers", type=click.IntRange(1, 256), metavar="N", help="Cores to use; all of them if left out.")


@click.group("claims", epilog="\b\nExamples:\n  furnace-diag claims template > claims.csv\n  furnace-diag claims judge claims.csv --out judged")
def command() -> None:
    """Judge warranty claims by what their records show."""


@command.command("template", epilog="\b\nExamples:\n  furnace-diag claims template > claims.csv\n  furnace-diag claims template --wide > claims.csv")
@click.option("--wide", is_flag=True, help="A row for each claim, with a column for each reading.")
@click.option("--yaml", "as_yaml", is_flag=True, help="YAML instead of a table.")
@rules_option
def template(wide: bool, as_yaml: bool, folders: tuple[Path, ...]) -> None:
    """Write an empty form, with a line on every column."""
    from furnace_diag.claims.template import template as form

    if wide and as_yaml:
        raise click.UsageError("Ask for --wide or for --yaml, not for both.")
    shape = "yaml" if as_yaml else "claims" if wide else "records"
    click.echo(form(shape, next(iter(rules_of(folders).furnace))), nl=False)


@command.command(
    "judge",
    epilog="\b\nExamples:\n  furnace-diag claims judge claims.csv --out judged\n  furnace-diag claims judge *.csv --out judged --columns ours.yaml\n"
    "  furnace-diag claims judge claims.csv --out new --again judged\n\n"
    "Takes tables (a row for each record, or for each claim), YAML, JSON Lines and visit journals. A stopped run goes on when it is started again. "
    "Claims that cannot be read are set aside and counted at the end. The status is 2 where nothing could be judged or a file gives no claim; "
    "the others are judged all the same.",
)
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("--out", type=click.Path(path_type=Path, file_okay=False), required=True, metavar="DIR", help="The folder for results.")
@click.option("--columns", type=click.Path(path_type=Path), metavar="FILE", help="YAML lines of their heading: ours (or ignore).")
@click.option("--again", type=click.Path(path_type=Path), metavar="OLD", help="Earlier results; tell what changed since, and why.")
@workers_option
@click.option("--today", type=click.DateTime(["%Y-%m-%d"]), help="The day from which dates lie in the future; this day if left out.")
@json_option
@rules_option
def judge(
    files: tuple[Path, ...],
    out: Path,
    columns: Path | None,
    again: Path | None,
    workers: int | None,
    today: datetime | None,
    as_json: bool,
    folders: tuple[Path, ...],
) -> None:
    """Judge the claims in FILES by their records."""
    knowledge = rules_of(folders)
    theirs = {}
    if columns is not None:
        from furnace_diag.claims.headings import Headings, read_column_map
        from furnace_diag.diagnosis.vocabulary import Vocabulary

        theirs = read_column_map(columns, Headings(Vocabulary(knowledge)))
    from furnace_diag.claims.again import changes

    _refuse_mixing(out, again)
    summary = _run(knowledge, files, out, folders, theirs, (today or datetime.now()).date(), workers)
    if as_json:
        from dataclasses import asdict

        told = {k: v for k, v in asdict(summary).items() if k not in ("seconds", "problems")} | {"problems": [str(p) for p in summary.problems]}
        print_json(told | ({"changes": [asdict(c) for c in changes(again, out) if c is not None]} if again else {}))
        _end(summary)
    from furnace_diag.cli.main import width
    from furnace_diag.report.claims_screen import change_lines, summary_lines

    _print(summary_lines(summary, str(out), width()))
    if again is not None:
        click.echo()
        _print(change_lines(changes(again, out), width()))
    _end(summary)


def _end(summary: Summary) -> None:
    """End with status 2 where nothing could be judged, or a file gave no claim at all: somebody means it to be judged, and it was not.

    What was set aside is told last, so that a run that ends well does not hide it.
    """
    from furnace_diag.report.claims_screen import counted

    aside, files = summary.verdicts["unreadable"], len(summary.without)
    if aside or files:
        told = [f"{aside:,} of {counted(summary.claims, 'claim')} could not be judged"] if aside else []
        told += [f"{counted(files, 'file')} gave no claim"] if files else []
        click.echo(f"{'; '.join(told)}. See problems.txt.", err=True)
    raise SystemExit(2 if files or aside == summary.claims else 0)


@command.command("show", epilog="\b\nExample:\n  furnace-diag claims show C-104 --in judged")
@click.argument("claim")
@in_option
@json_option
def show(claim: str, folder: Path, as_json: bool) -> None:
    """Tell the verdict on one CLAIM with all its reasons."""
    from furnace_diag.claims.again import found

    results = found(folder, claim)
    if as_json:
        print_json(results if len(results) > 1 else results[0])
        return
    from furnace_diag.cli.main import width
    from furnace_diag.report.claims_screen import claim_lines

    for result in results:
        _print([*claim_lines(result, width()), ""])


@command.command("ask", epilog="\b\nExample:\n  furnace-diag claims ask C-104 --in judged > letter.txt")
@click.argument("claim")
@in_option
@rules_option
def ask(claim: str, folder: Path, folders: tuple[Path, ...]) -> None:
    """Write the letter that asks the shop for the readings a CLAIM lacks."""
    from furnace_diag.claims.again import one_found
    from furnace_diag.claims.asking import letter_of
    from furnace_diag.cli.main import width
    from furnace_diag.report.claims_screen import letter_lines

    result = one_found(folder, claim)
    knowledge = rules_of(folders)
    letter = letter_of(result, knowledge, lambda name: family_and_population(knowledge, name))
    _print([*letter_lines(result, letter, width()), ""])


@command.command("demo", epilog="\b\nExample:\n  furnace-diag claims demo --out demo --claims 500")
@click.option("--out", type=click.Path(path_type=Path, file_okay=False), required=True, metavar="DIR", help="The folder for claims and results.")
@click.option("--claims", "count", type=click.IntRange(1, 1_000_000), default=500, show_default=True, help="How many.")
@click.option("--seed", type=click.IntRange(0, 2**31 - 1), default=1, show_default=True, help="Another seed makes other claims.")
@workers_option
@rules_option
def demo(out: Path, count: int, seed: int, workers: int | None, folders: tuple[Path, ...]) -> None:
    """Make claims of invented shops from virtual furnaces and judge them."""
    from datetime import date

    from furnace_diag.claims.demo import world_in_words, write_demo
    from furnace_diag.cli.main import width
    from furnace_diag.furnace.family import Family
    from furnace_diag.report.claims_screen import own_world_lines, summary_lines

    knowledge = rules_of(folders)
    out.mkdir(parents=True, exist_ok=True)
    write_demo(Family(knowledge, next(iter(knowledge.furnace))), out / "claims.csv", count, seed)
    summary = _run(knowledge, (out / "claims.csv",), out, folders, {}, date(2024, 1, 1), workers)
    _print(summary_lines(summary, str(out), width()))
    _print(own_world_lines(world_in_words(), width()))


def _run(
    knowledge: Knowledge, files: tuple[Path, ...], out: Path, folders: tuple[Path, ...], theirs: dict[str, str], today: date, workers: int | None
) -> Summary:
    from furnace_diag.claims.again import results_in
    from furnace_diag.claims.run import Task, run
    from furnace_diag.report.claims_page import page

    for name in knowledge.furnace:
        family_and_population(knowledge, name)  # built once, before many cores ask for it
    try:
        summary = run(Task(files, out, folders, theirs, today, workers or _cores()), knowledge, _progress())
    except KeyboardInterrupt:
        click.echo("\nStopped. What is judged is kept: the same command goes on from there.", err=True)
        raise SystemExit(STOPPED) from None
    part = out / f"{PAGE}.part"
    with part.open("w", encoding="utf-8", newline="\n") as file:
        file.writelines(page(summary, results_in(out)))
    part.replace(out / PAGE)
    return summary


def _cores() -> int:
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def _refuse_mixing(out: Path, again: Path | None) -> None:
    if again is not None and again.resolve() in (out.resolve(), (out / "results.jsonl").resolve()):
        from furnace_diag.problems import BadInput, Problem

        raise BadInput([Problem(None, "The earlier results would be written over before they are compared.", "Give another folder to --out.")])


def _progress() -> Progress:
    """Tells how many are judged and the time left: again and again on a terminal, by tenths elsewhere."""
    told = [-1]

    def tell(done: int, total: int, left: float) -> None:
        share = 1000 * done // max(total, 1) if sys.stderr.isatty() else 10 * done // max(total, 1)
        if share == told[0] or done < min(FIRST_TOLD, total):  # the first ones take far longer than the rest
            return
        told[0] = share
        line = f"{done:,} of {total:,} claim{'s' * (total != 1)}, {int(left) // 60}:{int(left) % 60:02} left"
        if sys.stderr.isatty():
            click.echo(f"\r{line[:39]:<39}" + ("\n" if done >= total else ""), nl=False, err=True)
        elif total >= 1000:
            click.echo(line, err=True)

    return tell


def _print(lines: Iterable[str]) -> None:
    for line in lines:
        click.echo(encodable(line))
