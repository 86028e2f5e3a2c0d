"""What the clerk's desk says on a screen: the summary of a run, one claim with its reasons, the letter that asks, what changed."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from furnace_diag.claims.again import Change
from furnace_diag.claims.asking import Letter
from furnace_diag.claims.desk import CLASH
from furnace_diag.claims.run import Summary
from furnace_diag.diagnosis.findings import OTHER_CALL
from furnace_diag.problems import printable

VERDICT_SAYS = {
    "supported": "supported",
    "plausible": "plausible",
    "not_supported": "not supported",
    "not_shown": "not shown",
    "cannot_be_true_together": "cannot be true together",
    "unreadable": "unreadable",
}
VERDICT_MEANS = {
    "supported": "a proof is complete",
    "plausible": "shown, and something is missing",
    "not_supported": "the records point elsewhere",
    "not_shown": "the records do not decide",
    "cannot_be_true_together": "some records clash",
    "unreadable": "nothing could be judged",
}
LAW = (
    "This says what the records show, and nothing of what a warranty covers. Whoever denies a claim because something else caused the defect "
    "must be able to show that it did (16 CFR 700.10(c))."
)
CARE = "Live parts, gas and hot metal can kill: work as your licence and local codes allow."
MOST_PROBLEMS = 12
MOST_OF_COMPLAINT = 500  # characters
LEAST_TOLD = 0.005  # belief in all other parts together that is told: half a percent


def _fill(text: str, width: int, indent: str = "", first: str | None = None) -> list[str]:
    first = indent if first is None else first
    return textwrap.wrap(printable(text, 2000), width, initial_indent=first, subsequent_indent=indent, break_on_hyphens=False) or [""]


def _part(name: str) -> str:
    return name.replace("_", " ")


def counted(number: int, one: str, many: str = "") -> str:
    """A number with its word: 1 claim, 1,200 claims."""
    return f"{number:,} {one if number == 1 else many or f'{one}s'}"


# --- a run ------------------------------------------------------------------------------------


def summary_lines(summary: Summary, out: str, width: int) -> Iterator[str]:
    """Claims with a danger, how many came to which verdict, what was set aside, and where the results are."""
    kept = f", {summary.kept:,} of them earlier" if summary.kept else ""
    judged, aside = summary.claims - summary.verdicts["unreadable"], summary.verdicts["unreadable"]
    read = f"{counted(summary.claims, 'claim')} read, {judged:,}" if aside else counted(summary.claims, "claim")
    yield from _fill(f"{read} judged by rules {summary.rules_version}{kept}.", width)
    yield ""
    if summary.in_danger:
        which = "this" if summary.in_danger == 1 else "these"
        yield from _fill(f"DANGER in {counted(summary.in_danger, 'claim')}. Look at {which} first (column danger in results.csv):", width)
        for told in summary.dangers[:MOST_PROBLEMS]:
            yield from _fill(told, width, "    ", "  ")
        yield ""
    for verdict, count in summary.verdicts.items():
        yield from _fill(f"{VERDICT_SAYS[verdict]}: {VERDICT_MEANS[verdict]}", width, "        ", f"{count:7,} ")
    if summary.by_bench:
        yield ""
        yield from bench_lines(summary.by_bench, width)
    if summary.problems:
        yield ""
        yield from _fill(f"Not read apart from that ({len(summary.problems)}, all in problems.txt):", width)
        for problem in summary.problems[:MOST_PROBLEMS]:
            yield from _fill(str(problem), width, "    ", "  ")
    if summary.to_read:
        yield ""
        what = "Some dates, numbers or remarks are for a person to judge"
        if summary.unread:
            what = f"{counted(summary.unread, 'entry', 'entries')} of {counted(summary.unread_in, 'claim')} could not be read"
            what += f", and {counted(summary.remarked, 'remark')} of ours {'is' if summary.remarked == 1 else 'are'} to be read" if summary.remarked else ""
        yield from _fill(f"{what}. Read these yourself (all in problems.txt):", width)
        for text in summary.to_read[:MOST_PROBLEMS]:
            yield from _fill(text, width, "    ", "  ")
    if summary.without:
        yield ""
        yield from _fill(f"NO CLAIM came from: {', '.join(printable(f, 200) for f in summary.without)}.", width, "  ", "")
    yield ""
    yield from _fill(f"Results: {out}: page.html, results.csv, results.jsonl, problems.txt.", width, "  ", "")
    yield from _fill(LAW, width)


def bench_lines(by_bench: Mapping[str, Mapping[str, int]], width: int) -> Iterator[str]:
    """Verdicts against what the bench found of the returned part."""
    outcomes = [o for o in ("bad", "good", "not_tested") if o in by_bench]
    yield from _fill("Verdict, by what the bench found of the part:", width)
    yield "".join(f"{o.replace('_', ' '):>11}" for o in outcomes)
    for verdict, says in VERDICT_SAYS.items():
        figures = "".join(f"{by_bench[o][verdict]:11,}" for o in outcomes)
        yield from _fill(says, width, " " * len(figures) + " ", f"{figures} ") if len(figures) + 12 < width else [f"{figures}", f"  {says}"]


def own_world_lines(world: Sequence[str], width: int) -> Iterator[str]:
    """What the figures of the invented claims are worth."""
    yield ""
    told = "This is the tool's own world: furnaces and claims come from the rules that judge them. The figures say nothing of real shops or furnaces."
    yield from _fill(told, width)
    for line in world:
        yield from _fill(line, width, "    ", "  ")


# --- one claim ----------------------------------------------------------------------------------


def claim_lines(r: Mapping[str, Any], width: int) -> Iterator[str]:
    """One claim: its verdict and every reason, each with its place in the rules."""
    yield from reason_lines(r, width)
    yield from _fill(LAW, width)


def reason_lines(r: Mapping[str, Any], width: int) -> Iterator[str]:
    """The same without the word on denials, which a page says once."""
    about = ", ".join(t for t in (r["shop"], r["date"], f"{_part(r['part'])} claimed") if t)
    yield from _fill(f"Claim {r['claim'] or '(no number)'}: {VERDICT_SAYS[r['verdict']].upper()}", width)
    yield from _fill(f"{about} ({r['place']})", width, "  ")
    yield from _fill(r["says"], width)
    yield ""
    for hazard in r["hazards"]:
        yield from _fill(f"HAZARD: {hazard['says']} {hazard['do']} ({_why(hazard)})", width, "  ", "")
    for danger in r.get("feared", ()):
        yield from _fill(f"DANGER: {danger}", width, "  ", "")
    yield from _of_proof(r["proof"], r["verdict"], width)
    yield from _of_cause(r, width)
    for word, found in (("Cleared so far", r["clears"]), ("Mind", r["doubts"]), ("Cause to look for", r["root_causes"])):
        for one in found:
            yield from _fill(f"{word}: {one['says']} {one['do']} ({_why(one)})", width, "  ", "")
    for word, texts in (("Clash", r["clash"]), ("Not read", r["held_back"]), ("Read it yourself", r["unmatched"]), ("Note", r["notes"])):
        for text in texts:
            yield from _fill(f"{word}: {text}", width, "  ", "")
    if r["complaint"]:
        yield from _fill(f'Complaint: "{printable(r["complaint"], MOST_OF_COMPLAINT)}"', width, "  ", "")
    for text in r.get("remarks", ()):
        yield from _fill(f'Remark: "{text}"', width, "  ", "")
    if r["records"]:
        yield "Records:"
        for record in r["records"]:
            yield from _fill(record_in_words(record), width, "    ", "  ")
    yield ""
    yield from _fill(f"Rules {r['rules_version']}" + (f", findings by {r['engine']}." if r["engine"] else "."), width)


def _why(found: Mapping[str, Any]) -> str:
    return f"{', '.join(found['because'])}; {found['finding']}, {found['at']}"


def _of_proof(proof: Mapping[str, Any] | None, verdict: str, width: int) -> Iterator[str]:
    if proof is None or verdict == "not_supported" or not any(n["met_by"] or n["against"] for n in proof["needs"]):
        return  # a proof of which nothing was read is not near
    proved = "Proved" if verdict == "supported" else "Complete by what was read"
    title = {"proved": proved, "shown": "Shown, not proved"}.get(proof["grade"], "The nearest proof")
    yield from _fill(f"{title}: {proof['says']} ({proof['proof']}, {proof['at']})", width, "  ", "")
    for need in proof["needs"]:
        met = need["met_by"] or need.get("before", ())
        if (met or not need["take"]) and not need["against"]:
            again = f" It counts for one heat call; wanted in {OTHER_CALL} too." if need["take"] else ""
            by = "; ".join(met) or "by what is known of the furnace"
            yield from _fill(f"{need['says']} ({by}; {need['at']}){again}", width, "      ", "  ok  ")
        if need["against"]:
            shown = f" ({'; '.join(met)})" if met else ""
            yield from _fill(f"{need['says']}{shown}: against it stands {'; '.join(need['against'])} ({need['at']})", width, "      ", "  NO  ")
        if need["take"] and not met:
            calls = f" In {need['calls_left']} heat calls." if need.get("calls_left", 0) > 1 else ""
            yield from _fill(f"{need['take']} ({need['at']}){calls}", width, "      ", "  --  ")
        for beside in (*need.get("almost", ()), *need.get("unfit", ())):
            yield from _fill(beside, width, "        ", "      ")


def _of_cause(r: Mapping[str, Any], width: int) -> Iterator[str]:
    cause = r["cause"]
    if not r["records"] or not r["engine"]:
        return  # these would be the odds before any reading, and no reason
    of = "Belief, though one of these records is wrong" if r["verdict"] == CLASH else "Belief"
    yield from _fill(f"{of}: {', '.join(_shares(r))}.", width, "  ", "")
    if cause:
        told = f"{cause['share_of_part']:.0%} {_part(cause['part'])}: {cause['says']} ({cause['part']}:{cause['failure']}, {cause['at']})"
        yield from _fill(f"Likeliest other part: {told}", width, "  ", "")
        for word, records in (("for it", cause["speaks_for"]), ("against it", cause["speaks_against"])):
            if records:
                yield from _fill(f"{word}: {', '.join(records)}", width, "    ", "  ")


def _shares(r: Mapping[str, Any]) -> Iterator[str]:
    """What is believed in, what leads first; together they are all that there is."""
    cause = r["cause"]
    shares = {_part(r["part"]): r["share"], "something else": r["something_else"]} | ({_part(cause["part"]): cause["share_of_part"]} if cause else {})
    shares["spread over other parts"] = 1 - sum(shares.values())
    for name in sorted(shares, key=lambda n: -shares[n]):
        if shares[name] >= LEAST_TOLD or name in (_part(r["part"]), "something else"):
            yield f"{shares[name]:.0%} {name}"


def record_in_words(record: Mapping[str, Any]) -> str:
    """A record on one line, with where it stands."""
    kind, name = next(iter(record.items()))
    more = [str(v if not isinstance(v, list) else ", ".join(v)) for k, v in record.items() if k in ("step", "meter", "contact", "hold", "source", "set_up")]
    more += [f"call {record['call']}"] if "call" in record else []
    more += [f"after {record['after_s']:g} s"] if "after_s" in record else []
    named = name if kind in ("point", "sign") else f"{kind} {name}"
    said = f', read from "{record["said"]}"' if "said" in record else ""
    return f"{named}: {record['value']}" + (f" ({', '.join(more)})" if more else "") + f"{said}  {record['at']}"


# --- the letter -----------------------------------------------------------------------------------


def letter_lines(r: Mapping[str, Any], letter: Letter, width: int) -> Iterator[str]:
    """The letter to the shop: what the records show and which readings to send."""
    yield from _fill(f"Claim {r['claim'] or '(no number)'}" + (f", {r['shop']}" if r["shop"] else "") + (f", {r['date']}" if r["date"] else ""), width)
    yield ""
    begins = "We could not judge this claim." if r["verdict"] == "unreadable" else f"You claim that the {_part(r['part'])} has failed."
    yield from _fill(f"{begins} {letter.says}", width)
    for hazard in r["hazards"]:
        yield ""
        yield from _fill(f"First of all: {hazard['says']} {hazard['do']}", width)
    yield ""
    for danger in letter.feared:
        yield from _fill(f"First of all: {danger}", width)
        yield ""
    if r["hazards"] or letter.feared:
        yield from _fill("We ask for no reading until that is put right.", width)
    elif r["verdict"] == "supported":
        yield from _fill("No further reading is asked for.", width)
    elif r["verdict"] == "not_supported":
        yield from _fill(f"What shows it: {'; '.join(r['cause']['speaks_for'])}.", width)
        yield ""
        yield from _asked(r, letter, width)
    else:
        yield from _asked(r, letter, width)
    yield ""
    yield from _fill(LAW, width)


def _asked(r: Mapping[str, Any], letter: Letter, width: int) -> Iterator[str]:
    denied = r["verdict"] == "not_supported"
    part, other = _part(r["part"]), _part(r["cause"]["part"]) if r["cause"] else ""
    how_far = f"If you hold that the {part} did fail all the same, tell us how far a heat call gets once the {other} is in order" if denied else "Please tell"
    more = "" if denied else " then how far a heat call gets" if letter.fails_to else " first how far a heat call gets"
    for title, texts in (
        ("Please look at these again; they do not go together:", letter.again),
        ("Please write these again; they could not be read:", letter.anew),
        ("Please tell first:", (letter.fails_to,) if letter.fails_to else ()),
        (f"{how_far}{more}, up to the first that is not as it should be:", letter.how_far),
        ("Please send next, because it tells most:" if letter.how_far else "Please send first, because it tells most:", letter.nearest),
        ("Of these readings, please tell also how they were taken:", letter.how_taken),
        ("These readings count, and are not asked for again:", letter.counts),
        (f"These count for one heat call; please take them once more, together in {OTHER_CALL}:", letter.second_call),
        (f"To show that it is the {part}, please send:", letter.proof),
    ):
        if texts:
            yield from _fill(title, width)
            for number, text in enumerate(texts, 1):
                yield from _fill(text, width, "     ", f"{number:>3}. ")
            yield ""
    if letter.how_far and not (letter.proof or letter.second_call or letter.how_taken or denied):
        yield from _fill("By that we can tell which readings would show it, and ask for those.", width)
    if letter.proof or letter.nearest or letter.second_call:
        yield from _fill("Say with each reading at which step it was, in which call, with which meter and where the probe was.", width)
    for caution in letter.cautions:
        yield from _fill(f"Caution: {caution}", width, "  ", "")
    yield from _fill(CARE, width)


# --- what changed ---------------------------------------------------------------------------------


def change_lines(changes: Iterable[Change | None], width: int) -> Iterator[str]:
    """What newer rules changed, and why: of each claim that stands in both, None where nothing did. The count comes last."""
    compared = differing = 0
    for change in changes:
        compared += 1
        if change is None:
            continue
        differing += 1
        yield from _fill(f"{change.claim}: {VERDICT_SAYS[change.before]}, now {VERDICT_SAYS[change.now]}.", width, "    ", "  ")
        for why in change.why:
            yield from _fill(why, width, "      ", "    ")
    yield from _fill(f"Judged otherwise than before: {differing:,}, of {counted(compared, 'claim')} in both.", width)
