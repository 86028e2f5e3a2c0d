"""Free text of claims: what a shop writes is read where it can mean one thing only; the rest is left to a person. The texts are of our own invention."""

from __future__ import annotations

import pytest

from furnace_diag.claims.claim_again import ClaimAgain
from furnace_diag.claims.free_text import FreeText
from furnace_diag.claims.guesses import Guesses
from furnace_diag.claims.understanding import Reader
from furnace_diag.diagnosis.vocabulary import Vocabulary
from furnace_diag.knowledge.models import Knowledge
from tests.claims.conftest import Read


@pytest.fixture(scope="module")
def free(knowledge: Knowledge) -> FreeText:
    return FreeText(Vocabulary(knowledge))


@pytest.mark.parametrize(
    ("text", "record"),
    [
        ("inducer runs", {"kind": "sign", "name": "inducer_runs", "value": "runs"}),
        ("no flame", {"kind": "sign", "name": "flame_seen", "value": "no"}),
        ("igniter ohms OL", {"kind": "point", "name": "igniter_ohms", "value": "OL"}),
        ("heat terminal 0.2 low pin", {"kind": "point", "name": "heat_terminal_to_neutral", "value": "0.2", "meter": "low", "contact": "pin"}),
        ("intermittent no heat", {"kind": "sign", "name": "fault_comes_and_goes", "value": "no heat"}),  # no step, and no "no"
        ("blower runs no at heating", {"kind": "sign", "name": "blower_runs", "value": "no", "step": "heating"}),
    ],
)
def test_a_plain_piece_is_what_it_says(free: FreeText, text: str, record: dict[str, str]) -> None:
    assert free.records(text) == [record]


@pytest.mark.parametrize(
    ("text", "same"), [("cap reads 2.1 mfd", "cap 2.1 mfd"), ("igniter ohms was OL", "igniter ohms OL"), ("draft is -0.35", "draft -0.35")]
)
def test_a_little_word_before_a_figure_changes_nothing(free: FreeText, text: str, same: str) -> None:
    assert free.records(text) == free.records(same) != []


def test_a_little_word_before_anything_else_stays(free: FreeText) -> None:
    assert free.records("cap reads nothing like 2.1 mfd") == []


@pytest.mark.parametrize(
    ("text", "same"),
    [
        ("0.3v on heat term low z", "heat terminal 0.3v low z"),
        ("0.3 V heat terminal low z at heating", "heat terminal 0.3 V low z at heating"),
        ("0.3 volts AC on the heat term loz", "heat terminal 0.3 volts AC low z"),
        ("120 at L1 to N", "L1 to N 120"),
        ("120 across L1 and neutral", "L1 to N 120"),
        ("118 on heat terminal to ground", "heat terminal to ground 118"),  # the longest name: ground is no neutral
        ("25.6 on R to C at call", "R to C 25.6 at call"),
        ("OL on igniter ohms", "igniter ohms OL"),
        ("1.2 uA on flame sensor", "flame sensor 1.2 uA"),
    ],
)
def test_a_figure_may_stand_before_what_it_was_read_on(free: FreeText, text: str, same: str) -> None:
    assert free.records(text) == free.records(same) != []


@pytest.mark.parametrize(
    "text",
    [
        "120 at L1",  # to neutral or to the cabinet: with an open neutral only the second shows 120 V
        "120 at board",
        "0.3v on heat terminal heating",  # a step with no word before it
        "45 ohms on heat terminal",  # not what is read there
        "0.3 on heat",
        "3 flashes on board light",  # a figure of no point
        "120",
        "120 at",
        "120 at the",
    ],
)
def test_a_figure_before_what_is_not_plain_is_left(free: FreeText, text: str) -> None:
    assert free.records(text) == []


def test_what_was_so_in_two_calls_is_two_records(free: FreeText) -> None:
    told = free.records("igniter glows no 2 calls")

    assert [r.get("call") for r in told] == ["1", "2"]
    assert {r["name"] for r in told} == {"igniter_glows"}


