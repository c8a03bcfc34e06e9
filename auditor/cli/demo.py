"""`auditor demo`: the invented kit, audited, and written to a folder to play with."""

from __future__ import annotations

import os
from typing import Annotated

import typer

from auditor.cli.status import Status
from auditor.models.words import Severity


def demo(
    folder: Annotated[
        str | None, typer.Argument(metavar="FOLDER", help="Write the kit's files here first.")
    ] = None,
) -> None:
    """Audits an invented kit of thirty, a dozen set up wrongly.

    Exit status: 1 for the faults in it, 2 its files could not be written.
    """
    from pathlib import Path

    from auditor.cli.auditing import audited
    from auditor.cli.output import deliver, line_width, takes_colour
    from auditor.demo import FLEET, FOLDER, write_to
    from auditor.reading.fleet import read_fleet
    from auditor.reports.text import text

    if folder is None:
        file = read_fleet(FLEET, environment={}, within=FOLDER)
    else:
        write_to(Path(folder))
        file = read_fleet(str(Path(folder) / FLEET), environment={})
    result = audited(file)
    colour = takes_colour(None, os.environ)
    deliver(text(result, width=line_width(None), colour=colour), None, force=False)
    raise typer.Exit(Status.FOUND if result.reaches(Severity.RISK) else Status.CLEAN)
