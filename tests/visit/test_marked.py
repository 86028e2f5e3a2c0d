"""Readings told with the mark of their part, and other lines in a technician's words. Common practice, no source; the shares are derived in the test."""

from __future__ import annotations

import pytest

from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.problems import BadInput
from furnace_diag.visit.complaint import sides_of, told_in
from furnace_diag.visit.lines import Reader
from furnace_diag.visit.marked import with_mark
from furnace_diag.visit.session import Session
from furnace_diag.visit.typed import Typed, Unclear
from tests.visit.playing import START, desk


@pytest.fixture(scope="module")
def reader(evidence: Evidence) -> Reader:
    return Reader(evidence.vocabulary)


@pytest.mark.parametrize(
    ("line", "value", "side"),
    [  # 0.31 of 7.5, 4 of 10 and 0.4 of 10 are far from the mark, 7.4 of 7.5 is within its 6 percent
        ("cap .31, says 7.5", ".31", "outside"), ("blower cap 4 mfd rated 10", "4 mfd", "outside"), ("cap .4 uf rated 10", ".4 uf", "outside"),
        ("cap 7.4 uf rated 7.5", "7.4 uf", "within"),
        # and with no word before the mark: what it reads stands behind; 1.2 of 5 is far from it, 4.9 of 5 within 6 percent
        ("cap 5 uf reads 1.2", "1.2", "outside"), ("cap 5 mfd, reads 4.9", "4.9", "within"),
        # or without a figure of the mark
        ("cap 4.9 in range", "4.9", "within"), ("cap 1.2 weak", "1.2", "outside"),
    ],
)  # fmt: skip
def test_a_reading_and_its_mark_are_the_reading_and_its_check(line: str, value: str, side: str, reader: Reader) -> None:
    records = [dict(t.record) for t in with_mark(line, reader)]
    assert records[0] == {"point": "capacitor_microfarads", "value": value}
    assert records[1]["sign"] == "capacitor_against_mark"
    assert str(records[1]["value"]).startswith(side)


@pytest.mark.parametrize(
    ("line", "record"),
    [
        ("rise 48 on plate 35-65", {"point": "temperature_rise", "value": "48", "note": "on plate 35-65"}),
        ("draft 1.2, switch marked -0.60", {"point": "draft", "value": "1.2", "note": "switch marked -0.60"}),
        ("blower amps 4.1 plate 5.2", {"point": "blower_amps", "value": "4.1", "note": "plate 5.2"}),
        ("rise 52 in range", {"point": "temperature_rise", "value": "52", "note": "in range"}),
    ],
)
def test_a_mark_without_a_check_is_a_remark(line: str, record: dict[str, str], reader: Reader) -> None:
    assert [dict(t.record) for t in with_mark(line, reader)] == [record]


def test_the_prompt_reads_what_a_claim_reads(reader: Reader) -> None:
    """The mark may stand first, or behind a bare "on": 1.1 of 7.5 is far from it."""
    for line in ("cap rated 7.5, reads 1.1", "cap 1.1 on 7.5 can", "cap 1.1 uf of a 7.5"):
        assert [str(t.record["value"])[:7] for t in with_mark(line, reader)][1:] == ["outside"]
    assert with_mark("flame 3.2 on 2 calls", reader) == []


@pytest.mark.parametrize("line", ["igniter ohms 62", "cap rated 10", "inducer runs", "w to c 25 on a call", "manifold 3.5 reads 2.1", "cap 440 v reads 7.5"])
def test_what_tells_no_mark_is_none(line: str, reader: Reader) -> None:
    assert with_mark(line, reader) == []


def test_both_are_kept_at_the_prompt(session: Session) -> None:
    desk(session, [*START, "blower cap 4 mfd rated 10"])
    kept = {session.record(e).name for e in session.visit.entries}
    assert {"capacitor_microfarads", "capacitor_against_mark"} <= kept


@pytest.mark.parametrize("line", ["ps in 24.6 out 0", "24.6 in 0 out ps"])
def test_both_sides_of_a_switch_in_either_order(line: str) -> None:
    assert sides_of(line) == ["ps in 24.6", "ps out 0"]


@pytest.mark.parametrize(
    ("line", "record"),
    [
        ("stat cable r to c .4", {"point": "thermostat_cable_r_to_c_ohms", "value": ".4"}),  # its "cable" begins no "c"
        ("ign 62 ohm at plug", {"point": "igniter_ohms", "value": "62 ohm"}),
        ("psw open while inducer runs", {"sign": "pressure_switch_contact", "value": "open", "step": "inducer_start"}),
        ("fan call blower runs", {"sign": "blower_runs", "value": "runs", "step": "fan_call"}),
        ("limit keeps tripping", {"sign": "flame_goes_out", "value": "after_minutes"}),
        ("no click from valve", {"sign": "gas_valve_clicks", "value": "no"}),
    ],
)
def test_lines_in_a_technicians_words(line: str, record: dict[str, str], reader: Reader) -> None:
    typed = reader.read(line)
    assert isinstance(typed, Typed)
    assert dict(typed.record) == record


def test_a_switch_that_closes_and_opens_chatters(reader: Reader) -> None:
    typed = reader.read("ps closes then opens")
    assert isinstance(typed, Typed)
    assert typed.record["sign"] == "pressure_switch_chatters"


@pytest.mark.parametrize(("line", "one"), [("blown cap", "capacitor_looks"), ("bad cap", "capacitor_looks"), ("hear no click", "gas_valve_clicks")])
def test_what_may_be_several_things_is_asked(line: str, one: str, reader: Reader) -> None:
    read = reader.read(line)
    assert isinstance(read, Unclear)
    assert one in {t.record.get("sign") for t in read.choices}


def test_a_word_in_brackets_is_a_word_at_the_prompt(reader: Reader) -> None:
    read = []
    for meant in ("120 at (board) ign pin", *reader.forgiven("120 at (board) ign pin")):
        try:
            read.append(reader.read(meant))
        except BadInput:
            continue
    assert {t.record["point"] for t in read if isinstance(t, Typed)} == {"igniter_pin_to_neutral"}


def test_the_number_of_the_next_call_begins_it(session: Session) -> None:
    desk(session, [*START, "inducer runs", "call 2"])
    assert session.visit.call == 2
    desk(session, ["call 5"])
    assert session.visit.call == 2


def test_the_fan_call_is_no_other_word_of_the_heat_call(session: Session) -> None:
    """A blower that does not run on heat and runs on the fan call tells of the heat's own output: neither may be lost."""
    records = [dict(t.record) for t in told_in("blower wont run on heat. fan on works. burners lite", session.reader)]
    told = {(r["sign"], r.get("step")) for r in records}
    assert {("blower_runs", "heating"), ("blower_runs", "fan_call")} <= told


def test_a_mark_may_be_told_with_its_a_and_a_range_with_a_space(session: Session) -> None:
    desk(session, [*START, "cap is 1.8 its a 5 uf", "rise 24 plate 40 70", ""])
    kept = {r.name: r.word or r.said.rpartition(": ")[2] for r in map(session.record, session.visit.entries)}
    assert kept["capacitor_microfarads"] == "1.8"
    assert kept["temperature_rise"] == "24"
    assert kept["capacitor_against_mark"] == "outside"
