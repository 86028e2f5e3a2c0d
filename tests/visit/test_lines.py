"""One line at the prompt: names, values and how a reading was taken, as people type them."""

from __future__ import annotations

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from furnace_diag.cli.visit_commands import COMMANDS
from furnace_diag.diagnosis.one_record import record_of
from furnace_diag.diagnosis.vocabulary import Vocabulary
from furnace_diag.knowledge.spelling import plain
from furnace_diag.problems import BadInput, Place
from furnace_diag.quantities import UNITS
from furnace_diag.visit.how_taken import HowTaken
from furnace_diag.visit.lines import Reader
from furnace_diag.visit.typed import Typed, Unclear
from tests.ours import our_rules

KNOWLEDGE = our_rules()
VOCABULARY = Vocabulary(KNOWLEDGE)
READER = Reader(VOCABULARY)
HOW = {
    "low": {"meter": "low"}, "lo z": {"meter": "low"}, "pin": {"contact": "pin"}, "at heating": {"step": "heating"}, "standby": {"step": "standby"},
    "call 2": {"call": "2"}, "after 40 s": {"after_s": "40"}, "after 1:30": {"after_s": "90"}, "load on": {"set_up": ["load_on"]},
    "max": {"hold": "max"}, "told": {"source": "told"},
}  # fmt: skip
PIECES = ["heat", "blower", "low", "at", "24v", "no", "0", ":", "call", "pin", "-", "é", "\x1b[2J", "after"]


def read(line: str) -> dict[str, object]:
    typed = READER.read(line)
    assert isinstance(typed, Typed), typed
    return dict(typed.record)


@pytest.mark.parametrize("name", sorted(KNOWLEDGE.point))
def test_every_point_is_understood_by_its_id_and_its_other_names_with_a_value(name: str) -> None:
    point = KNOWLEDGE.point[name]
    value = UNITS[point.unit].example.split(",")[0]
    for called in (name, name.replace("_", " "), *point.also_called):
        typed = READER.read(f"{called} {value}")
        found = [typed] if isinstance(typed, Typed) else list(typed.choices)
        assert any(t.record.get("point") == name and t.record["value"] == value for t in found), called
        assert isinstance(typed, Typed) or called not in (name, name.replace("_", " "))


@pytest.mark.parametrize("name", sorted(KNOWLEDGE.sign))
def test_every_sign_is_understood_with_each_of_its_values(name: str) -> None:
    for value in KNOWLEDGE.sign[name].values:
        record = read(f"{name.replace('_', ' ')}: {value.replace('_', ' ')}")
        made = record_of(record, Place("line", 1, 1), VOCABULARY)
        assert (made.name, made.word) == (name, value)


@pytest.mark.parametrize(
    ("line", "sign", "value"),
    [
        ("igniter cracked", "igniter_looks", "broken"),
        ("ignitor glows then goes out", "igniter_goes_dark", "yes"),
        ("inducer starts and stops", "inducer_cuts_out", "yes"),
        ("inducer hot to the touch", "inducer_motor_hot", "too_hot_to_hold"),
        ("draft motor humming but not spinning", "inducer_runs", "hums"),
        ("blower runs all the time", "blower_always_on", "yes"),
        ("flame lazy yellow", "flame_color", "yellow_and_lazy"),
        ("hose water in it", "water_in_hose", "yes"),
        ("pressure switch bouncing", "pressure_switch_chatters", "yes"),
        ("transformer humming", "transformer_hums", "yes"),
        ("relay chattering", "rapid_clicking", "yes"),
        ("board burnt spot", "board_scorched", "yes"),
        ("gas valve no click", "gas_valve_clicks", "no"),
        ("breaker trips on heat", "breaker_trips_again", "on_heat_call"),
    ],
)
def test_of_several_things_of_one_name_the_value_tells_which(line: str, sign: str, value: str) -> None:
    record = read(line)

    assert (record["sign"], READER.value_of(sign, str(record["value"]))) == (sign, value)
    assert "step" not in record


