"""What a clause tells only after the one before it."""

from __future__ import annotations

import re
from collections.abc import Mapping

from furnace_diag.claims.our_words import STAT, in_our_words, spaced
from furnace_diag.claims.plain_pieces import PlainPieces
from furnace_diag.claims.typed_pieces import Fields
from furnace_diag.knowledge.spelling import plain

LOOKS = "_looks"  # in the id of how a part looks
OHMS_ALONE = re.compile(r"(?:\d[\d.]*|O\.?L\.?) ?ohms?|ohms? (?:\d[\d.]*|O\.?L\.?)", re.IGNORECASE)
# "unplugged stat still runs", of what was told to run before it
STAT_OFF = spaced(rf"^(?:unplugged|unhooked|disconnected) (?:the )?(?:{STAT})(?: wires)?,? (?:(?:and|but) )?(?:it )?(still (?:runs|running))$")


class ToldAfter:
    """Reads such clauses."""

    def __init__(self, plain_pieces: PlainPieces) -> None:
        self._plain = plain_pieces

    def after(self, fields: Mapping[str, str], text: str) -> list[Fields]:
        """What a clause tells only after the one that gave *fields*: "no click" after an igniter that glows, or after the gas was
        read. Empty where it tells nothing so."""
        if OHMS_ALONE.fullmatch(text) and fields["name"].endswith(LOOKS):
            return self._plain.own_ohms(fields["name"].removesuffix(LOOKS), text)
        text = in_our_words(STAT_OFF.sub(r"\1 with stat wires off", text))
        thing = self._plain.typed.vocabulary.words.claims.told_after.get(plain(text), {}).get(fields["name"], "")
        found = self._plain.said(f"{thing} {text}") if thing and fields["kind"] in ("point", "sign") else []
        # what turns by hand is told of a motor that does not run, and of none that does; a click only of what came before it
        by_hand = any(f["kind"] == "sign" and self.is_read_off(f["name"]) for f in found)
        shown = self._plain.typed.reader.value_of(fields["name"], fields["value"]) if fields["kind"] == "sign" else ""
        return [] if shown == ("yes" if by_hand else "no") else found

    def is_read_off(self, sign: str) -> bool:
        """Whether a sign is looked at with the power off alone."""
        vocabulary = self._plain.typed.vocabulary
        return sign in vocabulary.knowledge.sign and vocabulary.knowledge.sign[sign].steps == (vocabulary.sequence.roles.off,)
