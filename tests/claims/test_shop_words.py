"""Words of shops for what was read and done, each with its neighbours; the words are common practice, no source, unless a source is named."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from furnace_diag.claims.free_text import FreeText
from furnace_diag.claims.raw_claim import RawClaim
from furnace_diag.claims.reading import Files
from furnace_diag.claims.understanding import Claim, Reader
from furnace_diag.diagnosis.vocabulary import Vocabulary
from furnace_diag.knowledge.models import Knowledge
from furnace_diag.visit.lines import Reader as LineReader

Read = Callable[..., tuple[list[RawClaim], Files]]


@pytest.fixture
def claim_of(read: Read, reader: Reader) -> Callable[..., Claim]:
    """The claim of a free text, for a part."""

    def claim_of(text: str, part: str = "control board") -> Claim:
        ((raw,), _) = read(f'claim,part,readings\nA1,{part},"{text}"\n')
        return reader.understood(raw)

    return claim_of


def told(claim: Claim) -> list[tuple[str, object, str | None]]:
    return [(r.name, r.word if r.word is not None else r.number, r.step) for r in claim.report.records]


ONE_THING = [
    ("secondary at leads 0", "secondary_volts_at_leads", 0.0),
    ("secondary at leads 26.4", "secondary_volts_at_leads", 26.4),
    ("board pressure to c 25.1 at ignition trial", "pressure_switch_return_to_c", 25.1),
    ("no valve click", "gas_valve_clicks", "no"),
]


@pytest.mark.parametrize(("text", "name", "value"), ONE_THING)
def test_what_can_be_one_thing_is_taken_as_that_and_told(claim_of: Callable[..., Claim], text: str, name: str, value: object) -> None:
    claim = claim_of(text)

    assert [t[:2] for t in told(claim)] == [(name, value)]
    assert [(f"{text} is read as {name}" in p.message, "write the name in full" in p.fix) for p in claim.notes] == [(True, True)]
    assert claim.unmatched == ()


@pytest.mark.parametrize(
    "text",
    [
        "junction box 121",
        "24v pin to c 26.2",
        "24.6 at mv at ignition trial",
        "mv 24",
        "valve coil 44",
        "fuse 0.1",
        "no click",
        "leads 120",
        "limit 25",
        "board 24",
        "switch open",
        "motor hums",
        "limits open",
        "jumped out the limit",
        "24 in 0 out",
    ],
)
def test_what_means_two_things_or_little_is_told_is_not_guessed(claim_of: Callable[..., Claim], text: str) -> None:
    claim = claim_of(text)

    assert told(claim) == []
    assert [p.message for p in claim.unmatched] == [f"{text} is not read."]
    assert claim.notes == ()


def test_no_experiment_is_guessed(claim_of: Callable[..., Claim], knowledge: Knowledge) -> None:
    claims = [
        claim_of(text)
        for text in ("blower takes off", "inducer keeps on when tapped", "jumped r and w starts", "blower spun starts", "hose pulled off valve shuts")
    ]

    guessed = [p.message for c in claims for p in c.notes]
    assert not [i for i in knowledge.experiment for text in guessed if f"read as {i}" in text]


@pytest.mark.parametrize(
    ("text", "fed", "out"),
    [
        ("ps 24 in 0 out", 24, 0),
        ("ps 24 in 24 out", 24, 24),
        ("24 in 0 out of ps", 24, 0),
        ("24v in 0v out on ps", 24, 0),
        ("24 going in nothing out of ps", 24, 0),
        ("24 in 24 out of the pressure switch", 24, 24),
    ],
)
def test_both_sides_of_one_thing_are_two_readings(claim_of: Callable[..., Claim], text: str, fed: float, out: float) -> None:
    assert told(claim_of(text)) == [("pressure_switch_feed_to_c", fed, None), ("pressure_switch_out_to_c", out, None)]


@pytest.mark.parametrize(
    ("text", "part", "expected"),
    [
        (
            "24v at valve no click, coil OL",
            "gas valve",
            [("gas_valve_volts", 24, None), ("gas_valve_clicks", "no", None), ("gas_valve_coil_ohms", float("inf"), "power_off")],
        ),
        ("heat terminal 120 low z pin w/ call burners lit", "board", [("heat_terminal_to_neutral", 120, "call"), ("burners_light", "yes", None)]),
        (
            "burners light no blower heat terminal 0.2 v at heating",
            "board",
            [("burners_light", "yes", None), ("blower_runs", "no", None), ("heat_terminal_to_neutral", 0.2, "heating")],
        ),
        ("igniter ohms 52 igniter does not glow", "board", [("igniter_ohms", 52, "power_off"), ("igniter_glows", "no", None)]),
        ("something odd went on, r to c 25 at board fuse ok", "board", [("r_to_c_at_board", 25, None), ("fuse_looks", "good", None)]),
    ],
)
def test_records_without_a_comma_between_them_are_each_read(
    claim_of: Callable[..., Claim], text: str, part: str, expected: list[tuple[str, object, str | None]]
) -> None:
    assert told(claim_of(text, part)) == expected


@pytest.mark.parametrize(
    ("part", "text", "expected"),
    [
        ("inducer", "118 v at inducer on a call, wont turn", [("inducer_volts_at_motor", 118, "call"), ("inducer_runs", "no", None)]),
        ("inducer", "hums. cap 0.4 of 4", [("inducer_runs", "hums", None)]),  # whose capacitor is not told, and the blower's says nothing of an inducer
        ("inducer", "inducer hums, spun it and it ran", [("inducer_runs", "hums", None)]),
        ("flame sensor", "dirty sensor, cleaned, works. replaced anyway", [("flame_rod_looks", "filmed", None), ("flame_rod", "refitted_and_cured", None)]),
        ("igniter", "0 at igniter plug. replaced igniter n board", [("igniter_volts_at_plug", 0, None)]),
        ("pressure switch", "24 both sides", [("pressure_switch_feed_to_c", 24, None), ("pressure_switch_out_to_c", 24, None)]),
    ],
)
def test_what_is_told_without_its_part_is_of_the_one_claimed(
    claim_of: Callable[..., Claim], part: str, text: str, expected: list[tuple[str, object, str | None]]
) -> None:
    assert told(claim_of(text, part)) == expected


def test_no_light_on_a_dead_furnace_is_the_boards(read: Read, reader: Reader) -> None:
    assert ("light", "dark", None) in told(of_complaint(read, reader, "board", "dead", "24 at sec, no light"))
    assert ("burners_light", "no", None) in told(of_complaint(read, reader, "board", "no heat", "inducer runs, no light"))


@pytest.mark.parametrize(
    "text",
    [
        "put 120 to motor blower runs heat terminal 0",  # what was done may have made the rest
        "igniter pin 0 with inducer off igniter glows",
        "heat terminal 0 no call burners lit",
        "24 at w no inducer",  # "w" may be "with"
        "board no output to inducer 0v",
        "cap 3.1 on a 7.5 mfd odd",
    ],
)
def test_records_are_not_parted_where_a_word_may_belong_to_either(claim_of: Callable[..., Claim], text: str) -> None:
    assert told(claim_of(text)) == []


@pytest.mark.parametrize("text", ["board 24 in 0 out", "transformer 120 in 0 out", "24 in 0 out"])
def test_sides_of_what_has_no_such_points_are_not_read(claim_of: Callable[..., Claim], text: str) -> None:
    assert told(claim_of(text)) == []


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("limits closed", [("limit_contact", "closed", None)]),
        ("limits ok", [("limit_contact", "closed", None)]),
        ("limit open when hot", [("limit_contact", "open", None)]),
        ("valve dont click", [("gas_valve_clicks", "no", None)]),
        ("valve clicks", [("gas_valve_clicks", "yes", None)]),
        ("inducer comes on no glow", [("inducer_runs", "yes", None), ("igniter_glows", "no", None)]),
        ("inducer runs no glow no flame", [("inducer_runs", "yes", None), ("igniter_glows", "no", None), ("flame_seen", "no", None)]),
        ("rod was filmed", [("flame_rod_looks", "filmed", None)]),
        ("igniter was cracked", [("igniter_looks", "broken", None)]),
        ("blower runs with nothing calling", [("blower_runs", "yes", "standby")]),
        ("blower keeps running at rest", [("blower_runs", "yes", "standby")]),
        ("120 put straight to heat wire and blower took off", [("blower_fed_directly", "runs", None)]),
        ("120 direct to heat speed lead blower hums", [("blower_fed_directly", "does_not_run", None)]),
        ("across door switch 121 with door on", [("across_door_switch", 121.0, None)]),
        ("y to c wire reads 0.6 ohm w/ contactor lead off", [("outdoor_cable_ohms", 0.6, "power_off")]),
        ("board got 24v r to c", [("r_to_c_at_board", 24.0, None)]),
        ("0v sec", [("secondary_volts_at_leads", 0.0, None)]),
        ("igniter ohms OL at room temp", [("igniter_ohms", float("inf"), "power_off")]),
    ],
)
def test_plain_statements_are_read(claim_of: Callable[..., Claim], text: str, expected: list[tuple[str, object, str | None]]) -> None:
    claim = claim_of(text)

    assert told(claim) == expected
    assert claim.unmatched == ()


@pytest.mark.parametrize(
    "text",
    [
        "blower runs no heat call",
        "blower runs no call",
        "24 at w no inducer",
        "across door switch 121 with door off",
        "y to c 0.6 ohm w/ coil on",
        "vent was not plugged",
    ],
)
def test_what_is_told_of_another_time_or_place_is_not_read(claim_of: Callable[..., Claim], text: str) -> None:
    assert told(claim_of(text)) == []


# within 6 percent either way of the mark, common practice: 0.94 x 7.5 is 7.05 and 1.06 x 7.5 is 7.95
@pytest.mark.parametrize(
    ("text", "shown", "against"),
    [
        ("cap 1.1 uf should be 7.5", 1.1, "outside"),
        ("cap 7.4 uf on a 7.5", 7.4, "within"),
        ("cap reads 7, should be 7.5 uf", 7.0, "outside"),
        ("cap 8 rated 7.5", 8.0, "outside"),
        ("capacitor 7.9 mfd rated at 7.5 mfd", 7.9, "within"),
        ("cap 4.2 marked 5", 4.2, "outside"),
    ],
)
def test_a_reading_with_its_mark_tells_both(claim_of: Callable[..., Claim], text: str, shown: float, against: str) -> None:
    assert told(claim_of(text)) == [("capacitor_microfarads", shown, "power_off"), ("capacitor_against_mark", against, None)]


@pytest.mark.parametrize("text", ["cap rated 7.5", "cap rated at 7.5 uf", "capacitor marked 7.5", "cap should be 7.5"])
def test_a_mark_alone_is_no_reading_and_holds_nothing_back(claim_of: Callable[..., Claim], text: str) -> None:
    claim = claim_of(text)

    assert (told(claim), claim.unmatched, claim.untold) == ([], (), ())


@pytest.mark.parametrize("text", ["inlet 7 should be 7", "flame .3 ua should be 3", "cap should be 7.5 but is not"])
def test_what_has_no_mark_is_not_held_against_one(claim_of: Callable[..., Claim], text: str) -> None:
    claim = claim_of(text)

    assert told(claim) == []
    assert claim.untold


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        (
            "stat calls, w to c 25.0, no inducer, inducer terminal 0.0 low pin load on",
            [("w_to_c_at_board", 25.0, "call"), ("inducer_runs", "no", None), ("inducer_pin_to_neutral", 0.0, "call")],
        ),
        ("with stat calling, w to c 0", [("w_to_c_at_board", 0.0, "call")]),
        ("at heating, no blower, heat terminal 0.2 low pin", [("blower_runs", "no", "heating"), ("heat_terminal_to_neutral", 0.2, "heating")]),
        ("at rest, blower runs", [("blower_runs", "yes", "standby")]),
        ("during ignition trial, mv to c 0.1 pin, no flame", [("gas_pin_to_c", 0.1, "ignition_trial"), ("flame_seen", "no", "ignition_trial")]),
        ("stat calls, igniter plug 121", [("igniter_volts_at_plug", 121.0, None)]),  # it is due later in the call
        ("stat calls, igniter ohms 60", [("igniter_ohms", 60.0, "power_off")]),
        ("at heating, mv to c 25 pin at ignition trial", [("gas_pin_to_c", 25.0, "ignition_trial")]),
    ],
)
def test_a_step_told_first_is_that_of_what_follows(claim_of: Callable[..., Claim], text: str, expected: list[tuple[str, object, str | None]]) -> None:
    claim = claim_of(text)

    assert told(claim) == expected
    assert claim.unmatched == ()


@pytest.mark.parametrize("off", ["stat wires off", "tstat wires off", "with stat wires off", "thermostat wires off", "stat wires pulled"])
def test_the_thermostats_wires_off_are_a_set_up(claim_of: Callable[..., Claim], off: str) -> None:
    (record,) = claim_of(f"heat terminal 120.6 low pin at rest {off}").report.records

    assert (record.name, record.set_up, record.step) == ("heat_terminal_to_neutral", ("thermostat_wires_off",), "standby")


@pytest.mark.parametrize(
    "text",
    [
        "board shorted",
        "bd no good",
        "put new brd in anyhow",
        "bd",
        "bad bd",
        "board fried",
        "chgd control too to be safe",
        "replaced brd",
        "needs new board",
        "ordered new board",
        "board is bad",
        "board went bad",
        "swapped out the control",
        "changed board, works fine",
    ],
)
def test_the_very_claim_tells_nothing_and_holds_nothing_back(claim_of: Callable[..., Claim], text: str) -> None:
    claim = claim_of(text)

    assert (told(claim), claim.unmatched, claim.untold) == ([], (), ())


@pytest.mark.parametrize(
    "text",
    [
        "board not replaced",
        "board not bad",
        "bad igniter",
        "inducer bad",
        "board burnt out",
        "board relay shorted",
        "bad board and bad igniter",
        "board shorted to ground",
        "cleaned board",
    ],
)
def test_what_tells_more_than_the_claim_is_listed(claim_of: Callable[..., Claim], text: str) -> None:
    claim = claim_of(text)

    assert told(claim) == []
    assert [p.message for p in claim.untold] == [f"{text} is not read."]


def test_how_the_board_looks_is_read_in_a_claim_for_it(claim_of: Callable[..., Claim]) -> None:
    claim = claim_of("board burnt")

    assert [name for name, *_ in told(claim)] == ["board_scorched"]
    assert not claim.untold


@pytest.mark.parametrize("text", ["changed board, inducer runs", "replaced board, inducer runs", "put new board in, ign ohms 60"])
def test_what_follows_a_new_part_is_of_another_time(claim_of: Callable[..., Claim], text: str) -> None:
    claim = claim_of(text)

    assert told(claim) == []
    assert len(claim.untold) == 1


def test_another_part_that_is_bad_is_no_remark_of_this_claim(claim_of: Callable[..., Claim]) -> None:
    assert [len(claim_of("inducer shot", part).unmatched) for part in ("inducer", "control board")] == [0, 1]


@pytest.mark.parametrize(
    "text", ["board not opening valve", "board wont lite ignitor", "bd not starting inducer", "control doesnt run the blower", "board wont turn on blower"]
)
def test_that_the_part_does_not_do_its_work_is_the_claim(claim_of: Callable[..., Claim], text: str) -> None:
    claim = claim_of(text)

    assert (told(claim), claim.unmatched) == ([], ())


@pytest.mark.parametrize(
    "text",
    [
        "board not getting power",
        "board wont power up",
        "board not sending 24 to valve",
        "board light wont light",
        "inducer not starting blower",
        "board wont light",
        "valve not opening",
    ],
)
def test_what_the_part_does_not_get_or_show_is_no_mere_claim(claim_of: Callable[..., Claim], text: str) -> None:
    claim = claim_of(text)

    assert told(claim) or claim.unmatched


@pytest.mark.parametrize("both", ["both calls", "on both calls", "both heat calls", "2 calls", "in both the calls"])
def test_both_calls_are_two(claim_of: Callable[..., Claim], both: str) -> None:
    records = claim_of(f"pressure switch out 25.1 {both}").report.records

    assert [(r.name, r.number, r.call) for r in records] == [("pressure_switch_out_to_c", 25.1, call) for call in (1, 2)]


@pytest.mark.parametrize(
    ("text", "part", "name"),
    [("inducer dead", "inducer", "inducer_runs"), ("fuse blown", "fuse", "fuse_looks"), ("blower dead", "blower motor", "blower_runs")],
)
def test_what_is_seen_of_the_part_claimed_is_read(claim_of: Callable[..., Claim], text: str, part: str, name: str) -> None:
    """Of a board it is an opinion, for nobody sees it: whatever else works tells."""
    assert [t[0] for t in told(claim_of(text, part))] == [name]


def told_of(claim: Claim) -> list[tuple[str, object, str | None, int]]:
    return [(r.name, r.word if r.kind != "point" else r.number, r.step, r.call) for r in claim.report.records]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        (
            "ps closed 24 in 24 out of ps, ign pin 0v low z 2 calls, line to neutral 120, ign ohms 48",
            [("pressure_switch_contact", "closed", None, 1), ("pressure_switch_feed_to_c", 24, None, 1), ("pressure_switch_out_to_c", 24, None, 1),
             ("igniter_pin_to_neutral", 0, None, 1), ("igniter_pin_to_neutral", 0, None, 2), ("line_to_neutral_at_board", 120, None, 1),
             ("igniter_ohms", 48, "power_off", 1)],
        ),
        (
            "ps closed 24 in 24 somewhere, ign pin 0v low z 2 calls, line to neutral 120, ign ohms 48",
            [("igniter_pin_to_neutral", 0, None, 1), ("igniter_pin_to_neutral", 0, None, 2), ("line_to_neutral_at_board", 120, None, 1),
             ("igniter_ohms", 48, "power_off", 1)],
        ),
        ("limit closed odd, line to neutral 119", [("line_to_neutral_at_board", 119, None, 1)]),
        # what was done, changed or taken off may have made the reading; so may the cock that somebody closed, and what was at another time
        ("swapped board, line to neutral 120", []),
        ("jumped limit, line to neutral 120", []),
        ("limit off, line to neutral 120", []),
        ("moved the thing around, line to neutral 120", []),
        ("closed it up, line to neutral 120", []),
        ("last year odd, line to neutral 120", []),
        ("ps closed odd, jumped limit, line to neutral 120", []),
        ("ps closed odd, inducer runs", []),  # a sign may be what came of it
    ],
)  # fmt: skip
def test_a_whole_reading_in_a_list_hangs_on_nothing_but_what_was_done(
    claim_of: Callable[..., Claim], text: str, expected: list[tuple[str, object, str | None, int]]
) -> None:
    assert told_of(claim_of(text)) == expected


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("fan call blower runs", [("blower_runs", "yes", "fan_call", 1)]),
        ("blower won't start on heat works on fan", [("blower_runs", "no", "heating", 1), ("blower_runs", "yes", "fan_call", 1)]),
        ("blower won't start on heat, works on fan", [("blower_runs", "no", "heating", 1), ("blower_runs", "yes", "fan_call", 1)]),
        ("119 line to neutral on brd", [("line_to_neutral_at_board", 119, None, 1)]),
        ("0v at door switch out", [("door_switch_out_to_neutral", 0, None, 1)]),
        (
            "heat spd terminal 0.2v low meter at the pin, lead on, while burning, both calls the same",
            [("heat_terminal_to_neutral", 0.2, "heating", 1), ("heat_terminal_to_neutral", 0.2, "heating", 2)],
        ),
        ("burned in one go", [("burned_in_one_go", "yes", None, 1)]),
        ("fresh call", [("fresh_call", "yes", None, 1)]),
        ("settings as diagram", [("settings_as_diagram", "yes", None, 1)]),
        ("meter tried on a live point", [("meter_tried_on_live_point", "yes", None, 1)]),
        ("plugs off and back on, still the same", [("plugs_refitted", "still_the_same", None, 1)]),
        ("capacitor was swapped no change, blower hums wont start", [("blower_capacitor", "replaced_no_change", None, 1), ("blower_runs", "hums", None, 1)]),
        ("tstat calls", []),
        ("plugs refitted no change", [("plugs_refitted", "still_the_same", None, 1)]),
        ("plugs reseated, no help", [("plugs_refitted", "still_the_same", None, 1)]),
        ("meter ok on live point", [("meter_tried_on_live_point", "yes", None, 1)]),
        ("settings match the diagram", [("settings_as_diagram", "yes", None, 1)]),
        ("jumpers wrong", [("settings_as_diagram", "no", None, 1)]),
        ("fuse good 0.1 ohm", [("fuse_ohms", 0.1, "power_off", 1)]),
        ("R to C 26 ok", [("r_to_c_at_board", 26, None, 1)]),
        ("cap tested weak 1.1 uf", [("capacitor_microfarads", 1.1, "power_off", 1)]),
        ("heat terminal only 0.2 v at heating", [("heat_terminal_to_neutral", 0.2, "heating", 1)]),
        ("ind pin 0v w/ call", [("inducer_pin_to_neutral", 0, "call", 1)]),
        ("120 v at ind pin w no call", [("inducer_pin_to_neutral", 120, "standby", 1)]),
        # their neighbours
        ("plugs cleaned no change", [("board_plug", "cleaned_no_change", None, 1)]),
        ("meter ok", []),
        ("fuse tested good", []),
        ("cap tested weak", []),
        ("heat terminal dead 120 v at heating", []),
        ("120 on inducer pin no call", []),
        ("not a fresh call", [("fresh_call", "no", None, 1)]),
        ("meter", []),
        ("plugs off", []),
        ("no fan call blower runs", []),
        ("inducer wont shut off", []),
        ("inducer wont stop", []),
    ],
)
def test_what_shops_write_is_read(claim_of: Callable[..., Claim], text: str, expected: list[tuple[str, object, str | None, int]]) -> None:
    assert told_of(claim_of(text)) == expected


def test_a_can_has_the_mark_of_a_capacitor(claim_of: Callable[..., Claim]) -> None:
    """1.2 of 7.5 uF is far under the mark, by division."""
    reading, check = claim_of("cap 1.2 on 7.5 can").report.records

    assert (reading.number, check.word) == (claim_of("cap 1.2 on a 7.5").report.records[0].number, claim_of("cap 1.2 on a 7.5").report.records[1].word)


def test_that_the_thermostat_calls_holds_nothing_back(claim_of: Callable[..., Claim]) -> None:
    assert claim_of("tstat calls").unmatched == ()
    assert claim_of("tstat dead").unmatched + claim_of("tstat dead").report.records != ()


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        (
            "call 1: flame yes at heating, heat terminal 121 at heating; call 2: flame yes at heating, heat terminal 0.2 at heating, no blower at heating",
            [("flame_seen", "yes", "heating", 1), ("heat_terminal_to_neutral", 121, "heating", 1), ("flame_seen", "yes", "heating", 2),
             ("heat_terminal_to_neutral", 0.2, "heating", 2), ("blower_runs", "no", "heating", 2)],
        ),
        ("second call: no glow at igniter warm up, no flame", [("igniter_glows", "no", "igniter_warm_up", 2), ("flame_seen", "no", None, 2)]),
        # it holds until another is told, and not for what is read with the power off or was done before
        ("call 2: flame yes at heating; heat terminal 0.2 at heating", [("flame_seen", "yes", "heating", 2), ("heat_terminal_to_neutral", 0.2, "heating", 2)]),
        ("call 2: flame yes at heating; igniter ohms 52", [("flame_seen", "yes", "heating", 2), ("igniter_ohms", 52, "power_off", 1)]),
        ("call 2: burned in one go", [("burned_in_one_go", "yes", None, 2)]),
        ("call 2: igniter replaced no change, no flame", [("igniter", "replaced_no_change", None, 1), ("flame_seen", "no", None, 2)]),
        ("no flame; call 2: igniter glows", [("flame_seen", "no", None, 1), ("igniter_glows", "yes", None, 2)]),
    ],
)  # fmt: skip
def test_a_call_told_first_is_that_of_all_that_follows(claim_of: Callable[..., Claim], text: str, expected: list[tuple[str, object, str | None, int]]) -> None:
    assert told_of(claim_of(text)) == expected


@pytest.mark.parametrize("same", ["Both calls the same", "same in both calls", "call 2 the same", "the same on call 2", "call 2 was the same"])
def test_a_sentence_of_its_own_tells_that_the_second_call_was_as_the_first(claim_of: Callable[..., Claim], same: str) -> None:
    claim = claim_of(f"inducer runs, burners lite. 0.1 v at heat terminal low z at heating. igniter ohms 58. {same}. plugs refitted still the same")

    assert [(r.name, r.call) for r in claim.report.records] == [
        ("inducer_runs", 1), ("burners_light", 1), ("heat_terminal_to_neutral", 1), ("igniter_ohms", 1),  # read with the power off: of no call
        ("inducer_runs", 2), ("burners_light", 2), ("heat_terminal_to_neutral", 2), ("plugs_refitted", 1),
    ]  # fmt: skip
    assert claim.unmatched == ()


@pytest.mark.parametrize(
    "text",
    [
        "no blower at heating; something else at the board; both calls the same",  # it may be of what is not read
        "call 1: no blower at heating; both calls the same",
        "igniter ohms OL; both calls the same",
        "both calls the same; no blower at heating",
    ],
)
def test_nothing_is_told_of_the_second_call_where_the_first_is_not_plain(claim_of: Callable[..., Claim], text: str) -> None:
    claim = claim_of(text)

    assert [r.call for r in claim.report.records] == [1]
    assert any("alls the same is not read" in p.message for p in claim.unmatched)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("igniter 58 ohms cold", [("igniter_ohms", 58, "power_off", 1)]),
        ("limit ohms 0.2 stone cold", [("limit_ohms", 0.2, "power_off", 1)]),
        ("burners on no blower", [("flame_seen", "yes", None, 1), ("blower_runs", "no", None, 1)]),
        ("burners light 4 sec and drop out", [("burners_light", "drop_out", None, 1)]),
        ("burners light 4 seconds then drop out", [("burners_light", "drop_out", None, 1)]),
        ("inducer runs all day no glow", [("inducer_runs", "yes", None, 1), ("igniter_glows", "no", None, 1)]),
        ("25.2 v at the valve", [("gas_valve_volts", 25.2, None, 1)]),
        ("25.2 v on the valve at ignition trial", [("gas_valve_volts", 25.2, "ignition_trial", 1)]),
        ("0 out of the secondary", [("secondary_volts_at_leads", 0, None, 1)]),
        ("24 out of the ps", [("pressure_switch_out_to_c", 24, None, 1)]),
        ("gas terminal to c 25", [("gas_pin_to_c", 25, None, 1)]),
        ("hooked inducer to a cord and it ran fine", [("inducer_fed_directly", "runs", None, 1)]),
        ("hooked inducer to a cord and it did not run", [("inducer_fed_directly", "does_not_run", None, 1)]),
        (
            "heat tap 119 and cool tap 119 at the same time",
            [("heat_terminal_to_neutral", 119, None, 1), ("cool_terminal_to_neutral", 119, None, 1)],
        ),
        ("only fires after power is cycled", [("power_reset_helps", "yes", None, 1)]),
        ("have to shut the power off and on to get heat", [("power_reset_helps", "yes", None, 1)]),
        ("reset power and it ran", [("power_reset_helps", "yes", None, 1)]),
        ("power reset did nothing", [("power_reset_helps", "no", None, 1)]),
        ("fan call no blower", [("blower_runs", "no", "fan_call", 1)]),
    ],
)
def test_how_shops_cut_it_short_is_read(claim_of: Callable[..., Claim], text: str, expected: list[tuple[str, object, str | None, int]]) -> None:
    claim = claim_of(text)

    assert told_of(claim) == expected
    assert claim.unmatched == ()


@pytest.mark.parametrize(
    "text",
    [
        "igniter 58 ohms hot",  # it was not read as the rules mean it
        "3.5 at the valve",  # of gas, as likely as volts
        "25.2 at the valve",
        "burners on order",
        "fan on no heat",  # the thermostat's switch, or the blower
        "blower runs no heat call",  # no call, or no heat in a call
        "heating no blower",
        "works after reset",  # of the power, of the roll-out switch or of a breaker
        "locks out",  # after trials, a pressure switch or a limit: of which of them is not said
    ],
)
def test_what_is_cut_too_short_is_left_to_a_person(claim_of: Callable[..., Claim], text: str) -> None:
    claim = claim_of(text)

    assert told_of(claim) == []
    assert claim.unmatched


WHAT_IT_DOES = [
    ("inducer no run", "inducer_runs", "no", None),
    ("blower no start", "blower_runs", "no", None),
    ("igniter no glow", "igniter_glows", "no", None),
    ("glows good", "igniter_glows", "yes", None),
    ("got 120 at ign plug", "igniter_volts_at_plug", 120.0, None),
    ("we got 24 at w", "w_to_c_at_board", 24.0, None),
    ("heat tap to neut 0.2 v", "heat_terminal_to_neutral", 0.2, None),
    ("0 v at mv pin on board during trial", "gas_pin_to_c", 0.0, "ignition_trial"),
    ("w to c 0 at board on a call from stat", "w_to_c_at_board", 0.0, "call"),
    ("26 v across limit at call", "across_limit", 26.0, "call"),
    ("igniter glows all the time no call", "igniter_glows", "yes", "standby"),
    ("120 at ign pin constantly with no call", "igniter_pin_to_neutral", 120.0, "standby"),
    ("brd no lite", "light", "dark", None),
    ("no lite", "burners_light", "no", None),  # no ignition; common practice, no source
    ("no light at ignition trial", "burners_light", "no", "ignition_trial"),
    ("no light at standby", "light", "dark", "standby"),
    ("stat wire R-C shorted 0.3 ohms at staple", "thermostat_cable_r_to_c_ohms", 0.3, "power_off"),
]


@pytest.mark.parametrize(("text", "name", "value", "step"), WHAT_IT_DOES)
def test_a_few_words_tell_what_a_thing_does_or_reads(claim_of: Callable[..., Claim], text: str, name: str, value: object, step: str | None) -> None:
    assert told(claim_of(text)) == [(name, value, step)]


SEVERAL_OR_NONE = [
    "inducer no run time noted", "no run", "got 2 of them", "had 120 calls", "motor hums",
    "glows good on the phone",
]  # fmt: skip


@pytest.mark.parametrize("text", SEVERAL_OR_NONE)
def test_of_what_could_be_several_things_or_none_nothing_is_read(claim_of: Callable[..., Claim], text: str) -> None:
    """A motor that hums is either."""
    claim = claim_of(text)

    assert told(claim) == []
    assert claim.unmatched


def test_a_work_order_and_a_warranty_part_are_known_by_their_short_headings(read: Read, reader: Reader) -> None:
    ((raw,), _) = read("Wk Ord,Warr Part,notes\n4711,inducer,no flame\n")
    claim = reader.understood(raw)

    assert (claim.id, claim.part, told(claim)) == ("4711", "inducer", [("flame_seen", "no", None)])


def test_a_work_order_beside_a_claim_number_is_not_the_claim(read: Read, reader: Reader) -> None:
    ((raw,), _) = read("claim,Wk Ord,Warr Part,notes\nK-1,4711,inducer,no flame\n")

    assert reader.understood(raw).id == "K-1"


def test_the_boards_own_pin_is_read_in_a_reading_that_begins_with_its_figure(claim_of: Callable[..., Claim]) -> None:
    claim = claim_of("0.1 v at heat terminal low z on board pin at heating load on 200 s after gas. 121 l-n at board pin")

    (heat, line) = claim.report.records
    assert (heat.name, heat.number, heat.step, heat.after_s, heat.meter, heat.contact) == ("heat_terminal_to_neutral", 0.1, "heating", 200, "low", "pin")
    assert (line.name, line.number, line.contact) == ("line_to_neutral_at_board", 121, "pin")
    assert claim.unmatched == ()


def test_what_is_seen_and_its_figure_may_stand_side_by_side(claim_of: Callable[..., Claim]) -> None:
    claim = claim_of("limit open 26 v across limit at call, dirty filter, rise 90. new board.")

    assert told(claim) == [
        ("limit_contact", "open", None), ("across_limit", 26, "call"), ("filter_looks", "dirty", None), ("temperature_rise", 90, "heating"),
    ]  # fmt: skip
    assert claim.unmatched == ()


@pytest.mark.parametrize(("text", "name"), [("pressure switch open", "pressure_switch_contact"), ("limit open", "limit_contact")])
def test_a_switch_is_open_unless_a_text_speaks_of_a_light(claim_of: Callable[..., Claim], text: str, name: str) -> None:
    assert told(claim_of(f"draft .3. {text}")) == [("draft", 0.3, None), (name, "open", None)]
    for light in ("3 flashes", "code 31", "board light blinks"):  # then it may be what the light says
        claim = claim_of(f"{light}. {text}")
        assert any("light_says" in p.fix for p in claim.unmatched)
        assert name not in {r.name for r in claim.report.records}


def test_ohms_of_one_of_several_parts_are_those_of_the_part_claimed(claim_of: Callable[..., Claim]) -> None:
    claim = claim_of("coil ol", "gas valve")
    assert told(claim) == [("gas_valve_coil_ohms", float("inf"), "power_off")]
    assert [p.message for p in claim.notes] == ["coil ol is read as gas_valve_coil_ohms: ol."]
    for part in ("control board", "igniter"):
        assert (told(claim_of("coil ol", part)), len(claim_of("coil ol", part).unmatched)) == ([], 1)
    assert told(claim_of("24 at mv at ignition trial", "gas valve")) == []  # of the board's pin as well as of the valve


def test_a_reading_without_its_place_is_where_the_one_before_it_is(claim_of: Callable[..., Claim]) -> None:
    claim = claim_of("l-n 0, neutral to gnd 119, line to chassis 120")
    assert [r.name for r in claim.report.records] == ["line_to_neutral_at_board", "neutral_to_chassis_at_board", "line_to_chassis_at_board"]
    assert [p.message for p in claim.notes] == ["line to chassis 120 is read as line_to_chassis_at_board: 120."]
    assert told(claim_of("line to chassis 120")) == []


def test_a_click_after_the_gas_was_read_is_the_gas_valves(claim_of: Callable[..., Claim]) -> None:
    assert [t[:2] for t in told(claim_of("inlet 7, manifold 0, no click"))] == [("inlet_pressure", 7), ("manifold_pressure", 0), ("gas_valve_clicks", "no")]


def test_what_still_runs_with_the_thermostat_off_is_what_ran_before(claim_of: Callable[..., Claim]) -> None:
    claim = claim_of("blower runs 24/7, g to c 0, unplugged stat still runs")
    assert [t[:2] for t in told(claim)] == [("blower_always_on", "yes"), ("g_to_c_at_board", 0), ("blower_runs", "yes")]
    assert claim.report.records[-1].taken_off
    assert told(claim_of("unplugged stat still runs")) == []


@pytest.mark.parametrize(
    "text",
    [
        "replaced brd and motor",
        "new board and fuse",
        "replaced motor & board",
        "new board and new motor",
        "replaced board anyway since its old",
        "replaced motor and board to be safe",
    ],
)
def test_a_new_board_with_another_part_is_the_claim_over_again(claim_of: Callable[..., Claim], text: str) -> None:
    claim = claim_of(f"blower hums, cap .4 uf rated 10, {text}")
    assert (len(claim.report.records), claim.unmatched) == (3, ())


@pytest.mark.parametrize(
    "text", ["replaced board and cap 2 uf", "replaced board since it was burnt", "board and motor bad", "replaced motor", "replaced board and it hums"]
)
def test_what_tells_more_than_the_claim_is_none_of_it(claim_of: Callable[..., Claim], text: str) -> None:
    assert claim_of(f"blower hums. {text}").unmatched


def test_a_reading_that_was_good_once_something_was_done_is_none_of_the_failure(claim_of: Callable[..., Claim]) -> None:
    claim = claim_of("flame sensor .3 ua. cleaned rod now 3.8")  # a good flame current is 1.5 uA or more, as the point has it from its source
    assert (told(claim), claim.unmatched) == ([("flame_current", 0.3, None)], ())
    assert "stands after what put the furnace right" in claim.notes[0].message
    for text in ("flame sensor .3 ua. cleaned rod now .3", "flame sensor 3 ua. cleaned rod now 3.8", "cleaned rod now 3.8", "flame sensor .3 ua. rod now 3.8"):
        assert claim_of(text).unmatched, text


@pytest.mark.parametrize(("part", "name"), [("inducer", "inducer_amps"), ("blower motor", "blower_amps"), ("control board", "")])
def test_amps_alone_are_of_the_part_claimed(claim_of: Callable[..., Claim], part: str, name: str) -> None:
    """Of a board, which draws none that anybody reads, they are of nothing."""
    assert [t[0] for t in told(claim_of("amps 2.9", part))] == ([name] if name else [])


@pytest.mark.parametrize("text", ["flame 3.6 ua in series w rod", "flame current 3.6 ua in series with the rod", "flame signal 3.6 ua, meter in series"])
def test_what_its_own_description_says_holds_no_reading_back(claim_of: Callable[..., Claim], text: str) -> None:
    assert [t[:2] for t in told(claim_of(text))] == [("flame_current", 3.6)]


@pytest.mark.parametrize("first", ["no codes", "no error codes stored", "not heating", "furnace quit last night"])
def test_a_first_clause_that_is_no_news_holds_nothing_back(claim_of: Callable[..., Claim], first: str) -> None:
    claim = claim_of(f"{first}, inducer runs, no glow")

    assert [t[:2] for t in told(claim)] == [("inducer_runs", "yes"), ("igniter_glows", "no")]
    assert claim.unmatched == ()


@pytest.mark.parametrize("first", ["no idea what the guy did", "not hooked up", "nothing calling for heat at all odd"])
def test_one_that_may_have_made_it_so_still_does(claim_of: Callable[..., Claim], first: str) -> None:
    assert ("inducer_runs", "yes") not in [t[:2] for t in told(claim_of(f"{first}, inducer runs, no glow"))]


@pytest.mark.parametrize(
    ("text", "part", "records"),
    [
        ("xfmr pri 121 sec 0", "control board", [("primary_volts", 121.0), ("secondary_volts_at_leads", 0.0)]),
        ("hi limit open cold", "limit switch", [("limit_when_cold", "open")]),
        ("ohms OL at 68 deg", "limit switch", [("limit_ohms", float("inf"))]),
        ("jump r-w at board runs good", "thermostat", [("starts_when_joined_at_board", "yes")]),
        ("r to w jumped at board runs", "thermostat", [("starts_when_joined_at_board", "yes")]),
        ("blower wont turn by hand", "blower motor", [("blower_turns_freely", "stiff")]),
        ("121 at motor heat", "blower motor", [("blower_volts_at_motor_heat", 121.0)]),
        ("120 at motor", "inducer", [("inducer_volts_at_motor", 120.0)]),
        ("board dark", "control board", [("light", "dark")]),
        ("inducer hums, locked up by hand", "control board", [("inducer_runs", "hums"), ("inducer_turns_freely", "stiff")]),
        ("igniter not cracked, 48 ohms", "control board", [("igniter_looks", "whole"), ("igniter_ohms", 48.0)]),
        ("ignitor crackd", "control board", [("igniter_looks", "broken")]),
        ("inducer no run, turns free", "inducer", [("inducer_runs", "no"), ("inducer_turns_freely", "free")]),
        ("blower hums, inducer runs, turns free", "control board", [("blower_runs", "hums"), ("inducer_runs", "yes")]),  # nobody turns what runs
        # neighbours: which of two motors, windings or parts is meant, is not told; a blower that runs with no call is none of its
        ("120 at motor", "blower motor", []),
        ("120 at motor", "control board", []),
        ("OL ohms", "control board", []),
        ("glows, OL ohms", "gas valve", [("igniter_glows", "yes")]),
        ("limmit jumperd", "control board", []),  # what was done is read by nobody's slip
    ],
)  # fmt: skip
def test_words_of_shops_are_read_by_the_claim(claim_of: Callable[..., Claim], text: str, part: str, records: list[tuple[str, object]]) -> None:
    assert [t[:2] for t in told(claim_of(text, part))] == records


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ("ignitor wont glow, hsi reads OL, changed brd + hsi both", "control board"),
        ("run cap 3.1 on a 7.5 mfd, put new motor + cap", "blower motor"),
        ("igniter cracked, put new hsi & valve", "igniter"),
    ],
)
def test_what_was_changed_is_what_was_done_and_unsettles_no_reading(claim_of: Callable[..., Claim], text: str, part: str) -> None:
    claim = claim_of(text, part)

    assert (claim.unmatched, claim.untold) == ((), ())
    assert claim.report.records


def test_another_part_that_was_changed_is_still_asked_about(claim_of: Callable[..., Claim]) -> None:
    """It may have been before the claim, and then what came of it tells."""
    assert claim_of("no glow, changed hsi").unmatched != ()


# Common practice, no source: what each clause of a sentence tells, whatever stands beside it.
SENTENCES = [
    (
        "lightning hit, no lights, 26.1 R-C at brd pin, 120 at L1-N, no inducer no blower, led dark",
        "control board",
        [("storm_or_outage", "yes", None), ("burners_light", "no", None), ("r_to_c_at_board", 26.1, None), ("line_to_neutral_at_board", 120.0, None)],
    ),
    ("no heat, stat calling, 11 v across heat contact of stat", "thermostat", [("across_thermostat_heat_contact", 11.0, "call")]),
    # what somebody thinks brings nothing about
    ("maybe a bad relay in it, 26.1 R-C at brd pin, no inducer", "control board", [("r_to_c_at_board", 26.1, None)]),
    ("25 at r to c, stat calling, 25 at w, no inducer", "control board", [("w_to_c_at_board", 25.0, "call"), ("inducer_runs", "no", None)]),
    (
        "blower runs with stat pulled off, 120 on heat terminal standby, no call, limit closed 24 both sides",
        "control board",
        [("heat_terminal_to_neutral", 120.0, "standby"), ("limit_contact", "closed", None), ("limit_feed_to_c", 24.0, None), ("limit_out_to_c", 24.0, None)],
    ),
]


@pytest.mark.parametrize(("text", "part", "among"), SENTENCES)
def test_a_clause_is_read_whatever_stands_beside_it(claim_of: Callable[..., Claim], text: str, part: str, among: list[object]) -> None:
    assert [each for each in told(claim_of(text, part)) if each in among] == among


@pytest.mark.parametrize("text", ["24 at mv", "pulled blower, 25 at w", "put 120 to motor, stat calling, motor runs"])
def test_nothing_is_made_of_what_has_two_places_or_came_of_what_was_done(claim_of: Callable[..., Claim], text: str) -> None:
    assert not {name for name, *_ in told(claim_of(text))} & {"gas_valve_volts", "gas_pin_to_c", "w_to_c_at_board", "blower_runs", "inducer_runs"}


@pytest.mark.parametrize(
    ("text", "part", "records"),
    [
        ("new gas valve put in 2 wks ago same thing", "gas valve", [("gas_valve", "replaced_no_change")]),
        ("new igniter last week, no glow", "control board", [("igniter", "new_part"), ("igniter_glows", "no")]),
        ("replaced gas valve a few months ago", "control board", [("gas_valve", "new_part")]),
        # neighbours: which motor is meant; what may be the repair that is claimed; what may have been the cure; what was not done
        ("new motor last week", "control board", []),
        ("new gas valve last week", "gas valve", []),
        ("replaced gas valve last week", "gas valve", []),
        ("new igniter last week, works now", "gas valve", []),
        ("new igniter last week. runs great", "gas valve", []),
        ("new igniter", "control board", []),
        ("customer declined new igniter last year", "control board", []),
    ],
)
def test_a_repair_told_with_its_day_is_one_before_the_claim(claim_of: Callable[..., Claim], text: str, part: str, records: list[tuple[str, object]]) -> None:
    """Common practice, no source."""
    assert [t[:2] for t in told(claim_of(text, part))] == records


@pytest.mark.parametrize(
    ("text", "event"),
    [
        ("zone panel put in last month", "other_controls_added"),
        ("had a new ac put in last spring", "outdoor_unit_work"),
        ("new stat last week", "new_thermostat"),
        ("house rewired last summer", "electrical_work"),  # and no rest over a summer
    ],
)
def test_what_was_done_to_a_house_is_told_with_its_day(claim_of: Callable[..., Claim], text: str, event: str) -> None:
    """Common practice, no source."""
    claim = claim_of(f"no blower. {text}")

    assert [name for name, *_ in told(claim)] == ["blower_runs", event]
    assert claim.unmatched == ()


def test_a_new_part_that_is_claimed_is_no_event(claim_of: Callable[..., Claim]) -> None:
    assert told(claim_of("no blower. new blower motor last week", "blower motor")) == [("blower_runs", "no", None)]


def test_a_day_is_no_event(claim_of: Callable[..., Claim]) -> None:
    claim = claim_of("floor redone last summer")

    assert told(claim) == []
    assert claim.unmatched != ()


def test_volts_across_the_neutrals_are_read_where_the_board_calls_for_the_inducer(claim_of: Callable[..., Claim]) -> None:
    """Common practice, no source."""
    claim = claim_of("118 across the neutral posts with inducer called lo z on the pins")

    assert told(claim) == [("across_neutral_posts", 118.0, "inducer_start")]


def test_a_step_before_a_colon_is_that_of_what_follows(claim_of: Callable[..., Claim]) -> None:
    claim = claim_of("on heat call: heat terminal 0, l1 to n 120")

    assert told(claim) == [("heat_terminal_to_neutral", 0.0, "call"), ("line_to_neutral_at_board", 120.0, "call")]


def test_hot_and_neutral_that_are_swapped_are_told_by_their_volts(claim_of: Callable[..., Claim]) -> None:
    """The readings are those of the case cases/hot_neutral_crossed.yaml."""
    (problem,) = claim_of("hot and neutral reversed at the outlet").unmatched

    assert "line to chassis at board, neutral to chassis at board" in problem.fix


@pytest.mark.parametrize(
    "text",
    [
        "118 across the white wires with inducer called lo z on the plug",
        "fan runs w stat off and all wires off board 120 at heat term w no call twice last night",
    ],
)
def test_a_long_line_is_tried_in_few_ways(knowledge: Knowledge, monkeypatch: pytest.MonkeyPatch, text: str) -> None:
    """A figure goes before the words that can follow one, two steps need two words before steps, and a repair needs what was repaired."""
    tried, read = list[str](), LineReader.understood
    monkeypatch.setattr(LineReader, "understood", lambda reader, line: (tried.append(line), read(reader, line))[1])

    FreeText(Vocabulary(knowledge)).records(text)

    assert len(tried) <= 2 * len(text.split())


def test_readings_behind_swapped_wires_that_were_found_so_are_read(claim_of: Callable[..., Claim]) -> None:
    """That they are swapped has no record; of nobody's doing, it is no reason to leave what was read. Common practice, no source."""
    assert [name for name, *_ in told(claim_of("hot and neutral reversed, 118 neutral to ground, flame 0.2ua"))] == [
        "neutral_to_chassis_at_board",
        "flame_current",
    ]


