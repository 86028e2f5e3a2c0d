"""One answer from one report: hazards, parts in order, what cannot be told apart, what was taken for granted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from furnace_diag.diagnosis.evidence import Evidence, prior_given
from furnace_diag.diagnosis.findings import Found
from furnace_diag.diagnosis.records import Record, Report
from furnace_diag.diagnosis.verdict import BoardVerdict, judge
from furnace_diag.diagnosis.weigh import Posterior, by_option, known_options, weigh
from furnace_diag.furnace.family import Family, Fault
from furnace_diag.furnace.population import Population

ANSWER_VERSION = 1
WORTH_TELLING = 0.05  # log of a likelihood ratio below which a record neither speaks for nor against, judgement
WORTH_REASONS = 0.005  # failures below this are listed without their reasons
CANDIDATE = 0.04  # failures at least this likely are held against one another
MOST_CANDIDATES = 6
PARTS_BY = 0.6  # share of furnaces that a reading must tell apart to count as telling two failures apart, judgement
# bins of readings on the scale of asinh: float16 reaches 65504, which is 39 bins from the middle
NEVER_BIN, MIDDLE_BIN, OPEN_BIN, BINS = 1, 43, 85, 87


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
        evidence.comings,
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
        not_used=tuple(f"{r.said}: {why}" for r in report.records if (why := evidence.why_unused(r))),
        without_step=tuple(r.name for r in report.records if evidence.wants_step(r)),
        records=len(report.records),
        engine=found.engine,
    )


# --- parts ------------------------------------------------------------------------------------


def _parts(family: Family, posterior: Posterior, groups: Sequence[Sequence[Record]]) -> tuple[PartBelief, ...]:
    said = ["; ".join(r.said for r in group) for group in groups]
    by_part: dict[str, list[FailureBelief]] = {}
    for fault, probability, support in zip(family.faults, posterior.failures.tolist(), posterior.support.T.tolist(), strict=True):
        by_part.setdefault(fault.part, []).append(_failure(family, fault, probability, support, said))
    parts = [
        PartBelief(name, family.knowledge.part[name].says, sum(f.probability for f in found), _likeliest(found))
        for name, found in by_part.items()
    ]
    return tuple(sorted(parts, key=lambda p: (-p.probability, p.part)))


def _likeliest(found: list[FailureBelief]) -> tuple[FailureBelief, ...]:
    return tuple(sorted(found, key=lambda f: (-f.probability, f.failure)))


def _failure(family: Family, fault: Fault, probability: float, support: Sequence[float], said: Sequence[str]) -> FailureBelief:
    """*support*: of each group of records, *said* what each of them says."""
    speaks_for, speaks_against = _reasons(support, said) if probability >= WORTH_REASONS else ((), ())
    return FailureBelief(fault.failure, family.failure(fault).says, probability, speaks_for, speaks_against, family.knowledge.part[fault.part].at)


def _reasons(support: Sequence[float], said: Sequence[str]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """What speaks for and what against, the strongest first."""
    ranked = sorted(zip(support, said, strict=True), key=lambda pair: -abs(pair[0]))
    return tuple(n for s, n in ranked if s > WORTH_TELLING), tuple(n for s, n in ranked if s < -WORTH_TELLING)


# --- what is left open ------------------------------------------------------------------------


def _not_told_apart(family: Family, population: Population, posterior: Posterior, records: Sequence[Record]) -> list[NotToldApart]:
    """Every pair among the likeliest failures, with the reading that best parts them."""
    order = np.argsort(-posterior.failures)[:MOST_CANDIDATES]
    order = order[posterior.failures[order] >= CANDIDATE]
    if len(order) < 2:
        return []
    taken = {(r.name, r.step) for r in records}
    open_columns = [(key, i) for key, i in population.columns.items() if (key[0], key[1]) not in taken and key[2] != "low"]
    columns = np.array([i for _, i in open_columns], np.intp)
    cells = {int(f): _cells(population, int(f), columns) for f in order}
    near = {f: _near(cells_of_fault, len(columns)) for f, cells_of_fault in cells.items()}
    pairs = [(int(a), int(b)) for n, a in enumerate(order) for b in order[n + 1 :]]
    found = []
    for a, b in pairs[:6]:
        apart = 1 - np.maximum(near[b][cells[a]].mean(axis=1), near[a][cells[b]].mean(axis=1))  # total variation distance
        best = int(np.argmax(apart)) if len(apart) else 0
        named = open_columns[best][0] if len(apart) and apart[best] >= PARTS_BY else None
        found.append(NotToldApart((str(family.faults[a]), str(family.faults[b])), named and named[0], named and named[1]))
    return found


@cache
def _bin_of_bits() -> NDArray[np.intp]:
    """The coarse bin (about a factor of 1.35) of each float16, by its bits."""
    values = np.arange(2**16, dtype=np.uint16).view(np.float16).astype(float)
    bins = MIDDLE_BIN + np.round(np.arcsinh(np.where(np.isfinite(values), values, 0)) / 0.3)
    return np.where(np.isnan(values), NEVER_BIN, np.where(np.isinf(values), OPEN_BIN, bins)).astype(np.intp)


def _cells(population: Population, fault: int, columns: NDArray[np.intp]) -> NDArray[np.intp]:
    """What each of a fault's furnaces reads: its bin, numbered on through all columns; shape (columns, sites)."""
    read = population.table[np.ix_(columns, np.flatnonzero(population.fault_of == fault))]
    return np.asarray(_bin_of_bits()[read.view(np.uint16)] + BINS * np.arange(len(columns))[:, None])


def _near(cells: NDArray[np.intp], columns: int) -> NDArray[np.bool_]:
    """Which bins, numbered on, any of a fault's furnaces reads or reads a neighbour of; no bin at an end is ever read."""
    read = np.zeros(columns * BINS, bool)
    read[cells] = True
    near = read.copy()
    near[1:] |= read[:-1]
    near[:-1] |= read[1:]
    return near


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
