"""The repair that comes first, and the reading that confirms it before its part is touched."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from furnace_diag.diagnosis.candidates import Table, told
from furnace_diag.diagnosis.choice import Act, NextReading
from furnace_diag.diagnosis.readings import TOLD_FROM, reading
from furnace_diag.diagnosis.reckoning import COMPARED, LEAST_BITS, MOST_NEVER, Floats, Reckoning
from furnace_diag.diagnosis.repair_cost import expected_repair_cost
from furnace_diag.diagnosis.telltale import PLAINEST, plainness
from furnace_diag.diagnosis.verdict import BOARD
from furnace_diag.diagnosis.weigh import if_something_else
from furnace_diag.knowledge.models import Experiment, Point, Sign
from furnace_diag.knowledge.repair_models import Repair
from furnace_diag.knowledge.repairs import confirmed_by, read_before, repairs_for

SAYS_SO = 0.5  # share of the other failures under which what confirms a repair must show that it is wrong, judgement
TAKEN_AWAY = 0.5  # share of the belief that a reading must leave at most, if it shows otherwise, to confirm anything by showing as expected, judgement
IN_VAIN = 0.1  # share of the repairs of what is plainly shown that change nothing all the same, judgement: nobody has counted
QUICK = 5.0  # minutes that what a repair names may take to be read before it whatever the repair costs, judgement: nobody saves them
SPEAKS_FOR = float(np.log(2))  # log of how many times likelier a record is with a failure, to speak for it, judgement
PLAIN = 1.5  # bits by which a reading must show a failure more plainly than any record does, to be asked for before its repair, judgement
MORE_LIKELY = 0.5  # belief in a part: more likely than not
NOT_USUAL = -1  # the number of a candidate that is none of the usual keys: what is read again with another meter
AS_TELLING = 0.9  # of what the most telling check tells: checks that tell as much are as good, judgement


def act(reckoning: Reckoning, table: Table, now: float, *, needs_proof: bool, settled: bool = False) -> Act:
    """Putting right what comes first by probability over cost, and the reading that would best confirm it. *settled*: what is likeliest comes first."""
    belief = reckoning.belief
    part = int(np.argmax(belief if settled else belief / reckoning.costs))
    mine = np.where(reckoning.part_of == part, reckoning.posterior.failures, 0)
    leads = int(mine.argmax())
    fault, mended = reckoning.evidence.population.faults[leads], _mended_with(reckoning, leads)
    check = _best_check(reckoning, table, part, leads, mended)
    rest = np.where(np.arange(len(belief)) == part, 0, belief)
    left = expected_repair_cost((rest / max(1 - belief[part], 1e-9))[None, :], reckoning.costs, reckoning.otherwise)
    says = reckoning.evidence.family.failure(fault).says
    probability, in_all = float(mine[mended].sum()), float(reckoning.costs[part] + left[0])
    unproved, repair = needs_proof and fault.part == BOARD, _repair_of(reckoning, leads)
    confirm = () if repair is None else confirmed_by(reckoning.k, repair, reckoning.read, fault.failure)
    cautions = () if repair is None else reckoning.evidence.cautions(repair)
    return Act(fault.part, fault.failure, says, probability, float(belief[part]), check, now, in_all, unproved, confirm, cautions)


def glance(reckoning: Reckoning, table: Table, quicker_than: float) -> NextReading | None:
    """A look by which the part that is more likely than not would show itself, where it takes less than *quicker_than* minutes; None where none would.

    Mending in order of cost, one would go to that part without it; but whoever goes there looks first, and is spared the repair where it is not that.
    """
    leads = int(reckoning.posterior.failures.argmax())
    if float(reckoning.posterior.failures[reckoning.part_of == reckoning.part_of[leads]].sum()) < MORE_LIKELY:
        return None
    plain = _plain(reckoning, _mended_with(reckoning, leads))
    first = _telltale(reckoning, table, plain, _plainly_shown(reckoning, leads, plain), try_it=False)
    if first is None or not _is_a_look(reckoning.entry(table.keys[first])) or reckoning.minutes_of(table.keys[first]) >= quicker_than:
        return None
    return _taken(reckoning, table, first)


def _is_a_look(entry: Point | Sign) -> bool:
    """Whether it takes neither an instrument nor a change at the furnace."""
    return isinstance(entry, Sign) and not isinstance(entry, Experiment)


def _repair_of(reckoning: Reckoning, number: int) -> Repair | None:
    """The repair of failure *number*; None where the rules have none."""
    fault = reckoning.evidence.population.faults[number]
    try:
        return repairs_for(reckoning.k, fault.part, fault.failure)
    except KeyError:
        return None


def _mended_with(reckoning: Reckoning, number: int) -> NDArray[np.bool_]:
    """The failures of the same part that the repair of failure *number* puts right; all of them where the rules have no repair of it."""
    repair, part = _repair_of(reckoning, number), reckoning.part_of == reckoning.part_of[number]
    return np.array([bool(same) and _repair_of(reckoning, i) is repair for i, same in enumerate(part)])


def _best_check(reckoning: Reckoning, table: Table, part: int, leads: int, mended: NDArray[np.bool_]) -> NextReading | None:
    """The reading that confirms a repair: what the repair itself names, what shows its failures by itself, what reads at both ends of what they open, or what
    best parts it from all else.

    Nothing but what the repair names where a record shows what hardly anything else brings about; and of that only what would show the failure more
    plainly than any record does, or takes less than would be lost by a part replaced in vain, as often as there is something else before anything is
    read. Else all that the repair names is read in the end, whether it parts anything known or not, for it may tell of a failure that nobody wrote down:
    that a load has what it needs, or that a switch should have closed, is shown by nothing else.
    *leads*: the likeliest of the part's failures. *mended*: the failures that the repair puts right.
    """
    if not table.keys:
        return None
    plain = _plain(reckoning, mended)
    shown = _plainly_shown(reckoning, leads, plain)
    named = list(_asked_by_repair(reckoning, table, leads))
    first = next((i for i in named if table.bits[i] >= LEAST_BITS), None)
    if first is None:
        first = _telltale(reckoning, table, plain, shown)
    if first is None:
        first = next(_candidates(reckoning, table, _ends(reckoning, leads)), None)
    if first is None:
        its_own, at_stake = _bits_of_usual(reckoning, table, plain), max(IN_VAIN * float(reckoning.costs[part]), QUICK)
        first = next((i for i in named if AS_TELLING * its_own[i] > shown or reckoning.minutes_of(table.keys[i]) < at_stake), None)
    if first is None and shown < AS_TELLING * PLAINEST:
        its = _of_failures(reckoning, table, part, mended)
        if (parting := _parting(reckoning, table, np.stack([its, table.chance - its], axis=1))) is not None:
            return parting
        first = next(_asked_by_repair(reckoning, table, leads, reckoning.evidence.population.faults[leads].failure), None)
    return None if first is None else _taken(reckoning, table, first)


def _taken(reckoning: Reckoning, table: Table, i: int) -> NextReading:
    """Candidate *i* as a reading to be taken."""
    return reading(reckoning, table, i, reckoning.minutes_of(table.keys[i]) + reckoning.cost_after(table, i))


def _parting(reckoning: Reckoning, table: Table, known: Floats) -> NextReading | None:
    """The reading that tells most of whether a repair is the right one; of those that tell nearly as much, the quickest.

    One that leaves it where it is, whatever it may well show, something else counted in, confirms nothing; nor does the same at another step
    than it was read at. *known*: how likely each outcome is together with the failures that the repair puts right and with all other known
    ones, shape (outcomes, 2).
    """
    two = known + np.stack([np.zeros(len(known)), _of_something_else(reckoning, table)], axis=1)
    gain = np.where(_denies(table, two, known[:, 1]), told(table, known), 0)
    unread = np.array([key[0] not in reckoning.read for key in table.keys])
    telling = np.flatnonzero(unread & (gain >= LEAST_BITS)).tolist()
    best = _quickest(reckoning, table, gain, telling)
    return None if best is None else _taken(reckoning, table, best)


def _quickest(reckoning: Reckoning, table: Table, bits: Floats, able: Sequence[int]) -> int | None:
    """Of those of the *able* candidates that tell nearly as many *bits* as any, the quickest."""
    most = max((bits[i] for i in able), default=0.0)
    return min((i for i in able if bits[i] >= AS_TELLING * most), key=lambda i: reckoning.minutes_of(table.keys[i]), default=None)


def _asked_by_repair(reckoning: Reckoning, table: Table, leads: int, failure: str = "") -> Iterator[int]:
    """Candidates that the repair of failure *leads* names to be read before its part is touched, those it names first first; at the step that tells most.

    *failure*: its name, where what is named of that failure alone is wanted too.
    """
    repair = _repair_of(reckoning, leads)
    yield from _candidates(reckoning, table, read_before(reckoning.k, repair, failure) if repair is not None else ())


def _ends(reckoning: Reckoning, leads: int) -> Sequence[str]:
    """What reads at both ends of what failure *leads* opens, where its repair names nothing of its own: a wire, a joint, a contact in a plug."""
    repair = _repair_of(reckoning, leads)
    return () if repair is None or read_before(reckoning.k, repair) else reckoning.at_both_ends(leads)


def _candidates(reckoning: Reckoning, table: Table, wanted: Sequence[str]) -> Iterator[int]:
    """Candidates that read what is *wanted* and unread, in that order; each at the step that tells most."""
    bits, never = table.bits, table.unreached
    names = [name for name in wanted if name not in reckoning.read]
    places = [(i, key[0]) for i, key in enumerate(table.keys) if key[0] in names] if names else []
    for name in names:
        yield from sorted((i for i, at in places if at == name and never[i] <= MOST_NEVER), key=lambda i: -bits[i])


def _plain(reckoning: Reckoning, mended: NDArray[np.bool_]) -> Floats:
    """Bits by which each of the usual keys, reading wrong, would show what a repair puts right and nothing else, shape (keys,).

    *mended*: the failures that it puts right.
    """
    its, believed = np.where(mended, reckoning.posterior.failures, 0), np.where(mended, 0, reckoning.posterior.failures)
    of_any = plainness(reckoning.evidence.odd, its, np.where(mended, 0, reckoning.posterior.prior))
    return np.minimum(of_any, plainness(reckoning.evidence.odd, its, believed))  # what all that is left open gives as well shows nothing


def _telltale(reckoning: Reckoning, table: Table, plain: Floats, shown: float, *, try_it: bool = True) -> int | None:
    """The candidate by which what a repair puts right shows itself; of those about as plain the quickest. None where a record shows it about as plainly.

    So a part is not gone to for what others may show as well, whether these rules know of them or not, while a reading is open that hardly any
    other would bring about. *plain*: bits of each usual key. *shown*: how plainly the records show it. *try_it*: by an experiment too.
    """
    bits = _bits_of_usual(reckoning, table, plain)
    able = np.flatnonzero((table.unreached <= MOST_NEVER) & (bits >= shown + PLAIN)).tolist()
    if not try_it:
        able = [i for i in able if not isinstance(reckoning.entry(table.keys[i]), Experiment)]
    fresh = [i for i in sorted(able, key=lambda i: -bits[i])[:COMPARED] if _tells_anew(reckoning, table, i)]
    return _quickest(reckoning, table, bits, fresh)


def _bits_of_usual(reckoning: Reckoning, table: Table, plain: Floats) -> Floats:
    """How plainly each candidate would show what a repair puts right, shape (candidates,). *plain*: bits of each usual key."""
    numbers = np.array([reckoning.evidence.key_number.get(key, NOT_USUAL) for key in table.keys], np.intp)
    return np.where(numbers == NOT_USUAL, 0, plain[numbers])


def _plainly_shown(reckoning: Reckoning, leads: int, plain: Floats) -> float:
    """How plainly the records show failure *leads*: as the plainest of those that speak for it. *plain*: bits of each key."""
    speaks = [records for (records, _), support in zip(reckoning.groups, reckoning.posterior.support[:, leads].tolist(), strict=True) if support > SPEAKS_FOR]
    read = {(r.name, r.step) for records in speaks for r in records}
    numbers_of, keys = reckoning.evidence.numbers_of, reckoning.evidence.shown.keys
    shown = [plain[n] for name, step in read for n in numbers_of.get(name, ()) if step in (keys[n][1], None)]
    return max(map(float, shown), default=0.0)


def _tells_anew(reckoning: Reckoning, table: Table, i: int) -> bool:
    """Whether candidate *i* would restate no record, nor read the same at another step."""
    key = table.keys[i]
    return key[0] not in reckoning.read and reckoning.evidence.home(reckoning.supposed(key, table.bins[table.first[i]]), reckoning.groups) is None


def _of_failures(reckoning: Reckoning, table: Table, part: int, which: NDArray[np.bool_]) -> Floats:
    """How likely each outcome is together with some failures of a part, shape (outcomes,). What is not of the usual readings is shared out evenly."""
    joint, all_of_it = table.parts[:, part], float(reckoning.posterior.failures[reckoning.part_of == part].sum())
    share = float(reckoning.posterior.failures[which].sum()) / max(all_of_it, 1e-300)
    if not (which ^ (reckoning.part_of == part)).any():
        return joint
    weight = np.zeros(len(reckoning.posterior.rows))
    weight[reckoning.rows] = reckoning.weight * which[reckoning.fault]
    shown = reckoning.evidence.shown.of_part(part, weight[reckoning.evidence.failed], np.where(which, reckoning.posterior.failures, 0))
    usual = np.add.reduceat(shown[reckoning.usual_lines], reckoning.usual_starts)
    its = joint * share
    its[: len(usual)] = np.where(table.never[: len(usual)], its[: len(usual)], np.minimum(usual, joint[: len(usual)]))
    return np.asarray(its)


def _denies(table: Table, two: Floats, others: Floats) -> NDArray[np.bool_]:
    """Whether each candidate may well show what takes away half of the belief or more, and mostly does if another known failure is there.

    *two*: each outcome together with it and with all else; *others*: with the other failures that are known.
    """
    whole = two[table.first[0] : table.first[1]].sum(axis=0)
    left = two[:, 0] / np.maximum(two.sum(axis=1), 1e-300)
    denied = (left <= TAKEN_AWAY * whole[0] / whole.sum()) & ~table.never
    chance, of_others = (np.add.reduceat(np.where(denied, each, 0), table.first[:-1]) for each in (two.sum(axis=1), others))
    return np.asarray((chance >= TOLD_FROM * whole.sum()) & (of_others > SAYS_SO * others[table.first[0] : table.first[1]].sum()))


def _of_something_else(reckoning: Reckoning, table: Table) -> Floats:
    """How likely each outcome is together with something else, shape (outcomes,). What is not of the usual readings tells nothing of it."""
    chance = table.chance / max(reckoning.posterior.failures.sum(), 1e-300)
    like, expected = reckoning.on_furnaces(reckoning.posterior.like), reckoning.on_furnaces(reckoning.posterior.prior)
    usual = len(like)
    of = np.repeat(np.arange(len(table.keys)), np.diff(table.first))[:usual]
    lands = np.array([reckoning.evidence.lands[name] for name, _, _ in table.keys])[of]
    shown = np.where(table.never[:usual], 0, if_something_else(like, expected, lands))
    there = 1 - np.bincount(of, np.where(table.never[:usual], chance[:usual], 0))
    chance[:usual] = np.where(table.never[:usual], chance[:usual], shown * (there / np.maximum(np.bincount(of, shown), 1e-300))[of])
    return np.asarray(chance * reckoning.posterior.something_else)
