"""Whole visits at the prompt, played from virtual furnaces, and what a technician does to them: undo, fix, contradict, give up, run out of disk."""

from __future__ import annotations

import errno
from pathlib import Path

import pytest

from furnace_diag.cli.visit_desk import Desk
from furnace_diag.cli.visit_sure import with_seconds
from furnace_diag.cli.visit_values import take_missing, told_in_this_call
from furnace_diag.diagnosis.answer import PartBelief, answer
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.findings import Need
from furnace_diag.diagnosis.records import Record
from furnace_diag.knowledge.models import Knowledge
from furnace_diag.problems import BadInput
from furnace_diag.report.prose import matching
from furnace_diag.report.visit_screen import next_lines
from furnace_diag.visit.journal import Journal, journal_problems
from furnace_diag.visit.session import Doubtful, Session, report_of_journal
from furnace_diag.visit.typed import Typed
from tests.visit.playing import START, Furnace, Player, Script, desk, rows_of


@pytest.mark.parametrize(
    "failure",
    ["igniter:open", "pressure_switch:will_not_close", "transformer:primary_open", "inducer:seized", "gas_valve:coil_open", "flame_rod:filmed",
     "blower_capacitor:open", "door_switch:will_not_close", "control_board:heat_relay_will_not_close", "limit_switch:open"],
)  # fmt: skip
def test_a_visit_led_by_enter_comes_to_the_failed_part_and_never_to_a_good_board(evidence: Evidence, tmp_path: Path, failure: str) -> None:
    faults = {str(f) for f in evidence.population.faults}
    failure = failure if failure in faults else next(f for f in sorted(faults) if f.startswith(failure.partition(":")[0] + ":"))
    row = int(rows_of(evidence, failure)[3])
    player = Player(Furnace(evidence, row))
    journal = Journal(tmp_path / "v.jsonl", new=True)
    session = Session(evidence.knowledge, evidence, journal, evidence.family.furnace.furnace)
    player.desk = Desk(session, player, lambda: 60)
    player.desk.run()
    journal.close()
    result = session.answer()
    leads = result.parts[0]
    alike = {f for pair in result.not_told_apart for f in pair.failures}
    assert leads.part == failure.partition(":")[0] or any(f.startswith(f"{leads.part}:") for f in alike)
    assert result.board.verdict != "proved_bad" or failure.startswith("control_board:")


def test_the_journal_alone_gives_the_same_answer_as_the_visit(session: Session, evidence: Evidence, knowledge: Knowledge) -> None:
    lines = ["inducer runs yes", "igniter glows no at igniter warm up", "igniter pin to neutral 119 at igniter warm up low", "assumed safety_strings one"]
    desk(session, [*START, *lines])
    report = report_of_journal(session.journal.path, knowledge)
    again, before = answer(report, evidence), session.answer()
    assert again.parts == before.parts
    assert again.board == before.board
    assert len(report.records) == 7 + 3
    assert report.options == session.visit.options != {}


def test_undo_remove_and_fix_leave_the_answer_as_if_it_had_never_been_typed(session: Session) -> None:
    desk(session, [*START, "inducer runs yes"])
    before = session.answer()
    desk(session, ["igniter ohms OL", "undo"])
    assert session.answer() == before
    desk(session, ["igniter ohms OL", "w to c 25 at call", "remove 9"])
    assert [session.record(e).name for e in session.visit.entries][-1] == "w_to_c_at_board"
    desk(session, ["undo", "undo", "igniter ohms OL"])
    number = session.visit.entries[-1].number
    desk(session, [f"fix {number} 52"])
    fixed = session.record(session.visit.entries[-1])
    assert (fixed.name, fixed.number) == ("igniter_ohms", 52)
    assert len([e for e in session.visit.entries if session.record(e).name == "igniter_ohms"]) == 1


def test_a_contradiction_is_asked_about_and_a_new_call_keeps_both(session: Session) -> None:
    desk(session, [*START, "blower runs no at heating", "blower runs yes at heating", ""])
    words = [(r.word, r.call) for e in session.visit.entries if (r := session.record(e)).name == "blower_runs"]
    assert words == [("no", 1)]
    desk(session, ["blower runs yes at heating", "c"])
    words = [(r.word, r.call) for e in session.visit.entries if (r := session.record(e)).name == "blower_runs"]
    assert words == [("no", 1), ("yes", 2)]


