"""Which record was likely misread: by Bayes' rule written out, and what becomes of a record that is looked at twice."""

from __future__ import annotations

import numpy as np
import pytest

from furnace_diag.diagnosis.answer import answer, weighed
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.misread import MUCH_AGAINST, RESTS_ON, look_again, misread, rests_on, speaks_against
from furnace_diag.diagnosis.records import Report
from furnace_diag.diagnosis.report_file import understand
from furnace_diag.diagnosis.two_answers import same_again
from furnace_diag.knowledge.yaml_text import parse_yaml
from tests.ours import our_rules

STANDS = "{sign: inducer_runs, value: no, step: inducer_start}"
GLOWS = "{sign: igniter_glows, value: bright}"
OPEN = "{point: igniter_ohms, value: OL}"
DARK = "{sign: igniter_glows, value: no}"


def told(evidence: Evidence, *texts: str) -> Report:
    return understand(parse_yaml(f"records: [{', '.join(texts)}]", "report.yaml"), evidence.knowledge, evidence.vocabulary)


@pytest.mark.parametrize("texts", [(STANDS, GLOWS), (OPEN, DARK), (OPEN, GLOWS, STANDS)])
def test_the_share_of_slips_is_that_of_bayes_rule_written_out(evidence: Evidence, texts: tuple[str, ...]) -> None:
    """On each furnace P(slip | records) = slip lands / ((1 - slip) fit + slip lands), over the furnaces as likely as the records leave them.

    Failures that come and go are left out of the sum written here, so both are held to what remains once those are weighed nothing.
    """
    seen = weighed(told(evidence, *texts), evidence)
    rows = seen.posterior.rows.copy()
    rows[evidence.comings.rows] = 0
    steady = seen.posterior._replace(rows=rows)

    found = misread(evidence, steady, seen.groups)

    for share, (_, facts) in zip(found, seen.groups, strict=True):
        (fact,) = facts
        slip = fact.slip * fact.lands
        by_hand = sum(w * slip / ((1 - fact.slip) * f + slip) for w, f in zip(rows.tolist(), fact.fit.tolist(), strict=True) if w)
        assert share == pytest.approx(by_hand / rows.sum(), rel=1e-9)


def test_what_contradicts_two_others_is_to_be_looked_at_again_and_not_they(evidence: Evidence) -> None:
    """An igniter that reads open and is dark, in a call that stops at the trial, has no bright glow."""
    open_and_dark = (OPEN, "{sign: stops_at, value: ignition_trial}", "{sign: flame_seen, value: no, step: ignition_trial}")

    seen = weighed(told(evidence, *open_and_dark, GLOWS), evidence)
    shares = {records[0].name: share for share, (records, _) in zip(misread(evidence, seen.posterior, seen.groups), seen.groups, strict=True)}

    assert max(shares, key=lambda name: shares[name]) in ("igniter_glows", "igniter_ohms")
    assert shares["stops_at"] < min(shares["igniter_glows"], shares["igniter_ohms"])


def test_a_call_said_to_come_further_than_an_inducer_that_stands_lets_it_is_asked_about(evidence: Evidence) -> None:
    """No furnace warms its igniter while its inducer stands; with 24 V on W one of the two was told wrong. Without its step it could stand in lock-out."""
    stands = "{sign: inducer_runs, value: no, step: inducer_start}"
    clashing = (stands, "{sign: stops_at, value: igniter_warm_up}", "{point: w_to_c_at_board, value: 26 V, step: call}")
    again = answer(told(evidence, *clashing), evidence).look_again

    assert {a.name for a in again} & {"stops_at", "inducer_runs"}
    assert answer(told(evidence, "{sign: inducer_runs, value: no}"), evidence).look_again == ()


def test_what_was_looked_at_twice_is_surer_and_not_asked_for_again(evidence: Evidence) -> None:
    once = told(evidence, STANDS, GLOWS)
    twice = told(evidence, STANDS, "{sign: igniter_glows, value: bright, sure: yes}")
    glows = np.array([evidence.fact(r.records[1]).slip for r in (once, twice)])  # type: ignore[union-attr]

    assert glows[1] == pytest.approx(glows[0] * evidence.words.looked_twice)
    assert "igniter_glows" not in {a.name for a in answer(twice, evidence).look_again}


DROPS_OUT = ("{sign: stops_at, value: ignition_trial}", "{sign: burners_light, value: drop_out}")
WIRE_OPEN = "{point: rod_wire_end_to_end_ohms, value: OL}"


