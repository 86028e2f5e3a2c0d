"""A report as a technician, a trainer or a clerk types it: what it is read as, and what is said where it is not read."""

from __future__ import annotations

from functools import cache
from typing import Any
from unicodedata import category

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from furnace_diag.diagnosis.answer import Answer, answer
from furnace_diag.diagnosis.entries import RecordEntry
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.findings import Finder
from furnace_diag.diagnosis.prior import prior_given
from furnace_diag.diagnosis.records import Record, Report
from furnace_diag.diagnosis.report_file import understand
from furnace_diag.diagnosis.vocabulary import Vocabulary, repairable
from furnace_diag.furnace.family import Family
from furnace_diag.knowledge.find import Names
from furnace_diag.knowledge.models import Knowledge
from furnace_diag.knowledge.spelling import spelling_of
from furnace_diag.knowledge.yaml_text import parse_yaml
from furnace_diag.problems import BadInput
from tests.ours import our_rules


def read(knowledge: Knowledge, *records: str) -> Report:
    lines = "".join(f"- {r}\n" for r in records)
    return understand(parse_yaml(f"records:\n{lines}", "report.yaml"), knowledge, vocabulary() if knowledge is rules() else None)


def one(knowledge: Knowledge, record: str) -> Record:
    return read(knowledge, record).records[0]


def refused(knowledge: Knowledge, record: str) -> str:
    with pytest.raises(BadInput) as caught:
        read(knowledge, record)
    return str(caught.value)


# --- values -----------------------------------------------------------------------------------


def test_what_a_value_was_read_as_is_told(knowledge: Knowledge) -> None:
    report = read(knowledge, "{sign: inducer, value: not running, step: heat}", "{sign: light, value: Blinking}")

    assert [r.word for r in report.records] == ["no", "blinking"]
    assert report.read_as == ("inducer: not running -> inducer_runs = no at heating",)


def test_an_unknown_value_lists_all_values_with_the_nearest_first(knowledge: Knowledge) -> None:
    said = refused(knowledge, "{sign: blower_runs, value: not runing}")

    assert "report.yaml:2:30: blower_runs cannot be not runing. Use one of: no, " in said
    assert all(value in said for value in knowledge.sign["blower_runs"].values)


def test_a_point_that_is_read_at_one_step_alone_is_read_there_whoever_says_so_or_not(knowledge: Knowledge) -> None:
    """An ohmmeter needs the power off: common practice, no source."""
    record = one(knowledge, "{point: gas_valve_coil_ohms, value: 28}")

    assert knowledge.point["gas_valve_coil_ohms"].steps == ("power_off",)
    assert (record.step, record.read_as) == ("power_off", None)
    assert one(knowledge, "{point: r_to_c_at_board, value: 26}").step is None  # read at many


@pytest.mark.parametrize(("said", "seconds"), [("3 seconds", 3), ("after 4 sec", 4), ("after 2 minutes", 120)])
def test_a_figure_for_a_sign_is_read_as_its_point(knowledge: Knowledge, said: str, seconds: float) -> None:
    record = one(knowledge, f"{{sign: flame goes out, value: {said}}}")

    assert (record.kind, record.name, record.number) == ("point", "seconds_of_flame", seconds)
    assert record.read_as


def test_a_figure_for_a_sign_with_several_points_is_shown_them(knowledge: Knowledge) -> None:
    assert "A figure belongs to point:" in refused(knowledge, "{sign: pressure_switch_contact, value: 24 V}")


@pytest.mark.parametrize(
    ("said", "name", "word", "step"),
    [
        ("{sign: blower, value: runs on cool}", "blower_runs", "yes", "cooling_call"),
        ("{sign: blower runs on cool, value: no}", "blower_runs", "no", "cooling_call"),
        ("{sign: inducer, value: hums on a call}", "inducer_runs", "hums", None),
        ("{sign: light on, value: yes}", "light", "lit", None),
        ("{sign: burners, value: off}", "burners_light", "no", None),
        ("{sign: stat fan, value: auto}", "thermostat_fan_switch", "auto", None),
        ("{history: igniter, value: new part}", "igniter", "new_part", None),
    ],
)
def test_what_technicians_type(knowledge: Knowledge, said: str, name: str, word: str, step: str | None) -> None:
    record = one(knowledge, said)

    assert (record.name, record.word) == (name, word)
    assert step is None or record.step == step


