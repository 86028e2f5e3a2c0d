"""Free text of a claim, a piece at a time -> the fields of records. Read by the reader of the prompt's typed lines; what is not plain is left.

Nobody is there to say that it was meant otherwise, so less is taken than at the prompt. A step counts only with its "at" or "on" ("intermittent
no heat" tells of no step), and "replaced board" alone is as likely the repair that the claim is for as one before it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import replace
from difflib import get_close_matches
from functools import cached_property, lru_cache

from furnace_diag.claims.letter_words import HELD, WHICH_HELD, Asked, answered, behind_how, in_brackets, in_short, names_told, with_its_id
from furnace_diag.claims.was_done import tells_by_its_verb, tells_of_doing
from furnace_diag.diagnosis.verdict import BOARD
from furnace_diag.diagnosis.vocabulary import Vocabulary
from furnace_diag.knowledge.models import Point
from furnace_diag.knowledge.slips import Slips, slips_of
from furnace_diag.knowledge.spelling import DENIALS, DENIED, plain
from furnace_diag.knowledge.values import made_of
from furnace_diag.problems import BadInput
from furnace_diag.quantities import UNITS, BadQuantity, names_unit, parse_quantity
from furnace_diag.visit.complaint import BEFORE_DENIAL, both_sides_of, sides_of, windings_of
from furnace_diag.visit.how_taken import HowTaken
from furnace_diag.visit.lines import IN_CALL, MOST_WORDS, Reader
from furnace_diag.visit.marked import check_of, mark_alone, parted, side_of
from furnace_diag.visit.tried import MOST_OF_TRIAL
from furnace_diag.visit.typed import NAMED, Typed, Unclear, name_of
from furnace_diag.visit.ways import DONE_FIRST, PLACED, VALUE_FIRST

MOST_KEPT = 20_000  # pieces that are remembered, because the same words come again and again
# "cap reads 2.1": before a figure such a word says nothing
READS = re.compile(r"\b(?:reads|read|reading|measures|measured|shows|showed|was|is) +(?=[-+~<>]?\.?\d|O\.?L\b)", re.IGNORECASE)
FIGURE = re.compile(r"[-+~<>]?\.?\d\S*|O\.?L\.?", re.IGNORECASE)
MOST_OF_FIGURE = 3  # words: "0.3 volts ac", "3.5 in wc"
# between volts and the place that they are of, and how its name has it: "25.2 v on the valve" is "volts at the valve 25.2 v"
VOLTS_AT = {"at": "at", "on": "at", "to": "to", "out of": "out of"}
COLD = re.compile(  # behind ohms, which are read so anyway
    r"[ ,]+(?:(?:(?:when|while|with it|stone|dead|all) )*cold|at (?:[4-9]\d|1[01]\d) ?(?:deg|degrees|f)(?: ?f)?)$", re.IGNORECASE
)
AT_ONE = re.compile(r"\S+ (?:at|on) (?:the )?[a-z]\w*", re.IGNORECASE)  # a bare figure and what it was read on: "24.8 at mv"
AT_MOTOR = re.compile(r" at (?:the )?motor$", re.IGNORECASE)  # which of two motors the claim tells
OHMS_ALONE = re.compile(r"(?:\d[\d.]*|O\.?L\.?) ?ohms?|ohms? (?:\d[\d.]*|O\.?L\.?)", re.IGNORECASE)
LOOKS = "_looks"  # in the id of how a part looks
FOUND_AT = re.compile(r" (?:at|under|behind|by) (?:a |the )?(?:staples?|nails?|screws?|splices?)$", re.IGNORECASE)  # where a short was, behind its ohms
BEFORE_NAME = ("at", "on", "across", "from", "the")  # between a figure and what it was read on
TWO_THINGS = {"and", "then", "but"}  # between two things that are told
ALSO = re.compile(r"\s*[&+]\s*")
AND = "and"  # between two parts that are new
OF_A_GAUGE = ("in_wc",)  # units of what is read with no meter of volts
PLACED_BEHIND = {"at", "on", "across"}  # between a reading and what its name says last of where it is read: "draft 1.2 at switch"
RATED = "rated"  # before what a switch is made to act at
AT_PLACE = "_at_"  # in the id of a point, before where it is read
LINKS = {"at", "in", "on", "during", "while"}  # before a step
NOW = "now"
WORKS = "works"  # among what the words say to have come of a repair
DONE = DONE_FIRST | {"part", "yes"}  # what was done, without what came of it
# beside an earlier repair these tell nothing of what was done and what came of it
WHEN = re.compile(
    r"\b\d{1,2}/\d{1,2}(?:/\d{2,4})?\b|"
    r"\b(?:(?:last|this|past|a|one|two|three|\d+|few|couple|of) )+(?:days?|weeks?|wks?|months?|mos?|years?|yrs?|winters?|seasons?)(?: ago| back)?\b|"
    r"\b(?:last|this|past) (?:spring|summer|fall|autumn)\b|\b(?:day|week|wk|month|year|yr) ago\b|"
    r"\b(?:once|twice|already|before|just|recently|earlier|yesterday)\b",
    re.IGNORECASE,
)


def _spaced(pattern: str) -> re.Pattern[str]:
    """*pattern* as it is met in a text: whatever the letters' size, and with any space between words."""
    return re.compile(pattern.replace(" ", r"\s+"), re.IGNORECASE)


