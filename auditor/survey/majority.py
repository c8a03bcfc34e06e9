"""What most modules say: the reference where no network is planned."""

from collections import Counter
from collections.abc import Callable, Hashable, Iterable
from dataclasses import dataclass
from ipaddress import IPv4Network
from typing import Any

from auditor.compute.addresses import network_of
from auditor.models.secrets import Secret
from auditor.survey.module import Module

USUAL_PREFIX_LENGTH = 24
"""Taken where a table gives addresses and no masks (common practice, no source)."""


@dataclass(frozen=True)
class Vote:
    """How the modules that give a setting divide; `winner` is None in a tie."""

    key: str
    winner: Any
    counts: tuple[tuple[Any, int], ...]

    @property
    def is_tie(self) -> bool:
        """Whether no value is given by more modules than every other."""
        return self.winner is None and len(self.counts) > 1


def neighbourhood(module: Module) -> IPv4Network | None:
    """Return the subnet of a static module, by its own prefix length or the usual one."""
    if not module.is_static or module.address is None:
        return None
    length = USUAL_PREFIX_LENGTH if module.prefix_length is None else module.prefix_length
    return network_of(module.address, length)


def _value(key: str) -> Callable[[Module], Any]:
    if key == "subnet":
        return neighbourhood
    return lambda module: getattr(module, key)


def vote(key: str, modules: Iterable[Module]) -> Vote:
    """Return how the modules divide over one setting, most frequent first."""
    read = _value(key)
    found = [read(module) for module in modules]
    counts = Counter(_comparable(value) for value in found if value is not None)
    ordered = counts.most_common()
    tied = len(ordered) > 1 and ordered[0][1] == ordered[1][1]
    winner = None if tied or not ordered else ordered[0][0]
    return Vote(key, _original(winner, found), tuple(ordered))


def _comparable(value: Any) -> Hashable:
    """Return what two equal settings share; secrets are grouped by their text."""
    if isinstance(value, Secret):
        return value.reveal() if value.is_known else None
    comparable: Hashable = value
    return comparable


def _original(winner: Hashable, found: list[Any]) -> Any:
    return next((value for value in found if _comparable(value) == winner), None)


def differs(key: str, module: Module, winner: Any) -> bool:
    """Say whether a module gives a setting, and another one than most."""
    value = _value(key)(module)
    return value is not None and _comparable(value) != _comparable(winner)
