"""How a wheel turns by hand with the power off, in the words people use: free, or stiff, and never the one for the other. Common practice, no source."""

from __future__ import annotations

import pytest

from furnace_diag.visit.session import Session
from tests.visit.playing import START, desk

FREE = ["spins free", "spins freely", "turns free", "turns easily", "spins easy", "turns smoothly", "turns ok"]
STIFF = ["hard to spin", "hard to turn", "does not turn freely", "doesn't spin free", "won't turn freely", "wont turn easy", "wont spin", "turns hard",
         "is stiff", "tough to turn", "hardly turns"]  # fmt: skip
SAID = [*((said, "free") for said in FREE), *((said, "stiff") for said in STIFF)]


def last(session: Session) -> tuple[str, str | None]:
    record = session.record(session.visit.entries[-1])
    return record.name, record.word


@pytest.mark.parametrize("motor", ["inducer", "blower"])
@pytest.mark.parametrize(("said", "value"), SAID)
def test_by_hand_behind_it_changes_nothing_of_what_it_means(session: Session, motor: str, said: str, value: str) -> None:
    desk(session, [*START, f"{motor} {said} by hand"])
    assert last(session) == (f"{motor}_turns_freely", value)


@pytest.mark.parametrize(("said", "value"), SAID)
def test_of_a_wheel_alone_it_is_asked_which_and_told_back_as_what_it_would_be_kept_as(
    session: Session, capsys: pytest.CaptureFixture[str], said: str, value: str
) -> None:
    desk(session, [*START, f"wheel {said} by hand", "1"])
    assert {f"{motor} turns freely: {value}" for motor in ("inducer", "blower")} <= {line.strip()[3:] for line in capsys.readouterr().out.splitlines()}
    assert last(session)[1] == value


def test_without_a_wheel_too(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*START, "hard to spin by hand", ""])
    assert "turns freely: stiff" in capsys.readouterr().out


def test_what_was_only_understood_in_part_is_told_back_so_as_well(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*START, "motor hums, wheel does not spin freely by hand", ""])
    told = " ".join(capsys.readouterr().out.split())
    assert "turns freely: stiff" in told
    assert "spin f" not in told


def test_what_hums_and_does_not_turn_on_its_own_is_no_stiff_wheel(session: Session) -> None:
    """Nobody turned it."""
    for line in ("inducer wont turn", "blower does not spin"):
        desk(session, [*START, line])
        assert not last(session)[0].endswith("turns_freely")