def test_the_same_typed_again_counts_as_looked_at_twice(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*START, "igniter ohms OL", "inducer runs yes at heating", "igniter ohms OL"])
    sure = [r.sure for e in session.visit.entries if (r := session.record(e)).name == "igniter_ohms"]

    assert sure == [False, True]
    assert "the same twice" in " ".join(capsys.readouterr().out.split())


def test_a_reading_that_makes_no_sense_is_asked_about_once_and_kept_if_confirmed(session: Session) -> None:
    # 120 V where at most 30 V can be: a Class 2 secondary, NFPA 70 art. 725 (30 V, 100 VA)
    asked = session.take(Typed({"point": "w_to_c_at_board", "value": "120"}))
    assert isinstance(asked, Doubtful)
    kept = session.take(asked.typed, sure=True)
    assert isinstance(kept, Record)
    assert kept.number == 120
    assert isinstance(session.take(Typed({"point": "r_to_c_at_board", "value": "25.4"})), Record)
    assert isinstance(session.take(Typed({"point": "igniter_ohms", "value": "48", "step": "heating"})), Doubtful)  # ohms on a live circuit
    assert isinstance(session.take(Typed({"point": "igniter_ohms", "value": "48", "step": "power_off"})), Record)
    assert isinstance(session.take(Typed({"point": "flame_current", "value": "2.1 uA ac", "step": "heating"})), Doubtful)


@pytest.mark.parametrize(("sign", "value"), [("gas_smell", "strong"), ("co_alarm", "sounding"), ("people_feel_ill", "yes"), ("smoke_or_fire", "fire")])
def test_a_hazard_stops_the_visit_with_what_to_do_and_whom_to_call(session: Session, capsys: pytest.CaptureFixture[str], sign: str, value: str) -> None:
    desk(session, ["no heat", *[""] * 13, f"{sign} {value}", "", "quit"])
    told = " ".join(capsys.readouterr().out.split())
    after = told[told.rindex("STOP.") :]
    hazard = session.answer().hazards[0]
    assert hazard.tells["now"] in after
    assert hazard.tells["call"] in after
    assert "NEXT" not in after
    assert session.answer().next == ()


def test_ctrl_c_gives_up_the_line_and_nothing_else(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*START, "inducer runs yes", "^C", "igniter glows no"])
    assert [session.record(e).name for e in session.visit.entries][-2:] == ["inducer_runs", "igniter_glows"]
    assert "Line given up" in " ".join(capsys.readouterr().out.split())


def test_a_full_disk_is_told_and_the_entry_can_be_typed_again(session: Session, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*START, "inducer runs yes"])

    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    with monkeypatch.context() as patched:
        patched.setattr(session.journal, "append", full)
        desk(session, ["igniter glows no"])
    assert "NOT KEPT: No space left on device" in " ".join(capsys.readouterr().out.split())
    assert session.record(session.visit.entries[-1]).name == "inducer_runs"
    desk(session, ["igniter glows no"])
    assert session.record(session.visit.entries[-1]).name == "igniter_glows"
    assert journal_problems(session.journal.path) == []


def test_times_fill_themselves_after_the_click_but_only_in_that_call_and_at_a_named_step(session: Session) -> None:
    session.tell("call", {"call": 1})
    session.tell("click", {"call": 1})
    clicked = session.visit.click
    assert clicked is not None
    timed = session.take(Typed({"sign": "blower_runs", "value": "no", "step": "heating"}), at=clicked + 62)
    assert isinstance(timed, Record)
    assert timed.after_s == 62
    before_gas = session.take(Typed({"sign": "inducer_runs", "value": "yes", "step": "inducer_start"}), at=clicked + 70)
    assert isinstance(before_gas, Record)
    assert before_gas.after_s == int(clicked + 70 - (session.visit.call_began or 0))
    free = session.take(Typed({"point": "igniter_ohms", "value": "48", "step": "power_off"}), at=clicked + 90)
    assert isinstance(free, Record)
    assert free.after_s is None
    own = session.take(Typed({"sign": "flame_seen", "value": "yes", "step": "heating", "after_s": "20"}), at=clicked + 90)
    assert isinstance(own, Record)
    assert own.after_s == 20


