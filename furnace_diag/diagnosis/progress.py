"""How belief came about: what was believed after the first records of a report."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.prior import prior_given
from furnace_diag.diagnosis.records import Record, Report
from furnace_diag.diagnosis.weigh import Fact, Posterior, known_options, weigh


def posteriors_after(report: Report, evidence: Evidence, many: Iterable[int]) -> Iterator[Posterior]:
    """The posterior after the first n records of *report*, for each n of *many*; after all of them it is that of the answer.

    Whether a record restates another depends only on the records before it, so all are joined once and the later ones left out.
    Which ones were read at the wrong time is judged by the whole report.
    """
    family, population = evidence.family, evidence.population
    place = {id(record): i for i, record in enumerate(report.records)}
    groups = evidence.groups(report.records, evidence.finder.mistimed(evidence.finder.find(report.records, report.options)))
    sites = known_options(population, {o: list(family.furnace.options[o].values).index(v) for o, v in report.options.items()})
    for n in many:
        first = list(_of_first(groups, place, n))
        yield weigh(population, prior_given(family, report.records[:n]), first, sites, evidence.words.something_else, evidence.comings)


def _of_first(groups: Sequence[tuple[list[Record], list[Fact]]], place: dict[int, int], n: int) -> Iterator[list[Fact]]:
    """The facts of the first *n* records, group by group."""
    for records, facts in groups:
        kept = [fact for record, fact in zip(records, facts, strict=True) if place[id(record)] < n]
        if kept:
            yield kept
