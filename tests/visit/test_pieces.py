"""A line of several things: what is understood of it is taken, what is not is said, and no danger is lost. Wording: common practice, no source."""

from __future__ import annotations

from pathlib import Path

import pytest

from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.visit.session import Session
from tests.visit.playing import START, Play, desk


def told(session: Session) -> dict[str, str | None]:
    return {r.name: r.word for r in map(session.record, session.visit.entries[7:])}


def said(capsys: pytest.CaptureFixture[str]) -> str:
    return " ".join(capsys.readouterr().out.split())


def test_each_thing_is_taken_and_what_it_leaves_open_is_asked(session: Session) -> None:
    desk(session, [*START, "inducer runs, no glow, no click", "y", "2"])
    assert told(session) == {"inducer_runs": "yes", "igniter_glows": "no", "gas_valve_clicks": "no"}


@pytest.mark.parametrize(("answer", "kept"), [("", {}), ("y", {"inducer_runs": "yes"})])
def test_a_rest_that_may_take_it_back_is_told_and_asked_about(
    session: Session, capsys: pytest.CaptureFixture[str], answer: str, kept: dict[str, str]
) -> None:
    desk(session, [*START, "inducer runs, only if tapped", answer])
    assert "Not understood, and not taken: only if tapped." in said(capsys)
    assert told(session) == kept


def test_a_danger_stands_whatever_becomes_of_the_rest(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*START, "inducer runs, no glow, smell gas, blah blah", "", ""])
    assert session.hazards()
    assert "not taken: blah blah." in said(capsys)
    assert told(session) == {}  # the danger took the place of an answer of the start, and Enter kept nothing of the rest


def test_what_comes_of_something_done_that_is_not_understood_is_not_taken(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*START, "filter clean, swopped the whatsit round, fuse holds", "y"])
    assert "not taken: swopped the whatsit round; fuse holds." in said(capsys)
    assert told(session) == {"filter_looks": "clean"}


def test_checks_of_a_repair_on_one_line_are_each_taken(tmp_path: Path, evidence: Evidence, capsys: pytest.CaptureFixture[str]) -> None:
    play = Play(tmp_path / "v.jsonl", evidence)
    play.begin()
    play.mend()
    before = len(play.session.visit.entries)
    desk(play.session, ["no jumpers, covers on, co 0 ppm"])
    kept = {r.name: r.word for r in map(play.session.record, play.session.visit.entries[before:])}
    assert kept["safety_bypassed"] == "no"
    assert kept["covers_back"] == "yes"
    assert "co_in_room" in kept
    assert "Read as: co in room 0 ppm" in said(capsys)  # and not "0 ppm" of nothing
    play.journal.close()


def test_a_line_that_is_not_taken_is_told_in_its_own_words(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*START, "watched 3 full calls", "unplugged and replugged everything, same", ""])
    text = said(capsys)
    assert "watched 3 full calls names call watched, but no value." in text
    assert "names power supply" not in text
    assert "1. plugs refitted: still the same 2. an earlier repair of board plug" in text


@pytest.mark.parametrize("line", ["door sw 31 v across", "door switch 31 across", "31 v across door sw"])
def test_a_figure_across_behind_a_thing_is_across_that_thing(session: Session, line: str) -> None:
    desk(session, [*START, line])
    (record,) = map(session.record, session.visit.entries[7:])
    assert (record.name, record.number) == ("across_door_switch", 31.0)


def test_a_figure_across_a_place_is_still_of_that_place(session: Session) -> None:
    desk(session, [*START, "ps 24 across the crimp"])
    assert {r.name for r in map(session.record, session.visit.entries[7:])} == {"pressure_return_crimp_to_c"}


