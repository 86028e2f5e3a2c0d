"""Which record was likely misread, missaid or misheard: what none of the failures that are believed in would give."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from furnace_diag.diagnosis.evidence import Evidence, Group
from furnace_diag.diagnosis.records import same_again
from furnace_diag.diagnosis.weigh import LEAST, Fact, Posterior, likelihood, slip_of

LIKELY_MISREAD = 0.5  # from which a record is to be looked at again, judgement: as likely as not


@dataclass(frozen=True)
class LookAgain:
    """A record that fits badly with the others: as it was *said*, *at* which place; how likely it is wrong if the fault is one of the rules'."""

    said: str
    at: str
    name: str
    step: str | None
    probability: float


def look_again(evidence: Evidence, posterior: Posterior, groups: Sequence[Group]) -> tuple[LookAgain, ...]:
    """Records that are as likely as not wrong and were not looked at twice, the likeliest first; of those that restate one another what fits least."""
    found = []
    for chance, (records, facts) in zip(misread(evidence, posterior, groups), groups, strict=True):
        worst = min(zip(records, facts, strict=True), key=lambda pair: float(pair[1].fit @ posterior.rows))[0]
        if chance >= LIKELY_MISREAD and not any(told.sure and (told is worst or same_again(told, worst)) for told in records):
            found.append((chance, worst))
    found.sort(key=lambda pair: -pair[0])
    return tuple(LookAgain(r.said, str(r.place), r.name, r.step, chance) for chance, r in found)


def misread(evidence: Evidence, posterior: Posterior, groups: Sequence[Group]) -> list[float]:
    """How likely each group of records is a slip, if the fault is one of the failures that are known; shape (groups,), in their order.

    By Bayes' rule on each furnace: the share that the slip has in how likely the group is there (`weigh.likelihood`), over the furnaces as they
    are believed in. Of a failure that comes and goes, a record is a slip where neither its furnace nor the healthy one of its site gives it.
    """
    believed = posterior.rows / max(float(posterior.rows.sum()), LEAST)
    return [float(_share_of_slip(facts, evidence) @ believed) for _, facts in groups]


def _share_of_slip(facts: Sequence[Fact], evidence: Evidence) -> NDArray[np.float64]:
    slip, lands = slip_of(facts)
    likely = likelihood(facts)
    comings = evidence.comings
    likely[comings.rows] = np.maximum(likely[comings.rows], likely[comings.healthy])
    return np.asarray(slip * lands / np.maximum(likely, LEAST))
