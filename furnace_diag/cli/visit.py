"""furnace-diag visit: a service visit at a prompt, from the complaint to the closed record."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from furnace_diag.cli.common import encodable, family_and_population, rules_of, rules_option

if TYPE_CHECKING:
    from furnace_diag.cli.asking import Asker
    from furnace_diag.knowledge.models import Knowledge
    from furnace_diag.visit.journal import Journal

HELP = (
    "\b\nExamples:\n  furnace-diag visit\n  furnace-diag visit --resume\n  furnace-diag visit --file smith.jsonl --plain\n  furnace-diag visit verify FILE\n\n"
    "Every entry is on the disk before the next prompt. Ctrl-C gives up a line, quit leaves, --resume goes on."
)


@click.group("visit", invoke_without_command=True, epilog=HELP.replace("smith", "monday"))
@click.option("--file", "file", type=click.Path(path_type=Path, dir_okay=False), help="Where to keep the visit; a new name in your visits folder if left out.")
@click.option("--resume", is_flag=True, help="Go on with the visit in --file, or with the last one that is not closed.")
@click.option("--plain", is_flag=True, help="Plain lines, nothing redrawn: for screen readers and simple terminals.")
@rules_option
@click.pass_context
def command(ctx: click.Context, file: Path | None, resume: bool, plain: bool, folders: tuple[Path, ...]) -> None:
    """A service visit at a prompt: what to read next, what it means, and what is proved."""
    if ctx.invoked_subcommand is None:
        _visit(file, resume=resume, plain=plain, folders=folders)


@command.command("verify", epilog="\b\nExample:\n  furnace-diag visit verify monday.jsonl")
@click.argument("file", type=click.Path(path_type=Path))
def verify(file: Path) -> None:
    """Show whether lines of a visit FILE were edited or taken out."""
    from textwrap import fill

    from furnace_diag.cli.main import width
    from furnace_diag.problems import BadInput
    from furnace_diag.visit.journal import journal_problems, read_journal

    problems = journal_problems(file)
    if problems:
        raise BadInput(problems)
    events, last = read_journal(file)
    click.echo(f"{len(events)} lines, each as it was written.\nLast hash: {last}")
    warning = "Whoever writes the whole file anew can make all hashes fit: compare the last hash with the one on the printed report."
    click.echo(fill(warning, width()))


def visits_folder() -> Path:
    """Where visits are kept when no file is named."""
    import os

    named = os.environ.get("FURNACE_DIAG_VISITS")
    if named:
        return Path(named)
    from platformdirs import user_data_path

    return user_data_path("furnace_diag", appauthor=False) / "visits"


def _visit(file: Path | None, *, resume: bool, plain: bool, folders: tuple[Path, ...]) -> None:
    knowledge = rules_of(folders)
    from furnace_diag.cli.asking import asker
    from furnace_diag.cli.main import width
    from furnace_diag.problems import printable

    asking = asker(lambda: desk.words(), plain=plain)
    picked = None if resume else _family(knowledge, asking)
    if not resume and picked is None:
        return  # nobody is there, and nothing was begun
    journal = _opened(file, resume=resume)
    try:
        family = picked or str(journal.events[0].says.get("family", ""))
        from furnace_diag.cli.visit_desk import Desk
        from furnace_diag.diagnosis.evidence import Evidence
        from furnace_diag.visit.session import Session, refuse_unknown_family

        refuse_unknown_family(family, knowledge, journal.path)
        evidence = Evidence(*family_and_population(knowledge, family))
        session = Session(knowledge, evidence, journal, family)
        desk: Desk
        desk = Desk(session, asking, width)
        click.echo(encodable(f"Visit kept in {printable(str(journal.path), 200)}"))
        desk.prompt.say("Live parts, gas and hot metal can kill: work as your licence and local codes allow. ? shows help.")
        desk.run()
    finally:
        journal.close()


def _family(knowledge: Knowledge, asking: Asker) -> str | None:
    """The furnace family: the only one, or the one that is picked; that of the last visit is offered first. None at the end of input."""
    families = list(knowledge.furnace)
    last = _last_family(visits_folder())
    if last in families:
        families.remove(last)
        families.insert(0, last)
    if len(families) == 1:
        return families[0]
    click.echo("Which furnace is it?")
    for number, name in enumerate(families, 1):
        click.echo(encodable(f" {number}. {knowledge.furnace[name].says}"))
    while True:
        line = asking.ask("Number (Enter: 1) ")
        if line is None:
            return None
        said = line.strip() or "1"
        if said.isdigit() and 0 < int(said) <= len(families):
            return families[int(said) - 1]
        click.echo(f"Type a number from 1 to {len(families)}.")


def _last_family(folder: Path) -> str:
    """The furnace of the newest visit, or nothing."""
    from furnace_diag.problems import BadInput
    from furnace_diag.visit.journal import read_journal

    for path in sorted(folder.glob("visit-*.jsonl"), reverse=True)[:3]:
        try:
            return str(read_journal(path)[0][0].says.get("family", ""))
        except BadInput:
            continue
    return ""


def _opened(file: Path | None, *, resume: bool) -> Journal:
    """The journal to write in. Raises BadInput."""
    from datetime import datetime

    from furnace_diag.problems import BadInput, Problem, printable
    from furnace_diag.visit.journal import Journal

    if not resume:
        if file is None:
            folder = visits_folder()
            folder.mkdir(parents=True, exist_ok=True)
            file = folder / f"visit-{datetime.now():%Y-%m-%d-%H%M%S}.jsonl"
        return Journal(file, new=True)
    journal = Journal(file, new=False) if file is not None else _last_open(visits_folder())
    if any(e.event == "drill" for e in journal.events[:2]):
        journal.close()
        said = f"{printable(str(journal.path))} is the record of a drill."
        raise BadInput([Problem(None, said, "furnace-diag drill LESSON --record FILE goes on with it.")])
    if any(e.event == "closed" for e in journal.events):
        journal.close()
        raise BadInput([Problem(None, f"The visit {printable(str(journal.path))} is closed.", "furnace-diag report shows it; start a new visit to go on.")])
    return journal


def _last_open(folder: Path) -> Journal:
    """The newest visit in which anything was entered, and that is neither closed nor open in another window. Raises BadInput where there is none."""
    from textwrap import fill

    from furnace_diag.cli.main import width
    from furnace_diag.problems import BadInput, Problem, printable
    from furnace_diag.visit.journal import InUse, Journal, read_journal

    in_use: InUse | None = None
    for path in sorted(folder.glob("visit-*.jsonl"), reverse=True)[:50]:
        try:
            events, _ = read_journal(path)
            if len(events) > 1 and not any(e.event == "closed" for e in events):
                journal = Journal(path, new=False)
                if in_use is not None:
                    click.echo(encodable(fill(f"{in_use.problems[0].message} Going on with the one before it.", width(), break_long_words=False)))
                return journal
        except InUse as held:
            in_use = in_use or held
        except BadInput:
            continue
    fix = "Start one with furnace-diag visit, or name it with --file."
    raise in_use or BadInput([Problem(None, f"There is no open visit in {printable(str(folder))}.", fix)])
