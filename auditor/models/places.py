"""Where a value stood, so that every problem and every finding can point at it."""

from collections.abc import ItemsView, Mapping
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


class Places:
    """The places of the values of one document; an absent value stands where its table begins."""

    def __init__(self, file: str, known: Mapping[Path, Place]) -> None:
        self.file = file
        self._known = dict(known)

    def of(self, *path: str | int) -> Place:
        """Return where the value at a path stands, or the nearest table that would hold it."""
        for end in range(len(path), 0, -1):
            place = self._known.get(path[:end])
            if place is not None:
                return place
        return Place(self.file, 1)

    def items(self) -> ItemsView[Path, Place]:
        """Return every known path with its place."""
        return self._known.items()

    def has(self, *path: str | int) -> bool:
        """Say whether something was written at a path."""
        return path in self._known
