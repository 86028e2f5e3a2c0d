"""What a line typed at the prompt of a visit is tried as by itself: a record as it stands, with slips mended, several in one, or a name alone."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterable, Sequence
from contextlib import suppress
from dataclasses import replace
from typing import TypeVar

from furnace_diag.claims.was_done import tells_of_doing
from furnace_diag.cli.common import SAYS_NO, SAYS_YES
from furnace_diag.cli.visit_asked import checks_open, proof_wants
from furnace_diag.cli.visit_prompt import Prompt
from furnace_diag.diagnosis.hearsay import unheard
from furnace_diag.knowledge.models import Point
from furnace_diag.knowledge.spelling import DENIALS, plain
from furnace_diag.problems import BadInput, Problem, printable
from furnace_diag.visit.answers import BESIDE
from furnace_diag.visit.complaint import FIGURE, in_then_out, pieces_by_denials, pieces_of, sides_of, told_in, ways_to_part
from furnace_diag.visit.marked import or_with_mark, with_mark
from furnace_diag.visit.sense import doubt_about
from furnace_diag.visit.session import Session
from furnace_diag.visit.times import without_when
from furnace_diag.visit.typed import Typed, Unclear, named_in, one_of
from furnace_diag.visit.ways import PLACED

Said = TypeVar("Said", bound=Typed | Unclear)
WHILE = frozenset(["when", "while", "with", "w", "w/", "as", "once"])  # before how another thing stood


def read_line(prompt: Prompt, line: str, *, before: bool = False) -> Typed | Unclear:
    """What a line says; with slips of the keys mended where it says nothing as it stands, and told so. Raises BadInput.

    *before*: what happened before the visit is asked for.
    """
    reader = prompt.session.reader
    try:
        return reader.read(line) if before else as_it_stands(prompt.session, line)
    except BadInput:
        for meant in reader.forgiven(line):
            with suppress(BadInput):
                typed = reader.read(meant)
                prompt.say_read_as(meant)
                return replace(typed, mended=True) if isinstance(typed, Typed) else typed
        for meant in without_when(line, prompt.session.evidence.words.repair_said.by_whom):
            with suppress(BadInput):
                typed = reader.read(meant)
                if isinstance(typed, Typed) and "history" in typed.record:  # what was seen last week is nothing that is seen now
                    prompt.say_read_as(meant)
                    return typed
            if len(told := prompt.session.vocabulary.repairs_in(meant)) == 1 and not unheard(meant, pieces_of(meant), prompt.session.vocabulary):
                prompt.say_read_as(meant)
                return Typed({"history": told[0].part, "value": told[0].value})
        raise


def as_it_stands(session: Session, line: str) -> Typed | Unclear:
    """The same without mending anything; what may be an earlier repair or a check of this visit is either, the one that a proof wants first."""
    try:
        typed = session.reader.read(line)
    except BadInput:
        if (other := _fitted_new(session, line) or _of_the_last_thing(session, line) or or_with_mark(line, session.reader)) is None:
            raise
        return other
    if isinstance(typed, Typed) and typed.guessed and typed.weakly and _no_furnace_gives(session, typed):
        what = f"{printable(line)} could be of several things, and of {named_in(typed)[1].replace('_', ' ')} it makes no sense."
        raise BadInput([Problem(None, f"{what} Nothing is kept of it.", "Type the name of what was read in full; find WORD searches.")])
    now = session.reader.or_seen_now(line) if isinstance(typed, Typed) and "history" in typed.record else None
    if now is None or not isinstance(typed, Typed):
        return typed
    return one_of(now, typed) if proof_wants(session, str(now.record["sign"])) else one_of(typed, now)


def _no_furnace_gives(session: Session, typed: Typed) -> bool:
    """Whether a record of which the name is only guessed is a figure that no furnace gives there: then it is of another circuit."""
    return "point" in typed.record and bool(doubt_about(session.record_typed(typed.record), typed.record, session.evidence))


def _fitted_new(session: Session, line: str) -> Typed | None:
    """The new part of a line that tells that it was fitted, its size left out: "fitted new 10uf cap"; None of any other."""
    part = session.replies.fitted(line)
    with suppress(BadInput):
        typed = session.reader.read(f"new {part}") if part else None
        if isinstance(typed, Typed) and "history" in typed.record and not typed.guessed:
            return typed
    return None


def _of_the_last_thing(session: Session, line: str) -> Typed | None:
    """What is read across "it", which is what was last told of: "ps closed", and then "24 across it". Asked about; None of any other line."""
    last = session.visit.entries[-1].record if session.visit.entries else {}
    words = str(last.get("sign", last.get("point", ""))).split("_") if session.replies.across_it(line) else []
    for end in range(len(words), 0, -1):
        with suppress(BadInput):
            typed = session.reader.read(f"{' '.join(words[:end])} {line}")
            if isinstance(typed, Typed) and "point" in typed.record:
                return replace(typed, guessed=named_in(typed)[1], weakly=True)
    return None


def exactly(session: Session, line: str) -> Typed | None:
    """The one record that a line says as it stands, its name in full; None where it says none, or might say another."""
    try:
        typed = as_it_stands(session, line)
    except BadInput:
        return None
    return typed if isinstance(typed, Typed) and not (typed.guessed or typed.weakly) else None


def as_read_now(session: Session, line: str) -> str:
    """A line without the "now" behind what a meter shows, "chassis to earth 0 now"; any other as it is."""
    bare = session.replies.without_now(line)
    typed = exactly(session, bare) if bare != line else None
    return bare if typed is not None and "point" in typed.record else line


def read_of_new(session: Session, line: str) -> tuple[str, Typed] | None:
    """The part of which a line says that it is new and what a meter shows of it, with that reading; None of any other line. Of the one that was there
    before it tells nothing."""
    bare = session.replies.without_new(line)
    typed = exactly(session, bare) if bare != line else None
    if typed is None or "point" not in typed.record:
        return None
    words, names = bare.split(), session.vocabulary.names("history")
    parts = (meant[0] for end in range(len(words) - 1, 0, -1) if len(meant := names.clear(" ".join(words[:end]))) == 1)
    return next(((part, typed) for part in parts), None)


def seen_in(session: Session, line: str) -> bool:
    """Whether a line tells several things plainly, each of them read or seen: "ps 24 in 0 out", where what was done before is asked for."""
    return {named_in(typed)[0] for typed in in_pieces(session, line)} in ({"point"}, {"sign"}, {"point", "sign"})


def done_to_one_of(session: Session, line: str) -> Unclear | None:
    """What was done to one of several parts that a line names by what is short for all of them, "motor replaced no change"; None of any other line."""
    if exactly(session, line) is not None:
        return None
    for name, parts in session.evidence.words.several_parts.items():
        lines = [re.sub(rf"\b{name}\b", part.replace("_", " "), line, count=1, flags=re.IGNORECASE) for part in parts]
        told = [typed for each in lines if each != line and (typed := exactly(session, each)) is not None and "history" in typed.record]
        if len(told) == len(parts):
            return one_of(*told)
    return None


def in_pieces(session: Session, line: str) -> list[Typed]:
    """The records of a line that tells several things, each of them plain by itself, or a reading and its mark; none where it does not. Weakly, where the
    line does not say which is which."""
    if len(repairs := repairs_in(session, line)) > 1:
        return repairs
    for pieces in ways_to_part(line):
        told = [of_thing_before(session, piece, pieces[:at]) or exactly(session, piece) for at, piece in enumerate(pieces)]
        if None not in told and len(told) > 1:
            return [typed for typed in told if typed is not None]
    if told_at := _sides_of_part(session, line) or _at_one_step(session, line) or _sides_with_state(session, line):
        return told_at
    if (parted := _figure_by_figure(line)) != line and len(several := in_pieces(session, parted)) > 1:
        return several
    if (typed := _with_state(session, line)) is not None:
        return [typed]
    found = with_mark(line, session.reader, checks_open(session)) or repairs or _of_one_thing(session, line)
    return found or _at_other_places(session, line) or _run_together(session, line) or _in_then_out(session, line)


def piece_by_piece(session: Session, line: str, for_check: Callable[[str], Typed | Unclear | None]) -> tuple[list[Typed | Unclear], list[str]]:
    """What the pieces of a line say, each as a line of its own, and those that say nothing; both empty of a line that has no pieces, or none that
    says anything. A bare figure, yes or no is of nothing. *for_check*: what a piece that is no record says for a check of a repair.

    What stands behind a piece that is not understood and may tell of something done, "lifted stat wires, fuse holds", may have come of that, and is none.
    """
    pieces = pieces_of(line)
    by_denials = len(pieces) == 1
    pieces = pieces_by_denials(line) if by_denials else pieces
    if len(pieces) < 2 or session.reader.no_reading(line):
        return [], []
    read = {piece: _all_said_by(session, piece, pieces[0], for_check) for piece in dict.fromkeys(pieces)}
    done = next((i for i, (piece, each) in enumerate(read.items()) if not each and tells_of_doing(piece, session.evidence.words.claims)), len(read))
    read = {piece: each if i < done else [] for i, (piece, each) in enumerate(read.items())}
    said = [one for each in read.values() for one in each]
    left = [piece for piece, each in read.items() if not each]
    return (said, left) if said and not (left and by_denials) else ([], [])  # "changed no change" is one thing


def _all_said_by(session: Session, piece: str, first: str, for_check: Callable[[str], Typed | Unclear | None]) -> list[Typed | Unclear]:
    """What a piece of a line says: one thing, a value alone that several things have, several things, or what is so of what the *first* piece is of,
    "ps stuck open, 24 in 0 out". The last is weak."""
    if (one := _said_by(session, piece, for_check)) is not None:
        return [one]
    if plain(piece) in SAYS_NO | SAYS_YES:
        return []
    several = in_pieces(session, piece)
    if several or piece == first:
        return [*several]
    denied = bool(DENIALS & {*plain(piece).split()})  # "runs, not now" may deny the first piece itself
    named = [exactly(session, f"{word} {piece}") for word in first.split() if word.isalpha() and not denied]
    of_first = {str(typed.record): typed for typed in named if typed is not None and "sign" in typed.record}
    if len(of_first) == 1:
        return [replace(typed, weakly=True) for typed in of_first.values()]
    names = (" ".join(first.split()[:end]) for end in range(len(first.split()), 0, -1))
    sides = next(filter(None, (in_pieces(session, f"{name} {piece}") for name in names if sides_of(f"{name} {piece}"))), [])
    alone = session.reader.alone(piece) if not sides else None
    return [replace(side, weakly=True) for side in sides] or ([alone] if isinstance(alone, Unclear) else [])


def of_thing_before(session: Session, piece: str, before: Sequence[str]) -> Typed | None:
    """What a piece that only denies tells of a thing that the piece before it names, "no water" behind "hose ok"; None where no name of that takes it, or
    only as another word of the same: "blower hums, no air" tells of the air."""
    if plain(piece).split()[:1] != ["no"] or not before:
        return None
    told = exactly(session, before[-1])
    taken = (exactly(session, f"{word} {piece}") for word in before[-1].split() if word.isalpha())
    others = (typed for typed in taken if typed is not None and "sign" in typed.record)
    return next((typed for typed in others if told is not None and named_in(typed) != named_in(told)), None)


def once_each(said: Iterable[Said]) -> list[Said]:
    """What the pieces of one line say, the same only once: "board burnt, scorch mark on relay" was not looked at twice."""
    each: dict[str, Said] = {}
    for one in said:
        each.setdefault(_seen(one) if isinstance(one, Typed) and "sign" in one.record else str(one), one)
    return list(each.values())


def one_value_each(session: Session, said: Sequence[Typed | Unclear]) -> list[Typed | Unclear]:
    """What the pieces of one line say, those that say two things of one sign as what could be either: "rod clean, looks gray". A danger stays by itself,
    and so does what is only told more closely."""
    told: dict[str, list[Typed]] = {}
    for one in said:
        if isinstance(one, Typed) and "sign" in one.record and one.calls == 1:
            told.setdefault(_asked_of(one), []).append(one)
    either = {id(one): each for each in told.values() if _deny_each_other(session, each) for one in each}
    firsts = {id(each[0]): one_of(*(_not_weak(one) for one in each)) for each in either.values()}
    return [firsts.get(id(one), one) for one in said if id(one) in firsts or id(one) not in either]


def _asked_of(typed: Typed) -> str:
    return str([typed.record.get(field) for field in ("sign", "step", "call")])


def _deny_each_other(session: Session, each: Sequence[Typed]) -> bool:
    """Whether records of one sign have values of which none tells the other more closely, and none a danger."""
    sign = session.knowledge.sign[str(each[0].record["sign"])]
    values = [session.reader.value_of(sign.sign, str(typed.record["value"])) for typed in each]
    if "" in values or len({*values}) < 2 or any(session.vocabulary.complaints.is_danger(sign.sign, value) for value in values):
        return False
    return not any(sign.is_vaguer(one, other) for one in values for other in values)


def _not_weak(typed: Typed) -> Typed:
    return replace(typed, weakly=False)  # it is chosen by its number


def of_the_same_thing(said: Sequence[Typed | Unclear], loads: Collection[str]) -> list[Typed | Unclear]:
    """What the pieces of one line say, one that could be of several things as of the thing right before it: "24 at the gas valve, no click" is of the
    valve, to be asked about."""
    told: list[Typed | Unclear] = []
    for one in said:
        before = told[-1] if told and isinstance(told[-1], Typed) else None
        beside = [c for c in one.choices if _begin_alike(c, before, loads)] if before is not None and isinstance(one, Unclear) else []
        told.append(replace(beside[0], weakly=True) if len(beside) == 1 else one)
    return told


def _begin_alike(one: Typed, other: Typed, loads: Collection[str]) -> bool:
    """Whether two records are of one thing, by the first words of their names, or by the first that is one of *loads*: the gas
    valve's volts and its click."""
    names = [named_in(typed)[1].split("_") for typed in (one, other)]
    return names[0][:2] == names[1][:2] or (names[0][0] == names[1][0] and names[0][0] in loads)


