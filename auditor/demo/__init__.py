"""The demo: an invented kit of thirty tide gauges at a field centre, a dozen set up wrongly."""

import os
from pathlib import Path

from auditor.models.places import Place
from auditor.reading.problems import unusable

FOLDER = Path(__file__).parent
FLEET = "tide-gauges.toml"
SECRETS = ("passphrase.txt", "last-term.txt")
"""The files that hold a passphrase, which is used nowhere."""
FILES = (FLEET, "kit.csv", *SECRETS)
"""What the demo consists of."""

EVERYBODY, ONLY_ITS_OWNER = 0o666, 0o600
"""Who may read and write a file, before the umask takes from it."""


def write_to(folder: Path) -> None:
    """Write the files of the demo into a folder, which is made where it is missing.

    Only their owner may read those with a passphrase, from the moment they are there.

    Raises:
        UnusableError: one of them is there already, or the folder cannot be written to.
    """
    present = [name for name in FILES if os.path.lexists(folder / name)]
    if present:
        raise unusable(Place(str(folder / present[0])), "exists already; name another folder")
    written: list[Path] = []
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name in FILES:
            _write_new(folder / name, (FOLDER / name).read_bytes(), _mode(name))
            written.append(folder / name)
    except OSError as problem:
        for path in written:
            path.unlink(missing_ok=True)
        raise unusable(Place(str(folder)), f"cannot be written: {problem.strerror}") from None


def _mode(name: str) -> int:
    return ONLY_ITS_OWNER if name in SECRETS else EVERYBODY


def _write_new(path: Path, content: bytes, mode: int) -> None:
    """Write a file that must not be there yet, not even as a link that leads elsewhere."""
    new = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, mode)
    try:
        with open(new, "wb") as file:
            file.write(content)
    except OSError:
        path.unlink(missing_ok=True)
        raise
