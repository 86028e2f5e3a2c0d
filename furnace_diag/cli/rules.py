"""furnace-diag rules: check, odds, schema."""

from __future__ import annotations

from pathlib import Path

import click

from furnace_diag.cli.common import encodable, json_option, print_json, rules_of, rules_option


@click.group("rules", epilog="\b\nExample:\n  furnace-diag rules check my_shop_rules")
def command() -> None:
    """Check rule files; print odds; write a schema for editors."""


@command.command("check", epilog="\b\nExamples:\n  furnace-diag rules check\n  furnace-diag rules check my_shop_rules")
@click.argument("folders", nargs=-1, type=click.Path(path_type=Path), metavar="[DIR]...")
@json_option
def check(folders: tuple[Path, ...], as_json: bool) -> None:
    """Check the program's rules, and those in DIR on top of them."""
    from furnace_diag.knowledge.load import read_rules

    knowledge, problems = read_rules(folders)
    if knowledge is not None:
        from furnace_diag.diagnosis.examples import finding_problems
        from furnace_diag.furnace.trial import trial_problems

        problems = [*trial_problems(knowledge), *finding_problems(knowledge)]
    if as_json:
        from furnace_diag.diagnosis.answer import as_objects

        print_json(as_objects(problems))
    else:
        for problem in problems:
            click.echo(encodable(str(problem)))
    if problems:
        raise SystemExit(2)
    assert knowledge is not None
    if not as_json:
        counts = ", ".join(f"{len(getattr(knowledge, kind))} {kind}s" for kind in ("part", "point", "sign", "event", "hazard", "proof", "repair", "check"))
        click.echo(f"The rules are in order: {counts}; version {knowledge.version}.")


@command.command("odds", epilog="\b\nExample:\n  furnace-diag rules odds --json")
@json_option
@rules_option
def odds(as_json: bool, folders: tuple[Path, ...]) -> None:
    """Print how often each part is the failed one, before any reading."""
    from furnace_diag.diagnosis.prior import odds_by_part
    from furnace_diag.furnace.family import Family

    knowledge = rules_of(folders)
    totals = odds_by_part(Family(knowledge, next(iter(knowledge.furnace))))
    if as_json:
        print_json(totals)
        return
    for part, share in sorted(totals.items(), key=lambda pair: (-pair[1], pair[0])):
        click.echo(f"{share:6.1%} {part}")


@command.command("schema", epilog="\b\nExample:\n  furnace-diag rules schema > rules.schema.json")
def schema() -> None:
    """Write the JSON Schema of a rule file, for editors that check as you type."""
    from furnace_diag.knowledge.models import ENTRY_TYPES
    from furnace_diag.knowledge.shapes import shape_of

    entries = [shape_of(kind).model_json_schema(by_alias=True) for kind in ENTRY_TYPES.values()]
    definitions = {name: text for entry in entries for name, text in entry.pop("$defs", {}).items()}
    either = {"anyOf": entries}
    print_json(
        {
            "$schema": "https://json-schema.org/draft/2020-12/schema",
            "title": "furnace_diag rule file",
            "anyOf": [either, {"type": "array", "items": either}],
            "$defs": definitions,
        }
    )