@pytest.mark.parametrize(
    ("said", "name", "word"),
    [
        ("{sign: ignitor, value: cracked}", "igniter_looks", "broken"),
        ("{sign: igniter, value: glows then goes out}", "igniter_goes_dark", "yes"),
        ("{sign: igniter, value: bright}", "igniter_glows", "bright"),
        ("{sign: inducer, value: starts and stops}", "inducer_cuts_out", "yes"),
        ("{sign: inducer, value: hot to the touch}", "inducer_motor_hot", "too_hot_to_hold"),
        ("{sign: blower, value: runs all the time}", "blower_always_on", "yes"),
        ("{sign: flame, value: lazy yellow}", "flame_color", "yellow_and_lazy"),
        ("{sign: hose, value: water in it}", "water_in_hose", "yes"),
        ("{sign: transformer, value: humming}", "transformer_hums", "yes"),
        ("{sign: gas valve, value: no click}", "gas_valve_clicks", "no"),
        ("{sign: breaker, value: trips on heat}", "breaker_trips_again", "on_heat_call"),
        ("{sign: board, value: burnt spot}", "board_scorched", "yes"),
        ("{sign: relay, value: chattering}", "rapid_clicking", "yes"),
    ],
)
def test_of_several_things_of_one_name_the_value_tells_which(knowledge: Knowledge, said: str, name: str, word: str) -> None:
    record = one(knowledge, said)

    assert (record.name, record.word) == (name, word)
    assert record.read_as


@pytest.mark.parametrize(
    ("said", "name", "word"),
    [
        ("{sign: valve click, value: no}", "gas_valve_clicks", "no"), ("{experiment: plug moved, value: helps}", "plug_moved_helps", "yes"),
        ("{experiment: spun, value: takes off}", "blower_starts_when_spun", "yes"),
        ("{experiment: sucked, value: stays open}", "pressure_switch_when_sucked", "stays_open"),
        ("{sign: stops with stat off base, value: yes}", "call_ends_with_thermostat_off_base", "yes"),
        ("{sign: inducer wheel, value: slips}", "inducer_wheel_grips", "slips"), ("{sign: inducer wheel, value: stiff}", "inducer_turns_freely", "stiff"),
        ("{sign: blower wheel turns, value: free}", "blower_turns_freely", "free"), ("{sign: reset, value: popped}", "reset_buttons", "tripped"),
        ("{experiment: joined at stat, value: starts}", "starts_when_joined_at_thermostat", "yes"),
        ("{sign: plug, value: green}", "plug_burnt_or_corroded", "yes"),
        ("{sign: small fan, value: hums}", "inducer_runs", "hums"), ("{sign: big fan, value: hums}", "blower_runs", "hums"),
        ("{sign: cock, value: open}", "gas_cock_position", "open"), ("{sign: lockout after, value: 3 tries}", "tries_before_lock_out", "three"),
        ("{event: gas work, value: yes}", "gas_work_done", "yes"), ("{event: first run of season, value: yes}", "long_rest", "yes"),
        ("{history: flame rod, value: works for a while}", "flame_rod", "helped_a_while"),
    ],
)  # fmt: skip
def test_a_name_that_a_colleague_would_understand(knowledge: Knowledge, said: str, name: str, word: str) -> None:
    record = one(knowledge, said)

    assert (record.name, record.word) == (name, word)
    assert record.read_as


@pytest.mark.parametrize(
    ("said", "names"),
    [
        ("{experiment: joined at board, value: yes}", ("starts_when_joined_at_board", "fan_when_r_g_joined_at_board", "blower_when_r_y_joined_at_board")),
        ("{experiment: joined at stat, value: no}", ("starts_when_joined_at_thermostat", "burners_light_when_joined_at_thermostat")),
        ("{sign: wheel by hand, value: free}", ("blower_turns_freely", "inducer_turns_freely")),
        ("{sign: wheel, value: slips}", ("blower_wheel_grips", "inducer_wheel_grips")),
        ("{sign: inducer wheel, value: loose}", ("inducer_wheel_grips: slips", "inducer_noise: noisy")),
        ("{sign: wheel turns, value: yes}", ("blower_turns_freely", "inducer_turns_freely")),
        ("{sign: plug, value: burnt}", ("plug_burnt_or_corroded", "igniter_plug_looks")),
        ("{sign: reset, value: tripped}", ("reset_buttons", "power_reset_helps", "breaker_trips_again")),
        ("{sign: only cold mornings, value: yes}", ("fault_only_from_cold", "fault_comes_and_goes")),
        ("{sign: big fan, value: cuts off}", ("lives_again_after_rest: yes", "heat_output_drops_out: yes")),
        ("{sign: small fan, value: works for a while}", ("lives_again_after_rest: yes", "fault_comes_and_goes: yes")),
        ("{sign: burners, value: cut off}", ("drop_out", "flame_goes_out: after_minutes")),
        ("{event: humidifier, value: yes}", ("damp_or_humidifier", "other_controls_added", "water_leak_above")),
        ("{sign: fan call, value: no}", ("blower_on_fan_call", "g_to_c_at_board", "fan_call is a step")),
        ("{sign: fan call, value: on}", ("blower_on_fan_call", "g_to_c_at_board")), ("{sign: fan mode, value: on}", ("fan_call is a step",)),
        ("{sign: cooling call, value: runs}", ("blower_runs", "outdoor_unit_runs")),
    ],
)  # fmt: skip
def test_what_could_be_several_things_is_refused_with_them(knowledge: Knowledge, said: str, names: tuple[str, ...]) -> None:
    told = refused(knowledge, said)

    assert all(name in told for name in names)


