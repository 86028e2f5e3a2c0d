"""One answer from one report: hazards, parts in order, what cannot be told apart, what was taken for granted."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import fields, is_dataclass
from typing import Any, NamedTuple

import numpy as np

from furnace_diag.diagnosis.against import fits, impossible_with
from furnace_diag.diagnosis.apart import NotToldApart, not_told_apart
from furnace_diag.diagnosis.assumed import Assumed, assumed
from furnace_diag.diagnosis.choice import Act, Choice, NextReading
from furnace_diag.diagnosis.choose import choose
from furnace_diag.diagnosis.clash import Clash, clashes
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.findings import Findings, Found, ProofState
from furnace_diag.diagnosis.groups import Group
from furnace_diag.diagnosis.mended import BEFORE, as_it_stands, as_they_count
from furnace_diag.diagnosis.misread import LookAgain, look_again, rests_on, speaks_against
from furnace_diag.diagnosis.one_moment import one_moment
from furnace_diag.diagnosis.prior import prior_given
from furnace_diag.diagnosis.reckoning import OFFERED
from furnace_diag.diagnosis.records import Report
from furnace_diag.diagnosis.verdict import BoardVerdict, by_belief, judge
from furnace_diag.diagnosis.weigh import Posterior, known_options, weigh
from furnace_diag.furnace.built import Population
from furnace_diag.furnace.family import Family

ANSWER_VERSION = 1
NAMED_FROM = 0.5  # belief in a part from which it is named as what to put right, judgement: more likely than not
WORTH_TELLING = 0.15  # log of a likelihood ratio below which a record neither speaks for nor against, judgement
WORTH_REASONS = 0.005  # failures below this are listed without their reasons


class FailureBelief(NamedTuple):
    """One failure: its probability, and the records that speak for and against it."""

    failure: str
    says: str
    probability: float
    speaks_for: tuple[str, ...]
    speaks_against: tuple[str, ...]
    at: str


class PartBelief(NamedTuple):
    """One part: its probability and its failures, likeliest first."""

    part: str
    says: str
    probability: float
    failures: tuple[FailureBelief, ...]


class Reach(NamedTuple):
    """A step of the heat call: how likely the call gets to it, and how likely it stops there (at the last step: goes on burning)."""

    step: str
    reached: float
    stops: float


class Answer(NamedTuple):
    """What `rank` says; the fields and their order are the JSON.

    *look_again*: records to be looked at again before anything else is read or put right; none where the board's proof says what is to be read twice.
    *rests_on*: with a repair, the one record that belief in its part rests on, if there is such a one and it was not looked at twice.
    *fits_best*: the failure, as part:failure, that fits the records best, however rare it is.
    """

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
    clashes: tuple[Clash, ...]
    look_again: tuple[LookAgain, ...]
    rests_on: LookAgain | None
    not_told_apart: tuple[NotToldApart, ...]
    heat_call: tuple[Reach, ...]
    next: tuple[NextReading, ...]
    act: Act | None
    assumed: tuple[Assumed, ...]
    read_as: tuple[str, ...]
    not_used: tuple[str, ...]
    without_step: tuple[str, ...]
    records: int
    engine: str
    fits_best: str


class Weighed(NamedTuple):
    """A report weighed and run through the findings, before anything is chosen or worded.

    *groups*: the records that tell something, joined where they restate one another, with their facts. *mistimed*: numbers of the
    records that were hardly taken when they say. *belief*: of each failure, as part:failure; *fit*: how well it fits the records, without
    odds before them, the best as 1.
    """

    groups: tuple[Group, ...]
    mistimed: frozenset[int]
    posterior: Posterior
    found: Findings
    belief: Mapping[str, float]
    fit: Mapping[str, float]
    board: BoardVerdict


def weighed(report: Report, evidence: Evidence, never: Collection[tuple[str, str | None]] = ()) -> Weighed:
    """What a report makes believed and what it shows; all that a judgement needs. The report's family must be that of *evidence*.

    *never*: names and steps that cannot be read.
    """
    family, population = evidence.family, evidence.population
    report = as_it_stands(report, evidence)
    found = evidence.finder.find(as_they_count(report.records, evidence.knowledge), report.options, report.running)
    mistimed = evidence.finder.mistimed(found)
    groups = evidence.groups(report.records, mistimed)
    option_numbers = {o: list(family.furnace.options[o].values).index(v) for o, v in report.options.items()}
    row = one_moment(evidence, groups)
    posterior = weigh(
        population,
        prior_given(family, report.records),
        [*(facts for _, facts in groups), *([[row]] if row is not None else [])],
        known_options(population, option_numbers),
        evidence.words.something_else,
        evidence.comings,
    )
    posterior = posterior._replace(support=posterior.support[: len(groups)])  # the row is of records that have groups of their own
    belief = dict(zip(family.failures, posterior.failures.tolist(), strict=True))
    fit = fits(evidence, posterior)

    def against(proof: ProofState) -> tuple[str, ...]:
        """What the failure cannot give, of the same heat calls; the readings that the proof itself is made of are not held against it."""
        met = {said for need in proof.needs for said in need.met_by}
        asked = evidence.finder.asked_by(proof)
        own = {r.said for r in report.records if r.said in met and r.name in asked}
        return impossible_with(evidence, groups, proof.of, evidence.finder.calls_of(found, proof.proof), own)

    figures = sum(r.kind == "point" for r in report.records)
    board = judge(evidence.finder, found, belief, fit, against, records=len(report.records), figures=figures, never=never)
    return Weighed(tuple(groups), mistimed, posterior, found, belief, fit, board)


def answer(report: Report, evidence: Evidence, without: Collection[str] = (), never: Collection[tuple[str, str | None]] = ()) -> Answer:
    """Weigh a report, find what it shows and choose what to read next. The report's family must be that of *evidence*.

    *without*: instruments that are not to be had (the words table names them). *never*: names and steps not to be asked for.
    """
    family, population = evidence.family, evidence.population
    report = as_it_stands(report, evidence)
    seen = weighed(report, evidence, never)
    posterior, found, board = seen.posterior, seen.found, seen.board
    parts = _parts(evidence, seen)
    # with a hazard nothing more is read and nothing repaired
    choice = Choice((), None)
    if not found.hazards:
        doubted = {(report.records[i].name, report.records[i].step) for i in evidence.finder.doubted(found)}
        again = doubted - {(r.name, r.step) for r in report.records if r.meter == "low"}
        standing = [r for i, r in enumerate(report.records) if i not in seen.mistimed and r.unused != BEFORE]
        never = {*never, *((name, None) for name in evidence.finder.barred(report.records, report.options))}
        choice = _named_when_likely(choose(evidence, posterior, standing, board.nearest, without, never, seen.groups, again, report.running))
    return Answer(
        version=ANSWER_VERSION,
        rules_version=family.knowledge.version,
        furnace=report.family,
        complaint=report.complaint,
        hazards=found.hazards,
        parts=parts,
        something_else=posterior.something_else,
        board=board,
        doubts=found.doubts,
        root_causes=found.root_causes,
        exonerations=found.exonerations,
        advice=found.advice,
        clashes=tuple(Clash(tuple(r.said for r in rs), tuple(str(r.place) for r in rs)) for rs in clashes(evidence, seen.groups)),
        look_again=() if found.hazards or (choice.act is not None and choice.act.needs_proof) else _to_look_again(seen, parts, evidence, choice.act),
        rests_on=_rests_on(choice.act, seen, evidence),
        not_told_apart=() if found.hazards else tuple(not_told_apart(evidence, posterior, report.records, without, never)),
        heat_call=_heat_call(family, population, posterior),
        next=choice.readings,
        act=choice.act,
        assumed=tuple(assumed(evidence, posterior, report.options)),
        read_as=(*report.read_as, *evidence.taken_otherwise(report.records)),
        not_used=tuple(f"{r.said}: {why}" for r in (*report.records, *report.set_aside) if (why := evidence.why_unused(r))),
        without_step=tuple(r.name for r in report.records if evidence.step_wanted(r) is not None),
        records=len(report.records),
        engine=found.engine,
        fits_best=max(seen.fit, key=lambda failure: seen.fit[failure]),
    )


def _to_look_again(seen: Weighed, parts: Sequence[PartBelief], evidence: Evidence, act: Act | None) -> tuple[LookAgain, ...]:
    """The records to be looked at again, but for what speaks for the failure that leads where no more speaks against that than for it: it fits there, and
    what a repair rests on is taken again before that is made (`rests_on`); and before a repair what speaks most against it."""
    leads = next((p for p in parts if p.failures and p.probability >= seen.posterior.something_else), None)
    likeliest = leads.failures[0] if leads is not None else None
    fitting = likeliest.speaks_for if likeliest is not None and len(likeliest.speaks_against) <= len(likeliest.speaks_for) else ()
    badly = [one for one in look_again(evidence, seen.posterior, seen.groups) if one.said not in fitting]
    against = None if act is None else speaks_against(evidence, seen.posterior, seen.groups, f"{act.part}:{act.failure}")
    return tuple(badly if against is None or against in badly else [*badly, against])


def _rests_on(act: Act | None, seen: Weighed, evidence: Evidence) -> LookAgain | None:
    """The record that belief in a repair's part rests on. None of a board: its proof says what is to be read twice."""
    return None if act is None or act.needs_proof else rests_on(evidence, seen.posterior, seen.groups, act.part)


