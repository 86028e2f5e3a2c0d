"""Lines and complaints as technicians write them, and answers that are no value. Common practice, no source."""

from __future__ import annotations

import pytest

from furnace_diag.visit.complaint import told_in, unheard_in
from furnace_diag.visit.session import Session
from furnace_diag.visit.typed import Typed
from tests.visit.playing import START, desk


@pytest.mark.parametrize(
    ("complaint", "told"),
    [
        ("dead.", {"whole_furnace": "dead"}), ("dead. fuse popped", {"whole_furnace": "dead", "fuse_looks": "blown"}),
        ("dead, 3A fuse popped, both pop soon as stat calls heat", {"whole_furnace": "dead", "fuse_looks": "blown", "fuse_blows_again": "on_heat_call"}),
        ("had 3 amp fuse blown put another in blew soon as i turn power on", {"fuse_blows_again": "at_once"}),
        ("put new 3 amp fuse in blew soon as i turn power on", {"fuse_blows_again": "at_once"}),
        ("new fuse pops on w call", {"fuse_blows_again": "on_heat_call"}), ("new fuse blows on heat call", {"fuse_blows_again": "on_heat_call"}),
    ],
)  # fmt: skip
def test_a_blown_fuse_and_a_dead_furnace_are_heard(complaint: str, told: dict[str, str], session: Session) -> None:
    records = told_in(complaint, session.reader)
    assert {str(t.record["sign"]): t.record["value"] for t in records} == told
    assert unheard_in(complaint, records, session.reader) == []


@pytest.mark.parametrize("complaint", ["blower dead", "dead mouse in the cabinet", "fuse not blown", "new fuse holds", "fuse pops when stat calls for cool"])
def test_what_is_of_something_else_is_no_dead_furnace_and_no_fuse_on_a_heat_call(complaint: str, session: Session) -> None:
    told = {(t.record.get("sign"), t.record["value"]) for t in told_in(complaint, session.reader)}
    assert told.isdisjoint({("whole_furnace", "dead"), ("fuse_blows_again", "on_heat_call")})
    assert "not" not in complaint or ("fuse_looks", "blown") not in told


@pytest.mark.parametrize(
    ("line", "name"),
    [
        ("inducer gets 120 at the plug", "inducer_volts_at_motor"), ("igniter has 119 at the plug", "igniter_volts_at_plug"),
        ("burner to chassis 45 ohms", "burner_to_ground_ohms"), ("new fuse pops on w call", "fuse_blows_again"),
    ],
)  # fmt: skip
def test_a_line_is_of_what_it_names(line: str, name: str, session: Session) -> None:
    typed = session.reader.read(line)
    assert isinstance(typed, Typed)
    assert name in typed.record.values()


def test_a_figure_in_a_unit_of_one_point_alone_is_asked_about_whatever_question_stands(session: Session) -> None:
    desk(session, ["no heat", *"nnnnnnn", "0.3ua", "y", "", "", "", "", "", ""])
    assert session.record(session.visit.entries[-1]).name == "flame_current"
    before = len(session.visit.entries)
    desk(session, ["0.3ua", "", "24 v", "55 ohms"])
    assert len(session.visit.entries) == before


@pytest.mark.parametrize("said", ["can't measure", "cant measure it", "couldn't get to it", "I can't see it from here", "no way to read that"])
def test_what_cannot_be_had_is_said_in_many_ways(said: str, session: Session) -> None:
    assert session.replies.says_cannot(said)


@pytest.mark.parametrize("said", ["cant measure 24 v", "can", "could be 24", "no"])
def test_and_not_by_all(said: str, session: Session) -> None:
    assert not session.replies.says_cannot(said)


def test_commands_that_only_show_are_done_where_what_happened_before_is_asked(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*START[:-1], "find ohms", "why", ""])
    said = capsys.readouterr().out
    assert "igniter ohms" in said
    assert "names nothing" not in said


def test_a_repair_says_why_a_question_on_safety_is_put_again(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, ["no heat", *"nnnnnn", "", "", "", "", "", "", "", ""])
    capsys.readouterr()
    desk(session, ["mend filter", ""])
    assert "still open of the questions on safety" in " ".join(capsys.readouterr().out.split())


