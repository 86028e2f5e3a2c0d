"""Lesson files: slips are told with their places, an edit by tool leaves comments and order, a draw is the same for the same seed."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from furnace_diag.furnace.family import Family
from furnace_diag.knowledge.models import Knowledge
from furnace_diag.knowledge.yaml_text import parse_yaml
from furnace_diag.problems import BadInput
from furnace_diag.training.draw import drawn_text
from furnace_diag.training.lesson import read_lesson, understood
from furnace_diag.training.write import edit, parts_of, subsystems

GOOD = """\
# a lesson of ours
complaint: no heat since Monday   # as told
records:
- {history: igniter, value: replaced no change}
# hidden from here on
hidden:
  faults:
  - {fault: igniter:open, severity: 0.4}
  site: {supply_volts: 118}
answer:
  parts: [igniter]
  says:
  - cold ohms first
"""


def test_a_lesson_is_read(knowledge: Knowledge, tmp_path: Path) -> None:
    path = tmp_path / "monday.yaml"
    path.write_text(GOOD)
    lesson = read_lesson(path, knowledge)

    assert lesson.name == "monday"
    assert [str(h.fault) for h in lesson.faults] == ["igniter:open"]
    assert lesson.faults[0].severity == 0.4
    assert lesson.site == {"supply_volts": 118}
    assert lesson.report.records[0].word == "replaced_no_change"


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("igniter:open", "igniter:opne", "lesson.yaml:8:13: igniter:opne is not a failure of this furnace. Did you mean"),
        ("igniter:open", "it does not glow", "lesson.yaml:8:13: it does not glow is not a failure of this furnace."),
        ("severity: 0.4", "severity: 4", "lesson.yaml:8:37: severity must be 1.0 or less"),
        ("severity: 0.4", "severty: 0.4", "lesson.yaml:8:27: \"severty\" is not known here. Did you mean \"severity\"?"),
        ("supply_volts", "suply_volts", "lesson.yaml:9:10: suply_volts is not a number of this furnace. Did you mean supply_volts"),
        ("supply_volts: 118", "supply_volts: 1180", "lesson.yaml:9:24: 1180 is far from any supply volts of this furnace"),
        ("supply_volts: 118", "supply_volts: 11.8", "lesson.yaml:9:24: 11.8 is far from any supply volts of this furnace"),
        ("supply_volts: 118", "supply_volts: -118", "lesson.yaml:9:24: -118 is far from any supply volts of this furnace"),
        ("parts: [igniter]", "parts: [igniterr]", "lesson.yaml:11:11: igniterr is not a part. Did you mean igniter"),
        ("parts: [igniter]", "parts: [gas_valve]", "lesson.yaml:8:5: igniter is at fault and the answer does not name it."),
        ("history: igniter", "history: ignitr", "lesson.yaml:4:13: There is no part"),
        ("complaint:", "complain:", 'lesson.yaml:2:1: "complain" is not known here.'),
        ("hidden:\n  faults:\n  - {fault: igniter:open, severity: 0.4}\n  site: {supply_volts: 118}\n", "", 'lesson.yaml:2:1: "hidden" is missing.'),
        ("  - {fault: igniter:open, severity: 0.4}\n", "    []\n", "0 faults are hidden."),
        ("site: {supply_volts: 118}", "site: {supply_volts: 118}\n  untrue: [light_says]", "lesson.yaml:10:12: light_says is not among the records"),
    ],
)
def test_a_slip_is_told_with_its_place(knowledge: Knowledge, old: str, new: str, says: str) -> None:
    assert old in GOOD
    with pytest.raises(BadInput) as bad:
        understood(parse_yaml(GOOD.replace(old, new), "lesson.yaml"), knowledge)

    assert says in str(bad.value)


def test_all_that_is_wrong_is_told_in_one_go_and_in_the_order_of_the_file(knowledge: Knowledge) -> None:
    """A slip in the shape of what is hidden keeps back nothing else."""
    text = "complian: x\nrecords:\n- {sign: inducer_runz, value: yes}\nhidden:\n  faults:\n  - {fault: igniter:opne, severity: 4}\n"
    text += "  site: {suply_volts: 118}\nanswer:\n  partz: x\n  parts: [igniterr]\n  readings: [igniter_ohmz]\n"
    with pytest.raises(BadInput) as bad:
        understood(parse_yaml(text, "lesson.yaml"), knowledge)
    lines = [p.place.line for p in bad.value.problems if p.place is not None]
    assert lines == sorted(lines)
    assert {*lines} == {1, 3, 6, 7, 9, 10, 11}


@pytest.mark.parametrize(
    ("old", "new", "line"),
    [
        ("severity: 0.4", "severity: 1.4", 8),
        ("supply_volts: 118", "supply_volts: low", 9),
        ("supply_volts: 118", "supply_volts: 1e999", 9),
        ("history: igniter, value: replaced no change}", "history: ignitr, value: replaced no change}\n- {sign: inducer_runs, value: yes}", 4),
    ],
)
def test_one_slip_makes_no_second_error_where_the_file_is_right(knowledge: Knowledge, old: str, new: str, line: int) -> None:
    text = GOOD.replace("  site:", "  untrue: [inducer_runs]\n  site:") if line == 4 else GOOD
    with pytest.raises(BadInput) as bad:
        understood(parse_yaml(text.replace(old, new), "lesson.yaml"), knowledge)

    assert [p.place and p.place.line for p in bad.value.problems] == [line]


@pytest.mark.parametrize(
    ("fault", "says"),
    [
        ("{fault: igniter:open, calls: [0, 2]}", "lesson.yaml:8:35: calls, entry 1 must be 1 or more"),
        ("{fault: igniter:open, calls: []}", "lesson.yaml:8:34: calls must have"),
        ("{fault: igniter:open}\n  - {fault: igniter:open}", "lesson.yaml:9:5: igniter:open is hidden twice. Take one of them out."),
    ],
)
def test_a_fault_that_is_never_there_or_twice_is_refused(knowledge: Knowledge, fault: str, says: str) -> None:
    with pytest.raises(BadInput) as bad:
        understood(parse_yaml(GOOD.replace("{fault: igniter:open, severity: 0.4}", fault), "lesson.yaml"), knowledge)

    assert says in str(bad.value)


@pytest.mark.parametrize(
    ("fault", "fix"),
    [
        ("pressure_switch:stuck closed", "After pressure_switch: write one of will_not_close, will_not_open, "),
        ("draft switch:welded", "After pressure_switch: write one of will_not_close, will_not_open, "),
        ("gas_valve", "After gas_valve: write one of coil_open, "),
        ("inducer:siezed", "Did you mean inducer:seized?"),
        ("inducer motor:seizd", "Did you mean inducer:seized?"),
        ("igniter:opne", "Did you mean igniter:open?"),
    ],
)
def test_of_a_part_that_is_known_its_own_failures_are_named(knowledge: Knowledge, fault: str, fix: str) -> None:
    """A switch stuck closed will not open: a guess by the words alone would be its opposite, or another part."""
    with pytest.raises(BadInput) as bad:
        understood(parse_yaml(GOOD.replace("igniter:open,", f'"{fault}",'), "lesson.yaml"), knowledge)
    [told] = [p for p in bad.value.problems if "not a failure" in p.message]

    assert told.message.startswith(f"{fault} is not")
    assert told.fix.startswith(fix)


def test_one_line_to_listen_for_needs_no_list(knowledge: Knowledge) -> None:
    """As one part and one reading need none."""
    text = GOOD.replace("says:\n  - cold ohms first", "says: cold ohms first")
    assert understood(parse_yaml(text, "lesson.yaml"), knowledge).says == ("cold ohms first",)


def test_what_is_missing_is_told_once(knowledge: Knowledge) -> None:
    """A customer may tell nothing but the complaint, so records may be left out."""
    with pytest.raises(BadInput) as bad:
        understood(parse_yaml("complaint: no heat\n", "lesson.yaml"), knowledge)
    assert [p.message for p in bad.value.problems] == ['"hidden" is missing.', '"answer" is missing.']
    lesson = understood(parse_yaml("complaint: no heat\nhidden: {faults: [{fault: igniter:open}]}\nanswer: {parts: [igniter]}\n", "lesson.yaml"), knowledge)
    assert (lesson.told, lesson.report.records) == ((), ())


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(cut=st.integers(0, len(GOOD)), junk=st.text(max_size=12))
def test_rubbish_is_refused_or_read_but_never_breaks(knowledge: Knowledge, cut: int, junk: str) -> None:
    try:
        lesson = understood(parse_yaml(GOOD[:cut] + junk + GOOD[cut:], "lesson.yaml"), knowledge)
    except BadInput as bad:
        assert all(p.message and p.fix for p in bad.problems)
    else:
        assert lesson.faults


def test_an_edit_leaves_comments_order_and_all_else(knowledge: Knowledge, tmp_path: Path) -> None:
    path = tmp_path / "lesson.yaml"
    path.write_text(GOOD)
    edit(path, knowledge, complaint="no heat at night", options={"fan_call_tap": "cool"}, severity=0.9, says=["then the wires"])
    text = path.read_text()
    kept = [line for line in GOOD.splitlines() if not line.startswith("complaint") and "severity" not in line]

    assert [line for line in text.splitlines() if line in kept] == kept
    assert re.search(r"^complaint: no heat at night +# as told$", text, re.MULTILINE)
    assert "severity: 0.9" in text
    lesson = read_lesson(path, knowledge)
    assert lesson.report.options == {"fan_call_tap": "cool"}
    assert lesson.says == ("cold ohms first", "then the wires")


def test_an_edit_adds_to_one_line_that_stands_without_a_list(knowledge: Knowledge, tmp_path: Path) -> None:
    path = tmp_path / "lesson.yaml"
    path.write_text(GOOD.replace("says:\n  - cold ohms first", "says: cold ohms first"))
    edit(path, knowledge, complaint=None, options={}, severity=None, says=["then the wires"])
    assert read_lesson(path, knowledge).says == ("cold ohms first", "then the wires")


def test_an_edit_that_would_not_be_right_leaves_the_file(knowledge: Knowledge, tmp_path: Path) -> None:
    path = tmp_path / "lesson.yaml"
    path.write_text(GOOD)

    with pytest.raises(BadInput, match="This furnace has no option wheels"):
        edit(path, knowledge, complaint=None, options={"wheels": "four"}, severity=None, says=[])
    assert path.read_text() == GOOD
    assert [p.name for p in tmp_path.iterdir()] == ["lesson.yaml"]


def test_a_draw_is_of_its_subsystem_and_the_same_for_the_same_seed(family: Family, knowledge: Knowledge) -> None:
    texts = [drawn_text(family, parts_of("draft", knowledge), seed) for seed in (3, 3, 4)]
    lessons = [understood(parse_yaml(text, "drawn"), knowledge) for text in texts]

    assert texts[0] == texts[1] != texts[2]
    assert {h.fault.part for lesson in lessons for h in lesson.faults} <= set(subsystems(knowledge)["draft"])


def test_an_unknown_subsystem_is_told_with_those_there_are(knowledge: Knowledge) -> None:
    with pytest.raises(BadInput, match=r"no subsystem called wheels\. Use one of: .*draft"):
        parts_of("wheels", knowledge)


OTHERWISE = """complaint: no heat
records: []
hidden: {faults: [{fault: "ignitor:open"}]}
answer: {parts: ignitor, readings: [igniter ohms]}
"""


def test_parts_and_readings_may_be_called_as_people_call_them(knowledge: Knowledge) -> None:
    lesson = understood(parse_yaml(OTHERWISE, "lesson.yaml"), knowledge)

    assert (str(lesson.faults[0].fault), lesson.parts, lesson.readings) == ("igniter:open", ("igniter",), ("igniter_ohms",))


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("hidden: [igniter:open]", "It has faults"),
        ("hidden: {fault: igniter:open}", 'Did you mean "faults"?'),
        ("answer: igniter", "It has parts"),
        ("answer: {parts: [igniter], listen for: [x]}", "parts, readings, says"),
        ("answer: {parts: [igniter, control bord]}", "control_board"),
    ],
)
def test_a_slip_in_a_lesson_names_the_keys_that_are_wanted(knowledge: Knowledge, line: str, says: str) -> None:
    key = line.partition(":")[0]
    kept = [old for old in OTHERWISE.splitlines() if not old.startswith(key)]
    with pytest.raises(BadInput) as told:
        understood(parse_yaml("\n".join([*kept, line]) + "\n", "lesson.yaml"), knowledge)

    assert says in str(told.value)


@pytest.mark.parametrize(("old", "new"), [("parts: [igniter]", "parts: [ignter]"), ("fault: igniter:open", "fault: ignter:open")])
def test_a_slip_in_a_name_is_told_with_its_place_and_what_was_meant(knowledge: Knowledge, old: str, new: str) -> None:
    """At a prompt a slip is mended before somebody's eyes; nobody looks on as a file is read."""
    with pytest.raises(BadInput) as bad:
        understood(parse_yaml(GOOD.replace(old, new), "l.yaml"), knowledge)
    told = [p for p in bad.value.problems if "ignter" in p.message]
    assert told
    assert all(p.place is not None and p.place.line in (8, 11) and "igniter" in p.fix for p in told)


@pytest.mark.parametrize("name", ["hot surface igniter", "hsi", "igniter"])
def test_another_name_of_the_part_is_no_slip(knowledge: Knowledge, name: str) -> None:
    assert understood(parse_yaml(GOOD.replace("parts: [igniter]", f"parts: [{name}]"), "l.yaml"), knowledge).parts == ("igniter",)
