"""The report of a visit as its readers get it: text, page and JSON, from good journals, changed ones and hostile ones."""

from __future__ import annotations

import json
import re
import unicodedata
from html.parser import HTMLParser
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from furnace_diag.cli.main import main
from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.furnace.family import Fault
from furnace_diag.problems import printable
from tests.visit.playing import COMPLAINT, NOTE, Play, whole_visit

CASE = next(iter(sorted((Path(__file__).resolve().parents[2] / "cases").glob("*.yaml"))))
HOSTILE = (
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "' onmouseover='alert(1)",
    "</style></title><iframe src=javascript:alert(1)>",
    "\x1b[31mred\x1b]0;title\x07",
    "\u202eright to left\u2066",
    "=HYPERLINK(1)",
    "&lt;b&gt; &amp;",
    "nul \0 and \x9b1m",
)


pytestmark = pytest.mark.usefixtures("population")


@pytest.fixture(autouse=True)
def _own_store(store: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("FURNACE_DIAG_CACHE", str(store))


@pytest.fixture(scope="module")
def journal(evidence: Evidence, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return whole_visit(tmp_path_factory.mktemp("visit") / "whole.jsonl", evidence)


@pytest.fixture(scope="module")
def hostile(evidence: Evidence, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A visit whose every free text is hostile, as a stranger's file may be."""
    play = Play(tmp_path_factory.mktemp("visit") / "hostile.jsonl", evidence)
    play.tell("complaint", text=HOSTILE[0])
    for text in HOSTILE:
        play.tell("note", text=text)
    for number, text in enumerate(HOSTILE, 1):
        play.take({"sign": "inducer_runs", "value": "yes", "call": str(number), "note": text})
    play.tell("repair", part=HOSTILE[1], failure=HOSTILE[2], repair=HOSTILE[3])
    play.close(HOSTILE[1], HOSTILE[0])
    return play.journal.path


def run(*args: object, columns: int = 80) -> Result:
    return CliRunner(env={"COLUMNS": str(columns)}).invoke(main, [str(a) for a in args])


class Page(HTMLParser):
    """Tags, attributes and text of a page."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str | None]] = []
        self.texts: list[str] = []
        self.open: list[str] = []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += attrs
        if tag != "meta":
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        if tag in self.open:
            assert self.open.pop() == tag, "tags are not nested"

    def handle_data(self, data: str) -> None:
        if not {"style", "title"} & set(self.open):
            self.texts.append(data)

    @property
    def text(self) -> str:
        return " ".join("".join(self.texts).split())


# --- one visit, three forms ---------------------------------------------------------------------


def test_last_hash_is_the_one_that_verify_prints(journal: Path) -> None:
    found = re.search(r"Last hash: ([0-9a-f]{64})", run("visit", "verify", journal).output)
    assert found
    texts = [run("report", journal, columns=100).output, run("report", journal, "--html").output]

    assert all(found[1] in text for text in texts)
    assert re.search(r"[0-9a-f]{20}", run("report", journal, "--customer", columns=40).output) is None  # broken over lines it is of no use to anybody
    assert json.loads(run("report", journal, "--json").output)["last_hash"] == found[1]


def test_final_belief_and_board_are_those_of_rank(journal: Path) -> None:
    ranked = json.loads(run("rank", journal, "--json").output)
    told = json.loads(run("report", journal, "--json").output)

    assert {p["part"]: p["probability"] for p in told["parts"]} == pytest.approx({p["part"]: p["probability"] for p in ranked["parts"]})
    assert told["something_else"] == pytest.approx(ranked["something_else"])
    assert told["board"]["verdict"] == ranked["board"]["verdict"]


def test_whatif_reads_a_visit_too(journal: Path) -> None:
    result = run("whatif", journal, "igniter ohms: OL", "--json")
    ranked = json.loads(run("rank", journal, "--json").output)

    assert result.exit_code == 0
    assert json.loads(result.output)["now"]["parts"] == ranked["parts"]


@pytest.mark.parametrize("columns", [40, 100])
@pytest.mark.parametrize("form", [(), ("--customer",)])
def test_text_fits_its_width_in_plain_characters(journal: Path, columns: int, form: tuple[str, ...]) -> None:
    output = run("report", journal, *form, columns=columns).output

    assert max(map(len, output.splitlines())) <= columns
    assert output.isascii()
    assert COMPLAINT in " ".join(output.split())


def test_every_record_and_note_is_in_the_page_and_in_the_text(journal: Path) -> None:
    told = json.loads(run("report", journal, "--json").output)
    text, page = run("report", journal).output, Page(run("report", journal, "--html").output)
    entries = [r["entry"] for key in ("records", "before") for r in told[key]] + [r["entry"] for x in told["repairs"] for r in x["records"]]

    for entry in entries:
        assert len(re.findall(rf"^ *{entry}\. ", text, re.MULTILINE)) == 1
        assert page.texts.count(next(t for t in page.texts if t.startswith(f"{entry}. "))) == 1
    assert NOTE in page.text
    assert NOTE in " ".join(text.split())


def test_page_stands_by_itself_and_draws_every_range(journal: Path) -> None:
    output = run("report", journal, "--html").output
    page, told = Page(output), json.loads(run("report", journal, "--json").output)
    records = [*told["records"], *(r for x in told["repairs"] for r in x["records"])]

    assert not {"script", "link", "img", "iframe", "object", "embed", "base"} & set(page.tags)
    assert not {"src", "href", "style"} & {name for name, _ in page.attributes}
    assert "url(" not in output
    assert "@import" not in output
    assert sum(name == "class" and value == "range" for name, value in page.attributes) == sum(bool(r["expected"] or r["healthy"]) for r in records)
    assert sum(name == "class" and value == "belief" for name, value in page.attributes) == 1
    assert page.open == []


def test_a_reading_below_its_range_stands_left_of_the_band_and_says_so_in_words(journal: Path) -> None:
    output = run("report", journal, "--html").output
    low = next(piece for piece in output.split("<li>") if "expected 105 to 126" in piece and "BELOW" in piece)
    pointer, band = re.search(r'<path d="M([\d.]+)', low), re.search(r'<rect x="([\d.]+)"', low)

    assert pointer
    assert band
    assert float(pointer[1]) < float(band[1])


# --- customer ---------------------------------------------------------------------------------


def test_customer_is_told_in_plain_words(journal: Path) -> None:
    for form in ((), ("--html",)):
        output = run("report", journal, "--customer", *form).output
        words = Page(output).text if form else " ".join(output.split())

        assert "circuit board that runs the furnace" in words
        assert "It is not proved" not in words
        assert "carbon monoxide alarm" in words
        assert "%" not in words
        assert not re.search(r"\b[a-z]+_[a-z]+", words)  # no ids of the rules


def test_customer_is_told_that_nothing_is_proved(evidence: Evidence, tmp_path: Path) -> None:
    play = Play(tmp_path / "open.jsonl", evidence)
    play.begin()
    play.journal.close()
    words = " ".join(run("report", play.journal.path, "--customer").output.split())

    assert "The cause is not proved." in words
    assert "Nothing was repaired" in words
    assert "not proved that the furnace is mended" in words
    assert "prove that this had failed" not in words


def test_customer_is_told_of_a_new_fuse_where_the_repair_fits_one_and_of_none_where_it_does_not(evidence: Evidence, tmp_path: Path) -> None:
    for name, repair in evidence.knowledge.repair.items():
        fits = "fit the fuse" in repair.says
        assert ("fuse" in (repair.to_customer or "")) == fits, name
        if name in ("mend_the_outdoor_circuit", "replace_the_igniter"):
            play = Play(tmp_path / f"{name}.jsonl", evidence)
            play.begin()
            play.mend(name, Fault(*(("outdoor_circuit", "shorted") if fits else ("igniter", "open"))))
            play.journal.close()
            words = " ".join(run("report", play.journal.path, "--customer").output.split())
            assert ("A new fuse of the right size was fitted too." in words) == fits


def test_customer_is_told_of_a_danger_before_anything_else(evidence: Evidence, tmp_path: Path) -> None:
    play = Play(tmp_path / "danger.jsonl", evidence)
    play.begin(harm="smell_of_gas")
    play.journal.close()
    output = " ".join(run("report", play.journal.path, "--customer").output.split())

    assert 0 < output.index("DANGER") < output.index("WHAT WAS WRONG")
    assert evidence.knowledge.hazard["gas_in_the_air"].call in output


# --- strangers' files -------------------------------------------------------------------------


@pytest.mark.parametrize("form", [(), ("--customer",)])
def test_hostile_text_is_inert_in_a_page(hostile: Path, form: tuple[str, ...]) -> None:
    result = run("report", hostile, "--html", *form)
    page = Page(result.output)

    assert result.exit_code == 0
    assert not {"script", "img", "iframe"} & set(page.tags)
    assert [name for name, _ in page.attributes if name.startswith("on") or name in ("src", "href")] == []
    assert page.open == []
    for text in HOSTILE if not form else HOSTILE[:1]:
        assert " ".join(printable(text, 2000).split()) in page.text


def test_hostile_text_is_inert_on_a_terminal(hostile: Path) -> None:
    for form in ((), ("--customer",), ("--html",)):
        output = run("report", hostile, *form).output

        assert {c for c in output if unicodedata.category(c) in ("Cc", "Cf", "Zl", "Zp")} <= {"\n"}


def test_hostile_text_comes_back_from_json_as_it_was(hostile: Path) -> None:
    output = run("report", hostile, "--json").output

    assert output.isascii()
    assert "\x1b" not in output
    assert [text for _, text in json.loads(output)["notes"]] == list(HOSTILE)


def test_changed_journal_is_refused_with_its_line(journal: Path, tmp_path: Path) -> None:
    lines = journal.read_bytes().splitlines(keepends=True)
    changed = tmp_path / "changed.jsonl"
    changed.write_bytes(b"".join([*lines[:5], lines[5].replace(b"no", b"on", 1), *lines[6:]]))
    for command in (("report", changed), ("rank", changed), ("whatif", changed, "igniter ohms: OL")):
        result = run(*command)

        assert result.exit_code == 2
        assert f"{changed}:7:1" in result.output  # the line after it holds its hash
        assert "Traceback" not in result.output


def test_half_written_last_line_is_left_out_and_told(journal: Path, tmp_path: Path) -> None:
    cut = tmp_path / "cut.jsonl"
    cut.write_bytes(journal.read_bytes() + b'{"n":999,"at":"20')
    result = run("report", cut)

    assert result.exit_code == 0
    assert "only half written is left out" in " ".join(result.output.split())


@pytest.mark.parametrize("content", [b"", b"complaint: no heat\n", b"\xff\xfe\0", b'{"event":"opened"}\n', b"[" * 5000])
def test_what_is_no_visit_is_refused_in_plain_words(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "x.jsonl"
    path.write_bytes(content)
    result = run("report", path)

    assert result.exit_code == 2
    assert "furnace-diag visit" in result.output
    assert "Traceback" not in result.output


def test_reports_of_records_are_still_ranked_and_no_visits() -> None:
    assert run("rank", CASE).exit_code == 0
    assert run("report", CASE).exit_code == 2


def test_output_goes_to_a_file_but_never_over_a_visit(journal: Path, tmp_path: Path) -> None:
    out, before = tmp_path / "page.html", journal.read_bytes()
    for _ in range(2):
        assert run("report", journal, "--html", "-o", out).exit_code == 0
    refused = run("report", journal, "--html", "-o", journal)

    assert Page(out.read_text(encoding="utf-8")).open == []
    assert refused.exit_code == 2
    assert "is not written over" in " ".join(refused.output.split())
    assert journal.read_bytes() == before


@pytest.mark.parametrize(
    ("text", "says", "command"),
    [
        ("complaint: x\nrecords:\n- {sign: inducer_runs, value: yes}\n", "This is a report", "furnace-diag rank"),
        ("# of Monday\ncomplaint: no heat\n", "This is a report", "furnace-diag rank"),
        ("{complaint: no heat, records: [{sign: inducer_runs, value: yes}]}\n", "This is a report", "furnace-diag rank"),
        ('{"records": []}', "This is a report", "furnace-diag rank"),
        ("records: []\nhidden: {faults: [{fault: igniter:open}]}\n", "This is a lesson", "furnace-diag scenario check"),
    ],
)
def test_another_kind_of_file_is_told_once_with_its_command(tmp_path: Path, text: str, says: str, command: str) -> None:
    path = tmp_path / "file"
    path.write_text(text, encoding="utf-8")
    result = CliRunner().invoke(main, ["report", str(path)])

    assert result.exit_code == 2
    assert len(result.output.splitlines()) == 1
    assert says in result.output
    assert command in result.output
