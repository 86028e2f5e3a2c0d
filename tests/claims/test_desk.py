"""One claim judged: the same as `rank` on the same records, and no more than the records show."""

from __future__ import annotations

import json
import random
import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from furnace_diag.claims.desk import VERDICTS, Desk, Judgement, RememberingEvidence
from furnace_diag.claims.raw_claim import RawClaim
from furnace_diag.claims.reading import Files
from furnace_diag.claims.run import COLUMNS, Summary, row_of
from furnace_diag.claims.understanding import Claim, Reader
from furnace_diag.diagnosis.answer import Answer, answer
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.examples import example_of, records_of
from furnace_diag.diagnosis.one_record import record_of
from furnace_diag.diagnosis.records import Record, Report
from furnace_diag.diagnosis.report_file import read_report, understand
from furnace_diag.diagnosis.two_answers import clashing
from furnace_diag.diagnosis.vocabulary import Vocabulary
from furnace_diag.furnace.family import Family
from furnace_diag.furnace.population import Population
from furnace_diag.knowledge.models import Knowledge
from furnace_diag.knowledge.yaml_text import parse_yaml
from furnace_diag.problems import Place, Problem
from furnace_diag.report.claims_page import page
from furnace_diag.report.claims_screen import reason_lines
from tests.ours import our_rules

RULES = our_rules()
VOCABULARY = Vocabulary(RULES)
CASES = sorted((Path(__file__).resolve().parents[2] / "cases").glob("*.yaml"))
BOARD = "control_board"
BOUNDS = next(iter(RULES.words.values())).claims
Judged = Callable[..., list[Judgement]]
Read = Callable[..., tuple[list[RawClaim], Files]]
PLACE = Place("claims.csv", 1, 1)


def claim_of(report: Report, *, part: str = BOARD, unread: tuple[Problem, ...] = ()) -> Claim:
    return Claim("C1", "Oak", "", "", part, "", "", "", PLACE, report, unread, (), (), ())


def agrees(judgement: Judgement, ranked: Answer, report: Report) -> None:
    """Beliefs, verdict on the board, proof and findings are those of `rank`; the verdict on the claim follows from them."""
    shares = {p.part: p.probability for p in ranked.parts}
    assert judgement.share == pytest.approx(shares[judgement.part], abs=6e-5)
    assert judgement.something_else == pytest.approx(ranked.something_else, abs=6e-5)
    assert judgement.board == ("not_settled" if judgement.verdict == "cannot_be_true_together" else ranked.board.verdict)
    assert [h.finding for h in judgement.hazards] == [h.finding for h in ranked.hazards]
    assert [d.finding for d in judgement.doubts] == [d.finding for d in ranked.doubts]
    other = next(p for p in ranked.parts if p.part != judgement.part)
    if other.probability < BOUNDS.worth_naming:  # little belief in another part is no accusation of it
        assert judgement.cause is None
    else:
        assert judgement.cause is not None
        assert judgement.cause.share_of_part == pytest.approx(other.probability, abs=6e-5)
        if judgement.cause.part == other.part and judgement.cause.failure == other.failures[0].failure:
            assert judgement.cause.speaks_for == other.failures[0].speaks_for or other.failures[0].probability < 0.005
    assert (judgement.verdict == "supported") == bool(ranked.board.proved)
    if judgement.proof is None and ranked.board.nearest is not None:  # a proof of which a heat call shows nothing, and nothing tells it from others
        assert not ranked.board.proved
        assert not any(n.met_by or n.denied_by or n.almost for n in ranked.board.nearest.needs if not RULES.condition[n.condition].once)
    elif ranked.board.proved or ranked.board.nearest:
        assert judgement.proof is not None
        assert judgement.proof.proof == (ranked.board.proved[0] if ranked.board.proved else ranked.board.nearest).proof  # type: ignore[union-attr]
    if judgement.verdict == "not_supported":
        assert ranked.board.verdict in ("unlikely", "cleared")
        assert judgement.cause.share_of_part >= BOUNDS.elsewhere
    if judgement.verdict == "cannot_be_true_together":
        assert any({said.rpartition(" (")[0] for said in judgement.clash} == {*c.records} for c in ranked.clashes)
    elif judgement.verdict != "supported":
        assert judgement.clash == ()
        steps = {said: {r.step for r in report.records if r.said == said} for c in ranked.clashes for said in c.records}  # what holds at one may not at another
        both = [steps[c.records[0]] & steps[c.records[1]] for c in ranked.clashes if len(c.records) == 2 and _is_seen_to_work(c.records)]
        assert not any(shared - {"standby"} for shared in both)  # what runs with nothing called for is not seen to work: no good furnace does so


def _is_seen_to_work(said: tuple[str, ...]) -> bool:
    """Whether one of the records says that the thing runs, glows or burns, which it does only with what it works by."""
    return any(s.split(": ")[0] in ("inducer_runs", "blower_runs", "igniter_glows", "flame_seen") and s.split(": ")[1] in ("yes", "bright") for s in said)


@pytest.mark.parametrize("case", CASES, ids=lambda p: p.stem)
def test_cases_are_judged_as_they_are_ranked(case: Path, desk: Desk, evidence: Evidence) -> None:
    report = read_report(case, RULES, VOCABULARY)
    judgement = desk.judge(claim_of(report))

    agrees(judgement, answer(report, evidence), report)
    if report.answer.get("part") != BOARD:
        assert judgement.verdict not in ("supported", "plausible")
    if judgement.verdict == "not_supported":
        assert report.answer.get("part") != BOARD