@pytest.mark.parametrize("did", ["reversed hot and neutral", "hot and neutral reversed by me", "hot and neutral reversed to test"])
def test_readings_behind_wires_that_somebody_swapped_are_not_read(claim_of: Callable[..., Claim], did: str) -> None:
    assert told(claim_of(f"{did}, 118 neutral to ground, flame 0.2ua")) == []


def of_complaint(read: Read, reader: Reader, part: str, complaint: str, text: str) -> Claim:
    ((raw,), _) = read(f'claim,part,complaint,readings\nA1,{part},"{complaint}","{text}"\n')
    return reader.understood(raw)


@pytest.mark.parametrize(
    ("part", "complaint", "text", "names"),
    [
        (
            "control board",
            "blower no run",
            "motor hums, 118v on heat tap running, cap reads 0.8 of 10 mfd",
            ["blower_runs", "heat_terminal_to_neutral", "capacitor_microfarads", "capacitor_against_mark"],
        ),
        ("control board", "inducer no start", "motor hums", ["inducer_runs"]),
        (
            "inducer",
            "inducer wont start",
            "120 at inducer plug, motor hums, wheel spins free by hand",
            ["inducer_volts_at_motor", "inducer_runs", "inducer_turns_freely"],
        ),
    ],
)
def test_a_motor_without_its_name_is_the_one_complained_of(read: Read, reader: Reader, part: str, complaint: str, text: str, names: list[str]) -> None:
    """Common practice, no source."""
    claim = of_complaint(read, reader, part, complaint, text)

    assert [name for name, *_ in told(claim)] == names
    assert claim.unmatched == claim.unheard == ()


