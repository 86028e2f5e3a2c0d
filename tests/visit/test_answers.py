"""What is typed in answer to what the screen asks, in more words than its value: it is that answer where it can be no other."""

from __future__ import annotations

import pytest

from furnace_diag.diagnosis.vocabulary import Vocabulary
from furnace_diag.knowledge.find import Names
from furnace_diag.visit.answers import SHORTEST_READ_OFF, in_other_words, nearest_value, value_read_off
from furnace_diag.visit.lines import Reader
from furnace_diag.visit.session import Session
from furnace_diag.visit.typed import Typed
from tests.ours import our_rules
from tests.visit.playing import START, desk
from tests.visit.test_stops import ByHand

KNOWLEDGE = our_rules()
READER = Reader(Vocabulary(KNOWLEDGE))
# of our own making: what was asked for, what was typed, and the value that it can only mean
MEANT = [
    ("call_watched", "ended normaly", "ended_normally"), ("call_watched", "worked fine", "ended_normally"), ("call_watched", "2nd ok", "ended_normally"),
    ("stops_at", "cal", "call"), ("covers_back", "yea", "yes"), ("inducer_noise", "sounds ok", "normal"), ("leads_secure", "leads ok", "yes"),
    ("co_in_room", "less than 30", "under_30_ppm"), ("co_in_room", "co under 30", "under_30_ppm"), ("co_in_room", "below 30 ppm", "under_30_ppm"),
    ("fuse_blows_again", "blows on cooling", "on_cooling_call"), ("whole_furnace", "ded", "dead"), ("stops_at", "valve clicks but no fire", "ignition_trial"),
    ("stops_at", "gas valve clicks but won't light", "ignition_trial"), ("stops_at", "clicks, no flame", "ignition_trial"),
    ("stops_at", "glows but the valve never clicks", "igniter_warm_up"),
]  # fmt: skip
FIGURES = [("outdoor_cable_ohms", "half an ohm", 0.5), ("outdoor_cable_ohms", "ohms .5", 0.5), ("igniter_ohms", "reads 52", 52), ("draft", "half", 0.5)]
OTHER = [("call_watched", "not ok at all then"), ("covers_back", "now"), ("co_in_room", "gas smell none"), ("stops_at", "xyz"), ("call_watched", "no good"),
         ("stops_at", "valve clicks"), ("stops_at", "the gas valve clicks"),
         ("gas_smell", "some"), ("leads_secure", "leads"), ("inducer_noise", "ok noisy")]  # fmt: skip


def values_meant(sign: str, text: str) -> set[str]:
    lines = [text, *READER.forgiven(text, "sign", sign), *READER.in_other_words("sign", sign, text)]
    typed = [t for line in lines if (t := READER.only_value("sign", sign, line, {})) is not None]
    return {v for t in typed for v in READER.vocabulary.values(sign).meant(str(t.record["value"]))}


@pytest.mark.parametrize(("sign", "text", "value"), MEANT)
def test_an_answer_in_more_words_or_with_a_slip_is_the_value_that_it_can_only_mean(sign: str, text: str, value: str) -> None:
    assert values_meant(sign, text) == {value}


@pytest.mark.parametrize(("point", "text", "figure"), FIGURES)
def test_a_share_or_a_unit_before_the_figure_is_that_figure(point: str, text: str, figure: float) -> None:
    lines = [text, *READER.in_other_words("point", point, text)]
    typed = next(t for line in lines if (t := READER.only_value("point", point, line, {})) is not None)
    assert float(str(typed.record["value"]).split()[0]) == figure


@pytest.mark.parametrize(("sign", "text"), OTHER)
def test_what_may_mean_something_else_is_not_guessed(sign: str, text: str) -> None:
    meant = values_meant(sign, text)
    assert meant - {"failed"} == set()  # "not ok" of a watched call says so itself


@pytest.mark.parametrize("sign", sorted(s.sign for s in KNOWLEDGE.sign.values() if s.value_says))
def test_what_the_list_on_the_screen_says_of_a_value_is_that_value(sign: str) -> None:
    for value, says in KNOWLEDGE.sign[sign].value_says.items():
        if len(says.split()) >= SHORTEST_READ_OFF:
            assert READER.in_other_words("sign", sign, says.capitalize())[:1] == [value.replace("_", " ")]


def test_what_is_read_off_without_its_no_is_not_that_value() -> None:
    says = {"clicks": "the valve clicks, and no flame comes", "glows": "the igniter glows for a while"}
    assert value_read_off("Valve clicks, and no flame", says) == "clicks"
    assert value_read_off("the igniter glows for", says) == "glows"
    assert [value_read_off(text, says) for text in ("the valve clicks, and", "valve clicks flame comes", "igniter glows")] == [None] * 3


def test_a_denial_is_never_taken_for_what_it_denies() -> None:
    values = Names({"lit": ("lit up",), "dark": ("not lit",)})
    assert nearest_value("not lti", values) == "dark"
    assert nearest_value("lti", values) == "lit"
    assert "lit" not in list(in_other_words("not lit then", {"light": ()}, values))