def random_reports(count: int, seed: int = 5) -> Iterator[Report]:
    """Parts of the examples of proofs and other findings, put together."""
    chance = random.Random(seed)
    proofs = [records_of(example_of(p), RULES, VOCABULARY) for p in RULES.proof.values()]
    others = [records_of(e.holds, RULES, VOCABULARY)[0] for kind in ("hazard", "doubt", "exoneration", "advice") for e in getattr(RULES, kind).values()]
    family = next(iter(RULES.furnace))
    for _ in range(count):
        records, options = chance.choice(proofs)
        share = chance.choice((0.3, 0.7, 1.0))
        every: list[Record] = [r for r in (*records, *chance.choice(others)) if chance.random() < share]
        if not clashing(every):
            yield Report(family, "", tuple(every), options if share == 1 else {})


def test_random_claims_are_judged_as_they_are_ranked(desk: Desk, evidence: Evidence) -> None:
    verdicts = set()
    for report in random_reports(60):
        judgement = desk.judge(claim_of(report))
        agrees(judgement, answer(report, evidence), report)
        verdicts.add(judgement.verdict)

    assert {"supported", "not_shown"} <= verdicts


@pytest.mark.parametrize("name", sorted(RULES.proof))
def test_a_complete_proof_supports_the_claim_and_one_condition_less_does_not(name: str, desk: Desk) -> None:
    records, options = records_of(example_of(RULES.proof[name]), RULES, VOCABULARY)
    family = next(iter(RULES.furnace))
    whole = desk.judge(claim_of(Report(family, "", tuple(records), options)))

    assert whole.verdict == "supported"
    assert whole.proof is not None
    by_options = {c for c, condition in RULES.condition.items() if any(w.option for way in condition.any_of for w in way)}
    assert all((need.met_by or need.condition in by_options) and ".yaml:" in need.at and not need.take for need in whole.proof.needs)
    for left_out in {r.name for r in records}:
        less = desk.judge(claim_of(Report(family, "", tuple(r for r in records if r.name != left_out), options)))
        assert less.verdict != "supported" or (less.proof is not None and less.proof.grade == "proved")


def test_an_entry_that_could_not_be_read_holds_a_verdict_back(desk: Desk) -> None:
    unread = (Problem(Place("claims.csv", 9, 2), "This is not read.", "Write it."),)
    records, options = records_of(example_of(RULES.proof["heat_output_dead"]), RULES, VOCABULARY)
    proved = Report(next(iter(RULES.furnace)), "", tuple(records), options)
    denied = read_report(next(c for c in CASES if desk.judge(claim_of(read_report(c, RULES, VOCABULARY))).verdict == "not_supported"), RULES)

    for report, verdict in ((proved, "plausible"), (denied, "not_shown")):
        judgement = desk.judge(claim_of(report, unread=unread))
        assert judgement.verdict == verdict
        assert "could not be read" in judgement.says
        assert judgement.held_back == ("claims.csv:9:2: This is not read. Write it.",)


PROVES = example_of(RULES.proof["heat_output_dead"])


@pytest.mark.parametrize(
    ("text", "settles"),
    [
        ("somebody on the phone called the module shot", False),  # the board, by another name
        ("saw 0.2 v somewhere odd", False),
        ("flame did something odd once", False),
        ("smelled odd on arrival", True),
        ("had to move a couch first", True),
    ],
)
def test_text_that_is_not_read_settles_nothing_where_it_names_the_board_or_a_reading(desk: Desk, reader: Reader, read: Read, text: str, settles: bool) -> None:
    """Of a claim whose records prove it, and of one whose records deny it."""
    (raw,), _ = read(f'claim,readings\nA1,"{text}"\n')
    told = reader.understood(raw)
    assert [p.message for p in told.unmatched] == [f"{text} is not read."]

    records, options = records_of(PROVES, RULES, VOCABULARY)
    denied = read_report(next(c for c in CASES if desk.judge(claim_of(read_report(c, RULES, VOCABULARY))).verdict == "not_supported"), RULES)
    for report, verdicts in ((Report(denied.family, "", tuple(records), options), ("plausible", "supported")), (denied, ("not_shown", "not_supported"))):
        judgement = desk.judge(replace(told, report=report))
        assert judgement.verdict == verdicts[settles]
        assert ("nothing is settled" in judgement.says) is not settles
        assert (judgement.board == "not_settled") is not settles


def test_no_board_is_cleared_by_a_claim_that_was_not_read_whole(judged: Judged) -> None:
    """Volts that the board gives its load clear it; what could not be read may speak otherwise."""
    read_ = "claim,name,value,step,meter,contact,set_up\nA1,line_to_neutral_at_board,119,,,,\nA1,blower_runs,no,heating,,,\n"
    read_ += "A1,heat_terminal_to_neutral,118,heating,low,pin,load_on\n"
    whole, torn = (judged(read_ + more)[0] for more in ("", "A1,igniter_ohms,banana,power_off,,,\n"))

    assert (whole.verdict, whole.board, torn.verdict, torn.board) == ("not_shown", "cleared", "not_shown", "not_settled")
    assert "nothing is settled" in torn.says


def test_a_clash_settles_nothing_of_the_board_in_any_output(judged: Judged) -> None:
    """One of two records that contradict one another is wrong, and which, nobody knows: what both say together of the board is worth nothing."""
    two_answers = "claim,name,value,step\nA1,igniter_ohms,62,power_off\nA1,igniter_ohms,OL,power_off\n"
    for content in (IMPOSSIBLE, two_answers):
        (judgement,) = judged(content)
        result = json.loads(json.dumps(judgement, default=vars))
        row = dict(zip(COLUMNS, row_of(result), strict=True))
        shown = " ".join(" ".join(reason_lines(result, 200)).split())
        on_page = "".join(page(Summary(), [result]))

        assert (result["verdict"], result["board"], result["clears"], row["board"]) == ("cannot_be_true_together", "not_settled", [], "not_settled")
        for text in (result["says"], row["says"], shown, on_page):
            assert "nothing is settled of the control board" in text
        assert "leared so far" not in shown


