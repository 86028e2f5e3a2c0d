"""What a trial at the prompt typed and was not understood, each beside what looks like it and is something else."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest

from furnace_diag.cli.visit_values import ask_for
from furnace_diag.diagnosis.choice import Outcome
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.report.terminal import one_to_the_eye
from furnace_diag.report.visit_customer import customer_form
from furnace_diag.visit.complaint import told_in
from furnace_diag.visit.journal import Journal
from furnace_diag.visit.session import Session
from furnace_diag.visit.summary import summary_of
from tests.visit.playing import FAULT, START, ByHand, Play, desk


def flat(text: str) -> str:
    return " ".join(text.split())


def last(session: Session) -> tuple[str, object, str | None]:
    record = session.record(session.visit.entries[-1])
    return record.name, record.word if record.number is None else record.number, record.step


# --- words -------------------------------------------------------------------------------------


@pytest.mark.parametrize(("line", "told"), [
    ("blower is on the wrong speed", ("blower_speed_in_heat", "wrong", None)),
    ("the blower is running too fast in heat", ("blower_speed_in_heat", "too_fast", None)),
    ("blower runs on high speed in heat", ("blower_speed_in_heat", "too_fast", None)),
    ("blower way too fast", ("blower_speed_in_heat", "too_fast", None)), ("blower too slow", ("blower_runs", "slow", None)),
    ("power cycle gets it going for one call", ("power_reset_helps", "yes", None)),
    ("have to shut the power off and on to get heat", ("power_reset_helps", "yes", None)),
    ("furnace only starts after you cycle the power", ("power_reset_helps", "yes", None)),
    ("blower turns free", ("blower_turns_freely", "free", None)), ("inducer turns stiff", ("inducer_turns_freely", "stiff", None)),
    ("blower turns", ("blower_runs", "yes", None)), ("inducer turns", ("inducer_runs", "yes", None)),
    ("heat output drops out", ("heat_output_drops_out", "yes", None)), ("heat output 120 at heating", ("heat_terminal_to_neutral", 120.0, "heating")),
])  # fmt: skip
def test_it_is_kept_as_it_was_meant(session: Session, line: str, told: tuple[str, object, str | None]) -> None:
    desk(session, [*START, line])
    assert last(session) == told


@pytest.mark.parametrize(
    "line",
    ["blower too fast in cooling", "blower runs on high speed in cooling", "blower runs on high speed", "inducer too fast", "works after reset of the rollout",
     "works after reset", "turned the power off and on, no change", "line 120 at call", "line 120 at call pin", "wheel turns by hand"],
)  # fmt: skip
def test_what_is_of_something_else_or_not_plain_is_not_kept_unasked(session: Session, line: str) -> None:
    desk(session, [*START])
    before = len(session.visit.entries)
    desk(session, [line])
    assert len(session.visit.entries) == before


def test_of_several_on_a_pin_the_boards_own_stands_first(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*START, "line 120 at call pin", "1"])
    record = session.record(session.visit.entries[-1])
    assert (record.name, record.contact, record.step) == ("line_to_neutral_at_board", "pin", "call")
    assert "line wire to neutral" not in flat(capsys.readouterr().out)  # that is the crimp


def test_a_name_alone_asks_for_its_value(session: Session) -> None:
    desk(session, [*START, "limit return at board", "25"])
    assert last(session)[:2] == ("limit_return_to_c_at_board", 25.0)


def test_the_wheel_that_turns_by_hand_is_asked_for(session: Session) -> None:
    desk(session, [*START, "wheel turns by hand", "2"])
    assert last(session)[:2] == ("inducer_turns_freely", "free")


# --- the questions of the start, and values ----------------------------------------------------


def test_sentences_answer_the_questions_of_the_start(session: Session) -> None:
    desk(session, ["no heat", "I don't smell anything", "there isn't one in the house", *"nnnnn", "well the light is on but nothing moves"])
    told = {session.record(e).name: session.record(e).word for e in session.visit.entries}
    assert told["gas_smell"] == "none"
    assert told["whole_furnace"] == "light_only"
    assert told["co_alarm"] == "there_is_none"  # that is none that is silent: nothing watches there
    assert session.open_safety() == []


@pytest.mark.parametrize(("before", "line", "good"), [([], "I smell something", "none"), ([*"nnnnnnn"], "the light is on and the inducer moves", "light_only")])
def test_their_neighbours_do_not(session: Session, before: list[str], line: str, good: str) -> None:
    desk(session, ["no heat", *before, line])
    assert not any(session.record(e).word == good for e in session.visit.entries[len(before) :])


def test_an_alarm_that_is_not_there_is_no_silent_one(evidence: Evidence) -> None:
    checks = evidence.knowledge.check["room_air_is_safe"].any_of
    assert not any("there_is_none" in w.is_ for way in checks for w in way if w.sign == "co_alarm")


def test_what_is_told_beside_a_figure_is_kept_as_a_remark(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*START, "secondary volts at board", "its like 26 with the blower off"])
    record = session.record(session.visit.entries[-1])
    assert (record.name, record.number, record.note) == ("secondary_volts_at_board", 26.0, "with the blower off")
    assert "not weighed: with the blower off" in flat(capsys.readouterr().out)


@pytest.mark.parametrize("line", ["26 with the humidifier pulled", "26 with my old meter", "like new"])
def test_a_figure_beside_which_anything_else_stands_is_not_kept(session: Session, line: str) -> None:
    desk(session, [*START, "secondary volts at board", line])
    assert not any("point" in e.record for e in session.visit.entries)


def test_a_figure_that_no_furnace_reads_is_told_of_open_circuits_too(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    population = session.evidence.population
    assert np.isposinf(population.table[population.columns["limit_ohms", "power_off", ""]]).any()
    desk(session, [*START, "limit ohms 900 at power off", ""])
    assert "or OL there" in flat(capsys.readouterr().out)


def test_words_for_one_thing_are_one_outcome() -> None:
    one = [Outcome("no", 0.28, "inducer:winding_open", 0.4), Outcome("silent", 0.28, "inducer:winding_open", 0.4), Outcome("yes", 0.44, "igniter:open", 0.2)]
    assert one_to_the_eye(one) == [Outcome("no or silent", 0.56, "inducer:winding_open", 0.4), Outcome("yes", 0.44, "igniter:open", 0.2)]
    apart = [Outcome("no", 0.28, "inducer:winding_open", 0.4), Outcome("hums", 0.28, "inducer:seized", 0.4)]
    assert one_to_the_eye(apart) == apart


# --- steps, and what asks ----------------------------------------------------------------------


@pytest.mark.parametrize("line", ["which step am I at", "which step", "what step is this", "how do I know which step it is", "steps"])
def test_which_step_it_is_can_be_asked(session: Session, capsys: pytest.CaptureFixture[str], line: str) -> None:
    desk(session, START)
    before = list(session.visit.entries)
    capsys.readouterr()
    desk(session, [line])
    said = flat(capsys.readouterr().out)
    sequence = session.vocabulary.sequence
    assert all(s.says in said for s in sequence.steps if s.step in sequence.order)
    assert session.visit.entries == before


def test_a_note_of_which_step_it_was_is_a_note(session: Session) -> None:
    desk(session, [*START, "note nobody knows which step it was"])
    assert [text for _, text in session.visit.notes] == ["nobody knows which step it was"]


@pytest.mark.parametrize("line", ["how do I know which step it is", "which step is it", "how do i start", "where do I begin"])
def test_a_question_is_no_complaint(session: Session, tmp_path: Path, evidence: Evidence, line: str) -> None:
    desk(session, [line, "no heat", *"nnnnnnn"])
    assert session.visit.complaint == "no heat"
    form = customer_form(summary_of(tmp_path / "v.jsonl", evidence))
    assert not any(line in sentence for _, sentences in form for sentence in sentences)


@pytest.mark.parametrize("line", ["how it goes out after a minute is odd", "what I hear is a hum", "which is dead since Monday"])
def test_what_only_begins_like_one_is_a_complaint(session: Session, line: str) -> None:
    desk(session, [line, *"nnnnnnn"])
    assert session.visit.complaint == line


# --- a repair ----------------------------------------------------------------------------------


def test_it_works_now_is_for_the_checks_to_show(tmp_path: Path, evidence: Evidence, capsys: pytest.CaptureFixture[str]) -> None:
    play = Play(tmp_path / "v.jsonl", evidence)
    play.begin()
    play.prove()
    play.mend()
    before = len(play.session.visit.entries)
    desk(play.session, ["it works now"])
    said = flat(capsys.readouterr().out)
    assert "comes and goes" not in said
    assert "the checks after the repair show that" in said
    assert len(play.session.visit.entries) == before
    play.journal.close()


def test_a_repair_goes_on_at_its_page_after_the_program_was_stopped(tmp_path: Path, evidence: Evidence, capsys: pytest.CaptureFixture[str]) -> None:
    family = evidence.family.furnace.furnace
    first = Journal(tmp_path / "v.jsonl", new=True)
    session = Session(evidence.knowledge, evidence, first, family)
    desk(session, [*START, "igniter ohms OL", "igniter glows no"])
    ByHand(session, ["mend igniter", "", ""])
    pages = dict(session.visit.pages)
    entries = list(session.visit.entries)
    assert [*pages.values()] == [2]
    first.close()

    again = Journal(tmp_path / "v.jsonl", new=False)
    taken_up = Session(evidence.knowledge, evidence, again, family)
    assert taken_up.visit.pages == pages
    capsys.readouterr()
    ByHand(taken_up, ["mend igniter"])
    assert "On from where it was left." in flat(capsys.readouterr().out)
    taken_up.undo()  # takes back the last entry, and no page
    assert len(taken_up.visit.entries) == len(entries) - 1
    again.close()


def test_a_repair_that_is_done_begins_anew_if_it_is_done_again(tmp_path: Path, evidence: Evidence) -> None:
    play = Play(tmp_path / "v.jsonl", evidence)
    play.begin()
    repair = next(r for r in evidence.knowledge.repair.values() if FAULT.part in r.of)
    play.tell("page", repair=repair.repair, page=2)
    assert play.session.visit.pages == {repair.repair: 2}
    play.mend(repair.repair)
    assert play.session.visit.pages == {}
    play.journal.close()



@pytest.mark.parametrize("line", ["mv volts 0.2", "gas valve volts 0.2", "0.2"])
def test_a_reading_named_once_more_where_its_value_is_asked_for_is_taken_as_it_was_asked(session: Session, line: str) -> None:
    """Told that it is taken at that step, nobody says the step again."""
    made = desk(session, ["no heat", *"nnnnnnn", "", "", "", "", "", "", "igniter glows bright at ignition trial", "gas valve clicks no at ignition trial"])
    ask_for(made, "point", "gas_valve_volts", {"step": "ignition_trial"}, given=line, quiet=True)
    record = session.record(session.visit.entries[-1])

    assert (record.name, record.number, record.step) == ("gas_valve_volts", 0.2, "ignition_trial")


@pytest.mark.parametrize("before", [[], [""]], ids=["at the prompt", "where another value is asked for"])
def test_no_step_is_offered_that_the_call_does_not_get_to(session: Session, capsys: pytest.CaptureFixture[str], before: list[str]) -> None:
    """No flame comes: nobody reads anything later in that call."""
    desk(session, [*START, "meter low", "igniter glows bright at ignition trial", "burners light no", *before, "gas pin 25"])
    said = flat(capsys.readouterr().out)

    assert "gas pin to c: 25" in said
    assert re.search(r"such as: fix \d+ 25 at ignition trial", said)


# our own words: how somebody corrects himself, and what tells no correction
@pytest.mark.parametrize(
    ("line", "meant"),
    [
        ("oh, wait. 24 v", "24 v"), ("wait no, inducer doesnt run", "inducer doesnt run"), ("i mean 24 v", "24 v"), ("sorry i meant hums", "hums"),
        ("hold on 24", "hold on 24"),
    ],
)  # fmt: skip
def test_what_comes_behind_a_correction_is_meant(line: str, meant: str, session: Session) -> None:
    assert session.replies.put_right_first(line) == meant


@pytest.mark.parametrize(
    ("line", "part"), [("i just put in a new 7.5 mfd capacitor", "capacitor"), ("fitted new 10uf cap", "cap"), ("new one 4.4", ""), ("i just new", "")]
)
def test_of_a_new_part_that_was_fitted_the_size_is_left_out(line: str, part: str, session: Session) -> None:
    assert session.replies.fitted(line) == part


# short words and slips of a trial; common practice, no source
@pytest.mark.parametrize(
    ("line", "kept"),
    [
        ("heat term 119 htg lead on", [{"point": "heat_terminal_to_neutral", "value": "119", "step": "heating", "set_up": ["load_on"]}]),
        ("clg term 119 clg", [{"point": "cool_terminal_to_neutral", "value": "119", "step": "cooling_call"}]),
        ("works fine in cooling", [{"sign": "blower_runs", "value": "yes", "step": "cooling_call"}]),
        ("fan works on cool not on heat", [{"sign": "blower_starts_in_heat", "value": "does_not_start"}]),
        ("works when i smack the panel", [{"sign": "fault_comes_and_goes", "value": "yes"}]),
        ("inducer wheel drags when i spin it", [{"sign": "inducer_turns_freely", "value": "drags when i spin it"}]),
        ("blower wheel drags a bit", [{"sign": "blower_turns_freely", "value": "drags a bit"}]),
        ("hose ok no water", [{"sign": "pressure_hose_looks", "value": "ok"}, {"sign": "water_in_hose", "value": "no water"}]),
        ("blower hums no air", [{"sign": "blower_runs", "value": "hums"}, {"sign": "air_at_registers", "value": "none"}]),
        ("never works on cool", []), ("smack the panel", []), ("fan runs no air", []), ("drags when spun", []),
    ],
)  # fmt: skip
def test_short_words_tell_what_they_stand_for_and_nothing_else(line: str, kept: list[dict[str, object]], session: Session) -> None:
    desk(session, [*START, line])
    assert [{k: v for k, v in e.record.items() if k != "sure"} for e in session.visit.entries[7:]] == kept


@pytest.mark.parametrize(
    ("complaint", "told"),
    [
        ("works fine on cool, no blower on heat", {"blower_starts_in_heat": "no", "blower_runs": "yes"}),
        ("works when i smack the panel", {"fault_comes_and_goes": "yes"}),
        ("doesnt work on cool", {}), ("smacked the panel, nothing", {}),
    ],
)  # fmt: skip
def test_of_cooling_and_of_a_blow_on_the_panel_a_complaint_tells(complaint: str, told: dict[str, str], session: Session) -> None:
    heard = told_in(complaint, session.reader)
    assert {str(t.record["sign"]): str(t.record["value"]) for t in heard} == told
    assert all(t.record.get("step") == "cooling_call" for t in heard if t.record["sign"] == "blower_runs")


@pytest.mark.parametrize(
    ("line", "note"),
    [
        ("limit jumped", "limit jumped"), ("jumped the rollout", "jumped the rollout"), ("limit switch bypassed", "limit switch bypassed"),
        ("ps bypassed", "pressure switch bypassed"), ("safety bypassed", None),
    ],
)  # fmt: skip
def test_which_switch_was_bridged_is_kept_and_shown(line: str, note: str | None, session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*START, line, "list"], width=80)
    record = session.visit.entries[7].record
    assert (record["sign"], record["value"], record.get("note")) == ("safety_bypassed", "yes", note)
    assert f"8. safety bypassed: yes ({note})" in capsys.readouterr().out or note is None


@pytest.mark.parametrize("complaint", ["door taped shut", "nothing is jumped", "the pressure jumped"])
def test_and_what_is_no_bridged_switch_stops_nothing(complaint: str, session: Session) -> None:
    assert not [t for t in told_in(complaint, session.reader) if t.record.get("value") == "yes"]


# of a motor that runs, if not long or not as it should, nobody says that it does not run; common practice, no source
@pytest.mark.parametrize(
    ("complaint", "told"),
    [
        ("jumped r w blower dont come on", "no"), ("blower just wont kick in", "no"), ("fan motor never starts", "no"), ("fan is dead", "is dead"),
        ("blower doesnt run long", None), ("fan does not come on until late", None), ("blower not running right", None), ("blower wont turn off", None),
        ("fan is not dead", None),
    ],
)  # fmt: skip
def test_a_complaint_of_a_blower_tells_that_it_stands_only_where_it_does(complaint: str, told: str | None, session: Session) -> None:
    heard = {str(t.record["sign"]): str(t.record["value"]) for t in told_in(complaint, session.reader)}
    assert heard.get("blower_runs") == told


# common practice, no source: a fuse that blows with the thermostat's wires off blows by no call on W
@pytest.mark.parametrize(
    ("line", "kept"),
    [
        ("fuse pops w stat wires off", None), ("fuse blows w tstat wires off", None), ("fuse blows on w", ["fuse_blows_again"]),
        ("ps open 24 in 0 out at inducer start", ["pressure_switch_contact", "pressure_switch_feed_to_c", "pressure_switch_out_to_c"]),
        ("ps open 24 in, 0 out", ["pressure_switch_contact", "pressure_switch_feed_to_c", "pressure_switch_out_to_c"]),
        ("119 blwr plug htg", ["blower_volts_at_motor_heat"]), ("condensate in hose no", ["water_in_hose"]),
    ],
)  # fmt: skip
def test_how_a_switch_stands_is_told_with_what_is_read_on_both_sides(line: str, kept: list[str] | None, session: Session) -> None:
    desk(session, [*START, line])
    assert [session.record(e).name for e in session.visit.entries[7:]] == (kept or [])


# our own words of a trial: which cable was chewed, and the switch's mark told in short
@pytest.mark.parametrize(
    ("line", "record"),
    [
        ("outdoor cable chewed", {"sign": "wire_chewed", "value": "yes"}), ("y wire rubbed thru on metal", {"sign": "wire_chewed", "value": "yes"}),
        ("draft .35 sw set .65", {"point": "draft", "value": ".35", "note": "sw set .65"}), ("outdoor cable not chewed", None),
    ],
)  # fmt: skip
def test_a_chewed_cable_and_a_mark_in_short_are_heard(line: str, record: dict[str, str] | None, session: Session) -> None:
    desk(session, [*START, line])
    assert [dict(e.record) for e in session.visit.entries[7:]] == ([record] if record else [])


# a part without power is read cold; common practice, no source
@pytest.mark.parametrize(
    ("line", "record"),
    [
        ("ign ohms 52 cold", {"point": "igniter_ohms", "value": "52", "note": "cold"}),
        ("limit ohms OL when cold", {"point": "limit_ohms", "value": "OL", "note": "when cold"}),
        ("limit open cold", {"sign": "limit_when_cold", "value": "open"}), ("draft .3 cold", None), ("ign ohms 52 hot", None),
    ],
)  # fmt: skip
def test_that_a_part_was_cold_as_its_ohms_were_read_is_a_remark(line: str, record: dict[str, str] | None, session: Session) -> None:
    desk(session, [*START, line])
    assert [dict(e.record) for e in session.visit.entries[7:]] == ([record] if record else [])


def test_and_beside_them_another_place_of_the_part_is_told(session: Session) -> None:
    desk(session, [*START, "ign ohms 52 cold, 119 at board pin warmup", "y"])
    assert [session.record(e).name for e in session.visit.entries[7:]] == ["igniter_ohms", "igniter_pin_to_neutral"]
