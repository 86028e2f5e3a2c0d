"""Repairs in the rules: none lacking, none without its cautions, the plainest slips told where they stand."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from furnace_diag.cli.main import main
from furnace_diag.diagnosis.examples import finding_problems
from furnace_diag.furnace.family import failures_of
from furnace_diag.furnace.trial import trial_problems
from furnace_diag.knowledge.load import read_rules
from furnace_diag.knowledge.repairs import cautions_of, checks_after, parts_of, places_of, repairs_for, repairs_of
from tests.ours import our_rules

RULES = our_rules()
FAILURES = [(p.part, f.failure) for p in RULES.part.values() for f in failures_of(p, RULES)]

# where the parts of such a furnace stand: common practice, no source
ON_THE_LINE = {"power_supply", "door_switch", "transformer", "control_board", "board_plug", "wiring_harness", "inducer", "inducer_harness", "igniter",
               "igniter_harness", "blower_motor", "blower_wiring", "blower_capacitor", "blower_wheel"}  # fmt: skip
AT_THE_GAS = {"gas_supply", "gas_valve", "burners"}
ON_THE_24_V_SIDE_ONLY = {"thermostat", "thermostat_cable", "float_switch", "outdoor_circuit", "low_voltage_fuse", "limit_switch", "pressure_switch"}
AT_THE_CAPACITOR = {"blower_motor", "blower_capacitor", "blower_wheel", "blower_wiring", "control_board"}
SHORTED_24_V = [("thermostat_cable", "shorted"), ("thermostat_cable", "w_shorted"), ("outdoor_circuit", "shorted"), ("other_control", "humidifier_shorted"),
                ("gas_harness", "chafed"), ("wiring_harness", "low_voltage_chafed"), ("low_voltage_fuse", "too_large")]  # fmt: skip
IN_THE_BURNER_BOX = {"igniter", "flame_rod", "flame_wire", "burner_ground", "burners", "rollout_switch"}


@pytest.mark.parametrize(("part", "failure"), FAILURES)
def test_every_failure_of_every_part_has_a_repair(part: str, failure: str) -> None:
    repair = repairs_for(RULES, part, failure)

    assert part in parts_of(repair)
    assert repair in repairs_of(RULES, part)


def test_the_repair_that_names_the_failure_goes_before_that_of_the_part() -> None:
    """A film is cleaned off, a cracked porcelain is not; a hot motor may be a good one: common practice, no source."""
    assert repairs_for(RULES, "flame_rod", "filmed").of == ("flame_rod:filmed",)
    assert repairs_for(RULES, "flame_rod", "grounded").of == ("flame_rod",)
    assert repairs_for(RULES, "blower_motor", "overload_open_hot").repair != repairs_for(RULES, "blower_motor", "seized").repair
    with pytest.raises(KeyError):
        repairs_for(RULES, "no_part", "blown")


def test_parts_stand_where_the_trade_finds_them() -> None:
    at = {name: places_of(RULES, part) for name, part in RULES.part.items()}

    assert {p for p in ON_THE_LINE if "line" not in at[p]} == set()
    assert {p for p in AT_THE_GAS if "gas" not in at[p]} == set()
    assert {p for p in ON_THE_24_V_SIDE_ONLY if at[p]} == set()
    assert {p for p in at if "gas" in at[p]} == AT_THE_GAS
    assert "capacitor" in at["blower_motor"] & at["blower_capacitor"]
    assert "capacitor" not in at["inducer"] | at["igniter"] | at["power_supply"]


@pytest.mark.parametrize("name", RULES.repair)
def test_no_repair_lacks_the_cautions_of_its_place(name: str) -> None:
    repair = RULES.repair[name]
    parts, cautions = parts_of(repair), set(cautions_of(RULES, repair))

    assert "dead_first" in cautions or not parts & ON_THE_LINE
    assert "gas_off" in cautions or not parts & (AT_THE_GAS | IN_THE_BURNER_BOX)
    assert "capacitor_charged" in cautions or not parts & AT_THE_CAPACITOR
    assert "static_charge" in cautions or not parts & {"control_board", "board_plug"}


@pytest.mark.parametrize("name", RULES.repair)
def test_no_repair_warns_of_a_rating_or_an_open_safety_where_it_has_neither_fuse_nor_switch(name: str) -> None:
    """Both cautions speak of fuses, breakers and switches that open by themselves; an igniter, a valve or a shut cock is none: common practice, no source."""
    repair = RULES.repair[name]
    opens_by_itself = {"rollout_switch", "limit_switch", "float_switch", "pressure_switch", "safety_bypass"}

    for step in repair.steps:
        assert "same_rating_only" not in step.cautions or any(w in f"{repair.says} {step.do}".lower() for w in ("fuse", "switch", "breaker", "safety", "limit"))
    assert "same_rating_only" not in repair.cautions or any(w in repair.says.lower() for w in ("fuse", "switch", "breaker", "safety", "limit", "clip"))
    assert "why_it_opened" not in cautions_of(RULES, repair) or parts_of(repair) <= opens_by_itself


@pytest.mark.parametrize("name", RULES.repair)
def test_what_follows_a_repair(name: str) -> None:
    """Full calls and the room's air after any repair, a leak test where gas was opened: common practice, no source."""
    repair = RULES.repair[name]
    after = [c.check for c in checks_after(RULES, repair)]

    assert {"full_calls_watched", "room_air_is_safe", "safeties_in_place", "covers_are_back"} <= set(after)
    assert "no_leak" in after or not parts_of(repair) & AT_THE_GAS
    assert len(after) == len(set(after))
    assert after[: len(repair.after)] == list(repair.after)


