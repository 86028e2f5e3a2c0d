"""What a technician types on one line -> the fields of a record: a name, a value, and how it was taken, in any usual order."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cache, lru_cache

from furnace_diag.diagnosis.vocabulary import Vocabulary
from furnace_diag.knowledge.likeness import mended
from furnace_diag.knowledge.models import NoReading
from furnace_diag.knowledge.spelling import DENIALS, any_of, plain
from furnace_diag.knowledge.values import EARLIER_REPAIR
from furnace_diag.knowledge.words import of_whole_call
from furnace_diag.problems import BadInput, Problem, printable
from furnace_diag.visit.answers import begins_with_its_name, in_other_words, value_read_off
from furnace_diag.visit.bare_figures import or_readings
from furnace_diag.visit.how_taken import MOST_REMEMBERED, HowTaken
from furnace_diag.visit.marked import is_only_mark
from furnace_diag.visit.names_and_values import MOST_OFFERED, NamesAndValues
from furnace_diag.visit.none_there import or_none_there, says_none_there
from furnace_diag.visit.times import seconds_alone, with_after
from furnace_diag.visit.told_of import record_told
from furnace_diag.visit.typed import NAMED, Typed, Unclear, one_of
from furnace_diag.visit.ways import DONE_FIRST, VALUE_FIRST, Ways

LONGEST = 300  # [characters] of one line
MOST_WORDS = 24
NO_SLIPS = ("none", "nothing", "never")  # words of their own, never one that a value has misspelt
POINT_APART = re.compile(r"(?:^|(?<=\s)|(?<=\s[-~]))\.\s+(?=\d)")  # before the figure that it is of: "draft . 35"
OHMS = re.compile(r"^(?:[\d.]+k?)?(?:ohms?|Ω|ol|continuity|megs?)$", re.IGNORECASE)
MOST_NEAR = 12  # names that are looked through for one that is read in ohms
IN_CALL = re.compile(r"\s*(?:heat )?call (?P<call>[1-9]\d?)\b[\s:,]+(?P<rest>\w.*\S)\s*", re.IGNORECASE)  # before a whole record: "call 2: inducer runs"
AT_THE_END = re.compile(r"(?<=\w)(?:!+|\.\.+)(?=\s|$)")  # of a word, what only says how it was said: "118!!", "good.."


class Reader:
    """Reads lines in one vocabulary."""

    def __init__(self, vocabulary: Vocabulary) -> None:
        self.vocabulary = vocabulary
        self._how = HowTaken(vocabulary)
        self._named = NamesAndValues(vocabulary, self._how)
        self._ways = Ways(self._named)
        said = vocabulary.words.in_lines
        self._short_with = re.compile(rf"(?<=\w) w (?={any_of(said.w_is_with)}\b)".replace(" ", "[ -]"), re.IGNORECASE)
        self._short_and = re.compile(rf"(?<=\w) n (?={any_of(said.n_is_and)}\b)", re.IGNORECASE)
        self._cold = re.compile(rf"(?P<read>\S.*?)[ ,]+(?P<cold>{any_of(said.cold)})", re.IGNORECASE)
        several = re.sub(r"\bn\b", "[2-9]", any_of(said.several_calls)).replace(" ", r"\s+")
        self._many_calls = re.compile(rf"\b{several}\b", re.IGNORECASE)
        self._known_words = cache(self._all_known)
        self._problem = lru_cache(MOST_REMEMBERED)(self._why_none)  # a line is read in several ways, mostly to no more than whether it is a record

    def read(self, text: str) -> Typed | Unclear:
        """The record of one line: "24v at w 25.1", "heat 0.2 low pin", "inducer runs: no at call". Raises BadInput."""
        read = self.understood(text)
        if read is None:
            raise BadInput([self._problem(text)])
        return read

    def understood(self, text: str) -> Typed | Unclear | None:
        """The same; None where it is no record, which is much sooner known than why. Raises BadInput where it is one that is not to be kept."""
        if (told := IN_CALL.fullmatch(text)) is not None:
            return self.understood(f"{told['rest']} call {told['call']}")
        if (full := _in_full(text)) != text and isinstance(read := self._read_or_none(full), Typed) and not (read.guessed or read.weakly):
            return read
        words = self._words(text)
        teller = self._how.teller(words)
        best = or_readings(words[teller:], self._ways.best(words[teller:]), self._named)
        best = or_none_there(words[teller:], best, self._named)
        best = self._taken_apart(text, best)
        best = [b for b in best if self._can_be(b[1].record)] or best
        best = [b for b in best if not (b[1].guessed and self._named.takes_off(b[1].record))]
        best = self._on_a_pin(self._volts_where_live(best))
        if best and all(t.guessed for _, t in best) and is_only_mark(text, self.vocabulary.words.beside_mark):
            return None  # "plate 5.2" is no input that was clocked
        if all(t.guessed or t.weakly for _, t in best) and (danger := self._danger_rather(text, [t for _, t in best])):
            return danger
        if teller:
            best = [(n, replace(t, record={"source": "told", **t.record})) for n, t in best]
        if len(best) == 1:
            return replace(best[0][1], weakly=best[0][1].weakly or self._off_for_work(text))
        if best:
            typed = tuple(t for _, t in best[:MOST_OFFERED])
            return one_of(*typed)
        once, calls = self._calls_apart(text)
        typed_once = self.understood(once) if calls > 1 else None
        return replace(typed_once, calls=calls) if isinstance(typed_once, Typed) else self._cold_ohms(text)

    def _cold_ohms(self, text: str) -> Typed | None:
        """The ohms of a line behind which it is told that the part was cold; that is a remark. None of any other line."""
        told = self._cold.fullmatch(text)
        typed = self._read_or_none(told["read"]) if told is not None else None
        if told is None or not isinstance(typed, Typed) or "point" not in typed.record or "note" in typed.record:
            return None
        point = self.vocabulary.knowledge.point[str(typed.record["point"])]
        return replace(typed, record={**typed.record, "note": told["cold"]}) if point.unit == "ohm" else None

    def _read_or_none(self, text: str) -> Typed | Unclear | None:
        try:
            return self.understood(text)
        except BadInput:
            return None

    def _danger_rather(self, text: str, read: Sequence[Typed]) -> Typed | None:
        """The first danger that a text tells of, or that it says is over, where what it was *read* as is only guessed and none of that."""
        dangers = self.dangers_in(text) or self.over_in(text)
        signs = {t.record.get("sign") for t in read}
        return dangers[0] if dangers and not any(d.record["sign"] in signs for d in dangers) else None

    def dangers_in(self, text: str) -> list[Typed]:
        """The dangers that a text tells of, to be asked about before they are kept."""
        return [Typed(record_told(d, self.vocabulary), guessed=d.sign, weakly=True) for d in self.vocabulary.complaints.dangers_in(text)]

    def over_in(self, text: str) -> list[Typed]:
        """What a text says is over that was a danger, to be asked about as that: of such as can be put right. Nobody's Enter makes a danger of it."""
        signs, over = self.vocabulary.knowledge.sign, self.vocabulary.complaints.over_in(text)
        put_right = {d.sign: next(iter(signs[d.sign].put_right), "") for d in over}
        return [Typed({"sign": sign, "value": value.replace("_", " ")}, guessed=sign, weakly=True) for sign, value in put_right.items() if value]

    def alone(self, text: str) -> Typed | Unclear | None:
        """What a line that is a value without a name, as "hums", could be of; None where many things have it, or where it is a name too.

        Only for a bare prompt, where nothing is asked for and somebody sees what it was taken for.
        """
        if any(c.isdigit() for c in text) or DENIALS & {*plain(text).split()} or len(text) > LONGEST:
            return None
        words = text.split()
        for split in range(len(words), 0, -1):
            how, value = self._how.fields_of(words[split:]), " ".join(words[:split])
            if how is None or self._named.exactly(value):
                continue
            signs = [s.sign for s in self._named.told_in_a_word if self._named.fits("sign", s.sign, value) and self._can_be({"sign": s.sign, **how})]
            typed = tuple(Typed({"sign": sign, "value": value, **how}, guessed=sign, weakly=True) for sign in signs)
            if len(typed) == 1:  # the sign's own word, and no slang of one thing: nobody asks whether it was meant
                return typed[0] if plain(value) in map(plain, self.vocabulary.knowledge.sign[signs[0]].values) else None
            if 1 < len(typed) <= MOST_OFFERED:
                return one_of(*typed)
        return None

    def by_its_unit(self, text: str) -> Typed | None:
        """The reading of a figure alone whose unit only one point is read in, "0.3ua", to be asked about; None of any other."""
        points = [p for p in self.vocabulary.knowledge.point.values() if p.unit in ("uA", "uF")]
        text = " ".join(w for w in text.split() if w.lower() != "now")
        typed = [Typed({"point": p.point, "value": text}, guessed=p.point, weakly=True) for p in points if self._named.fits("point", p.point, text)]
        return typed[0] if len(typed) == 1 and any(c.isalpha() for c in text) else None

    def value_for(self, kind: str, name: str, text: str) -> Typed:
        """The record of a line that gives only the value, and perhaps how it was taken, of what was asked for. Raises BadInput."""
        words = self._words(text)
        for split in range(len(words), 0, -1):
            how = None if self._how.is_no_step(words, split) else self._how.fields_of(words[split:])
            if how is not None and self._named.fits(kind, name, " ".join(words[:split])):
                return self._taken_apart(text, [(0, Typed({kind: name, "value": " ".join(words[:split]), **how}))])[0][1]
        once, calls = self._calls_apart(text)
        if calls > 1 and self._named.fits(kind, name, once) and not self._is_looked_at_once(name):
            return Typed({kind: name, "value": once}, calls=calls)
        return Typed({kind: name, "value": text.strip()})  # the record says itself what is wrong with it

    def only_value(self, kind: str, name: str, text: str, fields: Mapping[str, object]) -> Typed | None:
        """The record of a line that is nothing but a value of that point or sign, taken as *fields* say; None where it is anything else."""
        try:
            typed = self.value_for(kind, name, text)
        except BadInput:
            return None
        fits = self._named.fits(kind, name, str(typed.record["value"]))
        return replace(typed, record={**fields, **typed.record}) if fits else None

    def forgiven(self, text: str, kind: str = "", name: str = "") -> list[str]:
        """*text* as it was most likely meant: slips of the keys mended, then its time told in full too. Only for where a person sees what became of it.

        *kind*, *name*: of the point or sign whose value is asked for, where it is. A word that two known ones are as near to stays as it is.
        """
        if kind == "point" and self.vocabulary.knowledge.point[name].unit == "s" and (seconds := seconds_alone(text)) is not None:
            return [f"{seconds:g} s"]
        known = self._known_words(name if kind == "sign" else "")
        bare = text.replace("(", " ").replace(")", " ")  # "120 at (board) ign pin"
        spelt = " ".join(mended(word, known) for word in bare.split())
        return [line for line in dict.fromkeys([spelt, with_after(spelt)]) if line != text]

    def in_other_words(self, kind: str, name: str, text: str) -> list[str]:
        """What *text* may mean as a value of that point or sign, the likeliest first. Only for where a person sees what became of it."""
        values = self._named.values(name) if kind == "sign" else None
        if kind == "sign" and says_none_there(self.vocabulary.knowledge.sign[name].of_things, text):
            return []
        if kind == "sign" and (read_off := value_read_off(text, self.vocabulary.knowledge.sign[name].value_says)):
            return [read_off.replace("_", " ")]
        return [line for line in dict.fromkeys(in_other_words(text, {name: self._named.called(kind, name)}, values)) if line != text]

    def value_of(self, sign: str, text: str) -> str:
        """The value of a sign that *text* means; empty where it means none, or several."""
        meant = self._named.values(sign).meant(text)
        return meant[0] if len(meant) == 1 else ""

    def own_value(self, sign: str, text: str) -> str:
        """The value of a sign that *text* means where that sign is asked for, though it could be an earlier repair too; else empty."""
        could_be = self._named.values(sign).meant(text)
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
        return begins_with_its_name(text, name, self._named.called(kind, name))

    def names_only(self, text: str) -> list[tuple[str, str]]:
        """The points and signs that *text* alone names, without a value: (kind, id)."""
        asked = text.strip().removeprefix("#")
        if asked.isdigit() and text.strip().startswith("#"):
            return [("point", self._named.numbered[int(asked) - 1])] if 0 < int(asked) <= len(self._named.numbered) else []
        exact = [(kind, i) for kind in ("point", "sign") for i in self.vocabulary.names(kind).meant(text)]
        return exact or [(kind, i) for kind in ("point", "sign") for i in self._named.beginning(kind, plain(text).split())]

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

    def tells_several_calls(self, text: str) -> bool:
        """Whether a line tells how it was in several calls: "3 full calls ok"."""
        return self._many_calls.search(text) is not None

    def _calls_apart(self, text: str) -> tuple[str, int]:
        """*text* without "3 calls" in it, and how many calls it tells of."""
        if (found := self._many_calls.search(text)) is None:
            return text, 1
        figure = found[0][:1]
        return " ".join([*text[: found.start()].split(), *text[found.end() :].split()]), int(figure) if figure.isdigit() else 2

    def _words(self, text: str) -> list[str]:
        if len(text) > LONGEST:
            raise BadInput([Problem(None, "This line is too long.", f"Keep it to {LONGEST} characters; `note` takes more in pieces.")])
        for mark in (":", "="):
            head, found, rest = text.partition(mark)
            if found and head.strip() and rest.strip() and not head.strip()[-1].isdigit():
                text = f"{head} {rest}"
                break
        plainly = self._short_with.sub(" with ", self._short_and.sub(" and ", AT_THE_END.sub("", POINT_APART.sub(".", text))))
        words = self._how.joined(plainly).split()
        if len(words) > MOST_WORDS:
            raise BadInput([Problem(None, "These are too many words for one reading.", "Type a name and its value, such as: igniter ohms OL")])
        return words

    def _off_for_work(self, text: str) -> bool:
        """Whether a line names nothing but the step of no power, as "power off": it may say what was found, or what was done to work safely."""
        return self.vocabulary.sequence.roles.off in self.vocabulary.names("step").clear(text)

    def _is_looked_at_once(self, name: str) -> bool:
        """Whether checks ask for that sign alone, and each of them once: then nobody tells it of several calls."""
        k = self.vocabulary.knowledge
        asks = (c for c in k.check.values() if any(name == each for way in c.any_of for wanted in way for _, each in wanted.names))
        return name in k.sign and k.sign[name].only_for_proof and all(c.once for c in asks)

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

    def _taken_apart(self, text: str, best: list[tuple[int, Typed]]) -> list[tuple[int, Typed]]:
        """*best* without what is read apart and is told to have been read with its wires on: that is another reading. Raises BadInput where nothing is left.

        That its leads were off is what the point means, and no other way of reading it.
        """
        points = self.vocabulary.knowledge.point
        other = [p for _, t in best if (p := points.get(str(t.record.get("point")))) is not None and p.apart and _wires_on(t)]
        of = [(points.get(str(t.record.get("point"))), n, t) for n, t in best]
        left = [(n, _without_set_up(t) if point is not None and point.apart else t) for point, n, t in of if point not in other]
        if other and not left:
            what = f"{printable(text)} is another reading: with wires on, whatever else hangs there is read. Nothing is kept of it."
            raise BadInput([Problem(None, what, f"{other[0].says}: it is read with {other[0].apart}.")])
        return left

    def _on_a_pin(self, best: list[tuple[int, Typed]]) -> list[tuple[int, Typed]]:
        """Of several that are told to be read on a pin, those first that have a crimp behind theirs, and that crimp not at all."""
        points = self.vocabulary.knowledge.point
        on_pin = [p for _, t in best if t.record.get("contact") == "pin" and (p := points.get(str(t.record.get("point")))) is not None]
        crimps = {p.at_crimp for p in on_pin if p.at_crimp}
        left = [b for b in best if b[1].record.get("contact") != "pin" or b[1].record.get("point") not in crimps]
        pins = {p.point for p in on_pin if p.at_crimp}
        return sorted(left, key=lambda b: b[1].record.get("point") not in pins) if crimps else best

    def _all_known(self, sign: str) -> frozenset[str]:
        """Every word that a name, a value or how it was taken may have; of values only those of *sign*, where it is given."""
        v = self.vocabulary
        how = [w for names in self._how.names.values() for i, also in names.others.items() for w in (i, *also)]
        if sign:
            said = [*NO_SLIPS, *(w for value, also in self._named.values(sign).others.items() for w in (value, *also))]
        else:
            said = [w for kind in NAMED for i, also in v.entries[kind].items() for w in (i, *also)]
            said += [w for entry in v.knowledge.sign for value, also in self._named.values(entry).others.items() for w in (value, *also)]
            said += [w for long, short in v.words.short_words.items() for w in (long, *short)]
            said += [*DONE_FIRST, *VALUE_FIRST]
        return frozenset(word for text in (*how, *said) for word in plain(text).split())

    def _why_none(self, text: str) -> Problem:
        """Why a line is no record, in its own words: a danger that is over, a name without a value, a value that does not fit, or a name that is unknown."""
        if (of_call := IN_CALL.fullmatch(text)) is not None:
            return self._problem(f"{of_call['rest']} call {of_call['call']}")
        once, calls = self._calls_apart(text)
        if calls > 1 and self.understood(once) is None:
            of_one = self._problem(once)
            return of_one._replace(message=of_one.message.replace(printable(once), printable(text), 1))
        words = self._words(text)
        if over := self.vocabulary.complaints.over_in(text):
            says, again = self.vocabulary.knowledge.sign[over[0].sign].danger, f"{over[0].sign}: {over[0].value}".replace("_", " ")
            what = f"{printable(text)} says of a danger that it is over or was long ago, and nothing is kept of that: {says}."
            return Problem(None, what, f"If it is so all the same, type {again}.")
        if told := self.no_reading(text):
            return Problem(None, f"{printable(text)} is no reading.", told)
        if is_only_mark(text, self.vocabulary.words.beside_mark):
            return Problem(None, f"{printable(text)} is a mark, and no reading.", "Type the reading before it, such as: rise 52 plate 35-65")
        for end in range(len(words), 0, -1):
            named = " ".join(words[:end])
            for kind, name in self._named.exactly(named):
                if kind == "history" and self.vocabulary.names("step").clear(named):
                    continue  # "unplugged" is of the work, and of no power supply that was mended
                return Problem(None, f"{printable(text)} names {name}, but {self._rest_said(words[end:])}.", self._wanted(kind, name, words[end:]))
        if of := self._signs_that_may_be(text):
            return Problem(None, f"{printable(text)} of what?", f"Type a name before it, such as: {' or '.join(f'{sign} {text}' for sign in of[:3])}")
        near = self.suggested(" ".join(w for w in words if not w[:1].isdigit() and w.lower() not in DENIALS))
        fix = f"Did you mean {' or '.join(near[:3])}?" if near else "Type a name and its value, such as: igniter ohms OL. ? shows help, find WORD searches."
        return Problem(None, f"{printable(text)} names nothing that can be read or seen.", fix)

    def _signs_that_may_be(self, text: str) -> list[str]:
        """The signs of which a line is a value, and no more than that: those whose own word it is, or else those of which people say it."""
        if any(c.isdigit() for c in text):
            return []
        signs = [s for s in self.vocabulary.knowledge.sign.values() if len(self._named.values(s.sign).meant(text)) == 1]
        return [s.sign for s in signs if plain(text) in map(plain, s.values)] or [s.sign for s in signs]

    def no_reading(self, text: str) -> str:
        """What is told of a line that holds what the rules know to be no reading; empty of any other."""
        told = self._told_as_no_reading(text)
        return told.says if told else ""

    def is_found_so(self, text: str) -> bool:
        """Whether a line tells such a thing that was found so."""
        told = self._told_as_no_reading(text)
        return told is not None and told.found_so

    def _told_as_no_reading(self, text: str) -> NoReading | None:
        said = f" {self.vocabulary.names('point').spelling(text)} "
        spelled = self.vocabulary.names("point").spelling
        return next((each for each in self.vocabulary.words.no_reading if any(f" {spelled(phrase)} " in said for phrase in each.said)), None)

    def _rest_said(self, rest: Sequence[str]) -> str:
        return f"{printable(' '.join(rest))} is no value of it" if rest else "no value"

    def _wanted(self, kind: str, name: str, rest: Sequence[str]) -> str:
        k = self.vocabulary.knowledge
        if kind == "sign":
            return f"Its values: {', '.join(k.sign[name].values)}."
        if kind == "point":
            told_in = f"It is read in {k.point[name].unit}"
            if k.point[name].unit == "V" and any(OHMS.search(word) for word in rest):
                names = self.vocabulary.names("point").suggested(f"{name} ohms", MOST_NEAR)
                near = [p for p in names if k.point[p].unit == "ohm" and name.split("_")[0] in p.split("_")]
                return f"{told_in}. In ohms is taken, with the power off: {', '.join(p.replace('_', ' ') for p in near[:3]) or 'nothing near it'}."
            return f"{told_in}: type the figure that the meter shows."
        return f"Say what it did: {', '.join(w.replace('_', ' ') for w in self.vocabulary.words.history)}." if kind == "history" else "Type it alone."


def _in_full(text: str) -> str:
    """*text* with what is short for "is" and "and" in full: "filter's new & clean"."""
    return re.sub(r"(?<=\w)['’]s(?= )", " is", re.sub(r"(?<=\w) ?[&+] ?(?=[a-z])", " and ", text, flags=re.IGNORECASE))


def _without_set_up(typed: Typed) -> Typed:
    return replace(typed, record={name: value for name, value in typed.record.items() if name != "set_up"})


def _wires_on(typed: Typed) -> bool:
    """Whether a record says that the wires were on as it was read."""
    set_up = typed.record.get("set_up")
    return isinstance(set_up, list) and "load_on" in set_up
