"""What the machines of a furnace file may hold: for each its elements and numbers by name, and the figures of its physics."""

from __future__ import annotations

from furnace_diag.knowledge.model_base import ElementId, Id, InputId, Line, Model, NodeId, NumberId, OutputId, WindingId, model_field


class Figure(Model):
    """A number of physics and where it comes from; its unit stands in its name."""

    value: float = model_field(written="is", gt=0)
    source: Line


class Machine(Model):
    """What the elements and numbers of a family do together; `rising` figures must not fall from one to the next."""

    def _rising(self) -> tuple[str, ...]:
        return ()

    def _sound(self) -> None:
        figures = {name: it.value for name, it in vars(self).items() if isinstance(it, Figure)}
        for name, value in figures.items():
            if name.endswith("_share") and value > 1:
                raise ValueError(f"{name} is {value:g}, and a share is at most 1")
        for low, high in zip(self._rising(), self._rising()[1:], strict=False):
            if figures[low] > figures[high]:
                raise ValueError(f"{low} is above {high}")


class PlainMotor(Machine):
    """A motor with one winding: by the volts on it, it turns, hums or is silent."""

    winding: WindingId
    turns: NumberId  # 1 turns, 0 is jammed
    speed: NumberId  # share of its rated speed
    grip: NumberId  # share of the shaft's turning that reaches the wheel
    full_volts: NumberId
    stalls_below_volts: NumberId
    hums_above_volts: Figure
    slow_below_share: Figure


class CapacitorMotor(Machine):
    """A permanent-split-capacitor motor with a fan on its shaft; `main` counts as one turn."""

    main: WindingId
    auxiliary: ElementId
    carries_all: ElementId  # where the current of the whole motor flows
    turns: NumberId  # 1 turns, 0 is seized
    grip: NumberId  # share of the shaft's turning that reaches the wheel
    way: NumberId  # share of its air that the wheel moves, the way that it is turned
    pull: NumberId  # share of its torque that its winding gives
    drag: NumberId  # load on the shaft as a multiple of its fan's
    hot: NumberId
    marked_microfarads: NumberId  # of the capacitor it was made for
    energised_above_volts: Figure
    stalls_below_volts: Figure
    draws_above_amps: Figure
    starts_above_amps_per_microfarad: Figure  # in the auxiliary winding
    full_strength_above_amps_per_microfarad: Figure
    weak_speed_share: Figure
    slow_below_share: Figure
    pull_out_times_load: Figure
    rated_main_volts: Figure

    def _rising(self) -> tuple[str, ...]:
        return ("energised_above_volts", "stalls_below_volts", "rated_main_volts")

    def _sound(self) -> None:
        super()._sound()
        if self.starts_above_amps_per_microfarad.value > self.full_strength_above_amps_per_microfarad.value:
            raise ValueError("starts_above_amps_per_microfarad is above full_strength_above_amps_per_microfarad")


class HotSurface(Machine):
    """A hot-surface igniter; its glow is the share of a new one's watts at rated volts."""

    element: ElementId
    rated_volts: Figure
    heats_above_volts: Figure
    dull_above_share: Figure
    bright_above_share: Figure

    def _rising(self) -> tuple[str, ...]:
        return ("dull_above_share", "bright_above_share")


class GasValve(Machine):
    """A single-stage valve with its regulator, and the burners behind it."""

    coil: ElementId
    driven_by: OutputId
    opens: NumberId  # 1 opens when energised, 0 does not
    shuts: NumberId  # 1 shuts when dead, 0 passes gas
    pull_in_volts: NumberId
    inlet: NumberId
    manifold: NumberId
    passes_above_inches: Figure
    rated_manifold: NumberId
    lights_above_share: Figure  # of the rated manifold pressure
    valve_drop_inches: Figure
    left_under_flow: NumberId  # share of the inlet pressure
    lights_in_seconds: Figure


class FlameSensing(Machine):
    """Direct current through the flame, by a rod; it needs the line between two nodes."""

    current: NumberId
    signal: NumberId  # share of the current that reaches the control
    carry_over: NumberId  # 1 carries the flame to the rod as fast as it lights, less takes longer
    fed_from: NodeId
    returns_to: NodeId
    rated_volts: Figure


class PressureSwitch(Machine):
    """A switch that follows the draft; `moves` is what its contact follows. The draft builds quickly up to a share of itself, and creeps from there."""

    moves: Id
    draft: NumberId
    set_point: NumberId
    passes: tuple[NumberId, ...]  # shares of the draft that vent, hose and port let through
    opens_at_share: Figure
    draft_builds_in_seconds: Figure
    creeps_above_share: Figure
    creeps_in_seconds: Figure
    opens_in_seconds: Figure


class Limit(Machine):
    """A switch at the heat exchanger; `moves` is what its contact follows."""

    moves: Id
    trips_at: NumberId
    exchanger_seconds: NumberId
    spared_by_steps_of_seconds: Figure
    cools_in_seconds: Figure


class AirSide(Machine):
    """Air through filter, blower and exchanger."""

    rated_rise: NumberId
    rise_without_air: NumberId
    passes: tuple[NumberId, ...]  # shares of filter and ducts that are open
    static: NumberId
    shut_off_static_times: Figure
    none_below_share: Figure
    weak_below_share: Figure

    def _rising(self) -> tuple[str, ...]:
        return ("none_below_share", "weak_below_share")


class Indicator(Machine):
    """The control's light, and the input that says whether its logic lives."""

    fed_as: InputId
    dark_below_volts: Figure


class Machines(Model):
    """The machines of a family, each by the elements and numbers it stands on."""

    inducer: PlainMotor
    blower: CapacitorMotor
    igniter: HotSurface
    valve: GasValve
    flame: FlameSensing
    pressure_switch: PressureSwitch
    limit: Limit
    air: AirSide
    indicator: Indicator
    fuse_opens_within_seconds: Figure
    reset_and_watched_share: Figure  # of the furnaces whose breaker or fuse a call opens, how many somebody makes whole and watches