@pytest.mark.parametrize(
    ("complaint", "text"),
    [
        ("no heat", "motor hums"),
        ("no heat, blower dead", "inducer runs, motor hums"),
        ("inducer no run, blower ok", "motor hums"),
        ("no heat", "wheel spins free by hand"),
    ],
)
def test_a_motor_without_its_name_may_be_either_where_both_or_none_are_named(read: Read, reader: Reader, complaint: str, text: str) -> None:
    claim = of_complaint(read, reader, "control board", complaint, text)

    assert text.rpartition(", ")[2] in claim.unmatched[-1].message


def test_what_somebody_did_by_hand_is_not_seen(claim_of: Callable[..., Claim]) -> None:
    assert told(claim_of("ran motor by hand", "inducer")) == []


@pytest.mark.parametrize(
    ("part", "text", "expected"),
    [
        ("control board", "24.8 at gas valve at ignition trial", ["gas_valve_volts 24.8 ignition_trial"]),
        ("control board", "0.0v mv pin to com lo-z on board with valve wired, ignition trial", ["gas_pin_to_c 0 ignition_trial low pin load_on"]),
        ("control board", "ps return 25.2 to c on the pin", ["pressure_switch_return_to_c 25.2 pin"]),
        ("control board", "0 volts to hsi during warmup", ["igniter_volts_at_plug 0 igniter_warm_up"]),
        ("control board", "ps closed 24 24, limit ok",
         ["pressure_switch_contact closed", "pressure_switch_feed_to_c 24", "pressure_switch_out_to_c 24", "limit_contact closed"]),
        ("control board", "rise 95 plate 40-70", ["temperature_rise 95 heating"]),
        ("control board", "limit opens 0v after limit, light says limit open", ["limit_contact open", "limit_out_to_c 0", "light_says limit_open"]),
        ("pressure switch", "0.9 in wc at hose with manometer, switch marked 0.6, 24v one side 0 other",
         ["draft 0.9", "pressure_switch_feed_to_c 24", "pressure_switch_out_to_c 0"]),
        ("control board", "heat terminal 0.1 v, lo-z meter, on the pin with motor connected, heating",
         ["heat_terminal_to_neutral 0.1 heating low pin load_on"]),
        ("control board", "heat terminal 0.1 v, lo-z meter, heating, both calls the same", ["heat_terminal_to_neutral 0.1 heating low"] * 2),
        ("control board", "heat terminal 0.1, cool terminal 0.1, on the pin", ["heat_terminal_to_neutral 0.1", "cool_terminal_to_neutral 0.1 pin"]),
        ("control board", "flame on 2 min", ["flame_seen yes"]),
        ("control board", "24v sec reads 13", ["secondary_volts_at_leads 13"]),
        ("control board", "igniter glows 3 tries", ["igniter_glows yes"]),
        ("control board", "fan terminal 119 with G jumped", ["fan_terminal_to_neutral 119 fan_call"]),
    ],
)  # fmt: skip
def test_the_standard_words_of_shops_are_read(claim_of: Callable[..., Claim], part: str, text: str, expected: list[str]) -> None:
    """Common practice, no source."""
    claim = claim_of(text, part)

    shown = [(r.name, r.word if r.word is not None else f"{r.number:g}", r.step, r.meter, r.contact, *r.set_up) for r in claim.report.records]
    assert [" ".join(filter(None, fields)) for fields in shown] == expected
    assert claim.unmatched == ()


