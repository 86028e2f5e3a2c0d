"""Every way in which a line may be read as a record: its name first or its value, in full or begun, with what was done or shown in between."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from furnace_diag.diagnosis.complaint import stands_with_other
from furnace_diag.knowledge.find import Names, told_by_value
from furnace_diag.knowledge.spelling import DENIALS, DENIED, plain
from furnace_diag.knowledge.values import EARLIER_REPAIR
from furnace_diag.quantities import UNITS, names_unit, spells_unit
from furnace_diag.visit.names_and_values import LEAST_LETTERS, MOST_OFFERED, NamesAndValues
from furnace_diag.visit.told_of import record_told
from furnace_diag.visit.tried import tried
from furnace_diag.visit.typed import NAMED, Typed, name_of, named_in

VALUE_FIRST = {"no": ("no", "nothing"), "not": ("no", "nothing"), "zero": ("nothing",), "new": ("new part",), "bad": ("bad",)}
JUDGED_FIRST = frozenset(["bad", "blown", "weak"])  # before what it is thought of
# before the part it was done to
DONE_FIRST = frozenset(["new", "replaced", "changed", "swapped", "cleaned", "reseated", "refitted", "cleared", "tightened", "drained", "emptied"])
MOST_LEFT_OUT = 0.5  # of the words of a name: where this many are left out or more, it is named weakly
SHOWN_FIRST = re.compile(r"[-~.]?\d[\d.]*(?: ?(?:v|vac|volts?)(?: ac)?)?", re.IGNORECASE)  # what the meter shows, before the place: "24 at mv"
WHO = frozenset(["i", "you", "we", "they", "it"])  # before what is told of the furnace as a whole
HOW_BEFORE = frozenset(["meter", "contact"])  # of how it was taken, what may be told before the figure
ACROSS = "across"
THE_SAME = frozenset(["it", "its", "them", "the", "both", "contact", "contacts", "terminals", "sides"])  # behind "across", the thing just named
IN_TIME = frozenset(["after", "before", "then"])  # behind a value no beginning of a name: that "nothing after" came is of no wire behind a switch
PLACED = frozenset(["at", "on", ACROSS, "from"])  # between that and the place
COMES_FROM = frozenset(["from", "of"])  # between a value and its name: "no click from inducer relay"
SENSED = frozenset(["hear", "heard", "see", "saw", "get", "getting", "got", "have", "had", "feel"])  # before what is not there: "hear no click"
BESIDE_LIGHT = frozenset(["is", "the", "board", "boards", "it", "keeps"])  # before or between words that tell of the board's light
# between a part and what a meter shows there
GETS = frozenset(["gets", "getting", "got", "has", "have", "reads", "shows", "sees", "is", "pulls", "pulling", "draws", "drawing"])
FINE = frozenset(["fine", "ok", "okay", "good"])  # there, what somebody thinks of what the meter shows
SAID_FIRST = frozenset(["nah", "nope", "yeah", "yep", "well"])  # before a whole reading, of which it says nothing
MOST_OF_STEP = 3  # words
AMPS = "A"
OF_A_PLACE = ("V", "A", "ohm", "uF")  # units of what is read at a place of a part
METER_SHOWS = re.compile(r"[-~.]?\d|o\.?l\b", re.IGNORECASE)


class Ways:
    """The ways of reading a line in one vocabulary; with each record stands the number of words in its name."""

    def __init__(self, named: NamesAndValues) -> None:
        self.vocabulary, self.named, self.how = named.vocabulary, named, named.how

    def best(self, words: list[str]) -> list[tuple[int, Typed]]:
        """The records that a line is best read as, the number of words in the name with each."""
        if len(words) > 2 and words[0].lower() in SENSED and words[1].lower() in VALUE_FIRST:
            return self.best(words[1:])
        if told := self._light_tells(words):
            return told
        named = [n for n in self._named(words) if not self._stands_with_other(n[1], words)]
        named = named or self._step_first(words)
        complained = [] if named or (self._valued(words) and not self.vocabulary.complaints.dangers_in(" ".join(words))) else self._complained(words)
        found = named or complained or self._done_first(words) or tried(words, self.named)
        found = found or self._shown_amid(words) or self._place_last(words) or self._taken_first(words)
        judged = [*words[1:], words[0]] if words and words[0].lower() in JUDGED_FIRST else []  # "blown cap"
        if not found and (several := self._several_meant(words) or self._several_meant(judged)):
            return several
        found = found or self._prefixed(words)
        best = _longest(found) or _longest(self._value_first(words)) or _longest(self._happened(words))
        if not best or all(t.guessed for _, t in best):  # "no 120 to inducer" is what a meter shows, and no guess at what it does
            best = self._not_there(words) or best
        best = [*best, *self._light_may_say(words, best)]
        best = best or _longest(self._begun_value(words)) or _longest(list(self._in_any_order(words)))
        best = best or self._but_for_what_tells_no_more(words) or self._shown_with_how(words) or self._with_how_behind(words)
        return [b for b in best if not (b[1].guessed and self._stands_with_other(b[1], words))]

    def _light_tells(self, words: list[str]) -> list[tuple[int, Typed]]:
        """What the board's light is told to blink or show, by what it means: "blinks pressure switch stuck open", "light blinks limit open"."""
        of_light = self.vocabulary.words.claims.tells_of_light
        lead = next((n for n, word in enumerate(words) if word.lower() not in of_light and word.lower() not in BESIDE_LIGHT), len(words))
        named = self.named.exactly(" ".join(words[:lead])) if lead else ()
        if not lead or lead == len(words) or {*map(str.lower, words[:lead])} <= BESIDE_LIGHT or named:
            return []  # a name of its own, as "light", is read as that
        legends = [s.sign for s in self.vocabulary.knowledge.sign.values() if s.source_kind == "light"]
        spelled = [*words[:lead], *self.vocabulary.names("sign").spelling(" ".join(words[lead:])).split()]
        told = [[*self.named.with_name(line, lead, [("sign", sign) for sign in legends])] for line in (words, spelled)]
        return [(lead, typed) for typed in next(filter(None, told), [])]

    def _light_may_say(self, words: list[str], best: Sequence[tuple[int, Typed]]) -> list[tuple[int, Typed]]:
        """What the board's light says word for word ("pressure switch open"), where the same words tell of the part itself, or of nothing."""
        text = plain(" ".join(words))
        legends = [s for s in self.vocabulary.knowledge.sign.values() if s.source_kind == "light"]
        said = [s for s in legends if len(words) > 1 and text in map(plain, s.values) and all(t.record.get("sign") != s.sign for _, t in best)]
        if best or not said or self.named.exactly(text):
            return [(len(words), Typed({"sign": s.sign, "value": text})) for s in said if best]
        return [(len(words), Typed({"sign": said[0].sign, "value": text}, guessed=said[0].sign, weakly=True))]

    # --- a name and what follows it ----------------------------------------------------------

    def _named(self, words: list[str]) -> Iterator[tuple[int, Typed]]:
        """Every way in which the first words are a name and the next a value; the number of words in the name with each."""
        for end in range(len(words), 0, -1):
            yield from self._named_by(words, end)

    def _named_by(self, words: list[str], end: int) -> list[tuple[int, Typed]]:
        """The same where the name is *words[:end]*."""
        found = list(self.named.with_name(words, end, self.named.exactly(" ".join(words[:end])))) or self._told_otherwise(words, end)
        return [(end, t) for t in found]

    def _told_otherwise(self, words: list[str], end: int) -> list[Typed]:
        """The records of what *words[:end]* name only together with what is told: a value, its unit, or what happens in a step."""
        return self._told_by_value(words, end) or self._told_by_unit(words, end) or self._told_by_step(words, end)

    def _told_by_value(self, words: list[str], end: int) -> list[Typed]:
        """The records of a name, *words[:end]*, that is short for several: the sign that has the value told, or all that could be meant, if not one alone."""
        name, names = " ".join(words[:end]), {kind: self.vocabulary.names(kind) for kind in ("point", "sign")}
        values = (" ".join(words[end:split]) for split in range(len(words), end, -1))  # the longest first
        told = next(filter(None, (told_by_value(names["sign"], name, value) for value in values)), [])
        sure = list(self.named.with_name(words, end, [("sign", i) for i in told[:1]]))
        several = list(self.named.with_name(words, end, [(kind, i) for kind in names for i in names[kind].could_be(name)])) if not sure else []
        return sure or (several if len(several) > 1 else [])

    def _told_by_unit(self, words: list[str], end: int) -> list[Typed]:
        """The records of the points that *words[:end]* name together with the unit told after them, as in "string wire to chassis 0.6 ohm"."""
        if end == len(words) or not METER_SHOWS.match(words[end]):
            return []
        values = (" ".join(words[end:split]) for split in range(len(words), end, -1))
        told = next(filter(None, (self._by_unit(" ".join(words[:end]), value) for value in values)), [])
        return list(self.named.with_name(words, end, [("point", p) for p in told]))

    def _by_unit(self, text: str, value: str) -> list[str]:
        """The points that *text* names together with the unit of a value; all that it is short for, where that is several: "motor 6.8 amps"."""
        points, of_amps = self.vocabulary.names("point"), f"{text} {UNITS[AMPS].in_words}"
        several = points.could_be(of_amps) if names_unit(value, AMPS) and not points.clear(text) else []
        return self.vocabulary.told_by_unit(text, value) or several

    def _told_by_step(self, words: list[str], end: int) -> list[Typed]:
        """The record of a step alone and what happens in it, as in "fan call hums"."""
        told = self.vocabulary.told_by_step(" ".join(words[:end]), " ".join(words[end:])) if end < len(words) else None
        return [] if told is None else [Typed({"sign": told[1], "value": " ".join(words[end:]), "step": told[0]})]

    def _step_first(self, words: list[str]) -> list[tuple[int, Typed]]:
        """The record of what is told after the other call in which it was so, as in "fan call blower runs"."""
        others = {c.step for c in self.vocabulary.sequence.other_calls}
        for end in range(min(len(words) - 2, MOST_OF_STEP), 0, -1):
            steps = self.vocabulary.names("step").clear(" ".join(words[:end]))
            if len(steps) == 1 and steps[0] in others and (found := list(self._named([*words[end:], "at", *steps[0].split("_")]))):
                return [f for f in found if self._is_at_a_step_of_its_sign(f[1])]
        return []

    def _in_any_order(self, words: list[str]) -> Iterator[tuple[int, Typed]]:
        """Every way in which the first words are those of a name in another order or form, and the next a value."""
        for end in range(len(words) - 1, 1, -1):
            if _two_figures(words, end):
                continue
            text = " ".join(words[:end])
            found = self.named.with_name(words, end, [(kind, i) for kind in NAMED for i in self.vocabulary.names(kind).in_any_order(text)])
            yield from ((end, replace(t, guessed=name_of(t))) for t in found)

    def _several_meant(self, words: list[str]) -> list[tuple[int, Typed]]:
        """All that a word could be of the sign that the longest name names, "blower hot"; none where all of the line is a name."""
        if not words or self.named.exactly(" ".join(words)):
            return []
        for end in range(len(words) - 1, 0, -1):
            for sign in (i for kind, i in self.named.exactly(" ".join(words[:end])) if kind == "sign"):
                said = " ".join(words[end:])
                typed = [_could_be(sign, said, thing) for thing in self.named.values(sign).meant(said)]
                if len(typed) > 1 and all(self.named.fits(*named_in(t), str(t.record["value"])) for t in typed):
                    return [(end, t) for t in typed]
        return []

    # --- the beginning of a name or value ----------------------------------------------------

    def _prefixed(self, words: list[str], least: int = 1) -> list[tuple[int, Typed]]:
        """The same where each word only begins one of a name's, for names that nothing else begins so. *least*: words of which names are looked for."""
        return next(filter(None, (self._prefixed_by(words, end) for end in range(len(words) - 1, least - 1, -1))), [])

    def _prefixed_by(self, words: list[str], end: int) -> list[tuple[int, Typed]]:
        """The same where they begin the name with *words[:end]*."""
        if _two_figures(words, end):
            return []
        begun = (("point", self._volts_if_named_so(words[:end])), ("sign", self.named.beginning("sign", words[:end])))
        names = [(kind, i) for kind, ids in begun for i in ids]
        found = self.named.with_name(words, end, names[: 2 * MOST_OFFERED])
        return [(end, Typed(t.record, guessed=name_of(t), weakly=self._names_weakly(t, words[:end]))) for t in found]

    def _volts_if_named_so(self, words: list[str]) -> list[str]:
        """The points whose words *words* begin; none in ohms that has them apart, where one in volts has them in one piece: "line to chassis" is no
        "line wire to chassis"."""
        begun, points, names = self.named.beginning("point", words), self.vocabulary.knowledge.point, self.vocabulary.names("point")
        if not {"V", "ohm"} <= {points[p].unit for p in begun}:
            return [*begun]
        said = f" {names.spelling(' '.join(words))} "
        whole = {p for p in begun if any(said in f" {names.spelling(called)} " for called in (p.replace("_", " "), *self.named.called("point", p)))}
        volts = any(points[p].unit == "V" for p in whole)
        return [p for p in begun if not volts or p in whole or points[p].unit != "ohm"]

    def _names_weakly(self, typed: Typed, words: Sequence[str]) -> bool:
        """Whether *words*, beginnings of the words of its name, leave out too much of that: of a sign whose value many have anything at all, as
        "furnace runs good" leaves out its fan. Not where the unit told is its own."""
        if self._has_its_own_unit(typed):
            return False
        kind, name = named_in(typed)
        share = self.vocabulary.names(kind).share_begun(name, words)
        return share <= MOST_LEFT_OUT or (kind == "sign" and share < 1 and self.named.of_many(str(typed.record["value"])))

    def _has_its_own_unit(self, typed: Typed) -> bool:
        """Whether a reading is told with a unit in which no other point is read: "rod 0.4 ua"."""
        points, told = self.vocabulary.knowledge.point, str(typed.record["value"]).lstrip("-~.0123456789 ")
        unit = points[named_in(typed)[1]].unit if "point" in typed.record else ""
        return bool(unit and told) and sum(p.unit == unit for p in points.values()) == 1 and spells_unit(told, (unit,))

    def _begun_value(self, words: list[str]) -> list[tuple[int, Typed]]:
        """A name, or its beginning, and words that each begin one of a value's, as in "light ign fail"; the longest name that has such a value."""
        for end in range(len(words) - 1, 0, -1):
            exact = [i for kind, i in self.named.exactly(" ".join(words[:end])) if kind == "sign"]
            tried = self.vocabulary.knowledge.experiment  # "blower keeps going" is no blower that was given a push
            named = dict.fromkeys([*exact, *(sign for sign in self.named.beginning("sign", words[:end]) if sign not in tried)])
            found = [(end, typed) for sign in named if (typed := self._with_begun_value(sign, words[end:])) is not None]
            if found:
                return found
        return []

    def _with_begun_value(self, sign: str, words: list[str]) -> Typed | None:
        for split in range(len(words), 0, -1):
            how, value = self.how.fields_of(words[split:]), _value_begun_by(words[:split], self.named.value_names(sign))
            if how is not None and value is not None:
                return Typed({"sign": sign, "value": value.replace("_", " "), **how}, guessed=sign)
        return None

    # --- a value or an act before the name ---------------------------------------------------

    def _value_first(self, words: list[str]) -> list[tuple[int, Typed]]:
        """A value before its name, as in "no flame" (of a sign a no, of volts nothing), "new board" or "pressure switch open code"."""
        if words and plain(words[0]) in DENIALS and words[0][-1] in ",.;":
            return []  # "no, dizzy" denies something else, or is no and then yes
        turned = [([*words[i:], *words[: i - (words[i - 1].lower() in COMES_FROM)]], len(words) - i) for i in range(1, len(words))]
        named = (f for line, size in turned if (f := self._named_by(line, size)))
        may_begin = ((line, size) for line, size in turned if line[0].lower() not in IN_TIME and self._prefixed_by(line, size))
        begun = (f for line, size in may_begin if (f := [each for each in self._prefixed(line, size) if each[0] == size]))
        found = self._valued(words) or next(named, []) or self._shown_first(words) or next(begun, [])
        tried = self.vocabulary.knowledge.experiment if words and plain(words[0]) in DENIALS else {}
        found = [f for f in found if plain(str(f[1].record["value"])) not in DENIED]  # "cant turn it" denies a verb, and answers nothing
        return [f for f in found if str(f[1].record.get("sign")) not in tried]  # "no board tapped": nothing was tried

    def _valued(self, words: list[str]) -> list[tuple[int, Typed]]:
        """The same of a word that means one value of whatever it stands before."""
        values = VALUE_FIRST.get(words[0].lower(), ()) if words else ()
        if values and (other := self._not_what_it_names(words)):
            return other
        found = next(filter(None, (list(self._named([*words[1:], value])) for value in values)), [])
        if any("sign" in t.record and len(str(t.record["value"]).split()) > 1 for _, t in found):
            # "no inducer relay click" denies the click, and is no click with nothing after it
            amid = ([*words[1:at], words[0], *words[at:]] for at in range(len(words) - 1, 1, -1))
            found = next(filter(None, ([f for f in self._named(line) if "sign" in f[1].record] for line in amid)), [])
        return found or self._valued_at_step(words, values)

    def _not_what_it_names(self, words: list[str]) -> list[tuple[int, Typed]]:
        """What a denied name is told of where that is another thing than the name's own: "no light" is no ignition, and no dark board. Weakly, so it is
        asked about."""
        spelling, denied_of = self.vocabulary.names("sign").spelling, self.vocabulary.words.denied_of
        ends = (end for end in range(len(words), 1, -1) if words[0].lower() in DENIALS and spelling(" ".join(words[1:end])) in denied_of)
        lines = ([*denied_of[spelling(" ".join(words[1:end]))].split("_"), words[0].lower(), *words[end:]] for end in ends)
        in_call = self.vocabulary.sequence.order[1:]  # nothing is lit before a call
        found = next(filter(None, map(list, map(self._named, lines))), [])
        return [(n, replace(t, weakly=True)) for n, t in found if t.record.get("step", in_call[0]) in in_call]

    def _valued_at_step(self, words: list[str], values: Sequence[str]) -> list[tuple[int, Typed]]:
        """The same with the step behind the name, one that its sign has: "no blower at fan call"."""
        lines = ([*words[1:end], value, *words[end:]] for value in values for end in range(len(words) - 1, 1, -1))
        found = ([f for f in self._named(line) if self._is_at_a_step_of_its_sign(f[1])] for line in lines)
        return next(filter(None, found), [])

    def _is_at_a_step_of_its_sign(self, typed: Typed) -> bool:
        sign = self.vocabulary.knowledge.sign.get(str(typed.record.get("sign")))
        return sign is not None and typed.record.get("step") in sign.steps

    def _done_first(self, words: list[str]) -> list[tuple[int, Typed]]:
        """What was done before the part and what came of it, as in "cleaned flame sensor no help"."""
        if len(words) < 3 or words[0].lower() not in DONE_FIRST:
            return []
        found = (self._named([*words[1:i], words[0], *words[i:]]) for i in range(len(words) - 1, 1, -1))
        return next(filter(None, ([f for f in way if "history" in f[1].record] for way in found)), [])

    def _shown_first(self, words: list[str]) -> list[tuple[int, Typed]]:
        """What the meter shows before the place, as in "24 at mv", "0 across ps": of the place, or of what is named with its volts."""
        size = next((n for n in (3, 2, 1) if n < len(words) and SHOWN_FIRST.fullmatch(" ".join(words[:n]))), 0)
        if not size:
            return []
        how = self._taken_before_place(words, size)
        return self._shown_of(words, size, how) or (self._shown_of(words, size, []) if how else [])  # "at igniter" may be a step, and the place

    def _shown_of(self, words: list[str], size: int, how: list[str]) -> list[tuple[int, Typed]]:
        """The same of the first *size* words, with *how* it was taken right behind them."""
        shown, size = " ".join(words[:size]), size + len(how)
        across = [ACROSS] if words[size].lower() == ACROSS else []
        size += words[size].lower() in PLACED
        ends, starts = range(len(words), size, -1), (words[:size], across, []) if across else (words[:size], [])
        lines = (([*start, *words[size:end], shown, *words[end:], *how], len(start) + end - size) for start in starts for end in ends)
        found = ([(n, replace(t, guessed=name_of(t))) for n, t in self._named(line) if n == named and "point" in t.record] for line, named in lines)
        return next(filter(None, found), [])  # guessed: in a claim's text a figure may as well end the piece before

    def _taken_before_place(self, words: list[str], start: int) -> list[str]:
        """The words from *start* on that say how it was taken, where the place follows with a word before it: "0.2 low on igniter pin"; else none."""
        ends = (i for i in range(start + 1, len(words) - 1) if words[i].lower() in PLACED and self.how.fields_of(words[start:i]))
        return words[start : next(ends, start)]

    def _not_there(self, words: list[str]) -> list[tuple[int, Typed]]:
        """What was looked for and is not there, with no other figure: "no 120v to igniter", "no 120 at hsi during warmup" is nothing there. Weakly: some
        other figure may have been."""
        size = next((n for n in (3, 2) if n < len(words) - 1 and SHOWN_FIRST.fullmatch(" ".join(words[1:n]))), 0)
        if not size or plain(words[0]) not in DENIALS or words[size].lower() not in {*PLACED, "to"} or any(METER_SHOWS.match(w) for w in words[size:]):
            return []
        place = words[size + 1 :]
        ends = (end for end in range(len(place), 0, -1) if self.how.fields_of(place[end:]) is not None)
        points = self.vocabulary.knowledge.point
        all_read = (self.best([*place[:end], "0", *place[end:]]) for end in ends)
        found = ([f for f in read if "point" in f[1].record and points[str(f[1].record["point"])].unit == "V"] for read in all_read)
        return [(n, replace(t, weakly=True)) for n, t in next(filter(None, found), [])]

    def _shown_with_how(self, words: list[str]) -> list[tuple[int, Typed]]:
        """What the meter shows before the place and how it was taken behind that: "0 at hsi during warmup"; all that the place may be of."""
        size = next((n for n in (2, 1) if n < len(words) - 2 and SHOWN_FIRST.fullmatch(" ".join(words[:n]))), 0)
        if not size or words[size].lower() not in PLACED or any(METER_SHOWS.match(w) for w in words[size:]):
            return []
        place = words[size + 1 :]
        ends = (end for end in range(len(place) - 1, 0, -1) if self.how.fields_of(place[end:]))
        all_read = (self.best([*place[:end], *words[:size], *place[end:]]) for end in ends)
        return next(filter(None, ([f for f in read if "point" in f[1].record] for read in all_read)), [])

    def _with_how_behind(self, words: list[str]) -> list[tuple[int, Typed]]:
        """What is read of a line but for how it was taken, where that ends it: "air weak at registers heating"."""
        if not words or METER_SHOWS.match(words[0]):
            return []  # a figure before its place has ways of its own
        for end in range(len(words) - 1, 1, -1):
            how = None if self.how.is_no_step(words, end) else self.how.fields_of(words[end:])
            if how and (read := self.best(words[:end])):
                return [(n, replace(t, record={**t.record, **how})) for n, t in read if how.keys().isdisjoint(t.record)]
        return []

    def _shown_amid(self, words: list[str]) -> list[tuple[int, Typed]]:
        """What a meter shows between a part and the place on it: "igniter 119 at plug"; or all that the place is short for."""
        at = next((i for i in range(1, len(words) - 2) if SHOWN_FIRST.fullmatch(words[i])), 0)
        end = at + 1 + spells_unit(words[at + 1], OF_A_PLACE) if at else 0
        if not at or words[end : end + 1] == [] or words[end].lower() not in {*PLACED, "to"}:  # "ps return 25.2 to c"
            return []
        got = next((n for n in range(at, 0, -1) if words[n - 1].lower() not in GETS), at)
        part, shown, points = words[:got], words[at:end], self.vocabulary.names("point")
        place = [w for w in words[end + 1 :] if w.lower() not in ("the", "its")]
        for size in range(len(place), 0, -1):
            line, n, placed = [*part, *place[:size], *shown, *place[size:]], len(part) + size, " ".join([*part, words[end], *place[:size]])
            short_for = [i for i in points.could_be(" ".join(place[:size])) if {*points.spelling(" ".join(part)).split()} <= points.words_of(i)]
            ids = points.clear(" ".join(line[:n])) or points.clear(placed) or short_for
            ids = self.vocabulary.told_by_unit(" ".join(part), " ".join(shown)) or ids if end > at + 1 else ids
            found = [(n, typed) for typed in self.named.with_name(line, n, [("point", i) for i in ids])]
            if found:
                return found
        return []

    def _place_last(self, words: list[str]) -> list[tuple[int, Typed]]:
        """What a meter shows between what is read and where, with how it was taken: "L1 to N 2 low z at board"."""
        start = next((i for i in range(1, len(words)) if METER_SHOWS.match(words[i])), len(words))
        if across := next((i for i in range(start + 1, min(start + 3, len(words))) if words[i].lower() == ACROSS), 0):  # "door sw 31 v across" both its sides
            behind = next((i for i in range(across + 1, len(words)) if words[i].lower() not in THE_SAME), len(words))
            for name in ([ACROSS, *words[:start]], words[:start]):  # "r and c 24 across" is of no other place than "r and c 24"
                line, end = [*name, *words[start:across], *words[behind:]], len(name)
                points = [(kind, i) for kind, i in self.named.exactly(" ".join(name)) if kind == "point"]
                if found := [(end, replace(typed, weakly=name[0] != ACROSS)) for typed in self.named.with_name(line, end, points)]:
                    return found
        for at in range(start + 1, len(words) - 1):
            line, end = [*words[:start], *words[at:], *words[start:at]], start + len(words) - at
            points = [(kind, i) for kind, i in self.named.exactly(" ".join(line[:end])) if kind == "point"] if words[at].lower() in PLACED else []
            if found := [(end, typed) for typed in self.named.with_name(line, end, points)]:
                return found
        return []

    def _but_for_what_tells_no_more(self, words: list[str]) -> list[tuple[int, Typed]]:
        """The reading of a line without words that tell no more of it: that it calls ("stat calling 25 at w"), what was looked for and is not there
        ("no 120 at igniter plug 0.0 low"), that the part gets it ("igniter got 118 v"), or is thought well of for it ("nah, igniter fine 65 ohm")."""
        shown = next((i for i, word in enumerate(words) if METER_SHOWS.match(word)), 0)
        calls, steps = self.vocabulary.sequence.order[1], self.vocabulary.names("step")
        rest: list[str] = []
        if shown and steps.clear(" ".join(words[:shown])) == [calls]:
            rest = words[shown:]
        elif shown == 1 and plain(words[0]) in DENIALS and any(METER_SHOWS.match(w) for w in words[3:]) and words[2].lower() in PLACED:
            rest = words[3:]
        elif shown > 1 and words[0].lower().rstrip(",.") in SAID_FIRST:
            rest = words[1:]
        elif shown > 1 and words[shown - 1].lower() in {*GETS, *FINE}:
            rest = [*words[: shown - 1], *words[shown:]]
        return [f for f in self.best(rest) if "point" in f[1].record] if rest else []

    def _taken_first(self, words: list[str]) -> list[tuple[int, Typed]]:
        """Volts with how they were taken before them, "igniter pin low 0.2": weakly, for "low" may be said of the figure. Of other readings it mostly is."""
        start = next((i for i in range(2, len(words)) if METER_SHOWS.match(words[i])), 0)
        for end in range(start - 1, 0, -1):
            how = self.how.fields_of(words[end:start])
            if how is not None and how.keys() <= HOW_BEFORE:
                named = self.named.exactly(" ".join(words[:end]))
                points = [(kind, i) for kind, i in named if kind == "point" and self.vocabulary.knowledge.point[i].unit == "V"]
                line = [*words[:end], *words[start:], *words[end:start]]
                if found := [(end, replace(t, guessed=name_of(t), weakly=True)) for t in self.named.with_name(line, end, points)]:
                    return found
        return []

    # --- no name at all ----------------------------------------------------------------------

    def _stands_with_other(self, typed: Typed, words: Sequence[str]) -> bool:
        """Whether a sign is told with a value that it does not have beside other words of the line: "burners lit, no call"."""
        sign, value = str(typed.record.get("sign", "")), str(typed.record.get("value", ""))
        if not self.vocabulary.knowledge.sign[sign].not_in_complaints_with if sign else True:
            return False
        meant, text = self.named.values(sign).meant(value), " ".join(words)
        return any(stands_with_other(self.vocabulary.knowledge.sign[sign], each, text) for each in meant)

    def _complained(self, words: list[str]) -> list[tuple[int, Typed]]:
        """What the rules know people to say for a sign, where all of the line is that: "short cycles", "no spark"; after the furnace or who has it, too."""
        whole = {("sign", s.sign) for s in self.vocabulary.knowledge.sign.values() if s.shows == "whole_furnace"}
        of_it = [n for n in (1, 2) if n < len(words) and (whole & {*self.named.exactly(" ".join(words[:n]))} or plain(" ".join(words[:n])) in WHO)]
        complaints = self.vocabulary.complaints
        said = complaints.all_of(" ".join(words))
        after = (complaints.all_of(" ".join(words[n:])) for n in of_it)
        said = said or next((s for s in after if s is not None and not complaints.is_danger(s.sign, s.value)), None)  # of a danger it is asked first
        return [] if said is None else [(len(words), Typed(record_told(said, self.vocabulary), as_complained=True))]

    def _happened(self, words: list[str]) -> list[tuple[int, Typed]]:
        """An event that a sentence tells of, as in "there was a thunderstorm on Friday"."""
        names = self.vocabulary.names("event")
        spans = ((i, n) for n in range(len(words), 0, -1) for i in range(len(words) - n + 1))
        told = [(n, event) for i, n in spans for event in _named_event(names, " ".join(words[i : i + n]))]
        if DENIALS & {w.lower() for w in words}:
            return []
        return [(n, Typed({"event": e, "value": "yes"}, guessed=e, weakly=n < len(words))) for n, e in dict.fromkeys(told)]