SHOWN = r"[-+]?\d[\d.]*\s*(?:ua|microamps?|micro amps?|v|vac|volts?|ohms?|amps?|a|mfd|uf|in wc|in w c|wc)\b"
NOW_SHOWS = r"(?:now|back up|up|back) (?:(?:is|at|to|reads?|reading|getting|have|has|got) )*|(?:is|reads?|reading|getting|have|got) now (?:at )?"
READ_SINCE = _spaced(rf"\b(?:(?:{NOW_SHOWS}){SHOWN}|{SHOWN} now\b)")  # after a repair, which is no reading of the furnace that had failed
# the same of one reading, with what was done before it: "cleaned rod now 3.8"
DONE_THEN_READ = _spaced(
    rf"^(?P<done>\w+) (?:off )?(?:the )?(?P<part>\D+?),? (?:and |it )?(?:{NOW_SHOWS}|its now )(?P<figure>[-+]?(?:\d[\d.]*|\.\d+)(?: ?[a-z]+)?)$"
)
FOUND_FIRST = _spaced(r"^(?:(?:i|we|tech) )?(?:checked and )?(?:found|noticed|noted|observed|saw) (?:that )?(?:the )?(?=\w)")
GOT_FIRST = _spaced(r"^(?:(?:i|we|tech) )?(?:got|had|have|getting|read|measured) (?=[-+~]?\.?\d|o\.?l\b)")  # "got 120 at ign plug"
STAT = "t-?stat|stat|thermostat"
# "unplugged stat still runs", of what was told to run before it
STAT_OFF = _spaced(rf"^(?:unplugged|unhooked|disconnected) (?:the )?(?:{STAT})(?: wires)?,? (?:(?:and|but) )?(?:it )?(still (?:runs|running))$")
NUMBERED = ("first|1st", "second|2nd", "third|3rd")
CALLS = rf"(?:{STAT}) (?:(?:is|was) )?(?:calls|calling|called)(?: for heat)?"
CALLED_FIRST = _spaced(rf"^(?:(?:with|while|when) )?(?:the )?{CALLS}$")  # before the clauses of what was then so: "stat calls, no inducer"
STEP_FIRST = _spaced(r"^(?:(?:with|while|when|at|on|in|during) )+(?:the )?")  # the same of any step: "at heating, ..."
BEFORE_PLACE = frozenset(["with", "w", "w/", "in", "meter"])  # behind a reading, before what its own description may say of where it is read
WITH_IT = frozenset(["with", "w", "the"])  # words of that which say no more
WAS = re.compile(r"\b(?:was|were)\s+(?!not\b|no\b|never\b)", re.IGNORECASE)  # "rod was filmed"
NO_DOES = r"run|start|spin|turn|glow"  # what a thing does; of a light, a click and a fire "no" denies that there is one
IN_OUR_WORDS = (  # how shops say in which call or step it was, and how it is said with a word before it
    (re.compile(r"\bw/o\b", re.IGNORECASE), "without"),
    (re.compile(r"\bw/\s*(?=\w)", re.IGNORECASE), "with "),
    (_spaced(r"\b(?:with|while|when) (?:the )?(?:t-?stat|stat|thermostat) (?:(?:is|was) )?calling(?: for heat)?\b"), "at calling"),
    (_spaced(r"\b(?:with no|without (?:a|any)) (?:heat )?call\b(?! for\b)"), "at no call"),
    (_spaced(r"\b(?:with )?nothing calling\b"), "at no call"),
    (_spaced(r"\bw no call$"), "at no call"),
    (_spaced(r"(?<!\bat)(?<!\bin)(?<!\bon) standby$"), " at standby"),
    (
        _spaced(r"\bwith (?:the )?(?:t-?stat|stat|thermostat) (?:pulled|unhooked|disconnected|removed|off)(?: (?:off|loose))?(?: (?:the )?(?:wall|base))?$"),
        "with stat wires off",
    ),
    (_spaced(r",? \b(?:all the time|constantly|nonstop|non stop|always),? (?:(?:with|w|at) )?no call$"), " at no call"),
    (_spaced(r"\b(?:on|at) (?:the )?(?:board|brd|bd)(?:'?s)?(?: own)? pin\b"), "pin"),
    (_spaced(r"\b(?:with|w) call$"), "at call"),
    (_spaced(r"\bat (?=\d+(?:\.\d+)? ?(?:mins?|minutes?|secs?|seconds?)\b)"), "after "),
    (_spaced(r"\bon a call from (?:the )?(?:t-?stat|stat|thermostat)\b"), "at calling"),
    (_spaced(rf"(?<=\w)\b no (?={NO_DOES}$)"), " does not "),  # "inducer no run"
    (_spaced(r"\bon (?:the )?(?:board|brd|bd)$"), "at board"),
    (_spaced(r"\b(?:on|in|at|during) (?:the )?(?:heat )?call (?=[1-9]\d?\b)"), "call "),
    *(
        (_spaced(rf"\b(?:(?:on|in|at|during) )?(?:the )?(?:{said}) (?:heat )?call\b(?! for (?!heat))(?: for heat)?"), f"call {number}")
        for number, said in enumerate(NUMBERED, 1)
    ),
)
NO_MATTER = frozenset(
    ["was", "were", "been", "has", "had", "have", "and", "with", "but", "also", "out", "in", "put", "then", "the", "a", "we", "i", "they", "he", "she", "it"]
)
A_SLIP = 0.8  # likeness of two words of which one is the other misspelt: "swaped"
MOST_TURNED = 16  # words of a reading that begins with its figure, with all that is told of how it was taken; what is longer holds several, judgement
MOST_OF_PART = 4  # words of a part's name
MOST_OF_STEP = 3  # words of a step's
MOST_OF_CHECK = 6  # words of a check's
MOST_TOLD = 4  # names that a piece could mean

Fields = dict[str, str]  # of one record; kind and name tell what it is of