@pytest.mark.parametrize("text", ["3.5 at gas valve", "0 at gas valve", "24.8 at mv", "25 at valve", "24v one side, 0 other", "120 volts to ground"])
def test_what_may_be_a_pressure_or_at_another_place_is_not_taken_for_volts(claim_of: Callable[..., Claim], text: str) -> None:
    claim = claim_of(text)

    assert told(claim) == []
    assert len(claim.unmatched) == 1


@pytest.mark.parametrize("text", ["w to c 25, heating, no inducer", "heat terminal 0.1 low, high meter", "heat terminal 0.1, held, no blower"])
def test_a_clause_that_may_tell_of_the_next_or_that_tells_it_otherwise_is_not_taken_for_the_last(claim_of: Callable[..., Claim], text: str) -> None:
    assert text.split(", ")[1] in claim_of(text).unmatched[0].message


@pytest.mark.parametrize(
    "text",
    ["flame 0.3 ua, replaced board capacitor", "flame 0.3 ua. Replaced board and cleaned sensor, now 3.8 ua", "flame 0.3 ua. replaced board flame rod"],
)
def test_a_new_part_and_another_beside_it_leave_nothing_unread(claim_of: Callable[..., Claim], text: str) -> None:
    """What was put in tells nothing of the fault, nor does what was read after it. Common practice, no source."""
    claim = claim_of(text)

    assert [(name, value) for name, value, _ in told(claim)] == [("flame_current", 0.3)]
    assert claim.unmatched == ()


