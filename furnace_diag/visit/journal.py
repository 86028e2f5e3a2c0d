"""The journal of a visit: one JSON line an event, on disk before the next prompt, each with the hash of the line before.

An edit of one line shows, because the next line's hash no longer fits. Somebody who writes the whole file anew can make
all hashes fit: only the last hash, kept elsewhere (the printed report has it), shows that.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Iterator, Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, NamedTuple

from furnace_diag.problems import BadInput, Place, Problem, printable
from furnace_diag.visit.kind import MOST_LINE

FORMAT = 1
MOST_BYTES = 16_000_000  # of a journal; a visit of a thousand entries takes a thirtieth of it
FIRST = "0" * 64  # what the first line names as the hash before it
SHOWN_CUT = 120  # characters of a half-written line that are shown


class Event(NamedTuple):
    """One line: its number from 1, when it was written (UTC, ISO 8601), what kind it is, and what it says."""

    number: int
    at: str
    event: str
    says: Mapping[str, Any]

    @property
    def seconds(self) -> float:
        """When it was written, in seconds since 1970."""
        return datetime.fromisoformat(self.at).timestamp()


def hash_of(line: bytes) -> str:
    """SHA-256 (FIPS 180-4) of one line without its end, in hexadecimal."""
    return hashlib.sha256(line).hexdigest()


def read_journal(path: Path) -> tuple[list[Event], str]:
    """All events of a journal and the hash of its last line; a last line without an end is left out. Raises BadInput for any other fault."""
    lines, _ = _lines(path)
    events, problems, last = _events(lines, str(path))
    if problems:
        raise BadInput(problems)
    return events, last


def journal_problems(path: Path) -> list[Problem]:
    """Every line that is not as it was written, as far as the hashes show. Raises BadInput if the file cannot be read at all."""
    lines, rest = _lines(path)
    _, problems, _ = _events(lines, str(path))
    if rest:
        place = Place(str(path), len(lines) + 1, 1)
        problems.append(Problem(place, "The last line is only half written.", "furnace-diag visit --resume drops it and tells what it was."))
    return problems


def is_half_written(path: Path) -> bool:
    """Whether something follows the last whole line. Raises BadInput if the file cannot be read."""
    return bool(_lines(path)[1])


class InUse(BadInput):
    """A journal is open in another process. The system lets go of it as soon as that ends, however it ends."""


class Journal:
    """A journal open for writing; nobody else can open it until it is closed or this process ends."""

    def __init__(self, path: Path, *, new: bool) -> None:
        """Raises BadInput where it cannot be opened: it exists though it should be *new* or the other way round, is in use, or was changed."""
        from filelock import FileLock

        self.path = path
        self._lock = FileLock(f"{path}.lock")
        self._hold()
        try:
            self.events, self.last_hash, self.repaired = ([], FIRST, "") if new else self._take_up()
            flags = os.O_WRONLY | os.O_APPEND | (os.O_CREAT | os.O_EXCL if new else 0)
            self._file = os.open(path, flags, 0o600)
        except FileExistsError:
            self._lock.release()
            fix = f"furnace-diag visit --resume {printable(str(path))} goes on with it; or choose another name."
            raise BadInput([Problem(None, f"{printable(str(path))} is there already.", fix)]) from None
        except BaseException:
            self._lock.release()
            raise
        if new:
            _sync_folder(path.parent)

    def _hold(self) -> None:
        from filelock import Timeout

        try:
            self._lock.acquire(timeout=0)
        except Timeout:
            said = f"The visit {printable(str(self.path))} is open in another window."
            raise InUse([Problem(None, said, "Close it there first, or go on there.")]) from None
        except OSError as error:
            fix = "Name a folder that you may write to, with --file."
            raise BadInput([Problem(None, f"{printable(str(self.path))} cannot be written: {error.strerror}.", fix)]) from None

    def _take_up(self) -> tuple[list[Event], str, str]:
        """What is there, with a half-written last line taken off and told."""
        lines, rest = _lines(self.path)
        events, problems, last = _events(lines, str(self.path))
        if problems:
            raise BadInput(problems)
        if not rest:
            self._end_last_line()
            return events, last, ""
        with self.path.open("r+b") as file:
            file.truncate(sum(len(line) + 1 for line in lines))
            os.fsync(file.fileno())
        shown = printable(rest.decode("utf-8", "replace"), SHOWN_CUT)
        return events, last, f"The last line was only half written and was taken off: {shown}"

    def _end_last_line(self) -> None:
        with self.path.open("r+b") as file:
            file.seek(-1, os.SEEK_END)
            if file.read(1) != b"\n":
                file.write(b"\n")
                os.fsync(file.fileno())

    def append(self, event: str, says: Mapping[str, Any]) -> Event:
        """Write one event; it is on the disk when this returns.

        Raises OSError where it cannot be written (a full disk): then nothing of it stays in the file.
        """
        made = Event(len(self.events) + 1, datetime.now(UTC).isoformat(timespec="milliseconds"), event, dict(says))
        entry = {"n": made.number, "at": made.at, "event": event, **made.says, "before": self.last_hash}
        line = json.dumps(entry, ensure_ascii=True, separators=(",", ":")).encode("ascii")
        if len(line) > MOST_LINE:
            raise BadInput([Problem(None, "This entry is too long to keep.", "Say it in fewer words.")])
        size = os.fstat(self._file).st_size
        try:
            _write(self._file, line + b"\n")
            os.fsync(self._file)
        except BaseException:  # Ctrl-C as well
            os.ftruncate(self._file, size)
            raise
        self.events.append(made)
        self.last_hash = hash_of(line)
        return made

    def close(self) -> None:
        """Let go of the file."""
        os.close(self._file)
        self._lock.release()


def _write(file: int, data: bytes) -> None:
    """All of *data*: the system may take it in pieces."""
    while data:
        data = data[os.write(file, data) :]


def _sync_folder(folder: Path) -> None:
    """A new file's name is on the disk too, where the system has a way to say so."""
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _lines(path: Path) -> tuple[list[bytes], bytes]:
    """The whole lines of a file and what follows the last of them. Raises BadInput."""
    try:
        if path.stat().st_size > MOST_BYTES:
            raise BadInput([Problem(Place(str(path), 1, 1), "This is too large for a visit.", "Name a file that furnace-diag visit wrote.")])
        data = path.read_bytes()
    except OSError as error:
        raise BadInput([Problem(None, f"{printable(str(path))} cannot be read: {error.strerror}.", "Check the name.")]) from None
    *lines, rest = data.split(b"\n")
    if _entry(rest) is not None:  # whole, and only its end is missing: an editor or a copy took it off
        return [*lines, rest], b""
    return lines, rest


