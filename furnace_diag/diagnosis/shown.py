"""What each reading and sign may show, and on which furnaces. It depends on the rules and the furnaces alone; for any belief its chances are one sum."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from functools import cached_property
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from furnace_diag.diagnosis.bins import BINS, Floats, bins_of, errors_of
from furnace_diag.diagnosis.habits import ever_there
from furnace_diag.furnace.built import Key
from furnace_diag.furnace.store import UNSOUND, keep, kept, key_of

if TYPE_CHECKING:
    from furnace_diag.diagnosis.evidence import Evidence

# the files of this room by which the table is made: a table kept by others is made anew
MADE_BY = ("any_site", "bins", "evidence", "foretold", "habits", "predicted", "readable", "shown", "value_fits", "weigh")

NEVER = -1  # a sign at a step that the furnace does not come to
ANY_SITE = -2  # in place of a bin: that in which the good furnace of any site reads

AT_ONCE = 100  # points whose readings on all furnaces are told apart together: bounds memory to some MB
FEW = 0.4  # share of the furnaces that weigh anything, as after some records, from which down it pays to pick what they add

ARRAYS = ("column", "bins", "starts", "sums", "sum_of", "many", "share_of", "shares", "failures_sum", "failure", "chance", "as_reported")
PICKED = ("sums", "sum_of", "share_of", "failures_sum", "failure")  # those of them that only number what is picked by them

Numbers = NDArray[np.intp]
Picks = NDArray[np.integer]  # of what there are so many that they stay as small as they are kept: a ranking picks few of them, and to widen all takes longer
Small = NDArray[np.int32]  # of what there are so many that the machine's own size would take twice the memory


@dataclass(frozen=True)
class Shown:
    """What may be shown at each of *keys*, one line for each bin of a point, then one for each value of a sign and for its never being reached.

    *column*: of each line the number of its key. *bins*: its bin; for a sign the number of its value, or NEVER. *points*: how many lines
    are of points. *starts*: where the furnaces of another failure begin. *sums*: which sum of weights each line has for each part, shape
    (lines, parts); many have the same. What adds to the sums goes by whose weight it is, first each furnace's, then that of all furnaces
    of a failure together, then that of a failure anywhere: *many*, how many sums each adds to; and to which (*sum_of*), with what share of it
    (*shares* has the different ones, *share_of* which). *chance*: what the furnaces of a *failure*, were it sure, add to a sum (*failures_sum*).
    *as_reported*: see `Foretold.as_reported`, of each key.
    """

    keys: list[Key]
    column: Numbers
    bins: Numbers
    points: int
    starts: Numbers
    sums: Picks
    sum_of: Picks
    many: Numbers
    share_of: Picks
    shares: Floats
    failures_sum: Picks
    failure: Picks
    chance: Floats
    as_reported: NDArray[np.bool_]

    @cached_property
    def count(self) -> int:
        """How many sums there are."""
        return int(self.sums.max()) + 1 if self.sums.size else 0

    @cached_property
    def first(self) -> Numbers:
        """Where the entries of each weight begin."""
        return np.cumsum(self.many) - self.many

    @cached_property
    def every_entry(self) -> tuple[Numbers, Floats]:
        """The sum and the share of each entry; made only where all furnaces weigh something, as before any record."""
        return self.sum_of.astype(np.intp), self.shares[self.share_of]

    def by_part(self, weight: Floats, failures: Floats, lines: Numbers | slice = slice(None)) -> Floats:
        """How likely each of some *lines* is together with each part, shape (lines, parts). *weight*: of each furnace; *failures*: belief in each."""
        return self.added(weight, failures)[self.sums[lines]]

    def of_part(self, part: int, weight: Floats, failures: Floats) -> Floats:
        """The same with one part, shape (lines,)."""
        return self.added(weight, failures)[self.sums[:, part]]

    def added(self, weight: Floats, failures: Floats) -> Floats:
        """Each of the *sums* of weights."""
        weights = np.concatenate([weight, np.add.reduceat(weight, self.starts), failures])
        some = np.flatnonzero(weights)
        if len(some) < FEW * len(weights):
            weights, many = weights[some], self.many[some]
            entries = np.repeat(self.first[some] - np.cumsum(many) + many, many) + np.arange(many.sum())
            which, share = self.sum_of[entries], self.shares[self.share_of[entries]]
        else:
            many, (which, share) = self.many, self.every_entry
        adds = np.repeat(weights, many)
        adds *= share
        return np.asarray(np.bincount(which, adds, self.count), float)

    def on_furnaces(self, failures: Floats, lines: Numbers) -> Floats:
        """How likely each of some *lines* is where failures are believed in so, and each of a failure's furnaces is as likely, shape (lines,)."""
        return np.asarray(np.bincount(self.failures_sum, self.chance * failures[self.failure], self.count)[self.sums[lines]].sum(axis=1))