@pytest.mark.parametrize(
    ("share", "something_else", "cause", "first"),
    [(0.02, 0.03, 0.95, "95% igniter"), (0.6, 0.05, 0.35, "60% control board"), (0.2, 0.5, None, "50% something else"), (0.02, 0.03, None, "95% spread over")],
)
def test_what_leads_is_told_first(judged: Judged, share: float, something_else: float, cause: float | None, first: str) -> None:
    (judgement,) = judged("claim,name,value,step\nA1,igniter_ohms,OL,power_off\n")
    assert judgement.cause is not None
    of_cause = None if cause is None else replace(judgement.cause, part="igniter", share_of_part=cause)
    result = json.loads(json.dumps(replace(judgement, share=share, something_else=something_else, cause=of_cause), default=vars))
    (line,) = (x for x in reason_lines(result, 400) if x.startswith("Belief"))

    assert line.startswith(f"Belief: {first}")
    assert sum(map(int, re.findall(r"(\d+)%", line))) == pytest.approx(100, abs=2)  # rounded, each


def test_two_answers_to_one_question_clash_with_their_places(judged: Judged) -> None:
    (judgement,) = judged("claim,name,value,step\nA1,igniter_ohms,62,power_off\nA1,igniter_ohms,OL,power_off\n")

    assert judgement.verdict == "cannot_be_true_together"
    assert "claims.csv:3:4" in judgement.clash[0]
    assert "line 2" in judgement.clash[0]


IMPOSSIBLE = """claim,name,value,step
A1,line_to_neutral_at_board,0 V,standby
A1,door_switch_out_to_neutral,0 V,standby
A1,inducer_runs,yes,heating
A1,igniter_glows,yes,igniter_warm_up
A1,flame_seen,yes,heating
A1,blower_runs,yes,heating
A1,r_to_c_at_board,0 V,standby
A1,storm,yes,
"""


def test_records_that_no_furnace_gives_clash_and_the_set_names_both_sides(judged: Judged) -> None:
    """Without line voltage at the board nothing runs and nothing burns; common practice, no source. A storm is no reading and is left out."""
    dead, works = {2, 3, 8}, {4, 5, 6, 7}
    (judgement,) = judged(IMPOSSIBLE)

    assert judgement.verdict == "cannot_be_true_together"
    lines = {int(c.rpartition("claims.csv:")[2].split(":")[0]) for c in judgement.clash}
    assert len(lines) == 2  # one of each is enough
    assert lines & dead
    assert lines & works


def judgement_of(desk: Desk, *rows: str, part: str = BOARD) -> Judgement:
    """The judgement of records written as NAME VALUE and, as far as told, STEP, METER, CONTACT, HOLD and SET-UP, - for what is not."""
    fields = ("step", "meter", "contact", "hold", "set_up")
    records = []
    for number, row in enumerate(rows, 1):
        name, value, *more = row.split()
        kind = "point" if name in RULES.point else "sign"
        entry = {kind: name, "value": value.replace("_", " ")} | {k: v for k, v in zip(fields, more, strict=False) if v != "-"}
        records.append(record_of(entry, Place("claims.csv", number, 1), VOCABULARY))
    return desk.judge(claim_of(Report(next(iter(RULES.furnace)), "", tuple(records), {}), part=part))


@pytest.mark.parametrize(
    "rows",
    [
        ("igniter_ohms OL", "igniter_glows bright igniter_warm_up"),  # no path through the element, and it glows
        ("igniter_ohms OL", "flame_seen yes heating"),  # nothing to light the gas by
        ("w_to_c_at_board 0 ignition_trial low", "flame_seen yes ignition_trial"),  # no call, and the valve is held open
        ("line_to_neutral_at_board 0 inducer_start low", "inducer_runs yes inducer_start"),  # no line voltage, and a motor on it runs
        ("secondary_volts_at_board 0 standby low", "r_to_c_at_board 26 standby low"),  # 24 V behind where there is none
    ],
)
def test_what_works_without_what_it_works_by_is_a_contradiction(desk: Desk, rows: tuple[str, ...]) -> None:
    """By circuit law, at one step, whatever has failed; so too where other records stand beside them, and where a part leads.

    At two steps a breaker may have tripped between them.
    """
    for more in ((), ("gas_valve_coil_ohms 45 power_off", "filter_looks clean")):
        judgement = judgement_of(desk, *rows, *more)
        assert judgement.verdict == "cannot_be_true_together"
        assert {c.split(":")[0] for c in judgement.clash} == {r.split()[0] for r in rows}


@pytest.mark.parametrize(
    "rows",
    [
        # 24 V at the pin, a good fuse and nothing behind it: an open clip or trace, which these rules leave out
        ("secondary_volts_at_board 26.2", "r_to_c_at_board 0.1 - low", "fuse_ohms 0.1"),
        ("secondary_volts_at_board 26.2", "r_to_c_at_board 0.1 - low", "fuse_ohms 0.1", "across_fuse_holder 26"),
        # line voltage in the box, a closed door switch and nothing on either side of it: its feed is broken
        ("line_to_neutral_at_junction_box 120", "line_to_neutral_at_board 0.1 - low", "across_door_switch 0.1", "door_switch_out_to_neutral 0.2 - low"),
    ],
)
def test_one_break_that_explains_all_is_no_contradiction(desk: Desk, rows: tuple[str, ...]) -> None:
    judgement = judgement_of(desk, *rows)

    assert judgement.verdict == "not_shown"
    assert judgement.clash == ()
    assert not judgement.says.startswith("Some records contradict")