@pytest.mark.parametrize("name", ["fan call", "fan_call"])
@pytest.mark.parametrize(("value", "word"), [("runs", "yes"), ("works", "yes"), ("nothing", "no"), ("hums", "hums")])
def test_a_step_alone_tells_of_the_blower_then(knowledge: Knowledge, name: str, value: str, word: str) -> None:
    record = one(knowledge, f"{{sign: {name}, value: {value}}}")

    assert (record.name, record.word, record.step) == ("blower_runs", word, "fan_call")
    assert "at fan_call" in str(record.read_as)


@pytest.mark.parametrize(
    ("said", "name"),
    [
        ("{point: r to c of cable, value: 0.9 ohm}", "thermostat_cable_r_to_c_ohms"),
        ("{point: thermostat cable r to c, value: OL}", "thermostat_cable_r_to_c_ohms"),
        ("{point: humidifier to c, value: 0.8 ohm}", "humidifier_to_c_ohms"),
        ("{point: string wire to chassis, value: 0.6 ohm}", "string_wire_to_chassis_ohms"),
        ("{point: line at junction box, value: 122}", "line_to_neutral_at_junction_box"),
    ],
)  # fmt: skip
def test_a_point_is_known_by_the_unit_told(knowledge: Knowledge, said: str, name: str) -> None:
    assert one(knowledge, said).name == name


def test_ohms_are_not_taken_to_another_point_than_the_one_that_was_named(knowledge: Knowledge) -> None:
    """From R to C of the board an ohmmeter reads the transformer's winding as well as the cable: circuit law."""
    assert "r_to_c_at_board" in refused(knowledge, "{point: r to c, value: 0.9 ohm}")


def test_no_flame_at_rest_is_not_taken_for_a_call_that_does_not_light(knowledge: Knowledge) -> None:
    said = refused(knowledge, "{sign: burners, value: no flame, step: idle}")

    assert "whole heat call" in said
    assert "flame_seen" in said


def test_the_gas_valve_is_no_sign_by_itself(knowledge: Knowledge) -> None:
    """No click, no 24 V, no gas: which of them "gas valve: no" means is not for the program to guess."""
    assert "gas_valve_clicks" in refused(knowledge, "{sign: gas valve, value: no}")


@pytest.mark.parametrize("value", ["open", "OL"])
def test_a_path_without_end_is_no_volts(knowledge: Knowledge, value: str) -> None:
    said = refused(knowledge, f"{{point: heat_terminal_to_neutral, value: {value}}}")

    assert "range" not in said
    assert "a figure from 0 to 1,000" in said


def test_no_voltage_is_zero(knowledge: Knowledge) -> None:
    assert one(knowledge, "{point: heat_terminal_to_neutral, value: no voltage}").number == 0


@pytest.mark.parametrize("record", ["{sign: light}", "{point: flame_current}"])
def test_a_name_alone_is_not_a_yes(knowledge: Knowledge, record: str) -> None:
    assert "Add `value:` with" in refused(knowledge, record)


