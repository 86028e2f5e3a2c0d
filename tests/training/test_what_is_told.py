"""What the screen of a drill tells is so: all that is seen to happen, what is weighed, what a wire at the thermostat does, what a repair fitted."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace

import pytest

from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.findings import Finder
from furnace_diag.diagnosis.one_record import record_of
from furnace_diag.diagnosis.records import Report
from furnace_diag.furnace.family import Family
from furnace_diag.problems import Place
from furnace_diag.report.training import found_lines, opening_lines
from furnace_diag.training.acts import Act, Told
from furnace_diag.training.bench import SHORTEST, Seen
from furnace_diag.training.commands import MOST_FOUND, WORDS, Reader
from furnace_diag.training.drill import Drill
from furnace_diag.training.score import checks_of, score
from tests.training.test_drill import GAS_OFF, GAS_ON, HEAT, OFF, ON, REST, does, start
from tests.training.test_every_failure import lesson_with

END, FAN, COOL = Act(do="call"), Act(do="call", what="fan_call"), Act(do="call", what="cooling_call")
TEN, NEXT = Act(do="wait", seconds=10), Act(do="wait")


def typed(drill: Drill, *lines: str) -> Told:
    """Do what is typed, line by line; the last that was told."""
    reader, told = Reader(drill.family), None
    for line in lines:
        act = reader.read(line, drill).act
        assert act is not None, line
        told = drill.do(act)
    assert told is not None
    return told


# --- all that happens is told ---


@pytest.mark.parametrize("fault", ["igniter:open", "thermostat:no_call", "control_board:cool_relay_will_not_open", "filter:blocked"])
def test_who_only_listens_knows_what_is_seen(family: Family, fault: str) -> None:
    """Calls that begin, end and follow one another, the power and a wire: whatever is seen differently afterwards was told."""
    drill = start(family, fault)
    known = drill.bench.watched()

    def hear(seen: Seen) -> None:
        known[seen.sign] = seen.value

    acts = (FAN, TEN, END, TEN, COOL, FAN, END, HEAT, NEXT, NEXT, END, NEXT, HEAT, FAN, END, REST, HEAT, TEN, OFF, TEN, ON, NEXT, END, REST)
    by_wire = (Act(do="join", what="board_r", other="board_g"), END, Act(do="join", what="thermostat_r", other="thermostat_w"), NEXT, END, REST)
    for act in (*acts, *by_wire):
        drill.do(act, hear)
        assert known == drill.bench.watched(), act


def test_a_fan_call_that_ends_tells_that_the_blower_stops(family: Family) -> None:
    drill, heard = start(family, "igniter:open"), []
    does(drill, FAN, TEN)
    drill.do(END, heard.append)

    assert [s.value for s in heard if s.sign == "blower_runs"] == ["silent"]


def test_nobody_is_told_that_no_time_has_gone_by_in_seconds(family: Family) -> None:
    assert "0 s later" not in does(start(family, "igniter:open"), REST).text


@pytest.mark.parametrize("fault", ["igniter:open", "pressure_switch:will_not_close", "flame_rod:filmed", "control_board:heat_relay_will_not_close"])
def test_the_clock_stops_at_nothing_that_it_does_not_tell(family: Family, fault: str) -> None:
    """What comes at the moment at which `wait` stops is seen then, and not as the next wait begins; where nothing is, that is said."""
    drill = start(family, fault)
    drill.do(HEAT)
    for _ in range(8):
        heard: list[Seen] = []
        told, known = drill.do(NEXT, heard.append), drill.bench.watched()
        drill.bench.run_on(SHORTEST)
        assert drill.bench.watched() == known
        assert heard or "Nothing" in told.text or "goes round" in told.text, told.text


def test_where_nothing_is_seen_to_happen_no_more_is_told_than_is_seen_on(family: Family) -> None:
    """The pressure switch closes: nobody sees it. That the igniter does not glow is for whoever looks at it."""
    drill = start(family, "igniter:open")
    told = does(drill, HEAT, NEXT).text

    assert told.endswith("Nothing seen has changed (inducer runs: yes).")


# --- what is weighed ---


def test_what_is_not_weighed_is_said_so_at_once(family: Family) -> None:
    """The account holds it as a note, so the screen says so too; and says it of nothing that is a record."""
    drill = start(family, "igniter:open")
    looks = [Act(do="look", what=s) for s in ("flame_seen", "inducer_runs", "igniter_glows", "air_at_registers", "igniter_looks")]
    reads = [Act(do="read", what=p) for p in ("line_to_neutral_at_board", "gas_pin_to_c", "w_to_c_at_board")]
    pair = Act(do="volts", what="board_line", other="shared_neutral")
    weighed = []
    for before in (HEAT, TEN, NEXT, NEXT, NEXT, END, TEN, GAS_OFF, HEAT, NEXT, GAS_ON, END, REST):
        drill.do(before)
        for act in (*looks, *reads, pair):
            count = len(drill.taken)
            told = drill.do(act)
            if len(drill.taken) > count:
                weighed.append(drill.taken[-1].record is not None)
                assert ("not weighed" in told.text) != weighed[-1], (act, told)

    assert {*weighed} == {False, True}


def test_a_look_around_says_that_it_notes_nothing(family: Family) -> None:
    drill = start(family, "igniter:open")

    assert "not weighed" in does(drill, Act(do="look")).text
    assert not drill.taken


# --- a wire at the thermostat or the board: an ordinary experiment; 24 V from R to W, G or Y is what a thermostat does ---


@pytest.mark.parametrize(
    ("line", "at", "step"),
    [
        ("join r to w", "board", "call"), ("join r w", "board", "call"), ("join w and r at board", "board", "call"), ("jumper r to g", "board", "fan_call"),
        ("join r to y", "board", "cooling_call"), ("join r to w at thermostat", "thermostat", "call"), ("join r w at thermostat", "thermostat", "call"),
        ("join r to w at thermostat base", "thermostat", "call"), ("join r at thermostat to w at thermostat", "thermostat", "call"),
        ("join thermostat r to thermostat w", "thermostat", "call"), ("join r at the thermostat to w at the thermostat", "thermostat", "call"),
        ("join r to g at thermostat", "thermostat", "fan_call"), ("join r to y at the thermostat", "thermostat", "cooling_call"),
    ],
)  # fmt: skip
def test_r_is_joined_to_what_a_thermostat_joins(family: Family, line: str, at: str, step: str) -> None:
    drill = start(family, "thermostat:no_call")
    told = typed(drill, line)

    assert told.kind == "done"
    assert at in told.text
    assert drill.bench.called is not None
    assert drill.bench.called.step == step
    assert drill.hurts == []


@pytest.mark.parametrize(
    ("fault", "at_thermostat", "at_board"),
    [  # a wire stands for what it is across: at the wall for the thermostat, at the board for the cable too
        ("thermostat:no_call", "yes", "yes"), ("thermostat_cable:w_open", "no", "yes"), ("transformer:primary_open", "no", "no"),
        ("igniter:open", "yes", "yes"),
    ],
)  # fmt: skip
def test_joined_by_hand_or_looked_at_it_comes_to_the_same(family: Family, fault: str, at_thermostat: str, at_board: str) -> None:
    for place, word in (("thermostat", at_thermostat), ("board", at_board)):
        drill = start(family, fault)
        before = drill.bench.watched()
        told = typed(drill, f"look starts when joined at {place}")
        assert told.text.endswith(f": {word}")
        assert drill.bench.watched() == before
        typed(drill, f"join r to w at {place}", "wait 20")
        assert drill.bench.operation.inducer_running()[0] == (word == "yes")
        typed(drill, "call off", "wait rest")
        assert not drill.bench.operation.inducer_running()[0]


def test_what_a_wire_brings_about_does_not_speak_for_the_thermostat(family: Family, evidence: Evidence) -> None:
    """A furnace that heats by a wire in the thermostat's place says nothing good of the thermostat; that it starts so is what the experiment notes."""
    drill = start(family, "thermostat:no_call")
    told = typed(drill, "join r to w at thermostat")
    assert "look starts when joined at thermostat" in told.text
    typed(drill, "wait rest", "wait 600")
    assert drill.bench.operation.flame[0]
    assert "not weighed" in typed(drill, "look flame").text
    assert "not weighed" in typed(drill, "read w to c at board").text
    assert [t for t in drill.taken if t.record is not None] == []

    typed(drill, "look starts when joined at thermostat", "call off", "wait rest")
    assert [t.record["sign"] for t in drill.taken if t.record is not None] == ["starts_when_joined_at_thermostat"]
    typed(drill, "call heat", "wait rest", "name thermostat")
    assert score(drill, evidence).belief > 0.5


