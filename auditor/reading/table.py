"""A CSV table as people have it: any of three separators, trade headers, blank rows."""

import csv
import io
from array import array
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import islice
from operator import itemgetter
from typing import Any

from auditor.compute.near_misses import nearest
from auditor.models.entries import PER_MODULE
from auditor.models.fleet import Controller, ModuleEntry, Pin, Supply
from auditor.models.places import Path, Place, RowPlaces
from auditor.reading.files import LARGEST_TABLE_BYTES
from auditor.reading.problems import Problem, UnusableError, unusable
from auditor.reading.quoting import may_be_secret, named
from auditor.reading.trade import TRADE_WORDS, plain

SEPARATORS = (",", ";", "\t")
LONGEST_CELL = 4096
MOST_NAMED = 3
MOST_UNKNOWN = 50
"""So many headers that are not known are looked at; further ones are counted."""
LONGEST_NAME = 100
"""Characters of a name that are compared with the names that we know."""
_OPTION = Place("--column")
AS_WRITTEN = frozenset({"network_name", "passphrase", "note", "holder"})
"""Keys whose blanks at an end mean something."""


def _known_keys() -> tuple[str, ...]:
    own = [key for key in ModuleEntry.model_fields if key not in ("controller", "supply")]
    nested = [
        f"{name}.{key}"
        for name, table in (("controller", Controller), ("supply", Supply))
        for key in table.model_fields
        if key not in ("rx_pin", "tx_pin")
    ]
    pins = [f"controller.{pin}.{key}" for pin in ("rx_pin", "tx_pin") for key in Pin.model_fields]
    return (*own, *nested, *pins)


KNOWN_KEYS = _known_keys()


@dataclass(frozen=True, repr=False)
class RawTable:
    """The modules of a table in columns, before any value is read.

    `own` holds the cells of the keys of which each module has its own value, None where a cell
    is blank; `settings` every distinct combination of the others, `kinds` which of them each row
    has, and `headers` the column of each key.
    """

    file: str
    headers: Mapping[Path, str]
    lines: Sequence[int]
    own: Mapping[str, Sequence[str | None]]
    settings: Sequence[dict[str, Any]]
    kinds: Sequence[int]

    @cached_property
    def given(self) -> tuple[frozenset[Path], ...]:
        """The keys that each combination of settings gives."""
        return tuple(frozenset(_paths(values)) for values in self.settings)

    @cached_property
    def first_lines(self) -> tuple[int, ...]:
        """The line on which each combination of settings stands first."""
        first: dict[int, int] = {}
        for kind, line in zip(self.kinds, self.lines, strict=True):
            first.setdefault(kind, line)
        return tuple(first.values())

    def places(self, first: int) -> RowPlaces:
        """Return the places of the modules, the first of which is at a position of the kit."""
        own: dict[Path, Sequence[object]] = {(key,): cells for key, cells in self.own.items()}
        return RowPlaces(self.file, first, self.lines, self.headers, self.given, self.kinds, own)

    def places_of_settings(self) -> RowPlaces:
        """Return the places of the combinations of settings, where each stands first."""
        each = range(len(self.settings))
        return RowPlaces(self.file, 0, self.first_lines, self.headers, self.given, each, {})


def read_table(text: str, file: str, columns: Mapping[str, str]) -> RawTable:
    """Return the modules of a table; `columns` maps their headers to our keys ("" leaves out).

    Raises:
        UnusableError: a header is not known, stands twice, or a row does not fit the header.
    """
    lines = _numbered(text, file)
    line, header = next(lines, (1, []))  # a table of nothing but separators has no row
    _require_sense(columns, header)
    keys = _keys(header, Place(file, line), columns)
    rows = _Rows(file, header, keys)
    problems: list[Problem] = []
    for line, cells in lines:
        wrong = _misfits(cells, header, Place(file, line)) if rows.is_odd(cells) else ()
        problems += wrong
        if not wrong:
            rows.add(line, cells)
    if problems:
        raise UnusableError(problems)
    return rows.table()


def layout(text: str, file: str, columns: Mapping[str, str]) -> tuple[str, list[str | None]]:
    """Return the separator of a table, and our key for each column, None for one left out.

    Raises:
        UnusableError: a header is not known, or stands twice.
    """
    line, header = next(_numbered(text, file), (1, []))
    return _separator(text), _keys(header, Place(file, line), columns)


class _Rows:
    """The rows that were read so far, the settings that many share kept once."""

    def __init__(self, file: str, header: list[str], keys: list[str | None]) -> None:
        self._file = file
        self._header = header
        self._width = len(header)
        named = [(position, key) for position, key in enumerate(keys) if key]
        self._shared = [(position, key) for position, key in named if key not in PER_MODULE]
        self._combination = _picker([position for position, _ in self._shared])
        self._own = [
            (position, key, list[str | None]()) for position, key in named if key in PER_MODULE
        ]
        self._known: dict[tuple[str, ...], int] = {}
        self._kinds: list[int] = []
        self._lines = array("L")

    def is_odd(self, cells: list[str]) -> bool:
        """Say whether a row has to be looked at: its length is another, or a cell is long."""
        return len(cells) != self._width or len(max(cells, key=len)) > LONGEST_CELL

    def add(self, line: int, cells: list[str]) -> None:
        """Take in a row."""
        known = self._known
        self._lines.append(line)
        self._kinds.append(known.setdefault(self._combination(cells), len(known)))
        for position, key, column in self._own:
            cell = cells[position]
            if key not in AS_WRITTEN:
                cell = cell.strip()
            column.append(cell if cell and not cell.isspace() else None)

    def table(self) -> RawTable:
        """Return all rows."""
        headers: dict[Path, str] = {
            tuple(key.split(".")): self._header[position].strip()
            for position, key in (*self._shared, *((at, key) for at, key, _ in self._own))
        }
        return RawTable(
            file=self._file,
            headers=headers,
            lines=self._lines,
            own={key: column for _, key, column in self._own},
            settings=[self._values(cells) for cells in self._known],
            kinds=self._kinds,
        )

    def _values(self, cells: tuple[str, ...]) -> dict[str, Any]:
        values: dict[str, Any] = {}
        for (_, key), cell in zip(self._shared, cells, strict=True):
            if cell.strip():
                _put(values, key.split("."), cell if key in AS_WRITTEN else cell.strip())
        return values


