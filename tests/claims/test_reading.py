"""Claims as shops write them: both shapes of table, YAML, JSON Lines, other headings, free text; nothing is guessed."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from furnace_diag.claims.dates import day
from furnace_diag.claims.desk import Judgement
from furnace_diag.claims.headings import CLAIM_FIELDS, Column, Headings, read_column_map
from furnace_diag.claims.raw_claim import RawClaim
from furnace_diag.claims.reading import Files
from furnace_diag.claims.template import template
from furnace_diag.claims.understanding import Claim, Reader
from furnace_diag.diagnosis.one_record import record_of
from furnace_diag.diagnosis.records import Record
from furnace_diag.diagnosis.vocabulary import Vocabulary
from furnace_diag.knowledge.models import Knowledge
from furnace_diag.problems import BadInput, Place
from furnace_diag.visit.journal import FORMAT, Journal

Read = Callable[..., tuple[list[RawClaim], Files]]
TODAY = date(2026, 6, 1)
RECORDS = """claim,shop,name,value,step,call,meter,contact,set_up
A1,Oak,heat_terminal_to_neutral,0.2 V,heating,2,low,pin,load_on
A1,,blower_runs,no,heating,,,,
A2,Oak,igniter_ohms,OL,power_off,,,,
"""
WIDE = """claim,shop,"heat_terminal_to_neutral at heating, call 2, low, pin, load_on",blower_runs at heating,igniter_ohms at power_off
A1,Oak,0.2 V,no,
A2,Oak,,n/a,OL
"""
YAML = """claims:
- claim: A1
  shop: Oak
  records:
  - {point: heat_terminal_to_neutral, value: 0.2 V, step: heating, call: 2, meter: low, contact: pin, set_up: [load_on]}
  - {sign: blower_runs, value: no, step: heating}
- claim: A2
  shop: Oak
  records: [{point: igniter_ohms, value: OL, step: power_off}]
"""
JSONL = "\n".join(
    json.dumps(c)
    for c in (
        {
            "claim": "A1",
            "shop": "Oak",
            "records": [
                {"point": "heat_terminal_to_neutral", "value": "0.2 V", "step": "heating", "call": 2, "meter": "low", "contact": "pin", "set_up": ["load_on"]},
                {"sign": "blower_runs", "value": False, "step": "heating"},
            ],
        },
        {"claim": "A2", "shop": "Oak", "records": [{"point": "igniter_ohms", "value": "OL", "step": "power_off"}]},
    )
)


def told(claim: Claim) -> list[tuple[object, ...]]:
    return [(r.kind, r.name, r.number, r.word, r.step, r.call, r.meter, r.contact, r.set_up) for r in claim.report.records]


@pytest.mark.parametrize(("content", "name"), [(RECORDS, "a.csv"), (WIDE, "b.csv"), (YAML, "c.yaml"), (JSONL, "d.jsonl")])
def test_every_form_tells_the_same(read: Read, reader: Reader, content: str, name: str) -> None:
    claims = [reader.understood(raw) for raw in read(content, name)[0]]

    assert [(c.id, c.shop) for c in claims] == [("A1", "Oak"), ("A2", "Oak")]
    assert told(claims[0]) == [
        ("point", "heat_terminal_to_neutral", 0.2, None, "heating", 2, "low", "pin", ("load_on",)),
        ("sign", "blower_runs", None, "no", "heating", 1, None, None, ()),
    ]
    assert told(claims[1]) == [("point", "igniter_ohms", float("inf"), None, "power_off", 1, None, None, ())]
    assert not [p for c in claims for p in (*c.unread, *c.fatal)]


MESSY = """claim,shop,name,value,of no use,
A1,Oak,igniter_ohms,OL,x,y
 A1 ,,blower_runs,no,,,far too long
