"""A short behind a relay, with the breaker or the fuse put in again: it is seen to go as its load comes on, once.

A short draws nothing until its relay closes (Ohm's law); that the breaker or the fuse goes then and not before, and that a breaker is reset once
at most, is common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.furnace.family import Family, Fault
from furnace_diag.training.acts import Act, Told
from furnace_diag.training.bench import Seen
from furnace_diag.training.drill import Drill
from furnace_diag.training.lesson import Hidden
from furnace_diag.training.policy import FOUND, Album
from furnace_diag.training.score import score
from tests.training.test_every_failure import lesson_with

OFF, ON, HEAT, REST = Act(do="power", what="off"), Act(do="power", what="on"), Act(do="call", what="call"), Act(do="wait", what="rest")
RESET = Act(do="replace", what="power_supply", other="reset_the_breaker")
LIGHT, BREAKER = Act(do="look", what="light"), Act(do="look", what="breaker_position")


def start(family: Family, fault: str, *, put_in_again: bool = False) -> Drill:
    return Drill(family, replace(lesson_with(family, Hidden(Fault(*fault.split(":")))), put_in_again=put_in_again))


def does(drill: Drill, *acts: Act) -> tuple[Told, list[Seen]]:
    """What came of the last act, and what was seen in all of them."""
    seen: list[Seen] = []
    return [drill.do(act, seen.append) for act in acts][-1], seen


def works(drill: Drill) -> bool:
    """Whether the control has its supply."""
    return drill.bench.watched()["light"] != "dark"


# where a good heat call drives the load, the short goes: the step is that of tests/furnace/test_trips.py
WATCHED = [
    ("igniter:grounded", "igniter_warm_up"),
    ("igniter:shorted", "igniter_warm_up"),
    ("inducer:grounded", "inducer_start"),
    ("inducer_harness:chafed", "inducer_start"),
    ("blower_motor:grounded", "heating"),
    ("blower_capacitor:lead_on_chassis", "heating"),
    ("gas_valve:coil_shorted", "ignition_trial"),
]


@pytest.mark.parametrize(("fault", "step"), WATCHED)
def test_a_drill_watches_it_up_to_its_trip(family: Family, fault: str, step: str) -> None:
    drill = start(family, fault, put_in_again=True)
    assert works(drill)
    _, seen = does(drill, HEAT, REST, Act(do="look", what="stops_at"))

    assert not works(drill)
    assert ("light", "dark") in {(s.sign, s.value) for s in seen}
    assert {"sign": "stops_at", "value": step, "call": 1} in [t.record for t in drill.taken]


@pytest.mark.parametrize(("fault", "step"), WATCHED)
def test_the_check_of_a_lesson_sees_the_same(family: Family, fault: str, step: str) -> None:
    hidden = Hidden(Fault(*fault.split(":")))
    lesson = replace(lesson_with(family, hidden), put_in_again=True)
    sign = family.knowledge.sign["stops_at"]

    assert Album(family, lesson, [hidden]).shows(sign, None, FOUND) == step
    assert Album(family, replace(lesson, put_in_again=False), [hidden]).shows(sign, None, FOUND) == "dark"


@pytest.mark.parametrize("fault", [fault for fault, _ in WATCHED if not fault.startswith("gas_valve")])
def test_found_dead_it_is_watched_once_the_breaker_was_reset(family: Family, fault: str) -> None:
    drill = start(family, fault)
    assert not works(drill)
    does(drill, HEAT, OFF, RESET, ON)
    assert works(drill) or fault.startswith("inducer")  # whose load comes on with the call that stands
    told, _ = does(drill, REST)

    assert not works(drill)
    assert "tripped again" in told.text or fault.startswith("inducer")
    assert drill.account.repair is None  # it changed nothing, so what was read since tells of the fault
    assert does(drill, OFF, BREAKER)[0].text.endswith("tripped")
    assert not drill.hurts


def test_it_is_reset_once_and_after_a_repair_again(family: Family) -> None:
    drill = start(family, "igniter:grounded")
    does(drill, OFF, RESET, ON, HEAT, REST, OFF)
    stopped, _ = does(drill, RESET)

    assert (stopped.kind, [h.caution for h in drill.hurts]) == ("stopped", ["reset_once"])
    gas_off, gas_on = Act(do="gas", what="off"), Act(do="gas", what="on")
    does(drill, gas_off, Act(do="replace", what="igniter"), gas_on, ON, Act(do="call"), REST, HEAT, REST)
    assert drill.bench.step() == family.sequence.order[-1]


def test_a_short_that_waits_for_no_load_goes_as_the_power_comes(family: Family) -> None:
    for fault in ("wiring_harness:line_chafed", "power_supply:breaker_worn"):
        drill = start(family, fault)
        does(drill, OFF, RESET)
        assert not drill.bench.breaker_is_open()
        assert "tripped again" in does(drill, ON)[0].text
        assert not works(drill)


def test_a_breaker_that_holds_is_mended_by_it(family: Family) -> None:
    drill = start(family, "power_supply:breaker_tripped")
    does(drill, OFF, RESET, ON, HEAT, REST)

    assert drill.bench.step() == family.sequence.order[-1]
    assert drill.account.repair is not None


def test_with_the_power_off_the_short_is_there_to_be_measured(family: Family) -> None:
    """A winding or a wire that touches metal reads few ohms to it, whether the breaker is in or not."""
    for fault, point in (("igniter:grounded", "igniter_to_chassis_ohms"), ("inducer:grounded", "inducer_to_case_ohms")):
        drill = start(family, fault, put_in_again=True)
        does(drill, OFF, Act(do="read", what=point))
        ohms = drill.taken[-1].record
        assert ohms is not None
        assert 0 < float(str(ohms["value"]).removesuffix(" ohm")) < 10
        assert does(drill, BREAKER)[0].text.endswith(": on")


def test_what_was_read_of_the_dead_furnace_does_not_speak_against_what_is_watched(family: Family, evidence: Evidence) -> None:
    """The two furnaces, found dead and put in again, are one: whoever looks before and after is believed about as much as who looks after alone."""
    both, after = start(family, "igniter:grounded"), start(family, "igniter:grounded", put_in_again=True)
    does(both, HEAT, LIGHT, REST, OFF, RESET, ON, REST, OFF, BREAKER, Act(do="name", what="igniter"))
    does(after, HEAT, REST, OFF, BREAKER, Act(do="name", what="igniter"))

    assert score(after, evidence).belief > 0.5
    assert score(both, evidence).belief >= score(after, evidence).belief
    assert not score(both, evidence).needlessly_replaced


def test_what_the_customer_told_is_not_set_aside(family: Family) -> None:
    told = {"sign": "light", "value": "dark", "step": "standby", "source": "told"}
    drill = Drill(family, replace(lesson_with(family, Hidden(Fault("igniter", "grounded"))), told=(told,)))
    does(drill, HEAT, LIGHT, OFF, RESET, ON, REST)

    before_the_reset = [e.record for e in drill.account.visit().entries if e.record.get("sign") == "light" and e.record.get("call", 1) == 1]
    assert before_the_reset == [told]


def test_a_new_fuse_that_blows_tells_of_the_fault_without_being_asked(family: Family) -> None:
    drill = start(family, "gas_valve:coil_shorted")
    search, new = Act(do="ohms", what="board_r", other="board_common"), Act(do="replace", what="low_voltage_fuse")
    told, _ = does(drill, HEAT, REST, OFF, search, new, ON, REST)

    assert "has blown" in told.text
    assert drill.account.repair is None
    stops = [e.record["value"] for e in drill.account.visit().telling if e.record.get("sign") == "stops_at"]
    assert stops == ["ignition_trial"]
