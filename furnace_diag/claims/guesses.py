"""A piece that does not name in full what it is of -> the one thing that it can be in its claim."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from functools import cached_property

from furnace_diag.claims.figure_first import FIGURE, OF_A_GAUGE
from furnace_diag.claims.free_text import FreeText
from furnace_diag.claims.other_ways import COLD
from furnace_diag.claims.our_words import in_our_words, spaced
from furnace_diag.claims.part_beside import MOST_OF_PART, beside_name
from furnace_diag.claims.repair_words import WHEN, of_a_repair
from furnace_diag.claims.told_after import OHMS_ALONE
from furnace_diag.claims.typed_pieces import Fields, may_be_otherwise, of_each_call
from furnace_diag.claims.was_done import tells_of_doing
from furnace_diag.diagnosis.verdict import BOARD
from furnace_diag.knowledge.slips import Slips, slips_of
from furnace_diag.knowledge.spelling import DENIALS, plain
from furnace_diag.quantities import UNITS, names_unit
from furnace_diag.visit.complaint import both_sides_of, sides_of
from furnace_diag.visit.typed import Typed, Unclear, name_of

AT_ONE = spaced(r"(?P<shown>\S+(?: ?v(?:ac|olts?)?)?) (?:at|on) (?:the )?(?P<place>[a-z]\w*)")  # a figure and what it was read on: "24.8 at mv"
AT_MOTOR = re.compile(r" at (?:the )?motor(?: plug| leads| terminals)?$", re.IGNORECASE)  # which of two motors the claim tells
AMPS_ALONE = spaced(r"(?:(?:drawing|draws|pulling|pulls) )?(?P<shown>\d*\.?\d+) ?amps?|(?:drawing|draws|pulling|pulls) (?P<drawn>\d*\.?\d+) ?a")
SMALL = re.compile(r"(?:[uµμ]|micro|m(?=fd)|nano|n(?=[af]))", re.IGNORECASE)  # of a unit: "0 amps" is of any motor
OUT = spaced(r"(?P<shown>\d[\d.]*(?: ?v(?:ac|olts?)?)?) (?:coming )?out")
TO_IT = spaced(r"\d[\d.]*(?: ?v(?:ac|olts?)?)? to (?:the )?(?P<thing>[a-z]+(?: [a-z]+)?)")
AT_LOAD = spaced(r"(?P<shown>\d[\d.]*(?: ?v(?:ac|olts?)?)?) (?:at|on) (?:the |its )?(?:motor|load)(?: plug| leads)?")
INSTALLED_FIRST = spaced(r"^(?:(?:had|got|they|we|i|he|customer|owner|homeowner) )*(?:installed|put in|put|got|had) (?:an? )?(?=new )")
ITS = re.compile(r"(?<=\b(?:at|on)) its ", re.IGNORECASE)
MOTOR = "motor"  # the short name that the rules' `several_parts` has for every motor
AT_PLACE = "_at_"  # in the id of a point, before where it is read


class Guesses:
    """Takes what *free* leaves, where one thing alone is left of it."""

    def __init__(self, free: FreeText) -> None:
        self._free, self._typed = free, free.typed

    def happened(self, text: str) -> list[Fields]:
        """The event that a piece tells in other words than its name, and nothing else: "lightning hit". What follows came of nobody's doing then; a piece that
        begins with what was done ("pulled blower") tells of whoever writes."""
        if WHEN.search(text) and not self._typed.mended:
            text = INSTALLED_FIRST.sub("", text)  # "installed new stat 2 weeks ago"
        done = tells_of_doing(text.partition(" ")[0], self._typed.vocabulary.words.claims)
        alone = "," not in text and DENIALS.isdisjoint(plain(text).split())
        ways = (WHEN.sub(" ", text).split(), of_a_repair(text)) if WHEN.search(text) else (text.split(),)  # "last summer" is a date, and no summer's rest
        vocabulary = self._typed.vocabulary
        names = vocabulary.names("event")
        lines = (" ".join(words) for words in ways if alone and len(words) <= MOST_OF_PART)
        told = (self._typed.read(line) for line in lines if not done or (names.clear(line) and not any(beside_name(line, self._typed.part, vocabulary))))
        return next((of_each_call(typed) for typed in told if isinstance(typed, Typed) and "event" in typed.record), [])

    def guessed(self, text: str, before: Mapping[str, str] | None = None, told: Collection[str] = ()) -> list[Fields]:
        """What a piece says whose name is not written in full, where one point or sign alone has such a name and the piece holds its value; or one alone
        of the claimed part, or at the place of the reading told *before* it, or of the parts that the readings and signs *told* so far are of.

        No experiment, no name that little is told of, and nothing where a figure stands first, for it may as well end the piece before; but where it is read
        "at motor".
        """
        text = COLD.sub("", text)
        if OHMS_ALONE.fullmatch(text) and self._typed.part not in ("", BOARD):
            return self._free.plain.own_ohms(self._typed.part.removesuffix("_switch"), text)
        if (amps := AMPS_ALONE.fullmatch(text)) is not None and self._typed.part not in ("", BOARD):
            return self._free.plain.said(f"{self._typed.part.removesuffix('_motor').replace('_', ' ')} amps {amps['shown'] or amps['drawn']}")
        if self._free.letter.name_in_brackets(text) is not None:
            return []
        of_motor = (self._as_it_is(text, told), self._at_its_load(text, before, told))
        alone = (self._of_one_unit(text), *of_motor, self._out_of_part(text, before), self._volts_to_it(text))
        if any(alone):
            return next(filter(None, alone))
        if FIGURE.fullmatch(text.split()[0]) and not AT_MOTOR.search(text):
            ways = (self._of_part_at(text, told), self._both_sides_of_part(text), self._both_sides_of_part(in_our_words(text)), self._at_place_of(text, before))
            return next(filter(None, ways), [])
        read = [self._typed.read(line) for line in dict.fromkeys((text, in_our_words(text)))]
        unclear = next((t for t in read if isinstance(t, Unclear)), None)
        typed = next((t for t in read if isinstance(t, Typed)), None) or self._of_the_several(unclear, before, told)
        is_alone = typed is not None and typed.guessed and (self._is_of_part(name_of(typed)) or not (typed.weakly and typed in read))
        if typed is None or not is_alone or may_be_otherwise(typed, text):
            return self._by_its_last_word(text, told)
        (fields, *_) = found = of_each_call(typed)
        is_held = {*plain(fields["value"]).split()} <= {*plain(text).split()} and fields["kind"] in ("point", "sign")
        return found if is_held and fields["name"] not in self._typed.vocabulary.knowledge.experiment else self._by_its_last_word(text, told)

    def _is_of_part(self, name: str) -> bool:
        """Whether a point or sign is of the part claimed by its name; of the board everything is."""
        return self._typed.part not in ("", BOARD) and name.startswith(f"{self._typed.part.removesuffix('_motor')}_")

    def _by_its_last_word(self, text: str, told: Collection[str]) -> list[Fields]:
        """What is told of the part claimed by the last word of its name, "switch wont make" of a pressure switch, or of a motor without it: "wont spin". Not
        where the last that was *told* is of another part of such a name: "door switch open, switch wont make"."""
        first, _, rest = text.partition(" ")
        whole, last = self._typed.part.replace("_", " "), next(reversed([*told]), "")
        ends = f"_{first.lower()}"
        others = [p.removesuffix(ends) for p in self._typed.vocabulary.knowledge.part if p.endswith(ends) and p != self._typed.part]
        is_of_other = any(last.startswith(f"{other}_") for other in others)
        lines = [f"{whole} {rest}"] if " " in whole and first.lower() == whole.rpartition(" ")[2] and rest and not is_of_other else []
        lines += [f"{whole.removesuffix(' motor')} {text}"] if self._typed.part == self._typed.of_motor != "" and plain(text) in self._of_motor_alone else []
        found = next(filter(None, map(self._free.plain.said, lines)), [])
        return found if all(f["kind"] == "sign" and self._is_of_part(f["name"]) for f in found) else []

    @cached_property
    def _motors(self) -> tuple[str, ...]:
        return self._typed.vocabulary.words.several_parts.get(MOTOR, ())

    @cached_property
    def _of_motor_alone(self) -> frozenset[str]:
        return frozenset(map(plain, self._typed.vocabulary.words.claims.of_a_motor_told))

    def _of_one_unit(self, text: str) -> list[Fields]:
        """A figure alone, in a unit in which one thing is read on a furnace ("0.6ua"), or for the part claimed: "0.9 wc" of a pressure switch."""
        if not (FIGURE.match(text) and text[-1:].isalpha() and len(text.split()) < MOST_OF_PART):
            return []
        gauge = self._typed.vocabulary.words.claims.gauge_of.get(self._typed.part, "")
        if gauge and names_unit(text, self._typed.vocabulary.knowledge.point[gauge].unit):
            return self._free.plain.said(f"{gauge.replace('_', ' ')} {text}")
        unit = next((unit for unit in ("uA", "uF") if names_unit(text, unit) and SMALL.search(text)), None)  # any other is read of more, or of no part
        names = [p.point for p in self._typed.vocabulary.knowledge.point.values() if p.unit == unit]
        return self._free.plain.said(f"{names[0].replace('_', ' ')} {text}") if len(names) == 1 else []

    def _motor(self, told: Collection[str]) -> str:
        """The motor that is told without its name: the one claimed; of a board the one that its complaint names, or of which alone something is told, and
        was told last."""
        of_motor, names = self._typed.of_motor, [*told]
        if self._typed.part not in ("", BOARD):
            return of_motor
        of = {motor: [n for n in names if n.startswith(f"{motor.removesuffix('_motor')}_")] for motor in self._motors}
        if of_motor:
            return of_motor if not any(names[-1:] == each[-1:] for motor, each in of.items() if each and motor != of_motor) else ""
        told_last = [motor for motor, each in of.items() if each and each[-1] == names[-1]]
        others = {*self._motors} - {*told_last}
        return told_last[0] if told_last and not any(of[other] for other in others) and self._typed.others.isdisjoint(others) else ""

    def _as_it_is(self, text: str, told: Collection[str]) -> list[Fields]:
        """The state of a motor that is told without it: "seized up now", "motor locked up"; only what is looked at on one."""
        stuck = self._typed.vocabulary.words.claims.of_a_motor
        state = " ".join(w for w in plain(text).split() if w not in ("now", "it", "is", "its", "motor"))
        meant = self._motor(told) if state in stuck else ""
        if not meant or (MOTOR in plain(text).split() and not self._typed.others.isdisjoint({*self._motors} - {meant})):
            return []
        motor = meant.replace("_", " ")
        return self._free.plain.said(f"{motor} {state}") or self._free.plain.said(f"{motor.removesuffix(' motor')} {state}")

    def _volts_to_it(self, text: str) -> list[Fields]:
        """Volts "to it", which is the part claimed, or to that by its name: "24 to it" and "25v to gv" of a gas valve."""
        told = TO_IT.fullmatch(text) if self._typed.part not in ("", BOARD) else None
        is_it = told is not None and (told["thing"] == "it" or self._typed.vocabulary.names("history").clear(told["thing"]) == [self._typed.part])
        part = self._typed.part.replace("_", " ") if is_it else ""
        found = self._free.records(f"{text.rpartition(' to ')[0]} at {part}") if part else []
        return found if all(f["kind"] == "point" and f["name"].startswith(f"{self._typed.part.removesuffix('_motor')}_") for f in found) else []

    def _at_its_load(self, text: str, before: Mapping[str, str] | None, told: Collection[str]) -> list[Fields]:
        """Volts at the motor, plug or load of the output that was read right *before*: "119 at inducer pin, 0 at the motor"."""
        point = self._typed.vocabulary.knowledge.point.get(before["name"]) if before is not None else None
        volts, part = AT_LOAD.fullmatch(text), self._typed.part.removesuffix("_motor")
        load = (point.at_load if point is not None else None) or f"{self._motor(told).removesuffix('_motor')}_volts_at_motor"
        is_of_it = load in self._typed.vocabulary.knowledge.point and (self._typed.part in ("", BOARD) or load.startswith(f"{part}_"))
        return self._free.plain.said(f"{load.replace('_', ' ')} {volts['shown']}") if volts and is_of_it else []

    def _out_of_part(self, text: str, before: Mapping[str, str] | None) -> list[Fields]:
        """Volts out of the part claimed, behind those that go in: "120 in to transformer, 0 out"."""
        told = OUT.fullmatch(text) if before is not None and self._typed.part not in ("", BOARD) else None
        return self._free.plain.said(self._by_its_own_name(f"{self._typed.part.replace('_', ' ')} out {told['shown']}")) if told else []

    def _by_its_own_name(self, line: str) -> str:
        """Volts in or out of the part claimed by what that is called: "transformer in 120" as its primary volts."""
        part, sides = self._typed.part, self._typed.vocabulary.words.claims.in_and_out
        for side, name in zip((" in ", " out "), sides.get(part, ()), strict=False):
            line = line.replace(f"{part.replace('_', ' ')}{side}", f"{name.replace('_', ' ')} ")
        return line

    def _of_part_at(self, text: str, told: Collection[str]) -> list[Fields]:
        """A figure read on what several points are at, one of which is of the part claimed ("24.8 at mv" of a gas valve), or is by name there on it: "120 at
        plug" of an igniter as the igniter's plug. Not where the last that was *told* is of another part that it may be of: "inducer runs, 120 at plug"."""
        text = ITS.sub(" ", text)
        at = AT_ONE.fullmatch(text) if self._typed.part not in ("", BOARD) else None
        typed = self._typed.read(text) if at is not None else None
        if isinstance(typed, Typed) and typed.guessed and not typed.weakly and self._is_of_part(name_of(typed)):
            return of_each_call(typed)  # "120 at ind"
        if at is None or not isinstance(typed, Unclear):
            return []
        meant = self._of_the_several(typed, None)
        by_name = self._free.plain.said(f"{self._typed.part.replace('_', ' ')} {at['place']} {at['shown']}") if meant is None else []
        could_be = {str(t.record.get("point")) for t in typed.choices}
        last = next(reversed([*told]), "").partition("_")[0]
        is_of_last = any(name.partition("_")[0] == last and not self._is_of_part(name) for name in could_be)
        return of_each_call(meant) if meant is not None and "point" in meant.record else [f for f in by_name if f["name"] in could_be and not is_of_last]

    def _at_place_of(self, text: str, before: Mapping[str, str] | None) -> list[Fields]:
        """A figure first, of a reading that there is at several places: at that of the reading told *before* it, "120 hot to gnd" beside one at the board."""
        typed = self._typed.read(text) if before is not None and AT_PLACE in before["name"] else None
        is_of_places = isinstance(typed, Unclear) and all(AT_PLACE in str(t.record.get("point")) for t in typed.choices)
        meant = self._of_the_several(typed, before) if is_of_places and isinstance(typed, Unclear) else None
        return of_each_call(meant) if meant is not None else []

    def _both_sides_of_part(self, text: str) -> list[Fields]:
        """Both sides of a thing that is not named, as those of the part claimed: "24 in 0 out" of a pressure switch."""
        if self._typed.part in ("", BOARD):
            return []
        for part in dict.fromkeys((self._typed.part, self._typed.part.removesuffix("_switch"))):
            of_part = f"{part.replace('_', ' ')} {text}"
            lines = sides_of(of_part) or next(both_sides_of(of_part), [])
            each = [self._free.plain.said(self._by_its_own_name(line)) for line in lines]
            if lines and all(each):
                return [fields for found in each for fields in found]
        return []

    def forgiven(self, text: str) -> list[Fields]:
        """What a piece says once what is misspelt in it is mended; empty where nothing is, or where it then tells of what was done."""
        mended = self._slips(text.lower())
        return [] if mended == text.lower() or tells_of_doing(mended, self._typed.vocabulary.words.claims) else self._free.records(mended)

    @cached_property
    def _slips(self) -> Slips:
        vocabulary = self._typed.vocabulary
        return slips_of(vocabulary.words, vocabulary.knowledge.sign.values())

    def _of_the_several(self, unclear: Unclear | None, before: Mapping[str, str] | None, told: Collection[str] = ()) -> Typed | None:
        """The one of several readings that is meant: of ohms or amps of several parts that of the part claimed ("coil OL"), or of a board that of which alone
        something was *told* or named; and of one reading at several places that at the place of the reading told *before* it ("l-n 0, line to chassis 120")."""
        points = self._typed.vocabulary.knowledge.point
        choices = unclear.choices if unclear is not None else ()
        if any(str(t.record.get("point")) not in points for t in choices):
            return self._of_the_motor(choices) or self._read_alike(choices, before)
        if not choices:
            return None
        names = [str(t.record["point"]) for t in choices]
        meant = list[Typed]()
        of_a_part = all(UNITS[points[n].unit].in_words for n in names)
        if of_a_part and self._typed.part in ("", BOARD):
            meant = [t for t, n in zip(choices, names, strict=True) if self._is_of_told(n, told) or n.partition("_")[0] in self._typed.words]
        elif of_a_part:
            meant = [t for t, n in zip(choices, names, strict=True) if n.startswith(f"{self._typed.part.removesuffix('_motor')}_")]
        elif self._typed.part not in ("", BOARD) and all(points[n].unit == "V" for n in names):
            meant = [t for t, n in zip(choices, names, strict=True) if n.startswith(f"{self._typed.part}_")]
        elif before is not None and before["name"] in points:
            (of, at, place), parted = before["name"].partition(AT_PLACE), [n.partition(AT_PLACE) for n in names]
            if at and of and len({start for start, _, _ in parted}) == 1:
                meant = [t for t, (_, _, there) in zip(choices, parted, strict=True) if there == place]
        return replace(meant[0], guessed=name_of(meant[0])) if len(meant) == 1 else None

    def _is_of_told(self, name: str, told: Collection[str]) -> bool:
        """Whether a point is of a part that something was *told* of: a gas valve's coil, of the valve or of the pin that feeds it."""
        points, parts = self._typed.vocabulary.knowledge.point, self._typed.vocabulary.knowledge.part
        of = [f"{p}_" for p in parts if name.startswith(f"{p}_")]
        known = (n for each in told for n in (each, points[each].at_load if each in points else None) if n)
        return bool(of) and any(n.startswith(of[0]) for n in known)

    def _of_the_motor(self, choices: Sequence[Typed]) -> Typed | None:
        """The one of several signs that is of the part claimed, or of the one that a board's complaint is of, and of which no other is of a part that the
        claim's texts name too: "motor hums, shaft stuck" of an inducer."""
        if not (self._typed.of_motor and all("sign" in t.record for t in choices)):
            return None
        of_part, others = f"{self._typed.of_motor.removesuffix('_motor')}_", [f"{other.removesuffix('_motor')}_" for other in self._typed.others]
        meant = [t for t in choices if str(t.record["sign"]).startswith(of_part)]
        doubted = any(str(t.record["sign"]).startswith(other) for t in choices for other in others if t not in meant)
        off = self._typed.vocabulary.sequence.roles.off
        on_a_bench = any(t.record.get("step") == off and not self._free.told_after.is_read_off(str(t.record["sign"])) for t in meant)
        return replace(meant[0], guessed=name_of(meant[0]), weakly=False) if len(meant) == 1 and not (doubted or on_a_bench) else None

    def _read_alike(self, choices: Sequence[Typed], before: Mapping[str, str] | None) -> Typed | None:
        """The one of several that is read with the same gauge as the reading told *before* it, where that is no meter of volts: "inlet 7 in wc, outlet 0"."""
        points = self._typed.vocabulary.knowledge.point
        last = points.get(before["name"]) if before is not None else None
        read = [(t, points[str(t.record["point"])]) for t in choices if "point" in t.record]
        alike = [t for t, p in read if last is not None and (p.unit, p.function) == (last.unit, last.function) and p.unit in OF_A_GAUGE]
        return replace(alike[0], guessed=name_of(alike[0]), weakly=False) if len(alike) == 1 else None
