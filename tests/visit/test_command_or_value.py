"""A word that is a value of what is asked for and a command that the screen offers as well."""

from __future__ import annotations

import pytest

from furnace_diag.visit.session import Session
from furnace_diag.visit.typed import Typed
from tests.ours import our_rules
from tests.visit.playing import START, desk

KNOWLEDGE = our_rules()
OF_FUSE = {"part": "low_voltage_fuse", "failure": "blown", "repair": "renew_the_fuse"}


@pytest.fixture
def proving(session: Session) -> Session:
    """A fuse was renewed, and its checks stand on the screen."""
    desk(session, START)
    session.tell("repair", OF_FUSE)
    assert session.after() is not None
    return session


def kept(session: Session) -> list[tuple[str, str | None]]:
    return [(r.name, r.word) for r in map(session.record, session.visit.checking)]


def test_the_command_goes_before_a_value_by_another_word(proving: Session) -> None:
    assert "same" not in KNOWLEDGE.sign["fuse_rating"].values
    desk(proving, ["fuse rating", "same"])
    assert proving.visit.proving is None
    assert proving.record(proving.visit.entries[-1]).word == "replaced_no_change"
    assert not any(proving.record(e).name == "fuse_rating" for e in proving.visit.entries)


def test_before_a_repair_it_is_the_value(session: Session) -> None:
    desk(session, [*START, "fuse rating", "same"])
    assert (session.record(session.visit.entries[-1]).name, session.record(session.visit.entries[-1]).word) == ("fuse_rating", "as_marked")


@pytest.mark.parametrize(("number", "value", "goes_on"), [("1", [("plugs_refitted", "still_the_same")], True), ("2", [], False), ("", [], True)])
def test_of_a_value_spelled_so_it_is_asked_which(
    number: str, value: list[tuple[str, str]], goes_on: bool, proving: Session, capsys: pytest.CaptureFixture[str]
) -> None:
    assert "still_the_same" in KNOWLEDGE.sign["plugs_refitted"].values
    desk(proving, ["plugs refitted", "same", number])
    said = " ".join(capsys.readouterr().out.split())
    assert "1. plugs refitted: still the same" in said
    assert "2. `same`: the fault is still there after the repair" in said
    assert kept(proving) == value
    assert (proving.visit.proving is not None) is goes_on


def test_the_sign_of_the_open_check_goes_before_another_of_the_same_name(session: Session) -> None:
    """A flame that is out at once at the end of the call is what the check asks for, and no flame that goes out by itself."""
    desk(session, START)
    session.tell("repair", {"part": "gas_valve", "failure": "leaks_by", "repair": "replace_the_gas_valve"})
    open_check = "gas_shuts_off"
    while (state := session.after()) is not None and state.missing[0].condition != open_check:
        check = KNOWLEDGE.check[state.missing[0].condition]
        for entry in check.holds:
            for call in range(1, check.calls + 1):
                session.take(Typed({**entry, "call": str(call)}), sure=True)
    desk(session, ["flame out right away"])
    assert kept(session)[-1] == ("flame_out_at_end_of_call", "within_2_seconds")
    desk(session, ["flame goes out after minutes"])  # its own id in full
    assert kept(session)[-1] == ("flame_goes_out", "after_minutes")
