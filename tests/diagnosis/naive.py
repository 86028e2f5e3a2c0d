"""What the findings should be, worked out from the YAML by itself: no engine, no integers, nothing of the program's compiler.

It reads the rule files with PyYAML as plain text, and records as the report reader gives them.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

import yaml

from furnace_diag.diagnosis.records import Record

KINDS = ("hazard", "doubt", "root_cause", "exoneration", "advice")
MOVED = ("load_off", "lead_lifted", "plug_off", "thermostat_wires_off", "gas_shut", "rod_wire_off")


def listed(value: Any) -> list[str]:
    return [value] if isinstance(value, str) else list(value or [])


class Naive:
    """Findings of *records* by the plain reading of the rule files in *folder*."""

    def __init__(self, folder: Path) -> None:
        entries = [e for p in sorted(folder.rglob("*.yaml")) for e in _entries(p)]
        kinds = ("band", "condition", "proof", "sign", "furnace", "words", "check", "sequence", *KINDS)
        self.by = {kind: {e[kind]: e for e in entries if next(iter(e)) == kind} for kind in kinds}

    def find(self, records: Sequence[Record], options: Mapping[str, str]) -> frozenset[str]:
        calls = {r.call: [x for x in records if x.call == r.call] for r in records}
        found: set[str] = {p for p in self.by["proof"] if self.grade(p, records, calls, options) == "proved"}
        not_told = [r for r in records if r.source != "told"]
        calls_not_told = {call: [r for r in some if r.source != "told"] for call, some in calls.items()}
        for kind in KINDS:  # no finding of the rules waits for one of a later kind
            seen, by_call = (not_told, calls_not_told) if kind == "exoneration" else (records, calls)  # hearsay clears nothing
            for name, entry in self.by[kind].items():
                holds = any(self.way(way, seen, by_call, options, found) for way in _ways(entry["when"]))
                if holds and not set(listed(entry.get("unless"))) & found:
                    found.add(name)
        return frozenset(found)

    def grade(self, name: str, records: Sequence[Record], calls: Mapping[int, Sequence[Record]], options: Mapping[str, str]) -> str:
        needs = [self.by["condition"][n] for n in self.by["proof"][name]["needs"]]
        once = [c for c in needs if c.get("once") == "true"]
        if any(self.against(w, r, options) for c in needs for way in _ways(c["any_of"]) for w in way for r in records):
            return "none"
        if any(self.line(w, records, options, set()) for c in needs for w in c.get("denied_by", [])):
            return "none"
        whole = sum(all(self.met(c, some, options) for c in needs if c not in once) for some in calls.values())
        wanted = int(self.by["proof"][name].get("calls", "2"))
        return "proved" if whole >= wanted and all(self.met(c, records, options) for c in once) else "shown" if whole else "none"

    def check(self, name: str, records: Sequence[Record], options: Mapping[str, str]) -> tuple[int, bool]:
        """In how many more calls a check must be met, and whether a record denies it."""
        check = self.by["check"][name]
        groups = [records] if check.get("once") == "true" else [[x for x in records if x.call == c] for c in {r.call for r in records}]
        whole = sum(self.met(check, some, options) for some in groups)
        denied = any(self.against(w, r, options) for way in _ways(check["any_of"]) for w in way for r in records)
        return max(int(check.get("calls", "1")) - whole, 0), denied

    def met(self, condition: Any, records: Sequence[Record], options: Mapping[str, str]) -> bool:
        """Whether records meet a condition or a check; hearsay meets a check, and no condition."""
        seen = [r for r in records if r.source != "told"] if "condition" in condition else records
        return any(all(self.line(w, seen, options, set()) for w in way) for way in _ways(condition["any_of"]))

    def way(self, lines: list[Any], records: Sequence[Record], calls: Mapping[int, Sequence[Record]], options: Mapping[str, str], found: set[str]) -> bool:
        """Whether all lines hold: those about a reading or a sign in one and the same heat call, unless they say otherwise."""
        of_a_call = [w for w in lines if ("point" in w or "sign" in w) and w.get("any_call") != "true"]
        others = all(self.line(w, records, options, found) for w in lines if w not in of_a_call)
        return others and (not of_a_call or any(all(self.line(w, some, options, found) for w in of_a_call) for some in calls.values()))

    def line(self, w: Any, records: Sequence[Record], options: Mapping[str, str], found: set[str]) -> bool:
        if "option" in w:
            return options.get(w["option"]) in listed(w["is"])
        return w["finding"] in found if "finding" in w else any(self.meets(w, r, options) for r in records)

    def meets(self, w: Any, r: Record, options: Mapping[str, str]) -> bool:
        if not self.names(w, r):
            return False
        stated = all(w.get(f) in (None, getattr(r, f)) for f in ("meter", "contact", "hold")) and set(listed(w.get("set_up"))) <= set(r.set_up)
        step = not w.get("step") or r.step in listed(w["step"])
        return step and stated and self.in_time(w, r, options, unknown=False) and self.right(w, r)

    def against(self, w: Any, r: Record, options: Mapping[str, str]) -> bool:
        if w.get("meets_only") == "true" or not self.names(w, r) or not ("point" in w or "sign" in w):
            return False
        if self.right(w, r) or self.may_be_right(w, r) or (w.get("step") and r.step not in (*listed(w["step"]), None)):
            return False
        if r.step is None and (w.get("step_told") or self.is_of_the_end(w)):
            return False
        if w.get("contact") not in (None, r.contact) and r.contact is not None:
            return False
        same_place = all((m in r.set_up) == (m in listed(w.get("set_up"))) for m in MOVED)
        return same_place and not self.excused(w, r) and self.in_time(w, r, options, unknown=True)

    def may_be_right(self, w: Any, r: Record) -> bool:
        """Whether the word of a record is vaguer than one that is wanted, and may be told of the same thing: burners that drop out do light."""
        if r.kind != "sign" or "is" not in w:
            return False
        reads = self.by["sign"].get(r.name, {}).get("reads_as", {})
        told = set(listed(reads.get(r.word, r.word)))
        return any(told > set(listed(reads.get(word, word))) for word in listed(w["is"]))

    def is_of_the_end(self, w: Any) -> bool:
        """Whether a line is of the beginning of a call, and its sign, told without a step, of how the call ended."""
        if "sign" not in w or self.by["sign"].get(w["sign"], {}).get("after_call") != "true" or "after_s" in w:
            return False
        begins = {s for q in self.by["sequence"].values() for s in (q["starts_at"], q["heat_call"]["step"])}
        return set(listed(w.get("step"))) <= begins

    def excused(self, w: Any, r: Record) -> bool:
        band = self.by["band"].get(listed(w["is"])[0], {}) if "point" in w else {}
        end = {"max": "at_most", "min": "at_least"}.get(w.get("hold"))
        if "point" in w and end and end not in band and r.hold != w["hold"]:
            return True
        ghost = band.get("ghost_up_to")
        return bool(ghost) and r.meter == "high" and r.number is not None and float(band["at_most"]) < r.number <= float(ghost)

    def names(self, w: Any, r: Record) -> bool:
        return w.get(r.kind) == r.name

    def right(self, w: Any, r: Record) -> bool:
        if r.kind != "point":
            return "is" not in w or r.word in listed(w["is"])
        band = self.by["band"][listed(w["is"])[0]]
        return r.number is not None and float(band.get("at_least", "-inf")) <= r.number <= float(band.get("at_most", "inf"))

    def in_time(self, w: Any, r: Record, options: Mapping[str, str], *, unknown: bool) -> bool:
        if "until_s" in w and (float(r.after_s) > float(w["until_s"]) if r.after_s is not None else not unknown):
            return False
        tests: list[Callable[[float], bool]] = []
        if "after_s" in w:
            tests.append(lambda s: s >= float(w["after_s"]))
        if "later_than" in w:
            known = options.get(w["later_than"])
            values = next(iter(self.by["furnace"].values()))["options"][w["later_than"]]["values"]
            longest = max(map(float, values))
            longest = min(float(known) + float(next(iter(self.by["words"].values()))["delay_margin_s"]), longest) if known else longest
            tests.append(lambda s: s - longest >= float(w.get("by_s", 0)))
        return all(t(r.after_s) for t in tests) if r.after_s is not None else unknown or not tests


def _entries(path: Path) -> list[Any]:
    loaded = yaml.load(path.read_text("utf-8"), yaml.BaseLoader)
    return loaded if isinstance(loaded, list) else [loaded]


def _ways(when: Any) -> list[list[Any]]:
    return [way.get("all_of", [way]) for way in when]