@pytest.mark.parametrize("line", ["inducer wont turn off", "inducer doesn't turn off", "inducer not turning off", "inducer never stops"])
def test_what_wont_turn_off_is_nothing_that_wont_turn(session: Session, capsys: pytest.CaptureFixture[str], line: str) -> None:
    desk(session, [*START, line, "2"])
    assert "1. heat never stops: yes 2. inducer runs: yes at standby" in said(capsys)
    (record,) = map(session.record, session.visit.entries[7:])
    assert (record.name, record.word, record.step) == ("inducer_runs", "yes", "standby")


def test_what_stands_still_with_the_power_off_is_still_that(session: Session) -> None:
    desk(session, [*START, "inducer does not run power off"])
    (record,) = map(session.record, session.visit.entries[7:])
    assert (record.name, record.word, record.step) == ("inducer_runs", "no", "power_off")


@pytest.mark.parametrize(("line", "told_as"), [
    ("no 120v to igniter", "igniter volts at plug: 0 4."), ("no 120 at hsi during warmup", "igniter volts at plug: 0 at igniter warm up"),
    ("no 24 at ps return", 'Is this "pressure switch return to c: 0"?'),
])  # fmt: skip
def test_what_was_looked_for_and_is_not_there_is_asked_about(session: Session, capsys: pytest.CaptureFixture[str], line: str, told_as: str) -> None:
    desk(session, [*START, line, ""])
    assert told_as in said(capsys)
    assert told(session) == {}  # another figure may have been there


@pytest.mark.parametrize("line", ["nah igniter fine 65 ohm", "nah, igniter fine 65 ohm", "igniter ok 65 ohm"])
def test_what_somebody_thinks_of_a_figure_is_no_part_of_it(session: Session, line: str) -> None:
    desk(session, [*START, line])
    assert [(r.name, r.number) for r in map(session.record, session.visit.entries[7:])] == [("igniter_ohms", 65.0)]


@pytest.mark.parametrize("line", ["igniter not fine 65 ohm", "no 2 at time", "no 24 to the yard", "no 25 at w 2 days ago"])
def test_and_what_is_denied_or_of_no_place_is_not_kept(session: Session, line: str) -> None:
    desk(session, [*START, line])
    assert told(session) == {}


def test_ohms_of_the_field_wires_are_of_the_cable_and_asked_how_they_were_read(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*START, "field r to c 0.3 ohm", "y"])
    assert "every field wire off the board" in said(capsys)
    assert {r.name for r in map(session.record, session.visit.entries[7:])} == {"thermostat_cable_r_to_c_ohms"}


NO_GLOW = ["inducer runs", "igniter glows no at igniter warm up", "burners light no", "light says ignition failed", "ign ohms 62 at power off", "0.2"]


def test_a_reading_at_the_load_is_never_guessed_to_be_the_boards_own(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    """The pin is asked for, and "at hsi" is the igniter: dead there with a live pin is a plug or a wire, and no board (Kirchhoff). It is asked which; what
    names the pin, and a figure alone, is of what is asked for."""
    desk(session, [*START, *NO_GLOW])
    assert session.answer().next[0].name == "igniter_pin_to_neutral"
    before = len(session.visit.entries)
    capsys.readouterr()
    desk(session, ["no 120 at hsi during warmup", ""])
    asked = said(capsys)
    assert len(session.visit.entries) == before
    assert "igniter volts at plug" in asked
    assert "igniter pin to neutral" in asked
    desk(session, ["0.2"])
    assert session.record(session.visit.entries[-1]).name == "igniter_pin_to_neutral"


def test_what_was_understood_is_asked_about_again_once_another_line_is_heard(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*START, "filter clean, blah blah foo, breaker on", "igniter looks whole", "y"])
    assert {"filter_looks", "igniter_looks", "breaker_position"} <= {e.record.get("sign") for e in session.visit.entries}
    capsys.readouterr()
    desk(session, ["door switch pressed, blah blah foo, gas cock open", "door switch not pressed", ""])  # the switch was told anew, the cock is dropped
    said = " ".join(capsys.readouterr().out.split())
    assert said.count("Understood:") == 2
    assert "door switch" not in said.rpartition("Understood:")[2].partition("Nothing kept")[0]
    assert "gas_cock_position" not in {e.record.get("sign") for e in session.visit.entries}