class FreeText:
    """Reads pieces of free text in one vocabulary. A piece that could mean two things, or whose name is not written in full, is not read."""

    def __init__(self, vocabulary: Vocabulary) -> None:
        self._reader = Reader(vocabulary)
        self._read = lru_cache(MOST_KEPT)(self._typed)
        self._how = HowTaken(vocabulary)
        self._done = DONE_FIRST | vocabulary.done
        self._part, self._light_told, self._mended = "", True, False
        self._others = set[str]()  # parts that a claim's texts name in one word, but for the one claimed

    def of_claim(self, part: str, texts: Iterable[str]) -> None:
        """Tell of which claim the pieces are that come now: for which *part*, and with what *texts*."""
        said = [plain(text) for text in texts]
        words = {word.strip(".") for text in said for word in text.split()}
        works = (*self._reader.vocabulary.words.repair_said.then[WORKS], NOW)
        self._mended = any(f" {plain(each)} " in f" {text.replace('.', ' ')} " for text in said for each in works)
        self._part, self._light_told = part, not words.isdisjoint(self._reader.vocabulary.words.claims.tells_of_light)
        named = self._reader.vocabulary.names("history").clear
        self._others = {other for word in words for other in named(word)} - {part}

    def records(self, text: str) -> list[Fields]:
        """What a piece such as "inducer runs" or "heat terminal 0.2 low pin" says, of each heat call it tells of; empty where that is not plain."""
        if (named := self._name_in_brackets(text)) is not None:
            return self._of_that_name(*named)
        lines = dict.fromkeys(line for said in (text, FOUND_FIRST.sub("", text), GOT_FIRST.sub("", text)) for line in (said, in_our_words(said)))
        found = self._as_in_a_letter(text)
        return found or next(filter(None, (read(line) for read in (self._said_in, self._of_both_sides, self._besides) for line in lines)), [])

    def _as_in_a_letter(self, text: str) -> list[Fields]:
        """What a piece says in the words of a letter: "The board's HEAT speed terminal to neutral: 0.2, on the board's own pin"."""
        if self.is_answer(text) and (parts := behind_how(text)) is not None:
            name, how, value = parts
            return self._said(in_our_words(f"{self._told.get(plain(name), name)} {value.replace(',', ' ')} {how}"))
        line = with_its_id(text, self._told) or (text if in_short(text) != text else "")
        return self._said(" ".join(in_our_words(line).replace(",", " ").split())) if line else []

    def is_answer(self, text: str) -> bool:
        """Whether a piece has the form of a letter's own line, with its answer behind how it was taken: "flame seen, at heating: no". Its beginning is a
        name then, and no record by itself, even where the answer is not read."""
        parts = behind_how(in_our_words(text))
        how = self._how.fields_of(parts[1].split()) if parts is not None else None
        return parts is not None and bool(how) and not self.records(parts[2])

    def is_of_letter(self, text: str) -> bool:
        """Whether a piece begins with what a letter calls a thing, its id in brackets behind it: its clauses tell nothing by themselves then."""
        return any(asked.called and self._told.get(plain(asked.called)) == self._ids.get(plain(asked.in_brackets), "") for asked in in_brackets(text))

    def _name_in_brackets(self, text: str) -> tuple[str, str] | None:
        """The id of a point or sign that stands in brackets behind its own text, and what follows it; an empty id where both together are a name, or the
        text is of something else. None where nothing in brackets is a name: it may be a value."""
        for asked in in_brackets(text):
            name = self._ids.get(plain(asked.in_brackets))
            if name is not None:
                return (name, asked.rest) if self._calls(asked, name) else ("", "")
            if any(self._reader.vocabulary.names(kind).clear(f"{asked.called} {asked.in_brackets}") for kind in ("point", "sign")):
                return f"{asked.called} {asked.in_brackets}", asked.rest
        return None

    def _calls(self, asked: Asked, name: str) -> bool:
        """Whether what stands before the brackets may be called so: by a letter, or as one thing that shares words with that name."""
        if self._told.get(plain(asked.called)) == name or not asked.called:
            return True
        kind = "point" if name in self._reader.vocabulary.knowledge.point else "sign"
        names, words = self._reader.vocabulary.names(kind), {*plain(asked.called).split()}
        alone = "," not in asked.called and words.isdisjoint(DENIALS | DENIED | TWO_THINGS)
        return alone and name in (*names.meant(asked.called), *names.suggested(asked.called))

    def _of_that_name(self, name: str, rest: str) -> list[Fields]:
        """What is told of *name* by what follows it, and of nothing else; empty where nothing is."""
        line = in_our_words(answered(name, in_our_words(rest)))
        found, told = self._said(line) if name and line else [], f" {plain(line.removeprefix(name))} "
        is_of_it = all(f["name"] == name or name not in self._ids.values() for f in found)
        return found if is_of_it and all(f" {plain(f['value'])} " in told for f in found) else []

    @cached_property
    def _ids(self) -> Mapping[str, str]:
        knowledge = self._reader.vocabulary.knowledge
        return {plain(name): name for name in (*knowledge.point, *knowledge.sign)}

    @cached_property
    def _told(self) -> Mapping[str, str]:
        return names_told(self._reader.vocabulary.knowledge)

    def _said_in(self, text: str) -> list[Fields]:
        of_call = IN_CALL.fullmatch(text)
        return self._check_made(text) or self._said(text) or self._denied(text) or (self._of_call(of_call["rest"], of_call["call"]) if of_call else [])

    def _check_made(self, text: str) -> list[Fields]:
        """A check that could be an earlier repair too, as in "plugs refitted no change": whoever claims tells what was done for the claim."""
        said, names = plain(text).split(), self._reader.vocabulary.names("sign")
        done_first = said[:1] if {*said[:1]} & self._done else []  # "reseated plugs no change"
        for end in range(min(MOST_OF_CHECK, len(said) - 1), len(done_first), -1):
            for sign in names.clear(" ".join([*said[len(done_first) : end], *done_first])):
                if value := self._reader.own_value(sign, " ".join(said[end:])):
                    return [{"kind": "sign", "name": sign, "value": value}]
        return []

    def _of_both_sides(self, text: str) -> list[Fields]:
        """What a piece says of both sides of one thing: "ps 24 in 0 out"."""
        ways = ([self._said(line) for line in lines] for lines in (sides_of(text) or windings_of(text), *both_sides_of(text)) if lines)
        return next(([fields for found in each for fields in found] for each in ways if all(each)), [])

    def happened(self, text: str) -> list[Fields]:
        """The event that a piece tells in other words than its name, and nothing else: "lightning hit". What follows came of nobody's doing then; a piece that
        begins with what was done ("pulled blower") tells of whoever writes."""
        done = tells_of_doing(text.partition(" ")[0], self._reader.vocabulary.words.claims)
        alone = "," not in text and DENIALS.isdisjoint(plain(text).split())
        ways = (WHEN.sub(" ", text).split(), _of_a_repair(text)) if WHEN.search(text) else (text.split(),)  # "last summer" is a date, and no summer's rest
        names = self._reader.vocabulary.names("event")
        lines = (" ".join(words) for words in ways if alone and len(words) <= MOST_OF_PART)
        told = (self._read(line) for line in lines if not done or (names.clear(line) and not any(self._beside_name(line, self._part))))
        return next((_of_each_call(typed) for typed in told if isinstance(typed, Typed) and "event" in typed.record), [])

    def _besides(self, text: str) -> list[Fields]:
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
        line = " ".join(self._judged.sub(" ", FOUND_AT.sub("", text)).split())
        found = self._said(line) if line != text and any(c.isdigit() for c in line) else []
        return found if all(f["kind"] == "point" and any(c.isdigit() for c in f["value"]) for f in found) else []

    def _of_a_cold_part(self, text: str) -> list[Fields]:
        """Ohms that are told to be of a cold part: "igniter 58 ohms cold"."""
        bare = COLD.sub("", text)
        found = self._said(bare) if bare != text else []
        points = self._reader.vocabulary.knowledge.point
        return found if all(f["kind"] == "point" and points[f["name"]].unit == "ohm" for f in found) else []

    def _of_other_call(self, text: str) -> list[Fields]:
        """What a piece says after the call for something else than heat in which it was so: "fan call blower runs"."""
        vocabulary, words = self._reader.vocabulary, text.split()
        others, steps = {c.step for c in vocabulary.sequence.other_calls}, vocabulary.names("step")
        for end in range(min(MOST_OF_STEP, len(words) - 2), 0, -1):
            named = steps.clear(" ".join(words[:end]))
            if len(named) == 1 and named[0] in others and "," not in words[end - 1]:  # "cooling call, blower runs" tells two things
                found = self._said(" ".join([*words[end:], "at", *words[:end]]))
                return found if all(f.get("step") == named[0] for f in found) else []
        return []

    def _in_two_steps(self, text: str) -> list[Fields]:
        """What a thing does in one step, and in another with its name left out: "blower won't start on heat works on fan"."""
        words = text.split()
        for end in range(len(words) - 2, 2, -1):
            each_has_link = _has_link(words[:end]) and _has_link([*words[: MOST_OF_PART - 1], *words[end:]])
            first = self._said(" ".join(words[:end])) if each_has_link else []
            if len(first) != 1 or first[0]["kind"] != "sign" or "step" not in first[0]:
                continue
            for size in range(1, MOST_OF_PART):
                then = self._said(" ".join([*words[:size], *words[end:]]))
                if len(then) == 1 and then[0]["name"] == first[0]["name"] and then[0].get("step", first[0]["step"]) != first[0]["step"]:
                    return [*first, *then]
        return []

    def _as_asked(self, text: str) -> list[Fields]:
        """A check that a proof asks for, told as a letter asks for it, without a "yes": "burned in one go"."""
        vocabulary = self._reader.vocabulary
        spelled = vocabulary.names("sign").spelling
        checks = (s for s in vocabulary.knowledge.sign.values() if s.only_for_proof and {*s.values} == {"yes", "no"})
        told = next((s.sign for s in checks if spelled(text) == spelled(s.sign.replace("_", " "))), "")
        return [{"kind": "sign", "name": told, "value": "yes"}] if told else []

    def is_step_of(self, text: str, fields: Mapping[str, str]) -> bool:
        """Whether a piece tells nothing but the step of what *fields* tell: "120 on heat terminal standby, no call"."""
        return "step" in fields and self._reader.vocabulary.names("step").clear(text) == [fields["step"]]

    @staticmethod
    def is_call(text: str) -> bool:
        """Whether a piece tells nothing but that the thermostat calls."""
        return CALLED_FIRST.match(text) is not None

    def _with_its_place(self, text: str) -> list[Fields]:
        """A reading told with what its own description says: "across door switch 121 with door on" is read with the door on anyway."""
        points, words = self._reader.vocabulary.knowledge.point, text.split()
        for end in range(len(words) - 1, 1, -1):
            tail = [w for w in map(plain, words[end:]) if w not in WITH_IT]
            found = self._said(" ".join(words[:end]).rstrip(",")) if words[end].lower() in BEFORE_PLACE and tail else []
            said = f" {plain(points[found[0]['name']].says)} " if len(found) == 1 and found[0]["kind"] == "point" else ""
            if f" {' '.join(tail)} " in " ".join(w for w in said.split(" ") if w not in WITH_IT):
                return found
        return []

    def _place_behind(self, text: str) -> list[Fields]:
        """A reading whose figure stands before the last of its name, where that is read: "draft 1.2 at switch"."""
        told = (self._said(line) for line, figure in _place_first(text) if line.endswith(f" {figure}"))
        return next((found for found in told if len(found) == 1 and found[0]["kind"] == "point"), [])

    def _in_the_past(self, text: str) -> list[Fields]:
        """What was seen, told as it was: "rod was filmed"."""
        line = WAS.sub("", text)
        typed = self._read(line) if line != text else None
        found = self._said(line) if isinstance(typed, Typed) and not typed.weakly else []
        experiments = self._reader.vocabulary.knowledge.experiment
        return found if all(f["kind"] == "sign" and f["name"] not in experiments for f in found) else []

    def _against_mark(self, text: str) -> list[Fields]:
        """A reading and the check of it against its mark: "cap 1.1 uf should be 7.5", "cap rated 7.5, reads 1.1"."""
        vocabulary = self._reader.vocabulary
        lines = (text, *(line for line, _ in _place_first(text)))
        told = next((told for line in lines if (told := parted(line, vocabulary.words.beside_mark)) and self._said(told.read)), None)
        found = self._said(told.read) if told else []
        if told is None or len(found) != 1 or found[0]["kind"] != "point":
            return []
        side = side_of(found[0]["name"], found[0]["value"], told.mark, vocabulary.knowledge)
        if side is None and told.beside.lower().startswith(RATED) and vocabulary.knowledge.point[found[0]["name"]].unit in OF_A_GAUGE:
            return [found[0] | {"note": f"{told.beside} {told.mark}"}]  # of the switch that it works, and no check holds it against that
        return [*found, {"kind": "sign", "name": side[0], "value": side[1]}] if side is not None else []

    def is_mark(self, text: str) -> bool:
        """Whether a piece tells only what a part is marked with, which is no reading: "cap rated 7.5"."""
        vocabulary = self._reader.vocabulary
        told = mark_alone(text, vocabulary.words.beside_mark)
        found = self._said(f"{told.name} {told.mark}") if told else []
        return len(found) == 1 and found[0]["kind"] == "point" and check_of(found[0]["name"], vocabulary.knowledge.sign.values()) is not None

    def _and_denied(self, text: str) -> list[Fields]:
        """What is seen, and what is not, with nothing between: "inducer comes on no glow". Not what may tell of when: "blower runs no heat call"."""
        parts = BEFORE_DENIAL.split(text)
        steps, order = self._reader.vocabulary.names("step"), self._reader.vocabulary.sequence.order
        may_be_when = [part for part in parts[1:] if steps.meant(part)] + [parts[0] for step in steps.meant(parts[0]) if step not in order]
        if len(parts) < 2 or may_be_when:
            return []
        each = [self._said(part) or self._denied(part) for part in parts]
        each = [found or (self.after(before[0], part) if before else []) for part, found, before in zip(parts, each, [[], *each], strict=False)]
        signs = all(len(found) == 1 and found[0]["kind"] == "sign" and "step" not in found[0] for found in each)
        return [fields for found in each for fields in found] if signs and len({found[0]["name"] for found in each}) == len(each) else []

    def _and_its_figure(self, text: str) -> list[Fields]:
        """What is seen, and right behind it a whole reading that begins with its figure: "limit open 26 v across limit"."""
        words = text.split()
        for i in (i for i in range(2, len(words) - 1) if FIGURE.fullmatch(words[i])):
            seen = self._said(" ".join(words[:i]))
            shown = self._said(" ".join(words[i:])) if [(f["kind"], "step" in f) for f in seen] == [("sign", False)] else []
            if [f["kind"] for f in shown] == ["point"]:
                return [*seen, *shown]
        return []

    def is_reading(self, text: str) -> bool:
        """Whether a piece is whole readings of an instrument by itself, and no more."""
        found = self.records(text)
        return bool(found) and all(f["kind"] == "point" for f in found)

    def without_states(self, text: str) -> str:
        """*text* without words that tell how a part stands, right behind it: of "ps closed" nobody did anything, as of "closed the cock" somebody did."""
        words, names, out = plain(text).split(), self._reader.vocabulary.names("history"), list[str]()
        states = self._reader.vocabulary.words.claims.stands
        for i, word in enumerate(words):
            before = {part for n in range(1, MOST_OF_PART + 1) if n <= i for part in names.clear(" ".join(words[i - n : i]))}
            if before.isdisjoint(states.get(word, ())):
                out.append(word)
        return " ".join(out)

    def after(self, fields: Mapping[str, str], text: str) -> list[Fields]:
        """What a clause tells only after the one that gave *fields*: "no click" after an igniter that glows, or after the gas was
        read. Empty where it tells nothing so."""
        if OHMS_ALONE.fullmatch(text) and fields["name"].endswith(LOOKS):
            return self._own_ohms(fields["name"].removesuffix(LOOKS), text)
        text = in_our_words(STAT_OFF.sub(r"\1 with stat wires off", text))
        thing = self._reader.vocabulary.words.claims.told_after.get(plain(text), {}).get(fields["name"], "")
        found = self._said(f"{thing} {text}") if thing and fields["kind"] in ("point", "sign") else []
        # what turns by hand is told of a motor that does not run, and of none that does; a click only of what came before it
        by_hand = any(f["kind"] == "sign" and self._is_read_off(f["name"]) for f in found)
        shown = self._reader.value_of(fields["name"], fields["value"]) if fields["kind"] == "sign" else ""
        return [] if shown == ("yes" if by_hand else "no") else found

    def _is_read_off(self, sign: str) -> bool:
        """Whether a sign is looked at with the power off alone."""
        vocabulary = self._reader.vocabulary
        return sign in vocabulary.knowledge.sign and vocabulary.knowledge.sign[sign].steps == (vocabulary.sequence.roles.off,)

    def _own_ohms(self, of: str, text: str) -> list[Fields]:
        """Bare ohms of a part that has one reading of them: of what was looked at before them ("igniter not cracked, 48 ohms"), or of the part claimed."""
        value = " ".join(w for w in text.split() if w.lower() not in ("ohm", "ohms"))
        return self._said(f"{of} ohms {value} ohms".replace("_", " ")) if f"{of}_ohms" in self._reader.vocabulary.knowledge.point else []

    def guessed(self, text: str, before: Mapping[str, str] | None = None) -> list[Fields]:
        """What a piece says whose name is not written in full, where one point or sign alone has such a name and the piece holds its value; or one alone
        of the claimed part, or at the place of the reading told *before* it.

        No experiment, no name that little is told of, and nothing where a figure stands first, for it may as well end the piece before; but where it is read
        "at motor".
        """
        text = COLD.sub("", text)
        if OHMS_ALONE.fullmatch(text) and self._part not in ("", BOARD):
            return self._own_ohms(self._part.removesuffix("_switch"), text)
        if self._name_in_brackets(text) is not None:
            return []
        if FIGURE.fullmatch(text.split()[0]) and not AT_MOTOR.search(text):
            return self._of_part_at(text) or self._both_sides_of_part(text)
        read = [self._read(line) for line in dict.fromkeys((text, in_our_words(text)))]
        typed = next((t for t in read if isinstance(t, Typed)), None) or self._of_the_several(next((t for t in read if isinstance(t, Unclear)), None), before)
        alone = typed is not None and typed.guessed and not (typed.weakly and typed in read)
        if typed is None or not alone or _may_be_otherwise(typed, text):
            return []
        (fields, *_) = found = _of_each_call(typed)
        told = {*plain(fields["value"]).split()} <= {*plain(text).split()} and fields["kind"] in ("point", "sign")
        return found if told and fields["name"] not in self._reader.vocabulary.knowledge.experiment else []

    def _of_part_at(self, text: str) -> list[Fields]:
        """A bare figure read on what several points are at, one of which is of the part claimed: "24.8 at mv" of a gas valve."""
        typed = self._read(text) if AT_ONE.fullmatch(text) and self._part not in ("", BOARD) else None
        meant = self._of_the_several(typed, None) if isinstance(typed, Unclear) else None
        return _of_each_call(meant) if meant is not None and "point" in meant.record else []

    def _both_sides_of_part(self, text: str) -> list[Fields]:
        """Both sides of a thing that is not named, as those of the part claimed: "24 in 0 out" of a pressure switch."""
        lines = sides_of(f"{self._part.replace('_', ' ')} {text}") if self._part not in ("", BOARD) and not sides_of(text) else []
        each = [self._said(line) for line in lines]
        return [fields for found in each for fields in found] if all(each) else []

    def forgiven(self, text: str) -> list[Fields]:
        """What a piece says once what is misspelt in it is mended; empty where nothing is, or where it then tells of what was done."""
        mended = self._slips(text.lower())
        return [] if mended == text.lower() or tells_of_doing(mended, self._reader.vocabulary.words.claims) else self.records(mended)

    @cached_property
    def _slips(self) -> Slips:
        vocabulary = self._reader.vocabulary
        return slips_of(vocabulary.words, vocabulary.knowledge.sign.values())

    def _of_the_several(self, unclear: Unclear | None, before: Mapping[str, str] | None) -> Typed | None:
        """The one of several readings that is meant: of ohms or amps of several parts that of the part claimed ("coil OL"; of the board's pins none), and of
        one reading at several places that at the place of the reading told *before* it ("l-n 0, line to chassis 120")."""
        points = self._reader.vocabulary.knowledge.point
        choices = unclear.choices if unclear is not None else ()
        if any(str(t.record.get("point")) not in points for t in choices):
            return self._of_the_motor(choices) or self._read_alike(choices, before)
        if not choices:
            return None
        names = [str(t.record["point"]) for t in choices]
        meant = list[Typed]()
        if self._part not in ("", BOARD) and all(UNITS[points[n].unit].in_words for n in names):
            meant = [t for t, n in zip(choices, names, strict=True) if n.startswith(f"{self._part.removesuffix('_motor')}_")]
        elif self._part not in ("", BOARD) and all(points[n].unit == "V" for n in names):
            meant = [t for t, n in zip(choices, names, strict=True) if n.startswith(f"{self._part}_")]
        elif before is not None and before["name"] in points:
            (of, at, place), parted = before["name"].partition(AT_PLACE), [n.partition(AT_PLACE) for n in names]
            if at and of and len({start for start, _, _ in parted}) == 1:
                meant = [t for t, (_, _, there) in zip(choices, parted, strict=True) if there == place]
        return replace(meant[0], guessed=name_of(meant[0])) if len(meant) == 1 else None

    def _of_the_motor(self, choices: Sequence[Typed]) -> Typed | None:
        """The one of several signs that is of the part claimed, of which no other is of a part that the claim's texts name too: "motor hums, shaft stuck" of
        an inducer."""
        if self._part in ("", BOARD) or not all("sign" in t.record for t in choices):
            return None
        of_part, others = f"{self._part.removesuffix('_motor')}_", [f"{other.removesuffix('_motor')}_" for other in self._others]
        meant = [t for t in choices if str(t.record["sign"]).startswith(of_part)]
        doubted = any(str(t.record["sign"]).startswith(other) for t in choices for other in others if t not in meant)
        return replace(meant[0], guessed=name_of(meant[0]), weakly=False) if len(meant) == 1 and not doubted else None

    def _read_alike(self, choices: Sequence[Typed], before: Mapping[str, str] | None) -> Typed | None:
        """The one of several that is read with the same gauge as the reading told *before* it, where that is no meter of volts: "inlet 7 in wc, outlet 0"."""
        points = self._reader.vocabulary.knowledge.point
        last = points.get(before["name"]) if before is not None else None
        read = [(t, points[str(t.record["point"])]) for t in choices if "point" in t.record]
        alike = [t for t, p in read if last is not None and (p.unit, p.function) == (last.unit, last.function) and p.unit in OF_A_GAUGE]
        return replace(alike[0], guessed=name_of(alike[0]), weakly=False) if len(alike) == 1 else None

    def step_first(self, clause: str) -> str:
        """The step that a first clause is nothing but, as in "stat calls" or "at heating"; empty where it is anything else."""
        if CALLED_FIRST.match(clause):
            clause = "at call"
        bare = STEP_FIRST.sub("", clause)
        steps = self._reader.vocabulary.names("step")
        meant = (steps.meant(bare) or steps.meant(clause)) if bare != clause else []
        return meant[0] if len(meant) == 1 else ""

    def at_step(self, fields: Fields, step: str) -> Fields:
        """What was read, at the step told before it. What a call shows only later is of no first step of it: "stat calls, igniter plug 121"."""
        vocabulary = self._reader.vocabulary
        point, sign = vocabulary.knowledge.point.get(fields["name"]), vocabulary.knowledge.sign.get(fields["name"])
        steps = (point or sign).steps if point or sign else ()  # type: ignore[union-attr]
        if "step" in fields or step not in steps or len(steps) < 2:
            return fields
        in_call = [s for s in vocabulary.sequence.order if s != vocabulary.sequence.starts_at]
        if step != in_call[0]:
            return fields | {"step": step}
        return fields | {"step": step} if point is not None and not self._is_due_later(point, fields["value"], in_call) else fields

    @staticmethod
    def _is_due_later(point: Point, value: str, in_call: Sequence[str]) -> bool:
        """Whether a good furnace shows *value* at steps of a call, and not at its first."""
        try:
            shown = parse_quantity(value, point.unit).value
        except BadQuantity:
            return True
        there = {s for band in point.expects for s in band.steps if band.low <= shown <= band.high}
        return in_call[0] not in there and bool(there & {*in_call})

    def _of_call(self, text: str, call: str) -> list[Fields]:
        """What a piece says after the heat call in which it was so: "call 2: no inducer"."""
        found = self._said(text) or self._denied(text)
        return [f | {"call": call} for f in found] if len(found) == 1 and found[0]["kind"] in ("point", "sign") and "call" not in found[0] else []

    def _denied(self, text: str) -> list[Fields]:
        """What is denied before its name, with how it was taken behind it: "no blower at heating"."""
        words = text.split()
        tried = self._reader.vocabulary.knowledge.experiment  # "no board tapped": nothing was tried
        for value in VALUE_FIRST.get(words[0].lower(), ()) if words and words[0].lower() in DENIALS else ():
            for end in range(len(words) - 1, 1, -1):
                line = " ".join([*words[1:end], value, *words[end:]])
                typed = self._read(line)
                if isinstance(typed, Typed) and not typed.guessed and typed.record["value"] == value and typed.record.get("sign", "") not in tried:
                    return [] if _may_be_otherwise(typed, line) else _of_each_call(typed)
        return []

    def _said(self, text: str) -> list[Fields]:
        typed = self._without_legend(self._read(text), text)
        typed = typed if isinstance(typed, Typed) and not typed.guessed else self._read(READS.sub("", text))
        if isinstance(typed, Typed) and not typed.guessed:
            may_be = self._repaired(text) if _without_outcome(typed) else []
            return may_be if _may_be_otherwise(typed, text) else _of_each_call(typed)
        return next((_of_each_call(t) for line, t in self._turned(text) if not t.guessed and not _may_be_otherwise(t, line)), []) or self._repaired(text)

    def _without_legend(self, typed: Typed | Unclear | None, text: str) -> Typed | Unclear | None:
        """Of what is told of a part in the words of a light's legend too, what is told of the part, where no text of the claim speaks of a light:
        "pressure switch open"."""
        if not isinstance(typed, Unclear) or self._light_told:
            return typed
        signs = self._reader.vocabulary.knowledge.sign
        of_light = [t for t in typed.choices if t.record.get("sign") in signs and signs[str(t.record["sign"])].source_kind == "light"]
        others = [t for t in typed.choices if t not in of_light]
        return others[0] if len(others) == 1 and all(plain(str(t.record["value"])) == plain(text) for t in of_light) else typed

    def _repaired(self, text: str) -> list[Fields]:
        """An earlier repair and what came of it, told in a sentence: "board was swaped last week with no change". Told with its day, it may be one of which
        nothing is told to have come: "new gas valve last month"; not of the part claimed, whose new one may be what is claimed, nor where a text of the
        claim tells that something works by now, for that may have come of it."""
        words, dated = _of_a_repair(READ_SINCE.sub(" ", text)), not self._mended and WHEN.search(text) is not None
        if not 2 - dated < len(words) <= MOST_WORDS or not self._names_repaired(words):
            return []
        if self._done.isdisjoint(words):
            at, done = next(((i, d) for i, w in enumerate(words) for d in get_close_matches(w, self._done, 1, A_SLIP)), (0, words[0]))
            words[at] = done
        lines = (words, [*words[1:], words[0]]) if dated and words[0] in self._done else (words,)
        read = (self._read(" ".join(line)) for line in lines)
        typed = next((t for t in read if isinstance(t, Typed) and not t.guessed and "history" in t.record), None)
        is_other = typed is not None and dated and DENIALS.isdisjoint(words) and name_of(typed).partition(":")[0] != self._part
        is_other = is_other and not self._reader.vocabulary.names("event").clear(" ".join(words))
        return _of_each_call(typed) if typed is not None and (is_other or not _without_outcome(typed)) else []

    def _names_repaired(self, words: Sequence[str]) -> bool:
        """Whether some of *words* one after another name what may have been repaired."""
        names = self._reader.vocabulary.names("history")
        return any(names.clear(" ".join(words[i:end])) for i in range(len(words)) for end in range(i + 1, len(words) + 1))

    def is_read_since(self, text: str, before: Mapping[str, str]) -> bool:
        """Whether a piece tells what the reading told *before* it became by what was done: "cleaned rod now 3.8" after a flame current of 0.3. Only where
        it is good now and was not: that the same is read again tells of the failure."""
        told, point = DONE_THEN_READ.match(text), self._reader.vocabulary.knowledge.point.get(before["name"])
        if told is None or point is None or told["done"].lower() not in self._done:
            return False
        typed = next((t for unit in ("", f" {point.unit}") if isinstance(t := self._read(f"{told['part']} {told['figure']}{unit}"), Typed)), None)
        if typed is None or typed.record.get("point") != point.point:
            return False
        try:
            was, is_now = (parse_quantity(value, point.unit).value for value in (before["value"], str(typed.record["value"])))
        except BadQuantity:
            return False
        return any(b.low <= is_now <= b.high for b in point.expects) and not any(b.low <= was <= b.high for b in point.expects)

    def is_claimed_repair(self, text: str, part: str) -> bool:
        """Whether a piece tells that a new *part* put all right: "swapped board and it came to life". Of the part claimed that tells nothing of the fault."""
        words, said = _of_a_repair(text), self._reader.vocabulary.words.repair_said
        ends = (_of_a_repair(then) for then in said.then[WORKS])
        before = next((words[: -len(end)] for end in sorted(ends, key=len, reverse=True) if end and words[-len(end) :] == end), [])
        named = " ".join(w for w in before if w not in self._done)
        return len(named.split()) < len(before) <= MOST_WORDS and self._reader.vocabulary.names("history").clear(named) == [part]

    def is_the_claim(self, text: str, part: str) -> bool:
        """Whether a piece tells only what is claimed, that *part* is bad or a new one is put in: "bd no good", "put new brd in anyhow"."""
        claims = self._reader.vocabulary.words.claims
        if part != BOARD and (self.records(text) or any(self.records(clause.strip()) for clause in text.split(",") if clause.strip())):
            return False  # "inducer dead" is seen, "board dead" is thought
        tells_no_more = (*claims.blames, *self._renewed, *claims.says_little)
        beside = [*self._beside_name(text, part), *self._beside_two(text, part)]
        return self.fails_to(text, part) or any(not rest or made_of(rest, tells_no_more) for rest in beside)

    def _beside_two(self, text: str, part: str) -> Iterator[str]:
        """As `_beside_name`, of a text that tells of new parts, *part* and one other: "replaced board and motor". What it says besides must be of both."""
        names, words = self._reader.vocabulary.names("history"), plain(ALSO.sub(f" {AND} ", text)).removesuffix(" both").split()
        first = next((n for n in range(2, 0, -1) if made_of(" ".join(words[:n]), self._renewed)), 0)
        if first == 0 or AND not in words[first:]:
            return
        at = words.index(AND, first)
        for kept, other in ((words[:at], words[at + 1 :]), ([*words[:first], *words[at + 1 :]], words[first:at])):
            other = other[1:] if other[:1] == ["new"] else other
            if other and (names.meant(" ".join(other)) or tuple(other) in self._ends_of_parts):
                yield from self._beside_name(" ".join(kept), part, renewed=True)

    @cached_property
    def _ends_of_parts(self) -> frozenset[tuple[str, ...]]:
        """What parts are called for short behind another: the "motor" of "board and motor"."""
        return frozenset((part.rpartition("_")[2],) for part in self._reader.vocabulary.knowledge.part)

    def fails_to(self, text: str, part: str) -> bool:
        """Whether a piece tells only that *part* does not do its work on another thing: "board wont lite ignitor". A figure in it is a reading, and what
        it does not get, or is itself, was seen of it."""
        words = plain(text).split()
        if any(w[0].isdigit() for w in words) or len(words) > MOST_OF_TRIAL:
            return False
        vocabulary = self._reader.vocabulary
        names, fails = vocabulary.names("history"), {tuple(plain(f).split()) for f in vocabulary.words.claims.fails_to}
        ends = (n for n in range(1, min(MOST_OF_PART, len(words) - 1) + 1) if names.clear(" ".join(words[:n])) == [part])
        denied = [words[n + 1 :] for n in ends if words[n] in DENIALS | DENIED]
        return any(tuple(rest[:n]) in fails and rest[n : n + 1] not in ([], ["up"]) for rest in denied for n in (1, 2))

    def is_new_part(self, text: str, part: str) -> bool:
        """Whether such a piece tells of a new *part*, so that what follows is of another time."""
        return self.is_the_claim(text, part) and not {*plain(text).split()}.isdisjoint({*DONE_FIRST, *self._done})

    @cached_property
    def _judged(self) -> re.Pattern[str]:
        """What is thought of a reading, the longest first."""
        judged = sorted(self._reader.vocabulary.words.claims.judged, key=len, reverse=True)
        return _spaced(rf"\b(?:{'|'.join(map(re.escape, judged))})\b".replace("\\ ", " "))

    @cached_property
    def _renewed(self) -> tuple[str, ...]:
        words = self._reader.vocabulary.words
        return (*words.repair_said.done["part"], *words.claims.renewed)

    def _beside_name(self, text: str, part: str, *, renewed: bool = False) -> Iterator[str]:
        """For each way in which some words of *text* name *part*, the others; *renewed*: for short as well, the "motor" that is claimed."""
        words, names, short = plain(text).split(), self._reader.vocabulary.names("history"), part.rpartition("_")[2]
        for size in range(min(MOST_OF_PART, len(words)), 0, -1) if part and len(words) <= MOST_WORDS else ():
            for i in range(len(words) - size + 1):
                if names.clear(" ".join(words[i : i + size])) == [part] or (renewed and words[i : i + size] == [short]):
                    yield " ".join([*words[:i], *words[i + size :]])

    def advice(self, text: str) -> str:
        """What a piece that is not plain could be; empty where it is like nothing."""
        if HELD.search(text) and any(f["kind"] == "point" for f in self.records(HELD.sub("", text))):
            return WHICH_HELD
        if told := self._reader.no_reading(text):
            return told
        typed = self._read(text)
        if isinstance(typed, Typed) and _without_outcome(typed):
            return "If it was done before this claim, say what came of it, such as no change."
        choices = typed.choices if isinstance(typed, Unclear) else (typed,) if typed else ()
        if len(choices) > 1 and len({(f["kind"], f["name"]) for f in map(_fields, choices)}) == 1:
            values = " or ".join(str(t.record["value"]) for t in choices)
            return f"It could be {_fields(choices[0])['name']}: {values}. Write which."
        names = dict.fromkeys(f["name"] for f in map(_fields, choices)) or dict.fromkeys(self._begun(text))
        return f"It could be {' or '.join(list(names)[:MOST_TOLD])}: write the name in full." if names else ""

    def _turned(self, text: str) -> Iterator[tuple[str, Typed]]:
        """A reading that begins with its figure, as "0.3 v on heat terminal low z", and the line that it is with the name first; the longest name first."""
        apart = (*_figure_apart(text), *_volts_apart(text)) if len(text.split()) <= MOST_TURNED else ()
        for figure, rest in (each for each in apart if _is_quantity(each[0])):
            for end in (end for end in range(len(rest), 0, -1) if self._may_follow_figure(rest[end:])):
                line = " ".join([*rest[:end], figure, *rest[end:]])
                typed = self._read(line)
                if isinstance(typed, Typed) and "point" in typed.record and typed.record["value"] == figure:
                    yield line, typed

    def _may_follow_figure(self, words: Sequence[str]) -> bool:
        """Whether *words* tell how a reading was taken, and perhaps then where."""
        ends = (i for i in range(len(words) + 1) if words[i : i + 1] == [] or words[i].lower() in PLACED)
        return any(self._how.fields_of(words[:end]) is not None for end in ends)

    def _begun(self, text: str) -> list[str]:
        """The points whose names begin as what a figure is said to be read on: "120 at L1"."""
        reader, said = self._reader, [" ".join(rest) for _, rest in _figure_apart(text)]
        spelt = [*said, *map(reader.vocabulary.names("point").spelling, said)]
        return next(filter(None, ([i for kind, i in reader.names_only(s) if kind == "point"] for s in spelt)), [])

    def _typed(self, text: str) -> Typed | Unclear | None:
        try:
            typed = self._reader.understood(text)
        except BadInput:
            return None
        if isinstance(typed, Typed) and ((typed.as_complained and tells_by_its_verb(text, self._reader.vocabulary.words.claims)) or self._is_id(typed)):
            return None
        return self._on_its_contact(typed) if typed is not None else None

    def _is_id(self, typed: Typed) -> bool:
        """Whether what was taken for a value is the id of a point or sign, typed as such: "seen" of "flame_seen" tells nothing."""
        value = str(typed.record["value"])
        sign = self._reader.vocabulary.knowledge.sign.get(str(typed.record.get("sign")))
        is_own = sign is not None and value in sign.values
        return not is_own and any("_" in word and plain(word) in self._ids for word in value.split())

    def _on_its_contact(self, typed: Typed | Unclear) -> Typed | Unclear:
        """The one that is meant of an output's pin, its crimp and its load, where the contact is told: "mv 0.1 v, pin"."""
        choices = typed.choices if isinstance(typed, Unclear) else ()
        points = {str(t.record["point"]): t for t in choices if "point" in t.record and not t.guessed}
        if len(points) < len(choices) or len(points) < 2:
            return typed
        for name, choice in points.items():
            point = self._reader.vocabulary.knowledge.point[name]
            on = {"pin": name, "crimp": point.at_crimp, "load": point.at_load}
            meant = on.get(str(choice.record.get("contact")))
            if points.keys() <= {*on.values()} and meant in points:
                return replace(points[meant], guessed="")
        return typed


