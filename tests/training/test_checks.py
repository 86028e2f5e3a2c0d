"""After a repair the furnace answers the checks that it can, and not the trainee; what is read between two terminals counts as the point it is."""

from __future__ import annotations

import math

import pytest

from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.furnace.family import Family, Fault, usual_site
from furnace_diag.knowledge.cross import cross_check
from furnace_diag.knowledge.models import AnsweredBy, Within
from furnace_diag.training import checks
from furnace_diag.training.acts import Act
from furnace_diag.training.bench import Bench
from furnace_diag.training.commands import Reader
from furnace_diag.training.drill import Drill
from furnace_diag.training.lesson import Hidden
from furnace_diag.training.score import checks_of, replay, score
from tests.training.test_drill import GAS_OFF, GAS_ON, HEAT, OFF, ON, REST, does, start
from tests.training.test_every_failure import lesson_with

END = Act(do="call")
CLEAN = Act(do="replace", what="flame_rod", other="clean_the_flame_rod")
MENDING = (HEAT, REST, OFF, GAS_OFF, CLEAN, GAS_ON, ON)
PLUG = "the plug on the inducer pin of the board"
RISE = Act(do="look", what="rise_against_plate")


def met(drill: Drill, evidence: Evidence) -> dict[str, bool]:
    """The checks of the repair, and whether each is met."""
    state = checks_of(drill, evidence.finder)
    assert state is not None
    return {n.condition: not (n.calls_left or n.denied_by) for n in state.needs}


def test_flame_current_after_cleaning_and_full_calls_are_the_furnaces_to_tell(family: Family, evidence: Evidence) -> None:
    drill = start(family, "flame_rod:filmed")
    does(drill, *MENDING, REST)
    assert not met(drill, evidence)["flame_current_is_good"]
    does(drill, Act(do="wait", seconds=300), Act(do="read", what="flame_current"), END, REST)
    for _ in range(2):
        assert not met(drill, evidence)["full_calls_watched"]  # one call is not three
        does(drill, HEAT, REST, END, REST)

    after = met(drill, evidence)
    assert after["flame_current_is_good"]
    assert after["full_calls_watched"]
    assert not after["leads_sit_tight"]  # nobody said so: that is the trainee's to say


@pytest.mark.parametrize(
    ("left", "ways"),
    [
        ((), ()), ((OFF,), ("power on",)), ((GAS_OFF,), ("gas on",)),
        ((OFF, Act(do="lift", what=PLUG), GAS_OFF), (f"back {PLUG}", "gas on", "power on")),
    ],
)  # fmt: skip
def test_what_keeps_the_next_call_away_is_told_as_it_is_typed(family: Family, left: tuple[Act, ...], ways: tuple[str, ...]) -> None:
    drill = start(family, "igniter:open")
    does(drill, OFF, GAS_OFF, CLEAN, GAS_ON, ON, *left)
    told = does(drill, Act(do="same"))
    assert (told.kind, told.text) == ("cannot", f"Nobody has seen that yet: {', '.join([*ways, 'call heat and wait rest'])}.")
    reader = Reader(family)
    for way in ways:
        act = reader.read(way, drill).act
        assert act is not None
        assert drill.do(act).kind == "done"
    assert "failed" in does(drill, HEAT, REST).text
    assert does(drill, Act(do="same")).kind == "done"


def test_the_power_that_comes_on_tells_what_is_still_off(family: Family) -> None:
    drill = start(family, "igniter:open")
    assert PLUG in does(drill, OFF, Act(do="lift", what=PLUG), ON).text
    assert "Still off" not in does(drill, OFF, Act(do="back", what=PLUG), ON).text


def test_a_repair_that_did_not_help_is_seen_and_told(family: Family, evidence: Evidence) -> None:
    drill = start(family, "igniter:open")
    does(drill, *MENDING)
    assert does(drill, Act(do="same")).kind == "cannot"  # nobody has watched a call yet
    assert "failed" in does(drill, REST).text
    assert not met(drill, evidence)["full_calls_watched"]
    assert list(replay(drill, evidence))[-1].next == "what else proves the repair"
    assert does(drill, Act(do="same")).kind == "done"
    assert list(replay(drill, evidence))[-1].next != "what else proves the repair"
    assert {"history": "flame_rod:filmed", "value": "replaced_no_change"} in [t.record for t in drill.taken]
    assert checks_of(drill, evidence.finder) is None


def test_of_a_repair_that_helped_nobody_says_that_it_did_not(family: Family) -> None:
    drill = start(family, "flame_rod:filmed")

    assert does(drill, *MENDING, REST, END, REST, Act(do="same")).kind == "cannot"


