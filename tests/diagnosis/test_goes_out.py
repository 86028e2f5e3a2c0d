"""That something begins and ends again by itself, as people tell it in complaints, in claims and at the prompt: never kept as that it goes on."""

from __future__ import annotations

import pytest

from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.goes_out import GoesOut
from furnace_diag.visit.complaint import told_in, unheard_in
from furnace_diag.visit.lines import Reader
from furnace_diag.visit.typed import Typed

AT_ONCE, IN_SECONDS, LATER = ("burners_light", "drop_out"), ("flame_goes_out", "within_seconds"), ("flame_goes_out", "after_minutes")


@pytest.mark.parametrize(("text", "told"), [
    ("burners lite then kick off after a few min", LATER), ("burners kick off after a few min", LATER), ("burners shut off after 5 min", LATER),
    ("flame cuts out after a couple of minutes", LATER), ("burners come on n shut down after 10 min", LATER), ("after 5 min the burners shut off", LATER),
    ("burners light for 3 minutes then cut out", LATER), ("burners shut down in 20 seconds", LATER),
    ("burners light and shut off after 3 seconds", IN_SECONDS), ("flame kicks off within a few secs", IN_SECONDS), ("burners shut down right away", IN_SECONDS),
    ("burners light then shut off", AT_ONCE), ("burners light then quit", AT_ONCE), ("burners fire up then kick out", AT_ONCE),
    ("burners light n shut off", AT_ONCE),
    ("lights then shuts off", AT_ONCE), ("ignites but trips right off", AT_ONCE), ("burners dont stay lit", AT_ONCE), ("burners wont stay on", AT_ONCE),
    ("flame wont hold lit", AT_ONCE),
])  # fmt: skip
def test_it_is_told_to_end_and_when(evidence: Evidence, text: str, told: tuple[str, str]) -> None:
    """Common practice, no source: how people say it. Up to 15 s is within seconds, as `figures` of the sign has it."""
    reader, complaints = Reader(evidence.vocabulary), evidence.vocabulary.complaints
    found = {(c.sign, c.value) for c in complaints.said_in(f"no heat, {text}, blower just hums")}
    assert ("burners_light", "yes") not in found
    assert told in found
    typed = reader.read(text)
    assert isinstance(typed, Typed)
    sign = str(typed.record["sign"])
    assert (sign, reader.value_of(sign, str(typed.record["value"]))) == told
    records = told_in(f"no heat, {text}", reader)
    assert told in {(str(r.record["sign"]), reader.value_of(str(r.record["sign"]), str(r.record["value"]))) for r in records}
    assert unheard_in(f"no heat, {text}", records, reader) == []


@pytest.mark.parametrize("text", [
    "burners light then blower shuts off", "burners shut off when the call ends", "burners light then shut off when satisfied",
    "burners light and dont shut off", "burners light, blower cuts out after 5 min", "burners light then shut off normally", "burners never shut off",
])  # fmt: skip
def test_what_is_told_of_another_thing_or_of_the_end_of_a_call_is_not(evidence: Evidence, text: str) -> None:
    found = {(c.sign, c.value) for c in evidence.vocabulary.complaints.said_in(text)}
    assert not found & {AT_ONCE, IN_SECONDS, LATER}


def test_the_words_for_times_are_those_of_the_rules(evidence: Evidence) -> None:
    """A shop that knows others adds them to the words, and to nothing else."""
    times = evidence.words.times
    sign = next(s for s in evidence.knowledge.sign.values() if s.ends_in_complaints is not None)
    said = ["burners", "shut", "off", "after", "a", "dozen", "minutes"]
    assert GoesOut(sign, times).at(said, 0) is None
    more = times.model_copy(update={"some": {**times.some, "dozen": 12}})
    assert GoesOut(sign, more).at(said, 0) == (sign.sign, LATER[1], len(said))