# --- names ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("record", "says"),
    [
        ("{sign: lockout, value: yes}", "lockout is a step: write step: lockout."),
        ("{sign: flame_current, value: 2}", "flame_current is a point: write point: flame_current."),
        ("{point: storm, value: 2}", "storm_or_outage is an event: write event: storm_or_outage."),
        ("{point: gv, value: 24}", "gas_valve_volts"),
        ("{sign: rain, value: yes}", "heavy_rain is an event: write event: heavy_rain."),
        ("{sign: sunshine, value: yes}", "furnace-diag points lists all of them"),
        ("{sign: light, value: off, call: heat}", "told by `step: call`"),
        ("{sign: light, value: off, step: 2}", "told by `call: 2`"),
        ("{sign: light, value: off, meter: digital}", "low-impedance mode"),
        ("{sign: light, value: off, contact: plug}", "on the wire's crimp behind it"),
        ("{sign: light, value: off, set_up: plug of}", "Did you mean plug_off?"),
        ("{history: widget, value: no change}", "There is no part, or part:failure, called widget."),
        ("{history: igniter, value: replaced, no change}", 'put quotes around all of that: "..., no change".'),
        ("nothing", "Write each as - {sign: inducer_runs, value: yes}."),
        ("{event: storm, value: maybe}", "only written down if it happened"),
    ],
)
def test_a_wrong_name_is_told_what_to_write(knowledge: Knowledge, record: str, says: str) -> None:
    said = refused(knowledge, record)

    assert says in said
    assert said.startswith("report.yaml:2:")


@pytest.mark.parametrize(
    ("record", "name", "word"),
    [
        ("{sign: burners, value: drop out after a few minutes}", "flame_goes_out", "after_minutes"),
        ("{sign: burners, value: drop out after minutes}", "flame_goes_out", "after_minutes"),
        ("{sign: burner box, value: scorched}", "burner_box_scorched", "yes"),
        ("{sign: flame, value: rolls out}", "flame_rolls_out", "yes"),
        ("{sign: limit, value: jumped out}", "safety_bypassed", "yes"),  # a hazard, and no limit that is out
        ("{sign: fault, value: comes and goes}", "fault_comes_and_goes", "yes"),
        ("{sign: fault, value: limit open}", "light_says", "limit_open"),
        ("{sign: rollout, value: popped}", "reset_buttons", "tripped"),
        ("{sign: blower relay, value: drops out}", "heat_output_drops_out", "yes"),
        ("{experiment: with the valve wire off, value: still blows}", "fuse_blows_with_valve_wire_off", "yes"),
    ],
)
def test_a_name_may_go_on_into_its_value(knowledge: Knowledge, record: str, name: str, word: str) -> None:
    made = one(knowledge, record)

    assert (made.name, made.word) == (name, word)
    assert made.said == record.split(": ", 1)[1].rstrip("}").replace(", value", "")  # as it was typed


@pytest.mark.parametrize(
    ("record", "says"),
    [
        ("{sign: plug, value: corroded}", "plug_burnt_or_corroded or igniter_plug_looks"),  # the board's, or the igniter's
        ("{sign: igniter, value: goes out}", "igniter_goes_dark: yes"),
        ("{sign: flame, value: out at once}", "flame_seen cannot be"),  # at the end of a call as it should be, or in one
        ("{sign: power, value: reset}", "supply_at_furnace cannot be"),  # whether that helped is not said
        ("{sign: board, value: tapped}", "somebody_blames_board cannot be"),
        ("{sign: gas valve live, value: yes}", "gas_valve_live_without_call? gas_valve_volts is a point"),
        ("{event: nobody touched the stat}", "leave out what did not"),
        ("{event: no storm}", "leave out what did not"),
    ],
)
def test_a_name_that_only_seems_to_go_on_is_refused(knowledge: Knowledge, record: str, says: str) -> None:
    assert says in refused(knowledge, record)


@pytest.mark.parametrize(("text", "not_meant"), [("stove", "limit_when_cold"), ("squirrel nest", "blower_turns_freely")])
def test_what_is_only_like_one_word_of_a_name_is_not_suggested(knowledge: Knowledge, text: str, not_meant: str) -> None:
    assert not_meant not in refused(knowledge, f"{{sign: {text}, value: no}}")


def test_soot_is_not_suggested_for_lockout(knowledge: Knowledge) -> None:
    assert "soot" not in refused(knowledge, "{sign: lockout, value: yes}")


@pytest.mark.parametrize(("typed", "meter"), [("lo-z", "low"), ("Low Z", "low"), ("low impedance", "low"), ("high", "high")])
def test_words_on_meters(knowledge: Knowledge, typed: str, meter: str) -> None:
    assert one(knowledge, f"{{point: heat tap, value: 118, meter: {typed}}}").meter == meter


# --- what was told, and seen otherwise ----------------------------------------------------------


