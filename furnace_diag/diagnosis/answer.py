"""One answer from one report: hazards, parts in order, what cannot be told apart, what was taken for granted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from furnace_diag.diagnosis.evidence import Evidence, prior_given
from furnace_diag.diagnosis.findings import Found
from furnace_diag.diagnosis.records import Record, Report
from furnace_diag.diagnosis.verdict import BoardVerdict, judge
from furnace_diag.diagnosis.weigh import Posterior, by_option, known_options, weigh
from furnace_diag.furnace.family import Family
from furnace_diag.furnace.population import Population

ANSWER_VERSION = 1
WORTH_TELLING = 0.05  # log of a likelihood ratio below which a record neither speaks for nor against, judgement
WORTH_REASONS = 0.005  # failures below this are listed without their reasons
CANDIDATE = 0.08  # failures at least this likely are held against one another
MOST_CANDIDATES = 6
PARTS_BY = 0.6  # share of furnaces that a reading must tell apart to count as telling two failures apart, judgement


@dataclass(frozen=True)
class FailureBelief:
    """One failure: its probability, and the records that speak for and against it."""

    failure: str
    says: str
    probability: float
    speaks_for: tuple[str, ...]
    speaks_against: tuple[str, ...]
    at: str


@dataclass(frozen=True)
class PartBelief:
    """One part: its probability and its failures, likeliest first."""

    part: str
    says: str
    probability: float
    failures: tuple[FailureBelief, ...]


@dataclass(frozen=True)
class NotToldApart:
    """Two failures that the records leave open, and what would part them (None where no point of the rules would)."""

    failures: tuple[str, str]
    parted_by: str | None
    step: str | None


@dataclass(frozen=True)
class Assumed:
    """An option of the furnace that was not stated; *change* is how far belief would move if it were known."""

    option: str
    says: str
    usual: str
    change: float


@dataclass(frozen=True)
class Answer:
    """What `rank` says; the fields and their order are the JSON."""

    version: int
    rules_version: str
    furnace: str
    complaint: str
    hazards: tuple[Found, ...]
    parts: tuple[PartBelief, ...]
    something_else: float
    board: BoardVerdict
    doubts: tuple[Found, ...]
    root_causes: tuple[Found, ...]
    exonerations: tuple[Found, ...]
    advice: tuple[Found, ...]
    not_told_apart: tuple[NotToldApart, ...]
    assumed: tuple[Assumed, ...]
    read_as: tuple[str, ...]
    not_used: tuple[str, ...]
    without_step: tuple[str, ...]
    records: int
    engine: str


def answer(report: Report, evidence: Evidence) -> Answer:
    """Weigh a report and find what it shows. The report's family must be that of *evidence*."""
    family, population = evidence.family, evidence.population
    groups = evidence.groups(report.records)
    option_numbers = {o: list(family.furnace.options[o].values).index(v) for o, v in report.options.items()}
    posterior = weigh(
        population,
        prior_given(family, report.records),
        [facts for _, facts in groups],
        known_options(population, option_numbers),
        evidence.words.something_else,
    )
    parts = _parts(family, posterior, [records for records, _ in groups])
    found = evidence.finder.find(report.records, report.options)
    belief = {f"{p.part}:{f.failure}": f.probability for p in parts for f in p.failures}
    return Answer(
        version=ANSWER_VERSION,
        rules_version=family.knowledge.version,
        furnace=report.family,
        complaint=report.complaint,
        hazards=found.hazards,
        parts=parts,
        something_else=posterior.something_else,
        board=judge(evidence.finder, found, belief, records=len(report.records)),
        doubts=found.doubts,
        root_causes=found.root_causes,
        exonerations=found.exonerations,
        advice=found.advice,
        not_told_apart=() if found.hazards else tuple(_not_told_apart(family, population, posterior, report.records)),  # with a hazard nothing more is read
        assumed=tuple(_assumed(family, population, posterior, report)),
        read_as=report.read_as,
        not_used=tuple(f"{r.said}: {r.unused}" for r in report.records if r.unused),
        without_step=tuple(r.name for r in report.records if evidence.wants_step(r)),
        records=len(report.records),
        engine=found.engine,
    )


# --- parts ------------------------------------------------------------------------------------