def test_a_call_made_by_a_wire_is_no_call_watched(family: Family) -> None:
    drill = start(family, "flame_rod:filmed")
    does(drill, OFF, GAS_OFF, Act(do="replace", what="flame_rod", other="clean_the_flame_rod"), GAS_ON, ON)
    typed(drill, "join r to w", "wait rest", "call off", "wait rest")

    assert [t for t in drill.taken if t.name == "call_watched"] == []


def test_what_is_tried_takes_power(family: Family) -> None:
    assert typed(start(family, "thermostat:no_call"), "power off", "look starts when joined at board").kind == "cannot"


# --- a blown fuse ---


SEARCH = Act(do="read", what="outdoor_cable_ohms")
RENEWED = Act(do="replace", what="outdoor_circuit", other="mend_the_outdoor_circuit")
NEW_FUSE = Act(do="replace", what="low_voltage_fuse", other="renew_the_fuse")
HOLDS = Act(do="look", what="fuse_blows_again")


def test_the_fuse_itself_is_no_search_for_what_blew_it(family: Family) -> None:
    """README: a new fuse before a search is stopped. Ohms along the fuse, a wire or a contact tell of no short."""
    drill = start(family, "outdoor_circuit:shorted")
    does(drill, OFF, Act(do="read", what="fuse_ohms"), Act(do="ohms", what="fuse_blade", other="board_r"), Act(do="ohms", what="board_r", other="r_wire"))

    assert does(drill, ON, HOLDS).kind == "stopped"
    assert does(drill, OFF, RENEWED).kind == "stopped"
    assert does(drill, SEARCH, RENEWED).kind == "done"


