"""The demo: an invented kit of thirty tide gauges at a field centre, a dozen set up wrongly."""

from pathlib import Path
from shutil import copyfile

from auditor.models.places import Place
from auditor.reading.problems import unusable

FOLDER = Path(__file__).parent
FLEET = "tide-gauges.toml"
FILES = (FLEET, "kit.csv", "passphrase.txt", "last-term.txt")
"""What the demo consists of; its passphrases are used nowhere."""


def write_to(folder: Path) -> None:
    """Write the files of the demo into a folder, which is made where it is missing.

    Raises:
        UnusableError: one of them is there already, or the folder cannot be written to.
    """
    present = [name for name in FILES if (folder / name).exists()]
    if present:
        raise unusable(Place(str(folder / present[0])), "exists already; name another folder")
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name in FILES:
            copyfile(FOLDER / name, folder / name)
        (folder / "passphrase.txt").chmod(0o600)
        (folder / "last-term.txt").chmod(0o600)
    except OSError as problem:
        raise unusable(Place(str(folder)), f"cannot be written: {problem.strerror}") from None
