"""What may be said of the board: a rank is no proof, and only a proof says that it is bad."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from functools import cache, lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from furnace_diag.diagnosis.findings import Finder, Findings, Need, ProofState
from furnace_diag.diagnosis.taking import cautions_for
from furnace_diag.knowledge.finding_models import RootCause
from furnace_diag.knowledge.models import Knowledge

BOARD = "control_board"
NOTHING_AGAINST = "Nothing was read in the same heat calls that this failure cannot give"
FAMILIES_KEPT = 16  # of furnaces, each with its own failures
MOST_COMPARED = 6  # proofs whose conditions are counted against one another
HARDLY = 0.1  # of the belief in what the likeliest proof is of, below which another is no better than one that is denied for good, judgement
ABOUT = 0.9  # of the belief in what another proof is of, from which a proof is of what is about as likely, judgement


class Killer(NamedTuple):
    """What may have killed the board: found in the records, or to be looked for before a new one goes in."""

    root_cause: str
    says: str
    found: bool
    look: str
    accept: str


class BoardVerdict(NamedTuple):
    """*verdict*: proved_bad, suspected, unlikely, cleared or not_judged.

    *proved*: proofs that are complete. *nearest*: the proof nearest to what is suspected, with what is met, missing
    and spoken against. *cleared*: failures that something seen rules out in its call. *killers*: what to look for
    before a new board goes in. *cautions*: for taking what is missing.
    """

    verdict: str
    probability: float
    proved: tuple[ProofState, ...]
    nearest: ProofState | None
    cleared: tuple[str, ...]
    killers: tuple[Killer, ...]
    cautions: tuple[str, ...]


def judge(
    finder: Finder,
    findings: Findings,
    belief: Mapping[str, float],
    fit: Mapping[str, float],
    against: Callable[[ProofState], tuple[str, ...]],
    *,
    records: int,
    figures: int,
    never: Collection[tuple[str, str | None]] = (),
) -> BoardVerdict:
    """The board's verdict. *belief*: probability of each failure, as part:failure; *fit*: how well each fits the records, the best as 1.

    *against*: the records of a proof's own heat calls that its failure cannot give: with one of them it is not proved.
    *records*: how many were given; *figures*: how many of them are of something read with a meter, a gauge or a watch.
    *never*: names and steps that cannot be read.
    """
    knowledge = finder.k
    mine = of_the_board(belief)
    total = sum(mine.values())
    complete = [finder.proof(findings, name) for name, grade in findings.grades.items() if grade == "proved"]
    contested = [_contested(p, cannot) for p in complete if (cannot := against(p))]
    proved = tuple(p for p in complete if p.proof not in {c.proof for c in contested})
    verdict = _verdict(knowledge, findings, belief, mine, fit, proved, records, figures)
    nearest = next(iter(contested), None) or (nearest_proof(finder, findings, mine, never) if verdict == "suspected" else None)
    told = proved or ((nearest,) if nearest else ())
    conditions = [knowledge.condition[n.condition] for p in told for n in p.missing]
    killers = tuple(_killers(knowledge, findings, told))
    return BoardVerdict(verdict, total, proved, nearest, tuple(sorted(findings.cleared)), killers, cautions_for(conditions, knowledge))


def _contested(proof: ProofState, cannot: tuple[str, ...]) -> ProofState:
    """A proof that is complete but for records of the same heat calls which its failure cannot give."""
    return proof._replace(grade="shown", needs=(*proof.needs, Need(proof.proof, NOTHING_AGAINST, (), cannot, "", 0)))


def of_the_board(belief: Mapping[str, float]) -> dict[str, float]:
    """The failures of the board among others, as part:failure."""
    return {f: belief[f] for f in _board_among(tuple(belief))}


@lru_cache(FAMILIES_KEPT)
def _board_among(failures: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(f for f in failures if part_of(f) == BOARD)


@cache
def part_of(failure: str) -> str:
    """The part of what is written as part:failure."""
    return failure.partition(":")[0]


def _verdict(
    k: Knowledge,
    findings: Findings,
    belief: Mapping[str, float],
    mine: Mapping[str, float],
    fit: Mapping[str, float],
    proved: Sequence[ProofState],
    records: int,
    figures: int,
) -> str:
    bounds = next(iter(k.words.values())).verdict
    total = sum(mine.values())
    if proved:
        return "proved_bad"
    if not records:
        return "not_judged"
    if {"shown", "proved"} & {*findings.grades.values()} or total >= bounds["suspected"]:
        return "suspected"
    if findings.hazards:  # it is put right before any part is judged; what is read of a furnace whose safety is bridged clears nobody
        return "not_judged"
    leads = _most_of_another(belief) >= bounds["another_leads"]
    left = [f for f in mine if f not in findings.cleared]
    # rare is not cleared: what is left must be unlikely by the records too, not by the odds alone, nor by sights while belief is spread over everything
    is_open = {f for d in findings.doubts for f in k.doubt[d.finding].leaves_open if f not in findings.cleared}  # nobody has read yet what would clear it
    known = 1 - sum(belief.values()) < bounds["unknown"]  # what nobody wrote down may be of the board
    unfit = sum(mine[f] for f in left) < bounds["cleared"] and max((fit[f] for f in left), default=0) < bounds["still_fits"]
    if findings.cleared and unfit and not is_open and known and (figures or leads):
        return "cleared"
    return "unlikely" if figures and leads and total < bounds["unlikely"] else "not_judged"


def _most_of_another(belief: Mapping[str, float]) -> float:
    """Belief in the likeliest part that is not the board."""
    return max((p for part, p in by_part(belief).items() if part != BOARD), default=0)


def by_part(belief: Mapping[str, float]) -> dict[str, float]:
    """Of each part, from that of each failure as part:failure."""
    parts, numbers = _parts_of(tuple(belief))
    return dict(zip(parts, np.bincount(numbers, list(belief.values()), len(parts)).tolist(), strict=True))


def by_belief(name: str, probability: float) -> tuple[float, str]:
    """What to sort by so that the likeliest is first; of those that rounding alone sets apart, the first by its name."""
    return -round(probability, 9), name


@lru_cache(FAMILIES_KEPT)
def _parts_of(failures: tuple[str, ...]) -> tuple[tuple[str, ...], NDArray[np.intp]]:
    """The parts of *failures*, and of each failure the number of its part."""
    parts = tuple(dict.fromkeys(map(part_of, failures)))
    return parts, np.array([parts.index(part_of(f)) for f in failures], np.intp)


def nearest_proof(
    finder: Finder, findings: Findings, mine: Mapping[str, float], never: Collection[tuple[str, str | None]] = ()
) -> ProofState | None:
    """The proof of what is believed most, one that is shown before all others, after them one that is denied for good, asks for what can *never* be read
    or is of what is hardly believed; of those about as likely the one with most of its conditions met."""
    belief = {name: sum([mine.get(f, 0) for f in p.of]) for name, p in finder.k.proof.items()}
    least = HARDLY * max(belief.values(), default=0)
    believed = {
        name: (findings.grades[name] == "shown", p >= least and not _is_hopeless(finder, findings, name, never), p) for name, p in belief.items()
    }
    order = sorted(believed, key=lambda name: believed[name], reverse=True)
    first = next((name for name in order if _askable(finder, findings, name)), None)
    likely = [n for n in order if first is not None and _about_as_likely(believed[n], believed[first]) and _askable(finder, findings, n)][:MOST_COMPARED]
    nearest = max(likely, key=lambda name: finder.met(findings, name), default=None)
    return None if nearest is None else finder.proof(findings, nearest)


def _is_hopeless(finder: Finder, findings: Findings, name: str, never: Collection[tuple[str, str | None]]) -> bool:
    """Whether a proof can hardly become whole in this visit."""
    return finder.is_denied(findings, name) or finder.is_out_of_reach(findings, name, never)


def _about_as_likely(one: tuple[bool, bool, float], other: tuple[bool, bool, float]) -> bool:
    """Whether one proof may be asked for as well as the *other*, which comes first."""
    return one[:2] == other[:2] and one[2] >= ABOUT * other[2]


def _askable(finder: Finder, findings: Findings, name: str) -> bool:
    """Whether what a proof must start from is met."""
    first = finder.k.proof[name].only_after
    return first is None or finder.is_met(findings, first)


def _killers(k: Knowledge, findings: Findings, proofs: Sequence[ProofState]) -> list[Killer]:
    found = {f.finding for f in findings.root_causes}
    failures = {f for p in proofs for f in p.of}
    fit = [c for c in k.root_cause.values() if proofs and (c.root_cause in found or _kills(c, failures))]
    killers = [Killer(c.root_cause, c.says, c.root_cause in found, c.look, c.accept) for c in fit]
    return sorted(killers, key=lambda c: not c.found)


def _kills(cause: RootCause, failures: set[str]) -> bool:
    return any(target == BOARD or target in failures for target in cause.kills)
