"""A second family of furnaces is rule files only: one whose every id is another runs as the first does, with no Python changed."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
import yaml

from furnace_diag.furnace.family import Family, Fault
from furnace_diag.furnace.population import WHOLE_CALL, build
from furnace_diag.furnace.trial import heat_call
from furnace_diag.knowledge.load import load_rules, own_rules, read_rules

KEYED_BY_ID = {"nodes", "cores", "inputs", "numbers", "options", "drives_when", "only_when", "counted_from", "accessories", "light", "instead"}
NOT_IDS = {"says", "source", "kind", "unit", "usual", "values", "normally"}
FLAME_SIGNAL = ("signal", "flame_current")  # a word of the program, and not the number of that name
FILES = ("wiring/induced_draft_hsi.yaml", "sequence/single_stage.yaml", "furnaces/induced_draft_hsi_80.yaml")
OWN = """
- part: spare_igniter
  says: An igniter of the second family.
  kind: heater
  element: {element}
  often: common
- repair: replace_the_spare_igniter
  of: spare_igniter
  says: Replace it.
  confirm: OL through it, cold.
  steps: ["Power off, then replace it."]
- sign: spare_starts_when_joined
  says: Whether the second family starts with R and W joined.
  shows: {{watch: heat_starts, tries: [{{joins: [{at_board}, {at_thermostat}], so: yes}}], else: no}}
  values: [yes, no]
"""


def _read(name: str) -> dict[str, Any]:
    read: dict[str, Any] = yaml.load((own_rules() / name).read_text(encoding="utf-8"), yaml.BaseLoader)
    return read


def _ids(wiring: dict[str, Any], sequence: dict[str, Any], furnace: dict[str, Any]) -> dict[str, str]:
    """Every id of the first family, and another for it."""
    elements, steps = wiring["elements"], sequence["steps"]
    names = [wiring["wiring"], sequence["sequence"], furnace["furnace"], *wiring["nodes"], *wiring["cores"]]
    names += [e["element"] for e in elements] + [e["follows"] for e in elements if "follows" in e]
    names += [s["step"] for s in steps] + list(sequence["inputs"]) + [i["hidden_by"] for i in sequence["inputs"].values() if "hidden_by" in i]
    names += [o for s in steps for o in s["drives"]] + list(sequence["accessories"])
    names += [*furnace["numbers"], *furnace["options"]]
    return {name: f"thing_{i}" for i, name in enumerate(dict.fromkeys(names))}


def _renamed(value: Any, ids: dict[str, str], key: str = "") -> Any:
    if isinstance(value, dict):
        return {(ids.get(k, k) if key in KEYED_BY_ID else k): _renamed(v, ids, k if key != "light" else "says") for k, v in value.items()}
    if isinstance(value, list):
        return [_renamed(v, ids, key) for v in value]
    if key in NOT_IDS or (key, value) == FLAME_SIGNAL:
        return value
    bare = value.removeprefix("not ").removesuffix(" spent").strip("<>")
    return value.replace(bare, ids[bare]) if bare in ids else value


@pytest.fixture(scope="module")
def second(tmp_path_factory: pytest.TempPathFactory) -> tuple[Family, dict[str, str]]:
    entries = [_read(name) for name in FILES]
    ids = _ids(*entries)
    folder = tmp_path_factory.mktemp("second")
    for entry, name in zip(entries, FILES, strict=True):
        (folder / Path(name).name).write_text(yaml.safe_dump(_renamed(entry, ids), sort_keys=False), encoding="utf-8")
    joined = {"at_board": ids["r_w_joined_at_board"], "at_thermostat": ids["r_w_joined_at_thermostat"]}
    (folder / "own.yaml").write_text(OWN.format(element=ids["igniter_element"], **joined), encoding="utf-8")
    return Family(load_rules([folder]), ids["induced_draft_hsi_80"]), ids


def test_another_family_runs_a_healthy_heat_call_as_the_first_does(family: Family, second: tuple[Family, dict[str, str]]) -> None:
    other, ids = second
    first, o = heat_call(family), heat_call(other)

    assert not set(other.number) & set(family.number)
    assert other.sequence.steps[o.rested_in[0]].step == ids["heating"]
    assert o.clock[0] == pytest.approx(first.clock[0])
    for node in ("heat_terminal", "gas_pin", "inducer_hot", "winding_cool"):
        index, there = family.network.index[node], other.network.index[ids[node]]
        assert np.abs(o.volts[there]) == pytest.approx(np.abs(first.volts[index]), rel=1e-6)


def test_a_family_has_the_failures_that_name_what_stands_in_it(family: Family, second: tuple[Family, dict[str, str]]) -> None:
    other, ids = second
    broken = heat_call(other, Fault("spare_igniter", "open"))

    assert set(other.faults) == {Fault("spare_igniter", "open"), Fault("spare_igniter", "aged")}
    assert other.prior.sum() == pytest.approx(1)
    assert not any(fault.part == "spare_igniter" for fault in family.faults)
    assert other.sequence.steps[broken.rested_in[0]].step == ids["lockout"]


def test_a_second_family_has_a_population_of_its_own(second: tuple[Family, dict[str, str]]) -> None:
    other, ids = second
    population = build(other, sites=2)
    broken = population.fault_of == population.faults.index(Fault("spare_igniter", "open"))
    joined = population.table[population.columns[("spare_starts_when_joined", WHOLE_CALL, "")]]

    assert {population.steps[s] for s in population.stops[~broken & (population.fault_of < 0)]} == {ids["heating"]}
    assert {population.steps[s] for s in population.rests[broken]} == {ids["lockout"]}
    assert (joined == 1).all(), "nothing is wrong with the call of any of them"


def _furnace_with(folder: Path, old: str, new: str) -> Path:
    text = (own_rules() / FILES[2]).read_text(encoding="utf-8").replace("furnace: induced_draft_hsi_80", "furnace: other", 1)
    assert old in text
    path = folder / "other.yaml"
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("old", "new", "near"),
    [
        ("winding: inducer_winding", "winding: inducer_windin", "inducer_winding"),
        ("element: igniter_element", "element: igniter_elemen", "igniter_element"),
        ("fed_from: board_line", "fed_from: bord_line", "board_line"),
        ("trips_at: limit_trips_at", "trips_at: limit_trip_at", "limit_trips_at"),
        ("moves: draft_made", "moves: draft_mad", "draft_made"),
    ],
)
def test_a_machine_that_names_what_is_not_there_is_told_with_its_file_and_line(tmp_path: Path, old: str, new: str, near: str) -> None:
    path = _furnace_with(tmp_path, old, new)
    line = next(i for i, text in enumerate(path.read_text(encoding="utf-8").splitlines(), 1) if text.startswith("furnace:"))
    told = [p for p in read_rules([tmp_path])[1] if new.split()[1] in p.message]

    assert told
    assert all((p.place.file, p.place.line) == (str(path), line) for p in told if p.place)
    assert f"Did you mean {near}?" in told[0].fix


def test_figures_that_make_no_sense_are_told_at_their_own_line(tmp_path: Path) -> None:
    path = _furnace_with(tmp_path, "dull_above_share: {is: 0.2,", "dull_above_share: {is: 0.9,")
    problems = read_rules([tmp_path])[1]
    line = next(i for i, text in enumerate(path.read_text(encoding="utf-8").splitlines(), 1) if text.startswith("    element: igniter_element"))

    assert ["dull_above_share is above bright_above_share" in p.message for p in problems] == [True]
    assert problems[0].place is not None
    assert (problems[0].place.file, problems[0].place.line) == (str(path), line)
