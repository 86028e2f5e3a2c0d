"""What the tests share: the rules, the family and its population, built once in a folder of the tests' own."""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Iterator
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


def _of_this_run(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder of this run that its workers share."""
    base = tmp_path_factory.getbasetemp()
    return base.parent if "PYTEST_XDIST_WORKER" in os.environ else base


@pytest.fixture(scope="session")
def store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where populations are kept: the folder that FURNACE_DIAG_TEST_STORE names, else one of this run's, shared by its workers."""
    ready = os.environ.get("FURNACE_DIAG_TEST_STORE")
    folder = Path(ready) if ready else _of_this_run(tmp_path_factory) / "store"
    folder.mkdir(exist_ok=True)
    return folder


@pytest.fixture(scope="session", autouse=True)
def _compiled_once(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Where nothing may be compiled into a cache, each process that a test starts compiles all modules anew, which is half of its start, measured: they
    share a folder of this run instead."""
    with pytest.MonkeyPatch.context() as patch:
        if sys.dont_write_bytecode:
            patch.delenv("PYTHONDONTWRITEBYTECODE", raising=False)
            patch.setenv("PYTHONPYCACHEPREFIX", str(_of_this_run(tmp_path_factory) / "compiled"))
        yield


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
