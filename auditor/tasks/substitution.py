"""A planned kit in which some modules have what was found of one key, and else are as planned."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from auditor.models.entries import Entries
from auditor.models.fleet import Defaults
from auditor.models.fleet_file import FleetFile
from auditor.models.forms import Table
from auditor.models.words import Addressing
from auditor.survey.module import Modules


def setting(shared: Mapping[str, Any], key: str) -> Any:
    """Return what modules of one kind are set to, by a key of the file format; None if unknown.

    `shared` is what `Modules.shared` gives; the keys of inner tables are written with dots.
    """
    name, *rest = key.split(".")
    value = shared["profile_name" if name == "profile" else name]
    for part in rest:
        value = None if value is None else getattr(value, part)
    return value


def with_found(
    planned: FleetFile, found: FleetFile, key: str, pairs: Mapping[int, int]
) -> FleetFile:
    """Return the planned kit with what was found of one key in each of some modules.

    `pairs` has the position of the found module for each planned one; both know the key. With
    `addressing` goes the address that was found: a module is static at an address.
    """
    return replace(
        planned,
        entries=_changed(planned, found, key, pairs),
        module_profiles={**found.module_profiles, **planned.module_profiles},
        controller_profiles={**found.controller_profiles, **planned.controller_profiles},
    )


def _changed(planned: FleetFile, found: FleetFile, key: str, pairs: Mapping[int, int]) -> Entries:
    entries, there = planned.entries, Modules(found)
    if key == "id":
        return replace(entries, ids=_put(entries.ids, found.entries.ids, pairs))
    if key == "address":
        return replace(entries, addresses=_put(entries.addresses, there.addresses, pairs))
    if key == "addressing":
        static = {p: f for p, f in pairs.items() if there[f].addressing is Addressing.STATIC}
        moved = {p: f for p, f in static.items() if there.addresses[f] is not None}
        entries = replace(entries, addresses=_put(entries.addresses, there.addresses, moved))
    return _with_settings(replace(planned, entries=entries), found, key, pairs)


def _put(column: Sequence[Any], other: Sequence[Any], pairs: Mapping[int, int]) -> Sequence[Any]:
    """Return a column with the values of another at some positions."""
    new = list(column)
    for here, there in pairs.items():
        new[here] = other[there]
    return new


def _with_settings(
    planned: FleetFile, found: FleetFile, key: str, pairs: Mapping[int, int]
) -> Entries:
    """Return modules with new kinds of settings, one for each two kinds that meet."""
    entries, here, there = planned.entries, Modules(planned), Modules(found)
    kinds, settings = list(entries.kinds), list(entries.settings)
    made: dict[tuple[int, int], int] = {}
    for module, other in pairs.items():
        old, new = both = entries.kinds[module], found.entries.kinds[other]
        if both not in made:
            made[both] = len(settings)
            value = setting(there.shared(new), key)
            settings.append(_set(entries.settings[old], here.shared(old), key, value))
        kinds[module] = made[both]
    return replace(entries, settings=settings, kinds=kinds)


def _set(settings: Defaults, shared: Mapping[str, Any], key: str, value: Any) -> Defaults:
    """Return settings with one key changed, in an inner table too."""
    name, *rest = key.split(".")
    update = {name: _within(shared[name], rest, value) if rest else value}
    if key == "prefix_length":
        update["netmask"] = None
    return settings.model_copy(update=update)


def _within(table: Table, path: Sequence[str], value: Any) -> Table:
    """Return a table with the value at a path inside of it changed."""
    name, *rest = path
    inner = _within(getattr(table, name), rest, value) if rest else value
    return table.model_copy(update={name: inner})