def last(session: Session) -> tuple[str, str | None, float | None]:
    record = session.record(session.visit.entries[-1])
    return record.name, record.word, record.number


def test_what_is_typed_at_the_prompt_is_tried_first_as_an_answer_to_what_the_screen_asks(session: Session) -> None:
    desk(session, [*START, "igniter ohms OL"])
    session.tell("repair", {"part": "outdoor_circuit", "failure": "shorted", "repair": "mend_the_outdoor_circuit"})
    desk(session, ["field wires clear", "leads ok"])
    assert last(session)[:2] == ("leads_secure", "yes")
    desk(session, ["co under 30"])  # what the screen asks for is another check, but this one is open too
    assert last(session)[:2] == ("co_in_room", "under_30_ppm")


def meet(session: Session, check: str) -> None:
    """Tell what meets a check, as its example does."""
    for entry in session.knowledge.check[check].holds:
        session.take(Typed(dict(entry)), sure=True)


@pytest.mark.parametrize("line", ["call watched ok", "ok", "call watched worked fine", "call watched 2nd ok", "normal"])
def test_a_watched_call_told_once_more_is_the_next_call(session: Session, capsys: pytest.CaptureFixture[str], line: str) -> None:
    desk(session, [*START, "igniter ohms OL"])
    session.tell("repair", {"part": "igniter", "failure": "open", "repair": "replace_the_igniter"})
    while (state := session.after()) is not None and state.missing[0].condition != "full_calls_watched":
        meet(session, state.missing[0].condition)
    first = session.visit.call
    desk(session, ["call watched ok", line])
    watched = [r.call for r in map(session.record, session.visit.entries) if r.name == "call_watched"]
    assert watched == [first, first + 1]
    assert f"taken as heat call {first + 1}" in " ".join(capsys.readouterr().out.split())
    desk(session, ["call", line])  # a call that was begun in between is that call
    assert [r.call for r in map(session.record, session.visit.entries) if r.name == "call_watched"][-1] == first + 2


@pytest.mark.parametrize("line", ["call watched 2 more calls ok", "2 more calls ok", "2 calls fine"])
def test_several_calls_more_are_told_at_once(session: Session, line: str) -> None:
    desk(session, [*START, "igniter ohms OL"])
    session.tell("repair", {"part": "igniter", "failure": "open", "repair": "replace_the_igniter"})
    while (state := session.after()) is not None and state.missing[0].condition != "full_calls_watched":
        meet(session, state.missing[0].condition)
    desk(session, ["call watched ok", line])
    watched = [r.call for r in map(session.record, session.visit.entries) if r.name == "call_watched"]
    assert watched == [watched[0], watched[0] + 1, watched[0] + 2]


def test_a_reading_after_the_repair_that_is_not_counted_says_what_the_check_wants(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*START, "igniter ohms OL"])
    session.tell("repair", {"part": "thermostat", "failure": "no_call", "repair": "set_the_thermostat"})
    capsys.readouterr()
    desk(session, ["w to c at board 10 mv"])
    said = " ".join(capsys.readouterr().out.split())
    assert "not counted" in said
    typed = f"fix {session.visit.entries[-1].number} 10 mv at standby"
    assert f"If it was so, type: {typed}" in said
    desk(session, [typed])
    assert "not counted" not in capsys.readouterr().out
    assert (session.record(session.visit.entries[-1]).name, session.record(session.visit.entries[-1]).step) == ("w_to_c_at_board", "standby")


@pytest.mark.parametrize("said", ["y", "yes", "done", "ok", "ok done", "its done", "Done."])
def test_a_repair_is_done_in_whatever_words(session: Session, said: str) -> None:
    desk(session, [*START, "igniter ohms OL", "igniter glows no"])
    pages = 20
    ByHand(session, ["mend igniter", *[said] * pages])
    assert [r.part for r in session.visit.repairs] == ["igniter"]


@pytest.mark.parametrize("said", ["", "n", "no", "x", "not done", "not yet"])
def test_what_does_not_say_that_it_is_done_leaves_it_open(session: Session, said: str) -> None:
    desk(session, [*START, "igniter ohms OL", "igniter glows no"])
    desk(session, ["mend igniter", said])
    assert session.visit.repairs == []


@pytest.mark.parametrize(("word", "value"), [("ded", "dead"), ("nothing", "dead"), ("yea", "does_something")])
def test_a_slip_at_a_question_of_the_start_is_its_answer(session: Session, word: str, value: str) -> None:
    desk(session, ["no heat", *"nnnnnnn", word, "quit"])
    assert last(session)[:2] == ("whole_furnace", value)


def test_a_command_is_no_slip_of_an_answer(session: Session) -> None:
    """`quit` is a letter from "quiet", which says of an alarm that it is silent."""
    assert nearest_value("quit", READER.vocabulary.values("co_alarm")) == "silent"
    desk(session, ["no heat", "n", "quit"])
    assert last(session)[0] == "gas_smell"
