"""Reading YAML from strangers: every scalar as text, every value with its place, nothing evaluated.

YAML's own typing is not used: it turns `off` into false and `1:30` into 90. What a reader could misjudge or a
hostile file could abuse (aliases, tags, merge keys, duplicate keys, deep nesting) is refused with its place.
The file is walked once, as events, with an explicit stack: no depth of nesting can exhaust Python's own.
"""

from __future__ import annotations

import re
import stat
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final, NamedTuple, NoReturn

import yaml

from furnace_diag.problems import BadInput, Place, Problem, printable

# Data
# ----------------------------------------------------------------------------------------------------

MOST_BYTES: Final = 1_000_000
DEEPEST: Final = 32
MOST_NODES: Final = 100_000
MOST_PROBLEMS: Final = 50  # told of one file; a file with more is best mended from the top

# The C parser where PyYAML was built with it, several times as fast; both give the same events and places.
_LOADER: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)

# Characters that would let a file look different from what it says, or move a terminal's cursor. The odd line
# ends U+0085 and U+2028 are here too: YAML counts lines at them and editors do not; places would be wrong.
_FORBIDDEN: Final = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ud800-\udfff\ufeff\ufffe\uffff]"
)
_LINE_END: Final = re.compile(r"\r\n|\r|\n")


class _Plainly(NamedTuple):
    """What a complaint of the YAML parser means, told by pieces of what the C or the Python parser says."""

    said: tuple[str, ...]
    message: str
    fix: str
    at_opening: bool = False  # tell the place where the unfinished thing began, not where the parser noticed


_KEY_OR_QUOTE: Final = "If a key begins this line, indent it as the key above. Else put the text in quotes."
_INDENT: Final = "Give the entries of one block the same indentation, with spaces."
_QUOTE: Final = "Put the text in quotes."
_CLOSE: Final = "Add what is missing."
_BAD_CODE: Final = "Text in double quotes has a backslash with an unknown meaning."
_SYNTAX: Final = (
    _Plainly(("directive",), "Lines that start with % are not used here.", "Remove the line."),
    _Plainly(("end of stream", "unexpected document"), "A quote opened here is never closed.", _CLOSE, True),
    _Plainly(("',' or ']'",), "The list opened here has no closing ] or lacks a comma.", _CLOSE, True),
    _Plainly(("',' or '}'",), "The block opened here has no closing } or lacks a comma.", _CLOSE, True),
    _Plainly(("expected ':'",), "A colon is missing after the key.", 'Write "key: value", with the space.'),
    _Plainly(("mapping values",), "A second colon stands where only a value can stand.", _KEY_OR_QUOTE),
    _Plainly(("sequence entries",), "A list entry cannot start here.", "Put each - on a line of its own."),
    _Plainly(("mapping keys",), "A key cannot start here.", "Put each key on a line of its own."),
    _Plainly(("tab character", "'\\t'"), "A tab is used for indentation.", "Use spaces instead."),
    _Plainly(
        ("cannot start any token",),
        "A value cannot start with this character (a tab, a % or the like).",
        "Indent with spaces, or put the text in quotes.",
    ),
    _Plainly(("escape", "hexdecimal"), _BAD_CODE, "Use single quotes."),
    _Plainly(("<block end>", "expected key"), "The indentation does not fit the lines above.", _INDENT),
    _Plainly(("'-' indicator",), "The indentation does not fit the list above.", _INDENT),
    _Plainly(("document start",), "Something follows the end of the file's one block.", _INDENT),
    _Plainly(("node content",), "A value is missing or cannot start this way.", _QUOTE),
    _Plainly(("alphabetic", "alphanumeric"), "A value cannot start with * or &.", _QUOTE),
    _Plainly(("tag",), "A value cannot start with !.", _QUOTE),
    _Plainly(("",), "This cannot be read as YAML.", "Check quotes, colons and indentation here."),
)

Tree = dict[str, Any] | list[Any] | str


class _Spot(NamedTuple):
    """Where a value starts (from 0), where the values inside it do, and where a mapping's keys do."""

    line: int
    column: int
    inside: dict[str, Any] | list[Any] | None = None
    keys: dict[str, tuple[int, int]] | None = None


