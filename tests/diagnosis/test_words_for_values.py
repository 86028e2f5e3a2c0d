"""What technicians write for names and values: each group beside a neighbour that sounds like it and must not be taken so. Common practice, no source."""

from __future__ import annotations

import pytest

from furnace_diag.diagnosis.one_record import record_of
from furnace_diag.diagnosis.records import Record
from furnace_diag.diagnosis.vocabulary import Vocabulary
from furnace_diag.knowledge.models import Knowledge
from furnace_diag.problems import BadInput, Place

# (kind, name, value as written, what it is of, its value or figure)
READ = [
    # an igniter that is whole, or has no crack, was looked at: nothing else of it can be so
    ("sign", "igniter", "whole", "igniter_looks", "whole"), ("sign", "igniter", "not cracked", "igniter_looks", "whole"),
    # nothing, in the words of the shop
    ("point", "manifold", "zip", "manifold_pressure", 0.0), ("point", "manifold", "nil", "manifold_pressure", 0.0),
    ("point", "line to neutral at board", "zilch", "line_to_neutral_at_board", 0.0),
    ("point", "line to neutral at board", "no juice", "line_to_neutral_at_board", 0.0),
    ("sign", "power at furnace", "no juice", "supply_at_furnace", "dead"), ("sign", "power to the board", "no juice", "line_at_board", "missing"),
    ("sign", "flame", "no fire", "flame_seen", "no"),
    # how a flame stands, and how it looks
    ("sign", "flame", "nice and steady", "flame_is_steady", "yes"), ("sign", "flame", "good blue", "flame_color", "blue_and_steady"),
    # what did not do what it does when something is wrong
    ("sign", "breaker", "didnt trip", "breaker_position", "on"), ("sign", "breaker", "never tripped", "breaker_position", "on"),
    ("sign", "blower", "wont quit", "blower_always_on", "yes"), ("sign", "fan", "never quits", "blower_always_on", "yes"),
    ("sign", "call watched", "shut off normal", "call_watched", "ended_normally"),
    # what is told of its sound is of its sound
    ("sign", "inducer", "sounds normal", "inducer_noise", "normal"), ("sign", "blower", "sounds ok", "blower_noise", "normal"),
    ("sign", "inducer noise", "sounds ok", "inducer_noise", "normal"), ("sign", "inducer noise", "sounds loud", "inducer_noise", "noisy"),
    # much of what mice leave
    ("sign", "rodent signs", "lots", "rodent_signs", "present"), ("sign", "rodent signs", "all over", "rodent_signs", "present"),
    # when it is so
    ("sign", "windy days", "yes", "fault_goes_with_wind", "yes"), ("sign", "fault", "only on windy nights", "fault_goes_with_wind", "yes"),
    ("sign", "works again after cooling off", "yes", "lives_again_after_rest", "yes"),
    ("sign", "ps at rest", "closed", "pressure_switch_closed_at_rest", "yes"),
    ("sign", "ps at rest", "open", "pressure_switch_closed_at_rest", "no"), ("sign", "spillage at draft hood", "yes", "vent_spills", "yes"),
    # readings by their place
    ("point", "flame sensor wire ohms", "0.3", "rod_wire_end_to_end_ohms", 0.3), ("point", "run cap mfd", "5.1", "capacitor_microfarads", 5.1),
    ("point", "volts at board igniter terminal", "119", "igniter_pin_to_neutral", 119.0),
    ("point", "volts at inducer terminal", "119", "inducer_pin_to_neutral", 119.0), ("point", "neutral to neutral on board", "3", "across_neutral_posts", 3.0),
    # a repair after which it was worse was one, and nobody can say that it changed nothing
    ("history", "board", "replaced, worse", "control_board", "new_part"), ("history", "flame sensor", "cleaned, worse", "flame_rod", "cleaned"),
]  # fmt: skip

REFUSED = [
    ("sign", "igniter", "ok"),  # to the eye, by the meter, or glowing
    ("point", "igniter ohms", "zip"),  # no ohms, or no path
    ("sign", "flame", "good"),  # there, or of a good color
    ("sign", "blower", "quits"),  # now and then, or hot
    ("sign", "call watched", "shut off"),  # as it should, or before
    ("sign", "ps at rest", "yes"),  # that it is closed, or as it should be
    ("point", "24v pin to c", "24"),  # R, W, the gas pin or where the transformer comes in
    ("sign", "hear relay click", "yes"),  # of the inducer or the blower
    ("sign", "rodent signs", "not a lot"),
    ("history", "board", "worse"),  # cleaned, or new
]  # fmt: skip


def read(kind: str, name: str, value: str, knowledge: Knowledge) -> Record:
    return record_of({kind: name, "value": value}, Place("r.yaml", 1, 1), Vocabulary(knowledge))


@pytest.mark.parametrize(("kind", "name", "value", "of", "told"), READ)
def test_words_of_the_trade_are_read(kind: str, name: str, value: str, of: str, told: object, knowledge: Knowledge) -> None:
    record = read(kind, name, value, knowledge)

    assert (record.name, record.number if record.kind == "point" else record.word) == (of, told)


@pytest.mark.parametrize(("kind", "name", "value"), REFUSED)
def test_what_could_be_several_things_is_refused(kind: str, name: str, value: str, knowledge: Knowledge) -> None:
    with pytest.raises(BadInput):
        read(kind, name, value, knowledge)


@pytest.mark.parametrize(
    ("name", "value", "of", "told"),
    [
        ("port on inducer", "rust in it", "pressure_port_looks", "plugged"), ("hose at inducer", "off", "pressure_hose_looks", "off"),
        ("hose on inducer", "cracked", "pressure_hose_looks", "cracked"), ("inducer port", "clear", "pressure_port_looks", "clear"),
    ],
)  # fmt: skip
def test_a_place_on_the_inducer_is_no_step(name: str, value: str, of: str, told: str, knowledge: Knowledge) -> None:
    """A port is looked at with the power off, wherever it sits."""
    record = read("sign", name, value, knowledge)

    assert (record.name, record.word, record.step) == (of, told, None)


def test_trying_to_light_is_the_trial(knowledge: Knowledge) -> None:
    entry = {"sign": "gas valve clicks", "value": "yes", "step": "trying to light"}

    assert record_of(entry, Place("r.yaml", 1, 1), Vocabulary(knowledge)).step == "ignition_trial"
