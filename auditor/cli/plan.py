"""`auditor plan`: a kit made from a brief."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from auditor.models.brief import BriefFile
    from auditor.tasks.planning import Planned


def plan(
    brief: Annotated[
        str, typer.Argument(metavar="BRIEF", help="A fleet file with [plan] instead of modules.")
    ],
    output: Annotated[
        str, typer.Option(metavar="FOLDER", help="A new or empty folder for kit.toml and kit.csv.")
    ],
    force: Annotated[
        bool, typer.Option("--force", help="Write into FOLDER whatever is in it.")
    ] = False,
    allow_folder: Annotated[
        list[str] | None,
        typer.Option(
            metavar="FOLDER", help="Paths in BRIEF may also lead into this folder (repeatable)."
        ),
    ] = None,
) -> None:
    """Makes a kit that audits clean from a brief.

    The brief says how many modules there are and where their addresses come from. What cannot
    work is refused with the nearest thing that would, and then nothing is written.

    Exit status: 0 the kit is written, 2 the brief cannot be used or asks for what cannot work.
    """
    from pathlib import Path

    from auditor.cli.output import deliver, deliver_folder, line_width, refuse_inputs
    from auditor.reading.inputs import inputs
    from auditor.reports.planning import text
    from auditor.reports.redaction import redacted

    allowed = tuple(map(Path, allow_folder or ()))
    read = _read(brief, allowed)
    kit = _planned(read, Path(output), allowed)
    for name in kit.files:
        refuse_inputs(str(Path(output) / name), inputs(read.file))
    deliver_folder(kit.files, output, force=force)
    shown = redacted(kit, read.file.secrets)
    deliver(text(shown, output, line_width(None)), None, force=False)


def _read(brief: str, allowed: Sequence[Path]) -> BriefFile:
    import os

    from auditor.cli.auditing import require_checks
    from auditor.reading.fleet import read_brief

    read = read_brief(brief, environment=os.environ, allowed=allowed)
    require_checks(read.file)
    return read


def _planned(brief: BriefFile, folder: Path, allowed: Sequence[Path]) -> Planned:
    """Return the kit of a brief, in which the audit finds no fault and no risk."""
    from auditor.cli.auditing import audited
    from auditor.models.words import Severity
    from auditor.reading.problems import UnusableError
    from auditor.reports.planning import problems
    from auditor.reports.redaction import redacted
    from auditor.tasks.planning import planned

    try:
        kit = planned(brief, folder, audited, allowed)
    except UnusableError as failure:
        raise UnusableError(redacted(failure.problems, brief.file.secrets)) from None
    if kit.result.reaches(Severity.RISK):
        raise UnusableError(problems(kit.result))
    return kit
