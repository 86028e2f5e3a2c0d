"""What the tests share: the rules, the family and its population, built once in a folder of the tests' own."""

from __future__ import annotations

import gc
import os
from pathlib import Path

import pytest
from filelock import FileLock

from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.furnace.family import Family
from furnace_diag.furnace.population import Population
from furnace_diag.furnace.store import population_for
from furnace_diag.knowledge.models import Knowledge
from tests.ours import our_rules

TOP = Path(__file__).resolve().parents[1]

os.environ["FURNACE_DIAG_TRACEBACK"] = "1"  # a fault of the program is to fail a test with all that Python says of it
gc.set_threshold(200_000, 50, 100)  # the rules and the furnaces of a run are many objects and no garbage: looking through them was a sixth of the time


@pytest.fixture(scope="session")
def store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where populations are kept: the folder that FURNACE_DIAG_TEST_STORE names, else one of this run's, shared by its workers."""
    ready = os.environ.get("FURNACE_DIAG_TEST_STORE")
    base = tmp_path_factory.getbasetemp()
    shared = base.parent if "PYTEST_XDIST_WORKER" in os.environ else base
    folder = Path(ready) if ready else shared / "store"
    folder.mkdir(exist_ok=True)
    return folder


@pytest.fixture(scope="session")
def knowledge() -> Knowledge:
    return our_rules()


@pytest.fixture(scope="session")
def family(knowledge: Knowledge) -> Family:
    return Family(knowledge, next(iter(knowledge.furnace)))


@pytest.fixture(scope="session")
def population(family: Family, store: Path) -> Population:
    with FileLock(store / "furnaces.lock"):  # the other workers wait for the one that builds: each building its own, they took several times as long
        return population_for(family, folder=store)


@pytest.fixture(scope="session")
def evidence(family: Family, population: Population) -> Evidence:
    return Evidence(family, population)
