"""Ways in which one thing that a call shows counts for another that a proof needs: true on every furnace.

Each way is a `meets_only` line of a condition. Where it says that a circuit or the control's order leaves no other possibility, no virtual
furnace, healthy or with any other failure, may show the one without the other. What merely goes along with it on most furnaces does not
count, and two such are held here as well: a meter would have shown otherwise. The laws are Kirchhoff's and the order of the heat call.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from furnace_diag.diagnosis.examples import example_of, records_of
from furnace_diag.diagnosis.findings import Finder
from furnace_diag.diagnosis.records import Record
from furnace_diag.furnace.family import Family
from furnace_diag.furnace.population import WHOLE_CALL, Population
from furnace_diag.knowledge.models import Knowledge
from furnace_diag.knowledge.words import words_of
from furnace_diag.problems import Place
from tests.ours import our_rules

RULES = our_rules()
Flags = NDArray[np.bool_]
Seen = tuple[str, str, str | tuple[str, ...]]  # name, step, and the band or the words

GLOWS: Seen = ("igniter_glows", "igniter_warm_up", ("yes", "bright"))
GAS_FED: Seen = ("gas_pin_to_c", "ignition_trial", "call_voltage")
CLICKS: Seen = ("gas_valve_clicks", "ignition_trial", ("yes",))
BURNED: Seen = ("burners_light", WHOLE_CALL, ("stay_lit", "drop_out"))
ROLLOUT_IN: Seen = ("rollout_contact", "power_off", ("closed",))
NO_FLAME: Seen = ("flame_seen", "standby", ("no",))
DRAFT_MADE: Seen = ("pressure_switch_return_to_c", "inducer_start", "call_voltage")
NO_DRAFT_TOLD: Seen = ("light_says", "draft_fault", ("pressure_switch_open",))
R_IS_FED = "r_to_c_at_board"

ALWAYS: tuple[tuple[tuple[Seen, ...], Seen], ...] = (
    *(((("limit_return_to_c_at_board", s, "control_voltage"),), (R_IS_FED, s, "control_voltage"))
      for s in ("call", "inducer_start", "fan_call", "cooling_call")),
    *(((("pressure_switch_return_to_c", s, "control_voltage"),), (R_IS_FED, s, "control_voltage"))
      for s in ("inducer_start", "igniter_warm_up", "ignition_trial", "heating")),
    *(((one,), ROLLOUT_IN) for one in (GLOWS, GAS_FED, CLICKS, BURNED)),
    ((GLOWS,), NO_FLAME),
    ((("light_says", "standby", ("no_fault",)), ("pressure_switch_return_to_c", "standby", "dead_of_24")), NO_FLAME),
    ((GAS_FED,), ("inducer_runs", "ignition_trial", ("yes",))),
    ((CLICKS,), ("inducer_runs", "ignition_trial", ("yes",))),
    ((("across_inducer_relay", "inducer_start", "line_voltage"),), ("line_to_neutral_at_board", "inducer_start", "line_voltage")),
    ((("across_heat_output", "heating", "line_voltage"),), ("line_to_neutral_at_board", "heating", "line_voltage")),
    *(((("line_to_chassis_at_board", s, "line_by_way_of_chassis"), ("neutral_to_chassis_at_board", s, "neutral_near_ground")),
       ("line_to_neutral_at_board", s, "line_voltage")) for s in ("call", "inducer_start", "ignition_trial", "heating")),
    ((("r_to_w_at_board", "call", "joined_within_24"), ("limit_return_to_c_at_board", "call", "control_voltage")),
     ("w_to_c_at_board", "call", "call_voltage")),
    *(((("across_pressure_switch", s, "control_voltage"),), ("pressure_switch_return_to_c", s, "dead_of_24")) for s in ("standby", "call")),
    *(((("light_says", s, ("no_fault",)), ("across_pressure_switch", s, "control_voltage")), ("flame_seen", s, ("no",))) for s in ("standby", "call")),
    ((GAS_FED,), ("pressure_switch_return_to_c", "igniter_warm_up", "call_voltage")),
    ((DRAFT_MADE, ("across_pressure_switch", "inducer_start", "across_closed")), ("pressure_switch_feed_to_c", "inducer_start", "call_voltage")),
    ((DRAFT_MADE, NO_DRAFT_TOLD), ("igniter_pin_to_neutral", "inducer_start", "dead_of_line")),
)  # fmt: skip
NOT_ALWAYS: tuple[tuple[tuple[Seen, ...], Seen], ...] = (
    ((GLOWS,), ("line_to_neutral_at_board", "call", "line_voltage")),  # it glows on a low line, too
    ((CLICKS,), ("pressure_switch_return_to_c", "igniter_warm_up", "call_voltage")),  # and the valve clicks on one
    ((NO_DRAFT_TOLD,), ("igniter_pin_to_neutral", "inducer_start", "dead_of_line")),  # an open neutral of the board feeds it through the inducer
    ((("inducer_runs", "inducer_start", ("yes",)),), (R_IS_FED, "inducer_start", "control_voltage")),  # and turns behind a burnt fuse clip
)


def so(seen: Seen, population: Population, family: Family) -> Flags:
    """Which furnaces show it, the low-impedance reading where there is one."""
    name, step, what = seen
    keys = [key for key in ((name, step, "low"), (name, step, "high"), (name, step, "")) if key in population.columns]
    values = population.table[population.columns[keys[0]]].astype(float)
    k = family.knowledge
    if isinstance(what, str):
        band = k.band[what]
        return np.asarray((values >= (-np.inf if band.at_least is None else band.at_least)) & (values <= (np.inf if band.at_most is None else band.at_most)))
    sign = k.sign[name]
    assert sign.shows is not None
    words = words_of(sign.shows, family.sequence)
    return np.isin(values, [words.index(w) for v in what for w in (sign.reads_as or {v: (v,)}).get(v, ()) if w in words])


def against(given: tuple[Seen, ...], then: Seen, population: Population, family: Family) -> tuple[int, int]:
    """On how many furnaces *given* is seen, and on how many of them *then* is not."""
    rows = np.logical_and.reduce([so(g, population, family) for g in given])
    return int(rows.sum()), int((rows & ~so(then, population, family)).sum())


@pytest.mark.parametrize(("given", "then"), ALWAYS, ids=lambda s: "-".join(str(part) for part in (s if isinstance(s[0], str) else s[0])[:2]))
def test_what_counts_for_another_is_never_seen_without_it(given: tuple[Seen, ...], then: Seen, population: Population, family: Family) -> None:
    seen, wrong = against(given, then, population, family)

    assert (seen > 0, wrong) == (True, 0)


@pytest.mark.parametrize(("given", "then"), NOT_ALWAYS, ids=["glow-line", "click-draft", "light-igniter", "inducer-24V"])
def test_what_only_mostly_goes_with_another_counts_for_nothing(given: tuple[Seen, ...], then: Seen, population: Population, family: Family) -> None:
    assert against(given, then, population, family)[1] > 0


# --- near misses: what is nearly one of these ways meets nothing -----------------------------------

AT_PIN: dict[str, object] = {"meter": "low", "contact": "pin", "set_up": ["load_on"]}
NEARLY = (
    # condition, the record that meets it, what is changed in it
    ("control_voltage_at_board", {"point": "pressure_switch_return_to_c", "value": "25 V", "step": "ignition_trial", "contact": "pin"}, {"value": "20.2 V"}),
    ("control_voltage_at_board", {"point": "limit_return_to_c_at_board", "value": "25 V", "step": "call", "contact": "pin"}, {"contact": "crimp"}),
    ("rollout_in", {"sign": "igniter_glows", "value": "yes", "step": "igniter_warm_up"}, {"step": "standby"}),
    ("rollout_in", {"point": "gas_pin_to_c", "value": "25 V", "step": "ignition_trial"}, {"step": "pre_purge"}),
    ("rollout_in", {"sign": "gas_valve_clicks", "value": "yes", "step": "ignition_trial"}, {"value": "no"}),
    ("rollout_in", {"sign": "burners_light", "value": "drop_out"}, {"value": "no"}),
    ("no_flame_before", {"sign": "igniter_glows", "value": "bright", "step": "igniter_warm_up"}, {"value": "dull"}),
    ("inducer_runs_in_call", {"point": "gas_pin_to_c", "value": "25 V", "step": "ignition_trial"}, {"value": "15 V"}),
    ("fresh_call", {"sign": "igniter_glows", "value": "yes", "step": "igniter_warm_up"}, {"step": "lockout"}),
    ("fresh_call", {"sign": "burners_light", "value": "stay_lit"}, {"value": "no"}),
    ("line_at_board", {"point": "across_inducer_relay", "value": "120 V", "step": "inducer_start", **AT_PIN, "after_s": "20"}, {"value": "100 V"}),
    ("line_seen_at_board", {"point": "across_heat_output", "value": "120 V", "step": "heating", **AT_PIN}, {"set_up": []}),
    ("pressure_switch_open_before", {"point": "across_pressure_switch", "value": "26 V", "step": "standby"}, {"value": "16 V"}),
    ("draft_held_in_warm_up", {"point": "gas_pin_to_c", "value": "25 V", "step": "ignition_trial"}, {"value": "18 V"}),
)  # fmt: skip


def met(condition: str, entry: dict[str, object], finder: Finder) -> bool:
    records, options = records_of([entry], finder.k)
    return finder.is_met(finder.find(records, options), condition)


@pytest.mark.parametrize(("condition", "entry", "changed"), NEARLY)
def test_a_way_counts_and_its_near_miss_does_not(condition: str, entry: dict[str, object], changed: dict[str, object], finder: Finder) -> None:
    assert met(condition, entry, finder)
    assert not met(condition, {**entry, **changed}, finder)


TWO_NEARLY = (
    # condition, the two records that meet it together, which is changed, and what is changed in it
    ("line_at_board", {"point": "line_to_chassis_at_board", "value": "119 V", "step": "call", "contact": "pin"},
     {"point": "neutral_to_chassis_at_board", "value": "0.4 V", "step": "call", "contact": "pin"}, 0, {"value": "109 V"}),  # 106 V where neutral is 3 V off
    ("line_at_board", {"point": "line_to_chassis_at_board", "value": "119 V", "step": "call", "contact": "pin"},
     {"point": "neutral_to_chassis_at_board", "value": "0.4 V", "step": "call", "contact": "pin"}, 0, {"contact": None}),
    ("line_at_board", {"point": "line_to_chassis_at_board", "value": "119 V", "step": "call", "contact": "pin"},
     {"point": "neutral_to_chassis_at_board", "value": "0.4 V", "step": "call", "contact": "pin"}, 1, {"value": "5 V"}),
    ("heat_call_held", {"point": "r_to_w_at_board", "value": "0.2 V", "step": "call", "contact": "pin", "hold": "max", "after_s": "15"},
     {"point": "limit_return_to_c_at_board", "value": "26 V", "step": "call", "contact": "pin", "hold": "min", "after_s": "15"}, 0, {"value": "3 V"}),
    ("heat_call_held", {"point": "r_to_w_at_board", "value": "0.2 V", "step": "call", "contact": "pin", "hold": "max", "after_s": "15"},
     {"point": "limit_return_to_c_at_board", "value": "26 V", "step": "call", "contact": "pin", "hold": "min", "after_s": "15"}, 0, {"hold": None}),
    ("igniter_output_dead_long", {"sign": "light_says", "value": "pressure_switch_open", "step": "draft_fault"},
     {"point": "pressure_switch_return_to_c", "value": "26 V", "step": "inducer_start", "contact": "pin", "hold": "min",
      "after_s": "90"}, 1, {"after_s": "20"}),
)  # fmt: skip


@pytest.mark.parametrize(("condition", "one", "other", "which", "changed"), TWO_NEARLY)
def test_two_that_count_together_count_for_nothing_alone_nor_nearly(
    condition: str, one: dict[str, object], other: dict[str, object], which: int, changed: dict[str, object], finder: Finder
) -> None:
    def holds(*entries: dict[str, object]) -> bool:
        records, options = records_of([{key: v for key, v in e.items() if v is not None} for e in entries], finder.k)
        return finder.is_met(finder.find(records, options), condition)

    pair = [one, other]
    assert holds(*pair)
    assert not holds(one)
    assert not holds(other)
    pair[which] = {**pair[which], **changed}
    assert not holds(*pair)


@pytest.fixture(scope="module")
def finder() -> Finder:
    return Finder(RULES)


# --- what a flame or a glow before must not stand for ------------------------------------------------


def test_a_flame_before_does_not_stand_for_a_rollout_switch_that_may_have_tripped_since(finder: Finder) -> None:
    """Burners light, flame rolls out, the switch trips: the board rightly says that its string is open although the limit's own pins are live."""
    records, options = _without(RULES, "chain_input_dead", {"rollout_contact", "fresh_call"})
    place = Place("made up", 1, 1)
    lit = [Record("sign", "burners_light", "burners lit", place, word="stay_lit", call=c) for c in (1, 2)]
    seen = [Record("sign", "flame_seen", "flame", place, word="yes", step="heating", call=c) for c in (1, 2)]

    assert finder.find([*records, *lit, *seen], options).grades["chain_input_dead"] != "proved"


