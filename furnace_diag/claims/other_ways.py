"""A piece that is plain but for a little beside it -> the fields of its records: what it says in the past, of a mark, in two steps."""

from __future__ import annotations

import re
from collections.abc import Iterable
from contextlib import suppress
from functools import cached_property

from furnace_diag.claims.figure_first import FIGURE, OF_A_GAUGE, place_first
from furnace_diag.claims.our_words import in_our_words, spaced
from furnace_diag.claims.part_beside import MOST_OF_PART
from furnace_diag.claims.plain_pieces import PlainPieces
from furnace_diag.claims.told_after import ToldAfter
from furnace_diag.claims.typed_pieces import Fields, has_link
from furnace_diag.knowledge.spelling import plain
from furnace_diag.quantities import BadQuantity, parse_quantity
from furnace_diag.visit.complaint import BEFORE_DENIAL, both_sides_of, sides_of, windings_of
from furnace_diag.visit.marked import RANGE, SAYS_LITTLE, check_of, mark_alone, parted, side_of
from furnace_diag.visit.typed import Typed

COLD = re.compile(  # behind ohms, which are read so anyway
    r"[ ,]+(?:(?:(?:when|while|with it|stone|dead|all) )*cold|at (?:[4-9]\d|1[01]\d) ?(?:deg|degrees|f)(?: ?f)?|at room temp(?:erature)?)$", re.IGNORECASE
)
FOUND_AT = re.compile(r" (?:at|under|behind|by) (?:a |the )?(?:staples?|nails?|screws?|splices?)$", re.IGNORECASE)  # where a short was, behind its ohms
OF_A_SWITCH = ("rated", "marked", "switch marked", "set", "switch set")  # before what a switch is made to act at
BEFORE_PLACE = frozenset(["with", "w", "w/", "in", "meter"])  # behind a reading, before what its own description may say of where it is read
WITH_IT = frozenset(["with", "w", "the"])  # words of that which say no more
WAS = re.compile(r"\b(?:was|were)\s+(?!not\b|no\b|never\b)", re.IGNORECASE)  # "rod was filmed"
MOST_OF_STEP = 3  # words of a step's
LEAST_LIVE, MOST_DEAD = 10, 3  # [V] of what is called live, or dead, of 24 V or 120 V; judgement
INFINITE = float("inf")


