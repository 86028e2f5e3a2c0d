"""What is asked before something is kept: which of several was meant, whether a weak one was, what to do with a doubtful one, and when it was read.

Nothing that is typed in place of an answer is lost: it is handed back, to be taken as a line of its own.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import isinf

from furnace_diag.cli.common import SAYS_NO, SAYS_YES
from furnace_diag.cli.visit_prompt import Prompt
from furnace_diag.diagnosis.records import Record
from furnace_diag.knowledge.spelling import plain
from furnace_diag.problems import printable
from furnace_diag.report.visit_words import as_words, filled
from furnace_diag.visit.session import Doubtful
from furnace_diag.visit.times import seconds_alone
from furnace_diag.visit.typed import Typed, Unclear, as_choice

YES = SAYS_YES | {"ok", "keep"}
DROPPED = {"drop", "drop it"}
CLASH_HELP = "f: the new one takes its place. c: it was read in another heat call. Enter: the new one is dropped."


@dataclass(frozen=True)
class Instead:
    """A line that was typed where one of *keys* was asked for."""

    line: str
    keys: str


def dropped(prompt: Prompt, said: str, keys: str, again: str = "") -> Instead | None:
    """Tell that a record is not kept; what was typed in place of one of *keys*, or None where that only drops it. *again*: as what it is kept unasked."""
    if not said or plain(said) in SAYS_NO | DROPPED:
        prompt.say("Nothing kept.")
        return None
    if_so = f" If it was so, type: {printable(again)}" if again else ""
    prompt.say(f"Not kept: what was asked about.{if_so}")  # what was typed in its place may be
    return Instead(said, keys)


def told_back(prompt: Prompt, read: Typed | Unclear) -> list[str]:
    """All that a line could be, each with the value that it would be kept as: "by hand" or "hard to spin" tells nobody whether that is free or stiff."""
    choices, texts = ((read,), (as_choice(read),)) if isinstance(read, Typed) else (read.choices, read.texts)
    meant = [as_choice(replace(each, record={**each.record, "value": _word_of(prompt, each)})) for each in choices]
    return [*map(as_words, meant if len({*meant}) == len(texts) else texts)]


def _word_of(prompt: Prompt, typed: Typed) -> object:
    """The value that a record of a sign would be kept as; of any other what was typed."""
    value = typed.record["value"]
    return (prompt.session.reader.value_of(str(typed.record["sign"]), str(value)) if "sign" in typed.record else "") or value


def which_of(prompt: Prompt, unclear: Unclear) -> Typed | str:
    """The one of several that is meant; where none is, what was typed in place of its number, empty for Enter."""
    prompt.say("That could be:")
    for number, text in enumerate(told_back(prompt, unclear), 1):
        prompt.lines(filled(text, prompt.width(), "    ", f"{number:>2}. "))
    said = prompt.ask("Which number? (Enter: none) ", "Type the number of the one that is meant, or Enter: then nothing is kept.")
    if said.isdigit() and 0 < int(said) <= len(unclear.choices):
        return unclear.choices[int(said) - 1]
    prompt.say("Not kept: none of those." if said else "Nothing kept of that.")
    return said


def meant_so(prompt: Prompt, typed: Typed) -> Typed | Instead | None:
    """A record of which little was said, once somebody says that it was meant."""
    made = prompt.session.record_typed(typed.record)
    said = as_words(as_choice(replace(typed, record={**typed.record, "value": made.word or typed.record["value"]})))
    event = prompt.session.knowledge.event.get(made.name) if made.kind == "event" else None
    means = f" It means: {event.says[0].lower()}{event.says[1:]}." if event is not None else ""  # its short names say less: "new filter"
    prompt.say(f"Is this \"{printable(said)}\"?{means}")
    if is_danger(prompt, made):
        return _danger_meant(prompt, typed, said)
    if plain(answer := prompt.ask("y it is, Enter it is not: ", f"y: it is kept as {said}. Enter: nothing is kept.")) in YES:
        return typed
    return dropped(prompt, answer, "y, Enter", " ".join([said, *_how_told(typed)]))


def _how_told(typed: Typed) -> Iterator[str]:
    """How a record was told to be taken, besides its step, as it is typed behind its value."""
    yield from (str(typed.record[name]) for name in ("meter", "contact") if name in typed.record)
    yield from (f"{word} {typed.record[name]}{unit}" for name, word, unit in (("after_s", "after", " s"), ("call", "call", "")) if name in typed.record)


def apart(prompt: Prompt, typed: Typed) -> Typed | Instead | None:
    """A record of ohms that show a path where there should be none, once somebody says that all else was off: with it on, that path may be of anything.

    Any other record as it is.
    """
    made = prompt.session.record_typed(typed.record)
    point = prompt.session.knowledge.point.get(made.name) if made.kind == "point" else None
    if point is None or point.apart is None or made.number is None or isinf(made.number):
        return typed
    prompt.say(f"{as_words(made.name)} means: read with {point.apart}. With anything still on it the meter shows that, and it tells nothing.")
    help_text = f"y: it was read with {point.apart}. Enter: it was not, or nobody knows; nothing is kept."
    answer = prompt.ask("y read so, Enter not: ", help_text)
    return typed if plain(answer) in YES else dropped(prompt, answer, "y, Enter")


def is_danger(prompt: Prompt, made: Record) -> bool:
    """Whether a record tells of a hazard, which no hurried Enter may drop."""
    return made.kind == "sign" and prompt.session.vocabulary.complaints.is_danger(made.name, str(made.word))


def _danger_meant(prompt: Prompt, typed: Typed, said: str) -> Typed | None:
    """The same of a danger: it is kept unless somebody says that it is not so, and nothing else that is typed passes it over. One read with slips mended may
    be another thing: no Enter keeps it, and none drops it."""
    key = "y" if typed.mended else "Enter"
    help_text = f"{key}: it is kept as {said}, and stops all else. n: nothing is kept."
    while plain(answer := prompt.ask(f"{key} it is, n it is not: ", help_text)) not in (YES if typed.mended else YES | {""}):
        if plain(answer) in SAYS_NO | DROPPED:
            prompt.say("Nothing kept.")
            return None
        if (righted := _puts_right(prompt, typed, answer)) is not None:
            return righted
        prompt.say(f"First: is it so? {key} it is, n it is not.")
    return typed


def _puts_right(prompt: Prompt, typed: Typed, answer: str) -> Typed | None:
    """What an answer says of a danger that was put right: "jumper removed" where it is asked whether a safety is bypassed; None where it says no such thing."""
    sign = str(typed.record.get("sign"))
    meant = prompt.session.vocabulary.values(sign).meant(answer)
    is_righted = len(meant) == 1 and meant[0] in prompt.session.knowledge.sign[sign].put_right
    return Typed({"sign": sign, "value": meant[0]}) if is_righted else None


def settled(prompt: Prompt, doubtful: Doubtful, instead_of: int | None) -> Record | Instead | None:
    """A record that contradicts another or makes no sense, kept after asking; None where it is dropped. It was read before that was asked."""
    read_at = prompt.asker.first_key
    if doubtful.contradicts is not None:
        return _beside_what_it_contradicts(prompt, doubtful, doubtful.contradicts, instead_of, read_at)
    why = as_words(doubtful.why)
    prompt.say(why)
    if plain(said := prompt.ask("y keep it, Enter drop it: ", why)) not in YES:
        return dropped(prompt, said, "y, Enter")
    return _kept(prompt, prompt.session.take(doubtful.typed, sure=True, instead_of=instead_of, at=read_at))


def _beside_what_it_contradicts(prompt: Prompt, doubtful: Doubtful, number: int, instead_of: int | None, read_at: float) -> Record | Instead | None:
    """A record that contradicts entry *number*: in its place, in a new call, or dropped."""
    session, typed, why = prompt.session, doubtful.typed, as_words(doubtful.why)
    if instead_of is None and _was_told(prompt, number) and "source" not in typed.record:
        prompt.say(f"Entry {number} was told; what is seen takes its place.")
        return _kept(prompt, session.take(typed, instead_of=number, at=read_at))
    made = session.record_typed(typed.record)
    if _tells_more_closely(prompt, made, number):
        prompt.say(f"Entry {number} said so less closely; this takes its place.")
        return _kept(prompt, session.take(typed, instead_of=number, at=read_at))
    if is_danger(prompt, made):  # whatever was so before
        prompt.say(f"{why} What is a danger takes its place.")
        return _kept(prompt, session.take(typed, instead_of=number, at=read_at))
    prompt.say(why)
    said = prompt.ask("f fix that entry, c it is a new call, Enter none: ", f"{why} {CLASH_HELP}")
    if said.lower() in ("c", "call"):
        session.tell("call", {"call": session.visit.call + 1, "unmarked": True})
        return _kept(prompt, session.take(typed, at=read_at))
    if said.lower() in ("f", "fix"):
        return _kept(prompt, session.take(typed, instead_of=number, at=read_at))
    return dropped(prompt, said, "f, c, Enter")


def _tells_more_closely(prompt: Prompt, made: Record, number: int) -> bool:
    """Whether a sign is told with a closer word than entry *number* has: a motor that hums, and that does not run."""
    before = next(prompt.session.record(e) for e in prompt.session.visit.entries if e.number == number)
    sign = prompt.session.knowledge.sign.get(made.name)
    return sign is not None and before.name == made.name and sign.is_vaguer(str(before.word), str(made.word))


def _was_told(prompt: Prompt, number: int) -> bool:
    """Whether an entry is what somebody told, and nobody looked."""
    return any(e.number == number and prompt.session.record(e).source == "told" for e in prompt.session.visit.entries)


def _kept(prompt: Prompt, taken: Record | Doubtful) -> Record | None:
    """What was kept; None, and why, where it is doubtful all the same."""
    if isinstance(taken, Record):
        return taken
    prompt.say(as_words(taken.why))
    return None


def with_seconds(prompt: Prompt, typed: Typed) -> Typed:
    """The same with when it was read, asked for where no watch runs: without it a proof or check that wants it never counts it."""
    record, session = typed.record, prompt.session
    if "after_s" in record or (session.clock_of(record) is not None and not session.too_soon(record, prompt.asker.first_key)):
        return typed
    prompt.say(f"How long after {session.counts_from(record.get('step'))} was it read? Enter: not known.")
    while said := prompt.ask("Read after [s]: ", f"How many seconds after {session.counts_from(record.get('step'))}: a figure, or 3 min. Enter: not known."):
        seconds = seconds_alone(said)
        if seconds is not None:
            return replace(typed, record={**record, "after_s": f"{seconds:g}"})
        prompt.say(f"{printable(said)} is no time. Type seconds, such as 330, or Enter.")
    prompt.say("Kept without the seconds: it does not count where they are wanted.")
    return typed
