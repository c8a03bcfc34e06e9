"""Where a value stood, so that every problem and every finding can point at it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

Path = tuple[str | int, ...]
"""The way to a value in a document, such as ("module", 3, "address")."""


@dataclass(frozen=True, order=True)
class Place:
    """A file as it was named, its physical line, and the key or column header there."""

    file: str
    line: int | None = None
    column: str | None = None

    def __str__(self) -> str:
        spot = self.file if self.line is None else f"{self.file}:{self.line}"
        return spot if self.column is None else f"{spot}, {self.column}"


@dataclass(frozen=True)
class RowPlaces:
    """The places in a table: a line a module, from the module at position `first` on.

    `headers` names the column of each key; `shared` holds the keys that each combination of
    settings gives, `kinds` the combination of each row, and `own` the columns of the keys of
    which each row has its own value, None where its cell is blank.
    """

    file: str
    first: int
    lines: Sequence[int]
    headers: Mapping[Path, str]
    shared: Sequence[frozenset[Path]]
    kinds: Sequence[int]
    own: Mapping[Path, Sequence[object]]

    def find(self, path: Path) -> Place | None:
        """Return where a module of the table, or one of its keys, stands."""
        row = _row_of(path)
        if row is None or not self.first <= row < self.first + len(self.lines):
            return None
        row, key = row - self.first, path[2:]
        if not key:
            return Place(self.file, self.lines[row])
        given = key in self.shared[self.kinds[row]] or (
            key in self.own and self.own[key][row] is not None
        )
        return Place(self.file, self.lines[row], self.headers[key]) if given else None


def _row_of(path: Path) -> int | None:
    """Return the position of the module that a path leads to or into."""
    position = path[1] if len(path) > 1 and path[0] == "module" else None
    return position if isinstance(position, int) else None


class Places:
    """The places of the values of one document; an absent value stands where its table begins."""

    def __init__(
        self, file: str, known: Mapping[Path, Place], rows: RowPlaces | None = None
    ) -> None:
        self.file = file
        self._known = known
        self._rows = rows

    def of(self, *path: str | int) -> Place:
        """Return where the value at a path stands, or the nearest table that would hold it."""
        for end in range(len(path), 0, -1):
            place = self._find(path[:end])
            if place is not None:
                return place
        return Place(self.file, 1)

    def has(self, *path: str | int) -> bool:
        """Say whether something was written at a path."""
        return self._find(path) is not None

    def have_room(self, module: int, key: str) -> bool:
        """Say whether a key of a module can be written: a table may have no column for it."""
        rows = self._rows
        is_in_table = rows is not None and rows.first <= module < rows.first + len(rows.lines)
        return rows is None or not is_in_table or tuple(key.split(".")) in rows.headers

    def with_rows(self, rows: RowPlaces) -> "Places":
        """Return these places with those of the table beside the document."""
        return Places(self.file, self._known, rows)

    def _find(self, path: Path) -> Place | None:
        place = self._known.get(path)
        return self._rows.find(path) if place is None and self._rows else place
