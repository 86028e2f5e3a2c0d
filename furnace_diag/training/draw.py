"""A lesson drawn at random: a fault that shows, and what a customer would say of it."""

from __future__ import annotations

from collections.abc import Sequence

from furnace_diag.furnace.family import Family
from furnace_diag.knowledge.words import DARK
from furnace_diag.problems import BadInput, Problem
from furnace_diag.training.bench import is_there
from furnace_diag.training.policy import Album, differences, first_bad_call, seen_otherwise
from furnace_diag.training.write import Draft, draws, lesson_of, text_of

# what a customer says where a heat call does so, by what is shown (knowledge.words) and its word
SAYS = {
    ("whole_furnace", "dead"): "It is dead. Nothing happens whatever I set.",
    ("whole_furnace", "idle"): "I turn it up, and nothing runs.",
    ("stops_at", DARK): "Nothing happens. No sound, no light.",
    ("burners", "never_light"): "It gets no heat.",
    ("burners", "drop_out"): "It starts to heat, then it stops again.",
    ("blower_in_heat", "never"): "I hear it burn, but no warm air comes.",
    ("blower_in_heat", "starts_after_limit_trip"): "It gets very hot, stops, and only then it blows.",
}
OTHERWISE = "It heats, but something is not right with it."


def drawn_text(family: Family, parts: Sequence[str], seed: int) -> str:
    """The text of a lesson whose fault is seen or heard; of the first that a meter alone shows, where none is. Raises BadInput where none shows at all."""
    by_meter_alone = ""
    for fault, severity, options, site in draws(family, parts, seed):
        draft = Draft("", [str(fault)], options, severity=severity, site=site)
        lesson = lesson_of(text_of(draft, family), family.knowledge)
        call = first_bad_call(family, lesson)
        album = Album(family, lesson, [h for h in lesson.faults if is_there(h, family, call)])
        text = text_of(Draft(said_of(album), [str(fault)], options, severity=severity, site=site), family)
        if next(seen_otherwise(album), None) is not None:
            return text
        if not by_meter_alone and next(differences(album), None) is not None:
            by_meter_alone = text
    if by_meter_alone:
        return by_meter_alone
    raise BadInput([Problem(None, "None of the faults that were drawn shows.", "Try another --seed or --subsystem.")])


def said_of(album: Album) -> str:
    """What a customer would say of the furnace."""
    by_shows = {str(s.shows): s for s in reversed(album.family.signs) if isinstance(s.shows, str)}
    for (shows, word), says in SAYS.items():
        sign = by_shows.get(shows)
        if sign is not None and album.word(sign) == word:
            return says
    return OTHERWISE