def _seen(typed: Typed) -> str:
    """The sign, value and time of what was seen, however it was typed."""
    return str([typed.record.get(field) for field in ("sign", "value", "step", "call")] + [typed.calls])


def _said_by(session: Session, piece: str, for_check: Callable[[str], Typed | Unclear | None]) -> Typed | Unclear | None:
    if plain(piece) in SAYS_NO | SAYS_YES or not any(c.isalpha() for c in piece):
        return None
    with suppress(BadInput):
        return as_it_stands(session, piece)
    return for_check(piece) if session.after() is not None and len(piece.split()) > 1 else None


def _at_other_places(session: Session, line: str) -> list[Typed]:
    """The readings of a line of which the first names a thing, and each other piece another place of it: "121 on heat pin, 0 at the crimp". None where a
    piece could be of several, or is of the same place."""
    first, *others = pieces_of(line) or [line]
    start = _plainly(session, first) if others else None
    if start is None or "point" not in start.record:
        return []
    told = {str(start.record["point"]): start}
    for piece in others:
        words = [w for w in piece.split() if w.lower() != "the"]
        at = next((i for i, word in enumerate(words) if i and word.lower() in PLACED), 0)
        if not at or not FIGURE.fullmatch(" ".join(words[:at])):
            return []
        named = [_plainly(session, " ".join([*words[: at + 1], word, *words[at + 1 :]])) for word in first.split() if word.isalpha()]
        each = {str(typed.record["point"]): typed for typed in named if typed is not None and "point" in typed.record}
        if len(each) != 1 or told.keys() & each.keys():
            return []
        told |= each
    return [*told.values()]


