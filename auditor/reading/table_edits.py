"""A table with some cells changed, and every other byte as it was."""

import re
from collections import defaultdict
from collections.abc import Iterator, Mapping

from auditor.reading.edits import Edit, Plain, edited
from auditor.reading.table import AS_WRITTEN, layout

_MARK = "\ufeff".encode()
_LINE_END = re.compile(rb"\r\n|\r|\n")
Cell = tuple[int, str]
"""The line on which a row begins, and our key for the column."""


def edited_table(
    data: bytes, columns: Mapping[str, str], changes: Mapping[Cell, Plain | None]
) -> bytes:
    """Return a valid table with new values in some cells; None leaves a cell blank."""
    mark = _MARK if data.startswith(_MARK) else b""
    data = data.removeprefix(_MARK)
    separator, keys = layout(data.decode(), "", columns)
    rows: dict[int, dict[int, tuple[str, Plain | None]]] = defaultdict(dict)
    for (line, key), value in changes.items():
        rows[line][keys.index(key)] = key, value
    return mark + edited(data, _edits(data, separator.encode(), rows))


def _edits(
    data: bytes, separator: bytes, rows: Mapping[int, Mapping[int, tuple[str, Plain | None]]]
) -> Iterator[Edit]:
    cell = re.compile(rb'"(?:[^"]|"")*"|[^\r\n' + separator + rb"]*")
    for start, changes in _row_starts(data, rows):
        for number, (at, end) in enumerate(_spans(data, start, cell, max(changes) + 1)):
            if number in changes:
                yield _edit(data, at, end, separator, *changes[number])


def _row_starts(
    data: bytes, rows: Mapping[int, Mapping[int, tuple[str, Plain | None]]]
) -> Iterator[tuple[int, Mapping[int, tuple[str, Plain | None]]]]:
    """Give where each wanted row begins, with its changes."""
    if 1 in rows:
        yield 0, rows[1]
    for line, match in enumerate(_LINE_END.finditer(data), start=2):
        if line in rows:
            yield match.end(), rows[line]


def _spans(
    data: bytes, start: int, cell: re.Pattern[bytes], cells: int
) -> Iterator[tuple[int, int]]:
    """Give the span of each of the first cells of a row."""
    for _ in range(cells):
        match = cell.match(data, start)
        end = match.end() if match else start
        yield start, end
        start = end + 1


def _edit(
    data: bytes, start: int, end: int, separator: bytes, key: str, value: Plain | None
) -> Edit:
    """Return the change of a cell; quotation marks and blanks around its value stay."""
    text = _text(value).encode()
    if data[start:end].startswith(b'"'):
        return Edit(start + 1, end - 1, text.replace(b'"', b'""'))
    if re.search(rb'[\r\n"' + separator + rb"]", text):
        return Edit(start, end, b'"' + text.replace(b'"', b'""') + b'"')
    if key in AS_WRITTEN:
        return Edit(start, end, text)
    old = data[start:end]
    before = len(old) - len(old.lstrip())
    return Edit(start + before, max(start + before, start + len(old.rstrip())), text)


def _text(value: Plain | None) -> str:
    if value is None:
        return ""
    return str(value).lower() if isinstance(value, bool) else str(value)
