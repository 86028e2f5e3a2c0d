"""Forward chaining over facts of integers, on durable_rules where it can be had and on clipspy elsewhere.

Both stand behind `Chainer.run` and give the same firings. durable_rules is used only through its compiled module and
only in the subset that is exact: integers, `and`/`or` over constants, no comparison of fact with fact; absence is a
fact of its own ("no NAME"), asserted here once everything that could still give NAME has settled.
"""

from __future__ import annotations

import json
import operator
import sys
import threading
from abc import ABC, abstractmethod
from collections import deque
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import ModuleType
from typing import Any, NamedTuple

Fact = Mapping[str, int | str]  # "k": the fact's name; every other field an integer; what is unknown has no field
Test = tuple[Any, ...]  # ("and" | "or", (test, ...)) or (one of COMPARISONS, field, integer)
HOLDS = {"eq": operator.eq, "ne": operator.ne, "lt": operator.lt, "le": operator.le, "gt": operator.gt, "ge": operator.ge}
MOST_FACTS_KEPT = 20_000
COMPARISONS = {"eq": "=", "ne": "<>", "lt": "<", "le": "<=", "gt": ">", "ge": ">="}

# what durable_rules 2.0.28 was seen to bear when tried; beyond it it errs, hangs or answers wrongly in silence
MOST_PATTERNS, MOST_NAMES, MOST_TESTS_OF_A_NAME, MOST_ALIKE, LARGEST = 16, 480, 60, 250, 2**31 - 1


class Pattern(NamedTuple):
    """One fact that a rule wants: its name, and a test of its fields."""

    name: str
    test: Test | None = None


class ChainRule(NamedTuple):
    """When a fact for every pattern is there, and none of the names under `unless`, the facts `then` hold too."""

    rule: str
    when: tuple[Pattern, ...]
    then: tuple[str, ...]
    unless: tuple[str, ...] = ()


class Firing(NamedTuple):
    """A rule and the facts that met its patterns, in their order."""

    rule: str
    facts: tuple[Fact, ...]


class LoopOfRules(ValueError):
    """Rules that wait for the absence of what they help to conclude; *names* go round."""

    def __init__(self, names: Sequence[str]) -> None:
        super().__init__(" -> ".join(names))
        self.names = tuple(names)


def strata(rules: Sequence[ChainRule]) -> list[list[str]]:
    """Names that are waited for to be absent, in the order in which they settle. Raises LoopOfRules."""
    makers: dict[str, list[ChainRule]] = {}
    for rule in rules:
        for name in rule.then:
            makers.setdefault(name, []).append(rule)
    levels: dict[str, int] = {}

    def level(name: str, above: tuple[str, ...]) -> int:
        if name in levels:
            return levels[name]
        if name in above:
            return 0  # round in a circle of things that hold: no absence on the way, so they settle together
        needs = [level(p.name, (*above, name)) for r in makers.get(name, ()) for p in r.when]
        waits = [1 + absent(n, (*above, name)) for r in makers.get(name, ()) for n in r.unless]
        levels[name] = max([0, *needs, *waits])
        return levels[name]

    def absent(name: str, above: tuple[str, ...]) -> int:
        if name in above:
            raise LoopOfRules((*above[above.index(name) :], name))
        return level(name, above)

    waited = sorted({n for r in rules for n in r.unless})
    by_level: dict[int, list[str]] = {}
    for name in waited:
        by_level.setdefault(level(name, ()), []).append(name)
    _refuse_loops(rules)
    return [by_level[i] for i in sorted(by_level)]


def _refuse_loops(rules: Sequence[ChainRule]) -> None:
    """Raise LoopOfRules if a name depends on its own absence, however far round."""
    needs: dict[str, set[str]] = {}
    for rule in rules:
        for name in rule.then:
            needs.setdefault(name, set()).update((p.name for p in rule.when), rule.unless)
    for rule in rules:
        for waited in rule.unless:
            reached, todo = {waited}, [waited]
            while todo:
                new = needs.get(todo.pop(), set()) - reached
                reached |= new
                todo += new
            looping = [n for n in rule.then if n in reached]
            if looping:
                raise LoopOfRules((looping[0], waited, looping[0]))


