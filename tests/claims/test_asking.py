"""The letter to a shop: it does not ask for what the shop has told, by whatever name it told it."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import asdict, replace

import pytest

from furnace_diag.claims.asking import Letter, letter_of, open_questions
from furnace_diag.claims.desk import Desk, Judgement
from furnace_diag.claims.told_once import joined
from furnace_diag.diagnosis.one_record import record_of
from furnace_diag.diagnosis.vocabulary import Vocabulary
from furnace_diag.knowledge.models import Knowledge
from furnace_diag.problems import Place
from furnace_diag.report.claims_screen import claim_lines, letter_lines
from tests.claims.test_desk import judgement_of


def asked(knowledge: Knowledge, *records: Mapping[str, str]) -> list[str]:
    """The signs that are still asked for."""
    vocabulary = Vocabulary(knowledge)
    made = [record_of(r, Place("here", 1, 1), vocabulary) for r in records]
    return [q.sign for q in open_questions([{"sign": m.name, "value": m.word, **({"step": m.step} if m.step else {})} for m in made], knowledge)]


def letter_on(judgement: Judgement, desk: Desk, knowledge: Knowledge) -> Letter:
    result = json.loads(json.dumps(asdict(judgement)))
    return letter_of(result, knowledge, lambda name: (desk.evidence(name).family, desk.evidence(name).population))


EVERY = ["whole_furnace", "inducer_runs", "igniter_glows", "burners_light", "blower_starts_in_heat"]


@pytest.mark.parametrize(
    ("record", "left"),
    [  # in the order of a good heat call; whoever tells of a later step has told that the call got there
        ({"sign": "flame_goes_out", "value": "within_seconds"}, []),  # it lit, and never came to the blower
        ({"sign": "blower_runs", "value": "no", "step": "heating"}, []),
        ({"sign": "blower_runs", "value": "hums"}, []),
        ({"sign": "blower_runs", "value": "no", "step": "call"}, EVERY),  # it is not due yet
        ({"sign": "blower_runs", "value": "no", "step": "fan_call"}, EVERY),  # no heat call
        ({"sign": "igniter_glows", "value": "yes"}, EVERY[3:]),
        ({"sign": "light", "value": "lit", "step": "call"}, EVERY[1:]),
        ({"sign": "gas_smell", "value": "none"}, EVERY),
    ],
)  # fmt: skip
def test_what_another_sign_tells_is_not_asked(knowledge: Knowledge, record: dict[str, str], left: list[str]) -> None:
    assert asked(knowledge, record) == left


def test_of_what_a_proof_wants_together_only_what_is_lacking_is_asked(desk: Desk, knowledge: Knowledge) -> None:
    """The rod's insulation and its wire were read and are good; how the rod looks was not told."""
    rows = ("flame_current 4.2 ignition_trial - - min", "flame_goes_out within_seconds", "rod_to_case_ohms OL", "rod_wire_end_to_end_ohms 0.1")
    letter = letter_on(judgement_of(desk, *rows), desk, knowledge)
    about_the_rod = [text for text in letter.proof if "flame_rod_looks" in text]

    assert len(about_the_rod) == 1
    assert "rod_to_case_ohms" not in about_the_rod[0]
    assert "rod_wire_end_to_end_ohms" not in about_the_rod[0]


def test_a_figure_that_a_column_and_the_text_both_give_is_asked_about_once(judged: Callable[..., list[Judgement]], desk: Desk, knowledge: Knowledge) -> None:
    content = (
        "claim,heat terminal to neutral,blower runs at heating,readings\n1,0.3 V,no,heat_terminal_to_neutral: 0.30 at heating; heat terminal to neutral: 0.3\n"
    )
    letter = letter_on(judged(content)[0], desk, knowledge)
    (asked_of_it,) = (text for text in letter.how_taken if "heat_terminal_to_neutral" in text)

    assert "at which step" not in asked_of_it  # the text tells it


def test_readings_are_joined_by_name_and_figure_and_no_others() -> None:
    say = ": say "
    one, spelled, other = "you gave a_to_b: 0.3 V", "you gave a_to_b: 0.30", "you gave a_to_b: 120"
    needs = ([f"{one}{say}x, y", f"{spelled}{say}y", f"{other}{say}x"], [f"{spelled}{say}z"], ["you gave c: OL: say x"])

    assert joined(needs) == (f"{one}{say}y, z", f"{other}{say}x", f"you gave c: OL{say}x")