@pytest.mark.parametrize(
    ("line", "names"),
    [
        ("24v 25.1", {"secondary_volts_at_board", "r_to_c_at_board", "w_to_c_at_board"}),
        ("hot to ground 119", {"line_to_chassis_at_board", "line_to_chassis_at_junction_box"}),
        ("motor too hot to touch", {"blower_motor_hot", "inducer_motor_hot"}),
        ("noise squealing", {"blower_noise", "inducer_noise"}),
        ("thermostat calling", set()),  # what it shows, or what arrives at the board
        ("gas valve no", {"gas_valve_clicks", "gas_valve_passes_gas", "gas_valve_live_without_call"}),
        ("relay clicks", {"rapid_clicking", "inducer_relay_clicks", "blower_relay_clicks"}),
    ],
)
def test_what_could_be_several_things_is_asked_or_refused(line: str, names: set[str]) -> None:
    try:
        typed = READER.read(line)
    except BadInput as bad:
        assert not names
        assert bad.problems[0].fix
    else:
        assert isinstance(typed, Unclear)
        assert {str(t.record.get("point", t.record.get("sign"))) for t in typed.choices} == names


@settings(deadline=None, max_examples=60)
@given(name=st.sampled_from(sorted(KNOWLEDGE.point)), how=st.lists(st.sampled_from(sorted(HOW)), max_size=3, unique_by=lambda h: next(iter(HOW[h]))))
def test_how_a_reading_was_taken_may_follow_in_any_order(name: str, how: list[str]) -> None:
    assume(not KNOWLEDGE.point[name].apart or not any("set_up" in HOW[h] for h in how))  # its leads off is what it means, and with them on it is another
    value = UNITS[KNOWLEDGE.point[name].unit].example.split(",")[0]
    wanted: dict[str, object] = {"point": name, "value": value}
    for h in how:
        wanted |= HOW[h]
    assert read(f"{name} {value} {' '.join(how)}") == wanted


@settings(deadline=None, max_examples=50)
@given(line=st.text(max_size=60) | st.lists(st.sampled_from(PIECES), max_size=9).map(" ".join))
def test_rubbish_is_refused_in_plain_words_or_read_as_what_can_be_a_record(line: str) -> None:
    try:
        typed = READER.read(line)
    except BadInput as bad:
        assert "\x1b" not in str(bad)
        assert bad.problems[0].fix
        return
    for t in [typed] if isinstance(typed, Typed) else typed.choices:
        assert record_of(t.record, Place("line", 1, 1), VOCABULARY).name


def test_what_is_said_of_a_whole_call_is_no_choice_for_a_furnace_at_rest() -> None:
    read = READER.read("after 0 no call")
    for t in [read] if isinstance(read, Typed) else read.choices:
        assert record_of(t.record, Place("line", 1, 1), VOCABULARY).name


def test_the_lines_of_a_technician() -> None:
    # common practice, no source: what somebody with one hand free types
    assert read("24v at w 25.1") == {"point": "w_to_c_at_board", "value": "25.1"}
    assert read("ign ohms OL") == {"point": "igniter_ohms", "value": "OL"}
    assert read("board no change") == {"history": "control_board", "value": "no change"}
    assert read("storm") == {"event": "storm_or_outage", "value": "yes"}
    assert read("inducer hums") == {"sign": "inducer_runs", "value": "hums"}
    assert read("no flame") == {"sign": "flame_seen", "value": "no"}
    assert read("no blower at cooling call") == {"sign": "blower_runs", "value": "no", "step": "cooling_call"}
    assert read("no power at inducer") == {"point": "inducer_volts_at_motor", "value": "nothing"}  # the inducer's, and no step
    assert read("no 24v at w") == {"point": "w_to_c_at_board", "value": "nothing"}
    assert read("volts at ign plug 119 on warmup")["point"] == "igniter_volts_at_plug"
    heat = READER.read("heat 0.2 low pin")
    assert isinstance(heat, Unclear)
    assert heat.choices[0].record == {"point": "heat_terminal_to_neutral", "value": "0.2", "meter": "low", "contact": "pin"}


@pytest.mark.parametrize(
    ("line", "record"),
    [
        ("string wire to chassis 0.6 ohm", {"point": "string_wire_to_chassis_ohms", "value": "0.6 ohm"}),
        ("thermostat cable r to c OL", {"point": "thermostat_cable_r_to_c_ohms", "value": "OL"}),
        ("blower 4.4 amps at heating", {"point": "blower_amps", "value": "4.4 amps", "step": "heating"}),
        ("fan call runs", {"sign": "blower_runs", "value": "runs", "step": "fan_call"}),
        ("fan call hums", {"sign": "blower_runs", "value": "hums", "step": "fan_call"}),
        ("clicking valve no", {"sign": "gas_valve_clicks", "value": "no"}),
        ("coil matted with dirt", {"sign": "cooling_coil_looks", "value": "matted with dirt"}),
    ],
)  # fmt: skip
def test_a_unit_a_step_or_the_words_in_another_order_tell_what_is_meant(line: str, record: dict[str, object]) -> None:
    assert read(line) == record


