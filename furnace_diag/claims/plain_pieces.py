"""A piece that says one thing plainly -> the fields of its records."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from itertools import pairwise

from furnace_diag.claims.figure_first import figure_apart, is_quantity, units_alone, volts_apart
from furnace_diag.claims.repairs_told import RepairsTold
from furnace_diag.claims.typed_pieces import Fields, TypedPieces, has_link, may_be_otherwise, of_each_call, without_outcome
from furnace_diag.knowledge.spelling import DENIALS, plain
from furnace_diag.visit.lines import IN_CALL
from furnace_diag.visit.typed import Typed, Unclear, name_of
from furnace_diag.visit.ways import PLACED, VALUE_FIRST

# "cap reads 2.1", "limit reads open": before a figure, or what a contact shows, such a word says nothing
READS = re.compile(
    r"\b(?:reads|read|reading|measures|measured|shows|showed|was|is) +(?=[-+~<>]?\.?\d|O\.?L\b)|\b(?:reads|tests|tested|metered) +(?=(?:open|closed)$)",
    re.IGNORECASE,
)
LEAST_LIVE = 20  # [V] of a 24 V circuit, judgement; no gauge of gas shows that much in w.c.
MOST_TURNED = 16  # words of a reading that begins with its figure, with all that is told of how it was taken; what is longer holds several, judgement
MOST_OF_CHECK = 6  # words of a check's


class PlainPieces:
    """Reads what is plain as it stands, or with its figure or its denial first."""

    def __init__(self, typed: TypedPieces) -> None:
        self.typed, self.repairs = typed, RepairsTold(typed)

    def said_in(self, text: str) -> list[Fields]:
        of_call = IN_CALL.fullmatch(text)
        return self._check_made(text) or self.said(text) or self.denied(text) or (self._of_call(of_call["rest"], of_call["call"]) if of_call else [])

    def said(self, text: str) -> list[Fields]:
        text = self._with_links(text)
        if (units := units_alone(text)) and not any(self.typed.vocabulary.knowledge.point[name].unit in units for name in self._points_in(text)):
            return []  # "0.9 wc" is no W to C
        typed = self._without_legend(self.typed.read(text), text)
        typed = typed if isinstance(typed, Typed) and not typed.guessed else self._without_reads(text)
        if isinstance(typed, Typed) and not typed.guessed:
            may_be = self.repairs.repaired(text) if without_outcome(typed) else []
            return may_be if may_be_otherwise(typed, text) and not self._as_an_entry(typed, text) else of_each_call(typed)
        return next((of_each_call(t) for line, t in self._turned(text) if not t.guessed and not may_be_otherwise(t, line)), []) or self.repairs.repaired(text)

    def _points_in(self, text: str) -> list[str]:
        typed = self.typed.read(text)
        return [str(typed.record["point"])] if isinstance(typed, Typed) and "point" in typed.record else []

    def _as_an_entry(self, typed: Typed, text: str) -> bool:
        """Whether a piece is written as our own files have it, the name in one word and then its value and step: "heat_terminal_to_neutral 0.3 heating low
        pin". A "no" goes with the value only where the step is in one word too: "blower_runs no heating" may tell of no heat."""
        is_own = "_" in text.split()[0] and self.typed.ids.get(plain(text.split()[0])) == name_of(typed)
        return is_own and ("point" in typed.record or DENIALS.isdisjoint(plain(text).split()))

    def _with_links(self, text: str) -> str:
        """Such a piece with "at" before each step that is written in one word, for one can be short for a point too: "blower_on_delay"."""
        first, value, *words = [*text.split(), "", ""]
        if "_" not in first or plain(first) not in self.typed.ids:
            return text
        steps = self.typed.vocabulary.entries["step"]
        linked = [f"at {word}" if "_" in word and word.lower() in steps and not has_link([before]) else word for before, word in pairwise([value, *words])]
        return " ".join([first, value, *linked]).strip()

    def denied(self, text: str) -> list[Fields]:
        """What is denied before its name, with how it was taken behind it: "no blower at heating"."""
        words = text.split()
        tried = self.typed.vocabulary.knowledge.experiment  # "no board tapped": nothing was tried
        for value in VALUE_FIRST.get(words[0].lower(), ()) if words and words[0].lower() in DENIALS else ():
            for end in range(len(words) - 1, 1, -1):
                line = " ".join([*words[1:end], value, *words[end:]])
                typed = self.typed.read(line)
                if isinstance(typed, Typed) and not typed.guessed and typed.record["value"] == value and typed.record.get("sign", "") not in tried:
                    return [] if may_be_otherwise(typed, line) else of_each_call(typed)
        return []

    def _of_call(self, text: str, call: str) -> list[Fields]:
        """What a piece says after the heat call in which it was so: "call 2: no inducer"."""
        found = self.said(text) or self.denied(text)
        return [f | {"call": call} for f in found] if len(found) == 1 and found[0]["kind"] in ("point", "sign") and "call" not in found[0] else []

    def _check_made(self, text: str) -> list[Fields]:
        """A check that could be an earlier repair too, as in "plugs refitted no change": whoever claims tells what was done for the claim."""
        said, names = plain(text).split(), self.typed.vocabulary.names("sign")
        done_first = said[:1] if {*said[:1]} & self.typed.done else []  # "reseated plugs no change"
        for end in range(min(MOST_OF_CHECK, len(said) - 1), len(done_first), -1):
            for sign in names.clear(" ".join([*said[len(done_first) : end], *done_first])):
                if value := self.typed.reader.own_value(sign, " ".join(said[end:])):
                    return [{"kind": "sign", "name": sign, "value": value}]
        return []

    def own_ohms(self, of: str, text: str) -> list[Fields]:
        """Bare ohms of a part that has one reading of them: of what was looked at before them ("igniter not cracked, 48 ohms"), or of the part claimed."""
        value = " ".join(w for w in text.split() if w.lower() not in ("ohm", "ohms"))
        return self.said(f"{of} ohms {value} ohms".replace("_", " ")) if f"{of}_ohms" in self.typed.vocabulary.knowledge.point else []

    def _turned(self, text: str) -> Iterator[tuple[str, Typed]]:
        """A reading that begins with its figure, as "0.3 v on heat terminal low z", and the line that it is with the name first; the longest name first."""
        apart = (*figure_apart(text), *volts_apart(text)) if len(text.split()) <= MOST_TURNED else ()
        for figure, rest in (each for each in apart if is_quantity(each[0])):
            for end in (end for end in range(len(rest), 0, -1) if self._may_follow_figure(rest[end:])):
                line = " ".join([*rest[:end], figure, *rest[end:]])
                typed = self.typed.read(line)
                if isinstance(typed, Typed) and "point" in typed.record and typed.record["value"] == figure and self._may_be_bare(typed, rest):
                    yield line, typed

    def _may_be_bare(self, typed: Typed, rest: Sequence[str]) -> bool:
        """Whether a figure may stand without its unit where only *rest* has it be volts: on a part in its full name, for "24 at mv" may be on a pin; and
        as on a live one, for a dead place could be one without pressure too."""
        knowledge, figure = self.typed.vocabulary.knowledge, str(typed.record["value"])
        point, place = knowledge.point[str(typed.record["point"])], plain(" ".join(rest[2:])) + " "
        if not figure.replace(".", "").isdigit() or rest[:1] != ["volts"] or rest[1:3] == ["out", "of"]:
            return True
        if not any(place.startswith(f"{part.replace('_', ' ')} ") for part in knowledge.part if "_" in part):
            return False
        return point.unit == "V" and any(max(band.low, LEAST_LIVE) <= float(figure) <= band.high for band in point.expects)

    def _may_follow_figure(self, words: Sequence[str]) -> bool:
        """Whether *words* tell how a reading was taken, and perhaps then where."""
        ends = (i for i in range(len(words) + 1) if words[i : i + 1] == [] or words[i].lower() in PLACED)
        return any(self.typed.how.fields_of(words[:end]) is not None for end in ends)

    def _without_reads(self, text: str) -> Typed | Unclear | None:
        line = READS.sub("", text)
        return self._without_legend(self.typed.read(line), line)

    def _without_legend(self, typed: Typed | Unclear | None, text: str) -> Typed | Unclear | None:
        """Of what is told of a part in the words of a light's legend too, what is told of the part, where no text of the claim speaks of a light:
        "pressure switch open"."""
        if not isinstance(typed, Unclear) or self.typed.light_told:
            return typed
        signs = self.typed.vocabulary.knowledge.sign
        of_light = [t for t in typed.choices if t.record.get("sign") in signs and signs[str(t.record["sign"])].source_kind == "light"]
        others = [t for t in typed.choices if t not in of_light]
        return others[0] if len(others) == 1 and all(plain(str(t.record["value"])) == plain(text) for t in of_light) else typed