def shown_by(evidence: Evidence, keys: Sequence[Key], rows: Numbers) -> Shown:
    """What *keys* show on the furnaces *rows*; a sign that no circuit gives has no step."""
    k, part_of = evidence.knowledge, evidence.part_of
    fault = evidence.population.fault_of[rows]
    starts = np.flatnonzero(np.diff(fault, prepend=-2))
    of_one_part = [key for key in keys if key[0] in k.point and evidence.reads_as_good(key[0]) is not None]
    points = [key for key in keys if key[0] in k.point and key not in of_one_part]
    signs: dict[str, list[Key]] = {}
    for key in keys:
        if key[0] in k.sign and key[1]:
            signs.setdefault(key[0], []).append(key)
    habits = [key for key in keys if key[0] in k.sign and not key[1]]
    part = np.concatenate([part_of[fault], part_of[fault[starts]], part_of])  # of each furnace, each failure's furnaces, each failure

    some = [points[i : i + AT_ONCE] for i in range(0, len(points), AT_ONCE)]
    pieces = [(len(each), _of_points(evidence, each, rows, starts)) for each in some]
    pieces += [(1, _of_one_part(evidence, key, rows, starts)) for key in of_one_part]
    lines_of_points = sum(len(piece.column) for _, piece in pieces)
    pieces += [(len(steps), _of_sign(evidence, name, steps, rows, starts)) for name, steps in signs.items()]
    pieces += [(1, _of_habit(evidence, name, len(rows) + len(starts))) for name, _, _ in habits]
    column, bins, line, row, share = _joined(pieces)
    del pieces  # as much again as the whole
    parts = len(evidence.parts)
    sums, sum_of, kept = _each_once(line * parts + part[row], row, share, len(column) * parts)
    row, share = row[kept], share[kept]
    order = np.argsort(row, kind="stable")
    many = np.bincount(row, minlength=len(part))
    shares, share_of = np.unique(share[order], return_inverse=True)
    of_failures = _of_failures(fault.astype(np.intp), starts, len(part_of), sum_of, row, share)
    shown = [*points, *of_one_part, *chain(*signs.values()), *habits]
    as_reported = np.array([evidence.foretold.as_reported(name, step) for name, step, _ in shown], bool)
    return Shown(shown, column, bins, lines_of_points, starts, sums.reshape(-1, parts), sum_of[order], many, share_of, shares, *of_failures, as_reported)


class _Piece(NamedTuple):
    """What some keys show. Of each line: *column*, the number of its key among these, and *bins*. Of each entry: the *line* that it adds to, whose weight
    it is (*row*, numbered as in `Shown`: furnaces, then failures' furnaces, then failures), and the *share* of it that it adds.
    """

    column: Numbers
    bins: Numbers
    line: Small
    row: Small
    share: Floats


_NOTHING = _Piece(np.zeros(0, np.intp), np.zeros(0, np.intp), np.zeros(0, np.int32), np.zeros(0, np.int32), np.zeros(0))


def _joined(pieces: Sequence[tuple[int, _Piece]]) -> _Piece:
    """Pieces as one, their keys and lines numbered on from one to the next. With each stands how many keys it is of."""
    numbered, keys, lines = [], 0, 0
    for many, piece in pieces:
        numbered.append(piece._replace(column=keys + piece.column, line=np.add(piece.line, lines, dtype=np.int32)))
        keys, lines = keys + many, lines + len(piece.column)
    return _Piece(*(np.concatenate(each) for each in zip(*numbered, strict=True))) if numbered else _NOTHING


