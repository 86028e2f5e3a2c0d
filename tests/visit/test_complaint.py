"""What is said at the complaint is not asked for again, and what is typed at a question is first an answer to it."""

from __future__ import annotations

import pytest

from furnace_diag.visit.complaint import told_in
from furnace_diag.visit.session import Session
from tests.visit.playing import START, desk
from tests.visit.test_start import questions_put, told

SAFE = START[1:8]


def test_what_the_complaint_says_is_kept_told_and_not_asked_for_again(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, ["blower won't start, inducer runs, burners light", *SAFE, "n", ""])
    said = capsys.readouterr().out
    assert told(session) | {"blower_runs": "no", "inducer_runs": "yes", "burners_light": "yes"} == told(session)
    assert {session.record(e).source for e in session.visit.entries[:3]} == {"told"}
    asked = questions_put(said)
    stays = session.knowledge.question["stays_lit"].asks  # that they light leaves open whether they stay lit
    assert asked == [*(q.asks for q in session.knowledge.question.values() if q.group == "safety"), stays]
    assert session.answer().parts[0].part.startswith("blower")
    assert "Taken from that" in said


def test_what_was_taken_from_it_can_be_taken_back_and_is_asked_then(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, ["inducer runs", "undo", *SAFE, "", "", "", "", "", ""])
    assert "inducer_runs" not in told(session)
    assert session.visit.complaint == "inducer runs"
    assert session.knowledge.question["inducer"].asks in questions_put(capsys.readouterr().out)


@pytest.mark.parametrize(
    "complaint",
    [
        "inducer runs sometimes", "intermittent, blower won't start", "no smell of gas", "co alarm silent", "inducer runs, inducer hums",
        "no heat", "worse since Tuesday", "potato", "new igniter", "igniter 45 ohms", "somebody thinks the inducer runs", "pressure switch open", "",
    ],
)  # fmt: skip
def test_nothing_is_taken_that_is_not_always_so_or_not_plain_or_would_make_anything_safe(session: Session, complaint: str) -> None:
    assert told_in(complaint, session.reader) == []


@pytest.mark.parametrize(
    ("complaint", "record"),
    [
        ("new board same", {"history": "control_board", "value": "replaced_no_change"}),
        ("board was swapped no change", {"history": "control_board", "value": "replaced_no_change"}),
        ("fan switch left on", {"sign": "thermostat_fan_switch", "value": "on"}),
        ("fan stays on all the time", {"sign": "blower_always_on", "value": "yes"}),
    ],
)
def test_more_of_what_is_said_plainly_is_taken(session: Session, complaint: str, record: dict[str, str]) -> None:
    assert [dict(t.record) for t in told_in(complaint, session.reader)] == [{"source": "told", **record}]


@pytest.mark.parametrize("complaint", ["the fan wont come on", "fan wont come on burners light, last guy swapped board no change"])
def test_that_the_blower_does_not_run_is_taken_though_it_is_asked_whether_it_hums(session: Session, complaint: str) -> None:
    first = told_in(complaint, session.reader)[0].record
    assert (first["sign"], session.reader.value_of("blower_runs", str(first["value"]))) == ("blower_runs", "no")


