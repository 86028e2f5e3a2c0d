"""Readings told without their steps: a row of them is mostly of one moment, and what no one moment gives together speaks against a failure."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.groups import Group
from furnace_diag.diagnosis.step_taken import UNSTATED_STEP
from furnace_diag.diagnosis.weigh import LEAST, Fact


def one_moment(evidence: Evidence, groups: Sequence[Group]) -> Fact | None:
    """How many times likelier each furnace gives a row of readings together than each by itself; None where no two are of such a row.

    By itself each may be of where the call stops, of where it rests or of any step (`UNSTATED_STEP`). Together they are all of where it stops, or all of
    where it rests, or each of any: a limit that is read closed at one end of the string and open at the other was not read so at two times.
    Its `fit`, shape (furnaces,), is that factor, which may be over 1; it is no slip.
    """
    each = [(fact, ends) for records, (fact, *more) in groups if not more and (ends := evidence.at_its_ends(records[0])) is not None]
    if len(each) < 2 or len({fact.call for fact, _ in each}) > 1:
        return None
    alone, together = np.ones(each[0][1].shape[1]), np.ones(each[0][1].shape)
    for fact, ends in each:
        together *= (1 - fact.slip) * ends + fact.slip * fact.lands
        alone *= (1 - fact.slip) * fact.fit + fact.slip * fact.lands
    where_it_stops, where_it_rests, any_step = UNSTATED_STEP
    of_a_row = where_it_stops * together[0] + where_it_rests * together[1]
    return Fact("one moment", any_step + of_a_row / np.maximum(alone, LEAST), slip=0.0, call=each[0][0].call)
