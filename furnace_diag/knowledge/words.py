"""What a virtual furnace can show, in words. A sign of one thing says its own words; those that take a machine to say are listed here.

`RUN` words are said of a whole heat call, the others of one step.
"""

from __future__ import annotations

from furnace_diag.knowledge.models import Sequence, Sign, State, Trial

NO_YES = ("no", "yes")
MOTION = ("no", "yes", "hums", "slow")
DARK = "dark"  # no control power: of the light, and of where a call stops
SILENT = "silent"  # where a call stops that has switched on the first motor, which gives no sound: by eye and ear it switched nothing on
STRING_SILENT = "silent_with_string_open"  # where a control that runs nothing while its safety string is open stops: by eye and ear the same
UNHEARD = "trial_without_click"  # where a call stops whose gas valve never moves: by eye and ear it stopped before the trial

SHOWS: dict[str, tuple[str, ...]] = {
    "inducer_motion": MOTION,
    "blower_motion": MOTION,
    "glow": ("no", "yes", "dull"),
    "flame": NO_YES,
    "light": (DARK, "steady", "blinking"),
    "light_says": (),  # the words of the sequence, see `words_of`
    "valve_clicks": NO_YES,
    "air": ("none", "weak", "normal"),
    "blower_case": ("normal", "hot"),
    "spun_by_hand": ("runs", "does_not_run"),
    "stops_at": (),  # the steps of the sequence, see `words_of`
    "tries": ("none", "one", "two", "three", "four", "five_or_more"),
    "burners": ("never_light", "drop_out", "stay_lit", "go_out_later"),
    "blower_in_heat": ("never", "starts", "starts_after_limit_trip"),
    "whole_furnace": ("dead", "idle", "does_something"),
}
# what the bench itself tells of a heat call: 1 if it ended as it should, how soon, how often, or the gas input in percent of the plate
OF_A_CALL = ("whole_call", "seconds_to_light", "limit_trips", "went_out", "input_percent")
RUN = ("stops_at", "tries", "burners", "blower_in_heat", "whole_furnace")


def words_of(shows: str | State | Trial, sequence: Sequence) -> tuple[str, ...]:
    """Every word of what a sign shows on furnaces with that control program."""
    if isinstance(shows, Trial):
        return shows.words
    if isinstance(shows, State):
        return shows.otherwise, shows.so
    if shows == "stops_at":
        return *sequence.order, sequence.roles.string_open, DARK, sequence.roles.unwanted_flame, SILENT, STRING_SILENT, UNHEARD
    if shows == "light_says":
        return tuple(dict.fromkeys(sequence.light.values()))
    return SHOWS[shows]


def of_whole_call(sign: Sign) -> bool:
    """Whether the sign is said of a whole heat call, or of what is tried apart from any; not of one step."""
    return isinstance(sign.shows, Trial) or sign.shows in RUN
