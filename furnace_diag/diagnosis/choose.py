"""The next reading: the one after which the repair is expected to cost least, its own minutes and risk counted in.

Source of the scheme: Heckerman, Breese and Rommelse (1995), "Decision-theoretic troubleshooting", Communications of
the ACM 38(3), 49-57. Costs are in minutes: the price of a part is divided by what a minute costs.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from furnace_diag.diagnosis.bins import BINS, FLOOR, NEVER_BIN, OPEN_BIN, bins_of_numbers, different, error_of, outcomes_of
from furnace_diag.diagnosis.evidence import Evidence, Group, risk_minutes
from furnace_diag.diagnosis.findings import ProofState
from furnace_diag.diagnosis.records import Record
from furnace_diag.diagnosis.shown import NEVER, Shown, shown_by
from furnace_diag.diagnosis.telltale import plainness
from furnace_diag.diagnosis.verdict import BOARD
from furnace_diag.diagnosis.weigh import Fact, Posterior, if_something_else, likelihood
from furnace_diag.furnace.population import WHOLE_CALL, Key
from furnace_diag.knowledge.models import Experiment, Point, Sign
from furnace_diag.knowledge.repair_models import Repair
from furnace_diag.knowledge.repairs import cautions_of, confirmed_by, read_before, repairs_for
from furnace_diag.problems import Place
from furnace_diag.quantities import format_quantity

Floats = NDArray[np.float64]

OFFERED = 3  # readings that are offered: the best and what else would do
SURELY = 2.0  # minutes by which a reading, were it never misread, must cost more than all that are offered, to be left unreckoned
COMPARED = 12  # candidates whose repair cost is reckoned, the best by what they tell and by what they tell a minute
NOWHERE = Place("next reading", 1, 1)  # of a record that nobody has made yet
LEAST_CHANCE = 0.005  # an outcome less likely than this is reckoned to change nothing
OF_EACH = 8  # furnaces of each failure, picked by what is believed of them, that stand for all when it is reckoned what a reading would change
OF_OTHERS = 4  # the same when it is reckoned what readings something else would give
LEAST_BITS = 0.02  # a reading that tells less is not worth a step to the furnace, judgement
FAR_AHEAD = 0.75  # belief in a part from which a reading must spare LEAST_SPARED [min] beyond its own, else the repair is gone on with; judgement
LEAST_SPARED = 1.0
HARDLY = 0.05  # of what mending now costs: a reading that spares less beyond its own minutes spares hardly anything, judgement
MOST_NEVER = 0.4  # a reading that the furnace will more likely than this not come to is not asked for, judgement
SAYS_SO = 0.5  # share of the other failures under which what confirms a repair must show that it is wrong, judgement
TAKEN_AWAY = 0.5  # share of the belief that a reading must leave at most, if it shows otherwise, to confirm anything by showing as expected, judgement
SPEAKS_FOR = float(np.log(2))  # log of how many times likelier a record is with a failure, to speak for it, judgement
PLAIN = 1.5  # bits by which a reading must show a failure more plainly than any record does, to be asked for before its repair, judgement
AS_TELLING = 0.9  # of what the most telling check tells: checks that tell as much are as good, judgement
LEAST_ROW = 1e-3  # furnaces below this share of the likeliest are left out of the reckoning
MOST_OUTCOMES = 5
NEVER_THERE = "it never gets there"  # no value to type: the call stops before
BESIDE = 10  # errors of a reading: outcomes that lie further apart are not told as one, judgement
AS_SURE = 0.2  # difference of belief in what leads from which two outcomes are not told as one, judgement
SELDOM = 0.05  # share of the readings at either end of an outcome that is left out when it is told in figures
LONGEST_IN_SECONDS = 600.0  # that a stopwatch is read in seconds
TOLD_FROM = 0.02  # outcomes less likely than this are not listed one by one
PROOF_FIRST_FROM = 0.5  # belief in the board, more than in all else, from which only what its proof asks for is read, judgement
PROOF_STEP_MINUTES = 2.0  # of a condition that names no reading with minutes of its own, judgement


@dataclass(frozen=True)
class Outcome:
    """What a reading may show: in words, how likely, and which failure then leads with what probability."""

    shows: str
    probability: float
    then: str
    then_probability: float


@dataclass(frozen=True)
class NextReading:
    """A reading worth taking. *cost*: minutes of it and of the repair expected after it; *bits*: what it tells of the part.

    *meter*: low where it must be a low-impedance one. *needs*: what must be so before an experiment is tried.
    """

    name: str
    says: str
    step: str | None
    function: str
    where: str
    minutes: float
    risk_minutes: float
    cautions: tuple[str, ...]
    outcomes: tuple[Outcome, ...]
    why: str
    bits: float
    cost: float
    meter: str | None = None
    needs: tuple[str, ...] = ()


@dataclass(frozen=True)
class Act:
    """The repair that is worth more than any reading: confirm it by *check* first; *if_wrong* is what it then costs in all [min].

    *confirm*: what the repair itself asks for before the part is touched, in words; all there is to confirm it by where *check* is None.
    *cautions*: of the repair, in words.

    *probability*: of the failures of the part that this repair puts right; *of_part*: of all its failures.
    *needs_proof*: it is the board, and its proof is not complete: what that lacks is to be taken, and nothing replaced.
    """

    part: str
    failure: str
    says: str
    probability: float
    of_part: float
    check: NextReading | None
    cost: float
    if_wrong: float
    needs_proof: bool
    confirm: tuple[str, ...]
    cautions: tuple[str, ...]


@dataclass(frozen=True)
class Choice:
    """What to do next: readings, best first; or an act where no reading spares anything.

    No act where putting right any part costs more than finding the fault in some other way. *nearly*: the act, where the best reading spares hardly
    anything and another would confirm it.
    """

    readings: tuple[NextReading, ...]
    act: Act | None
    nearly: Act | None = None


def expected_repair_cost(probabilities: Floats, costs: Floats, otherwise: float) -> Floats:
    """Minutes until the fault is mended if parts are put right one after another, shape (cases,).

    *probabilities*: of each part, shape (cases, parts); what they lack of 1 is a fault of none of them. *costs*: of putting
    each right, shape (parts,). *otherwise*: of finding and mending it whatever it is, to which one may turn at any time.
    Parts go in falling order of probability over cost, which no other order betters (P over C; Kadane and Simon 1977).
    """
    order = np.argsort(-probabilities / costs, axis=1, kind="stable")
    return np.asarray(_cost_of_turning(probabilities, costs, otherwise, order).min(axis=1))


def _cost_of_turning(probabilities: Floats, costs: Floats, otherwise: float, order: NDArray[np.intp]) -> Floats:
    """Minutes until the fault is mended if parts are put right in *order*, turned from after none of them, one, two, ...: shape (cases, parts + 1).

    *order*: of each case, shape (cases, parts).
    """
    p, c = np.take_along_axis(probabilities, order, axis=1), costs[order]
    left = np.maximum(1 - np.cumsum(p, axis=1), 0)  # not mended after each part
    before = np.hstack([np.ones((len(p), 1)), left[:, :-1]])
    spent = np.cumsum(c * before, axis=1)
    return np.hstack([np.full((len(p), 1), otherwise), spent + left * otherwise])


@dataclass(frozen=True)
class _Table:
    """Joint probability of what candidates show and which part it is, shape (outcomes, parts); one candidate's rows lie together.

    That a furnace never gets to a step is no record of that reading: it leaves the parts as they are.
    """

    keys: list[Key]
    parts: Floats
    first: NDArray[np.intp]  # of each candidate its first row, and the end
    bins: NDArray[np.intp]  # of each row its first and last bin, shape (outcomes, 2); for a sign the number of its value, or NEVER
    never: NDArray[np.bool_]  # which rows say that the furnace never gets there


@dataclass(frozen=True)
class _After:
    """What would be believed after each outcome of a candidate, as `weigh` would.

    *chance*: of each outcome, shape (outcomes,), sums to 1. *failures*: shape (outcomes, failures); with *other*, shape (outcomes,), each sums to 1.
    """

    chance: Floats
    failures: Floats
    other: Floats


def choose(
    evidence: Evidence,
    posterior: Posterior,
    records: Sequence[Record],
    nearest: ProofState | None,
    without: Collection[str] = (),
    never: Collection[tuple[str, str | None]] = (),
    groups: Sequence[Group] = (),
    again: Collection[tuple[str, str | None]] = (),
) -> Choice:
    """The next reading with two alternatives, or the act that is worth more.

    *nearest*: the proof that a board would still need; its missing readings are part of the board's cost. *without*:
    instruments that are not to be had. *never*: names and steps that are not to be asked for. *groups*: the records with what
    they say of the population, joined where they restate one another. *again*: names and steps of readings in doubt, worth taking
    again with a low-impedance meter where that would read otherwise.
    """
    reckoning = _Reckoning(evidence, posterior, nearest, groups)
    taken = {*((r.name, r.step) for r in records), *never}
    table = reckoning.candidates(taken, {name for name, step in taken if step is None}, without, again)
    ranked = reckoning.ranked(table)
    now = reckoning.cost_now()
    named: dict[str, tuple[int, float]] = {}
    for i, cost in ranked:
        named.setdefault(table.keys[i][0], (i, cost))
    readings = tuple(reckoning.reading(table, i, cost) for i, cost in list(named.values())[:OFFERED])
    worth_mending = now < reckoning.otherwise  # else no part is likely enough to be put right on trial
    to_spare = LEAST_SPARED if reckoning.far_ahead() else 0.0
    to_be_proved = reckoning.board_leads and not ranked  # what its proof still asks for is worth it, whatever that tells
    if to_be_proved or (worth_mending and (not ranked or now <= ranked[0][1] + to_spare)):
        return Choice(readings, reckoning.act(table, now, needs_proof=nearest is not None))
    nearly = reckoning.act(table, now, needs_proof=nearest is not None) if worth_mending and now - ranked[0][1] <= HARDLY * now else None
    return Choice(readings, None, nearly if nearly is not None and nearly.check is not None else None)


def _joined(tables: Sequence[_Table]) -> _Table:
    """Several tables as one."""
    starts = np.cumsum([0, *(len(t.parts) for t in tables)])
    first = np.concatenate([*(t.first[:-1] + start for t, start in zip(tables, starts, strict=False)), starts[-1:]])
    parts, bins, never = (np.concatenate([getattr(t, part) for t in tables]) for part in ("parts", "bins", "never"))
    return _Table([k for t in tables for k in t.keys], parts, first, bins, never)


def _alone(table: _Table, i: int) -> _Table:
    """One candidate's own table."""
    rows = slice(table.first[i], table.first[i + 1])
    return _Table([table.keys[i]], table.parts[rows], table.first[i : i + 2] - table.first[i], table.bins[rows], table.never[rows])


