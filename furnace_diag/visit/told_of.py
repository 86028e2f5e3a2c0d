"""The record of what is told without its name, as people complain; of a danger with the words that say of which part it is."""

from __future__ import annotations

from furnace_diag.diagnosis.complaint import Complained
from furnace_diag.diagnosis.vocabulary import Vocabulary


def record_told(said: Complained, vocabulary: Vocabulary) -> dict[str, object]:
    """Its fields, with its words as a remark where it is a danger and they name a part that its sign does not: which switch was bridged."""
    told: dict[str, object] = {"sign": said.sign, "value": said.as_told}
    told |= {"step": said.step} if said.step else {}
    if not vocabulary.complaints.is_danger(said.sign, said.value):
        return told
    words, names = said.words.split(), vocabulary.names("history")
    spans = (" ".join(words[i:end]) for i in range(len(words)) for end in range(len(words), i, -1))
    others = [part for span in spans for part in names.clear(span) if part.partition("_")[0] not in said.sign.split("_")]
    return told | ({"note": said.words} if others else {})
