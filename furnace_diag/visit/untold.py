"""What a record leaves out that a check wants of it, and the words by which it is told: "at heating low pin"."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from furnace_diag.diagnosis.findings import Finder, Need
from furnace_diag.diagnosis.lacking import SAY, lacking, otherwise
from furnace_diag.diagnosis.records import Record
from furnace_diag.diagnosis.taking import is_timed
from furnace_diag.knowledge.finding_models import Condition, Wanted
from furnace_diag.knowledge.repair_models import Check

HOW = ("meter", "contact", "hold")
AFTER_SECONDS = "after SECONDS s"  # what is typed of when it was read


def with_what_is_left_out(need: Need, check: Check, records: Sequence[Record], finder: Finder, options: Mapping[str, str]) -> Need:
    """A check that is not met yet, with the *records* that would meet it if they told more, and those of what it asks for that are taken otherwise."""
    if not need.calls_left or need.denied_by:
        return need
    lines = [w for way in check.any_of for w in way if w.point or w.sign]
    patterns, asked = [finder.compiled.wants(w) for w in lines], {f"{w.names[0][0]}:{w.names[0][1]}" for w in lines if not w.meets_only}
    almost, unfit = dict[str, str](), dict[str, str]()
    for fact in finder.compiled.facts(records, options):
        said = records[int(fact["r"])].said if "r" in fact else ""
        about = [p for p in patterns if said and p.name == fact["k"]]
        left_out = [more for p in about if (more := lacking(p, fact)) is not None]
        if about and not left_out and fact["k"] in asked:
            unfit[said] = ", ".join(_fewest([otherwise(p, fact) for p in about]))
        elif least := _fewest(left_out):
            almost[said] = ", ".join(least)
    told = tuple(f"you gave {said}{SAY}{more}" for said, more in almost.items())
    return need._replace(almost=told, unfit=tuple(f"you gave {said}, which does not count: {why}" for said, why in unfit.items()))


def with_calls_told(need: Need, condition: Condition, records: Sequence[Record], finder: Finder, options: Mapping[str, str]) -> Need:
    """A condition of a proof with what each of the *records* leaves out, where some are said alike in several heat calls: each with its call."""
    patterns = [finder.compiled.wants(w) for way in condition.any_of for w in way if w.point or w.sign]
    calls: dict[str, set[int]] = {}
    for r in records:
        calls.setdefault(r.said, set()).add(r.call)
    almost: list[str] = []
    for fact in finder.compiled.facts(records, options):
        left_out = [more for p in patterns if "r" in fact and not fact["t"] and (more := lacking(p, fact)) is not None]
        if least := _fewest(left_out):
            record = records[int(fact["r"])]
            of_call = f" in call {record.call}" if len(calls[record.said]) > 1 else ""
            almost.append(f"you gave {record.said}{of_call}{SAY}{', '.join(least)}")
    return need._replace(almost=tuple(dict.fromkeys(almost)))


def taken_as_wanted(wanted: Wanted, record: Record) -> bool:
    """Whether step, meter, probe, set-up and seconds are those that are wanted; a time that hangs on the furnace's delay is never known to be."""
    return not words_lacking(wanted, record)


def words_lacking(wanted: Wanted, record: Record) -> list[str]:
    """The words that *record* lacks to be taken as it is wanted, in the order in which they are typed; none where it lacks nothing."""
    words = [f"at {wanted.step[0]}"] if wanted.step and record.step not in wanted.step else []
    words += [str(getattr(wanted, field)) for field in HOW if getattr(wanted, field) not in (None, getattr(record, field))]
    words += [s for s in wanted.set_up if s not in record.set_up]
    return [*(word.replace("_", " ") for word in words), *([] if _in_time(wanted, record) else [AFTER_SECONDS])]


def contradicts(wanted: Wanted, record: Record) -> bool:
    """Whether *record* says otherwise than it is wanted how it was taken, and does not only leave it out."""
    otherwise_said = any(getattr(wanted, f) is not None and getattr(record, f) not in (None, getattr(wanted, f)) for f in HOW)
    return otherwise_said or bool(wanted.step and record.step is not None and record.step not in wanted.step) or _at_another_time(wanted, record)


def nearest(lines: Iterable[Wanted], record: Record) -> Wanted | None:
    """Of *lines* about what a record is of, the one that it lacks fewest words of; None where none is about it."""
    about = [w for w in lines if w.names[0] == (record.kind, record.name)]
    return min(about, key=lambda w: (contradicts(w, record), len(words_lacking(w, record))), default=None)


def _fewest(ways: list[tuple[str, ...]]) -> tuple[str, ...]:
    """What is to be told by the way that wants least of it; nothing where there is none."""
    return min(ways, key=len, default=())


def _in_time(wanted: Wanted, record: Record) -> bool:
    if not is_timed(wanted):
        return True
    after = record.after_s
    return wanted.later_than is None and after is not None and (wanted.after_s or 0) <= after <= (wanted.until_s or after)


def _at_another_time(wanted: Wanted, record: Record) -> bool:
    return is_timed(wanted) and wanted.later_than is None and record.after_s is not None and not _in_time(wanted, record)
