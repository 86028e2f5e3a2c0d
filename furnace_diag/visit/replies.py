"""What is typed at the prompt and is no reading as it stands: that one is not to be had, what is meant, how a new part or "it" is told of."""

from __future__ import annotations

import re
from collections.abc import Iterable

from furnace_diag.knowledge.models import PromptSaid
from furnace_diag.knowledge.spelling import any_of, plain

ASKS_BACK = re.compile(r"\?[\s?!.]*$")  # a line that ends so says nothing: "y?"
SIZE = r"\d[\d./+]* ?(?:uf|mfd)"  # of a part, before its name


class Replies:
    """The phrases of the rules for that, ready to be looked for."""

    def __init__(self, said: PromptSaid) -> None:
        self._open, self._asks = frozenset(["", *said.knows_not, *said.not_so_far]), frozenset(said.asks)
        self._cannot = re.compile(rf"{any_of((*said.knows_not, *said.cannot))}|{any_of(said.cannot_do)}(?: {any_of(said.from_here)})*")
        takes_back = rf"{any_of(said.takes_back).replace(' ', ',? ')}(?:(?:,? {any_of(said.means_instead)})+[,:.]? |[,:.] )"
        self._corrects = re.compile(rf"(?:{takes_back}|{any_of(said.taken_back)}[,:.]? )(?P<meant>\S.*)", re.IGNORECASE)
        self._asks_how = re.compile(rf"{any_of(said.asks_how)}\b", re.IGNORECASE)
        self._asks_for_steps = re.compile(rf"\b{any_of(said.asks_for_steps)}\b", re.IGNORECASE)
        self._lacks = re.compile(rf"{any_of(said.lacks)} (?P<bare>.*)")
        self._of_new = re.compile(rf"{any_of(said.of_new)} (?=.*(?:\d|\bo\.?l\b))", re.IGNORECASE)
        self._fitted = re.compile(rf"{any_of(said.fitted)} (?:{SIZE} )?(?P<part>[a-z][a-z ]*)", re.IGNORECASE)
        self._now = re.compile(rf",? {any_of(said.read_now)}[.!]*$", re.IGNORECASE)
        self._across_it = re.compile(rf"\b{any_of(said.across_it)}\b", re.IGNORECASE)

    def without_now(self, text: str) -> str:
        """A line without a last word that says that it is so now; any other as it is."""
        return self._now.sub("", text) or text

    def says_cannot(self, text: str) -> bool:
        """Whether a technician says that a reading is not to be had."""
        return self._cannot.fullmatch(plain(text)) is not None

    def leaves_open(self, text: str) -> bool:
        """Whether an answer leaves a question of the start of a visit open: nothing, or that nobody knows."""
        return plain(text) in self._open

    def asks_back(self, text: str) -> bool:
        """Whether a line asks what is meant, instead of answering: "?", "y?", "what"."""
        return ASKS_BACK.search(text) is not None or plain(text) in self._asks

    def put_right_first(self, text: str) -> str:
        """A line without the words before it by which somebody corrects himself: "wait no, inducer doesnt run"."""
        found = self._corrects.fullmatch(text.strip())
        return found["meant"] if found is not None else text

    def asks_for_steps(self, text: str) -> bool:
        """Whether a line asks in which step the furnace is, or which steps there are: "which step am I at", "how do I know which step it is"."""
        return self._asks_for_steps.search(text) is not None and not any(c.isdigit() for c in text)

    def is_question(self, text: str) -> bool:
        """Whether somebody at the prompt asks how something is done, which is no complaint: "how do I ...", "which step is it"."""
        return self._asks_how.match(text.strip()) is not None

    def lacks(self, text: str, instruments: Iterable[str]) -> str:
        """The instrument that a technician says is not to be had, as in "no clamp"; empty where it is anything else."""
        found = self._lacks.fullmatch(plain(text))
        return next((i for i in instruments if found is not None and plain(i) == found["bare"]), "")

    def without_new(self, line: str) -> str:
        """A line that tells what a meter shows of a part that is new, "new cap 5.0", without that it is; any other as it is."""
        found = self._of_new.match(line)
        return line[found.end() :] if found is not None else line

    def fitted(self, line: str) -> str:
        """The part of which a line tells that a new one was fitted, its size left out: "fitted new 10uf cap"; empty of any other."""
        found = self._fitted.fullmatch(line.strip())
        return found["part"] if found is not None else ""

    def across_it(self, line: str) -> bool:
        """Whether a line tells what is read across the thing that was told of before it."""
        return self._across_it.search(line) is not None