,Oak,igniter_ohms,62,,
A2,Elm,"never closed,62,,
A3
A1,Oak,igniter_ohms,62,,
"""


@pytest.mark.parametrize("content", [RECORDS, WIDE, MESSY])
def test_numbers_alone_are_those_of_the_claims_and_the_same_is_noted(read: Read, content: str) -> None:
    claims, files = read(content)
    noted, met = list(files.noted), set(files.headings.met)

    assert [(c.id, c.line) for c in files.claims(only_numbers=True)] == [(c.id, c.line) for c in claims]
    assert (files.noted, set(files.headings.met)) == (noted, met)


@pytest.mark.parametrize("shape", ["records", "claims", "yaml"])
def test_the_templates_own_example_is_read_whole(read: Read, reader: Reader, shape: str) -> None:
    raws, files = read(template(shape, reader.first), "t.yaml" if shape == "yaml" else "t.csv")
    (claim,) = [reader.understood(raw) for raw in raws]

    assert claim.id == "EX-1"
    assert len(claim.report.records) >= 3
    assert [*claim.unread, *claim.unmatched, *claim.fatal, *claim.notes, *files.noted] == []


def test_a_shops_own_headings_are_read_by_the_rules_words_and_its_map(tmp_path: Path, knowledge: Knowledge) -> None:
    (tmp_path / "map.yaml").write_text("Tech W-C: w_to_c_at_board at heating\nInvoice: ignore\n", encoding="utf-8")
    theirs = read_column_map(tmp_path / "map.yaml")
    reader = Reader(knowledge, TODAY, theirs)
    (tmp_path / "c.csv").write_text("Ticket,Dealer,Tech W-C,Invoice,Igniter resistance,Inlet gas pressure (Pa),Colour of the van\nT1,Elm,25.1,9,62,1742,red\n")
    files = Files((tmp_path / "c.csv",), reader.headings[reader.first])
    (claim,) = [reader.understood(raw) for raw in files.claims()]

    assert [(r.name, r.step) for r in claim.report.records] == [("w_to_c_at_board", "heating"), ("igniter_ohms", "power_off"), ("inlet_pressure", None)]
    # 1 in. w.c. is 249.0889 Pa, NIST SP 811 appendix B
    assert claim.report.records[2].number == pytest.approx(1742 / 249.0889, rel=1e-6)
    assert [(str(p.place).rsplit("c.csv", 1)[1], "Colour of the van" in p.message) for p in files.noted] == [(":1:75", True)]


@pytest.mark.parametrize("text", ["- a\n", "A: [x]\n", "A:\n"])
def test_a_map_that_is_none_is_refused_with_its_place(tmp_path: Path, text: str) -> None:
    (tmp_path / "map.yaml").write_text(text, encoding="utf-8")

    with pytest.raises(BadInput, match=r"map\.yaml:1:"):
        read_column_map(tmp_path / "map.yaml")


def test_free_text_is_read_where_it_says_name_and_value_and_else_listed(read: Read, reader: Reader) -> None:
    notes = "storm; igniter ohms: 62; ps sounded funny to me; heat terminal: 0.3 V at heating, low; blower: purple"
    (raw,), _ = read(f'claim,notes\nA1,"{notes}"\n')
    claim = reader.understood(raw)

    assert [(r.name, r.step, r.meter) for r in claim.report.records] == [
        ("storm_or_outage", None, None), ("igniter_ohms", "power_off", None), ("heat_terminal_to_neutral", "heating", "low"),
    ]  # fmt: skip
    assert any("ps sounded funny to me" in p.message for p in claim.unmatched)
    assert any("purple" in f"{p.message}" for p in claim.unmatched)
    assert claim.unread == ()  # free text holds nothing back


def test_what_cannot_be_read_has_its_cells_place(read: Read, reader: Reader) -> None:
    (raw,), _ = read("claim,name,value,step\nA1,igniter_ohms,12O V,power_off\nA1,no such thing,1,\nA1,blower_runs,no,sideways\n")
    claim = reader.understood(raw)

    assert [(p.place.line, p.place.column) for p in claim.unread if p.place] == [(2, 17), (3, 4), (4, 19)]


def test_a_name_that_could_be_two_things_is_refused(read: Read, reader: Reader) -> None:
    headings, kinds = reader.headings[reader.first], ("point", "sign", "event")
    words = [w for kind in kinds for entry in getattr(reader.knowledge, kind).values() for w in entry.also_called]
    means = {w: {(kind, i) for kind in kinds for i in headings.vocabulary.names(kind).clear(w)} for w in words}
    double = [w for w, meant in means.items() if len(meant) > 1 and w not in reader.knowledge.sign]

    for word in double:
        (raw,), _ = read(f"claim,name,value\nA1,{word},1\n")
        assert reader.understood(raw).report.records == ()
        assert "could be" in reader.understood(raw).unread[0].fix
    assert double


def test_a_field_that_differs_between_rows_of_a_claim_is_told(read: Read) -> None:
    (raw,), _ = read("claim,shop,name,value\nA1,Oak,igniter_ohms,62\nA1,Elm,blower_runs,no\n")

    assert [str(p) for p in raw.problems if "shop is Elm here, but Oak at line 2" in p.message]


def test_an_event_that_did_not_happen_is_not_a_record(read: Read, reader: Reader) -> None:
    (raw,), _ = read("claim,storm\nA1,no\n")

    assert reader.understood(raw).report.records == ()
    assert reader.understood(raw).unread == ()


@pytest.mark.parametrize(
    ("text", "expected"),
    [("2026-01-31", date(2026, 1, 31)), ("1/31/2026", date(2026, 1, 31)), ("31/1/2026", date(2026, 1, 31)), ("2026-02-30", None), ("soon", None), ("", None),
     ("Mar 6 2026", date(2026, 3, 6)), ("March 6, 2026", date(2026, 3, 6)), ("6 sept. 2026", date(2026, 9, 6)), ("06-Mar-2026", date(2026, 3, 6)),
     ("Feb 30 2026", None), ("Marble 6 2026", None), ("Mar 6 26", None),
     ("1/15/26", date(2026, 1, 15)), ("15 Jan 2026", date(2026, 1, 15)), ("15-Jan-26", date(2026, 1, 15)), ("1/15/2026 10:32 AM", date(2026, 1, 15)),
     ("2026-01-31 10:32", date(2026, 1, 31)), ("3/4/26", None), ("3/4/2026", None), ("4/4/26", date(2026, 4, 4)), ("13/13/2026", None), ("2/30/2026", None),
     ("1/15/69", date(1969, 1, 15)), ("1/15/68", date(2068, 1, 15))],  # the century of %y in strptime, POSIX.1-2017
)  # fmt: skip
def test_dates(text: str, expected: date | None) -> None:
    assert day(text) == expected


@pytest.mark.parametrize(
    ("column", "order"),
    [
        (["3/4/26", "1/15/26", "2/2/26"], "month_first"),
        (["3/4/2026", "15/1/2026"], "day_first"),
        (["3/4/26", "1/15/26", "15/1/26"], ""),  # of both, so neither is the column's
        (["3/4/26", "5/6/26"], ""),
        (["3/4/26", "2026-01-15", "Mar 6 2026", "soon", ""], ""),  # a month by its name tells nothing of figures
    ],
)
def test_a_column_tells_in_which_order_its_dates_stand(read: Read, reader: Reader, column: list[str], order: str) -> None:
    """Wherever in the column the date stands that tells it. Where nothing does, the date alone is set aside, and said to be unsure."""
    for dates in (column, column[::-1]):
        claims = [reader.understood(raw) for raw in read("claim,date,igniter ohms\n" + "".join(f"A{i},{d},62\n" for i, d in enumerate(dates)))[0]]
        told = dict(zip(dates, claims, strict=True))
        either = told[column[0]]

        assert {c.month for c in claims} >= {"2026-03" if order == "month_first" else "2026-04" if order else ""}
        assert either.month == {"month_first": "2026-03", "day_first": "2026-04", "": ""}[order]
        assert [p.message for p in either.notes] == ([] if order else [f"The date {column[0]} may be March 4 or April 3, so it is set aside as unsure."])
        assert [r.name for r in either.report.records] == ["igniter_ohms"]


@pytest.mark.parametrize(("order", "month", "other"), [("month_first", "2026-03", ""), ("day_first", "2026-04", "2026-01")])
def test_the_map_of_columns_may_tell_the_order_of_dates(tmp_path: Path, knowledge: Knowledge, order: str, month: str, other: str) -> None:
    (tmp_path / "map.yaml").write_text(f"Day of work: date\ndate_order: {order}\n", encoding="utf-8")
    theirs = read_column_map(tmp_path / "map.yaml", Headings(Vocabulary(knowledge)))
    reader = Reader(knowledge, TODAY, theirs)
    (tmp_path / "c.csv").write_text("claim,Day of work,igniter ohms\nA1,3/4/26,62\nA2,15/1/26,62\n", encoding="utf-8")
    (tmp_path / "c.yaml").write_text("- {claim: A1, date: 3/4/26}\n- {claim: A2, date: 15/1/26}\n", encoding="utf-8")
    for name in ("c.csv", "c.yaml"):
        files = Files((tmp_path / name,), reader.headings[reader.first])
        claims = [reader.understood(raw) for raw in files.claims()]

        assert [c.month for c in claims] == [month, other]
        assert [["cannot be month first" in p.message for p in c.notes] for c in claims] == [[], [] if other else [True]]
        assert files.noted == []


def test_an_order_of_dates_that_is_none_is_refused_with_its_place(tmp_path: Path) -> None:
    (tmp_path / "map.yaml").write_text("Invoice: ignore\ndate_order: mdy\n", encoding="utf-8")

    with pytest.raises(BadInput, match=r"map\.yaml:2:13: mdy is no order of day and month\. Write month_first or day_first"):
        read_column_map(tmp_path / "map.yaml")


def test_units_may_be_mixed_in_one_column(read: Read, reader: Reader) -> None:
    raws, _ = read("claim,flame_current at heating\nA1,0.8 uA\nA2,0.0008 mA\nA3,800 nA\nA4,3 V\n")
    claims = [reader.understood(raw) for raw in raws]

    assert [c.report.records[0].number for c in claims[:3]] == pytest.approx([0.8, 0.8, 0.8])
    assert "is in V" in claims[3].unread[0].message


def test_remembered_records_have_their_own_places(read: Read, reader: Reader) -> None:
    raws, _ = read("claim,name,value\nA1,blower_runs,no\nA2,blower_runs,no\n")
    records: list[Record] = [reader.understood(raw).report.records[0] for raw in raws]

    assert [(r.place.line, r.place.column) for r in records] == [(2, 4), (3, 4)]


def test_a_visits_journal_is_a_claim(tmp_path: Path, reader: Reader) -> None:
    path = tmp_path / "W-17.jsonl"
    journal = Journal(path, new=True)
    journal.append("opened", {"format": FORMAT, "family": reader.first, "rules_version": "x"})
    journal.append("complaint", {"text": "no heat"})
    journal.append("record", {"record": {"point": "igniter_ohms", "value": "OL", "step": "power_off"}})
    journal.append("record", {"record": {"sign": "igniter_glows", "value": "no", "step": "igniter_warm_up"}})
    journal.close()
    files = Files((path,), reader.headings[reader.first])
    (claim,) = [reader.understood(raw) for raw in files.claims()]

    assert (claim.id, claim.report.complaint, claim.unread, claim.fatal) == ("W-17", "no heat", (), ())
    assert [(r.name, r.step, r.place.line) for r in claim.report.records] == [("igniter_ohms", "power_off", 3), ("igniter_glows", "igniter_warm_up", 4)]


def test_an_experiment_of_a_visit_is_the_same_in_a_claim(tmp_path: Path, reader: Reader) -> None:
    """As `rank` reads it: an experiment is a sign that somebody brought about."""
    written = {"experiment": "fuse_blows_again", "value": "on heat call"}
    journal = Journal(tmp_path / "visit.jsonl", new=True)
    journal.append("opened", {"format": FORMAT, "family": reader.first, "rules_version": "x"})
    journal.append("record", {"record": written})
    journal.close()
    (raw,) = Files((tmp_path / "visit.jsonl",), reader.headings[reader.first]).claims()
    claim = reader.understood(raw)
    by_rank = record_of(written, Place("", 1, 1), Vocabulary(reader.knowledge))

    assert claim.unread == ()
    assert told(claim) == [(by_rank.kind, by_rank.name, None, by_rank.word, None, 1, None, None, ())]


@pytest.mark.parametrize("kind", ["experiment", "sign", ""])
def test_an_experiment_may_be_told_as_such_as_a_sign_or_by_its_name(read: Read, reader: Reader, kind: str) -> None:
    (raw,), _ = read(f"claim,kind,name,value\nA1,{kind},plug_moved_helps,yes\n")

    assert [(r.kind, r.name, r.word) for r in reader.understood(raw).report.records] == [("sign", "plug_moved_helps", "yes")]


def test_a_journal_that_was_changed_is_no_claim(tmp_path: Path, reader: Reader) -> None:
    path = tmp_path / "W-18.jsonl"
    journal = Journal(path, new=True)
    journal.append("opened", {"format": FORMAT, "family": reader.first, "rules_version": "x"})
    journal.append("record", {"record": {"point": "igniter_ohms", "value": "62"}})
    journal.append("record", {"record": {"sign": "blower_runs", "value": "no"}})
    journal.close()
    path.write_bytes(path.read_bytes().replace(b"62", b"OL"))
    files = Files((path,), reader.headings[reader.first])

    assert list(files.claims()) == []
    assert [p for p in files.noted if p.place and p.place.line == 3]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("RMA #: claim\n", 'in quotes: "RMA #"'),
        ("Dealer: shop\nRMA #: claim\n", 'in quotes: "RMA #"'),
        ("what we found: reedings\n", "reedings is no heading of ours. Did you mean readings"),
        ("Flame?: flame sene at heating\n", "flame_seen?"),
    ],
)
def test_a_slip_in_a_map_is_told_where_it_stands(tmp_path: Path, reader: Reader, text: str, says: str) -> None:
    (tmp_path / "map.yaml").write_text(text, encoding="utf-8")

    with pytest.raises(BadInput) as told:
        read_column_map(tmp_path / "map.yaml", reader.headings[reader.first])
    assert says in str(told.value)
    assert f"map.yaml:{text.count(chr(10))}:" in str(told.value)


def test_a_heading_in_quotes_and_a_remark_are_no_slip(tmp_path: Path, reader: Reader) -> None:
    (tmp_path / "map.yaml").write_text('# RMA #: theirs\n"RMA #": claim  # the number: ours\nInvoice: ignore # x: y\n', encoding="utf-8")

    assert read_column_map(tmp_path / "map.yaml", reader.headings[reader.first]) == {"RMA #": "claim", "Invoice": "ignore"}


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        ("thermostat wires off", ("thermostat_wires_off",)),
        ("Thermostat_Wires_Off", ("thermostat_wires_off",)),
        ("load_on door_held", ("load_on", "door_held")),
        ("load on, door held", ("load_on", "door_held")),
        ("load on and gas shut", ("load_on", "gas_shut")),
        ("load_on+door_held; gas_shut", ("load_on", "door_held", "gas_shut")),
    ],
)
def test_set_ups_are_read_with_spaces_too(read: Read, reader: Reader, said: str, meant: tuple[str, ...]) -> None:
    (raw,), _ = read(f'claim,name,value,step,set_up\nA1,r_to_c,26,call,"{said}"\n')

    assert [r.set_up for r in reader.understood(raw).report.records] == [meant]


def test_an_unknown_set_up_is_told_whole(read: Read, reader: Reader) -> None:
    (raw,), _ = read("claim,name,value,step,set_up\nA1,r_to_c,26,call,cabinet painted blue\n")

    assert "cabinet_painted_blue" in reader.understood(raw).unread[0].message


def test_a_figure_for_a_sign_names_the_point_for_figures(read: Read, reader: Reader) -> None:
    (raw,), _ = read("claim,name,value\nA1,hsi,OL\nA1,hsi,62 ohms\n")
    fixes = [p.fix for p in reader.understood(raw).unread]

    assert [fix.startswith("A figure belongs to igniter_ohms.") for fix in fixes] == [True, True]


def test_a_slip_in_a_part_is_answered_with_the_nearest(read: Read, reader: Reader) -> None:
    (raw,), _ = read("claim,part,name,value\nA1,control bord,r_to_c,26\n")

    assert "control_board" in reader.understood(raw).fatal[0].fix


def test_what_is_not_read_keeps_its_minus_and_loses_its_dash(read: Read, reader: Reader) -> None:
    """A gauge reads suction below nought; a dash before a line of a list is none of it."""
    (raw,), _ = read('claim,readings\nA1,"- whistles oddly; -0.35 something odd"\n')

    assert [p.message for p in reader.understood(raw).unmatched] == ["whistles oddly is not read.", "-0.35 something odd is not read."]


@pytest.mark.parametrize("part", ["ctrl board", "Ctrl Bd", "control brd", "inducer mtr", "blower mtr"])
def test_a_parts_short_words_are_read(read: Read, reader: Reader, part: str) -> None:
    (raw,), _ = read(f"claim,part,name,value\nA1,{part},r_to_c,26\n")
    claim = reader.understood(raw)

    assert claim.fatal == ()
    assert claim.part == {"i": "inducer", "b": "blower_motor"}.get(part[0], "control_board")


def test_the_words_after_a_figure_may_stand_in_any_order(read: Read, reader: Reader) -> None:
    claims, _ = read('claim,readings\nA1,"line to neutral at board: 119.6 at heating pin"\nA2,"line to neutral at board 119.6 pin at heating"\n')
    one, other = (reader.understood(raw) for raw in claims)

    assert not one.unmatched + one.unread
    assert [(r.name, r.number, r.step, r.contact) for r in one.report.records] == [("line_to_neutral_at_board", 119.6, "heating", "pin")]
    assert [(r.name, r.number, r.step, r.contact) for r in other.report.records] == [("line_to_neutral_at_board", 119.6, "heating", "pin")]


@pytest.mark.parametrize(
    "content",
    ["claim,name,value\nA1,flame rod,cleaned cured\n", 'claim,name,value\nA1,flame rod,"cleaned, cured"\n', 'claim,readings\nA1,"flame rod: cleaned, cured"\n'],
)
def test_what_came_of_a_repair_is_the_parts_history(read: Read, reader: Reader, content: str) -> None:
    (raw,), _ = read(content)
    claim = reader.understood(raw)

    assert not claim.unmatched + claim.unread
    assert [(r.kind, r.name, r.word) for r in claim.report.records] == [("history", "flame_rod", "refitted_and_cured")]


def test_a_part_that_was_renewed_without_an_outcome_is_no_history(read: Read, reader: Reader) -> None:
    """It is as likely the repair that the claim is for."""
    (raw,), _ = read("claim,name,value\nA1,flame rod,replaced\n")

    assert not reader.understood(raw).report.records


def test_what_is_said_of_the_claimed_repair_is_a_remark_and_no_record(read: Read, reader: Reader) -> None:
    (raw,), _ = read('claim,readings\nA1,"board bad. replaced. Works now; inducer runs, runs fine"\n')
    claim = reader.understood(raw)

    assert not claim.unmatched
    assert [r.name for r in claim.report.records] == ["inducer_runs"]
    assert any("Works now" in remark for remark in claim.remarks)


def test_a_column_of_notes_is_kept_as_remarks(tmp_path: Path, knowledge: Knowledge) -> None:
    path = tmp_path / "wide.csv"
    path.write_text("R\u00e9f;note libre;blower_runs at heating\nD1;apr\u00e8s 3 min;no\n", encoding="utf-8")
    reader = Reader(knowledge, date(2026, 6, 1), {"R\u00e9f": "claim", "note libre": "note"})
    files = Files((path,), reader.headings[reader.first])
    (raw,) = files.claims()

    assert not files.noted
    assert reader.understood(raw).remarks == ("apr\u00e8s 3 min",)


def test_a_tried_meter_may_be_told_in_short(read: Read, reader: Reader) -> None:
    (raw,), _ = read("claim,name,value\nA1,meter tried,yes\n")

    assert [r.name for r in reader.understood(raw).report.records] == ["meter_tried_on_live_point"]


@pytest.mark.parametrize("heading", ["text", "blurb", "description", "datum"])
def test_a_heading_that_is_like_nothing_is_told_where_free_text_goes(read: Read, heading: str) -> None:
    _, files = read(f"claim,igniter ohms,{heading}\nA1,62,something\n")
    (told,) = map(str, files.noted)

    assert "Did you mean" not in told
    assert "free text is called readings, notes" in told


@pytest.mark.parametrize(
    ("heading", "ours"),
    [("furnce", "furnace"), ("shp", "shop"), ("flame currnt", "flame_current"), ("comment", "readings"), ("presure switch", "pressure_switch")],
)
def test_a_heading_that_is_near_one_of_ours_is_told_which(read: Read, heading: str, ours: str) -> None:
    _, files = read(f"claim,igniter ohms,{heading}\nA1,62,something\n")
    (told,) = map(str, files.noted)

    assert "Did you mean" in told
    assert ours in told.partition("Did you mean")[2]


def test_a_map_of_columns_that_means_nothing_is_told_the_same(tmp_path: Path, reader: Reader) -> None:
    path = tmp_path / "map.yaml"
    path.write_text("Tech text: text\n", encoding="utf-8")

    with pytest.raises(BadInput, match="free text is called readings"):
        read_column_map(path, reader.headings[reader.first])


def is_read_and_listed(read: Read, reader: Reader, text: str, read_: list[str], listed: list[str]) -> None:
    """That a cell of *text* gives the records *read_*, and tells of *listed* that it is not read, each at its own place."""
    (raw,), _ = read(f'claim,readings\nA1,"{text}"\n')
    claim = reader.understood(raw)

    assert [r.name for r in claim.report.records] == read_
    assert [p.message.partition(" is not read")[0] for p in claim.unmatched] == listed
    for problem, said in zip(claim.unmatched, listed, strict=True):
        assert problem.place is not None
        assert f'A1,"{text}"'[problem.place.column - 1 :].lstrip(' "').startswith(said)


@pytest.mark.parametrize(
    ("text", "read_", "listed"),
    [
        ("put 120 straight to motor, blower runs", [], ["put 120 straight to motor", "blower runs"]),
        ("no flame; put 120 straight to motor, blower runs, no flame", ["flame_seen"], ["put 120 straight to motor", "blower runs", "no flame"]),
        ("inducer runs, put 120 straight to motor, blower runs", ["inducer_runs"], ["put 120 straight to motor", "blower runs"]),
        ("blower runs, with 120 put straight to it", [], ["blower runs", "with 120 put straight to it"]),
        ("put 120 straight to motor; inducer runs, no flame", ["inducer_runs", "flame_seen"], ["put 120 straight to motor"]),
        ("inducer runs, igniter glows, no flame", ["inducer_runs", "igniter_glows", "flame_seen"], []),
        ("put 120 to motor and blower runs", [], ["put 120 to motor", "blower runs"]),
        ("goosed the motor then blower runs", [], ["goosed the motor", "blower runs"]),
        ("ran the thing, inducer runs", [], ["ran the thing", "inducer runs"]),
        ("with new board, inducer runs", [], ["with new board", "inducer runs"]),
        ("jumped out the limit and burners light", [], ["jumped out the limit", "burners light"]),
        ("last winter, inducer hums", [], ["last winter", "inducer hums"]),
        ("stat set to cool, blower runs", [], ["stat set to cool", "blower runs"]),
        ("cooling call, blower runs", [], ["cooling call", "blower runs"]),
        ("neither inducer and blower runs", [], ["neither inducer", "blower runs"]),
        ("if w has 24, inducer runs", [], ["if w has 24", "inducer runs"]),
        ("should have 24 at w, inducer runs", [], ["should have 24 at w", "inducer runs"]),
        ("maybe the relay, blower hums", [], ["maybe the relay", "blower hums"]),
        ("per the owner of it, inducer runs", [], ["per the owner of it", "inducer runs"]),
        ("inducer runs, would be nice to know why, no flame", ["inducer_runs"], ["would be nice to know why", "no flame"]),
    ],
)
def test_what_may_have_come_of_something_unread_is_not_read(read: Read, reader: Reader, text: str, read_: list[str], listed: list[str]) -> None:
    """A motor that runs when it is fed by hand says nothing of the call in which it did not."""
    is_read_and_listed(read, reader, text, read_, listed)


@pytest.mark.parametrize(
    ("text", "read_", "listed"),
    [
        ("filter looked rough, inducer runs, igniter glows, no flame", ["inducer_runs", "igniter_glows", "flame_seen"], ["filter looked rough"]),
        ("checked filter and inducer runs then no glow", ["inducer_runs", "igniter_glows"], ["checked filter"]),
        ("unit in attic, inducer runs; no flame", ["inducer_runs", "flame_seen"], ["unit in attic"]),
        ("inducer runs and igniter glows but no flame", ["inducer_runs", "igniter_glows", "flame_seen"], []),
        ("r to c 26, w to c 25, weird light, no flame", ["r_to_c_at_board", "w_to_c_at_board", "flame_seen"], ["weird light"]),
        ("inducer runs and quits", [], ["inducer runs and quits"]),
        ("igniter glows and no flame then shuts down", ["igniter_glows"], ["no flame then shuts down"]),
        ("works when i smack the board, w to c 25.1 at the pin", ["board_pressed_helps", "w_to_c_at_board"], []),
        ("inducer hums, spins if pushed", ["inducer_runs"], ["spins if pushed"]),
        ("blower hums, spins if pushed", ["blower_runs", "blower_starts_when_spun"], []),
    ],
)
def test_a_clause_that_is_not_read_ends_no_sentence(read: Read, reader: Reader, text: str, read_: list[str], listed: list[str]) -> None:
    """What names its own point or sign says as much beside a remark on something else as it does alone; what leans on a clause goes with it."""
    is_read_and_listed(read, reader, text, read_, listed)


def test_what_somebody_tells_stays_his_word_to_the_end_of_the_sentence(read: Read, reader: Reader) -> None:
    (raw,), _ = read('claim,readings\nA1,"customer says inducer runs, no flame, w to c 25.1; igniter glows"\n')
    records = {r.name: r.source for r in reader.understood(raw).report.records}

    assert records == {"inducer_runs": "told", "flame_seen": "told", "w_to_c_at_board": None, "igniter_glows": None}  # nobody tells what a meter shows


def test_a_part_tried_by_hand_does_not_clash_with_the_fault(judged: Callable[..., list[Judgement]]) -> None:
    (judgement,) = judged('claim,name,value,step,readings\nA1,blower_runs,no,heating,"put 120 straight to motor, blower runs at heating"\n')

    assert judgement.verdict != "cannot_be_true_together"
    assert judgement.clash == ()
    assert [r["value"] for r in judgement.records] == ["no"]


def test_all_columns_of_free_text_are_read_each_in_its_place(read: Read, reader: Reader) -> None:
    claims, files = read("claim,tech notes,findings,note,remark\nA1,inducer runs,see pix,first,second\n")
    claim = reader.understood(claims[0])

    assert files.noted == []
    assert [(r.name, r.place.column) for r in claim.report.records] == [("inducer_runs", 4)]
    assert [p.place.column for p in claim.unmatched if p.place] == [17]
    assert claim.remarks == ("inducer runs", "see pix", "first", "second")


def test_free_text_of_several_rows_keeps_its_places(read: Read, reader: Reader) -> None:
    claims, _ = read("claim,name,value,notes\nA1,igniter ohms,62,inducer runs\nA1,gas valve coil ohms,50,no flame\n")
    claim = reader.understood(claims[0])

    assert [(r.name, r.place.line) for r in claim.report.records if r.kind == "sign"] == [("inducer_runs", 2), ("flame_seen", 3)]


@pytest.mark.parametrize("heading", ["RO #", "RO#", "P.O.", "PO"])
def test_no_guess_is_made_of_a_heading_too_short_for_one(read: Read, heading: str) -> None:
    _, files = read(f"claim,{heading},igniter ohms\nA1,55,62\n")

    assert [("Did you mean" in p.fix, heading in p.message) for p in files.noted] == [(False, True)]


@pytest.mark.parametrize("text", ["limit, jumper on it", "jumper across limit"])
def test_a_danger_alone_is_something_that_was_understood(judged: Callable[..., list[Judgement]], text: str) -> None:
    (judgement,) = judged(f'claim,part,readings\nA1,limit switch,"{text}"\n')

    assert (judgement.verdict, judgement.unread, len(judgement.feared)) == ("not_shown", 1, 1)
    assert "but the danger" in judgement.says


@pytest.mark.parametrize("name", ["igniter ohms", "notes"])
@pytest.mark.parametrize("text", ["see pix", "see atached pix", "asdf qwer"])
def test_text_that_means_nothing_is_unreadable_wherever_and_however_it_is_written(judged: Callable[..., list[Judgement]], name: str, text: str) -> None:
    (judgement,) = judged(f"claim,complaint,{name}\nA1,no heat,{text}\n")

    assert (judgement.verdict, judgement.unread) == ("unreadable", 1)
    assert text in " ".join((*judgement.held_back, *judgement.unmatched))


def test_a_row_of_nothing_is_set_aside_with_place_and_reason(read: Read, judged: Callable[..., list[Judgement]]) -> None:
    """One of separators alone is noted, all such of a file together; a number without anything is set aside as a claim."""
    table = "claim,shop,complaint,igniter ohms,notes\n,,,,\nA1,Oak,,,\nA2,Oak,no heat,,\n ,,,,\nA3,Oak,,-,\n"
    _, files = read(table)
    empty, complained, dash = judged(table)

    assert [(p.place.line, "2 rows hold nothing" in p.message) for p in files.noted if p.place] == [(2, True)]
    assert (empty.verdict, empty.place.rpartition("claims.csv")[2]) == ("unreadable", ":3:1")
    assert "nothing to judge" in empty.says
    assert [complained.verdict, dash.verdict] == ["not_shown", "not_shown"]


@pytest.mark.parametrize(
    "text",
    [
        "board was swaped ... no change",
        "board was swapped and no change",
        "board: was swaped, no change",
        "swapped out board last week, no change",
        "board was swaped 11/3 with no change",
        "board was swapped. no change",
        "replaced the board; still no heat",
        "put new board in, same problem",
    ],
)
def test_a_new_board_that_changed_nothing_is_history_and_no_blame_of_the_board(judged: Callable[..., list[Judgement]], text: str) -> None:
    """Whoever tells that a new board made no difference tells against the board."""
    told, without = judged(f"claim,igniter ohms,notes\nA1,62,{quoted(text)}\nA2,62,\n")
    history = [r for r in told.records if "history" in r]

    assert [(r["history"], r["value"]) for r in history] == [("control_board", "replaced_no_change")]
    assert told.unmatched == ()
    assert told.share < without.share


@pytest.mark.parametrize("text", ["board was not swapped, no change", "wires swapped, no change", "board was swapped", "board swapped, works now"])
def test_what_tells_of_no_earlier_repair_is_no_history(read: Read, reader: Reader, text: str) -> None:
    claims, _ = read(f"claim,igniter ohms,notes\nA1,62,{quoted(text)}\n")

    assert [r.kind for r in reader.understood(claims[0]).report.records] == ["point"]


@pytest.mark.parametrize(
    ("text", "read_", "since"),
    [
        ("cleaned rod now 4.1 ua works fine", ["flame_rod"], []),
        ("cleaned rod, now reads 4.1 ua, works fine", ["flame_rod"], []),
        ("cleaned rod 4.1 ua now works fine", ["flame_rod"], []),
        ("cleaned rod works fine, flame current 4.1 ua", ["flame_rod"], ["flame_current"]),
        ("flame current 0.3 ua; cleaned rod works fine; igniter glows", ["flame_current", "flame_rod"], ["igniter_glows"]),
        ("no blower at heating; swapped board and it came to life; blower runs at heating", ["blower_runs"], ["blower_runs"]),
        ("swapped board, works great; board scorched", ["board_scorched"], []),  # of the old one: nothing that a mended furnace does
        ("board swapped, no change; no blower at heating", ["control_board", "blower_runs"], []),  # it was not mended
    ],
)
def test_what_a_mended_furnace_does_is_no_reading_of_its_failure(read: Read, reader: Reader, text: str, read_: list[str], since: list[str]) -> None:
    """A rod that reads well once it was cleaned tells nothing against the rod, and a blower that runs on a new board nothing for the old one."""
    (raw,), _ = read(f'claim,readings\nA1,"{text}"\n')
    claim = reader.understood(raw)

    assert [r.name for r in claim.report.records] == read_
    assert [p.message.partition(":")[0] for p in claim.notes] == since
    assert all("stands after what put the furnace right" in p.message for p in claim.notes)
    assert not claim.unmatched
    assert not claim.unread


@pytest.mark.parametrize("part", ["control board", "inducer"])
def test_a_new_part_other_than_the_claimed_one_is_no_remark(read: Read, reader: Reader, part: str) -> None:
    (raw,), _ = read(f'claim,part,readings\nA1,{part},"swapped board and it came to life"\n')

    assert bool(reader.understood(raw).unmatched) == (part != "control board")


def quoted(text: str) -> str:
    return f'"{text}"'


@pytest.mark.parametrize(
    ("heading", "field"),
    [
        *((h, "claim") for h in ("RMA#", "RMA #", "RMA No.", "WO #", "Wo No.", "Work Order", "Work order #", "W/O #", "Job no.")),
        *((h, "complaint") for h in ("Cust says", "Customer says", "CUST. SAYS", "Owner states", "Symptoms")),
        *((h, "date") for h in ("Rcvd", "Received", "Rec'd", "Date rcvd")),
        *((h, "part") for h in ("Bad part", "Part failed", "Part sent back")),
        *((h, "readings") for h in ("Found", "What tech found", "Shop notes", "Tech notes")),
    ],
)
def test_the_usual_headings_of_a_shop_are_known_without_a_map(reader: Reader, heading: str, field: str) -> None:
    column = reader.headings[reader.first].column(heading, of_records=False)  # common practice, no source

    assert isinstance(column, Column)
    assert (column.holds, column.name) == ("claim", field)


def test_a_work_order_is_the_number_only_where_no_other_column_is(read: Read) -> None:
    (both,), files = read("WO #,Claim no,Rcvd,Service date,igniter ohms\nW1,C1,1/31/26,1/30/26,62\n")
    (alone,), none_noted = read("WO #,Rcvd,igniter ohms\nW1,1/31/26,62\n")

    assert (both.id, both.fields["date"].text) == ("C1", "1/30/26")
    assert [p.place.column for p in files.noted if p.place] == [1, 15]
    assert [p.message.partition(" is not read: another tells the ")[2] for p in files.noted] == ["claim.", "date."]
    assert (alone.id, alone.fields["date"].text, none_noted.noted) == ("W1", "1/31/26", [])


@pytest.mark.parametrize("heading", ["Age", "Dealer says", "Tech", "Hours", "Labor", "Model", "Zip", "State", "Cust phone", "Part age"])
def test_a_heading_that_is_not_read_is_told_so_and_offered_no_record(read: Read, reader: Reader, heading: str) -> None:
    (raw,), files = read(f"claim,igniter ohms,{heading}\nA1,62,6\n")
    (told,) = map(str, files.noted)
    offered = told.partition("Did you mean ")[2].rstrip("?").split(" or ")

    assert f"{heading} is not read" in told
    assert not {*offered} - {"", *CLAIM_FIELDS}
    assert [r.name for r in reader.understood(raw).report.records] == ["igniter_ohms"]


@pytest.mark.parametrize(
    "part",
    ["IFC board", "IFC", "integrated control", "fan ctrl bd", "fan control board", "Control", "ctrl brd", "ign control", "ignition control", "ign ctrl board",
     "circuit board", "bd", "blower ctrl bd", "main control", "motherboard", "ctrl"],
)  # fmt: skip
def test_every_name_of_the_one_control_of_this_family_is_the_boards(read: Read, reader: Reader, part: str) -> None:
    (raw,), _ = read(f"claim,part,igniter ohms\nA1,{part},62\n")  # common practice, no source

    claim = reader.understood(raw)
    assert (claim.part, claim.fatal) == ("control_board", ())


@pytest.mark.parametrize(("part", "meant"), [("zone control", "other_control"), ("limit control", "limit_switch"), ("gas control", "gas_valve")])
def test_another_control_is_no_board(read: Read, reader: Reader, part: str, meant: str) -> None:
    (raw,), _ = read(f"claim,part,igniter ohms\nA1,{part},62\n")

    assert reader.understood(raw).part == meant


@pytest.mark.parametrize("part", ["motor", "switch", "controls", "fan control", "inducer control"])
def test_a_part_that_could_be_several_is_not_guessed(read: Read, reader: Reader, part: str) -> None:
    (raw,), _ = read(f"claim,part,igniter ohms\nA1,{part},62\n")

    assert [printed for printed in map(str, reader.understood(raw).fatal) if part in printed]


@pytest.mark.parametrize(
    ("said", "part"),
    [
        ("circuit brd", "control_board"), ("bad board", "control_board"), ("Board, control", "control_board"), ("control brd", "control_board"),
        ("brd control", "control_board"), ("board bad", "control_board"), ("defective control board", "control_board"), ("new board", "control_board"),
        ("bad ps", "pressure_switch"), ("Switch, pressure", "pressure_switch"), ("igniter, hot surface", "igniter"), ("motor, blower", "blower_motor"),
        ("Valve, gas", "gas_valve"), ("plug, board", "board_plug"), ("bad blower motor", "blower_motor"),
    ],
)  # fmt: skip
def test_a_part_is_known_in_any_order_of_its_words_and_with_what_is_thought_of_it(read: Read, reader: Reader, said: str, part: str) -> None:
    (raw,), _ = read(f'claim,part,readings\n1,"{said}",inducer runs\n')

    assert (reader.understood(raw).part, reader.understood(raw).fatal) == (part, ())


@pytest.mark.parametrize("said", ["board, igniter", "igniter and board", "not the board", "bad", "switch", "circuit"])
def test_what_names_no_part_or_two_is_not_taken_for_one(read: Read, reader: Reader, said: str) -> None:
    (raw,), _ = read(f'claim,part,readings\n1,"{said}",inducer runs\n')

    assert reader.understood(raw).fatal


@pytest.mark.parametrize(
    ("heading", "field"),
    [("What they want paid", "part"), ("Homeowner said", "complaint"), ("Tech's story", "readings"), ("Owner reports", "complaint")],
)
def test_headings_as_shops_write_them_are_known(reader: Reader, heading: str, field: str) -> None:
    column = reader.headings[reader.first].column(heading, of_records=False)

    assert isinstance(column, Column)
    assert (column.holds, column.name) == ("claim", field)


@pytest.mark.parametrize(
    ("heading", "point"),
    [("HEAT tap V", "heat_terminal_to_neutral"), ("W to C VAC", "w_to_c_at_board"), ("PS return to C volts", "pressure_switch_return_to_c")],
)
def test_a_heading_may_end_in_volts(reader: Reader, heading: str, point: str) -> None:
    column = reader.headings[reader.first].column(heading, of_records=False)

    assert isinstance(column, Column)
    assert column.name == point


def test_a_heading_that_ends_in_v_is_that_of_the_voltage(read: Read, reader: Reader) -> None:
    told = [reader.understood(read(f"claim,{heading}\n1,119.5\n")[0][0]).report.records for heading in ("Line V", "Line voltage")]

    assert [[(r.name, r.number) for r in records] for records in told] == [[(told[1][0].name, 119.5)]] * 2


def test_a_heading_that_means_nothing_is_told_where_a_part_and_a_complaint_go(reader: Reader) -> None:
    advice = reader.headings[reader.first].column("Blah foo", of_records=False)

    assert isinstance(advice, str)
    assert all(word in advice for word in ("called part", "complaint", "readings"))


def test_a_claim_whose_text_no_heading_tells_of_says_so(read: Read, reader: Reader) -> None:
    (raw,), _ = read("claim,part,Blah foo\n1,control board,inducer runs and no glow\n")
    (problem,) = reader.understood(raw).fatal

    assert "holds text that was not read" in problem.message
    assert "inducer runs and no glow" in problem.message
    (empty,), _ = read("claim,part,Blah foo\n1,control board,\n")
    assert "holds nothing to judge" in reader.understood(empty).fatal[0].message


@pytest.mark.parametrize(
    ("complaint", "is_told"),
    [
        ("filter was solid black, new filter in and fine since", True),
        ("no heat", False),  # nothing is left out
        ("blower won't start", False),  # read
    ],
)
def test_a_complaint_that_names_a_part_and_is_not_read_is_told(judged: Callable[..., list[Judgement]], complaint: str, *, is_told: bool) -> None:
    (judgement,) = judged(f'claim,complaint,readings\n1,"{complaint}",inducer runs\n')

    assert any("Nothing of the complaint" in text for text in judgement.unmatched) is is_told
    assert judgement.unread == int(is_told)
    assert "not all understood" not in judgement.says  # it is hearsay
