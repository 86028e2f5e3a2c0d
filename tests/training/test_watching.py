"""What the screen tells as time goes by is kept as records: what was shown and stood so to the end of its step, and nothing that was not shown."""

from __future__ import annotations

import pytest

from furnace_diag.diagnosis.against import impossible_with
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.one_record import record_of
from furnace_diag.furnace.family import Family, Fault
from furnace_diag.problems import Place
from furnace_diag.training.acts import Act
from furnace_diag.training.bench import Seen
from furnace_diag.training.drill import Drill
from furnace_diag.training.lesson import Hidden
from furnace_diag.training.score import WATCHED, replay, score
from tests.training.test_every_failure import lesson_with

OFF, ON, HEAT, REST = Act(do="power", what="off"), Act(do="power", what="on"), Act(do="call", what="call"), Act(do="wait", what="rest")
END, FAN = Act(do="call"), Act(do="call", what="fan_call")
INDUCER_PLUG = Act(do="lift", what="the plug on the inducer pin of the board")


def start(family: Family, fault: str) -> Drill:
    name = Fault(*fault.split(":"))
    return Drill(family, lesson_with(family, Hidden(name), options=family.failure(name).only_when))


def plays(drill: Drill, *acts: Act) -> list[Seen]:
    """What the screen tells in these acts."""
    seen: list[Seen] = []
    for act in acts:
        drill.do(act, seen.append)
    return seen


def watched(drill: Drill) -> list[tuple[object, object, object]]:
    """Sign, value and step of what was kept without being asked for."""
    return [(t.record["sign"], t.record["value"], t.record["step"]) for t in drill.taken if t.watched and t.record is not None]


def test_what_came_and_stood_is_kept_at_its_step(family: Family) -> None:
    """A good heat call in the order of rules/sequence; with a film on the rod the burners light and are dropped again, four times."""
    drill = start(family, "flame_rod:filmed")
    plays(drill, HEAT, REST)
    kept = watched(drill)

    assert kept[:4] == [
        ("inducer_runs", "yes", "inducer_start"), ("igniter_glows", "bright", "igniter_warm_up"),
        ("gas_valve_clicks", "yes", "ignition_trial"), ("flame_seen", "yes", "ignition_trial"),
    ]  # fmt: skip
    assert len(kept) == len({(sign, step) for sign, _, step in kept})  # the first trial alone: so the ranking knows it


def test_what_did_not_come_is_not_kept(family: Family) -> None:
    """A broken igniter does not glow: the screen tells nothing of it, and only who looks has seen that."""
    drill = start(family, "igniter:open")
    seen = plays(drill, HEAT, REST)

    assert "igniter_glows" not in {s.sign for s in seen}
    assert {sign for sign, _, _ in watched(drill)} <= {s.sign for s in seen}
    assert "flame_seen" not in {sign for sign, _, _ in watched(drill)}


def test_a_step_that_was_cut_off_is_not_kept(family: Family) -> None:
    """Nobody knows how the trial would have ended whose call was taken away in it."""
    drill = start(family, "flame_rod:filmed")
    plays(drill, HEAT)
    while drill.bench.step() != "ignition_trial":
        plays(drill, Act(do="wait"))
    plays(drill, Act(do="wait", seconds=0.3))
    assert drill.bench.watched()["gas_valve_clicks"] == "yes"
    plays(drill, END, REST)

    assert "ignition_trial" not in {step for _, _, step in watched(drill)}
    assert "call" not in {step for _, _, step in watched(drill)}  # what comes about as the call ends is of no call


def test_what_the_trainee_brought_about_is_no_evidence(family: Family, evidence: Evidence) -> None:
    """With its plug off the inducer stands still: that, and how far such a call gets, says nothing of the inducer."""
    drill = start(family, "flame_rod:filmed")
    plays(drill, OFF, INDUCER_PLUG, ON, HEAT, Act(do="look", what="inducer_runs"), REST, Act(do="look", what="stops_at"))
    in_call = [t.record for t in drill.taken if t.record is not None and t.record.get("step") != "standby"]
    assert in_call == []

    plays(drill, OFF, Act(do="back", what="the plug on the inducer pin of the board"), ON, END, REST, HEAT, REST, Act(do="name", what="flame_rod"))
    assert ("inducer_runs", "yes", "inducer_start") in watched(drill)
    assert score(drill, evidence).belief > 0.3