@pytest.mark.parametrize(
    ("more", "also"),
    [((), True), (("secondary_ohms_of_transformer 1.5",), False)],
)
def test_a_denial_names_every_failure_of_the_part_that_was_not_told_apart(desk: Desk, more: tuple[str, ...], also: bool) -> None:
    """No volts out of a transformer with 120 V on it is of either winding, circuit law; ohms of the one leave the other."""
    judgement = judgement_of(desk, "secondary_volts_at_board 0 standby", "line_to_neutral_at_board 120 standby", "whole_furnace dead", *more)
    assert judgement.cause is not None
    assert judgement.verdict == "not_supported"
    assert judgement.cause.failure == "primary_open"
    assert judgement.says.endswith(f"{judgement.cause.says}.")
    assert ("secondary winding is open" in judgement.cause.says) is also


def test_where_every_known_cause_is_excluded_it_says_which_records_exclude_them(desk: Desk) -> None:
    rows = ("secondary_volts_at_board 26.2 standby", "r_to_c_at_board 0.1 standby low", "across_fuse_holder 0.1 standby")

    assert all(f"{r.split()[0]}: {r.split()[1]}" in judgement_of(desk, *rows).says for r in rows)


def test_a_broken_feed_of_the_door_switch_is_known(desk: Desk) -> None:
    told = ("line_to_neutral_at_junction_box 120", "across_door_switch 0.1", "door_switch_out_to_neutral 0.2 - low", "line_to_neutral_at_board 0.1 - low")
    cause = judgement_of(desk, *told).cause

    assert cause is not None
    assert (cause.part, cause.failure) == ("wiring_harness", "door_feed_open")


def test_a_danger_that_only_the_text_speaks_of_is_told_beside_the_verdict(judged: Judged) -> None:
    """So that whoever reads no letter meets it too; what a record tells, or a text denies, is no such danger. A complaint tells it as a record does."""
    table = "claim,complaint,name,value,note\nA1,,igniter_ohms,48 ohm,strong gas smell at the furnace\nA2,no gas smell,igniter_ohms,48 ohm,\n"
    spoken, denied, complained = judged(f"{table}A3,strong gas smell at the furnace,igniter_ohms,48 ohm,\n")

    assert any("speaks of this" in text and "gas" in text for text in spoken.feared)
    assert denied.feared == denied.notes == ()
    assert denied.hazards == ()
    assert ([h.finding for h in complained.hazards], complained.feared) == (["gas_in_the_air"], ())


@pytest.mark.parametrize(
    ("complaint", "rows"),
    [
        ("igniter never glows", ()),
        ("glows, no gas", (("igniter_ohms", "48 ohm", ""),)),
        ("the fan never shuts off", (("blower_runs", "yes", "standby"), ("heat_terminal_to_neutral", "119 V", "standby"))),
        ("lights and goes out after a few seconds", (("flame_current", "0.2 uA", "ignition_trial"), ("igniter_glows", "yes", ""))),
        ("no flame", (("burners_light", "stay_lit", ""), ("blower_runs", "no", "heating"))),  # seen otherwise than told
        ("smells of gas, no heat", (("gas_smell", "none", ""),)),
        ("sometimes no flame", (("inducer_runs", "yes", ""),)),
    ],
)
def test_a_complaint_weighs_in_a_claim_as_in_a_ranking(complaint: str, rows: tuple[tuple[str, str, str], ...], judged: Judged, evidence: Evidence) -> None:
    """The same file with the same complaint, as a claim and as a report; hearsay shows and proves nothing."""
    head = f'claim,complaint,name,value,step\nA1,"{complaint}",,,\n'
    (judgement,) = judged(head + "".join(f"A1,,{name},{value},{step}\n" for name, value, step in rows))
    kind = {name: "point" if name in RULES.point else "sign" for name, _, _ in rows}
    records = [{kind[name]: name, "value": value} | ({"step": step} if step else {}) for name, value, step in rows]
    report = understand(parse_yaml(json.dumps({"complaint": complaint, "records": records}), "report"), RULES, VOCABULARY)

    agrees(judgement, answer(report, evidence), report)
    assert rows or judgement.says.startswith("Nothing but the complaint could be read")


@pytest.mark.parametrize("complaint", ["last guy says board is bad", "told I need a new board", "other company condemned the board"])
def test_whoever_blames_the_board_in_a_complaint_proves_nothing(judged: Judged, complaint: str) -> None:
    """Told by somebody without a figure: it is kept as told, makes no claim plausible, and the claim stays as little shown as without it."""
    (blamed,), (plainly,) = judged(f"claim,complaint\nA1,{complaint}\n"), judged("claim,complaint\nA1,no heat\n")

    assert [(r["sign"], r["value"], r["source"]) for r in blamed.records] == [("somebody_blames_board", "yes", "told")]
    assert blamed.verdict == plainly.verdict == "not_shown"
    assert [d.finding for d in blamed.doubts] == ["board_blamed_without_figures"]


def test_no_denial_rests_on_what_a_complaint_tells(judged: Judged) -> None:
    """Two readings that point elsewhere deny; one of them, the other only complained of, does not."""
    rows = "igniter_ohms,OL,power_off", "igniter_glows,no,igniter_warm_up", "igniter_volts_at_plug,119 V,igniter_warm_up"
    head = "claim,complaint,name,value,step\n"
    (read,) = judged(head + "".join(f"A1,,{row}\n" for row in rows))
    (told,) = judged(f"{head}A1,igniter never glows,{rows[0]}\n")

    assert read.verdict == "not_supported"
    assert told.cause is not None
    assert (told.cause.part, told.verdict) == ("igniter", "not_shown")


