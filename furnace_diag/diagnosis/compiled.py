"""The findings of the rule files as chaining rules, and records as facts for them.

A fact of a record has only integers: k what it is about, v its value (thousandths of the unit, hundredths of ohms, or the number of the
word), s the step, m the meter, c where the lead sat, h what the meter held, a the seconds since the gas came on (or since the call, before
that), r the record, t whether it is hearsay, one field for each set-up and one for each option that is a time. What is not known is 0, or
UNKNOWN for times: a condition asks for the value itself, so the unknown never counts as good.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from functools import cached_property

from furnace_diag.diagnosis.engines import LARGEST, ChainRule, Pattern, Test
from furnace_diag.diagnosis.records import BEFORE_PUT_RIGHT, OTHER_BOARD, SET_UPS, Record
from furnace_diag.knowledge.finding_models import FINDINGS, KINDS, Band, Condition, Proof, Wanted, When
from furnace_diag.knowledge.models import Knowledge

UNKNOWN = -(2**20)
PARTS_OF = {"ohm": 100}  # of a unit in the integers: hundredths of ohms, so that OL (20 Mohm and more) still fits
THOUSANDTHS = 1000  # of every other unit
METERS = {"low": 1, "high": 2}
CONTACTS = {"pin": 1, "crimp": 2, "load": 3}
HOLDS = {"min": 1, "max": 2}
NOT_SET_UP = dict.fromkeys(SET_UPS, 0)
HEARSAY = {"told": 1, OTHER_BOARD: 2, BEFORE_PUT_RIGHT: 3}  # sources by which nobody saw or read how this furnace is, by number
NOT_TOLD: Test = ("eq", "t", 0)
OF_RULES = ("finding", "condition")  # kinds of lines about what other rules conclude; all others are of what is told
TOLD = tuple(f"{kind}:" for kind in KINDS if kind not in OF_RULES)  # how names of facts begin that are of what is told
MOVED_AWAY = tuple(s for s in SET_UPS if s not in ("load_on", "door_closed", "door_held"))  # what makes another reading of it


class Compiled:
    """Chaining rules of *knowledge*, for one heat call and for the whole visit.

    *named*: only those that facts of these names, as `point:ID`, can make fire; all where it is None. To write down all of them takes as long as
    three answers.
    """

    def __init__(self, knowledge: Knowledge, named: frozenset[str] | None = None) -> None:
        self.k, self.named = knowledge, named
        self.steps = {step: i + 1 for i, step in enumerate(dict.fromkeys(s.step for q in knowledge.sequence.values() for s in q.steps))}

    # --- facts -----------------------------------------------------------------------------

    @cached_property
    def delays(self) -> dict[str, float]:
        """Options that are times and that a rule waits for: the longest each can be [s]."""
        every = [e.any_of for e in self.k.condition.values()] + [e.any_of for e in self.k.check.values()]
        named = {w.later_than for ways in every for w in _lines(ways) if w.later_than}
        options = {name: o for f in self.k.furnace.values() for name, o in f.options.items()}
        return {name: max(float(v) for v in options[name].values) for name in sorted(named) if name in options}

    def facts(self, records: Iterable[Record], options: Mapping[str, str]) -> list[dict[str, int | str]]:
        """One fact for each record that findings can read, and one for each of *options*, what is known of the furnace."""
        known: list[dict[str, int | str]] = [{"k": f"option:{o}", "v": self.values[o].index(value)} for o, value in sorted(options.items())]
        return known + [fact for i, r in enumerate(records) if (fact := self._fact(i, r, options)) is not None]

    @cached_property
    def values(self) -> dict[str, list[str]]:
        """The values of each option, in the order that numbers them."""
        return {name: list(o.values) for f in self.k.furnace.values() for name, o in f.options.items()}

    def _fact(self, number: int, r: Record, options: Mapping[str, str]) -> dict[str, int | str] | None:
        value = self._value(r)
        if value is None:
            return None
        after = UNKNOWN if r.after_s is None else round(r.after_s)
        fact: dict[str, int | str] = {
            "k": f"{r.kind}:{r.name}", "v": value, "s": self.steps.get(r.step or "", 0), "m": METERS.get(r.meter or "", 0),
            "c": CONTACTS.get(r.contact or "", 0), "h": HOLDS.get(r.hold or "", 0), "a": after, "r": number,
            "t": HEARSAY.get(r.source or "", 0),
        }  # fmt: skip
        fact |= {word: int(word in r.set_up) for word in SET_UPS} if r.set_up else NOT_SET_UP
        margin = next(iter(self.k.words.values())).delay_margin_s  # on a setting that is known; never more than the longest there is
        for name, longest in self.delays.items():
            known = min(float(options[name]) + margin, longest) if name in options else longest
            fact[f"late_{name}"] = UNKNOWN if after == UNKNOWN else round(after - known)
        return fact

    def _value(self, r: Record) -> int | None:
        if r.kind == "point" and r.number is not None:
            return _whole(r.number, self.k.point[r.name].unit)
        if r.kind == "sign" and r.word is not None:
            return self.k.sign[r.name].values.index(r.word)
        if r.kind == "history" and r.word is not None:
            return self.results.index(r.word)
        return 1 if r.kind == "event" else None

    @cached_property
    def results(self) -> list[str]:
        """What an earlier repair can have led to, in the order that numbers them."""
        return list(next(iter(self.k.words.values())).history)

    # --- tests -----------------------------------------------------------------------------

    @cached_property
    def ends(self) -> dict[str, tuple[int | None, int | None]]:
        """The least and the most that lies in each band, as facts have it."""
        return {name: _ends(band) for name, band in self.k.band.items()}

    def wants(self, w: Wanted) -> Pattern:
        """The pattern of a fact that meets *w*."""
        kind, name = w.names[0]
        if kind in OF_RULES:
            return Pattern(f"{'found' if kind == 'finding' else 'met'}:{name}")
        tests = [self._in_band(w, name, kind), *self._about(w)]
        tests += [("eq", field, codes[word]) for field, codes, word in self._how(w) if word]
        tests += [("eq", word, 1) for word in w.set_up]
        if w.after_s is not None:
            tests.append(("ge", "a", round(w.after_s)))
        if w.until_s is not None:
            tests += [("ge", "a", 0), ("le", "a", round(w.until_s))]
        if w.later_than is not None:
            tests.append(("ge", f"late_{w.later_than}", round(w.by_s)))
        return Pattern(f"{kind}:{name}", ("and", tuple(t for t in tests if t)))

    def denies(self, w: Wanted) -> Pattern | None:
        """The pattern of a fact that speaks against *w*: the same reading, outside the band. None for what has no opposite."""
        kind, name = w.names[0]
        if kind not in ("point", "sign") or w.meets_only:
            return None
        outside = self._outside(w, name, kind)
        if not outside:
            return None
        tests: list[Test] = [outside, *self._about(w, unstated=True)]
        tests += [("or", (("eq", field, 0), ("eq", field, codes[word]))) for field, codes, word in self._how(w) if word and field == "c"]
        tests += [("eq", word, int(word in w.set_up)) for word in MOVED_AWAY]
        if self._held_only(w):
            tests.append(("eq", "h", HOLDS[str(w.hold)]))
        if w.after_s is not None:
            tests.append(("or", (("eq", "a", UNKNOWN), ("ge", "a", round(w.after_s)))))
        if w.until_s is not None:
            tests.append(("le", "a", round(w.until_s)))
        if w.later_than is not None:
            late = f"late_{w.later_than}"
            tests.append(("or", (("eq", late, UNKNOWN), ("ge", late, round(w.by_s)))))
        return Pattern(f"{kind}:{name}", ("and", tuple(tests)))

    def _held_only(self, w: Wanted) -> bool:
        """Whether only a held reading can deny it: "never below" is denied by any low one, "once above" is not."""
        band = self.k.band.get(w.is_[0]) if w.point else None
        return band is not None and ((w.hold == "max" and band.at_most is None) or (w.hold == "min" and band.at_least is None))

    @staticmethod
    def _how(w: Wanted) -> list[tuple[str, Mapping[str, int], str | None]]:
        return [("m", METERS, w.meter), ("c", CONTACTS, w.contact), ("h", HOLDS, w.hold)]

    def _about(self, w: Wanted, *, unstated: bool = False) -> list[Test]:
        steps = [self.steps[s] for s in w.step] + ([0] if unstated and w.step and not (w.step_told or self._before_it_is_over(w)) else [])
        return [("or", tuple(("eq", "s", n) for n in steps))] if steps else []

    def _before_it_is_over(self, w: Wanted) -> bool:
        """Whether *w* speaks of the beginning of a call, and what is told of its sign without a step speaks of how the call ended."""
        if w.sign is None or not self.k.sign[w.sign].after_call or w.after_s is not None:
            return False
        return {*w.step} <= {s for q in self.k.sequence.values() for s in (q.starts_at, q.heat_call.step)}

    def _in_band(self, w: Wanted, name: str, kind: str) -> Test:
        if kind == "point":
            low, high = self.ends[w.is_[0]]
            return ("and", tuple(t for t in (low is not None and ("ge", "v", low), high is not None and ("le", "v", high)) if t))
        return ("or", tuple(("eq", "v", n) for n in self._words(w, name, kind)))

    def _outside(self, w: Wanted, name: str, kind: str) -> Test | None:
        if kind == "sign":
            sign = self.k.sign[name]
            others = [i for i, v in enumerate(sign.values) if v not in w.is_ and not any(sign.is_vaguer(v, word) for word in w.is_)]
            return ("or", tuple(("eq", "v", i) for i in others)) if others else None
        band = self.k.band[w.is_[0]]
        low, high = self.ends[w.is_[0]]
        above: list[Test] = []
        if high is not None:
            above.append(("gt", "v", high))
            if band.ghost_up_to is not None:  # on an open wire a sensitive meter reads its neighbours
                above = [("and", (("gt", "v", high), ("or", (("ne", "m", METERS["high"]), ("gt", "v", _whole(band.ghost_up_to, band.unit))))))]
        return ("or", (*([("lt", "v", low)] if low is not None else []), *above))

    def _words(self, w: Wanted, name: str, kind: str) -> list[int]:
        if kind == "sign":
            return [self.k.sign[name].values.index(word) for word in w.is_]
        if kind == "option":
            return [self.values[name].index(word) for word in w.is_]
        if kind == "history":
            return [self.results.index(word) for word in w.is_] or list(range(len(self.results)))
        return [1]

    # --- rules -----------------------------------------------------------------------------

    def bears(self, facts: Iterable[Mapping[str, int | str]]) -> bool:
        """Whether these rules conclude from *facts* all that all rules do."""
        return self.named is None or all(f["k"] in self.named for f in facts if str(f["k"]).startswith(TOLD))

    def _may_be_told(self, w: Wanted) -> bool:
        """Whether a fact can meet or deny a line."""
        kind, name = w.names[0]
        return self.named is None or kind in OF_RULES or f"{kind}:{name}" in self.named

    @cached_property
    def of_a_call(self) -> tuple[ChainRule, ...]:
        """What is to be seen in one heat call: conditions met and denied, proofs whose conditions of a call all hold, lines of findings that do together."""
        rules = [r for c in self.k.condition.values() if not c.once for r in self._condition(c)]
        for p in self.k.proof.values():
            rules.append(ChainRule(f"in_call/{p.proof}", tuple(Pattern(f"met:{n}") for n in self.call_needs(p)), (f"in_call:{p.proof}",)))
        rules += [self._together(kind, f"{name}/{i}", joined) for kind, name, i, way in self._ways_of_findings() if (joined := self._of_one_call(way))]
        return tuple(rules)

    @cached_property
    def of_a_visit(self) -> tuple[ChainRule, ...]:
        """What all records together show: conditions that need be met once, proofs, and every other finding."""
        rules = [r for c in self.k.condition.values() if c.once for r in self._condition(c)]
        rules += [r for p in self.k.proof.values() for r in self._proof(p)]
        for kind in FINDINGS:
            for name, entry in getattr(self.k, kind).items():
                unless = tuple(f"found:{n}" for n in entry.unless)
                ways = [self._of_whole_visit(kind, f"{name}/{i}", way) for i, way in enumerate(entry.when) if all(map(self._may_be_told, way))]
                rules += _each_way(kind, name, ways, f"found:{name}", unless=unless)
        return tuple(rules)

    def _ways_of_findings(self) -> Iterator[tuple[str, str, int, tuple[Wanted, ...]]]:
        """Each way in which a finding can hold: its kind, the finding, the number of the way, its lines."""
        entries = ((kind, *entry) for kind in FINDINGS for entry in getattr(self.k, kind).items())
        ways = ((kind, name, i, way) for kind, name, entry in entries for i, way in enumerate(entry.when))
        return (each for each in ways if all(map(self._may_be_told, each[-1])))

    def _wanted_of(self, kind: str, lines: Iterable[Wanted]) -> tuple[Pattern, ...]:
        """The patterns of a finding's lines; hearsay clears nothing."""
        patterns = tuple(self.wants(w) for w in lines)
        return tuple(map(_not_told, patterns)) if kind == "exoneration" else patterns

    def _of_one_call(self, way: tuple[Wanted, ...]) -> tuple[Wanted, ...]:
        """The lines that must hold in one and the same heat call; none where no two of them must."""
        lines = tuple(w for w in way if not w.any_call and (w.point or w.sign or (w.condition and not self.k.condition[w.condition].once)))
        return lines if len(lines) > 1 else ()

    def _together(self, kind: str, way: str, lines: Iterable[Wanted]) -> ChainRule:
        return ChainRule(f"together/{way}", self._wanted_of(kind, lines), (f"together:{way}",))

    def _of_whole_visit(self, kind: str, way: str, lines: tuple[Wanted, ...]) -> tuple[Pattern, ...]:
        """What all records must show: that the lines of one call held together, and each of the others."""
        joined = self._of_one_call(lines)
        in_one_call = set(map(id, joined))
        return (*([Pattern(f"together:{way}")] if joined else []), *self._wanted_of(kind, (w for w in lines if id(w) not in in_one_call)))

    @cached_property
    def of_checks_in_a_call(self) -> tuple[ChainRule, ...]:
        """Checks of repairs, met and denied, that are to be seen in heat calls."""
        return tuple(r for c in self.k.check.values() if not c.once for r in self._ways("check", c.check, c.any_of))

    @cached_property
    def of_checks_once(self) -> tuple[ChainRule, ...]:
        """Checks of repairs that no one call need hold."""
        return tuple(r for c in self.k.check.values() if c.once for r in self._ways("check", c.check, c.any_of))

    def call_needs(self, proof: Proof) -> list[str]:
        """The conditions of a proof that must hold in one and the same heat call."""
        return [n for n in proof.needs if not self.k.condition[n].once]

    def once_needs(self, proof: Proof) -> list[str]:
        """The conditions of a proof that need be met once in a visit."""
        return [n for n in proof.needs if self.k.condition[n].once]

    @cached_property
    def undone(self) -> dict[str, list[str]]:
        """What else the denial of each condition concludes: that the proofs that need it are denied."""
        undone: dict[str, list[str]] = {}
        for proof in self.k.proof.values():
            for condition in dict.fromkeys(proof.needs):
                undone.setdefault(condition, []).append(f"denied_proof:{proof.proof}")
        return undone

    def _condition(self, c: Condition) -> Iterator[ChainRule]:
        """Met by what was seen or read, never by what somebody told; hearsay may still deny it."""
        undone = self.undone.get(c.condition, ())
        for rule in self._ways("condition", c.condition, c.any_of, *undone):
            yield rule._replace(when=tuple(map(_not_told, rule.when))) if f"met:{c.condition}" in rule.then else rule
        otherwise = [(self.wants(w),) for w in c.denied_by if self._may_be_told(w)]
        yield from _each_way("denied_by", c.condition, otherwise, f"denied:{c.condition}", *undone)

    def _ways(self, kind: str, name: str, any_of: When, *undone: str) -> Iterator[ChainRule]:
        """The rules by which *name* is met, and those by which it is denied; a denial concludes *undone* too."""
        ways = [tuple(self.wants(w) for w in a) for a in any_of if all(map(self._may_be_told, a))]
        yield from _each_way(kind, name, ways, f"met:{name}")
        against = [p for w in _lines(any_of) if self._may_be_told(w) and (p := self.denies(w)) is not None]
        yield from _each_way("denial", name, [(p,) for p in dict.fromkeys(against)], f"denied:{name}", *undone)

    def _proof(self, p: Proof) -> Iterator[ChainRule]:
        denied, seen = f"denied_proof:{p.proof}", f"in_call:{p.proof}"
        yield ChainRule(f"shown/{p.proof}", (Pattern(seen, ("ge", "v", 1)),), (f"shown:{p.proof}",), (denied,))
        met = tuple(Pattern(f"met:{n}") for n in self.once_needs(p))
        yield ChainRule(f"proved/{p.proof}", (Pattern(seen, ("ge", "v", p.calls)), *met), (f"proved:{p.proof}", f"found:{p.proof}"), (denied,))