def _standing_for(weight: Floats, fault: NDArray[np.intp]) -> tuple[NDArray[np.intp], Floats]:
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
    return replace(fact, fit=fact.fit[rows])


class _Reckoning:
    """One belief, with what parts cost and what each candidate would show."""

    def __init__(self, evidence: Evidence, posterior: Posterior, nearest: ProofState | None, groups: Sequence[Group] = ()) -> None:
        self.evidence, self.posterior, self.k = evidence, posterior, evidence.knowledge
        self.asked_again: frozenset[Key] = frozenset()  # what a doubt wants read again
        faults = evidence.population.faults
        self.parts, self.part_of = evidence.parts, evidence.part_of
        self.sums = (self.part_of[:, None] == np.arange(len(self.parts))).astype(float)
        choice = evidence.words.choice
        self.minute, self.otherwise = choice.minute, choice.otherwise
        self.costs = np.array([self.k.part[p].repair.minutes + self.k.part[p].repair.price / self.minute for p in self.parts])
        self.spares: Mapping[tuple[str, str], float] = {}
        self.proof_minutes = 0.0
        self.board_leads = False
        if nearest is not None and BOARD in self.parts:
            self.proof_minutes = self._proof_minutes(nearest)
            self.costs[self.parts.index(BOARD)] += self.proof_minutes
            self.spares = self._asked_by_proof(nearest)
            self.board_leads = self._leads(self.parts.index(BOARD))
        fault_of, site_of = evidence.population.fault_of, evidence.population.site_of
        self.rows = np.flatnonzero(posterior.rows > LEAST_ROW * posterior.rows.max(initial=0))
        self.weight, self.fault = posterior.rows[self.rows], fault_of[self.rows].astype(np.intp)
        others = np.flatnonzero((fault_of >= 0) & (site_of < OF_OTHERS))
        each = np.bincount(fault_of[others], minlength=len(faults))
        self.other_weight = np.array([of_failure[fault_of[others]] / each[fault_of[others]] for of_failure in (posterior.like, posterior.prior)])
        picked, self.picked_weight = _standing_for(self.weight, self.fault)
        self.picked_fault = self.fault[picked]
        self.both = np.concatenate([self.rows[picked], others])  # furnaces that stand for those believed in, then those for something else
        self.among = evidence.among(self.both)
        self.weighed: dict[Key, _After] = {}
        self.binned: dict[Key, tuple[Floats, Floats, NDArray[np.int16]]] = {}
        self.read = {r.name for records, _ in groups for r in records}
        self.other_calls = {c.step for c in evidence.family.sequence.other_calls} - {r.step for records, _ in groups for r in records}
        self.groups = [(records, [_of_rows(f, self.both) for f in facts]) for records, facts in groups]

    def _proof_minutes(self, proof: ProofState) -> float:
        """Minutes of the readings that a proof still lacks."""
        names = [w.names[0][1] for n in proof.missing for w in self.k.condition[n.condition].any_of[0]]
        entries = [self.k.point.get(name) or self.k.sign.get(name) for name in names]
        return sum(PROOF_STEP_MINUTES if e is None else e.minutes for e in entries)

    def _leads(self, part: int) -> bool:
        """Whether a part is believed more than all others together, and would be put right first."""
        belief = self.by_part(self.posterior.failures[None, :])[0]
        return bool(belief[part] >= PROOF_FIRST_FROM and np.argmax(belief / self.costs) == part)

    def far_ahead(self) -> bool:
        """Whether one part is believed so much that little is left to be told apart."""
        return bool(self.by_part(self.posterior.failures[None, :]).max() >= FAR_AHEAD)

    def _asked_by_proof(self, proof: ProofState) -> Mapping[tuple[str, str], float]:
        """Names and steps of what a proof still lacks, with the minutes that are then spared in proving the board."""
        unread = [self.k.condition[n.condition] for n in proof.missing if n.condition in self.k.condition and not n.met_by]
        lines = [w for condition in unread for way in condition.any_of for w in way]
        named = [(w.names[0][1], w) for w in lines if w.point or w.sign]
        return {(name, step): self.evidence.minutes[name] for name, w in named if name in self.evidence.minutes for step in (w.step or ("", WHOLE_CALL))}

    def _spared(self, key: Key) -> float:
        """Minutes less that the board costs once a reading has been taken which its proof asks for anyway."""
        return self.spares.get((key[0], key[1]), 0.0)

    def by_part(self, joint: Floats) -> Floats:
        """Failures' columns summed into their parts', shape (rows, parts)."""
        return np.asarray(joint @ self.sums)

    def cost_now(self) -> float:
        """Of mending without another reading [min]."""
        return float(expected_repair_cost(self.by_part(self.posterior.failures[None, :]), self.costs, self.otherwise)[0])

    def _cost_as_now(self, belief: Floats) -> Floats:
        """Of mending in the order in which it would be done without another reading, were that believed [min], shape (cases,).

        *belief*: of each part, shape (cases, parts).
        """
        now = self.by_part(self.posterior.failures[None, :])
        order = np.argsort(-now / self.costs, axis=1, kind="stable")
        turn = int(_cost_of_turning(now, self.costs, self.otherwise, order)[0].argmin())
        return _cost_of_turning(belief, self.costs, self.otherwise, np.repeat(order, len(belief), axis=0))[:, turn]

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
    ) -> _Table:
        """Everything that could be read or looked at and has not been, with what it would show.

        *taken*: names with the step at which they were read; *named*: names read at no stated step, which are not asked for again;
        *again*: those of *taken* that are, with a low-impedance meter.
        """
        lacking = self.evidence.points_read_with(without)
        at_a_step, at_none = lacking.union(named), lacking.union(name for name, _ in taken)

        def is_open(key: Key) -> bool:
            name, step, _ = key
            return name not in (at_a_step if step else at_none) and (name, step) not in taken and self._as_reported(key)

        tables = [self._usual(is_open)]
        low = [k for k in self.evidence.low_keys if k[0] not in lacking and {k[:2], (k[0], None)} & {*again}] if again else []
        self.asked_again = frozenset(low)
        if low and len(self.rows):
            tables.append(self._table(shown_by(self.evidence, low, self.rows), self.weight, lambda _: True)[0])
        return _joined(tables)

    def _as_reported(self, key: Key) -> bool:
        """Whether a record would be understood to be of the step of a candidate: one of the heat call is of all of it, and not of its first instant.

        So what the call changes only later is to be read at the step that does.
        """
        name, step, _ = key
        if step != self.evidence.family.sequence.heat_call.step:
            return True
        due = self.evidence.due(name).steps
        return not due or self.evidence.steps_of(name).index(step) in due

    def _usual(self, is_open: Callable[[Key], bool]) -> _Table:
        """What can be seen with a usual meter and the eye."""
        weight = np.zeros(len(self.posterior.rows))
        weight[self.rows] = self.weight
        table, self.usual_lines, self.usual_starts = self._table(self.evidence.shown, weight[self.evidence.failed], is_open)
        return table

    def _table(self, shown: Shown, weight: Floats, is_open: Callable[[Key], bool]) -> tuple[_Table, NDArray[np.intp], NDArray[np.intp]]:
        """Candidates among what is shown, with the lines of it that they have and where among these each outcome starts.

        Readings of a point that cannot be told apart are one outcome. *weight*: of each furnace of *shown*.
        """
        free = np.array([is_open(key) for key in shown.keys], bool)
        parts = shown.by_part(weight, self.posterior.failures)
        lines = np.flatnonzero(free[shown.column] & ((parts.sum(axis=1) > 0) | (np.arange(len(parts)) >= shown.points)))
        column, bins = shown.column[lines], shown.bins[lines]
        points = int(np.searchsorted(lines, shown.points))
        new = np.ones(len(lines), bool)
        new[:points] = np.diff(outcomes_of(column[:points] * BINS + bins[:points]), prepend=-1) != 0
        starts = np.flatnonzero(new)
        first = np.searchsorted(column[starts], np.append(np.flatnonzero(free), len(free)))
        ends = np.append(starts, len(lines))[1:] - 1
        keys = [key for key, may in zip(shown.keys, free.tolist(), strict=True) if may]
        joint = np.add.reduceat(parts[lines], starts) if len(starts) else parts[lines]
        never = bins[starts] == np.where(np.arange(len(starts)) < np.searchsorted(starts, points), NEVER_BIN, NEVER)
        mean = self.by_part(self.posterior.failures) / max(self.posterior.failures.sum(), 1e-300)
        joint[never] = joint[never].sum(axis=1, keepdims=True) * mean
        return _Table(keys, joint, first, np.stack([bins[starts], bins[ends]], axis=1), never), lines, starts

    # --- what they are worth ---------------------------------------------------------------

    def ranked(self, table: _Table) -> list[tuple[int, float]]:
        """Candidates by minutes of reading and of the repair after it, the cheapest first."""
        if not table.keys:
            return []
        bits = np.where(self._never(table) <= MOST_NEVER, self._bits(table), 0)
        minutes = np.array([self.minutes_of(key) for key in table.keys])
        again = [i for i, key in enumerate(table.keys) if key in self.asked_again]  # few
        best = list(dict.fromkeys([*again, *_most(bits, minutes), *_most(bits / minutes, minutes)]))
        if self.board_leads:  # whatever its proof does not ask for would be read on top of it
            best = [i for i in np.argsort(-bits, kind="stable").tolist() if self._spared(table.keys[i])][:COMPARED]
        best = [i for i in best if bits[i] >= LEAST_BITS]
        if not best:
            return []
        spared = np.array([self._spared(table.keys[i]) for i in best])
        at_best = dict(zip(best, (minutes[best] - spared + self._cost_if_exact(table, best)).tolist(), strict=True))
        costs: dict[int, float] = {}
        for i in sorted(at_best, key=lambda i: (i not in again, at_best[i])):
            if i not in again and at_best[i] > SURELY + self._third(table, costs):
                break
            costs[i] = max(at_best[i], float(minutes[i]) + self._cost_after(table, i))  # no slip makes a reading worth more
        return sorted(costs.items(), key=lambda pair: (round(pair[1], 6), float(minutes[pair[0]]), table.keys[pair[0]]))

    def _third(self, table: _Table, costs: Mapping[int, float]) -> float:
        """What the third best of the readings reckoned so far costs, each name counted once; no bound where there are fewer."""
        named: dict[str, float] = {}
        for i, cost in costs.items():
            named[table.keys[i][0]] = min(cost, named.get(table.keys[i][0], cost))
        return sorted(named.values())[OFFERED - 1] if len(named) >= OFFERED else float("inf")

    def _cost_if_exact(self, table: _Table, which: Sequence[int]) -> Floats:
        """Of mending once each of some candidates has been read, were it never misread [min]: hardly more than it then costs, and soon reckoned."""
        rows = [slice(table.first[i], table.first[i + 1]) for i in which]
        starts = np.cumsum([0, *(r.stop - r.start for r in rows[:-1])])
        joint = np.concatenate([table.parts[r] for r in rows])
        there = np.concatenate([~table.never[r] for r in rows])
        chance = joint.sum(axis=1)
        believed = joint * ((1 - self.posterior.something_else) / np.maximum(chance, 1e-300))[:, None]
        spared = np.add.reduceat(np.where(there, chance * self._spares(believed, self.costs), 0), starts)
        return np.asarray(self.cost_now() - spared / max(self.posterior.failures.sum(), 1e-300))

    def _never(self, table: _Table) -> Floats:
        """How likely the furnace is not to come to each candidate's step, where it could not be read at all."""
        shown = table.parts.sum(axis=1)
        never = np.where(table.never, shown, 0)
        return np.asarray(np.add.reduceat(never, table.first[:-1]) / np.maximum(np.add.reduceat(shown, table.first[:-1]), 1e-300))

    def minutes_of(self, key: Key) -> float:
        """Of taking a reading, with what its risks weigh, and of making the call that it wants [min]."""
        to_call = self.evidence.words.choice.other_call if key[1] in self.other_calls else 0.0
        return self.evidence.minutes[key[0]] + to_call

    def _entry(self, key: Key) -> Point | Sign:
        return self.k.point[key[0]] if key[0] in self.k.point else self.k.sign[key[0]]

    def _bits(self, table: _Table) -> Floats:
        """What each candidate tells of the part, in bits (mutual information)."""
        return _told(table, table.parts)

    def _cost_after(self, table: _Table, i: int) -> float:
        """Of mending once candidate *i* has been read, over its outcomes [min]."""
        after = self.after(table, i)
        costs = self.costs.copy()
        if spared := self._spared(table.keys[i]):
            costs[self.parts.index(BOARD)] -= min(spared, self.proof_minutes)
        there = ~table.never[table.first[i] : table.first[i + 1]]
        return self.cost_now() - float((after.chance * there) @ self._spares(self.by_part(after.failures), costs))

    def after(self, table: _Table, i: int) -> _After:
        """What would be believed after each outcome of candidate *i*: the belief weighed with the record that would then be made."""
        key = table.keys[i]
        if key not in self.weighed:
            self.weighed[key] = self._weighed(table, i)
        return self.weighed[key]

    def _weighed(self, table: _Table, i: int) -> _After:
        rows = slice(table.first[i], table.first[i + 1])
        shown = table.parts[rows].sum(axis=1)
        chance = shown / max(shown.sum(), 1e-300)
        failures = np.tile(self.posterior.failures, (len(chance), 1))
        other = np.full(len(chance), self.posterior.something_else)
        able = np.flatnonzero(~table.never[rows] & (chance >= LEAST_CHANCE))
        for n, likely in zip(able, self._likelihoods(table.keys[i], table.bins[rows][able]), strict=True):
            mine = len(self.picked_fault)
            failures[n] = np.bincount(self.picked_fault, self.picked_weight * likely[:mine], len(self.part_of))
            other[n] *= if_something_else(*self.other_weight @ likely[mine:])
        whole = failures.sum(axis=1) + other
        return _After(chance, failures / whole[:, None], other / whole)

    def _likelihoods(self, key: Key, outcomes: NDArray[np.intp]) -> Sequence[Floats]:
        """Of the records that would be made of the *outcomes* of a candidate, beside those that are; of each the shape (rows believed in and others,)."""
        records = [self._supposed(key, bins) for bins in outcomes]
        if not records or records[0].kind == "sign":
            return [self._likelihood(record, self.among.fact(record)) for record in records]
        numbers = np.array([record.number for record in records], float)
        return list(self._likelihood(records[0], self.among.fact(records[0], numbers)))

    def _likelihood(self, record: Record, fact: Fact | None) -> Floats:
        """Of what a record not made yet would say, beside those that are."""
        assert fact is not None
        home = self.evidence.home(record, self.groups)
        return likelihood([fact]) if home is None else likelihood([*home[1], fact]) / likelihood(home[1])

    def _supposed(self, key: Key, bins: NDArray[np.intp]) -> Record:
        """The record that would be made of an outcome, with the reading in its middle."""
        name, step, meter = key
        where = None if step in ("", WHOLE_CALL) else step
        if name in self.k.sign:
            return Record("sign", name, name, NOWHERE, word=self.k.sign[name].values[bins[0]], step=where)
        values, _ = self._values(key, bins)
        # halfway between its ends: where most furnaces stand by one end, their mean could lie an error from the next outcome's
        middle = float(values.min() + values.max()) / 2 if bins[0] != OPEN_BIN else float("inf")
        return Record("point", name, name, NOWHERE, number=middle, step=where, meter="low" if meter == "low" else None)

    def _values(self, key: Key, bins: NDArray[np.intp]) -> tuple[Floats, Floats]:
        """The different numbers read by furnaces whose readings lie from the first to the last of *bins*, and their weights."""
        if key not in self.binned:
            numbers, which = different(self.evidence.population.table[self.evidence.column(key)][self.rows])
            of = bins_of_numbers(numbers, *error_of(self.k.point[key[0]]))
            self.binned[key] = numbers.astype(np.float64), np.asarray(np.bincount(which, self.weight, len(numbers)), float), of
        read, weight, of = self.binned[key]
        inside = (of >= bins[0]) & (of <= bins[1])
        return read[inside], weight[inside]

    # --- in words --------------------------------------------------------------------------

    def reading(self, table: _Table, i: int, cost: float) -> NextReading:
        """Candidate *i* for people."""
        key, entry = table.keys[i], self._entry(table.keys[i])
        outcomes = self._outcomes(table, i)
        step = None if key[1] in ("", WHOLE_CALL) else key[1]
        return NextReading(
            name=key[0],
            says=entry.says,
            step=step,
            function=_function(entry),
            where=entry.where or "",
            minutes=entry.minutes,
            risk_minutes=risk_minutes(self.k, entry),
            cautions=tuple(self.k.caution[c].says for c in entry.cautions),
            outcomes=outcomes,
            why=_why(outcomes),
            bits=float(self._bits(_alone(table, i))[0]),
            cost=cost,
            meter="low" if key[2] == "low" else None,
            needs=entry.needs if isinstance(entry, Experiment) else (),
        )

    def _outcomes(self, table: _Table, i: int) -> tuple[Outcome, ...]:
        """What it may show, likeliest first; neighbouring readings after which the same failure is believed about as much are told as one."""
        key, rows = table.keys[i], slice(table.first[i], table.first[i + 1])
        after = self.after(table, i)
        told: list[tuple[NDArray[np.intp], float, Floats]] = []
        for bins, chance, believed in zip(table.bins[rows], after.chance, after.failures, strict=True):
            last = told[-1] if told else None
            if last is not None and key[0] in self.k.point and bins[0] - last[0][1] <= BESIDE and _alike(last[2], believed) and last[0][0] != NEVER_BIN:
                both = last[1] + chance
                told[-1] = (np.array([last[0][0], bins[1]]), both, (last[1] * last[2] + chance * believed) / both)
            else:
                told.append((bins, float(chance), believed))
        made = [self._outcome(key, bins, chance, believed) for bins, chance, believed in told if chance >= TOLD_FROM]
        return tuple(sorted(made, key=lambda o: -o.probability)[:MOST_OUTCOMES])

    def _outcome(self, key: Key, bins: NDArray[np.intp], chance: float, believed: Floats) -> Outcome:
        leads = int(believed.argmax())
        return Outcome(self._shows(key, bins), float(chance), str(self.evidence.population.faults[leads]), float(believed[leads]))

    def _shows(self, key: Key, bins: NDArray[np.intp]) -> str:
        entry = self._entry(key)
        if bins[0] == (NEVER if isinstance(entry, Sign) else NEVER_BIN):
            return NEVER_THERE
        if isinstance(entry, Sign):
            return entry.values[int(bins[0])]
        return _range(*self._values(key, bins), entry.unit)

    # --- the act ---------------------------------------------------------------------------

    def act(self, table: _Table, now: float, *, needs_proof: bool) -> Act:
        """Putting right what comes first by probability over cost, and the reading that would best confirm it."""
        belief = self.by_part(self.posterior.failures[None, :])[0]
        part = int(np.argmax(belief / self.costs))
        mine = np.where(self.part_of == part, self.posterior.failures, 0)
        leads = int(mine.argmax())
        fault, mended = self.evidence.population.faults[leads], self._mended_with(leads)
        check = self._best_check(table, part, leads, mended)
        rest = np.where(np.arange(len(belief)) == part, 0, belief)
        left = expected_repair_cost((rest / max(1 - belief[part], 1e-9))[None, :], self.costs, self.otherwise)
        says = self.evidence.family.failure(fault).says
        probability, in_all = float(mine[mended].sum()), float(self.costs[part] + left[0])
        unproved, repair = needs_proof and fault.part == BOARD, self._repair_of(leads)
        confirm = () if repair is None else confirmed_by(self.k, repair)
        cautions = () if repair is None else tuple(self.k.caution[c].says for c in cautions_of(self.k, repair))
        return Act(fault.part, fault.failure, says, probability, float(belief[part]), check, now, in_all, unproved, confirm, cautions)

    def _repair_of(self, number: int) -> Repair | None:
        """The repair of failure *number*; None where the rules have none."""
        fault = self.evidence.population.faults[number]
        try:
            return repairs_for(self.k, fault.part, fault.failure)
        except KeyError:
            return None

    def _mended_with(self, number: int) -> NDArray[np.bool_]:
        """The failures of the same part that the repair of failure *number* puts right; all of them where the rules have no repair of it."""
        repair, part = self._repair_of(number), self.part_of == self.part_of[number]
        return np.array([bool(same) and self._repair_of(i) is repair for i, same in enumerate(part)])

    def _best_check(self, table: _Table, part: int, leads: int, mended: NDArray[np.bool_]) -> NextReading | None:
        """The reading that confirms a repair: what the repair itself names, what shows its failures by itself, or what best parts it from all else.

        The second only while no record shows the likeliest failure, *leads*, by itself. *mended*: the failures that the repair puts right.
        """
        if not table.keys:
            return None
        its = self._of_failures(table, part, mended)
        known = np.stack([its, table.parts.sum(axis=1) - its], axis=1)
        first = next(self._asked_by_repair(table, leads), None)
        if first is None:
            first = self._telltale(table, leads, mended)
        if first is not None:
            return self.reading(table, first, self.minutes_of(table.keys[first]) + self._cost_after(table, first))
        return self._parting(table, known)

    def _parting(self, table: _Table, known: Floats) -> NextReading | None:
        """The reading that tells most of whether a repair is the right one; of those that tell nearly as much, the quickest.

        One that leaves it where it is, whatever it may well show, something else counted in, confirms nothing. *known*: how likely each outcome
        is together with the failures that the repair puts right and with all other known ones, shape (outcomes, 2).
        """
        two = known + np.stack([np.zeros(len(known)), self._of_something_else(table)], axis=1)
        gain = np.where(self._denies(table, two, known[:, 1]), _told(table, known), 0)
        minutes = np.array([self.minutes_of(key) for key in table.keys])
        best = int(np.argmin(np.where(gain >= AS_TELLING * gain.max(), minutes, np.inf)))
        return self.reading(table, best, float(minutes[best]) + self._cost_after(table, best)) if gain[best] >= LEAST_BITS else None

    def _asked_by_repair(self, table: _Table, leads: int) -> Iterator[int]:
        """Candidates that the repair of a failure names to be read before its part is touched, those it names first first; at the step that tells most.

        One that tells nothing now is passed over: a coil that reads open is no better for gas at its valve.
        """
        repair = self._repair_of(leads)
        bits, never = self._bits(table), self._never(table)
        for name in read_before(self.k, repair) if repair is not None else ():
            if name not in self.read:
                able = (i for i, key in enumerate(table.keys) if key[0] == name and bits[i] >= LEAST_BITS and never[i] <= MOST_NEVER)
                yield from sorted(able, key=lambda i: -bits[i])

    def _telltale(self, table: _Table, leads: int, mended: NDArray[np.bool_]) -> int | None:
        """The candidate by which what a repair puts right shows itself; of those about as plain the quickest. None where a record shows it about as plainly.

        So a part is not gone to for what others may show as well, whether these rules know of them or not, while a reading is open that hardly any
        other would bring about. *leads*: the likeliest failure that is *mended*.
        """
        its, believed = np.where(mended, self.posterior.failures, 0), np.where(mended, 0, self.posterior.failures)
        plain = plainness(self.evidence.odd, its, np.where(mended, 0, self.posterior.prior))
        parting = np.minimum(plain, plainness(self.evidence.odd, its, believed))  # what all that is left open gives as well shows nothing
        least = self._plainly_shown(leads, plain) + PLAIN
        bits = [float(parting[number]) if (number := self.evidence.key_number.get(key)) is not None else 0.0 for key in table.keys]
        able = [i for i in np.flatnonzero(self._never(table) <= MOST_NEVER).tolist() if bits[i] >= least]
        fresh = [i for i in sorted(able, key=lambda i: -bits[i])[:COMPARED] if self._tells_anew(table, i)]
        as_plain = (i for i in fresh if bits[i] >= AS_TELLING * bits[fresh[0]])
        return min(as_plain, key=lambda i: self.minutes_of(table.keys[i]), default=None)

    def _plainly_shown(self, leads: int, plain: Floats) -> float:
        """How plainly the records show failure *leads*: as the plainest of those that speak for it. *plain*: bits of each key."""
        speaks = [records for (records, _), support in zip(self.groups, self.posterior.support[:, leads].tolist(), strict=True) if support > SPEAKS_FOR]
        read = {(r.name, r.step) for records in speaks for r in records}
        told = [plain[n] for (name, step, _), n in self.evidence.key_number.items() if (name, step) in read or (name, None) in read]
        return max(map(float, told), default=0.0)

    def _on_furnaces(self, belief: Floats) -> Floats:
        """How likely each outcome of the usual readings is on furnaces whose failures are believed in so. *belief*: of each failure, shape (faults,)."""
        fault = self.evidence.population.fault_of[self.evidence.failed]
        each = np.bincount(fault, minlength=len(self.part_of))
        lines = self.evidence.shown.by_part((belief / each)[fault], belief).sum(axis=1)[self.usual_lines]
        return np.asarray(np.add.reduceat(lines, self.usual_starts))

    def _tells_anew(self, table: _Table, i: int) -> bool:
        """Whether candidate *i* would restate no record, nor read the same at another step."""
        return table.keys[i][0] not in self.read and self.evidence.home(self._supposed(table.keys[i], table.bins[table.first[i]]), self.groups) is None

    def _of_failures(self, table: _Table, part: int, which: NDArray[np.bool_]) -> Floats:
        """How likely each outcome is together with some failures of a part, shape (outcomes,). What is not of the usual readings is shared out evenly."""
        joint, all_of_it = table.parts[:, part], float(self.posterior.failures[self.part_of == part].sum())
        share = float(self.posterior.failures[which].sum()) / max(all_of_it, 1e-300)
        if not (which ^ (self.part_of == part)).any():
            return joint
        weight = np.zeros(len(self.posterior.rows))
        weight[self.rows] = self.weight * which[self.fault]
        shown = self.evidence.shown.by_part(weight[self.evidence.failed], np.where(which, self.posterior.failures, 0))[:, part]
        usual = np.add.reduceat(shown[self.usual_lines], self.usual_starts)
        its = joint * share
        its[: len(usual)] = np.where(table.never[: len(usual)], its[: len(usual)], np.minimum(usual, joint[: len(usual)]))
        return np.asarray(its)

    def _denies(self, table: _Table, two: Floats, others: Floats) -> NDArray[np.bool_]:
        """Whether each candidate may well show what takes away half of the belief or more, and mostly does if another known failure is there.

        *two*: each outcome together with it and with all else; *others*: with the other failures that are known.
        """
        whole = two[table.first[0] : table.first[1]].sum(axis=0)
        left = two[:, 0] / np.maximum(two.sum(axis=1), 1e-300)
        denied = (left <= TAKEN_AWAY * whole[0] / whole.sum()) & ~table.never
        chance, of_others = (np.add.reduceat(np.where(denied, each, 0), table.first[:-1]) for each in (two.sum(axis=1), others))
        return np.asarray((chance >= TOLD_FROM * whole.sum()) & (of_others > SAYS_SO * others[table.first[0] : table.first[1]].sum()))

    def _of_something_else(self, table: _Table) -> Floats:
        """How likely each outcome is together with something else, shape (outcomes,). What is not of the usual readings tells nothing of it."""
        known = table.parts.sum(axis=1)
        chance = known / max(self.posterior.failures.sum(), 1e-300)
        like, expected = self._on_furnaces(self.posterior.like), self._on_furnaces(self.posterior.prior)
        usual = len(like)
        shown = np.where(table.never[:usual], 0, if_something_else(like, expected))
        of = np.repeat(np.arange(len(table.keys)), np.diff(table.first))[:usual]
        there = 1 - np.bincount(of, np.where(table.never[:usual], chance[:usual], 0))
        chance[:usual] = np.where(table.never[:usual], chance[:usual], shown * (there / np.maximum(np.bincount(of, shown), 1e-300))[of])
        return np.asarray(chance * self.posterior.something_else)