def beyond_limits(rule: ChainRule) -> str | None:
    """What of a rule the engine cannot bear, in words; None where nothing is."""
    if len(rule.when) + len(rule.unless) > MOST_PATTERNS:
        return f"has {len(rule.when) + len(rule.unless)} conditions; {MOST_PATTERNS} is the most"
    if any(abs(n) > LARGEST for p in rule.when for n in _integers(p.test)):
        return "holds a number that is too large"
    return None


def crowded(rules: Sequence[ChainRule]) -> str | None:
    """What of all rules together the engine cannot bear, in words; None where nothing is."""
    alike: dict[Pattern, int] = {}
    tests: dict[str, set[Test | None]] = {}
    for pattern in (p for r in rules for p in r.when):
        alike[pattern] = alike.get(pattern, 0) + 1
        tests.setdefault(pattern.name, set()).add(pattern.test)
    most = max(alike, key=lambda p: alike[p], default=None)
    if most is not None and alike[most] > MOST_ALIKE:
        return f"{alike[most]} rules test {most.name} in the same way; {MOST_ALIKE} is the most"
    tested = max(tests, key=lambda n: len(tests[n]), default=None)
    if tested is not None and len(tests[tested]) > MOST_TESTS_OF_A_NAME:
        return f"{len(tests[tested])} different tests of {tested}; {MOST_TESTS_OF_A_NAME} is the most"
    if len(tests) > MOST_NAMES:
        return f"{len(tests)} things are tested; {MOST_NAMES} is the most"
    return None


def _integers(test: Test | None) -> Iterator[int]:
    if test is None:
        return
    if test[0] in ("and", "or"):
        for inner in test[1]:
            yield from _integers(inner)
    else:
        yield test[2]


@dataclass(frozen=True, eq=False)
class Apart:
    """Rules that could fire together and share no fact and no name with any others: what they conclude, they conclude alone.

    *names*: of all facts that they want, wait for or give. An `Index` has each such set once.
    """

    rules: tuple[ChainRule, ...]
    names: frozenset[str]


class Index:
    """Rules by what facts they want: tells which of them can fire at all, so that an engine need not be given the others."""

    def __init__(self, rules: Iterable[ChainRule]) -> None:
        self.rules = tuple(rules)
        numbers: dict[Pattern, int] = {}
        self._wanted = [frozenset(numbers.setdefault(p, len(numbers)) for p in r.when) for r in self.rules]
        self._wanting: dict[int, list[int]] = {}  # of each pattern, by its number, the rules
        for i, wanted in enumerate(self._wanted):
            for number in sorted(wanted):
                self._wanting.setdefault(number, []).append(i)
        self._tests: dict[str, list[tuple[int, Test | None]]] = {}
        for pattern, number in numbers.items():
            self._tests.setdefault(pattern.name, []).append((number, pattern.test))
        self.waited = frozenset(n for r in self.rules for n in r.unless)
        self._met: dict[tuple[int | str, ...], tuple[int, ...]] = {}
        self._parted: dict[frozenset[int], tuple[Apart, ...]] = {}
        self._sets: dict[tuple[int, ...], Apart] = {}
        self._names = [frozenset([*(p.name for p in r.when), *r.then, *r.unless]) for r in self.rules]

    def met_by(self, fact: Fact) -> tuple[int, ...]:
        """The numbers of the patterns that a fact meets. Two facts of one name that meet the same ones are alike to these rules."""
        key = (*fact, *[value for field, value in fact.items() if field != "r"])
        met = self._met.get(key)
        if met is None:
            if len(self._met) >= MOST_FACTS_KEPT:
                self._met.clear()
            met = tuple(n for n, test in self._tests.get(str(fact["k"]), ()) if test is None or _passes(fact, test))
            self._met[key] = met
        return met

    def matters(self, fact: Fact) -> bool:
        """Whether a fact can change what these rules conclude, by being there or by its absence."""
        return bool(self.met_by(fact)) or fact["k"] in self.waited

    def able(self, facts: Iterable[Fact]) -> tuple[ChainRule, ...]:
        """The rules that could fire when these facts are given, whatever is absent, in their order."""
        return tuple(self.rules[i] for i in self._able({p for f in facts for p in self.met_by(f)}))

    def apart(self, met: frozenset[int]) -> tuple[Apart, ...]:
        """The rules that could fire when facts meet these patterns, as sets that have nothing to do with one another."""
        if met not in self._parted:
            if len(self._parted) >= MOST_FACTS_KEPT:
                self._parted.clear()
                self._sets.clear()
            self._parted[met] = tuple(self._set(rules) for rules in self._in_parts(self._able(met)))
        return self._parted[met]

    def _able(self, given: Iterable[int]) -> list[int]:
        left = [len(w) for w in self._wanted]
        met, todo = set(given), list(given)
        found = [i for i, wanted in enumerate(self._wanted) if not wanted]
        while todo:
            for i in self._wanting.get(todo.pop(), ()):
                left[i] -= 1
                if left[i] == 0:
                    found.append(i)
                    new = {p for name in self.rules[i].then for p in self.met_by({"k": name})} - met
                    met |= new
                    todo += new
        return sorted(found)

    def _in_parts(self, rules: Iterable[int]) -> list[tuple[int, ...]]:
        """Rules, by their numbers, in sets that share no name."""
        parts: list[tuple[list[int], frozenset[str]]] = []
        for rule in rules:
            near = [part for part in parts if part[1] & self._names[rule]]
            parts = [part for part in parts if part not in near]
            parts.append(([rule, *(r for part in near for r in part[0])], self._names[rule].union(*(part[1] for part in near))))
        return [tuple(sorted(part)) for part, _ in parts]

    def _set(self, rules: tuple[int, ...]) -> Apart:
        if rules not in self._sets:
            self._sets[rules] = Apart(tuple(self.rules[i] for i in rules), frozenset().union(*(self._names[i] for i in rules)))
        return self._sets[rules]