# Code
# ----------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Document:
    """A file's content, all scalars as text, together with where each value stands."""

    file: str
    value: Tree
    _spot: _Spot = field(repr=False, compare=False)

    def place_of(self, path: tuple[str | int, ...], *, key: bool = False) -> Place:
        """Where the value at *path* starts, or the nearest parent's place when there is no such value.

        A value left empty after its key has the key's place. With *key*, where the key itself starts.
        """
        spot, line, column = self._spot, self._spot.line, self._spot.column
        for step in path:
            inner = _inside(spot, step)
            if inner is None:
                break
            line, column = spot.keys[step] if key and spot.keys and isinstance(step, str) else inner[:2]
            spot = inner
        return Place(self.file, line + 1, column + 1)


def document_at(value: Tree, place: Place) -> Document:
    """*value* as a document that stands at one *place*, such as a line of another kind of file; its scalars must be text."""
    return Document(place.file, value, _Spot(place.line - 1, place.column - 1))


def document_of(file: str, value: Tree, where: Callable[[tuple[str | int, ...]], tuple[int, int]]) -> Document:
    """A document of values that came some other way, such as from a table; *where*: line and column of the value at a path, from 1."""

    def spot(inner: Tree, path: tuple[str | int, ...]) -> _Spot:
        line, column = where(path)
        inside: dict[str, Any] | list[Any] | None = None
        if isinstance(inner, dict):
            inside = {key: spot(v, (*path, key)) for key, v in inner.items()}
        elif isinstance(inner, list):
            inside = [spot(v, (*path, i)) for i, v in enumerate(inner)]
        return _Spot(line - 1, column - 1, inside)

    return Document(file, value, spot(value, ()))


def _inside(spot: _Spot, step: str | int) -> _Spot | None:
    if isinstance(spot.inside, dict) and isinstance(step, str):
        return spot.inside.get(step)
    if isinstance(spot.inside, list) and isinstance(step, int) and 0 <= step < len(spot.inside):
        inner: _Spot = spot.inside[step]
        return inner
    return None


def read_yaml(
    path: Path,
    *,
    shown_as: str | None = None,
    most_bytes: int = MOST_BYTES,
    deepest: int = DEEPEST,
    most_nodes: int = MOST_NODES,
    example: tuple[str, ...] = (),
) -> Document:
    """Read one file. *shown_as* is its name in places, the path itself when left out; *example* is shown if it is empty.

    Raises BadInput, with places, for whatever keeps the file from being read; see also `parse_yaml`.
    """
    file = str(path) if shown_as is None else shown_as
    text = _decoded(_bytes_of(path, file, most_bytes), file)
    return parse_yaml(text, file, most_bytes=most_bytes, deepest=deepest, most_nodes=most_nodes, example=example)


def parse_yaml(
    text: str,
    file: str,
    *,
    most_bytes: int = MOST_BYTES,
    deepest: int = DEEPEST,
    most_nodes: int = MOST_NODES,
    example: tuple[str, ...] = (),
) -> Document:
    """Read YAML from *text*; *file* is the name for places. A byte order mark at the start is skipped.

    Raises BadInput with all that was found wrong, at most `MOST_PROBLEMS`. A syntax error and an exceeded
    limit (*deepest* levels, *most_nodes* keys and values) end the reading: nothing after them is told.
    """
    if len(text) > most_bytes or len(text.encode("utf-8", "surrogatepass")) > most_bytes:
        _refuse_size(file, most_bytes)
    text = text.removeprefix("\ufeff")
    _refuse_forbidden(text, file)
    builder = _Builder(file, deepest, most_nodes, example)
    try:
        for event in yaml.parse(text, Loader=_LOADER):
            builder.take(event)
    except yaml.YAMLError as error:
        builder.stop(*_in_plain_words(error))
    return builder.document()


def _bytes_of(path: Path, file: str, most_bytes: int) -> bytes:
    """The file's bytes, never more than one above *most_bytes*. Raises BadInput."""
    try:
        mode = path.stat().st_mode
        if stat.S_ISDIR(mode):
            _refuse(file, "This is a folder, not a file.", "Name a file in it.")
        if not stat.S_ISREG(mode):  # opening a pipe would wait for ever
            _refuse(file, "This is not an ordinary file.", "Name a YAML file.")
        with path.open("rb") as stream:
            data = stream.read(most_bytes + 1)
    except FileNotFoundError:
        _refuse(file, "There is no such file.", "Check the name.")
    except PermissionError:
        _refuse(file, "This file may not be read.", "Check its permissions.")
    except (OSError, ValueError):  # ValueError: a NUL in the name
        _refuse(file, "This file cannot be opened.", "Check the name and the disk.")
    if len(data) > most_bytes:
        _refuse_size(file, most_bytes)
    return data