@pytest.mark.parametrize("readings", ["see pictures sent apart", ""])
def test_a_cracked_igniter_of_the_complaint_is_hearsay(judged: Callable[..., list[Judgement]], desk: Desk, knowledge: Knowledge, readings: str) -> None:
    (judgement,) = judged(f'claim,complaint,readings\n1,"igniter cracked, no heat",{readings}\n')

    assert judgement.verdict == "not_shown"
    assert [(r["sign"], r["value"], r["source"]) for r in judgement.records] == [("igniter_looks", "broken", "told")]
    assert any("igniter" in text for text in letter_on(judgement, desk, knowledge).how_far)


@pytest.mark.parametrize("complaint", ["replaced cracked igniter, no heat", "igniter not cracked, no heat", "igniter was cracked"])
def test_a_crack_that_is_denied_or_of_an_igniter_that_is_gone_is_no_sign(judged: Callable[..., list[Judgement]], complaint: str) -> None:
    (judgement,) = judged(f'claim,complaint,readings\n1,"{complaint}",\n')

    assert not any(r.get("sign") == "igniter_looks" for r in judgement.records)


@pytest.mark.parametrize(
    "text",
    ["board scorched", "relay burnt on the board", "burnt spot on the board", "scorch marks on the board", "found board scorched", "brown spot on board"],
)
def test_a_scorched_board_is_a_sign_and_stops_no_letter(judged: Callable[..., list[Judgement]], desk: Desk, knowledge: Knowledge, text: str) -> None:
    """A mark that has cooled is no danger by itself; whoever looks at it again does so with the power off."""
    (judgement,) = judged(f"claim,complaint,readings\nA1,no heat,{text}; no flame\n")
    letter = letter_on(judgement, desk, knowledge)

    assert [r["sign"] for r in judgement.records if "sign" in r and r.get("source") != "told"] == ["board_scorched", "flame_seen"]
    assert (judgement.hazards, judgement.feared, letter.feared, judgement.unmatched) == ((), (), (), ())
    assert letter.nearest or letter.how_far
    assert knowledge.caution["dead_first"].says in letter.cautions


def test_what_was_not_read_and_settles_nothing_is_asked_for_again(desk: Desk, knowledge: Knowledge) -> None:
    judgement = judgement_of(desk, "line_to_neutral_at_board 119", "blower_runs no heating", "heat_terminal_to_neutral 118 heating low pin")
    told = replace(judgement, board="not_settled", unmatched=("claims.csv:2:4: saw 0.2 v somewhere is not read.",))

    assert letter_on(told, desk, knowledge).anew == ("saw 0.2 v somewhere is not read.",)
    assert letter_on(replace(told, board="cleared"), desk, knowledge).anew == ()


def test_a_letter_tells_of_every_danger_that_a_record_or_the_text_speaks_of(judged: Callable[..., list[Judgement]], desk: Desk, knowledge: Knowledge) -> None:
    """A roll-out switch that is open is recorded; that somebody joined it across stands in text that is not read."""
    (judgement,) = judged('claim,part,readings\nA1,control board,"RO open, we jumpered the rollout to keep em warm"\n')
    (hazard,) = judgement.hazards
    letter = letter_on(judgement, desk, knowledge)

    assert "burner box" in hazard.says
    assert len(letter.feared) == 1  # the switch's own danger is the record's
    assert "joined across" in letter.feared[0]


def test_the_complaint_of_a_claim_is_shown_though_nothing_of_it_is_read(judged: Callable[..., list[Judgement]]) -> None:
    (judgement,) = judged('claim,part,complaint,readings\nA1,control board,"mouse chewed the \x1b[2Jthermostat wire in two, no heat",board N/G\n')
    shown = " ".join(" ".join(claim_lines(json.loads(json.dumps(asdict(judgement))), 60)).split())

    assert judgement.verdict == "not_shown"  # that the board is no good is the claim itself
    assert "thermostat wire in two" in shown
    assert "\x1b" not in shown


