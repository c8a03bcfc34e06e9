"""A passphrase that stands where it does not belong, kept out of every report."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import fields, is_dataclass, replace
from enum import Enum
from typing import Any, TypeVar

from auditor.models.fleet import Fleet
from auditor.models.secrets import Secret
from auditor.reading.quoting import masking

Value = TypeVar("Value")

_OURS = frozenset({"check", "source", "only"})
"""What no file writes: it stays as it is, whatever the passphrase."""


def redacted(value: Value, fleet: Fleet) -> Value:
    """Return a result without the fleet's passphrases and keys, wherever they stand in it.

    A passphrase in the wrong column is a name, a note or an id to every check, and would be
    quoted as one.
    """
    without: Value = _mapped(value, masking(_secrets(fleet)))
    return without


def _secrets(fleet: Fleet) -> Iterator[Secret]:
    if fleet.network:
        yield from fleet.network.retired_passphrases
    for table in (fleet.network, fleet.defaults, *fleet.module):
        if table and table.passphrase:
            yield table.passphrase


def _mapped(value: Any, function: Callable[[str], str]) -> Any:
    """Return plain data with a function applied to every text in it."""
    if isinstance(value, str) and not isinstance(value, Enum):
        return function(value)
    if isinstance(value, Mapping):
        return {_mapped(k, function): _mapped(v, function) for k, v in value.items()}
    if isinstance(value, tuple | list):
        return type(value)(_mapped(element, function) for element in value)
    if is_dataclass(value) and not isinstance(value, type):
        named = (f.name for f in fields(value) if f.name not in _OURS)
        parts = {name: _mapped(getattr(value, name), function) for name in named}
        return replace(value, **parts)
    return value
