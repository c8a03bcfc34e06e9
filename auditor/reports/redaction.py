"""A passphrase that stands where it does not belong, kept out of every report."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import fields, is_dataclass, replace
from enum import Enum
from functools import cache
from operator import is_
from typing import Any, TypeVar

from auditor.findings import ModuleResult, Standing
from auditor.models.secrets import Secret
from auditor.reading.quoting import Masking

Value = TypeVar("Value")

_STATES = ("stage", "shows_at", "stops_at", "severity", "verdict", "stages", "concerns")
_OURS = frozenset({"check", "cause", "observation", "source", "only", *_STATES})
"""What no file writes: it stays as it is, whatever the passphrase."""


def redacted(value: Value, secrets: Iterable[Secret]) -> Value:
    """Return a result without a fleet's passphrases and keys, wherever they stand in it.

    A passphrase in the wrong column is a name, a note or an id to every check, and would be
    quoted as one.
    """
    without: Value = _Redaction(Masking(secrets)).of(value)
    return without


class _Redaction:
    """One pass over a result; what many modules share is looked at once."""

    def __init__(self, mask: Masking) -> None:
        self._mask = mask
        self._mask_once = cache(mask)
        self._standings: dict[int, Standing] = {}

    def of(self, value: Any) -> Any:
        """Return plain data with every text in it masked; what has none to mask stays itself."""
        if isinstance(value, str):
            return value if isinstance(value, Enum) else self._mask_once(value)
        if isinstance(value, Mapping):
            masked = {self.of(key): self.of(each) for key, each in value.items()}
            return value if masked == value else masked
        if isinstance(value, tuple | list):
            of_modules = bool(value) and isinstance(value[0], ModuleResult)
            each = self._of_modules(value) if of_modules else [*map(self.of, value)]
            return value if all(map(is_, each, value)) else type(value)(each)
        if is_dataclass(value) and not isinstance(value, type):
            parts = ((name, getattr(value, name)) for name in _names(type(value)))
            masked = {name: new for name, old in parts if (new := self.of(old)) is not old}
            return replace(value, **masked) if masked else value
        return value

    def _of_modules(self, modules: Sequence[ModuleResult]) -> list[ModuleResult]:
        ids = [module.id for module in modules]
        names = ids if self._mask.leaves(ids) else map(self._mask, ids)
        return [self._of_module(module, name) for module, name in zip(modules, names, strict=True)]

    def _of_module(self, module: ModuleResult, name: str) -> ModuleResult:
        shared = module.standing
        standing = self._standings.get(id(shared))
        if standing is None:
            standing = self._standings[id(shared)] = self.of(shared)
        if name == module.id and standing is shared:
            return module
        return ModuleResult(name, standing)


@cache
def _names(kind: type[Any]) -> tuple[str, ...]:
    return tuple(field.name for field in fields(kind) if field.name not in _OURS)