@pytest.mark.parametrize(
    "text",
    [
        "heat 0.2 low pin",  # begins the names of several points
        "replaced board",  # as likely the repair that the claim is for
        "new board",
        "smelled funny",
        "thunderstorm last week",
        "",
    ],
)
def test_what_could_mean_two_things_or_nothing_is_left(free: FreeText, text: str) -> None:
    assert free.records(text) == []


def test_advice_names_what_a_piece_could_be(free: FreeText) -> None:
    assert "heat_terminal_to_neutral" in free.advice("heat 0.2 low pin")
    assert "what came of it" in free.advice("replaced board")
    assert free.advice("smelled funny") == ""
    assert {"line_to_neutral_at_board", "line_to_chassis_at_junction_box"} <= {*free.advice("120 at L1").replace(":", " ").split()}


@pytest.mark.parametrize(
    ("name", "value", "texts"),
    [
        (
            "board_pressed_helps",
            "yes",
            [
                "works when i smack the board",
                "works if you smack the board",
                "runs when i tap the board",
                "smacked the board and it fired up",
                "hit the board and it came on",
                "pushed on the board and it kicked on",
                "banging on the board brings it back",
                "bumped the board and furnace fired up",
                "push the board: helps",
                "board works when tapped",
            ],
        ),
        (
            "board_pressed_helps",
            "no",
            ["pressing on board does nothing", "tapped board, no change", "hit the board, nothing", "does not start when i tap the board"],
        ),
        (
            "plug_moved_helps",
            "yes",
            ["plug wiggled: comes back", "works when i wiggle the plug", "wiggled the plug and it came back", "works if plug is pushed"],
        ),
        (
            "starts_when_joined_at_board",
            "yes",
            [
                "jumped r-w at board fires right up",
                "jumped r-w at board, fires right up",
                "jumpered r to w at furnace, inducer starts",
                "jumped w to r at board fires up",
            ],
        ),
        ("starts_when_joined_at_board", "no", ["jumped r and w at the board, nothing", "jumped r w at board: nothing"]),
        ("starts_when_joined_at_thermostat", "yes", ["jumped r to w at the thermostat and it fires", "jumped r w at stat, furnace runs"]),
        (
            "blower_fed_directly",
            "runs",
            ["ran blower straight off line", "blower runs straight off line", "ran blower direct off 120 runs fine", "put blower on a cord, runs"],
        ),
        ("blower_fed_directly", "does_not_run", ["put blower on a cord, nothing", "blower direct to 120 hums"]),
        ("inducer_fed_directly", "runs", ["ran inducer straight off line, runs fine", "inducer ran straight to 120"]),
        ("blower_starts_when_spun", "yes", ["spins if pushed", "blower spins if pushed", "starts if pushed", "blower starts when you give it a push"]),
        ("inducer_tapped_helps", "yes", ["inducer starts when tapped", "hit inducer motor with screwdriver, started", "tapped inducer and it took off"]),
        ("relay_tapped_helps", "yes", ["relay works when tapped", "tapped relay and blower came on"]),
        ("fuse_blows_again", "at_once", ["installed new fuse blew right away"]),
        ("blower_runs", "no", ["blower never came on", "blower never kicked on", "blower motor never ran"]),
        ("igniter_glows", "no", ["igniter never glowed"]),
        ("burners_light", "no", ["burners never lit"]),
        ("inducer_noise", "noisy", ["inducer: screams", "inducer screeches"]),
        ("water_on_controls", "dripped_on", ["water: on board", "water on the controls"]),
    ],
)
def test_what_was_tried_and_what_came_of_it_is_read_in_any_order(free: FreeText, knowledge: Knowledge, name: str, value: str, texts: list[str]) -> None:
    """The outcome before the act, after it or in it, by whatever verb: all of them say that one thing and nothing else."""
    values = Vocabulary(knowledge).values(name)
    for text in texts:
        (record,) = free.records(text) or [{"name": f"nothing is read of {text!r}", "value": ""}]
        assert (record["name"], values.meant(record["value"])) == (name, [value]), text


