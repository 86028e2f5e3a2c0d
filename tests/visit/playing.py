"""Visits played: lines typed at a desk, by a script or from what one virtual furnace gives, and whole visits written straight into a journal."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from furnace_diag.cli.visit_asked import asked
from furnace_diag.cli.visit_desk import Desk
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.records import Record
from furnace_diag.diagnosis.value_fits import chance_of_words
from furnace_diag.furnace.family import Fault
from furnace_diag.furnace.population import WHOLE_CALL
from furnace_diag.knowledge.words import words_of
from furnace_diag.quantities import format_quantity
from furnace_diag.visit.journal import Journal
from furnace_diag.visit.session import Session
from furnace_diag.visit.typed import Typed

FAULT = Fault("control_board", "heat_relay_will_not_close")
PROOF, REPAIR = "heat_output_dead", "change_the_board"
COMPLAINT = "burners light, then no air; worse since Tuesday"
NOTE = "filter was new, door switch fine"
BEHAVIOUR = {"whole_furnace": "does_something", "inducer_runs": "yes", "burners_light": "stay_lit", "blower_starts_in_heat": "does_not_start"}
READ = (
    ("secondary_volts_at_board", "standby", "high"),
    ("w_to_c_at_board", "heating", "high"),
    ("draft", "heating", ""),
    ("flame_current", "heating", ""),
    ("heat_terminal_to_neutral", "heating", "low"),
    ("igniter_ohms", "power_off", ""),
)


START = ["no heat", *"nnnnnnn", "", "", "", "", "", ""]  # complaint, seven safe answers, how far it gets left open, nothing before


def rows_of(evidence: Evidence, failure: str) -> NDArray[np.intp]:
    """The furnaces of the population with a failure, as part:failure; the healthy ones where none is named."""
    faults = [str(f) for f in evidence.population.faults]
    return np.flatnonzero(evidence.population.fault_of == (faults.index(failure) if failure else -1))


class Script:
    """Types given lines, then leaves; `^C` is Ctrl-C."""

    first_key = 0.0
    by_steps = False

    def __init__(self, lines: list[str]) -> None:
        self.lines: Iterator[str] = iter(lines)

    def ask(self, prompt: str) -> str | None:
        line = next(self.lines, None)
        if line == "^C":
            raise KeyboardInterrupt
        return line

    def ask_key(self, prompt: str, keys: object) -> str | None:
        return self.ask(prompt)


def desk(session: Session, lines: list[str], width: int = 40) -> Desk:
    made = Desk(session, Script(lines), lambda: width)
    made.run()
    return made


class Furnace:
    """One row of the population, and what a technician would type for each of its readings."""

    def __init__(self, evidence: Evidence, row: int) -> None:
        self.evidence, self.row = evidence, row

    def typed(self, name: str, step: str | None, meter: str = "") -> str:
        """The value to type; "never" where the furnace never gets there, "skip" for what no circuit gives."""
        k = self.evidence.knowledge
        population = self.evidence.population
        columns = {key[1]: i for key, i in population.columns.items() if key[0] == name and key[2] != "low"}
        columns |= {key[1]: i for key, i in population.columns.items() if key[0] == name and key[2] == meter}
        if not columns:
            return "skip"
        stop = population.steps[int(population.stops[self.row])]
        at = step or next(s for s in (WHOLE_CALL, stop, *columns) if s in columns)
        value = float(population.table[columns[at], self.row]) if at in columns else np.nan
        if np.isnan(value):
            return "never"
        if name in k.point:
            return "OL" if np.isinf(value) else format_quantity(float(f"{value:.3g}"), k.point[name].unit, ascii=True)
        sign = k.sign[name]
        assert sign.shows is not None
        words = words_of(sign.shows, self.evidence.family.sequence)
        chances = {v: float(chance_of_words(sign, words, v)[int(value)]) for v in sign.values}
        return max(chances, key=lambda v: chances[v])


class Player:
    """Answers every prompt of a desk until belief is clear, or a number of entries is reached."""

    first_key = 0.0
    by_steps = False

    def __init__(self, furnace: Furnace, most: int = 15, sure: float = 0.9) -> None:
        self.furnace, self.most, self.sure = furnace, most, sure
        self.desk: Desk | None = None
        self.entries = 0
        self.prompts: list[str] = []
        self.lost = False  # the last reading could never be had, so where the call stops is asked for

    def ask_key(self, prompt: str, keys: object) -> str | None:
        """A question of the start."""
        if prompt.startswith("Your meter"):
            return "o"
        session = self._session()
        question = next(q for group in ("safety", "behaviour", "rest") for q in session.questions(group))
        if question.group == "safety":
            return "n"
        value = self.furnace.typed(question.sign, None)
        return next((key for key, v in question.keys.items() if v == value), "")

    def ask(self, prompt: str) -> str | None:
        """Any other line."""
        self.prompts.append(prompt)
        assert len(self.prompts) < 200, "the visit goes round in circles"
        session = self._session()
        if prompt.startswith("What is the complaint"):
            return "no heat"
        if prompt == "> ":
            answer = session.answer()
            done = self.entries >= self.most or max(p.probability for p in answer.parts) >= self.sure or (answer.act is not None and answer.act.check is None)
            return "quit" if done or not (answer.next or answer.act) else ""
        if prompt.startswith("Read after"):
            return ""  # nobody looked at a watch
        of_value = re.fullmatch(r"(?:(?P<name>.*) \[.*\]|): ", prompt)
        if of_value:
            self.entries += 1
            reading = asked(self._session())
            named = (of_value["name"] or "").replace(" ", "_")
            if reading is not None and named in ("", reading.name) and not (named == "" and self.lost):
                typed = self.furnace.typed(reading.name, reading.step)
                self.lost = typed == "never"
                return typed
            self.lost = False
            before = {n for need in (session.lacking_before(reading.name) if reading else ()) for _, n in self._names_of(need.condition)}
            return self.furnace.typed(named if named in before else str(session.evidence.sign_of_stopping), None)
        return "" if "keep" not in prompt else "y"

    def _names_of(self, check: str) -> tuple[tuple[str, str], ...]:
        return tuple(name for w in self._session().knowledge.check[check].any_of[0] for name in w.names)

    def _desk(self) -> Desk:
        assert self.desk is not None
        return self.desk

    def _session(self) -> Session:
        return self._desk().session


class Play:
    """A visit being played; every method types one thing."""

    def __init__(self, path: Path, evidence: Evidence, fault: Fault | None = FAULT) -> None:
        self.evidence, self.k = evidence, evidence.knowledge
        self.journal = Journal(path, new=True)
        self.session = Session(self.k, evidence, self.journal, evidence.family.furnace.furnace)
        self.furnace = Furnace(evidence, int(rows_of(evidence, str(fault) if fault else "")[0]))

    def take(self, record: dict[str, Any], **more: Any) -> Record:
        kept = self.session.take(Typed(record), sure=True, **more)
        assert isinstance(kept, Record), kept
        return kept

    def tell(self, event: str, **says: Any) -> None:
        self.session.tell(event, says)

    def begin(self, *, harm: str | None = None) -> None:
        """Complaint, the safety questions all answered well but *harm*, and how far the call gets."""
        self.tell("complaint", text=COMPLAINT)
        for q in self.k.question.values():
            if q.group == "safety":
                values = list(q.keys.values())
                self.take({"sign": q.sign, "value": values[-1] if q.question == harm else values[0]}, question=q.question)
        for sign, value in BEHAVIOUR.items():
            self.take({"sign": sign, "value": value})

    def read(self, name: str, step: str, meter: str) -> Record:
        """Read a point of the virtual furnace."""
        return self.take({"point": name, "value": self.furnace.typed(name, step, meter), "step": step} | ({"meter": meter} if meter else {}))

    def prove(self) -> None:
        """What the proof needs, in its calls."""
        for call in range(1, self.k.proof[PROOF].calls + 1):
            for entry in self.k.proof[PROOF].holds:
                self.take({**entry, "call": str(call)})

    def mend(self, repair: str = REPAIR, fault: Fault = FAULT) -> None:
        self.tell("repair", part=fault.part, failure=fault.failure, repair=repair)

    def check(self, *, but: str | None = None) -> None:
        """Everything that proves the last repair, *but* one check."""
        visit = self.session.visit
        needs = self.evidence.finder.after_repair([], visit.options, visit.repairs[-1].repair).needs
        taken: set[tuple[str, ...]] = set()
        for need in needs:
            check = self.k.check[need.condition]
            for call in range(1, check.calls + 1) if need.condition != but else ():
                for entry in check.holds:
                    record = {**entry, "call": str(10 + call)}
                    key = (str(record.get("point", record.get("sign"))), str(record.get("step")), record["call"], str(record.get("meter")))
                    if key not in taken:
                        self.take(record)
                        taken.add(key)

    def close(self, closed: str = "proved", reason: str = "") -> None:
        self.tell("closed", **{"as": closed, "reason": reason})
        self.journal.close()


def whole_visit(path: Path, evidence: Evidence) -> Path:
    """A board proved bad, changed and proved good, with a slip, a correction and a note on the way."""
    play = Play(path, evidence)
    play.begin()
    play.take({"history": "blower_capacitor", "value": "replaced_no_change"})
    play.take({"event": "storm", "value": "yes"})
    for point in READ:
        play.read(*point)
    slip = play.take({"point": "inlet_pressure", "value": "7.1 in wc", "step": "standby"})
    assert slip.name == "inlet_pressure"
    play.session.undo()
    play.take({"point": "line_to_neutral_at_board", "value": "191 V", "step": "standby"})
    play.take({"point": "line_to_neutral_at_board", "value": "119 V", "step": "standby"}, instead_of=play.session.visit.entries[-1].number)
    play.tell("note", text=NOTE)
    play.prove()
    play.mend()
    play.check()
    play.close()
    return path


class ByHand:
    """Somebody at a terminal, who mends page by page: types lines, then leaves."""

    first_key = 0.0
    by_steps = True

    def __init__(self, session: Session, lines: list[str]) -> None:
        self.lines = iter(lines)
        Desk(session, self, lambda: 40).run()

    def ask(self, prompt: str) -> str | None:
        return next(self.lines, None)

    def ask_key(self, prompt: str, keys: object) -> str | None:
        return self.ask(prompt)
