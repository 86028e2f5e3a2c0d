"""furnace-diag scenario: lessons made, checked and explained to the instructor."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from furnace_diag.cli.common import encodable, family_and_population, instruments, json_option, print_json, rules_of, rules_option

if TYPE_CHECKING:
    from furnace_diag.diagnosis.evidence import Evidence
    from furnace_diag.knowledge.models import Knowledge


@click.group("scenario", epilog="\b\nExample:\n  furnace-diag scenario check cases/lessons/*.yaml")
def command() -> None:
    """Make lessons for drills, check them, print the instructor's page."""


def _evidence(knowledge: Knowledge) -> Evidence:
    from furnace_diag.diagnosis.evidence import Evidence

    return Evidence(*family_and_population(knowledge, next(iter(knowledge.furnace))))


def _width() -> int:
    from furnace_diag.cli.main import width

    return width()


@command.command(
    "check",
    epilog="\b\nExamples:\n  furnace-diag scenario check cases/lessons/*.yaml\n  furnace-diag scenario check my.yaml --without manometer",
)
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("--without", metavar="TOOLS", default="", help="Check without these, with commas between: manometer, clamp, ...")
@json_option
@rules_option
def check_command(files: tuple[Path, ...], without: str, as_json: bool, folders: tuple[Path, ...]) -> None:
    """Say of lesson FILES whether the fault shows, what it looks like, and how hard it is.

    Status 2 if a lesson shows nothing or cannot be read, or what the customer tells is not borne out.
    """
    from furnace_diag.problems import BadInput, Problem
    from furnace_diag.report.training import check_lines
    from furnace_diag.training.lesson import Lesson, read_lesson
    from furnace_diag.training.policy import check

    knowledge = rules_of(folders)
    lessons, problems = list[Lesson](), list[Problem]()
    for file in files:
        try:
            lessons.append(read_lesson(file, knowledge))
        except BadInput as bad:  # told at the end, once the others are checked
            problems += bad.problems
    if not lessons:
        raise BadInput(problems)
    evidence = _evidence(knowledge)
    results = []
    for lesson in lessons:
        result = check(evidence, lesson, instruments(without, evidence.words))
        results.append(result)
        if not as_json:
            for line in check_lines(result, _width()):
                click.echo(encodable(line))
    if as_json:
        print_json([
            {"file": r.lesson.file, "shows": r.shows, "denied": r.denied, "readings": r.visit.readings, "minutes": r.visit.minutes, "ended": r.visit.ended,
             "right": r.right, "not_told_apart": r.apart, "tempting": r.visit.tempting, "difficulty": r.difficulty, "made_of": r.made_of,
             "answer_tells_nothing": r.tells_nothing}
            for r in results
        ])  # fmt: skip
    if problems:
        raise BadInput(problems)
    if any(not r.shows or r.denied for r in results):
        raise SystemExit(2)


@command.command("sheet", epilog="\b\nExample:\n  furnace-diag scenario sheet cases/lessons/cold_monday.yaml")
@click.argument("file", type=click.Path(path_type=Path))
@rules_option
def sheet(file: Path, folders: tuple[Path, ...]) -> None:
    """Print one page for the instructor: the shortest proof, the tempting wrong turn, talking points."""
    from furnace_diag.report.training import sheet_lines
    from furnace_diag.training.lesson import read_lesson
    from furnace_diag.training.policy import check, once_mended, shortest_proof

    knowledge = rules_of(folders)
    lesson = read_lesson(file, knowledge)
    evidence = _evidence(knowledge)
    checked = check(evidence, lesson)
    left = once_mended(checked)
    after = check(evidence, left) if left is not None else None
    then = None if after is None else (after, shortest_proof(evidence, after.lesson, after.visit))
    for line in sheet_lines(checked, shortest_proof(evidence, lesson, checked.visit), knowledge, _width(), then):
        click.echo(encodable(line))