def _run_together(session: Session, line: str) -> list[Typed]:
    """The two records of a line that tells two things with nothing between, each of them by its name in full and then its value: "breaker on switch on".
    None where it could be parted in two ways that do not tell the same."""
    words = line.split()
    ways: dict[str, list[Typed]] = {}
    for at in range(2, len(words) - 1):
        each = [_by_name(session, " ".join(part)) for part in (words[:at], words[at:])]
        told = [typed for typed in each if typed is not None]
        if len(told) == 2 and named_in(told[0]) != named_in(told[1]):
            ways[str([t.record for t in told])] = told
    return next(iter(ways.values())) if len(ways) == 1 else []


def _in_then_out(session: Session, line: str) -> list[Typed]:
    """The two readings of a line of two figures of a thing, of which nothing says which is on which side: "ps 24 0". To be asked about."""
    told = [exactly(session, side) for side in in_then_out(line)]
    read = [replace(typed, weakly=True) for typed in told if typed is not None and "point" in typed.record]
    return read if len(read) == 2 else []


def _by_name(session: Session, piece: str) -> Typed | None:
    """The record of a piece that begins with the name of a reading or sign, as it stands; None of any other."""
    typed = exactly(session, piece)
    kind, name = named_in(typed) if typed is not None else ("", "")
    return typed if kind in ("point", "sign") and session.reader.begins_with_name(kind, name, piece) else None