def test_what_was_understood_is_not_kept_for_a_call_that_began_since(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*START, "filter clean, blah blah foo, breaker on", "call", "y"])
    assert "filter_looks" not in {e.record.get("sign") for e in session.visit.entries}
    assert "Not kept, for it was before that: filter looks: clean; breaker position: on" in " ".join(capsys.readouterr().out.split())


@pytest.mark.parametrize(("answers", "kept"), [(["2"], "filmed"), (["1"], "clean"), ([""], None)])
def test_two_things_of_one_sign_are_asked_about_with_what_each_is_kept_as(
    session: Session, capsys: pytest.CaptureFixture[str], answers: list[str], kept: str | None
) -> None:
    """What "rod clean, looks gray" means is for whoever looked at it to say; what is plain beside it is kept before that."""
    desk(session, [*START, "rod clean, looks gray, filter clean", *answers])
    shown = said(capsys)
    assert "1. flame rod looks: clean 2. flame rod looks: filmed" in shown
    assert told(session) == {"filter_looks": "clean"} | ({"flame_rod_looks": kept} if kept else {})


@pytest.mark.parametrize(("line", "kept"), [
    ("burners light, burners drop out", {"burners_light": "drop_out"}), ("rod filmed, rod dirty", {"flame_rod_looks": "filmed"}),
])  # fmt: skip
def test_what_is_only_told_more_closely_or_again_is_not_asked_about(session: Session, line: str, kept: dict[str, str]) -> None:
    desk(session, [*START, line])
    assert told(session) == kept


STUCK = {"pressure_switch_contact": "open", "pressure_switch_feed_to_c": 24.0, "pressure_switch_out_to_c": 0.0}
FED = {"pressure_switch": ("pressure_switch_feed_to_c", "pressure_switch_out_to_c"), "limit": ("limit_feed_to_c", "limit_out_to_c")}


def figures(session: Session, since: int) -> list[tuple[str, float | None, str | None]]:
    return [(r.name, r.number, r.step) for r in map(session.record, session.visit.entries[since:]) if r.kind == "point"]


@pytest.mark.parametrize(("line", "of", "shown", "step"), [
    ("ps closed 24 24", "pressure_switch", 24.0, None), ("ps closed 24 in 24 out", "pressure_switch", 24.0, None),
    ("ps 24/24", "pressure_switch", 24.0, None), ("limit 24, 24", "limit", 24.0, None), ("limit 24v 24v at heating", "limit", 24.0, "heating"),
    ("ps closed 24.6 and 24.6", "pressure_switch", 24.6, None),
])  # fmt: skip
def test_the_same_figure_twice_is_of_both_sides(session: Session, line: str, of: str, shown: float, step: str | None) -> None:
    """A switch that is closed has the same volts on both sides (Kirchhoff); whoever tells the figure twice has read both. Common practice, no source."""
    before = len(desk(session, [*START]).session.visit.entries)
    desk(session, [line])
    assert figures(session, before) == [(name, shown, step) for name in FED[of]]


@pytest.mark.parametrize(("line", "of"), [("ps 24 0", "pressure_switch"), ("limit 24 0", "limit"), ("limit 24v / 0v", "limit")])
def test_two_figures_of_one_thing_are_both_told_back_before_they_are_kept(
    session: Session, capsys: pytest.CaptureFixture[str], line: str, of: str
) -> None:
    """Which is which the line does not say; a nought kept alone, as of the side that is fed, would be the opposite of what was read."""
    before = len(desk(session, [*START]).session.visit.entries)
    desk(session, [line, ""])
    assert figures(session, before) == []
    shown = said(capsys)
    assert all(f"{name.replace('_', ' ')}: {figure}" in shown for name, figure in zip(FED[of], (24, 0), strict=True))
    desk(session, [line, "y"])
    assert figures(session, before) == [(name, figure, None) for name, figure in zip(FED[of], (24.0, 0.0), strict=True)]


