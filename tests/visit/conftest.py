"""A visit that has just begun."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.visit.journal import Journal
from furnace_diag.visit.lines import Reader
from furnace_diag.visit.session import Session


@pytest.fixture(scope="session")
def reader_at_hand(evidence: Evidence) -> Reader:
    """What reads lines; it keeps nothing but what it would find again, so it is made once."""
    return Reader(evidence.vocabulary)


@pytest.fixture
def session(tmp_path: Path, evidence: Evidence, reader_at_hand: Reader) -> Iterator[Session]:
    journal = Journal(tmp_path / "v.jsonl", new=True)
    begun = Session(evidence.knowledge, evidence, journal, evidence.family.furnace.furnace)
    begun.reader = reader_at_hand
    yield begun
    journal.close()
