"""A TOML document with some values changed, added or taken out, and every other byte as it was."""

import json
from collections.abc import Container, Iterator, Mapping

from tree_sitter import Node

from auditor.models.places import Path
from auditor.reading.edits import Edit, Plain, edited
from auditor.reading.toml import pairs, value_of

_MARK = "\ufeff".encode()
_BLANKS = b" \t\r"


def edited_toml(data: bytes, changes: Mapping[Path, Plain | None]) -> bytes:
    """Return a valid document with new values at some paths; None takes the key out.

    A key that is not there yet is written behind the `id` of its table.
    """
    mark = _MARK if data.startswith(_MARK) else b""
    data = data.removeprefix(_MARK)
    needed = {*changes, *((*path[:-1], "id") for path in changes)}
    found = {path: pair for path, pair in pairs(data) if path in needed}
    for path in [path for path, value in changes.items() if value is None and path not in found]:
        found |= {longer: pair for longer, pair in pairs(data) if longer[: len(path)] == path}
        changes = {**changes, **{each: None for each in found if each[: len(path)] == path}}
    return mark + edited(data, _edits(data, changes, found))


def _edits(
    data: bytes, changes: Mapping[Path, Plain | None], found: Mapping[Path, Node]
) -> Iterator[Edit]:
    gone = {found[path].id for path, value in changes.items() if value is None and path in found}
    for path, value in changes.items():
        pair = found.get(path)
        if pair is None:
            if value is not None:
                yield _addition(data, found[(*path[:-1], "id")], str(path[-1]), value)
        elif value is None:
            yield _removal(data, pair, gone)
        else:
            old = value_of(pair)
            yield Edit(old.start_byte, old.end_byte, _literal(value, old.text or b""))


def _literal(value: Plain, old: bytes = b"") -> bytes:
    """Return a value as TOML writes it, in the quotation marks of the old one where it can be.

    Source: TOML 1.0.0, String; JSON escapes nothing that TOML would not, but for DELETE.
    """
    if isinstance(value, bool):
        return str(value).lower().encode()
    if not isinstance(value, str):
        return str(value).encode()
    if old.startswith(b"'") and not old.startswith(b"'''") and _fits_single(value):
        return f"'{value}'".encode()
    return json.dumps(value, ensure_ascii=False).replace("\x7f", r"\u007f").encode()


def _fits_single(text: str) -> bool:
    return "'" not in text and text.isprintable()


def _addition(data: bytes, beside: Node, key: str, value: Plain) -> Edit:
    """Put a new key behind another: on a line of its own, or in the same inline table."""
    new = key.encode() + b" = " + _literal(value)
    end = value_of(beside).end_byte
    if _is_inline(beside):
        return Edit(end, end, b", " + new)
    start = _line_start(data, beside.start_byte)
    indent = data[start : beside.start_byte]
    line_end = data.find(b"\n", end)
    if line_end < 0:
        return Edit(len(data), len(data), b"\n" + indent + new)
    line_break = b"\r\n" if data[line_end - 1 : line_end] == b"\r" else b"\n"
    return Edit(line_end + 1, line_end + 1, indent + new + line_break)


def _removal(data: bytes, pair: Node, gone: Container[int]) -> Edit:
    """Take a key out with its line; a comment behind it stays."""
    if _is_inline(pair):
        return _removal_inline(pair, gone)
    if pair.type != "pair":
        return _removal_of_table(data, pair)
    start, end = pair.start_byte, value_of(pair).end_byte
    line_end = data.find(b"\n", end)
    line_end = len(data) if line_end < 0 else line_end
    rest = data[end:line_end]
    comment = rest.lstrip(_BLANKS)
    if comment:
        return Edit(start, line_end - len(comment), b"")
    return Edit(_line_start(data, start), min(line_end + 1, len(data)), b"")


def _removal_of_table(data: bytes, header: Node) -> Edit:
    """Take a table out that has a header of its own, with all its keys."""
    lines = header.parent.children if header.parent else []
    last = next(each for each in reversed(lines) if each.type != "comment")
    end = value_of(last).end_byte if last.type == "pair" else last.end_byte
    line_end = data.find(b"\n", end)
    return Edit(
        _line_start(data, header.start_byte), len(data) if line_end < 0 else line_end + 1, b""
    )


def _removal_inline(pair: Node, gone: Container[int]) -> Edit:
    """Take a key out of an inline table with one comma: that before it, if any key before stays."""
    siblings = pair.parent.children if pair.parent else []
    at = next(number for number, each in enumerate(siblings) if each.id == pair.id)
    stays = [each for each in siblings[:at] if each.type == "pair" and each.id not in gone]
    if stays:
        comma = next(each for each in reversed(siblings[:at]) if each.type == ",")
        return Edit(comma.start_byte, pair.end_byte, b"")
    following = next(each for each in siblings[at + 1 :] if each.type != ",")
    return Edit(pair.start_byte, following.start_byte, b"")


def _is_inline(pair: Node) -> bool:
    return pair.parent is not None and pair.parent.type == "inline_table"


def _line_start(data: bytes, at: int) -> int:
    return data.rfind(b"\n", 0, at) + 1