@pytest.mark.parametrize("source", [", source: seen", ""])
def test_what_was_seen_stands_and_what_was_told_of_it_is_kept_and_not_weighed(evidence: Evidence, source: str) -> None:
    told, seen = "{sign: inducer, value: silent, source: told}", f"{{sign: inducer, value: hums{source}}}"
    alone = answered(f"records: [{seen}]", evidence)
    for both in (f"{told}, {seen}", f"{seen}, {told}"):
        report = understand(parse_yaml(f"records: [{both}]", "report.yaml"), evidence.knowledge, evidence.vocabulary)
        now = answer(report, evidence)

        assert [(r.word, r.source) for r in report.set_aside] == [("silent", "told")]
        assert now.parts == alone.parts
        assert [said for said in now.not_used if "inducer: silent: it was told, and inducer: hums was seen" in said]


def test_what_was_told_and_does_not_clash_is_weighed_as_ever(knowledge: Knowledge) -> None:
    """ "no" of a motor that stands may be "hums"; another call, and what nobody looked at, are not answered by what was seen."""
    pairs = [("no", "hums", ""), ("silent", "hums", ", call: 2"), ("hums", "hums", "")]
    for told, seen, call in pairs:
        report = read(knowledge, f"{{sign: inducer, value: {told}, source: told}}", f"{{sign: inducer, value: {seen}{call}}}")
        assert (len(report.records), report.set_aside) == (2, ())


@pytest.mark.parametrize("source", ["told", "seen"])
def test_two_who_told_or_two_looks_clash_as_ever(knowledge: Knowledge, source: str) -> None:
    with pytest.raises(BadInput, match="inducer: hums here, but inducer: silent at line 2"):
        read(knowledge, f"{{sign: inducer, value: silent, source: {source}}}", f"{{sign: inducer, value: hums, source: {source}}}")


def test_a_hazard_that_was_told_is_never_set_aside(knowledge: Knowledge) -> None:
    """Over every word of a sign that stops a visit: who smells no gas may come later than who smelled it."""
    lines = [(name, word) for h in knowledge.hazard.values() for way in h.when for w in way for kind, name in w.names if kind == "sign" for word in w.is_]
    for name, word in lines:
        sign = knowledge.sign[name]
        other = next(v for v in sign.values if {*sign.reads_as.get(v, [v])}.isdisjoint(sign.reads_as.get(word, [word])))
        with pytest.raises(BadInput):
            read(knowledge, f'{{sign: {name}, value: "{word}", source: told}}', f'{{sign: {name}, value: "{other}"}}')


# --- where the probe was ----------------------------------------------------------------------


def test_a_pin_read_on_its_crimp_or_at_its_load_is_the_point_there(knowledge: Knowledge) -> None:
    """Whatever the rules name for each pin: the record is that point's, and says so."""
    moved = 0
    for point in knowledge.point.values():
        for contact, other in (("crimp", point.at_crimp), ("load", point.at_load)):
            record = one(knowledge, f"{{point: {point.point}, value: 3, contact: {contact}}}")
            moved += other is not None
            assert record.name == (other or point.point)
            assert record.contact == (None if other else contact)
            assert record.read_as == other

    assert moved


def test_on_the_pin_it_stays_the_pin(knowledge: Knowledge) -> None:
    assert one(knowledge, "{point: gas_pin_to_c, value: 24, contact: pin}").name == "gas_pin_to_c"


def test_live_on_the_pin_and_dead_on_the_crimp_is_the_plug(evidence: Evidence) -> None:
    """Circuit law: between pin and crimp is the plug's contact and nothing else."""
    dead = "{sign: burners_light, value: no}, {point: gas_pin_to_c, value: 25 V, step: ignition_trial}"
    plug = answered(f"records: [{dead}, {{point: gas_pin_to_c, value: 0 V, contact: crimp, step: ignition_trial, meter: low}}]", evidence)

    assert plug.parts[0].part == "board_plug"
    assert plug.parts[0].failures[0].failure == "gas_contact_open"


@pytest.mark.parametrize("contact", ["pin", "crimp", "load"])
def test_gas_voltage_without_a_call_stops_the_visit_wherever_it_was_read(knowledge: Knowledge, contact: str) -> None:
    record = one(knowledge, f"{{point: gas_pin_to_c, value: 24, step: standby, contact: {contact}}}")

    assert [h.finding for h in Finder(knowledge).find([record], {}).hazards] == ["flame_nobody_called_for"]


def test_a_moved_reading_that_is_not_predicted_then_is_not_used(knowledge: Knowledge) -> None:
    point = knowledge.point["heat_terminal_to_neutral"]
    there = knowledge.point[str(point.at_load)]
    step = next(s for s in point.steps if s not in there.steps)

    assert str(one(knowledge, f"{{point: {point.point}, value: 0, contact: load, step: {step}}}").unused) == f"{there.point} is not predicted at {step}"


