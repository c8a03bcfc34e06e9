"""The pages that the command line writes, each written once for all tests of a run."""

from dataclasses import dataclass
from pathlib import Path

from tests.bench.kits import ENVIRONMENT
from tests.cli.running import run
from tests.pages.kits import KITS

COMMANDS = ("check", "capacity")
PAGES = ("cards",)
"""The commands that write a page and nothing else."""


@dataclass(frozen=True)
class Written:
    """Pages below a folder: of a command, for a kit by name."""

    folder: Path

    def page(self, command: str, kit: str) -> Path:
        """Return the page that a command writes about a kit."""
        page = self.folder / f"{command}-{kit}.html"
        if not page.exists():
            page.write_text(self._printed(command, kit), encoding="utf-8")
        return page

    def _printed(self, command: str, kit: str) -> str:
        folder = self.folder / f"{command}-{kit}"
        folder.mkdir()
        fleet = KITS[kit](folder)
        options = () if command in PAGES else ("--format", "html")
        done = run(command, fleet.name, *options, folder=folder, environment=ENVIRONMENT)
        assert (done.returncode in (0, 1), done.stderr) == (True, "")
        return done.stdout
