"""By which reading a failure shows itself."""

import numpy as np
import pytest

from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.telltale import odd_on_all, plainness

# what the trade tests a part by, common practice, no source
TESTED_BY = {
    "igniter:open": {"igniter_ohms"},
    "blower_capacitor:weak": {"capacitor_microfarads"},
    "blower_motor:seized": {"blower_turns_freely"},
    "blower_motor:auxiliary_open": {"blower_auxiliary_ohms"},
    "blower_wheel:loose": {"blower_wheel_grips"},
    "flame_wire:open": {"rod_wire_end_to_end_ohms"},
    "flame_rod:grounded": {"rod_to_case_ohms", "rod_porcelain"},
    "burner_ground:poor": {"burner_to_ground_ohms"},
    "pressure_hose:off_or_cracked": {"pressure_hose_looks"},
    "pressure_hose:port_plugged": {"pressure_port_looks"},
    "vent:blocked": {"vent_looks"},
    "limit_switch:will_not_close": {"limit_ohms", "across_limit", "limit_contact"},
    "rollout_switch:tripped": {"rollout_ohms", "across_rollout", "rollout_contact", "reset_buttons"},
    "gas_valve:coil_open": {"gas_valve_coil_ohms"},
    "gas_supply:shut": {"gas_cock_position", "inlet_pressure"},
    "inducer:seized": {"inducer_turns_freely"},
    "inducer:winding_open": {"inducer_winding_ohms"},
    "door_switch:will_not_close": {"door_switch_ohms", "across_door_switch"},
    "transformer:primary_open": {"primary_ohms"},
}


def test_plainness_is_the_share_of_relative_entropy_that_reading_wrong_has() -> None:
    odd = np.array([[1.0, 0.0, 0.25], [0.5, 0.125, 0.125]])
    bits = plainness(odd, np.array([2.0, 0, 0]), np.array([0, 1.0, 1.0]))
    assert bits == pytest.approx([1.0 * np.log2(1 / 0.125), 0.5 * np.log2(0.5 / 0.125)])


def test_what_reads_wrong_as_often_with_others_shows_nothing() -> None:
    odd = np.array([[0.3, 0.9], [0.4, 0.4]])
    assert plainness(odd, np.array([1.0, 0]), np.array([0, 1.0])) == pytest.approx([0, 0])


def test_odd_is_counted_against_the_good_furnace_of_each_site(evidence: Evidence) -> None:
    population, key = evidence.population, ("inlet_pressure", "ignition_trial", "")
    read = population.table[evidence.column(key)].astype(float)
    good = {int(s): read[r] for r, s in enumerate(population.site_of) if population.fault_of[r] < 0}
    number = [str(f) for f in evidence.family.faults].index("gas_supply:low")
    ours = [(read[r], good[int(population.site_of[r])]) for r in np.flatnonzero(population.fault_of == number)]
    far = [abs(a - b) > 1.0 for a, b in ours if not np.isnan(a) and not np.isnan(b)]  # in. w.c., many times the error of a gauge
    odd = odd_on_all(evidence)[evidence.key_number[key], number]
    assert odd >= sum(far) / len(ours) > 0.5


@pytest.mark.parametrize("failure", sorted(TESTED_BY))
def test_a_failure_shows_itself_by_what_the_trade_tests_it_by(evidence: Evidence, failure: str) -> None:
    faults = [str(f) for f in evidence.family.faults]
    its = np.array([float(f == failure) for f in faults])
    plain = plainness(evidence.odd, its, 1 - its)
    best = max(plain)
    assert best > 1
    plainest = {key[0] for key, n in evidence.key_number.items() if plain[n] >= 0.9 * best}
    assert plainest & TESTED_BY[failure]


def test_what_reads_as_on_a_good_furnace_tells_nothing(evidence: Evidence) -> None:
    """A blocked filter and a dirty coil leave the igniter and the fuse as they were, and choke the air; common practice, no source."""
    faults = [str(f) for f in evidence.population.faults]
    belief = np.zeros(len(faults))
    belief[[faults.index("filter:blocked"), faults.index("ducts:coil_dirty")]] = 0.3, 0.6
    telling = dict(zip(evidence.shown.keys, evidence.telling(belief).tolist(), strict=True))

    assert not telling["igniter_ohms", "power_off", ""]
    assert not telling["fuse_ohms", "power_off", ""]
    assert telling["static_pressure", "heating", ""]
    assert telling["across_limit", "chain_open", "low"]  # a good furnace never comes there, so nothing is known of how it would read
