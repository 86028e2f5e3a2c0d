"""One belief, with what parts cost, what could be read next, and what each reading is worth.

A reading is worth what mending in another order then spares, its own minutes and risk counted in. Costs are in minutes: the price of a part is
divided by what a minute costs. Source of the scheme: Heckerman, Breese and Rommelse (1995), "Decision-theoretic troubleshooting", Communications of
the ACM 38(3), 49-57.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from furnace_diag.diagnosis.bins import BINS, NEVER_BIN, OPEN_BIN, bins_of_numbers, different, error_of, outcomes_of
from furnace_diag.diagnosis.candidates import Table, entropy_terms, joined
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.findings import ProofState
from furnace_diag.diagnosis.groups import Group
from furnace_diag.diagnosis.records import Record
from furnace_diag.diagnosis.repair_cost import cost_of_turning, expected_repair_cost
from furnace_diag.diagnosis.shown import NEVER, Shown, shown_by
from furnace_diag.diagnosis.verdict import BOARD
from furnace_diag.diagnosis.weigh import Fact, Posterior, if_something_else, likelihood
from furnace_diag.furnace.built import WHOLE_CALL, Key
from furnace_diag.knowledge.finding_models import Condition, Wanted
from furnace_diag.knowledge.models import Point, Sign
from furnace_diag.problems import Place

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

OFFERED = 3  # readings that are offered: the best and what else would do
ROUNDED = 1e-5  # minutes that are nothing: a reading that would cost more than this beyond all that are offered, were it never misread, is not reckoned
COMPARED = 12  # candidates whose repair cost is reckoned, the best by what they tell and by what they tell a minute
NOTHING_MORE: Mapping[tuple[str, str | None], int] = {}
NOWHERE = Place("next reading", 1, 1)  # of a record that nobody has made yet
LEAST_CHANCE = 0.005  # an outcome less likely than this is reckoned to change nothing
OF_EACH = 8  # furnaces of each failure, picked by what is believed of them, that stand for all when it is reckoned what a reading would change
LEAST_BITS = 0.02  # a reading that tells less is not worth a step to the furnace, judgement
MOST_NEVER = 0.4  # a reading that the furnace will more likely than this not come to is not asked for, judgement
FAR_AHEAD = 0.75  # belief in a part from which little is left to be told apart, judgement
LEAST_SHARE = 1e-6  # of what was believed of a failure before that is believed of it at least, where it is reckoned what its part costs
LEAST_ROW = 1e-3  # furnaces below this share of the likeliest are left out of the reckoning
FAR_FROM_MENDING = 0.5  # share of finding the fault whatever it is that mending now costs, from which a reading is worth what it tells, judgement
SHARPER = 0.3  # bits that a figure held against furnaces hardly ever tells beyond its outcomes: of 280 reports the first reading was another in 2
MINUTES_OF_A_BIT = 15.0  # that a bit of which part it is is worth then: a few readings, and what goes wrong meanwhile, judgement
PROOF_FIRST_FROM = 0.5  # belief in the board, more than in all else, from which only what its proof asks for is read, judgement
HARDLY_BELIEVED = 0.1  # belief in all that costs so much less than the board that it would be put right before it, judgement
OF_THE_BOARD = 6.0  # minutes that it is worth that a proof of the board asks for a reading: be it bad or good, that is asked in the end, judgement
NEARLY_AS_TELLING = 0.6  # of what the most telling one tells, from which a reading tells nearly as much, judgement
PROOF_STEP_MINUTES = 2.0  # of a condition that names no reading with minutes of its own, judgement


class _After(NamedTuple):
    """What would be believed after each outcome of a candidate, as `weigh` would.

    *chance*: of each outcome, shape (outcomes,), sums to 1. *failures*: shape (outcomes, failures); with *other*, shape (outcomes,), each sums to 1.
    """

    chance: Floats
    failures: Floats
    other: Floats


def standing_for(weight: Floats, fault: NDArray[np.intp]) -> tuple[NDArray[np.intp], Floats]:
    """OF_EACH or fewer furnaces of each failure, which stand for all of it, with the weight that each then has.

    Picked at even steps of the failure's weight, so that heavy furnaces stand for themselves and light ones for their neighbours; the
    weight of a failure stays what it was. *fault*: of each furnace, furnaces of one failure beside one another.
    """
    before = np.cumsum(weight) - weight
    starts = np.flatnonzero(np.diff(fault, prepend=-1))
    total = np.add.reduceat(weight, starts) if len(starts) else weight
    marks = before[starts][:, None] + total[:, None] * (np.arange(OF_EACH) + 0.5) / OF_EACH
    ends = np.append(starts[1:], len(fault)) - 1
    at = np.clip(np.searchsorted(before, marks, side="right") - 1, starts[:, None], ends[:, None])
    picked, times = np.unique(at, return_counts=True)
    step = np.repeat(total, np.diff(np.searchsorted(picked, np.append(starts, len(fault))))) / OF_EACH
    return picked, np.asarray(times * step)


def _of_rows(fact: Fact, rows: NDArray[np.intp]) -> Fact:
    """What a fact says of some furnaces."""
    return fact._replace(fit=fact.fit[rows])


class Reckoning:
    """One belief, with what parts cost and what each candidate would show."""

    def __init__(self, evidence: Evidence, posterior: Posterior, nearest: ProofState | None, groups: Sequence[Group] = ()) -> None:
        self.evidence, self.posterior, self.k = evidence, posterior, evidence.knowledge
        self.asked_again: frozenset[Key] = frozenset()  # what a doubt wants read again
        self.once_more: Mapping[tuple[str, str | None], int] = {}  # what tells anew in a heat call to come, by name and step, and in which
        self.parts, self.part_of = evidence.parts, evidence.part_of
        self.sums = (self.part_of[:, None] == np.arange(len(self.parts))).astype(float)
        self.otherwise = evidence.words.choice.otherwise
        self.costs = self._costs(np.maximum(posterior.failures, LEAST_SHARE * posterior.prior))
        self.spares: Mapping[tuple[str, str], float] = {}
        self.proof_minutes = 0.0
        self.board_leads = False
        if nearest is not None and BOARD in self.parts:
            read = {(r.name, r.step) for records, _ in groups for r in records}
            self.proof_minutes = self._proof_minutes(nearest)
            self.costs[self.parts.index(BOARD)] += self.proof_minutes
            self.spares = self._asked_by_proof(nearest, read)
            self.board_leads = self._leads(self.parts.index(BOARD))
        fault_of = evidence.population.fault_of
        self.rows = np.flatnonzero(posterior.rows > LEAST_ROW * posterior.rows.max(initial=0))
        self.weight, self.fault = posterior.rows[self.rows], fault_of[self.rows].astype(np.intp)
        others = evidence.few_of_each
        each = np.bincount(fault_of[others], minlength=len(self.part_of))
        self.other_weight = (np.stack([posterior.like, posterior.prior]) / np.maximum(each, 1))[:, fault_of[others]]
        picked, self.picked_weight = standing_for(self.weight, self.fault)
        self.picked_fault = self.fault[picked]
        self.picked_starts = np.flatnonzero(np.diff(self.picked_fault, prepend=-1))
        self.both = np.concatenate([self.rows[picked], others])  # furnaces that stand for those believed in, then those for something else
        self.among = evidence.among(self.both)
        self.good = evidence.population.good_at[evidence.population.good_at >= 0]
        self.weighed: dict[Key, _After] = {}
        self.binned: dict[Key, tuple[Floats, Floats, NDArray[np.int16]]] = {}
        self.read = {r.name for records, _ in groups for r in records}
        self.other_calls = {c.step for c in evidence.family.sequence.other_calls} - {r.step for records, _ in groups for r in records}
        self.groups = [(records, [_of_rows(f, self.both) for f in facts]) for records, facts in groups]

    def _costs(self, believed: Floats) -> Floats:
        """Of putting each part right [min], shape (parts,): its failures are put right in different ways, so it is what that costs on average.

        *believed*: of each failure, more than nothing of each that is met at all.
        """
        whole = np.maximum(self.by_part(believed), 1e-300)
        return np.asarray(self.by_part(believed * self.evidence.repair_minutes) / whole)

    def _proof_minutes(self, proof: ProofState) -> float:
        """Minutes of the readings that a proof still lacks."""
        names = [w.names[0][1] for n in proof.missing for w in self.k.condition[n.condition].any_of[0]]
        entries = [self.k.point.get(name) or self.k.sign.get(name) for name in names]
        return sum(PROOF_STEP_MINUTES if e is None else e.minutes for e in entries)

    def _leads(self, part: int) -> bool:
        """Whether a part is believed more than all others together, and would be put right first but for what is hardly believed."""
        worth = self.belief / self.costs
        return bool(self.belief[part] >= PROOF_FIRST_FROM and self.belief[worth > worth[part]].sum() < HARDLY_BELIEVED)

    def far_ahead(self) -> bool:
        """Whether one part is believed so much that little is left to be told apart."""
        return bool(self.belief.max() >= FAR_AHEAD)

    def _asked_by_proof(self, proof: ProofState, read: Collection[tuple[str, str | None]]) -> Mapping[tuple[str, str], float]:
        """Names and steps of what a proof still lacks, with the minutes that are then spared in proving the board. *read*: those of the records."""
        unmet = [self.k.condition[n.condition] for n in proof.missing if n.condition in self.k.condition and not n.met_by]
        lines = [line for condition in unmet for line in self._soonest_met(condition, read)]
        return {(line.names[0][1], step): self.evidence.minutes[line.names[0][1]] for line in lines for step in (line.step or ("", WHOLE_CALL))}

    def _soonest_met(self, condition: Condition, read: Collection[tuple[str, str | None]]) -> Sequence[Wanted]:
        """What is still to be read of the ways to meet a condition that take the fewest minutes more; all of a way of which all is *read* and does not meet it,
        for it may have been taken otherwise than the way wants."""
        minutes = self.evidence.minutes
        ways = ([w for w in way if (w.point or w.sign) and w.names[0][1] in minutes] for way in condition.any_of)
        lines = [way for way in ways if way]
        unread = [[w for w in way if not any((w.names[0][1], step) in read for step in w.step or (None,))] for way in lines]
        left = [some or way for some, way in zip(unread, lines, strict=True)]
        takes = [sum(minutes[w.names[0][1]] for w in way) for way in left]
        return [w for way, long in zip(left, takes, strict=True) if long == min(takes) for w in way]

    def _spared(self, key: Key) -> float:
        """Minutes less that the board costs once a reading has been taken which its proof asks for anyway."""
        return self.spares.get((key[0], key[1]), 0.0)

    def _for_the_board(self, table: Table, best: Sequence[int], bits: Floats) -> Mapping[int, float]:
        """Minutes that candidates are worth beyond what they spare, where they tell of the board itself as a proof asks it to be told, each name once.

        Only of those that tell nearly as much as the most telling. *bits*: of all.
        """
        enough, asked = NEARLY_AS_TELLING * bits[best].max(initial=0), self.evidence.asked_by_proofs
        keys = {i: table.keys[i] for i in best}
        return {i: OF_THE_BOARD if bits[i] >= enough and k[0] not in self.read and (k[0], k[1]) in asked else 0.0 for i, k in keys.items()}

    @cached_property
    def leads(self) -> int:
        """The number of the likeliest failure."""
        return int(self.posterior.failures.argmax())

    def at_both_ends(self, failure: int) -> tuple[str, ...]:
        """Points at both ends of what a failure, by its number, opens or makes poor. None of the board's: its proofs say what is read."""
        fault = self.evidence.population.faults[failure]
        return () if fault.part == BOARD else self.evidence.bracket.of(fault)

    def by_part(self, joint: Floats) -> Floats:
        """Failures' columns summed into their parts', shape (rows, parts)."""
        return np.asarray(joint @ self.sums)

    @cached_property
    def belief(self) -> Floats:
        """In each part, shape (parts,)."""
        return self.by_part(self.posterior.failures)

    @cached_property
    def order_now(self) -> NDArray[np.intp]:
        """The parts in the order in which they would be mended without another reading, up to where one turns to finding it whatever it is."""
        order = np.argsort(-self.belief / self.costs, kind="stable")
        return order[: int(cost_of_turning(self.belief[None, :], self.costs, self.otherwise, order[None, :])[0].argmin())]

    @cached_property
    def cost_now(self) -> float:
        """Of mending without another reading [min]."""
        return float(self._cost_as_now(self.belief[None, :])[0])

    def _cost_as_now(self, belief: Floats) -> Floats:
        """Of mending in the order in which it would be done without another reading, were that believed [min], shape (cases,).

        *belief*: of each part, shape (cases, parts).
        """
        return cost_of_turning(belief, self.costs, self.otherwise, self.order_now[None, :])[:, -1]

    def _spares(self, belief: Floats, costs: Floats) -> Floats:
        """What it spares to know that this is to be believed [min], shape (cases,): it is mended in another order than it would be now, or at other *costs*.

        Nothing where it would be mended as now. So what merely makes surer is worth nothing, however often that is what comes of it.
        """
        return self._cost_as_now(belief) - expected_repair_cost(belief, costs, self.otherwise)

    # --- candidates ------------------------------------------------------------------------

    def candidates(
        self,
        taken: Collection[tuple[str, str | None]],
        named: Collection[str],
        without: Collection[str],
        again: Collection[tuple[str, str | None]] = (),
        once_more: Mapping[tuple[str, str | None], int] = NOTHING_MORE,
    ) -> Table:
        """Everything that could be read or looked at and has not been, with what it would show.

        *taken*: names with the step at which they were read; *named*: names read at no stated step, which are not asked for again;
        *again*: those of *taken* that are, with a low-impedance meter. *once_more*: those that tell anew in a heat call to come, and in which.
        """
        self.once_more = once_more
        lacking = self.evidence.points_read_with(without)
        tables = [self._usual(self._free(lacking.union(named), [t for t in taken if t not in once_more]))]
        doubted = {name for name, _ in again} - lacking
        low = [k for k in self.evidence.low_keys if k[0] in doubted and (k[:2] in again or (k[0], None) in again)]
        self.asked_again = frozenset(low)
        if low and len(self.rows):
            tables.append(self._table(shown_by(self.evidence, low, self.rows), self.weight, np.ones(len(low), bool))[0])
        return joined(tables)

    def _free(self, shut: Collection[str], taken: Collection[tuple[str, str | None]]) -> Flags:
        """Which of the usual keys may be asked for: none of what is *shut*, nor what was *taken* at its step; what has no step is taken at any.

        Nor what reads as on a good furnace whatever of what is believed in it is, but for what a repair asks for before it, by name or at both ends of
        what the likeliest failure opens.
        """
        keys, numbers_of = self.evidence.shown.keys, self.evidence.numbers_of
        not_asked = [number for name in shut for number in numbers_of.get(name, ())]
        not_asked += [number for name, step in taken for number in numbers_of.get(name, ()) if keys[number][1] in ("", step)]
        asked = self.evidence.telling(self.posterior.failures) | self.evidence.asked_by_repairs
        asked[[number for name in self.at_both_ends(self.leads) for number in numbers_of.get(name, ())]] = True
        free = self.evidence.shown.as_reported & asked
        free[not_asked] = False
        return free

    def _usual(self, free: Flags) -> Table:
        """What can be seen with a usual meter and the eye. *free*: which of the usual keys may be asked for."""
        weight = np.zeros(len(self.posterior.rows))
        weight[self.rows] = self.weight
        table, self.usual_lines, self.usual_starts = self._table(self.evidence.shown, weight[self.evidence.failed], free)
        return table

    def _table(self, shown: Shown, weight: Floats, free: Flags) -> tuple[Table, NDArray[np.intp], NDArray[np.intp]]:
        """Candidates among what is shown, with the lines of it that they have and where among these each outcome starts.

        Readings of a point that cannot be told apart are one outcome. *weight*: of each furnace of *shown*; *free*: which of its keys are candidates.
        """
        lines = np.flatnonzero(free[shown.column])
        parts = shown.by_part(weight, self.posterior.failures, lines)
        met = (parts.sum(axis=1) > 0) | (lines >= shown.points)
        lines, parts = lines[met], parts[met]
        column, bins = shown.column[lines], shown.bins[lines]
        points = int(np.searchsorted(lines, shown.points))
        new = np.ones(len(lines), bool)
        new[:points] = np.diff(outcomes_of(column[:points] * BINS + bins[:points]), prepend=-1) != 0
        starts = np.flatnonzero(new)
        first = np.searchsorted(column[starts], np.append(np.flatnonzero(free), len(free)))
        ends = np.append(starts, len(lines))[1:] - 1
        keys = [key for key, may in zip(shown.keys, free.tolist(), strict=True) if may]
        joint = _together(parts, starts)
        never = bins[starts] == np.where(np.arange(len(starts)) < np.searchsorted(starts, points), NEVER_BIN, NEVER)
        mean = self.belief / max(self.posterior.failures.sum(), 1e-300)
        joint[never] = joint[never].sum(axis=1, keepdims=True) * mean
        return Table(keys, joint, first, np.stack([bins[starts], bins[ends]], axis=1), never), lines, starts

    # --- what they are worth ---------------------------------------------------------------

    def ranked(self, table: Table) -> list[tuple[int, float]]:
        """Candidates with minutes of reading and of the repair after it, the one to take first first: the cheapest, or far from mending the most telling;
        a little dearer is one that tells of the board as its proofs ask.

        Far from it hardly any single reading leads to a repair, so that what they spare says next to nothing of what is to be read first.
        """
        if not table.keys:
            return []
        bits = np.where(table.unreached <= MOST_NEVER, table.bits, 0)
        minutes = self.minutes(table)
        again = [i for i, key in enumerate(table.keys) if key in self.asked_again] if self.asked_again else []
        best = list(dict.fromkeys([*again, *_most(bits, minutes), *_most(bits / minutes, minutes)]))
        if self.board_leads:  # whatever its proof does not ask for would be read on top of it
            best = [i for i in np.argsort(-bits, kind="stable").tolist() if self._spared(table.keys[i])][:COMPARED]
        best = [i for i in best if bits[i] >= LEAST_BITS]
        if not best:
            return []
        spared = np.array([self._spared(table.keys[i]) for i in best])
        at_best = dict(zip(best, (minutes[best] - spared + self._cost_if_exact(table, best)).tolist(), strict=True))
        worth = self._for_the_board(table, best, bits)
        costs: dict[int, float] = {}
        for i in sorted(at_best, key=lambda i: (i not in again, at_best[i])):
            if i not in again and at_best[i] > ROUNDED + OF_THE_BOARD + self._third(table, costs):
                break
            costs[i] = self._cost_at_least(table, i, at_best[i], minutes)
        if self.cost_now < FAR_FROM_MENDING * self.otherwise:
            return [(i, costs[i]) for i in sorted(costs, key=lambda i: (round(costs[i] - worth[i], 6), float(minutes[i]), table.keys[i]))]
        net = {i: float(minutes[i]) - self._spared(table.keys[i]) - worth[i] for i in best}
        first = self._most_telling(table, net, bits, again)
        told_first = [(i, costs.setdefault(i, self._cost_at_least(table, i, at_best[i], minutes))) for i in first]
        return [*told_first, *((i, cost) for i, cost in costs.items() if i not in first)]

    def _most_telling(self, table: Table, net: Mapping[int, float], bits: Floats, again: Collection[int]) -> list[int]:
        """The OFFERED candidates that tell most for their minutes, those taken *again* first; what one tells is reckoned only where it could be among them.

        *net*: of each its minutes, less what the proof is spared and what it is worth that it tells of the board. *bits*: of all, as the table has them.
        """
        at_most = {i: minutes - MINUTES_OF_A_BIT * (float(bits[i]) + SHARPER) for i, minutes in net.items()}
        for_telling: dict[int, float] = {}
        for i in sorted(net, key=lambda i: (i not in again, at_most[i])):
            if i not in again and at_most[i] > self._third(table, for_telling):
                break
            for_telling[i] = net[i] - MINUTES_OF_A_BIT * self._tells(table, i)
        return _first_of_each(table, sorted(for_telling, key=lambda i: (i not in again, round(for_telling[i], 6), table.keys[i])))

    def _tells(self, table: Table, i: int) -> float:
        """Bits that candidate *i* is expected to tell of which of the known parts it is, beside the records that are: what it would restate tells less."""
        after = self.after(table, i)
        there = ~table.never[table.first[i] : table.first[i + 1]]
        return float((after.chance * there) @ (_left_open(self.belief[None, :]) - _left_open(self.by_part(after.failures))))

    def _cost_at_least(self, table: Table, i: int, if_exact: float, minutes: Floats) -> float:
        """Minutes of reading candidate *i* and of the repair after it; *if_exact*: were it never misread. No slip makes a reading worth more."""
        return max(if_exact, float(minutes[i]) + self.cost_after(table, i))

    def _third(self, table: Table, costs: Mapping[int, float]) -> float:
        """What the third best of the readings reckoned so far costs, each name counted once; no bound where there are fewer."""
        named: dict[str, float] = {}
        for i, cost in costs.items():
            named[table.keys[i][0]] = min(cost, named.get(table.keys[i][0], cost))
        return sorted(named.values())[OFFERED - 1] if len(named) >= OFFERED else float("inf")

    def _cost_if_exact(self, table: Table, which: Sequence[int]) -> Floats:
        """Of mending once each of some candidates has been read, were it never misread [min]: hardly more than it then costs, and soon reckoned."""
        rows = [slice(table.first[i], table.first[i + 1]) for i in which]
        starts = np.cumsum([0, *(r.stop - r.start for r in rows[:-1])])
        joint = np.concatenate([table.parts[r] for r in rows])
        there = np.concatenate([~table.never[r] for r in rows])
        chance = joint.sum(axis=1)
        believed = joint * ((1 - self.posterior.something_else) / np.maximum(chance, 1e-300))[:, None]
        spared = np.add.reduceat(np.where(there, chance * self._spares(believed, self.costs), 0), starts)
        return np.asarray(self.cost_now - spared / max(self.posterior.failures.sum(), 1e-300))

    def minutes_of(self, key: Key) -> float:
        """Of taking a reading, with what its risks weigh, and of making the call that it wants [min]."""
        to_call = self.evidence.words.choice.other_call if self._wants_a_call(key) else 0.0
        return self.evidence.minutes[key[0]] + to_call

    def _wants_a_call(self, key: Key) -> bool:
        """Whether a call is to be made for it that is not going on."""
        return key[1] in self.other_calls or (key[0], key[1]) in self.once_more

    def minutes(self, table: Table) -> Floats:
        """The same of every candidate."""
        each, to_call = self.evidence.minutes, self.evidence.words.choice.other_call
        return np.array([each[key[0]] + to_call if self._wants_a_call(key) else each[key[0]] for key in table.keys])

    def entry(self, key: Key) -> Point | Sign:
        return self.k.point[key[0]] if key[0] in self.k.point else self.k.sign[key[0]]

    def cost_after(self, table: Table, i: int) -> float:
        """Of mending once candidate *i* has been read, over its outcomes [min]."""
        after = self.after(table, i)
        costs = self.costs.copy()
        if spared := self._spared(table.keys[i]):
            costs[self.parts.index(BOARD)] -= min(spared, self.proof_minutes)
        there = ~table.never[table.first[i] : table.first[i + 1]]
        return self.cost_now - float((after.chance * there) @ self._spares(self.by_part(after.failures), costs))

    def after(self, table: Table, i: int) -> _After:
        """What would be believed after each outcome of candidate *i*: the belief weighed with the record that would then be made."""
        key = table.keys[i]
        if key not in self.weighed:
            self.weighed[key] = self._weighed(table, i)
        return self.weighed[key]

    def _weighed(self, table: Table, i: int) -> _After:
        rows = slice(table.first[i], table.first[i + 1])
        shown = table.parts[rows].sum(axis=1)
        chance = shown / max(shown.sum(), 1e-300)
        failures = np.tile(self.posterior.failures, (len(chance), 1))
        other = np.full(len(chance), self.posterior.something_else)
        able = np.flatnonzero(~table.never[rows] & (chance >= LEAST_CHANCE))
        if len(able):
            likely, mine = self._likelihoods(table.keys[i], table.bins[rows][able]), len(self.picked_fault)
            believed = likely[:, :mine] * self.picked_weight
            failures[able] = 0
            failures[np.ix_(able, self.picked_fault[self.picked_starts])] = np.add.reduceat(believed, self.picked_starts, axis=1)
            like, expected = self.other_weight @ likely[:, mine:].T
            other[able] *= if_something_else(like, expected, self.evidence.lands[table.keys[i][0]])
        whole = failures.sum(axis=1) + other
        return _After(chance, failures / whole[:, None], other / whole)

    def _likelihoods(self, key: Key, outcomes: NDArray[np.intp]) -> Floats:
        """Of the records that would be made of the *outcomes* of a candidate, beside those that are; shape (outcomes, rows believed in and others)."""
        record = self.supposed(key, outcomes[0])
        values = [self._value(key, bins) for bins in outcomes]
        fact = self.among.fact(record, values)
        assert fact is not None
        home = self.evidence.home(record, self.groups)
        if home is not None:
            stand = [] if all(told.source == "told" for told in home[0]) else home[1]  # what was only told gives way to what is seen
            return likelihood([*stand, fact]) / likelihood(home[1])
        likely, as_good = likelihood([fact]), self.evidence.reads_as_good(key[0]) if key[0] in self.k.point else None
        if as_good is not None and len(self.good):  # as `weigh.on_any_site`
            on_good = self.evidence.among(self.good).fact(record, values)
            assert on_good is not None
            likely[:, as_good[self.both]] = np.average(likelihood([on_good]), axis=1, weights=self.posterior.site_weight[self.good])[:, None]
        return likely

    def supposed(self, key: Key, bins: NDArray[np.intp]) -> Record:
        """The record that would be made of an outcome."""
        name, step, meter = key
        where, value = None if step in ("", WHOLE_CALL) else step, self._value(key, bins)
        call = self.once_more.get((name, where), 1)
        if isinstance(value, str):
            return Record("sign", name, name, NOWHERE, word=value, step=where, call=call)
        return Record("point", name, name, NOWHERE, number=value, step=where, meter="low" if meter == "low" else None, call=call)

    def _value(self, key: Key, bins: NDArray[np.intp]) -> str | float:
        """What would be told of an outcome: the word, or the reading halfway between the ends, for where most furnaces stand by one end,
        their mean could lie an error from the next outcome's.
        """
        if key[0] in self.k.sign:
            return str(self.k.sign[key[0]].values[bins[0]])
        if bins[0] == OPEN_BIN:
            return float("inf")
        values, _ = self.values(key, bins)
        return float(values.min() + values.max()) / 2

    def values(self, key: Key, bins: NDArray[np.intp]) -> tuple[Floats, Floats]:
        """The different numbers read by furnaces whose readings lie from the first to the last of *bins*, and their weights; see `any_site` of what is read
        of a part by itself."""
        if key not in self.binned:
            rows, weight = self.rows, self.weight
            if (as_good := self.evidence.reads_as_good(key[0])) is not None and len(self.good):
                on_good = np.full(len(self.good), weight[as_good[rows]].sum() / len(self.good))
                rows, weight = np.concatenate([rows, self.good]), np.concatenate([np.where(as_good[rows], 0, weight), on_good])
            numbers, which = different(self.evidence.population.table[self.evidence.column(key)][rows])
            of = bins_of_numbers(numbers, *error_of(self.k.point[key[0]]))
            self.binned[key] = numbers.astype(np.float64), np.asarray(np.bincount(which, weight, len(numbers)), float), of
        read, weight, of = self.binned[key]
        inside = (of >= bins[0]) & (of <= bins[1])
        return read[inside], weight[inside]

    def on_furnaces(self, belief: Floats) -> Floats:
        """How likely each outcome of the usual readings is on furnaces whose failures are believed in so. *belief*: of each failure, shape (faults,)."""
        return np.asarray(np.add.reduceat(self.evidence.shown.on_furnaces(belief, self.usual_lines), self.usual_starts))


