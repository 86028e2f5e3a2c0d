"""Asking for one value: help with it, the meter first, and when it was read."""

from __future__ import annotations

import pytest

from furnace_diag.cli.visit_answer import for_check
from furnace_diag.cli.visit_desk import Desk
from furnace_diag.cli.visit_values import ask_for, ask_meter, take_lines
from furnace_diag.diagnosis.taking import is_timed
from furnace_diag.report.visit_screen import proof_lines, proving_lines
from furnace_diag.visit.session import Session
from furnace_diag.visit.typed import Typed
from tests.visit.playing import START, Script, desk

HOLD = {"min": "minimum", "max": "maximum"}


def last(session: Session) -> tuple[str, float | str | None, float | None]:
    kept = session.record(session.visit.entries[-1])
    return kept.name, kept.word if kept.number is None else kept.number, kept.after_s


@pytest.mark.parametrize(
    ("lines", "meter"), [(["24.8", "o"], "high"), (["24.8 at call", "l"], "low"), (["24.8", "loz"], "low"), (["24.8", ""], None), (["o", "24.8"], "high")]
)
def test_a_value_typed_at_the_question_for_the_meter_is_kept_for_the_reading(session: Session, lines: list[str], meter: str | None) -> None:
    made = Desk(session, Script(lines), lambda: 40)
    given, then = ask_meter(made, "point", "w_to_c_at_board")
    assert not then
    assert ask_for(made, "point", "w_to_c_at_board", {}, given=given)
    kept = session.record(session.visit.entries[-1])
    assert (kept.name, kept.number, kept.meter) == ("w_to_c_at_board", 24.8, meter)
    assert session.visit.meter == meter


def test_the_meter_is_asked_for_once(session: Session) -> None:
    prompts: list[str] = []
    script = Script(["o"])
    script.ask_key = lambda prompt, keys: prompts.append(prompt) or "o"  # type: ignore[method-assign, func-returns-value]
    made = Desk(session, script, lambda: 40)
    assert [ask_meter(made, "point", "w_to_c_at_board") for _ in range(2)] == [("", "")] * 2
    assert len(prompts) == 1
    assert len(prompts[0]) < 40


@pytest.mark.parametrize("name", ["heat_terminal_to_neutral", "igniter_ohms", "inducer_runs"])
def test_a_question_mark_tells_of_the_reading_in_full_and_asks_again(session: Session, capsys: pytest.CaptureFixture[str], name: str) -> None:
    k = session.knowledge
    kind = "point" if name in k.point else "sign"
    entry = k.point[name] if kind == "point" else k.sign[name]
    made = Desk(session, Script(["?", "0.2" if kind == "point" else "hums"]), lambda: 40)
    made.prompt.cautioned = {k.caution[c].says for c in entry.cautions}  # told before: help tells them in full again
    assert ask_for(made, kind, name, {"step": entry.steps[-1]})
    said = capsys.readouterr().out
    flat = " ".join(said.split())
    for text in (entry.says, entry.where or "", *(k.caution[c].says.rstrip(".") for c in entry.cautions)):
        assert " ".join(text.split()) in flat
    expected = [e for e in getattr(entry, "expects", ()) if entry.steps[-1] in e.steps]
    assert all(f"{e.high:g}" in flat for e in expected)
    assert [line for line in said.splitlines() if len(line) > 40] == []
    assert last(session)[0] == name


@pytest.mark.parametrize(
    ("said", "seconds"),
    [("200s", 200), ("200 s after gas on", 200), ("3min", 3 * 60), ("3m20", 3 * 60 + 20), ("after 200", 200), ("soon\n200", 200), ("", None)],
)
def test_when_it_was_read_is_asked_for_and_understood_as_people_say_it(session: Session, said: str, seconds: float | None) -> None:
    made = Desk(session, Script(["0.2", *said.split("\n")]), lambda: 40)
    ask_for(made, "point", "heat_terminal_to_neutral", {"step": "heating"}, timed="30 s or more into it")
    assert last(session) == ("heat_terminal_to_neutral", 0.2, seconds)