def _alike(one: Floats, other: Floats) -> bool:
    """Whether the same failure leads after two outcomes, and about as surely."""
    leads = int(one.argmax())
    return bool(leads == other.argmax() and abs(one[leads] - other[leads]) < AS_SURE)


def _function(entry: Point | Sign) -> str:
    """What is done: read with the meter, tried or looked at."""
    if isinstance(entry, Point):
        return entry.function
    return "try" if isinstance(entry, Experiment) else "look"


def _entropy_terms(p: Floats | float) -> Floats:
    """p log2 p of each, 0 where p is."""
    p = np.asarray(p, float)
    return np.asarray(p * np.log2(np.maximum(p, 1e-300)))


def _most(worth: Floats, minutes: Floats) -> list[int]:
    """The COMPARED candidates worth most; of those alike the quickest."""
    order: list[int] = np.lexsort((minutes, -np.round(worth, 9))).tolist()  # rounded: what differs by rounding alone is alike
    return order[:COMPARED]


def _told(table: _Table, joint: Floats) -> Floats:
    """What each candidate tells [bit] of which column of *joint* it is, shape (outcomes, columns): the outcomes of *table* together with each.

    Mutual information among the furnaces that get there: that one gets there is learnt by watching the call, and is no merit of the reading.
    """
    known = max(float(joint[table.first[0] : table.first[1]].sum()), 1e-300)
    joint = np.where(table.never[:, None], 0, joint)
    before = _open(np.add.reduceat(joint, table.first[:-1]))
    return np.asarray(np.maximum(before - np.add.reduceat(_open(joint), table.first[:-1]), 0) / known)


