"""furnace-diag points: what can be read and seen."""

from __future__ import annotations

from pathlib import Path

import click

from furnace_diag.cli.common import encodable, json_option, print_json, rules_of, rules_option


@click.command("points", epilog="\b\nExamples:\n  furnace-diag points\n  furnace-diag points heat terminal\n  furnace-diag points --json pressure")
@click.argument("words", nargs=-1)
@json_option
@rules_option
def command(words: tuple[str, ...], as_json: bool, folders: tuple[Path, ...]) -> None:
    """List points and signs, or those that WORDS describe."""
    from furnace_diag.report.prose import matching

    knowledge = rules_of(folders)
    found = matching(knowledge, words)
    if as_json:
        print_json([entry.model_dump(mode="json", by_alias=True) for entry in found])
        return
    if not found:
        click.echo("Nothing is described so. Try fewer words, or furnace-diag points alone.", err=True)
        raise SystemExit(1)
    from furnace_diag.cli.main import width
    from furnace_diag.report.prose import list_lines

    for line in list_lines(found, width()):
        click.echo(encodable(line))