def _named_event(names: Names, text: str) -> list[str]:
    """The events that *text* names, in the words listed or in another order of them."""
    return names.meant(text) or names.in_any_order(text)


def _two_figures(words: Sequence[str], end: int) -> bool:
    """Whether what stands on both sides of *end* are two figures that a meter shows, "limit 24 0": the first is no beginning of a name then."""
    before = next((w for word in reversed(words[:end]) if (w := word.strip(",;/&+"))), "")
    return end < len(words) and bool(SHOWN_FIRST.fullmatch(before)) and bool(METER_SHOWS.match(words[end]))


def _longest(found: Sequence[tuple[int, Typed]]) -> list[tuple[int, Typed]]:
    """Of all readings of a line those with the longest exact name; a name that was guessed only if none is exact."""
    exact = [f for f in found if not f[1].guessed]
    pool = exact or list(found)
    most = max((words for words, _ in pool), default=0)
    longest = [f for f in pool if f[0] == most]
    seen = [f for f in longest if "history" not in f[1].record]
    return seen if seen and plain(str(longest[0][1].record["value"])) in ("yes", "no", "y", "n") else longest  # a plain yes tells of now


def _value_begun_by(words: Sequence[str], called: Iterable[tuple[list[str], str]]) -> str | None:
    """The one value of which each of several *words* begins a word, in order; None where they begin none, or two values' words. *called*: the words of
    each name, with its value."""
    typed = [plain(w) for w in words]
    if len(typed) < 2 or DENIALS & {*typed} or not all(w.isalpha() for w in typed) or max(map(len, typed)) < LEAST_LETTERS:
        return None
    begun = {v for name, v in called if len(name) >= len(typed) and all(n == w if n in DENIALS else n.startswith(w) for n, w in zip(name, typed, strict=False))}
    return begun.pop() if len(begun) == 1 else None


def _could_be(sign: str, said: str, thing: str) -> Typed:
    """The record of one of several *things* that a word *said* of *sign* could be: a value of it, "SIGN: VALUE" of another or "SIGN: VALUE at STEP", or an
    earlier repair, of which the sign's own name tells what was done: "plugs_refitted"."""
    if thing.startswith(EARLIER_REPAIR):
        return Typed({"history": thing.removeprefix(EARLIER_REPAIR), "value": f"{sign.rpartition('_')[2]} {said}"})
    other, colon, value = thing.partition(": ")
    value, at, step = (value if colon else thing).partition(" at ")
    return Typed({"sign": other if colon else sign, "value": value.replace("_", " "), **({"step": step} if at else {})})