@pytest.mark.parametrize("text", ["flame 0.3 ua. replaced board wiring loose", "flame 0.3 ua. replaced board igniter cracked"])
def test_what_is_said_beside_a_new_part_is_not_lost(claim_of: Callable[..., Claim], text: str) -> None:
    claim = claim_of(text)

    assert len(told(claim)) + len(claim.unmatched) == 2


def test_a_reading_without_its_place_is_where_the_one_after_it_is(claim_of: Callable[..., Claim]) -> None:
    """Common practice, no source: what is read at one place is told in one breath."""
    claim = claim_of("120 hot to gnd, 60v hot to neutral at board")

    assert [(name, value) for name, value, _ in told(claim)] == [("line_to_chassis_at_board", 120), ("line_to_neutral_at_board", 60)]
    assert [note.message for note in claim.notes] == ["120 hot to gnd is read as line_to_chassis_at_board: 120."]
    assert told(claim_of("120 hot to gnd, inducer hums")) == [("inducer_runs", "hums", None)]


def test_a_short_that_was_found_is_asked_for_in_ohms(claim_of: Callable[..., Claim]) -> None:
    (problem,) = claim_of("3A fuse blown, found r shorted to c in stat cable").unmatched

    assert "thermostat cable R to C ohms" in problem.fix


@pytest.mark.parametrize("text", ["120 volts to blower", "120v to igniter", "24 volts to gas valve", "24 to gas valve"])
def test_live_volts_to_a_part_may_have_been_fed_to_it(claim_of: Callable[..., Claim], text: str) -> None:
    """By a cord or a jumper, as "120 to the motor, runs" mostly tells. Common practice, no source."""
    assert told(claim_of(text)) == []


@pytest.mark.parametrize(
    ("text", "names"),
    [
        ("fan terminal 119 with G jumped, heat terminal 0", ["fan_terminal_to_neutral"]),  # 0 as well with G jumped
        ("flame on 5 sec, then out", []),
        ("heat terminal 118, running", ["heat_terminal_to_neutral"]),
    ],
)
def test_what_may_be_of_another_time_or_thing_stays_unread(claim_of: Callable[..., Claim], text: str, names: list[str]) -> None:
    claim = claim_of(text)

    assert [name for name, *_ in told(claim)] == names
    assert len(claim.unmatched) == 1


