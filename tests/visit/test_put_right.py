"""A hazard that is put right on the spot: that it was found stays told, in the journal, the report and to the customer, and it stops no longer."""

from __future__ import annotations

from pathlib import Path

import pytest

from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.habits import met_with
from furnace_diag.report.visit_customer import customer_form
from furnace_diag.report.visit_page import page_of
from furnace_diag.report.visit_text import report_lines
from furnace_diag.visit.session import Session
from furnace_diag.visit.summary import summary_of
from tests.visit.playing import PROOF, START, Play, desk

BRIDGED = [*START, "last man jumped the rollout with a wire", ""]


def words(session: Session) -> list[tuple[str, str | None]]:
    return [(r.name, r.word) for r in map(session.record, session.visit.entries)]


def flat(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.parametrize(
    "line",
    ["bridge taken out", "bypass removed", "jumper removed", "rollout jumper removed, in order now", "limit jumper is out now", "took the jumper out",
     "pulled the wire off", "took the paper clip out", "clip removed", "tape is off now", "cut the wire out", "it's out now",
     "safety bypassed: found and taken out", "found bridged, took it out", "pulled the jumper back off", "pulled the jumper back off, hooked ps back up",
     "took the jumper out, rollout wires back on", "jumper is back off, rollout wires back on, reconnected ps"],
)  # fmt: skip
def test_what_was_bridged_is_told_to_be_out(session: Session, line: str) -> None:
    desk(session, BRIDGED)
    assert session.hazards() != ()
    desk(session, [line])
    assert session.hazards() == ()
    assert words(session)[-1] == ("safety_bypassed", "found_and_taken_out")
    assert ("safety_bypassed", "yes") not in words(session)
    session.undo()
    assert session.hazards() != ()


@pytest.mark.parametrize(("found", "ended"), [
    ("rollout is jumped", ["bridge taken out"]), ("rollout is jumped", ["safety bypassed no", "p"]), ("rollout is jumped", ["safety bypassed no", "f"]),
    ("gas leak found yes", ["leak mended"]), ("fuse rating too large", ["right fuse fitted"]),
])  # fmt: skip
def test_what_was_told_twice_is_put_right_once(session: Session, found: str, ended: list[str]) -> None:
    """Two entries of one thing at one time are one thing: the word that it is put right, or never was so, is of both."""
    desk(session, [*START, found, found])
    assert session.hazards() != ()
    assert [len(entries) for entries in session.to_put_right().values()] == [2]
    desk(session, ended)
    assert session.hazards() == ()
    assert session.to_put_right() == {}
    session.undo()
    assert session.hazards() != ()


@pytest.mark.parametrize(
    "line",
    ["limit taken out", "rollout removed", "door switch removed", "pressure switch is out", "limit out", "thermostat jumper removed", "r w jumper removed",
     "filter removed", "took the filter out", "fuse out", "plug off", "wire nut off the w wire", "took the wire off w"],
)  # fmt: skip
def test_what_else_is_off_or_out_does_not_end_it(session: Session, line: str) -> None:
    """A safety that was itself taken out of its circuit is a danger, and a jumper for a test at the thermostat is none."""
    desk(session, BRIDGED)
    desk(session, [line])
    assert session.hazards() != ()


@pytest.mark.parametrize(
    "line",
    ["rollout jumper removed", "removed the jumper from the limit", "took the paper clip off the limit", "found the limit jumped and took it out"],
)
def test_found_and_put_right_in_one_line(session: Session, line: str) -> None:
    desk(session, [*START, line])
    assert words(session)[-1] == ("safety_bypassed", "found_and_taken_out")
    assert session.hazards() == ()


@pytest.mark.parametrize(
    ("line", "asked"),
    [("jumper removed", "safety bypassed: found and taken out"), ("bridge taken out", "safety bypassed: found and taken out"),
     ("limit taken out", "safety bypassed: found and taken out"), ("leak fixed", "gas leak found: found and mended")],
)  # fmt: skip
def test_where_nothing_was_found_it_is_asked_whether_it_was_that(session: Session, capsys: pytest.CaptureFixture[str], line: str, asked: str) -> None:
    """The jumper may have been one between R and W, for a test, and the leak one of water."""
    desk(session, [*START])
    before = words(session)
    desk(session, [line, ""])
    assert f'Is this "{asked}"?' in flat(capsys.readouterr().out)
    assert words(session) == before


@pytest.mark.parametrize(("setup", "line", "sign", "value"), [
    ("fuse rating too large", "right fuse fitted", "fuse_rating", "found_too_large_and_changed"),
    ("fuse rating too large", "put the right size in", "fuse_rating", "found_too_large_and_changed"),
    ("gas leak found yes", "leak mended", "gas_leak_found", "found_and_mended"),
    ("gas leak found yes", "tightened, no bubbles now", "gas_leak_found", "found_and_mended"),
    ("gas smell slight", "gas smell gone", "gas_smell", "slight_and_gone"),
    ("vent apart", "vent put back together", "vent_joined", "found_apart_and_joined"),
    ("vent apart", "reconnected the flue pipe", "vent_joined", "found_apart_and_joined"),
    ("combustion air closed yes", "combustion air opened", "combustion_air_closed", "found_closed_and_opened"),
    ("combustion air closed yes", "took the cardboard off", "combustion_air_closed", "found_closed_and_opened"),
])  # fmt: skip
def test_other_hazards_that_are_put_right_on_the_spot(session: Session, setup: str, line: str, sign: str, value: str) -> None:
    desk(session, ["no heat", "", *START[2:], setup])
    assert session.hazards() != ()
    desk(session, [line, *[""] * 8])
    assert session.hazards() == ()
    assert (sign, value) in words(session)


@pytest.mark.parametrize(
    ("setup", "line"), [("fuse rating too large", "fuse replaced"), ("gas smell strong", "gas smell gone"), ("wiring melted yes", "put right")]
)
def test_what_is_not_plainly_put_right_still_stops(session: Session, setup: str, line: str) -> None:
    """A new fuse may be as large as the old one, and a strong smell is for those who were called to call off."""
    desk(session, ["no heat", "", *START[2:], setup])
    desk(session, [line, "", ""])
    assert session.hazards() != ()


def test_one_of_two_that_is_put_right_leaves_the_other(session: Session) -> None:
    desk(session, [*START, "safety bypassed yes", "fuse rating too large", "bridge taken out"])
    assert session.hazards() != ()
    desk(session, ["right fuse fitted"])
    assert session.hazards() == ()


def test_it_was_found_in_another_call(session: Session) -> None:
    desk(session, [*BRIDGED, "call", "safety bypassed yes", "call", "bridge taken out"])
    assert session.hazards() == ()
    assert [session.record(e).call for e in session.visit.entries if session.record(e).name == "safety_bypassed"] == [1, 2]


@pytest.mark.parametrize(("key", "told"), [("p", "found_and_taken_out"), ("f", "no"), ("", "yes")])
@pytest.mark.parametrize("before", [[], ["call"]])
def test_a_bare_no_is_asked_what_it_means(session: Session, before: list[str], key: str, told: str) -> None:
    desk(session, [*BRIDGED, *before, "safety bypassed no", key])
    assert [word for name, word in words(session) if name == "safety_bypassed"] == [told]
    assert (session.hazards() == ()) is (told != "yes")


def test_found_again_it_stops_again(session: Session) -> None:
    desk(session, [*BRIDGED, "bridge taken out", "safety bypassed yes", ""])
    assert session.hazards() != ()


def test_what_was_read_before_stays_and_is_told_once(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*BRIDGED, "across rollout 0.1 at call", "24v at w 25 at call"])
    before = [e.record for e in session.visit.entries if "point" in e.record]
    number = next(e.number for e in session.visit.entries if e.record.get("point") == "across_rollout")
    capsys.readouterr()
    desk(session, ["bridge taken out", "inducer runs yes"])
    assert flat(capsys.readouterr().out).count(f"stays as it is: entry {number} may") == 1
    assert [e.record for e in session.visit.entries if "point" in e.record] == before