def test_no_fuse_is_renewed_before_the_short_is_looked_for() -> None:
    """A fuse that blew by what is gone waits for the search; where the repair mends the short itself, no fuse is tried before that is read."""
    assert repairs_for(RULES, "low_voltage_fuse", "blown").before == ("no_short_is_left",)
    for part, failure in SHORTED_24_V:
        repair = repairs_for(RULES, part, failure)
        after = [c.check for c in checks_after(RULES, repair)]
        assert after.index("no_short_is_left") < after.index("fuse_is_as_marked") < after.index("fuse_holds")
        assert "no_short_is_left" not in repair.before  # it could not be met while the short is there


def test_a_bridge_across_a_safety_comes_off_at_once_and_whatever_the_reason_was() -> None:
    for repair in repairs_of(RULES, "safety_bypass"):
        assert repair.before == ()
        assert "reason_is_written_down" in repair.after


def test_a_tripped_roll_out_is_not_reset_before_its_reason_is_written_down() -> None:
    assert repairs_for(RULES, "rollout_switch", "tripped").before == ("reason_is_written_down",)


def test_no_board_is_changed_without_the_proof_and_the_cause() -> None:
    for repair in repairs_of(RULES, "control_board"):
        assert repair.needs_proof
        assert "cause_is_known" in repair.before
    assert not any(r.needs_proof for r in RULES.repair.values() if parts_of(r) != {"control_board"})


# --- slips ------------------------------------------------------------------------------------

GOOD = """
- part: shop_damper
  says: A damper in the supply duct.
  often: rare
  failures:
    - {failure: stuck, says: it is stuck half shut, share: 1, effects: [{quantity: duct_open, times: [0.2, 0.6]}]}
- repair: free_the_shop_damper
  of: shop_damper
  says: Free the damper.
  confirm: By eye, it does not move with its motor off.
  cautions: [dead_first]
  steps:
    - {do: Free it., cautions: [sharp_sheet_metal]}
  after: [shop_damper_moves]
- check: shop_damper_moves
  says: The air at the registers is normal again
  any_of: [{sign: air_at_registers, is: normal}]
  holds: [{sign: air_at_registers, value: normal, step: heating}]
  near_miss: [{sign: air_at_registers, value: weak, step: heating}]
"""