@pytest.mark.parametrize(
    ("step", "clocks", "options"),
    [
        ("igniter_warm_up", ("pre_purge_time",), {}), ("igniter_warm_up", ("pre_purge_time",), {"pre_purge_time": "30"}),
        ("heating", ("blower_on_delay",), {}), ("inducer_start", (), {}), ("pre_purge", (), {}), ("ignition_trial", (), {}), ("blower_on_delay", (), {}),
    ],
)  # fmt: skip
def test_no_seconds_are_made_up_for_a_step_that_cannot_have_begun(
    session: Session, capsys: pytest.CaptureFixture[str], step: str, clocks: tuple[str, ...], options: dict[str, str]
) -> None:
    """The clocks of the control that run before the step, each at the shortest that the family has, or as the visit knows it."""
    known = session.knowledge.furnace[session.visit.family].options
    least = sum(float(options[c]) if c in options else min(map(float, known[c].values)) for c in clocks)
    for name, value in options.items():
        session.tell("option", {"option": name, "value": value})
    session.tell("call", {"call": 1})
    session.tell("click", {"call": 1})
    began = session.visit.click if step in ("heating", "ignition_trial", "blower_on_delay") else session.visit.call_began
    assert began is not None
    at = desk(session, ["quit"])
    for gone in {1.5, least - 1, least + 1.5} - {-1.0}:
        at.prompt.asker.first_key = began + gone
        kept = at.keep(Typed({"point": "line_to_neutral_at_board", "value": "119", "step": step}))
        assert kept is not None
        assert kept.after_s == (int(gone) if gone >= least else None)
        assert ("No seconds are kept" in capsys.readouterr().out) == (gone < least)
        session.undo()


def test_where_the_seconds_count_they_are_asked_for_if_the_watch_cannot_tell_them(session: Session) -> None:
    session.tell("call", {"call": 1})
    session.tell("click", {"call": 1})
    at = desk(session, ["quit"])
    at.prompt.asker = Script(["95"])
    at.prompt.asker.first_key = (session.visit.click or 0) + 2
    asked = with_seconds(at.prompt, Typed({"sign": "blower_runs", "value": "no", "step": "heating"}))
    assert asked.record["after_s"] == "95"
    at.prompt.asker.first_key = (session.visit.click or 0) + 200
    assert "after_s" not in with_seconds(at.prompt, Typed({"sign": "blower_runs", "value": "no", "step": "heating"})).record


def test_seconds_since_the_call_are_not_taken_for_seconds_of_gas(session: Session) -> None:
    """README: after_s counts from the gas, before that from the call. Nobody marked the click, so nobody knows it of a reading in heating."""
    session.tell("call", {"call": 1})
    began = session.visit.call_began
    assert began is not None
    heating = session.take(Typed({"sign": "blower_runs", "value": "no", "step": "heating"}), at=began + 95)
    start = session.take(Typed({"sign": "inducer_runs", "value": "no", "step": "inducer_start"}), at=began + 20)
    assert isinstance(heating, Record)
    assert isinstance(start, Record)
    assert (heating.after_s, start.after_s) == (None, 20)


def test_where_a_value_is_asked_for_a_word_that_is_one_is_no_command(session: Session) -> None:
    desk(session, [*START, "stops at", "call"])
    kept = session.record(session.visit.entries[-1])
    assert (kept.name, kept.word) == ("stops_at", "call")
    assert session.visit.call == 1


def test_what_is_typed_instead_of_a_number_is_a_line_of_its_own(session: Session) -> None:
    desk(session, [*START, "pressure switch open", "igniter ohms OL"])
    assert [session.record(e).name for e in session.visit.entries][-1] == "igniter_ohms"


