"""The record of what is told without its name, as people complain; of a danger with the words that say of which part it is."""

from __future__ import annotations

from furnace_diag.diagnosis.complaint import Complained
from furnace_diag.diagnosis.vocabulary import Vocabulary


def record_told(said: Complained, vocabulary: Vocabulary) -> dict[str, object]:
    """Its fields, with its words as a remark where it is a danger of several parts, and they name one that its sign does not: a bridged switch."""
    told: dict[str, object] = {"sign": said.sign, "value": said.as_told}
    told |= {"step": said.step} if said.step else {}
    if not vocabulary.complaints.is_danger(said.sign, said.value):
        return told
    parts = {one.part for one in vocabulary.knowledge.sign[said.sign].goes_with if one.part.partition("_")[0] not in said.sign.split("_")}
    words, names = said.words.split(), vocabulary.names("history")
    spans = (" ".join(words[i:end]) for i in range(len(words)) for end in range(len(words), i, -1))
    named = {part.partition(":")[0] for span in spans for part in names.clear(span)} if len(parts) > 1 else set()
    return told | ({"note": said.words} if parts & named else {})
