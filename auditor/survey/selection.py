"""Modules as people list them: ids, ranges such as "TG-01..TG-15", and "all"."""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass

from auditor.survey.positions import NUMBERED, Names

EVERYONE = "all"
DOTS = ".."
"""What stands between the ends of a range."""
MOST_RUNS = 40
"""So many runs of ids are still read; a longer list is not."""


@dataclass(frozen=True)
class Selection:
    """The modules that a list means, the names of others in it, and what it names in vain."""

    indexes: frozenset[int]
    others: frozenset[str]
    unknown: tuple[str, ...]


def select(names: Iterable[str], known: Names, also: Collection[str] = ()) -> Selection:
    """Return what a list of names means among the modules of a kit and the other names `also`."""
    indexes: set[int] = set()
    others: set[str] = set()
    unknown: list[str] = []
    for name in names:
        members = _members(name, known)
        if members:
            indexes.update(members)
        elif name in also:
            others.add(name)
        else:
            unknown.append(name)
    return Selection(frozenset(indexes), frozenset(others), tuple(unknown))


def _members(name: str, known: Names) -> Sequence[int]:
    if name == EVERYONE:
        return known.everyone
    if name in known:
        return known.of(name)
    first, dots, last = name.partition(DOTS)
    return known.between(first.strip(), last.strip()) if dots else ()


def id_ranges(ids: Iterable[str], most: int = MOST_RUNS) -> str:
    """Return ids as people list them: three or more in a row as a range, "TG-01..TG-03".

    Of more than `most` runs the first are given, and how many ids are left.
    """
    runs: list[list[str]] = []
    rest = iter(ids)
    left = 0
    for id in rest:
        if runs and id == _next(runs[-1][-1]):
            runs[-1].append(id)
        elif len(runs) == most:
            left = 1 + sum(1 for _ in rest)
        else:
            runs.append([id])
    shown = [f"{run[0]}..{run[-1]}" if len(run) > 2 else ", ".join(run) for run in runs]
    return ", ".join(shown) + (f" and {left} more" if left else "")


def _next(id: str) -> str | None:
    """Return the id that follows, its number as wide as this one's; None if it has no number."""
    match = NUMBERED.fullmatch(id)
    if match is None:
        return None
    return f"{match[1]}{int(match[2]) + 1:0{len(match[2])}}"