def test_a_motor_on_a_bench_is_none_in_a_furnace(read: Read, reader: Reader) -> None:
    assert told(of_complaint(read, reader, "control board", "blower wont run", "motor hums on bench")) == [("blower_runs", "no", None)]


@pytest.mark.parametrize(
    ("text", "name", "value"),
    [
        ("w live 18v stat wires off", "w_to_c_at_board", 18.0),
        ("w still live 18v with stat wires off", "w_to_c_at_board", 18.0),
        ("heat terminal live 120 at standby", "heat_terminal_to_neutral", 120.0),
        ("heat terminal dead 0 at heating", "heat_terminal_to_neutral", 0.0),
        ("inducer pin energized 121 at standby", "inducer_pin_to_neutral", 121.0),
    ],
)
def test_live_or_dead_beside_volts_is_no_more_than_their_figure(claim_of: Callable[..., Claim], text: str, name: str, value: float) -> None:
    """Common practice, no source."""
    claim = claim_of(text)

    assert [t[:2] for t in told(claim)] == [(name, value)]
    assert claim.unmatched == ()


@pytest.mark.parametrize(
    "text", ["w live 0v", "w dead 25v", "heat terminal dead 120 at heating", "blower motor still hot 120", "motor dead 120 at heat terminal"]
)
def test_live_beside_nothing_or_dead_beside_volts_is_not_read(claim_of: Callable[..., Claim], text: str) -> None:
    claim = claim_of(text)

    assert (told(claim), len(claim.untold)) == ([], 1)


@pytest.mark.parametrize(
    "text",
    [
        "3 amp fuse pops every time i put 1 in with everything off the board",
        "fuse pops every time i put one in with all wires off",
        "fuse blows again with everything off the board",
        "new fuse pops with everything unplugged",
        "3a fuse blows with all leads off",
    ],
)
def test_a_fuse_that_blows_with_all_off_the_board_is_that_trial(claim_of: Callable[..., Claim], text: str) -> None:
    """Common practice, no source."""
    assert told(claim_of(text)) == [("lead_that_blows_fuse", "with_all_off", None)]


def test_a_fuse_that_blows_each_time_one_is_put_in_blows_again(claim_of: Callable[..., Claim]) -> None:
    assert told(claim_of("fuse blows every time i put a new one in")) == [("fuse_blows_again", "yes", None)]


@pytest.mark.parametrize(
    "text",
    [
        "fuse pops with everything off",  # what is switched off, it may be
        "fuse pops with everything off the board but the stat wires",
        "fuse pops with everything off the board except valve",
        "fuse does not pop with everything off the board",
        "fuse holds with everything off the board",
        "fuse blew with power off",
    ],
)
def test_a_fuse_that_blows_with_something_on_or_not_at_all_is_not_that(claim_of: Callable[..., Claim], text: str) -> None:
    claim = claim_of(text)

    assert (told(claim), len(claim.untold)) == ([], 1)


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ("new motor last week, no blower, 120 at heat terminal", "control board"),
        ("motor swapped last week, no blower, 120 at heat terminal", "control board"),
        ("new roof last month, no blower, 120 at heat terminal", "control board"),
        ("replaced motor and cap 3/12, no blower, 120 at heat terminal", "control board"),
    ],
)
def test_what_was_renewed_some_day_before_takes_nothing_along(claim_of: Callable[..., Claim], text: str, part: str) -> None:
    claim = claim_of(text, part)

    assert told(claim) == [("blower_runs", "no", None), ("heat_terminal_to_neutral", 120.0, None)]
    assert [p.message for p in claim.unmatched] == [f"{text.partition(',')[0]} is not read."]


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ("new motor last week, no blower", "blower motor"),  # it may be what is claimed
        ("new motor last week, no inducer", "inducer motor"),
        ("new motor just now, no blower", "control board"),
        ("put new motor in last week, works now, no blower", "control board"),
        ("new motor and jumped limit last week, no blower", "control board"),
        ("jumped limit last week, no blower", "control board"),
    ],
)
def test_what_may_be_the_repair_claimed_or_was_done_otherwise_does(claim_of: Callable[..., Claim], text: str, part: str) -> None:
    assert told(claim_of(text, part)) == []


@pytest.mark.parametrize("text", ["installed new stat 2 weeks ago, 0 at w", "homeowner put in new stat 2 wks ago, 0 at w"])
def test_a_thing_that_was_put_in_some_day_before_is_that_event(claim_of: Callable[..., Claim], text: str) -> None:
    assert [t[:2] for t in told(claim_of(text))] == [("new_thermostat", "yes"), ("w_to_c_at_board", 0.0)]
    assert told(claim_of(text, "thermostat")) == []


@pytest.mark.parametrize(
    ("complaint", "name"),
    [
        ("board swaped last wk no change", "control_board"),
        ("no heat. swapped board last week, same thing", "control_board"),
        ("inducer motor replaced 2 weeks ago, same", "inducer"),
        ("cleaned flame sensor yesterday no help", "flame_rod"),
    ],
)
def test_the_day_of_an_earlier_repair_hides_it_from_no_complaint(read: Read, reader: Reader, complaint: str, name: str) -> None:
    ((raw,), _) = read(f'claim,part,complaint\nA1,control board,"{complaint}"\n')
    claim = reader.understood(raw)

    assert [(r.name, r.source) for r in claim.report.records if r.kind == "history"] == [(name, "told")]
    assert claim.unheard == ()


@pytest.mark.parametrize(
    ("text", "name", "value", "step"),
    [
        ("ps 24 across it", "across_pressure_switch", 24.0, None),
        ("limit has 24 v across it", "across_limit", 24.0, None),
        ("limit 24v across it", "across_limit", 24.0, None),
        ("pressure switch 24 v across it at calling", "across_pressure_switch", 24.0, "call"),
        ("heat terminal 118 w no call pin lo z", "heat_terminal_to_neutral", 118.0, "standby"),
        ("0 at inducer pin on a call meter on lowZ with motor plugged in", "inducer_pin_to_neutral", 0.0, "call"),
        ("inducer pin 0 on a call with a low z meter", "inducer_pin_to_neutral", 0.0, "call"),
        ("0 at ind pin to neutral on a call meter on lowZ with motor plugged in", "inducer_pin_to_neutral", 0.0, "call"),
        ("gas valve volts 24.8 during ign", "gas_valve_volts", 24.8, "ignition_trial"),  # and not the igniter's warm-up, where that would be the board
        ("gas pin to c 24.9 at ign pin low z", "gas_pin_to_c", 24.9, "ignition_trial"),
        ("120 at ign plug", "igniter_volts_at_plug", 120.0, None),
        ("igniter 120 across it", "igniter_volts_at_plug", 120.0, None),  # between its two wires, wherever the leads touch them
    ],
)
def test_how_it_was_read_is_told_in_short(claim_of: Callable[..., Claim], text: str, name: str, value: float, step: str | None) -> None:
    """Common practice, no source."""
    assert told(claim_of(text)) == [(name, value, step)]


@pytest.mark.parametrize("text", ["burners 120 across it", "24 across it"])
def test_across_what_has_no_such_point_or_no_name_is_not_read(claim_of: Callable[..., Claim], text: str) -> None:
    assert told(claim_of(text)) == []


def test_a_w_where_a_figure_is_read_is_the_terminal(claim_of: Callable[..., Claim]) -> None:
    assert told(claim_of("24.6 at w stat unhooked")) == []
    assert told(claim_of("0 at w stat calling")) == [("w_to_c_at_board", 0.0, "call")]


def test_low_z_is_taken_with_the_word_meter_behind_or_before_it(claim_of: Callable[..., Claim]) -> None:
    for how in ("meter on lowz", "meter set to low imp", "with a low impedance meter", "on low z mode"):
        (record,) = claim_of(f"inducer pin 0 on a call {how}").report.records
        assert record.meter == "low", how


@pytest.mark.parametrize(("complaint", "name"), [("no heat blower dont come on", "blower_runs"), ("inducer dont run", "inducer_runs")])
def test_dont_is_does_not_in_a_complaint(read: Read, reader: Reader, complaint: str, name: str) -> None:
    ((raw,), _) = read(f'claim,part,complaint\nA1,control board,"{complaint}"\n')

    assert (name, "no") in [(r.name, r.word) for r in reader.understood(raw).report.records]


@pytest.mark.parametrize(
    "text",
    [
        "flame sensor .4 ua cleaned now 3.2",
        "sensor .4 ua cleaned now 3.2, works",
        "flame sensor 0.4 ua, cleaned it now 3.2",
        "flame sensor .4 ua. cleaned rod now 3.2",
        "flame sensor .4 ua cleaned sensor and now 2.8 ua",
    ],
)
def test_what_a_reading_became_by_cleaning_is_of_no_failure(claim_of: Callable[..., Claim], text: str) -> None:
    claim = claim_of(text, "flame sensor")

    assert told(claim) == [("flame_current", 0.4, None), ("flame_rod", "refitted_and_cured", None)]
    assert claim.unmatched == ()
    assert any("after what put the furnace right" in p.message for p in claim.notes)


@pytest.mark.parametrize("text", ["flame sensor .4 ua cleaned now .4 ua", "heat terminal 0, swapped board now 120"])
def test_what_is_no_better_or_not_of_that_part_is_told_to_be_not_read(claim_of: Callable[..., Claim], text: str) -> None:
    claim = claim_of(text)

    assert (len(told(claim)), len(claim.untold)) == (1, 1)


@pytest.mark.parametrize("state", ["unit locked out on arrival", "igniter failed", "burner scorched wires"])
def test_what_is_only_found_so_takes_nothing_along(claim_of: Callable[..., Claim], state: str) -> None:
    """Common practice, no source."""
    claim = claim_of(f"{state}, inducer runs")

    assert told(claim) == [("inducer_runs", "yes", None)]
    assert [p.message for p in claim.unmatched] == [f"{state} is not read."]


def test_a_plug_that_was_read_on_was_not_pulled(claim_of: Callable[..., Claim]) -> None:
    claim = claim_of("inducer doesnt run, 119 at plug to it, turns free by hand", "inducer")

    assert told(claim) == [("inducer_runs", "no", None), ("inducer_turns_freely", "free", None)]
    assert told(claim_of("put 120 at plug, inducer runs", "inducer")) == []


@pytest.mark.parametrize("deed", ["locked the wheel", "failed limit replaced"])
def test_what_was_done_in_such_words_does(claim_of: Callable[..., Claim], deed: str) -> None:
    assert told(claim_of(f"{deed}, inducer runs")) == []


@pytest.mark.parametrize("text", ["blower hums, spun it by hand and it takes off", "blower hums. spun it by hand, takes off"])
def test_a_motor_that_was_spun_by_hand_and_takes_off_is_that_trial(claim_of: Callable[..., Claim], text: str) -> None:
    assert told(claim_of(text)) == [("blower_runs", "hums", None), ("blower_starts_when_spun", "yes", None)]
    assert [t[0] for t in told(claim_of(text.replace("blower", "inducer")))] == ["inducer_runs"]