@pytest.mark.parametrize(("complaint", "readings", "asked_for"), [
    ("bd wont fire ignitor", "igniter ohms 52", False), ("no heat", "board wont open gas valve; igniter ohms 52", False),
    ("no heat", "igniter ohms 52", True), ("no heat", "board bad; igniter ohms 52", True),
])  # fmt: skip
def test_a_shop_that_says_what_the_board_fails_to_do_is_not_asked_for_it(
    judged: Callable[..., list[Judgement]], desk: Desk, knowledge: Knowledge, complaint: str, readings: str, *, asked_for: bool
) -> None:
    (judgement,) = judged(f"claim,part,complaint,readings\nA1,control board,{complaint},{readings}\n")
    assert bool(letter_on(judgement, desk, knowledge).fails_to) is asked_for


def asked_on(readings: str, judged: Callable[..., list[Judgement]], desk: Desk, knowledge: Knowledge, *, part: str = "", complaint: str = "") -> Letter:
    (judgement,) = judged(f'claim,part,complaint,readings\nA1,{part},{complaint},"{readings}"\n')
    return letter_on(judgement, desk, knowledge)


def test_a_letter_tells_what_of_the_readings_was_not_read(judged: Callable[..., list[Judgement]], desk: Desk, knowledge: Knowledge) -> None:
    letter = asked_on("burners light; heat terminal 0.2 low pin held; the gizmo had 12 volts; nice house", judged, desk, knowledge)

    assert [text.partition(" is not read")[0] for text in letter.anew] == ["heat terminal 0.2 low pin held", "the gizmo had 12 volts"]


def test_a_letter_tells_of_what_held_up_the_rest_of_its_sentence(judged: Callable[..., list[Judgement]], desk: Desk, knowledge: Knowledge) -> None:
    letter = asked_on("24.8 vac at gas valve during trial, emptied the tray, no click; nice house", judged, desk, knowledge)

    assert [text.partition(" is not read")[0] for text in letter.anew] == ["emptied the tray", "no click"]


def test_a_letter_asks_for_no_click_that_was_told(judged: Callable[..., list[Judgement]], desk: Desk, knowledge: Knowledge) -> None:
    letter = asked_on("24.8 vac at gas valve during trial, valve didnt open, no click. replaced board, no change", judged, desk, knowledge)

    assert not any("gas_valve_clicks" in asked for asked in letter.nearest)


def test_a_letter_on_a_part_that_nobody_knows_says_so_and_claims_nothing_of_it(judged: Callable[..., list[Judgement]]) -> None:
    (judgement,) = judged("claim,part,readings\nA1,froob,inducer runs\n")
    result = json.loads(json.dumps(asdict(judgement)))
    written = " ".join(" ".join(letter_lines(result, Letter(judgement.says), 70)).split())

    assert "We could not judge this claim." in written
    assert "There is no part called froob. Write one of: control_board" in written
    assert "You claim" not in written


@pytest.mark.parametrize(("meter", "is_asked"), [("", True), (" low", False), (" high", False)])
def test_the_meter_is_asked_for_where_it_decides_what_a_reading_means(
    judged: Callable[..., list[Judgement]], desk: Desk, knowledge: Knowledge, meter: str, *, is_asked: bool
) -> None:
    """Between dead and live a sensitive meter shows a ghost, and a low-impedance one lost volts (rules/findings/doubts.yaml, between_dead_and_live)."""
    letter = asked_on(f"burners light; blower dead; 47 volts on the heat tap{meter}", judged, desk, knowledge)

    assert any("47" in text and "with which meter" in text for text in letter.how_taken) is is_asked


def test_no_step_is_asked_for_that_no_call_gets_to(judged: Callable[..., list[Judgement]], desk: Desk, knowledge: Knowledge) -> None:
    """An open string comes by itself or not at all, and nobody is to open one; a furnace without 24 V comes to no glow."""
    letter = asked_on("burners light; blower dead; 47 volts on the heat tap", judged, desk, knowledge)
    assert "chain open" not in " ".join(letter.nearest)

    dead = asked_on("R to C 0; primary 120", judged, desk, knowledge)
    assert not any(sign in text for text in dead.how_far for sign in ("inducer_runs", "igniter_glows", "burners_light", "blower_starts"))
    assert any("fuse_ohms" in text for text in (*dead.nearest, *dead.proof))


def test_a_dead_furnace_of_the_complaint_is_asked_nothing_of_its_call(judged: Callable[..., list[Judgement]], desk: Desk, knowledge: Knowledge) -> None:
    assert asked_on("R to C 0; primary 120", judged, desk, knowledge, complaint="everything dead").how_far == ()