def test_the_lowest_reading_at_no_stated_step_is_left_to_the_proofs(knowledge: Knowledge) -> None:
    assert "the proof rules read it all the same" in str(one(knowledge, "{point: heat tap, value: 118, hold: min}").unused)
    assert one(knowledge, "{point: heat tap, value: 118, hold: min, step: heating}").unused is None


@pytest.mark.parametrize(
    ("set_up", "taken_off"),
    [
        ("lead lifted", ("lead_off",)), ("[plug_off]", ("lead_off",)), ("load_off", ("lead_off",)), ("[load_off, lead_lifted]", ("lead_off",)),
        ("thermostat_wires_off", ("thermostat_wires_off",)), ("[load_on, door_held]", ()),
    ],
)  # fmt: skip
def test_what_a_set_up_takes_off(knowledge: Knowledge, set_up: str, taken_off: tuple[str, ...]) -> None:
    assert one(knowledge, f"{{point: heat tap, value: 118, set_up: {set_up}}}").taken_off == taken_off


@pytest.mark.parametrize("off", ["lead_lifted", "plug_off", "[load_off, lead_lifted]"])
def test_ohms_are_read_with_the_leads_off_whether_that_is_told_or_not(evidence: Evidence, off: str) -> None:
    """Common practice, no source: an ohmmeter across a part that is still connected reads what hangs on it as well."""
    plain, told = (answered(f"records: [{{point: inducer_winding_ohms, value: OL{more}}}]", evidence) for more in ("", f", set_up: {off}"))
    assert told.not_used == ()
    assert [(p.part, p.probability) for p in told.parts] == [(p.part, p.probability) for p in plain.parts]


# --- history ----------------------------------------------------------------------------------


def test_a_cleaned_port_is_not_the_hose(knowledge: Knowledge, family: Family) -> None:
    """Cleaning the port without change clears the port; the hose stays as likely, against the others, as it was."""
    report = read(knowledge, "{history: port cleaned, value: no change}")
    names = [str(f) for f in family.faults]
    hose, port, other = (names.index(n) for n in ("pressure_hose:off_or_cracked", "pressure_hose:port_plugged", "filter:blocked"))
    before, after = prior_given(family, []), prior_given(family, report.records)

    assert report.read_as == ("port cleaned: no change -> pressure_hose:port_plugged = replaced_no_change",)
    assert after[port] / after[other] < before[port] / before[other] / 10
    assert after[hose] / after[other] == pytest.approx(before[hose] / before[other])


def test_a_part_still_stands_for_all_its_failures(knowledge: Knowledge) -> None:
    assert one(knowledge, "{history: hose, value: replaced no change}").name == "pressure_hose"
    assert one(knowledge, "{history: gas valve, value: changed, no change}".replace("changed, ", "")).name == "gas_valve"


def test_no_name_of_a_repair_means_two(knowledge: Knowledge) -> None:
    assert Names(repairable(knowledge), spelling_of(Vocabulary(knowledge).words)).doubles() == {}


def test_every_repair_and_every_result_can_be_written(knowledge: Knowledge, family: Family) -> None:
    words = next(iter(knowledge.words.values()))
    for name in repairable(knowledge):
        for result in words.history:
            record = one(knowledge, f"{{history: '{name}', value: {result}}}")
            assert (record.name, record.word) == (name, result)
            assert prior_given(family, [record]).sum() == pytest.approx(1)


# --- anything at all --------------------------------------------------------------------------

scalars = st.one_of(st.text(max_size=12), st.integers(), st.floats(), st.booleans(), st.none())
names = st.sampled_from(["inducer_runs", "led", "24v at w", "flame_current", "storm", "igniter", "pressure_hose:port_plugged", "", ":", "no"])
keys = st.one_of(st.sampled_from([*RecordEntry.model_fields]), st.text(max_size=6))
values = st.recursive(st.one_of(names, scalars), lambda inner: st.lists(inner, max_size=3) | st.dictionaries(keys, inner, max_size=3), max_leaves=6)
mappings = st.dictionaries(keys, values, max_size=6)
tops = st.fixed_dictionaries(
    {"records": st.lists(mappings, max_size=4) | values},
    optional={"complaint": values, "furnace": st.dictionaries(st.sampled_from(["family", "options", "x"]), values), "story": values, "answer": values},
)


@cache
def rules() -> Knowledge:
    """The rules once, and no argument of a Hypothesis test: it would write them out for every example."""
    return our_rules()


