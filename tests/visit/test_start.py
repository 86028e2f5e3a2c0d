"""The questions of the start: a line typed in place of a key is heard, and the question is put again."""

from __future__ import annotations

import re

import pytest

from furnace_diag.diagnosis import vocabulary
from furnace_diag.visit.lines import Reader
from furnace_diag.visit.session import Session
from tests.ours import our_rules
from tests.visit.playing import START, desk

SAFE = START[1:8]


def told(session: Session) -> dict[str, str | None]:
    return {r.name: r.word for r in map(session.record, session.visit.entries)}


@pytest.mark.parametrize("line", ["intermittent no heat", "no heat sometimes", "sometimes no heat", "no flame at times", "heat sometimes"])
def test_what_comes_and_goes_is_not_read_as_a_fault_that_stays(session: Session, line: str) -> None:
    desk(session, ["no heat", line, *SAFE, "", "", "", "", "", ""])
    assert told(session)["fault_comes_and_goes"] == "yes"
    assert session.open_safety() == []  # the question it was typed at was put again


def test_a_record_typed_at_a_question_is_kept_and_a_slip_only_tells_the_keys(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, ["no heat", "igniter ohms OL", "potato", *SAFE, "y", "inducer hmus", "", ""])
    assert session.open_safety() == []
    assert told(session)["inducer_runs"] == "hums"
    assert "igniter_ohms" in told(session)
    said = " ".join(capsys.readouterr().out.split())
    assert said.count("Is there a smell of gas?") == 3
    assert "potato is none of: n none" in said


def test_a_hazard_typed_at_a_question_stops_the_questions(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, ["no heat", "carbon monoxide alarm sounding", ""])
    said = capsys.readouterr().out
    assert "STOP." in said
    assert "Does anybody" not in said


def test_a_question_mark_explains_the_question_and_leaves_it_standing(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, ["no heat", "?", *SAFE, "", "", "", "", "", ""])
    assert session.open_safety() == []
    assert session.knowledge.sign["gas_smell"].says in " ".join(capsys.readouterr().out.split())


