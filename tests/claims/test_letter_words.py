"""Whatever a letter asks for in words is read when a shop answers in them. Expected values are derived from the conditions that the letter asks by."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

import pytest

from furnace_diag.claims.raw_claim import RawClaim
from furnace_diag.claims.reading import Files
from furnace_diag.claims.understanding import Reader
from furnace_diag.diagnosis.records import Record
from furnace_diag.diagnosis.taking import CONTACT, HOLD, METER, SET_UP, asked_in_words, longest
from furnace_diag.knowledge.finding_models import Wanted
from furnace_diag.knowledge.models import Knowledge
from tests.ours import our_rules

Read = Callable[..., tuple[list[RawClaim], Files]]
DEAD = "0.2"


def points_wanted(knowledge: Knowledge) -> Iterator[Wanted]:
    """Each way of taking a point that a condition asks for, of one step, once."""
    met = set[object]()
    for condition in knowledge.condition.values():
        for line in (w for way in condition.any_of for w in way if w.names[0][0] == "point"):
            for step in line.step or ("",):
                told = line.model_copy(update={"step": (step,) if step else ()})
                key = (step, line.meter, line.contact, line.hold, line.set_up, line.after_s, line.later_than)
                if key not in met:
                    met.add(key)
                    yield told


def asked(line: Wanted, knowledge: Knowledge) -> tuple[str, str]:
    """What the letter calls the point, and how it says that it is to be taken."""
    says = asked_in_words(line, knowledge).partition("; wanted: ")[0]
    called, _, how = says.partition(f" ({line.names[0][1]})")
    return called, how.removeprefix(", ")


def only_step(line: Wanted, knowledge: Knowledge) -> str:
    """The one step in which the point of a line is read; empty where there are several."""
    steps = knowledge.point[line.names[0][1]].steps
    return steps[0] if len(steps) == 1 else ""


def least_seconds(line: Wanted, knowledge: Knowledge) -> float | None:
    """The earliest second that meets a line; None where it asks for none."""
    if line.later_than is not None:
        most = longest(knowledge, line.later_than)
        assert most is not None
        return most + line.by_s
    return line.after_s


def all_read(texts: Sequence[str], read: Read, reader: Reader) -> list[list[Record]]:
    """The records of a list that has a claim for each of *texts*; all of each must be read."""
    rows = "".join(f'K-{i},"{text}"\n' for i, text in enumerate(texts))
    claims = [reader.understood(raw) for raw in read(f"claim,readings\n{rows}")[0]]
    assert [str(p) for claim in claims for p in (*claim.unread, *claim.unmatched)] == []
    return [list(claim.report.records) for claim in claims]


LINES = list(points_wanted(our_rules()))
WAYS = (
    "{name}: {value}, {how}",
    "{name} {value} {spaced}",
    "{called}: {value}, {how}",
    "{called} ({name}): {value}, {how}",
)


def test_there_are_many_ways_of_taking() -> None:
    assert len(LINES) > 40
    assert {line.meter for line in LINES} >= {"low", "high"}
    assert {line.hold for line in LINES} >= {"min", "max"}


@pytest.mark.parametrize("way", WAYS)
def test_what_a_letter_says_word_by_word_is_read(way: str, read: Read, reader: Reader, knowledge: Knowledge) -> None:
    told = [(line, *asked(line, knowledge)) for line in LINES]
    texts = [
        (way if how else "{name}: {value}").format(name=line.names[0][1], called=called, value=DEAD, how=how, spaced=how.replace(",", ""))
        for line, called, how in told
    ]
    for line, text, records in zip(LINES, texts, all_read(texts, read, reader), strict=True):
        (record,) = records
        taken = (record.step or "", record.meter, record.contact, record.hold, set(record.set_up), record.after_s)
        assert (record.name, record.number) == (line.names[0][1], float(DEAD)), text
        step = "".join(line.step) or only_step(line, knowledge)
        assert taken == (step, line.meter, line.contact, line.hold, set(line.set_up), least_seconds(line, knowledge)), text


@pytest.mark.parametrize(
    ("column", "said", "word"),
    [(column, said, word) for column, table in (("meter", METER), ("contact", {"pin": CONTACT["pin"]}), ("hold", HOLD)) for word, said in table.items()]
    + [("set_up", SET_UP[word], word) for word in ("load_on", "lead_lifted", "plug_off", "thermostat_wires_off")],
)
def test_it_is_read_in_a_column_of_its_own_too(column: str, said: str, word: str, read: Read, reader: Reader) -> None:
    (raw,), _ = read(f'claim,name,value,{column}\nK-1,heat_terminal_to_neutral,0.2,"{said}"\n')
    claim = reader.understood(raw)
    (record,) = claim.report.records

    assert claim.unread == ()
    assert getattr(record, column) == ((word,) if column == "set_up" else word)


@pytest.mark.parametrize("text", ["heat terminal 0.2 low pin held", "0.2 on heat terminal low pin load on held 60 s 125 s after gas on"])
def test_which_reading_a_meter_held_must_be_told(text: str, read: Read, reader: Reader) -> None:
    """The highest for an output that is dead, the lowest for an input that is live: "held" alone may be either."""
    (raw,), _ = read(f"claim,readings\nK-1,{text}\n")
    claim = reader.understood(raw)
    (problem,) = claim.unmatched

    assert not claim.report.records
    assert "the lowest (held min) or the highest (held max)" in str(problem)


def test_a_cock_that_was_found_shut_is_no_way_of_taking(read: Read, reader: Reader) -> None:
    ((*records,),) = all_read(["gas cock shut, no flame"], read, reader)

    assert [(r.name, r.word) for r in records] == [("gas_cock_position", "shut"), ("flame_seen", "no")]