@pytest.mark.parametrize(
    "text",
    [
        "if i tap the board it works",
        "if you hit the board it works",
        "would work if you hit the board",
        "should work when you hit the board",
        "might start when tapped",
        "supposed to start when pushed",
        "works until i smack the board",
        "didnt hit the board, works",
        "try tapping the board, works",
        "inducer spins if pushed",
        "jumped r to w, fires up",
        "jumped r w at board",
        "jumpered r to g at board blower runs",
        "sucked on hose: clicks",
        "new fuse with the lead lifted blew again",
        "no board tapped",
    ],
)
def test_what_would_be_and_what_could_be_two_things_is_not_read(free: FreeText, text: str) -> None:
    """Neither what somebody expects nor an act that several experiments begin with; of the inducer there is no such experiment."""
    assert free.records(text) == []


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("jumped r to w, fires up", ["starts_when_joined_at_board", "starts_when_joined_at_thermostat"]),
        ("sucked on hose: clicks", ["closes", "stays open"]),
        ("motor amps: 5.2", ["blower_amps", "inducer_amps"]),
        ("gas valve 24.6 at mv on trial", ["gas_pin_to_c", "gas_valve_volts"]),
        ("blower comes on late", ["starts", "only after limit trip"]),
    ],
)
def test_what_could_be_two_things_is_told_with_both(free: FreeText, text: str, told: list[str]) -> None:
    assert free.records(text) == []
    assert all(one in free.advice(text) for one in told)


@pytest.mark.parametrize(
    "text", ["new fuse blew again", "put new fuse blew again", "put new fuse in, blew again", "replaced fuse, blew again", "fuse: replaced blows again"]
)
def test_a_new_fuse_that_blew_again_is_an_earlier_repair_that_changed_nothing(free: FreeText, knowledge: Knowledge, text: str) -> None:
    """When it blew is not told, so no outcome of a fuse that is watched is; that the new one did not mend it is."""
    (record,) = free.records(text)
    assert (record["kind"], record["name"]) == ("history", "low_voltage_fuse")
    assert Vocabulary(knowledge).results.meant(record["value"]) == ["replaced_no_change"]


@pytest.mark.parametrize(
    ("text", "record"),
    [
        ("25.2 v at pressure return low", {"name": "pressure_switch_return_to_c", "value": "25.2 v", "meter": "low"}),
        (
            "0 v at igniter pin low at ignition trial with plug on",
            {"name": "igniter_pin_to_neutral", "value": "0 v", "meter": "low", "step": "ignition_trial", "set_up": "load_on"},
        ),
        (
            "heat terminal 0.1 v low z with lead on at the pin",
            {"name": "heat_terminal_to_neutral", "value": "0.1 v", "meter": "low", "set_up": "load_on", "contact": "pin"},
        ),
        (
            "heat terminal 0.1 v loz lead on at pin at heating",
            {"name": "heat_terminal_to_neutral", "value": "0.1 v", "meter": "low", "set_up": "load_on", "contact": "pin", "step": "heating"},
        ),
        ("118 v at l1 to neutral at the pin with load on", {"name": "line_to_neutral_at_board", "value": "118 v", "contact": "pin", "set_up": "load_on"}),
        (
            "inducer pin 0.2 v lo z load connected at the pin at call",
            {"name": "inducer_pin_to_neutral", "value": "0.2 v", "meter": "low", "set_up": "load_on", "contact": "pin", "step": "call"},
        ),
        ("igniter 119 at plug", {"name": "igniter_volts_at_plug", "value": "119"}),
        ("igniter 0 v at plug low z on warm up", {"name": "igniter_volts_at_plug", "value": "0 v", "meter": "low", "step": "igniter_warm_up"}),
        ("pressure switch 24.5 at return", {"name": "pressure_switch_return_to_c", "value": "24.5"}),
        ("w 24.8 at the board low", {"name": "w_to_c_at_board", "value": "24.8", "meter": "low"}),
        ("volts at stat r c 25.1", {"name": "r_to_c_at_thermostat", "value": "25.1"}),
        ("0 v at inducer plug low z", {"name": "inducer_volts_at_motor", "value": "0 v", "meter": "low"}),
        ("ps vacuum: 1.1", {"name": "draft", "value": "1.1"}),
        ("water column at switch: 0.9", {"name": "draft", "value": "0.9"}),
        ("volts neutral to ground: 0.3", {"name": "neutral_to_chassis_at_board", "value": "0.3"}),
        ("mv coil ohms: 40", {"name": "gas_valve_coil_ohms", "value": "40"}),
    ],
)
def test_how_a_reading_was_taken_and_where_is_read_in_the_words_of_shops(free: FreeText, text: str, record: dict[str, str]) -> None:
    assert free.records(text) == [{"kind": "point", **record}]


