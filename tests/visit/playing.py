"""Whole visits to one virtual furnace, written as a technician's session writes them."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.records import Record
from furnace_diag.furnace.family import Fault
from furnace_diag.quantities import format_quantity
from furnace_diag.visit.journal import Journal
from furnace_diag.visit.lines import Typed
from furnace_diag.visit.session import Session

FAULT = Fault("control_board", "heat_relay_will_not_close")
PROOF, REPAIR = "heat_output_dead", "change_the_board"
COMPLAINT = "burners light, then no air; worse since Tuesday"
NOTE = "filter was new, door switch fine"
BEHAVIOUR = {"whole_furnace": "does_something", "inducer_runs": "yes", "burners_light": "stay_lit", "blower_starts_in_heat": "does_not_start"}
READ = (
    ("secondary_volts_at_board", "standby", "high"),
    ("w_to_c_at_board", "heating", "high"),
    ("draft", "heating", ""),
    ("flame_current", "heating", ""),
    ("heat_terminal_to_neutral", "heating", "low"),
    ("igniter_ohms", "power_off", ""),
)


class Play:
    """A visit being played; every method types one thing."""

    def __init__(self, path: Path, evidence: Evidence, fault: Fault | None = FAULT) -> None:
        self.evidence, self.k = evidence, evidence.knowledge
        self.journal = Journal(path, new=True)
        self.session = Session(self.k, evidence, self.journal, evidence.family.furnace.furnace)
        rows = evidence.population.fault_of == (evidence.population.faults.index(fault) if fault else -1)
        self.row = int(np.flatnonzero(rows)[0])

    def take(self, record: dict[str, Any], **more: Any) -> Record:
        kept = self.session.take(Typed(record), sure=True, **more)
        assert isinstance(kept, Record), kept
        return kept

    def tell(self, event: str, **says: Any) -> None:
        self.session.tell(event, says)

    def begin(self, *, harm: str | None = None) -> None:
        """Complaint, the safety questions all answered well but *harm*, and how far the call gets."""
        self.tell("complaint", text=COMPLAINT)
        for q in self.k.question.values():
            if q.group == "safety":
                values = list(q.keys.values())
                self.take({"sign": q.sign, "value": values[-1] if q.question == harm else values[0]}, question=q.question)
        for sign, value in BEHAVIOUR.items():
            self.take({"sign": sign, "value": value})

    def read(self, name: str, step: str, meter: str) -> Record:
        """Read a point of the virtual furnace."""
        columns = self.evidence.population.columns
        value = float(self.evidence.population.table[columns.get((name, step, meter), columns.get((name, step, "high"), -1)), self.row])
        said = format_quantity(float(f"{value:.3g}"), self.k.point[name].unit, ascii=True)
        return self.take({"point": name, "value": said, "step": step} | ({"meter": meter} if meter else {}))

    def prove(self) -> None:
        """What the proof needs, in its calls."""
        for call in range(1, self.k.proof[PROOF].calls + 1):
            for entry in self.k.proof[PROOF].holds:
                self.take({**entry, "call": str(call)})

    def mend(self, repair: str = REPAIR, fault: Fault = FAULT) -> None:
        self.tell("repair", part=fault.part, failure=fault.failure, repair=repair)

    def check(self, *, but: str | None = None) -> None:
        """Everything that proves the last repair, *but* one check."""
        visit = self.session.visit
        needs = self.evidence.finder.after_repair([], visit.options, visit.repairs[-1].repair).needs
        taken: set[tuple[str, ...]] = set()
        for need in needs:
            check = self.k.check[need.condition]
            for call in range(1, check.calls + 1) if need.condition != but else ():
                for entry in check.holds:
                    record = {**entry, "call": str(10 + call)}
                    key = (str(record.get("point", record.get("sign"))), str(record.get("step")), record["call"], str(record.get("meter")))
                    if key not in taken:
                        self.take(record)
                        taken.add(key)

    def close(self, closed: str = "proved", reason: str = "") -> None:
        self.tell("closed", **{"as": closed, "reason": reason})
        self.journal.close()


def whole_visit(path: Path, evidence: Evidence) -> Path:
    """A board proved bad, changed and proved good, with a slip, a correction and a note on the way."""
    play = Play(path, evidence)
    play.begin()
    play.take({"history": "blower_capacitor", "value": "replaced_no_change"})
    play.take({"event": "storm", "value": "yes"})
    for point in READ:
        play.read(*point)
    slip = play.take({"point": "inlet_pressure", "value": "7.1 in wc", "step": "standby"})
    assert slip.name == "inlet_pressure"
    play.session.undo()
    play.take({"point": "line_to_neutral_at_board", "value": "191 V", "step": "standby"})
    play.take({"point": "line_to_neutral_at_board", "value": "119 V", "step": "standby"}, instead_of=play.session.visit.entries[-1].number)
    play.tell("note", text=NOTE)
    play.prove()
    play.mend()
    play.check()
    play.close()
    return path
