"""What a trainee types -> an act. What cannot be understood is told kindly, and nothing is said that the bench does not show."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import dataclass

from furnace_diag.diagnosis.entries import METERS
from furnace_diag.diagnosis.verdict import BOARD
from furnace_diag.diagnosis.vocabulary import Vocabulary, either
from furnace_diag.furnace.family import Family
from furnace_diag.knowledge.find import Names
from furnace_diag.knowledge.repairs import repairs_for, repairs_of, usual_repair
from furnace_diag.knowledge.spelling import DENIALS, FILLERS, Spelling, plain
from furnace_diag.knowledge.values import values_of
from furnace_diag.problems import BadInput, printable
from furnace_diag.quantities import BadQuantity, parse_quantity
from furnace_diag.training.acts import LONGEST_WAIT, Act
from furnace_diag.training.bench import takes_off
from furnace_diag.training.drill import Drill
from furnace_diag.training.gas import GAS_PRESSURE
from furnace_diag.visit.lines import Reader as SaidReader
from furnace_diag.visit.typed import Typed, Unclear

MOST_TYPED = 200  # characters of a line
MOST_NEAR = 5
MOST_OF_COMMAND = 2  # words of an act: "gas off", "call heat"
MAY_BE_SAID = (None, "look", "read", "volts", "ohms", "call", "power")  # of lines that begin so: "heat terminal 0.2 low", "light ign fail"
MOST_FOUND = 14  # that a search shows
TURNED = re.compile(r"(open|close|shut|turn)\b.*\b(tap|cock|gas (on|off))\b|turn (on|off) (the )?gas\b|(close|shut)( off)? (the )?gas$")
WHAT_IS_SEEN = re.compile(
    r"what (?:(?:do|can|could|would) (?:i|you|we) (?:hear|see|smell|feel|notice)|(?:is|am i) (?:hearing|seeing|running|happening|on))(?: now)?", re.IGNORECASE
)
UNDO = frozenset(["undo", "oops", "go back", "take back", "cancel"])
UNDONE = "What is done on a furnace stays done. Put it back by hand: back, power on, gas on, call off. A wrong reading is read again."
ASKING = frozenset(["what", "which", "where", "when", "why", "who", "how"])  # no word of these is a slip in a command
OL = 1e30  # stands for OL in a foretold figure; JSON has no infinity


@dataclass(frozen=True)
class Word:
    """One command: its word, what else people type for it, how it is written, and what it does."""

    word: str
    others: tuple[str, ...]
    usage: str
    says: str


WORDS = (
    Word("look", ("see", "watch", "listen"), "look [at WHAT]", "what is seen and heard now"),
    Word("read", ("measure", "meter", "test", "check"), "read POINT [low] [for 20 s]", "put the meter on a named point"),
    Word("volts", ("volt", "voltage", "v"), "volts A to B [low]", "AC volts between any two terminals"),
    Word("ohms", ("ohm", "resistance"), "ohms A to B", "resistance between any two, power off"),
    Word("power", ("switch", "sw", "turn"), "power off, power on", "the furnace switch"),
    Word("gas", ("cock",), "gas off, gas on", "the gas cock at the furnace"),
    Word("tap", ("gauge", "manometer"), "tap inlet open, tap inlet closed", "a pressure tap of the gas valve: plug out and gauge on, or plug back"),
    Word("soap", ("leak",), "soap", "soap the gas joints that were opened"),
    Word("call", ("heat", "thermostat"), "call heat, fan, cool or off", "what the thermostat calls for"),
    Word("wait", ("run", "w"), "wait [30 s], wait rest", "run the clock on: to the next event, some time, or until all is still"),
    Word("lift", ("unplug", "pull", "remove"), "lift WHAT", "take a lead or a plug off"),
    Word("back", ("reconnect", "refit", "plug"), "back WHAT", "put it back"),
    Word("discharge", (), "discharge", "empty the run capacitor"),
    Word("join", ("jumper", "bridge", "jump"), "join r to w [at thermostat]", "a wire from R to W, G or Y: it makes the call at the board, or at the wall"),
    Word("replace", ("change", "fit", "clean", "fix", "repair", "swap"), "replace PART, clean PART", "put a part right; it costs what it costs"),
    Word("checks", ("prove",), "checks", "what proves the repair, and what of it is done"),
    Word("same", (), "same", "the repair changed nothing; on with the search"),
    Word("note", ("say", "state"), "note CHECK: yes", "say what you did for a proof"),
    Word("name", ("blame", "answer", "it is", "its"), "name PART [and PART]", "say what is wrong; this ends the drill"),
    Word("find", ("search", "points", "list"), "find WORDS, find more", "what can be read, seen, lifted or named so"),
    Word("known", (), "known", "all that is known of the furnace"),
    Word("notes", ("readings", "log", "history"), "notes", "what you have read so far"),
    Word("help", ("?", "h", "commands"), "help", "this list"),
    Word("pause", ("quit", "exit", "stop", "q", "bye"), "pause", "leave; the same command goes on later"),
)


@dataclass(frozen=True)
class Understood:
    """A typed line, understood: an *act*, or a *word* that changes nothing (find, known, notes, checks, help, pause) with its *rest*; else what to *tell*.

    *unit*: of a reading, whose figure may still be foretold. *offered*: what a question in *tell* asks after, each as it would be typed.
    """

    act: Act | None = None
    word: str = ""
    rest: str = ""
    tell: str = ""
    unit: str = ""
    offered: tuple[str, ...] = ()


class Reader:
    """Understands what is typed about one furnace."""

    def __init__(self, family: Family) -> None:
        self.family, self.k = family, family.knowledge
        self.vocabulary = Vocabulary(self.k, family.furnace.furnace)
        self._commands = {plain(w) or w: word.word for word in WORDS for w in (word.word, *word.others)}
        self._spelled = Spelling(self.vocabulary.words.short_words)
        self._repairs = Names(dict.fromkeys(self.k.repair, ()))
        self._said = SaidReader(self.vocabulary)
        for repair in self.k.repair:
            self._commands.setdefault(repair.partition("_")[0], "replace")

    def read(self, line: str, drill: Drill) -> Understood:
        """What one line means now: a command, or else what it would say at the prompt of a visit."""
        understood = self._read_command(line, drill)
        if not understood.tell:
            return understood
        return self._as_said(" ".join(line[:MOST_TYPED].split())) or understood

    def _as_said(self, text: str) -> Understood | None:
        """A line that says what was read, seen or done, as a technician writes it down: here it is looked at, and a figure is foretold."""
        said = self._said_in(text)
        if isinstance(said, Unclear):
            names = dict.fromkeys(str(t.record.get("sign", t.record.get("point", ""))) for t in said.choices)
            return Understood(tell=f"{printable(text, 40)} could be {_or([n for n in names if n])}. Write the one you mean.") if all(names) else None
        if said is not None and said.weakly:
            return Understood(tell=f"Did you mean {said.guessed.replace('_', ' ')}?", offered=(said.guessed,))
        record = said.record if said is not None else {}
        if "sign" in record:
            return Understood(Act(do="look", what=str(record["sign"])))
        if "point" in record:
            act = _act(do="read", what=record["point"], meter=record.get("meter", "high"))
            return self._with_foretold(act, str(record["value"]), self.k.point[str(record["point"])].unit)
        if "history" in record:
            part = str(record["history"]).partition(":")[0]
            ways = ", ".join(r.repair.replace("_", " ") for r in repairs_of(self.k, part)[:MOST_NEAR])
            return Understood(tell=f"What you do here the furnace answers. Of the {part.replace('_', ' ')}: {ways}.")
        return None

    def _said_in(self, text: str) -> Typed | Unclear | None:
        """What the prompt of a visit would read in a line, slips of the keys mended; None where it is nothing, or begins as an act does."""
        word, rest = self._command(text)
        if word not in MAY_BE_SAID:  # what was to be done is not to be looked at
            return None
        for line in dict.fromkeys([text, *([rest] if word in ("look", "read") else [])]):
            for meant in (line, *self._said.forgiven(line)):
                with suppress(BadInput):
                    return self._said.read(meant)
        return self._said.alone(text)

    def _read_command(self, line: str, drill: Drill) -> Understood:
        text = " ".join(_in_order(line[:MOST_TYPED].split()))
        if not text:
            return Understood()
        if (named := self._named_in_full(text)) is not None:
            return named
        if plain(text) in UNDO:
            return Understood(tell=UNDONE)
        if WHAT_IS_SEEN.fullmatch(text.rstrip(" ?!.")):
            text = "look"
        word, rest = self._command(text)
        if TURNED.match(text.lower()):  # "open the inlet tap", "turn the gas off"
            word, rest = ("tap" if " tap" in text.lower() else "gas"), text
        repaired = self._repairs.meant(text)
        if drill.bench.cock_shut and re.fullmatch(r"open (the )?gas", text.lower()):
            return Understood(Act(do="gas", what="on"))
        if len(repaired) == 1 and word != "gas":
            return self._repair(repaired[0])
        if (word is None or len(text.split()) > 1) and word not in [w.word for w in WORDS if text.lower().startswith(w.word)]:
            for kind in ("point", "sign"):  # a name alone is a reading, whatever word it begins with
                if len(self.vocabulary.names(kind).meant(self._taken(text)[0])) == 1:
                    return self._read(text, None)
        if word is None:
            near = self._near(text, ("point", "sign")) if len(text.split()) > 1 else []
            guess = f"To read: did you mean {_or(near[:3])}?" if near else "Type help for the commands; the first word says what to do."
            return Understood(tell=f"{printable(text, 40)} is no command here. {guess}", offered=tuple(near[:3]))
        if word in ("find", "known", "notes", "checks", "help", "pause"):
            return Understood(word=word, rest=rest)
        if word == "replace":
            return self._replace(rest, text.split()[0].lower())
        made: Understood = getattr(self, f"_{word}")(rest, drill)
        return made

    def _named_in_full(self, text: str) -> Understood | None:
        """The reading or experiment whose name of several words begins a line, though a command's word begins it too: "gas off when hose pulled"."""
        words = text.split()
        for end in range(len(words), MOST_OF_COMMAND, -1):
            name = " ".join(words[:end])
            if len(self.vocabulary.names("sign").clear(name)) == 1:
                return self._read(name, None)
        return None

    def _command(self, text: str) -> tuple[str | None, str]:
        words = text.split()
        for count in (2, 1):
            typed = " ".join(words[:count]).lower().strip(":,.") or text
            found = self._commands.get(plain(typed) or typed)
            if found is not None and len(words) >= count:
                return found, " ".join(words[count:])
        turned = self._commands.get(plain(words[-1])) if len(words) == 2 else None
        if turned is not None and turned != "name":  # "light look"; what ends the drill is not done by a slip
            return turned, words[0]
        close = [n for n in Names({w.word: () for w in WORDS}).suggested(words[0]) if len(words[0]) > 2 and words[0].lower() not in ASKING]
        return (close[0], " ".join(words[1:])) if len(close) == 1 else (None, text)

    # --- reading ---------------------------------------------------------------------------

    def _read(self, rest: str, _drill: Drill | None) -> Understood:
        text, meter, seconds, foretold = self._taken(rest)
        if not text:
            return Understood(tell="Read what? For instance: read r to c. find WORDS lists the points.")
        points = self.vocabulary.names("point").meant(text)
        signs = self.vocabulary.names("sign").meant(text)
        if len(points) != 1 and len(signs) == 1:
            return Understood(Act(do="look", what=signs[0]))
        if len(points) != 1:
            pair = self._pair(text)
            if isinstance(pair, tuple):
                return self._between("volts", pair, meter, foretold)
            held = self._only_one("point", text) if not points and not signs and not self._only_one("sign", text) else ""
            if held:
                return self._with_foretold(_act(do="read", what=held, meter=meter, seconds=seconds), foretold, self.k.point[held].unit)
            meant, near = [*points, *signs], self._near(text, ("point", "sign"))
            return Understood(tell=self._which(text, meant, near), offered=tuple(meant[:MOST_NEAR] if len(meant) > 1 else near[:3]))
        unit = self.k.point[points[0]].unit
        act = _act(do="read", what=points[0], meter=meter, seconds=seconds)
        return self._with_foretold(act, foretold, unit)

    def _with_foretold(self, act: Act, foretold: str, unit: str) -> Understood:
        if not foretold:
            return Understood(act, unit=unit)
        figure = figure_of(foretold, unit)
        if isinstance(figure, str):
            return Understood(tell=figure)
        return Understood(act.model_copy(update={"expect": figure}))

    def _volts(self, rest: str, _drill: Drill) -> Understood:
        return self._two("volts", rest)

    def _ohms(self, rest: str, _drill: Drill) -> Understood:
        return self._two("ohms", rest)

    def _two(self, do: str, rest: str) -> Understood:
        text, meter, _, foretold = self._taken(rest)
        points = [p for p in self.vocabulary.names("point").meant(f"{text}") if (self.k.point[p].function == "ohms") == (do == "ohms")]
        if len(points) == 1:
            return self._with_foretold(_act(do="read", what=points[0], meter=meter), foretold, self.k.point[points[0]].unit)
        pair = self._pair(text)
        if isinstance(pair, str):
            return Understood(tell=pair)
        return self._between(do, pair, meter, foretold)

    def _between(self, do: str, pair: tuple[str, str], meter: str, foretold: str) -> Understood:
        act = _act(do=do, what=pair[0], other=pair[1], meter=meter)
        return self._with_foretold(act, foretold, "ohm" if do == "ohms" else "V")

    def _taken(self, rest: str) -> tuple[str, str, float, str]:
        """What is read, by which mode of the meter, for how many seconds, and what is foretold; mode and seconds may stand behind either, in any order."""
        text, foretold = _parted(rest)
        text, meter, seconds = self._how(text)
        foretold, behind, longer = self._how(foretold) if foretold else (foretold, meter, seconds)
        return text, behind if meter == "high" else meter, seconds or longer, foretold

    def _how(self, text: str) -> tuple[str, str, float]:
        """The text without the meter's mode and without the seconds that stand at its end, and both."""
        text, seconds = _for_seconds(text)
        text, meter = self._meter(text)
        text, before = _for_seconds(text)
        return text, meter, seconds or before

    def _meter(self, text: str) -> tuple[str, str]:
        """The text without words for the meter's mode, and the mode."""
        bare = f" {plain(text)} "
        for mode in ("low", "high"):
            for words in sorted((mode if mode == "low" else "", *METERS[mode]), key=len, reverse=True):
                if words and bare.endswith(f" {plain(words)} ") and bare.strip() != plain(words):
                    return bare.removesuffix(f" {plain(words)} ").strip(), mode
        return text, "high"

    def _pair(self, text: str) -> tuple[str, str] | str:
        """Two terminals, or what to tell."""
        halves = re.split(r"\s+(?:to|and|-|/)\s+|\s*->\s*|,", text, maxsplit=1)
        if len(halves) != 2:
            return "Name two terminals: volts A to B. find WORDS lists them."
        found = [self._there(halves), self.node(halves[1])]
        for node, half in zip(found, halves, strict=True):
            if not isinstance(node, str):
                return self._which_node(half, node)
        if found[0] == found[1]:
            return "Those are one and the same place."
        return str(found[0]), str(found[1])

    def _there(self, halves: list[str]) -> str | list[str]:
        """The first of two terminals: at the place that is named behind the second, where it has none of its own."""
        _, at, place = halves[1].rpartition(" at ")
        if at and " at " not in halves[0]:
            node = self.node(f"{halves[0]} at {place}")
            if isinstance(node, str):
                return node
        return self.node(halves[0])

    def node(self, text: str) -> str | list[str]:
        """The node that words name, or those that it could be.

        All words must stand in its id or description; a terminal of the board comes before others, then the one described most shortly. A part by its name
        alone is asked about where the board has a pin for it: at the part is another place, and between them is a wire that may be what is broken.
        """
        wanted = [w for w in plain(text).split() if w not in FILLERS and w not in ("at", "on", "terminal", "pin", "post")]
        exact = plain(text).replace(" ", "_")
        if exact in self.family.wiring.nodes:
            return exact
        found = [n for n, says in self.family.wiring.nodes.items() if wanted and {*wanted} <= {*plain(f"{n.replace('_', ' ')} {says}").split()}]
        ranked = sorted(found, key=lambda n: (not self._is_boards(n), not {*wanted} <= {*n.split("_")}, len(self.family.wiring.nodes[n])))
        if len({*map(self._is_boards, ranked)}) == 2 and self._is_of_part(text):
            return ranked
        if len(ranked) == 1 or (ranked and self._is_boards(ranked[0]) and sum(map(self._is_boards, ranked)) == 1):
            return ranked[0]
        return self._by_its_own_name(wanted, ranked) or ranked

    def _is_of_part(self, text: str) -> bool:
        """Whether *text* names a part, or a terminal of it, and no pin of the board."""
        named = plain(text).removeprefix("the ").removesuffix(" terminal")
        return bool({*self.vocabulary.names("history").clear(named)} - {BOARD})

    def _by_its_own_name(self, wanted: list[str], ranked: list[str]) -> str | None:
        """Of several, the one whose id holds all the words where no other's does."""
        named = [n for n in ranked if {*wanted} <= {*n.split("_")}]
        boards = [n for n in named if self._is_boards(n)]
        return boards[0] if len(boards) == 1 else named[0] if len(named) == 1 else None

    def _is_boards(self, node: str) -> bool:
        says = self.family.wiring.nodes[node]
        return "of the board" in says and "behind" not in says

    def _which_node(self, text: str, found: list[str]) -> str:
        if not found:
            near = Names({n: (says,) for n, says in self.family.wiring.nodes.items()}).suggested(text)
            guess = f"Did you mean {_or(near)}?" if near else "find WORDS lists them."
            return f"There is no terminal called {printable(text, 40)}. {guess}"
        return f"{printable(text, 40)} could be {_or(found[:MOST_NEAR])}. Write the one you mean."

    # --- looking and saying ----------------------------------------------------------------

    def _look(self, rest: str, _drill: Drill) -> Understood:
        text = re.sub(r"^at\s+", "", rest).strip()
        if not text or plain(text) in ("around", "furnace", "now"):
            return Understood(Act(do="look"))
        signs = self.vocabulary.names("sign").meant(text)
        like = [s.sign for s in self.k.sign.values() if plain(s.sign).split()[-1:] == [plain(text)]]  # "smell" is that of gas, or of something burning
        if len(signs) == 1 and (len(like) < 2 or plain(signs[0]) == plain(text)):
            return Understood(Act(do="look", what=signs[0]))
        if len(self.vocabulary.names("point").meant(text)) == 1:
            return self._read(text, None)
        if (held := self._only_one("sign", text)) and len(like) < 2:
            return Understood(Act(do="look", what=held))
        signs = like if len(like) > 1 else signs
        return Understood(tell=self._which(text, signs, self._near(text, ("sign", "point"))))

    def _note(self, rest: str, _drill: Drill) -> Understood:
        name, _, value = rest.partition(":") if ":" in rest else rest.rpartition(" ")
        signs = self.vocabulary.names("sign").meant(name)
        if len(signs) != 1:
            return Understood(tell=self._which(name or rest, signs, self._near(name or rest, ("sign",))))
        values = values_of(self.k.sign[signs[0]], self.vocabulary.words).meant(value)
        if len(values) != 1:
            return Understood(tell=f"{signs[0]} is one of: {', '.join(self.k.sign[signs[0]].values)}.".replace("_", " "))
        return Understood(Act(do="state", what=signs[0], other=values[0]))

    # --- doing -----------------------------------------------------------------------------

    def _power(self, rest: str, drill: Drill) -> Understood:
        said = plain(rest).split()
        if "thermostat" in self._spelled(plain(rest)).split() and "power" not in said:  # "turn the stat up" is no switch
            return self._call("off" if {"down", "off"} & {*said} else "heat", drill)
        way = next((w for w in said if w in ("on", "off")), None)
        return Understood(Act(do="power", what=way)) if way else Understood(tell="Write power off, or power on.")

    def _call(self, rest: str, drill: Drill) -> Understood:
        said = {*plain(rest).split()}
        if said & {"off", "end", "none", "nothing", "stop"}:
            return Understood(Act(do="call"))
        steps = [c.step for c in (self.family.sequence.heat_call, *self.family.sequence.other_calls)]
        if not said or said & {"heat", "for heat", "w", "on"}:
            return Understood(Act(do="call", what=steps[0]))
        meant = [s for s in self.vocabulary.names("step").meant(" ".join(sorted(said))) if s in steps]
        near = meant or [s for s in steps if any(s.startswith(w) for w in said)]
        if len(near) == 1:
            return Understood(Act(do="call", what=near[0]))
        mended = Names(dict.fromkeys(("heat", "fan", "cool", "off"), ())).suggested(rest)
        if len(mended) == 1 and mended[0] not in said:
            return self._call(mended[0], drill)
        return Understood(tell=f"{printable(rest, 40)} is nothing that can be called for. Write call heat, call fan, call cool or call off.")

    def _wait(self, rest: str, _drill: Drill) -> Understood:
        said = plain(rest)
        if not said or said in ("next", "event"):
            return Understood(Act(do="wait"))
        if {*said.split()} & {"rest", "still", "stops", "stop", "done", "end", "all"}:
            return Understood(Act(do="wait", what="rest"))
        try:
            seconds = parse_quantity(rest, "s").value
        except BadQuantity as bad:
            return Understood(tell=f"{bad.message} Write wait, wait 30 s, wait 2 min, or wait rest.")
        if seconds > LONGEST_WAIT:
            return Understood(tell=f"At most {LONGEST_WAIT / 60:.0f} minutes in one go. Write wait {LONGEST_WAIT / 60:.0f} min, and again.")
        return Understood(Act(do="wait", seconds=seconds))

    def _lift(self, rest: str, _drill: Drill) -> Understood:
        return self._lead("lift", rest, [n for n, _ in takes_off(self.family)])

    def _back(self, rest: str, drill: Drill) -> Understood:
        lifted = list(drill.bench.lifted)
        if not lifted:
            return Understood(tell="Everything is in its place.")
        return self._lead("back", rest, lifted) if rest or len(lifted) > 1 else Understood(Act(do="back", what=lifted[0]))

    def _lead(self, do: str, rest: str, names: list[str]) -> Understood:
        little = (*FILLERS, "back", "in", "on", "off", "at", "terminal", "pin")
        found: list[str] = []
        for text in dict.fromkeys([plain(rest), self._spelled(plain(rest))]):  # "ps" is no beginning of a word; it is short for two
            wanted = [w for w in text.split() if w not in little]
            found = found or [n for n in names if wanted and all(any(o.startswith(w) for o in plain(n).split()) for w in wanted)]
        if len(found) == 1:
            return Understood(_act(do=do, what=found[0]))
        head = "Which one?" if found or not wanted else f"Nothing called {printable(rest, 40)} can come off here. What can:"
        return Understood(tell="\n".join([head, *(found or names)]))

    def _discharge(self, _rest: str, _drill: Drill) -> Understood:
        return Understood(Act(do="discharge"))

    def _join(self, rest: str, _drill: Drill) -> Understood:
        pair = self._pair(rest if " " in rest.strip() and re.search(r"\b(to|and)\b|,|-", rest) else rest.replace(" ", " to ", 1))
        return Understood(Act(do="join", what=pair[0], other=pair[1])) if isinstance(pair, tuple) else Understood(tell=pair)

    def _replace(self, rest: str, verb: str) -> Understood:
        """A part, or one failure of it, to be put right; of several ways the one that begins with the verb that was typed."""
        named = self._repairs.meant(rest)  # "replace renew the fuse", as it was offered
        if len(named) == 1:
            return self._repair(named[0])
        meant = self.vocabulary.names("history").meant(re.sub(r"^the\s+", "", rest.strip()))
        if len(meant) == 1 and ":" in meant[0]:
            return self._repair(repairs_for(self.k, *meant[0].split(":")).repair)
        part = self.part(rest)
        if part not in self.k.part:
            return Understood(tell=part)
        ways = repairs_of(self.k, part)
        begun = [r for r in ways if r.repair.startswith(f"{verb}_") and (verb != "replace" or part in r.of)]
        if len(begun) == 1:
            return self._repair(begun[0].repair, part)
        if len(ways) > 1 and part not in usual_repair(self.k, part).of:
            listed = ", ".join(r.repair.replace("_", " ") for r in ways)
            return Understood(tell=f"{part.replace('_', ' ')} is put right in several ways. Write the one you mean: {listed}.")
        return self._repair(usual_repair(self.k, part).repair, part)

    def _repair(self, name: str, part: str = "") -> Understood:
        return Understood(Act(do="replace", what=part or self.k.repair[name].of[0].partition(":")[0], other=name))

    def _gas(self, rest: str, _drill: Drill) -> Understood:
        """The cock; other words that begin so are a reading."""
        said = {*plain(rest).split()}
        way = "off" if said & {"off", "shut", "close", "closed"} else "on" if said & {"on", "open"} else None
        if way is None:
            return self._read(f"gas {rest}", None) if rest else Understood(tell="Write gas off, or gas on.")
        return Understood(Act(do="gas", what=way))

    def _tap(self, rest: str, _drill: Drill) -> Understood:
        said = {*plain(rest).split()}
        taps = {p.point: {*plain(" ".join([p.point.replace("_", " "), *p.also_called])).split()} for p in self.family.points if p.function == GAS_PRESSURE}
        shared = set.intersection(*taps.values()) if taps else set()
        meant = [p for p, words in taps.items() if said & (words - shared)]
        if len(meant) != 1:
            return Understood(tell=f"Which tap? {_or(['tap ' + p.partition('_')[0] + ' open' for p in taps])}.")
        closes = bool(said & {"close", "closed", "shut", "off", "back", "plug"})
        return Understood(Act(do="tap", what=meant[0], other="closed" if closes else "open"))

    def _soap(self, _rest: str, _drill: Drill) -> Understood:
        return Understood(Act(do="soap"))

    def _same(self, _rest: str, _drill: Drill) -> Understood:
        return Understood(Act(do="same"))

    def _name(self, rest: str, _drill: Drill) -> Understood:
        typed = [text for text in re.split(r"\s+and\s+|\s*[,+]\s*", rest) if text.strip()]
        parts = [self.part(text) for text in typed]
        wrong = [p for p in parts if p not in self.k.part]
        if wrong or not parts:
            return Understood(tell=wrong[0] if wrong else "Name the part that is at fault. find WORDS lists parts.")
        parts = list(dict.fromkeys(parts))
        spelled = self.vocabulary.names("history").spelling
        if {*map(spelled, typed)} != {*map(spelled, parts)}:  # called otherwise: what ends the drill is said back before it does
            called = " and ".join(part.replace("_", " ") for part in parts)
            return Understood(tell=f"That ends the drill. Do you name {called}?", offered=(f"name {called}",))
        return Understood(Act(do="name", what=" ".join(parts)))

    def part(self, text: str) -> str:
        """The part that words name, by itself or by one of its failures; else what to tell."""
        meant = list(dict.fromkeys(m.partition(":")[0] for m in self.vocabulary.names("history").meant(re.sub(r"^the\s+", "", text.strip()))))
        if len(meant) == 1:
            return meant[0]
        near = list(dict.fromkeys(m.partition(":")[0] for m in self.vocabulary.names("history").suggested(text)))
        return self._which(text, meant, near)

    # --- in words --------------------------------------------------------------------------

    def _near(self, text: str, kinds: Iterable[str]) -> list[str]:
        return [name for kind in kinds for name in self.vocabulary.names(kind).suggested(text)]

    def _only_one(self, kind: str, text: str) -> str:
        """The one point or sign in whose names every word of *text* stands; empty where there is none, or more, or where something is changed for it."""
        words = plain(text).split()
        held = self.vocabulary.names(kind).holding(words, {}) if words and DENIALS.isdisjoint(words) else []
        return held[0] if len(held) == 1 and held[0] not in self.k.experiment else ""

    def _which(self, text: str, meant: list[str], near: list[str]) -> str:
        asked = printable(text.strip(), 40) or "Nothing"
        if len(meant) > 1:
            return f"{asked} could be {_or(meant[:MOST_NEAR])}. Write the one you mean."
        guess = f" Did you mean {_or(near[:3])}?" if near else " find WORDS searches."
        return f"Nothing here is called {asked}.{guess}" if text.strip() else "What? find WORDS lists what there is."

    def found(self, text: str) -> list[tuple[str, str]]:
        """What words describe, as kind and name: points, signs, terminals, leads to lift and parts.

        What fits best comes first, and of the first `MOST_FOUND` each kind has its share.
        """
        tables = {
            "read": {p.point: p.says for p in self.family.points},
            "look": {s.sign: s.says for s in self.k.sign.values()},
            "terminal": dict(self.family.wiring.nodes),
            "lift": {name: "" for name, _ in takes_off(self.family)},
            "part": {p.part: p.says for p in self.k.part.values()},
        }
        spelling = self.vocabulary.names("point").spelling
        also = {name: entry.also_called for kind in (self.k.point, self.k.sign, self.k.part) for name, entry in kind.items()}
        ranked = []
        for kind, table in tables.items():
            ranks = Names({n: also.get(n, ()) for n in table}, spelling).ranked(text.split(), table)
            ranked.append(sorted(((plain(name) != plain(text), *rank), kind, name) for name, rank in ranks.items()))
        share = MOST_FOUND // max(sum(map(bool, ranked)), 1)
        first, rest = (sorted(each for kind in ranked for each in kind[cut]) for cut in (slice(share), slice(share, None)))
        best = sorted(first + rest[: MOST_FOUND - len(first)]) + rest[MOST_FOUND - len(first) :]
        return [(kind, name) for _, kind, name in best]