def test_the_new_board_of_a_claim_is_read_by_what_shops_call_it(free: FreeText) -> None:
    assert [r["name"] for r in free.records("module: replaced, no change")] == ["control_board"]
    assert free.records("module: replaced") == []  # as likely the repair that the claim is for


def sign(name: str, value: str, **more: str) -> dict[str, str]:
    return {"kind": "sign", "name": name, "value": value, **more}


def point(name: str, value: str, **more: str) -> dict[str, str]:
    return {"kind": "point", "name": name, "value": value, **more}


OUTPUT = {"meter": "low", "contact": "pin", "set_up": "load_on"}


@pytest.mark.parametrize(
    ("text", "record"),
    [
        ("call 2: no inducer", sign("inducer_runs", "no", call="2")),
        ("call 2: no glow", sign("igniter_glows", "no", call="2")),
        ("call 2: no blower at heating", sign("blower_runs", "no", step="heating", call="2")),
        ("no blower at heating", sign("blower_runs", "no", step="heating")),
        ("no flame at ignition trial", sign("flame_seen", "no", step="ignition_trial")),
        ("no glow on call 2", sign("igniter_glows", "no", call="2")),
        ("second call: no glow", sign("igniter_glows", "no", call="2")),
        ("2nd heat call no inducer", sign("inducer_runs", "no", call="2")),
        ("on the third call no flame", sign("flame_seen", "no", call="3")),
        ("second call: blower hums", sign("blower_runs", "hums", call="2")),
        ("mv 0.1 v at ignition trial low pin load on", point("gas_pin_to_c", "0.1 v", step="ignition_trial", **OUTPUT)),
        ("mv 24 v at ignition trial low at the load", point("gas_valve_volts", "24 v", step="ignition_trial", meter="low", contact="load")),
        ("ign terminal to neutral 0.3 v at warm up low pin load on", point("igniter_pin_to_neutral", "0.3 v", step="igniter_warm_up", **OUTPUT)),
        ("0 v at w w/ stat calling", point("w_to_c_at_board", "0 v", step="call")),
        ("w to c 24.8 v with the thermostat calling for heat", point("w_to_c_at_board", "24.8 v", step="call")),
        ("0 v at w with no call", point("w_to_c_at_board", "0 v", step="standby")),
        ("blower runs with no call", sign("blower_runs", "runs", step="standby")),
        ("inducer runs w/o a call", sign("inducer_runs", "runs", step="standby")),
        ("inducer runs without a call", sign("inducer_runs", "runs", step="standby")),
        ("found inducer locked up", sign("inducer_turns_freely", "locked up")),
        ("blower siezed up", sign("blower_turns_freely", "siezed up")),
        ("noticed the inducer hums", sign("inducer_runs", "hums")),
        ("jumped r to w at the board, furnace fired right up", sign("starts_when_joined_at_board", "furnace fired right up")),
    ],
)
def test_calls_steps_and_contacts_are_read_as_shops_write_them(free: FreeText, knowledge: Knowledge, text: str, record: dict[str, str]) -> None:
    told = free.records(text) or free.records(text.replace(",", " "))

    assert told == [record]
    if record["name"] in knowledge.sign:
        assert len(Vocabulary(knowledge).values(record["name"]).meant(record["value"])) == 1


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("jumped r to w furnace fired right up", ["starts_when_joined_at_board", "starts_when_joined_at_thermostat"]),
        ("jumpered r and w, unit started", ["starts_when_joined_at_board", "starts_when_joined_at_thermostat"]),
        ("mv 0.1 v at ignition trial low", ["gas_pin_to_c", "gas_valve_volts"]),
        ("heat 0.2 low pin", ["heat_terminal_to_neutral", "heat_terminal_to_chassis"]),
        ("no blower hums at heating", []),
        ("2nd call for cooling no blower", []),
        ("blower runs with no call for heat", []),  # there may be one for cooling
        ("no board tapped at heating", []),
        ("inducer locked out", []),
    ],
)
def test_where_it_was_joined_or_read_is_not_guessed(free: FreeText, text: str, told: list[str]) -> None:
    assert free.records(text) == free.records(text.replace(",", " ")) == []
    assert all(name in free.advice(text) + free.advice(text.replace(",", " ")) for name in told)