def _passes(fact: Fact, test: Test) -> bool:
    if test[0] == "and":
        return all(_passes(fact, t) for t in test[1])
    if test[0] == "or":
        return any(_passes(fact, t) for t in test[1])
    kind, field, value = test
    return field in fact and bool(HOLDS[kind](fact[field], value))


class Chainer(ABC):
    """Rules made ready to run; `run` may be called again and again, from any thread."""

    engine = ""

    def __init__(self, rules: Sequence[ChainRule]) -> None:
        self.rules = {r.rule: r for r in rules}
        self.strata = strata(rules)
        self._lock = threading.Lock()

    def run(self, facts: Iterable[Fact]) -> list[Firing]:
        """Every firing, sorted by rule; each combination of facts once."""
        with self._lock:
            self._memory: list[Fact] = []
            self._seen: set[tuple[tuple[str, int | str], ...]] = set()
            self._fired: set[tuple[str, tuple[int, ...]]] = set()
            self._begin()
            try:
                for fact in facts:
                    self._put(fact)
                for names in self.strata:
                    have = {f["k"] for f in self._memory}
                    for name in names:
                        if name not in have:
                            self._put({"k": _no(name)})
            finally:
                self._end()
            return [Firing(rule, tuple(self._memory[i] for i in found)) for rule, found in sorted(self._fired)]

    def _put(self, fact: Fact) -> None:
        todo = deque([fact])
        while todo:
            fact = todo.popleft()
            key = tuple(sorted(fact.items()))
            if key in self._seen:
                continue
            self._seen.add(key)
            self._memory.append(fact)
            for rule, found in self._assert(len(self._memory) - 1, fact):
                if (rule, found) not in self._fired:
                    self._fired.add((rule, found))
                    todo.extend({"k": name} for name in self.rules[rule].then)

    @abstractmethod
    def _begin(self) -> None:
        """Start a run with no facts."""

    @abstractmethod
    def _assert(self, number: int, fact: Fact) -> list[tuple[str, tuple[int, ...]]]:
        """Tell one fact; the rules that fire with it, each with the numbers of the facts for its patterns of `when`."""

    @abstractmethod
    def _end(self) -> None:
        """Forget the facts."""

    def close(self) -> None:  # noqa: B027  most engines hold nothing that Python would not free
        """Give back what the engine holds; it is made anew if it is run again."""