def test_lock_out_leads_to_how_far_the_call_gets(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    """A lock-out follows the trials: it says that they failed, not where. So it is asked for."""
    step = next(s for s in session.evidence.family.sequence.steps if s.step == "lockout")
    desk(session, ["no heat", *SAFE, "it locks out", "", "", "", "", "", ""])
    assert step.says in " ".join(capsys.readouterr().out.split())
    desk(session, ["it locks out", "lockout", "ignition trial"])
    assert told(session)["stops_at"] == "ignition_trial"


@pytest.mark.parametrize("yes", ["y", "yes", "Yeah"])
def test_a_yes_to_what_happened_before_asks_what_it_was(session: Session, capsys: pytest.CaptureFixture[str], yes: str) -> None:
    """ "y" is a wire too."""
    desk(session, [*START[:-1], yes, "igniter no change", ""])
    said = " ".join(capsys.readouterr().out.split())

    assert told(session)["igniter"] == "replaced_no_change"
    assert "What was it?" in said
    assert "y_to_c_at_board" not in said


@pytest.mark.parametrize("no", ["none", "nope", "no", "nah", "nothing"])
def test_a_plain_no_answers_every_question_on_safety(session: Session, no: str) -> None:
    desk(session, ["no heat", *[no] * len(SAFE), "", "", "", "", "", ""])
    assert session.open_safety() == []
    assert session.hazards() == ()


@pytest.mark.parametrize("nothing", ["n", "no", "none", "nothing", "dont know", "dunno"])
def test_nothing_happened_before_ends_that_question(session: Session, nothing: str, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, ["no heat", *SAFE, "", "", "", "", "", nothing])
    assert "names nothing" not in capsys.readouterr().out
    assert set(told(session)) == set(told(session)) & {q.sign for q in session.knowledge.question.values()}


def test_a_complaint_taken_back_among_the_questions_is_asked_for_again_and_nothing_is_ranked_before_them(
    session: Session, capsys: pytest.CaptureFixture[str]
) -> None:
    desk(session, ["no heta", "undo", *SAFE, "", "", "", "", "", "no heat", "", ""])
    before_the_first_answer = capsys.readouterr().out.partition("Taken back")[2].partition("(")[0]
    assert session.visit.complaint == "no heat"
    assert "NEXT" not in before_the_first_answer
    assert "%" not in before_the_first_answer


def questions_put(text: str) -> list[str]:
    """What was asked at the start, in order."""
    flat = " ".join(text.split())
    asks = [q.asks for q in our_rules().question.values()]
    found = [(m.start(), a) for a in asks for m in re.finditer(re.escape(a), flat)]
    return [a for _, a in sorted(found)]


@pytest.mark.parametrize("at", range(1, 9))
def test_an_answer_taken_back_among_the_questions_is_asked_for_again_before_the_next(session: Session, capsys: pytest.CaptureFixture[str], at: int) -> None:
    answers = [*SAFE, "y", "y"]
    desk(session, ["no heat", *answers[:at], "undo", *answers[at - 1 :], "", "", "", ""])
    asked = questions_put(capsys.readouterr().out)
    assert asked[at - 1 : at + 2] == [asked[at - 1], asked[at], asked[at - 1]]
    assert session.open_safety() == []
    assert told(session)["inducer_runs"] == "yes"


def test_one_left_open_is_asked_again_too(session: Session) -> None:
    desk(session, ["no heat", "", "undo", *SAFE, "", "", "", "", "", ""])
    assert session.open_safety() == []


@pytest.mark.parametrize("line", ["light on", "inducer on", "igniter glows", "blower runs"])
def test_what_shows_life_answers_whether_there_is_any(session: Session, capsys: pytest.CaptureFixture[str], line: str) -> None:
    desk(session, ["no heat", *SAFE, line, *[""] * 6])
    asked = questions_put(capsys.readouterr().out)
    life = session.knowledge.question["life"].asks
    assert asked.count(life) == 1
    assert len(session.visit.entries) == len(SAFE) + 1


@pytest.mark.parametrize("line", ["light dark", "inducer no"])
def test_what_shows_none_does_not(session: Session, capsys: pytest.CaptureFixture[str], line: str) -> None:
    desk(session, ["no heat", *SAFE, line, *[""] * 6])
    assert questions_put(capsys.readouterr().out).count(session.knowledge.question["life"].asks) == 2


@pytest.mark.parametrize(
    ("line", "value"),
    [("nothing", "dead"), ("nothing happens", "nothing_runs"), ("l", "light_only"), ("dead", "dead"), ("n", "dead"), ("no", "dead")],
)
def test_nothing_at_all_ends_the_questions_and_what_comes_later_in_the_call_is_not_asked(
    session: Session, capsys: pytest.CaptureFixture[str], line: str, value: str
) -> None:
    desk(session, ["dead, nothing happens", *SAFE, line, *[""] * 2])
    asked = questions_put(capsys.readouterr().out)
    assert asked[-1] == session.knowledge.question["light" if value == "nothing_runs" else "life"].asks  # whether a light is lit is left open by it
    assert told(session)["whole_furnace"] == value
    assert session.answer().next[0].name != session.evidence.sign_of_stopping


def test_no_motion_of_the_inducer_in_any_words_ends_the_questions(session: Session) -> None:
    ends = session.knowledge.question["inducer"].ends
    assert {v for v in session.knowledge.sign["inducer_runs"].values if v != "yes"} == {*ends}


@pytest.mark.parametrize("typed", ["", "?"])
def test_what_the_words_of_how_far_a_call_gets_mean_is_told_where_they_are_asked_for(
    session: Session, capsys: pytest.CaptureFixture[str], typed: str
) -> None:
    desk(session, START)
    capsys.readouterr()
    sign = session.knowledge.sign[str(session.evidence.sign_of_stopping)]
    assert {*sign.value_says} == {*sign.values}
    desk(session, ["stops at", typed, ""])
    said = capsys.readouterr().out
    for value, says in sign.value_says.items():
        assert " ".join(said.split()).count(f"{value.replace('_', ' ')}: {says}") >= (2 if typed else 1)
    assert all(len(line) <= 40 for line in said.splitlines() if "/" not in line)


@pytest.mark.parametrize("taken_back", ["undo", "remove 1"])
def test_a_hazard_by_a_slip_taken_back_at_the_prompt_brings_the_questions_again(
    session: Session, capsys: pytest.CaptureFixture[str], taken_back: str
) -> None:
    desk(session, ["no heat", "y", taken_back, *SAFE, "", "", "", "", ""])
    said = capsys.readouterr().out
    assert session.open_safety() == []
    assert session.hazards() == ()
    assert questions_put(said)[:3] == [q.asks for q in [*our_rules().question.values()][:1] * 2 + [*our_rules().question.values()][1:2]]
    assert "NEXT" not in said.partition("aken back")[2].partition("(")[0]  # nothing is ranked before they are answered


def answered(session: Session, sign: str, *lines: str) -> str | None:
    """What the question on safety about *sign* was answered with, those before it with a no."""
    asked = [q.sign for q in session.knowledge.question.values() if q.group == "safety"]
    desk(session, ["no heat", *"n" * asked.index(sign), *lines])
    return told(session).get(sign)


@pytest.mark.parametrize("yes", ["yes", "y", "yeah", "yes in the hall", "yep but only a little"])
@pytest.mark.parametrize("question", ["smell_of_gas", "alarm", "people", "fire", "scorch", "water", "tingle"])
def test_a_yes_to_a_question_on_safety_stops_by_the_worst_that_it_may_mean(session: Session, question: str, yes: str) -> None:
    """Whoever says yes and then nothing may stand in smoke: of a slip to be taken back, and of going on, that is the lesser evil."""
    asked = session.knowledge.question[question]
    value = answered(session, asked.sign, yes, "")
    assert value == list(asked.keys.values())[-1]  # they stand from all well to the worst
    assert session.hazards()


@pytest.mark.parametrize(("lines", "value"), [(("yes", "s"), "smoke"), (("yes", "smoke"), "smoke"), (("yes smoke",), "smoke"), (("yes", "dunno"), "fire")])
def test_of_a_yes_that_may_be_several_it_is_asked_which(session: Session, lines: tuple[str, ...], value: str) -> None:
    assert answered(session, "smoke_or_fire", *lines) == value


@pytest.mark.parametrize(
    "line", ["nope they moved out", "no everyone is fine", "no they're all ok", "no not that i know of", "nah all good", "not at all", "everyone is fine"]
)
def test_a_no_with_what_leaves_it_one_is_a_no(session: Session, line: str) -> None:
    assert answered(session, "people_feel_ill", line) == "no"
    assert session.hazards() == ()


@pytest.mark.parametrize(
    "line",
    ["no they passed out", "no they are not fine", "nobody feels fine", "no but my wife is dizzy", "no one feels good", "no it went away",
     "no they are in hospital", "yeah no everyone is fine"],
)  # fmt: skip
def test_a_no_with_anything_else_is_no_answer(session: Session, line: str) -> None:
    """ "They are in hospital" after a no must never read as all well."""
    assert answered(session, "people_feel_ill", line) != "no"
    assert "people" in {q.question for q in session.open_safety()} or session.hazards()


@pytest.mark.parametrize("line", ["nobody home", "no, nobody home", "house is vacant", "they moved out", "no one home"])
def test_where_nobody_was_there_to_ask_nobody_is_told_to_be_well(session: Session, line: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert answered(session, "people_feel_ill", line) is None
    assert "Nobody was there to ask" in " ".join(capsys.readouterr().out.split())
    assert "people" in {q.question for q in session.open_safety()}
    desk(session, ["people feel ill: nobody home", "n"])  # is it so that they feel ill? No: nothing is kept of that either
    assert "people_feel_ill" not in told(session)


@pytest.mark.parametrize(("sign", "line"), [("gas_smell", "no gas"), ("gas_smell", "no gas smell"), ("co_alarm", "no alarm"), ("smoke_or_fire", "no fire")])
def test_a_no_to_the_thing_that_was_asked_after_is_nothing_else(session: Session, sign: str, line: str) -> None:
    """ "No gas" to the question after a smell is not that the burners do not light."""
    assert answered(session, sign, line) in ("none", "silent")
    assert "burners_light" not in told(session)


@pytest.mark.parametrize(
    ("sign", "line"), [("people_feel_ill", "no, dizzy"), ("people_feel_ill", "no, ill"), ("smoke_or_fire", "no, smoke"), ("gas_smell", "no, gas")]
)
def test_a_no_and_then_the_danger_itself_is_asked_about_again(session: Session, sign: str, line: str) -> None:
    assert answered(session, sign, line) is None
    assert "burners_light" not in told(session)


def test_taking_back_a_reading_puts_no_question_that_stood_open_before(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*START, "burners lit", "filter clean", "undo"])  # lit leaves open whether the flame goes out, and nobody was asked
    assert "Does the flame go out by itself?" not in questions_put(capsys.readouterr().out)


def test_taking_back_an_answer_puts_its_question_again(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, ["no heat", *SAFE, "y", "y", "n", "", "undo", "n"])
    assert questions_put(capsys.readouterr().out).count("Does the igniter glow?") == 2
    assert told(session)["igniter_glows"] == "no"



def test_what_is_seen_in_a_fan_call_opens_no_question_on_a_heat_call(session: Session) -> None:
    desk(session, ["blower wont kick on, fan on at stat works", *SAFE, "", "y", "burners stay lit", "", "", ""])
    desk(session, ["blower runs at fan call"])
    assert [q.question for q in session.questions("behaviour")] == []


def test_what_one_command_wrote_is_taken_back_together(session: Session) -> None:
    desk(session, [*START, "filter blocked", "mend filter", "y", "y"])
    assert session.visit.proving is not None
    desk(session, ["same"])
    assert session.visit.proving is None
    desk(session, ["undo"])
    assert session.visit.proving is not None
    assert [r.kind for r in map(session.record, session.visit.entries)].count("history") == 0
    desk(session, ["undo"])
    assert session.visit.repairs == []


@pytest.mark.parametrize("complaint", ["runs ten mins and quits, fan keeps running", "burners come on ok then no air", "lights for a few secs n goes out"])
def test_a_flame_that_was_told_leaves_nobody_asked_whether_the_inducer_runs(session: Session, capsys: pytest.CaptureFixture[str], complaint: str) -> None:
    desk(session, [complaint, *SAFE, "", "", "", "", ""])
    asked = questions_put(capsys.readouterr().out)
    assert not {session.knowledge.question[q].asks for q in ("life", "inducer", "glow")} & {*asked}


def test_what_happened_before_is_asked_again_where_a_visit_was_cut_off_at_it(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, START[:-1])
    capsys.readouterr()
    desk(session, ["lightning storm", ""])
    assert "Was anything replaced before you came" in " ".join(capsys.readouterr().out.split())
    assert [e.record.get("event") for e in session.visit.entries][-1] == "storm_or_outage"
    desk(session, [])
    assert "Was anything replaced before you came" not in " ".join(capsys.readouterr().out.split())
    session.undo()
    assert all("event" not in e.record for e in session.visit.entries)


@pytest.mark.parametrize("ending", [["bridge taken out"], ["tape off the door sw, works right", "bridge taken out"], ["jumper removed, filter clean", "y"]])
def test_what_a_danger_in_the_complaint_cut_short_is_asked_once_it_is_ended(session: Session, ending: list[str]) -> None:
    """However it is told as ended: nothing is read on a running furnace before the questions on safety."""
    desk(session, ["no heat. also the door sw is taped down", *ending, *SAFE, "y"])
    assert told(session)["safety_bypassed"] == "found_and_taken_out"
    assert session.open_safety() == []
    assert told(session)["whole_furnace"] == "does_something"


def test_no_line_waits_for_names_to_be_spelled_out(monkeypatch: pytest.MonkeyPatch) -> None:
    """What is made ready as a visit starts is not made again as the first line is read."""
    ready, other = vocabulary.Vocabulary(our_rules()), vocabulary.Vocabulary(our_rules())
    ready.make_ready()
    made = list[object]()
    monkeypatch.setattr(vocabulary, "Names", lambda entries, _: made.append(entries))

    assert Reader(ready).read("inducer runs: yes") is not None
    assert made == []
    other.names("sign")
    assert len(made) == 1