def _parts(family: Family, posterior: Posterior, groups: Sequence[Sequence[Record]]) -> tuple[PartBelief, ...]:
    by_part: dict[str, list[FailureBelief]] = {}
    for i, fault in enumerate(family.faults):
        by_part.setdefault(fault.part, []).append(_failure(family, posterior, groups, i))
    parts = [
        PartBelief(name, family.knowledge.part[name].says, sum(f.probability for f in found), _likeliest(found))
        for name, found in by_part.items()
    ]
    return tuple(sorted(parts, key=lambda p: (-p.probability, p.part)))


def _likeliest(found: list[FailureBelief]) -> tuple[FailureBelief, ...]:
    return tuple(sorted(found, key=lambda f: (-f.probability, f.failure)))


def _failure(family: Family, posterior: Posterior, groups: Sequence[Sequence[Record]], i: int) -> FailureBelief:
    fault, probability = family.faults[i], float(posterior.failures[i])
    if probability < WORTH_REASONS:
        return FailureBelief(fault.failure, family.failure(fault).says, probability, (), (), family.knowledge.part[fault.part].at)
    ranked = sorted(((float(s), g) for s, g in zip(posterior.support[:, i], groups, strict=True)), key=lambda pair: -abs(pair[0]))
    names = [(s, "; ".join(r.said for r in g)) for s, g in ranked]
    return FailureBelief(
        failure=fault.failure,
        says=family.failure(fault).says,
        probability=probability,
        speaks_for=tuple(n for s, n in names if s > WORTH_TELLING),
        speaks_against=tuple(n for s, n in names if s < -WORTH_TELLING),
        at=family.knowledge.part[fault.part].at,
    )


# --- what is left open ------------------------------------------------------------------------


def _not_told_apart(family: Family, population: Population, posterior: Posterior, records: Sequence[Record]) -> list[NotToldApart]:
    """Every pair among the likeliest failures, with the reading that best parts them."""
    order = np.argsort(-posterior.failures)[:MOST_CANDIDATES]
    order = order[posterior.failures[order] >= CANDIDATE]
    if len(order) < 2:
        return []
    taken = {(r.name, r.step) for r in records}
    open_columns = [(key, i) for key, i in population.columns.items() if (key[0], key[1]) not in taken and key[2] != "low"]
    binned = {int(f): _binned(population, int(f), [i for _, i in open_columns]) for f in order}
    pairs = [(int(a), int(b)) for n, a in enumerate(order) for b in order[n + 1 :]]
    found = []
    for a, b in pairs[:6]:
        apart = _told_apart(binned[a], binned[b])
        best = int(np.argmax(apart)) if len(apart) else 0
        named = open_columns[best][0] if len(apart) and apart[best] >= PARTS_BY else None
        found.append(NotToldApart((str(family.faults[a]), str(family.faults[b])), named and named[0], named and named[1]))
    return found


def _binned(population: Population, fault: int, columns: list[int]) -> NDArray[np.int16]:
    """What a fault's furnaces read, in coarse bins (about a factor of 1.35 each); shape (columns, sites)."""
    values = population.table[np.ix_(np.array(columns, dtype=np.intp), np.flatnonzero(population.fault_of == fault))].astype(float)
    bins = np.round(np.arcsinh(np.where(np.isfinite(values), values, 0)) / 0.3)
    return np.where(np.isnan(values), -100, np.where(np.isinf(values), 100, bins)).astype(np.int16)


def _told_apart(one: NDArray[np.int16], other: NDArray[np.int16]) -> NDArray[np.float64]:
    """Of each column the total variation distance between two faults' binned readings, neighbouring bins taken as one."""
    near = np.abs(one[:, :, None] - other[:, None, :]) <= 1
    return np.asarray(1 - np.maximum(near.any(axis=2).mean(axis=1), near.any(axis=1).mean(axis=1)))


def _assumed(family: Family, population: Population, posterior: Posterior, report: Report) -> list[Assumed]:
    """Options that were not stated, the one that would change the answer most first."""
    found = []
    known = posterior.failures / max(posterior.failures.sum(), 1e-12)
    for name, option in family.furnace.options.items():
        if name in report.options:
            continue
        moves = np.abs(by_option(population, posterior, name, len(option.values)) - known).sum(axis=1) / 2
        found.append(Assumed(name, option.says, option.usual, float(moves.max())))
    return sorted(found, key=lambda a: (-round(a.change, 6), a.option))