@cache
def _version(package: str) -> str:
    """Of an installed package, by the name of the folder that an installer writes (packaging.python.org, "Recording installed projects").

    Where there is none, the library for that is asked; to import it takes a third of the time in which numpy and click start.
    """
    folders = (found for place in sys.path for found in Path(place).glob(f"{package.replace('-', '_')}-*.dist-info"))
    found = next(folders, None)
    if found is not None:
        return found.name.removesuffix(".dist-info").partition("-")[2]
    from importlib.metadata import version

    return version(package)


def _no(name: str) -> str:
    return f"no {name}"


class _Numbers:
    """Names as integers, so that no text reaches an engine."""

    def __init__(self) -> None:
        self._table: dict[str, int] = {}

    def of(self, name: str) -> int:
        return self._table.setdefault(name, len(self._table) + 1)

    def fields(self, fact: Fact) -> dict[str, int]:
        return {field: self.of(value) if isinstance(value, str) else value for field, value in fact.items()}


# --- durable_rules ----------------------------------------------------------------------------


@cache
def _durable() -> ModuleType:
    """The compiled module of durable_rules. Raises ImportError where it cannot be had."""
    import durable_rules_engine

    module: ModuleType = durable_rules_engine
    return module


class DurableChainer(Chainer):
    """Chaining on durable_rules' compiled module."""

    def __init__(self, rules: Sequence[ChainRule]) -> None:
        super().__init__(rules)
        self._module = _durable()
        self.engine = f"durable_rules {_version('durable-rules')}"
        self._numbers = _Numbers()
        self._handle: Any = None
        # delete_state crashes where no action ran, so one rule fires on every run
        text: dict[str, Any] = {"start": {"all": [{"m0": {"k": self._numbers.of("start")}}]}}
        for r in rules:
            patterns = [*r.when, *(Pattern(_no(n)) for n in r.unless)]
            text[r.rule] = {"all": [{f"m{i}": self._pattern(p)} for i, p in enumerate(patterns)], "dist": 0}  # one fact may meet two patterns
        self._text = json.dumps(text)

    def _pattern(self, pattern: Pattern) -> dict[str, Any]:
        named: dict[str, Any] = {"k": self._numbers.of(pattern.name)}
        # without $and only the first of two fields would be tested
        return {"$and": [named, self._test(pattern.test)]} if pattern.test else {"$and": [named]}

    def _test(self, test: Test) -> dict[str, Any]:
        if test[0] in ("and", "or"):
            return {f"${test[0]}": [self._test(t) for t in test[1]]}
        kind, field, value = test
        sign = {"eq": None, "ne": "$neq", "lt": "$lt", "le": "$lte", "gt": "$gt", "ge": "$gte"}[kind]
        return {field: value} if sign is None else {sign: {field: value}}

    def _begin(self) -> None:
        self._handle = self._handle if self._handle is not None else self._module.create_ruleset("findings", self._text)
        self._tell({"k": self._numbers.of("start"), "id": "start"})

    def _assert(self, number: int, fact: Fact) -> list[tuple[str, tuple[int, ...]]]:
        # facts without an id are known by a 32-bit hash, and clash
        return self._tell({**self._numbers.fields(fact), "id": f"f{number}"})

    def _tell(self, message: Mapping[str, int | str]) -> list[tuple[str, tuple[int, ...]]]:
        fired = []
        try:
            code, offset = self._module.assert_fact(self._handle, json.dumps(message))
            if code > 1:
                raise RuntimeError("durable_rules lost a fact")
            action = self._module.start_action_for_state(self._handle, offset)
            told = action and action[1]
            while told:
                ((rule, got),) = json.loads(told).items()
                if rule != "start":
                    wanted = len(self.rules[rule].when)
                    fired.append((rule, tuple(int(got[f"m{i}"]["id"][1:]) for i in range(wanted))))
                told = self._module.complete_and_start_action(self._handle, offset)
        except BaseException:
            self._handle = None  # what state it is in is unknown: never used again
            raise
        return fired

    def _end(self) -> None:
        if self._handle is not None:
            self._module.delete_state(self._handle, None)

    def close(self) -> None:
        """Give the ruleset's memory back."""
        with self._lock:
            if self._handle is not None:
                self._module.delete_ruleset(self._handle)
                self._handle = None


