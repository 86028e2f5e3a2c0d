"""furnace-diag rank: the likely failed parts from a report."""

from __future__ import annotations

from pathlib import Path

import click

from furnace_diag.cli.common import encodable, family_and_population, instruments, json_option, print_json, progress_of, report_at, rules_of, rules_option


@click.command(
    "rank",
    epilog="\b\nExamples:\n  furnace-diag rank cases/no_blower_heat_relay.yaml\n  furnace-diag rank my_report.yaml --json\n"
    "  furnace-diag rank my_report.yaml --two\n\n\b\nA report is YAML:\n"
    "  complaint: no heat\n  records:\n  - {sign: inducer_runs, value: yes}\n  - {sign: igniter_glows, value: no}",
)
@click.argument("file", type=click.Path(path_type=Path))
@json_option
@click.option("--without", metavar="TOOLS", default="", help="Plan without these, with commas between: manometer, clamp, microammeter, ...")
@rules_option
@click.option("--all", "show_all", is_flag=True, help="Tell everything: every part with its reasons, all that a proof lacks, what kills boards.")
@click.option("--two", "two_failures", is_flag=True, help="Weigh pairs of failures too: when no single one fits. Takes some seconds.")
def command(file: Path, as_json: bool, without: str, folders: tuple[Path, ...], show_all: bool, two_failures: bool) -> None:
    """Name the likely failed parts from a report FILE, or from the file of a visit."""
    knowledge = rules_of(folders)
    report = report_at(file, knowledge)
    family, population = family_and_population(knowledge, report.family)
    from furnace_diag.diagnosis.answer import answer, weighed
    from furnace_diag.diagnosis.evidence import Evidence

    evidence = Evidence(family, population)
    result = answer(report, evidence, instruments(without, evidence.words))
    two = None
    if two_failures:
        from furnace_diag.diagnosis.pairs import two_at_once

        two = two_at_once(report, evidence, weighed(report, evidence), progress_of("Building furnaces"))
    if as_json:
        from furnace_diag.diagnosis.answer import as_objects

        print_json(as_objects(result) | ({"two": as_objects(two)} if two is not None else {}))
        return
    from furnace_diag.cli.main import width
    from furnace_diag.report.terminal import answer_lines, two_lines

    for line in answer_lines(result, knowledge, width(), show_all=show_all):
        click.echo(encodable(line))
    if two is not None:
        for line in two_lines(two, width()):
            click.echo(encodable(line))
