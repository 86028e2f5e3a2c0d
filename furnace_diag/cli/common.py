"""What several commands share: options, the rules, progress."""

from __future__ import annotations

import gc
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

import click

if TYPE_CHECKING:
    from furnace_diag.diagnosis.records import Report
    from furnace_diag.furnace.built import Population, Progress
    from furnace_diag.furnace.family import Family
    from furnace_diag.knowledge.models import Knowledge, Words

F = TypeVar("F", bound=Callable[..., object])

rules_option = click.option(
    "--rules", "folders", multiple=True, type=click.Path(path_type=Path), metavar="DIR", help="A folder of a shop's own rule files; may be given again."
)
SAYS_NO = frozenset(["n", "no", "nope", "nah", "none", "nothing", "nobody", "not at all", "no not at all"])
SAYS_YES = frozenset(["y", "yes", "yep", "yeah", "yup", "yea", "ya"])
json_option = click.option("--json", "as_json", is_flag=True, help="Print JSON for machines.")


def rules_of(folders: tuple[Path, ...]) -> Knowledge:
    """The rules, from the store where nothing changed."""
    from furnace_diag.furnace.store import default_folder
    from furnace_diag.knowledge.kept import kept_rules

    return kept_rules(default_folder(), folders)


def family_and_population(knowledge: Knowledge, name: str) -> tuple[Family, Population]:
    """The furnace family and its population; building one shows progress on standard error."""
    from furnace_diag.furnace.family import Family
    from furnace_diag.furnace.store import population_for

    family = Family(knowledge, name)
    population = population_for(family, tell=progress_of("Building the furnaces, once"))
    gc.freeze()  # rules and furnaces stay to the end: nobody need look for garbage among them while somebody waits at the prompt
    return family, population


def report_at(path: Path, knowledge: Knowledge) -> Report:
    """The report in a file, or what the journal of a visit tells of the fault. Raises BadInput."""
    from furnace_diag.visit.kind import is_journal

    if is_journal(path):
        from furnace_diag.visit.session import report_of_journal

        return report_of_journal(path, knowledge)
    from furnace_diag.diagnosis.report_file import read_report

    return read_report(path, knowledge)


def instruments(text: str, words: Words) -> tuple[str, ...]:
    """The instruments named in *text*, commas between. Raises BadInput for one that the rules do not know."""
    from furnace_diag.problems import BadInput, Problem, printable

    named = tuple(t.strip().lower().replace(" ", "_") for t in text.split(",") if t.strip())
    for name in named:
        if name not in words.instruments:
            raise BadInput([Problem(None, f"There is no instrument called {printable(name)}.", f"Use any of: {', '.join(words.instruments)}.")])
    return named


def progress_of(title: str) -> Progress:
    """What hears progress and tells it on standard error, after *title*."""

    def tell(share: float, what: str) -> None:
        line = f"{title}: {share:4.0%} {what}"
        if sys.stderr.isatty():
            click.echo(f"\r{line[:39]:<39}" + ("\n" if share >= 1 else ""), nl=False, err=True)
        elif share in (0.0, 1.0):
            click.echo(line, err=True)

    return tell


def print_json(value: object) -> None:
    """JSON on standard output; characters outside ASCII are escaped, so no terminal obeys them."""
    import json

    click.echo(json.dumps(value, indent=1, ensure_ascii=True))


def encodable(text: str) -> str:
    """*text* in what standard output can hold."""
    encoding = getattr(sys.stdout, "encoding", None) or "ascii"
    return text.encode(encoding, "replace").decode(encoding)
