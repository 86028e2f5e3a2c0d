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
MOST_STEPS = 2  # named in one line; of more the first is enough


def how_to_take(condition: Condition | Check, k: Knowledge) -> str:
    """What to read or look at so that *condition* is met, by its first alternative."""
    return condition.take or "; ".join(line_in_words(w, k) for w in condition.any_of[0])


def line_in_words(w: Wanted, k: Knowledge) -> str:
    """One line of a condition or finding, as what to read and what it must be."""
    kind, name = w.names[0]
    if kind == "point":
        return f"{k.point[name].says} ({name}){_how(w)}: {k.band[w.is_[0]].says}"
    if kind == "sign":
        return f"{k.sign[name].says} ({name}){_how(w)}: {' or '.join(w.is_)}"
    return f"{name}{': ' + ' or '.join(w.is_) if w.is_ else ''}"


def in_short(condition: Condition | Check, k: Knowledge) -> str:
    """The same for a small screen: names, which a record can be typed by, instead of what they say; those taken alike together."""
    alike: dict[str, list[str]] = {}
    for w in condition.any_of[0]:
        kind, name = w.names[0]
        wanted = k.band[w.is_[0]].says if kind == "point" else " or ".join(v.replace("_", " ") for v in w.is_)
        alike.setdefault(f"{_how(w)}{f': {wanted}' if wanted else ''}", []).append(name.replace("_", " "))
    return condition.take or "; ".join(f"{' and '.join(names)}{how}" for how, names in alike.items())


def _how(w: Wanted) -> str:
    steps = [s.replace("_", " ") for s in w.step]
    told = [f"at {' or '.join(steps if len(steps) <= MOST_STEPS else steps[:1])}"] if steps else []
    told += [when(w)] if when(w) else []
    told += [table[word] for table, word in ((METER, w.meter), (CONTACT, w.contact), (HOLD, w.hold)) if word]
    told += [SET_UP[s] for s in w.set_up]
    return "".join(f", {t}" for t in told)


def when(w: Wanted) -> str:
    """How long after the step began it must be read, in words; empty where that does not matter."""
    if w.later_than is not None:
        return f"{w.by_s:g} s after the longest {w.later_than.replace('_', ' ')}"
    if w.after_s is not None and w.until_s is not None:
        return f"between {w.after_s:g} and {w.until_s:g} s"
    return f"{w.after_s:g} s or more into it" if w.after_s is not None else ""


def cautions_for(conditions: Sequence[Condition | Check], k: Knowledge) -> tuple[str, ...]:
    """The cautions of everything that meeting *conditions* asks for, each once, in words."""
    lines = [w for c in conditions for w in c.any_of[0]]
    names = [w.names[0] for w in lines]
    entries = [k.point[name] if kind == "point" else k.sign[name] for kind, name in names if kind in ("point", "sign")]
    return tuple(dict.fromkeys(k.caution[c].says for e in entries for c in e.cautions))