def test_questions_that_it_cut_short_are_put_then(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, ["no heat", *"nnn", "safety bypassed yes"])
    capsys.readouterr()
    desk(session, ["bridge taken out"])
    assert session.open_safety()[0].asks in flat(capsys.readouterr().out)


def test_report_and_customer_are_told_that_it_was_found(session: Session, tmp_path: Path, evidence: Evidence) -> None:
    desk(session, [*BRIDGED, "bridge taken out"])
    summary = summary_of(tmp_path / "v.jsonl", evidence)
    says = evidence.knowledge.sign["safety_bypassed"].put_right["found_and_taken_out"].says
    assert (summary.put_right, summary.hazards) == ((says,), ())
    assert summary.corrected == 0  # it was no slip
    assert says in flat(" ".join(report_lines(summary, 60)))
    assert says in page_of(summary)
    assert any(says in sentences for _, sentences in customer_form(summary))
    events = [e for e in session.journal.events if e.event == "record" and e.says["record"].get("sign") == "safety_bypassed"]
    assert events[0].says["record"]["value"] == "yes"  # as it was found it stands in the file


def test_a_slip_is_no_such_thing(session: Session, tmp_path: Path, evidence: Evidence) -> None:
    desk(session, [*START, "safety bypassed yes", "safety bypassed no", "f"])
    summary = summary_of(tmp_path / "v.jsonl", evidence)
    assert (summary.put_right, summary.corrected) == ((), 1)


