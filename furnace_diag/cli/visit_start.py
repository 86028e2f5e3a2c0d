"""The start of a visit: the complaint, the questions on safety, how far a heat call gets, and what happened before."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from furnace_diag.cli.common import SAYS_NO, SAYS_YES
from furnace_diag.cli.visit_answer import only_value
from furnace_diag.cli.visit_line import done_to_one_of, exactly, read_line, repairs_in, seen_in
from furnace_diag.cli.visit_over import ask_about_over
from furnace_diag.diagnosis.complaint import NOT_ALWAYS
from furnace_diag.knowledge.models import Question
from furnace_diag.knowledge.spelling import DENIALS, plain
from furnace_diag.knowledge.values import made_of, values_of
from furnace_diag.problems import BadInput, Problem, printable
from furnace_diag.report.visit_words import filled
from furnace_diag.visit.complaint import pieces_of, told_in, unheard_in
from furnace_diag.visit.state import BEGUN, TAKES_BACK
from furnace_diag.visit.typed import Typed

if TYPE_CHECKING:
    from furnace_diag.cli.visit_desk import Desk

PLAIN_NO = frozenset(["n", "no", "nope", "nah"])  # "nobody feels fine" is no such no
OF_USE = frozenset(["undo", "fix", "remove", "list", "find", "steps", "why", "note", "help", "quit"])  # commands before the first screen

COMPLAINT_HELP = "What the customer says is wrong, in a few words, such as: no heat, burners light then go out. Enter leaves it out."
BEFORE_HELP = "A part and what changing or cleaning it did (igniter replaced no change), or what happened (storm). Enter when there is nothing."


def begin(desk: Desk) -> None:
    """Whatever of the start is not over yet."""
    if desk.session.journal.repaired:
        desk.prompt.say(desk.session.journal.repaired)
    first = not desk.session.visit.complaint and not desk.session.visit.asked
    desk.session.vocabulary.make_ready()  # before the first question, where nobody waits for an answer yet
    if first:
        _complaint(desk)
        desk.prompt.say("", "Answer with one key; Enter leaves a question open.")
    questions(desk)
    if first and not desk.session.visit.complaint:  # taken back among the questions
        _complaint(desk)
    if (first or _only_begun(desk)) and not desk.session.hazards():
        desk.guarded(lambda: before(desk))


def _only_begun(desk: Desk) -> bool:
    """Whether a visit that goes on was cut off before anything but its questions was told: then what happened before is open yet."""
    events = [e for e in desk.session.journal.events if e.event not in ("opened", "complaint", "asked", TAKES_BACK)]  # BEGUN is none of these
    return all(e.event == "record" and ("question" in e.says or e.says["record"].get("source") == "told") for e in events)


def _complaint(desk: Desk) -> None:
    desk.guarded(lambda: _take_complaint(desk, desk.prompt.ask("What is the complaint? ", COMPLAINT_HELP)))


def _take_complaint(desk: Desk, text: str) -> None:
    """Keep a complaint, and what its words answer already: that is told, and can be taken back as any other entry. What asks is none, and is answered."""
    while desk.session.replies.is_question(text):
        if not desk.commanded(text):
            desk.prompt.say("That asks, and is no complaint: nothing is kept of it. `help` lists what can be typed, once the questions are over.")
        text = desk.prompt.ask("What is the complaint? ", COMPLAINT_HELP)
    desk.session.tell("complaint", {"text": printable(text, 400)})
    told = told_in(text, desk.session.reader)
    if told:
        desk.prompt.say("Taken from that, and not asked again (`remove 1` or `undo` takes it back):")
    for typed in told:
        desk.keep(typed)
    ask_about_over(desk, text, told)
    if left := unheard_in(text, told, desk.session.reader):
        desk.prompt.say(f"Not taken from that, and not weighed: {printable('; '.join(map(_quoted, left)), 200)}.")
        if NOT_ALWAYS.search(text):
            desk.prompt.say("It tells of what is not always so: answer below as it is today.")
        desk.prompt.say("What no question asks for, type as a line of its own.")


def _quoted(piece: str) -> str:
    """A piece of what was told; in quotation marks where it would read as if there were none: "runs, then nothing"."""
    return f'"{piece}"' if plain(piece) in DENIALS else piece


def questions(desk: Desk, but: Collection[str] = ()) -> None:
    """All that are not over yet, the first of them first, until one raises a hazard: what was taken back is put again before the next.

    *but*: those that are left alone. While a repair is gone through only those on safety are put.
    """
    while (asked := _first_open(desk, but)) is not None and not desk.session.hazards():
        desk.guarded(lambda one=asked: question(desk, one, over=lambda: _first_open(desk, but) is not one))  # type: ignore[misc]


def open_now(desk: Desk) -> frozenset[str]:
    """The questions that are not over, and that nothing keeps from being asked: none while a hazard stands."""
    return frozenset() if desk.session.hazards() else frozenset(q.question for q in _open(desk))


def _first_open(desk: Desk, but: Collection[str]) -> Question | None:
    return next((q for q in _open(desk) if q.question not in but), None)


def _open(desk: Desk) -> Iterator[Question]:
    return (q for group in (("safety",) if desk.mending else ("safety", "behaviour", "rest")) for q in desk.session.questions(group))


def open_safety(desk: Desk) -> bool:
    """Ask again what was left open of the questions on safety, until one stops the visit; whether all of them are answered now, and none does."""
    if desk.session.open_safety():
        desk.prompt.say("First, what is still open of the questions on safety: nothing is mended before they are answered.")
    for one in desk.session.open_safety():
        question(desk, one, over=lambda q=one: q not in desk.session.open_safety())  # type: ignore[misc]
        if desk.session.hazards():
            return False
    if left := desk.session.open_safety():
        desk.prompt.say(f"Left open: {' '.join(q.asks for q in left)}")
    return not left


def question(desk: Desk, asked: Question, over: Callable[[], bool]) -> None:
    """One question, put again after whatever else is typed, until it is answered or left open, is *over*, or a hazard stops the visit."""
    sign = desk.session.knowledge.sign[asked.sign]
    keys = ", ".join(f"{key} {value.replace('_', ' ')}" for key, value in asked.keys.items())
    values = values_of(sign, desk.session.vocabulary.words)
    while not over() and not desk.session.hazards():
        desk.prompt.lines(filled(f"{asked.asks} ({keys})", desk.prompt.width()))
        help_text = f"{sign.says}. {sign.where or ''}\nAnswer with one of: {keys}. Enter leaves the question open; any other reading can be typed too."
        said = _key_of(desk, desk.prompt.key(": ", asked.keys, help_text), asked)
        meant = [asked.keys[said.lower()]] if said.lower() in asked.keys else values.meant(said)
        nobody = _nobody_knows(asked, said)
        if nobody:
            desk.prompt.say("Nobody was there to ask, so nothing is kept and the question stays open. It is asked again before anything is mended.")
        if nobody or desk.session.replies.leaves_open(said):
            desk.session.tell("asked", {"question": asked.question})
            return
        no_answer = said.isdigit() or (plain(said) in SAYS_YES | SAYS_NO and said.lower() not in asked.keys)  # 3 of what? And a yes to "does it hum or not"?
        if no_answer or _may_be_either(desk, asked, said):
            desk.prompt.tell_problems(none_of(said, keys))
        elif len(meant) == 1:
            desk.keep(Typed({"sign": asked.sign, "value": meant[0]}), question=asked.question)
            return
        elif not desk.is_command(said) and (other := _of_the_same_thing(desk, asked, said)) is not None:
            desk.keep(other, question=asked.question)
            return
        elif (typed := _loosely(desk, asked, said)) is not None:
            desk.keep(typed, question=asked.question)
            return
        elif several := _pieces(desk, asked, said):
            for typed in several:
                desk.keep(typed, question=asked.question if typed.record.get("sign") == asked.sign else None)
        else:
            desk.aside(said, keys)


def _nobody_knows(asked: Question, said: str) -> bool:
    """Whether a line says, with a no before it or not, that there was nobody to ask: "nobody home" tells of nobody that he is well."""
    first, _, more = plain(said).partition(" ")
    of = (plain(said), more) if first in PLAIN_NO else (plain(said),)
    return not {*of}.isdisjoint(map(plain, asked.nobody_knows))


def _loosely(desk: Desk, asked: Question, said: str) -> Typed | None:
    """What was typed as a value of what is asked with more words round it; None of a command, or of what is a record as it stands."""
    if desk.is_command(said) or exactly(desk.session, said) is not None:
        return None
    return only_value(desk.prompt, "sign", asked.sign, said, {}, loosely=True)


def _pieces(desk: Desk, asked: Question, said: str) -> list[Typed]:
    """The records of a line that tells several things, each of them plain by itself: as an answer to what is asked, or else as it stands."""
    reader, pieces = desk.session.reader, pieces_of(said)
    if len(pieces) < 2 or desk.is_command(said) or exactly(desk.session, said) is not None:
        return []
    own = [Typed({"sign": asked.sign, "value": value}) if (value := reader.value_of(asked.sign, p)) else None for p in pieces]
    each = [o or _of_the_same_thing(desk, asked, p) or exactly(desk.session, p) for o, p in zip(own, pieces, strict=True)]
    told = [t for t in each if t is not None]
    own_values = {t.record["value"] for t in told if t.record.get("sign") == asked.sign}
    return told if None not in each and len(own_values) < 2 else []  # "no, dizzy" is both


def _of_the_same_thing(desk: Desk, asked: Question, said: str) -> Typed | None:
    """What was typed as a value of another sign of the thing that is asked about, as in "hums" where it is asked whether the blower starts."""
    reader = desk.session.reader
    texts = {sign: [said, *reader.in_other_words("sign", sign, said)] for sign in asked.or_of}
    meant = [(s, value) for s in texts if (value := next(filter(None, (reader.value_of(s, t) for t in texts[s])), "")) in asked.answered_by.get(s, ())]
    return Typed({"sign": meant[0][0], "value": meant[0][1]}) if len(meant) == 1 else None


def _key_of(desk: Desk, said: str, asked: Question) -> str:
    """What was typed; a yes or a no as the key for it, though more is said beside it. Of a yes that may be several values it is asked which."""
    word = plain(said)
    first, _, more = word.partition(" ")
    if "n" in asked.keys and (word in SAYS_NO or (first in PLAIN_NO and _leaves_it_a_no(desk, asked, said, more))):
        return "n"
    safety = asked.group == "safety" and DENIALS.isdisjoint(more.split())  # there a yes stands whatever follows it
    if first not in SAYS_YES or said.lower() in asked.keys or not (safety or not more) or (more and exactly(desk.session, said) is not None):
        return said
    return "y" if "y" in asked.keys else _which_yes(desk, asked, more) if asked.yes_is else said


def _leaves_it_a_no(desk: Desk, asked: Question, said: str, more: str) -> bool:
    """Whether what follows a no only comforts or says no again, or is what was asked after: "no gas", where it is asked for its smell; not "no, gas"."""
    if {*more.split()} <= {*asked.sign.split("_")}:
        return said.replace(" ", "").isalpha()
    return more in SAYS_NO or made_of(more, desk.session.vocabulary.words.beside_no)


def _may_be_either(desk: Desk, asked: Question, said: str) -> bool:
    """Whether a line is a no, and then what was asked after by itself: "no, smoke", "no, dizzy"."""
    first, comma, more = said.partition(",")
    reader, signs = desk.session.reader, desk.session.vocabulary.names("sign")
    named = {*plain(more).split()} <= {*asked.sign.split("_")} or asked.sign in signs.meant(more)
    return bool(comma and more.strip()) and plain(first) in PLAIN_NO and (named or reader.value_of(asked.sign, more) not in ("", asked.keys.get("n")))


def _which_yes(desk: Desk, asked: Question, more: str) -> str:
    """The key of the value that a yes meant, by what was said beside it or by asking; that of the worst where nobody says."""
    key_of = {value: key for key, value in asked.keys.items()}
    if told_so := key_of.get(desk.session.reader.value_of(asked.sign, more)):
        return told_so
    of_yes = {key: value for key, value in asked.keys.items() if key != "n"}
    worst = key_of[str(asked.yes_is)]
    told = ", ".join(f"{key} {value.replace('_', ' ')}" for key, value in of_yes.items())
    said = desk.prompt.key(f"Which? {told}: ", asked.keys, f"One of: {told}. Enter: {of_yes[worst].replace('_', ' ')}, the worst.").lower()
    if said in asked.keys:
        return said
    return key_of.get(desk.session.reader.value_of(asked.sign, said), worst)


def before(desk: Desk) -> None:
    """What was replaced already, and what happened before: as many lines as are wanted."""
    desk.prompt.say("Was anything replaced before you came, or did anything happen (storm, new thermostat, ...)?")
    desk.prompt.say("One a line, such as: board no change. Enter when done.")
    while not desk.session.hazards() and (line := desk.prompt.ask("before: ", BEFORE_HELP)) and not _says_none(desk, line):
        if plain(line) in SAYS_YES:  # of the wires, "y" is one
            desk.prompt.say("What was it?")
        else:
            desk.guarded(lambda said=line: _one_before(desk, said))  # type: ignore[misc]
    desk.session.tell(BEGUN, {})


def _says_none(desk: Desk, line: str) -> bool:
    """Whether a line says that nothing was done or happened before, or that nobody knows."""
    return plain(line) in SAYS_NO or desk.session.replies.leaves_open(line) or plain(line) in map(plain, desk.session.vocabulary.words.none_before)


def _one_before(desk: Desk, line: str) -> None:
    if line.split()[0].lower() in OF_USE and desk.commanded(line):
        questions(desk)  # a slip may have cut them short
        return
    if desk.is_command(line) and exactly(desk.session, line) is None:
        desk.prompt.say(f"`{line.split()[0].lower()}` comes after this question; Enter ends it.")
        return
    several = repairs_in(desk.session, line)
    if len(several) > 1 or (several and exactly(desk.session, line) is None):
        for typed in several:
            desk.keep(typed)
        return
    if seen_in(desk.session, line) and desk.kept_in_pieces(line, quiet=True):
        return
    for piece in filter(None, (p.strip() for part in line.split(",") for p in part.split(" and "))):
        read = done_to_one_of(desk.session, piece) or read_line(desk.prompt, piece, before=True)
        told = isinstance(read, Typed) and "event" in read.record  # here a sentence tells of one
        chosen = desk.chosen(replace(read, weakly=False) if told and isinstance(read, Typed) else read)
        if chosen is not None:
            desk.keep(chosen)


def none_of(line: str, keys: str) -> BadInput:
    """What is neither one of *keys* nor anything else."""
    return BadInput([Problem(None, f"{printable(line)} is none of: {keys}.", "Type one of them, or Enter.")])
