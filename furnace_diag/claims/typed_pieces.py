"""A piece of free text as the reader of the prompt's typed lines takes it, and what is known of the claim that it is of."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace
from functools import cached_property, lru_cache

from furnace_diag.claims.our_words import IN_IGNITION
from furnace_diag.claims.repair_words import DONE, of_a_repair
from furnace_diag.claims.was_done import tells_by_its_verb
from furnace_diag.diagnosis.verdict import BOARD
from furnace_diag.diagnosis.vocabulary import Vocabulary
from furnace_diag.knowledge.spelling import plain
from furnace_diag.problems import BadInput
from furnace_diag.visit.how_taken import HowTaken
from furnace_diag.visit.lines import Reader
from furnace_diag.visit.typed import NAMED, Typed, Unclear
from furnace_diag.visit.ways import DONE_FIRST

MOST_KEPT = 20_000  # pieces that are remembered, because the same words come again and again
LINKS = {"at", "in", "on", "during", "while"}  # before a step
NOW = "now"
NO_LIGHT = re.compile(r"(?:there is )?no lights?", re.IGNORECASE)
# of a claim on the motor that is not fed through a capacitor of these rules: what is told of a capacitor and names no motor may be of its own
OTHER_MOTOR = {"inducer": "blower"}
OF_MOTOR = {"blower": ("blower_starts_when_spun", "capacitor_")}
WORKS = "works"  # among what the words say to have come of a repair

Fields = dict[str, str]  # of one record; kind and name tell what it is of


class TypedPieces:
    """Reads each piece once, as if it were typed."""

    def __init__(self, vocabulary: Vocabulary) -> None:
        self.vocabulary, self.reader = vocabulary, Reader(vocabulary)
        self.read = lru_cache(MOST_KEPT)(self._typed)
        self.how = HowTaken(vocabulary)
        self.done = DONE_FIRST | vocabulary.done
        self.part, self.light_told, self.mended = "", True, False
        self.words: frozenset[str] = frozenset()  # of all the claim's texts
        self.is_dead = False  # whether the complaint is of a dead furnace
        self.of_motor = ""  # the part claimed, or of a board the one part that its complaint names and its texts do not name another beside
        self.others = set[str]()  # parts that a claim's texts name in one word, but for the one claimed

    def of_claim(self, part: str, texts: Iterable[str], complaint: str = "") -> None:
        """Tell of which claim the pieces are that come now: for which *part*, and with what *texts*, its *complaint* among them."""
        said = [plain(text) for text in texts]
        words = {word.strip(".,") for text in said for word in text.split()}
        self.words = frozenset(words)
        works = (*self.vocabulary.words.repair_said.then[WORKS], NOW)
        self.mended = any(f" {plain(each)} " in f" {text.replace('.', ' ')} " for text in said for each in works)
        self.part, self.light_told = part, not words.isdisjoint(self.vocabulary.words.claims.tells_of_light)
        self.is_dead = "dead" in plain(complaint).split()
        named = self.vocabulary.names("history").clear
        complained = {other for word in plain(complaint).split() for other in named(word)} - {part}
        self.of_motor = (next(iter(complained)) if len(complained) == 1 else "") if part in ("", BOARD) else part
        self.others = {other for word in words for other in named(word)} - {part, self.of_motor}

    def _typed(self, text: str) -> Typed | Unclear | None:
        text = IN_IGNITION.sub(r"\1 ignition", text) if " ign" in text.lower() else text
        text = "light dark" if self.is_dead and NO_LIGHT.fullmatch(text) else text  # no burner is looked at on a dead furnace
        try:
            typed = self.reader.understood(text)
        except BadInput:
            return None
        if isinstance(typed, Typed) and ((typed.as_complained and self._tells_of_doing(typed, text)) or self._is_id(typed)):
            return None
        return self._on_its_contact(typed) if typed is not None and not self._is_of_other_motor(typed) else None

    def _is_of_other_motor(self, typed: Typed | Unclear) -> bool:
        """Whether something is read of the other motor than the one claimed, or of its capacitor, though no text of the claim names that: "spun it and it
        ran"."""
        other = OTHER_MOTOR.get(self.part)
        if other is None or other in self.words or not isinstance(typed, Typed):
            return False
        name = next((str(typed.record[kind]) for kind in ("point", "sign") if kind in typed.record), "")
        return name.startswith(OF_MOTOR[other])

    def _tells_of_doing(self, typed: Typed, text: str) -> bool:
        """Whether what is told as people complain tells of what somebody did, but for what is then a trial of our own: "fuse pops with all wires off"."""
        return str(typed.record.get("sign")) not in self.vocabulary.knowledge.experiment and tells_by_its_verb(text, self.vocabulary.words.claims)

    def _is_id(self, typed: Typed) -> bool:
        """Whether what was taken for a value is the id of a point or sign, typed as such: "seen" of "flame_seen" tells nothing."""
        value = str(typed.record["value"])
        sign = self.vocabulary.knowledge.sign.get(str(typed.record.get("sign")))
        is_own = sign is not None and value in sign.values
        return not is_own and any("_" in word and plain(word) in self.ids for word in value.split())

    def _on_its_contact(self, typed: Typed | Unclear) -> Typed | Unclear:
        """The one that is meant of an output's pin, its crimp and its load, where the contact is told: "mv 0.1 v, pin"."""
        choices = typed.choices if isinstance(typed, Unclear) else ()
        points = {str(t.record["point"]): t for t in choices if "point" in t.record and not t.guessed}
        if len(points) < len(choices) or len(points) < 2:
            return typed
        for name, choice in points.items():
            point = self.vocabulary.knowledge.point[name]
            on = {"pin": name, "crimp": point.at_crimp, "load": point.at_load}
            meant = on.get(str(choice.record.get("contact")))
            if points.keys() <= {*on.values()} and meant in points:
                return replace(points[meant], guessed="")
        return typed

    @cached_property
    def ids(self) -> dict[str, str]:
        knowledge = self.vocabulary.knowledge
        return {plain(name): name for name in (*knowledge.point, *knowledge.sign)}


def of_each_call(typed: Typed) -> list[Fields]:
    return [fields_of(typed) | ({"call": str(call)} if typed.calls > 1 else {}) for call in range(1, typed.calls + 1)]


def may_be_otherwise(typed: Typed, text: str) -> bool:
    """Whether a step is told without a word before it, or a repair without what came of it."""
    return without_outcome(typed) or ("step" in typed.record and not has_link(text.split()))


def has_link(words: Iterable[str]) -> bool:
    """Whether one of *words* may stand before a step."""
    return any(w.lower() in LINKS for w in words)


def without_outcome(typed: Typed) -> bool:
    return "history" in typed.record and {*of_a_repair(str(typed.record["value"]))} <= DONE


def fields_of(typed: Typed) -> Fields:
    kind = next(k for k in NAMED if k in typed.record)
    more = {k: " ".join(map(str, v)) if isinstance(v, list) else str(v) for k, v in typed.record.items() if k != kind}
    return {"kind": kind, "name": str(typed.record[kind]), **more}
