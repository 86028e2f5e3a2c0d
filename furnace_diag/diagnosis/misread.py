"""Which record is to be looked at again: what none of the failures that are believed in would give, and what all belief in a repair rests on."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.groups import Group
from furnace_diag.diagnosis.two_answers import same_again
from furnace_diag.diagnosis.weigh import LEAST, Fact, Posterior, on_any_site, slip_of

LIKELY_MISREAD = 0.5  # from which a record is to be looked at again, judgement: as likely as not
MUCH_AGAINST = float(np.log(0.4))  # log of how much likelier a record is with a failure than with any, below which it speaks strongly against it, judgement
RESTS_ON = 0.25  # belief in a part without a record, below which it rests on that one record, judgement


class LookAgain(NamedTuple):
    """A record to be looked at again: as it was *said*, *at* which place.

    *probability*: how likely it is wrong if the fault is one of the rules'; of one that a repair rests on, what would be believed of the part without it.
    """

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


def speaks_against(evidence: Evidence, posterior: Posterior, groups: Sequence[Group], fault: str) -> LookAgain | None:
    """The record, not looked at twice, that speaks most against a failure that would be put right, where that is less likely with it than MUCH_AGAINST of
    what it is with any; None where there is none."""
    support = posterior.support[:, evidence.family.failures.index(fault)].tolist()
    told = zip(support, misread(evidence, posterior, groups), groups, strict=True)
    found = [(s, chance, records) for s, chance, (records, _) in told if s < MUCH_AGAINST and not any(r.sure for r in records)]
    if not found:
        return None
    _, chance, (record, *_) = min(found, key=lambda one: one[0])
    return LookAgain(record.said, str(record.place), record.name, record.step, chance)


def rests_on(evidence: Evidence, posterior: Posterior, groups: Sequence[Group], part: str) -> LookAgain | None:
    """The record, not looked at twice, without which *part* would be believed in least, where that is less than RESTS_ON; None where there is none."""
    number, known = evidence.parts.index(part), 1 - posterior.something_else
    failed = evidence.failed
    its = evidence.part_of[evidence.population.fault_of[failed]] == number
    found = []
    for records, facts in groups:
        left = (posterior.rows / np.maximum(_in_any_call(facts, evidence, posterior), LEAST))[failed]
        belief = float(left[its].sum() / max(float(left.sum()), LEAST)) * known
        if belief < RESTS_ON and not any(told.sure for told in records):
            found.append((belief, records[0]))
    if not found:
        return None
    belief, record = min(found, key=lambda pair: pair[0])
    return LookAgain(record.said, str(record.place), record.name, record.step, belief)


def misread(evidence: Evidence, posterior: Posterior, groups: Sequence[Group]) -> list[float]:
    """How likely each group of records is a slip, if the fault is one of the failures that are known; shape (groups,), in their order.

    By Bayes' rule on each furnace: the share that the slip has in how likely the group is there (`weigh.on_any_site`), over the furnaces as they
    are believed in. Of a failure that comes and goes, a record is a slip where neither its furnace nor the healthy one of its site gives it.
    """
    believed = posterior.rows / max(float(posterior.rows.sum()), LEAST)
    return [float(_share_of_slip(facts, evidence, posterior) @ believed) for _, facts in groups]


def _share_of_slip(facts: Sequence[Fact], evidence: Evidence, posterior: Posterior) -> NDArray[np.float64]:
    slip, lands = slip_of(facts)
    return np.asarray(slip * lands / np.maximum(_in_any_call(facts, evidence, posterior), LEAST))


def _in_any_call(facts: Sequence[Fact], evidence: Evidence, posterior: Posterior) -> NDArray[np.float64]:
    """How likely a group is in each row; of a failure that comes and goes, with it or without, whichever gives it oftener."""
    likely = on_any_site(facts, evidence.population, posterior.site_weight)
    comings = evidence.comings
    likely[comings.rows] = np.maximum(likely[comings.rows], likely[comings.healthy])
    return likely
