"""furnace-diag whatif: the answer as if a reading were so."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import click

from furnace_diag.cli.common import encodable, family_and_population, json_option, print_json, report_at, rules_of, rules_option


@click.command(
    "whatif",
    epilog='\b\nExamples:\n  furnace-diag whatif cases/limit_open.yaml "fuse looks: blown"\n'
    '  furnace-diag whatif my_report.yaml "igniter ohms: OL" "igniter glows: no at igniter warm up"\n\n'
    "A record is NAME: VALUE, or NAME: VALUE at STEP, in the words of a report.",
)
@click.argument("file", type=click.Path(path_type=Path))
@click.argument("records", nargs=-1, required=True, metavar="RECORD...")
@json_option
@rules_option
def command(file: Path, records: tuple[str, ...], as_json: bool, folders: tuple[Path, ...]) -> None:
    """Show how the answer to FILE, a report or a visit, would change if each RECORD were so."""
    from furnace_diag.diagnosis.report_file import supposed

    knowledge = rules_of(folders)
    report = report_at(file, knowledge)
    more = supposed(records, report, knowledge)
    family, population = family_and_population(knowledge, report.family)
    from furnace_diag.diagnosis.answer import answer
    from furnace_diag.diagnosis.evidence import Evidence

    evidence = Evidence(family, population)
    now = answer(report, evidence)
    then = answer(replace(report, records=(*report.records, *more)), evidence)
    if as_json:
        from furnace_diag.diagnosis.answer import as_objects

        print_json({"now": as_objects(now), "then": as_objects(then)})
        return
    from furnace_diag.cli.main import width
    from furnace_diag.report.terminal import side_by_side

    for line in side_by_side(now, then, [r.said for r in more], width()):
        click.echo(encodable(line))
