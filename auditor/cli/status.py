"""How a command ends."""

from enum import IntEnum


class Status(IntEnum):
    """The exit statuses of every command."""

    CLEAN = 0
    FOUND = 1
    UNUSABLE = 2