@pytest.mark.parametrize("fault", ["outdoor_circuit:shorted", "thermostat_cable:shorted", "other_control:humidifier_shorted"])
def test_a_repair_that_says_it_fits_the_fuse_does(family: Family, fault: str) -> None:
    drill = start(family, fault)
    part = fault.partition(":")[0]
    repair = next(r for r in family.knowledge.repair.values() if fault in r.of or (part in r.of and "fit the fuse" in r.says))
    assert "fit the fuse" in repair.says
    told = does(drill, OFF, SEARCH, Act(do="ohms", what="board_r", other="board_common"), Act(do="replace", what=part, other=repair.repair))

    assert "new fuse" in told.text
    assert not drill.bench.fuse_is_open()
    does(drill, ON, FAN, TEN, COOL, TEN, END, REST, HEAT, REST)
    assert drill.bench.step() == family.sequence.order[-1]
    assert drill.hurts == []


def test_a_new_fuse_is_watched_with_the_power_on_and_once_it_is_in(family: Family) -> None:
    drill = start(family, "gas_valve:coil_shorted")
    does(drill, OFF, GAS_OFF, Act(do="ohms", what="valve_hot", other="valve_common"), Act(do="replace", what="gas_valve"), GAS_ON)
    assert does(drill, HOLDS).kind == "cannot"
    assert does(drill, ON, HOLDS).kind == "cannot"  # the old one is still in, and blown
    assert not [t for t in drill.taken if t.name == "fuse_blows_again"]
    told = does(drill, OFF, NEW_FUSE, ON, HOLDS)

    assert told.kind == "seen"
    assert drill.taken[-1].record is not None
    assert drill.taken[-1].record["value"] == "no"


def test_a_whole_fuse_is_said_to_hold_only_if_it_does(family: Family) -> None:
    """The short is in the cooling circuit, another part was changed with a new fuse: nothing has blown it yet, the next cooling call will."""
    drill = start(family, "outdoor_circuit:shorted")
    does(drill, OFF, SEARCH, NEW_FUSE, ON)

    assert not drill.bench.fuse_is_open()
    assert does(drill, HOLDS).text.endswith("on cooling call")


def test_a_new_fuse_belongs_to_the_repair_that_is_being_proved(family: Family, evidence: Evidence) -> None:
    drill = start(family, "gas_valve:coil_shorted")
    does(drill, OFF, GAS_OFF, Act(do="ohms", what="valve_hot", other="valve_common"), Act(do="replace", what="gas_valve"), GAS_ON)
    does(drill, Act(do="state", what="leads_secure", other="yes"), NEW_FUSE)

    assert drill.account.repair is not None
    assert drill.account.repair.part == "gas_valve"
    assert "leads_sit_tight" in met(drill, evidence.finder)