def test_it_is_no_reading_and_the_replay_says_that_it_was_watched(family: Family, evidence: Evidence) -> None:
    drill = start(family, "flame_rod:filmed")
    plays(drill, HEAT, REST, Act(do="look", what="light"), Act(do="name", what="flame_rod"))
    moments = list(replay(drill, evidence))

    assert score(drill, evidence).readings == sum(not t.watched for t in drill.taken) == 2  # how far it got, and the light
    assert moments[0].said.startswith(WATCHED)
    assert "flame_seen: yes, at ignition_trial" in moments[0].said
    assert len(moments) < len(drill.taken)


def test_a_drill_that_is_taken_up_has_watched_the_same(family: Family) -> None:
    """Nothing hears it then."""
    told, again = start(family, "flame_rod:filmed"), start(family, "flame_rod:filmed")
    acts = (HEAT, Act(do="wait", seconds=20), REST, END, REST, FAN, REST, OFF, ON)
    plays(told, *acts)
    for act in acts:
        again.do(act)

    assert watched(again) == watched(told) != []
    assert again.account.events == told.account.events


def test_no_failure_is_denied_by_what_is_watched_of_it(family: Family, evidence: Evidence) -> None:
    """The bench and the furnaces of the ranking are one: each record of a watched call is one that some furnace with that failure gives."""
    wrong = []
    for fault in family.faults[::7]:
        drill = start(family, str(fault))
        plays(drill, HEAT, REST, END, REST, FAN, Act(do="look", what="blower_runs"), REST, END, REST)
        records = [record_of(t.record, Place("drill", n, 1), evidence.vocabulary) for n, t in enumerate(drill.taken, 1) if t.record is not None]
        wrong += [f"{fault}: {said}" for r in records for said in impossible_with(evidence, evidence.groups([r]), [str(fault)])]
    assert wrong == []


@pytest.mark.parametrize(
    ("fault", "acts", "step"),
    [  # a step is called by what is called for, where the control does something else than answer it
        ("thermostat:heat_contact_stuck", (), "standby"), ("thermostat_cable:w_and_g_swapped", (FAN,), "fan_call"),
        ("thermostat_cable:w_and_g_swapped", (HEAT,), "call"), ("igniter:open", (HEAT, REST), "lockout"),
    ],
)  # fmt: skip
def test_a_step_is_called_by_what_the_technician_called_for(family: Family, fault: str, acts: tuple[Act, ...], step: str) -> None:
    drill = start(family, fault)
    plays(drill, *acts, Act(do="wait", seconds=100))

    assert drill.bench.step() == step


def test_what_goes_on_without_a_call_has_done_so_before_anybody_came(family: Family) -> None:
    """A thermostat whose heat contact is stuck has the burners lit all along; a call more changes nothing, and is no call that stopped."""
    drill = start(family, "thermostat:heat_contact_stuck")
    assert drill.bench.watched()["flame_seen"] == "yes"
    plays(drill, HEAT, REST, Act(do="look", what="stops_at"))

    assert drill.taken[-1].record == {"sign": "stops_at", "value": "heating", "call": 1}


def test_a_call_that_the_control_does_not_begin_tells_of_no_call(family: Family) -> None:
    """After a draft fault the control waits, whatever the thermostat does (rules/sequence): where a call made then stops, nobody has seen."""
    drill = start(family, "pressure_switch:will_not_close")
    plays(drill, HEAT, REST, END, HEAT, REST)
    stops = [t.record for t in drill.taken if t.name == "stops_at"]

    assert drill.bench.step() == "draft_fault"
    assert stops == [{"sign": "stops_at", "value": "inducer_start", "call": 1}]
    plays(drill, OFF, ON, HEAT, REST)  # the power clears it
    assert [t.record for t in drill.taken if t.name == "stops_at"][-1] == {"sign": "stops_at", "value": "inducer_start", "call": drill.bench.call_number}


def test_a_call_that_nothing_answers_stops_where_it_does(family: Family) -> None:
    """With W open the control stands by: that is where it stops, and no call before holds it back."""
    drill = start(family, "thermostat_cable:w_open")
    plays(drill, HEAT, REST, END, HEAT, REST)
    assert [t.record for t in drill.taken if t.name == "stops_at"][-1:] == [{"sign": "stops_at", "value": drill.calls.said[2]["stops_at"], "call": 2}]
