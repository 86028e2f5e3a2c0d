"""The ranges, cautions and order of hazards in the rules against what is published. The source and how it is known stand beside each."""

from __future__ import annotations

import re

import numpy as np
import pytest

from furnace_diag.furnace.built import Population
from furnace_diag.knowledge.models import Knowledge

LINE, CONTROL = 120.0, 24.0  # V nominal
# 85 to 110 % of the rated volts: the test range of UL/IEC 60730-1 and ANSI Z21.20, from memory
LOWEST, HIGHEST = 0.85, 1.10
CLASS_2 = 30.0  # V rms under any load or none: ANSI/UL 1585, now UL 5085-3, read on a laboratory's page
# ANSI C84.1 Table 1, Range A: 126 V at the service, read at second hand; 108 V at the appliance, 2011 edition on, from memory
SERVICE_TOP, UTILIZATION_LEAST = 126.0, 108.0
LIVE_WORK = 50.0  # V: 29 CFR 1910.333(a)(1), read on the page; the first shock boundary of NFPA 70E Table 130.4, read at second hand


@pytest.mark.parametrize(
    ("band", "at_least", "at_most"),
    [
        ("line_voltage", UTILIZATION_LEAST, HIGHEST * LINE),
        ("below_service", None, UTILIZATION_LEAST),
        ("above_service", SERVICE_TOP, None),
        ("control_voltage", LOWEST * CONTROL, CLASS_2),
        ("over_class_2", CLASS_2, None),
        ("igniter_supply", LOWEST * LINE, HIGHEST * LINE),
        ("within_40_va", None, 40.0 / CONTROL),  # amps that a 40 VA transformer carries at its rated volts
        # what one maker's natural-gas furnace asks for at its inlet: from its start-up page, name withheld
        ("inlet_working", 4.5, 14.0),
        # series current of in-shot burners is 2 to 5 uA DC, under 1 uA is weak: technical-conference slides of 2002, read on the page
        ("flame_plain", 2.0, None),
        ("flame_weak", None, 1.0),
        # half a volt across a good closed contact: a maker's page, name withheld
        ("across_closed", None, 0.5),
    ],
)
def test_a_band_ends_where_it_is_published_to(band: str, at_least: float | None, at_most: float | None, knowledge: Knowledge) -> None:
    """Within a hundredth, which is what parts "more than" from "at least"."""
    found = knowledge.band[band]

    assert (found.at_least, found.at_most) == (at_least and pytest.approx(at_least, abs=0.011), at_most and pytest.approx(at_most, abs=0.011))


def test_what_is_out_of_range_begins_where_the_range_ends(knowledge: Knowledge) -> None:
    """No reading is both in a range and beyond it."""
    for inside, beyond in (("control_voltage", "over_class_2"), ("call_voltage", "over_class_2")):
        assert (knowledge.band[inside].at_most or 0) < (knowledge.band[beyond].at_least or 0)
    assert (knowledge.band["below_service"].at_most or 0) < (knowledge.band["line_voltage"].at_least or 0)
    assert (knowledge.band["flame_weak"].at_most or 0) < (knowledge.band["flame_plain"].at_least or 0)


def test_a_ghost_is_never_taken_for_line_voltage(knowledge: Knowledge) -> None:
    """A ghost often is 80 to 85 % of the hard value beside it: NEMA Bulletin 88, read at second hand. The hardest value in range is 126 V."""
    ghost, line, dead = (knowledge.band[b] for b in ("ghost", "line_voltage", "dead_of_line"))

    assert (ghost.at_most or 0) >= 0.85 * SERVICE_TOP - 0.5
    assert (ghost.at_most or 0) < (line.at_least or 0)
    assert dead.ghost_up_to == ghost.at_most
    assert (dead.at_most or 0) < (ghost.at_least or 0)


def test_a_supply_without_a_bond_lies_between_neutral_and_line(knowledge: Knowledge) -> None:
    """Each side stands at its share of the whole, 40 to 80 V of 120 (common practice, no source); the shares of both sides add up to it."""
    half = knowledge.band["half_of_line"]

    assert (half.at_least or 0) <= 40
    assert (half.at_most or 0) >= 80
    assert (half.at_least or 0) + (half.at_most or 0) == pytest.approx(LINE)


def test_a_good_igniter_of_any_published_kind_is_whole(knowledge: Knowledge) -> None:
    """Cold: carbide 40 to 90 ohm, nitride from 10 ohm, parts-trade guides, common practice. The band only parts whole from broken."""
    whole = knowledge.band["igniter_whole"]

    assert (whole.at_least or 0) <= 10
    assert (whole.at_most or 0) >= 90


def test_healthy_capacitors_lie_within_their_mark(knowledge: Knowledge) -> None:
    """6 % either way is the usual mark of a motor's run capacitor: a trade forum, common practice; IEC 60252-1 has 5 and 10 % (from memory)."""
    for furnace in knowledge.furnace.values():
        microfarads = furnace.numbers["capacitor_microfarads"]

        assert microfarads.of == "capacitor_mark"
        assert 0.94 <= microfarads.between[0] <= microfarads.between[1] <= 1.06


def test_a_weak_capacitor_is_anything_from_a_stub_to_just_below_its_mark(knowledge: Knowledge) -> None:
    """Replaced below 90 to 94 % by the marks above; half and less is often read: common practice, no source."""
    (weak,) = [f for f in knowledge.kind["capacitor"].failures if f.failure == "weak"]
    assert weak.effects[0].times is not None
    least, most = weak.effects[0].times

    assert least < 0.25
    assert 0.9 <= most <= 0.94


