"""The next reading: the one after which the repair is expected to cost least, its own minutes and risk counted in; far from any repair the most telling."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from furnace_diag.diagnosis.choice import Act, Choice
from furnace_diag.diagnosis.confirm import MORE_LIKELY, act, glance
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.findings import ProofState
from furnace_diag.diagnosis.groups import Group
from furnace_diag.diagnosis.mended import CHANGED_NOTHING
from furnace_diag.diagnosis.prior import worked_on
from furnace_diag.diagnosis.readings import reading
from furnace_diag.diagnosis.reckoning import OFFERED, Reckoning
from furnace_diag.diagnosis.records import Record
from furnace_diag.diagnosis.weigh import Posterior

LEAST_SPARED = 1.0  # minutes that a reading must spare beyond its own where one part is far ahead, else the repair is gone on with, judgement
WORTH_A_CHECK = 0.2  # belief in a part from which what would confirm its repair may go before what tells more, judgement: below it the check mostly says no
HARDLY = 0.05  # of what mending now costs: a reading that spares less beyond its own minutes spares hardly anything, judgement


def choose(
    evidence: Evidence,
    posterior: Posterior,
    records: Sequence[Record],
    nearest: ProofState | None,
    without: Collection[str] = (),
    never: Collection[tuple[str, str | None]] = (),
    groups: Sequence[Group] = (),
    again: Collection[tuple[str, str | None]] = (),
    running: int | None = None,
) -> Choice:
    """The next reading with two alternatives, or the act that is worth more.

    *nearest*: the proof that a board would still need; its missing readings are part of the board's cost. *without*:
    instruments that are not to be had. *never*: names and steps that are not to be asked for. *groups*: the records with what
    they say of the population, joined where they restate one another. *again*: names and steps of readings in doubt, worth taking
    again with a low-impedance meter where that would read otherwise. *running*: the heat call that is going on, if one is.
    """
    reckoning = Reckoning(evidence, posterior, nearest, groups)
    taken = {*((r.name, r.step) for r in records if not _may_be_seen(evidence, r)), *never}
    table = reckoning.candidates(taken, {name for name, step in taken if step is None}, without, again, _once_more(evidence, records, {*never}, running))
    ranked = reckoning.ranked(table)
    now, least = reckoning.cost_now, min((cost for _, cost in ranked), default=float("inf"))
    named: dict[str, tuple[int, float]] = {}
    for i, cost in ranked:
        named.setdefault(table.keys[i][0], (i, cost))
    readings = tuple(reading(reckoning, table, i, cost) for i, cost in list(named.values())[:OFFERED])
    settled = not ranked and reckoning.belief.max() > MORE_LIKELY  # however dear it is to put right: nothing is left to be read
    worth_mending = settled or now < reckoning.otherwise  # else no part is likely enough to be put right on trial
    to_spare = LEAST_SPARED if reckoning.far_ahead() else 0.0
    to_be_proved = reckoning.board_leads and not ranked  # what its proof still asks for is worth it, whatever that tells
    if to_be_proved or (worth_mending and (now <= least + to_spare)):
        best = act(reckoning, table, now, needs_proof=nearest is not None, settled=settled)
        in_vain = not best.needs_proof and _done_in_vain(evidence, records, best)
        return Choice(readings, None if in_vain and readings else best)
    if worth_mending and ranked and now - least <= HARDLY * now:
        nearly = act(reckoning, table, now, needs_proof=nearest is not None)
        return Choice(readings, None, nearly=nearly if nearly.check is not None and nearly.of_part >= WORTH_A_CHECK else None)
    if not ranked or reckoning.board_leads:
        return Choice(readings, None)
    return Choice(readings, None, glance=glance(reckoning, table, reckoning.minutes_of(table.keys[ranked[0][0]])))


def _may_be_seen(evidence: Evidence, record: Record) -> bool:
    """Whether a record was only told of what a heat call shows: who makes one sees for himself."""
    return record.source == "told" and record.kind == "sign" and record.step is None and bool(evidence.knowledge.sign[record.name].steps)


def _done_in_vain(evidence: Evidence, records: Sequence[Record], best: Act) -> bool:
    """Whether the repair was made already and changed nothing: while anything is left to be read nobody is sent to it again."""
    done = [r for r in records if r.kind == "history" and r.word in CHANGED_NOTHING]
    return any(worked_on(evidence.family, r)[evidence.family.failures.index(f"{best.part}:{best.failure}")] for r in done)


def _once_more(
    evidence: Evidence, records: Sequence[Record], never: Collection[tuple[str, str | None]], running: int | None
) -> dict[tuple[str, str | None], int]:
    """Readings of a heat call that proofs ask for and that were taken in one call alone, with the call in which they tell anew: what was misread once
    hardly is in two calls, and a proof wants two anyway. Not what was looked at twice, nor what is *never* to be had.
    """
    order = evidence.family.sequence.order[1:]
    now = max([r.call for r in records], default=1) if running is None else running
    read: dict[tuple[str, str | None], list[Record]] = {}
    for r in records:
        if r.kind == "point" and r.step in order and (r.name, r.step) in evidence.asked_by_proofs:
            read.setdefault((r.name, r.step), []).append(r)
    once = {key: rs for key, rs in read.items() if len({r.call for r in rs}) == 1 and not any(r.sure for r in rs) and key not in never}
    return {key: now if now > rs[0].call else now + 1 for key, rs in once.items()}
