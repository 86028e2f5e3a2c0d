"""Sixteen real breakdowns from public pages, each as a report file in `field/`: how do people's own words fare?

A file holds what the person on site told before the cause was known, and nothing that only the cure revealed. A step is
the one that the rules' own words make of the report's (`also_called`), and is left out where the sign is not read there.
`answer` is what a right first answer names, fixed before any of them was run; `seconds` are fair in the first three.

A place in the ranking is no test here, so that the rules are never bent towards sixteen cases. One thing is: a good
board must not be condemned. `python tests/reference/test_field_cases.py` prints how each case came out.
"""

import functools
import sys
from pathlib import Path

import pytest

HERE = Path(__file__).resolve().parent
if __name__ == "__main__":
    sys.path.insert(0, str(HERE.parents[1]))

from furnace_diag.diagnosis.answer import answer  # noqa: E402
from furnace_diag.diagnosis.evidence import Evidence  # noqa: E402
from furnace_diag.diagnosis.report_file import read_report  # noqa: E402
from furnace_diag.furnace.family import Family  # noqa: E402
from furnace_diag.furnace.store import population_for  # noqa: E402
from tests.ours import our_rules  # noqa: E402

CASES = sorted((HERE / "field").glob("*.yaml"))
HOW_MANY = 16
BOARD = "control_board"
CONDEMNED = 0.5  # the board's probability above which a shop would change it, judgement
each_case = pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)


@functools.cache
def rules():
    return our_rules()


@functools.cache
def family_called(name):
    return Family(rules(), name)


@functools.cache
def evidence_of(name):
    return Evidence(family_called(name), population_for(family_called(name)))


@functools.cache
def report_of(path):
    return read_report(path, rules())


@functools.cache
def answer_of(path):
    report = report_of(path)
    return answer(report, evidence_of(report.family))


def part_of(identifier):
    return identifier.partition(":")[0]


def place(given, identifiers):
    """Best place (from 1) among the parts that *identifiers* name, whichever of their failures; None if there are none."""
    named = {part_of(i) for i in identifiers}
    return next((n for n, part in enumerate(given.parts, 1) if part.part in named), None)


def probability(given, identifiers):
    """Probability of *identifiers* together: of all failures of a part, or of the one failure named."""
    return sum(f.probability for p in given.parts for f in p.failures if {p.part, f"{p.part}:{f.failure}"} & set(identifiers))


def test_no_case_is_lost():
    assert len(CASES) == HOW_MANY


@pytest.fixture(autouse=True)
def _own_store(store, monkeypatch):
    """No population but that of the tests."""
    monkeypatch.setenv("FURNACE_DIAG_CACHE", str(store))


@each_case
def test_report_is_read_without_a_problem(path):
    report = report_of(path)
    assert report.complaint
    assert report.records
    guessed = [line for line in report.read_as if not line.endswith("-> nothing of it is weighed")]  # prose of a complaint may be left unread
    assert not guessed, "ids are written here, not words that the program has to guess at"


@each_case
def test_answer_names_what_the_rules_know(path):
    report = report_of(path)
    known = {str(fault) for fault in family_called(report.family).faults}
    known |= {part_of(fault) for fault in known}
    assert set(report.answer) == {"accept", "seconds", "source"}
    assert report.answer["accept"]
    assert {*report.answer["accept"], *report.answer["seconds"]} <= known
    assert report.answer["source"].startswith("http")


@each_case
def test_probabilities_are_whole(path):
    given = answer_of(path)
    assert sum(p.probability for p in given.parts) + given.something_else == pytest.approx(1, abs=1e-6)


@each_case
def test_good_board_is_not_condemned(path):
    if BOARD in map(part_of, report_of(path).answer["accept"]):
        pytest.skip("this board had failed")
    assert probability(answer_of(path), [BOARD]) <= CONDEMNED


def table():
    """One line a case, and the counts."""
    lines = [f"{'case':<46}{'place':>6}{'second':>7}{'part':>7}{'failure':>8}{'board':>7}{'else':>6}  first in the answer"]
    places = []
    for path in CASES:
        given, wanted = answer_of(path), report_of(path).answer
        first, second = place(given, wanted["accept"]), place(given, wanted["seconds"])
        places.append(first)
        parts = sorted({part_of(i) for i in wanted["accept"]})
        figures = f"{probability(given, parts):>7.3f}{probability(given, wanted['accept']):>8.3f}"
        figures += f"{probability(given, [BOARD]):>7.3f}{given.something_else:>6.3f}"
        top = given.parts[0]
        lines.append(f"{path.stem:<46}{first or '-':>6}{second or '-':>7}{figures}  {top.part}:{top.failures[0].failure} {top.probability:.3f}")
    in_three = sum(p is not None and p <= 3 for p in places)
    lines.append(f"accepted first: {places.count(1)} of {len(CASES)}; in the first three: {in_three}")
    return lines


if __name__ == "__main__":
    print("\n".join(table()))
