"""What the model itself says against a failure: records that no furnace with it could give, and how well it fits all of them."""

from __future__ import annotations

from collections.abc import Collection, Mapping

import numpy as np
from numpy.typing import NDArray

from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.groups import Group
from furnace_diag.diagnosis.weigh import Fact, Posterior

IMPOSSIBLE = 0.02  # fit of the best furnace below which a record cannot come from a failure; four errors off, by Student's t
LEAST_PRIOR = 1e-12  # of a failure; below it only stands in for nought in a division


def impossible_with(
    evidence: Evidence, groups: Collection[Group], failures: Collection[str], calls: Collection[int] | None = None, given: Collection[str] = ()
) -> tuple[str, ...]:
    """The records, as they were said, that no furnace with any of *failures* gives; of heat *calls* if they are named.

    *given*: what was said of records that such a furnace does give; they are not held against it, and of its furnaces those
    that give them are asked, if there are any. A failure that comes and goes gives what a healthy furnace gives as well.
    """
    pairs = [(record, fact) for records, facts in groups for record, fact in zip(records, facts, strict=True)]
    told = [(r, f) for r, f in pairs if calls is None or r.call in calls]
    rows = _rows_of(evidence, failures)
    for record, fact in told:
        if record.said in given and (rows & gives(fact)).any():
            rows = rows & gives(fact)
    if not rows.any():
        return ()
    return tuple(r.said for r, f in told if r.said not in given and not gives(f)[rows].any())


def gives(fact: Fact) -> NDArray[np.bool_]:
    """Which furnaces can give what was read or seen, shape (rows,)."""
    return np.asarray(fact.fit >= IMPOSSIBLE)


def _rows_of(evidence: Evidence, failures: Collection[str]) -> NDArray[np.bool_]:
    """Furnaces of the population that have one of *failures*, and the healthy ones of the sites where it comes and goes."""
    numbers = [i for i, f in enumerate(evidence.population.faults) if str(f) in failures]
    rows = np.isin(evidence.population.fault_of, numbers)
    coming = np.isin(evidence.comings.rows, np.flatnonzero(rows))
    rows[evidence.comings.healthy[coming]] = True
    return rows


def fits(evidence: Evidence, posterior: Posterior) -> Mapping[str, float]:
    """Of each failure how likely the records are with it, against the failure that fits them best: what they say without any odds before them."""
    likely = np.where(posterior.prior > LEAST_PRIOR, posterior.failures / np.maximum(posterior.prior, LEAST_PRIOR), 0.0)
    best = max(float(likely.max(initial=0.0)), LEAST_PRIOR)
    return dict(zip(evidence.family.failures, (likely / best).tolist(), strict=True))
