"""A kit with some settings changed, to be audited before anything is written."""

from collections import defaultdict
from collections.abc import Hashable, Iterable, Mapping
from dataclasses import replace
from ipaddress import IPv4Address
from typing import Any, NamedTuple

from auditor.models.fleet import Defaults
from auditor.models.fleet_file import FleetFile


class Spot(NamedTuple):
    """A key of the module at a position."""

    at: int
    key: str


class Change(NamedTuple):
    """The value that a key of a module gets, for which check; None takes its own value out."""

    value: Any
    check: str


Changes = Mapping[Spot, Change]
_Update = tuple[tuple[str, Any], ...]


def without(changes: Changes, spots: Iterable[Spot]) -> dict[Spot, Change]:
    """Return all changes but some."""
    left = dict(changes)
    for spot in spots:
        left.pop(spot, None)
    return left


def with_changes(file: FleetFile, changes: Changes) -> FleetFile:
    """Return a fleet in which modules have new values of their own, or inherit.

    Where each value stands is not brought up to date.
    """
    entries = file.entries
    addresses = list(entries.addresses)
    updates: dict[int, dict[str, Any]] = defaultdict(dict)
    for (index, key), change in changes.items():
        if key == "address":
            addresses[index] = _number(change.value)
        else:
            updates[index][key] = change.value
    settings, kinds = list(entries.settings), list(entries.kinds)
    made: dict[Hashable, int] = {}
    for index, update in updates.items():
        new = kinds[index], tuple(sorted(update.items()))
        if new not in made:
            made[new] = len(settings)
            settings.append(_updated(settings[kinds[index]], new[1]))
        kinds[index] = made[new]
    return replace(
        file, entries=replace(entries, addresses=addresses, settings=settings, kinds=kinds)
    )


def _number(address: IPv4Address | None) -> int | None:
    return None if address is None else int(address)


def _updated(settings: Defaults, update: _Update) -> Defaults:
    """Return settings with new values; a key whose value is None is no longer given."""
    given = {key: getattr(settings, key) for key in settings.model_fields_set}
    given.update(update)
    kept = {key: value for key, value in given.items() if value is not None}
    return Defaults.model_construct(_fields_set=set(kept), **kept)
