"""What the tests of claims share: files written in a folder of their own, and a judge made once."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from furnace_diag.claims.desk import Desk, Judgement
from furnace_diag.claims.raw_claim import RawClaim
from furnace_diag.claims.reading import Files
from furnace_diag.claims.understanding import Reader
from furnace_diag.furnace.family import Family
from furnace_diag.furnace.population import Population
from furnace_diag.knowledge.models import Knowledge

TODAY = date(2026, 6, 1)


@pytest.fixture(scope="session")
def reader(knowledge: Knowledge) -> Reader:
    return Reader(knowledge, TODAY)


@pytest.fixture(scope="session")
def desk(knowledge: Knowledge, family: Family, population: Population) -> Desk:
    return Desk(knowledge, lambda _: (family, population))


Read = Callable[..., tuple[list[RawClaim], Files]]


@pytest.fixture
def read(tmp_path: Path, reader: Reader) -> Read:
    """Writes a file and reads it: the claims as they were written, and the files with what was noted."""

    def read(content: str | bytes, name: str = "claims.csv") -> tuple[list[RawClaim], Files]:
        path = tmp_path / name
        path.write_bytes(content.encode() if isinstance(content, str) else content)
        files = Files((path,), reader.headings[reader.first])
        return list(files.claims()), files

    return read


@pytest.fixture
def judged(read: Read, reader: Reader, desk: Desk) -> Callable[..., list[Judgement]]:
    """The judgements of a file's claims."""
    return lambda content, name="claims.csv": [desk.judge(reader.understood(raw)) for raw in read(content, name)[0]]
