"""How to take what a proof still lacks, in words."""

from __future__ import annotations

from collections.abc import Sequence

from furnace_diag.knowledge.finding_models import Condition, Wanted
from furnace_diag.knowledge.models import Knowledge
from furnace_diag.knowledge.repair_models import Check

METER = {"low": "low-impedance meter or lamp", "high": "ordinary meter"}
CONTACT = {"pin": "on the board's own pin", "crimp": "on the wire crimp", "load": "at the load"}
HOLD = {"min": "lowest reading held", "max": "highest reading held"}
SET_UP = {
    "load_on": "load connected", "load_off": "load off", "lead_lifted": "its lead lifted", "plug_off": "its plug off",
    "thermostat_wires_off": "thermostat wires off", "door_closed": "door closed", "door_held": "door switch held",
    "gas_shut": "gas cock shut", "rod_wire_off": "rod wire off",
}  # fmt: skip
WANTED = "; wanted: "  # before what a reading must be that nobody has taken yet
MOST_STEPS = 2  # named in one line; of more the first is enough


def how_to_take(condition: Condition | Check, k: Knowledge) -> str:
    """What to read or look at so that *condition* is met, by its first alternative."""
    return condition.take or "; ".join(asked_in_words(w, k) for w in condition.any_of[0])


def asked_in_words(w: Wanted, k: Knowledge) -> str:
    """One line of a condition or check that is still to be taken: what it must be is told as what is wanted, lest it look as if it had been read."""
    return _joined(_what_of(w, k), WANTED, _must_be(w, k))


def asked_in_short(w: Wanted, k: Knowledge) -> str:
    """The same by its name alone, where it was told already what to do."""
    return _joined(f"{w.names[0][1]}{_how(w, k)}", WANTED, _must_be(w, k))


def line_in_words(w: Wanted, k: Knowledge) -> str:
    """One line of a condition or finding, as what to read and what it must be."""
    return _joined(_what_of(w, k), ": ", _must_be(w, k))


def _what_of(w: Wanted, k: Knowledge) -> str:
    kind, name = w.names[0]
    if kind in ("point", "sign"):
        return f"{(k.point[name] if kind == 'point' else k.sign[name]).says} ({name}){_how(w, k)}"
    return name


def _must_be(w: Wanted, k: Knowledge) -> str:
    return k.band[w.is_[0]].says if w.names[0][0] == "point" else " or ".join(w.is_)


def _joined(what: str, mark: str, must_be: str) -> str:
    return f"{what}{mark}{must_be}" if must_be else what


def in_short(condition: Condition | Check, k: Knowledge) -> str:
    """The same for a small screen: names, which a record can be typed by, instead of what they say; those taken alike together."""
    alike: dict[str, list[str]] = {}
    for w in condition.any_of[0]:
        must_be = _must_be(w, k)
        wanted = _joined(_how(w, k), WANTED if isinstance(condition, Check) else ": ", must_be if w.names[0][0] == "point" else must_be.replace("_", " "))
        alike.setdefault(wanted, []).append(w.names[0][1].replace("_", " "))
    return condition.take or "; ".join(f"{' and '.join(names)}{how}" for how, names in alike.items())


def _how(w: Wanted, k: Knowledge) -> str:
    steps = [s.replace("_", " ") for s in w.step]
    told = [f"at {' or '.join(steps if len(steps) <= MOST_STEPS else steps[:1])}"] if steps else []
    told += [when(w, k)] if when(w, k) else []
    told += [table[word] for table, word in ((METER, w.meter), (CONTACT, w.contact), (HOLD, w.hold)) if word]
    told += [SET_UP[s] for s in w.set_up]
    return "".join(f", {t}" for t in told)


def longest(k: Knowledge, name: str) -> float | None:
    """The longest that an option which is a time can be on any furnace [s]; None where it is none."""
    times = [float(value) for f in k.furnace.values() if name in f.options for value in f.options[name].values]
    return max(times, default=None)


def is_timed(w: Wanted) -> bool:
    """Whether it matters how long after the step began it is read."""
    return w.later_than is not None or w.after_s is not None


def when(w: Wanted, k: Knowledge) -> str:
    """How long after the step began it must be read, in words; empty where that does not matter."""
    if w.later_than is not None:
        most = longest(k, w.later_than)
        in_all = f", {most + w.by_s:g} s in all" if most is not None else ""
        return f"{w.by_s:g} s after the longest {w.later_than.replace('_', ' ')}{in_all}"
    if w.after_s is not None and w.until_s is not None:
        return f"between {w.after_s:g} and {w.until_s:g} s"
    return f"{w.after_s:g} s or more into it" if w.after_s is not None else ""


def cautions_for(conditions: Sequence[Condition | Check], k: Knowledge) -> tuple[str, ...]:
    """The cautions of everything that meeting *conditions* asks for, each once, in words."""
    lines = [w for c in conditions for w in c.any_of[0]]
    names = [w.names[0] for w in lines]
    entries = [k.point[name] if kind == "point" else k.sign[name] for kind, name in names if kind in ("point", "sign")]
    return tuple(dict.fromkeys(k.caution[c].says for e in entries for c in e.cautions))
