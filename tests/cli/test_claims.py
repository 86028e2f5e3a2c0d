"""The clerk's desk as a user types it: files of every kind, hostile ones among them, and each command."""

from __future__ import annotations

import csv
import json
import re
from html.parser import HTMLParser
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from furnace_diag.cli.main import main
from tests.ours import our_rules

RECORDS = """claim,shop,date,name,value,step,bench_outcome
A1,Oak & Sons,2026-01-05,igniter_ohms,OL,power_off,good
A1,,,igniter_glows,no,igniter_warm_up,
A1,,,igniter_volts_at_plug,119 V,igniter_warm_up,
A2,Elm,2026-02-05,blower_runs,no,cooling_call,bad
"""


@pytest.fixture(autouse=True)
def _own_store(store: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("FURNACE_DIAG_CACHE", str(store))
    monkeypatch.chdir(tmp_path)


def run(*args: str, columns: int = 80) -> Result:
    return CliRunner(env={"COLUMNS": str(columns)}).invoke(main, ["claims", *args])


def judged(content: str | bytes, name: str = "claims.csv", *more: str, columns: int = 80) -> tuple[Result, list[dict[str, object]]]:
    Path(name).write_bytes(content.encode("utf-8", "surrogatepass") if isinstance(content, str) else content)
    result = run("judge", name, "--out", "out", "--workers", "1", "--today", "2026-06-01", *more, columns=columns)
    path = Path("out/results.jsonl")
    return result, [json.loads(line) for line in path.read_text(encoding="ascii").splitlines()] if path.exists() else []


@pytest.mark.parametrize("name", ["template", "judge", "show", "ask", "demo"])
def test_help_has_an_example_and_fits_40_columns(name: str) -> None:
    result = run(name, "--help", columns=40)

    assert result.exit_code == 0
    assert "Example" in result.output


@pytest.mark.parametrize("columns", [40, 100])
def test_a_claim_is_judged_shown_and_asked_for(columns: int) -> None:
    result, results = judged(RECORDS, columns=columns)
    shown, asked = run("show", "a1", "--in", "out", columns=columns), run("ask", "A2", "--in", "out", columns=columns)

    assert [r.exit_code for r in (result, shown, asked)] == [0, 0, 0], result.output
    assert [r["verdict"] for r in results] == ["not_supported", "not_shown"]
    assert "igniter" in shown.output
    assert f"claims.csv:2:{RECORDS.splitlines()[1].index('igniter_ohms') + 1}" in re.sub(r"\s+", "", shown.output)
    assert "Please tell" in asked.output
    assert "Caution" in asked.output  # a heat call is asked for
    assert "700.10(c)" in re.sub(r"\s+", "", shown.output)
    longest = max(len(line) for r in (result, shown, asked) for line in r.stdout.splitlines())
    assert longest <= columns or any(len(w) > columns - 8 for r in (shown, asked) for w in r.stdout.split())


def test_json_tells_what_the_screen_tells() -> None:
    result, results = judged(RECORDS, "claims.csv", "--json")

    assert json.loads(result.stdout)["verdicts"]["not_supported"] == 1
    assert json.loads(run("show", "A1", "--in", "out", "--json").stdout) == results[0]


def test_a_hazard_is_told_first_and_no_reading_is_asked_for() -> None:
    hazard = next(h for h in our_rules().hazard.values() if len(h.holds) == 1)
    _, results = judged(json.dumps({"claim": "A1", "records": list(hazard.holds)}), "claims.jsonl")
    asked = run("ask", "A1", "--in", "out")

    assert results[0]["hazards"]
    assert "First of all" in asked.output
    assert "Please send" not in asked.output


DANGERS = """claim,shop,name,value,step,notes
A1,Oak,igniter_ohms,48 ohm,power_off,all went well
A2,Elm,blower_runs,no,cooling_call,water in the hose and on the board
A3,Elm,water_on_controls,dripped_on,power_off,
"""


def test_claims_with_a_danger_are_marked_in_words_and_stand_first() -> None:
    """On the screen, in the table and on the page; without colour, and without a script that sorts."""
    result, results = judged(DANGERS)
    screen = " ".join(result.output.split())
    page = Path("out/page.html").read_text(encoding="utf-8")
    with Path("out/results.csv").open(encoding="utf-8-sig", newline="") as table:
        marked = {row["claim"]: row["danger"] for row in csv.DictReader(table)}

    assert [r["claim"] for r in results] == ["A1", "A2", "A3"]  # the results themselves stay as in the file
    assert "DANGER in 2 claims" in screen
    assert screen.index("Claim A2") < screen.index("Claim A3") < screen.index("not shown:")
    assert marked["A1"] == ""
    assert "water on the board" in marked["A2"]
    assert "Water has reached" in marked["A3"]
    rows = re.findall(r'<details[^>]*data-claim="(\w+)".*?</details>', page)
    assert rows == ["A2", "A3", "A1"]
    assert re.findall(r'data-claim="(\w+)"[^>]*><summary>(?:(?!</summary>).)*DANGER', page) == ["A2", "A3"]
    assert 'data-by="danger" aria-pressed="true"' in page
    assert page.index("in 2 claims") < page.index("By shop")
    assert "claims.csv:3:1: The text of the claim speaks of this" in Path("out/problems.txt").read_text(encoding="utf-8")
    assert "DANGER" in run("show", "A2", "--in", "out").output


def test_where_no_claim_has_a_danger_none_is_spoken_of() -> None:
    result, _ = judged(RECORDS)

    assert "DANGER" not in result.output
    page = Path("out/page.html").read_text(encoding="utf-8")
    assert "DANGER" not in page
    assert 'data-by="place" aria-pressed="true"' in page
    assert 'data-by="danger"' not in page


HOSTILE: list[tuple[str, str | bytes, str]] = [
    ("formulas", "claim,shop,name,value\n=1+1,\"=HYPERLINK(\"\"x\"\")\",igniter_ohms,62\n", "a.csv"),
    ("markup", "claim,shop,complaint,name,value\n<script>alert(1)</script>,<img src=x onerror=alert(1)>,\"</style>&amp;\",igniter_ohms,62\n", "a.csv"),
    ("quotes in markup", "claim,shop,name,value\n\"\"\"><b>\",' onload=x,igniter_ohms,62\n", "a.csv"),
    ("paths", "claim,shop,name,value\n../../etc/passwd,..\\..\\x,igniter_ohms,62\n/root/x,C:\\con,igniter_ohms,62\n", "a.csv"),
    ("terminal codes", "claim,shop,name,value\n\x1b[31mA1\x07,\x9b2J,igniter_ohms,62\n", "a.csv"),
    ("right to left", "claim,shop,name,value\nA\u202e1,\u2066x,igniter_ohms,62\n", "a.csv"),
    ("nul", b"claim,shop,name,value\n" + b"A1,x,igniter_ohms,62\n" * 300 + b"A2,\0,igniter_ohms,62\n", "a.csv"),
    ("a line without end", "claim,name,value\nA1,igniter_ohms," + "9" * 2_000_000 + "\nA2,igniter_ohms,62\n", "a.csv"),
    ("an open quote", 'claim,name,value\nA1,igniter_ohms,"62\nA2,igniter_ohms,62\n', "a.csv"),
    ("utf-8 with its mark", b"\xef\xbb\xbfclaim,name,value\nA1,igniter_ohms,62\n", "a.csv"),
    ("utf-16", "\ufeffclaim,name,value\nA1,igniter_ohms,62\n".encode("utf-16-le"), "a.csv"),
    ("utf-16 without mark", "claim,name,value\nA1,igniter_ohms,62\n".encode("utf-16-le"), "a.csv"),
    ("latin-1", "claim,shop,name,value\nA1,Núñez,igniter_ohms,62\n".encode("latin-1"), "a.csv"),
    ("lone surrogate", "claim,shop,name,value\nA1,\ud800,igniter_ohms,62\n", "a.csv"),
    ("aliases", "claims: &a [*a, *a]", "a.yaml"),
    ("billion laughs", "a: &a [x]\nb: &b [*a,*a]\nc: &c [*b,*b]\nclaims: [*c,*c]\n", "a.yaml"),
    ("deep nesting", "[" * 5000, "a.yaml"),
    ("a tag", "claims: [!!python/object/apply:os.system ['true']]", "a.yaml"),
    ("deep JSON", "[" * 60_000, "a.jsonl"),
    ("broken JSON", '{"claim": "A1"\n{"claim": "A2", "records": []}\n', "a.jsonl"),
    ("a name twice", '{"claim": "A1", "claim": "A2"}\n', "a.jsonl"),
    ("no block", '[1, 2]\n"x"\n12\nnull\n', "a.jsonl"),
    ("odd types", '{"claim": {"a": 1}, "records": 7, "furnace": [], "shop": ["x"]}\n', "a.jsonl"),
    ("odd records", '{"claim": "A1", "records": [7, null, {}, {"point": null}, {"point": ["x"], "value": {}}, {"zone": 1}]}\n', "a.jsonl"),
    ("huge figures", '{"claim": "A1", "records": [{"point": "igniter_ohms", "value": 1e999999}, {"point": "igniter_ohms", "value": NaN}]}\n', "a.jsonl"),
    ("odd figures", "claim,name,value\nA1,igniter_ohms,1e400\nA1,igniter_ohms,nan\nA1,igniter_ohms,-5\nA1,flame_current,٣\nA1,igniter_ohms,24²\n", "a.csv"),
    ("many cells", "claim,name,value\nA1," + "x," * 5000 + "\n", "a.csv"),
    ("many columns", "claim," + ",".join(f"c{i}" for i in range(2000)) + "\nA1\n", "a.csv"),
    ("only headings", "claim,name,value\n", "a.csv"),
    ("empty", "", "a.csv"),
    ("nothing but remarks", "# x\n# y\n", "a.csv"),
    ("no number", "claim,name,value\n,igniter_ohms,62\n   ,igniter_ohms,62\n", "a.csv"),
    ("a long number", f"claim,name,value\n{'A' * 5000},igniter_ohms,62\n", "a.csv"),
    ("the same number", "claim,name,value\nA1,igniter_ohms,62\nA2,igniter_ohms,62\nA1,igniter_ohms,61\n", "a.csv"),
    ("mixed units", "claim,name,value\nA1,igniter_ohms,62 V\nA2,flame_current,0.0008 mA\n", "a.csv"),
    ("dates", "claim,date,name,value\nA1,2999-01-01,igniter_ohms,62\nA2,0000-00-00,igniter_ohms,62\nA3,yesterday,igniter_ohms,62\n", "a.csv"),
    ("format letters", "claim,shop,name,value\n%s%n{0},{__class__},igniter_ohms,62\n", "a.csv"),
]  # fmt: skip


class Markup(HTMLParser):
    """Gathers the elements and the attributes of a page."""

    def __init__(self) -> None:
        super().__init__()
        self.elements: list[str] = []
        self.attributes: set[str] = set()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append(tag)
        self.attributes.update(name for name, _ in attrs)


@pytest.mark.parametrize(("content", "name"), [(c, n) for _, c, n in HOSTILE], ids=[w.replace(" ", "_") for w, _, _ in HOSTILE])
def test_hostile_files_are_survived_and_reported(content: str | bytes, name: str) -> None:
    result, results = judged(content, name)

    judged_any = any(r["verdict"] != "unreadable" for r in results)
    assert result.exit_code == (0 if judged_any else 2), result.output  # that nothing was judged is told by the status
    assert result.exception is None or isinstance(result.exception, SystemExit)
    assert not re.search("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]", result.output)
    assert sorted(p.name for p in Path().iterdir()) == sorted([name, "out"])  # nothing was written elsewhere
    markup = Markup()
    markup.feed(Path("out/page.html").read_text(encoding="utf-8"))
    assert markup.elements.count("script") == 1
    assert not {"img", "b", "link", "iframe"} & {*markup.elements} - {"b"}
    assert not any(a.startswith("on") for a in markup.attributes)
    assert not {"src", "href"} & markup.attributes
    with Path("out/results.csv").open(encoding="utf-8-sig", newline="") as table:
        cells = [cell for row in csv.reader(table) for cell in row]
    assert not [c for c in cells if c.startswith(("=", "+", "-", "@"))]
    told = [*Path("out/problems.txt").read_text(encoding="utf-8").splitlines(), *(t for r in results for t in _told(r))]
    orderly = {"formulas", "markup", "quotes in markup", "paths", "utf-8 with its mark", "utf-16", "format letters"}
    what = next(w for w, c, n in HOSTILE if (c, n) == (content, name))
    if what not in orderly | {"lone surrogate", "only headings"}:
        assert any(re.search(rf"{re.escape(name)}:\d+:\d+", t) for t in told), told
    for r in results[:2]:
        shown = run("show", str(r["claim"]) or "x", "--in", "out")
        assert shown.exception is None or isinstance(shown.exception, SystemExit)


def _told(result: dict[str, object]) -> list[str]:
    told = [str(result["place"])] if result["verdict"] == "unreadable" else []
    return told + [str(t) for key in ("held_back", "unmatched", "notes", "clash") for t in result[key]]  # type: ignore[attr-defined]


def test_a_file_that_is_not_there_costs_only_itself() -> None:
    Path("good.csv").write_text(RECORDS, encoding="utf-8")
    result = run("judge", "missing.csv", "good.csv", ".", "--out", "out", "--workers", "1")

    assert result.exit_code == 2
    assert "missing.csv:1:1" in result.output
    assert "NO CLAIM came from: missing.csv" in result.output
    assert len(Path("out/results.jsonl").read_text(encoding="ascii").splitlines()) == 2


@pytest.mark.parametrize(
    ("args", "says"),
    [
        (("show", "A9", "--in", "out"), "There is no claim A9"),
        (("show", "A1", "--in", "nowhere"), "There are no results in nowhere"),
        (("ask", "A9", "--in", "out"), "There is no claim A9"),
        (("judge", "claims.csv", "--out", "out", "--again", "out"), "Give another folder"),
        (("judge", "claims.csv", "--out", "out", "--columns", "missing.yaml"), "missing.yaml:1:1"),
        (("judge", "claims.csv", "--out", "claims.csv"), "--out"),
        (("template", "--wide", "--yaml"), "not for both"),
    ],
)
def test_a_wrong_call_ends_with_status_2_and_says_what_to_do(args: tuple[str, ...], says: str) -> None:
    judged(RECORDS)
    result = run(*args)

    assert result.exit_code == 2
    assert says in " ".join(result.output.split())


def test_judging_again_tells_what_newer_rules_changed_and_why() -> None:
    judged(RECORDS)
    old = Path("out/results.jsonl").read_text(encoding="ascii")
    Path("old.jsonl").write_text(old.replace("not_supported", "supported").replace('"share":0.', '"share":0.9'), encoding="ascii")
    result = run("judge", "claims.csv", "--out", "new", "--again", "old.jsonl", "--workers", "1", "--today", "2026-06-01")

    assert result.exit_code == 0, result.output
    assert "A1: supported, now not supported." in result.output
    assert "Belief in the claimed part" in result.output


def test_the_demo_says_that_it_is_the_tools_own_world() -> None:
    result = run("demo", "--out", "demo", "--claims", "40", "--workers", "1")

    assert result.exit_code == 0, result.output
    assert "tool's own world" in result.output
    assert "bad" in result.output
    assert len(Path("demo/results.jsonl").read_text(encoding="ascii").splitlines()) == 40


NO_CLAIMS = {"empty": b"", "headings": b"claim,name,value\n", "bytes": bytes(range(256)) * 8, "picture": b"\x89PNG\r\n\x1a\n\0\0"}


@pytest.mark.parametrize("content", NO_CLAIMS.values(), ids=NO_CLAIMS)
def test_a_file_that_gives_no_claim_ends_with_status_2(content: bytes) -> None:
    result, results = judged(content)

    assert (result.exit_code, results) == (2, [])
    assert "claims.csv:1:1" in result.output
    assert "claims.csv:1:1" in Path("out/problems.txt").read_text(encoding="utf-8")


def test_a_table_without_a_claims_number_is_told_first_and_how_to_mend_it() -> None:
    result, _ = judged("job,colour of the van,igniter ohms\n1,red,OL\n", columns=100)

    assert result.exit_code == 2
    first = Path("out/problems.txt").read_text(encoding="utf-8").splitlines()[0]
    assert "No column tells which claim" in first
    assert "--columns" in first
    assert "template" in first


UNREAD = """claim,date,name,value,note
A1,2027-01-05,igniter ohms,hot,looked burnt to me
A1,2027-01-05,r to c,9999 V,
A1,2027-01-05,blower runs,no,
A2,3/10/26,flap angle,3,
;;;###,,,,
"""


def test_what_could_not_be_read_is_told_everywhere() -> None:
    result, results = judged(UNREAD, columns=100)
    text = Path("out/problems.txt").read_text(encoding="utf-8")
    page = Path("out/page.html").read_text(encoding="utf-8")
    shown = run("show", "A1", "--in", "out", columns=100).output
    with Path("out/results.csv").open(encoding="utf-8-sig", newline="") as table:
        rows = {r["claim"]: r for r in csv.DictReader(table)}

    def place(line: int, cell: str) -> str:
        return f"claims.csv:{line}:{UNREAD.splitlines()[line - 1].index(cell) + 1}"

    for where in (text, result.output, page, shown, rows["A1"]["read_yourself"]):
        told = re.sub(r"\s+", " ", where)
        assert place(2, "hot") in told
        assert place(3, "9999 V") in told
        assert "lies in the future" in told
    assert "may be March 10 or October 3, so it is set aside as unsure" in text
    assert "may be March 10 or October 3, so it is set aside as unsure" in re.sub(r"\s+", " ", result.output)
    assert "looked burnt to me" in shown
    assert "looked burnt to me" in page
    assert (rows["A1"]["unread"], rows["A2"]["unread"]) == ("2", "1")
    assert "2027-01</span>" not in page  # no bar for a month that has not been
    assert [r["verdict"] for r in results][1:] == ["unreadable", "unreadable"]
    assert ";;;###" in text


def test_no_figure_is_told_where_nothing_was_weighed() -> None:
    clash = "A1,igniter_ohms,62,power_off\nA1,igniter_ohms,OL,power_off\n"
    judged(f"claim,name,value,step\n{clash}A2,igniter_ohms,sixty,\nA3,blower_runs,n/a,\nA4,r_to_c,26,call\nA5,igniter_ohms,OL,power_off\n")
    with Path("out/results.csv").open(encoding="utf-8-sig", newline="") as table:
        rows = {r["claim"]: r for r in csv.DictReader(table)}

    for claim in ("A1", "A2", "A3"):
        shown = run("show", claim, "--in", "out").output
        assert "Belief" not in shown
        assert "Likeliest other part" not in shown
        assert {rows[claim][c] for c in ("cause", "share_of_cause", "share_of_part")} == {""}
    assert "Belief" in run("show", "A4", "--in", "out").output
    assert "Likeliest other part" not in run("show", "A4", "--in", "out").output  # so little was read that no part stands out
    assert rows["A4"]["share_of_part"]
    assert rows["A5"]["cause"] == "igniter:open"


def test_every_record_of_the_demo_has_a_name_and_is_read() -> None:
    run("demo", "--out", "demo", "--claims", "80", "--seed", "5", "--workers", "1")
    with Path("demo/claims.csv").open(encoding="utf-8", newline="") as table:
        names = {r["name"] for r in csv.DictReader(table)}

    assert "None" not in names
    assert Path("demo/problems.txt").read_text(encoding="utf-8") == ""


# --- the letter ------------------------------------------------------------------------------------

BEHAVIOUR = [q for q in our_rules().question.values() if q.group == "behaviour"]


def letter(rows: str, claim: str = "A1", header: str = "claim,complaint,name,value,step,part") -> str:
    judged(f"{header}\n{rows}")
    return re.sub(r"\s+", " ", run("ask", claim, "--in", "out").output)


def asked_for(text: str) -> list[str]:
    return [name for name in (*our_rules().point, *our_rules().sign) if f"({name}" in text]


def test_with_nothing_read_a_letter_asks_how_far_the_call_gets_and_for_no_proof() -> None:
    assert asked_for(letter("A1,no heat,,,,\n")) == [s for s in our_rules().sign if s in {q.sign for q in BEHAVIOUR}]


def test_a_letter_asks_no_more_of_the_call_than_records_leave_open() -> None:
    asked = asked_for(letter("A1,no heat,inducer_runs,yes,call,\n"))
    stopped = asked_for(letter("A1,no heat,inducer_runs,no,call,\n"))

    assert {"whole_furnace", "inducer_runs"} & {*asked} == set()
    assert {"igniter_glows", "burners_light", "blower_starts_in_heat"} <= {*asked}
    assert {q.sign for q in BEHAVIOUR} & {*stopped} == set()  # what comes after an inducer that stands has no answer


def test_a_letter_asks_nothing_that_the_complaint_answers() -> None:
    """Whoever says that the igniter glows and no gas comes has told how far the call gets."""
    assert not {q.sign for q in BEHAVIOUR} - {"igniter_glows"} & {*asked_for(letter('A1,"glows, no gas",line_to_neutral_at_board,119 V,call,\n'))}
    assert "first how far a heat call gets" not in letter('A1,"glows, no gas",line_to_neutral_at_board,119 V,call,\n')


@pytest.mark.parametrize(
    ("complaint", "asked", "other"),
    [
        ("igniter never glows", "igniter_pin_to_neutral", "heat_terminal_to_neutral"),
        ("inducer won't start", "inducer_pin_to_neutral", "heat_terminal_to_neutral"),
        ("glows, no gas", "gas_pin_to_c", "igniter_pin_to_neutral"),
        ("burners light, blower never comes on", "heat_terminal_to_neutral", "igniter_pin_to_neutral"),
    ],
)
def test_the_proof_that_a_letter_asks_for_follows_the_complaint(complaint: str, asked: str, other: str) -> None:
    """What every proof wants was sent, and no more: the complaint alone tells which output it would be."""
    text = letter(f'A1,"{complaint}",meter_tried_on_live_point,yes,,\nA1,,plugs_refitted,still_the_same,,\n')

    assert asked in asked_for(text)
    assert other not in asked_for(text)


def test_where_nothing_tells_which_output_it_would_be_that_is_asked_first() -> None:
    text = letter("A1,no heat,meter_tried_on_live_point,yes,,\nA1,,plugs_refitted,still_the_same,,\n")

    assert "Please tell first: 1. What does the board fail to do" in text
    assert "To show that it is" not in text
    assert {*asked_for(text)} <= {q.sign for q in BEHAVIOUR}


def test_a_flame_that_is_out_at_rest_says_nothing_of_the_call() -> None:
    assert "burners_light" in asked_for(letter("A1,no heat,flame_seen,no,standby,\n"))


def test_where_another_part_is_named_a_letter_asks_for_no_readings_of_other_outputs() -> None:
    rows = "A1,no heat,igniter_ohms,OL,power_off,\nA1,,igniter_glows,no,igniter_warm_up,\nA1,,igniter_volts_at_plug,119 V,igniter_warm_up,\n"
    text = letter(rows)

    assert "They point to the igniter" in text
    assert {*asked_for(text)} <= {q.sign for q in BEHAVIOUR}
    assert "once the igniter is in order" in text


@pytest.mark.parametrize(
    "rows",
    [
        "A1,x,igniter_ohms,62,power_off,\nA1,,igniter_ohms,OL,power_off,\n",
        "A1,x,igniter_ohms,sixty,,\nA1,,blower_runs,no,heating,\n",
        "A1,x,blower_runs,no,heating,flux capacitor\n",
        "A1,x,flap angle,3,,\n",
    ],
    ids=["clash", "unread", "no such part", "no such reading"],
)
def test_a_letter_tells_records_and_none_of_our_files(rows: str) -> None:
    text = letter(rows)

    assert "claims.csv" not in text
    assert "furnace-diag" not in text
    assert "line 2" not in text


def test_a_line_of_the_map_that_no_file_needs_is_told() -> None:
    Path("map.yaml").write_text("Dealer nmae: shop\nJob: claim\n", encoding="utf-8")
    result, results = judged("job,dealer name,igniter_ohms\nA1,Oak,OL\n", "a.csv", "--columns", "map.yaml")

    assert (result.exit_code, len(results)) == (0, 1)
    assert "speaks of headings that no file has: Dealer nmae." in re.sub(r"\s+", " ", result.output)
    assert "Job" not in Path("out/problems.txt").read_text(encoding="utf-8")


def test_rows_set_aside_are_counted_last_and_end_well_where_others_are_judged() -> None:
    result, results = judged(f"{RECORDS},Oak,2026-03-01,igniter_ohms,OL,,\n")

    assert result.exit_code == 0
    assert [r["verdict"] for r in results].count("unreadable") == 1
    assert result.stderr.splitlines()[-1] == "1 of 3 claims could not be judged. See problems.txt."


def test_where_nothing_could_be_judged_the_status_is_2_and_one_is_one() -> None:
    result, results = judged("claim,shop,name,value\nA1,Oak,igniter_ohms,about right\n")

    assert (result.exit_code, [r["verdict"] for r in results]) == (2, ["unreadable"])
    assert result.stdout.startswith("1 claim read, 0 judged")
    assert "1 entry of 1 claim could not be read" in result.stdout
    assert result.stderr.splitlines()[-1] == "1 of 1 claim could not be judged. See problems.txt."


def test_each_column_that_is_not_read_is_told_once_also_one_without_a_heading() -> None:
    strange = [f"colour {chr(97 + i % 26)}{chr(97 + i // 26)}" for i in range(300)]
    head = ",".join(["claim", *strange, strange[0], "", "igniter ohms"])
    cells = ",".join(["x"] * 301)
    judged(f"{head}\nA1,{cells},lost,OL\nA2,{cells},lost too,OL\n")
    problems = Path("out/problems.txt").read_text(encoding="utf-8")

    assert [name for name in strange if len(re.findall(rf"\b{name}\b", problems)) != 1] == []
    assert problems.count("has no heading") == 1
    assert "lost too" not in problems


def test_earlier_results_are_found_in_any_order_and_numbers_used_twice_left_out() -> None:
    judged(RECORDS)
    lines = Path("out/results.jsonl").read_text(encoding="ascii").splitlines()
    changed = lines[0].replace('"verdict":"not_supported"', '"verdict":"plausible"')
    Path("old.jsonl").write_text("\n".join([lines[1], changed]) + "\n", encoding="ascii")
    once = run("judge", "claims.csv", "--out", "new", "--again", "old.jsonl", "--workers", "1", "--today", "2026-06-01")
    Path("old.jsonl").write_text("\n".join([lines[1], changed, changed]) + "\n", encoding="ascii")
    twice = run("judge", "claims.csv", "--out", "new", "--again", "old.jsonl", "--workers", "1", "--today", "2026-06-01")

    assert "A1: plausible, now not supported." in once.output
    assert "Judged otherwise than before: 1, of 2 claims in both." in once.output
    assert "Judged otherwise than before: 0, of 1 claim in both." in twice.output


def test_a_shop_may_write_its_work_in_a_column_of_its_own() -> None:
    _, results = judged('claim no,repair date,work performed\nA1,2026-01-05,"Inducer runs; no glow; igniter ohms OL; smelled funny"\n')

    assert results[0]["date"] == "2026-01-05"
    assert [next(iter(r)) + ":" + str(next(iter(r.values()))) for r in results[0]["records"]] == [  # type: ignore[attr-defined]
        "sign:inducer_runs", "sign:igniter_glows", "point:igniter_ohms",
    ]  # fmt: skip
    assert len(results[0]["unmatched"]) == 1  # type: ignore[arg-type]


def test_a_letter_asks_for_nothing_that_a_call_cannot_get_to() -> None:
    """Without 24 V behind the fuse no step of the call comes; a gas valve without its 24 V lights no burner, so no blower is due."""
    dead = letter("A1,dead,secondary_volts_at_board,26.2,standby,\nA1,,r_to_c_at_board,0.1,standby,\n")
    no_gas = letter("A1,no heat,igniter_glows,yes,ignition_trial,\nA1,,gas_pin_to_c,0.3,ignition_trial,\nA1,,w_to_c_at_board,25,ignition_trial,\n")

    assert not {"flame_seen", "burners_light", "blower_starts_in_heat", "heat_terminal_to_neutral"} & {w.strip("(:,)") for w in dead.split()}
    assert "blower_starts_in_heat" not in no_gas


def test_a_letter_says_what_to_tell_of_readings_that_were_sent() -> None:
    text = letter(
        "A1,no heat,pressure_switch_return_to_c,24.8,ignition_trial,low,pin\nA1,,gas_pin_to_c,0.3,ignition_trial,low,pin\n"
        "A1,,igniter_glows,yes,ignition_trial,,\n",
        header="claim,complaint,name,value,step,meter,contact",
    )
    asked = " ".join(text.split())

    assert "you gave pressure_switch_return_to_c: 24.8: say whether the meter held it" in asked
    assert "you gave gas_pin_to_c: 0.3: say whether the meter held it, whether with load connected" in asked
    assert asked.count("you gave gas_pin_to_c") == 1


def test_letter_and_reasons_tell_what_counts_what_is_wanted_again_and_what_was_never_sent() -> None:
    """The HEAT terminal and the unbroken flame were sent of the first call, the flame of both, and of the meter's trial nothing."""
    text = letter(
        "A1,x,line_to_neutral_at_board,119 V,ignition_trial,1,,pin,,\nA1,,neutral_to_chassis_at_board,0.6 V,call,1,,,,\n"
        "A1,,flame_seen,yes,heating,1,,,,125\nA1,,burned_in_one_go,yes,,1,,,,\nA1,,heat_terminal_to_neutral,0.2 V,heating,1,low,pin,load_on,125\n"
        "A1,,heat_terminal_to_neutral,0.3 V,heating,2,high,pin,load_on,125\nA1,,flame_seen,yes,heating,2,,,,125\n",
        header="claim,complaint,name,value,step,call,meter,contact,set_up,after_s",
    )
    counts, rest = text.split("These readings count, and are not asked for again:")[1].split("These count for one heat call")
    again, missing = rest.split("To show that it is the control board, please send:")
    shown = re.sub(r"\s+", " ", run("show", "A1", "--in", "out").output)

    assert "line_to_neutral_at_board: 119 V" in counts
    assert "flame_seen: yes" in counts
    assert "second heat call" in again
    assert "burned_in_one_go: yes. Once more" in again
    assert "heat_terminal_to_neutral: 0.2 V. Once more" in again
    assert "meter_tried_on_live_point" in missing
    assert "heat_terminal" not in missing.split("Say with each reading")[0]
    assert "(heat_terminal_to_neutral: 0.2 V; rules/findings/conditions.yaml" in shown
    assert "wanted in a second heat call too" in shown
    assert "you gave heat_terminal_to_neutral: 0.3 V, which does not count: another meter is wanted" in shown


def test_no_letter_goes_out_for_a_number_that_stands_for_two_claims() -> None:
    result, _ = judged("claim,name,value\nA1,blower_runs,no\nA2,blower_runs,no\nA1,inducer_runs,no\n")
    asked = run("ask", "A1", "--in", "out")

    assert asked.exit_code == 2
    assert "stands for 2 claims" in asked.output
    assert "You claim" not in asked.output
    assert result.output.startswith("3 claims read, 1 judged by rules")


@pytest.mark.parametrize(
    "text",
    ["jumped out the rollout to get customer going", "board smoked, burnt spot on relay",
     "strong gas smell at furnace", "customer smells gas", "CO detector chirping all night", "maybe a gas leak at the union", "gas smell: yes"],
)  # fmt: skip
def test_a_text_that_speaks_of_a_danger_is_answered_with_what_to_do_and_asks_for_no_heat_call(text: str) -> None:
    """Nobody is to run a furnace for a letter where there may be gas or carbon monoxide; common practice, no source."""
    judged(f'claim,name,value,step,readings\nA1,blower_runs,no,heating,"{text}"\n')
    told = run("ask", "A1", "--in", "out").output

    assert "First of all" in told
    assert "We ask for no reading until that is put right" in " ".join(told.split())
    assert "(inducer_runs" not in told


@pytest.mark.parametrize(
    "text",
    ["no gas smell", "no smell of gas anywhere", "gas valve looks fine",
     "burners fire then no air", "water in pressure hose", "hose had water in it, blew it out"],
)  # fmt: skip
def test_a_danger_that_is_denied_holds_no_letter_up(text: str) -> None:
    judged(f'claim,name,value,step,readings\nA1,blower_runs,no,heating,"{text}"\n')

    assert "First of all" not in run("ask", "A1", "--in", "out").output
