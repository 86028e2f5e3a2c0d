"""Lines of a letter as shops send them back: the name is never its own value, and a line without an answer holds no record.

What is expected is derived from the rules: of each sign another value than those that its names hold.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import cycle

import pytest

from furnace_diag.claims.raw_claim import RawClaim
from furnace_diag.claims.reading import Files
from furnace_diag.claims.understanding import Reader
from furnace_diag.diagnosis.records import Record
from furnace_diag.diagnosis.vocabulary import Vocabulary
from furnace_diag.knowledge.models import Knowledge
from furnace_diag.knowledge.spelling import plain
from tests.ours import our_rules

Read = Callable[..., tuple[list[RawClaim], Files]]
Told = Callable[[list[str]], list[list[Record]]]
HEAT_CALLS = "in 2 heat calls"


@pytest.fixture
def told(read: Read, reader: Reader) -> Told:
    """The records of each text, a claim for each."""

    def told(texts: list[str]) -> list[list[Record]]:
        rows = "".join(f'K-{i},"{text}"\n' for i, text in enumerate(texts))
        return [list(reader.understood(raw).report.records) for raw in read(f"claim,readings\n{rows}")[0]]

    return told


def parted_names(vocabulary: Vocabulary) -> Iterator[tuple[str, str, str]]:
    """Signs with the two halves of a name of theirs, the second of which is a value word of the sign: flame_seen, "flame", "seen"."""
    for name, sign in vocabulary.knowledge.sign.items():
        for called in map(plain, (name, *sign.also_called)):
            words = called.split()
            for i in range(1, len(words)):
                if len(vocabulary.values(name).meant(" ".join(words[i:]))) == 1:
                    yield name, " ".join(words[:i]), " ".join(words[i:])


def another(vocabulary: Vocabulary, name: str, said: str) -> str:
    """A value of a sign that the words *said* do not mean."""
    return next(v for v in vocabulary.knowledge.sign[name].values if v not in vocabulary.values(name).meant(said))


PARTED = sorted({*parted_names(Vocabulary(our_rules()))})


def test_some_names_hold_a_value_of_their_own() -> None:
    assert ("flame_seen", "flame", "seen") in PARTED
    assert len(PARTED) > 20


def test_no_name_is_taken_for_its_value(told: Told, knowledge: Knowledge) -> None:
    vocabulary = Vocabulary(knowledge)
    texts, wanted = list[str](), list[tuple[str, str]]()
    for name, head, tail in PARTED:
        says, value = knowledge.sign[name].says, another(vocabulary, name, tail)
        step = f", at {knowledge.sign[name].steps[0]}" if knowledge.sign[name].steps else ""
        for line in (
            f"{says} ({name}){step}: {value}",
            f"{says} ({name}): {value}, {HEAT_CALLS}",
            f"{head} ({tail}){step}: {value}",
            f"{head} ({name}): {value}",
        ):
            texts.append(line)
            wanted.append((name, value))
    for text, (name, value), records in zip(texts, wanted, told(texts), strict=True):
        assert [r for r in records if r.name == name and r.word not in (value, None)] == [], text


def test_a_line_that_is_only_quoted_back_holds_no_record(told: Told, knowledge: Knowledge) -> None:
    entries = {**knowledge.point, **knowledge.sign}
    asked = ((", at heating", f"yes, {HEAT_CALLS}"), ("", "no"))
    texts = [f"{e.says} ({name}){how}; wanted: {wanted}" for (name, e), (how, wanted) in zip(entries.items(), cycle(asked), strict=False)]
    texts += [f"{name}{how}; wanted: yes" for name in ("flame_seen", "flame seen", "inducer runs") for how in ("", ", at heating", f", {HEAT_CALLS}")]
    texts += ["no flame, at heating; wanted: yes: no", "flame seen, at heating; wanted: no, in 2 heat calls: yes"]
    texts += [f"{head} ({tail}), at heating" for _, head, tail in PARTED]
    texts += [f"{head} ({name}), {HEAT_CALLS}" for name, head in {name: head for name, head, _ in PARTED}.items()]
    texts += [f"{q.asks} ({q.sign}: {' or '.join(q.keys.values())})" for q in knowledge.question.values()]
    for text, records in zip(texts, told(texts), strict=True):
        assert records == [], text


def test_every_sign_is_read_from_its_letter_with_each_of_its_values(told: Told, knowledge: Knowledge) -> None:
    wanted = [(name, value, f"{sign.says} ({name}): {value}") for name, sign in knowledge.sign.items() for value in sign.values]
    for (name, value, text), records in zip(wanted, told([text for *_, text in wanted]), strict=True):
        assert [(r.name, r.word) for r in records] == [(name, value)], text


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("Whether there is flame at that moment (flame_seen), at heating, 150 s after gas on: no", ("no", "heating", 150.0)),
        ("Whether there is flame at that moment, at heating: no", ("no", "heating", None)),
        ("flame_seen, at heating: no", ("no", "heating", None)),
        ("flame (seen), at heating: no", ("no", "heating", None)),
        ("flame seen, at heating: no", ("no", "heating", None)),
        ("flame_seen, at heating: no; wanted: yes, in 2 heat calls", ("no", "heating", None)),
    ],
)
def test_the_value_stands_behind_the_last_colon(told: Told, text: str, wanted: object) -> None:
    ((record,),) = told([text])

    assert (record.word, record.step, record.after_s) == wanted


@pytest.mark.parametrize(
    "text",
    ["flame seen, at heating: not checked", "flame (flame_seen, at heating): no", "no flame (flame_seen)", "flame flame_seen, at heating", "flame (seen)"],
)
def test_what_is_no_plain_answer_is_left(told: Told, text: str) -> None:
    assert told([text]) == [[]]


def test_a_value_in_brackets_and_a_record_behind_a_step_stay_what_they_are(told: Told) -> None:
    in_brackets, behind_step = told(["igniter (cracked)", "inducer runs, at heating: no flame"])

    assert [r.name for r in in_brackets] == ["igniter_looks"]
    assert ("inducer_runs", "yes") in [(r.name, r.word) for r in behind_step]


def test_each_question_is_answered_in_its_own_words(told: Told, knowledge: Knowledge) -> None:
    asked = [q for q in knowledge.question.values() if "." not in q.asks]
    texts = [(q.sign, value, f"{q.asks} {value}") for q in asked for value in q.keys.values()]
    assert len(texts) > 20
    for (name, value, text), records in zip(texts, told([text for *_, text in texts]), strict=True):
        assert [(r.name, r.word) for r in records] == [(name, value)], text


TAKEN = "at heating, 150 s after gas on, low-impedance meter, on the board's own pin, load connected"


@pytest.mark.parametrize(
    "line", ["{name}, {taken}: 0.2 V", "{name}: 0.2 V {taken}", "{says} ({name}): 0.2 V {taken}", "{says} ({name}), {taken}: 0.2 V", "{says}, {taken}: 0.2"]
)
@pytest.mark.parametrize("calls", ["", f", {HEAT_CALLS}"])
def test_how_it_was_taken_may_stand_on_either_side(line: str, calls: str, told: Told, knowledge: Knowledge) -> None:
    name = "heat_terminal_to_neutral"
    (records,) = told([line.format(name=name, says=knowledge.point[name].says, taken=TAKEN) + calls])
    taken = [(r.name, r.number, r.step, r.after_s, r.meter, r.contact, r.set_up) for r in records]

    assert taken == [(name, 0.2, "heating", 150.0, "low", "pin", ("load_on",))] * (2 if calls else 1)
    assert [r.call for r in records] == [1, 2][: len(records)]


@pytest.mark.parametrize("text", ["inducer runs: no", "flame_seen: no at heating", "no flame"])
def test_both_of_two_heat_calls_hold_what_is_told_of_them(text: str, told: Told) -> None:
    once, twice = told([text, f"{text}, {HEAT_CALLS}"])

    assert [(r.name, r.word, r.step, r.call) for r in twice] == [(r.name, r.word, r.step, call) for r in once for call in (1, 2)]


@pytest.mark.parametrize("text", ["R to C at the board (r_to_c_at_board) 26", "r to c (r_to_c_at_board): 26"])
def test_the_full_name_in_brackets_says_which_is_meant(text: str, told: Told) -> None:
    ((record,),) = told([text])

    assert (record.name, record.number) == ("r_to_c_at_board", 26.0)


@pytest.mark.parametrize(
    ("text", "names"), [("blower runs and R to C (r_to_c_at_board) 26", ["blower_runs", "r_to_c_at_board"]), ("no R to C (r_to_c_at_board) 26", [])]
)
def test_what_stands_before_a_name_in_brackets_is_not_lost_in_it(text: str, names: list[str], told: Told) -> None:
    (records,) = told([text])

    assert [r.name for r in records] == names
