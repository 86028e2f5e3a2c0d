"""A furnace family made ready to run: the rule files' wiring and sequence as numbered tables."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from functools import cached_property
from typing import NamedTuple
from zlib import crc32

import numpy as np
from numpy.typing import NDArray

from furnace_diag.furnace.network import Branches, Network
from furnace_diag.knowledge.model_base import named_by
from furnace_diag.knowledge.models import Effect, Element, Failure, Furnace, Knowledge, Machines, Part, Point, Sequence, Sign, State, Trial, Wiring

Numbers = dict[str, NDArray[np.float64]]
Choices = dict[str, NDArray[np.str_]]


class Fault(NamedTuple):
    """One failure of one part."""

    part: str
    failure: str

    def __str__(self) -> str:
        return f"{self.part}:{self.failure}"


class Family:
    """A furnace family of *knowledge*, with everything about it that does not differ from site to site.

    Of the rule files' points, signs and failures it has those that name nothing but what stands in it.

    Raises KeyError if the family, its wiring or its sequence is not in *knowledge*.
    """

    def __init__(self, knowledge: Knowledge, name: str) -> None:
        self.knowledge = knowledge
        self.furnace: Furnace = knowledge.furnace[name]
        self.wiring: Wiring = knowledge.wiring[self.furnace.wiring]
        self.sequence: Sequence = knowledge.sequence[self.furnace.sequence]
        self.machines: Machines = self.furnace.machines
        self.elements: tuple[Element, ...] = tuple(e for e in self.wiring.elements if e.kind != "rotor")
        self.rotors: dict[str, Element] = {e.core: e for e in self.wiring.elements if e.kind == "rotor" and e.core}
        self.number = {e.element: i for i, e in enumerate(self.elements)}
        self.cores = tuple(self.wiring.cores)
        self.steps = {s.step: i for i, s in enumerate(self.sequence.steps)}

    @cached_property
    def failures(self) -> tuple[str, ...]:
        """Its faults as part:failure, in their order."""
        return tuple(map(str, self.faults))

    @cached_property
    def network(self) -> Network:
        """The shape of the wiring."""
        wound = tuple(tuple(i for i, e in enumerate(self.elements) if e.core == core) for core in self.cores)
        ends = tuple(e.between for e in self.elements if e.between)
        return Network(Branches(tuple(self.wiring.nodes), self.wiring.ground, ends, wound))

    @cached_property
    def outputs(self) -> tuple[str, ...]:
        """What the sequence can drive."""
        named = [o for s in self.sequence.steps for o in s.drives]
        named += [o for s in self.sequence.steps for v in s.drives_when.values() for outs in v.values() for o in outs]
        named += list(self.sequence.accessories)
        return tuple(dict.fromkeys(named))

    @cached_property
    def at_rest(self) -> dict[str, bool]:
        """All that contacts follow, and whether it closes them on a furnace at rest: outputs never do."""
        followed = {e.follows: e.normally == "closed" for e in self.elements if e.follows}
        return dict.fromkeys(self.outputs, False) | {name: rest for name, rest in followed.items() if name not in self.outputs}

    @cached_property
    def followed(self) -> dict[int, str]:
        """What each element follows that is a contact, by its number."""
        return {i: e.follows for i, e in enumerate(self.elements) if e.follows}

    @cached_property
    def every_element(self) -> range:
        """The numbers of all elements."""
        return range(len(self.elements))

    @cached_property
    def rests_closed(self) -> NDArray[np.bool_]:
        """Whether each element is closed where nothing moves it, shape (elements,)."""
        return np.array([e.normally == "closed" for e in self.elements])

    @cached_property
    def sources(self) -> tuple[tuple[int, tuple[str, str]], ...]:
        """The number of each element that drives current, and its nodes."""
        return tuple((i, e.between) for i, e in enumerate(self.elements) if e.kind == "source" and e.between)

    @cached_property
    def fed(self) -> frozenset[str]:
        """The nodes between which current is driven."""
        return frozenset(node for _, ends in self.sources for node in ends)

    def core_of(self, winding: str) -> str:
        """The core that a winding is on; KeyError for an element that is none."""
        core = self.elements[self.number[winding]].core
        if core is None:
            raise KeyError(winding)
        return core

    # --- the steps that mean something --------------------------------------------------------

    @cached_property
    def order(self) -> tuple[int, ...]:
        """The steps of a good heat call."""
        return tuple(self.steps[s] for s in self.sequence.order)

    @cached_property
    def calling(self) -> int:
        """The step in which heat is called for and nothing is driven yet."""
        return self.steps[self.sequence.heat_call.step]

    @cached_property
    def first_driven(self) -> int:
        """The first step of a heat call that drives anything; the heat call's own step where none does."""
        return next((s for s in self.order if self.sequence.steps[s].drives), self.calling)

    @cached_property
    def off(self) -> int:
        """The step of a control without power."""
        return self.steps[self.sequence.roles.off]

    @cached_property
    def string_open(self) -> int:
        """The step in which the safety string is found open."""
        return self.steps[self.sequence.roles.string_open]

    @cached_property
    def steady(self) -> int:
        """The step in which a good heat call goes on until it ends."""
        return self.order[-1]

    # --- what of the rule files is about this family --------------------------------------------

    @cached_property
    def names(self) -> dict[str, frozenset[str]]:
        """The ids that stand in this family, by what they are."""
        inputs = self.sequence.inputs
        return {
            "element": frozenset(self.number),
            "winding": frozenset(e.element for e in self.elements if e.core in self.rotors),
            "node": frozenset(self.wiring.nodes),
            "number": frozenset(self.furnace.numbers),
            "input": frozenset(inputs) | {i.hidden_by for i in inputs.values() if i.hidden_by},
            "output": frozenset(self.outputs),
        }

    @cached_property
    def points(self) -> tuple[Point, ...]:
        """What can be read on this family."""
        return tuple(p for p in self.knowledge.point.values() if self._has_point(p))

    def _has_point(self, point: Point) -> bool:
        _, _, name = (point.reads or "").partition(":")
        read = not name or set(name.split("+")) <= self.names["element"] | self.names["number"]
        return read and all(node in self.names["node"] for node in point.leads or ()) and any(s in self.steps for s in point.steps)

    @cached_property
    def signs(self) -> tuple[Sign, ...]:
        """What can be seen on this family of what its virtual furnaces show."""
        return tuple(s for s in self.knowledge.sign.values() if s.shows is not None and self._has_sign(s))

    def _has_sign(self, sign: Sign) -> bool:
        if isinstance(sign.shows, Trial):
            return self._has_trial(sign.shows)
        return not isinstance(sign.shows, State) or all(name in self.names[what] for _, what, name in named_by(sign.shows))

    def _has_trial(self, trial: Trial) -> bool:
        joined = all(name in self.at_rest for go in trial.tries for name in go.joins)
        known = set(trial.all_off) <= set(self.taken_off) and trial.found_broken in (None, *self.number)
        return joined and known and self._has_effects(trial.all_effects)

    @cached_property
    def _failures(self) -> dict[Fault, Failure]:
        every = ((p, f) for p in self.knowledge.part.values() for f in failures_of(p, self.knowledge))
        return {Fault(part.part, failure.failure): failure for part, failure in every if self._has_failure(failure)}

    def _has_failure(self, failure: Failure) -> bool:
        return self._has_effects(failure.effects)

    def _has_effects(self, effects: Iterable[Effect]) -> bool:
        targets = (("element", "element"), ("quantity", "number"), ("input", "input"))
        return all(getattr(e, field) in self.names[what] for e in effects for field, what in targets if getattr(e, field) is not None)

    @cached_property
    def output_pins(self) -> tuple[str, ...]:
        """The nodes where a lead or plug may be taken off that stand behind a contact which the control drives."""
        fed = {node for e in self.elements if e.follows in self.outputs for node in e.between or ()}
        return tuple(str(taken.at) for taken in self.wiring.taken_off if taken.at in fed and taken.at not in self._sensed)

    def near(self, off: str) -> frozenset[str]:
        """The nodes from which something is taken off, and the outputs' pins; the ground and what the supply goes back by are near everything."""
        ends = {node for e in self.taken_off[off] for node in self.elements[self.number[e]].between or ()}
        shared = {node for sense in self.sequence.inputs.values() for node in (sense.between or ("", ""))[1:]}
        return frozenset({*ends, *self.output_pins} - shared)

    @property
    def _sensed(self) -> frozenset[str]:
        return frozenset(node for sense in self.sequence.inputs.values() for node in sense.between or ())

    @cached_property
    def taken_off(self) -> dict[str, tuple[str, ...]]:
        """The elements that are open once something is taken off, by the node where it is off, or by its set-up where it has none."""
        return {str(taken.at or taken.set_up): taken.opens for taken in self.wiring.taken_off}

    @property
    def faults(self) -> tuple[Fault, ...]:
        """Every failure of every part, in the order of the rule files."""
        return tuple(self._failures)

    def failure(self, fault: Fault) -> Failure:
        """The entry of a failure; KeyError if there is none."""
        return self._failures[fault]

    @cached_property
    def prior(self) -> NDArray[np.float64]:
        """How often each of `faults` is met, before anything is known; sums to 1.

        A part's word gives its total and its failures' shares only divide it, so splitting a part finer
        leaves its total as it was.
        """
        words = next(iter(self.knowledge.words.values()))
        totals = {name: words.often[part.often] for name, part in self.knowledge.part.items()}
        scale: dict[str, float] = {}
        for fault, failure in self._failures.items():
            scale[fault.part] = scale.get(fault.part, 0) + failure.share
        odds = np.array([totals[f.part] * self.failure(f).share / scale[f.part] for f in self.faults])
        return np.asarray(odds / odds.sum())


