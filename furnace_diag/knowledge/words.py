"""What a virtual furnace can show, in words; a sign of the rule files shows one of these.

`run` words are said of a whole heat call, the others of one step.
"""

from __future__ import annotations

NO_YES = ("no", "yes")
MOTION = ("no", "yes", "hums", "slow")

SHOWS: dict[str, tuple[str, ...]] = {
    "inducer_motion": MOTION,
    "blower_motion": MOTION,
    "glow": ("no", "yes", "dull"),
    "flame": NO_YES,
    "light": ("dark", "steady", "blinking"),
    "light_says": ("no_fault", "pressure_switch_open", "pressure_switch_closed", "limit_open", "ignition_failed", "flame_without_call", "dark"),
    "valve_clicks": NO_YES,
    "blower_relay_clicks": NO_YES,
    "inducer_relay_clicks": NO_YES,
    "thermostat_display": ("dark", "lit"),
    "outdoor_unit": NO_YES,
    "air": ("none", "weak", "normal"),
    "fuse": ("good", "blown"),
    "breaker": ("closed", "tripped"),
    "limit_contact": ("open", "closed"),
    "rollout_contact": ("open", "closed"),
    "pressure_switch_contact": ("open", "closed"),
    "blower_case": ("normal", "hot"),
    "spun_by_hand": ("runs", "does_not_run"),
    "blower_free": ("free", "stiff"),
    "inducer_free": ("free", "stiff"),
    "gas_cock": ("open", "shut"),
    "filter": ("clean", "blocked"),
    "hose": ("good", "off_or_cracked"),
    "port": ("clear", "plugged"),
    "vent": ("clear", "blocked"),
    "rod": ("clean", "filmed"),
    "heat_lead": ("on_heat_terminal", "elsewhere"),
    "stops_at": ("standby", "call", "inducer_start", "pre_purge", "igniter_warm_up", "ignition_trial", "blower_on_delay",
                 "heating", "chain_open", "dark", "flame_without_call"),
    "burners": ("never_light", "drop_out", "stay_lit"),
    "blower_in_heat": ("never", "starts", "starts_after_limit_trip"),
    "starts_joined_at_board": NO_YES,
    "starts_joined_at_thermostat": NO_YES,
    "whole_furnace": ("dead", "does_something"),
}
RUN = ("stops_at", "burners", "blower_in_heat", "starts_joined_at_board", "starts_joined_at_thermostat", "whole_furnace")
