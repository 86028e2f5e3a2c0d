"""furnace-diag points: what can be read, seen, tried and told of before."""

from __future__ import annotations

from pathlib import Path

import click

from furnace_diag.cli.common import encodable, json_option, print_json, rules_of, rules_option

MOST_FOUND = 12  # entries shown for WORDS; more than a screen helps nobody choose


@click.command("points", epilog="\b\nExamples:\n  furnace-diag points\n  furnace-diag points heat terminal\n  furnace-diag points --json pressure")
@click.argument("words", nargs=-1)
@click.option("--all", "show_all", is_flag=True, help="Show all that WORDS describe, however many.")
@json_option
@rules_option
def command(words: tuple[str, ...], show_all: bool, as_json: bool, folders: tuple[Path, ...]) -> None:
    """List points, signs, experiments and events, or those that WORDS describe.

    Those that have all WORDS in their names come first.
    """
    from furnace_diag.report.prose import matching

    words = tuple(w for w in words if w.strip())
    knowledge = rules_of(folders)
    found = matching(knowledge, words)
    if as_json:
        print_json([entry.as_written() for entry in found])
        return
    if not found:
        from furnace_diag.report.prose import near

        close = near(knowledge, words)
        hint = f"Did you mean {' or '.join(close)}?" if close else "Try fewer words, or furnace-diag points alone."
        click.echo(f"Nothing is described so. {hint}", err=True)
        raise SystemExit(1)
    from furnace_diag.cli.main import width
    from furnace_diag.report.prose import list_lines, wrapped

    shown = found if show_all or not words else found[:MOST_FOUND]
    for line in list_lines(shown, width()):
        click.echo(encodable(line))
    if len(shown) < len(found):
        for line in wrapped(f"{len(found) - len(shown)} of {len(found)} left out; add a word, or --all.", width()):
            click.echo(line)