def test_from_when_the_seconds_count_is_said(session: Session) -> None:
    order = session.evidence.family.sequence.order
    gas = order.index("ignition_trial")
    assert {session.counts_from(s) for s in order[1:gas]} == {"the call began"}
    assert {session.counts_from(s) for s in order[gas:]} == {"the gas came on"}


def test_a_reading_of_seconds_takes_the_same_words(session: Session) -> None:
    desk(session, [*START, "seconds to blower", "45 s after gas on"])
    assert last(session)[:2] == ("seconds_to_blower", 45)


@pytest.mark.parametrize("how", ["200 s after gas on", "at heating 200s", "3min20 low", "after 3:20"])
def test_a_line_tells_when_it_was_read(session: Session, how: str) -> None:
    desk(session, [*START, f"heat terminal to neutral 0.2 {how}"])
    assert last(session) == ("heat_terminal_to_neutral", 0.2, 200)


@pytest.mark.parametrize(("how", "asked_again"), [("on pin", False), ("", True)])
def test_of_a_condition_only_what_was_not_told_as_it_is_wanted_is_asked_for(session: Session, how: str, asked_again: bool) -> None:
    """Nobody goes back to a terminal for a figure that stands in the record."""
    pairs = [(c, *c.any_of[0]) for c in session.knowledge.condition.values() if len(c.any_of[0]) == 2]
    condition, first, second = next(pair for pair in pairs if pair[1].contact == "pin" and not is_timed(pair[1]))
    desk(session, [*START, f"{first.names[0][1]} 0 at {first.step[0]} {how} {HOLD.get(str(first.hold), '')}"])
    assert session.record(session.visit.entries[-1]).name == first.names[0][1]
    made = Desk(session, Script(["0", "0"]), lambda: 40)
    before = len(session.visit.entries)
    take_lines(made, condition.any_of[0], quiet=True)
    told = [session.record(e).name for e in session.visit.entries[before:]]
    assert told == [w.names[0][1] for w in ((first, second) if asked_again else (second,))]


@pytest.mark.parametrize(("line", "meter"), [("0v high", "high"), ("0v low", "low"), ("0ish v", "low")])
def test_a_value_with_a_word_on_the_meter_is_of_the_reading_that_is_asked_for(session: Session, line: str, meter: str) -> None:
    """"high" is also part of a name, and that name is not what the screen asks for."""
    desk(session, [*START, "inducer no", "w to c 25.4 at call", "stops at inducer start", "mode low"])
    points = session.knowledge.point
    for _ in range(10):
        asked = session.answer().next[0]
        if asked.name in points and points[asked.name].function == "ac_volts":
            break
        desk(session, ["skip"])
    assert points[asked.name].function == "ac_volts"
    desk(session, [line])
    kept = session.record(session.visit.entries[-1])
    assert (kept.name, kept.step, kept.number, kept.meter) == (asked.name, asked.step, 0, meter)


def test_no_seconds_are_made_up_in_a_call_that_nobody_marked(session: Session) -> None:
    """The call that follows a repair is counted by the program; when it began nobody said."""
    session.tell("call", {"call": 2})
    assert session.clock_of({"step": "inducer_start"}) is not None
    session.tell("call", {"call": 3, "unmarked": True})
    assert session.visit.call == 3
    assert session.clock_of({"step": "inducer_start"}) is None


def test_a_word_of_its_own_is_not_mended_into_a_value(session: Session) -> None:
    assert session.reader.forgiven("none", "sign", "covers_back") == []
    assert session.reader.forgiven("nope", "sign", "covers_back") == []  # a value as it stands


def test_a_value_alone_is_of_the_line_of_a_check_that_is_not_told_yet(session: Session) -> None:
    """A check may ask for two things: the second is told as shortly as the first."""
    desk(session, [*START, "igniter glows no", "igniter ohms OL"])
    session.tell("repair", {"part": "flame_rod", "failure": "filmed", "repair": "clean_the_flame_rod"})
    state = session.after()
    assert state is not None
    two = next(n for n in state.needs if n.condition == "rod_is_sound")
    made = Desk(session, Script([]), lambda: 40)
    for line, name in (("OL", "rod_to_case_ohms"), ("whole", "rod_porcelain")):
        typed = for_check(made.prompt, two, line)
        assert typed is not None
        assert name in typed.record.values()


