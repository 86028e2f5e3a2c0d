"""furnace-diag calc: the arithmetic of a visit."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

import click

from furnace_diag.cli.common import encodable, json_option, print_json, rules_of

if TYPE_CHECKING:
    from click.shell_completion import CompletionItem

    from furnace_diag.furnace.calculations import Calculation, Input


def _complete_name(_ctx: click.Context, _param: click.Parameter, incomplete: str) -> list[CompletionItem]:
    from click.shell_completion import CompletionItem

    from furnace_diag.furnace.calculations import CALCULATIONS

    return [CompletionItem(c.name, help=c.says) for c in CALCULATIONS.values() if c.name.startswith(incomplete.lower())]


def _complete_input(ctx: click.Context, _param: click.Parameter, incomplete: str) -> list[CompletionItem]:
    """`name=` of what is not given yet."""
    from click.shell_completion import CompletionItem

    from furnace_diag.furnace.calculations import CALCULATIONS

    chosen = CALCULATIONS.get(str(ctx.params.get("name")))
    given = {str(word).partition("=")[0] for word in ctx.params.get("words") or ()}
    inputs = chosen.inputs if chosen else ()
    return [CompletionItem(f"{i.name}=", help=i.says) for i in inputs if i.name not in given and i.name.startswith(incomplete.lower())]


@click.command(
    "calc",
    epilog="\b\nExamples:\n  furnace-diag calc\n  furnace-diag calc gas\n  furnace-diag calc rise \\\n    supply=125 return=70\n\n"
    "With a NAME alone it asks, or says what it takes.",
)
@click.argument("name", required=False, shell_complete=_complete_name)
@click.argument("words", nargs=-1, metavar="[INPUT=VALUE]...", shell_complete=_complete_input)
@json_option
def command(name: str | None, words: tuple[str, ...], as_json: bool) -> None:
    """Work out a rise, an airflow, a gas input, a capacitor, a wire's drop, a transformer's load or air-free CO."""
    from furnace_diag.furnace.calculations import calculation, evaluate, pairs

    if name is None:
        _tell_all(as_json)
        return
    chosen = calculation(name)
    inputs = pairs(" ".join(words))
    if not inputs:
        _tell_wanted(chosen, as_json)
        if as_json or not (sys.stdin.isatty() and sys.stdout.isatty()):
            return
        inputs = _asked(chosen)
    result = evaluate(chosen.name, inputs)
    if as_json:
        from dataclasses import asdict

        print_json(asdict(result))
        return
    from furnace_diag.cli.main import width
    from furnace_diag.report.arithmetic import result_lines

    for line in result_lines(result, width()):
        click.echo(encodable(line))


def _tell_all(as_json: bool) -> None:
    from furnace_diag.furnace.calculations import CALCULATIONS

    if as_json:
        print_json([_as_data(c) for c in CALCULATIONS.values()])
        return
    from furnace_diag.cli.main import width
    from furnace_diag.report.arithmetic import list_lines

    for line in list_lines(width()):
        click.echo(encodable(line))


def _tell_wanted(chosen: Calculation, as_json: bool) -> None:
    if as_json:
        print_json(_as_data(chosen))
        return
    from furnace_diag.cli.main import width
    from furnace_diag.report.arithmetic import wanted_lines

    known = rules_of(()).caution if chosen.cautions else {}
    for line in wanted_lines(chosen, [known[c].says for c in chosen.cautions], width()):
        click.echo(encodable(line))


def _as_data(chosen: Calculation) -> dict[str, object]:
    inputs = [{"name": i.name, "unit": i.unit, "says": i.says, "example": i.example, "default": i.default, "needed": i.needed} for i in chosen.inputs]
    outputs = [{"name": o.name, "unit": o.unit, "says": o.says, "formula": o.formula, "source": o.source} for o in chosen.outputs]
    return {"name": chosen.name, "says": chosen.says, "inputs": inputs, "outputs": outputs, "notes": chosen.notes, "cautions": chosen.cautions}


def _asked(chosen: Calculation) -> dict[str, str]:
    """What is typed at the terminal for each input; one that cannot be is asked for again."""
    answers = {i.name: _answer(i) for i in chosen.inputs}
    return {name: text for name, text in answers.items() if text}


def _answer(wanted: Input) -> str:
    from furnace_diag.furnace.calculations import read_input
    from furnace_diag.problems import BadInput

    default = wanted.default or ("" if wanted.optional else None)
    while True:
        text = str(click.prompt(f"{wanted.name} ({wanted.says})", default=default, show_default=bool(default), type=str))
        try:
            if text:
                read_input(wanted, text)
            return text
        except BadInput as bad:
            click.echo(str(bad), err=True)