GAS_PROOF = (
    "line_to_neutral_at_board 120 ignition_trial - pin", "line_to_chassis_at_board 120 standby", "neutral_to_chassis_at_board 0.2 ignition_trial",
    "igniter_glows yes igniter_warm_up", "gas_valve_coil_ohms 45 power_off", "r_to_c_at_board 26 ignition_trial - pin",
    "flame_seen no ignition_trial",
)  # fmt: skip


@pytest.mark.parametrize(
    ("draft", "output", "verdict"),
    [
        ("24.8 ignition_trial - pin min", "0.3 ignition_trial low pin max load_on", "plausible"),  # shown; the other conditions are lacking
        ("24.8 ignition_trial - pin", "0.3 ignition_trial low pin", "plausible"),  # only what the meter held and whether the load was on are not told
        ("24.8 ignition_trial - crimp", "0.3 ignition_trial low pin", "not_shown"),  # the crimp is no pin: to be read anew
        ("24.8 ignition_trial - pin", "0.3 ignition_trial - pin", "not_shown"),  # what an ordinary meter shows of an open wire is not told apart
        ("24.8 ignition_trial - pin", "", "not_shown"),  # nothing is known of the output
        ("", "0.3 ignition_trial low pin", "not_shown"),
    ],
)
def test_a_claim_is_plausible_where_only_how_it_was_taken_is_not_told(desk: Desk, draft: str, output: str, verdict: str) -> None:
    more = [f"{name} {rest}" for name, rest in (("pressure_switch_return_to_c", draft), ("gas_pin_to_c", output)) if rest]
    judgement = judgement_of(desk, *GAS_PROOF, *more)

    assert judgement.verdict == verdict
    if "not" not in verdict and " min" not in draft:
        assert judgement.says.count("you gave") == 2
        assert "whether the meter held it" in judgement.says
        assert "with load connected" in judgement.says


HEAT_EXAMPLE = "heat_output_dead"  # its proof is of a condition of its own name


def judgement_of_proof(desk: Desk, name: str, left_out: Callable[[Record], bool], **more: object) -> Judgement:
    """The judgement of one heat call of the proof's own example, without the records *left_out*."""
    records, options = records_of(example_of(RULES.proof[name]), RULES, VOCABULARY)
    kept = tuple(r for r in records if r.call == 1 and not left_out(r))
    return desk.judge(claim_of(Report(next(iter(RULES.furnace)), "", kept, options), **more))  # type: ignore[arg-type]


OUTPUTS = [name for name, proof in RULES.proof.items() if name in proof.needs]


@pytest.mark.parametrize("lacking", ["burners", "burners and trials", "what need be seen once"])
def test_a_dead_output_read_as_its_proof_asks_is_plausible_whatever_else_is_missing(desk: Desk, lacking: str) -> None:
    """The verdict's own definition: the output is seen to fail; the proof is not complete, and what it lacks is told."""
    names = {
        "burners": {"flame_seen"},
        "burners and trials": {"flame_seen", "burned_in_one_go"},
        "what need be seen once": {"plugs_refitted", "meter_tried_on_live_point", "burned_in_one_go"},
    }[lacking]  # fmt: skip
    judgement = judgement_of_proof(desk, HEAT_EXAMPLE, lambda r: r.name in names)

    assert judgement.verdict == "plausible"
    assert judgement.proof is not None
    wanted = [n.says for n in judgement.proof.needs if n.take]
    assert wanted
    assert all(says in judgement.says for says in wanted)


def test_without_its_output_or_with_a_record_against_it_no_proof_makes_a_claim_plausible(desk: Desk) -> None:
    without = judgement_of_proof(desk, HEAT_EXAMPLE, lambda r: r.name in ("heat_terminal_to_neutral", "burned_in_one_go"))
    ran = "blower_runs yes heating", "heat_terminal_to_neutral 0.2 heating low pin - load_on", "line_to_neutral_at_board 119 heating - pin"

    assert without.verdict == "not_shown"
    assert judgement_of(desk, *ran).verdict != "plausible"


def test_an_output_proof_that_lacks_all_but_its_output_and_supply_is_plausible_where_the_board_is_suspected(desk: Desk) -> None:
    led = set[str]()
    for proof in OUTPUTS:
        conditions = RULES.proof[proof].needs
        once = {line.sign for n in conditions if RULES.condition[n].once for way in RULES.condition[n].any_of for line in way if line.sign}
        judgement = judgement_of_proof(desk, proof, lambda r, once=once: r.name in once or r.step in ("standby", "power_off"))  # type: ignore[misc]
        suspected = judgement.board == "suspected" and judgement.share > judgement.something_else and judgement.cause is None
        assert judgement.verdict != "supported"
        if suspected and judgement.proof is not None and judgement.proof.proof == proof and not any(n.against for n in judgement.proof.needs):
            assert judgement.verdict == "plausible"
            led.add(proof)

    assert {"igniter_output_dead", "heat_output_dead"} <= led