@pytest.mark.parametrize(("line", "names"), [
    ("inducer 119 v", {"inducer_pin_to_neutral", "inducer_volts_at_motor"}),  # at the board or at the motor: that parts them
    ("fan call nothing", {"g_to_c_at_board", "blower_on_fan_call"}), ("wheel by hand free", {"blower_turns_freely", "inducer_turns_freely"}),
])  # fmt: skip
def test_where_it_was_read_is_asked(line: str, names: set[str]) -> None:
    typed = READER.read(line)

    assert isinstance(typed, Unclear)
    assert names <= {str(t.record.get("point", t.record.get("sign"))) for t in typed.choices}


def test_no_command_hides_a_name() -> None:
    names = {w for kind in ("point", "sign", "event") for i, also in VOCABULARY.entries[kind].items() for w in (i, *also)}
    assert {n for n in names if plain(n).split()[0] in {w for w, c in COMMANDS.items() if not c.alone}} == set()
    assert not {n for n in names if plain(n) in COMMANDS}


@pytest.mark.parametrize("line", ["no", "not", "no 5", "nothing", "no no", "none yes", "x 3", "at 3", "a b 24"])
def test_a_little_word_begins_no_name(line: str) -> None:
    with pytest.raises(BadInput):
        READER.read(line)


def test_what_happened_is_told_in_a_sentence() -> None:
    assert read("had a thunderstorm last night") == {"event": "storm_or_outage", "value": "yes"}
    assert read("new board") == {"history": "control_board", "value": "new part"}
    with pytest.raises(BadInput):
        READER.read("no thunderstorm at all")


def test_cleaned_is_not_replaced_whichever_word_comes_first() -> None:
    # common practice, no source: a part that was cleaned may still be the cause, a new one hardly ever
    cleaned = ["flame rod cleaned same", "cleaned flame sensor no help", "rod cleaned, no change", "reseated the plugs no change", "plugs reseated same"]
    replaced = ["igniter replaced same", "new igniter no change", "replaced capacitor same", "board no change", "swapped board no help"]
    for lines, result in ((cleaned, "cleaned_no_change"), (replaced, "replaced_no_change")):
        for line in lines:
            made = record_of(read(line), Place("line", 1, 1), VOCABULARY)
            assert (made.kind, made.word) == ("history", result), line


@pytest.mark.parametrize("line", ["board bad says other guy", "other guy says board bad", "customer says board is bad", "bad board", "board bad"])
def test_whoever_blames_the_board_is_heard_as_told(line: str) -> None:
    made = record_of(read(line), Place("line", 1, 1), VOCABULARY)

    assert (made.name, made.word) == ("somebody_blames_board", "yes")
    assert made.source == ("told" if "says" in line else None)


@pytest.mark.parametrize(
    "line", ["pressure switch open code", "light shows pressure switch open", "pressure switch open light", "board says pressure switch open"]
)
def test_what_the_light_says_is_not_taken_for_the_contact(line: str) -> None:
    assert read(line)["sign"] == "light_says"
    asked = READER.read("pressure switch open")
    assert isinstance(asked, Unclear)
    assert [next(iter(t.record.values())) for t in asked.choices] == ["pressure_switch_contact", "light_says"]
    assert read("pressure switch open at ignition trial")["sign"] == "pressure_switch_contact"  # nobody reads a code so