def test_it_tells_of_every_part_as_none_does_now(evidence: Evidence) -> None:
    """What is put right tells as much of each failure as that there is none: the odds between any two are those of the value that is left."""
    k = evidence.knowledge
    having = [(f,) for f in evidence.population.faults]
    for name, none in (
        ("safety_bypassed", "no"),
        ("fuse_rating", "as_marked"),
        ("gas_leak_found", "no"),
        ("gas_smell", "none"),
        ("vent_joined", "joined"),
        ("combustion_air_closed", "no"),
    ):
        sign = k.sign[name]
        left = met_with(sign, none, having, evidence.words)
        for value in sign.put_right:
            assert met_with(sign, value, having, evidence.words) / left == pytest.approx((met_with(sign, value, having, evidence.words) / left)[0])
        total = sum(met_with(sign, v, having, evidence.words) for v in sign.values)
        assert total == pytest.approx(1.0, abs=0.06)


def test_a_stop_is_told_in_full_once_and_then_in_a_line(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*START, "safety bypassed yes"])
    capsys.readouterr()
    desk(session, ["inducer runs yes", "igniter glows yes", "list", "wiring melted yes", "show"], width=40)
    said = capsys.readouterr().out
    full = flat(session.hazards()[-1].tells["now"])
    assert flat(said).count(full) == 2  # as it is taken up, and where somebody looks
    assert said.splitlines().count("STOP till put right: safety taken out") == 3  # at each entry, and beside what is new
    assert "stopped by that" not in said


def test_enter_says_what_is_so_while_it_stands(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*BRIDGED, ""])
    said = flat(capsys.readouterr().out)
    assert "Nothing is asked for and nothing mended while that stands." in said
    assert "kept and weighed" in said
    right = session.knowledge.sign["safety_bypassed"].put_right["found_and_taken_out"].told_as
    assert f"type: {right}" in said


@pytest.mark.parametrize("sign", ["safety_bypassed", "fuse_rating", "gas_leak_found", "gas_smell", "vent_looks", "vent_joined", "combustion_air_closed"])
def test_what_the_screen_says_to_type_is_understood(session: Session, sign: str) -> None:
    for value, right in session.knowledge.sign[sign].put_right.items():
        desk(session, ["no heat", "", *START[2:], f"{sign.replace('_', ' ')} {right.of[0].replace('_', ' ')}", right.told_as, *[""] * 8])
        assert (sign, value) in words(session)


BLOCKED = [*START, "inducer runs yes", "across pressure switch 26.1 at inducer start", "draft 0.28 at inducer start", "pressure hose good", "vent blocked"]


@pytest.mark.parametrize(
    "line",
    ["vent cleared", "pulled nest out", "nest removed", "nest is out", "pulled the nest out of the vent", "cleared the vent", "vent is clear now",
     "removed the birds nest from the flue", "chimney cleaned out", "it's cleared now", "blockage removed", "dug the snow out",
     "vent looks: found blocked and cleared"],
)  # fmt: skip
def test_a_vent_that_was_blocked_is_told_to_be_cleared(session: Session, line: str) -> None:
    desk(session, BLOCKED)
    assert session.hazards() != ()
    desk(session, [line])
    assert session.hazards() == ()
    assert words(session)[-1] == ("vent_looks", "found_blocked_and_cleared")


@pytest.mark.parametrize(
    "line",
    ["no more", "done", "n", "all done", "fixed", "removed", "took it off", "vent clear", "vent not cleared", "nest is still there", "nest not removed",
     "half the nest is out", "could not get the nest out", "vent partly cleared", "vent cannot be cleared", "snow", "nest", "took the vent off",
     "flue removed", "took the cap off", "filter removed", "cleaned the furnace"],
)  # fmt: skip
def test_what_does_not_say_that_the_vent_is_clear_ends_nothing(session: Session, line: str) -> None:
    desk(session, BLOCKED)
    desk(session, [line, "", ""])
    assert session.hazards() != ()


@pytest.mark.parametrize(
    ("setup", "line"),
    [("vent apart", "put it back on"), ("vent apart", "door back on"), ("vent apart", "vent joined no"), ("combustion air closed yes", "took the cover off"),
     ("combustion air closed yes", "it opened"), ("combustion air closed yes", "limit opened"), ("combustion air closed yes", "vent cleared")],
)  # fmt: skip
def test_what_may_be_of_another_thing_ends_neither(session: Session, setup: str, line: str) -> None:
    desk(session, ["no heat", "", *START[2:], setup])
    desk(session, [line, "", ""])
    assert session.hazards() != ()