def test_the_table_of_verdicts_in_the_manual_is_that_of_the_code(desk: Desk, judged: Judged) -> None:
    """Each row of the manual, in its order, and a claim that comes to it for the reason that stands there."""
    manual = (Path(__file__).resolve().parents[2] / "README.md").read_text()
    rows = re.findall(r"^\| ([a-z ]+) \| (.+) \|$", manual[manual.index("| verdict | when |") :].split("\n\n")[0], re.MULTILINE)[1:]
    said = {name.replace(" ", "_"): when for name, when in rows}
    denied = "igniter_ohms,OL,power_off", "igniter_glows,no,igniter_warm_up", "igniter_volts_at_plug,119 V,igniter_warm_up"
    head = "claim,part,name,value,step\n"
    records, options = records_of(example_of(RULES.proof[HEAT_EXAMPLE]), RULES, VOCABULARY)
    of_a_call = {n for n in RULES.proof[HEAT_EXAMPLE].needs if not RULES.condition[n].once}
    shown = judgement_of_proof(desk, HEAT_EXAMPLE, lambda r: r.name == "plugs_refitted")
    came_to = {
        "supported": [desk.judge(claim_of(Report(next(iter(RULES.furnace)), "", tuple(records), options)))],
        "plausible": [
            shown,
            judgement_of_proof(desk, HEAT_EXAMPLE, lambda r: r.name in ("flame_seen", "burned_in_one_go")),
            judgement_of(desk, *GAS_PROOF, "pressure_switch_return_to_c 24.8 ignition_trial - pin", "gas_pin_to_c 0.3 ignition_trial low pin"),
            judged(head + "".join(f"A1,igniter,{row}\n" for row in denied))[0],
        ],
        "not_supported": judged(head + "".join(f"A1,control board,{row}\n" for row in denied)),
        "not_shown": judged(head + "A1,control board,blower_runs,no,heating\n"),
        "cannot_be_true_together": judged(head + "A1,control board,igniter_ohms,OL,power_off\nA1,control board,igniter_glows,yes,igniter_warm_up\n"),
        "unreadable": judged(head + "A1,flux capacitor thing,igniter_ohms,OL,power_off\n"),
    }  # fmt: skip

    assert tuple(said) == VERDICTS == tuple(came_to)
    assert {verdict: {j.verdict for j in each} for verdict, each in came_to.items()} == {verdict: {verdict} for verdict in VERDICTS}
    assert len(came_to["plausible"]) == len(re.split(r"; or\b", said["plausible"]))
    assert shown.proof is not None
    assert all(n.met_by for n in shown.proof.needs if n.condition in of_a_call)


@pytest.mark.parametrize("lifted", ["lead_lifted", "-"])
def test_two_live_taps_without_a_lifted_lead_are_no_board(desk: Desk, lifted: str) -> None:
    """A lead that feeds back from the motor reads as a second output: only with its lead lifted are the two told apart; common practice, no source."""
    rows = [f"{tap}_terminal_to_neutral 119 heating low pin - {lifted}" for tap in ("heat", "cool")]

    assert judgement_of(desk, "blower_runs yes heating", *rows).verdict != "plausible" or lifted == "lead_lifted"


def test_no_proof_is_near_where_the_records_speak_against_it(desk: Desk) -> None:
    """A dead transformer, or 119 V at the inducer's pin and none at its motor, bring no output of the board nearer to a proof.

    With the pin live the board's own path from its loads' neutral may still be lost, until nothing is read across it (Kirchhoff).
    """
    dead = judgement_of(desk, "line_to_neutral_at_board 121 standby", "secondary_volts_at_leads 0 standby low", "secondary_ohms_of_transformer OL power_off")
    read = "inducer_pin_to_neutral 119 inducer_start", "inducer_volts_at_motor 0.1 inducer_start low"
    motor, wire = judgement_of(desk, *read), judgement_of(desk, *read, "across_neutral_posts 0.1 inducer_start")

    assert (dead.proof, wire.proof) == (None, None)
    assert wire.says.startswith("The records speak against a failed control board")
    assert motor.proof is not None
    assert motor.proof.proof == "neutral_lost_between_posts"
    assert "do not decide" in motor.says


def test_a_part_without_proofs_is_at_most_plausible(desk: Desk) -> None:
    verdicts = {}
    for case in CASES:
        report = read_report(case, RULES, VOCABULARY)
        part = str(report.answer.get("part"))
        if part != BOARD:
            verdicts[case.stem] = desk.judge(claim_of(report, part=part)).verdict

    assert set(verdicts.values()) <= {"plausible", "not_shown", "cannot_be_true_together"}  # never denied: it is the part that failed
    assert "plausible" in verdicts.values()


@pytest.mark.parametrize(
    ("content", "says"),
    [
        ("claim,name,value\n,igniter_ohms,62\n", "has no number"),
        ("claim,part,name,value\nA1,flux capacitor,igniter_ohms,62\n", "There is no part called flux capacitor"),
        ("claim,furnace,name,value\nA1,toaster,igniter_ohms,62\n", "There is no furnace called toaster"),
        ("claim,name,value\nA1,igniter_ohms,sixty\n", "Nothing of what was read could be understood"),
    ],
)
def test_unreadable_claims_say_why(judged: Judged, content: str, says: str) -> None:
    (judgement,) = judged(content)

    assert judgement.verdict == "unreadable"
    assert says in judgement.says


def test_a_denial_names_the_cause_and_is_worded_as_what_records_show(desk: Desk) -> None:
    # the warrantor must be able to demonstrate that cause: 16 CFR 700.10(c) (2015 edition)
    denied = [j for c in CASES if (j := desk.judge(claim_of(read_report(c, RULES, VOCABULARY)))).verdict == "not_supported"]

    assert denied
    for judgement in denied:
        assert judgement.cause is not None
        assert judgement.says.startswith("The records do not show")
        assert judgement.cause.part.replace("_", " ") in judgement.says
        assert len(judgement.cause.speaks_for) >= BOUNDS.least_records
        assert ".yaml:" in judgement.cause.at


def test_the_bench_outcome_changes_nothing(desk: Desk) -> None:
    claim = claim_of(read_report(CASES[0], RULES, VOCABULARY))
    judgements = [replace(desk.judge(replace(claim, bench_outcome=o)), bench_outcome="") for o in ("", "bad", "good")]

    assert judgements[0] == judgements[1] == judgements[2]


