"""Asking one line of a person: with editing and completion at a terminal, plainly everywhere else."""

from __future__ import annotations

import asyncio
import os
import sys
import time
from collections.abc import Callable, Iterable
from typing import Any, Protocol

import click

from furnace_diag.cli.common import encodable
from furnace_diag.cli.ctrl_c import heard_while_waiting

WORD_GOES_ON = 0.25  # [s] after a key, in which a next one makes it a word


class Asker(Protocol):
    """Gives one line, or None where there are no more; *first_key* is when its first key was pressed, in seconds since 1970."""

    first_key: float
    by_steps: bool  # somebody is there to say when a long text goes on

    def ask(self, prompt: str) -> str | None:
        """Raises KeyboardInterrupt where the line was given up."""

    def ask_key(self, prompt: str, keys: Iterable[str]) -> str | None:
        """The same, where one of *keys* alone may end the line."""


class PlainAsker:
    """Lines from standard input: piped, with a screen reader, or in a terminal that can do no more."""

    def __init__(self) -> None:
        self.first_key = time.time()
        self.by_steps = sys.stdin.isatty()

    def ask(self, prompt: str) -> str | None:
        """One line of standard input."""
        click.echo(encodable(prompt), nl=False)
        sys.stdout.flush()
        with heard_while_waiting():
            line = sys.stdin.readline()
        self.first_key = time.time()
        if not sys.stdin.isatty():
            click.echo(encodable(_visible(line)))  # what was piped in stands in the output too
        return line.rstrip("\r\n") if line else None

    def ask_key(self, prompt: str, keys: Iterable[str]) -> str | None:
        """One line: here a key takes Enter too."""
        return self.ask(prompt)


def _visible(line: str) -> str:
    from furnace_diag.problems import printable

    return printable(line.rstrip("\r\n"), 300)


class TerminalAsker:
    """Lines from a terminal: arrow keys, history, completion with Tab."""

    def __init__(self, words: Callable[[], Iterable[str]]) -> None:
        from prompt_toolkit import PromptSession
        from prompt_toolkit.completion import Completer, Completion
        from prompt_toolkit.document import Document

        class Names(Completer):
            def get_completions(self, document: Document, complete_event: Any) -> Iterable[Completion]:
                typed = document.text_before_cursor.lstrip().lower()
                begun = [w for w in words() if typed and w.replace("_", " ").startswith(typed.replace("_", " "))]
                return [Completion(w, start_position=-len(typed)) for w in begun[:20]]

        self.first_key = time.time()
        self.by_steps = True
        self._pressed = False
        self._session: PromptSession[str] = PromptSession(completer=Names(), complete_while_typing=False, enable_open_in_editor=False)
        self._session.app.key_processor.before_key_press += self._key

    def _key(self, _: Any) -> None:
        if not self._pressed:
            self._pressed, self.first_key = True, time.time()

    def ask(self, prompt: str) -> str | None:
        """One line, edited."""
        self._pressed, self.first_key = False, time.time()
        try:
            return self._session.prompt(prompt, key_bindings=None)
        except EOFError:
            return None

    def ask_key(self, prompt: str, keys: Iterable[str]) -> str | None:
        """One key that no other follows at once, or a line: whoever types a whole word is not cut off after its first letter."""
        from prompt_toolkit.filters import Condition
        from prompt_toolkit.key_binding import KeyBindings, KeyPressEvent

        bindings = KeyBindings()
        empty = Condition(lambda: not self._session.default_buffer.text)

        def unless_more_comes(event: KeyPressEvent) -> None:
            buffer = event.current_buffer
            buffer.insert_text(event.data.lower())

            def settle(alone: str = buffer.text) -> None:
                if buffer.text == alone and event.app.is_running:
                    buffer.validate_and_handle()

            asyncio.get_running_loop().call_later(WORD_GOES_ON, settle)

        for key in keys:
            for letter in {key, key.upper()}:
                bindings.add(letter, filter=empty)(unless_more_comes)
        self._pressed, self.first_key = False, time.time()
        try:
            return self._session.prompt(prompt, key_bindings=bindings)
        except EOFError:
            return None


def asker(words: Callable[[], Iterable[str]], *, plain: bool) -> Asker:
    """The asker for where this runs."""
    able = sys.stdin.isatty() and sys.stdout.isatty() and os.environ.get("TERM", "dumb") != "dumb"
    return TerminalAsker(words) if able and not plain else PlainAsker()