@pytest.mark.parametrize(
    "setup",
    ["gas smell strong", "co alarm sounding", "co in room 80", "smoke or fire smoke", "wiring melted yes", "reset buttons tripped", "exchanger cracked yes",
     "soot yes", "vent spills yes", "tagged unsafe yes", "co in flue 900", "water on controls dripped on", "tingle from cabinet yes"],
)  # fmt: skip
def test_no_word_ends_what_is_for_others_to_end(session: Session, setup: str) -> None:
    desk(session, ["no heat", "", *START[2:], setup, "y"])
    assert session.hazards() != ()
    assert session.ways_to_say_so() == []
    desk(session, ["put right", "", "fixed", "", "no more", "", "done", "", "vent cleared", "", "", "n"])
    assert session.hazards() != ()


def test_a_cleared_vent_is_surer_than_one_that_was_only_seen_blocked(session: Session) -> None:
    desk(session, BLOCKED)
    found = session.answer().parts[0]
    desk(session, ["vent cleared"])
    cleared = session.answer().parts[0]
    assert (found.part, cleared.part) == ("vent", "vent")
    assert cleared.probability > found.probability


def test_the_stop_says_how_to_tell_that_the_vent_is_clear(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    desk(session, [*BLOCKED, ""])
    assert "when it is put right, type: vent cleared" in flat(capsys.readouterr().out)
    desk(session, ["vent cleared"])
    assert "`mend vent` goes on with that." in flat(capsys.readouterr().out)


def test_from_a_blocked_vent_to_a_visit_that_is_proved(session: Session, tmp_path: Path, evidence: Evidence) -> None:
    desk(session, [*BLOCKED, "mend vent"])
    assert session.visit.proving is None
    desk(session, ["vent cleared", "mend vent", "y"])
    assert session.visit.proving is not None
    assert session.visit.proving.repair == "clear_the_vent"
    desk(session, ["draft against set point tenth or more beyond", "vent spills no", "co in flue 60", "safety bypassed no", "covers back yes"])
    desk(session, ["co in room 0", "gas smell none", *["call watched ended normally", "call"] * 3, "close"])
    summary = summary_of(tmp_path / "v.jsonl", evidence)
    assert session.visit.closed == "proved"
    says = evidence.knowledge.sign["vent_looks"].put_right["found_blocked_and_cleared"].says
    assert (summary.put_right, summary.hazards) == ((says,), ())
    assert says in flat(" ".join(report_lines(summary, 60)))
    assert any(says in sentences for _, sentences in customer_form(summary))


def test_a_vent_that_spills_after_it_was_cleared_stops_again(session: Session) -> None:
    desk(session, [*BLOCKED, "vent cleared", "mend vent", "y", "vent spills yes"])
    assert session.hazards() != ()


def test_a_proof_made_with_a_bridge_in_is_made_anew(tmp_path: Path, evidence: Evidence, capsys: pytest.CaptureFixture[str]) -> None:
    """Common practice, no source: what tripped or held the control is part of what its proof shows."""
    play = Play(tmp_path / "p.jsonl", evidence)
    play.begin()
    play.prove()
    assert play.session.answer().board.verdict == "proved_bad"
    desk(play.session, ["s", "found a jumper on the rollout", "", "took jumper off rollout"])
    assert play.session.hazards() == ()
    assert play.session.answer().board.verdict != "proved_bad"
    said = flat(capsys.readouterr().out)
    assert "proves anything now: what a proof wants is taken again, in heat call 3" in said
    assert "the same twice" not in said
    for call in (3, 4):
        for entry in play.k.proof[PROOF].holds:
            play.take({**entry, "call": str(call)})
    assert play.session.answer().board.verdict == "proved_bad"
    play.journal.close()


@pytest.mark.parametrize(
    "line",
    ["hooked ps back up", "jumper back on", "pulled the jumper, put it on the limit", "pulled the jumper, jumper back on",
     "pulled the jumper, put jumper back on limit",
     "pulled the jumper, limit not hooked back up", "pulled the jumper, ps wont go back on"],
)  # fmt: skip
def test_what_does_not_say_that_all_is_back_as_it_belongs_leaves_the_stop(session: Session, line: str) -> None:
    desk(session, [*BRIDGED, line, ""])
    assert session.hazards() != ()


def test_a_jumper_that_is_put_back_on_a_safety_stops_again(session: Session) -> None:
    desk(session, [*BRIDGED, "pulled the jumper", "jumper back on the limit"])
    assert session.hazards() != ()
