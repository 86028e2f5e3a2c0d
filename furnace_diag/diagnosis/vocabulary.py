"""The names of everything that a record may speak of, and what is meant by a name together with its value."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cached_property

from furnace_diag.diagnosis.complaint import Complaints
from furnace_diag.diagnosis.repairs_told import Repaired, repairs_told
from furnace_diag.furnace.family import failures_of
from furnace_diag.knowledge.find import Names, told_by_unit, told_by_value
from furnace_diag.knowledge.models import Knowledge
from furnace_diag.knowledge.spelling import DENIALS, plain, spelling_of
from furnace_diag.knowledge.values import results_of, values_of, words_for_values
from furnace_diag.problems import BadInput, Place, Problem, printable

OF_THE_CALL = frozenset({"on", "off", "none"})  # said of a call, or of a switch that makes it: "fan mode: on" is no blower that runs
NOT_SO = DENIALS | {"nobody"}  # words by which something is said not to have happened
OTHER_KINDS = ("point", "experiment", "sign", "event", "step")  # where a name may belong that is not of the kind it was given as
CALLED = {"history": "part, or part:failure,"}  # what a kind's names are, where its own name does not say it


class Vocabulary:
    """The names of everything a record may speak of."""

    def __init__(self, knowledge: Knowledge, family: str | None = None) -> None:
        """*family*: the furnace that is spoken of, whose steps have names; the first of the rules if left out."""
        self.knowledge = knowledge
        self.family = family or next(iter(knowledge.furnace))
        furnace = knowledge.furnace[self.family]
        self.words = next(iter(knowledge.words.values()))
        self.sequence = knowledge.sequence[furnace.sequence]
        self.entries: dict[str, Mapping[str, Iterable[str]]] = {
            "point": {i: e.also_called for i, e in knowledge.point.items()},
            "sign": {i: e.also_called for i, e in knowledge.sign.items()},
            "event": {i: e.also_called for i, e in knowledge.event.items()},
            "history": repairable(knowledge),
            "step": {s.step: s.also_called for s in knowledge.sequence[furnace.sequence].steps},
            "experiment": {i: e.also_called for i, e in knowledge.experiment.items()},
            "furnace": dict.fromkeys(knowledge.furnace, ()),
        }
        self._names: dict[str, Names] = {}
        self._values: dict[str, Names] = {}

    @cached_property
    def results(self) -> Names:
        """What people type for the results of an earlier repair."""
        return results_of(self.words)

    @cached_property
    def complaints(self) -> Complaints:
        """What people say of a furnace, and what it tells."""
        calls = {c.step for c in self.sequence.other_calls}
        other_calls = Names({step: called for step, called in self.entries["step"].items() if step in calls}, spelling_of(self.words))
        return Complaints(self.knowledge.sign, self.knowledge.hazard.values(), other_calls, self.words.short_words, self.words, self.names("history"))

    @cached_property
    def done(self) -> frozenset[str]:
        """Words by which it is told that something was done to a part."""
        return frozenset(words.split()[0] for each in self.words.repair_said.done.values() for words in each)

    def repairs_in(self, text: str) -> list[Repaired]:
        """What *text* tells of earlier repairs and what came of them."""
        if self.done.isdisjoint(plain(text).split()):
            return []  # as most are; no table of names is made for it
        said = self.words.repair_said
        return repairs_told(text, self.names("history"), self.results, self.done, said.means.keys(), said.by_means, said.still)

    def values(self, sign: str) -> Names:
        """What people type for the values of a sign."""
        if sign not in self._values:
            self._values[sign] = values_of(self.knowledge.sign[sign], self.words)
        return self._values[sign]

    def names(self, kind: str) -> Names:
        """All names of one kind; made when first asked for, because a report of plain ids needs none."""
        if kind not in self._names:
            self._names[kind] = Names(self.entries[kind], spelling_of(self.words, kind))
        return self._names[kind]

    def make_ready(self) -> Names:
        """Spell out all that is made when first asked for, which the first line typed would wait for; the last of it is returned."""
        for kind in self.entries:
            self.names(kind)
        return self.results

    def one(self, kind: str, text: str, place: Place) -> str:
        """The id that *text* names. Raises BadInput where it is unknown or ambiguous, with the nearest names."""
        if text in self.entries[kind]:
            return text
        meant = self._meant(kind, text)
        if len(meant) == 1:
            return meant[0]
        asked = printable(text) or "nothing"
        if meant:
            raise BadInput([Problem(place, f"{asked} could be {either(meant)}.", "Write the one you mean.")])
        raise BadInput([Problem(place, f"There is no {CALLED.get(kind, kind)} called {asked}.", self._instead(kind, text))])

    def _meant(self, kind: str, text: str) -> list[str]:
        """The ids of that kind that *text* names; of an event with what it was beside as well."""
        names = self.names(kind)
        if kind == "experiment" and (i := plain(text).replace(" ", "_")) in self.knowledge.sign and i not in self.entries[kind]:
            return []  # nothing is changed for it, whatever experiment it is like
        return names.meant(text) or names.in_any_order(text) or (names.before_place(text) if kind == "event" else [])

    def told(self, kind: str, text: str, value: str, place: Place) -> str:
        """The id that *text* names; of a name that is short for several signs the one with *value* among its own words, of points the one that is
        read in the unit of *value*. Raises BadInput as `one` does."""
        if kind == "point" and text not in self.entries[kind]:
            return self._point_told(text, value, place)
        if text in self.entries[kind] or kind not in ("sign", "experiment"):
            return self.one(kind, text, place)
        clear, told = self.names(kind).clear(text), told_by_value(self.names(kind), text, value)
        fits = len(clear) == 1 and len(self.values(clear[0]).meant(value)) == 1
        return told[0] if len(told) == 1 and not fits else self.one(kind, text, place)

    def _point_told(self, text: str, value: str, place: Place) -> str:
        """The point that *text* names by itself; else the one that it names with the unit of *value*."""
        by_unit = self.told_by_unit(text, value)
        return by_unit[0] if len(by_unit) == 1 else self.one("point", text, place)

    def told_by_unit(self, text: str, value: str) -> list[str]:
        """The points that *text* names together with the unit that *value* tells; none where it names a point by itself: ohms from R to C of the
        board, where volts are read, are those of whatever hangs on it."""
        points = self.names("point")
        return [] if points.clear(text) else told_by_unit(points, text, value, self._units)

    def told_by_step(self, text: str, value: str) -> tuple[str, str] | None:
        """The step that *text* names and the sign that is meant by its *value* there: "fan call" with "hums". None of what may be said of the call itself."""
        steps = self.names("step").meant(text)
        sign = self.words.step_tells.get(steps[0]) if len(steps) == 1 else None
        if sign is None or plain(value) in OF_THE_CALL or words_for_values(("yes", "no"), {}, self.words.value_words).meant(value):
            return None
        return (steps[0], sign) if len(self.values(sign).meant(value)) == 1 else None

    def parted_anew(self, kind: str, text: str, value: str) -> tuple[str, str] | None:
        """The longest name of that kind that begins with *text* and goes on into *value*, and the value then told: "burners" with "drop out after minutes"
        is "burners drop out" with "after minutes", "burner box" with "scorched" is the scorched burner box. None where *text* takes *value* itself or is
        short for several things, or where that is the name of a check of a proof."""
        if text in self.knowledge.sign and value in self.knowledge.sign[text].values:
            return None  # as most are written; no table of names is made for it
        names, start, words = self.names(kind), len(text.split()), [*text.split(), *value.split()]
        clear = names.clear(text)
        if names.could_be(text) or told_by_value(names, text, value) or (len(clear) == 1 and self.values(clear[0]).meant(value)):
            return None
        longer = [(" ".join(words[end:]), ids) for end in range(len(words), start, -1) if (ids := names.clear(" ".join(words[:end])))]
        if not longer or len(longer[0][1]) > 1 or self.knowledge.sign[sign := longer[0][1][0]].only_for_proof:
            return None
        rests = (rest or value for rest, ids in longer if ids == [sign])
        return next(((sign, rest) for rest in rests if len(self.values(sign).meant(rest)) == 1), None)

    @cached_property
    def _units(self) -> dict[str, str]:
        """In what each point is read."""
        return {i: p.unit for i, p in self.knowledge.point.items()}

    def _instead(self, kind: str, text: str) -> str:
        """What to write for a name that is unknown among this kind: of another kind, nearest of this one, or where all are listed."""
        if kind == "event" and not NOT_SO.isdisjoint(plain(text).split()):
            return "An event is only written down if it happened: leave out what did not."
        if kind == "step" and text.strip().isdigit():
            return f"A step is a name such as heating; which heat call it was is told by `call: {text.strip()}`."
        could_be = self.names(kind).could_be(text)
        named = [(k, i) for k in OTHER_KINDS if k != kind for i in self.names(k).meant(text) or self.names(k).could_be(text)]
        others = [(k, i) for k, i in named if i not in self.entries[kind]]
        told = " ".join(f"{i} is {_a(k)}: write {k}: {i}." for k, i in others[:2])
        if any(plain(i) == plain(text) for _, i in others) and not could_be:
            return told
        near = could_be or self.names(kind).suggested(text)
        guess = f"Did you mean {either(near)}?" if near else ""
        return " ".join(filter(None, (guess, told))) or _where_listed(kind, self.names(kind))


def _a(kind: str) -> str:
    return f"an {kind}" if kind == "event" else f"a {kind}"


def repairable(knowledge: Knowledge) -> dict[str, tuple[str, ...]]:
    """What an earlier repair can have been done to: parts, and failures of them as part:failure, with what else each is called."""
    found = {name: part.also_called for name, part in knowledge.part.items()}
    for name, part in knowledge.part.items():
        own = {*part.also_called}
        found |= {f"{name}:{f.failure}": tuple(w for w in f.also_called if w not in own) for f in failures_of(part, knowledge)}
    return found


def _where_listed(kind: str, names: Names) -> str:
    if kind in ("point", "sign", "experiment"):
        return "furnace-diag points lists all of them; furnace-diag points WORD searches."
    ids = [i for i in names.ids if ":" not in i]
    return f"Use one of: {', '.join(ids[:20])}{', ...' if len(ids) > 20 else ''}."


def either(names: list[str]) -> str:
    """Names of which one is meant, in a sentence: "a, b or c"."""
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} or {names[-1]}"
