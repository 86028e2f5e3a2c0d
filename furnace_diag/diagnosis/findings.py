"""What the rules conclude from a report: hazards, proofs, exonerations, doubts, root causes, advice, and what a repair proved.

Each heat call is run by itself, so that what a proof needs together was seen together; then the visit as a whole.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Collection, Container, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache, cached_property
from typing import Literal, NamedTuple, get_args

from furnace_diag.diagnosis.compiled import Compiled
from furnace_diag.diagnosis.engines import Chainer, ChainRule, Fact, Firing, Index, chainer
from furnace_diag.diagnosis.lacking import SAY, lacking, otherwise
from furnace_diag.diagnosis.records import Record
from furnace_diag.diagnosis.taking import how_to_take
from furnace_diag.knowledge.finding_models import FINDINGS, Condition, Proof, Wanted
from furnace_diag.knowledge.models import Knowledge
from furnace_diag.knowledge.repair_models import Check, Repair
from furnace_diag.knowledge.repairs import checks_after, checks_before

MOST_READY = 256  # sets of rules that stand ready in an engine
MOST_RUNS_KEPT = 4096  # sets of facts whose conclusions are remembered
OTHER_CALL = "a second heat call"
TELLS = {"hazard": ("now", "call"), "doubt": ("do",), "advice": ("do",), "root_cause": ("look", "accept"), "exoneration": ()}


class Found(NamedTuple):
    """A finding that holds: what it says, what to do about it, and the records that show it."""

    finding: str
    says: str
    tells: Mapping[str, str]
    because: tuple[str, ...]
    source: str
    at: str


class Need(NamedTuple):
    """A condition of a proof: *met_by* the records that meet it, *denied_by* those that speak against it.

    *take*: what to do to meet it, empty where it is met; *calls_left*: in how many more heat calls it must be seen.
    *almost*: records that would meet it if they told more, each with what it must still say. Where it is not met in the call that
    comes next: *before*: records that met it in another call; *unfit*: records of what it asks for that do not meet it, each with why.
    """

    condition: str
    says: str
    met_by: tuple[str, ...]
    denied_by: tuple[str, ...]
    take: str
    calls_left: int
    almost: tuple[str, ...] = ()
    before: tuple[str, ...] = ()
    unfit: tuple[str, ...] = ()

    @property
    def beside(self) -> tuple[str, ...]:
        """What is said of records beside what is to be taken: which met it in another call, which leave something out, which do not count and why."""
        again = (f"{'; '.join(self.before)} met it in one heat call; wanted in {OTHER_CALL} too",) if self.before else ()
        return (*again, *self.almost, *self.unfit)


class ProofState(NamedTuple):
    """How far a proof has come: none, shown or proved."""

    proof: str
    says: str
    of: tuple[str, ...]
    grade: str
    needs: tuple[Need, ...]
    because: str
    source: str
    at: str

    @property
    def missing(self) -> tuple[Need, ...]:
        """What is still to be taken, in the proof's order."""
        return tuple(n for n in self.needs if n.calls_left)

    @property
    def denied(self) -> tuple[Need, ...]:
        """What records speak against."""
        return tuple(n for n in self.needs if n.denied_by)


class RepairState(NamedTuple):
    """How far the checks of a repair have come; each `Need` is one of them. *lacks_proof*: a proof of its failure must be complete first."""

    repair: str
    says: str
    needs: tuple[Need, ...]
    lacks_proof: bool
    source: str
    at: str

    @property
    def missing(self) -> tuple[Need, ...]:
        """What is still to be taken, in order."""
        return tuple(n for n in self.needs if n.calls_left)

    @property
    def denied(self) -> tuple[Need, ...]:
        """What records speak against."""
        return tuple(n for n in self.needs if n.denied_by)

    @property
    def proved(self) -> bool:
        """Whether every check is met, nothing speaks against one, and no proof is lacking."""
        return not (self.missing or self.denied or self.lacks_proof)


RuleSet = Literal["of_a_call", "of_a_visit", "of_checks_in_a_call", "of_checks_once"]  # as `Compiled` calls them