def test_what_a_repair_rests_on_is_the_record_without_which_it_would_be_unlikely(evidence: Evidence) -> None:
    """Held to the belief that the other records alone come to, among the failures that are known."""
    seen = weighed(told(evidence, *DROPS_OUT, WIRE_OPEN), evidence)
    alone = rests_on(evidence, seen.posterior, seen.groups, "flame_wire")
    without = weighed(told(evidence, *DROPS_OUT), evidence)
    by_hand = sum(p for failure, p in without.belief.items() if failure.startswith("flame_wire:")) / (1 - without.posterior.something_else)

    assert alone is not None
    assert alone.name == "rod_wire_end_to_end_ohms"
    assert alone.probability / (1 - seen.posterior.something_else) == pytest.approx(by_hand, rel=0.05)
    assert alone.probability < RESTS_ON


def test_what_was_taken_twice_is_rested_on_without_more_ado(evidence: Evidence) -> None:
    twice = weighed(told(evidence, *DROPS_OUT, "{point: rod_wire_end_to_end_ohms, value: OL, sure: yes}"), evidence)
    assert rests_on(evidence, twice.posterior, twice.groups, "flame_wire") is None


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        (OPEN, OPEN, True),
        (OPEN, "{point: igniter_ohms, value: 52 ohm}", False),
        ("{point: igniter_ohms, value: 50 ohm}", "{point: igniter_ohms, value: 52 ohm}", True),  # a meter that settles
        ("{point: heat_terminal_to_neutral, value: 0 V}", "{point: heat_terminal_to_neutral, value: 0.9 V}", True),
        # a second reading that is half of the first is another, however small its unit's figures are
        ("{point: draft, value: 0.9 in wc}", "{point: draft, value: 0.4 in wc}", False),
        ("{point: flame_current, value: 1.6 uA}", "{point: flame_current, value: 0.8 uA}", False),
        ("{point: blower_amps, value: 0.9 A}", "{point: blower_amps, value: 0.2 A}", False),
        ("{point: draft, value: 0.9 in wc}", "{point: draft, value: 0.85 in wc}", True),
        (GLOWS, "{sign: igniter_glows, value: bright, call: 2}", False),
        (GLOWS, DARK, False),
        ("{event: storm}", "{event: storm}", False),  # nothing that is looked at
    ],
)  # fmt: skip
def test_the_same_again_is_of_the_same_call_and_reads_the_same(evidence: Evidence, one: str, other: str, *, same: bool) -> None:
    first, second = (told(evidence, text).records[0] for text in (one, other))

    assert same_again(first, second) is same


@pytest.mark.parametrize(("sign", "value"), [(s.sign, v) for s in our_rules().sign.values() for v in s.put_right])
def test_what_was_put_right_by_hand_was_there_and_is_not_to_be_looked_at_again(evidence: Evidence, sign: str, value: str) -> None:
    """Nobody takes a nest out of a vent that has none, or a bridge off that is not there: common practice, no source."""
    found = answer(told(evidence, f"{{sign: {sign}, value: {value}}}"), evidence)

    assert not [a for a in found.look_again if a.name == sign]


CURRENT = "{point: igniter_amps, value: 3.6 A"


def test_before_a_repair_what_speaks_most_against_it_is_looked_at_again(evidence: Evidence) -> None:
    """Ohm's law: no current flows through an igniter that is open. Read the same twice, it is asked for no more and leaves less of the belief in that."""
    once, twice = (told(evidence, DARK, OPEN, f"{CURRENT}{sure}}}") for sure in ("", ", sure: yes"))
    seen = weighed(once, evidence)
    now, then = answer(once, evidence), answer(twice, evidence)
    support = dict(zip((rs[0].name for rs, _ in seen.groups), seen.posterior.support[:, evidence.family.failures.index("igniter:open")].tolist(), strict=True))

    assert now.act is not None
    assert f"{now.act.part}:{now.act.failure}" == "igniter:open"
    assert min(support, key=lambda name: support[name]) == "igniter_amps"
    assert support["igniter_amps"] < MUCH_AGAINST
    assert look_again(evidence, seen.posterior, seen.groups) == ()  # as likely a slip as not is none of them
    assert [r.name for r in now.look_again] == ["igniter_amps"]
    assert "igniter_amps" not in {r.name for r in then.look_again}
    assert then.parts[0].part != "igniter" or then.parts[0].probability < now.parts[0].probability


def test_where_nothing_speaks_strongly_against_a_repair_nothing_is_looked_at_again(evidence: Evidence) -> None:
    report = told(evidence, DARK, OPEN)
    seen = weighed(report, evidence)

    assert speaks_against(evidence, seen.posterior, seen.groups, "igniter:open") is None
    assert answer(report, evidence).look_again == ()
