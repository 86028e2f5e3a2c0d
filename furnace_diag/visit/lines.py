"""What a technician types on one line -> the fields of a record: a name, a value, and how it was taken, in any usual order."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cache, lru_cache

from furnace_diag.diagnosis.entries import METERS
from furnace_diag.diagnosis.records import SET_UPS, Vocabulary
from furnace_diag.knowledge.find import Names, told_by_value
from furnace_diag.knowledge.likeness import mended
from furnace_diag.knowledge.point_models import Trial
from furnace_diag.knowledge.spelling import ANSWERS, DENIALS, DENIED, LINKS, plain
from furnace_diag.knowledge.values import EARLIER_REPAIR, values_of
from furnace_diag.knowledge.words import of_whole_call
from furnace_diag.problems import BadInput, Problem, printable
from furnace_diag.quantities import BadQuantity, parse_quantity
from furnace_diag.visit.answers import begins_with_its_name, in_other_words, value_read_off
from furnace_diag.visit.times import MOST_WORDS as MOST_WORDS_OF_TIME
from furnace_diag.visit.times import seconds_alone, seconds_told, with_after

LONGEST = 300  # [characters] of one line
MOST_WORDS = 24
MOST_REMEMBERED = 20_000  # answers of each kind, for the lines of one file of claims or of one visit
NO_SLIPS = ("none", "nothing", "never")  # words of their own, never one that a value has misspelt
MOST_OFFERED = 5
VALUE_FIRST = {"no": ("no", "nothing"), "not": ("no", "nothing"), "zero": ("nothing",), "new": ("new part",), "bad": ("bad",)}
DONE_FIRST = frozenset(["new", "replaced", "changed", "swapped", "cleaned", "reseated", "refitted", "cleared", "tightened"])  # before the part it was done to
MOST_LEFT_OUT = 0.5  # of the words of a name: where this many are left out or more, it is named weakly
LEAST_LETTERS = 3  # that a word must have to begin one of a name's
NAMED = ("point", "sign", "history", "event")
HOLDS = {"min": ("minimum", "lowest", "min hold", "held min"), "max": ("maximum", "highest", "max hold", "held max")}
CONTACTS = {"pin": ("on the pin", "at the pin", "board pin"), "crimp": ("on the crimp", "at the crimp"), "load": ("at load", "at the load")}
SOURCES = {
    "measured": (), "seen": (),
    "told": (
        *(f"{who} {said}" for who in ("customer", "owner", "they", "somebody", "other guy", "last guy", "other tech", "last tech", "previous tech")
          for said in ("say", "says", "said", "states", "reports")),
        *(f"says {who}" for who in ("other guy", "the other guy", "last guy", "other tech", "owner", "customer")), "i was told",
    ),
}  # fmt: skip
PLUGGED_IN = ("lead on", "lead still on", "lead connected", "plug on", "plug in", "plug still on", "plugged in", "wire on", "wire still on", "load connected")
STATS = ("stat", "tstat", "t stat", "t-stat", "thermostat")
OFF_STAT = tuple(f"{stat} wires {off}" for stat in STATS for off in ("off", "lifted", "pulled", "pulled off", "out"))
PULLED = {"plug_off": ("plug pulled",), "lead_lifted": ("lead off", "lead pulled", "wire lifted"), "thermostat_wires_off": OFF_STAT}
SET_UP_WORDS = {
    name: tuple(f"{with_}{said}" for said in (name.replace("_", " "), *(PLUGGED_IN if name == "load_on" else PULLED.get(name, ()))) for with_ in ("", "with "))
    for name in SET_UPS
}
IN_CALL = re.compile(r"\s*(?:heat )?call (?P<call>[1-9]\d?)\b[\s:,]+(?P<rest>\w.*\S)\s*", re.IGNORECASE)  # before a whole record: "call 2: inducer runs"
SHOWN_FIRST = re.compile(r"[-~.]?\d[\d.]*(?: ?(?:v|vac|volts?))?", re.IGNORECASE)  # what the meter shows, before the place: "24 at mv"
BEFORE_STEP = frozenset(["at", "in", "on", "during", "with", "when", "while"])
PLACED = frozenset(["at", "on", "across", "from"])  # between that and the place
WHO_DID = frozenset(
    ["i", "we", "you", "he", "she", "they", "tech", "me", "it", "just", "then", "and", "put", "gave", "got", "did", "is", "gets", "fed", "installed",
     "screwdriver", "hammer", "wrench", "pliers", "fist", "hand", "handle"]
)  # fmt: skip
WHEN_DONE = frozenset(["when", "if", "once", "after", "with", "while"])  # between what came of it and what was tried
NOT_TOLD_OF = frozenset(["if", "would", "should", "could", "might", "may", "supposed", "try", "until", "unless", "before"])  # not what was done and seen
MOST_OF_TRIAL = 14  # words
LEAST_OF_NAME = 3  # words that the name of what is no experiment must have, to stand around its value
SEVERAL_OF = r"([2-9])\s+(?:(?:full|whole|heat|more|other|further|such)\s+)*"
BOTH = r"(?:(?:in|on|at|during)\s+)?both\s+(?:(?:the|heat)\s+)*"
MANY_CALLS = re.compile(rf"\b(?:{SEVERAL_OF}|{BOTH})(?:calls|cycles)\b", re.IGNORECASE)
CANNOT = frozenset(
    {"cant reach it", "cannot reach it", "cant reach", "cant get at it", "cant", "cannot", "skip", "dont know"}
    | {"do not know", "not sure", "no idea", "unknown", "dunno", "idk", "i dont know", "i do not know", "no clue"}
)
ASKS_BACK = re.compile(r"\?[\s?!.]*$")  # a line that ends so says nothing: "y?"
ASKS = frozenset(["what", "huh", "eh", "what is that", "what does that mean", "come again", "how"])
METER_SHOWS = re.compile(r"[-~.]?\d|o\.?l\b", re.IGNORECASE)
LACKS = ("no ", "have no ", "dont have ", "havent got ", "not got ")


@dataclass(frozen=True)
class Typed:
    """One line, understood: the fields of a record. *guessed*: what was taken for the name, where it was not one in full.

    *calls*: in how many heat calls it was so, one after another. *as_complained*: it is told as people complain of it, its sign not named.
    *weakly*: too little of the line names it to be kept unasked, wherever the screen does not ask for it: "meter ok".
    """

    record: Mapping[str, object]
    guessed: str = ""
    calls: int = 1
    as_complained: bool = False
    weakly: bool = False


@dataclass(frozen=True)
class Unclear:
    """One line that could mean several things, each with the record that it then is."""

    choices: tuple[Typed, ...] = ()
    texts: tuple[str, ...] = field(default=())


def says_cannot(text: str) -> bool:
    """Whether a technician says that a reading is not to be had."""
    return plain(text) in CANNOT


def asks_back(text: str) -> bool:
    """Whether a line asks what is meant, instead of answering: "?", "y?", "what"."""
    return ASKS_BACK.search(text) is not None or plain(text) in ASKS


def says_lacks(text: str, instruments: Iterable[str]) -> str:
    """The instrument that a technician says is not to be had, as in "no clamp"; empty where it is anything else."""
    said = plain(text).removeprefix("i ")
    bare = next((said.removeprefix(start) for start in LACKS if said.startswith(start)), "").removeprefix("a ")
    return next((i for i in instruments if plain(i) == bare), "")


class Reader:
    """Reads lines in one vocabulary."""

    def __init__(self, vocabulary: Vocabulary) -> None:
        self.vocabulary = vocabulary
        self._how = {
            "meter": Names(METERS), "hold": Names(HOLDS), "contact": Names(CONTACTS), "source": Names(SOURCES),
            "set_up": Names(SET_UP_WORDS), "step": vocabulary.names("step"),
        }  # fmt: skip
        self.numbered = list(vocabulary.knowledge.point)
        self._values = cache(lambda sign: values_of(vocabulary.knowledge.sign[sign], vocabulary.words))
        self._known_words = cache(self._all_known)
        # a line is tried in many ways, and most of them ask the same of the same words
        self._fits = lru_cache(MOST_REMEMBERED)(self._found_to_fit)
        self._exactly = lru_cache(MOST_REMEMBERED)(self._all_named)
        self._begun = lru_cache(MOST_REMEMBERED)(self._names_begun_by)
        self._taken = lru_cache(MOST_REMEMBERED)(self._said_of_taking)
        k = vocabulary.knowledge
        self._told_in_a_word = [s for s in k.sign.values() if not s.only_for_proof and s.sign not in k.experiment]

    def read(self, text: str) -> Typed | Unclear:
        """The record of one line: "24v at w 25.1", "heat 0.2 low pin", "inducer runs: no at call". Raises BadInput."""
        if (told := IN_CALL.fullmatch(text)) is not None:
            return self.read(f"{told['rest']} call {told['call']}")
        words = self._words(text)
        teller = self._teller(words)
        best = self._best(words[teller:])
        best = [b for b in best if self._can_be(b[1].record)] or best
        best = [b for b in best if not (b[1].guessed and self._takes_off(b[1].record))]
        best = self._volts_where_live(best)
        if teller:
            best = [(n, replace(t, record={"source": "told", **t.record})) for n, t in best]
        if len(best) == 1:
            return replace(best[0][1], weakly=best[0][1].weakly or self._off_for_work(text))
        if best:
            typed = tuple(t for _, t in best[:MOST_OFFERED])
            return one_of(*typed)
        once, calls = _calls_apart(text)
        if calls > 1 and isinstance(typed_once := self.read(once), Typed):
            return replace(typed_once, calls=calls)
        raise BadInput([self._problem(text, words)])

    def alone(self, text: str) -> Typed | Unclear | None:
        """What a line that is a value without a name, as "hums", could be of; None where many things have it, or where it is a name too.

        Only for a bare prompt, where nothing is asked for and somebody sees what it was taken for.
        """
        if any(c.isdigit() for c in text) or DENIALS & {*plain(text).split()} or len(text) > LONGEST:
            return None
        words = text.split()
        for split in range(len(words), 0, -1):
            how, value = self._how_taken(words[split:]), " ".join(words[:split])
            if how is None or self._exactly(value):
                continue
            signs = [s.sign for s in self._told_in_a_word if self._fits("sign", s.sign, value) and self._can_be({"sign": s.sign, **how})]
            typed = tuple(Typed({"sign": sign, "value": value, **how}, guessed=sign, weakly=True) for sign in signs)
            if len(typed) == 1:  # the sign's own word, and no slang of one thing: nobody asks whether it was meant
                return typed[0] if plain(value) in map(plain, self.vocabulary.knowledge.sign[signs[0]].values) else None
            if 1 < len(typed) <= MOST_OFFERED:
                return one_of(*typed)
        return None

    def _off_for_work(self, text: str) -> bool:
        """Whether a line names nothing but the step of no power, as "power off": it may say what was found, or what was done to work safely."""
        return self.vocabulary.sequence.roles.off in self.vocabulary.names("step").clear(text)

    def _can_be(self, record: Mapping[str, object]) -> bool:
        """Whether a record's sign, if it is of one, can be told with its step: what is said of a whole heat call has none outside it."""
        sequence, sign = self.vocabulary.sequence, self.vocabulary.knowledge.sign.get(str(record.get("sign")))
        resting = (sequence.starts_at, sequence.roles.off, *(c.step for c in sequence.other_calls))
        return sign is None or not of_whole_call(sign) or record.get("step") not in resting

    def _volts_where_live(self, best: list[tuple[int, Typed]]) -> list[tuple[int, Typed]]:
        """*best* without what is read in ohms, and not at the step that is told, where another is read in volts there."""
        points = self.vocabulary.knowledge.point

        def there(typed: Typed, unit: str) -> bool:
            point = points.get(str(typed.record.get("point")))
            return point is not None and point.unit == unit and (typed.record.get("step") in point.steps) is (unit == "V")

        live = any(there(t, "V") for _, t in best)
        return [b for b in best if not (live and "step" in b[1].record and there(b[1], "ohm"))]

    def _takes_off(self, record: Mapping[str, object]) -> bool:
        """Whether a record is of an experiment for which something is taken off or joined: who made it names that in full, and none is guessed."""
        experiment = self.vocabulary.knowledge.experiment.get(str(record.get("sign")))
        return experiment is not None and isinstance(experiment.shows, Trial) and bool(experiment.shows.all_off or experiment.shows.only_joins)

    def value_for(self, kind: str, name: str, text: str) -> Typed:
        """The record of a line that gives only the value, and perhaps how it was taken, of what was asked for. Raises BadInput."""
        words = self._words(text)
        for split in range(len(words), 0, -1):
            how = None if self._is_step_with_no(words, split) else self._how_taken(words[split:])
            if how is not None and self._fits(kind, name, " ".join(words[:split])):
                return Typed({kind: name, "value": " ".join(words[:split]), **how})
        once, calls = _calls_apart(text)
        if calls > 1 and self._fits(kind, name, once):
            return Typed({kind: name, "value": once}, calls=calls)
        return Typed({kind: name, "value": text.strip()})  # the record says itself what is wrong with it

    def only_value(self, kind: str, name: str, text: str, fields: Mapping[str, object]) -> Typed | None:
        """The record of a line that is nothing but a value of that point or sign, taken as *fields* say; None where it is anything else."""
        typed = self.value_for(kind, name, text)
        fits = self._fits(kind, name, str(typed.record["value"]))
        return replace(typed, record={**fields, **typed.record}) if fits else None

    def forgiven(self, text: str, kind: str = "", name: str = "") -> list[str]:
        """*text* as it was most likely meant: slips of the keys mended, then its time told in full too. Only for where a person sees what became of it.

        *kind*, *name*: of the point or sign whose value is asked for, where it is. A word that two known ones are as near to stays as it is.
        """
        if kind == "point" and self.vocabulary.knowledge.point[name].unit == "s" and (seconds := seconds_alone(text)) is not None:
            return [f"{seconds:g} s"]
        known = self._known_words(name if kind == "sign" else "")
        spelt = " ".join(mended(word, known) for word in text.split())
        return [line for line in dict.fromkeys([spelt, with_after(spelt)]) if line != text]

    def in_other_words(self, kind: str, name: str, text: str) -> list[str]:
        """What *text* may mean as a value of that point or sign, the likeliest first. Only for where a person sees what became of it."""
        values = self._values(name) if kind == "sign" else None
        if kind == "sign" and (read_off := value_read_off(text, self.vocabulary.knowledge.sign[name].value_says)):
            return [read_off.replace("_", " ")]
        return [line for line in dict.fromkeys(in_other_words(text, {name: self._called(kind, name)}, values)) if line != text]

    def value_of(self, sign: str, text: str) -> str:
        """The value of a sign that *text* means; empty where it means none, or several."""
        meant = self._values(sign).meant(text)
        return meant[0] if len(meant) == 1 else ""

    def own_value(self, sign: str, text: str) -> str:
        """The value of a sign that *text* means where that sign is asked for, though it could be an earlier repair too; else empty."""
        could_be = self._values(sign).meant(text)
        own = [thing for thing in could_be if not thing.startswith(EARLIER_REPAIR)]
        return own[0] if len(own) == 1 < len(could_be) and own[0] in self.vocabulary.knowledge.sign[sign].values else ""

    def of_place(self, text: str, step: object) -> tuple[Typed, ...]:
        """The readings that a figure and a place that is short for *step* too, as "0 on heat", may be of; none where the step is named in full."""
        if step is None or f" {plain(str(step))} " in f" {plain(text)} ":
            return ()
        try:
            read = self.read(text)
        except BadInput:
            return ()
        return tuple(t for t in (read.choices if isinstance(read, Unclear) else (read,)) if "point" in t.record)

    def or_seen_now(self, text: str) -> Typed | None:
        """What a line that tells of an earlier repair may tell as well: a check of this visit, "plugs refitted same". None where it is no such line."""
        words = self._words(text)
        for end in range(len(words) - 1, 0, -1):
            name, said = " ".join(words[:end]), " ".join(words[end:])
            names = self.vocabulary.names("sign")
            for sign in names.clear(name) or names.in_any_order(name):
                if value := self.own_value(sign, said):
                    return Typed({"sign": sign, "value": value.replace("_", " ")})
        return None

    def begins_with_name(self, kind: str, name: str, text: str) -> bool:
        """Whether the first word of *text* is one of that point's or sign's names."""
        return begins_with_its_name(text, name, self._called(kind, name))

    def _called(self, kind: str, name: str) -> tuple[str, ...]:
        return tuple(self.vocabulary.entries[kind][name])

    def _all_known(self, sign: str) -> frozenset[str]:
        """Every word that a name, a value or how it was taken may have; of values only those of *sign*, where it is given."""
        v = self.vocabulary
        how = [w for names in self._how.values() for i, also in names.others.items() for w in (i, *also)]
        if sign:
            said = [*NO_SLIPS, *(w for value, also in self._values(sign).others.items() for w in (value, *also))]
        else:
            said = [w for kind in NAMED for i, also in v.entries[kind].items() for w in (i, *also)]
            said += [w for entry in v.knowledge.sign for value, also in self._values(entry).others.items() for w in (value, *also)]
            said += [w for long, short in v.words.short_words.items() for w in (long, *short)]
            said += [*DONE_FIRST, *VALUE_FIRST]
        return frozenset(word for text in (*how, *said) for word in plain(text).split())

    def names_only(self, text: str) -> list[tuple[str, str]]:
        """The points and signs that *text* alone names, without a value: (kind, id)."""
        asked = text.strip().removeprefix("#")
        if asked.isdigit() and text.strip().startswith("#"):
            return [("point", self.numbered[int(asked) - 1])] if 0 < int(asked) <= len(self.numbered) else []
        exact = [(kind, i) for kind in ("point", "sign") for i in self.vocabulary.names(kind).meant(text)]
        return exact or [(kind, i) for kind in ("point", "sign") for i in self._beginning(kind, plain(text).split())]

    def suggested(self, text: str) -> list[str]:
        """The nearest points and signs."""
        return [i for kind in ("point", "sign") for i in self.vocabulary.names(kind).suggested(text)]

    def row(self, points: Sequence[str], text: str) -> list[Typed]:
        """Figures of one line for *points* in order; "-" leaves one out. Raises BadInput."""
        figures = text.replace(",", " ").split()
        if len(figures) > len(points) or not figures:
            fix = f"Type up to {len(points)} figures with spaces between, - for one that you do not have."
            raise BadInput([Problem(None, f"{len(figures)} figures were typed for {len(points)} readings.", fix)])
        return [Typed({"point": p, "value": f}) for p, f in zip(points, figures, strict=False) if f != "-"]

    # --- pieces ------------------------------------------------------------------------------

    def _words(self, text: str) -> list[str]:
        if len(text) > LONGEST:
            raise BadInput([Problem(None, "This line is too long.", f"Keep it to {LONGEST} characters; `note` takes more in pieces.")])
        for mark in (":", "="):
            head, found, rest = text.partition(mark)
            if found and head.strip() and rest.strip() and not head.strip()[-1].isdigit():
                text = f"{head} {rest}"
                break
        words = text.split()
        if len(words) > MOST_WORDS:
            raise BadInput([Problem(None, "These are too many words for one reading.", "Type a name and its value, such as: igniter ohms OL")])
        return words

    def _named(self, words: list[str]) -> Iterator[tuple[int, Typed]]:
        """Every way in which the first words are a name and the next a value; the number of words in the name with each."""
        for end in range(len(words), 0, -1):
            yield from self._named_by(words, end)

    def _named_by(self, words: list[str], end: int) -> list[tuple[int, Typed]]:
        """The same where the name is *words[:end]*."""
        found = list(self._with_name(words, end, self._exactly(" ".join(words[:end])))) or self._told_otherwise(words, end)
        return [(end, t) for t in found]

    def _told_by_value(self, words: list[str], end: int) -> list[Typed]:
        """The records of a name, *words[:end]*, that is short for several: the sign that has the value told, or all that could be meant, if not one alone."""
        name, names = " ".join(words[:end]), {kind: self.vocabulary.names(kind) for kind in ("point", "sign")}
        values = (" ".join(words[end:split]) for split in range(len(words), end, -1))  # the longest first
        told = next(filter(None, (told_by_value(names["sign"], name, value) for value in values)), [])
        sure = list(self._with_name(words, end, [("sign", i) for i in told[:1]]))
        several = list(self._with_name(words, end, [(kind, i) for kind in names for i in names[kind].could_be(name)])) if not sure else []
        return sure or (several if len(several) > 1 else [])

    def _told_otherwise(self, words: list[str], end: int) -> list[Typed]:
        """The records of what *words[:end]* name only together with what is told: a value, its unit, or what happens in a step."""
        return self._told_by_value(words, end) or self._told_by_unit(words, end) or self._told_by_step(words, end)

    def _told_by_step(self, words: list[str], end: int) -> list[Typed]:
        """The record of a step alone and what happens in it, as in "fan call hums"."""
        told = self.vocabulary.told_by_step(" ".join(words[:end]), " ".join(words[end:])) if end < len(words) else None
        return [] if told is None else [Typed({"sign": told[1], "value": " ".join(words[end:]), "step": told[0]})]

    def _told_by_unit(self, words: list[str], end: int) -> list[Typed]:
        """The records of the points that *words[:end]* name together with the unit told after them, as in "string wire to chassis 0.6 ohm"."""
        if end == len(words) or not METER_SHOWS.match(words[end]):
            return []
        values = (" ".join(words[end:split]) for split in range(len(words), end, -1))
        told = next(filter(None, (self.vocabulary.told_by_unit(" ".join(words[:end]), value) for value in values)), [])
        return list(self._with_name(words, end, [("point", p) for p in told]))

    def _in_any_order(self, words: list[str]) -> Iterator[tuple[int, Typed]]:
        """Every way in which the first words are those of a name in another order or form, and the next a value."""
        for end in range(len(words) - 1, 1, -1):
            text = " ".join(words[:end])
            found = self._with_name(words, end, [(kind, i) for kind in NAMED for i in self.vocabulary.names(kind).in_any_order(text)])
            yield from ((end, replace(t, guessed=_name_of(t))) for t in found)

    def _prefixed(self, words: list[str], least: int = 1) -> Iterator[tuple[int, Typed]]:
        """The same where each word only begins one of a name's, for names that nothing else begins so. *least*: words of which names are looked for."""
        for end in range(len(words) - 1, least - 1, -1):
            begun = (("point", self._volts_if_named_so(words[:end])), ("sign", self._beginning("sign", words[:end])))
            names = [(kind, i) for kind, ids in begun for i in ids]
            found = list(self._with_name(words, end, names[: 2 * MOST_OFFERED]))
            if found:
                yield from ((end, Typed(t.record, guessed=_name_of(t), weakly=self._names_weakly(t, words[:end]))) for t in found)
                return

    def _volts_if_named_so(self, words: list[str]) -> list[str]:
        """The points whose words *words* begin; none in ohms that has them apart, where one in volts has them in one piece: "line to chassis" is no
        "line wire to chassis"."""
        begun, points, names = self._beginning("point", words), self.vocabulary.knowledge.point, self.vocabulary.names("point")
        if not {"V", "ohm"} <= {points[p].unit for p in begun}:
            return [*begun]
        said = f" {names.spelling(' '.join(words))} "
        whole = {p for p in begun if any(said in f" {names.spelling(called)} " for called in (p.replace("_", " "), *self._called("point", p)))}
        volts = any(points[p].unit == "V" for p in whole)
        return [p for p in begun if not volts or p in whole or points[p].unit != "ohm"]

    def _names_weakly(self, typed: Typed, words: Sequence[str]) -> bool:
        """Whether *words*, beginnings of the words of its name, leave out too much of that: of a sign whose value many have anything at all, as
        "furnace runs good" leaves out its fan."""
        kind, name = _named_in(typed)
        share = self.vocabulary.names(kind).share_begun(name, words)
        return share <= MOST_LEFT_OUT or (kind == "sign" and share < 1 and self._of_many(str(typed.record["value"])))

    def _of_many(self, value: str) -> bool:
        """Whether more signs have a value than would be listed to choose from: "ok" tells nothing of which is meant, "stiff" does."""
        return sum(self._fits("sign", s.sign, value) for s in self._told_in_a_word) > MOST_OFFERED

    def _teller(self, words: list[str]) -> int:
        """How many of the first words only say who told it: "owner says inducer hums"."""
        return next((n for n in (4, 3, 2) if n < len(words) and self._how["source"].meant(" ".join(words[:n]))), 0)

    def _best(self, words: list[str]) -> list[tuple[int, Typed]]:
        """The records that a line is best read as, the number of words in the name with each."""
        named = list(self._named(words))
        found = named or ([] if self._valued(words) else self._complained(words)) or self._done_first(words) or self._tried(words) or self._shown_amid(words)
        found = found or list(self._prefixed(words))
        best = _longest(found) or _longest(self._value_first(words)) or _longest(self._happened(words))
        best = [*best, *self._light_may_say(words, best)]
        return best or self._several_meant(words) or _longest(self._begun_value(words)) or _longest(list(self._in_any_order(words)))

    def _tried(self, words: list[str]) -> list[tuple[int, Typed]]:
        """What was tried and what came of it, which may stand before it, after it or in it: "works when i smack the board", "blower spins if pushed".

        All other words must be a name of it. Told as it was, and not as it would be: "if ..." tells nothing, but "spins if pushed" does.
        """
        said = [plain(w) for w in words]
        if not 1 < len(words) <= MOST_OF_TRIAL or said[0] in NOT_TOLD_OF or not (NOT_TOLD_OF - {"if"}).isdisjoint(said):
            return []
        kept = [(word, bare) for word, bare in zip(words, said, strict=True) if bare not in WHO_DID]
        for size in range(len(kept) - 1, 0, -1):
            for start in range(len(kept) - size + 1):
                act = [bare for _, bare in (*kept[:start], *kept[start + size :])]
                outcome = " ".join(word for word, _ in kept[start : start + size]).strip(" ,;:")
                if start == 0 and size == 1 and plain(outcome) in ANSWERS:
                    continue  # "no board tapped": nothing was tried
                found = [(len(act), Typed({"sign": s, "value": outcome})) for s in self._tried_by(act) if self._fits("sign", s, outcome)]
                if found:
                    return found
        return []

    def _tried_by(self, act: Sequence[str]) -> list[str]:
        """The experiments that *act* names, in whatever order, or with nothing between but "when": one that takes something off only in full."""
        names, experiments = self.vocabulary.names("sign"), self.vocabulary.knowledge.experiment
        if (DENIALS | DENIED) & {*act}:
            return []
        ways = dict.fromkeys((" ".join("when" if w in ("if", "once") else w for w in act), " ".join(w for w in act if w not in WHEN_DONE)))
        for text in filter(None, ways):
            in_full = [i for i in names.clear(text) if i in experiments or len(text.split()) >= LEAST_OF_NAME]
            found = in_full or [i for i in names.in_any_order(text) if i in experiments and not self._takes_off({"sign": i})]
            if found:
                return found
        return []

    def _shown_amid(self, words: list[str]) -> list[tuple[int, Typed]]:
        """What a meter shows between a part and the place on it: "igniter 119 at plug"; or all that the place is short for."""
        at = next((i for i in range(1, len(words) - 2) if SHOWN_FIRST.fullmatch(words[i])), 0)
        end = at + 1 + (words[at + 1 : at + 2] in (["v"], ["V"], ["vac"], ["volts"])) if at else 0
        if not at or words[end : end + 1] == [] or words[end].lower() not in PLACED:
            return []
        part, shown, place, points = words[:at], words[at:end], words[end + 1 :], self.vocabulary.names("point")
        for size in range(len(place), 0, -1):
            line, n, placed = [*part, *place[:size], *shown, *place[size:]], at + size, " ".join([*part, words[end], *place[:size]])
            short_for = [i for i in points.could_be(" ".join(place[:size])) if {*points.spelling(" ".join(part)).split()} <= points.words_of(i)]
            ids = points.clear(" ".join(line[:n])) or points.clear(placed) or short_for
            found = [(n, typed) for typed in self._with_name(line, n, [("point", i) for i in ids])]
            if found:
                return found
        return []

    def _several_meant(self, words: list[str]) -> list[tuple[int, Typed]]:
        """All that a word could be of the sign that the longest name names, "blower hot"; none where all of the line is a name."""
        if self._exactly(" ".join(words)):
            return []
        for end in range(len(words) - 1, 0, -1):
            for sign in (i for kind, i in self._exactly(" ".join(words[:end])) if kind == "sign"):
                could_be = self._values(sign).meant(" ".join(words[end:]))
                typed = [Typed({"sign": s, "value": value.replace("_", " ")}) for s, value in (_parted(sign, thing) for thing in could_be)]
                if len(typed) > 1 and all(self._fits("sign", str(t.record["sign"]), str(t.record["value"])) for t in typed):
                    return [(end, t) for t in typed]
        return []

    def _done_first(self, words: list[str]) -> list[tuple[int, Typed]]:
        """What was done before the part and what came of it, as in "cleaned flame sensor no help"."""
        if len(words) < 3 or words[0].lower() not in DONE_FIRST:
            return []
        found = (self._named([*words[1:i], words[0], *words[i:]]) for i in range(len(words) - 1, 1, -1))
        return next(filter(None, ([f for f in way if "history" in f[1].record] for way in found)), [])

    def _value_first(self, words: list[str]) -> list[tuple[int, Typed]]:
        """A value before its name, as in "no flame" (of a sign a no, of volts nothing), "new board" or "pressure switch open code"."""
        if words and plain(words[0]) in DENIALS and words[0][-1] in ",.;":
            return []  # "no, dizzy" denies something else, or is no and then yes
        turned = [([*words[i:], *words[:i]], len(words) - i) for i in range(1, len(words))]
        named = (f for line, size in turned if (f := self._named_by(line, size)))
        begun = (f for line, size in turned if (f := [each for each in self._prefixed(line, size) if each[0] == size]))
        found = self._valued(words) or next(named, []) or self._shown_first(words) or next(begun, [])
        tried = self.vocabulary.knowledge.experiment if words and plain(words[0]) in DENIALS else {}
        return [f for f in found if str(f[1].record.get("sign")) not in tried]  # "no board tapped": nothing was tried

    def _valued(self, words: list[str]) -> list[tuple[int, Typed]]:
        """The same of a word that means one value of whatever it stands before."""
        values = VALUE_FIRST.get(words[0].lower(), ()) if words else ()
        return next(filter(None, (list(self._named([*words[1:], value])) for value in values)), [])

    def _shown_first(self, words: list[str]) -> list[tuple[int, Typed]]:
        """What the meter shows before the place, as in "24 at mv", "0 across ps": of the place, or of what is named with its volts."""
        size = next((n for n in (2, 1) if n < len(words) and SHOWN_FIRST.fullmatch(" ".join(words[:n]))), 0)
        if not size:
            return []
        how = self._taken_before_place(words, size)
        shown, size = " ".join(words[:size]), size + len(how)
        size += words[size].lower() in PLACED
        ends = range(len(words), size, -1)
        lines = (([*start, *words[size:end], shown, *words[end:], *how], len(start) + end - size) for end in ends for start in (words[:size], []))
        found = ([(n, replace(t, guessed=_name_of(t))) for n, t in self._named(line) if n == named and "point" in t.record] for line, named in lines)
        return next(filter(None, found), [])  # guessed: in a claim's text a figure may as well end the piece before

    def _taken_before_place(self, words: list[str], start: int) -> list[str]:
        """The words from *start* on that say how it was taken, where the place follows with a word before it: "0.2 low on igniter pin"; else none."""
        ends = (i for i in range(start + 1, len(words) - 1) if words[i].lower() in PLACED and self._taken(tuple(words[start:i])))
        return words[start : next(ends, start)]

    def _complained(self, words: list[str]) -> list[tuple[int, Typed]]:
        """What the rules know people to say for a sign, where all of the line is that: "short cycles", "no spark"."""
        said = self.vocabulary.complaints.all_of(" ".join(words))
        return [] if said is None else [(len(words), Typed({"sign": said.sign, "value": said.value}, as_complained=True))]

    def _light_may_say(self, words: list[str], best: Sequence[tuple[int, Typed]]) -> list[tuple[int, Typed]]:
        """What the board's light says word for word ("pressure switch open"), where the same words tell of the part itself, or of nothing."""
        text = plain(" ".join(words))
        legends = [s for s in self.vocabulary.knowledge.sign.values() if s.source_kind == "light"]
        said = [s for s in legends if len(words) > 1 and text in map(plain, s.values) and all(t.record.get("sign") != s.sign for _, t in best)]
        if best or not said or self._exactly(text):
            return [(len(words), Typed({"sign": s.sign, "value": text})) for s in said if best]
        return [(len(words), Typed({"sign": said[0].sign, "value": text}, guessed=said[0].sign, weakly=True))]

    def _begun_value(self, words: list[str]) -> list[tuple[int, Typed]]:
        """A name, or its beginning, and words that each begin one of a value's, as in "light ign fail"; the longest name that has such a value."""
        for end in range(len(words) - 1, 0, -1):
            exact = [i for kind, i in self._exactly(" ".join(words[:end])) if kind == "sign"]
            named = dict.fromkeys([*exact, *self._beginning("sign", words[:end])])
            found = [(end, typed) for sign in named if (typed := self._with_begun_value(sign, words[end:])) is not None]
            if found:
                return found
        return []

    def _with_begun_value(self, sign: str, words: list[str]) -> Typed | None:
        for split in range(len(words), 0, -1):
            how, value = self._how_taken(words[split:]), _value_begun_by(words[:split], self._values(sign))
            if how is not None and value is not None:
                return Typed({"sign": sign, "value": value.replace("_", " "), **how}, guessed=sign)
        return None

    def _happened(self, words: list[str]) -> list[tuple[int, Typed]]:
        """An event that a sentence tells of, as in "there was a thunderstorm on Friday"."""
        names = self.vocabulary.names("event")
        spans = ((i, n) for n in range(len(words), 0, -1) for i in range(len(words) - n + 1))
        told = [(n, event) for i, n in spans for event in _named_event(names, " ".join(words[i : i + n]))]
        if DENIALS & {w.lower() for w in words}:
            return []
        return [(n, Typed({"event": e, "value": "yes"}, guessed=e, weakly=n < len(words))) for n, e in dict.fromkeys(told)]

    def _all_named(self, text: str) -> tuple[tuple[str, str], ...]:
        """Kinds and ids that *text* names."""
        if text.startswith("#") and text[1:].isdigit():
            number = int(text[1:])
            return (("point", self.numbered[number - 1]),) if 0 < number <= len(self.numbered) else ()
        return tuple((kind, i) for kind in NAMED for i in self.vocabulary.names(kind).clear(text))

    def _beginning(self, kind: str, words: Sequence[str]) -> tuple[str, ...]:
        return self._begun(kind, tuple(words))

    def _names_begun_by(self, kind: str, words: tuple[str, ...]) -> tuple[str, ...]:
        if (DENIALS | DENIED) & {plain(w) for w in words} or not any(len(w) >= LEAST_LETTERS for w in words):
            return ()
        start, names = plain(" ".join(words)), self.vocabulary.names(kind)
        little = LINKS & {w.lower() for w in words}  # "in" begins no "interlock"
        held = [i for i in names.holding(words, {}) if little <= names.words_of(i)]
        return tuple(sorted(held, key=lambda i: not plain(i).startswith(start)))

    def _with_name(self, words: list[str], end: int, names: Iterable[tuple[str, str]]) -> Iterator[Typed]:
        """The records that name *words[:end]*, for each name the longest value that fits."""
        for kind, name in names:
            if end == len(words):
                if kind == "event":
                    yield Typed({kind: name, "value": "yes"})
                continue
            if kind == "sign" and len(self._values(name).meant(" ".join(words[end:]))) > 1:
                continue  # as a whole it could be several things, and is not cut
            for split in range(len(words), end, -1):
                if kind == "sign" and self._is_step_with_no(words[end:], split - end):
                    continue
                how = self._how_taken(words[split:])
                value = " ".join(words[end:split])
                if how is not None and self._fits(kind, name, value):
                    yield Typed({kind: name, "value": value, **how})
                    break

    def _is_step_with_no(self, words: Sequence[str], size: int) -> bool:
        """Whether the first *size* words, which deny, are the beginning of a step's name: "no call" is where nothing is called for, and no "no" at a call."""
        start = next((i for i in range(size) if plain(words[i]) in DENIALS), size)
        ends = range(size + 1, len(words) + 1) if start < size else ()
        return any(len(self._how["step"].meant(" ".join(words[start:end]))) == 1 and self._taken(tuple(words[end:])) is not None for end in ends)

    def _found_to_fit(self, kind: str, name: str, value: str) -> bool:
        """Whether *value* can be one of that point, sign, event or repair."""
        k = self.vocabulary.knowledge
        if kind == "point":
            try:
                parse_quantity(value, k.point[name].unit)
            except BadQuantity:
                return False
            return True
        if kind == "sign":
            return len(self._values(name).meant(value)) == 1
        if kind == "history":
            return len(self.vocabulary.results.meant(value)) == 1
        return plain(value) == "yes"

    def _how_taken(self, words: Sequence[str]) -> dict[str, object] | None:
        """Fields that say how it was taken, or None where the words say anything else."""
        taken = self._taken(tuple(words))
        return None if taken is None else {name: [*said] if isinstance(said, list) else said for name, said in taken.items()}

    def _said_of_taking(self, words: tuple[str, ...]) -> Mapping[str, object] | None:
        fields: dict[str, object] = {}
        i = 0
        while i < len(words):
            size = _time(words[i:], fields) or next((n for n in range(min(4, len(words) - i), 0, -1) if self._field(words[i : i + n], fields)), 0)
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
        if first in BEFORE_STEP and rest and "step" not in fields and len(self._how["step"].meant(rest)) == 1:
            fields["step"] = self._how["step"].meant(rest)[0]
            return True
        for name, names in self._how.items():
            meant = names.meant(text)
            if name == "step" and any(self.vocabulary.names(kind).clear(text) for kind in NAMED):
                continue  # alone it is the thing: "hose off ps" is in no step
            if len(meant) == 1 and (name == "set_up" or name not in fields):
                fields[name] = [*_as_list(fields.get(name)), meant[0]] if name == "set_up" else meant[0]
                return True
        return False

    def _problem(self, text: str, words: list[str]) -> Problem:
        """Why a line is no record: a name without a value, a value that does not fit, or a name that is unknown."""
        for end in range(len(words), 0, -1):
            for kind, name in self._exactly(" ".join(words[:end])):
                return Problem(None, f"{printable(text)} names {name}, but {self._rest_said(words[end:])}.", self._wanted(kind, name))
        near = self.suggested(" ".join(w for w in words if not w[:1].isdigit() and w.lower() not in DENIALS))
        fix = f"Did you mean {' or '.join(near[:3])}?" if near else "Type a name and its value, such as: igniter ohms OL. ? shows help, find WORD searches."
        return Problem(None, f"{printable(text)} names nothing that can be read or seen.", fix)

    def _rest_said(self, rest: Sequence[str]) -> str:
        return f"{printable(' '.join(rest))} is no value of it" if rest else "no value"

    def _wanted(self, kind: str, name: str) -> str:
        k = self.vocabulary.knowledge
        if kind == "sign":
            return f"Its values: {', '.join(k.sign[name].values)}."
        if kind == "point":
            return f"It is read in {k.point[name].unit}: type the figure that the meter shows."
        return f"Say what it did: {', '.join(w.replace('_', ' ') for w in self.vocabulary.words.history)}." if kind == "history" else "Type it alone."