@pytest.mark.parametrize(
    ("text", "is_that"),
    [
        ("swapped board and it came to life", True),
        ("new board and it fired right up", True),
        ("board replaced and works now", True),
        ("put new board in, up and running", True),
        ("swapped inducer and it came to life", False),  # that tells of another part
        ("new board works for a week", False),
        ("board not swapped, works now", False),
        ("board swapped, no change", False),
        ("board works now", False),  # nothing was put in
        ("swapped board and limit, works now", False),
    ],
)
def test_a_new_part_that_put_all_right_is_the_claimed_repair(free: FreeText, text: str, is_that: bool) -> None:
    assert ClaimAgain(free).is_claimed_repair(text, "control_board") == is_that


# (sentences of a claim's text; what is read of them: name, value, heat call; what is not read)
TOLD_IN_A_SENTENCE = [
    # the mark before what was read against it, as 1.1 of 7.5 is 15 percent of it
    ("cap rated 7.5, reads 1.1", [("capacitor_microfarads", 1.1, 1), ("capacitor_against_mark", "outside", 1)], []),
    ("cap is rated 7.5 and reads 7.4", [("capacitor_microfarads", 7.4, 1), ("capacitor_against_mark", "within", 1)], []),
    ("heat terminal rated 20, reads 0.2", [], ["heat terminal rated 20, reads 0.2"]),  # no such check
    # what was so in two calls; not where something of the sentence was not read, or nothing stands in it
    ("no blower at heating, both calls the same", [("blower_runs", "no", 1), ("blower_runs", "no", 2)], []),
    ("no blower at heating, same on both calls", [("blower_runs", "no", 1), ("blower_runs", "no", 2)], []),
    ("no blower at heating; both calls the same", [("blower_runs", "no", 1), ("blower_runs", "no", 2)], []),
    ("no blower at heating, checked wires, both calls the same", [("blower_runs", "no", 1)], ["checked wires", "both calls the same"]),
    ("igniter ohms OL, both calls the same", [("igniter_ohms", float("inf"), 1)], ["both calls the same"]),  # read with the power off
    ("glows, nice furnace, no click", [("igniter_glows", "yes", 1)], ["nice furnace", "no click"]),
    # a click after a glow is the gas valve's; else it may be a relay's
    ("glows, no click", [("igniter_glows", "yes", 1), ("gas_valve_clicks", "no", 1)], []),
    ("glows no click", [("igniter_glows", "yes", 1), ("gas_valve_clicks", "no", 1)], []),
    ("inducer runs, no click", [("inducer_runs", "yes", 1)], ["no click"]),
    ("no glow, no click", [("igniter_glows", "no", 1)], ["no click"]),
    ("glows; no click", [("igniter_glows", "yes", 1)], ["no click"]),
    # wires taken off, and what came of it; what is only done tells no outcome, and neither does what came of something else
    ("pulled stat wires off at board, blower still running", [("goes_on_with_thermostat_wires_off", "blower", 1)], []),
    ("took stat wires off board and blower stops", [("goes_on_with_thermostat_wires_off", "nothing", 1)], []),
    ("pulled stat wires off at board", [], ["pulled stat wires off at board"]),
    ("stat wires pulled off", [], ["stat wires pulled off"]),
    (
        "pulled stat wires off at board, put 120 to motor, blower still running", [],
        ["pulled stat wires off at board", "put 120 to motor", "blower still running"],
    ),
    ("helps when i press the board", [("board_pressed_helps", "yes", 1)], []), ("smacking the board helps", [("board_pressed_helps", "yes", 1)], []),
    # a scorched board, where its relay scorched it
    ("relay burnt, board scorched by blower relay", [("board_scorched", "yes", 1)], ["relay burnt"]),
    ("board not scorched by relay", [], ["board not scorched by relay"]),
    ("igniter pin low 0.2", [], ["igniter pin low 0.2"]),  # the meter's mode, or what it showed: nobody is there to say
]  # fmt: skip


