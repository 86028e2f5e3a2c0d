"""A claim written in the program's own ids, as its files and letters have them: point, value, step and how it was taken, with no word between."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from furnace_diag.claims.raw_claim import RawClaim
from furnace_diag.claims.reading import Files
from furnace_diag.claims.understanding import Claim, Reader

Read = Callable[..., tuple[list[RawClaim], Files]]


@pytest.fixture
def claim_of(read: Read, reader: Reader) -> Callable[[str], Claim]:
    """The claim of a free text, for the board."""

    def claim_of(text: str) -> Claim:
        ((raw,), _) = read(f'claim,part,readings\nA1,control board,"{text}"\n')
        return reader.understood(raw)

    return claim_of


@pytest.mark.parametrize(
    ("text", "name", "value", "step"),
    [
        ("igniter_pin_to_neutral 0.3 igniter_warm_up low pin", "igniter_pin_to_neutral", 0.3, "igniter_warm_up"),
        ("igniter_pin_to_neutral 0.3 igniter warm up low pin", "igniter_pin_to_neutral", 0.3, "igniter_warm_up"),
        ("igniter_pin_to_neutral: 0.3 igniter_warm_up low pin", "igniter_pin_to_neutral", 0.3, "igniter_warm_up"),
        ("igniter_pin_to_neutral = 0.3 V igniter_warm_up low pin", "igniter_pin_to_neutral", 0.3, "igniter_warm_up"),
        ("heat_terminal_to_neutral 0.2 heating low pin", "heat_terminal_to_neutral", 0.2, "heating"),
        ("heat_terminal_to_neutral: 0.2 heating low pin", "heat_terminal_to_neutral", 0.2, "heating"),
        ("heat_terminal_to_neutral 0.2 blower_on_delay low pin", "heat_terminal_to_neutral", 0.2, "blower_on_delay"),  # short for a time as well
        ("heat_terminal_to_neutral: 0.2 low pin", "heat_terminal_to_neutral", 0.2, None),
    ],
)
def test_a_reading_in_our_own_words_is_read_with_its_step_and_how_it_was_taken(
    claim_of: Callable[[str], Claim], text: str, name: str, value: float, step: str | None
) -> None:
    claim = claim_of(text)

    assert [(r.name, r.number, r.step, r.meter, r.contact) for r in claim.report.records] == [(name, value, step, "low", "pin")]
    assert claim.unmatched == ()


@pytest.mark.parametrize(
    ("text", "value", "step"),
    [
        ("blower_runs no fan_call", "no", "fan_call"),
        ("blower_runs: no fan_call", "no", "fan_call"),
        ("blower_runs yes heating", "yes", "heating"),
        ("blower_runs no blower_on_delay", "no", "blower_on_delay"),
    ],
)
def test_so_is_what_was_seen(claim_of: Callable[[str], Claim], text: str, value: str, step: str) -> None:
    assert [(r.name, r.word, r.step) for r in claim_of(text).report.records] == [("blower_runs", value, step)]


def test_a_step_may_be_the_value(claim_of: Callable[[str], Claim]) -> None:
    assert [(r.name, r.word, r.step) for r in claim_of("stops_at inducer_start").report.records] == [("stops_at", "inducer_start", None)]


def test_a_denial_before_a_step_may_be_of_that(claim_of: Callable[[str], Claim]) -> None:
    for text in ("blower_runs no heating", "flame_seen no call"):
        claim = claim_of(text)
        assert (claim.report.records, len(claim.untold)) == ((), 1), text


def test_a_step_without_a_link_is_no_step_of_what_is_told_in_other_words(claim_of: Callable[[str], Claim]) -> None:
    assert [r.step for r in claim_of("igniter pin to neutral 0.3 heating").report.records] in ([], [None])


def test_what_is_no_figure_alone_is_not_read_behind_a_colon(claim_of: Callable[[str], Claim]) -> None:
    for text in ("w to c: 25 then 0", "w to c: 24 or 25", "heat terminal: 120 with motor unplugged"):
        claim = claim_of(text)
        assert (claim.report.records, len(claim.unmatched)) == ((), 1), text


def test_a_cold_part_is_one_behind_a_colon_too(claim_of: Callable[[str], Claim]) -> None:
    assert [(r.name, r.number) for r in claim_of("igniter ohms: 48 cold").report.records] == [("igniter_ohms", 48)]