def test_the_same_repair_twice_is_no_second_one(family: Family, evidence: Evidence) -> None:
    drill = start(family, "outdoor_circuit:shorted")
    does(drill, OFF, SEARCH, RENEWED, Act(do="state", what="leads_secure", other="yes"))
    price = drill.price

    assert does(drill, RENEWED).kind == "cannot"
    assert drill.price == price
    assert "leads_sit_tight" in met(drill, evidence.finder)


def test_another_repair_says_that_the_checks_begin_anew(family: Family) -> None:
    drill = start(family, "pressure_hose:off_or_cracked")
    told = typed(drill, "power off", "renew the hose", "dry the hose")

    assert "checks begin anew" in told.text


def test_the_score_names_the_repair_and_the_one_that_fits(family: Family, evidence: Evidence) -> None:
    drill = start(family, "thermostat:no_call")
    typed(drill, "power off", "replace thermostat", "power on", "name thermostat")
    result = score(drill, evidence)

    assert (result.repair, result.fitting) == ("replace_the_thermostat", "set_the_thermostat")
    state = checks_of(drill, evidence.finder)
    assert state is not None
    assert result.checks_met + len(result.checks_open) == len(state.needs)


def met(drill: Drill, finder: Finder) -> set[str]:
    """The checks of the repair that are met."""
    state = checks_of(drill, finder)
    assert state is not None
    return {n.condition for n in state.needs if not (n.calls_left or n.denied_by)}


# --- what is typed ---


@pytest.mark.parametrize(
    "line",
    [
        "read gas pin low for 8 s", "read gas pin for 8 s low", "gas pin low for 8 s",
        "read gas pin low for 8 s: 24", "read gas pin: 24 low for 8 s", "read gas pin: 24 for 8 s low",
    ],
)  # fmt: skip
def test_mode_and_seconds_may_stand_in_any_order(family: Family, line: str) -> None:
    act = Reader(family).read(line, start(family, "igniter:open")).act

    assert act is not None
    assert (act.do, act.what, act.meter, act.seconds) == ("read", "gas_pin_to_c", "low", 8)
    assert act.expect == (24 if ":" in line else None)


@pytest.mark.parametrize(
    ("line", "act"),
    [
        ("cal heat", HEAT), ("call heet", HEAT), ("call haet", HEAT), ("heat call", HEAT), ("off call", END), ("call of", END), ("off power", OFF),
        ("on power", ON), ("off gas", GAS_OFF), ("rest wait", REST), ("wiat rest", REST), ("light look", Act(do="look", what="light")), ("cool call", COOL),
    ],
)  # fmt: skip
def test_slips_of_short_words_and_of_their_order_are_understood(family: Family, line: str, act: Act) -> None:
    assert Reader(family).read(line, start(family, "igniter:open")).act == act


@pytest.mark.parametrize(
    ("line", "says"),
    [("call xyz", "call heat"), ("look at smell", "burning smell or gas smell"), ("look smell", "burning smell or gas smell"), ("igniter name", "no command")],
)
def test_what_is_not_understood_is_not_done(family: Family, line: str, says: str) -> None:
    understood = Reader(family).read(line, start(family, "igniter:open"))

    assert understood.act is None
    assert says in understood.tell


def test_help_shows_how_a_wire_is_joined_at_the_thermostat(family: Family) -> None:
    usage = next(w.usage for w in WORDS if w.word == "join")
    assert typed(start(family, "thermostat:no_call"), *written(usage)).kind == "done"


def written(usage: str) -> Iterable[str]:
    """What a usage shows, with what stands in brackets."""
    return [usage.replace("[", "").replace("]", "")]


# --- what the screens say ---


def test_a_search_puts_first_what_fits_best_and_gives_each_kind_its_share(family: Family) -> None:
    """Of more than a screen shows, a part that is called so is not behind every reading that speaks of it."""
    reader = Reader(family)
    found = reader.found("plug")
    shown = found[:MOST_FOUND]

    assert len(found) > MOST_FOUND
    assert shown[0] == ("part", "board_plug")
    assert {kind for kind, _ in shown} == {kind for kind, _ in found} == {"read", "look", "terminal", "lift", "part"}
    assert sorted(found) == sorted({*found})
    assert reader.found("igniter ohms")[0] == ("read", "igniter_ohms")


def test_a_cut_search_says_how_much_of_each_kind_is_left(family: Family) -> None:
    found = Reader(family).found("plug")
    last = list(found_lines(found, family.knowledge, family.wiring.nodes, 200))[-1]

    assert last.strip().startswith(f"{len(found) - MOST_FOUND} more (")
    assert sum(int(n) for n in re.findall(r"\d+", last)[1:]) == len(found) - MOST_FOUND