def _named_when_likely(choice: Choice) -> Choice:
    """The same; but what would confirm the likeliest repair goes before a reading that spares hardly anything, which reckons with known failures alone,
    and a quick look at what is more likely than not before one that takes longer.

    And no repair is named on trial, however cheap, where a reading would tell whether it is that: then this is the next one.
    """
    act = choice.act or choice.nearly
    if act is None:
        return choice if choice.glance is None else Choice(_first(choice.glance, choice.readings), None)
    if act.needs_proof or act.check is None:
        return choice
    return Choice(choice.readings, act) if act.of_part >= NAMED_FROM else Choice(_first(act.check, choice.readings), None)


def _first(reading: NextReading, others: Sequence[NextReading]) -> tuple[NextReading, ...]:
    """*reading*, and as many of the *others* as are offered beside it."""
    return reading, *[r for r in others if (r.name, r.step) != (reading.name, reading.step)][: OFFERED - 1]


def as_objects(value: Any) -> Any:
    """An answer, or what else holds parts of one, as JSON has it: an object for whatever has named fields."""
    if is_dataclass(value):
        return {field.name: as_objects(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, tuple) and hasattr(value, "_asdict"):
        return as_objects(value._asdict())
    if isinstance(value, dict):
        return {key: as_objects(each) for key, each in value.items()}
    return [as_objects(each) for each in value] if isinstance(value, list | tuple) else value


# --- parts ------------------------------------------------------------------------------------


def _parts(evidence: Evidence, seen: Weighed) -> tuple[PartBelief, ...]:
    by_part: dict[str, list[FailureBelief]] = {}
    for number, fault in enumerate(evidence.population.faults):
        by_part.setdefault(fault.part, []).append(failure_belief(evidence, seen, number))
    part = evidence.knowledge.part
    parts = [PartBelief(name, part[name].says, sum(f.probability for f in found), _likeliest(found)) for name, found in by_part.items()]
    return tuple(sorted(parts, key=lambda p: by_belief(p.part, p.probability)))


def _likeliest(found: list[FailureBelief]) -> tuple[FailureBelief, ...]:
    return tuple(sorted(found, key=lambda f: by_belief(f.failure, f.probability)))


def failure_belief(evidence: Evidence, seen: Weighed, number: int) -> FailureBelief:
    """One failure, the one of that *number* among the family's, with its reasons."""
    fault, probability = evidence.population.faults[number], float(seen.posterior.failures[number])
    reasons = _reasons(seen, number) if probability >= WORTH_REASONS else ((), ())
    return FailureBelief(fault.failure, evidence.failures_say[number], probability, *reasons, evidence.knowledge.part[fault.part].at)


def _reasons(seen: Weighed, number: int) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """What speaks for a failure and what against it, the strongest first."""
    said = ["; ".join(r.said for r in records) for records, _ in seen.groups]
    ranked = sorted(zip(seen.posterior.support[:, number].tolist(), said, strict=True), key=lambda pair: -abs(pair[0]))
    return tuple(n for s, n in ranked if s > WORTH_TELLING), tuple(n for s, n in ranked if s < -WORTH_TELLING)


# --- how far the call gets --------------------------------------------------------------------


def _heat_call(family: Family, population: Population, posterior: Posterior) -> tuple[Reach, ...]:
    """Steps beside a good heat call at which it may stop, then those of the call in order; the last one is where a good call goes on."""
    order = family.sequence.order
    known = max(float(posterior.rows.sum()), 1e-12)
    stops = np.bincount(population.stops, posterior.rows, len(population.steps)) / known
    place = {step: float(stops[i]) for i, step in enumerate(population.steps)}
    left = 1.0
    reaches = []
    beside = [Reach(s, p, p) for s, p in place.items() if s not in order and p > 0]
    left -= sum(r.reached for r in beside)
    for step in order:
        reaches.append(Reach(step, left, place.get(step, 0.0)))
        left -= place.get(step, 0.0)
    return (*beside, *reaches)