def written(folder: Path, text: str) -> Path:
    folder.mkdir(exist_ok=True)
    (folder / "shop.yaml").write_text(text, encoding="utf-8")
    return folder


def test_a_shop_may_add_a_part_with_its_repair_and_check(tmp_path: Path) -> None:
    result = CliRunner().invoke(main, ["rules", "check", str(written(tmp_path / "rules", GOOD))])

    assert result.exit_code == 0, result.output


def test_a_slip_ends_the_command_with_status_2_and_no_traceback(tmp_path: Path) -> None:
    result = CliRunner().invoke(main, ["rules", "check", str(written(tmp_path / "rules", GOOD.replace("of: shop_damper", "of: shop_dampr")))])

    assert result.exit_code == 2
    assert "shop.yaml:7:" in result.output
    assert "Traceback" not in result.output


@pytest.mark.parametrize(
    ("right", "wrong", "told", "line"),
    [
        ("of: shop_damper", "of: shop_dampr", "Did you mean shop_damper?", 7),
        ("of: shop_damper", "of: shop_damper:stuk", "Did you mean stuck?", 7),
        ("of: shop_damper", "of: [shop_damper, filter]", "filter has a repair already", 7),
        ("of: shop_damper", "of: filter:blocked", "shop_damper has no repair for stuck", 2),
        ("of: shop_damper", "of: [shop_damper, control_board:no_logic]", "needs_proof", 7),
        ("after: [shop_damper_moves]", "after: [shop_damper_move]", "Did you mean shop_damper_moves?", 7),
        ("after: [shop_damper_moves]", "after: []", "No repair, experiment or hazard uses check shop_damper_moves", 15),
        ("after: [shop_damper_moves]", "after: [shop_damper_moves, room_air_is_safe]", "comes after any repair already", 7),
        ("after: [shop_damper_moves]", "after: [shop_damper_moves]\n  before: [shop_cause]", "There is no check shop_cause", 7),
        ("cautions: [dead_first]", "cautions: [ded_first]", "Did you mean dead_first?", 7),
        ("cautions: [sharp_sheet_metal]", "cautions: [sharp_metal]", "There is no caution sharp_metal", 7),
        ("confirm: By eye, it does not move with its motor off.", "confirm: line_at_bord", "Did you mean line_at_board?", 7),
        ("value: weak", "value: normal", "is met by its near miss too", 15),
        ("value: normal", "value: weak", "is not met by its own example", 15),
        ("is: normal", "is: plenty", "There is no value of air_at_registers: plenty", 15),
        ("{sign: air_at_registers, is: normal}", "{finding: gas_leak}", "stands on another conclusion", 15),
        ("  any_of:", "  once: true\n  calls: 2\n  any_of:", "leave one of them out", 15),
        ("steps:\n    - {do: Free it., cautions: [sharp_sheet_metal]}", "steps: []", "steps must have 1 or more entries", 12),
    ],
)
def test_a_slip_is_told_with_its_place(tmp_path: Path, right: str, wrong: str, told: str, line: int) -> None:
    assert right in GOOD
    knowledge, problems = read_rules([written(tmp_path / "rules", GOOD.replace(right, wrong, 1))])
    if knowledge is not None:
        problems = finding_problems(knowledge)

    assert [p.place.line for p in problems if p.place and told in str(p)] == [line]


def test_a_point_that_nothing_reads_is_told() -> None:
    lost = RULES.point["across_fuse"].model_copy(update={"point": "lost", "leads": ("board_r", "nowhere")})
    told = trial_problems(RULES.model_copy(update={"point": {**RULES.point, "lost": lost}}))

    assert [p.message for p in told] == ["Nothing reads lost: no furnace has all that it names."]
    assert trial_problems(RULES) == []
