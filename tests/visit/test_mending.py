"""A repair at the prompt: page by page where somebody is there, whole on a pipe, and what belongs before the change asked for before it."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from pathlib import Path

import pytest

from furnace_diag.cli.visit_desk import Desk
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.knowledge.repair_checks import repair_problems
from furnace_diag.knowledge.repair_models import Repair
from furnace_diag.knowledge.repairs import cautions_of, checks_after, read_before
from furnace_diag.report.visit_screen import repair_lines, repair_pages
from furnace_diag.visit.session import Session
from tests.ours import our_rules
from tests.visit.playing import PROOF, START, Play, desk
from tests.visit.playing import REPAIR as BOARD_REPAIR

KNOWLEDGE = our_rules()
REPAIR = KNOWLEDGE.repair[BOARD_REPAIR]
SMALL, MOST = 40, 40  # columns of the smallest terminal, lines of the smallest screen


def flat(lines: Iterable[str]) -> str:
    return " ".join(" ".join(lines).split())


@pytest.mark.parametrize("name", sorted(KNOWLEDGE.repair))
def test_no_page_of_a_repair_is_longer_than_a_small_screen_and_none_of_its_words_is_lost(name: str) -> None:
    repair = KNOWLEDGE.repair[name]
    pages = repair_pages(repair, KNOWLEDGE, SMALL)
    assert all(len(page.lines) + 2 <= MOST for page in pages)  # and the line where it goes on
    assert all(len(line) <= SMALL for page in pages for line in page.lines)
    paged, whole = flat(line for page in pages for line in page.lines), flat(repair_lines(repair, KNOWLEDGE, SMALL))
    cautions = {c for step in repair.steps for c in step.cautions} | set(cautions_of(KNOWLEDGE, repair))
    for text in (repair.says, *(step.do for step in repair.steps), *(KNOWLEDGE.caution[c].says.rstrip(".") for c in cautions)):
        assert " ".join(text.split()) in paged
        assert " ".join(text.split()) in whole
    for step, page in zip(repair.steps, [p for p in pages if p.step], strict=True):
        assert all(flat([KNOWLEDGE.caution[c].says.partition(". ")[0].rstrip(".")]) in flat(page.lines) for c in step.cautions)  # at hand where it is done


class Mender:
    """Mends a board proved bad, answering each check as its example does but for *otherwise*; notes what was shown and asked, in order."""

    first_key = 0.0

    def __init__(
        self, session: Session, *, by_steps: bool, keys: tuple[str, ...] = (), otherwise: dict[str, str] | None = None, lines: tuple[str, ...] = ("mend board",)
    ) -> None:
        self.session, self.by_steps, self.otherwise = session, by_steps, otherwise or {}
        self.keys, self.lines = iter(keys), iter(lines)
        self.told: list[str] = []
        self.desk = Desk(session, self, lambda: SMALL)
        self.desk.prompt.lines = lambda lines: self.told.extend(lines)  # type: ignore[method-assign]
        self.desk.run()

    def ask(self, prompt: str) -> str | None:
        if prompt == "> ":
            return next(self.lines, None)
        if prompt.startswith("y when"):
            self.told.append("y")
            return "y"
        need = next(n for n in self.session.before(REPAIR).needs if not n.met_by and not n.denied_by)
        self.told.append(need.condition)
        return self.otherwise.get(need.condition, str(KNOWLEDGE.check[need.condition].holds[0]["value"]))

    def ask_key(self, prompt: str, keys: object) -> str | None:
        return next(self.keys, "") if prompt.startswith("Enter next") else ""


@pytest.fixture
def board(tmp_path: Path, evidence: Evidence) -> Iterator[Session]:
    play = Play(tmp_path / "board.jsonl", evidence)
    play.begin()
    play.prove()
    yield play.session
    play.journal.close()


STEPS = [f"Step {n} of {len(REPAIR.steps)}" for n in range(1, len(REPAIR.steps) + 1)]


def test_what_belongs_before_the_change_is_asked_before_it_at_the_step_that_shows_it(board: Session) -> None:
    told = [t for t in Mender(board, by_steps=True).told if t in (*STEPS, *REPAIR.before, "y")]
    expected = [c for c in REPAIR.before if not any(c in step.shown_by for step in REPAIR.steps)]
    for title, step in zip(STEPS, REPAIR.steps, strict=True):
        expected += [title, *step.shown_by]
    assert told == [*expected, "y"]
    assert [r.repair for r in board.visit.repairs] == [REPAIR.repair]


def test_leads_are_labelled_and_the_power_proved_dead_before_a_lead_of_the_board_comes_off(board: Session) -> None:
    """Common practice, no source. What follows the repair cannot show it any more."""
    told = Mender(board, by_steps=True).told
    off = next(n for n, step in enumerate(REPAIR.steps) if "take the old board off" in step.do)
    for check in ("power_is_dead", "leads_are_labelled", "old_board_is_recorded"):
        assert told.index(check) < told.index(STEPS[off])
        assert check not in {c.check for c in checks_after(KNOWLEDGE, REPAIR)}


@pytest.mark.parametrize("by_steps", [True, False])
@pytest.mark.parametrize("check", REPAIR.before)
def test_no_board_is_changed_while_something_before_it_is_not_so(board: Session, check: str, by_steps: bool) -> None:
    wrong = next(str(r["value"]) for r in KNOWLEDGE.check[check].near_miss)
    mender = Mender(board, by_steps=by_steps, otherwise={check: wrong})
    assert "y" not in mender.told
    assert board.visit.repairs == []


def test_on_a_pipe_the_repair_comes_whole(board: Session) -> None:
    told = Mender(board, by_steps=False).told
    numbers = [t for t in told if re.match(r"[ \d]\d\. [A-Z]", t)]
    assert len(numbers) == len(REPAIR.steps)
    assert [t for t in told if t in REPAIR.before] == list(REPAIR.before)
    assert max(map(told.index, numbers)) < min(map(told.index, REPAIR.before))


def test_back_and_leave(board: Session) -> None:
    heads = len([p for p in repair_pages(REPAIR, KNOWLEDGE, SMALL) if not p.step])
    mender = Mender(board, by_steps=True, keys=(*[""] * heads, "", "b", "x"))  # the head, the first step, back from the second, then away
    assert [t for t in mender.told if t in STEPS] == [STEPS[0], STEPS[1], STEPS[0]]
    assert board.visit.repairs == []
    assert board.visit.call == KNOWLEDGE.proof[PROOF].calls  # no new call began


LABELLED = next(n for n, step in enumerate(REPAIR.steps) if "leads_are_labelled" in step.shown_by)
LEFT = "Left open. `mend control board` goes on where it was left."


def test_a_repair_that_was_left_is_told_so_once_and_goes_on_at_the_page_where_it_was_left(board: Session) -> None:
    mender = Mender(board, by_steps=True, otherwise={"leads_are_labelled": ""}, lines=("mend board", "mend board"))
    steps = [t for t in mender.told if t in STEPS]
    assert steps == [*STEPS[: LABELLED + 1], STEPS[LABELLED]]
    assert flat(mender.told).count(LEFT) == 2  # once each time
    again = flat(mender.told[len(mender.told) - mender.told[::-1].index(STEPS[LABELLED]) - 1 :])
    assert "First see that the power, the gas and every lead are as the steps before left them" in flat(mender.told)
    assert STEPS[0] not in again


def test_a_repair_that_goes_on_asks_again_for_what_was_taken_back_since(board: Session) -> None:
    mender = Mender(board, by_steps=True, otherwise={"leads_are_labelled": ""}, lines=("mend board", "undo", "mend board"))
    assert board.visit.repairs == []
    last = [t for t in mender.told if t in (*STEPS, *REPAIR.before)][-3:]
    shown_last = next(c for step in reversed(REPAIR.steps[:LABELLED]) for c in step.shown_by)
    assert last == [shown_last, STEPS[LABELLED], "leads_are_labelled"]


def test_mend_within_a_repair_begins_none(board: Session) -> None:
    heads = len([p for p in repair_pages(REPAIR, KNOWLEDGE, SMALL) if not p.step])
    mender = Mender(board, by_steps=True, keys=(*[""] * heads, "mend", "mend control board", "x"))
    assert [t for t in mender.told if t in STEPS] == STEPS[:1]
    assert flat(mender.told).count("A repair is on the screen already") == 2
    assert flat(mender.told).count("Left open.") == 1


AGAINST = [
    ("blower_capacitor", {"sign": "capacitor_against_mark", "value": "within"}, {"sign": "capacitor_against_mark", "value": "outside"}),
    ("filter", {"sign": "filter_looks", "value": "clean"}, {"sign": "filter_looks", "value": "clogged"}),
]


@pytest.fixture
def begun(tmp_path: Path, evidence: Evidence) -> Iterator[Play]:
    play = Play(tmp_path / "begun.jsonl", evidence)
    play.begin()
    yield play
    play.journal.close()


@pytest.mark.parametrize(("part", "against", "for_it"), AGAINST)
@pytest.mark.parametrize("key", ["", "x", "y"])
def test_what_speaks_against_a_repair_is_named_and_asked_about_before_its_steps(
    begun: Play, capsys: pytest.CaptureFixture[str], part: str, against: dict[str, str], for_it: dict[str, str], key: str
) -> None:
    """What the rules say goes with hardly any furnace that has the failure: a capacitor within its mark, a clean filter."""
    begun.take(against)
    desk(begun.session, [f"mend {part.replace('_', ' ')}", key, ""])
    said = flat(capsys.readouterr().out.splitlines())
    told = f"Against it stands: {against['sign'].replace('_', ' ')}: {against['value']}"
    assert told in said
    steps = [r.says for r in KNOWLEDGE.repair.values() if part in r.of]
    assert any(" ".join(s.split()) in said.partition(told)[2] for s in steps) == (key == "y")
    assert begun.session.visit.repairs == []

    begun.take(for_it, instead_of=begun.session.visit.entries[-1].number)
    desk(begun.session, [f"mend {part.replace('_', ' ')}", ""])
    assert "Against it stands" not in capsys.readouterr().out


def test_a_reading_typed_where_it_is_asked_about_is_kept_and_the_repair_left(begun: Play) -> None:
    begun.take({"sign": "capacitor_against_mark", "value": "within"})
    desk(begun.session, ["mend capacitor", "capacitor looks bulged", "quit"])
    assert begun.session.record(begun.session.visit.entries[-1]).name == "capacitor_looks"
    assert begun.session.visit.repairs == []


def test_a_step_is_shown_only_by_what_is_proved_before_the_change() -> None:
    wrong = REPAIR.model_copy(update={"before": tuple(c for c in REPAIR.before if c != "leads_are_labelled")})
    rules = KNOWLEDGE.model_copy(update={"repair": {**KNOWLEDGE.repair, REPAIR.repair: wrong}})
    assert any("leads_are_labelled" in p.message for p in repair_problems(rules))
    assert list(repair_problems(KNOWLEDGE)) == []


@pytest.mark.parametrize("repair", KNOWLEDGE.repair.values(), ids=lambda r: r.repair)
def test_what_confirms_a_repair_is_named_as_it_is_typed_at_the_prompt(repair: Repair) -> None:
    shown = flat(line for page in repair_pages(repair, KNOWLEDGE, SMALL) for line in page.lines if not page.step)
    assert all(name.replace("_", " ") in shown and ("_" not in name or name not in shown) for name in read_before(KNOWLEDGE, repair))


def test_what_refitting_cured_is_not_renewed_without_a_word(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    """Common practice, no source."""
    desk(session, [*START, "flame wire refitted and cured", "mend flame wire"])
    assert "says that refitting cured it. Where it looks whole and grips, it need not be renewed." in " ".join(capsys.readouterr().out.split())


def test_what_a_new_part_reads_is_kept_once_its_repair_is_told(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    """Of the part that was there it tells nothing: before the repair it would speak for a capacitor that was weak. Common practice, no source."""
    desk(session, [*START, "cap 2 mfd rated 5"])
    before = len(session.visit.entries)
    desk(session, ["new cap 5.0", "the new cap 5.1 mfd", "new igniter 60 ohms"])
    assert len(session.visit.entries) == before
    said = " ".join(capsys.readouterr().out.split())
    assert said.count("`mend blower capacitor` tells that it was changed") == 2
    assert "`mend igniter` tells that it was changed" in said
    desk(session, ["mend capacitor", "y", "new cap 5.0"])
    record = session.record(session.visit.entries[-1])
    assert (record.name, record.number) == ("capacitor_microfarads", 5.0)
    before = len(session.visit.entries)
    desk(session, ["new igniter 60 ohms"])  # another part, and no repair of it was told
    assert len(session.visit.entries) == before