@pytest.mark.parametrize(("text", "told", "unread"), TOLD_IN_A_SENTENCE)
def test_a_sentence_tells_what_hangs_on_its_clauses(text: str, told: list[tuple[str, object, int]], unread: list[str], read: Read, reader: Reader) -> None:
    claim = reader.understood(read(f'claim,notes\nA1,"{text}"\n')[0][0])

    assert [(r.name, r.number if r.kind == "point" else r.word, r.call) for r in claim.report.records] == told
    assert [p.message.partition(" is not read")[0] for p in claim.unmatched] == unread


@pytest.mark.parametrize("text", ["ps 24 in 0 out at inducer start", "24 in 0 out at ps at inducer start", "ps in 24 out 0 at inducer start"])
def test_both_sides_are_told_at_a_step(text: str, free: FreeText) -> None:
    """Common practice, no source."""
    told = [(f["name"], f["value"], f.get("step")) for f in free.records(text)]
    assert told == [("pressure_switch_feed_to_c", "24", "inducer_start"), ("pressure_switch_out_to_c", "0", "inducer_start")]


def test_where_the_step_is_no_step_both_sides_are_as_they_were(free: FreeText) -> None:
    assert [f["name"] for f in free.records("24 in 0 out at ps")] == ["pressure_switch_feed_to_c", "pressure_switch_out_to_c"]


@pytest.mark.parametrize("text", ["reseated plugs no change", "plugs reseated no change", "refitted plugs, no change", "reseated connectors same"])
def test_plugs_refitted_for_the_claim_are_a_check_whichever_word_comes_first(text: str, free: FreeText) -> None:
    """Common practice, no source."""
    assert [(f["name"], f["value"]) for f in free.records(text.replace(",", ""))] == [("plugs_refitted", "still_the_same")]


@pytest.mark.parametrize("text", ["cleaned rod no change", "replaced igniter no change", "reseated plugs"])
def test_what_else_was_done_first_is_no_such_check(text: str, free: FreeText) -> None:
    assert all(f["name"] != "plugs_refitted" for f in free.records(text))


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("120v at inducer plug, hums, shaft wont turn by hand", ["inducer_volts_at_motor", "inducer_runs", "inducer_turns_freely"]),
        ("inducer hums, wheel wont spin by hand", ["inducer_runs", "inducer_turns_freely"]),
    ],
)
def test_a_shaft_that_does_not_turn_is_of_the_motor_told_before(text: str, told: list[str], read: Read, reader: Reader) -> None:
    """Common practice, no source."""
    claim = reader.understood(read(f'claim,notes\nA1,"{text}"\n')[0][0])
    assert [r.name for r in claim.report.records] == told
    assert not claim.unmatched


@pytest.mark.parametrize("text", ["no jumpers", "jumpers: no", "jumpers: none", "no switches"])
def test_that_there_is_no_jumper_is_told_to_be_not_read(text: str, read: Read, reader: Reader) -> None:
    """Common practice, no source."""
    claim = reader.understood(read(f'claim,notes\nA1,"{text}"\n')[0][0])
    assert not claim.report.records
    assert len(claim.unmatched) == 1


def test_a_column_of_jumpers_is_no_check_of_the_settings(read: Read, reader: Reader) -> None:
    """Common practice, no source."""
    claim = reader.understood(read("claim,inducer runs,jumpers\nA1,yes,no\n")[0][0])
    assert [r.name for r in claim.report.records] == ["inducer_runs"]


