"""The prompt of a visit: what is said and asked there, and which hazards and cautions were told."""

from __future__ import annotations

from collections.abc import Callable, Container, Iterable

import click

from furnace_diag.cli.asking import Asker
from furnace_diag.cli.common import encodable
from furnace_diag.problems import BadInput, printable
from furnace_diag.report import visit_screen as screen
from furnace_diag.report.visit_words import as_words, filled
from furnace_diag.visit.session import Session

LONGEST_PROMPT = 39  # characters, so that it fits the smallest terminal with what is typed below it


class Leave(Exception):
    """The technician goes; the visit stays as it is."""


class Prompt:
    """Says and asks in one visit. *takes_more*: the words of commands behind which more is typed; a ? there is no question back."""

    def __init__(self, session: Session, asker: Asker, width: Callable[[], int], takes_more: Container[str]) -> None:
        self.session, self.asker, self.width, self.takes_more = session, asker, width, takes_more
        self.cautioned: set[str] = set()  # cautions that were told in full
        self.shown_ways: set[str] = set()  # steps of which it was told how one gets there
        self.stopped_by: set[str] = set()  # hazards that stand and were told
        self.said = 0  # lines since the last answer: what is above the next on a small screen

    def ask(self, prompt: str, helps: str | Callable[[], object] = "") -> str:
        """One line, stripped. A long prompt is said before it: a terminal cuts it off where it is typed. Raises Leave at the end of input.

        *helps*: what to tell, in paragraphs, or to do for a line that asks back; it answers nothing, and the question is put again.
        """
        return self._answer(prompt, helps, self.asker.ask)

    def key(self, prompt: str, keys: Iterable[str], helps: str | Callable[[], object] = "") -> str:
        """One of *keys*, or a line, stripped; the rest as `ask`."""
        return self._answer(prompt, helps, lambda shown: self.asker.ask_key(shown, keys))

    def _answer(self, prompt: str, helps: str | Callable[[], object], asking: Callable[[str], str | None]) -> str:
        while True:
            self._tell_new_hazards()
            if len(prompt) > LONGEST_PROMPT:
                self.say(prompt.rstrip(" :"))
            line = asking(prompt if len(prompt) <= LONGEST_PROMPT else ": ")
            if line is None:
                raise Leave
            self.said = 0
            if not helps or not self.session.replies.asks_back(line) or self._is_more_of_a_command(line):
                return line.strip()
            if callable(helps):
                helps()
            else:
                self.say(*helps.split("\n"))

    def _is_more_of_a_command(self, line: str) -> bool:
        """Whether a command's word begins *line*, and what it takes follows: a ? is of that then."""
        word, _, rest = line.partition(" ")
        return bool(rest.strip()) and word.lower() in self.takes_more

    def tell_hazards(self, *, briefly: bool = False) -> None:
        """Whatever stops the visit now, with what to do and whom to call; nothing where nothing does. *briefly*: in a line what was told in full before."""
        hazards, told = self.session.hazards(), self.stopped_by if briefly else ()
        self.stopped_by = {h.finding for h in hazards}
        self.lines(screen.stop_lines(hazards, self.width(), told))
        if not self.stopped_by.difference(told):
            return
        if ways := self.session.ways_to_say_so():
            self.say(f"When it is put right, type: {' or '.join(ways)}.")
        if ways := self.session.ways_to_mend():
            self.say(f"When its cause is mended, type: {' or '.join(ways)}. What is read then ends it.")

    def _tell_new_hazards(self) -> None:
        """A hazard is told before the next thing that is asked, whatever way it came by."""
        now = {h.finding for h in self.session.hazards()} if self.session.visit.entries else set()
        if now - self.stopped_by:
            self.tell_hazards(briefly=True)
        self.stopped_by = now

    def say(self, *paragraphs: str) -> None:
        """Text, filled to the width."""
        for paragraph in paragraphs:
            self.lines(filled(paragraph, self.width()))

    def say_read_as(self, meant: str) -> None:
        """What was typed with a slip was taken for."""
        self.say(f"Read as: {printable(meant)} (`undo` if it was not meant so).")

    def say_remarked(self, beside: str) -> None:
        """What was told beside a figure is a remark."""
        self.say(f"Kept beside the figure as a remark, and not weighed: {printable(beside)}.")

    def tell_problems(self, bad: BadInput) -> None:
        """What is wrong and what to do, without the place: it is the line just typed."""
        for problem in bad.problems:
            self.say(as_words(str(problem._replace(place=None))))

    def tell_way_to(self, name: object, *, again: bool = False) -> None:
        """How one gets to a step in which something is to be read, where a heat call alone does not; once, or *again* where somebody asks."""
        step = next((s for s in self.session.vocabulary.sequence.steps if s.step == name), None)
        if step is not None and step.reached_by and (again or step.step not in self.shown_ways):
            self.shown_ways.add(step.step)
            self.say(f"{step.step.replace('_', ' ').capitalize()}: {step.says}. {step.reached_by}")

    def caution(self, ids: Iterable[str]) -> None:
        """Each in full once, and shortly from then on."""
        self.lines(screen.caution_lines((self.session.knowledge.caution[c].says for c in ids), self.cautioned, self.width()))

    def lines(self, lines: Iterable[str]) -> None:
        """Lines as they are."""
        for line in lines:
            self.said += 1
            click.echo(encodable(line))
