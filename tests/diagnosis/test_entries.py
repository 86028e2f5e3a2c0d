"""What is plainly right in a report is what the validator makes of it too; only what may not be is left to the validator."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from furnace_diag.diagnosis.entries import METERS, RecordEntry, ReportEntry, plain_record, plain_report
from furnace_diag.diagnosis.records import SET_UPS
from furnace_diag.knowledge.checked import validate
from furnace_diag.knowledge.yaml_text import Document, document_at, read_yaml
from furnace_diag.problems import Place

TOP = Path(__file__).resolve().parents[2]
CASES = sorted((TOP / "cases").glob("*.yaml"))


def document(value: object) -> Document:
    return document_at(value, Place("report.yaml", 1, 1))  # type: ignore[arg-type]


words = [w for meter in METERS.items() for w in (meter[0], *meter[1])]
texts = st.one_of(
    st.text(max_size=8),
    st.sampled_from([*words, *SET_UPS, "pin", "crimp", "load", "min", "max", "measured", "seen", "told", "yes", "no", "True", "false", "on", "y" * 501]),
    st.integers(-2, 120).map(str),
    st.floats(allow_nan=True).map(str),
    st.sampled_from(["007", "1_0", " 5", "5 ", "٣", "1e3", "86400.5", "9999.999", "99", "100", "+4", "4."]),
)
trees = st.recursive(texts, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=4), inner, max_size=3), max_leaves=4)
records = st.dictionaries(st.sampled_from([*RecordEntry.model_fields, "other"]), texts | trees, max_size=4)
furnaces = st.fixed_dictionaries({}, optional={"family": texts, "options": st.dictionaries(st.text(max_size=4), texts | trees, max_size=2), "x": texts})
reports = st.fixed_dictionaries(
    {},
    optional={"records": st.lists(records | texts, max_size=3) | trees, "furnace": furnaces | trees, "complaint": texts, "story": texts, "answer": trees},
)


@given(records)
def test_a_record_that_is_plainly_right_is_right(written: dict[str, object]) -> None:
    plainly = plain_record(written)

    if plainly is not None:
        judged, problems = validate(RecordEntry, document(written))
        assert problems == []
        assert repr(judged) == repr(plainly)
        assert vars(judged) == vars(plainly)  # what was not written is not there either


@given(reports)
def test_a_report_that_is_plainly_right_is_right(written: dict[str, object]) -> None:
    plainly = plain_report(written)

    if plainly is not None:
        judged, problems = validate(ReportEntry, document(written))
        assert problems == []
        assert repr(judged) == repr(plainly)
        assert vars(judged) == vars(plainly)


def test_a_report_too_long_is_left_to_the_validator() -> None:
    assert plain_report({"records": [{"sign": "led", "value": "off"}] * 1000}) is not None
    assert plain_report({"records": [{"sign": "led", "value": "off"}] * 1001}) is None


@pytest.mark.parametrize("case", CASES, ids=[case.stem for case in CASES])
def test_the_cases_need_no_validator(case: Path) -> None:
    value = read_yaml(case).value
    assert isinstance(value, dict)
    report = plain_report(value)

    assert report is not None
    assert report.records
    assert None not in [plain_record(record) for record in report.records]