@pytest.mark.parametrize(
    ("part", "text", "told"),
    [  # what shops write, common practice, no source
        ("inducer", "motor hums not turning", ["inducer_runs: hums not turning"]),
        ("inducer", "shaft stuck", ["inducer_turns_freely: stuck"]),
        ("blower_motor", "motor hums", ["blower_runs: hums"]),
        ("control_board", "motor hums", []),
        ("gas_valve", "24.8 at mv", ["gas_valve_volts: 24.8"]),
        ("control_board", "24.8 at mv", []),  # its pin, or the valve behind a wire
        ("gas_valve", "120 at plug", []),
        ("pressure_switch", "24 in 0 out", ["pressure_switch_feed_to_c: 24", "pressure_switch_out_to_c: 0"]),
        ("control_board", "24 in 0 out", []),
        ("inducer", "24 in 0 out", []),
    ],
)
def test_what_could_be_of_several_parts_is_of_the_one_claimed(free: FreeText, part: str, text: str, told: list[str]) -> None:
    free.of_claim(part, [text])

    assert [f"{f['name']}: {f['value']}" for f in Guesses(free).guessed(text)] == told


def test_a_motor_is_not_that_of_the_part_claimed_where_the_text_names_the_other_one(free: FreeText) -> None:
    free.of_claim("inducer", ["blower motor tested", "motor hums"])

    assert Guesses(free).guessed("motor hums") == []


@pytest.mark.parametrize(
    ("text", "told"),
    [  # what shops write, common practice, no source
        ("draft 1.2 at switch", ["draft: 1.2"]),
        ("manometer 1.2 at switch", ["draft: 1.2"]),
        ("draft 1.2 at switch rated .6", ["draft: 1.2 (rated .6)"]),
        ("manometer 1.2 at switch rated .6", ["draft: 1.2 (rated .6)"]),
        ("manometer 1.2", []),  # of a draft or of the gas
        ("120 pri 0 sec", ["primary_volts: 120", "secondary_volts_at_leads: 0"]),
        ("0 sec", []),  # volts or seconds
    ],
)
def test_a_place_or_a_winding_may_be_told_behind_its_figure(free: FreeText, text: str, told: list[str]) -> None:
    assert [f"{f['name']}: {f['value']}" + (f" ({f['note']})" if "note" in f else "") for f in free.records(text)] == told


def test_at_some_minutes_is_after_them(free: FreeText) -> None:
    assert free.records("limit opens at 4 min") == [{"kind": "sign", "name": "limit_contact", "value": "opens", "after_s": "240"}]


@pytest.mark.parametrize(
    ("text", "microamps"),
    [
        ("drops out, .4 ua", 0.4),
        ("glows. .4 ua. rod dirty", 0.4),
        ("flame drops 3 sec, .4 microamps", 0.4),
        ("drops out... .4 ua", 0.4),
        ("call 2: drops out, .4 ua", 0.4),
        ("flame sense . 4 ua", 0.4),
        ("drops out, flame current 0,4 ua, rod dirty", 0.4),
        ("4 ua", 4),
        ("drops out, 4 ua", 4),
        ("drops out. 4 ua", 4),
        ("drops out,4 ua", 4),
    ],
)
def test_a_figure_keeps_its_point_wherever_it_stands(text: str, microamps: float, read: Read, reader: Reader) -> None:
    ((raw,), _) = read(f'claim,part,readings\nA1,control board,"{text}"\n')

    assert [r.number for r in reader.understood(raw).report.records if r.name == "flame_current"] == [microamps]


@pytest.mark.parametrize(
    "text",
    [
        "flame sense ,4 ua",
        "flame current ..4 ua",
        "flame current 2..4 ua",
        "drops out ...4 ua",
        "no flame . 4 ua",
        "flame current 0 .4 ua",
        "flame current 2 .4 ua",
    ],
)
def test_a_figure_whose_point_may_be_elsewhere_is_not_read(text: str, read: Read, reader: Reader) -> None:
    ((raw,), _) = read(f'claim,part,readings\nA1,control board,"{text}"\n')

    assert [r.number for r in reader.understood(raw).report.records if r.name == "flame_current"] == []