def _open(joint: Floats) -> Floats:
    """Entropy [bit] of each row, times what the row adds up to."""
    return np.asarray(_entropy_terms(joint.sum(axis=1)) - _entropy_terms(joint).sum(axis=1))


def _range(values: Floats, weights: Floats, unit: str) -> str:
    """From where to where most of *values* lie, in words."""
    finite = np.isfinite(values)
    if not finite.any():
        return format_quantity(float("inf"), unit) if unit == "ohm" else "over the range"
    order = np.argsort(values[finite])
    values, share = values[finite][order], np.cumsum(weights[finite][order]) / weights[finite].sum()
    least, most = (values[min(int(np.searchsorted(share, at)), len(values) - 1)] for at in (SELDOM, 1 - SELDOM))
    ends = [0.0 if abs(v) < FLOOR[unit] else float(f"{v:.3g}") for v in (least, most)]
    if unit == "s" and ends[0] < ends[1] <= LONGEST_IN_SECONDS:
        return f"{ends[0]:.3g} to {ends[1]:.0f} s"  # both in one unit: "3.5 s to 2.23 min" is hard to read
    low, high = (format_quantity(v, unit, ascii=True) for v in ends)
    return f"about {low}" if low == high else f"{low} to {high}"


def _why(outcomes: Sequence[Outcome]) -> str:
    """What it parts, from the two likeliest outcomes with different leaders."""
    leaders = list(dict.fromkeys(o.then for o in outcomes))
    if len(leaders) < 2:
        return "it makes sure of what leads now"
    return f"it parts {leaders[0].replace('_', ' ').replace(':', ': ')} from {leaders[1].replace('_', ' ').replace(':', ': ')}"