def test_a_denial_rests_on_what_was_read_and_not_on_what_is_common(desk: Desk) -> None:
    """No amps and no glow are what a dead output gives too; volts at the plug, or no path through the element, tell the two apart."""
    family = next(iter(RULES.furnace))
    vocabulary = Vocabulary(RULES, family)
    base = [{"sign": "inducer_runs", "value": "yes"}, {"sign": "igniter_glows", "value": "no"}, {"point": "line_to_neutral_at_board", "value": "120"}]
    common = [*base, {"point": "igniter_amps", "value": "0", "step": "igniter_warm_up"}]
    told = [*base, {"point": "igniter_ohms", "value": "OL"}, {"point": "igniter_volts_at_plug", "value": "119", "step": "igniter_warm_up", "meter": "low"}]
    verdicts = []
    for entries in (common, told):
        records = tuple(record_of(e, Place("claim", i, 1), vocabulary) for i, e in enumerate(entries, 1))
        verdicts.append(desk.judge(claim_of(Report(family, "no heat", records, {}))).verdict)
    assert verdicts == ["not_shown", "not_supported"]


def test_no_cause_is_named_that_cannot_give_a_record(desk: Desk) -> None:
    """An element that was seen glowing is not one without a path."""
    family = next(iter(RULES.furnace))
    entries = [{"sign": "igniter_glows", "value": "yes"}, {"point": "igniter_ohms", "value": "OL"}, {"sign": "burners_light", "value": "no"}]
    records = tuple(record_of(e, Place("claim", i, 1), VOCABULARY) for i, e in enumerate(entries, 1))
    judged = desk.judge(claim_of(Report(family, "no heat", records, {})))
    assert judged.verdict in ("cannot_be_true_together", "not_shown")


def test_a_word_and_a_closer_one_stand_together(judged: Callable[..., list[Judgement]]) -> None:
    told = judged("claim,name,value\nA1,inducer_runs,no\nA1,inducer_runs,hums\nA2,inducer_runs,yes\nA2,inducer_runs,hums\n")

    assert [j.verdict == "cannot_be_true_together" for j in told] == [False, True]


def test_furnaces_that_give_the_same_are_reckoned_once_and_to_the_same_figures(desk: Desk, family: Family, knowledge: Knowledge) -> None:
    evidence = Evidence(family, desk.evidence(next(iter(knowledge.furnace))).population)
    every = evidence.among(np.arange(len(evidence.population.fault_of)))
    records = [r for proof in knowledge.proof.values() for r in records_of(example_of(proof), knowledge)[0]]
    bent = [replace(r, step=step, meter=meter) for r in records[::7] for step in (r.step, None) for meter in (None, "low")]
    pairs = [(a, b) for r in bent if (a := evidence.fact(r)) is not None and (b := every.fact(r)) is not None]

    assert len(pairs) > 40
    for once, each in pairs:
        np.testing.assert_allclose(once.fit, each.fit, rtol=0, atol=1e-12)


def test_a_reading_met_before_with_another_figure_is_read_as_if_it_were_the_first(
    knowledge: Knowledge, read: Callable[..., tuple[list[RawClaim], Files]]
) -> None:
    figures = ("117 V", "0.2", "about 24", "24 to 26", "OL", "nonsense", "3 ohms", "0.2 v ac")
    rows = "".join(f"A{i},heat_terminal_to_neutral,{figure},heating,low\n" for i, figure in enumerate(figures))
    claims, _ = read(f"claim,name,value,step,meter\n{rows}")
    warm = Reader(knowledge, date(2026, 6, 1))

    assert [warm.understood(raw) for raw in claims] == [Reader(knowledge, date(2026, 6, 1)).understood(raw) for raw in claims]


def test_what_is_remembered_of_a_record_is_what_it_says(family: Family, population: Population, evidence: Evidence) -> None:
    """Who told it, when, and where the probe was changes no furnace's reading; what was off, the meter and the step do."""
    remembering = RememberingEvidence(family, population)
    written = [
        {"point": "heat_terminal_to_neutral", "value": "0.2 V", "step": "heating", **more}
        for more in (
            {}, {"meter": "low"}, {"source": "told"}, {"contact": "pin", "after_s": "90"}, {"hold": "max"}, {"value": "about 0.2 V"}, {"step": "fan_call"},
            {"call": "2"}, {"set_up": ["lead_lifted"]},
        )
    ]  # fmt: skip
    for entry in written * 2:
        record = record_of(entry, Place("", 1, 1), Vocabulary(family.knowledge))
        mine, plain = remembering.fact(record), evidence.fact(record)
        assert (mine is None) == (plain is None)
        if mine is not None and plain is not None:
            assert (mine.name, mine.slip, mine.call, mine.place, mine.standing) == (plain.name, plain.slip, plain.call, plain.place, plain.standing)
            assert np.array_equal(mine.fit, plain.fit)


@pytest.mark.parametrize("name", ["heat_terminal_to_neutral", "igniter_ohms", "stops_at", "neutral_to_chassis_at_board"])
def test_furnaces_are_alike_where_all_that_is_foretold_of_them_is(evidence: Evidence, name: str) -> None:
    every = evidence.foretold.predicted(name)
    kinds, kind = every.alike()
    told = np.vstack([*every.which.values(), every.stops, every.rests])

    assert np.array_equal(np.vstack([*kinds.which.values(), kinds.stops, kinds.rests])[:, kind], told)
    assert len(kinds.stops) == np.unique(told, axis=1).shape[1]


def test_another_part_is_named_only_where_enough_is_believed_of_it(desk: Desk) -> None:
    """Where little was read the odds before any reading lead, which are no reason to name a part."""
    least, named = 0.3, list[bool]()  # judgement, as in the words table
    for rows in (["flame_goes_out within_seconds"], ["inducer_runs no"], ["inducer_runs yes"], ["igniter_glows no"], ["igniter_glows no", "igniter_ohms OL"]):
        judgement = judgement_of(desk, *rows)
        named.append(judgement.cause is not None)
        assert judgement.cause is None or judgement.cause.share_of_part >= least

    assert not named[2]
    assert named[-1]


