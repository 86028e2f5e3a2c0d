"""What an experiment needs is asked for before it, and one that a record forbids is not asked for."""

from __future__ import annotations

import pytest

from furnace_diag.knowledge.repair_checks import repair_problems
from furnace_diag.visit.session import Session
from tests.ours import our_rules
from tests.visit.playing import START, desk

KNOWLEDGE = our_rules()
OF_FUSE = [name for name, e in KNOWLEDGE.experiment.items() if "short_first" in e.cautions]
BLOWN = ["stops at dark", "secondary volts at board 27.1 at cooling call"]  # 24 V before the fuse and a dead furnace: the ranking wants a new fuse tried


def flat(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.parametrize("name", OF_FUSE)
def test_no_new_fuse_is_asked_for_before_the_old_one_was_seen_blown_and_the_short_looked_for(session: Session, name: str) -> None:
    """A blown fuse has a cause, looked for by ohms first: common practice, no source."""
    assert len(OF_FUSE) == 4
    desk(session, START)
    assert [n.condition for n in session.lacking_before(name)] == ["fuse_was_found_blown", "no_short_is_left"]
    desk(session, ["fuse looks blown", "field wires clear"])
    assert session.lacking_before(name) == ()


def test_enter_asks_for_the_fuse_and_the_short_and_only_then_for_a_new_fuse(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*START, *BLOWN])
    assert session.answer().next[0].name == "fuse_blows_again"
    capsys.readouterr()
    desk(session, ["", "blown", "", "clear"])
    said = flat(capsys.readouterr().out)
    told = [session.record(e).name for e in session.visit.entries[-2:]]
    assert told == ["fuse_looks", "field_wires_are"]
    before, _, _ = said.partition("field wires are: clear")
    short = flat(KNOWLEDGE.caution["short_first"].says)
    assert short.rstrip(".") not in before  # nothing of a new fuse stood on the screen as the thing to do
    desk(session, ["", ""])
    asked = flat(capsys.readouterr().out).rpartition("Only with a fuse of the size marked")[2]
    assert all(f"First: {flat(need)}" in asked for need in KNOWLEDGE.experiment["fuse_blows_again"].needs)
    assert all(flat(KNOWLEDGE.caution[c].says) in asked for c in KNOWLEDGE.experiment["fuse_blows_again"].cautions)  # in full, told before or not


def test_a_value_alone_is_of_what_is_asked_for_first(session: Session) -> None:
    desk(session, [*START, *BLOWN, "blown", "all OL"])
    assert [session.record(e).name for e in session.visit.entries[-2:]] == ["fuse_looks", "field_wires_are"]


@pytest.mark.parametrize("line", ["field wires shorted", "fuse looks good", "skip field wires are"])
def test_where_it_may_not_be_tried_it_is_not_asked_for(session: Session, line: str) -> None:
    desk(session, [*START, *BLOWN, line])
    answer = session.answer()
    assert not {n.name for n in answer.next} & {*OF_FUSE}
    assert answer.act is None or answer.act.check is None or answer.act.check.name not in OF_FUSE


def test_a_check_that_an_experiment_names_must_stand_in_the_rules() -> None:
    tried = KNOWLEDGE.experiment["fuse_blows_again"].model_copy(update={"needs_shown": ("no_such_check",)})
    rules = KNOWLEDGE.model_copy(update={"sign": {**KNOWLEDGE.sign, "fuse_blows_again": tried}})
    rules.__dict__.pop("experiment", None)  # worked out from the signs before they were changed
    assert any("no_such_check" in p.message for p in repair_problems(rules))


def test_what_was_told_twice_is_not_to_be_looked_at_again(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*START, "inducer runs no at inducer start", "stops at igniter warm up"])
    assert "Look again at \"stops at: igniter warm up\"" in flat(capsys.readouterr().out)
    desk(session, ["stops at igniter warm up"])
    assert "Look again at \"stops at" not in flat(capsys.readouterr().out).partition("the same twice")[2]


# What must be so before each, with a line that shows it and one by which it may not be tried; common practice, no source
NEEDED = {
    "starts_when_joined_at_board": (["r to c 26.5"], "r to c 0"),
    "starts_when_joined_at_thermostat": (["r to c 26.5"], "r to c 0"),
    "fan_when_r_g_joined_at_board": (["r to c 26.5"], "r to c 0"),
    "blower_when_r_y_joined_at_board": (["r to c 26.5"], "r to c 0"),
    "breaker_trips_again": (["breaker tripped"], "breaker on"),
    "door_switch_held": (["furnace dead"], "furnace does something"),
    "gas_off_when_hose_pulled": (["burners light yes"], "burners light no"),
    "burners_go_on_with_string_open": (["burners light yes"], "burners light no"),
    "air_with_filter_out": (["air at registers weak at heating"], "air at registers normal at heating"),
    "blower_starts_when_spun": (["blower runs no", "heat terminal to neutral 119 low at heating"], "heat terminal to neutral 0.1 low at heating"),
}


@pytest.mark.parametrize("name", NEEDED)
def test_what_an_experiment_needs_is_asked_first_and_where_it_is_not_so_it_is_not_tried(session: Session, name: str) -> None:
    shown, denied = NEEDED[name]
    desk(session, START)
    assert session.lacking_before(name)
    desk(session, shown)
    assert session.lacking_before(name) == ()
    desk(session, ["undo", denied])
    assert any(n.denied_by for n in session.lacking_before(name))
    assert not session._may_be_tried(name)


def test_a_blower_that_hums_is_fed_and_stands(session: Session) -> None:
    desk(session, [*START, "blower hums"])
    assert session.lacking_before("blower_starts_when_spun") == ()


def test_what_every_experiment_needs_in_words_is_asked_for_or_is_what_is_done_for_it() -> None:
    """The rest are told only: the power off while wires move, a fault that is there just then, the cock that is shut for it."""
    told_only = {"starts_with_thermostat_wires_off", "goes_on_with_thermostat_wires_off", "flame_reported_with_rod_off"}
    told_only |= {"plug_moved_helps", "wire_moved_changes_it", "board_pressed_helps", "relay_tapped_helps"}
    assert {name for name, e in KNOWLEDGE.experiment.items() if e.needs and not e.needs_shown} == told_only


@pytest.mark.parametrize(("line", "value"), [
    ("lifted the stat wires, fuse holds with r w jumped at board", "no"), ("thermostat wires off, R joined to W at the board, fuse holds", "no"),
    ("R W jumped at board runs ok fuse holds stat wires off", "no"), ("fuse holds with thermostat wires off and r w jumped", "no"),
    ("stat wires off, jumped r-w at board, fuse still blows", "yes"),
])  # fmt: skip
def test_the_trades_test_for_a_shorted_thermostat_cable(session: Session, line: str, value: str) -> None:
    desk(session, [*START, "fuse blows again on heat call", line])
    assert [(r.name, r.word) for r in map(session.record, session.visit.entries)][-1] == ("fuse_blows_with_thermostat_wires_off", value)


def test_with_the_wires_off_alone_nothing_was_called_for(session: Session) -> None:
    desk(session, [*START, "fuse holds with stat wires off", ""])
    assert "fuse_blows_with_thermostat_wires_off" not in {session.record(e).name for e in session.visit.entries}