def test_every_line_fits_forty_columns(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    lines = ["inducer runs yes", "heat 0.2 low pin", "1", "show", "help", "list", "why", "proof", "assumed", "row", "120 120 0 25", "find limit", "blah"]
    desk(session, [*START, *lines])
    assert [line for line in capsys.readouterr().out.splitlines() if len(line) > 40 and str(session.journal.path) not in line] == []


def test_control_characters_typed_reach_neither_the_screen_nor_a_later_report(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, ["no \x1b[31mheat\x07", *START[1:], "note \x1b]0;title\x07 seen", "\x1b[2J 3", "blower \x1b[1m no", "list", "show"])
    out = capsys.readouterr().out
    assert "\x1b" not in out
    assert "\x07" not in out
    assert b"\x1b" not in session.journal.path.read_bytes()


def test_what_cannot_be_had_is_planned_without(session: Session, evidence: Evidence) -> None:
    desk(session, [*START, "inducer runs yes", "without manometer, clamp"])
    lacking = {f for tool in ("manometer", "clamp") for f in evidence.words.instruments[tool]}
    assert session.answer().next
    assert not {n.function for n in session.answer().next} & lacking
    asked = session.answer().next[0]
    desk(session, ["skip"])
    assert (asked.name, asked.step) not in {(n.name, n.step) for n in session.answer().next}
    with pytest.raises(BadInput):
        Desk(session, Script([]), lambda: 80).do("without", "a wand")


def test_a_repair_is_proved_only_by_its_checks_and_one_that_changed_nothing_tells_of_the_part(session: Session, evidence: Evidence) -> None:
    ohms = ["igniter glows no at igniter warm up", "igniter pin to neutral 119 at igniter warm up", "igniter ohms OL"]
    desk(session, [*START, *ohms, "mend igniter", "y", "close", ""])
    state = session.after()
    assert state is not None
    assert not state.proved
    assert session.visit.closed == ""  # no reason was given: it stays open
    before = {p.part: p.probability for p in session.answer().parts}
    desk(session, ["igniter glows no at igniter warm up"])  # of the repaired furnace: nothing for the ranking yet
    assert {p.part: p.probability for p in session.answer().parts} == before
    desk(session, ["same"])
    after = {p.part: p.probability for p in session.answer().parts}
    assert after["igniter"] < before["igniter"]
    assert session.record(session.visit.entries[-1]).name == "igniter"
    holds = {c: evidence.knowledge.check[c.condition].holds for c in state.needs}
    desk(session, ["mend igniter", "y"])
    call = session.visit.call
    for need, example in holds.items():
        check = evidence.knowledge.check[need.condition]
        for n in range(check.calls):
            for record in example:
                session.take(Typed({**record, "call": str(call + n)}), sure=True)
    done = session.after()
    assert done is not None
    assert [n.says for n in (*done.missing, *done.denied)] == []
    desk(session, ["close"])
    assert session.visit.closed == "proved"


def test_no_board_is_mended_before_its_proof_is_complete(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*START, "heat terminal to neutral 0.2 at heating low", "mend board", "y", "y"])
    assert session.visit.repairs == []
    told = " ".join(capsys.readouterr().out.split())
    assert "control board is not proved bad: it is not replaced" in told


def test_no_screen_offers_to_change_a_board_that_is_believed_in_and_not_proved(session: Session) -> None:
    now = session.answer()
    board = next(p for p in now.parts if p.part == "control_board")._replace(probability=0.95)
    igniter = next(p for p in now.parts if p.part == "igniter")._replace(probability=0.95)

    def offered(first: PartBelief) -> bool:
        shown = now._replace(act=None, parts=(first, *(p for p in now.parts if p.part != first.part)))
        return "put right" in " ".join(next_lines(shown, set(), 100))

    assert now.next
    assert offered(igniter)
    assert not offered(board)


def test_arithmetic_at_the_prompt_is_taken_as_a_reading_if_asked_to(session: Session) -> None:
    desk(session, [*START, "calc rise supply=125 return=70", ""])
    assert not [e for e in session.visit.entries if session.record(e).kind == "point"]
    desk(session, ["calc rise supply=125 return=70", "y"])
    taken = session.record(session.visit.entries[-1])
    assert (taken.name, taken.number) == ("temperature_rise", 125 - 70)


def test_a_value_alone_is_of_the_reading_that_the_screen_asks_for(session: Session) -> None:
    desk(session, [*START, "inducer runs yes", "igniter glows no at igniter warm up"])
    answer = session.answer()
    asked = answer.act.check if answer.act is not None else answer.next[0]
    assert asked is not None
    kind = "point" if asked.name in session.knowledge.point else "sign"
    value = "0" if kind == "point" else session.knowledge.sign[asked.name].values[0]
    desk(session, [value])
    kept = session.record(session.visit.entries[-1])
    assert (kept.kind, kept.name, kept.step) == (kind, asked.name, asked.step)