def in_our_words(text: str) -> str:
    """*text* with the step or the call told as the reader of typed lines takes it: "0 v at w w/ stat calling" is "0 v at w at calling"."""
    text = in_short(text)
    for pattern, ours in IN_OUR_WORDS:
        text = pattern.sub(ours, text)
    return text


def _of_a_repair(text: str) -> list[str]:
    """The words of *text* that tell what was done and what came of it."""
    return [w for w in plain(WHEN.sub(" ", text.lower())).split() if w not in NO_MATTER]


@lru_cache(maxsize=MOST_KEPT)
def _is_quantity(text: str) -> bool:
    """Whether *text* is a figure of any unit."""
    for unit in UNITS:
        with suppress(BadQuantity):
            parse_quantity(text, unit)
            return True
    return False


def _figure_apart(text: str) -> Iterator[tuple[str, list[str]]]:
    """Each way to part a piece that begins with a figure: the figure with its unit, and the words after it."""
    words = text.split()
    if not words or len(words) > MOST_WORDS or not FIGURE.fullmatch(words[0]):
        return
    for size in range(1, min(MOST_OF_FIGURE, len(words) - 1) + 1):
        start = next((i for i in range(size, len(words)) if words[i].lower() not in BEFORE_NAME), len(words))
        if "across" in map(str.lower, words[size:start]):  # which is of the name as well: "26 v across limit at call"
            yield " ".join(words[:size]), ["across", *words[start:]]
        yield " ".join(words[:size]), words[start:]