@pytest.mark.parametrize(("complaint", "asks"), [("furnace dead", False), ("no heat", True)])
def test_a_furnace_that_does_nothing_at_all_has_no_step(complaint: str, asks: bool, session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [complaint, *START[1:], "line to chassis at board 121"])
    assert ("At which step?" in capsys.readouterr().out) is asks


def test_an_entry_that_is_no_more_is_said_to_be_none(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*START, "fix 99 igniter ohms 52"])
    assert "There is no entry 99" in capsys.readouterr().out


@pytest.mark.parametrize("line", ["ps hose has water in it", "hose full of water"])
def test_water_in_a_hose_is_no_look_of_it(line: str, session: Session) -> None:
    typed = session.reader.read(line)
    assert isinstance(typed, Typed)
    assert (typed.record["sign"], typed.record["value"]) == ("water_in_hose", "yes")


@pytest.mark.parametrize(
    ("complaint", "told"),
    [
        ("no blower on heat, runs on fan", {"blower_starts_in_heat": "does_not_start", "blower_on_fan_call": "yes"}),
        ("heat comes on burners good but the blower wont kick on. fan on at stat works",
         {"burners_light": "yes", "blower_runs": "no", "blower_on_fan_call": "yes"}),
        ("burners come on ok then no air", {"burners_light": "yes", "air_at_registers": "none"}),
        ("no air at vents, burners lit", {"burners_light": "yes", "air_at_registers": "none"}),
        ("runs ten mins and quits, fan keeps running", {"flame_goes_out": "after_minutes", "blower_runs": "yes"}),
        ("it runs 10 minutes then shuts off", {"flame_goes_out": "after_minutes"}),
        ("lights for a few secs n goes out", {"burners_light": "drop_out"}), ("trys 3 times n locks out", {"tries_before_lock_out": "three"}),
        ("tries 3x then locks out", {"tries_before_lock_out": "three"}),
        # what quits there is the blower
        ("blower runs ten mins and quits", {}),
    ],
)  # fmt: skip
def test_how_far_a_call_gets_is_heard_in_few_words(complaint: str, told: dict[str, str], session: Session) -> None:
    records = told_in(complaint, session.reader)
    assert {(s := str(t.record["sign"])): session.reader.value_of(s, str(t.record["value"])) for t in records} == told
    assert not told or unheard_in(complaint, records, session.reader) == []


@pytest.mark.parametrize(  # common practice, no source
    ("line", "record"),
    [
        ("cuts out on limit after a few min", ("flame_goes_out", "after_minutes")), ("goes out on the limit", ("flame_goes_out", "after_minutes")),
        ("new 3a fuse popped as soon as pwr came on", ("fuse_blows_again", "at_once")), ("fuse blows again at power on", ("fuse_blows_again", "at_once")),
        ("cap matches can", ("capacitor_against_mark", "within")), ("cap matches its mark", ("capacitor_against_mark", "within")),
    ],
)  # fmt: skip
def test_what_a_technician_calls_it_is_kept(line: str, record: tuple[str, str], session: Session) -> None:
    desk(session, [*START, line])
    kept = session.record(session.visit.entries[-1])
    assert (kept.name, kept.word) == record


def test_the_neutral_to_the_cabinet_is_to_the_chassis(session: Session) -> None:
    desk(session, [*START, "neutral to cabinet 82"])
    kept = session.record(session.visit.entries[-1])
    assert (kept.name, kept.number) == ("neutral_to_chassis_at_board", 82)


@pytest.mark.parametrize("line", ["limit 24 in 0 out after 10 min", "limit 24 in 0 out at heating after 10 min"])
def test_both_sides_may_be_told_with_the_time(line: str, session: Session) -> None:
    desk(session, [*START, line])
    kept = [session.record(e) for e in session.visit.entries[-2:]]
    assert [(r.name, r.number, r.after_s) for r in kept] == [("limit_feed_to_c", 24, 600), ("limit_out_to_c", 0, 600)]


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("lifted stat wires, fuse holds", "lead that blows fuse"), ("works good now", "fault comes and goes"), ("ps sp 0.6", "set point"),
        ("supply air 118", "temperature rise"), ("plate 35-65", "is a mark"), ("80 percent", "assumed"),
    ],
)  # fmt: skip
def test_what_is_no_reading_says_what_to_type_instead(line: str, says: str, session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, START)
    before = len(session.visit.entries)
    capsys.readouterr()
    desk(session, [line])
    assert says in " ".join(capsys.readouterr().out.split())
    assert len(session.visit.entries) == before


