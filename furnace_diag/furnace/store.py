"""The population, and what else is dear to make, kept on disk: arrays in one file and a page of JSON, under a hash of everything they were built from.

No pickle. What is damaged, foreign or of another version is built anew, never trusted: a seal beside the page is the
hash of the store's name and the page, the page holds the hash of the file of arrays, and the very bytes that were hashed
are the ones used. All arrays are in one file because that is read and hashed in less time than many. The hashes find damage
and mix-ups; they are no lock against someone who may write in the user's own cache folder. A store is written beside its
place and moved there whole, so that two processes building at once do no harm.
"""

from __future__ import annotations

import hashlib
import json
import math
import os
import time
from collections.abc import Iterable, Mapping
from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from furnace_diag.furnace.built import SEED, SITES, Population, Progress
from furnace_diag.furnace.family import Family, Fault

FORMAT = 6
ARRAYS = ("fault_of", "site_of", "stops", "rests", "table", "changed")
PAGE, SEAL, DATA = "page.json", "page.sha256", "arrays.raw"
WORK = ".new-"  # how the folder of a store that is being written starts
MOST_BYTES = 64_000_000  # of all arrays of a store
ALIGNED = 64  # bytes at whose multiples arrays begin
MOST_PAGE = 4_000_000
UNSOUND = (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError)  # what reading a store that cannot be trusted may raise
ABANDONED = 3600.0  # seconds after which an unfinished store is another process's litter


def default_folder() -> Path:
    """Where stores are kept: FURNACE_DIAG_CACHE if set, else the user's cache folder."""
    set_ = os.environ.get("FURNACE_DIAG_CACHE")
    if set_:
        return Path(set_)
    from platformdirs import user_cache_path

    return user_cache_path("furnace_diag", appauthor=False)


def key_of(*what: str, code: Iterable[Path] | None = None) -> str:
    """The name of a store: a hash of all it is built from, the program's own files among them (*code*; those of furnaces and rules if not given)."""
    digest = hashlib.sha256(str(FORMAT).encode())
    for text in what:
        digest.update(b"\0" + text.encode())
    rooms = Path(__file__).resolve().parents[1]
    for path in code if code is not None else sorted([*(rooms / "furnace").glob("*.py"), *(rooms / "knowledge").glob("*.py")]):
        digest.update(path.read_bytes())
    return digest.hexdigest()[:32]


def key_for(family: Family) -> str:
    """The name of the store of a family's population."""
    return key_of(family.knowledge.version, family.furnace.furnace, str(SITES), str(SEED))


def keep(folder: Path, key: str, page: Mapping[str, Any], arrays: Mapping[str, NDArray[Any]]) -> bool:
    """Write a store; False where the folder cannot be written (what is in it is then made each time). *page*: of JSON's own kinds."""
    import tempfile  # only needed to write

    try:
        folder.mkdir(parents=True, exist_ok=True)
        work = Path(tempfile.mkdtemp(prefix=WORK, dir=folder))
    except OSError:
        return False
    try:
        _write(work, key, page, arrays)
        _move(work, folder / key)
    except OSError:
        return False
    finally:
        _remove(work)
    with suppress(OSError):  # another process may be tidying too
        _drop_old(folder, key)
    return True


def kept(folder: Path, key: str) -> tuple[dict[str, Any], dict[str, NDArray[Any]]]:
    """The page and the arrays of a store. Raises OSError where there is none, ValueError and its like where it cannot be trusted (see UNSOUND)."""
    page = _page(folder / key, key)
    data = _data(folder / key / DATA, page["sha256"])
    return page, {name: _array(data, entry) for name, entry in page["arrays"].items()}


def save(population: Population, folder: Path, key: str) -> bool:
    """Write a population; False where the folder cannot be written."""
    page = {
        "family": population.family,
        "faults": [fault._asdict() for fault in population.faults],
        "steps": population.steps,
        "columns": [[*key, i] for key, i in population.columns.items()],
        "changed_columns": [[*key, i] for key, i in population.changed_columns.items()],
    }
    arrays = {name: getattr(population, name) for name in ARRAYS}
    return keep(folder, key, page, arrays | {f"option-{name}": values for name, values in population.options.items()})


def _seal(key: str, page: bytes) -> str:
    return hashlib.sha256(key.encode() + b"\0" + page).hexdigest()