def _decoded(data: bytes, file: str) -> str:
    """*data* as text. Raises BadInput at the first byte that is not UTF-8."""
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError as error:
        before = data[: error.start].decode("utf-8").removeprefix("\ufeff")
        message = f"The byte 0x{data[error.start]:02x} is not UTF-8 text."
        _refuse(file, message, "Save the file as UTF-8.", *_end_of(before))


def _end_of(text: str) -> tuple[int, int]:
    """Line and column, from 0, of what would come after *text*."""
    ends = [found.end() for found in _LINE_END.finditer(text)]
    return len(ends), len(text) - (ends[-1] if ends else 0)


def _refuse_forbidden(text: str, file: str) -> None:
    found = _FORBIDDEN.search(text)
    if found:
        message = f"The file has the character {printable(found[0])}, which cannot be seen."
        _refuse(file, message, "Remove it, or type the text anew.", *_end_of(text[: found.start()]))


def _refuse_size(file: str, most_bytes: int) -> NoReturn:
    _refuse(file, f"The file is larger than {most_bytes:,} bytes.", "Split it into several files.")


def _refuse(file: str, message: str, fix: str, line: int = 0, column: int = 0) -> NoReturn:
    raise BadInput([Problem(Place(file, line + 1, column + 1), message, fix)]) from None


def _in_plain_words(error: yaml.YAMLError) -> tuple[str, str, int, int]:
    """Message, fix, line and column of what the parser complains of."""
    said = f"{getattr(error, 'context', '')}: {getattr(error, 'problem', '')}"
    plain = next(known for known in _SYNTAX if any(piece in said for piece in known.said))
    noticed, opened = getattr(error, "problem_mark", None), getattr(error, "context_mark", None)
    mark = (opened or noticed) if plain.at_opening else (noticed or opened)
    where = ""
    if plain.fix == _INDENT and noticed is not None and opened is not None and noticed.column != opened.column:
        where = f"This begins at column {noticed.column + 1}, its block at line {opened.line + 1}, column {opened.column + 1}. "
    return plain.message, where + plain.fix, getattr(mark, "line", 0), getattr(mark, "column", 0)


class _Open:
    """A mapping or list whose end has not come yet."""

    __slots__ = ("ignored", "key", "keys", "spots", "start", "value")

    def __init__(self, value: dict[str, Any] | list[Any], start: tuple[int, int]) -> None:
        self.value = value
        self.start = start
        self.spots: Any = type(value)()  # of the same shape, a `_Spot` for each value
        self.keys: dict[str, tuple[int, int]] = {}
        self.key: str | None = None  # the key whose value comes next
        self.ignored = False  # that key was refused, so its value goes nowhere