def test_the_secondary_and_the_blowers_capacitor_are_known_in_short(claim_of: Callable[..., Claim]) -> None:
    """Common practice, no source."""
    assert told(claim_of("120 at prim, 0 at the sec")) == [("primary_volts", 120.0, None), ("secondary_volts_at_leads", 0.0, None)]
    assert told(claim_of("pull 1.2 inches at ps")) == [("draft", 1.2, "inducer_start")]
    assert told(claim_of("fs 0.0 ua")) == [("flame_current", 0.0, None)]
    assert told(claim_of("igniter ohm out at OL")) == [("igniter_ohms", float("inf"), "power_off")]
    assert told(claim_of("ckt bd has no lite")) == [("light", "dark", None)]
    assert told(claim_of("blower cap bulged")) == [("capacitor_looks", "bulged_or_oily", None)]


@pytest.mark.parametrize("text", ["inducer pin 120 and plug 0", "inducer pin 120v, plug 0v", "inducer pin 120 plug 0"])
def test_the_pin_and_the_plug_of_one_thing_are_two_readings(claim_of: Callable[..., Claim], text: str) -> None:
    """A board that gives 120 V where its load gets none is a good one: common practice, no source."""
    assert told(claim_of(text)) == [("inducer_pin_to_neutral", 120.0, None), ("inducer_volts_at_motor", 0.0, None)]


@pytest.mark.parametrize("text", ["24 both sides of ps", "24v on both sides of the pressure switch"])
def test_both_sides_may_stand_first(claim_of: Callable[..., Claim], text: str) -> None:
    assert told(claim_of(text)) == [("pressure_switch_feed_to_c", 24.0, None), ("pressure_switch_out_to_c", 24.0, None)]


def test_two_calls_the_same_are_both(claim_of: Callable[..., Claim]) -> None:
    claim = claim_of("inducer on, no glow. two calls same")

    assert [(r.name, r.call) for r in claim.report.records] == [("inducer_runs", 1), ("igniter_glows", 1), ("inducer_runs", 2), ("igniter_glows", 2)]


def test_a_limit_that_is_open_cold_is_open_when_cold(claim_of: Callable[..., Claim]) -> None:
    assert told(claim_of("limit open cold", "limit switch")) == [("limit_when_cold", "open", None)]


@pytest.mark.parametrize(
    ("text", "part", "wanted"),
    [
        ("0.6ua", "flame sensor", [("flame_current", 0.6)]),
        ("0.6ua. new sensor 4.2ua", "flame sensor", [("flame_current", 0.6)]),
        ("flame sense .4 ua. cleaned rod 3.6 ua ok now", "control board", [("flame_current", 0.4)]),
        ("lights 5 sec and drops out x3", "control board", [("burners_light", "drop_out")]),
        ("had 119 at board inducer pin w/ call for heat, 0 at the motor", "board", [("inducer_pin_to_neutral", 119.0), ("inducer_volts_at_motor", 0.0)]),
        ("120 v in at bd, 0 v out at ignitor plug on board low z", "control board", [("line_to_neutral_at_board", 120.0), ("igniter_pin_to_neutral", 0.0)]),
        ("motor hums, spun it by hand n it runs", "blower motor", [("blower_runs", "hums"), ("blower_starts_when_spun", "yes")]),
        (
            "inducer screaming, seized up now, 120 at motor plug",
            "inducer",
            [("inducer_noise", "noisy"), ("inducer_turns_freely", "stiff"), ("inducer_volts_at_motor", 120.0)],
        ),
        ("120 in 0 out", "transformer", [("primary_volts", 120.0), ("secondary_volts_at_leads", 0.0)]),
        ("120 in to xfmr, 0 out", "transformer", [("primary_volts", 120.0), ("secondary_volts_at_leads", 0.0)]),
        ("24v at valve no click no gas", "gas valve", [("gas_valve_volts", 24.0), ("gas_valve_clicks", "no"), ("burners_light", "no")]),
        ("24 to it", "gas valve", [("gas_valve_volts", 24.0)]),
        ("nothing at W w stat calling", "thermostat", [("w_to_c_at_board", 0.0)]),
        ("120 at heat tap 120 at cool tap", "control board", [("heat_terminal_to_neutral", 120.0), ("cool_terminal_to_neutral", 120.0)]),
        ("lightning took out the board, no 24v r to c", "control board", [("storm_or_outage", "yes"), ("r_to_c_at_board", 0.0)]),
    ],
)
def test_what_a_hurried_shop_writes_is_read(claim_of: Callable[..., Claim], text: str, part: str, wanted: list[tuple[str, object]]) -> None:
    claim = claim_of(text, part)

    assert [t[:2] for t in told(claim)] == wanted
    assert claim.unmatched == ()


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ("2.1 a", "blower motor"),  # amps are read of several
        ("24 to it", "control board"),
        ("seized up now", "control board"),
        ("0 out", "transformer"),  # nothing was told to go in
        ("0 at the motor", "control board"),
        ("new sensor 4.2ua", "flame sensor"),  # and nothing before it
    ],
)
def test_what_may_be_of_another_thing_is_left(claim_of: Callable[..., Claim], text: str, part: str) -> None:
    assert told(claim_of(text, part)) == []


@pytest.mark.parametrize(
    ("text", "step"),
    [("gas pin 24.5 at ign", "ignition_trial"), ("igniter pin 119 at ign warmup", "igniter_warm_up"), ("igniter pin 119 at igniter", "igniter_warm_up")],
)
def test_ign_as_a_step_is_the_ignition(claim_of: Callable[..., Claim], text: str, step: str) -> None:
    assert [t[2] for t in told(claim_of(text))] == [step]


def test_ign_is_the_ignition_at_the_prompt_and_in_a_column_too(read: Read, reader: Reader, knowledge: Knowledge) -> None:
    """The same words of the rules."""
    typed = LineReader(Vocabulary(knowledge)).understood("gas pin 24.5 at ign")
    ((raw,), _) = read("claim,gas pin to c at ign\nA1,24.5\n")

    assert getattr(typed, "record", {}).get("step") == "ignition_trial"
    assert [t[2] for t in told(reader.understood(raw))] == ["ignition_trial"]


@pytest.mark.parametrize(
    "text",
    [
        "gas pin to c 0.1 at ignition trial low pin max load on",
        "gas pin to c: 0.1 at ignition trial",
        "on the 2nd call: gas pin to c 0.1 at ignition trial low",
    ],
)
def test_what_is_told_behind_its_call_is_read_as_without_it(text: str, claim_of: Callable[..., Claim]) -> None:
    """By sense: the same words are read in both places."""
    alone = text.removeprefix("on the 2nd call: ")
    (record,) = claim_of(alone).report.records
    (second,) = claim_of(text if text != alone else f"call 2: {text}").report.records

    assert (record.name, record.number, record.step) == ("gas_pin_to_c", 0.1, "ignition_trial")
    assert (second.name, second.number, second.step, second.meter, second.hold, second.call) == (record.name, 0.1, record.step, record.meter, record.hold, 2)


@pytest.mark.parametrize("text", ["no fire", "valve clicks no fire", "glows. no fire. cock was shut", "inducer runs, glows, no fire"])
def test_no_fire_is_of_the_burners(text: str, claim_of: Callable[..., Claim]) -> None:
    """Common practice, no source; nobody was asked whether anything smokes or burns."""
    found = told(claim_of(text, "gas valve"))

    assert ("burners_light", "no", None) in found
    assert "smoke_or_fire" not in {name for name, _, _ in found}


PLAIN_WORDS = [
    ("control board", "0 v at mv on board pin low z all thru trial", [("gas_pin_to_c", 0.0, "ignition_trial")]),
    (
        "pressure switch",
        "draft 1.1 at switch set .6, 24 in 0 out",
        [("draft", 1.1, None), ("pressure_switch_feed_to_c", 24.0, None), ("pressure_switch_out_to_c", 0.0, None)],
    ),
    ("pressure switch", "ps bad, water ran out of hose when I pulled it", [("water_in_hose", "yes", None)]),
    ("inducer", "inducer noisy", [("inducer_noise", "noisy", None)]),
    ("inducer", "120 at motor, 0 amps", [("inducer_volts_at_motor", 120.0, None), ("inducer_amps", 0.0, None)]),
    ("blower motor", "bearings siezed, amps 12", [("blower_turns_freely", "stiff", None), ("blower_amps", 12.0, None)]),
    ("blower motor", "wont spin by hand", [("blower_turns_freely", "stiff", None)]),
    ("limit", "limit opens 2 min in, rise 95", [("limit_contact", "open", None), ("temperature_rise", 95.0, "heating")]),
    (
        "limit switch",
        "limit OL cold, 24 in 0 out",
        [("limit_when_cold", "open", None), ("limit_feed_to_c", 24.0, None), ("limit_out_to_c", 0.0, None)],
    ),
    ("transformer", "120 in 0 out secondary", [("primary_volts", 120.0, None), ("secondary_volts_at_leads", 0.0, None)]),
    ("control board", "ls closed", [("limit_contact", "closed", None)]),
    ("control board", "no 120 out at heat", [("heat_terminal_to_neutral", 0.0, None)]),
    ("control board", "fuse kept blowing", [("fuse_blows_again", "yes", None)]),
    ("control board", "replaced board. same prob", [("control_board", "replaced_no_change", None)]),
    (
        "gas valve",
        "24 at mv no gas 7 in inlet",
        [("gas_valve_volts", 24.0, None), ("burners_light", "no", None), ("inlet_pressure", 7.0, None)],
    ),
    ("igniter", "cracked ignitor, was glowing when I got there", [("igniter_looks", "broken", None), ("igniter_glows", "yes", None)]),
]


@pytest.mark.parametrize(("part", "text", "records"), PLAIN_WORDS)
def test_plain_words_of_shops_are_read(part: str, text: str, records: list[tuple[str, object, str | None]], claim_of: Callable[..., Claim]) -> None:
    """Common practice, no source."""
    claim = claim_of(text, part)

    assert (told(claim), claim.unmatched) == (records, ())


@pytest.mark.parametrize(
    ("part", "text", "shown"),
    [
        ("flame rod", "flame sense .2 ua, sanded it, 3.1 now", 0.2),
        ("control board", "flame drops 3 sec, .4 microamps, rod dirty. replaced board. same prob. cleaned rod, 3.8 ua ok", 0.4),
    ],
)
def test_what_a_rod_reads_once_it_is_cleaned_is_no_reading_of_the_failure_and_cured_it(
    part: str, text: str, shown: float, claim_of: Callable[..., Claim]
) -> None:
    claim = claim_of(text, part)

    assert [r.number for r in claim.report.records if r.name == "flame_current"] == [shown]
    assert claim.unmatched == ()
    assert ("flame_rod", "refitted_and_cured", None) in told(claim)


@pytest.mark.parametrize(
    "text",
    [
        "flame sense .4 ua, cleaned rod now .4",
        "flame sense .4 ua. new rod 3.8 ua",
        "flame sense .4 ua. replaced board. cleaned rod, now 3.8",
    ],
)
def test_no_cleaning_cured_what_reads_as_before_or_is_new(text: str, claim_of: Callable[..., Claim]) -> None:
    assert "refitted_and_cured" not in {value for _, value, _ in told(claim_of(text))}


