"""Gas work in a drill: the cock, the pressure taps of the valve with a gauge on them, and soap on what was opened."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from furnace_diag.knowledge.finding_models import Wanted
from furnace_diag.knowledge.models import Knowledge, Point
from furnace_diag.knowledge.repair_models import Repair
from furnace_diag.knowledge.repairs import cautions_of, parts_of, places_of
from furnace_diag.training.acts import Act, Told
from furnace_diag.training.bench import Bench

GAS_PRESSURE = "gas_pressure"  # the function of a point that is read at a tap
OFF_FIRST, SOAP_AFTER = "gas_off", "gas_work"  # cautions
Stop = Callable[[str, str, str], Told]  # what would hurt, why, and the caution: told and counted


@dataclass
class GasWork:
    """What was opened of the gas train. *gauges*: points whose tap has its plug out and a gauge on; *unsoaped*: points whose joint was opened since."""

    k: Knowledge
    bench: Bench
    stop: Stop
    gauges: set[str] = field(default_factory=set)
    unsoaped: set[str] = field(default_factory=set)
    starved: set[int] = field(default_factory=set)  # heat calls in which the trainee had the cock shut

    def turn(self, act: Act) -> Told:
        """The cock, shut or as it was found."""
        on = act.what == "on"
        if on != self.bench.cock_shut:
            return Told("cannot", f"The gas cock is {'as you found it' if on else 'shut'} already.")
        self.bench.gas(on)
        if on:
            return Told("done", "The gas cock stands as you found it.", ("burners_may_light",))
        return Told("done", "The gas cock is shut.", (OFF_FIRST,))

    def tap(self, act: Act) -> Told:
        """A tap's plug out and a gauge on, or the plug back."""
        point, opens = self.k.point[str(act.what)], act.other == "open"
        where = _tap_of(point)
        if opens == (point.point in self.gauges):
            return Told("cannot", f"The gauge is on {where} already." if opens else f"The plug of {where} is in.")
        if not self.bench.cock_shut:
            return self.stop(f"the plug of {where} {'out' if opens else 'back'} with the gas on", "The gas is on: it would blow out of the tap.", SOAP_AFTER)
        if opens:
            self.gauges.add(point.point)
            return Told("done", f"The plug is out and the gauge is on {where}. Gas on, and read.", (SOAP_AFTER,))
        self.gauges.remove(point.point)
        self.unsoaped.add(point.point)
        return Told("done", f"The gauge is off and the plug is back in {where}. It wants soap once there is gas behind it.", (SOAP_AFTER,))

    def before_reading(self, point: Point) -> Told | None:
        """What speaks against reading a pressure now."""
        if point.function != GAS_PRESSURE or point.point in self.gauges:
            return None
        where = _tap_of(point)
        if not self.bench.cock_shut:
            said = f"The plug is still in {where}, and the gas is on: it would blow out. Gas off first, then open the tap."
            return self.stop(f"{point.point}: the tap opened with the gas on", said, SOAP_AFTER)
        return Told("cannot", f"No gauge is on {where} yet: tap {where.split()[1]} open.", point.cautions)

    def before_repair(self, repair: Repair) -> Told | None:
        """What speaks against a repair while there is gas."""
        if self.bench.cock_shut or not (OFF_FIRST in repair.cautions or (self._at_the_gas(repair) and wants_dead(self.k, repair))):
            return None
        return self.stop(f"{repair.repair}: the gas is on", "The gas is on. Shut the cock first.", OFF_FIRST)

    def opened_by(self, repair: Repair) -> None:
        """Remember the joints that a repair opens."""
        if self._at_the_gas(repair):
            self.unsoaped |= {p.point for p in self.bench.family.points if p.function == GAS_PRESSURE}

    def _at_the_gas(self, repair: Repair) -> bool:
        return any("gas" in places_of(self.k, self.k.part[p]) for p in parts_of(repair))

    @property
    def leak_test(self) -> Wanted | None:
        """The line of the rules that soap meets: the sign of the check that every repair at the gas needs."""
        return next((c.any_of[0][0] for c in self.k.check.values() if "gas" in c.needed_at), None)

    def soap(self) -> Told | None:
        """What keeps the joints from being tested now; None where all that were opened hold."""
        if self.gauges:
            return Told("cannot", f"A gauge is still on {' and '.join(_tap_of(self.k.point[p]) for p in sorted(self.gauges))}: gas off, plug back, gas on.")
        if self.bench.cock_shut:
            return Told("cannot", "The cock is shut, so nothing can leak now. Gas on first.")
        dry = [p for p in sorted(self.unsoaped) if not self.bench.point(self.k.point[p], "high") > 0]
        if dry:
            said = f"There is no gas behind {' and '.join(_tap_of(self.k.point[p]) for p in dry)} now: soap shows nothing before it has pressure."
            return Told("cannot", f"{said} Behind the valve that is while the burners are lit.")
        self.unsoaped.clear()
        return None

    def left_open(self) -> list[str]:
        """What was left behind that can leak."""
        taps = [f"a gauge left on {_tap_of(self.k.point[p])}" for p in sorted(self.gauges)]
        return taps + (["a gas joint opened and not soaped"] if self.unsoaped else [])

    def spoils(self, call: int) -> bool:
        """Whether what is seen in a heat call comes of the cock, which the trainee had shut."""
        return call in self.starved

    def passes(self) -> None:
        """Time goes by: a heat call without gas is no heat call of this furnace."""
        if self.bench.cock_shut and self.bench.called is self.bench.family.sequence.heat_call:
            self.starved.add(self.bench.call_number)


def wants_dead(knowledge: Knowledge, repair: Repair) -> bool:
    """Whether the power is off for a repair, by its own cautions and those of its steps."""
    return "dead_first" in {*cautions_of(knowledge, repair), *(c for s in repair.steps for c in s.cautions)}


def _tap_of(point: Point) -> str:
    """What a pressure tap is called: by the first word of its reading."""
    return f"the {point.point.partition('_')[0]} tap"
