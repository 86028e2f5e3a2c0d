"""Checks across rule files: one thing is changed in rules that are right, and what is then wrong is told."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from furnace_diag.knowledge.cross import cross_check
from furnace_diag.knowledge.furnace_models import HeldBack
from furnace_diag.knowledge.model_base import Model
from furnace_diag.knowledge.models import Effect, Knowledge

WIRING, SEQUENCE, FURNACE = "induced_draft_hsi", "single_stage", "induced_draft_hsi_80"

Change = Callable[[Any], Model]


def with_one(entry: Any, field: str, number: int, **fields: object) -> Model:
    """The same, with one of the things in *field* changed."""
    every = list(getattr(entry, field))
    every[number] = every[number].model_copy(update=fields)
    changed: Model = entry.model_copy(update={field: tuple(every)})
    return changed


def with_more(entry: Any, field: str, number: int, **fields: object) -> Model:
    """The same, with a changed copy of one of the things in *field* added."""
    every = getattr(entry, field)
    changed: Model = entry.model_copy(update={field: (*every, every[number].model_copy(update=fields))})
    return changed


def with_entry(entry: Any, field: str, name: str, **fields: object) -> Model:
    """The same, with the entry *name* of a table changed."""
    table = getattr(entry, field)
    changed: Model = entry.model_copy(update={field: {**table, name: table[name].model_copy(update=fields)}})
    return changed


def put(**fields: object) -> Change:
    return lambda entry: entry.model_copy(update=fields)


def told(knowledge: Knowledge, kind: str, name: str, change: Change) -> list[str]:
    table = getattr(knowledge, kind)
    return [f"{p.message} {p.fix}" for p in cross_check(knowledge.model_copy(update={kind: {**table, name: change(table[name])}}))]


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (lambda w: with_more(w, "elements", 0), "is there twice"),
        (lambda w: with_one(w, "elements", 0, between=("board_line", "moon")), "There is no node moon"),
        (lambda w: with_one(w, "elements", 0, core="apple"), "There is no core apple"),
        (put(ground="moon"), "There is no node moon"),
        (lambda w: w.model_copy(update={"nodes": {**w.nodes, "spare": "A spare pin."}}), "Nothing is joined to node spare"),
        (lambda w: with_one(w, "taken_off", 0, at="moon"), "There is no node moon"),
        (lambda w: with_one(w, "taken_off", 0, opens=("string",)), "There is no element string"),
        (put(isolator="string"), "There is no element string"),
        (lambda w: with_one(w, "elements", 1, ohms="<no_such_number>"), "There is no number or option no_such_number"),
        (lambda w: with_one(w, "elements", 1, only_when={"no_such_option": "yes"}), "There is no option no_such_option"),
        (lambda w: with_one(w, "elements", 1, only_when={"fuel": "coal"}), "There is no value of option fuel: coal"),
        (lambda w: with_more(w, "elements", [e.kind for e in w.elements].index("source"), element="second_source"), "is shorted to"),
    ],
)
def test_a_wiring_that_does_not_hold_together_is_told(knowledge: Knowledge, change: Change, says: str) -> None:
    assert any(says in each for each in told(knowledge, "wiring", WIRING, change))


def test_a_node_that_only_a_bridge_ties_to_the_rest_floats(knowledge: Knowledge) -> None:
    def change(wiring: Any) -> Model:
        with_node = wiring.model_copy(update={"nodes": {**wiring.nodes, "spare": "A spare pin."}})
        return with_more(with_node, "elements", 0, element="to_spare", kind="bridge", between=(wiring.ground, "spare"))

    assert any("Node spare floats" in each for each in told(knowledge, "wiring", WIRING, change))


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (put(starts_at="nowhere"), "There is no step nowhere"),
        (lambda s: with_one(s, "steps", 1, then="nowhere", lasts="5"), "There is no step nowhere"),
        (lambda s: with_one(s, "steps", 0, lasts="5", then=None), "needs both `lasts` and `then`"),
        (lambda s: with_one(s, "steps", 0, held_back=(HeldBack(output="inducer", by="no_such_number"),)), "There is no number no_such_number"),
        (lambda s: with_one(s, "steps", 0, held_back=(HeldBack(output="sheep", by="supply_volts"),)), "There is no output of step power_off: sheep"),
        (lambda s: with_one(s, "steps", 0, clears=("sheep",)), "There is no counter sheep"),
        (lambda s: with_one(s, "steps", 0, leave=(s.steps[0].leave[0].model_copy(update={"if_": ("not raining",)}),)), "There is no input raining"),
        (lambda s: with_more(s, "steps", 0, step="island"), "Step island can never be reached"),
        (lambda s: with_one(s, "steps", 0, drives=tuple(s.accessories)), "is driven by a step too"),
    ],
)
def test_a_sequence_that_does_not_hold_together_is_told(knowledge: Knowledge, change: Change, says: str) -> None:
    assert any(says in each for each in told(knowledge, "sequence", SEQUENCE, change))


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (put(wiring="spaghetti"), "There is no wiring spaghetti"),
        (put(sequence="of_events"), "There is no sequence of_events"),
        (lambda f: with_entry(f, "options", "fuel", usual="coal"), "There is no value of option fuel: coal"),
        (lambda f: with_entry(f, "numbers", next(iter(f.numbers)), between=(2.0, 1.0)), "has its ends the wrong way"),
    ],
)
def test_a_furnace_that_does_not_hold_together_is_told(knowledge: Knowledge, change: Change, says: str) -> None:
    assert any(says in each for each in told(knowledge, "furnace", FURNACE, change))


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (put(kind="gadget"), "There is no kind gadget"),
        (put(element="string"), "There is no element string"),
        (put(kind=None, element=None, failures=()), "has no failures"),
        (put(leaves_out=("boredom",)), "There is no failure of its kind boredom"),
        (lambda p: p.model_copy(update={"failures": (p.failures[0], p.failures[0])}), "twice"),
        (lambda p: with_one(p, "failures", 0, like="boredom"), "to be like: boredom"),
        (lambda p: with_one(p, "failures", 0, effects=(Effect.model_validate({"quantity": "love", "is": "low"}),)), "thing to act on love"),
    ],
)
def test_a_part_that_does_not_hold_together_is_told(knowledge: Knowledge, change: Change, says: str) -> None:
    name = next(p.part for p in knowledge.part.values() if p.kind and p.failures and p.failures[0].effects)

    assert any(says in each for each in told(knowledge, "part", name, change))


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (put(leads=("board_line", "moon"), reads=None), "There is no node moon"),
        (put(reads="mood"), "There is no reading mood"),
        (put(reads="number:no_such_number"), "There is no number no_such_number"),
        (put(reads="number:"), "There is no reading number:"),
        (put(reads="ohms:string"), "There is no reading ohms:string"),
        (put(reads="ohms:"), "There is no reading ohms:"),
        (put(reads="amps:inducer_winding"), "cannot be read alone"),
        (put(reads="microfarads:igniter_element+igniter_harness_wire"), "Only ohms add up"),
        (put(steps=("nowhere",)), "There is no step nowhere"),
        (put(cautions=("mind_the_gap",)), "There is no caution mind_the_gap"),
    ],
)
def test_a_point_that_reads_what_is_not_there_is_told(knowledge: Knowledge, change: Change, says: str) -> None:
    assert any(says in each for each in told(knowledge, "point", "igniter_ohms", change))


@pytest.mark.parametrize(
    ("kind", "name", "change", "says"),
    [
        ("sign", "burners_light", put(shows="mood"), "There is no thing to show mood"),
        ("sign", "burners_light", put(reads_as={"yes": ("brightly",)}), "There is no word of what it shows: brightly"),
        ("sign", "burners_light", put(steps=("nowhere",)), "There is no step nowhere"),
        ("sign", "burners_light", put(says_same_as=("nothing",)), "There is no sign or point nothing"),
        ("event", "storm_or_outage", put(likelier={"teapot": "much"}), "There is no part teapot"),
        ("event", "storm_or_outage", put(likelier={"igniter:boredom": "much"}), "There is no failure of igniter: boredom"),
    ],
)
def test_a_sign_or_event_that_names_what_is_not_there_is_told(knowledge: Knowledge, kind: str, name: str, change: Change, says: str) -> None:
    assert any(says in each for each in told(knowledge, kind, name, change))


@pytest.mark.parametrize(
    ("confirm_of", "says"),
    [
        ({"no_such_failure": ("draft",)}, "There is no failure that it mends no_such_failure"),
        ({"will_not_close": ("no_such_reading",)}, "There is no point or sign no_such_reading"),
    ],
)
def test_what_a_repair_has_read_of_single_failures_is_there(knowledge: Knowledge, confirm_of: dict[str, tuple[str, ...]], says: str) -> None:
    assert any(says in each for each in told(knowledge, "repair", "replace_the_pressure_switch", put(confirm_of=confirm_of)))