def _write(work: Path, key: str, page: Mapping[str, Any], arrays: Mapping[str, NDArray[Any]]) -> None:
    described, data = {}, bytearray()
    for name, array in arrays.items():
        described[name] = {"dtype": array.dtype.str, "shape": list(array.shape), "at": len(data)}
        data += np.ascontiguousarray(array).tobytes()
        data += bytes(-len(data) % ALIGNED)
    (work / DATA).write_bytes(data)
    text = json.dumps({**page, "arrays": described, "sha256": hashlib.sha256(data).hexdigest()}).encode()
    (work / PAGE).write_bytes(text)
    (work / SEAL).write_text(_seal(key, text), encoding="ascii")


def _move(work: Path, target: Path) -> None:
    """Put *work* in the place of *target*, whatever is there."""
    aside = work.with_name(work.name + "-old")
    with suppress(OSError):
        target.rename(aside)
    try:
        work.rename(target)
    except OSError:
        if not target.exists():  # somebody else's store may have come first, and is as good
            raise
    finally:
        _remove(aside)


def _drop_old(folder: Path, key: str, keep: int = 3) -> None:
    stores = [p for p in folder.iterdir() if p.is_dir() and len(p.name) == 32 and p.name != key and (p / PAGE).is_file()]
    litter = [p for p in folder.glob(f"{WORK}*") if time.time() - p.stat().st_mtime > ABANDONED]
    for old in sorted(stores, key=lambda p: p.stat().st_mtime, reverse=True)[keep - 1 :] + litter:
        _remove(old)


def _remove(folder: Path) -> None:
    """As far as that can be done."""
    import shutil  # only needed to write

    shutil.rmtree(folder, ignore_errors=True)


def load(folder: Path, key: str) -> Population | None:
    """A stored population; None where there is none or it cannot be trusted."""
    try:
        page, arrays = kept(folder, key)
        population = Population(
            family=page["family"],
            faults=tuple(Fault(**fault) for fault in page["faults"]),
            steps=tuple(page["steps"]),
            options={name.removeprefix("option-"): values for name, values in arrays.items() if name.startswith("option-")},
            columns={(point, step, meter): int(i) for point, step, meter, i in page["columns"]},
            changed_columns={(point, step, meter): int(i) for point, step, meter, i in page["changed_columns"]},
            fault_of=arrays["fault_of"],
            site_of=arrays["site_of"],
            stops=arrays["stops"],
            rests=arrays["rests"],
            table=arrays["table"],
            changed=arrays["changed"],
        )
        return population if _whole(population) else None
    except UNSOUND:
        return None


def _page(store: Path, key: str) -> dict[str, Any]:
    path = store / PAGE
    if path.stat().st_size > MOST_PAGE:
        raise ValueError("a foreign page")
    page = path.read_bytes()
    if (store / SEAL).read_text(encoding="ascii") != _seal(key, page):
        raise ValueError("a damaged or foreign page")
    read: dict[str, Any] = json.loads(page)
    return read


def _data(path: Path, sha256: str) -> NDArray[np.uint8]:
    if path.stat().st_size > MOST_BYTES:
        raise ValueError("foreign arrays")
    data = np.fromfile(path, np.uint8)  # numpy's own memory takes half the time that bytes take
    if hashlib.sha256(data.data).hexdigest() != sha256:
        raise ValueError("damaged arrays")
    data.flags.writeable = False
    return data


def _array(data: NDArray[np.uint8], entry: dict[str, Any]) -> NDArray[Any]:
    shape, start = tuple(int(n) for n in entry["shape"]), int(entry["at"])
    dtype = np.dtype(entry["dtype"])
    if dtype.hasobject:
        raise ValueError("a foreign array")
    return np.asarray(data[start : start + math.prod(shape) * dtype.itemsize].view(dtype).reshape(shape))


def _whole(p: Population) -> bool:
    rows = len(p.fault_of)
    tables = ((p.table, p.columns), (p.changed, p.changed_columns))
    return all(table.shape == (len(columns), rows) for table, columns in tables) and all(len(v) == rows for v in (p.stops, p.rests, p.site_of))


def build(family: Family, *, tell: Progress | None = None) -> Population:
    """The population made anew."""
    from furnace_diag.furnace.build import build_in_halves

    return build_in_halves(family, tell=tell)


def population_for(family: Family, *, tell: Progress | None = None, folder: Path | None = None) -> Population:
    """The family's population: from the store if it is there and whole, else built and stored."""
    place = folder or default_folder()
    key = key_for(family)
    found = load(place, key)
    if found is None:
        found = build(family, tell=tell)
        save(found, place, key)
    return replace(found, home=place / key)