def test_a_glow_before_does_not_stand_for_an_eye_on_the_burners_where_flame_is_in_question(finder: Finder) -> None:
    records, options = _without(RULES, "false_flame", {"flame_seen"})
    glow = [Record("sign", "igniter_glows", "glow", Place("made up", 1, 1), word="yes", step="igniter_warm_up", call=c) for c in (1, 2)]

    assert finder.find([*records, *glow], options).grades["false_flame"] != "proved"


def _without(k: Knowledge, proof: str, names: set[str]) -> tuple[list[Record], dict[str, str]]:
    records, options = records_of(example_of(k.proof[proof]), k)
    return [replace(r) for r in records if r.name not in names], options


@pytest.mark.parametrize("name", [p.proof for p in RULES.proof.values() if {"rollout_seen_in", "rollout_in"} & {*p.needs}])
def test_a_button_that_is_in_shows_no_closed_contact(name: str, finder: Finder) -> None:
    """A roll-out switch may fail open under a button that is in; common practice, no source. Only a meter tells."""
    entries = [e for e in example_of(RULES.proof[name]) if "rollout_contact" not in e.values()]
    records, options = records_of([*entries, {"sign": "reset_buttons", "value": "all_in"}], RULES)
    by_meter, _ = records_of([{"point": "rollout_ohms", "value": "0.2"}], RULES)
    found = finder.find(records, options)
    shown = next(n for n in finder.proof(found, name).needs if n.condition in ("rollout_seen_in", "rollout_in")).met_by

    assert not any("reset_buttons" in said for said in shown)
    assert (found.grades[name] == "proved") == bool(shown)  # what the control does with its gas may show it, too
    assert finder.find([*records, *by_meter], options).grades[name] == "proved"
