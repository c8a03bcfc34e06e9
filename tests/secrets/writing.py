"""A command line in a process of its own, and what it wrote where."""

import json
import resource
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from tests.cli.running import clean_environment


@dataclass(frozen=True)
class Watched:
    """What a run said, what it opened for writing, and what else it did outside of itself."""

    status: int
    said: str
    opened: frozenset[Path]
    did: frozenset[str]


def watched(
    *arguments: str, folder: Path, beside: Path, prepare: Callable[[], None] | None = None
) -> Watched:
    """Run a command line in a folder; its notes and its temporary folder are in another one.

    `prepare` is called in the new process before it starts.
    """
    notes, temporary = beside / "notes.json", beside / "tmp"
    temporary.mkdir(parents=True, exist_ok=True)
    done = subprocess.run(
        [sys.executable, "-m", "tests.secrets.watched", str(notes), *arguments],
        cwd=folder,
        env={**clean_environment(), "PYTHONDONTWRITEBYTECODE": "1", "TMPDIR": str(temporary)},
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=120,
        check=False,
        preexec_fn=prepare,
    )
    noted = json.loads(notes.read_text()) if notes.exists() and notes.stat().st_size else []
    opened = {folder / path for event, path in noted if event == "open"}
    did = {event for event, _ in noted if event != "open"}
    return Watched(done.returncode, done.stdout + done.stderr, frozenset(opened), frozenset(did))


def full_disk() -> None:
    """Let every write to a file fail, as it does where there is no room left."""
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (0, 0))


def files_in(*folders: Path) -> Iterator[Path]:
    """Give every file below some folders."""
    for folder in folders:
        yield from (path for path in folder.rglob("*") if path.is_file())