def _events(lines: list[bytes], file: str) -> tuple[list[Event], list[Problem], str]:
    """Events, what is wrong with the lines, and the hash of the last one."""
    events: list[Event] = []
    problems: list[Problem] = []
    before = FIRST
    for number, line in enumerate(lines, 1):
        problems += _faults(line, number, before, Place(file, number, 1))
        entry = _entry(line)
        if entry is not None and not problems:
            says = {k: v for k, v in entry.items() if k not in ("n", "at", "event", "before")}
            events.append(Event(number, entry["at"], entry["event"], says))
        before = hash_of(line)
    if not lines:
        problems.append(Problem(Place(file, 1, 1), "There is no visit in this file.", "Name a file that furnace-diag visit wrote."))
    return events, problems, before


def _entry(line: bytes) -> dict[str, Any] | None:
    try:
        entry = json.loads(line) if len(line) <= MOST_LINE else None
    except (ValueError, RecursionError):
        return None
    return entry if isinstance(entry, dict) and isinstance(entry.get("event"), str) and _is_time(entry.get("at")) else None


def _is_time(text: object) -> bool:
    try:
        return isinstance(text, str) and datetime.fromisoformat(text).tzinfo is not None
    except ValueError:
        return False


def _faults(line: bytes, number: int, before: str, place: Place) -> Iterator[Problem]:
    entry = _entry(line)
    if entry is None:
        yield Problem(place, "This line is no event of a visit.", "It was changed, or the file is not one that furnace-diag visit wrote.")
        return
    if entry.get("n") != number:
        yield Problem(place, f"This line says that it is number {printable(str(entry.get('n')))}, but it is number {number}.", "Lines were added or taken out.")
    if entry.get("before") != before:
        said = "The line before this one is not the one that stood there when this was written."
        yield Problem(place, said, "One of the two was changed, or a line was taken out between them.")
    if number == 1 and (entry["event"] != "opened" or entry.get("format") != FORMAT):
        yield Problem(place, "This is not the first line of a visit of this format.", "Name a file that furnace-diag visit wrote.")