def asked_of(readings: str, complaint: str, judged: Callable[..., list[Judgement]], desk: Desk, knowledge: Knowledge, part: str = "control board") -> Letter:
    (judgement,) = judged(f'claim,part,complaint,readings\nA1,{part},{complaint},"{readings}"\n')
    return letter_on(judgement, desk, knowledge)


@pytest.mark.parametrize(
    ("complaint", "readings"),
    [
        ("blower wont shut off", "blower runs 24/7, g to c 0, w to c 0, unplugged stat still runs. limit closed"),
        ("igniter stays on", "igniter glows all the time no call. 120 on ign pin at standby"),
        ("no heat", "l-n 0"),
    ],
)
def test_what_is_amiss_at_rest_is_asked_nothing_of_a_heat_call(
    complaint: str, readings: str, judged: Callable[..., list[Judgement]], desk: Desk, knowledge: Knowledge
) -> None:
    letter = asked_of(readings, complaint, judged, desk, knowledge)
    assert (letter.how_far, letter.fails_to) == ((), "")
    assert letter.nearest or letter.how_taken


def test_what_is_as_it_should_be_at_rest_tells_nothing_of_the_call(judged: Callable[..., list[Judgement]], desk: Desk, knowledge: Knowledge) -> None:
    assert asked_of("line to neutral at board 120 at standby", "no heat", judged, desk, knowledge).how_far


def test_a_reading_sent_without_its_step_is_asked_for_its_step(judged: Callable[..., list[Judgement]], desk: Desk, knowledge: Knowledge) -> None:
    letter = asked_of("l-n 0, neutral to gnd 119", "no heat", judged, desk, knowledge)
    asked_again = [text for text in letter.nearest if "neutral_to_chassis_at_board" in text or "line_to_neutral_at_board" in text]
    assert asked_again == []


def test_a_reading_that_the_letter_asks_to_write_anew_is_asked_for_once(judged: Callable[..., list[Judgement]], desk: Desk, knowledge: Knowledge) -> None:
    letter = asked_of("24 at mv at ignition trial low z, manifold 0, inlet 7", "no gas", judged, desk, knowledge, "gas valve")
    assert [("gas_valve_volts" in text) for text in letter.anew] == [True]
    assert not any("gas_valve_volts" in text for text in letter.nearest)


def test_no_one_output_is_to_be_proved_where_nothing_tells_which_it_is(judged: Callable[..., list[Judgement]], desk: Desk, knowledge: Knowledge) -> None:
    letter = asked_of("works when i smack the board", "intermittent no heat", judged, desk, knowledge)
    assert (letter.proof, letter.second_call) == ((), ())
    assert letter.how_far
    assert letter.fails_to
    told = asked_of("works when i smack the board. heat terminal 0.1 v at heating low z on board pin", "blower quits at times", judged, desk, knowledge)
    assert any("heat_terminal_to_neutral" in text or "HEAT" in text for text in (*told.proof, *told.how_taken))


def test_what_was_read_in_both_calls_is_not_asked_for_in_another(judged: Callable[..., list[Judgement]], desk: Desk, knowledge: Knowledge) -> None:
    readings = "w to c 25.2 at call, ps return 0 at call, inducer pin to neutral 0.2 low z pin load on at inducer start. call 2 the same"
    letter = asked_of(readings, "no inducer", judged, desk, knowledge)
    assert "pressure_switch_return_to_c: 0" in letter.counts
    assert not any("pressure_switch_return_to_c" in text for text in letter.second_call)
    once = asked_of(readings.removesuffix(". call 2 the same"), "no inducer", judged, desk, knowledge)
    assert any("pressure_switch_return_to_c" in text for text in once.second_call)


def test_a_reading_late_in_a_call_tells_that_it_got_there(knowledge: Knowledge) -> None:
    def left(step: str) -> list[str]:
        return [q.sign for q in open_questions([{"point": "igniter_pin_to_neutral", "value": "0 v", "step": step}], knowledge)]

    assert left("call")[0] == "whole_furnace"
    assert left("igniter_warm_up")[0] == "igniter_glows"
    assert left("ignition_trial")[0] == "burners_light"


LIMIT_OPENS = (
    "flame goes out after minutes; air at registers normal; limit contact open; rise 48 at heating; "
    "limit out to c 0 at chain open; limit feed to c 25 at chain open"
)