def _whole(value: float, unit: str) -> int:
    """A value in whole parts of its unit, at most what the engine can hold."""
    return round(max(-LARGEST, min(LARGEST, value * PARTS_OF.get(unit, THOUSANDTHS))))


def _ends(band: Band) -> tuple[int | None, int | None]:
    low, high = band.at_least, band.at_most
    return (None if low is None else _whole(low, band.unit)), (None if high is None else _whole(high, band.unit))


def _lines(when: When) -> Iterator[Wanted]:
    return (w for alternative in when for w in alternative)


def _each_way(kind: str, name: str, ways: Iterable[tuple[Pattern, ...]], *then: str, unless: tuple[str, ...] = ()) -> list[ChainRule]:
    """A rule for each way to conclude all of *then*; ways that look at one and the same thing share a rule."""
    shared: dict[str, list[Pattern]] = {}
    apart = []
    for way in ways:
        if len(way) == 1:
            shared.setdefault(way[0].name, []).append(way[0])
        else:
            apart.append(way)
    joined = [(_either(patterns),) for patterns in shared.values()]
    return [ChainRule(f"{kind}/{name}/{i}", way, then, unless) for i, way in enumerate([*joined, *apart])]


def _not_told(pattern: Pattern) -> Pattern:
    """The same of a record that nobody but whoever stood at the furnace made."""
    if not pattern.name.startswith(("point:", "sign:")):
        return pattern
    return Pattern(pattern.name, NOT_TOLD if pattern.test is None else ("and", (NOT_TOLD, pattern.test)))


def _either(patterns: list[Pattern]) -> Pattern:
    """One pattern for a fact that meets any of several, all of one name."""
    tests = tuple(dict.fromkeys(p.test for p in patterns))
    if None in tests:
        return Pattern(patterns[0].name)
    return patterns[0] if len(tests) == 1 else Pattern(patterns[0].name, ("or", tests))