RUNS_OF_CLIPS = 100  # clipspy 1.0.6 was seen to slow down by a twentieth every few runs of one environment, so it is made anew


# --- clipspy ----------------------------------------------------------------------------------


class ClipsChainer(Chainer):
    """The same on clipspy, where durable_rules cannot be had."""

    def __init__(self, rules: Sequence[ChainRule]) -> None:
        super().__init__(rules)
        import clips

        self.engine = f"clipspy {_version('clipspy')}"
        self._clips = clips
        self._numbers, self._names = _Numbers(), [r.rule for r in rules]
        self._fields = sorted({f for r in rules for p in r.when for f in _fields(p.test)})
        self._hits: list[tuple[str, tuple[int, ...]]] = []
        self._make_ready()

    def _make_ready(self) -> None:
        self._environment, self._runs = self._clips.Environment(), 0
        self._environment.define_function(self._hit, name="hit")
        slots = " ".join(f"(slot {_slot(f)} (default nil))" for f in self._fields)
        self._environment.build(f"(deftemplate fact (slot n) (slot k) {slots})")
        self._template = self._environment.find_template("fact")
        for number, rule in enumerate(self.rules.values()):
            self._environment.build(self._text(number, rule))

    def _text(self, number: int, rule: ChainRule) -> str:
        patterns = [*rule.when, *(Pattern(_no(n)) for n in rule.unless)]
        lines = []
        for i, p in enumerate(patterns):
            bound = " ".join(f"({_slot(f)} ?{_slot(f)}_{i})" for f in _fields(p.test))
            lines.append(f"(fact (n ?n{i}) (k {self._numbers.of(p.name)}) {bound})")
        tests = " ".join(f"(test {_clips_test(p.test, i)})" for i, p in enumerate(patterns) if p.test)
        found = " ".join(f"?n{i}" for i in range(len(rule.when)))
        return f"(defrule r{number} {' '.join(lines)} {tests} => (hit {number} {found}))"

    def _hit(self, number: int, *found: int) -> None:
        self._hits.append((self._names[int(number)], tuple(int(i) for i in found)))

    def _begin(self) -> None:
        self._runs += 1
        if self._runs > RUNS_OF_CLIPS:
            self._make_ready()
        self._environment.reset()

    def _assert(self, number: int, fact: Fact) -> list[tuple[str, tuple[int, ...]]]:
        numbers = self._numbers.fields(fact)
        slots = {_slot(f): numbers[f] for f in self._fields if f in numbers}
        self._hits.clear()
        self._template.assert_fact(n=number, k=numbers["k"], **slots)
        self._environment.run()
        return list(self._hits)

    def _end(self) -> None:
        self._environment.reset()


def _slot(field: str) -> str:
    return f"x_{field}"


def _fields(test: Test | None) -> list[str]:
    if test is None:
        return []
    if test[0] in ("and", "or"):
        return sorted({f for t in test[1] for f in _fields(t)})
    return [test[1]]


def _clips_test(test: Test | None, pattern: int) -> str:
    assert test is not None
    if test[0] in ("and", "or"):
        inner = [_clips_test(t, pattern) for t in test[1]]
        return inner[0] if len(inner) == 1 else f"({test[0]} {' '.join(inner)})"
    kind, field, value = test
    variable = f"?{_slot(field)}_{pattern}"
    return f"(and (integerp {variable}) ({COMPARISONS[kind]} {variable} {value}))"  # an absent field meets no test


# --- which of them ----------------------------------------------------------------------------


def chainer(rules: Sequence[ChainRule]) -> Chainer:
    """Rules on durable_rules, or on clipspy where that cannot be imported."""
    try:
        return DurableChainer(rules)
    except ImportError:
        return ClipsChainer(rules)
