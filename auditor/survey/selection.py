"""Modules as people list them: ids, ranges such as "TG-01..TG-15", and "all"."""

import re
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

EVERYONE = "all"
_NUMBERED = re.compile(r"(.*?)(\d{1,18})", re.DOTALL | re.ASCII)
"""An id that ends in a number; of a longer row of digits only the last 18 are counted."""


@dataclass(frozen=True)
class Selection:
    """The modules that a list means, the names of others in it, and what it names in vain."""

    indexes: frozenset[int]
    others: frozenset[str]
    unknown: tuple[str, ...]


def select(
    names: Iterable[str], by_id: Mapping[str, tuple[Any, ...]], also: Collection[str] = ()
) -> Selection:
    """Return what a list of names means among modules by id and the other names `also`."""
    indexes: set[int] = set()
    others: set[str] = set()
    unknown: list[str] = []
    for name in names:
        members = _members(name, by_id)
        if members:
            indexes.update(members)
        elif name in also:
            others.add(name)
        else:
            unknown.append(name)
    return Selection(frozenset(indexes), frozenset(others), tuple(unknown))


def _members(name: str, by_id: Mapping[str, tuple[Any, ...]]) -> list[int]:
    if name == EVERYONE:
        return [module.index for group in by_id.values() for module in group]
    if name in by_id:
        return [module.index for module in by_id[name]]
    first, dots, last = name.partition("..")
    if not dots:
        return []
    return [
        module.index
        for id, group in by_id.items()
        if _between(first.strip(), id, last.strip())
        for module in group
    ]


def _between(first: str, id: str, last: str) -> bool:
    """Say whether three ids share their beginning, and the middle number lies between."""
    parts = [_NUMBERED.fullmatch(text) for text in (first, id, last)]
    if any(part is None for part in parts):
        return False
    low, middle, high = ((part[1], int(part[2])) for part in parts if part)
    return low[0] == middle[0] == high[0] and low[1] <= middle[1] <= high[1]


def id_ranges(ids: Iterable[str]) -> str:
    """Return ids as people list them: three or more in a row as a range, "TG-01..TG-03"."""
    runs: list[list[str]] = []
    for id in ids:
        if runs and id == _next(runs[-1][-1]):
            runs[-1].append(id)
        else:
            runs.append([id])
    return ", ".join(f"{run[0]}..{run[-1]}" if len(run) > 2 else ", ".join(run) for run in runs)


def _next(id: str) -> str | None:
    """Return the id that follows, its number as wide as this one's; None if it has no number."""
    match = _NUMBERED.fullmatch(id)
    if match is None:
        return None
    return f"{match[1]}{int(match[2]) + 1:0{len(match[2])}}"