def _of_points(evidence: Evidence, points: Sequence[Key], rows: Numbers, starts: Numbers) -> _Piece:
    """A line for each bin in which any furnace reads."""
    of, row, read = _entries(bins_on(evidence, points, rows), starts)
    mark = of * BINS + read
    seen = np.zeros(len(points) * BINS, bool)
    seen[mark] = True
    used = np.flatnonzero(seen)
    line_of = np.zeros(len(seen), np.int32)
    line_of[used] = np.arange(len(used))
    return _Piece(used // BINS, used % BINS, line_of[mark], row, np.ones(len(row)))


def _of_one_part(evidence: Evidence, key: Key, rows: Numbers, starts: Numbers) -> _Piece:
    """The same of what is read of a part by itself: a furnace that reads it as the good one of its site may read as that of any site (see `any_site`)."""
    population, as_good = evidence.population, evidence.reads_as_good(key[0])
    good = population.good_at[population.good_at >= 0]
    assert as_good is not None
    alike = as_good[rows]
    on_good, how_many = np.unique(bins_on(evidence, [key], good)[0], return_counts=True)
    _, row, read = _entries(np.where(alike, ANY_SITE, bins_on(evidence, [key], rows)), starts)
    pooled = np.flatnonzero(read == ANY_SITE)
    own = np.flatnonzero(read != ANY_SITE)
    read = np.concatenate([read[own], np.tile(on_good, len(pooled)).astype(np.intp)])
    used, line = np.unique(read, return_inverse=True)
    share = np.concatenate([np.ones(len(own)), np.tile(how_many / how_many.sum(), len(pooled))])
    return _Piece(np.zeros(len(used), np.intp), used, np.asarray(line, np.int32), np.concatenate([row[own], np.repeat(row[pooled], len(on_good))]), share)


def _of_sign(evidence: Evidence, name: str, steps: Sequence[Key], rows: Numbers, starts: Numbers) -> _Piece:
    """A line for each value of a sign, and for never, at each step."""
    chance = chances_shown(evidence, name)
    of, row, word = _entries(words_on(evidence, steps, rows, chance.shape[1] - 1), starts)
    value, entry = np.nonzero(chance[:, word])
    column, values = np.repeat(np.arange(len(steps)), len(chance)), np.tile([*range(len(chance) - 1), NEVER], len(steps))
    line = np.asarray(of[entry] * len(chance) + value, np.int32)
    return _Piece(column, values, line, row[entry], chance[value, word[entry]])


def _of_habit(evidence: Evidence, name: str, failures_from: int) -> _Piece:
    """A line for each value of a sign that no circuit gives, and for never where it may not be there. *failures_from*: the number of the first failure
    among the weights."""
    sign = evidence.knowledge.sign[name]
    share, bins = np.array([evidence.habits(sign, v) for v in sign.values]), np.arange(len(sign.values))
    if sign.seen_only_with:
        share, bins = np.vstack([share, 1 - ever_there(sign, evidence.foretold, evidence.having)]), np.append(bins, NEVER)
    value, failure = np.nonzero(share)
    line, row = np.asarray(value, np.int32), np.asarray(failures_from + failure, np.int32)
    return _Piece(np.zeros(len(share), np.intp), bins, line, row, share[value, failure])


def _of_failures(fault: Numbers, starts: Numbers, failures: int, sum_of: Numbers, row: Small, share: Floats) -> tuple[Numbers, Numbers, Floats]:
    """Of each sum and failure that adds to it: the sum, the failure, and what it adds were it sure and each of its furnaces as likely.

    *fault*: the failure of each furnace. *sum_of*, *row*, *share*: of each entry, as `shown_by` has them.
    """
    each = 1 / np.bincount(fault, minlength=failures)[fault]
    chance = np.concatenate([each, np.ones(len(starts) + failures)])[row] * share
    failure = np.concatenate([fault, fault[starts], np.arange(failures)])[row]
    cell, of = np.unique(sum_of * failures + failure, return_inverse=True)
    return cell // failures, cell % failures, np.asarray(np.bincount(of.ravel(), chance, len(cell)), float)


def _each_once(cell: Numbers, row: Small, share: Floats, cells: int) -> tuple[Numbers, Numbers, Numbers]:
    """Of each cell the number of its sum, of each entry that is kept the sum it adds to, and which entries are kept.

    Cells with the same entries have one sum: they are known by a sum of random numbers, one for each row. That two others meet in all 53 bits
    is less likely than a fault of the machine. Entries of a cell come in the same order wherever they are the same, so rounding parts none.
    """
    mark = np.random.default_rng(0).random(int(row.max(initial=0)) + 1)
    known_by = np.bincount(cell, mark[row] * share, cells)
    _, found, sums = np.unique(known_by.view(np.int64), return_index=True, return_inverse=True)
    chosen = np.zeros(cells, bool)
    chosen[found] = True
    kept = np.flatnonzero(chosen[cell])
    return sums, sums[cell[kept]], kept


def shown_on_all(evidence: Evidence, rows: Numbers) -> Shown:
    """What the usual keys show on *rows*, all furnaces with a failure: kept beside the population, so that a first question costs no more than others."""
    home = evidence.population.home
    if home is None or not home.is_dir():
        return shown_by(evidence, evidence.usual_keys, rows)
    key = key_of("shown", code=[Path(__file__).with_name(f"{name}.py") for name in MADE_BY])
    with suppress(*UNSOUND):
        page, arrays = kept(home, key)
        keys = [(name, step, meter) for name, step, meter in page["keys"]]
        return Shown(keys, points=int(page["points"]), **{name: arrays[name] if name in PICKED else _wide(arrays[name]) for name in ARRAYS})
    shown = shown_by(evidence, evidence.usual_keys, rows)
    keep(home, key, {"keys": shown.keys, "points": shown.points}, {name: _narrow(getattr(shown, name)) for name in ARRAYS})
    return shown


def _narrow(values: NDArray[np.generic]) -> NDArray[np.generic]:
    """Whole numbers as small ones, where they are."""
    whole = values.dtype.kind == "i"
    return values.astype(np.result_type(np.min_scalar_type(values.min(initial=0)), np.min_scalar_type(values.max(initial=0)))) if whole else values


def _wide(values: NDArray[np.generic]) -> NDArray[Any]:
    """As they were: what picks from arrays does so quickest in the machine's own size."""
    return values.astype(np.intp) if values.dtype.kind in "iu" else values


def chances_shown(evidence: Evidence, name: str) -> Floats:
    """How often each word of what a sign shows, and last that it is never reached, is met as each of its values, and last as never; (values + 1, words + 1).

    A word for which the sign has no value is as if it were never reached.
    """
    sign = evidence.knowledge.sign[name]
    chance = np.pad(evidence.foretold.chances(sign), (0, 1))
    chance[-1] = 1 - chance.sum(axis=0)
    return chance


def bins_on(evidence: Evidence, points: Sequence[Key], rows: Numbers) -> NDArray[np.int16]:
    """The bin of each reading on each furnace, shape (points, rows)."""
    columns = np.array([evidence.column(key) for key in points], np.intp)
    return bins_of(evidence.population.table[np.ix_(columns, rows)], errors_of(evidence.knowledge, [key[0] for key in points]))


def words_on(evidence: Evidence, sign: Sequence[Key], rows: Numbers, never: int) -> NDArray[np.int16]:
    """The number of the word that a sign shows at each of its steps on each furnace, *never* where the furnace does not come there; shape (steps, rows)."""
    columns = np.array([evidence.column(key) for key in sign], np.intp)
    shown = evidence.population.table[np.ix_(columns, rows)]
    return np.where(np.isnan(shown), never, shown).astype(np.int16)


def _entries(bins: NDArray[np.int16], starts: Numbers) -> tuple[Numbers, Small, Numbers]:
    """Key, furnace and bin of all that is shown; where all furnaces of a failure show the same they are one entry, numbered after the single ones."""
    rows = bins.shape[1]
    alike = np.minimum.reduceat(bins, starts, axis=1) == np.maximum.reduceat(bins, starts, axis=1)
    key_of_all, failure = np.nonzero(alike)
    key, row = np.nonzero(np.repeat(~alike, np.diff(starts, append=rows), axis=1))
    read = np.concatenate([bins[key_of_all, starts[failure]], bins[key, row]]).astype(np.intp)
    return np.concatenate([key_of_all, key]), np.concatenate([rows + failure, row], dtype=np.int32), read
