"""TOML with the line of every key: values from the standard library, places from a syntax tree."""

import re
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from functools import cache
from typing import Any

import tree_sitter_toml
from tree_sitter import Language, Node, Parser

from auditor.models.places import Path, Place, Places
from auditor.reading.problems import Problem, UnusableError, unusable
from auditor.reading.quoting import may_be_secret

_SPOT = re.compile(r" \(at (?:line (\d+), column (\d+)|end of document)\)$")
_NAMES = re.compile(r" \(.*\)|(?<=table key) .*", re.DOTALL)
"""The keys in what the standard library says: a passphrase could be one by mistake."""
_CURLY = re.compile("[\u2018-\u201f]")
_SWITCH = re.compile(r"=\s*(yes|no|on|off|true|false)\b", re.IGNORECASE)
_SPACED = re.compile(r"\s*\[+\s*[\w-]+\s+[\w-]+\s*\]")
_HINTS = {
    "Invalid value": 'a word stands in quotation marks, as in "broadcast"',
    "Expected newline": 'more than a number stands in quotation marks, as in "8 MHz"',
    'Illegal character "\\n"': "the quotation mark before is not closed",
    'Expected """': "the quotation mark before is not closed",
}
"""What is probably meant where the standard library says how a reason begins."""
_KEYS = ("bare_key", "quoted_key", "dotted_key")
_DEEPEST = 16
"""Keys and positions down to a value; a fleet file needs six."""
_LONGEST_NUMBER = 66
"""Characters of a whole number of 64 bits, written in binary (TOML 1.0.0, Integer)."""


@dataclass
class _Walk:
    """A pass over the tree: what stands where, and which keys stand twice."""

    file: str
    known: dict[Path, Place] = field(default_factory=dict)
    pairs: dict[Path, int] = field(default_factory=dict)
    counts: dict[Path, int] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)


def parse(text: str, file: str) -> tuple[dict[str, Any], Places]:
    """Return a document and the places of its values.

    Raises:
        UnusableError: the text is no TOML, with the line and column of the reason.
    """
    walk = _Walk(file)
    for table in _parser().parse(text.encode()).root_node.children:
        _table(table, walk)
    if walk.problems:
        raise UnusableError(walk.problems)
    return _values(text, file), Places(file, walk.known)


@cache
def _parser() -> Parser:
    return Parser(Language(tree_sitter_toml.language()))