def _named_event(names: Names, text: str) -> list[str]:
    """The events that *text* names, in the words listed or in another order of them."""
    return names.meant(text) or names.in_any_order(text)


def _longest(found: Sequence[tuple[int, Typed]]) -> list[tuple[int, Typed]]:
    """Of all readings of a line those with the longest exact name; a name that was guessed only if none is exact."""
    exact = [f for f in found if not f[1].guessed]
    pool = exact or list(found)
    most = max((words for words, _ in pool), default=0)
    longest = [f for f in pool if f[0] == most]
    seen = [f for f in longest if "history" not in f[1].record]
    return seen if seen and plain(str(longest[0][1].record["value"])) in ("yes", "no", "y", "n") else longest  # a plain yes tells of now


def _value_begun_by(words: Sequence[str], values: Names) -> str | None:
    """The one value of which each of several *words* begins a word, in order; None where they begin none, or two values' words."""
    typed = [plain(w) for w in words]
    if len(typed) < 2 or DENIALS & {*typed} or not all(w.isalpha() for w in typed) or max(map(len, typed)) < LEAST_LETTERS:
        return None
    called = [(plain(name).split(), value) for value, others in values.others.items() for name in (value, *others)]
    begun = {v for name, v in called if len(name) >= len(typed) and all(n == w if n in DENIALS else n.startswith(w) for n, w in zip(name, typed, strict=False))}
    return begun.pop() if len(begun) == 1 else None