@pytest.mark.parametrize(("line", "name"), [("rod 0.4 ua", "flame_current"), ("rod 0.4ua", "flame_current"), ("leads tight", "leads_secure")])
def test_what_names_one_thing_with_its_unit_or_value_is_not_asked_about(line: str, name: str, session: Session) -> None:
    desk(session, [*START, line])
    assert session.record(session.visit.entries[-1]).name == name


def test_what_is_not_kept_for_want_of_a_yes_is_told_as_it_is_kept_unasked(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*START, "no jumper found", "filter clean"])
    said = " ".join(capsys.readouterr().out.split())
    assert "Not kept: what was asked about. If it was so, type: safety bypassed: no" in said
    desk(session, ["safety bypassed: no"])
    assert [(r.name, r.word) for r in map(session.record, session.visit.entries[-2:])] == [("filter_looks", "clean"), ("safety_bypassed", "no")]


def test_a_value_alone_that_several_things_have_is_asked_of_what(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*START, "at once"])
    said = " ".join(capsys.readouterr().out.split())
    assert "at once of what?" in said
    assert "fuse blows again at once" in said


@pytest.mark.parametrize(  # common practice, no source
    ("line", "name", "figure"),
    [
        ("heat pin 0.1v lo-z", "heat_terminal_to_neutral", 0.1), ("121 on heat pin", "heat_terminal_to_neutral", 121),
        ("cool pin 0", "cool_terminal_to_neutral", 0),
        ("120 at board line pin", "line_to_neutral_at_board", 120), ("0 v at inducer pins low z", "inducer_pin_to_neutral", 0),
        ("cap 10 mfd rated, reads 9.8", "capacitor_microfarads", 9.8),
    ],
)  # fmt: skip
def test_a_pin_is_read_as_that_pin(line: str, name: str, figure: float, session: Session) -> None:
    desk(session, [*START, line])
    assert (name, figure) in [(r.name, r.number) for r in map(session.record, session.visit.entries)]


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("ps 24v on both sides", [("pressure_switch_feed_to_c", 24), ("pressure_switch_out_to_c", 24)]),
        ("limit closed 24 both sides", [("limit_contact", "closed"), ("limit_feed_to_c", 24), ("limit_out_to_c", 24)]),
    ],
)
def test_the_same_on_both_sides_is_read_of_each(line: str, told: list[tuple[str, object]], session: Session) -> None:
    desk(session, [*START, line])
    kept = list(map(session.record, session.visit.entries[7:]))
    assert [(r.name, r.word or r.number) for r in kept] == told


@pytest.mark.parametrize(  # common practice, no source
    ("line", "told"),
    [
        ("120v at inducer plug, hums, shaft wont turn by hand", [("inducer_volts_at_motor", 120), ("inducer_runs", "hums"), ("inducer_turns_freely", "stiff")]),
        ("blower dont turn, spins free", [("blower_runs", "no"), ("blower_turns_freely", "free")]),
    ],
)
def test_what_follows_a_thing_that_was_named_is_of_it(line: str, told: list[tuple[str, object]], session: Session) -> None:
    desk(session, [*START, line])
    kept = list(map(session.record, session.visit.entries[7:]))
    assert [(r.name, r.word or r.number) for r in kept] == told


@pytest.mark.parametrize("line", ["inducer runs, 24", "motor dont turn, spins free"])
def test_and_what_could_be_of_anything_is_of_nothing(line: str, session: Session) -> None:
    desk(session, [*START, line])
    assert len(session.visit.entries) == 7


def test_fix_takes_the_key_of_the_question_that_asked(session: Session) -> None:
    """Whoever answered with a key corrects it with one."""
    desk(session, [*START, "whole furnace dead"])
    desk(session, [f"fix {session.visit.entries[-1].number} y"])
    assert [e.record["value"] for e in session.visit.entries if e.record.get("sign") == "whole_furnace"] == [session.knowledge.question["life"].keys["y"]]