@cache
def vocabulary() -> Vocabulary:
    return Vocabulary(rules())


def on_one_line(text: str) -> bool:
    """Whether a terminal shows it as one line and obeys none of it (Unicode's controls, formats, surrogates and line ends)."""
    return not {category(c) for c in text} & {"Cc", "Cf", "Cs", "Zl", "Zp"}


def told_or_read(text: str) -> None:
    """A report, or problems that each say where, what and what to do, on one line that no terminal obeys."""
    try:
        report = understand(parse_yaml(text, "report.yaml"), rules(), vocabulary())
    except BadInput as bad:
        for problem in bad.problems:
            assert problem.place is not None
            assert problem.message
            assert problem.fix
            assert on_one_line(str(problem))
    else:
        assert all(r.number is None or r.number == r.number for r in report.records)
        assert all(map(on_one_line, report.read_as))


@given(st.one_of(tops, values))
@settings(max_examples=60, deadline=None)
def test_any_mapping_is_read_or_told(data: Any) -> None:
    told_or_read(yaml.safe_dump(data, allow_unicode=True))


@given(st.one_of(st.text(max_size=200), st.text("recods: -{}[],\n'\"&*!#|>%yes0", max_size=80).map(lambda t: "records:\n" + t)))
@settings(max_examples=60, deadline=None)
def test_any_text_is_read_or_told(text: str) -> None:
    told_or_read(text)


@given(st.sampled_from(["sign", "point", "event", "history", "step"]), st.text(max_size=40))
@settings(max_examples=60, deadline=None)
def test_any_name_is_one_or_is_refused(kind: str, text: str) -> None:
    names_of_kind = vocabulary().names(kind)
    assert set(names_of_kind.meant(text)) <= set(names_of_kind.ids)
    assert set(names_of_kind.suggested(text)) <= set(names_of_kind.ids)


def answered(text: str, evidence: Evidence) -> Answer:
    return answer(understand(parse_yaml(text, "report.yaml"), evidence.knowledge, evidence.vocabulary), evidence)


def test_an_event_that_did_not_happen_is_no_record(knowledge: Knowledge) -> None:
    """`no` of an event is understood and told back; nothing speaks for or against anything because it did not storm."""
    text = "records: [{event: storm, value: no}, {event: high_wind, value: nope}, {event: new_thermostat, value: yes}]"
    report = understand(parse_yaml(text, "r.yaml"), knowledge)

    assert [(r.name, r.word) for r in report.records] == [("new_thermostat", "yes")]
    assert sum("did not happen" in line for line in report.read_as) == 2


def test_an_unknown_event_that_did_not_happen_is_unknown_all_the_same(knowledge: Knowledge) -> None:
    with pytest.raises(BadInput, match="There is no event called"):
        understand(parse_yaml("records: [{event: earthquaake, value: no}]", "r.yaml"), knowledge)


def test_all_that_is_wrong_with_a_report_is_told_in_one_go_and_in_order(knowledge: Knowledge) -> None:
    text = "complian: x\nfurnace: {family: nope}\nrecords:\n- {sign: inducer_runz, value: yes}\n- {sign: inducer_runs, value: potato}\n"
    with pytest.raises(BadInput) as bad:
        understand(parse_yaml(text, "r.yaml"), knowledge)
    assert [p.place.line for p in bad.value.problems if p.place is not None] == [1, 2, 4, 5]


def test_what_was_given_as_a_sign_and_tells_of_a_repair_says_so(knowledge: Knowledge) -> None:
    """ "Board: swapped, no change" blames nobody's board."""
    with pytest.raises(BadInput, match=r"tells of an earlier repair.*Write history: control_board"):
        understand(parse_yaml("records: [{sign: board, value: swapped no change}]", "r.yaml"), knowledge)


