"""What to do next: the readings that are worth taking, or the repair that is worth more than any of them."""

from __future__ import annotations

from typing import NamedTuple

NEVER_THERE = "it never gets there"  # no value to type: the call stops before


class Outcome(NamedTuple):
    """What a reading may show: in words, how likely, and which failure then leads with what probability."""

    shows: str
    probability: float
    then: str
    then_probability: float


class NextReading(NamedTuple):
    """A reading worth taking. *cost*: minutes of it and of the repair expected after it; *bits*: what it tells of the part.

    *meter*: low where it must be a low-impedance one. *needs*: what must be so before an experiment is tried. *call*: the heat call in which it is to be
    taken once more; None where it was not taken yet.
    """

    name: str
    says: str
    step: str | None
    function: str
    where: str
    minutes: float
    risk_minutes: float
    cautions: tuple[str, ...]
    outcomes: tuple[Outcome, ...]
    why: str
    bits: float
    cost: float
    meter: str | None = None
    needs: tuple[str, ...] = ()
    call: int | None = None


class Act(NamedTuple):
    """The repair that is worth more than any reading: confirm it by *check* first; *if_wrong* is what it then costs in all [min].

    *confirm*: what the repair itself asks for before the part is touched, in words; all there is to confirm it by where *check* is None.
    *cautions*: of the repair, in words.

    *probability*: of the failures of the part that this repair puts right; *of_part*: of all its failures.
    *needs_proof*: it is the board, and its proof is not complete: what that lacks is to be taken, and nothing replaced.
    """

    part: str
    failure: str
    says: str
    probability: float
    of_part: float
    check: NextReading | None
    cost: float
    if_wrong: float
    needs_proof: bool
    confirm: tuple[str, ...]
    cautions: tuple[str, ...]


class Choice(NamedTuple):
    """What to do next: readings, best first; or an act where no reading spares anything.

    No act where putting right any part costs more than finding the fault in some other way. *nearly*: the act, where the best reading spares hardly
    anything and another would confirm it. *glance*: a look by which what is more likely than not would show itself, quicker than the best reading.
    """

    readings: tuple[NextReading, ...]
    act: Act | None
    nearly: Act | None = None
    glance: NextReading | None = None