def test_three_calls_told_on_one_line_are_a_record_of_each(session: Session) -> None:
    ohms = ["igniter glows no at igniter warm up", "igniter pin to neutral 119 at igniter warm up", "igniter ohms OL"]
    desk(session, [*START, *ohms, "mend igniter", "y", "call watched ran 3 calls fine"])
    watched = [r for e in session.visit.checking if (r := session.record(e)).name == "call_watched"]
    assert [(r.word, r.call) for r in watched] == [("ended_normally", 2), ("ended_normally", 3), ("ended_normally", 4)]
    state = session.after()
    assert state is not None
    assert next(n.calls_left for n in state.needs if n.condition == "full_calls_watched") == 0


def test_a_plug_that_was_only_cleaned_is_not_kept_as_replaced(session: Session, evidence: Evidence) -> None:
    for repair, word in (("clean_the_plug", "cleaned_no_change"), ("replace_the_igniter", "replaced_no_change")):
        part = evidence.knowledge.repair[repair].of[0]
        session.tell("repair", {"part": part, "failure": "x", "repair": repair})
        session.still_there()
        assert session.record(session.visit.entries[-1]).word == word
    history = evidence.words.history
    assert history["replaced_no_change"] < history["cleaned_no_change"] < 1


def test_the_checklist_of_a_proof_fits_a_small_screen_with_all_that_it_lacks_in_order(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, ["no heat", *"nnnnnnn", "y", "y", "y", "y", "n", "", "heat terminal to neutral 0.3 at heating low on pin load on after 150"])
    board = session.answer().board
    assert board.nearest is not None
    capsys.readouterr()
    Desk(session, Script([]), lambda: 40).do("proof")
    told = capsys.readouterr().out
    shown = " ".join(told.split())
    lacks = [session.knowledge.condition[n.condition] for n in board.nearest.missing if not n.met_by and not n.denied_by]
    names = [str(c.any_of[0][0].names[0][1]).replace("_", " ") for c in lacks if not c.take]
    places = [shown.index(f"[ ] {name}") for name in names]
    assert places == sorted(places)
    assert names
    assert told.count("\n") < 55, told


class Follower:
    """Follows a proof by Enter alone; every value is that of the rules' own example, read after *seconds*."""

    first_key = 0.0
    by_steps = False

    def __init__(self, session: Session, values: dict[str, str], seconds: list[str]) -> None:
        self.session, self.values, self.seconds = session, values, seconds
        self.desk = Desk(session, self, lambda: 40)
        self.said: list[str] = []
        self.desk.prompt.say = lambda *text: self.said.extend(text)  # type: ignore[method-assign]
        self.prompts: list[str] = []

    def ask(self, prompt: str) -> str | None:
        self.prompts.append(prompt)
        if prompt == "> ":
            return ""
        if prompt.startswith("Read after"):
            return self.seconds[-1] if "is no time" in self.said[-1] else self.seconds[0]
        return self.values[next(n for text in reversed(self.said) for n in self.values if f"({n.replace('_', ' ')})" in text)]

    def ask_key(self, prompt: str, keys: object) -> str | None:
        return "l" if prompt.startswith("Your meter") else ""


FOUND_DEAD = ["heat terminal 0.2 low on pin load on at heating", "across heat output 119 at chain open", "heat terminal 0.1 low at blower on delay"]


@pytest.mark.parametrize(("seconds", "proved"), [("125", True), ("after 125 s", True), ("soon\n125", True), ("60", False), ("", False)])
def test_a_proof_followed_by_enter_alone_comes_to_its_end(session: Session, evidence: Evidence, seconds: str, proved: bool) -> None:
    """Whoever does only what the screen says must get there: seconds that count are asked for, and so is every line in each new call."""
    desk(session, ["no heat", *"nnnnnnn", "y", "y", "y", "y", "n", "", *FOUND_DEAD])
    held = evidence.knowledge.proof["heat_output_dead"].holds
    follower = Follower(session, {str(r.get("point", r.get("sign"))): str(r["value"]) for r in held}, seconds.split("\n"))
    while session.answer().board.proved == () and len(follower.prompts) < 100 and follower.ask("> ") is not None:
        nearest = session.answer().board.nearest
        assert nearest is not None
        assert nearest.proof == "heat_output_dead"
        if follower.said and "`call` as it begins" in follower.said[-1]:
            session.tell("call", {"call": session.visit.call + 1})
        follower.said.clear()
        take_missing(follower.desk, nearest.missing)
    assert bool(session.answer().board.proved) == proved