def _left_open(belief: Floats) -> Floats:
    """Bits in which of the known parts it is, shape (cases,). *belief*: of each part, shape (cases, parts)."""
    known = belief / np.maximum(belief.sum(axis=1, keepdims=True), 1e-300)
    return np.asarray(-entropy_terms(known).sum(axis=1))


def _first_of_each(table: Table, order: Sequence[int]) -> list[int]:
    """The first OFFERED candidates of different names, in *order*."""
    first: dict[str, int] = {}
    for i in order:
        first.setdefault(table.keys[i][0], i)
    return list(first.values())[:OFFERED]


def _together(parts: Floats, starts: NDArray[np.intp]) -> Floats:
    """The lines of *parts*, those of an outcome added up; *starts*: where among them each outcome starts. Most outcomes are of one line."""
    joint = parts[starts]
    many = np.diff(starts, append=len(parts))
    several = many > 1
    if several.any():
        joint[several] = np.add.reduceat(parts[np.repeat(several, many)], np.cumsum(many[several]) - many[several])
    return joint


def _most(worth: Floats, minutes: Floats) -> list[int]:
    """The COMPARED candidates worth most; of those alike the quickest."""
    order: list[int] = np.lexsort((minutes, -np.round(worth, 9))).tolist()  # rounded: what differs by rounding alone is alike
    return order[:COMPARED]