@dataclass
class _Seen:
    """What one run concluded: names, with the numbers of the records behind each."""

    behind: dict[str, frozenset[int]] = field(default_factory=dict)

    def learn(self, firings: Iterable[Firing], rules: Mapping[str, ChainRule]) -> None:
        changed = True
        fired = list(firings)
        while changed:
            changed = False
            for rule, facts in fired:
                records = frozenset().union(*(self._records(f) for f in facts))
                for name in rules[rule].then:
                    if not records <= self.behind.get(name, frozenset()) or name not in self.behind:
                        self.behind[name] = self.behind.get(name, frozenset()) | records
                        changed = True

    def renumbered(self, numbers: Sequence[int]) -> _Seen:
        """The same, where record i is *numbers*[i]."""
        return _Seen({name: frozenset([numbers[i] for i in records]) for name, records in self.behind.items()})

    def _records(self, fact: Fact) -> frozenset[int]:
        return frozenset([int(fact["r"])]) if "r" in fact else self.behind.get(str(fact["k"]), frozenset())


class _Runs(NamedTuple):
    """What each heat call and the whole visit concluded, what the records said, which were looked at twice, and which call is going on."""

    by_call: Mapping[int, _Seen]
    visit: _Seen
    said: Sequence[str]
    facts: Sequence[Fact]
    sure: frozenset[int]
    running: int | None = None


@dataclass(frozen=True)
class Findings:
    """All findings of a report. *grades*: of each proof none, shown or proved; `Finder.proof` tells the rest of it."""

    hazards: tuple[Found, ...]
    doubts: tuple[Found, ...]
    root_causes: tuple[Found, ...]
    exonerations: tuple[Found, ...]
    advice: tuple[Found, ...]
    grades: Mapping[str, str]
    cleared: frozenset[str]
    engine: str
    runs: _Runs = field(repr=False, compare=False)

    @property
    def names(self) -> frozenset[str]:
        """The ids of all findings that hold, proved proofs among them."""
        found = (*self.hazards, *self.doubts, *self.root_causes, *self.exonerations, *self.advice)
        return frozenset(f.finding for f in found) | {p for p, grade in self.grades.items() if grade == "proved"}