@pytest.mark.parametrize(
    ("name", "text", "value"),
    [
        # 30 and 70 ppm: 2018 IRC App. D as rules/points names them; 4 s and 2 s: the checks after a repair, common practice
        ("co_in_room", "2 ppm", "under_30_ppm"), ("co_in_room", "29", "under_30_ppm"), ("co_in_room", "30 ppm", "from_30_to_70_ppm"),
        ("co_in_room", "under 9 ppm", "under_30_ppm"), ("co_in_room", "29.5", "from_30_to_70_ppm"), ("co_in_room", "70 ppm", "at_least_70_ppm"),
        ("gas_lights_within", "1 sec", "within_four_seconds"), ("gas_lights_within", "4 s", "within_four_seconds"), ("gas_lights_within", "5 sec", "longer"),
        ("gas_off_when_hose_pulled", "1 sec", "within_2_seconds"), ("flame_out_at_end_of_call", "3 s", "later"),
        ("input_against_plate", "96 %", "from_90_to_100_percent"),
        ("input_against_plate", "102 %", "over"), ("gas_detector", "20 %", "at_least_20_percent"),
    ],
)  # fmt: skip
def test_a_figure_tells_the_value_of_a_check(name: str, text: str, value: str) -> None:
    typed = READER.value_for("sign", name, text)
    assert record_of(typed.record, Place("line", 1, 1), VOCABULARY).word == value


@pytest.mark.parametrize(
    ("name", "text"), [("co_in_room", "2 V"), ("co_in_room", "under 50"), ("draft_against_set_point", "1.2 in wc"), ("manifold_against_plate", "3.5")]
)
def test_a_figure_that_does_not_decide_is_refused(name: str, text: str) -> None:
    """Another unit, a bound across two values, or a figure that the plate of the furnace in hand is needed for."""
    with pytest.raises(BadInput):
        record_of(READER.value_for("sign", name, text).record, Place("line", 1, 1), VOCABULARY)


@pytest.mark.parametrize(("name", "text", "value", "calls"), [
    ("call_watched", "ran 3 calls fine", "ended_normally", 3), ("call_watched", "ran fine", "ended_normally", 1),
    ("safety_bypassed", "no jumpers", "no", 1), ("options_copied", "no jumpers", "yes", 1),
])  # fmt: skip
def test_the_words_that_people_type_for_a_check(name: str, text: str, value: str, calls: int) -> None:
    typed = READER.value_for("sign", name, text)
    assert (record_of(typed.record, Place("line", 1, 1), VOCABULARY).word, typed.calls) == (value, calls)


# --- values that are only begun, or stand alone, and repairs told in two halves ---


@pytest.mark.parametrize(
    ("line", "sign", "value"),
    [
        ("light ign fail", "light_says", "ignition_failed"), ("led ign fail", "light_says", "ignition_failed"),
        ("light says press sw open", "light_says", "pressure_switch_open"), ("blower turns stiff", "blower_turns_freely", "stiff"),
        ("sw on", "service_switch_position", "on"), ("switch off", "service_switch_position", "off"),
    ],
)  # fmt: skip
def test_a_value_may_be_begun_by_its_words(line: str, sign: str, value: str) -> None:
    typed = READER.read(line)

    assert isinstance(typed, Typed)
    assert typed.record["sign"] == sign
    assert READER.value_of(sign, str(typed.record["value"])) == value


@pytest.mark.parametrize("line", ["light press sw", "light ign open", "light not ign fail", "yes", "open", "replace it"])
def test_what_begins_two_values_or_none_is_not_guessed(line: str) -> None:
    """The pressure switch may be open or closed by the light; "open" is a value of many things."""
    with pytest.raises(BadInput):
        READER.read(line)


def test_a_value_alone_is_of_the_few_things_that_have_it() -> None:
    """At the bare prompt "hums" is of the inducer or of the blower, which is asked; it is no name that begins so."""
    read = READER.alone("hums")

    assert isinstance(read, Unclear)
    assert [t.record["sign"] for t in read.choices][:2] == ["inducer_runs", "blower_runs"]
    assert all(READER.value_of(str(t.record["sign"]), "hums") for t in read.choices)
    at_call = READER.alone("hums at call")
    assert isinstance(at_call, Unclear)
    assert {t.record["step"] for t in at_call.choices} == {"call"}
    dull = READER.alone("dull")
    assert isinstance(dull, Typed)
    assert dull.record["sign"] == "igniter_glows"


@pytest.mark.parametrize("line", ["yes", "open", "not hums", "replace it", "45 s after gas on", "light", "nothing of this"])
def test_a_value_that_many_have_or_that_is_slang_of_one_is_nothing_alone(line: str) -> None:
    assert READER.alone(line) is None