def failures_of(part: Part, knowledge: Knowledge) -> tuple[Failure, ...]:
    """The failures of *part*: those of its kind, on its element, then its own."""
    own = {f.failure for f in part.failures}
    inherited = [f for f in knowledge.kind[part.kind].failures if f.failure not in part.leaves_out and f.failure not in own] if part.kind else []
    every = tuple(_on_element(f, part.element or part.part) for f in inherited) + part.failures
    effects = {f.failure: f.effects for f in every}
    return tuple(f.model_copy(update={"effects": effects[f.like]}) if f.like else f for f in every)


def _on_element(failure: Failure, element: str) -> Failure:
    effects = tuple(e.model_copy(update={"element": element}) if e.element == "self" else e for e in failure.effects)
    return failure.model_copy(update={"effects": effects})


def luck(seed: int, name: str) -> np.random.Generator:
    """A random generator for one thing, seeded by its name: drawing for another thing does not change what is drawn for this one."""
    return np.random.default_rng([seed, crc32(name.encode())])


def draw_sites(furnace: Furnace, count: int, seed: int) -> tuple[Numbers, Choices]:
    """Numbers and options of *count* furnaces of a family, shape (count,) each.

    Options are dealt out in proportion: each value comes up as often as its figure says, not only on average.
    """
    choices = {}
    for name, option in furnace.options.items():
        ends = np.cumsum(list(option.values.values())) / sum(option.values.values())
        picked = np.minimum(np.searchsorted(ends, _even(count, luck(seed, name)), side="right"), len(ends) - 1)
        choices[name] = np.array(list(option.values))[picked]
    return _numbers(furnace, choices, lambda name: _even(count, luck(seed, name))), choices


