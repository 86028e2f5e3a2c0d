"""furnace-diag drill: a lesson played at a prompt."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

import click

from furnace_diag.cli.common import SAYS_NO, SAYS_YES, encodable, family_and_population, json_option, print_json, rules_of, rules_option
from furnace_diag.cli.ctrl_c import heard_while_waiting

if TYPE_CHECKING:
    from furnace_diag.diagnosis.findings import Finder
    from furnace_diag.furnace.family import Family
    from furnace_diag.training.acts import Act
    from furnace_diag.training.commands import Reader, Understood
    from furnace_diag.training.drill import Drill
    from furnace_diag.training.lesson import Lesson
    from furnace_diag.visit.journal import Journal

PROMPT, FORETELL = "> ", "  What should it show? (Enter: no guess) "


@click.command(
    "drill",
    epilog="\b\nExamples:\n  furnace-diag drill cases/lessons/cold_monday.yaml\n  furnace-diag drill my_lesson.yaml --record ann.jsonl\n"
    "  furnace-diag drill my_lesson.yaml --replay",
)
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--record", "--file", "record", type=click.Path(path_type=Path), metavar="PATH", help="Where the drill is kept; one that was left goes on.")
@click.option("--replay", "show_replay", is_flag=True, help="Of a drill that is over: what the tool believed after each reading.")
@json_option
@rules_option
def command(file: Path, record: Path | None, show_replay: bool, as_json: bool, folders: tuple[Path, ...]) -> None:
    """Play the lesson in FILE: find what is wrong with its furnace.

    What you do is kept in a file of its own, line by line, so that you can leave and go on.
    """
    from furnace_diag.furnace.family import Family
    from furnace_diag.training.lesson import read_lesson

    knowledge = rules_of(folders)
    lesson = read_lesson(file, knowledge)
    session = _Session(Family(knowledge, lesson.report.family), lesson, record or Path(f"{file.stem}.drill.jsonl"))
    if not session.drill.over and not show_replay:
        session.play()
    if session.drill.over:
        session.show_score(replay=show_replay, as_json=as_json)
    elif show_replay:
        click.echo("This drill is not over yet; the replay would tell what is hidden.", err=True)
        raise SystemExit(2)


class _Session:
    """One trainee at the prompt. *journal*: open while it is played."""

    def __init__(self, family: Family, lesson: Lesson, path: Path) -> None:
        from furnace_diag.visit.journal import read_journal

        self.family, self.lesson, self.path = family, lesson, path
        self.events = read_journal(path)[0] if path.exists() else []
        self.drill = self._taken_up()
        self.finder: Finder | None = None  # made when checks are first asked for
        self.left: list[tuple[str, str]] = []  # what the last search found and did not show
        self.asked: tuple[str, ...] | None = None  # what the last line asked after, as it would be typed; None where it asked nothing

    def _taken_up(self) -> Drill:
        from furnace_diag.training.kept import taken_up

        return taken_up(self.events, self.family, self.lesson, self.path)

    def play(self) -> None:
        """Prompt until a part is named or the trainee leaves."""
        from furnace_diag.problems import printable
        from furnace_diag.report.training import fill, opening_lines
        from furnace_diag.training.commands import Reader
        from furnace_diag.training.kept import keep
        from furnace_diag.visit.journal import Journal

        reader = Reader(self.family)
        journal = Journal(self.path, new=not self.path.exists())
        try:
            if journal.events != self.events:  # somebody went on with it in between
                self.events = journal.events
                self.drill = self._taken_up()
            self.events = journal.events
            keep(journal, self.drill)
            if journal.repaired:
                self._echo(iter(fill(journal.repaired, self._width())))
            self._echo(opening_lines(self.drill, self._width(), goes_on=len(self.drill.acts)))
            lines = _Lines()
            while not self.drill.over:
                try:
                    line = lines.next(PROMPT)
                    goes_on = line is not None and self._one(line, lines, reader, journal)
                except KeyboardInterrupt:
                    self._break_off(journal)
                    continue
                if not goes_on:
                    self._echo(iter(fill(f"Left. It is kept in {printable(str(self.path), 300)}; the same command goes on.", self._width())))
                    return
        finally:
            journal.close()

    def _one(self, line: str, lines: _Lines, reader: Reader, journal: Journal) -> bool:
        """Do what one line says; False where the trainee leaves."""
        from furnace_diag.knowledge.spelling import plain
        from furnace_diag.report.training import fill

        asked, self.asked = self.asked, None
        if asked is not None and plain(line) in SAYS_YES | SAYS_NO:  # of the wires, "y" is one
            if plain(line) in SAYS_NO or len(asked) != 1:
                self._echo(iter(fill("Write the one that you mean; find WORDS searches.", self._width())))
                return True
            line = asked[0]
        understood = reader.read(line, self.drill)
        self.asked = understood.offered if understood.tell.endswith("?") else None
        if understood.word == "pause":
            return False
        if understood.act is not None:
            act = self._foretold(understood, lines, reader)
            self._do(act, journal)
        elif understood.word:
            self._tell(understood, reader)
        elif understood.tell:
            says, *listed = understood.tell.split("\n")
            self._echo(iter(fill(says, self._width())))
            for one in listed:
                self._echo(iter(fill(one, self._width(), "    ", first="  ")))
        return True

    def _foretold(self, understood: Understood, lines: _Lines, reader: Reader) -> Act:
        """Ask what the meter should show, where that was not said."""
        from furnace_diag.knowledge.spelling import plain
        from furnace_diag.training.commands import figure_of

        act = understood.act
        assert act is not None
        if not understood.unit:
            return act
        line = lines.next(FORETELL)
        if line is None or not line.strip():
            return act
        figure = figure_of(line, understood.unit)
        if not isinstance(figure, str):
            return act.model_copy(update={"expect": figure})
        if plain(line) in SAYS_YES | SAYS_NO:
            click.echo("  That is no figure; taken as no guess.")
            return act
        other = reader.read(line, self.drill)
        if other.act is not None or other.word:
            lines.again(line)  # no figure, but the next command
        else:
            click.echo("  That is no figure; taken as no guess.")
        return act

    def _do(self, act: Act, journal: Journal) -> None:
        from furnace_diag.report.training import seen_lines, told_result_lines
        from furnace_diag.training.kept import keep

        later: list[str] = []  # of what time goes by in, things are told as they happen; else what was done comes first
        hear = click.echo if act.do in ("wait", "read") else later.append
        told = self.drill.do(act, lambda seen: hear(encodable(seen_lines(seen, self._width()))))
        keep(journal, self.drill)
        self._echo(told_result_lines(told, self.family.knowledge, self._width()))
        self._echo(iter(later))

    def _break_off(self, journal: Journal) -> None:
        """Ctrl-C: what was not written down is not done. One more meanwhile says no more than the first."""
        put_back = False
        while not put_back:
            with suppress(KeyboardInterrupt):
                self.events = journal.events
                self.drill = self._taken_up()
                click.echo("\nBroken off; the furnace stands as it was written down last.")
                put_back = True

    def _tell(self, understood: Understood, reader: Reader) -> None:
        from furnace_diag.report.training import found_lines, help_lines, known_lines, notes_lines
        from furnace_diag.training.commands import MOST_FOUND

        if understood.word == "checks":
            self._echo(self._check_lines())
        if understood.word == "help":
            self._echo(help_lines(self._width()))
        elif understood.word == "known":
            self._echo(known_lines(self.drill, self._width()))
        elif understood.word == "notes":
            self._echo(notes_lines(self.drill, self._width()))
        elif understood.word == "find":
            found = self.left if understood.rest == "more" and self.left else reader.found(understood.rest)
            self.left = found[MOST_FOUND:]
            self._echo(found_lines(found, self.family.knowledge, self.family.wiring.nodes, self._width()))

    def _check_lines(self) -> Iterator[str]:
        """The checks of the repair, as far as they are met."""
        from furnace_diag.diagnosis.findings import Finder
        from furnace_diag.report.visit_screen import proof_lines
        from furnace_diag.training.score import checks_of

        self.finder = self.finder or Finder(self.family.knowledge)
        state = checks_of(self.drill, self.finder)
        return proof_lines(state, self._width(), self.family.knowledge) if state is not None else iter(["Nothing was put right yet."])

    def show_score(self, *, replay: bool, as_json: bool) -> None:
        """The score of a drill that is over, and the replay if it is wanted."""
        from dataclasses import asdict

        from furnace_diag.diagnosis.evidence import Evidence
        from furnace_diag.report.training import fill, replay_lines, score_lines
        from furnace_diag.training import score as scoring

        evidence = Evidence(*family_and_population(self.family.knowledge, self.family.furnace.furnace))
        result = scoring.score(self.drill, evidence)
        if as_json:
            moments = [asdict(m) for m in scoring.replay(self.drill, evidence)] if replay else []
            print_json({"score": asdict(result), "replay": moments})
            return
        self._echo(score_lines(result, self.drill, self._width()))
        if replay:
            self._echo(replay_lines(scoring.replay(self.drill, evidence), self._width()))
        else:
            self._echo(iter(fill("See what the tool would have done: the same command with --replay.", self._width())))

    def _echo(self, lines: Iterator[str]) -> None:
        for line in lines:
            click.echo(encodable(line))

    def _width(self) -> int:
        from furnace_diag.cli.main import width

        return width()


class _Lines:
    """Lines as they are typed or piped. The end of them is None; Ctrl-C at the prompt only throws away what stands there."""

    def __init__(self) -> None:
        self._typed = sys.stdin.isatty()
        self._pushed: list[str] = []
        if self._typed:
            with suppress(ImportError):
                import readline  # noqa: F401  # so that input() lets a line be mended

    def again(self, line: str) -> None:
        """Give *line* out once more."""
        self._pushed.append(line)

    def next(self, prompt: str) -> str | None:
        """The next line."""
        if self._pushed:
            return self._pushed.pop()
        while True:
            try:
                if not self._typed:
                    return self._piped(prompt)
                with heard_while_waiting():
                    return input(prompt)
            except EOFError:
                click.echo("")
                return None
            except KeyboardInterrupt:
                click.echo("\nType pause to leave.")
            except UnicodeDecodeError:
                click.echo("That is not text.")

    def _piped(self, prompt: str) -> str:
        line = sys.stdin.readline()
        if not line:
            raise EOFError
        click.echo(encodable(f"{prompt}{''.join(c for c in line.rstrip() if c.isprintable())}"))
        return line
