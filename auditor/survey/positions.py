"""Who in a kit goes by which value, where nearly every module has a value of its own."""

import re
from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Collection, Hashable, Iterator, Mapping, Sequence
from functools import cached_property
from typing import Generic, TypeVar

Key = TypeVar("Key", bound=Hashable)

NUMBERED = re.compile(r"(.*?)(\d{1,18})", re.DOTALL | re.ASCII)
"""An id that ends in a number; of a longer row of digits only the last 18 are counted."""


class Positions(Generic[Key]):
    """The positions in a kit at which each value of a column stands."""

    def __init__(self, column: Sequence[Key | None]) -> None:
        """Take a column with a value, or None, for each module; `everyone` has each position."""
        self.everyone = range(len(column))
        self._last: dict[Key | None, int] = dict(zip(column, range(len(column)), strict=True))
        self._repeated = {} if len(self._last) == len(column) else self._several(column)
        self._last.pop(None, None)

    def _several(self, column: Sequence[Key | None]) -> Mapping[Key, tuple[int, ...]]:
        several: dict[Key, list[int]] = defaultdict(list)
        for index, value in enumerate(column):
            if value is not None and self._last[value] != index:
                several[value].append(index)
        return {value: (*found, self._last[value]) for value, found in several.items()}

    @property
    def repeated(self) -> Collection[Key]:
        """The values that more than one module has."""
        return self._repeated.keys()

    def of(self, value: Key) -> tuple[int, ...]:
        """Return the positions of those who have a value, in order."""
        if value in self._repeated:
            return self._repeated[value]
        return (self._last[value],) if value in self._last else ()

    def __contains__(self, value: object) -> bool:
        return value in self._last

    def __iter__(self) -> Iterator[Key]:
        return (value for value in self._last if value is not None)


class Names(Positions[str]):
    """The positions of the modules by id, and by ranges of ids."""

    def between(self, first: str, last: str) -> list[int]:
        """Return who has an id from one to another: they share a beginning and end in a number."""
        low, high = NUMBERED.fullmatch(first), NUMBERED.fullmatch(last)
        if low is None or high is None or low[1] != high[1]:
            return []
        row = self._rows.get(low[1], [])
        start = bisect_left(row, (int(low[2]), -1))
        end = bisect_right(row, (int(high[2]), len(self.everyone)), lo=start)
        return [index for _, index in row[start:end]]

    @cached_property
    def _rows(self) -> Mapping[str, list[tuple[int, int]]]:
        """The number at the end of each id with its position, in order, by how the id begins."""
        rows: dict[str, list[tuple[int, int]]] = defaultdict(list)
        for id in self:
            match = NUMBERED.fullmatch(id)
            if match is not None:
                rows[match[1]] += [(int(match[2]), index) for index in self.of(id)]
        return {start: sorted(row) for start, row in rows.items()}