def _numbers(furnace: Furnace, choices: Choices, place: Callable[[str], NDArray[np.float64]]) -> Numbers:
    """Each number of a family at its *place* between its ends, from 0 to 1, where these options were chosen."""
    numbers: Numbers = {}
    for name, spread in furnace.numbers.items():
        part = place(name)
        low, high = (np.full(len(part), end) for end in spread.between)
        for option, ends in spread.instead.items():
            for value, (least, most) in ends.items():
                chosen = choices[option] == value
                low, high = np.where(chosen, least, low), np.where(chosen, most, high)
        unit = 1.0 if spread.of is None else numbers[spread.of] if spread.of in numbers else choices[spread.of].astype(float)
        numbers[name] = (low + (high - low) * part) * unit
    return numbers


def _even(count: int, random: np.random.Generator) -> NDArray[np.float64]:
    """*count* numbers from 0 to 1, one in each of *count* equal slices, in random order (Latin hypercube)."""
    return (random.permutation(count) + random.random(count)) / count


def usual_site(furnace: Furnace, options: Mapping[str, str] | None = None, place: float = 0.5) -> tuple[Numbers, Choices]:
    """One furnace in the middle of every spread, or at another *place* from 0 to 1, with the usual options unless *options* says otherwise."""
    chosen = {name: option.usual for name, option in furnace.options.items()} | dict(options or {})
    choices = {name: np.array([value]) for name, value in chosen.items()}
    return _numbers(furnace, choices, lambda _: np.array([place])), choices


def drawn(bounds: tuple[float, float], count: int, random: np.random.Generator | float) -> NDArray[np.float64]:
    """Severities between two bounds, even on a log scale where both are above zero; a number from 0 to 1 is the place between them, instead of luck."""
    low, high = bounds
    part = np.full(count, random) if isinstance(random, float) else _even(count, random)
    if low > 0 and high > 0:
        return np.asarray(low * (high / low) ** part)
    return low + (high - low) * part


def from_mildest(effect: Effect) -> tuple[float, float]:
    """The bounds of an effect, first the end that is nearer to a furnace in good order: a small change, a little added, a short of many ohms."""
    if effect.times is not None:
        low, high = sorted(effect.times, key=lambda times: abs(math.log(times)) if times > 0 else math.inf)
        return low, high
    if effect.ohms is not None:
        return max(effect.ohms), min(effect.ohms)
    assert effect.adds_ohms is not None
    return min(effect.adds_ohms), max(effect.adds_ohms)


def effects_on(failure: Failure, target: str) -> list[Effect]:
    """The effects of a failure that have `element`, `quantity` or `input` as their target."""
    return [e for e in failure.effects if getattr(e, target) is not None]
