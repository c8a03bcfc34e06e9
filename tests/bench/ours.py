"""The audit of a kit, as `auditor check` does it, in this process and with its report thrown away.

It calls the command itself, so that everything between the file and the report is measured.
"""

import json
import os
from contextlib import redirect_stdout
from io import TextIOBase
from pathlib import Path

import typer

from auditor.cli.check import check
from auditor.cli.choices import AuditFormat
from auditor.cli.status import Status
from auditor.reading.problems import UnusableError
from tests.bench.kits import FLEET, KitRefusedError

_SUMMARY = '"summary": '
_KEPT_CHARACTERS = 16_384
"""The summary stands before the modules, within so many characters of the report's beginning."""


class Beginning(TextIOBase):
    """A stream that keeps the beginning of what is written to it, and forgets the rest."""

    def __init__(self) -> None:
        self.text = ""

    def write(self, text: str, /) -> int:
        """Take a text; keep what there is room for."""
        room = _KEPT_CHARACTERS - len(self.text)
        if room > 0:
            self.text += text[:room]
        return len(text)


def text_report(folder: Path) -> None:
    """Audit a kit, and write the report as a text to nowhere.

    Raises:
        KitRefusedError: the kit cannot be read.
    """
    with open(os.devnull, "w", encoding="utf-8") as nowhere, redirect_stdout(nowhere):
        _check(folder, AuditFormat.TEXT)


def json_report(folder: Path) -> dict[str, int]:
    """Audit a kit, write the report as JSON to nowhere, and return the findings of each check.

    Raises:
        KitRefusedError: the kit cannot be read.
    """
    beginning = Beginning()
    with redirect_stdout(beginning):
        _check(folder, AuditFormat.JSON)
    start = beginning.text.index(_SUMMARY) + len(_SUMMARY)
    summary, _ = json.JSONDecoder().raw_decode(beginning.text, start)
    counts: dict[str, int] = summary["by_check"]
    return counts


def _check(folder: Path, format: AuditFormat) -> None:
    try:
        check(str(folder / FLEET), format=format)
    except typer.Exit as end:
        if end.exit_code not in (Status.CLEAN, Status.FOUND):
            raise
    except UnusableError as refusal:
        raise KitRefusedError(refusal.problems[0].message) from None
