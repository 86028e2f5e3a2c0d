"""What a terminal of 30 lines and 40 columns shows at once."""

from __future__ import annotations

import pytest

from furnace_diag.cli.visit_desk import Desk
from furnace_diag.visit.session import Session
from tests.visit.playing import Script, desk

LINES = 30
SAFE = "nnnnnnn"
V2 = "bad board swapped last week still no heat. inducer fires up then nothin, 3 flashes says press switch"


class Begins(Script):
    """Answers the questions of the start, Enter where no line is left, and goes at the first prompt."""

    def ask(self, prompt: str) -> str | None:
        return None if prompt == "> " else next(self.lines, "")


@pytest.mark.parametrize("lines", [
    [V2, *SAFE, "", "", "", "board no change", "hose new no change"],
    ["no heat", *SAFE, "y", "y"],
    ["no heat", *SAFE, "y", "y", "n"],
    ["blower wont come on", *SAFE, "y", "y", "y"],
    ["no heat, light blinks pressure switch open", *SAFE, "y", "y", "n"],
    ["burners lite then kick off after a few min, blower just hums barely moves air", *SAFE],
])  # fmt: skip
def test_the_first_ranking_of_a_visit_fits(session: Session, capsys: pytest.CaptureFixture[str], lines: list[str]) -> None:
    Desk(session, Begins(lines), lambda: 40).run()
    out = capsys.readouterr().out.splitlines()
    start = max(n for n, line in enumerate(out) if line.startswith("Heat call:"))
    end = max(n for n, line in enumerate(out) if line.startswith("Kept in"))
    screen = out[start:end]
    assert len(screen) < LINES  # and the prompt
    assert any("%" in line for line in screen)  # who leads
    assert any(line.startswith(("NEXT", "Worth")) for line in screen)


@pytest.mark.parametrize("line", ["smell gas", "burner box scorched"])
def test_what_stops_a_visit_fits_with_what_leads(session: Session, capsys: pytest.CaptureFixture[str], line: str) -> None:
    Desk(session, Begins(["no heat", *SAFE, "y", "y", "n"]), lambda: 40).run()
    capsys.readouterr()
    desk(session, [line])
    out = capsys.readouterr().out.splitlines()
    start = max(n for n, each in enumerate(out) if each.startswith("STOP. "))
    end = max(n for n, each in enumerate(out) if each.startswith("Kept in"))
    assert len(out[start:end]) < LINES


ALMOST = "heat terminal to neutral 0.3 at heating low on pin load on"


@pytest.mark.parametrize(("command", "told"), [("help", "help all"), ("proof", "proof all")])
@pytest.mark.parametrize("lines", [[ALMOST], [ALMOST, "line to neutral at board 120 pin at heating", "plugs refitted same"]])
def test_a_command_that_tells_much_fits_and_ends_with_what_is_next(
    session: Session, capsys: pytest.CaptureFixture[str], command: str, told: str, lines: list[str]
) -> None:
    Desk(session, Begins(["no heat", *SAFE, "y", "y", "y", "y", "n"]), lambda: 40).run()
    made = desk(session, lines)
    capsys.readouterr()
    made.do(command)
    short = capsys.readouterr().out
    made.do(told.split()[0], "all")
    assert len(short.splitlines()) < LINES
    assert f"`{told}`" in short
    assert short.splitlines()[-1].startswith(("NEXT", "  ", "`"))
    assert len(capsys.readouterr().out.splitlines()) > len(short.splitlines())


def test_help_before_the_first_screen_tells_of_nothing_that_is_next(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, ["no heat", "help"])
    told = capsys.readouterr().out
    assert "`help all`" in told
    assert "NEXT" not in told


@pytest.mark.parametrize("command", ["proof", "assumed"])
@pytest.mark.parametrize(("lines", "ends"), [([], "NEXT (Enter): "), (["smell gas", "y"], "STOP")])
def test_a_long_list_ends_with_what_to_do_next(session: Session, capsys: pytest.CaptureFixture[str], command: str, lines: list[str], ends: str) -> None:
    Desk(session, Begins(["no heat", *SAFE, "y", "y", "n"]), lambda: 40).run()
    desk(session, lines)
    capsys.readouterr()
    desk(session, [command])
    out = capsys.readouterr().out.splitlines()
    last = out[: max(n for n, line in enumerate(out) if line.startswith("Kept in"))][-5:]
    assert any(line.startswith(ends) for line in last), last


def test_all_of_a_proof_is_told_on_request_and_what_begins_like_it_is_a_record(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    Desk(session, Begins(["no heat", *SAFE, "y", "y", "y", "y", "n"]), lambda: 40).run()
    desk(session, [ALMOST])
    capsys.readouterr()
    desk(session, ["proof all", "proof noted yes"])
    assert "108 to 132 V" in capsys.readouterr().out
    assert session.record(session.visit.entries[-1]).name == "proof_written_down"


def test_the_steps_of_a_call_fit_and_the_others_are_told_on_request(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, ["no heat", *SAFE, "", "", "", "", "", ""])
    told = {}
    for line in ("steps", "steps all"):
        capsys.readouterr()
        desk(session, [line])
        told[line] = capsys.readouterr().out
        told[line] = told[line][told[line].index("A heat call goes through") :]
    assert told["steps"].index("Type one behind a reading") < told["steps"].index("Kept in")
    assert len(told["steps"][: told["steps"].index("Kept in")].splitlines()) < LINES
    others = [s for s in session.vocabulary.sequence.steps if s.step not in session.vocabulary.sequence.order and s.reached_by]
    assert all(s.says in " ".join(told["steps all"].split()) for s in others)
    assert all(s.step.replace("_", " ") in " ".join(told["steps"].split()) for s in others)