def test_a_call_is_watched_from_start_to_end_or_not_at_all(family: Family) -> None:
    """The blower's off-delay belongs to it; a call ended before its blower runs, or with the power cut, shows nothing."""
    drill = start(family, "flame_rod:filmed")
    does(drill, *MENDING, REST, OFF, ON, Act(do="wait", seconds=10), END, REST)
    ended = [t for t in drill.taken if t.record and t.record.get("sign") == "call_watched"]
    assert ended == []
    does(drill, HEAT, REST, END)
    assert [t for t in drill.taken if t.record and t.record.get("sign") == "call_watched"] == []
    does(drill, REST)
    assert [t.record["value"] for t in drill.taken if t.record and t.record.get("sign") == "call_watched"] == ["ended_normally"]


@pytest.mark.parametrize(("fault", "word"), [("filter:blocked", "above"), ("flame_rod:filmed", "within")])
def test_the_rise_is_held_against_the_plate_after_ten_minutes(family: Family, fault: str, word: str) -> None:
    """By the plate of a virtual furnace, 30 to 60 F (common practice): a blocked filter takes the air away."""
    drill = start(family, fault, severity=0.5)
    does(drill, OFF, GAS_OFF, CLEAN, GAS_ON, ON, HEAT, REST)
    assert does(drill, RISE).kind == "cannot"
    does(drill, Act(do="wait", seconds=600))
    drill.do(RISE)

    rise = drill.bench.point(family.knowledge.point["temperature_rise"], "high")
    assert (rise > 60) == (word == "above")
    assert drill.taken[-1].record is not None
    assert drill.taken[-1].record["value"] == word


@pytest.mark.parametrize(
    ("fault", "check", "word"),
    [
        ("blower_motor:bearings_tight", "blower_amps_against_plate", "over"),  # a shaft that drags slips more and draws more: common practice
        ("blower_capacitor:open", "blower_amps_against_plate", "over"),  # it stands and hums at its locked-rotor current
        ("gas_valve:set_high", "input_against_plate", "over"),
        ("gas_valve:set_low", "input_against_plate", "below"),
    ],
)
def test_what_a_fault_does_to_amps_and_input_is_the_furnaces_to_tell(family: Family, fault: str, check: str, word: str) -> None:
    assert answer(burning(family, fault), family, check) == word


def test_a_motor_that_draws_nothing_has_no_current_that_passes(family: Family) -> None:
    assert checks.answered(burning(family, "blower_motor:winding_open"), family.knowledge.sign["blower_amps_against_plate"]) is None


def test_the_input_is_the_root_of_the_manifold_pressure(family: Family) -> None:
    """Flow through an orifice goes with the root of the pressure over it (Bernoulli); the plate's is at 3.5 in. w.c., common practice."""
    bench = burning(family, "gas_valve:set_low")
    pressure = bench.point(family.knowledge.point["manifold_pressure"], "high")

    assert math.isclose(bench.of_call("input_percent"), 100 * math.sqrt(pressure / 3.5), rel_tol=1e-3)
    assert math.isnan(Bench(family, lesson_with(family)).of_call("input_percent"))  # nothing burns


def test_the_return_is_blocked_only_while_it_burns(family: Family) -> None:
    drill, blocked = start(family, "filter:blocked", severity=0.0), Act(do="look", what="limit_on_blocked_return")

    assert does(drill, blocked).kind == "cannot"  # nothing was called
    assert does(drill, OFF, Act(do="replace", what="filter"), ON, HEAT, REST, blocked).kind == "seen"
    assert drill.taken[-1].record is not None
    assert drill.taken[-1].record["value"] == "burners_off_blower_on"
    assert does(drill, Act(do="state", what="limit_on_blocked_return", other="burners_off_blower_on")).kind == "cannot"  # not the trainee's to say


def burning(family: Family, fault: str) -> Bench:
    """A furnace with a fault, in a heat call long enough for its blower to be due."""
    bench = Bench(family, lesson_with(family, Hidden(Fault(*fault.split(":")), severity=0.5)))
    bench.call(family.sequence.heat_call)
    bench.run_on(150)
    return bench


def answer(bench: Bench, family: Family, check: str) -> str:
    found = checks.answered(bench, family.knowledge.sign[check])
    assert found is not None
    return found[0]


def test_what_the_furnace_answers_is_not_the_trainees_to_say(family: Family) -> None:
    drill = start(family, "flame_rod:filmed")
    told = [drill.do(Act(do="state", what=s.sign, other=s.values[0])) for s in family.knowledge.sign.values() if s.answered_by is not None]

    assert len(told) >= 8
    assert {t.kind for t in told} == {"cannot"}


@pytest.mark.parametrize("sign", ["rise_against_plate", "static_against_plate", "manifold_against_plate", "draft_against_set_point", "capacitor_against_mark",
                                  "gas_lights_within", "limit_in_fifteen_minutes", "blower_amps_against_plate", "inducer_amps_against_plate",
                                  "input_against_plate"])  # fmt: skip