@pytest.mark.parametrize(("filter_", "verdict"), [("clogged", "not_shown"), ("clean", "plausible")])
def test_a_limit_is_not_judged_behind_a_full_filter(
    judged: Callable[..., list[Judgement]], desk: Desk, knowledge: Knowledge, filter_: str, verdict: str
) -> None:
    """Too little air opens a good limit: the filter is changed and the rise read again first. Common practice, no source."""
    (judgement,) = judged(f"claim,part,complaint,readings\nD5,limit switch,short cycles,{LIMIT_OPENS}; filter {filter_}\n")
    letter = letter_on(judgement, desk, knowledge)

    assert judgement.verdict == verdict
    assert ("filter_looks: clogged" in judgement.says) is (filter_ == "clogged")
    assert ("filter" in " ".join(letter.nearest)) is (filter_ == "clogged")
    assert filter_ == "clean" or letter.how_far == ()


def test_what_a_full_filter_did_is_asked_of_once_it_is_changed(judged: Callable[..., list[Judgement]], desk: Desk, knowledge: Knowledge) -> None:
    """Not how many seconds the flame held. Common practice, no source."""
    text = "limit open when hot; filter plugged solid; rise 85 on a 40-70 plate"
    (judgement,) = judged(f"claim,part,complaint,readings\nC21,limit switch,cycles,{text}\n")
    (first,) = letter_on(judgement, desk, knowledge).nearest

    assert "clean filter" in first


@pytest.mark.parametrize("supply", ["no 24v r to c. transformer reads 26 on the secondary. fuse ok", "r to c 0; secondary 26"])
def test_what_hangs_on_a_supply_that_is_told_dead_is_not_asked(judged: Callable[..., list[Judgement]], desk: Desk, knowledge: Knowledge, supply: str) -> None:
    """Kirchhoff: with no 24 V from R to C none comes through the thermostat to W; what stands between the secondary and R is what decides."""
    (judgement,) = judged(f"claim,part,complaint,readings\nC20,control board,no heat,{supply}\n")
    letter = letter_on(judgement, desk, knowledge)

    asked = (*letter.nearest, *letter.proof)  # what the proof asks for as well is not asked for twice
    assert not any("w_to_c" in text or "heat_call_at_board" in text for text in asked)
    assert any("fuse" in text or "secondary" in text for text in asked[:2])


@pytest.mark.parametrize(
    ("text", "asked_first"),
    [
        ("blower hums, cap reads 2 uf marked 10", "blower_starts_in_heat"),
        ("glows. flame current .4 microamps. rod dirty", "burners_light"),
    ],
)
def test_a_denied_claim_is_asked_about_from_where_it_failed_on(
    text: str, asked_first: str, judged: Callable[..., list[Judgement]], desk: Desk, knowledge: Knowledge
) -> None:
    """What a heat call had got to before the cause was put right it gets to with that in order as well."""
    (judgement,) = judged(f'claim,part,readings\n1,control board,"{text}"\n')

    assert judgement.verdict == "not_supported"
    assert f"({asked_first}:" in letter_on(judgement, desk, knowledge).how_far[0]


def test_where_the_records_leave_the_board_alone_only_its_proof_is_asked_for(judged: Callable[..., list[Judgement]], desk: Desk, knowledge: Knowledge) -> None:
    """Burners that stay lit two minutes and a HEAT terminal that is dead by then: how long the flame held on the limit tells one furnace from another."""
    text = "no blower. l to n at board 119. heat terminal to neutral 0.3 v at heating low z on the pin with wire on, 150 sec after gas. cap 7.4 uf"
    (judgement,) = judged(f'claim,part,complaint,readings\nC1,control board,burners light no air,"{text}"\n')
    letter = letter_on(judgement, desk, knowledge)

    assert judgement.verdict == "plausible"
    assert letter.proof
    assert letter.nearest == ()


def test_nobody_is_asked_whether_an_igniter_that_never_glows_goes_dark_again(judged: Callable[..., list[Judgement]], desk: Desk, knowledge: Knowledge) -> None:
    text = "igniter never glowed. 120 v at ign plug during warmup. igniter 48 ohms"
    (judgement,) = judged(f'claim,part,complaint,notes\nD10,control board,no ignition,"{text}"\n')
    letter = letter_on(judgement, desk, knowledge)

    assert letter.nearest
    assert not any("igniter_goes_dark" in said for said in letter.nearest)
