"""furnace-diag explain: one entry in readable prose."""

from __future__ import annotations

from pathlib import Path

import click

from furnace_diag.cli.common import encodable, json_option, print_json, rules_of, rules_option


@click.command(
    "explain",
    epilog="\b\nExamples:\n  furnace-diag explain igniter\n  furnace-diag explain control_board:heat_relay_will_not_close\n"
    "  furnace-diag explain heating\n  furnace-diag explain 24 volts at w",
)
@click.argument("words", nargs=-1, required=True, metavar="NAME...")
@json_option
@rules_option
def command(words: tuple[str, ...], as_json: bool, folders: tuple[Path, ...]) -> None:
    """Say what a part, failure, point, sign, step or rule is, by its id or another name."""
    from furnace_diag.report.prose import explained

    knowledge = rules_of(folders)
    identifier, text = explained(knowledge, " ".join(words))
    if as_json:
        print_json({"id": identifier, "text": text})
        return
    from furnace_diag.cli.main import width
    from furnace_diag.report.prose import wrapped

    for line in wrapped(text, width()):
        click.echo(encodable(line))