def _act(**fields: object) -> Act:
    return Act.model_validate(fields)


def _or(names: list[str]) -> str:
    """Names to choose from, as one types them."""
    return either([name.replace("_", " ") for name in names])


def _in_order(words: list[str]) -> list[str]:
    """Two words that were typed the wrong way round ("off power", "heat call"), turned."""
    turned = len(words) == 2 and words[0].lower() in ("on", "off", "heat", "fan", "cool", "rest") and words[1].lower() in ("call", "power", "gas", "wait")
    return words[::-1] if turned else words


def _parted(text: str) -> tuple[str, str]:
    """What is read, and after a colon or "=" the figure that is foretold."""
    name, _, figure = text.replace("=", ":").partition(":")
    return name.strip(), figure.strip()


def _for_seconds(text: str) -> tuple[str, float]:
    """The text without "for 20 s", and the seconds."""
    found = re.search(r"\s+(?:for|over)\s+(\d{1,4})\s*(s|sec|secs|seconds|min|minutes?)?$", text)
    if found is None:
        return text, 0.0
    return text[: found.start()], min(float(found[1]) * (60 if (found[2] or "s").startswith("min") else 1), LONGEST_WAIT)


def figure_of(text: str, unit: str) -> float | str:
    """A foretold figure in *unit*, or what to tell where it is none; OL is written as a very large one."""
    try:
        value = parse_quantity(text, unit).value
    except BadQuantity as bad:
        return f"{bad.message} {bad.fix}"
    return OL if math.isinf(value) else value
