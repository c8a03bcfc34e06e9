"""Who is probably meant by a name that means nobody: slips in ids, and in the ends of ranges."""

import re
from collections.abc import Collection, Sequence

from auditor.compute.near_misses import edit_distance, nearest
from auditor.survey.positions import NUMBERED, Names
from auditor.survey.selection import DOTS

MOST_GUESSED = 20
"""For so many names that mean nobody it is guessed who is meant: in a large kit each takes long."""
LONGEST_RANGE = 100
"""Characters of a name in which a slip in a range is looked for."""
_GAP = re.compile(r"\W+")


def likely_meant(name: str, known: Names, also: Collection[str] = ()) -> str | None:
    """Return what a name that means nobody probably stands for: a range, an id or another name."""
    return likely_range(name, known) or nearest(name, [*known, *also])


def likely_range(name: str, known: Names) -> str | None:
    """Return the range that selects somebody, and is nearest to what is written as one.

    Ends that are both well written stand as they are, the lower one first: if nobody is between
    them, no other range is guessed. An end that is left out is the first or the last of its row.
    """
    first, last = _written_ends(name)
    ends = sorted((first, last), key=_number)
    if known.between(*ends):
        return DOTS.join(ends)
    if all(map(NUMBERED.fullmatch, ends)) and _start(first) == _start(last) in map(_start, known):
        return None
    row = _row_around(first or last, known)
    low, high = _end(first, row), _end(last, row[::-1])
    if low is None or high is None or low == high:
        return None
    return DOTS.join(sorted((low, high), key=_number))


def _written_ends(name: str) -> tuple[str, str]:
    """Return the two ends that somebody meant to write, both empty where there are none.

    Without the dots they are the two halves around a gap that are most alike, as the ids of a
    row are. What holds a comma is a list.
    """
    if len(name) > LONGEST_RANGE or "," in name:
        return "", ""
    first, dots, last = name.partition(DOTS)
    if dots:
        return first.strip(), last.strip(". ")
    halves = ((name[: gap.start()], name[gap.end() :]) for gap in _GAP.finditer(name))
    return min(filter(all, halves), key=lambda each: _apart(*each), default=("", ""))


def _apart(first: str, last: str) -> int:
    """Return the edits from one end of a range to the other, which may be its number alone."""
    match = NUMBERED.fullmatch(first)
    completed = match[1] + last if match else last
    return min(edit_distance(first, last), edit_distance(first, completed))


def _row_around(written: str, known: Names) -> list[str]:
    """Return the ids that begin as the one nearest to a written end does, in their order."""
    close = nearest(written, known) if written else None
    match = NUMBERED.fullmatch(close) if close else None
    if match is None:
        return []
    numbered = (id for id in known if NUMBERED.fullmatch(id))
    return sorted((id for id in numbered if _start(id) == match[1]), key=_number)


def _end(written: str, row: Sequence[str]) -> str | None:
    """Return the id of a row that a written end means: its number alone will do.

    An empty one is the first of the row.
    """
    if not row:
        return None
    return nearest(written, row) or nearest(_start(row[0]) + written, row) if written else row[0]


def _start(id: str) -> str:
    """Return an id without the number at its end."""
    match = NUMBERED.fullmatch(id)
    return match[1] if match else id


def _number(id: str) -> int:
    """Return the number at the end of an id; 0 where there is none."""
    match = NUMBERED.fullmatch(id)
    return int(match[2]) if match else 0