class OtherWays:
    """Reads in one way after another."""

    def __init__(self, plain_pieces: PlainPieces, told_after: ToldAfter) -> None:
        self._plain, self._after = plain_pieces, told_after

    def besides(self, text: str) -> list[Fields]:
        """What a piece says in other ways: with what goes without saying, in the past, of a mark, or with what is not so right behind it."""
        ways = (
            self._beside_a_judgement,
            self._of_a_cold_part,
            self._with_its_place,
            self._place_behind,
            self._in_the_past,
            self._against_mark,
            self._and_denied,
            self._and_its_figure,
            self._of_other_call,
            self._in_two_steps,
            self._as_asked,
        )
        return next(filter(None, (read(text) for read in ways)), [])

    def _beside_a_judgement(self, text: str) -> list[Fields]:
        """A reading told with what is thought of it: "fuse good 0.1 ohm" is its figure."""
        bare = FOUND_AT.sub("", text)
        ways = ((self._judged, 0, INFINITE), (self._judged_live, LEAST_LIVE, INFINITE), (self._judged_dead, 0, MOST_DEAD))
        return next(filter(None, (self._with_figure(text, judged.sub(" ", bare), least, most) for judged, least, most in ways)), [])

    def _with_figure(self, text: str, line: str, least: float, most: float) -> list[Fields]:
        """The readings of a *line* that *text* is with what is thought of it, where each figure lies in that."""
        line = " ".join(line.split())
        found = self._plain.said(line) if line != text and any(c.isdigit() for c in line) else []
        return found if all(f["kind"] == "point" and any(c.isdigit() for c in f["value"]) and self._lies(f, least, most) for f in found) else []

    def _lies(self, fields: Fields, least: float, most: float) -> bool:
        """Whether a figure lies in bounds, of which those of volts alone are any."""
        if (least, most) == (0, INFINITE):
            return True
        unit = self._plain.typed.vocabulary.knowledge.point[fields["name"]].unit
        with suppress(BadQuantity):
            return unit == "V" and least <= abs(parse_quantity(fields["value"], unit).value) <= most
        return False

    @cached_property
    def _judged(self) -> re.Pattern[str]:
        return _any_of(self._plain.typed.vocabulary.words.claims.judged)

    @cached_property
    def _judged_live(self) -> re.Pattern[str]:
        return _any_of(self._plain.typed.vocabulary.words.claims.judged_live)

    @cached_property
    def _judged_dead(self) -> re.Pattern[str]:
        return _any_of(self._plain.typed.vocabulary.words.claims.judged_dead)

    def _of_a_cold_part(self, text: str) -> list[Fields]:
        """Ohms that are told to be of a cold part: "igniter 58 ohms cold"."""
        bare = COLD.sub("", text)
        found = self._plain.said(bare) if bare != text else []
        points = self._plain.typed.vocabulary.knowledge.point
        return found if all(f["kind"] == "point" and points[f["name"]].unit == "ohm" for f in found) else []

    def _of_other_call(self, text: str) -> list[Fields]:
        """What a piece says after the call for something else than heat in which it was so: "fan call blower runs"."""
        vocabulary, words = self._plain.typed.vocabulary, text.split()
        others, steps = {c.step for c in vocabulary.sequence.other_calls}, vocabulary.names("step")
        for end in range(min(MOST_OF_STEP, len(words) - 2), 0, -1):
            named = steps.clear(" ".join(words[:end]))
            if len(named) == 1 and named[0] in others and "," not in words[end - 1]:  # "cooling call, blower runs" tells two things
                found = self._plain.said(" ".join([*words[end:], "at", *words[:end]]))
                return found if all(f.get("step") == named[0] for f in found) else []
        return []

    def _in_two_steps(self, text: str) -> list[Fields]:
        """What a thing does in one step, and in another with its name left out: "blower won't start on heat works on fan"."""
        words = text.split()
        for end in range(len(words) - 2, 2, -1):
            each_has_link = has_link(words[:end]) and has_link([*words[: MOST_OF_PART - 1], *words[end:]])
            first = self._plain.said(" ".join(words[:end])) if each_has_link else []
            if len(first) != 1 or first[0]["kind"] != "sign" or "step" not in first[0]:
                continue
            for size in range(1, MOST_OF_PART):
                then = self._plain.said(" ".join([*words[:size], *words[end:]]))
                if len(then) == 1 and then[0]["name"] == first[0]["name"] and then[0].get("step", first[0]["step"]) != first[0]["step"]:
                    return [*first, *then]
        return []

    def _as_asked(self, text: str) -> list[Fields]:
        """A check that a proof asks for, told as a letter asks for it, without a "yes": "burned in one go"."""
        vocabulary = self._plain.typed.vocabulary
        spelled = vocabulary.names("sign").spelling
        checks = (s for s in vocabulary.knowledge.sign.values() if s.only_for_proof and {*s.values} == {"yes", "no"})
        told = next((s.sign for s in checks if spelled(text) == spelled(s.sign.replace("_", " "))), "")
        return [{"kind": "sign", "name": told, "value": "yes"}] if told else []

    def _with_its_place(self, text: str) -> list[Fields]:
        """A reading told with what its own description says: "across door switch 121 with door on" is read with the door on anyway."""
        points, words = self._plain.typed.vocabulary.knowledge.point, text.split()
        for end in range(len(words) - 1, 1, -1):
            tail = [w for w in map(plain, words[end:]) if w not in WITH_IT]
            found = self._plain.said(" ".join(words[:end]).rstrip(",")) if words[end].lower() in BEFORE_PLACE and tail else []
            said = f" {plain(points[found[0]['name']].says)} " if len(found) == 1 and found[0]["kind"] == "point" else ""
            if f" {' '.join(tail)} " in " ".join(w for w in said.split(" ") if w not in WITH_IT):
                return found
        return []

    def _place_behind(self, text: str) -> list[Fields]:
        """A reading whose figure stands before the last of its name, where that is read: "draft 1.2 at switch", "ps return 25.2 to c on the pin"."""
        lines = ((line, line.rpartition(f" {figure}")) for line, figure in place_first(text))
        told = (self._plain.said(line) for line, (name, _, how) in lines if name and (not how or self._plain.typed.how.fields_of(how.split())))
        return next((found for found in told if len(found) == 1 and found[0]["kind"] == "point"), [])

    def _in_the_past(self, text: str) -> list[Fields]:
        """What was seen, told as it was: "rod was filmed"."""
        line = WAS.sub("", text)
        typed = self._plain.typed.read(line) if line != text else None
        found = self._plain.said(line) if isinstance(typed, Typed) and not typed.weakly else []
        experiments = self._plain.typed.vocabulary.knowledge.experiment
        return found if all(f["kind"] == "sign" and f["name"] not in experiments for f in found) else []

    def _against_mark(self, text: str) -> list[Fields]:
        """A reading and the check of it against its mark: "cap 1.1 uf should be 7.5", "cap rated 7.5, reads 1.1"."""
        vocabulary = self._plain.typed.vocabulary
        lines = (text, *(line for line, _ in place_first(text)))
        told = next((told for line in lines if (told := parted(line, vocabulary.words.beside_mark)) and self._plain.said(told.read)), None)
        found = self._plain.said(told.read) if told else []
        if told is None or len(found) != 1 or found[0]["kind"] != "point":
            return []
        side = side_of(found[0]["name"], found[0]["value"], told.mark, vocabulary.knowledge)
        if side is None and told.beside.lower().startswith(OF_A_SWITCH) and vocabulary.knowledge.point[found[0]["name"]].unit in OF_A_GAUGE:
            return [found[0] | {"note": f"{told.beside} {told.mark}"}]  # of the switch that it works, and no check holds it against that
        if side is None and RANGE.fullmatch(told.mark) and told.beside.lower() not in SAYS_LITTLE:
            return [found[0] | {"note": f"{told.beside} {told.mark}"}]  # as at the prompt, where that is answered once it is asked for
        return [*found, {"kind": "sign", "name": side[0], "value": side[1]}] if side is not None else []

    def is_mark(self, text: str) -> bool:
        """Whether a piece tells only what a part is marked with, which is no reading: "cap rated 7.5"."""
        vocabulary = self._plain.typed.vocabulary
        told = mark_alone(text, vocabulary.words.beside_mark)
        found = self._plain.said(f"{told.name} {told.mark}") if told else []
        return len(found) == 1 and found[0]["kind"] == "point" and check_of(found[0]["name"], vocabulary.knowledge.sign.values()) is not None

    def _and_denied(self, text: str) -> list[Fields]:
        """What is seen, and what is not, with nothing between: "inducer comes on no glow". Not what may tell of when: "blower runs no heat call"."""
        parts = BEFORE_DENIAL.split(text)
        steps, order = self._plain.typed.vocabulary.names("step"), self._plain.typed.vocabulary.sequence.order
        may_be_when = [part for part in parts[1:] if steps.meant(part)] + [parts[0] for step in steps.meant(parts[0]) if step not in order]
        if len(parts) < 2 or may_be_when:
            return []
        each = [self._plain.said(part) or self._plain.denied(part) for part in parts]
        each = [found or (self._after.after(before[0], part) if before else []) for part, found, before in zip(parts, each, [[], *each], strict=False)]
        signs = all(len(found) == 1 and found[0]["kind"] == "sign" and "step" not in found[0] for found in each)
        return [fields for found in each for fields in found] if signs and len({found[0]["name"] for found in each}) == len(each) else []

    def _and_its_figure(self, text: str) -> list[Fields]:
        """What is seen, and right behind it a whole reading that begins with its figure: "limit open 26 v across limit"."""
        words = text.split()
        for i in (i for i in range(2, len(words) - 1) if FIGURE.fullmatch(words[i]) and words[i - 1] != "."):
            seen = self._plain.said(" ".join(words[:i]))
            shown = self._plain.said(in_our_words(" ".join(words[i:]))) if [(f["kind"], "step" in f) for f in seen] == [("sign", False)] else []
            if [f["kind"] for f in shown] == ["point"]:
                return [*seen, *shown]
        return []

    def of_both_sides(self, text: str) -> list[Fields]:
        """What a piece says of both sides of one thing: "ps 24 in 0 out"."""
        ways = ([self._plain.said(line) for line in lines] for lines in (sides_of(text) or windings_of(text), *both_sides_of(text)) if lines)
        return next(([fields for found in each for fields in found] for each in ways if all(each)), [])


def _any_of(judged: Iterable[str]) -> re.Pattern[str]:
    """What is thought of a reading, the longest first."""
    return spaced(rf"\b(?:{'|'.join(map(re.escape, sorted(judged, key=len, reverse=True)))})\b".replace("\\ ", " "))