def _values(text: str, file: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except RecursionError:
        raise unusable(Place(file), "is nested too deeply to be a fleet file") from None
    except ValueError as problem:
        raise _syntax_error(str(problem), text, file) from None


def _syntax_error(message: str, text: str, file: str) -> UnusableError:
    spot = _SPOT.search(message)
    if spot is None:
        return unusable(Place(file), f"is not TOML: {message[:80]}")
    line, column = (int(spot[1]), int(spot[2])) if spot[1] else _end(text)
    reason = _NAMES.sub("", message[: spot.start()]).replace("'", '"')
    hint = _hint(reason, text.split("\n")[line - 1])
    return unusable(Place(file, line), f"column {column}: is not TOML: {reason}{hint}")


def _hint(reason: str, line: str) -> str:
    """Return what is probably meant where a line is no TOML, as the end of a sentence."""
    if _CURLY.search(line):
        return '; write straight quotation marks, as in "broadcast"'
    if _SPACED.match(line):
        return "; the parts of a name are joined by dots"
    if _SWITCH.search(line) and reason == "Invalid value":
        return "; write true or false"
    return next((f"; {hint}" for start, hint in _HINTS.items() if reason.startswith(start)), "")


def _end(text: str) -> tuple[int, int]:
    """Return line and column just behind the last character of a text."""
    return text.count("\n") + 1, len(text) - text.rfind("\n")


def _table(node: Node, walk: _Walk) -> None:
    """Note a top-level pair, or a table with its pairs."""
    if node.type == "pair":
        _pair(node, (), walk)
    elif node.type in ("table", "table_array_element"):
        header = next((child for child in node.children if child.type in _KEYS), None)
        if header is not None:
            names = _names(header)
            _require_shallow(names, header, walk)
            path = _table_path(names, node.type == "table_array_element", walk)
            _note(path, header, walk)
            for child in _pairs_of(node):
                _pair(child, path, walk)


def _table_path(names: Path, is_element: bool, walk: _Walk) -> Path:
    """Return the path of a table; a name that stands for an array means its last element."""
    path: Path = ()
    for position, name in enumerate(names):
        path = (*path, name)
        if is_element and position == len(names) - 1:
            walk.counts[path] = walk.counts.get(path, -1) + 1
        if path in walk.counts:
            path = (*path, walk.counts[path])
    return path


def pairs(data: bytes) -> Iterator[tuple[Path, Node]]:
    """Give every key of a valid document with its pair in the syntax tree, in inline tables too.

    A table with a header of its own is given by that header.
    """
    walk = _Walk("")
    for node in _parser().parse(data).root_node.children:
        if node.type == "pair":
            yield from _pairs_within(node, ())
        elif node.type in ("table", "table_array_element"):
            header = next(child for child in node.children if child.type in _KEYS)
            path = _table_path(_names(header), node.type == "table_array_element", walk)
            yield path, header
            for child in _pairs_of(node):
                yield from _pairs_within(child, path)


def value_of(pair: Node) -> Node:
    """Return the value of a pair; the comment behind it is part of the pair too."""
    values = (child for child in pair.children[2:] if child.type != "comment")
    return next(values, pair.children[-1])  # without a value it is no TOML, and is refused later


def _pairs_within(pair: Node, table: Path) -> Iterator[tuple[Path, Node]]:
    """Give a pair, and those in the inline tables and arrays that are its value."""
    path = (*table, *_names(pair.children[0]))
    yield path, pair
    yield from ((inner, node) for inner, node in _within(value_of(pair), path) if _is_pair(node))


def _within(value: Node, path: Path) -> Iterator[tuple[Path, Node]]:
    """Give what stands in a value, with its path: pairs of inline tables, elements of arrays.

    It goes down without recursion: input may be nested deeply.
    """
    waiting = [(value, path)]
    while waiting:
        current, at = waiting.pop()
        if current.type == "inline_table":
            inner = [((*at, *_names(each.children[0])), each) for each in _pairs_of(current)]
        elif current.type == "array":
            inner = [((*at, index), each) for index, each in enumerate(_elements(current))]
        else:
            continue
        yield from inner
        waiting += ((value_of(each) if _is_pair(each) else each, deeper) for deeper, each in inner)


def _is_pair(node: Node) -> bool:
    return node.type == "pair"


def _pairs_of(table: Node) -> Iterator[Node]:
    return filter(_is_pair, table.children)


def _pair(node: Node, table: Path, walk: _Walk) -> None:
    key, value = node.children[0], value_of(node)
    path = (*table, *_names(key))
    _require_shallow(path, key, walk)
    first = walk.pairs.setdefault(path, key.start_point[0] + 1)
    if first != key.start_point[0] + 1:
        name = str(path[-1])
        shown = None if may_be_secret(name) else name
        place = Place(walk.file, key.start_point[0] + 1, shown)
        walk.problems.append(Problem(place, f"stands twice; it is already given in line {first}"))
    for end in range(len(table) + 1, len(path) + 1):
        _note(path[:end], key, walk)
    _value(value, path, walk)


def _value(value: Node, path: Path, walk: _Walk) -> None:
    """Take note of what stands in a value, and of whole numbers too long to read."""
    _require_readable(value, path, walk)
    for inner, node in _within(value, path):
        _note(inner, node, walk)
        _require_readable(value_of(node) if _is_pair(node) else node, inner, walk)


def _require_readable(value: Node, path: Path, walk: _Walk) -> None:
    if value.type == "integer" and value.end_byte - value.start_byte > _LONGEST_NUMBER:
        place = replace(walk.known[path], line=value.start_point[0] + 1)
        walk.problems.append(Problem(place, "is far out of range; no number here is so long"))


def _elements(node: Node) -> Iterator[Node]:
    return (child for child in node.children if child.is_named and child.type != "comment")


def _require_shallow(path: Path, node: Node, walk: _Walk) -> None:
    if len(path) > _DEEPEST:
        place = Place(walk.file, node.start_point[0] + 1)
        raise unusable(place, "is nested too deeply to be a fleet file")


def _note(path: Path, node: Node, walk: _Walk) -> None:
    _require_shallow(path, node, walk)
    name = next((part for part in reversed(path) if isinstance(part, str)), None)
    walk.known.setdefault(path, Place(walk.file, node.start_point[0] + 1, name))


def _names(node: Node) -> Path:
    """Return the names of a key; a dotted key has several, nested to the left."""
    names: list[str] = []
    waiting = [node]
    while waiting:
        current = waiting.pop()
        if current.type == "dotted_key":
            waiting.extend(child for child in current.children if child.type in _KEYS)
        else:
            names.append(_name(current))
    return tuple(reversed(names))


def _name(node: Node) -> str:
    text = (node.text or b"").decode()
    if node.type == "bare_key":
        return text
    try:
        return next(iter(tomllib.loads(f"{text} = 0")))
    except tomllib.TOMLDecodeError:
        return text