def _calls_apart(text: str) -> tuple[str, int]:
    """*text* without "3 calls" in it, and how many calls it tells of."""
    found = MANY_CALLS.search(text)
    return (text, 1) if found is None else (" ".join([*text[: found.start()].split(), *text[found.end() :].split()]), int(found[1] or 2))


def _parted(sign: str, thing: str) -> tuple[str, str]:
    """Sign and value of one of several things that a word of *sign* could be: a value of it, or "SIGN: VALUE" of another."""
    other, colon, value = thing.partition(": ")
    return (other, value) if colon else (sign, thing)


def one_of(*typed: Typed) -> Unclear:
    """A line that could be any of these."""
    return Unclear(typed, tuple(map(as_choice, typed)))


def _named_in(typed: Typed) -> tuple[str, str]:
    """Kind and id of what a record is of."""
    return next((kind, str(typed.record[kind])) for kind in NAMED if kind in typed.record)


def _name_of(typed: Typed) -> str:
    return _named_in(typed)[1]


def as_choice(typed: Typed) -> str:
    """A record as a line of a list to choose from."""
    step = f" at {typed.record['step']}" if "step" in typed.record else ""
    if "history" in typed.record:
        return f"{EARLIER_REPAIR}{typed.record['history']}: {typed.record['value']}"
    return f"{_name_of(typed)}: {typed.record['value']}{step}"


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