def _at_one_step(session: Session, line: str) -> list[Typed]:
    """The readings of a line whose last piece is only a step, which is that of each: "119 at hsi pin, 0 at hsi plug, warmup"; none of any other."""
    *pieces, last = pieces_of(line) or [line]
    at_step = len(pieces) > 1 and len(session.vocabulary.names("step").clear(last)) == 1 and all(c.isalpha() or c in " -" for c in last)
    each = [_plainly(session, f"{piece} at {last}") for piece in pieces] if at_step else []
    read = [typed for typed in each if typed is not None and "point" in typed.record and "step" in typed.record]
    return read if len(read) == len(each) else []


def _figure_by_figure(line: str) -> str:
    """A line of figures each with its place behind it, "119 at hsi pin 0 at hsi plug", with a comma before each but the first; any other as it is."""
    words = line.split()
    starts = [i for i in range(len(words) - 2) if FIGURE.fullmatch(words[i]) and words[i + 1].lower() in ("at", "on", "across")]
    if len(starts) < 2 or starts[0] or any(words[i - 1].endswith(",") for i in starts[1:]):
        return line
    ends = [*starts[1:], len(words)]
    return ", ".join(" ".join(words[start:end]) for start, end in zip(starts, ends, strict=True))


def _with_state(session: Session, line: str) -> Typed | None:
    """The reading of a line that also tells how another thing stood, "draft 0.2 with the inducer running": that is a remark. None of any other."""
    told = BESIDE.fullmatch(line.strip())
    state = exactly(session, told["state"]) if told is not None else None
    typed = exactly(session, told["figure"]) if told is not None and state is not None and "sign" in state.record else None
    if typed is None or told is None or "point" not in typed.record or "note" in typed.record:
        return None
    return replace(typed, record={**typed.record, "note": printable(told["beside"], 100)})


