"""Records that are in doubt are asked for again; records that tell too little for a proof are named with what they lack."""

from __future__ import annotations

from furnace_diag.diagnosis.answer import Answer, answer
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.reckoning import Reckoning
from furnace_diag.diagnosis.report_file import understand
from furnace_diag.diagnosis.weigh import weigh
from furnace_diag.knowledge.yaml_text import parse_yaml
from furnace_diag.report.terminal import answer_lines

FLAME = "{sign: burners_light, value: stay_lit}, {sign: inducer_runs, value: yes, step: heating}, {sign: blower_runs, value: no, step: heating, after_s: 150}"
GHOST = "{point: inducer_pin_to_neutral, value: 64 V, step: inducer_start, meter: high}"
DEAD = "point: heat_terminal_to_neutral, value: 0.2 V"


def answered(records: str, evidence: Evidence) -> Answer:
    return answer(understand(parse_yaml(f"records: [{records}]", "report.yaml"), evidence.knowledge, evidence.vocabulary), evidence)


def board(result: Answer) -> float:
    return next(p.probability for p in result.parts if p.part == "control_board")


def almost(result: Answer) -> str:
    assert result.board.nearest is not None
    return " ".join(a for need in result.board.nearest.needs for a in need.almost)


def test_a_dead_reading_says_what_it_lacks_for_the_proof(evidence: Evidence) -> None:
    """The proof of a dead heat output asks for the step, the pin, a low-impedance meter, the load and the time; DEVELOPERS and the rule say so."""
    bare = almost(answered(f"{FLAME}, {{{DEAD}, step: heating}}", evidence))

    for asked in ("with which meter", "on which contact", "load connected", "seconds"):
        assert asked in bare
    assert bare.count("with which meter") > almost(answered(f"{FLAME}, {{{DEAD}, step: heating, meter: low}}", evidence)).count("with which meter")


def test_what_lies_outside_the_band_is_no_near_miss(evidence: Evidence) -> None:
    """A live terminal lacks nothing that words could mend."""
    result = answered(f"{FLAME}, {{{DEAD}, step: heating}}, {{point: line_to_neutral_at_board, value: 60 V, step: heating}}", evidence)

    assert "line_to_neutral_at_board" not in almost(result)


def test_the_unknown_still_never_counts(evidence: Evidence) -> None:
    result = answered(f"{FLAME}, {{{DEAD}, step: heating}}", evidence)
    assert result.board.nearest is not None

    assert all(not need.met_by for need in result.board.nearest.needs if need.almost)


def test_read_before_its_delay_a_dead_terminal_hardly_blames_the_board(evidence: Evidence) -> None:
    """Forty seconds after the gas many boards have not switched the blower on (two manuals: on-delays of 25 to 90 s)."""
    early = answered(f"{{sign: burners_light, value: stay_lit}}, {{{DEAD}, step: heating, after_s: 40}}", evidence)
    late = answered(f"{{sign: burners_light, value: stay_lit}}, {{{DEAD}, step: heating, after_s: 150}}", evidence)

    assert board(early) < board(late) / 2


def test_a_ghost_may_be_asked_for_again_with_another_meter(evidence: Evidence) -> None:
    """NEMA Bulletin 88 on ghost voltages, read at second hand: what falls to nothing in low impedance was a ghost."""
    report = understand(parse_yaml(f"records: [{GHOST}]", "report.yaml"), evidence.knowledge, evidence.vocabulary)
    groups = evidence.groups(report.records)
    posterior = weigh(
        evidence.population, evidence.family.prior, [facts for _, facts in groups], (evidence.population.fault_of >= 0).astype(float), 0.04, evidence.comings
    )
    read = ("inducer_pin_to_neutral", "inducer_start")

    table = Reckoning(evidence, posterior, None, groups).candidates({read}, (), (), {read})
    assert (*read, "low") in table.keys
    assert (*read, "high") not in table.keys


def test_a_low_impedance_reading_is_another_reading(evidence: Evidence) -> None:
    again = GHOST.replace("64 V", "0.1 V").replace("high", "low")
    report = understand(parse_yaml(f"records: [{GHOST}, {again}]", "report.yaml"), evidence.knowledge, evidence.vocabulary)

    assert len(evidence.groups(report.records)) == 2


def test_a_suspected_board_fits_a_narrow_screen(evidence: Evidence) -> None:
    """A technician in a hurry; yet every hazard, every doubt and every caution of what is asked stands there."""
    result = answered(f"{FLAME}, {{{DEAD}, step: heating, meter: high, contact: crimp}}, {{event: storm_or_outage}}", evidence)
    short = list(answer_lines(result, evidence.knowledge, 40))
    whole = list(answer_lines(result, evidence.knowledge, 40, show_all=True))
    text = " ".join(" ".join(short).split())

    assert result.board.verdict == "suspected"
    assert len(short) < len(whole) * 0.6
    assert all(len(line) <= 40 for line in short)
    for doubt in result.doubts:
        assert doubt.says in text
        assert doubt.tells["do"] in text
    for reading in result.next[:1]:
        for caution in reading.cautions:
            assert caution in text


def test_what_was_read_again_with_a_low_impedance_meter_is_not_asked_for_once_more(evidence: Evidence) -> None:
    """Forty volts on a sensitive meter are doubted as long as they stand in the report; the reading that settles them is there."""
    ghost, settled = (f"{{point: blower_volts_at_motor_heat, value: {value} V, step: heating, meter: {meter}}}" for value, meter in ((40, "high"), (0, "low")))
    asked = answered(f"{FLAME}, {ghost}", evidence).next
    after = answered(f"{FLAME}, {ghost}, {settled}", evidence)
    assert ("blower_volts_at_motor_heat", "low") in [(n.name, n.meter) for n in asked]
    assert after.doubts
    assert "blower_volts_at_motor_heat" not in [n.name for n in after.next]


def test_where_something_else_leads_what_comes_nearest_is_named(evidence: Evidence) -> None:
    """A flame that is there and drops out in each of three tries is what a board does that does not see it, however rare that is; nothing excludes it."""
    told = "{sign: burners_light, value: drop_out}, {sign: tries_before_lock_out, value: three}, {point: flame_current, value: 2.7 uA}"
    result = answered(f"{told}, {{point: burner_to_ground_ohms, value: 0.3 ohm}}, {{point: line_to_chassis_at_board, value: 120 V}}", evidence)
    text = " ".join(" ".join(answer_lines(result, evidence.knowledge, 80)).split())
    assert not result.clashes
    assert result.fits_best == "control_board:flame_circuit_dead"
    assert result.something_else > max(p.probability for p in result.parts)
    assert "No failure that is often met fits these records; control board: flame circuit dead fits them best." in text