def test_a_good_furnace_passes_at_both_ends_of_every_number(family: Family, sign: str) -> None:
    """What the rules let a good furnace be must not fail a check of theirs."""
    entry = family.knowledge.sign[sign]
    for end in (0, 1):
        site = {name: float(value[0]) for name, value in usual_site(family.furnace, place=end)[0].items()}
        bench = Bench(family, lesson_with(family, site=site))
        bench.call(family.sequence.heat_call)
        bench.run_on(1000)
        found = checks.answered(bench, entry)

        assert found is not None
        assert found[0] == entry.values[0], found


def test_the_first_band_that_holds_is_meant() -> None:
    by = AnsweredBy(reads="x", values={"good": Within(low=1, high=2), "less": Within(high=1), "more": Within()}, source="here")

    assert [checks.word_for(by, figure) for figure in (0.5, 1, 2, 2.5)] == ["less", "good", "good", "more"]


def test_a_slip_in_what_answers_a_check_is_a_problem_of_the_rules(family: Family) -> None:
    k = family.knowledge
    sign = k.sign["rise_against_plate"]
    by = sign.answered_by
    assert by is not None
    wrong = by.model_copy(update={"reads": "tempratur_rise", "less": "nothing", "steps": ("hating",), "values": {"withn": Within(), "above": Within()}})
    signs = {**k.sign, sign.sign: sign.model_copy(update={"answered_by": wrong})}
    told = [p.message for p in cross_check(k.model_copy(update={"sign": signs}))]

    assert [any(word in t for t in told) for word in ("tempratur_rise", "nothing", "hating", "withn")] == [True] * 4


# --- readings between any two terminals ---


@pytest.mark.parametrize(("pair", "point"), [(("board_r", "board_common"), "r_to_c_at_board"), (("board_common", "board_r"), "r_to_c_at_board")])
def test_volts_between_the_two_ends_of_a_point_are_that_point(family: Family, pair: tuple[str, str], point: str) -> None:
    drill, other = start(family, "igniter:open"), start(family, "igniter:open")
    drill.do(Act(do="volts", what=pair[0], other=pair[1], meter="low"))
    other.do(Act(do="read", what=point, meter="low"))

    assert drill.taken[-1].record == other.taken[-1].record is not None
    assert (drill.taken[-1].name, drill.minutes) == (point, other.minutes)


def test_ohms_in_place_are_the_part_only_where_nothing_beside_it_counts(family: Family) -> None:
    """With the leads on a meter reads all that lies beside the part as well; then it is no reading of the part."""
    drill = start(family, "igniter:open")
    does(drill, HEAT, REST, OFF, Act(do="ohms", what="igniter_hot", other="igniter_neutral"))
    assert drill.taken[-1].name == "igniter_ohms"
    both: set[bool] = set()
    for point in (p for p in family.points if str(p.reads).startswith("ohms:")):
        _, _, names = str(point.reads).partition(":")
        ends = [n for name in names.split("+") for n in family.elements[family.number[name]].between or ()]
        pair = [n for n in dict.fromkeys(ends) if ends.count(n) == 1]
        if len(pair) != 2 or drill.do(Act(do="ohms", what=pair[0], other=pair[1])).kind != "reading":
            continue
        in_place, name = drill.bench.ohms((pair[0], pair[1])), drill.taken[-1].name
        own = drill.bench.point(family.knowledge.point[name or point.point], "high")
        alike = own == in_place or math.isclose(own, in_place, rel_tol=0.02)
        assert alike == bool(name), point.point
        both.add(alike)
    assert both == {True, False}


def test_what_is_no_point_is_noted_and_the_replay_says_so(family: Family, evidence: Evidence) -> None:
    drill = start(family, "igniter:open")
    does(drill, Act(do="volts", what="board_line", other="gas_pin"), Act(do="volts", what="board_r", other="board_common"), Act(do="name", what="igniter"))
    first, second = replay(drill, evidence)

    assert "not weighed" in first.said
    assert second.said.startswith("r_to_c_at_board")
    kinds = [event for event, _ in drill.account.events if event in ("note", "record")]
    assert kinds == ["note", "record"]


def test_the_score_counts_what_was_proved_of_the_repair(family: Family, evidence: Evidence) -> None:
    drill = start(family, "flame_rod:filmed")
    does(drill, *MENDING, REST, END, REST, Act(do="name", what="flame_rod"))
    result = score(drill, evidence)
    named = score(does_name(family), evidence)

    assert result.repair_proved is False
    assert result.checks_open
    assert (named.repair_proved, named.checks_open) == (None, ())


def does_name(family: Family) -> Drill:
    """A drill that ends with nothing put right."""
    drill = Drill(family, lesson_with(family, Hidden(Fault("igniter", "open"))))
    drill.do(Act(do="name", what="igniter"))
    return drill