@pytest.mark.parametrize(
    ("line", "part", "word"),
    [
        ("flame rod cleaned works now", "flame_rod", "refitted_and_cured"), ("cleaned flame sensor and works", "flame_rod", "refitted_and_cured"),
        ("plug reseated ok now", "board_plug", "refitted_and_cured"), ("igniter new same", "igniter", "replaced_no_change"),
        ("flame rod sanded no luck", "flame_rod", "cleaned_no_change"), ("board swapped and came back", "control_board", "helped_a_while"),
    ],
)  # fmt: skip
def test_a_repair_is_told_by_what_was_done_and_what_came_of_it(line: str, part: str, word: str) -> None:
    typed = READER.read(line)

    assert isinstance(typed, Typed)
    assert typed.record["history"] == part
    assert READER.vocabulary.results.meant(str(typed.record["value"])) == [word]


def test_a_new_part_that_cured_is_no_word_of_the_history() -> None:
    """Nothing is left to be found then; it is not taken for a new part of which nobody knows."""
    with pytest.raises(BadInput):
        READER.read("igniter replaced works now")


@pytest.mark.parametrize(
    ("line", "record"),
    [
        ("fuse blown on bd", {"sign": "fuse_looks", "value": "blown"}),
        ("igntr don't glow", {"sign": "igniter_glows", "value": "no"}),
        ("fan runs 24/7", {"sign": "blower_always_on", "value": "yes"}),
        ("stat fan sw was at ON", {"sign": "thermostat_fan_switch", "value": "on"}),
        ("flame: nice and blue", {"sign": "flame_color", "value": "blue_and_steady"}),
        ("rollout: popped", {"sign": "reset_buttons", "value": "tripped"}),
        ("board was swapped no change", {"history": "control_board", "value": "replaced_no_change"}),
        ("120 at inducer pin", {"point": "inducer_pin_to_neutral", "value": 120.0}),
        ("24v accross ps", {"point": "across_pressure_switch", "value": 24.0}),
        ("call 2: inducer runs", {"sign": "inducer_runs", "value": "yes", "call": 2}),
        ("ind hums wont spin", {"sign": "inducer_runs", "value": "hums"}),
        ("ind seized", {"sign": "inducer_turns_freely", "value": "stiff"}),
        ("hose off ps", {"sign": "pressure_hose_looks", "value": "off"}),
        ("flame lites then drops out", {"sign": "burners_light", "value": "drop_out"}),
        ("wont stay lit", {"sign": "burners_light", "value": "drop_out"}),  # and no flame that burns without a call
        ("short cycles", {"sign": "flame_goes_out", "value": "after_minutes"}),
        ("no spark", {"sign": "igniter_glows", "value": "no"}),
        ("delayed ignition", {"sign": "bang_at_light_off", "value": "yes"}),
        ("RO tripped", {"sign": "rollout_contact", "value": "open"}),
        ("ac works", {"sign": "outdoor_unit_runs", "value": "yes"}),  # and nobody worked on it
        ("3 tries then lockout", {"sign": "tries_before_lock_out", "value": "three"}),
        ("120 at bd", {"point": "line_to_neutral_at_board", "value": 120.0}),
        ("24 at psw out", {"point": "pressure_switch_out_to_c", "value": 24.0}),
        ("0v heat term on heat call", {"point": "heat_terminal_to_neutral", "value": 0.0}),  # and not at W
        ("119 at ign plug", {"point": "igniter_volts_at_plug", "value": 119.0}),
        ("call 3 inducer hums", {"sign": "inducer_runs", "value": "hums", "call": 3}),
    ],
)
def test_lines_of_somebody_in_a_hurry(line: str, record: dict[str, object]) -> None:
    typed = READER.read(line)
    assert isinstance(typed, Typed), typed
    made = record_of(typed.record, Place("line", 1, 1), VOCABULARY)
    assert {made.kind: made.name, "value": made.number if made.kind == "point" else made.word} | ({"call": made.call} if made.call > 1 else {}) == record


