"""A technician at the prompt, played from one virtual furnace: reads what that furnace would give, and says so."""

from __future__ import annotations

import re

import numpy as np

from furnace_diag.cli.visit_desk import Desk
from furnace_diag.diagnosis.evidence import Evidence, chance_of_words
from furnace_diag.furnace.population import WHOLE_CALL
from furnace_diag.knowledge.words import words_of
from furnace_diag.quantities import format_quantity
from furnace_diag.visit.session import Session


class Furnace:
    """One row of the population, and what a technician would type for each of its readings."""

    def __init__(self, evidence: Evidence, row: int) -> None:
        self.evidence, self.row = evidence, row
        self.failure = str(evidence.population.faults[int(evidence.population.fault_of[row])])

    def typed(self, name: str, step: str | None) -> str:
        """The value to type; "never" where the furnace never gets there, "skip" for what no circuit gives."""
        k = self.evidence.knowledge
        population = self.evidence.population
        columns = {key[1]: i for key, i in population.columns.items() if key[0] == name and key[2] != "low"}
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
        question = next(q for group in ("safety", "behaviour") for q in session.questions(group))
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
        asked = re.fullmatch(r"(?:(?P<name>.*) \[.*\]|): ", prompt)
        if asked:
            self.entries += 1
            reading = self._desk().asked()
            named = (asked["name"] or "").replace(" ", "_")
            if reading is not None and named in ("", reading.name) and not (named == "" and self.lost):
                typed = self.furnace.typed(reading.name, reading.step)
                self.lost = typed == "never"
                return typed
            self.lost = False
            return self.furnace.typed(str(session.evidence.sign_of_stopping), None)
        return "" if "keep" not in prompt else "y"

    def _desk(self) -> Desk:
        assert self.desk is not None
        return self.desk

    def _session(self) -> Session:
        return self._desk().session