@pytest.mark.parametrize("follow", ["y", "Y", "yes"])
def test_yes_alone_answers_the_check_that_is_asked_for_and_no_terminal(session: Session, follow: str) -> None:
    ohms = ["igniter glows no at igniter warm up", "igniter pin to neutral 119 at igniter warm up", "igniter ohms OL"]
    desk(session, [*START, *ohms, "mend igniter", "y"])
    made = Desk(session, Script([]), lambda: 40)
    while (state := session.after()) is not None:
        need = next(iter(state.missing))
        check = session.knowledge.check[need.condition]
        line = check.any_of[0][0]
        if line.is_ == ("yes",):
            break
        for record in check.holds:
            for n in range(check.calls):
                session.take(Typed({**record, "call": str(session.visit.call + n)}), sure=True)
    assert state is not None
    made._enter(follow)
    kept = session.record(session.visit.checking[-1])
    assert (kept.name, kept.word) == (line.names[0][1], "yes")


def test_a_step_that_the_call_never_comes_to_is_not_asked_about_again_until_a_new_call(session: Session, evidence: Evidence) -> None:
    order = evidence.family.sequence.order
    desk(session, [*START, "inducer runs no"])
    session.tell("never", {"name": "draft", "step": "inducer_start", "nothing_there": True})
    later = set(order[order.index("inducer_start") :])
    assert not {r.step for r in session.answer().next} & later
    session.tell("call", {"call": 2})
    assert session.visit.unreached == set()
    session.undo()
    session.undo()
    assert session.visit.unreached == set()


