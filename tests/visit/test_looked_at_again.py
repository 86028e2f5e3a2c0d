"""Nobody is asked to look again at what makes the likeliest failure lead where nothing speaks against that; of a misfit it is asked as before."""

from __future__ import annotations

import pytest

from furnace_diag.visit.session import Session
from tests.visit.playing import START, desk


@pytest.mark.parametrize("lines", [["inducer slow", "igniter glows: no"], ["blower barely turns"], ["capacitor 3.1 uf"]])
def test_what_nothing_speaks_against_does_not_fit_badly(session: Session, capsys: pytest.CaptureFixture[str], lines: list[str]) -> None:
    desk(session, [*START, *lines])
    assert session.answer().parts[0].failures[0].speaks_for
    assert "fits badly" not in capsys.readouterr().out


def test_a_misfit_is_looked_at_again(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    """A motor that stands fast against a hand turns at no speed: common practice, no source."""
    desk(session, [*START, "inducer turns freely: stiff", "blower turns freely: stiff"])
    assert session.answer().look_again
    assert "fits badly" in capsys.readouterr().out


@pytest.mark.parametrize(("lines", "settled"), [
    (["inducer silent"], {"igniter_glows", "burners_light", "blower_starts_in_heat"}),
    (["igniter plug 0 at igniter warm up", "igniter glows: no", "igniter pin to neutral 121 at igniter warm up"], {"burners_light", "blower_starts_in_heat"}),
])  # fmt: skip
def test_nothing_is_asked_that_is_told_already(session: Session, lines: list[str], settled: set[str]) -> None:
    """An igniter that stays dark lights no burner, and with no draft none glows: common practice, no source."""
    desk(session, [*START, *lines])
    asked = [n.name for n in session.answer().next]
    assert asked
    assert settled.isdisjoint(asked)