@pytest.mark.parametrize(
    ("entry", "name", "word"),
    [
        ("sign: wire chafed, value: yes", "wire_chewed", "yes"),
        ("sign: light, value: goes dark", "light", "dark"),
        ("sign: limit, value: opens", "limit_contact", "open"),
        ("sign: sensor looks, value: clean", "flame_rod_looks", "clean"),
        ("sign: rod is, value: out of flame", "flame_rod_is", "out_of_flame"),
        ("history: blower motor, value: 'replaced, now worse'", "blower_motor", "new_part"),
        ("history: flame rod, value: cleaned helped", "flame_rod", "helped_a_while"),
    ],
)
def test_what_shops_wrote_and_nobody_read_is_read(entry: str, name: str, word: str, evidence: Evidence) -> None:
    (record,) = understand(parse_yaml(f"records: [{{{entry}}}]", "report.yaml"), evidence.knowledge, evidence.vocabulary).records
    assert (record.name, record.word) == (name, word)


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("{experiment: jumped r w at board, value: fires right up}", ("starts_when_joined_at_board", "yes")),
        ("{experiment: smack the board, value: works}", ("board_pressed_helps", "yes")),
        ("{experiment: push the board, value: nothing}", ("board_pressed_helps", "no")),
        ("{experiment: hit the inducer, value: starts}", ("inducer_tapped_helps", "yes")),
        ("{experiment: plug wiggled, value: comes back}", ("plug_moved_helps", "yes")),
        ("{sign: ran blower straight off line, value: 'yes'}", ("blower_fed_directly", "runs")),
        ("{sign: hose pulled, value: within 2 seconds}", ("gas_off_when_hose_pulled", "within_2_seconds")),
        ("{sign: inducer, value: screams}", ("inducer_noise", "noisy")),
        ("{sign: water, value: on board}", ("water_on_controls", "dripped_on")),
        ("{point: volts at stat r c, value: 25.1}", ("r_to_c_at_thermostat", 25.1)),
        ("{point: 120v at inducer plug, value: 119}", ("inducer_volts_at_motor", 119.0)),
        ("{point: ps vacuum, value: 1.1}", ("draft", 1.1)),
        ("{point: water column at switch, value: 0.9}", ("draft", 0.9)),
        ("{point: volts neutral to ground, value: 0.3}", ("neutral_to_chassis_at_board", 0.3)),
        ("{point: mv coil ohms, value: 40}", ("gas_valve_coil_ohms", 40.0)),
        ("{history: module, value: replaced}", ("control_board", "new_part")),
        ("{history: fuse, value: replaced blows again}", ("low_voltage_fuse", "replaced_no_change")),
    ],
)
def test_names_of_the_trade_that_mean_one_thing_are_read(line: str, said: tuple[str, object], knowledge: Knowledge) -> None:
    (record,) = understand(parse_yaml(f"records:\n- {line}", "r.yaml"), knowledge).records

    assert (record.name, record.number if record.kind == "point" else record.word) == said


@pytest.mark.parametrize(
    ("line", "both"),
    [
        ("{experiment: jump r to w, value: fires up}", ["starts_when_joined_at_board", "starts_when_joined_at_thermostat"]),
        ("{experiment: sucked on hose, value: clicks}", ["closes", "stays_open"]),
        ("{experiment: new fuse, value: blew again}", ["at_once", "on_heat_call", "on_fan_call"]),
        ("{point: motor amps, value: 5.2}", ["blower_amps", "inducer_amps"]),
        ("{sign: humming, value: 'yes'}", ["inducer_runs", "blower_runs", "transformer_hums"]),
        ("{sign: blower, value: comes on late}", ["blower_starts_in_heat: starts", "blower_starts_in_heat: only_after_limit_trip"]),
    ],
)
def test_names_of_the_trade_that_mean_two_things_are_refused_with_both(line: str, both: list[str], knowledge: Knowledge) -> None:
    with pytest.raises(BadInput) as refused:
        understand(parse_yaml(f"records:\n- {line}", "r.yaml"), knowledge)

    assert all(one in str(refused.value.problems[0]) for one in both)

@pytest.mark.parametrize("name", ["blower", "blower motor"])
def test_of_what_could_be_several_other_signs_the_one_that_nobody_typed_is_not_named(name: str, knowledge: Knowledge) -> None:
    said = refused(knowledge, f"{{sign: {name}, value: hot}}")
    assert "blower_runs" not in said
    assert "hot could be blower_motor_hot: hot" in said


def test_a_place_is_no_step_of_a_sign_that_is_not_seen_in_it(knowledge: Knowledge) -> None:
    """The wiring on the inducer is looked at whenever one likes; whether the inducer runs is seen as it starts (`steps` of each sign)."""
    assert "inducer_start" not in knowledge.sign["wiring_melted"].steps
    assert "inducer_start" in knowledge.sign["inducer_runs"].steps
    assert "yes on inducer" in refused(knowledge, "{sign: wiring melted, value: yes on inducer}")
    assert one(knowledge, "{sign: inducer runs on inducer, value: no}").step == "inducer_start"
    assert one(knowledge, "{sign: wiring melted, value: yes at inducer start}").step == "inducer_start"  # a step by its own name is told as one