def test_fix_takes_the_name_of_what_is_fixed_for_its_last_entry(session: Session) -> None:
    desk(session, [*START, "inducer runs no", "igniter ohms 65", "fix inducer runs yes", "fix igniter ohms OL"])
    said = [(session.record(e).name, session.record(e).said) for e in session.visit.entries]
    assert [name for name, _ in said].count("inducer_runs") == [name for name, _ in said].count("igniter_ohms") == 1
    assert {session.record(e).name: session.record(e).word for e in session.visit.entries}["inducer_runs"] == "yes"


@pytest.mark.parametrize(("line", "name", "value"), [
    ("inducer fires up", "inducer_runs", "yes"), ("inducer kicks on", "inducer_runs", "yes"), ("evap coil plugged solid", "cooling_coil_looks", "dirty"),
    ("tripping the breaker", "breaker_position", "tripped"),
])  # fmt: skip
def test_words_of_any_technician(session: Session, line: str, name: str, value: str) -> None:
    """Common practice, no source."""
    typed = session.reader.read(line)
    assert isinstance(typed, Typed)
    assert (typed.record["sign"], session.reader.value_of(name, str(typed.record["value"]))) == (name, value)


def test_hot_to_neutral_in_letters(session: Session) -> None:
    """Common practice, no source."""
    typed = session.reader.read("h to n 61 v at board")
    assert isinstance(typed, Typed)
    assert typed.record["point"] == "line_to_neutral_at_board"


@pytest.mark.parametrize("line", ["ps return crimp 24.3 low", "pressure switch return crimp 24.3"])
def test_the_crimp_that_the_screen_asks_for_is_a_point_of_its_own(session: Session, line: str) -> None:
    typed = session.reader.read(line)
    assert isinstance(typed, Typed)
    assert (typed.record["point"], typed.weakly, typed.guessed) == ("pressure_return_crimp_to_c", False, "")


@pytest.mark.parametrize(
    ("complaint", "told"),
    [
        ("fires up then cuts out after abt 5 sec", {"flame_goes_out": "within_seconds"}), ("brnrs drop out", {"burners_light": "drop out"}),
        ("trips the hi limit", {"flame_goes_out": "after_minutes"}), ("fan ON at stat blower runs great", {"blower_on_fan_call": "yes"}),
        ("inducer slow to come up", {"inducer_runs": "slow"}), ("changed the inducer motor yestrday, no diff", {"inducer": "replaced_no_change"}),
        ("put in new pressure sw last wk worked 2 days then same", {"pressure_switch": "helped_a_while"}),
    ],
)  # fmt: skip
def test_a_complaint_in_short_words_is_heard(complaint: str, told: dict[str, str], session: Session) -> None:
    records = [t.record for t in told_in(complaint, session.reader)]
    assert {str(r.get("sign", r.get("history"))): r["value"] for r in records} == told


def test_a_blower_that_aint_coming_on_in_heat_does_not_start_in_heat(session: Session) -> None:
    told = {t.record.get("sign"): t.record["value"] for t in told_in("blower aint coming on in heat", session.reader)}
    assert told["blower_starts_in_heat"] == "does_not_start"


@pytest.mark.parametrize("complaint", ["high limit never trips", "does not trip the high limit", "inducer not slow to come up", "trips the breaker"])
def test_what_is_denied_or_of_another_thing_is_not(complaint: str, session: Session) -> None:
    told = {(t.record.get("sign"), t.record["value"]) for t in told_in(complaint, session.reader)}
    assert told.isdisjoint({("flame_goes_out", "after_minutes"), ("inducer_runs", "slow")})


def test_three_calls_that_ran_good_are_three_calls_watched(session: Session) -> None:
    desk(session, [*START, "filter clogged", "mend filter", "y", "y", "runs good now 3 calls"])
    assert [(r.name, r.word, r.call) for r in map(session.record, session.visit.checking)] == [("call_watched", "ended_normally", c) for c in (2, 3, 4)]