class Finder:
    """Runs the findings of *knowledge*; make it once, use it for many reports."""

    def __init__(self, knowledge: Knowledge, make: type[Chainer] | None = None) -> None:
        self.k = knowledge
        self.compiled = Compiled(knowledge)
        self._first: Compiled | None = None  # what the first report can make fire
        self._make = make or chainer
        self._runs: dict[tuple[object, ...], tuple[dict[int, _Seen], _Seen]] = {}
        self._conclusions: dict[tuple[object, ...], _Seen] = {}
        self._indexes: dict[tuple[RuleSet, bool], Index] = {}
        self._ready: OrderedDict[tuple[RuleSet, tuple[ChainRule, ...]], tuple[Chainer, dict[str, ChainRule]]] = OrderedDict()
        self._patterns = cache(lambda name: [self.compiled.wants(w) for way in knowledge.condition[name].any_of for w in way if w.point or w.sign])
        self._concludes = {kind: {f"found:{name}": name for name in getattr(knowledge, kind)} for kind in FINDINGS}
        self._grades = {grade: {f"{grade}:{p}": p for p in knowledge.proof} for grade in ("shown", "proved")}  # the higher one last
        self._take = cache(lambda name: how_to_take(knowledge.condition[name], knowledge))
        self._take_check = cache(lambda name: how_to_take(knowledge.check[name], knowledge))

    def make_ready(self) -> None:
        """Write down all rules now, whatever the first report may need of them."""
        self._first = self.compiled
        for which in get_args(RuleSet):
            self._index(which, ())

    def find(self, records: Sequence[Record], options: Mapping[str, str], running: int | None = None) -> Findings:
        """Every finding that the records show. *options*: what is known of the furnace, by id. *running*: the heat call that is going on, if one is."""
        facts = self.compiled.facts(records, options)
        by_call, visit = self._concluded(facts, [r.call for r in records])
        said = [r.said for r in records]
        found = {kind: self._found(kind, visit, said) for kind in FINDINGS}
        grades = dict.fromkeys(self.k.proof, "none")
        for grade, told in self._grades.items():
            grades |= {told[name]: grade for name in told.keys() & visit.behind.keys()}
        cleared = frozenset(c for e in found["exoneration"] for c in self.k.exoneration[e.finding].clears)
        hazards = tuple(sorted(found["hazard"], key=lambda f: self.k.hazard[f.finding].rank))
        others = (found["doubt"], found["root_cause"], found["exoneration"], found["advice"])
        sure = frozenset(i for i, r in enumerate(records) if r.sure)
        return Findings(hazards, *others, grades, cleared, self.engine, _Runs(by_call, visit, said, facts, sure, running))

    def _concluded(self, facts: Sequence[Fact], calls: Sequence[int]) -> tuple[Mapping[int, _Seen], _Seen]:
        """What each call and the visit conclude, remembered. *calls*: of each record the heat call."""
        key = (tuple(calls), tuple([tuple(f.values()) for f in facts]))
        if key not in self._runs:
            while len(self._runs) >= MOST_RUNS_KEPT:
                self._runs.pop(next(iter(self._runs)), None)
            self._first = self._first or Compiled(self.k, frozenset(str(f["k"]) for f in facts))
            by_call = self._each_call(facts, dict(enumerate(calls)), "of_a_call")
            self._runs[key] = by_call, self._visit(facts, by_call)
        return self._runs[key]

    @cached_property
    def engine(self) -> str:
        """The engine in use and its version."""
        return self._make(()).engine

    def _rules(self, which: RuleSet, compiled: Compiled | None = None) -> tuple[ChainRule, ...]:
        rules: tuple[ChainRule, ...] = getattr(compiled or self.compiled, which)
        return rules

    def _index(self, which: RuleSet, facts: Iterable[Fact]) -> Index:
        """Of all rules, or of those for the first report while nothing else is told: a program that answers once need not write down all."""
        first = self._first if self._first is not None and self._first.bears(facts) else None
        key = which, first is not None
        if key not in self._indexes:
            self._indexes[key] = Index(self._rules(which, first))
        return self._indexes[key]

    def _made_ready(self, which: RuleSet, able: tuple[ChainRule, ...]) -> tuple[Chainer, dict[str, ChainRule]]:
        """The rules that some facts can trigger, ready to run: a report triggers few of all."""
        key = (which, able)
        if key in self._ready:
            self._ready.move_to_end(key)
            return self._ready[key]
        if len(self._ready) >= MOST_READY:
            self._ready.popitem(last=False)[1][0].close()
        self._ready[key] = self._make(able), {r.rule: r for r in able}
        return self._ready[key]

    def _each_call(self, facts: Sequence[Fact], calls: Mapping[int, int], which: RuleSet) -> dict[int, _Seen]:
        """What each heat call shows by itself, by its number. *calls*: that of each record."""
        every = sorted(set(calls.values()))
        return {c: self._run([f for f in facts if "r" not in f or calls[int(f["r"])] == c], which) for c in every}

    def _run(self, facts: Sequence[Fact], which: RuleSet) -> _Seen:
        """What a set of rules concludes from facts. Rules that have nothing to do with one another are run apart, each such set once for facts alike."""
        index = self._index(which, facts)
        seen = _Seen()
        each = [(f, met) for f in facts if (met := index.met_by(f)) or f["k"] in index.waited]
        for part in index.apart(frozenset([p for _, met in each for p in met])):
            told = sorted((str(f["k"]), m, "r" in f, int(f.get("r", 0)), i) for i, (f, m) in enumerate(each) if f["k"] in part.names)
            key = (which, part, tuple([(name, m, is_record) for name, m, is_record, *_ in told]))
            if key not in self._conclusions:
                while len(self._conclusions) >= MOST_RUNS_KEPT:
                    self._conclusions.pop(next(iter(self._conclusions)), None)
                self._conclusions[key] = self._chained(which, part.rules, [each[i][0] for *_, i in told])
            seen.behind |= self._conclusions[key].renumbered([record for *_, record, _ in told]).behind
        return seen

    def _chained(self, which: RuleSet, able: tuple[ChainRule, ...], facts: Sequence[Fact]) -> _Seen:
        """What the engine concludes, each record known by the place of its fact."""
        engine, rules = self._made_ready(which, able)
        seen = _Seen()
        seen.learn(engine.run([{**f, "r": i} if "r" in f else f for i, f in enumerate(facts)]), rules)
        return seen

    def _visit(self, facts: Sequence[Fact], by_call: Mapping[int, _Seen]) -> _Seen:
        """All records at once, with what the calls showed: in how many a proof's conditions held together, and what was denied."""
        counts: dict[str, int] = {}
        shown: dict[str, frozenset[int]] = {}
        for seen in by_call.values():
            for name, records in seen.behind.items():
                counts[name] = counts.get(name, 0) + 1
                shown[name] = shown.get(name, frozenset()) | records
        # what calls showed goes in as records of its own, numbered below 0, so that what rests on it can be followed back
        counted: list[Fact] = [{"k": name, "v": count, "r": -1 - i} for i, (name, count) in enumerate(sorted(counts.items()))]
        behind = {int(f["r"]): shown[str(f["k"])] for f in counted}
        visit = self._run([*facts, *counted], "of_a_visit")
        told = {name: frozenset(n for r in records for n in behind.get(r, (r,))) for name, records in visit.behind.items()}
        return _Seen({name: told.get(name, frozenset()) | shown.get(name, frozenset()) for name in {**told, **shown}})

    # --- what was found --------------------------------------------------------------------

    def _found(self, kind: str, visit: _Seen, said: Sequence[str]) -> tuple[Found, ...]:
        if self._concludes[kind].keys().isdisjoint(visit.behind):
            return ()
        entries = getattr(self.k, kind)
        held = [(entries[name], visit.behind[told]) for told, name in self._concludes[kind].items() if told in visit.behind]
        return tuple(
            Found(getattr(entry, kind), entry.says, {t: getattr(entry, t) for t in TELLS[kind]}, _said(records, said), entry.source, entry.at)
            for entry, records in held
        )

    def proof(self, findings: Findings, name: str) -> ProofState:
        """How far a proof has come with these findings; KeyError if there is no such proof."""
        p, runs = self.k.proof[name], findings.runs
        best, whole = self._best(p, runs), _whole(p, runs)
        needs = tuple(self._need(p, n, best, whole, runs) for n in p.needs)
        return ProofState(p.proof, p.says, p.of, findings.grades[name], needs, p.because, p.source, p.at)

    def met(self, findings: Findings, name: str) -> float:
        """The share of a proof's conditions that are met in the call that comes next, as `proof` would tell."""
        p, runs = self.k.proof[name], findings.runs
        best = self._best(p, runs)
        return sum(self._is_met(n, best, runs) for n in p.needs) / len(p.needs)

    def is_met(self, findings: Findings, condition: str) -> bool:
        """Whether a condition of a proof is met in any heat call."""
        return f"met:{condition}" in findings.runs.visit.behind or any(f"met:{condition}" in s.behind for s in findings.runs.by_call.values())

    def is_denied(self, findings: Findings, name: str) -> bool:
        """Whether a record that was looked at twice denies a condition of a proof: looking once more is no use."""
        runs = findings.runs
        return any(runs.visit.behind.get(f"denied:{n}", frozenset()) & runs.sure for n in self.k.proof[name].needs)

    def is_out_of_reach(self, findings: Findings, name: str, never: Collection[tuple[str, str | None]]) -> bool:
        """Whether a condition of a proof that is not met can be met by nothing any more. *never*: names and steps that cannot be read, None for any step."""
        open_still = (self.k.condition[n] for n in self.k.proof[name].needs if never and not self.is_met(findings, n))
        return any(all(any(_cannot_be_read(w, never) for w in way) for way in condition.any_of) for condition in open_still)

    def _best(self, p: Proof, runs: _Runs) -> _Seen:
        """The heat call that comes next in a proof: the one that is going on, for those before it are over; else, of those that lack something of it,
        the one that lacks least. A whole one where none has begun."""
        if len(runs.by_call) == 1 and runs.running in (None, *runs.by_call):
            return next(iter(runs.by_call.values()))
        if _whole(p, runs) >= p.calls:
            return next(s for s in runs.by_call.values() if _is_whole(p, s))
        running = runs.by_call.get(runs.running, _Seen()) if runs.running is not None else None
        if running is not None and not _is_whole(p, running):
            return running
        needs = self.compiled.call_needs(p)
        met = {call: sum(f"met:{n}" in s.behind for n in needs) for call, s in runs.by_call.items()}
        begun = [call for call, s in runs.by_call.items() if met[call] and not _is_whole(p, s)] if running is None else []
        return runs.by_call[max(begun or met, key=lambda call: met[call])] if met else _Seen()

    def asked_by(self, proof: ProofState) -> frozenset[str]:
        """The names of what a proof itself asks for, without what meets it only by the way."""
        conditions = [self.k.condition[n.condition] for n in proof.needs if n.condition in self.k.condition]
        return frozenset(w.names[0][1] for c in conditions for way in c.any_of for w in way if not w.meets_only)

    def calls_of(self, findings: Findings, name: str) -> frozenset[int]:
        """The heat calls in which all that proof *name* wants of a call was seen."""
        return frozenset(call for call, seen in findings.runs.by_call.items() if f"in_call:{name}" in seen.behind)

    def _is_met(self, name: str, best: _Seen, runs: _Runs) -> bool:
        return f"met:{name}" in (runs.visit if self.k.condition[name].once else best).behind

    def _calls_left(self, p: Proof, name: str, best: _Seen, whole: int, runs: _Runs) -> int:
        """In how many more heat calls a condition must be seen; *whole*: in how many all that the proof wants of a call was."""
        met = self._is_met(name, best, runs)
        if self.k.condition[name].once:
            return int(not met)
        return max(p.calls - whole - int(met and not _is_whole(p, best)), 0)

    def _need(self, p: Proof, name: str, best: _Seen, whole: int, runs: _Runs) -> Need:
        condition, visit = self.k.condition[name], runs.visit
        met = self._is_met(name, best, runs)
        left = self._calls_left(p, name, best, whole, runs)
        denied = visit.behind.get(f"denied:{name}", frozenset())
        met_by = _said(visit.behind.get(f"met:{name}", frozenset()), runs.said) if met else ()
        against = _said(denied, runs.said)
        if met or not left:
            return Need(name, condition.says, met_by, against, self._take(name) if left else "", left)
        before = _said(visit.behind.get(f"met:{name}", frozenset()), runs.said)
        almost, unfit = self._almost(condition, runs, before), self._unfit(condition, runs, denied)
        return Need(name, condition.says, met_by, against, self._take(name), left, almost, before, unfit)

    def _almost(self, condition: Condition, runs: _Runs, before: Container[str] = ()) -> tuple[str, ...]:
        """Records that lie in the band but leave out how they were read, which for a proof is as if nothing had been read. None that was told in full
        too and met it *before*."""
        told: dict[str, tuple[str, ...]] = {}
        for pattern in self._patterns(condition.condition):
            for fact in runs.facts:
                more = None if fact.get("t") else lacking(pattern, fact)
                if more and runs.said[int(fact["r"])] not in before and len(more) < len(told.get(said := runs.said[int(fact["r"])], (*more, ""))):
                    told[said] = more
        return tuple(f"you gave {said}{SAY}{', '.join(more)}" for said, more in told.items())

    def _unfit(self, condition: Condition, runs: _Runs, denied: frozenset[int]) -> tuple[str, ...]:
        """Records of what the condition asks for that say something else than it wants, and do not deny it."""
        found: dict[str, tuple[str, ...]] = {}
        patterns = [self.compiled.wants(w) for way in condition.any_of for w in way if (w.point or w.sign) and not w.meets_only]
        for fact in runs.facts:
            about = [p for p in patterns if p.name == fact["k"]]
            if about and fact["r"] not in denied and (fact["t"] or all(lacking(p, fact) is None for p in about)):
                found[runs.said[int(fact["r"])]] = min((otherwise(p, fact) for p in about), key=len)
        return tuple(f"you gave {said}, which does not count: {', '.join(why)}" for said, why in found.items() if why)

    # --- what a doubt says of the records ----------------------------------------------------

    def doubted(self, findings: Findings) -> frozenset[int]:
        """Numbers of the records that some doubt is about."""
        return frozenset().union(*(findings.runs.visit.behind[f"found:{d.finding}"] for d in findings.doubts))

    def mistimed(self, findings: Findings) -> frozenset[int]:
        """Numbers of the records that a doubt holds to be read too early or too late to tell what they seem to."""
        lines = [w for d in findings.doubts for way in self.k.doubt[d.finding].when for w in way]
        timed = [self.compiled.wants(w) for w in lines if w.until_s is not None or w.after_s is not None]
        return frozenset(int(f["r"]) for f in findings.runs.facts if "r" in f and any(lacking(p, f) == () for p in timed))

    # --- repairs ---------------------------------------------------------------------------

    def before_repair(self, records: Sequence[Record], options: Mapping[str, str], repair: str, proved: Iterable[ProofState]) -> RepairState:
        """What must be proved before the first step, with the records of the whole visit and what the verdict on them holds for *proved*.

        KeyError if there is no such repair.
        """
        entry = self.k.repair[repair]
        failures = {f for p in proved for f in p.of}
        lacks = entry.needs_proof and not {*failures, *(f.partition(":")[0] for f in failures)} & set(entry.of)
        return self._state(entry, checks_before(self.k, entry), records, options, lacks_proof=lacks)

    def after_repair(self, records: Sequence[Record], options: Mapping[str, str], repair: str, besides: Iterable[Check] = ()) -> RepairState:
        """What the records, all of them taken after the repair, prove of it. *besides*: checks that are asked for beside its own, and first.

        KeyError if there is no such repair.
        """
        entry = self.k.repair[repair]
        checks = {c.check: c for c in (*besides, *checks_after(self.k, entry))}
        return self._state(entry, checks.values(), records, options, lacks_proof=False)

    def _state(self, repair: Repair, checks: Iterable[Check], records: Sequence[Record], options: Mapping[str, str], *, lacks_proof: bool) -> RepairState:
        return RepairState(repair.repair, repair.says, self.checked(checks, records, options), lacks_proof, repair.source, repair.at)

    def barred(self, records: Sequence[Record], options: Mapping[str, str]) -> frozenset[str]:
        """Experiments that must not be tried, because the records deny what must be shown first: no new fuse into a short that was found."""
        read, barred = {r.name for r in records}, set[str]()
        for tried in self.k.experiment.values():
            checks = [self.k.check[c] for c in tried.needs_shown]
            if any(w.names[0][1] in read for c in checks for way in c.any_of for w in way) and any(n.denied_by for n in self.checked(checks, records, options)):
                barred.add(tried.sign)
        return frozenset(barred)

    def checked(self, checks: Iterable[Check], records: Sequence[Record], options: Mapping[str, str]) -> tuple[Need, ...]:
        """How far each of *checks* is met or denied by *records*, in their order."""
        facts, said = self.compiled.facts(records, options), [r.said for r in records]
        once = self._run(facts, "of_checks_once")
        by_call = list(self._each_call(facts, {i: r.call for i, r in enumerate(records)}, "of_checks_in_a_call").values())
        return tuple(self._checked(c, [once] if c.once else by_call, said) for c in checks)

    def _checked(self, check: Check, runs: Sequence[_Seen], said: Sequence[str]) -> Need:
        met = [s.behind[f"met:{check.check}"] for s in runs if f"met:{check.check}" in s.behind]
        denied = frozenset[int]().union(*(s.behind.get(f"denied:{check.check}", frozenset()) for s in runs))
        left = max(check.calls - len(met), 0)
        met_by = _said(frozenset[int]().union(*met), said)
        return Need(check.check, check.says, met_by, _said(denied, said), self._take_check(check.check) if left else "", left)


def _whole(p: Proof, runs: _Runs) -> int:
    """In how many heat calls all that a proof wants of a call was seen."""
    return sum(_is_whole(p, s) for s in runs.by_call.values())


def _is_whole(p: Proof, seen: _Seen) -> bool:
    """Whether all that a proof wants of a call was seen in this one."""
    return f"in_call:{p.proof}" in seen.behind


def _cannot_be_read(line: Wanted, never: Collection[tuple[str, str | None]]) -> bool:
    """Whether what a line asks for can be read at none of its steps."""
    return all((name, None) in never or (bool(line.step) and all((name, s) in never for s in line.step)) for _, name in line.names)


def _said(records: Iterable[int], said: Sequence[str]) -> tuple[str, ...]:
    return tuple(said[i] for i in sorted(records))