def _picker(positions: list[int]) -> Callable[[list[str]], tuple[str, ...]]:
    """Return what picks the cells at some positions out of a row, always as a tuple."""
    if len(positions) > 1:
        return itemgetter(*positions)
    return lambda cells: tuple(cells[position] for position in positions)


def _paths(values: Mapping[str, Any], before: Path = ()) -> Iterator[Path]:
    """Give the path of every value of nested tables."""
    for key, value in values.items():
        if isinstance(value, dict):
            yield from _paths(value, (*before, key))
        else:
            yield (*before, key)


def _numbered(text: str, file: str) -> Iterator[tuple[int, list[str]]]:
    """Give each row that is not blank with the line on which it begins."""
    csv.field_size_limit(LARGEST_TABLE_BYTES)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=_separator(text), strict=True)
    before = 0
    try:
        for cells in reader:
            if any(map(str.strip, cells)):
                yield before + 1, cells
            before = reader.line_num
    except csv.Error:
        raise unusable(
            Place(file, before + 1), "a quoted cell begins here and is not closed properly"
        ) from None


def _separator(text: str) -> str:
    header = next(line for line in io.StringIO(text, newline="") if line.strip())
    return max(SEPARATORS, key=header.count)


def _keys(header: list[str], place: Place, columns: Mapping[str, str]) -> list[str | None]:
    """Return our key for each column, None for one that is left out."""
    ours = {plain(key): key for key in KNOWN_KEYS}
    keys: list[str | None] = []
    problems: list[Problem] = []
    unknown = 0
    for number, written in enumerate(header, start=1):
        heading = written.strip()
        key = columns.get(heading)
        if key is None:
            key = ours.get(plain(heading)) or TRADE_WORDS.get(plain(heading))
        if key is None and heading:
            unknown += 1
            if unknown <= MOST_UNKNOWN:
                problems.append(_unknown_header(heading, number, place))
        keys.append(key or None)
    if unknown > MOST_UNKNOWN:
        more = f"{unknown - MOST_UNKNOWN} more headers are not known; is this the right file?"
        problems.append(Problem(place, more))
    _raise_header_problems(header, keys, problems, place)
    return keys


def _require_sense(columns: Mapping[str, str], header: list[str]) -> None:
    """Refuse a mapping to a key that we do not have, or of a header that the table has not."""
    present = {written.strip() for written in header}
    problems = [
        Problem(_OPTION, f"{named(heading, 'what is mapped')} is not a header of the table")
        for heading in columns
        if heading not in present
    ]
    problems += [
        Problem(
            _OPTION, f"{named(key, 'what it is mapped to')} is not a known key{_did_you_mean(key)}"
        )
        for key in columns.values()
        if key and key not in KNOWN_KEYS
    ]
    if problems:
        raise UnusableError(problems)


def _did_you_mean(word: str) -> str:
    close = nearest(word[:LONGEST_NAME], KNOWN_KEYS)
    return f"; did you mean {close}?" if close else ""


def _unknown_header(heading: str, number: int, place: Place) -> Problem:
    close = _did_you_mean(heading)
    shown = "header" if may_be_secret(heading) and not close else heading[:40]
    return Problem(
        place,
        f"column {number}: {named(heading, 'its header')} is not a known header{close} "
        f'(map it with --column "{shown}=our_key", leave it out with --column "{shown}=")',
    )


def _raise_header_problems(
    header: list[str], keys: list[str | None], problems: list[Problem], place: Place
) -> None:
    known = Counter(key for key in keys if key)
    if not known:
        raise unusable(place, "no header is known; the first row must name the columns, as in id")
    for key in sorted(key for key, columns in known.items() if columns > 1):
        headers = (text.strip() for text, own in zip(header, keys, strict=True) if own == key)
        names = " and ".join(named(text, "a header") for text in islice(headers, MOST_NAMED))
        problems.append(Problem(place, f"{names} {_all_mean(known[key])} {key}; keep one"))
    if "id" not in known:
        problems.append(Problem(place, "no column says which module a row is; name one of them id"))
    if problems:
        raise UnusableError(problems)


def _all_mean(headers: int) -> str:
    if headers > MOST_NAMED:
        return f"and {headers - MOST_NAMED} more all mean"
    return "both mean" if headers == 2 else "all mean"


def _misfits(cells: list[str], header: list[str], place: Place) -> list[Problem]:
    problems = []
    extra = [cell for cell in cells[len(header) :] if cell.strip()]
    if extra or len(cells) < len(header):
        message = f"the row has {len(cells)} cells and the header {len(header)}"
        problems.append(Problem(place, f"{message}; check for a missing or unquoted separator"))
    for heading, cell in zip(header, cells, strict=False):
        if len(cell) > LONGEST_CELL:
            at = Place(place.file, place.line, heading.strip())
            reason = f"the cell has {len(cell)} characters; the limit is {LONGEST_CELL}"
            problems.append(Problem(at, reason))
    return problems


def _put(values: dict[str, Any], path: list[str], cell: str) -> None:
    for name in path[:-1]:
        values = values.setdefault(name, {})
    values[path[-1]] = cell