def _sides_of_part(session: Session, line: str) -> list[Typed]:
    """The readings of a line of both sides of a part that are called otherwise, "xfmr 121 in 0 out" of its windings; none of any other."""
    told = []
    for side in sides_of(line):
        part, which, shown = re.split(r" (in|out) ", side, maxsplit=1)
        points = session.vocabulary.words.claims.in_and_out.get(next(iter(session.vocabulary.names("history").clear(part)), ""), ("", ""))
        told.append(exactly(session, f"{points[which == 'out'].replace('_', ' ')} {shown}"))
    read = [typed for typed in told if typed is not None and "point" in typed.record]
    return read if len(read) == len(told) else []


def _sides_with_state(session: Session, line: str) -> list[Typed]:
    """The readings of a line of both sides of a thing behind which it is told how another stands, "ps 24 in 0 out inducer running"; that is a remark behind a
    "when". None of any other."""
    words = line.split()
    for end in range(len(words) - 1, 3, -1):
        sides, beside = sides_of(" ".join(words[:end])), words[end:]
        while_so = beside[0].lower() in WHILE
        state = exactly(session, " ".join(beside[while_so:])) if sides else None
        told = [exactly(session, side) for side in sides]
        read = [typed for typed in told if typed is not None and "point" in typed.record]
        if state is not None and "sign" in state.record and len(read) == 2 and not session.reader.dangers_in(line):
            noted = [replace(typed, record={**typed.record, "note": printable(" ".join(beside), 100)}) for typed in read]
            return noted if while_so else [*read, state]
    return []