@command.command(
    "new",
    epilog='\b\nExamples:\n  furnace-diag scenario new my.yaml\n  furnace-diag scenario new my.yaml --fault igniter:open \\\n    --complaint "no heat"',
)
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--fault", "faults", multiple=True, metavar="PART:FAILURE", help="What is hidden; may be given twice.")
@click.option("--complaint", metavar="TEXT", help="What the customer says.")
@click.option("--option", "options", multiple=True, metavar="NAME=VALUE", help="What is known of the furnace; may be given again.")
@click.option("--severity", type=click.FloatRange(0, 1), default=0.5, show_default=True, help="0 for the mildest, 1 for the worst.")
@click.option("--calls", metavar="1,3", default="", help="The heat calls in which it is there; all, if left out.")
@rules_option
def new(file: Path, faults: tuple[str, ...], complaint: str | None, options: tuple[str, ...], severity: float, calls: str, folders: tuple[Path, ...]) -> None:
    """Write a new lesson to FILE; what is not given is asked for."""
    from furnace_diag.furnace.family import Family
    from furnace_diag.training.write import Draft, text_of, write_new

    knowledge = rules_of(folders)
    family = Family(knowledge, next(iter(knowledge.furnace)))
    named = [*faults] or [click.prompt("What is wrong, as part:failure (furnace-diag explain PART lists a part's)", err=True)]
    said = complaint if complaint is not None else click.prompt("What does the customer say", err=True)
    draft = Draft(said, [n.strip() for n in named], _pairs(options), severity=severity, calls=_numbers(calls))
    write_new(file, text_of(draft, family), knowledge)
    click.echo(encodable(f"Written: {file}. Try it: furnace-diag scenario check {file}"))


def _pairs(texts: tuple[str, ...]) -> dict[str, str]:
    for text in texts:
        if "=" not in text:
            raise click.UsageError("Write an option as NAME=VALUE.")
    return {name.strip(): value.strip() for name, _, value in (text.partition("=") for text in texts)}


def _numbers(text: str) -> list[int]:
    try:
        return [int(n) for n in text.split(",") if n.strip()]
    except ValueError:
        raise click.UsageError("Write calls as numbers with commas between, such as 1,3.") from None


@command.command(
    "random",
    epilog="\b\nExamples:\n  furnace-diag scenario random blind.yaml --seed 7\n  furnace-diag scenario random --subsystem draft",
)
@click.argument("file", required=False, type=click.Path(path_type=Path))
@click.option("--subsystem", metavar="NAME", help="Only the parts of one file of rules/parts, such as draft.")
@click.option("--seed", type=click.IntRange(0), default=0, show_default=True, help="The same number gives the same lesson.")
@rules_option
def random_lesson(file: Path | None, subsystem: str | None, seed: int, folders: tuple[Path, ...]) -> None:
    """Draw a lesson whose fault shows, as often as the rules say each is met.

    With FILE nothing of it is shown, so that you can play it yourself.
    """
    from furnace_diag.furnace.family import Family
    from furnace_diag.training.draw import drawn_text
    from furnace_diag.training.write import parts_of, write_new

    knowledge = rules_of(folders)
    family = Family(knowledge, next(iter(knowledge.furnace)))
    parts = parts_of(subsystem, knowledge) if subsystem else list(knowledge.part)
    text = drawn_text(family, parts, seed)
    if file is None:
        click.echo(encodable(text), nl=False)
        return
    write_new(file, text, knowledge)
    click.echo(encodable(f"Written: {file}. Play it: furnace-diag drill {file}"))


@command.command("from", epilog="\b\nExample:\n  furnace-diag scenario from visit.jsonl lesson.yaml")
@click.argument("visit", type=click.Path(path_type=Path))
@click.argument("file", type=click.Path(path_type=Path))
@rules_option
def from_visit(visit: Path, file: Path, folders: tuple[Path, ...]) -> None:
    """Make a lesson of a closed VISIT: what was mended is hidden.

    Nobody's words, names or times are taken over; what the customer says is written anew.
    """
    from furnace_diag.training.from_visit import text_from_visit
    from furnace_diag.training.write import write_new

    knowledge = rules_of(folders)
    write_new(file, text_from_visit(visit, knowledge), knowledge)
    click.echo(encodable(f"Written: {file}. Try it: furnace-diag scenario check {file}"))


@command.command("edit", epilog='\b\nExample:\n  furnace-diag scenario edit my.yaml --complaint "no heat at night"')
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--complaint", metavar="TEXT", help="What the customer says.")
@click.option("--option", "options", multiple=True, metavar="NAME=VALUE", help="What is known of the furnace; may be given again.")
@click.option("--severity", type=click.FloatRange(0, 1), help="Of the hidden faults.")
@click.option("--says", multiple=True, metavar="TEXT", help="One line more for the instructor to listen for.")
@rules_option
def edit_command(
    file: Path, complaint: str | None, options: tuple[str, ...], severity: float | None, says: tuple[str, ...], folders: tuple[Path, ...]
) -> None:
    """Change a lesson; its comments and order stay as they are."""
    from furnace_diag.training.lesson import read_lesson
    from furnace_diag.training.write import edit

    if complaint is None and not options and severity is None and not says:
        raise click.UsageError("Say what to change: --complaint, --option, --severity or --says.")
    knowledge = rules_of(folders)
    read_lesson(file, knowledge)
    edit(file, knowledge, complaint=complaint, options=_pairs(options), severity=severity, says=says)
    click.echo(encodable(f"Changed: {file}."))
