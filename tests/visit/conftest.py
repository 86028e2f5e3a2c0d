"""A visit that has just begun."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.visit.journal import Journal
from furnace_diag.visit.session import Session


@pytest.fixture
def session(tmp_path: Path, evidence: Evidence) -> Iterator[Session]:
    journal = Journal(tmp_path / "v.jsonl", new=True)
    yield Session(evidence.knowledge, evidence, journal, evidence.family.furnace.furnace)
    journal.close()
