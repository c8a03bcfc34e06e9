"""Changes of a file's bytes: what stands between two of them is never touched."""

from collections.abc import Iterable
from typing import NamedTuple

Plain = bool | int | float | str
"""A value as a file may hold it."""


class Edit(NamedTuple):
    """The bytes from `start` up to `end`, and what is to stand there instead."""

    start: int
    end: int
    new: bytes


def edited(data: bytes, edits: Iterable[Edit]) -> bytes:
    """Return bytes with edits that do not overlap."""
    pieces, at = [], 0
    for edit in sorted(edits):
        pieces += [data[at : edit.start], edit.new]
        at = edit.end
    return b"".join([*pieces, data[at:]])
