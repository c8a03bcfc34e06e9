"""Real files with something changed: a few bytes, or a part of what they say."""

import csv
import io
import tomllib
from collections.abc import Iterator
from datetime import date
from random import Random
from typing import Any

from tests.hostile.oddities import BYTES, odd_text, odd_value, written

TEXT_COLUMNS = ("id", "network_name", "profile", "note")
"""Columns of the demo's table that take any text."""


class Raw(str):
    """A piece of TOML that stands as it is, well formed or not."""


def with_other_bytes(content: bytes, random: Random) -> bytes:
    """Return a content with some of its bytes changed, added, repeated or left out."""
    changed = bytearray(content)
    for _ in range(random.choice((1, 1, 2, 5, 20))):
        at = random.randrange(len(changed) + 1)
        end = min(len(changed), at + random.choice((0, 1, 1, 8, 200)))
        changed[at:end] = random.choice(
            (b"", random.choice(BYTES), bytes([random.randrange(256)]), bytes(changed[at:end]) * 2)
        )
    return bytes(changed)


def with_other_values(content: bytes, random: Random) -> bytes:
    """Return a TOML document with some keys or values changed, moved, doubled or left out."""
    document = tomllib.loads(content.decode())
    for _ in range(random.choice((1, 1, 1, 2, 6))):
        _change(document, random)
    return toml_of(document).encode("utf-8", "surrogatepass")


def _change(document: dict[str, Any], random: Random) -> None:
    container = random.choice(list(_containers(document)))
    if isinstance(container, list):
        at = random.randrange(len(container))
        container[at] = random.choice((Raw(odd_value(random)), container[-1]))
        return
    key = random.choice(list(container))
    change = random.randrange(8)
    if change == 0:
        del container[key]
    elif change == 1:
        container[odd_text(random)] = container.pop(key)
    elif change == 2:
        other = random.choice(list(_containers(document)))
        container[key] = other if other is not container else Raw(odd_value(random))
    elif change == 3:
        container[key] = Raw(odd_value(random))
    else:
        container[key] = _like(container[key], random)


def _like(value: Any, random: Random) -> Any:
    """Return another value of the same type, which the key may well take."""
    if isinstance(value, bool):
        return not value
    if isinstance(value, int):
        return random.choice((0, 1, 2, value + 1, value * 10, 2**31, 65535))
    if isinstance(value, str):
        return random.choice((odd_text(random), f"{random.randrange(10**6)} {value[-3:].strip()}"))
    return value[: len(value) // 2] if isinstance(value, list) else value


def _containers(value: Any, deep: int = 5) -> Iterator[Any]:
    """Give every table and list in a document that holds something, down to some depth."""
    if not isinstance(value, dict | list) or not value or not deep:
        return
    yield value
    for inner in value.values() if isinstance(value, dict) else value:
        yield from _containers(inner, deep - 1)


def toml_of(document: dict[str, Any]) -> str:
    """Return a document as TOML: pairs first, then its tables."""
    lines = [f"{written(key)} = {_value(v)}" for key, v in document.items() if not _is_table(v)]
    for key, value in document.items():
        for table in filter(None, (value,)) if _is_table(value) else ():
            name = written(key)
            entries = [table] if isinstance(table, dict) else table
            for entry in entries:
                lines.append(f"[{name}]" if isinstance(table, dict) else f"[[{name}]]")
                lines += [f"{written(inner)} = {_value(v)}" for inner, v in entry.items()]
    return "\n".join(lines) + "\n"


def _is_table(value: Any) -> bool:
    if isinstance(value, list):
        return bool(value) and all(isinstance(each, dict) for each in value)
    return isinstance(value, dict)


def _value(value: Any, deep: int = 8) -> str:
    if isinstance(value, Raw) or not deep:
        return value if isinstance(value, Raw) else "{}"
    if isinstance(value, dict):
        pairs = (f"{written(key)} = {_value(inner, deep - 1)}" for key, inner in value.items())
        return f"{{ {', '.join(pairs)} }}"
    if isinstance(value, list):
        return f"[{', '.join(_value(each, deep - 1) for each in value)}]"
    if isinstance(value, bool):
        return str(value).lower()
    return value.isoformat() if isinstance(value, date) else _plain(value)


def _plain(value: Any) -> str:
    return written(value) if isinstance(value, str) else str(value)


def with_other_cells(content: bytes, random: Random) -> bytes:
    """Return a table with some cells, headers, rows or its way of writing changed."""
    rows = list(csv.reader(io.StringIO(content.decode(), newline="")))
    for _ in range(random.choice((1, 1, 2, 6))):
        row = random.choice(rows[:1] + rows)
        at = random.randrange(len(row) or 1)
        change = random.randrange(9)
        if change > 4 and row is not rows[0]:
            at = _column(rows[0], random.choice(TEXT_COLUMNS))
            row[at : at + 1] = [odd_text(random)]
        elif change == 0:
            row.insert(at, odd_text(random))
        elif change == 1:
            del row[at : at + 1]
        elif change == 2:
            rows.insert(random.randrange(len(rows)), list(row))
        elif change == 3:
            row[at : at + 1] = random.choice(rows)[at : at + 1]
        else:
            row[at : at + 1] = [odd_text(random)]
    return _csv_of(rows, random)


def _csv_of(rows: list[list[str]], random: Random) -> bytes:
    text = io.StringIO(newline="")
    writer = csv.writer(
        text,
        delimiter=random.choice(",,,;\t"),
        quoting=random.choice((csv.QUOTE_MINIMAL, csv.QUOTE_ALL)),
        lineterminator=random.choice(("\n", "\r\n", "\r")),
    )
    writer.writerows(rows)
    return random.choice((b"", b"", b"\xef\xbb\xbf")) + text.getvalue().encode("utf-8")


def _column(header: list[str], name: str) -> int:
    """Return where a column is; the first, where a header has lost it."""
    return header.index(name) if name in header else 0