@pytest.mark.parametrize(
    "complaint",
    ["heats ok when its warm out, not on cold nites", "heats fine when it is mild", "no blower when it's raining", "heats ok on warm days",
     "blower runs in heat if its cold out", "inducer runs, burners never light in cold weather"],
)  # fmt: skip
def test_what_hangs_on_the_weather_is_not_taken_as_always_so_and_told(session: Session, complaint: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Common practice, no source: it is said of the furnace on such a day, and on the others of none."""
    assert told_in(complaint, session.reader) == []
    desk(session, [complaint])
    said = " ".join(capsys.readouterr().out.split())
    assert f"Not taken from that, and not weighed: {complaint.replace(', ', '; ')}." in said
    assert "not always so" in said


@pytest.mark.parametrize("complaint", ["burners light then go out, cold house", "inducer runs, its cold in here", "heats ok, warm air from all vents"])
def test_the_weather_alone_takes_nothing_away(session: Session, complaint: str) -> None:
    assert told_in(complaint, session.reader) != []


def test_a_danger_is_taken_however_seldom_it_is_so(session: Session) -> None:
    (typed,) = told_in("no flame, and sometimes it smells of gas", session.reader)
    assert typed.record == {"source": "told", "sign": "gas_smell", "value": "strong"}


def test_a_hazard_in_the_complaint_stops_the_visit_before_any_question(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, ["no heat, carbon monoxide alarm sounding"])
    said = capsys.readouterr().out
    assert "STOP." in said
    assert questions_put(said) == []


def test_hums_is_the_blower_where_the_blower_is_asked_for_and_the_inducer_where_that_is(session: Session) -> None:
    desk(session, ["no heat", *SAFE, "y", "y", "y", "y", "hums", ""])
    assert told(session)["blower_runs"] == "hums"
    assert "transformer_hums" not in told(session)


def test_hums_at_the_inducer_is_the_inducers(session: Session) -> None:
    desk(session, ["no heat", *SAFE, "y", "hums", ""])
    assert told(session)["inducer_runs"] == "hums"
    assert {"transformer_hums", "blower_runs"} & told(session).keys() == set()


@pytest.mark.parametrize("line", ["whole thing dead", "everything is off", "everything is off, light dark", "no life, light dark", "unit is dead"])
def test_a_furnace_without_life_in_more_words(session: Session, capsys: pytest.CaptureFixture[str], line: str) -> None:
    desk(session, ["no heat", *SAFE, line, ""])
    assert told(session)["whole_furnace"] == "dead"
    assert questions_put(capsys.readouterr().out).count(session.knowledge.question["life"].asks) == 1


@pytest.mark.parametrize("line", ["lights then dies", "lights then goes out", "a few seconds"])
def test_a_flame_that_goes_out_answers_whether_it_stays_and_the_blower_is_not_asked_for(session: Session, line: str) -> None:
    desk(session, ["no heat", *SAFE, "y", "y", "y", line, ""])
    kept = told(session)
    assert kept.get("burners_light") == "drop_out" or kept.get("flame_goes_out") == "within_seconds"
    assert session.questions("behaviour") == []


def test_several_things_on_one_line_are_kept_each_and_none_where_one_is_not_plain(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*START, "inducer runs, igniter ohms 45", "inducer hums, potato"])
    assert told(session) | {"inducer_runs": "yes", "igniter_ohms": None} == told(session)
    assert "potato" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("line", "kept"),
    [
        ("inducr running no spark no glow", {"inducer_runs": "yes", "igniter_glows": "no"}),
        ("ign glowing no gas", {"igniter_glows": "yes", "burners_light": "no"}),
    ],
)
def test_what_is_not_so_begins_a_piece_of_its_own(session: Session, line: str, kept: dict[str, str]) -> None:
    desk(session, [*START, line])
    assert told(session) | kept == told(session)


@pytest.mark.parametrize(("line", "kept"), [("fliter clean", {"filter_looks": "clean"}), ("filter claen", {"filter_looks": "clean"})])
def test_a_slip_in_a_name_is_mended_before_a_longer_name_is_asked_for(
    session: Session, capsys: pytest.CaptureFixture[str], line: str, kept: dict[str, str]
) -> None:
    """The beginnings of an experiment's name begin no experiment: something is changed for it."""
    desk(session, [*START, line])
    assert told(session) | kept == told(session)
    assert "clean filter" not in capsys.readouterr().out


def test_an_answer_stands_in_the_list_by_its_own_word(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    """ "No life" is a no to the question, and no "whole furnace: no" in the list."""
    desk(session, ["inducer does not run", *SAFE, "no life", "", "list"])
    listed = capsys.readouterr().out.rpartition("NEXT")[2]
    assert "whole furnace: no" not in listed


def test_of_several_readings_the_one_that_the_screen_offers_is_meant(
    session: Session, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """ "No click" may be any of four clicks; where the screen offers one of them alone it is that one, and it is told."""
    desk(session, ["no heat", *SAFE, "y", "y", "y", "n", "", "comes and goes no"])
    ask = Session.answer
    monkeypatch.setattr(Session, "answer", lambda self: (now := ask(self))._replace(next=now.next[::-1]))  # offered, not asked for
    offered = {n.name for n in session.answer().next}
    assert session.answer().next[0].name != "gas_valve_clicks"
    choices = session.reader.read("no click")
    names = {str(t.record.get("sign")) for t in getattr(choices, "choices", ())}
    assert len(names) > 1
    assert names & offered == {"gas_valve_clicks"}
    desk(session, ["no click"])
    said = " ".join(capsys.readouterr().out.split())
    assert told(session)["gas_valve_clicks"] == "no"
    assert "Read as: gas valve clicks no" in said
    assert "That could be" not in said


def test_where_the_screen_offers_none_of_them_it_is_asked(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, ["no heat", *SAFE, "dead", ""])
    desk(session, ["no click", "2"])
    assert "That could be" in capsys.readouterr().out


def test_another_reading_by_the_beginnings_of_its_name_is_understood_where_a_value_is_asked_for(session: Session) -> None:
    desk(session, ["no heat", *SAFE, "dead", "", "fuse ohms", "prim v 123"])
    kept = {r.name: r.number for r in map(session.record, session.visit.entries)}
    assert kept.get("primary_volts") == 123
    assert "fuse_ohms" not in kept


@pytest.mark.parametrize(("line", "part"), [("new igniter 2 wks ago", "igniter"), ("new board last year", "control_board")])
def test_how_long_ago_a_part_was_changed_is_passed_over_and_told(session: Session, capsys: pytest.CaptureFixture[str], line: str, part: str) -> None:
    desk(session, ["no heat", *SAFE, "dead", line, ""])
    assert part in {r.name for r in map(session.record, session.visit.entries)}
    assert "Read as: new" in capsys.readouterr().out


def test_what_was_seen_last_week_is_nothing_that_is_seen_now(session: Session) -> None:
    desk(session, [*START, "no flame last week", "inducer hums 2 days ago"])
    assert {"flame_seen", "inducer_runs"} & told(session).keys() == set()


@pytest.mark.parametrize(("line", "value"), [("after 6 sec", "within_seconds"), ("6 seconds", "within_seconds"), ("after 5 minutes", "after_minutes")])
def test_seconds_of_flame_answer_whether_it_stays_lit(session: Session, line: str, value: str) -> None:
    """No trial of the rules' furnace lasts 15 s: what burns longer was proved, and what goes out sooner was not."""
    assert max(int(v) for v in session.knowledge.furnace[session.visit.family].options["trial_time"].values) < 15
    desk(session, ["no heat", *SAFE, "y", "y", "y", line, ""])
    assert told(session)["flame_goes_out"] == value


@pytest.mark.parametrize("line", ["never gets that far", "does not get that far"])
def test_what_a_call_never_gets_to_is_left_open(session: Session, line: str) -> None:
    desk(session, ["no heat", *SAFE, "y", "y", "y", "y", line, ""])
    assert "blower_starts_in_heat" not in told(session)
    assert session.questions("behaviour") == []


def test_every_word_of_an_answer_that_means_the_same_is_one_answer(session: Session) -> None:
    desk(session, [*START, "field wires are", "ok all clear"])
    assert told(session)["field_wires_are"] == "clear"


@pytest.mark.parametrize("answers", [["y", "y", "y", "y", "y"], ["y", "y", "y", "d"], ["y", "y", "y", ""], ["n"]])
def test_whether_the_flame_goes_out_is_asked_only_where_it_was_left_open(session: Session, capsys: pytest.CaptureFixture[str], answers: list[str]) -> None:
    desk(session, ["no heat", *SAFE, *answers, "", ""])
    assert session.knowledge.question["stays_lit"].asks not in questions_put(capsys.readouterr().out)


def test_what_is_seen_takes_the_place_of_what_was_told(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, ["blower won't start, burners light", *SAFE, "n", "", "blower hums"])
    assert told(session)["blower_runs"] == "hums"
    assert len([e for e in session.visit.entries if e.record.get("sign") == "blower_runs"]) == 1
    assert "was told" in " ".join(capsys.readouterr().out.split())
    desk(session, ["undo"])
    assert told(session)["blower_runs"] == "no"


@pytest.mark.parametrize("complaint", [
    "dead furnace but lite is blinkin", "furnace is dead, light blinks", "furnace dead but red lite blinkin", "furnace is dead but light is on",
])  # fmt: skip
def test_a_furnace_whose_light_is_lit_is_not_kept_as_dead(session: Session, complaint: str) -> None:
    assert ("whole_furnace", "dead") not in {(t.record["sign"], session.record_typed(t.record).word) for t in told_in(complaint, session.reader)}


@pytest.mark.parametrize("complaint", ["dead furnace, no light", "furnace is dead, light is off"])
def test_one_without_light_is(session: Session, complaint: str) -> None:
    assert ("whole_furnace", "dead") in {(t.record["sign"], session.record_typed(t.record).word) for t in told_in(complaint, session.reader)}


@pytest.mark.parametrize(("complaint", "records"), [
    ("blower dont run burners lite n then shuts down on limit", {("blower_runs", "no"), ("flame_goes_out", "after_minutes")}),
    ("burners lite n then shuts down on limit", {("burners_light", "yes"), ("flame_goes_out", "after_minutes")}),
    ("burners go n go till limit trips", {("flame_goes_out", "after_minutes")}),
    ("lights dim when inducer starts", {("house_lights", "dim_as_motors_start"), ("inducer_runs", "yes")}),
    ("lights dim when the dryer starts", set()),
    ("lights get bright when blower starts", {("house_lights", "bright_and_dim")}),
    ("cleaned the port n replaced ps no good", {("pressure_hose:port_plugged", "cleaned_no_change"), ("pressure_switch", "replaced_no_change")}),
    ("cleaned the pressure port and replaced ps, no good", {("pressure_hose:port_plugged", "cleaned_no_change"), ("pressure_switch", "replaced_no_change")}),
    ("cleaned rod and igniter, same", {("flame_rod", "cleaned_no_change"), ("igniter", "cleaned_no_change")}),
])  # fmt: skip
def test_nothing_of_a_complaint_without_commas_is_lost_or_kept_as_another(session: Session, complaint: str, records: set[tuple[str, str]]) -> None:
    assert {(r.name, r.word) for r in (session.record_typed(t.record) for t in told_in(complaint, session.reader))} == records
