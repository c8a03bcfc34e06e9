"""Runs the command line, and notes what it opened for writing and whom it spoke to.

`python -m tests.secrets.watched NOTES ARGUMENTS…`; the notes are written once all is over.
"""

import json
import os
import sys
from typing import Any

WRITES = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC | os.O_APPEND
NOTED = ("os.", "shutil.", "tempfile.", "subprocess.", "socket.", "sqlite3.", "ctypes.dlopen")
HARMLESS = ("os.listdir", "os.scandir", "os.walk", "os.putenv", "os.unsetenv", "os.getxattr")

notes: list[tuple[str, str]] = []


def note(event: str, arguments: tuple[Any, ...]) -> None:
    """Note an event that changes something outside this process."""
    if event == "open":
        path, _, flags = arguments  # a number is a file that is open already
        if isinstance(flags, int) and flags & WRITES and not isinstance(path, int):
            notes.append((event, str(path)))
    elif event.startswith(NOTED) and not event.startswith(HARMLESS):
        notes.append((event, str(arguments[0]) if arguments else ""))


def watch() -> None:
    """Run the command line that the arguments give, watched."""
    _, target, *arguments = sys.argv
    from auditor.cli import main

    sys.argv = ["auditor", *arguments]
    sys.addaudithook(note)
    try:
        main()
    finally:
        taken = list(notes)
        with open(target, "w", encoding="utf-8") as file:
            json.dump(taken, file)


if __name__ == "__main__":
    watch()