@pytest.mark.parametrize(
    ("line", "record"),
    [
        ("0.2 low on igniter pin at warm up load on",
         {"point": "igniter_pin_to_neutral", "value": "0.2", "meter": "low", "step": "igniter_warm_up", "set_up": ["load_on"]}),
        ("119 lo z across heat terminal", {"point": "heat_terminal_to_neutral", "value": "119", "meter": "low"}),
        ("25 min at ps return", {"point": "pressure_switch_return_to_c", "value": "25", "hold": "min"}),
        ("120 at heating on heat terminal", {"point": "heat_terminal_to_neutral", "value": "120", "step": "heating"}),
        ("24.5 v high at w at standby", {"point": "w_to_c_at_board", "value": "24.5 v", "meter": "high", "step": "standby"}),
    ],
)  # fmt: skip
def test_how_it_was_read_may_stand_between_the_figure_and_the_place(line: str, record: dict[str, object]) -> None:
    assert read(line) == record


@pytest.mark.parametrize(
    "line",
    [
        "burners lit with no call", "burners stay on after the stat is satisfied", "flame stays lit when thermostat is off", "burners wont go out",
        "burner stays on with no call for heat", "burners stayed lit with no call", "gas wont shut off", "no call, burners stay lit",
    ],
)  # fmt: skip
def test_a_flame_that_outlasts_its_call_is_a_danger_and_no_good_sign(line: str) -> None:
    assert read(line) == {"sign": "flame_with_no_call", "value": "yes"}


@pytest.mark.parametrize(
    ("line", "sign"), [("gas valve stuck open, found today", "flame_with_no_call"), ("installed a 10 amp fuse in the board", "fuse_rating")]
)
def test_a_danger_beside_what_means_nothing_is_asked_about(line: str, sign: str) -> None:
    typed = READER.read(line)
    assert isinstance(typed, Typed)
    assert (typed.record["sign"], typed.guessed, typed.weakly) == (sign, sign, True)


@pytest.mark.parametrize(("line", "value"), [("burners stay lit", "stay_lit"), ("burners stay on", "stay_lit"), ("burners lit", "yes")])
def test_a_flame_that_holds_is_one(line: str, value: str) -> None:
    record = read(line)
    assert (record["sign"], READER.value_of("burners_light", str(record["value"]))) == ("burners_light", value)


@pytest.mark.parametrize("when", ["no call", "with no call", "with nothing calling", "nothing calling", "when nothing is calling", "without a call"])
@pytest.mark.parametrize(
    ("said", "sign", "value"),
    [("blower runs", "blower_runs", "yes"), ("inducer running", "inducer_runs", "yes"), ("gas valve clicks", "gas_valve_clicks", "yes"),
     ("igniter glows", "igniter_glows", "yes")],
)  # fmt: skip
def test_no_call_is_when_nothing_is_called_for_and_no_no_at_a_call(said: str, sign: str, value: str, when: str) -> None:
    record = read(f"{said} {when}")
    assert (record["sign"], READER.value_of(sign, str(record["value"])), record["step"]) == (sign, value, "standby")


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ("blower no at call", {"sign": "blower_runs", "value": "no", "step": "call"}),
        ("flame no call 2", {"sign": "flame_seen", "value": "no", "call": "2"}),
        ("w to c 24 with no call", {"point": "w_to_c_at_board", "value": "24", "step": "standby"}),
    ],
)
def test_a_no_of_a_call_stays_one(line: str, expected: dict[str, object]) -> None:
    assert read(line) == expected


@pytest.mark.parametrize("line", ["blower no call", "inducer: no heat call"])
def test_a_name_and_no_call_say_nothing_of_it(line: str) -> None:
    """It may be that it does not run on a call, and that it was looked at without one."""
    with pytest.raises(BadInput):
        READER.read(line)


@pytest.mark.parametrize(
    ("line", "names"),
    [
        ("24 at mv", {"gas_pin_to_c", "gas_valve_volts"}),
        ("motor: too hot", {"blower_motor_hot", "inducer_motor_hot"}),
        ("blower hot", {"blower_motor_hot"}),  # hot, or too hot to hold (`could_be`)
    ],
)
def test_what_may_be_of_two_places_is_offered_for_both(line: str, names: set[str]) -> None:
    read_as = READER.read(line)
    assert isinstance(read_as, Unclear)
    assert {str(t.record.get("point", t.record.get("sign"))) for t in read_as.choices} == names