@pytest.mark.parametrize("part", ["control board", "inducer", "gas valve"])
def test_amps_of_a_motor_are_no_flame_current(part: str, claim_of: Callable[..., Claim]) -> None:
    assert "flame_current" not in {name for name, _, _ in told(claim_of("120 at motor, 0 amps", part))}


BESIDE_ITS_CLAIM = [
    ("control board", ".4 ua drops out, igniter new", [("flame_current", 0.4, None), ("burners_light", "drop_out", None)]),
    ("control board", "drops out, .4 ua", [("burners_light", "drop_out", None), ("flame_current", 0.4, None)]),
    (
        "gas valve",
        "24v at valve no click coil OL",
        [("gas_valve_volts", 24.0, None), ("gas_valve_clicks", "no", None), ("gas_valve_coil_ohms", float("inf"), None)],
    ),
    (
        "igniter",
        "igniter pin 70v dull glow 62 ohm, line 119",
        [("igniter_pin_to_neutral", 70.0, None), ("igniter_glows", "dull", None), ("igniter_ohms", 62.0, None)],
    ),
    ("igniter", "120 at plug", [("igniter_volts_at_plug", 120.0, None)]),
    ("igniter", "no glow 120v at plug 55 ohms", [("igniter_glows", "no", None), ("igniter_volts_at_plug", 120.0, None), ("igniter_ohms", 55.0, None)]),
    ("igniter", "ignitor reads open", [("igniter_ohms", float("inf"), None)]),
    ("control board", "0 v at mv on board pin. coil 45 ohms", [("gas_pin_to_c", 0.0, None), ("gas_valve_coil_ohms", 45.0, None)]),
    ("control board", "gas valve clicks, coil 45 ohms", [("gas_valve_clicks", "yes", None), ("gas_valve_coil_ohms", 45.0, None)]),
]


@pytest.mark.parametrize(("part", "text", "records"), BESIDE_ITS_CLAIM)
def test_what_a_terse_row_leaves_out_is_of_what_stands_beside_it(
    part: str, text: str, records: list[tuple[str, object, str | None]], claim_of: Callable[..., Claim]
) -> None:
    """What the part claimed, the clause beside it and the unit leave as the only thing that it can be. Common practice, no source."""
    assert [(name, value) for name, value, _ in told(claim_of(text, part))] == [(name, value) for name, value, _ in records]


@pytest.mark.parametrize(
    ("part", "text"),
    [
        ("control board", "coil 45 ohms"),
        ("control board", "contactor chatters, gas valve clicks, coil 45 ohms"),
        ("igniter", "inducer runs 62 ohm"),
        ("igniter", "line 119"),
        ("control board", "valve 25v"),
        ("control board", "120 at plug"),
        ("inducer", "igniter glows, 120 at plug"),
        ("igniter", "inducer runs. 120 at plug"),
        ("pressure switch", "door switch open, switch wont make"),
        ("control board", "inducer drops out"),
    ],
)
def test_what_may_be_of_two_things_is_asked_for(part: str, text: str, claim_of: Callable[..., Claim]) -> None:
    claim = claim_of(text, part)

    assert not [r for r in claim.report.records if r.number is not None]
    assert claim.unmatched


@pytest.mark.parametrize(
    ("part", "text", "records"),
    [
        ("gas valve", "24 at mv no gas 7 in inlet. put valve in, lights", ["gas_valve_volts", "burners_light", "inlet_pressure"]),
        ("limit switch", "limit OL cold. new limit runs ok", ["limit_when_cold"]),
        ("blower motor", "motor hums wont start. motor replaced", ["blower_runs"]),
        ("inducer", "put inducer in, runs", []),
        ("pressure switch", "24 in 0 out at inducer start", ["pressure_switch_feed_to_c", "pressure_switch_out_to_c"]),
        ("limit switch", "limit reads open", ["limit_contact"]),
        ("flame rod", "lights then drops out after 5 sec", ["flame_goes_out"]),
    ],
)
def test_a_new_part_that_works_is_a_remark_and_what_is_plain_is_read(part: str, text: str, records: list[str], claim_of: Callable[..., Claim]) -> None:
    """Common practice, no source."""
    claim = claim_of(text, part)

    assert ([name for name, _, _ in told(claim)], claim.unmatched) == (records, ())


@pytest.mark.parametrize("text", ["put board in, dead", "put 120 to valve, lights", "put valve in, no gas"])
def test_what_is_no_working_part_stays_told(text: str, claim_of: Callable[..., Claim]) -> None:
    assert claim_of(text, "gas valve").unmatched or told(claim_of(text, "gas valve"))


OF_ITS_PART = [
    ("inducer", "120 at ind, wont spin, free by hand", [("inducer_volts_at_motor", 120.0), ("inducer_runs", "no"), ("inducer_turns_freely", "free")]),
    ("ignitor", "ign ohmed out at 68, 119 at plug, no glow", [("igniter_ohms", 68.0), ("igniter_volts_at_plug", 119.0), ("igniter_glows", "no")]),
    ("gas valve", "25v to gv, no click", [("gas_valve_volts", 25.0), ("gas_valve_clicks", "no")]),
    ("pressure switch", "inducer runs, switch wont make", [("inducer_runs", "yes"), ("pressure_switch_contact", "open")]),
    ("pressure switch", "inducer runs, switch wont close", [("inducer_runs", "yes"), ("pressure_switch_contact", "open")]),
    ("pressure switch", "0.9 wc", [("draft", 0.9)]),
    ("blower motor", "blower dead, 121 at heat speed, 0 amps", [("blower_runs", "no"), ("heat_terminal_to_neutral", 121.0), ("blower_amps", 0.0)]),
    ("blower motor", "drawing 9.2a", [("blower_amps", 9.2)]),
    ("blower capacitor", "cap 3.1 / 10", [("capacitor_microfarads", 3.1), ("capacitor_against_mark", "outside")]),
    ("thermostat", "blank screen", [("thermostat_display", "blank")]),
    ("control board", "xfmr 0 out", [("secondary_volts_at_leads", 0.0)]),
    ("control board", "fan runs w stat wires off, replaced brd fixed", [("blower_runs", "yes")]),
    ("control board", "no fault found, changed board just in case", []),
]


@pytest.mark.parametrize(("part", "text", "records"), OF_ITS_PART)
def test_what_is_told_without_its_name_is_of_the_part_claimed(
    part: str, text: str, records: list[tuple[str, object]], claim_of: Callable[..., Claim]
) -> None:
    """Common practice, no source."""
    claim = claim_of(text, part)

    assert ([(name, value) for name, value, _ in told(claim)], claim.unmatched) == (records, ())


@pytest.mark.parametrize(
    ("part", "text"),
    [
        ("gas valve", "7 wc"),
        ("control board", "0.9 wc"),
        ("control board", "blank screen"),
        ("inducer", "120 to inducer, runs"),
        ("control board", "wont spin"),
    ],
)
def test_a_unit_is_no_name_and_what_may_be_fed_is_no_reading(part: str, text: str, claim_of: Callable[..., Claim]) -> None:
    claim = claim_of(text, part)

    assert (told(claim), len(claim.unmatched)) == ([], 1)


@pytest.mark.parametrize(
    ("part", "text", "said"),
    [
        ("control board", "ind runs, ps makes, no glow", [("inducer_runs", "yes"), ("pressure_switch_contact", "closed"), ("igniter_glows", "no")]),
        ("control board", "limit makes", [("limit_contact", "closed")]),
        ("control board", "ps open w/ inducer running", [("pressure_switch_contact", "open"), ("inducer_runs", "yes")]),
        ("control board", "ps open w/ inducer running, draft .38 in wc", [("pressure_switch_contact", "open"), ("inducer_runs", "yes"), ("draft", 0.38)]),
        ("control board", "flame signal 4.2 uA steady", [("flame_current", 4.2)]),
        ("control board", "w to c 26 steady", [("w_to_c_at_board", 26.0)]),
        ("control board", "inducer hums 120 at motor", [("inducer_runs", "hums"), ("inducer_volts_at_motor", 120.0)]),
        ("inducer motor", "indcr hums and gets hot, 119 at its plug", [("inducer_runs", "hums"), ("inducer_volts_at_motor", 119.0)]),
        ("control board", "flame signal .3 ua. cleaned rod now 3.9, ran 3 cycles no problem", [("flame_current", 0.3), ("flame_rod", "refitted_and_cured")]),
        ("control board", "cleaned rod now 3.8 runs ok", [("flame_rod", "refitted_and_cured")]),
        ("control board", "inducer hums. motor seized", [("inducer_runs", "hums"), ("inducer_turns_freely", "stiff")]),
        ("control board", "blower motor locked up", [("blower_turns_freely", "stiff")]),
        ("control board", "L to N at bd 119", [("line_to_neutral_at_board", 119.0)]),
        ("control board", "batteries dead in stat", [("thermostat_batteries", "dead")]),
        ("control board", "plug pins corroded", [("plug_burnt_or_corroded", "yes")]),
        ("control board", "brkr tripped", [("breaker_position", "tripped")]),
        ("control board", "pulled and reseated every plug, no change", [("plugs_refitted", "still_the_same")]),
        ("control board", "limit 24 in 0 out when it quits", [("limit_feed_to_c", 24.0), ("limit_out_to_c", 0.0)]),
        ("control board", "pulled hose off and water poured out", [("water_in_hose", "yes")]),
    ],
)
def test_a_terse_clause_keeps_no_claim_undecided(claim_of: Callable[..., Claim], part: str, text: str, said: list[tuple[str, object]]) -> None:
    claim = claim_of(text, part)

    assert [t[:2] for t in told(claim)] == said
    assert claim.unmatched == ()


def test_a_motor_without_its_name_is_the_one_that_a_boards_complaint_names(read: Read, reader: Reader) -> None:
    ((raw,), _) = read('claim,part,complaint,readings\nA1,control board,no blower,"heat tap 118 v on pin, 118 at motor plug, motor locked up"\n')

    assert ("blower_turns_freely", "stiff", None) in told(reader.understood(raw))


@pytest.mark.parametrize(
    ("part", "complaint", "text", "unread"),
    [
        ("control board", "no heat", "motor locked up", "motor locked up"),  # of either
        ("control board", "no blower", "inducer hums, motor seized", "motor seized"),
        ("control board", "no heat", "inducer runs, blower hums, 120 at motor", "120 at motor"),
        ("inducer", "no heat", "blower motor tested. motor hums", "motor hums"),
        ("igniter", "no heat", "inducer runs, 120 at its plug", "120 at its plug"),  # the inducer's
        ("control board", "no heat", "inducer hums 120", "inducer hums 120"),
        ("control board", "no heat", "pulled hose off and water poured out on the board", "pulled hose off and water poured out on the board"),
        ("control board", "no heat", "plug off and on no change", "plug off and on no change"),  # one of them
    ],
)
def test_a_terse_clause_that_may_be_of_another_thing_is_not_guessed(part: str, complaint: str, text: str, unread: str, read: Read, reader: Reader) -> None:
    ((raw,), _) = read(f'claim,part,complaint,readings\nA1,{part},{complaint},"{text}"\n')

    assert any(f"{unread} is not read" in p.message for p in reader.understood(raw).unmatched)