class _Builder:
    """Makes a `Document` of YAML events, collecting problems."""

    def __init__(self, file: str, deepest: int, most_nodes: int, example: tuple[str, ...]) -> None:
        self._file = file
        self._example = example
        self._deepest = deepest
        self._left = most_nodes
        self._most_nodes = most_nodes
        self._open: list[_Open] = []
        self._problems: list[Problem] = []
        self._root: tuple[Tree, _Spot] | None = None

    def take(self, event: Any) -> None:
        """One event of `yaml.parse`, in their order. Raises BadInput when it is useless to go on."""
        if isinstance(event, yaml.ScalarEvent):
            self._scalar(event)
        elif isinstance(event, yaml.MappingStartEvent):
            self._start({}, event)
        elif isinstance(event, yaml.SequenceStartEvent):
            self._start([], event)
        elif isinstance(event, yaml.CollectionEndEvent):
            self._end()
        elif isinstance(event, yaml.AliasEvent):
            self._note(
                "Aliases (*name) are not used here.",
                "Write the value out, or put it in quotes.",
                _mark(event),
            )
            self._put("", _Spot(*_mark(event)))
        elif isinstance(event, yaml.DocumentStartEvent) and self._root is not None:
            self.stop(
                "A second document starts here.",
                "Keep one document in a file: remove the ---.",
                *_mark(event),
            )

    def document(self) -> Document:
        """What was read. Raises BadInput when there were problems or there was nothing."""
        if not self._problems and (self._root is None or self._root[0] == ""):
            fix = "Write for instance:" if self._example else "Write its content, or remove the file."
            self._problems.append(Problem(Place(self._file, 1, 1), "The file is empty.", fix, self._example))
        if self._problems or self._root is None:
            raise BadInput(self._problems)
        return Document(self._file, *self._root)

    def stop(self, message: str, fix: str, line: int, column: int) -> NoReturn:
        """Raise BadInput with this problem after those found before."""
        self._problems.append(Problem(Place(self._file, line + 1, column + 1), message, fix))
        raise BadInput(self._problems) from None

    def _note(self, message: str, fix: str, mark: tuple[int, int]) -> None:
        if len(self._problems) + 1 >= MOST_PROBLEMS:
            self.stop(message, fix, *mark)
        self._problems.append(Problem(Place(self._file, mark[0] + 1, mark[1] + 1), message, fix))

    def _scalar(self, event: Any) -> None:
        mark = self._counted(event)
        text: str = event.value
        if event.style == '"' and _FORBIDDEN.search(text):  # only double quotes can hide one, as "\e" does
            self._note(
                f'"{printable(text)}" has a character that cannot be seen.',
                "Remove the backslash code.",
                mark,
            )
        if not text and not event.style:
            mark = self._of_nothing(mark)
        self._put(text, _Spot(*mark))

    def _of_nothing(self, mark: tuple[int, int]) -> tuple[int, int]:
        """Where a value that was left out stands: at its key. The two parsers disagree about "? a"."""
        parent = self._open[-1] if self._open else None
        return mark if parent is None or parent.key is None else parent.keys.get(parent.key, mark)

    def _start(self, value: dict[str, Any] | list[Any], event: Any) -> None:
        mark = self._counted(event)
        if len(self._open) >= self._deepest:
            self.stop(f"The nesting is deeper than {self._deepest} levels.", "Write it flatter.", *mark)
        self._open.append(_Open(value, mark))

    def _end(self) -> None:
        done = self._open.pop()
        self._put(done.value, _Spot(*done.start, done.spots, done.keys or None))

    def _counted(self, event: Any) -> tuple[int, int]:
        """Where the event's node starts, after refusing what no node may carry."""
        mark = _mark(event)
        self._left -= 1
        if self._left < 0:
            self.stop(f"The file has more than {self._most_nodes:,} keys and values.", "Split it.", *mark)
        if event.anchor is not None:
            self._note(f"Anchors (&{printable(event.anchor, 40)}) are not used here.", "Remove it.", mark)
        if event.tag is not None:
            self._note(
                f"Tags ({printable(event.tag, 40)}) are not used here.", "Remove it: all is text.", mark
            )
        return mark

    def _put(self, value: Tree, spot: _Spot) -> None:
        """A finished value goes to its parent; in a mapping, every other one is a key."""
        if not self._open:
            self._root = (value, spot)
            return
        parent = self._open[-1]
        if isinstance(parent.value, list):
            parent.value.append(value)
            parent.spots.append(spot)
        elif parent.key is None:
            self._key(parent, value, spot)
        else:
            if not parent.ignored:
                parent.value[parent.key] = value
                parent.spots[parent.key] = spot
            parent.key = None

    def _key(self, parent: _Open, value: Tree, spot: _Spot) -> None:
        """*value* becomes the key of what comes next, unless it cannot be one."""
        mark = (spot.line, spot.column)
        wrong = _wrong_with_key(value, parent.keys)
        parent.ignored = wrong is not None
        parent.key = value if isinstance(value, str) else ""
        if wrong is not None:
            self._note(*wrong, mark)
        else:
            parent.keys[parent.key] = mark


def _wrong_with_key(key: Tree, earlier: dict[str, tuple[int, int]]) -> tuple[str, str] | None:
    """Message and fix of what is wrong with a key."""
    if not isinstance(key, str):
        return "A key must be plain text, not a list or a block.", "Put text before the colon; quote { and [."
    if key == "":
        return "A key is missing before the colon.", 'Write "key: value".'
    if key == "<<":
        return "Merge keys (<<) are not used here.", "Write the entries out."
    if key in earlier:
        first = earlier[key][0] + 1
        return f'The key "{printable(key, 40)}" is here again, after line {first}.', "Keep one of them."
    return None


def _mark(event: Any) -> tuple[int, int]:
    """Line and column, from 0, where an event starts."""
    mark = event.start_mark
    return mark.line, mark.column
