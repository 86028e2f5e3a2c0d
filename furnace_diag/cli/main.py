"""The commands. Each imports what it needs when it runs, so that help is instant."""

from __future__ import annotations

import atexit
import gc
import importlib
import os
import sys
from typing import TYPE_CHECKING, Any

import click

from furnace_diag import __version__

if TYPE_CHECKING:
    from furnace_diag.problems import Problem

# what else is installed has no say in how files are validated, and looking for it takes time at every start
os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")

COMMANDS = {
    "visit": ("furnace_diag.cli.visit", "A service visit at a prompt."),
    "report": ("furnace_diag.cli.report", "Tell a visit: records, belief, proof, repair, checks."),
    "rank": ("furnace_diag.cli.rank", "Name the likely failed parts from a report."),
    "whatif": ("furnace_diag.cli.whatif", "Show how the answer would change if a reading were so."),
    "points": ("furnace_diag.cli.points", "List what can be read and seen."),
    "calc": ("furnace_diag.cli.calc", "Work out a rise, an airflow, an input, a capacitor ..."),
    "explain": ("furnace_diag.cli.explain", "Say what an id means, with file and line."),
    "scenario": ("furnace_diag.cli.scenario", "Make and check lessons for drills."),
    "drill": ("furnace_diag.cli.drill", "Find the hidden fault of a lesson."),
    "claims": ("furnace_diag.cli.claims", "Judge warranty claims by what their records show."),
    "rules": ("furnace_diag.cli.rules", "Check rule files; odds; a schema for editors."),
}
NARROWEST = 40
WITH_TRACEBACK = "FURNACE_DIAG_TRACEBACK"  # set by whoever mends the program
FAILED_ITSELF = 70  # exit status of a fault of the program, EX_SOFTWARE of sysexits.h
MOST_OF_FAULT = 200  # characters of what Python says
GARBAGE_EVERY = 200_000  # new objects, more than all the rules are: a command makes little garbage, and searching them for it takes time


class LazyGroup(click.Group):
    """Knows its commands' names and one-line helps; imports a command only to run it or show its own help."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in COMMANDS:
            return None
        module = importlib.import_module(COMMANDS[cmd_name][0])
        command: click.Command = module.command
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl([(name, text) for name, (_, text) in COMMANDS.items()])

    def resolve_command(self, ctx: click.Context, args: list[str]) -> tuple[str | None, click.Command | None, list[str]]:
        if args and args[0] not in COMMANDS and not args[0].startswith("-"):
            from difflib import get_close_matches

            near = get_close_matches(args[0], COMMANDS, 1)
            hint = f" Did you mean {near[0]}?" if near else f" Use one of: {', '.join(COMMANDS)}."
            from furnace_diag.problems import printable

            raise click.UsageError(f"There is no command {printable(args[0])}.{hint}", ctx)
        return super().resolve_command(ctx, args)


def width() -> int:
    """Columns to write in: what COLUMNS says, else the terminal. To ask shutil is to import every compressor that it knows."""
    try:
        columns = int(os.environ.get("COLUMNS") or 0) or os.get_terminal_size(sys.__stdout__.fileno()).columns  # type: ignore[union-attr]
    except (AttributeError, ValueError, OSError):  # closed, or no terminal
        columns = 0
    return max(NARROWEST, min(columns or 80, 100))


def _problem_lines(problem: Problem) -> list[str]:
    """A problem, filled to the width; one with its place stays on one line where no person reads it, for editors take it from there."""
    import textwrap

    text, examples = str(problem), [f"  {line}" for line in problem.example]
    for_machines = problem.place is not None and not sys.stderr.isatty()
    return [*([text] if for_machines else textwrap.wrap(text, width(), break_long_words=False, break_on_hyphens=False)), *examples]


class FurnaceDiag(LazyGroup):
    """The program: bad input is told in plain words with status 2; no traceback reaches a user."""

    def make_context(self, info_name: str | None, args: list[str], parent: click.Context | None = None, **extra: Any) -> click.Context:
        extra.setdefault("terminal_width", width())
        return super().make_context(info_name, args, parent, **extra)

    def invoke(self, ctx: click.Context) -> Any:
        from furnace_diag.problems import BadInput

        gc.set_threshold(GARBAGE_EVERY, 20, 20)
        atexit.register(gc.freeze)  # what is left at the end goes with the process: nobody need look for garbage in it
        try:
            return super().invoke(ctx)
        except BadInput as bad:
            for problem in bad.problems:
                click.echo("\n".join(_problem_lines(problem)), err=True)
            ctx.exit(2)
        except BrokenPipeError:
            raise
        except (OSError, MemoryError) as error:
            from furnace_diag.problems import printable

            click.echo(f"The system refused: {printable(str(error) or 'out of memory')}. Try again once that is mended.", err=True)
            ctx.exit(2)
        except (click.ClickException, click.exceptions.Exit, click.Abort):
            raise
        except Exception as error:
            if os.environ.get(WITH_TRACEBACK):
                raise
            _tell_own_fault(error)
            ctx.exit(FAILED_ITSELF)


def _tell_own_fault(error: Exception) -> None:
    """What is said where the program itself is wrong."""
    import textwrap

    from furnace_diag.problems import printable

    innermost = error.__traceback__
    while innermost is not None and innermost.tb_next is not None:
        innermost = innermost.tb_next
    where = f"{os.path.basename(innermost.tb_frame.f_code.co_filename)}:{innermost.tb_lineno}" if innermost else "an unknown place"
    what = f"furnace_diag itself failed here, and you did nothing wrong ({type(error).__name__} at {where}: {printable(str(error), MOST_OF_FAULT)})."
    fix = f"Nothing entered in a visit is lost: furnace-diag visit --resume goes on. Tell whoever looks after the program; {WITH_TRACEBACK}=1 shows them more."
    click.echo("\n".join(textwrap.wrap(f"{what} {fix}", width(), break_long_words=False, break_on_hyphens=False)), err=True)


@click.group(
    cls=FurnaceDiag,
    context_settings={"help_option_names": ["-h", "--help"]},
    epilog="\b\nExample:\n  furnace-diag rank cases/no_blower_heat_relay.yaml",
)
@click.version_option(__version__, prog_name="furnace-diag")
def main() -> None:
    """Find the failed part of a gas furnace before a board is replaced.

    Work on a furnace only as your licence and local codes allow.
    """