# --- hazards ----------------------------------------------------------------------------------


def figures(words: tuple[str, ...]) -> set[float]:
    return {float(n) for word in words for n in re.findall(r"\d+", word)}


@pytest.mark.parametrize(
    ("sign", "expected"),
    [
        # 30 ppm: 2018 IRC App. D, read on the page, http://online.flipbuilder.com/mewf/mima/files/basic-html/page871.html ; 70 ppm there from memory,
        # and the level at which home alarms must sound within four hours, UL 2034, read at second hand
        ("co_in_room", {30.0, 70.0}),
        # 0.04 % air-free: ANSI Z21.47-1993 clause 2.8.1, read on the page
        ("co_in_flue", {400.0}),
        # 20 % of the lower explosive limit: 2018 IRC App. D, read on the same page
        ("gas_detector", {20.0}),
    ],
)
def test_a_hazard_is_parted_where_it_is_published_to(sign: str, expected: set[float], knowledge: Knowledge) -> None:
    assert figures(tuple(knowledge.sign[sign].values)) == expected


@pytest.mark.parametrize(
    ("sign", "value", "hazard"),
    [
        ("gas_detector", "at_least_20_percent", "gas_in_the_air"),
        ("gas_detector", "under_20_percent", "gas_leak"),
        ("co_in_room", "at_least_70_ppm", "carbon_monoxide"),
        ("co_in_room", "from_30_to_70_ppm", "carbon_monoxide_low"),
        ("co_in_flue", "over_400_ppm", "unsafe_combustion"),
        ("water_on_controls", "under_water", "water_reached_controls"),
    ],
)
def test_each_published_level_stops_the_visit(sign: str, value: str, hazard: str, knowledge: Knowledge) -> None:
    """The sources are those above; controls that were under water: 2018 IRC App. D, page872.html of the same book, read on the page."""
    stops = {h.hazard for h in knowledge.hazard.values() for way in h.when for w in way if len(way) == 1 and w.sign == sign and value in w.is_}

    assert stops == {hazard}


def test_hazards_come_in_the_order_of_the_published_inspection(knowledge: Knowledge) -> None:
    """Gas in the air is left at once, before a leak is looked for, before carbon monoxide in the room is read, all before the appliance is looked at:
    2018 IRC App. D.2, read on the page (see above). Below those four the order is common practice, no source.
    """
    published = ["gas_in_the_air", "gas_leak", "carbon_monoxide", "carbon_monoxide_low"]
    practice = [
        "fire_or_melting", "flame_rolled_out", "flame_nobody_called_for", "water_reached_controls", "cabinet_is_live", "safety_taken_out",
        "unsafe_combustion", "rough_ignition", "many_failed_trials", "service_neutral_lost",
    ]  # fmt: skip

    assert [h.hazard for h in sorted(knowledge.hazard.values(), key=lambda h: h.rank)] == [*published, *practice]


# --- cautions ---------------------------------------------------------------------------------


def test_whatever_may_read_fifty_volts_or_more_warns_of_it(knowledge: Knowledge) -> None:
    """Parts at 50 V or more to ground are worked on dead unless the test needs the power: 29 CFR 1910.333(a)(1), read on the page."""
    live = [p for p in knowledge.point.values() if p.function == "ac_volts" and any(e.high >= LIVE_WORK for e in p.expects)]

    assert len(live) > 10
    assert [p.point for p in live if "live_line" not in p.cautions] == []


def test_whatever_is_measured_dead_says_so(knowledge: Knowledge) -> None:
    """Isolated first; an interlock such as a door switch is no isolation: 29 CFR 1910.333(b)(2)(ii)(B), read on the page."""
    dead = [p for p in knowledge.point.values() if p.function in ("ohms", "microfarads")]

    assert len(dead) > 10
    assert [p.point for p in dead if "dead_first" not in p.cautions] == []
    assert "door switch does not make it dead" in knowledge.caution["dead_first"].says


def test_a_capacitor_is_discharged_before_it_or_what_it_hangs_on_is_measured(knowledge: Knowledge) -> None:
    """29 CFR 1910.333(b)(2)(ii)(C), read on the page."""
    near = [p for p in knowledge.point.values() if p.point.startswith(("blower_", "capacitor_")) and p.function in ("ohms", "microfarads")]

    assert len(near) > 3
    assert [p.point for p in near if "capacitor_charged" not in p.cautions] == []


def test_touch_volts_are_no_laxer_than_the_published_line(knowledge: Knowledge) -> None:
    """The rules call 30 V on the cabinet a shock (common practice, no source), which must not lie above the 50 V of the law."""
    assert (knowledge.band["shock"].at_least or LIVE_WORK) < LIVE_WORK


def test_a_fed_flame_rod_reads_as_published(population: Population) -> None:
    """80 to 100 V AC on the rod pin through a usual meter: https://techsupport.jswmi.com/kb/article/72-flame-sensors-flame-recitfication-how-does-it-work/

    It goes with the supply, 114 to 126 V by ANSI C84.1 Range A where 120 V is nominal. A low-impedance meter (some kilohm, common practice) leaves
    next to nothing of it: 3 kilohm of 2 megohm is 0.2 V.
    """
    good = population.fault_of < 0
    read, low = (population.table[population.columns["rod_pin_to_chassis", "ignition_trial", meter], good].astype(float) for meter in ("high", "low"))
    assert np.nanmin(read) > 80 * 114 / LINE
    assert np.nanmax(read) < 100 * SERVICE_TOP / LINE
    assert np.nanmax(low) < 0.5