@pytest.mark.parametrize(
    ("line", "offered", "not_offered"),
    [
        ("line to chassis 121 at standby", "line_to_chassis_at_board", "line_wire_to_chassis_ohms"),
        ("line to chassis 121", "line_to_chassis_at_board", "line_wire_to_chassis_ohms"),
        ("door switch 0.2 at standby", "across_door_switch", "door_switch_ohms"),
        ("door switch 0.2", "across_door_switch", ""),
        ("door switch 0.2", "door_switch_ohms", ""),
        ("door switch 0.2 power off", "door_switch_ohms", ""),
        ("line wire to chassis ohms 121", "line_wire_to_chassis_ohms", "line_to_chassis_at_board"),
        ("line wire to chassis 121", "line_wire_to_chassis_ohms", "line_to_chassis_at_board"),
    ],
)
def test_a_figure_is_no_ohms_where_its_step_or_its_whole_name_is_one_of_volts(line: str, offered: str, not_offered: str) -> None:
    read_as = READER.read(line)
    names = {str(t.record["point"]) for t in (read_as.choices if isinstance(read_as, Unclear) else (read_as,))}
    assert offered in names
    assert not_offered not in names
    units = {KNOWLEDGE.point[n].unit for n in names}
    assert units == {"V"} or "standby" not in line


@pytest.mark.parametrize(
    "line",
    ["door switch in 120", "call 2:", "24 at nowhere", "inducer runs n stops", "ign glowing no gas", "fan runs w/ stat off", "inducer runs then nothing"],
)
def test_what_names_nothing_or_says_more_than_one_thing_is_refused(line: str) -> None:
    """120 V on the line side of the door switch are no 120 V across it, which would be an open switch; "n" is no "not"; "gas" after a no is no step;
    what ran and then did not is no plain no; no trial with wires off is guessed from words that only begin its name's."""
    with pytest.raises(BadInput):
        READER.read(line)


@pytest.mark.parametrize("said", ["ign trial", "ignition trial", "trial"])
def test_a_call_that_stops_at_the_trial_is_none_that_stops_at_the_glow(said: str) -> None:
    typed = READER.only_value("sign", "stops_at", said, {})
    assert typed is not None
    assert "step" not in typed.record
    assert READER.value_of("stops_at", str(typed.record["value"])) == "ignition_trial"


@pytest.mark.parametrize("load", ["gas valve", "inducer", "lamp"])
def test_what_an_output_feeds_is_told_by_the_words_alone(load: str) -> None:
    """A load more in the words, and nothing else, is one that may still be wired."""
    words = next(iter(KNOWLEDGE.words.values()))
    with_lamp = KNOWLEDGE.model_copy(update={"words": {words.words: words.model_copy(update={"loads": (*words.loads, "lamp")})}})
    told = HowTaken(Vocabulary(with_lamp)).fields_of(f"with the {load} still wired".split())

    assert told == {"set_up": ["load_on"]}
    assert (HowTaken(VOCABULARY).fields_of(f"{load} hooked up".split()) is not None) == (load != "lamp")


@pytest.mark.parametrize(("line", "told"), [
    ("0.3 volts AC on the heat terminal", ("heat_terminal_to_neutral", None)), ("24 v ac at the gas valve", ("gas_valve_volts", None)),
    ("24 volts ac at w", ("w_to_c_at_board", None)), ("heat terminal 0.3 volts AC low z", ("heat_terminal_to_neutral", None)),
    ("heat terminal 118 v in ac", ("heat_terminal_to_neutral", "cooling_call")),
])  # fmt: skip
def test_volts_that_alternate_are_in_no_call_for_cooling(line: str, told: tuple[str, str | None]) -> None:
    fields = read(line)
    assert (fields["point"], fields.get("step")) == told


@pytest.mark.parametrize(("line", "point", "step"), [
    ("0 w to c w stat calling", "w_to_c_at_board", "call"), ("w 25 w stat calling", "w_to_c_at_board", "call"), ("24 at w", "w_to_c_at_board", None),
    ("r to w 24 at standby", "r_to_w_at_board", "standby"), ("hot to n 121 at board", "line_to_neutral_at_board", None),
])  # fmt: skip
def test_a_w_before_a_step_is_with_and_elsewhere_the_terminal(line: str, point: str, step: str | None) -> None:
    fields = read(line)
    assert (fields["point"], fields.get("step")) == (point, step)


def test_what_came_of_it_may_stand_behind_a_short_and() -> None:
    of_it, in_full = READER.read("jumped r w n it fires"), READER.read("jumped r w and it fires")
    assert of_it == in_full
    assert isinstance(of_it, Unclear)