@pytest.mark.parametrize(
    ("complaint", "told"),
    [
        ("inducer hums wont spin", "inducer hums"),
        ("float switch tripped", "float switch tripped"),
        ("filter plugged solid", "filter plugged solid"),
        ("blower just hums", "blower just hums"),
    ],
)
def test_a_complaint_alone_is_heard_and_shows_nothing(judged: Callable[..., list[Judgement]], complaint: str, told: str) -> None:
    (judgement,) = judged(f"claim,part,complaint,readings\nA1,board,{complaint},\n")

    assert [r["source"] for r in judgement.records] == ["told"]
    assert (judgement.verdict, judgement.says) == ("not_shown", f"Nothing but the complaint could be read ({told}), so nothing is shown.")


@pytest.mark.parametrize("complaint", ["zxqv", "see pix"])
def test_nothing_was_read_stands_where_nothing_was(judged: Callable[..., list[Judgement]], complaint: str) -> None:
    (judgement,) = judged(f"claim,part,complaint,readings\nA1,board,{complaint},\n")

    assert (judgement.records, judgement.says) == ((), "Nothing was read, so nothing is shown.")


def test_no_other_part_is_named_in_words_while_something_is_unread(judged: Callable[..., list[Judgement]]) -> None:
    """A broken igniter leads; what is unread beside it may speak against that as well as for it."""
    text = "inducer runs; ps in 24; ps out 24; no glow; ign ohms OL; igniter plug 120 low at igniter warm up"
    (settled,) = judged(f'claim,part,readings\nA1,board,"{text}"\n')
    (open_,) = judged(f'claim,part,readings\nA1,board,"{text}; junction box 121 inducer sideways"\n')

    assert settled.verdict == "not_supported"
    assert "igniter" in settled.says
    assert open_.verdict == "not_shown"
    assert "nothing is settled. Without that: the records do not show that the control board has failed." in open_.says
    assert "igniter" not in open_.says
    assert open_.cause is not None
    assert open_.cause.part == "igniter"


@pytest.mark.parametrize("unread", ["120 on inducer pin no call sideways", "board put out something at idle"])
def test_nothing_speaks_against_a_board_while_text_of_it_is_unread(judged: Callable[..., list[Judgement]], unread: str) -> None:
    """Of the same readings, with text beside them that may be of the board's own doing, nothing is said against it."""
    read = "inducer pin 119 at inducer start; inducer volts at motor 0.1 at inducer start; across the neutrals 0.1 at inducer start"
    (settled,), (open_,) = (judged(f'claim,part,readings\nA1,board,"{text}"\n') for text in (read, f"{read}; {unread}"))

    assert "speak against" in settled.says
    assert "speak against" not in open_.says
    assert "do not decide whether the control board has failed" in open_.says


def test_a_board_that_the_records_point_to_is_told_so_though_nothing_is_shown(desk: Desk) -> None:
    """A rank is no proof, and a clerk is told both."""
    told = [desk.judge(claim_of(read_report(case, RULES, VOCABULARY))) for case in CASES]
    not_shown = [j for j in told if j.verdict == "not_shown"]

    assert {j.share >= BOUNDS.elsewhere for j in not_shown} == {True, False}
    for judgement in not_shown:
        assert ("point to the control board" in judgement.says) is (judgement.share >= BOUNDS.elsewhere), judgement.says


@pytest.mark.parametrize(("hold", "verdict"), [("-", "not_shown"), ("max", "plausible")])
def test_an_output_read_without_its_hold_is_not_shown_where_other_readings_of_the_showing_are_lacking(desk: Desk, hold: str, verdict: str) -> None:
    """As README says: only where every reading of the showing was sent may its hold be left out."""
    seen = "inducer_runs yes", "pressure_switch_feed_to_c 25", "pressure_switch_out_to_c 25", "igniter_glows no", "igniter_ohms 60 power_off"
    judgement = judgement_of(desk, *seen, f"igniter_pin_to_neutral 0.3 igniter_warm_up low pin {hold} load_on")

    assert judgement.verdict == verdict


DEAD_OUTPUT = "; ".join(  # all that the proof of a dead HEAT output asks for, in two calls
    f"call {call}: heat_terminal_to_neutral: 0.1 V at heating low pin load on after 200 s; line_to_neutral_at_board: 121 at heating pin low; "
    "neutral_to_chassis_at_board: 0.2 at call; flame_seen: yes at heating after 205 s; burned_in_one_go: yes"
    for call in (1, 2)
) + "; plugs_refitted: still the same; meter_tried_on_live_point: yes; settings_as_diagram: yes"


def test_a_proof_that_a_reading_speaks_against_is_not_shown(judged: Callable[..., list[Judgement]]) -> None:
    """A motor that hums has its volts (common practice, no source): so the output that was read dead was not, or two things have failed."""
    rows = (DEAD_OUTPUT, f"{DEAD_OUTPUT}; cap 2 uf rated 10; blower hums")
    whole, contested = judged("claim,part,complaint,readings\n" + "".join(f'A{n},control board,no blower,"{text}"\n' for n, text in enumerate(rows)))
    assert whole.verdict == "supported"
    assert contested.verdict == "not_shown"
    assert "blower_runs: hums" in contested.says
    assert contested.proof is not None
    names = [n.condition for n in contested.proof.needs]
    assert len(names) == len({*names})  # none is both met and denied
    assert [n.condition for n in contested.proof.needs if n.against] == ["heat_output_dead"]