def test_a_long_row_of_choices_is_printed_whole_and_never_put_into_the_prompt(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    """A terminal shows only the end of a prompt that is longer than its line."""
    script = Script([*START, "stops at"])
    prompts: list[str] = []
    asked = script.ask
    script.ask = lambda prompt: prompts.append(prompt) or asked(prompt)  # type: ignore[method-assign, func-returns-value]
    Desk(session, script, lambda: 40).run()
    assert prompts[-1] == ": "
    told = capsys.readouterr().out
    assert all(v.replace("_", " ") in " ".join(told.split()) for v in session.knowledge.sign["stops_at"].values)
    assert all(len(line) <= 40 for p in prompts for line in p.splitlines())


def test_a_wrong_key_of_the_start_is_mended_before_the_first_screen_and_the_questions_go_on(session: Session) -> None:
    dead = len(START[1:8]) + 1
    desk(session, ["no heat", *"nnnnnnn", "n", f"fix {dead} does something", "y", "n", ""])
    told = {r.name: r.word for r in map(session.record, session.visit.entries)}
    assert (told["whole_furnace"], told["inducer_runs"], told["igniter_glows"]) == ("does_something", "yes", "no")


def test_a_line_of_a_proof_is_not_passed_over_in_a_new_call_because_another_way_to_meet_it_was_told(session: Session) -> None:
    condition = next(c for c in session.knowledge.condition.values() if len(c.any_of) > 1 and c.any_of[0][0].names[0][0] == "sign")
    first = {name for w in condition.any_of[0] for _, name in w.names}
    other = next(way for way in condition.any_of[1:] if not first & {n for w in way for _, n in w.names})
    made = Desk(session, Script([]), lambda: 40)
    need = Need(condition.condition, "", ("met",), (), "", 1)
    for w in other:
        kind, name = w.names[0]
        value = w.is_[0] if kind == "sign" else "1"
        session.take(Typed({kind: name, "value": value}), sure=True)
    assert not told_in_this_call(made, need)
    for w in condition.any_of[0]:
        session.take(Typed({"sign": w.names[0][1], "value": w.is_[0]}), sure=True)
    assert told_in_this_call(made, need)


def test_a_corrected_entry_stays_in_its_heat_call(session: Session) -> None:
    session.take(Typed({"sign": "inducer_runs", "value": "no"}))
    session.tell("call", {"call": 2})
    kept = session.take(Typed({"sign": "inducer_runs", "value": "yes"}), instead_of=session.visit.entries[-1].number)
    assert isinstance(kept, Record)
    assert kept.call == 1


def test_no_prompt_is_longer_than_the_smallest_terminal(session: Session) -> None:
    """What does not fit is cut off where it is typed."""
    lines = ["inducer runs no at call", "inducer runs yes at call", "", "calc rise supply=125 return=70", "", "pressure switch open", "", "close", ""]
    script = Script([*START, *lines])
    prompts: list[str] = []
    asked = script.ask
    script.ask = lambda prompt: prompts.append(prompt) or asked(prompt)  # type: ignore[method-assign, func-returns-value]
    Desk(session, script, lambda: 40).run()
    assert next(script.lines, None) is None
    assert [p for p in prompts if len(p) >= 40] == []


@pytest.mark.parametrize(("line", "lacking"), [("no clamp", ("clamp",)), ("i have no manometer", ("manometer",)), ("dont have a clamp", ("clamp",))])
def test_an_instrument_that_is_not_there_is_heard_at_any_prompt(session: Session, line: str, lacking: tuple[str, ...]) -> None:
    desk(session, [*START, "without ohmmeter", "igniter ohms", line])
    assert session.visit.without == ("ohmmeter", *lacking)


def test_enter_mends_where_nothing_is_left_to_confirm(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    dead = ["igniter glows no at igniter warm up", "igniter pin to neutral 119 at igniter warm up", "igniter ohms OL", "igniter glows no at ignition trial"]
    desk(session, [*START, *dead])
    act = session.answer().act
    assert act is not None
    assert act.check is None
    capsys.readouterr()
    desk(session, [""])
    assert session.knowledge.repair["replace_the_igniter"].says in " ".join(capsys.readouterr().out.split())


def test_a_reading_that_the_proof_wants_too_is_asked_for_as_the_proof_wants_it(session: Session, evidence: Evidence) -> None:
    """Whoever takes it with the ordinary meter and no watch has to take it again for the proof."""
    condition = evidence.knowledge.condition["heat_output_dead"]
    wanted = condition.any_of[0][0]
    desk(session, ["no heat", *"nnnnnnn", "y", "y", "y", "y", "n", "", "", "mode low", *FOUND_DEAD[1:]])
    answer = session.answer()
    assert answer.board.nearest is not None
    assert condition.condition in {n.condition for n in answer.board.nearest.missing}
    other = next(iter(answer.next), None) or (answer.act and answer.act.check)
    assert other is not None
    asked = other._replace(name=wanted.names[0][1], step=wanted.step[0])
    session.answer = lambda more=(): answer._replace(act=None, next=(asked,))  # type: ignore[method-assign, misc]
    Desk(session, Script(["", "0.2", "200"]), lambda: 40)._turn()
    kept = session.record(session.visit.entries[-1])
    assert (kept.name, kept.step, kept.number, kept.after_s) == (asked.name, asked.step, 0.2, 200)
    assert (kept.meter, kept.contact, kept.set_up) == (wanted.meter, wanted.contact, wanted.set_up)


# --- closing ---


@pytest.mark.parametrize("slip", ["n", "no part", "xx", "y"])
def test_a_slip_at_why_does_not_close_the_visit(session: Session, slip: str) -> None:
    """It is asked again; what was typed is kept as a note where it is not agreed to."""
    desk(session, [*START, "igniter ohms OL", "close", slip, ""])

    assert session.visit.closed == ""
    assert [text for _, text in session.visit.notes] == [slip]


def test_what_is_typed_at_why_is_not_lost(session: Session) -> None:
    desk(session, [*START, "igniter ohms OL", "close", "inducer runs yes"])
    assert session.visit.closed == ""
    assert session.record(session.visit.entries[-1]).name == "inducer_runs"
    before = len(session.visit.entries)
    desk(session, ["close", "undo"])
    assert session.visit.closed == ""
    assert len(session.visit.entries) == before - 1


def test_a_reason_may_be_put_better_before_it_is_agreed_to(session: Session) -> None:
    desk(session, [*START, "igniter ohms OL", "close", "no prt", "no part in the van", "y"])

    assert (session.visit.closed, session.visit.reason) == ("not_proved", "no part in the van")


def test_a_bare_value_is_asked_of_what(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    """A name that begins so ("transformer hums") is not asked for in its place."""
    desk(session, [*START, "hums", "1"])

    assert "That could be" in capsys.readouterr().out
    record = session.record(session.visit.entries[-1])
    assert (record.name, record.word) == ("inducer_runs", "hums")


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("w to c at board 0.2 low pin load on after 150 s at heating", "w to c at board: 0.2 (at heating, after 150 s, meter low, on the pin, load on)"),
        ("inducer hums", "inducer runs: hums"), ("note filter was black", "the note: filter was black"), ("call", "heat call: 2"),
        ("without manometer", "planned without: manometer"), ("mode low", "how your meter reads: low"),
        ("assumed fan call tap cool", "of this furnace: fan call tap cool"),
        ("board no change", "control board: replaced no change"),
    ],
)  # fmt: skip
def test_what_is_taken_back_is_told_in_the_words_it_was_read_back_in(session: Session, capsys: pytest.CaptureFixture[str], typed: str, words: str) -> None:
    desk(session, [*START, typed])
    read_back = " ".join(capsys.readouterr().out.split())
    desk(session, ["undo"])
    out = " ".join(capsys.readouterr().out.split())
    assert f"Taken back: {words}." in out
    assert not set("[]{}'") & set(out.partition("Taken back")[2].partition(".")[0])
    if "(" in words:
        assert words in read_back


def test_what_a_search_leaves_is_shown_by_find_more(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    """And an event is found by its words too."""
    desk(session, [*START, "find thermostat wire", "find storm", "find wire", *["find more"] * 9])
    out = capsys.readouterr().out
    assert "storm or outage" in out
    shown = " ".join(out.partition("storm or outage")[2].split())
    for entry in matching(session.knowledge, ("wire",)):
        name = next(str(getattr(entry, kind)) for kind in ("point", "sign", "event") if hasattr(entry, kind))
        assert f"{name.replace('_', ' ')}:" in shown


def test_a_reading_that_is_wanted_once_more_is_asked_for_in_a_new_heat_call(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    """Enter begins the call, and what is typed is of it."""
    told = [
        "whole furnace does something", "inducer runs", "igniter glows yes", "burners light yes", "flame goes out within seconds", "stops at ignition trial",
        "flame rod looks clean", "flame rod is in flame", "fault comes and goes no", "line to chassis at board 121.8 at standby",
        "rod wire end to end ohms 0.15", "burner to ground ohms 0.12", "flame current 4.7 at ignition trial",
    ]  # fmt: skip
    desk(session, [*START, *told])
    asked = session.answer().next[0]
    assert (asked.name, asked.call) == ("flame_current", session.visit.call + 1)
    capsys.readouterr()
    desk(session, ["", "4.6"])
    kept = session.record(session.visit.entries[-1])
    assert (kept.name, kept.number, kept.call) == ("flame_current", 4.6, asked.call)
    assert session.visit.call == asked.call
    assert not any((n.name, n.step) == (asked.name, asked.step) for n in session.answer().next)


@pytest.mark.parametrize("answer", ["y", "c", "f"])
def test_a_reading_kept_after_a_question_was_read_before_it(session: Session, answer: str) -> None:
    """The watch stands where the reading was typed, however long its question then waits for a key."""
    first, other = ("400 V", "400 V") if answer == "y" else ("119 V", "30 V")  # nothing at a furnace reads 400 V; and two readings that clash
    session.tell("call", {"call": 1})
    session.tell("click", {"call": 1})
    at, click = desk(session, ["quit"]), session.visit.click or 0
    reading = {"point": "heat_terminal_to_neutral", "step": "heating"}
    if answer != "y":
        session.take(Typed({**reading, "value": first}), at=click + 200)

    class Slow(Script):
        """Answers a minute after it was asked."""

        def ask(self, prompt: str) -> str | None:
            self.first_key = click + 260
            return super().ask(prompt)

    at.prompt.asker = Slow([answer])
    at.prompt.asker.first_key = click + 200
    kept = at.keep(Typed({**reading, "value": other}))
    assert kept is not None
    assert kept.after_s == (None if answer == "c" else 200)  # of a call that nobody timed no seconds are known


def test_a_closer_word_takes_the_place_of_a_vaguer_one_and_not_the_other_way(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    """A motor that hums does not run; who says only that it does not run has not said that it hums."""
    desk(session, [*START, "inducer runs no", "inducer hums"])
    assert [(r.name, r.word) for r in map(session.record, session.visit.telling) if r.name == "inducer_runs"] == [("inducer_runs", "hums")]
    assert "takes its place" in " ".join(capsys.readouterr().out.split())
    desk(session, ["inducer runs yes", ""])  # asked about, and dropped
    assert [r.word for r in map(session.record, session.visit.telling) if r.name == "inducer_runs"] == ["hums"]
    assert "f fix that entry" in " ".join(capsys.readouterr().out.split())
