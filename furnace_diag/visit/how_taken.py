"""How a reading was taken, as people type it after its value: the meter, a hold, where the leads were, what was off, the step, the call, the time."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache

from furnace_diag.diagnosis.entries import METERS
from furnace_diag.diagnosis.records import SET_UPS
from furnace_diag.diagnosis.vocabulary import Vocabulary
from furnace_diag.knowledge.find import Names
from furnace_diag.knowledge.spelling import DENIALS, DENIED, plain
from furnace_diag.visit.times import MOST_WORDS as MOST_WORDS_OF_TIME
from furnace_diag.visit.times import seconds_told
from furnace_diag.visit.typed import NAMED

MOST_REMEMBERED = 20_000  # answers of each kind, for the lines of one file of claims or of one visit
OFF = "off"  # by itself a step, and behind a verb a part of that
MOST_WORDS_OF_ONE = 6  # that say one thing about how it was taken: "with the thermostat wires still on"
HOLDS = {"min": ("minimum", "lowest", "min hold", "held min"), "max": ("maximum", "highest", "max hold", "held max")}
CONTACTS = {
    "pin": ("on the pin", "at the pin", "on the pins", "at the pins", "board pin"),
    "crimp": ("on the crimp", "at the crimp"),
    "load": ("at load", "at the load"),
}
SOURCES = {
    "measured": (), "seen": (),
    "told": (
        *(f"{who} {said}" for who in ("customer", "owner", "they", "somebody", "other guy", "last guy", "other tech", "last tech", "previous tech")
          for said in ("say", "says", "said", "states", "reports")),
        *(f"says {who}" for who in ("other guy", "the other guy", "last guy", "other tech", "owner", "customer")), "i was told",
    ),
}  # fmt: skip
STATS = ("stat", "tstat", "t stat", "t-stat", "thermostat")
WIRES = ("wires", "leads", "field wires", *(f"{stat} wires" for stat in STATS))
WIRES_ON = tuple(f"{wires} {on}" for wires in WIRES for on in ("on", "still on", "connected", "still connected"))
WIRED = ("wired", "wired up", "connected", "hooked up", "still connected", "still wired")
AT_STAT = ("", *(f" at {the}{base}" for the in ("", "the ") for base in ("sub base", "subbase", "base", "wall plate", *STATS)))
LEAD_ON = ("lead on", "lead still on", "lead connected", "wire on", "wire still on", "load connected")
PLUGGED_IN = (*LEAD_ON, "plug on", "plug in", "plug still on", "plugged in", *WIRES_ON)
OFF_STAT = tuple(f"{stat} wires {off}{at}" for stat in STATS for off in ("off", "lifted", "pulled", "pulled off", "out") for at in AT_STAT)
WIRES_OFF = tuple(f"{wires} {off}" for wires in ("wires", "both wires", "leads", "both leads") for off in ("off", "lifted", "pulled"))
BOTH_ENDS = tuple(f"{off} {ends}" for off in ("lifted", "off", "pulled", "disconnected") for ends in ("at both ends", "both ends"))
PULLED = {"plug_off": ("plug pulled",), "lead_lifted": ("lead off", "lead pulled", "wire lifted", *WIRES_OFF, *BOTH_ENDS), "thermostat_wires_off": OFF_STAT}
SET_UP_SAID = {name: (name.replace("_", " "), *({"load_on": PLUGGED_IN, **PULLED}.get(name, ()))) for name in SET_UPS}
METER_WORDS = {name: (*said, *(f"{word} meter" for word in (name, *said))) for name, said in METERS.items()}  # "low meter"
OF_METER_AND_LEADS = frozenset(["meter", "contact", "hold", "set_up"])
BEFORE_STEP = frozenset(["at", "in", "on", "during", "with", "when", "while"])


class HowTaken:
    """Reads how something was taken, in one vocabulary. *names*: of each field what people call its values."""

    def __init__(self, vocabulary: Vocabulary) -> None:
        self.vocabulary = vocabulary
        self.names = {
            "meter": Names(METER_WORDS), "hold": Names(HOLDS), "contact": Names(CONTACTS), "source": Names(SOURCES),
            "set_up": Names(_set_up_words(vocabulary.words.loads)), "step": vocabulary.names("step"),
        }  # fmt: skip
        self._taken = lru_cache(MOST_REMEMBERED)(self._said_of_taking)

    def fields_of(self, words: Sequence[str]) -> dict[str, object] | None:
        """Fields that say how it was taken, or None where the words say anything else."""
        taken = self._taken(tuple(words))
        return None if taken is None else {name: [*said] if isinstance(said, list) else said for name, said in taken.items()}

    def joined(self, text: str) -> str:
        """*text* without the comma before what only says how the meter and the leads were: "0 v at inducer pin, plug on"."""
        head, comma, tail = text.rpartition(",")
        taken = self.fields_of(tail.split()) if comma and head.strip() and tail.strip() else None
        return f"{self.joined(head)} {tail.strip()}" if taken and taken.keys() <= OF_METER_AND_LEADS else text

    def is_no_step(self, words: Sequence[str], size: int) -> bool:
        """Whether what stands behind the first *size* words is no step that they were seen at, whatever it looks like."""
        return self._is_step_with_no(words, size) or self._is_left_on(words, size)

    def _is_step_with_no(self, words: Sequence[str], size: int) -> bool:
        """Whether the first *size* words, which deny, are the beginning of a step's name: "no call" is where nothing is called for, and no "no" at a call."""
        start = next((i for i in range(size) if plain(words[i]) in DENIALS), size)
        ends = range(size + 1, len(words) + 1) if start < size else ()
        return any(len(self.names["step"].meant(" ".join(words[start:end]))) == 1 and self._taken(tuple(words[end:])) is not None for end in ends)

    def _is_left_on(self, words: Sequence[str], size: int) -> bool:
        """Whether what the first *size* words deny is that it goes off: "wont turn off" is no "wont turn" with the power off, and tells the opposite."""
        denied = (DENIALS | DENIED) & {w for word in words[:size] for w in plain(word).split()}
        return bool(denied) and size < len(words) and words[size].lower() == OFF

    def teller(self, words: list[str]) -> int:
        """How many of the first words only say who told it: "owner says inducer hums"."""
        return next((n for n in (4, 3, 2) if n < len(words) and self.names["source"].meant(" ".join(words[:n]))), 0)

    def _said_of_taking(self, words: tuple[str, ...]) -> Mapping[str, object] | None:
        fields: dict[str, object] = {}
        i = 0
        while i < len(words):
            sizes = range(min(MOST_WORDS_OF_ONE, len(words) - i), 0, -1)
            size = _time(words[i:], fields) or next((n for n in sizes if self._field(words[i : i + n], fields)), 0)
            if not size:
                return None
            i += size
        return fields

    def _field(self, words: Sequence[str], fields: dict[str, object]) -> bool:
        """Whether *words* say one thing about how it was taken; it is put into *fields*."""
        text = " ".join(words)
        first, rest = words[0].lower(), " ".join(words[1:])
        if first == "call" and rest.isdigit() and 0 < int(rest) < 100 and "call" not in fields:
            fields["call"] = rest
            return True
        if first in BEFORE_STEP and rest and "step" not in fields and len(self.names["step"].meant(rest)) == 1:
            fields["step"] = self.names["step"].meant(rest)[0]
            return True
        for name, names in self.names.items():
            meant = names.meant(text)
            if name == "step" and any(self.vocabulary.names(kind).clear(text) for kind in NAMED):
                continue  # alone it is the thing: "hose off ps" is in no step
            if len(meant) == 1 and (name == "set_up" or name not in fields):
                fields[name] = [*_as_list(fields.get(name)), meant[0]] if name == "set_up" else meant[0]
                return True
        return False


def _set_up_words(loads: Iterable[str]) -> dict[str, tuple[str, ...]]:
    """What people call each set-up; *loads*: what they may say is still wired."""
    said = {**SET_UP_SAID, "load_on": (*SET_UP_SAID["load_on"], *(f"{load} {on}" for load in loads for on in WIRED))}
    return {name: tuple(f"{with_}{each}" for each in words for with_ in ("", "with ", "with the ")) for name, words in said.items()}


def _as_list(value: object) -> list[object]:
    return value if isinstance(value, list) else []


def _time(words: Sequence[str], fields: dict[str, object]) -> int:
    """How many of the first words say how long after the gas it was; it is put into *fields*."""
    if not words or "after_s" in fields or not (words[0].lower() == "after" or words[0][:1].isdigit()):
        return 0
    for size in range(min(MOST_WORDS_OF_TIME, len(words)), 0, -1):
        seconds = seconds_told(" ".join(words[:size]))
        if seconds is not None:
            fields["after_s"] = f"{seconds:g}"
            return size
    return 0
