"""A report as it is understood: records of what was read, seen, told, what happened and what was replaced."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import get_args

from furnace_diag.knowledge.finding_models import SetUp
from furnace_diag.problems import Place

SET_UPS: tuple[str, ...] = get_args(SetUp)
LEAD_OFF_AS = ("lead_lifted", "plug_off", "load_off")  # at the point that is read they come to the same
TAKES_OFF = (*LEAD_OFF_AS, "thermostat_wires_off")  # set-ups that change what is read

OTHER_BOARD = "other_board"  # the source of what was read before the board was replaced
BEFORE_PUT_RIGHT = "before_put_right"  # of what a hazard may have shown that was put right since, as the volts behind a bridged limit


@dataclass(frozen=True)
class Record:
    """One record, understood: ids instead of words, numbers in the point's own unit.

    *give*: of a range, how far its ends lie from the number. *error*: absolute error of such a reading, that of volts unless told.
    """

    kind: str
    name: str
    said: str
    place: Place
    number: float | None = None
    word: str | None = None
    approximate: bool = False
    give: float = 0.0
    error: float = 0.5
    step: str | None = None
    call: int = 1
    after_s: float | None = None
    meter: str | None = None
    contact: str | None = None
    set_up: tuple[str, ...] = ()
    hold: str | None = None
    source: str | None = None
    sure: bool = False
    note: str | None = None
    read_as: str | None = None
    unused: str | None = None

    def moved(self, place: Place) -> Record:
        """The same, standing at another place; `dataclasses.replace` would take several times as long, and claims have many."""
        other = object.__new__(Record)
        other.__dict__.update(self.__dict__, place=place)
        return other

    @property
    def taken_off(self) -> tuple[str, ...]:
        """The set-ups that change what is read, each once; a lead, plug or load off at the point itself is one."""
        return tuple(dict.fromkeys("lead_off" if s in LEAD_OFF_AS else s for s in self.set_up if s in TAKES_OFF)) if self.set_up else ()


@dataclass(frozen=True)
class Report:
    """What a report file holds. *options* are the known options of the furnace, by id. *set_aside*: what was told, and seen otherwise; it is no record.
    *running*: the heat call that is going on, in a visit.
    """

    family: str
    complaint: str
    records: tuple[Record, ...]
    options: dict[str, str] = field(default_factory=dict)
    read_as: tuple[str, ...] = ()
    answer: dict[str, object] = field(default_factory=dict)
    set_aside: tuple[Record, ...] = ()
    running: int | None = None