def test_who_goes_on_is_told_how_it_stands(family: Family) -> None:
    drill = start(family, "igniter:open")
    fresh = "\n".join(opening_lines(drill, 200, goes_on=0))
    assert "the power is as you found it" in fresh
    does(drill, HEAT, OFF, GAS_OFF, Act(do="tap", what="inlet_pressure", other="open"), Act(do="lift", what="the plug on the inducer pin of the board"))
    later = "\n".join(opening_lines(drill, 200, goes_on=5))
    assert "You did:" not in later

    assert "as you found it" not in later
    assert all(said in later for said in ("power OFF", "makes a call", "gas cock is shut", "gauge is on inlet", "Off: the plug on the inducer pin"))


def test_what_is_known_of_the_furnace_is_told_in_words(family: Family) -> None:
    options = {"fan_call_tap": "cool", "igniter_kind": "nitride"}
    told = {"sign": "blower_runs", "value": "no", "step": "heating"}
    report = replace(Report(family.furnace.furnace, "no heat", (), options), records=(record_of(told, Place("here", 1, 1), Reader(family).vocabulary),))
    drill = Drill(family, replace(lesson_with(family, options=options), report=report))
    said = "\n".join(opening_lines(drill, 200, goes_on=0))

    assert "fan call tap" not in said
    assert f"{family.furnace.options['fan_call_tap'].says}: cool" in said
    assert f"{family.knowledge.sign['blower_runs'].says}: no, at heating" in said


def test_a_check_that_takes_ten_minutes_says_how_long_is_left(family: Family) -> None:
    """Nothing is rounded up to the minutes that are asked for."""
    drill = start(family, "igniter:open")
    drill = Drill(family, replace(drill.lesson, faults=()))
    rise = next(s.sign for s in family.knowledge.sign.values() if s.answered_by is not None and s.answered_by.after_s == 600)
    does(drill, HEAT, REST)
    does(drill, Act(do="wait", seconds=int(590 - drill.bench.burning())))
    left = re.search(r"wait (\d+) s", does(drill, Act(do="look", what=rise)).text)

    assert left is not None
    assert 9 <= int(left[1]) <= 12
    assert does(drill, Act(do="wait", seconds=int(left[1])), Act(do="look", what=rise)).kind == "seen"


# --- what a technician would write down ---


@pytest.mark.parametrize(
    ("line", "act"),
    [  # in a drill it is looked at, whatever was said of it; a figure is what the trainee foretells
        ("light ign fail", Act(do="look", what="light_says")), ("blower turns stiff", Act(do="look", what="blower_turns_freely")),
        ("blower hums", Act(do="look", what="blower_runs")), ("no flame", Act(do="look", what="flame_seen")),
        ("heat terminal 0.2 low", Act(do="read", what="heat_terminal_to_neutral", meter="low", expect=0.2)),
        ("24v at w 25.1", Act(do="read", what="w_to_c_at_board", expect=25.1)), ("sw on", ON), ("sw off", OFF),
    ],
)  # fmt: skip
def test_a_line_of_a_visit_is_looked_at_in_a_drill(family: Family, line: str, act: Act) -> None:
    assert Reader(family).read(line, start(family, "igniter:open")).act == act


def test_a_value_alone_is_asked_of_what(family: Family) -> None:
    understood = Reader(family).read("hums", start(family, "igniter:open"))

    assert understood.act is None
    assert all(name in understood.tell for name in ("inducer runs", "blower runs"))


def test_what_came_of_a_repair_is_not_the_trainees_to_say(family: Family) -> None:
    understood = Reader(family).read("flame rod cleaned works now", start(family, "flame_rod:filmed"))

    assert understood.act is None
    assert "clean the flame rod" in understood.tell


def test_whoever_goes_on_is_told_which_repair_is_being_proved(family: Family) -> None:
    """Until it is said that it changed nothing."""
    drill = start(family, "gas_valve:coil_open")
    does(drill, GAS_OFF, OFF, Act(do="replace", what="igniter"))
    said = "\n".join(opening_lines(drill, 200, goes_on=3))
    does(drill, GAS_ON, ON, HEAT, REST, Act(do="same"))

    assert "  You did: replace the igniter. checks lists what of its proof is open." in said
    assert "You did:" not in "\n".join(opening_lines(drill, 200, goes_on=4))