def _of_one_thing(session: Session, line: str) -> list[Typed]:
    """The records of a line whose first piece names a thing, and whose others tell more of it without its name: "120 v at inducer plug, hums, shaft wont
    turn". None where a piece could be of several words of the first, or is a bare figure, yes or no."""
    first, *others = pieces_of(line) or [line]
    told = [_plainly(session, first)] if others else []
    for piece in others:
        named = [exactly(session, f"{word} {piece}") for word in first.split() if word.isalpha()] if plain(piece) not in SAYS_YES | SAYS_NO else []
        each = {str(typed.record): typed for typed in named if typed is not None and "sign" in typed.record}
        told.append(exactly(session, piece) or (next(iter(each.values())) if len(each) == 1 else None))
    return [typed for typed in told if typed is not None] if None not in told else []


def _plainly(session: Session, line: str) -> Typed | None:
    """The one record that a line says as it stands, whichever way round; None where it says none, or has to be asked about."""
    with suppress(BadInput):
        typed = as_it_stands(session, line)
        return typed if isinstance(typed, Typed) and not typed.weakly else None
    return None


def repairs_in(session: Session, line: str) -> list[Typed]:
    """The earlier repairs that a line tells, what it tells of the furnace as a complaint would, and nothing else: "other company put in a new switch + board,
    no change", "new board, still no blower on heat". None of a line that tells of no repair."""
    told = session.vocabulary.repairs_in(line)
    if not told or unheard(line, pieces_of(line), session.vocabulary):
        return []
    signs = [t for t in told_in(line, session.reader) if "sign" in t.record and not is_hazard(session, t)]
    return [*(Typed({"history": each.part, "value": each.value}) for each in told), *signs]


def is_hazard(session: Session, typed: Typed) -> bool:
    """Whether a record of a sign tells of a danger, which is asked about by itself."""
    sign = str(typed.record["sign"])
    return session.vocabulary.complaints.is_danger(sign, session.reader.value_of(sign, str(typed.record["value"])))


def name_alone(session: Session, line: str) -> tuple[str, str] | None:
    """Kind and id of the one point or sign that *line* names without a value."""
    named = session.reader.names_only(line)
    exact = [n for n in named if plain(n[1]) == plain(line)] or named
    if len(exact) == 1 and exact[0][1] in session.knowledge.experiment and exact[0][1] not in session.vocabulary.names("sign").clear(line):
        return None  # something is changed for it: that is begun by its name in full
    return exact[0] if len(exact) == 1 else None


def name_with_slips(session: Session, line: str) -> tuple[str, str] | None:
    """The same, with slips of the keys mended where it is none as it stands."""
    return next((n for text in (line, *session.reader.forgiven(line)) if (n := name_alone(session, text))), None)


def says_with_slips(session: Session, line: str) -> bool:
    """Whether *line*, which is no name as it stands, is a record once slips of the keys are mended."""
    if name_alone(session, line) is not None:
        return False
    for meant in session.reader.forgiven(line):
        with suppress(BadInput):
            session.reader.read(meant)
            return True
    return False


def step_told(session: Session, line: str) -> str:
    """What the step is that *line* names, where it is nothing else."""
    meant = session.vocabulary.names("step").meant(line)
    step = next((s for s in session.vocabulary.sequence.steps if meant == [s.step]), None)
    return f"{step.step.replace('_', ' ').capitalize()}: {step.says}." if step is not None else ""


def could_name(session: Session, line: str) -> list[tuple[str, str]]:
    """The points and signs that *line* could be of, each with what it is; none where too little of it names them."""
    with suppress(BadInput):
        said = session.reader.read(line)
        typed = said.choices if isinstance(said, Unclear) else (said,)
        k = session.knowledge
        entries = [k.point.get(str(t.record.get("point"))) or k.sign.get(str(t.record.get("sign"))) for t in typed if not t.weakly]
        return [(e.point if isinstance(e, Point) else e.sign, e.says) for e in entries if e is not None]
    return []