def test_a_valve_is_not_replaced_before_gas_was_read_at_its_inlet(session: Session) -> None:
    """No valve opens on gas that is not there: common practice, no source."""
    repair = session.knowledge.repair["replace_the_gas_valve"]

    def lacking() -> list[str]:
        return [n.condition for n in session.before(repair).needs if n.calls_left]

    desk(session, [*START, "gas valve volts 25 at ignition trial"])
    assert lacking() == ["valve_is_not_short_of_gas"]
    desk(session, ["inlet pressure 0.1 at ignition trial"])
    assert lacking() == ["valve_is_not_short_of_gas"]
    desk(session, ["fix 9 inlet pressure 6.5 at ignition trial"])
    assert lacking() == []


def test_how_many_watched_calls_are_wanted_is_told(session: Session) -> None:
    desk(session, [*START, "igniter ohms OL"])
    session.tell("repair", {"part": "igniter", "failure": "open", "repair": "replace_the_igniter"})
    for left in (3, 2, 1):  # three full calls after a repair
        state = session.after()
        assert state is not None
        watched = next(n for n in state.needs if session.knowledge.check[n.condition].calls > 1)
        said = " ".join(" ".join(proving_lines(state._replace(needs=(watched,)), 40)).split())
        assert f"{left} {'more ' if left < 3 else ''}such call{'s' if left > 1 else ''} wanted" in said
        session.take(Typed({"sign": "call_watched", "value": "ended_normally", "call": str(session.visit.call + 4 - left)}))


def test_only_what_is_done_to_the_end_is_ticked_and_the_ticks_are_those_that_are_counted(session: Session) -> None:
    desk(session, [*START, "igniter ohms OL"])
    session.tell("repair", {"part": "igniter", "failure": "open", "repair": "replace_the_igniter"})
    calls = session.knowledge.check["full_calls_watched"].calls
    for call in range(2, calls + 2):
        session.take(Typed({"sign": "call_watched", "value": "ended_normally", "call": str(call)}))
        state = session.after()
        assert state is not None
        shown = list(proof_lines(state, 40, session.knowledge))
        ticks = sum("[x]" in line for line in shown)
        assert f"{ticks} of {len(state.needs)} checks done" in " ".join(" ".join(proving_lines(state, 40)).split())
        assert ticks == (call == calls + 1)
        flat = " ".join(" ".join(shown).split())
        assert ("such call" in flat) == (call < calls + 1)


def test_no_id_stands_on_the_screens_of_a_repair(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*START, "igniter ohms OL"])
    session.tell("repair", {"part": "igniter", "failure": "open", "repair": "replace_the_igniter"})
    capsys.readouterr()
    desk(session, ["checks", "", "", "call watched ok", "checks", "why igniter", "list"])
    assert [word for word in capsys.readouterr().out.split() if "_" in word and "/" not in word and ".yaml" not in word] == []


def test_a_figure_without_its_step_is_asked_for_it_by_an_example_that_is_taken(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*START, "heat terminal 0.2 low pin"])
    said = " ".join(capsys.readouterr().out.split())
    assert "At which step?" in said
    number = session.visit.entries[-1].number
    example = said.rpartition("At which step?")[2].partition("such as: ")[2].partition(" at ")[0]
    desk(session, [f"{example} at heating"])
    kept = [session.record(e) for e in session.visit.entries if session.record(e).name == "heat_terminal_to_neutral"]
    assert f"fix {number}" in example
    assert [r.step for r in kept] == ["heating"]


def test_a_figure_with_its_step_is_not_asked_for_it(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*START, "heat terminal 0.2 low pin at heating"])
    assert "At which step?" not in capsys.readouterr().out


def test_a_value_may_be_told_by_its_number_where_no_yes_tells_it(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    at = desk(session, START)
    at.prompt.asker = Script(["y", "2"])
    assert ask_for(at, "sign", "cause_of_the_failure", {})
    assert session.record(session.visit.entries[-1]).word == "looked_for_and_none_seen"
    said = " ".join(capsys.readouterr().out.split())
    assert "y says not which: 1 found and mended | 2 looked for and none seen | 3 not looked for. Type its number" in said