@pytest.mark.parametrize("line", ["hsi plug 120 0", "inducer 120 0", "thermostat 24 0", "gas valve 24 0", "line 120 0"])
def test_of_two_figures_none_is_taken_for_the_beginning_of_a_name(session: Session, line: str) -> None:
    """"24 v at w" is a name of a place, and "valve 24" before another figure is not: that figure was kept alone."""
    before = len(desk(session, [*START]).session.visit.entries)
    desk(session, [line, "1", ""])
    assert figures(session, before) == []


@pytest.mark.parametrize(("line", "step"), [
    ("air weak at registers heating", "heating"), ("air weak at registers in cooling", "cooling_call"), ("air weak at registers", None),
])  # fmt: skip
def test_a_value_amid_its_name_may_be_told_with_its_step(session: Session, line: str, step: str | None) -> None:
    desk(session, [*START, line])
    r = session.record(session.visit.entries[-1])
    assert (r.name, r.word, r.step) == ("air_at_registers", "weak", step)


def kept(session: Session, lines: list[str], asked: list[str]) -> dict[str, object]:
    """What *lines* leave in a visit, by name, with each line of *asked* typed before them in the same go."""
    before = len(desk(session, [*START]).session.visit.entries)
    desk(session, [*asked, *lines])
    return {r.name: r.word if r.number is None else r.number for r in map(session.record, session.visit.entries[before:])}


@pytest.mark.parametrize(("line", "answers", "told"), [
    ("sec 0 pri 121", [], {"primary_volts": 121.0, "secondary_volts_at_leads": 0.0}),
    ("xfmr 121 in 0 out", [], {"primary_volts": 121.0, "secondary_volts_at_leads": 0.0}),
    ("gas at inlet 6.8 wc, out 0", [], {"inlet_pressure": 6.8, "manifold_pressure": 0.0}),
    ("gas in 6.8 out 3.4", [], {"inlet_pressure": 6.8, "manifold_pressure": 3.4}),
    ("cap 1.1 on a 7.5, can bulged", ["y"], {"capacitor_microfarads": 1.1, "capacitor_against_mark": "outside", "capacitor_looks": "bulged_or_oily"}),
    ("ps stuck open, 24 in 0 out", ["y"], STUCK), ("ps stuck open, 24 in 0 out w ind running", ["y"], STUCK),
    ("ps stuck open, 24 in 0 out", [""], {}), ("120 at inducer motor, hums, blah blah", ["y"], {"inducer_volts_at_motor": 120.0, "inducer_runs": "hums"}),
    ("24.8 across valve at trial, clicks", [], {"gas_valve_volts": 24.8, "gas_valve_clicks": "yes"}),
])  # fmt: skip
def test_a_piece_tells_as_much_as_it_would_as_a_line(session: Session, line: str, answers: list[str], told: dict[str, object]) -> None:
    """What names nothing itself is of what the first piece is of, and asked about. Common practice, no source."""
    assert kept(session, [line, *answers], []) == told


@pytest.mark.parametrize(("line", "answers", "told"), [
    ("0.4ua, rod wire good .3 ohm", [], {"flame_current": 0.4, "rod_wire_end_to_end_ohms": 0.3}),
    ("flame 0.4ua, rod wire good .3 ohm, blah strap", ["y"], {"flame_current": 0.4, "rod_wire_end_to_end_ohms": 0.3}),
    ("flame 0.4ua, rod wire good .3 ohm, blah strap", [""], {}),
    ("0.4ua, blah strap", [""], {}), ("0.4, 0.5", [""], {}),
])  # fmt: skip
def test_where_a_value_is_asked_for_a_line_of_several_things_is_heard(
    session: Session, line: str, answers: list[str], told: dict[str, object]
) -> None:
    assert kept(session, [line, *answers], ["flame current"]) == told