def _place_first(text: str) -> Iterator[tuple[str, str]]:
    """The ways to have the last of a name, told behind its figure, before that, and the figure with its unit: "draft 1.2 at switch"."""
    words = text.split()
    at = next((i for i, w in enumerate(words) if FIGURE.fullmatch(w)), 0)
    behind = next((i for i in range(at + 1, min(at + 1 + MOST_OF_FIGURE, len(words) - 1)) if words[i].lower() in PLACED_BEHIND), 0)
    for end in range(len(words), behind + 1, -1) if at and behind else ():
        yield " ".join([*words[:at], *words[behind:end], *words[at:behind], *words[end:]]), " ".join(words[at:behind])


def _volts_apart(text: str) -> Iterator[tuple[str, list[str]]]:
    """The same of volts and the place that they are of, which is then called "volts at" it. A bare figure may be volts only where it comes out of something."""
    for at, ours in VOLTS_AT.items():
        figure, found, place = text.partition(f" {at} ")
        is_figure = found and place.split() and FIGURE.fullmatch(figure.split()[0]) and len(figure.split()) <= MOST_OF_FIGURE
        if is_figure and (names_unit(figure, "V") or (at == "out of" and figure.replace(".", "").isdigit())):
            yield figure, ["volts", *ours.split(), *place.split()]


def _of_each_call(typed: Typed) -> list[Fields]:
    return [_fields(typed) | ({"call": str(call)} if typed.calls > 1 else {}) for call in range(1, typed.calls + 1)]


def _may_be_otherwise(typed: Typed, text: str) -> bool:
    """Whether a step is told without a word before it, or a repair without what came of it."""
    return _without_outcome(typed) or ("step" in typed.record and not _has_link(text.split()))


def _has_link(words: Iterable[str]) -> bool:
    """Whether one of *words* may stand before a step."""
    return any(w.lower() in LINKS for w in words)


def _without_outcome(typed: Typed) -> bool:
    return "history" in typed.record and {*_of_a_repair(str(typed.record["value"]))} <= DONE


def _fields(typed: Typed) -> Fields:
    kind = next(k for k in NAMED if k in typed.record)
    more = {k: " ".join(map(str, v)) if isinstance(v, list) else str(v) for k, v in typed.record.items() if k != kind}
    return {"kind": kind, "name": str(typed.record[kind]), **more}
