"""The two files of a kit that is made from a brief: the brief edited, and a table beside it."""

import csv
import io
import os
from collections.abc import Callable, Iterator, Mapping, MutableMapping, Sequence
from ipaddress import IPv4Address
from pathlib import Path
from typing import Any

import tomlkit
from tomlkit.items import AbstractTable, AoT

from auditor.models.brief import BriefFile
from auditor.models.places import Place
from auditor.reading.problems import UnusableError, unusable
from auditor.reading.profiles import is_path
from auditor.reading.toml import parse

FLEET, TABLE = "kit.toml", "kit.csv"
_PROFILES = (
    ("kit", "profile"),
    ("kit", "policy"),
    ("kit", "region"),
    ("controller", "profile"),
    ("defaults", "profile"),
    ("defaults", "controller", "profile"),
)
"""The keys that name a profile: one that ships, or a path."""
_UNEDITABLE = "is written in a way that cannot be edited; write [kit] and [plan] as plain tables"

Moved = Callable[[str], str]


def table_text(addresses: Mapping[str, IPv4Address | None]) -> str:
    """Return the table of modules with what is their own; None is the address of one that leases.

    Source: RFC 4180, section 2 (a line a record, quotes where a cell needs them).
    """
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(("id", "addressing", "address"))
    for id, address in addresses.items():
        writer.writerow((id, "static" if address else "pooled", address or ""))
    return stream.getvalue()


def fleet_text(brief: BriefFile, folder: Path) -> str:
    """Return the fleet file: the brief without [plan], with its table, its paths from the folder.

    Comments and order stay.

    Raises:
        UnusableError: the brief is written so that it cannot be edited.
    """
    expected, _ = parse(brief.text, brief.file.file)
    document: Any = tomlkit.parse(brief.text)
    _edit(expected, brief, folder)
    del expected["plan"]
    _edit(document, brief, folder)
    _take_out(document, "plan")
    text = tomlkit.dumps(document)
    if _values(text) != expected:
        raise unusable(Place(brief.file.file), _UNEDITABLE)
    return text


def folders_beyond(brief: BriefFile, folder: Path, allowed: Sequence[Path]) -> Iterator[str]:
    """Give the folders beside the new one into which paths of the brief lead, as they were named.

    They are the brief's own, and those that were allowed.
    """
    data, _ = parse(brief.text, brief.file.file)
    own = Path(brief.file.file).parent
    targets = [Path(os.path.realpath(own / name)) for name in _paths(data)]
    outside = [path for path in targets if not path.is_relative_to(os.path.realpath(folder))]
    for each in (own, *allowed):
        if any(path.is_relative_to(os.path.realpath(each)) for path in outside):
            outside = [p for p in outside if not p.is_relative_to(os.path.realpath(each))]
            yield str(each)


def _values(text: str) -> dict[str, Any] | None:
    try:
        return parse(text, FLEET)[0]
    except UnusableError:
        return None


def _edit(document: MutableMapping[str, Any], brief: BriefFile, folder: Path) -> None:
    """Name the table in [kit], and let every path begin at the folder of the new file."""
    own = Path(brief.file.file).parent
    if os.path.realpath(own) != os.path.realpath(folder):
        _each_path(document, lambda name: _from(folder, own / name, name))
    kit = document.setdefault("kit", tomlkit.table())
    tail = _loose_end(kit)
    kit["modules"] = TABLE
    if tail:
        kit.value.body.extend(tail)


def _from(folder: Path, target: Path, name: str) -> str:
    """Return the path to a file as a file in a folder writes it; from the root it stays itself."""
    if os.path.isabs(name):
        return name
    return os.path.relpath(os.path.abspath(target), os.path.realpath(folder))


def _paths(document: MutableMapping[str, Any]) -> list[str]:
    """Return every path in a document."""
    found: list[str] = []

    def noted(name: str) -> str:
        found.append(name)
        return name

    _each_path(document, noted)
    return found


def _each_path(document: MutableMapping[str, Any], moved: Moved) -> None:
    """Write every path in a document anew: those of profiles, and of files with a passphrase."""
    for *names, key in _PROFILES:
        table = _table_at(document, names)
        if table and isinstance(table.get(key), str) and is_path(table[key]):
            table[key] = moved(str(table[key]))
    for secret in _secrets(document):
        if isinstance(secret, MutableMapping) and "file" in secret:
            secret["file"] = moved(str(secret["file"]))


def _table_at(document: Any, names: Sequence[str]) -> MutableMapping[str, Any] | None:
    for name in names:
        document = document.get(name)
        if not isinstance(document, MutableMapping):
            return None
    table: MutableMapping[str, Any] = document
    return table


def _secrets(document: MutableMapping[str, Any]) -> Iterator[Any]:
    for name in ("network", "defaults"):
        table = _table_at(document, [name]) or {}
        yield table.get("passphrase")
        yield from table.get("retired_passphrases", ())


def _loose_end(table: Any) -> list[Any]:
    """Take the blank lines and comments off the end of a table, and return them.

    They belong to what follows; a key that is added goes before them.
    """
    body = table.value.body if isinstance(table, tomlkit.items.Table) else []
    tail = []
    while body and body[-1][0] is None:
        tail.append(body.pop())
    return tail[::-1]


def _take_out(document: Any, name: str) -> None:
    """Take a table out of a document, and leave what stands after its last key.

    Of the blank lines before it and after it only those before it stay.
    """
    before = "\n"
    for number, (key, value) in enumerate(document.body):
        text = _text_after(value) if key is not None else value.as_string()
        if key is not None and key.key == name:
            text = text.lstrip("\r\n") if before.splitlines()[-1:] == [""] else text
            document.body[number] = (None, tomlkit.ws(text))
        before = text


def _text_after(value: Any) -> str:
    """Return the blank lines and comments after the last key of a table, or of the last of many."""
    if isinstance(value, AoT):
        return _text_after(value.body[-1])
    text = ""
    for key, item in reversed(value.value.body if isinstance(value, AbstractTable) else []):
        if key is not None:
            return _text_after(item) + text
        text = item.as_string() + text
    return text
